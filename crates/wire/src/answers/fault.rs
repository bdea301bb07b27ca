//! A fault trail: where the search stands, what comes next, what was done.
//!
//! Minutes of steps are to the hundredth; *expected* minutes, weights and chances are as the
//! planner reckons them.

pub mod card;
pub mod list;
pub mod solution;
pub mod step;

use register::trail::Closed as Ended;
use serde::Serialize;
use trails::learn::UNLISTED;
use trails::model::Model;
use trails::trail::{self as engine, Settled};

use super::link::Way;
use step::{Step, step_of};

/// A fault model by its name.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Named {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
}

impl Named {
    /// The name of a model.
    pub fn new(model: &Model) -> Named {
        Named { key: model.key.clone(), name: model.name.clone() }
    }
}

/// A cause with its weight.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Weight {
    /// Its key; `unlisted` for something not in this list.
    pub key: String,
    /// What is wrong.
    pub label: String,
    /// How likely, 0 to 1.
    pub weight: f64,
}

impl Weight {
    /// A list of them.
    pub fn list(weights: &[engine::Weight]) -> Vec<Weight> {
        let one = |one: &engine::Weight| Weight {
            key: one.key.clone(),
            label: one.label.clone(),
            weight: one.weight,
        };
        weights.iter().map(one).collect()
    }
}

/// Which sides are a guest's, in no register.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Guests {
    /// The transmitter.
    pub transmitter: bool,
    /// The receiver.
    pub receiver: bool,
}

/// One trail.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trail {
    /// Its id.
    pub id: String,
    /// The end of its id, by which it may be named.
    pub short: String,
    /// The symptom.
    pub symptom: Named,
    /// When it began.
    pub begun: Option<String>,
    /// Whose gear it is; `null` where that wasn't said.
    pub whose: Option<String>,
    /// The transmitter.
    pub transmitter: String,
    /// The receiver.
    pub receiver: String,
    /// Which of the two is a guest's.
    pub guests: Guests,
    /// What comes next.
    pub next: Next,
    /// Every cause with its weight now, the likeliest first.
    pub weights: Vec<Weight>,
    /// The same before anything was done on this trail.
    pub at_start: Vec<Weight>,
    /// The minutes still to be expected, up to a proven link or giving up.
    pub expected_minutes: Option<f64>,
    /// Whether those are the fewest possible; `false` for an estimate.
    pub exact: Option<bool>,
    /// How they were found: `order`, `cover-tree`, `dynamic` or `look-ahead`.
    pub method: Option<&'static str>,
    /// The minutes spent so far.
    pub spent_minutes: f64,
    /// The rules that fail: certain faults.
    pub certain: Vec<Certain>,
    /// What was done, oldest first.
    pub history: Vec<Done>,
    /// What was changed.
    pub changes: Vec<Change>,
    /// What must be seen before the link counts as proven.
    pub proofs: Vec<Proof>,
    /// What has to be opened or fetched for some steps.
    pub covers: Vec<Cover>,
    /// What seems to have helped.
    pub helped: Option<Helped>,
    /// Something to be told.
    pub remark: Option<Remark>,
    /// How it ended.
    pub closed: Option<Closed>,
    /// How many cases of this symptom the workshop has counted.
    pub cases: u32,
    /// How many cases the library's own weights count for.
    pub strength: f64,
}

/// What comes next.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Next {
    /// A rule of the register fails: lift it.
    Lift {
        /// The fault.
        certain: Certain,
    },
    /// A check or a mend.
    Step {
        /// Which.
        step: Box<Step>,
    },
    /// Nothing more is worth its minutes.
    GiveUp {
        /// What that means here.
        text: String,
        /// What it costs.
        minutes: f64,
    },
    /// Nothing is left to do.
    Stuck,
    /// It seems to work: put this back.
    Restore {
        /// What was changed.
        change: Change,
    },
    /// Prove it.
    Prove {
        /// What must be seen.
        proof: Proof,
    },
    /// Name the fault and close.
    Close,
    /// It is closed.
    Closed,
}

