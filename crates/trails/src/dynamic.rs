//! Exact planning of a small search: dynamic programming over the mends that are done and the
//! answers that are known.
//!
//! What is known after some mends and answers doesn't depend on their order, so a state is
//! the set of mends that failed and one answer or none for each check. (With pairs of causes
//! it does depend on the order: a table with pairs isn't solved this way.) Costs are carried
//! as minutes times probability; see [`crate::table`].
//!
//! In each state one may do a mend (its price; a good trial ends the search, with the cost of
//! a fault that comes back where it only seemed to help), make a check (its price, then as
//! answered), or give up (its price, and the search ends). Where the model knows no giving up,
//! the search ends when no mend is left that can cure anything, and not before.
//!
//! Definitions after Breese & Heckerman 1996 (arXiv 1302.3563); the best plan by Bellman's
//! principle.

mod memo;
mod search;
#[cfg(test)]
mod tests;

use std::cmp::Ordering;

use crate::planner::Choice;
use crate::table::{Deed, Situation, Table};
use search::Search;

/// Plans that differ by less than this many minutes are as good as each other.
const AS_GOOD: f64 = 1e-6;

/// The best plan's first step.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Solved {
    /// The best choice.
    pub choice: Choice,
    /// Expected minutes to the end, itself included.
    pub minutes: f64,
    /// Every choice that can change anything, the best first, each with its expected minutes
    /// when everything after it is planned best.
    pub ranked: Vec<(Choice, f64)>,
}

/// How many states a search from here has at most.
pub(crate) fn states(table: &Table, situation: &Situation) -> f64 {
    useful(table, situation)
        .map(|step| match &table.rows[step].deed {
            Deed::Check(rows) => 1.0 + f64::from(u32::try_from(rows.len()).unwrap_or(u32::MAX)),
            Deed::Mend { .. } => 2.0,
        })
        .product()
}

/// The best first step from here and what it costs, exactly.
///
/// Work and room grow with [`states`]: ask that first (it isn't valid where they don't fit
/// 128 bits, nor would it ever end). Not valid for a table with pairs.
pub(crate) fn solve(table: &Table, situation: &Situation) -> Solved {
    let steps: Vec<_> = useful(table, situation).collect();
    let mut search = Search::new(table, situation, &steps);
    let mut ranked = search.choices();
    ranked.sort_by(|(a, a_minutes), (b, b_minutes)| {
        let rounded = |minutes: &f64| (minutes / AS_GOOD).round();
        rounded(a_minutes).total_cmp(&rounded(b_minutes)).then_with(|| first(table, *a, *b))
    });
    let (choice, minutes) = ranked.first().copied().unwrap_or((Choice::Stop, 0.0));
    Solved { choice, minutes, ranked }
}

/// Which of two equals comes first: a mend, a check, giving up; then as they stand.
fn first(table: &Table, a: Choice, b: Choice) -> Ordering {
    let key = |choice| match choice {
        Choice::Do(step) => match &table.rows[step].deed {
            Deed::Mend { .. } => (0, step),
            Deed::Check(_) => (1, step),
        },
        Choice::GiveUp => (2, 0),
        Choice::Stop => (3, 0),
    };
    key(a).cmp(&key(b))
}

/// Steps that are free to choose and can change anything, from here or later on.
fn useful(table: &Table, situation: &Situation) -> impl Iterator<Item = usize> {
    (0..table.rows.len()).filter(|step| {
        !situation.done.get(*step).copied().unwrap_or(false)
            && match &table.rows[*step].deed {
                Deed::Check(rows) => search::tells(rows, &table.weights),
                Deed::Mend { failed, hidden, .. } => search::cures(failed, hidden, &table.weights),
            }
    })
}
