//! Formulas of antennas by name.

use units::{Db, Dbi, Degrees, Metres, Mhz};

use super::{Answer, CalcError, Formula, Given, Input, Kind, Output, Value};
use crate::antenna::{self, Hand};
use crate::bounds::{self, Bound};
use crate::mismatch::{self, Element};

const PAIRS: &[&str] = &[
    "linear-linear",
    "circular-linear",
    "circular-same-hand",
    "circular-opposite-hand",
    "elliptical-linear",
];

const ELEMENT: Input = Input {
    key: "antenna",
    says: "two arms, or one over a plane",
    kind: Kind::Choice(Element::WORDS),
    default: Some("monopole"),
};

const RADIUS: Input = Input {
    key: "radius_mm",
    says: "of the wire",
    kind: Kind::Number(mismatch::RADIUS),
    default: Some("0.25"),
};

const MISMATCH: &str = "Balanis, Antenna Theory, 3rd edition, 4-70, 4-79, 8-60, 8-61 (from memory; checked by \
                        integrating the fields)";

const THIN: &str = "a thin straight wire without loss, alone or over an endless plane; within a tenth of a \
                    whole wave (two arms) or half a wave (one) the loss is overstated; matching parts are not \
                    in it; a loss is 60 dB at most";

/// The formulas.
pub const FORMULAS: &[Formula] = &[
    Formula {
        name: "dipole-gain",
        says: "gain of a half-wave dipole in a direction",
        inputs: &[Input {
            key: "angle_deg",
            says: "from the wire; 90 is broadside",
            kind: Kind::Number(bounds::ANGLE),
            default: Some("90"),
        }],
        outputs: &[
            Output { key: "gain_dbi", says: "gain over isotropic; not below -60" },
            Output { key: "relative_db", says: "over its broadside gain" },
        ],
        formula: "20 log(cos((pi/2) cos t)/sin t) + 2.1509 dBi",
        holds: "a thin straight wire without loss, far away and alone; on a real aircraft nulls fill up",
        source: "Balanis, Antenna Theory, 4.6 (from memory); directivity 4/Cin(2 pi) computed anew",
        example: &[("angle_deg", "30")],
        run: |given| {
            let angle = Degrees(given.number("angle_deg")?);
            Ok(Answer::number("gain_dbi", antenna::dipole_gain(angle).0)
                .and("relative_db", antenna::dipole_relative(angle).0))
        },
    },
    Formula {
        name: "antenna-gain",
        says: "gain of an antenna in a direction",
        inputs: &[
            Input {
                key: "antenna",
                says: "what it is",
                kind: Kind::Choice(antenna::Kind::WORDS),
                default: Some("half-wave-dipole"),
            },
            Input {
                key: "angle_deg",
                says: "from the wire of a straight antenna, from the middle of a beam",
                kind: Kind::Number(bounds::ANGLE),
                default: None,
            },
            Input {
                key: "gain_dbi",
                says: "at the peak, for patch, yagi and circular",
                kind: Kind::Number(bounds::GAIN),
                default: Some(""),
            },
            Input {
                key: "beamwidth_deg",
                says: "between the half-power directions, for patch and yagi",
                kind: Kind::Number(antenna::BEAMWIDTH),
                default: Some(""),
            },
        ],
        outputs: &[
            Output { key: "gain_dbi", says: "gain over isotropic; not below -60" },
            Output { key: "peak_dbi", says: "gain in the best direction" },
        ],
        formula: "dipole: see dipole-gain; patch and yagi: G + 10 n log(cos t) with n so that half the \
                  beamwidth is 3.0103 dB down, not below G - 20 dB (patch) or G - 15 dB (yagi)",
        holds: "shapes, not measurements: side lobes, usual gains and what an antenna gives that is off are \
                judgement",
        source: "dipole: Balanis, Antenna Theory, 4.6 (from memory); power of the cosine: common practice, \
                 no source",
        example: &[("antenna", "patch"), ("angle_deg", "35"), ("gain_dbi", "8"), ("beamwidth_deg", "70")],
        run: antenna_gain,
    },
    Formula {
        name: "polarisation-loss",
        says: "loss between two antennas whose fields lie differently",
        inputs: &[
            Input {
                key: "between",
                says: "the two fields",
                kind: Kind::Choice(PAIRS),
                default: Some("linear-linear"),
            },
            Input {
                key: "angle_deg",
                says: "between two straight fields, or from the greater axis of an ellipse",
                kind: Kind::Number(bounds::ANGLE),
                default: Some("0"),
            },
            Input {
                key: "axial_ratio_db",
                says: "greater over smaller axis of an ellipse",
                kind: Kind::Number(antenna::AXIAL_RATIO),
                default: Some("3"),
            },
        ],
        outputs: &[
            Output { key: "loss_db", says: "loss on paper; nothing when the fields don't couple at all" },
            Output { key: "practical_db", says: "what reflections leave of it: never more than 20 dB" },
        ],
        formula: "linear -20 log|cos angle|; circular to linear 3.0103 dB; elliptical to linear \
                  -10 log((r^2 cos^2 t + sin^2 t)/(1 + r^2))",
        holds: "plane waves; on a real link reflections leave 15 to 25 dB of a perfect mismatch (common \
                practice, no source)",
        source: "Balanis, Antenna Theory, 2.12 (from memory)",
        example: &[("between", "linear-linear"), ("angle_deg", "45")],
        run: polarisation_loss,
    },
    Formula {
        name: "antenna-impedance",
        says: "what a straight antenna is at its feed, and what its mismatch to 50 ohm loses",
        inputs: &[
            ELEMENT,
            Input {
                key: "frequency_mhz",
                says: "where it is used",
                kind: Kind::Number(bounds::FREQUENCY),
                default: None,
            },
            Input {
                key: "length_mm",
                says: "from tip to tip, or of the one arm; left out: resonant",
                kind: Kind::Number(mismatch::LENGTH),
                default: Some(""),
            },
            RADIUS,
        ],
        outputs: &[
            Output { key: "length_mm", says: "the length that was taken" },
            Output { key: "resistance_ohm", says: "what takes power" },
            Output { key: "reactance_ohm", says: "what doesn't; below 0 it is too short" },
            Output { key: "mismatch_db", says: "lost to a 50 ohm receiver or transmitter" },
            Output { key: "range_percent", says: "of the range in free space that is left" },
        ],
        formula: "induced EMF, current of a sine: R and X by sine and cosine integrals of 2 pi length/wavelength; \
                  -10 log(1 - |(Z - 50)/(Z + 50)|^2)",
        holds: THIN,
        source: MISMATCH,
        example: &[("antenna", "dipole"), ("frequency_mhz", "868"), ("length_mm", "164")],
        run: antenna_impedance,
    },
    Formula {
        name: "wrong-band-antenna",
        says: "what a straight antenna costs outside the band that it is made for",
        inputs: &[
            ELEMENT,
            Input {
                key: "made_for_mhz",
                says: "where it is resonant",
                kind: Kind::Number(Bound { name: "made_for_mhz", ..bounds::FREQUENCY }),
                default: None,
            },
            Input {
                key: "frequency_mhz",
                says: "where it is used",
                kind: Kind::Number(bounds::FREQUENCY),
                default: None,
            },
            RADIUS,
        ],
        outputs: &[
            Output { key: "length_mm", says: "its length" },
            Output { key: "own_db", says: "mismatch where it is made for" },
            Output { key: "mismatch_db", says: "mismatch where it is used" },
            Output { key: "cost_db", says: "the second less the first, not below 0" },
            Output { key: "range_percent", says: "of the range in free space that the cost leaves" },
        ],
        formula: "see antenna-impedance, twice, with the length that has no reactance in its own band",
        holds: THIN,
        source: MISMATCH,
        example: &[("made_for_mhz", "868"), ("frequency_mhz", "2440")],
        run: wrong_band_antenna,
    },
];

