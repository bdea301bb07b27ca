//! Commissioning by the web door: parts written by form and by text, proofs, work, signatures, cards.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod site;

use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use holdfast::web::{Door, app};
use site::{HOST, HOSTILE, Site, error, form, forms, words};
use tower::ServiceExt as _;

const PARTS: [&str; 4] = ["outputs", "supply", "failsafe", "antennas"];

impl Site {
    /// The bytes of a page that is no text.
    async fn bytes(&self, path: &str) -> (StatusCode, String, Vec<u8>) {
        let request = Request::get(path).header("host", HOST).body(Body::empty()).unwrap();
        let response = app(self.state.clone(), Door::Loopback).oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let sort = parts.headers.get("content-type").map(|one| one.to_str().unwrap().to_owned());
        (parts.status, sort.unwrap_or_default(), to_bytes(body, 100 << 20).await.unwrap().to_vec())
    }
}

/// The item of the list with this key.
fn item(page: &str, key: &str) -> String {
    let piece = page.split(&format!("id=\"item-{key}\"")).nth(1);
    let piece = piece.unwrap_or_else(|| panic!("no item {key}: {}", words(page)));
    words(piece.split("id=\"item-").next().unwrap())
}

#[tokio::test]
async fn every_page_of_commissioning_is_there_for_every_aircraft_of_the_demo() {
    let site = Site::demo();
    let fleet = site.get("/commission").await;
    let says = words(&fleet);
    assert!(says.contains("First thing to do") && says.contains("A1"), "{says}");
    let table = words(&site.get("/commission/table").await).to_lowercase();
    for rule in fitting::commission::lapse::rules() {
        assert!(table.contains(&rule.what.to_lowercase()), "{}", rule.what);
    }
    for code in ["A1", "A2", "A3", "A5", "A19"] {
        let id = site.id(code);
        let page = site.get(&format!("/device/{id}/commission")).await;
        for proof in ["directions", "failsafe", "range", "supply"] {
            let sheet = form(&page, &format!("prove-{proof}"));
            assert_eq!(sheet.action, format!("/device/{id}/prove"));
        }
        for part in PARTS {
            let page = site.get(&format!("/device/{id}/{part}")).await;
            assert!(!words(&page).to_lowercase().contains(" is safe"), "{code} {part}");
        }
        let device = site.get(&format!("/device/{id}")).await;
        assert!(device.contains(&format!("/device/{id}/commission")), "{code}");
        for of in ["bench", "field"] {
            for size in ["a4", "a6"] {
                let query = format!("?of={of}&size={size}");
                let page = site.get(&format!("/device/{id}/card{query}")).await;
                assert!(
                    page.contains(&format!("paper-{size}")) && page.contains("<svg class=\"square\""),
                    "{code}"
                );
                let (status, sort, bytes) = site.bytes(&format!("/device/{id}/card.pdf{query}")).await;
                assert_eq!((status, sort.as_str()), (StatusCode::OK, "application/pdf"));
                assert!(bytes.starts_with(b"%PDF-") && bytes.len() > 2_000, "{code} {of} {size}");
            }
        }
    }
}

