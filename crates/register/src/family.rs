//! Link families: how one over-air system links, as data.
//!
//! The program knows no product. A family file is written by a user from their own
//! manuals; [`Family`] is what it says, [`read::read`] reads it and names the line and
//! key of every problem, [`write::write`] writes one (for the web form).

mod fault;
mod lamp;
mod packet;
pub mod read;
pub mod release;
pub mod shipped;
pub mod write;

use std::collections::BTreeMap;

use units::{Db, Dbm, Hertz, Khz, Mhz, Micros, Milliwatts, Minutes, Seconds};

use crate::field::Field;

pub use fault::FamilyFault;
pub use lamp::{Lamp, LampState};
pub use packet::{Access, ChipKind, HeaderKind, InterleavingKind, PacketFormat};
pub use release::{Reach, ReachSort, Release, Releases};

/// One over-air system and the rules by which two of its ends link.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// Its name, by which ends refer to it.
    pub name: String,
    /// One line about it.
    pub summary: String,
    /// Whether it exists only in examples.
    pub invented: bool,
    /// The bands its ends can have.
    pub bands: Vec<Band>,
    /// Region variants of its firmware.
    pub regions: RegionRule,
    /// Which firmware versions talk to each other.
    pub versions: VersionRule,
    /// The link secret.
    pub secret: SecretRule,
    /// What a receiver remembers of transmitters.
    pub partners: PartnerRule,
    /// The model-ID check.
    pub model_id: ModelIdRule,
    /// The packet modes.
    pub modes: Vec<Mode>,
    /// The transmit power steps.
    pub power_steps: Vec<Milliwatts>,
    /// What receivers send telemetry with; none when not known.
    pub telemetry_power: Option<Milliwatts>,
    /// How long a receiver waits for a valid packet until its failsafe; none when not known.
    pub failsafe_after: Option<Seconds>,
    /// How a receiver is paired.
    pub pairing: Pairing,
    /// What a receiver's lamp shows.
    pub lamps: Vec<Lamp>,
    /// What a receiver does when left waiting.
    pub waiting: Option<Waiting>,
    /// How ends are flashed.
    pub flash: Vec<FlashRoute>,
    /// What may have to be reached for flashing or pairing, by the words that `needs` use.
    pub reaches: Vec<Reach>,
    /// Its firmware releases, as far as somebody wrote them down.
    pub releases: Vec<Release>,
    /// Faults of its own, and what is otherwise with those that every system has.
    pub faults: Vec<FamilyFault>,
    /// Minutes of checks and mends that differ from the workshop's, by key.
    pub minutes: BTreeMap<String, Minutes>,
}

/// One band.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Its name, as users write it (`2.4 GHz`).
    pub name: String,
    /// Other spellings.
    pub also: Vec<String>,
    /// Lower edge.
    pub low: Mhz,
    /// Upper edge.
    pub high: Mhz,
    /// How many hop channels; 0 when not said.
    pub channels: u32,
    /// Distance between channels.
    pub spacing: Option<Khz>,
    /// A receiver's noise figure as the maker's sensitivity implies it (implementation
    /// loss included); none when not known.
    pub noise_figure: Option<Db>,
    /// How a transmitter enters the band; none when not known.
    pub access: Option<Access>,
}

/// Region variants.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RegionRule {
    /// The variants there are; empty when the family has none.
    pub variants: Vec<String>,
    /// Whether both ends must have the same one.
    pub must_match: bool,
}

/// Which versions talk to each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum VersionRule {
    /// All of them.
    Any,
    /// Those whose first `parts` numbers are equal (1 = same major version).
    SameParts {
        /// How many leading numbers.
        parts: usize,
        /// What the last of them is called (`major`).
        called: String,
    },
    /// Those in one group.
    Groups(Vec<VersionGroup>),
}

/// Versions that talk to each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VersionGroup {
    /// What the group is called.
    pub name: String,
    /// The versions in it.
    pub spans: Vec<VersionSpan>,
}

/// A run of versions, both ends included, compared number by number over the numbers
/// that the edge states (`2.9` as an upper edge includes `2.9.7`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VersionSpan {
    /// The first.
    pub from: Version,
    /// The last.
    pub to: Version,
}

/// A firmware version: its numbers, in order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Version(pub Vec<u32>);

/// The rule for the link secret.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SecretRule {
    /// The family has no secrets.
    Absent,
    /// Both ends must hold the same one.
    Equal {
        /// Whether two blank ends may pair by hand.
        blank_allowed: bool,
        /// Whether equal secrets link without pairing (and then with every transmitter
        /// that holds the same).
        links_unpaired: bool,
    },
}

