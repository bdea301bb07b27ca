//! Every formula by name: it can be found, its example works, and nonsense is refused.

use link::calc::{Formula, Kind, Value, find, list};
use proptest::prelude::*;

/// The formulas that other programs may count on, with the outputs they may read.
const PROMISED: &[(&str, &[&str])] = &[
    ("free-space-loss", &["loss_db"]),
    ("plane-earth-loss", &["loss_db"]),
    ("profile-loss", &["diffraction_db", "total_db"]),
    ("fresnel-radius", &["radius_m"]),
    ("thermal-noise", &["level_dbm"]),
    ("css-airtime", &["airtime_us"]),
    ("css-sensitivity", &["sensitivity_dbm"]),
    ("packet-error", &["packet_error"]),
    ("hop-collision", &["probability"]),
    ("rician-outage", &["probability"]),
    ("vegetation-loss", &["loss_db"]),
    ("manmade-noise", &["noise_db"]),
    ("power-limit", &["conducted_dbm", "clause"]),
    ("pressure-height", &["height_m"]),
    ("wire-resistance", &["resistance_ohm"]),
];

fn example(formula: &Formula) -> Vec<(String, String)> {
    formula.example.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect()
}

#[test]
fn the_promised_formulas_are_there() {
    for (name, outputs) in PROMISED {
        let formula = find(name).unwrap();
        for output in *outputs {
            assert!(formula.outputs.iter().any(|have| have.key == *output), "{name} has no {output}");
        }
    }
}

#[test]
fn every_formula_says_what_it_is_and_its_example_works() {
    let mut names: Vec<&str> = list().map(|formula| formula.name).collect();
    assert!(names.len() >= PROMISED.len(), "{names:?}");
    names.sort_unstable();
    assert!(names.windows(2).all(|pair| pair[0] != pair[1]), "{names:?}");
    for formula in list() {
        let name = formula.name;
        for text in [formula.says, formula.formula, formula.holds, formula.source] {
            assert!(!text.trim().is_empty(), "{name} leaves something unsaid");
        }
        let answer = formula.answer(&example(formula)).unwrap_or_else(|why| panic!("{name}: {why}"));
        let keys: Vec<&str> = answer.values.iter().map(|(key, _)| *key).collect();
        let declared: Vec<&str> = formula.outputs.iter().map(|output| output.key).collect();
        assert_eq!(keys, declared, "{name}");
        // Asked twice, it answers alike.
        assert_eq!(formula.answer(&example(formula)).unwrap(), answer, "{name}");
    }
}

#[test]
fn every_number_outside_its_range_is_refused_by_name() {
    let mut refused = 0;
    for formula in list() {
        for input in formula.inputs {
            let (Kind::Number(bound) | Kind::Whole(bound)) = input.kind else { continue };
            for bad in [bound.low - 1.0, bound.high + 1.0, f64::INFINITY] {
                let mut typed = example(formula);
                typed.retain(|(key, _)| key != input.key);
                typed.push((input.key.to_owned(), bad.to_string()));
                let why = formula.answer(&typed).unwrap_err().to_string();
                let says = why.contains(input.key) && (why.contains("must lie in") || why.contains("whole"));
                assert!(says, "{} {}={bad}: {why}", formula.name, input.key);
                refused += 1;
            }
        }
    }
    assert!(refused > 200, "{refused}");
}

#[test]
fn words_may_be_written_as_people_write_them() {
    let answer = |name: &str, typed: &[(&str, &str)]| {
        let typed: Vec<(String, String)> =
            typed.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
        find(name).unwrap_or_else(|why| panic!("{why}")).answer(&typed)
    };
    let earth = |ground: &str, polarisation: &str| {
        let far =
            [("frequency_mhz", "868"), ("distance_m", "500"), ("height_tx_m", "2"), ("height_rx_m", "20")];
        answer(
            "plane-earth-loss",
            &[&far[..], &[("ground", ground), ("polarisation", polarisation)]].concat(),
        )
    };
    assert_eq!(earth("medium_dry", "Vertical"), earth("medium-dry", "vertical"));
    assert!(earth("medium", "vertical").is_err());
    let packet = |low_rate: &str| {
        let chip = [("chip", "sub_ghz"), ("sf", "12"), ("bandwidth_hz", "125000"), ("payload_bytes", "10")];
        answer("css-airtime", &[&chip[..], &[("low_rate", low_rate)]].concat())
    };
    assert_eq!(packet("true"), packet("on"));
    assert_ne!(packet("0"), packet("on"));
}

#[test]
fn what_is_missing_or_unknown_is_said() {
    let formula = find("free-space-loss").unwrap();
    let typed = |words: &[(&str, &str)]| {
        let words: Vec<(String, String)> =
            words.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
        formula.answer(&words).unwrap_err().to_string()
    };
    assert!(typed(&[("frequency_mhz", "868")]).contains("needs `distance_m`"));
    assert!(typed(&[("frequency_mhz", "868"), ("distance", "1")]).contains("takes no `distance`"));
    let twice = [("frequency_mhz", "868"), ("distance_m", "1"), ("distance_m", "2")];
    assert!(typed(&twice).contains("given twice"));
    let why = find("free-space-los").unwrap_err().to_string();
    assert!(why.contains("free-space-loss") && why.contains("calc list"), "{why}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Wherever numbers lie in their ranges: finite numbers or a refusal in words.
    #[test]
    fn no_formula_gives_a_number_that_is_none(draws in prop::collection::vec(0.0..=1.0f64, 16)) {
        for formula in list() {
            let mut draws = draws.iter().cycle();
            let typed: Vec<(String, String)> = formula
                .inputs
                .iter()
                .filter_map(|input| {
                    let share = *draws.next()?;
                    let text = match input.kind {
                        Kind::Number(bound) => (bound.low + (bound.high - bound.low) * share).to_string(),
                        Kind::Whole(bound) => (bound.low + (bound.high - bound.low) * share).round().to_string(),
                        _ => formula.example.iter().find(|(key, _)| *key == input.key)?.1.to_owned(),
                    };
                    Some((input.key.to_owned(), text))
                })
                .collect();
            if let Ok(answer) = formula.answer(&typed) {
                for (key, value) in &answer.values {
                    if let Value::Number(number) = value {
                        prop_assert!(number.is_finite(), "{} {key}: {typed:?}", formula.name);
                    }
                }
            }
        }
    }
}
