//! `families`: the link families in use, and family files.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use register::family::read::{self, Problem};
use register::family::release::read_releases;
use register::family::shipped;
use register::register::FamilyUse;
use serde::Serialize;
use wire::answers::family::{Family, Trouble};

use super::args::FamiliesWhat;
use super::table::Table;
use super::{End, Session};
use crate::workshop::Workshop;

/// Does something with families.
pub fn families(session: &mut Session, what: Option<FamiliesWhat>) -> anyhow::Result<End> {
    match what.unwrap_or(FamiliesWhat::List) {
        FamiliesWhat::List => {
            let workshop = session.workshop()?;
            list(session, &workshop)?;
        }
        FamiliesWhat::Check { files } => {
            return check(session, &files, problems);
        }
        FamiliesWhat::Add { file } => add(session, &file)?,
        FamiliesWhat::Starters { name } => starters(session, name.as_deref())?,
        FamiliesWhat::Export { name } => {
            let workshop = session.workshop()?;
            let text = file_of(&workshop, &name)?;
            session.out.bytes(&text)?;
        }
    }
    Ok(End::Fine)
}

/// The problems of a family file, or of a file of releases that are added to one.
fn problems(origin: &str, text: &str) -> Vec<Problem> {
    // Such a file names its family before the first table.
    let mut before = text.lines().map(str::trim).take_while(|line| !line.starts_with('['));
    let is_releases = before.any(|line| line.split_once('=').is_some_and(|(key, _)| key.trim() == "family"));
    if is_releases {
        return read_releases(origin, text).err().unwrap_or_default();
    }
    read::read(origin, text).err().unwrap_or_default()
}

/// The answers on every family in use.
pub fn answers(workshop: &Workshop) -> Vec<Family> {
    let fleet = workshop.fleet();
    let same = |used: &FamilyUse, rules: Option<&register::family::Family>| {
        used.family.as_deref().zip(rules).is_some_and(|(a, b)| a.name == b.name)
    };
    let count = |used: &FamilyUse| {
        let transmitters = fleet.transmitters.iter().flat_map(|view| &view.ends);
        let receivers = fleet.receivers.iter().flat_map(|view| &view.ends);
        (
            transmitters.filter(|end| same(used, end.rules.as_deref())).count(),
            receivers.filter(|end| same(used, end.rules.as_deref())).count(),
        )
    };
    workshop.register().families().map(|(name, used)| Family::new(name, used, count(used))).collect()
}

/// Lists the families in use.
pub fn list(session: &mut Session, workshop: &Workshop) -> anyhow::Result<()> {
    let answers = answers(workshop);
    if session.out.json {
        return session.out.answer(&answers);
    }
    let out = &mut session.out;
    if answers.is_empty() {
        out.line("No link family yet; `families starters` shows what to begin one from, `families add FILE` adds it.")?;
        return Ok(());
    }
    let mut table = Table::new(&["family", "bands", "tx ends", "rx ends", "since", "summary"]);
    for family in &answers {
        let since = family.since.get(..10).unwrap_or(&family.since);
        let summary = if family.readable { family.summary.as_str() } else { "its file can't be read" };
        table.row(&[
            family.name.as_str(),
            &family.bands.join(", "),
            &family.transmitters.to_string(),
            &family.receivers.to_string(),
            since,
            summary,
        ]);
    }
    table.write(out)?;
    for problem in workshop.family_problems().iter().flat_map(|(_, problems)| problems) {
        out.line(&problem.to_string())?;
    }
    Ok(())
}

/// What a check of files found.
#[derive(Serialize)]
struct Checked {
    files: usize,
    problems: Vec<Trouble>,
    unreadable: Vec<String>,
}

/// A text file. Of a large one only so much is read that its reader sees it is too large.
pub fn read_text(file: &Path) -> anyhow::Result<String> {
    let most = u64::try_from(read::LARGEST_FILE_BYTES.max(trails::file::LARGEST_FILE_BYTES))?;
    let mut bytes = Vec::new();
    let read = std::fs::File::open(file).and_then(|open| open.take(most + 1).read_to_end(&mut bytes));
    read.with_context(|| format!("{} can't be read", file.display()))?;
    if bytes.len() as u64 > most {
        // Its reader says that it is too large; where it was cut doesn't matter.
        return Ok(String::from_utf8_lossy(&bytes).into_owned());
    }
    String::from_utf8(bytes)
        .ok()
        .with_context(|| format!("{} is not text (UTF-8); save it as plain text", file.display()))
}

