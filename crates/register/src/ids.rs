//! Model IDs: which receivers would obey a memory that isn't theirs, and which IDs to
//! give so that none does.
//!
//! A receiver *answers* a memory when it can pair with the memory's end, is paired with
//! it, and passes the model-ID rule against that very memory. Receivers of one aircraft
//! may answer together. A receiver in no aircraft counts as an aircraft of its own when
//! it holds an ID: somebody may switch it on at the bench.

mod allocate;
mod solve;

use std::collections::{BTreeMap, BTreeSet};

use crate::family::{CheckedAt, Family, ModelIdRule};
use crate::fleet::Fleet;
use crate::id::DeviceId;
use crate::rule::{self, Answer, Question, Rule, Status};
use crate::scene::Scene;
use crate::tally::Hearing;
use crate::verdict::model_id_words;
use crate::view::{Card, EndView, MemoryView, ModelId, ReceiverView, TransmitterView};

pub use self::allocate::{Allocation, GroupPlan, NoAllocation, Request, Step, SwitchedOff, allocate};

/// What lets a receiver answer a memory that isn't its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CollisionKind {
    /// It holds the memory's ID.
    SameId,
    /// The model-ID check is switched off.
    CheckOff,
    /// Its link family has no model-ID check.
    NoCheck,
}

impl CollisionKind {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            CollisionKind::SameId => "same_id",
            CollisionKind::CheckOff => "check_off",
            CollisionKind::NoCheck => "no_check",
        }
    }
}

/// A receiver that answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Answering {
    /// The receiver.
    pub receiver: Card,
    /// The aircraft it is in.
    pub aircraft: Option<Card>,
    /// The rules that are not known; none when it answers for certain.
    pub unknown: Vec<Rule>,
}

/// Receivers that would obey one transmitter although they shouldn't, or shouldn't
/// together.
#[derive(Clone, Debug, PartialEq)]
pub struct Collision {
    /// What lets them.
    pub kind: CollisionKind,
    /// The transmitter.
    pub transmitter: Card,
    /// The link family.
    pub family: String,
    /// The memory they obey: key and label. `None` when they obey every memory.
    pub memory: Option<(String, String)>,
    /// The aircraft that the memory flies.
    pub flies: Option<Card>,
    /// The receivers that answer out of turn; all that answer, where the memory flies
    /// none of their aircraft.
    pub receivers: Vec<Answering>,
    /// Whether it is certain, or only possible because some rule is not known.
    pub certain: bool,
    /// All that in a sentence.
    pub text: String,
}

/// What an answering receiver belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Aircraft(DeviceId),
    Loose(DeviceId),
}

fn place(receiver: &ReceiverView) -> Place {
    receiver.fitted_in().map_or(Place::Loose(receiver.card.id), Place::Aircraft)
}

/// The model IDs that an end may hold.
fn held(end: &EndView) -> Vec<ModelId> {
    end.model_id.options.iter().map(|(id, _)| *id).collect()
}

fn is_off(id: ModelId, off: Option<u32>) -> bool {
    match id {
        ModelId::Off => true,
        ModelId::Id(number) => off == Some(number),
    }
}

/// Whether the check is known to be off by what one side holds.
fn all_off(ids: &[ModelId], off: Option<u32>) -> bool {
    !ids.is_empty() && ids.iter().all(|id| is_off(*id, off))
}

/// The rules of a link before the model ID that are not known; `None` when one fails.
fn heard(transmitter: &EndView, receiver: &EndView) -> Option<Vec<Rule>> {
    let ruling = rule::judge(transmitter, &[], receiver, None);
    if [Question::CanPair, Question::Paired].iter().any(|one| ruling.answer(*one) == Answer::No) {
        return None;
    }
    let unknown = |rule: &Rule| ruling.status(*rule) == Some(Status::Unknown);
    Some(Rule::ALL.into_iter().filter(|rule| *rule != Rule::ModelId).filter(unknown).collect())
}

