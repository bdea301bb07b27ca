//! What comes next on a trail, and what may come of it.

use register::fleet::Fleet;
use register::rule::{Rule, Status};
use register::time::Moment;
use register::trail::Helped;
use units::Minutes;

use super::bench::Bench;
use super::changes::Settled;
use super::replay::rule_of;
use super::{Certain, Foreseen, HelpedBy, NOT_LISTED_FROM, Next, Proposal, Remark, SHOWN, Trail, act};
use super::{helped_label, likeliest};
use crate::belief::{Belief, Seen, pair_failed};
use crate::model::{Kind, Model, StepAt};
use crate::planner::{self, Choice, Effort};

/// The rules that fail, each a certain fault, with its mends.
pub(super) fn certain(
    bench: &Bench<'_>,
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
        .map(|finding| Certain {
            rule: finding.rule,
            reason: finding.text.clone(),
            mends: mends.iter().filter(|mend| mend.rule == finding.rule).cloned().collect(),
            set_aside: aside.contains(&finding.rule),
        })
        .collect()
}

/// What a mend that seems to have helped cures, and how likely it only seems so.
pub(super) fn helped_by(model: &Model, belief: &Belief, step: String, what: String) -> HelpedBy {
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
pub(super) fn remark(trail: &Trail) -> Option<Remark> {
    let belief = &trail.belief;
    if belief.contradiction {
        return Some(Remark::Contradiction);
    }
    let weight = belief.unlisted();
    if weight >= NOT_LISTED_FROM {
        return Some(Remark::NotListed { weight });
    }
    let most = belief
        .pairs
        .iter()
        .max_by(|a, b| a.weight.total_cmp(&b.weight).then_with(|| (b.one, b.other).cmp(&(a.one, a.other))))?;
    let label = |at: usize| trail.model.causes[at].label.clone();
    Some(Remark::TwoFaults { one: label(most.one), other: label(most.other), weight: most.weight })
}

/// Decides what comes next.
pub(super) fn decide(trail: &mut Trail, bench: &Bench<'_>, seen: &[Seen], effort: Effort) {
    if trail.closed.is_some() {
        return;
    }
    if trail.helped.is_some() {
        trail.expected = Some(trail.to_close());
        trail.next = if let Some(change) = trail.changes.iter().position(|one| one.settled == Settled::Open) {
            Next::Restore { change }
        } else if let Some(proof) = trail.proofs.iter().position(|proof| !proof.held) {
            Next::Prove { proof }
        } else {
            Next::Close
        };
        return;
    }
    let lift = |one: &Certain| !one.set_aside;
    if let Some(certain) = trail.certain.iter().position(lift) {
        let quickest = |one: &Certain| one.mends.first().map_or(Minutes::ZERO, |mend| mend.minutes);
        trail.expected = Some(trail.certain.iter().filter(|one| lift(one)).map(quickest).sum());
        trail.next = Next::Lift { certain };
        return;
    }
    let advice = planner::advise(&trail.model, &trail.situation, effort);
    trail.expected = Some(advice.best.expected);
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
    let facts = act::facts_asked(model, bench, step);
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
