//! Where a trail stands, in words.

use std::io;

use register::family::Side;
use register::trail::Outcome;
use trails::trail::{NOT_LISTED_FROM, Trail as Engine, outcome_label};
use units::Minutes;
use wire::answers::fault::step::{About, Candidate, Step};
use wire::answers::fault::{Certain, Change, Next, Remark, Trail, Weight};

use super::deed;
use crate::cli::link::{self, minutes};
use crate::cli::out::Out;
use crate::cli::table::Table;

/// How many of the likeliest causes are shown.
const LIKELIEST: usize = 5;

/// Below this nobody needs to be told that a fault may only hide.
const WORTH_SAYING: f64 = 0.01;

/// A chance or a weight, never rounded to none or all.
pub fn share(share: f64) -> String {
    let whole = share * 100.0;
    if share <= 0.0 {
        "0 %".to_owned()
    } else if whole < 1.0 {
        "under 1 %".to_owned()
    } else if whole > 99.0 && share < 1.0 {
        "over 99 %".to_owned()
    } else {
        format!("{whole:.0} %")
    }
}

/// A label as the beginning of a sentence that goes on: without its stop.
pub fn no_stop(text: &str) -> &str {
    text.trim_end().trim_end_matches('.')
}

/// Words as a sentence.
pub fn capital(words: &str) -> String {
    let words = words.trim();
    let mut chars = words.chars();
    let first = chars.next().map(|first| first.to_uppercase().chain(chars).collect::<String>());
    let stop = if words.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{}{stop}", first.unwrap_or_default())
}

/// An outcome's word in words.
pub fn outcome(word: &str) -> &'static str {
    Outcome::from_word(word).map_or("ended", outcome_label)
}

/// What was written down last, in a sentence.
pub fn done(trail: &Engine) -> String {
    match trail.history.last() {
        None => "Written down.".to_owned(),
        Some(done) if done.came.is_empty() => format!("Written down: {}", capital(&done.what)),
        Some(done) => format!("Written down: {} {}", capital(&done.what), capital(&done.came)),
    }
}

/// `20 cases`, `1 case`.
pub fn cases(cases: f64) -> String {
    let one = (cases - 1.0).abs() < 1e-9;
    format!("{cases} {}", if one { "case" } else { "cases" })
}

/// `Trail 5f3a2c: won't pair or link; T1 with R7.`
pub fn head(trail: &Trail) -> String {
    let guest = |guest: bool, name: &str, side: Side| {
        if guest { format!("a guest's {}", side.word()) } else { name.to_owned() }
    };
    let transmitter = guest(trail.guests.transmitter, &trail.transmitter, Side::Transmitter);
    let receiver = guest(trail.guests.receiver, &trail.receiver, Side::Receiver);
    let whose = trail.whose.as_ref().map(|whose| format!(" ({whose})")).unwrap_or_default();
    let spent = match trail.spent_minutes {
        some if some <= 0.0 || trail.closed.is_some() => String::new(),
        some => format!(" {} so far.", minutes(some)),
    };
    format!("Trail {}: {}; {transmitter} with {receiver}{whose}.{spent}", trail.short, trail.symptom.name)
}

/// What comes next, and why.
pub fn next(out: &mut Out, engine: &Engine, trail: &Trail) -> io::Result<()> {
    sentence(out, engine, trail)?;
    match &trail.next {
        Next::Lift { certain } => lift(out, certain)?,
        Next::Step { step } => described(out, step)?,
        Next::Restore { change } => cautions(out, &change.cautions)?,
        Next::Prove { proof } => cautions(out, &proof.cautions)?,
        _ => {}
    }
    answers(out, engine, trail)?;
    if trail.closed.is_none() {
        out.gap()?;
        // Beside a certain fault the others don't matter yet.
        if !matches!(trail.next, Next::Lift { .. }) {
            likeliest(out, trail)?;
        }
        remark(out, trail)?;
        expected(out, engine, trail)?;
        to_put_back(out, trail)?;
    }
    out.gap()?;
    out.line(&head(trail))
}

