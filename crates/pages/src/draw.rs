//! Small drawings: verdict marks and the cords.
//!
//! A cord is whole, dotted, or cut with frayed ends; the words always stand beside it.

use std::collections::BTreeMap;

use maud::{Markup, html};
use register::id::DeviceId;
use register::rule::Verdict;
use register::view::Card;

use crate::sheet::Cord;
use crate::words;

/// The mark of a verdict; the word stands beside it.
pub(crate) fn mark(verdict: Verdict) -> Markup {
    html! {
        svg.mark viewBox="0 0 60 16" width="60" height="16" aria-hidden="true" focusable="false" {
            @match verdict {
                Verdict::Links => {
                    path.cord d="M6 8 C 18 2 30 14 54 8" {}
                    circle.plug cx="5" cy="8" r="3.5" {}
                    circle.plug cx="55" cy="8" r="3.5" {}
                }
                Verdict::Unknown => {
                    path.cord.dotted d="M8 8 C 18 2 30 14 52 8" {}
                    circle.socket cx="5" cy="8" r="3.5" {}
                    circle.socket cx="55" cy="8" r="3.5" {}
                }
                Verdict::Blocked => {
                    path.cord.cut d="M6 8 C 12 5 16 8 21 8 M54 8 C 48 11 44 8 39 8" {}
                    path.fray d="M21 8 l5 -4 M21 8 l6 0 M21 8 l4 4 M39 8 l-5 -4 M39 8 l-6 1 M39 8 l-4 5" {}
                    circle.plug cx="5" cy="8" r="3.5" {}
                    circle.plug cx="55" cy="8" r="3.5" {}
                }
            }
        }
    }
}

/// No cord at all: an empty socket.
pub(crate) fn no_cord() -> Markup {
    html! {
        svg.mark viewBox="0 0 60 16" width="60" height="16" aria-hidden="true" focusable="false" {
            circle.socket cx="5" cy="8" r="3.5" {}
        }
    }
}

/// The most aircraft that are drawn.
pub(crate) const MOST_AIRCRAFT: usize = 40;

const WIDTH: i32 = 760;
const PORT: i32 = 34;
const GAP: i32 = 10;
const TRANSMITTER: i32 = 66;

/// The right-hand side of the drawing: an aircraft, or a receiver in none.
struct Craft<'a> {
    card: Option<&'a Card>,
    fallback: &'a Card,
    top: i32,
    ports: i32,
}

/// How many aircraft (or receivers in none) a drawing of these cords would show.
pub(crate) fn crafts(cords: &[Cord]) -> usize {
    let mut ids: Vec<DeviceId> = cords.iter().map(craft_id).collect();
    ids.sort_unstable();
    ids.dedup();
    ids.len()
}

fn craft_id(cord: &Cord) -> DeviceId {
    cord.aircraft.as_ref().map_or(cord.receiver.id, |card| card.id)
}

/// The cords between transmitters and aircraft. Wide; on a narrow screen the list below
/// it, with a mark on each line, takes its place.
pub(crate) fn cords(cords: &[Cord]) -> Markup {
    let mut order: Vec<DeviceId> = Vec::new();
    let mut crafts: BTreeMap<DeviceId, Craft> = BTreeMap::new();
    for cord in cords {
        let id = craft_id(cord);
        let craft = crafts.entry(id).or_insert_with(|| {
            order.push(id);
            Craft { card: cord.aircraft.as_ref(), fallback: &cord.receiver, top: 0, ports: 0 }
        });
        craft.ports += 1;
    }
    let mut y = GAP;
    for id in &order {
        if let Some(craft) = crafts.get_mut(id) {
            craft.top = y;
            y += craft.ports * PORT + GAP;
        }
    }
    // Each cord takes the next port of its aircraft.
    let mut next: BTreeMap<DeviceId, i32> = BTreeMap::new();
    let ends: Vec<i32> = cords
        .iter()
        .map(|cord| {
            let id = craft_id(cord);
            let port = next.entry(id).or_insert(0);
            let y = crafts.get(&id).map_or(0, |craft| craft.top) + *port * PORT + PORT / 2;
            *port += 1;
            y
        })
        .collect();
    // A transmitter stands at the middle of its cords, below the one before it.
    let mut senders: Vec<(&Card, i32)> = Vec::new();
    let mut least = 0;
    let mut ids: Vec<DeviceId> = Vec::new();
    for cord in cords {
        if ids.contains(&cord.transmitter.id) {
            continue;
        }
        ids.push(cord.transmitter.id);
        let own: Vec<i32> = cords
            .iter()
            .zip(&ends)
            .filter(|(other, _)| other.transmitter.id == cord.transmitter.id)
            .map(|(_, y)| *y)
            .collect();
        let middle = own.iter().sum::<i32>() / i32::try_from(own.len().max(1)).unwrap_or(1);
        let y = middle.max(least + TRANSMITTER / 2);
        least = y + TRANSMITTER / 2;
        senders.push((&cord.transmitter, y));
    }
    let height = y.max(least + GAP);
    html! {
        svg.cords role="img" viewBox={ "0 0 " (WIDTH) " " (height) }
            aria-label="Cords between transmitters on the left and aircraft on the right; the list below says the same." {
            @for (cord, end) in cords.iter().zip(&ends) {
                @let start = senders.iter().find(|(card, _)| card.id == cord.transmitter.id).map_or(0, |(_, y)| *y);
                (one(cord, start, *end))
            }
            @for (card, y) in &senders { (handset(card, *y)) }
            @for craft in order.iter().filter_map(|id| crafts.get(id)) { (aircraft(craft)) }
        }
    }
}

