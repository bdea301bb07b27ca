//! `export`: the workshop as a logbook, a workshop file or a spreadsheet.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use register::scene::Scene;

use super::Session;
use super::args::{self, Form};
use crate::workshop::Workshop;

/// Exports the workshop.
pub fn export(session: &mut Session, args: &args::Export) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let form = args.form.unwrap_or_else(|| form_of(&args.to));
    if args.to == Path::new("-") {
        return match form {
            Form::Jsonl => Ok(workshop.store.export(session.out.raw())?),
            Form::Toml => Ok(session.out.bytes(toml(&workshop, &[]).as_bytes())?),
            Form::Csv => Ok(session.out.bytes(csv(&workshop).as_bytes())?),
        };
    }
    let mut beside = Vec::new();
    let mut file = New::create(&args.to)?;
    match form {
        Form::Jsonl => {
            let mut to = BufWriter::new(&mut file.file);
            workshop.store.export(&mut to)?;
        }
        Form::Toml => {
            beside = families_beside(&workshop, &args.to)?;
            let names: Vec<String> = beside.iter().map(|(name, _)| name.clone()).collect();
            file.write(toml(&workshop, &names).as_bytes())?;
        }
        Form::Csv => file.write(csv(&workshop).as_bytes())?,
    }
    file.keep()?;
    let names: Vec<String> = beside.into_iter().map(|(_, path)| path.display().to_string()).collect();
    let to = args.to.display().to_string();
    if session.out.json {
        return session.out.answer(&serde_json::json!({ "exported": to, "family_files": names }));
    }
    session.out.line(&format!("Exported to {to}."))?;
    if !names.is_empty() {
        session.out.line(&format!("With its family files: {}.", names.join(", ")))?;
    }
    Ok(())
}

fn form_of(to: &Path) -> Form {
    let ending = to.extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
    match ending.as_deref() {
        Some("toml") => Form::Toml,
        Some("csv") => Form::Csv,
        _ => Form::Jsonl,
    }
}

fn toml(workshop: &Workshop, family_files: &[String]) -> String {
    let register = workshop.register().clone();
    intake::toml::write_with(&Scene::new(&register), family_files)
}

fn csv(workshop: &Workshop) -> String {
    let register = workshop.register().clone();
    intake::csv::write(&Scene::new(&register))
}

/// Writes the family files beside a workshop file; one that is there already must say
/// the same.
fn families_beside(workshop: &Workshop, to: &Path) -> anyhow::Result<Vec<(String, PathBuf)>> {
    let folder = to.parent().unwrap_or(Path::new(""));
    let mut written: Vec<(String, PathBuf)> = Vec::new();
    for (name, used) in workshop.register().families() {
        let Some(bytes) = workshop.store.file(used.file)? else { continue };
        let file_name = file_name(name, &written);
        let path = folder.join(&file_name);
        match fs::read(&path) {
            Ok(there) if there == bytes => {}
            Ok(_) => bail!("{} exists and says something else; export into another folder", path.display()),
            Err(_) => {
                let mut file = New::create(&path)?;
                file.write(&bytes)?;
                file.keep()?;
            }
        }
        written.push((file_name, path));
    }
    Ok(written)
}

/// A file name that every system takes, from whatever a family is called.
fn file_name(name: &str, taken: &[(String, PathBuf)]) -> String {
    let plain: String = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' })
        .take(60)
        .collect();
    let plain = plain.trim_matches('-');
    let plain = if plain.is_empty() { "family" } else { plain };
    let mut file = format!("family-{plain}.toml");
    let mut nth = 1;
    while taken.iter().any(|(have, _)| *have == file) {
        nth += 1;
        file = format!("family-{plain}-{nth}.toml");
    }
    file
}

/// A new file, which goes away again when it can't be finished.
pub struct New {
    path: PathBuf,
    file: File,
    kept: bool,
}

impl New {
    /// Makes it; one that is there already is left as it is.
    pub fn create(path: &Path) -> anyhow::Result<New> {
        let file = OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| {
            if error.kind() == io::ErrorKind::AlreadyExists {
                anyhow::anyhow!("{} exists and was left as it is; name another file", path.display())
            } else {
                anyhow::anyhow!(
                    "{} can't be written ({error}); check the folder and its rights",
                    path.display()
                )
            }
        })?;
        Ok(New { path: path.to_owned(), file, kept: false })
    }

    /// Writes these bytes.
    pub fn write(&mut self, bytes: &[u8]) -> anyhow::Result<()> {
        self.file.write_all(bytes).with_context(|| format!("{} can't be written", self.path.display()))
    }

    /// It is whole, and stays.
    pub fn keep(mut self) -> anyhow::Result<()> {
        self.file.sync_all().with_context(|| format!("{} can't be written", self.path.display()))?;
        self.kept = true;
        Ok(())
    }
}

impl Drop for New {
    fn drop(&mut self) {
        if !self.kept {
            // It was made just before and holds nothing whole.
            let _ = fs::remove_file(&self.path);
        }
    }
}
