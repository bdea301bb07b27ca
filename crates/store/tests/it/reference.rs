//! A second reader of logbooks, in another language, comes to the same findings.
//!
//! Source: `reference/check_logbook.py`, which uses the standard library of Python 3
//! (hashlib, hmac, json, uuid) and nothing of this project.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use register::entry::{Body, Stamp};
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::time::{Clock, Moment};
use register::value::SecretMark;
use store::keys::{Keys, SecretText};
use store::{Existing, Problem, Store};
use tempfile::TempDir;
use wire::head::Head;
use wire::lines::{entry_line, header_line};

use crate::workshop::{NOW, Workshop, device, draft, export, firmware, note, problems, write};

/// Runs a script of `reference/`; its exit code and what it printed.
fn python(args: &[&Path], input: &[u8]) -> (i32, String) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/check_logbook.py");
    let mut child = Command::new("python3")
        .args(["-I", "-S"])
        .arg(script)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python3 can't be started; install Python 3, which checks the logbook independently");
    child.stdin.take().unwrap().write_all(input).unwrap();
    let out = child.wait_with_output().unwrap();
    (out.status.code().unwrap_or(-1), String::from_utf8(out.stdout).unwrap())
}

/// What the other reader says of an export: counts, and problems with entry and number.
#[derive(Debug, PartialEq)]
struct Said {
    counts: String,
    problems: BTreeSet<String>,
}

fn second_opinion(lines: &str) -> Said {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("logbook.jsonl");
    fs::write(&path, lines).unwrap();
    let (code, out) = python(&[&path], b"");
    let mut said = out.lines().map(str::to_owned);
    let counts = said.next().unwrap_or_default();
    let problems: BTreeSet<String> = said.collect();
    assert_eq!(code, i32::from(!problems.is_empty()), "{out}");
    Said { counts, problems }
}

fn counts(entries: u64, erased: u64, replicas: u64, files: u64) -> String {
    format!("{entries} entries, {erased} erased, {replicas} replicas, {files} files")
}

/// Both readers find these whole, and count alike.
fn agree(stores: &[Store]) {
    let folder = TempDir::new().unwrap();
    let mut expected = String::new();
    let paths: Vec<_> = stores.iter().enumerate().map(|(i, _)| folder.path().join(i.to_string())).collect();
    for (store, path) in stores.iter().zip(&paths) {
        assert_eq!(problems(store), [""; 0]);
        let found = store.verify().unwrap();
        expected += &counts(found.entries, found.erased, found.replicas, found.files);
        expected += "\n";
        fs::write(path, export(store)).unwrap();
    }
    let paths: Vec<&Path> = paths.iter().map(PathBuf::as_path).collect();
    assert_eq!(python(&paths, b""), (0, expected));
}

/// Numbers by chance that are the same in every run (Marsaglia's xorshift64, 2003).
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % most as u64).unwrap()
    }
}

const AWKWARD: [&str; 8] = [
    "plain",
    "\"},{\"head\":",
    "back\\slash \\\" \\u0041",
    "two\nlines\r\n\t",
    "\0\u{1}\u{7f}\u{85}\u{2028}\u{2029}",
    "\u{202e}\u{feff}\u{fffd}",
    "\u{1f6e9}\u{fe0f} über 平",
    "",
];

#[test]
fn lives_of_three_workshops_hold_by_both_checks() {
    let (mut erased, mut all) = (0, Vec::new());
    for seed in 1..=10 {
        let mut dice = Dice(seed);
        let mut stores = [0; 3].map(|_| Store::in_memory().unwrap());
        for _ in 0..20 {
            let who = dice.below(3);
            match dice.below(6) {
                0 => {
                    let other = export(&stores[dice.below(3)]);
                    stores[who].import(other.as_bytes()).unwrap();
                }
                1 => {
                    if let Some(record) = stores[who].recent(20).unwrap().get(dice.below(5)) {
                        stores[who].erase(record.stamp.id).unwrap();
                        erased += 1;
                    }
                }
                2 => {
                    let file: Vec<u8> =
                        (0..dice.below(40)).map(|_| u8::try_from(dice.below(256)).unwrap()).collect();
                    let name = AWKWARD[dice.below(8)].to_owned();
                    let family = Body::Family { name, file: wire::digest(&file) };
                    stores[who]
                        .append(NOW, AWKWARD[dice.below(8)], &[draft(DeviceId::WORKSHOP, family)], &[file])
                        .unwrap();
                }
                _ => {
                    let drafts = [note(AWKWARD[dice.below(8)]), device(), firmware(AWKWARD[dice.below(8)])];
                    let when = Moment(NOW.0 + i64::try_from(dice.below(1000)).unwrap() - 500);
                    stores[who].append(when, AWKWARD[dice.below(8)], &drafts[..=dice.below(3)], &[]).unwrap();
                }
            }
        }
        all.extend(stores);
    }
    agree(&all);
    assert!(erased > 5, "the dice erased too little to check anything: {erased}");
}

