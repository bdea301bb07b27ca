//! The supply: every load at every charge, how long it lasts, what would help.
//!
//! Volts and amperes are to the thousandth, watts and minutes to the hundredth.

use fitting::supply::{
    Answer, AtRegulator, Case as Reckoned, Change as Helped, Help as Helps, Outcome, Point as Settled,
    Regulation, Supply as Read,
};
use serde::Serialize;

use super::to;

/// What a supply does under every load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Supply {
    /// The voltage at which the receiver resets.
    pub resets_at_v: f64,
    /// The lowest voltage at which the receiver surely works.
    pub works_to_v: f64,
    /// Every load at every charge, also with a pack failed.
    pub cases: Vec<Case>,
    /// Which of the cases is the worst that holds with nothing failed, from 0; `null` where none holds.
    pub worst_held: Option<usize>,
    /// How long the packs last.
    pub endurance: Endurance,
    /// What to change, the most helpful first.
    pub helps: Vec<Help>,
    /// What a capacitor on the bus can do, and can't.
    pub capacitor: Capacitor,
}

/// One load at one charge.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Case {
    /// What it is, in words.
    pub name: String,
    /// The load in words, with full throttle where a motor runs.
    pub load: String,
    /// The packs' charge.
    pub charge: &'static str,
    /// The pack that has failed.
    pub failed: Option<String>,
    /// `held`, `reset` or `collapse`.
    pub outcome: &'static str,
    /// Why there is no operating point; `null` where there is one.
    pub why: Option<String>,
    /// Where it settles; `null` for a collapse.
    pub point: Option<Point>,
}

/// Where a supply settles.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// At the receiver.
    pub receiver_v: f64,
    /// All current into receiver and servos.
    pub current_a: f64,
    /// The voltage on its way, pack by pack.
    pub chain: Vec<Stage>,
    /// Each pack that feeds the bus or a motor.
    pub packs: Vec<Feed>,
    /// Each sort of servo.
    pub servos: Vec<Servo>,
    /// Out of the packs' electromotive forces.
    pub out_w: f64,
    /// Into receiver, servos and motors.
    pub loads_w: f64,
    /// Turned to heat on the way.
    pub lost_w: f64,
}

/// One step on the way from a pack to the receiver.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stage {
    /// Of which pack.
    pub pack: String,
    /// What it is.
    pub name: String,
    /// What goes in.
    pub in_v: f64,
    /// What comes out.
    pub out_v: f64,
    /// The current.
    pub current_a: f64,
    /// What it turns to heat.
    pub lost_w: f64,
}

/// What one pack gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Feed {
    /// Its name.
    pub pack: String,
    /// What it would have without load.
    pub emf_v: f64,
    /// What is drawn from its cells, by a motor too.
    pub current_a: f64,
    /// What a motor draws of that.
    pub motor_a: f64,
    /// Volts of one cell.
    pub cell_v: f64,
    /// Its regulator.
    pub regulator: Option<Regulator>,
}

/// A regulator under a load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Regulator {
    /// `holds`, `dropped-out` or `at-limit`.
    pub state: &'static str,
    /// Its input.
    pub in_v: f64,
    /// Its output.
    pub out_v: f64,
    /// What it gives.
    pub out_a: f64,
    /// What it turns to heat.
    pub heat_w: f64,
    /// The temperature of its chip if the load lasts, where that can be said.
    pub chip_c: Option<f64>,
}

/// One sort of servo under a load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Servo {
    /// Its name.
    pub name: String,
    /// How many there are.
    pub count: u32,
    /// At the servo.
    pub volts_v: f64,
    /// The current of one.
    pub current_a: f64,
}

/// How long the packs last.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Endurance {
    /// In a sentence.
    pub sentence: String,
    /// The average current on the bus.
    pub average_a: Option<f64>,
    /// Its root mean square.
    pub rms_a: Option<f64>,
    /// The average out of all packs, the motors' too.
    pub from_packs_a: Option<f64>,
    /// Minutes down to the reserve.
    pub minutes: Option<f64>,
    /// What the minutes are: `flying`, or `without a motor` where there may be one that isn't written down.
    pub with: Option<&'static str>,
    /// On one pack alone, where there are two.
    pub alone: Vec<Alone>,
}

/// How long one pack lasts alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Alone {
    /// Its name.
    pub pack: String,
    /// Minutes; `null` where that can't be said.
    pub minutes: Option<f64>,
}

/// A change and what it does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Help {
    /// What to change.
    pub text: String,
    /// At the receiver at rest, packs low.
    pub rest: Change,
    /// In the hard manoeuvre, packs low.
    pub hard: Change,
    /// With all stalled, packs low.
    pub stalled: Change,
    /// Minutes before it; `null` where they aren't known.
    pub minutes_before: Option<f64>,
    /// Minutes after it.
    pub minutes_after: Option<f64>,
}

