//! Every load at every charge, also with a pack failed: where it settles.

use link::wire::Celsius;
use units::{Amps, Volts, Watts};

use super::answer::{AtRegulator, AtServo, Balance, Case, Feed, Load, Outcome, Point, Regulation, Stage};
use super::branch::{Branch, Standing};
use super::circuit::{Demand, Fall, Settled, settle};
use super::model::{Charge, Doing, Join, Pack, Servo, Supply, Throttle};

/// The share of the stall currents that a hard manoeuvre takes (common practice, no source).
pub(super) const HARD_SHARE: f64 = 0.6;

/// The contact where two packs meet, ohms; without it two stiff sources would share a load in no
/// particular way.
const JOINT: f64 = 0.001;

impl Servo {
    /// What one takes: a constant current, and one in proportion to its voltage.
    fn one(&self, doing: Doing) -> (f64, f64) {
        let rated = self.rated.0;
        match doing {
            Doing::Idle => (self.idle.0, 0.0),
            Doing::Moving => (0.0, self.moving.0 / rated),
            Doing::Holding => (self.hold.0, 0.0),
            Doing::Hard => (0.0, HARD_SHARE * self.stall.0 / rated),
            Doing::Stalled => (0.0, self.stall.0 / rated),
        }
    }

    /// What one takes at the end of its lead, as seen from the bus.
    fn at_bus(&self, doing: Doing) -> (f64, f64) {
        let (constant, conductance) = self.one(doing);
        let under = 1.0 + conductance * self.lead_ohms();
        (constant / under, conductance / under)
    }

    fn lead_ohms(&self) -> f64 {
        self.lead.resistance().map_or(0.0, |ohms| ohms.0)
    }
}

impl Load {
    /// What the motors do under it.
    pub(super) fn throttle(&self) -> Throttle {
        if *self == Load::Rest { Throttle::Off } else { Throttle::Full }
    }
}

impl Supply {
    /// Every load, the lightest first.
    pub fn loads(&self) -> Vec<Load> {
        let stated = self.manoeuvres.iter().map(|one| Load::Manoeuvre(one.name.clone()));
        [Load::Rest].into_iter().chain(stated).chain([Load::Hard, Load::Stalled]).collect()
    }

    /// What each sort of servo does under a load.
    pub(super) fn doing(&self, load: &Load) -> Vec<Doing> {
        let all = |doing| vec![doing; self.servos.len()];
        match load {
            Load::Rest => all(Doing::Idle),
            Load::Hard => all(Doing::Hard),
            Load::Stalled => all(Doing::Stalled),
            Load::Manoeuvre(name) => self
                .manoeuvres
                .iter()
                .find(|one| one.name == *name)
                .map_or_else(|| all(Doing::Idle), |one| one.doing.clone()),
        }
    }

    fn demand(&self, doing: &[Doing]) -> Demand {
        let start = Demand { constant: self.receiver.takes.0, conductance: 0.0 };
        self.servos.iter().zip(doing).fold(start, |sum, (servo, doing)| {
            let (constant, conductance) = servo.at_bus(*doing);
            let count = f64::from(servo.count);
            Demand {
                constant: sum.constant + count * constant,
                conductance: sum.conductance + count * conductance,
            }
        })
    }

    fn branches(&self, charge: Charge, failed: Option<usize>, throttle: Throttle) -> Vec<Branch> {
        let mut branches: Vec<Branch> = self
            .packs
            .iter()
            .enumerate()
            .filter(|(place, _)| Some(*place) != failed)
            .map(|(place, pack)| Branch::of(place, pack, charge, throttle))
            .collect();
        if let Join::Diodes(drop) = self.join {
            for branch in &mut branches {
                branch.diode = Some(drop.0);
            }
        }
        if matches!(self.join, Join::Diodes(_) | Join::Parallel) {
            for branch in &mut branches {
                branch.joint = JOINT;
            }
        }
        branches
    }

    /// What comes of a load at a charge, with one pack failed or none: at full throttle, but not at
    /// rest.
    pub fn outcome(&self, load: &Load, charge: Charge, failed: Option<usize>) -> Outcome {
        self.outcome_at(load, charge, failed, load.throttle())
    }

