//! How a trail ends: proven and closed, given up, left; and a guest's data erased.

use maud::{Markup, html};
use register::trail::Outcome;
use trails::learn::UNLISTED;
use trails::trail::{Next, Weight};

use super::parts::percent;
use super::step::On;
use crate::form::{Choice, Form, Input, choice, hidden, send, send_main};
use crate::words;

/// How many causes are in view; the rest is in a list.
const IN_VIEW: usize = 6;

fn cause_choices(likely: &[Weight]) -> Vec<Choice> {
    likely
        .iter()
        .take(IN_VIEW)
        .map(|one| {
            (one.key.clone(), format!("{} ({} likely)", words::clip_to(&one.label, 200), percent(one.weight)))
        })
        .collect()
}

/// Everything it may have been.
fn all_causes(on: &On, first: &str) -> Vec<Choice> {
    let model = &on.trail.model;
    let causes = model.causes.iter().map(|cause| choice(&cause.key, &cause.label));
    let unlisted = choice(UNLISTED, &on.trail.cause_label(UNLISTED));
    std::iter::once(choice("", first)).chain(causes).chain([unlisted]).collect()
}

/// Name the fault, and close.
pub(super) fn close(on: &On) -> Markup {
    let form = Form::new("close", on.typed);
    let likely = on.trail.helped.as_ref().map_or(&[][..], |helped| &helped.causes);
    let start = on.trail.presumed();
    let mut choices = cause_choices(likely);
    if !start.is_empty() && !choices.iter().any(|(key, _)| *key == start) {
        choices.insert(0, choice(&start, &words::clip_to(&on.trail.cause_label(&start), 200)));
    }
    choices.push(choice("", "Not found: nobody knows what it was"));
    html! {
        div.next {
            (on.post("close", "close", &html! {
                (hidden("outcome", Outcome::Proven.word()))
                (form.radio(Input::new("cause", "What it was").start(&start), &choices))
                details open[choices.len() == 1 || on.typed.value("close", "other").is_some_and(|key| !key.is_empty())] {
                    summary { "It was something else" }
                    (form.select(Input::new("other", "What it was instead"), &all_causes(on, "as chosen above")))
                }
                p.small { "The closed trail teaches this workshop's weights; striking it takes that back." }
                (send_main("Close the trail"))
            }))
        }
    }
}

/// Giving up is what comes next.
pub(super) fn give_up(on: &On) -> Markup {
    html! {
        div.next {
            (ending(on, Outcome::GaveUp))
        }
    }
}

/// Giving up or leaving it, before that is what comes next.
pub(super) fn early(on: &On) -> Markup {
    let proven = on.trail.helped.is_some();
    html! {
        details open[on.typed.sent("end")] {
            summary { (if proven { "Give up after all, or leave it as it is" } else { "Give up, or leave it as it is" }) }
            (ending(on, Outcome::Left))
        }
    }
}

fn ending(on: &On, start: Outcome) -> Markup {
    let form = Form::new("end", on.typed);
    let outcomes = [
        choice(Outcome::GaveUp.word(), "Given up: replaced, or sent to its maker"),
        choice(Outcome::Left.word(), "Left as it is, for now"),
    ];
    let give_up = matches!(on.trail.next, Next::GiveUp { .. });
    html! {
        (on.post("end", "close", &html! {
            (form.radio(Input::new("outcome", "How it ends").start(start.word()), &outcomes))
            (form.select(Input::new("cause", "What it was").hint("Where it was found at all"), &all_causes(on, "not found")))
            @if give_up { (send_main("End the trail")) } @else { p { (send("End the trail")) } }
        }))
    }
}

/// What the form holds that erases.
pub(super) fn sure(form: &Form) -> Markup {
    html! {
        (form.tick(Input::new("sure", "Yes, erase it; it can't be brought back")))
        p { (send("Erase it")) }
    }
}

/// Erasing what a guest's trail says.
pub(super) fn forget(on: &On) -> Markup {
    let trail = on.trail;
    let guest =
        trail.guests.transmitter.is_some() || trail.guests.receiver.is_some() || !trail.whose.is_empty();
    if !guest {
        return html! {};
    }
    let form = Form::new("forget", on.typed);
    html! {
        details open[on.typed.sent("forget")] {
            summary { "Erase the guest's data" }
            p {
                "Everything that this trail says is erased: whose gear it is, what was read, what was done. "
                @if trail.closed.is_some() { "How it ended stays in the weights; it names nobody." } @else { "The trail isn't closed, so nothing of it is left." }
                " Print the report first where the owner wants one."
            }
            (on.post("forget", "forget", &sure(&form)))
        }
    }
}
