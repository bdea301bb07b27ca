//! What comes next on a trail: the answer in a sentence, then its buttons.

use maud::{Markup, html};
use register::family::Side;
use register::field::Field;
use register::mend::Mend;
use register::trail::Helped;
use trails::model::{Kind, StepAt};
use trails::planner::Choice;
use trails::trail::{Certain, Change, FactAsked, Next, ProofState, Proposal, Trail, helped_label};

use super::end;
use super::parts::{self, percent};
use super::start::secret;
use super::step::{On, ended};
use crate::form::{Form, Input, hidden};
use crate::link::sent_as;
use crate::reading::capital;
use crate::words;

/// The one sentence, and what helped.
pub(super) fn answer(trail: &Trail) -> Markup {
    let sentence = match &trail.next {
        Next::Lift { certain } => {
            let one = &trail.certain[*certain];
            html! {
                "Certain: " (words::prose(parts::no_stop(&one.reason))) "."
                @if let Some(mend) = one.mends.first() { " Mend it, " (words::minutes(mend.minutes)) "." }
            }
        }
        Next::Step(proposal) => {
            html! { (words::prose(&trail.model.steps[proposal.step].label)) " " (words::minutes(proposal.minutes)) }
        }
        Next::GiveUp { text, minutes } => {
            html! { "Nothing more is worth its minutes. " (words::prose(text)) " " (words::minutes(*minutes)) }
        }
        Next::Stuck => html! { "Nothing in this list is left to try." },
        Next::Restore { change } => {
            html! { "It seems to work. Put back: " (words::prose(&trail.changes[*change].back)) }
        }
        Next::Prove { proof } => html! { "Prove it: " (words::prose(&trail.proofs[*proof].text)) },
        Next::Close => {
            html! { "It is proven, and everything is put back. Name the fault, and close the trail." }
        }
        Next::Closed => html! {
            "Closed: "
            @if let Some(closed) = &trail.closed {
                (words::prose(&ended(trail, closed.outcome, &closed.cause))) " " (words::minutes(closed.minutes))
            }
        },
    };
    html! {
        p.answer { (sentence) }
        @match &trail.next {
            Next::Restore { .. } | Next::Prove { .. } | Next::Close => { (helped(trail)) }
            _ => {}
        }
    }
}

/// The minutes to go and those spent; they stand below the answers, which come first.
pub(super) fn to_go(trail: &Trail) -> Markup {
    if !matches!(trail.next, Next::Step(_) | Next::Lift { .. }) {
        return html! {};
    }
    html! {
        p.to-go {
            @if let Some(expected) = trail.expected.filter(|expected| expected.hundredths() > 0) {
                "About " (words::minutes(expected))
                @if matches!(trail.next, Next::Lift { .. }) {
                    " to mend what fails for certain. "
                } @else {
                    " more to a proven link" @if trail.model.give_up.is_some() { ", or to giving up" }
                    @if let Some(method) = trail.method { ": " (method.label()) }
                    ". "
                }
            }
            @if trail.spent.hundredths() > 0 { "Spent so far: " (words::minutes(trail.spent)) "." }
        }
    }
}

/// What seems to have helped, and how far that can be trusted.
fn helped(trail: &Trail) -> Markup {
    /// Below this nobody needs to be told that a fault may only hide.
    const WORTH_SAYING: f64 = 0.01;
    let held = trail.proofs.iter().filter(|proof| proof.held).count();
    let Some(helped) = &trail.helped else { return html! {} };
    html! {
        p {
            "What helped: " (words::prose(parts::no_stop(&helped.what))) ". "
            (words::count(held as u64)) " of " (words::counted(trail.proofs.len() as u64, "proof has", "proofs have")) " held."
            @if helped.hidden >= WORTH_SAYING {
                " Not sure yet: " (percent(helped.hidden)) " that the fault only hides."
                @if !helped.watch.is_empty() { " Watch it: " (words::prose(&helped.watch)) "." }
            }
        }
    }
}

