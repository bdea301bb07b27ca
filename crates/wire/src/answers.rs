//! Every answer as JSON: the one form in which the command line and the web server
//! give the engine's answers to other programs.
//!
//! The order of the keys is fixed. Nothing is decided here; words for values are made,
//! and of a link secret only whether it is blank, set or the same as another's.

pub mod advice;
pub mod calc;
pub mod card;
pub mod commission;
pub mod device;
pub mod effect;
pub mod family;
pub mod fault;
pub mod fit;
pub mod history;
pub mod ids;
pub mod law;
pub mod link;
pub mod refit;
pub mod sheet;
pub mod spares;
pub mod telemetry;
pub mod today;

use register::time::Moment;
use units::Minutes;

/// Minutes as a number, to the hundredth.
#[expect(clippy::cast_precision_loss, reason = "far fewer than 2^52 hundredths")]
pub(crate) fn minutes(minutes: Minutes) -> f64 {
    minutes.hundredths() as f64 / 100.0
}

/// RFC 3339, or nothing where there is no such moment.
pub(crate) fn moment(moment: Moment) -> Option<String> {
    (moment != Moment(i64::MIN)).then(|| moment.to_string())
}
