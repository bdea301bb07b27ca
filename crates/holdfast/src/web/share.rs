//! Sharing to a phone in the same room: a second door, behind a one-time code.

use std::collections::HashMap;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::sync::Arc;

use anyhow::Context as _;
use axum::extract::Path;
use axum::http::header::{HeaderMap, SET_COOKIE, USER_AGENT};
use axum::response::{IntoResponse as _, Redirect, Response};
use pages::form::Typed;
use pages::sheet::{Phone, SharingSheet};
use pages::site::Mood;
use register::time::Moment;
use tokio::sync::oneshot;

use super::error::WebError;
use super::guard::{Door, PHONE};
use super::state::{App, Asked, Form, html, html_wrong, lock, random_word};
use crate::workshop::now;

/// How long a one-time code holds, milliseconds.
const CODE_MS: i64 = 10 * 60 * 1000;
/// After so many wrong codes every code is void: 8 digits can't be guessed in five tries.
const WRONG_CODES: u32 = 5;
/// The port of the shared door where none was named; any free one when it is taken.
const SHARE_PORT: u16 = 7718;

/// The state of sharing.
#[derive(Default)]
pub struct Sharing {
    open: Option<(SocketAddr, oneshot::Sender<()>)>,
    code: Option<(String, Moment)>,
    wrong: u32,
    phones: HashMap<String, Phone>,
}

impl Sharing {
    /// Whether the second door is open.
    pub fn is_on(&self) -> bool {
        self.open.is_some()
    }

    /// Where phones find the workshop; none while sharing is off.
    pub fn addresses(&self) -> Vec<String> {
        let Some((at, _)) = &self.open else { return Vec::new() };
        if !at.ip().is_unspecified() {
            return vec![format!("http://{at}/")];
        }
        // The address by which others reach this machine; nothing is sent to find it.
        let own = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))
            .and_then(|socket| socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).and(socket.local_addr()))
            .map_or(IpAddr::V4(Ipv4Addr::LOCALHOST), |address| address.ip());
        vec![format!("http://{}/", SocketAddr::new(own, at.port()))]
    }

    fn make_code(&mut self) -> String {
        let mut bytes = [0u8; 8];
        getrandom::fill(&mut bytes).expect("the system gives random bytes");
        let code = format!("{:08}", u64::from_le_bytes(bytes) % 100_000_000);
        self.code = Some((code.clone(), Moment(now().0 + CODE_MS)));
        self.wrong = 0;
        code
    }

    /// Takes a code: each opens the door once.
    fn take(&mut self, given: &str, name: String) -> Result<String, &'static str> {
        let digits: String = given.chars().filter(char::is_ascii_digit).collect();
        let Some((code, until)) = &self.code else {
            return Err("There is no code waiting. Make a new one on the machine that shares the workshop.");
        };
        if *until < now() {
            self.code = None;
            return Err("This code is too old. Make a new one on the machine that shares the workshop.");
        }
        if !same(code.as_bytes(), digits.as_bytes()) {
            self.wrong += 1;
            if self.wrong >= WRONG_CODES {
                self.code = None;
                return Err("Too many wrong codes. Make a new one on the machine that shares the workshop.");
            }
            return Err("That is not the code. Look again on the machine that shares the workshop.");
        }
        self.code = None;
        let phone = random_word();
        self.phones.insert(phone.clone(), Phone { name, since: now() });
        Ok(phone)
    }
}

/// Compares without telling by the time taken where the first difference is.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |differs, (a, b)| differs | (a ^ b)) == 0
}

impl App {
    /// Whether a phone has given a code since sharing was switched on.
    pub fn phone_is_known(&self, phone: &str) -> bool {
        let sharing = lock(&self.sharing);
        sharing.is_on() && sharing.phones.contains_key(phone)
    }

    /// Where phones find the workshop, and a new one-time code.
    pub fn share_code(&self) -> (Vec<String>, String) {
        let mut sharing = lock(&self.sharing);
        let code = sharing.make_code();
        (sharing.addresses(), code)
    }
}

