//! Loading a million entries, and single durable writes, against bare SQLite.
//!
//! The ratios that are promised (loading at most 3 times a bare read of the same rows,
//! writing at least 80 % of bare inserts with the same sync) are measured in one run,
//! in turns, and printed before the table.

#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]

use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use divan::Bencher;
use register::entry::Body;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::register::Register;
use register::time::Moment;
use register::value::Value;
use rusqlite::Connection;
use rusqlite::types::ValueRef;
use store::{Draft, Store};
use tempfile::TempDir;

const ENTRIES: u32 = 1_000_000;
const WRITES: u32 = 400;
const NOW: Moment = Moment(1_780_000_000_000);

/// A workshop of a hundred thousand devices, each entered and then read nine times.
static LOGBOOK: LazyLock<(TempDir, PathBuf)> = LazyLock::new(|| {
    let folder = TempDir::new_in(env!("CARGO_TARGET_TMPDIR")).expect("the target folder can be written");
    let path = folder.path().join("million.holdfast");
    let mut store = Store::open(&path).expect("a workshop can be made");
    let drafts: Vec<Draft> = (0..ENTRIES).map(draft).collect();
    for part in drafts.chunks(50_000) {
        store.append(NOW, "Ada", part, &[]).expect("the disk has room");
    }
    (folder, path)
});

fn draft(i: u32) -> Draft {
    let subject = DeviceId(u128::from(i / 10 + 1) << 64);
    let body = if i.is_multiple_of(10) {
        Body::Device { sort: Sort::Receiver }
    } else {
        let facts = vec![
            (Field::Firmware, Value::Text(format!("4.{}", i % 7))),
            (Field::ModelId, Value::Number(i % 64)),
            (Field::Antenna, Value::Text("dipole, left wing".to_owned())),
        ];
        Body::Reading { part: Part::End(Part::MAIN.to_owned()), how: How::Seen, facts, replaces: vec![] }
    };
    Draft { seen: NOW, subject, body }
}

fn load(path: &Path) -> u64 {
    let store = Store::open_existing(path).expect("it was just made");
    let mut count = 0;
    store
        .for_each(0, |stamp, body| {
            black_box((stamp, body));
            count += 1;
        })
        .expect("it can be read");
    count
}

/// As a start of the program does it: into a register.
fn load_and_fold(path: &Path) -> u64 {
    let store = Store::open_existing(path).expect("it was just made");
    let prelude = store.prelude().expect("it can be read");
    let mut register = Register::begin(prelude.iter().map(|(stamp, body)| (stamp, body)));
    store
        .for_each(0, |stamp, body| {
            let _ = register.fold(&stamp, body); // the order is right, and the prelude was given
        })
        .expect("it can be read");
    let count = register.entries();
    black_box(register);
    count
}

/// Every column of the same rows, looked at and nothing more.
fn bare_read(path: &Path) -> u64 {
    let conn = Connection::open(path).expect("it was just made");
    let mut statement = conn
        .prepare(
            "SELECT id, replica, seq, clock, seen_ms, recorded_ms, subject, kind, version, body, head, hash
             FROM entries",
        )
        .expect("the columns are there");
    let mut rows = statement.query(()).expect("it can be read");
    let mut count = 0;
    while let Some(row) = rows.next().expect("it can be read") {
        for column in 0..12 {
            match row.get_ref(column).expect("there are twelve columns") {
                ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
                    black_box(bytes.len());
                }
                other => {
                    black_box(other);
                }
            }
        }
        count += 1;
    }
    count
}

/// Entries, one durable transaction each.
struct Writer {
    _folder: TempDir,
    store: Store,
    next: u32,
}

impl Writer {
    fn new() -> Writer {
        let folder = TempDir::new_in(env!("CARGO_TARGET_TMPDIR")).expect("the target folder can be written");
        let store = Store::open(&folder.path().join("w.holdfast")).expect("a workshop can be made");
        Writer { _folder: folder, store, next: 0 }
    }

    fn one(&mut self) {
        self.next += 1;
        self.store.append(NOW, "Ada", &[draft(self.next)], &[]).expect("the disk has room");
    }
}

/// The same columns and indexes, filled by bare inserts with the same sync.
struct BareWriter {
    _folder: TempDir,
    conn: Connection,
    row: (String, String),
    next: u32,
}

