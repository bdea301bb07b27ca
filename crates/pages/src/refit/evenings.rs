//! The steps of an evening.

use maud::{Markup, html};
use refits::follow::code;
use refits::layout::{Line, Night};
use refits::step::Back;
use register::id::DeviceId;
use register::scene::Scene;

use super::parts;
use crate::form::Typed;
use crate::words;

/// How steps are shown.
#[derive(Clone, Copy, Debug)]
pub(super) enum As<'a> {
    /// To be looked at.
    Text,
    /// Each with a check box of a form; where something is put off.
    Boxes {
        /// The address of the page on which things are put off, up to the device.
        put_off: &'a str,
        /// The form's key.
        form: &'a str,
        /// What was ticked before.
        typed: &'a Typed,
    },
    /// Each with a box on paper.
    Paper,
}

/// Lines that follow one another on the same thing.
fn visits(lines: &[Line]) -> Vec<&[Line]> {
    lines.chunk_by(|a, b| a.step.what == b.step.what).collect()
}

/// The steps of an evening, by what they are done on.
pub(super) fn steps(scene: &Scene, night: &Night, shown: As) -> Markup {
    let mut seen: Vec<DeviceId> = Vec::new();
    html! {
        @for visit in visits(&night.lines) {
            @let what = visit[0].step.what;
            @let again = seen.contains(&what);
            ({ seen.push(what); visit_of(scene, visit, shown, again) })
        }
    }
}

fn visit_of(scene: &Scene, visit: &[Line], shown: As, again: bool) -> Markup {
    let what = visit[0].step.what;
    let minutes = visit.iter().map(|line| line.step.minutes).sum();
    html! {
        div.visit {
            h3 {
                @if what == DeviceId::WORKSHOP { "The bench" } @else { (words::name(&parts::full(scene, what))) }
                @if again { " again" }
                ", " (words::minutes(minutes))
                @if let As::Boxes { put_off, .. } = shown {
                    @if what != DeviceId::WORKSHOP && !again {
                        " " a.edit href={ (put_off) (what) "#put-off" } { "put off" span.quiet { " " (words::name(&parts::label(scene, what))) } }
                    }
                }
            }
            ul.steps-list { @for line in visit { li { (step(scene, line, shown)) } } }
        }
    }
}

/// One step.
fn step(scene: &Scene, line: &Line, shown: As) -> Markup {
    let step = &line.step;
    let code = code(&step.key);
    let what =
        html! { (words::prose(&step.text)) " " (words::minutes(step.minutes)) " " code.step-code { (code) } };
    html! {
        @match shown {
            As::Text => p { (what) },
            As::Paper => p.boxed { span.box aria-hidden="true" {} span { (what) } },
            As::Boxes { form, typed, .. } => {
                @let id = format!("step-{}", id_of(&step.key));
                div.choice {
                    input id=(id) type="checkbox" name="step" value=(step.key) checked[typed.has(form, "step", &step.key)];
                    label for=(id) { (what) }
                }
            },
        }
        (parts::cautions(&step.cautions))
        (small(line))
        @if !line.grounds.is_empty() { p.small { strong { "Grounded from here: " } (words::name(&parts::labels(scene, &line.grounds))) "." } }
        @if !line.frees.is_empty() { p.small { strong { "Can fly from here: " } (words::name(&parts::labels(scene, &line.frees))) "." } }
        @if matches!(shown, As::Paper) {
            (trouble(line))
        } @else if !step.if_fails.is_empty() || step.back != Back::Nothing {
            details {
                summary {
                    (match (step.if_fails.is_empty(), &step.back) {
                        (true, _) => "Way back",
                        (false, Back::Nothing) => "If it fails",
                        (false, _) => "If it fails, and the way back",
                    })
                }
                (trouble(line))
            }
        }
    }
}

/// A key as an id: letters, digits and hyphens only, and no two alike.
fn id_of(key: &str) -> String {
    use std::fmt::Write as _;
    let mut id = String::new();
    for c in key.chars() {
        if c.is_ascii_alphanumeric() {
            id.push(c);
        } else {
            let _ = write!(id, "-{:x}-", u32::from(c));
        }
    }
    id
}

fn small(line: &Line) -> Markup {
    let energised: Vec<&str> = line.step.energises.iter().map(|one| one.word()).collect();
    html! {
        @if !line.step.needs.is_empty() || !energised.is_empty() {
            p.small {
                @if !line.step.needs.is_empty() { "Needs: " (words::name(&line.step.needs.join(", "))) ". " }
                @if !energised.is_empty() { "Energises: " (energised.join(", ")) "." }
            }
        }
    }
}

/// What to do when it fails, and the way back.
fn trouble(line: &Line) -> Markup {
    let step = &line.step;
    html! {
        @if !step.if_fails.is_empty() { p.small { strong { "If it fails: " } (words::prose(&step.if_fails)) } }
        @match &step.back {
            Back::Nothing => {},
            Back::Way { text, minutes } => {
                p.small {
                    strong { "Way back: " } (words::prose(text)) " " (words::minutes(*minutes))
                    @if let Some(back) = line.back { ". From here back to how it all was: " (words::minutes(back)) "." }
                }
            },
            Back::None { why } => p.small { strong.flag { "No way back: " } (words::prose(why)) },
        }
    }
}
