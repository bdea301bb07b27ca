//! One row of the limits: a region, a band, a kind of modulation, and what is demanded.

use units::{Dbm, Khz, Mhz, Seconds};

use super::What;

/// How a row was obtained.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obtained {
    /// Read in the rule or in the administration's own page.
    Text,
    /// Read in somebody else's quotation, table or summary.
    SecondHand,
    /// Part of each; [`Row::remembered`] names the demands that are from memory.
    Mixed,
    /// Not found in text.
    Memory,
}

impl Obtained {
    /// Its word in the data.
    pub fn word(self) -> &'static str {
        match self {
            Obtained::Text => "text",
            Obtained::SecondHand => "text-secondhand",
            Obtained::Mixed => "mixed",
            Obtained::Memory => "memory",
        }
    }

    /// In words for a reader.
    pub fn says(self) -> &'static str {
        match self {
            Obtained::Text => "read in the rule",
            Obtained::SecondHand => "read in a quotation, table or summary",
            Obtained::Mixed => "partly read, partly from memory or second hand",
            Obtained::Memory => "from memory: check the current document",
        }
    }
}

/// What a power limit is referred to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Power into the antenna.
    Conducted,
    /// Radiated, over a half-wave dipole.
    Erp,
    /// Radiated, over an isotropic radiator.
    Eirp,
    /// No figure was found.
    SeeRule,
}

impl Basis {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Conducted => "conducted",
            Basis::Erp => "ERP",
            Basis::Eirp => "EIRP",
            Basis::SeeRule => "see rule",
        }
    }
}

/// How an antenna's gain changes the limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GainRule {
    /// The conducted limit holds up to 6 dBi, then falls 1 dB for each dB. Feed loss is not
    /// credited.
    OverSix,
    /// Fixed point-to-point only: above 6 dBi it falls 1 dB for each 3 dB.
    OverSixByThirds,
    /// The limit is radiated power: gain less feed loss counts.
    Radiated,
    /// A conducted limit under a ceiling of radiated power.
    Ceiling {
        /// The ceiling, EIRP.
        eirp: Dbm,
    },
    /// Nothing is said, or no figure was found: the limit holds as it stands.
    AsItStands,
}

/// The kind of modulation a row is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Technique {
    /// Any.
    Any,
    /// Frequency hopping.
    Hopping,
    /// Digital modulation over a wide channel, hopping or not.
    Digital,
    /// Hopping and digital modulation at once.
    Hybrid,
    /// Not hopping.
    NotHopping,
    /// Narrow channels of model control.
    Narrow,
}

/// What a row may be used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// A link to a model aircraft is among its uses.
    Aircraft,
    /// It is not.
    NotAircraft,
    /// Only with a licence of the person.
    Licensed,
    /// Not known.
    NotKnown,
}

/// What is asked of the access to the channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AccessRule {
    /// Nothing.
    Free,
    /// Listening before each transmission.
    Listen,
    /// Listening, or detecting and avoiding.
    ListenOrAvoid,
    /// Listening (with frequency agility) may stand instead of the duty limit.
    ListenInsteadOfDuty,
    /// Power times share of time is limited, and the length of a transmission.
    Utilisation {
        /// Greatest (EIRP over 100 mW) times duty.
        most: f64,
        /// Longest transmission.
        sequence: Seconds,
        /// Shortest gap after it.
        gap: Seconds,
        /// How that gap is found.
        gap_rule: GapRule,
    },
}

/// How long the gap after a transmission must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GapRule {
    /// A fixed least time.
    Fixed,
    /// The fixed least time, and never shorter than the transmission.
    AtLeastTheSequence,
}

/// How the least number of hop channels is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HopRule {
    /// So many.
    AtLeast(u32),
    /// So many, and at least 15 MHz over the least hop separation.
    FifteenMhzOverSeparation(u32),
}

/// How the window is found in which time on one channel adds up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DwellWindow {
    /// A fixed time.
    Fixed(Seconds),
    /// So much for each hop channel in use.
    PerChannel(Seconds),
    /// So much for each hop channel of the least number.
    PerLeastChannel(Seconds),
}

