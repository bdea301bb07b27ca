//! The trail card: the best decision tree to a chosen depth.

use serde::Serialize;
use trails::card::{Branch as Way, Node as Place, Then as On, size};
use trails::model::Model;
use trails::planner::Choice;

use super::Named;
use super::step::{About, choice_words};

/// A trail card.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Card {
    /// The symptom.
    pub symptom: Named,
    /// The trail it goes on from; `null` for one from the start, for any gear.
    pub trail: Option<String>,
    /// What fails for certain on the trail, and is lifted before the card begins.
    pub certain: Vec<String>,
    /// How many steps deep it is.
    pub depth: u32,
    /// How many steps it holds.
    pub steps: usize,
    /// The minutes to be expected from its first step to the end.
    pub expected_minutes: f64,
    /// Its first step.
    pub first: Node,
}

/// One place on a card.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Node {
    /// `step`, `give-up` or `stop`.
    pub kind: &'static str,
    /// What to do.
    pub label: String,
    /// The step in full, where it is one.
    pub step: Option<About>,
    /// How long it takes, covers included.
    pub minutes: f64,
    /// The minutes to be expected from here to the end.
    pub expected_minutes: f64,
    /// How likely one comes here, seen from the start.
    pub chance: f64,
    /// What may come of it.
    pub branches: Vec<Branch>,
}

/// What may come of a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Branch {
    /// The answer's key.
    pub key: String,
    /// Its words.
    pub label: String,
    /// How likely, at this place.
    pub chance: f64,
    /// Where it leads.
    pub then: Then,
}

/// Where a branch leads.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Then {
    /// On.
    Node {
        /// The next place.
        node: Box<Node>,
    },
    /// The link works: prove it.
    Works,
    /// The card ends here: it is deep enough, or the branch too unlikely.
    Ends {
        /// The likeliest causes.
        likeliest: Vec<Likely>,
    },
}

/// A likely cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Likely {
    /// What is wrong.
    pub label: String,
    /// How likely, 0 to 1.
    pub weight: f64,
}

impl Card {
    /// A tree of a model as an answer.
    pub fn new(model: &Model, tree: &Place, depth: u32, trail: Option<String>, certain: Vec<String>) -> Card {
        Card {
            symptom: Named::new(model),
            trail,
            certain,
            depth,
            steps: size(tree),
            expected_minutes: tree.expected.0,
            first: Node::new(model, tree),
        }
    }
}

impl Node {
    fn new(model: &Model, place: &Place) -> Node {
        let (kind, _, label) = choice_words(model, place.choice);
        Node {
            kind,
            label,
            step: match place.choice {
                Choice::Do(step) => Some(About::new(model, step)),
                Choice::GiveUp | Choice::Stop => None,
            },
            minutes: crate::answers::minutes(place.minutes),
            expected_minutes: place.expected.0,
            chance: place.chance,
            branches: place.branches.iter().map(|branch| Branch::new(model, branch)).collect(),
        }
    }
}

impl Branch {
    fn new(model: &Model, way: &Way) -> Branch {
        Branch {
            key: way.key.clone(),
            label: way.label.clone(),
            chance: way.chance,
            then: match &way.then {
                On::Node(node) => Then::Node { node: Box::new(Node::new(model, node)) },
                On::Works => Then::Works,
                On::Ends { likeliest } => Then::Ends {
                    likeliest: likeliest
                        .iter()
                        .map(|(label, weight)| Likely { label: label.clone(), weight: *weight })
                        .collect(),
                },
            },
        }
    }
}
