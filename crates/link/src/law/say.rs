//! Figures in the words of a finding.

use units::{Db, Dbm, Khz, Seconds};

/// A number with at most so many digits after the point, no trailing zeros.
pub(super) fn trim(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A level: `20.0 dBm`.
pub(super) fn level(level: Dbm) -> String {
    level.to_string()
}

/// An excess: one digit, more where one would show nothing.
pub(super) fn excess(over: Db) -> String {
    if over.0 < 0.1 { format!("{:.3} dB", over.0) } else { over.to_string() }
}

/// A time: milliseconds below a second.
pub(super) fn time(time: Seconds) -> String {
    if time.0 < 0.999_95 { format!("{} ms", trim(time.ms(), 3)) } else { format!("{} s", trim(time.0, 3)) }
}

/// A width: kilohertz below a megahertz.
pub(super) fn width(width: Khz) -> String {
    if width.0 < 1000.0 {
        format!("{} kHz", trim(width.0, 3))
    } else {
        format!("{} MHz", trim(width.0 / 1e3, 4))
    }
}

/// A share: `15 %`.
pub(super) fn share(share: f64) -> String {
    format!("{} %", trim(share * 100.0, 3))
}
