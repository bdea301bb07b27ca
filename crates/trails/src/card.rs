//! The trail card: the best decision tree to a chosen depth, for a page in the field.
//!
//! Each node is the planner's own advice in the situation to which the branch leads, so that
//! following the card is following the trail, as long as nothing is left out: pairs of faults
//! are not considered on a card.

use units::Minutes;

use crate::belief::Seen;
use crate::model::{Kind, Model};
use crate::planner::{Choice, Effort, advise};
use crate::table::Situation;

/// The deepest card; deeper ones don't fit a page.
pub const DEEPEST: u32 = 5;

/// Branches that are less likely than this from the start are not followed: a card is to fit
/// a page (judgement).
pub const FAINTEST: f64 = 0.02;

/// One place on a card.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// What to do.
    pub choice: Choice,
    /// Minutes of it, covers included.
    pub minutes: Minutes,
    /// Expected minutes from here to the end.
    pub expected: Minutes,
    /// How likely one comes here, seen from the start.
    pub chance: f64,
    /// What may come of it.
    pub branches: Vec<Branch>,
}

/// What may come of a step.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// The answer's key, or `helped` and `no-help`.
    pub key: String,
    /// Its words.
    pub label: String,
    /// How likely, at this node.
    pub chance: f64,
    /// Where it leads.
    pub then: Then,
}

/// Where a branch leads.
#[derive(Clone, Debug, PartialEq)]
pub enum Then {
    /// On.
    Node(Box<Node>),
    /// The link works: prove it.
    Works,
    /// The card ends here, because it is deep enough or the branch too unlikely to follow.
    Ends {
        /// The likeliest causes with their weights.
        likeliest: Vec<(String, f64)>,
    },
}

/// The best tree from a situation, `depth` steps deep.
pub fn tree(model: &Model, situation: &Situation, depth: u32, effort: Effort) -> Node {
    let mut start = situation.clone();
    start.belief = start.belief.without_pairs();
    node(model, &start, depth.clamp(1, DEEPEST), 1.0, effort)
}

/// How many steps a tree holds.
pub fn size(node: &Node) -> usize {
    let below = |branch: &Branch| if let Then::Node(node) = &branch.then { size(node) } else { 0 };
    1 + node.branches.iter().map(below).sum::<usize>()
}

fn node(model: &Model, situation: &Situation, depth: u32, chance: f64, effort: Effort) -> Node {
    let advice = advise(model, situation, effort);
    let mut branches = Vec::new();
    if let Choice::Do(step) = advice.best.choice {
        let mut next = situation.clone();
        next.done[step] = true;
        for cover in model.covers_for(step) {
            next.open[cover] = true;
        }
        let weights = &situation.belief.singles;
        let on = |seen: &Seen, likely: f64| {
            let mut after = next.clone();
            after.belief.see(model, seen);
            let faint = likely * chance < FAINTEST;
            if faint || depth == 1 {
                let most = if faint { 1 } else { 2 };
                let likeliest = crate::trail::likeliest(model, &after.belief, most);
                Then::Ends { likeliest: likeliest.into_iter().map(|one| (one.label, one.weight)).collect() }
            } else {
                Then::Node(Box::new(node(model, &after, depth - 1, likely * chance, effort)))
            }
        };
        match &model.steps[step].kind {
            Kind::Check(check) => {
                for (answer, one) in check.answers.iter().enumerate() {
                    let likely: f64 = weights.iter().zip(&check.likelihood[answer]).map(|(w, l)| w * l).sum();
                    branches.push(Branch {
                        key: one.key.clone(),
                        label: one.label.clone(),
                        chance: likely,
                        then: on(&Seen::Answer { step, answer }, likely),
                    });
                }
            }
            Kind::Mend(mend) => {
                let bad: f64 = weights
                    .iter()
                    .zip(mend.cures.iter().zip(&mend.seems))
                    .map(|(weight, (cure, seem))| weight * (1.0 - cure) * (1.0 - seem))
                    .sum();
                let branch = |helped: register::trail::Helped, chance: f64, then: Then| Branch {
                    key: helped.word().to_owned(),
                    label: crate::trail::helped_label(helped).to_owned(),
                    chance,
                    then,
                };
                branches.push(branch(register::trail::Helped::Yes, 1.0 - bad, Then::Works));
                branches.push(branch(register::trail::Helped::No, bad, on(&Seen::Failed { step }, bad)));
            }
        }
    }
    Node {
        choice: advice.best.choice,
        minutes: advice.best.minutes,
        expected: advice.best.expected,
        chance,
        branches,
    }
}
