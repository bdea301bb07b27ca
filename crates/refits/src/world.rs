//! What a refit is about: the aircraft and their transmitters, which links must hold in the end,
//! what each end must come to, and what therefore has to be worked on.

mod cost;
mod crafts;
mod lean;
mod rest;
mod secrets;
mod targets;
mod versions;

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use register::check::Check;
use register::field::Field;
use register::fleet::{Fleet, natural};
use register::id::DeviceId;
use register::mend;
use register::refit::{Placed, Wish};
use register::register::Register;
use register::rule::{Status, Verdict};
use register::scene::Scene;
use register::time::Moment;
use register::value::{EndRef, SecretMark, Value};
use register::verdict;
use register::view::{self, Card, ReceiverView, State, TransmitterView};
use units::Minutes;

use crate::ask::Question;
use crate::bench::Started;

pub(crate) use targets::follows_words;
pub use targets::{Because, Swap, Target, bought_in_place_of};

/// Which wishes are asked for: all of them, or some while a conflict is looked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mask {
    /// By wish.
    pub wishes: Vec<bool>,
    /// Whether what links now must link in the end.
    pub links: bool,
}

impl Mask {
    /// All of them.
    pub fn all(question: &Question) -> Mask {
        Mask { wishes: vec![true; question.wishes.len()], links: true }
    }
}

/// Why there is no plan, whatever the evenings.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// A wish can't be read: it names what isn't there.
    #[error("{0}")]
    Refused(String),
    /// The wishes can't be met together.
    #[error("{0}")]
    Clash(String),
}

/// An aircraft, as a refit sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Craft {
    /// What it is called and where it is.
    pub card: Card,
    /// The receivers in it now.
    pub receivers: Vec<DeviceId>,
    /// The transmitters it may be flown with: it can fly while it links with one of them.
    pub flown_by: Vec<DeviceId>,
    /// Those it needs all of, where somebody said so.
    pub needs: Vec<DeviceId>,
    /// Those it must link with when the refit ends.
    pub required: Vec<DeviceId>,
    /// How long its cover takes.
    pub cover: Option<Minutes>,
    /// Whether it could fly when the refit began.
    pub flew: bool,
}

/// What a look would settle before a refit.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// What to look at.
    pub text: String,
    /// How long it takes.
    pub minutes: Minutes,
    /// What the plan supposes meanwhile.
    pub supposes: String,
}

/// What is left out of a refit that a wish for a whole family would touch.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// The device.
    pub device: Card,
    /// Why, after its name.
    pub why: String,
}

/// A refit's world.
#[derive(Clone, Debug)]
pub struct World<'a> {
    /// The register as it is.
    pub scene: Scene<'a>,
    /// The present moment.
    pub now: Moment,
    /// What is asked.
    pub question: &'a Question,
    /// Which wishes count.
    pub mask: Mask,
    /// Every aircraft that can be worked on, in the order of labels.
    pub crafts: Vec<Craft>,
    /// What each device's ends must come to.
    pub targets: BTreeMap<DeviceId, Vec<Target>>,
    /// The receivers that are replaced.
    pub swaps: BTreeMap<DeviceId, Swap>,
    /// What else must be mended for a link to hold, when both of its ends are done.
    pub extra: BTreeMap<(DeviceId, DeviceId), Vec<mend::Step>>,
    /// What would be good to look at first.
    pub looks: Vec<Look>,
    /// What a wish for a whole family doesn't touch.
    pub left_out: Vec<LeftOut>,
    /// How many ways there are to settle each group of ends that must go together.
    pub choices: Vec<usize>,
    /// Whether those are all ways there are, and not only the likeliest.
    pub complete: bool,
    /// The transmitters with work, in the order of labels.
    pub pivots: Vec<DeviceId>,
    /// What is worked on besides, or leans on those transmitters.
    pub items: Vec<Group>,
    pub(crate) started: OnceCell<Started>,
}

