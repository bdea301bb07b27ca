//! A plan as a person follows it: evening by evening, step by step, with who can fly after each.

use std::collections::{BTreeMap, BTreeSet};

use register::fleet::natural;
use register::id::DeviceId;
use register::refit::Wish;
use register::scene::{Change, Scene};
use units::Minutes;

use crate::bench::{Bench, Routes};
use crate::problem::{Assignment, Place};
use crate::step::{Back, Sort, Step};
use crate::tables::Options;
use crate::world::{Group, World};

/// A step in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The step.
    pub step: Step,
    /// Aircraft that can't fly any more after it.
    pub grounds: Vec<DeviceId>,
    /// Aircraft that can fly after it, and couldn't before.
    pub frees: Vec<DeviceId>,
    /// The minutes back to how things stood when the plan began, from after this step; `None`
    /// when there is no way back any more.
    pub back: Option<Minutes>,
}

/// One evening.
#[derive(Clone, Debug, PartialEq)]
pub struct Night {
    /// Its number, from 1.
    pub number: u32,
    /// How much time there is; `None` without a limit.
    pub available: Option<Minutes>,
    /// What its steps take.
    pub minutes: Minutes,
    /// Its steps, in order.
    pub lines: Vec<Line>,
    /// By aircraft of the plan: whether it can fly when the evening is over.
    pub flies: Vec<bool>,
    /// How many of them are grounded at once at the worst moment of the evening.
    pub most_grounded: usize,
    /// The transmitters that are kept back: they are changed in a later evening.
    pub kept_back: Vec<DeviceId>,
    /// Why there is no way back from some of its steps.
    pub no_way_back: Vec<String>,
}

/// The assignment of a problem on the world it came from.
#[derive(Clone, Copy, Debug)]
pub struct Laid<'w, 'a> {
    /// The world.
    pub world: &'w World<'a>,
    /// The ways.
    pub options: &'w Options,
    /// What is done when.
    pub assignment: &'w Assignment,
}

impl Laid<'_, '_> {
    fn pivot_at(&self, pivot: usize) -> Place {
        self.assignment.pivots[pivot]
    }

    fn routes(&self, item: usize) -> Routes {
        self.assignment.items[item]
            .map_or_else(Routes::new, |place| self.options.items[item][place.option].clone())
    }

    /// How much an aircraft's group is needed: the least needed first. Spares come before all,
    /// then what nobody waits for, then what must fly latest.
    fn need(&self, group: &Group) -> (bool, i64, Vec<(bool, u64, String)>, DeviceId) {
        let waits = self.world.wishes().filter_map(|(_, wish)| match wish {
            Wish::Fly { aircraft, after } => {
                let aircraft = self.world.scene.register.canonical(*aircraft);
                let is_its = group.crafts.iter().any(|at| self.world.crafts[*at].card.id == aircraft);
                is_its.then_some(i64::from(*after))
            }
            _ => None,
        });
        let soonest = waits.min().map_or(i64::MIN, |after| -after);
        (!group.crafts.is_empty(), soonest, natural(&self.world.label(group.what)), group.what)
    }

    /// The steps of each evening, by its place among the evenings that are left.
    pub fn steps(&self) -> Vec<Vec<Step>> {
        let world = self.world;
        let mut bench = Bench::new(world);
        let nights = self
            .assignment
            .pivots
            .iter()
            .map(|place| place.evening)
            .chain(self.assignment.items.iter().flatten().map(|place| place.evening))
            .max()
            .map_or(0, |last| last + 1);
        let mut items: Vec<usize> = (0..world.items.len()).collect();
        items.sort_by_cached_key(|item| self.need(&world.items[*item]));
        // The transmitter of the fewest aircraft first: the others are kept back while it is tried.
        let mut pivots: Vec<usize> = (0..world.pivots.len()).collect();
        pivots.sort_by_cached_key(|pivot| {
            let leaning = world.items.iter().filter(|group| group.pivots.contains(pivot)).count();
            (leaning, *pivot)
        });
        let mut all = Vec::new();
        for night in 0..nights {
            let from = bench.steps.len();
            let number = world.question.from.max(1).saturating_add(u32::try_from(night).unwrap_or(u32::MAX));
            let begun = world.question.has_begun(number);
            let tonight: Vec<usize> =
                pivots.iter().copied().filter(|pivot| self.pivot_at(*pivot).evening == night).collect();
            let work = |item: usize| self.assignment.items[item].is_some_and(|place| place.evening == night);
            if !begun && (!tonight.is_empty() || items.iter().any(|item| work(*item))) {
                bench.get_out(number);
            }
            let leans_tonight = |item: usize| {
                world.items[item].pivots.iter().any(|pivot| self.pivot_at(*pivot).evening == night)
            };
            for item in items.iter().copied().filter(|item| work(*item) && !leans_tonight(*item)) {
                self.work(&mut bench, item, night);
            }
            let mut to_do: BTreeSet<usize> = tonight.iter().copied().collect();
            for pivot in tonight {
                bench.transmitter(
                    world.pivots[pivot],
                    &self.options.pivots[pivot][self.pivot_at(pivot).option],
                );
                to_do.remove(&pivot);
                for item in &items {
                    let group = &world.items[*item];
                    let ready = group.pivots.contains(&pivot)
                        && group.pivots.iter().all(|pivot| !to_do.contains(pivot));
                    if ready {
                        self.work(&mut bench, *item, night);
                    }
                }
            }
            all.push(bench.steps[from..].to_vec());
        }
        all
    }

