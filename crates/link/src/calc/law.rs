//! The planning limits, and the arithmetic inside them, by name.

use units::{DIPOLE_OVER_ISOTROPIC, Db, Dbi, Dbm, Hertz, Khz, Metres, Micros, Seconds};

use super::{Answer, CalcError, Formula, Given, Input, Kind, Output, Value};
use crate::bounds::{self, Bound};
use crate::law::{self, Limits, NOTICE, NoLimit, reckon};

/// A share of time in per cent.
const PERCENT: Bound = Bound { name: "duty_percent", unit: "%", low: 0.0, high: 100.0, why: "" };
/// A time of one packet on the air.
const AIRTIME: Bound = Bound { name: "airtime_us", unit: "µs", low: 1.0, high: 10_000_000.0, why: "" };
/// Hop channels.
const CHANNELS: Bound =
    Bound { name: "channels", unit: "", low: 1.0, high: 10_000.0, why: "a link has at least one channel" };
/// A window in which time on one channel adds up.
const WINDOW: Bound = Bound { name: "window_s", unit: "s", low: 0.001, high: 3600.0, why: "" };
/// A field strength.
const FIELD: Bound = Bound { name: "field_mv_per_m", unit: "mV/m", low: 0.000_001, high: 1e6, why: "" };

const GAIN: Input = Input {
    key: "gain_dbi",
    says: "the antenna's gain over isotropic",
    kind: Kind::Number(bounds::GAIN),
    default: None,
};
const FEED_LOSS: Input = Input {
    key: "feed_loss_db",
    says: "loss between transmitter and antenna",
    kind: Kind::Number(bounds::FEED_LOSS),
    default: Some("0"),
};
const DUTY: Input = Input {
    key: "duty_percent",
    says: "share of time on the air",
    kind: Kind::Number(PERCENT),
    default: Some("100"),
};

/// The formulas.
pub const FORMULAS: &[Formula] =
    &[POWER_LIMIT, RADIATED_POWER, DUTY_CYCLE, HOP_DWELL, MEDIUM_UTILISATION, POWER_DENSITY, FIELD_POWER];

const POWER_LIMIT: Formula = Formula {
    name: "power-limit",
    says: "the greatest power into the feed line under a planning limit",
    inputs: &[
        Input { key: "region", says: "region, such as EU, US, GB", kind: Kind::Text, default: None },
        Input {
            key: "band",
            says: "a band (2400-2483.5), a frequency (868.3, 2.4 GHz) or a row's id",
            kind: Kind::Text,
            default: None,
        },
        Input {
            key: "class",
            says: "modulation or use: fhss, digital, narrow, any, words of the row, or a row's id; \
                   left out, every row of the band",
            kind: Kind::Text,
            default: Some(""),
        },
        GAIN,
        FEED_LOSS,
    ],
    outputs: &[
        Output { key: "conducted_dbm", says: "greatest power into the feed line; nothing when not known" },
        Output { key: "remembered_dbm", says: "the same from a figure that was not read" },
        Output { key: "eirp_dbm", says: "what is then radiated, over isotropic" },
        Output { key: "row", says: "the row of the limits" },
        Output { key: "limit", says: "the limit in words" },
        Output { key: "obtained", says: "how the row is known" },
        Output { key: "clause", says: "document, edition, clause" },
    ],
    formula: "EIRP limit: limit - gain + feed loss; ERP limit: limit + 2.15 - gain + feed loss; \
              conducted with a 6 dBi rule: limit - max(0, gain - 6) (a third of that for fixed \
              point-to-point); with a ceiling: min(limit, ceiling - gain + feed loss)",
    holds: "for the rows held; where several are meant the one that allows most decides, and the notes \
            name the others. Planning aid; local rules prevail.",
    source: "each row names its document, edition and clause, and how it was obtained",
    example: &[("region", "EU"), ("band", "2400-2483.5"), ("class", "fhss"), ("gain_dbi", "2.15")],
    run: |given| {
        let found = law::power_limit(
            &Limits::shipped(),
            given.text("region")?,
            given.text("band")?,
            given.text("class")?,
            Dbi(given.number("gain_dbi")?),
            Db(given.number("feed_loss_db")?),
        )
        .map_err(|error| unmatched(&error, given))?;
        let level = |level: Option<Dbm>| level.map_or(Value::Nothing, |level| Value::Number(level.0));
        let mut answer = Answer {
            values: vec![
                ("conducted_dbm", level(found.conducted)),
                ("remembered_dbm", level(found.remembered)),
                ("eirp_dbm", level(found.eirp)),
            ],
            notes: vec![NOTICE.to_owned()],
        }
        .and_text("row", found.row.id.clone())
        .and_text("limit", found.limit)
        .and_text("obtained", found.row.obtained.word())
        .and_text("clause", found.clause);
        answer.notes.extend(found.notes);
        Ok(answer)
    },
};

