//! The web door, asked without a socket: who is let in, what forms write, what is never
//! shown.
#![allow(missing_docs, clippy::unwrap_used)]

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::http::{Request, Response, StatusCode};
use holdfast::web::{App, Door, app};
use holdfast::workshop::Workshop;
use store::Store;
use tower::ServiceExt as _;

struct Site {
    state: Arc<App>,
    _keys: tempfile::TempDir,
}

const HOST: &str = "127.0.0.1:7717";
const SECRET: &str = "canary-heather-9731";

impl Site {
    fn empty() -> Site {
        let keys = tempfile::tempdir().unwrap();
        let workshop = Workshop::around(Store::in_memory().unwrap(), keys.path(), "tester").unwrap();
        Site { state: Arc::new(App::new(workshop)), _keys: keys }
    }

    async fn ask(&self, door: Door, request: Request<Body>) -> (StatusCode, String, Response<()>) {
        let response = app(self.state.clone(), door).oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 100 << 20).await.unwrap();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        (parts.status, text, Response::from_parts(parts, ()))
    }

    async fn get(&self, path: &str) -> (StatusCode, String) {
        let request = Request::get(path).header("host", HOST).body(Body::empty()).unwrap();
        let (status, text, _) = self.ask(Door::Loopback, request).await;
        (status, text)
    }

    async fn token(&self) -> String {
        let (_, page) = self.get("/settings").await;
        let from = page.find("name=\"token\" value=\"").expect("a form with a token") + 20;
        page[from..].split('"').next().unwrap().to_owned()
    }

    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> (StatusCode, String, Response<()>) {
        let token = self.token().await;
        let mut all = vec![("token", token.as_str())];
        all.extend_from_slice(fields);
        self.post_raw(path, &all, &[("origin", &format!("http://{HOST}"))]).await
    }

    async fn post_raw(
        &self,
        path: &str,
        fields: &[(&str, &str)],
        headers: &[(&str, &str)],
    ) -> (StatusCode, String, Response<()>) {
        let body: Vec<String> = fields.iter().map(|(k, v)| format!("{}={}", enc(k), enc(v))).collect();
        let mut request = Request::post(path)
            .header("host", HOST)
            .header("content-type", "application/x-www-form-urlencoded");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        self.ask(Door::Loopback, request.body(Body::from(body.join("&"))).unwrap()).await
    }

    async fn upload(&self, name: &str, bytes: &[u8]) -> (StatusCode, String, Response<()>) {
        let token = self.token().await;
        let mut body =
            format!("--b\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\n{token}\r\n").into_bytes();
        body.extend_from_slice(
            format!("--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n")
                .as_bytes(),
        );
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--b--\r\n");
        let request = Request::post("/import")
            .header("host", HOST)
            .header("origin", format!("http://{HOST}"))
            .header("content-type", "multipart/form-data; boundary=b")
            .body(Body::from(body))
            .unwrap();
        self.ask(Door::Loopback, request).await
    }
}

