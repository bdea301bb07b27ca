//! The bench: carries work out on a copy of the register, step by step.
//!
//! Everything that a plan says of minutes and of who can fly comes from here, so that the
//! planner's tables and the plan that a person follows can't differ.

mod finish;
mod flash;
mod swap;

use std::collections::{BTreeMap, BTreeSet};

use register::family::{Energised, Family, ReachSort, Side};
use register::field::{Field, Part};
use register::id::DeviceId;
use register::refit::Wish;
use register::scene::{Change, Scene};
use register::value::{EndRef, SecretMark, Value};
use register::view::{self, ModelId};
use units::Minutes;

use crate::ask::Done;
use crate::release::end_key;
use crate::step::{Back, Sort, Step};
use crate::world::{Craft, Group, Target, World};

/// By which routes ends are flashed; ends that are not named go by the first.
pub type Routes = BTreeMap<EndRef, String>;

/// The key of a test of an aircraft with a transmitter, without its number.
pub(crate) fn test_key(transmitter: DeviceId, aircraft: DeviceId) -> String {
    format!("test:{transmitter}:{aircraft}")
}

/// The key of a range check of an aircraft with a transmitter, without its number.
pub(crate) fn range_key(transmitter: DeviceId, aircraft: DeviceId) -> String {
    format!("range:{transmitter}:{aircraft}")
}

/// Whether an aircraft's cover was opened and not closed since.
pub(crate) fn is_open(done: &Done, aircraft: DeviceId) -> bool {
    done.times(&format!("open:{aircraft}")) > done.times(&format!("close:{aircraft}"))
}

fn last_of(done: &Done, device: DeviceId, kinds: &[&str]) -> Option<u64> {
    let last = |kind: &&str| done.beginning(&format!("{kind}:{device}/")).map(|(_, at)| at).max();
    kinds.iter().filter_map(last).max()
}

/// When a setting of a device was last changed by a step that was done.
fn set_last(done: &Done, device: DeviceId) -> Option<u64> {
    last_of(done, device, &["secret", "id", "region", "pair", "swap", "mend"])
}

/// When a device was last changed by a step that was done.
pub(crate) fn changed_last(done: &Done, device: DeviceId) -> Option<u64> {
    set_last(done, device).max(last_of(done, device, &["flash"]))
}

/// Ticks of a plan come after all that were done.
const LATER: u64 = 1 << 40;

/// What earlier ticks of a refit left behind.
#[derive(Clone, Debug, Default)]
pub(crate) struct Started {
    open: BTreeSet<DeviceId>,
    changed: BTreeMap<DeviceId, u64>,
    tested: BTreeMap<(DeviceId, DeviceId), u64>,
    ranged: BTreeMap<(DeviceId, DeviceId), u64>,
    saved: BTreeMap<DeviceId, u64>,
}

impl Started {
    /// Of a world.
    pub(crate) fn of(world: &World) -> Started {
        let done = &world.question.done;
        let mut started = Started::default();
        if done.is_empty() {
            return started;
        }
        for craft in &world.crafts {
            let id = craft.card.id;
            if is_open(done, id) {
                started.open.insert(id);
            }
            for transmitter in &craft.flown_by {
                if let Some(at) = done.last(&test_key(*transmitter, id)) {
                    started.tested.insert((*transmitter, id), at);
                }
                if let Some(at) = done.last(&range_key(*transmitter, id)) {
                    started.ranged.insert((*transmitter, id), at);
                }
            }
        }
        let crafts = world.crafts.iter().flat_map(|craft| craft.flown_by.iter().chain(&craft.receivers));
        let loose = world.items.iter().flat_map(|group| &group.loose);
        for device in crafts.chain(loose) {
            if let Some(at) = changed_last(done, *device) {
                started.changed.insert(*device, at);
            }
        }
        // When each device or aircraft was last tried.
        let mut tried: BTreeMap<DeviceId, u64> = BTreeMap::new();
        for (base, at) in done.beginning("test:").chain(done.beginning("look:")) {
            for id in base.split(':').skip(1).filter_map(|id| id.parse().ok()) {
                let have = tried.entry(id).or_insert(at);
                *have = at.max(*have);
            }
        }
        let aircraft: BTreeMap<DeviceId, DeviceId> = world
            .crafts
            .iter()
            .flat_map(|craft| craft.receivers.iter().map(|receiver| (*receiver, craft.card.id)))
            .collect();
        for device in world.targets.keys().copied().chain(world.swaps.values().map(|swap| swap.by)) {
            let Some(saved) = done.last(&format!("save:{device}/")) else { continue };
            // Between the flashes of one way to a release they stay saved.
            let of_aircraft = aircraft.get(&device).and_then(|id| tried.get(id));
            let last = tried.get(&device).max(of_aircraft).copied().max(set_last(done, device));
            if last < Some(saved) {
                started.saved.insert(device, saved);
            }
        }
        started
    }
}