#[test]
fn a_restored_copy_and_its_original_hold_when_merged() {
    let workshop = Workshop::with_entries(3);
    let backup = workshop.beside("backup");
    workshop.open().backup(&backup).unwrap();
    let copy = workshop.beside("copy");
    Store::restore(&backup, &copy, Existing::Refuse).unwrap();
    let (mut original, mut copy) = (workshop.open(), Store::open(&copy).unwrap());
    write(&mut original, &[note("here")]);
    write(&mut copy, &[note("there")]);
    original.merge_store(&copy).unwrap();
    assert_eq!(original.verify().unwrap().replicas, 2);
    agree(&[original]);
}

#[test]
fn both_find_an_altered_body_and_name_its_entry() {
    let workshop = Workshop::with_entries(6);
    let raw = workshop.raw();
    raw.execute("UPDATE entries SET body = replace(body, 'note 2', 'note X') WHERE seq = 3", ()).unwrap();
    let store = workshop.open();
    let [Problem::Body { entry, seq: 3 }] = store.verify().unwrap().problems[..] else {
        panic!("{:?}", problems(&store))
    };
    assert_eq!(second_opinion(&export(&store)).problems, [format!("body {entry} 3")].into());
}

/// An export has no hash of its own for a head, so it is the next entry of the chain
/// that shows that the head was altered; that of a replica's newest entry shows only in
/// the workshop file.
#[test]
fn both_find_an_altered_head() {
    let workshop = Workshop::with_entries(6);
    let raw = workshop.raw();
    raw.execute("UPDATE entries SET head = replace(head, '\"Ada\"', '\"Eve\"') WHERE seq = 3", ()).unwrap();
    let store = workshop.open();
    let [Problem::Head { seq: 3, .. }] = store.verify().unwrap().problems[..] else {
        panic!("{:?}", problems(&store))
    };
    let next: Vec<_> = store.recent(6).unwrap().into_iter().map(|record| record.stamp.id).collect();
    let lines = export(&store);
    assert_eq!(second_opinion(&lines).problems, [format!("prev {} 4", next[2])].into());
    let refused = Store::in_memory().unwrap().import(lines.as_bytes()).unwrap_err().to_string();
    assert!(refused.contains(&format!("entry {} (number 4) does not follow", next[2])), "{refused}");
}

#[test]
fn both_find_what_is_missing() {
    let workshop = Workshop::with_entries(5);
    let whole = export(&workshop.open());
    let lines: Vec<&str> = whole.lines().collect();
    let gap = [&lines[..3], &lines[4..]].concat().join("\n");
    let said = second_opinion(&gap);
    assert_eq!(said.counts, counts(4, 0, 1, 0));
    assert!(said.problems.iter().all(|problem| problem.starts_with("gap ")), "{said:?}");
    assert_eq!(said.problems.len(), 1);
    assert!(Store::in_memory().unwrap().import(gap.as_bytes()).is_err());
}

#[test]
fn both_find_a_fork_and_nothing_else() {
    let workshop = Workshop::with_entries(2);
    let twin = workshop.beside("twin");
    let mut store = workshop.open();
    let replica = store.replica().unwrap();
    store.backup(&twin).unwrap();
    drop(Store::open(&twin).unwrap());
    // The copy is made to write as the original.
    let raw = rusqlite::Connection::open(&twin).unwrap();
    raw.execute("UPDATE copy SET value = ?1 WHERE key = 'replica'", [replica.to_string()]).unwrap();
    let one = write(&mut Store::open(&twin).unwrap(), &[note("one hand"), note("more")])[0].stamp.id;
    let other = write(&mut store, &[note("the other hand")])[0].stamp.id;
    store.merge(&twin).unwrap();
    let [Problem::Fork { seq: 3, entries, .. }] = store.verify().unwrap().problems[..] else {
        panic!("{:?}", problems(&store))
    };
    assert_eq!(entries, [one.min(other), one.max(other)]);
    let said = second_opinion(&export(&store));
    assert_eq!(said.counts, counts(5, 0, 1, 0));
    assert_eq!(said.problems, [format!("fork {} 3", one.max(other))].into());
}

