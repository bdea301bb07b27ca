//! What comes next on a trail, and what may come of it.

use register::fleet::Fleet;
use register::rule::{Rule, Status, Verdict};
use register::time::Moment;
use register::trail::Helped;
use units::Minutes;

use super::bench::Bench;
use super::changes::Settled;
use super::replay::rule_of;
use super::{Certain, Foreseen, HelpedBy, NOT_LISTED_FROM, Next, Proposal, Remark, SHOWN, TWO_FAULTS_FROM};
use super::{Trail, asked};
use super::{helped_label, likeliest};
use crate::belief::{Belief, Seen, pair_failed};
use crate::model::{Kind, Model, Step, StepAt};
use crate::planner::{self, Choice, Effort};

/// The rules that fail, each a certain fault, with its mends.
pub(super) fn certain(
    bench: &Bench<'_>,
    model: &Model,
    fleet: &Fleet,
    in_play: &[Rule],
    aside: &[Rule],
    now: Moment,
) -> Vec<Certain> {
    let failing: Vec<_> = bench
        .link
        .findings
        .iter()
        .filter(|finding| finding.status == Status::Fail && in_play.contains(&finding.rule))
        .collect();
    if failing.is_empty() {
        return Vec::new();
    }
    let mends =
        register::mend::mends(&bench.scene, fleet, &bench.transmitter, &bench.receiver, &bench.link, now);
    failing
        .into_iter()
        .map(|finding| {
            let mut ways: Vec<_> = mends.iter().filter(|mend| mend.rule == finding.rule).cloned().collect();
            if ways.is_empty() {
                ways = of_model(model, finding.rule);
            }
            // The quickest first; of equally quick ones the one that breaks the fewest links.
            ways.sort_by_key(|way| (way.minutes.hundredths(), way.breaks.len()));
            Certain {
                rule: finding.rule,
                reason: finding.text.clone(),
                mends: ways,
                set_aside: aside.contains(&finding.rule),
            }
        })
        .collect()
}

/// The model's own mends of a rule, where the register knows none (a band, a family): what
/// they change is not known.
fn of_model(model: &Model, rule: Rule) -> Vec<register::mend::Mend> {
    let of_rule = |step: &&Step| step.as_mend().is_some_and(|mend| mend.rule == Some(rule));
    (0..model.steps.len())
        .map(|at| (at, &model.steps[at]))
        .filter(|(_, step)| of_rule(step))
        .map(|(at, step)| {
            let minutes = model.minutes_of(at, &vec![false; model.covers.len()]);
            let text = format!("{} {}", step.label, step.how).trim().to_owned();
            register::mend::Mend {
                rule,
                action: step.label.clone(),
                steps: vec![register::mend::Step {
                    key: "mend.other",
                    text,
                    minutes,
                    energises: step.energises.clone(),
                    caution: None,
                    changes: Vec::new(),
                }],
                minutes,
                after: Verdict::Links,
                instead: None,
                leaves: Vec::new(),
                breaks: Vec::new(),
                repairs: Vec::new(),
            }
        })
        .collect()
}

/// What a mend that seems to have helped cures, and how likely it only seems so.
pub(crate) fn helped_by(model: &Model, belief: &Belief, step: String, what: String) -> HelpedBy {
    let mut looks = vec![0.0; model.hypotheses()];
    let mut hidden = 0.0;
    let mut watch = String::new();
    if let Some(rule) = rule_of(&step) {
        for (at, cause) in model.causes.iter().enumerate().filter(|(_, cause)| cause.rule == Some(rule)) {
            // Its weight may be next to nothing now that the rule passes.
            looks[at] = cause.weight;
        }
    } else if let Some(mend) = model.step(&step).and_then(|at| model.steps[at].as_mend()) {
        watch.clone_from(&mend.watch);
        for (at, look) in looks.iter_mut().enumerate() {
            let weight = if at < model.causes.len() { belief.of_cause(at) } else { belief.unlisted() };
            let (cure, seem) = (mend.cures[at], mend.seems[at]);
            *look = weight * (cure + (1.0 - cure) * seem);
            hidden += weight * (1.0 - cure) * seem;
        }
    } else {
        looks = (0..model.causes.len()).map(|at| belief.of_cause(at)).chain([belief.unlisted()]).collect();
    }
    let sum: f64 = looks.iter().sum();
    let scale = if sum > 0.0 { 1.0 / sum } else { 0.0 };
    let shown = Belief {
        singles: looks.iter().map(|look| look * scale).collect(),
        pairs: Vec::new(),
        contradiction: false,
    };
    let mut causes = likeliest(model, &shown, model.hypotheses());
    causes.retain(|cause| cause.weight > 0.0);
    HelpedBy { step, what, causes, hidden: hidden * scale, watch }
}

/// What is to be told beside the next step.
pub(super) fn remark(trail: &Trail, seen: &[Seen]) -> Option<Remark> {
    if trail.helped.is_some() {
        // It works although a rule fails: one of the two is not so.
        let reasons: Vec<String> = trail.certain.iter().map(|one| one.reason.clone()).collect();
        return (!reasons.is_empty()).then_some(Remark::StillFails { reasons });
    }
    let belief = &trail.belief;
    if belief.contradiction {
        return Some(Remark::Contradiction);
    }
    let weight = belief.unlisted();
    if weight >= NOT_LISTED_FROM {
        return Some(Remark::NotListed { weight });
    }
    // With nothing left that could help, what was mended in vain is no explanation either.
    if matches!(trail.next, Next::GiveUp { .. } | Next::Stuck) {
        let weight = weight + in_vain(trail, seen);
        if weight >= NOT_LISTED_FROM {
            return Some(Remark::NotListed { weight });
        }
    }
    let most =
        belief.pairs.iter().filter(|pair| pair.weight >= TWO_FAULTS_FROM).max_by(|a, b| {
            a.weight.total_cmp(&b.weight).then_with(|| (b.one, b.other).cmp(&(a.one, a.other)))
        })?;
    let label = |at: usize| trail.model.causes[at].label.clone();
    Some(Remark::TwoFaults { one: label(most.one), other: label(most.other), weight: most.weight })
}

