//! `GET /device/{id}/commission`: an aircraft's list, proof by proof.

use fitting::commission::{About, Commission, Item, Signature, Standing};
use fitting::failsafe::ProofStep;
use maud::{Markup, html};
use register::field::Sort;
use register::fit::{Part, Proof};

pub use super::proof::form_key;
use super::{block, fleet, line, proof, work};
use crate::form::{Form, Input, Typed, hidden};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

/// The key of the form that signs.
pub const SIGN: &str = "sign";

/// What the page needs.
#[derive(Clone, Copy, Debug)]
pub struct ListSheet<'a> {
    /// The list.
    pub list: &'a Commission,
    /// The steps of every proof.
    pub steps: &'a [(Proof, Vec<ProofStep>)],
}

/// The list. Its forms post to `/device/{id}/prove` (forms `prove-…`, see [`form_key`]), `/did` (form
/// `did`) and `/sign` (form [`SIGN`]: `t`, `note`).
pub fn page(site: &Site, sheet: &ListSheet, typed: &Typed) -> Markup {
    let list = sheet.list;
    let id = list.aircraft.id;
    let body = html! {
        p.answer { (words::prose(&list.sentence)) }
        p.small { "This says what was checked and what was not, by what is written down; nothing more. Local rules, the site's rules and the makers' manuals prevail." }
        (next(list))
        (transmitters(list))
        ol.items { @for item in &list.items { (one(site, sheet, item, typed)) } }
        details { summary { "What the boxes mean" } (fleet::key()) }
        (sign(site, list, typed))
        (work::form(site, id, Some(Sort::Aircraft), &line::commission(list), typed))
        section aria-labelledby="onto-paper" {
            h2 id="onto-paper" { "On paper" }
            (papers(list))
        }
    };
    site.page(&format!("Commissioning of {}", list.aircraft.full()), &body)
}

fn next(list: &Commission) -> Markup {
    let Some(item) = list.next() else {
        return html! {
            p { "Every item is checked. Before each flight day the field card says what to look at again." }
        };
    };
    html! {
        section.next aria-labelledby="next" {
            h2 id="next" { "Next: " (item.about.label()) }
            p { (block::told(&item.text)) }
            @if let Some(says) = doing(item) { p { (block::told(says)) } }
            @if let Some(minutes) = item.minutes { p.small { "About " (minutes) "; all that is left, as far as it is known, about " (list.minutes()) "." } }
            p.main-action { a.main href=(line::address(list)) { (line::first(list)) } }
        }
    }
}

/// What to do, unless the page has its own way to it.
fn doing(item: &Item) -> Option<&str> {
    let own = matches!((item.about, item.standing), (About::Link, _) | (About::Part(_), Standing::Open));
    (!own && !item.next.is_empty()).then_some(item.next.as_str())
}

