//! Air, wire and places against published tables and independent implementations.
#![expect(clippy::unwrap_used, reason = "a test stops at what it did not expect")]

use link::atmosphere::{self, Pascals};
use link::calc::{self, Value};
use link::geodesy::{Place, inverse};
use link::wire::{Celsius, Gauge};
use proptest::prelude::*;
use units::{Degrees, Metres};

/// The rows of a table, by column name; the file must have some.
struct Table {
    heading: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    fn read(text: &str) -> Table {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let heading = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows = reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
        Table { heading, rows }
    }

    fn text<'a>(&self, row: &'a [String], column: &str) -> &'a str {
        &row[self.heading.iter().position(|have| have == column).unwrap()]
    }

    fn number(&self, row: &[String], column: &str) -> f64 {
        self.text(row, column).parse().unwrap()
    }
}

/// Collects what is wrong, so that all of it shows.
#[derive(Default)]
struct Wrong {
    ran: usize,
    wrong: Vec<String>,
}

impl Wrong {
    fn close(&mut self, what: &str, got: f64, wanted: f64, tolerance: f64) {
        self.ran += 1;
        let close = (got - wanted).abs() <= tolerance;
        if !close {
            self.wrong.push(format!("{what}: {got}, not {wanted}"));
        }
    }

    fn done(self, cases: usize) {
        assert_eq!(self.ran, cases, "cases that ran");
        assert!(self.wrong.is_empty(), "{}", self.wrong.join("\n"));
    }
}

fn answer(name: &str, typed: &[(&str, &str)]) -> Vec<(&'static str, Value)> {
    let typed: Vec<_> = typed.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
    calc::find(name).unwrap().answer(&typed).unwrap().values
}

fn first(name: &str, typed: &[(&str, &str)]) -> f64 {
    match answer(name, typed)[0].1 {
        Value::Number(number) => number,
        _ => f64::NAN,
    }
}

// Places.

/// geographiclib 2.1 (Karney 2013), WGS 84; to 1 mm and 1e-7 degrees. A sphere of 6371 km is
/// within 0.6 %.
#[test]
fn geodesics() {
    let table = Table::read(include_str!("data/radio-geodesy.csv"));
    let mut wrong = Wrong::default();
    for row in &table.rows {
        let place = |latitude, longitude| Place {
            latitude: Degrees(table.number(row, latitude)),
            longitude: Degrees(table.number(row, longitude)),
        };
        let (from, to) = (place("lat1_deg", "lon1_deg"), place("lat2_deg", "lon2_deg"));
        let way = inverse(from, to).unwrap();
        let distance = table.number(row, "s12_m");
        wrong.close("distance", way.distance.0, distance, 1e-3);
        wrong.close("start", way.start.0, table.number(row, "azi1_deg"), 1e-7);
        wrong.close("end", way.end.0, table.number(row, "azi2_deg"), 1e-7);
        wrong.close("sphere", sphere(from, to), distance, distance * 0.006);
    }
    wrong.done(8 * 4);
}

/// The haversine on a sphere of 6371 km.
fn sphere(from: Place, to: Place) -> f64 {
    let half = |a: Degrees, b: Degrees| ((b - a).radians() / 2.0).sin().powi(2);
    let across = from.latitude.radians().cos() * to.latitude.radians().cos();
    let share = half(from.latitude, to.latitude) + across * half(from.longitude, to.longitude);
    2.0 * 6_371_000.0 * share.sqrt().asin()
}

// Air.

/// ambiance 1.3.1 (ISO 2533); to 0.1 Pa, 0.01 K, 0.05 m. The last column is the pressure
/// when the same number is a geometric height.
#[test]
fn standard_atmosphere() {
    let table = Table::read(include_str!("data/radio-atmosphere.csv"));
    let mut wrong = Wrong::default();
    for row in &table.rows {
        let height = Metres(table.number(row, "geopotential_m"));
        let what = height.to_string();
        let pressure = table.number(row, "pressure_pa");
        wrong.close(&what, atmosphere::pressure_at(height).unwrap().0, pressure, 0.1);
        let temperature = table.number(row, "temperature_k");
        wrong.close(&what, atmosphere::temperature_at(height).unwrap().0, temperature, 0.01);
        let density = table.number(row, "density_kg_m3");
        wrong.close(&what, atmosphere::density_at(height).unwrap().0, density, 2e-6);
        let geometric = table.number(row, "geometric_m");
        wrong.close(&what, atmosphere::geometric(height).unwrap().0, geometric, 0.05);
        let back = atmosphere::geopotential(Metres(geometric)).unwrap();
        wrong.close(&what, back.0, height.0, 0.05);
        wrong.close(&what, atmosphere::height_at(Pascals(pressure)).unwrap().0, height.0, 0.05);
        let as_geometric = atmosphere::pressure_at(atmosphere::geopotential(height).unwrap()).unwrap();
        wrong.close(&what, as_geometric.0, table.number(row, "pressure_pa_at_same_number_geometric"), 0.1);
        wrong.close(&what, first("height-pressure", &[("height_m", &height.0.to_string())]), pressure, 0.1);
    }
    wrong.done(11 * 8);
}

