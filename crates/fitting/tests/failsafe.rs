//! Failsafe: settings judged, the way to the ground, where to look, and how it is proven.
#![expect(clippy::unwrap_used, reason = "a test stops at what it did not expect")]

#[path = "failsafe/area.rs"]
mod area;
#[path = "failsafe/fall.rs"]
mod fall;
#[path = "failsafe/proofs.rs"]
mod proofs;
#[path = "failsafe/settings.rs"]
mod settings;
#[path = "failsafe/way.rs"]
mod way;

use fitting::failsafe::Failsafe;

/// A part that must be readable.
fn part(text: &str) -> Failsafe {
    match Failsafe::read("fit", text) {
        Ok(part) => part,
        Err(problems) => {
            panic!("{}\n{text}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
        }
    }
}

fn close(got: f64, want: f64, within: f64) -> bool {
    (got - want).abs() <= within
}
