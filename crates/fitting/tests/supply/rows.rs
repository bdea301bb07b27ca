//! Figures of on-board power, each with its source.

use fitting::supply::{Charge, Chemistry, KelvinPerWatt, Load, Point, chemistries, classes, rating, rules};
use link::wire::{Celsius, Gauge};
use units::{Amps, Farads, Metres, MilliampHours, Minutes, Seconds, Volts};

use super::{close, point, supply};

/// Half of the last digit of figures that are given to six places.
const SIXTH: f64 = 0.6e-6;

fn load() -> Load {
    Load::Manoeuvre("load".to_owned())
}

/// A pack, a constant current, and what lies between.
fn at(pack: &str, between: &str, amps: f64) -> Point {
    let text = format!(
        "[[pack]]\n{pack}\n{between}\n[receiver]\nidle_ma = 0\ntelemetry_ma = 0\n[[servo]]\nname = \"x\"\n\
         lead_m = 0\nhold_a = {amps}\nhighest_v = 60\n[[manoeuvre]]\nname = \"load\"\nholding = [\"x\"]\n"
    );
    point(&supply(&text), &load(), Charge::Stated)
}

/// Gauge, one-way metres, amperes, degrees Celsius, drop, volts at the load, watts lost. Computed:
/// ASTM B258 diameters, IEC 60028 copper (both from memory), both conductors, from 5 V.
const DROPS: &[(u32, f64, f64, f64, f64, f64, f64)] = &[
    (22, 1.0, 2.0, 20.0, 0.211_849, 4.788_151, 0.423_698),
    (26, 0.6, 1.5, 20.0, 0.241_028, 4.758_972, 0.361_542),
    (26, 0.6, 1.5, 60.0, 0.278_917, 4.721_083, 0.418_376),
    (20, 0.3, 6.0, 20.0, 0.119_910, 4.880_090, 0.719_459),
    (24, 0.5, 1.0, 20.0, 0.084_213, 4.915_787, 0.084_213),
    (28, 0.3, 0.5, 20.0, 0.063_875, 4.936_125, 0.031_937),
];

#[test]
fn leads_lose_what_copper_says() {
    for &(gauge, metres, amps, celsius, drop, left, watts) in DROPS {
        let point = at(
            "chemistry = \"lipo\"\ncells = 3\nstate = \"nominal\"",
            &format!(
                "[[regulator]]\nkind = \"switching\"\n[[wire]]\nname = \"run\"\nlength_m = {metres}\ngauge = {gauge}\n\
                 temperature_c = {celsius}"
            ),
            amps,
        );
        let run = point.chain.iter().find(|stage| stage.name == "run").unwrap();
        assert!(close(run.volts_in.0, 5.0, 1e-12), "{gauge}");
        assert!(close((run.volts_in - run.volts_out).0, drop, SIXTH), "{gauge}: {}", run.volts_out.0);
        assert!(close(point.receiver_v.0, left, SIXTH), "{gauge}: {}", point.receiver_v.0);
        assert!(close(run.lost.0, watts, 1e-6), "{gauge}: {}", run.lost.0);
    }
    // 10 mohm of contacts at 5 A: 0.05 V (computed, Ohm's law).
    let contacts = "[[regulator]]\nkind = \"switching\"\n[[wire]]\nlength_m = 0\nconnector_mohm = 10";
    let point = at("chemistry = \"lipo\"\ncells = 3\nstate = \"nominal\"", contacts, 5.0);
    assert!(close(point.receiver_v.0, 4.95, 1e-12));
}

#[test]
fn runs_are_sized_by_their_drop() {
    // Computed from ASTM B258 and IEC 60028: 3 A over 0.8 m one way with at most 0.25 V: 21 AWG
    // (0.201605 V); 22 AWG loses 0.254219 V; 20 AWG 0.159880 V.
    let cold = Celsius(20.0);
    let thinnest = rules::thinnest(Amps(3.0), Metres(0.8), Volts(0.25), cold).unwrap().unwrap();
    assert_eq!(thinnest.to_string(), "21");
    for (awg, volts) in [("21", 0.201_605), ("22", 0.254_219), ("20", 0.159_880)] {
        let ohms = Gauge::parse(awg).unwrap().resistance(Metres(1.6), cold).unwrap();
        assert!(close((Amps(3.0) * ohms).0, volts, SIXTH), "{awg}");
    }
    assert!(rules::thinnest(Amps(1e6), Metres(10.0), Volts(0.001), cold).unwrap().is_none());
    // Longest one-way run of 22 AWG at 2 A for 0.25 V: 1.180086 m.
    let run = rules::longest_run(Gauge::parse("22").unwrap(), Amps(2.0), Volts(0.25), cold).unwrap();
    assert!(close(run.0, 1.180_086, SIXTH), "{}", run.0);
}

