//! One thing to do in a refit.

use register::family::Energised;
use register::id::DeviceId;
use register::scene::Change;
use units::Minutes;

/// What sort of step it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// The bench is got out.
    Bench,
    /// A cover is opened.
    Open,
    /// Settings are written down before a flash.
    Save,
    /// Firmware is written.
    Flash,
    /// What a flash wiped is set again.
    Restore,
    /// A setting takes a new value.
    Set,
    /// A receiver takes another's place.
    Swap,
    /// Two ends are paired.
    Pair,
    /// A link is switched on and tried.
    Test,
    /// The range is checked.
    RangeCheck,
    /// A cover is closed.
    Close,
}

impl Sort {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Sort::Bench => "bench",
            Sort::Open => "open",
            Sort::Save => "save",
            Sort::Flash => "flash",
            Sort::Restore => "restore",
            Sort::Set => "set",
            Sort::Swap => "swap",
            Sort::Pair => "pair",
            Sort::Test => "test",
            Sort::RangeCheck => "range_check",
            Sort::Close => "close",
        }
    }
}

/// The way back from a step.
#[derive(Clone, Debug, PartialEq)]
pub enum Back {
    /// The step changes nothing that would have to be taken back.
    Nothing,
    /// How, and how long it takes.
    Way {
        /// What to do.
        text: String,
        /// How long it takes.
        minutes: Minutes,
    },
    /// There is none.
    None {
        /// Why, in words.
        why: String,
    },
}

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its key: the same in every plan that has this step.
    pub key: String,
    /// What sort of step it is.
    pub sort: Sort,
    /// The transmitter, aircraft or loose receiver whose evening it is part of;
    /// [`DeviceId::WORKSHOP`] for the bench.
    pub what: DeviceId,
    /// The device that it is done on.
    pub device: DeviceId,
    /// What to do.
    pub text: String,
    /// How long it takes.
    pub minutes: Minutes,
    /// What must be reachable.
    pub needs: Vec<String>,
    /// What it energises.
    pub energises: Vec<Energised>,
    /// Every caution that goes with it.
    pub cautions: Vec<String>,
    /// What it changes.
    pub changes: Vec<Change>,
    /// What to do when it fails half-way; empty where that is plain.
    pub if_fails: String,
    /// The way back.
    pub back: Back,
}

impl Step {
    /// The key without its number.
    pub fn base(&self) -> &str {
        self.key.rsplit_once('#').map_or(&self.key, |(base, _)| base)
    }
}
