//! The airframe from above: its outline, the antennas on it, and the polar line of gain round it.

use fitting::antennas::{Antennas, Direction, Point, Round, Site};
use fitting::failsafe::Sort;
use maud::{Markup, html};

use super::place::{WIDTH, arrow, marks, n, picture, round_step, times, way};
use crate::words;

const MIDDLE: (f64, f64) = (165.0, 172.0);
/// The ring of the best direction.
const RING: f64 = 132.0;
/// So far under the best lies the middle.
const DEEPEST: f64 = 30.0;
const HEIGHT: f64 = 344.0;

fn polar(degrees: f64, radius: f64) -> (f64, f64) {
    let angle = degrees.to_radians();
    (MIDDLE.0 + radius * angle.sin(), MIDDLE.1 - radius * angle.cos())
}

/// The polar line of one receiver round the airframe.
pub(super) fn round(key: &str, round: &Round, sites: &[&Site], craft: Sort) -> Markup {
    let radius = |gain: f64| RING * (1.0 + gain.max(-DEEPEST) / DEEPEST);
    let line: Vec<(f64, f64)> =
        round.line.iter().enumerate().map(|(at, gain)| polar(times(at) * 5.0, radius(gain.0))).collect();
    let worst: Vec<(f64, f64)> = round
        .hole
        .towards
        .iter()
        .filter(|one| one.elevation.0.abs() < 60.0 && round.hole.depth.0 >= 0.05)
        .map(|one| polar(one.azimuth.0, RING + 9.0))
        .collect();
    let title = if round.on.is_empty() {
        "Gain round the airframe".to_owned()
    } else {
        format!("Gain of {} round the airframe", round.on)
    };
    let about = format!(
        "Seen from above, nose up. It hears worst {}, {:.0} dB under its best. The table says the same in figures.",
        round.hole.words, round.hole.depth.0
    );
    html! {
        figure.drawing {
            (picture(key, "plan", HEIGHT, (&title, &about), &html! {
                @for under in [0.0, 10.0, 20.0] {
                    circle.grid cx=(n(MIDDLE.0)) cy=(n(MIDDLE.1)) r=(n(radius(-under))) {}
                }
                @for spoke in 0..12_u8 {
                    @let (x, y) = polar(f64::from(spoke) * 30.0, RING);
                    path.grid d={ "M" (n(MIDDLE.0)) " " (n(MIDDLE.1)) " L" (n(x)) " " (n(y)) } {}
                }
                g.airframe { (outline(craft)) }
                path.stair d={ (way(&line)) " Z" } {}
                @for site in sites { (antenna(site)) }
                @for (x, y) in &worst { path.flag-line.down d={ "M" (n(x - 4.0)) " " (n(y - 4.0)) " l8 8 M" (n(x - 4.0)) " " (n(y + 4.0)) " l8 -8" } {} }
                @for (under, says) in [(0.0, "best"), (10.0, "-10 dB"), (20.0, "-20 dB")] {
                    @let (x, y) = polar(45.0, radius(-under));
                    text.tick x=(n(x + 2.0)) y=(n(y - 2.0)) { (says) }
                }
                text.says x=(n(MIDDLE.0)) y="14" text-anchor="middle" { "nose" }
                text.says x=(n(MIDDLE.0)) y=(n(HEIGHT - 4.0)) text-anchor="middle" { "tail" }
                text.says x="4" y=(n(MIDDLE.1 + 118.0)) { "left" }
                text.says x=(n(WIDTH - 4.0)) y=(n(MIDDLE.1 + 118.0)) text-anchor="end" { "right" }
            }))
            figcaption {
                @if !round.on.is_empty() { (words::name(&round.on)) ". " }
                "The bold line is the gain level round the aircraft, the better antenna counted in each direction: nearer to the middle is weaker. A cross on the rim marks the worst direction. What the airframe shades isn't in it."
            }
        }
    }
}