/// Why a setting is set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Why {
    /// It is what is wished.
    New,
    /// Its partners hold it.
    AsPartners,
    /// A flash wiped it.
    Again,
    /// The receiver whose place it takes held it.
    AsBefore(DeviceId),
}

/// The bench.
#[derive(Debug)]
pub struct Bench<'w, 'a> {
    pub(crate) world: &'w World<'a>,
    /// How things stand.
    pub scene: Scene<'a>,
    /// Aircraft whose covers are open.
    open: BTreeSet<DeviceId>,
    tick: u64,
    changed: BTreeMap<DeviceId, u64>,
    tested: BTreeMap<(DeviceId, DeviceId), u64>,
    ranged: BTreeMap<(DeviceId, DeviceId), u64>,
    saved: BTreeMap<DeviceId, u64>,
    emitted: BTreeMap<String, u32>,
    /// The steps so far.
    pub steps: Vec<Step>,
}

impl<'w, 'a> Bench<'w, 'a> {
    /// A bench on which nothing was done since the register was read.
    pub fn new(world: &'w World<'a>) -> Bench<'w, 'a> {
        let started = world.started();
        Bench {
            world,
            scene: world.scene.clone(),
            open: started.open.clone(),
            tick: LATER,
            changed: started.changed.clone(),
            tested: started.tested.clone(),
            ranged: started.ranged.clone(),
            saved: started.saved.clone(),
            emitted: BTreeMap::new(),
            steps: Vec::new(),
        }
    }

    /// How things stand when everything is done, in whatever order.
    pub(crate) fn all_at_once(world: &World<'a>) -> Scene<'a> {
        let mut bench = Bench::new(world);
        let routes = Routes::new();
        for pivot in &world.pivots {
            bench.device(*pivot, *pivot, &routes);
        }
        for group in &world.items {
            bench.group(group, &routes);
        }
        for group in &world.items {
            bench.finish(group, true);
        }
        bench.scene
    }

    /// Gets the bench out for an evening (from 1).
    pub fn get_out(&mut self, evening: u32) {
        let step = Step {
            key: format!("bench:{evening}"),
            sort: Sort::Bench,
            what: DeviceId::WORKSHOP,
            device: DeviceId::WORKSHOP,
            text: "Get the bench out: computer, cables, a supply of its own for receivers. Packs away from \
                   the bench, charged by their maker's rules."
                .to_owned(),
            minutes: self.minutes("refit.bench", None),
            needs: Vec::new(),
            energises: Vec::new(),
            cautions: vec![
                "Transmitter on first and off last; never without its antenna.".to_owned(),
                "Local rules and each maker's manual prevail over this plan.".to_owned(),
            ],
            changes: Vec::new(),
            if_fails: String::new(),
            back: Back::Nothing,
        };
        self.push(step);
    }

    /// Works on a transmitter.
    pub fn transmitter(&mut self, pivot: DeviceId, routes: &Routes) {
        self.device(pivot, pivot, routes);
    }

    /// Works on a group's receivers, up to what [`Bench::finish`] does.
    pub fn group(&mut self, group: &Group, routes: &Routes) {
        for at in &group.crafts {
            let craft = &self.world.crafts[*at];
            for receiver in &craft.receivers {
                if let Some(swap) = self.world.swaps.get(receiver) {
                    self.swap(craft, *receiver, swap, routes);
                } else {
                    self.device(craft.card.id, *receiver, routes);
                }
            }
        }
        for receiver in &group.loose {
            self.device(*receiver, *receiver, routes);
        }
    }

    fn device(&mut self, what: DeviceId, device: DeviceId, routes: &Routes) {
        let world = self.world;
        for target in world.targets.get(&device).into_iter().flatten() {
            self.end(what, target, routes);
        }
    }

    /// Brings one end to its target.
    fn end(&mut self, what: DeviceId, target: &Target, routes: &Routes) {
        let wiped = self.flash(what, target, routes);
        let mut again: Vec<(Field, Value)> = target.again.clone();
        for field in wiped {
            if let Some(value) = self.world.last_known(&target.end, field)
                && !again.iter().any(|(have, _)| *have == field)
            {
                again.push((field, value));
            }
        }
        for (field, value) in again {
            match (field, value) {
                (Field::Secret, Value::Secret(mark)) if target.secret.is_none() => {
                    self.set_secret(what, target, &mark, &Why::Again);
                }
                (Field::ModelId, value) => {
                    self.set_model_id(what, &target.end, target.side, value, &Why::Again);
                }
                // The variant is chosen while flashing; only when that was left out it is set.
                (Field::Region, value) => self.set_region(what, target, value),
                _ => {}
            }
        }
        if let Some(mark) = &target.secret {
            let wished = |wish: &Wish| matches!(wish, Wish::Secret { mark: one, .. } if one == mark);
            let why = if self.world.question.wishes.iter().any(wished) { Why::New } else { Why::AsPartners };
            self.set_secret(what, target, mark, &why);
        }
    }

    pub(crate) fn label(&self, device: DeviceId) -> String {
        self.scene
            .device(device)
            .map_or_else(|| "the new receiver".to_owned(), |device| view::card(device).label())
    }

    /// The name of an end, where its device has several.
    fn end_name(&self, end: &EndRef) -> String {
        let label = self.label(end.device);
        let several = self.scene.device(end.device).is_some_and(|device| device.ends.len() > 1);
        if several { format!("{label} ({})", end.end) } else { label }
    }

    fn view(&self, end: &EndRef, side: Side) -> Option<view::EndView> {
        let device = self.scene.device(end.device)?;
        let ends = match side {
            Side::Transmitter => view::transmitter(&self.scene, device).ends,
            Side::Receiver => view::receiver(&self.scene, device).ends,
        };
        ends.into_iter().find(|view| view.end.end == end.end)
    }

    fn minutes(&self, key: &str, family: Option<&Family>) -> Minutes {
        self.world.scene.register.minutes().lookup(key, family)
    }

    /// The aircraft that a receiver is in, of those in the reckoning.
    fn craft_of(&self, receiver: DeviceId) -> Option<&'w Craft> {
        let world = self.world;
        world.crafts.iter().find(|craft| {
            craft.receivers.contains(&receiver)
                || craft
                    .receivers
                    .iter()
                    .any(|one| world.swaps.get(one).is_some_and(|swap| swap.by == receiver))
        })
    }

