//! What both doors do with commissioning: write parts of a fit down, prove, note work, sign, print.

use std::collections::BTreeMap;

use fitting::aircraft::{self, Fit};
use fitting::card::{Card, Label};
use fitting::cards;
use fitting::commission::lapse::{self, Rule};
use fitting::commission::measure::{self, BadMeasure, BadSteps};
use fitting::commission::{Commission, commission};
use fitting::failsafe::{ProofStep, proof_steps};
use fitting::part::{self, Filled, Problem};
use fitting::qr::TooLong;
use register::entry::{Body, Draft};
use register::field::Sort;
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::register::Register;
use register::scene::Scene;
use register::time::Moment;

use crate::workshop::{Workshop, WorkshopError, now};

/// Something about an aircraft's commissioning can't be done.
#[derive(Debug, thiserror::Error)]
pub enum NoFit {
    /// It is no aircraft of this workshop.
    #[error("{0} is no aircraft of this workshop; `show aircraft` lists them")]
    NoAircraft(String),
    /// It is no transmitter of this workshop.
    #[error("{0} is no transmitter of this workshop; `show transmitters` lists them")]
    NoTransmitter(String),
    /// A proof wants a transmitter, and none is known.
    #[error(
        "which transmitter? None is known to fly {0}: name one, or give one of its model memories this aircraft"
    )]
    WhichTransmitter(String),
    /// What was written can't be read.
    #[error("{}", lines(.0))]
    Text(Vec<Problem>),
    /// There is nothing to take away.
    #[error("the {0} are not written down, so there is nothing to take away")]
    NothingThere(&'static str),
    /// Steps can't be so.
    #[error(transparent)]
    Steps(#[from] BadSteps),
    /// A figure can't be.
    #[error(transparent)]
    Measure(#[from] BadMeasure),
    /// Such work isn't done on such a device.
    #[error("`{work}` can't be noted on {name}, {sort}; it can be noted on {on}")]
    NotThere {
        /// The work's word.
        work: &'static str,
        /// The device.
        name: String,
        /// What it is.
        sort: &'static str,
        /// What it can be noted on.
        on: String,
    },
    /// It is said to have been seen later than now.
    #[error("{0} lies in the future; leave the moment out for now")]
    Future(String),
    /// A note is too long.
    #[error("the note has {0} characters, more than the {MOST_NOTE} it may have")]
    LongNote(usize),
    /// A label's or card's square can't hold it.
    #[error(transparent)]
    Square(#[from] TooLong),
    /// The workshop.
    #[error(transparent)]
    Workshop(#[from] WorkshopError),
}

/// A note has at most so many characters.
pub const MOST_NOTE: usize = 1_000;

/// The setting with the address that cards and labels carry.
pub const ADDRESS: &str = "share.address";

fn lines(problems: &[Problem]) -> String {
    let one = |problem: &Problem| match problem.line {
        // It was typed cell by cell, and has no lines.
        0 => format!("{}: `{}` {}", problem.origin, problem.key, problem.says),
        _ => problem.to_string(),
    };
    problems.iter().map(one).collect::<Vec<_>>().join("\n")
}

fn label(register: &Register, id: DeviceId) -> String {
    let scene = Scene::new(register);
    scene.device(id).map_or_else(|| "it".to_owned(), |device| register::view::card(device).label())
}

/// An aircraft's fit.
pub fn fit(register: &Register, fleet: &Fleet, aircraft: DeviceId) -> Fit {
    Fit::of(&Scene::new(register), fleet, register.canonical(aircraft))
}

/// An aircraft's commissioning list.
///
/// # Errors
/// It is no aircraft; the transmitter named is none.
pub fn list(
    register: &Register,
    fleet: &Fleet,
    aircraft: DeviceId,
    transmitter: Option<DeviceId>,
) -> Result<(Commission, Fit), NoFit> {
    if let Some(id) = transmitter
        && fleet.transmitter(register.canonical(id)).is_none()
    {
        return Err(NoFit::NoTransmitter(label(register, id)));
    }
    let fit = fit(register, fleet, aircraft);
    let scene = Scene::new(register);
    commission(&scene, fleet, aircraft, transmitter, &fit.states(), now())
        .map(|list| (list, fit))
        .ok_or_else(|| NoFit::NoAircraft(label(register, aircraft)))
}

fn known(workshop: &Workshop, aircraft: DeviceId) -> Result<DeviceId, NoFit> {
    let id = workshop.register().canonical(aircraft);
    match workshop.fleet().aircraft(id) {
        Some(_) => Ok(id),
        None => Err(NoFit::NoAircraft(label(workshop.register(), aircraft))),
    }
}

/// Writes a part of an aircraft's fit down; `origin` is what to call the text in problems.
///
/// # Errors
/// It is no aircraft; the text can't be read; the workshop can't be written. Then nothing was.
pub fn write_part(
    workshop: &mut Workshop,
    aircraft: DeviceId,
    part: Part,
    origin: &str,
    text: &str,
) -> Result<(), NoFit> {
    let id = known(workshop, aircraft)?;
    aircraft::check_text(part, origin, text).map_err(NoFit::Text)?;
    put(workshop, id, part, text.to_owned())
}

/// Takes a part of an aircraft's fit away.
///
/// # Errors
/// It is no aircraft, nothing is written down, or the workshop can't be written.
pub fn clear_part(workshop: &mut Workshop, aircraft: DeviceId, part: Part) -> Result<(), NoFit> {
    let id = known(workshop, aircraft)?;
    if workshop.register().fit(id).and_then(|log| log.text(part)).is_none() {
        return Err(NoFit::NothingThere(part.word()));
    }
    put(workshop, id, part, String::new())
}

fn put(workshop: &mut Workshop, id: DeviceId, part: Part, text: String) -> Result<(), NoFit> {
    let replaces = workshop.register().fit(id).map(|log| log.standing(part)).unwrap_or_default();
    let body = Body::Fitted(Fitted { part, text, replaces });
    workshop.record(&[Draft { seen: now(), subject: id, body }], &[])?;
    Ok(())
}

/// Cells typed by path (`output.3.channel` and its text) laid over what is written down; an empty text
/// takes a cell away. The text that comes of it.
///
/// # Errors
/// A path or a text that can't be; what is written down can't be read.
pub fn with_cells(
    written: Option<&str>,
    part: Part,
    origin: &str,
    cells: &[(String, String)],
) -> Result<String, NoFit> {
    let schema = part::schema(part);
    let before = match written {
        Some(text) => part::read(schema, "what is written", text).map_err(NoFit::Text)?,
        None => Filled::empty(schema),
    };
    let mut all = part::inputs(&before);
    for (path, text) in cells {
        all.retain(|(have, _)| have != path);
        all.push((path.clone(), text.clone()));
    }
    let filled = part::from_inputs(schema, origin, &all).map_err(NoFit::Text)?;
    aircraft::check_filled(part, origin, &filled).map_err(NoFit::Text)?;
    Ok(part::write(&filled))
}

/// The steps of a proof on an aircraft, cautions with each.
///
/// # Errors
/// It is no aircraft.
pub fn steps(workshop: &Workshop, aircraft: DeviceId, proof: Proof) -> Result<Vec<ProofStep>, NoFit> {
    let id = known(workshop, aircraft)?;
    let fit = fit(workshop.register(), workshop.fleet(), id);
    Ok(proof_steps(fit.craft, fit.power, proof))
}

/// A proof that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// Which.
    pub proof: Proof,
    /// With which transmitter; `None` for the first that is meant to fly it.
    pub transmitter: Option<DeviceId>,
    /// Whether all of it held.
    pub held: bool,
    /// The steps that were carried out; none said means all of them.
    pub steps: Vec<String>,
    /// What was measured.
    pub measured: BTreeMap<String, f64>,
    /// Words about it.
    pub note: String,
    /// When; `None` for now.
    pub seen: Option<Moment>,
}

fn moment(seen: Option<Moment>) -> Result<Moment, NoFit> {
    let now = now();
    match seen {
        Some(seen) if seen > now => Err(NoFit::Future(seen.to_string())),
        Some(seen) => Ok(seen),
        None => Ok(now),
    }
}

fn noted(note: &str) -> Result<String, NoFit> {
    let note = note.trim();
    match note.chars().count() {
        count if count > MOST_NOTE => Err(NoFit::LongNote(count)),
        _ => Ok(note.to_owned()),
    }
}

/// Writes down that a proof was tried, and how it went.
///
/// # Errors
/// No such aircraft, transmitter, step or figure; the workshop can't be written.
pub fn prove(workshop: &mut Workshop, aircraft: DeviceId, tried: &Tried) -> Result<(), NoFit> {
    let id = known(workshop, aircraft)?;
    let (list, fit) = list(workshop.register(), workshop.fleet(), id, tried.transmitter)?;
    let transmitter = match tried.proof {
        Proof::Supply => None,
        _ => match &list.transmitter {
            Some(card) => Some(card.id),
            None => return Err(NoFit::WhichTransmitter(list.aircraft.label())),
        },
    };
    measure::fits(tried.proof, &tried.measured)?;
    let proved = Proved {
        proof: tried.proof,
        transmitter,
        held: tried.held,
        steps: tried.steps.clone(),
        measured: tried.measured.clone(),
        note: noted(&tried.note)?,
    };
    let all = proof_steps(fit.craft, fit.power, tried.proof);
    let body = Body::Proved(measure::carried_out(&all, proved)?);
    workshop.record(&[Draft { seen: moment(tried.seen)?, subject: id, body }], &[])?;
    Ok(())
}

/// Notes work on a device, or what befell it; the workshop as a whole for a flying day. Gives the row of
/// the table by which it lapses something.
///
/// # Errors
/// Such work isn't done on such a device; the workshop can't be written.
pub fn worked(
    workshop: &mut Workshop,
    device: DeviceId,
    what: Work,
    note: &str,
    seen: Option<Moment>,
) -> Result<Option<&'static Rule>, NoFit> {
    let id = workshop.register().canonical(device);
    let sort = match device {
        DeviceId::WORKSHOP => None,
        _ => workshop.register().device(id).and_then(|device| device.sort),
    };
    let is_device = device != DeviceId::WORKSHOP;
    if !lapse::may(what, sort) || (is_device && sort.is_none()) {
        let all = [Sort::Aircraft, Sort::Receiver, Sort::Transmitter];
        let mut on: Vec<&str> =
            all.into_iter().filter(|sort| lapse::may(what, Some(*sort))).map(Sort::word).collect();
        if lapse::may(what, None) {
            on.push("the workshop");
        }
        return Err(NoFit::NotThere {
            work: what.word(),
            name: if is_device { label(workshop.register(), id) } else { "the workshop".to_owned() },
            sort: sort.map_or("all of it", Sort::word),
            on: on.join(", "),
        });
    }
    let body = Body::Worked(Worked { what, note: noted(note)? });
    workshop.record(&[Draft { seen: moment(seen)?, subject: id, body }], &[])?;
    Ok(lapse::rule_of(what, sort))
}

/// Puts a name under what is checked and what is not; gives what was signed.
///
/// # Errors
/// No such aircraft or transmitter; the workshop can't be written.
pub fn sign(
    workshop: &mut Workshop,
    aircraft: DeviceId,
    transmitter: Option<DeviceId>,
    note: &str,
) -> Result<Signed, NoFit> {
    let id = known(workshop, aircraft)?;
    let (list, _) = list(workshop.register(), workshop.fleet(), id, transmitter)?;
    let signed = list.signing(&noted(note)?);
    let body = Body::Signed(signed.clone());
    workshop.record(&[Draft { seen: now(), subject: id, body }], &[])?;
    Ok(signed)
}

/// Which card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// For the bench.
    Bench,
    /// For the field.
    Field,
}

impl Which {
    /// The word on the command line and in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Which::Bench => "bench",
            Which::Field => "field",
        }
    }

    /// The card with this word.
    pub fn from_word(word: &str) -> Option<Which> {
        [Which::Bench, Which::Field].into_iter().find(|which| which.word() == word)
    }
}

