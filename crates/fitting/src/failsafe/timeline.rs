//! From the last good packet to the ground, moment by moment.

use units::{Metres, Seconds};

use super::area::Spot;
use super::course::{Course, Mark, Step, assumptions, carried, course, flight, turn_radius};
use super::setup::{Failsafe, Falls, Flight, Turning};
use super::{Driven, NoCourse, words};

/// What happens at one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Which, a stable key: `lost`, `failsafe`, `surfaces`, `motor`, `ground`.
    pub key: &'static str,
    /// After the last good packet.
    pub at: Seconds,
    /// Above the ground.
    pub height: Metres,
    /// From where the link was lost, over ground; at most that where the heading isn't known.
    pub from_lost: Metres,
    /// Where, seen from the pilot; `None` where heading or starting place isn't known.
    pub place: Option<Spot>,
    /// What happens, in words.
    pub text: String,
}

/// From the loss to the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// The answer in a sentence.
    pub sentence: String,
    /// The moments, in their order.
    pub moments: Vec<Moment>,
    /// From the last good packet to the ground.
    pub time: Seconds,
    /// From where the link was lost to the ground, over ground; straight on, or at most that where
    /// the heading isn't known.
    pub distance: Metres,
    /// What it was reckoned with beyond what the part says.
    pub assumptions: Vec<String>,
}

/// Follows it from the last good packet to the ground, straight on.
///
/// # Errors
/// The part doesn't say how it flies, or the motor runs on.
pub fn timeline(failsafe: &Failsafe) -> Result<Timeline, NoCourse> {
    let flight = flight(failsafe)?;
    let course = course(failsafe, flight, 1.0);
    let moments: Vec<Moment> =
        course.marks.iter().map(|mark| moment(failsafe, flight, &course, *mark)).collect();
    let distance = moments.last().map_or(Metres(0.0), |moment| moment.from_lost);
    let mut assumptions = assumptions(failsafe, flight);
    if failsafe.falls() == Falls::Glide && failsafe.way.turning != Turning::Straight {
        assumptions
            .push("The distances are those of a straight glide; in a turn it comes down nearer.".to_owned());
    }
    Ok(Timeline {
        sentence: words::on_condition(failsafe, &sentence(failsafe, flight, &course, distance)),
        moments,
        time: course.time,
        distance,
        assumptions,
    })
}

fn moment(failsafe: &Failsafe, flight: &Flight, course: &Course, mark: Mark) -> Moment {
    let from = |start: Spot| {
        let still = flight.heading.map_or(start, |heading| start.along(heading, mark.along));
        carried(failsafe, still, mark.at)
    };
    let (from_lost, _) = Spot::PILOT.to(from(Spot::PILOT));
    let from_lost = if flight.heading.is_some() { from_lost } else { from_lost + mark.along };
    let place = failsafe.field.lost.filter(|_| flight.heading.is_some()).map(from);
    let (key, text) = told(failsafe, course, mark.step);
    Moment { key, at: mark.at, height: mark.height, from_lost, place, text }
}

fn told(failsafe: &Failsafe, course: &Course, step: Step) -> (&'static str, String) {
    let fall = match failsafe.falls() {
        Falls::Glide => "glides",
        Falls::Ballistic => "falls",
        Falls::Stop => "runs out",
    };
    match step {
        Step::Lost => ("lost", "The last good packet: from here on it keeps the last commands.".to_owned()),
        Step::Failsafe => ("failsafe", "The receiver takes its failsafe.".to_owned()),
        Step::Surfaces => ("surfaces", "The servos are at their failsafe places.".to_owned()),
        Step::Motor => match failsafe.driven().0 {
            Driven::Idles => ("motor", format!("The engine idles; it {fall}.")),
            _ => ("motor", format!("The motor has stopped; it {fall}.")),
        },
        Step::Contact if failsafe.falls() == Falls::Stop => ("ground", "It stands.".to_owned()),
        Step::Contact if course.dived.is_some() => (
            "ground",
            format!(
                "It flies into the ground at {:.0} m/s, before its glide or fall begins.",
                course.speed.0
            ),
        ),
        Step::Contact => ("ground", format!("It meets the ground at about {:.0} m/s.", course.speed.0)),
    }
}

fn sentence(failsafe: &Failsafe, flight: &Flight, course: &Course, distance: Metres) -> String {
    let time = words::seconds(course.time);
    let far = words::metres(distance);
    let up_to = if flight.heading.is_some() { "" } else { "up to " };
    match failsafe.falls() {
        Falls::Stop => format!("It stands {time} after the last good packet, {up_to}{far} further on."),
        Falls::Glide if course.dived.is_none() && failsafe.way.turning == Turning::Gentle => {
            let circle = words::metres(turn_radius(failsafe, flight) * 2.0);
            let drifts = failsafe.wind.speed.0 > 0.0;
            let drift = if drifts { ", carried by the wind" } else { "" };
            format!(
                "It is on the ground {time} after the last good packet, turning circles {circle} across{drift}."
            )
        }
        _ => format!(
            "It is on the ground {time} after the last good packet, {up_to}{far} from where that was."
        ),
    }
}
