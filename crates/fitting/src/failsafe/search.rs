//! Where to look for it, and whether it stays in the field.

mod edge;

use units::{Degrees, Metres};

pub use edge::Edge;

use super::area::{CHI_SQUARE_95, Covariance, Disc, Ellipse, Spot};
use super::course::{assumptions, carried, course, flight, turn_radius};
use super::setup::{Failsafe, Falls, Flight, Turning};
use super::{NoCourse, words};
use crate::finding::{Finding, Weight, sort};

/// Where to look.
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// The answer in a sentence: where to look first.
    pub sentence: String,
    /// Where the link was lost, seen from the pilot; the pilot's place where nobody said.
    pub lost: Spot,
    /// Where it comes down if all is as stated.
    pub centre: Spot,
    /// Where it comes down 95 times in 100 if it goes straight on and the spreads are right; `None`
    /// where it turns or its heading isn't known.
    pub ellipse: Option<Ellipse>,
    /// As far as it can come, whichever way it turns; `None` where it goes straight on.
    pub reach: Option<Disc>,
    /// Where to look, one place after the other, in words.
    pub look: Vec<String>,
    /// How the ellipse lies in the field.
    pub ellipse_edge: Option<Edge>,
    /// How the reach lies in the field.
    pub reach_edge: Option<Edge>,
    /// What was found, the heaviest first.
    pub findings: Vec<Finding>,
    /// What it was reckoned with beyond what the part says.
    pub assumptions: Vec<String>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// The areas for one flight from one place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Areas {
    pub centre: Spot,
    pub ellipse: Option<Ellipse>,
    pub reach: Option<Disc>,
}

/// The areas: start, way along the nose, wind drift; their spread by linear propagation of the stated
/// spreads (textbook: `Σ = J S Jᵀ` with independent causes). That holds for headings known to about
/// 20 degrees; beyond, the true area bends round the start and the ellipse doesn't.
pub(super) fn areas(failsafe: &Failsafe, flight: &Flight, lost: Spot) -> Areas {
    let way = course(failsafe, flight, 1.0);
    let spread = &failsafe.spread;
    // By how much a part in a thousand of the glide ratio, drag area or slowing changes it.
    let (less, more) = (course(failsafe, flight, 0.999), course(failsafe, flight, 1.001));
    let by_fall = spread.fall / 0.002;
    let (along_by, time_by) = ((more.along - less.along) * by_fall, (more.time - less.time) * by_fall);
    let grounded = failsafe.falls() == Falls::Stop;
    let by_wind = if grounded { 0.0 } else { spread.wind.0 * way.time.0 };
    let drift_by = carried(failsafe, Spot::PILOT, time_by);
    let mut even = Covariance::default();
    for each in [spread.place.0, by_wind] {
        even.add(each, 0.0);
        even.add(0.0, each);
    }
    let straight = |heading: Degrees| {
        let centre = carried(failsafe, lost.along(heading, way.along), way.time);
        let mut covariance = even;
        let turned = Spot::PILOT.along(Degrees(heading.0 + 90.0), way.along * spread.heading.radians());
        covariance.add(turned.east.0, turned.north.0);
        let fallen = drift_by.along(heading, along_by);
        covariance.add(fallen.east.0, fallen.north.0);
        Ellipse::of(centre, covariance)
    };
    let glides = failsafe.falls() == Falls::Glide && way.dived.is_none();
    let turning = if failsafe.falls() == Falls::Ballistic || way.dived.is_some() {
        Turning::Straight
    } else {
        failsafe.way.turning
    };
    let ellipse = flight.heading.filter(|_| turning != Turning::Gentle).map(straight);
    let round = |flown: Metres, heading: Option<Degrees>| {
        let begin = heading.map_or(lost, |heading| lost.along(heading, way.held));
        let free = if heading.is_some() { flown } else { flown + way.held };
        let swung = if heading.is_some() { way.held.0 * spread.heading.radians() } else { 0.0 };
        let drifted = Spot::PILOT.to(drift_by).0.0;
        let causes = [spread.place.0, by_wind, along_by.0, drifted, swung];
        let square: f64 = causes.iter().map(|cause| cause * cause).sum();
        let radius = free + Metres((CHI_SQUARE_95 * square).sqrt());
        Disc { centre: carried(failsafe, begin, way.time), radius }
    };
    let left = way.along - way.held;
    let reach = match (turning, flight.heading) {
        (Turning::Straight, Some(_)) => None,
        (Turning::Gentle, heading) if glides => {
            let circle = turn_radius(failsafe, flight) * 2.0;
            Some(round(if circle < left { circle } else { left }, heading))
        }
        (_, heading) => Some(round(left, heading)),
    };
    let centre = ellipse.map(|one| one.centre).or(reach.map(|one| one.centre)).unwrap_or(lost);
    Areas { centre, ellipse, reach }
}