/// The address that cards and labels carry, where sharing has set one.
pub fn address(register: &Register) -> Option<String> {
    let text = register.setting(ADDRESS)?.trim().trim_end_matches('/');
    (text.starts_with("http://") || text.starts_with("https://")).then(|| text.to_owned())
}

/// A card of an aircraft.
///
/// # Errors
/// No such aircraft or transmitter; its facts are too long for a QR code.
pub fn card(
    register: &Register,
    fleet: &Fleet,
    which: Which,
    aircraft: DeviceId,
    transmitter: Option<DeviceId>,
    address: Option<&str>,
) -> Result<Card, NoFit> {
    let (list, fit) = list(register, fleet, aircraft, transmitter)?;
    let scene = Scene::new(register);
    let workshop = crate::workshop::workshop_name(register);
    let about = cards::About { scene: &scene, fleet, workshop, address, now: now() };
    Ok(match which {
        Which::Bench => cards::bench(&about, &list, &fit)?,
        Which::Field => cards::field(&about, &list, &fit)?,
    })
}

/// Labels of devices, in the order given; those that the workshop no longer has are left out.
///
/// # Errors
/// A device's facts are too long for a QR code.
pub fn labels(
    register: &Register,
    fleet: &Fleet,
    devices: &[DeviceId],
    address: Option<&str>,
) -> Result<Vec<Label>, NoFit> {
    let scene = Scene::new(register);
    let workshop = crate::workshop::workshop_name(register);
    let about = cards::About { scene: &scene, fleet, workshop, address, now: now() };
    let mut out = Vec::new();
    for device in devices {
        out.extend(cards::label(&about, *device)?);
    }
    Ok(out)
}

