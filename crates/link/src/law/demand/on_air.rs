//! The demands on hopping, time on the air and access.

use units::{Dbm, Khz, Micros, Seconds};

use super::{By, Case, Distance, exceeds, ratio};
use crate::law::row::{AccessRule, DwellWindow, GapRule, HopRule};
use crate::law::{Access, Demand, REMEMBERED, What, reckon, say};

/// What listening and frequency agility still limit where they stand instead of a duty limit
/// (ETSI EN 300 220; from memory).
const POLITE: &str = "100 s an hour for each 200 kHz";

fn not_known() -> String {
    "not known".to_owned()
}

impl Case<'_> {
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

    pub(super) fn hop_channels(&self) -> Option<Demand> {
        let (surely, needed) = self.least_hops()?;
        let hops = self.hops();
        let distance = if self.emission.hop_channels.is_none() {
            Distance::Unknown
        } else if hops >= needed {
            Distance::Kept
        } else if needed == u32::MAX && hops >= surely {
            Distance::Unknown
        } else {
            let needed = if needed == u32::MAX { surely } else { needed };
            Distance::Short {
                by: By::Hops(needed - hops),
                what: "too few",
                excess: ratio(f64::from(hops), f64::from(needed)),
            }
        };
        let rule = self.row.hops?;
        let limit = || match rule {
            HopRule::AtLeast(least) => format!("at least {least}"),
            HopRule::FifteenMhzOverSeparation(least) if needed == u32::MAX => {
                format!("at least {least}, and 15 MHz over the separation")
            }
            HopRule::FifteenMhzOverSeparation(_) => format!("at least {needed} at this separation"),
        };
        Some(self.found(What::HopChannels, &distance, limit, || {
            if self.emission.hop_channels.is_none() { not_known() } else { hops.to_string() }
        }))
    }

    pub(super) fn spacing(&self) -> Option<Demand> {
        let rule = self.row.spacing?;
        let by_bandwidth = rule.of_bandwidth > 0.0;
        let known = !by_bandwidth || self.emission.occupied.is_some();
        let of_bandwidth = if by_bandwidth { rule.of_bandwidth * self.occupied().0 } else { 0.0 };
        let least = Khz(rule.least.0.max(of_bandwidth));
        let limit = || format!("at least {}", say::width(least));
        let Some(got) = self.emission.hop_spacing.filter(|_| known) else {
            return Some(self.found(What::Spacing, &Distance::Unknown, limit, not_known));
        };
        let distance = match exceeds(least.0, got.0, 1e-3) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => Distance::Short {
                by: By::Width(Khz(least.0 - got.0)),
                what: "too close",
                excess: ratio(got.0, least.0),
            },
        };
        Some(self.found(What::Spacing, &distance, limit, || say::width(got)))
    }

    /// The average time on the busiest channel in the window; a duty that isn't known is taken
    /// as always, which shows what is within all the same.
    pub(super) fn dwell(&self) -> Option<Demand> {
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
        let duty = self.known_duty().unwrap_or(1.0);
        let together = reckon::accumulated(window, share, duty);
        let visit = self.emission.dwell.map(Micros::seconds);
        let longest = visit.map_or(together, |visit| Seconds(visit.0.max(together.0)));
        let visit_over = visit.and_then(|visit| exceeds(visit.0, most.0, 1e-6));
        let known = self.emission.hop_channels.is_some();
        let distance = match exceeds(longest.0, most.0, 1e-6) {
            None => Distance::Unknown,
            Some(_) if !known && visit_over != Some(true) => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) if self.known_duty().is_none() && visit_over != Some(true) => Distance::Unknown,
            Some(true) => Distance::Over { by: By::Time(longest - most), excess: ratio(longest.0, most.0) },
        };
        let limit = || format!("{} in {}", say::time(most), say::time(window));
        let got = || format!("{} in {}", say::time(longest), say::time(window));
        Some(self.found(What::Dwell, &distance, limit, got))
    }

    pub(super) fn duty(&self) -> Option<Demand> {
        let most = self.row.duty?;
        let got = || self.known_duty().map_or_else(not_known, say::share);
        if most >= 1.0 {
            return Some(self.found(What::Duty, &Distance::Kept, || "no limit".to_owned(), got));
        }
        let limit = || match self.row.duty_window {
            Some(window) => format!("{} of {}", say::share(most), say::time(window)),
            None => say::share(most),
        };
        let over = self.known_duty().and_then(|duty| exceeds(duty, most, 1e-9).map(|over| (duty, over)));
        let polite = self.row.access == AccessRule::ListenInsteadOfDuty;
        let distance = match over {
            None => Distance::Unknown,
            Some((_, false)) => Distance::Kept,
            Some(_) if polite && self.emission.access == Access::ListenBeforeTalk => {
                let instead = || {
                    let limit = limit();
                    format!("{REMEMBERED} for listening before talk instead of {limit}: {POLITE}")
                };
                return Some(self.found(What::Duty, &Distance::Unknown, instead, got));
            }
            Some(_) if polite && self.emission.access == Access::NotKnown => {
                let unless = || format!("{}, unless it listens before it talks", limit());
                return Some(self.found(What::Duty, &Distance::Unknown, unless, got));
            }
            Some((duty, true)) => Distance::Over { by: By::Share(duty - most), excess: ratio(duty, most) },
        };
        Some(self.found(What::Duty, &distance, limit, got))
    }

    pub(super) fn access(&self) -> Vec<Demand> {
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
            _ => Distance::Over { by: By::Nothing, excess: 50.0 },
        };
        let got = || self.emission.access.word().replace('-', " ");
        vec![self.found(What::Access, &distance, || asked.to_owned(), got)]
    }

    fn utilisation(&self, most: f64) -> Demand {
        let power = self.eirp();
        let limit = || format!("{} (EIRP over 100 mW, times duty)", say::share(most));
        if (power - Dbm(10.0)).thousandths() < 0 {
            let limit = || "does not apply below 10 dBm EIRP".to_owned();
            return self.found(What::Utilisation, &Distance::Kept, limit, || say::level(power));
        }
        let at_most = reckon::medium_utilisation(power, 1.0);
        let Some(duty) = self.known_duty() else {
            let kept = exceeds(at_most, most, 1e-9) == Some(false);
            let distance = if kept { Distance::Kept } else { Distance::Unknown };
            let got = || format!("at most {}, its duty is not known", say::share(at_most));
            return self.found(What::Utilisation, &distance, limit, got);
        };
        let got = reckon::medium_utilisation(power, duty);
        let distance = match exceeds(got, most, 1e-6) {
            None => Distance::Unknown,
            Some(false) => Distance::Kept,
            Some(true) => Distance::Over { by: By::Share(got - most), excess: ratio(got, most) },
        };
        self.found(What::Utilisation, &distance, limit, || say::share(got))
    }

    /// One packet is taken for one transmission; packets sent back to back are one longer one.
    fn sequence(&self, longest: Seconds, gap: Seconds, rule: GapRule) -> Demand {
        let airtime = self.emission.airtime.map(Micros::seconds);
        let gap = match (rule, airtime) {
            (GapRule::AtLeastTheSequence, Some(airtime)) => Seconds(gap.0.max(airtime.0)),
            _ => gap,
        };
        let limit = || format!("at most {}, then a gap of {}", say::time(longest), say::time(gap));
        let Some(airtime) = airtime else {
            return self.found(What::Sequence, &Distance::Unknown, limit, not_known);
        };
        let pause = self.known_duty().filter(|duty| *duty > 0.0).map(|duty| airtime * (1.0 / duty - 1.0));
        let got = || match pause {
            Some(pause) => format!("{}, then a gap of {}", say::time(airtime), say::time(pause)),
            None => format!("{}, the gap is not known", say::time(airtime)),
        };
        let too_long = exceeds(airtime.0, longest.0, 1e-6);
        let too_soon = pause.map(|pause| exceeds(gap.0, pause.0, 1e-6));
        let distance = match (too_long, too_soon) {
            (Some(true), _) => {
                Distance::Over { by: By::Time(airtime - longest), excess: ratio(airtime.0, longest.0) }
            }
            (Some(false), Some(Some(true))) => {
                let pause = pause.unwrap_or(gap);
                Distance::Short {
                    by: By::Time(gap - pause),
                    what: "the gap is too short",
                    excess: ratio(pause.0.max(1e-6), gap.0),
                }
            }
            (Some(false), Some(Some(false))) => Distance::Kept,
            _ => Distance::Unknown,
        };
        self.found(What::Sequence, &distance, limit, got)
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