/// Gauge and the greatest current in chassis wiring, amperes: a published handbook table (wire gauge
/// page of a university physics reference, crediting Floyd, Electric Circuit Fundamentals, 2nd
/// edition, and Handbook of Electronic Tables and Formulas for American Wire Gauge).
const RATINGS: &[(&str, f64)] = &[
    ("4/0", 380.0),
    ("12", 41.0),
    ("14", 32.0),
    ("16", 22.0),
    ("18", 16.0),
    ("20", 11.0),
    ("22", 7.0),
    ("24", 3.5),
    ("26", 2.2),
    ("28", 1.4),
    ("30", 0.86),
    ("40", 0.09),
];

#[test]
fn every_wire_has_its_published_rating() {
    for (gauge, amps) in RATINGS {
        assert_eq!(rating(Gauge::parse(gauge).unwrap()), Some(Amps(*amps)), "{gauge}");
    }
    let all: Vec<Amps> = Gauge::all().map(|gauge| rating(gauge).unwrap()).collect();
    assert!(all.windows(2).all(|pair| pair[0] > pair[1]), "thinner carries less");
}

/// Word, full, nominal, low at rest, hard minimum under load; volts a cell. 4.20 and 3.6 to 3.7 V from
/// memory (cell data sheets); `nimh` 1.2 and 1.0 V IEC 61951-2, from memory; the rest common practice,
/// no source.
const CELLS: &[(&str, f64, f64, f64, f64)] = &[
    ("lipo", 4.20, 3.7, 3.5, 3.0),
    ("liion", 4.20, 3.6, 3.5, 3.0),
    ("lihv", 4.35, 3.8, 3.5, 3.0),
    ("life", 3.65, 3.3, 3.2, 2.5),
    ("nimh", 1.45, 1.2, 1.2, 1.0),
    ("nicd", 1.45, 1.2, 1.1, 1.0),
];

fn chemistry(word: &str) -> &'static Chemistry {
    chemistries().iter().find(|one| one.word == word).unwrap()
}

#[test]
fn cells_have_their_voltages_and_usual_resistance() {
    assert_eq!(chemistries().len(), CELLS.len());
    for &(word, full, nominal, low, hard) in CELLS {
        let one = chemistry(word);
        let got = (one.full, one.nominal, one.low, one.hard);
        assert_eq!(got, (Volts(full), Volts(nominal), Volts(low), Volts(hard)), "{word}");
        assert!(!one.voltage_source.is_empty() && !one.resistance_source.is_empty());
    }
    // Common practice, no source: flight lithium-polymer 2 to 10 mohm for 2 to 5 Ah, 10 to 30 mohm
    // below 1 Ah; NiMH AA (about 2 Ah) 20 to 40 mohm.
    for (word, mah, low, high) in [
        ("lipo", 2000.0, 2.0, 10.0),
        ("lipo", 3000.0, 2.0, 10.0),
        ("lipo", 5000.0, 2.0, 10.0),
        ("lipo", 900.0, 10.0, 30.0),
        ("lipo", 300.0, 10.0, 30.0),
        ("nimh", 2000.0, 20.0, 40.0),
    ] {
        let milliohms = chemistry(word).cell_resistance(Some(MilliampHours(mah))).0 * 1e3;
        assert!(low <= milliohms && milliohms <= high, "{word} {mah}: {milliohms}");
    }
}

/// Chemistry, cells, volts a cell, milliohms a cell, amperes, milliohms outside, volts left. Computed:
/// n E - I (n Ri + Rext).
const SAGS: &[(&str, u32, f64, f64, f64, f64, f64)] = &[
    ("nimh", 4, 1.25, 25.0, 4.0, 50.0, 4.4),
    ("nimh", 5, 1.25, 25.0, 4.0, 50.0, 5.55),
    ("nimh", 4, 1.20, 60.0, 4.0, 50.0, 3.64),
    ("lipo", 2, 3.80, 10.0, 6.0, 40.0, 7.24),
    ("lipo", 3, 3.70, 12.0, 40.0, 6.0, 9.42),
    ("lipo", 3, 3.50, 12.0, 40.0, 6.0, 8.82),
];