/// Says where to look, and whether it stays in the field.
///
/// # Errors
/// The part doesn't say how it flies, or the motor runs on.
pub fn search(failsafe: &Failsafe) -> Result<Search, NoCourse> {
    let flight = flight(failsafe)?;
    let lost = failsafe.field.lost.unwrap_or(Spot::PILOT);
    let areas = areas(failsafe, flight, lost);
    let look = look(failsafe, &areas);
    let mut findings = Vec::new();
    let (ellipse_edge, reach_edge) = edge::edges(failsafe, flight, lost, &areas, &mut findings);
    if failsafe.field.boundary.is_none() {
        findings.push(Finding {
            key: "no_boundary",
            weight: Weight::Note,
            about: "field".to_owned(),
            text: "The field's boundary isn't given.".to_owned(),
            consequence: "Whether it comes down inside the field was not checked.".to_owned(),
            mend: "Give field.radius_m, or a [[corner]] for each corner.".to_owned(),
        });
    }
    sort(&mut findings);
    let mut assumptions = assumptions(failsafe, flight);
    if failsafe.field.lost.is_none() {
        assumptions.push("The link is lost above the pilot, as the part doesn't say where.".to_owned());
    }
    if areas.ellipse.is_some() && failsafe.spread.heading.0 > 20.0 {
        assumptions.push(
            "The heading is known so roughly that the true area bends round the place of the loss; the ellipse \
             is straight. Look beyond its ends, too."
                .to_owned(),
        );
    }
    let sentence = look.first().cloned().unwrap_or_default();
    let (centre, ellipse, reach) = (areas.centre, areas.ellipse, areas.reach);
    Ok(Search {
        sentence,
        lost,
        centre,
        ellipse,
        reach,
        look,
        ellipse_edge,
        reach_edge,
        findings,
        assumptions,
        cautions: cautions(failsafe),
    })
}

fn look(failsafe: &Failsafe, areas: &Areas) -> Vec<String> {
    let known = failsafe.field.lost.is_some();
    let whose = if known { "where you stand" } else { "the place of the loss" };
    let way = |to: Spot| words::way_to(Spot::PILOT, whose, to);
    let near = |to: Spot| if Spot::PILOT.to(to).0.0 < 5.0 { format!("at {whose}") } else { way(to) };
    let point =
        |to: Spot| if Spot::PILOT.to(to).0.0 < 5.0 { way(to) } else { format!("a point {}", way(to)) };
    let mut out = Vec::new();
    if let Some(ellipse) = areas.ellipse {
        let size = if ellipse.major.0 < 1.0 {
            String::new()
        } else {
            format!(
                "; nineteen times in twenty within an area {} long and {} wide, its length along {}",
                words::metres(ellipse.major * 2.0),
                words::metres(ellipse.minor * 2.0),
                words::bearing(ellipse.bearing)
            )
        };
        out.push(format!("Look first {}{size}.", near(ellipse.centre)));
    }
    if let Some(reach) = areas.reach {
        let first = if out.is_empty() { "Look" } else { "If it turned: look" };
        out.push(format!(
            "{first} anywhere within {} of {}.",
            words::metres(reach.radius),
            point(reach.centre)
        ));
    }
    if failsafe.falls() != Falls::Stop && failsafe.wind.speed.0 > 0.0 {
        let towards = Degrees(failsafe.wind.from.0 + 180.0);
        out.push(format!(
            "Then on down the wind, to the {}: trees and slopes stretch the way.",
            words::point(towards)
        ));
    }
    out
}

fn cautions(failsafe: &Failsafe) -> Vec<String> {
    let mut out = vec![
        "This is a planning aid: wind, lift, trees and damage are not in it. Local rules and the site's rules \
         prevail."
            .to_owned(),
        "Who was under its way? See to people first.".to_owned(),
    ];
    if failsafe.driven_by() != super::Power::None {
        out.push(
            "Keep the transmitter on with the throttle closed until its pack is out or its engine stopped: the \
             link may come back, and the motor with it. Come to it from behind the propeller."
                .to_owned(),
        );
    }
    if failsafe.driven_by() == super::Power::Electric {
        out.push("A lithium pack that was hit can burn later: keep it outside and watched.".to_owned());
    }
    out
}
