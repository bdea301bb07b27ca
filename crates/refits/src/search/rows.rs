//! What an item comes to, given where it and its pivots are: remembered answers of the stager.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::problem::{Item, Place, Problem, Rank, Stager, Stages};

/// Minutes, grounded aircraft-evenings and covers packed so that adding and comparing packed
/// scores is adding and comparing them lexicographically. None of the three is negative, the
/// last two stay below 2^32.
pub type Key = i128;

/// Packs minutes, grounded and covers.
pub fn key(minutes: i64, grounded: i64, covers: i64) -> Key {
    (Key::from(minutes) << 64) + (Key::from(grounded) << 32) + Key::from(covers)
}

/// Remembered stages of one way and order.
#[derive(Clone, Debug)]
pub struct Known {
    pub stages: Stages,
    pub minutes: i64,
    pub covers: i64,
}

/// All stages asked for so far.
#[derive(Debug, Default)]
pub struct Rows {
    index: Vec<Index>,
    known: Vec<Known>,
    /// How often the stager was asked.
    pub asked: u64,
    scratch: Vec<Rank>,
    options: Vec<usize>,
}

/// Where the stages of an item are.
#[derive(Debug)]
enum Index {
    /// By mixed number of options and comparisons of each pair of evenings.
    Dense { options: Vec<usize>, codes: usize, at: Vec<u32> },
    /// By options and ranks.
    Sparse(BTreeMap<Vec<u8>, u32>),
}

/// One way of being done: for own evenings of a range everything is the same but the own
/// evening's load and a change of the grounded with the evening.
pub struct Class {
    pub option: usize,
    /// Own evenings; for an idle item one evening that means nothing.
    pub evenings: Range<usize>,
    /// The rank of the own evening; `None` for an idle item.
    pub own: Option<usize>,
    /// Grounded aircraft-evenings if the first evening of the range is taken.
    pub grounded: i64,
    /// What each later evening adds to them.
    pub slope: i64,
}

impl Rows {
    pub fn new(problem: &Problem) -> Self {
        let index = problem.items.iter().map(|item| {
            let points = item.pivots.len() + usize::from(!item.idle);
            let mut options = vec![item.options];
            options.extend(item.pivots.iter().map(|pivot| problem.pivots[*pivot].options.len()));
            let codes =
                3_usize.checked_pow(u32::try_from(points * points.saturating_sub(1) / 2).unwrap_or(40));
            let size =
                options.iter().try_fold(codes.unwrap_or(usize::MAX), |size, one| size.checked_mul(*one));
            match (size, codes) {
                (Some(size), Some(codes)) if size <= 60_000 => {
                    Index::Dense { options, codes, at: vec![u32::MAX; size] }
                }
                _ => Index::Sparse(BTreeMap::new()),
            }
        });
        Self { index: index.collect(), ..Self::default() }
    }

    pub fn known(&self, at: usize) -> &Known {
        &self.known[at]
    }

    /// The stages of an item: `nights` are its own evening (not if idle), then those of its
    /// pivots; `pivot_option` says in which way each pivot is done.
    pub fn find(
        &mut self,
        stager: &mut dyn Stager,
        item: usize,
        option: usize,
        pivot_option: &dyn Fn(usize) -> usize,
        nights: &[usize],
        pivots: usize,
    ) -> usize {
        match &self.index[item] {
            Index::Dense { options, codes, at } => {
                let mut mixed = option;
                for pivot in 0..pivots {
                    mixed = mixed * options[pivot + 1] + pivot_option(pivot);
                }
                let mut code = 0;
                for (one, night) in nights.iter().enumerate() {
                    for other in &nights[one + 1..] {
                        code = code * 3 + usize::from(night >= other) + usize::from(night > other);
                    }
                }
                let place = mixed * codes + code;
                if at[place] != u32::MAX {
                    return at[place] as usize;
                }
                let found = self.ask(stager, item, option, pivot_option, nights, pivots);
                if let Index::Dense { at, .. } = &mut self.index[item] {
                    at[place] = u32::try_from(found).unwrap_or(u32::MAX);
                }
                found
            }
            Index::Sparse(_) => {
                let byte = |number: usize| u8::try_from(number).unwrap_or(u8::MAX);
                let mut place = vec![byte(option)];
                place.extend((0..pivots).map(|pivot| byte(pivot_option(pivot))));
                place.extend(nights.iter().map(|night| byte(rank_of(*night, nights))));
                if let Index::Sparse(map) = &self.index[item]
                    && let Some(found) = map.get(&place)
                {
                    return *found as usize;
                }
                let found = self.ask(stager, item, option, pivot_option, nights, pivots);
                if let Index::Sparse(map) = &mut self.index[item] {
                    map.insert(place, u32::try_from(found).unwrap_or(u32::MAX));
                }
                found
            }
        }
    }

