//! The commissioning list of an aircraft: every item with how it is known and when, and what lapsed
//! by what.

mod items;
pub mod lapse;
pub mod measure;

use register::fit::{Part, Proof, Signed};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::register::Register;
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::view::Card;
use units::{Minutes, Volts};

use crate::finding::Finding;
use crate::part::Problem;

/// Where an item stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// It was checked, and nothing since has lapsed it.
    Checked,
    /// It was checked, and there is something to look at.
    Warned,
    /// It was checked, but something has happened since.
    Lapsed,
    /// It was not checked, or isn't known.
    Open,
    /// It was checked, and did not hold.
    Failed,
}

impl Standing {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Standing::Checked => "checked",
            Standing::Warned => "warned",
            Standing::Lapsed => "lapsed",
            Standing::Open => "open",
            Standing::Failed => "failed",
        }
    }

    /// The words on pages and cards.
    pub fn label(self) -> &'static str {
        match self {
            Standing::Checked => "checked",
            Standing::Warned => "checked, look again",
            Standing::Lapsed => "lapsed",
            Standing::Open => "not checked",
            Standing::Failed => "did not hold",
        }
    }

    /// Whether it counts as checked.
    pub fn counts(self) -> bool {
        matches!(self, Standing::Checked | Standing::Warned)
    }
}

/// What an item is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum About {
    /// The link, as the register judges it.
    Link,
    /// A part of the fit.
    Part(Part),
    /// A proof on the aircraft.
    Proof(Proof),
}

impl About {
    /// Every item, in the order in which the work is done.
    pub const ALL: [About; 9] = [
        About::Link,
        About::Part(Part::Outputs),
        About::Proof(Proof::Directions),
        About::Part(Part::Supply),
        About::Proof(Proof::Supply),
        About::Part(Part::Failsafe),
        About::Proof(Proof::Failsafe),
        About::Part(Part::Antennas),
        About::Proof(Proof::Range),
    ];

    /// The key in JSON and in signatures: `link`, `outputs`, `proof:range`.
    pub fn key(self) -> String {
        match self {
            About::Link => "link".to_owned(),
            About::Part(part) => part.word().to_owned(),
            About::Proof(proof) => format!("proof:{}", proof.word()),
        }
    }

    /// The item with this key.
    pub fn from_key(key: &str) -> Option<About> {
        About::ALL.into_iter().find(|about| about.key() == key)
    }

    /// The words on pages and cards.
    pub fn label(self) -> &'static str {
        match self {
            About::Link => "link",
            About::Part(Part::Outputs) => "outputs written down",
            About::Part(Part::Supply) => "supply reckoned",
            About::Part(Part::Failsafe) => "failsafe written down",
            About::Part(Part::Antennas) => "antennas written down",
            About::Proof(proof) => proof.label(),
        }
    }
}

/// What lapsed a proof.
#[derive(Clone, Debug, PartialEq)]
pub struct Lapse {
    /// What happened.
    pub event: lapse::Event,
    /// Why that matters, by the table.
    pub why: &'static str,
}

/// One item of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// What it is about.
    pub about: About,
    /// Where it stands.
    pub standing: Standing,
    /// How it stands, in a sentence.
    pub text: String,
    /// What somebody noted when it did not hold; on no card.
    pub note: String,
    /// When it was last checked or written down.
    pub seen: Option<Moment>,
    /// The entry that says so.
    pub entry: Option<EntryId>,
    /// What lapsed it, in the order of time; the first did.
    pub lapses: Vec<Lapse>,
    /// What a check of its part found.
    pub findings: Vec<Finding>,
    /// What to do next about it; empty for nothing.
    pub next: String,
    /// How long that takes at the bench, where data says so (`register::minutes`).
    pub minutes: Option<Minutes>,
}

/// Somebody signed.
#[derive(Clone, Debug, PartialEq)]
pub struct Signature {
    /// When.
    pub seen: Moment,
    /// Its entry.
    pub entry: EntryId,
    /// What was said.
    pub signed: Signed,
    /// Items that were checked then and no longer are.
    pub since: Vec<About>,
    /// Whether everything was checked then and still is.
    pub stands: bool,
}

