//! The parts of the link sheet by name.

use units::{Db, Dbm, Degrees, Hertz, Khz, Metres, Mhz, Seconds};

use super::{Answer, CalcError, Formula, Given, Input, Kind, Output, Value};
use crate::attitude::{Motion, Transmits};
use crate::bounds::{self, Bound};
use crate::css::{Chip, Coding, Css, Header, Interleaving, LowRate};
use crate::error_rate::PacketCurve;
use crate::fading::{FadedCurve, Scatter, shadowing_by_height};
use crate::fsk::Fsk;
use crate::ground::{Ground, Polarisation, SOIL_FREQUENCY, Soil};
use crate::latency::ONE_IN;
use crate::mode::Modulation;
use crate::noise::{Environment, PUBLISHED_UP_TO, Site, noise_level};
use crate::path::{Path, Trees};
use crate::sheet::{QUALITY, antennas_of, gains_at, held_gain};
use crate::sight::sight_distance;
use crate::telemetry::{self, Sensor, Slots, fit};
use crate::vegetation::TreeModel;
use crate::wish::{WISHES, WishError, ground_antenna, mounting};

const ELEVATION: Input = Input {
    key: "elevation_deg",
    says: "how high the aircraft stands over the horizon",
    kind: Kind::Number(Bound { name: "elevation_deg", unit: "degrees", low: 0.0, high: 85.0, why: "" }),
    default: Some("5"),
};

/// How many of the link sheet's inputs say what the antennas are; they stand together.
const ANTENNA_INPUTS: usize = 14;

const ANTENNAS: [Input; ANTENNA_INPUTS + 1] = {
    let mut inputs = [ELEVATION; ANTENNA_INPUTS + 1];
    let first = place("tx_antenna");
    let mut i = 0;
    while i < ANTENNA_INPUTS {
        inputs[i] = WISHES[first + i];
        i += 1;
    }
    inputs
};

/// The place of an input among the link sheet's.
const fn place(key: &str) -> usize {
    let mut at = 0;
    while at < WISHES.len() {
        if same(WISHES[at].key, key) {
            return at;
        }
        at += 1;
    }
    panic!("no such input")
}

const fn same(a: &str, b: &str) -> bool {
    let (a, b) = (a.as_bytes(), b.as_bytes());
    if a.len() != b.len() {
        return false;
    }
    let mut i = 0;
    while i < a.len() {
        if a[i] != b[i] {
            return false;
        }
        i += 1;
    }
    true
}

const WAY: [Input; 10] = [
    Input {
        key: "frequency_mhz",
        says: "carrier frequency",
        kind: Kind::Number(bounds::FREQUENCY),
        default: None,
    },
    Input {
        key: "distance_m",
        says: "how far away, along the ground",
        kind: Kind::Number(bounds::DISTANCE),
        default: None,
    },
    WISHES[place("ground_height_m")],
    WISHES[place("air_height_m")],
    WISHES[place("polarisation")],
    WISHES[place("ground")],
    WISHES[place("k")],
    WISHES[place("profile")],
    WISHES[place("trees_m")],
    WISHES[place("trees")],
];

const fn out(key: &'static str, says: &'static str) -> Output {
    Output { key, says }
}

