//! `GET /family/new?from=`: a link family made on a form.

use maud::{Markup, html};
use register::family::Family;
use register::family::read::Problem;

use crate::form::Typed;
use crate::site::Site;

/// A form with every key of a family file, and a box to paste a whole file into.
///
/// `starters` are the file names of the starters, offered as `?from=`. Fields are called as
/// [`Problem::key`] calls keys (`family.name`, `band[1].low_mhz`); see [`to_toml`].
/// Posts to `/family/new` (form `family`; `more=1` asks for more blank rows and writes
/// nothing) and to `/family/paste` (form `paste`: `text`).
pub fn page(site: &Site, starters: &[&str], typed: &Typed) -> Markup {
    site.page("New link family", &html! {})
}

/// A family as the fields of the form, so that a starter or an earlier file fills it in.
pub fn from_family(family: &Family) -> Vec<(String, String)> {
    let _ = family;
    Vec::new()
}

/// The fields of the form as the text of a family file, to be read by
/// [`register::family::read::read`]. Rows that are wholly blank are left out, so its
/// problems may count rows otherwise than the form; [`to_errors`] puts that right.
pub fn to_toml(fields: &[(String, String)]) -> String {
    let _ = fields;
    String::new()
}

/// Problems of the file that [`to_toml`] made, by the names of the form's fields.
pub fn to_errors(fields: &[(String, String)], problems: &[Problem]) -> Vec<(String, String)> {
    let _ = (fields, problems);
    Vec::new()
}
