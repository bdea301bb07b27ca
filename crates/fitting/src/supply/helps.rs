//! What to change, and by how much it helps.

use link::wire::Gauge;
use units::{Amps, Minutes, Ohms, Seconds, Volts};

use super::answer::{Capacitor, Change, Help, Load, Outcome};
use super::model::{Charge, Kind, Pack, Supply, Wire};
use super::rules::holding_capacitor;

/// A rise at the receiver that is worth a line.
const WORTH: Volts = Volts(0.0005);

/// As many minutes more as are worth a line, as a ratio.
const WORTH_MINUTES: f64 = 1.005;

/// What a supply comes to, with the packs low.
#[derive(Clone, Copy)]
struct Figures {
    volts: [Option<Volts>; 3],
    minutes: Option<Minutes>,
}

const LOADS: [Load; 3] = [Load::Rest, Load::Hard, Load::Stalled];

impl Figures {
    fn of(supply: &Supply) -> Figures {
        let volts =
            LOADS.map(|load| supply.outcome(&load, Charge::Low, None).point().map(|point| point.receiver_v));
        Figures { volts, minutes: supply.endurance().minutes }
    }
}

/// A voltage for comparing: a collapse is below any.
fn rank(volts: Option<Volts>) -> f64 {
    volts.map_or(-1.0, |volts| volts.0)
}

/// Of more different leads than this the others are not tried.
const MOST_LEADS: usize = 24;

