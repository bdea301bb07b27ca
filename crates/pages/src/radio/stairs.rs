//! The staircase of the budget: from the power down to what is left over the least level.

use std::fmt::Write as _;

use link::sheet::{Direction, Named, Stair, StairKind, Way};
use maud::{Markup, html};

use super::place::{WIDTH, n, times};
use super::say;

/// Right of it stand the figures.
const RIGHT: f64 = 262.0;
const ROW: f64 = 38.0;
const TOP: f64 = 26.0;
/// Where in a row the tread lies.
const TREAD: f64 = 25.0;

/// Places on the drawing: levels from left (weak) to right (strong).
struct Scale {
    least: f64,
    most: f64,
}

impl Scale {
    fn of(direction: &Direction) -> Scale {
        let levels = || direction.stairs.iter().map(|stair| stair.level.0).chain([direction.sensitivity.0]);
        Scale {
            least: levels().fold(f64::INFINITY, f64::min) - 6.0,
            most: levels().fold(f64::NEG_INFINITY, f64::max) + 6.0,
        }
    }

    fn x(&self, level: units::Dbm) -> f64 {
        4.0 + (level.0 - self.least) / (self.most - self.least).max(1.0) * (RIGHT - 4.0)
    }

    /// Levels to mark along the top.
    fn marks(&self) -> Vec<f64> {
        let step = if self.most - self.least > 90.0 { 40.0 } else { 20.0 };
        let mut mark = (self.least / step).ceil() * step;
        let mut marks = Vec::new();
        while mark <= self.most && marks.len() < 20 {
            marks.push(mark);
            mark += step;
        }
        marks
    }
}

/// What it is, short enough for the drawing.
fn short(says: &str) -> &str {
    says.split(':').next().unwrap_or(says)
}

fn heading(way: Way) -> &'static str {
    match way {
        Way::Control => "Control: transmitter to aircraft",
        Way::Telemetry => "Telemetry: aircraft to transmitter",
    }
}

/// One direction: the drawing, then each step with what went into it.
pub(super) fn direction(direction: &Direction) -> Markup {
    html! {
        figure.drawing {
            h3 { (heading(direction.way)) }
            (drawing(direction))
            figcaption { (in_words(direction)) }
        }
    }
}

fn in_words(direction: &Direction) -> Markup {
    html! {
        @if direction.margin.0 >= 0.0 {
            "Half of the time the level is " strong { (say::margin(direction.margin)) } " over the least that is needed"
        } @else {
            "Half of the time the level is " strong { (say::margin(-direction.margin)) } " below the least that is needed"
        }
        "; the link holds in " strong { (say::holds(direction)) " spells" } "."
    }
}

fn drawing(direction: &Direction) -> Markup {
    let scale = Scale::of(direction);
    let (steps, allowances): (Vec<&Stair>, Vec<&Stair>) =
        direction.stairs.iter().partition(|stair| stair.kind != StairKind::Allowance);
    let row = |at: usize| TOP + ROW * times(at);
    let received = steps.len();
    let needs = received + 1 + allowances.len();
    let bottom = row(needs + 2);
    let hatch = format!("hatch-{}", direction.way.word());
    // The stair itself: down, then along to the next level.
    let mut stair = String::new();
    for (at, step) in steps.iter().enumerate() {
        let (x, y) = (n(scale.x(step.level)), n(row(at) + TREAD));
        let _ = if at == 0 { write!(stair, "M{x} {y}") } else { write!(stair, " V{y} H{x}") };
    }
    let (here, least) = (scale.x(direction.received), scale.x(direction.sensitivity));
    let lines = (here.min(least), here.max(least));
    let over = direction.margin.0 >= 0.0;
    let bracket = row(needs + 1) + TREAD;
    html! {
        svg.chart role="img" viewBox={ "0 0 " (WIDTH) " " (n(bottom)) }
            aria-label={ "Staircase of the budget, " (direction.way.word()) ": from "
                (steps.first().map_or_else(String::new, |step| say::level(step.level))) " down to "
                (say::level(direction.received)) "; least level " (say::level(direction.sensitivity)) ", margin "
                (say::margin(direction.margin)) ". The table below says the same step by step." } {
            defs {
                pattern id=(hatch) width="5" height="5" patternUnits="userSpaceOnUse" {
                    path.thin d="M0 5 L5 0 M-1 1 L1 -1 M4 6 L6 4" {}
                }
            }
            @for mark in scale.marks() {
                @let x = scale.x(units::Dbm(mark));
                path.grid d={ "M" (n(x)) " 16 V" (n(bottom - 8.0)) } {}
                text.tick x=(n(x.clamp(14.0, RIGHT))) y="11" text-anchor="middle" { (say::trim(mark, 0)) @if mark.abs() < 0.5 { " dBm" } }
            }
            path.needed d={ "M" (n(least)) " " (n(row(received) + TREAD - 5.0)) " V" (n(bracket + 7.0)) } {}
            path.thin d={ "M" (n(here)) " " (n(row(received) + TREAD)) " V" (n(bracket + 7.0)) } {}
            path.stair d={ (stair) " V" (n(row(received) + TREAD)) } {}
            @if let Some(first) = steps.first() { circle.plug cx=(n(scale.x(first.level))) cy=(n(row(0) + TREAD)) r="4.5" {} }
            circle.plug cx=(n(here)) cy=(n(row(received) + TREAD)) r="4.5" {}
            @for (at, step) in steps.iter().enumerate() {
                (words(row(at), alone(scale.x(steps[at.saturating_sub(1)].level)), short(step.says), &if at == 0 { say::level(step.level) } else { say::signed(step.change) }))
            }
            (words(row(received), alone(here), "arrives, half of the time more", &say::level(direction.received)))
            @for (at, step) in allowances.iter().enumerate() {
                @let (a, b) = (scale.x(step.level - step.change), scale.x(step.level));
                rect.allowance x=(n(a.min(b))) y=(n(row(received + 1 + at) + TREAD - 6.0)) width=(n((a - b).abs().max(1.0))) height="12"
                    fill={ "url(#" (hatch) ")" } {}
                (words(row(received + 1 + at), lines, short(step.says), &say::signed(step.change)))
            }
            (words(row(needs), lines, "least level needed", &say::level(direction.sensitivity)))
            circle.socket cx=(n(least)) cy=(n(row(needs) + TREAD)) r="4" {}
            path.bracket.lacking[!over] d={
                "M" (n(least)) " " (n(bracket - 6.0)) " v12 M" (n(least)) " " (n(bracket)) " H" (n(here))
                " M" (n(here)) " " (n(bracket - 6.0)) " v12"
            } {}
            (words(row(needs + 1), lines, if over { "margin" } else { "short by" },
                &say::margin(if over { direction.margin } else { -direction.margin })))
        }
    }
}

