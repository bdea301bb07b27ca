//! A newcomer's first quarter of an hour, in a real browser, against the real program.
#![allow(missing_docs, clippy::unwrap_used, clippy::format_push_string)]

mod bench;
mod commission;
mod faults;
mod fit_screens;
mod heard;
mod house;
mod keys;
mod radio;
mod refits;
mod visit;

use fantoccini::Locator;
use house::{House, Visitor};

/// Thirty devices as somebody keeps them in a spreadsheet: semicolons, a decimal comma, a
/// byte order mark, columns in an order of their own.
fn list_of_thirty() -> String {
    let mut list = String::from("\u{feff}Code;Sort;Name;Link family;Band;FW;Model ID;Paired with;Aircraft\n");
    for n in 1..=2 {
        list.push_str(&format!("T{n};transmitter;Handset {n};Rill;2,4 GHz;4,2;;;\n"));
    }
    for n in 1..=12 {
        list.push_str(&format!("A{n};aircraft;Kite {n};;;;;;\n"));
    }
    for n in 1..=16 {
        let firmware = if n == 3 { "3,9" } else { "4,1" };
        let aircraft = if n <= 12 { format!("A{n}") } else { String::new() };
        list.push_str(&format!("R{n};receiver;Receiver {n};Rill;2,4 GHz;{firmware};off;T1;{aircraft}\n"));
    }
    list
}

async fn walk(house: &House, width: u32) {
    let visitor = Visitor::arrive(house, width, 900).await;
    let v = &visitor;

    // An empty workshop says what to do next.
    v.go("/").await;
    v.picture("1-empty").await;
    assert!(v.text("main").await.contains("mport"), "an empty workshop points to the import");

    // Make a family from a starter, on the form.
    v.go("/families").await;
    v.go("/family/new?from=starter-css-2g4.toml").await;
    v.fill("input[name='family.name']", "Rill").await;
    v.picture("2-family-form").await;
    v.choose("select[name='version.rule']", "same-parts").await;
    v.fill("input[name='version.parts']", "1").await;
    v.fill("input[name='version.called']", "major").await;
    v.press("form[action='/family/new'] button.main").await;
    assert!(v.text("h1").await.contains("Rill"), "{}", v.text("body").await);
    v.picture("3-family").await;

    // Import the list: what the columns mean, the differences, then the links.
    let list = house.file("my list.csv", list_of_thirty().as_bytes());
    v.go("/import").await;
    v.client.find(Locator::Css("input[type=file]")).await.unwrap().send_keys(&list).await.unwrap();
    v.press("form[action='/import'] button").await;
    v.picture("4-columns").await;
    assert!(v.text("main").await.contains("Paired with"));
    v.press("form[action$='/mapping'] button").await;
    v.until_gone("meta[http-equiv=refresh]").await;
    v.picture("5-differences").await;
    assert!(v.text("main").await.contains("30"), "{}", v.text("main").await);
    v.press("form[action$='/apply'] button").await;
    v.picture("6-links").await;

    // Today: one aircraft is a major version behind.
    v.go("/").await;
    v.picture("7-today").await;
    let today = v.text("main").await;
    assert!(today.contains("11 of 12 aircraft can fly"), "{today}");
    v.go("/cords").await;
    v.picture("8-cords").await;
    v.go("/links?verdict=blocked").await;
    assert!(v.text("main").await.contains("R3"));
    v.press("a[href^='/link/']").await;
    v.picture("9-blocked").await;
    assert!(v.text("main").await.contains("3.9"));

    // Mend it, and see the change.
    v.press("form[action$='/mend'] button").await;
    v.picture("10-mended").await;
    v.go("/").await;
    let today = v.text("main").await;
    assert!(today.contains("All 12 aircraft can fly"), "{today}");
    v.picture("11-all-fly").await;

    // Nothing on any page ran off the screen or loaded what the policy forbids.
    for path in [
        "/",
        "/links",
        "/matrix",
        "/cords",
        "/receivers",
        "/transmitters",
        "/aircraft",
        "/families",
        "/ids",
        "/whatif",
        "/settings",
        "/history",
        "/export",
        "/import",
        "/sharing",
        "/sheet",
        "/sheet?transmitter=T1&other=A1",
        "/sheet/family/Rill?band=2.4+GHz",
        "/formulas",
        "/formula/free-space-loss",
        "/commission",
        "/commission/table",
        "/labels",
        "/labels/print",
    ] {
        v.go(path).await;
        v.fits(path).await;
    }
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_newcomers_first_quarter_of_an_hour() {
    let house = House::open().await;
    walk(&house, 1280).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_on_a_phone() {
    let house = House::open().await;
    walk(&house, 360).await;
}
