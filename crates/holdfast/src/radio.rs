//! The question that both doors put to the link sheet: which gear, which flight, which
//! setting.

use link::law::Limits;
use link::sheet::Warning;
use link::wish::{Asked, Gear, WishError, build};
use register::family::{Family, read, shipped};
use register::field::Sort;
use register::fleet::{self, Fleet, NotFound};
use register::id::DeviceId;
use register::radio::{self, Found, Meant, NoGear, Suggested};
use register::register::Register;
use register::scene::Scene;
use register::verdict;
use register::view::{Card, ReceiverView, TransmitterView};

/// Whose link a sheet is about.
#[derive(Clone, Debug, PartialEq)]
pub enum About {
    /// A transmitter and a receiver of the workshop.
    Link {
        /// The transmitter.
        transmitter: Box<Card>,
        /// The receiver.
        receiver: Box<Card>,
        /// The aircraft it is in.
        aircraft: Option<Box<Card>>,
    },
    /// A family's gear on one band, no device of the workshop.
    Family,
}

/// A question, ready to be reckoned, with where its values come from.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Whose link.
    pub about: About,
    /// The gear.
    pub gear: Gear,
    /// What was asked.
    pub asked: Asked,
    /// What the register suggested and nobody said otherwise.
    pub suggested: Vec<Suggested>,
}

/// A link that may be asked about, before anything is said of the flight.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject {
    /// Whose link.
    pub about: About,
    /// The gear.
    pub found: Found,
}

