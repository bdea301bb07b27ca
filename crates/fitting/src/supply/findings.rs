//! What a supply's cases mean: too little, too much, too hot, and what follows from it.

mod regulators;

use units::{Amps, Volts};

use super::answer::{Answer, Case, Endurance, Load, Outcome, Point};
use super::data::rating;
use super::model::{Charge, Join, Supply, Throttle, Wire};
use crate::finding::{Finding, Weight, sort};

/// Under how much at the receiver it is a fault, and under how much one is warned: 4.0 V and 4.5 V for a
/// receiver that works down to 3.5 V (common practice, no source), as much above it for one that works lower,
/// and never under what it works down to.
pub fn limits(works_to: Volts) -> (Volts, Volts) {
    let over = |more: f64, usual: f64| Volts((works_to.0 + more).min(usual).max(works_to.0));
    (over(0.5, 4.0), over(1.0, 4.5))
}

/// A case for comparing: the lowest voltage is the worst, a collapse worse than any.
fn rank(case: &Case) -> f64 {
    case.outcome.point().map_or(-1.0, |point| point.receiver_v.0)
}

/// The same with a capital; names that people gave begin as they please.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

struct Desk<'a> {
    supply: &'a Supply,
    cases: &'a [Case],
    endurance: &'a Endurance,
    findings: Vec<Finding>,
}

/// Everything that was found, heaviest first.
pub(super) fn find(supply: &Supply, cases: &[Case], endurance: &Endurance) -> Vec<Finding> {
    let mut desk = Desk { supply, cases, endurance, findings: Vec::new() };
    desk.low();
    desk.failed();
    desk.regulators();
    desk.over_volted();
    desk.cells();
    desk.wires();
    desk.joined();
    desk.notes();
    sort(&mut desk.findings);
    desk.findings
}

