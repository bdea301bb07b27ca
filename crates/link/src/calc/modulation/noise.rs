//! Thermal and man-made noise by name.

use units::{Db, Khz, Mhz};

use crate::bounds;
use crate::calc::{Answer, CalcError, Formula, Input, Kind, Output};
use crate::noise::{Environment, Extrapolation, NOISE_FREQUENCY, manmade_noise, thermal_noise};

pub(super) const THERMAL: Formula = Formula {
    name: "thermal-noise",
    says: "the noise of a receiver by itself",
    inputs: &[
        Input {
            key: "bandwidth_hz",
            says: "bandwidth",
            kind: Kind::Number(bounds::BANDWIDTH),
            default: None,
        },
        Input {
            key: "noise_figure_db",
            says: "noise figure of the receiver",
            kind: Kind::Number(bounds::NOISE_FIGURE),
            default: Some("0"),
        },
    ],
    outputs: &[Output { key: "level_dbm", says: "noise level" }],
    formula: "10 log10(k 290 B / 1 mW) + F",
    holds: "white noise, source at 290 K; noise figure 0 to 30 dB",
    source: "k T B; Boltzmann's constant exact (SI, 2019)",
    example: &[("bandwidth_hz", "812500"), ("noise_figure_db", "10.4")],
    run: |given| {
        let level =
            thermal_noise(Khz(given.number("bandwidth_hz")? / 1e3), Db(given.number("noise_figure_db")?))?;
        Ok(Answer::number("level_dbm", level.0))
    },
};

pub(super) const MANMADE: Formula = Formula {
    name: "manmade-noise",
    says: "median noise made by people, over thermal noise",
    inputs: &[
        Input {
            key: "environment",
            says: "surroundings",
            kind: Kind::Choice(&["city", "residential", "rural", "quiet-rural", "galactic"]),
            default: None,
        },
        Input { key: "frequency_mhz", says: "frequency", kind: Kind::Number(NOISE_FREQUENCY), default: None },
    ],
    outputs: &[
        Output { key: "noise_db", says: "median (Fam) over k 290 K B; below 0 weaker than thermal noise" },
        Output { key: "extrapolated", says: "whether the frequency lies beyond the published range" },
    ],
    formula: "Fam = c - d log10(f / MHz); c, d: city 76.8, 27.7; residential 72.5, 27.7; rural 67.2, 27.7; \
              quiet rural 53.6, 28.6; galactic 52.0, 23.0",
    holds: "published for 0.3 to 250 MHz; up to 6000 MHz extrapolated and marked",
    source: "Rec. ITU-R P.372-16, section 6.1 (transcriptions; the rural row from memory)",
    example: &[("environment", "city"), ("frequency_mhz", "100")],
    run: |given| {
        let word = given.choice("environment")?;
        let environment = Environment::from_word(word)
            .ok_or_else(|| CalcError::DontGoTogether(format!("there are no surroundings `{word}`")))?;
        let noise = manmade_noise(environment, Mhz(given.number("frequency_mhz")?))?;
        let beyond = noise.extrapolated == Extrapolation::Beyond;
        let mut answer = Answer::number("noise_db", noise.fam.0)
            .and_text("extrapolated", if beyond { "yes" } else { "no" });
        if beyond {
            answer = answer.note(
                "extrapolated: published for 0.3 to 250 MHz. It says only that noise of this kind is \
                 weaker than thermal noise here; other transmitters are what disturbs in these bands",
            );
        }
        if environment == Environment::Rural {
            answer = answer.note("the figures of rural surroundings are from memory");
        }
        Ok(answer)
    },
};
