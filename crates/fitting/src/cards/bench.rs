//! The bench card: all that is written down and found, and what is still to be proven.

use register::fit::Proof;

use super::{About, failsafe_rows, findings, table, who};
use crate::aircraft::Fit;
use crate::card::{Block, Card};
use crate::commission::{About as ItemAbout, Commission};
use crate::failsafe::proof_steps;
use crate::outputs::Wire;
use crate::qr::TooLong;
use crate::supply::{Case, Outcome};

/// The bench card of an aircraft with a transmitter.
///
/// # Errors
/// What it says of the aircraft is too long for a QR code.
pub fn bench(about: &About, list: &Commission, fit: &Fit) -> Result<Card, TooLong> {
    let mut blocks = vec![Block::Facts(who(about, list))];
    blocks.push(Block::Heading("What was checked, and what was not".to_owned()));
    blocks.push(items(list));
    let found = findings(list);
    if !found.is_empty() {
        blocks.push(Block::Heading("Found, and to be mended".to_owned()));
        blocks.push(Block::Boxes(found));
    }
    wiring(fit, &mut blocks);
    supply(fit, &mut blocks);
    failsafe(fit, &mut blocks);
    if let Some(answer) = fit.antennas.as_ref().and_then(|one| one.answer()) {
        blocks.push(Block::Heading("Antennas".to_owned()));
        blocks.push(Block::Words(answer.sentence.clone()));
    }
    proofs(list, fit, &mut blocks);
    blocks.push(Block::Heading("Signed".to_owned()));
    blocks.push(Block::Lines(vec!["Date".to_owned(), "Name".to_owned(), "Remarks".to_owned()]));
    Ok(Card {
        kind: "Bench card".to_owned(),
        title: list.aircraft.full(),
        sentence: list.sentence.clone(),
        blocks,
        foot: about.foot(),
        code: Some(about.code(list.aircraft.id, &super::label::aircraft_lines(about, &list.aircraft))?),
    })
}

/// The commissioning list as a table.
pub(super) fn items(list: &Commission) -> Block {
    let row = |item: &crate::commission::Item| {
        let when = item.seen.map(register::time::Moment::date).unwrap_or_default();
        vec![item.about.label().to_owned(), item.standing.label().to_owned(), when, item.text.clone()]
    };
    table(&["Item", "Stands", "Seen", "How"], list.items.iter().map(row).collect())
}

fn wiring(fit: &Fit, blocks: &mut Vec<Block>) {
    let Some(answer) = fit.outputs.as_ref().and_then(|one| one.answer()) else { return };
    let row = |wire: &Wire| {
        let parts: Vec<&str> = wire.parts.iter().map(|part| part.name.as_str()).collect();
        let carries = wire.carries.first().and_then(|one| one.function.clone()).unwrap_or_default();
        let output = if wire.receiver.is_empty() {
            wire.number.to_string()
        } else {
            format!("{} {}", wire.receiver, wire.number)
        };
        vec![output, wire.channel.to_string(), carries, parts.join(", "), wire.says.clone()]
    };
    blocks.push(Block::Heading("Outputs".to_owned()));
    blocks.push(table(
        &["Output", "Channel", "Carries", "Moves", "Sends"],
        answer.wiring.iter().map(row).collect(),
    ));
}

fn supply(fit: &Fit, blocks: &mut Vec<Block>) {
    let Some(answer) = fit.supply.as_ref().and_then(|one| one.answer()) else { return };
    let row = |case: &Case| {
        let volts = match &case.outcome {
            Outcome::Held(point) => format!("{:.2} V", point.receiver_v.0),
            Outcome::Reset(point) => format!("{:.2} V: the receiver resets", point.receiver_v.0),
            Outcome::Collapse { why } => format!("collapse: {why}"),
        };
        vec![case.name.clone(), volts]
    };
    blocks.push(Block::Heading("Supply, reckoned".to_owned()));
    blocks.push(Block::Words(answer.sentence.clone()));
    blocks.push(table(&["Load", "At the receiver"], answer.cases.iter().map(row).collect()));
    blocks.push(Block::Words(answer.endurance.sentence.clone()));
}

fn failsafe(fit: &Fit, blocks: &mut Vec<Block>) {
    let rows = failsafe_rows(fit);
    if rows.is_empty() {
        return;
    }
    blocks.push(Block::Heading("Failsafe, as written".to_owned()));
    blocks.push(table(&["Channel", "Moves", "Without a link"], rows));
    if let Some(answer) = fit.failsafe.as_ref().and_then(|one| one.answer()) {
        blocks.push(Block::Words(answer.sentence.clone()));
    }
}

/// The steps of every proof that doesn't stand, cautions first.
fn proofs(list: &Commission, fit: &Fit, blocks: &mut Vec<Block>) {
    for proof in [Proof::Directions, Proof::Supply, Proof::Failsafe, Proof::Range] {
        let stands = list.item(ItemAbout::Proof(proof)).is_some_and(|item| item.standing.counts());
        if stands {
            continue;
        }
        blocks.push(Block::Heading(format!("To prove: {}", proof.label())));
        let steps = proof_steps(fit.craft, fit.power, proof);
        let mut said: Vec<&str> = Vec::new();
        let mut boxes = Vec::new();
        for step in &steps {
            let new: Vec<&str> =
                step.cautions.iter().map(String::as_str).filter(|one| !said.contains(one)).collect();
            said.extend(&new);
            boxes.push((step.text.clone(), new.join(" ")));
        }
        blocks.push(Block::Boxes(boxes));
        let lines: &[&str] = match proof {
            Proof::Range => &["Distance, m; reduction, dB"],
            Proof::Supply => &["At rest, V; all stirred, V"],
            Proof::Directions | Proof::Failsafe => &["Held, on (date)"],
        };
        blocks.push(Block::Lines(lines.iter().map(|&one| one.to_owned()).collect()));
    }
}
