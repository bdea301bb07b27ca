//! Symptoms, trails in short, and the weights of a symptom's causes.

use register::scene::Scene;
use register::time::Moment;
use register::trail::TrailLog;
use register::value::EndRef;
use serde::Serialize;
use trails::learn::{self, Counts, STRENGTH, UNLISTED};
use trails::model::Model;

use super::{Closed, Named, cause_label};
use crate::answers::device::device_words;

/// A symptom that a trail can begin from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Symptom {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// One line about it.
    pub about: String,
    /// How many causes are in its list.
    pub causes: usize,
    /// How many checks.
    pub checks: usize,
    /// How many mends.
    pub mends: usize,
}

impl Symptom {
    /// A fault model in short.
    pub fn new(model: &Model) -> Symptom {
        let checks = model.steps.iter().filter(|step| step.as_check().is_some()).count();
        Symptom {
            key: model.key.clone(),
            name: model.name.clone(),
            about: model.about.clone(),
            causes: model.causes.len(),
            checks,
            mends: model.steps.len() - checks,
        }
    }
}

/// A trail in short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Brief {
    /// Its id.
    pub id: String,
    /// The end of its id, by which it may be named.
    pub short: String,
    /// The symptom.
    pub symptom: Named,
    /// When it began.
    pub begun: Option<String>,
    /// When it was last touched.
    pub touched: Option<String>,
    /// Whose gear it is; `null` where that wasn't said.
    pub whose: Option<String>,
    /// The transmitter; `null` for a guest's.
    pub transmitter: Option<String>,
    /// The receiver; `null` for a guest's.
    pub receiver: Option<String>,
    /// How many things were done.
    pub done: usize,
    /// How it ended.
    pub closed: Option<Closed>,
}

impl Brief {
    /// A trail in short; `short` is the end of its id.
    pub fn new(scene: &Scene, log: &TrailLog, short: &str, touched: Moment) -> Brief {
        let begun = &log.begun.what;
        let model = trails::library::symptom(&begun.symptom);
        let name = model.map_or_else(|| begun.symptom.clone(), |model| model.name);
        let end = |end: &Option<EndRef>| end.as_ref().map(|end| device_words(scene, end.device));
        Brief {
            id: log.id().to_string(),
            short: short.to_owned(),
            symptom: Named { key: begun.symptom.clone(), name },
            begun: crate::answers::moment(log.begun.seen),
            touched: crate::answers::moment(touched),
            whose: Some(begun.whose.clone()).filter(|whose| !whose.is_empty()),
            transmitter: end(&begun.transmitter),
            receiver: end(&begun.receiver),
            done: log.events.len(),
            closed: log.closed.as_ref().map(|mark| Closed::new(&mark.what)),
        }
    }
}

/// The weights of a symptom's causes: the library's, and this workshop's.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Weights {
    /// The symptom.
    pub symptom: Named,
    /// How many cases the library's own weights count for.
    pub strength: f64,
    /// The same where the workshop says nothing.
    pub usual_strength: f64,
    /// How many cases the workshop has counted.
    pub cases: u32,
    /// Each cause, in the library's order.
    pub causes: Vec<Learned>,
}

/// The weight of one cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Learned {
    /// Its key.
    pub key: String,
    /// What is wrong.
    pub label: String,
    /// The library's weight, 0 to 1.
    pub library: f64,
    /// How often this workshop found it.
    pub cases: u32,
    /// The weight now, 0 to 1.
    pub weight: f64,
}

impl Weights {
    /// A symptom's model as the library has it, with this workshop's cases.
    pub fn new(model: &Model, counts: &Counts, strength: f64) -> Weights {
        let mut taught = model.clone();
        learn::teach(&mut taught, counts, strength);
        let share = |priors: Vec<f64>| -> Vec<f64> {
            let sum: f64 = priors.iter().sum();
            priors.into_iter().map(|one| if sum > 0.0 { one / sum } else { 0.0 }).collect()
        };
        let keys = model.causes.iter().map(|cause| cause.key.as_str()).chain([UNLISTED]);
        let causes = keys
            .zip(share(model.priors()).into_iter().zip(share(taught.priors())))
            .map(|(key, (library, weight))| Learned {
                key: key.to_owned(),
                label: cause_label(model, key),
                library,
                cases: counts.of_cause(key),
                weight,
            })
            .collect();
        Weights {
            symptom: Named::new(model),
            strength,
            usual_strength: STRENGTH,
            cases: counts.total(),
            causes,
        }
    }
}
