//! `GET /export`: the workshop as files.

use maud::{Markup, html};

use crate::site::Site;

/// Three files to take along.
pub fn page(site: &Site) -> Markup {
    let body = html! {
        p.answer { "The workshop is yours: take it along as files." }
        dl.rules {
            dt { a href="/export/logbook.jsonl" download { "The logbook (JSON Lines)" } }
            dd { "Every entry with its chain, for a backup, another machine or a club mate. It merges." }
            dt { a href="/export/workshop.toml" download { "The workshop (TOML)" } }
            dd { "What holds today, to read and edit with any editor and to import again." }
            dt { a href="/export/list.csv" download { "The list (CSV)" } }
            dd { "One row a device, for a spreadsheet." }
        }
        p { "No file holds a link secret: only whether one is set, and fingerprints that mean nothing without the key, which stays on this machine." }
        p { a href="/import" { "Bring a file in" } }
    };
    site.page("Export", &body)
}
