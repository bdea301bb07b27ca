//! `show`: the workshop, its lists, one device, its history.

use std::io;

use register::field::{Field, Sort};
use register::id::DeviceId;
use register::register::Device as Known;
use register::scene::Scene;
use register::today;
use register::view::Card;
use serde::Serialize;
use wire::answers::device::{Device, Fact, Short};
use wire::answers::history::Entry;
use wire::answers::today::Today;

use super::Session;
use super::args;
use super::families;
use super::link::minutes;
use super::named;
use super::out::Out;
use super::table::Table;
use crate::workshop::{Workshop, now};

/// Shows something.
pub fn show(session: &mut Session, args: &args::Show) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    match args.what.as_deref() {
        None => overview(session, &workshop),
        Some("today") => today_page(session, &workshop),
        Some("transmitters") => list(session, &workshop, Sort::Transmitter),
        Some("receivers") => list(session, &workshop, Sort::Receiver),
        Some("aircraft") => list(session, &workshop, Sort::Aircraft),
        Some("families") => families::list(session, &workshop),
        Some("history") => history(session, &workshop, args.device.as_deref(), args.limit),
        Some(name) => device(session, &workshop, name),
    }
}

/// The workshop in short.
#[derive(Serialize)]
struct Overview {
    name: String,
    path: String,
    text: String,
    entries: u64,
    transmitters: Vec<Short>,
    receivers: Vec<Short>,
    aircraft: Vec<Short>,
    gone: Vec<Short>,
    families: Vec<wire::answers::family::Family>,
}

fn cards(workshop: &Workshop, sort: Sort) -> Vec<Short> {
    let fleet = workshop.fleet();
    let short = |card: &Card| Short::new(card, Some(sort));
    match sort {
        Sort::Transmitter => fleet.transmitters.iter().map(|view| short(&view.card)).collect(),
        Sort::Receiver => fleet.receivers.iter().map(|view| short(&view.card)).collect(),
        Sort::Aircraft => fleet.aircraft.iter().map(|view| short(&view.card)).collect(),
    }
}

fn overview(session: &mut Session, workshop: &Workshop) -> anyhow::Result<()> {
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let overview = Overview {
        name: workshop.name().to_owned(),
        path: workshop.store.path().display().to_string(),
        text: today::today(&scene, &fleet, now()).sentence(),
        entries: register.entries(),
        transmitters: cards(workshop, Sort::Transmitter),
        receivers: cards(workshop, Sort::Receiver),
        aircraft: cards(workshop, Sort::Aircraft),
        gone: fleet
            .gone
            .iter()
            .map(|card| Short::new(card, scene.device(card.id).and_then(|device| device.sort)))
            .collect(),
        families: families::answers(workshop),
    };
    if session.out.json {
        return session.out.answer(&overview);
    }
    let out = &mut session.out;
    out.line(&format!("{} ({})", overview.name, overview.path))?;
    out.line(&overview.text)?;
    for (what, devices) in [
        ("transmitter", &overview.transmitters),
        ("receiver", &overview.receivers),
        ("aircraft", &overview.aircraft),
    ] {
        out.gap()?;
        if devices.is_empty() {
            out.line(&format!("No {what} yet; `add {what} CODE` makes one."))?;
            continue;
        }
        short_table(out, what, devices)?;
    }
    if !overview.gone.is_empty() {
        let names: Vec<&str> = overview.gone.iter().map(|short| short.label.as_str()).collect();
        out.gap()?;
        out.line(&format!("Sold, destroyed or only spoken of: {}.", names.join(", ")))?;
    }
    out.gap()?;
    let names: Vec<&str> = overview.families.iter().map(|family| family.name.as_str()).collect();
    if names.is_empty() {
        out.line("No link family yet; `families starters` shows what to begin one from.")?;
    } else {
        out.line(&format!("Link families: {}.", names.join(", ")))?;
    }
    for (name, problems) in workshop.family_problems() {
        let of_releases = problems.iter().any(|problem| problem.origin.starts_with("releases of "));
        let says = if of_releases {
            format!("The releases added to {name} don't fit it ({} problems).", problems.len())
        } else {
            format!("The family file of {name} can't be read ({} problems).", problems.len())
        };
        out.line(&says)?;
    }
    Ok(())
}

/// How many devices the overview lists of each sort.
const LISTED: usize = 200;

