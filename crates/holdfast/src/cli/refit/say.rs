//! Plans, evenings and steps as text.

use std::fmt::Write as _;
use std::io;

use wire::answers::refit::plan::{Craft, Evening, Plan, Reason, Step};
use wire::answers::refit::{Brief, Clash, Done, Standing};

use crate::cli::link::minutes;
use crate::cli::out::{Out, clip, columns};
use crate::cli::table::Table;

/// The refits, as a table.
pub fn list(out: &mut Out, all: &[Brief]) -> io::Result<()> {
    if all.is_empty() {
        return out.line("There are no refits. `refit plan WISH…` plans one, and with --begin begins it.");
    }
    let mut table = Table::new(&["refit", "begun", "ended", "name", "where it stands"]);
    for one in all {
        table.row(&[
            one.short.as_str(),
            date(one.begun.as_deref()),
            one.ended.unwrap_or("-"),
            &one.name,
            &one.sentence,
        ]);
    }
    table.write(out)
}

/// The day of a moment.
fn date(moment: Option<&str>) -> &str {
    moment.and_then(|text| text.get(..10)).unwrap_or("-")
}

/// Lines under a heading; nothing without any.
fn under(out: &mut Out, heading: &str, lines: &[String]) -> io::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line(heading)?;
    lines.iter().try_for_each(|line| out.hanging(2, "-", line))
}

fn numbered(out: &mut Out, heading: &str, lines: &[String]) -> io::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line(heading)?;
    lines.iter().enumerate().try_for_each(|(at, line)| out.hanging(2, &format!("{}.", at + 1), line))
}

/// Wishes that can't be met together.
pub fn clash(out: &mut Out, clash: &Clash) -> io::Result<()> {
    out.line("There is no plan: these wishes can't be met together.")?;
    clash.words.iter().try_for_each(|words| out.hanging(2, "-", words))?;
    if clash.words.len() > 1 {
        out.line(if clash.smallest {
            "Proven: no smaller set of the wishes clashes."
        } else {
            "Not proven: a smaller set of the wishes may clash, too."
        })?;
    }
    out.gap()?;
    out.line(&clash.why)?;
    let ideas = clash.ideas.iter().map(|idea| match &idea.wish {
        Some(wish) => format!("{}: {wish}", idea.text),
        None => idea.text.clone(),
    });
    under(out, "You could:", &ideas.collect::<Vec<_>>())
}

/// A whole plan.
pub fn plan(out: &mut Out, plan: &Plan) -> io::Result<()> {
    out.line(&plan.sentence)?;
    if let Some(proof) = plan.proof.as_ref().filter(|_| !plan.evenings.is_empty()) {
        out.line(&proof.sentence)?;
    }
    numbered(out, "Wished:", &plan.wishes)?;
    reasons(out, &plan.reasons)?;
    around(out, plan)?;
    no_way_back(out, plan)?;
    grid(out, plan)?;
    plan.evenings.iter().filter(|evening| !evening.steps.is_empty()).try_for_each(|evening| {
        heading(out, evening)?;
        evening.steps.iter().try_for_each(|one| step(out, one, ""))
    })
}

fn reasons(out: &mut Out, all: &[Reason]) -> io::Result<()> {
    let lines = |wished: bool| -> Vec<String> {
        let those = all.iter().filter(|reason| reason.wished == wished);
        those
            .map(|reason| {
                let why = if wished { String::new() } else { format!(" {}", reason.why) };
                format!("{} {}.{why}", reason.device, reason.what)
            })
            .collect()
    };
    under(out, "What the wishes name:", &lines(true))?;
    under(out, "What that forces:", &lines(false))
}

/// What stands around a plan: looks, what is left out, costs, notes.
fn around(out: &mut Out, plan: &Plan) -> io::Result<()> {
    let looks: Vec<String> = plan
        .looks
        .iter()
        .map(|look| {
            format!("{} ({}). Meanwhile: {}", no_stop(&look.text), minutes(look.minutes), look.supposes)
        })
        .collect();
    under(out, "Look first:", &looks)?;
    let left_out: Vec<String> =
        plan.left_out.iter().map(|one| format!("{} {}", one.device, one.why)).collect();
    under(out, "Left out:", &left_out)?;
    let replaced: Vec<String> = plan
        .replaced
        .iter()
        .map(|one| format!("{} by {}", one.receiver, one.by.as_deref().unwrap_or("a new one")))
        .collect();
    let cost = if plan.cost == 0 { String::new() } else { format!(", for {} in all", plan.cost) };
    under(out, &format!("Replaced{cost}:"), &replaced)?;
    under(out, "To be known:", &plan.notes)
}

