//! `link`: one verdict in full.

use std::io;

use anyhow::bail;
use register::fleet::Fleet;
use register::rule::{Answer, Rule, Verdict};
use register::scene::Scene;
use wire::answers::link::{Change, Link, Way};

use super::Session;
use super::args;
use super::named;
use super::out::Out;
use crate::workshop::now;

/// Explains one link.
pub fn link(session: &mut Session, args: &args::Link) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let answer = find(&scene, &fleet, &args.one, &args.other)?;
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(explain(&mut session.out, &answer)?)
}

/// The link of two devices, whichever is named first.
fn find(scene: &Scene, fleet: &Fleet, one: &str, other: &str) -> anyhow::Result<Link> {
    let (a, b) = (named::device(scene, one, None)?, named::device(scene, other, None)?);
    let (transmitter, receiver) = match (fleet.transmitter(a), fleet.receiver(b)) {
        (Some(transmitter), Some(receiver)) => (transmitter, receiver),
        _ => match (fleet.transmitter(b), fleet.receiver(a)) {
            (Some(transmitter), Some(receiver)) => (transmitter, receiver),
            _ => {
                bail!("name a transmitter and a receiver that the workshop still has; {}", what(fleet, a, b))
            }
        },
    };
    Ok(Link::of(scene, fleet, transmitter, receiver, now()))
}

fn what(fleet: &Fleet, a: register::id::DeviceId, b: register::id::DeviceId) -> String {
    let word =
        |id| fleet.place(id).map_or_else(|| "sold or destroyed".to_owned(), |(sort, _)| named::a(sort));
    format!("the first is {}, the second {}", word(a), word(b))
}

/// The verdict in words.
pub fn explain(out: &mut Out, link: &Link) -> io::Result<()> {
    let place = link.aircraft.as_ref().map(|name| format!(" in {name}")).unwrap_or_default();
    out.line(&format!("{} with {}{place}: {}", link.transmitter, link.receiver, link.verdict))?;
    let mut about = Vec::new();
    about.extend(link.family.as_ref().map(|family| format!("family {family}")));
    about.push(format!("end {} with end {}", link.transmitter_end, link.receiver_end));
    about.extend(link.memory.as_ref().map(|memory| format!("memory {memory}")));
    out.line(&about.join("; "))?;
    out.gap()?;
    for (question, answer) in
        [("can pair", link.can_pair), ("are paired", link.paired), ("will be obeyed", link.obeyed)]
    {
        out.line(&format!("{question:<15} {}", answer_words(answer)))?;
    }
    out.gap()?;
    reasons(out, link)?;
    if !link.settle.is_empty() {
        out.gap()?;
        out.line("To find out, the quickest look first:")?;
        for check in &link.settle {
            out.hanging(2, &format!("{:>6} ", minutes(check.minutes)), &check.check)?;
        }
    }
    if !link.mend.is_empty() {
        out.gap()?;
        let stuck = stuck(link);
        if !stuck.is_empty() {
            out.line(&format!(
                "These two can't be made to link: no way lifts the block by {}. What the others need, the quickest first:",
                stuck.join(", ")
            ))?;
        } else if link.mend.iter().all(|way| way.after == Verdict::Blocked.word()) {
            out.line("Each of these ways lifts a part of it; it takes several. The quickest first:")?;
        } else {
            out.line("To mend it, the quickest way first:")?;
        }
        for (at, way) in link.mend.iter().enumerate() {
            mend(out, at + 1, way)?;
        }
    } else if link.verdict == "blocked" {
        out.gap()?;
        out.line("Nothing that is done to these two alone mends it; `spares AIRCRAFT` shows which shelf receiver fits.")?;
    }
    Ok(())
}

/// The broken rules that no way lifts.
pub fn stuck(link: &Link) -> Vec<&'static str> {
    let lifted = |rule: &str| link.mend.iter().any(|way| !way.leaves.contains(&rule));
    link.reasons
        .iter()
        .filter(|reason| reason.status == "fail" && !lifted(reason.rule))
        .map(|reason| Rule::from_word(reason.rule).map_or(reason.rule, Rule::label))
        .collect()
}

