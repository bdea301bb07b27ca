//! Formulas and what they give.

use link::calc::{self, Answer, CalcError, Formula, Given, Input, Kind, Value, unit_of};
use serde::ser::{SerializeMap as _, SerializeSeq as _};
use serde::{Serialize, Serializer};

/// The keys of an answer beside the formula's outputs.
pub const BESIDE: [&str; 6] = ["calc", "inputs", "formula", "holds", "source", "notes"];

/// What a formula gave: its outputs under their own keys, then what it is.
#[derive(Clone, Debug)]
pub struct Reckoned {
    /// The formula.
    pub formula: &'static Formula,
    /// The inputs as they were used, defaults among them.
    pub inputs: Vec<(&'static str, Used)>,
    /// What it gave.
    pub answer: Answer,
}

/// An input as it was used.
#[derive(Clone, Debug, PartialEq)]
pub enum Used {
    /// Not given, and not needed.
    Nothing,
    /// A number.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// A switch.
    On(bool),
    /// Words.
    Text(String),
    /// A path profile: distances and heights.
    Points(Vec<(f64, f64)>),
}

impl Reckoned {
    /// Computes a formula from inputs that are read.
    ///
    /// # Errors
    /// [`CalcError`] when they don't go together, or give no number.
    pub fn new(formula: &'static Formula, given: &Given) -> Result<Reckoned, CalcError> {
        let answer = formula.answer_with(given)?;
        let inputs = given.used().map(|(key, used)| (key, Used::new(formula, key, used))).collect();
        Ok(Reckoned { formula, inputs, answer })
    }
}

impl Used {
    fn new(formula: &Formula, key: &str, used: calc::Used) -> Used {
        let whole = || formula.inputs.iter().any(|one| one.key == key && matches!(one.kind, Kind::Whole(_)));
        match used {
            calc::Used::Nothing => Used::Nothing,
            #[expect(clippy::cast_possible_truncation, reason = "a whole number in the range of its input")]
            calc::Used::Number(number) if whole() => Used::Whole(number as i64),
            calc::Used::Number(number) => Used::Number(number),
            calc::Used::Word(word) => Used::Text(word.to_owned()),
            calc::Used::On(on) => Used::On(on),
            calc::Used::Profile(profile) => {
                let points = profile.distances_m().iter().zip(profile.heights_m());
                Used::Points(points.map(|(distance, height)| (*distance, *height)).collect())
            }
        }
    }
}

impl Serialize for Used {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Used::Nothing => to.serialize_unit(),
            Used::Number(number) => to.serialize_f64(*number),
            Used::Whole(number) => to.serialize_i64(*number),
            Used::On(on) => to.serialize_bool(*on),
            Used::Text(text) => to.serialize_str(text),
            Used::Points(points) => {
                let mut list = to.serialize_seq(Some(points.len()))?;
                for (distance, height) in points {
                    list.serialize_element(&[distance, height])?;
                }
                list.end()
            }
        }
    }
}

/// Pairs as an object, in their order.
struct Pairs<'a, V>(&'a [(&'static str, V)]);

impl<V: Serialize> Serialize for Pairs<'_, V> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(self.0.iter().map(|(key, value)| (key, value)))
    }
}

impl Serialize for Reckoned {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(None)?;
        map.serialize_entry("calc", self.formula.name)?;
        for (key, value) in &self.answer.values {
            match value {
                Value::Number(number) => map.serialize_entry(key, number)?,
                // What is either so or not.
                Value::Text(text) if text == "yes" || text == "no" => {
                    map.serialize_entry(key, &(text == "yes"))?;
                }
                Value::Text(text) => map.serialize_entry(key, text)?,
                Value::Nothing => map.serialize_entry(key, &())?,
            }
        }
        map.serialize_entry("inputs", &Pairs(&self.inputs))?;
        map.serialize_entry("formula", self.formula.formula)?;
        map.serialize_entry("holds", self.formula.holds)?;
        map.serialize_entry("source", self.formula.source)?;
        map.serialize_entry("notes", &self.answer.notes)?;
        map.end()
    }
}

/// What a formula is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct About {
    /// Its name.
    pub calc: &'static str,
    /// The subject it is listed under.
    pub subject: &'static str,
    /// What it gives, in one line.
    pub says: &'static str,
    /// What it takes.
    pub inputs: Vec<Takes>,
    /// What it gives.
    pub outputs: Vec<Gives>,
    /// The formula, in plain text.
    pub formula: &'static str,
    /// Where it holds.
    pub holds: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// One set of inputs that works, as it would be typed.
    pub example: Vec<String>,
}

