//! Frequency-shift keying and its coded relative at 2.4 GHz: airtime and occupied bandwidth.

use units::{Khz, Micros};

use crate::bounds::{self, Bound, OutOfRange};

/// A bit rate.
pub const BIT_RATE: Bound = Bound {
    name: "bit_rate_kbps",
    unit: "kb/s",
    low: 0.1,
    high: 4000.0,
    why: "the public chips send 0.6 to 2000 kb/s",
};

/// A deviation.
pub const DEVIATION: Bound = Bound {
    name: "deviation_khz",
    unit: "kHz",
    low: 0.05,
    high: 2000.0,
    why: "from the carrier to either side",
};

/// Bits of a part of the packet that is no payload.
pub const FRAME_BITS: Bound =
    Bound { name: "frame_bits", unit: "bits", low: 0.0, high: 524_280.0, why: "at most 65535 bytes" };

/// The preamble of the coded packet that lets the receiver set its gain.
pub const AGC_PREAMBLE: Bound = Bound {
    name: "agc_preamble_bits",
    unit: "bits",
    low: 8.0,
    high: 32.0,
    why: "SX1280/81 data sheet Rev 2.2, 7.3; at least 16 below 1.3 Mb/s",
};

/// One FSK modulation with its packet format.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fsk {
    /// Bits a second, thousands.
    pub bit_rate_kbps: f64,
    /// Deviation from the carrier to either side.
    pub deviation: Khz,
    /// Preamble, bits.
    pub preamble_bits: u32,
    /// Sync word, bits.
    pub sync_bits: u32,
    /// Header, bits.
    pub header_bits: u32,
    /// CRC, bits.
    pub crc_bits: u32,
}

impl Fsk {
    /// A modulation of which only this is known: 32 bits of preamble, 32 of sync word, 8 of
    /// length and 16 of CRC. Judgement: usual settings of public chips, no source names them.
    pub fn neutral(bit_rate_kbps: f64, deviation: Khz) -> Fsk {
        Fsk { bit_rate_kbps, deviation, preamble_bits: 32, sync_bits: 32, header_bits: 8, crc_bits: 16 }
    }

    /// Whether a chip can be set so.
    ///
    /// # Errors
    /// [`OutOfRange`] for a bit rate outside [`BIT_RATE`], a deviation outside
    /// [`DEVIATION`], parts longer than [`FRAME_BITS`].
    pub fn check(&self) -> Result<(), OutOfRange> {
        BIT_RATE.check(self.bit_rate_kbps)?;
        DEVIATION.check(self.deviation.0)?;
        let frame = [
            ("preamble_bits", self.preamble_bits),
            ("sync_bits", self.sync_bits),
            ("header_bits", self.header_bits),
            ("crc_bits", self.crc_bits),
        ];
        for (name, bits) in frame {
            FRAME_BITS.check_as(name, f64::from(bits))?;
        }
        Ok(())
    }

    /// Bits of a packet.
    ///
    /// # Errors
    /// As [`Fsk::check`]; a payload outside 1 to 255 bytes.
    pub fn bits(&self, payload_bytes: u32) -> Result<u32, OutOfRange> {
        self.check()?;
        bounds::PAYLOAD.check(f64::from(payload_bytes))?;
        Ok(self.preamble_bits + self.sync_bits + self.header_bits + self.crc_bits + 8 * payload_bytes)
    }

    /// Time of a packet on the air: its bits over the bit rate.
    ///
    /// # Errors
    /// As [`Fsk::bits`].
    pub fn airtime(&self, payload_bytes: u32) -> Result<Micros, OutOfRange> {
        Ok(Micros(f64::from(self.bits(payload_bytes)?) * 1e3 / self.bit_rate_kbps))
    }

    /// Occupied bandwidth by Carson's rule, 2 (deviation + bit rate / 2) (J. R. Carson, Notes
    /// on the Theory of Modulation, Proc. IRE 10(1), 1922; from memory). It is a rule of
    /// thumb for the width that holds about 98 % of the power.
    pub fn bandwidth(&self) -> Khz {
        Khz(2.0 * (self.deviation.0 + self.bit_rate_kbps / 2.0))
    }
}

/// The share of payload bits among the bits that are sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FlrcCoding {
    /// One payload bit in two.
    Half,
    /// Three payload bits in four.
    ThreeQuarters,
    /// Nothing added.
    Uncoded,
}

/// The fast coded modulation of the 2.4 GHz generation, with fixed packet length.
///
/// SX1280/81 data sheet Rev 2.2, 7.3. Packets of variable length aren't reckoned: the data
/// sheet's figure and its formula disagree on how their header is coded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flrc {
    /// Bits a second on the air, thousands.
    pub bit_rate_kbps: f64,
    /// Coding.
    pub coding: FlrcCoding,
    /// Preamble for the receiver's gain, bits.
    pub agc_preamble_bits: u32,
    /// CRC, bits.
    pub crc_bits: u32,
}

impl Flrc {
    /// Time of a packet on the air: gain preamble, 21 bits of preamble and 32 of sync word
    /// uncoded; payload, CRC and tail coded (SX1280/81 data sheet Rev 2.2, 7.3.4).
    ///
    /// # Errors
    /// [`OutOfRange`] for a bit rate outside [`BIT_RATE`], a gain preamble outside
    /// [`AGC_PREAMBLE`], a CRC longer than [`FRAME_BITS`], a payload outside 1 to 255 bytes.
    pub fn airtime(&self, payload_bytes: u32) -> Result<Micros, OutOfRange> {
        BIT_RATE.check(self.bit_rate_kbps)?;
        let least = if self.bit_rate_kbps < 1300.0 { 16.0 } else { AGC_PREAMBLE.low };
        Bound { low: least, ..AGC_PREAMBLE }.check(f64::from(self.agc_preamble_bits))?;
        FRAME_BITS.check_as("crc_bits", f64::from(self.crc_bits))?;
        bounds::PAYLOAD.check(f64::from(payload_bytes))?;
        let bits = 8 * payload_bytes + self.crc_bits;
        let coded = match self.coding {
            FlrcCoding::Half => (bits + 6) * 2,
            FlrcCoding::ThreeQuarters => ((bits + 6) * 4).div_ceil(3),
            FlrcCoding::Uncoded => bits,
        };
        Ok(Micros(f64::from(self.agc_preamble_bits + 21 + 32 + coded) * 1e3 / self.bit_rate_kbps))
    }
}
