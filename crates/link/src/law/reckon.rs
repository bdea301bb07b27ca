//! The arithmetic inside the demands: time on a channel, utilisation, density, conversions.

use units::{Db, Dbm, Khz, Metres, Milliwatts, Seconds};

/// The average time that one channel is occupied within a window: the window times the
/// channel's share of the visits times the share of time on the air.
///
/// Source: 47 CFR 15.247(a)(1)(i), (iii) ("average time of occupancy"); ETSI EN 300 328
/// V1.8.1 4.3.1.3 (accumulated transmit time).
pub fn accumulated(window: Seconds, share: f64, duty: f64) -> Seconds {
    window * (share * duty)
}

/// The share of time on the air of packets of one length sent at a steady rate.
pub fn duty(airtime: Seconds, packets_a_second: units::Hertz) -> f64 {
    airtime.0 * packets_a_second.0
}

/// Medium utilisation of non-adaptive equipment: radiated power over 100 mW, times the share
/// of time on the air. Holds from 10 dBm EIRP.
///
/// Source: ETSI EN 300 328 V1.8.1 4.3.1.5.
pub fn medium_utilisation(eirp: Dbm, duty: f64) -> f64 {
    eirp.milliwatts().0 / 100.0 * duty
}

/// The least number of hop channels: 15 MHz over the separation, and never fewer than
/// `least`.
///
/// Source: ETSI EN 300 328 V1.8.1 4.3.1.3.2 (N = max(15, 15 / separation in MHz)).
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the type")]
pub fn hops_for_separation(least: u32, separation: Khz) -> u32 {
    let hops = (15_000.0 / separation.0 - 1e-9).ceil().clamp(0.0, f64::from(u32::MAX)) as u32;
    hops.max(least)
}

/// How long equipment that detects and avoids must leave a busy hop channel alone: 1 s, or
/// five times the hop channels' number times the occupancy time, whichever is longer.
///
/// Source: ETSI EN 300 328 V1.8.1 4.3.1.6.
pub fn unavailable(hop_channels: u32, occupancy: Seconds) -> Seconds {
    Seconds((occupancy.0 * 5.0 * f64::from(hop_channels)).max(1.0))
}

/// The level in each megahertz at which adaptive equipment must take a channel for busy:
/// -70 dBm at 20 dBm EIRP, relaxed by what it radiates less.
///
/// Source: ETSI EN 300 328 V1.8.1 4.3.1.6.
pub fn busy_threshold(eirp: Dbm) -> Dbm {
    Dbm(-70.0) + (Dbm(20.0) - eirp).max(Db::ZERO)
}

/// The level in a slice of spectrum of power spread flat over a bandwidth; all of it where
/// the slice is the wider. A real spectrum peaks higher.
pub fn flat_density(total: Dbm, bandwidth: Khz, slice: Khz) -> Dbm {
    total - Db::of_ratio((bandwidth.0 / slice.0).max(1.0))
}

/// The same as a density throughout: the level that a slice would hold if the spectrum went
/// on as it is, also for a bandwidth narrower than the slice.
pub fn density_throughout(total: Dbm, bandwidth: Khz, slice: Khz) -> Dbm {
    total - Db::of_ratio(bandwidth.0 / slice.0)
}

/// The radiated power (EIRP) that makes a field of so many millivolts a metre at a distance,
/// in the far field of free space: (E d)² / 30.
///
/// Source: 47 CFR 15.249(a) states its limits as field strength; the conversion is of free
/// space with an impedance of 120 π ohms.
pub fn eirp_of_field(millivolts_a_metre: f64, distance: Metres) -> Milliwatts {
    Milliwatts((millivolts_a_metre / 1e3 * distance.0).powi(2) / 30.0 * 1e3)
}
