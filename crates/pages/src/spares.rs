//! `GET /spares/{aircraft}`: which spare fits.

use maud::{Markup, html};
use register::spares::Spare;
use register::view::Card;

use crate::links::why;
use crate::site::Site;
use crate::words;

fn first(spare: &Spare) -> Markup {
    html! {
        section.next aria-labelledby="first" {
            h2 id="first" {
                (words::name(&spare.receiver.full())) " with " (words::name(&spare.transmitter.label()))
                @if let Some(minutes) = spare.minutes { ", " (words::minutes(minutes)) }
            }
            ol {
                li { (words::prose(&spare.fit.text)) " " (words::minutes(spare.fit.minutes)) (words::cautions(&spare.fit.cautions())) }
                @if let Some(plan) = &spare.plan {
                    @for check in &plan.checks { li { (words::prose(&check.text)) " " (words::minutes(check.minutes)) } }
                    @for step in &plan.steps { li { (words::prose(&step.text)) " " (words::minutes(step.minutes)) (words::cautions(&step.cautions())) } }
                }
            }
            p.small { "When it is fitted, write down on the receiver's page which aircraft it is in." }
            p.main-action { a.main href={ "/device/" (spare.receiver.id) "?part=whole&field=aircraft#write" } { "I fitted it: write it down" } }
        }
    }
}

/// The shelf's receivers for an aircraft, the quickest first.
pub fn page(site: &Site, aircraft: &Card, spares: &[Spare]) -> Markup {
    let best = spares.first().filter(|spare| spare.fits());
    let title = format!("Spares for {}", words::clip(&aircraft.spoken()));
    let body = html! {
        p.answer {
            @match best {
                _ if spares.is_empty() => "No receiver is on the shelf.",
                Some(spare) => {
                    (words::name(&spare.receiver.full())) " fits"
                    @if let Some(minutes) = spare.minutes { ", " (words::minutes(minutes)) " in all" }
                    "."
                }
                None => "None of the receivers on the shelf can be made to link.",
            }
        }
        p { "For " (words::device_full(aircraft)) @if let Some(card) = spares.iter().find_map(|spare| spare.replaces.as_ref()) { ", in the place of " (words::device_full(card)) } "." }
        @if spares.is_empty() {
            p { "A spare is a receiver whose state is " em { "shelf" } "." }
            ul.ways { li { a href="/receivers" { "Receivers" } } li { a href="/device/new?sort=receiver" { "Add a receiver" } } li { a href="/import" { "Import a list" } } }
        }
        @if let Some(spare) = best { (first(spare)) }
        @if !spares.is_empty() {
            table.stack data-filter {
                caption { "The shelf, the quickest first" }
                thead { tr { th scope="col" { "Receiver" } th scope="col" { "With" } th scope="col" { "Once fitted" } th scope="col" { "Why" } th scope="col" { "In all" } } }
                tbody {
                    @for spare in spares {
                        tr {
                            th scope="row" { (words::device_full(&spare.receiver)) }
                            td data-label="With" { (words::device(&spare.transmitter)) }
                            td data-label="Once fitted" { (words::verdict(spare.link.verdict())) }
                            td data-label="Why" { (words::prose(why(&spare.link))) }
                            td data-label="In all" { @match spare.minutes { Some(minutes) => (words::minutes(minutes)), None => "nothing helps" } }
                        }
                    }
                }
            }
        }
    };
    site.page(&title, &body)
}
