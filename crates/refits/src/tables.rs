//! From a world to the bare problem: the ways of doing each thing, and what happens in each order.

use std::collections::BTreeMap;

use register::id::DeviceId;
use register::refit::Wish;
use register::value::EndRef;

use crate::ask::{EVENING, MOST_EVENINGS};
use crate::bench::{Bench, Routes};
use crate::problem::{Item, Pivot, Problem, Rank, Slot, Stager, Stages, Work};
use crate::release;
use crate::step::Sort;
use crate::world::{Group, Target, World};

/// How many ways of doing one thing are looked into.
const MOST_OPTIONS: usize = 16;

/// The ways of doing everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// By pivot.
    pub pivots: Vec<Vec<Routes>>,
    /// By item.
    pub items: Vec<Vec<Routes>>,
    /// Whether these are all ways, and not only the quickest.
    pub complete: bool,
}

fn routes_of<'t>(targets: impl Iterator<Item = &'t Target>, complete: &mut bool) -> Vec<Routes> {
    let mut all: Vec<Routes> = vec![BTreeMap::new()];
    for target in targets {
        let Some((family, last)) = target.family.as_ref().zip(target.versions.last()) else { continue };
        let mut routes = release::routes(family, target.side, last);
        routes.sort_by_key(|route| route.minutes.hundredths());
        if routes.is_empty() {
            continue;
        }
        let mut longer: Vec<Routes> = Vec::new();
        for have in &all {
            for route in &routes {
                let mut with: BTreeMap<EndRef, String> = have.clone();
                with.insert(target.end.clone(), route.name.clone());
                longer.push(with);
            }
        }
        *complete &= longer.len() <= MOST_OPTIONS;
        longer.truncate(MOST_OPTIONS);
        all = longer;
    }
    all
}

impl Options {
    /// Of a world.
    pub fn of(world: &World) -> Options {
        let mut complete = true;
        let mut of = |devices: Vec<DeviceId>| {
            let targets = devices.into_iter().flat_map(|device| {
                let swap = world.swaps.get(&device).map(|swap| &swap.target);
                let own = world.targets.get(&device).into_iter().flatten().filter(move |_| swap.is_none());
                own.chain(swap)
            });
            routes_of(targets, &mut complete)
        };
        let pivots = world.pivots.iter().map(|pivot| of(vec![*pivot])).collect();
        let items = world
            .items
            .iter()
            .map(|group| {
                let fitted = group.crafts.iter().flat_map(|at| world.crafts[*at].receivers.clone());
                of(fitted.chain(group.loose.clone()).collect())
            })
            .collect();
        Options { pivots, items, complete }
    }
}

/// Carries items out on the bench in every order that is asked for.
#[derive(Debug)]
pub struct Tables<'w, 'a> {
    /// The world.
    pub world: &'w World<'a>,
    /// The ways.
    pub options: &'w Options,
}

impl Tables<'_, '_> {
    fn flies(&self, bench: &Bench, group: &Group) -> u64 {
        let crafts = group.crafts.iter().enumerate();
        crafts.fold(0, |bits, (bit, at)| {
            bits | (u64::from(self.world.flies(&bench.scene, &self.world.crafts[*at])) << bit)
        })
    }
}

impl Stager for Tables<'_, '_> {
    fn stages(&mut self, item: usize, option: usize, pivot_options: &[usize], ranks: &[Rank]) -> Stages {
        let group = &self.world.items[item];
        let (own, of_pivots) =
            if group.has_work { (ranks.first().copied(), &ranks[1..]) } else { (None, ranks) };
        let last = ranks.iter().copied().max().unwrap_or(0);
        let mut bench = Bench::new(self.world);
        let mut stages = Stages { minutes: Vec::new(), covers: Vec::new(), flies: Vec::new() };
        for rank in 0..=last {
            for ((pivot, at), option) in group.pivots.iter().zip(of_pivots).zip(pivot_options) {
                if *at == rank {
                    bench.transmitter(self.world.pivots[*pivot], &self.options.pivots[*pivot][*option]);
                }
            }
            // What the transmitters take by themselves is counted with them.
            let from = bench.steps.len();
            if own == Some(rank) {
                bench.group(group, &self.options.items[item][option]);
            }
            bench.finish(group, rank == last);
            let steps = &bench.steps[from..];
            stages.minutes.push(steps.iter().map(|step| step.minutes.hundredths()).sum());
            let covers = steps.iter().filter(|step| step.sort == Sort::Open).count();
            stages.covers.push(u32::try_from(covers).unwrap_or(u32::MAX));
            let flies = self.flies(&bench, group);
            stages.flies.push(flies);
        }
        stages
    }
}

/// What getting the bench out takes in an evening (from 1), hundredths of a minute.
pub(crate) fn bench(world: &World, number: u32) -> i64 {
    if world.question.has_begun(number) {
        return 0;
    }
    world.scene.register.minutes().lookup("refit.bench", None).hundredths()
}

