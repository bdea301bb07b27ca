//! What stands on the cards and labels.

mod bench;
mod field;
mod label;

pub use bench::bench;
pub use field::field;
pub use label::label;

use register::fleet::Fleet;
use register::id::DeviceId;
use register::scene::Scene;
use register::time::Moment;
use register::verdict::model_id_words;
use register::view::{EndView, ReceiverView, TransmitterView};

use crate::aircraft::Fit;
use crate::card::{Block, Code};
use crate::commission::Commission;
use crate::finding::Weight;
use crate::qr::{Symbol, TooLong};

/// What cards and labels are made of.
#[derive(Clone, Copy, Debug)]
pub struct About<'a> {
    /// The register.
    pub scene: &'a Scene<'a>,
    /// The fleet.
    pub fleet: &'a Fleet,
    /// The workshop's name.
    pub workshop: &'a str,
    /// Where the workshop's pages are, without a slash at its end, where sharing has set one.
    pub address: Option<&'a str>,
    /// When it is printed.
    pub now: Moment,
}

impl About<'_> {
    fn foot(&self) -> String {
        format!(
            "{}, printed {} UTC. Local rules, the site's and the makers' manuals prevail.",
            self.workshop,
            self.now.date_minute()
        )
    }

    /// The text of a device's square: code, facts, and the address of its page where there is one.
    fn code(&self, device: DeviceId, facts: &[String]) -> Result<Code, TooLong> {
        let address = self.address.map(|address| format!("\n{address}/device/{device}")).unwrap_or_default();
        let text = in_square(facts, MOST_IN_SQUARE.saturating_sub(address.len())) + &address;
        Ok(Code { symbol: Symbol::of(&text)?, text })
    }
}

/// A square of so many bytes still has modules of a third of a millimetre on a label 25 mm high (ISO/IEC
/// 18004: version 12 at error correction M holds 287); smaller ones a telephone often can't read.
const MOST_IN_SQUARE: usize = 287;

/// As many facts as there is room for, a line each; the first, the device's code, always, cut short where
/// it must be.
fn in_square(facts: &[String], room: usize) -> String {
    let mut text = String::new();
    for (at, fact) in facts.iter().enumerate() {
        if at == 0 {
            text.extend(fact.chars().take(60));
        } else if text.len() + 1 + fact.len() <= room {
            text.push('\n');
            text.push_str(fact);
        }
    }
    text
}

/// The facts of a receiver's or transmitter's end, in a few words each. The link secret is none of
/// them.
fn end_words(end: &EndView) -> Vec<String> {
    let mut out = Vec::new();
    let mut add = |words: Option<&String>| out.extend(words.cloned());
    add(end.family.one());
    add(end.band.one());
    add(end.region.one());
    if let Some(version) = end.firmware.one() {
        let seen = end.firmware.source().map(|source| source.seen.date()).unwrap_or_default();
        out.push(format!("firmware {version} ({seen})"));
    }
    if let Some(id) = end.model_id.one() {
        out.push(format!("model ID {}", model_id_words(*id, end.rules.as_deref())));
    }
    out
}

/// How and when a fact is known, in small words.
fn known(source: Option<register::view::Source>) -> String {
    source.map(|source| format!("{} {}", source.how.word(), source.seen.date())).unwrap_or_default()
}

fn receiver_facts(receiver: &ReceiverView) -> Vec<(String, String, String)> {
    let name = format!("Receiver {}", receiver.card.label());
    let mut out = Vec::new();
    for end in &receiver.ends {
        let name = if receiver.ends.len() > 1 { format!("{name}, {}", end.end.end) } else { name.clone() };
        let words = end_words(end);
        let words = if words.is_empty() { "nothing known".to_owned() } else { words.join(", ") };
        out.push((name, words, known(end.firmware.source().or(end.family.source()))));
    }
    if out.is_empty() {
        out.push((name, "nothing known".to_owned(), String::new()));
    }
    out
}

/// The model memories by which a transmitter flies an aircraft.
fn memories(transmitter: &TransmitterView, aircraft: DeviceId) -> Vec<String> {
    let flying = transmitter.memories.iter().filter(|memory| memory.flies(aircraft));
    flying
        .map(|memory| match memory.model_id.one() {
            Some(id) => format!("memory {}, model ID {}", memory.label, model_id_words(*id, None)),
            None => format!("memory {}, model ID not known", memory.label),
        })
        .collect()
}

/// What aircraft, transmitter and receivers are, as facts.
fn who(about: &About, list: &Commission) -> Vec<(String, String, String)> {
    let mut out = vec![(
        "Aircraft".to_owned(),
        match &list.craft {
            Some(craft) => format!("{}, {craft}", list.aircraft.full()),
            None => list.aircraft.full(),
        },
        list.aircraft.state.word().to_owned(),
    )];
    match list.transmitter.as_ref().and_then(|card| about.fleet.transmitter(card.id)) {
        Some(view) => {
            let memories = memories(view, list.aircraft.id);
            let which =
                if memories.is_empty() { "no memory known for it".to_owned() } else { memories.join("; ") };
            out.push(("Transmitter".to_owned(), format!("{}, {which}", view.card.full()), String::new()));
        }
        None => out.push(("Transmitter".to_owned(), "none is known to fly it".to_owned(), String::new())),
    }
    for receiver in about.fleet.fitted_in(list.aircraft.id) {
        out.extend(receiver_facts(receiver));
    }
    out
}

/// Faults and warnings of every part, a box each.
fn findings(list: &Commission) -> Vec<(String, String)> {
    list.items
        .iter()
        .flat_map(|item| &item.findings)
        .filter(|finding| finding.weight > Weight::Note)
        .map(|finding| (format!("{}: {}", finding.weight.word(), finding.text), finding.mend.clone()))
        .collect()
}

/// What the failsafe does, a row a channel.
fn failsafe_rows(fit: &Fit) -> Vec<Vec<String>> {
    let Some(Ok((failsafe, _))) = fit.failsafe.as_ref().map(|one| one.read.as_ref()) else {
        return Vec::new();
    };
    let row = |channel: &crate::failsafe::Channel| {
        let action = channel.action.word().replace('-', " ");
        let value = channel.value.map(|value| format!(" {} µs", value.0)).unwrap_or_default();
        vec![channel.number.to_string(), channel.function.clone(), format!("{action}{value}")]
    };
    failsafe.channels.iter().map(row).collect()
}

fn table(header: &[&str], rows: Vec<Vec<String>>) -> Block {
    Block::Table(header.iter().map(|&one| one.to_owned()).collect(), rows)
}