/// The weight of causes whose every mend was done, and didn't help.
fn in_vain(trail: &Trail, seen: &[Seen]) -> f64 {
    let failed =
        |step: usize| seen.iter().any(|one| matches!(one, Seen::Failed { step: have } if *have == step));
    let mends = |cause: usize| {
        let steps = trail.model.steps.iter().enumerate();
        steps.filter(move |(_, step)| step.as_mend().is_some_and(|mend| mend.cures[cause] > 0.0))
    };
    (0..trail.model.causes.len())
        .filter(|cause| mends(*cause).next().is_some() && mends(*cause).all(|(step, _)| failed(step)))
        .map(|cause| trail.belief.of_cause(cause))
        .sum()
}

/// Decides what comes next.
pub(super) fn decide(trail: &mut Trail, bench: &Bench<'_>, seen: &[Seen], effort: Effort) {
    if trail.closed.is_some() {
        return;
    }
    // Two failed rules are two faults, also where the first mend seems to have been enough.
    let lift = |one: &Certain| !one.set_aside;
    if let Some(certain) = trail.certain.iter().position(lift) {
        let quickest = |one: &Certain| one.mends.first().map_or(Minutes::ZERO, |mend| mend.minutes);
        trail.expected = Some(trail.certain.iter().filter(|one| lift(one)).map(quickest).sum());
        trail.next = Next::Lift { certain };
        return;
    }
    if trail.helped.is_some() {
        trail.expected = Some(trail.to_close() + trail.to_prove());
        trail.next = if let Some(change) = trail.changes.iter().position(|one| one.settled == Settled::Open) {
            Next::Restore { change }
        } else if let Some(proof) = trail.proofs.iter().position(|proof| !proof.held) {
            Next::Prove { proof }
        } else {
            Next::Close
        };
        return;
    }
    let advice = planner::advise(&trail.model, &trail.situation, effort);
    // What the planner reckons ends with a link that works; proving it comes on top of all.
    let proofs = trail.to_prove();
    trail.expected = Some(advice.best.expected + proofs);
    trail.method = Some(advice.method);
    trail.next = match advice.best.choice {
        Choice::Do(step) => {
            Next::Step(proposal(trail, bench, seen, step, advice.best.minutes, advice.others))
        }
        Choice::GiveUp => match &trail.model.give_up {
            Some(give_up) => Next::GiveUp { text: give_up.label.clone(), minutes: give_up.minutes },
            None => Next::Stuck,
        },
        Choice::Stop => Next::Stuck,
    };
}

fn proposal(
    trail: &Trail,
    bench: &Bench<'_>,
    seen: &[Seen],
    step: StepAt,
    minutes: Minutes,
    others: Vec<planner::Candidate>,
) -> Proposal {
    let model = &trail.model;
    let covers = model
        .covers_for(step)
        .into_iter()
        .filter(|cover| !trail.situation.open[*cover])
        .map(|cover| &model.covers[cover])
        .map(|cover| (cover.label.clone(), cover.open + cover.close))
        .collect();
    let with = |more: Seen| {
        let mut all = seen.to_vec();
        all.push(more);
        likeliest(model, &Belief::of(model, &all), SHOWN)
    };
    let outcomes = match &model.steps[step].kind {
        Kind::Check(check) => check
            .answers
            .iter()
            .enumerate()
            .map(|(answer, one)| Foreseen {
                key: one.key.clone(),
                label: one.label.clone(),
                chance: chance(&trail.belief, &check.likelihood[answer], &check.speaks),
                after: with(Seen::Answer { step, answer }),
            })
            .collect(),
        Kind::Mend(mend) => {
            let belief = &trail.belief;
            let bad: f64 = belief
                .singles
                .iter()
                .zip(mend.cures.iter().zip(&mend.seems))
                .map(|(weight, (cure, seem))| weight * (1.0 - cure) * (1.0 - seem))
                .chain(belief.pairs.iter().map(|pair| {
                    let (both, first, second) = pair_failed(mend, pair.one, pair.other);
                    pair.weight * (both + first + second)
                }))
                .sum();
            let foreseen = |helped: Helped, chance: f64, after| Foreseen {
                key: helped.word().to_owned(),
                label: helped_label(helped).to_owned(),
                chance,
                after,
            };
            let key = model.steps[step].key.clone();
            let cured = helped_by(model, belief, key, String::new()).causes.into_iter().take(SHOWN).collect();
            vec![
                foreseen(Helped::Yes, 1.0 - bad, cured),
                foreseen(Helped::No, bad, with(Seen::Failed { step })),
            ]
        }
    };
    let facts = asked::facts_asked(model, bench, step);
    Proposal { step, minutes, covers, outcomes, facts, others }
}

/// How likely an answer is.
fn chance(belief: &Belief, row: &[f64], speaks: &[bool]) -> f64 {
    let singles: f64 = belief.singles.iter().zip(row).map(|(weight, likely)| weight * likely).sum();
    let pairs: f64 = belief
        .pairs
        .iter()
        .map(|pair| pair.weight * crate::belief::pair_likelihood(row, speaks, pair.one, pair.other))
        .sum();
    singles + pairs
}