fn answer_words(word: &str) -> &'static str {
    [Answer::Yes, Answer::No, Answer::NotKnown]
        .into_iter()
        .find(|answer| answer.word() == word)
        .map_or("not known", Answer::label)
}

fn reasons(out: &mut Out, link: &Link) -> io::Result<()> {
    for reason in &link.reasons {
        let rule = Rule::from_word(reason.rule).map_or(reason.rule, Rule::label);
        out.hanging(0, &format!("{:<8}", reason.status), &format!("{rule}: {}", reason.text))?;
        let transmitter =
            value(&reason.transmitter_value, reason.transmitter_how, reason.transmitter_seen.as_ref());
        let receiver = value(&reason.receiver_value, reason.receiver_how, reason.receiver_seen.as_ref());
        out.indented(9, &format!("{}: {transmitter}; {}: {receiver}", link.transmitter, link.receiver))?;
    }
    Ok(())
}

fn value(value: &str, how: Option<&str>, seen: Option<&String>) -> String {
    match (how, seen) {
        (Some(how), Some(seen)) => format!("{value} ({how}, {})", seen.get(..10).unwrap_or(seen)),
        _ => value.to_owned(),
    }
}

/// Minutes as people read them.
pub fn minutes(minutes: f64) -> String {
    units::Minutes(minutes).to_string()
}

/// A way to lift what blocks: its steps, what to beware of, what it does elsewhere.
pub fn mend(out: &mut Out, at: usize, way: &Way) -> io::Result<()> {
    out.hanging(2, &format!("{at}."), &format!("{}: {}", minutes(way.minutes), way.action))?;
    let mut cautions: Vec<&str> = Vec::new();
    for step in &way.steps {
        if way.steps.len() > 1 {
            out.hanging(5, "-", &format!("{}: {}", minutes(step.minutes), step.step))?;
        }
        cautions.extend(
            step.cautions.iter().filter(|caution| !cautions.contains(caution)).copied().collect::<Vec<_>>(),
        );
    }
    let mut energised: Vec<&str> = way.steps.iter().flat_map(|step| step.energises.iter().copied()).collect();
    energised.sort_unstable();
    energised.dedup();
    if !energised.is_empty() {
        out.indented(5, &format!("Energises: {}.", energised.join(", ")))?;
    }
    for caution in cautions {
        out.indented(5, &format!("Caution: {caution}"))?;
    }
    let leaves: Vec<&str> =
        way.leaves.iter().map(|rule| Rule::from_word(rule).map_or(*rule, Rule::label)).collect();
    match (way.after, leaves.is_empty()) {
        ("links", _) => out.indented(5, "Then it links.")?,
        ("unknown", _) => out.indented(5, "Then nothing blocks it, but something is not known.")?,
        (_, true) => {}
        (_, false) => out.indented(5, &format!("Still blocked then by: {}.", leaves.join(", ")))?,
    }
    changes(out, 5, "Breaks", &way.breaks)?;
    changes(out, 5, "Repairs", &way.repairs)
}

/// Links that something breaks or repairs.
pub fn changes(out: &mut Out, by: usize, what: &str, changes: &[Change]) -> io::Result<()> {
    const SHOWN: usize = 8;
    if changes.is_empty() {
        return Ok(());
    }
    let mut words: Vec<String> = changes
        .iter()
        .take(SHOWN)
        .map(
            |change| {
                if change.wanted { format!("{} (meant to hold)", change.text) } else { change.text.clone() }
            },
        )
        .collect();
    if changes.len() > SHOWN {
        words.push(format!("{} more", changes.len() - SHOWN));
    }
    out.indented(by, &format!("{what} {}: {}.", changes.len(), words.join(", ")))
}
