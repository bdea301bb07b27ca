//! Resistance of copper wire by gauge.
//!
//! Diameters by the rule of ASTM B258; annealed copper by IEC 60028 (both from memory; the
//! diameter rule also stands in a published reference page). Solid wire; stranded wire of the
//! same gauge has a few per cent more (common practice, no source).

use std::fmt;

use units::Metres;
pub use units::Ohms;

use crate::bounds::{Bound, OutOfRange};

/// A wire gauge, 4/0 to 40. Thicker is less.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gauge(i32);

/// A temperature, degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

/// A cross-section, square millimetres.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct SquareMillimetres(pub f64);

/// The length of a conductor; a run there and back is twice its length.
pub const LENGTH: Bound = Bound {
    name: "length_m",
    unit: "m",
    low: 0.0,
    high: 10_000.0,
    why: "the whole conductor, there and back",
};

/// The conductor's temperature.
pub const TEMPERATURE: Bound = Bound {
    name: "temperature_c",
    unit: "degrees Celsius",
    low: -60.0,
    high: 200.0,
    why: "where copper's resistance is still a straight line",
};

/// Annealed copper at 20 degrees Celsius, ohm square millimetres a metre (IEC 60028: 1/58,
/// rounded as usual).
const COPPER: f64 = 0.017_241;

/// How much it rises by each kelvin, at 20 degrees Celsius (IEC 60028).
const PER_KELVIN: f64 = 0.003_93;

/// What was typed is no wire gauge.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{typed}` is no wire gauge; there are 4/0 (also 0000), 3/0, 2/0, 0 (also 1/0), then 1 to 40")]
pub struct NoGauge {
    /// What was typed.
    pub typed: String,
}

impl Gauge {
    /// Every gauge, thickest first.
    pub fn all() -> impl Iterator<Item = Gauge> {
        (-3..=40).map(Gauge)
    }

    /// The gauge as typed: `0000` or `4/0`, `000`, `00`, `0` or `1/0`, then `1` to `40`.
    ///
    /// # Errors
    /// [`NoGauge`], naming the gauges.
    pub fn parse(typed: &str) -> Result<Gauge, NoGauge> {
        let text = typed.trim();
        let gauge = match text {
            "0000" | "4/0" => Some(-3),
            "000" | "3/0" => Some(-2),
            "00" | "2/0" => Some(-1),
            "0" | "1/0" => Some(0),
            // No sign, no fraction, no leading zero.
            text if text.starts_with(|c: char| ('1'..='9').contains(&c)) => {
                text.parse::<i32>().ok().filter(|gauge| *gauge <= 40)
            }
            _ => None,
        };
        gauge.map(Gauge).ok_or_else(|| NoGauge { typed: text.chars().take(40).collect() })
    }

    /// Diameter of the solid conductor: 0.127 mm times 92^((36 - n) / 39) (ASTM B258).
    pub fn diameter(self) -> Metres {
        Metres(0.127e-3 * 92f64.powf(f64::from(36 - self.0) / 39.0))
    }

    /// Cross-section.
    pub fn area(self) -> SquareMillimetres {
        let diameter = self.diameter().0 * 1e3;
        SquareMillimetres(std::f64::consts::PI * diameter * diameter / 4.0)
    }

    /// Resistance of a length of it: 0.017241 ohm mm²/m / area, times 1 + 0.00393 (t - 20).
    ///
    /// # Errors
    /// [`OutOfRange`] for a length outside 0 to 10 km or a temperature outside -60 to
    /// 200 degrees Celsius.
    pub fn resistance(self, length: Metres, temperature: Celsius) -> Result<Ohms, OutOfRange> {
        let length = LENGTH.check(length.0)?;
        let warmer = TEMPERATURE.check(temperature.0)? - 20.0;
        Ok(Ohms(COPPER / self.area().0 * length * (1.0 + PER_KELVIN * warmer)))
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 < 0 { write!(f, "{}/0", 1 - self.0) } else { write!(f, "{}", self.0) }
    }
}
