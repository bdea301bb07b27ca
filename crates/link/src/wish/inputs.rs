//! The list of what may be said.

use crate::antenna::Kind as Antenna;
use crate::bounds::{self, Bound};
use crate::calc::{Input, Kind};
use crate::latency::ONE_IN;
use crate::sheet::{HEIGHT_SPREAD, QUALITY};
use crate::sight::SPAN;
use crate::vegetation::TreeModel;

const MS: Bound =
    Bound { name: "ms", unit: "ms", low: 0.0, high: 100.0, why: "a frame comes ten times a second or more" };
const LATENCY: Bound = Bound { name: "latency_ms", unit: "ms", low: 1.0, high: 2000.0, why: "" };
const FAILSAFE: Bound =
    Bound { name: "failsafe_s", unit: "s", low: 0.05, high: 60.0, why: "a receiver's time-out" };
const COUNT: Bound = Bound { name: "other_links", unit: "", low: 0.0, high: 100.0, why: "" };
const HALF_ANGLE: Bound = Bound { name: "shadow_deg", unit: "degrees", low: 0.0, high: 90.0, why: "" };
const SHADOW: Bound = Bound { name: "shadow_db", unit: "dB", low: 0.0, high: 40.0, why: "" };
const OFF: Bound = Bound { name: "tx_off_deg", unit: "degrees", low: 0.0, high: 180.0, why: "" };
const KHZ: Bound = Bound { name: "noise_bandwidth_khz", unit: "kHz", low: 0.1, high: 100_000.0, why: "" };
const FLOOR: Bound = Bound { name: "noise_floor_dbm", unit: "dBm", low: -150.0, high: 0.0, why: "" };

const fn number(key: &'static str, says: &'static str, bound: Bound, default: &'static str) -> Input {
    Input { key, says, kind: Kind::Number(bound), default: Some(default) }
}

const fn words(
    key: &'static str,
    says: &'static str,
    of: &'static [&'static str],
    default: &'static str,
) -> Input {
    Input { key, says, kind: Kind::Choice(of), default: Some(default) }
}

const fn text(key: &'static str, says: &'static str, default: &'static str) -> Input {
    Input { key, says, kind: Kind::Text, default: Some(default) }
}

/// What may be fitted in an aircraft: nothing with a beam, since its attitude turns.
const RX_WORDS: &[&str] =
    &["half-wave-dipole", "monopole", "circular-right", "circular-left", "isotropic", "off"];

/// The inputs that say what the antennas are and how the aircraft moves.
pub const ANTENNA_KEYS: &[&str] = &[
    "tx_antenna",
    "tx_gain_dbi",
    "tx_off_deg",
    "tx_cable_db",
    "polarisation",
    "rx_antennas",
    "rx_antenna",
    "rx_cable_db",
    "shadow_toward",
    "shadow_db",
    "shadow_deg",
    "motion",
];

