//! What a question is worth before a single decision.

/// What a question is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    /// Expected cost of the best act without asking.
    pub without: f64,
    /// Expected cost when the best act is chosen after the answer, the question's own price
    /// apart.
    pub with: f64,
    /// The most that the question may cost: `without − with`. 0 where no answer changes what
    /// is done.
    pub value: f64,
}

/// Differences below this share of what is compared are rounding.
const ROUNDING: f64 = 1e-12;

/// The value of a question before one act is chosen (expected value of sample information).
///
/// `weights[hypothesis]`, any positive scale; `costs[act][hypothesis]`, negative for a gain;
/// `likelihood[answer][hypothesis]`, each hypothesis's column summing to 1. Never below 0
/// then: every answer could leave the act as it was. After Breese & Heckerman 1996 (arXiv
/// 1302.3563). It says nothing of questions that are worth asking only together, or after an
/// act. What isn't given counts as 0; without weights or acts everything is 0.
pub fn worth_of_question(weights: &[f64], costs: &[Vec<f64>], likelihood: &[Vec<f64>]) -> Worth {
    let most = weights.iter().copied().fold(0.0, f64::max);
    let scaled = |weight: &f64| if *weight > 0.0 { weight / most } else { 0.0 };
    let sum: f64 = weights.iter().map(scaled).sum();
    if !(sum > 0.0 && sum.is_finite()) {
        return Worth { without: 0.0, with: 0.0, value: 0.0 };
    }
    let weights: Vec<f64> = weights.iter().map(|weight| scaled(weight) / sum).collect();
    let without = least(&weights, costs);
    let answered = |row: &Vec<f64>| {
        let joint: Vec<f64> =
            weights.iter().zip(row).map(|(weight, likely)| weight * super::chance(*likely)).collect();
        least(&joint, costs)
    };
    let with: f64 = likelihood.iter().map(answered).sum();
    let scale = costs.iter().flatten().map(|cost| cost.abs()).fold(0.0, f64::max);
    let value = without - with;
    Worth { without, with, value: if value.abs() <= scale * ROUNDING { 0.0 } else { value } }
}

/// The least weighed cost of an act.
fn least(weights: &[f64], costs: &[Vec<f64>]) -> f64 {
    let of = |act: &Vec<f64>| act.iter().zip(weights).map(|(cost, weight)| cost * weight).sum::<f64>();
    costs.iter().map(of).reduce(f64::min).unwrap_or(0.0)
}
