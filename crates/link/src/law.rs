//! What the rules of a place say about an emission: within the planning limit, over by so
//! much, or not known.
//!
//! The limits are data (`data/limits.csv`), each row with document, edition, clause and how
//! it was obtained. A figure from memory never makes anything *within*. Everything here is a
//! planning aid, no legal advice ([`NOTICE`]).

mod demand;
mod judge;
mod limits;
mod pick;
mod power;
mod read;
pub mod reckon;
mod row;
mod say;

use std::fmt;
use std::sync::Arc;

use units::{Db, Dbi, Dbm, Khz, Mhz, Micros};

pub use judge::{judge, judge_hop_list, standing};
pub use limits::{BadLimits, Limits, UnknownRegion};
pub use pick::{NoLimit, rows_for};
pub use power::{PowerLimit, power_limit};
pub use row::{
    AccessRule, Basis, CeilingKnown, Density, DwellWindow, GainRule, GapRule, HopRule, Narrower, Obtained,
    Row, SpacingRule, Technique, Use,
};

/// What stands beside every judgement.
pub const NOTICE: &str = "Planning aid; local rules prevail.";

/// What a transmitter sends, as far as rules ask.
#[derive(Clone, Debug, PartialEq)]
pub struct Emission {
    /// Power into the feed line.
    pub conducted: Dbm,
    /// The antenna's gain.
    pub gain: Dbi,
    /// Loss between transmitter and antenna.
    pub feed_loss: Db,
    /// Lower edge of everything it sends: of the lowest hop channel, half its bandwidth
    /// included.
    pub low: Mhz,
    /// Upper edge, likewise.
    pub high: Mhz,
    /// Occupied bandwidth of one channel. Taken for the 6 dB, the 20 dB and the 99 %
    /// bandwidth alike; where one of them lies near a limit it must be measured. None when
    /// not known.
    pub occupied: Option<Khz>,
    /// Hop channels in use; 1 when it stays on one channel, none when not known.
    pub hop_channels: Option<u32>,
    /// Least distance between hop channels; none when not known.
    pub hop_spacing: Option<Khz>,
    /// Time on one channel at each visit; none when not known.
    pub dwell: Option<Micros>,
    /// Time of one packet on the air; none when not known.
    pub airtime: Option<Micros>,
    /// Share of all time that it transmits, 0 to 1; none when not known.
    pub duty: Option<f64>,
    /// How it shares the air.
    pub access: Access,
}

/// How a transmitter finds its turn on the air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// It sends without listening.
    None,
    /// It listens before each transmission.
    ListenBeforeTalk,
    /// It detects other users and leaves their frequencies alone for a while.
    DetectAndAvoid,
    /// Not known.
    NotKnown,
}

impl Access {
    /// Every one.
    pub const ALL: [Access; 4] =
        [Access::None, Access::ListenBeforeTalk, Access::DetectAndAvoid, Access::NotKnown];

    /// Its word for forms and commands.
    pub fn word(self) -> &'static str {
        match self {
            Access::None => "none",
            Access::ListenBeforeTalk => "listen-before-talk",
            Access::DetectAndAvoid => "detect-and-avoid",
            Access::NotKnown => "not-known",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<Access> {
        Access::ALL.into_iter().find(|access| access.word().eq_ignore_ascii_case(word.trim()))
    }
}

/// What a rule comes to. The worst of several wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Within the planning limit.
    Within,
    /// Not known: the emission or the rule isn't known well enough.
    NotKnown,
    /// Over the limit.
    Over,
}

impl Verdict {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Within => "within the planning limit",
            Verdict::NotKnown => "not known",
            Verdict::Over => "over the planning limit",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// What a demand is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// Who or what may use the row.
    Use,
    /// The band's edges.
    Edges,
    /// A listed channel centre.
    Channel,
    /// Bandwidth of a channel.
    Bandwidth,
    /// Power, conducted or radiated.
    Power,
    /// Power in a slice of spectrum.
    PowerDensity,
    /// Number of hop channels.
    HopChannels,
    /// Distance between hop channels.
    Spacing,
    /// Accumulated time on one hop channel.
    Dwell,
    /// Share of time on the air.
    Duty,
    /// Power times share of time.
    Utilisation,
    /// Length of a transmission, and the gap after it.
    Sequence,
    /// Listening, or another way to share the air.
    Access,
}

impl What {
    /// Every one.
    pub const ALL: [What; 13] = [
        What::Use,
        What::Edges,
        What::Channel,
        What::Bandwidth,
        What::Power,
        What::PowerDensity,
        What::HopChannels,
        What::Spacing,
        What::Dwell,
        What::Duty,
        What::Utilisation,
        What::Sequence,
        What::Access,
    ];

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            What::Use => "use",
            What::Edges => "band edges",
            What::Channel => "channel",
            What::Bandwidth => "bandwidth",
            What::Power => "power",
            What::PowerDensity => "power density",
            What::HopChannels => "hop channels",
            What::Spacing => "hop spacing",
            What::Dwell => "time on one channel",
            What::Duty => "duty cycle",
            What::Utilisation => "medium utilisation",
            What::Sequence => "transmit sequence",
            What::Access => "channel access",
        }
    }
}