/// A certain fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Certain {
    /// The rule that fails.
    pub rule: &'static str,
    /// The key by which its mend is answered.
    pub step: String,
    /// The reason, with both values.
    pub reason: String,
    /// The ways to lift it, the quickest first.
    pub ways: Vec<Way>,
    /// Whether that was tried in vain or can't be done.
    pub set_aside: bool,
}

/// One thing that was done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Done {
    /// Its entry's id.
    pub entry: String,
    /// When.
    pub seen: Option<String>,
    /// What was asked or done.
    pub what: String,
    /// What came of it.
    pub came: String,
    /// How long it took.
    pub minutes: f64,
    /// The likeliest causes before it.
    pub before: Vec<Weight>,
    /// The likeliest causes after it.
    pub after: Vec<Weight>,
}

/// Something that was changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// Its key.
    pub key: String,
    /// What is changed.
    pub what: String,
    /// How it is put back.
    pub back: String,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// `open`, `put-back` or `accepted`.
    pub settled: &'static str,
}

/// Something that must be seen before the link counts as proven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Proof {
    /// Its key.
    pub key: String,
    /// What to do and see.
    pub text: String,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// Whether it has held since the last change.
    pub held: bool,
    /// Whether it was tried last and did not hold; neither of both where it wasn't tried.
    pub failed: bool,
}

/// Something that is opened or fetched for some steps, paid once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cover {
    /// Its key.
    pub key: String,
    /// What it is.
    pub label: String,
    /// Whether it is open.
    pub open: bool,
    /// To open it.
    pub open_minutes: f64,
    /// To close it again.
    pub close_minutes: f64,
}

/// What seems to have helped.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Helped {
    /// The step's key.
    pub step: String,
    /// What was done.
    pub what: String,
    /// The causes it cures, the likeliest first.
    pub causes: Vec<Weight>,
    /// How likely the fault only hides.
    pub hidden: f64,
    /// How it is to be watched; empty for an ordinary trial.
    pub watch: String,
}

/// Something to be told.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Remark {
    /// The answers can't all be so.
    Contradiction,
    /// What was seen fits nothing in the list well.
    NotListed {
        /// How likely it is something else.
        weight: f64,
    },
    /// It works, although rules of the register fail.
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

/// How a trail ended.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closed {
    /// The cause's key; `unlisted` for something not in the list, `null` where it wasn't found.
    pub cause: Option<String>,
    /// `proven`, `gave-up` or `left`.
    pub outcome: &'static str,
    /// The minutes it took.
    pub minutes: f64,
}

impl Closed {
    /// How a trail ended.
    pub fn new(closed: &Ended) -> Closed {
        Closed {
            cause: Some(closed.cause.clone()).filter(|cause| !cause.is_empty()),
            outcome: closed.outcome.word(),
            minutes: super::minutes(closed.minutes),
        }
    }
}

/// What a cause is called: in the model, or `Something not in this list`.
pub fn cause_label(model: &Model, key: &str) -> String {
    match model.cause(key) {
        Some(at) => model.causes[at].label.clone(),
        None if key == UNLISTED => "Something not in this list".to_owned(),
        None => key.replace('_', " "),
    }
}

impl Trail {
    /// Where a trail stands; `short` is the end of its id.
    pub fn new(trail: &engine::Trail, short: &str) -> Trail {
        let model = &trail.model;
        let all = |belief| Weight::list(&engine::likeliest(model, belief, model.hypotheses()));
        Trail {
            id: trail.id.to_string(),
            short: short.to_owned(),
            symptom: Named::new(model),
            begun: super::moment(trail.begun),
            whose: Some(trail.whose.clone()).filter(|whose| !whose.is_empty()),
            transmitter: trail.link.transmitter.label(),
            receiver: trail.link.receiver.label(),
            guests: Guests {
                transmitter: trail.guests.transmitter.is_some(),
                receiver: trail.guests.receiver.is_some(),
            },
            next: Next::new(trail),
            weights: all(&trail.belief),
            at_start: all(&trail.at_start),
            expected_minutes: trail.expected.map(|minutes| minutes.0),
            exact: trail.method.map(trails::planner::Method::exact),
            method: trail.method.map(trails::planner::Method::word),
            spent_minutes: super::minutes(trail.spent),
            certain: trail.certain.iter().map(Certain::new).collect(),
            history: trail.history.iter().map(Done::new).collect(),
            changes: trail.changes.iter().map(Change::new).collect(),
            proofs: trail.proofs.iter().map(Proof::new).collect(),
            covers: covers(model, &trail.situation.open),
            helped: trail.helped.as_ref().map(Helped::new),
            remark: trail.remark.as_ref().map(Remark::new),
            closed: trail.closed.as_ref().map(Closed::new),
            cases: trail.counts.total(),
            strength: trail.strength,
        }
    }

