//! Bodies of commissioning: parts of a fit, proofs, work, signatures.

use std::collections::BTreeMap;

use register::fit::{Fitted, Proved, Signed, Worked};
use register::id::DeviceId;

use super::super::{LONGEST_PART_TEXT, fits_bounds};
use super::{Object, list, plain, shown};
use crate::push_text;

/// Nothing where the part's text is longer than [`LONGEST_PART_TEXT`].
pub(super) fn fitted(object: &mut Object, fitted: &Fitted) -> Option<()> {
    if fitted.text.len() > LONGEST_PART_TEXT {
        return None;
    }
    object.text("part", fitted.part.word());
    object.text("text", &fitted.text);
    list(object.key("replaces"), &fitted.replaces, |out, entry| plain(out, entry));
    Some(())
}

/// Nothing where a measured value is no number that JSON has, or where lists or note are past
/// their bounds.
pub(super) fn proved(object: &mut Object, proved: &Proved) -> Option<()> {
    let keys = proved.steps.iter().chain(proved.measured.keys());
    let good = proved.measured.values().all(|value| value.is_finite());
    if !good || !fits_bounds(&proved.note, keys) {
        return None;
    }
    object.text("proof", proved.proof.word());
    device_or_none(object.key("transmitter"), proved.transmitter);
    shown(object.key("held"), proved.held);
    list(object.key("steps"), &proved.steps, |out, step| push_text(out, step));
    measured(object.key("measured"), &proved.measured);
    object.text("note", &proved.note);
    Some(())
}

/// Nothing where the note is past its bound.
pub(super) fn worked(object: &mut Object, worked: &Worked) -> Option<()> {
    if !fits_bounds(&worked.note, std::iter::empty()) {
        return None;
    }
    object.text("what", worked.what.word());
    object.text("note", &worked.note);
    Some(())
}

/// Nothing where lists or note are past their bounds.
pub(super) fn signed(object: &mut Object, signed: &Signed) -> Option<()> {
    if !fits_bounds(&signed.note, signed.checked.iter().chain(&signed.unchecked)) {
        return None;
    }
    device_or_none(object.key("transmitter"), signed.transmitter);
    list(object.key("checked"), &signed.checked, |out, item| push_text(out, item));
    list(object.key("unchecked"), &signed.unchecked, |out, item| push_text(out, item));
    object.text("note", &signed.note);
    Some(())
}

/// Each number in the fewest digits that read back as the same; the sum makes 0 of -0.
fn measured(out: &mut String, measured: &BTreeMap<String, f64>) {
    out.push('{');
    for (at, (key, value)) in measured.iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        push_text(out, key);
        out.push(':');
        shown(out, value + 0.0);
    }
    out.push('}');
}

fn device_or_none(out: &mut String, device: Option<DeviceId>) {
    match device {
        Some(device) => plain(out, device),
        None => out.push_str("null"),
    }
}
