//! The trail card, the closing report and the weights by the web door, asked without a socket.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod site;

use axum::http::StatusCode;
use holdfast::faults;
use register::fleet::find;
use register::id::EntryId;
use register::scene::Scene;
use register::trail::{Begun, Helped, Outcome};
use register::value::EndRef;
use site::{HOSTILE, Site, attribute, enc, error, form, words};
use trails::learn::{STRENGTH, STRENGTH_SETTING};
use trails::trail::Deed;
use units::Minutes;

/// A trail that nobody began.
const NOBODYS: &str = "0198f3c2-0000-7000-8000-000000000000";

impl Site {
    /// Begins a trail; a guest's where no codes are given.
    fn begin(&self, symptom: &str, sides: Option<(&str, &str)>, whose: &str) -> EntryId {
        self.state.use_workshop(|workshop| {
            let scene = Scene::new(workshop.register());
            let end =
                |code: &str| EndRef { device: find(&scene, code, None).unwrap(), end: "main".to_owned() };
            let begun = Begun {
                symptom: symptom.to_owned(),
                transmitter: sides.map(|(code, _)| end(code)),
                receiver: sides.map(|(_, code)| end(code)),
                whose: whose.to_owned(),
                facts: Vec::new(),
                open: Vec::new(),
            };
            faults::begin(workshop, begun).unwrap()
        })
    }

    fn does(&self, id: EntryId, deed: Deed) {
        self.state.use_workshop(|workshop| faults::write(workshop, id, deed).unwrap());
    }

    fn ends(&self, id: EntryId, cause: &str, outcome: Outcome) {
        self.state.use_workshop(|workshop| faults::end(workshop, id, cause, outcome).unwrap());
    }

    fn strength(&self) -> Option<String> {
        self.state.use_workshop(|workshop| workshop.register().setting(STRENGTH_SETTING).map(str::to_owned))
    }

    /// Sends what is typed as the strength, from the page of a symptom.
    async fn set(&self, symptom: &str, typed: &str) -> (StatusCode, String, String) {
        let page = self.get(&format!("/faults/weights?symptom={symptom}")).await;
        let sheet = form(&page, "strength");
        assert!(sheet.hidden.contains(&("symptom".to_owned(), symptom.to_owned())), "{sheet:?}");
        self.send(&sheet, &[("strength", typed)]).await
    }
}

/// What stands in the field of the strength.
fn strength_in(page: &str) -> String {
    let at = page.find("name=\"strength\"").unwrap();
    attribute(page[at..].split('>').next().unwrap(), "value")
}

/// How deep a card goes: the levels of its places.
fn depth(page: &str) -> usize {
    let list = page.split("<ol class=\"card\">").nth(1).unwrap().split("</ol>").next().unwrap();
    let mut levels = vec![(1usize, 1usize)];
    for place in list.split("<li id=\"n").skip(1) {
        let number: usize = place.split('"').next().unwrap().parse().unwrap();
        let level = levels.iter().find(|(have, _)| *have == number).unwrap().1;
        // Where a branch leads; how a step is done may stand at another place, too.
        let branches = place.split("class=\"branches\"").nth(1).unwrap_or_default();
        for to in branches.split("href=\"#n").skip(1) {
            levels.push((to.split('"').next().unwrap().parse().unwrap(), level + 1));
        }
    }
    levels.iter().map(|(_, level)| *level).max().unwrap()
}

