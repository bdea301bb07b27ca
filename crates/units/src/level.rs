//! Levels and ratios: what adds in decibels, and what doesn't.

use std::fmt;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A power level, decibels above one milliwatt.
///
/// A gain raises a level, two levels differ by a ratio:
///
/// ```
/// use units::{Db, Dbm};
/// assert_eq!(Dbm(-90.0) + Db(3.0), Dbm(-87.0));
/// assert_eq!(Dbm(-90.0) - Dbm(-105.0), Db(15.0));
/// ```
///
/// Two levels never add as decibels; they add as milliwatts, in [`power_sum`]:
///
/// ```compile_fail
/// let _ = units::Dbm(10.0) + units::Dbm(10.0);
/// ```
///
/// A ratio less a level means nothing:
///
/// ```compile_fail
/// let _ = units::Db(3.0) - units::Dbm(10.0);
/// ```
///
/// An antenna's gain is no plain ratio until it is said over what:
///
/// ```compile_fail
/// let _ = units::Dbm(10.0) + units::Dbi(2.15);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Dbm(pub f64);

/// A gain, loss or margin, decibels.
///
/// ```compile_fail
/// let _: units::Dbm = units::Db(3.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Db(pub f64);

/// An antenna's gain over an isotropic radiator, decibels.
///
/// ```
/// use units::{Db, Dbd, Dbi, Dbm};
/// assert_eq!(Dbi::from(Dbd(0.0)), Dbi(2.15));
/// assert_eq!(Dbm(20.0) + Dbi(2.0).over_isotropic(), Dbm(22.0));
/// ```
///
/// Gains over two different things never mix:
///
/// ```compile_fail
/// let _ = units::Dbi(2.15) - units::Dbd(0.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Dbi(pub f64);

/// An antenna's gain over a half-wave dipole, decibels.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Dbd(pub f64);

/// A transmit power, milliwatts.
///
/// ```
/// use units::{Dbm, Milliwatts};
/// assert_eq!(Milliwatts(100.0).level(), Dbm(20.0));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Milliwatts(pub f64);

/// How much the gain of a half-wave dipole is reckoned over an isotropic radiator where
/// rules convert between ERP and EIRP: 2.15 dB (2.1509 exactly, rounded by the rules).
pub const DIPOLE_OVER_ISOTROPIC: Db = Db(2.15);

impl Dbm {
    /// The same power, milliwatts.
    pub fn milliwatts(self) -> Milliwatts {
        Milliwatts(10f64.powf(self.0 / 10.0))
    }
}

impl Milliwatts {
    /// The same power as a level; minus infinity for no power at all.
    pub fn level(self) -> Dbm {
        Dbm(10.0 * self.0.log10())
    }
}

impl Db {
    /// No gain and no loss.
    pub const ZERO: Db = Db(0.0);

    /// The power ratio: 2 for about 3 dB.
    pub fn ratio(self) -> f64 {
        10f64.powf(self.0 / 10.0)
    }

    /// The decibels of a power ratio; minus infinity for 0.
    pub fn of_ratio(ratio: f64) -> Db {
        Db(10.0 * ratio.log10())
    }

    /// The greater of the two.
    #[must_use]
    pub fn max(self, other: Db) -> Db {
        Db(self.0.max(other.0))
    }

    /// In whole thousandths, for decisions that must come out alike on every platform.
    #[expect(clippy::cast_possible_truncation, reason = "bounded just before")]
    pub fn thousandths(self) -> i64 {
        (self.0.clamp(-1e12, 1e12) * 1000.0).round() as i64
    }
}

impl Dbi {
    /// The gain as a ratio, once it is clear that the reference is isotropic.
    pub fn over_isotropic(self) -> Db {
        Db(self.0)
    }
}

impl From<Dbd> for Dbi {
    fn from(gain: Dbd) -> Dbi {
        Dbi(gain.0 + DIPOLE_OVER_ISOTROPIC.0)
    }
}

/// Levels added as powers: two equal ones make 3.01 dB more.
///
/// ```
/// use units::{Dbm, power_sum};
/// assert!((power_sum([Dbm(-100.0), Dbm(-100.0)]).0 + 96.9897).abs() < 1e-4);
/// ```
pub fn power_sum(levels: impl IntoIterator<Item = Dbm>) -> Dbm {
    Milliwatts(levels.into_iter().map(|level| level.milliwatts().0).sum()).level()
}

impl Add<Db> for Dbm {
    type Output = Dbm;
    fn add(self, gain: Db) -> Dbm {
        Dbm(self.0 + gain.0)
    }
}

impl Sub<Db> for Dbm {
    type Output = Dbm;
    fn sub(self, loss: Db) -> Dbm {
        Dbm(self.0 - loss.0)
    }
}

impl Sub for Dbm {
    type Output = Db;
    fn sub(self, floor: Dbm) -> Db {
        Db(self.0 - floor.0)
    }
}

impl Add for Db {
    type Output = Db;
    fn add(self, other: Db) -> Db {
        Db(self.0 + other.0)
    }
}

impl AddAssign for Db {
    fn add_assign(&mut self, other: Db) {
        self.0 += other.0;
    }
}

impl Sub for Db {
    type Output = Db;
    fn sub(self, other: Db) -> Db {
        Db(self.0 - other.0)
    }
}

impl Neg for Db {
    type Output = Db;
    fn neg(self) -> Db {
        Db(-self.0)
    }
}

impl Mul<f64> for Db {
    type Output = Db;
    fn mul(self, times: f64) -> Db {
        Db(self.0 * times)
    }
}

impl Div<f64> for Db {
    type Output = Db;
    fn div(self, by: f64) -> Db {
        Db(self.0 / by)
    }
}

impl std::iter::Sum for Db {
    fn sum<I: Iterator<Item = Db>>(iter: I) -> Db {
        iter.fold(Db::ZERO, Add::add)
    }
}

impl fmt::Display for Dbm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} dBm", self.0)
    }
}

impl fmt::Display for Db {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} dB", self.0)
    }
}

impl fmt::Display for Dbi {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} dBi", self.0)
    }
}
