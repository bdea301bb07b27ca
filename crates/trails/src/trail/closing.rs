//! Closing a trail.

use register::trail::{Closed, Outcome};

use super::Trail;
use super::act::{Refused, unknown};
use crate::learn::UNLISTED;

/// What is to be written down to close a trail; the reasons why it can't be closed yet.
///
/// # Errors
/// Each thing that is not settled: a change, a proof, a cause that isn't there.
pub fn close(trail: &Trail, cause: &str, outcome: Outcome) -> Result<Closed, Vec<Refused>> {
    if trail.closed.is_some() {
        return Err(vec![Refused::Closed]);
    }
    let mut wrong: Vec<Refused> = Vec::new();
    let causes = || trail.model.causes.iter().map(|cause| cause.key.as_str()).chain([UNLISTED]);
    if !cause.is_empty() && !causes().any(|key| key == cause) {
        wrong.push(unknown("cause", cause, causes()));
    }
    wrong.extend(trail.open_changes().map(|change| Refused::Unsettled(change.what.clone())));
    if outcome == Outcome::Proven {
        if trail.helped.is_none() {
            wrong.push(Refused::NotFound);
        } else {
            let open = trail.proofs.iter().filter(|proof| !proof.held);
            wrong.extend(open.map(|proof| Refused::Unproven(proof.text.clone())));
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let minutes = trail.spent + trail.to_close();
    Ok(Closed {
        trail: trail.id,
        symptom: trail.model.key.clone(),
        cause: cause.to_owned(),
        outcome,
        minutes,
    })
}
