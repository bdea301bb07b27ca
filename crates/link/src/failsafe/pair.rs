//! Two looks at one fading level, a time apart.

use std::f64::consts::FRAC_PI_4;

use units::Db;

use crate::fading::{GAUSS_10, GAUSS_16, Rice, Scatter, Window, integrate};

/// The greatest K reckoned with, as a ratio (40 dB): above it nothing fades.
const MOST_K: f64 = 1e4;
/// A chance too small for its pair to matter: less than once in ten thousand years.
const NEVER: f64 = 1e-13;
/// How many standard deviations of a change count.
const REACH: f64 = 6.5;
/// How many standard deviations of the fading itself count.
const WIDE: f64 = 7.0;

/// How likely all packets of one look are lost (`loss` to the power of `packets`), and how likely those
/// of the next look after that; `turn` is 2π times the Doppler shift times the time between.
pub(super) fn all_lost(
    loss: &impl Fn(f64) -> f64,
    packets: f64,
    scatter: Scatter,
    mean: f64,
    turn: f64,
) -> (f64, f64) {
    let all = |level: f64| loss(level).powf(packets);
    let rice = Rice::new(scatter.k_ratio().min(MOST_K));
    let window = Window::of(&all);
    let amplitude = |level: f64| (rice.mean_power() * Db(level - mean).ratio()).sqrt();
    let (least, most) = ((rice.direct - 9.0).max(0.0), rice.direct + 9.0);
    let edge = Edge {
        low: amplitude(window.low).clamp(least, most),
        high: amplitude(window.high).clamp(least, most),
        lost: |r: f64| all(mean + Db::of_ratio(r * r / rice.mean_power()).0),
    };
    edge.pair(rice, turn)
}

/// Where the chance of loss falls from 1 to 0 with the amplitude.
struct Edge<F> {
    low: f64,
    high: f64,
    lost: F,
}

impl<F: Fn(f64) -> f64> Edge<F> {
    /// The mean of the chance over a Rice distribution whose scattered part has this deviation.
    fn mean(&self, direct: f64, deviation: f64) -> f64 {
        let rice = Rice { direct: direct / deviation };
        let inside = |r: f64| (r / deviation).clamp((rice.direct - 8.0).max(0.0), rice.direct + 8.0);
        let (from, to) = (inside(self.low), inside(self.high));
        let partly = if to > from {
            integrate(GAUSS_16, from, to, |r| rice.density(r) * (self.lost)(r * deviation))
        } else {
            0.0
        };
        (rice.below_with(GAUSS_16, from) + partly).min(1.0)
    }

    fn pair(&self, rice: Rice, turn: f64) -> (f64, f64) {
        let once = self.mean(rice.direct, 1.0);
        let (rho, parted) = correlation(turn);
        if once <= NEVER || once >= 1.0 || rho.abs() < 1e-9 {
            return (once, once);
        }
        // The second look's own scatter, given the first.
        let deviation = (parted * (1.0 + rho)).sqrt();
        if deviation < 1e-9 {
            // Nothing moves: the same level twice.
            let twice = Edge { low: self.low, high: self.high, lost: |r: f64| (self.lost)(r).powi(2) };
            return (once, (twice.mean(rice.direct, 1.0) / once).min(1.0));
        }
        let held = parted * rice.direct;
        let drawn = rho.abs() * self.high;
        let second = Second::new(self, deviation, (held - drawn, held + drawn));
        // How likely the second look is lost when the first had amplitude r, over the first's phase.
        let after = |r: f64| {
            let sharp = rice.direct * r;
            let widest = if sharp > 10.0 { (1.0 - 20.0 / sharp).acos() } else { std::f64::consts::PI };
            let (mut sum, mut weights) = (0.0, 0.0);
            for (x, weight) in GAUSS_10 {
                for x in [-x, *x] {
                    let cosine = (0.5 * widest * (1.0 + x)).cos();
                    let weight = weight * (-sharp * (1.0 - cosine)).exp();
                    let drawn = rho * r;
                    let squared = held * held + drawn * drawn + 2.0 * held * drawn * cosine;
                    sum += weight * second.lost(squared.max(0.0).sqrt());
                    weights += weight;
                }
            }
            sum / weights
        };
        // Amplitudes so far under the edge that the second look is surely lost too.
        let sure = if rho > 0.0 { (self.low - REACH * deviation - held) / rho } else { 0.0 };
        let deep = lowest(rice, self.low);
        let part = |from: f64, to: f64, f: &dyn Fn(f64) -> f64| {
            if to > from { integrate(GAUSS_16, from, to, |r| rice.density(r) * f(r)) } else { 0.0 }
        };
        // From `from` up to the edge, in two parts where the bulk of the fading lies under it.
        let under = |from: f64, f: &dyn Fn(f64) -> f64| {
            let top = self.low.min(rice.direct + WIDE);
            let middle = if top > rice.direct + 1.0 { rice.direct.max(from) } else { from };
            part(from, middle, f) + part(middle, top, f)
        };
        let again = if sure > deep {
            let got = |r: f64| (self.lost)(r) * (1.0 - after(r));
            1.0 - (under(sure, &got) + part(self.low, self.high, &got)) / once
        } else {
            let lost = |r: f64| (self.lost)(r) * after(r);
            (under(deep, &lost) + part(self.low, self.high, &lost)) / once
        };
        (once, again.clamp(0.0, 1.0))
    }
}

