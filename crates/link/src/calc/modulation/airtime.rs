//! Airtime by name.

use units::Khz;

use super::{BANDWIDTH, CHIP, PAYLOAD, SF, chip, coding, spreading};
use crate::bounds;
use crate::calc::{Answer, CalcError, Formula, Given, Input, Kind, Output};
use crate::css::{Chip, Css, Header, Interleaving, LowRate};
use crate::fsk::{self, Flrc, FlrcCoding, Fsk};

/// Coding rates as they may be typed.
const CODINGS: &[&str] =
    &["4/5", "4/6", "4/7", "4/8", "5", "6", "7", "8", "1", "2", "3", "4", "4/5LI", "4/6LI", "4/8LI"];

pub(super) const CSS: Formula = Formula {
    name: "css-airtime",
    says: "time of a chirp packet on the air",
    inputs: &[
        CHIP,
        SF,
        BANDWIDTH,
        Input {
            key: "coding_rate",
            says: "coding rate, its denominator, or its number of added bits",
            kind: Kind::Choice(CODINGS),
            default: Some("4/5"),
        },
        Input {
            key: "interleaving",
            says: "interleaving (long at 2.4 GHz only)",
            kind: Kind::Choice(&["standard", "long"]),
            default: Some("standard"),
        },
        Input {
            key: "preamble_symbols",
            says: "preamble as programmed; left out: 8 below 1 GHz, 12 at 2.4 GHz",
            kind: Kind::Whole(bounds::PREAMBLE),
            default: Some(""),
        },
        PAYLOAD,
        Input {
            key: "header",
            says: "whether the packet says its own length",
            kind: Kind::Choice(&["explicit", "implicit", "on", "off", "1", "0"]),
            default: Some("explicit"),
        },
        Input { key: "crc", says: "16-bit CRC", kind: Kind::Switch, default: Some("on") },
        Input {
            key: "low_rate",
            says: "low-rate optimisation",
            kind: Kind::Choice(&["auto", "on", "off", "1", "0"]),
            default: Some("auto"),
        },
    ],
    outputs: &[
        Output { key: "airtime_us", says: "time on the air" },
        Output { key: "symbols", says: "symbols with preamble, to the quarter symbol" },
        Output { key: "symbol_us", says: "time of one symbol" },
        Output { key: "bit_rate_kbps", says: "payload bits a second while the payload is sent" },
    ],
    formula: "symbols x 2^SF / B; symbols below 1 GHz and standard at 2.4 GHz: preamble + 4.25 (6.25 at SF5, \
              SF6) + 8 + ceil(max(8 PL + CRC - 4 SF + 8 (0 at SF5, SF6) + header, 0) / (4 (SF - 2 low rate))) \
              x denominator; CRC 16, header 20 bits; long interleaving as the data sheet prints it",
    holds: "SF5 to SF12, payload 1 to 255 bytes; low rate auto: on from 16.384 ms a symbol below 1 GHz, at \
            SF11 and SF12 at 2.4 GHz",
    source: "SX1261/2 data sheet, 6.1.4 (transcriptions); SX1280/81 data sheet Rev 2.2, 7.4.4 (read)",
    example: &[("chip", "2g4"), ("sf", "7"), ("bandwidth_hz", "812500"), ("payload_bytes", "8")],
    run: |given| {
        let css = css(given)?;
        let payload = given.whole("payload_bytes")?;
        Ok(Answer::number("airtime_us", css.airtime(payload)?.0)
            .and("symbols", css.symbols(payload)?)
            .and("symbol_us", css.symbol_time()?.0)
            .and("bit_rate_kbps", css.bit_rate()?.0))
    },
};

/// The modulation that was typed.
fn css(given: &Given) -> Result<Css, CalcError> {
    let mut coding = coding(given.choice("coding_rate")?)?;
    if given.choice("interleaving")? == "long" {
        coding.interleaving = Interleaving::Long;
    }
    let chip = chip(given)?;
    if coding.interleaving == Interleaving::Long && (chip == Chip::SubGhz || coding.denominator == 7) {
        return Err(CalcError::DontGoTogether(
            "long interleaving exists at 2.4 GHz only, at 4/5, 4/6 and 4/8; choose chip=2g4 and one of \
             these, or interleaving=standard"
                .to_owned(),
        ));
    }
    let bandwidth = Khz(given.number("bandwidth_hz")? / 1e3);
    let mut css = Css::neutral(chip, spreading(given)?, bandwidth, coding.denominator);
    css.coding = coding;
    if given.maybe_number("preamble_symbols")?.is_some() {
        css.preamble_symbols = given.whole("preamble_symbols")?;
    }
    css.header = match given.choice("header")? {
        "implicit" | "off" | "0" => Header::Implicit,
        _ => Header::Explicit,
    };
    css.crc = given.on("crc")?;
    css.low_rate = match given.choice("low_rate")? {
        "on" | "1" => LowRate::On,
        "off" | "0" => LowRate::Off,
        _ => LowRate::Auto,
    };
    Ok(css.new_checked()?)
}