impl BareWriter {
    fn new() -> BareWriter {
        let mut like = Writer::new();
        like.one();
        let row = Connection::open(like.store.path())
            .and_then(|conn| {
                conn.query_row("SELECT head, body FROM entries", (), |row| Ok((row.get(0)?, row.get(1)?)))
            })
            .expect("there is one entry");
        let folder = TempDir::new_in(env!("CARGO_TARGET_TMPDIR")).expect("the target folder can be written");
        let path = folder.path().join("w.holdfast");
        drop(Store::open(&path).expect("a workshop can be made"));
        let conn = Connection::open(path).expect("it was just made");
        conn.pragma_update(None, "synchronous", "FULL").expect("SQLite knows it");
        BareWriter { _folder: folder, conn, row, next: 0 }
    }

    fn one(&mut self) {
        self.next += 1;
        let mut id = u128::from(self.next).to_be_bytes();
        id[0] = 1;
        let subject = (u128::from(self.next / 10 + 1) << 64).to_be_bytes();
        self.conn
            .prepare_cached(
                "INSERT INTO entries (id, replica, seq, clock, seen_ms, recorded_ms, subject, kind,
                                      version, body, head, hash)
                 VALUES (?1, ?2, ?3, ?3, ?4, ?4, ?5, 'reading', 1, ?6, ?7, ?8)",
            )
            .and_then(|mut insert| {
                insert.execute((
                    id,
                    [1u8; 16],
                    self.next,
                    NOW.0,
                    subject,
                    &self.row.1,
                    &self.row.0,
                    [2u8; 32],
                ))
            })
            .expect("the disk has room");
    }
}

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

/// The quickest of the rounds of each, taken in turns.
fn in_turns(rounds: u32, mut one: impl FnMut(), mut other: impl FnMut()) -> (Duration, Duration) {
    let mut best = (Duration::MAX, Duration::MAX);
    for _ in 0..rounds {
        best.0 = best.0.min(timed(&mut one));
        best.1 = best.1.min(timed(&mut other));
    }
    best
}

type Load = fn(&Path) -> u64;

fn ratios() {
    let path = &LOGBOOK.1;
    for (what, loading) in [("loading", load as Load), ("loading into a register", load_and_fold)] {
        let (ours, bare) = in_turns(
            3,
            || assert_eq!(loading(path), u64::from(ENTRIES)),
            || assert_eq!(bare_read(path), u64::from(ENTRIES)),
        );
        println!(
            "{what} {ENTRIES} entries: {ours:.2?}; bare read of the same rows: {bare:.2?}; ratio {:.2} (promised: at most 3)",
            ours.as_secs_f64() / bare.as_secs_f64()
        );
    }
    let (mut writer, mut bare_writer) = (Writer::new(), BareWriter::new());
    let (ours, bare) = in_turns(
        5,
        || (0..WRITES).for_each(|_| writer.one()),
        || (0..WRITES).for_each(|_| bare_writer.one()),
    );
    println!(
        "single durable writes: {:.0}/s; bare inserts with the same sync: {:.0}/s; {:.0} % (promised: at least 80 %)",
        f64::from(WRITES) / ours.as_secs_f64(),
        f64::from(WRITES) / bare.as_secs_f64(),
        100.0 * bare.as_secs_f64() / ours.as_secs_f64()
    );
}

fn main() {
    // `cargo test` runs benchmarks once without `--bench`: then nothing is measured.
    if std::env::args().any(|arg| arg == "--bench") {
        ratios();
        divan::main();
    }
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn load_a_million(bencher: Bencher) {
    bencher.bench(|| load(&LOGBOOK.1));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn load_a_million_into_a_register(bencher: Bencher) {
    bencher.bench(|| load_and_fold(&LOGBOOK.1));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn bare_read_of_a_million(bencher: Bencher) {
    bencher.bench(|| bare_read(&LOGBOOK.1));
}

#[divan::bench(sample_count = 200, sample_size = 1)]
fn one_durable_write(bencher: Bencher) {
    let mut writer = Writer::new();
    bencher.bench_local(|| writer.one());
}

#[divan::bench(sample_count = 200, sample_size = 1)]
fn one_bare_insert(bencher: Bencher) {
    let mut writer = BareWriter::new();
    bencher.bench_local(|| writer.one());
}
