//! `GET /transmitters`, `/receivers`, `/aircraft`: lists of devices.

use maud::{Markup, html};
use register::field::Sort;
use register::view::State;

use crate::sheet::{DeviceLine, DevicesSheet};
use crate::site::Site;
use crate::words;

fn names(sort: Sort) -> (&'static str, &'static str, &'static str, &'static str) {
    match sort {
        Sort::Transmitter => ("Transmitters", "/transmitters", "transmitter", "transmitters"),
        Sort::Receiver => ("Receivers", "/receivers", "receiver", "receivers"),
        Sort::Aircraft => ("Aircraft", "/aircraft", "aircraft", "aircraft"),
    }
}

fn about(sort: Sort) -> &'static str {
    match sort {
        Sort::Transmitter => "Speaks",
        Sort::Receiver => "Speaks, and where it is",
        Sort::Aircraft => "Sort and receivers",
    }
}

fn wanted(line: &DeviceLine) -> Markup {
    let [links, unknown, blocked] = line.wanted;
    html! {
        @if links + unknown + blocked == 0 {
            "none meant to hold"
        } @else {
            (words::counted(links, "holds", "hold"))
            @if unknown > 0 { ", " (words::count(unknown)) " unknown" }
            @if blocked > 0 { ", " strong { (words::count(blocked)) " blocked" } }
        }
    }
}

/// A list of devices with a way to add one.
pub fn page(site: &Site, sheet: &DevicesSheet) -> Markup {
    let (title, path, one, many) = names(sheet.sort);
    let add = format!("/device/new?sort={}", sheet.sort.word());
    let body = html! {
        p.answer {
            @if sheet.total == 0 { "No " (one) " is written down yet." }
            @else { (words::counted(sheet.total, one, many)) "." }
        }
        @if sheet.total == 0 {
            p { "Import a list or add the first one." }
            ul.ways { li { a href="/import" { "Import a list" } } }
        } @else {
            table.stack data-filter {
                caption { (title) " in the order of their codes" }
                thead { tr {
                    th scope="col" { "Code and name" } th scope="col" { (about(sheet.sort)) }
                    th scope="col" { "State" } th scope="col" { "Links" } th scope="col" { "Last seen" }
                } }
                tbody {
                    @for line in &sheet.lines {
                        tr {
                            th scope="row" { (words::device_full(&line.card)) }
                            td data-label=(about(sheet.sort)) { (words::prose(&line.about)) }
                            td data-label="State" { @if line.card.state != State::InUse || sheet.sort == Sort::Receiver { (line.card.state.word()) } }
                            td data-label="Links" { (wanted(line)) }
                            td data-label="Last seen" {
                                @if line.card.last_seen.0 == i64::MIN { "never" }
                                @else { time datetime=(line.card.last_seen) { (words::ago(site.now.days_since(line.card.last_seen))) } }
                            }
                        }
                    }
                }
            }
            (words::pager(sheet.page, sheet.per_page, sheet.total, |page| format!("{path}?page={page}")))
        }
        p.main-action { a.main href=(add) { "Add a " (sheet.sort.word().replace("aircraft", "new aircraft")) } }
        @if !sheet.gone.is_empty() {
            details {
                summary { "No longer here, or only spoken of" }
                ul { @for card in &sheet.gone { li { (words::device_full(card)) ", " (card.state.word()) } } }
            }
        }
    };
    site.page(title, &body)
}
