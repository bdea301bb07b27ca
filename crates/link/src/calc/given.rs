//! What was typed for a formula, read and checked against what it takes.

use super::{Formula, Input, Kind};
use crate::bounds::OutOfRange;
use crate::profile::{BadProfile, Profile};

/// A formula can't be computed from what was typed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CalcError {
    /// No formula has this name.
    #[error("there is no formula `{name}`{}; `calc list` names all", near_words(near))]
    Unknown {
        /// What was typed.
        name: String,
        /// Names that come near.
        near: Vec<&'static str>,
    },
    /// The formula takes no such input.
    #[error("`{formula}` takes no `{key}`; it takes {takes}")]
    NoSuchInput {
        /// The formula.
        formula: &'static str,
        /// What was typed.
        key: String,
        /// What it takes.
        takes: String,
    },
    /// An input was given twice.
    #[error("`{key}` is given twice; give it once")]
    Twice {
        /// The input.
        key: &'static str,
    },
    /// An input is missing.
    #[error("`{formula}` needs `{key}` ({says}); give it as {key}=VALUE")]
    Missing {
        /// The formula.
        formula: &'static str,
        /// The input.
        key: &'static str,
        /// What it is.
        says: &'static str,
    },
    /// A value can't be read.
    #[error("`{key}` is `{got}`, which is not {wanted}")]
    NotReadable {
        /// The input.
        key: &'static str,
        /// What was typed.
        got: String,
        /// What would do.
        wanted: String,
    },
    /// A value lies outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A path profile can't be used.
    #[error("`{key}`: {why}")]
    Profile {
        /// The input.
        key: &'static str,
        /// Why.
        why: BadProfile,
    },
    /// Two inputs don't go together.
    #[error("{0}")]
    DontGoTogether(String),
    /// The formula asked for an input that it doesn't declare.
    #[error("the formula asks for `{0}`, which it doesn't declare; this is a fault of Holdfast")]
    Undeclared(String),
    /// The formula gave no number.
    #[error("`{formula}` has no finite `{key}` for these inputs; move them nearer to the example")]
    NoNumber {
        /// The formula.
        formula: &'static str,
        /// The output.
        key: &'static str,
    },
}