impl Supply {
    /// Changes that help, the one that helps most in the worst case first.
    pub(super) fn helps(&self) -> Vec<Help> {
        let before = Figures::of(self);
        // The worst case; where several collapse, the hard manoeuvre counts.
        let worst = [1, 2, 0]
            .into_iter()
            .min_by(|a, b| rank(before.volts[*a]).total_cmp(&rank(before.volts[*b])))
            .unwrap_or(1);
        let mut found: Vec<([f64; 3], Help)> = Vec::new();
        for (text, changed) in self.changes() {
            let after = Figures::of(&changed);
            if !helps(&before, &after) {
                continue;
            }
            let change = |at: usize| Change { before: before.volts[at], after: after.volts[at] };
            let minutes = before.minutes.zip(after.minutes);
            let order = [
                rank(after.volts[worst]),
                rank(after.volts[1]),
                minutes.map_or(0.0, |(before, after)| after.0 - before.0),
            ];
            let text = super::findings::capital(&text);
            found.push((order, Help { text, rest: change(0), hard: change(1), stall: change(2), minutes }));
        }
        found.sort_by(|(a, _), (b, _)| {
            a.iter()
                .zip(b)
                .map(|(a, b)| b.total_cmp(a))
                .find(|order| order.is_ne())
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        found.into_iter().map(|(_, help)| help).collect()
    }

    /// Every change that one might make, with the supply as it would be.
    fn changes(&self) -> Vec<(String, Supply)> {
        let mut changes = Vec::new();
        self.wire_changes(&mut changes);
        self.pack_changes(&mut changes);
        self.regulator_changes(&mut changes);
        changes
    }

    fn with(&self, change: impl Fn(&mut Pack)) -> Supply {
        let mut supply = self.clone();
        supply.packs.iter_mut().for_each(change);
        supply
    }

    fn wire_changes(&self, changes: &mut Vec<(String, Supply)>) {
        let mut seen: Vec<&Wire> = Vec::new();
        for wire in self.packs.iter().flat_map(|pack| pack.before.iter().chain(&pack.after)) {
            if seen.contains(&wire) {
                continue;
            }
            if seen.len() == MOST_LEADS {
                break;
            }
            seen.push(wire);
            let with = |other: Wire| {
                self.with(|pack| {
                    let all = pack.before.iter_mut().chain(pack.after.iter_mut());
                    all.filter(|one| *one == wire).for_each(|one| one.clone_from(&other));
                })
            };
            let name = &wire.name;
            if wire.length.0 > 0.0 {
                if let Some(gauge) = thicker(wire.gauge) {
                    let text = format!("{name}: {gauge} AWG instead of {}.", wire.gauge);
                    changes.push((text, with(Wire { gauge, ..wire.clone() })));
                }
                let length = wire.length * 0.5;
                let text = format!("{name}: half as long, {:.2} m one way.", length.0);
                changes.push((text, with(Wire { length, ..wire.clone() })));
            }
            if wire.connector.0 > 0.0 {
                let connector = wire.connector * 0.5;
                let text = format!("{name}: contacts of half the resistance, {connector}.");
                changes.push((text, with(Wire { connector, ..wire.clone() })));
            }
            if wire.switch.0 > 0.0 {
                let text = format!("{name}: without the switch.");
                changes.push((text, with(Wire { switch: Ohms(0.0), ..wire.clone() })));
            }
        }
    }

    fn pack_changes(&self, changes: &mut Vec<(String, Supply)>) {
        let highest =
            self.servos.iter().map(|servo| servo.highest.0).chain(self.receiver.highest.map(|v| v.0));
        let highest = highest.fold(f64::INFINITY, f64::min);
        let many = self.packs.len() > 1;
        let allowed = |pack: &Pack| {
            pack.regulator.is_some() || (pack.emf(Charge::Full) + pack.chemistry.full).0 <= highest
        };
        if self.packs.iter().all(|pack| pack.cells < 14 && allowed(pack)) {
            let regulated = self.packs.iter().any(|pack| pack.regulator.is_some());
            let text = match (many, regulated) {
                (false, false) => "One more cell.".to_owned(),
                (true, false) => "One more cell in each pack.".to_owned(),
                (false, true) => "One more cell, where the regulator stands the voltage.".to_owned(),
                (true, true) => {
                    "One more cell in each pack, where the regulators stand the voltage.".to_owned()
                }
            };
            changes.push((text, self.with(|pack| pack.cells += 1)));
        }
        if self.packs.iter().any(|pack| pack.ageing > 1.0) {
            let text = if many { "New packs." } else { "A new pack." };
            changes.push((text.to_owned(), self.with(|pack| pack.ageing = 1.0)));
        }
        if self.packs.iter().any(|pack| pack.cold > 1.0) {
            let text = if many { "Packs kept at 20 °C." } else { "The pack kept at 20 °C." };
            changes.push((text.to_owned(), self.with(|pack| pack.cold = 1.0)));
        }
        let text = if many {
            "Packs of twice the capacity and half the resistance."
        } else {
            "A second pack of the same sort beside it, or one of twice the capacity and half the resistance."
        };
        let doubled = self.with(|pack| {
            pack.cell = pack.cell * 0.5;
            pack.capacity = pack.capacity.map(|capacity| capacity * 2.0);
        });
        changes.push((text.to_owned(), doubled));
    }

    fn regulator_changes(&self, changes: &mut Vec<(String, Supply)>) {
        let regulators = || self.packs.iter().filter_map(|pack| pack.regulator.as_ref());
        if regulators().any(|one| one.kind == Kind::Linear) {
            let with = self.with(|pack| {
                if let Some(one) = &mut pack.regulator
                    && one.kind == Kind::Linear
                {
                    one.kind = Kind::Switching;
                    one.dropout = Volts(one.dropout.0.min(0.3));
                    one.efficiency = 0.85;
                    one.thermal = None;
                }
            });
            changes.push(("A switching regulator (85 %) instead of the linear one.".to_owned(), with));
        }
        if regulators().any(|one| one.burst.is_some()) {
            let with = self.with(|pack| {
                if let Some(one) = &mut pack.regulator {
                    one.burst = one.burst.map(|amps| amps * 2.0);
                    one.continuous = one.continuous.map(|amps| amps * 2.0);
                }
            });
            changes.push(("A regulator for twice the current.".to_owned(), with));
        }
        let stands = |volts: f64| {
            self.servos.iter().all(|servo| servo.highest.0 >= volts)
                && self.receiver.highest.is_none_or(|highest| highest.0 >= volts)
        };
        if regulators().any(|one| one.set.0 < 6.0) && stands(6.0) {
            let with = self.with(|pack| {
                if let Some(one) = &mut pack.regulator {
                    one.set = Volts(one.set.0.max(6.0));
                }
            });
            changes.push(("The regulator set to 6 V, which the servos stand.".to_owned(), with));
        }
    }

    /// What a capacitor across the receiver's supply would have to be.
    pub(super) fn capacitor(&self) -> Capacitor {
        let rest = self.outcome(&Load::Rest, Charge::Low, None).point().map(|point| point.receiver_v);
        let hard = match self.outcome(&Load::Hard, Charge::Low, None) {
            Outcome::Held(point) | Outcome::Reset(point) => Some(point.amps),
            Outcome::Collapse { .. } => rest.map(|volts| self.hard_amps(volts)),
        };
        let time = Seconds(0.01);
        let (_, low) = super::findings::limits(self.receiver.works_to);
        match rest.zip(hard) {
            Some((rest, amps)) if rest > low => {
                let farads = holding_capacitor(amps, time, rest - low);
                let text = format!(
                    "A capacitor across the receiver's supply bridges milliseconds, not manoeuvres: {amps} for 10 ms \
                     from {rest} down to {low} want {farads}. It doesn't mend a supply that is too weak."
                );
                Capacitor { farads: Some(farads), text }
            }
            _ => Capacitor {
                farads: None,
                text: format!("The bus is not above {low} at rest: no capacitor mends that."),
            },
        }
    }

    /// What a hard manoeuvre takes at a voltage at the servos.
    fn hard_amps(&self, volts: Volts) -> Amps {
        let servos: f64 = self
            .servos
            .iter()
            .map(|servo| {
                f64::from(servo.count) * super::cases::HARD_SHARE * servo.stall.0 * volts.0 / servo.rated.0
            })
            .sum();
        self.receiver.takes + Amps(servos)
    }
}

fn helps(before: &Figures, after: &Figures) -> bool {
    let mut better = false;
    for (before, after) in before.volts.iter().zip(after.volts) {
        match (*before, after) {
            (Some(_), None) => return false,
            (None, Some(_)) => better = true,
            (Some(before), Some(after)) => better |= after - before > WORTH,
            (None, None) => {}
        }
    }
    let longer =
        before.minutes.zip(after.minutes).is_some_and(|(before, after)| after.0 > before.0 * WORTH_MINUTES);
    better || longer
}

/// Two gauges thicker, where there is one.
fn thicker(gauge: Gauge) -> Option<Gauge> {
    let place = Gauge::all().position(|one| one == gauge)?;
    Gauge::all().nth(place.checked_sub(2)?)
}
