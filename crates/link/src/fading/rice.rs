//! The Rice distribution, in the amplitude `r` whose scattered part has variance 1 along each axis.

use std::f64::consts::PI;

/// Gauss and Legendre's 10 points on −1 to 1: the positive half of the points with their weights.
pub(crate) const GAUSS_10: &[(f64, f64)] = &[
    (0.148_874_338_981_631, 0.295_524_224_714_753),
    (0.433_395_394_129_247, 0.269_266_719_309_996),
    (0.679_409_568_299_024, 0.219_086_362_515_982),
    (0.865_063_366_688_985, 0.149_451_349_150_581),
    (0.973_906_528_517_172, 0.066_671_344_308_689),
];

/// The same, 16 points.
pub(crate) const GAUSS_16: &[(f64, f64)] = &[
    (0.095_012_509_837_637_4, 0.189_450_610_455_068_5),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_6),
    (0.617_876_244_402_643_8, 0.149_595_988_816_576_8),
    (0.755_404_408_355_003, 0.124_628_971_255_533_9),
    (0.865_631_202_387_831_8, 0.095_158_511_682_492_9),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_8),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_1),
];

/// The same, 24 points.
pub(crate) const GAUSS_24: &[(f64, f64)] = &[
    (0.064_056_892_862_605_6, 0.127_938_195_346_752_2),
    (0.191_118_867_473_616_3, 0.125_837_456_346_828_4),
    (0.315_042_679_696_163_4, 0.121_670_472_927_803_3),
    (0.433_793_507_626_045_1, 0.115_505_668_053_725_5),
    (0.545_421_471_388_839_6, 0.107_444_270_115_965_6),
    (0.648_093_651_936_975_5, 0.097_618_652_104_113_9),
    (0.740_124_191_578_554_4, 0.086_190_161_531_953_2),
    (0.820_001_985_973_903, 0.073_346_481_411_080_3),
    (0.886_415_527_004_401_1, 0.059_298_584_915_436_7),
    (0.938_274_552_002_732_8, 0.044_277_438_817_419_7),
    (0.974_728_555_971_309_5, 0.028_531_388_628_933_8),
    (0.995_187_219_997_021_3, 0.012_341_229_799_987_3),
];

/// The integral of `f` between two bounds by Gauss and Legendre's points.
pub(crate) fn integrate(points: &[(f64, f64)], from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    half * points
        .iter()
        .map(|(x, weight)| weight * (f(middle - half * x) + f(middle + half * x)))
        .sum::<f64>()
}

/// How deep below its peak a Gaussian tail is followed: `exp(−40)`.
const TAIL_SQUARED: f64 = 80.0;

/// A Rice distribution: direct amplitude `direct` and scattered parts of variance 1 along each axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rice {
    /// √(2K).
    pub direct: f64,
}

impl Rice {
    /// The one with this K, as a ratio.
    pub fn new(k: f64) -> Rice {
        Rice { direct: (2.0 * k).sqrt() }
    }

    /// The mean power, `r²` on average.
    pub fn mean_power(self) -> f64 {
        self.direct * self.direct + 2.0
    }

    /// The density at an amplitude.
    pub fn density(self, r: f64) -> f64 {
        let apart = r - self.direct;
        r * (-0.5 * apart * apart).exp() * bessel_i0_scaled(self.direct * r)
    }

    /// How often the power lies under this share of its mean.
    pub fn below_power(self, share: f64) -> f64 {
        self.below((self.mean_power() * share).sqrt())
    }

    /// How often the amplitude lies under `r`; every part of the integrand is positive, so that the
    /// answer is exact in itself, however small.
    pub fn below(self, r: f64) -> f64 {
        self.below_with(GAUSS_24, r)
    }

    /// The same with a chosen set of points.
    pub fn below_with(self, points: &[(f64, f64)], r: f64) -> f64 {
        if r <= 0.0 {
            return 0.0;
        }
        let apart = r - self.direct;
        let reach = (apart * apart + TAIL_SQUARED).sqrt();
        if apart < 0.5 {
            // This far below r, exp(−(a−r)²/2) is exp(−40) of what it is at r, or at its peak under r.
            let depth = if apart > 0.0 { reach + apart } else { TAIL_SQUARED / (reach - apart) };
            let low = (r - depth).max(0.0);
            integrate(points, low, r, |r| self.density(r)).min(1.0)
        } else {
            let high = r + TAIL_SQUARED / (reach + apart);
            (1.0 - integrate(points, r, high, |r| self.density(r))).max(0.0)
        }
    }
}

/// `exp(−x) I₀(x)` for x ≥ 0, to 1e-10 of itself.
///
/// Abramowitz and Stegun 9.6.12 (power series) under 16, 9.7.1 (asymptotic) above; both from memory.
pub(crate) fn bessel_i0_scaled(x: f64) -> f64 {
    if x < 16.0 {
        let q = 0.25 * x * x;
        let enough = if x < 5.0 { &SERIES[..16] } else { &SERIES[..] };
        (-x).exp() * enough.iter().rev().fold(0.0, |sum, term| sum * q + term)
    } else {
        let q = 1.0 / x;
        ASYMPTOTIC.iter().rev().fold(0.0, |sum, term| sum * q + term) / (2.0 * PI * x).sqrt()
    }
}

/// `1/(k!)²`.
const SERIES: [f64; 34] = {
    let mut terms = [1.0; 34];
    let (mut k, mut count) = (1, 1.0);
    while k < terms.len() {
        terms[k] = terms[k - 1] / (count * count);
        k += 1;
        count += 1.0;
    }
    terms
};

/// `((2k−1)!!)² / (k! 8^k)`.
const ASYMPTOTIC: [f64; 14] = {
    let mut terms = [1.0; 14];
    let (mut k, mut count) = (1, 1.0);
    while k < terms.len() {
        let odd = 2.0 * count - 1.0;
        terms[k] = terms[k - 1] * odd * odd / (8.0 * count);
        k += 1;
        count += 1.0;
    }
    terms
};