/// What to do, and the buttons that say what came of it.
pub(super) fn section(on: &On) -> Markup {
    let trail = on.trail;
    match &trail.next {
        Next::Lift { certain } => lift(on, &trail.certain[*certain], *certain),
        Next::Step(proposal) => step(on, proposal),
        Next::GiveUp { .. } => html! { (settle_first(on)) (end::give_up(on)) },
        Next::Stuck => html! {
            div.next { p { "Do something else and write it down below, go back over the answers, or leave it as it is." } }
        },
        Next::Restore { change } => html! { div.next { (restore(on, &trail.changes[*change])) } },
        Next::Prove { proof } => prove(on, &trail.proofs[*proof]),
        Next::Close => end::close(on),
        Next::Closed => html! {
            p.main-action { a.main href={ "/fault/" (trail.id) "/report" } { "Read the closing report" } }
        },
    }
}

/// A trail doesn't close before what it changed is settled.
fn settle_first(on: &On) -> Markup {
    html! {
        @if on.trail.open_changes().next().is_some() {
            p { strong { "First " } "put back what was changed, or say that it stays: see " a href="#changes" { "what was changed" } "." }
        }
    }
}

/// The buttons of an answer: what, and how likely it is where that is known.
fn answers(label: &str, name: &str, list: &[(String, String, Option<f64>)]) -> Markup {
    html! {
        div.answers role="group" aria-label=(words::clip_to(label, 200)) {
            @for (value, label, chance) in list {
                button.answer-button type="submit" name=(name) value=(value) {
                    span { (words::prose(label)) }
                    @if let Some(chance) = chance { " " small { (percent(*chance)) " likely" } }
                }
            }
        }
    }
}

fn step(on: &On, proposal: &Proposal) -> Markup {
    let mut foreseen: Vec<(String, String, Option<f64>)> =
        proposal.outcomes.iter().map(|one| (one.key.clone(), one.label.clone(), Some(one.chance))).collect();
    html! {
        div.next {
            @if !proposal.covers.is_empty() {
                p.covers {
                    strong { "Open or fetch first: " }
                    @for (at, (label, minutes)) in proposal.covers.iter().enumerate() {
                        @if at > 0 { "; " }
                        (words::prose(parts::no_stop(label))) ", " (words::minutes(*minutes)) " with closing again"
                    }
                    "."
                }
            }
            (described(on.trail, proposal.step))
            (buttons(on, proposal.step, &mut foreseen))
            (facts(on, proposal))
        }
    }
}

/// Cautions, how it is done, what good looks like.
fn described(trail: &Trail, at: StepAt) -> Markup {
    let step = &trail.model.steps[at];
    html! {
        (parts::energises(&step.energises))
        (parts::cautions_in_brief(&parts::each_once(step.cautions().into_iter())))
        (how(&step.how, &step.good))
        @if let Some(mend) = step.as_mend() {
            @if !mend.watch.is_empty() { p { strong { "Then watch: " } (words::prose(&mend.watch)) "." } }
        }
        @if let Some(leaves) = &step.leaves { p.small { "It leaves something changed, to be put back at the end: " (words::prose(parts::no_stop(&leaves.what))) "." } }
    }
}

/// How it is done and what good looks like; on a small screen behind a line of its own, so
/// that the answers are in sight.
fn how(how: &str, good: &str) -> Markup {
    let label = match (how.is_empty(), good.is_empty()) {
        (true, true) => return html! {},
        (false, true) => "How",
        (true, false) => "What good looks like",
        (false, false) => "How, and what good looks like",
    };
    html! {
        details.how {
            summary { (label) }
            @if !how.is_empty() { p { (words::prose(how)) } }
            @if !good.is_empty() { p { strong { "Good: " } (words::prose(good)) } }
        }
    }
}

/// One form with a button for each outcome.
fn buttons(on: &On, at: StepAt, list: &mut Vec<(String, String, Option<f64>)>) -> Markup {
    let step = &on.trail.model.steps[at];
    let key = format!("step-{}", step.key);
    match step.kind {
        Kind::Check(_) => {
            list.push(("cant-tell".to_owned(), "Can't tell".to_owned(), None));
            on.post(
                &key,
                "answer",
                &html! { (hidden("step", &step.key)) (answers(&step.label, "answer", list)) },
            )
        }
        Kind::Mend(_) => {
            list.push((Helped::CantTell.word().to_owned(), helped_label(Helped::CantTell).to_owned(), None));
            on.post(
                &key,
                "tried",
                &html! { (hidden("step", &step.key)) (answers(&step.label, "helped", list)) },
            )
        }
    }
}

