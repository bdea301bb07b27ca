//! What comes near an antenna, and what follows from it.

use units::{Degrees, Metres};

use super::lay::{self, Point, plus};
use super::{Antenna, Antennas, Disturber, Near, Sort};
use crate::finding::{Finding, Weight};

/// Nearer than this disturbs an antenna: 20 mm. Common practice, no source: 2 to 5 cm or more.
pub(super) const LEAST: Metres = Metres(0.020);

/// From here on it is well clear: 50 mm. Common practice, no source, as [`LEAST`].
pub(super) const WELL: Metres = Metres(0.050);

/// Two lines within this angle run alongside each other: 20 degrees. Judgement, no source.
const ALONGSIDE: Degrees = Degrees(20.0);

/// So many of the nearest things are told of, an antenna.
const MOST: usize = 20;

/// The working part of an antenna, by its ends; a point where its direction or length isn't known.
pub(super) fn piece(antenna: &Antenna) -> Option<(Point, Point)> {
    let root = antenna.root?;
    let tip = match (antenna.towards, antenna.length) {
        (Some(towards), Some(length)) if antenna.sort.is_straight() => root.along(towards, length),
        _ => root,
    };
    Some((root, tip))
}

/// Everything near an antenna, the nearest first.
pub(super) fn near(antenna: &Antenna, all: &Antennas) -> Vec<Near> {
    let mut out: Vec<Near> = antenna
        .measured
        .iter()
        .map(|(sort, distance)| Near {
            thing: format!("nearest {}", nearest(*sort)),
            sort: *sort,
            distance: *distance,
            angle: None,
        })
        .collect();
    if let Some(own) = piece(antenna) {
        out.extend(all.things.iter().map(|thing| {
            let other = (thing.at, thing.to.unwrap_or(thing.at));
            let angle = thing.to.filter(|_| antenna.sort.is_straight()).zip(antenna.towards);
            let angle = angle.and_then(|(to, towards)| {
                lay::between(plus(to.vector(), thing.at.vector(), -1.0), towards.vector())
            });
            Near { thing: thing.name.clone(), sort: thing.sort, distance: lay::shortest(own, other), angle }
        }));
    }
    out.sort_by(|one, other| one.distance.0.total_cmp(&other.distance.0));
    out
}

/// What a distance that was measured is to.
fn nearest(sort: Disturber) -> &'static str {
    match sort {
        Disturber::Carbon => "carbon",
        Disturber::MotorLead | Disturber::SpeedController => "motor lead or speed controller",
        Disturber::Pack => "pack",
        Disturber::ServoLead | Disturber::MetalRod => "servo lead or metal",
    }
}

fn consequence(sort: Disturber) -> &'static str {
    match sort {
        Disturber::Carbon => {
            "Carbon shades the antenna and shifts it off its band: less range, and none through the carbon"
        }
        Disturber::MotorLead | Disturber::SpeedController => {
            "Its noise comes straight into the receiver, most of all with the motor running: less range under power"
        }
        Disturber::Pack => "A pack shades the antenna and shifts it off its band: less range past the pack",
        Disturber::ServoLead => {
            "A servo lead carries noise and takes part of the field: less range, and servos that twitch"
        }
        Disturber::MetalRod => {
            "Metal takes part of the field and shifts the antenna off its band: less range"
        }
    }
}

/// What is wrong with what comes near an antenna; `quarter` is a quarter of its wave.
pub(super) fn findings(antenna: &Antenna, near: &[Near], quarter: Option<Metres>) -> Vec<Finding> {
    let about = format!("antenna {}", antenna.name);
    let mut out = Vec::new();
    for one in near.iter().take(MOST) {
        let (thing, distance) = (&one.thing, super::check::mm(one.distance));
        let weight = match one.distance {
            distance if distance.0 < LEAST.0 => Some((Weight::Warning, 20)),
            distance if distance.0 < WELL.0 => Some((Weight::Note, 50)),
            _ => None,
        };
        if let Some((weight, least)) = weight {
            out.push(Finding {
                key: "too_near",
                weight,
                about: about.clone(),
                text: format!("It is {distance} from the {thing}, less than {least} mm."),
                consequence: format!("{}.", consequence(one.sort)),
                mend: format!("Lay it 50 mm or more away from the {thing}, or move that."),
            });
        }
        let reach = quarter.map_or(WELL.0, |quarter| quarter.0.max(WELL.0));
        if let Some(angle) = one.angle.filter(|angle| angle.0 <= ALONGSIDE.0)
            && one.distance.0 < reach
        {
            out.push(Finding {
                key: "runs_alongside",
                weight: if one.distance.0 < WELL.0 { Weight::Warning } else { Weight::Note },
                about: about.clone(),
                text: format!(
                    "The {thing} runs alongside it, {:.0}° off, at {distance}: nearer than {}.",
                    angle.0,
                    super::check::mm(Metres(reach))
                ),
                consequence:
                    "A conductor that runs with an antenna takes part of its field and turns the rest \
                              away: holes in directions that the pattern alone doesn't have."
                        .to_owned(),
                mend: format!("Turn the antenna across the {thing}, or move it farther away."),
            });
        }
    }
    out
}

/// Whether an antenna is only a place on the board.
pub(super) fn is_on_board(antenna: &Antenna) -> bool {
    antenna.sort == Sort::Chip
}
