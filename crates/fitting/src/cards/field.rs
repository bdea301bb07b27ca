//! The field card: what to do and to know at the field, small enough for a pocket.

use register::fit::Proof;

use super::{About, failsafe_rows, memories, table};
use crate::aircraft::Fit;
use crate::card::{Block, Card};
use crate::commission::{About as ItemAbout, Commission, Standing};
use crate::failsafe::{Power, Sort};
use crate::qr::TooLong;
use crate::supply::Endurance;

/// The field card of an aircraft with a transmitter.
///
/// # Errors
/// What it says of the aircraft is too long for a QR code.
pub fn field(about: &About, list: &Commission, fit: &Fit) -> Result<Card, TooLong> {
    let mut blocks = vec![
        Block::Caution(caution(fit.craft, fit.power).to_owned()),
        Block::Facts(facts(about, list, fit)),
        Block::Heading("Before the first flight of the day".to_owned()),
        Block::Boxes(before(list, fit)),
    ];
    let rows = failsafe_rows(fit);
    if !rows.is_empty() {
        blocks.push(Block::Heading("Without a link, as written".to_owned()));
        blocks.push(table(&["Channel", "Moves", "Goes"], rows));
    }
    if let Some(answer) = fit.failsafe.as_ref().and_then(|one| one.answer())
        && let Ok(search) = &answer.search
    {
        blocks.push(Block::Heading("If it goes down".to_owned()));
        blocks.push(Block::Words(search.sentence.clone()));
    }
    blocks.push(Block::Heading("Today".to_owned()));
    blocks.push(Block::Lines(
        ["Date; range check, m", "Failsafe held; control back, s", "At rest, V; all stirred, V"]
            .iter()
            .map(|&one| one.to_owned())
            .collect(),
    ));
    Ok(Card {
        kind: "Field card".to_owned(),
        title: list.aircraft.full(),
        sentence: list.sentence.clone(),
        blocks,
        foot: about.foot(),
        code: Some(about.code(list.aircraft.id, &super::label::aircraft_lines(about, &list.aircraft))?),
    })
}

/// The usual caution, where the pack goes in (common practice; treating a connected pack as a motor that
/// may run is a national handbook's rule as clubs quote it).
fn caution(craft: Sort, power: Power) -> &'static str {
    match power {
        Power::Electric | Power::Engine if matches!(craft, Sort::Helicopter | Sort::Multirotor) => {
            "Transmitter on first, off last. From the moment it has power the blades may turn at full speed: nobody \
             holds it or comes near, keep others clear."
        }
        Power::Electric | Power::Engine if matches!(craft, Sort::Boat | Sort::Car) => {
            "Transmitter on first, off last. From the moment it has power it may run off at full speed: hold it clear \
             of the ground or in its stand, hands off wheels and propeller, keep others clear."
        }
        Power::Electric => {
            "Transmitter on first, off last. From the moment the pack is connected the motor may run at full \
             power: hold the aircraft, stay behind the propeller, keep others clear."
        }
        Power::Engine => {
            "Transmitter on first, off last. Hold the aircraft before starting the engine, stay behind the \
             propeller, keep others clear."
        }
        Power::None => "Transmitter on first, off last. Keep the launch clear of people.",
    }
}

fn facts(about: &About, list: &Commission, fit: &Fit) -> Vec<(String, String, String)> {
    let mut out = Vec::new();
    if let Some(view) = list.transmitter.as_ref().and_then(|card| about.fleet.transmitter(card.id)) {
        out.push(("Transmitter".to_owned(), view.card.full(), memories(view, list.aircraft.id).join("; ")));
    }
    for receiver in about.fleet.fitted_in(list.aircraft.id) {
        let words = receiver.ends.iter().flat_map(super::end_words).collect::<Vec<_>>().join(", ");
        out.push(("Receiver".to_owned(), receiver.card.full(), words));
    }
    if let Some(Ok((supply, answer))) = fit.supply.as_ref().map(|one| one.read.as_ref()) {
        for pack in &supply.packs {
            let words = format!("{} cells, {}", pack.cells, pack.chemistry.label);
            out.push(("Pack".to_owned(), pack.name.clone(), words));
        }
        out.push(("Lasts".to_owned(), lasts(supply.reserve, &answer.endurance), String::new()));
    }
    // The distance to compare with; the other proofs stand at their boxes.
    if let Some(item) = list.item(ItemAbout::Proof(Proof::Range)) {
        // What came since stands on the list.
        let held = item.text.split(';').next().unwrap_or_default();
        out.push((
            "Range check".to_owned(),
            held.trim_end_matches('.').to_owned(),
            item.standing.label().to_owned(),
        ));
    }
    out
}

/// How long a pack lasts, in a line.
fn lasts(reserve: f64, endurance: &Endurance) -> String {
    match endurance.minutes {
        Some(minutes) => {
            let with = endurance.with.map(|with| format!(" {with}")).unwrap_or_default();
            format!("{minutes}{with}, {:.0} % left then", reserve * 100.0)
        }
        None => endurance.sentence.clone(),
    }
}

/// The order of a pre-flight check (common practice, no source); what doesn't stand is marked.
fn before(list: &Commission, fit: &Fit) -> Vec<(String, String)> {
    let mark = |proof: Proof| {
        let standing = list.item(ItemAbout::Proof(proof)).map(|item| item.standing);
        match standing {
            Some(standing) if standing.counts() => String::new(),
            Some(Standing::Failed) => " It did not hold last time: find the cause before flying.".to_owned(),
            Some(Standing::Lapsed) => " Lapsed: do it again.".to_owned(),
            _ => " Not done yet.".to_owned(),
        }
    };
    let rotors = matches!(fit.craft, Sort::Helicopter | Sort::Multirotor);
    let hold = match fit.power {
        Power::None => "Aircraft held, launch clear.",
        _ if rotors => "Motor unplugged or blades off for what comes before the flight.",
        _ => "Propeller off, or the aircraft held fast.",
    };
    let bare = |text: &str| (text.to_owned(), String::new());
    // On one line, so that the card has room.
    let proven = |text: &str, proof: Proof| (format!("{text}{}", mark(proof)), String::new());
    let mut out = vec![
        bare("Airframe, linkages, balance; packs charged, fastened, right way round."),
        bare(hold),
        bare("Transmitter on: right model memory, switches and trims, throttle low."),
        proven("Receiver on: every control the right way, full and free.", Proof::Directions),
        proven("Voltage at the receiver with everything stirred.", Proof::Supply),
        proven(
            "Transmitter off: every channel goes to its place; on again: control is back within seconds.",
            Proof::Failsafe,
        ),
    ];
    let range = match fit.power {
        Power::None => "Range check at reduced power, as the maker says.",
        _ if rotors => {
            "Range check at reduced power, as the maker says: motor off, then running with the blades off."
        }
        _ => "Range check at reduced power, as the maker says: motor off, then running, aircraft held.",
    };
    out.push(proven(range, Proof::Range));
    out.push(bare("Full power set again and confirmed; timer and alarms set."));
    out.push(bare("Wind, people, airspace, where it comes down without a link. After landing: receiver off, then transmitter."));
    out
}
