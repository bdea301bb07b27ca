//! Frequencies, lengths, angles and times.

use std::fmt;
use std::ops::{Add, Div, Mul, Sub};

/// The speed of light in vacuum, metres a second (exact; SI definition of the metre).
pub const LIGHT_M_PER_S: f64 = 299_792_458.0;

/// A frequency, megahertz.
///
/// ```
/// use units::Mhz;
/// assert!((Mhz(2450.0).wavelength().0 - 0.122_364).abs() < 1e-6);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Mhz(pub f64);

/// A frequency width, kilohertz.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Khz(pub f64);

/// A repetition rate, hertz (packets or frames a second).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Hertz(pub f64);

/// A length or distance, metres.
///
/// ```
/// use units::Metres;
/// assert_eq!(Metres(100.0) + Metres(20.0), Metres(120.0));
/// ```
///
/// A length is no frequency:
///
/// ```compile_fail
/// let _ = units::Metres(1.0) + units::Mhz(2400.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Metres(pub f64);

/// An angle, degrees.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Degrees(pub f64);

/// A time, seconds.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Seconds(pub f64);

/// A time on the air, microseconds.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Micros(pub f64);

/// A speed, metres a second.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct MetresPerSecond(pub f64);

impl Mhz {
    /// The length of one wave in vacuum.
    pub fn wavelength(self) -> Metres {
        Metres(LIGHT_M_PER_S / (self.0 * 1e6))
    }
}

impl Khz {
    /// The same width, hertz.
    pub fn hz(self) -> f64 {
        self.0 * 1e3
    }
}

impl Hertz {
    /// The time from one to the next.
    pub fn period(self) -> Seconds {
        Seconds(1.0 / self.0)
    }
}

impl Micros {
    /// The same time, seconds.
    pub fn seconds(self) -> Seconds {
        Seconds(self.0 * 1e-6)
    }

    /// The same time, milliseconds.
    pub fn ms(self) -> f64 {
        self.0 * 1e-3
    }
}

impl Seconds {
    /// The same time, milliseconds.
    pub fn ms(self) -> f64 {
        self.0 * 1e3
    }
}

impl Degrees {
    /// The same angle, radians.
    pub fn radians(self) -> f64 {
        self.0.to_radians()
    }
}

macro_rules! adds_up {
    ($($name:ident),*) => { $(
        impl Add for $name {
            type Output = $name;
            fn add(self, other: $name) -> $name { $name(self.0 + other.0) }
        }
        impl Sub for $name {
            type Output = $name;
            fn sub(self, other: $name) -> $name { $name(self.0 - other.0) }
        }
        impl Mul<f64> for $name {
            type Output = $name;
            fn mul(self, times: f64) -> $name { $name(self.0 * times) }
        }
        impl Div<f64> for $name {
            type Output = $name;
            fn div(self, by: f64) -> $name { $name(self.0 / by) }
        }
    )* };
}

adds_up!(Metres, Seconds, Micros, Degrees);

impl fmt::Display for Mhz {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} MHz", self.0)
    }
}

impl fmt::Display for Metres {
    /// Whole metres below a kilometre, then kilometres with two digits after the point.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.abs() < 999.5 { write!(f, "{:.0} m", self.0) } else { write!(f, "{:.2} km", self.0 / 1e3) }
    }
}
