//! Chirp spread spectrum: symbols, airtime, rates, required SNR.

use units::{Db, Khz, Micros};

use crate::bounds::{self, Bound, OutOfRange};

/// A bandwidth of a chirp.
pub const BANDWIDTH: Bound = Bound {
    name: "bandwidth_hz",
    unit: "Hz",
    low: 7_000.0,
    high: 2_000_000.0,
    why: "the public chips chirp over 7.81 kHz to 1625 kHz",
};

/// The denominator of a coding rate.
const DENOMINATOR: Bound = Bound {
    name: "coding_rate",
    unit: "",
    low: 5.0,
    high: 8.0,
    why: "the denominator of 4/5, 4/6, 4/7 or 4/8",
};

/// What long interleaving refuses.
const LONG_CODING: Bound = Bound {
    name: "coding_rate",
    unit: "",
    low: 5.0,
    high: 6.0,
    why: "long interleaving knows 4/5, 4/6 and 4/8, and only at 2.4 GHz",
};

/// A bit rate, thousands of bits a second.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Kbps(pub f64);

/// Which public chip generation's packet format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Chip {
    /// The generation below 1 GHz (SX1261/2 data sheet, section 6.1).
    SubGhz,
    /// The generation at 2.4 GHz (SX1280/81 data sheet Rev 2.2, section 7.4).
    Ghz2g4,
}

impl Chip {
    /// The word in formulas and files.
    pub fn word(self) -> &'static str {
        match self {
            Chip::SubGhz => "sub-ghz",
            Chip::Ghz2g4 => "2g4",
        }
    }
}

impl Interleaving {
    /// The word in formulas and files.
    pub fn word(self) -> &'static str {
        match self {
            Interleaving::Standard => "standard",
            Interleaving::Long => "long",
        }
    }
}

impl Header {
    /// The word in formulas and files.
    pub fn word(self) -> &'static str {
        match self {
            Header::Explicit => "explicit",
            Header::Implicit => "implicit",
        }
    }
}

/// How bits are coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Coding {
    /// The denominator: 5 to 8 for 4/5 to 4/8.
    pub denominator: u8,
    /// Over how many symbols bits are spread.
    pub interleaving: Interleaving,
}

/// Over how many symbols bits are spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Interleaving {
    /// Block by block.
    Standard,
    /// Over the whole packet (2.4 GHz generation; 4/5, 4/6 and 4/8 only).
    Long,
}

/// Whether a packet says its own length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Header {
    /// A header says it.
    Explicit,
    /// Both ends know it.
    Implicit,
}

/// Low-rate optimisation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LowRate {
    /// As the data sheet asks: below 1 GHz on where a symbol lasts 16.384 ms or longer, at
    /// 2.4 GHz at SF11 and SF12 whatever the bandwidth.
    Auto,
    /// On (the chips that hold both bands leave it to the program); without effect at SF5
    /// and SF6 and with long interleaving.
    On,
    /// Off; without effect with long interleaving.
    Off,
}

/// One chirp modulation with its packet format.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Css {
    /// Which generation's packet format.
    pub chip: Chip,
    /// Spreading factor, 5 to 12.
    pub sf: u8,
    /// Bandwidth.
    pub bandwidth: Khz,
    /// Coding.
    pub coding: Coding,
    /// Preamble symbols, as programmed.
    pub preamble_symbols: u32,
    /// Header.
    pub header: Header,
    /// Whether a 16-bit CRC over the payload is sent.
    pub crc: bool,
    /// Low-rate optimisation.
    pub low_rate: LowRate,
}

/// What a packet is made of, in symbols.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Parts {
    /// Preamble, sync and start, with the quarter symbol.
    pub preamble: f64,
    /// Symbols of the first block, which is always coded 4/8; fewer than 8 only in the
    /// shortest packets with long interleaving and no header.
    pub head: u32,
    /// Symbols after it.
    pub rest: u32,
}

impl Coding {
    /// Block by block, at 4/`denominator`.
    pub fn standard(denominator: u8) -> Coding {
        Coding { denominator, interleaving: Interleaving::Standard }
    }

