//! What each end must come to: the wishes, and what follows from them along the links that must
//! hold.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;

use register::family::{Family, Side, Version};
use register::field::{Field, Sort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::refit::{Reach, Wish};
use register::register::Register;
use register::value::{EndRef, SecretMark, Value};
use register::verdict;
use register::view::{self, EndView};

use super::{LeftOut, Trouble, World, secrets, versions};
use crate::release::{self, Holder};

/// Why an end must change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Because {
    /// A wish says so.
    Wished {
        /// Its place among the wishes.
        wish: usize,
    },
    /// It must go with another device that changes.
    Follows {
        /// That device.
        other: DeviceId,
        /// The aircraft for whose sake.
        aircraft: DeviceId,
    },
    /// A link that is meant to hold doesn't.
    Repairs,
}

/// What one end must come to.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// The end.
    pub end: EndRef,
    /// Which side of a link it is.
    pub side: Side,
    /// Its family, where the file is there.
    pub family: Option<Arc<Family>>,
    /// The versions to write, in order; none when the firmware stays.
    pub versions: Vec<String>,
    /// The link secret to set; `None` when it stays.
    pub secret: Option<SecretMark>,
    /// What a flash of this refit wiped and nobody has set again yet.
    pub again: Vec<(Field, Value)>,
    /// Why.
    pub because: Because,
}

/// A receiver that is replaced.
#[derive(Clone, Debug, PartialEq)]
pub struct Swap {
    /// What takes its place.
    pub by: DeviceId,
    /// Whether that is yet to be bought.
    pub bought: bool,
    /// What it costs, in whole units of the owner's money.
    pub cost: u32,
    /// The end that is replaced.
    pub old_end: EndRef,
    /// The firmware that the new one comes to.
    pub version: Option<String>,
    /// What the spare's end must come to (nothing for one that is bought: it comes with it).
    pub target: Target,
}

/// One end in the reckoning.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub view: EndView,
    pub side: Side,
    pub family: Option<Arc<Family>>,
    /// The family's name, squeezed.
    pub name: String,
    pub holder: Holder,
    /// The version that is wished, with the wish's place.
    pub version: Option<(usize, String)>,
    /// The secret that is wished.
    pub secret: Option<(usize, SecretMark)>,
    /// Why it is left as it is, after its name.
    pub stays: Option<String>,
    /// Whether wishes for its whole family leave it out.
    pub exempt: bool,
    /// Whether a wish says of this very end what it holds: one for its whole family doesn't.
    pub said: bool,
    /// The place of the wish that lets it be replaced.
    pub replace: Option<usize>,
    /// The aircraft it is in, as a place among [`World::crafts`].
    pub craft: Option<usize>,
}

impl Node {
    pub fn device(&self) -> DeviceId {
        self.view.end.device
    }
}

/// The ends that a wish or a link that must hold speaks of.
#[derive(Debug, Default)]
pub(super) struct Graph {
    pub nodes: Vec<Node>,
    /// By node: those it must link with in the end, each with the aircraft.
    beside: Vec<Vec<(usize, DeviceId)>>,
}

/// What was decided for a node.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Pick {
    Keep,
    Flash(Vec<String>),
    Replace { version: String },
}

impl Graph {
    /// Groups of nodes that links within one family hold together, each in order.
    pub fn components(&self, joins: impl Fn(&Node, &Node) -> bool) -> Vec<Vec<usize>> {
        let mut seen = vec![false; self.nodes.len()];
        let mut all = Vec::new();
        for start in 0..self.nodes.len() {
            if seen[start] {
                continue;
            }
            seen[start] = true;
            let mut group = vec![start];
            let mut at = 0;
            while at < group.len() {
                let here = group[at];
                at += 1;
                for other in self.beside(here).map(|(other, _)| other) {
                    if !seen[other] && joins(&self.nodes[here], &self.nodes[other]) {
                        seen[other] = true;
                        group.push(other);
                    }
                }
            }
            group.sort_unstable();
            all.push(group);
        }
        all
    }

    /// The nodes that share a link with one, with the aircraft of the link.
    pub fn beside(&self, node: usize) -> impl Iterator<Item = (usize, DeviceId)> {
        self.beside[node].iter().copied()
    }

