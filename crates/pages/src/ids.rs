//! `GET /ids`: model IDs that collide, and new ones that don't.

use maud::{Markup, html};

use crate::form::{Form, Typed, hidden, send, send_main};
use crate::sheet::{IdCollision, IdPlace, IdsSheet};
use crate::site::Site;
use crate::words;

fn place(place: &IdPlace) -> Markup {
    html! {
        (words::device_full(&place.device))
        @if !place.part.is_empty() { ", " (words::name(&place.part)) }
        @if !place.holds.is_empty() { ": " strong { (words::name(&place.holds)) } }
        @if let Some(card) = &place.aircraft { ", " (words::device(card)) }
    }
}

fn collisions(list: &[IdCollision]) -> Markup {
    html! {
        ul {
            @for one in list {
                li {
                    (words::prose(&one.text))
                    ul { @for this in &one.places { li { (place(this)) } } }
                }
            }
        }
    }
}

/// Collisions, switched-off checks, and a new allocation step by step. Each step posts
/// `step` (its key) to `/ids/step` (form `step`).
pub fn page(site: &Site, sheet: &IdsSheet) -> Markup {
    let none = Typed::none();
    let form = Form::new("step", &none);
    let body = html! {
        p.answer {
            @if sheet.held == 0 && sheet.collisions.is_empty() && sheet.unchecked.is_empty() {
                "No model ID is written down yet."
            } @else if sheet.collisions.is_empty() {
                "No two model memories collide, among the IDs that are written down."
            } @else {
                (words::counted(sheet.collisions.len() as u64, "collision", "collisions")) "; "
                (words::counted(sheet.steps.len() as u64, "change sets them apart", "changes set them apart")) ", "
                (words::minutes(sheet.minutes)) "."
            }
        }
        @if sheet.held == 0 {
            p { "Add model memories on the page of a transmitter, each with its model ID." }
            ul.ways { li { a href="/transmitters" { "Transmitters" } } li { a href="/import" { "Import a list" } } }
        }
        @if !sheet.collisions.is_empty() {
            section aria-labelledby="collisions" { h2 id="collisions" { "Which collide" } (collisions(&sheet.collisions)) }
        }
        @if !sheet.unchecked.is_empty() {
            section aria-labelledby="unchecked" {
                h2 id="unchecked" { "Receivers with the check switched off" }
                (words::cautions(&[register::mend::CHECK_OFF]))
                (collisions(&sheet.unchecked))
            }
        }
        @for one in &sheet.stuck { p.problems { (words::prose(one)) } }
        @if !sheet.steps.is_empty() {
            section.next aria-labelledby="steps" {
                h2 id="steps" { "New IDs, step by step, " (words::minutes(sheet.minutes)) }
                p { "The fewest changes that set all apart." }
                ol.mends {
                    @for (at, step) in sheet.steps.iter().enumerate() {
                        li {
                            p { (words::device(&step.device)) ": " (words::prose(&step.step.text)) " " (words::minutes(step.step.minutes)) }
                            (words::cautions(&step.step.cautions()))
                            (form.post(site, "/ids/step", &html! {
                                (hidden("step", &step.key))
                                @if at == 0 { (send_main("This one is done")) } @else { p { (send("This one is done")) } }
                            }))
                        }
                    }
                }
            }
        }
    };
    site.page("Model IDs", &body)
}