/// The formulas.
pub const FORMULAS: &[Formula] = &[
    Formula {
        name: "path-loss",
        says: "loss between the two ends as the link sheet takes it: free space, ground, trees",
        inputs: &WAY,
        outputs: &[
            out("free_space_db", "loss in free space"),
            out("ground_db", "what the ground takes over that; negative where it adds"),
            out("trees_db", "what trees take"),
            out("total_db", "all of it"),
            out("slant_m", "between the two antennas"),
            out("elevation_deg", "how high the aircraft stands over the horizon"),
            out("clearance", "least clearance over 0.552 of the first Fresnel radius"),
            out("diffraction_share", "0 where two rays are reckoned, 1 where diffraction is"),
        ],
        formula: "free space + (1 - w) two rays + w diffraction + trees, w by clearance, without a step",
        holds: "25 MHz to 6 GHz; a still path; nulls of two rays no deeper than 20 dB, ground rough by 5 cm (both \
                judgement)",
        source: "Rec. ITU-R P.525, P.526, P.833; Rappaport 4.5-4.6 (from memory); the joining is the project's own",
        example: &[("frequency_mhz", "2441.75"), ("distance_m", "800")],
        run: path_loss,
    },
    Formula {
        name: "antenna-spread",
        says: "what both antennas come to over the attitudes of a manoeuvre",
        inputs: &ANTENNAS,
        outputs: &[
            out("ground_db", "the transmitter's antenna as it is held, less its cable"),
            out("air_middling_db", "the rest, in the middling attitude"),
            out("expected_db", "both, mean of the power"),
            out("middling_db", "both, half of the attitudes are better"),
            out("worst_of_20_db", "both, 19 of 20 attitudes are better"),
            out("worst_db", "both, the worst of 64"),
        ],
        formula: "gain + gain - 20 log|cos of the fields' angle| (20 dB at most) - shadow - cables, better antenna",
        holds: "64 equally likely attitudes; straight between 0, 2, 5, 10, 20, 30, 45, 60 and 85 degrees",
        source: "Balanis 2.12, 4.6 (from memory) for the patterns; the ranges of the manoeuvres are judgement",
        example: &[("rx_antennas", "two-crossed"), ("motion", "circuit")],
        run: antenna_spread,
    },
    Formula {
        name: "quality-margin",
        says: "the mean level over the sensitivity at which a share of packets arrives in fading",
        inputs: &[
            Input {
                key: "modulation",
                says: "how it modulates; `stated` where only a sensitivity is known",
                kind: Kind::Choice(&["css", "fsk", "stated"]),
                default: Some("css"),
            },
            Input {
                key: "sf",
                says: "spreading factor, for css",
                kind: Kind::Whole(bounds::SPREADING),
                default: Some("7"),
            },
            Input {
                key: "chip",
                says: "which public chips' packet format, for css",
                kind: Kind::Choice(&["sub-ghz", "2g4"]),
                default: Some("2g4"),
            },
            Input {
                key: "bandwidth_hz",
                says: "bandwidth, for css",
                kind: Kind::Number(crate::css::BANDWIDTH),
                default: Some("812500"),
            },
            Input {
                key: "interleaving",
                says: "interleaving, for css",
                kind: Kind::Choice(&["standard", "long"]),
                default: Some("standard"),
            },
            Input {
                key: "preamble_symbols",
                says: "preamble as programmed, for css",
                kind: Kind::Whole(bounds::PREAMBLE),
                default: Some("12"),
            },
            Input {
                key: "header",
                says: "whether the packet says its own length, for css",
                kind: Kind::Choice(&["explicit", "implicit"]),
                default: Some("explicit"),
            },
            Input { key: "crc", says: "16-bit CRC, for css", kind: Kind::Switch, default: Some("on") },
            Input {
                key: "coding_rate",
                says: "coding rate, for css",
                kind: Kind::Choice(&["4/5", "4/6", "4/7", "4/8"]),
                default: Some("4/5"),
            },
            Input {
                key: "payload_bytes",
                says: "bytes in a packet",
                kind: Kind::Whole(bounds::PAYLOAD),
                default: Some("10"),
            },
            Input {
                key: "quality",
                says: "share of packets that must arrive",
                kind: Kind::Number(QUALITY),
                default: Some("0.8"),
            },
            Input {
                key: "fading",
                says: "fading within metres",
                kind: Kind::Choice(&["rician", "rayleigh"]),
                default: Some("rician"),
            },
            Input {
                key: "k_db",
                says: "k factor, for rician",
                kind: Kind::Number(bounds::K_FACTOR),
                default: Some("10"),
            },
        ],
        outputs: &[out("margin_db", "mean level over the sensitivity; negative where less is enough")],
        formula: "the level at which the mean over fading of (1 - packet loss) is the share",
        holds: "one packet in a hundred is lost at the sensitivity; fading that changes from packet to packet",
        source: "Proakis 5.4 for the loss of a symbol, Simon and Alouini for the fading (both from memory)",
        example: &[("sf", "7"), ("quality", "0.8"), ("k_db", "10")],
        run: quality_margin,
    },
    Formula {
        name: "ground-constants",
        says: "permittivity and conductivity of the ground",
        inputs: &[
            Input {
                key: "ground",
                says: "which ground",
                kind: Kind::Choice(&["very-dry", "medium-dry", "wet"]),
                default: Some("medium-dry"),
            },
            Input {
                key: "frequency_mhz",
                says: "carrier frequency, 1 to 10 GHz",
                kind: Kind::Number(SOIL_FREQUENCY),
                default: Some("2450"),
            },
        ],
        outputs: &[
            out("permittivity", "relative, real part"),
            out("conductivity_s_m", "conductivity, siemens a metre"),
        ],
        formula: "a f^b and c f^d, f in GHz",
        holds: "1 to 10 GHz; below that the link sheet takes the low-frequency values of Rec. ITU-R P.527",
        source: "Rec. ITU-R P.2040-3, table 3 (several transcriptions agree)",
        example: &[("ground", "medium-dry"), ("frequency_mhz", "2450")],
        run: |given| {
            let soil = match given.choice("ground")? {
                "very-dry" => Soil::VeryDry,
                "wet" => Soil::Wet,
                _ => Soil::MediumDry,
            };
            let ground = soil.at(Mhz(given.number("frequency_mhz")?))?;
            Ok(Answer::number("permittivity", ground.permittivity)
                .and("conductivity_s_m", ground.conductivity_s_m))
        },
    },
    Formula {
        name: "noise-level",
        says: "the noise that a packet must be heard over",
        inputs: &[
            WAY[0],
            Input {
                key: "bandwidth_hz",
                says: "bandwidth of the signal",
                kind: Kind::Number(bounds::BANDWIDTH),
                default: None,
            },
            Input {
                key: "noise_figure_db",
                says: "the receiver's noise figure",
                kind: Kind::Number(bounds::NOISE_FIGURE),
                default: Some("6"),
            },
            WISHES[place("noise")],
            WISHES[place("noise_floor_dbm")],
            WISHES[place("noise_bandwidth_khz")],
        ],
        outputs: &[
            out("level_dbm", "the noise with that from outside"),
            out("rise_db", "over the receiver's own"),
        ],
        formula: "powers add: k 290 K B F, and from outside Fam over k 290 K B, or a measured floor scaled to B",
        holds: "white noise; man-made noise is published up to 250 MHz only and extrapolated beyond",
        source: "Rec. ITU-R P.372-16, 6.1 (transcriptions); k T B at 290 K",
        example: &[("frequency_mhz", "868"), ("bandwidth_hz", "125000"), ("noise", "city")],
        run: noise,
    },
    Formula {
        name: "shadowing-by-height",
        says: "the standard deviation of shadowing that the link sheet takes at a height",
        inputs: &[WISHES[place("air_height_m")]],
        outputs: &[out("shadowing_db", "standard deviation, log-normal")],
        formula: "4.2 exp(-0.0046 h), held beyond 300 m",
        holds: "open country, an aircraft in sight; published for 10 to 300 m",
        source: "3GPP TR 36.777 v15.0, table B-3 (transcription)",
        example: &[("air_height_m", "60")],
        run: |given| {
            let height = Metres(given.number("air_height_m")?);
            Ok(Answer::number("shadowing_db", shadowing_by_height(height).0))
        },
    },
    Formula {
        name: "sight-distance",
        says: "how far the attitude of an aircraft can be told by eye",
        inputs: &[WISHES[place("span_m")]],
        outputs: &[out("distance_m", "where the span appears under 5 minutes of arc")],
        formula: "span / tan(5')",
        holds: "clear air, normal sight; a judgement, no source",
        source: "a judgement: the eye parts lines one minute of arc apart, telling a tilt wants several times that",
        example: &[("span_m", "1.5")],
        run: |given| Ok(Answer::number("distance_m", sight_distance(Metres(given.number("span_m")?))?.0)),
    },
    Formula {
        name: "sensor-load",
        says: "how much of its telemetry slots a sensor takes, and how often its value comes",
        inputs: &[
            Input {
                key: "packet_rate_hz",
                says: "slots a second, telemetry slots among them",
                kind: Kind::Number(bounds::PACKET_RATE),
                default: None,
            },
            Input {
                key: "telemetry_one_in",
                says: "one slot in so many for telemetry",
                kind: Kind::Whole(ONE_IN),
                default: None,
            },
            Input {
                key: "payload_bytes",
                says: "bytes in a packet",
                kind: Kind::Whole(bounds::PAYLOAD),
                default: Some("10"),
            },
            Input {
                key: "bytes",
                says: "bytes of the sensor's frame",
                kind: Kind::Whole(bounds::PAYLOAD),
                default: Some("4"),
            },
            Input {
                key: "wanted_s",
                says: "the longest wanted time from one value to the next",
                kind: Kind::Number(telemetry::WANTED),
                default: Some("0.2"),
            },
        ],
        outputs: &[
            out("load", "bytes wanted over bytes there are; over 1 can't fit"),
            out("gap_s", "the longest time from one value to the next, alone in the slots"),
            out("fits", "yes or no"),
        ],
        formula: "bytes / wanted / (rate / one in so many x payload)",
        holds: "no packet lost, the whole payload for sensors; several sensors: `telemetry` on the command line",
        source: "counting",
        example: &[("packet_rate_hz", "50"), ("telemetry_one_in", "10")],
        run: sensor_load,
    },
];

