//! The drawings, measured: a mirrored or shifted axis shows here. What is expected is worked
//! out from the engine's figures and the places of other marks in the same drawing.

use link::css::{Chip, Css};
use link::law::{Access, Limits};
use link::mode::{Mode, Modulation};
use link::sheet::{Sheet, StairKind, sheet};
use link::wish::{Gear, GearMode, build};
use units::{Hertz, Khz, Metres, Mhz, Milliwatts, Seconds};

use super::{curve, stairs, time};

fn reckoned(values: &[(&str, &str)]) -> Sheet {
    let mode = Mode {
        name: "Brook".to_owned(),
        modulation: Modulation::Css(Css::neutral(Chip::Ghz2g4, 6, Khz(812.5), 5)),
        packet_rate: Hertz(150.0),
        payload_bytes: 10,
        telemetry_one_in: None,
    };
    let gear = Gear {
        family: "Whimbrel".to_owned(),
        band: "2.4 GHz".to_owned(),
        low: Mhz(2400.0),
        high: Mhz(2483.5),
        channels: Some(36),
        spacing: Some(Khz(2200.0)),
        access: Access::None,
        noise_figure: None,
        modes: vec![GearMode { mode, shares: vec![8], hop_every: Some(4) }],
        power_steps: vec![Milliwatts(25.0)],
        telemetry_power: Some(Milliwatts(10.0)),
        failsafe_after: Some(Seconds(0.5)),
    };
    let typed: Vec<(String, String)> =
        values.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
    let limits = Limits::shipped();
    let asked = build(&gear, &typed, &limits).unwrap();
    sheet(&asked.setup, &asked.setting, &asked.others, &limits).unwrap()
}

/// The value of an attribute of the `nth` element whose class begins so.
fn attribute(drawing: &str, element: &str, name: &str, nth: usize) -> String {
    let start = format!("<{element}\"");
    let of = if element.contains("class=") { format!("<{element}") } else { start };
    let tag = drawing.split(&of).nth(nth + 1).unwrap_or_else(|| panic!("no {element} {nth}: {drawing}"));
    let tag = tag.split('>').next().unwrap();
    let value = tag.split(&format!("{name}=\"")).nth(1).unwrap_or_else(|| panic!("no {name} in {tag}"));
    value.split('"').next().unwrap().to_owned()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text} is no number"))
}

/// The corners of a path of `M x y`, `L x y`, `V y`, `H x`.
fn corners(d: &str) -> Vec<(f64, f64)> {
    let mut at = (0.0, 0.0);
    let mut found = Vec::new();
    let words: Vec<&str> = d.split_whitespace().filter(|word| *word != "Z").collect();
    let mut words = words.into_iter();
    while let Some(word) = words.next() {
        let (sort, first) = word.split_at(1);
        match sort {
            "M" | "L" => at = (number(first), number(words.next().unwrap())),
            "V" => at.1 = number(first),
            "H" => at.0 = number(first),
            other => panic!("{other} in {d}"),
        }
        found.push(at);
    }
    found
}

/// The straight line through the first and the farthest pair; every other pair must lie on it.
fn line(pairs: &[(f64, f64)], what: &str) -> impl Fn(f64) -> f64 + use<> {
    let first = pairs[0];
    let far = *pairs.iter().max_by(|a, b| (a.0 - first.0).abs().total_cmp(&(b.0 - first.0).abs())).unwrap();
    assert!((far.0 - first.0).abs() > 1e-6, "{what}: all at one place");
    let slope = (far.1 - first.1) / (far.0 - first.0);
    let place = move |value: f64| first.1 + slope * (value - first.0);
    for (value, at) in pairs {
        assert!((place(*value) - at).abs() < 0.3, "{what}: {value} lies at {at}, not {}", place(*value));
    }
    place
}

