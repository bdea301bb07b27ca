//! A library model fitted to the gear at hand: causes that can't be are left out, the
//! family's own lamp patterns and faults come in.

use std::collections::BTreeSet;

use register::family::{Energised, Family, FamilyFault, Lamp, ModelIdRule, SecretRule, VersionRule};
use units::Minutes;

use crate::model::{Answer, Cause, Check, Cover, CoverAt, Kind, Mend, Model, Step, Trait};

/// What is known of the gear; `None` is not known, and counts as there.
#[derive(Clone, Copy, Debug, Default)]
pub struct Gear<'a> {
    /// The link family.
    pub family: Option<&'a Family>,
    /// Whether the receiver is fitted in an aircraft.
    pub fitted: Option<Fitted>,
    /// How many ends the transmitter has.
    pub ends: Option<usize>,
}

/// Where a receiver is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fitted {
    /// In an aircraft.
    InAircraft,
    /// On the bench or the shelf.
    Loose,
}

impl Gear<'_> {
    /// Whether something may hold of the gear.
    pub fn may_have(&self, what: Trait) -> bool {
        let family = |holds: fn(&Family) -> bool| self.family.is_none_or(holds);
        match what {
            Trait::Secret => family(|family| family.secret != SecretRule::Absent),
            Trait::BlankSecret => {
                family(|family| matches!(family.secret, SecretRule::Equal { blank_allowed: true, .. }))
            }
            Trait::LinksUnpaired => {
                family(|family| matches!(family.secret, SecretRule::Equal { links_unpaired: true, .. }))
            }
            Trait::ModelId => family(|family| family.model_id != ModelIdRule::Absent),
            Trait::ModelIdOff => {
                family(|family| matches!(family.model_id, ModelIdRule::Checked { off: Some(_), .. }))
            }
            Trait::Region => family(|family| family.regions.must_match && family.regions.variants.len() > 1),
            Trait::Version => family(|family| family.versions != VersionRule::Any),
            Trait::Waiting => family(|family| family.waiting.is_some()),
            Trait::Telemetry => family(|family| {
                family.modes.is_empty() || family.modes.iter().any(|mode| !mode.telemetry_one_in.is_empty())
            }),
            Trait::Fitted => self.fitted != Some(Fitted::Loose),
            Trait::SeveralEnds => self.ends.is_none_or(|ends| ends > 1),
        }
    }
}

/// Fits a model to the gear. A model of which nothing would be left stays as it is.
pub fn fit(model: &Model, gear: Gear<'_>) -> Model {
    let mut fitted = without(model, gear);
    if fitted.causes.is_empty() {
        fitted = model.clone();
    }
    if gear.fitted == Some(Fitted::Loose) {
        loose(&mut fitted);
    }
    if let Some(family) = gear.family {
        lamps(&mut fitted, &family.lamps);
        for fault in family.faults.iter().filter(|fault| fault.symptom == model.key) {
            own_fault(&mut fitted, fault);
        }
        sort_out(&mut fitted);
    }
    fitted
}

/// A receiver that is in no aircraft drives no servos and no motor.
fn loose(model: &mut Model) {
    let alone = |energises: &mut Vec<Energised>| {
        energises.retain(|one| !matches!(one, Energised::Servos | Energised::Motor));
    };
    model.steps.iter_mut().for_each(|step| alone(&mut step.energises));
    model.proofs.iter_mut().for_each(|proof| alone(&mut proof.energises));
}

/// Leaves out causes and steps that the gear can't have, and steps that then say nothing.
fn without(model: &Model, gear: Gear<'_>) -> Model {
    let there = |wants: &[Trait]| wants.iter().all(|what| gear.may_have(*what));
    let keep: Vec<bool> = model.causes.iter().map(|cause| there(&cause.wants)).collect();
    // The last hypothesis, *not in this list*, always stays.
    let stays = |row: &[f64]| -> Vec<f64> {
        row.iter()
            .enumerate()
            .filter(|(at, _)| keep.get(*at).copied().unwrap_or(true))
            .map(|(_, value)| *value)
            .collect()
    };
    let (covers, place) = covers(model, &there);
    let mut fitted = Model {
        covers,
        causes: model.causes.iter().filter(|cause| there(&cause.wants)).cloned().collect(),
        steps: Vec::new(),
        ..model.clone()
    };
    for step in model.steps.iter().filter(|step| there(&step.wants)) {
        let mut step = step.clone();
        step.needs = step.needs.iter().filter_map(|cover| nearest_left(model, &place, *cover)).collect();
        match &mut step.kind {
            Kind::Check(check) => {
                check.likelihood = check.likelihood.iter().map(|row| stays(row)).collect();
                check.speaks =
                    check.speaks.iter().zip(&keep).filter(|(_, keep)| **keep).map(|(one, _)| *one).collect();
            }
            Kind::Mend(mend) => {
                mend.cures = stays(&mend.cures);
                mend.seems = stays(&mend.seems);
            }
        }
        fitted.steps.push(step);
    }
    sort_out(&mut fitted);
    fitted
}

