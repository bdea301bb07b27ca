//! The closing report: what was found and done, for the aircraft's owner.

use maud::{Markup, html};
use register::trail::Outcome;
use trails::trail::{ProofState, Settled, Trail, outcome_label};

use super::parts::{no_stop, percent, sentence as sentence_of};
use crate::site::Site;
use crate::words;

/// The report of a trail, closed or not.
pub fn page(site: &Site, trail: &Trail) -> Markup {
    let link = &trail.link;
    let body = html! {
        p.answer { (sentence(trail)) }
        dl {
            dt { "Gear" } dd { (words::name(&link.transmitter.full())) " with " (words::name(&link.receiver.full()))
                @if let Some(aircraft) = &link.aircraft { " in " (words::name(&aircraft.spoken())) } }
            @if let Some(family) = &link.family { dt { "Link family" } dd { (words::name(family)) } }
            @if !trail.whose.is_empty() { dt { "Whose" } dd { (words::prose(&trail.whose)) } }
            dt { "Complaint" } dd { (words::prose(&trail.model.name)) }
            dt { "Begun" } dd { (words::minute(trail.begun)) }
            dt { "Work" } dd { (words::minutes(trail.closed.as_ref().map_or(trail.spent, |closed| closed.minutes))) }
        }
        section aria-labelledby="done" {
            h2 id="done" { "What was asked and done" }
            @if trail.history.is_empty() { p { "Nothing yet." } } @else {
                ol {
                    @for done in &trail.history {
                        li { (words::prose(&sentence_of(&done.what))) @if !done.came.is_empty() { " " (words::prose(&sentence_of(&done.came))) } " " (words::minutes(done.minutes)) }
                    }
                }
            }
        }
        @if !trail.changes.is_empty() {
            section aria-labelledby="changed" {
                h2 id="changed" { "What was changed on the way" }
                ul { @for change in &trail.changes { li { (words::prose(no_stop(&change.what))) ": " (change.settled.label()) "." } } }
            }
        }
        section aria-labelledby="proven" {
            h2 id="proven" { "What was proven" }
            ul {
                @for proof in &trail.proofs {
                    li { strong { (tried(proof)) } (words::prose(&proof.text)) }
                }
            }
        }
        @if trail.closed.as_ref().is_none_or(|closed| closed.cause.is_empty()) {
            section aria-labelledby="likely" {
                h2 id="likely" { "What it most likely is" }
                ol { @for one in trail.likeliest() { li { (words::prose(&one.label)) " (" (percent(one.weight)) ")" } } }
            }
        }
        p { "This report says what was seen on that day, and what was not tried. It doesn't say that the aircraft is safe: "
            "before the next flight do the maker's and the club's checks, a range check and a failsafe check among them. "
            "Local rules and the maker's manual prevail." }
        @if trail.changes.iter().any(|change| change.settled == Settled::Open) {
            p.notice role="note" { "Something is still to be put back: don't fly before it is." }
        }
    };
    site.page(&format!("Closing report: {}", trail.model.name), &body)
}

/// What came of a proof.
fn tried(proof: &ProofState) -> &'static str {
    match (proof.held, proof.failed) {
        (true, _) => "Seen to hold: ",
        (false, true) => "Tried, and did NOT hold: ",
        (false, false) => "Not tried: ",
    }
}

fn sentence(trail: &Trail) -> Markup {
    html! {
        @match &trail.closed {
            None => "This trail is still open.",
            Some(closed) => {
                @match (closed.outcome, closed.cause.is_empty()) {
                    (Outcome::Proven, true) => "It works again, and that was proven. What it was is not known.",
                    (Outcome::Proven, false) => { "It works again, and that was proven. It was: " (words::prose(no_stop(&trail.cause_label(&closed.cause)))) "." }
                    (outcome, true) => { "It ended without a cure: " (outcome_label(outcome)) ". What it was is not known." }
                    (outcome, false) => { "It ended without a cure: " (outcome_label(outcome)) ". It is: " (words::prose(no_stop(&trail.cause_label(&closed.cause)))) "." }
                }
            }
        }
    }
}
