//! What is said of the antennas: the gain round the airframe, the places, what comes near.

use fitting::aircraft::Written;
use fitting::antennas::{Answer, Antennas, Round, Site as Antenna};
use fitting::failsafe::Sort;
use maud::{Markup, html};

use super::{block, plan};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

pub(super) fn answer(site: &Site, one: &Written<Antennas, Answer>, craft: Sort) -> Markup {
    match &one.read {
        Err(problems) => {
            html! { p.answer { "The antennas can't be read." } (block::problems(problems)) (block::written(site, one)) }
        }
        Ok((antennas, answer)) => html! {
            p.answer { (words::prose(&answer.sentence)) }
            (block::written(site, one))
            div.charts {
                @for (at, round) in answer.rounds.iter().enumerate() {
                    @let sites: Vec<&Antenna> = answer.sites.iter().filter(|site| round.antennas.contains(&site.name)).collect();
                    (plan::round(&format!("round-{at}"), round, &sites, craft))
                }
                (plan::places(antennas, &answer.sites))
            }
            @for round in &answer.rounds { (gains(round)) }
            (sites(&answer.sites))
            (block::findings(&answer.findings))
            (block::sentences("not-checked", "What was not checked", &answer.unchecked))
        },
    }
}

/// Every 15 degrees is enough for a table; the line has a figure every 5.
const EVERY: usize = 3;

fn gains(round: &Round) -> Markup {
    html! {
        details {
            summary { "The line" @if !round.on.is_empty() { " of " (words::name(&round.on)) } " in figures" }
            table.figures {
                caption { "Gain in the horizontal plane under the best direction, clockwise from the nose" }
                thead { tr { th scope="col" { "Direction" } th scope="col" { "Gain" } th scope="col" { "Direction" } th scope="col" { "Gain" } } }
                tbody {
                    @let all: Vec<(usize, f64)> = round.line.iter().enumerate().step_by(EVERY).map(|(at, gain)| (at * 5, gain.0)).collect();
                    @let half = all.len().div_ceil(2);
                    @for (at, (degrees, gain)) in all.iter().take(half).enumerate() {
                        tr {
                            th scope="row" { (degrees) "°" } td.number { (format!("{gain:.1} dB")) }
                            @if let Some((degrees, gain)) = all.get(at + half) { th scope="row" { (degrees) "°" } td.number { (format!("{gain:.1} dB")) } }
                        }
                    }
                }
            }
        }
        dl.questions.glance {
            div { dt { "Hears worst" @if !round.on.is_empty() { ", " (words::name(&round.on)) } } dd { (words::prose(&round.hole.words)) (format!(", {:.0} dB under its best", round.hole.depth.0)) } }
            @if let Some(held) = round.held {
                div { dt { "Worst heading in level flight, transmitter antenna upright" } dd { (format!("{:.0} dB under the best", held.upright.0)) } }
                div { dt { "The same, held level across" } dd { (format!("{:.0} dB under the best", held.flat.0)) } }
            }
        }
    }
}

fn mm(length: Option<units::Metres>) -> String {
    length.map(|one| format!("{:.1} mm", one.0 * 1000.0)).unwrap_or_default()
}

fn sites(sites: &[Antenna]) -> Markup {
    html! {
        @if !sites.is_empty() {
            table.stack {
                caption { "Each antenna" }
                thead { tr { th scope="col" { "Antenna" } th scope="col" { "Points" } th scope="col" { "Length" } th scope="col" { "Should be" } th scope="col" { "That costs" } th scope="col" { "Near it" } } }
                tbody {
                    @for site in sites {
                        tr {
                            th scope="row" { (words::name(&capital(&site.name))) @if !site.on.is_empty() { small.source { ", on " (words::name(&site.on)) } } }
                            td data-label="Points" { @match site.towards { Some(towards) => (capital(&towards.words())), None => em { "not known" } } }
                            td.number data-label="Length" { (mm(site.length)) }
                            td.number data-label="Should be" { (mm(site.right_length)) }
                            td.number data-label="That costs" { @if let Some(cost) = site.cost { (format!("{:.1} dB", cost.0)) } }
                            td data-label="Near it" {
                                @for (at, near) in site.near.iter().enumerate() {
                                    @if at > 0 { br; }
                                    (words::name(&near.thing)) (format!(", {:.0} mm", near.distance.0 * 1000.0))
                                    @if let Some(angle) = near.angle { (format!(", at {:.0}°", angle.0)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