fn short_table(out: &mut Out, what: &'static str, devices: &[Short]) -> io::Result<()> {
    let mut table = Table::new(&[what, "name", "state", "last seen"]);
    for device in devices.iter().take(LISTED) {
        let name = device.name.as_deref().filter(|_| device.code.is_some()).unwrap_or_default();
        let seen = device.last_seen.as_deref().and_then(|seen| seen.get(..10)).unwrap_or_default();
        table.row(&[&device.label, name, device.state, seen]);
    }
    table.write(out)?;
    if devices.len() > LISTED {
        out.line(&format!("and {} more; `export - --as csv` lists all", devices.len() - LISTED))?;
    }
    Ok(())
}

fn list(session: &mut Session, workshop: &Workshop, sort: Sort) -> anyhow::Result<()> {
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let shorts = cards(workshop, sort);
    if session.out.json {
        let devices = shorts.iter().filter_map(|short| {
            let id: DeviceId = short.id.parse().ok()?;
            Some(Device::new(&scene, scene.device(id)?))
        });
        return session.out.answers(devices);
    }
    if shorts.is_empty() {
        let what = sort.word();
        session.out.line(&format!("No {what} yet; `add {what} CODE` makes one."))?;
        return Ok(());
    }
    let head: &[&str] = match sort {
        Sort::Transmitter => {
            &["transmitter", "name", "state", "family", "band", "firmware", "secret", "memories"]
        }
        Sort::Receiver => &[
            "receiver",
            "name",
            "state",
            "family",
            "band",
            "firmware",
            "secret",
            "ID",
            "aircraft",
            "paired with",
        ],
        Sort::Aircraft => &["aircraft", "name", "state", "sort", "receivers"],
    };
    let mut table = Table::new(head);
    for short in &shorts {
        let Some(known) = short.id.parse().ok().and_then(|id| scene.device(id)) else { continue };
        row(&mut table, workshop, &Device::new(&scene, known), known);
    }
    Ok(table.write(&mut session.out)?)
}

fn row(table: &mut Table, workshop: &Workshop, device: &Device, known: &Known) {
    let whole = |field: Field| value(&device.facts, field);
    let ends = |field: Field| {
        let values: Vec<String> = device.ends.iter().map(|end| value(&end.facts, field)).collect();
        if values.iter().all(String::is_empty) { String::new() } else { values.join(" / ") }
    };
    let name = if device.short.code.is_some() {
        device.short.name.clone().unwrap_or_default()
    } else {
        String::new()
    };
    let mut cells = vec![device.short.label.clone(), name, device.short.state.to_owned()];
    if known.sort == Some(Sort::Aircraft) {
        let fitted: Vec<String> =
            workshop.fleet().fitted_in(known.id).map(|receiver| receiver.card.label()).collect();
        cells.extend([whole(Field::Craft), fitted.join(", ")]);
        table.row(&cells);
        return;
    }
    cells.extend([Field::Family, Field::Band, Field::Firmware, Field::Secret].map(ends));
    if known.sort == Some(Sort::Transmitter) {
        cells.push(device.memories.len().to_string());
    } else {
        cells.extend([ends(Field::ModelId), whole(Field::Aircraft), ends(Field::Partners)]);
    }
    table.row(&cells);
}

fn value(facts: &[Fact], field: Field) -> String {
    facts.iter().find(|fact| fact.fact == field.key()).map(|fact| fact.value.clone()).unwrap_or_default()
}

