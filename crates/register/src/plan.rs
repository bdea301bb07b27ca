//! The quickest way from a blocked or unknown link to one that holds: which mends, in
//! which order, and what to look at first.

use units::Minutes;

use crate::check::{self, Check};
use crate::effect::{self, Scope};
use crate::fleet::Fleet;
use crate::mend::{self, Step};
use crate::rule::{Status, Verdict};
use crate::scene::Scene;
use crate::time::Moment;
use crate::verdict::Link;

/// A way to a link that holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// What to look at first; the plan supposes that nothing bad is seen.
    pub checks: Vec<Check>,
    /// What to do then.
    pub steps: Vec<Step>,
    /// The minutes of all of it.
    pub minutes: Minutes,
}

impl Plan {
    /// The first thing to do.
    pub fn first(&self) -> Option<&str> {
        self.checks
            .first()
            .map(|check| check.text.as_str())
            .or_else(|| self.steps.first().map(|step| step.text.as_str()))
    }
}

/// How many mends in a row are tried: no link has more rules that can fail.
const DEEPEST: usize = 6;

struct Search {
    now: Moment,
    best: Option<Plan>,
}

impl Search {
    fn go(&mut self, scene: &Scene, link: &Link, steps: &[Step], depth: usize) {
        let spent: Minutes = steps.iter().map(|step| step.minutes).sum();
        if self.best.as_ref().is_some_and(|best| best.minutes.hundredths() <= spent.hundredths()) {
            return;
        }
        let Some((transmitter, receiver, link)) = mend::judge(scene, link) else { return };
        if link.verdict() != Verdict::Blocked {
            let checks = if link.verdict() == Verdict::Unknown {
                check::checks(scene, &transmitter, &receiver, &link)
            } else {
                Vec::new()
            };
            let minutes = spent + checks.iter().map(|check| check.minutes).sum();
            let better =
                self.best.as_ref().is_none_or(|best| minutes.hundredths() < best.minutes.hundredths());
            if better {
                self.best = Some(Plan { checks, steps: steps.to_vec(), minutes });
            }
            return;
        }
        if depth == DEEPEST {
            return;
        }
        // The first broken rule in order: pairing is no use before the ends can pair.
        let first = link.findings.iter().find(|finding| finding.status == Status::Fail).map(|f| f.rule);
        let mut ideas = mend::ideas(scene, &transmitter, &receiver, &link);
        ideas.retain(|idea| Some(idea.rule) == first);
        for idea in ideas {
            let Some((after, more, _, _, next)) = mend::carry_out(scene, &link, &idea, self.now) else {
                continue;
            };
            if first.is_some_and(|rule| next.ruling.status(rule) == Some(Status::Fail)) {
                continue;
            }
            let mut all = steps.to_vec();
            all.extend(more);
            self.go(&after, &next, &all, depth + 1);
        }
    }
}

/// The quickest way to make a link hold by mends on its own two devices; `None` when
/// there is none (two families, two bands). What it does to other links is not weighed:
/// see [`gentle`].
pub fn plan(scene: &Scene, link: &Link, now: Moment) -> Option<Plan> {
    let mut search = Search { now, best: None };
    search.go(scene, link, &[], 0);
    search.best
}

/// The quickest way that breaks the fewest links that are meant to hold: of the ways
/// that begin with each possible mend, the least harmful, then the quickest. Returns the
/// plan and how many such links it breaks.
pub fn gentle(scene: &Scene, fleet: &Fleet, link: &Link, now: Moment) -> Option<(Plan, usize)> {
    let (transmitter, receiver, link) = mend::judge(scene, link)?;
    if link.verdict() != Verdict::Blocked {
        return plan(scene, &link, now).map(|plan| (plan, 0));
    }
    let first = link.findings.iter().find(|finding| finding.status == Status::Fail).map(|f| f.rule)?;
    let mut ways: Vec<(Plan, Scene)> = Vec::new();
    for idea in mend::ideas(scene, &transmitter, &receiver, &link) {
        if idea.rule != first {
            continue;
        }
        let Some((mut after, steps, _, _, next)) = mend::carry_out(scene, &link, &idea, now) else {
            continue;
        };
        if next.ruling.status(first) == Some(Status::Fail) {
            continue;
        }
        let Some(rest) = plan(&after, &next, now) else { continue };
        for change in rest.steps.iter().flat_map(|step| &step.changes) {
            after.apply(change, now);
        }
        let minutes = steps.iter().map(|step| step.minutes).sum::<Minutes>() + rest.minutes;
        let whole =
            Plan { checks: rest.checks, steps: steps.into_iter().chain(rest.steps).collect(), minutes };
        ways.push((whole, after));
    }
    // The quickest first (a stable sort: ties in the order of ideas), so that the first
    // that breaks nothing is the answer and the harm of slower ones need not be known.
    ways.sort_by_key(|(way, _)| way.minutes.hundredths());
    let mut best: Option<(Plan, usize)> = None;
    for (way, after) in ways {
        let broken = effect::effect_on(Scope::Wanted, scene, fleet, &after).breaks().count();
        if best.as_ref().is_none_or(|(_, harm)| broken < *harm) {
            best = Some((way, broken));
        }
        if broken == 0 {
            break;
        }
    }
    best
}