fn one(cord: &Cord, from: i32, to: i32) -> Markup {
    let place = cord
        .aircraft
        .as_ref()
        .map_or_else(String::new, |card| format!(" in {}", words::clip(&card.spoken())));
    let says = format!(
        "{} with {}{place}: {}. {}",
        words::clip(&cord.transmitter.label()),
        words::clip(&cord.receiver.label()),
        cord.verdict.word(),
        words::clip_to(&cord.text, 200),
    );
    let curve = format!("M204 {from} C 280 {from} 290 {to} 360 {to}");
    html! {
        g {
            title { (says.trim_end()) }
            @match cord.verdict {
                Verdict::Links => {
                    path.cord d={ (curve) " H 512" } {}
                    circle.plug cx="514" cy=(to) r="4" {}
                }
                Verdict::Unknown => {
                    path.cord.dotted d={ (curve) " H 508" } {}
                    circle.socket cx="514" cy=(to) r="4" {}
                }
                Verdict::Blocked => {
                    path.cord.cut d={ (curve) " H 436 M 514 " (to) " H 472" } {}
                    path.fray d={
                        "M436 " (to) " l9 -7 M436 " (to) " l11 1 M436 " (to) " l8 7 "
                        "M472 " (to) " l-9 -6 M472 " (to) " l-11 -1 M472 " (to) " l-8 8"
                    } {}
                    circle.plug cx="514" cy=(to) r="4" {}
                }
            }
            text.label x="364" y=(to - 9) {
                (words::clip_to(&cord.receiver.label(), 14)) " · " (cord.verdict.word())
            }
        }
    }
}

/// A handset: a case with two sticks and an antenna.
fn handset(card: &Card, y: i32) -> Markup {
    html! {
        g {
            title { (words::clip(&card.full())) }
            path.line d={ "M170 " (y - 12) " l10 -14" } {}
            rect.line x="148" y=(y - 12) width="56" height="28" rx="9" {}
            circle.line cx="164" cy=(y + 2) r="6" {}
            circle.line cx="188" cy=(y + 2) r="6" {}
            path.line d={ "M164 " (y + 2) " l3 -5 M188 " (y + 2) " l-2 -5" } {}
            @let (label, spoken) = (card.label(), card.spoken());
            @if label == spoken {
                text.name x="140" y=(y + 6) text-anchor="end" { (words::clip_to(&label, 18)) }
            } @else {
                text.name x="140" y=(y - 1) text-anchor="end" { (words::clip_to(&label, 18)) }
                text.label x="140" y=(y + 15) text-anchor="end" { (words::clip_to(&spoken, 22)) }
            }
        }
    }
}

/// An aircraft seen from above, its nose to the cord; a receiver in none is a small box.
fn aircraft(craft: &Craft) -> Markup {
    let y = craft.top + craft.ports * PORT / 2;
    let card = craft.card.unwrap_or(craft.fallback);
    html! {
        g {
            title { (words::clip(&card.full())) @if craft.card.is_none() { ", in no aircraft" } }
            @if craft.ports > 1 {
                path.line d={ "M520 " (craft.top + 6) " h6 V" (craft.top + craft.ports * PORT - 6) " h-6" } {}
            }
            @if craft.card.is_some() {
                path.line d={
                    "M530 " (y) " q2 -3 8 -3 h28 q4 0 4 3 q0 3 -4 3 h-28 q-6 0 -8 -3 "
                    "M540 " (y - 3) " l3 -15 h6 l-1 15 M540 " (y + 3) " l3 15 h6 l-1 -15 "
                    "M562 " (y - 3) " l2 -6 h4 v6 M562 " (y + 3) " l2 6 h4 v-6"
                } {}
            } @else {
                rect.line x="534" y=(y - 8) width="26" height="16" rx="2" {}
            }
            text.name x="578" y=(y + 5) { (words::clip_to(&card.spoken(), 24)) }
            @if craft.card.is_none() { text.label x="578" y=(y + 20) { "in no aircraft" } }
        }
    }
}

/// The same as [`cords`] in words, a line for each cord.
pub(crate) fn cord_list(cords: &[Cord]) -> Markup {
    html! {
        ol.cord-list {
            @for cord in cords {
                li {
                    span.from { (words::device(&cord.transmitter)) }
                    (mark(cord.verdict))
                    span.to {
                        @if let Some(aircraft) = &cord.aircraft {
                            (words::device_full(aircraft)) " (" (words::device(&cord.receiver)) ")"
                        } @else {
                            (words::device_full(&cord.receiver)) " in no aircraft"
                        }
                    }
                    span.why.only[cord.text.is_empty()] {
                        a href={ "/link/" (cord.transmitter.id) "/" (cord.receiver.id) } { strong { (cord.verdict.word()) } }
                        @if !cord.text.is_empty() { ": " (words::prose(&cord.text)) }
                    }
                }
            }
        }
    }
}
