//! Sensitivity by name.

use units::{Db, Khz};

use super::{BANDWIDTH, CHIP, PAYLOAD, SF, chip, spreading};
use crate::bounds;
use crate::calc::{Answer, CalcError, Formula, Input, Kind, Output};
use crate::css::{Css, required_snr};
use crate::fsk::{self, FlrcCoding, Fsk};
use crate::mode::Modulation;
use crate::noise::thermal_noise;
use crate::silicon::{self, noise_figure};

pub(super) const CSS: Formula = Formula {
    name: "css-sensitivity",
    says: "the level at which about one chirp packet in a hundred is lost",
    inputs: &[
        CHIP,
        SF,
        BANDWIDTH,
        Input {
            key: "noise_figure_db",
            says: "noise figure; left out: the one fitted to the public chips",
            kind: Kind::Number(bounds::NOISE_FIGURE),
            default: Some(""),
        },
    ],
    outputs: &[
        Output { key: "sensitivity_dbm", says: "sensitivity" },
        Output { key: "noise_dbm", says: "noise in the bandwidth, with the noise figure" },
        Output { key: "noise_figure_db", says: "noise figure reckoned with" },
        Output { key: "required_snr_db", says: "SNR in the bandwidth that the data sheets reckon with" },
    ],
    formula: "10 log10(k 290 B / 1 mW) + F + required SNR; required SNR -2.5 (SF - 4) dB",
    holds: "packet error 1 %, 10 bytes at 4/5, 25 C; within 2 dB of the chips' tables at SF7 to SF12, within \
            3.5 dB at SF5 and SF6",
    source: "SX1276 data sheet table 13 and SX1261/2 data sheet table 6-1 (SNR); noise figures fitted to the \
             SX1261/2 data sheet Rev 2.2, table 3-8, and the SX1280/81 data sheet Rev 2.2, table 6-1",
    example: &[("chip", "2g4"), ("sf", "7"), ("bandwidth_hz", "812500")],
    run: |given| {
        let (chip, sf) = (chip(given)?, spreading(given)?);
        let bandwidth = Khz(given.number("bandwidth_hz")? / 1e3);
        let figure = match given.maybe_number("noise_figure_db")? {
            Some(typed) => Db(typed),
            None => noise_figure(chip, bandwidth)?,
        };
        let css = Modulation::Css(Css::neutral(chip, sf, bandwidth, 5));
        Ok(Answer::number("sensitivity_dbm", silicon::sensitivity(&css, 10, figure)?.0)
            .and("noise_dbm", thermal_noise(bandwidth, figure)?.0)
            .and("noise_figure_db", figure.0)
            .and("required_snr_db", required_snr(sf)?.0))
    },
};

pub(super) const FSK: Formula = Formula {
    name: "fsk-sensitivity",
    says: "the level at which one FSK packet in a hundred is lost",
    inputs: &[
        Input {
            key: "bit_rate_kbps",
            says: "bits a second on the air, thousands",
            kind: Kind::Number(fsk::BIT_RATE),
            default: None,
        },
        PAYLOAD,
        Input {
            key: "noise_figure_db",
            says: "noise figure; 15 is typical at 2.4 GHz",
            kind: Kind::Number(bounds::NOISE_FIGURE),
            default: Some("15"),
        },
    ],
    outputs: &[Output { key: "sensitivity_dbm", says: "sensitivity" }],
    formula: "10 log10(k 290 R / 1 mW) + F + Eb/N0 at which 1 - (1 - exp(-Eb/2N0) / 2)^n = 0.01; n the \
              packet's bits: 8 payload + 88",
    holds: "non-coherent two-tone theory; the default noise figure within 3 dB of the SX1280/81's GFSK table",
    source: "Proakis, Digital Communications, 4th edition, 5.4 (from memory); SX1280/81 data sheet Rev 2.2, \
             table 6-7",
    example: &[("bit_rate_kbps", "250"), ("payload_bytes", "10")],
    run: |given| {
        let fsk = Modulation::Fsk(Fsk::neutral(given.number("bit_rate_kbps")?, Khz(fsk::DEVIATION.low)));
        let figure = Db(given.number("noise_figure_db")?);
        let level = silicon::sensitivity(&fsk, given.whole("payload_bytes")?, figure)?;
        Ok(Answer::number("sensitivity_dbm", level.0))
    },
};

pub(super) const FLRC: Formula = Formula {
    name: "flrc-sensitivity",
    says: "the stated sensitivity of the fast coded 2.4 GHz modulation",
    inputs: &[
        Input {
            key: "bit_rate_kbps",
            says: "bits a second on the air, thousands",
            kind: Kind::Choice(&["1300", "1040", "650", "520", "325", "260"]),
            default: None,
        },
        Input {
            key: "coding",
            says: "share of payload among the bits sent",
            kind: Kind::Choice(&["1/2", "3/4", "1"]),
            default: Some("3/4"),
        },
    ],
    outputs: &[Output { key: "sensitivity_dbm", says: "sensitivity" }],
    formula: "read from the data sheet's table, not reckoned",
    holds: "the rates of the table; packet error 1 %",
    source: "SX1280/81 data sheet Rev 2.2, table 6-5 (read)",
    example: &[("bit_rate_kbps", "650"), ("coding", "3/4")],
    run: |given| {
        let word = given.choice("bit_rate_kbps")?;
        let coding = match given.choice("coding")? {
            "1/2" => FlrcCoding::Half,
            "1" => FlrcCoding::Uncoded,
            _ => FlrcCoding::ThreeQuarters,
        };
        let stated = word.parse().ok().and_then(|rate| silicon::flrc_sensitivity(rate, coding));
        let level = stated
            .ok_or_else(|| CalcError::DontGoTogether(format!("no sensitivity is stated at {word} kb/s")))?;
        Ok(Answer::number("sensitivity_dbm", level.0))
    },
};
