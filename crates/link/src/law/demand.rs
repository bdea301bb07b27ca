//! Each demand of a row, put to an emission.

mod on_air;

use units::{DIPOLE_OVER_ISOTROPIC, Db, Dbm, Khz, Mhz, Seconds};

use super::power::{self, How};
use super::reckon;
use super::row::{Basis, Narrower, Row, Technique, Use};
use super::{Demand, Emission, REMEMBERED, Verdict, What, say};

/// A row and an emission face to face.
#[derive(Clone, Copy)]
pub(super) struct Case<'a> {
    pub row: &'a Row,
    pub emission: &'a Emission,
    /// The region asked for; the row may be of the wider one.
    pub region: &'a str,
    /// Where it stands: document, edition, clause.
    pub clause: &'a str,
    /// Visits to each hop channel in one run through the list; empty for equal use.
    pub visits: &'a [u32],
    /// Whether anybody reads the words.
    pub telling: Telling,
}

/// How much of a finding is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Telling {
    /// All of it.
    Words,
    /// Only what it comes to; every text stays empty. Words cost ten times the sums.
    VerdictsOnly,
}

/// How far an emission is from a limit.
enum Distance {
    Kept,
    Unknown,
    Over { by: By, excess: f64 },
    Short { by: By, what: &'static str, excess: f64 },
}

/// By how much.
enum By {
    Level(Db),
    Width(Khz),
    Time(Seconds),
    Share(f64),
    Hops(u32),
    /// What has no measure.
    Nothing,
}

impl By {
    fn words(&self) -> Option<String> {
        match self {
            By::Level(over) => Some(say::excess(*over)),
            By::Width(over) => Some(say::width(*over)),
            By::Time(over) => Some(say::time(*over)),
            By::Share(over) => Some(say::share(*over)),
            By::Hops(1) => Some("1 hop".to_owned()),
            By::Hops(hops) => Some(format!("{hops} hops")),
            By::Nothing => None,
        }
    }
}

/// So far over, as a ratio turned into decibels for ranking.
fn ratio(got: f64, limit: f64) -> f64 {
    if got > 0.0 && limit > 0.0 { (10.0 * (got / limit).log10()).abs().min(100.0) } else { 100.0 }
}

/// Powers are compared to a hundredth of a decibel: the rules' own 2.15 dB between ERP and
/// EIRP is rounded to it, so that a full 25 mW ERP into a half-wave dipole (2.1509 dBi) is not
/// over 25 mW ERP.
fn hundredths(over: Db) -> i64 {
    (over * 0.1).thousandths()
}

/// Whether `got` exceeds `limit` once both are rounded to `step`; none for no number.
fn exceeds(got: f64, limit: f64, step: f64) -> Option<bool> {
    (got.is_finite() && limit.is_finite()).then(|| ((got - limit) / step).round() > 0.0)
}

impl Case<'_> {
    /// Every demand of the row.
    pub(super) fn demands(&self) -> Vec<Demand> {
        let mut demands = vec![self.use_class(), self.edges()];
        demands.extend(self.channel());
        demands.extend(self.bandwidth());
        demands.push(self.power());
        demands.extend(self.of_modulation());
        demands
    }

    /// The demands that a row which refers to this one takes over.
    pub(super) fn of_modulation(&self) -> Vec<Demand> {
        let mut demands: Vec<Demand> = self.density().into_iter().collect();
        if self.emission.hop_channels.is_none() && self.row.hops.is_none() && self.asks_whether_it_hops() {
            demands.push(self.found(
                What::HopChannels,
                &Distance::Unknown,
                || "for equipment that hops, or that doesn't".to_owned(),
                || "not known whether it hops".to_owned(),
            ));
        }
        if self.emission.hop_channels != Some(1) {
            demands.extend(self.hop_channels());
            demands.extend(self.spacing());
            demands.extend(self.dwell());
        }
        demands.extend(self.duty());
        demands.extend(self.access());
        demands
    }

    /// Hop channels, one where it isn't known: whoever asks minds that it may be more.
    fn hops(&self) -> u32 {
        self.emission.hop_channels.unwrap_or(1)
    }

    /// Whether the row is for hopping equipment only, or for other equipment only.
    fn asks_whether_it_hops(&self) -> bool {
        matches!(self.row.technique, Technique::Hopping | Technique::Hybrid | Technique::NotHopping)
    }

