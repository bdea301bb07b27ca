//! Lists and files in and out.
//!
//! An upload is kept in memory until its columns are understood and the differences have
//! been looked at; nothing is written before that.

use std::io::BufReader;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::extract::{Multipart, Path};
use axum::response::{IntoResponse as _, Redirect, Response};
use intake::csv::{self, Header, Mapping, Options, Target};
use intake::inventory::{BadRow, Inventory};
use intake::plan::{Context, Plan, plan};
use pages::form::Typed;
use pages::sheet::{Column, DeviceDifference, Difference, FileOption, ImportPreview, MappingSheet, Progress};
use pages::site::Mood;
use register::entry::{Body, Draft};
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::scene::Scene;
use store::keys::SecretText;

use super::error::WebError;
use super::state::{App, Asked, Form, html, html_wrong, lock, random_word};
use crate::workshop::{Workshop, new_device_id, now};

/// How many imports wait at once; the oldest goes.
const JOBS: usize = 8;
/// How many differences and bad rows are listed.
const LISTED: usize = 200;
/// How many rows are read between two looks at the clock.
const PIECE: u64 = 2_000;

/// An import on its way.
pub struct Job {
    file: String,
    stage: Stage,
}

enum Stage {
    /// The columns are being asked for.
    Mapping { bytes: Vec<u8>, header: Header, mapping: Mapping, remembered: bool },
    /// The rows are being read.
    Reading { done: u64, total: u64 },
    /// The differences can be looked at.
    Ready(Box<Ready>),
    /// It can't be read.
    Refused(String),
}

struct Ready {
    inventory: Inventory,
    unreadable: Vec<BadRow>,
    notes: Vec<String>,
    plan: Plan,
    /// How many entries the register had when the differences were found.
    entries: u64,
    /// To be remembered once the list is taken in: the header's signature, the mapping.
    mapping: Option<(String, String)>,
}

/// `/import`.
pub async fn upload(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            Ok(html(pages::import::upload(&asked.site(Some(workshop.name())), &Typed::none())))
        })
        .await
}

/// `POST /import`.
pub async fn receive(asked: Asked, mut parts: Multipart) -> Response {
    let mut form = Form::default();
    let mut file: Option<(String, Vec<u8>)> = None;
    loop {
        match parts.next_field().await {
            Ok(None) => break,
            Ok(Some(field)) => {
                let name = field.name().unwrap_or_default().to_owned();
                let file_name = field.file_name().map(str::to_owned);
                match (field.bytes().await, file_name) {
                    (Ok(bytes), Some(file_name)) if name == "file" => {
                        file = Some((file_name, bytes.to_vec()));
                    }
                    (Ok(bytes), _) => form.0.push((name, String::from_utf8_lossy(&bytes).into_owned())),
                    (Err(_), _) => return too_large(&asked),
                }
            }
            Err(_) => return too_large(&asked),
        }
    }
    asked
        .form(form, move |asked, workshop, _| {
            let Some((name, bytes)) = file.filter(|(_, bytes)| !bytes.is_empty()) else {
                return Ok(refused(asked, workshop, "Choose a file first; the one that was sent is empty."));
            };
            let name: String = name.chars().filter(|c| !c.is_control()).take(120).collect();
            received(asked, workshop, name, bytes)
        })
        .await
}

fn too_large(asked: &Asked) -> Response {
    let says = "The file is larger than 64 MiB, or was cut off on its way. Split it, or import it on the command line.";
    let page = pages::error::page(&asked.site(None), 413, says, &[]);
    (axum::http::StatusCode::PAYLOAD_TOO_LARGE, axum::response::Html(page.into_string())).into_response()
}

fn refused(asked: &Asked, workshop: &Workshop, says: &str) -> Response {
    let typed = Typed {
        form: "import".to_owned(),
        values: Vec::new(),
        errors: vec![("file".to_owned(), says.to_owned())],
    };
    html_wrong(pages::import::upload(&asked.site(Some(workshop.name())), &typed))
}

