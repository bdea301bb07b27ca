//! Commissioning: the list of an aircraft, the steps of a proof, what lapses what.

use fitting::commission::lapse::Rule as Row;
use fitting::commission::measure::MEASURES;
use fitting::commission::{Commission, Item as Listed, Lapse as Lapsed, Signature as Under, Standing};
use fitting::failsafe::ProofStep;
use register::field::Sort;
use register::fit::{Proof, Signed as Name};
use serde::Serialize;

use super::device::Short;
use super::fit::Finding;

/// The commissioning list of an aircraft with a transmitter.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct List {
    /// The aircraft.
    pub aircraft: Short,
    /// What sort of craft, in the owner's words.
    pub craft: Option<String>,
    /// The transmitter; `null` where none is known to fly it.
    pub transmitter: Option<Short>,
    /// Every transmitter that is meant to fly it.
    pub transmitters: Vec<Short>,
    /// The receivers in it.
    pub receivers: Vec<Short>,
    /// What was checked and what was not.
    pub sentence: String,
    /// The list.
    pub items: Vec<Item>,
    /// The key of the first item that isn't checked; `null` where all are.
    pub next: Option<String>,
    /// The last signature with this transmitter.
    pub signature: Option<Signature>,
}

/// One item of the list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// Its key: `link`, `outputs`, `proof:range`.
    pub key: String,
    /// What it is, in words.
    pub label: &'static str,
    /// `checked`, `warned`, `lapsed`, `open` or `failed`.
    pub standing: &'static str,
    /// The same in the words of pages.
    pub stands: &'static str,
    /// How it stands, in a sentence.
    pub text: String,
    /// What somebody noted when it did not hold.
    pub note: String,
    /// How long what is next takes at the bench, where data says so.
    pub minutes: Option<f64>,
    /// When it was last checked or written down.
    pub seen: Option<String>,
    /// The entry that says so.
    pub entry: Option<String>,
    /// What lapsed it, in the order of time.
    pub lapses: Vec<Lapse>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// What to do next about it; empty for nothing.
    pub next: String,
}

/// What lapsed an item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lapse {
    /// What happened, a word of the table.
    pub happening: &'static str,
    /// In words.
    pub text: String,
    /// What somebody noted with it.
    pub note: String,
    /// When.
    pub seen: Option<String>,
    /// Its entry; `null` for a day that began by itself.
    pub entry: Option<String>,
    /// Why that matters.
    pub why: String,
}

/// A signature.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Signature {
    /// When.
    pub seen: Option<String>,
    /// Its entry.
    pub entry: String,
    /// What was signed.
    #[serde(flatten)]
    pub signed: Signed,
    /// What was checked then and no longer is.
    pub since: Vec<String>,
    /// Whether everything was checked then and still is.
    pub stands: bool,
}

/// What was signed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signed {
    /// The items that were checked.
    pub checked: Vec<String>,
    /// The items that were not.
    pub not_checked: Vec<String>,
    /// Words about it.
    pub note: String,
}

impl List {
    /// A list as an answer.
    pub fn new(list: &Commission) -> List {
        let transmitter = |card| Short::new(card, Some(Sort::Transmitter));
        List {
            aircraft: Short::new(&list.aircraft, Some(Sort::Aircraft)),
            craft: list.craft.clone(),
            transmitter: list.transmitter.as_ref().map(transmitter),
            transmitters: list.transmitters.iter().map(transmitter).collect(),
            receivers: list.receivers.iter().map(|card| Short::new(card, Some(Sort::Receiver))).collect(),
            sentence: list.sentence.clone(),
            items: list.items.iter().map(Item::new).collect(),
            next: list.next().map(|item| item.about.key()),
            signature: list.signature.as_ref().map(Signature::new),
        }
    }
}

impl Item {
    fn new(item: &Listed) -> Item {
        Item {
            key: item.about.key(),
            label: item.about.label(),
            standing: item.standing.word(),
            stands: item.standing.label(),
            text: item.text.clone(),
            note: item.note.clone(),
            minutes: item.minutes.map(|minutes| minutes.0),
            seen: item.seen.and_then(super::moment),
            entry: item.entry.map(|entry| entry.to_string()),
            lapses: item.lapses.iter().map(Lapse::new).collect(),
            findings: Finding::all(&item.findings),
            next: item.next.clone(),
        }
    }
}

impl Lapse {
    fn new(lapse: &Lapsed) -> Lapse {
        Lapse {
            happening: lapse.event.happening.word(),
            text: lapse.event.text.clone(),
            note: lapse.event.note.clone(),
            seen: super::moment(lapse.event.seen),
            entry: lapse.event.entry.map(|entry| entry.to_string()),
            why: lapse.why.to_owned(),
        }
    }
}

