//! `spares`: which shelf receiver fits an aircraft.

use register::field::Sort;
use register::scene::Scene;
use register::spares;
use register::view;
use wire::answers::spares::Spare;

use super::Session;
use super::link::minutes;
use super::named;
use super::table::Table;
use crate::workshop::now;

/// Lists the spares for an aircraft.
pub fn spares(session: &mut Session, aircraft: &str) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let id = named::device(&scene, aircraft, Some(Sort::Aircraft))?;
    let found = spares::spares(&scene, &fleet, id, now());
    let answers: Vec<Spare> = found.iter().map(Spare::new).collect();
    if session.out.json {
        return session.out.answer(&answers);
    }
    let spoken = scene.device(id).map_or_else(|| aircraft.to_owned(), |device| view::card(device).spoken());
    let out = &mut session.out;
    if answers.is_empty() {
        out.line(&format!(
            "No receiver is on the shelf for {spoken}; `record RX state shelf` puts one there."
        ))?;
        return Ok(());
    }
    let sure = |spare: &&Spare| spare.plan.as_ref().is_some_and(|plan| plan.checks.is_empty());
    let (fit, may) = (answers.iter().filter(sure).count(), answers.iter().filter(|spare| spare.fits).count());
    let may = match may - fit {
        0 => String::new(),
        some => format!(" {some} more may, once something is looked at."),
    };
    out.line(&format!(
        "{fit} of {} ways to put a shelf receiver into {spoken} can be made to link.{may}",
        answers.len()
    ))?;
    out.gap()?;
    let mut table = Table::new(&["receiver", "with", "fits", "in all", "what to do"]);
    for spare in &answers {
        let steps: Vec<&str> = match &spare.plan {
            Some(plan) => std::iter::once(spare.fit.step.as_str())
                .chain(plan.checks.iter().map(|check| check.check.as_str()))
                .chain(plan.steps.iter().map(|step| step.step.as_str()))
                .collect(),
            None => spare
                .link
                .reasons
                .iter()
                .filter(|reason| reason.status == "fail")
                .map(|reason| reason.text.as_str())
                .collect(),
        };
        let fits = match (spare.fits, sure(&spare)) {
            (true, true) => "yes",
            (true, false) => "maybe",
            (false, _) => "no",
        };
        let time = spare.minutes.map(minutes).unwrap_or_default();
        table.row(&[spare.receiver.as_str(), &spare.transmitter, fits, &time, &steps.join(" ")]);
    }
    table.write(out)?;
    let mut cautions: Vec<&str> = Vec::new();
    for spare in &answers {
        let steps = spare.plan.iter().flat_map(|plan| &plan.steps).chain([&spare.fit]);
        for caution in steps.flat_map(|step| &step.cautions) {
            if !cautions.contains(caution) {
                cautions.push(caution);
            }
        }
    }
    if !cautions.is_empty() {
        out.gap()?;
    }
    for caution in cautions {
        out.line(&format!("Caution: {caution}"))?;
    }
    Ok(())
}
