//! `GET /refits/job/{job}` while the planner works.

use maud::{Markup, html};
use refits::planner::Progress;
use refits::problem::Score;

use super::parts::hundredths;
use crate::form::{Form, Typed, send_main};
use crate::site::Site;
use crate::words;

/// How far the planner is, with the best so far; asks again by itself. Posts to
/// `/refits/job/{job}/stop` (form `stop`).
pub fn page(site: &Site, job: &str, progress: Option<&Progress>, effort: u64) -> Markup {
    let none = Typed::none();
    let form = Form::new("stop", &none);
    let best = progress.and_then(|progress| progress.best);
    let work = progress.map_or(0, |progress| progress.work);
    let body = html! {
        p.answer role="status" {
            @match best {
                None => "Planning; nothing found yet.",
                Some(best) => { "Planning; best so far: " (score(best)) "." },
            }
        }
        @if let (Some(best), Some(progress)) = (best, progress) {
            @if progress.bound.minutes < best.minutes {
                p { "No plan takes less than " (words::minutes(hundredths(progress.bound.minutes))) "; the search goes on for one that is nearer to it." }
            }
        }
        progress max=(effort.max(1)) value=(work.min(effort)) aria-label="How much of the time for planning is over" {}
        (form.post(site, &format!("/refits/job/{}/stop", words::encode(job)), &html! {
            (send_main(if best.is_some() { "Stop, and take the best so far" } else { "Stop" }))
        }))
        p.small { "This page asks again by itself. Nothing is written: you may leave, and come back to this address." }
    };
    site.waiting_page("Planning", 1, &body)
}

/// What a plan comes to.
fn score(score: Score) -> Markup {
    html! {
        (words::minutes(hundredths(score.minutes))) ", "
        (words::counted(u64::try_from(score.grounded).unwrap_or(0), "aircraft-evening", "aircraft-evenings")) " grounded"
    }
}
