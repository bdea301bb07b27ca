//! One search for a fault on real gear, replayed from the logbook.
//!
//! A trail keeps nothing but its entries: [`follow`] works out from them, from the register
//! and from the library where the search stands, and what comes next.

mod act;
mod ahead;
mod asked;
mod bench;
mod changes;
mod closing;
mod replay;

use register::field::Field;
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::mend::Mend as RegisterMend;
use register::register::Register;
use register::rule::Rule;
use register::scene::Scene;
use register::time::Moment;
use register::trail::{Closed, Helped, Outcome, TrailLog};
use register::verdict::Link;
use units::Minutes;

use crate::belief::Belief;
use crate::learn::Counts;
use crate::model::{CauseAt, Model, StepAt};
use crate::planner::{Candidate, Effort, Method};
use crate::table::Situation;

pub use act::{Act, Deed, MOST_MINUTES, MOST_WORDS, Refused, act, place};
pub use bench::guest;
pub use changes::{Change, Settled};
pub use closing::close;

/// Where a search stands, and what comes next.
#[derive(Clone, Debug)]
pub struct Trail {
    /// Its id: the entry that began it.
    pub id: EntryId,
    /// When it began.
    pub begun: Moment,
    /// Whose gear it is, in words; empty where that wasn't said.
    pub whose: String,
    /// The fault model, fitted to the gear and taught by this workshop's cases.
    pub model: Model,
    /// The transmitter and the receiver, and what holds between them.
    pub link: Link,
    /// Which of the two is a guest's, in no register.
    pub guests: Guests,
    /// What is likely now.
    pub belief: Belief,
    /// The weights before anything was seen on this trail (the register's evidence is in).
    pub at_start: Belief,
    /// Steps done and covers open.
    pub situation: Situation,
    /// Covers whose closing is not yet in the minutes spent.
    pub owed: Vec<bool>,
    /// Rules that fail: each a certain fault, with its mends.
    pub certain: Vec<Certain>,
    /// What was done so far, oldest first.
    pub history: Vec<Done>,
    /// What the trail changed.
    pub changes: Vec<Change>,
    /// The proofs, and whether each holds.
    pub proofs: Vec<ProofState>,
    /// What seems to have helped; the search is over when it is proven.
    pub helped: Option<HelpedBy>,
    /// Minutes spent so far.
    pub spent: Minutes,
    /// The minutes still to be expected, up to a proven link or giving up, proofs included; none where
    /// nothing is left to search.
    pub expected: Option<Minutes>,
    /// Whether those minutes are the least possible, or a look-ahead's.
    pub method: Option<Method>,
    /// What comes next.
    pub next: Next,
    /// Something to be told: the list doesn't hold the cause, two faults at once.
    pub remark: Option<Remark>,
    /// How it ended.
    pub closed: Option<Closed>,
    /// The workshop's cases of this symptom.
    pub counts: Counts,
    /// How many cases the library's weights count for.
    pub strength: f64,
}

/// Which sides are a guest's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Guests {
    /// The device that stands for the guest's transmitter.
    pub transmitter: Option<DeviceId>,
    /// The device that stands for the guest's receiver.
    pub receiver: Option<DeviceId>,
}

/// A certain fault: a rule of the register that fails.
#[derive(Clone, Debug, PartialEq)]
pub struct Certain {
    /// The rule.
    pub rule: Rule,
    /// The reason, with both values.
    pub reason: String,
    /// The mends that lift it, the quickest first.
    pub mends: Vec<RegisterMend>,
    /// Whether its mends were tried in vain or can't be done: the search then goes on
    /// without it.
    pub set_aside: bool,
}

/// One thing that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// Its entry; *go back* strikes it.
    pub entry: EntryId,
    /// When.
    pub seen: Moment,
    /// What was asked or done.
    pub what: String,
    /// What came of it.
    pub came: String,
    /// How long it took.
    pub minutes: Minutes,
    /// The likeliest causes before it.
    pub before: Vec<Weight>,
    /// The likeliest causes after it.
    pub after: Vec<Weight>,
}

/// A cause with its weight.
#[derive(Clone, Debug, PartialEq)]
pub struct Weight {
    /// Its key; `unlisted` for something not in this list.
    pub key: String,
    /// What is wrong.
    pub label: String,
    /// How likely, 0 to 1.
    pub weight: f64,
}

/// A proof and whether it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct ProofState {
    /// Its key.
    pub key: String,
    /// What to do and see.
    pub text: String,
    /// How long it takes.
    pub minutes: Minutes,
    /// The cautions that go with it.
    pub cautions: Vec<String>,
    /// Whether it has held since the last change.
    pub held: bool,
    /// Whether it was tried last and did not hold.
    pub failed: bool,
}