    /// The links of a group: its transmitters' ends, each with a receiver's.
    pub fn links<'g>(&'g self, group: &'g [usize]) -> impl Iterator<Item = (&'g Node, &'g Node)> {
        let transmitters = group.iter().filter(|at| self.nodes[**at].side == Side::Transmitter);
        transmitters.flat_map(|t| self.beside(*t).map(|(r, _)| (&self.nodes[*t], &self.nodes[r])))
    }

    /// From which node, and for which aircraft, the need to change came to each of a group,
    /// beginning at the nodes that have it by themselves.
    pub fn parents(&self, group: &[usize], roots: &[usize]) -> BTreeMap<usize, (usize, DeviceId)> {
        let mut parents = BTreeMap::new();
        let starts: BTreeSet<usize> = roots.iter().copied().collect();
        let mut queue: VecDeque<usize> = roots.iter().copied().collect();
        while let Some(here) = queue.pop_front() {
            for (other, aircraft) in self.beside(here) {
                if group.binary_search(&other).is_ok()
                    && !starts.contains(&other)
                    && !parents.contains_key(&other)
                {
                    parents.insert(other, (here, aircraft));
                    queue.push_back(other);
                }
            }
        }
        parents
    }

    /// The way from a root to a node, in words.
    pub fn chain(&self, world: &World, roots: &[usize], group: &[usize], to: usize) -> String {
        let parents = self.parents(group, roots);
        let mut hops = Vec::new();
        let mut here = to;
        while let Some((from, aircraft)) = parents.get(&here) {
            hops.push((*from, here, *aircraft));
            here = *from;
        }
        hops.reverse();
        hops.iter()
            .map(|(from, here, aircraft)| {
                let (from, node) = (&self.nodes[*from], &self.nodes[*here]);
                follows_words(world, node.device(), from.device(), *aircraft)
            })
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// Why a device must go with another, in a sentence.
pub(crate) fn follows_words(world: &World, device: DeviceId, other: DeviceId, aircraft: DeviceId) -> String {
    format!(
        "{} must go with {}, because {} must be flown with {}.",
        world.label(device),
        world.label(other),
        world.spoken(aircraft),
        if world.scene.device(device).and_then(|one| one.sort) == Some(register::field::Sort::Transmitter) {
            world.label(device)
        } else {
            world.label(other)
        },
    )
}

fn squeeze(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// Another id, as good as drawn: three rounds of multiplying by an odd number and turning. Nobody
/// turns it back by doing it once more.
pub(super) fn mixed(id: DeviceId) -> DeviceId {
    let mut number = id.0 ^ 0x5eed_0f5b_a7e5_0b0b;
    for _ in 0..3 {
        number = number
            .wrapping_mul(0x2360_ed05_1fc6_5da4_4385_df64_9fcc_f645)
            .rotate_left(61)
            .wrapping_add(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835);
    }
    DeviceId(number)
}

/// The id of a receiver that is yet to be bought, for the place of another: the same for
/// everybody who plans this with the same devices entered. Once it is entered it is not needed
/// any more, and the next one for the same place gets another.
pub fn bought_in_place_of(register: &Register, receiver: DeviceId) -> DeviceId {
    let mut id = mixed(receiver);
    while register.device(id).is_some() {
        id = mixed(id);
    }
    id
}

/// Settles what every end must come to.
pub(super) fn settle(world: &mut World, fleet: &Fleet, picks: &[usize]) -> Result<(), Trouble> {
    let graph = graph(world, fleet)?;
    let mut choices = Vec::new();
    let mut picks = picks.iter().copied();
    let versions = versions::settle(world, &graph, &mut choices, &mut picks)?;
    let secrets = secrets::settle(world, &graph, &versions, &mut choices, &mut picks)?;
    world.choices = choices;
    for (at, node) in graph.nodes.iter().enumerate() {
        let (pick, because) = &versions[at];
        let (secret, secret_because) = &secrets[at];
        let end = node.view.end.clone();
        let again = wiped_before(world, node);
        let target = |versions: Vec<String>| Target {
            end: end.clone(),
            side: node.side,
            family: node.family.clone(),
            versions,
            secret: secret.clone(),
            again: again.clone(),
            because: if *pick == Pick::Keep { secret_because.clone() } else { because.clone() },
        };
        match pick {
            Pick::Keep if secret.is_none() && again.is_empty() => {}
            Pick::Keep => world.targets.entry(node.device()).or_default().push(target(Vec::new())),
            Pick::Flash(versions) => {
                world.targets.entry(node.device()).or_default().push(target(versions.clone()));
            }
            Pick::Replace { version } => {
                let swap = swap(world, node, version, target(Vec::new()))?;
                world.swaps.insert(node.device(), swap);
            }
        }
    }
    Ok(())
}

/// The facts of an end that a flash of this refit wiped, and that are not known again.
fn wiped_before(world: &World, node: &Node) -> Vec<(Field, Value)> {
    let end = &node.view.end;
    let flashed = format!("flash:{}:", release::end_key(end));
    if world.question.done.beginning(&flashed).next().is_none() {
        return Vec::new();
    }
    let lost = [
        (Field::Region, node.view.region.options.is_empty()),
        (Field::Secret, node.view.secret.options.is_empty()),
        (Field::ModelId, node.view.model_id.options.is_empty()),
    ];
    lost.into_iter()
        .filter(|(_, lost)| *lost)
        .filter_map(|(field, _)| world.last_known(end, field).map(|value| (field, value)))
        .collect()
}

fn swap(world: &World, node: &Node, version: &str, target: Target) -> Result<Swap, Trouble> {
    let wish = node.replace.and_then(|at| world.question.wishes.get(at));
    let Some(Wish::Replace { cost, .. }) = wish else {
        return Err(Trouble::Clash(format!("{} may not be replaced.", world.label(node.device()))));
    };
    let old_end = node.view.end.clone();
    let Some(spare) = by(world, node, version)? else {
        let by = bought_in_place_of(world.scene.register, node.device());
        let target = Target { end: EndRef { device: by, end: old_end.end.clone() }, ..target };
        let version = (!version.is_empty()).then(|| version.to_owned());
        return Ok(Swap { by, bought: true, cost: *cost, old_end, version, target });
    };
    let by = spare.end.device;
    let target = Target { end: spare.end, versions: spare.versions, ..target };
    Ok(Swap { by, bought: false, cost: *cost, old_end, version: None, target })
}

/// How a spare takes a receiver's place.
pub(super) struct Spare {
    end: EndRef,
    /// What is written to it before.
    versions: Vec<String>,
}

/// The spare that takes a receiver's place; `None` for one that is yet to be bought.
pub(super) fn by(world: &World, node: &Node, version: &str) -> Result<Option<Spare>, Trouble> {
    let Some(Wish::Replace { by, .. }) = node.replace.and_then(|at| world.question.wishes.get(at)) else {
        return Err(Trouble::Clash(format!("{} may not be replaced.", world.label(node.device()))));
    };
    let Some(by) = by else { return Ok(None) };
    let by = world.scene.register.canonical(*by);
    let label = world.label(by);
    let spare = world.scene.device(by).map(|device| view::receiver(&world.scene, device));
    let ends = spare.map(|spare| spare.ends).unwrap_or_default();
    let end = ends.iter().find(|end| end.family.one().map(|name| squeeze(name)) == Some(node.name.clone()));
    let Some(end) = end else {
        return Err(Trouble::Clash(format!(
            "{label} can't take the place of {}: it speaks another link family.",
            world.label(node.device())
        )));
    };
    let mut versions = Vec::new();
    let held = end.firmware.one().is_some_and(|held| release::same(held, version));
    if let (false, false, Some(family)) = (held, version.is_empty(), &node.family) {
        let holder = Holder::of(&world.scene, end, Side::Receiver);
        let way = release::way(family, &holder, version)
            .map_err(|why| Trouble::Clash(format!("{label} {}.", why.words(version))))?;
        versions = way.versions;
    }
    Ok(Some(Spare { end: end.end.clone(), versions }))
}

/// Where an end stands in a fleet: its side, its device in the list, its place there.
type Place = (Side, usize, usize);

fn ends_of(fleet: &Fleet, id: DeviceId) -> Option<(Side, usize, &[EndView])> {
    match fleet.place(id)? {
        (Sort::Transmitter, at) => Some((Side::Transmitter, at, &fleet.transmitters.get(at)?.ends)),
        (Sort::Receiver, at) => Some((Side::Receiver, at, &fleet.receivers.get(at)?.ends)),
        (Sort::Aircraft, _) => None,
    }
}

/// The ends that wishes speak of, and those that this refit has flashed already.
fn spoken_of(world: &World, fleet: &Fleet) -> BTreeMap<(bool, usize, usize), Place> {
    let mut found = BTreeMap::new();
    let mut add = |side: Side, device: usize, end: usize| {
        found.insert((side == Side::Receiver, device, end), (side, device, end));
    };
    let canonical = |id: DeviceId| world.scene.register.canonical(id);
    let mut families: BTreeSet<String> = BTreeSet::new();
    for wish in &world.question.wishes {
        let ends = match wish {
            Wish::Version { end, .. } => std::slice::from_ref(end),
            Wish::Secret { on: Reach::Ends(ends), .. } => ends,
            Wish::Secret { on: Reach::Family(family), .. } | Wish::Newest { family } => {
                families.insert(squeeze(family));
                continue;
            }
            _ => continue,
        };
        for end in ends {
            let Some((side, device, views)) = ends_of(fleet, canonical(end.device)) else { continue };
            if let Some(at) = views.iter().position(|view| view.end.end == end.end) {
                add(side, device, at);
            }
        }
    }
    let begin = "flash:";
    for (base, _) in world.question.done.beginning(begin) {
        let id = base[begin.len()..].split('/').next().and_then(|id| id.parse().ok());
        let Some((side, device, views)) = id.and_then(|id| ends_of(fleet, canonical(id))) else { continue };
        (0..views.len()).for_each(|at| add(side, device, at));
    }
    if !families.is_empty() {
        let of_them =
            |view: &EndView| view.family.one().is_some_and(|name| families.contains(&squeeze(name)));
        for (device, view) in fleet.transmitters.iter().enumerate() {
            let ends = view.ends.iter().enumerate().filter(|(_, end)| of_them(end));
            ends.for_each(|(at, _)| add(Side::Transmitter, device, at));
        }
        for (device, view) in fleet.receivers.iter().enumerate() {
            let ends = view.ends.iter().enumerate().filter(|(_, end)| of_them(end));
            ends.for_each(|(at, _)| add(Side::Receiver, device, at));
        }
    }
    found
}

/// Every end that a wish or a link that must hold speaks of.
fn graph(world: &mut World, fleet: &Fleet) -> Result<Graph, Trouble> {
    let mut found = spoken_of(world, fleet);
    let mut links = Vec::new();
    let mut craft_of: BTreeMap<DeviceId, usize> = BTreeMap::new();
    for (place, craft) in world.crafts.iter().enumerate() {
        craft_of.extend(craft.receivers.iter().map(|receiver| (*receiver, place)));
        for (t, r) in craft.required.iter().flat_map(|t| craft.receivers.iter().map(move |r| (*t, *r))) {
            let (Some((Sort::Transmitter, t)), Some((Sort::Receiver, r))) = (fleet.place(t), fleet.place(r))
            else {
                continue;
            };
            let best = verdict::best(&fleet.transmitters[t], &fleet.receivers[r]);
            let (t, r) = ((false, t, best.transmitter), (true, r, best.receiver));
            for (key, side) in [(t, Side::Transmitter), (r, Side::Receiver)] {
                found.insert(key, (side, key.1, key.2));
            }
            links.push((t, r, craft.card.id));
        }
    }
    let mut graph = Graph::default();
    let mut at: BTreeMap<EndRef, usize> = BTreeMap::new();
    let mut node_of = BTreeMap::new();
    for (key, (side, device, end)) in &found {
        let ends = match side {
            Side::Transmitter => fleet.transmitters.get(*device).map(|view| &view.ends),
            Side::Receiver => fleet.receivers.get(*device).map(|view| &view.ends),
        };
        let Some(view) = ends.and_then(|ends| ends.get(*end)) else { continue };
        node_of.insert(*key, graph.nodes.len());
        at.insert(view.end.clone(), graph.nodes.len());
        graph.nodes.push(Node {
            side: *side,
            family: view.rules.clone(),
            name: view.family.one().map(|name| squeeze(name)).unwrap_or_default(),
            holder: Holder::of(&world.scene, view, *side),
            version: None,
            secret: None,
            stays: world.away(view.end.device),
            exempt: false,
            said: false,
            replace: None,
            craft: craft_of.get(&view.end.device).copied(),
            view: view.clone(),
        });
    }
    graph.beside = vec![Vec::new(); graph.nodes.len()];
    for (t, r, aircraft) in links {
        if let (Some(t), Some(r)) = (node_of.get(&t), node_of.get(&r)) {
            graph.beside[*t].push((*r, aircraft));
            graph.beside[*r].push((*t, aircraft));
        }
    }
    let mut wishes = Wishes { graph: &mut graph, at: &at, left_out: Vec::new() };
    wishes.read(world, fleet)?;
    let left_out = wishes.left_out;
    world.left_out.extend(left_out);
    Ok(graph)
}

struct Wishes<'g> {
    graph: &'g mut Graph,
    at: &'g BTreeMap<EndRef, usize>,
    left_out: Vec<LeftOut>,
}

impl Wishes<'_> {
    fn read(&mut self, world: &World, fleet: &Fleet) -> Result<(), Trouble> {
        let canonical = |id: DeviceId| world.scene.register.canonical(id);
        // What stays is exempt from wishes for its whole family also while a conflict is looked
        // for without the wish that it stays; so is what was replaced and lies on the shelf.
        for (at, wish) in world.question.wishes.iter().enumerate() {
            if let Wish::Version { end, .. } = wish {
                let end = EndRef { device: canonical(end.device), end: end.end.clone() };
                if let Some(node) = self.at.get(&end) {
                    self.graph.nodes[*node].said = true;
                }
            }
            if let Wish::Replace { receiver, .. } = wish {
                let receiver = canonical(*receiver);
                let fitted = fleet.receiver(receiver).and_then(view::ReceiverView::fitted_in);
                for node in self.graph.nodes.iter_mut().filter(|node| node.device() == receiver) {
                    node.exempt |= fitted.is_none();
                }
            }
            if let Wish::Stay { device } = wish {
                let device = canonical(*device);
                let counts = world.mask.wishes.get(at) == Some(&true);
                for node in self.graph.nodes.iter_mut().filter(|node| node.device() == device) {
                    node.exempt = true;
                    if counts {
                        node.stays = Some("is left as it is".to_owned());
                    }
                }
            }
        }
        let mut spares: BTreeMap<DeviceId, DeviceId> = BTreeMap::new();
        for (place, wish) in world.wishes() {
            match wish {
                // One that is in no aircraft (any more) has nothing to be replaced in.
                Wish::Replace { receiver, by, .. } => {
                    let receiver = canonical(*receiver);
                    let fitted = fleet.receiver(receiver).and_then(view::ReceiverView::fitted_in);
                    if fitted.is_none() {
                        continue;
                    }
                    if let Some(by) = by.map(canonical) {
                        is_spare(world, fleet, by)?;
                        if spares.insert(by, receiver).is_some_and(|other| other != receiver) {
                            return Err(Trouble::Refused(format!(
                                "{} can take the place of one receiver only",
                                world.label(by)
                            )));
                        }
                    }
                    for node in self.graph.nodes.iter_mut().filter(|node| node.device() == receiver) {
                        node.replace = Some(place);
                    }
                }
                Wish::Newest { family } => self.newest(world, place, family)?,
                Wish::Version { end, version } => {
                    let node = self.node(world, end)?;
                    let node = &mut self.graph.nodes[node];
                    let version = version_meant(world, node, version)?;
                    if let Some((_, other)) = &node.version
                        && !release::same(other, &version)
                        && node.version.as_ref().is_some_and(|(at, _)| {
                            matches!(world.question.wishes.get(*at), Some(Wish::Version { .. }))
                        })
                    {
                        return Err(Trouble::Clash(format!(
                            "{} is wished to hold {other} and {version}.",
                            world.label(node.device())
                        )));
                    }
                    // Said of this very end, it prevails over a wish for the whole family.
                    node.version = Some((place, version));
                }
                Wish::Secret { on, mark } => self.secret(world, place, on, mark)?,
                _ => {}
            }
        }
        Ok(())
    }

    fn node(&self, world: &World, end: &EndRef) -> Result<usize, Trouble> {
        let end = EndRef { device: world.scene.register.canonical(end.device), end: end.end.clone() };
        if world.scene.device(end.device).is_none() {
            return Err(Trouble::Refused("a wish names a device that the workshop doesn't have".to_owned()));
        }
        self.at.get(&end).copied().ok_or_else(|| {
            Trouble::Refused(format!(
                "{} has no end called {}, or isn't in the workshop any more",
                world.label(end.device),
                end.end
            ))
        })
    }

    fn newest(&mut self, world: &World, place: usize, family: &str) -> Result<(), Trouble> {
        let name = squeeze(family);
        let Some(rules) = world.scene.register.family(family) else {
            return Err(Trouble::Refused(format!(
                "there is no family file of {family} that can be read, so nothing tells which release is its newest"
            )));
        };
        if rules.releases.is_empty() {
            return Err(Trouble::Refused(format!(
                "the family file of {} lists no releases; add them to the file, or to the releases of this workshop",
                rules.name
            )));
        }
        for (at, node) in self.graph.nodes.iter_mut().enumerate().filter(|(_, node)| node.name == name) {
            let alone = self.graph.beside[at].is_empty() && node.craft.is_none();
            let Some(newest) = release::of_side(rules, node.side).first().map(|one| one.version.clone())
            else {
                continue;
            };
            let held = node.holder.holds.as_deref().and_then(Version::parse);
            let is_newer = held.zip(Version::parse(&newest)).is_some_and(|(held, newest)| held >= newest);
            if is_newer || node.said || node.version.is_some() {
                continue;
            }
            if node.exempt || node.stays.is_some() {
                self.left_out.extend(left_out(world, node));
                continue;
            }
            // What links with nothing is in nobody's way.
            if let (true, Err(why)) = (alone, release::way(rules, &node.holder, &newest)) {
                let why = match why {
                    release::CantTake::Hardware { model } => {
                        format!("can't take {newest}: its type is {model}")
                    }
                    other => other.words(&newest),
                };
                let device = world.scene.device(node.device()).map(view::card);
                self.left_out.extend(device.map(|device| LeftOut { device, why }));
                continue;
            }
            node.version = Some((place, newest));
        }
        Ok(())
    }

    fn secret(&mut self, world: &World, place: usize, on: &Reach, mark: &SecretMark) -> Result<(), Trouble> {
        let nodes: Vec<usize> = match on {
            Reach::Family(family) => {
                let name = squeeze(family);
                (0..self.graph.nodes.len()).filter(|at| self.graph.nodes[*at].name == name).collect()
            }
            Reach::Ends(ends) => {
                ends.iter().map(|end| self.node(world, end)).collect::<Result<Vec<_>, _>>()?
            }
        };
        if nodes.is_empty() {
            return Err(Trouble::Refused("no end speaks the family that the link secret is for".to_owned()));
        }
        for at in nodes {
            let node = &mut self.graph.nodes[at];
            if matches!(on, Reach::Family(_)) && (node.exempt || node.stays.is_some()) {
                self.left_out.extend(left_out(world, node));
                continue;
            }
            let holds = matches!(
                node.family.as_ref().map(|family| &family.secret),
                Some(register::family::SecretRule::Equal { .. }) | None
            );
            if !holds {
                return Err(Trouble::Refused(format!(
                    "{} speaks a link family that has no link secrets",
                    world.label(node.device())
                )));
            }
            if let Some((_, other)) = &node.secret
                && other != mark
            {
                return Err(Trouble::Clash(format!(
                    "{} is wished to hold two different link secrets.",
                    world.label(node.device())
                )));
            }
            node.secret = Some((place, mark.clone()));
        }
        Ok(())
    }
}

