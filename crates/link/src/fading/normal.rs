//! The normal distribution.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// How often a standard normal quantity lies under `x`; to 1e-14, also relative in the lower tail.
///
/// Series and continued fraction of the error function: Abramowitz and Stegun, *Handbook of Mathematical
/// Functions*, 7.1.6 and 7.1.14 (from memory). NaN gives NaN.
pub fn normal_cdf(x: f64) -> f64 {
    if x < 0.0 { 0.5 * erfc(-x * FRAC_1_SQRT_2) } else { 1.0 - 0.5 * erfc(x * FRAC_1_SQRT_2) }
}

/// The value under which a standard normal quantity lies this often; −∞ at 0 and below, +∞ at 1 and above.
///
/// Abramowitz and Stegun 26.2.23 (from memory) starts it, Halley's steps on [`normal_cdf`] finish it to
/// 1e-13. NaN gives NaN.
pub fn normal_quantile(p: f64) -> f64 {
    if p.is_nan() {
        return f64::NAN;
    }
    if p <= 0.0 {
        return f64::NEG_INFINITY;
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    if p > 0.5 {
        return -lower_quantile(1.0 - p);
    }
    lower_quantile(p)
}

/// For 0 < p ≤ ½.
fn lower_quantile(p: f64) -> f64 {
    let t = (-2.0 * p.ln()).sqrt();
    let top = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let bottom = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    let mut x = top / bottom - t;
    for _ in 0..3 {
        let density = (-0.5 * x * x).exp() / (2.0 * PI).sqrt();
        if density <= 0.0 {
            break;
        }
        let step = (normal_cdf(x) - p) / density;
        x -= step / (1.0 + 0.5 * x * step);
    }
    x
}

/// The complementary error function for z ≥ 0.
fn erfc(z: f64) -> f64 {
    if z.is_nan() {
        return f64::NAN;
    }
    if z > 27.5 {
        return 0.0;
    }
    if z < 2.0 {
        let mut term = z;
        let mut sum = z;
        let mut n = 0.0;
        while term > sum * 1e-17 {
            n += 1.0;
            term *= 2.0 * z * z / (2.0 * n + 1.0);
            sum += term;
        }
        return 1.0 - 2.0 / PI.sqrt() * (-z * z).exp() * sum;
    }
    // 1/(z + (1/2)/(z + 1/(z + (3/2)/(z + …)))), from the back; 60 steps are enough from z = 2 on.
    let mut fraction = z;
    for n in (1..=60).rev() {
        fraction = z + 0.5 * f64::from(n) / fraction;
    }
    (-z * z).exp() / (PI.sqrt() * fraction)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::SQRT_2;

    use super::*;

    #[test]
    fn the_two_ways_meet() {
        let (below, above) = (erfc(2.0 - 1e-9), erfc(2.0));
        let slope = 2.0 / PI.sqrt() * (-4.0_f64).exp() * 1e-9;
        assert!(((below - above) / slope - 1.0).abs() < 1e-4, "{below} {above}");
        assert!((normal_cdf(SQRT_2 * 2.0) + 0.5 * above - 1.0).abs() < 1e-15);
    }
}
