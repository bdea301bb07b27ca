//! A part of a fit as text.

mod antennas;
mod failsafe;
mod outputs;
mod supply;

use std::io;

use wire::answers::fit::{Answer, Finding, Shown};

use crate::cli::out::Out;

/// A part with everything that was found.
pub fn part(out: &mut Out, shown: &Shown) -> io::Result<()> {
    let seen = shown.seen.as_deref().and_then(|text| text.get(..10));
    let name = match (&shown.aircraft.code, &shown.aircraft.name) {
        (Some(code), Some(name)) => format!("{code} {name}"),
        _ => shown.aircraft.label.clone(),
    };
    let since = seen.map(|seen| format!(", written down {seen}")).unwrap_or_default();
    let mut title = shown.part.to_owned();
    if let Some(first) = title.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    out.line(&format!("{title} of {name}{since}"))?;
    out.line(&shown.sentence)?;
    if shown.text.is_none() {
        let part = shown.part;
        out.gap()?;
        out.line(&format!("`{part} {} --file FILE` writes them down from a text.", shown.aircraft.label))?;
        return out.line(&format!("`{part} --keys` lists what may stand in it."));
    }
    let problems = shown.problems.iter().map(|problem| {
        let line = problem.line.map(|line| format!("line {line}: ")).unwrap_or_default();
        format!("{line}`{}` {}", problem.key, problem.says)
    });
    under(out, "Can't be read:", &problems.collect::<Vec<_>>())?;
    findings(out, &shown.findings)?;
    match &shown.answer {
        Some(Answer::Outputs(answer)) => outputs::drawing(out, answer)?,
        Some(Answer::Supply(answer)) => supply::drawing(out, answer)?,
        Some(Answer::Failsafe(answer)) => failsafe::drawing(out, answer)?,
        Some(Answer::Antennas(answer)) => antennas::drawing(out, answer)?,
        None => {}
    }
    under(out, "Taken to be so, since it isn't written down:", &shown.assumptions)?;
    under(out, "Not checked:", &shown.not_checked)
}

/// Lines under a heading; nothing without any.
pub fn under(out: &mut Out, heading: &str, lines: &[String]) -> io::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line(heading)?;
    lines.iter().try_for_each(|line| out.hanging(2, "-", line))
}

/// The widest of the words for a finding's weight.
const WEIGHT: usize = 7;

/// What was found, each with what follows and what to do.
pub fn findings(out: &mut Out, all: &[Finding]) -> io::Result<()> {
    if all.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line("Found:")?;
    for one in all {
        let is_named = one.text.to_lowercase().contains(&one.about.to_lowercase());
        let about = if is_named { String::new() } else { format!("{}: ", one.about) };
        out.hanging(2, &format!("{:<WEIGHT$}", one.weight), &format!("{about}{}", one.text))?;
        out.indented(WEIGHT + 3, &one.consequence)?;
        out.hanging(WEIGHT + 3, "Do:", &one.mend)?;
    }
    Ok(())
}

/// A bar as long as a share of `most`; nothing below the least.
pub fn bar(value: f64, least: f64, most: f64, columns: u32) -> String {
    let share = ((value - least) / (most - least)).clamp(0.0, 1.0);
    if share.is_nan() {
        return String::new();
    }
    (1..=columns).take_while(|at| f64::from(*at) <= share * f64::from(columns) + 0.5).map(|_| '=').collect()
}

/// A number that stands under others, to so many places.
pub fn figure(width: usize, places: usize, number: f64, unit: &str) -> String {
    format!("{number:>width$.places$} {unit}")
}
