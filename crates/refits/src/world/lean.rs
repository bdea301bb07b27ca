//! Which aircraft are worked on together, and on which transmitters they lean.

use std::collections::{BTreeMap, BTreeSet};

use register::fleet::Fleet;
use register::id::DeviceId;
use register::value::SecretMark;
use register::view::{self, EndView};

use super::{Group, Trouble, World};

/// The most aircraft that are worked on together: who flies is kept bit by bit.
const MOST_TOGETHER: usize = 64;

/// The devices through which a device's link secrets are stated, also through several.
struct Leans<'w, 'a> {
    world: &'w World<'a>,
    fleet: &'w Fleet,
    direct: BTreeMap<DeviceId, Vec<DeviceId>>,
}

impl Leans<'_, '_> {
    fn direct(&mut self, id: DeviceId) -> Vec<DeviceId> {
        if let Some(known) = self.direct.get(&id) {
            return known.clone();
        }
        let mut found = Vec::new();
        let mut read = |ends: &[EndView]| {
            for (mark, _) in ends.iter().flat_map(|end| &end.secret.options) {
                if let SecretMark::SameAs(other) = mark {
                    found.push(self.world.scene.register.canonical(other.device));
                }
            }
        };
        if let Some(view) = self.fleet.receiver(id) {
            read(&view.ends);
        } else if let Some(view) = self.fleet.transmitter(id) {
            read(&view.ends);
        } else if let Some(device) = self.world.scene.device(id) {
            // One that is gone may still say what another holds.
            let scene = &self.world.scene;
            match device.sort {
                Some(register::field::Sort::Receiver) => read(&view::receiver(scene, device).ends),
                _ => read(&view::transmitter(scene, device).ends),
            }
        }
        self.direct.insert(id, found.clone());
        found
    }

    fn of(&mut self, device: DeviceId) -> BTreeSet<DeviceId> {
        let mut found = BTreeSet::new();
        let mut queue = vec![device];
        while let Some(id) = queue.pop() {
            for other in self.direct(id) {
                if found.insert(other) {
                    queue.push(other);
                }
            }
        }
        found
    }
}

fn root(under: &[usize], mut at: usize) -> usize {
    while under[at] != at {
        at = under[at];
    }
    at
}

/// Groups as they are put together, each with the devices it leans on.
type Begun = [(Group, BTreeSet<DeviceId>)];

/// Under which group each is worked on: one whose facts are stated through a receiver of another is
/// worked on with it.
fn tied(
    world: &World,
    lean: &mut Leans,
    groups: &Begun,
    owner: &BTreeMap<DeviceId, usize>,
) -> Result<Vec<usize>, Trouble> {
    let changes = |id: &DeviceId| world.targets.contains_key(id) || world.swaps.contains_key(id);
    let secret_set = |id: &DeviceId| {
        let targets = world.targets.get(id).into_iter().flatten();
        targets.chain(world.swaps.get(id).map(|swap| &swap.target)).any(|target| target.secret.is_some())
    };
    let mut ties = Vec::new();
    for (at, (group, leans)) in groups.iter().enumerate() {
        for other in leans.iter().filter(|other| changes(other)) {
            let Some(other_at) = owner.get(other).copied().filter(|other| *other != at) else { continue };
            // Where both get a secret of their own in this refit, neither leans when all is done.
            let crafts = group.crafts.iter().map(|at| &world.crafts[*at]);
            let devices = crafts.flat_map(|craft| craft.receivers.iter().chain(&craft.flown_by));
            let own = devices.chain(&group.loose).all(|id| !lean.of(*id).contains(other) || secret_set(id));
            ties.push((at, other_at, own && secret_set(other)));
        }
    }
    let join = |ties: &mut dyn Iterator<Item = (usize, usize)>| {
        let mut under: Vec<usize> = (0..groups.len()).collect();
        for (at, other) in ties {
            let (a, b) = (root(&under, at), root(&under, other));
            under[a.max(b)] = a.min(b);
        }
        under
    };
    let sizes = |under: &[usize]| {
        let mut sizes: BTreeMap<usize, usize> = BTreeMap::new();
        for (at, (group, _)) in groups.iter().enumerate() {
            *sizes.entry(root(under, at)).or_default() += group.crafts.len();
        }
        sizes
    };
    let mut under = join(&mut ties.iter().map(|(at, other, _)| (*at, *other)));
    let large = sizes(&under);
    if large.values().any(|size| *size > MOST_TOGETHER) {
        let is_large = |at: usize| large.get(&root(&under, at)).is_some_and(|size| *size > MOST_TOGETHER);
        let kept: Vec<(usize, usize)> = ties
            .iter()
            .filter(|(at, _, loose)| !*loose || !is_large(*at))
            .map(|(at, other, _)| (*at, *other))
            .collect();
        under = join(&mut kept.into_iter());
        if let Some((first, size)) = sizes(&under).into_iter().find(|(_, size)| *size > MOST_TOGETHER) {
            return Err(Trouble::Clash(format!(
                "{size} aircraft, {} among them, state their link secrets through one another, which is more                  than can be worked on together ({MOST_TOGETHER}). Type the link secret of some of them once.",
                world.spoken(groups[first].0.what)
            )));
        }
    }
    Ok(under)
}