    /// The changes that are neither put back nor accepted.
    pub fn open_changes(&self) -> impl Iterator<Item = &Change> {
        self.changes.iter().filter(|change| change.settled == Settled::Open.word())
    }
}

/// The covers of a model, and which of them are open.
fn covers(model: &Model, open: &[bool]) -> Vec<Cover> {
    let one = |(cover, open): (&trails::model::Cover, &bool)| Cover {
        key: cover.key.clone(),
        label: cover.label.clone(),
        open: *open,
        open_minutes: super::minutes(cover.open),
        close_minutes: super::minutes(cover.close),
    };
    model.covers.iter().zip(open).map(one).collect()
}

impl Next {
    fn new(trail: &engine::Trail) -> Next {
        match &trail.next {
            engine::Next::Lift { certain } => Next::Lift { certain: Certain::new(&trail.certain[*certain]) },
            engine::Next::Step(proposal) => Next::Step { step: Box::new(step_of(&trail.model, proposal)) },
            engine::Next::GiveUp { text, minutes } => {
                Next::GiveUp { text: text.clone(), minutes: super::minutes(*minutes) }
            }
            engine::Next::Stuck => Next::Stuck,
            engine::Next::Restore { change } => {
                Next::Restore { change: Change::new(&trail.changes[*change]) }
            }
            engine::Next::Prove { proof } => Next::Prove { proof: Proof::new(&trail.proofs[*proof]) },
            engine::Next::Close => Next::Close,
            engine::Next::Closed => Next::Closed,
        }
    }
}

impl Certain {
    fn new(certain: &engine::Certain) -> Certain {
        Certain {
            rule: certain.rule.word(),
            step: format!("rule:{}", certain.rule.word()),
            reason: certain.reason.clone(),
            ways: certain.mends.iter().map(Way::new).collect(),
            set_aside: certain.set_aside,
        }
    }
}

impl Done {
    fn new(done: &engine::Done) -> Done {
        Done {
            entry: done.entry.to_string(),
            seen: super::moment(done.seen),
            what: done.what.clone(),
            came: done.came.clone(),
            minutes: super::minutes(done.minutes),
            before: Weight::list(&done.before),
            after: Weight::list(&done.after),
        }
    }
}

impl Change {
    fn new(change: &engine::Change) -> Change {
        Change {
            key: change.key.clone(),
            what: change.what.clone(),
            back: change.back.clone(),
            cautions: change.cautions.clone(),
            settled: change.settled.word(),
        }
    }
}

impl Proof {
    fn new(proof: &engine::ProofState) -> Proof {
        Proof {
            key: proof.key.clone(),
            text: proof.text.clone(),
            cautions: proof.cautions.clone(),
            held: proof.held,
            failed: proof.failed,
        }
    }
}

impl Helped {
    fn new(helped: &engine::HelpedBy) -> Helped {
        Helped {
            step: helped.step.clone(),
            what: helped.what.clone(),
            causes: Weight::list(&helped.causes),
            hidden: helped.hidden,
            watch: helped.watch.clone(),
        }
    }
}

impl Remark {
    fn new(remark: &engine::Remark) -> Remark {
        match remark {
            engine::Remark::Contradiction => Remark::Contradiction,
            engine::Remark::NotListed { weight } => Remark::NotListed { weight: *weight },
            engine::Remark::StillFails { reasons } => Remark::StillFails { reasons: reasons.clone() },
            engine::Remark::TwoFaults { one, other, weight } => {
                Remark::TwoFaults { one: one.clone(), other: other.clone(), weight: *weight }
            }
        }
    }
}
