//! Why there is no plan.

use maud::{Markup, html};
use refits::planner::{Clash, NoPlan};

use super::parts;
use crate::reading::capital;
use crate::words;

/// The answer where nothing was found.
pub(super) fn answer(why: &NoPlan) -> Markup {
    match why {
        NoPlan::Clash(clash) => clashing(clash),
        NoPlan::Refused(says) => html! {
            p.answer { "This can't be planned as it is wished." }
            p.problems role="alert" { (words::prose(&capital(says))) }
        },
        NoPlan::Stopped => html! {
            p.answer { "Stopped before any plan was found." }
            p { "That proves nothing: plan again and let it go on, or wish for less." }
        },
    }
}

fn clashing(clash: &Clash) -> Markup {
    html! {
        p.answer { (if clash.words.len() > 1 { "These wishes can't be met together." } else { "This wish can't be met." }) }
        section.problems aria-labelledby="clash" {
            h2 id="clash" { "What stands against what" }
            (parts::wishes(&clash.words))
            p { (words::prose(&clash.why)) }
            p.small {
                (if clash.smallest { "Without any one of them the others can be met." } else { "Perhaps fewer of them clash already: that wasn't proven." })
            }
        }
        @if !clash.ideas.is_empty() {
            section aria-labelledby="ideas" {
                h2 id="ideas" { "You could" }
                ul { @for idea in &clash.ideas { li { (words::prose(idea)) } } }
            }
        }
    }
}