/// The covers that are there, and the new place of each.
fn covers(model: &Model, there: &dyn Fn(&[Trait]) -> bool) -> (Vec<Cover>, Vec<Option<CoverAt>>) {
    let mut place = Vec::new();
    let mut left = 0;
    for cover in &model.covers {
        let stays = there(&cover.wants);
        place.push(stays.then_some(left));
        left += usize::from(stays);
    }
    let covers = model.covers.iter().filter(|cover| there(&cover.wants)).map(|cover| Cover {
        inside: cover.inside.and_then(|outer| nearest_left(model, &place, outer)),
        ..cover.clone()
    });
    (covers.collect(), place)
}

/// The new place of a cover, or of the nearest one around it that is there.
fn nearest_left(model: &Model, place: &[Option<CoverAt>], cover: CoverAt) -> Option<CoverAt> {
    let mut at = Some(cover);
    // A sound model's covers don't stand inside themselves; the bound is for others.
    for _ in 0..=model.covers.len() {
        match at {
            Some(cover) if place[cover].is_some() => return place[cover],
            Some(cover) => at = model.covers[cover].inside,
            None => return None,
        }
    }
    None
}

/// Drops steps that can tell or cure nothing.
fn sort_out(model: &mut Model) {
    model.steps.retain(|step| match &step.kind {
        Kind::Check(check) => check.speaks.contains(&true),
        Kind::Mend(mend) => mend.cures.iter().any(|cure| *cure > 0.0),
    });
}

/// The key of the answer for everything that no pattern is written down for.
const OTHER: &str = "other";

