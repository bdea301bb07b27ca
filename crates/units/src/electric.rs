//! Electrical quantities: volts, amperes, ohms, watts, charge and capacitance.
//!
//! The sums that have a meaning are Ohm's law and power: amperes times ohms are volts, volts times
//! amperes are watts.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A voltage, volts.
///
/// ```
/// use units::{Amps, Ohms, Volts, Watts};
/// assert_eq!(Amps(2.0) * Ohms(0.5), Volts(1.0));
/// assert_eq!(Volts(5.0) * Amps(2.0), Watts(10.0));
/// assert_eq!(Volts(4.876).to_string(), "4.88 V");
/// ```
///
/// A voltage is no current:
///
/// ```compile_fail
/// let _ = units::Volts(1.0) + units::Amps(1.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Volts(pub f64);

/// A current, amperes.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Amps(pub f64);

/// A resistance, ohms.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Ohms(pub f64);

/// A power that turns to heat or work, watts.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Watts(pub f64);

/// A charge as packs state it, milliampere-hours.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct MilliampHours(pub f64);

/// A capacitance, farads.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Farads(pub f64);

/// Sum, difference and scaling by a plain number, which every one of these has.
macro_rules! scales {
    ($($name:ident),*) => { $(
        impl Add for $name {
            type Output = $name;
            fn add(self, other: $name) -> $name {
                $name(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = $name;
            fn sub(self, other: $name) -> $name {
                $name(self.0 - other.0)
            }
        }
        impl Neg for $name {
            type Output = $name;
            fn neg(self) -> $name {
                $name(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = $name;
            fn mul(self, times: f64) -> $name {
                $name(self.0 * times)
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = $name>>(iter: I) -> $name {
                iter.fold($name(0.0), Add::add)
            }
        }
    )* };
}

scales!(Volts, Amps, Ohms, Watts, MilliampHours, Farads);

impl Mul<Ohms> for Amps {
    type Output = Volts;
    fn mul(self, ohms: Ohms) -> Volts {
        Volts(self.0 * ohms.0)
    }
}

impl Mul<Amps> for Volts {
    type Output = Watts;
    fn mul(self, amps: Amps) -> Watts {
        Watts(self.0 * amps.0)
    }
}

impl Div<Ohms> for Volts {
    type Output = Amps;
    fn div(self, ohms: Ohms) -> Amps {
        Amps(self.0 / ohms.0)
    }
}

impl Div<Amps> for Volts {
    type Output = Ohms;
    fn div(self, amps: Amps) -> Ohms {
        Ohms(self.0 / amps.0)
    }
}

/// The number with so many places, never as minus nothing.
fn places(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

impl fmt::Display for Volts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} V", places(self.0, 2))
    }
}

impl fmt::Display for Amps {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} A", places(self.0, 2))
    }
}

impl fmt::Display for Ohms {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.abs() < 1.0 {
            write!(f, "{} mohm", places(self.0 * 1e3, 1))
        } else {
            write!(f, "{} ohm", places(self.0, 2))
        }
    }
}

impl fmt::Display for Watts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} W", places(self.0, 2))
    }
}

impl fmt::Display for MilliampHours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mAh", places(self.0, 0))
    }
}

impl fmt::Display for Farads {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} uF", places(self.0 * 1e6, 0))
    }
}
