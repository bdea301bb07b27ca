//! Of equally good answers the one that is done soonest, in the fewest evenings.

use std::collections::BTreeMap;

use crate::problem::{Assignment, Place, Problem, Rank, Score, Stager, Stages};

/// How many changed answers are looked at.
const MOST: usize = 400;

/// An item, its way, those of its pivots, and the order.
type Asked = (usize, usize, Vec<usize>, Vec<Rank>);

/// Remembers what a stager said.
struct Remembers<'s> {
    stager: &'s mut dyn Stager,
    said: BTreeMap<Asked, Stages>,
}

impl Stager for Remembers<'_> {
    fn stages(&mut self, item: usize, option: usize, pivot_options: &[usize], ranks: &[Rank]) -> Stages {
        let asked = (item, option, pivot_options.to_vec(), ranks.to_vec());
        if let Some(said) = self.said.get(&asked) {
            return said.clone();
        }
        let said = self.stager.stages(item, option, pivot_options, ranks);
        self.said.insert(asked, said.clone());
        said
    }
}

fn moved(answer: &Assignment, to: &dyn Fn(usize) -> usize) -> Assignment {
    let place = |place: &Place| Place { evening: to(place.evening), ..*place };
    Assignment {
        pivots: answer.pivots.iter().map(place).collect(),
        items: answer.items.iter().map(|one| one.as_ref().map(place)).collect(),
    }
}

fn used(answer: &Assignment) -> Vec<usize> {
    let mut used: Vec<usize> = answer.pivots.iter().map(|place| place.evening).collect();
    used.extend(answer.items.iter().flatten().map(|place| place.evening));
    used.sort_unstable();
    used.dedup();
    used
}

/// Moves whole evenings together and forward, as long as the score stays what it is.
pub(super) fn tidy(
    problem: &Problem,
    stager: &mut dyn Stager,
    answer: &Assignment,
    score: Score,
) -> Assignment {
    let mut stager = Remembers { stager, said: BTreeMap::new() };
    let mut best = answer.clone();
    let mut looked = 0;
    let mut as_good = |answer: &Assignment| {
        looked += 1;
        looked <= MOST && problem.score(&mut stager, answer) == Ok(score)
    };
    // Evenings that fit into one are one.
    let mut merged = true;
    while merged {
        merged = false;
        let nights = used(&best);
        'pairs: for (at, early) in nights.iter().enumerate() {
            for late in &nights[at + 1..] {
                for (from, to) in [(late, early), (early, late)] {
                    let next = moved(&best, &|night| if night == *from { *to } else { night });
                    if as_good(&next) {
                        best = next;
                        merged = true;
                        break 'pairs;
                    }
                }
            }
        }
    }
    // What can be done sooner is: one evening after the other to the first that is free.
    let mut place = 0;
    while let Some(night) = used(&best).get(place).copied() {
        let first = used(&best).get(place.wrapping_sub(1)).map_or(0, |before| before + 1);
        for free in first..night {
            let next = moved(&best, &|one| if one == night { free } else { one });
            if as_good(&next) {
                best = next;
                break;
            }
        }
        place += 1;
    }
    best
}
