//! The map: where the link was lost, where it comes down, the field's edge, wind and north.

use fitting::failsafe::area::{Disc, Ellipse, Spot};
use fitting::failsafe::{Boundary, Failsafe, Search, Timeline};
use maud::{Markup, html};
use units::Metres;

use super::place::{WIDTH, arrow, n, picture, round_step, way};
use crate::words;

/// The map's square.
const TOP: f64 = 6.0;
const SIDE: f64 = 318.0;
const HEIGHT: f64 = 352.0;

struct Map {
    east: f64,
    north: f64,
    per_metre: f64,
    /// Half of what it shows, metres.
    half: f64,
}

impl Map {
    fn of(failsafe: &Failsafe, search: &Search) -> Map {
        let mut bounds = Bounds::new();
        bounds.disc(search.lost, 0.0);
        bounds.disc(Spot::PILOT, 0.0);
        bounds.disc(search.centre, 0.0);
        if let Some(ellipse) = &search.ellipse {
            bounds.disc(ellipse.centre, ellipse.major.0);
        }
        if let Some(reach) = &search.reach {
            bounds.disc(reach.centre, reach.radius.0);
        }
        match &failsafe.field.boundary {
            Some(Boundary::Radius(radius)) => bounds.disc(Spot::PILOT, radius.0),
            Some(Boundary::Corners(field)) => {
                field.corners().iter().for_each(|corner| bounds.disc(*corner, 0.0));
            }
            None => {}
        }
        let half = (bounds.span() / 2.0 * 1.08).max(20.0);
        let (east, north) = bounds.middle();
        Map { east, north, per_metre: SIDE / (2.0 * half), half }
    }

    fn at(&self, spot: Spot) -> (f64, f64) {
        let middle = SIDE / 2.0;
        (
            (WIDTH - SIDE) / 2.0 + middle + (spot.east.0 - self.east) * self.per_metre,
            TOP + middle - (spot.north.0 - self.north) * self.per_metre,
        )
    }

    fn long(&self, metres: Metres) -> f64 {
        metres.0 * self.per_metre
    }
}

struct Bounds([f64; 4]);

impl Bounds {
    fn new() -> Bounds {
        Bounds([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY])
    }

    fn disc(&mut self, spot: Spot, radius: f64) {
        let [west, east, south, north] = &mut self.0;
        *west = west.min(spot.east.0 - radius);
        *east = east.max(spot.east.0 + radius);
        *south = south.min(spot.north.0 - radius);
        *north = north.max(spot.north.0 + radius);
    }

    fn span(&self) -> f64 {
        (self.0[1] - self.0[0]).max(self.0[3] - self.0[2])
    }

    fn middle(&self) -> (f64, f64) {
        (f64::midpoint(self.0[0], self.0[1]), f64::midpoint(self.0[2], self.0[3]))
    }
}

/// The map.
pub(super) fn figure(failsafe: &Failsafe, search: &Search, timeline: Option<&Timeline>) -> Markup {
    let map = Map::of(failsafe, search);
    let about = format!("{} The table below says the same.", search.sentence);
    html! {
        figure.drawing {
            (picture("area", "map", HEIGHT, ("Where it comes down, seen from above, north up", &about), &html! {
                defs {
                    pattern id="likely" width="7" height="7" patternUnits="userSpaceOnUse" { path.thin d="M0 7 L7 0 M-1 1 L1 -1 M6 8 L8 6" {} }
                }
                rect.frame x=(n((WIDTH - SIDE) / 2.0)) y=(n(TOP)) width=(n(SIDE)) height=(n(SIDE)) {}
                (boundary(&map, failsafe))
                @if let Some(reach) = &search.reach { (reach_drawn(&map, reach)) }
                @if let Some(ellipse) = &search.ellipse { (ellipse_drawn(&map, ellipse)) }
                (track(&map, search, timeline))
                (pilot(&map))
                (compass())
                (wind(failsafe))
                (bar(&map))
            }))
            figcaption {
                "North is up. "
                @if search.ellipse.is_some() { "Hatched: nineteen times in twenty, if it goes straight on. " }
                @if search.reach.is_some() { "Broken ring: as far as it can come, whichever way it turns. " }
                @if failsafe.field.boundary.is_some() { "Bold line: the field's edge." } @else { "The field's edge isn't written down." }
            }
        }
    }
}

fn boundary(map: &Map, failsafe: &Failsafe) -> Markup {
    html! {
        @match &failsafe.field.boundary {
            Some(Boundary::Radius(radius)) => {
                @let (x, y) = map.at(Spot::PILOT);
                circle.boundary cx=(n(x)) cy=(n(y)) r=(n(map.long(*radius))) {}
            }
            Some(Boundary::Corners(field)) => {
                @let corners: Vec<(f64, f64)> = field.corners().iter().map(|corner| map.at(*corner)).collect();
                path.boundary d={ (way(&corners)) " Z" } {}
            }
            None => {}
        }
    }
}

fn reach_drawn(map: &Map, reach: &Disc) -> Markup {
    let (x, y) = map.at(reach.centre);
    html! { circle.line.dashes cx=(n(x)) cy=(n(y)) r=(n(map.long(reach.radius))) {} }
}

fn ellipse_drawn(map: &Map, ellipse: &Ellipse) -> Markup {
    let (x, y) = map.at(ellipse.centre);
    html! {
        ellipse.likely cx=(n(x)) cy=(n(y)) rx=(n(map.long(ellipse.major).max(1.0))) ry=(n(map.long(ellipse.minor).max(1.0)))
            fill="url(#likely)" transform={ "rotate(" (n(ellipse.bearing.0 - 90.0)) " " (n(x)) " " (n(y)) ")" } {}
    }
}