fn sentence(out: &mut Out, engine: &Engine, trail: &Trail) -> io::Result<()> {
    match &trail.next {
        Next::Lift { certain } => {
            out.line(&format!("Certain: {}", capital(&certain.reason)))?;
            match certain.ways.first() {
                Some(way) => out.line(&format!("Lift it, {}: {}", minutes(way.minutes), way.action)),
                None => out
                    .line("Nothing that is done to these two alone lifts it: answer cant-tell to search on."),
            }
        }
        Next::Step { step } => {
            let lead = if step.about.kind == "check" { "Check" } else { "Mend" };
            out.line(&format!("{lead}, {}: {}", minutes(step.minutes), step.about.label))
        }
        Next::GiveUp { text, minutes: cost } => {
            out.line(&format!("Nothing more is worth its minutes. {} ({})", text, minutes(*cost)))?;
            out.line("`fault close --gave-up` ends the trail.")
        }
        Next::Stuck => out.line(
            "Nothing in this list is left to try. Write down what else you do with `fault did`, take answers \
                      back with `fault back`, or end it with `fault close --left`.",
        ),
        Next::Restore { change } => out.line(&format!("It seems to work. Put back: {}", change.back)),
        Next::Prove { proof } => out.line(&format!("Prove it: {}", proof.text)),
        Next::Close => {
            let presumed = engine.presumed();
            let cause = if presumed.is_empty() {
                "Which fault it was is not clear: `fault close CAUSE` names one and ends the trail, `fault close \
                 --not-found` names none."
                    .to_owned()
            } else {
                format!(
                    "It was most likely `{presumed}`: {}. `fault close [CAUSE]` names the fault and ends the trail.",
                    no_stop(&engine.cause_label(&presumed))
                )
            };
            out.line(&format!("It is proven, and everything is put back. {cause}"))
        }
        Next::Closed => out.line(&closed(trail)),
    }
}

/// How a trail ended, in a sentence.
pub fn closed(trail: &Trail) -> String {
    let Some(closed) = &trail.closed else { return "It is open.".to_owned() };
    let label = |key: &String| {
        let found = trail.weights.iter().find(|cause| cause.key == *key);
        found.map_or_else(|| key.replace('_', " "), |cause| cause.label.clone())
    };
    let cause = match &closed.cause {
        Some(key) => format!(" The fault: {}.", no_stop(&label(key))),
        None => " The fault was not found.".to_owned(),
    };
    format!("Closed after {}: {}.{cause}", minutes(closed.minutes), outcome(closed.outcome))
}

fn cautions(out: &mut Out, list: &[String]) -> io::Result<()> {
    list.iter().try_for_each(|caution| out.hanging(2, "Caution:", caution))
}

/// How a step is done, without its answers.
pub fn about(out: &mut Out, about: &About) -> io::Result<()> {
    if !about.energises.is_empty() {
        out.hanging(2, "Energises:", &format!("{}.", about.energises.join(", ")))?;
    }
    cautions(out, &about.cautions)?;
    if !about.how.is_empty() {
        out.hanging(2, "How:", &about.how)?;
    }
    if !about.good.is_empty() {
        out.hanging(2, "Good:", &about.good)?;
    }
    if !about.watch.is_empty() {
        out.hanging(2, "Then watch:", &capital(&about.watch))?;
    }
    if let Some(leaves) = &about.leaves {
        out.hanging(2, "Leaves:", &format!("{}; to be put back at the end.", no_stop(leaves)))?;
    }
    Ok(())
}

fn described(out: &mut Out, step: &Step) -> io::Result<()> {
    for cover in &step.covers {
        let words =
            format!("{} ({} to open and close again, counted in)", cover.label, minutes(cover.minutes));
        out.hanging(2, "Open or fetch first:", &words)?;
    }
    about(out, &step.about)?;
    for fact in &step.facts {
        out.hanging(
            2,
            "May be typed with it:",
            &format!("{}= (known of {}: {})", fact.key, fact.device, fact.known),
        )?;
    }
    Ok(())
}

fn lift(out: &mut Out, certain: &Certain) -> io::Result<()> {
    if certain.ways.len() > 1 {
        out.gap()?;
        out.line("The ways to lift it, the quickest first; --way says which was taken:")?;
    }
    for (at, way) in certain.ways.iter().enumerate() {
        link::mend(out, at + 1, way)?;
    }
    Ok(())
}