/// Pressure altitude in the standard atmosphere (ISO 2533); to 0.05 m.
#[test]
fn pressure_altitude() {
    let table = Table::read(include_str!("data/radio-pressure-altitude.csv"));
    let mut wrong = Wrong::default();
    for row in &table.rows {
        let pressure = table.text(row, "pressure_pa");
        let height = table.number(row, "geopotential_altitude_m");
        wrong.close(pressure, first("pressure-height", &[("pressure_pa", pressure)]), height, 0.05);
    }
    wrong.done(10);
}

/// The tropopause and the edge below the sea (ISO 2533, tables; from memory of the printed
/// values 22632 Pa and 127774 Pa).
#[test]
fn the_ends_of_the_layer() {
    assert!((atmosphere::pressure_at(Metres(11_000.0)).unwrap().0 - 22_632.0).abs() < 1.0);
    assert!((atmosphere::pressure_at(Metres(-2000.0)).unwrap().0 - 127_774.0).abs() < 1.0);
    assert_eq!(
        atmosphere::pressure_at(Metres(11_001.0)).unwrap_err().to_string(),
        "`height_m` is 11001; it must lie in -2000 to 11000 m (the lowest layer of the standard atmosphere)"
    );
    for end in ["22632.1", "127774"] {
        assert!(first("pressure-height", &[("pressure_pa", end)]).is_finite());
    }
    assert!(atmosphere::height_at(Pascals(f64::NAN)).is_err());
}

// Wire.

/// Diameter, area and resistance by ASTM B258 and IEC 60028, to the last digit printed; and
/// the published handbook table (diameter, circular mils, ohm per 1000 ft at 20 degrees
/// Celsius), which is rounded: within 0.1 %, a unit of its last digit where that is more.
#[test]
fn every_gauge() {
    let table = Table::read(include_str!("data/awg.csv"));
    let mut wrong = Wrong::default();
    let handbook = |printed: &str| {
        let digits = printed.split_once('.').map_or(0, |(_, after)| after.len());
        let value: f64 = printed.parse().unwrap();
        let last = 10f64.powi(-i32::try_from(digits).unwrap());
        (value, last.max(value * 1e-3))
    };
    for (row, gauge) in table.rows.iter().zip(Gauge::all()) {
        let typed = table.text(row, "awg");
        assert_eq!(Gauge::parse(typed).unwrap(), gauge);
        assert_eq!(Gauge::parse(&gauge.to_string()).unwrap(), gauge);
        let diameter_mm = gauge.diameter().0 * 1e3;
        wrong.close(typed, diameter_mm, table.number(row, "diameter_mm_formula"), 6e-7);
        wrong.close(typed, gauge.area().0, table.number(row, "area_mm2_formula"), 6e-7);
        let milliohm = first("wire-resistance", &[("awg", typed), ("length_m", "1")]) * 1e3;
        wrong.close(typed, milliohm, table.number(row, "resistance_mohm_per_m_20c_formula"), 6e-7);
        let (inches, tolerance) = handbook(table.text(row, "table_diameter_in"));
        wrong.close(typed, diameter_mm / 25.4, inches, tolerance);
        let (mils, tolerance) = handbook(table.text(row, "table_area_circular_mil"));
        wrong.close(typed, (diameter_mm / 0.0254).powi(2), mils, tolerance);
        let (ohms, tolerance) = handbook(table.text(row, "table_ohm_per_1000ft_20c"));
        wrong.close(typed, milliohm * 0.3048, ohms, tolerance);
    }
    assert_eq!(table.rows.len(), Gauge::all().count());
    wrong.done(44 * 6);
}

/// A second published table of copper wire, ohm/km at 20 degrees Celsius; within 0.1 %.
#[test]
fn a_second_table() {
    let mut wrong = Wrong::default();
    for (awg, ohm) in [("20", 33.29), ("22", 52.94), ("24", 84.20), ("26", 133.86), ("28", 212.87)] {
        wrong.close(awg, first("wire-resistance", &[("awg", awg), ("length_m", "1000")]), ohm, ohm * 1e-3);
    }
    wrong.done(5);
}

