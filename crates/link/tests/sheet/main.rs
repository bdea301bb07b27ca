//! The link sheet and the adviser as a whole.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

mod adviser;
mod gear;
mod simulation;
mod wishes;

use link::law::Limits;
use link::sheet::{Limiting, Sheet, StairKind, Way, sheet};
use link::wish::{Asked, Gear, build};
use proptest::prelude::*;
use units::Db;

/// The question that `typed` (`key=value` words) puts to `gear`.
fn ask(gear: &Gear, typed: &str) -> Asked {
    let typed: Vec<(String, String)> = typed
        .split_whitespace()
        .map(|word| word.split_once('=').unwrap())
        .map(|(key, value)| (key.to_owned(), value.replace('_', " ")))
        .collect();
    build(gear, &typed, &Limits::shipped()).unwrap()
}

fn reckon(gear: &Gear, typed: &str) -> Sheet {
    let asked = ask(gear, typed);
    sheet(&asked.setup, &asked.setting, &asked.others, &Limits::shipped()).unwrap()
}

#[test]
fn the_stairs_add_up() {
    let sheet = reckon(&gear::brook(), "distance_m=800 trees_m=20");
    for direction in [&sheet.control, sheet.telemetry.as_ref().unwrap()] {
        let level = |kinds: fn(StairKind) -> bool| {
            direction.stairs.iter().rfind(|stair| kinds(stair.kind)).unwrap().level
        };
        let arrived = level(|kind| kind != StairKind::Allowance);
        assert!((arrived - direction.received).0.abs() < 1e-9, "{arrived} {}", direction.received);
        assert!((direction.received - direction.sensitivity - direction.margin).0.abs() < 1e-9);
        let mut sum = direction.stairs[0].level;
        for stair in &direction.stairs[1..] {
            sum = sum + stair.change;
            assert!((sum - stair.level).0.abs() < 1e-9, "{stair:?}");
        }
        assert!(direction.stairs.iter().any(|stair| stair.says == "trees"));
    }
}

/// Each stair names a formula and its inputs, and that formula gives its figure.
#[test]
fn every_stair_can_be_reckoned_again() {
    for typed in [
        "distance_m=800 trees_m=20",
        "distance_m=60 air_height_m=100 tx_antenna=patch tx_gain_dbi=9 rx_antennas=two-crossed motion=aerobatic",
        "distance_m=9000 air_height_m=30 ground=sea fading=rayleigh mode=Rapid quality=0.9",
        "distance_m=2000 k_db=8 telemetry_from=first rx_antennas=two-parallel other_links=1",
    ] {
        let sheet = reckon(&gear::brook(), typed);
        let mut checked = 0;
        for direction in [&sheet.control, sheet.telemetry.as_ref().unwrap()] {
            for stair in direction.stairs.iter().filter(|stair| !stair.formula.is_empty()) {
                let inputs: Vec<(String, String)> = stair
                    .inputs
                    .split_whitespace()
                    .map(|word| word.split_once('=').unwrap())
                    .map(|(key, value)| (key.to_owned(), value.to_owned()))
                    .collect();
                let answer = link::calc::find(stair.formula).unwrap().answer(&inputs);
                let answer = answer.unwrap_or_else(|why| panic!("{stair:?}: {why}"));
                let (output, sign, close) = match (stair.formula, stair.says) {
                    ("free-space-loss", _) => ("loss_db", -1.0, 1e-3),
                    ("path-loss", "trees") => ("trees_db", -1.0, 1e-3),
                    ("path-loss", _) => ("ground_db", -1.0, 1e-3),
                    ("antenna-spread", "aircraft's antenna, as it lies") => ("air_middling_db", 1.0, 1e-3),
                    ("antenna-spread", _) => ("ground_db", 1.0, 1e-3),
                    // Between two elevations the sheet blends what is needed, not K.
                    ("quality-margin", _) => ("margin_db", -1.0, 0.1),
                    other => panic!("{other:?}"),
                };
                let got =
                    answer.values.iter().find(|(key, _)| *key == output).map(|(_, value)| value.clone());
                let Some(link::calc::Value::Number(got)) = got else { panic!("{stair:?}: {answer:?}") };
                assert!((got * sign - stair.change.0).abs() <= close, "{typed}: {stair:?} {got}");
                checked += 1;
            }
        }
        assert!(checked >= 10, "{typed}: {checked}");
    }
}

