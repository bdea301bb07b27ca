//! `GET /history`: the logbook.

use std::collections::BTreeSet;

use maud::{Markup, html};
use register::entry::Body;
use register::family::{Side, release};
use register::field::{Field, Part};
use register::fit::{Proved, Signed, Worked, measured_words};
use register::id::DeviceId;
use register::refit::{self, Ending};
use register::scene::Scene;
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::Value;
use register::view;

use crate::form::{Form, Typed, send};
use crate::reading::{end_label, value_words};
use crate::sheet::{HistorySheet, LogLine, anchor};
use crate::site::Site;
use crate::words;

/// Entries, the newest first.
pub fn page(site: &Site, scene: &Scene, sheet: &HistorySheet) -> Markup {
    let body = html! {
        p.answer { "The logbook has " (words::counted(sheet.total, "entry", "entries")) "." }
        @if sheet.lines.is_empty() {
            p { "Import a list or add a transmitter, and the first entries stand here." }
            ul.ways { li { a href="/import" { "Import a list" } } li { a href="/device/new?sort=transmitter" { "Add a transmitter" } } }
        } @else {
            (lines(site, scene, &sheet.lines, true))
            @if sheet.older.is_some() || sheet.newer.is_some() {
                nav.pager aria-label="Pages of the logbook" {
                    @if let Some(href) = &sheet.newer { a rel="prev" href=(href) { "Newer entries" } }
                    @if let Some(href) = &sheet.older { a rel="next" href=(href) { "Older entries" } }
                }
            }
        }
    };
    site.page("Logbook", &body)
}

/// A list of entries; `with_subject` names the device of each.
pub(crate) fn lines(site: &Site, scene: &Scene, lines: &[LogLine], with_subject: bool) -> Markup {
    html! {
        @if !lines.is_empty() {
            p.small {
                "A struck entry stays in the logbook and counts no more. Erasing removes what an entry says for good, "
                "for instance a guest's data or a secret typed into a note; that it was there stays on record."
            }
        }
        ol.log { @for line in lines { (entry(site, scene, line, with_subject)) } }
    }
}

fn subject(scene: &Scene, id: DeviceId) -> Markup {
    html! {
        @if id == DeviceId::WORKSHOP {
            "the workshop"
        } @else if let Some(device) = scene.device(id) {
            (words::device_full(&view::card(device)))
        } @else {
            "a device not in the register"
        }
    }
}

fn entry(site: &Site, scene: &Scene, line: &LogLine, with_subject: bool) -> Markup {
    let none = Typed::none();
    let form = Form::new("", &none);
    let future = line.stamp.seen > line.stamp.recorded && line.stamp.seen.days_since(line.stamp.recorded) > 0;
    html! {
        li id=(anchor(line.stamp.id)) .struck[line.struck] {
            div.says {
                @if with_subject { (subject(scene, line.stamp.subject)) ": " }
                @if line.struck { span.flag { "struck: " } s { (says(scene, line)) } } @else { (says(scene, line)) }
            }
            p.small {
                "seen " (words::minute(line.stamp.seen))
                @if future { " " strong.flag { "(dated in the future)" } }
                @if line.stamp.recorded != line.stamp.seen { ", written down " (words::minute(line.stamp.recorded)) }
                @if !line.author.is_empty() { " by " (words::name(&line.author)) }
            }
            @if !line.erased && !matches!(line.body, Body::Strike { .. }) {
                details.more {
                    summary { "Correct" span.quiet { " this entry" } }
                    @if !line.struck {
                        (form.post(site, &format!("/entry/{}/strike", line.stamp.id), &send("Strike this entry")))
                    }
                    (form.post(site, &format!("/entry/{}/erase", line.stamp.id), &send("Erase what it says")))
                }
            }
        }
    }
}

fn says(scene: &Scene, line: &LogLine) -> Markup {
    if line.erased {
        return html! { em { "erased" } };
    }
    match &line.body {
        Body::Opaque => {
            html! { em { "written by a newer program" } " (" (words::name(&line.kind)) "): carried along, not read" }
        }
        body => body_words(scene, body),
    }
}

