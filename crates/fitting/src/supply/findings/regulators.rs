//! What regulators are asked for: too much, too hot, too little to hold.

use units::{Amps, Watts};

use super::Desk;
use crate::finding::Weight;
use crate::supply::answer::{AtRegulator, Case, Load};
use crate::supply::cases::dropped_out;
use crate::supply::model::{Charge, Kind, Regulator};
use crate::supply::rules::most_by_heat;

impl Desk<'_> {
    pub(super) fn regulators(&mut self) {
        for place in 0..self.supply.packs.len() {
            let pack = &self.supply.packs[place];
            let Some(regulator) = &pack.regulator else { continue };
            let (pack, mut regulator) = (pack.name.clone(), regulator.clone());
            if self.supply.packs.len() > 1 {
                regulator.name = format!("{} of {pack}", regulator.name);
            }
            self.continuous(&pack, &regulator);
            self.heat(&pack, &regulator);
            let weak = self.healthy().find(|case| {
                case.load != Load::Stalled
                    && case.outcome.point().is_some_and(|point| dropped_out(point, &pack))
            });
            if let Some((name, volts)) =
                weak.and_then(|case| case.outcome.point().map(|point| (case.name.clone(), point.receiver_v)))
            {
                let text = format!(
                    "{name}: its input is too low to hold {}; {volts} at the receiver.",
                    regulator.set
                );
                self.report(
                    "dropped_out",
                    Weight::Warning,
                    &regulator.name,
                    text,
                    "The output follows the pack down; the regulator no longer protects from its sag.",
                    "Take one more cell, a lower setting, or thicker leads before it.",
                );
            }
        }
    }

    /// The most that a regulator gives under a load, with the case.
    fn most_given(&self, pack: &str, loads: impl Fn(&Load) -> bool) -> Option<(Amps, &Case)> {
        self.healthy()
            .filter(|case| loads(&case.load))
            .filter_map(|case| {
                let feed = case.outcome.point()?.feeds.iter().find(|feed| feed.pack == pack)?;
                Some((feed.to_bus, case))
            })
            .max_by(|(a, _), (b, _)| a.0.total_cmp(&b.0))
    }

    fn continuous(&mut self, pack: &str, regulator: &Regulator) {
        let Some(continuous) = regulator.continuous else { return };
        let long = self.most_given(pack, |load| matches!(load, Load::Rest | Load::Manoeuvre(_)));
        let hard = self.most_given(pack, |load| matches!(load, Load::Hard));
        if let Some((amps, case)) = long.filter(|(amps, _)| *amps > continuous) {
            let text = format!("{}: it gives {amps}, more than its continuous {continuous}.", case.name);
            self.report(
                "over_continuous",
                Weight::Warning,
                &regulator.name,
                text,
                "It warms up until it limits or shuts down; a burst rating holds for seconds.",
                "Take a regulator whose continuous rating is a quarter to a half above what moves together.",
            );
        } else if let Some((amps, case)) = long.filter(|(amps, _)| *amps > continuous * 0.8) {
            let text = format!("{}: it gives {amps} of its continuous {continuous}.", case.name);
            self.report(
                "little_in_hand",
                Weight::Note,
                &regulator.name,
                text,
                "Less than a quarter is in hand for warm air, age and a binding surface.",
                "Take a regulator with a quarter to a half in hand.",
            );
        } else if let Some((amps, case)) = hard.filter(|(amps, _)| *amps > continuous) {
            let text = format!("{}: it gives {amps}, more than its continuous {continuous}.", case.name);
            self.report(
                "over_continuous",
                Weight::Note,
                &regulator.name,
                text,
                "Its burst rating carries that for seconds, with air moving past it.",
                "Count on it for a peak only.",
            );
        }
    }

    /// Every case that a regulator's chip would be too hot in if it lasted, with what it gives off there.
    fn hot(&self, pack: &str, charge: Charge) -> Vec<(&Case, AtRegulator)> {
        let of = |case: &Case| {
            let feed = case.outcome.point()?.feeds.iter().find(|feed| feed.pack == pack)?;
            feed.regulator
        };
        let cases = self.cases.iter().filter(|case| case.failed.is_none() && case.charge == charge);
        cases.filter_map(|case| of(case).map(|at| (case, at))).collect()
    }

    /// A chip follows its heat within a minute or so: what counts is the mean over the flight. What is hotter for
    /// moments is a warning.
    fn heat(&mut self, pack: &str, regulator: &Regulator) {
        let Some(thermal) = regulator.thermal else { return };
        let mut found: Option<(Weight, f64, AtRegulator, String)> = None;
        let charges: Vec<Charge> = self.cases.iter().map(|case| case.charge).collect();
        for charge in charges {
            let all = self.hot(pack, charge);
            let Some((rest, at_rest)) = all.iter().find(|(case, _)| case.load == Load::Rest) else {
                continue;
            };
            let share = |case: &Case| match &case.load {
                Load::Manoeuvre(name) => {
                    self.supply.manoeuvres.iter().find(|one| one.name == *name).map_or(0.0, |one| one.share)
                }
                _ => 0.0,
            };
            let moving: f64 = all.iter().map(|(case, _)| share(case)).sum::<f64>().min(1.0);
            let mean = all.iter().map(|(case, at)| share(case) * at.heat.0).sum::<f64>()
                + (1.0 - moving) * at_rest.heat.0;
            let junction = |heat: f64| regulator.surroundings.0 + thermal.0 * heat;
            let mut one =
                (Weight::Fault, junction(mean), *at_rest, format!("{}, the mean of a flight", rest.name));
            one.2.heat = Watts(mean);
            if one.1 <= regulator.junction_max.0 {
                let peaks = all.iter().filter(|(case, _)| case.load != Load::Stalled);
                let Some((case, at)) = peaks.max_by(|a, b| a.1.heat.0.total_cmp(&b.1.heat.0)) else {
                    continue;
                };
                one = (Weight::Warning, junction(at.heat.0), *at, case.name.clone());
            }
            let worse = found.as_ref().is_none_or(|have| (one.0, one.1) > (have.0, have.1));
            if one.1 > regulator.junction_max.0 && worse {
                found = Some(one);
            }
        }
        let Some((weight, junction, at, name)) = found else { return };
        let text = format!(
            "{name}: {} of heat bring its chip to {:.0} °C if it lasts; {:.0} °C is the most.",
            at.heat, junction, regulator.junction_max.0
        );
        let most = regulator.thermal.and_then(|thermal| {
            most_by_heat(at.volts_in, at.volts_out, regulator.junction_max, regulator.surroundings, thermal)
        });
        let mend = match most.filter(|_| regulator.kind == Kind::Linear) {
            Some(most) => {
                format!(
                    "Take a switching regulator, or fewer cells; at this input it stands {most} for long."
                )
            }
            None => "Take a larger regulator, or bring air past it.".to_owned(),
        };
        let consequence = "It shuts down in the air and the receiver goes with it.";
        self.report("too_hot", weight, &regulator.name, text, consequence, mend);
    }
}
