//! `GET /fault/{id}`: where a trail stands, and the one step that comes next.

use maud::{Markup, html};
use register::trail::Outcome;
use register::view::Card;
use trails::trail::{Done, MOST_WORDS, Next, Remark, Settled, Trail, Weight, likeliest, outcome_label};

use super::parts::{self, percent};
use super::{end, next};
use crate::form::{Form, Input, Typed, choice, hidden, send};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

/// How far a trail was when a page of it was made. Every form sends it back as `at`, so that
/// a page that is behind, or a button that is touched twice, writes nothing.
pub fn mark(trail: &Trail) -> String {
    let last = trail.history.last().map_or(trail.id, |done| done.entry);
    let closed = if trail.closed.is_some() { "-closed" } else { "" };
    format!("{last}{closed}")
}

/// What the parts of the page need.
pub(super) struct On<'a> {
    pub site: &'a Site,
    pub trail: &'a Trail,
    pub typed: &'a Typed,
}

impl On<'_> {
    /// A form that does something on the trail.
    pub fn post(&self, key: &str, action: &str, body: &Markup) -> Markup {
        let action = format!("/fault/{}/{action}", self.trail.id);
        let form = Form::new(key, self.typed);
        form.post(self.site, &action, &html! { (hidden("at", &mark(self.trail))) (body) })
    }
}

/// Where a trail stands: the next step with its answers, why, what was done, what is to be
/// put back. `short` is the trail's name on the command line.
///
/// Forms post to `/fault/{id}/ACTION`, each with `at` ([`mark`]): `answer` (`step`, `answer`:
/// a key, empty for what the facts tell, `cant-tell`; `SIDE.value`, `SIDE.secret`,
/// `SIDE.blank`), `tried` (`step`, `helped`; `mend` and its `action` for a failed rule), `did`
/// (`text`, `minutes`, `changed`, `helped`), `open` (`cover`), `restore` and `accept`
/// (`change`), `prove` (`proof`, `held`: `yes` or `no`), `back`, `close` (`outcome`, `cause`,
/// `other`), `forget` (`sure`).
pub fn page(site: &Site, trail: &Trail, short: &str, typed: &Typed) -> Markup {
    let on = On { site, trail, typed };
    let link = &trail.link;
    let title = format!(
        "{}: {} with {}",
        trail.model.name,
        words::clip(&link.transmitter.label()),
        words::clip(&link.receiver.label())
    );
    let open = trail.closed.is_none();
    let body = html! {
        div.trail {
            (next::answer(trail))
            (remark(trail))
            (next::section(&on))
            (next::to_go(trail))
            @if open { (elsewise(&on)) (covers(&on)) (next::others(&on)) }
            (back(&on))
            (weighed(trail))
            (history(trail))
            (changes(&on))
            (gear(trail, short))
            @if open && !matches!(trail.next, Next::GiveUp { .. }) { (end::early(&on)) }
            (end::forget(&on))
        }
    };
    site.page(&title, &body)
}

fn remark(trail: &Trail) -> Markup {
    let says = match &trail.remark {
        None => return html! {},
        Some(Remark::Contradiction) => {
            "What was answered can't all be so. Go back over the answers below; where they all stand, it is something that is not in this list.".to_owned()
        }
        Some(Remark::NotListed { weight }) => format!(
            "What was seen fits nothing in this list well: {} that it is something else. Ask somebody who knows this gear, or read its manual, before more is taken apart.",
            percent(*weight)
        ),
        Some(Remark::StillFails { reasons }) => format!(
            "It works, and yet the register says that it can't: {} Look again at what is written down before you rely on it.",
            reasons.join(" ")
        ),
        Some(Remark::TwoFaults { one, other, weight }) => format!(
            "One fault alone explains this badly. Two at once do ({}): “{}” and “{}”. Mending one will not show until the other is mended too.",
            percent(*weight),
            parts::no_stop(one),
            parts::no_stop(other)
        ),
    };
    html! { p.notice role="note" { (words::prose(&says)) } }
}

fn elsewise(on: &On) -> Markup {
    let form = Form::new("did", on.typed);
    let helped = [choice("no-help", "No, still broken"), choice("helped", "Yes, it works now")];
    html! {
        details open[on.typed.sent("did")] {
            summary { "I did something else" }
            (on.post("did", "did", &html! {
                (form.text(Input::new("text", "What you did").longest(MOST_WORDS).required()))
                (form.number(Input::new("minutes", "Minutes it took").start("5").required()))
                (form.text(Input::new("changed", "What it left changed").longest(MOST_WORDS).hint("Leave it empty where nothing is to be put back")))
                (form.radio(Input::new("helped", "Did it help?").start("no-help"), &helped))
                p { (send("Write it down")) }
            }))
        }
    }
}

fn covers(on: &On) -> Markup {
    let trail = on.trail;
    let closed: Vec<_> =
        trail.model.covers.iter().zip(&trail.situation.open).filter(|(_, open)| !**open).collect();
    if closed.is_empty() || trail.helped.is_some() {
        return html! {};
    }
    html! {
        details {
            summary { "Something is open or at hand already" }
            p.small { "What is open or at hand makes the steps that need it quicker." }
            (on.post("open", "open", &html! {
                div.answers role="group" aria-label="What is open or at hand" {
                    @for (cover, _) in closed {
                        button.answer-button type="submit" name="cover" value=(cover.key) {
                            span { "Open or fetch: " (words::prose(&cover.label)) }
                            small { (cover.open) " to open or fetch, " (cover.close) " to close or return" }
                        }
                    }
                }
            }))
        }
    }
}

