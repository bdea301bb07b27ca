//! Workshop files: what is read, and how each problem is told.

use register::entry::Body;
use register::field::{Field, How, Part};
use register::id::DeviceId;
use register::time::Moment;
use register::value::Value;

use crate::support::Book;

const DOCS: &str = include_str!("../../../../docs/workshop-file.md");

/// The example in the documentation.
fn example() -> &'static str {
    DOCS.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("the page has an example")
}

#[test]
fn the_documented_example_is_read() {
    let read = intake::toml::read("example.toml", example());
    assert_eq!(read.problems, []);
    assert_eq!(read.inventory.family_files, ["heron.toml"]);
    let mut book = Book::new();
    let plan = book.plan(&read.inventory);
    assert_eq!(plan.bad, []);
    book.take(plan.drafts());
    let labels: Vec<&str> = plan.proposals.iter().map(|proposal| proposal.label.as_str()).collect();
    assert_eq!(labels, ["A1 Old glider", "T1 Desk handset", "R1", "R2 Two-band receiver"]);
    assert_eq!(book.register.setting("name"), Some("Moor club"));
    assert_eq!(book.register.setting("minutes.check.firmware"), Some("2"));
    let settings = plan.settings.iter().map(|setting| (setting.draft.subject, &setting.draft.body));
    assert!(
        settings.clone().count() == 3 && settings.clone().all(|(subject, _)| subject == DeviceId::WORKSHOP)
    );
    assert_eq!(book.plan(&read.inventory).drafts().count(), 0, "read again, it changes nothing");
}

#[test]
fn every_key_is_documented() {
    for field in Field::ALL {
        let key = intake::inventory::key_of(*field);
        assert!(DOCS.contains(&format!("`{key}`")), "{key}");
    }
    for target in intake::csv::Target::ALL {
        let key = target.key();
        assert!(include_str!("../../../../docs/csv.md").contains(&format!("`{key}`")), "{key}");
    }
}

#[test]
fn how_and_seen_come_from_the_nearest_table() {
    let file = "schema = 1\nhow = \"told\"\nseen = 2024-01-01\n[[receiver]]\ncode = \"R1\"\nhow = \"label\"\n\
                firmware = { value = 4.10, how = \"seen\", seen = \"2024-03-01T10:00:00Z\" }\nmodel_id = 7\n\
                [[receiver.end]]\nkey = \"b\"\nseen = \"5.2.2024\"\nband = \"868 MHz\"\n";
    let read = intake::toml::read("f.toml", file);
    assert_eq!(read.problems, []);
    let plan = Book::new().plan(&read.inventory);
    let mut got = Vec::new();
    for draft in plan.drafts() {
        if let Body::Reading { part, how, facts, .. } = &draft.body {
            for (field, value) in facts {
                got.push((part.word(), *field, value.clone(), *how, draft.seen));
            }
        }
    }
    let day = |text| Moment::parse(text).unwrap();
    let text = |text: &str| Value::Text(text.to_owned());
    assert_eq!(
        got,
        [
            ("whole".to_owned(), Field::Code, text("R1"), How::Label, day("2024-01-01")),
            (Part::End("b".into()).word(), Field::Band, text("868 MHz"), How::Label, day("2024-02-05")),
            ("end:main".to_owned(), Field::ModelId, Value::Number(7), How::Label, day("2024-01-01")),
            ("end:main".to_owned(), Field::Firmware, text("4.10"), How::Seen, day("2024-03-01T10:00:00Z")),
        ]
    );
}

