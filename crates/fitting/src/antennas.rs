//! The antennas of an aircraft: where they sit, how they stand to each other, whether they are made
//! for the band.
//!
//! Distances, angles and connectors are judged by common practice; what a wrong length costs is
//! [`link::mismatch`], what a direction costs [`link::antenna`]. What the airframe does to an antenna
//! near it is not reckoned: there the ground range check decides.

mod band;
mod check;
mod lay;
mod near;
mod round;
mod schema;

use units::{Degrees, Metres, Mhz};

use crate::part::{self, Filled, Problem, Row};

pub use check::{Answer, Site, check};
pub use lay::{Near, Point};
pub use round::{Direction, Held, Hole, Round};
pub use schema::SCHEMA;

/// What an antenna is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// A quarter wave of wire.
    Wire,
    /// A coaxial cable, the last quarter wave of it bare.
    BareTip,
    /// The same with a sleeve a quarter wave long: a dipole on a cable.
    Sleeve,
    /// Two arms.
    Dipole,
    /// A ceramic chip on the board.
    Chip,
    /// Flat, looks one way.
    Patch,
}

/// How an antenna is joined to its receiver.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Connector {
    /// Screwed on.
    Threaded,
    /// Screwed on, with pin and hole swapped.
    ThreadedReversed,
    /// Pressed on.
    SnapOn,
    /// Pressed on, the smaller size.
    SnapOnSmall,
    /// Soldered.
    Soldered,
}

/// What is round an antenna's working part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Around {
    /// Nothing that stops radio waves.
    Clear,
    /// Carbon on one side.
    BehindCarbon,
    /// Carbon all round.
    InCarbon,
}

/// What disturbs an antenna near it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Disturber {
    /// A carbon part.
    Carbon,
    /// A lead between speed controller and motor.
    MotorLead,
    /// A speed controller.
    SpeedController,
    /// A pack.
    Pack,
    /// A servo's lead.
    ServoLead,
    /// A rod, tube or wire of metal.
    MetalRod,
}

/// One antenna.
#[derive(Clone, Debug, PartialEq)]
pub struct Antenna {
    /// What to call it.
    pub name: String,
    /// The label of its receiver; empty for the aircraft's only one.
    pub on: String,
    /// What it is.
    pub sort: Sort,
    /// Its working part.
    pub length: Option<Metres>,
    /// The middle of the band that it is made for.
    pub made_for: Option<Mhz>,
    /// What is at the end of its cable.
    pub connector: Option<Connector>,
    /// What the receiver has for it.
    pub socket: Option<Connector>,
    /// From root to tip.
    pub towards: Option<Direction>,
    /// What is round it.
    pub around: Option<Around>,
    /// Where its working part begins.
    pub root: Option<Point>,
    /// Distances that were measured: the nearest of a sort.
    pub measured: Vec<(Disturber, Metres)>,
}

/// Something that disturbs.
#[derive(Clone, Debug, PartialEq)]
pub struct Thing {
    /// What it is.
    pub sort: Disturber,
    /// What to call it.
    pub name: String,
    /// Where it is.
    pub at: Point,
    /// The other end of a long one.
    pub to: Option<Point>,
}

/// The antennas of an aircraft.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Antennas {
    /// Each of them.
    pub antennas: Vec<Antenna>,
    /// What is near them.
    pub things: Vec<Thing>,
    /// The angle between the two of a receiver, where it was measured.
    pub angle: Option<Degrees>,
    /// The distance between the two of a receiver, where it was measured.
    pub apart: Option<Metres>,
}

impl Sort {
    const WORDS: &'static [(&'static str, Sort)] = &[
        ("wire", Sort::Wire),
        ("bare-tip", Sort::BareTip),
        ("sleeve", Sort::Sleeve),
        ("dipole", Sort::Dipole),
        ("chip", Sort::Chip),
        ("patch", Sort::Patch),
    ];

    /// The word in files and in JSON.
    pub fn word(self) -> &'static str {
        Sort::WORDS.iter().find(|(_, sort)| *sort == self).map_or("", |(word, _)| word)
    }

    /// Whether it works along a straight wire.
    pub fn is_straight(self) -> bool {
        !matches!(self, Sort::Chip | Sort::Patch)
    }
}

impl Connector {
    const WORDS: &'static [(&'static str, Connector)] = &[
        ("threaded", Connector::Threaded),
        ("threaded-reversed", Connector::ThreadedReversed),
        ("snap-on", Connector::SnapOn),
        ("snap-on-small", Connector::SnapOnSmall),
        ("soldered", Connector::Soldered),
    ];

    /// What it is called in sentences.
    pub fn label(self) -> &'static str {
        match self {
            Connector::Threaded => "threaded",
            Connector::ThreadedReversed => "threaded with pin and hole swapped",
            Connector::SnapOn => "snap-on",
            Connector::SnapOnSmall => "snap-on of the smaller size",
            Connector::Soldered => "soldered",
        }
    }
}

impl Around {
    const WORDS: &'static [(&'static str, Around)] =
        &[("clear", Around::Clear), ("behind-carbon", Around::BehindCarbon), ("in-carbon", Around::InCarbon)];
}