/// Longer addresses make a label's square too fine to print.
const LONGEST_ADDRESS: usize = 200;

/// Hours before UTC, as typed.
///
/// # Errors
/// It is none; the message says what would be.
pub fn offset_hours(typed: &str) -> Result<f64, String> {
    let hours: f64 = typed.trim().replace(',', ".").parse().unwrap_or(f64::NAN);
    // False for what is no number.
    if (-14.0..=14.0).contains(&hours) {
        return Ok(hours);
    }
    Err("must be a number of hours from -14 to 14, as in 2 or -3.5".to_owned())
}

/// An address that cards and labels may carry: everybody who sees one can read it.
///
/// # Errors
/// It is none; the message says what would be.
pub fn printed_address(typed: &str) -> Result<String, String> {
    let value = typed.trim().trim_end_matches('/');
    let host = value.strip_prefix("https://").or_else(|| value.strip_prefix("http://"));
    let host = host.map(|rest| rest.split(['/', '?', '#']).next().unwrap_or_default());
    match host {
        None | Some("") => {
            Err("must begin with http:// or https:// and name a host, as in http://workshop.local:7717"
                .to_owned())
        }
        Some(host) if host.contains('@') => {
            Err("is printed on labels for all to see; leave the name and password out of it".to_owned())
        }
        Some(_) if value.contains(char::is_whitespace) => Err("can't have blanks in it".to_owned()),
        Some(_) if value.len() > LONGEST_ADDRESS => {
            Err(format!("has {} bytes, more than the {LONGEST_ADDRESS} it may have", value.len()))
        }
        Some(_) => Ok(value.to_owned()),
    }
}
