//! Why there is no plan.

use maud::{Markup, html};
use refits::planner::{Clash, NoPlan};

use super::parts;
use crate::form::{Form, Typed, hidden};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

/// Why there is no plan, and what could be wished besides.
#[derive(Clone, Copy, Debug)]
pub struct Why<'a> {
    /// Why.
    pub no_plan: &'a NoPlan,
    /// The number under which the server keeps what was wished.
    pub job: &'a str,
    /// What could be wished, in words; the wish as a person types it where that one would do.
    pub ideas: &'a [(String, Option<String>)],
}

/// The form that plans once more with an idea, by its place.
pub fn idea_form(at: usize) -> String {
    format!("idea-{at}")
}

/// The answer where nothing was found. Ideas post to `/refits/job/{job}/idea` (form
/// [`idea_form`]: `idea`, its place).
pub(super) fn answer(site: &Site, why: &Why) -> Markup {
    match why.no_plan {
        NoPlan::Clash(clash) => clashing(site, clash, why),
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

fn clashing(site: &Site, clash: &Clash, why: &Why) -> Markup {
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
        @if !why.ideas.is_empty() {
            section aria-labelledby="ideas" {
                h2 id="ideas" { "You could" }
                ul.ideas {
                    @for (at, (text, word)) in why.ideas.iter().enumerate() {
                        li {
                            p { (words::prose(text)) @if let Some(word) = word { ": " code { (words::name(word)) } } }
                            @if word.is_some() { (with_idea(site, why.job, at, text)) }
                        }
                    }
                }
                @if why.ideas.iter().any(|(_, word)| word.is_some()) {
                    p.small { "It is planned again with what was wished and that one wish more, which stands under “More wishes” then: there it can be changed, such as what a receiver costs." }
                }
            }
        }
    }
}

fn with_idea(site: &Site, job: &str, at: usize, text: &str) -> Markup {
    let to = format!("/refits/job/{}/idea", words::encode(job));
    Form::new(&idea_form(at), &Typed::none()).post(
        site,
        &to,
        &html! {
            (hidden("idea", &at.to_string()))
            button.plain type="submit" { "Plan with this" span.quiet { ": " (words::name(text)) } }
        },
    )
}
