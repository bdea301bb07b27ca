//! `GET /cords?all=1`: transmitters and aircraft, and the cords between them.

use maud::{Markup, html};

use crate::draw;
use crate::sheet::Cord;
use crate::site::Site;
use crate::words;

/// The drawing of every cord (`all`: also of links that aren't meant to hold), with its
/// text below. More than 40 aircraft are listed, not drawn.
pub fn page(site: &Site, cords: &[Cord], all: bool) -> Markup {
    let crafts = draw::crafts(cords);
    let body = html! {
        p.answer {
            @if cords.is_empty() {
                "No cord is meant to hold yet."
            } @else if all {
                (words::counted(cords.len() as u64, "cord", "cords")) ", meant to hold or not."
            } @else {
                (words::counted(cords.len() as u64, "cord is", "cords are")) " meant to hold."
            }
        }
        @if cords.is_empty() {
            p { "A link is meant to hold when a model memory flies the aircraft that the receiver is in, or when the receiver is paired with the transmitter." }
            ul.ways {
                li { a href="/import" { "Import a list" } }
                li { a href="/device/new?sort=transmitter" { "Add a transmitter" } }
                @if !all { li { a href="/cords?all=1" { "Draw every possible link" } } }
            }
        } @else {
            @if crafts > draw::MOST_AIRCRAFT {
                p { "A drawing of " (words::counted(crafts as u64, "aircraft", "aircraft"))
                    " would be a tangle; here is the list, and " a href="/matrix" { "the matrix" } " shows more at a glance." }
            } @else {
                figure.drawing {
                    (draw::cords(cords))
                    figcaption { "A whole cord links, a dotted one is unknown, a cut one is blocked." }
                }
            }
            h2 { "The same in words" }
            (draw::cord_list(cords))
            p {
                @if all { a href="/cords" { "Only cords that are meant to hold" } }
                @else { a href="/cords?all=1" { "Every possible link" } }
            }
        }
    };
    site.page("Cords", &body)
}
