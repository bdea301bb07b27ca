//! Spares, what if, model IDs, settings, the logbook.

use std::collections::BTreeMap;

use axum::extract::Path;
use axum::response::Response;
use fitting::commission::lapse::DAY_SETTING;
use pages::form::Typed;
use pages::sheet::{
    HistorySheet, IdCollision, IdPlace, IdStep, IdsSheet, MinutesLine, SettingsSheet, WhatIfAnswer,
};
use pages::site::Mood;
use register::effect;
use register::entry::{Body, Draft};
use register::family::{Energised, ModelIdRule};
use register::field::{Field, Part, Sort};
use register::fleet::{self, Fleet};
use register::id::DeviceId;
use register::minutes::MinutesTable;
use register::rule::Verdict;
use register::scene::{Change, Scene};
use register::spares as spare;
use register::value::Value;
use register::view;
use register::{ids, mend};
use trails::learn::STRENGTH_SETTING;
use units::Minutes;

use super::devices::{log_line, log_of};
use super::error::WebError;
use super::state::{Asked, Form, html, html_wrong};
use crate::fittings::{ADDRESS, offset_hours, printed_address};
use crate::values;
use crate::workshop::{Workshop, new_device_id, now};

/// How many entries a page of the logbook shows.
const LOG: u32 = 100;

/// `/spares/{aircraft}`.
pub async fn spares(asked: Asked, Path(aircraft): Path<String>) -> Response {
    asked
        .view(move |asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let id: DeviceId = aircraft.parse().map_err(|_| WebError::no_such("aircraft"))?;
            let craft = fleet
                .aircraft(register.canonical(id))
                .ok_or_else(|| WebError::Missing("There is no such aircraft in this workshop.".to_owned()))?;
            let found = spare::spares(&scene, &fleet, craft.card.id, now());
            Ok(html(pages::spares::page(&asked.site(Some(workshop.name())), &craft.card, &found)))
        })
        .await
}

/// `/whatif`: asks by GET, stores nothing.
pub async fn what_if(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let site = asked.site(Some(workshop.name()));
            let form = Form(asked.query.clone());
            let key = form.get("form").unwrap_or_default().to_owned();
            let supposed = match key.as_str() {
                "change" => changed(&scene, &form),
                "bought" => bought(&scene, &form),
                _ => return Ok(html(pages::whatif::page(&site, &scene, &fleet, &Typed::none(), None))),
            };
            match supposed {
                Ok((changes, sentence)) => {
                    let effect = effect::what_if(&scene, &fleet, &changes, now());
                    let new_device = (key == "bought").then(|| of_new(&scene, &changes));
                    let answer = WhatIfAnswer { supposed: sentence, new_device };
                    let typed = form.typed(&key, Vec::new());
                    Ok(html(pages::whatif::page(&site, &scene, &fleet, &typed, Some((&answer, &effect)))))
                }
                Err((name, says)) => {
                    let typed = form.typed(&key, vec![(name.to_owned(), super::devices::sentence(says))]);
                    Ok(html_wrong(pages::whatif::page(&site, &scene, &fleet, &typed, None)))
                }
            }
        })
        .await
}

/// What was typed may be a secret, so it is not quoted.
const NO_SECRETS: &str = "no device is called so. Name the device whose secret it would be the same as, or write \
                          blank; the secret itself is never typed here";

