//! What is asked of a plan: wishes, evenings that are left, and what was done already.

use std::collections::{BTreeMap, BTreeSet};

use register::id::DeviceId;
use register::refit::{Event, Kept, RefitLog, Wish};
use register::register::Register;
use units::Minutes;

/// How long an evening is when nobody says. Judgement, no source.
pub const EVENING: Minutes = Minutes(120.0);

/// The most evenings that a plan looks ahead.
pub const MOST_EVENINGS: usize = 120;

/// What was done already, by the ticks of a refit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Done {
    /// By step without its number (`flash:…`): how often it was ticked, and when last (the
    /// place among all ticks, from 1).
    steps: BTreeMap<String, (u32, u64)>,
    ticks: u64,
}

impl Done {
    /// Counts a tick.
    pub fn tick(&mut self, key: &str) {
        self.ticks += 1;
        let base = key.rsplit_once('#').map_or(key, |(base, _)| base);
        let at = self.steps.entry(base.to_owned()).or_insert((0, 0));
        let number = key.rsplit_once('#').and_then(|(_, number)| number.parse().ok()).unwrap_or(1);
        // Two people who tick the same step did it once: when the first of them did.
        if number > at.0 {
            *at = (number, self.ticks);
        }
    }

    /// How often a step was done.
    pub fn times(&self, base: &str) -> u32 {
        self.steps.get(base).map_or(0, |(times, _)| *times)
    }

    /// When a step was last done, as its place among all ticks.
    pub fn last(&self, base: &str) -> Option<u64> {
        self.steps.get(base).map(|(_, at)| *at)
    }

    /// The steps that begin with these words, each with when it was last done.
    pub fn beginning(&self, words: &str) -> impl Iterator<Item = (&str, u64)> {
        let words = words.to_owned();
        self.steps
            .range(words.clone()..)
            .take_while(move |(base, _)| base.starts_with(&words))
            .map(|(base, (_, at))| (base.as_str(), *at))
    }

    /// The devices that steps of a kind (`flash`) were done on.
    pub fn devices(&self, kind: &str) -> BTreeSet<DeviceId> {
        let words = format!("{kind}:");
        self.beginning(&words)
            .filter_map(|(base, _)| base[words.len()..].split(['/', ':']).next()?.parse().ok())
            .collect()
    }

    /// Whether nothing was done yet.
    pub fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }
}

/// An evening that has begun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tonight {
    /// The minutes that are left of it.
    pub left: Minutes,
}

/// A question to the planner.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What is wished.
    pub wishes: Vec<Wish>,
    /// The links that were to hold when the refit began; `None` for one that has yet to begin:
    /// those that hold now.
    pub links: Option<Vec<Kept>>,
    /// The first evening that may still be used, from 1.
    pub from: u32,
    /// Set when that evening has begun: the bench is out already.
    pub tonight: Option<Tonight>,
    /// Evenings in which something was done: their bench is out already.
    pub begun: BTreeSet<u32>,
    /// The transmitters, aircraft and receivers that its plan works on.
    pub planned: BTreeSet<DeviceId>,
    /// What is not worked on before an evening (from 1).
    pub put_off: BTreeMap<DeviceId, u32>,
    /// What was done already.
    pub done: Done,
}

impl Question {
    /// A refit that has yet to begin.
    pub fn new(wishes: Vec<Wish>) -> Question {
        Question {
            wishes,
            links: None,
            from: 1,
            tonight: None,
            begun: BTreeSet::new(),
            planned: BTreeSet::new(),
            put_off: BTreeMap::new(),
            done: Done::default(),
        }
    }

    /// The rest of a refit, from where its log stands. `from` and `tonight` are the caller's to
    /// set. Devices that were joined since stand under one id.
    pub fn rest(log: &RefitLog, register: &Register) -> Question {
        let mut question = Question::new(log.wishes().to_vec());
        question.links = Some(log.begun.what.links.clone());
        let placed = log.begun.what.placed.iter().chain(log.placed());
        question.planned = placed.map(|one| register.canonical(one.what)).collect();
        let joined: Vec<(String, String)> =
            register.joined().map(|(id, under)| (id.to_string(), under.to_string())).collect();
        let under = |step: &str| {
            joined.iter().fold(step.to_owned(), |step, (id, under)| step.replace(id.as_str(), under))
        };
        for mark in &log.events {
            match &mark.what {
                Event::Ticked { step, evening, .. } => {
                    question.done.tick(&under(step));
                    question.begun.insert(*evening);
                }
                Event::Deferred { what, until } => {
                    let most = u32::try_from(MOST_EVENINGS).unwrap_or(u32::MAX);
                    question.put_off.insert(register.canonical(*what), (*until).min(most));
                }
                Event::Planned { .. } | Event::Ended { .. } => {}
            }
        }
        question
    }

    /// Whether the bench is out already in an evening (from 1).
    pub fn has_begun(&self, evening: u32) -> bool {
        self.begun.contains(&evening) || (self.tonight.is_some() && evening == self.from.max(1))
    }

    /// The minutes of each evening, by the wishes; `None` when they say nothing.
    pub fn evenings(&self) -> Option<&[Minutes]> {
        self.wishes.iter().rev().find_map(|wish| match wish {
            Wish::Evenings { minutes } => Some(minutes.as_slice()),
            _ => None,
        })
    }
}
