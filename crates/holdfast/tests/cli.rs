//! The real program in a fresh folder.

#![expect(clippy::unwrap_used, reason = "a helper that can't go on fails its test")]

#[path = "cli/answers.rs"]
mod answers;
#[path = "cli/bench.rs"]
mod bench;
#[path = "cli/faults.rs"]
mod faults;
#[path = "cli/fit.rs"]
mod fit;
#[path = "cli/hostile.rs"]
mod hostile;
#[path = "cli/keeping.rs"]
mod keeping;
#[path = "cli/lists.rs"]
mod lists;
#[path = "cli/radio.rs"]
mod radio;
#[path = "cli/refit.rs"]
mod refit;
#[path = "cli/releases.rs"]
mod releases;
#[path = "cli/secrets.rs"]
mod secrets;
#[path = "cli/usage.rs"]
mod usage;
