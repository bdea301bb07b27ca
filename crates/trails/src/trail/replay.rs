//! From the entries of a trail to where it stands.

use std::collections::BTreeMap;

use register::check;
use register::family::Energised;
use register::fleet::Fleet;
use register::register::Register;
use register::rule::{Rule, Status};
use register::time::Moment;
use register::trail::{Begun, Event, Helped, Mark, TrailLog, Way};
use units::Minutes;

use super::bench::Bench;
use super::changes::{Changes, Settled};
use super::{Certain, Done, Lost, Next, ProofState, SHOWN, Trail, ahead, helped_label, likeliest};
use crate::belief::{Belief, Seen};
use crate::evidence;
use crate::fitted;
use crate::learn::{self, Counts};
use crate::model::{Kind, Model, StepAt};
use crate::planner::Effort;
use crate::table::Situation;

/// The key of a mend that lifts a failed rule.
pub(super) fn rule_key(rule: Rule) -> String {
    format!("rule:{}", rule.word())
}

pub(super) fn rule_of(step: &str) -> Option<Rule> {
    step.strip_prefix("rule:").and_then(Rule::from_word)
}

/// The search while its entries are read.
struct Search<'a> {
    model: &'a Model,
    bench: &'a Bench<'a>,
    seen: Vec<Seen>,
    /// Rules whose evidence belongs to an event of this trail.
    fresh: Vec<Rule>,
    done: Vec<bool>,
    open: Vec<bool>,
    changes: Changes,
    held: Vec<bool>,
    failed: Vec<bool>,
    /// What seems to have helped: its key, its words, and its place in the history.
    helped: Option<(String, String, usize)>,
    /// The words of the last thing done outside the trail.
    outside: String,
    /// Failed rules whose mends were tried, or can't be done.
    aside: Vec<Rule>,
    /// Where the evidence of a step stands in `seen`, so that what is said again replaces it.
    said: BTreeMap<StepAt, usize>,
    /// Covers that were opened without a step, so that closing them is still to be paid.
    owed: Vec<bool>,
    spent: Minutes,
    history: Vec<(Done, usize, usize)>,
    now: Moment,
}