/// Under this amplitude nothing that counts lies, seen from `edge`.
fn lowest(rice: Rice, edge: f64) -> f64 {
    let apart = edge - rice.direct;
    let reach = (apart * apart + 50.0).sqrt();
    let depth = if apart > 0.0 { apart + WIDE } else { 50.0 / (reach - apart) };
    (edge - depth).max(0.0)
}

/// How likely the second look is lost against its steady amplitude: a table.
struct Second {
    first: f64,
    step: f64,
    values: Vec<f64>,
}

impl Second {
    #[expect(clippy::cast_possible_truncation, reason = "a table of 5 to 80 entries")]
    fn new<F: Fn(f64) -> f64>(edge: &Edge<F>, deviation: f64, (least, most): (f64, f64)) -> Second {
        let first = (edge.low - REACH * deviation).max(least).max(0.0);
        let last = (edge.high + REACH * deviation).min(most).max(first + 0.1 * deviation);
        let steps = ((last - first) / (0.45 * deviation)).ceil().clamp(4.0, 80.0);
        let step = (last - first) / steps;
        // One more entry on either side for the cubic.
        let values = (-1..=steps as i32 + 1)
            .map(|index| edge.mean((first + f64::from(index) * step).abs(), deviation))
            .collect();
        Second { first, step, values }
    }

    /// By a cubic through four entries.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "held inside the table"
    )]
    fn lost(&self, steady: f64) -> f64 {
        let last = self.values.len() - 4;
        let place = ((steady - self.first) / self.step).clamp(0.0, (last + 1) as f64);
        let index = (place as usize).min(last);
        // Places of the four entries, seen from here.
        let near = place - index as f64;
        let (before, next, far) = (near + 1.0, near - 1.0, near - 2.0);
        let value = -self.values[index] * near * next * far / 6.0
            + self.values[index + 1] * before * next * far / 2.0
            - self.values[index + 2] * before * near * far / 2.0
            + self.values[index + 3] * before * near * next / 6.0;
        value.clamp(0.0, 1.0)
    }
}

/// J₀ of an angle, and 1 − J₀ without loss of digits where the angle is small.
///
/// Power series up to 3, above it Abramowitz and Stegun 9.4.3 (5e-8); from memory.
pub(super) fn correlation(turn: f64) -> (f64, f64) {
    if turn <= 3.0 {
        let q = 0.25 * turn * turn;
        let (mut term, mut parted) = (-1.0, 0.0);
        for k in 1..=16 {
            term *= -q / f64::from(k * k);
            parted += term;
        }
        return (1.0 - parted, parted);
    }
    let z = 3.0 / turn;
    let size = [
        0.797_884_56,
        -0.000_000_77,
        -0.005_527_40,
        -0.000_095_12,
        0.001_372_37,
        -0.000_728_05,
        0.000_144_76,
    ];
    let phase = [-0.041_663_97, -0.000_039_54, 0.002_625_73, -0.000_541_25, -0.000_293_33, 0.000_135_58];
    let horner = |terms: &[f64]| terms.iter().rev().fold(0.0, |sum, term| sum * z + term);
    let angle = turn - FRAC_PI_4 + z * horner(&phase);
    let rho = horner(&size) / turn.sqrt() * angle.cos();
    (rho, 1.0 - rho)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_correlation_is_bessels_function() {
        // Abramowitz and Stegun, table 9.1 (from memory; reckoned again with scipy).
        for (turn, tabled) in [
            (0.0, 1.0),
            (1.0, 0.765_197_686_6),
            (2.4, 0.002_507_683_3),
            (5.0, -0.177_596_771_3),
            (10.0, -0.245_935_764_5),
        ] {
            let (rho, parted) = correlation(turn);
            assert!((rho - tabled).abs() < 1e-7, "{turn}: {rho}");
            assert!((rho + parted - 1.0).abs() < 1e-12);
        }
        assert!((correlation(1e-6).1 / 2.5e-13 - 1.0).abs() < 1e-9);
    }
}
