//! A table is a test: every row runs, every wrong row is shown.

use std::collections::HashMap;

/// One row, by column.
#[derive(Debug)]
pub struct Row(HashMap<String, String>);

impl Row {
    pub fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column {column} in {self:?}"))
    }

    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column} is no number in {self:?}"))
    }

    pub fn whole(&self, column: &str) -> u32 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column} is no whole number in {self:?}"))
    }

    pub fn sf(&self) -> u8 {
        u8::try_from(self.whole("sf")).unwrap()
    }
}

pub fn rows(csv: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().unwrap().clone();
    let rows: Vec<Row> = reader
        .records()
        .map(|record| {
            Row(head.iter().map(str::to_owned).zip(record.unwrap().iter().map(str::to_owned)).collect())
        })
        .collect();
    assert!(!rows.is_empty());
    rows
}

/// Collects what is wrong; shows all of it in the end.
#[derive(Default)]
pub struct Wrong {
    ran: usize,
    wrong: Vec<String>,
}

impl Wrong {
    /// `got` lies within `tolerance` of `expected`; false for NaN.
    pub fn near(&mut self, got: f64, expected: f64, tolerance: f64, what: &impl std::fmt::Debug) {
        self.ran += 1;
        let near = (got - expected).abs() <= tolerance;
        if !near {
            self.wrong.push(format!("{got}, not {expected} (by {tolerance}): {what:?}"));
        }
    }

    /// `got` lies within the part `relative` of `expected`; false for NaN.
    pub fn near_part(&mut self, got: f64, expected: f64, relative: f64, what: &impl std::fmt::Debug) {
        self.near(got, expected, relative * expected.abs(), what);
    }

    pub fn done(self, least: usize) {
        assert!(self.wrong.is_empty(), "{} wrong:\n{}", self.wrong.len(), self.wrong.join("\n"));
        assert!(self.ran >= least, "only {} ran", self.ran);
    }
}
