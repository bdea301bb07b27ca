//! What the logbook keeps of refits: what was wished, what was planned, what was done.
//!
//! What that means (targets, evenings, steps) is the business of crate `refits`.

use units::Minutes;

use crate::entry::Stamp;
use crate::id::{DeviceId, EntryId};
use crate::trail::Mark;
use crate::value::{EndRef, SecretMark};

/// Which ends a wish is about.
#[derive(Clone, Debug, PartialEq)]
pub enum Reach {
    /// Every end of a link family.
    Family(String),
    /// These ends.
    Ends(Vec<EndRef>),
}

/// One thing that is wished of a refit, or that it must keep to.
#[derive(Clone, Debug, PartialEq)]
pub enum Wish {
    /// This end holds this firmware version.
    Version {
        /// The end.
        end: EndRef,
        /// The version.
        version: String,
    },
    /// Every end of a link family holds its newest release.
    Newest {
        /// The family.
        family: String,
    },
    /// These ends hold this link secret.
    Secret {
        /// Which ends.
        on: Reach,
        /// The secret, as the workshop keeps it.
        mark: SecretMark,
    },
    /// Every link that is meant to hold does.
    AllPair,
    /// An aircraft can fly only while it links with all of these transmitters.
    Need {
        /// The aircraft.
        aircraft: DeviceId,
        /// The transmitters.
        transmitters: Vec<DeviceId>,
    },
    /// A link may be given up.
    LetGo {
        /// The aircraft.
        aircraft: DeviceId,
        /// The transmitter; `None` for every one.
        transmitter: Option<DeviceId>,
    },
    /// A device is left as it is.
    Stay {
        /// The device.
        device: DeviceId,
    },
    /// A receiver may be replaced where it can't follow.
    Replace {
        /// The receiver.
        receiver: DeviceId,
        /// The shelf spare that takes its place; `None` for one that is yet to be bought.
        by: Option<DeviceId>,
        /// What that costs, in whole units of the owner's money.
        cost: u32,
    },
    /// So many evenings, each with its minutes.
    Evenings {
        /// The minutes of each.
        minutes: Vec<Minutes>,
    },
    /// An aircraft must be able to fly on the day after an evening.
    Fly {
        /// The aircraft.
        aircraft: DeviceId,
        /// The evening, from 1; 0 is before the first.
        after: u32,
    },
    /// At most so many aircraft that can fly now are grounded between two evenings.
    Grounded {
        /// How many.
        most: u32,
    },
    /// An aircraft's cover takes so long to open and close.
    Cover {
        /// The aircraft.
        aircraft: DeviceId,
        /// The minutes of both.
        minutes: Minutes,
    },
}

/// One end's firmware in a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct EndWork {
    /// The end.
    pub end: EndRef,
    /// The version that is written to it.
    pub version: String,
    /// The family's flash route.
    pub route: String,
}

/// What is worked on in one evening: a transmitter, an aircraft with all of its receivers, or
/// a receiver that is in no aircraft.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// The transmitter, aircraft or receiver.
    pub what: DeviceId,
    /// The evening, from 1.
    pub evening: u32,
    /// How its ends are flashed.
    pub ends: Vec<EndWork>,
    /// The receivers that are replaced instead.
    pub replaced: Vec<DeviceId>,
}

/// How a refit begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Begun {
    /// What it is called.
    pub name: String,
    /// What is wished.
    pub wishes: Vec<Wish>,
    /// The links that held when it began and are to hold when it ends.
    pub links: Vec<Kept>,
    /// Which evening has what.
    pub placed: Vec<Placed>,
}

/// A link that is to hold when a refit ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Kept {
    /// The transmitter.
    pub transmitter: DeviceId,
    /// The aircraft, with every receiver in it.
    pub aircraft: DeviceId,
}

/// One thing that was done in a refit.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// A step was done. What it changed is written down just after it, in the same breath; of two
    /// ticks of one step (a merge) only the first one's counts.
    Ticked {
        /// The step's key.
        step: String,
        /// What it said.
        text: String,
        /// The evening that it stood in, from 1.
        evening: u32,
    },
    /// Something is not worked on before an evening.
    Deferred {
        /// The transmitter, aircraft or receiver.
        what: DeviceId,
        /// The first evening on which it may be, from 1.
        until: u32,
    },
    /// What is left was planned anew.
    Planned {
        /// What is wished from now on.
        wishes: Vec<Wish>,
        /// Which evening has what of the rest.
        placed: Vec<Placed>,
    },
    /// It ended.
    Ended {
        /// How.
        how: Ending,
    },
}

/// How a refit ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    /// All of it is done.
    Done,
    /// It was given up; what was done stays done.
    Abandoned,
}

impl Ending {
    /// Every one.
    pub const ALL: [Ending; 2] = [Ending::Done, Ending::Abandoned];

    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Ending::Done => "done",
            Ending::Abandoned => "abandoned",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<Ending> {
        Ending::ALL.into_iter().find(|one| one.word() == word)
    }
}

/// One refit as the logbook holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct RefitLog {
    /// How it began; its entry's id is the refit's.
    pub begun: Mark<Begun>,
    /// What was done, in order.
    pub events: Vec<Mark<Event>>,
}

impl RefitLog {
    /// A refit of which only the beginning is known.
    pub(crate) fn new(stamp: &Stamp, begun: Begun) -> RefitLog {
        RefitLog { begun: Mark::new(stamp, begun), events: Vec::new() }
    }

    /// The refit's id.
    pub fn id(&self) -> EntryId {
        self.begun.entry
    }

    /// How it ended; the last word counts.
    pub fn ended(&self) -> Option<(Ending, &Mark<Event>)> {
        self.events.iter().rev().find_map(|mark| match &mark.what {
            Event::Ended { how } => Some((*how, mark)),
            _ => None,
        })
    }

    /// What is wished, by the last word on it.
    pub fn wishes(&self) -> &[Wish] {
        let newer = self.events.iter().rev().find_map(|mark| match &mark.what {
            Event::Planned { wishes, .. } => Some(wishes.as_slice()),
            _ => None,
        });
        newer.unwrap_or(&self.begun.what.wishes)
    }

    /// Which evening has what, by the last word on it.
    pub fn placed(&self) -> &[Placed] {
        let newer = self.events.iter().rev().find_map(|mark| match &mark.what {
            Event::Planned { placed, .. } => Some(placed.as_slice()),
            _ => None,
        });
        newer.unwrap_or(&self.begun.what.placed)
    }
}
