//! A check or a mend of a fault model, as it is proposed.

use serde::Serialize;
use trails::model::{Kind, Model, StepAt};
use trails::planner::{Candidate as Chosen, Choice};
use trails::trail::Proposal;

use super::Weight;

/// What a step is, whoever proposes it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct About {
    /// Its key.
    pub key: String,
    /// The question or the action, in a line.
    pub label: String,
    /// `check` or `mend`.
    pub kind: &'static str,
    /// How to do it.
    pub how: String,
    /// What good looks like.
    pub good: String,
    /// What it energises.
    pub energises: Vec<&'static str>,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// How the trial of a mend is to be watched; empty for an ordinary one.
    pub watch: String,
    /// What it leaves changed, to be put back at the end.
    pub leaves: Option<String>,
}

impl About {
    /// A step of a model.
    pub fn new(model: &Model, at: StepAt) -> About {
        let step = &model.steps[at];
        let mut cautions: Vec<String> = Vec::new();
        for caution in step.cautions() {
            if !cautions.iter().any(|have| have == caution) {
                cautions.push(caution.to_owned());
            }
        }
        About {
            key: step.key.clone(),
            label: step.label.clone(),
            kind: match step.kind {
                Kind::Check(_) => "check",
                Kind::Mend(_) => "mend",
            },
            how: step.how.clone(),
            good: step.good.clone(),
            energises: step.energises.iter().map(|one| one.word()).collect(),
            cautions,
            watch: step.as_mend().map(|mend| mend.watch.clone()).unwrap_or_default(),
            leaves: step.leaves.as_ref().map(|leaves| leaves.what.clone()),
        }
    }
}

/// A step worth doing next.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// What it is.
    #[serde(flatten)]
    pub about: About,
    /// How long it takes, with the covers that must be opened for it and closed again.
    pub minutes: f64,
    /// What must be opened or fetched first.
    pub covers: Vec<Opening>,
    /// What may come of it; *can't tell* is always an answer beside these.
    pub outcomes: Vec<Outcome>,
    /// The facts that may be typed with the answer.
    pub facts: Vec<Fact>,
    /// The next best.
    pub others: Vec<Candidate>,
}

/// Something that must be opened or fetched.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Opening {
    /// What.
    pub label: String,
    /// To open and to close it again.
    pub minutes: f64,
}

/// What may come of a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcome {
    /// The answer's key; `helped` or `no-help` for a mend.
    pub key: String,
    /// Its words.
    pub label: String,
    /// How likely.
    pub chance: f64,
    /// The likeliest causes then.
    pub after: Vec<Weight>,
}

/// A fact that may be typed with an answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// Its name on the command line: `receiver.firmware`.
    pub key: String,
    /// What the device is called.
    pub device: String,
    /// What the fact is called.
    pub label: &'static str,
    /// What is known of it now.
    pub known: String,
}

/// One thing that could be done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// `step`, `give-up` or `stop`.
    pub kind: &'static str,
    /// The step's key.
    pub key: Option<String>,
    /// What it is.
    pub label: String,
    /// Its own minutes, covers included.
    pub minutes: f64,
    /// Expected minutes to the end when it is done next, itself included.
    pub expected_minutes: f64,
}

/// The words for a choice: its kind, its key, its label.
pub(super) fn choice_words(model: &Model, choice: Choice) -> (&'static str, Option<String>, String) {
    match choice {
        Choice::Do(step) => ("step", Some(model.steps[step].key.clone()), model.steps[step].label.clone()),
        Choice::GiveUp => {
            let label = model.give_up.as_ref().map(|one| one.label.clone());
            ("give-up", None, label.unwrap_or_default())
        }
        Choice::Stop => ("stop", None, "Nothing is left that could help.".to_owned()),
    }
}

impl Candidate {
    /// One thing that the planner looked at.
    pub fn new(model: &Model, chosen: &Chosen) -> Candidate {
        let (kind, key, label) = choice_words(model, chosen.choice);
        Candidate {
            kind,
            key,
            label,
            minutes: crate::answers::minutes(chosen.minutes),
            expected_minutes: chosen.expected.0,
        }
    }
}

/// A proposal of a trail.
pub(super) fn step_of(model: &Model, proposal: &Proposal) -> Step {
    Step {
        about: About::new(model, proposal.step),
        minutes: crate::answers::minutes(proposal.minutes),
        covers: proposal
            .covers
            .iter()
            .map(|(label, minutes)| Opening {
                label: label.clone(),
                minutes: crate::answers::minutes(*minutes),
            })
            .collect(),
        outcomes: proposal
            .outcomes
            .iter()
            .map(|one| Outcome {
                key: one.key.clone(),
                label: one.label.clone(),
                chance: one.chance,
                after: Weight::list(&one.after),
            })
            .collect(),
        facts: proposal
            .facts
            .iter()
            .map(|fact| Fact {
                key: format!("{}.{}", fact.side.word(), fact.field.key()),
                device: fact.name.clone(),
                label: fact.field.label(),
                known: fact.known.clone(),
            })
            .collect(),
        others: proposal.others.iter().map(|one| Candidate::new(model, one)).collect(),
    }
}