/// Aircraft that are worked on together, or one loose receiver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// What it is called by: its first aircraft, or the loose receiver.
    pub what: DeviceId,
    /// Indexes into [`World::crafts`].
    pub crafts: Vec<usize>,
    /// Receivers with work in no aircraft.
    pub loose: Vec<DeviceId>,
    /// Indexes into [`World::pivots`].
    pub pivots: Vec<usize>,
    /// Whether anything is done on it in an evening of its own.
    pub has_work: bool,
}

impl<'a> World<'a> {
    /// Works out what a question is about. `picks` chooses among the ways that [`World::choices`]
    /// counts; a number too many is the last.
    ///
    /// # Errors
    /// A wish names what isn't there, or wishes can't be met together in any number of evenings.
    pub fn build(
        register: &'a Register,
        fleet: &Fleet,
        question: &'a Question,
        mask: &Mask,
        picks: &[usize],
        now: Moment,
    ) -> Result<World<'a>, Trouble> {
        World::build_counting(register, fleet, question, mask, picks, now, &mut Vec::new())
    }

    /// The same; `choices` comes to what [`World::choices`] would be also where there is trouble
    /// that other picks may not have.
    pub(crate) fn build_counting(
        register: &'a Register,
        fleet: &Fleet,
        question: &'a Question,
        mask: &Mask,
        picks: &[usize],
        now: Moment,
        choices: &mut Vec<usize>,
    ) -> Result<World<'a>, Trouble> {
        choices.clear();
        let mut world = World {
            scene: Scene::new(register),
            now,
            question,
            mask: mask.clone(),
            crafts: Vec::new(),
            targets: BTreeMap::new(),
            swaps: BTreeMap::new(),
            extra: BTreeMap::new(),
            looks: Vec::new(),
            left_out: Vec::new(),
            choices: Vec::new(),
            complete: true,
            pivots: Vec::new(),
            items: Vec::new(),
            started: OnceCell::new(),
        };
        crafts::gather(&mut world, fleet)?;
        let settled = targets::settle(&mut world, fleet, picks);
        choices.clone_from(&world.choices);
        settled?;
        world.gather_work(fleet)?;
        world.mend_rest(fleet)?;
        world.must_fly()?;
        world.look_first(fleet);
        Ok(world)
    }

    /// What earlier ticks left behind.
    pub(crate) fn started(&self) -> &Started {
        self.started.get_or_init(|| Started::of(self))
    }

    /// The wishes that count, with their places.
    pub fn wishes(&self) -> impl Iterator<Item = (usize, &'a Wish)> {
        let question = self.question;
        let mask = self.mask.wishes.clone();
        question.wishes.iter().enumerate().filter(move |(at, _)| mask.get(*at) == Some(&true))
    }

    /// What a device is called in tables.
    pub fn label(&self, id: DeviceId) -> String {
        self.scene.device(id).map_or_else(|| "a new receiver".to_owned(), |device| view::card(device).label())
    }

    /// What a device is called in sentences.
    pub fn spoken(&self, id: DeviceId) -> String {
        self.scene
            .device(id)
            .map_or_else(|| "a new receiver".to_owned(), |device| view::card(device).spoken())
    }

    fn all_pair(&self) -> bool {
        self.wishes().any(|(_, wish)| *wish == Wish::AllPair)
    }

    /// The receivers that are in an aircraft in a scene, of those that ever are in this refit.
    pub fn fitted(&self, scene: &Scene, craft: &Craft) -> Vec<ReceiverView> {
        let swapped = craft.receivers.iter().filter_map(|id| self.swaps.get(id)).map(|swap| swap.by);
        craft
            .receivers
            .iter()
            .copied()
            .chain(swapped)
            .filter_map(|id| scene.device(id))
            .map(|device| view::receiver(scene, device))
            .filter(|view| view.fitted_in() == Some(craft.card.id) && view.card.state.is_here())
            .collect()
    }

    /// Whether every receiver of an aircraft links with a transmitter in a scene, and all of them
    /// are at hand.
    pub fn links(&self, scene: &Scene, transmitter: DeviceId, craft: &Craft) -> bool {
        at_hand(craft.card.state) && World::all_link(scene, transmitter, &self.fitted(scene, craft))
    }

    /// Whether receivers link with a transmitter, and all of them are at hand.
    fn all_link(scene: &Scene, transmitter: DeviceId, receivers: &[ReceiverView]) -> bool {
        if receivers.is_empty() || !receivers.iter().all(|receiver| at_hand(receiver.card.state)) {
            return false;
        }
        World::transmitter(scene, transmitter).is_some_and(|transmitter| {
            receivers.iter().all(|receiver| verdict::quick(&transmitter, receiver) == Verdict::Links)
        })
    }

    /// Whether an aircraft can fly in a scene, by the verdict engine: it links with every
    /// transmitter that it needs or, where nobody said which, with one that flies it. One that is
    /// lent, crashed or gone doesn't, nor with such a transmitter or receiver.
    pub fn flies(&self, scene: &Scene, craft: &Craft) -> bool {
        if !at_hand(craft.card.state) {
            return false;
        }
        let receivers = self.fitted(scene, craft);
        let links = |t: &DeviceId| World::all_link(scene, *t, &receivers);
        if craft.needs.is_empty() { craft.flown_by.iter().any(links) } else { craft.needs.iter().all(links) }
    }

    /// A transmitter's view in a scene, where it is at hand.
    pub(crate) fn transmitter(scene: &Scene, id: DeviceId) -> Option<TransmitterView> {
        let view = scene.device(id).map(|device| view::transmitter(scene, device));
        view.filter(|view| at_hand(view.card.state))
    }

    fn gather_work(&mut self, fleet: &Fleet) -> Result<(), Trouble> {
        let mut pivots: Vec<DeviceId> = self
            .targets
            .keys()
            .copied()
            .filter(|id| {
                self.scene.device(*id).and_then(|device| device.sort)
                    == Some(register::field::Sort::Transmitter)
            })
            .collect();
        pivots.sort_by_cached_key(|id| (natural(&self.label(*id)), *id));
        self.pivots = pivots;
        self.items = lean::groups(self, fleet)?;
        Ok(())
    }

    /// Leaves out what a plan doesn't have; gives, in words, what that is.
    ///
    /// # Errors
    /// What is left can't be worked on.
    pub(crate) fn keep_to(&mut self, fleet: &Fleet, placed: &[Placed]) -> Result<Vec<String>, Trouble> {
        let register = self.scene.register;
        let of_group: BTreeMap<DeviceId, DeviceId> = self
            .items
            .iter()
            .flat_map(|group| {
                let fitted = group.crafts.iter().flat_map(|at| &self.crafts[*at].receivers);
                fitted.chain(&group.loose).map(|device| (*device, group.what))
            })
            .collect();
        let find = |device: DeviceId| {
            let what = of_group.get(&device).copied().unwrap_or(device);
            placed.iter().find(|one| register.canonical(one.what) == what)
        };
        let fits = |target: &Target| {
            find(target.end.device).is_some_and(|one| {
                let work = one.ends.iter().find(|work| {
                    register.canonical(work.end.device) == target.end.device && work.end.end == target.end.end
                });
                match (work, target.versions.last()) {
                    (Some(work), Some(version)) => crate::release::same(&work.version, version),
                    (_, version) => version.is_none(),
                }
            })
        };
        let mut others = BTreeSet::new();
        for (device, targets) in &mut self.targets {
            targets.retain(|target| {
                let stays = fits(target);
                if !stays {
                    others.insert(*device);
                }
                stays
            });
        }
        self.targets.retain(|_, targets| !targets.is_empty());
        self.swaps.retain(|device, _| {
            let stays = find(*device).is_some();
            if !stays {
                others.insert(*device);
            }
            stays
        });
        let others = others
            .into_iter()
            .map(|device| {
                format!("{} would have to be changed now, and isn't in the plan.", self.label(device))
            })
            .collect();
        self.gather_work(fleet)?;
        Ok(others)
    }

    /// Whether any receiver of a group is to be changed, or a setting for its links.
    pub(crate) fn is_changed(&self, group: &Group) -> bool {
        let crafts = group.crafts.iter().map(|at| &self.crafts[*at]);
        let fitted = crafts.flat_map(|craft| &craft.receivers).chain(&group.loose);
        fitted.into_iter().any(|id| {
            self.targets.contains_key(id)
                || self.swaps.contains_key(id)
                || self.extra.keys().any(|(_, receiver)| receiver == id)
        })
    }

    /// Whether a craft's link with a transmitter was changed, and not tested or not range-checked
    /// since.
    pub(crate) fn untested(&self, transmitter: DeviceId, craft: &Craft) -> bool {
        let done = &self.question.done;
        if done.is_empty() {
            return false;
        }
        let changed = crate::bench::changed_last(done, transmitter)
            .max(craft.receivers.iter().filter_map(|id| crate::bench::changed_last(done, *id)).max());
        let tested = done.last(&crate::bench::test_key(transmitter, craft.card.id));
        let ranged = done.last(&crate::bench::range_key(transmitter, craft.card.id));
        // What doesn't link, and isn't meant to, can't be tried.
        changed > tested.min(ranged)
            && (craft.required.contains(&transmitter) || self.links(&self.scene, transmitter, craft))
    }

    /// The looks that settle a link that can't be told.
    fn looks_of(scene: &Scene, link: &verdict::Link) -> Vec<Check> {
        let (Some(transmitter), Some(receiver)) =
            (scene.device(link.transmitter.id), scene.device(link.receiver.id))
        else {
            return Vec::new();
        };
        if !link.findings.iter().any(|finding| finding.status == Status::Unknown) {
            return Vec::new();
        }
        let (t, r) = (view::transmitter(scene, transmitter), view::receiver(scene, receiver));
        register::check::checks(scene, &t, &r, link)
    }

    /// The last value that was known of a fact, whether or not a flash wiped it since.
    pub(crate) fn last_known(&self, end: &EndRef, field: Field) -> Option<register::value::Value> {
        let facts = self.scene.device(end.device)?.ends.get(&end.end)?;
        view::fact(&facts.facts, field).one().cloned()
    }

    /// The link secret that an end held last.
    pub(crate) fn last_secret(&self, end: &EndRef) -> Option<SecretMark> {
        match self.last_known(end, Field::Secret)? {
            register::value::Value::Secret(mark) => Some(mark),
            _ => None,
        }
    }

    /// Why a device can't be worked on, after its name: it is elsewhere, or what it is in is.
    fn away(&self, id: DeviceId) -> Option<String> {
        let Some(device) = self.scene.device(id) else { return Some("is gone".to_owned()) };
        let card = view::card(device);
        if let Some(words) = away_words(card.state) {
            return Some(words.to_owned());
        }
        let aircraft = match view::fact(&device.whole, Field::Aircraft).one() {
            Some(Value::Device(aircraft)) => self.scene.device(*aircraft).map(view::card)?,
            _ => return None,
        };
        away_words(aircraft.state).map(|words| format!("is in {}, which {words}", aircraft.label()))
    }
}

/// Whether a device can be worked on and flown.
pub(crate) fn at_hand(state: State) -> bool {
    away_words(state).is_none()
}

/// Why a device can't be worked on, after its name.
fn away_words(state: State) -> Option<&'static str> {
    match state {
        State::Lent => Some("is lent"),
        State::Crashed => Some("has crashed and wasn't looked at yet"),
        State::Sold | State::Destroyed => Some("is gone"),
        State::InUse | State::Shelf => None,
    }
}
