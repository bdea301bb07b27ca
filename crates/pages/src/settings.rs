//! `GET /settings`: the workshop's name, minutes and days.

use maud::{Markup, html};

use crate::form::{Form, Input, Typed, send_main};
use crate::sheet::SettingsSheet;
use crate::site::Site;
use crate::words;

/// Posts to `/settings` (form `settings`); inputs are called as the settings' keys, and an
/// empty one returns to the default.
pub fn page(site: &Site, sheet: &SettingsSheet, typed: &Typed) -> Markup {
    let form = Form::new("settings", typed);
    let body = html! {
        p.answer { "What holds for the whole workshop." }
        (form.post(site, "/settings", &html! {
            (form.text(Input::new("name", "The workshop's name").start(&sheet.name)))
            fieldset {
                legend { "When a fact is worth another look" }
                div.fields {
                    (form.number(Input::new("stale.settable_days", "Days, for what can be set").hint("Firmware, model IDs; empty for 180").start(&sheet.stale_settable_days)))
                    (form.number(Input::new("stale.wearing_days", "Days, for what wears").hint("Antennas, packs; empty for 365").start(&sheet.stale_wearing_days)))
                }
            }
            fieldset {
                legend { "Flying days, cards and labels" }
                div.fields {
                    (form.text(Input::new("commission.utc_offset_hours", "Hours before UTC").hint("When a new flying day begins; -5 is west of Greenwich; empty for UTC").start(&sheet.utc_offset_hours)))
                    (form.text(Input::new("share.address", "Address on cards and labels").hint("http://workshop.local:7717; empty for none. Everybody who sees a label can read it").longest(200).start(&sheet.printed_address)))
                }
            }
            fieldset {
                legend { "Minutes of checks and mends on this bench" }
                p.hint { "They decide what is proposed first. An empty field takes the shipped figure, or the family's." }
                div.fields {
                    @for line in &sheet.minutes {
                        @let name = format!("minutes.{}", line.key);
                        @let label = label(&line.key);
                        @let hint = format!("Shipped: {}", line.shipped);
                        @let own = line.own.map(|minutes| minutes.0.to_string()).unwrap_or_default();
                        (form.number(Input::new(&name, &label).hint(&hint).start(&own)))
                    }
                }
            }
            (send_main("Keep these"))
        }))
        @if site.is_host { p { a href="/sharing" { "Share the workshop with a phone in this room" } } }
    };
    site.page("Settings", &body)
}

/// `check.model_id` as people read it: `Check: model id`.
fn label(key: &str) -> String {
    let words = words::clip(key).replace('_', " ");
    match words.split_once('.') {
        Some((kind, what)) => format!("{}: {what}", crate::reading::capital(kind)),
        None => words,
    }
}
