//! A refit under way: what was done, what is left, and whether the plan still fits.

use std::collections::BTreeMap;

use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::refit::{Ending, Event, RefitLog};
use register::register::Register;
use register::rule::Verdict;
use register::time::Moment;
use register::verdict;
use units::Minutes;

use crate::ask::{MOST_EVENINGS, Question};
use crate::bench::{self, Routes};
use crate::layout::{Line, Night};
use crate::planner::{self, Plan};
use crate::problem::{Assignment, Broken, Place};
use crate::tables::{self, Options, Tables};
use crate::world::{Group, Mask, Trouble, World};

/// A step that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Ticked {
    /// The step's key.
    pub key: String,
    /// What it said.
    pub text: String,
    /// The evening that it stood in, from 1.
    pub evening: u32,
    /// When.
    pub seen: Moment,
    /// Its entry.
    pub entry: EntryId,
}

/// Where a refit stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The refit: the entry that began it.
    pub id: EntryId,
    /// What it is called.
    pub name: String,
    /// When it began.
    pub begun: Moment,
    /// How it ended.
    pub ended: Option<Ending>,
    /// What was done, in order.
    pub done: Vec<Ticked>,
    /// What is left, in the evenings that were planned; `None` when it can't be laid out.
    pub plan: Option<Plan>,
    /// What was put off, with the evening.
    pub put_off: Vec<(DeviceId, u32)>,
    /// Why the rest should be planned anew; empty when the plan still fits.
    pub stale: Vec<String>,
    /// Aircraft that could fly when it began and link with nothing now, where it was given up.
    pub stranded: Vec<String>,
}

impl Standing {
    /// Whether nothing is left to do.
    pub fn finished(&self) -> bool {
        self.plan.as_ref().is_some_and(Plan::is_empty)
    }

    /// The lines that are left, each with its evening's number.
    pub fn lines(&self) -> impl Iterator<Item = (u32, &Line)> {
        let nights = self.plan.iter().flat_map(|plan| &plan.nights);
        nights.flat_map(|night| night.lines.iter().map(|line| (night.number, line)))
    }

    /// The evenings with anything done or left, in order: number, what was done, what is left.
    pub fn evenings(&self) -> Vec<(u32, Vec<&Ticked>, Option<&Night>)> {
        let mut all: BTreeMap<u32, (Vec<&Ticked>, Option<&Night>)> = BTreeMap::new();
        for ticked in &self.done {
            all.entry(ticked.evening).or_default().0.push(ticked);
        }
        for night in self.plan.iter().flat_map(|plan| &plan.nights).filter(|night| !night.lines.is_empty()) {
            all.entry(night.number).or_default().1 = Some(night);
        }
        all.into_iter().map(|(number, (done, left))| (number, done, left)).collect()
    }

    /// The answer in a sentence.
    pub fn sentence(&self) -> String {
        match self.ended {
            Some(Ending::Done) => return format!("{} is done.", self.name),
            Some(Ending::Abandoned) => {
                let stranded = if self.stranded.is_empty() {
                    String::new()
                } else {
                    format!(
                        " Nothing that flew them before links now with {}: plan a refit in which everything pairs.",
                        self.stranded.join(", ")
                    )
                };
                return format!("{} was given up; what was done stays done.{stranded}", self.name);
            }
            None => {}
        }
        let steps = self.lines().count();
        if self.finished() {
            return format!("All steps of {} are done.", self.name);
        }
        let Some(plan) = &self.plan else {
            return format!("{} can't go on as planned: plan the rest anew.", self.name);
        };
        let next = plan.nights.iter().find(|night| !night.lines.is_empty());
        let next =
            next.map_or(String::new(), |night| format!("; evening {} has {}", night.number, night.minutes));
        let left = if steps == 1 { "one step".to_owned() } else { format!("{steps} steps") };
        format!("{} of {} are done, {left} left{next}.", self.done.len(), self.done.len() + steps)
    }
}

/// No vowels, so that no words come out; none that look like digits.
const LETTERS: &[u8; 20] = b"bcdfghjkmnpqrstvwxyz";

/// The short code of a step: the same for the same key, so that a printed list stays true.
pub fn code(key: &str) -> String {
    // FNV-1a, 64 bits (Fowler, Noll, Vo; draft-eastlake-fnv).
    let hash = key.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    let mut rest = hash;
    let mut code = String::new();
    for _ in 0..5 {
        let letter = usize::try_from(rest % 20).unwrap_or(0);
        code.push(char::from(LETTERS[letter]));
        rest /= 20;
    }
    code
}

/// Why no step is meant by a word, or not just one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoStep {
    /// There is no such step.
    #[error("no step that is left has the code {0}")]
    Nothing(String),
    /// It was done already.
    #[error("the step {0} was ticked already")]
    Done(String),
    /// Several have this code.
    #[error("the code {0} is that of several steps; name one by its whole key: {1}")]
    Several(String, String),
}

