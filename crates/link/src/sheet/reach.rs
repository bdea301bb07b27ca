//! How far a direction reaches, and the curve of margin against distance.

use units::{Db, Dbm, Metres};

use super::answer::{FARTHEST, NEAREST, Point, Reach, Way};
use super::stage::{At, Receiver, Stage, Tuned, shadowed};
use crate::bounds::OutOfRange;

/// Distances of the first look, each 1.1 times the one before.
const STEP: f64 = 1.1;

/// Every how many of them the curve has a point.
const EVERY: usize = 2;

/// The deviation that one in twenty lies beyond.
pub(super) const ONE_IN_TWENTY: f64 = 1.644_853_626_951_472_2;

/// The ways to a row of distances, reckoned once for all settings of a stage.
#[derive(Clone, Debug)]
pub struct Row {
    /// From near to far.
    pub places: Vec<(Metres, At)>,
    /// Whether a profile ended the row.
    pub cut: bool,
}

impl Row {
    /// From [`NEAREST`] to [`FARTHEST`], or to the end of the profile.
    ///
    /// # Errors
    /// [`OutOfRange`] when a value of the setup lies outside its range.
    pub fn new(stage: &Stage) -> Result<Row, OutOfRange> {
        let end = stage.setup.path.profile.as_ref().map(crate::profile::Profile::length);
        let last = end.map_or(FARTHEST.0, |end| end.0.min(FARTHEST.0));
        let mut places = Vec::new();
        let mut distance = NEAREST.0.min(last);
        loop {
            places.push((Metres(distance), stage.at(Metres(distance))?));
            if distance >= last {
                break;
            }
            distance = (distance * STEP).min(last);
        }
        Ok(Row { places, cut: end.is_some() })
    }
}

/// One direction of a setting: who sends with what, who listens.
pub(super) struct Ends<'a> {
    pub(super) way: Way,
    pub(super) power: Dbm,
    pub(super) receiver: &'a Receiver,
}

impl Tuned {
    pub(super) fn control(&self) -> Ends<'_> {
        Ends { way: Way::Control, power: self.power, receiver: &self.air }
    }

    pub(super) fn telemetry(&self) -> Option<Ends<'_>> {
        let (power, receiver) = (self.telemetry_power?, self.ground.as_ref()?);
        Some(Ends { way: Way::Telemetry, power, receiver })
    }
}

impl Ends<'_> {
    pub(super) fn gains<'b>(&self, at: &'b At) -> &'b [f64] {
        match self.way {
            Way::Control => &at.control,
            Way::Telemetry => &at.telemetry,
        }
    }

    /// The level at the receiver but for the antennas.
    pub(super) fn before(&self, at: &At) -> Dbm {
        self.power - at.path.total
    }

    pub(super) fn probability(&self, at: &At, shadowing: Db, more: Db) -> f64 {
        self.receiver.probability(at, self.before(at) + more, self.gains(at), shadowing)
    }
}

/// The distance up to which the probability is reached everywhere, with `more` decibels
/// than reckoned.
pub(super) fn reach_with(
    stage: &Stage,
    row: &Row,
    ends: &Ends,
    more: Db,
) -> Result<(Option<Metres>, bool), OutOfRange> {
    reach_from(stage, row, ends, more, 0).map(|(distance, beyond, _)| (distance, beyond))
}

/// The same where it is known to be reached at the places before `start`; also says at which
/// place it first isn't.
fn reach_from(
    stage: &Stage,
    row: &Row,
    ends: &Ends,
    more: Db,
    start: usize,
) -> Result<(Option<Metres>, bool, usize), OutOfRange> {
    let wanted = stage.setup.flight.probability;
    let reached = |at: &At| ends.probability(at, stage.shadowing, more) >= wanted;
    let bad = row.places[start..].iter().position(|(_, at)| !reached(at));
    let Some(first_bad) = bad.map(|place| start + place) else {
        return Ok((row.places.last().map(|(distance, _)| *distance), true, row.places.len()));
    };
    if first_bad == 0 {
        return Ok((None, false, 0));
    }
    let (mut good, mut bad) = (row.places[first_bad - 1].0.0, row.places[first_bad].0.0);
    // To a thousandth of the distance, far finer than anything else on the sheet is known.
    while bad / good > 1.001 {
        let between = f64::midpoint(good, bad);
        if reached(&stage.at(Metres(between))?) { good = between } else { bad = between }
    }
    Ok((Some(Metres(good)), false, first_bad))
}

