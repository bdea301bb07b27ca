//! A family's firmware releases, and what must be reached to write them.

use maud::{Markup, html};
use register::family::{Family, Release, Side};

use crate::words;

/// What the words of its needs are.
pub(super) fn reaches(family: &Family) -> Markup {
    html! {
        @if !family.reaches.is_empty() {
            table.facts {
                caption { "What must be reached" }
                thead { tr { th scope="col" { "What" } th scope="col" { "What it takes" } } }
                tbody {
                    @for reach in &family.reaches {
                        tr {
                            th scope="row" { (words::name(&reach.name)) }
                            td { (reach.sort.label()) @if let Some(minutes) = reach.minutes { ", " (words::minutes(minutes)) } }
                        }
                    }
                }
            }
        }
    }
}

/// Its firmware releases.
pub(super) fn releases(family: &Family) -> Markup {
    html! {
        @if !family.releases.is_empty() {
            table.stack {
                caption { "Firmware releases" }
                thead { tr {
                    th scope="col" { "Version" } th scope="col" { "For" } th scope="col" { "Types of device" }
                    th scope="col" { "Written over" } th scope="col" { "Wipes" } th scope="col" { "Way back" }
                    th scope="col" { "Changes" }
                } }
                tbody { @for release in &family.releases { (release_row(release)) } }
            }
        }
    }
}

fn release_row(release: &Release) -> Markup {
    let wiped: Vec<&str> = release.wipes.iter().map(|field| field.label()).collect();
    html! {
        tr {
            th scope="row" { (words::name(&release.version)) }
            td data-label="For" { (release.side.map_or("both sides", Side::word)) }
            td data-label="Types of device" {
                @if release.hardware.is_empty() { "every type" }
                @else { ul { @for kind in &release.hardware { li { (words::name(kind)) } } } }
            }
            td data-label="Written over" {
                @match &release.from { Some(from) => { (from) " or newer" } None => "every version" }
                @if !release.routes.is_empty() { ", by " (words::prose(&release.routes.join(", "))) }
            }
            td data-label="Wipes" { @if wiped.is_empty() { "nothing more" } @else { (wiped.join(", ")) } }
            td data-label="Way back" {
                @if release.no_way_back.is_empty() { "yes" } @else { "none: " (words::prose(&release.no_way_back)) }
            }
            td data-label="Changes" {
                @if release.changes.is_empty() { "not said" }
                @else { ul { @for change in &release.changes { li { (words::prose(change)) } } } }
            }
        }
    }
}