impl<'a> Search<'a> {
    fn new(model: &'a Model, bench: &'a Bench<'a>, begun: &Begun, now: Moment) -> Search<'a> {
        Search {
            model,
            bench,
            seen: Vec::new(),
            fresh: Vec::new(),
            done: vec![false; model.steps.len()],
            open: model.covers.iter().map(|cover| begun.open.contains(&cover.key)).collect(),
            changes: Changes::default(),
            held: vec![false; model.proofs.len()],
            failed: vec![false; model.proofs.len()],
            helped: None,
            outside: String::new(),
            aside: Vec::new(),
            said: BTreeMap::new(),
            owed: model.covers.iter().map(|cover| begun.open.contains(&cover.key)).collect(),
            spent: Minutes::ZERO,
            history: Vec::new(),
            now,
        }
    }

    /// Takes in what the register says, and gives how much of what was seen that is. An entry
    /// of this trail that looked at a rule owns the evidence that it brought.
    fn register_says(&mut self, log: &TrailLog, in_play: &[Rule]) -> usize {
        let model = self.model;
        let touched = |rule: Rule| {
            log.events.iter().any(|mark| match &mark.what {
                Event::Answered { step, .. } => {
                    let step = model.step(step).and_then(|at| model.steps[at].as_check());
                    step.is_some_and(|check| check.rule == Some(rule))
                }
                Event::Tried { step, .. } => rule_of(step) == Some(rule),
                _ => false,
            })
        };
        for rule in in_play {
            if touched(*rule) && settled_since(self.bench, *rule, log.begun.seen) {
                self.fresh.push(*rule);
            } else if let Some(factors) = evidence::passes(model, &self.bench.link, *rule, self.now) {
                self.seen.push(Seen::Weighed { factors });
            }
        }
        self.seen.len()
    }

    /// Puts a rule's evidence in at the first event that settled it.
    fn settle(&mut self, rule: Rule) -> bool {
        if !self.fresh.contains(&rule) {
            return false;
        }
        self.fresh.retain(|one| *one != rule);
        if let Some(factors) = evidence::passes(self.model, &self.bench.link, rule, self.now) {
            self.seen.push(Seen::Weighed { factors });
        }
        true
    }

    /// The minutes of a step, which is settled once: said again it takes none.
    fn spend(&mut self, step: StepAt) -> Minutes {
        if self.done[step] {
            return Minutes::ZERO;
        }
        let minutes = self.model.minutes_of(step, &self.open);
        for cover in self.model.covers_for(step) {
            self.open[cover] = true;
        }
        self.done[step] = true;
        minutes
    }

    /// Takes in what a step told. Where it told something before (an answer that was changed,
    /// two copies of a workshop), only what was said last counts.
    fn tells(&mut self, step: StepAt, seen: Seen) {
        if let Some(at) = self.said.insert(step, self.seen.len()) {
            self.seen[at] = Seen::Weighed { factors: Vec::new() };
        }
        self.seen.push(seen);
    }

    fn unheld(&mut self) {
        self.held.fill(false);
    }

    fn event(&mut self, mark: &Mark<Event>) {
        let from = self.seen.len();
        let (what, came, minutes) = self.read(&mark.what);
        // That something outside the trail helped belongs to the line of what was done.
        if matches!(&mark.what, Event::Tried { step, .. } if step == ELSEWISE)
            && let Some((done, _, to)) = self.history.last_mut()
        {
            done.came = came;
            *to = self.seen.len();
            if let Some((_, _, at)) = &mut self.helped {
                *at = self.history.len() - 1;
            }
            return;
        }
        self.spent += minutes;
        let done = Done {
            entry: mark.entry,
            seen: mark.seen,
            what,
            came,
            minutes,
            before: Vec::new(),
            after: Vec::new(),
        };
        self.history.push((done, from, self.seen.len()));
    }

    fn read(&mut self, event: &Event) -> (String, String, Minutes) {
        match event {
            Event::Answered { step, answer, .. } => self.answered(step, answer),
            Event::Tried { step, helped, way, .. } => self.tried(step, *helped, way.as_ref()),
            Event::Opened { cover } => {
                let Some(at) = self.model.cover(cover) else { return gone(cover) };
                let mut minutes = Minutes::ZERO;
                for cover in self.model.around(at) {
                    if !self.open[cover] {
                        minutes += self.model.covers[cover].open;
                        (self.open[cover], self.owed[cover]) = (true, true);
                    }
                }
                (format!("Opened or fetched: {}.", self.model.covers[at].label), String::new(), minutes)
            }
            Event::Elsewise { text, minutes, changed } => {
                self.outside.clone_from(text);
                if !changed.is_empty() {
                    self.changes.elsewise(changed);
                }
                (text.clone(), "done outside the trail".to_owned(), *minutes)
            }
            Event::PutBack { change } => {
                // What was proven before is to be proven again.
                self.unheld();
                self.undo(change);
                match self.changes.settle(change, Settled::PutBack) {
                    Some(change) => (change.back.clone(), "put back".to_owned(), Minutes::ZERO),
                    None => gone(change),
                }
            }
            Event::Accepted { change } => match self.changes.settle(change, Settled::Accepted) {
                Some(change) => (change.what.clone(), "stays, accepted".to_owned(), Minutes::ZERO),
                None => gone(change),
            },
            Event::Proved { proof, held } => self.proved(proof, *held),
        }
    }

    fn answered(&mut self, key: &str, answer: &str) -> (String, String, Minutes) {
        let Some(at) = self.model.step(key) else { return gone(key) };
        let step = &self.model.steps[at];
        let Some(check) = step.as_check() else { return gone(key) };
        let minutes = self.spend(at);
        let settled = check.rule.is_some_and(|rule| self.settle(rule));
        if answer.is_empty() {
            return (step.label.clone(), "can't tell".to_owned(), minutes);
        }
        // A family's patterns join the library's answers: either key means the joined one.
        let fits = |one: &crate::model::Answer| {
            one.key == answer || one.key.split('+').any(|key| answer.split('+').any(|part| part == key))
        };
        let Some(place) = check.answers.iter().position(fits) else {
            let came = format!("`{answer}`, which is no answer of it any more");
            return (step.label.clone(), came, minutes);
        };
        self.changes.done(step);
        // That both ends go together is what the register says already, better.
        if !(settled && check.answers[place].key == GOOD) {
            self.tells(at, Seen::Answer { step: at, answer: place });
        }
        (step.label.clone(), check.answers[place].label.clone(), minutes)
    }

    fn tried(&mut self, key: &str, helped: Helped, way: Option<&Way>) -> (String, String, Minutes) {
        let came = helped_label(helped).to_owned();
        if let Some(rule) = rule_of(key) {
            self.settle(rule);
            let what =
                way.map_or_else(|| format!("Lift what fails: {}", rule.label()), |way| way.text.clone());
            if !self.aside.contains(&rule) {
                self.aside.push(rule);
            }
            if helped != Helped::CantTell
                && let Some(changed) = way.map(|way| way.changed.as_str()).filter(|what| !what.is_empty())
            {
                self.changes.of_rule(key, changed);
            }
            match helped {
                Helped::Yes => self.works(key, &what),
                Helped::No => self.in_vain(rule),
                Helped::CantTell => self.stays(rule),
            }
            return (what, came, way.map_or(Minutes::ZERO, |way| way.minutes));
        }
        if key == ELSEWISE {
            let what = self.outside.clone();
            if helped == Helped::Yes {
                self.works(key, &what);
            }
            return (what, came, Minutes::ZERO);
        }
        let Some(at) = self.model.step(key) else { return gone(key) };
        let step = &self.model.steps[at];
        let minutes = self.spend(at);
        if helped != Helped::CantTell {
            self.changes.done(step);
        }
        match helped {
            Helped::Yes => self.works(key, &step.label),
            Helped::No => self.tells(at, Seen::Failed { step: at }),
            Helped::CantTell => {}
        }
        (step.label.clone(), came, minutes)
    }

    /// A mend of the register was taken back: its rule fails again, and that it worked with the
    /// mend says that the rule is the fault.
    fn undo(&mut self, change: &str) {
        let Some(rule) = rule_of(change) else { return };
        self.aside.retain(|one| *one != rule);
        if self.helped.as_ref().is_some_and(|(step, _, _)| step == change) {
            self.helped = None;
            self.weigh(rule, 1.0, FAINT);
        }
    }

    /// What lifts a rule was done, and it is still broken: that was not it, or not all.
    fn in_vain(&mut self, rule: Rule) {
        self.weigh(rule, IN_VAIN, 1.0);
    }

    /// A rule fails and can't be lifted: whatever else there is, this is a fault. Not being
    /// paired is what every other cause leads to as well.
    fn stays(&mut self, rule: Rule) {
        if rule == Rule::Pairing || self.bench.status(rule) != Some(Status::Fail) {
            return;
        }
        let finding = self.bench.link.findings.iter().find(|finding| finding.rule == rule);
        let doubt = finding.map_or(1.0, |finding| evidence::doubt_of(finding, self.now));
        self.weigh(rule, 1.0, doubt);
    }

    fn weigh(&mut self, rule: Rule, this: f64, others: f64) {
        self.seen.push(weighed(self.model, rule, this, others));
    }

    fn works(&mut self, key: &str, what: &str) {
        self.helped = Some((key.to_owned(), what.to_owned(), self.history.len()));
        self.failed.fill(false);
        self.unheld();
    }

    fn proved(&mut self, key: &str, held: bool) -> (String, String, Minutes) {
        let Some(at) = self.model.proofs.iter().position(|proof| proof.key == key) else { return gone(key) };
        let (text, minutes) = (self.model.proofs[at].text.clone(), self.model.proofs[at].minutes);
        self.failed[at] = !held;
        if held {
            self.held[at] = true;
            return (text, "it held".to_owned(), minutes);
        }
        self.unheld();
        if let Some((key, _, _)) = self.helped.take()
            && let Some(step) = self.model.step(&key)
            && let Some(mend) = self.model.steps[step].as_mend()
        {
            let change = self.changes.0.iter().find(|change| change.key == key);
            if change.is_some_and(|change| change.settled == Settled::PutBack) {
                // It worked with the change and doesn't without it: what the mend cures is it.
                let looks_good = |(cure, seem): (&f64, &f64)| cure + (1.0 - cure) * seem;
                let factors = mend.cures.iter().zip(&mend.seems).map(looks_good).map(|one| one.max(FAINT));
                self.seen.push(Seen::Weighed { factors: factors.collect() });
            } else {
                self.tells(step, Seen::Failed { step });
            }
        }
        (text, "it didn't hold".to_owned(), minutes)
    }
}

/// What fails for certain is a fault, whatever else is; once it is lifted it weighs as what
/// passes. What the register knows to fail is not asked for.
fn known_to_fail(model: &Model, certain: &[Certain], (seen, done): (&mut Vec<Seen>, &mut [bool])) {
    for one in certain.iter().filter(|one| !one.set_aside) {
        seen.push(weighed(model, one.rule, 1.0, BESIDE_CERTAIN));
    }
    for (step, done) in model.steps.iter().zip(done) {
        let rule = step.as_check().and_then(|check| check.rule);
        *done |= rule.is_some_and(|rule| certain.iter().any(|one| one.rule == rule));
    }
}

/// Evidence on the cause that a rule decides, and on all others.
fn weighed(model: &Model, rule: Rule, this: f64, others: f64) -> Seen {
    let of = |cause: &crate::model::Cause| if cause.rule == Some(rule) { this } else { others };
    Seen::Weighed { factors: model.causes.iter().map(of).chain([others]).collect() }
}

/// The answer of a rule's check when both ends go together.
const GOOD: &str = "good";

/// How much any other cause weighs beside one that fails for certain (judgement).
const BESIDE_CERTAIN: f64 = 1e-3;

/// How likely a rule's fault is still there when its mend was done (judgement).
const IN_VAIN: f64 = 0.1;

/// A cause that a mend doesn't cure may still have looked cured by chance (judgement).
const FAINT: f64 = 0.01;

/// The step key of something done outside the trail.
pub(super) const ELSEWISE: &str = "elsewise";

fn gone(key: &str) -> (String, String, Minutes) {
    (format!("`{key}`, which this library doesn't know"), "left out".to_owned(), Minutes::ZERO)
}

/// Whether a rule was settled by facts read since the trail began.
fn settled_since(bench: &Bench<'_>, rule: Rule, begun: Moment) -> bool {
    let finding = bench.link.findings.iter().find(|finding| finding.rule == rule);
    finding.is_some_and(|finding| {
        finding.status == Status::Pass && finding.known_since.is_some_and(|since| since > begun)
    })
}

/// A step's minutes as the register has them, where it is a look at facts not known.
fn register_minutes(model: &mut Model, bench: &Bench<'_>) {
    let looks = check::checks(&bench.scene, &bench.transmitter, &bench.receiver, &bench.link);
    for step in &mut model.steps {
        let Kind::Check(check) = &step.kind else { continue };
        let Some(rule) = check.rule else { continue };
        let minutes: Minutes = looks.iter().filter(|look| look.rule == rule).map(|look| look.minutes).sum();
        if minutes.hundredths() > 0 {
            step.minutes = minutes;
        }
    }
}

/// See [`super::follow`].
pub(super) fn follow(
    register: &Register,
    fleet: &Fleet,
    log: &TrailLog,
    now: Moment,
    effort: Effort,
) -> Result<Trail, Lost> {
    let begun = &log.begun.what;
    let base = crate::library::symptom(&begun.symptom).ok_or_else(|| Lost::Symptom {
        symptom: begun.symptom.chars().take(60).collect(),
        known: crate::library::symptoms()
            .iter()
            .map(|model| model.key.clone())
            .collect::<Vec<_>>()
            .join(", "),
    })?;
    // A closed trail is weighed as on the day it was closed.
    let now = log.closed.as_ref().map_or(now, |closed| closed.seen.min(now));
    let bench = Bench::of(register, log, now, &[])?;
    let mut model = fitted::fit(&base, bench.gear());
    register_minutes(&mut model, &bench);
    // What this trail came to, and what came after it, taught nothing when it began.
    let counts = Counts::before(register, &model.key, log.begun.clock);
    let strength = learn::strength(register);
    learn::teach(&mut model, &counts, strength);

    let in_play: Vec<Rule> = Rule::ALL
        .into_iter()
        .filter(|rule| model.causes.iter().any(|cause| cause.rule == Some(*rule)))
        .collect();
    let mut search = Search::new(&model, &bench, begun, now);
    let first = search.register_says(log, &in_play);
    for mark in &log.events {
        search.event(mark);
    }
    let Search {
        mut seen, mut done, open, owed, changes, held, failed, helped, aside, spent, history, ..
    } = search;

    let at_start = Belief::of(&model, &seen[..first]);
    let certain = if log.closed.is_some() {
        Vec::new()
    } else {
        ahead::certain(&bench, &model, fleet, &in_play, &aside, now)
    };
    known_to_fail(&model, &certain, (&mut seen, &mut done));
    let searched = Belief::of(&model, &seen);
    let helping = helped.as_ref().map(|(_, _, at)| *at);
    let helped = helped.map(|(step, what, _)| ahead::helped_by(&model, &searched, step, what));
    // When something helped, what it may have been is what that cures.
    let belief = helped.as_ref().map_or_else(|| searched.clone(), |helped| helped.belief(&model));
    let history = history
        .into_iter()
        .enumerate()
        .map(|(at, (mut done, from, to))| {
            done.before = likeliest(&model, &Belief::of(&model, &seen[..from]), SHOWN);
            done.after = match &helped {
                Some(helped) if helping == Some(at) => helped.causes.iter().take(SHOWN).cloned().collect(),
                _ => likeliest(&model, &Belief::of(&model, &seen[..to]), SHOWN),
            };
            done
        })
        .collect();
    let proofs =
        model.proofs.iter().zip(held.into_iter().zip(failed)).map(|(proof, (held, failed))| ProofState {
            key: proof.key.clone(),
            text: proof.text.clone(),
            minutes: proof.minutes,
            // A proof is tried on the aircraft's own supply, so none of its own is asked for.
            cautions: proof
                .energises
                .iter()
                .filter(|one| **one != Energised::Receiver)
                .map(|one| one.caution().to_owned())
                .collect(),
            held,
            failed,
        });
    let mut trail = Trail {
        id: log.id(),
        begun: log.begun.seen,
        whose: begun.whose.clone(),
        link: bench.link.clone(),
        guests: bench.guests,
        at_start,
        situation: Situation { belief: searched, done, open },
        owed,
        certain,
        history,
        changes: changes.0,
        proofs: proofs.collect(),
        helped,
        spent,
        expected: None,
        method: None,
        next: Next::Closed,
        remark: None,
        closed: log.closed.as_ref().map(|mark| mark.what.clone()),
        counts,
        strength,
        belief,
        model,
    };
    ahead::decide(&mut trail, &bench, &seen, effort);
    trail.remark = ahead::remark(&trail, &seen);
    Ok(trail)
}
