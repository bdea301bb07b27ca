//! Published special cases of finding a fault, each exact under the conditions it names.
//!
//! They are pure functions over plain items, on the scale of the whole: `p` is how likely an
//! action solves the problem *as seen from the start*, so the `p` of all actions add up to 1
//! or less, and what is missing is solved by none of them.
//!
//! Throughout: one fault; the actions' successes exclude each other; an action that failed
//! once fails again; costs are constant; whether it helped is seen at once and at no separate
//! cost, but in [`grouped`]; every action is done until the fault is gone, but in
//! [`with_call`].
//!
//! Expected minutes of an order: the sum of each action's minutes times how likely it is
//! needed at all (ECR, expected cost of repair: Breese & Heckerman 1996, arXiv 1302.3563).
//!
//! A `p` outside 0..=1 and minutes outside 0..=1e12 count as the nearest of these, what is no
//! number counts as 0. Two efficiencies p/C that differ by less than 1e-12 of themselves are
//! a tie, and the action that stands first goes first.

mod cover;
mod group;
mod order;
mod worth;

pub use cover::{cost_of, cover_tree};
pub use group::{GROUPED_UP_TO, grouped};
pub use order::{inspect_then_repair, p_over_c, with_call};
pub use worth::{Worth, worth_of_question};

/// An action that needs no cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Action {
    /// How likely it solves the problem, on the scale of the whole.
    pub p: f64,
    /// Minutes it takes.
    pub minutes: f64,
}

/// An action that may stand behind a cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covered {
    /// How likely it solves the problem, on the scale of the whole.
    pub p: f64,
    /// Minutes it takes with its cover open.
    pub minutes: f64,
    /// The innermost cover that must be open, a place in the lids.
    pub cover: Option<usize>,
}

/// A cover. A lid whose outer lids never end (it stands inside itself) counts as standing in
/// the open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lid {
    /// Minutes to open it and to close it again, together.
    pub minutes: f64,
    /// The lid that must be open before this one.
    pub inside: Option<usize>,
}

/// A component that can be looked at before it is repaired.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inspect {
    /// How likely it is the faulty one.
    pub p: f64,
    /// Minutes to see whether it is. A component that can't be looked at has its repair here,
    /// and 0 there.
    pub look: f64,
    /// Minutes to repair it, where it is.
    pub repair: f64,
}

/// An order of actions.
#[derive(Clone, Debug, PartialEq)]
pub struct Ordered {
    /// Places in the list that was given, the first to do first.
    pub order: Vec<usize>,
    /// Expected minutes of it.
    pub minutes: f64,
}

/// Actions done together, group after group, each followed by one test.
#[derive(Clone, Debug, PartialEq)]
pub struct Groups {
    /// Places in the list that was given; those of a group in ascending order.
    pub groups: Vec<Vec<usize>>,
    /// Expected minutes of it.
    pub minutes: f64,
}

/// What becomes of the covers when it is tried whether the fault is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    /// They stay open: each is paid once.
    StaysOpen,
    /// They go back on before each test: each is paid for every group that needs it.
    BackBeforeTest,
}

/// The most minutes that are reckoned with.
const MOST_MINUTES: f64 = 1e12;

/// A chance within 0..=1; 0 for what is no number.
fn chance(p: f64) -> f64 {
    if p > 0.0 { p.min(1.0) } else { 0.0 }
}

/// Minutes within 0..=[`MOST_MINUTES`]; 0 for what is no number.
fn amount(minutes: f64) -> f64 {
    if minutes > 0.0 { minutes.min(MOST_MINUTES) } else { 0.0 }
}
