//! Quantities with their units, so that a bare number never stands for one.
//!
//! Only the sums that have a meaning exist: minutes add up, frequencies compare.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign};

/// A frequency, megahertz.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Mhz(pub f64);

/// A frequency width, kilohertz.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Khz(pub f64);

/// A power level, decibels above one milliwatt.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Dbm(pub f64);

/// A transmit power, milliwatts.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Milliwatts(pub f64);

/// A repetition rate, hertz (packets or frames a second).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Hertz(pub f64);

/// Working time at the bench, minutes.
///
/// ```
/// use units::Minutes;
/// assert_eq!(Minutes(2.0) + Minutes(0.5), Minutes(2.5));
/// assert_eq!(Minutes(2.5).to_string(), "2.5 min");
/// assert_eq!(Minutes(12.0).to_string(), "12 min");
/// ```
///
/// A time is not a frequency, and the two never add:
///
/// ```compile_fail
/// let _ = units::Minutes(1.0) + units::Mhz(2400.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Minutes(pub f64);

impl Minutes {
    /// No time at all.
    pub const ZERO: Minutes = Minutes(0.0);

    /// The minutes in whole hundredths, for decisions that must come out alike on
    /// every platform.
    #[expect(clippy::cast_possible_truncation, reason = "bounded just before")]
    pub fn hundredths(self) -> i64 {
        (self.0.clamp(0.0, 1e12) * 100.0).round() as i64
    }
}

impl Add for Minutes {
    type Output = Minutes;
    fn add(self, other: Minutes) -> Minutes {
        Minutes(self.0 + other.0)
    }
}

impl AddAssign for Minutes {
    fn add_assign(&mut self, other: Minutes) {
        self.0 += other.0;
    }
}

impl Sum for Minutes {
    fn sum<I: Iterator<Item = Minutes>>(iter: I) -> Minutes {
        iter.fold(Minutes::ZERO, Add::add)
    }
}

impl fmt::Display for Minutes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.0 * 10.0).round() / 10.0;
        if tenths.fract() == 0.0 { write!(f, "{tenths:.0} min") } else { write!(f, "{tenths:.1} min") }
    }
}

impl fmt::Display for Mhz {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} MHz", self.0)
    }
}
