//! A plan: evenings with their steps, the aircraft that can fly, and what is proven of it.

use refits::follow::code;
use refits::layout::{Line, Night};
use refits::planner::{self, CraftLine};
use refits::problem::Score;
use refits::step;
use register::family::Energised;
use register::id::DeviceId;
use register::scene::Scene;
use serde::Serialize;
use units::Minutes;

use super::name;
use crate::answers::device::device_words;
use crate::answers::minutes;

/// What a plan comes to, or what no plan is better than.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sum {
    /// The minutes of all steps but getting the bench out.
    pub minutes: f64,
    /// Over all evenings, the aircraft that can't fly when it is over and can when all is done.
    pub grounded: i64,
    /// Covers opened.
    pub covers: i64,
}

impl Sum {
    fn new(score: Score) -> Sum {
        #[expect(clippy::cast_precision_loss, reason = "minutes of some evenings, in hundredths")]
        let whole = score.minutes as f64 / 100.0;
        Sum { minutes: minutes(Minutes(whole)), grounded: score.grounded, covers: score.covers }
    }
}

/// What is proven of a plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proof {
    /// In a sentence.
    pub sentence: String,
    /// Whether it is proven that no plan is better.
    pub proven: bool,
    /// The gap in the first criterion that isn't proven, as a part of it.
    pub gap: f64,
    /// What the plan comes to.
    #[serde(flatten)]
    pub sum: Sum,
    /// No plan is better than this.
    pub bound: Sum,
}

/// An aircraft in a plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Craft {
    /// Its id.
    pub id: String,
    /// Its code, else its name.
    pub label: String,
    /// Its name, else its code.
    pub name: String,
    /// Whether it can fly before the first of these evenings.
    pub before: bool,
    /// Whether it can fly after each of them, in the order of `evenings`.
    pub after: Vec<bool>,
}

impl Craft {
    fn new(line: &CraftLine, at: usize, nights: &[Night]) -> Craft {
        Craft {
            id: line.craft.card.id.to_string(),
            label: line.craft.card.label(),
            name: line.craft.card.spoken(),
            before: line.before,
            after: nights.iter().map(|night| night.flies.get(at).copied().unwrap_or(false)).collect(),
        }
    }
}

/// The way back from a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Back {
    /// `nothing` where nothing would have to be taken back, `way`, or `none`.
    pub kind: &'static str,
    /// What to do, or why there is none.
    pub text: String,
    /// How long it takes; `null` where there is none.
    pub minutes: Option<f64>,
}

impl Back {
    fn new(back: &step::Back) -> Back {
        match back {
            step::Back::Nothing => Back { kind: "nothing", text: String::new(), minutes: Some(0.0) },
            step::Back::Way { text, minutes: takes } => {
                Back { kind: "way", text: text.clone(), minutes: Some(minutes(*takes)) }
            }
            step::Back::None { why } => Back { kind: "none", text: why.clone(), minutes: None },
        }
    }
}

/// A step in its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Its key: the same in every plan that has this step.
    pub key: String,
    /// Its short code, by which it is ticked.
    pub code: String,
    /// What sort of step: `bench`, `open`, `save`, `flash`, `restore`, `set`, `swap`, `pair`,
    /// `test`, `range_check` or `close`.
    pub sort: &'static str,
    /// The transmitter, aircraft or loose receiver that it is part of; `null` for the bench.
    pub what: Option<String>,
    /// The device that it is done on; `null` for the bench, and for one that is yet to be bought.
    pub device: Option<String>,
    /// What to do.
    pub text: String,
    /// How long it takes.
    pub minutes: f64,
    /// What must be reachable.
    pub needs: Vec<String>,
    /// What it energises.
    pub energises: Vec<&'static str>,
    /// Every caution that goes with it.
    pub cautions: Vec<String>,
    /// What to do when it fails half-way; empty where that is plain.
    pub if_fails: String,
    /// The way back from it.
    pub back: Back,
    /// Aircraft that can't fly any more after it.
    pub grounds: Vec<String>,
    /// Aircraft that can fly after it, and couldn't before.
    pub frees: Vec<String>,
    /// The minutes back to how things stood when the plan began, from after this step; `null`
    /// where there is no way back any more.
    pub back_minutes: Option<f64>,
}

impl Step {
    /// A step as an answer.
    pub fn new(scene: &Scene, line: &Line) -> Step {
        let names = |ids: &[DeviceId]| ids.iter().map(|id| device_words(scene, *id)).collect();
        let step = &line.step;
        Step {
            key: step.key.clone(),
            code: code(&step.key),
            sort: step.sort.word(),
            what: name(scene, step.what),
            device: name(scene, step.device),
            text: step.text.clone(),
            minutes: minutes(step.minutes),
            needs: step.needs.clone(),
            energises: step.energises.iter().copied().map(Energised::word).collect(),
            cautions: step.cautions.clone(),
            if_fails: step.if_fails.clone(),
            back: Back::new(&step.back),
            grounds: names(&line.grounds),
            frees: names(&line.frees),
            back_minutes: line.back.map(minutes),
        }
    }
}

