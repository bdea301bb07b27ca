//! What is missing before a question can be answered, and where to write it down.

use maud::{Markup, html};

use crate::sheet::WayOn;
use crate::site::Site;
use crate::words;

/// A page in place of an answer: `says` tells what isn't known, `ways` lead to where it is
/// written down, the first of them as the page's main action.
pub fn page(site: &Site, title: &str, says: &str, ways: &[WayOn]) -> Markup {
    let body = html! {
        p.answer { (words::prose(says)) }
        @if let Some(first) = ways.first() {
            p.main-action { a.main href=(first.href) { (words::name(&first.label)) } }
        }
        @if ways.len() > 1 {
            ul.ways { @for way in &ways[1..] { li { a href=(way.href) { (words::name(&way.label)) } } } }
        }
    };
    site.page(title, &body)
}
