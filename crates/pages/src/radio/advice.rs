//! What a little more of something buys, and which settings are worth choosing.

use link::adviser::{Advice, Choice, Respect};
use link::sheet::{NEAREST, Setting, Sheet};
use maud::{Markup, html};
use units::Metres;

use super::{SheetPage, rules, say};
use crate::words;

/// Choices that stand open; the others can be unfolded.
const OPEN: usize = 6;

/// Choices that a page shows at all.
const MOST: usize = 50;

/// What one decibel and the neighbouring modes buy.
pub(super) fn gains(sheet: &Sheet) -> Markup {
    let now = sheet.control.reach.distance;
    // Beside the reach as it is, a reach has the digits that tell the two apart.
    let reaches = |distance: Option<Metres>| match (distance, now) {
        (Some(distance), Some(now)) => say::apart(now, distance).1,
        (Some(distance), None) => say::about(distance),
        (None, _) => format!("not even {}", say::exact(NEAREST)),
    };
    let gains = &sheet.gains;
    // As it is with the digits of the nearest comparison.
    let nearest = gains.iter().filter_map(|gain| gain.distance).min_by(|a, b| {
        let off = |d: &Metres| now.map_or(0.0, |now| (d.0 - now.0).abs());
        off(a).total_cmp(&off(b))
    });
    let as_it_is = match (now, nearest) {
        (Some(now), Some(nearest)) => say::apart(now, nearest).0,
        (other, _) => reaches(other),
    };
    html! {
        @if !gains.is_empty() {
            table.figures {
                caption { "Against this sheet" }
                thead { tr {
                    th scope="col" { "With" } th scope="col" { "Control reaches" } th scope="col" { "That is" }
                    th scope="col" { "Median latency" }
                } }
                tbody {
                    tr {
                        th scope="row" { "As it is" }
                        td.number { (as_it_is) }
                        td.number {}
                        td.number { (say::time(sheet.latency.median)) }
                    }
                    @for gain in gains {
                        tr {
                            th scope="row" { (words::name(&gain.of)) }
                            td.number { (reaches(gain.distance)) }
                            td.number { @if let Some(farther) = gain.farther { (farther_by(farther)) } @else { "not known" } }
                            td.number { (say::time(gain.latency)) }
                        }
                    }
                }
            }
        }
    }
}

fn farther_by(farther: f64) -> String {
    let percent = format!("{:.0}", farther.abs() * 100.0);
    match percent.as_str() {
        "0" => "as far".to_owned(),
        _ if farther < 0.0 => format!("{percent} % nearer"),
        _ => format!("{percent} % farther"),
    }
}

/// The settings that nothing beats.
pub(super) fn advice(page: &SheetPage, advice: &Advice) -> Markup {
    let wanted = page.setup.map_or(1.0, |setup| setup.flight.probability);
    let known: Vec<(&Choice, &Setting)> = advice
        .choices
        .iter()
        .filter_map(|choice| Some((choice, page.settings.get(choice.judged.index)?)))
        .collect();
    html! {
        p {
            "Of " (words::counted(advice.looked_at as u64, "setting", "settings")) ", "
            (words::counted(known.len() as u64, "is", "are")) " worth choosing: for the rest another is as good in everything and better in something. "
            @match advice.meeting {
                0 => strong { "None meets every need of this flight." },
                meeting => { (words::counted(meeting as u64, "meets", "meet")) " every need of this flight." }
            }
        }
        ol.settings-list { @for (choice, setting) in known.iter().take(OPEN) { (one(page, wanted, choice, setting)) } }
        @if known.len() > OPEN {
            details {
                summary { (words::counted((known.len().min(MOST) - OPEN) as u64, "more choice", "more choices")) }
                ol.settings-list start=(OPEN + 1) {
                    @for (choice, setting) in known.iter().take(MOST).skip(OPEN) { (one(page, wanted, choice, setting)) }
                }
            }
        }
        @if known.len() > MOST {
            p {
                "There are " (words::count((known.len() - MOST) as u64))
                " more than this page shows; on the command line " code { "advise" } " with " code { "--json" } " lists all of them."
            }
        }
    }
}

fn one(page: &SheetPage, wanted: f64, choice: &Choice, setting: &Setting) -> Markup {
    let judged = &choice.judged;
    let this = page.setting.is_some_and(|now| now == setting);
    html! {
        li {
            h3 {
                @if this { (say::setting(setting)) " " small { "(this sheet)" } }
                @else { a href=(address(page, setting)) { (say::setting(setting)) } }
            }
            @if !judged.fails.is_empty() {
                p { strong.flag { "Falls short: " } (joined(&judged.fails, falls_short)) "." }
            }
            p {
                "Holds in " (say::of_hundred(judged.control, wanted)) " spells, margin " (say::margin(judged.margin)) "; reaches "
                (say::reach(&choice.reach)) ". "
                @if let Some(telemetry) = judged.telemetry { "Telemetry in " (say::of_hundred(telemetry, wanted)) ". " }
                "Latency " (say::time(judged.latency)) ", 95 of 100 within " (say::time(judged.latency_p95)) "."
                @if let Some(law) = judged.law { " Limits: " (rules::standing(law)) "." }
            }
            @if !choice.best_in.is_empty() { p { "Best in " (joined(&choice.best_in, best)) "." } }
            @if choice.gives_up.is_empty() { p { "Gives up nothing." } } @else {
                p { "Gives up " (choice.gives_up.join("; ")) "." }
            }
        }
    }
}

fn joined(respects: &[Respect], say: fn(Respect) -> &'static str) -> String {
    respects.iter().map(|respect| say(*respect)).collect::<Vec<_>>().join(", ")
}

fn best(respect: Respect) -> &'static str {
    match respect {
        Respect::Control => "control",
        Respect::Telemetry => "telemetry",
        Respect::Latency => "latency",
        Respect::Refresh => "freshness of the sensors",
        Respect::Power => "least power",
        Respect::Law => "the limits",
    }
}

fn falls_short(respect: Respect) -> &'static str {
    match respect {
        Respect::Control => "control holds too seldom",
        Respect::Telemetry => "telemetry holds too seldom",
        Respect::Latency => "later than wanted",
        Respect::Refresh => "a sensor comes too seldom",
        Respect::Power => "power",
        Respect::Law => "over a planning limit",
    }
}

/// The same sheet with another setting.
fn address(page: &SheetPage, setting: &Setting) -> String {
    const OWN: [&str; 3] = ["mode", "power_mw", "telemetry_one_in"];
    let kept = page.kept.iter().map(|(key, text)| format!("{}={}", words::encode(key), words::encode(text)));
    let mut parts: Vec<String> = kept.collect();
    let typed = page
        .typed
        .values
        .iter()
        .filter(|(key, text)| {
            !OWN.contains(&key.as_str())
                && !text.trim().is_empty()
                && link::wish::WISHES.iter().any(|wish| wish.key == key)
        })
        .map(|(key, text)| format!("{key}={}", words::encode(text)));
    parts.extend(typed);
    parts.push(format!("mode={}", words::encode(&setting.mode.name)));
    parts.push(format!("power_mw={}", say::milliwatts(setting.power)));
    parts.push(format!("telemetry_one_in={}", setting.mode.telemetry_one_in.unwrap_or(0)));
    format!("{}?{}", page.action, parts.join("&"))
}