#[test]
fn a_higher_level_lies_further_right_and_the_bracket_spans_the_margin() {
    for (distance, over) in [("400", true), ("90000", false)] {
        let sheet = reckoned(&[("distance_m", distance), ("air_height_m", "100")]);
        for direction in [Some(&sheet.control), sheet.telemetry.as_ref()].into_iter().flatten() {
            let drawing = stairs::direction(direction).into_string();
            let steps: Vec<f64> = direction
                .stairs
                .iter()
                .filter(|stair| stair.kind != StairKind::Allowance)
                .map(|stair| stair.level.0)
                .collect();
            assert!(steps.len() > 3, "{steps:?}");
            // The stair: from the power, each step one down and along to its level.
            let places = corners(&attribute(&drawing, "path class=\"stair\"", "d", 0));
            let mut levels = vec![(steps[0], places[0].0)];
            for (at, level) in steps.iter().enumerate().skip(1) {
                levels.push((*level, places[2 * at].0));
                assert!(places[2 * at].1 > places[2 * at - 2].1, "each step lies lower on the page");
            }
            let x = line(&levels, "levels");
            assert!(x(0.0) > x(-1.0) + 0.5, "a stronger level lies further right");
            // The marks along the top are on the same scale.
            let mut marks = 0;
            for tick in drawing.split("<text class=\"tick\" x=\"").skip(1) {
                let at = number(tick.split('"').next().unwrap());
                let says = tick.split('>').nth(1).unwrap().split(['<', ' ']).next().unwrap();
                let level = number(&says.replace('\u{2212}', "-"));
                assert!((x(level) - at).abs() < 0.3 || at <= 14.0 || at >= 262.0, "{level} dBm at {at}");
                marks += 1;
            }
            assert!(marks > 1);
            // The bracket: from the least level to the level that arrives.
            let (least, here) = (x(direction.sensitivity.0), x(direction.received.0));
            let class = if over { "path class=\"bracket\"" } else { "path class=\"bracket lacking\"" };
            let bracket = attribute(&drawing, class, "d", 0);
            let from = number(bracket[1..].split(' ').next().unwrap());
            let to = number(bracket.split(" H").nth(1).unwrap().split(' ').next().unwrap());
            assert!((from - least).abs() < 0.3 && (to - here).abs() < 0.3, "{bracket}: {least} to {here}");
            assert_eq!(from < to, over, "what is lacking lies to the left of what is needed");
            // The line of the least level, and the dot of what arrives.
            let needed = attribute(&drawing, "path class=\"needed\"", "d", 0);
            assert!((number(needed[1..].split(' ').next().unwrap()) - least).abs() < 0.3);
            assert!((number(&attribute(&drawing, "circle class=\"plug\"", "cx", 1)) - here).abs() < 0.3);
        }
    }
}

#[test]
fn a_greater_margin_lies_higher_and_a_greater_distance_to_the_right() {
    let sheet = reckoned(&[("distance_m", "700")]);
    let (asked, seen) = (Metres(700.0), Metres(1300.0));
    let drawing = curve::drawing(&sheet, Some(asked), Some(seen)).into_string();
    for (class, telemetry) in [("path class=\"stair\"", false), ("path class=\"stair dashes\"", true)] {
        let places = corners(&attribute(&drawing, class, "d", 0));
        assert_eq!(places.len(), sheet.curve.len());
        let known = sheet.curve.iter().zip(&places);
        let (mut along, mut up) = (Vec::new(), Vec::new());
        for (point, (x, y)) in known {
            along.push((point.distance.0.ln(), *x));
            let margin = if telemetry { point.telemetry_margin.unwrap() } else { point.margin };
            // What lies outside the paper is drawn on its edge.
            if *y > 44.5 && *y < 245.5 {
                up.push((margin.0, *y));
            }
        }
        assert!(up.len() > 5);
        let (x, y) = (line(&along, "distances"), line(&up, "margins"));
        assert!(x(8.0) > x(7.0), "farther is further right");
        assert!(y(10.0) < y(0.0), "more margin is higher on the page");
        let zero = attribute(&drawing, "path class=\"zero\"", "d", 0);
        let zero = number(zero.split(' ').nth(1).unwrap());
        assert!((zero - y(0.0)).abs() < 0.3, "the line of no margin");
        let marked = |class: &str| {
            let d = attribute(&drawing, class, "d", 0);
            number(d[1..].split(' ').next().unwrap())
        };
        assert!((marked("path class=\"flag-line\"") - x(asked.0.ln())).abs() < 0.3, "the distance asked for");
        assert!(
            (marked("path class=\"flag-line sight\"") - x(seen.0.ln())).abs() < 0.3,
            "the distance of sight"
        );
        // The dot of the reach, and the bracket about it.
        let way = if telemetry { sheet.telemetry.as_ref().unwrap() } else { &sheet.control };
        let dot = number(&attribute(&drawing, "circle class=\"plug\"", "cx", usize::from(telemetry)));
        assert!((dot - x(way.reach.distance.unwrap().0.ln())).abs() < 0.3, "the reach");
        let (low, high) = (x(way.reach.low.unwrap().0.ln()), x(way.reach.high.unwrap().0.ln()));
        assert!(low < dot && dot < high.min(322.1) + 0.1, "{low} {dot} {high}");
    }
}

