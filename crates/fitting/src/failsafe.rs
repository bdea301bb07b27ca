//! What an aircraft does without a link: what each channel is set to, how long it goes on, where it
//! comes down, and how all of that is proven.
//!
//! [`check`] judges the settings, [`timeline`] follows the aircraft from the last good packet to the
//! ground, [`search`] says where to look for it and whether it stays in the field, [`proof_steps`]
//! says how the settings are tried on the aircraft itself, [`judge_range`] what a range check was
//! worth. [`answer`] is all of the settings' answer at once.

pub mod area;
mod check;
mod course;
pub mod fall;
mod proof;
mod range;
mod schema;
mod search;
mod setup;
mod timeline;
mod words;

pub(crate) use check::SLOW_RETURN_S;
pub use check::{InUse, Role, check};
pub use course::Driven;
pub use proof::{ProofStep, proof_steps};
pub use range::{RangeJudgement, judge_range};
pub use schema::SCHEMA;
pub use search::{Edge, Search, search};
pub use setup::{
    Action, Boundary, Channel, Failsafe, Falls, Field, Flight, Own, Power, Sort, Spread, Timing, Turning,
    Wind,
};
pub use timeline::{Moment, Timeline, timeline};

use register::family::read::Problem;

use crate::finding::{Finding, Weight, sort};
use crate::part::{self, Filled};

impl Failsafe {
    /// Reads the text of the part.
    ///
    /// # Errors
    /// Every problem with its line and key, as [`part::read`] and [`Failsafe::of`].
    pub fn read(origin: &str, text: &str) -> Result<Failsafe, Vec<Problem>> {
        Failsafe::of(origin, &part::read(&SCHEMA, origin, text)?)
    }

    /// What a part that was read says.
    ///
    /// # Errors
    /// What can't be together: a channel twice, one or two corners, corners and a radius, sides that
    /// cross, a wind from nowhere, a mass without a drag area, a drag area that no such mass has.
    pub fn of(origin: &str, filled: &Filled) -> Result<Failsafe, Vec<Problem>> {
        setup::of(origin, filled)
    }
}

/// Why there is no time line or no search area.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoCourse {
    /// The part doesn't say how it flies.
    NoFlight,
    /// The motor runs on: nothing ends the flight. The throttle's setting in words.
    RunsOn(String),
}

impl std::fmt::Display for NoCourse {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NoCourse::NoFlight => f.write_str(
                "Where it goes can't be said: add [flight] with its speed and height to the failsafe part.",
            ),
            NoCourse::RunsOn(throttle) => write!(
                f,
                "Where it goes can't be bounded: {throttle}, so it goes on under power until the pack or the \
                 tank is empty or something stops it."
            ),
        }
    }
}

impl std::error::Error for NoCourse {}

/// All that can be said of the settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The answer in a sentence.
    pub sentence: String,
    /// What was found, the heaviest first; those of the search are among them.
    pub findings: Vec<Finding>,
    /// From the loss to the ground; why not, where there is none.
    pub timeline: Result<Timeline, NoCourse>,
    /// Where to look; why not, where there is none.
    pub search: Result<Search, NoCourse>,
}

/// Checks the settings and follows the aircraft to the ground. `craft` is what the register says it
/// is, `functions` are the channels that outputs use.
pub fn answer(failsafe: &Failsafe, craft: Option<Sort>, functions: &[InUse]) -> Answer {
    let mut findings = check(failsafe, craft, functions);
    let failsafe = failsafe.clone().for_craft(craft);
    let timeline = timeline(&failsafe);
    let search = search(&failsafe);
    if let Ok(search) = &search {
        findings.extend(search.findings.iter().cloned());
    }
    sort(&mut findings);
    let count = |weight: Weight| findings.iter().filter(|one| one.weight == weight).count();
    let (faults, warnings) = (count(Weight::Fault), count(Weight::Warning));
    let settings = match (faults, warnings) {
        (0, 0) => {
            "Nothing found against the failsafe settings as written; they are not proven by that".to_owned()
        }
        (0, _) => format!("{} in the failsafe settings", words::counted(warnings, "warning")),
        (_, 0) => format!("{} in the failsafe settings", words::counted(faults, "fault")),
        _ => format!(
            "{} and {} in the failsafe settings",
            words::counted(faults, "fault"),
            words::counted(warnings, "warning")
        ),
    };
    let course = match (&timeline, &search) {
        (Ok(timeline), _) => timeline.sentence.clone(),
        (Err(why), _) => why.to_string(),
    };
    Answer { sentence: format!("{settings}. {course}"), findings, timeline, search }
}
