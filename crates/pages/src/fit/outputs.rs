//! What is said of the outputs: the wiring as cords, then as a table.

use fitting::aircraft::Written;
use fitting::outputs::{Answer, Outputs, Sends, Wire};
use maud::{Markup, html};

use super::{block, wiring};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

pub(super) fn answer(site: &Site, one: &Written<Outputs, Answer>) -> Markup {
    match &one.read {
        Err(problems) => {
            html! { p.answer { "The outputs can't be read." } (block::problems(problems)) (block::written(site, one)) }
        }
        Ok((_, answer)) => html! {
            p.answer { (words::prose(&answer.sentence)) }
            (block::written(site, one))
            (drawings(&answer.wiring))
            (block::findings(&answer.findings))
            (block::sentences("not-checked", "What was not checked", &answer.not_checked))
        },
    }
}

fn drawings(wires: &[Wire]) -> Markup {
    let mut receivers: Vec<&str> = Vec::new();
    for wire in wires {
        if !receivers.contains(&wire.receiver.as_str()) {
            receivers.push(&wire.receiver);
        }
    }
    html! {
        @if !wires.is_empty() {
            div.beside {
            section aria-label="Wiring" {
                @for (at, receiver) in receivers.iter().enumerate() {
                    @let of: Vec<&Wire> = wires.iter().filter(|wire| wire.receiver == *receiver).collect();
                    (wiring::figure(&format!("wiring-{at}"), receiver, &of))
                }
            }
            div { (table(wires)) }
            }
        }
    }
}

/// What an output sends, in words.
pub(super) fn sends(wire: &Wire) -> String {
    match wire.sends {
        Sends::Pulses => format!("channel {}", wire.channel),
        Sends::Train => format!("all pulses in turn, from channel {}", wire.channel),
        Sends::Stream => {
            wire.stream.clone().map_or_else(|| "a serial stream".to_owned(), |name| format!("stream {name}"))
        }
        Sends::Nothing => "nothing".to_owned(),
    }
}

fn table(wires: &[Wire]) -> Markup {
    let several = wires.windows(2).any(|pair| pair[0].receiver != pair[1].receiver);
    html! {
        table.stack {
            caption { "Each output, its channel, and what hangs on it" }
            thead { tr {
                th scope="col" { "Output" } th scope="col" { "Sends" } th scope="col" { "That carries" }
                th scope="col" { "Pulse: low, middle, high" } th scope="col" { "Frames" } th scope="col" { "On it" }
            } }
            tbody {
                @for wire in wires {
                    tr {
                        th scope="row" { (wire.number) @if several && !wire.receiver.is_empty() { " of " (words::name(&wire.receiver)) } }
                        td data-label="Sends" { (capital(&sends(wire))) @if wire.direction == fitting::outputs::Direction::Reversed { ", reversed" } }
                        td data-label="That carries" {
                            @for (at, carried) in wire.carries.iter().enumerate() {
                                @if at > 0 { "; " }
                                @match &carried.function { Some(function) => (words::name(function)), None => em { "not named" } }
                                @if wire.carries.len() > 1 { " from " (words::name(&carried.transmitter)) }
                            }
                        }
                        td.number data-label="Pulse" {
                            @if wire.sends == Sends::Pulses {
                                (format!("{:.0}, {:.0}, {:.0} µs", wire.pulses[0].0, wire.pulses[1].0, wire.pulses[2].0))
                            }
                        }
                        td.number data-label="Frames" { @if matches!(wire.sends, Sends::Pulses | Sends::Train) { (format!("{:.0} Hz", wire.rate.0)) } }
                        td data-label="On it" {
                            @if wire.parts.is_empty() { "nothing" }
                            @for (at, part) in wire.parts.iter().enumerate() {
                                @if at > 0 { br; }
                                (words::name(&part.name)) ", " (part.sort.label())
                                @if let Some(surface) = &part.surface { ", moves the " (words::name(surface)) }
                            }
                            @if let Some(weight) = wire.weight { " " strong.flag { (weight.word()) } }
                        }
                    }
                }
            }
        }
    }
}
