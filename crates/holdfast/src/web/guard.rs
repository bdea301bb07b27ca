//! Who may ask: the host that is named, where a form comes from, and whether a phone has
//! given its code.

use std::net::IpAddr;
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, HeaderName, HeaderValue, ORIGIN, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::error::plain;
use super::state::App;

/// Through which door a request came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Door {
    /// From this machine.
    Loopback,
    /// From the room, by sharing.
    Shared,
}

/// Nothing is loaded or asked but from here, no script stands in a page, no other page frames
/// it.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
                      img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The cookie of a phone that gave its code.
pub const PHONE: &str = "holdfast_phone";

/// The host that a request names, without its port; `None` when there is none.
fn host(headers: &HeaderMap) -> Option<&str> {
    headers.get(HOST)?.to_str().ok()
}

fn split_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        // A bare IPv6 address has colons of its own and stands in brackets here.
        Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) && !name.is_empty() => name,
        _ => host,
    }
}

/// Whether a page may be asked for under this name: on loopback only names of this
/// machine, on the shared door only an address as figures. A foreign name that leads here
/// (DNS rebinding) is refused.
fn host_is_ours(host: &str, door: Door) -> bool {
    let name = split_port(host);
    let bare = name.trim_start_matches('[').trim_end_matches(']');
    match (door, bare.parse::<IpAddr>()) {
        (Door::Loopback, Ok(ip)) => ip.is_loopback(),
        (Door::Loopback, Err(_)) => name.eq_ignore_ascii_case("localhost"),
        (Door::Shared, parsed) => parsed.is_ok(),
    }
}

/// The value of a cookie.
pub fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all("cookie")
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(have, _)| *have == name)
        .map(|(_, value)| value)
}

/// Refuses what doesn't come from here, and adds the headers that every answer carries.
pub async fn guard(State((app, door)): State<(Arc<App>, Door)>, request: Request, next: Next) -> Response {
    let mut response = match refuse(&app, door, &request) {
        Some(refusal) => refusal,
        None => next.run(request).await,
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (X_FRAME_OPTIONS, "DENY"),
        // `same-origin` and not `no-referrer`: the latter makes browsers send the origin
        // of a form as `null`.
        (REFERRER_POLICY, "same-origin"),
        (CACHE_CONTROL, "no-store"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

fn refuse(app: &App, door: Door, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let Some(host) = host(headers).filter(|host| host_is_ours(host, door)) else {
        let says = "This page was asked for under a name that isn't this machine's. \
                    Open the address that Holdfast printed when it started.";
        return Some(plain(StatusCode::FORBIDDEN, says));
    };
    if let Some(origin) = headers.get(ORIGIN)
        && origin.to_str().ok() != Some(&format!("http://{host}"))
    {
        let says = "This was sent from another site and is refused. Go back to Holdfast's own page and send it there.";
        return Some(plain(StatusCode::FORBIDDEN, says));
    }
    let path = request.uri().path();
    if door == Door::Shared && path != "/code" && !path.starts_with("/static/") {
        let known = cookie(headers, PHONE).is_some_and(|phone| app.phone_is_known(phone));
        if !known {
            return Some(if request.method() == Method::GET {
                Redirect::to("/code").into_response()
            } else {
                plain(StatusCode::FORBIDDEN, "Enter the one-time code first: open /code.")
            });
        }
    }
    // Sharing is switched on the machine itself.
    if door == Door::Shared && path.starts_with("/sharing") {
        return Some(plain(
            StatusCode::FORBIDDEN,
            "Sharing is switched on the machine that serves the workshop.",
        ));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_this_machine_pass() {
        let cases = [
            ("127.0.0.1:7717", true, true),
            ("localhost:7717", true, false),
            ("[::1]:7717", true, true),
            ("192.0.2.7:7717", false, true),
            ("evil.example", false, false),
            ("127.0.0.1.evil.example:7717", false, false),
            ("", false, false),
        ];
        for (host, loopback, shared) in cases {
            assert_eq!(host_is_ours(host, Door::Loopback), loopback, "{host}");
            assert_eq!(host_is_ours(host, Door::Shared), shared, "{host}");
        }
    }

    #[test]
    fn a_cookie_is_found_among_others() {
        let mut headers = HeaderMap::new();
        headers.insert("cookie", HeaderValue::from_static("a=1; holdfast_phone=xyz; b=2"));
        assert_eq!(cookie(&headers, PHONE), Some("xyz"));
        assert_eq!(cookie(&headers, "c"), None);
    }
}