/// What a receiver remembers of transmitters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartnerRule {
    /// How many transmitter ends it remembers (at least 1).
    pub remembers: u32,
    /// Whether pairing drops every earlier partner; otherwise the oldest goes when there
    /// is no room.
    pub pairing_drops_others: bool,
}

/// The model-ID check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ModelIdRule {
    /// The family has none.
    Absent,
    /// There is one.
    Checked {
        /// Which end compares.
        at: CheckedAt,
        /// The least ID.
        low: u32,
        /// The greatest ID.
        high: u32,
        /// The value that switches the check off, where there is one.
        off: Option<u32>,
        /// What a refused end does, in the author's words.
        refused: String,
    },
}

/// Which end compares model IDs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckedAt {
    /// The receiver obeys only its own ID.
    Receiver,
    /// The model memory drives only the receiver whose ID it holds.
    Transmitter,
}

/// One packet mode.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// Its name.
    pub name: String,
    /// The bands it exists on; empty for all.
    pub bands: Vec<String>,
    /// How it modulates.
    pub modulation: Modulation,
    /// The format of its packets, with [`Modulation::Css`]; nothing is known with others.
    pub packet: PacketFormat,
    /// Packets a second.
    pub packet_rate: Hertz,
    /// Bytes in a packet.
    pub payload_bytes: u32,
    /// How many packets it sends on one channel before it hops; none when not known.
    pub hop_every: Option<u32>,
    /// Telemetry shares: one packet in so many; empty for no telemetry.
    pub telemetry_one_in: Vec<u32>,
}

/// How a mode modulates.
#[derive(Clone, Debug, PartialEq)]
pub enum Modulation {
    /// Chirp spread spectrum.
    Css {
        /// Spreading factor, 5 to 12.
        spreading_factor: u32,
        /// Bandwidth.
        bandwidth: Khz,
        /// Coding rate denominator, 5 to 8 (4/5 to 4/8).
        coding_rate: u32,
    },
    /// Frequency-shift keying.
    Fsk {
        /// Bits a second, thousands.
        bit_rate_kbps: f64,
        /// Deviation.
        deviation: Khz,
    },
    /// Only a sensitivity is stated.
    Stated {
        /// The sensitivity.
        sensitivity: Dbm,
        /// The bandwidth it occupies; none when not known.
        occupied: Option<Khz>,
        /// How long a packet is on the air; none when not known.
        airtime: Option<Micros>,
    },
}

/// How a receiver is put into pair mode.
#[derive(Clone, Debug, PartialEq)]
pub struct Pairing {
    /// What to do, step by step, in the author's words.
    pub gesture: Vec<String>,
    /// What must be reachable for it, in the author's words.
    pub needs: Vec<String>,
    /// What the gesture energises.
    pub energises: Vec<Energised>,
    /// How long it takes.
    pub minutes: Minutes,
}

/// Something that a step switches on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Energised {
    /// The receiver.
    Receiver,
    /// Servos.
    Servos,
    /// A motor, or the speed controller that drives one.
    Motor,
    /// The transmitter.
    Transmitter,
}

impl Energised {
    /// Every one.
    pub const ALL: [Energised; 4] =
        [Energised::Receiver, Energised::Servos, Energised::Motor, Energised::Transmitter];

    /// The word in files, JSON and on pages.
    pub fn word(self) -> &'static str {
        match self {
            Energised::Receiver => "receiver",
            Energised::Servos => "servos",
            Energised::Motor => "motor",
            Energised::Transmitter => "transmitter",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<Energised> {
        Energised::ALL.into_iter().find(|one| one.word() == word)
    }

    /// The caution that goes with it.
    pub fn caution(self) -> &'static str {
        match self {
            Energised::Receiver => {
                "Give the receiver a supply of its own where the step switches it off and on."
            }
            Energised::Servos => "Keep fingers and tools clear: control surfaces may move at once.",
            Energised::Motor => {
                "Take the propeller off, or have the aircraft held: the motor may start at full power."
            }
            Energised::Transmitter => {
                "Fit the antenna before the transmitter is switched on; transmitter on first, off last."
            }
        }
    }
}

/// What a receiver does when left waiting.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiting {
    /// After how many seconds.
    pub after_s: f64,
    /// What it does.
    pub does: String,
    /// Where its settings page is, empty when it has none.
    pub settings_at: String,
}

/// Which side of a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// The transmitter end.
    Transmitter,
    /// The receiver end.
    Receiver,
}

impl Side {
    /// The word in files and on pages.
    pub fn word(self) -> &'static str {
        match self {
            Side::Transmitter => "transmitter",
            Side::Receiver => "receiver",
        }
    }
}

