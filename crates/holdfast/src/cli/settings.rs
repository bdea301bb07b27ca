//! `minutes` and `settings`.

use anyhow::{Context as _, bail};
use fitting::commission::lapse::DAY_SETTING;
use register::family::release::{family_of_setting, setting_of};
use register::minutes::MinutesTable;
use serde::Serialize;
use trails::learn::STRENGTH_SETTING;
use units::Minutes;
use wire::answers::history::releases_words as counted;

use super::Session;
use super::args::{MinutesWhat, SettingsWhat};
use super::link::minutes as words;
use super::table::Table;
use crate::faults;
use crate::fittings::{ADDRESS, offset_hours, printed_address};
use crate::values;

/// The minutes of one check or mend.
#[derive(Serialize)]
struct Row {
    key: String,
    minutes: f64,
    shipped: Option<f64>,
    own: bool,
}

/// More than this is no work at the bench.
const MOST_MINUTES: f64 = 10_080.0;

/// Lists or changes minutes.
pub fn minutes(session: &mut Session, what: Option<MinutesWhat>) -> anyhow::Result<()> {
    match what.unwrap_or(MinutesWhat::List) {
        MinutesWhat::List => {
            let workshop = session.workshop()?;
            let table = workshop.register().minutes().clone();
            let shipped = MinutesTable::shipped();
            let rows: Vec<Row> = table
                .keys()
                .into_iter()
                .map(|key| Row {
                    key: key.to_owned(),
                    minutes: table.lookup(key, None).0,
                    shipped: shipped.keys().contains(&key).then(|| shipped.lookup(key, None).0),
                    own: table.workshop(key).is_some(),
                })
                .collect();
            if session.out.json {
                return session.out.answer(&rows);
            }
            let mut shown = Table::new(&["check or mend", "takes", "as shipped"]);
            for row in &rows {
                let shipped = row.shipped.filter(|_| row.own).map(words).unwrap_or_default();
                shown.row(&[row.key.as_str(), &words(row.minutes), &shipped]);
            }
            shown.write(&mut session.out)?;
            session.out.gap()?;
            session.out.line(
                "A family's file may say otherwise for its devices; the workshop's own figures, set with `minutes \
                 set`, prevail over all.",
            )?;
            Ok(())
        }
        MinutesWhat::Set { key, minutes } => {
            check_key(&key)?;
            check_minutes(minutes)?;
            change(session, &format!("minutes.{key}"), Some(&minutes.to_string()))?;
            said(session, &key, &format!("{key} takes {} in this workshop.", Minutes(minutes)))
        }
        MinutesWhat::Clear { key } => {
            check_key(&key)?;
            change(session, &format!("minutes.{key}"), None)?;
            said(session, &key, &format!("{key} takes what its family or the shipped figure says."))
        }
    }
}

fn check_key(key: &str) -> anyhow::Result<()> {
    let shipped = MinutesTable::shipped();
    if shipped.keys().contains(&key) {
        return Ok(());
    }
    bail!("there is no check, mend or step of a refit of that name; there are {}", shipped.keys().join(", "))
}

fn check_minutes(minutes: f64) -> anyhow::Result<()> {
    if minutes.is_finite() && (0.0..=MOST_MINUTES).contains(&minutes) {
        return Ok(());
    }
    bail!("the minutes must lie between 0 and {MOST_MINUTES}")
}

/// Changes a setting.
pub fn change(session: &mut Session, key: &str, value: Option<&str>) -> anyhow::Result<()> {
    Ok(session.workshop_or_new()?.set(key, value)?)
}

/// Says that it was changed.
pub fn said(session: &mut Session, key: &str, done: &str) -> anyhow::Result<()> {
    if session.out.json {
        return session.out.answer(&serde_json::json!({ "changed": key }));
    }
    Ok(session.out.line(done)?)
}

/// The settings there are, beside the minutes, and what they are for.
const KNOWN: &[(&str, &str)] = &[
    ("name", "what the workshop is called"),
    ("stale.settable_days", "days after which a fact that can be set is worth another look (180)"),
    ("stale.wearing_days", "days after which a fact that wears is worth another look (365)"),
    (DAY_SETTING, "hours that the workshop's clock is before UTC: when a new flying day begins (0)"),
    (ADDRESS, "where the workshop's pages are, http:// or https://; cards and labels carry it"),
    (STRENGTH_SETTING, "how many cases the weights of causes that come with the program count for (20)"),
];

