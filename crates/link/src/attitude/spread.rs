//! Gain over all the attitudes of a manoeuvre.

use std::f64::consts::TAU;

use units::{Db, Degrees};

use super::ends::{Ends, LANES, World, Worlds};
use super::{GroundAntenna, Motion, Mounting};
use crate::bounds::OutOfRange;

/// How many equiprobable steps a spread has.
pub const QUANTILES: usize = 64;

/// Attitudes, each of which stands for itself and its mirror image.
const PAIRS: usize = 4096;

/// How the gain of both antennas together spreads over the attitudes of a manoeuvre.
#[derive(Clone, Debug, PartialEq)]
pub struct GainSpread {
    /// Mean of the power: what an average over milliwatts shows.
    pub expected: Db,
    /// Mean of the decibels: what an average over readings in decibels shows; never above
    /// `expected`.
    pub mean: Db,
    /// Half of the attitudes are better.
    pub median: Db,
    /// [`QUANTILES`] values, rising; each stands for an equal share of the attitudes.
    pub quantiles: Vec<Db>,
}

impl GainSpread {
    /// The gain that `percent` of the attitudes don't reach (5 for the worst twentieth);
    /// straight lines between the quantiles, the end ones outside.
    pub fn worst_percentile(&self, percent: f64) -> Db {
        let at = percent / 100.0 * step_count() - 0.5;
        let mut below = Db(f64::NEG_INFINITY);
        for (index, here) in (0u32..).map(f64::from).zip(&self.quantiles) {
            if at <= index {
                let part = at - (index - 1.0);
                return if index == 0.0 { *here } else { below + (*here - below) * part };
            }
            below = *here;
        }
        below
    }

    /// The same spread with every gain raised by so much.
    #[must_use]
    pub fn raised(&self, by: Db) -> GainSpread {
        GainSpread {
            expected: self.expected + by,
            mean: self.mean + by,
            median: self.median + by,
            quantiles: self.quantiles.iter().map(|gain| *gain + by).collect(),
        }
    }
}

/// `QUANTILES` as a number.
fn step_count() -> f64 {
    count(QUANTILES)
}

fn count(of: usize) -> f64 {
    f64::from(u32::try_from(of).unwrap_or(u32::MAX))
}

/// How the gain of both antennas together spreads over a manoeuvre: the ground antenna's
/// and the aircraft's gain less polarisation loss, shadow and feed losses, at each
/// attitude with the better of the aircraft's antennas.
///
/// Every heading is alike; bank is alike over [`Motion::bank`] to both sides and the sine
/// of pitch over [`Motion::pitch`], which makes [`Motion::AnyAttitude`] alike over all
/// rotations. Summed over 8,192 attitudes laid evenly (no random numbers), mirrored left
/// to right: a quantile stands within about 0.6 % of its share, which is about 0.5 dB at
/// the worst hundredth of a dipole and 0.1 dB in the middle. A pattern's nulls are filled
/// to [`super::NULL_DEPTH`], polarisation loss ends at [`crate::antenna::CROSS_POLAR`].
///
/// # Errors
/// [`OutOfRange`] for an elevation outside [`super::ELEVATION`] and for what
/// [`GroundAntenna::check`] and [`Mounting::check`] refuse.
pub fn gain_spread(
    ground: &GroundAntenna,
    mounting: &Mounting,
    motion: Motion,
    elevation: Degrees,
) -> Result<GainSpread, OutOfRange> {
    let mut powers = [Powers::new(ground, mounting, elevation)?];
    fly(motion, &mut powers);
    let [powers] = powers;
    Ok(powers.spread())
}

/// [`gain_spread`] at several elevations, quicker than one by one.
///
/// # Errors
/// [`OutOfRange`] as there.
pub fn gain_spreads(
    ground: &GroundAntenna,
    mounting: &Mounting,
    motion: Motion,
    elevations: &[Degrees],
) -> Result<Vec<GainSpread>, OutOfRange> {
    let at = |elevation: &Degrees| Powers::new(ground, mounting, *elevation);
    let mut powers = elevations.iter().map(at).collect::<Result<Vec<_>, _>>()?;
    fly(motion, &mut powers);
    Ok(powers.into_iter().map(Powers::spread).collect())
}