/// The answers that may be given, with their numbers.
fn answers(out: &mut Out, engine: &Engine, trail: &Trail) -> io::Result<()> {
    let choices = deed::now(engine);
    if choices.is_empty() {
        return Ok(());
    }
    let outcomes = match &trail.next {
        Next::Step { step } => step.outcomes.as_slice(),
        _ => &[],
    };
    out.gap()?;
    let mut table = Table::new(&["", "answer", "chance", "in words"]);
    for (at, (key, label)) in choices.iter().enumerate() {
        let chance = outcomes.iter().find(|one| one.key == *key).map(|one| share(one.chance));
        table.row(&[&(at + 1).to_string(), key.as_str(), &chance.unwrap_or_default(), label.as_str()]);
    }
    table.write(out)?;
    let read = matches!(&trail.next, Next::Step { step } if !step.facts.is_empty());
    let read = if read { ", or `fault answer read` with what both ends show" } else { "" };
    out.line(&format!("`fault answer` takes one of them, by its word or its number{read}."))
}

fn likeliest(out: &mut Out, trail: &Trail) -> io::Result<()> {
    if let Some(helped) = &trail.helped {
        out.line(&format!("What helped: {}", capital(&helped.what)))?;
        if helped.hidden >= WORTH_SAYING {
            let watch = if helped.watch.is_empty() {
                String::new()
            } else {
                format!(" Watch it: {}.", no_stop(&helped.watch))
            };
            out.line(&format!("Not sure yet: {} that the fault only hides.{watch}", share(helped.hidden)))?;
        }
        return weights(out, "what it was", &helped.causes, &[]);
    }
    weights(out, "what it may be", &trail.weights, &[])
}

/// The likeliest of a list; with what they weighed at the start, where that is given.
fn weights(out: &mut Out, title: &'static str, list: &[Weight], start: &[Weight]) -> io::Result<()> {
    let heads: &[&'static str] =
        if start.is_empty() { &["weight", title] } else { &["weight", "at the start", title] };
    let mut table = Table::new(heads);
    let most = if start.is_empty() { LIKELIEST } else { list.len() };
    for one in list.iter().filter(|one| one.weight > 0.0).take(most) {
        let mut row = vec![share(one.weight)];
        if !start.is_empty() {
            row.push(
                start.iter().find(|was| was.key == one.key).map(|was| share(was.weight)).unwrap_or_default(),
            );
        }
        row.push(format!("{} ({})", no_stop(&one.label), one.key));
        table.row(&row);
    }
    if table.is_empty() { Ok(()) } else { table.write(out) }
}

fn remark(out: &mut Out, trail: &Trail) -> io::Result<()> {
    match &trail.remark {
        None => Ok(()),
        Some(Remark::Contradiction) => out.line(
            "These answers can't all be so, whatever is wrong: it is something not in this list, or an answer is \
             mistaken. `fault show` has them all, `fault back` takes the last back.",
        ),
        Some(Remark::NotListed { weight }) => {
            let sure = if *weight > NOT_LISTED_FROM { share(*weight) } else { "half".to_owned() };
            out.line(&format!(
                "What was seen fits nothing in this list well: by {sure} it is something not in this list. Look at what \
                 the list can't know, and write it down with `fault did`."
            ))
        }
        Some(Remark::StillFails { reasons }) => out.line(&format!(
            "It works, and yet the register says that it can't: {} Look again at what is written down before you rely on it.",
            reasons.join(" ")
        )),
        Some(Remark::TwoFaults { one, other, weight }) => out.line(&format!(
            "One fault alone explains this badly. Two at once are likely, such as ({}): {}; {}.",
            share(*weight),
            no_stop(one),
            no_stop(other)
        )),
    }
}

/// What is still to be expected, and how far that is exact.
fn expected(out: &mut Out, engine: &Engine, trail: &Trail) -> io::Result<()> {
    match (&trail.next, trail.expected_minutes) {
        (Next::Lift { .. }, Some(expected)) => {
            out.line(&format!("Expected: {} to lift what is known to fail.", minutes(expected)))
        }
        (Next::Step { step }, Some(expected)) => {
            let how = engine.method.map(trails::planner::Method::label).unwrap_or_default();
            out.line(&format!("Expected: {} to a proven link; {how}.", minutes(expected)))?;
            others(out, &step.others)
        }
        _ => Ok(()),
    }
}

/// The next best.
pub fn others(out: &mut Out, list: &[Candidate]) -> io::Result<()> {
    let Some(one) = list.first() else { return Ok(()) };
    let what = match &one.key {
        Some(key) => format!("{key} ({})", no_stop(&one.label)),
        None => no_stop(&one.label).to_owned(),
    };
    out.line(&format!("Next best, {} expected: {what}.", minutes(one.expected_minutes)))
}

fn to_put_back(out: &mut Out, trail: &Trail) -> io::Result<()> {
    for change in trail.open_changes() {
        out.line(&format!("To be put back before it closes ({}): {}", change.key, capital(&change.what)))?;
    }
    Ok(())
}

fn settled(change: &Change) -> &'static str {
    let all =
        [trails::trail::Settled::Open, trails::trail::Settled::PutBack, trails::trail::Settled::Accepted];
    all.into_iter().find(|one| one.word() == change.settled).map_or("", trails::trail::Settled::label)
}

