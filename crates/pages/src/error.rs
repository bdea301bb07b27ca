//! Error pages: what, where, what to do, and a way on.

use maud::{Markup, html};
use crate::sheet::WayOn;
use crate::site::Site;

/// An error. `status` is 400, 403, 404, 413, 500 or another; `says` tells what happened and
/// what to do (a page for the status stands in where it is empty).
/// With no `ways` the page leads to today's.
pub fn page(site: &Site, status: u16, says: &str, ways: &[WayOn]) -> Markup {
    site.page("Error", &html! {})
}