    /// The occupied bandwidth; no number, which no limit holds, where it isn't known.
    fn occupied(&self) -> Khz {
        self.emission.occupied.unwrap_or(Khz(f64::NAN))
    }

    /// The duty, where it is a share.
    fn known_duty(&self) -> Option<f64> {
        self.emission.duty.filter(|duty| (0.0..=1.0).contains(duty))
    }

    fn eirp(&self) -> Dbm {
        power::eirp(self.emission.conducted, self.emission.gain, self.emission.feed_loss)
    }

    fn found(
        &self,
        what: What,
        distance: &Distance,
        limit: impl FnOnce() -> String,
        got: impl FnOnce() -> String,
    ) -> Demand {
        let (verdict, by, short, excess) = match distance {
            Distance::Kept => (Verdict::Within, None, "", 0.0),
            Distance::Unknown => (Verdict::NotKnown, None, "", 0.0),
            Distance::Over { by, excess } => (Verdict::Over, Some(by), "", *excess),
            Distance::Short { by, what, excess } => (Verdict::Over, Some(by), *what, *excess),
        };
        let remembered = self.row.is_remembered(what);
        let verdict = if remembered { Verdict::NotKnown } else { verdict };
        let mut demand = Demand {
            what,
            verdict,
            limit: String::new(),
            got: String::new(),
            over_by: None,
            clause: String::new(),
            short,
            excess,
        };
        if self.telling == Telling::Words {
            let limit = limit();
            let marked = remembered && !limit.starts_with(REMEMBERED);
            demand.limit = if marked { format!("{REMEMBERED} {limit}") } else { limit };
            demand.got = got();
            demand.over_by = by.and_then(By::words);
            self.clause.clone_into(&mut demand.clause);
        }
        demand
    }

    fn use_class(&self) -> Demand {
        let not_here = self.row.not_in.iter().any(|region| region == self.region);
        let limit = || {
            if not_here { format!("said not to hold in {}", self.region) } else { self.row.use_class.clone() }
        };
        let distance = match self.row.aircraft {
            _ if not_here => Distance::Unknown,
            Use::Aircraft => Distance::Kept,
            Use::NotAircraft => Distance::Over { by: By::Nothing, excess: 100.0 },
            Use::Licensed | Use::NotKnown => Distance::Unknown,
        };
        self.found(What::Use, &distance, limit, || "a link to a model aircraft".to_owned())
    }

    fn edges(&self) -> Demand {
        let (low, high) = (self.emission.low.0, self.emission.high.0);
        let got = || format!("{} to {} MHz", say::trim(low, 4), say::trim(high, 4));
        let Some((Mhz(lower), Mhz(upper))) = self.row.edges else {
            return self.found(What::Edges, &Distance::Unknown, || "no band is held".to_owned(), got);
        };
        if !self.row.centres.is_empty() {
            return self.found(What::Edges, &Distance::Kept, || "listed channels only".to_owned(), got);
        }
        let limit = || format!("{} to {} MHz", say::trim(lower, 4), say::trim(upper, 4));
        let outside = (lower - low).max(high - upper);
        let distance = match exceeds(outside, 0.0, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => {
                let outside = Khz(outside * 1e3);
                Distance::Over { by: By::Width(outside), excess: 10.0 + ratio(1.0 + outside.0, 1.0) }
            }
        };
        self.found(What::Edges, &distance, limit, got)
    }

    fn channel(&self) -> Option<Demand> {
        let centre = f64::midpoint(self.emission.low.0, self.emission.high.0);
        let off = self.row.centres.iter().map(|listed| (listed.0 - centre).abs()).min_by(f64::total_cmp)?;
        let limit = || format!("one of {} listed channel centres", self.row.centres.len());
        if self.hops() > 1 {
            let got = || format!("{} hop channels", self.hops());
            return Some(self.found(What::Channel, &Distance::Unknown, limit, got));
        }
        let distance = match exceeds(off, 0.0005, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => Distance::Over { by: By::Width(Khz(off * 1e3)), excess: 20.0 },
        };
        Some(self.found(What::Channel, &distance, limit, || format!("centre {} MHz", say::trim(centre, 4))))
    }