/// From the loss to the ground: where it goes straight on; a turn leaves only the place of the loss.
fn track(map: &Map, search: &Search, timeline: Option<&Timeline>) -> Markup {
    let lost = map.at(search.lost);
    let moments = timeline.iter().flat_map(|one| &one.moments).filter(|_| search.ellipse.is_some());
    let mut places: Vec<(f64, f64)> =
        moments.filter_map(|moment| moment.place).map(|spot| map.at(spot)).collect();
    if places.is_empty() && search.ellipse.is_some() {
        places = vec![lost, map.at(search.centre)];
    }
    let down = places.last().copied();
    let beside = |(x, y): (f64, f64), says: &str, dy: f64| {
        let right = x < WIDTH * 0.6;
        html! {
            text.says x=(n(if right { x + 9.0 } else { x - 9.0 })) y=(n(y + dy)) text-anchor=(if right { "start" } else { "end" }) { (says) }
        }
    };
    html! {
        @if let Some((x, y)) = down {
            path.line d=(way(&places)) {}
            path.flag-line.down d={ "M" (n(x - 5.0)) " " (n(y - 5.0)) " l10 10 M" (n(x - 5.0)) " " (n(y + 5.0)) " l10 -10" } {}
            @if (lost.0 - x).hypot(lost.1 - y) > 24.0 { (beside((x, y), "down", 14.0)) }
        }
        circle.ring cx=(n(lost.0)) cy=(n(lost.1)) r="4.5" {}
        (beside(lost, "link lost", -6.0))
    }
}

/// Where the pilot stands.
fn pilot(map: &Map) -> Markup {
    let (x, y) = map.at(Spot::PILOT);
    html! {
        circle.plug cx=(n(x)) cy=(n(y - 9.0)) r="3.2" {}
        path.line d={ "M" (n(x)) " " (n(y - 6.0)) " V" (n(y + 1.0)) " l-4 7 M" (n(x)) " " (n(y + 1.0)) " l4 7 M" (n(x - 5.0)) " " (n(y - 2.0)) " h10" } {}
        text.tick x=(n(x)) y=(n(y + 20.0)) text-anchor="middle" { "you" }
    }
}

fn compass() -> Markup {
    html! {
        (arrow((22.0, 52.0), (22.0, 24.0), 8.0))
        text.says x="22" y="20" text-anchor="middle" { "N" }
    }
}

/// The wind blows along the arrow.
fn wind(failsafe: &Failsafe) -> Markup {
    let wind = failsafe.wind;
    if wind.speed.0 <= 0.0 {
        return html! { text.tick x=(n(WIDTH - 12.0)) y="22" text-anchor="end" { "no wind" } };
    }
    let towards = (wind.from.0 + 180.0).to_radians();
    let (middle_x, middle_y) = (WIDTH - 34.0, 40.0);
    let (dx, dy) = (towards.sin() * 17.0, -towards.cos() * 17.0);
    html! {
        (arrow((middle_x - dx, middle_y - dy), (middle_x + dx, middle_y + dy), 8.0))
        text.tick x=(n(WIDTH - 12.0)) y="20" text-anchor="end" { (format!("wind {:.0} m/s", wind.speed.0)) }
    }
}

/// How long a metre is.
fn bar(map: &Map) -> Markup {
    let step = round_step(map.half * 2.0, 4.0);
    let (x, y) = (12.0, TOP + SIDE + 14.0);
    html! {
        path.bracket d={ "M" (n(x)) " " (n(y - 4.0)) " v8 M" (n(x)) " " (n(y)) " h" (n(step * map.per_metre)) " m0 -4 v8" } {}
        text.tick x=(n(x + step * map.per_metre + 7.0)) y=(n(y + 4.0)) { (format!("{step:.0} m")) }
    }
}

/// The places in figures.
pub(super) fn table(failsafe: &Failsafe, search: &Search) -> Markup {
    let row = |says: &str, spot: Spot, size: String| {
        let (distance, bearing) = Spot::PILOT.to(spot);
        html! {
            tr {
                th scope="row" { (says) }
                td.number data-label="From you" { (format!("{:.0} m", distance.0)) @if distance.0 >= 0.5 { (format!(" towards {:03.0}°", bearing.0)) } }
                td.number data-label="Size" { (size) }
            }
        }
    };
    html! {
        table.stack.figures {
            caption { "The map in figures; bearings from true north" }
            thead { tr { th scope="col" { "What" } th scope="col" { "From you" } th scope="col" { "Size" } } }
            tbody {
                (row("Link lost", search.lost, String::new()))
                @if search.ellipse.is_some() { (row("Comes down, if all is as stated", search.centre, String::new())) }
                @if let Some(one) = &search.ellipse {
                    (row("Likely area, 19 in 20", one.centre, format!("{:.0} m by {:.0} m, along {:03.0}°", one.major.0 * 2.0, one.minor.0 * 2.0, one.bearing.0)))
                }
                @if let Some(one) = &search.reach { (row("Farthest reach", one.centre, format!("radius {:.0} m", one.radius.0))) }
                @match &failsafe.field.boundary {
                    Some(Boundary::Radius(radius)) => (row("The field", Spot::PILOT, format!("radius {:.0} m", radius.0))),
                    Some(Boundary::Corners(field)) => { @for (at, corner) in field.corners().iter().enumerate() { (row(&format!("Corner {} of the field", at + 1), *corner, String::new())) } }
                    None => {}
                }
            }
        }
        @for edge in [&search.ellipse_edge, &search.reach_edge].into_iter().flatten() { p { (words::prose(&edge.text)) } }
    }
}