/// What a file is, by what is in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A logbook (JSON Lines).
    Logbook,
    /// A workshop file (TOML).
    Workshop,
    /// A family file (TOML).
    Family,
    /// A list (CSV).
    List,
}

/// Tells what a file is, by its first lines rather than by its name.
pub fn kind_of(name: &str, bytes: &[u8]) -> Kind {
    if bytes.starts_with(b"{\"") {
        return Kind::Logbook;
    }
    let is_toml =
        std::path::Path::new(name).extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(1 << 16)]);
    let has_line = |starts: &[&str]| {
        text.lines().any(|line| starts.iter().any(|start| line.trim_start().starts_with(start)))
    };
    let schema = has_line(&["schema =", "schema="]);
    if is_toml || schema {
        return if has_line(&["[family]"]) { Kind::Family } else { Kind::Workshop };
    }
    Kind::List
}

fn received(
    asked: &Asked,
    workshop: &mut Workshop,
    name: String,
    bytes: Vec<u8>,
) -> Result<Response, WebError> {
    match kind_of(&name, &bytes) {
        Kind::Logbook => {
            let outcome = match workshop.store.import(BufReader::new(bytes.as_slice())) {
                Ok(outcome) => outcome,
                Err(error) => return Ok(refused(asked, workshop, &error.to_string())),
            };
            workshop.refresh()?;
            Ok(asked.done("/", &format!("Merged {name}: {}", crate::text::outcome(&outcome))))
        }
        Kind::Family => {
            let text = String::from_utf8_lossy(&bytes).into_owned();
            match register::family::read::read(&name, &text) {
                Ok(family) => {
                    workshop.add_family(&family, &text)?;
                    let to = format!("/family/{}", super::families::escape(&family.name));
                    Ok(asked.done(&to, "The family is added."))
                }
                Err(problems) => {
                    let says: Vec<String> = problems.iter().take(20).map(ToString::to_string).collect();
                    Ok(refused(asked, workshop, &says.join("\n")))
                }
            }
        }
        Kind::Workshop => {
            let text = String::from_utf8_lossy(&bytes).into_owned();
            let read = intake::toml::read(&name, &text);
            let unreadable = read
                .problems
                .iter()
                .map(|problem| BadRow {
                    origin: intake::inventory::Origin::Toml,
                    row: problem.line as u64,
                    line: problem.line as u64,
                    column: problem.key.clone(),
                    says: problem.says.clone(),
                })
                .collect();
            let mut notes = Vec::new();
            if !read.inventory.family_files.is_empty() {
                notes.push(format!(
                    "Import the family files it names as well: {}.",
                    read.inventory.family_files.join(", ")
                ));
            }
            let ready = ready(workshop, read.inventory, unreadable, notes, None)?;
            let job = keep(&asked.app, Job { file: name, stage: Stage::Ready(Box::new(ready)) });
            Ok(Redirect::to(&format!("/import/{job}")).into_response())
        }
        Kind::List => {
            let header = match Header::read(&bytes) {
                Ok(header) => header,
                Err(error) => return Ok(refused(asked, workshop, &format!("{name}: {error}."))),
            };
            let known = remembered(workshop, &header)?;
            let is_remembered = known.is_some();
            let mapping = known.unwrap_or_else(|| csv::mapping::guess(&header));
            let stage = Stage::Mapping { bytes, header, mapping, remembered: is_remembered };
            let job = keep(&asked.app, Job { file: name, stage });
            Ok(Redirect::to(&format!("/import/{job}/mapping")).into_response())
        }
    }
}

/// The mapping that was used for such a header before.
///
/// # Errors
/// The store can't be read.
pub fn remembered(workshop: &Workshop, header: &Header) -> Result<Option<Mapping>, WebError> {
    let Some(digest) = workshop.register().mapping(&header.signature()) else { return Ok(None) };
    let text = workshop.store.file(digest)?.and_then(|bytes| String::from_utf8(bytes).ok());
    Ok(text.and_then(|text| Mapping::from_text(&text).ok()))
}

