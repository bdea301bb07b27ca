//! Formulas of other transmitters by name.

use units::{Khz, Mhz};

use super::{Answer, CalcError, Formula, Given, Input, Kind, Output};
use crate::bounds::{self, Bound};
use crate::hopping;

const TIMINGS: &[&str] = &["synchronous", "asynchronous", "per-symbol", "no-repeats"];

const LINKS: Input = Input {
    key: "links",
    says: "links on the same channels, your own among them",
    kind: Kind::Whole(hopping::LINKS),
    default: None,
};

const CHANNELS: Input = Input {
    key: "channels",
    says: "channels they hop over",
    kind: Kind::Whole(hopping::CHANNELS),
    default: None,
};

/// The formulas.
pub const FORMULAS: &[Formula] = &[
    Formula {
        name: "hop-collision",
        says: "chance that another hopping link stands on the same channel, all sending all the time",
        inputs: &[
            LINKS,
            CHANNELS,
            Input {
                key: "timing",
                says: "whether all hop in the same instant; else whether a meeting anywhere in the dwell counts, or per symbol, or per symbol with links that never stay",
                kind: Kind::Choice(TIMINGS),
                default: Some("asynchronous"),
            },
            Input {
                key: "symbols_per_dwell",
                says: "symbols on one channel before the next hop; for per-symbol and no-repeats",
                kind: Kind::Whole(hopping::SYMBOLS),
                default: Some("100"),
            },
        ],
        outputs: &[Output { key: "probability", says: "chance that the dwell (or the symbol) is hit" }],
        formula: "1 - (1 - p)^(K-1); synchronous p = 1/q; asynchronous p = 2/q - 1/q^2; \
                  per-symbol p = (1/q)(1 + (1/N)(1 - 1/q)); no-repeats p = (1/q)(1 + 1/N)",
        holds: "channels drawn at random, alike and independently; every meeting counts as a hit, however \
                weak the other one is",
        source: "elementary probability; per symbol: Geraniotis and Pursley, IEEE Transactions on \
                 Communications COM-30(5), 1982, 996-1009 (from memory)",
        example: &[("links", "10"), ("channels", "80"), ("timing", "asynchronous")],
        run: |given| {
            let (links, channels) = (given.whole("links")?, given.whole("channels")?);
            let timing = given.choice("timing")?;
            let symbols = given.whole("symbols_per_dwell")?;
            let probability = match timing {
                "synchronous" => hopping::collision_synchronous(links, channels)?,
                "per-symbol" => hopping::collision_per_symbol(links, channels, symbols)?,
                "no-repeats" => hopping::collision_markov(links, channels, symbols)?,
                _ => hopping::collision_asynchronous(links, channels)?,
            };
            Ok(Answer::number("probability", probability))
        },
    },
    Formula {
        name: "hop-share-collision",
        says: "chance that another hopping link meets a packet, when none sends all the time",
        inputs: &[
            LINKS,
            CHANNELS,
            Input {
                key: "own_share",
                says: "the packet's airtime over the time from one packet to the next",
                kind: Kind::Number(hopping::DWELL_SHARE),
                default: None,
            },
            Input {
                key: "other_share",
                says: "the same of every other link, at the same packet rate",
                kind: Kind::Number(hopping::DWELL_SHARE),
                default: None,
            },
        ],
        outputs: &[Output { key: "probability", says: "chance that the packet is hit" }],
        formula: "x = own share + other share; p = 1 - (1 - 1/q)^floor(x) (1 - frac(x)/q); 1 - (1 - p)^(K-1)",
        holds: "channels drawn at random, nobody in step, equal packet rates; every meeting counts as a hit",
        source: "elementary probability; checked by simulation",
        example: &[("links", "10"), ("channels", "80"), ("own_share", "0.3"), ("other_share", "0.5")],
        run: |given| {
            let probability = hopping::collision_shares(
                given.whole("links")?,
                given.whole("channels")?,
                given.number("own_share")?,
                given.number("other_share")?,
            )?;
            Ok(Answer::number("probability", probability))
        },
    },
    Formula {
        name: "wifi-overlap",
        says: "hop channels that a Wi-Fi network covers",
        inputs: &[
            Input {
                key: "first_mhz",
                says: "centre of the first hop channel",
                kind: Kind::Number(bounds::FREQUENCY),
                default: None,
            },
            Input {
                key: "spacing_khz",
                says: "from one hop channel to the next",
                kind: Kind::Number(hopping::SPACING),
                default: None,
            },
            CHANNELS,
            Input {
                key: "bandwidth_khz",
                says: "width of the hopping signal",
                kind: Kind::Number(hopping::WIDTH),
                default: None,
            },
            Input {
                key: "wifi_channel",
                says: "the network's channel at 2.4 GHz",
                kind: Kind::Whole(hopping::WIFI_CHANNEL),
                default: None,
            },
            Input {
                key: "wifi_width_mhz",
                says: "width of the network's signal",
                kind: Kind::Number(WIFI_WIDTH),
                default: Some("20"),
            },
        ],
        outputs: &[
            Output { key: "channels_hit", says: "hop channels that it touches" },
            Output {
                key: "share",
                says: "their share of all: the chance that a hop meets it while it sends",
            },
            Output { key: "centre_mhz", says: "centre of the network's channel" },
        ],
        formula: "a channel f is touched when |f - fw| < (Bw + B)/2; fw = 2407 + 5 n MHz",
        holds: "both spectra taken as boxes; a strong network close by reaches further",
        source: "geometry; channel centres IEEE 802.11 (from memory)",
        example: &[
            ("first_mhz", "2401"),
            ("spacing_khz", "1000"),
            ("channels", "80"),
            ("bandwidth_khz", "812.5"),
            ("wifi_channel", "6"),
        ],
        run: wifi_overlap,
    },
];

/// Width of a Wi-Fi signal.
const WIFI_WIDTH: Bound =
    Bound { name: "wifi_width_mhz", unit: "MHz", low: 1.0, high: 80.0, why: "20 or 40 at 2.4 GHz" };

fn wifi_overlap(given: &Given) -> Result<Answer, CalcError> {
    let plan = hopping::HopPlan {
        first: Mhz(given.number("first_mhz")?),
        spacing: Khz(given.number("spacing_khz")?),
        channels: given.whole("channels")?,
        bandwidth: Khz(given.number("bandwidth_khz")?),
    };
    let centre = hopping::wifi_centre(given.whole("wifi_channel")?)?;
    let overlap = hopping::band_overlap(&plan, centre, Khz(given.number("wifi_width_mhz")? * 1e3))?;
    Ok(Answer::number("channels_hit", f64::from(overlap.hit))
        .and("share", overlap.share)
        .and("centre_mhz", centre.0))
}
