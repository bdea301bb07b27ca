//! Gain over all the attitudes of a manoeuvre.

use std::f64::consts::TAU;

use units::{Db, Degrees};

use super::ends::Ends;
use super::{GroundAntenna, Motion, Mounting};
use crate::bounds::OutOfRange;

/// How many equiprobable steps a spread has.
pub const QUANTILES: usize = 64;

/// Attitudes in one step.
const PER_QUANTILE: usize = 64;

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
/// rotations. Summed over 4,096 attitudes laid evenly (no random numbers), mirrored left
/// to right. A pattern's nulls are filled to [`super::NULL_DEPTH`], polarisation loss ends
/// at [`crate::antenna::CROSS_POLAR`].
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
    let ends = Ends::new(ground, mounting, elevation)?;
    let most_sin_pitch = motion.pitch().radians().sin();
    let most_bank = motion.bank().radians();

    let attitudes = QUANTILES * PER_QUANTILE;
    let mut powers = Vec::with_capacity(attitudes);
    // An even filling of the cube: steps by the powers of the root of x⁴ = x + 1, of which
    // no whole multiples ever meet.
    let mut at = [0.5f64; 3];
    for _ in 0..attitudes / 2 {
        for (part, step) in
            at.iter_mut().zip([0.819_172_513_396_164_4, 0.671_043_606_703_789, 0.549_700_477_901_970_3])
        {
            *part = (*part + step).fract();
        }
        let heading = (TAU * at[0]).sin_cos();
        let sin_pitch = (2.0 * at[1] - 1.0) * most_sin_pitch;
        let bank = ((2.0 * at[2] - 1.0) * most_bank).sin_cos();
        let seen = ends.seen(heading, (sin_pitch, (1.0 - sin_pitch * sin_pitch).max(0.0).sqrt()), bank);
        powers.push(ends.power(&seen));
        powers.push(ends.power(&seen.mirrored()));
    }
    powers.sort_unstable_by(f64::total_cmp);

    let expected = Db::of_ratio(powers.iter().sum::<f64>() / count(attitudes));
    let mean = powers.iter().map(|power| Db::of_ratio(*power)).sum::<Db>() / count(attitudes);
    let middle = |of: &[f64]| match (of.get((of.len() - 1) / 2), of.get(of.len() / 2)) {
        (Some(low), Some(high)) => Db::of_ratio(f64::midpoint(*low, *high)),
        _ => Db(f64::NEG_INFINITY),
    };
    let quantiles = powers.chunks(PER_QUANTILE).map(middle).collect();
    Ok(GainSpread { expected, mean, median: middle(&powers), quantiles })
}
