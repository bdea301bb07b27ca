//! Which settings are worth choosing.

use link::adviser::{self, Respect};
use link::law::NOTICE;
use link::wish::Asked;
use register::radio::Suggested;
use serde::Serialize;

use super::sheet::{About, Chosen, Reach, Taken, Warning};

/// The adviser's answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Advice {
    /// Whose link.
    pub about: About,
    /// How far away.
    pub distance_m: f64,
    /// The probability with which the link must hold.
    pub probability_wanted: f64,
    /// How many settings were looked at.
    pub looked_at: usize,
    /// How many are worth choosing: nothing beats them.
    pub worth_choosing: usize,
    /// How many of those meet every need.
    pub meeting: usize,
    /// Those worth choosing, the ones that meet every need first.
    pub choices: Vec<Choice>,
    /// What must be known of what was said.
    pub warnings: Vec<Warning>,
    /// Inputs taken from the register.
    pub suggested: Vec<Taken>,
    /// Inputs taken from a default.
    pub taken: Vec<Taken>,
    /// What stands beside every judgement of the limits.
    pub notice: &'static str,
}

/// A setting that nothing beats.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Choice {
    /// It.
    pub setting: Chosen,
    /// Probability that control's link quality is reached.
    pub control_probability: f64,
    /// The same for telemetry.
    pub telemetry_probability: Option<f64>,
    /// How far control reaches with the wanted probability.
    pub reach: Reach,
    /// Middling margin of control.
    pub margin_db: f64,
    /// Median latency.
    pub latency_median_ms: f64,
    /// Latency that 95 of 100 stick movements keep.
    pub latency_p95_ms: f64,
    /// Whether every sensor comes in time; none without sensors.
    pub sensors_fit: Option<bool>,
    /// What the limits say; none without a region.
    pub law: Option<&'static str>,
    /// What of the flight's needs it fails.
    pub fails: Vec<&'static str>,
    /// In what it is the best of those worth choosing.
    pub best_in: Vec<&'static str>,
    /// What it gives up against the best in each other respect.
    pub gives_up: Vec<String>,
}

impl Advice {
    /// The adviser's answer on a question.
    pub fn new(about: About, asked: &Asked, suggested: &[Suggested], advice: &adviser::Advice) -> Advice {
        let words = |respects: &[Respect]| respects.iter().map(|respect| respect.word()).collect::<Vec<_>>();
        // What is over every limit is no better than another for being over by less.
        let best_in = |choice: &adviser::Choice| {
            let mut best = choice.best_in.clone();
            best.retain(|one| *one != Respect::Law || !choice.judged.fails.contains(one));
            words(&best)
        };
        let choices: Vec<Choice> = advice
            .choices
            .iter()
            .filter_map(|choice| {
                let judged = &choice.judged;
                Some(Choice {
                    setting: Chosen::new(asked.all.as_ref().ok()?.get(judged.index)?),
                    control_probability: judged.control,
                    telemetry_probability: judged.telemetry,
                    reach: Reach::new(&choice.reach),
                    margin_db: judged.margin.0,
                    latency_median_ms: judged.latency.ms(),
                    latency_p95_ms: judged.latency_p95.ms(),
                    sensors_fit: judged.sensors_fit,
                    law: judged.law.map(link::law::Standing::word),
                    fails: words(&judged.fails),
                    best_in: best_in(choice),
                    gives_up: choice.gives_up.clone(),
                })
            })
            .collect();
        Advice {
            about,
            distance_m: asked.setup.flight.distance.0,
            probability_wanted: asked.setup.flight.probability,
            looked_at: advice.looked_at,
            worth_choosing: choices.len(),
            meeting: advice.meeting,
            choices,
            warnings: Warning::noted(asked),
            suggested: Taken::suggested(suggested),
            taken: Taken::defaults(asked),
            notice: NOTICE,
        }
    }
}
