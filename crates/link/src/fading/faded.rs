//! Packets delivered under fast fading: the packet curve averaged over the level's swing.

use std::f64::consts::LN_10;

use units::Db;

use super::Scatter;
use super::rice::{GAUSS_24, Rice, integrate};
use crate::bounds::OutOfRange;
use crate::error_rate::PacketCurve;

/// Beyond these levels over the sensitivity nothing of a packet curve is looked for.
const FARTHEST_DB: f64 = 60.0;
/// What is left out of a packet curve or of the fading at either end.
const NEGLIGIBLE: f64 = 1e-7;

/// The levels over sensitivity between which the packet curve falls from all lost to none lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Window {
    /// Under it every packet is lost.
    pub low: f64,
    /// Above it none is.
    pub high: f64,
}

impl Window {
    /// The one of a falling curve of loss against decibels.
    pub fn of(loss: &impl Fn(f64) -> f64) -> Window {
        let low = last_above(loss, 1.0 - NEGLIGIBLE);
        Window { low, high: last_above(loss, NEGLIGIBLE).max(low + 1e-3) }
    }
}

/// The greatest level at which a falling curve still lies above `value`, within a thousandth.
fn last_above(curve: &impl Fn(f64) -> f64, value: f64) -> f64 {
    let (mut low, mut high) = (-FARTHEST_DB, FARTHEST_DB);
    while high - low > 1e-3 {
        let middle = 0.5 * (low + high);
        if curve(middle) > value { low = middle } else { high = middle }
    }
    low
}

/// The mean share of packets delivered when the level fades around its mean.
///
/// `mean_over_sensitivity` is the mean *power* over the level at which one packet in a hundred is lost.
/// For many levels of one curve, [`FadedCurve`] answers much faster.
///
/// A K outside −40 to 60 dB counts as the nearest of these.
pub fn delivery(curve: &PacketCurve, scatter: Scatter, mean_over_sensitivity: Db) -> f64 {
    1.0 - mean_loss(&|level| curve.loss(Db(level)), scatter, mean_over_sensitivity.0)
}

pub(crate) fn mean_loss(loss: &impl Fn(f64) -> f64, scatter: Scatter, mean: f64) -> f64 {
    let rice = Rice::new(scatter.k_ratio());
    let window = Window::of(loss);
    let amplitude = |level: f64| (rice.mean_power() * Db(level - mean).ratio()).sqrt();
    // Where the fading is narrower than the curve, only its own width counts.
    let (least, most) = ((rice.direct - 8.0).max(0.0), rice.direct + 8.0);
    let from = amplitude(window.low).clamp(least, most);
    let to = amplitude(window.high).clamp(least, most);
    let level = |r: f64| mean + Db::of_ratio(r * r / rice.mean_power()).0;
    let middle = 0.5 * (from + to);
    let part = |from, to| integrate(GAUSS_24, from, to, |r| rice.density(r) * loss(level(r)));
    (rice.below(from) + part(from, middle) + part(middle, to)).clamp(0.0, 1.0)
}

/// A packet curve averaged over one fading once, to be asked at many mean levels.
///
/// Right to 1e-3 of the share delivered, for K up to 40 dB; above, the fading counts as at 40 dB (its
/// spread is then a hundredth of that of any packet curve).
#[derive(Clone, Debug, PartialEq)]
pub struct FadedCurve {
    /// Mean level over sensitivity at the first entry, dB.
    first: f64,
    /// From one entry to the next, dB.
    step: f64,
    /// Mean share of packets lost, falling.
    loss: Vec<f64>,
}

