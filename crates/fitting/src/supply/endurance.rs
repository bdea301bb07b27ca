//! How long the packs last, at their nominal voltage.

use units::{Amps, Minutes};

use super::answer::{Endurance, Load, Outcome};
use super::model::{Charge, Join, Supply, Throttle};
use super::rules::{average, lasts, root_mean_square};

/// What a flight takes on average.
struct Taken {
    bus: Vec<(Amps, f64)>,
    /// By pack.
    packs: Vec<Vec<(Amps, f64)>>,
}

impl Supply {
    /// The loads of a flight with their shares.
    fn flight(&self) -> Vec<(Load, f64)> {
        let mut parts: Vec<(Load, f64)> =
            self.manoeuvres.iter().map(|one| (Load::Manoeuvre(one.name.clone()), one.share)).collect();
        let moving: f64 = parts.iter().map(|(_, share)| share).sum();
        parts.insert(0, (Load::Rest, (1.0 - moving).max(0.0)));
        parts.retain(|(_, share)| *share > 0.0);
        parts
    }

    fn taken_in_flight(&self, failed: Option<usize>) -> Result<Taken, String> {
        let mut taken = Taken { bus: Vec::new(), packs: vec![Vec::new(); self.packs.len()] };
        for (load, share) in self.flight() {
            match self.outcome_at(&load, Charge::Nominal, failed, Throttle::Average) {
                Outcome::Held(point) | Outcome::Reset(point) => {
                    taken.bus.push((point.amps, share));
                    for (pack, list) in self.packs.iter().zip(&mut taken.packs) {
                        let amps = point.feeds.iter().find(|feed| feed.pack == pack.name);
                        list.push((amps.map_or(Amps(0.0), |feed| feed.amps), share));
                    }
                }
                Outcome::Collapse { why } => return Err(format!("{}: {why}", load.words())),
            }
        }
        Ok(taken)
    }

    /// Minutes of the packs that feed together, down to the reserve.
    fn minutes(&self, taken: &Taken) -> Option<Minutes> {
        let all = Amps(taken.packs.iter().map(|list| average(list).0).sum());
        let feeding = self.packs.iter().zip(&taken.packs).filter(|(_, list)| average(list).0 > 0.0);
        let mut capacity = units::MilliampHours(0.0);
        for (pack, _) in feeding {
            capacity = capacity + pack.capacity?;
        }
        (all.0 > 0.0).then(|| lasts(capacity, self.reserve, all))
    }

    /// Minutes until the first pack that feeds a motor is down to the reserve; `None` without a motor or
    /// without such a pack's capacity.
    fn flying(&self, taken: &Taken) -> Option<Minutes> {
        let packs = self.packs.iter().zip(&taken.packs);
        let last = packs
            .filter(|(pack, _)| pack.motor_amps(Throttle::Average).0 > 0.0)
            .map(|(pack, list)| pack.capacity.map(|capacity| lasts(capacity, self.reserve, average(list))));
        last.collect::<Option<Vec<Minutes>>>()?.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// What is to be said with the minutes.
    fn with_what(&self) -> Option<&'static str> {
        let runs = self.packs.iter().any(|pack| pack.motor_amps(Throttle::Full).0 > 0.0);
        let unknown = self.packs.iter().any(super::model::Pack::motor_unknown);
        if runs { Some("flying") } else { unknown.then_some("without a motor") }
    }

    /// How long the packs last with the stated manoeuvres and their shares.
    pub(super) fn endurance(&self) -> Endurance {
        let nothing = |sentence: String| Endurance {
            sentence,
            average: None,
            rms: None,
            from_packs: None,
            minutes: None,
            with: self.with_what(),
            alone: Vec::new(),
        };
        let taken = match self.taken_in_flight(None) {
            Ok(taken) => taken,
            Err(why) => return nothing(format!("How long it lasts can't be said, as it collapses: {why}.")),
        };
        let mut alone = Vec::new();
        if self.packs.len() > 1 {
            for (place, pack) in self.packs.iter().enumerate() {
                let other = 1 - place.min(1);
                let minutes = self.taken_in_flight(Some(other)).ok().and_then(|taken| self.minutes(&taken));
                alone.push((pack.name.clone(), minutes));
            }
        }
        let minutes = match self.join {
            // One after the other.
            Join::SwitchOver(_) => alone.iter().map(|(_, minutes)| *minutes).sum::<Option<Minutes>>(),
            _ => self.minutes(&taken),
        };
        // The flight is over when a motor's pack is, whatever the other still has.
        let minutes = match (minutes, self.flying(&taken)) {
            (Some(all), Some(flying)) => Some(Minutes(all.0.min(flying.0))),
            (all, _) => all,
        };
        let (bus, rms) = (average(&taken.bus), root_mean_square(&taken.bus));
        let from_packs = Amps(taken.packs.iter().map(|list| average(list).0).sum());
        Endurance {
            sentence: self.lasting(minutes, from_packs),
            average: Some(bus),
            rms: Some(rms),
            from_packs: Some(from_packs),
            minutes,
            with: self.with_what(),
            alone,
        }
    }

    /// How long it lasts, in words.
    fn lasting(&self, minutes: Option<Minutes>, from_packs: Amps) -> String {
        let reserve = (self.reserve * 100.0).round();
        let (packs, them, whole) = if self.packs.len() > 1 {
            ("The packs last", "them", "both packs")
        } else {
            ("The pack lasts", "it", "the pack")
        };
        let with = self.with_what();
        let Some(minutes) = minutes else {
            let with = with.map_or(String::new(), |with| format!(", {with}"));
            return format!(
                "The average is {from_packs} out of {whole}{with}; how long it lasts can't be said without its capacity."
            );
        };
        let average = format!("at an average of {from_packs} out of {them}");
        match with {
            None => format!("{packs} {minutes} {average}, with {reserve} % left in reserve."),
            Some("flying") => {
                let motor: Amps = self.packs.iter().map(|pack| pack.motor_amps(Throttle::Average)).sum();
                let left = if self.reserve > 0.0 {
                    format!("the {reserve} % left then are the receiver's reserve too")
                } else {
                    "nothing is left then, for the receiver neither".to_owned()
                };
                format!("{packs} {minutes} flying, {average}, {motor} of it the motor's; {left}.")
            }
            Some(with) => format!("{packs} {minutes} {with}, {average}, with {reserve} % left in reserve."),
        }
    }
}
