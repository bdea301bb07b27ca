//! `GET /refits`: those that are open, those that ended, and a new one.

use maud::{Markup, html};
use refits::follow::Standing;
use register::refit::{Ending, RefitLog};
use register::scene::Scene;

use super::parts;
use crate::site::Site;
use crate::words;

/// What the page of refits shows.
#[derive(Clone, Debug)]
pub struct Refits<'a> {
    /// Those that are open, the newest first.
    pub open: &'a [Open<'a>],
    /// Those that ended, the newest first.
    pub ended: &'a [Ended<'a>],
}

/// An open refit.
#[derive(Clone, Debug)]
pub struct Open<'a> {
    /// Its entries.
    pub log: &'a RefitLog,
    /// Where it stands; `None` when more are open than are reckoned at once.
    pub standing: Option<Standing>,
}

/// One that ended.
#[derive(Clone, Debug)]
pub struct Ended<'a> {
    /// Its entries.
    pub log: &'a RefitLog,
    /// How.
    pub how: Ending,
}

/// How many that ended are listed.
const MOST_ENDED: usize = 60;

/// The open ones with what is next, then those that ended.
pub fn page(site: &Site, scene: &Scene, refits: &Refits) -> Markup {
    let body = html! {
        p.answer {
            @match refits.open {
                [] => "No refit is open.",
                [_] => "One refit is open.",
                many => { (words::count(many.len() as u64)) " refits are open." }
            }
        }
        @if !refits.open.is_empty() {
            section aria-labelledby="open" {
                h2 id="open" { "Open refits" }
                ul.trails { @for one in refits.open { li { (opened(site, scene, one)) } } }
            }
        } @else {
            p { "A refit changes firmware, link secrets or pairings across the fleet: planned in evenings, so that as few aircraft as can be are grounded, and followed step by step." }
        }
        p.main-action { a.main href="/refits/new" { "Plan a refit" } }
        @if !refits.ended.is_empty() {
            section aria-labelledby="ended" {
                h2 id="ended" { "Refits that ended" }
                ul.trails { @for one in refits.ended.iter().take(MOST_ENDED) { li { (ended(site, one)) } } }
                @if refits.ended.len() > MOST_ENDED {
                    p { "The newest " (words::count(MOST_ENDED as u64)) " of " (words::count(refits.ended.len() as u64))
                        " are listed. " a href="/history" { "The logbook" } " has them all." }
                }
            }
        }
        p.small { "Which versions there are to change to stands in the " a href="/families" { "link families" } "." }
    };
    site.page("Refits", &body)
}

fn opened(site: &Site, scene: &Scene, one: &Open) -> Markup {
    let log = one.log;
    html! {
        a href={ "/refit/" (log.id()) } { (words::name(&log.begun.what.name)) }
        span.small {
            @if let Some(standing) = &one.standing {
                (words::prose(&standing.sentence())) " "
                @if let Some(why) = standing.stale.first() { strong { "Plan the rest anew: " } (words::prose(why)) " " }
                @else if let Some((evening, line)) = standing.lines().next() {
                    "Next, in evening " (evening) ", "
                    @if line.step.what != register::id::DeviceId::WORKSHOP { (words::name(&parts::label(scene, line.step.what))) ": " }
                    (words::prose(&line.step.text)) " " (words::minutes(line.step.minutes)) ". "
                }
            }
            "Begun " (words::ago(site.now.days_since(log.begun.seen))) ", " (words::minute(log.begun.seen)) "."
        }
    }
}

fn ended(site: &Site, one: &Ended) -> Markup {
    html! {
        a href={ "/refit/" (one.log.id()) } { (words::name(&one.log.begun.what.name)) }
        span.small {
            (match one.how { Ending::Done => "Done", Ending::Abandoned => "Given up" })
            @if let Some((_, mark)) = one.log.ended() { " " (words::ago(site.now.days_since(mark.seen))) ", " (words::minute(mark.seen)) }
            "."
        }
    }
}