/// A question can't be put.
#[derive(Debug, thiserror::Error)]
pub enum NoQuestion {
    /// A device can't be found.
    #[error(transparent)]
    Device(#[from] NotFound),
    /// The gear isn't known.
    #[error(transparent)]
    Gear(#[from] NoGear),
    /// An aircraft has no receiver.
    #[error("no receiver is known to be in {0}; record it: record RX aircraft \"{0}\"")]
    NoReceiver(String),
    /// What was named first is no transmitter.
    #[error("{0} is no transmitter; name the transmitter first, then the receiver or the aircraft")]
    NoTransmitter(String),
    /// What was named second is neither.
    #[error("{0} is neither a receiver nor an aircraft that is here")]
    NeitherReceiverNorAircraft(String),
    /// The family isn't known.
    #[error("there is no link family `{got}`; there are {have}")]
    NoFamily {
        /// What was typed.
        got: String,
        /// What there is.
        have: String,
    },
    /// Something that was said can't be used.
    #[error("{}", lines(.0))]
    Wishes(Vec<WishError>),
}

fn lines(wrong: &[WishError]) -> String {
    wrong.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// The subject of a sheet by names: a transmitter, and a receiver or an aircraft.
///
/// # Errors
/// [`NoQuestion`], saying what to record.
pub fn by_names(
    register: &Register,
    fleet: &Fleet,
    transmitter: &str,
    other: &str,
    band: Option<&str>,
    limits: &Limits,
) -> Result<Subject, NoQuestion> {
    let scene = Scene::new(register);
    // `R7/high` names an end; a device may also be called so.
    let split = |name: &str| match (fleet::find(&scene, name, None), name.rsplit_once('/')) {
        (Err(_), Some((device, end))) => (device.trim().to_owned(), Some(end.trim().to_owned())),
        _ => (name.to_owned(), None),
    };
    let ((transmitter, transmitter_end), (other, receiver_end)) = (split(transmitter), split(other));
    let (transmitter, other) = (transmitter.as_str(), other.as_str());
    let meant =
        Meant { transmitter_end: transmitter_end.as_deref(), receiver_end: receiver_end.as_deref(), band };
    let t = match fleet::find(&scene, transmitter, Some(Sort::Transmitter)) {
        Ok(id) => id,
        // Better than "no such device": that it is something else.
        Err(why) => fleet::find(&scene, transmitter, None).map_err(|_| why)?,
    };
    let sorts = [Sort::Receiver, Sort::Aircraft];
    let found = sorts.into_iter().find_map(|sort| fleet::find(&scene, other, Some(sort)).ok());
    let o = match found {
        Some(id) => id,
        None => fleet::find(&scene, other, None)?,
    };
    by_ids(register, fleet, t, o, meant, limits)
}

/// The subject of a sheet by ids: a transmitter, and a receiver or an aircraft. Of an
/// aircraft's receivers the one whose link stands best.
///
/// # Errors
/// [`NoQuestion`], saying what to record.
pub fn by_ids(
    register: &Register,
    fleet: &Fleet,
    transmitter: DeviceId,
    other: DeviceId,
    meant: Meant,
    limits: &Limits,
) -> Result<Subject, NoQuestion> {
    let scene = Scene::new(register);
    let called =
        |id: DeviceId| scene.device(id).map_or_else(String::new, |d| register::view::card(d).label());
    let view =
        fleet.transmitter(transmitter).ok_or_else(|| NoQuestion::NoTransmitter(called(transmitter)))?;
    let receiver = match (fleet.receiver(other), fleet.aircraft(other)) {
        (Some(receiver), _) => receiver,
        (None, Some(aircraft)) => {
            best_in(fleet, view, other).ok_or_else(|| NoQuestion::NoReceiver(aircraft.card.label()))?
        }
        (None, None) => return Err(NoQuestion::NeitherReceiverNorAircraft(called(other))),
    };
    let mut found = radio::of_link(&scene, view, receiver, limits, meant)?;
    if fleet.receiver(other).is_none() {
        let others: Vec<String> = fleet
            .fitted_in(other)
            .filter(|one| one.card.id != receiver.card.id)
            .map(|one| one.card.label())
            .collect();
        if !others.is_empty() {
            found.notes.push(format!(
                "This is the link to {}; {} is aboard, too: name it to reckon its link.",
                receiver.card.label(),
                others.join(", ")
            ));
        }
    }
    let aircraft =
        receiver.fitted_in().and_then(|id| fleet.aircraft(id)).map(|one| Box::new(one.card.clone()));
    let about = About::Link {
        transmitter: Box::new(view.card.clone()),
        receiver: Box::new(receiver.card.clone()),
        aircraft,
    };
    Ok(Subject { about, found })
}

fn best_in<'a>(
    fleet: &'a Fleet,
    transmitter: &TransmitterView,
    aircraft: DeviceId,
) -> Option<&'a ReceiverView> {
    fleet.fitted_in(aircraft).min_by_key(|receiver| verdict::best(transmitter, receiver).ruling.rank())
}

/// The subject of a sheet without devices: a family's gear on one band (its only one when
/// none is named).
///
/// # Errors
/// [`NoQuestion`], naming what there is.
pub fn by_family(register: &Register, name: &str, band: &str) -> Result<Subject, NoQuestion> {
    let starters: Vec<Family> =
        shipped::starters().iter().filter_map(|(file, text)| read::read(file, text).ok()).collect();
    // A starter is known by its family's name and by its file's.
    let file = |at: usize| shipped::starters()[at].0.trim_end_matches(".toml");
    let same = |(at, family): &(usize, &Family)| {
        family.name.eq_ignore_ascii_case(name.trim()) || file(*at).eq_ignore_ascii_case(name.trim())
    };
    let starter = || starters.iter().enumerate().find(same).map(|(_, family)| family);
    let family = register.family(name).map(AsRef::as_ref).or_else(starter);
    let family = family.ok_or_else(|| NoQuestion::NoFamily {
        got: name.chars().take(60).collect(),
        have: register
            .families()
            .filter_map(|(_, used)| used.family.as_ref())
            .map(|family| family.name.as_str())
            .chain(starters.iter().map(|family| family.name.as_str()))
            .collect::<Vec<_>>()
            .join(", "),
    })?;
    let gear = radio::gear_on(family, band)?;
    Ok(Subject { about: About::Family, found: Found { gear, suggested: Vec::new(), notes: Vec::new() } })
}

impl Subject {
    /// Puts the question: what was typed, then what the register suggests, then defaults.
    ///
    /// # Errors
    /// [`NoQuestion::Wishes`], everything that can't be used.
    pub fn ask(self, typed: &[(String, String)], limits: &Limits) -> Result<Question, NoQuestion> {
        let said = |key: &str| typed.iter().any(|(have, text)| have == key && !text.trim().is_empty());
        let suggested: Vec<Suggested> =
            self.found.suggested.into_iter().filter(|one| !said(one.key)).collect();
        let mut all: Vec<(String, String)> =
            typed.iter().filter(|(_, text)| !text.trim().is_empty()).cloned().collect();
        all.extend(suggested.iter().map(|one| (one.key.to_owned(), one.text.clone())));
        let mut asked = build(&self.found.gear, &all, limits).map_err(NoQuestion::Wishes)?;
        let notes = self.found.notes.into_iter();
        asked
            .setup
            .notes
            .splice(0..0, notes.map(|text| Warning { text, source: "the rules of both ends".to_owned() }));
        Ok(Question { about: self.about, gear: self.found.gear, asked, suggested })
    }
}