fn enc(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

fn location(response: &Response<()>) -> String {
    response.headers().get("location").unwrap_or_else(|| panic!("{response:?}")).to_str().unwrap().to_owned()
}

#[tokio::test]
async fn foreign_hosts_and_origins_are_refused() {
    let site = Site::empty();
    for host in ["evil.example", "127.0.0.1.evil.example:7717", "192.0.2.7:7717"] {
        let request = Request::get("/").header("host", host).body(Body::empty()).unwrap();
        let (status, page, _) = site.ask(Door::Loopback, request).await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{host}");
        assert!(!page.contains("Workshop"), "{page}");
    }
    let request = Request::get("/").body(Body::empty()).unwrap();
    assert_eq!(site.ask(Door::Loopback, request).await.0, StatusCode::FORBIDDEN, "no host at all");
    for origin in ["http://evil.example", "null", "https://127.0.0.1:7717", "http://127.0.0.1:1"] {
        let token = site.token().await;
        let sent =
            site.post_raw("/settings", &[("token", &token), ("name", "X")], &[("origin", origin)]).await;
        assert_eq!(sent.0, StatusCode::FORBIDDEN, "{origin}");
    }
}

#[tokio::test]
async fn forms_need_their_token() {
    let site = Site::empty();
    for token in ["", "0123", "ffffffffffffffffffffffffffffffff"] {
        let sent = site.post_raw("/settings", &[("token", token), ("name", "Stolen")], &[]).await;
        assert_eq!(sent.0, StatusCode::FORBIDDEN);
    }
    let sent = site.post_raw("/device/new", &[("sort", "receiver"), ("code", "R1")], &[]).await;
    assert_eq!(sent.0, StatusCode::FORBIDDEN);
    assert!(!site.get("/settings").await.1.contains("Stolen"));
    let (status, _, _) = site.post("/settings", &[("name", "Meadow")]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    assert!(site.get("/settings").await.1.contains("Meadow"));
}

#[tokio::test]
async fn every_answer_carries_the_policy() {
    let site = Site::empty();
    for path in [
        "/",
        "/links",
        "/static/style.css",
        "/nowhere",
        "/device/xyz",
        "/../../etc/passwd",
        "/static/../Cargo.toml",
    ] {
        let request = Request::get(path).header("host", HOST).body(Body::empty()).unwrap();
        let (status, page, response) = site.ask(Door::Loopback, request).await;
        let policy = response.headers()["content-security-policy"].to_str().unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{path}");
        assert!(
            !page.contains("<script>") && !page.contains("style=\"") && !page.contains("onclick"),
            "{path}"
        );
        if path.contains("..") || path == "/nowhere" || path.ends_with("xyz") {
            assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        } else {
            assert_eq!(status, StatusCode::OK, "{path}");
        }
    }
}

#[tokio::test]
async fn bodies_are_bounded() {
    let site = Site::empty();
    let token = site.token().await;
    let big = "x".repeat(2 << 20);
    let sent = site.post_raw("/settings", &[("token", &token), ("name", &big)], &[]).await;
    assert_eq!(sent.0, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test]
async fn a_phone_sees_nothing_before_its_code_and_a_code_opens_once() {
    let site = Site::empty();
    site.post("/settings", &[("name", "Hidden Meadow")]).await;
    holdfast::web::open_sharing(&site.state, "127.0.0.1:0".parse().unwrap()).await.unwrap();
    let (_, code) = site.state.share_code();
    let phone = |path: &str, cookie: Option<&str>| {
        let mut request = Request::get(path).header("host", "192.0.2.7:7718");
        if let Some(cookie) = cookie {
            request = request.header("cookie", format!("holdfast_phone={cookie}"));
        }
        request.body(Body::empty()).unwrap()
    };
    for path in ["/", "/links", "/export/logbook.jsonl", "/device/x", "/sharing", "/nowhere"] {
        for cookie in [None, Some("guess")] {
            let (status, page, response) = site.ask(Door::Shared, phone(path, cookie)).await;
            assert_eq!(status, StatusCode::SEE_OTHER, "{path}");
            assert_eq!(location(&response), "/code");
            assert!(!page.contains("Hidden"), "{path}");
        }
    }
    let (status, page, _) = site.ask(Door::Shared, phone("/code", None)).await;
    assert_eq!(status, StatusCode::OK);
    assert!(!page.contains("Hidden Meadow") && !page.contains(&code), "{page}");
    let give = |code: &str| {
        Request::post("/code")
            .header("host", "192.0.2.7:7718")
            .header("origin", "http://192.0.2.7:7718")
            .header("content-type", "application/x-www-form-urlencoded")
            .body(Body::from(format!("code={code}")))
            .unwrap()
    };
    let wrong = if code == "00000000" { "00000001" } else { "00000000" };
    assert_eq!(site.ask(Door::Shared, give(wrong)).await.0, StatusCode::UNPROCESSABLE_ENTITY);
    let (status, _, response) = site.ask(Door::Shared, give(&code)).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let cookie = response.headers()["set-cookie"].to_str().unwrap().to_owned();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    let phone_key = cookie.split(['=', ';']).nth(1).unwrap().to_owned();
    let (status, page, _) = site.ask(Door::Shared, phone("/", Some(&phone_key))).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("Hidden Meadow") && page.contains("Shared"), "{page}");
    assert_eq!(site.ask(Door::Shared, give(&code)).await.0, StatusCode::UNPROCESSABLE_ENTITY, "used up");
    // Sharing itself is only switched on the machine.
    assert_eq!(site.ask(Door::Shared, phone("/sharing", Some(&phone_key))).await.0, StatusCode::FORBIDDEN);
    // Too many wrong codes void the right one.
    let (_, code) = site.state.share_code();
    let wrong = if code == "00000000" { "00000001" } else { "00000000" };
    for _ in 0..5 {
        site.ask(Door::Shared, give(wrong)).await;
    }
    assert_eq!(site.ask(Door::Shared, give(&code)).await.0, StatusCode::UNPROCESSABLE_ENTITY);
    // Off: known phones are strangers again.
    site.post("/sharing/off", &[]).await;
    assert_eq!(site.ask(Door::Shared, phone("/", Some(&phone_key))).await.0, StatusCode::SEE_OTHER);
}

const HOSTILE: [&str; 6] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "'; DROP TABLE entries; --",
    "\u{202e}desrever\u{202c} \u{200f}",
    "🛩️ glider 🛩️",
    "line\nbreak\ttab",
];

#[tokio::test]
async fn hostile_names_are_stored_and_shown_escaped() {
    let site = Site::empty();
    let long = "long ".repeat(1999) + "ends";
    for name in HOSTILE.iter().copied().chain([long.as_str()]) {
        let fields =
            [("sort", "receiver"), ("name", name), ("maker", name), ("note", name), ("family", name)];
        let (status, page, response) = site.post("/device/new", &fields).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
        let at = location(&response);
        for path in [at.as_str(), "/receivers", "/", "/links", "/history", "/cords", "/matrix", "/families"] {
            let (status, page) = site.get(path).await;
            assert_eq!(status, StatusCode::OK, "{path}");
            assert!(!page.contains("<script>") && !page.contains("<img src=x"), "{path}");
        }
        let (_, file) = site.get("/export/logbook.jsonl").await;
        let json = serde_json::to_string(name).unwrap();
        assert!(file.contains(json.trim_matches('"')), "{name} in the logbook");
    }
    let too_long = "x".repeat(10_001);
    for name in ["nul\0here", too_long.as_str()] {
        let (status, page, _) = site.post("/device/new", &[("sort", "receiver"), ("name", name)]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.contains("NUL") || page.contains("longer than"), "{page}");
    }
}

#[tokio::test]
async fn a_typed_secret_is_never_shown_again() {
    let site = Site::empty();
    let (_, _, made) = site
        .post(
            "/device/new",
            &[
                ("sort", "receiver"),
                ("code", "R1"),
                ("family", "Own"),
                ("secret_is", "typed"),
                ("value", SECRET),
            ],
        )
        .await;
    let device = location(&made).split('?').next().unwrap().to_owned();
    site.post("/device/new", &[("sort", "transmitter"), ("code", "T1"), ("family", "Own")]).await;
    // In the right field, in a form that is refused, in wrong fields, in an import.
    let refused = site
        .post(
            &format!("{device}/reading"),
            &[
                ("part", "end:main"),
                ("field", "secret"),
                ("secret_is", "typed"),
                ("value", SECRET),
                ("seen", "never"),
            ],
        )
        .await;
    assert_eq!(refused.0, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(!refused.1.contains(SECRET), "{}", refused.1);
    let list = format!(
        "code,sort,family,link secret,model_id\nR2,receiver,Own,{SECRET},x\nR3,receiver,Own,{SECRET},1\n"
    );
    let (status, page, response) = site.upload("list.csv", list.as_bytes()).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
    let mapping = location(&response);
    let (_, asked) = site.get(&mapping).await;
    assert!(asked.contains("link secret") && !asked.contains(SECRET), "{asked}");
    let fields: Vec<(String, &str)> = ["code", "sort", "family", "secret", "model_id"]
        .iter()
        .enumerate()
        .map(|(at, target)| (format!("column.{at}"), *target))
        .collect();
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (k.as_str(), *v)).collect();
    let (_, page, response) = site.post(&mapping, &fields).await;
    assert!(!page.contains(SECRET), "{page}");
    let preview = location(&response);
    for _ in 0..200 {
        let (_, page) = site.get(&preview).await;
        assert!(!page.contains(SECRET), "{page}");
        if !page.contains("http-equiv=\"refresh\"") {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(20)).await;
    }
    let (status, page, response) = site.post(&format!("{preview}/apply"), &[("good_only", "1")]).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
    assert!(location(&response).starts_with("/links"), "{}", location(&response));
    let paths = [
        device.as_str(),
        "/",
        "/links",
        "/cords",
        "/matrix",
        "/receivers",
        "/transmitters",
        "/history",
        "/families",
        "/ids",
        "/settings",
        "/whatif",
        "/export/logbook.jsonl",
        "/export/workshop.toml",
        "/export/list.csv",
    ];
    for path in paths {
        let (status, page) = site.get(path).await;
        assert_eq!(status, StatusCode::OK, "{path}");
        assert!(!page.contains(SECRET), "{path} shows the secret");
    }
    // The two that hold the same secret are told to be equal all the same.
    assert!(site.get("/receivers").await.1.contains("R3"));
}

#[tokio::test]
async fn what_is_wrong_keeps_what_was_typed() {
    let site = Site::empty();
    let (status, page, _) = site
        .post(
            "/device/new",
            &[("sort", "receiver"), ("code", "R1"), ("firmware", "newest"), ("maker", "Own bench")],
        )
        .await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        page.contains("Own bench") && page.contains("newest") && page.contains("is no version"),
        "{page}"
    );
}

