//! Export and import.

use register::entry::{Body, Stamp};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::time::{Clock, Moment};
use store::{Outcome, Store, StoreError};
use wire::head::Head;
use wire::lines::{entry_line, header_line};

use crate::workshop::{NOW, Workshop, device, draft, export, firmware, note, write};

#[test]
fn export_then_import_is_the_identity() {
    let mut store = Store::in_memory().unwrap();
    let hostile = ["<script>", "\0", "\u{202e}x\u{2028}\r\n", "'; DROP TABLE entries", "\u{1f6e9}"];
    write(&mut store, &hostile.map(note));
    write(&mut store, &[note(&"long ".repeat(2_000)), device(), firmware("4.1")]);
    let files = [b"plain = 1\n".to_vec(), vec![0xff, 0, 0x80], vec![]];
    for file in &files {
        let family = Body::Family { name: "\u{202e}".into(), file: wire::digest(file) };
        store.append(NOW, "Ad\0a", &[draft(DeviceId::WORKSHOP, family)], std::slice::from_ref(file)).unwrap();
    }
    let text = export(&store);
    assert_eq!(text.lines().count(), 1 + 3 + 8 + 3);
    let mut other = Store::in_memory().unwrap();
    let outcome = other.import(text.as_bytes()).unwrap();
    assert_eq!(outcome, Outcome { added: 11, known: 0, erased: 0, files_added: 3 });
    assert_eq!(export(&other), text);
    assert!(other.verify().unwrap().holds());
    let again = other.import(text.replace('\n', "\r\n").as_bytes()).unwrap();
    assert_eq!(again, Outcome { added: 0, known: 11, erased: 0, files_added: 0 });
    let mut read = Vec::new();
    other.for_each(0, |_, body| read.push(body)).unwrap();
    let notes = hostile.map(|text| Body::Note { text: text.to_owned() });
    assert_eq!(read[..5], notes);
}

/// A chain of entries of a kind that doesn't exist yet, with keys that don't either.
fn from_the_future(count: u64) -> Vec<(String, String)> {
    let mut prev = Digest([0; 32]);
    (1..=count)
        .map(|seq| {
            let body = format!(r#"{{ "salt":"","aerobatics":[{seq}] }}"#);
            let stamp = Stamp {
                id: EntryId(u128::from(seq)),
                replica: ReplicaId(77),
                clock: Clock(seq),
                seen: Moment(0),
                recorded: Moment(0),
                subject: DeviceId(3),
            };
            let digest = wire::digest(body.as_bytes());
            let author = "Ada".to_owned();
            let head = Head { stamp, seq, prev, author, kind: "flight".into(), version: 3, body: digest };
            let head = head.encode().replace("{\"id\"", "{ \"weather\":\"calm\", \"id\"");
            prev = wire::digest(head.as_bytes());
            (head, body)
        })
        .collect()
}

fn lines(entries: &[(String, String)]) -> String {
    let lines = entries.iter().map(|(head, body)| entry_line(head, Some(body)) + "\n");
    format!("{}\n{}", header_line(), lines.collect::<String>())
}

#[test]
fn a_newer_programs_entries_are_carried_through_untouched() {
    let text = lines(&from_the_future(3));
    let mut store = Store::in_memory().unwrap();
    store.import(text.as_bytes()).unwrap();
    assert_eq!(export(&store), text);
    assert!(store.verify().unwrap().holds());
    let record = store.record(EntryId(2)).unwrap().unwrap();
    assert_eq!((record.kind.as_str(), record.body, record.erased), ("flight", Body::Opaque, false));
}

#[test]
fn bad_lines_are_listed_and_nothing_is_kept() {
    let mut text = lines(&from_the_future(3));
    text.push_str("canary-4417\n");
    text.push_str("{\"holdfast_logbook\":1}\n");
    text.push_str(&text.lines().nth(1).unwrap().replace("[1]", "[7]"));
    let workshop = Workshop::with_entries(1);
    let mut store = workshop.open();
    let error = store.import(text.as_bytes()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "nothing was taken over: 3 bad lines\n  \
         line 5: the line is not a header, a file or an entry (column 1)\n  \
         line 6: a second header\n  \
         line 7: the body does not match the digest in its head"
    );
    assert!(!format!("{error:?}").contains("canary"));
    assert_eq!(store.verify().unwrap().entries, 1);
}

#[test]
fn what_is_no_logbook_is_refused_at_its_first_line() {
    let cases: [(&[u8], &str); 5] = [
        (b"", "line 1: the first line is not {\"holdfast_logbook\":1}"),
        (b"code;name\nR1;x\n", "line 1: the first line is not {\"holdfast_logbook\":1}"),
        (b"\x89PNG\r\n\x1a\n", "line 1: the first line is not {\"holdfast_logbook\":1}"),
        (b"\n", "line 1: the first line is not {\"holdfast_logbook\":1}"),
        (
            b"{\"holdfast_logbook\":2}\n{}\n",
            "line 1: the logbook is written in form 2, this program reads form 1; update the program",
        ),
    ];
    for (bytes, expected) in cases {
        let error = Store::in_memory().unwrap().import(bytes).unwrap_err();
        assert_eq!(error.to_string(), format!("nothing was taken over: 1 bad line\n  {expected}"));
    }
}

#[test]
fn chains_that_do_not_hold_are_refused() {
    let entries = from_the_future(4);
    let mut gap = entries.clone();
    gap.remove(1);
    let mut forged = entries.clone();
    forged[1].0 = forged[1].0.replace("Ada", "Eve");
    let three = EntryId(3);
    let replica = ReplicaId(77);
    let cases = [
        (gap, format!("replica {replica}: number 2 is missing, before entry {three}")),
        (
            forged,
            format!(
                "replica {replica}: entry {three} (number 3) does not follow the entry before it; \
                 one of the two was altered"
            ),
        ),
    ];
    for (entries, expected) in cases {
        let mut store = Store::in_memory().unwrap();
        let error = store.import(lines(&entries).as_bytes()).unwrap_err();
        assert_eq!(error.to_string(), format!("nothing was taken over: {expected}"));
        assert_eq!(store.extent().unwrap().last_row, 0);
    }
}

#[test]
fn the_same_entry_with_other_bytes_is_refused_by_name() {
    let entries = from_the_future(2);
    let mut store = Store::in_memory().unwrap();
    store.import(lines(&entries).as_bytes()).unwrap();
    let mut forged = entries;
    forged[1].0 = forged[1].0.replace("Ada", "Eve");
    let error = store.import(lines(&forged).as_bytes()).unwrap_err();
    assert!(matches!(error, StoreError::Differs { entry: EntryId(2) }), "{error}");
    assert!(
        error
            .to_string()
            .starts_with("entry 00000000-0000-0000-0000-000000000002 stands in both with different contents")
    );
}