/// Checks files by a reader that gives the problems of one: its name, its text. A file that
/// can't be read keeps none of the others from being checked.
pub fn check(
    session: &mut Session,
    files: &[PathBuf],
    problems_of: impl Fn(&str, &str) -> Vec<Problem>,
) -> anyhow::Result<End> {
    let mut problems = Vec::new();
    let mut unreadable = Vec::new();
    for file in files {
        match read_text(file) {
            Ok(text) => problems.extend(problems_of(&file.display().to_string(), &text)),
            Err(why) => unreadable.push(format!("{why:#}")),
        }
    }
    if session.out.json {
        let answer = Checked {
            files: files.len(),
            problems: problems.iter().map(Trouble::new).collect(),
            unreadable: unreadable.clone(),
        };
        session.out.answer(&answer)?;
    } else {
        for problem in &problems {
            session.out.line(&problem.to_string())?;
        }
        match (problems.len(), files) {
            (0, [file]) if unreadable.is_empty() => {
                session.out.line(&format!("{} is in order.", file.display()))?;
            }
            (0, files) => match files.len() - unreadable.len() {
                0 => {}
                1 => session.out.line("1 file is in order.")?,
                many => session.out.line(&format!("{many} files are in order."))?,
            },
            (1, _) => session.out.line("1 problem.")?,
            (many, _) => session.out.line(&format!("{many} problems."))?,
        }
    }
    if problems.is_empty() && !unreadable.is_empty() {
        session.out.flush()?;
        bail!("{}", unreadable.join("\n"));
    }
    if problems.is_empty() {
        return Ok(End::Fine);
    }
    if !session.out.json {
        unreadable.iter().try_for_each(|why| session.out.line(why))?;
    }
    Ok(End::Wrong)
}

/// Adds a family file.
pub fn add(session: &mut Session, file: &Path) -> anyhow::Result<()> {
    let text = read_text(file)?;
    let family = match read::read(&file.display().to_string(), &text) {
        Ok(family) => family,
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            bail!("the family file was not added; correct it first:\n{}", lines.join("\n"));
        }
    };
    let mut workshop = session.workshop_or_new()?;
    let was = workshop.register().family(&family.name).cloned();
    workshop.add_family(&family, &text)?;
    if session.out.json {
        return session.out.answer(&serde_json::json!({ "added": family.name }));
    }
    let words = match was {
        Some(was) if *was == family => format!("The family {} says nothing new.", family.name),
        Some(_) => format!("The family {} is used as this file has it from now on.", family.name),
        None => format!("Added the family {}.", family.name),
    };
    session.out.line(&words)?;
    Ok(())
}

fn starters(session: &mut Session, name: Option<&str>) -> anyhow::Result<()> {
    let Some(name) = name else {
        if session.out.json {
            let names: Vec<&str> = shipped::starters().iter().map(|(name, _)| *name).collect();
            return session.out.answer(&names);
        }
        let mut table = Table::new(&["starter", "what it is"]);
        for (name, text) in shipped::starters() {
            let summary = read::read(name, text).map(|family| family.summary).unwrap_or_default();
            table.row(&[*name, &summary]);
        }
        table.write(&mut session.out)?;
        session.out.gap()?;
        session.out.line(
            "`families starters NAME > mine.toml` writes one to a file; complete it from your own manual, then \
             `families check mine.toml` and `families add mine.toml`.",
        )?;
        return Ok(());
    };
    let wanted = name.strip_suffix(".toml").unwrap_or(name);
    let found = shipped::starters().iter().find(|(file, _)| file.strip_suffix(".toml") == Some(wanted));
    let Some((_, text)) = found else {
        let names: Vec<&str> = shipped::starters().iter().map(|(name, _)| *name).collect();
        bail!("there is no starter of that name; there are {}", names.join(", "));
    };
    Ok(session.out.bytes(text.as_bytes())?)
}

fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

fn file_of(workshop: &Workshop, name: &str) -> anyhow::Result<Vec<u8>> {
    let register = workshop.register();
    let Some((_, used)) = register.families().find(|(have, _)| *have == squeezed(name)) else {
        let name = |(name, used): (&str, &FamilyUse)| {
            used.family.as_ref().map_or_else(|| name.to_owned(), |family| family.name.clone())
        };
        let names: Vec<String> = register.families().map(name).collect();
        let there = if names.is_empty() { "none yet".to_owned() } else { names.join(", ") };
        bail!("the workshop uses no family of that name; it uses {there}");
    };
    workshop.store.file(used.file)?.context("the family's file is missing from the workshop; add it again")
}
