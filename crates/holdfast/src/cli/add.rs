//! `add`: a further device.

use anyhow::{Context as _, bail};
use register::entry::{Body, Draft};
use register::field::{Field, Part, Sort};
use register::fleet;
use register::id::DeviceId;
use register::register::Device;
use register::scene::{Change, Scene};
use register::value::Value;

use super::Session;
use super::args;
use super::named;
use super::record;
use crate::values;
use crate::workshop::{new_device_id, now};

/// Adds a device with what is seen on it.
pub fn add(session: &mut Session, args: &args::Add) -> anyhow::Result<()> {
    let mut workshop = session.workshop_or_new()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let sort = args.sort.sort();
    let code = values::text(&args.code).map_err(|why| anyhow::anyhow!("the code {why}"))?;
    if code.is_empty() {
        bail!("the code is empty; write what is on the device's label, or make one up");
    }
    if fleet::find(&scene, &code, Some(sort)).is_ok() {
        bail!(
            "a {} is called {code} already; choose another code, or `record` what is new about it",
            sort.word()
        );
    }
    let mut facts = vec![(Part::Whole, Field::Code, Value::Text(code.clone()))];
    if let Some(name) = &args.name {
        let name = values::text(name).map_err(|why| anyhow::anyhow!("the name {why}"))?;
        if !name.is_empty() {
            facts.push((Part::Whole, Field::Name, Value::Text(name)));
        }
    }
    let id = new_device_id();
    facts.extend(stated(&scene, id, sort, &code, &args.facts)?);
    let doubt: String =
        facts.iter().map(|(_, field, value)| record::no_file(&scene, *field, value)).collect();
    let seen = named::seen(args.seen.as_deref())?;
    let mut drafts = vec![Draft { seen, subject: id, body: Body::Device { sort } }];
    // One entry for each part, in the order in which the parts were named.
    while let Some((part, ..)) = facts.first() {
        let part = part.clone();
        let (mine, rest): (Vec<_>, Vec<_>) = facts.into_iter().partition(|(have, ..)| *have == part);
        facts = rest;
        let values = mine.into_iter().map(|(_, field, value)| (field, value)).collect();
        drafts.push(workshop.reading(id, part, args.how.how(), seen, values));
    }
    let done = format!("Added the {} {code}.{doubt}", sort.word());
    record::write(session, &mut workshop, &drafts, &done)
}

/// Facts as `FACT=VALUE`, each put to its part of a new device.
pub fn stated(
    scene: &Scene,
    id: DeviceId,
    sort: Sort,
    label: &str,
    facts: &[String],
) -> anyhow::Result<Vec<(Part, Field, Value)>> {
    let mut after = scene.clone();
    after.apply(&Change::Add { device: id, sort }, now());
    let mut found: Vec<(Part, Field, Value)> = Vec::new();
    // The family comes first: it says what the other words mean.
    let mut facts: Vec<&str> = facts.iter().map(String::as_str).collect();
    facts.sort_by_key(|fact| !fact.starts_with("family="));
    for fact in facts {
        let (field, value) = fact
            .split_once('=')
            .context("what follows the code is written FACT=VALUE, such as band=2.4GHz; put words with blanks in quotation marks")?;
        let field = named::fact(field)?;
        let blank = Device::new(id);
        let device = after.device(id).unwrap_or(&blank);
        let part = named::part_of(device, label, field)?;
        named::check_fit(device, label, &part, field)?;
        if found.iter().any(|(have, one, _)| *have == part && *one == field) {
            bail!("{} is stated twice", field.key());
        }
        let value = named::value(&after, id, &part, field, value)?;
        after.apply(&Change::Set { device: id, part: part.clone(), field, value: value.clone() }, now());
        found.push((part, field, value));
    }
    Ok(found)
}
