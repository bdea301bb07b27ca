//! `backup`, `restore`, `verify` and `merge`.

use std::path::Path;

use serde::Serialize;
use store::{Existing, Outcome, Store, StoreError, Verification};

use super::args;
use super::{End, Session};

/// What a check found.
#[derive(Serialize)]
struct Checked {
    holds: bool,
    entries: u64,
    erased: u64,
    replicas: u64,
    files: u64,
    problems: Vec<String>,
}

impl Checked {
    fn new(found: &Verification) -> Checked {
        Checked {
            holds: found.holds(),
            entries: found.entries,
            erased: found.erased,
            replicas: found.replicas,
            files: found.files,
            problems: found.problems.iter().map(ToString::to_string).collect(),
        }
    }

    fn sentence(&self) -> String {
        let copies = if self.replicas == 1 { "1 copy" } else { &format!("{} copies", self.replicas) };
        let erased =
            if self.erased == 0 { String::new() } else { format!(", {} of them erased", self.erased) };
        format!("{} entries{erased}, written by {copies}, and {} files", self.entries, self.files)
    }
}

/// Copies the workshop.
pub fn backup(session: &mut Session, to: &Path) -> anyhow::Result<()> {
    let store = open(session)?;
    let checked = Checked::new(&store.backup(to)?);
    if session.out.json {
        return session.out.answer(&checked);
    }
    session.out.line(&format!("Copied to {} and checked: {}.", to.display(), checked.sentence()))?;
    problems(session, &checked)?;
    session.out.line(&format!(
        "The keys that link secrets are compared by are not in it; keep a copy of {} in another place.",
        session.places.keys.display()
    ))?;
    Ok(())
}

fn open(session: &Session) -> anyhow::Result<Store> {
    match Store::open_existing(&session.places.workshop) {
        Err(StoreError::Missing { .. }) => Err(session
            .workshop()
            .err()
            .unwrap_or_else(|| anyhow::anyhow!("the workshop appeared only just now; try again"))),
        other => Ok(other?),
    }
}

fn there(file: &Path) -> anyhow::Result<()> {
    if file.is_file() {
        return Ok(());
    }
    anyhow::bail!("there is no file {}; check its name", file.display())
}

/// Brings a backup back.
pub fn restore(session: &mut Session, args: &args::Restore) -> anyhow::Result<()> {
    let to = session.places.workshop.clone();
    there(&args.from)?;
    if let Some(folder) = to.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder)
            .map_err(|why| anyhow::anyhow!("the folder {} can't be made ({why})", folder.display()))?;
    }
    let existing = if args.over { Existing::SetAside } else { Existing::Refuse };
    let restored = match Store::restore(&args.from, &to, existing) {
        Err(StoreError::Exists { path }) => anyhow::bail!(
            "a workshop stands at {} and was left as it is; --over restores in its place and keeps it under another name",
            path.display()
        ),
        other => other?,
    };
    let checked = Checked::new(&restored.verification);
    if session.out.json {
        let aside = restored.set_aside.map(|path| path.display().to_string());
        return session.out.answer(&serde_json::json!({ "restored": checked, "set_aside": aside }));
    }
    session.out.line(&format!("Restored to {}: {}.", to.display(), checked.sentence()))?;
    if let Some(aside) = restored.set_aside {
        session.out.line(&format!("The workshop that stood there is now {}.", aside.display()))?;
    }
    Ok(())
}

/// Checks the workshop.
pub fn verify(session: &mut Session) -> anyhow::Result<End> {
    let found = match open(session).and_then(|store| Ok(store.verify()?)) {
        Err(why) if matches!(why.downcast_ref(), Some(StoreError::Damaged { .. })) => {
            return damaged(session, &why.to_string());
        }
        other => other?,
    };
    let checked = Checked::new(&found);
    let end = if checked.holds { End::Fine } else { End::Wrong };
    if session.out.json {
        session.out.answer(&checked)?;
        return Ok(end);
    }
    if checked.holds {
        session.out.line(&format!("All holds: {}.", checked.sentence()))?;
    } else {
        session.out.line(&format!("Checked {}.", checked.sentence()))?;
        problems(session, &checked)?;
        session.out.line(
            "Keep the file as it is. `restore` the last good backup to another place and `merge` what was written \
             since from another copy, if there is one.",
        )?;
    }
    Ok(end)
}

/// So much is damaged that no entry can be checked.
fn damaged(session: &mut Session, why: &str) -> anyhow::Result<End> {
    if session.out.json {
        let problems = vec![why.to_owned()];
        session.out.answer(&Checked {
            holds: false,
            entries: 0,
            erased: 0,
            replicas: 0,
            files: 0,
            problems,
        })?;
    } else {
        session.out.line(&format!("Wrong: {why}"))?;
    }
    Ok(End::Wrong)
}

fn problems(session: &mut Session, checked: &Checked) -> anyhow::Result<()> {
    for problem in &checked.problems {
        session.out.line(&format!("Wrong: {problem}"))?;
    }
    Ok(())
}

/// Takes over another workshop's entries.
pub fn merge(session: &mut Session, other: &Path) -> anyhow::Result<()> {
    there(other)?;
    let mut workshop = session.workshop_or_new()?;
    let outcome = workshop.store.merge(other)?;
    workshop.refresh()?;
    brought(session, &outcome)
}

/// Says what a merge brought.
pub fn brought(session: &mut Session, outcome: &Outcome) -> anyhow::Result<()> {
    if session.out.json {
        return session.out.answer(&serde_json::json!({
            "added": outcome.added,
            "known": outcome.known,
            "erased": outcome.erased,
            "files_added": outcome.files_added,
        }));
    }
    Ok(session.out.line(&crate::text::outcome(outcome))?)
}