#[test]
fn both_cut_heads_and_bodies_out_to_the_exact_byte() {
    let mut prev = Digest([0; 32]);
    let mut lines = vec![header_line()];
    for seq in 1..=4_u128 {
        let spaces = " ".repeat(usize::try_from(seq).unwrap());
        let body = format!("{{{spaces}\"salt\" :\t\"\",\"x\":[{seq}.0e1,\"]}}\\\"\",{{}}, null]{spaces}}}");
        let (ms, version, variant) = (1_780_000_000_000_i64, 7 << 76, 2 << 62);
        let stamp = Stamp {
            id: EntryId(u128::try_from(ms).unwrap() << 80 | version | variant | seq),
            replica: ReplicaId(4 << 76 | variant),
            clock: Clock(u64::try_from(seq).unwrap()),
            seen: Moment(0),
            recorded: Moment(ms),
            subject: DeviceId(3),
        };
        let seq = u64::try_from(seq).unwrap();
        let digest = wire::digest(body.as_bytes());
        let head =
            Head { stamp, seq, prev, author: "Ada".into(), kind: "flight".into(), version: 3, body: digest };
        let head = head.encode().replace("{\"id\"", "{ \"we\\\"ather\" : [\"}\"] ,\t\"id\"");
        prev = wire::digest(head.as_bytes());
        lines.push(entry_line(&head, Some(&body)));
    }
    let exact = lines.join("\n");
    let mut store = Store::in_memory().unwrap();
    store.import(exact.as_bytes()).unwrap();
    agree(&[store]);
    // Spaces around a value are not of it.
    let spaced = exact.replace("{\"head\":", "\t{ \"head\" :  ").replace(",\"body\":", " , \"body\": ");
    assert_eq!(second_opinion(&spaced).problems, BTreeSet::new());
    Store::in_memory().unwrap().import(spaced.as_bytes()).unwrap();
    // Spaces within are.
    let altered = exact.replacen("[2.0e1,", "[ 2.0e1,", 1);
    assert_eq!(second_opinion(&altered).problems.len(), 1);
    assert!(Store::in_memory().unwrap().import(altered.as_bytes()).is_err());
}

#[test]
fn an_id_of_another_version_or_time_is_found() {
    let store = &mut Store::in_memory().unwrap();
    let id = write(store, &[note("x")])[0].stamp.id.to_string();
    let whole = export(store);
    for (at, digit, what) in [(14, "4", "id"), (19, "0", "id"), (0, "f", "id time")] {
        let mut other = id.clone();
        other.replace_range(at..=at, digit);
        let said = second_opinion(&whole.replace(&id, &other));
        assert_eq!(said.problems, [format!("{what} {other} 1")].into());
    }
}

/// Sources: RFC 2104 (HMAC), FIPS 180-4 (SHA-256), as Python's hmac and hashlib have them;
/// the vectors of RFC 4231 stand in `keys.rs`.
#[test]
fn fingerprints_are_the_same_in_both() {
    let folder = TempDir::new().unwrap();
    let keys = Keys::open(folder.path()).unwrap();
    let key_file = folder.path().join(format!("{:016x}.key", keys.current()));
    let long = "longer than a block of the hash ".repeat(9);
    for secret in ["over the hedge", "x", " spaces ", "two\nlines", "über\u{1f6e9}", "\0", &long] {
        let SecretMark::Print { key, print } = keys.fingerprint(&SecretText::new(secret)) else {
            panic!("a secret that is not blank has a print")
        };
        let (code, said) = python(&[Path::new("--print"), &key_file], secret.as_bytes());
        assert_eq!((code, said), (0, format!("print:{key:016x}:{print:032x}\n")));
    }
}
