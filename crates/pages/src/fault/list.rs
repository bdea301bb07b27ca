//! `GET /faults`: what is wrong, the trails that are open, and those that ended.

use maud::{Markup, html};
use register::scene::Scene;
use register::trail::TrailLog;
use register::value::EndRef;
use trails::model::Model;
use trails::trail::outcome_label;

use crate::reading::{capital, end_label};
use crate::site::Site;
use crate::words;

/// What the page of faults shows.
#[derive(Clone, Debug)]
pub struct Faults<'a> {
    /// The symptoms, in the order to offer them.
    pub symptoms: &'a [Model],
    /// Every trail, the oldest first.
    pub trails: &'a [TrailLog],
    /// How many closed trails are left whose other entries were erased.
    pub erased: usize,
    /// What keeps parts of the library from being read, a sentence each.
    pub problems: &'a [String],
    /// The transmitter that was chosen before, as the address names it; may be empty.
    pub transmitter: &'a str,
    /// The receiver likewise.
    pub receiver: &'a str,
}

/// How many trails that ended are listed.
const MOST_ENDED: usize = 60;

/// So many open trails stand above the symptoms; more stand below them.
const FEW_OPEN: usize = 3;

/// What is wrong? One tap leads on; open trails are listed, then those that ended.
pub fn page(site: &Site, scene: &Scene, faults: &Faults) -> Markup {
    let open: Vec<&TrailLog> = faults.trails.iter().rev().filter(|log| log.closed.is_none()).collect();
    let few = !open.is_empty() && open.len() <= FEW_OPEN;
    let ended: Vec<&TrailLog> = faults.trails.iter().rev().filter(|log| log.closed.is_some()).collect();
    let gear = if faults.transmitter.is_empty() && faults.receiver.is_empty() {
        String::new()
    } else {
        format!("&t={}&r={}", words::encode(faults.transmitter), words::encode(faults.receiver))
    };
    let body = html! {
        p.answer {
            "What is wrong? "
            @match open.len() {
                0 => "Choose, and each step that follows is the one with the fewest minutes to a proven link.",
                count if few => { (words::counted(count as u64, "trail is", "trails are")) " open." }
                count => { a href="#open" { (words::counted(count as u64, "trail is", "trails are")) " open" } "." }
            }
        }
        @if few { (opened(site, scene, faults, &open)) }
        @for says in faults.problems { p.problems { (words::prose(says)) } }
        @if few && !faults.symptoms.is_empty() { h2 { "A new trail" } }
        ul.choices-big {
            @for symptom in faults.symptoms {
                li {
                    a.big href={ "/faults/new?symptom=" (words::encode(&symptom.key)) (gear) } {
                        strong { (words::prose(&symptom.name)) }
                        span.small { (words::prose(&symptom.about)) }
                    }
                }
            }
        }
        @if faults.symptoms.is_empty() {
            p { "No fault model can be read, so no trail can begin. " a href="/links" { "Look at the links" } " instead." }
        }
        @if !few { (opened(site, scene, faults, &open)) }
        @if !ended.is_empty() || faults.erased > 0 {
            section aria-labelledby="ended" {
                h2 id="ended" { "Trails that ended" }
                ul.trails { @for log in ended.iter().take(MOST_ENDED) { li { (line(site, scene, faults, log)) } } }
                @if ended.len() > MOST_ENDED {
                    p { "The newest " (words::count(MOST_ENDED as u64)) " of " (words::count(ended.len() as u64))
                        " are listed. " a href="/history" { "The logbook" } " has them all." }
                }
                @if faults.erased > 0 {
                    p.small { (words::counted(faults.erased as u64, "trail of a guest was", "trails of guests were"))
                        " erased; only how it ended still counts." }
                }
            }
        }
        p.small { "What is likely, and how long things take, is judgement, taught by the trails that this workshop closed. "
            a href="/faults/weights" { "The weights, and how much they count" } }
    };
    site.page("Faults", &body)
}

/// The trails that are open.
fn opened(site: &Site, scene: &Scene, faults: &Faults, open: &[&TrailLog]) -> Markup {
    html! {
        section aria-labelledby="open" {
            h2 id="open" { "Open trails" }
            @if open.is_empty() {
                p { "None is open." }
            } @else {
                ul.trails { @for log in open { li { (line(site, scene, faults, log)) } } }
            }
        }
    }
}

/// One side of a trail, in words.
fn side(scene: &Scene, end: Option<&EndRef>, guest: &str) -> String {
    end.map_or_else(|| guest.to_owned(), |end| end_label(scene, end))
}

fn line(site: &Site, scene: &Scene, faults: &Faults, log: &TrailLog) -> Markup {
    let begun = &log.begun.what;
    let model = faults.symptoms.iter().find(|model| model.key == begun.symptom);
    let name = model.map_or(begun.symptom.as_str(), |model| model.name.as_str());
    let transmitter = side(scene, begun.transmitter.as_ref(), "a guest's transmitter");
    let receiver = side(scene, begun.receiver.as_ref(), "a guest's receiver");
    html! {
        a href={ "/fault/" (log.id()) } {
            (words::prose(name)) ": " (words::name(&transmitter)) " with " (words::name(&receiver))
        }
        span.small {
            @if !begun.whose.is_empty() { (words::name(&begun.whose)) ". " }
            "Begun " (words::ago(site.now.days_since(log.begun.seen))) ", " (words::minute(log.begun.seen)) ", "
            (words::counted(log.events.len() as u64, "thing", "things")) " done. "
            @if let Some(closed) = &log.closed {
                (capital(outcome_label(closed.what.outcome)))
                @if !closed.what.cause.is_empty() {
                    @let cause = cause(model, &closed.what.cause);
                    ": " (words::prose(&cause))
                }
                ", " (words::minutes(closed.what.minutes)) "."
            }
        }
    }
}

fn cause(model: Option<&Model>, key: &str) -> String {
    let cause = model.and_then(|model| model.cause(key).map(|at| model.causes[at].label.clone()));
    match cause {
        Some(label) => label,
        None if key == trails::learn::UNLISTED => "something not in this list".to_owned(),
        None => key.replace('_', " "),
    }
}
