//! `GET /sharing` for the host, `GET /code` for a phone.

use maud::{Markup, html};
use crate::form::Typed;
use crate::sheet::SharingSheet;
use crate::site::Site;

/// On, off, and a one-time code. Posts to `/sharing/on`, `/sharing/off`, `/sharing/code`
/// (forms `on`, `off`, `code`).
pub fn page(site: &Site, sheet: &SharingSheet) -> Markup {
    site.page("Sharing", &html! {})
}

/// What a phone sees first: nothing of the workshop, a field for the code. Posts `code` to
/// `/code` (form `code`).
pub fn code(site: &Site, typed: &Typed) -> Markup {
    site.page("Enter the code", &html! {})
}

