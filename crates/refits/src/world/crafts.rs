//! The aircraft of a refit: what flies them, what each needs, and what must link in the end.

use std::collections::{BTreeMap, BTreeSet};

use register::fleet::Fleet;
use register::id::DeviceId;
use register::refit::{Kept, Wish};
use register::rule::Verdict;
use register::verdict;
use register::view::{ReceiverView, State, TransmitterView};
use units::Minutes;

use super::{Craft, LeftOut, Trouble, World, at_hand, away_words, bought_in_place_of};

/// What wishes say of single aircraft.
#[derive(Default)]
struct Asked {
    needs: BTreeMap<DeviceId, BTreeSet<DeviceId>>,
    /// Also of wishes that don't count while a conflict is looked for.
    all_needs: BTreeMap<DeviceId, BTreeSet<DeviceId>>,
    covers: BTreeMap<DeviceId, Minutes>,
    let_go: BTreeSet<(DeviceId, Option<DeviceId>)>,
}

type Fitted<'f> = BTreeMap<DeviceId, Vec<&'f ReceiverView>>;

/// Gathers every aircraft that has a receiver.
pub(super) fn gather(world: &mut World, fleet: &Fleet) -> Result<(), Trouble> {
    let mut fitted: Fitted = BTreeMap::new();
    for receiver in &fleet.receivers {
        if let Some(aircraft) = receiver.fitted_in() {
            fitted.entry(aircraft).or_default().push(receiver);
        }
    }
    let mut asked = asked(world, fleet, &fitted)?;
    let kept = world.links_begun();
    let touched = touched(world);
    let planned = &world.question.planned;
    let mut flown: BTreeMap<DeviceId, BTreeSet<DeviceId>> = BTreeMap::new();
    for (t, r) in fleet.wanted() {
        if let Some(aircraft) = fleet.receivers[r].fitted_in() {
            flown.entry(aircraft).or_default().insert(fleet.transmitters[t].card.id);
        }
    }
    for (transmitter, aircraft) in kept.iter().flatten() {
        if fleet.transmitter(*transmitter).is_some() {
            flown.entry(*aircraft).or_default().insert(*transmitter);
        }
    }
    let in_order = |ids: BTreeSet<DeviceId>| {
        let mut list: Vec<DeviceId> = ids.into_iter().collect();
        list.sort_by_key(|id| (fleet.place(*id), *id));
        list
    };
    let all_pair = world.all_pair();
    for view in &fleet.aircraft {
        let id = view.card.id;
        let Some(receivers) = fitted.get(&id) else { continue };
        let mut flown_by = flown.remove(&id).unwrap_or_default();
        let need = asked.needs.remove(&id).unwrap_or_default();
        let all_needs = asked.all_needs.remove(&id).unwrap_or_default();
        flown_by.extend(&need);
        let changed = receivers.iter().any(|receiver| touched.contains(&receiver.card.id));
        let mut verdicts: BTreeMap<DeviceId, (Verdict, bool)> = BTreeMap::new();
        for t in flown_by.iter().chain(&all_needs).copied() {
            verdicts.entry(t).or_insert_with(|| {
                let verdict = fleet
                    .transmitter(t)
                    .map_or(Verdict::Blocked, |transmitter| worst(transmitter, receivers));
                // What came to link by the refit's own steps, half-way, was not meant to.
                let holds = kept.as_ref().is_none_or(|kept| kept.contains(&(t, id)))
                    || !(changed || touched.contains(&t));
                // What broke though this refit touched neither end was broken by something else.
                let began = kept.as_ref().is_some_and(|kept| kept.contains(&(t, id)))
                    && (verdict == Verdict::Links
                        || changed
                        || touched.contains(&t)
                        || planned.contains(&t)
                        || planned.contains(&id));
                (verdict, began || (holds && verdict == Verdict::Links))
            });
        }
        let is_near = |t: &DeviceId| fleet.transmitter(*t).is_some_and(|view| at_hand(view.card.state));
        let near = at_hand(view.card.state) && receivers.iter().all(|receiver| at_hand(receiver.card.state));
        let holds = |t: &DeviceId| verdicts.get(t).is_some_and(|(_, holds)| *holds);
        let gone = |t: DeviceId| asked.let_go.contains(&(id, None)) || asked.let_go.contains(&(id, Some(t)));
        let flown_by = in_order(flown_by);
        let mut required = Vec::new();
        for t in flown_by.iter().copied() {
            let verdict = verdicts.get(&t).map_or(Verdict::Blocked, |(verdict, _)| *verdict);
            let pairs = all_pair && verdict != Verdict::Unknown;
            if need.contains(&t) || (!gone(t) && world.mask.links && holds(&t)) {
                required.push(t);
            } else if !gone(t) && pairs {
                if near && is_near(&t) {
                    required.push(t);
                } else if verdict == Verdict::Blocked {
                    world.left_out.extend(is_away(fleet, t, view.card.state, receivers, &view.card));
                }
            }
        }
        let flew = at_hand(view.card.state)
            && if all_needs.is_empty() {
                flown_by.iter().any(|t| holds(t) && is_near(t))
            } else {
                all_needs.iter().all(|t| holds(t) && is_near(t))
            };
        world.crafts.push(Craft {
            card: view.card.clone(),
            receivers: receivers.iter().map(|view| view.card.id).collect(),
            flown_by,
            needs: in_order(need),
            required,
            cover: asked.covers.get(&id).copied(),
            flew,
        });
    }
    world.left_out.sort_by_cached_key(|one| (register::fleet::natural(&one.device.label()), one.device.id));
    world.left_out.dedup();
    Ok(())
}

