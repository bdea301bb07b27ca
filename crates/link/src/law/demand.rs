//! Each demand of a row, put to an emission.

use units::{DIPOLE_OVER_ISOTROPIC, Db, Dbm, Khz, Mhz, Seconds};

use super::power::{self, How};
use super::reckon;
use super::row::{AccessRule, Basis, DwellWindow, GapRule, HopRule, Row, Technique, Use};
use super::{Access, Demand, Emission, Micros, REMEMBERED, Verdict, What, say};

/// A row and an emission face to face.
pub(super) struct Case<'a> {
    pub row: &'a Row,
    pub emission: &'a Emission,
    /// The region asked for; the row may be of the wider one.
    pub region: &'a str,
    /// Where it stands: document, edition, clause.
    pub clause: &'a str,
    /// Visits to each hop channel in one run through the list; empty for equal use.
    pub visits: &'a [u32],
}

/// How far an emission is from a limit.
enum Distance {
    Kept,
    Unknown,
    Over { by: Option<String>, excess: f64 },
    Short { by: String, what: &'static str, excess: f64 },
}

/// So far over, as a ratio turned into decibels for ranking.
fn ratio(got: f64, limit: f64) -> f64 {
    if got > 0.0 && limit > 0.0 { (10.0 * (got / limit).log10()).abs().min(100.0) } else { 100.0 }
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
        if self.hops() > 1 {
            demands.extend(self.hop_channels());
            demands.extend(self.spacing());
            demands.extend(self.dwell());
        }
        demands.extend(self.duty());
        demands.extend(self.access());
        demands
    }

    fn hops(&self) -> u32 {
        self.emission.hop_channels.unwrap_or(1)
    }

    fn eirp(&self) -> Dbm {
        power::eirp(self.emission.conducted, self.emission.gain, self.emission.feed_loss)
    }

    fn found(&self, what: What, distance: Distance, limit: String, got: String) -> Demand {
        let remembered = self.row.is_remembered(what);
        let (verdict, over_by, short, excess) = match distance {
            Distance::Kept => (Verdict::Within, None, "", 0.0),
            Distance::Unknown => (Verdict::NotKnown, None, "", 0.0),
            Distance::Over { by, excess } => (Verdict::Over, by, "", excess),
            Distance::Short { by, what, excess } => (Verdict::Over, Some(by), what, excess),
        };
        let marked = remembered && !limit.starts_with(REMEMBERED);
        Demand {
            what,
            verdict: if remembered { Verdict::NotKnown } else { verdict },
            limit: if marked { format!("{REMEMBERED} {limit}") } else { limit },
            got,
            over_by,
            clause: self.clause.to_owned(),
            short,
            excess,
        }
    }

    fn use_class(&self) -> Demand {
        let got = "a link to a model aircraft".to_owned();
        let not_here = self.row.not_in.iter().any(|region| region == self.region);
        let limit =
            if not_here { format!("said not to hold in {}", self.region) } else { self.row.use_class.clone() };
        let distance = match self.row.aircraft {
            _ if not_here => Distance::Unknown,
            Use::Aircraft => Distance::Kept,
            Use::NotAircraft => Distance::Over { by: None, excess: 100.0 },
            Use::Licensed | Use::NotKnown => Distance::Unknown,
        };
        self.found(What::Use, distance, limit, got)
    }

    fn edges(&self) -> Demand {
        let (low, high) = (self.emission.low.0, self.emission.high.0);
        let got = format!("{} to {} MHz", say::trim(low, 4), say::trim(high, 4));
        let Some((Mhz(lower), Mhz(upper))) = self.row.edges else {
            return self.found(What::Edges, Distance::Unknown, "no band is held".to_owned(), got);
        };
        if !self.row.centres.is_empty() {
            return self.found(What::Edges, Distance::Kept, "listed channels only".to_owned(), got);
        }
        let limit = format!("{} to {} MHz", say::trim(lower, 4), say::trim(upper, 4));
        let outside = (lower - low).max(high - upper);
        let distance = match exceeds(outside, 0.0, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => {
                let outside = Khz(outside * 1e3);
                Distance::Over { by: Some(say::width(outside)), excess: 10.0 + ratio(1.0 + outside.0, 1.0) }
            }
        };
        self.found(What::Edges, distance, limit, got)
    }

