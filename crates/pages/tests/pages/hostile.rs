//! Names that try to be markup, to reorder the page, to cut it short, or to fill it.

use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::value::Value;

use crate::fleet::{self, HERON, R1, SWIFT, T1};
use crate::{all_pages, check};

const NAMES: &[&str] = &[
    "<script>alert(1)</script>",
    "\" onfocus=\"alert(1)",
    "'; DROP TABLE entries; --",
    "a\u{202e}dlofdloH",
    "cut\0short",
    "two\nlines",
    "𓅃🦅 العقاب",
    "</title><h1>mine</h1>",
];

/// A page without what stands in the values of its inputs.
fn without_values(page: &str) -> String {
    let mut pieces = page.split(" value=\"");
    let mut kept = pieces.next().unwrap().to_owned();
    for piece in pieces {
        kept.push_str(piece.split_once('"').unwrap().1);
    }
    kept
}

#[test]
fn hostile_names_stay_names() {
    for name in NAMES {
        let mut book = fleet::small();
        let text = || Value::Text((*name).to_owned());
        for id in [T1, R1, SWIFT, HERON] {
            for field in [Field::Code, Field::Name] {
                book.read_on("2026-05-29", id, Part::Whole, How::Seen, field, text());
            }
        }
        // The later reading has to take the place of the first.
        for (stamp, body) in &mut book.lines {
            if let register::entry::Body::Reading { replaces, .. } = body {
                replaces.extend((1..stamp.id.0).map(register::id::EntryId));
            }
        }
        let mut again = fleet::Logbook::new();
        for (stamp, body) in &book.lines {
            let _ = again.register.fold(stamp, body.clone());
            again.lines.push((*stamp, body.clone()));
        }
        for (digest, family) in [(0u8, 0usize), (1, 1)] {
            let (file, text) = register::family::shipped::demo_families()[family];
            let family = std::sync::Arc::new(register::family::read::read(file, text).unwrap());
            again.register.give_family(register::id::Digest([digest; 32]), &family);
        }
        again.next = book.next;
        let part = Part::Memory("<i>9".to_owned());
        again.read(T1, part.clone(), How::Seen, Field::Name, text());
        again.read(T1, part, How::Seen, Field::End, text());
        again.device(DeviceId(0x77), Sort::Transmitter, name, name);
        again.text(DeviceId(0x77), Field::Family, name);
        again.read(DeviceId(0x77), Part::End((*name).to_owned()), How::Told, Field::Firmware, text());
        for (page_name, page) in all_pages(&again) {
            let wrong = check::wrong(&page);
            assert!(wrong.is_empty(), "{name:?} on {page_name}: {wrong:?}");
            assert!(!page.contains("<script>"), "{name:?} on {page_name}");
            // The value of an input goes back as it is, and shows as the browser sees fit.
            let page = without_values(&page);
            let hidden =
                page.find(['\0', '\u{202e}']).map(|at| page[..at].chars().rev().take(80).collect::<String>());
            assert_eq!(hidden, None, "{name:?} on {page_name} (what stands before it, backwards)");
            assert!(!page.contains("<i>9"), "{name:?} on {page_name}");
        }
    }
}

#[test]
fn a_very_long_name_is_clipped_and_stands_whole_on_its_own_page() {
    let long = "ü".repeat(10_000);
    let mut book = fleet::small();
    book.device(DeviceId(0x78), Sort::Aircraft, "A9", &long);
    let scene = register::scene::Scene::new(&book.register);
    let fleet = register::fleet::Fleet::of(&scene);
    let today = register::today::today(&scene, &fleet, fleet::now());
    let page = pages::today::page(&crate::site("/"), &today).into_string();
    assert!(!page.contains(&"ü".repeat(200)), "the name fills the page");
    let sheet = pages::sheet::DeviceSheet::default();
    let device = scene.device(DeviceId(0x78)).unwrap();
    let typed = pages::form::Typed::none();
    let page =
        pages::device::page(&crate::site("/device"), &scene, &fleet, device, &sheet, &typed).into_string();
    assert!(page.contains(&long), "the whole name isn't on the device's page");
    assert!(page.contains("(all 10,000 characters)"));
}