/// The figures beside the staircase name their formulas, too.
#[test]
fn the_other_figures_can_be_reckoned_again() {
    let typed = "distance_m=900 other_links=3 mode=Brook telemetry_one_in=16 noise_figure_db=9";
    let asked = ask(&gear::brook(), typed);
    let sheet = reckon(&gear::brook(), typed);
    let given = |formula: &str, output: &str| {
        let named = sheet.formulas.iter().find(|named| named.formula == formula).unwrap();
        let words = named.inputs.split_whitespace().map(|word| word.split_once('=').unwrap());
        let inputs: Vec<(String, String)> =
            words.map(|(key, value)| (key.to_owned(), value.to_owned())).collect();
        let answer = link::calc::find(formula).unwrap().answer(&inputs).unwrap();
        let value = answer.values.iter().find(|(key, _)| *key == output).unwrap().1.clone();
        let link::calc::Value::Number(value) = value else { panic!("{named:?}") };
        value
    };
    assert!((given("css-sensitivity", "sensitivity_dbm") - sheet.control.sensitivity.0).abs() < 1e-6);
    let airtime = asked.setting.mode.airtime().unwrap().unwrap();
    assert!((given("css-airtime", "airtime_us") - airtime.0).abs() < 1e-6);
    assert!((given("stick-latency", "p95_ms") - sheet.latency.p95.ms()).abs() < 0.05);
    assert!((given("hop-share-collision", "probability") - sheet.lost_to_others).abs() < 1e-3);
    let fading = given("failsafe-chance", "chance");
    assert!((0.0..=1.0).contains(&fading));
}

/// With equal powers, noise figures and antennas both ways lose the same.
#[test]
fn both_ways_are_alike_when_both_ends_are() {
    let sheet =
        reckon(&gear::brook(), "power_mw=25 telemetry_mw=25 telemetry_from=better rx_antennas=two-crossed");
    let down = sheet.telemetry.unwrap();
    assert!((down.margin - sheet.control.margin).0.abs() < 1e-9);
    assert!((down.probability - sheet.control.probability).abs() < 1e-12);
    assert_eq!(sheet.limiting, Limiting::Both);
}

/// Telemetry at a quarter of the power fails first, and the sheet says so.
#[test]
fn the_weaker_way_is_named() {
    let sheet = reckon(&gear::brook(), "power_mw=90 telemetry_mw=20");
    assert_eq!(sheet.limiting, Limiting::Way(Way::Telemetry));
    assert!(sheet.warnings.iter().any(|warning| warning.text.starts_with("Telemetry fails before")));
    let sheet = reckon(&gear::brook(), "power_mw=8 telemetry_mw=90 rx_antennas=one-upright");
    assert_eq!(sheet.limiting, Limiting::Way(Way::Control));
    let sheet = reckon(&gear::brook(), "telemetry_one_in=0");
    assert!(sheet.telemetry.is_none() && sheet.telemetry_fit.is_none());
    assert_eq!(sheet.limiting, Limiting::OnlyControl);
}

/// The height rule of the EU's open category ((EU) 2019/947 UAS.OPEN.010(2)) and the sight
/// limit are named where they are passed, and only there.
#[test]
fn what_lies_beyond_sight_and_height_is_said() {
    let near = reckon(&gear::brook(), "distance_m=300 air_height_m=100 region=EU power_mw=8 mode=Rapid");
    assert!(!near.warnings.iter().any(|warning| warning.source.contains("2019/947")), "{:?}", near.warnings);
    let high = reckon(&gear::brook(), "distance_m=300 air_height_m=130 region=EU");
    assert!(
        high.warnings.iter().any(|warning| warning.source.contains("UAS.OPEN.010")),
        "{:?}",
        high.warnings
    );
    let far = reckon(&gear::brook(), "distance_m=3000 span_m=1");
    assert!(far.warnings.iter().any(|warning| warning.text.contains("too small")), "{:?}", far.warnings);
}

