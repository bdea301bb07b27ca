//! The search area and the field's boundary.

use units::Metres;

use super::super::area::{Lies, Shape, Spot, in_polygon, in_radius};
use super::super::setup::{Boundary, Failsafe, Falls, Flight};
use super::super::words;
use super::{Areas, Finding, Weight, areas};

/// How an area lies in the field.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// Inside, or across.
    pub lies: Lies,
    /// The greatest height from which it would stay inside, all else alike; `None` where it is inside
    /// or where no height does.
    pub height: Option<Metres>,
    /// How far from the pilot, in the same direction, the link may be lost for it to stay inside;
    /// `None` where it is inside or where no distance does.
    pub distance: Option<Metres>,
    /// All that in words.
    pub text: String,
}

fn lies(boundary: &Boundary, shape: &Shape) -> Lies {
    match boundary {
        Boundary::Radius(radius) => in_radius(*radius, shape),
        Boundary::Corners(field) => in_polygon(field, shape),
    }
}

fn inside(boundary: &Boundary, shape: Option<Shape>) -> bool {
    shape.is_some_and(|shape| matches!(lies(boundary, &shape), Lies::Inside(_)))
}

/// Steps in which a height or distance is looked for from nothing up; then halved down to a centimetre.
const STEPS: u32 = 50;

/// The greatest share of 1 up to which every step fits: a greater one that fits while a lesser doesn't is no
/// limit to keep below.
fn greatest(fits: impl Fn(f64) -> bool) -> Option<f64> {
    let share = |step: u32| f64::from(step) / f64::from(STEPS);
    let step = (0..STEPS).take_while(|step| fits(share(*step))).last()?;
    let (mut low, mut high) = (share(step), share(step + 1));
    for _ in 0..14 {
        let middle = f64::midpoint(low, high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

#[derive(Clone, Copy)]
enum Which {
    Ellipse,
    Reach,
}

impl Which {
    fn of(self, areas: &Areas) -> Option<Shape> {
        match self {
            Which::Ellipse => areas.ellipse.map(Shape::Ellipse),
            Which::Reach => areas.reach.map(Shape::Disc),
        }
    }
}

pub(super) fn edges(
    failsafe: &Failsafe,
    flight: &Flight,
    lost: Spot,
    found: &Areas,
    findings: &mut Vec<Finding>,
) -> (Option<Edge>, Option<Edge>) {
    let Some(boundary) = &failsafe.field.boundary else { return (None, None) };
    let mut one = |which: Which| {
        let shape = which.of(found)?;
        let edge = edge(failsafe, boundary, flight, lost, which, &shape);
        if let Lies::Crosses(_) = edge.lies {
            findings.push(Finding {
                key: match which {
                    Which::Ellipse => "leaves_field",
                    Which::Reach => "may_leave_field",
                },
                weight: Weight::Warning,
                about: "field".to_owned(),
                text: edge.text.clone(),
                consequence: "It can come down where people, roads or animals are that nobody asked."
                    .to_owned(),
                mend: "Fly lower, nearer or more upwind, or have it turn at failsafe; the site's own limits \
                       come before these."
                    .to_owned(),
            });
        }
        Some(edge)
    };
    (one(Which::Ellipse), one(Which::Reach))
}

fn edge(
    failsafe: &Failsafe,
    boundary: &Boundary,
    flight: &Flight,
    lost: Spot,
    which: Which,
    shape: &Shape,
) -> Edge {
    let what = match which {
        Which::Ellipse => "Straight on",
        Which::Reach => "Whichever way it turns",
    };
    let far = match lies(boundary, shape) {
        Lies::Inside(left) => {
            let text = format!(
                "{what} it comes down inside the field, {} from its edge at the nearest, if the spreads are right.",
                words::metres(left)
            );
            let text = words::on_condition(failsafe, &text);
            return Edge { lies: Lies::Inside(left), height: None, distance: None, text };
        }
        Lies::Crosses(far) => far,
    };
    let at_height = |share: f64| Flight { height: flight.height * share, ..*flight };
    let at_place = |share: f64| Spot { east: lost.east * share, north: lost.north * share };
    let height = (failsafe.falls() != Falls::Stop && flight.height.0 > 0.0)
        .then(|| {
            greatest(|share| inside(boundary, which.of(&areas(failsafe, &at_height(share), lost))))
                .map(|share| flight.height * share)
        })
        .flatten();
    let (away, _) = Spot::PILOT.to(lost);
    let distance = (away.0 > 0.0)
        .then(|| {
            greatest(|share| inside(boundary, which.of(&areas(failsafe, flight, at_place(share)))))
                .map(|share| away * share)
        })
        .flatten();
    let mut text = format!("{what} it can come down up to {} beyond the field's edge.", words::metres(far));
    let below = height.map(|height| format!("below {}", words::metres_at_most(height)));
    let within = distance
        .map(|distance| format!("lost within {} of you in that direction", words::metres_at_most(distance)));
    let way = match (below, within) {
        (Some(below), Some(within)) => format!(" It would stay inside from {below}, or {within}."),
        (Some(below), None) => format!(" It would stay inside from {below}."),
        (None, Some(within)) => format!(" It would stay inside if {within}."),
        (None, None) => " Neither flying lower nor nearer to you alone keeps it inside.".to_owned(),
    };
    text.push_str(&way);
    let text = words::on_condition(failsafe, &text);
    Edge { lies: Lies::Crosses(far), height, distance, text }
}