/// One input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Takes {
    /// Its key.
    pub key: &'static str,
    /// What it is.
    pub says: &'static str,
    /// `number`, `whole`, `choice`, `switch`, `text`, `profile`.
    pub kind: &'static str,
    /// Its unit; empty for a bare number or words.
    pub unit: &'static str,
    /// The least and the greatest number.
    pub range: Option<[f64; 2]>,
    /// The words it can be.
    pub words: &'static [&'static str],
    /// Whether it must be given.
    pub needed: bool,
    /// What holds when it is left out; none when nothing does.
    pub default: Option<&'static str>,
}

/// One output.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gives {
    /// Its key.
    pub key: &'static str,
    /// What it is.
    pub says: &'static str,
    /// Its unit; empty for a bare number or words.
    pub unit: &'static str,
}

impl About {
    /// A formula as an answer.
    pub fn new(formula: &Formula) -> About {
        let holds_it = |formulas: &[Formula]| formulas.iter().any(|one| one.name == formula.name);
        let subject = link::calc::ALL.iter().find(|(_, formulas)| holds_it(formulas));
        About {
            calc: formula.name,
            subject: subject.map_or("", |(subject, _)| subject),
            says: formula.says,
            inputs: formula.inputs.iter().map(Takes::new).collect(),
            outputs: formula
                .outputs
                .iter()
                .map(|output| Gives { key: output.key, says: output.says, unit: unit_of(output.key) })
                .collect(),
            formula: formula.formula,
            holds: formula.holds,
            source: formula.source,
            example: formula.example.iter().map(|(key, text)| format!("{key}={text}")).collect(),
        }
    }
}

impl Takes {
    /// An input as an answer.
    pub fn new(input: &Input) -> Takes {
        let (kind, range, words): (_, _, &'static [&'static str]) = match input.kind {
            Kind::Number(bound) => ("number", Some([bound.low, bound.high]), &[]),
            Kind::Whole(bound) => ("whole", Some([bound.low, bound.high]), &[]),
            Kind::Choice(words) => ("choice", None, words),
            Kind::Switch => ("switch", None, &["on", "off"]),
            Kind::Text => ("text", None, &[]),
            Kind::Profile => ("profile", None, &[]),
        };
        Takes {
            key: input.key,
            says: input.says,
            kind,
            unit: unit_of(input.key),
            range,
            words,
            needed: input.default.is_none(),
            default: input.default.filter(|text| !text.is_empty()),
        }
    }

    /// What may be typed, in words: `0.1 to 1000000 m`, `vertical or horizontal`.
    pub fn may_be(&self) -> String {
        let blank = if self.unit.is_empty() { "" } else { " " };
        match (self.range, self.kind) {
            (Some([low, high]), "whole") => {
                format!("a whole number from {low} to {high}{blank}{}", self.unit)
            }
            (Some([low, high]), _) => format!("{low} to {high}{blank}{}", self.unit),
            (None, "profile") => {
                "distance_m,height_m points set apart by `;`, or a file of such lines".to_owned()
            }
            (None, _) => self.words.join(", "),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_output_hides_what_stands_beside_it() {
        for formula in link::calc::list() {
            for output in formula.outputs {
                assert!(!BESIDE.contains(&output.key), "{}: {}", formula.name, output.key);
            }
        }
    }

    #[test]
    fn an_input_has_the_unit_of_its_range() {
        // Where the range names a unit, the key names the same.
        let words = [
            ("degrees", "°"),
            ("degrees Celsius", "°C"),
            ("bytes", "bytes"),
            ("symbols", "symbols"),
            ("us", "µs"),
            ("kb/s", "kbit/s"),
        ];
        let mut wrong = Vec::new();
        for formula in link::calc::list() {
            for input in formula.inputs {
                let (Kind::Number(bound) | Kind::Whole(bound)) = input.kind else { continue };
                let wanted =
                    words.iter().find(|(word, _)| *word == bound.unit).map_or(bound.unit, |(_, unit)| unit);
                if !bound.unit.is_empty() && !unit_of(input.key).is_empty() && unit_of(input.key) != wanted {
                    wrong.push(format!("{}: {} has {wanted}", formula.name, input.key));
                }
            }
        }
        assert!(wrong.is_empty(), "{wrong:#?}");
    }

    #[test]
    fn the_outputs_stand_at_the_top_and_inputs_as_they_were_used() {
        let formula = link::calc::find("free-space-loss").unwrap();
        let typed = vec![
            ("frequency_mhz".to_owned(), " 2450 ".to_owned()),
            ("distance_m".to_owned(), "1e3".to_owned()),
        ];
        let given = Given::read(formula, &typed).unwrap();
        let json = serde_json::to_string(&Reckoned::new(formula, &given).unwrap()).unwrap();
        assert!(json.starts_with(r#"{"calc":"free-space-loss","loss_db":"#), "{json}");
        assert!(json.contains(r#""inputs":{"frequency_mhz":2450.0,"distance_m":1000.0}"#), "{json}");
    }
}