impl Signature {
    fn new(under: &Under) -> Signature {
        Signature {
            seen: super::moment(under.seen),
            entry: under.entry.to_string(),
            signed: Signed::new(&under.signed),
            since: under.since.iter().map(|about| about.key()).collect(),
            stands: under.stands,
        }
    }
}

impl Signed {
    /// What was signed, as an answer.
    pub fn new(signed: &Name) -> Signed {
        Signed {
            checked: signed.checked.clone(),
            not_checked: signed.unchecked.clone(),
            note: signed.note.clone(),
        }
    }
}

/// An aircraft among all.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Brief {
    /// The aircraft.
    pub aircraft: Short,
    /// The transmitter by which it is judged: the first that is meant to fly it.
    pub transmitter: Option<String>,
    /// What was checked and what was not.
    pub sentence: String,
    /// How many items there are.
    pub items: usize,
    /// How many of them are checked, those to look at again among them.
    pub checked: usize,
    /// How many of those are to be looked at again.
    pub warned: usize,
    /// How many have lapsed.
    pub lapsed: usize,
    /// How many are not checked.
    pub open: usize,
    /// How many did not hold.
    pub failed: usize,
    /// What the first thing to do is about; empty for nothing.
    pub first: String,
    /// The first thing to do.
    pub next: String,
}

impl Brief {
    /// An aircraft among all.
    pub fn new(list: &Commission) -> Brief {
        let of = |standing: Standing| list.items.iter().filter(|item| item.standing == standing).count();
        let next = list.next();
        Brief {
            aircraft: Short::new(&list.aircraft, Some(Sort::Aircraft)),
            transmitter: list.transmitter.as_ref().map(register::view::Card::label),
            sentence: list.sentence.clone(),
            items: list.items.len(),
            checked: list.items.iter().filter(|item| item.standing.counts()).count(),
            warned: of(Standing::Warned),
            lapsed: of(Standing::Lapsed),
            open: of(Standing::Open),
            failed: of(Standing::Failed),
            first: next.map(|item| item.about.label().to_owned()).unwrap_or_default(),
            next: next.map(|item| item.next.clone()).unwrap_or_default(),
        }
    }
}

/// The steps of a proof.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Steps {
    /// The aircraft.
    pub aircraft: Short,
    /// Its word.
    pub proof: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// The steps, in their order.
    pub steps: Vec<Step>,
    /// What may be measured and written down with it.
    pub measures: Vec<Measure>,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Its key.
    pub key: &'static str,
    /// What to do and what to see.
    pub text: String,
    /// What comes alive.
    pub energises: Vec<&'static str>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// A figure that belongs to a proof.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Measure {
    /// Its key.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The least it can be.
    pub low: f64,
    /// The most it can be.
    pub high: f64,
}

impl Steps {
    /// The steps of a proof on an aircraft.
    pub fn new(aircraft: &register::view::Card, proof: Proof, steps: &[ProofStep]) -> Steps {
        let measures = MEASURES.iter().filter(|one| one.proof == proof).map(|one| Measure {
            key: one.key,
            label: one.label,
            unit: one.unit,
            low: one.low,
            high: one.high,
        });
        Steps {
            aircraft: Short::new(aircraft, Some(Sort::Aircraft)),
            proof: proof.word(),
            label: proof.label(),
            steps: steps.iter().map(Step::new).collect(),
            measures: measures.collect(),
        }
    }
}

impl Step {
    fn new(step: &ProofStep) -> Step {
        Step {
            key: step.key,
            text: step.text.clone(),
            energises: step.energises.iter().map(|one| one.word()).collect(),
            cautions: step.cautions.clone(),
        }
    }
}

/// One row of the table: what lapses which proofs, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Rule {
    /// What happens, in a word.
    pub happening: &'static str,
    /// In words.
    pub what: String,
    /// The proofs that lapse by it.
    pub lapses: Vec<&'static str>,
    /// Why.
    pub why: String,
    /// Where this comes from.
    pub source: String,
}

impl Rule {
    /// A row of the table as an answer.
    pub fn new(row: &Row) -> Rule {
        Rule {
            happening: row.happening.word(),
            what: row.what.clone(),
            lapses: row.lapses.iter().map(|proof| proof.word()).collect(),
            why: row.why.clone(),
            source: row.source.clone(),
        }
    }
}

/// Work that was noted, and what it lapses by the table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Noted {
    /// On what; `null` for the workshop as a whole.
    pub device: Option<String>,
    /// The work's word.
    pub work: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// The row of the table; `null` where such work on such a device lapses nothing.
    pub rule: Option<Rule>,
    /// The aircraft that it is about.
    pub aircraft: Vec<String>,
}

/// What proofs are called, by their words.
pub fn proof_labels(words: &[&'static str]) -> Vec<&'static str> {
    words.iter().map(|word| Proof::from_word(word).map_or(*word, Proof::label)).collect()
}
