//! Six ordinary, correct aircraft: what is well is not called wrong.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use std::fmt::Write as _;

use fitting::aircraft::{in_use, sort_of};
use fitting::antennas::{self, Antennas};
use fitting::failsafe::{self, Failsafe};
use fitting::finding::{Finding, Weight};
use fitting::outputs::{self, Facts, Named, Outputs};
use fitting::supply::{self, Supply};
use units::Mhz;

const FITS: [(&str, &str); 6] = [
    ("aeroplane", include_str!("data/ordinary/aeroplane.toml")),
    ("glider", include_str!("data/ordinary/glider.toml")),
    ("helicopter", include_str!("data/ordinary/helicopter.toml")),
    ("multirotor", include_str!("data/ordinary/multirotor.toml")),
    ("boat", include_str!("data/ordinary/boat.toml")),
    ("car", include_str!("data/ordinary/car.toml")),
];

/// What stands under a heading, up to the next.
fn under<'t>(text: &'t str, heading: &str) -> &'t str {
    let (_, rest) = text.split_once(&format!("#: {heading}")).unwrap();
    rest.split_once("#:").map_or(rest, |(part, _)| part)
}

/// Everything that every part finds.
fn found(text: &str) -> Vec<Finding> {
    let craft = under(text, "craft").trim();
    let one = |label: &str| vec![Named { label: label.to_owned(), also: Vec::new() }];
    let facts = Facts { craft: craft.to_owned(), receivers: one("R1"), transmitters: one("T1") };
    let outputs = Outputs::read("outputs", under(text, "outputs")).unwrap();
    let mut out = outputs::check(&outputs, &facts).findings;
    out.extend(supply::solve(&Supply::read("supply", under(text, "supply")).unwrap()).findings);
    let failsafe = Failsafe::read("failsafe", under(text, "failsafe")).unwrap();
    out.extend(failsafe::answer(&failsafe, sort_of(craft), &in_use(&outputs)).findings);
    let antennas = Antennas::read("antennas", under(text, "antennas")).unwrap();
    out.extend(antennas::check(&antennas, Some(Mhz(2440.0))).findings);
    out
}

#[test]
fn nothing_ordinary_is_a_fault_or_a_warning() {
    let mut wrong = String::new();
    for (name, text) in FITS {
        // Nobody tells the supply that this craft has no servos.
        let counts = |one: &&Finding| one.weight > Weight::Note;
        for one in found(text).iter().filter(counts) {
            let _ = writeln!(wrong, "{name}: {} {} ({}): {}", one.weight, one.key, one.about, one.text);
        }
        assert_eq!(sort_of(under(text, "craft").trim()).unwrap().word(), name);
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// The same aircraft with one thing wrong in it: the checks do look.
#[test]
fn what_is_wrong_in_them_is_found() {
    let cases = [
        ("aeroplane", "value_us = 1000", "value_us = 1400", "throttle_above_idle"),
        ("aeroplane", "function = \"nose wheel\"", "function = \"flap\"", "output_used_twice"),
        ("glider", "around = \"clear\"", "around = \"in-carbon\"", "in_carbon"),
        ("helicopter", "idle_us = 1000", "idle_us = 2000", "throttle_not_idle"),
        ("multirotor", "action = \"no-pulses\"", "action = \"hold\"", "surface_held"),
        (
            "boat",
            "function = \"motor\"\naction = \"value\"",
            "function = \"motor\"\naction = \"hold\"",
            "throttle_held",
        ),
        ("car", "throttle_rest = \"centre\"", "", "throttle_not_idle"),
    ];
    for (name, from, to, key) in cases {
        let (_, text) = FITS.iter().find(|(one, _)| *one == name).unwrap();
        assert!(text.contains(from), "{name}: {from}");
        let found = found(&text.replacen(from, to, 1));
        assert!(
            found.iter().any(|one| one.key == key && one.weight > Weight::Note),
            "{name} {key}: {found:#?}"
        );
    }
}
