//! Modulation, noise and error rates against values from outside the project.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

#[path = "modulation/airtime.rs"]
mod airtime;
#[path = "modulation/calc.rs"]
mod calc;
#[path = "modulation/errors.rs"]
mod errors;
#[path = "modulation/hearing.rs"]
mod hearing;
#[path = "modulation/noise.rs"]
mod noise;
#[path = "modulation/table.rs"]
mod table;