#[tokio::test]
async fn a_card_is_as_deep_as_it_was_asked_for() {
    let site = Site::empty();
    for model in trails::library::symptoms() {
        let page = site.get(&format!("/faults/card?symptom={}", model.key)).await;
        assert!(words(&page).contains(&format!("Trail card: {}", model.name)), "{}", words(&page));
        assert!(page.contains("Begin at 1.") && depth(&page) <= 3, "{}", model.key);
    }
    // Asked for nonsense it is the usual depth, and beyond the deepest it is the deepest.
    let deepest = trails::card::DEEPEST;
    for (asked, at_most) in
        [("1", 1), ("2", 2), ("", 3), ("nonsense", 3), ("-4", 3), ("0", 1), ("99", 5), ("1e9", 3)]
    {
        let page = site.get(&format!("/faults/card?symptom=wont_pair&depth={}", enc(asked))).await;
        assert!(depth(&page) <= at_most && at_most <= deepest as usize, "{asked}: {}", depth(&page));
        let chosen =
            page.split("<option ").find(|one| one.split('>').next().unwrap().contains("selected")).unwrap();
        assert_eq!(attribute(chosen.split('>').next().unwrap(), "value"), at_most.to_string(), "{asked}");
    }
    // Without a symptom the first; with one that isn't there, a page that says so.
    assert!(words(&site.get("/faults/card").await).contains("Trail card: Won't pair or link"));
    for path in ["/faults/card?symptom=nonsense", "/faults/weights?symptom=nonsense"] {
        let (status, page, _) = site.look(path).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        assert!(page.contains("class=\"main\""), "{path} is a dead end");
    }
    for hostile in HOSTILE {
        for path in
            ["/faults/card?symptom=", "/faults/weights?symptom=", "/faults/card?symptom=wont_pair&depth="]
        {
            let (status, page, _) = site.look(&format!("{path}{}", enc(hostile))).await;
            assert_ne!(status, StatusCode::INTERNAL_SERVER_ERROR, "{path}");
            assert!(!page.contains(hostile), "{path}: {hostile}");
        }
    }
}

#[tokio::test]
async fn a_trails_card_goes_on_from_where_it_stands() {
    let site = Site::demo();
    let id = site.begin("wont_pair", None, "");
    let fresh = site.get(&format!("/fault/{id}/card")).await;
    assert!(words(&fresh).contains("after nothing yet on the trail"), "{}", words(&fresh));
    let places = |page: &str| {
        page.split("<ol class=\"card\">").nth(1).unwrap().split("</ol>").next().unwrap().to_owned()
    };
    let first = words(&places(&fresh)).split_once('?').unwrap().0.to_owned();
    assert!(first.contains("same band"), "{first}");
    let band = Deed::Answer { step: "see_bands".to_owned(), answer: "good".to_owned(), facts: Vec::new() };
    site.does(id, band);
    let after = site.get(&format!("/fault/{id}/card?depth=2")).await;
    assert!(words(&after).contains("after 1 thing done on the trail"), "{}", words(&after));
    assert!(!places(&after).contains(&first), "what was answered is asked again");
    assert!(
        after.contains(&format!("action=\"/fault/{id}/card\"")),
        "another depth is asked of the same trail"
    );
    // Registered gear is named; a trail that isn't there is said.
    let own = site.begin("short_range", Some(("T1", "R2")), "");
    let page = site.get(&format!("/fault/{own}/card")).await;
    assert!(words(&page).contains("Copper Kettle"), "{}", words(&page));
    for path in ["card", "report"] {
        for id in ["nonsense", NOBODYS, "%3Cscript%3E"] {
            let (status, page, _) = site.look(&format!("/fault/{id}/{path}")).await;
            assert_eq!(status, StatusCode::NOT_FOUND, "{id}/{path}");
            assert!(page.contains("class=\"main\""), "{id}/{path} is a dead end");
        }
    }
}

#[tokio::test]
async fn a_report_follows_a_trail_from_open_to_closed_and_is_gone_with_the_guest() {
    let site = Site::empty();
    let id = site.begin("short_range", None, HOSTILE[0]);
    let path = format!("/fault/{id}/report");
    let page = site.get(&path).await;
    assert!(words(&page).contains("This trail is still open."), "{}", words(&page));
    assert!(words(&page).contains(HOSTILE[0]), "whose gear it is stands in the report");
    for hostile in HOSTILE {
        let deed = Deed::Elsewise {
            text: hostile.to_owned(),
            minutes: Minutes(2.5),
            changed: hostile.to_owned(),
            helped: Helped::No,
        };
        site.does(id, deed);
    }
    let page = site.get(&path).await;
    for hostile in HOSTILE {
        assert!(!page.contains(hostile), "{hostile}");
    }
    let text = words(&page);
    assert!(text.contains("<script>") && text.contains("⟨U+202E⟩nwot"), "{text}");
    assert!(text.contains("don't fly before it is") && text.contains("7.5 min"), "{text}");
    for at in 1..=HOSTILE.len() {
        let change = format!("elsewise-{at}");
        site.does(id, if at == 1 { Deed::PutBack { change } } else { Deed::Accepted { change } });
    }
    site.ends(id, "", Outcome::GaveUp);
    let page = site.get(&path).await;
    let text = words(&page);
    assert!(text.contains("It ended without a cure: given up. What it was is not known."), "{text}");
    assert!(text.contains("stays, accepted by name.") && text.contains("put back."), "{text}");
    assert!(!text.contains("don't fly before it is"), "{text}");
    assert!(text.contains("Not tried:") && text.contains("What it most likely is"), "{text}");
    site.state.use_workshop(|workshop| faults::forget(workshop, id).unwrap());
    let (status, page, _) = site.look(&path).await;
    assert_eq!(status, StatusCode::NOT_FOUND);
    assert!(!words(&page).contains("nwot"));
}

