//! Error pages: what, where, what to do, and a way on.

use maud::{Markup, html};

use crate::sheet::WayOn;
use crate::site::Site;
use crate::words;

fn words_of(status: u16) -> (&'static str, &'static str) {
    match status {
        400 => (
            "That could not be understood",
            "Something in what was sent is missing or has the wrong form. Go back, look at what you typed, and send it again.",
        ),
        403 => (
            "Not from here",
            "The page you came from was too old, or the request came from another address. Open the page again and repeat what you did; nothing was written.",
        ),
        404 => (
            "There is no such page",
            "The address is misspelt, or what it names is no longer in this workshop.",
        ),
        405 => ("Not that way", "This address takes no such request. Go on from one of the pages."),
        413 => (
            "That is too large",
            "The file or the text is larger than this server takes. Split the file, or import it with the command line.",
        ),
        503 => (
            "Not just now",
            "The workshop is busy with something long. Nothing was written; try again in a moment.",
        ),
        _ => (
            "Something went wrong here",
            "Nothing that was acknowledged is lost. Try again; if it happens again, verify the workshop with the command line.",
        ),
    }
}

/// An error. `status` is 400, 403, 404, 413, 500 or another; `says` tells what happened and
/// what to do (words for the status stand in where it is empty). With no `ways` the page
/// leads to today's. A 403 shows nothing of the workshop.
pub fn page(site: &Site, status: u16, says: &str, ways: &[WayOn]) -> Markup {
    let (title, usual) = words_of(status);
    let body = html! {
        @let says = if says.trim().is_empty() { usual } else { says.trim() };
        p.answer { (words::prose(says)) @if says.ends_with(char::is_alphanumeric) { "." } }
        p.main-action {
            @match ways.first() {
                Some(way) => a.main href=(way.href) { (words::name(&way.label)) },
                None => a.main href="/" { "To today" },
            }
        }
        @if ways.len() > 1 {
            ul.ways { @for way in &ways[1..] { li { a href=(way.href) { (words::name(&way.label)) } } } }
        }
        @if status == 404 && ways.len() < 2 {
            ul.ways {
                li { a href="/transmitters" { "Transmitters" } }
                li { a href="/receivers" { "Receivers" } }
                li { a href="/aircraft" { "Aircraft" } }
            }
        }
        p.small { "Error " (status) }
    };
    if status == 403 { site.outside_page(title, &body) } else { site.page(title, &body) }
}
