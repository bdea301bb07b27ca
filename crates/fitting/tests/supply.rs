//! The supply: reference figures, an independent circuit solver, laws, words.
#![expect(clippy::unwrap_used, reason = "a test that can't go on should stop")]

#[path = "supply/laws.rs"]
mod laws;
#[path = "supply/nodal.rs"]
mod nodal;
#[path = "supply/rows.rs"]
mod rows;
#[path = "supply/words.rs"]
mod words;

use fitting::supply::{Charge, Load, Outcome, Point, Supply};

/// A supply from its text.
fn supply(text: &str) -> Supply {
    match Supply::read("supply.toml", text) {
        Ok(supply) => supply,
        Err(problems) => {
            let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
            panic!("{}\n{text}", told.join("\n"))
        }
    }
}

/// Where it settles.
fn point(supply: &Supply, load: &Load, charge: Charge) -> Point {
    match supply.outcome(load, charge, None) {
        Outcome::Held(point) | Outcome::Reset(point) => point,
        Outcome::Collapse { why } => panic!("it collapses: {why}"),
    }
}

/// A difference within a tolerance; false for what is no number.
fn close(got: f64, want: f64, within: f64) -> bool {
    (got - want).abs() <= within
}