fn keep(app: &App, job: Job) -> String {
    let mut jobs = lock(&app.jobs);
    while jobs.len() >= JOBS {
        jobs.pop_first();
    }
    // The number keeps them in order, the word keeps them from being guessed.
    let number =
        jobs.last_key_value().and_then(|(key, _)| key.split('-').next()?.parse::<u64>().ok()).unwrap_or(0)
            + 1;
    let key = format!("{number:08}-{}", random_word());
    jobs.insert(key.clone(), Arc::new(Mutex::new(job)));
    key
}

fn job(asked: &Asked, key: &str) -> Result<Arc<Mutex<Job>>, WebError> {
    lock(&asked.app.jobs)
        .get(key)
        .cloned()
        .ok_or_else(|| WebError::Missing("This import is no longer waiting: it was taken in, or the server was started again. Import the file once more.".to_owned()))
}

/// Lays an inventory beside the workshop.
fn ready(
    workshop: &mut Workshop,
    inventory: Inventory,
    unreadable: Vec<BadRow>,
    notes: Vec<String>,
    mapping: Option<(String, String)>,
) -> Result<Ready, WebError> {
    let register = workshop.register().clone();
    let keys = workshop.keys()?;
    let scene = Scene::new(&register);
    let mut new_id = new_device_id;
    let fingerprint = |secret: &str| keys.fingerprint(&SecretText::new(secret));
    let mut context = Context { now: now(), how: How::Label, new_id: &mut new_id, fingerprint: &fingerprint };
    let plan = plan(&inventory, &scene, &mut context);
    Ok(Ready { inventory, unreadable, notes, plan, entries: register.entries(), mapping })
}

/// `/import/{job}`: the differences, or how far the reading is.
pub async fn look(asked: Asked, Path(key): Path<String>) -> Response {
    asked
        .with(move |asked, workshop| {
            let job = job(asked, &key)?;
            let job = lock(&job);
            let site = asked.site(Some(workshop.name()));
            match &job.stage {
                Stage::Mapping { .. } => Ok(Redirect::to(&format!("/import/{key}/mapping")).into_response()),
                Stage::Reading { done, total } => {
                    let progress = Progress {
                        what: format!("Reading {}", job.file),
                        done: *done,
                        total: *total,
                        unit: "rows".to_owned(),
                    };
                    Ok(html(pages::import::progress(&site, &progress)))
                }
                Stage::Ready(ready) => {
                    Ok(html(pages::import::preview(&site, &preview(&key, &job.file, ready))))
                }
                Stage::Refused(says) => Ok(refused(asked, workshop, says)),
            }
        })
        .await
}

fn part_words(part: &Part) -> String {
    match part {
        Part::Whole => String::new(),
        Part::End(key) if key == Part::MAIN => String::new(),
        Part::End(key) => format!(" of end {key}"),
        Part::Memory(key) => format!(" of memory {key}"),
    }
}

