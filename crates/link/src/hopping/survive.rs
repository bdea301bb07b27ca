//! The chance that a packet meets nobody at all.

use units::{Khz, Mhz, Micros};

use super::{CHANNELS, HopPlan, LINKS, any_of, hit_by_one};
use crate::bounds::{self, Bound, OutOfRange};

/// A time on the air, or between packets.
pub const TIME: Bound = Bound {
    name: "time_us",
    unit: "µs",
    low: 1.0,
    high: 60_000_000.0,
    why: "from one microsecond to one minute",
};

/// The share of time that a network is on the air.
pub const DUTY: Bound =
    Bound { name: "duty", unit: "", low: 0.0, high: 1.0, why: "0 is silent, 1 sends without a pause" };

/// Other hopping links of one kind that share the channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hoppers {
    /// How many, your own link not among them.
    pub links: u32,
    /// How many channels they hop over; all of yours are among them.
    pub channels: u32,
    /// How long one of their packets is on the air.
    pub airtime: Micros,
    /// From one of their packets to the next; they hop for each.
    pub interval: Micros,
}

/// A fixed wide signal, such as a Wi-Fi network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Network {
    /// Its centre.
    pub centre: Mhz,
    /// Its width.
    pub width: Khz,
    /// The share of time that it is on the air.
    pub duty: f64,
    /// How long one burst lasts on average. Gaps between bursts are taken as exponential.
    pub burst: Micros,
}

impl Network {
    /// A network of which only the share of time is known: bursts of one millisecond
    /// (judgement, no source: a frame or a few of them with their answers).
    pub fn of_duty(centre: Mhz, width: Khz, duty: f64) -> Network {
        Network { centre, width, duty, burst: Micros(1000.0) }
    }
}

/// The chance that a packet meets nobody.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Survival {
    /// Neither a link nor a network.
    pub probability: f64,
    /// No other link.
    pub past_links: f64,
    /// No network.
    pub past_networks: f64,
}

/// The chance that a packet of `airtime`, on a channel of `plan` drawn at random, meets no
/// other link and no network.
///
/// A link of another rate touches the packet (own airtime + its airtime)/its interval
/// times on average, evenly laid; a network that covers the channel is silent throughout
/// with (1 − duty) exp(−airtime/mean gap), mean gap = burst (1 − duty)/duty. Networks are
/// multiplied channel by channel, so that two on the same channels don't count twice.
/// Links and networks know nothing of each other.
///
/// # Errors
/// [`OutOfRange`] for what [`HopPlan::check`] refuses, a time outside [`TIME`], an
/// interval shorter than its airtime, more links than [`LINKS`], no channels
/// ([`CHANNELS`]), a duty outside [`DUTY`], a centre outside [`bounds::FREQUENCY`] or a
/// width outside [`super::wifi::WIDTH`].
pub fn survive(
    plan: &HopPlan,
    airtime: Micros,
    others: &[Hoppers],
    networks: &[Network],
) -> Result<Survival, OutOfRange> {
    plan.check()?;
    TIME.check_as("airtime_us", airtime.0)?;
    let mut past_links = 1.0;
    for other in others {
        let count = Bound { low: 0.0, ..LINKS }.check(f64::from(other.links))?;
        let channels = CHANNELS.check(f64::from(other.channels))?;
        TIME.check_as("airtime_us", other.airtime.0)?;
        let after = Bound { low: other.airtime.0, why: "a packet ends before the next begins", ..TIME };
        after.check_as("interval_us", other.interval.0)?;
        let times = (airtime.0 + other.airtime.0) / other.interval.0;
        past_links *= 1.0 - any_of(count, hit_by_one(channels, times));
    }
    let mut silent = Vec::with_capacity(networks.len());
    for network in networks {
        DUTY.check(network.duty)?;
        TIME.check_as("burst_us", network.burst.0)?;
        bounds::FREQUENCY.check_as("centre_mhz", network.centre.0)?;
        super::wifi::WIDTH.check(network.width.0)?;
        silent.push((network, silence(network, airtime)));
    }
    let mut clear = 0.0;
    for channel in plan.centres() {
        let past = silent.iter().filter(|(network, _)| plan.touches(channel, network.centre, network.width));
        clear += past.map(|(_, silent)| silent).product::<f64>();
    }
    let past_networks = (clear / f64::from(plan.channels)).clamp(0.0, 1.0);
    Ok(Survival { probability: past_links * past_networks, past_links, past_networks })
}

/// The chance that a network is silent for so long, from a moment drawn at random.
fn silence(network: &Network, airtime: Micros) -> f64 {
    if network.duty <= 0.0 {
        return 1.0;
    }
    if network.duty >= 1.0 {
        return 0.0;
    }
    let gap = network.burst.0 * (1.0 - network.duty) / network.duty;
    (1.0 - network.duty) * (-airtime.0 / gap).exp()
}
