//! Time: from stick to servo, how fresh the sensors' values are, the chance of a failsafe.

use std::fmt::Write as _;

use link::latency::Latency;
use link::sheet::{FailsafeChance, Sheet};
use link::telemetry::{Fit, Served};
use maud::{Markup, html};
use units::Seconds;

use super::place::{WIDTH, n, times};
use super::say;

/// How long a stick movement takes, as a drawing and in words.
pub(super) fn latency(sheet: &Sheet, wanted: Option<Seconds>) -> Markup {
    let latency = &sheet.latency;
    html! {
        p {
            "Half of all stick movements reach the servo within " strong { (say::time(latency.median)) }
            ", 95 of 100 within " strong { (say::time(latency.p95)) } ", 99 of 100 within " (say::time(latency.p99)) "."
            @if let (Some(wanted), Some(kept)) = (wanted, sheet.in_time) {
                " Wanted are " (say::time(wanted)) " for 95 of 100: " strong { (if kept { "kept" } else { "not kept" }) } "."
            }
            " Of the packets " (say::percent(sheet.lost)) " in 100 are lost"
            @if sheet.lost_to_others > 0.0 { ", " (say::percent(sheet.lost_to_others)) " of them to other transmitters" }
            "."
        }
        (histogram(latency, wanted))
    }
}

fn histogram(latency: &Latency, wanted: Option<Seconds>) -> Markup {
    const TOP: f64 = 34.0;
    const BOTTOM: f64 = 150.0;
    let bins = &latency.histogram;
    let (Some(first), Some(last)) = (bins.first(), bins.last()) else { return html! {} };
    let width = bins.get(1).map_or(0.001, |second| second.0.0 - first.0.0);
    let end = (last.0.0 + width).max(latency.p95.0 * 1.1);
    let most = bins.iter().map(|bin| bin.1).fold(f64::MIN_POSITIVE, f64::max);
    let x = |time: f64| 4.0 + (time / end).clamp(0.0, 1.0) * (WIDTH - 8.0);
    let y = |share: f64| BOTTOM - share / most * (BOTTOM - TOP);
    let mut outline = format!("M{} {BOTTOM}", n(x(first.0.0)));
    for (start, share) in bins {
        let _ = write!(outline, " V{} H{}", n(y(*share)), n(x(start.0 + width)));
    }
    let _ = write!(outline, " V{BOTTOM} Z");
    let step = [0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0]
        .into_iter()
        .find(|step| end / step <= 6.0)
        .unwrap_or(end);
    let ticks: Vec<f64> = (0..8u8).map(|at| f64::from(at) * step).filter(|tick| *tick <= end).collect();
    let flag = |time: Seconds, at: f64, says: &str, class: &str| {
        let place = x(time.0);
        let (anchor, beside) =
            if place > WIDTH / 2.0 { ("end", place - 4.0) } else { ("start", place + 4.0) };
        html! {
            path class=(class) d={ "M" (n(place)) " " (n(at - 9.0)) " V" (n(BOTTOM)) } {}
            text.says x=(n(beside)) y=(n(at)) text-anchor=(anchor) { (says) " " (say::time(time)) }
        }
    };
    html! {
        figure.drawing {
            svg.chart role="img" viewBox={ "0 0 " (WIDTH) " 172" }
                aria-label={ "How often each time from stick to servo comes: half within " (say::time(latency.median))
                    ", 95 of 100 within " (say::time(latency.p95)) "." } {
                defs {
                    pattern id="hatch-time" width="6" height="6" patternUnits="userSpaceOnUse" {
                        path.thin d="M0 6 L6 0 M-1 1 L1 -1 M5 7 L7 5" {}
                    }
                }
                path.band.outlined d=(outline) fill="url(#hatch-time)" {}
                path.zero d={ "M4 " (BOTTOM) " H" (WIDTH - 4.0) } {}
                @for tick in ticks {
                    text.tick x=(n(x(tick).clamp(4.0, WIDTH - 10.0))) y=(n(BOTTOM + 15.0)) text-anchor=(if tick == 0.0 { "start" } else { "middle" }) { (say::trim(tick * 1e3, 0)) @if tick == 0.0 { " ms" } }
                }
                // The later one on top: its words reach over the earlier one's line.
                (flag(latency.p95, 12.0, "95 of 100 within", "flag-line"))
                (flag(latency.median, 28.0, "half within", "flag-line"))
                @if let Some(wanted) = wanted { (flag(wanted, 44.0, "wanted", "flag-line sight")) }
            }
            figcaption { "From left to right, how long; the higher, the more often. The last bar holds everything later." }
        }
    }
}

