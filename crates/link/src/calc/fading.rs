//! Formulas of fading and of time by name.

use units::{Db, Dbm, Degrees, Hertz, Metres, MetresPerSecond, Mhz, Micros, Seconds};

use super::{Answer, CalcError, Formula, Given, Input, Kind, Output};
use crate::aerial;
use crate::bounds::{self, Bound};
use crate::error_rate::PacketCurve;
use crate::fading::{self, Scatter};
use crate::failsafe::{self, Failsafe};
use crate::latency::{self, Stepping, Timing};
use crate::mode::Modulation;

const FRAME_MS: Bound = Bound {
    name: "frame_ms",
    unit: "ms",
    low: 0.0,
    high: 100.0,
    why: "handsets and receivers renew their frames at least ten times a second; 0 for at once",
};
const PROCESSING_MS: Bound = Bound {
    name: "processing_ms",
    unit: "ms",
    low: 0.0,
    high: 1000.0,
    why: "filters, serial lines, decoding",
};
const MINUTES: Bound = Bound { name: "minutes", unit: "min", low: 0.01, high: 10_000.0, why: "" };
const ELEVATION: Bound = Bound {
    name: "elevation_deg",
    unit: "degrees",
    low: 0.0,
    high: 90.0,
    why: "from the horizon to straight overhead",
};

const FADING: &[&str] = &["rician", "rayleigh"];
const FADING_INPUT: Input = Input {
    key: "fading",
    says: "with a direct wave, or without any",
    kind: Kind::Choice(FADING),
    default: Some("rician"),
};
const K: Input = Input {
    key: "k_db",
    says: "the direct wave's power over that of all scattered ones",
    kind: Kind::Number(bounds::K_FACTOR),
    default: None,
};
const K_OR_LEFT_OUT: Input = Input {
    key: "k_db",
    says: "the direct wave's power over that of all scattered ones; only for rician",
    kind: Kind::Number(bounds::K_FACTOR),
    default: Some("10"),
};
const MARGIN: Input = Input {
    key: "margin_db",
    says: "mean power over the threshold",
    kind: Kind::Number(bounds::MARGIN),
    default: None,
};
const PROBABILITY: Output =
    Output { key: "probability", says: "chance that the level is under the threshold" };
const SIMON: &str = "Simon and Alouini, Digital Communication over Fading Channels (from memory); checked \
                     against the noncentral chi-square distribution of scipy 1.17.1";

fn scatter(given: &Given) -> Result<Scatter, CalcError> {
    Ok(match given.choice("fading")? {
        "rayleigh" => Scatter::Rayleigh,
        _ => Scatter::Rician { k: Db(given.number("k_db")?) },
    })
}

/// The formulas.
pub const FORMULAS: &[Formula] =
    &[RICIAN, RAYLEIGH, FADE_MARGIN, SHADOWING, K_BY_ELEVATION, FAILSAFE, STICK_LATENCY, AERIAL];

const RICIAN: Formula = Formula {
    name: "rician-outage",
    says: "how often fading with a direct wave takes the level under a threshold",
    inputs: &[K, MARGIN],
    outputs: &[PROBABILITY],
    formula: "1 - Q1(sqrt(2 K), sqrt(2 (K + 1) / F)), Q1 Marcum's Q function, F the margin as a ratio",
    holds: "one steady direct wave and many weak scattered ones",
    source: SIMON,
    example: &[("k_db", "10"), ("margin_db", "10")],
    run: |given| {
        let scatter = Scatter::Rician { k: Db(given.number("k_db")?) };
        let outage = fading::outage(scatter, Db(given.number("margin_db")?))?;
        Ok(Answer::number("probability", outage))
    },
};

const RAYLEIGH: Formula = Formula {
    name: "rayleigh-outage",
    says: "how often fading without a direct wave takes the level under a threshold",
    inputs: &[MARGIN],
    outputs: &[PROBABILITY],
    formula: "1 - exp(-1/F), F the margin as a ratio",
    holds: "many scattered waves and no direct one",
    source: SIMON,
    example: &[("margin_db", "20")],
    run: |given| {
        let outage = fading::outage(Scatter::Rayleigh, Db(given.number("margin_db")?))?;
        Ok(Answer::number("probability", outage))
    },
};

