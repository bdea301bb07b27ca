//! What a straight antenna is to the receiver's 50 ohm: its impedance by length and frequency, and
//! what a wrong length or a wrong band loses.
//!
//! A thin, straight wire, cut in the middle, alone in space, with the current of a sine along it (the
//! induced-EMF method: Balanis, Antenna Theory, 3rd edition, sections 4.5.1 and 8.5, from memory).
//! Good for radii far under the length and lengths up to about half a wave; beyond that the resistance
//! is still right to some ten per cent, but near a whole wave the current in the middle is not nothing
//! as the sine has it, and the loss is overstated. Matching parts on the antenna or in front of the
//! receiver are not in it: a chip or a matched whip can lose more or less.

mod integral;

use units::{Db, LIGHT_M_PER_S, Metres, Mhz};

use crate::bounds::{self, Bound, OutOfRange};
use crate::wire::Ohms;

pub use integral::{cosine_integral, sine_integral};

/// The length of an antenna's working part.
pub const LENGTH: Bound = Bound {
    name: "length_mm",
    unit: "mm",
    low: 1.0,
    high: 10_000.0,
    why: "from a chip to a short-wave whip",
};

/// The radius of its wire.
pub const RADIUS: Bound =
    Bound { name: "radius_mm", unit: "mm", low: 0.01, high: 10.0, why: "from a hair to a broomstick" };

/// The radius over the length.
pub const THICKNESS: Bound = Bound {
    name: "radius_over_length",
    unit: "",
    low: 0.0,
    high: 0.05,
    why: "the formula is for thin wires: at least 20 times as long as its radius",
};

/// The resistance that receivers and transmitters are made for.
pub const SYSTEM: Ohms = Ohms(50.0);

/// The radius that stands for a usual antenna wire: 0.25 mm. Judgement, no source.
pub const USUAL_RADIUS: Metres = Metres(0.000_25);

/// The most that a mismatch loses here: 60 dB. On paper a whole wave takes nothing at all.
pub const MOST: Db = Db(60.0);

/// Resistance of free space over 2π: 59.958 Ω (the speed of light times 2·10⁻⁷ H/m).
const SPACE: f64 = LIGHT_M_PER_S * 2e-7;

/// What an antenna is at its feed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Impedance {
    /// What takes power: radiated, in a wire without loss.
    pub resistance: Ohms,
    /// What doesn't; below 0 the antenna is too short.
    pub reactance: Ohms,
}

/// A straight antenna.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Element {
    /// Two arms; its length is from tip to tip.
    Dipole,
    /// One arm over an endless conducting plane; its length is that of the arm.
    Monopole,
}

/// What an antenna costs outside the band that it is made for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WrongBand {
    /// The length that was taken: resonant where it is made for.
    pub length: Metres,
    /// What it is at its feed where it is used.
    pub impedance: Impedance,
    /// Mismatch where it is made for.
    pub own: Db,
    /// Mismatch where it is used.
    pub used: Db,
}

impl WrongBand {
    /// What the wrong band costs; nothing where it happens to be no worse.
    pub fn cost(&self) -> Db {
        Db((self.used.0 - self.own.0).max(0.0))
    }
}

impl Element {
    /// The words that a form offers.
    pub const WORDS: &'static [&'static str] = &["dipole", "monopole"];

    /// What a word names.
    pub fn from_word(word: &str) -> Option<Element> {
        match word {
            "dipole" => Some(Element::Dipole),
            "monopole" => Some(Element::Monopole),
            _ => None,
        }
    }

    /// How much longer the dipole is that it is half of, and how much greater its impedance.
    fn arms(self) -> f64 {
        match self {
            Element::Dipole => 1.0,
            Element::Monopole => 2.0,
        }
    }
}

impl Impedance {
    /// The share of the wave's height that comes back from it at the end of a [`SYSTEM`] line, 0 to 1:
    /// |(Z - 50)/(Z + 50)|.
    pub fn reflection(self) -> f64 {
        (1.0 - self.passed()).max(0.0).sqrt()
    }

    /// What the mismatch to [`SYSTEM`] loses: -10 log(1 - |Γ|²), at most [`MOST`].
    pub fn mismatch(self) -> Db {
        Db((-10.0 * self.passed().log10() + 0.0).clamp(0.0, MOST.0))
    }

    /// 1 - |Γ|² without the difference of two numbers near 1: 4 R R₀/|Z + R₀|².
    fn passed(self) -> f64 {
        let (sum, reactance) = (self.resistance.0 + SYSTEM.0, self.reactance.0);
        // By a division each, so that nothing grows too large on the way.
        let size = sum.hypot(reactance);
        4.0 * (self.resistance.0 / size) * (SYSTEM.0 / size)
    }
}

