//! How the pages of commissioning are heard, hit and printed, and that they fit every screen.

use fantoccini::Locator;
use fantoccini::key::Key;
use serde_json::{Value, json};

use crate::bench::decent;
use crate::heard::{SMALL, unheard};
use crate::house::{House, Visitor};

/// The page of the device with this code, by the first link to it in a list.
async fn device(v: &Visitor, list: &str, code: &str) -> String {
    v.go(list).await;
    let ask = "return [...document.querySelectorAll('main a[href^=\"/device/\"]')].find((one) => one.innerText.split(/\\W/).includes(arguments[0])).getAttribute('href')";
    let href: Value = v.ask(ask, vec![json!(code)]).await;
    href.as_str().unwrap().split('/').take(3).collect::<Vec<_>>().join("/")
}

async fn wide(v: &Visitor, width: u32) {
    let metrics = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
    v.browser("Emulation.setDeviceMetricsOverride", metrics).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_pages_of_commissioning_are_heard_hit_and_printed_and_fit_every_screen() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 1280, 900).await;
    let v = &visitor;
    let (a1, a3) = (device(v, "/aircraft", "A1").await, device(v, "/aircraft", "A3").await);
    let (a9, a19) = (device(v, "/aircraft", "A9").await, device(v, "/aircraft", "A19").await);
    let t1 = device(v, "/transmitters", "T1").await;
    let label = |path: &str| format!("/labels?d={}", path.trim_start_matches("/device/"));
    let pages = [
        "/commission".to_owned(),
        "/commission/table".to_owned(),
        format!("{a1}/commission"),
        format!("{a9}/commission"),
        format!("{a9}/outputs"),
        format!("{a19}/outputs"),
        format!("{a1}/outputs"),
        format!("{a1}/supply"),
        format!("{a3}/supply"),
        format!("{a19}/failsafe"),
        format!("{a1}/antennas"),
        format!("{a1}/card?of=bench&size=a4"),
        format!("{a1}/card?of=field&size=a6"),
        label(&a1),
        "/labels/print".to_owned(),
        a1,
        t1,
    ];
    // A device's own page links to its readings by when they were seen, several alike.
    let bare = |path: &str| path.matches('/').count() == 2 && path.starts_with("/device/");
    let mut wrong = Vec::new();
    for (at, path) in pages.iter().enumerate() {
        v.go(path).await;
        for width in [3840, 1280, 768, 360] {
            wide(v, width).await;
            v.fits(&format!("{path} on {width} px")).await;
            if std::env::var_os("HOLDFAST_SCREENS").is_some() {
                v.picture(&format!("72-page-{at}-at-{width}")).await;
            }
        }
        decent(v, path).await;
        if !bare(path) {
            wrong.extend(unheard(v).await.into_iter().map(|one| format!("{path}: {one}")));
        }
        v.ask("document.querySelectorAll('main details').forEach((one) => one.open = true)", vec![]).await;
        v.fits(&format!("{path}, all of it, on 360 px")).await;
        v.can_be_read(path).await;
        // In two forms the same step may stand.
        let unheard = unheard(v).await.into_iter().filter(|one| !one.starts_with("the same") && !bare(path));
        wrong.extend(unheard.map(|one| format!("{path}, all of it: {one}")));
        let small = v.ask(SMALL, vec![]).await;
        if small != json!([]) {
            wrong.push(format!("{path}: small to hit: {small}"));
        }
        v.media("print", "light").await;
        let left = v.all("main :is(button, input, select, textarea)").await;
        if !left.is_empty() {
            wrong.push(format!("{path}: printed with {left:?}"));
        }
        v.media("", "light").await;
        wide(v, 1280).await;
    }
    wrong.sort_unstable();
    wrong.dedup();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(v.complaints().await, [""; 0]);
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn rows_are_added_without_a_script_and_enter_sends_the_form() {
    const ROWS: Locator = Locator::Css("#rows-antenna > fieldset");
    const NAME: &str = "[name='antenna.1.name']";
    let house = House::demo().await;
    // A driver that emulates a phone waits for ever after a press where no script runs.
    let visitor = Visitor::arrive_without_script(&house, 600, 800).await;
    let v = &visitor;
    v.go("/commission").await;
    let row = Locator::XPath("//main//th/a[contains(., 'A9')]");
    let list = v.client.find(row).await.unwrap().attr("href").await.unwrap().unwrap();
    v.go(&format!("{}/antennas", list.split("/commission").next().unwrap())).await;
    v.fill(NAME, "whisker").await;
    v.choose("[name='antenna.1.kind']", "wire").await;
    let before = v.client.find_all(ROWS).await.unwrap().len();
    v.press("button[value='add.antenna']").await;
    assert_eq!(v.client.find_all(ROWS).await.unwrap().len(), before + 1);
    let field = v.client.find(Locator::Css(NAME)).await.unwrap();
    assert_eq!(field.prop("value").await.unwrap().as_deref(), Some("whisker"));
    // Enter in a field writes it down; it presses no other button.
    field.send_keys(&Key::Enter.to_string()).await.unwrap();
    v.client.wait().for_element(Locator::Css("[role=status]")).await.unwrap();
    assert_eq!(v.text("[role=status]").await, "The antennas are written down.");
    visitor.leave().await;
}
