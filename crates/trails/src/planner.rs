//! Which step next: the one with the fewest expected minutes to the end of the search.
//!
//! The cheapest method that is exact for the situation decides; only where none is small
//! enough does the planner look ahead ([`Method`]). Everything is counted, nothing is timed,
//! so the same question gives the same step on every machine.

use std::cmp::Ordering;

use units::Minutes;

use crate::classic::{self, Action, Covered, Lid};
use crate::model::{CoverAt, Model, StepAt};
use crate::table::{Deed, Situation, Table};
use crate::{dynamic, lookahead};

/// What to do next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Choice {
    /// Do this step of the model.
    Do(StepAt),
    /// Give up, the way the model says it ([`crate::model::GiveUp`]): it ends the search.
    GiveUp,
    /// Nothing is left that could help, and the model knows no giving up.
    Stop,
}

/// How the next step was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Chance over minutes, with the best moment to give up; exact.
    Order,
    /// Chance over minutes with covers as blocks; exact.
    CoverTree,
    /// Every course of the search was reckoned through; exact.
    Dynamic,
    /// So many steps ahead were reckoned through, and what comes after was estimated.
    LookAhead {
        /// How many steps.
        depth: u32,
    },
}

impl Method {
    /// Its word in reports and JSON.
    pub fn word(self) -> &'static str {
        match self {
            Method::Order => "order",
            Method::CoverTree => "cover-tree",
            Method::Dynamic => "dynamic",
            Method::LookAhead { .. } => "look-ahead",
        }
    }

    /// What it is, for a reader.
    pub fn label(self) -> String {
        match self {
            Method::Order => "chance over minutes (exact)".into(),
            Method::CoverTree => "chance over minutes, covers as blocks (exact)".into(),
            Method::Dynamic => "every course reckoned through (exact)".into(),
            Method::LookAhead { depth: 1 } => "one step reckoned ahead, the rest estimated".into(),
            Method::LookAhead { depth } => format!("{depth} steps reckoned ahead, the rest estimated"),
        }
    }

    /// Whether the step is the best there is under the model, not an estimate.
    pub fn exact(self) -> bool {
        !matches!(self, Method::LookAhead { .. })
    }
}

/// One thing that could be done next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// What.
    pub choice: Choice,
    /// Its own minutes, covers that must be opened (and closed again) included.
    pub minutes: Minutes,
    /// Expected minutes to the end of the search when it is done next, itself included.
    pub expected: Minutes,
}

/// What to do next, and what else could be done.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// What to do next.
    pub best: Candidate,
    /// The next best, the best of them first; at most [`OTHERS`].
    pub others: Vec<Candidate>,
    /// How it was found.
    pub method: Method,
}

/// At most so many candidates beside the best.
pub const OTHERS: usize = 6;

/// How much is reckoned for one advice: counted work, no clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Situations with at most so many states are reckoned through to the end.
    pub exact_states: f64,
    /// How many evaluations a look-ahead may take; one on a large model counts more.
    pub evaluations: usize,
}

impl Default for Effort {
    fn default() -> Effort {
        Effort { exact_states: 100_000.0, evaluations: 40_000 }
    }
}

impl Effort {
    /// Never reckons everything through: what large models get.
    pub fn look_ahead() -> Effort {
        Effort { exact_states: 0.0, ..Effort::default() }
    }
}

/// Expected minutes closer together than this are the same.
const SAME: f64 = 1e-6;

/// Which of two choices comes first: fewer minutes; then a mend, a check, giving up; then as
/// they stand in the model.
pub(crate) fn order_of(table: &Table, a: (Choice, f64), b: (Choice, f64)) -> Ordering {
    let rounded = |minutes: f64| (minutes / SAME).round();
    let sort = |choice: Choice| match choice {
        Choice::Do(step) if matches!(table.rows[step].deed, Deed::Mend { .. }) => (0, step),
        Choice::Do(step) => (1, step),
        Choice::GiveUp => (2, 0),
        Choice::Stop => (3, 0),
    };
    rounded(a.1).total_cmp(&rounded(b.1)).then_with(|| sort(a.0).cmp(&sort(b.0)))
}