/// Whether a device can take another's place.
fn is_spare(world: &World, fleet: &Fleet, by: DeviceId) -> Result<(), Trouble> {
    let label = world.label(by);
    let Some(spare) = fleet.receiver(by) else {
        return Err(Trouble::Refused(match world.scene.device(by) {
            None => "a wish names a spare that the workshop doesn't have".to_owned(),
            Some(_) => format!(
                "{label} can't take a receiver's place: it is no receiver of this workshop (any more)"
            ),
        }));
    };
    if let Some(why) = super::away_words(spare.card.state) {
        return Err(Trouble::Refused(format!("{label} {why}; name a spare that is on the shelf")));
    }
    if spare.fitted_in().is_some() {
        return Err(Trouble::Refused(format!(
            "{label} is in an aircraft already; name a spare that is on the shelf"
        )));
    }
    Ok(())
}

fn left_out(world: &World, node: &Node) -> Option<LeftOut> {
    let device = view::card(world.scene.device(node.device())?);
    let why = node.stays.clone().unwrap_or_else(|| "is left as it is".to_owned());
    Some(LeftOut { device, why })
}

fn version_meant(world: &World, node: &Node, version: &str) -> Result<String, Trouble> {
    let Some(family) = &node.family else { return Ok(version.trim().to_owned()) };
    let known = release::of_side(family, node.side);
    if known.is_empty() {
        return Ok(version.trim().to_owned());
    }
    if let Some(release) = release::meant(family, node.side, version) {
        return Ok(release.version.clone());
    }
    if node.holder.holds.as_ref().is_some_and(|held| release::same(held, version)) {
        return Ok(version.trim().to_owned());
    }
    let list: Vec<&str> = known.iter().map(|release| release.version.as_str()).collect();
    Err(Trouble::Refused(format!(
        "{} has no release {} for {}; the {} releases are {}",
        family.name,
        version.trim(),
        world.label(node.device()),
        node.side.word(),
        list.join(", ")
    )))
}