fn no_stop(text: &str) -> &str {
    text.trim_end_matches('.')
}

/// Said before the first step.
fn no_way_back(out: &mut Out, plan: &Plan) -> io::Result<()> {
    under(out, "There is no way back from some of this:", &plan.no_way_back)
}

/// How a cell of the grid says that an aircraft can fly, and that it can't.
fn cell(flies: bool) -> &'static str {
    if flies { "yes" } else { "NO" }
}

/// Between two columns of the grid.
const CELL: usize = 5;
/// The longest name in it.
const NAME: usize = 24;

/// Which aircraft can fly before the first and after each evening.
fn grid(out: &mut Out, plan: &Plan) -> io::Result<()> {
    let worked: Vec<usize> =
        (0..plan.evenings.len()).filter(|at| !plan.evenings[*at].steps.is_empty()).collect();
    if plan.crafts.is_empty() || worked.is_empty() {
        return Ok(());
    }
    let full = |craft: &Craft| {
        if craft.label == craft.name {
            craft.label.clone()
        } else {
            format!("{} {}", craft.label, craft.name)
        }
    };
    let names: Vec<String> =
        plan.crafts.iter().map(|craft| clip(&crate::cli::out::clean(&full(craft)), NAME)).collect();
    let wide = names.iter().map(|name| columns(name)).max().unwrap_or(0).max(columns("aircraft"));
    let room = (out.width().saturating_sub(wide) / CELL).saturating_sub(1).max(1);
    out.gap()?;
    out.line("Which aircraft can fly, before and after each evening:")?;
    for block in worked.chunks(room) {
        let mut head = format!("{:<wide$}  {:<CELL$}", "aircraft", "now");
        for at in block {
            // Writing to a string can't fail.
            let _ = write!(head, "{:<CELL$}", plan.evenings[*at].number);
        }
        out.ready(&head)?;
        for (name, craft) in names.iter().zip(&plan.crafts) {
            let blanks = " ".repeat(wide - columns(name));
            let mut row = format!("{name}{blanks}  {:<CELL$}", cell(craft.before));
            for at in block {
                let flies = craft.after.get(*at).copied().unwrap_or(false);
                let _ = write!(row, "{:<CELL$}", cell(flies));
            }
            out.ready(&row)?;
        }
    }
    match plan.untouched {
        0 => Ok(()),
        1 => out.line("One more aircraft is not touched."),
        many => out.line(&format!("{many} more aircraft are not touched.")),
    }
}

fn heading(out: &mut Out, evening: &Evening) -> io::Result<()> {
    out.gap()?;
    out.line(&title(evening))?;
    kept_back(out, evening)
}

/// Which transmitters are not to be changed yet.
pub fn kept_back(out: &mut Out, evening: &Evening) -> io::Result<()> {
    if evening.kept_back.is_empty() {
        return Ok(());
    }
    out.line(&format!("Kept back for a later evening: {}.", evening.kept_back.join(", ")))
}

/// An evening's heading.
pub fn title(evening: &Evening) -> String {
    let of = evening.available.map(|minutes| format!(" of {}", self::minutes(minutes))).unwrap_or_default();
    let grounded = match evening.most_grounded {
        0 => String::new(),
        1 => "; at its worst moment one aircraft can't fly".to_owned(),
        many => format!("; at its worst moment {many} aircraft can't fly"),
    };
    format!("Evening {}: {}{of}{grounded}.", evening.number, minutes(evening.minutes))
}

/// How far what is said of a step stands in.
pub const UNDER: usize = 8;

