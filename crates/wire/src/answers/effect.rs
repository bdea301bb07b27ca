//! What a change does to the fleet, and a plan that leads to a link.

use register::effect;
use register::plan;
use serde::Serialize;

use super::link::{Change, Do, Settle};

/// What a change does to the fleet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Effect {
    /// Links that hold and won't.
    pub breaks: Vec<Change>,
    /// Links that don't hold and will.
    pub repairs: Vec<Change>,
    /// Every link whose verdict changes.
    pub changes: Vec<Change>,
}

impl Effect {
    /// The effect as an answer.
    pub fn new(effect: &effect::Effect) -> Effect {
        Effect {
            breaks: effect.breaks().map(Change::new).collect(),
            repairs: effect.repairs().map(Change::new).collect(),
            changes: effect.touched.iter().map(Change::new).collect(),
        }
    }
}

/// A way to a link that holds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// The minutes of all of it.
    pub minutes: f64,
    /// What to look at first.
    pub checks: Vec<Settle>,
    /// What to do then.
    pub steps: Vec<Do>,
}

impl Plan {
    /// The plan as an answer.
    pub fn new(plan: &plan::Plan) -> Plan {
        Plan {
            minutes: super::minutes(plan.minutes),
            checks: plan.checks.iter().map(Settle::new).collect(),
            steps: plan.steps.iter().map(Do::new).collect(),
        }
    }
}
