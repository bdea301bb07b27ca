//! Rows of likelihoods, and likelihoods by cause.

use register::desk::telling::figure;
use register::desk::{Desk, Item, Section};

use super::{SUM_SLACK, parts};
use crate::model::{Cause, CauseAt};

/// A row with one likelihood an answer, scaled to sum to 1; none where it was reported.
/// `name` says whose row it is.
pub(super) fn row(desk: &mut Desk<'_>, items: &[Item<'_>], answers: usize, at: At<'_>) -> Option<Vec<f64>> {
    let figures: Vec<f64> = items.iter().filter_map(|item| item.number(desk, 0.0, 1.0)).collect();
    if items.len() != answers {
        let says = format!("has {} likelihoods for {answers} answers; write one an answer", items.len());
        desk.report(at.line, at.key, says);
        return None;
    }
    if figures.len() != answers {
        return None;
    }
    let sum: f64 = figures.iter().sum();
    // The slack of the slack: 0.333 three times is off by a little more than 0.001.
    if (sum - 1.0).abs() > SUM_SLACK + 1e-9 {
        let sum = (sum * 1e6).round() / 1e6;
        desk.report(at.line, at.key, format!("sums to {}; the likelihoods of a row sum to 1", figure(sum)));
        return None;
    }
    Some(figures.into_iter().map(|one| one / sum).collect())
}

/// Where a row stands.
#[derive(Clone, Copy)]
pub(super) struct At<'k> {
    pub line: usize,
    pub key: &'k str,
}

/// The row of a key of the section; none where it isn't there or was reported.
pub(super) fn row_of(
    desk: &mut Desk<'_>,
    section: &Section<'_>,
    name: &'static str,
    answers: usize,
) -> Option<Vec<f64>> {
    let slot = section.get(name);
    let there = desk.count();
    let items = slot.list(desk);
    if !slot.there() || desk.count() > there {
        return None;
    }
    let (line, key) = (slot.line(desk), slot.key());
    row(desk, &items, answers, At { line, key: &key })
}

/// The values of a table by cause; a key that no cause has is reported.
pub(super) fn by_cause<'t>(
    desk: &mut Desk<'_>,
    section: &Section<'t>,
    name: &'static str,
    causes: &[Cause],
) -> Vec<(CauseAt, Item<'t>)> {
    let mut out = Vec::new();
    for (key, item) in section.entries(desk, name) {
        match causes.iter().position(|cause| cause.key == key) {
            Some(at) => out.push((at, item)),
            None if key == "unlisted" => {
                item.report(desk, "is not the key of a cause; write `unlisted = …` in the section itself");
            }
            None => {
                let there = causes.iter().map(|cause| cause.key.as_str());
                item.report(desk, parts::unknown(key, there, "cause", "[[cause]]"));
            }
        }
    }
    out
}

/// Ratios by cause, one a hypothesis, 0 where the file names none.
pub(super) fn ratios(
    desk: &mut Desk<'_>,
    section: &Section<'_>,
    name: &'static str,
    causes: &[Cause],
) -> Vec<f64> {
    let mut out = vec![0.0; causes.len() + 1];
    for (at, item) in by_cause(desk, section, name, causes) {
        out[at] = item.number(desk, 0.0, 1.0).unwrap_or_default();
    }
    out
}