/// Each sensor: how fresh its value is wanted, and how fresh it is.
pub(super) fn refresh(fit: &Fit) -> Markup {
    html! {
        p {
            @if fit.fits { "Every sensor comes in time." } @else { strong { "Not every sensor comes in time." } }
            " The sensors want " (say::trim(if fit.load > 1.0 { (fit.load * 100.0).ceil() } else { (fit.load * 100.0).floor() }, 0)) " of every 100 bytes that the telemetry slots hold"
            @if fit.load > 1.0 { ", more than there are" }
            "."
        }
        (bars(fit))
        table.figures.sensors {
            caption { "Sensors" }
            thead { tr { th scope="col" { "Sensor" } th scope="col" { "Wanted every" } th scope="col" { "Comes every" } th scope="col" { "It is" } } }
            tbody {
                @for served in &fit.sensors {
                    tr {
                        th scope="row" { (crate::words::name(&served.name)) }
                        td.number { (say::time(served.wanted)) }
                        td.number { @if let Some(achieved) = served.achieved { (say::time(achieved)) } @else { "never" } }
                        td.number { (word(served)) }
                    }
                }
            }
        }
    }
}

fn word(served: &Served) -> &'static str {
    match (served.achieved, served.fits) {
        (None, _) => "never",
        (Some(_), true) => "in time",
        (Some(_), false) => "too seldom",
    }
}

fn bars(fit: &Fit) -> Markup {
    const ROW: f64 = 38.0;
    const MOST: f64 = 2.0;
    const UNIT: f64 = (WIDTH - 24.0) / MOST;
    let bottom = 24.0 + ROW * times(fit.sensors.len());
    let limit = 4.0 + UNIT;
    html! {
        figure.drawing {
            svg.chart role="img" viewBox={ "0 0 " (WIDTH) " " (n(bottom)) }
                aria-label="Time between values of each sensor against the time wanted; the table below says the same." {
                path.needed d={ "M" (n(limit)) " 16 V" (n(bottom)) } {}
                text.tick x=(n(limit)) y="11" text-anchor="middle" { "as wanted" }
                text.tick x="4" y="11" { "sooner" }
                text.tick x=(WIDTH - 4.0) y="11" text-anchor="end" { "later" }
                @for (at, served) in fit.sensors.iter().enumerate() {
                    @let y = 20.0 + ROW * times(at);
                    text.says x="4" y=(n(y + 14.0)) { (crate::words::clip_to(&served.name, 26)) }
                    text.figure x=(WIDTH - 4.0) y=(n(y + 14.0)) text-anchor="end" { (word(served)) }
                    @match served.achieved {
                        Some(achieved) => {
                            @let ratio = achieved.0 / served.wanted.0.max(1e-6);
                            @let length = ratio.min(MOST) * UNIT;
                            rect.bar.late[!served.fits] x="4" y=(n(y + 20.0)) width=(n(length)) height="10" {}
                            @if ratio > MOST { path.fray d={ "M" (n(4.0 + length)) " " (n(y + 25.0)) " l9 -7 M" (n(4.0 + length)) " " (n(y + 25.0)) " l11 1 M" (n(4.0 + length)) " " (n(y + 25.0)) " l8 7" } {} }
                        }
                        None => {
                            path.fray d={ "M6 " (n(y + 21.0)) " l8 8 M14 " (n(y + 21.0)) " l-8 8" } {}
                        }
                    }
                }
            }
        }
    }
}

/// The chance of a failsafe while it stays at that distance.
pub(super) fn failsafe(failsafe: Option<&FailsafeChance>) -> Markup {
    html! {
        @match failsafe {
            None => p { "The receiver's time-out isn't known, so its failsafe can't be reckoned. Fill it in under “Time”." },
            Some(failsafe) => {
                p {
                    "Staying there for ten minutes, the chance that the receiver goes to its failsafe at least once is "
                    strong { (say::chance(failsafe.chance)) } ", with a time-out of " (say::time(failsafe.after)) ". "
                    @if failsafe.chance >= 0.0001 {
                        @if failsafe.from_fading > 0.5 { "Most of it comes from fading within metres." }
                        @else { "Most of it comes from spells of bad attitude and shadow." }
                    }
                }
            }
        }
    }
}
