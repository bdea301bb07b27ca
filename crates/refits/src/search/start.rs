//! A first answer for many aircraft: each transmitter in the middle of its own, one after the other.

use crate::problem::{Assignment, Place, Problem, Rank, Score, Stager};

/// Packs everything in one sequence into the evenings; the answer may break something, and then has
/// no score. `None` if there is no room.
pub fn in_sequence(problem: &Problem, stager: &mut dyn Stager) -> Option<(Assignment, Option<Score>)> {
    // What an item takes in the evening of all of its pivots.
    let takes: Vec<i64> = problem
        .items
        .iter()
        .enumerate()
        .map(|(at, item)| {
            let ranks: Vec<Rank> = vec![0; item.pivots.len() + usize::from(!item.idle)];
            stager.stages(at, 0, &vec![0; item.pivots.len()], &ranks).minutes.iter().sum()
        })
        .collect();
    let room: i64 = problem.evenings.iter().map(|slot| slot.capacity - slot.bench).sum();
    let pivots_take: i64 =
        problem.pivots.iter().filter_map(|one| one.options.first()).map(|one| one.minutes).sum();
    let idle = room - pivots_take - takes.iter().sum::<i64>();
    // Tightly at first, then with ever more room kept for what pairing and testing add.
    let mut last = None;
    for share in [1.0, 0.95, 0.9, 0.85] {
        let Some(answer) = pack(problem, &takes, share, idle) else { break };
        let score = problem.score(stager, &answer).ok();
        last = Some((answer, score));
        if score.is_some() {
            break;
        }
    }
    last
}

/// Pivots that share items stand beside each other.
fn neighbours_together(problem: &Problem) -> Vec<usize> {
    let mut seen = vec![false; problem.pivots.len()];
    let mut order = Vec::new();
    for first in 0..problem.pivots.len() {
        if seen[first] {
            continue;
        }
        seen[first] = true;
        let mut at = order.len();
        order.push(first);
        while at < order.len() {
            let here = order[at];
            at += 1;
            for other in
                problem.items.iter().filter(|item| item.pivots.contains(&here)).flat_map(|item| &item.pivots)
            {
                if !seen[*other] {
                    seen[*other] = true;
                    order.push(*other);
                }
            }
        }
    }
    order
}

#[derive(Clone, Copy)]
enum Thing {
    Pivot(usize),
    Item(usize),
}

fn pack(problem: &Problem, takes: &[i64], share: f64, idle: i64) -> Option<Assignment> {
    let evenings = problem.evenings.len();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "a part of some minutes"
    )]
    let room = |at: usize| {
        let slot = problem.evenings[at];
        ((slot.capacity - slot.bench) as f64 * share) as i64
    };
    let mut placed_item = vec![false; problem.items.len()];
    let mut pivots = vec![None; problem.pivots.len()];
    let mut items: Vec<Option<Place>> = vec![None; problem.items.len()];
    let mut night = 0;
    let mut left = (evenings > 0).then(|| room(0))?;
    let mut spare = idle;
    for pivot in neighbours_together(problem) {
        let own: Vec<usize> = problem
            .items
            .iter()
            .enumerate()
            .filter(|(at, item)| !item.idle && !placed_item[*at] && item.pivots.contains(&pivot))
            .map(|(at, _)| at)
            .collect();
        for at in &own {
            placed_item[*at] = true;
        }
        let half = own.len() / 2;
        let mut things: Vec<Thing> = own[..half].iter().map(|at| Thing::Item(*at)).collect();
        things.push(Thing::Pivot(pivot));
        things.extend(own[half..].iter().map(|at| Thing::Item(*at)));
        let load: i64 =
            own.iter().map(|at| takes[*at]).sum::<i64>() + problem.pivots[pivot].options[0].minutes;
        // Where the rest of the evening can be spared, a transmitter begins a new one.
        if load > left && left < room(night) && spare >= left && load <= room((night + 1).min(evenings - 1)) {
            spare -= left;
            night += 1;
            left = (night < evenings).then(|| room(night))?;
        }
        for thing in things {
            let needs = match thing {
                Thing::Pivot(at) => problem.pivots[at].options[0].minutes,
                Thing::Item(at) => takes[at],
            };
            let fits = |night: usize| match thing {
                Thing::Pivot(at) => problem.pivots[at].allowed[night],
                Thing::Item(at) => problem.items[at].allowed[night],
            };
            while needs > left || !fits(night) {
                night += 1;
                left = (night < evenings).then(|| room(night))?;
            }
            left -= needs;
            let place = Place { evening: night, option: 0 };
            match thing {
                Thing::Pivot(at) => pivots[at] = Some(place),
                Thing::Item(at) => items[at] = Some(place),
            }
        }
    }
    for (at, item) in problem.items.iter().enumerate() {
        if item.idle || placed_item[at] {
            continue;
        }
        while takes[at] > left || !item.allowed[night] {
            night += 1;
            left = (night < evenings).then(|| room(night))?;
        }
        left -= takes[at];
        items[at] = Some(Place { evening: night, option: 0 });
    }
    Some(Assignment { pivots: pivots.into_iter().collect::<Option<Vec<_>>>()?, items })
}