/// The verdict on an aircraft: that on the receiver that does worst.
fn worst(transmitter: &TransmitterView, receivers: &[&ReceiverView]) -> Verdict {
    let verdicts = receivers.iter().map(|receiver| verdict::quick(transmitter, receiver));
    verdicts.max().unwrap_or(Verdict::Blocked)
}

/// Which device keeps a link from being mended, by being elsewhere.
fn is_away(
    fleet: &Fleet,
    transmitter: DeviceId,
    state: State,
    receivers: &[&ReceiverView],
    aircraft: &register::view::Card,
) -> Option<LeftOut> {
    let card = if at_hand(state) {
        let transmitter = fleet.transmitter(transmitter).map(|view| &view.card);
        let all = receivers.iter().map(|view| &view.card).chain(transmitter);
        all.into_iter().find(|card| !at_hand(card.state))?
    } else {
        aircraft
    };
    Some(LeftOut { device: card.clone(), why: away_words(card.state)?.to_owned() })
}

fn asked(world: &World, fleet: &Fleet, fitted: &Fitted) -> Result<Asked, Trouble> {
    let canonical = |id: DeviceId| world.scene.register.canonical(id);
    let mut asked = Asked::default();
    let craft = |id: DeviceId| {
        let id = canonical(id);
        if fitted.contains_key(&id) && fleet.aircraft(id).is_some() {
            return Ok(id);
        }
        Err(Trouble::Refused(match (world.scene.device(id), fleet.aircraft(id)) {
            (None, _) => "a wish names an aircraft that the workshop doesn't have".to_owned(),
            (Some(_), None) => format!("{} is no aircraft of this workshop", world.label(id)),
            (Some(_), Some(_)) => {
                format!("{} has no receiver in it, so nothing can be wished of its links", world.label(id))
            }
        }))
    };
    for wish in &world.question.wishes {
        if let Wish::Need { aircraft, transmitters } = wish {
            let list = asked.all_needs.entry(canonical(*aircraft)).or_default();
            list.extend(transmitters.iter().map(|id| canonical(*id)));
        }
    }
    for (_, wish) in world.wishes() {
        match wish {
            Wish::Need { aircraft, transmitters } => {
                let aircraft = craft(*aircraft)?;
                for transmitter in transmitters.iter().map(|id| canonical(*id)) {
                    if fleet.transmitter(transmitter).is_none() {
                        return Err(Trouble::Refused(match world.scene.device(transmitter) {
                            None => format!(
                                "{} can't need a transmitter that the workshop doesn't have",
                                world.spoken(aircraft)
                            ),
                            Some(_) => format!(
                                "{} can't need {}: that is no transmitter of this workshop (any more)",
                                world.spoken(aircraft),
                                world.label(transmitter)
                            ),
                        }));
                    }
                    asked.needs.entry(aircraft).or_default().insert(transmitter);
                }
            }
            Wish::Cover { aircraft, minutes } => {
                asked.covers.insert(craft(*aircraft)?, *minutes);
            }
            Wish::LetGo { aircraft, transmitter } => {
                asked.let_go.insert((craft(*aircraft)?, transmitter.map(canonical)));
            }
            Wish::Fly { aircraft, .. } => {
                craft(*aircraft)?;
            }
            _ => {}
        }
    }
    for (aircraft, needs) in &asked.needs {
        let gone = needs.iter().find(|need| {
            asked.let_go.contains(&(*aircraft, None)) || asked.let_go.contains(&(*aircraft, Some(**need)))
        });
        if let Some(transmitter) = gone {
            return Err(Trouble::Clash(format!(
                "{} is wished to need {}, and the same link is let go.",
                world.spoken(*aircraft),
                world.label(*transmitter)
            )));
        }
    }
    Ok(asked)
}

