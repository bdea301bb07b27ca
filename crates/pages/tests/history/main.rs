//! Entries on the logbook's page, kind by kind.

mod fit;
mod refit;
mod trail;

use pages::sheet::{HistorySheet, LogLine};
use pages::site::Site;
use register::entry::{Body, Stamp};
use register::field::{Field, How, Part, Sort};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::Value;

fn stamp(number: u64, subject: DeviceId) -> Stamp {
    Stamp {
        id: EntryId(u128::from(number)),
        replica: ReplicaId(1),
        clock: Clock(number),
        seen: Moment(0),
        recorded: Moment(0),
        subject,
    }
}

/// A workshop that has one device with this code.
fn workshop(id: DeviceId, sort: Sort, code: &str) -> Register {
    let code = Body::Reading {
        part: Part::Whole,
        how: How::Seen,
        facts: vec![(Field::Code, Value::Text(code.into()))],
        replaces: vec![],
    };
    let mut register = Register::default();
    assert_eq!(register.fold(&stamp(1, id), Body::Device { sort }), Folded::In);
    assert_eq!(register.fold(&stamp(2, id), code), Folded::In);
    register
}

fn page(register: &Register, bodies: &[Body]) -> String {
    let site = Site {
        workshop_name: "Sandbank club".to_owned(),
        shared: false,
        is_host: true,
        form_token: "token-of-this-page".to_owned(),
        now: Moment(0),
        notice: None,
        path: "/history".to_owned(),
    };
    let line = |body: &Body| LogLine {
        stamp: stamp(3, DeviceId::WORKSHOP),
        body: body.clone(),
        author: String::new(),
        struck: false,
        erased: false,
        kind: String::new(),
    };
    let sheet =
        HistorySheet { lines: bodies.iter().map(line).collect(), total: 1, ..HistorySheet::default() };
    pages::history::page(&site, &Scene::new(register), &sheet).into_string()
}

/// A page's text, without its tags.
fn text_of(page: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => text.push(c),
            _ => {}
        }
    }
    text
}
