//! One sharp edge across the path.

use std::f64::consts::PI;

use units::{Db, Metres, Mhz};

use crate::bounds::{Bound, DISTANCE, OutOfRange};
use crate::ground::complex::Complex;

/// The edge's height in the units of the theory.
pub(crate) const NU: Bound = Bound {
    name: "nu",
    unit: "",
    low: -1000.0,
    high: 1_000_000.0,
    why: "far under the line of sight to far above it",
};

/// How far an edge stands above the line of sight.
pub(crate) const EDGE: Bound = Bound {
    name: "height_m",
    unit: "m",
    low: -20_000.0,
    high: 20_000.0,
    why: "above the line of sight, negative below it",
};

/// Loss over a knife edge, from the Fresnel integrals C and S of `nu`:
/// -20 log( sqrt((1 - C - S)^2 + (C - S)^2) / 2 ).
///
/// Source: Rec. ITU-R P.526-16 section 4.1. Under -0.78 it swings about 0 dB.
///
/// # Errors
/// [`OutOfRange`] for a `nu` outside -1000 to 1 000 000.
pub fn knife_edge_exact(nu: f64) -> Result<Db, OutOfRange> {
    NU.check(nu)?;
    Ok(Db(-20.0 * (behind(nu) / 2.0).log10()))
}

/// The usual approximation of [`knife_edge_exact`]: 0 up to -0.78, else
/// 6.9 + 20 log( sqrt((nu - 0.1)^2 + 1) + nu - 0.1 ).
///
/// Source: Rec. ITU-R P.526-16 section 4.1; within 0.13 dB of the exact curve for nu >= -0.7.
///
/// # Errors
/// [`OutOfRange`] for a `nu` outside -1000 to 1 000 000.
pub fn knife_edge(nu: f64) -> Result<Db, OutOfRange> {
    NU.check(nu)?;
    Ok(Db(approximate(nu)))
}

/// The same without a check.
pub(super) fn approximate(nu: f64) -> f64 {
    if nu > -0.78 {
        let x = nu - 0.1;
        6.9 + 20.0 * ((x * x + 1.0).sqrt() + x).log10()
    } else {
        0.0
    }
}

/// An edge's height in the units of the theory, h sqrt( (2 / lambda) (1/d1 + 1/d2) ).
///
/// `height` is the edge's height above the line of sight (negative below it), `d1` and `d2`
/// are its distances from both ends.
///
/// # Errors
/// [`OutOfRange`] for a frequency, height or distance outside its range.
pub fn knife_edge_nu(frequency: Mhz, height: Metres, d1: Metres, d2: Metres) -> Result<f64, OutOfRange> {
    super::FREQUENCY.check(frequency.0)?;
    EDGE.check(height.0)?;
    DISTANCE.check_as("distance1_m", d1.0)?;
    DISTANCE.check_as("distance2_m", d2.0)?;
    Ok(height.0 * (2.0 / frequency.wavelength().0 * (1.0 / d1.0 + 1.0 / d2.0)).sqrt())
}

/// sqrt((1 - C - S)^2 + (C - S)^2) at `nu`.
fn behind(nu: f64) -> f64 {
    // With F = C + jS and F(inf) = (1 + j)/2 this is sqrt(2) |F(inf) - F(nu)|.
    let far = Complex::new(0.5, 0.5);
    let rest = if nu.abs() < 1.6 {
        far - series(nu)
    } else if nu > 0.0 {
        far * tail(nu)
    } else {
        // F is odd: F(inf) - F(nu) = 2 F(inf) - (F(inf) - F(|nu|)).
        far * 2.0 - far * tail(-nu)
    };
    std::f64::consts::SQRT_2 * rest.abs()
}

/// C + jS = integral of exp(j pi t^2 / 2) from 0 to `x`, by its power series.
fn series(x: f64) -> Complex {
    let step = Complex::new(0.0, PI / 2.0 * x * x);
    let mut power = Complex::new(x, 0.0);
    let mut sum = power;
    for n in 1..60 {
        let n = f64::from(n);
        power = power * step * (1.0 / n);
        sum = sum + power * (1.0 / (2.0 * n + 1.0));
        if power.abs() < 1e-17 {
            break;
        }
    }
    sum
}

/// The rest of the integral from `x` to infinity over that from 0 to infinity, which is
/// erfc(z) with z = x sqrt(pi) (1 - j) / 2, by erfc's continued fraction
/// exp(-z^2) / sqrt(pi) (1/(z + (1/2)/(z + 1/(z + (3/2)/(z + ...))))); from memory,
/// Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.14 and 7.3.22.
fn tail(x: f64) -> Complex {
    let z = Complex::new(0.5, -0.5) * (x * PI.sqrt());
    let mut fraction = z;
    for n in (1..120).rev() {
        fraction = z + Complex::new(f64::from(n) / 2.0, 0.0) / fraction;
    }
    Complex::at(PI / 2.0 * x * x) / fraction * (1.0 / PI.sqrt())
}