#[tokio::test]
async fn a_part_is_written_by_its_form_row_by_row() {
    let site = Site::demo();
    let id = site.id("A2");
    let address = format!("/device/{id}/outputs");
    let sheet = form(&site.get(&address).await, "fit");
    let before = site.entries();
    // A row more: nothing is written, what was typed stays.
    let typed = [("transmitter.1.label", "T9"), ("output.1.number", "2x"), ("row", "add.output")];
    let (status, page, _) = site.send(&sheet, &typed).await;
    assert_eq!((status, site.entries()), (StatusCode::OK, before));
    assert!(page.contains("name=\"output.2.number\"") && page.contains("value=\"2x\""), "{}", words(&page));
    // A row less.
    let typed = [("output.1.number", "1"), ("output.2.number", "7"), ("row", "take.output.1")];
    let (_, page, _) = site.send(&sheet, &typed).await;
    assert!(
        page.contains("name=\"output.1.number\" value=\"7\"") && !page.contains("name=\"output.2.number\"")
    );
    // What is wrong stands at its field, also what is wrong between cells; nothing is lost.
    let typed = [("output.1.number", "2x"), ("output.1.channel", "3"), ("part.1.name", "a servo")];
    let (status, page, _) = site.send(&sheet, &typed).await;
    assert_eq!((status, site.entries()), (StatusCode::UNPROCESSABLE_ENTITY, before));
    assert!(error(&page, "fit", "output.1.number").contains("whole number"), "{}", words(&page));
    assert!(error(&page, "fit", "part.1.output").contains("missing"));
    assert!(page.contains("value=\"a servo\"") && page.contains("value=\"2x\""));
    // An empty row between is passed over: the error stands at the row that is shown.
    let typed = [
        ("output.1.number", ""),
        ("output.2.number", "2"),
        ("output.2.channel", "3"),
        ("output.2.low_us", "1900"),
        ("output.2.high_us", "1200"),
    ];
    let (status, page, _) = site.send(&sheet, &typed).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("id=\"f-fit-output-1-") && page.contains("-error\">"), "{}", words(&page));
    // Nothing at all isn't a way to take it away.
    let (status, page, _) = site.send(&sheet, &[("output.1.number", " ")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&page).contains("Nothing is filled in yet"));
    // Right at last.
    let typed = [
        ("output.1.number", "2"),
        ("output.1.channel", "3"),
        ("part.1.name", "a servo"),
        ("part.1.output", "2"),
    ];
    let page = site.done(&sheet, &typed).await;
    assert_eq!(site.entries(), before + 1);
    assert!(
        words(&page).contains("The outputs are written down.")
            && page.contains("<svg class=\"chart wiring\"")
    );
    // The text is the same; it can be changed there, and taken away.
    let sheet = form(&page, "text");
    let (status, page, _) = site.send(&sheet, &[("text", "[[output]]\nnumber = \"two\"\n")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "text", "text").contains("the text:2"), "{}", error(&page, "text", "text"));
    assert!(page.contains("number = &quot;two&quot;"));
    let page = site.done(&sheet, &[("text", "[[output]]\r\nnumber = 5\r\nchannel = 6\r\n")]).await;
    assert!(page.contains("name=\"output.1.number\" value=\"5\""), "{}", words(&page));
    let page = site.done(&form(&page, "clear"), &[]).await;
    assert!(words(&page).contains("nothing is written down yet"));
    assert!(!forms(&page).iter().any(|(key, _)| key == "clear"));
}

