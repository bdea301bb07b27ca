//! `GET /whatif`: what a change would break or repair; nothing is written.

use maud::{Markup, html};
use register::effect::{Effect, Touched};
use register::field::{Field, Sort};
use register::fleet::Fleet;
use register::rule::Verdict;
use register::scene::Scene;

use crate::form::{Choice, Form, Input, Typed, choice, send, send_main};
use crate::reading;
use crate::sheet::WhatIfAnswer;
use crate::site::Site;
use crate::words;

/// How many touched links are listed.
const SHOWN: usize = 200;

/// What can be supposed of a part of a device.
const FIELDS: &[Field] = &[
    Field::Firmware,
    Field::Family,
    Field::Band,
    Field::Region,
    Field::Secret,
    Field::ModelId,
    Field::Aircraft,
    Field::State,
];

/// Two forms that ask by GET, and the answer to what was asked.
///
/// Form `change`: `device` (code, name or id), `part` (`end:main`, `memory:3`,
/// `whole`; empty for the part that the fact belongs to), `field`, `value` (a
/// secret can only be `blank` or the code, name or id of a device that holds the same: a
/// typed secret must not stand in an address). Form `bought`: `sort`, `family`, `band`,
/// `region`, `firmware`, `model_id`, `secret` (as above), `aircraft`.
pub fn page(
    site: &Site,
    scene: &Scene,
    fleet: &Fleet,
    typed: &Typed,
    answer: Option<(&WhatIfAnswer, &Effect)>,
) -> Markup {
    let body = html! {
        @match answer {
            Some((answer, effect)) => (says(answer, effect)),
            None => {
                p.answer { "Suppose a change, and see what it breaks and what it repairs. Nothing is written." }
            }
        }
        (change(fleet, typed))
        (bought(scene, fleet, typed))
    };
    site.page("What if", &body)
}

fn change(fleet: &Fleet, typed: &Typed) -> Markup {
    let form = Form::new("change", typed);
    let fields: Vec<Choice> =
        FIELDS.iter().map(|field| choice(field.key(), &reading::capital(field.label()))).collect();
    let labels: Vec<String> = fleet
        .transmitters
        .iter()
        .map(|view| &view.card)
        .chain(fleet.receivers.iter().map(|view| &view.card))
        .chain(fleet.aircraft.iter().map(|view| &view.card))
        .take(300)
        .map(register::view::Card::label)
        .filter(|label| !label.chars().any(char::is_control))
        .collect();
    html! {
        section aria-labelledby="change" {
            h2 id="change" { "A device changes" }
            form method="get" action="/whatif" {
                input type="hidden" name="form" value="change";
                (form.wrong_question())
                div.fields {
                    (form.suggest(Input::new("device", "Device").hint("Code or name").required(), &labels))
                    (form.select(Input::new("field", "What changes"), &fields))
                    (form.text(Input::new("value", "To what").hint(
                        "A secret: blank, or the code of a device that holds the same. A model ID: a number or off. An aircraft: its code or name, or none.",
                    ).required()))
                    (form.text(Input::new("part", "Which part of it").hint("For instance end:inside or memory:3; leave it empty when there is only one")))
                }
                (send_main("See what happens"))
            }
        }
    }
}

fn bought(scene: &Scene, fleet: &Fleet, typed: &Typed) -> Markup {
    let form = Form::new("bought", typed);
    let (bands, regions) = reading::bands_and_regions(scene, None);
    let sorts = [choice(Sort::Receiver.word(), "receiver"), choice(Sort::Transmitter.word(), "transmitter")];
    html! {
        details open[typed.sent("bought")] {
            summary { "A device that isn't bought yet" }
            form method="get" action="/whatif" {
                input type="hidden" name="form" value="bought";
                (form.wrong_question())
                div.fields {
                    (form.select(Input::new("sort", "It is a"), &sorts))
                    (form.suggest(Input::new("family", "Link family").required(), &reading::family_names(scene)))
                    (form.suggest(Input::new("band", "Band"), &bands))
                    (form.suggest(Input::new("region", "Region variant"), &regions))
                    (form.text(Input::new("firmware", "Firmware")))
                    (form.text(Input::new("model_id", "Model ID").hint("A receiver's: a number or off")))
                    (form.text(Input::new("secret", "Link secret").hint("blank, or the code of a device that holds the same")))
                    (reading::aircraft(&form, fleet, "aircraft", ""))
                }
                p { (send("See what it would link with")) }
            }
        }
    }
}

fn verdict(verdict: Option<Verdict>) -> Markup {
    html! { @match verdict { Some(verdict) => (words::verdict(verdict)), None => "no such link" } }
}

fn list(title: &str, touched: &[&Touched]) -> Markup {
    html! {
        @if !touched.is_empty() {
            table.stack {
                caption { (title) ": " (words::count(touched.len() as u64)) }
                thead { tr { th scope="col" { "Link" } th scope="col" { "Before" } th scope="col" { "After" } th scope="col" { "Meant to hold" } } }
                tbody {
                    @for one in touched.iter().take(SHOWN) {
                        tr {
                            th scope="row" { (words::prose(&one.text())) }
                            td data-label="Before" { (verdict(one.before)) }
                            td data-label="After" { (verdict(one.after)) }
                            td data-label="Meant to hold" { (if one.wanted { "yes" } else { "no" }) }
                        }
                    }
                }
            }
            @if touched.len() > SHOWN { p { "and " (words::count((touched.len() - SHOWN) as u64)) " more" } }
        }
    }
}

fn says(answer: &WhatIfAnswer, effect: &Effect) -> Markup {
    let breaks: Vec<&Touched> = effect.breaks().collect();
    let repairs: Vec<&Touched> = effect.repairs().collect();
    let others: Vec<&Touched> =
        effect.touched.iter().filter(|one| !one.broken() && !one.repaired()).collect();
    html! {
        p.answer {
            (words::prose(&answer.supposed)) " "
            @if let Some([links, unknown, blocked]) = answer.new_device {
                "It would link with " (words::count(links)) ", be blocked with " (words::count(blocked))
                ", and " (words::count(unknown)) " can't be told."
            } @else if effect.touched.is_empty() {
                "No verdict changes."
            } @else {
                "It breaks " (words::counted(breaks.len() as u64, "link", "links")) " and repairs "
                (words::counted(repairs.len() as u64, "link", "links")) "."
            }
        }
        p { "Nothing was written." }
        (list("It breaks", &breaks))
        (list("It repairs", &repairs))
        (list("Other verdicts that change", &others))
    }
}