    /// Reads `4/5` to `4/8`, the denominator alone (`5` to `8`), the number of added bits
    /// as data sheets program it (`1` to `4`), and `4/5LI`, `4/6LI`, `4/8LI` for long
    /// interleaving.
    pub fn parse(text: &str) -> Option<Coding> {
        let text = text.trim();
        let (text, interleaving) = match text.strip_suffix("LI").or_else(|| text.strip_suffix("li")) {
            Some(rest) => (rest.trim_end(), Interleaving::Long),
            None => (text, Interleaving::Standard),
        };
        let denominator = match text.strip_prefix("4/").unwrap_or(text) {
            "5" => 5,
            "6" => 6,
            "7" => 7,
            "8" => 8,
            "1" if !text.contains('/') => 5,
            "2" if !text.contains('/') => 6,
            "3" if !text.contains('/') => 7,
            "4" if !text.contains('/') => 8,
            _ => return None,
        };
        let known = interleaving == Interleaving::Standard || denominator != 7;
        known.then_some(Coding { denominator, interleaving })
    }
}

impl Css {
    /// A modulation of which only this is known: a preamble of 8 symbols below 1 GHz
    /// (SX1261/2 data sheet, the value of its examples) or 12 at 2.4 GHz (the SX1280/81 data
    /// sheet's recommendation), a header, a CRC, low-rate optimisation as the data sheet
    /// asks, standard interleaving.
    pub fn neutral(chip: Chip, sf: u8, bandwidth: Khz, denominator: u8) -> Css {
        Css {
            chip,
            sf,
            bandwidth,
            coding: Coding::standard(denominator),
            preamble_symbols: if chip == Chip::SubGhz { 8 } else { 12 },
            header: Header::Explicit,
            crc: true,
            low_rate: LowRate::Auto,
        }
    }

    /// Whether the chips can be set so.
    ///
    /// # Errors
    /// [`OutOfRange`] for a spreading factor outside 5 to 12, a bandwidth outside
    /// [`BANDWIDTH`], a preamble of no symbol or more than 65535, a coding rate that is
    /// none of 4/5 to 4/8, and 4/7 or a chip below 1 GHz with long interleaving.
    pub fn check(&self) -> Result<(), OutOfRange> {
        bounds::SPREADING.check(f64::from(self.sf))?;
        BANDWIDTH.check(self.bandwidth.hz())?;
        bounds::PREAMBLE.check(f64::from(self.preamble_symbols))?;
        let denominator = DENOMINATOR.check(f64::from(self.coding.denominator))?;
        let long = self.coding.interleaving == Interleaving::Long;
        if long && (self.coding.denominator == 7 || self.chip == Chip::SubGhz) {
            return Err(OutOfRange {
                name: LONG_CODING.name.to_owned(),
                got: denominator,
                bound: LONG_CODING,
            });
        }
        Ok(())
    }

    /// The same modulation, when the chips can be set so.
    ///
    /// # Errors
    /// As [`Css::check`].
    pub fn new_checked(self) -> Result<Css, OutOfRange> {
        self.check().map(|()| self)
    }

    /// How long one symbol lasts: 2^SF / bandwidth.
    ///
    /// # Errors
    /// As [`Css::check`].
    pub fn symbol_time(&self) -> Result<Micros, OutOfRange> {
        self.check()?;
        Ok(Micros(self.chirps() * 1e3 / self.bandwidth.0))
    }

    /// Symbols of a packet with its preamble, to the quarter symbol.
    ///
    /// Below 1 GHz: SX1261/2 data sheet, 6.1.4. At 2.4 GHz: SX1280/81 data sheet Rev 2.2,
    /// 7.4.4, standard and long interleaving, with and without header.
    ///
    /// # Errors
    /// As [`Css::check`]; a payload outside 1 to 255 bytes.
    pub fn symbols(&self, payload_bytes: u32) -> Result<f64, OutOfRange> {
        let parts = self.parts(payload_bytes)?;
        Ok(parts.preamble + f64::from(parts.head + parts.rest))
    }

    /// Time of a packet on the air.
    ///
    /// # Errors
    /// As [`Css::symbols`].
    pub fn airtime(&self, payload_bytes: u32) -> Result<Micros, OutOfRange> {
        Ok(Micros(self.symbols(payload_bytes)? * self.chirps() * 1e3 / self.bandwidth.0))
    }

    /// Payload bits a second while the payload is on the air: bits per symbol x 4 /
    /// denominator x symbols a second (SX1261/2 data sheet, 6.1.1).
    ///
    /// # Errors
    /// As [`Css::check`].
    pub fn bit_rate(&self) -> Result<Kbps, OutOfRange> {
        self.check()?;
        let bits = f64::from(self.bits_per_symbol()) * 4.0 / f64::from(self.coding.denominator);
        Ok(Kbps(bits * self.bandwidth.0 / self.chirps()))
    }

    /// Chips of one symbol: 2^SF.
    fn chirps(&self) -> f64 {
        f64::from(self.sf).exp2()
    }