fn of_part(part: &Part) -> Markup {
    let part = words::part(part);
    html! { @if !part.is_empty() { (words::name(&part)) ": " } }
}

/// What an entry says; never a secret.
pub(crate) fn body_words(scene: &Scene, body: &Body) -> Markup {
    html! {
        @match body {
            Body::Device { sort } => { "entered as " (sort.word()) }
            Body::Reading { part, how, facts, .. } => {
                (of_part(part))
                @for (at, (field, value)) in facts.iter().enumerate() {
                    @if at > 0 { "; " }
                    (field.label()) " " (words::whole(&value_words(scene, value)))
                }
                " (" (words::how(*how)) ")"
            }
            Body::Paired { end, transmitter } => {
                (of_part(&Part::End(end.clone()))) "paired with " (words::name(&end_label(scene, transmitter)))
            }
            Body::Flashed { end, version, route } => {
                (of_part(&Part::End(end.clone()))) "flashed to " strong { (words::name(version)) }
                @if !route.is_empty() { " by " (words::name(route)) }
            }
            Body::Strike { entry } => { "an entry struck: " code { (entry) } }
            Body::SameAs { other } => { "the same as " (subject(scene, *other)) }
            Body::Parted { other } => { "not the same as " (subject(scene, *other)) }
            Body::Family { name, .. } => { "link family " (words::name(name)) " written down" }
            Body::Mapping { .. } => { "the columns of an imported list remembered" }
            Body::Setting { key, value } => {
                "setting " (words::name(key))
                @match value {
                    Some(value) if release::family_of_setting(key).is_some() => { " holds " (releases(value)) }
                    Some(value) => { " is " strong { (words::name(value)) } }
                    None => " returned to the default"
                }
            }
            Body::Note { text } => { "note: " (words::whole(text)) }
            Body::TrailBegun(begun) => (trail_begun(scene, begun)),
            Body::TrailEvent { event, .. } => (trail_event(scene, event)),
            Body::TrailClosed(closed) => (trail_closed(closed)),
            Body::RefitBegun(begun) => (refit_begun(begun)),
            Body::RefitEvent { event, .. } => (refit_event(scene, event)),
            Body::Fitted(fitted) => {
                (fitted.part.label()) @if fitted.text.is_empty() { " taken away" } @else { " written down" }
            }
            Body::Proved(done) => (proved(scene, done)),
            Body::Worked(done) => (worked(done)),
            Body::Signed(done) => (signed(scene, done)),
            Body::Opaque => em { "not read" }
        }
    }
}

/// The key of a symptom, step or cause as words: all that the logbook knows of it.
fn key(key: &str) -> Markup {
    words::name(&key.replace('_', " "))
}

fn side_facts(scene: &Scene, facts: &[(Side, Field, Value)]) -> Markup {
    html! {
        @for (side, field, value) in facts {
            "; " (side.word()) " " (field.label()) " " (words::whole(&value_words(scene, value)))
        }
    }
}

fn trail_begun(scene: &Scene, begun: &Begun) -> Markup {
    let ends = [&begun.transmitter, &begun.receiver].into_iter().flatten();
    html! {
        "a fault trail began: " strong { (key(&begun.symptom)) }
        @for (at, end) in ends.enumerate() {
            @if at == 0 { ", " } @else { " and " }
            (words::name(&end_label(scene, end)))
        }
        @if !begun.whose.is_empty() { "; gear of " (words::name(&begun.whose)) }
        (side_facts(scene, &begun.facts))
        @for (at, cover) in begun.open.iter().enumerate() {
            @if at == 0 { "; open already: " } @else { ", " }
            (key(cover))
        }
    }
}