const BIT_RATE: Input = Input {
    key: "bit_rate_kbps",
    says: "bits a second on the air, thousands",
    kind: Kind::Number(fsk::BIT_RATE),
    default: None,
};

const CRC_BITS: Input =
    Input { key: "crc_bits", says: "CRC", kind: Kind::Whole(fsk::FRAME_BITS), default: Some("16") };

pub(super) const FSK: Formula = Formula {
    name: "fsk-airtime",
    says: "time of an FSK packet on the air",
    inputs: &[
        BIT_RATE,
        Input {
            key: "preamble_bits",
            says: "preamble",
            kind: Kind::Whole(fsk::FRAME_BITS),
            default: Some("32"),
        },
        Input {
            key: "sync_bits",
            says: "sync word",
            kind: Kind::Whole(fsk::FRAME_BITS),
            default: Some("32"),
        },
        Input {
            key: "header_bits",
            says: "length and address",
            kind: Kind::Whole(fsk::FRAME_BITS),
            default: Some("8"),
        },
        PAYLOAD,
        CRC_BITS,
    ],
    outputs: &[
        Output { key: "airtime_us", says: "time on the air" },
        Output { key: "bits", says: "bits of the packet" },
    ],
    formula: "(preamble + sync + header + 8 payload + CRC) / bit rate",
    holds: "0.1 to 4000 kb/s, payload 1 to 255 bytes, without coding",
    source: "counting bits; packet parts as in the SX1261/2 and SX1280/81 data sheets. The defaults are \
             judgement",
    example: &[("bit_rate_kbps", "250"), ("payload_bytes", "10")],
    run: |given| {
        let fsk = Fsk {
            preamble_bits: given.whole("preamble_bits")?,
            sync_bits: given.whole("sync_bits")?,
            header_bits: given.whole("header_bits")?,
            crc_bits: given.whole("crc_bits")?,
            // The deviation has no part in airtime.
            ..Fsk::neutral(given.number("bit_rate_kbps")?, Khz(fsk::DEVIATION.low))
        };
        let payload = given.whole("payload_bytes")?;
        Ok(Answer::number("airtime_us", fsk.airtime(payload)?.0).and("bits", f64::from(fsk.bits(payload)?)))
    },
};

pub(super) const FSK_BANDWIDTH: Formula = Formula {
    name: "fsk-bandwidth",
    says: "occupied bandwidth of FSK by Carson's rule",
    inputs: &[
        BIT_RATE,
        Input {
            key: "deviation_khz",
            says: "deviation to either side",
            kind: Kind::Number(fsk::DEVIATION),
            default: None,
        },
    ],
    outputs: &[Output { key: "bandwidth_khz", says: "occupied bandwidth" }],
    formula: "2 (deviation + bit rate / 2)",
    holds: "a rule of thumb for about 98 % of the power",
    source: "J. R. Carson, Notes on the Theory of Modulation, Proc. IRE 10(1), 1922 (from memory)",
    example: &[("bit_rate_kbps", "250"), ("deviation_khz", "62.5")],
    run: |given| {
        let fsk = Fsk::neutral(given.number("bit_rate_kbps")?, Khz(given.number("deviation_khz")?));
        fsk.check()?;
        Ok(Answer::number("bandwidth_khz", fsk.bandwidth().0))
    },
};

pub(super) const FLRC: Formula = Formula {
    name: "flrc-airtime",
    says: "time of a packet of the fast coded 2.4 GHz modulation on the air, fixed length",
    inputs: &[
        BIT_RATE,
        Input {
            key: "coding",
            says: "share of payload among the bits sent",
            kind: Kind::Choice(&["1/2", "3/4", "1"]),
            default: Some("3/4"),
        },
        Input {
            key: "agc_preamble_bits",
            says: "preamble for the receiver's gain",
            kind: Kind::Whole(fsk::AGC_PREAMBLE),
            default: Some("16"),
        },
        PAYLOAD,
        CRC_BITS,
    ],
    outputs: &[Output { key: "airtime_us", says: "time on the air" }],
    formula: "(gain preamble + 21 + 32 + ceil((8 payload + CRC + tail) / coding)) / bit rate; tail 6 bits at \
              1/2 and 3/4, else 0",
    holds: "fixed packet length; gain preamble 8 to 32 bits, at least 16 below 1300 kb/s",
    source: "SX1280/81 data sheet Rev 2.2, 7.3.4 (read)",
    example: &[("bit_rate_kbps", "650"), ("payload_bytes", "13")],
    run: |given| {
        let flrc = Flrc {
            bit_rate_kbps: given.number("bit_rate_kbps")?,
            coding: match given.choice("coding")? {
                "1/2" => FlrcCoding::Half,
                "1" => FlrcCoding::Uncoded,
                _ => FlrcCoding::ThreeQuarters,
            },
            agc_preamble_bits: given.whole("agc_preamble_bits")?,
            crc_bits: given.whole("crc_bits")?,
        };
        Ok(Answer::number("airtime_us", flrc.airtime(given.whole("payload_bytes")?)?.0))
    },
};