/// What was done, as a table.
pub fn history(out: &mut Out, trail: &Trail) -> io::Result<()> {
    let mut table = Table::new(&["", "minutes", "when", "what, and what came of it"]);
    for (at, done) in trail.history.iter().enumerate() {
        let when = done.seen.as_deref().and_then(|text| text.get(..16)).unwrap_or_default().replace('T', " ");
        let came = if done.came.is_empty() { String::new() } else { format!(" {}", capital(&done.came)) };
        table.row(&[
            &(at + 1).to_string(),
            minutes(done.minutes).trim_end_matches(" min"),
            &when,
            &format!("{}{came}", capital(&done.what)),
        ]);
    }
    if table.is_empty() { out.line("Nothing was done yet.") } else { table.write(out) }
}

/// What was changed, and what became of it.
pub fn changes(out: &mut Out, trail: &Trail) -> io::Result<()> {
    if trail.changes.is_empty() {
        return out.line("Nothing was left changed.");
    }
    out.line("What was changed:")?;
    for change in &trail.changes {
        out.hanging(2, "-", &format!("{} ({}): {}.", no_stop(&change.what), change.key, settled(change)))?;
    }
    Ok(())
}

/// The proofs, and what came of each.
pub fn proofs(out: &mut Out, trail: &Trail) -> io::Result<()> {
    if trail.proofs.is_empty() {
        return Ok(());
    }
    out.line("What proves the link:")?;
    for proof in &trail.proofs {
        let came = match (proof.held, proof.failed) {
            (true, _) => "seen to hold",
            (_, true) => "tried, and did NOT hold",
            _ => "not tried",
        };
        out.hanging(2, "-", &format!("{came}: {}", proof.text))?;
    }
    Ok(())
}

/// All of a trail.
pub fn all(out: &mut Out, engine: &Engine, trail: &Trail) -> io::Result<()> {
    next(out, engine, trail)?;
    out.line(&format!("Its id is {}.", trail.id))?;
    out.gap()?;
    for certain in &trail.certain {
        let aside = if certain.set_aside { " (set aside: tried in vain, or it can't be done)" } else { "" };
        out.line(&format!("Certain ({}): {}{aside}", certain.step, capital(&certain.reason)))?;
    }
    history(out, trail)?;
    out.gap()?;
    changes(out, trail)?;
    proofs(out, trail)?;
    if trail.closed.is_none() && !trail.covers.is_empty() {
        out.line("Covers:")?;
        for cover in &trail.covers {
            let words = if cover.open {
                format!("open; {} to close it", Minutes(cover.close_minutes))
            } else {
                format!(
                    "{} to open it, {} to close it",
                    Minutes(cover.open_minutes),
                    Minutes(cover.close_minutes)
                )
            };
            out.hanging(2, "-", &format!("{} ({}): {words}", cover.label, cover.key))?;
        }
    }
    out.gap()?;
    weights(out, "what it may be", &trail.weights, &trail.at_start)?;
    out.gap()?;
    out.line(&format!(
        "The weights as shipped count for {}; this workshop has found {} of this symptom.",
        cases(trail.strength),
        trail.cases
    ))
}
