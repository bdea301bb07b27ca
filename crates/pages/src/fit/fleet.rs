//! `GET /commission`: every aircraft with what is checked, and the first thing to do.

use fitting::commission::{Commission, Standing};
use maud::{Markup, html};

use super::{block, line};
use crate::form::{Form, Typed, hidden, send};
use crate::site::Site;
use crate::words;

/// What the page needs.
#[derive(Clone, Copy, Debug)]
pub struct FleetSheet<'a> {
    /// A list for each aircraft, in the order of the page.
    pub lists: &'a [Commission],
    /// How many aircraft there are.
    pub total: u64,
    /// The page, from 1.
    pub page: u64,
    /// How many a page holds.
    pub per_page: u64,
}

/// Every aircraft. Its form posts to `/commission/did` (form `did`: `work`).
pub fn page(site: &Site, sheet: &FleetSheet) -> Markup {
    let body = html! {
        p.answer { (answer(sheet)) }
        @if sheet.total == 0 {
            ul.ways {
                li { a href="/device/new?sort=aircraft" { "Add an aircraft" } }
                li { a href="/import" { "Import a list" } }
            }
        } @else {
            p.small { "Each box is an item, in the order of the work: link, outputs, control directions, supply, supply check, failsafe, failsafe proof, antennas, range check." }
            (key())
            table.stack.commissions data-filter {
                caption { "Aircraft, and what is checked on them" }
                thead { tr { th scope="col" { "Aircraft" } th scope="col" { "Items" } th scope="col" { "How it stands" } th scope="col" { "First thing to do" } } }
                tbody { @for list in sheet.lists { (line::row(list)) } }
            }
            (words::pager(sheet.page, sheet.per_page, sheet.total, |page| format!("/commission?page={page}")))
        }
        (day(site))
        ul.ways {
            li { a href="/commission/table" { "What makes a check lapse" } }
            li { a href="/labels" { "Labels for receivers, transmitters and aircraft" } }
        }
    };
    site.page("Commissioning", &body)
}

/// What the marks mean.
pub(super) fn key() -> Markup {
    html! {
        ul.key.small {
            @for standing in [Standing::Checked, Standing::Warned, Standing::Lapsed, Standing::Open, Standing::Failed] {
                li { (block::mark(standing)) " " (standing.label()) }
            }
        }
    }
}

fn answer(sheet: &FleetSheet) -> String {
    if sheet.total == 0 {
        return "There is no aircraft yet, so there is nothing to check.".to_owned();
    }
    let whole = sheet.lists.iter().filter(|list| list.next().is_none()).count() as u64;
    let shown = sheet.lists.len() as u64;
    let of = if shown == sheet.total { String::new() } else { " on this page".to_owned() };
    format!(
        "{} of {}{of} {} every item checked.",
        words::count(whole),
        words::counted(shown, "aircraft", "aircraft"),
        if whole == 1 { "has" } else { "have" }
    )
}

fn day(site: &Site) -> Markup {
    let none = Typed::none();
    html! {
        details {
            summary { "A new flying day" }
            p { "Some checks hold for one flying day. A new date begins one by itself; say so here when the day begins anew on the same date." }
            (Form::new("did", &none).post(site, "/commission/did", &html! {
                (hidden("work", "flying-day"))
                p { (send("A flying day begins")) }
            }))
        }
    }
}
