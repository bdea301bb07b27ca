//! The staircase of voltage: along the wire from the cells to the receiver, the receiver's limits as
//! lines across it.

use std::fmt::Write as _;

use fitting::supply::{Point, Stage, Supply};
use maud::{Markup, html};
use units::Volts;

use super::place::{WIDTH, marks, n, picture, round_step, tick, times};
use super::supply::volts;
use crate::reading::capital;
use crate::words;

const TOP: f64 = 30.0;
const ROW: f64 = 40.0;
/// Left of it nothing is drawn.
const LEFT: f64 = 8.0;
/// Right of it stand the figures.
const RIGHT: f64 = 252.0;

struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn x(&self, volts: f64) -> f64 {
        LEFT + (volts - self.low) / (self.high - self.low).max(1e-6) * (RIGHT - LEFT)
    }
}

/// A drawing a pack.
pub(super) fn figures(supply: &Supply, case: &str, point: &Point) -> Markup {
    html! {
        div {
            @for (at, feed) in point.feeds.iter().enumerate() {
                @let stages: Vec<&Stage> = point.chain.iter().filter(|stage| stage.pack == feed.pack).collect();
                (figure(&format!("stairs-{at}"), supply, case, point, (&feed.pack, &stages)))
            }
        }
    }
}

fn figure(
    key: &str,
    supply: &Supply,
    case: &str,
    point: &Point,
    (pack, stages): (&str, &[&Stage]),
) -> Markup {
    let limits = [("works to", supply.receiver.works_to), ("resets at", supply.receiver.resets_at)];
    let begin = stages.first().map_or(point.receiver_v, |stage| stage.volts_in);
    let all = || {
        let steps = stages.iter().flat_map(|stage| [stage.volts_in.0, stage.volts_out.0]);
        steps.chain(limits.iter().map(|(_, limit)| limit.0)).chain([point.receiver_v.0])
    };
    let span = all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min);
    let edge = (span * 0.08).max(0.1);
    let scale = Scale {
        low: (all().fold(f64::INFINITY, f64::min) - edge * 2.0).max(0.0),
        high: all().fold(f64::NEG_INFINITY, f64::max) + edge,
    };
    let rows = stages.len() + 2;
    let height = TOP + ROW * times(rows) + 26.0;
    let title = format!("Voltage from {pack} to the receiver, {case}");
    let about = format!(
        "From {} down to {} at the receiver, which works to {} and resets at {}. The table below says the same.",
        volts(begin),
        volts(point.receiver_v),
        volts(limits[0].1),
        volts(limits[1].1)
    );
    html! {
        figure.drawing {
            h3 { (words::name(&capital(pack))) ", along its wire" }
            (picture(key, "stairs", height, (&title, &about), &html! {
                (ground(&scale, height, limits[1].1, key))
                (limit(&scale, height, limits[0]))
                (limit(&scale, height, limits[1]))
                (stair(&scale, begin, point.receiver_v, stages))
                (labels(&scale, begin, point.receiver_v, stages))
            }))
            figcaption { "To the right is more voltage, downwards is along the wire. Where it comes near the line of the reset, the receiver is about to be lost." }
        }
    }
}

/// The axis, and hatched what is under the reset.
fn ground(scale: &Scale, height: f64, reset: Volts, key: &str) -> Markup {
    let step = round_step(scale.high - scale.low, 4.0);
    let under = (scale.x(reset.0) - LEFT).max(0.0);
    html! {
        defs {
            pattern id={ (key) "-hatch" } width="6" height="6" patternUnits="userSpaceOnUse" {
                path.thin d="M0 6 L6 0 M-1 1 L1 -1 M5 7 L7 5" {}
            }
        }
        rect x=(n(LEFT)) y=(n(TOP - 8.0)) width=(n(under)) height=(n(height - TOP - 14.0)) fill={ "url(#" (key) "-hatch)" } {}
        @for mark in marks(scale.low, scale.high, step) {
            path.grid d={ "M" (n(scale.x(mark))) " 18 V" (n(height - 22.0)) } {}
            text.tick x=(n(scale.x(mark).clamp(16.0, RIGHT))) y="12" text-anchor="middle" { (tick(mark, step)) " V" }
        }
    }
}

fn limit(scale: &Scale, height: f64, (says, at): (&str, Volts)) -> Markup {
    let x = scale.x(at.0);
    let is_reset = says == "resets at";
    let y = if is_reset { height - 4.0 } else { height - 15.0 };
    html! {
        path.needed.lacking[is_reset] d={ "M" (n(x)) " 20 V" (n(height - 26.0)) } {}
        text.tick x=(n(x.clamp(4.0, RIGHT) + 3.0)) y=(n(y)) { (says) " " (volts(at)) }
    }
}

fn stair(scale: &Scale, begin: Volts, end: Volts, stages: &[&Stage]) -> Markup {
    let y = |at: usize| TOP + ROW * times(at) + 24.0;
    let mut d = format!("M{} {}", n(scale.x(begin.0)), n(y(0)));
    for (at, stage) in stages.iter().enumerate() {
        // Writing to a string can't fail.
        let _ = write!(d, " V{} H{}", n(y(at + 1)), n(scale.x(stage.volts_out.0)));
    }
    let _ = write!(d, " V{} H{} V{}", n(y(stages.len())), n(scale.x(end.0)), n(y(stages.len() + 1)));
    html! {
        path.stair d=(d) {}
        (pack(scale.x(begin.0), y(0)))
        rect.case x=(n(scale.x(end.0) - 6.0)) y=(n(y(stages.len() + 1) - 6.0)) width="12" height="12" rx="2" {}
    }
}

/// Cells at the head of the wire: long and short plates.
fn pack(x: f64, y: f64) -> Markup {
    html! {
        path.needed-solid d={ "M" (n(x - 8.0)) " " (n(y)) " h16 M" (n(x - 4.0)) " " (n(y - 4.0)) " h8 M" (n(x - 8.0)) " " (n(y - 8.0)) " h16 M" (n(x - 4.0)) " " (n(y - 12.0)) " h8" } {}
    }
}

fn labels(scale: &Scale, begin: Volts, end: Volts, stages: &[&Stage]) -> Markup {
    let line = |at: usize, level: f64, says: &str, figure: String| {
        let y = TOP + ROW * times(at) + 20.0;
        let wide = 6.4 * times(says.chars().count());
        let right = scale.x(level) + 12.0;
        let x = if right + wide < RIGHT { right } else { (scale.x(level) - 12.0 - wide).max(4.0) };
        html! {
            text.says x=(n(x)) y=(n(y - 2.0)) { (says) }
            text.figure x=(n(WIDTH - 2.0)) y=(n(y + 4.0)) text-anchor="end" { (figure) }
        }
    };
    html! {
        (line(0, begin.0, "unloaded cells", volts(begin)))
        @for (at, stage) in stages.iter().enumerate() {
            (line(at + 1, stage.volts_in.0.max(stage.volts_out.0), &words::clip_to(&stage.name, 26),
                format!("{:+.2} V", stage.volts_out.0 - stage.volts_in.0)))
        }
        (line(stages.len() + 1, end.0, "receiver", volts(end)))
    }
}