#[tokio::test]
async fn what_may_be_a_secret_is_not_echoed_whatever_is_chosen_beside_it() {
    let site = Site::empty();
    let (_, _, made) = site.post("/device/new", &[("sort", "receiver"), ("code", "R1")]).await;
    let device = location(&made).split('?').next().unwrap().to_owned();
    let wrong = ("seen", "never");
    let own = ("value", SECRET);
    let of_secret = [("part", "end:main"), ("field", "secret")];
    for kind in ["typed", "blank", "same", "unknown", ""] {
        let fields = [&of_secret[..], &[("secret_is", kind), own, wrong]].concat();
        let (status, page, _) = site.post(&format!("{device}/reading"), &fields).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{kind}");
        assert!(!page.contains(SECRET), "{kind}: {page}");
    }
    let (_, page, _) =
        site.post(&format!("{device}/reading"), &[&of_secret[..], &[own, wrong]].concat()).await;
    assert!(!page.contains(SECRET), "{page}");
    // What if takes no secrets, only the name of a device that holds the same.
    for query in [
        format!("form=change&device=R1&field=secret&value={SECRET}"),
        format!("form=bought&sort=receiver&secret={SECRET}"),
    ] {
        let (status, page) = site.get(&format!("/whatif?{query}")).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(!page.contains(SECRET), "{page}");
        assert!(page.contains("never typed here"), "{page}");
    }
}

