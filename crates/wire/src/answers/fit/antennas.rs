//! The antennas: where they sit and what they hear round the airframe.

use fitting::antennas::{Answer, Direction as Way, Point as Place, Round as Heard, Site as Sits};
use serde::Serialize;

use super::to;

/// Where antennas sit and what they hear.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Antennas {
    /// Each antenna.
    pub sites: Vec<Site>,
    /// Each receiver of whose antennas a direction is known.
    pub rounds: Vec<Round>,
}

/// One antenna.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Site {
    /// Its name.
    pub name: String,
    /// Its receiver; empty for the aircraft's only one.
    pub on: String,
    /// What it is.
    pub sort: &'static str,
    /// From root to tip.
    pub towards: Option<Direction>,
    /// Its working part by both ends: forward, right, up.
    pub ends_mm: Option<[[f64; 3]; 2]>,
    /// Its working length as measured.
    pub length_mm: Option<f64>,
    /// Its working length as it should be for the band.
    pub right_length_mm: Option<f64>,
    /// What its length or its band costs, where that can be reckoned.
    pub cost_db: Option<f64>,
    /// What comes near it, the nearest first.
    pub near: Vec<Near>,
}

/// A direction from the aircraft, itself level.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Direction {
    /// Clockwise from the nose, seen from above.
    pub azimuth_deg: f64,
    /// Up.
    pub elevation_deg: f64,
    /// In words.
    pub words: String,
}

/// What comes near an antenna.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Near {
    /// What.
    pub thing: String,
    /// How near.
    pub distance_mm: f64,
    /// The angle between the two, where both are long.
    pub angle_deg: Option<f64>,
}

/// What a receiver's antennas hear round the airframe.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Round {
    /// The receiver.
    pub on: String,
    /// The antennas that are in it.
    pub antennas: Vec<String>,
    /// Gain in the best direction.
    pub best_dbi: f64,
    /// Gain under the best, every 5 degrees clockwise from the nose.
    pub line_db: Vec<f64>,
    /// How far under the best the worst direction of all is.
    pub hole_db: f64,
    /// Where that is, in words.
    pub hole: String,
    /// The worst heading in level flight to a dipole held upright on the ground; `null` where it
    /// isn't known.
    pub upright_db: Option<f64>,
    /// The same to one held level.
    pub flat_db: Option<f64>,
}

fn millimetres(place: Place) -> [f64; 3] {
    [place.forward, place.right, place.up].map(|metres| to(1, metres.0 * 1000.0))
}

impl Antennas {
    /// Where antennas sit and what they hear, as an answer.
    pub fn new(answer: &Answer) -> Antennas {
        Antennas {
            sites: answer.sites.iter().map(Site::new).collect(),
            rounds: answer.rounds.iter().map(Round::new).collect(),
        }
    }
}

impl Site {
    fn new(site: &Sits) -> Site {
        let near = site.near.iter().map(|near| Near {
            thing: near.thing.clone(),
            distance_mm: to(1, near.distance.0 * 1000.0),
            angle_deg: near.angle.map(|angle| to(1, angle.0)),
        });
        Site {
            name: site.name.clone(),
            on: site.on.clone(),
            sort: site.sort.word(),
            towards: site.towards.map(Direction::new),
            ends_mm: site.piece.map(|(root, tip)| [millimetres(root), millimetres(tip)]),
            length_mm: site.length.map(|length| to(1, length.0 * 1000.0)),
            right_length_mm: site.right_length.map(|length| to(1, length.0 * 1000.0)),
            cost_db: site.cost.map(|cost| to(2, cost.0)),
            near: near.collect(),
        }
    }
}

impl Direction {
    fn new(way: Way) -> Direction {
        Direction {
            azimuth_deg: to(1, way.azimuth.0),
            elevation_deg: to(1, way.elevation.0),
            words: way.words(),
        }
    }
}

impl Round {
    fn new(round: &Heard) -> Round {
        Round {
            on: round.on.clone(),
            antennas: round.antennas.clone(),
            best_dbi: to(2, round.best.0),
            line_db: round.line.iter().map(|gain| to(2, gain.0)).collect(),
            hole_db: to(2, round.hole.depth.0),
            hole: round.hole.words.clone(),
            upright_db: round.held.map(|held| to(2, held.upright.0)),
            flat_db: round.held.map(|held| to(2, held.flat.0)),
        }
    }
}