    fn ask(
        &mut self,
        stager: &mut dyn Stager,
        item: usize,
        option: usize,
        pivot_option: &dyn Fn(usize) -> usize,
        nights: &[usize],
        pivots: usize,
    ) -> usize {
        self.asked += 1;
        self.scratch.clear();
        self.scratch
            .extend(nights.iter().map(|night| Rank::try_from(rank_of(*night, nights)).unwrap_or(Rank::MAX)));
        self.options.clear();
        self.options.extend((0..pivots).map(pivot_option));
        let stages = stager.stages(item, option, &self.options, &self.scratch);
        let minutes = stages.minutes.iter().sum();
        let covers = stages.covers.iter().map(|one| i64::from(*one)).sum();
        self.known.push(Known { stages, minutes, covers });
        self.known.len() - 1
    }

    /// Every way of doing an item, its pivots being at these places.
    pub fn classes(
        &mut self,
        stager: &mut dyn Stager,
        problem: &Problem,
        item: usize,
        pivots: &[Place],
        visit: &mut dyn FnMut(&Known, &[usize], Class),
    ) {
        let evenings = problem.evenings.len();
        let this = &problem.items[item];
        let mut nights: Vec<usize> = pivots.iter().map(|place| place.evening).collect();
        let mut split = nights.clone();
        split.sort_unstable();
        split.dedup();
        if this.idle {
            let known = self.find(stager, item, 0, &|pivot| pivots[pivot].option, &nights, pivots.len());
            let grounded = grounded(this, &self.known[known].stages, &split, evenings);
            let class = Class { option: 0, evenings: 0..1, own: None, grounded, slope: 0 };
            visit(&self.known[known], &split, class);
            return;
        }
        nights.insert(0, 0);
        let mut in_order = Vec::with_capacity(split.len() + 1);
        for option in 0..this.options {
            let mut from = 0;
            for cut in 0..=split.len() {
                let end = split.get(cut).copied().unwrap_or(evenings);
                for (range, same) in [(from..end, false), (end..(end + 1).min(evenings), true)] {
                    if range.is_empty() {
                        continue;
                    }
                    nights[0] = range.start;
                    in_order.clear();
                    in_order.extend_from_slice(&split);
                    if !same {
                        in_order.insert(cut, range.start);
                    }
                    let known =
                        self.find(stager, item, option, &|pivot| pivots[pivot].option, &nights, pivots.len());
                    let row = &self.known[known];
                    let grounded = grounded(this, &row.stages, &in_order, evenings);
                    let slope = if same {
                        0
                    } else {
                        let before = if cut == 0 { this.flies_first } else { row.stages.flies[cut - 1] };
                        i64::from((this.flies_last & !before).count_ones())
                            - i64::from((this.flies_last & !row.stages.flies[cut]).count_ones())
                    };
                    let class = Class { option, evenings: range, own: Some(cut), grounded, slope };
                    visit(row, &in_order, class);
                }
                from = end + 1;
            }
        }
    }
}

/// The rank of an evening among others.
pub fn rank_of(night: usize, nights: &[usize]) -> usize {
    let mut rank = 0;
    for (at, one) in nights.iter().enumerate() {
        if *one < night && !nights[..at].contains(one) {
            rank += 1;
        }
    }
    rank
}

/// Grounded aircraft-evenings of an item whose evenings in order are these.
pub fn grounded(item: &Item, stages: &Stages, in_order: &[usize], evenings: usize) -> i64 {
    let mut flies = item.flies_first;
    let mut from = 0;
    let mut total = 0;
    for (rank, night) in in_order.iter().enumerate() {
        total += i64::from((item.flies_last & !flies).count_ones()) * long(night - from);
        flies = stages.flies[rank];
        from = *night;
    }
    total + i64::from((item.flies_last & !flies).count_ones()) * long(evenings - from)
}

/// Whether the aircraft that must fly do.
pub fn flies_when_it_must(item: &Item, stages: &Stages, in_order: &[usize]) -> bool {
    item.must_fly.iter().all(|(aircraft, after)| {
        let passed = after.map_or(0, |after| in_order.partition_point(|night| *night <= after));
        let flies = if passed == 0 { item.flies_first } else { stages.flies[passed - 1] };
        flies & (1 << aircraft) != 0
    })
}

/// A count as a whole number with a sign.
pub fn long(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
