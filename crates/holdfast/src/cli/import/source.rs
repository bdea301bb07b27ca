//! What is in a file: told by its content, not by its name.

use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use intake::csv::mapping::guess;
use intake::csv::{Column, Header, Job, LARGEST_FILE_BYTES, Mapping, Options, Target};
use intake::inventory::{BadRow, Origin};
use register::entry::{Body, Stamp};
use register::family::{Family, read};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::Register;
use std::sync::Arc;

use super::Stated;
use crate::cli::args;
use crate::cli::out::{progress, progress_done};
use crate::workshop::{Workshop, now};

/// How many rows are read between two looks at the clock.
const PIECE: u64 = 20_000;

/// What a file is.
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

/// A file, read.
pub struct Source {
    /// Where it was.
    pub path: PathBuf,
    /// What it is.
    pub kind: Kind,
    /// All of it.
    pub bytes: Vec<u8>,
}

impl Source {
    /// Reads a file; `-` is standard input.
    pub fn open(path: &Path) -> anyhow::Result<Source> {
        let mut bytes = Vec::new();
        if path == Path::new("-") {
            io::stdin().read_to_end(&mut bytes).context("standard input can't be read")?;
        } else {
            if path.is_dir() {
                bail!("{} is a folder; name a file in it", path.display());
            }
            bytes = std::fs::read(path).with_context(|| {
                format!("{} can't be read; check its name and its rights", path.display())
            })?;
        }
        if bytes.is_empty() {
            bail!("{} is empty; nothing was changed", path.display());
        }
        if bytes.starts_with(b"SQLite format 3\0") {
            bail!("{} is a workshop of its own; `merge` takes it over", path.display());
        }
        Ok(Source { path: path.to_owned(), kind: kind_of(path, &bytes), bytes })
    }

    fn text(&self) -> anyhow::Result<&str> {
        std::str::from_utf8(&self.bytes)
            .ok()
            .with_context(|| format!("{} is not text (UTF-8); save it as plain text", self.path.display()))
    }
}

fn kind_of(path: &Path, bytes: &[u8]) -> Kind {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.starts_with(b"{\"") {
        return Kind::Logbook;
    }
    let is_toml = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
    let start = String::from_utf8_lossy(&bytes[..bytes.len().min(1 << 16)]);
    let has = |starts: &[&str]| start.lines().any(|line| starts.iter().any(|start| line.starts_with(start)));
    if is_toml || has(&["schema =", "schema="]) {
        if has(&["[family]"]) { Kind::Family } else { Kind::Workshop }
    } else {
        Kind::List
    }
}

/// A family file that comes along with a workshop file.
pub struct FamilyFile {
    /// What it says.
    pub family: Arc<Family>,
    /// Its text.
    pub text: String,
}

impl FamilyFile {
    fn digest(&self) -> Digest {
        wire::digest(self.text.as_bytes())
    }

    /// What is written down of it.
    pub fn body(&self) -> Body {
        Body::Family { name: self.family.name.clone(), file: self.digest() }
    }

    /// Whether the workshop doesn't use this very file yet.
    pub fn is_new(&self, workshop: &Workshop) -> bool {
        workshop.register().families().all(|(_, used)| used.file != self.digest())
    }

    /// Supposes that the workshop uses it.
    pub fn suppose(&self, register: &mut Register) {
        let now = now();
        let stamp = Stamp {
            id: EntryId(u128::MAX),
            replica: ReplicaId(0),
            clock: register.newest(),
            seen: now,
            recorded: now,
            subject: DeviceId::WORKSHOP,
        };
        // It is as new as the newest entry, so nothing has to be read again.
        let _ = register.fold(&stamp, self.body());
        register.give_family(self.digest(), &self.family);
    }
}

/// Reads a workshop file, and the family files beside it.
pub fn workshop_file(source: &Source) -> anyhow::Result<Stated> {
    let name = source.path.display().to_string();
    let read = intake::toml::read(&name, source.text()?);
    let unreadable = read.problems.iter().map(|problem| BadRow {
        origin: Origin::Toml,
        row: problem.line as u64,
        line: problem.line as u64,
        column: problem.key.clone(),
        says: problem.says.clone(),
    });
    let mut stated = Stated { unreadable: unreadable.collect(), ..Stated::default() };
    for file in &read.inventory.family_files {
        stated.families.push(family_file(&source.path, file)?);
    }
    stated.inventory = read.inventory;
    Ok(stated)
}

fn family_file(beside: &Path, name: &str) -> anyhow::Result<FamilyFile> {
    let is_plain = Path::new(name).components().count() == 1
        && matches!(Path::new(name).components().next(), Some(std::path::Component::Normal(_)));
    if !is_plain {
        bail!("the workshop file names a family file in another folder; put it beside the workshop file");
    }
    let path = beside.parent().unwrap_or(Path::new("")).join(name);
    let text = std::fs::read_to_string(&path).with_context(|| {
        format!("the family file {} can't be read; put it beside the workshop file", path.display())
    })?;
    match read::read(&path.display().to_string(), &text) {
        Ok(family) => Ok(FamilyFile { family: Arc::new(family), text }),
        Err(problems) => {
            let lines: Vec<String> = problems.iter().take(20).map(ToString::to_string).collect();
            bail!("nothing was imported; correct the family file first:\n{}", lines.join("\n"))
        }
    }
}

