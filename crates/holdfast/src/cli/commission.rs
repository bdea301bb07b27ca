//! `commission`: the list of what was checked and what was not, proofs, work, signatures.

pub mod args;
mod say;

use std::collections::BTreeMap;

use anyhow::bail;
use fitting::commission::lapse;
use register::field::Sort;
use register::fit::Work;
use register::fleet::Fleet;
use register::id::DeviceId;
use register::register::Register;
use register::scene::Scene;
use wire::answers::commission::{Brief, List, Noted, Rule, Signed, Steps};

use self::args::{Went, What};
use super::{Session, named};
use crate::fittings::{self, Tried};
use crate::workshop::Workshop;

/// Does something about commissioning.
pub fn commission(session: &mut Session, what: Option<What>) -> anyhow::Result<()> {
    match what.unwrap_or(What::Fleet) {
        What::Show(args) => show(session, &args),
        What::Steps(args) => steps(session, &args),
        What::Prove(args) => prove(session, &args),
        What::Did(args) => did(session, &args),
        What::Sign(args) => sign(session, &args),
        What::Table => table(session),
        What::Fleet => fleet(session),
    }
}

/// An aircraft and a transmitter by their names.
fn pair(
    register: &Register,
    aircraft: &str,
    transmitter: Option<&str>,
) -> anyhow::Result<(DeviceId, Option<DeviceId>)> {
    let scene = Scene::new(register);
    Ok((named::device(&scene, aircraft, Some(Sort::Aircraft))?, named::transmitter(&scene, transmitter)?))
}

fn list(workshop: &Workshop, aircraft: DeviceId, transmitter: Option<DeviceId>) -> anyhow::Result<List> {
    let (list, _) = fittings::list(workshop.register(), workshop.fleet(), aircraft, transmitter)?;
    Ok(List::new(&list))
}

fn show(session: &mut Session, args: &args::Show) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (id, transmitter) = pair(workshop.register(), &args.aircraft, args.transmitter.as_deref())?;
    let answer = list(&workshop, id, transmitter)?;
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(say::list(&mut session.out, &answer)?)
}

fn steps(session: &mut Session, args: &args::Steps) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (id, _) = pair(workshop.register(), &args.aircraft, None)?;
    let proof = args.proof.proof();
    let steps = fittings::steps(&workshop, id, proof)?;
    let (list, _) = fittings::list(workshop.register(), workshop.fleet(), id, None)?;
    let answer = Steps::new(&list.aircraft, proof, &steps);
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(say::steps(&mut session.out, &answer)?)
}

/// Figures as they were typed.
fn measured(typed: &[String]) -> anyhow::Result<BTreeMap<String, f64>> {
    let mut out = BTreeMap::new();
    for one in typed {
        let short = || super::out::clip(one, 60);
        let Some((key, value)) = one.split_once('=') else {
            bail!("{} is no figure; write KEY=VALUE, as in distance_m=45", short())
        };
        let Ok(number) = value.trim().replace(',', ".").parse::<f64>() else {
            bail!("the value of {} is no number; write it without its unit, as in distance_m=45", short())
        };
        if out.insert(key.trim().to_owned(), number).is_some() {
            bail!("{} is given twice; keep one of the two", super::out::clip(key.trim(), 60));
        }
    }
    Ok(out)
}

fn prove(session: &mut Session, args: &args::Prove) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let (id, transmitter) = pair(workshop.register(), &args.aircraft, args.transmitter.as_deref())?;
    let proof = args.proof.proof();
    let tried = Tried {
        proof,
        transmitter,
        held: args.went == Went::Held,
        steps: args.steps.clone(),
        measured: measured(&args.measured)?,
        note: args.note.clone().unwrap_or_default(),
        seen: args.seen.as_deref().map(|text| named::seen(Some(text))).transpose()?,
    };
    fittings::prove(&mut workshop, id, &tried)?;
    let answer = list(&workshop, id, transmitter)?;
    if session.out.json {
        return session.out.answer(&answer);
    }
    let key = format!("proof:{}", proof.word());
    Ok(say::after(&mut session.out, &answer, &key)?)
}

/// The device and the work that were named; no device for the workshop as a whole.
fn work(register: &Register, words: &[String]) -> anyhow::Result<(DeviceId, Work)> {
    let all = || Work::ALL.iter().map(|work| work.word()).collect::<Vec<_>>().join(", ");
    let (device, word) = match words {
        [word] => (None, word),
        [device, word] => (Some(device), word),
        _ => bail!("name a device and the work; the work is one of {}", all()),
    };
    let Some(work) = Work::from_word(&word.trim().to_lowercase().replace('_', "-")) else {
        bail!("`{}` is no work that can be noted; write one of {}", super::out::clip(word, 60), all())
    };
    match device {
        Some(name) => Ok((named::device(&Scene::new(register), name, None)?, work)),
        None if work == Work::FlyingDay => Ok((DeviceId::WORKSHOP, work)),
        None => bail!("on which device? `commission did DEVICE {}`", work.word()),
    }
}

/// The aircraft that work on a device is about.
fn about(register: &Register, fleet: &Fleet, device: DeviceId) -> Vec<String> {
    let id = register.canonical(device);
    let is_about = |aircraft: DeviceId| {
        aircraft == id
            || fleet.fitted_in(aircraft).any(|view| view.card.id == id)
            || fitting::commission::transmitters(fleet, aircraft).iter().any(|card| card.id == id)
    };
    let all = fleet.aircraft.iter().map(|view| &view.card);
    all.filter(|card| device == DeviceId::WORKSHOP || is_about(card.id))
        .map(register::view::Card::label)
        .collect()
}

fn did(session: &mut Session, args: &args::Did) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let (device, what) = work(workshop.register(), &args.words)?;
    let seen = args.seen.as_deref().map(|text| named::seen(Some(text))).transpose()?;
    let rule = fittings::worked(&mut workshop, device, what, args.note.as_deref().unwrap_or_default(), seen)?;
    let (register, fleet) = (workshop.register(), workshop.fleet());
    let known = register.device(register.canonical(device)).filter(|_| device != DeviceId::WORKSHOP);
    let answer = Noted {
        device: known.map(|device| register::view::card(device).label()),
        work: what.word(),
        label: what.label(),
        rule: rule.map(Rule::new),
        aircraft: about(register, fleet, device),
    };
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(say::noted(&mut session.out, &answer)?)
}

fn sign(session: &mut Session, args: &args::Sign) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let (id, transmitter) = pair(workshop.register(), &args.aircraft, args.transmitter.as_deref())?;
    let signed = fittings::sign(&mut workshop, id, transmitter, args.note.as_deref().unwrap_or_default())?;
    let answer = list(&workshop, id, transmitter)?;
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(say::signed(&mut session.out, &answer, &Signed::new(&signed))?)
}

fn table(session: &mut Session) -> anyhow::Result<()> {
    let rules: Vec<Rule> = lapse::rules().iter().map(Rule::new).collect();
    if session.out.json {
        return session.out.answer(&rules);
    }
    Ok(say::table(&mut session.out, &rules)?)
}

fn fleet(session: &mut Session) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register(), workshop.fleet());
    let mut all = Vec::new();
    for view in &fleet.aircraft {
        let (list, _) = fittings::list(register, fleet, view.card.id, None)?;
        all.push(Brief::new(&list));
    }
    if session.out.json {
        return session.out.answer(&all);
    }
    Ok(say::fleet(&mut session.out, &all)?)
}