/// Puts the family's own patterns in the place of the library's neutral words: one answer a
/// pattern, and one for any other.
fn lamps(model: &mut Model, lamps: &[Lamp]) {
    let known: Vec<(&Lamp, &'static str)> =
        lamps.iter().filter_map(|lamp| Some((lamp, lamp.means?.word()))).collect();
    if known.is_empty() {
        return;
    }
    for step in &mut model.steps {
        let Kind::Check(check) = &mut step.kind else { continue };
        if !check.lamp {
            continue;
        }
        let row_of = |key: &str| check.answers.iter().position(|answer| answer.key == key);
        // Patterns that look alike are one answer, whatever states they stand for.
        let mut patterns: Vec<(String, Vec<&Lamp>, BTreeSet<usize>)> = Vec::new();
        for (lamp, word) in &known {
            let Some(row) = row_of(word).filter(|_| *word != OTHER) else { continue };
            let looks = squeezed(&lamp.shows);
            match patterns.iter_mut().find(|(have, _, _)| *have == looks) {
                Some((_, same, rows)) => {
                    same.push(lamp);
                    rows.insert(row);
                }
                None => patterns.push((looks, vec![lamp], BTreeSet::from([row]))),
            }
        }
        // A state that two patterns stand for is told as either: they become one answer.
        let mut at = 0;
        while at < patterns.len() {
            let clash =
                (at + 1..patterns.len()).find(|other| !patterns[at].2.is_disjoint(&patterns[*other].2));
            if let Some(other) = clash {
                let (_, same, rows) = patterns.remove(other);
                patterns[at].1.extend(same);
                patterns[at].2.extend(rows);
            } else {
                at += 1;
            }
        }
        let size = check.likelihood.first().map_or(0, Vec::len);
        let sum_of = |rows: &mut dyn Iterator<Item = usize>| {
            let mut sum = vec![0.0; size];
            for row in rows {
                for (total, value) in sum.iter_mut().zip(&check.likelihood[row]) {
                    *total += value;
                }
            }
            sum
        };
        let mut answers = Vec::new();
        let mut likelihood = Vec::new();
        let mut used = BTreeSet::new();
        for (_, same, rows) in &patterns {
            let keys: Vec<&str> = rows.iter().map(|row| check.answers[*row].key.as_str()).collect();
            let mut shows: Vec<String> =
                same.iter().map(|lamp| format!("{} ({})", lamp.shows.trim(), lamp.state.trim())).collect();
            shows.dedup();
            answers.push(Answer { key: keys.join("+"), label: shows.join(" or ") });
            likelihood.push(sum_of(&mut rows.iter().copied()));
            used.extend(rows.iter().copied());
        }
        let rest: Vec<usize> = (0..check.answers.len()).filter(|row| !used.contains(row)).collect();
        if !rest.is_empty() {
            let label = check
                .answers
                .iter()
                .find(|answer| answer.key == OTHER)
                .map_or_else(|| "Anything else".to_owned(), |answer| answer.label.clone());
            answers.push(Answer { key: OTHER.to_owned(), label });
            likelihood.push(sum_of(&mut rest.into_iter()));
        }
        if answers.len() >= 2 {
            check.answers = answers;
            check.likelihood = likelihood;
        }
    }
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// Takes in a fault that the family's author wrote: it changes a cause of the library, or is
/// one more.
fn own_fault(model: &mut Model, fault: &FamilyFault) {
    let at = model.cause(&fault.key).unwrap_or_else(|| add_cause(model, fault));
    let cause = &mut model.causes[at];
    if let Some(weight) = fault.weight {
        cause.weight = weight;
    }
    if let Some(label) = &fault.label {
        cause.label.clone_from(label);
    }
    let label = cause.label.clone();
    let size = model.hypotheses();
    let step = |key: String, text: &str, how: &str, minutes: Minutes, kind| Step {
        key,
        label: text.to_owned(),
        how: how.to_owned(),
        good: String::new(),
        minutes,
        needs: Vec::new(),
        energises: fault.energises.clone(),
        caution: String::new(),
        wants: Vec::new(),
        leaves: None,
        kind,
    };
    if let (Some(ask), Some(minutes)) = (&fault.ask, fault.ask_minutes) {
        let yes: Vec<f64> =
            (0..size).map(|one| if one == at { fault.yes_if } else { fault.yes_else }).collect();
        let no = yes.iter().map(|yes| 1.0 - yes).collect();
        let answer = |key: &str, label: &str| Answer { key: key.to_owned(), label: label.to_owned() };
        let mut speaks = vec![false; model.causes.len()];
        speaks[at] = true;
        let check = Check {
            answers: vec![answer("yes", "Yes"), answer("no", "No")],
            likelihood: vec![yes, no],
            speaks,
            rule: None,
            field: None,
            lamp: false,
        };
        let key = format!("family_{}", fault.key);
        add_step(model, step(key, ask, &fault.ask_how, minutes, Kind::Check(check)));
    }
    if let (Some(mend), Some(minutes)) = (&fault.mend, fault.mend_minutes) {
        let mut cures = vec![0.0; size];
        cures[at] = fault.cures;
        let seems = vec![0.0; size];
        let kind = Kind::Mend(Mend { cures, seems, watch: String::new(), rule: None });
        let key = format!("family_{}_mend", fault.key);
        let mut step = step(key, mend, &fault.mend_how, minutes, kind);
        step.good = format!("It works again, so it was: {label}.");
        add_step(model, step);
    }
}

/// A fault that stands twice in a family file has one check and one mend.
fn add_step(model: &mut Model, step: Step) {
    if model.step(&step.key).is_none() {
        model.steps.push(step);
    }
}

/// A further cause: until its own check is asked, every check answers as it usually does.
fn add_cause(model: &mut Model, fault: &FamilyFault) -> usize {
    let at = model.causes.len();
    model.causes.push(Cause {
        key: fault.key.clone(),
        label: fault.key.replace('_', " "),
        weight: 1.0,
        rule: None,
        wants: Vec::new(),
    });
    for step in &mut model.steps {
        match &mut step.kind {
            Kind::Check(check) => {
                // A column that nothing was written for holds the usual answers.
                let usual = check.speaks.iter().position(|speaks| !speaks).unwrap_or(at);
                for row in &mut check.likelihood {
                    row.insert(at, row[usual]);
                }
                check.speaks.push(false);
            }
            Kind::Mend(mend) => {
                mend.cures.insert(at, 0.0);
                mend.seems.insert(at, 0.0);
            }
        }
    }
    at
}