impl FadedCurve {
    /// Averages a packet curve over a fading; tens of microseconds.
    ///
    /// # Errors
    /// K outside −40 to 60 dB.
    pub fn new(curve: &PacketCurve, scatter: Scatter) -> Result<FadedCurve, OutOfRange> {
        scatter.check()?;
        Ok(FadedCurve::of(&|level| curve.loss(Db(level)), scatter))
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        clippy::cast_possible_wrap,
        reason = "grid numbers: a few thousand at most"
    )]
    pub(crate) fn of(loss: &impl Fn(f64) -> f64, scatter: Scatter) -> FadedCurve {
        let rice = Rice::new(scatter.k_ratio().min(1e4));
        let a = rice.direct;
        // One standard deviation of the level is about 8.69/a dB; sums over a grid a third of it are exact.
        let step = 0.25_f64.min(2.9 / a.max(1.0));
        let fade_of = |r: f64| Db::of_ratio(r * r / rice.mean_power()).0;
        // Here about 1e-7 of the fading lies lower and 1e-8 higher.
        let deepest = (a - 5.5).max((2.0 * NEGLIGIBLE).sqrt() * (0.25 * (a * a).min(12.0)).exp());
        let first_fade = (fade_of(deepest) / step).floor() as i64;
        let last_fade = (fade_of(a + 6.0) / step).ceil() as i64;
        let mut fading: Vec<f64> = (first_fade..=last_fade)
            .map(|index| {
                let r = (rice.mean_power() * Db(index as f64 * step).ratio()).sqrt();
                rice.density(r) * r * (LN_10 / 20.0) * step
            })
            .collect();
        // What lies deeper joins the deepest; then all of it is one.
        let edge = (rice.mean_power() * Db((first_fade as f64 - 0.5) * step).ratio()).sqrt();
        fading[0] += rice.below(edge);
        let all: f64 = fading.iter().sum();
        // deeper[i]: how often the fading lies under entry i.
        let mut deeper = Vec::with_capacity(fading.len() + 1);
        deeper.push(0.0);
        for share in &mut fading {
            *share /= all;
            deeper.push(deeper[deeper.len() - 1] + *share);
        }

        let window = Window::of(loss);
        let (low, high) = ((window.low / step).floor() as i64, (window.high / step).ceil() as i64);
        let curve: Vec<f64> = (low..=high).map(|index| loss(index as f64 * step)).collect();
        let first = low - last_fade - 1;
        let last = high - first_fade + 1;
        let count = fading.len() as i64;
        let mean_loss = |mean: i64| {
            // Entry i of the fading reaches the level mean + first_fade + i: under `low` all is lost.
            let start = (low - mean - first_fade).clamp(0, count);
            let end = (high + 1 - mean - first_fade).clamp(start, count);
            let offset = (mean + first_fade + start - low).max(0) as usize;
            let partly: f64 = fading[start as usize..end as usize]
                .iter()
                .zip(&curve[offset.min(curve.len())..])
                .map(|(share, loss)| share * loss)
                .sum();
            deeper[start as usize] + partly
        };
        let mut loss: Vec<f64> = (first..=last).map(|mean| mean_loss(mean).clamp(0.0, 1.0)).collect();
        // Rounding must not make it rise by an ulp.
        for index in 1..loss.len() {
            loss[index] = loss[index].min(loss[index - 1]);
        }
        FadedCurve { first: first as f64 * step, step, loss }
    }

    /// The mean share of packets delivered at this mean level over sensitivity; rises with it.
    pub fn delivery(&self, mean: Db) -> f64 {
        1.0 - self.loss_at(mean.0)
    }

    /// The least mean level over sensitivity at which this share of packets is delivered; the ends of
    /// the table where the share is out of reach on either side (about −20 dB, and the level at which
    /// one packet in ten million is lost).
    pub fn needed(&self, delivery: f64) -> Db {
        let lost = 1.0 - delivery;
        let at_least = self.loss.partition_point(|loss| *loss > lost);
        if at_least == 0 {
            return Db(self.first);
        }
        if at_least >= self.loss.len() {
            return Db(self.level(self.loss.len() - 1));
        }
        let (mut low, mut high) = (self.level(at_least - 1), self.level(at_least));
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if self.loss_at(middle) > lost { low = middle } else { high = middle }
        }
        Db(high)
    }

    #[expect(clippy::cast_precision_loss, reason = "a few thousand at most")]
    fn level(&self, index: usize) -> f64 {
        self.first + index as f64 * self.step
    }

    /// Between two entries a cubic that doesn't swing over (Fritsch and Butland, *A method for
    /// constructing local monotone piecewise cubic interpolants*, 1984; from memory).
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "held inside the table just before"
    )]
    fn loss_at(&self, mean: f64) -> f64 {
        let place = (mean - self.first) / self.step;
        let last = self.loss.len() - 1;
        if place.is_nan() || place <= 0.0 {
            return self.loss[0];
        }
        if place >= last as f64 {
            return self.loss[last];
        }
        let index = (place as usize).min(last - 1);
        let t = place - index as f64;
        let (here, next) = (self.loss[index], self.loss[index + 1]);
        let rise = next - here;
        let before = if index > 0 { here - self.loss[index - 1] } else { 0.0 };
        let after = if index + 2 <= last { self.loss[index + 2] - next } else { 0.0 };
        let slope = |one: f64, other: f64| {
            if one * other > 0.0 { 2.0 * one * other / (one + other) } else { 0.0 }
        };
        let (out, into) = (slope(before, rise), slope(rise, after));
        let (t2, t3) = (t * t, t * t * t);
        let value = here * (1.0 - 3.0 * t2 + 2.0 * t3)
            + next * (3.0 * t2 - 2.0 * t3)
            + out * (t - 2.0 * t2 + t3)
            + into * (t3 - t2);
        value.clamp(next, here)
    }
}