/// One step, with all that must be known where it is done.
pub fn step(out: &mut Out, step: &Step, lead: &str) -> io::Result<()> {
    out.hanging(2, &format!("{lead}{} {}:", step.code, minutes(step.minutes)), &step.text)?;
    let by = UNDER + columns(lead);
    for caution in &step.cautions {
        out.hanging(by, "Caution:", caution)?;
    }
    if !step.needs.is_empty() {
        out.hanging(by, "Needs:", &format!("{}.", step.needs.join(", ")))?;
    }
    if !step.energises.is_empty() {
        out.hanging(by, "Comes alive:", &format!("{}.", step.energises.join(", ")))?;
    }
    if !step.if_fails.is_empty() {
        out.hanging(by, "If it fails:", &step.if_fails)?;
    }
    match (step.back.kind, step.back.minutes) {
        ("none", _) => out.hanging(by, "No way back:", &step.back.text)?,
        ("way", Some(takes)) => {
            out.hanging(by, "Way back:", &format!("{} ({})", no_stop(&step.back.text), minutes(takes)))?;
        }
        _ => {}
    }
    if !step.grounds.is_empty() {
        out.hanging(by, "Can't fly from here:", &format!("{}.", step.grounds.join(", ")))?;
    }
    if !step.frees.is_empty() {
        out.hanging(by, "Can fly from here:", &format!("{}.", step.frees.join(", ")))?;
    }
    Ok(())
}

/// What a refit is called, when it began.
pub fn whose(refit: &Standing) -> String {
    format!("{} (refit {}, begun {})", refit.name, refit.short, date(refit.begun.as_deref()))
}

/// The evenings with anything done or left.
pub fn evenings(refit: &Standing) -> Vec<(u32, Vec<&Done>, Option<&Evening>)> {
    let left = refit.plan.iter().flat_map(|plan| &plan.evenings).filter(|evening| !evening.steps.is_empty());
    let mut numbers: Vec<u32> = refit.done.iter().map(|one| one.evening).collect();
    numbers.extend(left.clone().map(|evening| evening.number));
    numbers.sort_unstable();
    numbers.dedup();
    numbers
        .into_iter()
        .map(|number| {
            let done = refit.done.iter().filter(|one| one.evening == number).collect();
            (number, done, left.clone().find(|evening| evening.number == number))
        })
        .collect()
}

fn stale(out: &mut Out, refit: &Standing) -> io::Result<()> {
    if refit.ended.is_some() {
        return Ok(());
    }
    under(out, "The rest should be planned anew (`refit replan`):", &refit.stale)
}

/// Where a refit stands, with its steps.
pub fn standing(out: &mut Out, refit: &Standing, only: Option<u32>) -> io::Result<()> {
    out.line(&whose(refit))?;
    out.line(&refit.sentence)?;
    if only.is_none() {
        stale(out, refit)?;
        numbered(out, "Wished:", &refit.wishes)?;
        let put_off: Vec<String> =
            refit.put_off.iter().map(|one| format!("{} to evening {}", one.what, one.until)).collect();
        under(out, "Put off:", &put_off)?;
        if let Some(plan) = &refit.plan {
            reasons(out, &plan.reasons)?;
            around(out, plan)?;
            no_way_back(out, plan)?;
            grid(out, plan)?;
        }
    }
    for (number, done, left) in evenings(refit) {
        if only.is_some_and(|only| only != number) {
            continue;
        }
        if let Some(evening) = left {
            heading(out, evening)?;
        } else {
            out.gap()?;
            out.line(&format!("Evening {number}: all done."))?;
        }
        for one in done {
            out.hanging(2, &format!("[x] {}", one.code), &one.text)?;
        }
        for one in left.map(|evening| evening.steps.as_slice()).unwrap_or_default() {
            step(out, one, "[ ] ")?;
        }
    }
    Ok(())
}

/// Where a refit stands after something was written down: what comes next, in short.
pub fn after(out: &mut Out, refit: &Standing) -> io::Result<()> {
    out.line(&refit.sentence)?;
    stale(out, refit)?;
    let next = refit.plan.iter().flat_map(|plan| &plan.evenings).find(|evening| !evening.steps.is_empty());
    if let Some(evening) = next.filter(|_| refit.ended.is_none()) {
        out.gap()?;
        out.line(&format!("Next, in evening {}:", evening.number))?;
        evening.steps.iter().take(1).try_for_each(|one| step(out, one, ""))?;
    }
    Ok(())
}
