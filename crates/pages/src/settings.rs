//! `GET /settings`: the workshop's name, minutes and days.

use maud::{Markup, html};
use crate::form::Typed;
use crate::sheet::SettingsSheet;
use crate::site::Site;

/// Posts to `/settings` (form `settings`); inputs are called as the settings' keys, and an
/// empty one returns to the default.
pub fn page(site: &Site, sheet: &SettingsSheet, typed: &Typed) -> Markup {
    site.page("Settings", &html! {})
}

