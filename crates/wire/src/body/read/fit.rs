//! Bodies of commissioning: parts of a fit, proofs, work, signatures.
//!
//! One whose word this program doesn't know, or that is past a bound, is nothing: what was
//! fitted or proven can't be told with a piece left out.

use std::borrow::Cow;
use std::collections::BTreeMap;

use register::entry::Body;
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::id::{DeviceId, EntryId};
use serde::Deserialize;
use serde_json::value::RawValue;

use super::super::{LONGEST_PART_TEXT, fits_bounds};
use super::{Word, json};

/// `{"part": …, "text": …}`: a part of a fit was written down.
pub(super) fn fitted(text: &str) -> Option<Body> {
    let FittedText { part, text, replaces } = json(text)?;
    let part = Part::from_word(&part)?;
    let replaces = replaces.into_iter().map(|entry| entry.0).collect();
    (text.len() <= LONGEST_PART_TEXT).then_some(Body::Fitted(Fitted { part, text, replaces }))
}

/// `{"proof": …, "held": …}`: a proof was tried.
pub(super) fn proved(text: &str) -> Option<Body> {
    let ProvedText { proof, transmitter, held, steps, measured, note } = json(text)?;
    let measured: BTreeMap<String, f64> =
        measured.into_iter().map(|(key, value)| Some((key, number(value)?))).collect::<Option<_>>()?;
    let proved = Proved {
        proof: Proof::from_word(&proof)?,
        transmitter: transmitter.map(|id| id.0),
        held,
        steps,
        measured,
        note,
    };
    let keys = proved.steps.iter().chain(proved.measured.keys());
    fits_bounds(&proved.note, keys).then_some(Body::Proved(proved))
}

/// `{"what": …}`: work was done, or something befell the device.
pub(super) fn worked(text: &str) -> Option<Body> {
    let WorkedText { what, note } = json(text)?;
    let what = Work::from_word(&what)?;
    fits_bounds(&note, std::iter::empty()).then_some(Body::Worked(Worked { what, note }))
}

/// `{"checked": …, "unchecked": …}`: somebody signed.
pub(super) fn signed(text: &str) -> Option<Body> {
    let SignedText { transmitter, checked, unchecked, note } = json(text)?;
    let transmitter = transmitter.map(|id| id.0);
    fits_bounds(&note, checked.iter().chain(&unchecked)).then_some(Body::Signed(Signed {
        transmitter,
        checked,
        unchecked,
        note,
    }))
}

#[derive(Deserialize)]
struct FittedText<'a> {
    #[serde(borrow)]
    part: Cow<'a, str>,
    text: String,
    #[serde(default)]
    replaces: Vec<Word<EntryId>>,
}

#[derive(Deserialize)]
struct ProvedText<'a> {
    #[serde(borrow)]
    proof: Cow<'a, str>,
    transmitter: Option<Word<DeviceId>>,
    held: bool,
    steps: Vec<String>,
    #[serde(borrow)]
    measured: BTreeMap<String, &'a RawValue>,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
struct WorkedText<'a> {
    #[serde(borrow)]
    what: Cow<'a, str>,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
struct SignedText {
    transmitter: Option<Word<DeviceId>>,
    checked: Vec<String>,
    unchecked: Vec<String>,
    #[serde(default)]
    note: String,
}

/// A finite number, from its own text, because a detour could change its last bit.
fn number(text: &RawValue) -> Option<f64> {
    let number: f64 = text.get().parse().ok()?;
    // The sum makes 0 of -0.
    number.is_finite().then_some(number + 0.0)
}
