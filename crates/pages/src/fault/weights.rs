//! How much each cause weighs: the library's judgement and this workshop's cases.

use maud::{Markup, html};
use trails::learn::{Counts, STRENGTH, STRENGTHS, UNLISTED};
use trails::model::Model;

use super::parts::percent;
use crate::form::{Form, Input, Typed, hidden, send};
use crate::site::Site;
use crate::words;

/// What the page shows.
#[derive(Clone, Debug)]
pub struct Weights<'a> {
    /// Every symptom, for the choice.
    pub symptoms: &'a [Model],
    /// The one that is shown, as the library has it.
    pub model: &'a Model,
    /// The same with this workshop's cases in it.
    pub taught: &'a Model,
    /// The cases.
    pub counts: &'a Counts,
    /// How many cases the library counts for.
    pub strength: f64,
}

/// The weights of one symptom, and how much the library's judgement counts.
pub fn page(site: &Site, weights: &Weights, typed: &Typed) -> Markup {
    let form = Form::new("strength", typed);
    let cases = weights.counts.total();
    let hint = format!(
        "Between {} and {}; {STRENGTH} where nobody says otherwise. Less learns faster.",
        STRENGTHS.start(),
        STRENGTHS.end()
    );
    let body = html! {
        p.answer {
            @match cases {
                0 => { "No trail of this symptom was closed with its cause found yet: all weights are the library's judgement." }
                _ => { (words::counted(u64::from(cases), "closed trail has", "closed trails have")) " taught these weights." }
            }
        }
        nav aria-label="Symptoms" {
            ul.inline {
                @for one in weights.symptoms {
                    li {
                        @if one.key == weights.model.key { strong aria-current="page" { (words::prose(&one.name)) } }
                        @else { a href={ "/faults/weights?symptom=" (words::encode(&one.key)) } { (words::prose(&one.name)) } }
                    }
                }
            }
        }
        div.scroll tabindex="0" role="region" aria-labelledby="weights" {
            table.figures {
                caption id="weights" { "How much each cause weighs" }
                thead { tr { th scope="col" { "Cause" } th scope="col" { "Library" } th scope="col" { "Cases here" } th scope="col" { "Now" } } }
                tbody { @for row in rows(weights) { (row) } }
            }
        }
        (form.post(site, "/faults/weights", &html! {
            (hidden("symptom", &weights.model.key))
            (form.number(Input::new("strength", "How many cases the library's judgement counts for").hint(&hint).start(&weights.strength.to_string())))
            p { (send("Set it")) }
        }))
        p.small { "Weights are judgement until cases stand beside them. A case counts from a trail that was closed with its cause; going back on the closing takes it out again." }
    };
    site.page(&format!("Weights: {}", weights.model.name), &body)
}

fn rows(weights: &Weights) -> Vec<Markup> {
    let library = weights.model.priors();
    let taught = weights.taught.priors();
    let (all, now): (f64, f64) = (library.iter().sum(), taught.iter().sum());
    let causes = &weights.model.causes;
    let names = causes.iter().map(|cause| (cause.key.as_str(), cause.label.as_str()));
    names
        .chain([(UNLISTED, "Something not in this list")])
        .zip(library.iter().zip(&taught))
        .map(|((key, label), (library, taught))| {
            html! {
                tr {
                    th scope="row" { (words::prose(label)) }
                    td { (percent(library / all)) }
                    td { (weights.counts.of_cause(key)) }
                    td { (percent(taught / now)) }
                }
            }
        })
        .collect()
}
