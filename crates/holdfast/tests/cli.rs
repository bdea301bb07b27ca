//! The real program in a fresh folder.

#[path = "cli/answers.rs"]
mod answers;
#[path = "cli/bench.rs"]
mod bench;
#[path = "cli/hostile.rs"]
mod hostile;
#[path = "cli/keeping.rs"]
mod keeping;
#[path = "cli/lists.rs"]
mod lists;
#[path = "cli/secrets.rs"]
mod secrets;
#[path = "cli/usage.rs"]
mod usage;
