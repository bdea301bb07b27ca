//! Fading, failsafe and latency: independently computed values, laws, and simulations of the whole
//! process.
#![expect(clippy::unwrap_used, reason = "a test that can't go on fails")]

#[path = "fading/chance.rs"]
mod chance;
#[path = "fading/doors.rs"]
mod doors;
#[path = "fading/failsafes.rs"]
mod failsafes;
#[path = "fading/latencies.rs"]
mod latencies;
#[path = "fading/laws.rs"]
mod laws;
#[path = "fading/tables.rs"]
mod tables;

use link::css::{Chip, Css};
use link::error_rate::PacketCurve;
use link::mode::Modulation;
use units::Khz;

/// A packet of 8 bytes at this spreading factor, 2.4 GHz, 812.5 kHz, 4/5.
fn curve(sf: u8) -> PacketCurve {
    PacketCurve::new(&Modulation::Css(Css::neutral(Chip::Ghz2g4, sf, Khz(812.5), 5)), 8).unwrap()
}