/// Lists or changes settings.
pub fn settings(session: &mut Session, what: Option<SettingsWhat>) -> anyhow::Result<()> {
    match what.unwrap_or(SettingsWhat::List) {
        SettingsWhat::List => {
            let workshop = session.workshop()?;
            let register = workshop.register().clone();
            if session.out.json {
                let settings: std::collections::BTreeMap<&str, &str> = register.settings().collect();
                return session.out.answer(&settings);
            }
            let mut table = Table::new(&["setting", "value", "what it is for"]);
            for (key, about) in KNOWN {
                table.row(&[*key, register.setting(key).unwrap_or("-"), *about]);
            }
            for (key, value) in register.settings() {
                if let Some(family) = family_of_setting(key) {
                    table.row(&[key, &counted(value), &format!("releases added to {family}")]);
                } else if key.starts_with("minutes.") {
                    table.row(&[key, value, "see `minutes`"]);
                } else if !KNOWN.iter().any(|(known, _)| *known == key) {
                    table.row(&[key, value, "of another version"]);
                }
            }
            Ok(table.write(&mut session.out)?)
        }
        SettingsWhat::Set { key, value } if family_of_setting(&key).is_some() => {
            let key = releases_key(&key);
            check_releases(session, &key, &value)?;
            change(session, &key, Some(&value))?;
            said(session, &key, &format!("{key} holds {} now.", counted(&value)))
        }
        SettingsWhat::Set { key, value } => {
            let value = values::text(&value).map_err(|why| anyhow::anyhow!("the value {why}"))?;
            check_setting(&key, Some(&value))?;
            let value = match key.as_str() {
                STRENGTH_SETTING => read_by(&key, faults::strength(&value))?.to_string(),
                DAY_SETTING => read_by(&key, offset_hours(&value))?.to_string(),
                ADDRESS => read_by(&key, printed_address(&value))?,
                _ => value,
            };
            change(session, &key, Some(&value))?;
            said(session, &key, &format!("{key} is {value} now."))
        }
        SettingsWhat::Clear { key } => {
            let key = releases_key(&key);
            if family_of_setting(&key).is_none() {
                check_setting(&key, None)?;
            } else if session.workshop()?.register().setting(&key).is_none() {
                bail!("no releases are added to a family of that name; `settings` lists what is set");
            }
            change(session, &key, None)?;
            said(session, &key, &format!("{key} is back to its default."))
        }
    }
}

/// The key of a setting that holds releases as the workshop writes it; another as it is.
pub fn releases_key(key: &str) -> String {
    family_of_setting(key).map_or_else(|| key.to_owned(), |family| setting_of(&family))
}

/// Whether a text of releases fits the family of a setting.
pub fn check_releases(session: &mut Session, key: &str, text: &str) -> anyhow::Result<()> {
    let family = family_of_setting(key).unwrap_or_default();
    let Err(problems) = session.workshop()?.read_releases(&family, text) else { return Ok(()) };
    let more = problems.len().saturating_sub(MOST_TOLD);
    let mut told: Vec<String> = problems.into_iter().take(MOST_TOLD).collect();
    if more > 0 {
        told.push(format!("and {more} more; mend these first"));
    }
    bail!("{}", told.join("\n"))
}

/// How many problems of a text of releases are told.
const MOST_TOLD: usize = 20;

/// A value by its reader, which says what it must be.
fn read_by<T>(key: &str, read: Result<T, String>) -> anyhow::Result<T> {
    read.map_err(|why| anyhow::anyhow!("{key} {why}"))
}

fn check_setting(key: &str, value: Option<&str>) -> anyhow::Result<()> {
    if let Some(which) = key.strip_prefix("minutes.") {
        check_key(which)?;
        if let Some(value) = value {
            check_minutes(value.parse().ok().context("the minutes must be a number")?)?;
        }
        return Ok(());
    }
    if !KNOWN.iter().any(|(known, _)| *known == key) {
        let names: Vec<&str> = KNOWN.iter().map(|(name, _)| *name).collect();
        bail!(
            "there is no setting of that name; there are {}, minutes.KEY and releases.FAMILY",
            names.join(", ")
        );
    }
    if let Some(value) = value.filter(|_| key == STRENGTH_SETTING) {
        read_by(key, faults::strength(value))?;
    }
    let is_days = key.starts_with("stale.");
    if let Some(value) = value
        && is_days
        && !value.parse::<i64>().is_ok_and(|days| (1..=100_000).contains(&days))
    {
        bail!("the days must be a whole number from 1 to 100000");
    }
    Ok(())
}
