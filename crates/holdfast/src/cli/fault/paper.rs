//! What is printed and carried along: the trail card, and the closing report.

use std::io;

use register::fleet::Fleet;
use register::register::Register;
use trails::card::tree;
use trails::library;
use trails::planner::Effort;
use wire::answers::fault::Trail;
use wire::answers::fault::card::{Branch, Card, Node, Then};

use super::{args, say};
use crate::cli::Session;
use crate::cli::link::minutes;
use crate::cli::out::Out;
use crate::faults;

/// Prints a trail card.
pub fn card(session: &mut Session, args: &args::Card) -> anyhow::Result<()> {
    let depth = args.depth;
    let answer = if let Some(model) = library::symptom(&super::key(&args.of)) {
        let trail = match super::any_workshop(session)? {
            Some(workshop) => faults::fresh(workshop.register(), workshop.fleet(), &model.key)?,
            None => faults::fresh(&Register::default(), &Fleet::default(), &model.key)?,
        };
        let tree = tree(&trail.model, &trail.situation, depth, Effort::default());
        Card::new(&trail.model, &tree, depth, None, Vec::new())
    } else {
        let found = match super::any_workshop(session)?
            .map(|workshop| (faults::find(&workshop, Some(&args.of)), workshop))
        {
            Some((Ok(id), workshop)) => (id, workshop),
            Some((Err(why), _)) if !matches!(why, faults::NoTrail::Missing(_)) => return Err(why.into()),
            _ => {
                let known: Vec<String> = library::symptoms().into_iter().map(|model| model.key).collect();
                anyhow::bail!(
                    "there is neither a symptom nor a trail of that name; the symptoms are {}, `fault show` lists the \
                     trails",
                    known.join(", ")
                )
            }
        };
        let (id, workshop) = found;
        let trail = faults::at(&workshop, id)?;
        let tree = tree(&trail.model, &trail.situation, depth, Effort::default());
        Card::new(&trail.model, &tree, depth, Some(faults::short(id)), trail.first())
    };
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(print(&mut session.out, &answer)?)
}

fn print(out: &mut Out, card: &Card) -> io::Result<()> {
    let steps = if card.steps == 1 { "1 step".to_owned() } else { format!("{} steps", card.steps) };
    let of = card.trail.as_ref().map(|trail| format!(", going on from trail {trail}")).unwrap_or_default();
    out.line(&format!(
        "Trail card: {}{of}. {steps}, {} deep; {} expected.",
        card.symptom.name,
        card.depth,
        minutes(card.expected_minutes)
    ))?;
    for certain in &card.certain {
        out.line(&format!("First, for certain: {certain}"))?;
    }
    out.gap()?;
    let mut told = Told::default();
    node(out, &card.first, 0, "", &mut told)?;
    out.gap()?;
    out.line("What comes alive may move: mind the cautions of each step.")?;
    let mut cautions: Vec<&str> = Vec::new();
    for caution in told.cautions {
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    cautions.into_iter().try_for_each(|caution| out.hanging(0, "-", caution))
}

/// What a card has told so far.
#[derive(Default)]
struct Told<'a> {
    cautions: Vec<&'a str>,
    /// The steps of which it is told how they are done: once each.
    steps: Vec<&'a str>,
}

/// One place and what follows from it, each deeper by two columns.
fn node<'a>(out: &mut Out, at: &'a Node, by: usize, lead: &str, told: &mut Told<'a>) -> io::Result<()> {
    out.hanging(by, &format!("{lead}>"), &format!("{} ({})", at.label, minutes(at.minutes)))?;
    if let Some(step) = &at.step {
        told.cautions.extend(step.cautions.iter().map(String::as_str));
        if !step.how.is_empty() && !told.steps.contains(&step.key.as_str()) {
            told.steps.push(&step.key);
            out.hanging(by + 2, "How:", &step.how)?;
        }
        if !step.good.is_empty() && step.kind == "check" {
            out.hanging(by + 2, "Good:", &step.good)?;
        }
    }
    at.branches.iter().try_for_each(|way| branch(out, way, by + 2, told))
}

fn branch<'a>(out: &mut Out, way: &'a Branch, by: usize, told: &mut Told<'a>) -> io::Result<()> {
    let says = format!("{} ({})", way.label, say::share(way.chance));
    match &way.then {
        Then::Node { node: next } => {
            out.hanging(by, "-", &format!("{says}:"))?;
            node(out, next, by + 2, "", told)
        }
        Then::Works => out.hanging(by, "-", &format!("{says}: prove it, and put back what was changed.")),
        Then::Ends { likeliest } => {
            let causes: Vec<String> = likeliest
                .iter()
                .map(|one| format!("{} ({})", say::no_stop(&one.label), say::share(one.weight)))
                .collect();
            out.hanging(by, "-", &format!("{says}: likeliest then: {}.", causes.join("; ")))
        }
    }
}

/// The closing report, for the owner of the gear.
pub fn report(out: &mut Out, engine: &trails::trail::Trail, trail: &Trail) -> io::Result<()> {
    let begun = trail.begun.as_deref().and_then(|text| text.get(..10)).unwrap_or_default();
    let whose = trail.whose.as_ref().map(|whose| format!(" of {whose}")).unwrap_or_default();
    out.line(&format!("Report of a search for a fault{whose}"))?;
    out.line(&format!(
        "{}: {} with {}. Begun {begun}.",
        trail.symptom.name, trail.transmitter, trail.receiver
    ))?;
    out.gap()?;
    if trail.closed.is_some() {
        out.line(&say::closed(trail))?;
    } else {
        out.line(&format!("It is not closed; {} were spent so far.", minutes(trail.spent_minutes)))?;
        let likely: Vec<String> = engine
            .likeliest()
            .iter()
            .take(3)
            .map(|one| format!("{} ({})", say::no_stop(&one.label), say::share(one.weight)))
            .collect();
        out.line(&format!("Likeliest now: {}.", likely.join("; ")))?;
    }
    if let Some(helped) = &trail.helped {
        out.line(&format!("What helped: {}", say::capital(&helped.what)))?;
    }
    for certain in &trail.certain {
        out.line(&format!("Still so: {}", say::capital(&certain.reason)))?;
    }
    out.gap()?;
    say::history(out, trail)?;
    out.gap()?;
    say::changes(out, trail)?;
    say::proofs(out, trail)?;
    out.gap()?;
    out.line(
        "This says what was seen and done, not that the aircraft is safe. Local rules and the maker's manual prevail.",
    )
}
