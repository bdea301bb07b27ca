//! Each aircraft as a line that breaks where it is grounded.

use maud::{Markup, html};
use refits::layout::Night;
use refits::planner::{CraftLine, Plan};

use crate::words;

/// How an aircraft stands in one column, and stood in the one before.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shape {
    /// It can fly, and could.
    On,
    /// It can fly again.
    Begins,
    /// It can't fly any more.
    Breaks,
    /// It can't, and couldn't.
    Off,
}

fn shape(flies: bool, before: bool) -> Shape {
    match (flies, before) {
        (true, true) => Shape::On,
        (true, false) => Shape::Begins,
        (false, true) => Shape::Breaks,
        (false, false) => Shape::Off,
    }
}

/// The line of one column. It is drawn far too long and cut where the column ends.
fn drawn(shape: Shape) -> Markup {
    html! {
        svg.flight viewBox="0 0 2000 16" preserveAspectRatio="xMinYMid slice" aria-hidden="true" focusable="false" {
            @match shape {
                Shape::On => path.cord d="M0 8 H2000" {},
                Shape::Begins => { circle.plug cx="7" cy="8" r="4" {} path.cord d="M7 8 H2000" {} },
                Shape::Breaks => { path.cord.cut d="M0 8 H12" {} path.fray d="M12 8 l7 -6 M12 8 l9 0 M12 8 l7 6" {} },
                Shape::Off => {},
            }
        }
    }
}

/// The word for a column.
fn word(craft: &CraftLine, flies: bool) -> &'static str {
    match (flies, craft.craft.flew) {
        (true, _) => "can fly",
        (false, true) => "grounded",
        (false, false) => "can't fly",
    }
}

/// How much of an evening is filled.
pub(super) fn filled(night: &Night) -> Markup {
    html! {
        (words::minutes(night.minutes))
        @if let Some(available) = night.available { " " span.whole { "of " (words::minutes(available)) } }
    }
}

/// The evenings as columns, each aircraft a line.
pub(super) fn table(plan: &Plan) -> Markup {
    let nights: Vec<&Night> = plan.nights.iter().filter(|night| !night.lines.is_empty()).collect();
    if nights.is_empty() || plan.crafts.is_empty() {
        return html! {};
    }
    let at = |at: usize| nights.iter().map(move |night| night.flies.get(at).copied().unwrap_or(false));
    let (never, lines): (Vec<(usize, &CraftLine)>, Vec<_>) = plan
        .crafts
        .iter()
        .enumerate()
        .partition(|(place, craft)| !craft.before && !craft.craft.flew && !at(*place).any(|flies| flies));
    if lines.is_empty() {
        return html! { (never_flying(&never)) };
    }
    html! {
        (to_evenings(&nights))
        div.scroll.flying tabindex="0" role="region" aria-label="When each aircraft can fly" {
            div.flying-wide {
                p.further aria-hidden="true" { span { "Later evenings are further right." } }
                table.flights {
                    caption { "When each aircraft can fly" }
                    thead {
                        tr {
                            th scope="col" { "Aircraft" }
                            th scope="col" { "Now" }
                            @for night in &nights {
                                th scope="col" { span.whole { "After evening " (night.number) } br; (filled(night)) }
                            }
                        }
                    }
                    tbody {
                        @for (at, craft) in lines { (row(craft, at, &nights)) }
                    }
                }
            }
        }
        p.small {
            "A line that goes on: it can fly. Frayed: grounded from that evening on. A plug: it can fly again."
            @if plan.untouched > 0 {
                " " (words::counted(plan.untouched as u64, "other aircraft isn't", "other aircraft aren't")) " touched."
            }
        }
        (never_flying(&never))
    }
}

/// Where the steps of each evening stand, further down the page.
fn to_evenings(nights: &[&Night]) -> Markup {
    html! {
        @if nights.len() > 1 {
            nav.to-evenings aria-label="Evenings" {
                ul { @for night in nights { li { a href={ "#evening-" (night.number) } { "Evening " (night.number) } } } }
            }
        }
    }
}

/// Those that can't fly before, meanwhile or after; the plan doesn't change that.
fn never_flying(list: &[(usize, &CraftLine)]) -> Markup {
    html! {
        @if !list.is_empty() {
            p.small {
                "Can't fly now, and can't when it is done: "
                @for (place, (_, craft)) in list.iter().enumerate() {
                    @if place > 0 { ", " }
                    (words::device(&craft.craft.card))
                }
                "."
            }
        }
    }
}

fn row(craft: &CraftLine, at: usize, nights: &[&Night]) -> Markup {
    let flies: Vec<bool> = nights.iter().map(|night| night.flies.get(at).copied().unwrap_or(false)).collect();
    let before = std::iter::once(craft.before).chain(flies.iter().copied());
    html! {
        tr {
            th scope="row" { (words::device(&craft.craft.card)) @if craft.craft.card.name.is_some() && craft.craft.card.code.is_some() { br; small { (words::name(&craft.craft.card.spoken())) } } }
            td.leg.grounded[!craft.before && craft.craft.flew] { (drawn(shape(craft.before, craft.before))) span.small { (word(craft, craft.before)) } }
            @for (flies, before) in flies.iter().zip(before) {
                td.leg.grounded[!*flies && craft.craft.flew] { (drawn(shape(*flies, before))) span.small { (word(craft, *flies)) } }
            }
        }
    }
}
