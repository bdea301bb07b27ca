//! How far a direction reaches, and the curve of margin against distance.

use units::{Db, Dbm, Metres};

use super::answer::{FARTHEST, NEAREST, Point, Reach, Way};
use super::stage::{At, Receiver, Stage, Tuned, shadowed};
use crate::bounds::OutOfRange;

/// Distances of the first look, each 1.1 times the one before.
const STEP: f64 = 1.1;

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
    let wanted = stage.setup.flight.probability;
    let reached = |at: &At| ends.probability(at, stage.shadowing, more) >= wanted;
    let Some(first_bad) = row.places.iter().position(|(_, at)| !reached(at)) else {
        return Ok((row.places.last().map(|(distance, _)| *distance), true));
    };
    if first_bad == 0 {
        return Ok((None, false));
    }
    let (mut good, mut bad) = (row.places[first_bad - 1].0.0, row.places[first_bad].0.0);
    // To a thousandth of the distance, far finer than anything else on the sheet is known.
    while bad / good > 1.001 {
        let between = f64::midpoint(good, bad);
        if reached(&stage.at(Metres(between))?) { good = between } else { bad = between }
    }
    Ok((Some(Metres(good)), false))
}

/// The reach with its interval.
pub(super) fn reach(stage: &Stage, row: &Row, ends: &Ends) -> Result<Reach, OutOfRange> {
    let off = stage.setup.uncertainty * ONE_IN_TWENTY;
    let (distance, beyond) = reach_with(stage, row, ends, Db::ZERO)?;
    let (low, _) = reach_with(stage, row, ends, -off)?;
    let (high, _) = reach_with(stage, row, ends, off)?;
    Ok(Reach { distance, low, high, probability: stage.setup.flight.probability, beyond })
}

/// How far control reaches.
///
/// # Errors
/// [`OutOfRange`] when a value of the setup lies outside its range.
pub fn control_reach(stage: &Stage, row: &Row, tuned: &Tuned) -> Result<Reach, OutOfRange> {
    reach(stage, row, &tuned.control())
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
        .map(|(distance, at)| {
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

/// What the level has over that before the antennas in all but a share of spells, found by
/// bisection to a hundredth of a decibel.
pub(super) fn percentile(at: &At, gains: &[f64], shadowing: Db, share: f64) -> f64 {
    let (least, most) = at
        .spells(gains)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), gain| (least.min(gain), most.max(gain)));
    let widest = 4.0 * shadowing.0;
    let (mut low, mut high) = (least - widest, most + widest);
    let count = At::count(gains);
    while high - low > 0.01 {
        let between = f64::midpoint(low, high);
        let above: f64 = at.spells(gains).map(|gain| shadowed(gain - between, shadowing)).sum();
        if above / count > 1.0 - share { low = between } else { high = between }
    }
    f64::midpoint(low, high)
}