    /// The same with the motors as they are told to be.
    pub fn outcome_at(
        &self,
        load: &Load,
        charge: Charge,
        failed: Option<usize>,
        throttle: Throttle,
    ) -> Outcome {
        let doing = self.doing(load);
        let demand = self.demand(&doing);
        let branches = self.branches(charge, failed, throttle);
        let unable = branches.iter().find(|branch| branch.motor > 0.0 && branch.source() <= 0.0);
        let settled = match (self.join, branches.as_slice()) {
            (Join::SwitchOver(below), [first, second]) => switched(first, second, below.0, demand),
            _ => settle(&branches, demand),
        };
        match settled {
            Err(fall) => {
                let fall = unable.map_or(fall, |branch| Fall::Motor(branch.pack));
                Outcome::Collapse { why: self.why(&fall, &branches) }
            }
            Ok(settled) => {
                let short = settled
                    .standings
                    .iter()
                    .find(|(place, standing)| !branches[*place].carries_motor(standing));
                if let Some((place, _)) = short {
                    return Outcome::Collapse {
                        why: self.why(&Fall::Motor(branches[*place].pack), &branches),
                    };
                }
                self.judge(&settled, &branches, &doing)
            }
        }
    }

    fn judge(&self, settled: &Settled, branches: &[Branch], doing: &[Doing]) -> Outcome {
        let point = self.point(settled, branches, doing);
        if let Some(servo) = point.servos.iter().find(|servo| servo.volts.0 <= 0.0) {
            let why = format!(
                "the lead of {} would lose more than the whole voltage at {} a servo",
                servo.name, servo.amps
            );
            return Outcome::Collapse { why };
        }
        if point.receiver_v <= self.receiver.resets_at { Outcome::Reset(point) } else { Outcome::Held(point) }
    }

    fn why(&self, fall: &Fall, branches: &[Branch]) -> String {
        let named = |place: usize| {
            let pack = &self.packs[place];
            let regulator = pack.regulator.as_ref().map_or("regulator", |one| one.name.as_str());
            (pack, format!("{regulator} of {}", pack.name))
        };
        match fall {
            Fall::Burst(place) => {
                let (pack, name) = named(*place);
                let burst = pack
                    .regulator
                    .as_ref()
                    .and_then(|one| one.burst)
                    .map_or(String::new(), |a| format!(" ({a})"));
                format!("{name} would have to give more than its burst current{burst}")
            }
            Fall::Source(place) => {
                let (pack, name) = named(*place);
                format!(
                    "{} can't give {name} so much power through its cells and leads at any voltage, so the \
                     regulator pulls it down",
                    pack.name
                )
            }
            Fall::Weak => "cells and leads can't carry so much current at any voltage".to_owned(),
            Fall::Motor(place) => {
                let amps =
                    branches.iter().find(|branch| branch.pack == *place).map_or(0.0, |branch| branch.motor);
                format!(
                    "the cells of {} can't carry the motor's {} at any voltage",
                    self.packs[*place].name,
                    Amps(amps)
                )
            }
            Fall::Dead if branches.iter().any(|branch| branch.motor > 0.0) => {
                "the motor's current leaves no voltage for the receiver, even with all servos off".to_owned()
            }
            Fall::Dead => "there is no voltage for the receiver even without load".to_owned(),
        }
    }

    fn point(&self, settled: &Settled, branches: &[Branch], doing: &[Doing]) -> Point {
        let bus = settled.bus;
        let (mut chain, mut feeds) = (Vec::new(), Vec::new());
        let (mut out, mut lost, mut motors) = (0.0, 0.0, 0.0);
        for (place, standing) in &settled.standings {
            let branch = &branches[*place];
            let pack = &self.packs[branch.pack];
            let stages = stages(pack, branch, standing);
            out += branch.emf * (standing.drawn + branch.motor);
            motors += branch.terminals(standing.drawn) * branch.motor;
            lost += stages.iter().map(|stage| stage.lost.0).sum::<f64>();
            feeds.push(feed(pack, branch, standing));
            if standing.out != 0.0 {
                chain.extend(stages);
            }
        }
        let mut loads = motors + bus * self.receiver.takes.0;
        let mut amps = self.receiver.takes.0;
        let mut servos = Vec::new();
        for (servo, doing) in self.servos.iter().zip(doing) {
            let (constant, conductance) = servo.at_bus(*doing);
            let (one, ohms, count) =
                (constant + conductance * bus, servo.lead_ohms(), f64::from(servo.count));
            let volts = bus - one * ohms;
            amps += count * one;
            loads += count * one * volts;
            lost += count * one * one * ohms;
            servos.push(AtServo {
                name: servo.name.clone(),
                volts: Volts(volts),
                amps: Amps(one),
                count: servo.count,
                lost: Watts(count * one * one * ohms),
            });
        }
        let balance =
            Balance { out: Watts(out), loads: Watts(loads), motors: Watts(motors), lost: Watts(lost) };
        Point { receiver_v: Volts(bus), amps: Amps(amps), chain, feeds, servos, balance }
    }

