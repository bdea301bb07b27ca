//! `refit releases`: which firmware there is, and what the workshop adds to its families.

use anyhow::{Context as _, bail};
use register::family::release::{family_of_setting, setting_of};
use wire::answers::history::releases_words;
use wire::answers::refit::releases::{Release, Releases};

use super::args;
use crate::cli::Session;
use crate::cli::families::read_text;
use crate::cli::link::minutes;
use crate::cli::out::Out;
use crate::cli::settings;
use crate::cli::table::Table;

/// Shows releases, or sets the workshop's own.
pub fn releases(session: &mut Session, args: &args::Releases) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let register = workshop.register().clone();
    let mut all: Vec<Releases> = register
        .families()
        .filter_map(|(name, used)| {
            let own = register.setting(&setting_of(name)).is_some();
            used.family.as_deref().map(|family| Releases::new(family, own))
        })
        .collect();
    if let Some(wanted) = &args.family {
        let known: Vec<String> = all.iter().map(|one| one.family.clone()).collect();
        // By the same rule by which a setting belongs to a family.
        let key = setting_of(wanted);
        all.retain(|one| setting_of(&one.family) == key);
        if all.is_empty() {
            let known = if known.is_empty() { "none yet".to_owned() } else { known.join(", ") };
            bail!("the workshop has no readable link family of that name; it has {known}");
        }
        let name = all.first().map(|one| one.family.clone()).unwrap_or_default();
        if let Some(file) = &args.file {
            let text = read_text(file)?;
            settings::check_releases(session, &key, &text)
                .with_context(|| format!("{} was not taken", file.display()))?;
            settings::change(session, &key, Some(&text))?;
            let done = format!("{name} has {} of this workshop's own now.", releases_words(&text));
            return settings::said(session, &key, &done);
        }
        if args.clear {
            if family_of_setting(&key).is_none() || register.setting(&key).is_none() {
                bail!("nothing was added to the releases of {name}");
            }
            settings::change(session, &key, None)?;
            return settings::said(session, &key, &format!("{name} has its own file's releases again."));
        }
    }
    if session.out.json {
        return session.out.answer(&all);
    }
    if all.is_empty() {
        return Ok(session
            .out
            .line("No link family yet; `families starters` shows what to begin one from.")?);
    }
    for (at, family) in all.iter().enumerate() {
        if at > 0 {
            session.out.gap()?;
        }
        print(&mut session.out, family)?;
    }
    Ok(())
}

fn print(out: &mut Out, family: &Releases) -> std::io::Result<()> {
    let own = if family.added { ", with what this workshop adds" } else { "" };
    out.line(&format!("{}{own}", family.family))?;
    if family.releases.is_empty() {
        out.line("No releases are written down; `refit releases FAMILY --file FILE` adds them.")?;
    } else {
        let mut table = Table::new(&["version", "side", "from", "by", "wipes", "what else"]);
        for one in &family.releases {
            table.row(&[
                one.version.as_str(),
                one.side.unwrap_or("both"),
                one.from.as_deref().unwrap_or("any"),
                &one.routes.join(", "),
                &one.wipes.join(", "),
                &what_else(one),
            ]);
        }
        table.write(out)?;
    }
    for reach in &family.reaches {
        let takes = reach.minutes.map(|takes| format!(", {} to open and close", minutes(takes)));
        out.hanging(2, "-", &format!("{}: {}{}", reach.name, reach.sort, takes.unwrap_or_default()))?;
    }
    Ok(())
}

fn what_else(one: &Release) -> String {
    let mut words = Vec::new();
    if !one.hardware.is_empty() {
        words.push(format!("only for {}", one.hardware.join(", ")));
    }
    words.extend(one.changes.iter().cloned());
    if !one.no_way_back.is_empty() {
        words.push(format!("no way back: {}", one.no_way_back));
    }
    words.join("; ")
}