/// Puts the aircraft into every attitude of a manoeuvre.
///
/// A lattice fills the cube of bank, pitch and heading, as evenly as the best of 30 that
/// were tried. Bank and heading go in even steps, so that the sine and cosine of each
/// follow from those at the start of a block and the same few steps onward.
fn fly(motion: Motion, powers: &mut [Powers]) {
    let [heading_step, pitch_step] = [2465, 1941];
    let part = |step: usize| (count(step % PAIRS) + 0.5) / count(PAIRS);
    let most_sin_pitch = motion.pitch().radians().sin();
    let widest_bank = 2.0 * motion.bank().radians();
    let onward = |step: f64| -> [(f64, f64); LANES] {
        std::array::from_fn(|lane| (step * count(lane) / count(PAIRS)).sin_cos())
    };
    let (bank_onward, heading_onward) = (onward(widest_bank), onward(TAU * count(heading_step)));
    for start in (0..PAIRS).step_by(LANES) {
        let bank = ((part(start) - 0.5) * widest_bank).sin_cos();
        let heading = (part(start * heading_step) * TAU).sin_cos();
        let worlds = Worlds::of(|lane| {
            let sin_pitch = (2.0 * part((start + lane) * pitch_step) - 1.0) * most_sin_pitch;
            let cos_pitch = (1.0 - sin_pitch * sin_pitch).max(0.0).sqrt();
            let pitch = (sin_pitch, cos_pitch);
            World::turned(both(heading, heading_onward[lane]), pitch, both(bank, bank_onward[lane]))
        });
        let mirrored = worlds.mirrored();
        for powers in &mut *powers {
            powers.bits.extend(powers.ends.powers(&worlds).map(f64::to_bits));
            powers.bits.extend(powers.ends.powers(&mirrored).map(f64::to_bits));
        }
    }
}

/// Sine and cosine of the sum of two angles.
fn both((s0, c0): (f64, f64), (s1, c1): (f64, f64)) -> (f64, f64) {
    (s0 * c1 + c0 * s1, c0 * c1 - s0 * s1)
}

/// The powers at all attitudes, as bits.
struct Powers<'a> {
    ends: Ends<'a>,
    bits: Vec<u64>,
}

impl<'a> Powers<'a> {
    fn new(
        ground: &GroundAntenna,
        mounting: &'a Mounting,
        elevation: Degrees,
    ) -> Result<Powers<'a>, OutOfRange> {
        Ok(Powers { ends: Ends::new(ground, mounting, elevation)?, bits: Vec::with_capacity(2 * PAIRS) })
    }

    fn spread(self) -> GainSpread {
        let mut bits = self.bits;
        // The bits of positive numbers rise with them, and sort quicker.
        bits.sort_unstable();
        let powers: Vec<f64> = bits.into_iter().map(f64::from_bits).collect();

        let attitudes = count(powers.len());
        let expected = Db::of_ratio(powers.iter().sum::<f64>() / attitudes);
        // The logarithm of a product of few, whose size stays far inside a number's range.
        let few = powers.chunks(16).map(|few| Db::of_ratio(few.iter().product()));
        let mean = few.sum::<Db>() / attitudes;
        let middle = |of: &[f64]| match (of.get((of.len() - 1) / 2), of.get(of.len() / 2)) {
            (Some(low), Some(high)) => Db::of_ratio(f64::midpoint(*low, *high)),
            _ => Db(f64::NEG_INFINITY),
        };
        let quantiles = powers.chunks(powers.len() / QUANTILES).map(middle).collect();
        GainSpread { expected, mean, median: middle(&powers), quantiles }
    }
}
