//! Error rates by name.

use units::{Db, Khz};

use super::{PAYLOAD, SF, coding, spreading};
use crate::bounds::{self, Bound};
use crate::calc::{Answer, CalcError, Formula, Given, Input, Kind, Output};
use crate::css::{Chip, Css};
use crate::error_rate::{
    self, Hamming, css_bit_error, css_bit_error_elshabrawy, css_symbol_error, css_symbol_error_rayleigh,
    fsk_bit_error, fsk_bit_error_rayleigh, hamming_codeword_error, packet_error, snr_for_symbol_error,
};
use crate::mode::Modulation;

const SNR: Input = Input {
    key: "snr_db",
    says: "SNR in the signal's bandwidth (its mean where it fades)",
    kind: Kind::Number(error_rate::SNR),
    default: None,
};

const FADING: Input =
    Input { key: "fading", says: "fading", kind: Kind::Choice(&["none", "rayleigh"]), default: Some("none") };

const THEORY: &str = "Proakis, Digital Communications, 4th edition, 5.4 and 14.3 (from memory)";

pub(super) const SYMBOL: Formula = Formula {
    name: "symbol-error",
    says: "how often chirp symbols are read wrong",
    inputs: &[SF, SNR, FADING],
    outputs: &[
        Output { key: "symbol_error", says: "chance of a wrong symbol" },
        Output { key: "bit_error", says: "chance of a wrong bit" },
        Output {
            key: "bit_error_closed_form",
            says: "the same by the published closed form, without fading",
        },
    ],
    formula: "integral of [1 - (1 - exp(-x^2/2))^(M-1)] p(x), p Rice with s^2 = 2 M SNR, M = 2^SF; bits x \
              (M/2)/(M-1); Rayleigh 1 - Gamma(M) Gamma(1+a)/Gamma(M+a), a = 1/(1 + M SNR); closed form \
              0.5 Q(sqrt(2^(SF+1) SNR) - sqrt(1.386 SF + 1.154))",
    holds: "an ideal non-coherent receiver in white noise; the closed form is low by 2 to 4 near 0.001 %",
    source: "Proakis, Digital Communications, 4th edition, 5.4 (from memory); Elshabrawy and Robert, IEEE \
             Communications Letters 22(9), 2018, 1778-1781 (transcriptions)",
    example: &[("sf", "7"), ("snr_db", "-7.5")],
    run: |given| {
        let (sf, snr) = (spreading(given)?, Db(given.number("snr_db")?));
        if given.choice("fading")? == "rayleigh" {
            let symbol = css_symbol_error_rayleigh(sf, snr)?;
            let all = f64::from(sf).exp2();
            let mut answer =
                Answer::number("symbol_error", symbol).and("bit_error", symbol * all / 2.0 / (all - 1.0));
            answer.values.push(("bit_error_closed_form", crate::calc::Value::Nothing));
            return Ok(answer.note("there is no closed form of this kind under fading"));
        }
        Ok(Answer::number("symbol_error", css_symbol_error(sf, snr)?)
            .and("bit_error", css_bit_error(sf, snr)?)
            .and("bit_error_closed_form", css_bit_error_elshabrawy(sf, snr)?))
    },
};

pub(super) const SYMBOL_SNR: Formula = Formula {
    name: "symbol-error-snr",
    says: "the SNR at which chirp symbols are read wrong so often",
    inputs: &[
        SF,
        Input {
            key: "symbol_error",
            says: "chance of a wrong symbol",
            kind: Kind::Number(error_rate::WANTED_SYMBOL_ERROR),
            default: None,
        },
    ],
    outputs: &[Output { key: "snr_db", says: "SNR in the signal's bandwidth" }],
    formula: "the inverse of symbol-error",
    holds: "an ideal non-coherent receiver in white noise",
    source: THEORY,
    example: &[("sf", "7"), ("symbol_error", "0.001")],
    run: |given| {
        let snr = snr_for_symbol_error(spreading(given)?, given.number("symbol_error")?)?;
        Ok(Answer::number("snr_db", snr.0))
    },
};

const EBN0: Bound = Bound { name: "ebn0_db", ..error_rate::SNR };

pub(super) const FSK_BIT: Formula = Formula {
    name: "fsk-bit-error",
    says: "how often FSK bits are read wrong",
    inputs: &[
        Input {
            key: "ebn0_db",
            says: "energy of a bit over the noise density (its mean where it fades)",
            kind: Kind::Number(EBN0),
            default: None,
        },
        FADING,
    ],
    outputs: &[Output { key: "bit_error", says: "chance of a wrong bit" }],
    formula: "exp(-Eb/2N0) / 2; Rayleigh 1 / (2 + mean Eb/N0)",
    holds: "two tones, non-coherent receiver, white noise",
    source: THEORY,
    example: &[("ebn0_db", "12")],
    run: |given| {
        let ebn0 = Db(given.number("ebn0_db")?);
        let faded = given.choice("fading")? == "rayleigh";
        let bit_error = if faded { fsk_bit_error_rayleigh(ebn0)? } else { fsk_bit_error(ebn0)? };
        Ok(Answer::number("bit_error", bit_error))
    },
};

