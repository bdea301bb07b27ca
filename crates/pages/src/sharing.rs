//! `GET /sharing` for the host, `GET /code` for a phone.

use maud::{Markup, html};

use crate::form::{Form, Input, Typed, send, send_main};
use crate::sheet::SharingSheet;
use crate::site::Site;
use crate::words;

/// On, off, and a one-time code. Posts to `/sharing/on`, `/sharing/off`, `/sharing/code`
/// (forms `on`, `off`, `code`).
pub fn page(site: &Site, sheet: &SharingSheet) -> Markup {
    let none = Typed::none();
    let on = Form::new("on", &none);
    let off = Form::new("off", &none);
    let code = Form::new("code", &none);
    let body = html! {
        p.answer {
            @if sheet.on { "Phones in this room can reach the workshop, each with a code of its own." }
            @else { "Only this machine sees the workshop." }
        }
        @if sheet.on {
            @if let Some((code, until)) = &sheet.code {
                section.next aria-labelledby="code" {
                    h2 id="code" { "The code" }
                    p.code { output { (code) } }
                    p { "For one phone, once, until " (words::minute(*until)) " UTC." }
                }
            }
            @if !sheet.addresses.is_empty() {
                h2 { "On the phone" }
                p { "Join the same network, open this address, and type the code:" }
                ul { @for address in &sheet.addresses { li { code { (address) } } } }
            }
            (code.post(site, "/sharing/code", &send_main(if sheet.code.is_some() { "Make another code" } else { "Make a code" })))
            h2 { "Phones" }
            @if sheet.phones.is_empty() { p { "None has given a code yet." } }
            @else {
                ul { @for phone in &sheet.phones { li { (words::name(&phone.name)) ", since " (words::minute(phone.since)) } } }
            }
            (off.post(site, "/sharing/off", &html! {
                p { "Switching sharing off shuts every phone out." }
                p { (send("Switch sharing off")) }
            }))
            p.small { "What goes over the network is not encrypted: share on a network you trust." }
        } @else {
            p { "To use the workshop from a phone beside the bench, switch sharing on. Each phone is then asked for a one-time code, and every page says that the workshop is shared." }
            p.small { "What goes over the network is not encrypted: share on a network you trust." }
            (on.post(site, "/sharing/on", &send_main("Switch sharing on")))
        }
    };
    site.page("Sharing", &body)
}

/// What a phone sees first: nothing of the workshop, a field for the code. Posts `code` to
/// `/code` (form `code`).
pub fn code(site: &Site, typed: &Typed) -> Markup {
    let form = Form::new("code", typed);
    let body = html! {
        p.answer { "This workshop asks each phone for a code, once." }
        p { "It is made on the machine that serves the workshop, on the page Sharing." }
        (form.post(site, "/code", &html! {
            (form.number(Input::new("code", "The code").required()))
            (send_main("Come in"))
        }))
    };
    site.outside_page("Enter the code", &body)
}