    fn bandwidth(&self) -> Option<Demand> {
        let narrow = self.row.technique == Technique::Narrow;
        let most = self.row.max_bandwidth.or(self.row.channel_spacing.filter(|_| narrow));
        let least = self.row.min_bandwidth;
        let strictly = self.row.strictly.contains(&What::Bandwidth);
        if least.is_none() && most.is_none() && !narrow {
            return None;
        }
        let limit = || match (least, most) {
            (None, None) => "narrow band, no figure is held".to_owned(),
            (Some(least), None) => format!("at least {}", say::width(least)),
            (None, Some(most)) if strictly => format!("below {}", say::width(most)),
            (None, Some(most)) => format!("at most {}", say::width(most)),
            (Some(least), Some(most)) => format!("{} to {}", say::width(least), say::width(most)),
        };
        let got = self.occupied();
        let too_wide = most.map(|most| {
            let reached = strictly && exceeds(most.0, got.0, 1e-3) == Some(false);
            exceeds(got.0, most.0, 1e-3).map(|over| over || reached)
        });
        let too_narrow = least.map(|least| exceeds(least.0, got.0, 1e-3));
        let distance = match (too_wide, too_narrow) {
            (None, None) | (Some(None), _) | (_, Some(None)) => Distance::Unknown,
            (Some(Some(true)), _) => {
                let most = most.unwrap_or(got);
                Distance::Short {
                    by: By::Width(Khz(got.0 - most.0)),
                    what: "too wide",
                    excess: ratio(got.0, most.0).max(0.1),
                }
            }
            (_, Some(Some(true))) => {
                let least = least.unwrap_or(got);
                Distance::Short {
                    by: By::Width(Khz(least.0 - got.0)),
                    what: "too narrow",
                    excess: ratio(got.0, least.0),
                }
            }
            _ => Distance::Kept,
        };
        let words = || self.emission.occupied.map_or_else(|| "not known".to_owned(), say::width);
        Some(self.found(What::Bandwidth, &distance, limit, words))
    }

    /// The power into the feed line against what the row allows with this antenna.
    pub(super) fn power(&self) -> Demand {
        let Emission { conducted, gain, feed_loss, .. } = *self.emission;
        let got = || format!("{} conducted, {} EIRP", say::level(conducted), say::level(self.eirp()));
        let limit = || power::words(self.row, gain, feed_loss);
        let Some(allowed) = power::allowed(self.row, gain, feed_loss) else {
            return self.found(What::Power, &Distance::Unknown, limit, got);
        };
        let over = conducted - allowed.conducted;
        let strictly = self.row.strictly.contains(&What::Power);
        let distance = if !over.0.is_finite() {
            Distance::Unknown
        } else if hundredths(over) > 0 || (strictly && over.thousandths() >= 0) {
            let over = over.max(Db::ZERO);
            Distance::Over { by: By::Level(over), excess: over.0.max(0.01) }
        } else {
            Distance::Kept
        };
        let mut demand = self.found(What::Power, &distance, limit, got);
        if allowed.how == How::Remembered {
            demand.verdict = Verdict::NotKnown;
        }
        demand
    }

    /// Reckoned as if the power were spread flat over the occupied bandwidth; a real spectrum
    /// peaks higher.
    fn density(&self) -> Option<Demand> {
        let density = self.row.density?;
        let occupied = self.occupied();
        if density.if_wider.is_some_and(|width| exceeds(occupied.0, width.0, 1e-3) == Some(false)) {
            return None;
        }
        let total = match density.basis {
            Basis::Conducted | Basis::SeeRule => self.emission.conducted,
            Basis::Eirp => self.eirp(),
            Basis::Erp => self.eirp() - DIPOLE_OVER_ISOTROPIC,
        };
        let got = match density.narrower {
            Narrower::WholeSlice => reckon::flat_density(total, occupied, density.slice),
            Narrower::InProportion => reckon::density_throughout(total, occupied, density.slice),
        };
        let got = if self.emission.occupied.is_some() { got } else { Dbm(f64::NAN) };
        let over = got - density.level;
        let distance = if !over.0.is_finite() {
            Distance::Unknown
        } else if over.thousandths() > 0 {
            Distance::Over { by: By::Level(over), excess: over.0 }
        } else {
            Distance::Kept
        };
        let limit = || {
            let (level, slice) = (say::level(density.level), say::width(density.slice));
            format!("{level} {} in any {slice}", density.basis.word())
        };
        Some(self.found(What::PowerDensity, &distance, limit, || {
            if got.0.is_finite() {
                format!("{} if spread flat", say::level(got))
            } else {
                "not known, since its bandwidth isn't".to_owned()
            }
        }))
    }
}