fn path_loss(given: &Given) -> Result<Answer, CalcError> {
    let depth = given.number("trees_m")?;
    let path = Path {
        ground_height: Metres(given.number("ground_height_m")?),
        air_height: Metres(given.number("air_height_m")?),
        polarisation: Polarisation::from_word(given.choice("polarisation")?)
            .unwrap_or(Polarisation::Vertical),
        ground: Ground::named(given.choice("ground")?).unwrap_or(Ground::AVERAGE_LAND),
        earth_k: given.number("k")?,
        profile: given.maybe_profile("profile")?.cloned(),
        trees: (depth > 0.0).then_some(Trees {
            model: TreeModel::from_word(given.choice("trees")?).unwrap_or(TreeModel::Weissberger),
            depth: Metres(depth),
        }),
    };
    let loss = path.loss(Mhz(given.number("frequency_mhz")?), Metres(given.number("distance_m")?))?;
    Ok(Answer::number("free_space_db", loss.free_space.0)
        .and("ground_db", loss.ground.0)
        .and("trees_db", loss.trees.0)
        .and("total_db", loss.total.0)
        .and("slant_m", loss.slant.0)
        .and("elevation_deg", loss.elevation.0)
        .and("clearance", loss.clearance)
        .and("diffraction_share", loss.diffraction_share))
}

