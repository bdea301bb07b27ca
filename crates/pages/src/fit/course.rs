//! The failsafe's time line: height over time, each moment a numbered mark on it.

use fitting::failsafe::Timeline;
use maud::{Markup, html};

use super::place::{WIDTH, marks, n, picture, round_step, tick, way};
use crate::words;

const LEFT: f64 = 40.0;
const RIGHT: f64 = 318.0;
const TOP: f64 = 42.0;
const GROUND: f64 = 190.0;
const HEIGHT: f64 = 224.0;

/// Height over time.
pub(super) fn figure(timeline: &Timeline) -> Markup {
    let last = timeline.time.0.max(0.1);
    let high = timeline.moments.iter().map(|moment| moment.height.0).fold(1.0, f64::max);
    let x = |at: f64| LEFT + (at / last) * (RIGHT - LEFT);
    let y = |height: f64| GROUND - (height / high) * (GROUND - TOP);
    let places: Vec<(f64, f64)> =
        timeline.moments.iter().map(|moment| (x(moment.at.0), y(moment.height.0))).collect();
    let (time_step, height_step) = (round_step(last, 5.0), round_step(high, 3.0));
    let about = format!("{} The table below says the same.", timeline.sentence);
    html! {
        figure.drawing {
            (picture("course", "course", HEIGHT, ("Height over time after the last good packet", &about), &html! {
                @for mark in marks(0.0, high, height_step) {
                    path.grid d={ "M" (n(LEFT)) " " (n(y(mark))) " H" (n(RIGHT)) } {}
                    text.tick x=(n(LEFT - 5.0)) y=(n(y(mark) + 4.0)) text-anchor="end" { (tick(mark, height_step)) @if mark > 0.0 { " m" } }
                }
                @for mark in marks(0.0, last, time_step) {
                    path.thin d={ "M" (n(x(mark))) " " (n(GROUND)) " v5" } {}
                    text.tick x=(n(x(mark))) y=(n(GROUND + 17.0)) text-anchor="middle" { (tick(mark, time_step)) " s" }
                }
                path.zero d={ "M" (n(LEFT)) " " (n(GROUND)) " H" (n(WIDTH - 4.0)) } {}
                (grass())
                path.stair d=(way(&places)) {}
                (numbers(&places))
            }))
            figcaption { "The numbers are those of the table. Level at first: until failsafe takes, it goes on as it was." }
        }
    }
}

/// The ground.
fn grass() -> Markup {
    html! {
        @for at in 0..14_u8 {
            path.thin d={ "M" (n(LEFT + 4.0 + f64::from(at) * 21.0)) " " (n(GROUND + 5.0)) " l3 -5" } {}
        }
    }
}

/// How far a number's ring is over its moment, and from the next ring.
const LIFT: f64 = 20.0;

/// A number at each moment; rings that would lie on each other move along.
fn numbers(places: &[(f64, f64)]) -> Markup {
    let apart = 18.0;
    let mut rings: Vec<f64> = Vec::new();
    for (x, _) in places {
        rings.push(rings.last().map_or(*x, |last| x.max(last + apart)));
    }
    // From the right end back, where they ran over it.
    let mut most = RIGHT;
    for ring in rings.iter_mut().rev() {
        *ring = ring.min(most);
        most = *ring - apart;
    }
    html! {
        @for ((x, y), ring) in places.iter().zip(&rings) {
            path.thin d={ "M" (n(*x)) " " (n(*y)) " L" (n(*ring)) " " (n(y - LIFT)) } {}
            circle.plug cx=(n(*x)) cy=(n(*y)) r="3" {}
        }
        @for (number, ((_, y), ring)) in places.iter().zip(&rings).enumerate() {
            circle.ring cx=(n(*ring)) cy=(n(y - LIFT)) r="7.5" {}
            text.in-ring x=(n(*ring)) y=(n(y - LIFT + 4.0)) text-anchor="middle" { (number + 1) }
        }
    }
}

/// Moment by moment.
pub(super) fn table(timeline: &Timeline) -> Markup {
    html! {
        table.stack.figures {
            caption { "Moment by moment" }
            thead { tr { th scope="col" { "What happens" } th scope="col" { "After" } th scope="col" { "Height" } th scope="col" { "From the loss" } } }
            tbody {
                @for (at, moment) in timeline.moments.iter().enumerate() {
                    tr {
                        th scope="row" { (at + 1) ". " (words::prose(&moment.text)) }
                        td.number data-label="After" { (format!("{:.1} s", moment.at.0)) }
                        td.number data-label="Height" { (format!("{:.0} m", moment.height.0)) }
                        td.number data-label="From the loss" { (format!("{:.0} m", moment.from_lost.0)) }
                    }
                }
            }
        }
    }
}
