//! Quantities with their units, so that a bare number never stands for one.
//!
//! Only the sums that have a meaning exist: minutes add up, frequencies compare, a gain
//! raises a level, two levels differ by a ratio.

mod electric;
mod extent;
mod level;

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign};

pub use electric::{Amps, Farads, MilliampHours, Ohms, Volts, Watts};
pub use extent::{Degrees, Hertz, Khz, LIGHT_M_PER_S, Metres, MetresPerSecond, Mhz, Micros, Seconds};
pub use level::{DIPOLE_OVER_ISOTROPIC, Db, Dbd, Dbi, Dbm, Milliwatts, power_sum};

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