fn preview(key: &str, file: &str, ready: &Ready) -> ImportPreview {
    let plan = &ready.plan;
    let with_changes = || plan.proposals.iter().filter(|proposal| !proposal.drafts.is_empty());
    let mut differences: Vec<DeviceDifference> = with_changes()
        .take(LISTED)
        .map(|proposal| DeviceDifference {
            name: proposal.label.clone(),
            sort: Some(proposal.sort),
            place: match proposal.rows.as_slice() {
                [] => "named in other rows".to_owned(),
                [row] => format!("row {row}"),
                [first, .., last] => format!("rows {first} to {last}"),
            },
            new: proposal.is_new,
            differences: proposal
                .changes
                .iter()
                .map(|change| Difference {
                    what: format!("{}{}", change.field.label(), part_words(&change.part)),
                    before: change.before.clone().unwrap_or_default(),
                    after: if change.only_noted {
                        format!("{} (only noted: what is known better keeps holding)", change.after)
                    } else {
                        change.after.clone()
                    },
                })
                .collect(),
        })
        .collect();
    if !plan.settings.is_empty() {
        differences.push(DeviceDifference {
            name: "Settings of the workshop".to_owned(),
            sort: None,
            place: String::new(),
            new: false,
            differences: plan
                .settings
                .iter()
                .map(|setting| Difference {
                    what: setting.key.clone(),
                    before: setting.before.clone().unwrap_or_default(),
                    after: setting.after.clone(),
                })
                .collect(),
        });
    }
    let bad: Vec<&BadRow> = ready.unreadable.iter().chain(&plan.bad).collect();
    let mut notes = ready.notes.clone();
    if !plan.unknown_families.is_empty() {
        let names: Vec<&str> = plan.unknown_families.iter().map(String::as_str).collect();
        notes.push(format!(
            "No family file is here for {}: their values are taken as written, and their links stay unknown until the file is added.",
            names.join(", ")
        ));
    }
    let added = with_changes().filter(|proposal| proposal.is_new).count() as u64;
    let total = with_changes().count() as u64;
    ImportPreview {
        job: key.to_owned(),
        file: file.to_owned(),
        added,
        changed: total - added,
        unchanged: plan.unchanged,
        bad: bad.len() as u64,
        more_differences: total.saturating_sub(LISTED as u64),
        differences,
        more_bad_rows: (bad.len() as u64).saturating_sub(LISTED as u64),
        bad_rows: bad
            .into_iter()
            .take(LISTED)
            .map(|bad| pages::sheet::BadRow {
                row: bad.row,
                column: bad.column.clone(),
                says: bad.says.clone(),
            })
            .collect(),
        has_mapping: ready.mapping.is_some(),
        notes,
    }
}

fn mapping_sheet(key: &str, job: &Job) -> Option<MappingSheet> {
    let Stage::Mapping { header, mapping, remembered, .. } = &job.stage else { return None };
    let shape = match header.delimiter {
        b';' => "Columns are parted by semicolons, so a comma in a number is a decimal comma.",
        b'\t' => "Columns are parted by tabs.",
        _ => "Columns are parted by commas.",
    };
    let mut shape = vec![shape.to_owned()];
    shape.extend(header.encoding.note().map(str::to_owned));
    shape.extend(header.columns.iter().filter(|column| csv::mapping::smells_of_secret(&column.name)).map(|column| {
        format!(
            "The column “{}” may hold link secrets. Choose “{}” and only a fingerprint of each is kept, or leave it out; nothing else is allowed for it.",
            column.name,
            Field::Secret.label()
        )
    }));
    let columns = header
        .columns
        .iter()
        .enumerate()
        .map(|(at, column)| Column {
            at,
            name: column.name.clone(),
            filled: column.filled,
            means: mapping
                .columns
                .iter()
                .find(|(name, _)| *name == column.name)
                .map_or(Target::Ignore, |(_, target)| *target)
                .key()
                .to_owned(),
        })
        .collect();
    let label = |target: Target| match target {
        Target::Ignore => "leave it out".to_owned(),
        Target::Sort => "what the row is (transmitter, receiver, aircraft, memory)".to_owned(),
        Target::Of => "the transmitter or receiver that the row belongs to".to_owned(),
        Target::How => "how it is known".to_owned(),
        Target::Seen => "when it was seen".to_owned(),
        other => other.field().map_or_else(|| other.key().to_owned(), |field| field.label().to_owned()),
    };
    let mut meanings = vec![(Target::Ignore.key().to_owned(), label(Target::Ignore))];
    meanings.extend(
        Target::ALL
            .iter()
            .filter(|target| **target != Target::Ignore)
            .map(|t| (t.key().to_owned(), label(*t))),
    );
    let sorts = [Sort::Receiver, Sort::Transmitter, Sort::Aircraft];
    let mut choices = vec![(String::new(), "a column says so".to_owned())];
    choices.extend(
        sorts.map(|sort| {
            (sort.word().to_owned(), format!("{}s", sort.word()).replace("aircrafts", "aircraft"))
        }),
    );
    let options = vec![FileOption {
        name: "rows".to_owned(),
        label: "What the rows are".to_owned(),
        choices,
        chosen: mapping.rows.map(|sort| sort.word().to_owned()).unwrap_or_default(),
    }];
    Some(MappingSheet {
        job: key.to_owned(),
        file: job.file.clone(),
        rows: header.rows,
        shape,
        columns,
        meanings,
        options,
        remembered: *remembered,
    })
}

