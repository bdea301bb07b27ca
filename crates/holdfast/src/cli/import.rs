//! `import`: a list, a workshop file or a logbook; differences first.

mod report;
mod source;

use std::io::{BufReader, Cursor};

use anyhow::bail;
use intake::inventory::{BadRow, Inventory, Said};
use intake::plan::{Context, Plan, plan};
use register::entry::{Body, Draft};
use register::id::DeviceId;
use register::register::Register;
use register::scene::Scene;
use register::value::SecretMark;
use store::Store;
use store::keys::SecretText;

use super::Session;
use super::args;
use super::out::{ask, progress, progress_done};
use super::{backup, families, named};
use crate::workshop::{Workshop, new_device_id};
use source::{FamilyFile, Kind, Source};

/// What a file states, read but not yet laid beside the workshop.
#[derive(Default)]
struct Stated {
    inventory: Inventory,
    unreadable: Vec<BadRow>,
    notes: Vec<String>,
    /// Families that come along with a workshop file.
    families: Vec<FamilyFile>,
    /// The columns of a list, to be remembered: the header's signature and the mapping.
    mapping: Option<(String, String)>,
}

/// Imports a file.
pub fn import(session: &mut Session, args: &args::Import) -> anyhow::Result<()> {
    let source = Source::open(&args.file)?;
    match source.kind {
        Kind::Logbook => {
            if args.dry_run {
                bail!(
                    "a logbook is taken over whole or not at all, so there is no --dry-run for it; nothing was changed"
                );
            }
            let mut workshop = session.workshop_or_new()?;
            let outcome = workshop.store.import(BufReader::new(Cursor::new(source.bytes)))?;
            workshop.refresh()?;
            backup::brought(session, &outcome)
        }
        Kind::Family => families::add(session, &args.file),
        Kind::Workshop => {
            if !args.map.is_empty() || args.sort.is_some() {
                bail!("--map and --sort are for lists (CSV); this is a workshop file");
            }
            let mut workshop = workshop(session, args)?;
            let stated = source::workshop_file(&source)?;
            take_in(session, &mut workshop, args, &stated)
        }
        Kind::List => {
            let mut workshop = workshop(session, args)?;
            let stated = source::list(&workshop, source, args)?;
            take_in(session, &mut workshop, args, &stated)
        }
    }
}

/// The workshop to lay a file beside; only looking doesn't begin one.
fn workshop(session: &Session, args: &args::Import) -> anyhow::Result<Workshop> {
    if args.dry_run && !session.places.workshop.exists() {
        return Ok(Workshop::around(Store::in_memory()?, &session.places.keys, &session.author)?);
    }
    session.workshop_or_new()
}

/// Lays what a file states beside the workshop, shows the differences, and writes them.
fn take_in(
    session: &mut Session,
    workshop: &mut Workshop,
    args: &args::Import,
    stated: &Stated,
) -> anyhow::Result<()> {
    let now = named::seen(args.seen.as_deref())?;
    let new_families: Vec<&FamilyFile> =
        stated.families.iter().filter(|family| family.is_new(workshop)).collect();
    let register = with_families(workshop.register(), &new_families);
    let found = lay_beside(workshop, &register, &stated.inventory, now, args)?;
    let mut bad: Vec<&BadRow> = stated.unreadable.iter().chain(&found.bad).collect();
    bad.sort_by_key(|bad| (bad.row, bad.line));
    let report = report::Report::new(&args.file, stated, &found, &bad, &new_families);
    if !session.out.json {
        report.show(&mut session.out)?;
    }
    let done = decide(session, args, &report)?;
    if done == Decision::Write {
        write(workshop, stated, &found, &new_families)?;
    }
    let imported = done == Decision::Write;
    if session.out.json {
        session.out.answer(&report.answer(imported, args.dry_run))?;
    } else if imported {
        session.out.line(&report.done())?;
    } else if done == Decision::OnlyLook {
        session.out.line("Nothing was changed: --dry-run only looks.")?;
    }
    match done {
        Decision::Refuse(why) => {
            session.out.flush()?;
            bail!(why)
        }
        _ => Ok(()),
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Decision {
    Write,
    Nothing,
    OnlyLook,
    Refuse(&'static str),
}

fn decide(session: &mut Session, args: &args::Import, report: &report::Report) -> anyhow::Result<Decision> {
    if report.bad > 0 && !args.skip_bad && !args.dry_run {
        return Ok(Decision::Refuse(
            "nothing was imported, since some rows can't be taken; correct them, or import the others with --skip-bad",
        ));
    }
    if args.dry_run {
        return Ok(Decision::OnlyLook);
    }
    if report.is_empty() {
        return Ok(Decision::Nothing);
    }
    if !report.changes_what_is_there() || args.yes {
        return Ok(Decision::Write);
    }
    session.out.flush()?;
    let wanted = if session.out.json { None } else { ask("Change what is written down already?") };
    Ok(match wanted {
        Some(true) => Decision::Write,
        Some(false) => Decision::Refuse("nothing was imported"),
        None => Decision::Refuse(
            "nothing was imported, since facts would change that are written down already; look at the differences \
             and add --yes",
        ),
    })
}

/// The register as it would be with further families.
fn with_families(register: &Register, families: &[&FamilyFile]) -> Register {
    let mut register = register.clone();
    for family in families {
        family.suppose(&mut register);
    }
    register
}

fn lay_beside(
    workshop: &mut Workshop,
    register: &Register,
    inventory: &Inventory,
    now: register::time::Moment,
    args: &args::Import,
) -> anyhow::Result<Plan> {
    let facts = inventory.items.iter().flat_map(intake::inventory::Item::parts).flat_map(|(_, facts)| facts);
    let has_secrets = facts.into_iter().any(|fact| matches!(fact.said, Said::Secret(_)));
    // The key is only made when there is something to fingerprint.
    let keys = if has_secrets { Some(workshop.keys()?) } else { None };
    let fingerprint =
        |secret: &str| keys.map_or(SecretMark::Blank, |keys| keys.fingerprint(&SecretText::new(secret)));
    let mut new_id = new_device_id;
    let mut context = Context { now, how: args.how.how(), new_id: &mut new_id, fingerprint: &fingerprint };
    Ok(plan(inventory, &Scene::new(register), &mut context))
}

fn write(
    workshop: &mut Workshop,
    stated: &Stated,
    found: &Plan,
    families: &[&FamilyFile],
) -> anyhow::Result<()> {
    let mut drafts: Vec<Draft> = Vec::new();
    let mut files: Vec<Vec<u8>> = Vec::new();
    let seen = crate::workshop::now();
    let mut file = |body: Body, text: &str| {
        files.push(text.as_bytes().to_vec());
        Draft { seen, subject: DeviceId::WORKSHOP, body }
    };
    for family in families {
        drafts.push(file(family.body(), &family.text));
    }
    if let Some((header, text)) = &stated.mapping {
        let digest = wire::digest(text.as_bytes());
        if workshop.register().mapping(header) != Some(digest) {
            drafts.push(file(Body::Mapping { header: header.clone(), file: digest }, text));
        }
    }
    drafts.extend(found.drafts().cloned());
    let is_long = drafts.len() > 20_000;
    if is_long {
        progress(&format!("writing {} entries", drafts.len()));
    }
    workshop.record(&drafts, &files)?;
    if is_long {
        progress_done();
    }
    Ok(())
}
