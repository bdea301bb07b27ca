//! Entries of commissioning on the logbook's page.

use std::collections::BTreeMap;

use pages::sheet::{HistorySheet, LogLine};
use pages::site::Site;
use register::entry::{Body, Stamp};
use register::field::{self, Field, How, Sort};
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::id::{DeviceId, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::scene::Scene;
use register::time::{Clock, Moment};
use register::value::Value;

const HANDSET: DeviceId = DeviceId(3);

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

/// A workshop that has one transmitter, `T1`.
fn register() -> Register {
    let code = Body::Reading {
        part: field::Part::Whole,
        how: How::Seen,
        facts: vec![(Field::Code, Value::Text("T1".into()))],
        replaces: vec![],
    };
    let mut register = Register::default();
    assert_eq!(register.fold(&stamp(1, HANDSET), Body::Device { sort: Sort::Transmitter }), Folded::In);
    assert_eq!(register.fold(&stamp(2, HANDSET), code), Folded::In);
    register
}

fn page(bodies: &[Body]) -> String {
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
    pages::history::page(&site, &Scene::new(&register()), &sheet).into_string()
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

#[test]
fn a_fit_is_told_from_its_parts_to_the_signature() {
    let fitted = |part, text: &str| Body::Fitted(Fitted { part, text: text.into(), replaces: vec![] });
    let failsafe = Proved {
        proof: Proof::Failsafe,
        transmitter: Some(HANDSET),
        held: true,
        steps: vec![],
        measured: BTreeMap::from([("distance_m".into(), 45.0), ("<b>_v".into(), 4.85)]),
        note: "grass <i>wet</i>".into(),
    };
    let range = Proved { proof: Proof::Range, held: false, note: String::new(), ..failsafe.clone() };
    let range = Proved { transmitter: None, measured: BTreeMap::new(), ..range };
    let item = |many: usize| vec!["item".to_owned(); many];
    let signed =
        Signed { transmitter: Some(HANDSET), checked: item(9), unchecked: item(2), note: String::new() };
    let page = page(&[
        fitted(Part::Outputs, "name = \"canary-7731\""),
        fitted(Part::Supply, ""),
        Body::Proved(failsafe),
        Body::Proved(range),
        Body::Worked(Worked { what: Work::Motor, note: "new <u>bell</u>".into() }),
        Body::Worked(Worked { what: Work::FlyingDay, note: String::new() }),
        Body::Signed(Signed { note: "maiden".into(), ..signed }),
    ]);
    let text = text_of(&page);
    let sentences = [
        "outputs written down",
        "supply taken away",
        "failsafe proof with T1: held; &lt;b&gt; 4.85 V, distance 45 m; grass &lt;i&gt;wet&lt;/i&gt;",
        "range check: did not hold",
        "motor or speed controller changed: new &lt;u&gt;bell&lt;/u&gt;",
        "flying day began",
        "signed off with T1: 9 checked, 2 not; maiden",
    ];
    for sentence in sentences {
        assert!(text.contains(sentence), "{sentence} is not in {text}");
    }
    assert!(!page.contains("7731"), "the text of a part stands in the list: it is a whole file");
}