#[test]
fn what_is_taken_to_be_so_is_said() {
    let sheet = reckon(&gear::brook(), "");
    let said: Vec<&str> = sheet.assumptions.iter().map(|one| one.what).collect();
    for what in [
        "ground",
        "terrain",
        "two rays",
        "fields at an angle",
        "how the transmitter is held",
        "the airframe's shadow",
        "fading",
        "shadowing",
        "attitude",
        "height",
        "frames",
        "sensors",
        "what isn't known",
    ] {
        assert!(said.contains(&what), "{what}: {said:?}");
    }
}

/// Rec. ITU-R P.372 publishes man-made noise up to 250 MHz: beyond that it is marked.
#[test]
fn extrapolated_noise_is_marked() {
    let sheet = reckon(&gear::brook(), "noise=city");
    let noise = sheet.assumptions.iter().find(|one| one.what == "noise at the aircraft").unwrap();
    assert!(noise.why.contains("extrapolated"), "{noise:?}");
}

/// More Wi-Fi, more links: more is lost, and never gained.
#[test]
fn other_transmitters_take_their_part() {
    let alone = reckon(&gear::brook(), "");
    let crowded = reckon(&gear::brook(), "other_links=10");
    let wifi = reckon(&gear::brook(), "other_links=10 wifi=1,6,11 wifi_busy=0.5");
    assert!(alone.lost_to_others.abs() < 1e-12);
    assert!(crowded.lost_to_others > 0.05 && wifi.lost_to_others > crowded.lost_to_others);
    assert!(crowded.control.probability <= alone.control.probability);
    assert!(wifi.latency.p95.0 > alone.latency.p95.0);
    // Where others take more than the asked quality leaves, the link never holds it.
    let hopeless = reckon(&gear::brook(), "other_links=60 quality=0.95");
    assert_eq!(hopeless.control.needed, None);
    assert!(hopeless.control.probability.abs() < 1e-12 && hopeless.control.reach.distance.is_none());
}

