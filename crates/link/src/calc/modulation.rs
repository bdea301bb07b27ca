//! Formulas by name: noise, airtime, sensitivity, error rates.

mod airtime;
mod errors;
mod noise;
mod sensitivity;

use super::{CalcError, Formula, Given, Input, Kind};
use crate::bounds;
use crate::css::{self, Chip, Coding};

/// The formulas.
pub const FORMULAS: &[Formula] = &[
    noise::THERMAL,
    noise::MANMADE,
    airtime::CSS,
    airtime::FSK,
    airtime::FSK_BANDWIDTH,
    airtime::FLRC,
    sensitivity::CSS,
    sensitivity::FSK,
    sensitivity::FLRC,
    errors::SYMBOL,
    errors::SYMBOL_SNR,
    errors::FSK_BIT,
    errors::HAMMING,
    errors::PACKET,
];

/// The words for the two packet formats.
const CHIPS: &[&str] = &["sub-ghz", "2g4"];

const CHIP: Input =
    Input { key: "chip", says: "generation of chips", kind: Kind::Choice(CHIPS), default: None };

const SF: Input =
    Input { key: "sf", says: "spreading factor", kind: Kind::Whole(bounds::SPREADING), default: None };

const BANDWIDTH: Input =
    Input { key: "bandwidth_hz", says: "bandwidth", kind: Kind::Number(css::BANDWIDTH), default: None };

const PAYLOAD: Input = Input {
    key: "payload_bytes",
    says: "bytes of payload",
    kind: Kind::Whole(bounds::PAYLOAD),
    default: None,
};

/// The chip generation that was typed.
fn chip(given: &Given) -> Result<Chip, CalcError> {
    Ok(if given.choice("chip")? == "2g4" { Chip::Ghz2g4 } else { Chip::SubGhz })
}

/// The spreading factor that was typed.
fn spreading(given: &Given) -> Result<u8, CalcError> {
    Ok(u8::try_from(given.whole("sf")?).unwrap_or(u8::MAX))
}

/// The coding rate that was typed.
fn coding(word: &str) -> Result<Coding, CalcError> {
    Coding::parse(word)
        .ok_or_else(|| CalcError::DontGoTogether(format!("`coding_rate` is `{word}`; give 4/5 to 4/8")))
}
