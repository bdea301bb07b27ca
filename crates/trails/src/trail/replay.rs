//! From the entries of a trail to where it stands.

use register::check;
use register::fleet::Fleet;
use register::register::Register;
use register::rule::{Rule, Status};
use register::time::Moment;
use register::trail::{Begun, Event, Helped, Mark, TrailLog};
use units::Minutes;

use super::bench::Bench;
use super::changes::{Changes, Settled};
use super::{Done, Lost, Next, ProofState, SHOWN, Trail, ahead, helped_label, likeliest};
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

/// The usual mend of a rule, for its minutes once it is lifted.
fn usual_mend(rule: Rule) -> &'static str {
    match rule {
        Rule::Family | Rule::Band => "mend.swap_receiver",
        Rule::Region | Rule::Version => "mend.flash",
        Rule::Secret => "mend.set_secret",
        Rule::Pairing => "mend.pair",
        Rule::ModelId => "mend.set_model_id",
    }
}

/// The search while its entries are read.
struct Search<'a> {
    model: &'a Model,
    bench: &'a Bench<'a>,
    register: &'a Register,
    seen: Vec<Seen>,
    /// Rules whose evidence belongs to an event of this trail.
    fresh: Vec<Rule>,
    done: Vec<bool>,
    open: Vec<bool>,
    changes: Changes,
    held: Vec<bool>,
    helped: Option<(String, String)>,
    aside: Vec<Rule>,
    spent: Minutes,
    history: Vec<(Done, usize, usize)>,
    now: Moment,
}

impl<'a> Search<'a> {
    fn new(
        model: &'a Model,
        bench: &'a Bench<'a>,
        register: &'a Register,
        begun: &Begun,
        now: Moment,
    ) -> Search<'a> {
        Search {
            model,
            bench,
            register,
            seen: Vec::new(),
            fresh: Vec::new(),
            done: vec![false; model.steps.len()],
            open: model.covers.iter().map(|cover| begun.open.contains(&cover.key)).collect(),
            changes: Changes::default(),
            held: vec![false; model.proofs.len()],
            helped: None,
            aside: Vec::new(),
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

    fn spend(&mut self, step: StepAt) -> Minutes {
        let minutes = self.model.minutes_of(step, &self.open);
        for cover in self.model.covers_for(step) {
            self.open[cover] = true;
        }
        self.done[step] = true;
        minutes
    }

    fn unheld(&mut self) {
        self.held.fill(false);
    }

    fn event(&mut self, mark: &Mark<Event>) {
        let from = self.seen.len();
        let (what, came, minutes) = self.read(&mark.what);
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
            Event::Tried { step, helped, .. } => self.tried(step, *helped),
            Event::Opened { cover } => {
                let Some(at) = self.model.cover(cover) else { return gone(cover) };
                let minutes = if self.open[at] { Minutes::ZERO } else { self.model.covers[at].open };
                self.open[at] = true;
                (format!("Opened or fetched: {}.", self.model.covers[at].label), String::new(), minutes)
            }
            Event::Elsewise { text, minutes, changed } => {
                if !changed.is_empty() {
                    self.changes.elsewise(changed);
                }
                (text.clone(), "done outside the trail".to_owned(), *minutes)
            }
            Event::PutBack { change } => {
                // What was proven before is to be proven again.
                self.unheld();
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
        let Some(place) = check.answers.iter().position(|one| one.key == answer) else {
            return (step.label.clone(), "can't tell".to_owned(), minutes);
        };
        self.changes.done(step);
        if !settled {
            self.seen.push(Seen::Answer { step: at, answer: place });
        }
        (step.label.clone(), check.answers[place].label.clone(), minutes)
    }

    fn tried(&mut self, key: &str, helped: Helped) -> (String, String, Minutes) {
        let came = helped_label(helped).to_owned();
        if let Some(rule) = rule_of(key) {
            self.settle(rule);
            let what = format!("Lifted what fails: {}", rule.label());
            match helped {
                Helped::Yes => self.works(key, &what),
                Helped::No | Helped::CantTell => self.aside.push(rule),
            }
            let key = usual_mend(rule);
            let minutes = self.register.minutes().lookup(key, self.bench.family());
            return (what, came, if helped == Helped::CantTell { Minutes::ZERO } else { minutes });
        }
        if key == ELSEWISE {
            let what = "What was done outside the trail".to_owned();
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
            Helped::No => self.seen.push(Seen::Failed { step: at }),
            Helped::CantTell => {}
        }
        (step.label.clone(), came, minutes)
    }

    fn works(&mut self, key: &str, what: &str) {
        self.helped = Some((key.to_owned(), what.to_owned()));
        self.unheld();
    }

    fn proved(&mut self, key: &str, held: bool) -> (String, String, Minutes) {
        let Some(at) = self.model.proofs.iter().position(|proof| proof.key == key) else { return gone(key) };
        let text = self.model.proofs[at].text.clone();
        if held {
            self.held[at] = true;
            return (text, "it held".to_owned(), Minutes::ZERO);
        }
        self.unheld();
        if let Some((key, _)) = self.helped.take()
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
                self.seen.push(Seen::Failed { step });
            }
        }
        (text, "it didn't hold".to_owned(), Minutes::ZERO)
    }
}

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
        finding.status == Status::Pass && finding.known_since.is_some_and(|since| since >= begun)
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
    let bench = Bench::of(register, log, now, &[])?;
    let mut model = fitted::fit(&base, bench.gear());
    register_minutes(&mut model, &bench);
    let (counts, strength) = (Counts::of(register, &model.key), learn::strength(register));
    learn::teach(&mut model, &counts, strength);

    let in_play: Vec<Rule> = Rule::ALL
        .into_iter()
        .filter(|rule| model.causes.iter().any(|cause| cause.rule == Some(*rule)))
        .collect();
    let mut search = Search::new(&model, &bench, register, begun, now);
    let first = search.register_says(log, &in_play);
    for mark in &log.events {
        search.event(mark);
    }
    let Search { seen, done, open, changes, held, helped, aside, spent, history, .. } = search;

    let at_start = Belief::of(&model, &seen[..first]);
    let belief = Belief::of(&model, &seen);
    let history = history
        .into_iter()
        .map(|(mut done, from, to)| {
            done.before = likeliest(&model, &Belief::of(&model, &seen[..from]), SHOWN);
            done.after = likeliest(&model, &Belief::of(&model, &seen[..to]), SHOWN);
            done
        })
        .collect();
    let certain = ahead::certain(&bench, fleet, &in_play, &aside, now);
    let proofs = model.proofs.iter().zip(held).map(|(proof, held)| ProofState {
        key: proof.key.clone(),
        text: proof.text.clone(),
        cautions: proof.energises.iter().map(|one| one.caution().to_owned()).collect(),
        held,
    });
    let helped = helped.map(|(step, what)| ahead::helped_by(&model, &belief, step, what));
    let mut trail = Trail {
        id: log.id(),
        begun: log.begun.seen,
        whose: begun.whose.clone(),
        link: bench.link.clone(),
        guests: bench.guests,
        at_start,
        situation: Situation { belief: belief.clone(), done, open },
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
    trail.remark = ahead::remark(&trail);
    ahead::decide(&mut trail, &bench, &seen, effort);
    Ok(trail)
}