type Supposed = Result<(Vec<Change>, String), (&'static str, String)>;

fn changed(scene: &Scene, form: &Form) -> Supposed {
    let name = form.filled("device").unwrap_or_default();
    let device =
        fleet::find(scene, name, None).map_err(|error| ("device", super::devices::not_found(&error)))?;
    let Some(known) = scene.device(device) else {
        return Err(("device", "This device is only spoken of.".to_owned()));
    };
    let field: Field = form
        .get("field")
        .unwrap_or_default()
        .parse()
        .map_err(|error: register::field::BadField| ("field", format!("can't be changed: {error}")))?;
    let part = match form.filled("part").and_then(Part::from_word) {
        Some(part) => part,
        None => match known.ends.keys().next() {
            Some(end) if view_is_of_end(field) => Part::End(end.clone()),
            None if view_is_of_end(field) => Part::End(Part::MAIN.to_owned()),
            _ => Part::Whole,
        },
    };
    let typed = form.get("value").unwrap_or_default();
    let value = match field {
        // A device's name alone stands for "the same as it holds".
        Field::Secret
            if !typed.eq_ignore_ascii_case("blank") && !typed.to_lowercase().starts_with("same") =>
        {
            values::parse(scene, device, &part, field, &format!("same as {typed}"))
        }
        _ => values::parse(scene, device, &part, field, typed),
    }
    .map_err(|says| ("value", if field == Field::Secret { NO_SECRETS.to_owned() } else { says }))?;
    let card = view::card(known);
    let sentence = format!("{}: {} becomes {}.", card.full(), field.label(), typed.trim());
    Ok((vec![Change::Set { device, part, field, value }], sentence))
}

fn view_is_of_end(field: Field) -> bool {
    matches!(
        field,
        Field::Family
            | Field::Band
            | Field::Region
            | Field::Firmware
            | Field::Secret
            | Field::ModelId
            | Field::Partners
            | Field::Antenna
    )
}

fn bought(scene: &Scene, form: &Form) -> Supposed {
    let sort = form.get("sort").and_then(Sort::from_word).unwrap_or(Sort::Receiver);
    let device = new_device_id();
    let mut fresh = scene.clone();
    let mut changes = vec![Change::Add { device, sort }];
    fresh.apply(&changes[0], now());
    let end = Part::End(Part::MAIN.to_owned());
    let mut said = Vec::new();
    let mut suppose = |fresh: &mut Scene, part: &Part, field: Field, value: Value| {
        let change = Change::Set { device, part: part.clone(), field, value };
        fresh.apply(&change, now());
        changes.push(change);
    };
    suppose(&mut fresh, &Part::Whole, Field::Name, Value::Text("the new one".to_owned()));
    let fields = [
        ("family", Field::Family, &end),
        ("band", Field::Band, &end),
        ("region", Field::Region, &end),
        ("firmware", Field::Firmware, &end),
        ("model_id", Field::ModelId, &end),
        ("secret", Field::Secret, &end),
        ("aircraft", Field::Aircraft, &Part::Whole),
    ];
    for (name, field, part) in fields {
        let Some(typed) = form.filled(name) else { continue };
        let words = match field {
            Field::Secret
                if !typed.eq_ignore_ascii_case("blank") && !typed.to_lowercase().starts_with("same") =>
            {
                format!("same as {typed}")
            }
            _ => typed.to_owned(),
        };
        let value = values::parse(&fresh, device, part, field, &words)
            .map_err(|says| (name, if field == Field::Secret { NO_SECRETS.to_owned() } else { says }))?;
        suppose(&mut fresh, part, field, value);
        said.push(format!("{} {words}", field.label()));
    }
    let with = if said.is_empty() { String::new() } else { format!(" with {}", said.join(", ")) };
    Ok((changes, format!("A further {}{with}.", sort.word())))
}

/// The verdicts of a device that is only supposed: links, unknown, blocked.
fn of_new(scene: &Scene, changes: &[Change]) -> [u64; 3] {
    let mut after = scene.clone();
    for change in changes {
        after.apply(change, now());
    }
    let new = changes[0].device();
    let fleet = Fleet::of(&after);
    let mut counts = [0; 3];
    for transmitter in &fleet.transmitters {
        for receiver in &fleet.receivers {
            if transmitter.card.id == new || receiver.card.id == new {
                let verdict: Verdict = register::verdict::best(transmitter, receiver).ruling.verdict();
                counts[verdict as usize] += 1;
            }
        }
    }
    counts
}

fn settings_sheet(workshop: &Workshop) -> SettingsSheet {
    let register = workshop.register();
    let shipped = MinutesTable::shipped();
    let minutes = register
        .minutes()
        .keys()
        .into_iter()
        .map(|key| MinutesLine {
            key: key.to_owned(),
            shipped: shipped.lookup(key, None),
            own: register.minutes().workshop(key),
        })
        .collect();
    let setting = |key: &str| register.setting(key).unwrap_or_default().to_owned();
    SettingsSheet {
        name: setting("name"),
        minutes,
        stale_settable_days: setting("stale.settable_days"),
        stale_wearing_days: setting("stale.wearing_days"),
        printed_address: setting(ADDRESS),
        utc_offset_hours: setting(DAY_SETTING),
    }
}

/// `/settings`.
pub async fn settings(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            let sheet = settings_sheet(workshop);
            Ok(html(pages::settings::page(&asked.site(Some(workshop.name())), &sheet, &Typed::none())))
        })
        .await
}