/// The input at fault, and what would do in its place.
fn unmatched(error: &NoLimit, given: &Given) -> CalcError {
    let (key, wanted) = match error {
        NoLimit::Region(unknown) => ("region", format!("one of {}", unknown.held.join(", "))),
        NoLimit::Band { region, held, .. } => ("band", format!("a band of {region}: {}", held.join(", "))),
        NoLimit::Class { region, held, .. } => {
            ("class", format!("a class of {region} in this band: {}", held.join("; ")))
        }
    };
    let got = given.text(key).unwrap_or_default().chars().take(60).collect();
    CalcError::NotReadable { key, got, wanted }
}

const RADIATED_POWER: Formula = Formula {
    name: "radiated-power",
    says: "what an antenna radiates, over isotropic (EIRP) and over a half-wave dipole (ERP)",
    inputs: &[
        Input {
            key: "conducted_dbm",
            says: "power into the feed line",
            kind: Kind::Number(bounds::LEVEL),
            default: None,
        },
        GAIN,
        FEED_LOSS,
    ],
    outputs: &[
        Output { key: "eirp_dbm", says: "over isotropic" },
        Output { key: "erp_dbm", says: "over a half-wave dipole" },
    ],
    formula: "EIRP = conducted - feed loss + gain; ERP = EIRP - 2.15 dB",
    holds: "always",
    source: "ITU-R V.573 (definitions; from memory); 2.15 dB is the rounded gain of a half-wave dipole \
             that rules use",
    example: &[("conducted_dbm", "20"), ("gain_dbi", "2.15"), ("feed_loss_db", "0.5")],
    run: |given| {
        let conducted = Dbm(given.number("conducted_dbm")?);
        let gain = Dbi(given.number("gain_dbi")?);
        let eirp = conducted - Db(given.number("feed_loss_db")?) + gain.over_isotropic();
        Ok(Answer::number("eirp_dbm", eirp.0).and("erp_dbm", (eirp - DIPOLE_OVER_ISOTROPIC).0))
    },
};

const DUTY_CYCLE: Formula = Formula {
    name: "duty-cycle",
    says: "the share of time on the air of a steady stream of packets",
    inputs: &[
        Input {
            key: "airtime_us",
            says: "time of one packet on the air",
            kind: Kind::Number(AIRTIME),
            default: None,
        },
        Input {
            key: "packet_rate_hz",
            says: "packets a second that this transmitter sends",
            kind: Kind::Number(bounds::PACKET_RATE),
            default: None,
        },
    ],
    outputs: &[
        Output { key: "duty_percent", says: "share of time" },
        Output { key: "seconds_per_hour", says: "the same, of one hour" },
    ],
    formula: "duty = airtime x rate",
    holds: "for one transmitter; the other end of a two-way link has its own",
    source: "the definition in ETSI EN 300 220-1 (from memory)",
    example: &[("airtime_us", "3000"), ("packet_rate_hz", "25")],
    run: |given| {
        let airtime = Micros(given.number("airtime_us")?).seconds();
        let duty = reckon::duty(airtime, Hertz(given.number("packet_rate_hz")?));
        if duty > 1.0 {
            return Err(CalcError::DontGoTogether(
                "`airtime_us` is longer than the time from one packet to the next; lower `packet_rate_hz`"
                    .to_owned(),
            ));
        }
        Ok(Answer::number("duty_percent", duty * 100.0).and("seconds_per_hour", duty * 3600.0))
    },
};

const HOP_DWELL: Formula = Formula {
    name: "hop-dwell",
    says: "the average time on the busiest hop channel within a window",
    inputs: &[
        Input { key: "channels", says: "hop channels in use", kind: Kind::Whole(CHANNELS), default: None },
        Input {
            key: "window_s",
            says: "the window in which the time adds up",
            kind: Kind::Number(WINDOW),
            default: None,
        },
        DUTY,
        Input {
            key: "busiest_share_percent",
            says: "share of the visits that the busiest channel gets; left out, equal use",
            kind: Kind::Number(PERCENT),
            default: Some(""),
        },
    ],
    outputs: &[Output { key: "dwell_ms", says: "time on the busiest channel" }],
    formula: "window x share of visits x duty",
    holds: "as an average over many windows",
    source: "47 CFR 15.247(a)(1)(i), (iii); ETSI EN 300 328 V1.8.1 4.3.1.3",
    example: &[("channels", "50"), ("window_s", "20")],
    run: |given| {
        let equal = 1.0 / f64::from(given.whole("channels")?.max(1));
        let share = given.maybe_number("busiest_share_percent")?.map_or(equal, |percent| percent / 100.0);
        if share < equal * (1.0 - 1e-9) {
            return Err(CalcError::DontGoTogether(format!(
                "`busiest_share_percent` lies below equal use ({:.4} %); the busiest channel can't get less",
                equal * 100.0
            )));
        }
        let window = Seconds(given.number("window_s")?);
        let duty = given.number("duty_percent")? / 100.0;
        Ok(Answer::number("dwell_ms", reckon::accumulated(window, share, duty).ms()))
    },
};

