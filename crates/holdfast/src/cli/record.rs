//! `record` and its sisters: what was seen or done, written into the logbook.

use std::collections::BTreeSet;
use std::io::{self, BufRead as _, IsTerminal as _, Read as _};

use anyhow::{Context as _, bail};
use register::entry::{Body, Draft};
use register::family::Side;
use register::field::{Field, How, Part, Sort};
use register::fleet::{self, Fleet};
use register::id::DeviceId;
use register::register::Device;
use register::scene::Scene;
use register::value::Value;
use register::verdict;
use register::view;
use serde::Serialize;
use store::keys::SecretText;
use wire::answers::device::device_words;
use wire::answers::history::Entry;

use super::Session;
use super::args;
use super::named;
use crate::values;
use crate::workshop::{Workshop, now};

/// The longest secret that is read, bytes.
pub const LONGEST_SECRET: u64 = 4096;

/// What was recorded.
#[derive(Serialize)]
struct Recorded {
    recorded: Vec<Entry>,
}

/// Writes entries, and says so, and what they change.
pub fn write(
    session: &mut Session,
    workshop: &mut Workshop,
    drafts: &[Draft],
    done: &str,
) -> anyhow::Result<()> {
    let before = workshop.fleet().clone();
    let written = workshop.record(drafts, &[])?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    if session.out.json {
        let mut recorded = Vec::new();
        for one in &written {
            if let Some(record) = workshop.store.record(one.stamp.id)? {
                recorded.push(Entry::new(
                    &scene,
                    &record.stamp,
                    &record.author,
                    &record.kind,
                    &record.body,
                    record.erased,
                ));
            }
        }
        return session.out.answer(&Recorded { recorded });
    }
    session.out.line(done)?;
    for line in changed(&before, workshop.fleet()) {
        session.out.line(&line)?;
    }
    Ok(())
}

/// How many changed links are named.
const NAMED: usize = 8;

/// The links meant to hold, before or now, whose verdict is another now: a flash that
/// wipes the pairing ends that meaning, too.
fn changed(before: &Fleet, after: &Fleet) -> Vec<String> {
    let mut lines = Vec::new();
    let mut more = 0;
    let now =
        after.wanted().into_iter().map(|(t, r)| (after.transmitters[t].card.id, after.receivers[r].card.id));
    let mut pairs: Vec<(DeviceId, DeviceId)> = now.collect();
    let seen: BTreeSet<(DeviceId, DeviceId)> = pairs.iter().copied().collect();
    let once = before
        .wanted()
        .into_iter()
        .map(|(t, r)| (before.transmitters[t].card.id, before.receivers[r].card.id));
    pairs.extend(once.filter(|pair| !seen.contains(pair)));
    for (t, r) in pairs {
        let Some((transmitter, receiver)) = after.transmitter(t).zip(after.receiver(r)) else { continue };
        let is = verdict::best(transmitter, receiver).ruling.verdict();
        let was = before
            .transmitter(transmitter.card.id)
            .zip(before.receiver(receiver.card.id))
            .map(|(transmitter, receiver)| verdict::best(transmitter, receiver).ruling.verdict());
        if was.is_none_or(|was| was == is) {
            continue;
        }
        if lines.len() < NAMED {
            let was = was.map_or("new", register::rule::Verdict::word);
            lines.push(format!(
                "{} with {}: {} now ({was} before).",
                transmitter.card.label(),
                receiver.card.label(),
                is.word()
            ));
        } else {
            more += 1;
        }
    }
    if more > 0 {
        lines.push(format!("{more} more links changed; `links --wanted` shows them."));
    }
    lines
}

/// Records a reading.
pub fn record(session: &mut Session, args: &args::Record) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let id = named::device(&scene, &args.device, None)?;
    let Some(device) = scene.device(id) else { bail!("{} is not in the register", args.device) };
    let label = view::card(device).label();
    let field = named::fact(&args.fact)?;
    let part = match (&args.end, &args.memory) {
        (Some(key), _) => Part::End(key_of(key, "end")?),
        (None, Some(key)) => Part::Memory(key_of(key, "memory")?),
        (None, None) => named::part_of(device, &label, field)?,
    };
    named::check_fit(device, &label, &part, field)?;
    let value = value(&mut workshop, &scene, id, &part, field, args)?;
    let words = wire::answers::device::value_words(&scene, &value);
    let place = match &part {
        Part::Whole => String::new(),
        Part::End(key) if key == Part::MAIN => String::new(),
        Part::End(key) => format!(" end {key}"),
        Part::Memory(key) => format!(" memory {key}"),
    };
    let seen = named::seen(args.seen.as_deref())?;
    let done = format!(
        "Recorded: {label}{place}, {} {words} ({}, {}).{}{}",
        field.label(),
        args.how.how().word(),
        seen.date(),
        no_file(&scene, field, &value),
        only_noted(device, &part, field, args.how.how())
    );
    let draft = workshop.reading(id, part, args.how.how(), seen, vec![(field, value)]);
    write(session, &mut workshop, &[draft], &done)
}

