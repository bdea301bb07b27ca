//! What this workshop's closed trails teach: Dirichlet counts.
//!
//! The library's weights stand for `strength` cases; each closed trail whose cause was found
//! is one case more. The weight of cause f is then `strength · p(f) + n(f)`, the mean of the
//! posterior of a Dirichlet prior (from memory; any text on Bayesian statistics, "conjugate
//! prior of the multinomial"). Striking a trail's closing entry takes its case back.

use std::collections::BTreeMap;

use register::register::Register;
use register::time::Clock;
use register::trail::Outcome;

use crate::model::Model;

/// How many cases the library's own weights count for, unless the workshop says otherwise
/// (judgement).
pub const STRENGTH: f64 = 20.0;

/// The setting that holds the workshop's own strength.
pub const STRENGTH_SETTING: &str = "trails.strength";

/// The range a strength may have: below 1 a single case would outweigh the whole library.
pub const STRENGTHS: std::ops::RangeInclusive<f64> = 1.0..=10_000.0;

/// The key by which a closing says that the cause was none of the list.
pub const UNLISTED: &str = "unlisted";

/// How often each cause was found for one symptom.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts(pub BTreeMap<String, u32>);

impl Counts {
    /// The closed trails of a symptom.
    pub fn of(register: &Register, symptom: &str) -> Counts {
        Counts::before(register, symptom, Clock(u64::MAX))
    }

    /// Those of them that were closed before a moment of the logbook.
    pub fn before(register: &Register, symptom: &str, clock: Clock) -> Counts {
        let mut counts = Counts::default();
        for closed in register.trail_closings().iter().filter(|mark| mark.clock < clock) {
            let closed = &closed.what;
            let found = closed.outcome != Outcome::Left && !closed.cause.is_empty();
            if found && closed.symptom == symptom {
                counts.add(&closed.cause);
            }
        }
        counts
    }

    /// One case more.
    pub fn add(&mut self, cause: &str) {
        *self.0.entry(cause.to_owned()).or_default() += 1;
    }

    /// How often one cause was found.
    pub fn of_cause(&self, cause: &str) -> u32 {
        self.0.get(cause).copied().unwrap_or(0)
    }

    /// All cases.
    pub fn total(&self) -> u32 {
        self.0.values().sum()
    }
}

/// The workshop's strength, or [`STRENGTH`].
pub fn strength(register: &Register) -> f64 {
    let own = register.setting(STRENGTH_SETTING).and_then(|text| text.trim().parse().ok());
    own.filter(|strength| STRENGTHS.contains(strength)).unwrap_or(STRENGTH)
}

/// Puts the workshop's cases into a model's weights.
pub fn teach(model: &mut Model, counts: &Counts, strength: f64) {
    let total: f64 = model.priors().iter().sum();
    if !(total > 0.0 && strength > 0.0) {
        return;
    }
    let learned = |weight: f64, key: &str| strength * weight / total + f64::from(counts.of_cause(key));
    for cause in &mut model.causes {
        cause.weight = learned(cause.weight, &cause.key);
    }
    model.unlisted = learned(model.unlisted, UNLISTED);
}
