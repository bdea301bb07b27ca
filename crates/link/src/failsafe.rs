//! How often a receiver falls into failsafe: all packets of one time-out lost, under fading that is
//! correlated from packet to packet.

mod pair;

use units::{Db, Hertz, LIGHT_M_PER_S, MetresPerSecond, Mhz, Seconds};

use crate::bounds::{Bound, FREQUENCY, MARGIN, OutOfRange, SPEED};
use crate::error_rate::PacketCurve;
use crate::fading::Scatter;

pub(crate) const TIMEOUT: Bound = Bound {
    name: "timeout_s",
    unit: "s",
    low: 0.01,
    high: 60.0,
    why: "a failsafe within a packet or two, or after a minute, is none",
};
const INTERVAL: Bound = Bound {
    name: "packet_interval_s",
    unit: "s",
    low: 0.0002,
    high: 25.0,
    why: "0.1 to 5000 slots a second, and at most every other one for telemetry",
};
const FREE: Bound =
    Bound { name: "free", unit: "", low: 0.0, high: 1.0, why: "the share of packets that nobody else hits" };
const DOPPLER: Bound =
    Bound { name: "doppler_hz", unit: "Hz", low: 0.0, high: 6000.0, why: "300 m/s at 6 GHz" };

/// When a receiver gives up, and how fast the fading changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Failsafe {
    /// Without a packet for so long, the receiver takes its failsafe.
    pub timeout: Seconds,
    /// From one control packet to the next, on average (telemetry slots don't count).
    pub packet_interval: Seconds,
    /// How fast the scattered waves turn against each other: [`doppler`].
    pub doppler: Hertz,
    /// The share of packets that nobody else hits, each by itself: 1 when alone.
    pub free: f64,
}

impl Failsafe {
    /// Whole packets in one time-out, at least one.
    fn packets(&self) -> Result<f64, OutOfRange> {
        let timeout = TIMEOUT.check(self.timeout.0)?;
        let interval = INTERVAL.check(self.packet_interval.0)?;
        DOPPLER.check(self.doppler.0)?;
        FREE.check(self.free)?;
        Ok((timeout / interval + 1e-9).floor().max(1.0))
    }
}

/// What a receiver has to expect at one mean level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlook {
    /// How often a failsafe begins, a second of flight that is not in failsafe. Never more than once a
    /// time-out.
    pub begins_per_second: f64,
    /// The share of all moments at which the last time-out brought no packet.
    pub share_of_time: f64,
}

impl Outlook {
    /// The chance of any failsafe in a span of time, the one that may already hold at its start
    /// included.
    pub fn chance_in(&self, span: Seconds) -> f64 {
        let none = (1.0 - self.share_of_time) * (1.0 - chance_in(self.begins_per_second, span));
        (1.0 - none).clamp(0.0, 1.0)
    }
}

/// The greatest Doppler shift at a speed, `v f / c`.
///
/// # Errors
/// A speed over 300 m/s, a frequency outside 25 to 6000 MHz.
pub fn doppler(speed: MetresPerSecond, frequency: Mhz) -> Result<Hertz, OutOfRange> {
    SPEED.check(speed.0)?;
    FREQUENCY.check(frequency.0)?;
    Ok(Hertz(speed.0 * frequency.0 * 1e6 / LIGHT_M_PER_S))
}