/// Reads a list by the mapping of its columns: stated, remembered or guessed.
pub fn list(workshop: &Workshop, source: Source, args: &args::Import) -> anyhow::Result<Stated> {
    if source.bytes.len() > LARGEST_FILE_BYTES {
        bail!("{} is larger than 64 MiB; split it", source.path.display());
    }
    let header = Header::read(&source.bytes)?;
    let mut mapping = match remembered(workshop, &header)? {
        Some(mapping) => mapping,
        None => guess(&header),
    };
    for stated in &args.map {
        map(&mut mapping, &header, stated)?;
    }
    if let Some(sort) = args.sort {
        mapping.rows = Some(sort.sort());
    }
    let mut notes = Vec::new();
    let is_unread =
        |column: &Column| column.filled > 0 && !mapping.columns.iter().any(|(name, _)| *name == column.name);
    let unread = spoken(&header, &mapping, is_unread);
    if !unread.is_empty() {
        notes.push(format!(
            "Not read, since it isn't known what they hold: {unread}. Say it with --map \"COLUMN=FACT\"."
        ));
    }
    let understood: Vec<String> = mapping
        .columns
        .iter()
        .filter(|(_, target)| *target != Target::Ignore)
        .map(|(name, target)| format!("{name} as {}", target.key()))
        .collect();
    notes.push(format!("Columns: {}.", understood.join(", ")));
    let mut job = Job::begin(source.bytes, &mapping, Options { rows: mapping.rows }).with_context(|| {
        format!(
            "{} can't be read by its columns ({}); say what they hold with --map \"COLUMN=FACT\" and --sort",
            source.path.display(),
            spoken(&header, &mapping, |_| true)
        )
    })?;
    let is_long = header.rows > PIECE;
    loop {
        let done = job.advance(PIECE);
        if is_long {
            progress(&format!("read {} of {} rows", done.rows_done, header.rows));
        }
        if done.finished {
            break;
        }
    }
    if is_long {
        progress_done();
    }
    let read = job.finish();
    notes.extend(read.notes);
    Ok(Stated {
        inventory: read.inventory,
        unreadable: read.bad,
        notes,
        families: Vec::new(),
        mapping: Some((header.signature(), mapping.to_text())),
    })
}

/// Columns by their names. Where hardly a name is understood, the first row may be no
/// header but a device, with its secret in it: then only their places are told.
fn spoken(header: &Header, mapping: &Mapping, which: impl Fn(&Column) -> bool) -> String {
    let is_header = mapping.columns.len() > 1;
    let names: Vec<String> = header
        .columns
        .iter()
        .enumerate()
        .filter(|(_, column)| which(column))
        .map(
            |(at, column)| {
                if is_header { format!("`{}`", column.name) } else { format!("column {}", at + 1) }
            },
        )
        .collect();
    let doubt = if is_header || names.is_empty() {
        ""
    } else {
        "; the first row must hold the names of the columns, and isn't shown, as it may hold a secret"
    };
    format!("{}{doubt}", names.join(", "))
}

fn remembered(workshop: &Workshop, header: &Header) -> anyhow::Result<Option<Mapping>> {
    let Some(digest) = workshop.register().mapping(&header.signature()) else { return Ok(None) };
    let text = workshop.store.file(digest)?.and_then(|bytes| String::from_utf8(bytes).ok());
    Ok(text.and_then(|text| Mapping::from_text(&text).ok()))
}

/// `Nr.=code`: the column may have `=` in its name, the fact has not.
fn map(mapping: &mut Mapping, header: &Header, stated: &str) -> anyhow::Result<()> {
    let (column, target) =
        stated.rsplit_once('=').context("--map is written COLUMN=FACT, such as \"Nr.=code\"")?;
    let (column, target) = (column.trim(), target.trim());
    let Some(target) = Target::from_key(target) else {
        let keys: Vec<&str> = Target::ALL.iter().map(|target| target.key()).collect();
        bail!("--map: a column can hold {}", keys.join(", "));
    };
    let lower = column.to_lowercase();
    let Some(found) = header.columns.iter().find(|one| one.name.to_lowercase() == lower) else {
        bail!("--map: the list has no such column; it has {}", spoken(header, mapping, |_| true));
    };
    // One column for one thing: what was said prevails over what was guessed.
    mapping
        .columns
        .retain(|(name, have)| *name != found.name && (*have != target || target == Target::Ignore));
    mapping.columns.push((found.name.clone(), target));
    Ok(())
}
