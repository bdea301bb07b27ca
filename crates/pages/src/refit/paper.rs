//! `GET /refit/{id}/paper`: for the bench, one evening a sheet.

use maud::{Markup, html};
use refits::follow::Standing;
use register::id::DeviceId;
use register::scene::Scene;

use super::evenings::{As, steps};
use super::{flights, parts};
use crate::site::Site;
use crate::words;

/// The steps that are left, of one evening or of all, each with a box to tick by hand.
pub fn page(site: &Site, scene: &Scene, standing: &Standing, evening: Option<u32>) -> Markup {
    let nights: Vec<_> = standing
        .plan
        .iter()
        .flat_map(|plan| &plan.nights)
        .filter(|night| !night.lines.is_empty() && evening.is_none_or(|only| night.number == only))
        .collect();
    let body = html! {
        p.answer { (words::name(&standing.name)) @if let Some(only) = evening { ", evening " (only) } }
        p.no-print { "Print this page from the browser: one evening a sheet. Afterwards tick by code, or " a href={ "/refit/" (standing.id) } { "on the page of the refit" } "." }
        @if !standing.stale.is_empty() {
            div.problems {
                p { strong { "The plan doesn't fit any more: plan the rest anew first." } }
                ul { @for why in &standing.stale { li { (words::prose(why)) } } }
            }
        }
        @if nights.is_empty() { p { "Nothing is left to do" @if evening.is_some() { " in this evening" } "." } }
        @for night in &nights {
            section.sheet-of-paper aria-labelledby={ "evening-" (night.number) } {
                h2 id={ "evening-" (night.number) } { "Evening " (night.number) ", " (flights::filled(night)) }
                p.small { (words::name(&standing.name)) ". Printed " (words::minute(site.now)) ". Each code names its step, also when the plan changes." }
                @if let Some(plan) = &standing.plan {
                    (parts::no_way_back_from(&night.no_way_back, &format!("no-way-back-{}", night.number)))
                    (steps(scene, night, As::Paper))
                    (afterwards(scene, plan, night))
                }
            }
        }
    };
    site.page("For the bench", &body)
}

/// Who can't fly when the evening is over.
fn afterwards(scene: &Scene, plan: &refits::planner::Plan, night: &refits::layout::Night) -> Markup {
    let grounded: Vec<DeviceId> = plan
        .crafts
        .iter()
        .zip(&night.flies)
        .filter(|(craft, flies)| !**flies && craft.craft.flew)
        .map(|(craft, _)| craft.craft.card.id)
        .collect();
    html! {
        p {
            strong { "When the evening is over: " }
            @if grounded.is_empty() { "every aircraft that could fly before this refit can, as far as its link goes." }
            @else { "grounded " (words::name(&parts::labels(scene, &grounded))) "." }
        }
    }
}
