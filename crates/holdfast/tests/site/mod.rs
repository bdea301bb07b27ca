//! A workshop behind the web door, asked without a socket, and what its pages say.
#![allow(dead_code, reason = "each test binary uses a part of it")]

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::http::response::Parts;
use axum::http::{Request, StatusCode};
use holdfast::demo;
use holdfast::web::{App, Door, app};
use holdfast::workshop::{Workshop, now};
use register::fleet::find;
use register::scene::Scene;
use store::Store;
use tower::ServiceExt as _;

pub const HOST: &str = "127.0.0.1:7717";

/// What a page must never hold as it was typed.
pub const HOSTILE: [&str; 3] =
    ["<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "\u{202e}nwot"];

pub struct Site {
    pub state: Arc<App>,
    _keys: tempfile::TempDir,
}

/// A form of a page: where it goes, and what it holds that nobody types.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub action: String,
    pub hidden: Vec<(String, String)>,
    /// The buttons: name, value, words.
    pub buttons: Vec<(String, String, String)>,
}

/// Entities undone.
fn plain(text: &str) -> String {
    text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
}

/// What a person reads: the text without tags, entities undone.
pub fn words(page: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    plain(&out)
}

pub fn attribute(tag: &str, name: &str) -> String {
    let tag = format!(" {tag}");
    let text = tag.split(&format!(" {name}=\"")).nth(1).unwrap_or_default();
    plain(text.split('"').next().unwrap())
}

/// The forms of a page that write, by the value of `form`.
pub fn forms(page: &str) -> Vec<(String, Sheet)> {
    let pieces = page.split("<form method=\"post\"").skip(1);
    pieces
        .map(|piece| {
            let piece = piece.split("</form>").next().unwrap();
            let inputs = piece.split("<input").skip(1).map(|tag| tag.split('>').next().unwrap());
            let hidden: Vec<(String, String)> = inputs
                .filter(|tag| tag.contains("type=\"hidden\""))
                .map(|tag| (attribute(tag, "name"), attribute(tag, "value")))
                .collect();
            let buttons = piece
                .split("<button")
                .skip(1)
                .map(|rest| {
                    let (tag, rest) = rest.split_once('>').unwrap();
                    let says = words(rest.split("</button>").next().unwrap());
                    (attribute(tag, "name"), attribute(tag, "value"), says)
                })
                .collect();
            let key = hidden.iter().find(|(name, _)| name == "form").unwrap().1.clone();
            (key, Sheet { action: attribute(piece, "action"), hidden, buttons })
        })
        .collect()
}

pub fn form(page: &str, key: &str) -> Sheet {
    let all = forms(page);
    let have: Vec<&String> = all.iter().map(|(key, _)| key).collect();
    let found = all.iter().find(|(have, _)| have == key);
    found.unwrap_or_else(|| panic!("no form {key}, but {have:?}: {}", words(page))).1.clone()
}

pub fn enc(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

/// The error beside the field of this name.
pub fn error(page: &str, form: &str, name: &str) -> String {
    let id = format!("id=\"f-{form}-{}-error\"", name.replace(['_', '.'], "-"));
    let at = page.find(&id).unwrap_or_else(|| panic!("no error at {name}: {}", words(page)));
    words(page[at..].split("</span>").next().unwrap().split_once('>').unwrap().1)
}

impl Site {
    /// The demo's workshop.
    pub fn demo() -> Site {
        let site = Site::empty();
        site.state.use_workshop(|workshop| demo::build(workshop, now()).unwrap());
        site
    }

    pub fn empty() -> Site {
        let keys = tempfile::tempdir().unwrap();
        let workshop = Workshop::around(Store::in_memory().unwrap(), keys.path(), "a tester").unwrap();
        Site { state: Arc::new(App::new(workshop)), _keys: keys }
    }

    /// The id of a device.
    pub fn id(&self, code: &str) -> String {
        self.state
            .use_workshop(|workshop| find(&Scene::new(workshop.register()), code, None).unwrap().to_string())
    }

    pub fn entries(&self) -> u64 {
        self.state.use_workshop(|workshop| workshop.register().entries())
    }

    /// The head and the text of the answer.
    pub async fn fetch(&self, request: Request<Body>) -> (Parts, String) {
        let response = app(self.state.clone(), Door::Loopback).oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 100 << 20).await.unwrap();
        (parts, String::from_utf8(bytes.to_vec()).unwrap())
    }

    /// How the answer goes, its text, and where it leads to.
    async fn ask(&self, request: Request<Body>) -> (StatusCode, String, String) {
        let (parts, text) = self.fetch(request).await;
        let to = parts.headers.get("location").map(|to| to.to_str().unwrap().to_owned());
        (parts.status, text, to.unwrap_or_default())
    }

    pub async fn look(&self, path: &str) -> (StatusCode, String, String) {
        let request = Request::get(path).header("host", HOST).body(Body::empty()).unwrap();
        let (status, page, to) = self.ask(request).await;
        assert!(
            !page.contains("style=\"") && !page.contains("<script>") && !page.contains("onclick"),
            "{path}"
        );
        (status, page, to)
    }

    pub async fn get(&self, path: &str) -> String {
        let (status, page, _) = self.look(path).await;
        assert_eq!(status, StatusCode::OK, "{path}: {}", words(&page));
        page
    }

    pub async fn post(&self, to: &str, body: &str) -> (StatusCode, String, String) {
        let request = Request::post(to)
            .header("host", HOST)
            .header("origin", format!("http://{HOST}"))
            .header("content-type", "application/x-www-form-urlencoded")
            .body(Body::from(body.to_owned()))
            .unwrap();
        self.ask(request).await
    }

    /// Sends a form with what is typed into it.
    pub async fn send(&self, sheet: &Sheet, typed: &[(&str, &str)]) -> (StatusCode, String, String) {
        let hidden = sheet.hidden.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        let body: Vec<String> = hidden
            .chain(typed.iter().copied())
            .map(|(name, value)| format!("{}={}", enc(name), enc(value)))
            .collect();
        self.post(&sheet.action, &body.join("&")).await
    }

    /// Sends a form and gives the page that it leads to.
    pub async fn done(&self, sheet: &Sheet, typed: &[(&str, &str)]) -> String {
        let (status, page, to) = self.send(sheet, typed).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{}: {}", sheet.action, words(&page));
        self.get(&to).await
    }
}