/// An antenna by its direction: a line from the middle, a point where it comes up, a cross where it goes down.
fn antenna(site: &Site) -> Markup {
    let Some(Direction { azimuth, elevation }) = site.towards else { return html! {} };
    let along = elevation.0.to_radians().cos() * 40.0;
    let (x, y) = polar(azimuth.0, along);
    let label = polar(azimuth.0, along.max(10.0) + 10.0);
    html! {
        @if along > 6.0 { path.antenna d={ "M" (n(MIDDLE.0)) " " (n(MIDDLE.1)) " L" (n(x)) " " (n(y)) } {} }
        @if elevation.0 > 30.0 {
            circle.ring cx=(n(x)) cy=(n(y)) r="5" {} circle.plug cx=(n(x)) cy=(n(y)) r="2" {}
        } @else if elevation.0 < -30.0 {
            circle.ring cx=(n(x)) cy=(n(y)) r="5" {} path.line d={ "M" (n(x - 3.0)) " " (n(y - 3.0)) " l6 6 M" (n(x - 3.0)) " " (n(y + 3.0)) " l6 -6" } {}
        } @else { circle.plug cx=(n(x)) cy=(n(y)) r="3" {} }
        text.tick x=(n(label.0)) y=(n(label.1 + 4.0)) text-anchor=(if label.0 < MIDDLE.0 - 3.0 { "end" } else { "start" }) { (words::clip_to(&site.name, 16)) }
    }
}

/// The craft from above, nose up, its middle in the middle.
fn outline(craft: Sort) -> Markup {
    let (x, y) = MIDDLE;
    html! {
        g transform={ "translate(" (n(x)) " " (n(y)) ")" } {
            @match craft {
                Sort::Aeroplane => {
                    path.shell d="M0 -74 C 9 -74 11 -60 11 -44 L11 -34 L100 -30 C 106 -29 106 -8 100 -6 L11 2 L6 62 L34 66 C 37 67 37 80 34 81 L0 84 L-34 81 C -37 80 -37 67 -34 66 L-6 62 L-11 2 L-100 -6 C -106 -8 -106 -29 -100 -30 L-11 -34 L-11 -44 C -11 -60 -9 -74 0 -74 Z" {}
                    path.thin d="M-22 -76 H22" {}
                }
                Sort::Glider => {
                    path.shell d="M0 -70 C 7 -68 8 -50 8 -36 L120 -26 C 125 -25 125 -16 120 -15 L8 -12 L3 64 L26 68 C 29 70 29 78 26 79 L0 80 L-26 79 C -29 78 -29 70 -26 68 L-3 64 L-8 -12 L-120 -15 C -125 -16 -125 -25 -120 -26 L-8 -36 C -8 -50 -7 -68 0 -70 Z" {}
                }
                Sort::Helicopter => {
                    circle.thin cx="0" cy="-16" r="92" {}
                    path.thin d="M-65 -81 L65 49" {}
                    path.shell d="M0 -66 C 15 -62 18 -38 16 -16 C 15 2 6 10 4 22 L3 92 L-3 92 L-4 22 C -6 10 -15 2 -16 -16 C -18 -38 -15 -62 0 -66 Z M-3 80 H-16 V92" {}
                }
                Sort::Multirotor => {
                    path.shell d="M-12 -26 H12 L20 -12 V14 L12 26 H-12 L-20 14 V-12 Z" {}
                    @for (dx, dy) in [(1, -1), (1, 1), (-1, 1), (-1, -1)] {
                        path.line d={ "M" (16 * dx) " " (18 * dy) " L" (62 * dx) " " (62 * dy) } {}
                        circle.thin cx=(62 * dx) cy=(62 * dy) r="34" {}
                        circle.plug cx=(62 * dx) cy=(62 * dy) r="3" {}
                    }
                    path.thin d="M-5 -20 L0 -30 L5 -20" {}
                }
                Sort::Boat => {
                    path.shell d="M0 -92 C 24 -56 28 -20 26 40 L22 84 H-22 L-26 40 C -28 -20 -24 -56 0 -92 Z" {}
                    path.thin d="M-14 -10 H14 V46 H-14 Z" {}
                }
                Sort::Car => {
                    path.shell d="M-20 -70 H20 C 26 -70 28 -62 28 -50 V56 C 28 66 26 72 20 72 H-20 C -26 72 -28 66 -28 56 V-50 C -28 -62 -26 -70 -20 -70 Z" {}
                    path.line d="M-38 -52 V-24 M38 -52 V-24 M-38 30 V58 M38 30 V58" {}
                    path.thin d="M-22 -22 L-18 -36 H18 L22 -22 M-22 40 H22" {}
                }
            }
        }
    }
}