#[tokio::test]
async fn nonsense_for_the_strength_is_said_at_its_field_and_nothing_is_lost() {
    let site = Site::empty();
    let before = site.entries();
    for typed in [
        "nonsense", "nan", "inf", "-inf", "-5", "0", "1e300", "1000001", "3 cases", "<b>4</b>", "10; 20", "٣",
    ] {
        let (status, page, _) = site.set("drops_out", typed).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}: {}", words(&page));
        let says = error(&page, "strength", "strength");
        assert!(says.contains("must be a number from 1 to"), "{typed}: {says}");
        assert_eq!(strength_in(&page), typed, "what was typed stays");
        assert!(page.contains("aria-invalid=\"true\"") && !page.contains("<b>4"), "{typed}");
        // The page is still that of the symptom, with its table.
        assert!(words(&page).contains("Weights: Drops out") && page.contains("<table"), "{}", words(&page));
    }
    assert_eq!(site.entries(), before, "something was written");
    assert_eq!(site.strength(), None);
    // A token that is missing writes nothing, either.
    let (status, _, _) = site.post("/faults/weights", "form=strength&symptom=drops_out&strength=12").await;
    assert_eq!(status, StatusCode::FORBIDDEN);
    assert_eq!(site.entries(), before);
}

#[tokio::test]
async fn the_strength_is_set_and_the_weights_follow() {
    let site = Site::empty();
    for _ in 0..6 {
        let id = site.begin("wont_pair", None, "");
        site.ends(id, "receiver_dead", Outcome::GaveUp);
    }
    let now = |page: &str| {
        let row = page.split("<tr>").find(|row| words(row).starts_with("The receiver is broken")).unwrap();
        let cells: Vec<String> =
            row.split("<td>").skip(1).map(|cell| words(cell.split("</td>").next().unwrap())).collect();
        assert_eq!(cells[1], "6", "{cells:?}");
        cells[2].trim_end_matches('%').trim_end_matches('\u{a0}').parse::<f64>().unwrap()
    };
    let page = site.get("/faults/weights?symptom=wont_pair").await;
    assert_eq!(strength_in(&page), STRENGTH.to_string());
    let mut last = now(&page);
    // The less the library counts for, the more six cases say. A decimal comma is read as one.
    for (typed, kept) in [(" 12,5 ", "12.5"), ("2", "2")] {
        let (status, page, to) = site.set("wont_pair", typed).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{typed}: {}", words(&page));
        assert!(to.starts_with("/faults/weights?symptom=wont_pair"), "{to}");
        assert_eq!(site.strength().as_deref(), Some(kept));
        let page = site.get("/faults/weights?symptom=wont_pair").await;
        assert_eq!(strength_in(&page), kept);
        let weight = now(&page);
        assert!(weight > last, "{typed}: {weight} after {last}");
        last = weight;
    }
    // Six of eight are this workshop's own: (6 + 2 * a small share) / 8.
    assert!((74.0..78.0).contains(&last), "{last}");
    // Emptied, it is the usual one again.
    let (status, _, _) = site.set("wont_pair", "  ").await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    assert_eq!(site.strength(), None);
    let page = site.get("/faults/weights?symptom=wont_pair").await;
    assert_eq!(strength_in(&page), STRENGTH.to_string());
    // A symptom that a sender makes up leads to no page but a way on.
    let form = page.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let body = format!("token={form}&form=strength&symptom={}&strength=30", enc("//evil.example/?\r\nx"));
    let (status, _, to) = site.post("/faults/weights", &body).await;
    assert!(
        status == StatusCode::SEE_OTHER && to.starts_with("/faults/weights?symptom=")
            || status.is_client_error()
    );
    assert!(!to.contains("//") && !to.contains("evil.example"), "{to}");
}
