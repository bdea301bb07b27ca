//! What the data sheets of the public chips state as sensitivity of chirps.

use units::{Dbm, Khz};

use self::Known::{Memory, Read, SecondHand};
use super::Part::{self, Sx1261, Sx1272, Sx1276, Sx1280HighSensitivity, Sx1280LowPower};

/// How a published value is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Known {
    /// Read in the data sheet.
    Read,
    /// Read in transcriptions of the data sheet that agree.
    SecondHand,
    /// From memory: to be reported, never to decide.
    Memory,
}

impl Known {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Known::Read => "read in the data sheet",
            Known::SecondHand => "read in a transcription",
            Known::Memory => "from memory",
        }
    }
}

/// One published sensitivity: packet error 1 %, payload 10 bytes, coding 4/5 where the
/// sheet says it (SX1280/81).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Published {
    /// Chip and way of receiving.
    pub part: Part,
    /// Bandwidth.
    pub bandwidth: Khz,
    /// Spreading factor.
    pub sf: u8,
    /// The level.
    pub sensitivity: Dbm,
    /// How it is known.
    pub known: Known,
}

const fn row(part: Part, khz: f64, sf: u8, dbm: f64, known: Known) -> Published {
    Published { part, bandwidth: Khz(khz), sf, sensitivity: Dbm(dbm), known }
}

/// Every one of them, as the parts' data sheets state it ([`Part::source`]).
pub const PUBLISHED: &[Published] = &[
    row(Sx1276, 125.0, 6, -118.0, Memory),
    row(Sx1276, 125.0, 7, -123.0, SecondHand),
    row(Sx1276, 125.0, 8, -126.0, SecondHand),
    row(Sx1276, 125.0, 9, -129.0, SecondHand),
    row(Sx1276, 125.0, 10, -132.0, SecondHand),
    row(Sx1276, 125.0, 11, -133.0, SecondHand),
    row(Sx1276, 125.0, 12, -136.0, SecondHand),
    row(Sx1276, 250.0, 6, -115.0, Memory),
    row(Sx1276, 250.0, 7, -120.0, SecondHand),
    row(Sx1276, 250.0, 8, -123.0, SecondHand),
    row(Sx1276, 250.0, 9, -125.0, SecondHand),
    row(Sx1276, 250.0, 10, -128.0, SecondHand),
    row(Sx1276, 250.0, 11, -130.0, SecondHand),
    row(Sx1276, 250.0, 12, -133.0, SecondHand),
    row(Sx1276, 500.0, 6, -111.0, Memory),
    row(Sx1276, 500.0, 7, -116.0, SecondHand),
    row(Sx1276, 500.0, 8, -119.0, SecondHand),
    row(Sx1276, 500.0, 9, -122.0, SecondHand),
    row(Sx1276, 500.0, 10, -125.0, SecondHand),
    row(Sx1276, 500.0, 11, -128.0, SecondHand),
    row(Sx1276, 500.0, 12, -130.0, SecondHand),
    row(Sx1272, 125.0, 6, -121.0, Read),
    row(Sx1272, 125.0, 7, -124.0, Read),
    row(Sx1272, 125.0, 8, -127.0, Read),
    row(Sx1272, 125.0, 9, -130.0, Read),
    row(Sx1272, 125.0, 10, -133.0, Read),
    row(Sx1272, 125.0, 11, -135.0, Read),
    row(Sx1272, 125.0, 12, -137.0, Read),
    row(Sx1272, 250.0, 6, -118.0, Read),
    row(Sx1272, 250.0, 7, -122.0, Read),
    row(Sx1272, 250.0, 8, -125.0, Read),
    row(Sx1272, 250.0, 9, -128.0, Read),
    row(Sx1272, 250.0, 10, -130.0, Read),
    row(Sx1272, 250.0, 11, -132.0, Read),
    row(Sx1272, 250.0, 12, -135.0, Read),
    row(Sx1272, 500.0, 6, -111.0, Read),
    row(Sx1272, 500.0, 7, -116.0, Read),
    row(Sx1272, 500.0, 8, -119.0, Read),
    row(Sx1272, 500.0, 9, -122.0, Read),
    row(Sx1272, 500.0, 10, -125.0, Read),
    row(Sx1272, 500.0, 11, -128.0, Read),
    row(Sx1272, 500.0, 12, -129.0, Read),
    row(Sx1261, 10.4, 7, -134.0, SecondHand),
    row(Sx1261, 10.4, 12, -148.0, SecondHand),
    row(Sx1261, 125.0, 7, -124.0, SecondHand),
    row(Sx1261, 125.0, 12, -137.0, SecondHand),
    row(Sx1261, 250.0, 7, -121.0, SecondHand),
    row(Sx1261, 250.0, 12, -134.0, SecondHand),
    row(Sx1261, 500.0, 7, -117.0, SecondHand),
    row(Sx1261, 500.0, 12, -129.0, SecondHand),
    row(Sx1280LowPower, 203.125, 5, -109.0, Read),
    row(Sx1280LowPower, 203.125, 6, -111.0, Read),
    row(Sx1280LowPower, 203.125, 7, -115.0, Read),
    row(Sx1280LowPower, 203.125, 8, -118.0, Read),
    row(Sx1280LowPower, 203.125, 9, -121.0, Read),
    row(Sx1280LowPower, 203.125, 10, -124.0, Read),
    row(Sx1280LowPower, 203.125, 11, -127.0, Read),
    row(Sx1280LowPower, 203.125, 12, -130.0, Read),
    row(Sx1280LowPower, 406.25, 5, -107.0, Read),
    row(Sx1280LowPower, 406.25, 6, -110.0, Read),
    row(Sx1280LowPower, 406.25, 7, -113.0, Read),
    row(Sx1280LowPower, 406.25, 8, -116.0, Read),
    row(Sx1280LowPower, 406.25, 9, -119.0, Read),
    row(Sx1280LowPower, 406.25, 10, -122.0, Read),
    row(Sx1280LowPower, 406.25, 11, -125.0, Read),
    row(Sx1280LowPower, 406.25, 12, -128.0, Read),
    row(Sx1280LowPower, 812.5, 5, -105.0, Read),
    row(Sx1280LowPower, 812.5, 6, -108.0, Read),
    row(Sx1280LowPower, 812.5, 7, -112.0, Read),
    row(Sx1280LowPower, 812.5, 8, -115.0, Read),
    row(Sx1280LowPower, 812.5, 9, -117.0, Read),
    row(Sx1280LowPower, 812.5, 10, -120.0, Read),
    row(Sx1280LowPower, 812.5, 11, -123.0, Read),
    row(Sx1280LowPower, 812.5, 12, -126.0, Read),
    row(Sx1280LowPower, 1625.0, 5, -99.0, Read),
    row(Sx1280LowPower, 1625.0, 6, -103.0, Read),
    row(Sx1280LowPower, 1625.0, 7, -106.0, Read),
    row(Sx1280LowPower, 1625.0, 8, -109.0, Read),
    row(Sx1280LowPower, 1625.0, 9, -111.0, Read),
    row(Sx1280LowPower, 1625.0, 10, -114.0, Read),
    row(Sx1280LowPower, 1625.0, 11, -117.0, Read),
    row(Sx1280LowPower, 1625.0, 12, -120.0, Read),
    row(Sx1280HighSensitivity, 1625.0, 7, -108.0, Read),
    row(Sx1280HighSensitivity, 203.125, 12, -132.0, Read),
];