/// What a straight antenna is at its feed.
///
/// With k = 2π/λ, C Euler's constant, in units of free space's resistance over 2π:
/// R = C + ln kl − Ci kl + ½ sin kl (Si 2kl − 2 Si kl) + ½ cos kl (C + ln(kl/2) + Ci 2kl − 2 Ci kl),
/// X = Si kl + ½ cos kl (2 Si kl − Si 2kl) − ½ sin kl (2 Ci kl − Ci 2kl − Ci(2ka²/l)), both over
/// sin²(kl/2). Balanis, Antenna Theory, 3rd edition, eqs 4-70, 4-79, 8-60, 8-61 (from memory;
/// recomputed in the tests by integrating the far and the near field). A monopole over an endless plane
/// is half of the dipole twice as long (the same, 4.7.2).
///
/// ```
/// use link::mismatch::{Element, impedance};
/// use units::{Metres, Mhz};
/// let wave = Mhz(868.0).wavelength();
/// let half = impedance(Element::Dipole, Metres(wave.0 / 2.0), Metres(0.000_25), Mhz(868.0)).unwrap();
/// assert!((half.resistance.0 - 73.1).abs() < 0.05 && (half.reactance.0 - 42.5).abs() < 0.05);
/// assert!(impedance(Element::Dipole, Metres(0.002), Metres(0.001), Mhz(868.0)).is_err());
/// ```
///
/// # Errors
/// [`OutOfRange`] for a length outside [`LENGTH`], a radius outside [`RADIUS`] or too thick for the
/// length ([`THICKNESS`]), a frequency outside [`bounds::FREQUENCY`].
pub fn impedance(element: Element, length: Metres, radius: Metres, at: Mhz) -> Result<Impedance, OutOfRange> {
    LENGTH.check(length.0 * 1000.0)?;
    RADIUS.check(radius.0 * 1000.0)?;
    bounds::FREQUENCY.check(at.0)?;
    THICKNESS.check(radius.0 / length.0)?;
    Ok(of(element, length, radius, at))
}

fn of(element: Element, length: Metres, radius: Metres, at: Mhz) -> Impedance {
    let whole = length.0 * element.arms();
    let k = std::f64::consts::TAU / at.wavelength().0;
    let kl = k * whole;
    let (sin, cos) = kl.sin_cos();
    let (si, si2) = (sine_integral(kl), sine_integral(2.0 * kl));
    let (ci, ci2) = (cosine_integral(kl), cosine_integral(2.0 * kl));
    let thin = cosine_integral(2.0 * k * radius.0 * (radius.0 / whole));
    let resistance = integral::EULER + kl.ln() - ci
        + 0.5 * sin * (si2 - 2.0 * si)
        + 0.5 * cos * (integral::EULER + (kl / 2.0).ln() + ci2 - 2.0 * ci);
    let reactance = si + 0.5 * cos * (2.0 * si - si2) - 0.5 * sin * (2.0 * ci - ci2 - thin);
    // At whole waves the sine has no current in the middle; a thousandth keeps the numbers finite.
    let feed = (kl / 2.0).sin().powi(2).max(1e-6);
    let ohms = SPACE / feed / element.arms();
    Impedance { resistance: Ohms((resistance * ohms).max(0.0)), reactance: Ohms(reactance * ohms) }
}

/// The shortest length without reactance: a little under half a wave (dipole) or a quarter (monopole).
///
/// # Errors
/// [`OutOfRange`] as [`impedance`], for a half or quarter wave of this frequency and this radius.
pub fn resonant_length(element: Element, radius: Metres, at: Mhz) -> Result<Metres, OutOfRange> {
    let half = at.wavelength().0 / 2.0 / element.arms();
    bounds::FREQUENCY.check(at.0)?;
    impedance(element, Metres(half), radius, at)?;
    // Reactance rises from far below 0 to 42.5 ohm at the half wave.
    let (mut short, mut long) = (half * 0.6, half);
    for _ in 0..60 {
        let middle = f64::midpoint(short, long);
        if of(element, Metres(middle), radius, at).reactance.0 < 0.0 {
            short = middle;
        } else {
            long = middle;
        }
    }
    Ok(Metres(f64::midpoint(short, long)))
}

/// What an antenna that is resonant at one frequency costs at another.
///
/// # Errors
/// [`OutOfRange`] as [`resonant_length`] and [`impedance`].
pub fn wrong_band(
    element: Element,
    radius: Metres,
    made_for: Mhz,
    used_at: Mhz,
) -> Result<WrongBand, OutOfRange> {
    bounds::FREQUENCY.check_as("made_for_mhz", made_for.0)?;
    let length = resonant_length(element, radius, made_for)?;
    let own = impedance(element, length, radius, made_for)?.mismatch();
    let impedance = impedance(element, length, radius, used_at)?;
    Ok(WrongBand { length, impedance, own, used: impedance.mismatch() })
}

/// The share of the range in free space that a loss leaves: 10^(−dB/20). Near the ground more is left,
/// 10^(−dB/40), because the field falls faster there.
pub fn range_share(loss: Db) -> f64 {
    10f64.powf(-loss.0 / 20.0)
}