/// A word where the reading changes nothing, since what is there is known better.
fn only_noted(device: &Device, part: &Part, field: Field, how: How) -> String {
    let held = device.part(part).map(|facts| view::fact(facts, field).options).unwrap_or_default();
    match held.iter().map(|(_, source)| source.how).max() {
        Some(better) if better > how => {
            format!(" It is only noted: what is there is known better ({}) and keeps holding.", better.word())
        }
        _ => String::new(),
    }
}

/// A word of warning where a link family is named of which no file is here: it may be
/// misspelt, and then "two families never link" would be the answer.
pub fn no_file(scene: &Scene, field: Field, value: &Value) -> String {
    match (field, value) {
        (Field::Family, Value::Text(name)) if scene.register.family(name).is_none() => format!(
            " There is no family file for {name}: correct the name if it is misspelt (`families` lists those in use), \
             or add its file."
        ),
        _ => String::new(),
    }
}

fn key_of(key: &str, what: &str) -> anyhow::Result<String> {
    values::key(key).map_err(|why| anyhow::anyhow!("the {what}'s key {why}"))
}

fn value(
    workshop: &mut Workshop,
    scene: &Scene,
    device: DeviceId,
    part: &Part,
    field: Field,
    args: &args::Record,
) -> anyhow::Result<Value> {
    let typed = args.value.join(" ");
    if args.secret_stdin && (field != Field::Secret || !typed.is_empty()) {
        bail!("--secret-stdin goes with the fact `secret` and no value");
    }
    if field == Field::Secret && typed.is_empty() {
        let secret = if args.secret_stdin { from_stdin()? } else { asked(&args.device)? };
        return Ok(Value::Secret(workshop.fingerprint(&secret)?));
    }
    if typed.is_empty() {
        bail!("a value is missing; write it behind `{}`, or `unknown`", field.key());
    }
    named::value(scene, device, part, field, &typed)
}

/// A secret as it was typed.
pub fn taken(line: &str) -> anyhow::Result<SecretText> {
    let secret = line.trim_end_matches(['\r', '\n']);
    if secret.is_empty() {
        bail!("no secret was given; write `blank` as the value where the device holds none");
    }
    Ok(SecretText::new(secret))
}

fn from_stdin() -> anyhow::Result<SecretText> {
    let mut line = Vec::new();
    io::stdin().lock().take(LONGEST_SECRET).read_until(b'\n', &mut line)?;
    let line = String::from_utf8(line).ok().context("the secret is not text (UTF-8)")?;
    taken(&line)
}

fn asked(device: &str) -> anyhow::Result<SecretText> {
    if !io::stdin().is_terminal() {
        bail!("nobody is there to type the secret; send it in with --secret-stdin");
    }
    let question = format!("Link secret of {} (not shown): ", super::out::clean(device));
    taken(&rpassword::prompt_password(question)?)
}

/// Records a pairing.
pub fn pair(session: &mut Session, args: &args::Pair) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    // Whichever is named first, as long as the one is a receiver and the other a transmitter.
    let straight = fleet::find(&scene, &args.receiver, Some(Sort::Transmitter)).is_err();
    let (receiver, transmitter) =
        if straight { (&args.receiver, &args.transmitter) } else { (&args.transmitter, &args.receiver) };
    let receiver = named::end(&scene, receiver, Some(Sort::Receiver))?;
    let transmitter = named::end(&scene, transmitter, Some(Sort::Transmitter))?;
    let seen = named::seen(args.seen.as_deref())?;
    let done = format!(
        "Recorded: {} was paired with {} ({}).",
        wire::answers::device::end_words(&scene, &receiver),
        wire::answers::device::end_words(&scene, &transmitter),
        seen.date()
    );
    let body = Body::Paired { end: receiver.end, transmitter };
    write(session, &mut workshop, &[Draft { seen, subject: receiver.device, body }], &done)
}

/// Records a flash.
pub fn flash(session: &mut Session, args: &args::Flash) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let end = named::end(&scene, &args.device, None)?;
    let Some(device) = scene.device(end.device) else { bail!("{} is not in the register", args.device) };
    if device.sort == Some(Sort::Aircraft) {
        bail!("{} is an aircraft; name the receiver in it", args.device);
    }
    let part = Part::End(end.end.clone());
    let version = match values::parse(&scene, end.device, &part, Field::Firmware, &args.version) {
        Ok(Value::Text(version)) => version,
        Ok(_) => bail!("name the version that was written"),
        Err(why) => bail!("the version {why}"),
    };
    let route = args.route.clone().unwrap_or_default();
    check_route(&scene, device, &end.end, &route)?;
    let seen = named::seen(args.seen.as_deref())?;
    let done = format!(
        "Recorded: {} was flashed to {version} ({}).",
        wire::answers::device::end_words(&scene, &end),
        seen.date()
    );
    let body = Body::Flashed { end: end.end, version, route };
    write(session, &mut workshop, &[Draft { seen, subject: end.device, body }], &done)
}

