//! `GET /sheet`: whose link?

use maud::{Markup, html};

use super::CHOOSE;
use crate::form::{Choice, Form, Input, Typed, choice, send_main};
use crate::site::Site;
use crate::words;

pub(super) fn page(
    site: &Site,
    transmitters: &[(String, String)],
    others: &[(String, String)],
    families: &[(String, Vec<String>)],
    typed: &Typed,
) -> Markup {
    let form = Form::new(CHOOSE, typed);
    let select = |all: &[(String, String)]| -> Vec<Choice> {
        let all = all.iter().map(|(id, label)| choice(id, label));
        std::iter::once(choice("", "choose")).chain(all).collect()
    };
    let ready = !transmitters.is_empty() && !others.is_empty();
    let body = html! {
        p.answer { "How far does it reach, how late is it, and what fails first? Choose whose link." }
        @if ready {
            form method="get" action="/sheet" {
                (form.wrong_question())
                div.fields {
                    (form.select(Input::new("transmitter", "Transmitter").required(), &select(transmitters)))
                    (form.select(Input::new("other", "Aircraft or receiver").required(), &select(others)))
                }
                (send_main("Open the link sheet"))
            }
        } @else {
            p {
                @if transmitters.is_empty() { "No transmitter is written down yet. " }
                @if others.is_empty() { "No receiver or aircraft is written down yet. " }
                @if !families.is_empty() { "A sheet can be made for a link family all the same." }
            }
            ul.ways {
                @if transmitters.is_empty() { li { a href="/device/new?sort=transmitter" { "Add a transmitter" } } }
                @if others.is_empty() { li { a href="/device/new?sort=receiver" { "Add a receiver" } } }
                li { a href="/import" { "Import a list" } }
            }
        }
        section aria-labelledby="families" {
            h2 id="families" { "Or a link family, without a device" }
            @if families.is_empty() {
                p { "There is no link family yet. " a href="/family/new" { "Write one down" } "." }
            } @else {
                dl.rules {
                    @for (name, bands) in families {
                        dt { (words::name(name)) }
                        dd {
                            @if bands.is_empty() { "no band is written down" }
                            ul.ways {
                                @for band in bands {
                                    li { a href={ "/sheet?family=" (words::encode(name)) "&band=" (words::encode(band)) } { (words::name(band)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    };
    site.page("Link sheet", &body)
}
