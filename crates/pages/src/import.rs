//! `/import`: a list from elsewhere, from upload to the differences.

use maud::{Markup, html};
use crate::form::Typed;
use crate::sheet::{ImportPreview, MappingSheet, Progress};
use crate::site::Site;

/// Choose a file. Posts `file` (multipart) to `/import` (form `import`).
pub fn upload(site: &Site, typed: &Typed) -> Markup {
    site.page("Import", &html! {})
}

/// What the columns mean. Posts `column.N` (a meaning's key) and the file's options to
/// `/import/{job}/mapping` (form `mapping`).
pub fn mapping(site: &Site, sheet: &MappingSheet, typed: &Typed) -> Markup {
    site.page("Columns", &html! {})
}

/// What would change, before anything does. Posts to `/import/{job}/apply` (form `apply`;
/// `good_only=1` is sent when there are bad rows and the good ones are taken).
pub fn preview(site: &Site, sheet: &ImportPreview) -> Markup {
    site.page("Differences", &html! {})
}

/// How far it is; the page asks for itself again every second.
pub fn progress(site: &Site, progress: &Progress) -> Markup {
    site.page("Reading", &html! {})
}

