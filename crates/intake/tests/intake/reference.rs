//! Lists and workshop files mean the same to other readers and writers.
//!
//! Sources: Python's csv module (RFC 4180), by `reference/csv_cells.py`, and its tomllib
//! (TOML 1.0.0), by `reference/toml_values.py`.
#![expect(clippy::disallowed_types, clippy::disallowed_methods, reason = "the tests run another program")]

#[path = "../../../../reference/python.rs"]
mod python;
#[path = "../../../../reference/toml_values.rs"]
mod toml_values;

use intake::csv::{self, Target};
use intake::inventory::Said;
use proptest::prelude::*;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use register::entry::Body;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::scene::Scene;
use register::value::Value;

use crate::round_trip;
use crate::support::{Book, NOW, mapping, read};
use python::python;
use toml_values::{agreed, hex};

/// The facts that hold awkward words here.
const FIELDS: [(&str, Field); 5] = [
    ("Maker", Field::Maker),
    ("Model", Field::Model),
    ("Owner", Field::Owner),
    ("Pack", Field::Pack),
    ("Note", Field::Note),
];

/// Numbers by chance that are the same in every run (Marsaglia's xorshift64, 2003).
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % most as u64).unwrap()
    }

    fn pick<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.below(all.len())]
    }

    /// Words that stand for themselves in a list: nothing to trim, no apostrophe first.
    fn words(&mut self, bits: &[&str]) -> String {
        loop {
            let words: String = (0..=self.below(9)).map(|_| self.pick(bits)).collect();
            if !words.is_empty() && words.trim() == words && !words.starts_with('\'') {
                return words;
            }
        }
    }
}

const BITS: [&str; 24] = [
    "a",
    "R7",
    " ",
    "  ",
    ",",
    ";",
    "\t",
    "\n",
    "\r",
    "\r\n",
    "\"",
    "\"\"",
    "'",
    "=",
    "-",
    "4,1",
    "?",
    "é",
    "平",
    "\u{1f6e9}",
    "\u{feff}",
    "\u{202e}",
    "\u{1}",
    "|",
];

/// The bits that Windows-1252 has.
const OLD_BITS: [&str; 10] = ["a", "é", "ü", "€", "‰", "\u{201d}", ";", "\"", "\n", "ÿ"];

fn table(dice: &mut Dice, bits: &[&str]) -> Vec<Vec<String>> {
    let rows = 1 + dice.below(8);
    (0..rows).map(|_| FIELDS.iter().map(|_| dice.words(bits)).collect()).collect()
}

/// Rows with a code first and the header above, as the scripts take them.
fn cells(table: &[Vec<String>]) -> String {
    let header: Vec<String> =
        std::iter::once("Code").chain(FIELDS.iter().map(|(name, _)| *name)).map(str::to_owned).collect();
    let rows = table.iter().enumerate().map(|(i, row)| [&[format!("R{i}")], row.as_slice()].concat());
    std::iter::once(header)
        .chain(rows)
        .map(|row| row.iter().map(|cell| hex(cell)).collect::<Vec<_>>().join("]["))
        .fold(String::new(), |all, row| all + "[" + &row + "]\n")
}

/// The texts that the reader took in, by row.
fn taken(list: &[u8]) -> Vec<Vec<String>> {
    let read = read(list, Some(Sort::Receiver));
    assert_eq!(read.bad, [], "{}", String::from_utf8_lossy(list));
    let text = |said: &Said| match said {
        Said::Value(Value::Text(words)) => words.clone(),
        other => panic!("{other:?}"),
    };
    let items = read.inventory.items.iter().enumerate();
    items
        .map(|(i, item)| {
            assert_eq!(item.code, Some(format!("R{i}")));
            FIELDS
                .iter()
                .map(|(_, field)| {
                    let fact = item.whole.iter().find(|fact| fact.field == *field);
                    fact.map_or_else(String::new, |fact| text(&fact.said))
                })
                .collect()
        })
        .collect()
}