/// One demand of a row, put to an emission.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// What it is about.
    pub what: What,
    /// What it comes to.
    pub verdict: Verdict,
    /// The limit in words; begins with `remembered limit` where it was not read.
    pub limit: String,
    /// What the emission has, in words.
    pub got: String,
    /// By how much it is over (`3.0 dB`, `15 hops`, `2 ms`, `5 %`), also over a remembered
    /// limit, whose verdict stays not known.
    pub over_by: Option<String>,
    /// Document, edition and clause.
    pub clause: String,
    /// What is wrong where the limit is a least one (`too few`); else empty.
    short: &'static str,
    /// How bad an excess is, in decibels of what was allowed; for the order of rows only.
    excess: f64,
}

impl Demand {
    /// The finding in words: `within the planning limit`, `over by 3.0 dB`, `not known,
    /// remembered limit …`.
    pub fn words(&self) -> String {
        match (self.verdict, &self.over_by) {
            (Verdict::Over, Some(by)) if self.short.is_empty() => format!("over by {by}"),
            (Verdict::Over, Some(by)) => format!("over by {by} ({})", self.short),
            (Verdict::Over, None) => format!("over: asked is {}, it has {}", self.limit, self.got),
            (Verdict::NotKnown, Some(by)) if self.limit.starts_with(REMEMBERED) => {
                format!("not known, {}, exceeded by {by}", self.limit)
            }
            (Verdict::NotKnown, _) if self.limit.starts_with(REMEMBERED) => {
                format!("not known, {}", self.limit)
            }
            (verdict, _) => verdict.word().to_owned(),
        }
    }
}

/// How the limit of a demand begins whose figure is from memory.
pub const REMEMBERED: &str = "remembered limit";

/// One row, put to an emission.
#[derive(Clone, Debug, PartialEq)]
pub struct RowJudgement {
    /// The row.
    pub row: Arc<Row>,
    /// The row whose demands it takes over by name, where it does.
    pub through: Option<Arc<Row>>,
    /// The worst of its demands.
    pub verdict: Verdict,
    /// Its demands.
    pub demands: Vec<Demand>,
}

/// The verdict on an emission in short, for weighing many settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Within the planning limit.
    Within,
    /// Not known, and no remembered limit is exceeded.
    NotKnown,
    /// Not known, and a remembered limit is exceeded.
    OverRemembered,
    /// Over the limit.
    Over,
}

impl Standing {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Standing::Within => Verdict::Within.word(),
            Standing::NotKnown => Verdict::NotKnown.word(),
            Standing::OverRemembered => "over a remembered limit",
            Standing::Over => Verdict::Over.word(),
        }
    }

    /// Whether a limit is exceeded that is held, read or remembered.
    pub fn exceeds(self) -> bool {
        matches!(self, Standing::OverRemembered | Standing::Over)
    }
}

impl RowJudgement {
    /// The verdict with what a remembered limit says.
    pub fn standing(&self) -> Standing {
        match self.verdict {
            Verdict::Within => Standing::Within,
            Verdict::Over => Standing::Over,
            Verdict::NotKnown if self.demands.iter().any(|demand| demand.excess > 0.0) => {
                Standing::OverRemembered
            }
            Verdict::NotKnown => Standing::NotKnown,
        }
    }

    /// The demands that decide its verdict.
    pub fn deciding(&self) -> impl Iterator<Item = &Demand> {
        self.demands.iter().filter(|demand| demand.verdict == self.verdict)
    }
}

/// What the rules of a place say about an emission.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The region.
    pub region: String,
    /// What the best row says; not known when no row speaks of these frequencies.
    pub verdict: Verdict,
    /// The rows that can apply, the one that decides first.
    pub rows: Vec<RowJudgement>,
    /// What must be known beside it.
    pub notes: Vec<String>,
}

impl Judgement {
    /// The verdict with what a remembered limit says.
    pub fn standing(&self) -> Standing {
        self.decisive().map_or(Standing::NotKnown, RowJudgement::standing)
    }

    /// The row that decides.
    pub fn decisive(&self) -> Option<&RowJudgement> {
        self.rows.first()
    }

    /// In one sentence, with the clause.
    pub fn sentence(&self) -> String {
        let Some(best) = self.decisive() else {
            return format!("Not known: no limit is held for {} at these frequencies. {NOTICE}", self.region);
        };
        let clause = &best.row.source;
        match self.verdict {
            Verdict::Within => {
                format!("Within the planning limit of {} ({clause}). {NOTICE}", best.row.id)
            }
            verdict => {
                let why: Vec<String> = best
                    .deciding()
                    .map(|demand| format!("{} {}", demand.what.word(), demand.words()))
                    .collect();
                let why = why.join("; ");
                let start = if verdict == Verdict::Over { "Over" } else { "Not known" };
                format!("{start} in {}: {why} ({clause}). {NOTICE}", best.row.id)
            }
        }
    }
}