/// The form that takes the values of both ends instead of an answer.
pub const FACTS_FORM: &str = "facts";

fn facts(on: &On, proposal: &Proposal) -> Markup {
    let Some(first) = proposal.facts.first() else { return html! {} };
    let step = &on.trail.model.steps[proposal.step];
    let form = Form::new(FACTS_FORM, on.typed);
    // What was typed for another step is not this one's.
    let ours = on.typed.value(FACTS_FORM, "step") == Some(step.key.as_str());
    html! {
        details open[ours] {
            summary { "Or type what the two ends show" }
            (on.post(FACTS_FORM, "answer", &html! {
                (hidden("step", &step.key))
                @for fact in &proposal.facts { (fact_input(&form, fact)) }
                p.small {
                    "The " (first.field.label()) " is written down: "
                    (if on.trail.guests.transmitter.is_some() && on.trail.guests.receiver.is_some() { "on this trail only." } else { "that of the workshop's own gear in the register." })
                }
                p { button.plain type="submit" name="answer" value="" { "Judge by what is typed" } }
                @if let Some(check) = step.as_check() {
                    p { "Or write it down, and answer:" }
                    div.answers.row role="group" aria-label=(words::clip_to(&step.label, 200)) {
                        @for one in &check.answers { button.plain type="submit" name="answer" value=(one.key) { (words::prose(&one.label)) } }
                        button.plain type="submit" name="answer" value="cant-tell" { "Can't tell" }
                    }
                }
            }))
        }
    }
}

fn fact_input(form: &Form, fact: &FactAsked) -> Markup {
    let end = match fact.side {
        Side::Transmitter => "Transmitter",
        Side::Receiver => "Receiver",
    };
    let label = format!("{end}: {}", fact.field.label());
    let hint = format!("{}, now: {}", words::clip(&fact.name), words::clip(&fact.known));
    let name = format!("{}.value", fact.side.word());
    html! {
        @if fact.field == Field::Secret {
            fieldset {
                legend { (label) }
                p.hint { (words::prose(&hint)) }
                (secret(form, fact.side))
            }
        } @else {
            (form.text(Input::new(&name, &label).hint(&hint)))
        }
    }
}

fn lift(on: &On, certain: &Certain, at: usize) -> Markup {
    let rest: Vec<&Certain> = on
        .trail
        .certain
        .iter()
        .enumerate()
        .filter(|(other, one)| *other != at && !one.set_aside)
        .map(|(_, one)| one)
        .collect();
    html! {
        div.next {
            p.small { "Both values are known, so nothing needs to be searched for here." }
            @if let Some(mend) = certain.mends.first() { (one_mend(on, certain, 0, mend)) }
            @if certain.mends.len() > 1 {
                details {
                    summary { "Other ways to mend it, " (words::count(certain.mends.len() as u64 - 1)) }
                    @for (place, mend) in certain.mends.iter().enumerate().skip(1) { (one_mend(on, certain, place, mend)) }
                }
            }
            @if certain.mends.is_empty() {
                p { "No mend on these two devices helps: fit another receiver, or use another transmitter." }
                @if let (None, Some(card)) = (on.trail.guests.receiver, &on.trail.link.aircraft) {
                    p { a href={ "/spares/" (card.id) } { "See which spare fits" } }
                }
                (on.post("rule", "tried", &html! {
                    (hidden("step", &format!("rule:{}", certain.rule.word())))
                    (answers("What came of it", "helped", &[
                        (Helped::Yes.word().to_owned(), "It works now, with other gear".to_owned(), None),
                        (Helped::CantTell.word().to_owned(), "Couldn't do it: search on without it".to_owned(), None),
                    ]))
                }))
            }
        }
        @if !rest.is_empty() {
            section aria-labelledby="also" {
                h2 id="also" { "That is not all" }
                ul { @for one in rest { li { (words::prose(&one.reason)) @if let Some(mend) = one.mends.first() { " " (words::minutes(mend.minutes)) } } } }
            }
        }
    }
}

