//! Loss in free space: nothing but distance.

use std::f64::consts::PI;

use units::{Db, Metres, Mhz};

use crate::bounds::{Bound, DISTANCE, FREQUENCY, OutOfRange};

/// The losses that [`free_space_distance`] turns back into a distance.
const LOSS: Bound = Bound {
    name: "loss_db",
    unit: "dB",
    low: 0.0,
    high: 250.0,
    why: "from antennas a wave apart to far beyond any horizon",
};

/// Loss between two isotropic antennas in free space, 20 log(4 pi d / lambda).
///
/// Source: Rec. ITU-R P.525-4 (2019), in the exact form; the rounded 32.4 + 20 log f + 20 log d
/// reads 0.048 dB low. Holds beyond a wavelength or so; nearer than lambda / (4 pi), where the
/// formula would give a gain, the loss is taken as zero.
///
/// # Errors
/// [`OutOfRange`] for a frequency outside [`FREQUENCY`] or a distance outside [`DISTANCE`].
///
/// ```
/// use link::free_space::free_space_loss;
/// use units::{Metres, Mhz};
/// let loss = free_space_loss(Mhz(2450.0), Metres(1000.0)).unwrap();
/// assert!((loss.0 - 100.2311).abs() < 1e-3);
/// assert!(free_space_loss(Mhz(2450.0), Metres(-1.0)).is_err());
/// ```
pub fn free_space_loss(frequency: Mhz, distance: Metres) -> Result<Db, OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    DISTANCE.check(distance.0)?;
    Ok(loss(frequency, distance))
}

/// The same without a check of the ranges.
pub(crate) fn loss(frequency: Mhz, distance: Metres) -> Db {
    Db(20.0 * (4.0 * PI * distance.0 / frequency.wavelength().0).log10()).max(Db::ZERO)
}

/// The distance at which free space loses this much: [`free_space_loss`] the other way round.
///
/// # Errors
/// [`OutOfRange`] for a frequency outside [`FREQUENCY`], a loss outside 0 to 250 dB.
pub fn free_space_distance(frequency: Mhz, loss: Db) -> Result<Metres, OutOfRange> {
    FREQUENCY.check(frequency.0)?;
    LOSS.check(loss.0)?;
    Ok(frequency.wavelength() * (10f64.powf(loss.0 / 20.0) / (4.0 * PI)))
}

/// How many times nearer the receiver must come when the power is cut by `reduction` and the
/// level there shall stay the same, where power falls with distance to the power of `exponent`:
/// 10^(reduction / (10 exponent)).
///
/// The exponent is 2 in free space and 4 over plane earth beyond the crossover, so 30 dB less
/// power is 31.6 times less distance in the one and 5.6 times in the other. Derived from Rec.
/// ITU-R P.525-4 and the two-ray model, no further source. Holds only while the law of distance
/// stays the same all the way and nothing stands in it.
///
/// # Errors
/// [`OutOfRange`] for a reduction outside 0 to 60 dB or an exponent outside 1 to 6.
pub fn distance_factor(reduction: Db, exponent: f64) -> Result<f64, OutOfRange> {
    REDUCTION.check(reduction.0)?;
    EXPONENT.check(exponent)?;
    Ok(10f64.powf(reduction.0 / (10.0 * exponent)))
}

/// By how much a range check cuts the power.
pub const REDUCTION: Bound =
    Bound { name: "power_reduction_db", unit: "dB", low: 0.0, high: 60.0, why: "less power, not more" };

/// The power of distance with which received power falls.
pub const EXPONENT: Bound =
    Bound { name: "exponent", unit: "", low: 1.0, high: 6.0, why: "2 in free space, 4 over plane earth" };