/// One way to write firmware.
#[derive(Clone, Debug, PartialEq)]
pub struct FlashRoute {
    /// What it is called.
    pub name: String,
    /// Which side it serves.
    pub side: Side,
    /// How long it takes.
    pub minutes: Minutes,
    /// What must be reachable, in the author's words.
    pub needs: Vec<String>,
    /// What it energises.
    pub energises: Vec<Energised>,
    /// Which facts of the end it wipes (`partners`, `secret`, `model_id`, `region`).
    pub wipes: Vec<Field>,
    /// One flash in so many fails half-way; none when nobody counted.
    pub fails_one_in: Option<u32>,
    /// How an end is brought back when a flash failed half-way, in the author's words; empty
    /// when the author doesn't say.
    pub recovery: String,
    /// How long that takes; none when the author doesn't say.
    pub recovery_minutes: Option<Minutes>,
}

impl Version {
    /// Reads `4.1`, `v4.1.2`, `3`; a tail after the numbers (`-rc1`) is left out.
    pub fn parse(text: &str) -> Option<Version> {
        let text = text.trim();
        let text = text.strip_prefix(['v', 'V']).unwrap_or(text).trim_start();
        let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
        let (numbers, tail) = text.split_at(end);
        // `4.x` or `4th` is no version; `4.1-rc1`, `4.1 beta` and `4.1+x` are.
        if !tail.is_empty() && !tail.starts_with(['-', '+', ' ', '_']) {
            return None;
        }
        numbers
            .split('.')
            .map(|part| part.parse().ok())
            .collect::<Option<Vec<u32>>>()
            .filter(|parts| !parts.is_empty())
            .map(Version)
    }
}

impl std::fmt::Display for Version {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (i, part) in self.0.iter().enumerate() {
            let dot = if i == 0 { "" } else { "." };
            write!(f, "{dot}{part}")?;
        }
        Ok(())
    }
}

impl VersionSpan {
    /// Whether `version` lies in the span; `None` when it states too few numbers to tell.
    pub fn holds(&self, version: &Version) -> Option<bool> {
        use std::cmp::Ordering::{Equal, Greater, Less};
        let edge = |edge: &Version| {
            for (have, want) in version.0.iter().zip(&edge.0) {
                match have.cmp(want) {
                    Equal => {}
                    other => return Some(other),
                }
            }
            (version.0.len() >= edge.0.len()).then_some(Equal)
        };
        match (edge(&self.from), edge(&self.to)) {
            (Some(Less), _) | (_, Some(Greater)) => Some(false),
            (Some(_), Some(_)) => Some(true),
            _ => None,
        }
    }
}

impl Family {
    /// The band that `text` means: by name, by another spelling, or by a frequency
    /// inside its edges.
    pub fn band(&self, text: &str) -> Option<&Band> {
        let squeezed = squeeze(text);
        self.bands
            .iter()
            .find(|band| {
                squeeze(&band.name) == squeezed || band.also.iter().any(|also| squeeze(also) == squeezed)
            })
            .or_else(|| {
                let mhz = band_mhz(text)?;
                // People write 868 for 863-870 and 915 for 902-928; a bare number that
                // lies in one band only is that band.
                let mut inside = self.bands.iter().filter(|band| band.low.0 <= mhz.0 && mhz.0 <= band.high.0);
                inside.next().filter(|_| inside.next().is_none())
            })
    }

    /// The region variant that `text` means.
    pub fn region(&self, text: &str) -> Option<&str> {
        self.regions.variants.iter().map(String::as_str).find(|variant| squeeze(variant) == squeeze(text))
    }

    /// The facts that flashing an end of `side` wipes by the given route; by every route
    /// of that side when the route isn't named, or has a name that the file doesn't know.
    pub fn wiped_by(&self, side: Side, route: &str) -> Vec<Field> {
        let route = squeeze(route);
        let is_it = |one: &FlashRoute| one.side == side && squeeze(&one.name) == route;
        let known = self.flash.iter().any(is_it);
        let mut wiped: Vec<Field> = self
            .flash
            .iter()
            .filter(|one| if known { is_it(one) } else { one.side == side })
            .flat_map(|one| one.wipes.iter().copied())
            .collect();
        wiped.sort_unstable();
        wiped.dedup();
        wiped
    }
}

/// Lower case, without spaces, so that `2.4 GHz` and `2.4ghz` are one.
pub(crate) fn squeeze(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// The frequency that a band's name means: `2.4 GHz`, `2.4`, `2400`, `868 MHz`, `915`.
pub fn band_mhz(text: &str) -> Option<Mhz> {
    let text = squeeze(text);
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let number: f64 = number.parse().ok()?;
    match unit {
        "ghz" | "g" => Some(Mhz(number * 1000.0)),
        "" if number < 10.0 => Some(Mhz(number * 1000.0)),
        "" | "mhz" | "m" => Some(Mhz(number)),
        _ => None,
    }
    .filter(|mhz| (1.0..100_000.0).contains(&mhz.0))
}
