//! What a model must keep to before anything is reckoned with it.

use std::collections::BTreeSet;

use crate::model::{Kind, Model, ModelError};

/// The most hypotheses, covers or steps a model may have: a typing slip, not a limit of the
/// method.
pub const MOST: usize = 2000;

/// An answer's columns must sum to 1 as closely as this.
const SUM_SLACK: f64 = 1e-9;

fn wrong(at: impl Into<String>, says: impl Into<String>) -> ModelError {
    ModelError { at: at.into(), says: says.into() }
}

fn ratio(value: f64) -> bool {
    (0.0..=1.0).contains(&value)
}

fn amount(value: f64) -> bool {
    value.is_finite() && value >= 0.0
}

fn once<'a>(what: &str, keys: impl Iterator<Item = &'a str>) -> Result<(), ModelError> {
    let mut seen = BTreeSet::new();
    for key in keys {
        if key.is_empty() {
            return Err(wrong(what, "its key is empty; give it one"));
        }
        if !seen.insert(key) {
            return Err(wrong(format!("{what} {key}"), "this key stands twice; give one of them another"));
        }
    }
    Ok(())
}

/// See [`Model::check`].
pub(crate) fn check(model: &Model) -> Result<(), ModelError> {
    let sizes =
        [("causes", model.causes.len()), ("covers", model.covers.len()), ("steps", model.steps.len())];
    for (what, size) in sizes {
        if size > MOST {
            return Err(wrong(what, format!("{size} of them; at most {MOST} are taken")));
        }
    }
    once("cause", model.causes.iter().map(|cause| cause.key.as_str()))?;
    once("cover", model.covers.iter().map(|cover| cover.key.as_str()))?;
    once("step", model.steps.iter().map(|step| step.key.as_str()))?;
    once("proof", model.proofs.iter().map(|proof| proof.key.as_str()))?;
    let numbers = [("unlisted", model.unlisted), ("comeback", model.comeback.0)];
    for (what, value) in numbers {
        if !amount(value) {
            return Err(wrong(what, "must be 0 or more"));
        }
    }
    if !ratio(model.second) {
        return Err(wrong("second", "must lie between 0 and 1"));
    }
    for cause in &model.causes {
        if !amount(cause.weight) {
            return Err(wrong(format!("cause {}", cause.key), "its weight must be 0 or more"));
        }
    }
    let total: f64 = model.priors().iter().sum();
    if !(total > 0.0 && total.is_finite()) {
        return Err(wrong("cause", "no cause has any weight; give at least one a weight above 0"));
    }
    covers(model)?;
    if model.give_up.as_ref().is_some_and(|give_up| !amount(give_up.minutes.0)) {
        return Err(wrong("give_up", "its minutes must be 0 or more"));
    }
    for at in 0..model.steps.len() {
        step(model, at)?;
    }
    Ok(())
}

fn covers(model: &Model) -> Result<(), ModelError> {
    for cover in &model.covers {
        let at = format!("cover {}", cover.key);
        if !amount(cover.open.0) || !amount(cover.close.0) {
            return Err(wrong(at, "its minutes must be 0 or more"));
        }
        let mut outer = cover.inside;
        for _ in 0..=model.covers.len() {
            let Some(place) = outer else { break };
            let Some(next) = model.covers.get(place) else {
                return Err(wrong(at, "stands inside a cover that isn't there"));
            };
            outer = next.inside;
        }
        if outer.is_some() {
            return Err(wrong(at, "stands inside itself; take one `inside` away"));
        }
    }
    Ok(())
}

fn step(model: &Model, at: usize) -> Result<(), ModelError> {
    let step = &model.steps[at];
    let place = format!("step {}", step.key);
    let size = model.hypotheses();
    if !amount(step.minutes.0) {
        return Err(wrong(place, "its minutes must be 0 or more"));
    }
    if step.needs.iter().any(|cover| *cover >= model.covers.len()) {
        return Err(wrong(place, "needs a cover that isn't there"));
    }
    match &step.kind {
        Kind::Check(check) => {
            once(&format!("{place}, answer"), check.answers.iter().map(|answer| answer.key.as_str()))?;
            if check.answers.len() < 2 {
                return Err(wrong(place, "a check needs at least two answers"));
            }
            if check.likelihood.len() != check.answers.len()
                || check.speaks.len() != model.causes.len()
                || check.likelihood.iter().any(|row| row.len() != size)
            {
                return Err(wrong(place, "its likelihoods don't fit its answers and the causes"));
            }
            for hypothesis in 0..size {
                let column = check.likelihood.iter().map(|row| row[hypothesis]);
                if !column.clone().all(ratio) {
                    return Err(wrong(place, "a likelihood must lie between 0 and 1"));
                }
                if (column.sum::<f64>() - 1.0).abs() > SUM_SLACK {
                    return Err(wrong(
                        place,
                        "the likelihoods of its answers must sum to 1 under every cause",
                    ));
                }
            }
        }
        Kind::Mend(mend) => {
            if mend.cures.len() != size || mend.seems.len() != size {
                return Err(wrong(place, "its cures don't fit the causes"));
            }
            if !mend.cures.iter().chain(&mend.seems).copied().all(ratio) {
                return Err(wrong(place, "a likelihood must lie between 0 and 1"));
            }
        }
    }
    Ok(())
}