    /// Opens an aircraft's cover, if it isn't open.
    fn open_cover(&mut self, craft: &Craft, usual: Option<Minutes>) {
        let id = craft.card.id;
        if !self.open.insert(id) {
            return;
        }
        let minutes = craft.cover.or(usual).unwrap_or_else(|| self.minutes("refit.cover", None));
        self.push(Step {
            key: format!("open:{id}"),
            sort: Sort::Open,
            what: id,
            device: id,
            text: format!("Take the flight pack out of {} and open its cover.", craft.card.spoken()),
            minutes,
            needs: Vec::new(),
            energises: Vec::new(),
            cautions: vec!["Take the propeller off while you work on a powered aircraft.".to_owned()],
            changes: Vec::new(),
            if_fails: String::new(),
            back: Back::Nothing,
        });
    }

    /// The covers that words of a `needs` list mean, with their minutes.
    #[expect(clippy::option_option, reason = "a cover may have no time of its own")]
    fn cover_of(family: Option<&Family>, needs: &[String]) -> Option<Option<Minutes>> {
        let family = family?;
        needs
            .iter()
            .filter_map(|need| family.reach(need))
            .find(|reach| reach.sort == ReachSort::Cover)
            .map(|reach| reach.minutes)
    }

    fn set_secret(&mut self, what: DeviceId, target: &Target, mark: &SecretMark, why: &Why) {
        let Some(view) = self.view(&target.end, target.side) else { return };
        if view.secret.one() == Some(mark) {
            return;
        }
        let family = target.family.as_deref();
        let name = self.end_name(&target.end);
        let energises = match target.side {
            Side::Transmitter => [Energised::Transmitter],
            Side::Receiver => [Energised::Receiver],
        };
        let (key, text) = match (mark, why) {
            (SecretMark::Blank, _) => ("mend.clear_secret", format!("Clear the link secret of {name}.")),
            (_, Why::Again) => {
                ("mend.set_secret", format!("Type the link secret into {name} again: the flash wiped it."))
            }
            (_, Why::AsBefore(old)) => {
                ("mend.set_secret", format!("Type the link secret of {} into {name}.", self.label(*old)))
            }
            (_, Why::New) => {
                let held = self.world.last_secret(&target.end);
                let old = if held.is_some_and(|held| held != SecretMark::Blank) {
                    " Write the old one down first: the workshop can't read it back."
                } else {
                    ""
                };
                ("mend.set_secret", format!("Type the new link secret into {name}.{old}"))
            }
            (_, Why::AsPartners) => {
                ("mend.set_secret", format!("Type the link secret that its partners hold into {name}."))
            }
        };
        let back = match (why, self.world.last_secret(&target.end)) {
            (Why::Again | Why::AsBefore(_), _) => Back::Nothing,
            (Why::New | Why::AsPartners, Some(SecretMark::Blank)) => Back::Way {
                text: format!("Clear the link secret of {name} again."),
                minutes: self.minutes("mend.clear_secret", family),
            },
            (Why::New | Why::AsPartners, Some(_)) => Back::Way {
                text: format!(
                    "Type the former link secret into {name}: you must know it, the workshop can't read it back."
                ),
                minutes: self.minutes("mend.set_secret", family),
            },
            (Why::New | Why::AsPartners, None) => {
                Back::None { why: format!("nobody wrote down which link secret {name} held before") }
            }
        };
        self.push(Step {
            key: format!("secret:{}", end_key(&target.end)),
            sort: if *why == Why::Again { Sort::Restore } else { Sort::Set },
            what,
            device: target.end.device,
            text,
            minutes: self.minutes(key, family),
            needs: Vec::new(),
            energises: energises.to_vec(),
            cautions: Vec::new(),
            changes: vec![set(&target.end, Field::Secret, Value::Secret(mark.clone()))],
            if_fails: String::new(),
            back,
        });
    }

