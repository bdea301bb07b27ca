//! `law`: what the limits of a region say.

use std::io;

use anyhow::bail;
use link::law::{Limits, NOTICE, Row};
use link::sheet::{Way, law_of};
use units::Dbm;
use wire::answers::law::{Asked, Judged, JudgedRow, Law, Limit};
use wire::answers::sheet::Chosen;

use super::Session;
use super::args;
use super::asked;
use super::out::Out;

/// Judges the asked setting, or lists the limits.
pub fn law(session: &mut Session, args: &args::Law) -> anyhow::Result<()> {
    let limits = Limits::shipped();
    if args.list {
        return list(session, &limits, &args.asked.words);
    }
    let question = asked::question(session, &args.asked, &limits)?;
    let (setup, setting) = (&question.asked.setup, &question.asked.setting);
    if setup.region.is_none() {
        bail!("no region is given; add region=, one of {}", limits.regions().join(", "));
    }
    let control = law_of(setup, setting, Way::Control, &limits)?;
    let telemetry = law_of(setup, setting, Way::Telemetry, &limits)?;
    let about = asked::about(&question);
    let setting = Chosen::new(setting);
    let answer = Law::new(
        about,
        setting,
        [control.as_ref(), telemetry.as_ref()],
        &question.asked,
        &question.suggested,
    );
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    asked::head(out, &answer.about, &answer.setting)?;
    asked::suggested(out, &answer.suggested)?;
    asked::warnings(out, &answer.warnings)?;
    let ways = [("Control", &answer.control), ("Telemetry", &answer.telemetry)];
    for (way, judged) in ways {
        out.gap()?;
        match judged {
            Some(judged) => show(out, way, judged)?,
            None => out.line(&format!("{way}: not judged; it doesn't send, or its power is not known."))?,
        }
    }
    out.gap()?;
    Ok(out.line(answer.notice)?)
}

fn show(out: &mut Out, way: &str, judged: &Judged) -> io::Result<()> {
    out.line(&format!("{way} in {}: {}", judged.region, judged.standing))?;
    let Some((first, others)) = judged.rows.split_first() else {
        return out.indented(2, &judged.sentence);
    };
    row(out, first)?;
    for demand in &first.demands {
        out.hanging(4, &format!("{}:", demand.what), &demand_words(demand, first))?;
    }
    if !others.is_empty() {
        out.indented(2, "Other rows that can apply:")?;
    }
    for other in others {
        let why = if other.why.is_empty() { String::new() } else { format!(": {}", other.why.join("; ")) };
        out.hanging(
            4,
            "-",
            &format!("{}, {}{why} ({}; {})", name(other), other.standing, other.source, other.known),
        )?;
    }
    // How the row is known stands above, the notice at the end.
    for note in judged.notes.iter().filter(|note| *note != NOTICE && !note.contains(first.known)) {
        out.hanging(2, "Note:", note)?;
    }
    Ok(())
}

fn name(row: &JudgedRow) -> String {
    match &row.through {
        Some(through) => format!("{} as {through}", row.row),
        None => row.row.clone(),
    }
}

fn row(out: &mut Out, row: &JudgedRow) -> io::Result<()> {
    out.hanging(2, "Decides:", &format!("{} ({}, {})", name(row), row.band, row.class))?;
    out.hanging(2, "Clause: ", &row.source)?;
    out.hanging(2, "Known:  ", row.known)
}

fn demand_words(demand: &Asked, row: &JudgedRow) -> String {
    let clause = if demand.clause == row.source { String::new() } else { format!(" ({})", demand.clause) };
    // The words of a remembered limit, and of an access that isn't had, say it already.
    let limit = if demand.words.contains(&demand.limit) {
        String::new()
    } else {
        format!("; limit: {}", demand.limit)
    };
    let got =
        if demand.words.contains(&demand.got) { String::new() } else { format!("; it has: {}", demand.got) };
    format!("{}{limit}{got}{clause}", demand.words)
}

fn list(session: &mut Session, limits: &Limits, words: &[String]) -> anyhow::Result<()> {
    let region = match words {
        [] => None,
        [word] => Some(word.strip_prefix("region=").unwrap_or(word)),
        [_, word, ..] => {
            bail!("--list takes one region and nothing else; `{}` is too much", super::out::clip(word, 60))
        }
    };
    let rows: Vec<&Row> = match region {
        None => limits.rows().iter().map(AsRef::as_ref).collect(),
        Some(region) => limits.rows_in(region)?.into_iter().map(AsRef::as_ref).collect(),
    };
    let answers: Vec<Limit> = rows.iter().map(|row| Limit::new(row)).collect();
    if session.out.json {
        return session.out.answer(&answers);
    }
    let out = &mut session.out;
    let widest = answers.iter().map(|limit| limit.row.len()).max().unwrap_or_default();
    for limit in &answers {
        let power = match limit.power_dbm {
            Some(power) => format!("{} {}", Dbm(power), limit.basis),
            None => "power: see rule".to_owned(),
        };
        let told = format!("{power}; {}: {}", limit.band, limit.class);
        out.hanging(0, &format!("{:<widest$}", limit.row), &told)?;
        out.hanging(2, "-", &format!("{} ({}: {})", limit.source, limit.obtained, limit.known))?;
    }
    out.gap()?;
    out.line(&format!("{} rows; --json has each with its other limits.", answers.len()))?;
    out.line(
        "How a row is known: text, read in the rule; text-secondhand, read in a quotation, table or summary; mixed, \
         some of its figures read and some from memory or second hand; memory, not found in any text, so that it never \
         counts as within.",
    )?;
    Ok(out.line(NOTICE)?)
}
