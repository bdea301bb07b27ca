//! A trail that can't be followed any more: why, and what can still be done with it.

use maud::{Markup, html};

use super::end;
use crate::form::{Form, Typed, send};
use crate::site::Site;
use crate::words;

/// What the page of such a trail shows.
#[derive(Clone, Debug)]
pub struct Lost<'a> {
    /// The trail, as its address names it.
    pub id: &'a str,
    /// Why it can't be followed, a sentence.
    pub reason: &'a str,
    /// Whose gear it was, where that was said; may be empty.
    pub whose: &'a str,
    /// Whether it says something of a guest, which may be erased.
    pub guest: bool,
    /// Whether it is open still, and can be left as it is.
    pub open: bool,
}

/// Why there is no next step, and the form that erases a guest's data.
pub fn page(site: &Site, lost: &Lost, typed: &Typed) -> Markup {
    let form = Form::new("forget", typed);
    let body = html! {
        p.answer { (words::prose(lost.reason)) }
        @if !lost.whose.is_empty() { p { "It was about the gear of: " (words::name(lost.whose)) "." } }
        p { "Its entries are in " a href="/history" { "the logbook" } "." }
        @if lost.open {
            (Form::new("end", typed).post(site, &format!("/fault/{}/close", lost.id), &html! {
                p { (send("Close it: left as it is")) }
            }))
        }
        @if lost.guest {
            section aria-labelledby="erase" {
                h2 id="erase" { "Erase the guest's data" }
                p { "Everything that this trail says is erased: whose gear it is, what was read, what was done." }
                (form.post(site, &format!("/fault/{}/forget", lost.id), &end::sure(&form)))
            }
        }
        p.main-action { a.main href="/faults" { "To the faults" } }
    };
    site.page("A fault trail that can't go on", &body)
}