/// Where antennas and what disturbs them sit, from above, to scale.
pub(super) fn places(antennas: &Antennas, sites: &[Site]) -> Markup {
    let pieces: Vec<(&Site, Point, Point)> =
        sites.iter().filter_map(|site| site.piece.map(|(root, tip)| (site, root, tip))).collect();
    if pieces.is_empty() {
        return html! {};
    }
    let spots = pieces.iter().flat_map(|(_, root, tip)| [*root, *tip]);
    let things = antennas.things.iter().flat_map(|thing| [thing.at, thing.to.unwrap_or(thing.at)]);
    let all: Vec<Point> = spots.chain(things).collect();
    let bound = |pick: fn(&Point) -> f64, fold: fn(f64, f64) -> f64, start: f64| {
        all.iter().map(pick).fold(start, fold)
    };
    let (left, right) =
        (bound(|p| p.right.0, f64::min, f64::INFINITY), bound(|p| p.right.0, f64::max, f64::NEG_INFINITY));
    let (back, front) = (
        bound(|p| p.forward.0, f64::min, f64::INFINITY),
        bound(|p| p.forward.0, f64::max, f64::NEG_INFINITY),
    );
    let half = ((right - left).max(front - back) / 2.0 * 1.25).max(0.02);
    let scale = 140.0 / half;
    let middle = (f64::midpoint(left, right), f64::midpoint(back, front));
    let at = |point: Point| {
        (165.0 + (point.right.0 - middle.0) * scale, 160.0 - (point.forward.0 - middle.1) * scale)
    };
    let step = round_step(half * 2000.0, 7.0);
    let about = "From above, nose up, to scale. The table of the antennas says the distances.";
    html! {
        figure.drawing {
            (picture("places", "plan", 340.0, ("Where the antennas sit, and what is near them", about), &html! {
                @for mark in marks(-half * 1000.0, half * 1000.0, step) {
                    path.grid d={ "M" (n(165.0 + mark / 1000.0 * scale)) " 14 V306 M19 " (n(160.0 + mark / 1000.0 * scale)) " H311" } {}
                }
                (arrow((20.0, 44.0), (20.0, 18.0), 8.0))
                text.says x="30" y="30" { "nose" }
                @for thing in &antennas.things {
                    @let (a, b) = (at(thing.at), at(thing.to.unwrap_or(thing.at)));
                    @if thing.to.is_some() { path.disturber d={ "M" (n(a.0)) " " (n(a.1)) " L" (n(b.0)) " " (n(b.1)) } {} }
                    @else { rect.case x=(n(a.0 - 6.0)) y=(n(a.1 - 6.0)) width="12" height="12" {} }
                    (label(f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1) + 18.0, &thing.name))
                }
                @for (site, root, tip) in &pieces {
                    @let (a, b) = (at(*root), at(*tip));
                    path.antenna d={ "M" (n(a.0)) " " (n(a.1)) " L" (n(b.0)) " " (n(b.1)) } {}
                    circle.ring cx=(n(a.0)) cy=(n(a.1)) r="3.5" {}
                    (label(b.0, b.1 - 7.0, &site.name))
                }
                path.bracket d={ "M19 322 v8 M19 326 h" (n(step / 1000.0 * scale)) " m0 -4 v8" } {}
                text.tick x=(n(27.0 + step / 1000.0 * scale)) y="330" { (format!("{step:.0} mm")) }
            }))
            figcaption { "Bold: each antenna's working part, its root ringed. Grey bars and boxes: what disturbs. What lies above or below isn't seen here." }
        }
    }
}

fn label(x: f64, y: f64, says: &str) -> Markup {
    let anchor = if x < 70.0 {
        "start"
    } else if x > 260.0 {
        "end"
    } else {
        "middle"
    };
    html! { text.tick x=(n(x)) y=(n(y)) text-anchor=(anchor) { (words::clip_to(says, 22)) } }
}