/// What seems to have helped.
#[derive(Clone, Debug, PartialEq)]
pub struct HelpedBy {
    /// The step's key.
    pub step: String,
    /// What was done.
    pub what: String,
    /// The causes it cures, the likeliest first: the fault to be named at the end.
    pub causes: Vec<Weight>,
    /// How likely the fault is only hidden (it comes and goes).
    pub hidden: f64,
    /// How the trial is to be watched, empty for an ordinary one.
    pub watch: String,
}

impl HelpedBy {
    /// What is likely now that this helped.
    fn belief(&self, model: &Model) -> Belief {
        let of = |key: &str| self.causes.iter().find(|one| one.key == key).map_or(0.0, |one| one.weight);
        let causes = model.causes.iter().map(|cause| of(&cause.key));
        let singles = causes.chain([of(crate::learn::UNLISTED)]).collect();
        Belief { singles, pairs: Vec::new(), contradiction: false }
    }
}

/// Something to be told.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// The answers can't all be so.
    Contradiction,
    /// What was seen fits nothing in the list well.
    NotListed {
        /// How likely it is something else.
        weight: f64,
    },
    /// It works, although rules of the register fail: what is written down isn't so, or it
    /// won't last.
    StillFails {
        /// Why each fails.
        reasons: Vec<String>,
    },
    /// Two faults at once are likely.
    TwoFaults {
        /// The first.
        one: String,
        /// The second.
        other: String,
        /// How likely it is these two.
        weight: f64,
    },
}

/// What comes next.
#[derive(Clone, Debug, PartialEq)]
pub enum Next {
    /// A rule of the register fails: lift it.
    Lift {
        /// Which of [`Trail::certain`].
        certain: usize,
    },
    /// A check or a mend.
    Step(Proposal),
    /// Nothing more is worth its minutes.
    GiveUp {
        /// What that means here.
        text: String,
        /// What it costs.
        minutes: Minutes,
    },
    /// Nothing is left to do, and the model knows no giving up.
    Stuck,
    /// It seems to work: put this back.
    Restore {
        /// Which of [`Trail::changes`].
        change: usize,
    },
    /// Prove it.
    Prove {
        /// Which of [`Trail::proofs`].
        proof: usize,
    },
    /// Everything is proven and put back: name the fault and close.
    Close,
    /// It is closed.
    Closed,
}

/// A step worth doing next.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Which step.
    pub step: StepAt,
    /// Minutes, covers and closing them included.
    pub minutes: Minutes,
    /// What must be opened or fetched first, in words with its minutes.
    pub covers: Vec<(String, Minutes)>,
    /// What may come of it.
    pub outcomes: Vec<Foreseen>,
    /// The facts that may be typed with the answer.
    pub facts: Vec<FactAsked>,
    /// The next best, with what they are expected to cost in all.
    pub others: Vec<Candidate>,
}

/// What may come of a step.
#[derive(Clone, Debug, PartialEq)]
pub struct Foreseen {
    /// The answer's key (`helped`, `no-help` for a mend).
    pub key: String,
    /// Its words.
    pub label: String,
    /// How likely.
    pub chance: f64,
    /// The likeliest causes then.
    pub after: Vec<Weight>,
}

/// A fact that may be typed with an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct FactAsked {
    /// Which side of the link.
    pub side: register::family::Side,
    /// The device.
    pub device: DeviceId,
    /// The part.
    pub part: register::field::Part,
    /// The fact.
    pub field: Field,
    /// What the device is called.
    pub name: String,
    /// What is known of it now.
    pub known: String,
}

/// A trail can't be followed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Lost {
    /// The symptom is in no library.
    #[error("there is no fault model for `{symptom}`; known are {known}")]
    Symptom {
        /// What was asked.
        symptom: String,
        /// What there is.
        known: String,
    },
    /// The transmitter or the receiver is not in the register any more.
    #[error("{0} of this trail is not in the register any more; begin a new trail")]
    Device(&'static str),
}

/// How many weights a list of the likeliest holds.
pub const SHOWN: usize = 6;

/// The remark that two faults are there is made from this weight of a pair on (judgement).
pub const TWO_FAULTS_FROM: f64 = 0.2;

/// The remark that the list doesn't hold the cause is made from this weight on (judgement).
pub const NOT_LISTED_FROM: f64 = 0.5;

/// Works out where a trail stands at `now`.
///
/// # Errors
/// The symptom or a device is not known (any more).
pub fn follow(
    register: &Register,
    fleet: &Fleet,
    log: &TrailLog,
    now: Moment,
    effort: Effort,
) -> Result<Trail, Lost> {
    replay::follow(register, fleet, log, now, effort)
}

