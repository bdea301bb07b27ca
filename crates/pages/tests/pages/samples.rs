//! What pages are given beside the engine's answers, made up.

use register::field::Sort;
use register::fleet::Fleet;
use register::id::DeviceId;
use register::mend::mends;
use register::scene::Scene;
use register::verdict::Link;
use register::view::Card;
use units::Minutes;

use pages::sheet::{
    BadRow, Column, DeviceDifference, DeviceLine, DevicesSheet, Difference, FileOption, IdCollision, IdPlace,
    IdStep, IdsSheet, ImportPreview, LinksQuery, LinksSheet, MappingSheet, MatrixCell, MatrixRow,
    MatrixSheet, MinutesLine, SettingsSheet,
};

use crate::fleet::{R1, R2, R3, R4, SWIFT, T1, T2, WREN, now};

pub fn links_sheet<'a>(query: &LinksQuery, links: &'a [Link]) -> LinksSheet<'a> {
    LinksSheet {
        query: query.clone(),
        total: 108,
        of_all: 1200,
        by_verdict: [1, 199, 1000],
        links,
        per_page: 100,
        families: vec!["Plover".to_owned(), "Whimbrel".to_owned()],
    }
}

pub fn matrix_sheet(query: &LinksQuery, links: &[Link], card: &impl Fn(DeviceId) -> Card) -> MatrixSheet {
    let cell = |t: DeviceId, r: DeviceId| {
        links
            .iter()
            .find(|link| link.transmitter.id == t && link.receiver.id == r)
            .map(|link| MatrixCell { verdict: link.verdict(), wanted: link.wanted })
    };
    MatrixSheet {
        query: query.clone(),
        transmitters: vec![card(T1), card(T2)],
        transmitters_total: 40,
        rows: [R1, R2, R4]
            .map(|r| MatrixRow {
                receiver: card(r),
                aircraft: Some(card(SWIFT)),
                cells: vec![cell(T1, r), cell(T2, r)],
            })
            .to_vec(),
        rows_total: 3,
        per_page: 50,
        families: Vec::new(),
    }
}

pub fn devices_sheet(card: &impl Fn(DeviceId) -> Card) -> DevicesSheet {
    DevicesSheet {
        sort: Sort::Receiver,
        lines: vec![
            DeviceLine { card: card(R1), about: "Whimbrel, 2.4 GHz, in Swift".to_owned(), wanted: [1, 0, 0] },
            DeviceLine { card: card(R2), about: "Whimbrel, 2.4 GHz, in Heron".to_owned(), wanted: [0, 1, 2] },
            DeviceLine { card: card(R3), about: String::new(), wanted: [0, 0, 0] },
        ],
        total: 250,
        page: 2,
        per_page: 100,
        gone: vec![card(WREN)],
    }
}

pub fn mapping_sheet() -> MappingSheet {
    MappingSheet {
        job: "j1".to_owned(),
        file: "club list.csv".to_owned(),
        rows: 31,
        shape: vec!["Columns are parted by semicolons.".to_owned()],
        columns: vec![
            Column { at: 0, name: "Nr".to_owned(), filled: 31, means: "code".to_owned() },
            Column { at: 1, name: String::new(), filled: 2, means: String::new() },
        ],
        meanings: vec![(String::new(), "leave it out".to_owned()), ("code".to_owned(), "code".to_owned())],
        options: vec![FileOption {
            name: "sort".to_owned(),
            label: "Every row is".to_owned(),
            choices: vec![("receiver".to_owned(), "a receiver".to_owned())],
            chosen: "receiver".to_owned(),
        }],
        remembered: true,
    }
}

pub fn preview() -> ImportPreview {
    let one = |before: &str, after: &str| Difference {
        what: "firmware".to_owned(),
        before: before.to_owned(),
        after: after.to_owned(),
    };
    ImportPreview {
        job: "j1".to_owned(),
        file: "club list.csv".to_owned(),
        added: 1,
        changed: 1,
        unchanged: 28,
        bad: 2,
        differences: vec![
            DeviceDifference {
                name: "R1".to_owned(),
                sort: Some(Sort::Receiver),
                place: "row 2".to_owned(),
                new: false,
                differences: vec![one("4.6", "4.7")],
            },
            DeviceDifference {
                name: "R9".to_owned(),
                sort: Some(Sort::Receiver),
                place: "row 3".to_owned(),
                new: true,
                differences: vec![one("", "4.7")],
            },
        ],
        more_differences: 0,
        bad_rows: vec![BadRow {
            row: 14,
            column: "Model ID".to_owned(),
            says: "is no number; write a whole number or off".to_owned(),
        }],
        more_bad_rows: 1,
        has_mapping: true,
        notes: vec!["The link family Dunlin is named and not written down yet.".to_owned()],
    }
}

pub fn settings() -> SettingsSheet {
    SettingsSheet {
        name: "Sandbank club".to_owned(),
        minutes: vec![
            MinutesLine { key: "check.model_id".to_owned(), shipped: Minutes(2.0), own: None },
            MinutesLine { key: "mend.pair".to_owned(), shipped: Minutes(3.0), own: Some(Minutes(8.5)) },
        ],
        stale_settable_days: String::new(),
        printed_address: "http://bench.local:7717".to_owned(),
        utc_offset_hours: "-5".to_owned(),
        stale_wearing_days: "400".to_owned(),
    }
}

pub fn ids_sheet(scene: &Scene, fleet: &Fleet, card: &impl Fn(DeviceId) -> Card) -> IdsSheet {
    let link = fleet.link(scene, T1, R2).unwrap();
    let step = mends(scene, fleet, fleet.transmitter(T1).unwrap(), fleet.receiver(R2).unwrap(), &link, now())
        [0]
    .steps[0]
        .clone();
    let place = |part: &str, aircraft: Option<Card>| IdPlace {
        device: card(T1),
        part: part.to_owned(),
        holds: "3".to_owned(),
        aircraft,
    };
    IdsSheet {
        held: 5,
        collisions: vec![IdCollision {
            text: "Two memories hold 3, and R1 would obey both.".to_owned(),
            certain: true,
            places: vec![place("memory Swift", Some(card(SWIFT))), place("memory Old", None)],
        }],
        unchecked: vec![IdCollision {
            text: "R3 obeys any memory.".to_owned(),
            certain: true,
            places: vec![IdPlace {
                device: card(R3),
                part: String::new(),
                holds: "check off".to_owned(),
                aircraft: None,
            }],
        }],
        steps: vec![IdStep { key: "0".to_owned(), device: card(T1), step }],
        minutes: Minutes(2.0),
        stuck: Vec::new(),
    }
}
