//! Sine and cosine integral.

use crate::ground::complex::Complex;

/// Euler's constant (NIST DLMF 5.2.3).
pub(super) const EULER: f64 = 0.577_215_664_901_532_9;

/// Up to here by the power series, beyond by the continued fraction.
const SERIES_TO: f64 = 3.0;

/// The sine integral, from 0 to `x` of sin(t)/t; odd. Good to 1e-12.
///
/// NIST DLMF 6.6.5 (series), 6.9.1 (continued fraction of the exponential integral, at an imaginary
/// argument: 6.5.7), all from memory.
pub fn sine_integral(x: f64) -> f64 {
    if x.abs() <= SERIES_TO { series(x).0 } else { (exponential(x.abs()).im + QUARTER_TURN).copysign(x) }
}

/// The cosine integral of `x` above 0: Euler's constant + ln x + from 0 to `x` of (cos(t) - 1)/t; even
/// here, and minus infinity at 0. Good to 1e-12. Sources as [`sine_integral`] (series: 6.6.6).
pub fn cosine_integral(x: f64) -> f64 {
    let x = x.abs();
    if x <= SERIES_TO { EULER + x.ln() + series(x).1 } else { -exponential(x).re }
}

const QUARTER_TURN: f64 = std::f64::consts::FRAC_PI_2;

/// The odd and the even part of the series: x - x³/(3·3!) + …, and -x²/(2·2!) + x⁴/(4·4!) - …
fn series(x: f64) -> (f64, f64) {
    let (mut odd, mut even) = (0.0, 0.0);
    // xⁿ/n!, with the sign of its turn.
    let mut term = 1.0;
    for n in 1..=40_u32 {
        let size = f64::from(n);
        term *= x / size;
        if n % 2 == 1 {
            odd += term / size;
        } else {
            term = -term;
            even += term / size;
        }
    }
    (odd, even)
}

/// E₁(jx) for x well above 0: e^(-jx)/(1 + jx - 1/(3 + jx - 4/(5 + jx - …))), by Lentz's method.
fn exponential(x: f64) -> Complex {
    let one = Complex::new(1.0, 0.0);
    let mut below = Complex::new(1.0, x);
    let mut upper = Complex::new(1e300, 0.0);
    let mut lower = one / below;
    let mut value = lower;
    for n in 1..=400_u32 {
        let n = f64::from(n);
        let share = Complex::new(-n * n, 0.0);
        below = below + Complex::new(2.0, 0.0);
        lower = one / (below + share * lower);
        upper = below + share / upper;
        let change = upper * lower;
        value = value * change;
        if (change - one).abs() < 1e-16 {
            break;
        }
    }
    value * Complex::at(-x)
}
