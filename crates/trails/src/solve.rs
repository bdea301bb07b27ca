//! Any fault model, without a workshop: given what was answered so far, the next step.

use units::Minutes;

use crate::belief::{Belief, Seen};
use crate::model::{Kind, Model, StepAt};
use crate::planner::{Advice, Effort, advise};
use crate::table::Situation;
use crate::trail::{SHOWN, Weight, likeliest};
use register::trail::Helped;

/// The word for *can't tell*.
pub const CANT_TELL: &str = "cant-tell";

/// The key by which a cover is said to be open: `open=hatch`.
pub const OPEN: &str = "open";

/// A model with what was answered, and what follows.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// What was answered, in words: what was asked or done, what came of it, the likeliest
    /// causes after it.
    pub history: Vec<(String, String, Vec<Weight>)>,
    /// The likeliest causes before anything was answered.
    pub before: Vec<Weight>,
    /// Every hypothesis with its weight now, the likeliest first.
    pub weights: Vec<Weight>,
    /// What is likely now.
    pub belief: Belief,
    /// Steps done and covers open.
    pub situation: Situation,
    /// Minutes spent so far.
    pub spent: Minutes,
    /// The mend that helped, where one did: nothing is left to search.
    pub helped: Option<StepAt>,
    /// What to do next; none when a mend helped.
    pub advice: Option<Advice>,
}

/// What was answered doesn't fit the model.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// No such step.
    #[error("the model has no step `{key}`; its steps are {known}")]
    Step {
        /// What was named.
        key: String,
        /// What there is.
        known: String,
    },
    /// No such answer.
    #[error("`{step}` has no answer `{answer}`; its answers are {known}")]
    Answer {
        /// The step.
        step: String,
        /// What was answered.
        answer: String,
        /// What there is.
        known: String,
    },
    /// No such cover.
    #[error("the model has no cover `{key}`; its covers are {known}")]
    Cover {
        /// What was named.
        key: String,
        /// What there is.
        known: String,
    },
    /// A step was answered twice.
    #[error("`{0}` is answered twice; give one answer a step")]
    Twice(String),
    /// Something was answered after a mend had helped.
    #[error("`{0}` comes after a mend that helped; leave it out, or answer that mend `no-help`")]
    After(String),
}

fn cut(text: &str) -> String {
    text.chars().take(60).collect()
}

/// Reckons a model with answers, in the order in which they were given.
///
/// # Errors
/// An answer names a step, an answer or a cover that the model doesn't have, or one twice.
pub fn solve(model: &Model, answers: &[(String, String)], effort: Effort) -> Result<Solution, Unfit> {
    let mut situation = Situation::start(model);
    let mut seen: Vec<Seen> = Vec::new();
    let mut history = Vec::new();
    let mut spent = Minutes::ZERO;
    let mut helped = None;
    for (key, answer) in answers {
        if helped.is_some() {
            return Err(Unfit::After(cut(key)));
        }
        if key == OPEN {
            let Some(cover) = model.cover(answer) else {
                let known =
                    model.covers.iter().map(|cover| cover.key.as_str()).collect::<Vec<_>>().join(", ");
                return Err(Unfit::Cover { key: cut(answer), known });
            };
            for around in model.around(cover) {
                situation.open[around] = true;
            }
            continue;
        }
        let Some(at) = model.step(key) else {
            let known = model.steps.iter().map(|step| step.key.as_str()).collect::<Vec<_>>().join(", ");
            return Err(Unfit::Step { key: cut(key), known });
        };
        if situation.done[at] {
            return Err(Unfit::Twice(cut(key)));
        }
        let step = &model.steps[at];
        spent += model.minutes_of(at, &situation.open);
        for cover in model.covers_for(at) {
            situation.open[cover] = true;
        }
        situation.done[at] = true;
        let unfit = |known: Vec<&str>| Unfit::Answer {
            step: step.key.clone(),
            answer: cut(answer),
            known: known.join(", "),
        };
        let came = match &step.kind {
            _ if answer == CANT_TELL => "can't tell".to_owned(),
            Kind::Check(check) => {
                let known = || check.answers.iter().map(|one| one.key.as_str());
                let place = known().position(|key| key == answer);
                let place = place.ok_or_else(|| unfit(known().chain([CANT_TELL]).collect()))?;
                seen.push(Seen::Answer { step: at, answer: place });
                check.answers[place].label.clone()
            }
            Kind::Mend(_) => {
                let known = Helped::from_word(answer);
                match known.ok_or_else(|| unfit(Helped::ALL.iter().map(|one| one.word()).collect()))? {
                    Helped::Yes => helped = Some(at),
                    Helped::No => seen.push(Seen::Failed { step: at }),
                    Helped::CantTell => {}
                }
                crate::trail::helped_label(known.unwrap_or(Helped::CantTell)).to_owned()
            }
        };
        history.push((step.label.clone(), came, likeliest(model, &Belief::of(model, &seen), SHOWN)));
    }
    let belief = Belief::of(model, &seen);
    situation.belief = belief.clone();
    let advice = helped.is_none().then(|| advise(model, &situation, effort));
    Ok(Solution {
        history,
        before: likeliest(model, &Belief::prior(model), SHOWN),
        weights: match helped {
            // What it may have been is what the mend cures.
            Some(step) => {
                let step = model.steps[step].key.clone();
                crate::trail::cured_by(model, &belief, step)
            }
            None => likeliest(model, &belief, model.hypotheses()),
        },
        belief,
        situation,
        spent,
        helped,
        advice,
    })
}
