//! `GET /export`: the workshop as files.

use maud::{Markup, html};
use crate::site::Site;

/// Three files to take along.
pub fn page(site: &Site) -> Markup {
    site.page("Export", &html! {})
}

