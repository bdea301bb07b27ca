//! What goes on the air beside a mode's modulation: the packet's format, and how a band is
//! entered.

use units::Mhz;

use super::Band;

/// How a transmitter enters a band, as rules of radio use tell it apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Access {
    /// It sends without looking whether the channel is free.
    None,
    /// It listens before it sends.
    ListenBeforeTalk,
    /// It looks for others while it runs and leaves channels that are in use.
    DetectAndAvoid,
}

/// The format of a chirp packet, as far as the file says; what it doesn't is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PacketFormat {
    /// Symbols of preamble, as programmed.
    pub preamble_symbols: Option<u32>,
    /// Whether a header says how long the packet is.
    pub header: Option<HeaderKind>,
    /// Whether the packet carries a checksum of 16 bits.
    pub crc: Option<bool>,
    /// Over how many symbols bits are spread.
    pub interleaving: Option<InterleavingKind>,
    /// Which public chip generation's format it is; see [`PacketFormat::chip_on`].
    pub chip: Option<ChipKind>,
}

/// Whether a chirp packet says its own length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HeaderKind {
    /// A header says it.
    Explicit,
    /// Both ends know it.
    Implicit,
}

/// Over how many symbols of a chirp packet bits are spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum InterleavingKind {
    /// Block by block.
    Standard,
    /// Over the whole packet: 2.4 GHz generation only, coding rates 4/5, 4/6 and 4/8
    /// (SX1280/81 data sheet Rev 2.2, section 7.4.4).
    Long,
}

/// Which public chip generation's packet format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChipKind {
    /// The generation below 1 GHz (SX1261/2 data sheet, section 6.1).
    SubGhz,
    /// The generation at 2.4 GHz (SX1280/81 data sheet Rev 2.2, section 7.4).
    Ghz2g4,
}

impl PacketFormat {
    /// Whether the file says nothing about it.
    pub fn is_unknown(&self) -> bool {
        *self == PacketFormat::default()
    }

    /// Which generation's format the packets have on `band`: the one that is said, or else
    /// that of the generation made for such frequencies.
    pub fn chip_on(&self, band: &Band) -> ChipKind {
        const A_GIGAHERTZ: Mhz = Mhz(1000.0);
        self.chip.unwrap_or(if band.low < A_GIGAHERTZ { ChipKind::SubGhz } else { ChipKind::Ghz2g4 })
    }
}

impl Access {
    /// Every one.
    pub const ALL: [Access; 3] = [Access::None, Access::ListenBeforeTalk, Access::DetectAndAvoid];

    /// The word in files and forms.
    pub fn word(self) -> &'static str {
        match self {
            Access::None => "none",
            Access::ListenBeforeTalk => "listen-before-talk",
            Access::DetectAndAvoid => "detect-and-avoid",
        }
    }

    /// What people read.
    pub fn label(self) -> &'static str {
        match self {
            Access::None => "sends without listening",
            Access::ListenBeforeTalk => "listens before it talks",
            Access::DetectAndAvoid => "detects others and avoids them",
        }
    }
}

impl HeaderKind {
    /// Every one.
    pub const ALL: [HeaderKind; 2] = [HeaderKind::Explicit, HeaderKind::Implicit];

    /// The word in files and forms.
    pub fn word(self) -> &'static str {
        match self {
            HeaderKind::Explicit => "explicit",
            HeaderKind::Implicit => "implicit",
        }
    }

    /// What people read.
    pub fn label(self) -> &'static str {
        match self {
            HeaderKind::Explicit => "explicit header",
            HeaderKind::Implicit => "implicit header",
        }
    }
}

impl InterleavingKind {
    /// Every one.
    pub const ALL: [InterleavingKind; 2] = [InterleavingKind::Standard, InterleavingKind::Long];

    /// The word in files and forms.
    pub fn word(self) -> &'static str {
        match self {
            InterleavingKind::Standard => "standard",
            InterleavingKind::Long => "long",
        }
    }

    /// What people read.
    pub fn label(self) -> &'static str {
        match self {
            InterleavingKind::Standard => "standard interleaving",
            InterleavingKind::Long => "long interleaving",
        }
    }
}

impl ChipKind {
    /// Every one.
    pub const ALL: [ChipKind; 2] = [ChipKind::SubGhz, ChipKind::Ghz2g4];

    /// The word in files and forms.
    pub fn word(self) -> &'static str {
        match self {
            ChipKind::SubGhz => "sub-ghz",
            ChipKind::Ghz2g4 => "2g4",
        }
    }

    /// What people read.
    pub fn label(self) -> &'static str {
        match self {
            ChipKind::SubGhz => "format of chips below 1 GHz",
            ChipKind::Ghz2g4 => "format of chips at 2.4 GHz",
        }
    }
}