const FADE_MARGIN: Formula = Formula {
    name: "fade-margin",
    says: "the margin over the threshold that keeps outages this rare",
    inputs: &[
        FADING_INPUT,
        K_OR_LEFT_OUT,
        Input {
            key: "probability",
            says: "the outage that is put up with",
            kind: Kind::Number(bounds::WANTED_PROBABILITY),
            default: None,
        },
    ],
    outputs: &[Output {
        key: "margin_db",
        says: "mean power over the threshold; negative where the outage is greater than the one at the mean",
    }],
    formula: "rician-outage or rayleigh-outage solved for the margin",
    holds: "as rician-outage and rayleigh-outage",
    source: SIMON,
    example: &[("k_db", "10"), ("probability", "0.01")],
    run: |given| {
        let margin = fading::margin_for(scatter(given)?, given.number("probability")?)?;
        Ok(Answer::number("margin_db", margin.0))
    },
};

const SHADOWING: Formula = Formula {
    name: "shadowing-probability",
    says: "how often shadowing alone eats a margin",
    inputs: &[
        MARGIN,
        Input {
            key: "shadowing_db",
            says: "standard deviation of the shadowing",
            kind: Kind::Number(bounds::SHADOWING),
            default: Some("4"),
        },
    ],
    outputs: &[PROBABILITY],
    formula: "the normal distribution's share under -margin / shadowing",
    holds: "shadowing that is normal in decibels, over its mean",
    source: "common practice; 3GPP TR 36.777 v15.0 states shadowing so (seen in a transcription)",
    example: &[("margin_db", "8"), ("shadowing_db", "4")],
    run: |given| {
        let deviation = Db(given.number("shadowing_db")?);
        let outage = fading::shadowing_outage(Db(given.number("margin_db")?), deviation)?;
        Ok(Answer::number("probability", outage))
    },
};

const K_BY_ELEVATION: Formula = Formula {
    name: "k-by-elevation",
    says: "the K factor that the link sheet takes for an aircraft at this elevation",
    inputs: &[Input {
        key: "elevation_deg",
        says: "of the aircraft over the horizon",
        kind: Kind::Number(ELEVATION),
        default: None,
    }],
    outputs: &[Output { key: "k_db", says: "the direct wave's power over that of all scattered ones" }],
    formula: "15 - 9 exp(-elevation / 5)",
    holds: "open country; 15 dB overhead is published, 6 dB at the horizon and the 5 degrees are judgement",
    source: "3GPP TR 36.777 v15.0 B.1.3, alternative 3: 15 dB (seen in a transcription); the rest judgement",
    example: &[("elevation_deg", "10")],
    run: |given| {
        let k = fading::k_by_elevation(Degrees(given.number("elevation_deg")?));
        Ok(Answer::number("k_db", k.0))
    },
};