fn check_route(
    scene: &Scene,
    device: &register::register::Device,
    end: &str,
    route: &str,
) -> anyhow::Result<()> {
    let family = device
        .ends
        .get(end)
        .and_then(|facts| view::words(&facts.facts, Field::Family))
        .and_then(|name| scene.register.family(&name));
    let Some(family) = family.filter(|_| !route.is_empty()) else { return Ok(()) };
    if family.flash.iter().any(|known| known.name == route) {
        return Ok(());
    }
    let side = if device.sort == Some(Sort::Receiver) { Side::Receiver } else { Side::Transmitter };
    let routes = family.flash.iter().filter(|route| route.side == side);
    let routes: Vec<&str> = routes.map(|route| route.name.as_str()).collect();
    bail!("{} has no way of flashing of that name; its ways are {}", family.name, routes.join(", "))
}

/// Records a note.
pub fn note(session: &mut Session, args: &args::Note) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let subject = named::device(&scene, &args.device, None)?;
    let text = values::text(&args.text.join(" ")).map_err(|why| anyhow::anyhow!("the note {why}"))?;
    let seen = named::seen(args.seen.as_deref())?;
    let done = format!("Noted about {}.", device_words(&scene, subject));
    write(session, &mut workshop, &[Draft { seen, subject, body: Body::Note { text } }], &done)
}

/// Strikes an entry.
pub fn strike(session: &mut Session, entry: &str) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let entry = named::entry(entry)?;
    let Some(record) = workshop.store.record(entry)? else {
        bail!("there is no entry {entry} in this workshop; `show history` lists them");
    };
    if workshop.register().is_struck(entry) {
        bail!("entry {entry} is struck already");
    }
    let draft = Draft { seen: now(), subject: record.stamp.subject, body: Body::Strike { entry } };
    write(session, &mut workshop, &[draft], &format!("Struck entry {entry}; it counts no more."))
}

/// Erases what an entry says.
pub fn erase(session: &mut Session, entry: &str) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let entry = named::entry(entry)?;
    workshop.store.erase(entry)?;
    workshop.refresh()?;
    if session.out.json {
        return session.out.answer(&serde_json::json!({ "erased": entry.to_string() }));
    }
    session.out.line(&format!(
        "Erased what entry {entry} said; backups and other copies keep theirs until merged."
    ))?;
    Ok(())
}

/// Joins two devices.
pub fn same_as(session: &mut Session, one: &str, other: &str) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let (a, b) = (named::device(&scene, one, None)?, named::device(&scene, other, None)?);
    if a == b {
        bail!("{one} and {other} are one device already");
    }
    let sorts =
        (scene.device(a).and_then(|device| device.sort), scene.device(b).and_then(|device| device.sort));
    if let (Some(a), Some(b)) = sorts
        && a != b
    {
        bail!("{one} is a {}, {other} a {}: they can't be one device", a.word(), b.word());
    }
    let draft = Draft { seen: now(), subject: a, body: Body::SameAs { other: b } };
    let done = format!("Joined: {a} and {b} are one device. `parted` with these ids takes it back.");
    write(session, &mut workshop, &[draft], &done)
}

/// Parts two joined devices.
pub fn parted(session: &mut Session, one: &str, other: &str) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let id = |text: &str| -> anyhow::Result<DeviceId> {
        text.parse().map_err(|_| {
            let joined: Vec<String> = register.joined().map(|(a, b)| format!("{a} with {b}")).collect();
            if joined.is_empty() {
                anyhow::anyhow!("no two devices are joined in this workshop")
            } else {
                anyhow::anyhow!("name both by their ids; joined are {}", joined.join(", "))
            }
        })
    };
    let (a, b) = (id(one)?, id(other)?);
    if a == b || register.canonical(a) != register.canonical(b) {
        bail!("{a} and {b} are not joined");
    }
    // From each that it is joined with, for it may be joined through a third.
    let parted = |from| Draft { seen: now(), subject: from, body: Body::Parted { other: b } };
    let drafts: Vec<Draft> = register.group(a).into_iter().filter(|one| *one != b).map(parted).collect();
    write(session, &mut workshop, &drafts, &format!("Parted: {a} and {b} are two devices."))
}
