//! The law of every log: in whatever order entries come, the reader has the same in the end.

use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::register::{Folded, Register};
use register::time::Clock;

/// Folds entries as they come: each that is late asks for a rebuild. Gives them in the order of the
/// clocks, as a reader that was told to rebuild folds them.
pub fn as_they_come(entries: &[(Stamp, Body)]) -> Result<Vec<(Stamp, Body)>, TestCaseError> {
    let mut live = Register::begin([]);
    let mut newest = Clock(0);
    for (stamp, body) in entries {
        let folded = live.fold(stamp, body.clone());
        let late = stamp.clock < newest;
        prop_assert_eq!(folded, if late { Folded::Rebuild } else { Folded::In });
        newest = newest.max(stamp.clock);
    }
    let mut sorted = entries.to_vec();
    sorted.sort_by_key(|(stamp, _)| (stamp.clock, stamp.id));
    Ok(sorted)
}