#[tokio::test]
async fn a_proof_is_done_lapses_by_work_and_is_signed() {
    let site = Site::demo();
    let id = site.id("A1");
    let list = format!("/device/{id}/commission");
    let page = site.get(&list).await;
    let range = form(&page, "prove-range");
    // How it went must be said; figures must be some.
    let (status, wrong, _) = site.send(&range, &[("distance_m", "45")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(error(&wrong, "prove-range", "went"), "Say how it went.");
    assert!(wrong.contains("value=\"45\""));
    for (typed, field) in [("far", "distance_m"), ("-3", "distance_m"), ("90000", "distance_m")] {
        let (status, wrong, _) = site.send(&range, &[("went", "held"), (field, typed)]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}");
        assert!(!error(&wrong, "prove-range", field).is_empty());
    }
    let (status, wrong, _) = site.send(&range, &[("went", "held"), ("seen", "2199-01-01")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&wrong, "prove-range", "seen").contains("future"), "{}", words(&wrong));
    let (status, _, _) = site.send(&range, &[("went", "held"), ("step", "made-up")]).await;
    assert_eq!(status, StatusCode::BAD_REQUEST);
    // Held, with a decimal comma.
    let typed = [("went", "held"), ("distance_m", "47,5"), ("reduction_db", "20")];
    let page = site.done(&range, &typed).await;
    assert!(words(&page).contains("Written down: the range check held."));
    assert!(item(&page, "proof-range").contains("47.5"), "{}", item(&page, "proof-range"));
    assert!(item(&page, "proof-range").contains("Checked"));
    // Signed, with what isn't checked named.
    let page = site.done(&form(&page, "sign"), &[("note", "for Sunday")]).await;
    assert!(words(&page).contains("Signed: ") && words(&page).contains("for Sunday"));
    // Work makes it lapse, and says so at once; the signature no longer stands.
    let page = site.done(&form(&page, "did"), &[("work", "antenna"), ("note", "moved to the fin")]).await;
    assert!(words(&page).contains("By it lapse: "), "{}", words(&page));
    let now = item(&page, "proof-range");
    assert!(now.contains("Lapsed") && now.contains("moved to the fin"), "{now}");
    assert!(words(&page).contains("No longer so: "), "{}", words(&page));
    // A check that did not hold.
    let typed = [("went", "failed"), ("note", "control lost at 12 m")];
    let page = site.done(&form(&page, "prove-range"), &typed).await;
    let now = item(&page, "proof-range");
    assert!(now.contains("Did not hold") && now.contains("control lost at 12 m"), "{now}");
}

#[tokio::test]
async fn work_is_noted_on_any_device_and_a_flying_day_on_the_workshop() {
    let site = Site::demo();
    let (r, t) = (site.id("R1"), site.id("T1"));
    for (id, work) in [(&r, "antenna"), (&t, "rf-module")] {
        let page = site.get(&format!("/device/{id}")).await;
        let before = site.entries();
        let sheet = form(&page, "did");
        let (status, page, _) = site.send(&sheet, &[("work", "motor")]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{}", words(&page));
        assert!(!error(&page, "did", "work").is_empty());
        let (status, _, _) = site.send(&sheet, &[]).await;
        assert_eq!((status, site.entries()), (StatusCode::UNPROCESSABLE_ENTITY, before));
        let page = site.done(&sheet, &[("work", work)]).await;
        assert!(words(&page).contains("Noted: ") && site.entries() == before + 1, "{}", words(&page));
    }
    let page = site.done(&form(&site.get("/commission").await, "did"), &[]).await;
    assert!(words(&page).contains("Noted: flying day began."), "{}", words(&page));
}

#[tokio::test]
async fn labels_are_chosen_printed_and_made_a_pdf_of() {
    let site = Site::demo();
    let id = site.id("R1");
    let page = site.get(&format!("/labels?d={id}")).await;
    let ticked = page.split("<input").find(|tag| tag.contains(&format!("value=\"{id}\""))).unwrap();
    assert!(ticked.split('>').next().unwrap().contains("checked"), "{ticked}");
    let one = site.get(&format!("/labels/print?d={id}")).await;
    assert_eq!(one.matches("<svg class=\"square\"").count(), 1);
    assert!(one.contains(&format!("href=\"/labels.pdf?d={id}\"")));
    // None chosen: every receiver and transmitter.
    let all = site.get("/labels/print").await;
    let count = site.state.use_workshop(|workshop| {
        let fleet = workshop.fleet();
        fleet.receivers.len() + fleet.transmitters.len()
    });
    assert_eq!(all.matches("<svg class=\"square\"").count(), count.min(240));
    for query in [format!("?d={id}"), "?d=R1&d=T1".to_owned()] {
        let (status, sort, bytes) = site.bytes(&format!("/labels.pdf{query}")).await;
        assert_eq!((status, sort.as_str()), (StatusCode::OK, "application/pdf"));
        assert!(bytes.starts_with(b"%PDF-"));
    }
}

#[tokio::test]
async fn settings_say_what_labels_carry_and_when_a_day_begins() {
    let site = Site::demo();
    let sheet = form(&site.get("/settings").await, "settings");
    let typed = [
        ("share.address", "ftp://bench.local"),
        ("commission.utc_offset_hours", "fifteen"),
        ("name", "Kept"),
    ];
    let (status, page, _) = site.send(&sheet, &typed).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "settings", "share.address").contains("http://"), "{}", words(&page));
    assert!(error(&page, "settings", "commission.utc_offset_hours").contains("-14 to 14"));
    assert!(page.contains("value=\"fifteen\"") && page.contains("value=\"Kept\""));
    let typed = [("share.address", "http://bench.local:7717/"), ("commission.utc_offset_hours", "-5")];
    site.done(&sheet, &typed).await;
    let id = site.id("R1");
    let set = site.state.use_workshop(|workshop| {
        let (register, fleet) = (workshop.register(), workshop.fleet());
        let address = holdfast::fittings::address(register);
        let labels = holdfast::fittings::labels(register, fleet, &[id.parse().unwrap()], address.as_deref());
        (
            labels.unwrap()[0].code.text.clone(),
            register.setting("commission.utc_offset_hours").map(str::to_owned),
        )
    });
    assert!(set.0.ends_with(&format!("http://bench.local:7717/device/{id}")), "{}", set.0);
    assert_eq!(set.1.as_deref(), Some("-5"));
}

#[tokio::test]
async fn a_proof_holds_with_all_of_its_steps_or_none_named() {
    let site = Site::demo();
    let id = site.id("A1");
    let sheet = form(&site.get(&format!("/device/{id}/commission")).await, "prove-range");
    let before = site.entries();
    let step = fitting::failsafe::proof_steps(
        fitting::failsafe::Sort::Aeroplane,
        fitting::failsafe::Power::Electric,
        register::fit::Proof::Range,
    )[0]
    .key;
    let (status, page, _) = site.send(&sheet, &[("step", step), ("went", "held")]).await;
    assert_eq!((status, site.entries()), (StatusCode::UNPROCESSABLE_ENTITY, before));
    assert!(words(&page).contains("every step was carried out"), "{}", words(&page));
    site.done(&sheet, &[("step", step), ("went", "failed"), ("note", "gave up in the rain")]).await;
    assert_eq!(site.entries(), before + 1);
}

#[tokio::test]
async fn what_makes_no_sense_is_refused_with_a_way_on_and_writes_nothing() {
    let site = Site::demo();
    let (a, r) = (site.id("A1"), site.id("R1"));
    let before = site.entries();
    let cases = [
        (format!("/device/{r}/commission"), StatusCode::NOT_FOUND),
        (format!("/device/{r}/outputs"), StatusCode::NOT_FOUND),
        ("/device/nobody/commission".to_owned(), StatusCode::NOT_FOUND),
        (format!("/device/{a}/commission?t=nobody"), StatusCode::NOT_FOUND),
        (format!("/device/{a}/card?of=wall"), StatusCode::BAD_REQUEST),
        (format!("/device/{a}/card?size=a3"), StatusCode::BAD_REQUEST),
        (format!("/device/{a}/card.pdf?size=a3"), StatusCode::BAD_REQUEST),
        (format!("/device/{r}/card"), StatusCode::NOT_FOUND),
        ("/labels/print?d=nobody".to_owned(), StatusCode::NOT_FOUND),
        ("/commission?page=999".to_owned(), StatusCode::OK),
        (format!("/device/{a}/supply?case=999"), StatusCode::OK),
        (format!("/device/{a}/supply?case=x"), StatusCode::OK),
    ];
    for (path, want) in cases {
        let (status, page, _) = site.look(&path).await;
        assert_eq!(status, want, "{path}: {}", words(&page));
        assert!(page.contains("href=\"/\""), "{path}");
    }
    let sheet = form(&site.get(&format!("/device/{a}/supply")).await, "fit");
    for row in ["add.engine", "take.pack", "take.pack.x", "", "add.pack.1", "drop.pack.1"] {
        let (status, _, _) = site.send(&sheet, &[("row", row)]).await;
        assert_eq!(status, StatusCode::BAD_REQUEST, "{row}");
    }
    // A form without this server's token.
    for to in ["prove", "did", "sign", "outputs", "outputs/text", "outputs/clear"] {
        let (status, _, _) = site.post(&format!("/device/{a}/{to}"), "token=other&went=held").await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{to}");
    }
    // A place that the part doesn't have.
    let (status, page, _) = site.send(&sheet, &[("pack.1.colour", "red"), ("pack.1.cells", "3")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&page).contains("pack.1.colour"));
    assert_eq!(site.entries(), before);
}

#[tokio::test]
async fn what_is_typed_stays_text_on_every_page() {
    let site = Site::demo();
    let id = site.id("A2");
    for hostile in HOSTILE {
        let typed = [
            ("part.1.name", hostile),
            ("part.1.output", "1"),
            ("output.1.number", "1"),
            ("output.1.channel", "1"),
        ];
        let sheet = form(&site.get(&format!("/device/{id}/outputs")).await, "fit");
        let mut pages = vec![site.done(&sheet, &typed).await];
        let list = site.get(&format!("/device/{id}/commission")).await;
        pages.push(site.done(&form(&list, "did"), &[("work", "servo"), ("note", hostile)]).await);
        pages.push(site.done(&form(&list, "sign"), &[("note", hostile)]).await);
        for path in ["card?of=bench", "card?of=field"] {
            pages.push(site.get(&format!("/device/{id}/{path}")).await);
        }
        for page in pages {
            assert!(!page.contains("<script>alert") && !page.contains("<img src=x"), "{hostile}");
        }
    }
}

/// A square holds the address of the device's page where sharing has set one, and never a link secret.
#[tokio::test]
async fn a_label_names_the_address_of_its_page() {
    let site = Site::demo();
    let id = site.id("R1");
    let path = format!("/labels/print?d={id}");
    let square =
        |page: &str| site::attribute(page.split("<svg class=\"square\"").nth(1).unwrap(), "aria-label");
    assert!(!square(&site.get(&path).await).contains("/device/"));
    site.state.use_workshop(|workshop| {
        let body = register::entry::Body::Setting {
            key: holdfast::fittings::ADDRESS.to_owned(),
            value: Some("http://192.0.2.7:7420/".to_owned()),
        };
        let subject = register::id::DeviceId::WORKSHOP;
        let draft = register::entry::Draft { seen: holdfast::workshop::now(), subject, body };
        workshop.record(&[draft], &[]).unwrap();
    });
    let page = site.get(&path).await;
    assert!(square(&page).contains(&format!("http://192.0.2.7:7420/device/{id}")), "{}", square(&page));
    for secret in holdfast::demo::SECRETS {
        assert!(!page.contains(secret));
    }
}