/// Everything that may be said, in the order of the page.
pub const WISHES: &[Input] = &[
    number("distance_m", "how far away, along the ground", bounds::DISTANCE, "500"),
    number("air_height_m", "height of the aircraft above the ground", bounds::HEIGHT, "60"),
    number("height_spread", "how much that varies to either side, as a share of it", HEIGHT_SPREAD, "0.2"),
    number("speed_m_per_s", "how fast it flies", bounds::SPEED, "15"),
    number("span_m", "its span, for how far it can be seen", SPAN, "1.5"),
    number("probability", "with what probability the link must hold", bounds::WANTED_PROBABILITY, "0.99"),
    number("quality", "share of packets that must arrive", QUALITY, "0.8"),
    number("latency_ms", "latency that is still good, 95 of 100 times", LATENCY, ""),
    text("region", "whose limits count, such as EU or US (`none` for none)", ""),
    text("mode", "packet mode", ""),
    number("power_mw", "transmit power", bounds::POWER, ""),
    Input {
        key: "telemetry_one_in",
        says: "one slot in so many for telemetry; left out, the most there is; 0 for none",
        kind: Kind::Whole(Bound { low: 0.0, ..ONE_IN }),
        default: Some(""),
    },
    number("telemetry_mw", "what the receiver sends with", bounds::POWER, ""),
    words("tx_antenna", "the transmitter's antenna", Antenna::WORDS, "half-wave-dipole"),
    number("tx_gain_dbi", "its gain, where it isn't the usual one", bounds::GAIN, ""),
    number("tx_off_deg", "how far it is held off the best direction", OFF, "30"),
    number("tx_cable_db", "lost in its cable and plugs", bounds::FEED_LOSS, "0"),
    words("polarisation", "how it is held", &["vertical", "horizontal"], "vertical"),
    number("ground_height_m", "its height above the ground", bounds::HEIGHT, "1.5"),
    words(
        "rx_antennas",
        "the aircraft's antennas",
        &["one-upright", "one-along-wing", "one-along-body", "two-crossed", "two-parallel"],
        "one-along-wing",
    ),
    words("rx_antenna", "what they are", RX_WORDS, "half-wave-dipole"),
    number("rx_cable_db", "lost in their cables", bounds::FEED_LOSS, "0"),
    words("telemetry_from", "which of them sends", &["first", "better"], "first"),
    words(
        "shadow_toward",
        "where the airframe hides them",
        &["nose", "tail", "above", "below", "left", "right"],
        "nose",
    ),
    number("shadow_db", "what the airframe takes there", SHADOW, "6"),
    number("shadow_deg", "half the angle of that shadow", HALF_ANGLE, "35"),
    words("motion", "how it moves", &["level", "circuit", "aerobatic", "any-attitude"], "circuit"),
    words(
        "ground",
        "the ground between",
        &["average-land", "very-dry", "medium-dry", "wet", "fresh-water", "sea"],
        "average-land",
    ),
    number("k", "effective Earth radius over the true one", bounds::EARTH_K, "1.3333333333333333"),
    Input {
        key: "profile",
        says: "the ground along the path: lines of distance_m,height_m from the pilot out",
        kind: Kind::Profile,
        default: Some(""),
    },
    number("trees_m", "depth of trees on the way", bounds::TREES, "0"),
    words("trees", "by which fit", &TreeModel::WORDS, "weissberger"),
    words("fading", "fading within metres", &["by-elevation", "rician", "rayleigh"], "by-elevation"),
    number("k_db", "K factor, instead of the one by elevation", bounds::K_FACTOR, ""),
    number("shadowing_db", "standard deviation of shadowing; by height when left out", bounds::SHADOWING, ""),
    number("uncertainty_db", "standard deviation of what isn't known", bounds::SHADOWING, "3.5"),
    number(
        "noise_figure_db",
        "the receivers' noise figure, where it isn't the family's",
        bounds::NOISE_FIGURE,
        "",
    ),
    words(
        "noise",
        "the noise at the site",
        &["quiet", "city", "residential", "rural", "quiet-rural"],
        "quiet",
    ),
    number("noise_floor_dbm", "a measured noise floor instead", FLOOR, ""),
    number("noise_bandwidth_khz", "the bandwidth it was measured in", KHZ, "500"),
    Input {
        key: "other_links",
        says: "other links of the same sort in the air",
        kind: Kind::Whole(COUNT),
        default: Some("0"),
    },
    text("wifi", "Wi-Fi channels that are heard, such as 1,6,11", ""),
    number("wifi_busy", "share of time that each of them sends", bounds::PROBABILITY, "0.3"),
    number("handset_frame_ms", "how often the handset reads its sticks", MS, "5"),
    number("servo_frame_ms", "how often the receiver renews its servo pulses", MS, "20"),
    number("processing_ms", "fixed times besides", MS, "1"),
    words(
        "stepping",
        "whether the handset keeps step with the packets",
        &["free-running", "in-step"],
        "free-running",
    ),
    number("failsafe_s", "the receiver's time-out", FAILSAFE, ""),
    text(
        "sensors",
        "sensors as name:bytes:seconds wanted, set apart by ; (`none` for none)",
        "variometer:4:0.2; battery:4:3; receiver:2:1",
    ),
];

/// The inputs by subject, for the page: a heading and its keys.
pub const GROUPS: &[(&str, &[&str])] = &[
    (
        "The flight",
        &[
            "distance_m",
            "air_height_m",
            "height_spread",
            "speed_m_per_s",
            "span_m",
            "probability",
            "quality",
            "latency_ms",
            "region",
        ],
    ),
    ("The setting", &["mode", "power_mw", "telemetry_one_in", "telemetry_mw"]),
    (
        "The transmitter's antenna",
        &["tx_antenna", "tx_gain_dbi", "tx_off_deg", "tx_cable_db", "polarisation", "ground_height_m"],
    ),
    (
        "The aircraft's antennas",
        &[
            "rx_antennas",
            "rx_antenna",
            "rx_cable_db",
            "telemetry_from",
            "shadow_toward",
            "shadow_db",
            "shadow_deg",
            "motion",
        ],
    ),
    (
        "The way between",
        &["ground", "k", "profile", "trees_m", "trees", "fading", "k_db", "shadowing_db", "uncertainty_db"],
    ),
    (
        "Noise and others",
        &[
            "noise_figure_db",
            "noise",
            "noise_floor_dbm",
            "noise_bandwidth_khz",
            "other_links",
            "wifi",
            "wifi_busy",
        ],
    ),
    ("Time", &["handset_frame_ms", "servo_frame_ms", "processing_ms", "stepping", "failsafe_s", "sensors"]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_wish_stands_in_one_group() {
        for wish in WISHES {
            let groups = GROUPS.iter().filter(|(_, keys)| keys.contains(&wish.key)).count();
            assert_eq!(groups, 1, "{}", wish.key);
        }
        let keys: usize = GROUPS.iter().map(|(_, keys)| keys.len()).sum();
        assert_eq!(keys, WISHES.len());
    }
}
