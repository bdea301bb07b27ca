//! How directions, failsafe, range and supply are proven on the aircraft itself.
//!
//! The order is common practice: control directions before failsafe (a throttle with the wrong
//! direction opens at failsafe), the motor off before the motor running. That the transmitter is
//! switched off, every set channel goes to its place, and control is back within a few seconds is from
//! club safety pages.

mod directions;
mod lost;
mod ranged;
mod supplied;

use register::family::Energised;
use register::fit::Proof;

use super::setup::{Power, Sort};

/// One step of a proof.
#[derive(Clone, Debug, PartialEq)]
pub struct ProofStep {
    /// A stable key, unique over all proofs: `transmitter_off`.
    pub key: &'static str,
    /// What to do and what to see.
    pub text: String,
    /// What it energises.
    pub energises: Vec<Energised>,
    /// What to mind: first what follows from what it energises, then the step's own.
    pub cautions: Vec<String>,
}

/// The steps of a proof on a craft, in their order.
pub fn proof_steps(craft: Sort, power: Power, proof: Proof) -> Vec<ProofStep> {
    let about = About { craft, power };
    let mut steps = vec![about.secured(proof)];
    steps.extend(match proof {
        Proof::Directions => directions::steps(about),
        Proof::Failsafe => lost::steps(about),
        Proof::Range => ranged::steps(about),
        Proof::Supply => supplied::steps(about),
    });
    steps
}

#[derive(Clone, Copy)]
struct About {
    craft: Sort,
    power: Power,
}

/// What most steps energise.
const CONTROLS: &[Energised] = &[Energised::Transmitter, Energised::Receiver, Energised::Servos];

impl About {
    fn powered(self) -> bool {
        self.power != Power::None
    }

    /// What is taken off so that the motor can't hurt.
    fn blades(self) -> &'static str {
        match self.craft {
            Sort::Helicopter => "main and tail blades",
            Sort::Multirotor => "all propellers",
            _ => "the propeller",
        }
    }

    fn step(self, key: &'static str, energises: &[Energised], text: impl Into<String>) -> ProofStep {
        // An electric motor has its supply as soon as the receiver has: nobody knows what it will do.
        let mut energises = energises.to_vec();
        let on = energises.contains(&Energised::Receiver);
        if on && self.power == Power::Electric && !energises.contains(&Energised::Motor) {
            energises.push(Energised::Motor);
        }
        let cautions = energises.iter().map(|one| one.caution().to_owned()).collect();
        ProofStep { key, text: text.into(), energises, cautions }
    }

    fn controls(self, key: &'static str, text: impl Into<String>) -> ProofStep {
        self.step(key, CONTROLS, text)
    }

    /// Before anything is switched on.
    fn secured(self, proof: Proof) -> ProofStep {
        let running = proof == Proof::Range;
        let (key, text) = match (self.craft, self.power) {
            (_, Power::None) => {
                ("secured", "Set it where nothing is in the way of its surfaces and it can't run or fall off.".to_owned())
            }
            (Sort::Car, _) => {
                ("secured", "Set it up with its driven wheels off the ground and free to turn.".to_owned())
            }
            (Sort::Boat, _) if running => {
                ("secured", "Set it in its stand, or have it held in the water, its propeller clear of hands and lines.".to_owned())
            }
            (Sort::Boat, _) => {
                ("secured", "Set it in its stand, its propeller off or clear of hands and cables.".to_owned())
            }
            (Sort::Helicopter, _) if running => (
                "secured",
                "Take main and tail blades off before its motor runs, and note that it ran without load; nobody holds \
                 a helicopter with its blades turning."
                    .to_owned(),
            ),
            (Sort::Multirotor, _) if running => (
                "secured",
                "Tie it down to something that it can't lift or drag, or leave all propellers off and note that the \
                 motors ran without load."
                    .to_owned(),
            ),
            (_, _) if running => (
                "secured",
                "Have the aircraft held by somebody who does nothing else, or tie it down; nobody in front of or \
                 beside the propeller."
                    .to_owned(),
            ),
            (_, Power::Electric) => {
                ("secured", format!("Take {} off. Where that can't be done, unplug the motor or have the aircraft held.", self.blades()))
            }
            (_, Power::Engine) => (
                "secured",
                "The engine is not running and can't start: fuel shut or drained, ignition or glow off.".to_owned(),
            ),
        };
        let mut step = self.step(key, &[], text);
        if self.powered() {
            step.cautions.push(
                "From the moment a flight pack is connected, take it that the motor may run at full power and every \
                 control may move."
                    .to_owned(),
            );
        }
        step.cautions.push(PREVAIL.to_owned());
        step
    }

    fn on(self, key: &'static str) -> ProofStep {
        let mut step = self.controls(
            key,
            "Transmitter on with the right model memory, throttle low, switches in their places; then the receiver \
             on. See that the controls answer.",
        );
        step.cautions.push(
            "See that the memory on the screen is this aircraft's before the receiver is switched on."
                .to_owned(),
        );
        step
    }

    fn off(self, key: &'static str) -> ProofStep {
        self.step(key, &[], "Receiver off first, transmitter last. Write down the result and what was seen.")
    }
}

const PREVAIL: &str = "Local rules, the site's rules and the maker's manual come before these steps.";
