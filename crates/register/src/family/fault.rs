//! Faults that a family has beside those that every system has.

use units::Minutes;

use super::Energised;

/// What a family's author knows about one cause of one fault: a cause of their own, or
/// something about a cause of a shipped fault model that is otherwise on these devices.
///
/// Every figure here is the judgement of the family's author. At least one of `label`,
/// `weight`, `ask` and `mend` is there.
#[derive(Clone, Debug, PartialEq)]
pub struct FamilyFault {
    /// The key of the fault model that it belongs to (`wont_pair`): letters, digits and
    /// underscores.
    pub symptom: String,
    /// The key of the cause; one of the fault model's own changes that cause, any other is
    /// a cause more. Letters, digits and underscores, once a symptom.
    pub key: String,
    /// What is wrong, as a sentence without its stop. A cause of the fault model keeps its
    /// own words without it; a cause more can't be shown without it.
    pub label: Option<String>,
    /// Prior weight, 0 to 10000, on the scale of the fault model's weights; 0 when it is
    /// never the cause. A cause of the fault model keeps its own weight without it.
    pub weight: Option<f64>,
    /// A question, answered yes or no, whose yes points to this cause.
    pub ask: Option<String>,
    /// How to find the answer; may be empty.
    pub ask_how: String,
    /// How long that takes; there when `ask` is.
    pub ask_minutes: Option<Minutes>,
    /// How likely the answer is yes when this is the cause, 0 to 1, above
    /// [`yes_else`](Self::yes_else). Means nothing without `ask`.
    pub yes_if: f64,
    /// How likely the answer is yes when it is another cause, 0 to 1. Means nothing without
    /// `ask`.
    pub yes_else: f64,
    /// What cures it, in a line.
    pub mend: Option<String>,
    /// How to do that; may be empty.
    pub mend_how: String,
    /// How long it takes, trying whether it helped included; there when `mend` is.
    pub mend_minutes: Option<Minutes>,
    /// How likely it cures when this is the cause, 0 to 1. Means nothing without `mend`.
    pub cures: f64,
    /// What the question's check and the mend switch on; nothing without either of them.
    pub energises: Vec<Energised>,
}

impl FamilyFault {
    /// [`yes_if`](Self::yes_if) where the author doesn't say (judgement).
    pub const USUAL_YES_IF: f64 = 0.9;
    /// [`yes_else`](Self::yes_else) where the author doesn't say (judgement).
    pub const USUAL_YES_ELSE: f64 = 0.05;
    /// [`cures`](Self::cures) where the author doesn't say (judgement).
    pub const USUAL_CURES: f64 = 0.9;
}
