//! From the start of the process to the first page of a large workshop.
//!
//! `cargo bench -p holdfast --bench first_page` builds a workshop of 10,000 devices (40
//! transmitters, 4,980 receivers, 4,980 aircraft, about 25,000 entries), starts the real
//! program on it a number of times and asks for `/`. It prints the times; it judges none.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use holdfast::workshop::{Places, Workshop, now, shipped_family};
use register::entry::{Body, Draft};
use register::family::read::read;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::value::{SecretMark, Value};

const TRANSMITTERS: u128 = 40;
const CRAFT: u128 = 4_980;
const RUNS: usize = 15;

fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

fn build(places: &Places) {
    let mut workshop = Workshop::open(places, "bench").unwrap();
    let file = shipped_family("whimbrel.toml").unwrap();
    workshop.add_family(&read("whimbrel.toml", file).unwrap(), file).unwrap();
    let seen = now();
    let mut drafts = Vec::new();
    let mut device = |id: u128, sort: Sort, parts: Vec<(Part, Vec<(Field, Value)>)>| {
        let subject = DeviceId(id);
        drafts.push(Draft { seen, subject, body: Body::Device { sort } });
        for (part, facts) in parts {
            let body = Body::Reading { part, how: How::Seen, facts, replaces: Vec::new() };
            drafts.push(Draft { seen, subject, body });
        }
    };
    let end = |firmware: &str, model_id: Option<u32>| {
        let mut facts = vec![
            (Field::Family, text("Whimbrel")),
            (Field::Band, text("2.4 GHz")),
            (Field::Region, text("EU")),
            (Field::Firmware, text(firmware)),
            (Field::Secret, Value::Secret(SecretMark::Print { key: 1, print: 7 })),
        ];
        facts.extend(model_id.map(|id| (Field::ModelId, Value::Number(id))));
        (Part::End("main".to_owned()), facts)
    };
    let id_of = |n: u128| u32::try_from(n % 64).unwrap();
    for t in 0..TRANSMITTERS {
        let mut parts = vec![(Part::Whole, vec![(Field::Code, text(&format!("T{t}")))]), end("4.1", None)];
        for n in (0..CRAFT).filter(|n| n % TRANSMITTERS == t) {
            let facts = vec![
                (Field::Name, text(&format!("Craft {n}"))),
                (Field::ModelId, Value::Number(id_of(n))),
                (Field::Aircraft, Value::Device(DeviceId(20_000 + n))),
            ];
            parts.push((Part::Memory(format!("m{n}")), facts));
        }
        device(1 + t, Sort::Transmitter, parts);
    }
    for n in 0..CRAFT {
        let firmware = if n % 50 == 0 { "3.9" } else { "4.2" };
        let whole = vec![
            (Field::Code, text(&format!("R{n}"))),
            (Field::Aircraft, Value::Device(DeviceId(20_000 + n))),
        ];
        device(10_000 + n, Sort::Receiver, vec![(Part::Whole, whole), end(firmware, Some(id_of(n)))]);
        let whole = vec![(Field::Code, text(&format!("A{n}"))), (Field::Name, text(&format!("Craft {n}")))];
        device(20_000 + n, Sort::Aircraft, vec![(Part::Whole, whole)]);
    }
    workshop.record(&drafts, &[]).unwrap();
}

fn first_page(folder: &Path) -> (Duration, Duration, usize) {
    let start = Instant::now();
    let mut server = Command::new(env!("CARGO_BIN_EXE_holdfast"))
        .arg("--workshop")
        .arg(folder.join("w.holdfast"))
        .args(["serve", "--port", "0"])
        .env("HOLDFAST_KEYS", folder.join("keys"))
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(server.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let ready = start.elapsed();
    let address = line.split("http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
    let mut stream = TcpStream::connect(&address).unwrap();
    write!(stream, "GET / HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").unwrap();
    let mut page = String::new();
    stream.read_to_string(&mut page).unwrap();
    let took = start.elapsed();
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("aircraft can fly"), "{page}");
    server.kill().unwrap();
    server.wait().unwrap();
    (ready, took, page.len())
}

fn main() {
    let folder = std::env::temp_dir().join(format!("holdfast-first-page-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    build(&Places { workshop: folder.join("w.holdfast"), keys: folder.join("keys") });
    let mut runs: Vec<_> = (0..RUNS).map(|_| first_page(&folder)).collect();
    runs.sort_by_key(|(_, took, _)| *took);
    let (ready, took, bytes) = runs[RUNS / 2];
    println!(
        "first page of 10,000 devices: median {} ms after the process starts (listening after {} ms, fastest {} ms, \
         slowest {} ms; {bytes} bytes)",
        took.as_millis(),
        ready.as_millis(),
        runs[0].1.as_millis(),
        runs[RUNS - 1].1.as_millis()
    );
    std::fs::remove_dir_all(&folder).unwrap();
}