/// IEC 60028: 0.00393 for each kelvin; and loops of two conductors with the voltage they
/// lose (worked by hand from the same standards).
#[test]
fn warm_wire_and_loops() {
    let mut wrong = Wrong::default();
    let gauge = Gauge::parse("22").unwrap();
    let at = |celsius| gauge.resistance(Metres(1.0), Celsius(celsius)).unwrap().0;
    for (celsius, factor) in
        [(-20.0, 0.8428), (0.0, 0.9214), (20.0, 1.0), (40.0, 1.0786), (60.0, 1.1572), (80.0, 1.2358)]
    {
        wrong.close("factor", at(celsius) / at(20.0), factor, 1e-9);
    }
    for (awg, one_way, celsius, amperes, loop_ohm, drop) in [
        ("22", 1.0, 20.0, 2.0, 0.105_924, 0.211_849),
        ("26", 0.6, 20.0, 1.5, 0.160_685, 0.241_028),
        ("26", 0.6, 60.0, 1.5, 0.185_945, 0.278_917),
        ("20", 0.3, 20.0, 6.0, 0.019_985, 0.119_910),
        ("24", 0.5, 20.0, 1.0, 0.084_213, 0.084_213),
        ("28", 0.3, 20.0, 0.5, 0.127_750, 0.063_875),
        ("21", 0.8, 20.0, 3.0, 0.067_202, 0.201_605),
        ("22", 0.8, 20.0, 3.0, 0.084_740, 0.254_219),
        ("20", 0.8, 20.0, 3.0, 0.053_293, 0.159_880),
        ("22", 1.180_086, 20.0, 2.0, 0.125, 0.25),
    ] {
        let gauge = Gauge::parse(awg).unwrap();
        let ohms = gauge.resistance(Metres(2.0 * one_way), Celsius(celsius)).unwrap().0;
        wrong.close(awg, ohms, loop_ohm, 6e-7);
        wrong.close(awg, ohms * amperes, drop, 6e-7);
    }
    wrong.done(26);
}

#[test]
fn what_is_no_gauge_says_what_there_is() {
    for typed in ["41", "-1", "00000", "5/0", "", "AWG", "1.5", "007", "+5", "999999999999"] {
        let error = Gauge::parse(typed).unwrap_err();
        assert_eq!(
            error.to_string(),
            format!(
                "`{typed}` is no wire gauge; there are 4/0 (also 0000), 3/0, 2/0, 0 (also 1/0), then 1 to 40"
            )
        );
    }
    let typed = [("awg".to_owned(), "0.5 mm2".to_owned()), ("length_m".to_owned(), "1".to_owned())];
    assert_eq!(
        calc::find("wire-resistance").unwrap().answer(&typed).unwrap_err().to_string(),
        "`awg` is `0.5 mm2`, which is not a wire gauge: 4/0 (also 0000), 3/0, 2/0, 0 (also 1/0), then 1 to 40"
    );
}

#[test]
fn every_formula_answers_its_example() {
    for name in ["pressure-height", "height-pressure", "wire-resistance", "geodesic-distance"] {
        let formula = calc::find(name).unwrap();
        let keys: Vec<&str> = answer(name, formula.example).iter().map(|(key, _)| *key).collect();
        let declared: Vec<&str> = formula.outputs.iter().map(|output| output.key).collect();
        assert_eq!(keys, declared, "{name}");
    }
}

proptest! {
    #[test]
    fn height_and_pressure_undo_each_other(metres in -1999.0..10_999.0f64) {
        let pressure = atmosphere::pressure_at(Metres(metres)).unwrap();
        prop_assert!((atmosphere::height_at(pressure).unwrap().0 - metres).abs() < 1e-6);
        prop_assert!(atmosphere::pressure_at(Metres(metres + 1.0)).unwrap() < pressure);
    }

    #[test]
    fn the_way_back_is_as_long(
        from in (-90.0..=90.0f64, -180.0..=180.0f64), to in (-90.0..=90.0f64, -180.0..=180.0f64),
    ) {
        let place = |(latitude, longitude)| {
            Place { latitude: Degrees(latitude), longitude: Degrees(longitude) }
        };
        let there = inverse(place(from), place(to)).unwrap();
        let back = inverse(place(to), place(from)).unwrap();
        prop_assert!((there.distance.0 - back.distance.0).abs() < 1e-6);
        prop_assert!((there.distance.0 - sphere(place(from), place(to))).abs() <= 0.006 * there.distance.0 + 1e-6);
        prop_assert!(there.start.0.is_finite() && there.end.0.is_finite());
    }

    #[test]
    fn thinner_longer_and_warmer_resist_more(at in 0usize..43, metres in 0.01..1000.0f64, celsius in -60.0..150.0f64) {
        let (thick, thin) = (Gauge::all().nth(at).unwrap(), Gauge::all().nth(at + 1).unwrap());
        let of = |gauge: Gauge, metres, celsius| gauge.resistance(Metres(metres), Celsius(celsius)).unwrap();
        let this = of(thick, metres, celsius);
        prop_assert!(this < of(thin, metres, celsius));
        prop_assert!(this < of(thick, metres * 1.01, celsius));
        prop_assert!(this < of(thick, metres, celsius + 1.0));
    }
}