/// The voltage before and after a change; `null` is a collapse.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// As it is.
    pub before_v: Option<f64>,
    /// As it would be.
    pub after_v: Option<f64>,
}

/// What a capacitor on the bus can do.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Capacitor {
    /// What would carry the hard manoeuvre's current for ten milliseconds, microfarads.
    pub microfarads: Option<f64>,
    /// In words.
    pub text: String,
}

impl Supply {
    /// What a supply does, as an answer.
    pub fn new(supply: &Read, answer: &Answer) -> Supply {
        let endurance = &answer.endurance;
        let alone = endurance
            .alone
            .iter()
            .map(|(pack, minutes)| Alone { pack: pack.clone(), minutes: minutes.map(super::super::minutes) });
        Supply {
            resets_at_v: to(3, supply.receiver.resets_at.0),
            works_to_v: to(3, supply.receiver.works_to.0),
            cases: answer.cases.iter().map(Case::new).collect(),
            worst_held: answer.worst_held(),
            endurance: Endurance {
                sentence: endurance.sentence.clone(),
                average_a: endurance.average.map(|amps| to(3, amps.0)),
                rms_a: endurance.rms.map(|amps| to(3, amps.0)),
                from_packs_a: endurance.from_packs.map(|amps| to(3, amps.0)),
                minutes: endurance.minutes.map(super::super::minutes),
                with: endurance.with,
                alone: alone.collect(),
            },
            helps: answer.helps.iter().map(Help::new).collect(),
            capacitor: Capacitor {
                microfarads: answer.capacitor.farads.map(|farads| to(0, farads.0 * 1e6)),
                text: answer.capacitor.text.clone(),
            },
        }
    }
}

impl Case {
    fn new(case: &Reckoned) -> Case {
        let why = match &case.outcome {
            Outcome::Collapse { why } => Some(why.clone()),
            Outcome::Held(_) | Outcome::Reset(_) => None,
        };
        Case {
            name: case.name.clone(),
            load: case.load_words(),
            charge: case.charge.words(),
            failed: case.failed.clone(),
            outcome: case.outcome.word(),
            why,
            point: case.outcome.point().map(Point::new),
        }
    }
}

impl Point {
    fn new(point: &Settled) -> Point {
        let chain = point.chain.iter().map(|stage| Stage {
            pack: stage.pack.clone(),
            name: stage.name.clone(),
            in_v: to(3, stage.volts_in.0),
            out_v: to(3, stage.volts_out.0),
            current_a: to(3, stage.amps.0),
            lost_w: to(2, stage.lost.0),
        });
        let packs = point.feeds.iter().map(|feed| Feed {
            pack: feed.pack.clone(),
            emf_v: to(3, feed.emf.0),
            current_a: to(3, feed.amps.0),
            motor_a: to(3, feed.motor.0),
            cell_v: to(3, feed.cell_v.0),
            regulator: feed.regulator.as_ref().map(Regulator::new),
        });
        let servos = point.servos.iter().map(|servo| Servo {
            name: servo.name.clone(),
            count: servo.count,
            volts_v: to(3, servo.volts.0),
            current_a: to(3, servo.amps.0),
        });
        Point {
            receiver_v: to(3, point.receiver_v.0),
            current_a: to(3, point.amps.0),
            chain: chain.collect(),
            packs: packs.collect(),
            servos: servos.collect(),
            out_w: to(2, point.balance.out.0),
            loads_w: to(2, point.balance.loads.0),
            lost_w: to(2, point.balance.lost.0),
        }
    }
}

impl Regulator {
    fn new(at: &AtRegulator) -> Regulator {
        Regulator {
            state: match at.holds {
                Regulation::Holds => "holds",
                Regulation::DroppedOut => "dropped-out",
                Regulation::AtLimit => "at-limit",
            },
            in_v: to(3, at.volts_in.0),
            out_v: to(3, at.volts_out.0),
            out_a: to(3, at.amps_out.0),
            heat_w: to(2, at.heat.0),
            chip_c: at.junction.map(|celsius| to(0, celsius.0)),
        }
    }
}

impl Help {
    fn new(help: &Helps) -> Help {
        let minutes = help.minutes.map(|(before, after)| {
            let of = super::super::minutes;
            (of(before), of(after))
        });
        Help {
            text: help.text.clone(),
            rest: Change::new(help.rest),
            hard: Change::new(help.hard),
            stalled: Change::new(help.stall),
            minutes_before: minutes.map(|both| both.0),
            minutes_after: minutes.map(|both| both.1),
        }
    }
}

impl Change {
    fn new(change: Helped) -> Change {
        Change {
            before_v: change.before.map(|volts| to(3, volts.0)),
            after_v: change.after.map(|volts| to(3, volts.0)),
        }
    }
}