/// How often a failsafe begins, and how much of the time it holds, at a mean level over the sensitivity
/// (mean power over the level at which one packet in a hundred is lost).
///
/// The scattered waves arrive evenly from all around, so that they correlate over a time t as
/// `ρ = J₀(2π f t)` (Clarke, *A statistical theory of mobile-radio reception*, 1968); the direct wave
/// holds. A run of losses is followed from look to look. A look lasts until the scattered waves are
/// uncorrelated (the first zero of J₀, 0.38 of a Doppler period) or one packet, whichever is longer, but
/// there are two looks at least. With L(r) the chance of losing all packets of a look at amplitude r,
/// `P = E[L] (E[L L′]/E[L])^(looks − 1)`, L′ a look later: the pair is the exact one of two correlated
/// Rician levels, that a look depends on the one before alone is the model (Zorzi, Rao and Milstein, *On
/// the accuracy of a first-order Markov model for data transmission on fading channels*, 1995). Where
/// the fading is new with every packet it is the run of independent packets; where it stands still only
/// the chance of the standing level is left; for short time-outs at a steep packet curve it is Rice's
/// rate of falling under a level. All three sources from memory.
///
/// Against simulation of the whole process, where a failsafe begins at least once in a few minutes, it
/// gives between 0.6 and 3 times as many, mostly 0.8 to 1.3; where the aircraft all but stands still
/// (Doppler shift times time-out under 0.6), 0.25 to 2 times as many. Shadowing and antenna nulls are no
/// part of it: they belong in the mean level. Frequency
/// hopping, which breaks up runs where echoes come late, is not credited.
///
/// # Errors
/// A time-out outside 10 ms to 60 s, an interval outside 0.2 ms to 10 s, a Doppler shift over 6 kHz, K
/// outside −40 to 60 dB, a level outside −100 to 200 dB.
pub fn outlook(
    curve: &PacketCurve,
    scatter: Scatter,
    mean_over_sensitivity: Db,
    failsafe: &Failsafe,
) -> Result<Outlook, OutOfRange> {
    scatter.check()?;
    MARGIN.check_as("mean_over_sensitivity_db", mean_over_sensitivity.0)?;
    let packets = failsafe.packets()?;
    let interval = failsafe.packet_interval.0;
    let run = Run::new(packets, interval, failsafe.doppler.0);
    let loss = |level: f64| 1.0 - (1.0 - curve.loss(Db(level))) * failsafe.free;
    let (all, again) =
        pair::all_lost(&loss, run.packets_per_look, scatter, mean_over_sensitivity.0, run.turn);
    let whole = all * again.powf(run.looks - 1.0);
    let ends = whole * -(again.ln() * interval / run.apart).exp_m1();
    // Where hardly anything arrives, a failsafe begins a time-out after each packet that does.
    let begins = if whole < 0.999 { (ends / (1.0 - whole)).min(1.0 / packets) } else { 1.0 / packets };
    Ok(Outlook { begins_per_second: begins.max(0.0) / interval, share_of_time: whole.clamp(0.0, 1.0) })
}

/// How often a failsafe begins, a second of flight that is not in failsafe; see [`outlook`].
///
/// # Errors
/// As [`outlook`].
pub fn rate_per_second(
    curve: &PacketCurve,
    scatter: Scatter,
    mean_over_sensitivity: Db,
    failsafe: &Failsafe,
) -> Result<f64, OutOfRange> {
    Ok(outlook(curve, scatter, mean_over_sensitivity, failsafe)?.begins_per_second)
}

/// The chance that something of this rate (a second) happens at all within a time:
/// `1 − exp(−rate · time)`.
pub fn chance_in(rate_per_second: f64, time: Seconds) -> f64 {
    let expected = rate_per_second * time.0;
    if expected > 0.0 { -(-expected).exp_m1() } else { 0.0 }
}

/// Looks at the fading in one Doppler period: 2π over the first zero of J₀.
const LOOKS_PER_PERIOD: f64 = std::f64::consts::TAU / 2.404_825_557_695_773;

/// How a run of packets is looked at.
struct Run {
    looks: f64,
    packets_per_look: f64,
    /// Seconds from look to look.
    apart: f64,
    /// The same as an angle of the Doppler shift, 2π f t.
    turn: f64,
}

impl Run {
    fn new(packets: f64, interval: f64, doppler: f64) -> Run {
        let span = (packets - 1.0) * interval;
        let (looks, apart) = if packets < 2.0 {
            (1.0, interval)
        } else {
            let looks = (1.0 + LOOKS_PER_PERIOD * doppler * span).clamp(2.0, packets);
            (looks, span / (looks - 1.0))
        };
        Run { looks, packets_per_look: packets / looks, apart, turn: std::f64::consts::TAU * doppler * apart }
    }
}