fn sag(row: &(&str, u32, f64, f64, f64, f64, f64)) -> Point {
    let (word, cells, volts, milliohms, amps, outside, _) = row;
    at(
        &format!("chemistry = \"{word}\"\ncells = {cells}\ncell_v = {volts}\ncell_mohm = {milliohms}"),
        &format!("[[wire]]\nlength_m = 0\nconnector_mohm = {outside}"),
        *amps,
    )
}

#[test]
fn packs_sag_by_their_resistance() {
    for row in SAGS {
        assert!(close(sag(row).receiver_v.0, row.6, 1e-9), "{row:?}: {}", sag(row).receiver_v.0);
    }
    // The fifth loses 67.2 W; in the sixth the cells alone have 9.06 V, 3.02 V each (computed).
    assert!(close(sag(&SAGS[4]).balance.lost.0, 67.2, 1e-9));
    let low = sag(&SAGS[5]);
    assert!(close(low.chain[0].volts_out.0, 9.06, 1e-9) && close(low.feeds[0].cell_v.0, 3.02, 1e-9));
    // 11.85 V at 5 A and 11.10 V at 20 A: 0.05 ohm and 12.1 V (computed), over 3 cells 16.666667 mohm.
    let (volts, ohms) = rules::from_two_loads((Volts(11.85), Amps(5.0)), (Volts(11.10), Amps(20.0))).unwrap();
    assert!(close(volts.0, 12.1, 1e-9) && close(ohms.0, 0.05, 1e-9));
    assert!(close(ohms.0 / 3.0 * 1e3, 16.666_667, SIXTH));
    assert!(rules::from_two_loads((Volts(5.0), Amps(1.0)), (Volts(4.9), Amps(1.0))).is_none());
}

/// Volts a cell, milliohms a cell, volts at the terminals, volts of a cell, watts lost: three cells and a
/// motor that draws 40 A. Computed: n E - I (n Ri + Rext). In the first two rows the 6 mohm outside are
/// counted with the cells, 2 mohm each.
const MOTORS: &[(f64, f64, f64, f64, f64)] =
    &[(3.70, 14.0, 9.42, 9.42 / 3.0, 67.2), (3.50, 14.0, 8.82, 2.94, 67.2), (3.50, 12.0, 9.06, 3.02, 57.6)];

#[test]
fn motors_pull_the_pack_down_in_every_load_but_at_rest() {
    for &(cell, milliohms, volts, loaded, lost) in MOTORS {
        let one = supply(&format!(
            "[[pack]]\nchemistry = \"lipo\"\ncells = 3\ncell_v = {cell}\ncell_mohm = {milliohms}\nmotor_a = 40\n\
             [[wire]]\nlength_m = 0\n[receiver]\nidle_ma = 0\ntelemetry_ma = 0\nhighest_v = 20\n"
        ));
        for load in one.loads() {
            let point = point(&one, &load, Charge::Stated);
            let (volts, loaded, lost) =
                if load == Load::Rest { (3.0 * cell, cell, 0.0) } else { (volts, loaded, lost) };
            assert!(close(point.receiver_v.0, volts, 1e-9), "{load:?}: {}", point.receiver_v.0);
            assert!(close(point.feeds[0].cell_v.0, loaded, 1e-9), "{load:?}");
            assert!(close(point.balance.lost.0, lost, 1e-9), "{load:?}: {}", point.balance.lost.0);
            let motor = if load == Load::Rest { 0.0 } else { 40.0 * volts };
            assert!(close(point.balance.motors.0, motor, 1e-9) && close(point.balance.loads.0, motor, 1e-9));
        }
    }
    // The cells carry both currents, the leads only the receiver's: 3 x 3.7 V, 36 mohm, 40 A and 2 A
    // behind 50 mohm (computed): 9.588 V at the terminals, 9.488 V at the load.
    let both = at(
        "chemistry = \"lipo\"\ncells = 3\ncell_v = 3.7\ncell_mohm = 12\nmotor_a = 40",
        "[[wire]]\nlength_m = 0\nconnector_mohm = 50",
        2.0,
    );
    assert_eq!(both.chain[0].name, "cells");
    assert!(close(both.chain[0].amps.0, 42.0, 1e-9) && close(both.chain[0].volts_out.0, 9.588, 1e-9));
    assert!(close(both.chain[1].amps.0, 2.0, 1e-9) && close(both.receiver_v.0, 9.488, 1e-9));
    assert!(close(both.feeds[0].amps.0, 42.0, 1e-9) && close(both.feeds[0].motor.0, 40.0, 1e-12));
}