const FAILSAFE: Formula = Formula {
    name: "failsafe-chance",
    says: "how likely a receiver falls into failsafe while the level fades in flight",
    inputs: &[
        Input {
            key: "margin_db",
            says: "mean power over the sensitivity, where one packet in a hundred is lost",
            kind: Kind::Number(bounds::MARGIN),
            default: None,
        },
        FADING_INPUT,
        K_OR_LEFT_OUT,
        Input {
            key: "speed_m_per_s",
            says: "speed of the aircraft",
            kind: Kind::Number(bounds::SPEED),
            default: Some("20"),
        },
        Input {
            key: "frequency_mhz",
            says: "carrier frequency",
            kind: Kind::Number(bounds::FREQUENCY),
            default: Some("2450"),
        },
        Input {
            key: "packet_rate_hz",
            says: "control packets a second",
            kind: Kind::Number(bounds::PACKET_RATE),
            default: None,
        },
        Input {
            key: "timeout_s",
            says: "time without a packet after which failsafe begins",
            kind: Kind::Number(failsafe::TIMEOUT),
            default: Some("0.5"),
        },
        Input { key: "minutes", says: "time looked at", kind: Kind::Number(MINUTES), default: Some("10") },
        Input {
            key: "payload_bytes",
            says: "bytes in a packet",
            kind: Kind::Whole(bounds::PAYLOAD),
            default: Some("8"),
        },
    ],
    outputs: &[
        Output { key: "chance", says: "chance of any failsafe in the time" },
        Output { key: "rate_per_s", says: "failsafes that begin a second, out of failsafe" },
        Output { key: "share_of_time", says: "share of the time in failsafe" },
        Output { key: "doppler_hz", says: "greatest Doppler shift" },
    ],
    formula: "P = E[L] (E[L L']/E[L])^(looks - 1) over looks of 0.38 Doppler periods or one packet, two at \
              least; rate = (P - P one packet longer) / (interval (1 - P)); \
              chance = 1 - (1 - P) exp(-rate time)",
    holds: "scattered waves from all around; within 0.6 to 3 times a simulation of the whole process, and \
            within 0.25 to 2 times for an aircraft that all but stands still; no shadowing, no antenna \
            nulls, no help from hopping",
    source: "Clarke 1968; Zorzi, Rao and Milstein 1995 (both from memory)",
    example: &[("margin_db", "-2"), ("k_db", "10"), ("packet_rate_hz", "50")],
    run: |given| {
        let modulation = Modulation::Stated { sensitivity: Dbm(-100.0), bandwidth: None, airtime: None };
        let curve = PacketCurve::new(&modulation, given.whole("payload_bytes")?)?;
        let speed = MetresPerSecond(given.number("speed_m_per_s")?);
        let doppler = failsafe::doppler(speed, Mhz(given.number("frequency_mhz")?))?;
        let how = Failsafe {
            timeout: Seconds(given.number("timeout_s")?),
            packet_interval: Hertz(given.number("packet_rate_hz")?).period(),
            doppler,
            free: 1.0,
        };
        let outlook = failsafe::outlook(&curve, scatter(given)?, Db(given.number("margin_db")?), &how)?;
        let time = Seconds(given.number("minutes")? * 60.0);
        let answer = Answer::number("chance", outlook.chance_in(time))
            .and("rate_per_s", outlook.begins_per_second)
            .and("share_of_time", outlook.share_of_time)
            .and("doppler_hz", doppler.0);
        Ok(match curve.assumed() {
            Some(assumed) => answer.note(assumed),
            None => answer,
        })
    },
};