fn element(given: &Given) -> Result<(Element, Metres), CalcError> {
    let element = Element::from_word(given.choice("antenna")?).unwrap_or(Element::Dipole);
    Ok((element, Metres(given.number("radius_mm")? / 1000.0)))
}

fn antenna_impedance(given: &Given) -> Result<Answer, CalcError> {
    let (element, radius) = element(given)?;
    let at = Mhz(given.number("frequency_mhz")?);
    let length = match given.maybe_number("length_mm")? {
        Some(length) => Metres(length / 1000.0),
        None => mismatch::resonant_length(element, radius, at)?,
    };
    let impedance = mismatch::impedance(element, length, radius, at)?;
    let lost = impedance.mismatch();
    Ok(Answer::number("length_mm", length.0 * 1000.0)
        .and("resistance_ohm", impedance.resistance.0)
        .and("reactance_ohm", impedance.reactance.0)
        .and("mismatch_db", lost.0)
        .and("range_percent", 100.0 * mismatch::range_share(lost)))
}

fn wrong_band_antenna(given: &Given) -> Result<Answer, CalcError> {
    let (element, radius) = element(given)?;
    let (made_for, used_at) = (Mhz(given.number("made_for_mhz")?), Mhz(given.number("frequency_mhz")?));
    let wrong = mismatch::wrong_band(element, radius, made_for, used_at)?;
    Ok(Answer::number("length_mm", wrong.length.0 * 1000.0)
        .and("own_db", wrong.own.0)
        .and("mismatch_db", wrong.used.0)
        .and("cost_db", wrong.cost().0)
        .and("range_percent", 100.0 * mismatch::range_share(wrong.cost())))
}

