//! What a little more of something buys, and which settings are worth choosing.

use link::adviser::{Advice, Choice, Respect};
use link::sheet::{Gain, Setting};
use maud::{Markup, html};

use super::{SheetPage, rules, say};
use crate::words;

/// Choices that stand open; the others can be unfolded.
const OPEN: usize = 6;

/// What one decibel and the neighbouring modes buy.
pub(super) fn gains(gains: &[Gain]) -> Markup {
    html! {
        @if !gains.is_empty() {
            table.figures {
                caption { "Against this sheet" }
                thead { tr {
                    th scope="col" { "With" } th scope="col" { "Control reaches" } th scope="col" { "That is" }
                    th scope="col" { "Median latency" }
                } }
                tbody {
                    @for gain in gains {
                        tr {
                            th scope="row" { (words::name(&gain.of)) }
                            td.number { @if let Some(distance) = gain.distance { (say::about(distance)) } @else { "not even 10 m" } }
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
        _ if farther < 0.0 => format!("{percent} % less far"),
        _ => format!("{percent} % farther"),
    }
}

/// The settings that nothing beats.
pub(super) fn advice(page: &SheetPage, advice: &Advice) -> Markup {
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
        ol.settings-list { @for (choice, setting) in known.iter().take(OPEN) { (one(page, choice, setting)) } }
        @if known.len() > OPEN {
            details {
                summary { (words::counted((known.len() - OPEN) as u64, "more choice", "more choices")) }
                ol.settings-list start=(OPEN + 1) { @for (choice, setting) in known.iter().skip(OPEN) { (one(page, choice, setting)) } }
            }
        }
    }
}

fn one(page: &SheetPage, choice: &Choice, setting: &Setting) -> Markup {
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
                "Holds in " (say::of_hundred(judged.control)) " spells, margin " (say::margin(judged.margin)) "; reaches "
                (say::reach(&choice.reach)) ". "
                @if let Some(telemetry) = judged.telemetry { "Telemetry in " (say::of_hundred(telemetry)) ". " }
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
    let mut parts: Vec<String> = page
        .typed
        .values
        .iter()
        .filter(|(key, text)| {
            !OWN.contains(&key.as_str())
                && !text.trim().is_empty()
                && link::wish::WISHES.iter().any(|wish| wish.key == key)
        })
        .map(|(key, text)| format!("{key}={}", words::encode(text)))
        .collect();
    parts.push(format!("mode={}", words::encode(&setting.mode.name)));
    parts.push(format!("power_mw={}", say::milliwatts(setting.power)));
    parts.push(format!("telemetry_one_in={}", setting.mode.telemetry_one_in.unwrap_or(0)));
    format!("{}?{}", page.action, parts.join("&"))
}
