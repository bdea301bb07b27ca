//! `outputs`, `supply`, `failsafe`, `antennas`: the parts of an aircraft's fit, written down and
//! checked.

pub mod args;
mod keys;
pub mod say;

use std::io::Read as _;
use std::path::Path;

use anyhow::{Context as _, bail};
use fitting::part::{LARGEST_BYTES, schema};
use register::field::Sort;
use register::fit::Part;
use register::id::DeviceId;
use register::scene::Scene;
use wire::answers::fit::Shown;
use wire::answers::fit::keys::Keys;

use self::args::What;
use super::families::read_text;
use super::{Session, named};
use crate::fittings;
use crate::workshop::Workshop;

/// Shows a part of an aircraft's fit, or writes it down.
pub fn part(session: &mut Session, part: Part, args: &args::Part) -> anyhow::Result<()> {
    if args.what.is_some() && (args.file.is_some() || args.text || args.clear || args.keys) {
        bail!("`set` changes cells; leave --file, --text, --clear and --keys out with it");
    }
    if args.keys {
        let keys = Keys::new(schema(part));
        return if session.out.json { session.out.answer(&keys) } else { Ok(keys::print(session, &keys)?) };
    }
    let mut workshop = session.workshop()?;
    let name = args.aircraft.as_deref().unwrap_or_default();
    let id = named::device(&Scene::new(workshop.register()), name, Some(Sort::Aircraft))?;
    if args.clear {
        fittings::clear_part(&mut workshop, id, part)?;
        return told(session, &workshop, id, part, "Taken away; the logbook keeps what was written.");
    }
    if let Some(file) = &args.file {
        let (origin, text) = source(file)?;
        fittings::write_part(&mut workshop, id, part, &origin, &text)?;
        return told(session, &workshop, id, part, "Written down.");
    }
    if let Some(What::Set { cells }) = &args.what {
        let cells = typed(cells)?;
        let written = fittings::fit(workshop.register(), workshop.fleet(), id);
        let origin = format!("the {}", part.word());
        let text = fittings::with_cells(written.text(part), part, &origin, &cells)?;
        fittings::write_part(&mut workshop, id, part, &origin, &text)?;
        return told(session, &workshop, id, part, "Written down.");
    }
    let shown = answer(&workshop, id, part)?;
    if session.out.json {
        return session.out.answer(&shown);
    }
    if args.text {
        let Some(text) = &shown.text else {
            bail!("{} `{} {name} --file FILE` does it from a text", shown.sentence, part.word())
        };
        return Ok(session.out.bytes(text.as_bytes())?);
    }
    Ok(say::part(&mut session.out, &shown)?)
}

/// A part as an answer.
fn answer(workshop: &Workshop, id: DeviceId, part: Part) -> anyhow::Result<Shown> {
    let (list, fit) = fittings::list(workshop.register(), workshop.fleet(), id, None)?;
    Ok(Shown::new(&list, &fit, part))
}

/// Says what was done, and how the part stands now.
fn told(
    session: &mut Session,
    workshop: &Workshop,
    id: DeviceId,
    part: Part,
    done: &str,
) -> anyhow::Result<()> {
    let shown = answer(workshop, id, part)?;
    if session.out.json {
        return session.out.answer(&shown);
    }
    session.out.line(done)?;
    session.out.gap()?;
    Ok(say::part(&mut session.out, &shown)?)
}

/// The text of a file or of standard input, with what to call it.
fn source(file: &Path) -> anyhow::Result<(String, String)> {
    if file != Path::new("-") {
        return Ok((file.display().to_string(), read_text(file)?));
    }
    let origin = "standard input";
    let mut bytes = Vec::new();
    // One byte more, so that the reader can say that it is too much.
    let most = u64::try_from(LARGEST_BYTES)? + 1;
    std::io::stdin().take(most).read_to_end(&mut bytes).context("standard input can't be read")?;
    if bytes.len() > LARGEST_BYTES {
        return Ok((origin.to_owned(), String::from_utf8_lossy(&bytes).into_owned()));
    }
    let text = String::from_utf8(bytes).ok().context("standard input is not text (UTF-8)")?;
    Ok((origin.to_owned(), text))
}

/// Cells as they were typed: a path, and a value that may be empty.
fn typed(cells: &[String]) -> anyhow::Result<Vec<(String, String)>> {
    let mut out: Vec<(String, String)> = Vec::new();
    for cell in cells {
        let Some((path, value)) = cell.split_once('=') else {
            bail!(
                "{} has no value; write TABLE.ROW.KEY=VALUE, with nothing behind the `=` to take the cell away",
                super::out::clip(cell, 60)
            )
        };
        let path = path.trim();
        if out.iter().any(|(have, _)| have == path) {
            bail!("{} is given twice; keep one of the two", super::out::clip(path, 60));
        }
        out.push((path.to_owned(), value.to_owned()));
    }
    Ok(out)
}
