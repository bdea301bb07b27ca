//! The program, a driver and a browser, each started for one test and ended with it.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use fantoccini::wd::PrintConfiguration;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

/// Contrast of words with what is behind them, as the browser draws both: WCAG 2.2,
/// "contrast ratio" and "relative luminance". Gives the page's own luminance, and what is
/// below the 4.5 of success criterion 1.4.3.
const CONTRAST: &str = "
    const parts = (css) => css.match(/[\\d.]+/g).map(Number);
    const light = (css) => {
        const part = parts(css).slice(0, 3).map((c) => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; });
        return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
    };
    const behind = (one) => {
        for (; one; one = one.parentElement) {
            const css = getComputedStyle(one).backgroundColor, alpha = parts(css)[3] ?? 1;
            if (alpha === 1) return light(css);
        }
        return light(getComputedStyle(document.body).backgroundColor);
    };
    const low = [];
    for (const one of document.querySelectorAll('main :is(p, li, dt, dd, th, td, caption, h1, h2, h3, label, legend, summary, small, strong, code, span, a, button)')) {
        if (!one.checkVisibility() || !one.innerText.trim()) continue;
        const ink = light(getComputedStyle(one).color), paper = behind(one);
        const ratio = (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
        if (ratio < 4.5) low.push(ratio.toFixed(2) + ' ' + one.innerText.slice(0, 40));
    }
    return [light(getComputedStyle(document.body).backgroundColor), low];";

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

/// A server on a fresh workshop, and a driver for the browser.
pub struct House {
    pub address: String,
    folder: tempfile::TempDir,
    server: Child,
    driver: Child,
    driver_port: u16,
}

impl Drop for House {
    fn drop(&mut self) {
        for child in [&mut self.server, &mut self.driver] {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

impl House {
    pub async fn open() -> House {
        House::in_folder(tempfile::tempdir().unwrap()).await
    }

    /// The demo's workshop.
    pub async fn demo() -> House {
        let folder = tempfile::tempdir().unwrap();
        let store = store::Store::open(&folder.path().join("own.holdfast")).unwrap();
        let keys = folder.path().join("keys");
        let mut workshop = holdfast::workshop::Workshop::around(store, &keys, "a tester").unwrap();
        holdfast::demo::build(&mut workshop, holdfast::workshop::now()).unwrap();
        drop(workshop);
        House::in_folder(folder).await
    }

    async fn in_folder(folder: tempfile::TempDir) -> House {
        let port = free_port();
        let mut server = Command::new(env!("CARGO_BIN_EXE_holdfast"))
            .arg("--workshop")
            .arg(folder.path().join("own.holdfast"))
            .args(["serve", "--port", &port.to_string()])
            .env("HOLDFAST_KEYS", folder.path().join("keys"))
            .env("HOME", folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut said = BufReader::new(server.stdout.take().unwrap());
        said.read_line(&mut line).unwrap();
        assert!(line.contains("http://127.0.0.1:"), "the server says where it is: {line}");
        let at = line.find("http://").unwrap();
        let address = line[at..].split_whitespace().next().unwrap().trim_end_matches('/').to_owned();
        let driver_port = free_port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={driver_port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is installed (./test installs it)");
        let house = House { address, folder, server, driver, driver_port };
        for _ in 0..200 {
            if std::net::TcpStream::connect(("127.0.0.1", driver_port)).is_ok() {
                return house;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("chromedriver doesn't answer");
    }

    /// Writes a file that can be chosen in a form.
    pub fn file(&self, name: &str, bytes: &[u8]) -> String {
        let path: PathBuf = self.folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path.display().to_string()
    }
}

/// Somebody with a browser.
pub struct Visitor {
    pub client: Client,
    address: String,
    driver_port: u16,
    width: u32,
    _profile: tempfile::TempDir,
}

impl Visitor {
    pub async fn arrive(house: &House, width: u32, height: u32) -> Visitor {
        Visitor::with(house, width, height, &serde_json::Map::new()).await
    }

    /// Somebody whose browser runs no script.
    pub async fn arrive_without_script(house: &House, width: u32, height: u32) -> Visitor {
        let mut settings = serde_json::Map::new();
        settings.insert("profile.managed_default_content_settings.javascript".to_owned(), 2.into());
        Visitor::with(house, width, height, &settings).await
    }

    async fn with(
        house: &House,
        width: u32,
        height: u32,
        settings: &serde_json::Map<String, serde_json::Value>,
    ) -> Visitor {
        let profile = tempfile::tempdir().unwrap();
        let arguments = [
            "--headless".to_owned(),
            "--no-sandbox".to_owned(),
            "--disable-gpu".to_owned(),
            "--disable-quic".to_owned(),
            "--no-first-run".to_owned(),
            "--disable-background-networking".to_owned(),
            "--disable-component-update".to_owned(),
            "--disable-sync".to_owned(),
            "--disable-dev-shm-usage".to_owned(),
            format!("--user-data-dir={}", profile.path().display()),
            format!("--window-size={width},{height}"),
        ];
        let mut capabilities = serde_json::Map::new();
        let mut chrome = serde_json::json!({ "args": arguments, "prefs": settings });
        // A window can't be narrower than a browser's own frame allows; a phone's screen is
        // set as the device's measures.
        if width < 500 {
            chrome["mobileEmulation"] = serde_json::json!({ "deviceMetrics": { "width": width, "height": height, "pixelRatio": 1.0 } });
        }
        capabilities.insert("goog:chromeOptions".to_owned(), chrome);
        capabilities.insert("goog:loggingPrefs".to_owned(), serde_json::json!({ "browser": "ALL" }));
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities)
            .connect(&format!("http://127.0.0.1:{}", house.driver_port))
            .await
            .expect("Chromium starts");
        let (address, driver_port) = (house.address.clone(), house.driver_port);
        Visitor { client, address, driver_port, width, _profile: profile }
    }

    pub async fn leave(self) {
        self.client.close().await.unwrap();
    }

    pub async fn go(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.address)).await.unwrap();
    }

    pub async fn text(&self, css: &str) -> String {
        self.client
            .find(Locator::Css(css))
            .await
            .unwrap_or_else(|error| panic!("{css}: {error}"))
            .text()
            .await
            .unwrap()
    }

    pub async fn fill(&self, css: &str, words: &str) {
        let field =
            self.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"));
        field.clear().await.unwrap();
        field.send_keys(words).await.unwrap();
    }

    /// Chooses from a list.
    pub async fn choose(&self, css: &str, value: &str) {
        let field =
            self.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"));
        field.select_by_value(value).await.unwrap_or_else(|error| panic!("{css}: {error}"));
    }

    /// Presses a button or a link and waits for the page it leads to.
    pub async fn press(&self, css: &str) {
        let element =
            self.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"));
        let _ = self
            .client
            .execute(
                "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})",
                vec![serde_json::to_value(&element).unwrap()],
            )
            .await;
        // A page that opens at a field may still be on its way there.
        for left in (0..10).rev() {
            match element.click().await {
                Ok(()) => break,
                Err(_) if left > 0 => tokio::time::sleep(Duration::from_millis(50)).await,
                Err(error) => panic!("{css}: {error}"),
            }
        }
        // The old page's element goes stale once the new page is there.
        for _ in 0..100 {
            if element.tag_name().await.is_err() {
                break;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        self.client.wait().for_element(Locator::Css("h1")).await.unwrap();
    }

    /// Waits until a page that asks for itself again is done with it.
    pub async fn until_gone(&self, css: &str) {
        for _ in 0..300 {
            if self.client.find(Locator::Css(css)).await.is_err() {
                return;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("{css} is still there");
    }

    /// Nothing is wider than the screen.
    pub async fn fits(&self, path: &str) {
        let ask = "const page = document.documentElement, most = page.clientWidth;
            if (page.scrollWidth - most <= 1) return [];
            const wide = [...document.body.querySelectorAll('*')].filter(
                (one) => one.getBoundingClientRect().right > most + 1 && !one.closest('.scroll, .quiet'));
            return ['the page is ' + page.scrollWidth + ' px wide',
                ...wide.slice(-5).map((one) => one.outerHTML.slice(0, 160))];";
        let wide = self.client.execute(ask, vec![]).await.unwrap();
        assert_eq!(wide, serde_json::json!([]), "{path} doesn't fit {} px", self.width);
    }

    /// Asks the browser itself, by the protocol of its developers' tools.
    pub async fn browser(&self, command: &str, parameters: Value) -> Value {
        self.driver("goog/cdp/execute", json!({ "cmd": command, "params": parameters })).await
    }

    /// What the browser has to complain of since it was last asked: errors and warnings of its
    /// console, those of the policy and of what can't be loaded among them.
    pub async fn complaints(&self) -> Vec<String> {
        let all = self.driver("se/log", json!({ "type": "browser" })).await;
        let bad =
            all.as_array().unwrap().iter().filter(|one| one["level"] != "INFO" && one["level"] != "DEBUG");
        bad.map(|one| one["message"].as_str().unwrap_or_default().to_owned()).collect()
    }

    /// Asks the driver what its client has no words for.
    async fn driver(&self, command: &str, body: Value) -> Value {
        let body = body.to_string();
        let session = self.client.session_id().await.unwrap().unwrap();
        let port = self.driver_port;
        let mut to = std::net::TcpStream::connect(("127.0.0.1", port)).unwrap();
        to.set_read_timeout(Some(Duration::from_mins(1))).unwrap();
        let length = body.len();
        write!(
            to,
            "POST /session/{session}/{command} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\
             Content-Type: application/json\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n{body}"
        )
        .unwrap();
        let mut from = BufReader::new(to);
        let (mut head, mut length) = (String::new(), 0);
        while !head.ends_with("\r\n\r\n") {
            let at = head.len();
            assert!(from.read_line(&mut head).unwrap() > 0, "the driver says no more: {head}");
            if let Some(says) = head[at..].to_ascii_lowercase().strip_prefix("content-length:") {
                length = says.trim().parse().unwrap();
            }
        }
        assert!(head.lines().next().unwrap().contains(" 200 "), "the browser doesn't take {command}: {head}");
        let mut said = vec![0; length];
        from.read_exact(&mut said).unwrap();
        let mut said: Value = serde_json::from_slice(&said).unwrap();
        said["value"].take()
    }

    /// Shows the page as on `media` (`screen`, `print`, empty for neither said) to somebody
    /// who asked for a `dark` or a `light` one.
    pub async fn media(&self, media: &str, scheme: &str) {
        let shown =
            json!({ "media": media, "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.browser("Emulation.setEmulatedMedia", shown).await;
    }

    /// In the dark and in the light the page is so, and its words stand out.
    pub async fn can_be_read(&self, path: &str) {
        for (scheme, least, most) in [("dark", 0.0, 0.1), ("light", 0.7, 1.0)] {
            self.media("screen", scheme).await;
            let seen = self.client.execute(CONTRAST, vec![]).await.unwrap();
            let paper = seen[0].as_f64().unwrap();
            assert!((least..=most).contains(&paper), "{path} isn't {scheme}: {seen}");
            assert_eq!(seen[1], json!([]), "{path}, {scheme}");
        }
    }

    /// How many sheets of A4 the page is printed on.
    pub async fn sheets(&self, name: &str) -> usize {
        let a4 = PrintConfiguration::builder().build().unwrap();
        let pdf = self.client.print(a4).await.unwrap();
        if let Some(folder) = std::env::var_os("HOLDFAST_SCREENS") {
            std::fs::write(Path::new(&folder).join(format!("printed-{name}.pdf")), &pdf).unwrap();
        }
        String::from_utf8_lossy(&pdf).matches("/Type /Page\n").count()
    }

    /// Prints the page on the paper that it asks for: sheets, and width and height of each in
    /// points.
    pub async fn printed(&self, name: &str) -> Vec<(f64, f64)> {
        let asked = PrintConfiguration::builder().shrink_to_fit(false).background(true).build().unwrap();
        let pdf = self.client.print(asked).await.unwrap();
        if let Some(folder) = std::env::var_os("HOLDFAST_SCREENS") {
            std::fs::write(Path::new(&folder).join(format!("printed-{name}-{}.pdf", self.width)), &pdf)
                .unwrap();
        }
        let text = String::from_utf8_lossy(&pdf);
        let pages = text.split("/Type /Page\n").skip(1);
        pages
            .map(|page| {
                let of = page.split("/MediaBox [").nth(1).unwrap().split(']').next().unwrap();
                let of: Vec<f64> = of.split_whitespace().map(|one| one.parse().unwrap()).collect();
                (of[2] - of[0], of[3] - of[1])
            })
            .collect()
    }

    /// Keeps a picture of the page where `HOLDFAST_SCREENS` names a folder.
    pub async fn picture(&self, name: &str) {
        let Some(folder) = std::env::var_os("HOLDFAST_SCREENS") else { return };
        let png = self.client.screenshot().await.unwrap();
        std::fs::write(Path::new(&folder).join(format!("{name}-{}.png", self.width)), png).unwrap();
    }
}