/// One evening.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Evening {
    /// Its number, from 1.
    pub number: u32,
    /// How much time there is; `null` without a limit.
    pub available: Option<f64>,
    /// What its steps take.
    pub minutes: f64,
    /// Its steps, in order.
    pub steps: Vec<Step>,
    /// How many aircraft are grounded at once at its worst moment.
    pub most_grounded: usize,
    /// The transmitters that are kept back: they are changed in a later evening.
    pub kept_back: Vec<String>,
    /// Why there is no way back after it; empty when there is one.
    pub no_way_back: Vec<String>,
}

impl Evening {
    fn new(scene: &Scene, night: &Night) -> Evening {
        Evening {
            number: night.number,
            available: night.available.map(minutes),
            minutes: minutes(night.minutes),
            steps: night.lines.iter().map(|line| Step::new(scene, line)).collect(),
            most_grounded: night.most_grounded,
            kept_back: night.kept_back.iter().map(|id| device_words(scene, *id)).collect(),
            no_way_back: night.no_way_back.clone(),
        }
    }
}

/// Why a device is worked on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// The device.
    pub device: String,
    /// What it comes to.
    pub what: String,
    /// Why.
    pub why: String,
    /// Whether a wish says so itself; else another change forces it.
    pub wished: bool,
}

/// What would be good to look at first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Look {
    /// What to look at.
    pub text: String,
    /// How long it takes.
    pub minutes: f64,
    /// What the plan supposes meanwhile.
    pub supposes: String,
}

/// What a wish for a whole family leaves out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// The device.
    pub device: String,
    /// Why, after its name.
    pub why: String,
}

/// A receiver that is replaced.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Replaced {
    /// The receiver.
    pub receiver: String,
    /// What takes its place; `null` for one that is yet to be bought.
    pub by: Option<String>,
}

/// A plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// The answer in a sentence.
    pub sentence: String,
    /// What is proven of it; `null` for what is left of a refit, which is laid out as it was
    /// planned and not searched again.
    pub proof: Option<Proof>,
    /// What is wished, in words.
    pub wishes: Vec<String>,
    /// The aircraft that it touches, in the order of labels.
    pub crafts: Vec<Craft>,
    /// How many aircraft it doesn't touch.
    pub untouched: usize,
    /// The evenings, from the first that may be used to the last with work.
    pub evenings: Vec<Evening>,
    /// What is worked on, and why.
    pub reasons: Vec<Reason>,
    /// What would be good to look at first.
    pub looks: Vec<Look>,
    /// What a wish for a whole family leaves out.
    pub left_out: Vec<LeftOut>,
    /// Why there is no way back from some step.
    pub no_way_back: Vec<String>,
    /// What replacing costs, in whole units of the owner's money.
    pub cost: u32,
    /// The receivers that are replaced.
    pub replaced: Vec<Replaced>,
    /// What else is to be said of it.
    pub notes: Vec<String>,
}

impl Plan {
    /// A plan as an answer.
    pub fn new(scene: &Scene, plan: &planner::Plan) -> Plan {
        let proof = Proof {
            sentence: plan.proof(),
            proven: plan.proven,
            gap: plan.gap,
            sum: Sum::new(plan.score),
            bound: Sum::new(plan.bound),
        };
        Plan { proof: Some(proof), ..Plan::rest(scene, plan) }
    }

    /// What is left of a refit, of which nothing is proven.
    pub fn rest(scene: &Scene, plan: &planner::Plan) -> Plan {
        let crafts = plan.crafts.iter().enumerate();
        let reasons = plan.reasons.iter().map(|reason| Reason {
            device: device_words(scene, reason.device),
            what: reason.what.clone(),
            why: reason.why.clone(),
            wished: reason.wished,
        });
        let looks = plan.looks.iter().map(|look| Look {
            text: look.text.clone(),
            minutes: minutes(look.minutes),
            supposes: look.supposes.clone(),
        });
        let left_out =
            plan.left_out.iter().map(|one| LeftOut { device: one.device.label(), why: one.why.clone() });
        let replaced = plan.replaced.iter().map(|(receiver, by)| Replaced {
            receiver: device_words(scene, *receiver),
            by: name(scene, *by),
        });
        Plan {
            sentence: plan.sentence(),
            proof: None,
            wishes: plan.wishes.clone(),
            crafts: crafts.map(|(at, line)| Craft::new(line, at, &plan.nights)).collect(),
            untouched: plan.untouched,
            evenings: plan.nights.iter().map(|night| Evening::new(scene, night)).collect(),
            reasons: reasons.collect(),
            looks: looks.collect(),
            left_out: left_out.collect(),
            no_way_back: plan.no_way_back.clone(),
            cost: plan.cost,
            replaced: replaced.collect(),
            notes: plan.notes.clone(),
        }
    }
}