/// Opens the second door.
///
/// # Errors
/// The address can't be had.
pub async fn open(app: &Arc<App>, at: SocketAddr) -> anyhow::Result<()> {
    if lock(&app.sharing).is_on() {
        return Ok(());
    }
    let listener = match tokio::net::TcpListener::bind(at).await {
        Ok(listener) => listener,
        Err(_) if at.port() == SHARE_PORT => tokio::net::TcpListener::bind(SocketAddr::new(at.ip(), 0))
            .await
            .context("no port can be had for sharing")?,
        Err(error) => {
            return Err(error).with_context(|| format!("sharing can't listen on {at}; name another address"));
        }
    };
    let (close, closed) = oneshot::channel::<()>();
    {
        let mut sharing = lock(&app.sharing);
        sharing.open = Some((listener.local_addr()?, close));
        sharing.phones.clear();
    }
    let router = super::app(app.clone(), Door::Shared);
    tokio::spawn(async move {
        let until = async {
            // Also when the sender is dropped.
            let _ = closed.await;
        };
        // The door closes at once: nobody waits for a phone that keeps its line open.
        tokio::select! {
            served = axum::serve(listener, router) => drop(served),
            () = until => {}
        }
    });
    Ok(())
}

/// `/sharing`.
pub async fn page(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            let site = asked.site(Some(workshop.name()));
            let sharing = lock(&asked.app.sharing);
            let sheet = SharingSheet {
                on: sharing.is_on(),
                addresses: sharing.addresses(),
                code: sharing.code.clone().filter(|(_, until)| *until >= now()),
                phones: sharing.phones.values().cloned().collect(),
            };
            drop(sharing);
            Ok(html(pages::sharing::page(&site, &sheet)))
        })
        .await
}

/// `/sharing/on`, `/sharing/off`, `/sharing/code`.
pub async fn act(asked: Asked, Path(action): Path<String>, form: Form) -> Response {
    if let Err(error) = asked.check_token(&form) {
        return super::error::page(&asked, &error);
    }
    match action.as_str() {
        "on" => {
            let at = SocketAddr::new(IpAddr::V4(Ipv4Addr::UNSPECIFIED), SHARE_PORT);
            match open(&asked.app, at).await {
                Ok(()) => {
                    asked.app.share_code();
                    asked.done("/sharing", "Sharing is on.")
                }
                Err(error) => asked.says("/sharing", Mood::Bad, &format!("{error:#}.")),
            }
        }
        "off" => {
            *lock(&asked.app.sharing) = Sharing::default();
            asked.done("/sharing", "Sharing is off; phones that had given a code must give a new one.")
        }
        "code" if lock(&asked.app.sharing).is_on() => {
            asked.app.share_code();
            asked.done("/sharing", "A new code; the one before no longer holds.")
        }
        "code" => asked.says("/sharing", Mood::Bad, "Switch sharing on first."),
        _ => super::error::page(&asked, &WebError::Missing("There is no page at this address.".to_owned())),
    }
}

/// `/code`: what a phone sees first.
pub async fn ask(asked: Asked) -> Response {
    html(pages::sharing::code(&outside(&asked), &Typed::none()))
}

/// A page for somebody outside: nothing of the workshop, no token of its forms.
fn outside(asked: &Asked) -> pages::site::Site {
    let mut site = asked.site(None);
    site.form_token.clear();
    site
}

/// `POST /code`.
pub async fn enter(asked: Asked, headers: HeaderMap, form: Form) -> Response {
    let name = headers.get(USER_AGENT).and_then(|name| name.to_str().ok()).unwrap_or("a phone");
    let name: String = name.chars().take(120).collect();
    let taken = lock(&asked.app.sharing).take(form.get("code").unwrap_or_default(), name);
    match taken {
        Ok(phone) => {
            let cookie = format!("{PHONE}={phone}; HttpOnly; SameSite=Strict; Path=/");
            ([(SET_COOKIE, cookie)], Redirect::to("/")).into_response()
        }
        Err(says) => {
            let typed = form.typed("code", vec![("code".to_owned(), says.to_owned())]);
            html_wrong(pages::sharing::code(&outside(&asked), &typed))
        }
    }
}
