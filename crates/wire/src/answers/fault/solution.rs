//! Any fault model with answers: what is likely, what to do next.

use serde::Serialize;
use trails::model::{Kind, Model};
use trails::planner::Choice;
use trails::solve::{CANT_TELL, Solution as Solved};

use super::step::{About, Candidate};
use super::{Cover, Named, Weight, covers};

/// A model with what was answered, and what follows.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Solution {
    /// The model.
    pub model: Named,
    /// What was answered, in order.
    pub history: Vec<Answered>,
    /// The likeliest causes before anything was answered.
    pub before: Vec<Weight>,
    /// Every cause with its weight now, the likeliest first; two causes at once are counted
    /// under both.
    pub weights: Vec<Weight>,
    /// Two causes at once, where they are considered.
    pub pairs: Vec<Pair>,
    /// Whether the answers can't all be so.
    pub contradiction: bool,
    /// The minutes spent on what was answered.
    pub spent_minutes: f64,
    /// The covers, and which of them are open.
    pub covers: Vec<Cover>,
    /// The mend that helped: nothing is left to search.
    pub helped: Option<String>,
    /// What to do next; `null` where a mend helped.
    pub next: Option<Candidate>,
    /// The next step in full, where it is one.
    pub step: Option<About>,
    /// The answers that the next step may have.
    pub answers: Vec<Answer>,
    /// The minutes to be expected from here to the end of the search.
    pub expected_minutes: Option<f64>,
    /// Whether those are the fewest possible; `false` for an estimate.
    pub exact: Option<bool>,
    /// How they were found: `order`, `cover-tree`, `dynamic` or `look-ahead`.
    pub method: Option<&'static str>,
    /// The next best.
    pub others: Vec<Candidate>,
}

/// Something that was answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answered {
    /// What was asked or done.
    pub what: String,
    /// What came of it.
    pub came: String,
    /// The likeliest causes after it.
    pub after: Vec<Weight>,
}

/// Two causes at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pair {
    /// The key of the first.
    pub one: String,
    /// The key of the second.
    pub other: String,
    /// How likely.
    pub weight: f64,
}

/// An answer that a step may have.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Answer {
    /// Its key.
    pub key: String,
    /// Its words.
    pub label: String,
}

fn answers(kind: &Kind) -> Vec<Answer> {
    let mut all: Vec<Answer> = match kind {
        Kind::Check(check) => check
            .answers
            .iter()
            .map(|one| Answer { key: one.key.clone(), label: one.label.clone() })
            .collect(),
        Kind::Mend(_) => {
            let word = |one: register::trail::Helped| Answer {
                key: one.word().to_owned(),
                label: trails::trail::helped_label(one).to_owned(),
            };
            return register::trail::Helped::ALL.into_iter().map(word).collect();
        }
    };
    all.push(Answer { key: CANT_TELL.to_owned(), label: "Can't tell".to_owned() });
    all
}

impl Solution {
    /// What a model with answers came to.
    pub fn new(model: &Model, solved: &Solved) -> Solution {
        let advice = solved.advice.as_ref();
        let step = advice.and_then(|advice| match advice.best.choice {
            Choice::Do(step) => Some(step),
            Choice::GiveUp | Choice::Stop => None,
        });
        let cause = |at: usize| model.causes[at].key.clone();
        Solution {
            model: Named::new(model),
            history: solved
                .history
                .iter()
                .map(|(what, came, after)| Answered {
                    what: what.clone(),
                    came: came.clone(),
                    after: Weight::list(after),
                })
                .collect(),
            before: Weight::list(&solved.before),
            weights: Weight::list(&solved.weights),
            pairs: solved
                .belief
                .pairs
                .iter()
                .map(|pair| Pair { one: cause(pair.one), other: cause(pair.other), weight: pair.weight })
                .collect(),
            contradiction: solved.belief.contradiction,
            spent_minutes: crate::answers::minutes(solved.spent),
            covers: covers(model, &solved.situation.open),
            helped: solved.helped.map(|step| model.steps[step].key.clone()),
            next: advice.map(|advice| Candidate::new(model, &advice.best)),
            step: step.map(|step| About::new(model, step)),
            answers: step.map(|step| answers(&model.steps[step].kind)).unwrap_or_default(),
            expected_minutes: advice.map(|advice| advice.best.expected.0),
            exact: advice.map(|advice| advice.method.exact()),
            method: advice.map(|advice| advice.method.word()),
            others: advice
                .map(|advice| advice.others.iter().map(|one| Candidate::new(model, one)).collect())
                .unwrap_or_default(),
        }
    }
}
