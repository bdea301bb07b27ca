//! A new allocation of model IDs that changes as few of them as can be.

use std::collections::{BTreeMap, BTreeSet};

use units::Minutes;

use crate::family::{CheckedAt, Family, ModelIdRule, squeeze};
use crate::field::{Field, Part};
use crate::fleet::{Fleet, natural};
use crate::id::DeviceId;
use crate::rule;
use crate::scene::{Change, Scene};
use crate::tally::Hearing;
use crate::time::Moment;
use crate::value::Value;
use crate::verdict::model_id_words;
use crate::view::{Card, EndView, ModelId};

use super::solve::{Clash, Problem, Solved};
use super::{Collision, Place, all_off, collisions, flown, heard, held, is_off, listed};

/// What to do about checks that are switched off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SwitchedOff {
    /// Switch them on again, with the ID of their aircraft.
    #[default]
    Restore,
    /// Leave them alone; what they collide with remains.
    LeaveAlone,
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// The link family, by name.
    pub family: String,
    /// What to do about checks that are switched off.
    pub switched_off: SwitchedOff,
    /// How many branches the search may look at; 100,000 take about a second.
    pub node_limit: u64,
}

/// What shares one ID: an aircraft's receivers and the memories that fly it, or a
/// receiver in no aircraft.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupPlan {
    /// The aircraft, or the receiver in none.
    pub card: Card,
    /// Its ID from now on.
    pub id: u32,
    /// How many receiver ends and memories hold it.
    pub members: usize,
    /// How many of them must be set.
    pub changes: usize,
}

/// One ID to set.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The receiver, or the transmitter of the memory.
    pub device: Card,
    /// The receiver's end or the memory.
    pub part: Part,
    /// The aircraft (or loose receiver) whose ID it is.
    pub group: Card,
    /// What it holds now, in words.
    pub before: String,
    /// What it is to hold.
    pub after: u32,
    /// Whether this switches its check on again.
    pub switches_on: bool,
    /// How long it takes.
    pub minutes: Minutes,
    /// The change, ready to be tried or recorded.
    pub change: Change,
    /// The step in a sentence.
    pub text: String,
}

/// An allocation of model IDs.
#[derive(Clone, Debug, PartialEq)]
pub struct Allocation {
    /// The link family.
    pub family: String,
    /// Every group with its ID, in the order of labels.
    pub groups: Vec<GroupPlan>,
    /// What to set, in the same order.
    pub steps: Vec<Step>,
    /// Whether it is proven that no allocation changes fewer.
    pub proven: bool,
    /// How long all steps take.
    pub minutes: Minutes,
    /// Collisions of this family that model IDs can't settle.
    pub remaining: Vec<Collision>,
    /// The answer in a sentence.
    pub text: String,
}

/// Why there is no allocation.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoAllocation {
    /// Nobody has given the family's file.
    #[error("there is no family file for `{0}`; add the file, or name one of the workshop's families")]
    NoFamily(String),
    /// The family has no IDs.
    #[error("{0} has no model-ID check, so there are no IDs to give")]
    NoIds(String),
    /// Too few IDs.
    #[error(
        "{family} has {ids} model IDs, too few for {groups}, which transmitters can mistake for one another; \
         part some of them (pair them with fewer transmitters, or take memories away)"
    )]
    TooFew {
        /// The family.
        family: String,
        /// How many IDs it has.
        ids: u64,
        /// The groups that clash, in words.
        groups: String,
        /// Their labels.
        labels: Vec<String>,
    },
    /// The search ended too early.
    #[error("no allocation was found for {groups} within {limit} branches; allow more")]
    GaveUp {
        /// The groups, in words.
        groups: String,
        /// The limit.
        limit: u64,
    },
}

/// Where an ID is held.
struct Member<'a> {
    device: &'a Card,
    part: Part,
    /// What to call it within a sentence.
    name: String,
    now: Vec<ModelId>,
    /// Whether its own check is off.
    off: bool,
}

struct Group<'a> {
    card: Card,
    members: Vec<Member<'a>>,
}

/// The rule of the family in hand.
#[derive(Clone, Copy)]
struct IdRule<'a> {
    family: &'a Family,
    at: CheckedAt,
    low: u32,
    high: u32,
    off: Option<u32>,
}

struct Planner<'a> {
    scene: &'a Scene<'a>,
    fleet: &'a Fleet,
    rule: IdRule<'a>,
    switched_off: SwitchedOff,
}

impl<'a> Planner<'a> {
    fn is_family(&self, end: &EndView) -> bool {
        end.rules.as_deref().is_some_and(|rules| squeeze(&rules.name) == squeeze(&self.rule.family.name))
    }

    /// Whether an end may turn out to speak the family.
    fn may_be_family(&self, end: &EndView) -> bool {
        let name = squeeze(&self.rule.family.name);
        let open =
            end.keys.family.is_empty() || (end.keys.family.len() > 1 && end.keys.family.contains(&name));
        self.is_family(end) || open
    }

    fn check_off(&self, side: CheckedAt, ids: &[ModelId]) -> bool {
        self.rule.at == side && all_off(ids, self.rule.off)
    }