/// A table for Python to write, and how.
type Wanted = (Vec<Vec<String>>, [&'static str; 4]);

fn written_by_python(wanted: &[Wanted]) -> Vec<Vec<u8>> {
    let job = |(table, words): &Wanted| (format!("write {}", words.join(" ")), cells(table).into_bytes());
    python("csv_cells.py", &wanted.iter().map(job).collect::<Vec<_>>())
}

#[test]
fn lists_that_python_writes_are_read_cell_by_cell() {
    let mut dice = Dice(0x5eed);
    let wanted: Vec<Wanted> = (0..50)
        .map(|case| {
            let delimiter = ["comma", "semicolon", "tab"][case % 3];
            let encoding = ["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"][case % 5];
            // Python quotes a line break for sure only where it is part of its own line end.
            let (quoting, line_end) =
                [("minimal", "crlf"), ("all", "crlf"), ("all", "lf"), ("all", "cr")][dice.below(4)];
            let table = table(&mut dice, if encoding == "cp1252" { &OLD_BITS } else { &BITS });
            (table, [delimiter, encoding, quoting, line_end])
        })
        .collect();
    for ((table, words), mut list) in wanted.iter().zip(written_by_python(&wanted)) {
        if words[1] == "utf-16-be" {
            list.splice(0..0, [0xfe, 0xff]); // Python leaves the mark out here
        }
        assert_eq!(&taken(&list), table, "{words:?}");
    }
    let rows: usize = wanted.iter().map(|(table, _)| table.len()).sum();
    assert!(rows > 150, "{rows}");
}

/// By what `docs/csv.md` says of trimming and apostrophes.
#[test]
fn awkward_cells_that_python_writes_are_read_as_the_docs_say() {
    let long = "ü".repeat(10_000);
    let lines = "a\r\n".repeat(500) + "z";
    let cases = [
        (" outer spaces ", "outer spaces"),
        ("'tis", "'tis"),
        ("'=1+1", "=1+1"),
        ("=1+1", "=1+1"),
        ("' kept ", " kept "),
        ("\"", "\""),
        ("\"\"\"\"", "\"\"\"\""),
        ("\"\n\"", "\"\n\""),
        ("a\u{85}\u{2028}b", "a\u{85}\u{2028}b"),
        ("sep=;", "sep=;"),
        (&long, &long),
        (&lines, &lines),
    ];
    let table = |side: fn(&(&str, &str)) -> String| -> Vec<Vec<String>> {
        cases.iter().map(|case| vec![side(case), "x".into(), "y".into(), "z".into(), side(case)]).collect()
    };
    let (given, expected) = (table(|case| case.0.to_owned()), table(|case| case.1.to_owned()));
    let ways = [["comma", "utf-8", "minimal", "crlf"], ["tab", "utf-16", "all", "cr"]];
    for list in written_by_python(&ways.map(|words| (given.clone(), words))) {
        assert_eq!(taken(&list), expected);
    }
}

/// Source: Python's cp1252, which leaves five bytes undefined.
#[test]
fn every_letter_of_windows_1252_is_read() {
    let undefined = [0x81, 0x8d, 0x8f, 0x90, 0x9d];
    let bytes: Vec<u8> = (0xa1..=0xff).chain(0x80..=0x9f).filter(|byte| !undefined.contains(byte)).collect();
    let list = [b"Code,Maker,Model,Owner,Pack,Note\nR0,a,b,c,d,".as_slice(), &bytes, b"\n"].concat();
    let note = taken(&list)[0][4].clone();
    let table = vec![vec!["a".into(), "b".into(), "c".into(), "d".into(), note]];
    assert_eq!(written_by_python(&[(table, ["comma", "cp1252", "minimal", "lf"])]), [list]);
}

/// A book of receivers with these words, and nothing else.
fn book(table: &[Vec<String>]) -> Book {
    let mut book = Book::new();
    for (i, row) in table.iter().enumerate() {
        let id = DeviceId(0x100 + i as u128);
        book.say(id, NOW, Body::Device { sort: Sort::Receiver });
        let words = FIELDS.iter().zip(row).map(|((_, field), words)| (*field, Value::Text(words.clone())));
        let code = (Field::Code, Value::Text(format!("R{i}")));
        let facts = std::iter::once(code).chain(words).collect();
        book.say(id, NOW, Body::Reading { part: Part::Whole, how: How::Seen, facts, replaces: Vec::new() });
    }
    book
}

/// Seeded tables, and one of everything that is known to hurt.
fn tables() -> Vec<Vec<Vec<String>>> {
    let mut dice = Dice(0x7ab1e);
    let mut tables: Vec<_> = (0..50).map(|_| table(&mut dice, &BITS)).collect();
    tables.push(round_trip::hostile().into_iter().map(|words| vec![words; FIELDS.len()]).collect());
    tables
}

#[test]
fn exports_are_read_by_python_cell_by_cell() {
    let tables = tables();
    let jobs: Vec<_> = tables
        .iter()
        .map(|table| csv::write(&Scene::new(&book(table).register)))
        .map(|list| ("read comma utf-8".to_owned(), list.into_bytes()))
        .collect();
    for ((table, (_, list)), read) in tables.iter().zip(&jobs).zip(python("csv_cells.py", &jobs)) {
        let (list, read) = (String::from_utf8_lossy(list), String::from_utf8(read).unwrap());
        let rows: Vec<Vec<&str>> = read
            .lines()
            .map(|line| line.trim_start_matches('[').trim_end_matches(']').split("][").collect())
            .collect();
        let header: Vec<String> = Target::ALL
            .iter()
            .filter(|target| **target != Target::Ignore)
            .map(|one| hex(one.key()))
            .collect();
        assert_eq!(rows[0], header);
        assert_eq!(rows.len(), 1 + table.len(), "{list}");
        assert!(rows.iter().all(|row| row.len() == header.len()), "{list}");
        let at = |key: &str| header.iter().position(|name| *name == hex(key)).unwrap();
        for (i, words) in table.iter().enumerate() {
            let code = hex(&format!("R{i}"));
            let row = rows.iter().find(|row| row[at("code")] == code).unwrap();
            for ((_, field), words) in FIELDS.iter().zip(words) {
                let cell = row[at(field.key())];
                // By `docs/csv.md`: an apostrophe before what a spreadsheet would run,
                // and before outer spaces.
                let must = words.starts_with(['=', '+', '-', '@']) || words.trim() != words;
                let may = must || words.starts_with('\'') || words == "?";
                let guarded = cell == hex(&format!("'{words}")) && may;
                assert!(guarded || cell == hex(words) && !must, "{field} {words:?}: {cell}");
            }
        }
    }
}

#[test]
fn workshop_files_say_the_same_words_to_another_parser() {
    let tables = tables();
    let files: Vec<String> =
        tables.iter().map(|table| intake::toml::write(&Scene::new(&book(table).register))).collect();
    for (table, theirs) in tables.iter().zip(agreed(&files)) {
        for (i, words) in table.iter().enumerate() {
            let code = format!(".{} text {}\n", hex("code"), hex(&format!("R{i}")));
            let line = theirs.split_inclusive('\n').find(|line| line.ends_with(&code)).unwrap();
            let device = line.trim_end_matches(&code);
            for ((_, field), words) in FIELDS.iter().zip(words) {
                let line = format!("{device}.{} text {}\n", hex(field.key()), hex(words));
                assert!(theirs.contains(&line), "{field} {words:?}");
            }
        }
    }
}

/// Fifty registers of every shape, the same in every run.
#[test]
fn workshop_files_are_the_same_to_both_parsers() {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[9; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let says = prop::collection::vec(round_trip::say(), 0..40);
    let files: Vec<String> = (0..50)
        .map(|_| round_trip::book(&says.new_tree(&mut runner).unwrap().current()))
        .map(|book| intake::toml::write(&Scene::new(&book.register)))
        .collect();
    let lines: usize = agreed(&files).iter().map(|lines| lines.lines().count()).sum();
    assert!(lines > 2_000, "{lines}");
}

#[test]
fn the_example_in_the_docs_is_the_same_to_both_parsers() {
    let docs = include_str!("../../../../docs/workshop-file.md");
    let example = docs.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    assert!(agreed(&[example.to_owned()])[0].lines().count() > 40);
}

#[test]
fn a_kept_mapping_is_the_same_to_both_parsers() {
    let names: Vec<String> =
        round_trip::hostile().into_iter().enumerate().map(|(i, w)| format!("{i}{w}")).collect();
    let columns: Vec<(&str, Target)> = names.iter().map(|name| (name.as_str(), Target::Note)).collect();
    let theirs = &agreed(&[mapping(&columns, Sort::Receiver).to_text()])[0];
    for name in &names {
        assert!(theirs.contains(&format!(".{}.{} text {}\n", hex("columns"), hex(name), hex("note"))));
    }
}