pub(super) const HAMMING: Formula = Formula {
    name: "hamming-codeword-error",
    says: "how often a code word can't be mended",
    inputs: &[
        Input {
            key: "code",
            says: "bits of a code word and bits of data in it",
            kind: Kind::Choice(&["7/4", "8/4"]),
            default: Some("8/4"),
        },
        Input {
            key: "bit_error",
            says: "chance of a wrong bit before mending",
            kind: Kind::Number(Bound { name: "bit_error", unit: "", low: 0.0, high: 0.5, why: "" }),
            default: None,
        },
    ],
    outputs: &[Output { key: "codeword_error", says: "chance that a code word is lost" }],
    formula: "1 - (1-p)^n - n p (1-p)^(n-1)",
    holds: "hard decisions, wrong bits independent, one mended",
    source: "R. W. Hamming, Bell System Technical Journal 29(2), 1950 (from memory); binomial distribution",
    example: &[("code", "8/4"), ("bit_error", "0.001")],
    run: |given| {
        let code = if given.choice("code")? == "7/4" { Hamming::SevenFour } else { Hamming::EightFour };
        Ok(Answer::number("codeword_error", hamming_codeword_error(code, given.number("bit_error")?)?))
    },
};

pub(super) const PACKET: Formula = Formula {
    name: "packet-error",
    says: "how often a packet is lost at a signal-to-noise ratio",
    inputs: &[
        Input {
            key: "modulation",
            says: "chirps or FSK",
            kind: Kind::Choice(&["css", "fsk"]),
            default: Some("css"),
        },
        Input {
            key: "sf",
            says: "spreading factor (chirps)",
            kind: Kind::Whole(bounds::SPREADING),
            default: Some(""),
        },
        Input {
            key: "snr_db",
            says: "SNR in the signal's bandwidth (chirps)",
            kind: Kind::Number(error_rate::SNR),
            default: Some(""),
        },
        Input {
            key: "ebn0_db",
            says: "energy of a bit over the noise density (FSK)",
            kind: Kind::Number(EBN0),
            default: Some(""),
        },
        PAYLOAD,
        Input {
            key: "coding_rate",
            says: "none: the bare payload; else a whole chirp packet with header and CRC",
            kind: Kind::Choice(&["none", "4/5", "4/6", "4/7", "4/8", "5", "6", "7", "8"]),
            default: Some("none"),
        },
        Input {
            key: "chip",
            says: "generation of chips, for a whole chirp packet",
            kind: Kind::Choice(super::CHIPS),
            default: Some("2g4"),
        },
    ],
    outputs: &[
        Output { key: "packet_error", says: "chance that the packet is lost" },
        Output { key: "symbol_error", says: "chance of a wrong symbol (FSK: bit)" },
        Output {
            key: "symbols",
            says: "symbols (FSK: bits) of the payload, or of the packet after its preamble",
        },
    ],
    formula: "bare payload: 1 - (1 - Ps)^n, n = ceil(8 PL / SF) (FSK: 8 PL bits); whole packet: the first 8 \
              symbols and at 4/7 and 4/8 each block hold with one wrong symbol, all others must be right",
    holds: "an ideal receiver in white noise, preamble and sync word found",
    source: "symbol errors: Proakis, Digital Communications, 4th edition, 5.4 (from memory); packet: counting",
    example: &[("modulation", "css"), ("sf", "7"), ("snr_db", "-7.5"), ("payload_bytes", "8")],
    run: |given| if given.choice("modulation")? == "fsk" { fsk_packet(given) } else { css_packet(given) },
};

fn needs(modulation: &str, key: &str) -> CalcError {
    CalcError::DontGoTogether(format!("modulation={modulation} needs `{key}`; give it as {key}=VALUE"))
}

fn refuses(given: &Given, modulation: &str, key: &str) -> Result<(), CalcError> {
    match given.maybe_number(key)? {
        Some(_) => Err(CalcError::DontGoTogether(format!(
            "`{key}` has no part in modulation={modulation}; leave it out"
        ))),
        None => Ok(()),
    }
}

fn css_packet(given: &Given) -> Result<Answer, CalcError> {
    refuses(given, "css", "ebn0_db")?;
    given.maybe_number("sf")?.ok_or_else(|| needs("css", "sf"))?;
    let snr = Db(given.maybe_number("snr_db")?.ok_or_else(|| needs("css", "snr_db"))?);
    let (sf, payload) = (spreading(given)?, given.whole("payload_bytes")?);
    let symbol = css_symbol_error(sf, snr)?;
    let (packet, symbols) = match given.choice("coding_rate")? {
        "none" => {
            let symbols = f64::from((8 * payload).div_ceil(u32::from(sf)));
            (-(symbols * (-symbol).ln_1p()).exp_m1(), symbols)
        }
        word => {
            let chip = super::chip(given)?;
            let bandwidth = if chip == Chip::SubGhz { Khz(500.0) } else { Khz(812.5) };
            let css = Css { coding: coding(word)?, ..Css::neutral(chip, sf, bandwidth, 5) };
            let parts = css.parts(payload)?;
            (packet_error(&Modulation::Css(css), payload, snr)?, f64::from(parts.head + parts.rest))
        }
    };
    Ok(Answer::number("packet_error", packet).and("symbol_error", symbol).and("symbols", symbols))
}

fn fsk_packet(given: &Given) -> Result<Answer, CalcError> {
    refuses(given, "fsk", "snr_db")?;
    refuses(given, "fsk", "sf")?;
    if given.choice("coding_rate")? != "none" {
        return Err(CalcError::DontGoTogether(
            "`coding_rate` has no part in modulation=fsk; leave it out".to_owned(),
        ));
    }
    let ebn0 = Db(given.maybe_number("ebn0_db")?.ok_or_else(|| needs("fsk", "ebn0_db"))?);
    let bits = f64::from(8 * given.whole("payload_bytes")?);
    let wrong = fsk_bit_error(ebn0)?;
    Ok(Answer::number("packet_error", -(bits * (-wrong).ln_1p()).exp_m1())
        .and("symbol_error", wrong)
        .and("symbols", bits))
}
