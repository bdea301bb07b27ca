//! What a device's page says of commissioning.

use fitting::commission::Commission;
use maud::{Markup, html};
use register::field::Sort;
use register::id::DeviceId;

use super::{line, work};
use crate::form::Typed;
use crate::site::Site;
use crate::words;

/// Of an aircraft: how it stands, and the ways on.
pub fn aircraft(site: &Site, list: &Commission, typed: &Typed) -> Markup {
    let id = list.aircraft.id;
    html! {
        section aria-labelledby="commissioning" {
            h2 id="commissioning" { "Commissioning" }
            p { (words::prose(&list.sentence)) }
            p { (line::marks(list)) }
            ul.ways {
                li { a href=(line::commission(list)) { "What is checked, what is not, and what to do" } }
                @for part in register::fit::Part::ALL { li { a href={ "/device/" (id) "/" (part.word()) } { (crate::reading::capital(part.label())) } } }
                li { a href={ "/device/" (id) "/card?of=bench&size=a4" } { "Bench card" } }
                li { a href={ "/device/" (id) "/card?of=field&size=a6" } { "Field card" } }
                li { a href={ "/labels?d=" (id) } { "Label" } }
            }
            (work::form(site, id, Some(Sort::Aircraft), &format!("/device/{id}"), typed))
        }
    }
}

/// Of a receiver or a transmitter.
pub fn other(site: &Site, device: DeviceId, sort: Option<Sort>, typed: &Typed) -> Markup {
    html! {
        section aria-labelledby="commissioning" {
            h2 id="commissioning" { "Work on it, and its label" }
            (work::form(site, device, sort, &format!("/device/{device}"), typed))
            ul.ways { li { a href={ "/labels?d=" (device) } { "Label" } } }
        }
    }
}