fn trail_event(scene: &Scene, event: &Event) -> Markup {
    html! {
        @match event {
            Event::Answered { step, answer, facts } => {
                (key(step)) " answered: "
                strong { @if answer.is_empty() { "can't tell" } @else { (key(answer)) } }
                (side_facts(scene, facts))
            }
            Event::Tried { step, helped, facts, way } => {
                @if let Some(way) = way { (words::whole(&way.text)) } @else { (key(step)) }
                " tried: "
                strong {
                    @match helped { Helped::Yes => "it helped", Helped::No => "no help", Helped::CantTell => "can't tell" }
                }
                (side_facts(scene, facts))
            }
            Event::Opened { cover } => { "opened: " (key(cover)) }
            Event::Elsewise { text, minutes, changed } => {
                (words::whole(text)) " (" (words::minutes(*minutes)) ")"
                @if !changed.is_empty() { "; left changed: " (words::whole(changed)) }
            }
            Event::PutBack { change } => { "put back: " (key(change)) }
            Event::Accepted { change } => { "stays as it is: " (key(change)) }
            Event::Proved { proof, held } => {
                @if *held { "proof held: " } @else { "proof did not hold: " }
                (key(proof))
            }
        }
    }
}

fn trail_closed(closed: &Closed) -> Markup {
    let outcome = match closed.outcome {
        Outcome::Proven => "link proven",
        Outcome::GaveUp => "given up",
        Outcome::Left => "left as it is",
    };
    html! {
        "the fault trail " (key(&closed.symptom)) " ended: " (outcome) ", "
        @match closed.cause.as_str() {
            "" => "cause not found",
            "unlisted" => "cause not in the list",
            cause => { "cause " strong { (key(cause)) } }
        }
        ", after " (words::minutes(closed.minutes))
    }
}

/// How much a text of releases says.
fn releases(text: &str) -> String {
    let Ok(read) = release::read_releases("releases", text) else {
        return "a text that can't be read".to_owned();
    };
    format!(
        "{}, {}",
        words::counted(read.releases.len() as u64, "release", "releases"),
        words::counted(read.reaches.len() as u64, "thing to reach", "things to reach")
    )
}

/// Of the wishes only how many: none of them, a link secret least of all, is told.
fn refit_begun(begun: &refit::Begun) -> Markup {
    let devices: BTreeSet<DeviceId> = begun.placed.iter().map(|placed| placed.what).collect();
    let evenings: BTreeSet<u32> = begun.placed.iter().map(|placed| placed.evening).collect();
    html! {
        "a refit began: " strong { (words::name(&begun.name)) } ", "
        (words::counted(begun.wishes.len() as u64, "wish", "wishes")) ", "
        @if begun.placed.is_empty() {
            "nothing planned"
        } @else {
            (words::counted(devices.len() as u64, "device", "devices")) " in "
            (words::counted(evenings.len() as u64, "evening", "evenings"))
        }
    }
}

fn refit_event(scene: &Scene, event: &refit::Event) -> Markup {
    html! {
        @match event {
            refit::Event::Ticked { text, .. } => { "refit: done: " (words::whole(text)) }
            refit::Event::Deferred { what, until } => {
                "refit: " (subject(scene, *what)) " put off to evening " (words::count(u64::from(*until)))
            }
            refit::Event::Planned { .. } => "refit planned anew",
            refit::Event::Ended { how: Ending::Done } => "refit ended: all done",
            refit::Event::Ended { how: Ending::Abandoned } => "refit ended: abandoned",
        }
    }
}

fn with(scene: &Scene, transmitter: Option<DeviceId>) -> Markup {
    html! { @if let Some(id) = transmitter { " with " (subject(scene, id)) } }
}

fn proved(scene: &Scene, proved: &Proved) -> Markup {
    html! {
        (proved.proof.label()) (with(scene, proved.transmitter)) ": "
        strong { @if proved.held { "held" } @else { "did not hold" } }
        @for (at, (key, value)) in proved.measured.iter().enumerate() {
            @if at == 0 { "; " } @else { ", " }
            (words::name(&measured_words(key, *value)))
        }
        @if !proved.note.is_empty() { "; " (words::whole(&proved.note)) }
    }
}

fn worked(worked: &Worked) -> Markup {
    html! {
        (worked.what.label())
        @if !worked.note.is_empty() { ": " (words::whole(&worked.note)) }
    }
}

fn signed(scene: &Scene, signed: &Signed) -> Markup {
    html! {
        "signed off" (with(scene, signed.transmitter)) ": "
        (words::count(signed.checked.len() as u64)) " checked, "
        (words::count(signed.unchecked.len() as u64)) " not"
        @if !signed.note.is_empty() { "; " (words::whole(&signed.note)) }
    }
}
