//! Pages and forms about single devices.

use std::collections::HashMap;

use axum::extract::Path;
use axum::response::Response;
use pages::form::Typed;
use pages::sheet::{DeviceLine, DeviceSheet, DevicesSheet, Edit, LogLine};
use pages::site::Mood;
use register::entry::{Body, Draft};
use register::family::Side;
use register::field::{Field, How, Part, Sort};
use register::fleet::{self, Fleet};
use register::id::{DeviceId, EntryId};
use register::rule::Verdict;
use register::scene::Scene;
use register::time::Moment;
use register::value::{Partners, SecretMark, Value};
use register::verdict::{self, Link};
use register::view::{EndView, words};
use store::Record;
use store::keys::SecretText;

use super::error::WebError;
use super::state::{Asked, Form, html, html_wrong};
use crate::values;
use crate::workshop::{Workshop, now};

/// How many devices a page of a list holds.
const PER_PAGE: u64 = 100;
/// How many links and entries a device's page shows.
const LINKS: usize = 40;
const LOG: usize = 60;

/// Why a form isn't taken.
pub enum Refused {
    /// One field is wrong: its name, and what is.
    Field(String, String),
    /// Something else.
    Web(WebError),
}

impl<E: Into<WebError>> From<E> for Refused {
    fn from(error: E) -> Refused {
        Refused::Web(error.into())
    }
}

fn wrong(name: &str, says: impl Into<String>) -> Refused {
    Refused::Field(name.to_owned(), sentence(says.into()))
}

/// A message that speaks about a field as a sentence; on the page it stands right below it.
pub fn sentence(says: String) -> String {
    if says.chars().next().is_some_and(char::is_lowercase) { format!("This {says}.") } else { says }
}

/// Why a name finds no device, with the pages as the way on.
pub fn not_found(error: &fleet::NotFound) -> String {
    match error {
        fleet::NotFound::Nothing { name, near } => format!(
            "No device is called “{name}”{near}. Codes and names stand on the pages Transmitters, Receivers and Aircraft."
        ),
        fleet::NotFound::Several { name, count, .. } => {
            format!("{count} devices are called “{name}”: type the code or the id of the one you mean.")
        }
    }
}

/// `/transmitters`.
pub async fn transmitters(asked: Asked) -> Response {
    list(asked, Sort::Transmitter).await
}

/// `/receivers`.
pub async fn receivers(asked: Asked) -> Response {
    list(asked, Sort::Receiver).await
}

/// `/aircraft`.
pub async fn aircraft(asked: Asked) -> Response {
    list(asked, Sort::Aircraft).await
}

fn about_ends(ends: &[EndView]) -> String {
    let words = ends.iter().filter_map(|end| {
        let parts: Vec<&str> = [end.family.one(), end.band.one(), end.firmware.one()]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect();
        (!parts.is_empty()).then(|| parts.join(" "))
    });
    words.collect::<Vec<_>>().join("; ")
}

