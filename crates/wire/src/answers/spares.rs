//! Which spare fits an aircraft.

use register::spares;
use register::view::Card;
use serde::Serialize;

use super::effect::Plan;
use super::link::{Do, Link};

/// A shelf receiver, tried out in an aircraft.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spare {
    /// The receiver.
    pub receiver: String,
    /// The transmitter it would be flown with.
    pub transmitter: String,
    /// The receiver it takes the place of.
    pub replaces: Option<String>,
    /// Whether it can be made to link.
    pub fits: bool,
    /// The minutes of fitting, looking and mending.
    pub minutes: Option<f64>,
    /// The verdict once it is fitted, before anything else is done.
    pub verdict: &'static str,
    /// Fitting it.
    pub fit: Do,
    /// What is then to be looked at and done.
    pub plan: Option<Plan>,
    /// That verdict in full.
    pub link: Link,
}

impl Spare {
    /// A spare as an answer.
    pub fn new(spare: &spares::Spare) -> Spare {
        Spare {
            receiver: spare.receiver.label(),
            transmitter: spare.transmitter.label(),
            replaces: spare.replaces.as_ref().map(Card::label),
            fits: spare.fits(),
            minutes: spare.minutes.map(super::minutes),
            verdict: spare.link.verdict().word(),
            fit: Do::new(&spare.fit),
            plan: spare.plan.as_ref().map(Plan::new),
            link: Link::new(&spare.link, &[], &[]),
        }
    }
}
