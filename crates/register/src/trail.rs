//! What the logbook keeps of fault trails: how each began, what was done, how it ended.
//!
//! What that means (weights, the next step) is the business of crate `trails`.

use units::Minutes;

use crate::entry::Stamp;
use crate::family::Side;
use crate::field::Field;
use crate::id::EntryId;
use crate::time::{Clock, Moment};
use crate::value::{EndRef, Value};

/// How a trail begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Begun {
    /// The fault model's key (`wont_pair`).
    pub symptom: String,
    /// The transmitter end; `None` for guest gear that is in no register.
    pub transmitter: Option<EndRef>,
    /// The receiver end; `None` for guest gear.
    pub receiver: Option<EndRef>,
    /// Whose gear it is, in words; empty where that doesn't matter. Erased on request.
    pub whose: String,
    /// The guest gear's facts that were told at the start.
    pub facts: Vec<(Side, Field, Value)>,
    /// The keys of covers that are open already.
    pub open: Vec<String>,
}

/// Whether a mend helped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Helped {
    /// The fault is gone, as far as the trial shows.
    Yes,
    /// It is still there.
    No,
    /// It couldn't be done, or nothing can be said.
    CantTell,
}

impl Helped {
    /// Every one.
    pub const ALL: [Helped; 3] = [Helped::Yes, Helped::No, Helped::CantTell];

    /// The word in JSON and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Helped::Yes => "helped",
            Helped::No => "no-help",
            Helped::CantTell => "cant-tell",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<Helped> {
        Helped::ALL.into_iter().find(|one| one.word() == word)
    }
}

/// The mend by which a failed rule was lifted: the register proposes it, and knows it no
/// more once the rule holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// What was done, in a line.
    pub text: String,
    /// How long it takes.
    pub minutes: Minutes,
    /// What it leaves changed, to be put back; empty for nothing.
    pub changed: String,
}

/// One thing that was done on a trail.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// A check was answered.
    Answered {
        /// The step's key.
        step: String,
        /// The answer's key; empty for *can't tell*.
        answer: String,
        /// Facts of guest gear that were read with it.
        facts: Vec<(Side, Field, Value)>,
    },
    /// A mend was tried.
    Tried {
        /// The step's key; `rule:version` for a mend that lifts a failed rule.
        step: String,
        /// Whether it helped.
        helped: Helped,
        /// Facts of guest gear that it changed.
        facts: Vec<(Side, Field, Value)>,
        /// Which way was taken to lift a failed rule; `None` for a step of the fault model.
        way: Option<Way>,
    },
    /// A cover was opened, or something fetched, without a step.
    Opened {
        /// The cover's key.
        cover: String,
    },
    /// Something that the trail didn't propose.
    Elsewise {
        /// What.
        text: String,
        /// How long it took.
        minutes: Minutes,
        /// What it left changed, to be put back; empty for nothing.
        changed: String,
    },
    /// A change was put back.
    PutBack {
        /// The change's key.
        change: String,
    },
    /// A change stays, by name.
    Accepted {
        /// The change's key.
        change: String,
    },
    /// A proof was tried.
    Proved {
        /// The proof's key.
        proof: String,
        /// Whether it held.
        held: bool,
    },
}

/// How a trail ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The link is proven.
    Proven,
    /// Given up: replaced, or sent to its maker.
    GaveUp,
    /// Left as it is.
    Left,
}

impl Outcome {
    /// Every one.
    pub const ALL: [Outcome; 3] = [Outcome::Proven, Outcome::GaveUp, Outcome::Left];

    /// The word in JSON and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Proven => "proven",
            Outcome::GaveUp => "gave-up",
            Outcome::Left => "left",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<Outcome> {
        Outcome::ALL.into_iter().find(|one| one.word() == word)
    }
}

/// How a trail ended, and what it was. It says nothing of whose gear it was, so that it
/// still counts when a guest's data is erased.
#[derive(Clone, Debug, PartialEq)]
pub struct Closed {
    /// The trail.
    pub trail: EntryId,
    /// The fault model's key.
    pub symptom: String,
    /// The cause's key; `unlisted` for something not in the list, empty when never found.
    pub cause: String,
    /// How it ended.
    pub outcome: Outcome,
    /// The minutes that it took, as far as the trail knows.
    pub minutes: Minutes,
}

/// An event with its entry.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark<T> {
    /// Its entry.
    pub entry: EntryId,
    /// When.
    pub seen: Moment,
    /// Its order.
    pub clock: Clock,
    /// What.
    pub what: T,
}

impl<T> Mark<T> {
    pub(crate) fn new(stamp: &Stamp, what: T) -> Mark<T> {
        Mark { entry: stamp.id, seen: stamp.seen, clock: stamp.clock, what }
    }
}

/// One trail as the logbook holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct TrailLog {
    /// How it began; its entry's id is the trail's.
    pub begun: Mark<Begun>,
    /// What was done, in order.
    pub events: Vec<Mark<Event>>,
    /// How it ended.
    pub closed: Option<Mark<Closed>>,
}

impl TrailLog {
    /// The trail's id.
    pub fn id(&self) -> EntryId {
        self.begun.entry
    }
}
