//! Published figures for aircraft seen from a mast over open country: path loss, shadowing, line of
//! sight, K factor.
//!
//! All from 3GPP TR 36.777 v15.0 (*Enhanced LTE support for aerial vehicles*), annex B, rural macro
//! with aerial terminals; seen in a transcription of its tables. A base station 35 m high stands in for
//! the flier there, so these figures are a comparison, not the link sheet's own model.

use units::{Db, Metres, Mhz};

use crate::bounds::{Bound, OutOfRange};

pub(crate) const FREQUENCY: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 500.0,
    high: 6000.0,
    why: "the channel model that 3GPP TR 36.777 extends starts at 0.5 GHz",
};
pub(crate) const DISTANCE: Bound =
    Bound { name: "distance_m", unit: "m", low: 10.0, high: 10_000.0, why: "3GPP TR 36.777 table B-2" };
pub(crate) const HEIGHT: Bound =
    Bound { name: "height_m", unit: "m", low: 10.0, high: 300.0, why: "3GPP TR 36.777 annex B" };

/// Path loss over open country.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RuralLoss {
    /// In line of sight.
    pub sight: Db,
    /// Out of sight; never less than in sight.
    pub no_sight: Db,
}

/// Path loss to an aircraft over open country, 3GPP TR 36.777 v15.0 table B-2, RMa-AV, with the height
/// of the aircraft `h`, the slant distance `d` (both m) and `f` in GHz:
///
/// in sight `max(23.9 − 1.8 log h, 20) log d + 20 log(40π f / 3)`,
/// out of sight `max(in sight, −12 + (35 − 5.3 log h) log d + 20 log(40π f / 3))`.
///
/// # Errors
/// Outside 500 to 6000 MHz, heights of 10 to 300 m, distances of 10 m to 10 km.
pub fn rural_loss(frequency: Mhz, height: Metres, distance: Metres) -> Result<RuralLoss, OutOfRange> {
    let ghz = FREQUENCY.check(frequency.0)? / 1e3;
    let h = HEIGHT.check(height.0)?.log10();
    let d = DISTANCE.check(distance.0)?.log10();
    let at_one_metre = 20.0 * (40.0 * std::f64::consts::PI * ghz / 3.0).log10();
    let sight = (23.9 - 1.8 * h).max(20.0) * d + at_one_metre;
    let no_sight = -12.0 + (35.0 - 5.3 * h) * d + at_one_metre;
    Ok(RuralLoss { sight: Db(sight), no_sight: Db(no_sight.max(sight)) })
}

/// How likely an aircraft at this height is in line of sight at this distance along the ground:
/// 3GPP TR 36.777 v15.0 table B-1, RMa-AV for 10 to 40 m; 1 above 40 m.
///
/// # Errors
/// Outside heights of 10 to 300 m, distances of 10 m to 10 km.
pub fn rural_sight(height: Metres, ground_distance: Metres) -> Result<f64, OutOfRange> {
    let h = HEIGHT.check(height.0)?;
    let d = DISTANCE.check(ground_distance.0)?;
    let sure = (1350.8 * h.log10() - 1602.0).max(18.0);
    if h > 40.0 || d <= sure {
        return Ok(1.0);
    }
    let fall = (15_021.0 * h.log10() - 16_053.0).max(1000.0);
    Ok(sure / d + (-d / fall).exp() * (1.0 - sure / d))
}

/// Standard deviation of shadowing in line of sight: `4.2 exp(−0.0046 h)` dB, 3GPP TR 36.777 v15.0
/// table B-3, RMa-AV.
///
/// # Errors
/// Outside heights of 10 to 300 m.
pub fn rural_shadowing(height: Metres) -> Result<Db, OutOfRange> {
    Ok(Db(4.2 * (-0.0046 * HEIGHT.check(height.0)?).exp()))
}

/// A K factor that varies from place to place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpreadK {
    /// Its mean.
    pub mean: Db,
    /// Its standard deviation; none where none is carried over here.
    pub deviation: Option<Db>,
}

/// The K factor over open country in sight: mean `22.55 log h − 4.72` dB, standard deviation
/// `6.988 exp(0.01659 h)` dB, which is very wide. 3GPP TR 36.777 v15.0 B.1.2, RMa-AV.
///
/// # Errors
/// Outside heights of 10 to 300 m.
pub fn rural_k(height: Metres) -> Result<SpreadK, OutOfRange> {
    let h = HEIGHT.check(height.0)?;
    let mean = Db(22.55 * h.log10() - 4.72);
    Ok(SpreadK { mean, deviation: Some(Db(6.988 * (0.016_59 * h).exp())) })
}

/// The K factor over towns in sight: mean `4.217 log h + 5.787` dB. 3GPP TR 36.777 v15.0 B.1.2, UMa-AV.
///
/// # Errors
/// Outside heights of 10 to 300 m.
pub fn urban_k(height: Metres) -> Result<SpreadK, OutOfRange> {
    let mean = Db(4.217 * HEIGHT.check(height.0)?.log10() + 5.787);
    Ok(SpreadK { mean, deviation: None })
}
