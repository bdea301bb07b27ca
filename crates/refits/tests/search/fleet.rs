//! Fleets drawn from a seed, for the tests and the bench.

use refits::problem::{Assignment, Item, Pivot, Place, Problem, Rank, Score, Slot, Stager, Stages, Work};

/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", 2014.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From `low` to `high`, both included.
    pub fn whole(&mut self, low: u64, high: u64) -> u64 {
        low + self.next() % (high - low + 1)
    }

    pub fn count(&mut self, low: u64, high: u64) -> usize {
        usize::try_from(self.whole(low, high)).unwrap()
    }

    pub fn minutes(&mut self, low: u64, high: u64) -> i64 {
        i64::try_from(self.whole(low, high)).unwrap()
    }

    pub fn one_in(&mut self, many: u64) -> bool {
        self.next().is_multiple_of(many)
    }
}

/// Stages drawn by the question itself: no law binds them.
pub struct Wild {
    pub seed: u64,
    pub aircraft: Vec<usize>,
    pub high: u64,
}

impl Stager for Wild {
    fn stages(&mut self, item: usize, option: usize, pivot_options: &[usize], ranks: &[Rank]) -> Stages {
        let mut seed = self.seed;
        let ranks_wide = ranks.iter().map(|rank| usize::from(*rank));
        for one in [item, option].into_iter().chain(pivot_options.iter().copied()).chain(ranks_wide) {
            seed = Dice(seed.wrapping_mul(31).wrapping_add(one as u64 + 1)).next();
        }
        let mut dice = Dice(seed);
        let count = ranks.iter().max().map_or(0, |most| usize::from(*most) + 1);
        let all = (1_u64 << self.aircraft[item]) - 1;
        Stages {
            minutes: (0..count).map(|_| dice.minutes(0, self.high)).collect(),
            covers: (0..count).map(|_| u32::try_from(dice.whole(0, 2)).unwrap()).collect(),
            flies: (0..count).map(|_| (dice.next() | dice.next()) & all).collect(),
        }
    }
}

/// What an aircraft takes.
pub struct Line {
    /// By option: own minutes and covers.
    pub ways: Vec<(i64, u32)>,
    pub pairing: i64,
    /// Flies while half of it is done, at the price of one more test.
    pub mixed: Option<i64>,
    pub idle: bool,
    pub all: u64,
}

/// Stages as a workshop has them.
pub struct Workshop {
    pub lines: Vec<Line>,
}

impl Stager for Workshop {
    fn stages(&mut self, item: usize, option: usize, pivot_options: &[usize], ranks: &[Rank]) -> Stages {
        let line = &self.lines[item];
        let count = ranks.iter().max().map_or(0, |most| usize::from(*most) + 1);
        let mut stages =
            Stages { minutes: vec![0; count], covers: vec![0; count], flies: vec![line.all; count] };
        let pivots = &ranks[usize::from(!line.idle)..];
        assert_eq!(pivots.len(), pivot_options.len());
        let own = if line.idle { None } else { Some(usize::from(ranks[0])) };
        if let Some(own) = own {
            let (minutes, covers) = line.ways[option];
            stages.minutes[own] += minutes;
            stages.covers[own] += covers;
        }
        for pivot in pivots {
            let pivot = usize::from(*pivot);
            let Some(own) = own else {
                stages.minutes[pivot] += line.pairing;
                continue;
            };
            stages.minutes[own.max(pivot)] += line.pairing;
            if own == pivot {
                continue;
            }
            if let Some(test) = line.mixed {
                stages.minutes[own.min(pivot)] += test;
            } else {
                for flies in &mut stages.flies[own.min(pivot)..own.max(pivot)] {
                    *flies = 0;
                }
            }
        }
        stages
    }
}

/// A fleet as it might stand in a hangar; evenings are as long as `minutes` says.
pub fn workshop(
    seed: u64,
    items: usize,
    pivots: usize,
    evenings: usize,
    minutes: (u64, u64),
) -> (Problem, Workshop) {
    let mut dice = Dice(seed);
    let slots = (0..evenings)
        .map(|_| Slot { capacity: 100 * dice.minutes(minutes.0, minutes.1), bench: 500 })
        .collect::<Vec<_>>();
    let transmitters = (0..pivots)
        .map(|_| Pivot {
            options: (0..dice.whole(1, 2))
                .map(|way| Work {
                    minutes: dice.minutes(800, 1500) + 200 * i64::try_from(way).unwrap(),
                    covers: u32::from(way == 0 && dice.one_in(3)),
                })
                .collect(),
            allowed: (0..evenings).map(|_| !dice.one_in(12)).collect(),
        })
        .collect::<Vec<_>>();
    let mut lines = Vec::new();
    let mut fleet = Vec::new();
    for at in 0..items {
        let loose = dice.one_in(25);
        let idle = !loose && dice.one_in(12);
        let mut leans = Vec::new();
        if !loose {
            leans.push(at % pivots);
            if dice.one_in(6) && pivots > 1 {
                // A club's trainer transmitter: one of the next.
                leans.push((at + 1 + dice.count(0, 1)) % pivots);
                leans.dedup();
            }
        }
        let ways = if idle { 1 } else { dice.count(1, 2) };
        let glued = if dice.one_in(8) { 1500 } else { 0 };
        let minutes = dice.minutes(600, 2500);
        let aircraft = if loose { 0 } else { 1 + usize::from(dice.one_in(10)) };
        let all = (1_u64 << aircraft) - 1;
        lines.push(Line {
            ways: (0..ways)
                .map(
                    |way| {
                        if way == 0 {
                            (minutes + glued, 1 + u32::from(glued > 0))
                        } else {
                            (minutes + 400, 0)
                        }
                    },
                )
                .collect(),
            pairing: dice.minutes(200, 400),
            mixed: dice.one_in(5).then_some(700),
            idle,
            all,
        });
        let must_fly = if !loose && dice.one_in(15) {
            vec![(0, Some(dice.count(0, evenings as u64 - 1)))]
        } else {
            Vec::new()
        };
        fleet.push(Item {
            options: ways,
            allowed: (0..evenings).map(|_| !dice.one_in(15)).collect(),
            idle,
            pivots: leans,
            aircraft,
            flies_first: all,
            counts: all,
            flies_last: all,
            must_fly,
        });
    }
    let problem = Problem { evenings: slots, pivots: transmitters, items: fleet, most_grounded: None };
    (problem, Workshop { lines })
}

