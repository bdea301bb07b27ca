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

fn collision(one: &IdCollision) -> Markup {
    html! {
        (words::prose(&one.text))
        ul { @for this in &one.places { li { (place(this)) } } }
    }
}

/// The certain ones first; those that are only possible are folded, and stand together by
/// the receiver that would answer: one look at it settles all of its own.
fn collisions(list: &[IdCollision]) -> Markup {
    let certain: Vec<&IdCollision> = list.iter().filter(|one| one.certain).collect();
    let possible: Vec<&IdCollision> = list.iter().filter(|one| !one.certain).collect();
    let mut groups: Vec<(&IdPlace, Vec<&IdCollision>)> = Vec::new();
    for one in &possible {
        let Some(last) = one.places.last() else { continue };
        match groups.iter_mut().find(|(have, _)| have.device.id == last.device.id) {
            Some((_, own)) => own.push(one),
            None => groups.push((last, vec![one])),
        }
    }
    html! {
        @if !certain.is_empty() { ul { @for one in certain { li { (collision(one)) } } } }
        @for (receiver, own) in groups {
            p {
                (words::counted(own.len() as u64, "more is possible", "more are possible"))
                " with " (words::device_full(&receiver.device))
                @if let Some(card) = &receiver.aircraft { " in " (words::device_full(card)) }
                ", because something is not known yet. Looking at it and writing it down settles "
                (if own.len() == 1 { "it" } else { "them" }) "."
            }
            details open[own.len() == 1] {
                summary { "Which, and what isn't known" }
                ul { @for one in own { li { (words::prose(&one.text)) } } }
            }
        }
    }
}

fn number(list: &[IdCollision]) -> (u64, u64) {
    let certain = list.iter().filter(|one| one.certain).count();
    (certain as u64, (list.len() - certain) as u64)
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
                @let (certain, possible) = number(&sheet.collisions);
                @if certain > 0 { (words::counted(certain, "collision", "collisions")) }
                @if certain > 0 && possible > 0 { " and " }
                @if possible > 0 { (words::count(possible)) " possible" @if certain == 0 { (if possible == 1 { " collision" } else { " collisions" }) } }
                "; "
                @if sheet.steps.is_empty() { "no change is proposed" } @else {
                (words::counted(sheet.steps.len() as u64, "change sets them apart", "changes set them apart")) ", "
                (words::minutes(sheet.minutes))
                }
                "."
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