/// The least distance between hop channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpacingRule {
    /// Not less than this.
    pub least: Khz,
    /// Nor less than this share of the occupied bandwidth.
    pub of_bandwidth: f64,
}

/// One row of the limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its name in the data.
    pub id: String,
    /// The region.
    pub region: String,
    /// Who made the rule.
    pub administration: String,
    /// The band in words.
    pub band: String,
    /// Its edges; none where the row names no band.
    pub edges: Option<(Mhz, Mhz)>,
    /// Channel centres, where only spot channels are allowed; the edges are then only the
    /// outer span.
    pub centres: Vec<Mhz>,
    /// Who or what it is for, in words.
    pub use_class: String,
    /// Whether that holds a link to a model aircraft.
    pub aircraft: Use,
    /// Regions where the row is said not to hold, though it holds in their wider region.
    pub not_in: Vec<String>,
    /// Rows whose demands it takes over by name.
    pub as_rows: Vec<String>,
    /// Modulation in words.
    pub modulation_class: String,
    /// Modulation.
    pub technique: Technique,
    /// The power limit on its basis; none where no figure was found.
    pub power: Option<Dbm>,
    /// What the limit is referred to.
    pub basis: Basis,
    /// How gain changes it.
    pub gain_rule: GainRule,
    /// The gain rule in words.
    pub gain_words: String,
    /// The greatest radiated power that follows (EIRP), as the data state it.
    pub max_eirp: Option<Dbm>,
    /// The row is for at least this radiated power (EIRP).
    pub from_eirp: Option<Dbm>,
    /// Limit of power density.
    pub density: Option<Density>,
    /// The density limit in words.
    pub density_words: String,
    /// Least hop channels.
    pub hops: Option<HopRule>,
    /// Least distance of hop channels, or the width of a listed channel.
    pub channel_spacing: Option<Khz>,
    /// Longest time on one channel within the window.
    pub dwell: Option<(Seconds, DwellWindow)>,
    /// The dwell window in words.
    pub window_words: String,
    /// How the distance between hop channels is found.
    pub spacing: Option<SpacingRule>,
    /// The spacing rule in words.
    pub spacing_words: String,
    /// Least bandwidth of a channel.
    pub min_bandwidth: Option<Khz>,
    /// Greatest bandwidth of a channel.
    pub max_bandwidth: Option<Khz>,
    /// Limits that the emission must stay under, not merely reach.
    pub strictly: Vec<What>,
    /// Greatest share of time on the air, 0 to 1.
    pub duty: Option<f64>,
    /// The time over which that share is taken.
    pub duty_window: Option<Seconds>,
    /// Channel access.
    pub access: AccessRule,
    /// Channel access in words.
    pub access_words: String,
    /// What else must be known.
    pub notes: String,
    /// Document, edition, clause.
    pub source: String,
    /// How it was obtained.
    pub obtained: Obtained,
    /// More about that.
    pub obtained_detail: String,
    /// The demands of a partly read row that are from memory.
    pub remembered: Vec<What>,
    /// Whether the ceiling of radiated power is from memory, though the limit was read.
    pub ceiling: CeilingKnown,
}

/// How the ceiling over a conducted limit is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CeilingKnown {
    /// As the row.
    AsTheRow,
    /// From memory.
    FromMemory,
}

/// A limit of power density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Density {
    /// The level.
    pub level: Dbm,
    /// In any slice of this width.
    pub slice: Khz,
    /// What the level is referred to.
    pub basis: Basis,
    /// It holds only for channels wider than this.
    pub if_wider: Option<Khz>,
    /// How it holds for an emission narrower than the slice.
    pub narrower: Narrower,
}

/// How a density limit holds for an emission narrower than its slice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Narrower {
    /// All of its power lies in one slice, which may hold so much.
    WholeSlice,
    /// The limit is a density throughout: half as wide, half the power. The stricter reading
    /// of a limit stated in dBm or mW for each MHz.
    InProportion,
}

impl Row {
    /// Whether this demand is from memory.
    pub fn is_remembered(&self, what: What) -> bool {
        self.obtained == Obtained::Memory || self.remembered.contains(&what)
    }
}