fn near_words(near: &[&'static str]) -> String {
    if near.is_empty() { String::new() } else { format!(" (near it: {})", near.join(", ")) }
}

/// The inputs of one formula, each inside its range.
#[derive(Clone, Debug)]
pub struct Given {
    values: Vec<(&'static str, Read)>,
    texts: Vec<(&'static str, String)>,
}

/// One input as it is used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Used<'a> {
    /// It was left out, and nothing stands for it.
    Nothing,
    /// A number.
    Number(f64),
    /// A word, or words.
    Word(&'a str),
    /// On or off.
    On(bool),
    /// A path profile.
    Profile(&'a Profile),
}

#[derive(Clone, Debug)]
enum Read {
    Absent,
    Number(f64),
    Choice(&'static str),
    Switch(bool),
    Text(String),
    Profile(Profile),
}

impl CalcError {
    /// The input that it is about, where it is about one.
    pub fn key(&self) -> Option<&str> {
        match self {
            CalcError::NoSuchInput { key, .. } => Some(key),
            CalcError::Twice { key }
            | CalcError::Missing { key, .. }
            | CalcError::NotReadable { key, .. }
            | CalcError::Profile { key, .. }
            | CalcError::NoNumber { key, .. } => Some(key),
            CalcError::OutOfRange(why) => Some(&why.name),
            CalcError::Unknown { .. } | CalcError::DontGoTogether(_) | CalcError::Undeclared(_) => None,
        }
    }
}

impl Given {
    /// Reads the inputs of `formula`.
    ///
    /// # Errors
    /// [`CalcError`] with the key, what was typed and what would do; the first of them.
    pub fn read(formula: &Formula, typed: &[(String, String)]) -> Result<Given, CalcError> {
        Given::read_all(formula.name, formula.inputs, typed).map_err(|mut wrong| wrong.swap_remove(0))
    }

    /// Reads a list of inputs and finds everything that is wrong with them.
    ///
    /// # Errors
    /// Every [`CalcError`], at least one.
    pub fn read_all(
        name: &'static str,
        inputs: &[Input],
        typed: &[(String, String)],
    ) -> Result<Given, Vec<CalcError>> {
        let (given, wrong) = Given::read_kindly(name, inputs, typed);
        if wrong.is_empty() { Ok(given) } else { Err(wrong) }
    }

    /// The same, with what can't be used left at its default, so that the rest can be
    /// looked at, too. What has no default is then absent.
    pub fn read_kindly(
        name: &'static str,
        inputs: &[Input],
        typed: &[(String, String)],
    ) -> (Given, Vec<CalcError>) {
        let mut wrong = Vec::new();
        for (key, _) in typed {
            if !inputs.iter().any(|input| input.key == key) {
                let takes: Vec<&str> = inputs.iter().map(|input| input.key).collect();
                wrong.push(CalcError::NoSuchInput {
                    formula: name,
                    key: short(key),
                    takes: takes.join(", "),
                });
            }
        }
        let mut values = Vec::with_capacity(inputs.len());
        let mut texts = Vec::with_capacity(inputs.len());
        for input in inputs {
            let said = typed.iter().find(|(key, text)| key == input.key && !text.trim().is_empty());
            let text = said.map(|(_, text)| text.trim()).or(input.default).unwrap_or_default();
            let read = read_one(name, input, typed).unwrap_or_else(|why| {
                wrong.push(why);
                read_one(name, input, &[]).unwrap_or(Read::Absent)
            });
            // As it would be typed, whatever way it was.
            let text = match &read {
                Read::Choice(word) => (*word).to_owned(),
                Read::Switch(on) => if *on { "on" } else { "off" }.to_owned(),
                Read::Profile(profile) => profile.words(),
                Read::Number(_) | Read::Text(_) | Read::Absent => text.to_owned(),
            };
            texts.push((input.key, text));
            values.push((input.key, read));
        }
        (Given { values, texts }, wrong)
    }

    /// Every input as it is used: number, word, switch, or nothing where it is left out.
    pub fn used(&self) -> impl Iterator<Item = (&'static str, Used<'_>)> {
        self.values.iter().map(|(key, read)| {
            let used = match read {
                Read::Absent => Used::Nothing,
                Read::Number(number) => Used::Number(*number),
                Read::Choice(word) => Used::Word(word),
                Read::Switch(on) => Used::On(*on),
                Read::Text(text) => Used::Word(text),
                Read::Profile(profile) => Used::Profile(profile),
            };
            (*key, used)
        })
    }

    /// Some inputs, or their defaults, as `key=value` words that can be typed again.
    pub fn words(&self, keys: &[&str]) -> String {
        let given = self.texts.iter().filter(|(key, text)| keys.contains(key) && !text.is_empty());
        given.map(|(key, text)| format!("{key}={text}")).collect::<Vec<_>>().join(" ")
    }

    fn get(&self, key: &str) -> Result<&Read, CalcError> {
        self.values
            .iter()
            .find_map(|(have, read)| (*have == key).then_some(read))
            .ok_or_else(|| CalcError::Undeclared(key.to_owned()))
    }

    /// A number.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as a number.
    pub fn number(&self, key: &str) -> Result<f64, CalcError> {
        match self.get(key)? {
            Read::Number(number) => Ok(*number),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }

    /// A number that may be left out.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as a number.
    pub fn maybe_number(&self, key: &str) -> Result<Option<f64>, CalcError> {
        match self.get(key)? {
            Read::Number(number) => Ok(Some(*number)),
            Read::Absent => Ok(None),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }

    /// A whole number.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as one.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "read as a whole number inside its range, clamped to the type"
    )]
    pub fn whole(&self, key: &str) -> Result<u32, CalcError> {
        Ok(self.number(key)?.round().clamp(0.0, f64::from(u32::MAX)) as u32)
    }

    /// One of the words.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as a choice.
    pub fn choice(&self, key: &str) -> Result<&'static str, CalcError> {
        match self.get(key)? {
            Read::Choice(word) => Ok(word),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }

    /// Words; empty when left out.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as words.
    pub fn text(&self, key: &str) -> Result<&str, CalcError> {
        match self.get(key)? {
            Read::Text(text) => Ok(text),
            Read::Absent => Ok(""),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }

    /// Whether it is on.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as a switch.
    pub fn on(&self, key: &str) -> Result<bool, CalcError> {
        match self.get(key)? {
            Read::Switch(on) => Ok(*on),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }

    /// A path profile that may be left out.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as one.
    pub fn maybe_profile(&self, key: &str) -> Result<Option<&Profile>, CalcError> {
        match self.get(key)? {
            Read::Profile(profile) => Ok(Some(profile)),
            Read::Absent => Ok(None),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }

    /// A path profile.
    ///
    /// # Errors
    /// [`CalcError::Undeclared`] when the formula doesn't declare it as one.
    pub fn profile(&self, key: &str) -> Result<&Profile, CalcError> {
        match self.get(key)? {
            Read::Profile(profile) => Ok(profile),
            _ => Err(CalcError::Undeclared(key.to_owned())),
        }
    }
}

fn read_one(name: &'static str, input: &Input, typed: &[(String, String)]) -> Result<Read, CalcError> {
    let mut texts = typed.iter().filter(|(key, _)| key == input.key).map(|(_, text)| text.trim());
    let text = texts.next().filter(|text| !text.is_empty());
    if texts.next().is_some() {
        return Err(CalcError::Twice { key: input.key });
    }
    match text.or(input.default) {
        Some("") => Ok(Read::Absent),
        Some(text) => read(input, text),
        None => Err(CalcError::Missing { formula: name, key: input.key, says: input.says }),
    }
}

fn read(input: &Input, text: &str) -> Result<Read, CalcError> {
    let unreadable = |wanted: String| CalcError::NotReadable { key: input.key, got: short(text), wanted };
    let number = |wanted: &str| {
        let number = text.parse::<f64>().ok().filter(|number| !number.is_nan());
        number.ok_or_else(|| unreadable(format!("{wanted} (with a point, such as 12.5 or 1e-3)")))
    };
    match input.kind {
        Kind::Number(bound) => Ok(Read::Number(bound.check_as(input.key, number("a number")?)?)),
        Kind::Whole(bound) => {
            let value = bound.check_as(input.key, number("a whole number")?)?;
            if value.fract() == 0.0 {
                Ok(Read::Number(value))
            } else {
                Err(unreadable("a whole number".to_owned()))
            }
        }
        Kind::Choice(words) => {
            // `medium_dry` and `Medium dry` are `medium-dry`; where `on` may be said, so may `yes`.
            let said = text.to_ascii_lowercase().replace(['_', ' '], "-");
            let said = match said.as_str() {
                "yes" | "true" | "1" if words.contains(&"on") => "on",
                "no" | "false" | "0" if words.contains(&"off") => "off",
                other => other,
            };
            let word = words.iter().find(|word| word.eq_ignore_ascii_case(said));
            word.map(|word| Read::Choice(word))
                .ok_or_else(|| unreadable(format!("one of {}", words.join(", "))))
        }
        Kind::Switch => match text.to_ascii_lowercase().as_str() {
            "on" | "yes" | "true" | "1" => Ok(Read::Switch(true)),
            "off" | "no" | "false" | "0" => Ok(Read::Switch(false)),
            _ => Err(unreadable("`on` or `off`".to_owned())),
        },
        Kind::Text if text.chars().count() > 200 => Err(unreadable("200 characters or fewer".to_owned())),
        Kind::Text => Ok(Read::Text(text.to_owned())),
        Kind::Profile => {
            Profile::read(text).map(Read::Profile).map_err(|why| CalcError::Profile { key: input.key, why })
        }
    }
}

/// Enough of what was typed to recognise it.
fn short(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}