/// Why columns can't be read as they were chosen, in the words of the page.
fn refusal(error: &csv::Refused) -> String {
    match error {
        csv::Refused::NoKey => {
            "No column holds the code, the name or the id, so rows can't be told apart: choose one of them below.".to_owned()
        }
        csv::Refused::NoSort => {
            "No column says what a row is: choose transmitters, receivers or aircraft under “What the rows are”, or give one of the columns that meaning.".to_owned()
        }
        csv::Refused::ShownSecret { column, .. } => format!(
            "The column “{column}” looks as if it held link secrets, and what you chose for it is shown on pages: choose “{}” or leave it out.",
            Field::Secret.label()
        ),
        other => {
            let says = other.to_string();
            let mut rest = says.chars();
            rest.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), rest.as_str()))
        }
    }
}

/// `/import/{job}/mapping`.
pub async fn mapping(asked: Asked, Path(key): Path<String>) -> Response {
    asked
        .with(move |asked, workshop| {
            let job = job(asked, &key)?;
            let sheet = mapping_sheet(&key, &lock(&job));
            match sheet {
                Some(sheet) => Ok(html(pages::import::mapping(
                    &asked.site(Some(workshop.name())),
                    &sheet,
                    &Typed::none(),
                ))),
                None => Ok(Redirect::to(&format!("/import/{key}")).into_response()),
            }
        })
        .await
}

/// `POST /import/{job}/mapping`: reads the rows in the background.
pub async fn map(asked: Asked, Path(key): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let shared = job(asked, &key)?;
            let mut job = lock(&shared);
            let there = format!("/import/{key}");
            let Stage::Mapping { bytes, header, mapping, .. } = &mut job.stage else {
                return Ok(Redirect::to(&there).into_response());
            };
            let chosen = Mapping {
                columns: header
                    .columns
                    .iter()
                    .enumerate()
                    .filter_map(|(at, column)| {
                        let target = Target::from_key(form.get(&format!("column.{at}"))?)?;
                        Some((column.name.clone(), target))
                    })
                    .collect(),
                rows: form.get("rows").and_then(Sort::from_word),
            };
            let signature = header.signature();
            let rows = header.rows;
            *mapping = chosen.clone();
            let reading = match csv::Job::begin(bytes.clone(), &chosen, Options::default()) {
                Ok(reading) => reading,
                Err(error) => {
                    let sheet = mapping_sheet(&key, &job);
                    let says = refusal(&error);
                    let typed = form.typed("mapping", vec![(String::new(), says)]);
                    let Some(sheet) = sheet else { return Err(WebError::Inside) };
                    return Ok(html_wrong(pages::import::mapping(
                        &asked.site(Some(workshop.name())),
                        &sheet,
                        &typed,
                    )));
                }
            };
            job.stage = Stage::Reading { done: 0, total: rows };
            drop(job);
            let (app, worker) = (asked.app.clone(), shared.clone());
            std::thread::spawn(move || read_rows(&app, &worker, reading, (signature, chosen.to_text())));
            Ok(Redirect::to(&there).into_response())
        })
        .await
}

