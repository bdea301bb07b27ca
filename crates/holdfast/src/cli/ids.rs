//! `ids`: model IDs that collide, and a new allocation.

use register::ids::{self, Request, SwitchedOff};
use register::scene::Scene;
use wire::answers::ids::{Allocation, Collision};

use super::Session;
use super::args;
use super::link::minutes;
use super::table::Table;

/// About a second's search on an ordinary machine.
const BRANCHES: u64 = 100_000;

/// Lists collisions, or proposes new IDs.
pub fn ids(session: &mut Session, args: &args::Ids) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let Some(family) = &args.allocate else {
        let answers: Vec<Collision> = ids::collisions(&scene, &fleet).iter().map(Collision::new).collect();
        return if session.out.json { session.out.answer(&answers) } else { collisions(session, &answers) };
    };
    let switched_off = if args.leave_off { SwitchedOff::LeaveAlone } else { SwitchedOff::Restore };
    let request = Request { family: family.clone(), switched_off, node_limit: BRANCHES };
    let answer = Allocation::new(&ids::allocate(&scene, &fleet, &request)?);
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    out.line(&answer.text)?;
    if !answer.steps.is_empty() {
        out.gap()?;
        let mut table = Table::new(&["minutes", "now", "then", "what to do"]);
        for step in &answer.steps {
            table.row(&[&minutes(step.minutes), &step.before, &step.after.to_string(), &step.text]);
        }
        table.write(out)?;
        out.gap()?;
        out.line("Caution: with a wrong model ID a memory can start another aircraft's motor; take propellers off until every ID is set and tried.")?;
    }
    if !answer.remaining.is_empty() {
        out.gap()?;
        out.line("What model IDs can't settle:")?;
        for collision in &answer.remaining {
            out.indented(2, &collision.text)?;
        }
    }
    Ok(())
}

fn collisions(session: &mut Session, answers: &[Collision]) -> anyhow::Result<()> {
    let out = &mut session.out;
    if answers.is_empty() {
        out.line("No model IDs collide, as far as is known.")?;
        return Ok(());
    }
    let certain = answers.iter().filter(|collision| collision.certain).count();
    let collisions = if certain == 1 { "collision is" } else { "collisions are" };
    out.line(&format!("{certain} {collisions} certain, {} possible.", answers.len() - certain))?;
    out.gap()?;
    let mut table = Table::new(&["transmitter", "family", "", "what"]);
    for collision in answers {
        let sure = if collision.certain { "certain" } else { "possible" };
        table.row(&[collision.transmitter.as_str(), &collision.family, sure, &collision.text]);
    }
    table.write(out)?;
    let mut families: Vec<&str> = answers
        .iter()
        .filter(|collision| collision.kind != "no_check")
        .map(|collision| collision.family.as_str())
        .collect();
    families.sort_unstable();
    families.dedup();
    if !families.is_empty() {
        out.gap()?;
    }
    for family in families {
        out.line(&format!("`ids --allocate \"{family}\"` proposes IDs that don't collide."))?;
    }
    Ok(())
}