impl Desk<'_> {
    fn report(
        &mut self,
        key: &'static str,
        weight: Weight,
        about: &str,
        text: impl Into<String>,
        consequence: impl Into<String>,
        mend: impl Into<String>,
    ) {
        let (about, text) = (about.to_owned(), capital(&text.into()));
        let (consequence, mend) = (consequence.into(), mend.into());
        self.findings.push(Finding { key, weight, about, text, consequence, mend });
    }

    fn healthy(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|case| case.failed.is_none())
    }

    /// The worst charge of a load with nothing failed.
    fn worst(&self, load: &Load) -> Option<&Case> {
        self.healthy().filter(|case| case.load == *load).min_by(|a, b| rank(a).total_cmp(&rank(b)))
    }

    /// What the receiver's voltage means.
    fn verdict(&self, case: &Case) -> Option<(&'static str, Weight, String)> {
        let works = self.supply.receiver.works_to;
        let stalled = case.load == Load::Stalled;
        let (key, weight, text) = match &case.outcome {
            Outcome::Collapse { why } => {
                ("collapse", Weight::Fault, format!("{}: it collapses: {why}.", case.name))
            }
            Outcome::Reset(point) => {
                let text = format!(
                    "{}: {} at the receiver, which resets at {}.",
                    case.name, point.receiver_v, self.supply.receiver.resets_at
                );
                ("reset", Weight::Fault, text)
            }
            Outcome::Held(point) => {
                let volts = point.receiver_v;
                let (Volts(fault), Volts(warn)) = limits(works);
                // In whole hundredths, as they are told.
                let told = (volts.0 * 100.0).round() / 100.0;
                let (weight, under) = match told {
                    volts if volts < fault => (Weight::Fault, fault),
                    volts if volts < warn => (Weight::Warning, warn),
                    _ => return None,
                };
                let text = format!("{}: {volts} at the receiver, under {}.", case.name, Volts(under));
                ("low_volts", weight, text)
            }
        };
        // All stalled at once is the worst there is, and not what a flight asks for.
        let lighter = match weight {
            Weight::Fault => Weight::Warning,
            _ => Weight::Note,
        };
        Some((key, if stalled { lighter } else { weight }, text))
    }

    fn low(&mut self) {
        for load in self.supply.loads() {
            let Some((key, weight, text)) = self.worst(&load).and_then(|case| self.verdict(case)) else {
                continue;
            };
            let consequence = match key {
                "collapse" => "The receiver loses its supply and every servo with it.",
                "reset" => "After a reset one to several seconds may pass before it obeys again.",
                _ => "Little is left before the receiver resets; a cold or older pack takes it away.",
            };
            let mend = "See what helps most, which the supply's own answer lists; then log the voltage at the receiver, all sticks \
                        stirred and surfaces loaded, at the lowest charge you would fly with.";
            self.report(key, weight, load.words(), text, consequence, mend);
        }
    }

    fn failed(&mut self) {
        for pack in &self.supply.packs {
            let worst = self
                .cases
                .iter()
                .filter(|case| case.failed.as_ref() == Some(&pack.name) && case.load != Load::Stalled)
                .min_by(|a, b| rank(a).total_cmp(&rank(b)));
            let Some((_, weight, text)) = worst.and_then(|case| self.verdict(case)) else { continue };
            self.report(
                "failover_weak",
                weight,
                &pack.name,
                text,
                "The other pack alone doesn't carry the load, so the second pack is no spare.",
                "Make each pack, its regulator and its leads strong enough to fly on alone.",
            );
        }
    }

    fn over_volted(&mut self) {
        let Some(case) =
            self.healthy().filter(|case| case.load == Load::Rest).max_by(|a, b| rank(a).total_cmp(&rank(b)))
        else {
            return;
        };
        let Some(volts) = case.outcome.point().map(|point| point.receiver_v) else { return };
        let name = case.name.clone();
        // Nickel cells fall to their nominal voltage within minutes of a flight, and are judged by that: five
        // of them are a 6 V pack (common practice, no source).
        let settled = self.supply.packs.iter().map(|pack| {
            let nickel = matches!(pack.chemistry.word.as_str(), "nimh" | "nicd") && pack.regulator.is_none();
            if nickel { pack.chemistry.nominal.0 * f64::from(pack.cells) } else { f64::INFINITY }
        });
        let settled = settled.fold(0.0, f64::max);
        for servo in &self.supply.servos {
            if volts > servo.highest && settled <= servo.highest.0 {
                let text = format!("{name}: {volts}, and it stands {}.", servo.highest);
                self.report(
                    "servo_over_volted",
                    Weight::Note,
                    &servo.name,
                    text,
                    "Fresh from the charger the cells give that for minutes.",
                    "See what its maker says of a freshly charged pack.",
                );
            } else if volts > servo.highest {
                let text = format!("{name}: {volts}, and it stands {}.", servo.highest);
                self.report(
                    "servo_over_volted",
                    Weight::Fault,
                    &servo.name,
                    text,
                    "It runs hot and fails, perhaps in the air.",
                    "Put in a regulator, take fewer cells, or servos made for this voltage.",
                );
            }
        }
        if let Some(highest) = self.supply.receiver.highest.filter(|highest| volts > *highest) {
            let text = format!("{name}: {volts}, and it stands {highest}.");
            let mend = "Put in a regulator, or take fewer cells.";
            self.report(
                "receiver_over_volted",
                Weight::Fault,
                "receiver",
                text,
                "The receiver can be destroyed.",
                mend,
            );
        }
    }

    fn cells(&mut self) {
        for pack in &self.supply.packs {
            let lowest = |weight: fn(&Load) -> bool| {
                self.healthy()
                    .filter(|case| weight(&case.load))
                    .filter_map(|case| {
                        let feed = case.outcome.point()?.feeds.iter().find(|feed| feed.pack == pack.name)?;
                        Some((feed.cell_v, case.name.clone()))
                    })
                    .min_by(|(a, _), (b, _)| a.0.total_cmp(&b.0))
                    .filter(|(volts, _)| *volts < pack.chemistry.hard)
            };
            let found = lowest(|load| matches!(load, Load::Rest | Load::Manoeuvre(_) | Load::Hard))
                .map(|one| (Weight::Warning, one))
                .or_else(|| lowest(|load| *load == Load::Stalled).map(|one| (Weight::Note, one)));
            let Some((weight, (volts, name))) = found else { continue };
            let runs = pack.motor_amps(Throttle::Full).0 > 0.0;
            let text = format!("{name}: {volts} a cell, under the hard minimum of {}.", pack.chemistry.hard);
            self.report(
                "cell_under_minimum",
                weight,
                &pack.name,
                text,
                "The cells are harmed, the weakest first, and may reverse or swell.",
                if runs {
                    "Take a larger or newer pack or a motor that draws less, open the throttle less, or land with more \
                     left in it."
                } else {
                    "Take a larger or newer pack, or land with more left in it."
                },
            );
        }
    }

    fn wires(&mut self) {
        let mut seen: Vec<Wire> = Vec::new();
        let supply = self.supply;
        for pack in &supply.packs {
            let before = pack.before.iter().map(|wire| (wire, true));
            for (wire, upstream) in before.chain(pack.after.iter().map(|wire| (wire, false))) {
                if wire.length.0 <= 0.0 || seen.contains(wire) {
                    continue;
                }
                let Some(most) = rating(wire.gauge) else { continue };
                let carried =
                    |feed: &super::answer::Feed| if upstream { feed.amps - feed.motor } else { feed.to_bus };
                let hard = self
                    .healthy()
                    .filter(|case| case.load == Load::Hard)
                    .filter_map(|case| case.outcome.point()?.feeds.iter().find(|feed| feed.pack == pack.name))
                    .map(|feed| carried(feed).0)
                    .fold(0.0, f64::max);
                // The heating of a flight is the bus current's root mean square; upstream of a
                // converter it is less, so this errs to the careful side.
                let long = self.endurance.rms.filter(|_| supply.packs.len() == 1).map_or(0.0, |amps| amps.0);
                let (weight, amps, when) = if long > most.0 {
                    (Weight::Fault, long, "over the flight (root mean square)")
                } else if hard > most.0 {
                    (Weight::Warning, hard, "in a hard manoeuvre")
                } else {
                    continue;
                };
                seen.push(wire.clone());
                let text = format!(
                    "{} AWG carries {} {when}, more than the {most} it may in open air.",
                    wire.gauge,
                    Amps(amps)
                );
                let (consequence, mend) = (
                    "Its insulation softens; in a bundle or foam sooner.",
                    "Fit a thicker lead, or two side by side.",
                );
                self.report("wire_over_rating", weight, &wire.name, text, consequence, mend);
            }
        }
    }

    fn joined(&mut self) {
        let supply = self.supply;
        let bare = supply.packs.iter().any(|pack| pack.regulator.is_none());
        match supply.join {
            Join::Parallel if bare => self.report(
                "packs_charge_each_other",
                Weight::Fault,
                "two packs",
                "They are joined with neither diode nor regulator between them.".to_owned(),
                "The fuller one charges the other without any limit, and a shorted one takes both down.",
                "Put a diode or a regulator behind each pack.",
            ),
            Join::SwitchOver(below) if below <= supply.receiver.resets_at => {
                let text = format!(
                    "It switches below {below}, and the receiver resets at {}.",
                    supply.receiver.resets_at
                );
                let mend = "Let it switch at 4.5 V or above, well over the reset.";
                self.report(
                    "switch_over_late",
                    Weight::Fault,
                    "switch-over",
                    text,
                    "The receiver resets first.",
                    mend,
                );
            }
            _ => {}
        }
    }

    fn notes(&mut self) {
        let supply = self.supply;
        if supply.packs.len() == 1 && supply.servos.iter().any(|servo| servo.class == "large") {
            self.report(
                "single_pack",
                Weight::Note,
                &supply.packs[0].name,
                "One pack feeds large servos.".to_owned(),
                "One broken lead, plug or cell takes every control away.",
                "Fit two packs with a diode or regulator each, as is usual at this size.",
            );
        }
        if let Some(pack) = supply.packs.iter().find(|pack| pack.capacity.is_none()) {
            let mend = "Give capacity_mah.";
            let text = "Its capacity isn't given.".to_owned();
            self.report(
                "capacity_unknown",
                Weight::Note,
                &pack.name,
                text,
                "How long it lasts can't be said.",
                mend,
            );
        }
        for pack in supply.packs.iter().filter(|pack| pack.motor_unknown()) {
            self.report(
                "motor_unknown",
                Weight::Note,
                &pack.name,
                "Whether a motor hangs on this pack isn't written down.".to_owned(),
                "Minutes and sag leave a motor out: with one it lasts a fraction as long, and full throttle takes \
                 voltage away.",
                "Give motor_a, what the motor draws at full throttle, or motor_a = 0 where none hangs on it.",
            );
        }
        if supply.servos.is_empty() {
            let text = "No servo is given.".to_owned();
            let what = "Only the receiver is reckoned: this says nothing of a flight.";
            self.report(
                "no_servo",
                Weight::Note,
                "servos",
                text,
                what,
                "Add [[servo]] with class and count.",
            );
        }
    }
}