fn device(session: &mut Session, workshop: &Workshop, name: &str) -> anyhow::Result<()> {
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let id = named::device(&scene, name, None)?;
    let Some(known) = scene.device(id) else { anyhow::bail!("{name} is not in the register any more") };
    let answer = Device::new(&scene, known);
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    let sort = answer.short.sort.unwrap_or("device");
    let name = match (&answer.short.code, &answer.short.name) {
        (Some(code), Some(name)) => format!("{code} {name}"),
        _ => answer.short.label.clone(),
    };
    out.line(&format!("{name}: a {sort}, {}", answer.short.state).replace(": a aircraft", ": an aircraft"))?;
    out.line(&format!("id {}", answer.short.id))?;
    out.gap()?;
    let mut table = Table::new(&["part", "fact", "how known", "seen", "value"]);
    let parts = [(String::new(), &answer.facts)]
        .into_iter()
        .chain(answer.ends.iter().map(|end| (format!("end {}", end.key), &end.facts)))
        .chain(answer.memories.iter().map(|memory| (format!("memory {}", memory.key), &memory.facts)));
    for (part, facts) in parts {
        for fact in facts {
            let mut value = fact.value.clone();
            if fact.clash {
                value.push_str(" (readings disagree: look again)");
            }
            if fact.future {
                value.push_str(" (dated into the future)");
            }
            let label = fact.fact.parse().map_or(fact.fact, Field::label);
            let seen = fact.seen.as_deref().and_then(|seen| seen.get(..10)).unwrap_or_default();
            table.row(&[&part, label, fact.how.unwrap_or_default(), seen, &value]);
        }
    }
    if table.is_empty() {
        out.line("Nothing is known of it yet; `record` writes down what you see on it.")?;
    } else {
        table.write(out)?;
    }
    out.gap()?;
    out.line(&format!(
        "{} entries speak about it; `show history` with its name lists them.",
        answer.entries
    ))?;
    Ok(())
}

fn history(session: &mut Session, workshop: &Workshop, of: Option<&str>, limit: u32) -> anyhow::Result<()> {
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let records = match of {
        None => workshop.store.recent(limit)?,
        Some(name) => {
            let id = named::device(&scene, name, None)?;
            let also = register.joined().filter(|(_, under)| *under == id).map(|(other, _)| other);
            let mut records = Vec::new();
            for one in std::iter::once(id).chain(also) {
                records.extend(workshop.store.about(one)?);
            }
            records.sort_by_key(|record| std::cmp::Reverse((record.stamp.clock, record.stamp.id)));
            records.truncate(usize::try_from(limit).unwrap_or(usize::MAX));
            records
        }
    };
    let entries: Vec<Entry> = records
        .iter()
        .map(|record| {
            Entry::new(&scene, &record.stamp, &record.author, &record.kind, &record.body, record.erased)
        })
        .collect();
    if session.out.json {
        return session.out.answer(&entries);
    }
    if entries.is_empty() {
        session.out.line("Nothing is written down yet.")?;
        return Ok(());
    }
    for entry in &entries {
        let device = entry.device.as_deref().unwrap_or("workshop");
        let struck = if entry.struck { " STRUCK" } else { "" };
        let seen = entry.seen.replace('T', " ").replace('Z', "");
        session.out.line(&format!("{seen}  {device}: {}{struck}", entry.text))?;
        session.out.indented(4, &format!("by {}; entry {}", entry.author, entry.entry))?;
    }
    Ok(())
}

fn today_page(session: &mut Session, workshop: &Workshop) -> anyhow::Result<()> {
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let answer = Today::new(&today::today(&scene, &fleet, now()));
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    out.line(&answer.text)?;
    if let Some(next) = &answer.next
        && let Some(text) = &next.text
    {
        out.line(&format!("Next, for {}: {text}", next.aircraft))?;
    }
    if !answer.aircraft.is_empty() {
        out.gap()?;
        let mut table = Table::new(&["aircraft", "name", "state", "transmitter", "minutes", "why"]);
        for line in &answer.aircraft {
            let name = line.name.as_deref().filter(|name| *name != line.aircraft).unwrap_or_default();
            let plan = line.plan.as_ref().map(|plan| minutes(plan.minutes)).unwrap_or_default();
            let ready = line.ready.replace('_', " ");
            let transmitter = line.transmitter.as_deref().unwrap_or_default();
            table.row(&[&line.aircraft, name, &ready, transmitter, &plan, &line.text]);
        }
        table.write(out)?;
    }
    if answer.open_trails > 0 {
        out.gap()?;
        out.line(&format!("Fault trails open: {} (`fault show` lists them).", answer.open_trails))?;
    }
    if answer.stale_count > 0 {
        const SHOWN: usize = 10;
        out.gap()?;
        out.line(&format!("{} facts were last seen too long ago, the oldest first:", answer.stale_count))?;
        let mut table = Table::new(&["device", "part", "fact", "seen", "days ago"]);
        for stale in answer.stale.iter().take(SHOWN) {
            let seen = stale.seen.get(..10).unwrap_or(&stale.seen);
            table.row(&[&stale.device, &stale.part, stale.fact, seen, &stale.days.to_string()]);
        }
        table.write(out)?;
    }
    Ok(())
}