/// Reads a setting as typed; `None` returns to the default.
///
/// # Errors
/// The text is no value of this setting; the message says what would be.
pub fn setting_value(key: &str, typed: &str) -> Result<Option<String>, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    if key.starts_with("minutes.") {
        let minutes: f64 = typed
            .replace(',', ".")
            .parse()
            .map_err(|_| "must be a number of minutes, such as 3 or 2.5".to_owned())?;
        if !(0.0..=100_000.0).contains(&minutes) {
            return Err("must be between 0 and 100000 minutes".to_owned());
        }
        return Ok(Some(Minutes(minutes).0.to_string()));
    }
    if key.starts_with("stale.") {
        let days: i64 = typed.parse().map_err(|_| "must be a whole number of days".to_owned())?;
        if !(1..=100_000).contains(&days) {
            return Err("must be between 1 and 100000 days".to_owned());
        }
        return Ok(Some(days.to_string()));
    }
    match key {
        STRENGTH_SETTING => crate::faults::strength(typed).map(|strength| Some(strength.to_string())),
        DAY_SETTING => offset_hours(typed).map(|hours| Some(hours.to_string())),
        ADDRESS => printed_address(typed).map(Some),
        _ => values::text(typed).map(Some),
    }
}

/// `POST /settings`.
pub async fn set(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            let known: BTreeMap<String, Option<String>> = {
                let register = workshop.register();
                let minutes = register.minutes().keys().into_iter().map(|key| format!("minutes.{key}"));
                let others = ["name", "stale.settable_days", "stale.wearing_days", ADDRESS, DAY_SETTING]
                    .map(str::to_owned);
                minutes
                    .chain(others)
                    .map(|key| {
                        let now = register.setting(&key).map(str::to_owned);
                        (key, now)
                    })
                    .collect()
            };
            let mut drafts = Vec::new();
            let mut errors = Vec::new();
            for (key, before) in &known {
                let Some(typed) = form.get(key) else { continue };
                match setting_value(key, typed) {
                    Ok(value) if value == *before => {}
                    Ok(value) => drafts.push(Draft {
                        seen: now(),
                        subject: DeviceId::WORKSHOP,
                        body: Body::Setting { key: key.clone(), value },
                    }),
                    Err(says) => errors.push((key.clone(), format!("This {says}."))),
                }
            }
            if !errors.is_empty() {
                let sheet = settings_sheet(workshop);
                let typed = form.typed("settings", errors);
                return Ok(html_wrong(pages::settings::page(
                    &asked.site(Some(workshop.name())),
                    &sheet,
                    &typed,
                )));
            }
            if drafts.is_empty() {
                return Ok(asked.done("/settings", "Nothing was changed."));
            }
            workshop.record(&drafts, &[])?;
            Ok(asked.done("/settings", "Settings written down."))
        })
        .await
}

/// `/history`.
pub async fn history(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            let register = workshop.register().clone();
            let device = asked
                .get("device")
                .and_then(|id| id.parse::<DeviceId>().ok())
                .map(|id| register.canonical(id));
            let page = u32::try_from(asked.page_number()).unwrap_or(u32::MAX).min(10_000);
            let (records, total) = match device {
                None => {
                    (workshop.store.recent(page.saturating_mul(LOG).saturating_add(1))?, register.entries())
                }
                Some(id) => {
                    let records = log_of(workshop, id)?;
                    let total = records.len() as u64;
                    (records, total)
                }
            };
            let skip = ((page - 1) * LOG) as usize;
            let goes_on = records.len() > skip + LOG as usize;
            let lines = records
                .into_iter()
                .skip(skip)
                .take(LOG as usize)
                .map(|record| log_line(workshop, record))
                .collect();
            let at = |page: u32| match device {
                None => format!("/history?page={page}"),
                Some(id) => format!("/history?device={id}&page={page}"),
            };
            let sheet = HistorySheet {
                lines,
                total,
                older: goes_on.then(|| at(page + 1)),
                newer: (page > 1).then(|| at(page - 1)),
            };
            Ok(html(pages::history::page(&asked.site(Some(workshop.name())), &Scene::new(&register), &sheet)))
        })
        .await
}

/// About a second's search on an ordinary machine.
const BRANCHES: u64 = 100_000;

