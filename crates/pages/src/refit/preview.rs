//! A plan before it is begun.

use maud::{Markup, html};
use refits::planner::Plan;
use register::scene::Scene;

use super::evenings::{As, steps};
use super::{flights, parts};
use crate::form::{Form, Input, Typed, send_main};
use crate::site::Site;
use crate::words;

/// A plan that waits to be begun, or to take the place of a refit's plan.
#[derive(Clone, Debug)]
pub struct Preview<'a> {
    /// The number under which the server keeps it.
    pub job: &'a str,
    /// The plan.
    pub plan: &'a Plan,
    /// The refit whose rest it plans: its id and name; `None` for a new one.
    pub of: Option<(&'a str, &'a str)>,
    /// A sentence on how the search ended, where it didn't end by itself.
    pub stopped: &'a str,
    /// The longest name of a refit, characters.
    pub longest_name: usize,
}

/// So many evenings stand open.
const OPEN: usize = 4;

/// The plan and its proof, what it forces, who can fly when, every step. Posts `name` to
/// `/refits/job/{job}/begin` (form `begin`).
pub fn page(site: &Site, scene: &Scene, sheet: &Preview, typed: &Typed) -> Markup {
    let plan = sheet.plan;
    let form = Form::new("begin", typed);
    let nights: Vec<_> = plan.nights.iter().filter(|night| !night.lines.is_empty()).collect();
    let body = html! {
        div.refit {
            p.answer { (words::prose(&plan.sentence())) }
            @if !sheet.stopped.is_empty() { p { (words::prose(sheet.stopped)) } }
            @if !plan.is_empty() { p.small { (words::prose(&plan.proof())) } }
            @for note in &plan.notes { p.notice { (words::prose(note)) } }
            (parts::no_way_back(plan))
            section aria-labelledby="wished" {
                h2 id="wished" { "Wished" }
                (parts::wishes(&plan.wishes))
            }
            (parts::replaced(scene, plan))
            (parts::reasons(scene, plan))
            (parts::looks_and_left_out(plan))
            (flights::table(plan))
            div.evenings {
                @for (at, night) in nights.iter().enumerate() {
                    details.evening open[at < OPEN] {
                        summary { h2 id={ "evening-" (night.number) } { "Evening " (night.number) ", " (flights::filled(night)) } }
                        @if night.most_grounded > 0 {
                            p.small { "At most " (words::count(night.most_grounded as u64)) " grounded at once while it goes on." }
                        }
                        (steps(scene, night, As::Text))
                    }
                }
            }
            @if plan.is_empty() && sheet.of.is_none() {
                p { "What is wished holds already." }
                p.main-action { a.main href="/refits/new" { "Wish for something else" } }
            } @else {
                (form.post(site, &format!("/refits/job/{}/begin", words::encode(sheet.job)), &html! {
                    @if sheet.of.is_some() {
                        (send_main("Take this plan"))
                    } @else {
                        (form.text(Input::new("name", "What to call it").longest(sheet.longest_name).hint("Left empty, it is called after its first wish")))
                        (send_main("Begin this refit"))
                    }
                }))
                ul.ways {
                    @if let Some((id, name)) = sheet.of {
                        li { a href={ "/refit/" (id) } { "Keep the plan of " (words::name(name)) " as it is" } }
                    } @else {
                        li { a href={ "/refits/new?job=" (words::encode(sheet.job)) } { "Change what is wished" } }
                    }
                }
            }
            p.small { "Nothing is written yet. Minutes are judgement, the workshop's own where it set them. What can fly is judged by the radio link only, from what is written down." }
        }
    };
    let title = match sheet.of {
        Some((_, name)) => format!("A new plan of the rest: {}", words::clip(name)),
        None => "A plan".to_owned(),
    };
    site.page(&title, &body)
}
