//! One aircraft in the fleet's list and in a device's page: its counts and the first thing to do.

use fitting::commission::{Commission, Standing};
use maud::{Markup, html};
use register::fit::Proof;

use super::block;
use crate::reading::capital;
use crate::words;

/// Where the first thing to do is done.
pub(super) fn address(list: &Commission) -> String {
    use fitting::commission::About;
    let id = list.aircraft.id;
    match list.next().map(|item| item.about) {
        Some(About::Part(part)) => format!("/device/{id}/{}", part.word()),
        Some(About::Proof(proof)) => format!("{}#{}", commission(list), super::proof::id(proof)),
        Some(About::Link) => link(list).unwrap_or_else(|| format!("/device/{id}")),
        None => commission(list),
    }
}

/// The page of the list, with the transmitter that it is for.
pub(super) fn commission(list: &Commission) -> String {
    match &list.transmitter {
        Some(card) => format!("/device/{}/commission?t={}", list.aircraft.id, card.id),
        None => format!("/device/{}/commission", list.aircraft.id),
    }
}

/// The page of the link, where both ends are known.
pub(super) fn link(list: &Commission) -> Option<String> {
    let (transmitter, receiver) = (list.transmitter.as_ref()?, list.receivers.first()?);
    Some(format!("/link/{}/{}", transmitter.id, receiver.id))
}

/// What to do first, in words.
pub(super) fn first(list: &Commission) -> String {
    use fitting::commission::About;
    match list.next() {
        None => "Look at it".to_owned(),
        Some(item) => match (item.about, item.standing) {
            (About::Link, Standing::Failed) => "See why it doesn't link".to_owned(),
            (About::Link, _) => "See what isn't known of the link".to_owned(),
            (About::Part(part), Standing::Open) => format!("Write the {} down", part.label()),
            (About::Part(part), _) => format!("See what is wrong with the {}", part.label()),
            (About::Proof(proof), Standing::Lapsed | Standing::Failed) => {
                format!("Do the {} again", name(proof))
            }
            (About::Proof(proof), _) => format!("Do the {}", name(proof)),
        },
    }
}

fn name(proof: Proof) -> &'static str {
    match proof {
        Proof::Directions => "check of control directions",
        Proof::Failsafe => "failsafe proof",
        Proof::Range => "range check",
        Proof::Supply => "supply check",
    }
}

/// The marks of all items in a row; what they stand for is said in words for those who don't see them.
pub(super) fn marks(list: &Commission) -> Markup {
    html! {
        span.marks {
            @for item in &list.items {
                span.one-mark title={ (capital(item.about.label())) ": " (item.standing.label()) } {
                    (block::mark(item.standing))
                    span.quiet { (item.about.label()) " " (item.standing.label()) "; " }
                }
            }
        }
    }
}

/// An aircraft's row.
pub(super) fn row(list: &Commission) -> Markup {
    html! {
        tr {
            th scope="row" { a href=(commission(list)) { (words::name(&list.aircraft.full())) }
                @if let Some(card) = &list.transmitter { br; small.source { "with " (words::name(&card.label())) } }
            }
            td { (marks(list)) }
            td { (words::prose(&list.sentence)) }
            td data-label="First" { a href=(address(list)) { (first(list)) span.quiet { ": " (words::name(&list.aircraft.label())) } } }
        }
    }
}