fn transmitters(list: &Commission) -> Markup {
    let id = list.aircraft.id;
    html! {
        @if list.transmitters.len() > 1 {
            nav aria-label="With which transmitter" {
                ul.inline {
                    @for card in &list.transmitters {
                        li {
                            @if list.transmitter.as_ref().is_some_and(|chosen| chosen.id == card.id) {
                                strong aria-current="true" { "with " (words::name(&card.full())) }
                            } @else {
                                a href={ "/device/" (id) "/commission?t=" (card.id) } { "with " (words::name(&card.full())) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn one(site: &Site, sheet: &ListSheet, item: &Item, typed: &Typed) -> Markup {
    let list = sheet.list;
    let id = format!("item-{}", item.about.key().replace(':', "-"));
    html! {
        li.item id=(id) {
            h2 { (block::mark(item.standing)) " " (capital(item.about.label())) }
            p.how {
                strong.flag[matches!(item.standing, Standing::Failed | Standing::Lapsed)] { (capital(item.standing.label())) } ". "
                (block::told(&item.text))
                @if !item.note.is_empty() { " " (words::prose(&item.note)) }
                @if let Some(seen) = item.seen { " " (block::seen(site, seen)) }
            }
            @if !item.lapses.is_empty() {
                ul.lapsed {
                    @for lapse in &item.lapses {
                        li {
                            (block::told(&capital(&lapse.event.text)))
                            @if !lapse.event.note.is_empty() { " (" (words::prose(&lapse.event.note)) ")" }
                            @if lapse.event.entry.is_some() { " " (block::seen(site, lapse.event.seen)) }
                            br; small.source { (capital(lapse.why)) "." }
                        }
                    }
                }
            }
            @if !item.findings.is_empty() {
                details {
                    summary { (words::counted(item.findings.len() as u64, "thing", "things")) " found" }
                    ul.findings { @for one in &item.findings { (block::finding(one)) } }
                }
            }
            @if let Some(says) = doing(item) {
                p { strong { "Do: " } (block::told(says)) @if let Some(minutes) = item.minutes { " " span.small { (minutes) } } }
            }
            (ways(site, sheet, item, typed, list))
        }
    }
}

fn ways(site: &Site, sheet: &ListSheet, item: &Item, typed: &Typed, list: &Commission) -> Markup {
    let id = list.aircraft.id;
    match item.about {
        About::Link => html! {
            ul.ways {
                @match line::link(list) {
                    Some(href) => li { a href=(href) { "The link, rule by rule" } },
                    None => li { a href={ "/device/" (id) } { "Say which receiver is in it, and which transmitter flies it" } },
                }
            }
        },
        About::Part(part) => html! {
            ul.ways { li { a href={ "/device/" (id) "/" (part.word()) } {
                @if item.standing == Standing::Open { "Write the " (part.label()) " down" } @else { (capital(part.label())) ": the answer, the drawing, what is written" }
            } } }
        },
        About::Proof(proof) => {
            let steps = sheet.steps.iter().find(|(have, _)| *have == proof).map(|(_, steps)| steps);
            proof::steps(site, list, proof, steps.map_or(&[], Vec::as_slice), typed, false)
        }
    }
}

fn sign(site: &Site, list: &Commission, typed: &Typed) -> Markup {
    let form = Form::new(SIGN, typed);
    let of = |counts: fn(Standing) -> bool| {
        let those = list.items.iter().filter(move |item| counts(item.standing));
        those.map(|item| item.about.label()).collect::<Vec<_>>().join(", ")
    };
    let (checked, open) = (of(Standing::counts), of(|standing| !standing.counts()));
    let body = html! {
        @if let Some(card) = &list.transmitter { (hidden("t", &card.id.to_string())) }
        p { strong { "Checked: " } @if checked.is_empty() { "nothing" } @else { (checked) } "." }
        p { strong { "Not checked, lapsed, or did not hold: " } @if open.is_empty() { "nothing" } @else { (open) } "." }
        (form.text(Input::new("note", "Note").longest(1000)))
        p { button.plain type="submit" { "Sign that this is how it stands" } }
    };
    html! {
        section aria-labelledby="signing" {
            h2 id="signing" { "Signature" }
            @match &list.signature {
                Some(signature) => (signed(site, signature)),
                None => p { "Nobody has signed yet" @if let Some(card) = &list.transmitter { " with " (words::name(&card.label())) } "." },
            }
            details open[typed.sent(SIGN)] {
                summary { "Put your name under it" }
                p.small { "A signature says what was checked and what was not at this moment. It doesn't make anything checked." }
                (form.post(site, &format!("/device/{}/sign", list.aircraft.id), &body))
            }
        }
    }
}

fn signed(site: &Site, signature: &Signature) -> Markup {
    let labels = |keys: &[String]| {
        let one =
            |key: &String| About::from_key(key).map_or_else(|| key.clone(), |about| about.label().to_owned());
        keys.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    let since: Vec<&str> = signature.since.iter().map(|about| about.label()).collect();
    html! {
        p {
            "Signed " (block::seen(site, signature.seen)) ". Checked then: "
            @if signature.signed.checked.is_empty() { "nothing" } @else { (labels(&signature.signed.checked)) }
            "; not checked then: "
            @if signature.signed.unchecked.is_empty() { "nothing" } @else { (labels(&signature.signed.unchecked)) } "."
            @if !signature.signed.note.is_empty() { " " (words::prose(&signature.signed.note)) }
        }
        @if !since.is_empty() { p { strong.flag { "No longer so: " } (since.join(", ")) "." } }
        @else if signature.stands { p { "All of it still stands." } }
    }
}

fn papers(list: &Commission) -> Markup {
    let id = list.aircraft.id;
    let with = list.transmitter.as_ref().map(|card| format!("&t={}", card.id)).unwrap_or_default();
    html! {
        ul.ways {
            li { a href={ "/device/" (id) "/card?of=bench&size=a4" (with) } { "Bench card" } }
            li { a href={ "/device/" (id) "/card?of=field&size=a6" (with) } { "Field card" } }
            li { a href={ "/labels?d=" (id) } { "Label" } }
            @for part in Part::ALL { li { a href={ "/device/" (id) "/" (part.word()) } { (capital(part.label())) } } }
            li { a href="/commission" { "Every aircraft" } }
        }
    }
}