fn antenna_spread(given: &Given) -> Result<Answer, CalcError> {
    let value = |why: WishError| match why {
        WishError::Value(why) => why,
        other => CalcError::DontGoTogether(other.to_string()),
    };
    let ground = ground_antenna(given).map_err(value)?;
    let sends = Transmits::from_word(given.choice("telemetry_from")?).unwrap_or(Transmits::Better);
    let mounting = mounting(given).map_err(value)?.transmitting(sends);
    let motion = Motion::from_word(given.choice("motion")?).unwrap_or(Motion::Circuit);
    let gains = gains_at(&ground, &mounting, motion, Degrees(given.number("elevation_deg")?))?;
    let both = antennas_of(&gains);
    let alone = held_gain(&ground).over_isotropic() - ground.feed_loss;
    Ok(Answer::number("ground_db", alone.0)
        .and("air_middling_db", (both.middling - alone).0)
        .and("expected_db", both.expected.0)
        .and("middling_db", both.middling.0)
        .and("worst_of_20_db", both.worst_of_20.0)
        .and("worst_db", both.worst.0))
}

fn quality_margin(given: &Given) -> Result<Answer, CalcError> {
    let modulation = match given.choice("modulation")? {
        "css" => {
            let denominator = match given.choice("coding_rate")? {
                "4/6" => 6,
                "4/7" => 7,
                "4/8" => 8,
                _ => 5,
            };
            Modulation::Css(Css {
                chip: if given.choice("chip")? == "sub-ghz" { Chip::SubGhz } else { Chip::Ghz2g4 },
                sf: u8::try_from(given.whole("sf")?).unwrap_or(u8::MAX),
                bandwidth: Khz(given.number("bandwidth_hz")? / 1e3),
                coding: Coding {
                    denominator,
                    interleaving: match given.choice("interleaving")? {
                        "long" => Interleaving::Long,
                        _ => Interleaving::Standard,
                    },
                },
                preamble_symbols: given.whole("preamble_symbols")?,
                header: if given.choice("header")? == "implicit" {
                    Header::Implicit
                } else {
                    Header::Explicit
                },
                crc: given.on("crc")?,
                low_rate: LowRate::Auto,
            })
        }
        "fsk" => Modulation::Fsk(Fsk::neutral(100.0, Khz(50.0))),
        _ => Modulation::Stated { sensitivity: Dbm(-100.0), bandwidth: None, airtime: None },
    };
    let curve = PacketCurve::new(&modulation, given.whole("payload_bytes")?)?;
    let scatter = match given.choice("fading")? {
        "rayleigh" => Scatter::Rayleigh,
        _ => Scatter::Rician { k: Db(given.number("k_db")?) },
    };
    let answer =
        Answer::number("margin_db", FadedCurve::new(&curve, scatter)?.needed(given.number("quality")?).0);
    Ok(match curve.assumed() {
        Some(assumed) => answer.note(assumed),
        None => answer,
    })
}

