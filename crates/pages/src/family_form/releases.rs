//! The form's part about firmware releases.

use maud::{Markup, html};
use register::family::ReachSort;

use super::{fields, rows, wipes};
use crate::form::{Choice, Form, Input, Typed, choice};

/// What must be reached, and the releases, a row each.
pub(super) fn releases(form: &Form, typed: &Typed) -> Markup {
    let sorts: Vec<Choice> = std::iter::once(choice("", "choose"))
        .chain(ReachSort::ALL.map(|sort| choice(sort.word(), sort.label())))
        .collect();
    let sides = [choice("", "both"), choice("receiver", "receiver"), choice("transmitter", "transmitter")];
    let wipes = wipes();
    html! {
        details open[fields::rows(&typed.values, "reach") > 0] {
            summary { "What must be reached for that" }
            p.hint { "What the words above are, so that a refit opens each cover once." }
            @for row in 1..=rows(typed, "reach") {
                @let key = |name: &str| format!("reach[{row}].{name}");
                @let (name, sort, minutes) = (format!("Thing {row}"), format!("What thing {row} takes"), format!("Minutes for thing {row}"));
                div.fields {
                    (form.text(Input::new(&key("name"), &name).hint("As written above")))
                    (form.select(Input::new(&key("sort"), &sort), &sorts))
                    (form.number(Input::new(&key("minutes"), &minutes).hint("For a cover: to open and close it; empty for the usual time")))
                }
            }
        }
        details open[fields::rows(&typed.values, "release") > 0] {
            summary { "Firmware releases" }
            p.hint { "Those that you know of, from the maker's notes; a refit chooses among them." }
            @for row in 1..=rows(typed, "release") {
                @let key = |name: &str| format!("release[{row}].{name}");
                fieldset {
                    legend { "Release " (row) }
                    div.fields {
                        (form.text(Input::new(&key("version"), "Version").hint("For instance 4.2")))
                        (form.select(Input::new(&key("side"), "For which side"), &sides))
                        (form.text(Input::new(&key("from"), "Written directly over").hint("The least version; empty for every one")))
                        (form.area(Input::new(&key("hardware"), "Types of device that can take it").hint("A line each; empty for every type"), 2))
                        (form.area(Input::new(&key("routes"), "Ways to write it").hint("For one side only; a line each, as they are called above; empty for every way"), 2))
                        (form.area(Input::new(&key("changes"), "What it changes").hint("A line each"), 2))
                        (form.area(Input::new(&key("no_way_back"), "Why nothing older can be written over it").hint("Empty when it can"), 2))
                    }
                    (form.boxes(Input::new(&key("wipes"), "What it makes the end forget beyond that"), &wipes, &[]))
                }
            }
        }
    }
}