impl Standing {
    /// The steps that a word means: a code, or a whole key.
    ///
    /// # Errors
    /// There is none, it was done already, or it isn't clear which.
    pub fn step(&self, word: &str) -> Result<(u32, &Line), NoStep> {
        let word = word.trim();
        let found: Vec<(u32, &Line)> = self
            .lines()
            .filter(|(_, line)| line.step.key == word || code(&line.step.key).eq_ignore_ascii_case(word))
            .collect();
        match found.as_slice() {
            [one] => Ok(*one),
            [] => {
                let done =
                    self.done.iter().any(|one| one.key == word || code(&one.key).eq_ignore_ascii_case(word));
                let word: String = word.chars().take(60).collect();
                Err(if done { NoStep::Done(word) } else { NoStep::Nothing(word) })
            }
            many => {
                let keys: Vec<&str> = many.iter().map(|(_, line)| line.step.key.as_str()).collect();
                Err(NoStep::Several(word.chars().take(60).collect(), keys.join(", ")))
            }
        }
    }
}

/// The question that the rest of a refit puts, for a new plan from an evening on. Without one it
/// is the evening after the last in which anything was done.
pub fn question(register: &Register, log: &RefitLog, from: Option<u32>, left: Option<Minutes>) -> Question {
    let mut question = Question::rest(log, register);
    let last = question.begun.last().copied();
    question.from = from.unwrap_or(match (last, left) {
        (Some(last), Some(_)) => last,
        (Some(last), None) => last.saturating_add(1),
        (None, _) => 1,
    });
    question.tonight = left.map(|left| crate::ask::Tonight { left });
    question
}

/// Where a refit stands.
pub fn standing(register: &Register, fleet: &Fleet, log: &RefitLog, now: Moment) -> Standing {
    let question = Question::rest(log, register);
    let done = log
        .events
        .iter()
        .filter_map(|mark| match &mark.what {
            Event::Ticked { step, text, evening } => Some(Ticked {
                key: step.clone(),
                text: text.clone(),
                evening: *evening,
                seen: mark.seen,
                entry: mark.entry,
            }),
            _ => None,
        })
        .collect();
    let mut standing = Standing {
        id: log.id(),
        name: log.begun.what.name.clone(),
        begun: log.begun.seen,
        ended: log.ended().map(|(how, _)| how),
        done,
        plan: None,
        put_off: question.put_off.iter().map(|(what, until)| (*what, *until)).collect(),
        stale: Vec::new(),
        stranded: Vec::new(),
    };
    // Two people may have ticked the same step; it was done once.
    let mut seen = std::collections::BTreeSet::new();
    standing.done.retain(|one| seen.insert(one.key.clone()));
    if standing.ended.is_some() {
        standing.stranded = stranded(register, fleet, log);
        return standing;
    }
    let mask = Mask::all(&question);
    match World::build(register, fleet, &question, &mask, &[], now) {
        Ok(mut world) => {
            // Only what was planned is shown and ticked; anything else asks for a new plan.
            match world.keep_to(fleet, log.placed()) {
                Ok(others) => standing.stale.extend(others),
                Err(Trouble::Refused(words) | Trouble::Clash(words)) => {
                    standing.stale.push(words);
                    return standing;
                }
            }
            // Evenings before the first with anything left are past: nothing is asked of them.
            let things = world.pivots.iter().copied().map(|what| evening_of(&world, log, what, None));
            let groups = world.items.iter().filter(|group| group.has_work);
            let groups = groups.map(|group| evening_of(&world, log, group.what, Some(group)));
            let first = things.chain(groups).map(|(evening, _)| evening).min().unwrap_or(1);
            let later = Question { from: first, ..question.clone() };
            lay(&World { question: &later, ..world }, log, &mut standing);
        }
        Err(Trouble::Refused(words) | Trouble::Clash(words)) => standing.stale.push(words),
    }
    standing
}

/// Aircraft of the links that a refit was to keep, of which none holds now.
fn stranded(register: &Register, fleet: &Fleet, log: &RefitLog) -> Vec<String> {
    let mut links: BTreeMap<DeviceId, bool> = BTreeMap::new();
    for kept in &log.begun.what.links {
        let aircraft = register.canonical(kept.aircraft);
        let transmitter = fleet.transmitter(register.canonical(kept.transmitter));
        let mut receivers = fleet.fitted_in(aircraft).peekable();
        let holds = receivers.peek().is_some()
            && transmitter.is_some_and(|transmitter| {
                receivers.all(|receiver| verdict::quick(transmitter, receiver) == Verdict::Links)
            });
        *links.entry(aircraft).or_insert(false) |= holds;
    }
    let gone = links.into_iter().filter(|(_, holds)| !holds).filter_map(|(id, _)| fleet.aircraft(id));
    gone.map(|view| view.card.spoken()).collect()
}