fn read_rows(app: &App, shared: &Mutex<Job>, mut reading: csv::Job, mapping: (String, String)) {
    let mut shown = Instant::now();
    loop {
        let progress = reading.advance(PIECE);
        if progress.finished {
            break;
        }
        if shown.elapsed() > Duration::from_millis(200) {
            shown = Instant::now();
            if let Stage::Reading { done, .. } = &mut lock(shared).stage {
                *done = progress.rows_done;
            }
        }
    }
    let read = reading.finish();
    let result = app.use_workshop(|workshop| {
        workshop.refresh()?;
        ready(workshop, read.inventory, read.bad, read.notes, Some(mapping))
    });
    lock(shared).stage = match result {
        Ok(ready) => Stage::Ready(Box::new(ready)),
        Err(error) => Stage::Refused(error.to_string()),
    };
}

/// `POST /import/{job}/apply`.
pub async fn apply(asked: Asked, Path(key): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let shared = job(asked, &key)?;
            let mut job = lock(&shared);
            let there = format!("/import/{key}");
            let Stage::Ready(ready_now) = &mut job.stage else { return Ok(Redirect::to(&there).into_response()) };
            let bad = ready_now.unreadable.len() + ready_now.plan.bad.len();
            if bad > 0 && form.get("good_only") != Some("1") {
                let says = "There are rows that can't be read. Mend the file and import it again, or take only the good rows.";
                return Ok(asked.says(&there, Mood::Bad, says));
            }
            if ready_now.entries != workshop.register().entries() {
                let fresh = ready(
                    workshop,
                    std::mem::take(&mut ready_now.inventory),
                    std::mem::take(&mut ready_now.unreadable),
                    std::mem::take(&mut ready_now.notes),
                    ready_now.mapping.take(),
                )?;
                **ready_now = fresh;
                let says = "The workshop has changed since these differences were found. Nothing was written; look at them once more.";
                return Ok(asked.says(&there, Mood::Bad, says));
            }
            let mut drafts: Vec<Draft> = ready_now.plan.drafts().cloned().collect();
            let mut files = Vec::new();
            if let Some((header, text)) = &ready_now.mapping {
                let file = wire::digest(text.as_bytes());
                if workshop.register().mapping(header) != Some(file) {
                    let body = Body::Mapping { header: header.clone(), file };
                    drafts.push(Draft { seen: now(), subject: DeviceId::WORKSHOP, body });
                    files.push(text.as_bytes().to_vec());
                }
            }
            let devices = ready_now.plan.proposals.iter().filter(|proposal| !proposal.drafts.is_empty()).count();
            workshop.record(&drafts, &files)?;
            drop(job);
            lock(&asked.app.jobs).remove(&key);
            let left = if bad == 0 { String::new() } else { format!(" {bad} rows were left out.") };
            let what = if devices == 1 { "1 device".to_owned() } else { format!("{devices} devices") };
            Ok(asked.done("/links", &format!("Taken in: {what}.{left} Here are their links.")))
        })
        .await
}

/// `/export`.
pub async fn exports(asked: Asked) -> Response {
    asked.with(|asked, workshop| Ok(html(pages::export::page(&asked.site(Some(workshop.name())))))).await
}

/// `/export/logbook.jsonl`, `/export/workshop.toml`, `/export/list.csv`.
pub async fn export(asked: Asked, Path(file): Path<String>) -> Response {
    asked
        .with(move |_, workshop| {
            let register = workshop.register().clone();
            let scene = Scene::new(&register);
            let (kind, bytes) = match file.as_str() {
                "logbook.jsonl" => {
                    let mut bytes = Vec::new();
                    workshop.store.export(&mut bytes)?;
                    ("application/x-ndjson", bytes)
                }
                "workshop.toml" => {
                    ("application/toml; charset=utf-8", intake::toml::write(&scene).into_bytes())
                }
                "list.csv" => ("text/csv; charset=utf-8", csv::write(&scene).into_bytes()),
                _ => return Err(WebError::Missing("There is no such export.".to_owned())),
            };
            let headers = [
                ("content-type", kind.to_owned()),
                ("content-disposition", format!("attachment; filename=\"{file}\"")),
            ];
            Ok((headers, bytes).into_response())
        })
        .await
}
