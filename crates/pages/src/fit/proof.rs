//! The steps of a proof, and the form that writes down how it went.

use fitting::commission::Commission;
use fitting::commission::measure::MEASURES;
use fitting::failsafe::ProofStep;
use maud::{Markup, html};
use register::fit::Proof;

use super::block::told;
use crate::form::{Form, Input, Typed, choice, hidden, send};
use crate::reading::capital;
use crate::site::Site;

/// Where a proof stands on the page of the list.
pub(super) fn id(proof: Proof) -> String {
    format!("proof-{}", proof.word())
}

/// The key of its form.
pub fn form_key(proof: Proof) -> String {
    format!("prove-{}", proof.word())
}

/// The steps with their cautions, and the form. Posts to `/device/{id}/prove`: `proof`, `t`, `step`
/// (several), `went` (`held`, `failed`), a field for each figure, `note`, `seen`.
pub(super) fn steps(
    site: &Site,
    list: &Commission,
    proof: Proof,
    steps: &[ProofStep],
    typed: &Typed,
    open: Shown,
) -> Markup {
    let key = form_key(proof);
    let form = Form::new(&key, typed);
    let action = format!("/device/{}/prove", list.aircraft.id);
    let measures: Vec<_> = MEASURES.iter().filter(|one| one.proof == proof).collect();
    let ticked = |step: &str| typed.has(&key, "step", step);
    html! {
        details id=(id(proof)) open[open || typed.sent(&key)] {
            summary { "Steps of the " (proof.label()) ", and how it went" }
            (form.post(site, &action, &html! {
                (hidden("proof", proof.word()))
                @if let Some(card) = &list.transmitter { (hidden("t", &card.id.to_string())) }
                ol.steps-list aria-label={ "Steps of the " (proof.label()) } {
                    @for step in steps {
                        @let id = format!("{}-{}", self::id(proof), step.key.replace('_', "-"));
                        li {
                            @if !step.cautions.is_empty() {
                                div.caution role="note" { @for one in &step.cautions { p { strong { "Caution: " } (told(one)) } } }
                            }
                            div.choice {
                                input type="checkbox" id=(id) name="step" value=(step.key) checked[ticked(step.key)];
                                label for=(id) { (told(&step.text)) }
                            }
                        }
                    }
                }
                p.small { "Ticked are the steps that were carried out. None ticked and it held: all of them were." }
                (form.radio(Input::new("went", "How it went"), &[
                    choice("held", "It held: every step was as it should be"),
                    choice("failed", "It did not hold"),
                ]))
                div.fields {
                    @for one in &measures {
                        (form.number(Input::new(one.key, &format!("{} ({})", capital(one.label), one.unit))))
                    }
                    (form.text(Input::new("note", "Note").hint("What was seen, where, in what weather").longest(1000)))
                    (form.date(Input::new("seen", "When").start(&site.now.date())))
                }
                p { (send(&format!("Write the {} down", proof.label()))) }
            }))
        }
    }
}

/// Whether something stands open.
type Shown = bool;
