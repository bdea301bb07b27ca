//! `fault solve`: the planner on any fault model file.

use std::io;
use std::path::Path;

use anyhow::bail;
use trails::file;
use trails::model::{Kind, Model};
use trails::planner::Effort;
use trails::solve::{CANT_TELL, OPEN};
use units::Minutes;
use wire::answers::fault::solution::Solution;

use super::{args, say};
use crate::cli::Session;
use crate::cli::families::read_text;
use crate::cli::link::minutes;
use crate::cli::out::Out;
use crate::cli::table::Table;

/// Reads a fault model; every problem stands in the error.
fn model(path: &Path) -> anyhow::Result<Model> {
    let text = read_text(path)?;
    match file::read(&path.display().to_string(), &text) {
        Ok(model) => Ok(model),
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            bail!("the fault model can't be used; correct it first:\n{}", lines.join("\n"))
        }
    }
}

/// `STEP=ANSWER`, the answer by its key or its number.
fn answered(model: &Model, at: usize, word: &str) -> anyhow::Result<(String, String)> {
    let Some((step, answer)) = word.split_once('=') else {
        let word: String = word.chars().take(60).collect();
        bail!("answer {}, `{word}`, has no `=`; write it as STEP=ANSWER, or open=COVER", at + 1);
    };
    let (step, answer) = (step.trim().to_owned(), answer.trim().to_owned());
    if step == OPEN {
        return Ok((step, answer));
    }
    let place =
        |most: usize| answer.parse::<usize>().ok().filter(|at| (1..=most).contains(at)).map(|at| at - 1);
    let by_number = model.step(&step).and_then(|at| match &model.steps[at].kind {
        Kind::Check(check) => {
            if check.answers.iter().any(|one| one.key == answer) {
                return None;
            }
            let count = check.answers.len();
            place(count + 1).map(|at| check.answers.get(at).map_or(CANT_TELL, |one| one.key.as_str()))
        }
        Kind::Mend(_) => {
            let all = register::trail::Helped::ALL;
            place(all.len()).map(|at| all[at].word())
        }
    });
    let answer = by_number.map_or_else(|| answer.clone(), str::to_owned);
    Ok((step, answer))
}

/// Runs the planner on a model file.
pub fn solve(session: &mut Session, args: &args::Solve) -> anyhow::Result<()> {
    let model = model(&args.model)?;
    let answers = args
        .answers
        .iter()
        .enumerate()
        .map(|(at, word)| answered(&model, at, word))
        .collect::<anyhow::Result<Vec<_>>>()?;
    let solved = trails::solve::solve(&model, &answers, Effort::default())?;
    let answer = Solution::new(&model, &solved);
    if session.out.json {
        return session.out.answer(&answer);
    }
    let method = solved.advice.as_ref().map(|advice| advice.method.label()).unwrap_or_default();
    Ok(print(&mut session.out, &answer, &method, args.limit)?)
}

fn print(out: &mut Out, answer: &Solution, method: &str, limit: usize) -> io::Result<()> {
    match (&answer.next, &answer.step) {
        (None, _) => {
            let step = answer.helped.as_deref().unwrap_or_default();
            out.line(&format!("`{step}` helped: nothing is left to search. Prove it."))?;
        }
        (Some(next), Some(step)) => {
            let lead = if step.kind == "check" { "Check" } else { "Mend" };
            out.line(&format!("{lead} `{}`, {}: {}", step.key, minutes(next.minutes), step.label))?;
            say::about(out, step)?;
            let words = |one: &wire::answers::fault::solution::Answer| format!("{} ({})", one.key, one.label);
            let all: Vec<String> = answer.answers.iter().map(words).collect();
            out.hanging(2, "Answers:", &format!("{}.", all.join(", ")))?;
        }
        (Some(next), None) if next.kind == "give-up" => {
            out.line(&format!("Give up, {}: {}", minutes(next.minutes), next.label))?;
        }
        (Some(next), None) => out.line(&next.label)?,
    }
    if let Some(expected) = answer.expected_minutes {
        out.line(&format!("Expected: {} to the end of the search; {method}.", finely(expected)))?;
        for one in &answer.others {
            let what = one.key.as_deref().unwrap_or_else(|| say::no_stop(&one.label));
            out.hanging(2, "-", &format!("{what} instead: {}", finely(one.expected_minutes)))?;
        }
    }
    if answer.contradiction {
        out.line("These answers can't all be so: all weight is on something not in this list.")?;
    }
    if !answer.history.is_empty() {
        out.gap()?;
        let mut table = Table::new(&["answered", "came of it", "likeliest then"]);
        for one in &answer.history {
            let likely = one.after.first();
            let likely =
                likely.map(|one| format!("{} {}", say::share(one.weight), one.key)).unwrap_or_default();
            table.row(&[one.what.as_str(), &one.came, &likely]);
        }
        table.write(out)?;
        out.line(&format!("Spent: {}.", Minutes(answer.spent_minutes)))?;
    }
    out.gap()?;
    let mut table = Table::new(&["weight", "cause", "in words"]);
    for one in answer.weights.iter().take(limit) {
        table.row(&[say::share(one.weight).as_str(), &one.key, &one.label]);
    }
    table.write(out)?;
    if answer.weights.len() > limit {
        out.line(&format!("{} more; --limit N shows them.", answer.weights.len() - limit))?;
    }
    let pair = answer.pairs.iter().max_by(|a, b| a.weight.total_cmp(&b.weight));
    if let Some(pair) = pair {
        out.line(&format!(
            "Two at once are considered; the likeliest two: {} with {}, {}.",
            pair.one,
            pair.other,
            say::share(pair.weight)
        ))?;
    }
    Ok(())
}

/// Minutes with enough digits to compare choices.
fn finely(minutes: f64) -> String {
    format!("{minutes:.2} min")
}