#[test]
fn a_flight_lasts_by_the_motors_average() {
    let minutes = |motor: &str| {
        let answer = fitting::supply::solve(&supply(&format!(
            "[[pack]]\nchemistry = \"nimh\"\ncells = 4\ncapacity_mah = 2000\n{motor}\n[receiver]\nidle_ma = 700\n\
             telemetry_ma = 0\n"
        )));
        answer.endurance.minutes.unwrap().0
    };
    // Computed: 2000 mAh used to 80 %, 1600 mAh, at 0.7 A 137.142857 minutes, at 8 A 12 minutes.
    assert!(close(minutes("motor_a = 0"), 137.142_857, SIXTH));
    assert!(close(minutes("motor_a = 18\nmotor_average_a = 7.3"), 12.0, SIXTH));
    assert!(close(minutes("motor_a = 14.6"), 12.0, SIXTH), "half of full throttle");
}

#[test]
fn a_flight_is_over_with_the_pack_of_the_motor() {
    // Computed: 2200 mAh used to 80 % at 8 A last 13.2 minutes, whatever the receiver's own pack has.
    for join in ["diodes", "switch-over"] {
        let answer = fitting::supply::solve(&supply(&format!(
            "[[pack]]\nname = \"own\"\nchemistry = \"life\"\ncells = 2\ncapacity_mah = 5000\n[[pack]]\n\
             name = \"flight\"\nchemistry = \"lipo\"\ncells = 3\ncapacity_mah = 2200\nmotor_a = 20\n\
             motor_average_a = 8\n[[regulator]]\npack = \"flight\"\nkind = \"switching\"\nset_v = 5\n\
             quiescent_ma = 0\n[supply]\njoin = \"{join}\"\n"
        )));
        assert!(close(answer.endurance.minutes.unwrap().0, 13.2, 1e-9), "{join}: {:?}", answer.endurance);
        // Full throttle is in every load but at rest, while the flight pack is there.
        for case in &answer.cases {
            let runs = case.load != Load::Rest && case.failed.as_deref() != Some("flight");
            assert_eq!(case.motor, Amps(if runs { 20.0 } else { 0.0 }), "{}", case.name);
            assert_eq!(case.name.contains("at full throttle"), runs, "{}", case.name);
            let feeds = case.outcome.point().unwrap().feeds.iter();
            assert!(close(feeds.map(|feed| feed.motor.0).sum(), case.motor.0, 1e-12), "{}", case.name);
        }
    }
}

#[test]
fn cold_and_age_raise_the_resistance_by_half_to_three_times() {
    // Common practice, no source: by half to three times with age and in the cold.
    let of = |more: &str| {
        let text = format!("[[pack]]\nchemistry = \"nimh\"\ncells = 4\ncell_mohm = 25\n{more}");
        supply(&text).packs[0].resistance().0 / 0.1
    };
    assert!(close(of(""), 1.0, 1e-12));
    for (more, times) in [
        ("age_years = 2", 1.5),
        ("age_years = 20", 3.0),
        ("age_factor = 1.5", 1.5),
        ("temperature_c = 0", 2.0),
        ("temperature_c = -30", 3.0),
        ("temperature_c = 40", 1.0),
    ] {
        assert!(close(of(more), times, 1e-12), "{more}: {}", of(more));
    }
}