    /// Does a group's own work, where it is tonight's, and what comes after it.
    fn work(&self, bench: &mut Bench, item: usize, night: usize) {
        let group = &self.world.items[item];
        if self.assignment.items[item].is_some_and(|place| place.evening == night) {
            bench.group(group, &self.routes(item));
        }
        let own = self.assignment.items[item].is_none_or(|place| place.evening <= night);
        let last = own && group.pivots.iter().all(|pivot| self.pivot_at(*pivot).evening <= night);
        bench.finish(group, last);
    }

    /// The aircraft that the plan is about, in the order of labels, as places among
    /// [`World::crafts`].
    pub fn crafts(&self) -> Vec<usize> {
        let mut crafts: Vec<usize> = self.world.items.iter().flat_map(|group| group.crafts.clone()).collect();
        crafts.sort_unstable();
        crafts.dedup();
        crafts
    }

    /// The evenings, each step carried out once more on the register and every aircraft judged by
    /// the verdict engine after it.
    pub fn nights(&self, available: &[Option<Minutes>]) -> Vec<Night> {
        let world = self.world;
        let crafts = self.crafts();
        let mut scene = world.scene.clone();
        let mut flies: Vec<bool> = crafts.iter().map(|at| world.flies(&scene, &world.crafts[*at])).collect();
        let mut leaning: BTreeMap<DeviceId, Vec<usize>> = BTreeMap::new();
        for group in &world.items {
            let places: Vec<usize> =
                group.crafts.iter().filter_map(|at| crafts.binary_search(at).ok()).collect();
            let mut devices: BTreeSet<DeviceId> =
                group.pivots.iter().map(|pivot| world.pivots[*pivot]).collect();
            for at in &group.crafts {
                devices.extend(world.crafts[*at].flown_by.iter().copied());
                devices.extend(world.crafts[*at].receivers.iter().copied());
                let swapped = world.crafts[*at].receivers.iter().filter_map(|id| world.swaps.get(id));
                devices.extend(swapped.map(|swap| swap.by));
            }
            for device in devices {
                leaning.entry(device).or_default().extend(places.iter().copied());
            }
        }
        let flew: Vec<bool> = crafts.iter().map(|at| world.crafts[*at].flew).collect();
        let mut back = Some(Minutes::ZERO);
        let mut nights = Vec::new();
        for (place, steps) in self.steps().into_iter().enumerate() {
            let grounded =
                |flies: &[bool]| flies.iter().zip(&flew).filter(|(flies, flew)| !**flies && **flew).count();
            let mut most_grounded = grounded(&flies);
            let mut no_way_back: Vec<String> = Vec::new();
            let mut lines = Vec::new();
            for step in steps {
                let (mut grounds, mut frees) = (Vec::new(), Vec::new());
                if !step.changes.is_empty() {
                    for change in &step.changes {
                        scene.apply(change, world.now);
                    }
                    let touched: BTreeSet<usize> = step
                        .changes
                        .iter()
                        .map(Change::device)
                        .flat_map(|device| leaning.get(&device).cloned().unwrap_or_default())
                        .collect();
                    for at in touched {
                        let craft = &world.crafts[crafts[at]];
                        let now = world.flies(&scene, craft);
                        match (flies[at], now) {
                            (true, false) => grounds.push(craft.card.id),
                            (false, true) => frees.push(craft.card.id),
                            _ => {}
                        }
                        flies[at] = now;
                    }
                    most_grounded = most_grounded.max(grounded(&flies));
                }
                match &step.back {
                    Back::Nothing => {}
                    Back::Way { minutes, .. } => back = back.map(|sum| sum + *minutes),
                    Back::None { why } => {
                        back = None;
                        no_way_back.push(why.clone());
                    }
                }
                lines.push(Line { step, grounds, frees, back });
            }
            let number = world.question.from.max(1).saturating_add(u32::try_from(place).unwrap_or(u32::MAX));
            nights.push(Night {
                number,
                available: available.get(place).copied().flatten(),
                minutes: lines.iter().map(|line| line.step.minutes).sum(),
                lines,
                flies: flies.clone(),
                most_grounded,
                kept_back: (0..world.pivots.len())
                    .filter(|pivot| self.pivot_at(*pivot).evening > place)
                    .map(|pivot| world.pivots[pivot])
                    .collect(),
                no_way_back,
            });
        }
        nights
    }

    /// How things stand when the plan is done.
    pub fn after(&self) -> Scene<'_> {
        let mut scene = self.world.scene.clone();
        for step in self.steps().iter().flatten() {
            for change in &step.changes {
                scene.apply(change, self.world.now);
            }
        }
        scene
    }
}

/// How many covers steps open.
pub fn covers(nights: &[Night]) -> usize {
    let steps = nights.iter().flat_map(|night| &night.lines);
    steps.filter(|line| line.step.sort == Sort::Open).count()
}
