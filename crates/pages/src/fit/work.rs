//! The form that notes work on a device, or what befell it.

use fitting::commission::lapse::may;
use maud::{Markup, html};
use register::field::Sort;
use register::fit::Work;
use register::id::DeviceId;

use crate::form::{Choice, Form, Input, Typed, choice, hidden, send};
use crate::reading::capital;
use crate::site::Site;

/// The key of the form.
pub const FORM: &str = "did";

/// Notes work. Posts to `/device/{id}/did`: `work`, `note`, `seen`, `back` (an address to go on to).
pub fn form(site: &Site, device: DeviceId, sort: Option<Sort>, back: &str, typed: &Typed) -> Markup {
    let form = Form::new(FORM, typed);
    let works: Vec<Choice> = std::iter::once(choice("", "choose"))
        .chain(
            Work::ALL
                .iter()
                .filter(|work| may(**work, sort))
                .map(|work| choice(work.word(), &capital(work.label()))),
        )
        .collect();
    html! {
        details id="note-work" open[typed.sent(FORM)] {
            summary { "Note work, or what befell it" }
            p.small { "What was done makes checks lapse: " a href="/commission/table" { "the table says which, and why" } "." }
            (form.post(site, &format!("/device/{device}/did"), &html! {
                (hidden("back", back))
                div.fields {
                    (form.select(Input::new("work", "What").required(), &works))
                    (form.text(Input::new("note", "Note").longest(1000)))
                    (form.date(Input::new("seen", "When").start(&site.now.date())))
                }
                p { (send("Note it")) }
            }))
        }
    }
}