const STICK_LATENCY: Formula = Formula {
    name: "stick-latency",
    says: "how long a stick movement takes to the servo",
    inputs: &[
        Input {
            key: "handset_frame_ms",
            says: "how often the handset reads its sticks",
            kind: Kind::Number(FRAME_MS),
            default: Some("4"),
        },
        Input {
            key: "packet_rate_hz",
            says: "slots a second, telemetry slots among them",
            kind: Kind::Number(bounds::PACKET_RATE),
            default: None,
        },
        Input {
            key: "airtime_us",
            says: "a packet's time on the air",
            kind: Kind::Number(latency::AIRTIME),
            default: None,
        },
        Input {
            key: "servo_frame_ms",
            says: "how often the receiver renews its pulses",
            kind: Kind::Number(FRAME_MS),
            default: Some("20"),
        },
        Input {
            key: "processing_ms",
            says: "fixed times besides",
            kind: Kind::Number(PROCESSING_MS),
            default: Some("0"),
        },
        Input {
            key: "telemetry_one_in",
            says: "one slot in so many carries telemetry; leave out for none",
            kind: Kind::Whole(latency::ONE_IN),
            default: Some(""),
        },
        Input {
            key: "in_step",
            says: "whether the handset finishes a frame just when a packet starts",
            kind: Kind::Switch,
            default: Some("off"),
        },
        Input {
            key: "loss",
            says: "share of packets lost",
            kind: Kind::Number(latency::LOSS),
            default: Some("0"),
        },
    ],
    outputs: &[
        Output { key: "mean_ms", says: "on average" },
        Output { key: "median_ms", says: "half arrive within it" },
        Output { key: "p95_ms", says: "95 of 100 arrive within it" },
        Output { key: "p99_ms", says: "99 of 100 arrive within it" },
    ],
    formula: "uniform(handset frame) + uniform(interval) + interval * (telemetry slots and lost packets) + \
              airtime + processing + uniform(servo frame); in step the first two are one \
              uniform(the longer of both)",
    holds: "losses independent of each other; without the pulse's own width and the servo's motion",
    source: "elementary probability",
    example: &[("packet_rate_hz", "250"), ("airtime_us", "3172")],
    run: |given| {
        let ms = |key| given.number(key).map(|ms| Seconds(ms * 1e-3));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "read as a whole number in a range"
        )]
        let telemetry_one_in = given.maybe_number("telemetry_one_in")?.map(|one_in| one_in as u32);
        let timing = Timing {
            handset_frame: ms("handset_frame_ms")?,
            packet_interval: Hertz(given.number("packet_rate_hz")?).period(),
            airtime: Micros(given.number("airtime_us")?),
            servo_frame: ms("servo_frame_ms")?,
            telemetry_one_in,
            in_step: if given.on("in_step")? { Stepping::HandsetInStep } else { Stepping::FreeRunning },
            processing: ms("processing_ms")?,
        };
        let latency = latency::latency(&timing, given.number("loss")?)?;
        Ok(Answer::number("mean_ms", latency.mean.ms())
            .and("median_ms", latency.median.ms())
            .and("p95_ms", latency.p95.ms())
            .and("p99_ms", latency.p99.ms()))
    },
};

const AERIAL: Formula = Formula {
    name: "aerial-rural-loss",
    says: "published path loss from a mast over open country to an aircraft, to compare with",
    inputs: &[
        Input {
            key: "frequency_mhz",
            says: "carrier frequency",
            kind: Kind::Number(aerial::FREQUENCY),
            default: None,
        },
        Input {
            key: "height_m",
            says: "height of the aircraft above the ground",
            kind: Kind::Number(aerial::HEIGHT),
            default: None,
        },
        Input {
            key: "distance_m",
            says: "distance; slant for the loss, along the ground for the chance of sight",
            kind: Kind::Number(aerial::DISTANCE),
            default: None,
        },
    ],
    outputs: &[
        Output { key: "loss_db", says: "path loss in line of sight" },
        Output { key: "loss_no_sight_db", says: "path loss out of sight" },
        Output { key: "sight_probability", says: "chance of line of sight" },
        Output { key: "shadowing_db", says: "standard deviation of shadowing in sight" },
        Output { key: "k_db", says: "mean K factor in sight" },
    ],
    formula: "sight max(23.9 - 1.8 log h, 20) log d + 20 log(40 pi f_GHz / 3); no sight \
              max(sight, -12 + (35 - 5.3 log h) log d + 20 log(40 pi f_GHz / 3)); \
              shadowing 4.2 exp(-0.0046 h); K 22.55 log h - 4.72",
    holds: "a mast of 35 m, heights of 10 to 300 m, 10 m to 10 km; the K factor spreads very widely",
    source: "3GPP TR 36.777 v15.0 annex B, RMa-AV (seen in a transcription)",
    example: &[("frequency_mhz", "2450"), ("height_m", "60"), ("distance_m", "2000")],
    run: aerial_answer,
};

fn aerial_answer(given: &Given) -> Result<Answer, CalcError> {
    let height = Metres(given.number("height_m")?);
    let distance = Metres(given.number("distance_m")?);
    let frequency = Mhz(given.number("frequency_mhz")?);
    let loss = aerial::rural_loss(frequency, height, distance)?;
    Ok(Answer::number("loss_db", loss.sight.0)
        .and("loss_no_sight_db", loss.no_sight.0)
        .and("sight_probability", aerial::rural_sight(height, distance)?)
        .and("shadowing_db", aerial::rural_shadowing(height)?.0)
        .and("k_db", aerial::rural_k(height)?.mean.0))
}