/// Class; idle mA, moving A, holding A, stalled A as ranges. Common practice, no source.
type ClassRow = (&'static str, (f64, f64), (f64, f64), (f64, f64), (f64, f64));
const CLASSES: &[ClassRow] = &[
    ("micro", (4.0, 15.0), (0.08, 0.25), (0.1, 0.4), (0.5, 1.0)),
    ("standard", (5.0, 15.0), (0.15, 0.5), (0.2, 0.8), (0.8, 2.0)),
    ("high-torque", (10.0, 50.0), (0.4, 1.5), (0.5, 1.5), (2.0, 5.0)),
    ("large", (20.0, 100.0), (1.0, 3.0), (1.0, 3.0), (4.0, 9.0)),
];

#[test]
fn servos_take_what_their_class_takes() {
    assert_eq!(classes().len(), CLASSES.len());
    for (word, idle, moving, hold, stall) in CLASSES {
        let class = classes().iter().find(|one| one.word == *word).unwrap();
        let amps = |(low, high): (f64, f64)| (Amps(low), Amps(high));
        assert!(close(class.idle.0.0 * 1e3, idle.0, 1e-9) && close(class.idle.1.0 * 1e3, idle.1, 1e-9));
        assert_eq!((class.moving, class.hold, class.stall), (amps(*moving), amps(*hold), amps(*stall)));
        // The careful end is taken.
        let text = format!("[[pack]]\nchemistry = \"nimh\"\ncells = 4\n[[servo]]\nclass = \"{word}\"");
        let servo = supply(&text).servos.remove(0);
        assert_eq!((servo.moving, servo.stall), (Amps(moving.1), Amps(stall.1)));
    }
}

/// Four standard servos, 0.5 A moving and 1.5 A stalled, and 0.1 A of electronics, on a bus held at a
/// voltage.
fn four(volts: f64) -> fitting::supply::Supply {
    supply(&format!(
        "[[pack]]\nchemistry = \"lipo\"\ncells = 3\n[[regulator]]\nkind = \"switching\"\nset_v = {volts}\n\
         [[wire]]\nlength_m = 0\n[receiver]\nidle_ma = 100\ntelemetry_ma = 0\n\
         [[servo]]\ncount = 4\nmoving_a = 0.5\nstall_a = 1.5\nlead_m = 0\nhighest_v = 8.4\n"
    ))
}

#[test]
fn budgets_add_up() {
    // Computed: continuous 2.1 A, peak (60 % of the stall currents) 3.7 A, all stalled 6.1 A.
    let five = four(5.0);
    let moving = Load::Manoeuvre("all moving".to_owned());
    for (load, amps) in [(moving, 2.1), (Load::Hard, 3.7), (Load::Stalled, 6.1)] {
        let point = point(&five, &load, Charge::Full);
        assert!(close(point.amps.0, amps, 1e-9), "{load:?}: {}", point.amps.0);
    }
    // Stall current by voltage: 5 to 6 V about 1.2 times, to 7.4 V about 1.5 (common practice, no
    // source; half a unit of the last digit).
    for (volts, times) in [(6.0, 1.2), (7.4, 1.5)] {
        let servos = |supply| (point(&supply, &Load::Stalled, Charge::Full).amps.0 - 0.1) / 6.0;
        assert!(close(servos(four(volts)), times, 0.05), "{volts} V");
    }
}

#[test]
fn packs_last_by_the_average_and_wires_heat_by_the_square() {
    // Computed: 2.0 A for 30 % and 0.2 A for 70 %: average 0.740000 A, root mean square 1.108152 A.
    let parts = [(Amps(2.0), 0.3), (Amps(0.2), 0.7)];
    assert!(close(rules::average(&parts).0, 0.74, 1e-12));
    assert!(close(rules::root_mean_square(&parts).0, 1.108_152, SIXTH));
    // Computed: 0.7 A for 10 minutes 116.666667 mAh; 2000 mAh used to 80 % last 137.142857 minutes.
    assert!(close(rules::uses(Amps(0.7), Minutes(10.0)).0, 116.666_667, SIXTH));
    assert!(close(rules::lasts(MilliampHours(2000.0), 0.2, Amps(0.7)).0, 137.142_857, SIXTH));
    // The same through a whole supply: 0.7 A all the time out of a bare pack.
    let answer = fitting::supply::solve(&supply(
        "[[pack]]\nchemistry = \"nimh\"\ncells = 4\ncapacity_mah = 2000\n[receiver]\nidle_ma = 700\n\
         telemetry_ma = 0\n",
    ));
    assert!(close(answer.endurance.minutes.unwrap().0, 137.142_857, SIXTH));
}

#[test]
fn capacitors_hold_for_milliseconds() {
    // Computed from C dV = I dt: 3 A for 10 ms with 1.0 V: 0.03 F; 4700 uF, 3 A, 5 ms: 3.191489 V.
    assert!(close(rules::holding_capacitor(Amps(3.0), Seconds(0.01), Volts(1.0)).0, 0.03, 1e-12));
    let drop = rules::capacitor_drop(Farads(4700e-6), Amps(3.0), Seconds(0.005));
    assert!(close(drop.0, 3.191_489, SIXTH));
}

/// Cells, volts in, volts out, amperes, watts, efficiency. Computed: (Vin - Vout) I and Vout / Vin.
const LINEAR: &[(u32, f64, f64, f64, f64, f64)] = &[
    (3, 12.6, 5.0, 1.5, 11.4, 0.396_825),
    (2, 8.4, 5.0, 1.0, 3.4, 0.595_238),
    (2, 7.4, 5.0, 2.0, 4.8, 0.675_676),
    (3, 11.1, 5.0, 1.0, 6.1, 0.450_450),
    (4, 16.8, 5.0, 1.0, 11.8, 0.297_619),
];

/// A regulator with exactly this voltage at its input.
fn regulated(cells: u32, input: f64, drawn: f64, regulator: &str, amps: f64) -> Point {
    let ohms = 0.0001;
    let cell = input / f64::from(cells) + drawn * ohms;
    at(
        &format!("chemistry = \"lipo\"\ncells = {cells}\ncell_v = {cell}\ncell_mohm = {}", ohms * 1e3),
        &format!("[[regulator]]\nquiescent_ma = 0\n{regulator}\n[[wire]]\nlength_m = 0"),
        amps,
    )
}

#[test]
fn linear_regulators_burn_what_they_take_away() {
    for &(cells, input, output, amps, watts, efficiency) in LINEAR {
        let text = format!("kind = \"linear\"\nset_v = {output}");
        let at = regulated(cells, input, amps, &text, amps).feeds[0].regulator.unwrap();
        assert!(close(at.volts_in.0, input, 1e-9), "{input}");
        assert!(close(at.heat.0, watts, 1e-8), "{input}: {}", at.heat.0);
        let share = (at.volts_out * at.amps_out).0 / (at.volts_in * at.amps_in).0;
        assert!(close(share, efficiency, SIXTH), "{input}: {share}");
    }
    // Computed: 125 °C, 40 K/W: at 40 °C 2.125 W, from 11.1 to 5 V 0.348361 A; at 60 °C 1.625 W,
    // 0.266393 A. The chip is then just at its limit.
    for (air, watts, amps) in [(40.0, 2.125, 0.348_361), (60.0, 1.625, 0.266_393)] {
        let (hottest, rise) = (Celsius(125.0), KelvinPerWatt(40.0));
        let most = rules::most_by_heat(Volts(11.1), Volts(5.0), hottest, Celsius(air), rise).unwrap();
        assert!(close(most.0, amps, SIXTH), "{}", most.0);
        let text = format!("kind = \"linear\"\nthermal_k_per_w = 40\nsurroundings_c = {air}");
        let at = regulated(3, 11.1, most.0, &text, most.0).feeds[0].regulator.unwrap();
        assert!(close(at.heat.0, watts, 1e-6) && close(at.junction.unwrap().0, 125.0, 1e-4));
    }
    assert!(
        rules::most_by_heat(Volts(5.0), Volts(5.0), Celsius(125.0), Celsius(40.0), KelvinPerWatt(40.0))
            .is_none()
    );
}

#[test]
fn switching_regulators_draw_power() {
    // Computed: 5 V 3 A at 85 %: 2.647059 W lost, 17.647059 W drawn, 1.589825 A from 11.1 V; 6 V 5 A
    // at 90 %: 3.333333 W lost.
    for (volts, amps, percent, lost) in [(5.0, 3.0, 85.0, 2.647_059), (6.0, 5.0, 90.0, 3.333_333)] {
        let drawn = volts * amps / (percent / 100.0) / 11.1;
        let text = format!("kind = \"switching\"\nset_v = {volts}\nefficiency_percent = {percent}");
        let at = regulated(3, 11.1, drawn, &text, amps).feeds[0].regulator.unwrap();
        assert!(close(at.volts_in.0, 11.1, 1e-9));
        assert!(close(at.heat.0, lost, SIXTH), "{}", at.heat.0);
        if amps < 4.0 {
            assert!(close(at.amps_in.0, 1.589_825, SIXTH), "{}", at.amps_in.0);
            assert!(close((at.volts_in * at.amps_in).0, 17.647_059, SIXTH));
        }
    }
}

#[test]
fn forms_offer_what_the_tables_have() {
    use fitting::part::Kind;
    let choices = |table: &str, key: &str| {
        let (_, table) = fitting::supply::SCHEMA.table(table).unwrap();
        let Kind::Choice(choices) = table.key(key).unwrap().1.kind else { panic!("{key} is a choice") };
        choices.iter().map(|(word, label)| ((*word).to_owned(), (*label).to_owned())).collect::<Vec<_>>()
    };
    let cells: Vec<_> = chemistries().iter().map(|one| (one.word.clone(), one.label.clone())).collect();
    let servos: Vec<_> = classes().iter().map(|one| (one.word.clone(), one.label.clone())).collect();
    assert_eq!(choices("pack", "chemistry"), cells);
    assert_eq!(choices("servo", "class"), servos);
}