/// The allocations of every family that has model IDs, with why there is none of others.
fn allocations(scene: &Scene, fleet: &Fleet) -> (Vec<ids::Step>, Vec<String>) {
    let (mut steps, mut stuck) = (Vec::new(), Vec::new());
    for (_, used) in scene.register.families() {
        let Some(family) = used.family.as_deref() else { continue };
        if family.model_id == ModelIdRule::Absent {
            continue;
        }
        let request = ids::Request {
            family: family.name.clone(),
            switched_off: ids::SwitchedOff::Restore,
            node_limit: BRANCHES,
        };
        match ids::allocate(scene, fleet, &request) {
            Ok(allocation) => {
                steps.extend(allocation.steps);
                if !allocation.proven {
                    stuck.push(format!(
                        "The IDs proposed for {} settle every collision, but it is not proven that no others change fewer.",
                        family.name
                    ));
                }
                stuck.extend(allocation.remaining.into_iter().map(|collision| collision.text));
            }
            Err(error) => stuck.push(error.to_string()),
        }
    }
    (steps, stuck)
}

fn step_key(step: &ids::Step) -> String {
    format!("{} {} {}", step.device.id, step.part.word(), step.after)
}

fn collision(one: &ids::Collision) -> IdCollision {
    let mut places: Vec<IdPlace> = Vec::new();
    if let Some((_, label)) = &one.memory {
        places.push(IdPlace {
            device: one.transmitter.clone(),
            part: format!("memory {label}"),
            holds: String::new(),
            aircraft: one.flies.clone(),
        });
    }
    places.extend(one.receivers.iter().map(|answering| {
        IdPlace {
            device: answering.receiver.clone(),
            part: String::new(),
            holds: match one.kind {
                ids::CollisionKind::SameId if one.certain => "the same ID",
                ids::CollisionKind::SameId => "maybe the same ID",
                ids::CollisionKind::CheckOff => "check off",
                ids::CollisionKind::NoCheck => "no check",
            }
            .to_owned(),
            aircraft: answering.aircraft.clone(),
        }
    }));
    IdCollision { text: one.text.clone(), certain: one.certain, places }
}

/// `/ids`.
pub async fn ids(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let found = ids::collisions(&scene, &fleet);
            let (same, other): (Vec<_>, Vec<_>) =
                found.iter().partition(|one| one.kind == ids::CollisionKind::SameId);
            let held = fleet
                .transmitters
                .iter()
                .flat_map(|view| &view.memories)
                .filter(|m| m.model_id.one().is_some())
                .count()
                + fleet
                    .receivers
                    .iter()
                    .flat_map(|view| &view.ends)
                    .filter(|end| end.model_id.one().is_some())
                    .count();
            let (steps, stuck) = allocations(&scene, &fleet);
            let steps: Vec<IdStep> = steps
                .into_iter()
                .map(|step| IdStep {
                    key: step_key(&step),
                    device: step.device.clone(),
                    step: mend::Step {
                        key: if matches!(step.part, Part::Memory(_)) {
                            "mend.set_memory_id"
                        } else {
                            "mend.set_model_id"
                        },
                        energises: if matches!(step.part, Part::Memory(_)) {
                            vec![Energised::Transmitter]
                        } else {
                            fleet.receiver(step.device.id).map_or_else(
                                || vec![Energised::Receiver, Energised::Transmitter],
                                |view| mend::both_on(view).to_vec(),
                            )
                        },
                        caution: None,
                        changes: vec![step.change],
                        minutes: step.minutes,
                        text: step.text,
                    },
                })
                .collect();
            let sheet = IdsSheet {
                held: held as u64,
                collisions: same.into_iter().map(collision).collect(),
                unchecked: other.into_iter().map(collision).collect(),
                minutes: steps.iter().map(|step| step.step.minutes).sum(),
                steps,
                stuck,
            };
            Ok(html(pages::ids::page(&asked.site(Some(workshop.name())), &sheet)))
        })
        .await
}

/// `POST /ids/step`: one ID of the allocation was set.
pub async fn ids_step(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let key = form.get("step").unwrap_or_default();
            let (steps, _) = allocations(&scene, &fleet);
            match steps.into_iter().find(|step| step_key(step) == key) {
                Some(step) => {
                    workshop.carry_out(&[step.change])?;
                    Ok(asked.done("/ids", &format!("Written down: {}", step.text)))
                }
                None => Ok(asked.says(
                    "/ids",
                    Mood::Bad,
                    "The model IDs have changed since the page was shown. Nothing was written; look again.",
                )),
            }
        })
        .await
}