fn noise(given: &Given) -> Result<Answer, CalcError> {
    let site = match given.maybe_number("noise_floor_dbm")? {
        Some(floor) => {
            Site::Measured { floor: Dbm(floor), bandwidth: Khz(given.number("noise_bandwidth_khz")?) }
        }
        None => Environment::from_word(given.choice("noise")?).map_or(Site::Quiet, Site::Environment),
    };
    let frequency = Mhz(given.number("frequency_mhz")?);
    let bandwidth = Khz(given.number("bandwidth_hz")? / 1e3);
    let figure = Db(given.number("noise_figure_db")?);
    let all = noise_level(frequency, bandwidth, figure, &site)?;
    let own = noise_level(frequency, bandwidth, figure, &Site::Quiet)?;
    let answer = Answer::number("level_dbm", all.0).and("rise_db", (all - own).0);
    Ok(match site {
        Site::Environment(_) if frequency > PUBLISHED_UP_TO => {
            answer.note("extrapolated: Rec. ITU-R P.372 publishes man-made noise up to 250 MHz")
        }
        _ => answer,
    })
}

fn sensor_load(given: &Given) -> Result<Answer, CalcError> {
    let rate = Hertz(given.number("packet_rate_hz")? / given.number("telemetry_one_in")?);
    let slots = Slots { per_second: rate, bytes: given.whole("payload_bytes")? };
    slots.check()?;
    let sensor = Sensor {
        name: "sensor".to_owned(),
        bytes: given.whole("bytes")?,
        wanted: Seconds(given.number("wanted_s")?),
    };
    sensor.check()?;
    let fitted = fit(std::slice::from_ref(&sensor), &slots);
    let gap = fitted.sensors.first().and_then(|served| served.achieved);
    let gap = gap.map_or(Value::Nothing, |gap| Value::Number(gap.0));
    let fits = if fitted.fits { "yes" } else { "no" };
    Ok(Answer {
        values: vec![
            ("load", Value::Number(fitted.load)),
            ("gap_s", gap),
            ("fits", Value::Text(fits.to_owned())),
        ],
        notes: Vec::new(),
    })
}