const MEDIUM_UTILISATION: Formula = Formula {
    name: "medium-utilisation",
    says: "radiated power times share of time, as limited for non-adaptive equipment at 2.4 GHz",
    inputs: &[
        Input {
            key: "eirp_dbm",
            says: "radiated power over isotropic",
            kind: Kind::Number(bounds::LEVEL),
            default: None,
        },
        DUTY,
    ],
    outputs: &[
        Output { key: "utilisation_percent", says: "the utilisation; the limit is 10 %" },
        Output { key: "largest_duty_percent", says: "the largest duty that keeps 10 %, at most 100" },
    ],
    formula: "(EIRP / 100 mW) x duty",
    holds: "from 10 dBm EIRP; below that the rule does not apply",
    source: "ETSI EN 300 328 V1.8.1 (2012-04 final draft) 4.3.1.5; the 10 % from a summary of V2.2.2",
    example: &[("eirp_dbm", "18"), ("duty_percent", "15")],
    run: |given| {
        let eirp = Dbm(given.number("eirp_dbm")?);
        let duty = given.number("duty_percent")? / 100.0;
        let largest = (0.1 / reckon::medium_utilisation(eirp, 1.0)).min(1.0);
        let answer = Answer::number("utilisation_percent", reckon::medium_utilisation(eirp, duty) * 100.0)
            .and("largest_duty_percent", largest * 100.0);
        Ok(if eirp < Dbm(10.0) { answer.note("The rule does not apply below 10 dBm EIRP.") } else { answer })
    },
};

const POWER_DENSITY: Formula = Formula {
    name: "power-density",
    says: "the level in a slice of spectrum of power spread flat over a bandwidth",
    inputs: &[
        Input { key: "power_dbm", says: "the power", kind: Kind::Number(bounds::LEVEL), default: None },
        Input {
            key: "bandwidth_hz",
            says: "the bandwidth it fills",
            kind: Kind::Number(bounds::BANDWIDTH),
            default: None,
        },
        Input {
            key: "slice_hz",
            says: "the slice that the rule names",
            kind: Kind::Number(bounds::BANDWIDTH),
            default: Some("3000"),
        },
    ],
    outputs: &[Output { key: "level_dbm", says: "the level in the slice" }],
    formula: "power - 10 log(bandwidth / slice), never more than the power",
    holds: "for a flat spectrum; a real one peaks higher",
    source: "the definition of power spectral density; the slice is the rule's (3 kHz in 47 CFR 15.247(e))",
    example: &[("power_dbm", "20"), ("bandwidth_hz", "500000")],
    run: |given| {
        let level = reckon::flat_density(
            Dbm(given.number("power_dbm")?),
            Khz(given.number("bandwidth_hz")? / 1e3),
            Khz(given.number("slice_hz")? / 1e3),
        );
        Ok(Answer::number("level_dbm", level.0))
    },
};

const FIELD_POWER: Formula = Formula {
    name: "field-power",
    says: "the radiated power that makes a field strength at a distance",
    inputs: &[
        Input { key: "field_mv_per_m", says: "the field strength", kind: Kind::Number(FIELD), default: None },
        Input {
            key: "distance_m",
            says: "where it is measured",
            kind: Kind::Number(bounds::DISTANCE),
            default: Some("3"),
        },
    ],
    outputs: &[
        Output { key: "eirp_dbm", says: "radiated power over isotropic" },
        Output { key: "eirp_mw", says: "the same" },
    ],
    formula: "(E d)^2 / 30",
    holds: "in the far field of free space",
    source: "free space with an impedance of 120 pi ohms; 47 CFR 15.249(a) states such limits",
    example: &[("field_mv_per_m", "50")],
    run: |given| {
        let power =
            reckon::eirp_of_field(given.number("field_mv_per_m")?, Metres(given.number("distance_m")?));
        Ok(Answer::number("eirp_dbm", power.level().0).and("eirp_mw", power.0))
    },
};
