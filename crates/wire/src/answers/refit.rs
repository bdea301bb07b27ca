//! A refit: what is planned, where it stands, and why wishes clash.
//!
//! Minutes are to the hundredth. A link secret is nowhere in it: a wish for one says only that
//! there is one.

pub mod plan;
pub mod releases;

use refits::follow::{self, Standing as Stands};
use refits::planner::Clash as Clashes;
use register::id::DeviceId;
use register::refit::{Ending, RefitLog, Wish};
use register::register::Register;
use register::scene::Scene;
use serde::Serialize;

use super::device::device_words;
use plan::Plan;

/// A device by its name; nothing for the workshop itself, or what is yet to be bought.
fn name(scene: &Scene, id: DeviceId) -> Option<String> {
    scene.device(id).map(|_| device_words(scene, id))
}

/// A refit in a list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Brief {
    /// Its id.
    pub id: String,
    /// The end of its id, by which it may be named.
    pub short: String,
    /// What it is called.
    pub name: String,
    /// When it began.
    pub begun: Option<String>,
    /// How it ended: `done` or `abandoned`; `null` for one that is open.
    pub ended: Option<&'static str>,
    /// Where it stands, in a sentence.
    pub sentence: String,
    /// How many steps are done.
    pub done: usize,
    /// How many are left; `null` where that can't be said.
    pub left: Option<usize>,
}

impl Brief {
    /// A refit in a list; `short` is the end of its id by which it may be named.
    pub fn new(standing: &Stands, short: &str) -> Brief {
        Brief {
            id: standing.id.to_string(),
            short: short.to_owned(),
            name: standing.name.clone(),
            begun: super::moment(standing.begun),
            ended: standing.ended.map(Ending::word),
            sentence: standing.sentence(),
            done: standing.done.len(),
            left: standing.plan.as_ref().map(|_| standing.lines().count()),
        }
    }
}

/// A step that was done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Done {
    /// Its key.
    pub key: String,
    /// Its short code.
    pub code: String,
    /// What it said.
    pub text: String,
    /// The evening that it stood in, from 1.
    pub evening: u32,
    /// When.
    pub seen: Option<String>,
    /// Its entry.
    pub entry: String,
}

/// What was put off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PutOff {
    /// The transmitter, aircraft or receiver.
    pub what: String,
    /// The first evening on which it may be worked on, from 1.
    pub until: u32,
}

/// Where a refit stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// Its id.
    pub id: String,
    /// The end of its id, by which it may be named.
    pub short: String,
    /// What it is called.
    pub name: String,
    /// When it began.
    pub begun: Option<String>,
    /// How it ended: `done` or `abandoned`; `null` while it is open.
    pub ended: Option<&'static str>,
    /// Where it stands, in a sentence.
    pub sentence: String,
    /// Why the rest should be planned anew; empty while the plan still fits.
    pub stale: Vec<String>,
    /// What is wished, in words, by the last word on it.
    pub wishes: Vec<String>,
    /// What was done, in order.
    pub done: Vec<Done>,
    /// What was put off.
    pub put_off: Vec<PutOff>,
    /// What is left, in the evenings that were planned; `null` where it can't be laid out.
    pub plan: Option<Plan>,
}

impl Standing {
    /// Where a refit stands; `short` is the end of its id by which it may be named.
    pub fn new(register: &Register, standing: &Stands, short: &str) -> Standing {
        let scene = Scene::new(register);
        let wishes = register.refit(standing.id).map(RefitLog::wishes).unwrap_or_default();
        let done = standing.done.iter().map(|one| Done {
            key: one.key.clone(),
            code: follow::code(&one.key),
            text: one.text.clone(),
            evening: one.evening,
            seen: super::moment(one.seen),
            entry: one.entry.to_string(),
        });
        let put_off = standing
            .put_off
            .iter()
            .map(|(what, until)| PutOff { what: device_words(&scene, *what), until: *until });
        Standing {
            id: standing.id.to_string(),
            short: short.to_owned(),
            name: standing.name.clone(),
            begun: super::moment(standing.begun),
            ended: standing.ended.map(Ending::word),
            sentence: standing.sentence(),
            stale: standing.stale.clone(),
            wishes: wishes.iter().map(|wish| refits::words::wish(&scene, wish)).collect(),
            done: done.collect(),
            put_off: put_off.collect(),
            plan: standing.plan.as_ref().map(|plan| Plan::rest(&scene, plan)),
        }
    }
}

/// Wishes that can't be met together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Clash {
    /// All of it in a few sentences.
    pub sentence: String,
    /// The wishes by their numbers, from 1, in the order in which they were given; a word that
    /// names several ends counts as one for each.
    pub wishes: Vec<usize>,
    /// The same in words; the last may be that what links now links when all is done.
    pub words: Vec<String>,
    /// Whether it is proven that no smaller set of them clashes.
    pub smallest: bool,
    /// Why they clash.
    pub why: String,
    /// What could be wished instead.
    pub ideas: Vec<Idea>,
}

/// What could be wished instead.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Idea {
    /// In words.
    pub text: String,
    /// The wish to add, as it is typed; `null` for words only.
    pub wish: Option<String>,
}

impl Clash {
    /// A clash as an answer; `word` says how a wish is typed.
    pub fn new(clash: &Clashes, word: &dyn Fn(&Wish) -> Option<String>) -> Clash {
        Clash {
            sentence: clash.sentence(),
            wishes: clash.wishes.iter().map(|at| at + 1).collect(),
            words: clash.words.clone(),
            smallest: clash.smallest,
            why: clash.why.clone(),
            ideas: clash
                .ideas
                .iter()
                .map(|idea| Idea { text: idea.text.clone(), wish: idea.wish.as_ref().and_then(word) })
                .collect(),
        }
    }
}

/// What comes of a question for a plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Planned {
    /// The plan; `null` where there is none.
    pub plan: Option<Plan>,
    /// Why there is none; `null` where there is one.
    pub clash: Option<Clash>,
    /// Whether the search was stopped by hand; the plan is then the best that was found.
    pub stopped: bool,
    /// The refit that began with it, or that goes on by it; `null` where nothing was written
    /// down.
    pub refit: Option<Standing>,
}