async fn list(asked: Asked, sort: Sort) -> Response {
    asked
        .with(move |asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let mut wanted: HashMap<DeviceId, [u64; 3]> = HashMap::new();
            for (t, r) in fleet.wanted() {
                let (t, r) = (&fleet.transmitters[t], &fleet.receivers[r]);
                let verdict = verdict::best(t, r).ruling.verdict() as usize;
                let ids = [Some(t.card.id), Some(r.card.id), r.fitted_in()];
                for id in ids.into_iter().flatten() {
                    wanted.entry(id).or_default()[verdict] += 1;
                }
            }
            let fitted = |id: Option<DeviceId>| {
                id.and_then(|id| fleet.aircraft(id)).map(|craft| format!("in {}", craft.card.spoken()))
            };
            let all: Vec<(register::view::Card, String)> = match sort {
                Sort::Transmitter => fleet
                    .transmitters
                    .iter()
                    .map(|view| {
                        let memories = match view.memories.len() {
                            0 => String::new(),
                            1 => "; 1 memory".to_owned(),
                            many => format!("; {many} memories"),
                        };
                        (view.card.clone(), format!("{}{memories}", about_ends(&view.ends)))
                    })
                    .collect(),
                Sort::Receiver => fleet
                    .receivers
                    .iter()
                    .map(|view| {
                        let place =
                            fitted(view.fitted_in()).unwrap_or_else(|| view.card.state.word().to_owned());
                        let ends = about_ends(&view.ends);
                        let about = if ends.is_empty() { place } else { format!("{ends}; {place}") };
                        (view.card.clone(), about)
                    })
                    .collect(),
                Sort::Aircraft => fleet
                    .aircraft
                    .iter()
                    .map(|view| {
                        let receivers: Vec<String> =
                            fleet.fitted_in(view.card.id).map(|receiver| receiver.card.label()).collect();
                        let words = [view.craft.clone().unwrap_or_default(), receivers.join(", ")];
                        let words: Vec<String> =
                            words.into_iter().filter(|words| !words.is_empty()).collect();
                        (view.card.clone(), words.join("; "))
                    })
                    .collect(),
            };
            let page = asked.page_number();
            let total = all.len() as u64;
            let skip = usize::try_from((page - 1).saturating_mul(PER_PAGE)).unwrap_or(usize::MAX);
            let lines = all
                .into_iter()
                .skip(skip)
                .take(usize::try_from(PER_PAGE).unwrap_or(usize::MAX))
                .map(|(card, about)| DeviceLine {
                    wanted: wanted.get(&card.id).copied().unwrap_or_default(),
                    card,
                    about,
                })
                .collect();
            let gone = fleet
                .gone
                .iter()
                .filter(|card| scene.device(card.id).is_some_and(|device| device.sort == Some(sort)))
                .cloned()
                .collect();
            let sheet = DevicesSheet { sort, lines, total, page, per_page: PER_PAGE, gone };
            Ok(html(pages::devices::page(&asked.site(Some(workshop.name())), &sheet)))
        })
        .await
}

/// An entry of the logbook for a page.
pub fn log_line(workshop: &Workshop, record: Record) -> LogLine {
    LogLine {
        stamp: record.stamp,
        struck: workshop.register().is_struck(record.stamp.id),
        body: record.body,
        author: record.author,
        erased: record.erased,
        kind: record.kind,
    }
}

fn id_of(text: &str) -> Result<DeviceId, WebError> {
    text.parse().map_err(|_| WebError::no_such("device"))
}

/// A device's links: those meant to hold, then others.
fn links_of(scene: &Scene, fleet: &Fleet, id: DeviceId) -> (Vec<Link>, u64) {
    let touches = |t: usize, r: usize| {
        let (t, r) = (&fleet.transmitters[t], &fleet.receivers[r]);
        t.card.id == id || r.card.id == id || r.fitted_in() == Some(id)
    };
    let mut pairs: Vec<(usize, usize)> =
        fleet.wanted().into_iter().filter(|(t, r)| touches(*t, *r)).collect();
    let mut total = pairs.len() as u64;
    if !matches!(fleet.place(id), Some((Sort::Aircraft, _)) | None) {
        let mine: Vec<(usize, usize)> = match fleet.place(id) {
            Some((Sort::Transmitter, at)) => (0..fleet.receivers.len()).map(|r| (at, r)).collect(),
            Some((Sort::Receiver, at)) => (0..fleet.transmitters.len()).map(|t| (t, at)).collect(),
            _ => Vec::new(),
        };
        total = mine.len() as u64;
        let known: std::collections::HashSet<(usize, usize)> = pairs.iter().copied().collect();
        let mut rest: Vec<_> =
            mine.into_iter().filter(|pair| !known.contains(pair)).take(4 * LINKS).collect();
        rest.sort_by_key(|(t, r)| verdict::best(&fleet.transmitters[*t], &fleet.receivers[*r]).ruling.rank());
        pairs.extend(rest);
    }
    pairs.truncate(LINKS);
    let links = pairs
        .into_iter()
        .map(|(t, r)| verdict::link(scene, &fleet.transmitters[t], &fleet.receivers[r]))
        .collect();
    (links, total)
}