/// A measured floor 20 dB over the receiver's own noise takes 20 dB.
#[test]
fn a_measured_noise_floor_counts() {
    let quiet = reckon(&gear::brook(), "noise_figure_db=10");
    // Thermal noise in 812.5 kHz is -114.8774 dBm (kTB at 290 K); with 10 dB noise figure
    // -104.8774 dBm; a floor of -84.8774 dBm in the same bandwidth is 20 dB more.
    let noisy =
        reckon(&gear::brook(), "noise_figure_db=10 noise_floor_dbm=-84.8774 noise_bandwidth_khz=812.5");
    let taken = quiet.control.margin - noisy.control.margin;
    assert!((taken.0 - 20.0).abs() < 0.001, "{taken}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// More power never does harm, wherever the aircraft is.
    #[test]
    fn more_power_is_never_worse(mw in 1.0..80.0f64, more in 1.0..20.0f64, metres in 20.0..20_000.0f64) {
        let with = |mw: f64| reckon(&gear::brook(), &format!("power_mw={mw} distance_m={metres}")).control;
        let (less, more) = (with(mw), with(mw * more));
        prop_assert!(more.probability >= less.probability - 1e-12);
        prop_assert!(more.delivery >= less.delivery - 1e-9);
        prop_assert!(more.margin > less.margin);
        prop_assert!(more.reach.distance.map(|d| d.0) >= less.reach.distance.map(|d| d.0));
    }

    /// Asking for more is never easier.
    #[test]
    fn asking_for_more_is_never_easier(quality in 0.1..0.9f64, probability in 0.5..0.98f64) {
        let with = |quality: f64, probability: f64| {
            reckon(&gear::brook(), &format!("quality={quality} probability={probability} distance_m=2000")).control
        };
        let base = with(quality, probability);
        let purer = with(quality + 0.05, probability);
        let surer = with(quality, probability + 0.01);
        prop_assert!(purer.probability <= base.probability + 1e-12);
        prop_assert!(surer.reach.distance.map(|d| d.0) <= base.reach.distance.map(|d| d.0));
    }

    /// Whatever is asked within the ranges: finite figures, probabilities from 0 to 1, and
    /// an interval that holds its middle.
    #[test]
    fn every_figure_is_finite(
        metres in 0.1..900_000.0f64,
        height in 0.1..20_000.0f64,
        ground in 0.1..2000.0f64,
        mw in 0.001..10_000.0f64,
        speed in 0.0..300.0f64,
        off in 0.0..180.0f64,
        k in -40.0..60.0f64,
        fading in prop::sample::select(vec!["rician", "rayleigh", "by-elevation"]),
        antennas in prop::sample::select(vec!["one-upright", "two-crossed", "one-along-body"]),
        antenna in prop::sample::select(link::antenna::Kind::WORDS.to_vec()),
        fitted in prop::sample::select(vec!["half-wave-dipole", "monopole", "circular-left", "off"]),
        motion in prop::sample::select(vec!["level", "circuit", "aerobatic", "any-attitude"]),
        floor in -130.0..-20.0f64,
    ) {
        let k = if fading == "rician" { format!("k_db={k}") } else { String::new() };
        let typed = format!(
            "distance_m={metres} air_height_m={height} ground_height_m={ground} power_mw={mw} {k} \
             speed_m_per_s={speed} tx_off_deg={off} fading={fading} rx_antennas={antennas} tx_antenna={antenna} \
             rx_antenna={fitted} motion={motion} noise_floor_dbm={floor} region=EU wifi=1"
        );
        let sheet = reckon(&gear::brook(), &typed);
        for direction in [Some(&sheet.control), sheet.telemetry.as_ref()].into_iter().flatten() {
            prop_assert!(direction.margin.0.is_finite() && direction.received.0.is_finite());
            prop_assert!((0.0..=1.0).contains(&direction.probability));
            prop_assert!((0.0..=1.0).contains(&direction.delivery));
            let reach = &direction.reach;
            prop_assert!(reach.low.map(|d| d.0) <= reach.distance.map(|d| d.0));
            prop_assert!(reach.distance.map(|d| d.0) <= reach.high.map(|d| d.0));
        }
        for point in &sheet.curve {
            prop_assert!(point.margin.0.is_finite() && (0.0..=1.0).contains(&point.probability));
            prop_assert!(point.margin_low.0 <= point.margin.0 + 0.05 && point.margin.0 <= point.margin_high.0 + 0.05);
        }
        prop_assert!((0.0..=1.0).contains(&sheet.lost) && sheet.latency.p95.0.is_finite());
        let chance = sheet.failsafe.unwrap();
        prop_assert!((0.0..=1.0).contains(&chance.chance), "{chance:?}");
        prop_assert!((0.0..=1.0).contains(&chance.from_fading), "{chance:?}");
    }
}

/// The chance of a failsafe rises as the aircraft flies out, from next to none to certain.
#[test]
fn failsafes_come_with_distance() {
    let chances: Vec<f64> = [500, 3_000, 8_000, 20_000, 60_000]
        .iter()
        .map(|metres| reckon(&gear::brook(), &format!("distance_m={metres}")).failsafe.unwrap().chance)
        .collect();
    assert!(chances.windows(2).all(|pair| pair[0] <= pair[1] + 1e-6), "{chances:?}");
    assert!(chances[0] < 1e-3 && chances[4] > 0.9, "{chances:?}");
}

/// `+1 dB` is worth at most what free space gives: 12.2 % (a twentieth of a decade).
#[test]
fn a_decibel_buys_no_more_than_free_space_gives() {
    let sheet = reckon(&gear::brook(), "air_height_m=300 height_spread=0.5 probability=0.95");
    let gain = sheet.gains.iter().find(|gain| gain.of == "1 dB more").unwrap();
    let farther = gain.farther.unwrap();
    assert!(farther > 0.02 && farther < Db(0.5).ratio() - 1.0 + 0.01, "{gain:?}");
    let modes: Vec<&str> = sheet.gains.iter().map(|gain| gain.of.as_str()).collect();
    assert_eq!(modes, ["1 dB more", "Brook"], "the slowest mode was asked about");
}
