//! What the logbook keeps of commissioning: how an aircraft is fitted out, what was proven on it,
//! what was worked on, and when it was signed off.
//!
//! What that means (currents, findings, lapses) is the business of crate `fitting`.

use std::collections::BTreeMap;

use crate::entry::Stamp;
use crate::id::{DeviceId, EntryId};
use crate::trail::Mark;

mod words;

pub use words::measured_words;

macro_rules! worded {
    ($( $(#[$doc:meta])* $name:ident { $( $(#[$one_doc:meta])* $one:ident = $word:literal, $label:literal; )* } )*) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $( $(#[$one_doc])* $one, )* }

        impl $name {
            /// Every one, in the order in which pages list them.
            pub const ALL: &[$name] = &[ $( $name::$one, )* ];

            /// The word in JSON and on the command line.
            pub fn word(self) -> &'static str {
                match self { $( $name::$one => $word, )* }
            }

            /// The words on pages.
            pub fn label(self) -> &'static str {
                match self { $( $name::$one => $label, )* }
            }

            /// The one with this word.
            pub fn from_word(word: &str) -> Option<$name> {
                $name::ALL.iter().copied().find(|one| one.word() == word)
            }
        }
    )* };
}

worded! {
    /// A part of an aircraft's fit.
    Part {
        /// Channels to outputs to servos and speed controllers.
        Outputs = "outputs", "outputs";
        /// Packs, wires, regulators, loads.
        Supply = "supply", "supply";
        /// What each channel does without a link.
        Failsafe = "failsafe", "failsafe";
        /// Where the antennas sit.
        Antennas = "antennas", "antennas";
    }

    /// What is proven on the aircraft itself.
    Proof {
        /// Every control moves its surface the right way.
        Directions = "directions", "control directions";
        /// What happens without a transmitter.
        Failsafe = "failsafe", "failsafe proof";
        /// The ground range check.
        Range = "range", "range check";
        /// The voltage at the receiver, at rest and with everything stirred.
        Supply = "supply", "supply check";
    }

    /// Work on an aircraft, a receiver or a transmitter, or what befell it.
    Work {
        /// It crashed.
        Crash = "crash", "crash";
        /// It landed hard.
        HardLanding = "hard-landing", "hard landing";
        /// An antenna was changed or moved.
        Antenna = "antenna", "antenna changed or moved";
        /// The motor, its speed controller or its leads were changed or moved.
        Motor = "motor", "motor or speed controller changed";
        /// A servo or its linkage was changed.
        Servo = "servo", "servo or linkage changed";
        /// Another pack, or another sort of pack.
        Pack = "pack", "pack changed";
        /// A pack sits elsewhere.
        PackPlace = "pack-place", "pack moved";
        /// Wires, connectors, switch or regulator were changed.
        Wiring = "wiring", "wiring changed";
        /// The transmitter has another RF module.
        RfModule = "rf-module", "RF module swapped";
        /// A model memory was changed by hand.
        Memory = "memory", "model memory changed";
        /// A new flying day began.
        FlyingDay = "flying-day", "flying day began";
    }
}

/// A part of a fit, written down.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Which part.
    pub part: Part,
    /// Its text, as crate `fitting` reads it; empty takes the part away.
    pub text: String,
    /// The entries whose text this one replaces.
    pub replaces: Vec<EntryId>,
}

/// A proof, tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Proved {
    /// What.
    pub proof: Proof,
    /// With which transmitter; `None` where that doesn't matter.
    pub transmitter: Option<DeviceId>,
    /// Whether all of it held.
    pub held: bool,
    /// The steps that were carried out, by key.
    pub steps: Vec<String>,
    /// What was measured, by key with the unit as suffix: `distance_m`.
    pub measured: BTreeMap<String, f64>,
    /// Words about it.
    pub note: String,
}

/// Work, done.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked {
    /// What.
    pub what: Work,
    /// Words about it.
    pub note: String,
}

/// Somebody put a name under what was checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Signed {
    /// With which transmitter.
    pub transmitter: Option<DeviceId>,
    /// The items that were known or proven then, by key.
    pub checked: Vec<String>,
    /// The items that were not.
    pub unchecked: Vec<String>,
    /// Words about it.
    pub note: String,
}

/// Something that readings show to have happened.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shown {
    /// A receiver came into the aircraft.
    ReceiverIn(DeviceId),
    /// A receiver left the aircraft.
    ReceiverOut(DeviceId),
    /// The aircraft was read to have crashed.
    Crashed,
    /// Another pack was read.
    PackChanged,
    /// Another antenna was read on this end.
    AntennaChanged(String),
    /// Another firmware was read on this end.
    FirmwareChanged(String),
    /// Another firmware was read on the handset.
    HandsetChanged,
    /// This model memory was read to choose another of the transmitter's ends.
    MemoryEndChanged(String),
}

/// What the logbook holds of one device's commissioning.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FitLog {
    /// Texts of parts that nothing has replaced; more than one of a part is a clash.
    pub fitted: Vec<Mark<Fitted>>,
    /// When each part was changed, in the order of the logbook.
    pub changes: Vec<Mark<Part>>,
    /// Proofs that were tried.
    pub proofs: Vec<Mark<Proved>>,
    /// Work that was done.
    pub works: Vec<Mark<Worked>>,
    /// Signatures.
    pub signed: Vec<Mark<Signed>>,
    /// What readings show to have happened.
    pub shown: Vec<Mark<Shown>>,
}

impl FitLog {
    pub(crate) fn fit(&mut self, stamp: &Stamp, fitted: Fitted) {
        let gone =
            |have: &Mark<Fitted>| have.what.part == fitted.part && fitted.replaces.contains(&have.entry);
        // Of texts that clash the last was used until now: another one of them is a change, too.
        let last = self.fitted.iter().rfind(|have| have.what.part == fitted.part);
        let same = last.is_some_and(|have| have.what.text == fitted.text);
        self.fitted.retain(|have| !gone(have));
        if !same {
            self.changes.push(Mark::new(stamp, fitted.part));
        }
        self.fitted.push(Mark::new(stamp, fitted));
    }

    /// The standing texts of a part, the newest last; none when it was taken away.
    pub fn texts(&self, part: Part) -> Vec<&Mark<Fitted>> {
        self.fitted.iter().filter(|have| have.what.part == part && !have.what.text.is_empty()).collect()
    }

    /// The text of a part, by the last word on it; where one copy of the workshop wrote it and another
    /// took it away, what was written.
    pub fn text(&self, part: Part) -> Option<&Mark<Fitted>> {
        self.texts(part).pop()
    }

    /// The entries that a new text of a part replaces.
    pub fn standing(&self, part: Part) -> Vec<EntryId> {
        self.fitted.iter().filter(|have| have.what.part == part).map(|have| have.entry).collect()
    }
}
