//! From cells to types, and what can't be together.

use std::collections::BTreeMap;

use link::atmosphere::Density;
use register::family::read::Problem;
use units::{Degrees, Metres, MetresPerSecond, Micros, Seconds};

use super::super::area::{Polygon, PolygonFault, Spot};
use super::super::fall::Body;
use super::{
    Action, Boundary, Channel, Failsafe, Falls, Field, Flight, Own, Power, Sort, Spread, Timing, Turning,
    Way, Wind,
};
use crate::part::{Filled, Row, problem};

/// A quadratic drag of more than this a metre is that of a feather: its steady fall is under 2.2 m/s.
const MOST_DRAG_PER_M: f64 = 2.0;

fn timing(row: Option<&Row>, taken: &mut Vec<String>) -> Timing {
    let get = |key: &str| row.and_then(|row| row.number(key)).map(Seconds);
    let failsafe_after = get("failsafe_after_s").unwrap_or_else(|| {
        taken.push("failsafe 1 s after the last good packet".to_owned());
        Seconds(1.0)
    });
    Timing {
        failsafe_after,
        servo_travel: get("servo_travel_s").unwrap_or(Seconds(0.3)),
        motor_stop: get("motor_stop_s").unwrap_or(Seconds(1.0)),
        control_back: get("control_back_s"),
    }
}

fn channels(origin: &str, filled: &Filled, problems: &mut Vec<Problem>) -> Vec<Channel> {
    let mut seen = BTreeMap::new();
    let mut out = Vec::new();
    for row in filled.rows("channel") {
        let number = row.whole("channel").unwrap_or_default();
        if let Some(first) = seen.insert(number, &row.path) {
            let says = format!("is {number}, as in {first}; a channel has one row: put them together");
            problems.push(problem(origin, row, "channel", says));
        }
        let us = |key: &str| row.number(key).map(Micros);
        let (idle, full) = (us("idle_us"), us("full_us"));
        if idle.is_some() && idle == full {
            let says = "is the same as `idle_us`; give the pulse width at full throttle";
            problems.push(problem(origin, row, "full_us", says));
        }
        out.push(Channel {
            number,
            function: row.words("function").trim().to_owned(),
            action: row.text("action").and_then(Action::from_word).unwrap_or(Action::NotSet),
            value: us("value_us"),
            idle,
            full,
        });
    }
    out
}

fn way(origin: &str, filled: &Filled, air: Density, problems: &mut Vec<Problem>) -> Way {
    let row = filled.one("fall");
    let get = |key: &str| row.and_then(|row| row.number(key));
    let body = match (row, get("mass_kg"), get("drag_area_m2")) {
        (Some(_), Some(mass_kg), Some(drag_area_m2)) => Some(Body { mass_kg, drag_area_m2 }),
        (Some(row), Some(_), None) => {
            let says =
                "is missing; a mass without a drag area says nothing about air drag: give both or none";
            problems.push(problem(origin, row, "drag_area_m2", says));
            None
        }
        (Some(row), None, Some(_)) => {
            let says =
                "is missing; a drag area without a mass says nothing about air drag: give both or none";
            problems.push(problem(origin, row, "mass_kg", says));
            None
        }
        _ => None,
    };
    if let (Some(row), Some(body)) = (row, body) {
        let drag = body.drag_per_m(air);
        if drag > MOST_DRAG_PER_M {
            let says = format!(
                "is {} m2 for {} kg, which would fall at {:.1} m/s like a feather; correct it or the mass",
                body.drag_area_m2,
                body.mass_kg,
                (super::super::fall::GRAVITY_M_S2 / drag).sqrt()
            );
            problems.push(problem(origin, row, "drag_area_m2", says));
        }
    }
    let word = |key: &str| row.and_then(|row| row.text(key));
    Way {
        falls: word("falls").and_then(Falls::from_word),
        turning: word("turning").and_then(Turning::from_word).unwrap_or(Turning::Unknown),
        ratio: get("glide_ratio"),
        glide: get("glide_m_s").map(MetresPerSecond),
        turn_radius: get("turn_radius_m").map(Metres),
        body,
        slowing_m_s2: get("slowing_m_s2"),
    }
}

fn spot(row: &Row) -> Spot {
    let get = |key: &str| Metres(row.number(key).unwrap_or_default());
    Spot { east: get("east_m"), north: get("north_m") }
}