/// An aircraft's list with one transmitter.
#[derive(Clone, Debug, PartialEq)]
pub struct Commission {
    /// The aircraft.
    pub aircraft: Card,
    /// What sort of craft, in the owner's words.
    pub craft: Option<String>,
    /// The transmitter; `None` where none is known to fly it.
    pub transmitter: Option<Card>,
    /// Every transmitter that is meant to fly it.
    pub transmitters: Vec<Card>,
    /// The receivers in it.
    pub receivers: Vec<Card>,
    /// The answer: what was checked and what was not.
    pub sentence: String,
    /// The list.
    pub items: Vec<Item>,
    /// The last signature with this transmitter.
    pub signature: Option<Signature>,
}

impl Commission {
    /// The item of a kind.
    pub fn item(&self, about: About) -> Option<&Item> {
        self.items.iter().find(|item| item.about == about)
    }

    /// The minutes of all that is next, as far as they are known.
    pub fn minutes(&self) -> Minutes {
        let known = self.items.iter().filter(|item| !item.standing.counts()).filter_map(|item| item.minutes);
        Minutes(known.map(|minutes| minutes.0).sum())
    }

    /// The next thing to do: the first item that isn't checked.
    pub fn next(&self) -> Option<&Item> {
        self.items.iter().find(|item| !item.standing.counts())
    }

    /// What a signature now would say.
    pub fn signing(&self, note: &str) -> Signed {
        let of = |is_checked: bool| {
            let those = self.items.iter().filter(|item| item.standing.counts() == is_checked);
            those.map(|item| item.about.key()).collect()
        };
        Signed {
            transmitter: self.transmitter.as_ref().map(|card| card.id),
            checked: of(true),
            unchecked: of(false),
            note: note.to_owned(),
        }
    }
}

/// How the parts of an aircraft's fit were read and what their checks found.
#[derive(Clone, Debug, PartialEq)]
pub struct PartState {
    /// Which part.
    pub part: Part,
    /// When it was written down, and its entry.
    pub seen: Moment,
    /// Its entry.
    pub entry: EntryId,
    /// How many texts stand; more than one is a clash between copies of the workshop.
    pub texts: usize,
    /// Of a supply, the lowest voltage at which its receiver surely works.
    pub works_to: Option<Volts>,
    /// The answer in a sentence and what was found, or why it can't be read.
    pub read: Result<(String, Vec<Finding>), Vec<Problem>>,
}

/// The transmitters that are meant to fly an aircraft, in the order of labels.
pub fn transmitters(fleet: &Fleet, aircraft: DeviceId) -> Vec<Card> {
    let mut cards: Vec<Card> = Vec::new();
    for (t, r) in fleet.wanted() {
        if fleet.receivers[r].fitted_in() == Some(aircraft) {
            let card = &fleet.transmitters[t].card;
            if !cards.iter().any(|have| have.id == card.id) {
                cards.push(card.clone());
            }
        }
    }
    for view in &fleet.transmitters {
        let flies = view.memories.iter().any(|memory| memory.flies(aircraft));
        if flies && !cards.iter().any(|have| have.id == view.card.id) {
            cards.push(view.card.clone());
        }
    }
    cards
}

/// The list of an aircraft with a transmitter; without one named, with the first that is meant to
/// fly it. `None` when there is no such aircraft.
pub fn commission(
    scene: &Scene,
    fleet: &Fleet,
    aircraft: DeviceId,
    transmitter: Option<DeviceId>,
    parts: &[PartState],
    now: Moment,
) -> Option<Commission> {
    items::list(scene, fleet, aircraft, transmitter, parts, now)
}

/// The last time that a proof was tried, with a transmitter where that matters.
pub fn tried(
    register: &Register,
    aircraft: DeviceId,
    proof: Proof,
    transmitter: Option<DeviceId>,
) -> Vec<&register::trail::Mark<register::fit::Proved>> {
    let same = |one: Option<DeviceId>| {
        proof == Proof::Supply
            || one.map(|id| register.canonical(id)) == transmitter.map(|id| register.canonical(id))
    };
    let Some(log) = register.fit(aircraft) else { return Vec::new() };
    let mut tried: Vec<_> =
        log.proofs.iter().filter(|mark| mark.what.proof == proof && same(mark.what.transmitter)).collect();
    tried.sort_by_key(|mark| (mark.seen, mark.clock, mark.entry));
    tried
}

/// An order of moments: seen, then clock.
fn at(seen: Moment, clock: Clock) -> (Moment, Clock) {
    (seen, clock)
}