/// Who answers: by receiver's place in the fleet, the rules not known.
type Crowd = BTreeMap<usize, Vec<Rule>>;

fn answer(crowd: &mut Crowd, receiver: usize, unknown: Vec<Rule>) {
    // Through several ends the surest counts.
    let better = crowd.get(&receiver).is_none_or(|have| unknown.len() < have.len());
    if better {
        crowd.insert(receiver, unknown);
    }
}

/// What one transmitter reaches, per family.
#[derive(Default)]
struct Reach {
    /// By memory, those that answer it.
    memories: BTreeMap<usize, Crowd>,
    /// Those with the check off, and the aircraft that the memories on these ends fly.
    off: Crowd,
    flown: BTreeSet<DeviceId>,
    /// Those that no check keeps.
    unchecked: Crowd,
}

/// The aircraft that a memory is known to fly.
fn flown(memory: &MemoryView) -> Option<DeviceId> {
    memory.aircraft.one().copied().flatten()
}

fn reach<'a>(hearing: &mut Hearing, fleet: &'a Fleet, at: usize) -> BTreeMap<&'a str, Reach> {
    let transmitter = &fleet.transmitters[at];
    let mut by_family: BTreeMap<&str, Reach> = BTreeMap::new();
    for (end, t) in transmitter.ends.iter().enumerate() {
        for found in hearing.ends(fleet, at, end) {
            let receiver = found.receiver as usize;
            let (view, r) = (&fleet.receivers[receiver], found.view(fleet));
            let Some(rules) = rule::rules_for(t, r) else { continue };
            let Some(unknown) = heard(t, r) else { continue };
            let reach = by_family.entry(&rules.name).or_default();
            let ids = held(r);
            let ModelIdRule::Checked { at: checked_at, off, .. } = rules.model_id else {
                if view.fitted_in().is_some() {
                    answer(&mut reach.unchecked, receiver, unknown);
                }
                continue;
            };
            let memories = transmitter.memories.iter().enumerate();
            let memories = memories.filter(|(_, memory)| memory.may_choose(&t.end.end));
            if checked_at == CheckedAt::Receiver && all_off(&ids, off) {
                if view.fitted_in().is_some() {
                    answer(&mut reach.off, receiver, unknown);
                    reach.flown.extend(memories.filter_map(|(_, memory)| flown(memory)));
                }
                continue;
            }
            if view.fitted_in().is_none() && !ids.iter().any(|id| !is_off(*id, off)) {
                continue;
            }
            for (which, memory) in memories {
                let one = std::slice::from_ref(memory);
                let status = rule::model_id(rules, &t.end.end, one, &ids, None).status;
                if status == Status::Fail {
                    continue;
                }
                let mut unknown = unknown.clone();
                // A memory that may choose either end is not known to choose this one.
                let decided = transmitter.ends.len() == 1 || memory.end.one().is_some();
                if status == Status::Unknown || !decided {
                    unknown.push(Rule::ModelId);
                }
                answer(reach.memories.entry(which).or_default(), receiver, unknown);
            }
        }
    }
    by_family
}

/// Every collision of a fleet: by transmitter, family, and memory.
pub fn collisions(scene: &Scene, fleet: &Fleet) -> Vec<Collision> {
    let mut hearing = Hearing::of(fleet);
    let mut found = Vec::new();
    for (at, transmitter) in fleet.transmitters.iter().enumerate() {
        for (family, reach) in reach(&mut hearing, fleet, at) {
            let teller = Teller { scene, fleet, transmitter, family };
            for (memory, crowd) in &reach.memories {
                found.extend(teller.of_memory(&transmitter.memories[*memory], crowd));
            }
            found.extend(teller.of_crowd(CollisionKind::CheckOff, &reach.off, &reach.flown));
            found.extend(teller.of_crowd(CollisionKind::NoCheck, &reach.unchecked, &BTreeSet::new()));
        }
    }
    found
}

