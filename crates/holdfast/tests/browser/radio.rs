//! The link sheet and the formulas in a browser: from an aircraft's page, on a phone, with
//! and without the script, by keyboard alone.

use std::time::Duration;

use fantoccini::Locator;
use fantoccini::elements::Element;
use fantoccini::key::Key;

use crate::house::{House, Visitor};

/// What an element says now; asked in one step, for the script may put another in its place.
async fn says(v: &Visitor, css: &str) -> String {
    let ask = "const found = document.querySelector(arguments[0]); return found ? found.innerText : ''";
    let words = v.client.execute(ask, vec![css.into()]).await.unwrap();
    words.as_str().unwrap_or_default().to_owned()
}

/// Waits until the text of an element is another than before.
async fn changed(v: &Visitor, css: &str, before: &str) -> String {
    for _ in 0..300 {
        let now = says(v, css).await;
        if now != before && !now.is_empty() {
            return now;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("{css} still says: {before}");
}

/// Follows the links that a person would: aircraft, Hay Wagon, its link sheet.
async fn to_the_sheet(v: &Visitor) {
    v.go("/aircraft").await;
    let hay_wagon = Locator::XPath("//main//a[contains(., 'Hay Wagon')]");
    let href = v.client.find(hay_wagon).await.unwrap().attr("href").await.unwrap().unwrap();
    v.go(&href).await;
    v.press("main a[href^='/sheet/']").await;
    assert!(v.text("h1").await.contains("Hay Wagon"), "{}", v.text("h1").await);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answer_follows_what_is_typed_on_a_phone() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 360, 780).await;
    let v = &visitor;
    to_the_sheet(v).await;
    v.fits("the link sheet").await;
    v.picture("20-sheet").await;
    // A mark that a page anew would not carry.
    v.client.execute("window.still = 'here'", vec![]).await.unwrap();
    let before = says(v, "#sheet-answer").await;
    v.fill("input[name='distance_m']", "3000").await;
    v.fill("input[name='power_mw']", "1").await;
    let after = changed(v, "#sheet-answer", &before).await;
    let still = v.client.execute("return window.still", vec![]).await.unwrap();
    assert_eq!(still.as_str(), Some("here"), "the page was loaded anew");
    let address = v.client.current_url().await.unwrap();
    for _ in 0..100 {
        if v.client.current_url().await.unwrap().query().is_some_and(|query| query.contains("power_mw=1")) {
            break;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let address = v.client.current_url().await.unwrap_or(address);
    let query = address.query().unwrap_or_default().to_owned();
    assert!(query.contains("distance_m=3000") && query.contains("power_mw=1"), "{query}");
    v.fits("the link sheet, anew").await;
    v.picture("21-sheet-changed").await;
    // What is announced is the answer's first sentence, politely.
    let said = v.client.execute("return document.querySelector('p.quiet[role=status]').textContent", vec![]);
    assert_eq!(said.await.unwrap().as_str().unwrap(), says(v, "#sheet-answer .answer").await);
    // The address alone gives the same answer.
    let kept = says(v, "#sheet-answer .answer").await;
    v.client.goto(address.as_str()).await.unwrap();
    assert_eq!(says(v, "#sheet-answer .answer").await, kept);
    assert_ne!(before, after);
    // What can't be used is said at once, and the address of it too.
    v.fill("input[name='power_mw']", "0").await;
    let wrong = changed(v, "#sheet-answer .answer", &kept).await;
    assert!(wrong.contains("can't be answered"), "{wrong}");
    assert!(says(v, "#sheet-answer").await.contains("0.001"), "the range is named");
    v.fits("the link sheet, refused").await;
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn without_the_script_the_button_asks() {
    let house = House::demo().await;
    let visitor = Visitor::arrive_without_script(&house, 1280, 900).await;
    let v = &visitor;
    to_the_sheet(v).await;
    let before = says(v, "#sheet-answer").await;
    v.fill("input[name='distance_m']", "3000").await;
    assert_eq!(says(v, "#sheet-answer").await, before, "nothing happens by itself");
    // The script puts its line into the form before it listens: there is none, so nothing will.
    assert!(v.client.find(Locator::Css("form [role='status']")).await.is_err(), "the script ran");
    v.press("button.main").await;
    assert_ne!(says(v, "#sheet-answer").await, before);
    let field = v.client.find(Locator::Css("input[name='distance_m']")).await.unwrap();
    assert_eq!(field.prop("value").await.unwrap().as_deref(), Some("3000"));
    v.picture("22-sheet-wide").await;
    visitor.leave().await;
}

/// Presses Tab until the field has the focus.
async fn tab_to(v: &Visitor, name: &str) -> Element {
    for _ in 0..120 {
        let focus = v.client.active_element().await.unwrap();
        if focus.attr("name").await.unwrap().as_deref() == Some(name) {
            return focus;
        }
        focus.send_keys(&Key::Tab.to_string()).await.unwrap();
    }
    panic!("Tab never reaches {name}")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_formula_is_computed_by_keyboard_alone() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 360, 780).await;
    let v = &visitor;
    v.go("/formulas").await;
    v.fits("/formulas").await;
    v.picture("23-formulas").await;
    v.press("a[href='/formula/free-space-loss']").await;
    v.fits("/formula/free-space-loss").await;
    v.picture("24-formula").await;
    let before = says(v, "#sheet-answer .answer").await;
    // Tab to the distance, type another, send with Enter.
    let focus = tab_to(v, "distance_m").await;
    let all: String = [Key::Control.to_string(), "a".to_owned(), Key::Null.to_string()].concat();
    focus.send_keys(&all).await.unwrap();
    focus.send_keys("2000").await.unwrap();
    // Rec. ITU-R P.525-4: twice the distance is 20 log 2 = 6.02 dB more.
    let after = changed(v, "#sheet-answer .answer", &before).await;
    assert!(after.contains("106.2"), "{after}");
    focus.send_keys(&Key::Enter.to_string()).await.unwrap();
    v.client
        .wait()
        .for_url(
            &format!("{}/formula/free-space-loss?frequency_mhz=2450&distance_m=2000", house.address)
                .parse()
                .unwrap(),
        )
        .await
        .unwrap();
    assert_eq!(says(v, "#sheet-answer .answer").await, after);
    for path in ["/formula/profile-loss", "/formula/css-airtime"] {
        v.go(path).await;
        v.fits(path).await;
    }
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_is_reached_and_asked_by_keyboard_alone() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 1280, 900).await;
    let v = &visitor;
    to_the_sheet(v).await;
    let before = says(v, "#sheet-answer").await;
    let focus = tab_to(v, "distance_m").await;
    focus
        .send_keys(
            &[Key::Control.to_string(), "a".to_owned(), Key::Null.to_string(), "2500".to_owned()].concat(),
        )
        .await
        .unwrap();
    changed(v, "#sheet-answer", &before).await;
    // The focus stays where it was.
    let focus = v.client.active_element().await.unwrap();
    assert_eq!(focus.attr("name").await.unwrap().as_deref(), Some("distance_m"));
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_new_pages_fit_every_screen() {
    let house = House::demo().await;
    for width in [360, 1280] {
        let visitor = Visitor::arrive(&house, width, 900).await;
        for path in [
            "/sheet",
            "/sheet?transmitter=nobody&other=",
            "/sheet/family/Whimbrel",
            "/sheet/family/Whimbrel/868%20MHz?region=EU&distance_m=5000",
            "/sheet/family/Plover?distance_m=-5&region=Atlantis",
            "/formulas",
            "/formula/plane-earth-loss?distance_m=-5",
        ] {
            visitor.go(path).await;
            visitor.fits(path).await;
        }
        visitor.picture("25-last").await;
        visitor.leave().await;
    }
}