/// The evening for which something is planned, with why the plan doesn't say so.
fn evening_of(world: &World, log: &RefitLog, what: DeviceId, group: Option<&Group>) -> (u32, Option<String>) {
    let (register, placed) = (world.scene.register, log.placed());
    let planned = |what: DeviceId| {
        placed.iter().find(|one| register.canonical(one.what) == what).map(|one| one.evening)
    };
    let until = world.question.put_off.get(&what).copied().unwrap_or(1).max(1);
    let last = placed.iter().map(|one| one.evening).max().unwrap_or(1);
    // What only has to be tried with transmitters that are done is tried in their evening, and a
    // cover is closed in the evening in which it was opened.
    let crafts = group.into_iter().filter(|group| !world.is_changed(group)).flat_map(|group| &group.crafts);
    let tried = crafts.map(|at| &world.crafts[*at]).filter_map(|craft| {
        let id = craft.card.id;
        let done = craft.flown_by.iter().copied().filter(|id| !world.pivots.contains(id));
        let untested =
            done.filter(|transmitter| world.untested(*transmitter, craft)).filter_map(planned).max();
        let is_open = bench::is_open(&world.question.done, id);
        let opening = format!("open:{id}#");
        let opened = log.events.iter().rev().find_map(|mark| match &mark.what {
            Event::Ticked { step, evening, .. } if is_open && step.starts_with(&opening) => Some(*evening),
            _ => None,
        });
        untested.max(opened)
    });
    let tried = tried.max();
    let Some(evening) = planned(what).max(tried) else {
        return (last.max(until), Some(format!("{} isn't in the plan yet.", world.label(what))));
    };
    let stale = (evening < until).then(|| format!("{} is put off to evening {until}.", world.label(what)));
    let most = u32::try_from(MOST_EVENINGS).unwrap_or(u32::MAX);
    (evening.max(until).clamp(1, most), stale)
}

/// Lays out what is left, each thing in the evening that it was planned for.
fn lay(world: &World, log: &RefitLog, standing: &mut Standing) {
    let options = Options::of(world);
    let mut problem = tables::problem(world, &options);
    let placed = log.placed();
    let register = world.scene.register;
    let first = world.question.from.max(1);
    let find = |what: DeviceId, group: Option<&Group>, standing: &mut Standing, routes: &[Routes]| -> Place {
        let (evening, stale) = evening_of(world, log, what, group);
        standing.stale.extend(stale);
        let one = placed.iter().find(|one| register.canonical(one.what) == what);
        let option = one.and_then(|one| {
            routes.iter().position(|routes| {
                one.ends.iter().all(|work| routes.get(&work.end).is_none_or(|route| *route == work.route))
            })
        });
        Place {
            evening: usize::try_from(evening.saturating_sub(first)).unwrap_or(0),
            option: option.unwrap_or(0),
        }
    };
    let pivots: Vec<Place> = world
        .pivots
        .iter()
        .zip(&options.pivots)
        .map(|(what, ways)| find(*what, None, standing, ways))
        .collect();
    let items: Vec<Option<Place>> = world
        .items
        .iter()
        .zip(&options.items)
        .map(|(group, ways)| group.has_work.then(|| find(group.what, Some(group), standing, ways)))
        .collect();
    let answer = Assignment { pivots, items };
    // A plan may have more evenings than are wished for now.
    let last = answer
        .pivots
        .iter()
        .copied()
        .chain(answer.items.iter().flatten().copied())
        .map(|place| place.evening)
        .max()
        .unwrap_or(0);
    let spare = problem.evenings.last().copied();
    while let (true, Some(slot)) = (problem.evenings.len() <= last, spare) {
        problem.evenings.push(slot);
        for pivot in &mut problem.pivots {
            pivot.allowed.push(true);
        }
        for item in &mut problem.items {
            item.allowed.push(true);
        }
    }
    if problem.evenings.is_empty() {
        standing.stale.push("No evening is left.".to_owned());
        return;
    }
    let number = |evening: usize| first.saturating_add(u32::try_from(evening).unwrap_or(u32::MAX));
    let score = match problem.score(&mut Tables { world, options: &options }, &answer) {
        Ok(score) => score,
        Err(broken) => {
            standing.stale.push(match broken {
                Broken::NotAllowed => "Something stands in an evening in which it may not be.".to_owned(),
                Broken::TooLong { evening } => {
                    format!("Evening {} takes longer than there is time.", number(evening))
                }
                Broken::MustFly { item } => {
                    format!("{} can't fly when it must.", world.spoken(world.items[item].what))
                }
                Broken::TooManyGrounded { evening } => {
                    format!("Too many aircraft are grounded after evening {}.", number(evening))
                }
            });
            crate::problem::Score::default()
        }
    };
    standing.stale.dedup();
    // Whether it is the best was proven when it was planned, not now.
    let plan = planner::write(world, &options, &problem, &answer, score, score);
    standing.plan = Some(Plan { proven: false, ..plan });
}