/// Every group that is worked on or leans on a transmitter that is, in the order of its first
/// aircraft; loose receivers after them.
pub(super) fn groups(world: &World, fleet: &Fleet) -> Result<Vec<Group>, Trouble> {
    let pivot_at: BTreeMap<DeviceId, usize> =
        world.pivots.iter().enumerate().map(|(at, id)| (*id, at)).collect();
    let changes = |id: &DeviceId| world.targets.contains_key(id) || world.swaps.contains_key(id);
    // Spares that take a receiver's place belong to its aircraft.
    let spares: BTreeMap<DeviceId, DeviceId> =
        world.swaps.iter().map(|(receiver, swap)| (swap.by, *receiver)).collect();
    let mut lean = Leans { world, fleet, direct: BTreeMap::new() };
    let mut owner: BTreeMap<DeviceId, usize> = BTreeMap::new();
    let mut groups: Vec<(Group, BTreeSet<DeviceId>)> = Vec::new();
    for (at, craft) in world.crafts.iter().enumerate() {
        let mut leans: BTreeSet<DeviceId> = BTreeSet::new();
        for transmitter in craft.flown_by.iter().chain(&craft.required) {
            leans.insert(*transmitter);
            leans.extend(lean.of(*transmitter));
        }
        for receiver in &craft.receivers {
            owner.insert(*receiver, groups.len());
            leans.extend(lean.of(*receiver));
        }
        let mends = !world.extra.is_empty()
            && craft
                .required
                .iter()
                .any(|t| craft.receivers.iter().any(|r| world.extra.contains_key(&(*t, *r))));
        let has_work = mends
            || crate::bench::is_open(&world.question.done, craft.card.id)
            || craft.receivers.iter().any(changes)
            || craft.flown_by.iter().any(|transmitter| {
                !pivot_at.contains_key(transmitter) && world.untested(*transmitter, craft)
            });
        let group =
            Group { what: craft.card.id, crafts: vec![at], loose: Vec::new(), pivots: Vec::new(), has_work };
        groups.push((group, leans));
    }
    let done = &world.question.done;
    // A spare that was flashed is still to be looked at.
    let unseen = ["flash", "secret", "id", "region"].into_iter().flat_map(|kind| done.devices(kind));
    let unseen = unseen.filter(|id| {
        fleet.receiver(*id).is_some_and(|view| view.fitted_in().is_none())
            && crate::bench::changed_last(done, *id) > done.last(&format!("look:{id}"))
    });
    let loose: BTreeSet<DeviceId> = world.targets.keys().copied().chain(unseen).collect();
    for receiver in loose.iter().filter(|id| !pivot_at.contains_key(id)) {
        if owner.contains_key(receiver) || spares.contains_key(receiver) {
            continue;
        }
        owner.insert(*receiver, groups.len());
        let group = Group {
            what: *receiver,
            crafts: Vec::new(),
            loose: vec![*receiver],
            pivots: Vec::new(),
            has_work: true,
        };
        groups.push((group, lean.of(*receiver)));
    }
    let under = tied(world, &mut lean, &groups, &owner)?;
    let mut merged: BTreeMap<usize, (Group, BTreeSet<DeviceId>)> = BTreeMap::new();
    for (at, (group, leans)) in groups.into_iter().enumerate() {
        let into = root(&under, at);
        match merged.get_mut(&into) {
            None => {
                merged.insert(into, (group, leans));
            }
            Some((have, all)) => {
                have.crafts.extend(group.crafts);
                have.loose.extend(group.loose);
                have.has_work |= group.has_work;
                all.extend(leans);
            }
        }
    }
    Ok(merged
        .into_values()
        .map(|(mut group, leans)| {
            group.pivots = leans.iter().filter_map(|id| pivot_at.get(id).copied()).collect();
            group.pivots.sort_unstable();
            group
        })
        .filter(|group| group.has_work || (!group.pivots.is_empty() && !group.crafts.is_empty()))
        .collect())
}