    /// Whether the payload carries two bits fewer in each symbol.
    fn reduced(&self) -> bool {
        let printed = match self.chip {
            Chip::SubGhz => self.sf >= 7 && self.chirps() / self.bandwidth.0 >= 16.384,
            Chip::Ghz2g4 => self.sf >= 11,
        };
        match (self.coding.interleaving, self.low_rate) {
            (Interleaving::Long, _) | (_, LowRate::Auto) => printed,
            (_, LowRate::On) => self.sf >= 7,
            (_, LowRate::Off) => false,
        }
    }

    fn bits_per_symbol(&self) -> u32 {
        u32::from(self.sf) - if self.reduced() { 2 } else { 0 }
    }

    /// The packet in its parts.
    pub(crate) fn parts(&self, payload_bytes: u32) -> Result<Parts, OutOfRange> {
        self.check()?;
        bounds::PAYLOAD.check(f64::from(payload_bytes))?;
        let small = self.sf <= 6;
        let preamble = f64::from(self.preamble_symbols) + if small { 6.25 } else { 4.25 };
        let data = 8 * i64::from(payload_bytes) + if self.crc { 16 } else { 0 };
        let (head, rest) = match (self.coding.interleaving, self.header) {
            (Interleaving::Standard, _) => (8, self.standard_blocks(data)),
            (Interleaving::Long, Header::Explicit) => (8, self.long_with_header(data, payload_bytes)),
            (Interleaving::Long, Header::Implicit) => self.long_without_header(data),
        };
        let whole = |symbols: i64| u32::try_from(symbols.max(0)).unwrap_or(u32::MAX / 2);
        Ok(Parts { preamble, head: whole(head), rest: whole(rest) })
    }

    /// Symbols after the first block; `data` is payload and CRC in bits.
    fn standard_blocks(&self, data: i64) -> i64 {
        let sf = i64::from(self.sf);
        let header = if self.header == Header::Explicit { 20 } else { 0 };
        let spare = if self.sf <= 6 { 0 } else { 8 };
        let bits = data - 4 * sf + spare + header;
        ceil_div(bits.max(0), 4 * i64::from(self.bits_per_symbol())) * i64::from(self.coding.denominator)
    }

    fn long_with_header(&self, data: i64, payload_bytes: u32) -> i64 {
        let (sf, denominator) = (i64::from(self.sf), i64::from(self.coding.denominator));
        let beside_header = if sf <= 6 { 8 * ((sf - 5) / 2) } else { 8 * ((sf - 7) / 2) };
        let bits = if data > beside_header {
            data - beside_header.min(8 * i64::from(payload_bytes))
        } else {
            data - beside_header
        };
        ceil_div(bits.max(0) * denominator, 4 * i64::from(self.bits_per_symbol()))
    }

    fn long_without_header(&self, data: i64) -> (i64, i64) {
        let sf = i64::from(self.sf);
        let coded = data * i64::from(self.coding.denominator);
        let first = ceil_div(coded, if sf <= 6 { 4 * sf } else { 4 * (sf - 2) });
        if first < 8 {
            return (first, 0);
        }
        let all = match sf {
            ..=6 => ceil_div(coded, 4 * sf),
            7..=10 => ceil_div(coded + 64, 4 * sf),
            _ => ceil_div(coded, 4 * (sf - 2)),
        };
        (8, all - 8)
    }
}

/// The quotient rounded up; the dividend isn't negative.
fn ceil_div(dividend: i64, divisor: i64) -> i64 {
    (dividend + divisor - 1) / divisor
}

/// The signal-to-noise ratio in the signal's bandwidth at which the chips' data sheets
/// reckon: -2.5 dB at SF5, 2.5 dB less for each further step.
///
/// SX1276/77/78/79 data sheet Rev 7, table 13 (SF6 to SF12); SX1261/2 data sheet Rev 2.2,
/// table 6-1 (SF5 to SF12). The SX1280/81 data sheet prints none; the same is used there.
/// An ideal receiver ([`crate::error_rate`]) would lose 1 % of packets of 10 bytes at 4/5 with
/// 0.4 to 1.8 dB less at SF8 to SF12, with 0.6 dB more at SF5; the noise figures of
/// [`crate::silicon`] are fitted with these ratios and hold the difference.
///
/// # Errors
/// [`OutOfRange`] for a spreading factor outside 5 to 12.
pub fn required_snr(sf: u8) -> Result<Db, OutOfRange> {
    let sf = bounds::SPREADING.check(f64::from(sf))?;
    Ok(Db(-2.5 * (sf - 4.0)))
}
