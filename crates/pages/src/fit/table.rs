//! `GET /commission/table`: what makes a check lapse, and why.

use fitting::commission::lapse::Rule;
use maud::{Markup, html};
use register::fit::Proof;

use super::block::told;
use crate::reading::capital;
use crate::site::Site;

/// The table.
pub fn page(site: &Site, rules: &[Rule]) -> Markup {
    let body = html! {
        p.answer { "A check holds until something happens that it didn't see." }
        p { "Whatever this table says: after any work that you are unsure about, check again. Local rules and the maker's manual come first." }
        table.stack.lapses {
            caption { "What happens, and which checks lapse by it" }
            thead { tr {
                th scope="col" { "What happens" }
                @for proof in Proof::ALL { th scope="col" { (capital(proof.label())) } }
                th scope="col" { "Why" } th scope="col" { "Where this comes from" }
            } }
            tbody {
                @for rule in rules {
                    tr {
                        th scope="row" { (capital(&rule.what)) }
                        @for proof in Proof::ALL {
                            td data-label=(capital(proof.label())) { @if rule.lapses.contains(proof) { "lapses" } @else { span.source { "stands" } } }
                        }
                        td data-label="Why" { (told(&rule.why)) }
                        td data-label="From" { small.source { (told(&rule.source)) } }
                    }
                }
            }
        }
        ul.ways { li { a href="/commission" { "Commissioning of every aircraft" } } }
    };
    site.page("What makes a check lapse", &body)
}
