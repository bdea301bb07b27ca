//! What the register says about a link, as evidence on its causes.
//!
//! A rule that fails is a certain fault. A rule that passes makes the cause that it decides
//! unlikely, by how well and how lately the two facts are known; a rule that can't be told
//! says nothing, and its check competes with all others for its minutes.

use register::field::{Ageing, Field, How};
use register::rule::{Rule, Status};
use register::time::Moment;
use register::verdict::{Finding, Link};
use register::view::Source;

use crate::model::Model;

/// How likely a reading is wrong on the day it was taken (judgement).
fn doubt_when_read(how: How) -> f64 {
    match how {
        How::Seen => 0.01,
        How::Label => 0.03,
        How::Told => 0.15,
        How::Assumed => 0.30,
    }
}

/// After so many days half of what is settable is taken to have been set anew (judgement).
const HALF_LIFE_DAYS: f64 = 1500.0;

/// The doubt where the register passes a rule without a dated reading (judgement).
const DOUBT_WITHOUT_READING: f64 = 0.02;

/// How likely what a reading says is not so now.
pub fn doubt(source: Source, ageing: Ageing, now: Moment) -> f64 {
    let wrong = doubt_when_read(source.how);
    if ageing == Ageing::Fixed {
        return wrong;
    }
    // Whole days, so that a question asked again in the same hour weighs the same. A reading
    // from the future is as good as one of today.
    #[expect(clippy::cast_precision_loss, reason = "days are few")]
    let days = now.days_since(source.seen).max(0) as f64;
    1.0 - (1.0 - wrong) * 0.5_f64.powf(days / HALF_LIFE_DAYS)
}

/// The fact that a rule compares.
pub fn field_of(rule: Rule) -> Field {
    match rule {
        Rule::Family => Field::Family,
        Rule::Band => Field::Band,
        Rule::Region => Field::Region,
        Rule::Version => Field::Firmware,
        Rule::Secret => Field::Secret,
        Rule::Pairing => Field::Partners,
        Rule::ModelId => Field::ModelId,
    }
}

/// How likely a rule is broken although the register passes it.
pub fn doubt_of(finding: &Finding, now: Moment) -> f64 {
    let ageing = field_of(finding.rule).ageing();
    let sides = [finding.transmitter.source, finding.receiver.source];
    let sure: f64 = sides.into_iter().flatten().map(|source| 1.0 - doubt(source, ageing, now)).product();
    if sides.iter().all(Option::is_none) { DOUBT_WITHOUT_READING } else { 1.0 - sure }
}

/// What a rule that passes does to the weights: a factor for each hypothesis; `None` where
/// the rule doesn't pass, or decides no cause of this model.
pub fn passes(model: &Model, link: &Link, rule: Rule, now: Moment) -> Option<Vec<f64>> {
    let finding = link.findings.iter().find(|finding| finding.rule == rule)?;
    if finding.status != Status::Pass {
        return None;
    }
    let doubt = doubt_of(finding, now);
    let mut factors = vec![1.0; model.hypotheses()];
    let mut any = false;
    for (factor, _) in factors.iter_mut().zip(&model.causes).filter(|(_, cause)| cause.rule == Some(rule)) {
        *factor = doubt;
        any = true;
    }
    any.then_some(factors)
}
