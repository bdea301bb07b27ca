//! Small-scale fading and shadowing: how often, and by how much, the level falls under its mean.
//!
//! The fast fading is Rician: one direct wave and many weak scattered ones; Rayleigh where there is
//! no direct wave. Slow shadowing is normal in decibels. Both are over the mean *power*.

mod faded;
mod normal;
mod rice;

pub(crate) use faded::Window;
pub use faded::{FadedCurve, delivery};
pub use normal::{normal_cdf, normal_quantile};
pub(crate) use rice::{GAUSS_10, GAUSS_16, Rice, integrate};

use units::{Db, Degrees, Metres};

use crate::bounds::{Bound, K_FACTOR, MARGIN, OutOfRange, SHADOWING, WANTED_PROBABILITY};

/// Heights at which the aerial formulas of 3GPP TR 36.777 hold; shadowing is asked for from the ground up.
const HEIGHT: Bound = Bound {
    name: "height_m",
    unit: "m",
    low: 0.0,
    high: 20_000.0,
    why: "above the ground; the published fit ends at 300 m and is held from there on",
};

/// How waves that arrive by many ways scatter the level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scatter {
    /// No direct wave: the power is exponentially distributed.
    Rayleigh,
    /// A direct wave and scattered ones.
    Rician {
        /// The direct wave's power over that of all scattered ones together.
        k: Db,
    },
}

impl Scatter {
    /// The direct wave's power over the scattered power, as a ratio; 0 without a direct wave.
    pub(crate) fn k_ratio(self) -> f64 {
        match self {
            Scatter::Rayleigh => 0.0,
            Scatter::Rician { k } if k.0.is_nan() => 0.0,
            Scatter::Rician { k } => Db(k.0.clamp(K_FACTOR.low, K_FACTOR.high)).ratio(),
        }
    }

    pub(crate) fn check(self) -> Result<(), OutOfRange> {
        if let Scatter::Rician { k } = self {
            K_FACTOR.check(k.0)?;
        }
        Ok(())
    }
}

/// How often the level lies more than `margin` under its mean (mean power over threshold power);
/// a negative margin asks for a threshold above the mean.
///
/// Rayleigh `1 − exp(−1/F)`, Rician `1 − Q1(√(2K), √(2(K+1)/F))` with the Marcum Q function; the tail is
/// integrated as it stands, so small answers are as exact (1e-9 of themselves) as large ones.
///
/// Source: Simon and Alouini, *Digital Communication over Fading Channels* (the equations from memory).
///
/// # Errors
/// K outside −40 to 60 dB, a margin outside −100 to 200 dB.
pub fn outage(scatter: Scatter, margin: Db) -> Result<f64, OutOfRange> {
    scatter.check()?;
    MARGIN.check(margin.0)?;
    let k = scatter.k_ratio();
    let threshold = (-margin).ratio();
    Ok(if k > 0.0 { Rice::new(k).below_power(threshold) } else { -(-threshold).exp_m1() })
}

/// The margin over the threshold at which the level lies under it this often: [`outage`] backwards.
/// Negative where the outage asked for is greater than the one at the mean. Solved to 1e-6 dB.
///
/// # Errors
/// K outside −40 to 60 dB, an outage outside 1e-6 to 0.999999.
pub fn margin_for(scatter: Scatter, outage: f64) -> Result<Db, OutOfRange> {
    scatter.check()?;
    WANTED_PROBABILITY.check(outage)?;
    let k = scatter.k_ratio();
    if k <= 0.0 {
        return Ok(-Db::of_ratio(-(-outage).ln_1p()));
    }
    let rice = Rice::new(k);
    // The greatest margin is Rayleigh's at 1e-6, 60 dB; the least its −11.4 dB at 0.999999.
    let (mut low, mut high) = (-15.0_f64, 65.0_f64);
    while high - low > 1e-7 {
        let middle = 0.5 * (low + high);
        if rice.below_power(Db(-middle).ratio()) > outage {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(Db(0.5 * (low + high)))
}

/// How often shadowing alone eats the margin: normal in decibels with this standard deviation, nothing
/// over a margin of 0 dB. Without shadowing (0 dB) it is 0 or 1, and a half at no margin at all.
///
/// Common practice; 3GPP TR 36.777 states its shadowing so.
///
/// # Errors
/// A margin outside −100 to 200 dB, a deviation outside 0 to 30 dB.
pub fn shadowing_outage(margin: Db, deviation: Db) -> Result<f64, OutOfRange> {
    MARGIN.check(margin.0)?;
    SHADOWING.check(deviation.0)?;
    let deviations = margin.0 / deviation.0;
    Ok(if deviations.is_nan() { 0.5 } else { normal_cdf(-deviations) })
}

/// The K factor that the link sheet takes for an aircraft seen from the ground at this elevation:
/// 6 dB at the horizon, rising to 15 dB overhead as `15 − 9 exp(−elevation/5°)`.
///
/// The upper end is published: 15 dB for aerial links in sight (3GPP TR 36.777 v15.0, B.1.3,
/// alternative 3, seen in a transcription). The lower end and the 5° are *judgement*: near the horizon
/// the wave passes people, grass and fences, and the same report has 10 dB for aerial links out of
/// sight. Elevations under 0° count as 0°, over 90° as 90°.
pub fn k_by_elevation(elevation: Degrees) -> Db {
    const OVERHEAD_DB: f64 = 15.0;
    const HORIZON_DB: f64 = 6.0;
    const SCALE_DEG: f64 = 5.0;
    let elevation = if elevation.0.is_nan() { 0.0 } else { elevation.0.clamp(0.0, 90.0) };
    Db(OVERHEAD_DB - (OVERHEAD_DB - HORIZON_DB) * (-elevation / SCALE_DEG).exp())
}

/// Standard deviation of shadowing for an aircraft in sight at this height over open country:
/// `4.2 exp(−0.0046 h)` dB, held at its ends under 0 m and above 300 m.
///
/// Source: 3GPP TR 36.777 v15.0 table B-3, rural in sight (seen in a transcription); published for
/// heights of 10 to 300 m.
pub fn shadowing_by_height(height: Metres) -> Db {
    let height = if height.0.is_nan() { 0.0 } else { height.0.clamp(HEIGHT.low, 300.0) };
    Db(4.2 * (-0.0046 * height).exp())
}
