//! What an import would change, shown before anything is written.

use std::io;
use std::path::Path;

use intake::inventory::BadRow;
use intake::plan::{FieldChange, Plan, Proposal};
use register::field::Part;
use serde::Serialize;

use super::Stated;
use super::source::FamilyFile;
use crate::cli::out::Out;

/// How many devices and bad rows are listed to a person.
const LISTED: usize = 40;

/// What an import would change.
#[derive(Serialize)]
pub struct Report {
    file: String,
    /// Whether it was done.
    imported: bool,
    dry_run: bool,
    added: usize,
    changed: usize,
    unchanged: u64,
    /// How many rows can't be taken.
    pub bad: usize,
    differences: Vec<Difference>,
    settings: Vec<Setting>,
    families: Vec<String>,
    bad_rows: Vec<Bad>,
    notes: Vec<String>,
    #[serde(skip)]
    overwrites: bool,
}

#[derive(Serialize)]
struct Difference {
    device: String,
    sort: &'static str,
    new: bool,
    rows: Vec<u64>,
    changes: Vec<Change>,
}

#[derive(Serialize)]
struct Change {
    part: String,
    fact: &'static str,
    before: Option<String>,
    after: String,
    only_noted: bool,
}

#[derive(Serialize)]
struct Setting {
    key: String,
    before: Option<String>,
    after: String,
}

#[derive(Serialize)]
struct Bad {
    row: u64,
    line: u64,
    column: String,
    text: String,
    #[serde(skip)]
    whole: String,
}

impl Report {
    /// The differences of a file.
    pub fn new(
        file: &Path,
        stated: &Stated,
        plan: &Plan,
        bad: &[&BadRow],
        families: &[&FamilyFile],
    ) -> Report {
        let with_drafts = || plan.proposals.iter().filter(|proposal| !proposal.drafts.is_empty());
        let added = with_drafts().filter(|proposal| proposal.is_new).count();
        let mut notes = stated.notes.clone();
        if !plan.unknown_families.is_empty() {
            let names: Vec<&str> = plan.unknown_families.iter().map(String::as_str).collect();
            notes.push(format!(
                "No family file is here for {}: their values are taken as written, and their links stay unknown until \
                 the file is added.",
                names.join(", ")
            ));
        }
        let overwrites = with_drafts().filter(|proposal| !proposal.is_new).any(|proposal| {
            proposal.changes.iter().any(|change| change.before.is_some() && !change.only_noted)
        }) || plan.settings.iter().any(|setting| setting.before.is_some());
        Report {
            file: file.display().to_string(),
            imported: false,
            dry_run: false,
            added,
            changed: with_drafts().count() - added,
            unchanged: plan.unchanged,
            bad: bad.len(),
            differences: with_drafts().map(Difference::new).collect(),
            settings: plan
                .settings
                .iter()
                .map(|setting| Setting {
                    key: setting.key.clone(),
                    before: setting.before.clone(),
                    after: setting.after.clone(),
                })
                .collect(),
            families: families.iter().map(|file| file.family.name.clone()).collect(),
            bad_rows: bad
                .iter()
                .map(|bad| Bad {
                    row: bad.row,
                    line: bad.line,
                    column: bad.column.clone(),
                    text: bad.says.clone(),
                    whole: bad.to_string(),
                })
                .collect(),
            notes,
            overwrites,
        }
    }

    /// Whether there is nothing to write.
    pub fn is_empty(&self) -> bool {
        self.differences.is_empty() && self.settings.is_empty() && self.families.is_empty()
    }

    /// Whether facts would change that are written down already.
    pub fn changes_what_is_there(&self) -> bool {
        self.overwrites
    }

    /// The answer in JSON.
    pub fn answer(mut self, imported: bool, dry_run: bool) -> Report {
        self.imported = imported;
        self.dry_run = dry_run;
        self
    }

    /// What was done, in a sentence.
    pub fn done(&self) -> String {
        let settings = match self.settings.len() {
            0 => String::new(),
            count => format!(", {} changed", counted(count, "setting")),
        };
        format!("Imported: {} added, {} changed{settings}.", counted(self.added, "device"), self.changed)
    }

    /// Shows the differences to a person.
    pub fn show(&self, out: &mut Out) -> io::Result<()> {
        for note in &self.notes {
            out.line(note)?;
        }
        out.line(&format!(
            "{} new, {} changed, {} here just so; {} can't be taken.",
            counted(self.added, "device"),
            self.changed,
            self.unchanged,
            counted(self.bad, "row")
        ))?;
        for family in &self.families {
            out.indented(2, &format!("family {family}: its file comes along"))?;
        }
        for setting in &self.settings {
            let before =
                setting.before.as_deref().map(|before| format!(" (now {before})")).unwrap_or_default();
            out.indented(2, &format!("setting {}: {}{before}", setting.key, setting.after))?;
        }
        for difference in self.differences.iter().take(LISTED) {
            difference.show(out)?;
        }
        if self.differences.len() > LISTED {
            out.indented(2, &format!("and {} more devices", self.differences.len() - LISTED))?;
        }
        if !self.bad_rows.is_empty() {
            out.line("These can't be taken:")?;
        }
        for bad in self.bad_rows.iter().take(LISTED) {
            out.indented(2, &bad.whole)?;
        }
        if self.bad_rows.len() > LISTED {
            out.indented(2, &format!("and {} more; --json lists all", self.bad_rows.len() - LISTED))?;
        }
        Ok(())
    }
}

/// `1 device`, `2 devices`.
fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

impl Difference {
    fn new(proposal: &Proposal) -> Difference {
        Difference {
            device: proposal.label.clone(),
            sort: proposal.sort.word(),
            new: proposal.is_new,
            rows: proposal.rows.clone(),
            changes: proposal.changes.iter().map(Change::new).collect(),
        }
    }

    fn show(&self, out: &mut Out) -> io::Result<()> {
        let words: Vec<String> = self.changes.iter().map(Change::words).collect();
        let new = if self.new { "new " } else { "" };
        out.indented(2, &format!("{new}{} {}: {}", self.sort, self.device, words.join(", ")))
    }
}

impl Change {
    fn new(change: &FieldChange) -> Change {
        Change {
            part: change.part.word(),
            fact: change.field.key(),
            before: change.before.clone(),
            after: change.after.clone(),
            only_noted: change.only_noted,
        }
    }

    fn words(&self) -> String {
        let part = match Part::from_word(&self.part) {
            Some(Part::End(key)) if key != Part::MAIN => format!("end {key} "),
            Some(Part::Memory(key)) => format!("memory {key} "),
            _ => String::new(),
        };
        let before = self.before.as_deref().map(|before| format!(" (now {before})")).unwrap_or_default();
        let noted = if self.only_noted { " (only noted; what is known better keeps holding)" } else { "" };
        format!("{part}{} {}{before}{noted}", self.fact, self.after)
    }
}
