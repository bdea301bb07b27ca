//! Margin against distance.

use std::fmt::Write as _;

use link::sheet::{Direction, Point, Reach, Sheet};
use maud::{Markup, html};
use units::Metres;

use super::place::{WIDTH, n, times};
use super::say;

const LEFT: f64 = 30.0;
const RIGHT: f64 = 322.0;
const TOP: f64 = 44.0;
const BOTTOM: f64 = 246.0;
/// A strip below the axis for each reach.
const STRIP: f64 = 34.0;

struct Scale {
    near: f64,
    far: f64,
    low: f64,
    high: f64,
}

impl Scale {
    fn of(points: &[Point]) -> Option<Scale> {
        let (first, last) = (points.first()?, points.last()?);
        let most = points.iter().map(|point| point.margin_high.0).fold(f64::NEG_INFINITY, f64::max);
        let least = points.iter().map(|point| point.margin_low.0).fold(f64::INFINITY, f64::min);
        Some(Scale {
            near: first.distance.0.max(1.0),
            far: last.distance.0.max(first.distance.0 * 1.01),
            low: ((least / 10.0).floor() * 10.0).clamp(-30.0, -10.0),
            high: ((most / 10.0).ceil() * 10.0).clamp(10.0, 150.0),
        })
    }

    fn x(&self, distance: Metres) -> f64 {
        let along = (distance.0.max(self.near) / self.near).ln() / (self.far / self.near).ln();
        LEFT + along.clamp(0.0, 1.0) * (RIGHT - LEFT)
    }

    fn holds(&self, distance: Metres) -> bool {
        (self.near..=self.far).contains(&distance.0)
    }

    fn y(&self, margin: f64) -> f64 {
        let margin = margin.clamp(self.low, self.high);
        BOTTOM - (margin - self.low) / (self.high - self.low) * (BOTTOM - TOP)
    }

    fn distances(&self) -> Vec<f64> {
        let marks = [1.0, 2.0, 5.0];
        let decades = [10.0, 100.0, 1e3, 1e4, 1e5];
        let all = decades.iter().flat_map(|decade| marks.map(|mark| mark * decade));
        let decades_shown = (self.far / self.near).log10();
        all.filter(|d| self.holds(Metres(*d)))
            .filter(|d| decades_shown < 2.3 || decades.contains(d))
            .collect()
    }

    fn margins(&self) -> Vec<f64> {
        let mut margins = Vec::new();
        let mut at = (self.low / 20.0).ceil() * 20.0;
        while at <= self.high && margins.len() < 20 {
            margins.push(at);
            at += 20.0;
        }
        margins
    }
}

fn path(points: &[(f64, f64)]) -> String {
    let mut d = String::new();
    for (at, (x, y)) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if at == 0 { "M" } else { " L" }, n(*x), n(*y));
    }
    d
}

/// The drawing; nothing when there are no points.
pub(super) fn drawing(sheet: &Sheet, asked: Option<Metres>, seen: Option<Metres>) -> Markup {
    let points = &sheet.curve;
    let Some(scale) = Scale::of(points) else { return html! {} };
    let line = |of: &dyn Fn(&Point) -> Option<f64>| -> String {
        let places: Vec<(f64, f64)> =
            points.iter().filter_map(|p| Some((scale.x(p.distance), scale.y(of(p)?)))).collect();
        path(&places)
    };
    let mut band: Vec<(f64, f64)> =
        points.iter().map(|p| (scale.x(p.distance), scale.y(p.margin_high.0))).collect();
    band.extend(points.iter().rev().map(|p| (scale.x(p.distance), scale.y(p.margin_low.0))));
    let ways: Vec<&Direction> =
        [Some(&sheet.control), sheet.telemetry.as_ref()].into_iter().flatten().collect();
    let bottom = BOTTOM + 22.0 + STRIP * times(ways.len());
    html! {
        figure.drawing {
            svg.chart role="img" viewBox={ "0 0 " (WIDTH) " " (n(bottom)) }
                aria-label={
                    "Margin against distance, from " (say::about(Metres(scale.near))) " to " (say::about(Metres(scale.far)))
                    "; the table gives it at ten or so of these distances."
                } {
                defs {
                    pattern id="hatch-band" width="6" height="6" patternUnits="userSpaceOnUse" {
                        path.thin d="M0 6 L6 0 M-1 1 L1 -1 M5 7 L7 5" {}
                    }
                }
                @for d in scale.distances() {
                    @let x = scale.x(Metres(d));
                    path.grid d={ "M" (n(x)) " " (n(TOP)) " V" (n(BOTTOM)) } {}
                    text.tick x=(n(x.clamp(LEFT, RIGHT - 14.0))) y=(n(BOTTOM + 14.0)) text-anchor="middle" { (say::exact(Metres(d))) }
                }
                @for margin in scale.margins() {
                    path.grid d={ "M" (n(LEFT)) " " (n(scale.y(margin))) " H" (n(RIGHT)) } {}
                    text.tick x=(n(LEFT - 4.0)) y=(n(scale.y(margin) + 4.0)) text-anchor="end" { (say::trim(margin, 0)) }
                }
                text.tick x="2" y=(n(TOP - 8.0)) { "dB" }
                path.band d={ (path(&band)) " Z" } fill="url(#hatch-band)" {}
                path.zero d={ "M" (n(LEFT)) " " (n(scale.y(0.0))) " H" (n(RIGHT)) } {}
                path.stair d=(line(&|p| Some(p.margin.0))) {}
                @if sheet.telemetry.is_some() {
                    path.stair.dashes d=(line(&|p| p.telemetry_margin.map(|margin| margin.0))) {}
                    // Rings, for where the two lines lie on one another.
                    @for (p, margin) in points.iter().step_by(6).filter_map(|p| Some((p, p.telemetry_margin?))) {
                        circle.ring cx=(n(scale.x(p.distance))) cy=(n(scale.y(margin.0))) r="3.2" {}
                    }
                }
                @if let Some(asked) = asked.filter(|d| scale.holds(*d)) {
                    (flag(&scale, asked, 12.0, "asked", "flag-line"))
                }
                @if let Some(seen) = seen.filter(|d| scale.holds(*d)) {
                    (flag(&scale, seen, 28.0, "sight", "flag-line sight"))
                }
                text.says x=(n(LEFT + 3.0)) y=(n(scale.y(0.0) + 13.0)) { "0: one packet in a hundred is lost" }
                @for (at, way) in ways.iter().enumerate() {
                    (strip(&scale, &way.reach, way.way.word(), at > 0, BOTTOM + 22.0 + STRIP * times(at)))
                }
            }
            ul.key {
                li { (sample("M3 8 H57", "stair")) " control, half of the time more" }
                @if sheet.telemetry.is_some() { li { (sample("M3 8 H57", "stair dashes")) " telemetry, with rings" } }
                li { (swatch()) " 18 of 20 spells; 19 of 20 lie above its lower edge" }
                @if seen.is_some() { li { (sample("M30 0 V16", "flag-line sight")) " as far as its attitude can be told by eye" } }
            }
        }
    }
}