    fn set_model_id(&mut self, what: DeviceId, end: &EndRef, side: Side, value: Value, why: &Why) {
        let Some(view) = self.view(end, side) else { return };
        let held = view.model_id.one().map(|id| match id {
            ModelId::Off => Value::Off,
            ModelId::Id(number) => Value::Number(*number),
        });
        if held.as_ref() == Some(&value) {
            return;
        }
        let words = match &value {
            Value::Number(number) => number.to_string(),
            Value::Text(text) => text.clone(),
            _ => "off".to_owned(),
        };
        let name = self.end_name(end);
        let why = match why {
            Why::Again => ": the flash wiped it".to_owned(),
            Why::AsBefore(old) => format!(", as {} had it", self.label(*old)),
            Why::New | Why::AsPartners => String::new(),
        };
        let mut cautions = Vec::new();
        if words == "off" {
            cautions.push(register::mend::CHECK_OFF.to_owned());
        }
        self.push(Step {
            key: format!("id:{}", end_key(end)),
            sort: Sort::Restore,
            what,
            device: end.device,
            text: format!("Set the model ID of {name} to {words}{why}."),
            minutes: self.minutes("mend.set_model_id", view.rules.as_deref()),
            needs: Vec::new(),
            energises: vec![Energised::Receiver, Energised::Transmitter],
            cautions,
            changes: vec![set(end, Field::ModelId, value)],
            if_fails: String::new(),
            back: Back::Nothing,
        });
    }

    fn set_region(&mut self, what: DeviceId, target: &Target, value: Value) {
        let Value::Text(words) = &value else { return };
        let Some(view) = self.view(&target.end, target.side) else { return };
        if view.region.one() == Some(words) {
            return;
        }
        let name = self.end_name(&target.end);
        self.push(Step {
            key: format!("region:{}", end_key(&target.end)),
            sort: Sort::Restore,
            what,
            device: target.end.device,
            text: format!("Look that {name} is the {words} variant again."),
            minutes: self.minutes("check.region", target.family.as_deref()),
            needs: Vec::new(),
            energises: vec![if target.side == Side::Receiver {
                Energised::Receiver
            } else {
                Energised::Transmitter
            }],
            cautions: Vec::new(),
            changes: vec![set(&target.end, Field::Region, value)],
            if_fails: String::new(),
            back: Back::Nothing,
        });
    }

    /// Carries a step out and writes it down. Cautions of what it energises are added, and its
    /// key is numbered.
    fn push(&mut self, mut step: Step) {
        self.tick += 1;
        for change in &step.changes {
            self.scene.apply(change, self.world.now);
        }
        if !step.changes.is_empty() {
            let devices: BTreeSet<DeviceId> = step.changes.iter().map(Change::device).collect();
            for device in devices {
                self.changed.insert(device, self.tick);
            }
        }
        let of_energised = step.energises.iter().map(|one| one.caution().to_owned());
        let mut cautions: Vec<String> = of_energised.chain(std::mem::take(&mut step.cautions)).collect();
        let mut seen = BTreeSet::new();
        cautions.retain(|caution| seen.insert(caution.clone()));
        step.cautions = cautions;
        let emitted = self.emitted.entry(step.key.clone()).or_insert(0);
        *emitted += 1;
        let number = self.world.question.done.times(&step.key) + *emitted;
        step.key = format!("{}#{number}", step.key);
        self.steps.push(step);
    }
}

fn set(end: &EndRef, field: Field, value: Value) -> Change {
    Change::Set { device: end.device, part: Part::End(end.end.clone()), field, value }
}