/// A problem small enough to try everything.
pub fn small(seed: u64) -> (Problem, Box<dyn Stager>) {
    let mut dice = Dice(seed.wrapping_mul(7919).wrapping_add(3));
    let evenings = dice.count(1, 3);
    let tight = dice.whole(30, 140);
    let slots = (0..evenings)
        .map(|_| Slot { capacity: dice.minutes(tight / 2, tight), bench: dice.minutes(0, 15) })
        .collect();
    let pivots: Vec<Pivot> = (0..dice.whole(0, 2))
        .map(|_| Pivot {
            options: (0..dice.whole(1, 2))
                .map(|_| Work {
                    minutes: dice.minutes(1, 20),
                    covers: u32::try_from(dice.whole(0, 2)).unwrap(),
                })
                .collect(),
            allowed: (0..evenings).map(|_| !dice.one_in(8)).collect(),
        })
        .collect();
    let wild = dice.one_in(2);
    let mut lines = Vec::new();
    let items: Vec<Item> = (0..dice.whole(0, 4))
        .map(|_| {
            let mut leans: Vec<usize> = (0..pivots.len()).filter(|_| !dice.one_in(3)).collect();
            if dice.one_in(2) {
                leans.reverse();
            }
            let idle = dice.one_in(6);
            let aircraft = dice.count(0, 2);
            let all = (1_u64 << aircraft) - 1;
            let options = if idle { 1 } else { dice.count(1, 2) };
            let after = if dice.one_in(30) { None } else { Some(dice.count(0, 2)) };
            lines.push(Line {
                ways: (0..options)
                    .map(|_| (dice.minutes(0, 25), u32::try_from(dice.whole(0, 2)).unwrap()))
                    .collect(),
                pairing: dice.minutes(0, 8),
                mixed: dice.one_in(3).then_some(7),
                idle,
                all,
            });
            Item {
                options,
                allowed: (0..evenings).map(|_| !dice.one_in(8)).collect(),
                idle,
                pivots: leans,
                aircraft,
                counts: if wild { dice.next() & all } else { all },
                flies_first: if wild { dice.next() & all } else { all },
                flies_last: if wild { dice.next() & all } else { all },
                must_fly: if aircraft > 0 && dice.one_in(4) {
                    vec![(dice.count(0, aircraft as u64 - 1), after)]
                } else {
                    Vec::new()
                },
            }
        })
        .collect();
    let most_grounded = dice.one_in(4).then(|| u32::try_from(dice.whole(0, 3)).unwrap());
    let aircraft = items.iter().map(|item| item.aircraft).collect();
    let problem = Problem { evenings: slots, pivots, items, most_grounded };
    if wild {
        (problem, Box::new(Wild { seed, aircraft, high: 15 }))
    } else {
        (problem, Box::new(Workshop { lines }))
    }
}

/// The best by trying every assignment.
pub fn every(problem: &Problem, stager: &mut dyn Stager) -> Option<(Assignment, Score)> {
    let evenings = problem.evenings.len();
    let mut counts: Vec<usize> = problem.pivots.iter().map(|pivot| pivot.options.len() * evenings).collect();
    counts.extend(problem.items.iter().map(|item| if item.idle { 1 } else { item.options * evenings }));
    let mut digits = vec![0; counts.len()];
    let mut best: Option<(Assignment, Score)> = None;
    loop {
        let place = |digit: usize| Place { evening: digit % evenings, option: digit / evenings };
        let (first, rest) = digits.split_at(problem.pivots.len());
        let answer = Assignment {
            pivots: first.iter().map(|digit| place(*digit)).collect(),
            items: rest
                .iter()
                .zip(&problem.items)
                .map(|(digit, item)| (!item.idle).then(|| place(*digit)))
                .collect(),
        };
        if let Ok(score) = problem.score(stager, &answer)
            && best.as_ref().is_none_or(|(_, least)| score < *least)
        {
            best = Some((answer, score));
        }
        let Some(up) = (0..counts.len()).find(|at| digits[*at] + 1 < counts[*at]) else { return best };
        digits[..up].fill(0);
        digits[up] += 1;
    }
}