/// Everything the logbook says about a device, the newest first.
pub fn log_of(workshop: &Workshop, device: DeviceId) -> Result<Vec<Record>, WebError> {
    let mut records = workshop.store.about(device)?;
    for (other, _) in workshop.register().joined().filter(|(_, under)| *under == device) {
        records.extend(workshop.store.about(other)?);
    }
    records.sort_by_key(|record| std::cmp::Reverse((record.stamp.clock, record.stamp.id)));
    Ok(records)
}

/// The page of a device.
pub fn device_page(
    asked: &Asked,
    workshop: &Workshop,
    id: DeviceId,
    typed: &Typed,
) -> Result<pages::Markup, WebError> {
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let device = scene
        .device(id)
        .ok_or_else(|| WebError::Missing("There is no such device in this workshop.".to_owned()))?;
    let (links, links_total) = links_of(&scene, &fleet, device.id);
    let records = log_of(workshop, device.id)?;
    let log_goes_on = records.len() > LOG;
    let log = records.into_iter().take(LOG).map(|record| log_line(workshop, record)).collect();
    let edit = asked
        .get("part")
        .and_then(Part::from_word)
        .zip(asked.get("field").and_then(|field| field.parse().ok()));
    let edit = edit.map(|(part, field)| Edit { part, field });
    let fit = (device.sort == Some(Sort::Aircraft))
        .then(|| crate::fittings::list(&register, &fleet, device.id, None).ok())
        .flatten();
    let commission = fit.as_ref().map(|(list, _)| list);
    let sheet = DeviceSheet { links: &links, links_total, log, log_goes_on, edit, commission };
    Ok(pages::device::page(&asked.site(Some(workshop.name())), &scene, &fleet, device, &sheet, typed))
}

/// `/device/{id}`.
pub async fn one(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .with(move |asked, workshop| device_page(asked, workshop, id_of(&id)?, &Typed::none()).map(html))
        .await
}

/// `/device/new`.
pub async fn new(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            let sort = asked.get("sort").and_then(Sort::from_word).unwrap_or(Sort::Receiver);
            Ok(html(new_page(asked, workshop, sort, &Typed::none())))
        })
        .await
}

fn new_page(asked: &Asked, workshop: &Workshop, sort: Sort, typed: &Typed) -> pages::Markup {
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    pages::device::new(&asked.site(Some(workshop.name())), &Scene::new(&register), &fleet, sort, typed)
}