/// The evenings of a question as slots, beginning with the first that may still be used. Getting the
/// bench out takes its share of an evening's time, and is not counted among a plan's minutes: else a
/// plan would ground many aircraft for one bench less.
fn slots(world: &World, least: i64) -> Vec<Slot> {
    let question = world.question;
    let bench = world.scene.register.minutes().lookup("refit.bench", None).hundredths();
    let first = usize::try_from(question.from.max(1) - 1).unwrap_or(usize::MAX);
    let wished = world.wishes().find_map(|(_, wish)| match wish {
        Wish::Evenings { minutes } => Some(minutes.clone()),
        _ => None,
    });
    let unlimited = wished.is_none() && question.evenings().is_some();
    let minutes: Vec<i64> = if let Some(minutes) = wished {
        minutes.iter().skip(first).map(|minutes| minutes.hundredths()).collect()
    } else {
        let each = if unlimited { i64::from(u32::MAX) } else { EVENING.hundredths() };
        let room = (each - bench).max(1);
        // Enough for all of it, with two to spare.
        let needed = usize::try_from((least + room - 1) / room).unwrap_or(MOST_EVENINGS);
        let last_day = world.wishes().filter_map(|(_, wish)| match wish {
            Wish::Fly { after, .. } => usize::try_from(*after).ok(),
            _ => None,
        });
        let put_off = question.put_off.values().filter_map(|until| usize::try_from(*until).ok());
        let far = last_day.chain(put_off).max().unwrap_or(0).saturating_sub(first);
        vec![each; (needed.max(far) + 2).min(MOST_EVENINGS)]
    };
    let mut slots: Vec<Slot> = (question.from.max(1)..)
        .zip(minutes)
        .map(|(number, capacity)| Slot { capacity: (capacity - self::bench(world, number)).max(0), bench: 0 })
        .collect();
    if let (Some(tonight), Some(slot)) = (question.tonight, slots.first_mut()) {
        *slot = Slot { capacity: tonight.left.hundredths().max(0), bench: 0 };
    }
    slots
}

/// The bare problem of a world.
pub fn problem(world: &World, options: &Options) -> Problem {
    let mut tables = Tables { world, options };
    let pivots: Vec<Vec<Work>> = world
        .pivots
        .iter()
        .zip(&options.pivots)
        .map(|(pivot, ways)| {
            ways.iter()
                .map(|routes| {
                    let mut bench = Bench::new(world);
                    bench.transmitter(*pivot, routes);
                    let minutes = bench.steps.iter().map(|step| step.minutes.hundredths()).sum();
                    Work { minutes, covers: 0 }
                })
                .collect()
        })
        .collect();
    let together: i64 =
        pivots.iter().filter_map(|ways| ways.iter().map(|way| way.minutes).min()).sum::<i64>()
            + world
                .items
                .iter()
                .enumerate()
                .map(|(item, group)| {
                    let ranks = vec![0; group.pivots.len() + usize::from(group.has_work)];
                    let ways = vec![0; group.pivots.len()];
                    tables.stages(item, 0, &ways, &ranks).minutes.iter().sum::<i64>()
                })
                .sum::<i64>();
    let evenings = slots(world, together);
    let from = i64::from(world.question.from.max(1));
    let allowed = |what: &[DeviceId]| -> Vec<bool> {
        let until = what.iter().filter_map(|id| world.question.put_off.get(id)).max().copied().unwrap_or(0);
        (from..).take(evenings.len()).map(|evening| evening >= i64::from(until)).collect()
    };
    let done = Bench::all_at_once(world);
    let items = world
        .items
        .iter()
        .zip(&options.items)
        .map(|(group, ways)| {
            let bits = |flies: &dyn Fn(usize) -> bool| {
                group
                    .crafts
                    .iter()
                    .enumerate()
                    .fold(0, |bits, (bit, at)| bits | (u64::from(flies(*at)) << bit))
            };
            let flies_last = bits(&|at| world.flies(&done, &world.crafts[at]));
            let mut must_fly = Vec::new();
            for (_, wish) in world.wishes() {
                let Wish::Fly { aircraft, after } = wish else { continue };
                let aircraft = world.scene.register.canonical(*aircraft);
                let Some(bit) = group.crafts.iter().position(|at| world.crafts[*at].card.id == aircraft)
                else {
                    continue;
                };
                match i64::from(*after) - from {
                    // The evening has begun: the day before it is past.
                    -1 if world.question.has_begun(world.question.from.max(1)) => {}
                    -1 => must_fly.push((bit, None)),
                    past if past < -1 => {}
                    ahead => {
                        let last = evenings.len().saturating_sub(1);
                        must_fly.push((bit, Some(usize::try_from(ahead).unwrap_or(last).min(last))));
                    }
                }
            }
            let mut what: Vec<DeviceId> = group.crafts.iter().map(|at| world.crafts[*at].card.id).collect();
            what.extend(group.loose.iter().copied());
            what.extend(group.crafts.iter().flat_map(|at| world.crafts[*at].receivers.iter().copied()));
            Item {
                options: ways.len(),
                allowed: allowed(&what),
                idle: !group.has_work,
                pivots: group.pivots.clone(),
                aircraft: group.crafts.len(),
                flies_first: bits(&|at| world.flies(&world.scene, &world.crafts[at])),
                counts: bits(&|at| world.crafts[at].flew) & flies_last,
                flies_last,
                must_fly,
            }
        })
        .collect();
    let most_grounded = world.wishes().find_map(|(_, wish)| match wish {
        Wish::Grounded { most } => Some(*most),
        _ => None,
    });
    let pivots = world
        .pivots
        .iter()
        .zip(pivots)
        .map(|(pivot, options)| Pivot { options, allowed: allowed(&[*pivot]) })
        .collect();
    Problem { evenings, pivots, items, most_grounded }
}
