//! What is measured with a proof, and what the figures say.

use std::collections::BTreeMap;

use register::fit::{Proof, Proved};
use units::{Db, Metres, Volts};

use crate::failsafe::ProofStep;
use crate::failsafe::{SLOW_RETURN_S, judge_range};
use crate::finding::{Finding, Weight, sort};
use crate::supply::limits;

/// A figure that belongs to a proof.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    /// Of which proof.
    pub proof: Proof,
    /// Its key in the logbook and on the command line.
    pub key: &'static str,
    /// What pages call it.
    pub label: &'static str,
    /// Its unit's symbol.
    pub unit: &'static str,
    /// The least it can be.
    pub low: f64,
    /// The most it can be.
    pub high: f64,
}

/// Every figure.
pub const MEASURES: [Measure; 6] = [
    Measure {
        proof: Proof::Range,
        key: "distance_m",
        label: "distance with full control",
        unit: "m",
        low: 0.0,
        high: 20_000.0,
    },
    Measure {
        proof: Proof::Range,
        key: "reduction_db",
        label: "power reduced by",
        unit: "dB",
        low: 0.0,
        high: 60.0,
    },
    Measure {
        proof: Proof::Range,
        key: "motor_distance_m",
        label: "distance with the motor running",
        unit: "m",
        low: 0.0,
        high: 20_000.0,
    },
    Measure { proof: Proof::Supply, key: "at_rest_v", label: "at rest", unit: "V", low: 0.0, high: 60.0 },
    Measure {
        proof: Proof::Supply,
        key: "stirred_v",
        label: "lowest with everything stirred",
        unit: "V",
        low: 0.0,
        high: 60.0,
    },
    Measure {
        proof: Proof::Failsafe,
        key: "control_back_s",
        label: "control back after",
        unit: "s",
        low: 0.0,
        high: 600.0,
    },
];

/// A figure that can't be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadMeasure {
    /// No proof has this figure.
    #[error("`{key}` is not measured with the {proof}; {known}")]
    Unknown {
        /// What was given.
        key: String,
        /// The proof.
        proof: &'static str,
        /// What is.
        known: String,
    },
    /// It is out of range.
    #[error("{key} is {value}; it can be {low} to {high} {unit}")]
    Range {
        /// Which.
        key: &'static str,
        /// What was given.
        value: String,
        /// The least.
        low: String,
        /// The most.
        high: String,
        /// The unit.
        unit: &'static str,
    },
}

/// Steps that can't be so.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadSteps {
    /// There is no such step.
    #[error("`{step}` is no step of the {proof}; its steps are {steps}")]
    Unknown {
        /// What was given.
        step: String,
        /// Which proof.
        proof: &'static str,
        /// The steps there are.
        steps: String,
    },
    /// It is said to have held with steps left out.
    #[error(
        "a proof holds when every step was carried out, and these are not among those given: {0}; carry them \
         out, name no steps when all of them were, or say that it failed"
    )]
    Left(String),
}

/// A proof with the steps that were carried out: where none are named and it held, all of them.
///
/// # Errors
/// A step that it doesn't have; it held with some left out.
pub fn carried_out(all: &[ProofStep], mut proved: Proved) -> Result<Proved, BadSteps> {
    let keys: Vec<&str> = all.iter().map(|step| step.key).collect();
    if let Some(step) = proved.steps.iter().find(|step| !keys.contains(&step.as_str())) {
        let step = step.chars().take(60).collect();
        return Err(BadSteps::Unknown { step, proof: proved.proof.label(), steps: keys.join(", ") });
    }
    if !proved.held {
        return Ok(proved);
    }
    let left: Vec<&str> =
        keys.iter().copied().filter(|step| !proved.steps.iter().any(|have| have == step)).collect();
    if !proved.steps.is_empty() && !left.is_empty() {
        return Err(BadSteps::Left(left.join(", ")));
    }
    proved.steps = keys.iter().map(|&step| step.to_owned()).collect();
    Ok(proved)
}