fn one_mend(on: &On, certain: &Certain, place: usize, mend: &Mend) -> Markup {
    const BROKEN: usize = 8;
    let key = format!("rule-{place}");
    let cautions = parts::each_once(mend.steps.iter().flat_map(register::mend::Step::cautions));
    html! {
        @match mend.steps.as_slice() {
            [first, rest @ ..] if !rest.is_empty() => {
                h2.way { (words::prose(&first.text)) " " (words::minutes(mend.minutes)) " in all" }
                @for step in rest { p { "Then: " (words::prose(&step.text)) " " (words::minutes(step.minutes)) } }
            }
            _ => h2.way { (words::prose(&mend.action)) " " (words::minutes(mend.minutes)) },
        }
        (parts::cautions_in_brief(&cautions))
        @if let Some(instead) = &mend.instead { p { "Goes round it: " (words::name(instead)) "." } }
        @if mend.breaks.is_empty() {
            p.small { "It breaks no other link." }
        } @else {
            p { strong { "It breaks:" } }
            ul {
                @for one in mend.breaks.iter().take(BROKEN) { li { (words::prose(&one.text())) @if one.wanted { " (meant to hold)" } } }
                @if mend.breaks.len() > BROKEN { li { "and " (words::count((mend.breaks.len() - BROKEN) as u64)) " more" } }
            }
        }
        (on.post(&key, "tried", &html! {
            (hidden("step", &format!("rule:{}", certain.rule.word())))
            (hidden("mend", &place.to_string()))
            (hidden("action", &sent_as(&mend.action)))
            (answers(&mend.action, "helped", &[
                (Helped::Yes.word().to_owned(), helped_label(Helped::Yes).to_owned(), None),
                (Helped::No.word().to_owned(), "Done, still broken".to_owned(), None),
                (Helped::CantTell.word().to_owned(), "Couldn't do it".to_owned(), None),
            ]))
        }))
    }
}

/// The two ways to settle a change.
pub(super) fn restore(on: &On, change: &Change) -> Markup {
    let key = |what: &str| format!("{what}-{}", change.key);
    html! {
        p { (words::prose(&change.back)) }
        (parts::cautions(&change.cautions))
        (on.post(&key("restore"), "restore", &html! {
            div.answers role="group" aria-label=(words::clip_to(&change.back, 200)) { button.answer-button type="submit" name="change" value=(change.key) { span { "It is put back" } } }
        }))
        (on.post(&key("accept"), "accept", &html! {
            div.answers role="group" aria-label=(words::clip_to(&change.what, 200)) {
                button.answer-button type="submit" name="change" value=(change.key) {
                    span { "It stays: " (words::prose(parts::no_stop(&change.what))) }
                }
            }
        }))
    }
}

fn prove(on: &On, proof: &ProofState) -> Markup {
    let list = [("yes", "It held"), ("no", "It didn't hold")];
    let list: Vec<_> =
        list.into_iter().map(|(value, label)| (value.to_owned(), label.to_owned(), None)).collect();
    html! {
        div.next {
            (parts::cautions(&proof.cautions))
            (on.post("prove", "prove", &html! { (hidden("proof", &proof.key)) (answers(&proof.text, "held", &list)) }))
        }
    }
}

/// The next best steps, for a person who would rather do one of those first.
pub(super) fn others(on: &On) -> Markup {
    let Next::Step(proposal) = &on.trail.next else { return html! {} };
    let steps: Vec<_> = proposal
        .others
        .iter()
        .filter_map(|one| if let Choice::Do(step) = one.choice { Some((step, one)) } else { None })
        .collect();
    html! {
        @if !steps.is_empty() {
            details {
                summary { "Another step first" }
                @for (at, candidate) in steps {
                    @let step = &on.trail.model.steps[at];
                    details {
                        summary {
                            (words::prose(&step.label)) " " (words::minutes(candidate.minutes))
                            ", then " (words::minutes(candidate.expected)) " expected in all"
                        }
                        (described(on.trail, at))
                        (buttons(on, at, &mut unforeseen(on.trail, at)))
                    }
                }
            }
        }
    }
}

/// The outcomes of a step that isn't the next one.
fn unforeseen(trail: &Trail, at: StepAt) -> Vec<(String, String, Option<f64>)> {
    match &trail.model.steps[at].kind {
        Kind::Check(check) => {
            check.answers.iter().map(|one| (one.key.clone(), capital(&one.label), None)).collect()
        }
        Kind::Mend(_) => [Helped::Yes, Helped::No]
            .into_iter()
            .map(|one| (one.word().to_owned(), helped_label(one).to_owned(), None))
            .collect(),
    }
}
