//! Planning figures of cells, servos and wires, from the tables in `data/`.

use std::sync::LazyLock;

use link::wire::Gauge;
use units::{Amps, MilliampHours, Ohms, Volts};

/// What is known of a pack's chemistry: volts of one cell, and what its resistance is taken to be.
/// Planning figures; each carries its source.
#[derive(Clone, Debug, PartialEq)]
pub struct Chemistry {
    /// Its word in files.
    pub word: String,
    /// What pages call it.
    pub label: String,
    /// Just charged.
    pub full: Volts,
    /// In the middle.
    pub nominal: Volts,
    /// At rest, the lowest to fly with.
    pub low: Volts,
    /// Under load, the hard minimum.
    pub hard: Volts,
    /// Where the voltages come from.
    pub voltage_source: String,
    /// Where the resistance comes from.
    pub resistance_source: String,
    milliohms: [f64; 4],
}

impl Chemistry {
    /// What the resistance of one warm, healthy cell is taken to be.
    pub fn cell_resistance(&self, capacity: Option<MilliampHours>) -> Ohms {
        let [at_one_ah, least, most, unknown] = self.milliohms;
        let milliohms = capacity.map_or(unknown, |mah| (at_one_ah / (mah.0 / 1000.0)).clamp(least, most));
        Ohms(milliohms / 1000.0)
    }
}

/// What a servo of a class is taken to draw at its rated voltage. Planning figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// Its word in files.
    pub word: String,
    /// What pages call it.
    pub label: String,
    /// Where its currents are so.
    pub rated: Volts,
    /// What it stands.
    pub highest: Volts,
    /// At rest: the range, of which the upper end is taken.
    pub idle: (Amps, Amps),
    /// Moving under light load.
    pub moving: (Amps, Amps),
    /// Holding under load.
    pub hold: (Amps, Amps),
    /// Stalled.
    pub stall: (Amps, Amps),
    /// Where this comes from.
    pub source: String,
}

static CHEMISTRIES: LazyLock<Vec<Chemistry>> = LazyLock::new(|| {
    table(include_str!("../../data/chemistry.csv"), |row| {
        Some(Chemistry {
            word: row.get(0)?.to_owned(),
            label: row.get(1)?.to_owned(),
            full: Volts(number(row, 2)?),
            nominal: Volts(number(row, 3)?),
            low: Volts(number(row, 4)?),
            hard: Volts(number(row, 5)?),
            milliohms: [number(row, 6)?, number(row, 7)?, number(row, 8)?, number(row, 9)?],
            voltage_source: row.get(10)?.to_owned(),
            resistance_source: row.get(11)?.to_owned(),
        })
    })
});

static CLASSES: LazyLock<Vec<Class>> = LazyLock::new(|| {
    table(include_str!("../../data/servo-classes.csv"), |row| {
        let amps = |at| Some((Amps(number(row, at)?), Amps(number(row, at + 1)?)));
        let (low, high) = amps(4)?;
        Some(Class {
            word: row.get(0)?.to_owned(),
            label: row.get(1)?.to_owned(),
            rated: Volts(number(row, 2)?),
            highest: Volts(number(row, 3)?),
            idle: (low * 1e-3, high * 1e-3),
            moving: amps(6)?,
            hold: amps(8)?,
            stall: amps(10)?,
            source: row.get(12)?.to_owned(),
        })
    })
});

static RATINGS: LazyLock<Vec<Amps>> =
    LazyLock::new(|| table(include_str!("../../data/wire-ratings.csv"), |row| number(row, 1).map(Amps)));

/// Every chemistry of the table.
pub fn chemistries() -> &'static [Chemistry] {
    &CHEMISTRIES
}

/// Every class of servos of the table.
pub fn classes() -> &'static [Class] {
    &CLASSES
}

/// The current that a wire may carry in open air inside equipment (`data/wire-ratings.csv`; a
/// bundle or foam around it wants less).
pub fn rating(gauge: Gauge) -> Option<Amps> {
    let place = Gauge::all().position(|one| one == gauge)?;
    RATINGS.get(place).copied()
}

fn number(row: &csv::StringRecord, at: usize) -> Option<f64> {
    row.get(at)?.parse().ok()
}

fn table<T>(text: &str, row: impl Fn(&csv::StringRecord) -> Option<T>) -> Vec<T> {
    csv::Reader::from_reader(text.as_bytes())
        .records()
        .map(|record| {
            record
                .ok()
                .and_then(|record| row(&record))
                .expect("the tables are part of the program, and a test reads every row of them")
        })
        .collect()
}
