//! Model IDs that collide, and a new allocation.

use register::ids;
use register::rule::Rule;
use register::view::Card;
use serde::Serialize;

/// Receivers that would obey one transmitter although they shouldn't.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Collision {
    /// `same_id`, `check_off` or `no_check`.
    pub kind: &'static str,
    /// The transmitter.
    pub transmitter: String,
    /// The link family.
    pub family: String,
    /// The memory they obey; `null` when they obey every memory.
    pub memory: Option<String>,
    /// The aircraft that the memory flies.
    pub flies: Option<String>,
    /// The receivers that answer out of turn.
    pub receivers: Vec<Answering>,
    /// Whether it is certain.
    pub certain: bool,
    /// All that in a sentence.
    pub text: String,
}

/// A receiver that answers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answering {
    /// The receiver.
    pub receiver: String,
    /// The aircraft it is in.
    pub aircraft: Option<String>,
    /// The rules that are not known.
    pub unknown: Vec<&'static str>,
}

/// A new allocation.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Allocation {
    /// The link family.
    pub family: String,
    /// The answer in a sentence.
    pub text: String,
    /// Whether it is proven that no allocation changes fewer.
    pub proven: bool,
    /// How long all steps take.
    pub minutes: f64,
    /// What to set.
    pub steps: Vec<Step>,
    /// Every aircraft (or receiver in none) with its ID.
    pub groups: Vec<Group>,
    /// Collisions that model IDs can't settle.
    pub remaining: Vec<Collision>,
}

/// One ID to set.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// The receiver, or the transmitter of the memory.
    pub device: String,
    /// The receiver's end or the memory.
    pub part: String,
    /// The aircraft (or loose receiver) whose ID it is.
    pub of: String,
    /// What it holds now.
    pub before: String,
    /// What it is to hold.
    pub after: u32,
    /// Whether this switches its check on again.
    pub switches_on: bool,
    /// How long it takes.
    pub minutes: f64,
    /// The step in a sentence.
    pub text: String,
}

/// What shares one ID.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Group {
    /// The aircraft, or the receiver in none.
    pub of: String,
    /// Its ID from now on.
    pub id: u32,
    /// How many receiver ends and memories hold it.
    pub members: usize,
    /// How many of them must be set.
    pub changes: usize,
}

impl Collision {
    /// A collision as an answer.
    pub fn new(collision: &ids::Collision) -> Collision {
        let receivers = collision.receivers.iter().map(|one| Answering {
            receiver: one.receiver.label(),
            aircraft: one.aircraft.as_ref().map(Card::label),
            unknown: one.unknown.iter().copied().map(Rule::word).collect(),
        });
        Collision {
            kind: collision.kind.word(),
            transmitter: collision.transmitter.label(),
            family: collision.family.clone(),
            memory: collision.memory.as_ref().map(|(_, label)| label.clone()),
            flies: collision.flies.as_ref().map(Card::label),
            receivers: receivers.collect(),
            certain: collision.certain,
            text: collision.text.clone(),
        }
    }
}

impl Allocation {
    /// An allocation as an answer.
    pub fn new(allocation: &ids::Allocation) -> Allocation {
        let steps = allocation.steps.iter().map(|step| Step {
            device: step.device.label(),
            part: step.part.word(),
            of: step.group.label(),
            before: step.before.clone(),
            after: step.after,
            switches_on: step.switches_on,
            minutes: super::minutes(step.minutes),
            text: step.text.clone(),
        });
        let groups = allocation.groups.iter().map(|group| Group {
            of: group.card.label(),
            id: group.id,
            members: group.members,
            changes: group.changes,
        });
        Allocation {
            family: allocation.family.clone(),
            text: allocation.text.clone(),
            proven: allocation.proven,
            minutes: super::minutes(allocation.minutes),
            steps: steps.collect(),
            groups: groups.collect(),
            remaining: allocation.remaining.iter().map(Collision::new).collect(),
        }
    }
}