fn flag(scale: &Scale, distance: Metres, y: f64, says: &str, class: &str) -> Markup {
    let x = scale.x(distance);
    let (anchor, beside) = if x > f64::midpoint(LEFT, RIGHT) { ("end", x - 4.0) } else { ("start", x + 4.0) };
    html! {
        path class=(class) d={ "M" (n(x)) " " (n(y - 9.0)) " V" (n(BOTTOM)) } {}
        text.says x=(n(beside)) y=(n(y)) text-anchor=(anchor) { (says) " " (say::about(distance)) }
    }
}

/// The reach and between which it lies, below the axis.
fn strip(scale: &Scale, reach: &Reach, way: &str, dashed: bool, y: f64) -> Markup {
    let end = |distance: Option<Metres>| distance.map_or(LEFT, |d| scale.x(d));
    let bar = y + 23.0;
    let (low, high) = (end(reach.low), end(reach.high));
    html! {
        text.says x="4" y=(n(y + 13.0)) { (way) " reaches " (say::reach(reach)) }
        path.bracket.dashes[dashed] d={ "M" (n(low)) " " (n(bar)) " H" (n(high)) } {}
        path.bracket d={ "M" (n(low)) " " (n(bar - 5.0)) " v10 M" (n(high)) " " (n(bar - 5.0)) " v10" } {}
        @if reach.distance.is_some() { circle.plug cx=(n(end(reach.distance))) cy=(n(bar)) r="4" {} }
    }
}

fn sample(d: &str, class: &str) -> Markup {
    html! { svg.mark viewBox="0 0 60 16" width="60" height="16" aria-hidden="true" focusable="false" { path class=(class) d=(d) {} } }
}

fn swatch() -> Markup {
    html! {
        svg.mark viewBox="0 0 60 16" width="60" height="16" aria-hidden="true" focusable="false" {
            rect.band x="3" y="1" width="54" height="14" fill="url(#hatch-band)" {}
        }
    }
}

/// Some distances of the curve as a table.
pub(super) fn table(sheet: &Sheet) -> Markup {
    const ROWS: usize = 10;
    let every = sheet.curve.len().div_ceil(ROWS).max(1);
    let down = sheet.telemetry.is_some();
    html! {
        table.figures {
            caption { "Margin in dB, and spells in 100 that hold" }
            thead { tr {
                th scope="col" { "Distance" } th scope="col" { "Control (19 of 20 over)" } th scope="col" { "Holds" }
                @if down { th scope="col" { "Telemetry" } th scope="col" { "Holds" } }
            } }
            tbody {
                @for point in sheet.curve.iter().step_by(every) {
                    tr {
                        th scope="row" { (say::about(point.distance)) }
                        td.number { (say::decibels(point.margin)) " (" (say::decibels(point.margin_low)) ")" }
                        td.number { (spells(point.probability, sheet.control.reach.probability)) }
                        @if down {
                            td.number { @if let Some(margin) = point.telemetry_margin { (say::decibels(margin)) } }
                            td.number { @if let Some(probability) = point.telemetry_probability { (spells(probability, sheet.control.reach.probability)) } }
                        }
                    }
                }
            }
        }
    }
}

fn spells(probability: f64, wanted: f64) -> String {
    say::of_hundred(probability, wanted)
        .replace(" of 100", "")
        .replace("more than ", ">")
        .replace("fewer than ", "<")
}
