//! Good answers soon: simulated annealing (Kirkpatrick, Gelatt & Vecchi, "Optimization by
//! simulated annealing", Science 220, 1983) over places, with fees for what is broken.

use super::rows::{Rows, flies_when_it_must, grounded, long};
use crate::problem::{Assignment, Place, Problem, Score, Stager};

/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", 2014.
#[derive(Debug)]
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `limit`, which is at least 1.
    fn below(&mut self, limit: usize) -> usize {
        usize::try_from(self.next() % (limit.max(1) as u64)).unwrap_or(0)
    }

    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn part(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

mod moves;

/// What an item adds where it stands.
#[derive(Clone, Debug, Default)]
struct Share {
    nights: Vec<usize>,
    known: usize,
    grounded: i64,
    breaks: bool,
}

/// Fees of what is broken, in hundredths of a minute.
#[derive(Clone, Copy, Debug)]
struct Fees {
    overload: f64,
    overloaded: f64,
    must_fly: f64,
    too_many: f64,
}

/// A full assignment that may break rules, with sums kept up to date.
#[derive(Debug)]
pub struct Walk {
    pub answer: Assignment,
    /// By pivot: the items that lean on it.
    leaning: Vec<Vec<usize>>,
    pivot_evenings: Vec<Vec<usize>>,
    item_evenings: Vec<Vec<usize>>,
    movable: Vec<usize>,
    shares: Vec<Share>,
    spent: Vec<i64>,
    things: Vec<u32>,
    down: Vec<i64>,
    minutes: i64,
    grounded: i64,
    covers: i64,
    broken: i64,
    over: i64,
    overs: i64,
    too_many: i64,
    fees: Fees,
    dice: Dice,
    pub evaluated: u64,
    undo: Vec<(bool, usize, Place)>,
    round: Round,
    pub rounds: u32,
}

/// One cooling.
#[derive(Clone, Copy, Debug, Default)]
struct Round {
    moves: u64,
    done: u64,
    hot: f64,
    cold: f64,
}

impl Walk {
    /// A first walk: everything near its pivots, pivots spread. `None` if something may be done
    /// in no evening.
    pub fn new(problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager) -> Option<Self> {
        let evenings = problem.evenings.len();
        let usable = |allowed: &[bool]| -> Vec<usize> {
            (0..evenings)
                .filter(|at| {
                    allowed.get(*at) == Some(&true)
                        && problem.evenings[*at].bench <= problem.evenings[*at].capacity
                })
                .collect()
        };
        let pivot_evenings: Vec<_> = problem.pivots.iter().map(|pivot| usable(&pivot.allowed)).collect();
        let item_evenings: Vec<_> = problem
            .items
            .iter()
            .map(|item| if item.idle { Vec::new() } else { usable(&item.allowed) })
            .collect();
        if pivot_evenings.iter().any(Vec::is_empty)
            || problem.items.iter().zip(&item_evenings).any(|(item, nights)| !item.idle && nights.is_empty())
        {
            return None;
        }
        let mut leaning = vec![Vec::new(); problem.pivots.len()];
        for (at, item) in problem.items.iter().enumerate() {
            for pivot in &item.pivots {
                leaning[*pivot].push(at);
            }
        }
        let pivots: Vec<Place> = pivot_evenings
            .iter()
            .enumerate()
            .map(|(at, nights)| Place {
                evening: nights[(at * nights.len() / problem.pivots.len().max(1)).min(nights.len() - 1)],
                option: 0,
            })
            .collect();
        let items = problem
            .items
            .iter()
            .zip(&item_evenings)
            .map(|(item, nights)| {
                let wanted = item.pivots.first().map_or(0, |pivot| pivots[*pivot].evening);
                let evening = nights.iter().copied().min_by_key(|night| night.abs_diff(wanted))?;
                Some(Place { evening, option: 0 })
            })
            .collect();
        let movable = (0..problem.items.len()).filter(|at| !problem.items[*at].idle).collect();
        let mut walk = Self {
            answer: Assignment { pivots, items },
            leaning,
            pivot_evenings,
            item_evenings,
            movable,
            shares: vec![Share::default(); problem.items.len()],
            spent: Vec::new(),
            things: Vec::new(),
            down: Vec::new(),
            minutes: 0,
            grounded: 0,
            covers: 0,
            broken: 0,
            over: 0,
            overs: 0,
            too_many: 0,
            fees: Fees { overload: 3.0, overloaded: 100.0, must_fly: 3000.0, too_many: 1500.0 },
            dice: Dice(1),
            evaluated: 0,
            undo: Vec::new(),
            round: Round::default(),
            rounds: 0,
        };
        walk.reset(problem, rows, stager);
        Some(walk)
    }

    /// Whether nothing is broken.
    fn sound(&self) -> bool {
        self.over == 0 && self.broken == 0 && self.too_many == 0
    }

    /// The score, benches included.
    pub fn score(&self) -> Score {
        Score { minutes: self.minutes, grounded: self.grounded, covers: self.covers }
    }

    /// Counts everything anew.
    fn reset(&mut self, problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager) {
        let evenings = problem.evenings.len();
        self.spent = vec![0; evenings];
        self.things = vec![0; evenings];
        self.down = vec![0; evenings];
        (self.minutes, self.grounded, self.covers) = (0, 0, 0);
        (self.broken, self.over, self.overs, self.too_many) = (0, 0, 0, 0);
        for pivot in 0..problem.pivots.len() {
            self.put_pivot(problem, pivot, 1);
        }
        for item in 0..problem.items.len() {
            self.add_item(problem, rows, stager, item);
        }
    }

    fn spend(&mut self, problem: &Problem, evening: usize, minutes: i64) {
        let capacity = problem.evenings[evening].capacity;
        let before = (self.spent[evening] - capacity).max(0);
        self.spent[evening] += minutes;
        let after = (self.spent[evening] - capacity).max(0);
        self.over += after - before;
        self.overs += i64::from(after > 0) - i64::from(before > 0);
        self.minutes += minutes;
    }

    fn thing(&mut self, problem: &Problem, evening: usize, sign: i64) {
        let bench = problem.evenings[evening].bench;
        if sign > 0 {
            self.things[evening] += 1;
            if self.things[evening] == 1 {
                self.spend(problem, evening, bench);
            }
        } else {
            self.things[evening] -= 1;
            if self.things[evening] == 0 {
                self.spend(problem, evening, -bench);
            }
        }
    }

    fn put_pivot(&mut self, problem: &Problem, pivot: usize, sign: i64) {
        let place = self.answer.pivots[pivot];
        let work = problem.pivots[pivot].options[place.option];
        self.spend(problem, place.evening, sign * work.minutes);
        self.covers += sign * i64::from(work.covers);
        self.thing(problem, place.evening, sign);
    }

    fn add_item(&mut self, problem: &Problem, rows: &mut Rows, stager: &mut dyn Stager, item: usize) {
        self.evaluated += 1;
        let this = &problem.items[item];
        let mut share = std::mem::take(&mut self.shares[item]);
        share.nights.clear();
        let own = self.answer.items[item];
        share.nights.extend(own.iter().map(|place| place.evening));
        share.nights.extend(this.pivots.iter().map(|pivot| self.answer.pivots[*pivot].evening));
        let pivots = &self.answer.pivots;
        share.known = rows.find(
            stager,
            item,
            own.map_or(0, |place| place.option),
            &|at| pivots[this.pivots[at]].option,
            &share.nights,
            this.pivots.len(),
        );
        share.nights.sort_unstable();
        share.nights.dedup();
        let stages = &rows.known(share.known).stages;
        share.grounded = grounded(this, stages, &share.nights, problem.evenings.len());
        share.breaks = !flies_when_it_must(this, stages, &share.nights);
        self.shares[item] = share;
        self.count_item(problem, rows, item, 1);
    }

    /// Adds what an item comes to, or takes it away.
    fn count_item(&mut self, problem: &Problem, rows: &Rows, item: usize, sign: i64) {
        let share = std::mem::take(&mut self.shares[item]);
        let known = rows.known(share.known);
        for (rank, night) in share.nights.iter().enumerate() {
            self.spend(problem, *night, sign * known.stages.minutes[rank]);
        }
        if let Some(place) = self.answer.items[item] {
            self.thing(problem, place.evening, sign);
        }
        self.covers += sign * known.covers;
        self.grounded += sign * share.grounded;
        self.broken += sign * i64::from(share.breaks);
        if let Some(most) = problem.most_grounded {
            let this = &problem.items[item];
            let most = i64::from(most);
            let mut flies = this.flies_first;
            let mut rank = 0;
            for evening in 0..problem.evenings.len() {
                if share.nights.get(rank) == Some(&evening) {
                    flies = known.stages.flies[rank];
                    rank += 1;
                }
                let down = i64::from((this.counts & !flies).count_ones());
                if down > 0 {
                    let before = (self.down[evening] - most).max(0);
                    self.down[evening] += sign * down;
                    self.too_many += (self.down[evening] - most).max(0) - before;
                }
            }
        }
        self.shares[item] = share;
    }

    fn set_item(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        item: usize,
        place: Place,
    ) {
        let Some(old) = self.answer.items[item] else { return };
        if old == place {
            return;
        }
        self.undo.push((false, item, old));
        self.count_item(problem, rows, item, -1);
        self.answer.items[item] = Some(place);
        self.add_item(problem, rows, stager, item);
    }

    fn set_pivot(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        pivot: usize,
        place: Place,
    ) {
        let old = self.answer.pivots[pivot];
        if old == place {
            return;
        }
        self.undo.push((true, pivot, old));
        let leaning = std::mem::take(&mut self.leaning[pivot]);
        for item in &leaning {
            self.count_item(problem, rows, *item, -1);
        }
        self.put_pivot(problem, pivot, -1);
        self.answer.pivots[pivot] = place;
        self.put_pivot(problem, pivot, 1);
        for item in &leaning {
            self.add_item(problem, rows, stager, *item);
        }
        self.leaning[pivot] = leaning;
    }

    /// What the walk is led by.
    #[expect(
        clippy::cast_precision_loss,
        reason = "a guide for the walk, the answer is counted in whole numbers"
    )]
    fn energy(&self) -> f64 {
        self.minutes as f64
            + self.grounded as f64
            + self.covers as f64 / 16.0
            + self.over as f64 * self.fees.overload
            + self.overs as f64 * self.fees.overloaded
            + self.broken as f64 * self.fees.must_fly
            + self.too_many as f64 * self.fees.too_many
    }

    /// Starts at an answer, whatever it breaks.
    pub fn start(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        answer: &Assignment,
    ) {
        self.answer.clone_from(answer);
        self.reset(problem, rows, stager);
    }

    /// Begins a cooling of so many moves.
    pub fn begin(&mut self, moves: u64, hot: f64) {
        self.round = Round { moves, done: 0, hot, cold: 0.05 };
        self.rounds += 1;
    }

    /// Whether the cooling is over.
    pub fn cooled(&self) -> bool {
        self.round.done >= self.round.moves
    }

    /// Up to so many moves; tells of each sound answer better than `best`.
    pub fn walk(
        &mut self,
        problem: &Problem,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        moves: u64,
        best: &mut Option<(Assignment, Score)>,
    ) {
        self.keep(best);
        let mut energy = self.energy();
        for _ in 0..moves {
            if self.cooled() {
                if !self.sound() {
                    self.fees.overload *= 1.5;
                    self.fees.overloaded *= 1.5;
                    self.fees.must_fly *= 1.5;
                    self.fees.too_many *= 1.5;
                }
                return;
            }
            #[expect(clippy::cast_precision_loss, reason = "a fraction of the cooling")]
            let part = self.round.done as f64 / self.round.moves as f64;
            let heat = self.round.hot * (self.round.cold / self.round.hot).powf(part);
            self.round.done += 1;
            self.undo.clear();
            self.step(problem, rows, stager);
            if self.undo.is_empty() {
                continue;
            }
            let after = self.energy();
            if after <= energy || self.dice.part() < ((energy - after) / heat).exp() {
                energy = after;
                self.keep(best);
            } else {
                let mut undo = std::mem::take(&mut self.undo);
                while let Some((pivot, at, place)) = undo.pop() {
                    if pivot {
                        self.set_pivot(problem, rows, stager, at, place);
                    } else {
                        self.set_item(problem, rows, stager, at, place);
                    }
                }
            }
        }
    }

    fn keep(&self, best: &mut Option<(Assignment, Score)>) {
        if self.sound() && best.as_ref().is_none_or(|(_, score)| self.score() < *score) {
            *best = Some((self.answer.clone(), self.score()));
        }
    }

    /// How much there is to move.
    pub fn size(&self) -> u64 {
        u64::try_from(long(self.movable.len() + self.answer.pivots.len())).unwrap_or(1).max(1)
    }
}
