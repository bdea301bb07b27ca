//! `whatif`: what changes would do; nothing is stored.

use anyhow::{Context as _, bail};
use register::effect;
use register::field::{Field, Part, Sort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::register::Device;
use register::rule::Verdict;
use register::scene::{Change, Scene};
use register::value::Value;
use register::view;
use serde::Serialize;
use wire::answers::effect::Effect;
use wire::answers::link::Link;

use super::Session;
use super::add::stated;
use super::args;
use super::link::{changes, stuck};
use super::named;
use super::table::Table;
use crate::values;
use crate::workshop::{new_device_id, now};

/// What the changes would do.
#[derive(Serialize)]
struct Answer {
    #[serde(flatten)]
    effect: Effect,
    new: Vec<Link>,
}

/// Shows what changes would do.
pub fn what_if(session: &mut Session, args: &args::WhatIf) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let now = now();
    let mut supposed = Supposed { after: scene.clone(), new: Vec::new() };
    for text in &args.new {
        supposed.new_device(text).with_context(|| "--new can't be read".to_owned())?;
    }
    for text in &args.set {
        supposed.set(text).with_context(|| "--set can't be read".to_owned())?;
    }
    for text in &args.flash {
        supposed.flash(text).with_context(|| "--flash can't be read".to_owned())?;
    }
    for text in &args.pair {
        supposed.pair(text).with_context(|| "--pair can't be read".to_owned())?;
    }
    if args.new.is_empty() && args.set.is_empty() && args.flash.is_empty() && args.pair.is_empty() {
        bail!("nothing is supposed; say what with --set, --flash, --pair or --new");
    }
    let Supposed { after, new } = supposed;
    let effect = Effect::new(&effect::effect(&scene, &fleet, &after));
    let mut links = Vec::new();
    if !new.is_empty() {
        let fleet = Fleet::of(&after);
        for transmitter in &fleet.transmitters {
            for receiver in &fleet.receivers {
                if new.contains(&transmitter.card.id) || new.contains(&receiver.card.id) {
                    links.push(Link::of(&after, &fleet, transmitter, receiver, now));
                }
            }
        }
    }
    let answer = Answer { effect, new: links };
    if session.out.json {
        return session.out.answer(&answer);
    }
    show(session, &answer)
}

fn show(session: &mut Session, answer: &Answer) -> anyhow::Result<()> {
    let out = &mut session.out;
    let effect = &answer.effect;
    match (effect.breaks.len(), effect.repairs.len()) {
        (0, 0) => out.line("No link begins or stops to hold.")?,
        (breaks, repairs) => {
            out.line(&format!("Links that would begin to hold: {repairs}; that would stop: {breaks}."))?;
        }
    }
    changes(out, 2, "Breaks", &effect.breaks)?;
    changes(out, 2, "Repairs", &effect.repairs)?;
    let old: Vec<_> = effect.changes.iter().filter(|change| change.before.is_some()).collect();
    if !old.is_empty() {
        out.gap()?;
        let mut table = Table::new(&["link", "before", "after", "meant to hold"]);
        for change in old {
            let wanted = if change.wanted { "yes" } else { "" };
            table.row(&[
                change.text.as_str(),
                change.before.unwrap_or("-"),
                change.after.unwrap_or("gone"),
                wanted,
            ]);
        }
        table.write(out)?;
    }
    if !answer.new.is_empty() {
        out.gap()?;
        let mut table =
            Table::new(&["transmitter", "receiver", "verdict", "can pair", "why, and what to do"]);
        for link in &answer.new {
            let worst = link.reasons.iter().find(|reason| reason.status == "fail");
            let worst = worst.or_else(|| link.reasons.iter().find(|reason| reason.status == "unknown"));
            let mut words = worst.map(|reason| reason.text.clone()).unwrap_or_default();
            words.push_str(&first_thing(link));
            table.row(&[&link.transmitter, &link.receiver, link.verdict, link.can_pair, &words]);
        }
        table.write(out)?;
    }
    out.gap()?;
    out.line("Nothing was stored.")?;
    Ok(())
}