/// What to do next from a situation, and what else could be done.
///
/// The model must be sound ([`Model::check`]) and the situation its own.
pub fn advise(model: &Model, situation: &Situation, effort: Effort) -> Advice {
    let table = Table::new(model, &situation.belief);
    let mends = lookahead::useful_mends(&table, &situation.done);
    let (ranked, method) = if mends.is_empty() {
        (vec![table.give_up.map_or((Choice::Stop, 0.0), |minutes| (Choice::GiveUp, minutes))], Method::Order)
    } else if let Some(ordered) = in_order(&table, situation, &mends) {
        ordered
    } else if !table.pairs && dynamic::states(&table, situation) <= effort.exact_states {
        (dynamic::solve(&table, situation).ranked, Method::Dynamic)
    } else {
        let found = lookahead::search(&table, situation, effort.evaluations);
        (found.ranked, Method::LookAhead { depth: found.depth })
    };
    let mut candidates = ranked.into_iter().map(|(choice, expected)| {
        let minutes = match choice {
            Choice::Do(step) => table.price(step, &situation.open),
            Choice::GiveUp => expected,
            Choice::Stop => 0.0,
        };
        Candidate { choice, minutes: Minutes(minutes), expected: Minutes(expected) }
    });
    let nothing = Candidate { choice: Choice::Stop, minutes: Minutes::ZERO, expected: Minutes::ZERO };
    let best = candidates.next().unwrap_or(nothing);
    Advice { best, others: candidates.take(OTHERS).collect(), method }
}

type Ranked = (Vec<(Choice, f64)>, Method);

/// The published orders, where they are exact: nothing to ask, each cause with one mend at
/// most, and either no closed cover or no giving up.
fn in_order(table: &Table, situation: &Situation, mends: &[StepAt]) -> Option<Ranked> {
    let asks = |step: StepAt| !situation.done[step] && lookahead::tells(table, step, &table.weights);
    let hides =
        |step: &StepAt| matches!(&table.rows[*step].deed, Deed::Mend { hidden, .. } if !hidden.is_empty());
    if (0..table.rows.len()).any(asks) || mends.iter().any(hides) || !lookahead::plain(table, situation) {
        return None;
    }
    let chance = |step: StepAt| 1.0 - table.failed(step, &table.weights).0.iter().sum::<f64>();
    let closed = |cover: &CoverAt| !situation.open[*cover];
    let covered = mends.iter().any(|step| table.rows[*step].covers.iter().any(closed));
    let actions: Vec<Covered> = mends
        .iter()
        .map(|step| Covered {
            p: chance(*step),
            minutes: table.rows[*step].minutes,
            cover: table.rows[*step].covers.last().copied(),
        })
        .collect();
    let mut ranked: Vec<(Choice, f64)> = (0..mends.len())
        .map(|first| {
            let mut open = situation.open.clone();
            let price = table.price(mends[first], &open);
            table.open(mends[first], &mut open);
            let left = (1.0 - actions[first].p).max(0.0);
            let rest = actions.iter().enumerate().filter(|(at, _)| *at != first);
            let rest: Vec<Covered> =
                rest.map(|(_, action)| Covered { p: action.p / left, ..*action }).collect();
            let after = if left > 0.0 { left * orders(table, &rest, &open) } else { 0.0 };
            (Choice::Do(mends[first]), price + after)
        })
        .collect();
    ranked.extend(table.give_up.map(|minutes| (Choice::GiveUp, minutes)));
    ranked.sort_by(|a, b| order_of(table, *a, *b));
    Some((ranked, if covered { Method::CoverTree } else { Method::Order }))
}

/// Expected minutes of the best order.
fn orders(table: &Table, actions: &[Covered], open: &[bool]) -> f64 {
    if let Some(call) = table.give_up {
        let plain: Vec<Action> =
            actions.iter().map(|action| Action { p: action.p, minutes: action.minutes }).collect();
        return classic::with_call(&plain, call).minutes;
    }
    let lids: Vec<Lid> = (0..table.covers.len())
        .map(|cover| Lid {
            minutes: if open[cover] { 0.0 } else { table.covers[cover] },
            inside: table.inside[cover],
        })
        .collect();
    classic::cover_tree(actions, &lids).minutes
}