#[test]
fn the_latencies_stand_as_high_as_they_are_frequent() {
    let sheet = reckoned(&[("distance_m", "700"), ("latency_ms", "40")]);
    let latency = &sheet.latency;
    let drawing = time::latency(&sheet, Some(Seconds(0.04))).into_string();
    let places = corners(&attribute(&drawing, "path class=\"band outlined\"", "d", 0));
    let base = places[0].1;
    let bins = &latency.histogram;
    assert_eq!(places.len(), 2 * bins.len() + 2);
    let mut heights = Vec::new();
    let mut starts = Vec::new();
    for (at, (start, share)) in bins.iter().enumerate() {
        let (x, top) = places[2 * at + 1];
        heights.push((*share, base - top));
        starts.push((start.0, x));
    }
    let height = line(&heights, "shares");
    assert!(height(0.0).abs() < 0.3 && height(0.1) > height(0.0), "what comes more often stands higher");
    let x = line(&starts, "times");
    assert!(x(0.02) > x(0.01), "later is further right");
    let marked = |class: &str, nth: usize| {
        let d = attribute(&drawing, class, "d", nth);
        number(d[1..].split(' ').next().unwrap())
    };
    let median = marked("path class=\"flag-line\"", 1);
    assert!((median - x(latency.median.0)).abs() < 0.3);
    assert!((marked("path class=\"flag-line\"", 0) - x(latency.p95.0)).abs() < 0.3);
    assert!((marked("path class=\"flag-line sight\"", 0) - x(0.04)).abs() < 0.3);
    // Half of all that is drawn lies left of the median's line, but for the bar it stands in.
    let all: f64 = heights.iter().map(|(_, height)| height).sum();
    let left: f64 = heights.iter().zip(&starts).filter(|(_, at)| at.1 < median).map(|(one, _)| one.1).sum();
    let bar = heights.iter().map(|(_, height)| *height).fold(0.0, f64::max);
    assert!((left / all - 0.5).abs() <= bar / all + 0.01, "{left} of {all}");
}

#[test]
fn a_sensor_that_comes_late_has_a_bar_past_the_line() {
    let sheet = reckoned(&[("sensors", "battery:4:3; logger:200:0.5")]);
    let fit = sheet.telemetry_fit.as_ref().unwrap();
    let drawing = time::refresh(fit).into_string();
    let limit = attribute(&drawing, "path class=\"needed\"", "d", 0);
    let limit = number(limit[1..].split(' ').next().unwrap());
    let mut seen = [0, 0];
    for (served, bar) in
        fit.sensors.iter().filter(|one| one.achieved.is_some()).zip(drawing.split("<rect ").skip(1))
    {
        let width = number(bar.split("width=\"").nth(1).unwrap().split('"').next().unwrap());
        let ratio = served.achieved.unwrap().0 / served.wanted.0;
        assert!((width - (limit - 4.0) * ratio.min(2.0)).abs() < 0.3, "{}: {ratio} is {width}", served.name);
        assert_eq!(bar.contains("late"), !served.fits, "{bar}");
        seen[usize::from(ratio > 1.0)] += 1;
    }
    assert!(seen[0] > 0, "{seen:?}");
}