    /// Every load at full and low (and as stated), and at low with each of two packs failed.
    pub(super) fn cases(&self) -> Vec<Case> {
        let mut charges = vec![Charge::Full, Charge::Low];
        if self.packs.iter().any(|pack| pack.stated.is_some()) {
            charges.push(Charge::Stated);
        }
        let mut cases = Vec::new();
        let mut case = |load: &Load, charge: Charge, failed: Option<usize>| {
            let left = self.packs.iter().enumerate().filter(|(place, _)| Some(*place) != failed);
            let mut case = Case {
                name: String::new(),
                load: load.clone(),
                charge,
                failed: failed.map(|place| self.packs[place].name.clone()),
                motor: left.map(|(_, pack)| pack.motor_amps(load.throttle())).sum(),
                outcome: self.outcome(load, charge, failed),
            };
            case.name = format!("{}, {} {}", case.load_words(), self.packs_word(), charge.words());
            if let Some(failed) = &case.failed {
                case.name = format!("{}, {failed} failed", case.name);
            }
            cases.push(case);
        };
        let loads = self.loads();
        for charge in charges {
            for load in &loads {
                case(load, charge, None);
            }
        }
        if self.packs.len() > 1 {
            for place in 0..self.packs.len() {
                for load in &loads {
                    case(load, Charge::Low, Some(place));
                }
            }
        }
        cases
    }

    fn packs_word(&self) -> &'static str {
        if self.packs.len() > 1 { "packs" } else { "pack" }
    }
}

fn feed(pack: &Pack, branch: &Branch, standing: &Standing) -> Feed {
    let regulator = pack.regulator.as_ref().map(|one| {
        let heat = standing.input * standing.drawn - standing.output * standing.out;
        AtRegulator {
            kind: one.kind,
            holds: standing.holds,
            volts_in: Volts(standing.input),
            volts_out: Volts(standing.output),
            amps_in: Amps(standing.drawn),
            amps_out: Amps(standing.out),
            heat: Watts(heat),
            junction: one.thermal.map(|rise| Celsius(one.surroundings.0 + heat * rise.0)),
        }
    });
    Feed {
        pack: pack.name.clone(),
        emf: Volts(branch.emf),
        amps: Amps(standing.drawn + branch.motor),
        motor: Amps(branch.motor),
        to_bus: Amps(standing.out),
        cell_v: Volts(branch.terminals(standing.drawn) / f64::from(pack.cells)),
        regulator,
    }
}

/// Two packs with a switch-over: the first feeds while it keeps the bus up, then the second. The other
/// has nothing but its motor.
fn switched(first: &Branch, second: &Branch, below: f64, demand: Demand) -> Result<Settled, Fall> {
    let alone = |branch: &Branch, place: usize| {
        settle(std::slice::from_ref(branch), demand).map(|mut settled| {
            settled.standings[0].0 = place;
            settled
        })
    };
    let (mut settled, idle) = match alone(first, 0) {
        Ok(settled) if settled.bus >= below => (settled, (1, second)),
        _ => (alone(second, 1)?, (0, first)),
    };
    if idle.1.motor > 0.0 {
        settled.standings.push((idle.0, idle.1.standing(0.0, f64::INFINITY)));
    }
    Ok(settled)
}

/// The way of a branch's voltage, step by step.
fn stages(pack: &Pack, branch: &Branch, standing: &Standing) -> Vec<Stage> {
    let mut stages = Vec::new();
    let mut volts = branch.emf;
    let mut step = |name: &str, to: f64, amps: f64, lost: f64| {
        stages.push(Stage {
            pack: pack.name.clone(),
            name: name.to_owned(),
            volts_in: Volts(volts),
            volts_out: Volts(to),
            amps: Amps(amps),
            lost: Watts(lost),
        });
        volts = to;
        to
    };
    let (drawn, out) = (standing.drawn, standing.out);
    let whole = drawn + branch.motor;
    let mut at = step("cells", branch.terminals(drawn), whole, branch.cells * whole * whole);
    for wire in &pack.before {
        let ohms = wire.resistance().map_or(0.0, |ohms| ohms.0);
        at = step(&wire.name, at - ohms * drawn, drawn, ohms * drawn * drawn);
    }
    if let Some(regulator) = &pack.regulator {
        let heat = standing.input * drawn - standing.output * out;
        at = step(&regulator.name, standing.output, out, heat);
    }
    for wire in &pack.after {
        let ohms = wire.resistance().map_or(0.0, |ohms| ohms.0);
        at = step(&wire.name, at - ohms * out, out, ohms * out * out);
    }
    if let Some(drop) = branch.diode {
        at = step("diode", at - drop, out, drop * out);
    }
    if branch.joint > 0.0 {
        step("joint", at - branch.joint * out, out, branch.joint * out * out);
    }
    stages
}

/// Whether the regulator of a pack has dropped out.
pub(super) fn dropped_out(point: &Point, pack: &str) -> bool {
    let mut of = point.feeds.iter().filter(|feed| feed.pack == pack).filter_map(|feed| feed.regulator);
    of.any(|one| one.holds == Regulation::DroppedOut)
}