/// The register with a trail's guest gear supposed in it, for reading values that are typed.
///
/// # Errors
/// A device is not known (any more).
pub fn scene<'a>(register: &'a Register, log: &TrailLog, now: Moment) -> Result<Scene<'a>, Lost> {
    bench::Bench::of(register, log, now, &[]).map(|bench| bench.scene)
}

/// The likeliest causes, pairs counted under both of their causes, the likeliest first.
pub fn likeliest(model: &Model, belief: &Belief, most: usize) -> Vec<Weight> {
    let mut all: Vec<Weight> = model
        .causes
        .iter()
        .enumerate()
        .map(|(at, cause)| Weight {
            key: cause.key.clone(),
            label: cause.label.clone(),
            weight: belief.of_cause(at),
        })
        .collect();
    all.push(Weight {
        key: crate::learn::UNLISTED.to_owned(),
        label: "Something not in this list".to_owned(),
        weight: belief.unlisted(),
    });
    // A stable sort of rounded weights: ties stay in the model's order everywhere.
    all.sort_by_key(|one| std::cmp::Reverse(rounded(one.weight)));
    all.truncate(most);
    all
}

#[expect(clippy::cast_possible_truncation, reason = "a weight lies in 0..=1")]
fn rounded(weight: f64) -> i64 {
    (weight * 1e9).round() as i64
}

impl Trail {
    /// The likeliest causes now, those that are ruled out left away.
    pub fn likeliest(&self) -> Vec<Weight> {
        let mut list = likeliest(&self.model, &self.belief, SHOWN);
        list.retain(|one| one.weight > 0.0);
        list
    }

    /// Whether the search for the fault is still on.
    pub fn searching(&self) -> bool {
        self.closed.is_none() && self.helped.is_none()
    }

    /// The cause that a closing names where nobody says otherwise: the likeliest that what
    /// helped cures, where one is likelier than all others together; empty for not known.
    pub fn presumed(&self) -> String {
        let first = self.helped.as_ref().and_then(|helped| helped.causes.first());
        first.filter(|cause| cause.weight > 0.5).map(|cause| cause.key.clone()).unwrap_or_default()
    }

    /// What comes before any search: what fails for certain, each with its reason and its
    /// quickest mend. A card of this trail begins with it.
    pub fn first(&self) -> Vec<String> {
        let one = |certain: &Certain| {
            let mend = certain
                .mends
                .first()
                .map(|mend| format!(" {} ({}).", mend.action.trim_end_matches('.'), mend.minutes));
            format!("{}{}", certain.reason, mend.unwrap_or_default())
        };
        self.certain.iter().filter(|certain| !certain.set_aside).map(one).collect()
    }

    /// The changes that are neither put back nor accepted.
    pub fn open_changes(&self) -> impl Iterator<Item = &Change> {
        self.changes.iter().filter(|change| change.settled == Settled::Open)
    }

    /// The minutes of proofs that are still to be seen.
    pub fn to_prove(&self) -> Minutes {
        self.proofs.iter().filter(|proof| !proof.held).map(|proof| proof.minutes).sum()
    }

    /// The minutes of closing covers that were opened without a step.
    pub fn to_close(&self) -> Minutes {
        let owed = self.model.covers.iter().zip(&self.owed);
        owed.filter(|(_, owed)| **owed).map(|(cover, _)| cover.close).sum()
    }

    /// A cause's label by its key.
    pub fn cause_label(&self, key: &str) -> String {
        match self.model.cause(key) {
            Some(at) => self.model.causes[at].label.clone(),
            None if key == crate::learn::UNLISTED => "Something not in this list".to_owned(),
            None => key.replace('_', " "),
        }
    }
}

/// What a mend may have cured, given that it seems to have helped.
pub(crate) fn cured_by(model: &Model, belief: &Belief, step: String) -> Vec<Weight> {
    ahead::helped_by(model, belief, step, String::new()).causes
}

/// The outcomes a person may report of a mend.
pub fn helped_label(helped: Helped) -> &'static str {
    match helped {
        Helped::Yes => "It works now",
        Helped::No => "Still broken",
        Helped::CantTell => "Couldn't do it, or can't tell",
    }
}

/// An outcome in words.
pub fn outcome_label(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Proven => "the link is proven",
        Outcome::GaveUp => "given up",
        Outcome::Left => "left as it is",
    }
}

/// The cause that is closed with, as a place; `None` for unlisted or unknown.
pub fn cause_at(model: &Model, key: &str) -> Option<CauseAt> {
    model.cause(key)
}
