//! Every formula of the engine by name: what it takes, what it gives, where it holds and
//! where it comes from.
//!
//! A door looks a formula up with [`find`], hands over what was typed to
//! [`Formula::answer`] and prints the answer; it knows none of them itself.

mod antenna;
mod bench;
mod fading;
mod given;
mod hopping;
mod law;
mod modulation;
mod propagation;
mod sheet;

pub use given::{CalcError, Given, Used};

use crate::bounds::Bound;

/// One formula.
#[derive(Clone, Copy, Debug)]
pub struct Formula {
    /// Its name on the command line and in addresses (`free-space-loss`).
    pub name: &'static str,
    /// What it gives, in one line.
    pub says: &'static str,
    /// What it takes.
    pub inputs: &'static [Input],
    /// What it gives.
    pub outputs: &'static [Output],
    /// The formula, in plain text.
    pub formula: &'static str,
    /// Where it holds, in words.
    pub holds: &'static str,
    /// Where it comes from: document, edition, section; and how that is known.
    pub source: &'static str,
    /// One set of inputs that works.
    pub example: &'static [(&'static str, &'static str)],
    /// Computes it.
    pub run: fn(&Given) -> Result<Answer, CalcError>,
}

/// One input of a formula.
#[derive(Clone, Copy, Debug)]
pub struct Input {
    /// Its key, with the unit as a suffix (`distance_m`).
    pub key: &'static str,
    /// What it is, in a few words.
    pub says: &'static str,
    /// What may be typed.
    pub kind: Kind,
    /// What holds when it is left out; none when it must be given. An empty default makes
    /// it optional: [`Given::maybe_number`] is then `None`.
    pub default: Option<&'static str>,
}

/// What may be typed for an input.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A number in a range.
    Number(Bound),
    /// A whole number in a range.
    Whole(Bound),
    /// One of some words.
    Choice(&'static [&'static str]),
    /// `on` or `off` (also `yes`, `no`, `true`, `false`, `1`, `0`).
    Switch,
    /// Words, at most 200 characters.
    Text,
    /// A path profile: lines (or parts set apart by `;`) of `distance_m,height_m`.
    Profile,
}

/// One output of a formula.
#[derive(Clone, Copy, Debug)]
pub struct Output {
    /// Its key, with the unit as a suffix.
    pub key: &'static str,
    /// What it is.
    pub says: &'static str,
}

/// What a formula gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The outputs, in the order of [`Formula::outputs`].
    pub values: Vec<(&'static str, Value)>,
    /// What must be known beside them: an extrapolation, a remembered source.
    pub notes: Vec<String>,
}

/// One value of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number; its unit is in the key. Never NaN or infinite.
    Number(f64),
    /// Words.
    Text(String),
    /// Nothing is known or there is no limit; the notes say which.
    Nothing,
}

impl Answer {
    /// An answer of one number.
    pub fn number(key: &'static str, value: f64) -> Answer {
        Answer { values: vec![(key, Value::Number(value))], notes: Vec::new() }
    }

    /// The same with one more number.
    #[must_use]
    pub fn and(mut self, key: &'static str, value: f64) -> Answer {
        self.values.push((key, Value::Number(value)));
        self
    }

    /// The same with words.
    #[must_use]
    pub fn and_text(mut self, key: &'static str, text: impl Into<String>) -> Answer {
        self.values.push((key, Value::Text(text.into())));
        self
    }

    /// The same with a note.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Answer {
        self.notes.push(note.into());
        self
    }
}

impl Formula {
    /// Reads what was typed and computes the answer.
    ///
    /// # Errors
    /// [`CalcError`]: a key that the formula doesn't take, one that is missing, a value
    /// that can't be read or lies outside its range.
    pub fn answer(&self, typed: &[(String, String)]) -> Result<Answer, CalcError> {
        self.answer_with(&Given::read(self, typed)?)
    }

    /// The same from inputs that are read already; [`Given::used`] says what they are.
    ///
    /// # Errors
    /// [`CalcError`] when they don't go together, or give no number.
    pub fn answer_with(&self, given: &Given) -> Result<Answer, CalcError> {
        let answer = (self.run)(given)?;
        for (key, value) in &answer.values {
            if matches!(value, Value::Number(number) if !number.is_finite()) {
                return Err(CalcError::NoNumber { formula: self.name, key });
            }
        }
        Ok(answer)
    }
}

/// The unit of a key's suffix, in words; empty for a bare number.
pub fn unit_of(key: &str) -> &'static str {
    const UNITS: &[(&str, &str)] = &[
        ("_db_per_m", "dB/m"),
        ("_mv_per_m", "mV/m"),
        ("_m_per_s", "m/s"),
        ("_s_m", "S/m"),
        ("_per_s", "per second"),
        ("_kg_m3", "kg/m³"),
        ("_mohm", "mΩ"),
        ("_ohm", "Ω"),
        ("_dbm", "dBm"),
        ("_dbi", "dBi"),
        ("_dbd", "dBd"),
        ("_db", "dB"),
        ("_mhz", "MHz"),
        ("_khz", "kHz"),
        ("_hz", "Hz"),
        ("_kbps", "kbit/s"),
        ("_mm2", "mm²"),
        ("_mm", "mm"),
        ("_km", "km"),
        ("_ms", "ms"),
        ("_us", "µs"),
        ("_mw", "mW"),
        ("_pa", "Pa"),
        ("_deg", "°"),
        ("_percent", "%"),
        ("_minutes", "min"),
        ("_bytes", "bytes"),
        ("_bits", "bits"),
        ("_symbols", "symbols"),
        ("_m", "m"),
        ("_s", "s"),
        ("_k", "K"),
        ("_c", "°C"),
    ];
    UNITS.iter().find(|(suffix, _)| key.ends_with(suffix)).map_or("", |(_, unit)| unit)
}

/// Every formula, by subject, in the order of the page that lists them.
pub const ALL: &[(&str, &[Formula])] = &[
    ("Loss on the way", propagation::FORMULAS),
    ("Modulation and noise", modulation::FORMULAS),
    ("Antennas", antenna::FORMULAS),
    ("Fading and time", fading::FORMULAS),
    ("Other transmitters", hopping::FORMULAS),
    ("Limits", law::FORMULAS),
    ("Parts of the link sheet", sheet::FORMULAS),
    ("At the bench", bench::FORMULAS),
];

/// Every formula.
pub fn list() -> impl Iterator<Item = &'static Formula> {
    ALL.iter().flat_map(|(_, formulas)| formulas.iter())
}

/// The formula with this name.
///
/// # Errors
/// [`CalcError::Unknown`], with the names that come near.
pub fn find(name: &str) -> Result<&'static Formula, CalcError> {
    list().find(|formula| formula.name == name).ok_or_else(|| CalcError::Unknown {
        name: name.chars().take(60).collect(),
        near: list()
            .map(|formula| formula.name)
            .filter(|have| name.split('-').any(|part| part.len() > 2 && have.contains(part)))
            .collect(),
    })
}