fn antenna_gain(given: &Given) -> Result<Answer, CalcError> {
    let word = given.choice("antenna")?;
    let gain = given.maybe_number("gain_dbi")?.map(Dbi);
    let width = given.maybe_number("beamwidth_deg")?.map(Degrees);
    let usual = antenna::Kind::from_word(word).unwrap_or(antenna::Kind::HalfWaveDipole);
    let fixed = |key: &str| {
        CalcError::DontGoTogether(format!("a `{word}` antenna has no `{key}` of its own; leave it out"))
    };
    let (kind, assumed) = match usual {
        antenna::Kind::Patch { gain: usual_gain, beamwidth } => {
            let (is_gain, is_width) = (gain.unwrap_or(usual_gain), width.unwrap_or(beamwidth));
            (antenna::Kind::Patch { gain: is_gain, beamwidth: is_width }, gain.is_none() || width.is_none())
        }
        antenna::Kind::Yagi { gain: usual_gain, beamwidth } => {
            let (is_gain, is_width) = (gain.unwrap_or(usual_gain), width.unwrap_or(beamwidth));
            (antenna::Kind::Yagi { gain: is_gain, beamwidth: is_width }, gain.is_none() || width.is_none())
        }
        _ if width.is_some() => return Err(fixed("beamwidth_deg")),
        antenna::Kind::Circular { hand, axial_ratio, gain: usual_gain } => {
            let is_gain = gain.unwrap_or(usual_gain);
            (antenna::Kind::Circular { hand, axial_ratio, gain: is_gain }, gain.is_none())
        }
        _ if gain.is_some() => return Err(fixed("gain_dbi")),
        other => (other, false),
    };
    kind.check()?;
    let towards = kind.gain(Degrees(given.number("angle_deg")?));
    let mut answer = Answer::number("gain_dbi", towards.0).and("peak_dbi", kind.peak().0);
    if assumed {
        answer.notes.push("Usual figures stand in for what was left out (judgement, no source).".to_owned());
    }
    Ok(answer)
}

fn polarisation_loss(given: &Given) -> Result<Answer, CalcError> {
    let angle = Degrees(given.number("angle_deg")?);
    let ratio = Db(given.number("axial_ratio_db")?);
    let loss = match given.choice("between")? {
        "circular-linear" => antenna::circular_to_linear(),
        "circular-same-hand" => antenna::circular_mismatch(Hand::Right, Hand::Right),
        "circular-opposite-hand" => antenna::circular_mismatch(Hand::Right, Hand::Left),
        "elliptical-linear" => antenna::elliptical_to_linear(ratio, angle),
        _ => antenna::linear_mismatch(angle),
    };
    let practical = antenna::practical_mismatch(loss).0;
    if loss.0.is_finite() {
        return Ok(Answer::number("loss_db", loss.0).and("practical_db", practical));
    }
    let none = Answer { values: vec![("loss_db", Value::Nothing)], notes: Vec::new() };
    let mut answer = none.and("practical_db", practical);
    answer.notes.push("On paper these two fields don't couple at all.".to_owned());
    Ok(answer)
}