fn field(origin: &str, filled: &Filled, problems: &mut Vec<Problem>) -> Field {
    let row = filled.one("field");
    let radius = row.and_then(|row| row.number("radius_m")).map(Metres);
    let corners = filled.rows("corner");
    let boundary = match (radius, corners.last()) {
        (radius, None) => radius.map(Boundary::Radius),
        (Some(_), Some(last)) => {
            let says = "can't be there beside `field.radius_m`; give the boundary as corners or as a radius";
            problems.push(problem(origin, last, "east_m", says));
            None
        }
        (None, Some(last)) => match Polygon::new(corners.iter().map(spot).collect()) {
            Ok(polygon) => Some(Boundary::Corners(polygon)),
            Err(fault) => {
                let says = match fault {
                    PolygonFault::TooFew(count) => {
                        format!("belongs to corner {count}; a boundary needs three corners or more")
                    }
                    PolygonFault::Crossing(first, second) => format!(
                        "ends a boundary that crosses itself after corners {first} and {second}; put the \
                         corners in their order round the field"
                    ),
                    PolygonFault::Flat => {
                        "ends a boundary with no area; the corners must not lie on one line".to_owned()
                    }
                };
                problems.push(problem(origin, last, "east_m", says));
                None
            }
        },
    };
    Field {
        lost: row.filter(|row| row.cell("east_m").is_some() || row.cell("north_m").is_some()).map(spot),
        boundary,
        air: Density(row.and_then(|row| row.number("air_kg_m3")).unwrap_or(1.225)),
    }
}

fn wind(origin: &str, filled: &Filled, taken: &mut Vec<String>, problems: &mut Vec<Problem>) -> Wind {
    let calm = Wind { speed: MetresPerSecond(0.0), from: Degrees(0.0) };
    let Some(row) = filled.one("wind") else {
        taken.push("no wind".to_owned());
        return calm;
    };
    let speed = row.number("speed_m_s").unwrap_or_default();
    match row.number("from_deg") {
        Some(from) => Wind { speed: MetresPerSecond(speed), from: Degrees(from) },
        None if speed > 0.0 => {
            let says =
                format!("is missing; a wind of {speed} m/s comes from somewhere, as in `from_deg = 270`");
            problems.push(problem(origin, row, "from_deg", says));
            calm
        }
        None => calm,
    }
}

fn spread(row: Option<&Row>, taken: &mut Vec<String>) -> Spread {
    let get = |key: &str| row.and_then(|row| row.number(key));
    if row.is_none() {
        taken.push(
            "heading to 15 degrees, the way down to 20 %, the wind to 1 m/s, the place to 20 m (judgement)"
                .to_owned(),
        );
    }
    Spread {
        heading: Degrees(get("heading_deg").unwrap_or(15.0)),
        fall: get("fall_percent").unwrap_or(20.0) / 100.0,
        wind: MetresPerSecond(get("wind_m_s").unwrap_or(1.0)),
        place: Metres(get("place_m").unwrap_or(20.0)),
    }
}

pub(in crate::failsafe) fn of(origin: &str, filled: &Filled) -> Result<Failsafe, Vec<Problem>> {
    let (mut problems, mut taken) = (Vec::new(), Vec::new());
    let channels = channels(origin, filled, &mut problems);
    let craft = filled.one("craft");
    let word = |key: &str| craft.and_then(|row| row.text(key));
    let flight = filled.one("flight").map(|row| Flight {
        speed: MetresPerSecond(row.number("speed_m_s").unwrap_or_default()),
        height: Metres(row.number("height_m").unwrap_or_default()),
        heading: row.number("heading_deg").map(Degrees),
        climb: Degrees(row.number("climb_deg").unwrap_or_default()),
    });
    let field = field(origin, filled, &mut problems);
    let timing = timing(filled.one("timing"), &mut taken);
    let wind = wind(origin, filled, &mut taken, &mut problems);
    let spread = spread(filled.one("spread"), &mut taken);
    let failsafe = Failsafe {
        channels,
        sort: word("sort").and_then(Sort::from_word),
        power: word("power").and_then(Power::from_word),
        own: word("own").and_then(Own::from_word),
        timing,
        flight,
        wind,
        spread,
        way: way(origin, filled, field.air, &mut problems),
        field,
        taken,
    };
    if problems.is_empty() { Ok(failsafe) } else { Err(problems) }
}