    fn left_alone(&self, off: bool) -> bool {
        off && self.switched_off == SwitchedOff::LeaveAlone
    }

    /// The group of a receiver end; `None` when it has no part in the allocation.
    fn place_of(&self, receiver: usize, end: &EndView) -> Option<Place> {
        let ids = held(end);
        if !self.is_family(end) || self.left_alone(self.check_off(CheckedAt::Receiver, &ids)) {
            return None;
        }
        let place = super::place(&self.fleet.receivers[receiver]);
        let has_id = ids.iter().any(|id| !is_off(*id, self.rule.off));
        (has_id || matches!(place, Place::Aircraft(_))).then_some(place)
    }

    fn groups(&self) -> BTreeMap<Place, Group<'a>> {
        let mut groups: BTreeMap<Place, Group<'a>> = BTreeMap::new();
        let fleet = self.fleet;
        let mut join = |place: Place, member: Member<'a>| {
            let (Place::Aircraft(id) | Place::Loose(id)) = place;
            let card = || self.scene.device(id).map_or_else(|| nameless(id), crate::view::card);
            let group = groups.entry(place).or_insert_with(|| Group { card: card(), members: Vec::new() });
            group.members.push(member);
        };
        for (at, receiver) in fleet.receivers.iter().enumerate() {
            for end in &receiver.ends {
                let Some(place) = self.place_of(at, end) else { continue };
                let now = held(end);
                let label = receiver.card.label();
                let name =
                    if receiver.ends.len() == 1 { label } else { format!("{label} ({})", end.end.end) };
                let part = Part::End(end.end.end.clone());
                let off = self.check_off(CheckedAt::Receiver, &now);
                join(place, Member { device: &receiver.card, part, name, now, off });
            }
        }
        for transmitter in &fleet.transmitters {
            for memory in &transmitter.memories {
                let on_family = |end: &&EndView| self.may_be_family(end) && memory.may_choose(&end.end.end);
                let Some(aircraft) = flown(memory) else { continue };
                if !transmitter.ends.iter().any(|end| on_family(&end)) {
                    continue;
                }
                let now: Vec<ModelId> = memory.model_id.options.iter().map(|(id, _)| *id).collect();
                let off = self.check_off(CheckedAt::Transmitter, &now);
                if self.left_alone(off) {
                    continue;
                }
                let name = format!("memory {} on {}", memory.label, transmitter.card.label());
                let part = Part::Memory(memory.key.clone());
                join(Place::Aircraft(aircraft), Member { device: &transmitter.card, part, name, now, off });
            }
        }
        groups
    }

    /// Which groups a transmitter could mistake for one another.
    fn clashes(&self, at: &BTreeMap<Place, usize>, problem: &mut Problem) {
        let mut hearing = Hearing::of(self.fleet);
        for (t, transmitter) in self.fleet.transmitters.iter().enumerate() {
            for (e, end) in transmitter.ends.iter().enumerate() {
                if !self.may_be_family(end) {
                    continue;
                }
                let mut hear: BTreeSet<usize> = BTreeSet::new();
                for found in hearing.ends(self.fleet, t, e) {
                    let receiver = found.view(self.fleet);
                    let Some(place) = self.place_of(found.receiver as usize, receiver) else { continue };
                    if let Some(group) = at.get(&place)
                        && rule::rules_for(end, receiver).is_some()
                        && heard(end, receiver).is_some()
                    {
                        hear.insert(*group);
                    }
                }
                let memories = transmitter.memories.iter().filter(|memory| memory.may_choose(&end.end.end));
                for memory in memories {
                    if let Some(aircraft) = flown(memory) {
                        let Some(flies) = at.get(&Place::Aircraft(aircraft)) else { continue };
                        for group in hear.iter().filter(|group| *group != flies) {
                            problem.clash(*flies, *group, &Clash::Always);
                        }
                        continue;
                    }
                    // A memory that flies nothing keeps its ID: no two groups may share it.
                    let ids: Vec<ModelId> = memory.model_id.options.iter().map(|(id, _)| *id).collect();
                    let clash = if ids.is_empty() {
                        Clash::Always
                    } else {
                        Clash::On(ids.iter().filter_map(|id| self.number(*id)).collect())
                    };
                    for one in &hear {
                        for other in hear.range(one + 1..) {
                            problem.clash(*one, *other, &clash);
                        }
                    }
                }
            }
        }
    }

    fn number(&self, id: ModelId) -> Option<u32> {
        match id {
            ModelId::Id(number) if self.rule.off != Some(number) => Some(number),
            _ => None,
        }
    }

    fn step(&self, group: &Group, member: &Member, after: u32) -> Option<Step> {
        if let [now] = member.now.as_slice()
            && self.number(*now) == Some(after)
        {
            return None;
        }
        let rules = Some(self.rule.family);
        let key =
            if matches!(member.part, Part::Memory(_)) { "mend.set_memory_id" } else { "mend.set_model_id" };
        let words: Vec<String> = member.now.iter().map(|id| model_id_words(*id, rules)).collect();
        let before = if words.is_empty() { "not known".to_owned() } else { words.join(" or ") };
        let name = &member.name;
        let text = if member.off {
            format!("Switch the model-ID check of {name} on again: set {after}.")
        } else if words.is_empty() {
            format!("Set the model ID of {name} to {after}; what it holds now is not known.")
        } else {
            format!("Set the model ID of {name} from {before} to {after}.")
        };
        Some(Step {
            device: member.device.clone(),
            part: member.part.clone(),
            group: group.card.clone(),
            before,
            after,
            switches_on: member.off,
            minutes: self.scene.register.minutes().lookup(key, rules),
            change: Change::Set {
                device: member.device.id,
                part: member.part.clone(),
                field: Field::ModelId,
                value: Value::Number(after),
            },
            text,
        })
    }
}

