//! Every page, drawn from what the engine says about a small fleet.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod check;
mod fault_papers;
mod faults;
mod fit;
mod fleet;
mod formulas;
mod hostile;
mod radio;
mod refits;
mod samples;
mod screens;

use register::check::checks;
use register::effect::what_if;
use register::family::{read, shipped};
use register::field::{Field, Part, Sort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::mend::mends;
use register::plan;
use register::rule::Rule;
use register::scene::{Change, Scene};
use register::spares::spares;
use register::today::today;
use register::value::Value;
use register::verdict::Link;
use register::view::Card;
use units::Minutes;

use pages::family::FamilySheet;
use pages::form::Typed;
use pages::link::LinkSheet;
use pages::sheet::{
    Cord, DeviceSheet, DevicesSheet, Edit, HistorySheet, IdsSheet, LinksQuery, LinksSheet, LogLine, Phone,
    Progress, SharingSheet, WayOn, WhatIfAnswer,
};
use pages::site::{Mood, Notice, Site};

use fleet::{HERON, Logbook, R1, R2, R3, R4, T1, T2, WREN, now};
use samples::{devices_sheet, ids_sheet, links_sheet, mapping_sheet, matrix_sheet, preview, settings};

fn site(path: &str) -> Site {
    Site {
        workshop_name: "Sandbank club".to_owned(),
        shared: false,
        is_host: true,
        form_token: "token-of-this-page".to_owned(),
        now: now(),
        notice: None,
        path: path.to_owned(),
    }
}

fn log_lines(book: &Logbook, subject: Option<DeviceId>) -> Vec<LogLine> {
    book.lines
        .iter()
        .rev()
        .filter(|(stamp, _)| subject.is_none_or(|id| stamp.subject == id))
        .map(|(stamp, body)| LogLine {
            stamp: *stamp,
            body: body.clone(),
            author: "Kim".to_owned(),
            struck: false,
            erased: false,
            kind: "reading".to_owned(),
        })
        .collect()
}

fn link_page(scene: &Scene, fleet: &Fleet, t: DeviceId, r: DeviceId, typed: &Typed) -> String {
    let link = fleet.link(scene, t, r).unwrap();
    let transmitter = fleet.transmitter(link.transmitter.id).unwrap();
    let receiver = fleet.receiver(link.receiver.id).unwrap();
    let plan = plan::plan(scene, &link, now());
    let sheet = LinkSheet {
        link: &link,
        checks: &checks(scene, transmitter, receiver, &link),
        mends: &mends(scene, fleet, transmitter, receiver, &link, now()),
        plan: plan.as_ref(),
        family: scene.register.family("whimbrel").map(AsRef::as_ref),
    };
    pages::link::page(&site("/link"), scene, fleet, &sheet, typed).into_string()
}

fn links(scene: &Scene, fleet: &Fleet) -> Vec<Link> {
    [T1, T2].iter().flat_map(|t| [R1, R2, R3, R4].map(|r| fleet.link(scene, *t, r).unwrap())).collect()
}

type Named = Vec<(&'static str, String)>;

/// Every page, by name.
fn all_pages(book: &Logbook) -> Named {
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let mut pages = pages_of_links(&scene, &fleet);
    pages.extend(pages_of_devices(book, &scene, &fleet));
    pages.extend(pages_of_work(book, &scene, &fleet));
    pages.extend(pages_without_fleet());
    pages
}

fn card_of(scene: &Scene, id: DeviceId) -> Card {
    register::view::card(scene.device(id).unwrap())
}

fn pages_of_links(scene: &Scene, fleet: &Fleet) -> Named {
    let none = Typed::none();
    let links = links(scene, fleet);
    let card = |id: DeviceId| card_of(scene, id);
    let query = LinksQuery {
        rule: Some(Rule::Version),
        transmitter: "T1".to_owned(),
        page: 2,
        ..LinksQuery::default()
    };
    let cords: Vec<Cord> = links.iter().filter(|link| link.wanted).map(Cord::of).collect();
    let sheet = links_sheet(&query, &links);
    let matrix = matrix_sheet(&query, &links, &card);
    vec![
        ("today", pages::today::page(&site("/"), &today(scene, fleet, now())).into_string()),
        ("cords", pages::cords::page(&site("/cords"), &cords, false).into_string()),
        ("links", pages::links::page(&site("/links"), &sheet, &none).into_string()),
        ("matrix", pages::links::matrix(&site("/matrix"), &matrix, &none).into_string()),
        ("link-blocked", link_page(scene, fleet, T1, R2, &none)),
        ("link-unknown", link_page(scene, fleet, T1, R4, &none)),
        ("link-links", link_page(scene, fleet, R1, T1, &none)),
    ]
}

fn pages_of_devices(book: &Logbook, scene: &Scene, fleet: &Fleet) -> Named {
    let none = Typed::none();
    let links = links(scene, fleet);
    let card = |id: DeviceId| card_of(scene, id);
    let page = |id: DeviceId, edit: Option<Edit>| {
        let sheet = DeviceSheet {
            links: &links[..2],
            links_total: 8,
            log: log_lines(book, Some(id)),
            log_goes_on: true,
            edit,
            commission: None,
        };
        let device = scene.device(id).unwrap();
        pages::device::page(&site("/device"), scene, fleet, device, &sheet, &none).into_string()
    };
    let new = |sort| pages::device::new(&site("/device/new"), scene, fleet, sort, &none).into_string();
    let main = |field| Some(Edit { part: Part::End(Part::MAIN.to_owned()), field });
    vec![
        ("receivers", pages::devices::page(&site("/receivers"), &devices_sheet(&card)).into_string()),
        ("device-transmitter", page(T1, None)),
        ("device-receiver", page(R4, main(Field::Partners))),
        ("device-secret", page(R1, main(Field::Secret))),
        ("device-aircraft", page(WREN, Some(Edit { part: Part::Whole, field: Field::State }))),
        ("new-transmitter", new(Sort::Transmitter)),
        ("new-receiver", new(Sort::Receiver)),
        ("new-aircraft", new(Sort::Aircraft)),
    ]
}

fn pages_of_work(book: &Logbook, scene: &Scene, fleet: &Fleet) -> Named {
    let none = Typed::none();
    let card = |id: DeviceId| card_of(scene, id);
    let register = &book.register;
    let whimbrel = register.family("whimbrel").unwrap();
    let family = FamilySheet { name: "Whimbrel", family: Some(whimbrel), problems: &[], users: &[card(T1)] };
    let change = Change::Set {
        device: T1,
        part: Part::End(Part::MAIN.to_owned()),
        field: Field::Firmware,
        value: Value::Text("3.0".to_owned()),
    };
    let effect = what_if(scene, fleet, &[change], now());
    let supposed = WhatIfAnswer { supposed: "T1 holds firmware 3.0.".to_owned(), new_device: None };
    let answer = Some((&supposed, &effect));
    let fit = spares(scene, fleet, HERON, now());
    let history = HistorySheet {
        lines: log_lines(book, None).into_iter().take(12).collect(),
        total: 1234,
        older: Some("/history?before=5".to_owned()),
        newer: None,
    };
    let ids = ids_sheet(scene, fleet, &card);
    vec![
        ("families", pages::family::list(&site("/families"), register, &["Dunlin".to_owned()]).into_string()),
        ("family", pages::family::page(&site("/family/Whimbrel"), &family).into_string()),
        ("spares", pages::spares::page(&site("/spares"), &card(HERON), &fit).into_string()),
        ("whatif", pages::whatif::page(&site("/whatif"), scene, fleet, &none, answer).into_string()),
        ("history", pages::history::page(&site("/history"), scene, &history).into_string()),
        ("ids", pages::ids::page(&site("/ids"), &ids).into_string()),
    ]
}

/// Pages that show nothing of the fleet.
fn pages_without_fleet() -> Named {
    let none = Typed::none();
    let (file, text) = shipped::demo_families()[1];
    let typed = Typed {
        form: "family".to_owned(),
        values: pages::family_form::from_family(&read::read(file, text).unwrap()),
        errors: vec![("band[1].low_mhz".to_owned(), "is 2483.5, not below high_mhz".to_owned())],
    };
    let sharing = SharingSheet {
        on: true,
        addresses: vec!["http://192.0.2.7:7420/".to_owned()],
        code: Some(("482 913".to_owned(), now())),
        phones: vec![Phone { name: "192.0.2.9".to_owned(), since: now() }],
    };
    let shared = Site {
        shared: true,
        notice: Some(Notice { mood: Mood::Good, text: "A code was made.".to_owned() }),
        ..site("/sharing")
    };
    let phone = Site { is_host: false, shared: true, ..site("/code") };
    let way = [WayOn { href: "/links".to_owned(), label: "To the links".to_owned() }];
    let progress =
        Progress { what: "Reading club.csv".to_owned(), done: 1200, total: 100_000, unit: "rows".to_owned() };
    vec![
        ("import", pages::import::upload(&site("/import"), &none).into_string()),
        ("import-mapping", pages::import::mapping(&site("/import"), &mapping_sheet(), &none).into_string()),
        ("import-preview", pages::import::preview(&site("/import"), &preview()).into_string()),
        ("import-progress", pages::import::progress(&site("/import"), &progress).into_string()),
        ("export", pages::export::page(&site("/export")).into_string()),
        ("settings", pages::settings::page(&site("/settings"), &settings(), &none).into_string()),
        (
            "family-new",
            pages::family_form::page(&site("/family/new"), &["starter-fsk-2g4.toml"], &none).into_string(),
        ),
        ("family-wrong", pages::family_form::page(&site("/family/new"), &[], &typed).into_string()),
        ("sharing-on", pages::sharing::page(&shared, &sharing).into_string()),
        ("sharing-off", pages::sharing::page(&site("/sharing"), &SharingSheet::default()).into_string()),
        ("code", pages::sharing::code(&phone, &none).into_string()),
        ("error-404", pages::error::page(&site("/nowhere"), 404, "", &[]).into_string()),
        ("error-400", pages::error::page(&site("/links"), 400, "This has no date.", &way).into_string()),
        ("error-403", pages::error::page(&phone, 403, "", &[]).into_string()),
    ]
}

#[test]
fn pages_look_as_they_did() {
    let book = fleet::small();
    for (name, page) in all_pages(&book) {
        // A line for each element, so that a change shows as one.
        insta::assert_snapshot!(name, page.replace("><", ">\n<"));
    }
}

#[test]
fn every_page_is_whole_and_can_be_used_without_sight_or_mouse() {
    let book = fleet::small();
    let mut wrong = Vec::new();
    for (name, page) in all_pages(&book) {
        wrong.extend(check::wrong(&page).into_iter().map(|says| format!("{name}: {says}")));
        wrong.extend(check::blocks_in_paragraphs(&page).into_iter().map(|says| format!("{name}: {says}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_fingerprint_of_a_secret_is_on_no_page() {
    // The small fleet's secrets all have this print; in hexadecimal it is cafe42.
    let print = 0x00CA_FE42.to_string();
    for (name, page) in all_pages(&fleet::small()) {
        let page = page.to_lowercase();
        assert!(!page.contains(&print) && !page.contains("cafe42"), "{name}");
    }
}

#[test]
fn a_long_list_for_today_shows_first_what_needs_a_hand() {
    let mut book = fleet::small();
    for at in 0..300u128 {
        book.device(DeviceId(0x1000 + at), Sort::Aircraft, &format!("B{at}"), "one of many");
    }
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let page = pages::today::page(&site("/"), &today(&scene, &fleet, now())).into_string();
    let table = page.split("<table").nth(1).unwrap().split("</table>").next().unwrap();
    assert_eq!(table.matches("<tr>").count(), 1 + 200);
    assert!(table.contains("Heron") && !table.contains("Swift"));
    assert!(page.contains("and 103 are left out"));
}

#[test]
fn an_empty_workshop_always_says_what_is_next() {
    let book = Logbook::new();
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let none = Typed::none();
    let empty_links = links_sheet(&LinksQuery::default(), &[]);
    let empty_links = LinksSheet { of_all: 0, total: 0, by_verdict: [0; 3], ..empty_links };
    let devices = DevicesSheet {
        sort: Sort::Transmitter,
        lines: Vec::new(),
        total: 0,
        page: 1,
        per_page: 100,
        gone: Vec::new(),
    };
    let ids = IdsSheet {
        held: 0,
        collisions: Vec::new(),
        unchecked: Vec::new(),
        steps: Vec::new(),
        minutes: Minutes::ZERO,
        stuck: Vec::new(),
    };
    let pages = [
        pages::today::page(&site("/"), &today(&scene, &fleet, now())),
        pages::cords::page(&site("/cords"), &[], false),
        pages::links::page(&site("/links"), &empty_links, &none),
        pages::devices::page(&site("/transmitters"), &devices),
        pages::ids::page(&site("/ids"), &ids),
        pages::history::page(&site("/history"), &scene, &HistorySheet::default()),
    ];
    for page in pages {
        let page = page.into_string();
        let main = page.split("<main").nth(1).unwrap();
        assert!(main.contains("Import a list"), "{main}");
        assert!(check::wrong(&page).is_empty(), "{:?}", check::wrong(&page));
    }
}

#[test]
fn a_clash_shows_both_values_and_a_future_reading_its_flag() {
    let book = fleet::small();
    let pages = all_pages(&book);
    let page = |name: &str| &pages.iter().find(|(have, _)| *have == name).unwrap().1;
    let receiver = page("device-receiver");
    assert!(receiver.contains("readings disagree"));
    assert!(receiver.contains("<bdi>3.0</bdi>") && receiver.contains("<bdi>4.0</bdi>"));
    assert!(page("device-aircraft").contains("dated in the future"));
    assert!(page("link-blocked").contains("seen <time datetime=\"2026-05-18T00:00:00Z\">12 days ago</time>"));
}

#[test]
fn a_phone_that_gave_no_code_sees_nothing_of_the_workshop() {
    let pages = pages_without_fleet();
    for name in ["code", "error-403"] {
        let page = &pages.iter().find(|(have, _)| *have == name).unwrap().1;
        assert!(!page.contains("Sandbank"), "{name}");
        assert!(!page.contains("<nav"), "{name}");
    }
}

#[test]
fn sharing_shows_on_every_page_while_it_is_on() {
    let shared = Site { shared: true, ..site("/export") };
    assert!(pages::export::page(&shared).into_string().contains("Shared with phones in this room."));
    assert!(!pages::export::page(&site("/export")).into_string().contains("Shared with phones"));
}

#[test]
fn what_was_typed_is_kept_and_what_is_wrong_stands_beside_it() {
    let book = fleet::small();
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let typed = Typed {
        form: "new".to_owned(),
        values: vec![
            ("code".to_owned(), "R \"9\"".to_owned()),
            ("value".to_owned(), "canary-secret".to_owned()),
        ],
        errors: vec![("code".to_owned(), "Another receiver has this code.".to_owned())],
    };
    let page = pages::device::new(&site("/device/new"), &scene, &fleet, Sort::Receiver, &typed).into_string();
    assert!(page.contains("value=\"R &quot;9&quot;\""));
    assert!(
        page.contains("<span class=\"error\" id=\"f-new-code-error\">Another receiver has this code.</span>")
    );
    assert!(page.contains("aria-describedby=\"f-new-code-hint f-new-code-error\" aria-invalid=\"true\""));
    assert!(!page.contains("canary-secret"));
}

#[test]
fn forty_aircraft_are_drawn_and_more_are_listed() {
    let book = fleet::small();
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let link = fleet.link(&scene, T1, R1).unwrap();
    let cords = |count: u128| -> Vec<Cord> {
        (0..count)
            .map(|at| {
                let mut cord = Cord::of(&link);
                cord.receiver.id = DeviceId(1000 + at);
                cord.aircraft.as_mut().unwrap().id = DeviceId(5000 + at);
                cord
            })
            .collect()
    };
    let drawn = pages::cords::page(&site("/cords"), &cords(40), false).into_string();
    assert!(drawn.contains("<svg class=\"cords\"") && drawn.contains("role=\"img\""));
    assert_eq!(drawn.matches(" · links</text>").count(), 40);
    let listed = pages::cords::page(&site("/cords"), &cords(41), false).into_string();
    assert!(!listed.contains("<svg class=\"cords\""));
    assert!(listed.contains("href=\"/matrix\""));
    assert_eq!(listed.matches("<li><span class=\"from\">").count(), 41);
}

#[test]
fn a_family_goes_through_the_form_unchanged() {
    for (file, text) in shipped::demo_families().iter().chain(shipped::starters()) {
        let family = read::read(file, text).unwrap();
        let fields = pages::family_form::from_family(&family);
        let back = pages::family_form::to_toml(&fields);
        assert_eq!(read::read("the form", &back).as_ref(), Ok(&family), "{file}\n{back}");
    }
}

/// A fault with two rows of text, as a browser sends it; the row before it is left blank.
#[test]
fn a_fault_of_a_family_is_typed_into_the_form() {
    let (file, text) = shipped::demo_families()[1];
    let plover = read::read(file, text).unwrap();
    let mut fields = pages::family_form::from_family(&plover);
    let put = |fields: &mut Vec<(String, String)>, name: &str, value: &str| {
        fields.retain(|(have, _)| have != name);
        fields.push((name.to_owned(), value.to_owned()));
    };
    put(&mut fields, "fault[1].ask_how", "Look under it.\r\nThen above.");
    put(&mut fields, "fault[4].symptom", "wont_pair");
    put(&mut fields, "fault[4].key", "band");
    let problems = read::read("the form", &pages::family_form::to_toml(&fields)).unwrap_err();
    let errors = pages::family_form::to_errors(&fields, &problems);
    let names: Vec<&str> = errors.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["fault[4].symptom"], "{errors:?}");
    put(&mut fields, "fault[4].weight", "2,5");
    let family = read::read("the form", &pages::family_form::to_toml(&fields)).unwrap();
    assert_eq!(family.faults.len(), 3);
    assert_eq!(family.faults[0].ask_how, "Look under it.\nThen above.");
    assert_eq!(family.faults[2].weight, Some(2.5));
    assert_eq!(family.lamps, plover.lamps);
    assert!(family.lamps.iter().all(|lamp| lamp.means.is_some()));
}

/// Releases and what must be reached, as a browser sends them; blank rows stand between.
#[test]
fn releases_of_a_family_are_typed_into_the_form() {
    let (file, text) = shipped::demo_families()[1];
    let plover = read::read(file, text).unwrap();
    let mut fields = pages::family_form::from_family(&plover);
    let put = |fields: &mut Vec<(String, String)>, name: &str, value: &str| {
        fields.retain(|(have, _)| have != name);
        fields.push((name.to_owned(), value.to_owned()));
    };
    let (reach, release) = (plover.reaches.len() + 2, plover.releases.len() + 2);
    put(&mut fields, &format!("reach[{reach}].name"), "the handset's card slot");
    put(&mut fields, &format!("reach[{reach}].sort"), "computer");
    put(&mut fields, &format!("reach[{reach}].minutes"), "3");
    put(&mut fields, &format!("release[{release}].version"), "3.6");
    put(&mut fields, &format!("release[{release}].side"), "receiver");
    put(&mut fields, &format!("release[{release}].hardware"), "four outputs\r\n six; or more \r\n");
    put(&mut fields, &format!("release[{release}].from"), "3.7");
    put(&mut fields, &format!("release[{release}].routes"), "bench lead");
    put(&mut fields, &format!("release[{release}].wipes"), "model_id");
    let problems = read::read("the form", &pages::family_form::to_toml(&fields)).unwrap_err();
    let errors = pages::family_form::to_errors(&fields, &problems);
    let names: Vec<&str> = errors.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, [format!("reach[{reach}].minutes"), format!("release[{release}].from")], "{errors:?}");
    put(&mut fields, &format!("reach[{reach}].minutes"), "");
    put(&mut fields, &format!("release[{release}].from"), "3.1");
    let family = read::read("the form", &pages::family_form::to_toml(&fields)).unwrap();
    let [before @ .., new] = family.releases.as_slice() else { panic!("none") };
    assert_eq!(before, plover.releases);
    assert_eq!(new.hardware, ["four outputs", "six; or more"]);
    assert_eq!(new.wipes, [register::field::Field::ModelId]);
    assert_eq!(family.reaches.len(), plover.reaches.len() + 1);
    let page = pages::family::page(
        &site("/family/Plover"),
        &pages::family::FamilySheet { name: "Plover", family: Some(&family), problems: &[], users: &[] },
    )
    .into_string();
    assert!(page.contains("six; or more") && page.contains("<bdi>3.6</bdi>"));
}

/// Every key that the documentation has can be filled in on the form.
#[test]
fn the_family_form_has_a_field_for_every_key() {
    let page = pages::family_form::page(&site("/family/new"), &[], &Typed::none()).into_string();
    let docs = include_str!("../../../../docs/families.md");
    let mut section = "";
    let mut keys = 0;
    let mut missing = Vec::new();
    for line in docs.lines() {
        if let Some(rest) = line.strip_prefix("### ") {
            section = rest.split('`').nth(1).unwrap_or_default();
        } else if let Some(row) = line.strip_prefix("| `")
            && !matches!(section, "" | "[minutes]")
        {
            let key = row.split('`').next().unwrap_or_default();
            let list = if section.starts_with("[[") { "[1]" } else { "" };
            let field = format!("{}{list}.{key}", section.trim_matches(['[', ']']));
            keys += 1;
            if !page.contains(&format!("name=\"{field}\"")) {
                missing.push(field);
            }
        }
    }
    assert!(missing.is_empty(), "{missing:?}");
    assert!(keys > 60, "{keys}");
}

#[test]
fn a_problem_finds_its_field_though_blank_rows_stand_before_it() {
    let (file, text) = shipped::demo_families()[0];
    let mut fields = pages::family_form::from_family(&read::read(file, text).unwrap());
    // The second band is left blank; the third has its edges the wrong way round.
    for (name, value) in &mut fields {
        if name.starts_with("band[2].") {
            value.clear();
        }
        if name == "band[3].low_mhz" {
            "930".clone_into(value);
        }
    }
    let problems = read::read("the form", &pages::family_form::to_toml(&fields)).unwrap_err();
    let errors = pages::family_form::to_errors(&fields, &problems);
    assert!(errors.iter().any(|(name, _)| name == "band[3].low_mhz"), "{errors:?}");
    assert!(!errors.iter().any(|(name, _)| name.starts_with("band[2]")), "{errors:?}");
}

#[test]
fn a_blank_family_form_names_the_fields_to_fill_in() {
    let problems = read::read("the form", &pages::family_form::to_toml(&[])).unwrap_err();
    let errors = pages::family_form::to_errors(&[], &problems);
    for name in ["family.name", "band[1].name", "version.rule", "secret.rule", "model_id.checked_at"] {
        assert!(errors.iter().any(|(have, _)| have == name), "{name} is not in {errors:?}");
    }
}
