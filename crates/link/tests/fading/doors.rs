//! The formulas by name.

use link::calc::{Value, find};

/// What is typed: keys and values.
type Typed = &'static [(&'static str, &'static str)];

fn answer(name: &str, typed: Typed) -> Vec<(&'static str, f64)> {
    let typed: Vec<(String, String)> =
        typed.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
    let answer = find(name).unwrap().answer(&typed).unwrap();
    answer
        .values
        .into_iter()
        .map(|(key, value)| match value {
            Value::Number(number) => (key, number),
            other => panic!("{key} is {other:?}"),
        })
        .collect()
}

const NAMES: [&str; 8] = [
    "rician-outage",
    "rayleigh-outage",
    "fade-margin",
    "shadowing-probability",
    "k-by-elevation",
    "failsafe-chance",
    "stick-latency",
    "aerial-rural-loss",
];

#[test]
fn every_example_answers_what_it_declares() {
    for name in NAMES {
        let formula = find(name).unwrap();
        let got = answer(name, formula.example);
        let keys: Vec<&str> = got.iter().map(|(key, _)| *key).collect();
        let declared: Vec<&str> = formula.outputs.iter().map(|output| output.key).collect();
        assert_eq!(keys, declared, "{name}");
    }
}

/// Rows of the tables that stand in `tables.rs`, through the door.
#[test]
fn known_values_come_through_the_door() {
    let rows: [(&str, Typed, f64, f64); 8] = [
        ("rician-outage", &[("k_db", "6"), ("margin_db", "10")], 1.646_472e-2, 1e-7),
        ("rayleigh-outage", &[("margin_db", "20")], 9.950_166e-3, 1e-8),
        ("fade-margin", &[("k_db", "10"), ("probability", "0.01")], 6.1836, 1e-3),
        ("fade-margin", &[("fading", "rayleigh"), ("probability", "0.001")], 29.9978, 1e-3),
        (
            "aerial-rural-loss",
            &[("frequency_mhz", "868"), ("height_m", "15"), ("distance_m", "500")],
            90.0039,
            1e-3,
        ),
        (
            "stick-latency",
            &[("packet_rate_hz", "250"), ("airtime_us", "3000"), ("processing_ms", "1")],
            18.0,
            1e-6,
        ),
        (
            "stick-latency",
            &[
                ("packet_rate_hz", "250"),
                ("airtime_us", "3000"),
                ("in_step", "on"),
                ("telemetry_one_in", "2"),
            ],
            17.0,
            1e-6,
        ),
        (
            "shadowing-probability",
            &[("margin_db", "4"), ("shadowing_db", "4")],
            0.158_655_253_931_457_07,
            1e-12,
        ),
    ];
    let wrong: Vec<String> = rows
        .iter()
        .filter_map(|(name, typed, wanted, tolerance)| {
            let got = answer(name, typed)[0].1;
            let near = (got - wanted).abs() <= *tolerance;
            (!near).then(|| format!("{name} {typed:?}: {got}, not {wanted}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_stand_in_curve_is_told() {
    let typed = [("margin_db", "-2"), ("packet_rate_hz", "50")]
        .map(|(key, value)| (key.to_owned(), value.to_owned()));
    let answer = find("failsafe-chance").unwrap().answer(&typed).unwrap();
    assert!(answer.notes.iter().any(|note| note.contains("SF7")), "{:?}", answer.notes);
}
