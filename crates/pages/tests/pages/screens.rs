//! What looking at the pages on a phone and on a bench screen brought up.

use pages::form::Typed;
use pages::sheet::{DeviceSheet, IdCollision, IdPlace, IdsSheet, MatrixSheet};
use register::fleet::Fleet;
use register::mend::mends;
use register::scene::Scene;
use units::Minutes;

use crate::fleet::{self, R1, R2, R3, T1, now};
use crate::{card_of, link_page, site};

#[test]
fn a_refused_reading_shows_its_form_again_and_opens_there() {
    let book = fleet::small();
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let typed = Typed {
        form: "reading".to_owned(),
        values: [("part", "end:main"), ("field", "model_id"), ("value", "9999999")]
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
            .to_vec(),
        errors: vec![("value".to_owned(), "This is outside the IDs.".to_owned())],
    };
    let device = scene.device(R1).unwrap();
    let page = pages::device::page(&site("/device"), &scene, &fleet, device, &DeviceSheet::default(), &typed)
        .into_string();
    assert!(page.contains("This is outside the IDs.") && page.contains("value=\"9999999\""), "{page}");
    assert_eq!(page.matches(" autofocus").count(), 1);
    let input = page.split("<input").find(|input| input.contains("value=\"9999999\"")).unwrap();
    assert!(input.split('>').next().unwrap().contains(" autofocus"), "{input}");
}

#[test]
fn the_quickest_way_is_said_once_and_has_the_button() {
    let book = fleet::small();
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let link = fleet.link(&scene, T1, R2).unwrap();
    let (transmitter, receiver) = (fleet.transmitter(T1).unwrap(), fleet.receiver(R2).unwrap());
    let all = mends(&scene, &fleet, transmitter, receiver, &link, now());
    let page = link_page(&scene, &fleet, T1, R2, &Typed::none());
    let quickest = page.split("id=\"plan\"").nth(1).unwrap().split("</section>").next().unwrap();
    assert!(quickest.contains("I did this") && quickest.contains("main-action"), "{quickest}");
    // The first words of a step, up to what would be escaped.
    let first = all[0].steps[0].text.split(['\'', '(']).next().unwrap();
    assert!(quickest.contains(first), "{first}: {quickest}");
    assert_eq!(page.matches("<button").count() - page.matches("Write it down</button").count(), all.len());
    for at in 0..all.len() {
        assert!(page.contains(&format!("name=\"index\" value=\"{at}\"")), "mend {at} has its form");
    }
}

#[test]
fn certain_collisions_stand_open_and_possible_ones_are_folded_by_receiver() {
    let book = fleet::small();
    let scene = Scene::new(&book.register);
    let collision = |text: &str, certain: bool, receiver| IdCollision {
        text: text.to_owned(),
        certain,
        places: [T1, receiver]
            .map(|id| IdPlace {
                device: card_of(&scene, id),
                part: String::new(),
                holds: String::new(),
                aircraft: None,
            })
            .to_vec(),
    };
    let sheet = IdsSheet {
        held: 5,
        collisions: vec![
            collision("Maybe one.", false, R3),
            collision("Surely.", true, R1),
            collision("Maybe two.", false, R3),
            collision("Maybe three.", false, R2),
        ],
        unchecked: Vec::new(),
        steps: Vec::new(),
        minutes: Minutes::ZERO,
        stuck: Vec::new(),
    };
    let page = pages::ids::page(&site("/ids"), &sheet).into_string();
    let main = page.split("<main").nth(1).unwrap();
    assert!(main.contains("1 collision and 3 possible; no change is proposed."), "{main}");
    assert!(main.find("Surely.") < main.find("Maybe one."), "{main}");
    assert!(main.contains("2 more are possible") && main.contains("1 more is possible"), "{main}");
    let folded = main.split("<details>").nth(1).unwrap().split("</details>").next().unwrap();
    assert!(folded.contains("Maybe one.") && folded.contains("Maybe two."), "{folded}");
    assert!(!folded.contains("Maybe three."), "{folded}");
}

#[test]
fn an_empty_matrix_leads_on() {
    let sheet = MatrixSheet {
        query: pages::sheet::LinksQuery::default(),
        transmitters: Vec::new(),
        transmitters_total: 0,
        rows: Vec::new(),
        rows_total: 0,
        per_page: 50,
        families: Vec::new(),
    };
    let page = pages::links::matrix(&site("/matrix"), &sheet, &Typed::none()).into_string();
    assert!(page.contains("There is nothing to compare yet.") && page.contains("Import a list"), "{page}");
}
