//! The planning limits: every row, every worked example, and what a finding says.
#![expect(clippy::unwrap_used, reason = "a test stops at what it did not expect")]

#[path = "law/laws.rs"]
mod laws;
#[path = "law/power.rs"]
mod power;
#[path = "law/rows.rs"]
mod rows;
#[path = "law/time.rs"]
mod time;
#[path = "law/traps.rs"]
mod traps;
#[path = "law/typed.rs"]
mod typed;

use link::law::{Access, Demand, Emission, Judgement, Limits, What, judge};
use units::{Db, Dbi, Dbm, Khz, Mhz};

const DATA: &str = include_str!("../data/limits.csv");

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

    fn that(&mut self, what: &str, holds: Option<()>) {
        self.ran += 1;
        if holds.is_none() {
            self.wrong.push(what.to_owned());
        }
    }

    fn done(self, at_least: usize) {
        assert!(self.ran >= at_least, "only {} cases ran", self.ran);
        assert!(self.wrong.is_empty(), "{}", self.wrong.join("\n"));
    }
}

/// A hopping emission in a band, 200 kHz channels 500 kHz apart, always on.
fn hopping(low: f64, high: f64, channels: u32) -> Emission {
    Emission {
        conducted: Dbm(10.0),
        gain: Dbi(2.0),
        feed_loss: Db(0.0),
        low: Mhz(low),
        high: Mhz(high),
        occupied: Some(Khz(200.0)),
        hop_channels: Some(channels),
        hop_spacing: Some(Khz(500.0)),
        dwell: None,
        airtime: None,
        duty: Some(1.0),
        access: Access::None,
    }
}

/// An emission on one channel.
fn single(centre: f64, occupied: f64) -> Emission {
    Emission {
        low: Mhz(centre - occupied / 2e3),
        high: Mhz(centre + occupied / 2e3),
        occupied: Some(Khz(occupied)),
        hop_channels: Some(1),
        hop_spacing: None,
        ..hopping(centre, centre, 1)
    }
}

fn judged(region: &str, emission: &Emission) -> Judgement {
    judge(&Limits::shipped(), region, emission).unwrap()
}

/// One demand of one row.
fn demand(judgement: &Judgement, row: &str, what: What) -> Demand {
    let found = judgement.rows.iter().find(|judged| judged.row.id == row);
    let found = found.unwrap_or_else(|| panic!("{row} is not among {:?}", ids(judgement)));
    found.demands.iter().find(|demand| demand.what == what).unwrap().clone()
}

fn ids(judgement: &Judgement) -> Vec<&str> {
    judgement.rows.iter().map(|judged| judged.row.id.as_str()).collect()
}