/// The reach with its interval. Where it is reached with less, it is reached with more.
pub(super) fn reach(stage: &Stage, row: &Row, ends: &Ends) -> Result<Reach, OutOfRange> {
    let off = stage.setup.uncertainty * ONE_IN_TWENTY;
    let (low, _, start) = reach_from(stage, row, ends, -off, 0)?;
    let (distance, beyond, start) = reach_from(stage, row, ends, Db::ZERO, start)?;
    let (high, _, _) = reach_from(stage, row, ends, off, start)?;
    Ok(Reach { distance, low, high, probability: stage.setup.flight.probability, beyond })
}

/// How far control reaches with a power.
///
/// # Errors
/// [`OutOfRange`] when a value of the setup lies outside its range.
pub fn control_reach(stage: &Stage, row: &Row, air: &Receiver, power: Dbm) -> Result<Reach, OutOfRange> {
    reach(stage, row, &Ends { way: Way::Control, power, receiver: air })
}

/// The curve from near to a little beyond what matters.
pub(super) fn curve(stage: &Stage, row: &Row, tuned: &Tuned, last: Metres) -> Vec<Point> {
    let control = tuned.control();
    let telemetry = tuned.telemetry();
    let shown =
        row.places.iter().position(|(distance, _)| *distance >= last).map_or(row.places.len(), |i| i + 1);
    let places = &row.places[..shown];
    places
        .iter()
        .enumerate()
        .filter(|(place, _)| place % EVERY == 0 || *place + 1 == places.len())
        .map(|(_, (distance, at))| {
            let margin = |ends: &Ends| ends.before(at) - ends.receiver.sensitivity;
            let over = margin(&control);
            let telemetry = telemetry.as_ref();
            Point {
                distance: *distance,
                margin: over + Db(percentile(at, &at.control, stage.shadowing, 0.5)),
                margin_low: over + Db(percentile(at, &at.control, stage.shadowing, 0.05)),
                margin_high: over + Db(percentile(at, &at.control, stage.shadowing, 0.95)),
                probability: control.probability(at, stage.shadowing, Db::ZERO),
                telemetry_margin: telemetry
                    .map(|ends| margin(ends) + Db(percentile(at, &at.telemetry, stage.shadowing, 0.5))),
                telemetry_probability: telemetry.map(|ends| ends.probability(at, stage.shadowing, Db::ZERO)),
            }
        })
        .collect()
}

/// What the level has over that before the antennas in all but a share of spells, found
/// between bounds to a hundredth of a decibel (regula falsi, Illinois variant).
pub(super) fn percentile(at: &At, gains: &[f64], shadowing: Db, share: f64) -> f64 {
    let (least, most) = at
        .spells(gains)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), gain| (least.min(gain), most.max(gain)));
    let widest = 4.0 * shadowing.0 + 0.01;
    let count = At::count(gains);
    let below = |level: f64| {
        let above: f64 = at.spells(gains).map(|gain| shadowed(gain - level, shadowing)).sum();
        1.0 - above / count - share
    };
    let (mut low, mut high) = (least - widest, most + widest);
    let (mut at_low, mut at_high) = (-share, 1.0 - share);
    let mut last = 0.0;
    for _ in 0..60 {
        if high - low <= 0.01 {
            break;
        }
        // A step where the figures stand still makes the straight line useless.
        let along = (-at_low / (at_high - at_low)).clamp(0.02, 0.98);
        let between = low + (high - low) * along;
        let here = below(between);
        if here < 0.0 {
            (low, at_low) = (between, here);
            if last < 0.0 {
                at_high *= 0.5;
            }
        } else {
            (high, at_high) = (between, here);
            if last > 0.0 {
                at_low *= 0.5;
            }
        }
        if here.abs() < 1e-5 {
            return between;
        }
        last = if here < 0.0 { -1.0 } else { 1.0 };
    }
    f64::midpoint(low, high)
}