/// The devices that steps of this refit have changed already.
fn touched(world: &World) -> BTreeSet<DeviceId> {
    let done = &world.question.done;
    let mut touched = BTreeSet::new();
    for kind in ["flash", "secret", "id", "region", "pair", "mend"] {
        let begin = format!("{kind}:");
        for (base, _) in done.beginning(&begin) {
            let device = base[begin.len()..].split('/').next().and_then(|id| id.parse().ok());
            touched.extend(device.map(|id: DeviceId| world.scene.register.canonical(id)));
        }
    }
    for wish in &world.question.wishes {
        let Wish::Replace { receiver, by, .. } = wish else { continue };
        let receiver = world.scene.register.canonical(*receiver);
        if done.times(&format!("swap:{receiver}/")) == 0 {
            continue;
        }
        match by {
            Some(by) => {
                touched.insert(world.scene.register.canonical(*by));
            }
            None => touched.extend(bought_before(world, receiver)),
        }
    }
    touched
}

/// Receivers that were entered as bought for the place of another.
fn bought_before(world: &World, receiver: DeviceId) -> Vec<DeviceId> {
    let mut found = Vec::new();
    let mut id = super::targets::mixed(receiver);
    while world.scene.register.device(id).is_some() && found.len() < 64 {
        found.push(id);
        id = super::targets::mixed(id);
    }
    debug_assert_eq!(bought_in_place_of(world.scene.register, receiver), id);
    found
}

impl World<'_> {
    /// The links of the question: transmitter and aircraft; `None` before a refit begins.
    fn links_begun(&self) -> Option<BTreeSet<(DeviceId, DeviceId)>> {
        let canonical = |id: DeviceId| self.scene.register.canonical(id);
        let links = self.question.links.as_ref()?;
        Some(links.iter().map(|kept| (canonical(kept.transmitter), canonical(kept.aircraft))).collect())
    }

    /// The links that hold now and are to hold in the end: for the log of a refit that begins.
    pub fn kept(&self) -> Vec<Kept> {
        let begun = self.links_begun();
        let mut kept = Vec::new();
        for craft in &self.crafts {
            if craft.required.is_empty() {
                continue;
            }
            let receivers = begun.is_none().then(|| self.fitted(&self.scene, craft));
            for transmitter in craft.required.iter().copied() {
                let holds = match (&begun, &receivers) {
                    (Some(begun), _) => begun.contains(&(transmitter, craft.card.id)),
                    (None, Some(receivers)) => World::all_link(&self.scene, transmitter, receivers),
                    (None, None) => false,
                };
                if holds {
                    kept.push(Kept { transmitter, aircraft: craft.card.id });
                }
            }
        }
        kept
    }
}