impl Disturber {
    const WORDS: &'static [(&'static str, Disturber)] = &[
        ("carbon", Disturber::Carbon),
        ("motor-lead", Disturber::MotorLead),
        ("speed-controller", Disturber::SpeedController),
        ("pack", Disturber::Pack),
        ("servo-lead", Disturber::ServoLead),
        ("metal-rod", Disturber::MetalRod),
    ];

    /// What it is called in sentences.
    pub fn label(self) -> &'static str {
        match self {
            Disturber::Carbon => "carbon part",
            Disturber::MotorLead => "motor lead",
            Disturber::SpeedController => "speed controller",
            Disturber::Pack => "pack",
            Disturber::ServoLead => "servo lead",
            Disturber::MetalRod => "metal rod",
        }
    }
}

fn worded<T: Copy>(row: &Row, key: &str, words: &[(&str, T)]) -> Option<T> {
    let said = row.text(key)?;
    words.iter().find(|(word, _)| *word == said).map(|(_, one)| *one)
}

fn millimetres(row: &Row, key: &str) -> Option<Metres> {
    row.number(key).map(|mm| Metres(mm / 1000.0))
}

fn point(row: &Row, keys: [&str; 3]) -> Point {
    let [forward, right, up] = keys.map(|key| millimetres(row, key).unwrap_or(Metres(0.0)));
    Point { forward, right, up }
}

/// No receiver has more antennas than this: our judgement.
const MOST: usize = 8;

/// Names are one whatever their capitals.
fn same(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

impl Antennas {
    /// Reads a text; `origin` is what to call it in problems.
    ///
    /// # Errors
    /// Every [`Problem`], as [`part::read`] and [`Antennas::of`].
    pub fn read(origin: &str, text: &str) -> Result<Antennas, Vec<Problem>> {
        Antennas::of(origin, &part::read(&SCHEMA, origin, text)?)
    }

    /// The antennas as they are filled in.
    ///
    /// # Errors
    /// Two antennas of one name on one aircraft, more than eight on one receiver, a place for an antenna that there isn't, or a second
    /// place for one.
    pub fn of(origin: &str, filled: &Filled) -> Result<Antennas, Vec<Problem>> {
        let mut problems = Vec::new();
        let mut out = Antennas::default();
        for row in filled.rows("antenna") {
            let antenna = antenna(row);
            if out.antennas.iter().any(|have| same(&have.name, &antenna.name)) {
                let says = format!("is \"{}\", as another antenna; give each its own name", antenna.name);
                problems.push(part::problem(origin, row, "name", says));
            }
            out.antennas.push(antenna);
        }
        for (row, antenna) in filled.rows("antenna").iter().zip(&out.antennas) {
            let alike = out.antennas.iter().take_while(|have| have.name != antenna.name);
            if alike.filter(|have| same(&have.on, &antenna.on)).count() == MOST {
                let whose = if antenna.on.is_empty() { "the receiver" } else { antenna.on.as_str() };
                let says = format!("makes more than {MOST} antennas of {whose}; write whose each of them is");
                problems.push(part::problem(origin, row, "on", says));
            }
        }
        for row in filled.rows("place") {
            let name = row.words("antenna");
            let Some(antenna) = out.antennas.iter_mut().find(|have| same(&have.name, &name)) else {
                let says = format!("is \"{name}\", but no antenna is called so; write an antenna's name");
                problems.push(part::problem(origin, row, "antenna", says));
                continue;
            };
            if antenna.root.is_some() {
                let says = format!("is \"{name}\", which has a place already; keep one of the two");
                problems.push(part::problem(origin, row, "antenna", says));
            }
            antenna.root = Some(point(row, ["x_mm", "y_mm", "z_mm"]));
        }
        out.things.extend(filled.rows("thing").iter().filter_map(thing));
        if let Some(row) = filled.one("between") {
            out.angle = row.number("angle_deg").map(Degrees);
            out.apart = millimetres(row, "apart_mm");
        }
        if problems.is_empty() { Ok(out) } else { Err(problems) }
    }
}

fn antenna(row: &Row) -> Antenna {
    let (azimuth, elevation) = (row.number("azimuth_deg"), row.number("elevation_deg"));
    let towards = (azimuth.is_some() || elevation.is_some()).then(|| Direction {
        azimuth: Degrees(azimuth.unwrap_or(0.0)),
        elevation: Degrees(elevation.unwrap_or(0.0)),
    });
    let measured = [
        ("carbon_mm", Disturber::Carbon),
        ("motor_lead_mm", Disturber::MotorLead),
        ("pack_mm", Disturber::Pack),
        ("metal_mm", Disturber::MetalRod),
    ];
    Antenna {
        name: row.words("name"),
        on: row.words("on"),
        // A row that was read has one of the words; a wire stands for none.
        sort: worded(row, "kind", Sort::WORDS).unwrap_or(Sort::Wire),
        length: millimetres(row, "length_mm"),
        made_for: row.number("for_mhz").map(Mhz),
        connector: worded(row, "connector", Connector::WORDS),
        socket: worded(row, "socket", Connector::WORDS),
        towards,
        around: worded(row, "around", Around::WORDS),
        root: None,
        measured: measured
            .iter()
            .filter_map(|(key, sort)| millimetres(row, key).map(|away| (*sort, away)))
            .collect(),
    }
}

fn thing(row: &Row) -> Option<Thing> {
    let sort = worded(row, "kind", Disturber::WORDS)?;
    let at = point(row, ["x_mm", "y_mm", "z_mm"]);
    let other = |key: &str, same: Metres| millimetres(row, key).unwrap_or(same);
    let to = Point {
        forward: other("x2_mm", at.forward),
        right: other("y2_mm", at.right),
        up: other("z2_mm", at.up),
    };
    let name = row.text("name").unwrap_or(sort.label()).to_owned();
    Some(Thing { sort, name, at, to: (to != at).then_some(to) })
}
