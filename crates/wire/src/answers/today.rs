//! What can fly today, and the next thing to do.

use register::today;
use register::view::Card;
use serde::Serialize;

use super::effect::Plan;

/// The answer to *what about today?*
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Today {
    /// The answer in a sentence.
    pub text: String,
    /// What to do next.
    pub next: Option<Next>,
    /// Every aircraft.
    pub aircraft: Vec<Line>,
    /// Facts last seen too long ago, the oldest first.
    pub stale: Vec<Stale>,
    /// How many such facts there are in all.
    pub stale_count: usize,
    /// How many fault trails are open.
    pub open_trails: usize,
    /// How many refits are open.
    pub open_refits: usize,
}

/// The next thing to do.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Next {
    /// The aircraft that it is for.
    pub aircraft: String,
    /// The first thing to do.
    pub text: Option<String>,
    /// The minutes of all that is to be done for it.
    pub minutes: f64,
}

/// One aircraft.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// Its code, else its name.
    pub aircraft: String,
    /// Its name.
    pub name: Option<String>,
    /// `links`, `unknown`, `blocked`, `no_receiver` or `away`.
    pub ready: &'static str,
    /// The transmitter that suits it best.
    pub transmitter: Option<String>,
    /// The receivers in it.
    pub receivers: Vec<String>,
    /// Why, in a sentence.
    pub text: String,
    /// What to do about it.
    pub plan: Option<Plan>,
    /// Its id.
    pub id: String,
}

/// A fact last seen too long ago.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stale {
    /// The device.
    pub device: String,
    /// Its part: `whole`, `end:main`, `memory:3`.
    pub part: String,
    /// The fact.
    pub fact: &'static str,
    /// When it was last seen.
    pub seen: String,
    /// How many days ago.
    pub days: i64,
}

impl Today {
    /// The answer.
    pub fn new(today: &today::Today) -> Today {
        let next = today.next.and_then(|at| {
            let line = today.lines.get(at)?;
            let plan = line.plan.as_ref()?;
            Some(Next {
                aircraft: line.aircraft.label(),
                text: plan.first().map(str::to_owned),
                minutes: super::minutes(plan.minutes),
            })
        });
        let stale = today.stale.iter().map(|stale| Stale {
            device: stale.device.label(),
            part: stale.part.word(),
            fact: stale.field.key(),
            seen: stale.seen.to_string(),
            days: stale.days,
        });
        Today {
            text: today.sentence(),
            next,
            aircraft: today.lines.iter().map(Line::new).collect(),
            stale: stale.collect(),
            stale_count: today.stale_count,
            open_trails: today.open_trails,
            open_refits: today.open_refits,
        }
    }
}

impl Line {
    fn new(line: &today::Line) -> Line {
        Line {
            aircraft: line.aircraft.label(),
            name: line.aircraft.name.clone(),
            ready: line.ready.word(),
            transmitter: line.transmitter.as_ref().map(Card::label),
            receivers: line.receivers.iter().map(Card::label).collect(),
            text: line.text.clone(),
            plan: line.plan.as_ref().map(Plan::new),
            id: line.aircraft.id.to_string(),
        }
    }
}