/// Whether figures belong to a proof and can be.
///
/// # Errors
/// The first one that doesn't or can't.
pub fn fits(proof: Proof, measured: &BTreeMap<String, f64>) -> Result<(), BadMeasure> {
    for (key, value) in measured {
        let Some(measure) = MEASURES.iter().find(|one| one.proof == proof && one.key == key) else {
            let keys: Vec<&str> =
                MEASURES.iter().filter(|one| one.proof == proof).map(|one| one.key).collect();
            let known = if keys.is_empty() {
                "nothing is".to_owned()
            } else {
                format!("these are: {}", keys.join(", "))
            };
            let key = key.chars().take(40).collect();
            return Err(BadMeasure::Unknown { key, proof: proof.label(), known });
        };
        // False for what is no number.
        if !(measure.low..=measure.high).contains(value) {
            return Err(BadMeasure::Range {
                key: measure.key,
                value: value.to_string(),
                low: measure.low.to_string(),
                high: measure.high.to_string(),
                unit: measure.unit,
            });
        }
    }
    Ok(())
}

/// The lowest voltage at which a receiver surely works, where its supply doesn't say another (common
/// practice, no source).
pub const WORKS_TO: Volts = Volts(3.5);

/// What the figures of a proof say, beside those of the last time. `works_to` is the lowest voltage at which
/// the receiver surely works.
pub fn judge(
    proof: Proof,
    now: &BTreeMap<String, f64>,
    last: Option<&BTreeMap<String, f64>>,
    works_to: Volts,
) -> Vec<Finding> {
    let (Volts(fault), Volts(low)) = limits(works_to);
    let mut out = Vec::new();
    let get = |key: &str| now.get(key).copied();
    match proof {
        Proof::Range => {
            if let Some(distance) = get("distance_m") {
                let reduction = get("reduction_db").map(Db);
                // Only what was done alike can be compared.
                let alike = last.filter(|last| last.get("reduction_db") == now.get("reduction_db"));
                let before = alike.and_then(|last| last.get("distance_m")).copied().map(Metres);
                out = judge_range(Metres(distance), reduction, before, None).findings;
                out.retain(|one| one.weight > Weight::Note);
            }
            if let (Some(off), Some(running)) = (get("distance_m"), get("motor_distance_m"))
                && running < off * 0.75
            {
                out.push(Finding {
                    key: "shorter_with_motor",
                    weight: Weight::Warning,
                    about: "range check".to_owned(),
                    text: format!("{running} m with the motor running, {off} m without."),
                    consequence: "The motor or its speed controller disturbs the receiver.".to_owned(),
                    mend: "Move antennas and receiver away from motor, speed controller and their leads; then again."
                        .to_owned(),
                });
            }
        }
        Proof::Supply => {
            if let Some(volts) = get("at_rest_v").filter(|volts| *volts < low) {
                let weight = if volts < fault { Weight::Fault } else { Weight::Warning };
                out.push(Finding {
                    key: "rest_low",
                    weight,
                    about: "supply check".to_owned(),
                    text: format!("{volts} V at the receiver at rest; {low} V or more is wanted under load."),
                    consequence: "With every surface that moves it sags from there.".to_owned(),
                    mend: "Charge the pack and look at its cells, leads and switch, then again.".to_owned(),
                });
            }
            if let Some(volts) = get("stirred_v").filter(|volts| *volts < low) {
                let weight = if volts < fault { Weight::Fault } else { Weight::Warning };
                out.push(Finding {
                    key: "stirred_low",
                    weight,
                    about: "supply check".to_owned(),
                    text: format!(
                        "{volts} V at the receiver with everything stirred; {low} V or more is wanted."
                    ),
                    consequence: "A harder manoeuvre or a colder pack may reset the receiver.".to_owned(),
                    mend: "`supply` names what to change and by how much it helps.".to_owned(),
                });
            }
        }
        Proof::Failsafe => {
            if let Some(seconds) = get("control_back_s").filter(|seconds| *seconds > SLOW_RETURN_S) {
                out.push(Finding {
                    key: "slow_back",
                    weight: Weight::Warning,
                    about: "failsafe proof".to_owned(),
                    text: format!("Control was back after {seconds} s; a few seconds are usual."),
                    consequence: "After every short loss it flies on without you for as long.".to_owned(),
                    mend: "Don't fly until you know why: supply at the receiver, pairing, firmware."
                        .to_owned(),
                });
            }
        }
        Proof::Directions => {}
    }
    sort(&mut out);
    out
}