#[tokio::test]
async fn a_secret_can_be_said_to_be_not_known_any_more() {
    let site = Site::empty();
    let (_, _, made) =
        site.post("/device/new", &[("sort", "receiver"), ("code", "R1"), ("secret_is", "blank")]).await;
    let device = location(&made).split('?').next().unwrap().to_owned();
    let fields = [("part", "end:main"), ("field", "secret"), ("secret_is", "unknown")];
    let (status, page, _) = site.post(&format!("{device}/reading"), &fields).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
    assert!(site.get(&device).await.1.contains("not known any more"));
}

#[tokio::test]
async fn joined_devices_are_parted_again_also_through_a_third() {
    let site = Site::empty();
    let mut ids = Vec::new();
    for code in ["R1", "R2", "R3"] {
        let (_, _, made) = site.post("/device/new", &[("sort", "receiver"), ("code", code)]).await;
        let path = location(&made).split('?').next().unwrap().to_owned();
        ids.push(path.rsplit('/').next().unwrap().to_owned());
    }
    let count = async || {
        let (_, page) = site.get("/receivers").await;
        ids.iter().filter(|id| page.contains(&format!("/device/{id}"))).count()
    };
    assert_eq!(count().await, 3);
    for (one, other) in [(0, 1), (1, 2)] {
        let path = format!("/device/{}/same-as", ids[one]);
        let (status, page, _) = site.post(&path, &[("other", &ids[other])]).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
    }
    assert_eq!(count().await, 1);
    let mut under: Vec<&String> = ids.iter().collect();
    under.sort();
    let path = format!("/device/{}/parted", under[0]);
    let (status, page, _) = site.post(&path, &[("other", under[2])]).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
    assert_eq!(count().await, 2);
    let (status, _, _) = site.post(&path, &[("other", under[2])]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
}