/// The first thing to do about a link: a look where it isn't known, a mend where it is
/// blocked, and nothing where no mend helps, since no look would either.
fn first_thing(link: &Link) -> String {
    let (text, minutes, breaks) = if link.verdict == Verdict::Blocked.word() {
        if !stuck(link).is_empty() {
            return String::new();
        }
        let whole = link.mend.iter().find(|way| way.after != Verdict::Blocked.word());
        let Some(way) = whole.or(link.mend.first()) else { return String::new() };
        (&way.action, way.minutes, way.breaks.len())
    } else {
        let Some(check) = link.settle.first() else { return String::new() };
        (&check.check, check.minutes, 0)
    };
    let breaks = if breaks == 0 { String::new() } else { format!("; breaks {breaks}") };
    format!(" {text} ({}{breaks})", super::link::minutes(minutes))
}

struct Supposed<'a> {
    after: Scene<'a>,
    new: Vec<DeviceId>,
}

impl Supposed<'_> {
    fn apply(&mut self, change: &Change) {
        self.after.apply(change, now());
    }

    fn new_device(&mut self, text: &str) -> anyhow::Result<()> {
        let words = named::words(text)?;
        let [sort, name, facts @ ..] = words.as_slice() else {
            bail!("write the sort and a name, such as 'receiver N1 family=Whimbrel'");
        };
        let sort = Sort::from_word(&sort.to_lowercase())
            .context("the first word must be transmitter, receiver or aircraft")?;
        let name = values::text(name).map_err(|why| anyhow::anyhow!("the name {why}"))?;
        let device = new_device_id();
        let facts = stated(&self.after, device, sort, &name, facts)?;
        self.apply(&Change::Add { device, sort });
        let code = Value::Text(name);
        self.apply(&Change::Set { device, part: Part::Whole, field: Field::Code, value: code });
        for (part, field, value) in facts {
            self.apply(&Change::Set { device, part, field, value });
        }
        self.new.push(device);
        Ok(())
    }

    fn set(&mut self, text: &str) -> anyhow::Result<()> {
        let words = named::words(text)?;
        let [name, fact, value @ ..] = words.as_slice() else {
            bail!("write a device, a fact and a value, such as 'R1 model_id 7'");
        };
        let (device, part) = named::with_part(&self.after, name)?;
        let field = named::fact(fact)?;
        let blank = Device::new(device);
        let known = self.after.device(device).unwrap_or(&blank);
        let label = view::card(known).label();
        let part = match part {
            Some(part) => part,
            None => named::part_of(known, &label, field).with_context(|| {
                "write the part behind a slash here, as R1/END or T1/memory:KEY".to_owned()
            })?,
        };
        named::check_fit(known, &label, &part, field)?;
        let value = named::value(&self.after, device, &part, field, &value.join(" "))?;
        self.apply(&Change::Set { device, part, field, value });
        Ok(())
    }

    fn flash(&mut self, text: &str) -> anyhow::Result<()> {
        let words = named::words(text)?;
        let [name, version, route @ ..] = words.as_slice() else {
            bail!("write a device and a version, such as 'R1 4.2'");
        };
        let end = named::end(&self.after, name, None)?;
        let part = Part::End(end.end.clone());
        let version = match values::parse(&self.after, end.device, &part, Field::Firmware, version) {
            Ok(Value::Text(version)) => version,
            Ok(_) => bail!("name the version"),
            Err(why) => bail!("the version {why}"),
        };
        self.apply(&Change::Flash { end, version, route: route.join(" ") });
        Ok(())
    }

    fn pair(&mut self, text: &str) -> anyhow::Result<()> {
        let words = named::words(text)?;
        let [one, other] = words.as_slice() else {
            bail!("write a receiver and a transmitter, such as 'R1 T1'");
        };
        let straight = named::end(&self.after, one, Some(Sort::Receiver)).is_ok();
        let (receiver, transmitter) = if straight { (one, other) } else { (other, one) };
        let receiver = named::end(&self.after, receiver, Some(Sort::Receiver))?;
        let transmitter = named::end(&self.after, transmitter, Some(Sort::Transmitter))?;
        self.apply(&Change::Pair { receiver, transmitter });
        Ok(())
    }
}