fn nameless(id: DeviceId) -> Card {
    crate::view::card(&crate::register::Device::new(id))
}

/// A new allocation of a family's model IDs, after which no memory is obeyed by what it
/// doesn't fly, changing as few IDs as can be. Among equals, groups take the smaller ID
/// in the order of their labels.
///
/// # Errors
/// The family is not known or has no IDs, or has too few; or the search ended too early.
pub fn allocate(scene: &Scene, fleet: &Fleet, request: &Request) -> Result<Allocation, NoAllocation> {
    let no_family = || NoAllocation::NoFamily(request.family.chars().take(60).collect());
    let family = scene.register.family(&request.family).ok_or_else(no_family)?;
    let ModelIdRule::Checked { at, low, high, off, .. } = family.model_id else {
        return Err(NoAllocation::NoIds(family.name.clone()));
    };
    let rule = IdRule { family, at, low, high, off };
    let planner = Planner { scene, fleet, rule, switched_off: request.switched_off };
    let mut groups: Vec<(Place, Group)> = planner.groups().into_iter().collect();
    groups.sort_by_cached_key(|(place, group)| (natural(&group.card.label()), *place));
    let mut problem = Problem::new(groups.len(), rule.low, rule.high, rule.off);
    for (at, (_, group)) in groups.iter().enumerate() {
        for member in &group.members {
            problem.full[at] += 1;
            if let [only] = member.now.as_slice()
                && let Some(number) = planner.number(*only)
            {
                *problem.saved[at].entry(number).or_default() += 1;
            }
        }
    }
    let places: BTreeMap<Place, usize> =
        groups.iter().enumerate().map(|(at, (place, _))| (*place, at)).collect();
    planner.clashes(&places, &mut problem);
    let label = |at: &usize| groups[*at].1.card.spoken();
    let (ids, proven) = match problem.solve(request.node_limit) {
        Solved::Found { ids, proven, .. } => (ids, proven),
        Solved::TooFew(which) => {
            let labels: Vec<String> = which.iter().map(label).collect();
            return Err(NoAllocation::TooFew {
                family: family.name.clone(),
                ids: u64::from(high) - u64::from(low.min(high)) + 1
                    - u64::from(off.is_some_and(|off| (low..=high).contains(&off))),
                groups: listed(&labels),
                labels,
            });
        }
        Solved::GaveUp(which) => {
            let labels: Vec<String> = which.iter().map(label).collect();
            return Err(NoAllocation::GaveUp { groups: listed(&labels), limit: request.node_limit });
        }
    };
    Ok(planner.allocation(&groups, &ids, proven))
}

impl Planner<'_> {
    fn allocation(&self, groups: &[(Place, Group)], ids: &[u32], proven: bool) -> Allocation {
        let mut plans = Vec::with_capacity(groups.len());
        let mut steps = Vec::new();
        for ((_, group), id) in groups.iter().zip(ids) {
            let before = steps.len();
            steps.extend(group.members.iter().filter_map(|member| self.step(group, member, *id)));
            plans.push(GroupPlan {
                card: group.card.clone(),
                id: *id,
                members: group.members.len(),
                changes: steps.len() - before,
            });
        }
        let minutes = Minutes(steps.iter().map(|step| step.minutes.0).sum());
        let mut after = self.scene.clone();
        for step in &steps {
            // A scene puts a change after everything that is written down.
            after.apply(&step.change, Moment(i64::MIN));
        }
        let fleet = if steps.is_empty() { None } else { Some(Fleet::of(&after)) };
        let name = &self.rule.family.name;
        let remaining: Vec<Collision> = collisions(&after, fleet.as_ref().unwrap_or(self.fleet))
            .into_iter()
            .filter(|collision| collision.family == *name)
            .collect();
        let mut text = match steps.len() {
            0 => format!("No model ID of {name} needs to change."),
            1 => format!("One model ID of {name} changes; it takes {minutes}."),
            many => format!("{many} model IDs of {name} change; they take {minutes}."),
        };
        if !proven {
            text.push_str(" Fewer changes may do: the search ended early.");
        }
        match remaining.len() {
            0 => {}
            1 => text.push_str(" One collision remains that model IDs can't settle."),
            many => {
                let more = format!(" {many} collisions remain that model IDs can't settle.");
                text.push_str(&more);
            }
        }
        Allocation { family: name.clone(), groups: plans, steps, proven, minutes, remaining, text }
    }
}
