//! `GET /spares/{aircraft}`: which spare fits.

use maud::{Markup, html};
use register::spares::Spare;
use register::view::Card;

use crate::site::Site;

/// The shelf's receivers for an aircraft, the quickest first.
pub fn page(site: &Site, aircraft: &Card, spares: &[Spare]) -> Markup {
    site.page("Spares", &html! {})
}