/// The answer in one sentence.
pub(super) fn sentence(answer: &Answer) -> String {
    let tell = |load: &Load, charge: Charge| {
        let case = answer.case(load, charge)?;
        Some((case.name.clone(), case.outcome.clone()))
    };
    let volts = |point: &Point| format!("{}", point.receiver_v);
    let hard = tell(&Load::Hard, Charge::Low);
    let stalled = tell(&Load::Stalled, Charge::Low);
    let first = match hard {
        Some((name, Outcome::Held(point))) => format!("The receiver has {} ({name})", volts(&point)),
        Some((name, Outcome::Reset(point))) => {
            format!("The receiver resets: it has {} ({name})", volts(&point))
        }
        Some((name, Outcome::Collapse { why })) => format!("The supply collapses ({name}): {why}"),
        None => "Nothing was reckoned".to_owned(),
    };
    let second = match stalled {
        Some((_, Outcome::Held(point) | Outcome::Reset(point))) => {
            format!("{} with all stalled", volts(&point))
        }
        Some((_, Outcome::Collapse { .. })) => "no voltage at all with all stalled".to_owned(),
        None => String::new(),
    };
    let minutes = answer.endurance.minutes.map_or(String::new(), |minutes| {
        let with = answer.endurance.with.map_or(String::new(), |with| format!(" {with}"));
        format!("; it lasts {minutes}{with}")
    });
    format!("{first}, {second}{minutes}. Reckoned, not measured.")
}