/// A row with one upright line in it.
fn alone(x: f64) -> (f64, f64) {
    (x, x)
}

/// What a row says: words, clear of the lines between the two places where they can be, and
/// the figure at the right.
fn words(y: f64, (first, last): (f64, f64), says: &str, figure: &str) -> Markup {
    // A letter is about half as wide as it is high.
    let width = 6.2 * times(says.chars().count());
    let x = if first < 4.0 + width && last + 7.0 + width <= RIGHT { last + 7.0 } else { 4.0 };
    html! {
        text.says x=(n(x)) y=(n(y + 14.0)) { (says) }
        text.figure x=(n(WIDTH - 2.0)) y=(n(y + 14.0)) text-anchor="end" { (figure) }
    }
}

/// The steps of one direction as a table, each with its formula, inputs and source.
pub(super) fn table(direction: &Direction, least: Option<&Named>) -> Markup {
    html! {
        table.stack.steps {
            caption { (heading(direction.way)) }
            thead { tr {
                th scope="col" { "Step" } th scope="col" { "Adds" } th scope="col" { "Level after it" } th scope="col" { "From" }
            } }
            tbody {
                @for stair in &direction.stairs {
                    tr {
                        th scope="row" { (say::capital(stair.says)) }
                        td.number data-label="Adds" { @if stair.kind != StairKind::Power { (say::signed(stair.change)) } }
                        td.number data-label="Level after it" { (say::level(stair.level)) }
                        td { (from(stair)) }
                    }
                }
                tr {
                    th scope="row" { "Least level, 99 of 100 packets arrive" }
                    td.number {}
                    td.number data-label="Level" { (say::level(direction.sensitivity)) }
                    td {
                        @if let Some(named) = least {
                            "set by noise, signals beside and " (formula_link(named.formula, &named.inputs, named.what))
                        }
                    }
                }
                tr {
                    th scope="row" { "Margin, half of the time more" }
                    td.number data-label="Is" { strong { (say::margin(direction.margin)) } }
                    td.number {}
                    td { "in " (say::holds(direction)) " spells enough packets arrive" }
                }
                tr {
                    th scope="row" { "Both antennas, over the manoeuvre" }
                    td.number data-label="Mean of the power" { (say::signed(direction.antennas.expected)) }
                    td.number {}
                    td {
                        "half of the attitudes better than " (say::signed(direction.antennas.middling))
                        ", 19 of 20 than " (say::signed(direction.antennas.worst_of_20))
                        ", the worst of 64 " (say::signed(direction.antennas.worst))
                    }
                }
            }
        }
    }
}

fn from(stair: &Stair) -> Markup {
    let formula = link::calc::find(stair.formula).ok();
    html! {
        @match formula {
            None => span.source { "given: " (stair.inputs) },
            Some(formula) => {
                details.more {
                    summary { (say::plain(formula.name)) }
                    p { (say::capital(formula.says)) ": " code { (formula.formula) } }
                    p { "From " (crate::words::prose(&stair.inputs)) }
                    p.source { (formula.source) }
                    p { (formula_link(formula.name, &stair.inputs, "Try the formula")) }
                }
            }
        }
    }
}

/// A link to the page of a formula, with these inputs.
pub(super) fn formula_link(name: &str, inputs: &str, says: &str) -> Markup {
    html! { a href={ "/formula/" (name) (query(inputs)) } { (says) } }
}

/// Inputs that are written as `key=value` go along with the link.
fn query(inputs: &str) -> String {
    let mut parts = Vec::new();
    for word in inputs.split_whitespace() {
        let Some((key, value)) = word.split_once('=') else { return String::new() };
        parts.push(format!("{}={}", crate::words::encode(key), crate::words::encode(value)));
    }
    // A long profile makes an address that nothing takes.
    let length: usize = parts.iter().map(String::len).sum();
    if parts.is_empty() || length > 50_000 { String::new() } else { format!("?{}", parts.join("&")) }
}
