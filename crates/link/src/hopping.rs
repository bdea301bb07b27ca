//! Other transmitters on the band: how often another hopping link or a Wi-Fi network
//! stands where a packet is.
//!
//! Every meeting counts as a hit, however strong or weak the other one is, so these are
//! upper limits for neighbours that are far away. Channels are drawn at random, alike and
//! independently for every hop; a real sequence that visits all channels in turn meets
//! another one as often on average.

mod survive;
mod wifi;

use crate::bounds::{Bound, OutOfRange};

pub use survive::{DUTY, Hoppers, Network, Survival, TIME, survive};
pub use wifi::{HopPlan, Overlap, SPACING, WIDTH, WIFI_CHANNEL, band_overlap, continuum_share, wifi_centre};

/// How many links share the channels.
pub const LINKS: Bound = Bound {
    name: "links",
    unit: "",
    low: 1.0,
    high: 10_000.0,
    why: "your own one counts; a field, not a city",
};

/// How many channels a link hops over.
pub const CHANNELS: Bound =
    Bound { name: "channels", unit: "", low: 1.0, high: 10_000.0, why: "1 is a link that doesn't hop" };

/// The same for a link that never stays.
pub const CHANNELS_TO_LEAVE: Bound =
    Bound { low: 2.0, why: "a link that never stays needs somewhere to go", ..CHANNELS };

/// How many symbols a link sends on one channel before it hops.
pub const SYMBOLS: Bound = Bound {
    name: "symbols_per_dwell",
    unit: "symbols",
    low: 1.0,
    high: 1_000_000.0,
    why: "1 counts the whole dwell as one symbol",
};

/// The share of a dwell that a packet fills.
pub const DWELL_SHARE: Bound =
    Bound { name: "share", unit: "", low: 0.0, high: 1.0, why: "a packet ends before its dwell does" };

/// The chance that at least one of the other links stands on a packet's channel, when all
/// hop in the same instant: 1 − (1 − 1/q)^(K−1), K links on q channels, all sending all
/// the time.
///
/// ```
/// use link::hopping::collision_synchronous;
/// assert!((collision_synchronous(2, 80)? - 0.0125).abs() < 1e-12);
/// # Ok::<(), link::bounds::OutOfRange>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] outside [`LINKS`] or [`CHANNELS`].
pub fn collision_synchronous(links: u32, channels: u32) -> Result<f64, OutOfRange> {
    collision_shares(links, channels, 1.0, 0.0)
}

/// The same when nobody hops in step and a meeting anywhere in the dwell counts; each
/// other link touches the packet with two of its dwells: 1 − (1 − (2/q − 1/q²))^(K−1).
///
/// # Errors
/// [`OutOfRange`] outside [`LINKS`] or [`CHANNELS`].
pub fn collision_asynchronous(links: u32, channels: u32) -> Result<f64, OutOfRange> {
    collision_shares(links, channels, 1.0, 1.0)
}

/// The chance that one symbol is hit when nobody hops in step:
/// 1 − (1 − (1/q)(1 + (1/N)(1 − 1/q)))^(K−1), N symbols in a dwell.
///
/// Geraniotis and Pursley, IEEE Transactions on Communications COM-30(5), 1982, 996–1009
/// (from memory). N = 1 gives [`collision_asynchronous`].
///
/// # Errors
/// [`OutOfRange`] outside [`LINKS`], [`CHANNELS`] or [`SYMBOLS`].
pub fn collision_per_symbol(links: u32, channels: u32, symbols_per_dwell: u32) -> Result<f64, OutOfRange> {
    let symbols = SYMBOLS.check(f64::from(symbols_per_dwell))?;
    collision_shares(links, channels, 1.0 / symbols, 1.0)
}

/// The same when no link stays on its channel at a hop: 1 − (1 − (1/q)(1 + 1/N))^(K−1).
///
/// First-order Markov hopping (the term is from memory, as in Geraniotis and Pursley
/// 1982).
///
/// # Errors
/// [`OutOfRange`] outside [`LINKS`], [`CHANNELS_TO_LEAVE`] or [`SYMBOLS`].
pub fn collision_markov(links: u32, channels: u32, symbols_per_dwell: u32) -> Result<f64, OutOfRange> {
    let others = LINKS.check(f64::from(links))? - 1.0;
    let channels = CHANNELS_TO_LEAVE.check(f64::from(channels))?;
    let symbols = SYMBOLS.check(f64::from(symbols_per_dwell))?;
    Ok(any_of(others, (1.0 + 1.0 / symbols) / channels))
}

/// The chance that a packet is hit when nobody hops in step and nobody sends all the
/// time: the packet fills `own_share` of its dwell, every other link's packet
/// `other_share` of its own, equally long one.
///
/// With x = own share + other share, another link's packets touch ours x times on
/// average: a whole number of times for sure and once more with the fraction's
/// probability. One link misses with (1 − 1/q)^whole (1 − fraction/q). This holds the
/// published cases: shares 1 and 0 are [`collision_synchronous`], 1 and 1
/// [`collision_asynchronous`], 1/N and 1 [`collision_per_symbol`].
///
/// # Errors
/// [`OutOfRange`] outside [`LINKS`], [`CHANNELS`] or [`DWELL_SHARE`].
pub fn collision_shares(
    links: u32,
    channels: u32,
    own_share: f64,
    other_share: f64,
) -> Result<f64, OutOfRange> {
    let others = LINKS.check(f64::from(links))? - 1.0;
    let channels = CHANNELS.check(f64::from(channels))?;
    DWELL_SHARE.check_as("own_share", own_share)?;
    DWELL_SHARE.check_as("other_share", other_share)?;
    Ok(any_of(others, hit_by_one(channels, own_share + other_share)))
}

/// The chance that one link whose packets touch ours `times` times on average is on our
/// channel in at least one of them.
fn hit_by_one(channels: f64, times: f64) -> f64 {
    let once = 1.0 / channels;
    // 1 − (1 − once)^whole (1 − fraction·once), without losing digits for many channels.
    let whole = times.floor();
    if channels <= 1.0 {
        // One channel: every touch is a hit (and the logarithm of nothing is no number).
        return if whole >= 1.0 { 1.0 } else { times.fract() };
    }
    -((-once).ln_1p() * whole + (-once * times.fract()).ln_1p()).exp_m1()
}

/// The chance that at least one of so many happens, each with the same probability.
fn any_of(count: f64, each: f64) -> f64 {
    if count == 0.0 || each <= 0.0 {
        return 0.0;
    }
    (-(count * (-each.min(1.0)).ln_1p()).exp_m1()).clamp(0.0, 1.0)
}