fn back(on: &On) -> Markup {
    let trail = on.trail;
    let says = match (&trail.closed, trail.history.last()) {
        (Some(_), _) => html! { "The closing no longer counts then." },
        (None, Some(done)) => html! {
            "Takes back: " (words::prose(parts::no_stop(&done.what)))
            @if !done.came.is_empty() { " (" (words::prose(&done.came)) ")" } "."
        },
        (None, None) => return html! {},
    };
    html! {
        div.go-back {
            (on.post("back", "back", &html! {
                button.plain type="submit" aria-describedby="takes-back" {
                    (if trail.closed.is_some() { "Take it up again" } else { "Go back" })
                }
                " " span.small id="takes-back" { (says) }
            }))
        }
    }
}

/// The weights before the trail and now.
fn weighed(trail: &Trail) -> Markup {
    if trail.closed.is_some() {
        return html! {};
    }
    let before = likeliest(&trail.model, &trail.at_start, trail.model.hypotheses());
    let now = trail.likeliest();
    html! {
        section aria-labelledby="weights" {
            h2 id="weights" { "What it may be" }
            @if trail.history.is_empty() {
                (parts::weights(&now, &[]))
            } @else {
                p.small { "The thick bar is now, the thin one above it before the trail." }
                (parts::weights(&now, &before))
            }
            @if let Next::Step(proposal) = &trail.next {
                details {
                    summary { "After each answer" }
                    dl.after {
                        @for one in &proposal.outcomes {
                            dt { (words::prose(&one.label)) " " small { (percent(one.chance)) " likely" } }
                            dd {
                                @if one.after.iter().any(|cause| cause.weight > 0.0) {
                                    "Then likeliest: " (parts::likeliest(&one.after, 3)) "."
                                } @else { "Nothing in this list would be left." }
                            }
                        }
                        dt { "Can't tell" }
                        dd { "Nothing changes, and another step comes next." }
                    }
                }
            }
            p.small {
                @match trail.counts.total() {
                    0 => "Weights and minutes are judgement; no closed trail of this workshop has taught them yet. ",
                    count => {
                        "Weights and minutes are judgement, taught by "
                        (words::counted(u64::from(count), "closed trail", "closed trails")) " of this workshop. "
                    }
                }
                a href={ "/faults/weights?symptom=" (words::encode(&trail.model.key)) } { "The weights of this symptom" }
            }
        }
    }
}

/// How a weight moved: `34 % → 60 %`.
fn moved(done: &Done, after: &Weight) -> Markup {
    html! {
        (words::prose(&after.label)) " "
        @if let Some(before) = parts::weight_in(&done.before, &after.key) { (percent(before)) " → " }
        (percent(after.weight))
    }
}

fn history(trail: &Trail) -> Markup {
    const MOVED: usize = 3;
    html! {
        @if !trail.history.is_empty() {
            section aria-labelledby="done" {
                h2 id="done" { "What was done, " (words::minutes(trail.spent)) }
                ol.log.done {
                    @for done in &trail.history {
                        li {
                            p {
                                (words::prose(&parts::sentence(&done.what))) " "
                                @if !done.came.is_empty() { strong { (words::prose(&parts::sentence(&done.came))) } " " }
                                @if done.minutes.hundredths() > 0 { (words::minutes(done.minutes)) }
                            }
                            @if done.before != done.after {
                                ul.moved.small { @for one in done.after.iter().take(MOVED) { li { (moved(done, one)) } } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn changes(on: &On) -> Markup {
    let trail = on.trail;
    let is_next = |at: usize| matches!(trail.next, Next::Restore { change } if change == at);
    html! {
        @if !trail.changes.is_empty() {
            section aria-labelledby="changes" {
                h2 id="changes" { "What was changed" }
                ul.changes {
                    @for (at, change) in trail.changes.iter().enumerate() {
                        li {
                            (words::prose(&change.what)) " " strong { (change.settled.label()) } "."
                            @if change.settled == Settled::Open && trail.closed.is_none() && !is_next(at) {
                                details {
                                    summary { "Put it back, or let it stay" }
                                    (next::restore(on, change))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A side of the link: registered gear leads to its page.
fn side(card: &Card, is_guest: bool) -> Markup {
    if is_guest {
        html! { (words::name(&card.label())) }
    } else {
        words::device_full(card)
    }
}

fn gear(trail: &Trail, short: &str) -> Markup {
    let (link, guests) = (&trail.link, &trail.guests);
    let id = trail.id;
    html! {
        section aria-labelledby="gear" {
            h2 id="gear" { "This trail" }
            p {
                (side(&link.transmitter, guests.transmitter.is_some())) " with "
                (side(&link.receiver, guests.receiver.is_some()))
                @if !trail.whose.is_empty() { ", " (words::name(&trail.whose)) }
                ". Begun " (words::minute(trail.begun)) ". On the command line it is " code { (short) } "."
            }
            ul.ways {
                @if guests.transmitter.is_none() && guests.receiver.is_none() {
                    li { a href={ "/link/" (link.transmitter.id) "/" (link.receiver.id) } { "The link, rule by rule" } }
                }
                @if trail.searching() { li { a href={ "/fault/" (id) "/card" } { "The way on from here, on paper" } } }
                li { a href={ "/fault/" (id) "/report" } { (if trail.closed.is_some() { "The closing report" } else { "A report of what was done so far" }) } }
                li { a href="/faults" { "Every fault trail" } }
            }
        }
    }
}

/// How a trail ended, as a sentence.
pub(super) fn ended(trail: &Trail, outcome: Outcome, cause: &str) -> String {
    let how = capital(outcome_label(outcome));
    if cause.is_empty() {
        format!("{how}. What it was wasn't found.")
    } else {
        format!("{how}. It was: {}.", parts::no_stop(&trail.cause_label(cause)))
    }
}