/// Puts collisions of one transmitter and family into words.
struct Teller<'a> {
    scene: &'a Scene<'a>,
    fleet: &'a Fleet,
    transmitter: &'a TransmitterView,
    family: &'a str,
}

impl Teller<'_> {
    fn rules(&self) -> Option<&Family> {
        self.scene.register.family(self.family).map(AsRef::as_ref)
    }

    fn card(&self, aircraft: DeviceId) -> Option<Card> {
        self.scene.device(aircraft).map(crate::view::card)
    }

    fn places(&self, crowd: &Crowd, sure: bool, own: &BTreeSet<DeviceId>) -> usize {
        let own = own.iter().map(|aircraft| Place::Aircraft(*aircraft));
        let there = crowd.iter().filter(|(_, unknown)| !sure || unknown.is_empty());
        let there = there.map(|(receiver, _)| place(&self.fleet.receivers[*receiver]));
        own.chain(there).collect::<BTreeSet<_>>().len()
    }

    fn answering<'a>(&'a self, crowd: impl Iterator<Item = (&'a usize, &'a Vec<Rule>)>) -> Vec<Answering> {
        crowd
            .map(|(at, unknown)| {
                let receiver = &self.fleet.receivers[*at];
                Answering {
                    receiver: receiver.card.clone(),
                    aircraft: receiver.fitted_in().and_then(|id| self.card(id)),
                    unknown: unknown.clone(),
                }
            })
            .collect()
    }

    fn of_memory(&self, memory: &MemoryView, crowd: &Crowd) -> Option<Collision> {
        let aircraft = flown(memory);
        let own: BTreeSet<DeviceId> = aircraft.into_iter().collect();
        let at_once = aircraft.is_none().then(|| self.at_once(memory, crowd));
        let crowd = at_once.as_ref().unwrap_or(crowd);
        if self.places(crowd, false, &own) < 2 {
            return None;
        }
        let own_place = aircraft.map(Place::Aircraft);
        let strange = crowd.iter().filter(|(at, _)| Some(place(&self.fleet.receivers[**at])) != own_place);
        let receivers = self.answering(strange);
        let certain = self.places(crowd, true, &own) >= 2;
        let off = match self.rules().map(|rules| &rules.model_id) {
            Some(ModelIdRule::Checked { at: CheckedAt::Transmitter, off, .. }) => {
                all_off(&memory.model_id.options.iter().map(|(id, _)| *id).collect::<Vec<_>>(), *off)
            }
            _ => false,
        };
        let kind = if off { CollisionKind::CheckOff } else { CollisionKind::SameId };
        let text = self.memory_text(memory, &receivers, certain, off, aircraft.is_some());
        Some(Collision {
            kind,
            transmitter: self.transmitter.card.clone(),
            family: self.family.to_owned(),
            memory: Some((memory.key.clone(), memory.label.clone())),
            flies: aircraft.and_then(|id| self.card(id)),
            receivers,
            certain,
            text,
        })
    }

    /// Those of a crowd that can obey one and the same value of a memory, together with
    /// another: a memory whose ID is open still holds one ID only. (That it may be
    /// switched off is left aside.)
    fn at_once(&self, memory: &MemoryView, crowd: &Crowd) -> Crowd {
        let options: BTreeSet<ModelId> = memory.model_id.options.iter().map(|(id, _)| *id).collect();
        if options.len() == 1 {
            return crowd.clone();
        }
        let ids = |receiver: usize| {
            self.fleet.receivers[receiver].ends.iter().flat_map(held).collect::<BTreeSet<_>>()
        };
        let held: BTreeMap<usize, BTreeSet<ModelId>> = crowd.keys().map(|at| (*at, ids(*at))).collect();
        if options.is_empty() && held.values().all(BTreeSet::is_empty) {
            return crowd.clone();
        }
        let values = if options.is_empty() { held.values().flatten().copied().collect() } else { options };
        let off = match self.rules().map(|rules| &rules.model_id) {
            Some(ModelIdRule::Checked { off, .. }) => *off,
            _ => None,
        };
        let mut together = Crowd::new();
        for value in values {
            let answers = |at: &usize| {
                let ids = &held[at];
                ids.is_empty() || is_off(value, off) || ids.contains(&value)
            };
            let some: Crowd =
                crowd.iter().filter(|(at, _)| answers(at)).map(|(at, open)| (*at, open.clone())).collect();
            if self.places(&some, false, &BTreeSet::new()) >= 2 {
                together.extend(some);
            }
        }
        together
    }

    fn memory_text(
        &self,
        memory: &MemoryView,
        receivers: &[Answering],
        certain: bool,
        off: bool,
        flies: bool,
    ) -> String {
        let verb = if certain { "would be obeyed" } else { "may be obeyed" };
        let end = if flies { " too" } else { " together" };
        let shown: Vec<String> =
            memory.model_id.options.iter().map(|(id, _)| model_id_words(*id, self.rules())).collect();
        let reason = if off {
            "the check of the memory is off".to_owned()
        } else if let (true, [id]) = (certain, shown.as_slice()) {
            let all = if receivers.len() == 1 { "both" } else { "all" };
            format!("{all} hold {id}")
        } else {
            not_known(receivers)
        };
        let (label, transmitter) = (&memory.label, self.transmitter.card.label());
        format!("Memory {label} on {transmitter} {verb} by {}{end}: {reason}.", names(receivers))
    }

    fn of_crowd(&self, kind: CollisionKind, crowd: &Crowd, own: &BTreeSet<DeviceId>) -> Option<Collision> {
        if crowd.is_empty() || self.places(crowd, false, own) < 2 {
            return None;
        }
        let is_sure = crowd.values().any(Vec::is_empty);
        let certain = is_sure && self.places(crowd, true, own) >= 2;
        let receivers = self.answering(crowd.iter());
        let transmitter = self.transmitter.card.label();
        let verb = match (certain, receivers.len()) {
            (true, 1) => "obeys",
            (true, _) => "obey",
            (false, _) => "may obey",
        };
        let why = match kind {
            CollisionKind::NoCheck => format!("{} has no model-ID check", self.family),
            _ if receivers.len() == 1 => "its model-ID check is off".to_owned(),
            _ => "their model-ID checks are off".to_owned(),
        };
        let tail = if certain { String::new() } else { format!("; {}", not_known(&receivers)) };
        let text = format!("{} {verb} every memory of {transmitter}: {why}{tail}.", names(&receivers));
        Some(Collision {
            kind,
            transmitter: self.transmitter.card.clone(),
            family: self.family.to_owned(),
            memory: None,
            flies: None,
            receivers,
            certain,
            text,
        })
    }
}

/// How many receivers a sentence names.
const NAMED: usize = 6;

/// `R4 (Swift)`, `R4 (Swift) and R5 (no aircraft)`.
fn names(receivers: &[Answering]) -> String {
    let name = |one: &Answering| {
        let aircraft = one.aircraft.as_ref().map_or_else(|| "no aircraft".to_owned(), Card::spoken);
        format!("{} ({aircraft})", one.receiver.label())
    };
    listed(&receivers.iter().map(name).collect::<Vec<_>>())
}

/// `a`, `a and b`, `a, b and c`, `a, b and 9 more`.
fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] if words.len() <= NAMED => format!("{} and {last}", first.join(", ")),
        many => format!("{} and {} more", many[..NAMED - 1].join(", "), many.len() - (NAMED - 1)),
    }
}

fn not_known(receivers: &[Answering]) -> String {
    let rules: BTreeSet<Rule> = receivers.iter().flat_map(|one| one.unknown.iter().copied()).collect();
    let labels: Vec<String> = rules.into_iter().map(|rule| rule.label().to_owned()).collect();
    if labels.is_empty() {
        return "what is written down leaves it open".to_owned();
    }
    format!("not known: {}", listed(&labels))
}