#[test]
fn each_problem_is_told_with_line_and_key_and_the_rest_is_kept() {
    let file = "schema = 1\n\
                [minutes]\n\
                \"check.firmware\" = -1\n\
                [[aircraft]]\n\
                code = \"A1\"\n\
                [[receiver]]\n\
                code = \"R1\"\n\
                state = \"nowhere\"\n\
                seen = \"12/31/2025\"\n\
                [[receiver]]\n\
                maker = \"Nobody\"\n\
                [[receiver]]\n\
                code = \"R2\"\n\
                [[receiver.end]]\n\
                key = \"low\"\n\
                handset = \"4.1\"\n\
                [[receiver.end]]\n\
                key = \"high\"\n\
                band = true\n\
                [[receiver]]\n\
                code = \"r2\"\n\
                name = \"a\\u0000b\"\n\
                [[transmitter]]\n\
                code = \"T1\"\n\
                [[transmitter.memory]]\n\
                model_id = 3\n\
                [transmitter.memry]\n\
                [[receiver]]\n\
                code = \"R3\"\n\
                aircraft = \"R1\"\n\
                paired_with = \"T1\"\n";
    let read = intake::toml::read("f.toml", file);
    let plan = Book::new().plan(&read.inventory);
    let mut told: Vec<String> = read.problems.iter().map(ToString::to_string).collect();
    told.extend(plan.bad.iter().map(ToString::to_string));
    let want = [
        "f.toml:3: `minutes.check.firmware` is no time; write the minutes as a number from 0 to 10080, as in \
         `\"check.firmware\" = 2`",
        "f.toml:8: `receiver.state` is no state; write one of: in use, shelf, lent, crashed, sold, destroyed",
        "f.toml:9: `receiver.seen` is no date; write 2026-05-30 or 30.5.2026 (with slashes, day and month could be \
         mixed up)",
        "f.toml:10: `receiver` has no code and no name; give the device one, so that it can be told apart",
        "f.toml:16: `receiver.end.handset` is not a key that belongs here; an end has family, band, region, firmware, \
         secret, model_id, paired_with, antenna, name, maker, model, pack, note, key, how, seen",
        "f.toml:19: `receiver.end.band` is true or false; write text in quotation marks, as in `band = \"…\"`",
        "f.toml:20: `receiver.code` is that of the device in line 12, too; put both tables together, or correct it",
        "f.toml:22: `receiver.name` has a NUL character, which no list can carry; take it out",
        "f.toml:27: `transmitter.memry` is not a key that belongs here; a transmitter has code, name, maker, model, \
         state, owner, pack, handset, note, family, band, region, firmware, secret, antenna, end, memory, id, how, seen",
        "line 31: `paired_with` names a device whose own row can't be taken; correct that row first",
    ];
    assert_eq!(told, want);
    let labels: Vec<&str> = plan.proposals.iter().map(|proposal| proposal.label.as_str()).collect();
    assert_eq!(labels, ["A1", "R2"]);
}

#[test]
fn a_file_that_is_none_is_told() {
    let rows = [
        ("", "f.toml:1: `schema` is missing; write `schema = 1` as the first line"),
        (
            "schema = 2\n",
            "f.toml:1: `schema` is 2, newer than the 1 this version reads; use a newer version of the program",
        ),
        ("schema = true\n", "f.toml:1: `schema` is not a schema; write `schema = 1`"),
        (
            "schema = 1\n\nname = \"Moor\n",
            "f.toml:3: the file can't be read from here; look for a missing quotation mark, bracket or equals sign on \
             this line or just before it",
        ),
        (
            "schema = 1\nname = \"a\"\nname = \"b\"\n",
            "f.toml:3: the key on this line is given twice; keep one of the two",
        ),
        (
            "schema = 1\nreceiver = 1\n",
            "f.toml:2: `receiver` is a whole number; there can be several: write [[receiver]] with two brackets",
        ),
        (
            "schema = 1\nfamily_files = [\"../x.toml\"]\n",
            "f.toml:2: `family_files` is no plain file name; put the family file beside this one and write its name alone",
        ),
    ];
    for (file, want) in rows {
        let read = intake::toml::read("f.toml", file);
        assert_eq!(read.problems[0].to_string(), want);
        assert_eq!(read.inventory.items.len(), 0);
    }
}