/// `POST /device/new`.
pub async fn create(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            let sort = form.get("sort").and_then(Sort::from_word);
            let Some(sort) = sort else {
                return Err(WebError::Bad(
                    "A device is a transmitter, a receiver or an aircraft; choose one.".to_owned(),
                ));
            };
            match created(workshop, sort, &form) {
                Ok(id) => Ok(asked.done(&format!("/device/{id}"), "Added to the register.")),
                Err(Refused::Field(name, says)) => {
                    let typed = form.typed("new", vec![(name, says)]);
                    Ok(html_wrong(new_page(asked, workshop, sort, &typed)))
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

fn how_and_when(form: &Form) -> Result<(How, Moment), Refused> {
    let how = match form.filled("how") {
        None => How::Seen,
        Some(word) => How::from_word(word)
            .ok_or_else(|| wrong("how", "Choose how it is known: seen, label, told or assumed."))?,
    };
    let seen = match form.filled("seen") {
        None => now(),
        Some(text) => {
            let seen = Moment::parse(text).map_err(|error| wrong("seen", format!("{error}.")))?;
            // A date is a day; today's means this moment, so that it comes after this morning's.
            if seen.date() == now().date() { now() } else { seen }
        }
    };
    Ok((how, seen))
}

fn created(workshop: &mut Workshop, sort: Sort, form: &Form) -> Result<DeviceId, Refused> {
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let (how, seen) = how_and_when(form)?;
    if form.filled("code").is_none() && form.filled("name").is_none() {
        return Err(wrong("code", "Give it a code or a name, so that you can tell it from the others."));
    }
    if let Some(code) = form.filled("code")
        && scene.devices().any(|device| {
            words(&device.whole, Field::Code).is_some_and(|have| have.eq_ignore_ascii_case(code))
        })
    {
        return Err(wrong("code", "Another device has this code already; choose another one."));
    }
    let id = crate::workshop::new_device_id();
    let mut whole = Vec::new();
    let mut end = Vec::new();
    let end_part = Part::End(Part::MAIN.to_owned());
    let fields: &[Field] = match sort {
        Sort::Aircraft => &[
            Field::Code,
            Field::Name,
            Field::Craft,
            Field::Maker,
            Field::Model,
            Field::State,
            Field::Owner,
            Field::Note,
        ],
        Sort::Receiver => &[
            Field::Code,
            Field::Name,
            Field::Maker,
            Field::Model,
            Field::State,
            Field::Owner,
            Field::Aircraft,
            Field::Note,
        ],
        Sort::Transmitter => {
            &[Field::Code, Field::Name, Field::Maker, Field::Model, Field::State, Field::Owner, Field::Note]
        }
    };
    for field in fields {
        if let Some(typed) = form.filled(field.key()) {
            let value = values::parse(&scene, id, &Part::Whole, *field, typed)
                .map_err(|says| wrong(field.key(), says))?;
            whole.push((*field, value));
        }
    }
    if sort != Sort::Aircraft {
        // The family isn't recorded yet, so the end's values are checked against the form's.
        let mut fresh = scene.clone();
        fresh.apply(&register::scene::Change::Add { device: id, sort }, seen);
        for field in [Field::Family, Field::Band, Field::Region, Field::Firmware, Field::ModelId] {
            if let Some(typed) = form.filled(field.key()) {
                let value = values::parse(&fresh, id, &end_part, field, typed)
                    .map_err(|says| wrong(field.key(), says))?;
                fresh.apply(
                    &register::scene::Change::Set {
                        device: id,
                        part: end_part.clone(),
                        field,
                        value: value.clone(),
                    },
                    seen,
                );
                end.push((field, value));
            }
        }
        match form.get("secret_is") {
            Some("blank") => end.push((Field::Secret, Value::Secret(SecretMark::Blank))),
            Some("typed") => end.push((Field::Secret, typed_secret(workshop, form)?)),
            _ => {}
        }
    }
    let mut drafts = vec![Draft { seen, subject: id, body: Body::Device { sort } }];
    if !whole.is_empty() {
        drafts.push(workshop.reading(id, Part::Whole, how, seen, whole));
    }
    if !end.is_empty() {
        drafts.push(workshop.reading(id, end_part, how, seen, end));
    }
    workshop.record(&drafts, &[])?;
    Ok(id)
}

fn typed_secret(workshop: &mut Workshop, form: &Form) -> Result<Value, Refused> {
    let typed = form.get("value").unwrap_or_default();
    if typed.is_empty() {
        return Err(wrong("value", "Type the link secret, or choose that it is blank."));
    }
    let mark = workshop.fingerprint(&SecretText::new(typed))?;
    Ok(Value::Secret(mark))
}

/// The reading that a form states.
pub fn reading_from(workshop: &mut Workshop, device: DeviceId, form: &Form) -> Result<Draft, Refused> {
    let part = form
        .get("part")
        .and_then(Part::from_word)
        .ok_or_else(|| wrong("part", "Choose which part of the device it is about."))?;
    let field: Field = form
        .get("field")
        .unwrap_or_default()
        .parse()
        .map_err(|_| wrong("field", "Choose which fact it is."))?;
    let (how, seen) = how_and_when(form)?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    if scene.device(device).is_none() {
        return Err(WebError::Missing("There is no such device in this workshop.".to_owned()).into());
    }
    let unsaid = field == Field::Secret && form.get("secret_is") == Some("unknown");
    let value = if unsaid || form.get("unknown") == Some("1") {
        Value::Unknown
    } else {
        match field {
            Field::Secret => match form.get("secret_is") {
                Some("blank") => Value::Secret(SecretMark::Blank),
                Some("same") => {
                    let end =
                        values::end(&scene, form.filled("same").unwrap_or_default(), None, Side::Transmitter)
                            .map_err(|says| wrong("same", says))?;
                    Value::Secret(SecretMark::SameAs(end))
                }
                _ => typed_secret(workshop, form)?,
            },
            Field::Partners => {
                let ends = form
                    .all("partner")
                    .into_iter()
                    .map(|name| values::end(&scene, name, Some(Sort::Transmitter), Side::Transmitter))
                    .collect::<Result<Vec<_>, _>>()
                    .map_err(|says| wrong("partner", says))?;
                let all = form.get("all") == Some("1");
                if ends.is_empty() && !all {
                    return Err(wrong("partner", "Choose a transmitter, or say that it remembers none."));
                }
                Value::Partners(Partners { ends, all })
            }
            _ => values::parse(&scene, device, &part, field, form.get("value").unwrap_or_default())
                .map_err(|says| wrong("value", says))?,
        }
    };
    Ok(workshop.reading(device, part, how, seen, vec![(field, value)]))
}

fn drafts_of(
    workshop: &mut Workshop,
    id: DeviceId,
    action: &str,
    form: &Form,
) -> Result<(Vec<Draft>, &'static str), Refused> {
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let (how, seen) = how_and_when(form)?;
    match action {
        "reading" => Ok((vec![reading_from(workshop, id, form)?], "Written down.")),
        "end" | "memory" => {
            let label =
                values::text(form.get("name").unwrap_or_default()).map_err(|says| wrong("name", says))?;
            let (part, fields): (Part, &[Field]) = if action == "end" {
                let key = values::key(&label).map_err(|says| wrong("name", says))?;
                (Part::End(key), &[Field::Family, Field::Band, Field::Region, Field::Firmware])
            } else {
                if label.is_empty() {
                    return Err(wrong("name", "Give the memory the name it has on the transmitter."));
                }
                let device = scene.device(id);
                let memories = device.map_or(0, |device| device.memories.len());
                let key = (1..=memories + 1)
                    .map(|number| format!("m{number}"))
                    .find(|key| device.is_none_or(|device| !device.memories.contains_key(key)))
                    .unwrap_or_default();
                (Part::Memory(key), &[Field::End, Field::ModelId, Field::Aircraft])
            };
            if let (Part::End(key), Some(device)) = (&part, scene.device(id))
                && device.ends.contains_key(key)
            {
                return Err(wrong("name", "There is an end of this name already; change its facts instead."));
            }
            let mut fresh = scene.clone();
            let mut facts = Vec::new();
            if action == "memory" {
                facts.push((Field::Name, Value::Text(label)));
            }
            for field in fields {
                if let Some(typed) = form.filled(field.key()) {
                    let value = values::parse(&fresh, id, &part, *field, typed)
                        .map_err(|says| wrong(field.key(), says))?;
                    let change = register::scene::Change::Set {
                        device: id,
                        part: part.clone(),
                        field: *field,
                        value: value.clone(),
                    };
                    fresh.apply(&change, seen);
                    facts.push((*field, value));
                }
            }
            if facts.is_empty() {
                return Err(wrong("family", "Say at least which link family the end speaks."));
            }
            Ok((vec![workshop.reading(id, part, how, seen, facts)], "Added."))
        }
        _ => event_of(&scene, id, action, form, seen),
    }
}

/// The entry that a form about an event states.
fn event_of(
    scene: &Scene,
    id: DeviceId,
    action: &str,
    form: &Form,
    seen: Moment,
) -> Result<(Vec<Draft>, &'static str), Refused> {
    let one = |body: Body| vec![Draft { seen, subject: id, body }];
    match action {
        "paired" => {
            let end =
                values::key(form.filled("end").unwrap_or(Part::MAIN)).map_err(|says| wrong("end", says))?;
            let name = form.filled("transmitter").unwrap_or_default();
            let transmitter = values::end(scene, name, Some(Sort::Transmitter), Side::Transmitter)
                .map_err(|says| wrong("transmitter", says))?;
            Ok((one(Body::Paired { end, transmitter }), "Pairing written down."))
        }
        "flashed" => {
            let end =
                values::key(form.filled("end").unwrap_or(Part::MAIN)).map_err(|says| wrong("end", says))?;
            let version = form.filled("version").unwrap_or_default();
            let value = values::parse(scene, id, &Part::End(end.clone()), Field::Firmware, version)
                .map_err(|says| wrong("version", says))?;
            let Value::Text(version) = value else {
                return Err(wrong("version", "Write the version that was flashed."));
            };
            let route = values::text(form.filled("route").unwrap_or_default())
                .map_err(|says| wrong("route", says))?;
            Ok((
                one(Body::Flashed { end, version, route }),
                "Flash written down; what it wiped is not known any more.",
            ))
        }
        "note" => {
            let text =
                values::text(form.get("text").unwrap_or_default()).map_err(|says| wrong("text", says))?;
            if text.is_empty() {
                return Err(wrong("text", "Write a line first."));
            }
            Ok((one(Body::Note { text }), "Noted."))
        }
        "parted" => {
            // By its own id: under any other name a joined device is the one it is joined to.
            let other: DeviceId =
                form.filled("other").unwrap_or_default().parse().map_err(|_| {
                    wrong("other", "Name the device to part by its id; the history names both.")
                })?;
            let group = scene.register.group(id);
            if group.len() < 2 || !group.contains(&other) {
                return Err(wrong("other", "The two are not joined."));
            }
            // From each that it is joined with, for it may be joined through a third.
            let parted = |from: DeviceId| Draft { seen, subject: from, body: Body::Parted { other } };
            let drafts = group.into_iter().filter(|one| *one != other).map(parted).collect();
            Ok((drafts, "The two are parted again."))
        }
        "same-as" => {
            let other = fleet::find(scene, form.filled("other").unwrap_or_default(), None)
                .or_else(|error| form.get("other").and_then(|id| id.parse().ok()).ok_or(error))
                .map_err(|error| wrong("other", not_found(&error)))?;
            if other == scene.register.canonical(id) {
                return Err(wrong("other", "That is this very device."));
            }
            let sort = |id| scene.device(id).and_then(|device| device.sort);
            if sort(other) != sort(id) {
                return Err(wrong("other", "The two are of different sorts, so they can't be one device."));
            }
            Ok((one(Body::SameAs { other }), "The two are one device from now on."))
        }
        _ => Err(WebError::Missing("There is no page at this address.".to_owned()).into()),
    }
}

/// `POST /device/{id}/{action}`.
pub async fn act(asked: Asked, Path((id, action)): Path<(String, String)>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            match drafts_of(workshop, id, &action, &form) {
                Ok((drafts, says)) => {
                    workshop.record(&drafts, &[])?;
                    let id = workshop.register().canonical(id);
                    Ok(asked.done(&format!("/device/{id}"), says))
                }
                Err(Refused::Field(name, says)) => {
                    let typed = form.typed(&action, vec![(name, says)]);
                    device_page(asked, workshop, id, &typed).map(html_wrong)
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

/// `POST /entry/{id}/strike` and `/erase`.
pub async fn entry(asked: Asked, Path((id, action)): Path<(String, String)>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, _| {
            let id: EntryId = id.parse().map_err(|_| WebError::no_such("entry"))?;
            let Some(record) = workshop.store.record(id)? else {
                return Err(WebError::Missing("There is no such entry in this logbook.".to_owned()));
            };
            let back = if record.stamp.subject == DeviceId::WORKSHOP {
                "/history".to_owned()
            } else {
                format!("/device/{}", workshop.register().canonical(record.stamp.subject))
            };
            match action.as_str() {
                "strike" if matches!(record.body, Body::Strike { .. }) => {
                    Ok(asked.says(&back, Mood::Bad, "A strike can't be struck; write the entry anew instead."))
                }
                "strike" => {
                    let body = Body::Strike { entry: id };
                    workshop.record(&[Draft { seen: now(), subject: record.stamp.subject, body }], &[])?;
                    Ok(asked.done(&back, "Struck: the entry no longer counts. It stays in the logbook."))
                }
                "erase" => {
                    workshop.store.erase(id)?;
                    workshop.refresh()?;
                    Ok(asked.done(&back, "Erased: what the entry said is gone from this workshop. Copies elsewhere still hold it until they merge."))
                }
                _ => Err(WebError::Missing("There is no page at this address.".to_owned())),
            }
        })
        .await
}

/// The verdict's place in the counts of a list.
const _: () = assert!(Verdict::Links as usize == 0 && Verdict::Blocked as usize == 2);