    fn channel(&self) -> Option<Demand> {
        let centre = f64::midpoint(self.emission.low.0, self.emission.high.0);
        let off = self.row.centres.iter().map(|listed| (listed.0 - centre).abs()).min_by(f64::total_cmp)?;
        let limit = format!("one of {} listed channel centres", self.row.centres.len());
        if self.hops() > 1 {
            let got = format!("{} hop channels", self.hops());
            return Some(self.found(What::Channel, Distance::Unknown, limit, got));
        }
        let distance = match exceeds(off, 0.0005, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => Distance::Over { by: Some(say::width(Khz(off * 1e3))), excess: 20.0 },
        };
        Some(self.found(What::Channel, distance, limit, format!("centre {} MHz", say::trim(centre, 4))))
    }

    fn bandwidth(&self) -> Option<Demand> {
        let narrow = self.row.technique == Technique::Narrow;
        let most = self.row.max_bandwidth.or(self.row.channel_spacing.filter(|_| narrow));
        let least = self.row.min_bandwidth;
        let strictly = self.row.strictly.contains(&What::Bandwidth);
        let limit = match (least, most) {
            (None, None) if narrow => "narrow band, no figure is held".to_owned(),
            (None, None) => return None,
            (Some(least), None) => format!("at least {}", say::width(least)),
            (None, Some(most)) if strictly => format!("below {}", say::width(most)),
            (None, Some(most)) => format!("at most {}", say::width(most)),
            (Some(least), Some(most)) => format!("{} to {}", say::width(least), say::width(most)),
        };
        let got = self.emission.occupied;
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
                    by: say::width(Khz(got.0 - most.0)),
                    what: "too wide",
                    excess: ratio(got.0, most.0).max(0.1),
                }
            }
            (_, Some(Some(true))) => {
                let least = least.unwrap_or(got);
                Distance::Short {
                    by: say::width(Khz(least.0 - got.0)),
                    what: "too narrow",
                    excess: ratio(got.0, least.0),
                }
            }
            _ => Distance::Kept,
        };
        Some(self.found(What::Bandwidth, distance, limit, say::width(got)))
    }

    /// The power into the feed line against what the row allows with this antenna.
    pub(super) fn power(&self) -> Demand {
        let Emission { conducted, gain, feed_loss, .. } = *self.emission;
        let got = format!("{} conducted, {} EIRP", say::level(conducted), say::level(self.eirp()));
        let limit = power::words(self.row, gain, feed_loss);
        let Some(allowed) = power::allowed(self.row, gain, feed_loss) else {
            return self.found(What::Power, Distance::Unknown, limit, got);
        };
        let over = conducted - allowed.conducted;
        let strictly = self.row.strictly.contains(&What::Power);
        let distance = if !over.0.is_finite() {
            Distance::Unknown
        } else if over.thousandths() > 0 || (strictly && over.thousandths() == 0) {
            let over = over.max(Db::ZERO);
            Distance::Over { by: Some(say::excess(over)), excess: over.0.max(0.001) }
        } else {
            Distance::Kept
        };
        let mut demand = self.found(What::Power, distance, limit, got);
        if allowed.how == How::Remembered {
            demand.verdict = Verdict::NotKnown;
        }
        demand
    }

    /// Reckoned as if the power were spread flat over the occupied bandwidth; a real spectrum
    /// peaks higher.
    fn density(&self) -> Option<Demand> {
        let density = self.row.density?;
        let occupied = self.emission.occupied;
        if density.if_wider.is_some_and(|width| exceeds(occupied.0, width.0, 1e-3) == Some(false)) {
            return None;
        }
        let total = match density.basis {
            Basis::Conducted | Basis::SeeRule => self.emission.conducted,
            Basis::Eirp => self.eirp(),
            Basis::Erp => self.eirp() - DIPOLE_OVER_ISOTROPIC,
        };
        let got = reckon::flat_density(total, occupied, density.slice);
        let over = got - density.level;
        let distance = if !over.0.is_finite() {
            Distance::Unknown
        } else if over.thousandths() > 0 {
            Distance::Over { by: Some(say::excess(over)), excess: over.0 }
        } else {
            Distance::Kept
        };
        let slice = say::width(density.slice);
        let limit = format!("{} {} in any {slice}", say::level(density.level), density.basis.word());
        Some(self.found(
            What::PowerDensity,
            distance,
            limit,
            format!("{} if spread flat", say::level(got)),
        ))
    }

    /// The least number of hop channels; none when it depends on a separation not known.
    fn least_hops(&self) -> Option<(u32, u32)> {
        match self.row.hops? {
            HopRule::AtLeast(least) => Some((least, least)),
            HopRule::FifteenMhzOverSeparation(least) => {
                let spacing = self.emission.hop_spacing.filter(|spacing| spacing.0 > 0.0);
                Some((least, spacing.map_or(u32::MAX, |spacing| reckon::hops_for_separation(least, spacing))))
            }
        }
    }

    fn hop_channels(&self) -> Option<Demand> {
        let (surely, needed) = self.least_hops()?;
        let hops = self.hops();
        let distance = if hops >= needed {
            Distance::Kept
        } else if needed == u32::MAX && hops >= surely {
            Distance::Unknown
        } else {
            let needed = if needed == u32::MAX { surely } else { needed };
            Distance::Short {
                by: format!("{} {}", needed - hops, if needed - hops == 1 { "hop" } else { "hops" }),
                what: "too few",
                excess: ratio(f64::from(hops), f64::from(needed)),
            }
        };
        let limit = match self.row.hops? {
            HopRule::AtLeast(least) => format!("at least {least}"),
            HopRule::FifteenMhzOverSeparation(least) if needed == u32::MAX => {
                format!("at least {least}, and 15 MHz over the separation")
            }
            HopRule::FifteenMhzOverSeparation(_) => format!("at least {needed} at this separation"),
        };
        Some(self.found(What::HopChannels, distance, limit, hops.to_string()))
    }

    fn spacing(&self) -> Option<Demand> {
        let rule = self.row.spacing?;
        let least = Khz(rule.least.0.max(rule.of_bandwidth * self.emission.occupied.0));
        let limit = format!("at least {}", say::width(least));
        let Some(got) = self.emission.hop_spacing else {
            return Some(self.found(What::Spacing, Distance::Unknown, limit, "not known".to_owned()));
        };
        let distance = match exceeds(least.0, got.0, 1e-3) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => Distance::Short {
                by: say::width(Khz(least.0 - got.0)),
                what: "too close",
                excess: ratio(got.0, least.0),
            },
        };
        Some(self.found(What::Spacing, distance, limit, say::width(got)))
    }

    /// The average time on the busiest channel in the window; a duty that isn't known is taken
    /// as always, which shows what is within all the same.
    fn dwell(&self) -> Option<Demand> {
        let (most, window) = self.row.dwell?;
        let window = match window {
            DwellWindow::Fixed(window) => window,
            DwellWindow::PerChannel(each) => each * f64::from(self.hops()),
            DwellWindow::PerLeastChannel(each) => match self.least_hops() {
                Some((_, needed)) if needed < u32::MAX => each * f64::from(needed),
                Some((surely, _)) => each * f64::from(surely),
                None => each * f64::from(self.hops()),
            },
        };
        let share = busiest_share(self.hops(), self.visits);
        let duty = self.emission.duty.unwrap_or(1.0);
        let together = reckon::accumulated(window, share, duty);
        let visit = self.emission.dwell.map(Micros::seconds);
        let longest = visit.map_or(together, |visit| Seconds(visit.0.max(together.0)));
        let visit_over = visit.and_then(|visit| exceeds(visit.0, most.0, 1e-6));
        let distance = match exceeds(longest.0, most.0, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) if self.emission.duty.is_none() && visit_over != Some(true) => Distance::Unknown,
            Some(true) => Distance::Over {
                by: Some(say::time(longest - most)),
                excess: ratio(longest.0, most.0),
            },
        };
        let limit = format!("{} in {}", say::time(most), say::time(window));
        let got = format!("{} in {}", say::time(longest), say::time(window));
        Some(self.found(What::Dwell, distance, limit, got))
    }

    fn duty(&self) -> Option<Demand> {
        let most = self.row.duty?;
        let got = self.emission.duty.map_or_else(|| "not known".to_owned(), say::share);
        if most >= 1.0 {
            return Some(self.found(What::Duty, Distance::Kept, "no limit".to_owned(), got));
        }
        let window = self.row.duty_window.map_or_else(String::new, |window| format!(" of {}", say::time(window)));
        let limit = format!("{}{window}", say::share(most));
        let over = self.emission.duty.and_then(|duty| exceeds(duty, most, 1e-9).map(|over| (duty, over)));
        let polite = self.row.access == AccessRule::ListenInsteadOfDuty;
        let distance = match over {
            None => Distance::Unknown,
            Some((_, false)) => Distance::Kept,
            Some(_) if polite && self.emission.access == Access::ListenBeforeTalk => {
                let limit = format!(
                    "{REMEMBERED} for listening before talk instead of {limit}: 100 s an hour for each 200 kHz"
                );
                return Some(self.found(What::Duty, Distance::Unknown, limit, got));
            }
            Some(_) if polite && self.emission.access == Access::NotKnown => {
                let limit = format!("{limit}, unless it listens before it talks");
                return Some(self.found(What::Duty, Distance::Unknown, limit, got));
            }
            Some((duty, true)) => {
                Distance::Over { by: Some(say::share(duty - most)), excess: ratio(duty, most) }
            }
        };
        Some(self.found(What::Duty, distance, limit, got))
    }

    fn access(&self) -> Vec<Demand> {
        let (asked, enough): (&str, &[Access]) = match self.row.access {
            AccessRule::Free | AccessRule::ListenInsteadOfDuty => return Vec::new(),
            AccessRule::Listen => ("listening before talk", &[Access::ListenBeforeTalk]),
            AccessRule::ListenOrAvoid => (
                "listening before talk, or detecting and avoiding",
                &[Access::ListenBeforeTalk, Access::DetectAndAvoid],
            ),
            AccessRule::Utilisation { most, sequence, gap, gap_rule } => {
                return vec![self.utilisation(most), self.sequence(sequence, gap, gap_rule)];
            }
        };
        let distance = match self.emission.access {
            Access::NotKnown => Distance::Unknown,
            access if enough.contains(&access) => Distance::Kept,
            _ => Distance::Over { by: None, excess: 50.0 },
        };
        let got = self.emission.access.word().replace('-', " ");
        vec![self.found(What::Access, distance, asked.to_owned(), got)]
    }

    fn utilisation(&self, most: f64) -> Demand {
        let power = self.eirp();
        let limit = format!("{} (EIRP over 100 mW, times duty)", say::share(most));
        if (power - Dbm(10.0)).thousandths() < 0 {
            let limit = "does not apply below 10 dBm EIRP".to_owned();
            return self.found(What::Utilisation, Distance::Kept, limit, say::level(power));
        }
        let at_most = reckon::medium_utilisation(power, 1.0);
        let Some(duty) = self.emission.duty else {
            let kept = exceeds(at_most, most, 1e-9) == Some(false);
            let distance = if kept { Distance::Kept } else { Distance::Unknown };
            let got = format!("at most {}, its duty is not known", say::share(at_most));
            return self.found(What::Utilisation, distance, limit, got);
        };
        let got = reckon::medium_utilisation(power, duty);
        let distance = match exceeds(got, most, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => Distance::Over { by: Some(say::share(got - most)), excess: ratio(got, most) },
        };
        self.found(What::Utilisation, distance, limit, say::share(got))
    }

    /// One packet is taken for one transmission; packets sent back to back are one longer one.
    fn sequence(&self, longest: Seconds, gap: Seconds, rule: GapRule) -> Demand {
        let airtime = self.emission.airtime.map(Micros::seconds);
        let gap = match (rule, airtime) {
            (GapRule::AtLeastTheSequence, Some(airtime)) => Seconds(gap.0.max(airtime.0)),
            _ => gap,
        };
        let limit = format!("at most {}, then a gap of {}", say::time(longest), say::time(gap));
        let Some(airtime) = airtime else {
            return self.found(What::Sequence, Distance::Unknown, limit, "not known".to_owned());
        };
        let pause = self.emission.duty.filter(|duty| *duty > 0.0).map(|duty| airtime * (1.0 / duty - 1.0));
        let got = match pause {
            Some(pause) => format!("{}, then a gap of {}", say::time(airtime), say::time(pause)),
            None => format!("{}, the gap is not known", say::time(airtime)),
        };
        let too_long = exceeds(airtime.0, longest.0, 1e-6);
        let too_soon = pause.map(|pause| exceeds(gap.0, pause.0, 1e-6));
        let distance = match (too_long, too_soon) {
            (Some(true), _) => Distance::Over {
                by: Some(say::time(airtime - longest)),
                excess: ratio(airtime.0, longest.0),
            },
            (Some(false), Some(Some(true))) => {
                let pause = pause.unwrap_or(gap);
                Distance::Short {
                    by: say::time(gap - pause),
                    what: "the gap is too short",
                    excess: ratio(pause.0.max(1e-6), gap.0),
                }
            }
            (Some(false), Some(Some(false))) => Distance::Kept,
            _ => Distance::Unknown,
        };
        self.found(What::Sequence, distance, limit, got)
    }
}

/// The share of visits that the busiest of the hop channels gets.
fn busiest_share(hops: u32, visits: &[u32]) -> f64 {
    let all: u64 = visits.iter().map(|visits| u64::from(*visits)).sum();
    match visits.iter().max() {
        #[expect(clippy::cast_precision_loss, reason = "visits in one run are few")]
        Some(most) if all > 0 => f64::from(*most) / all as f64,
        _ => 1.0 / f64::from(hops.max(1)),
    }
}
