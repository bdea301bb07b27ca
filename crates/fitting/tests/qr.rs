//! QR symbols against ISO/IEC 18004 and an independent reader.
#![expect(clippy::unwrap_used, reason = "a test that can't go on should stop")]

use fitting::qr::{MOST_BYTES, Symbol};
use proptest::prelude::*;

/// The error correction levels as the format information writes them (ISO/IEC 18004: L 01, M 00,
/// Q 11, H 10).
const MEDIUM_OR_BETTER: [u16; 3] = [0, 3, 2];

/// What an independent reader reads in the symbol, and the version and level that it names.
fn read(symbol: &Symbol) -> (String, usize, u16) {
    let grid = rqrr::SimpleGrid::from_func(symbol.side, |x, y| symbol.is_dark(x, y));
    let mut bytes = Vec::new();
    let meta = rqrr::Grid::new(grid).decode_to(&mut bytes).unwrap();
    (String::from_utf8(bytes).unwrap(), meta.version.0, meta.ecc_level)
}

/// The text, and the side of its symbol.
const ROWS: &[(&str, &str)] = &[
    ("a receiver's code", "R7"),
    ("capitals and digits", "RECEIVER 17 PAIRED WITH T1"),
    ("digits", "20260314"),
    ("facts in lines", "R7 Otter\nband 2400 MHz\nfirmware 3.2.1\nmodel ID 12\nseen 2026-03-14"),
    ("German", "Empfänger über Höhenruder, Größe 12 µm, Fläche 38 dm²"),
    ("Greek, Cyrillic, Hebrew", "Ω 4,7 · Ветер · שלום"),
    ("a face", "🙂 ok 🛩"),
    ("an address", "http://192.168.7.20:8080/devices/0195f9a2-7c1e-7e6a-9f0e-0a1b2c3d4e5f?from=label#top"),
    ("quotes and signs", "\"%&/()=?`*'#+~<>|{[]}\\^°\u{a0}€"),
    ("nothing", ""),
    ("one blank", " "),
];

#[test]
fn an_independent_reader_reads_every_text() {
    let long = ["x".repeat(500), "Größe ".repeat(200), "7".repeat(4000), "A".repeat(2000)];
    let texts: Vec<&str> = ROWS.iter().map(|row| row.1).chain(long.iter().map(String::as_str)).collect();
    assert_eq!(texts.len(), ROWS.len() + 4);
    for text in texts {
        let symbol = Symbol::of(text).unwrap();
        let (read, version, level) = read(&symbol);
        assert_eq!(read, text);
        assert_eq!(symbol.side, 17 + 4 * version, "ISO/IEC 18004: the side is 17 + 4 times the version");
        assert!(MEDIUM_OR_BETTER.contains(&level), "level {level} corrects less than M: {text:?}");
    }
}

/// Bytes that a version holds at level M in byte mode (ISO/IEC 18004, table of capacities; from
/// memory).
const CAPACITIES: &[(usize, usize)] =
    &[(1, 14), (2, 26), (3, 42), (4, 62), (5, 84), (6, 106), (10, 213), (40, 2331)];

#[test]
fn capacities_are_the_standards() {
    for &(version, bytes) in CAPACITIES {
        let full = Symbol::of(&"x".repeat(bytes)).unwrap();
        assert_eq!(full.side, 17 + 4 * version, "{bytes} bytes fit version {version}-M");
        match Symbol::of(&"x".repeat(bytes + 1)) {
            Ok(next) => assert_eq!(next.side, full.side + 4, "{} bytes don't", bytes + 1),
            Err(_) => assert_eq!(bytes, MOST_BYTES),
        }
    }
}

#[test]
fn the_finders_stand_in_three_corners() {
    // ISO/IEC 18004: a finder is 7 by 7 modules, dark ring, light ring, dark 3 by 3, with a light
    // separator; there is none in the fourth corner.
    let symbol = Symbol::of("R7").unwrap();
    let finder = |left: usize, top: usize| {
        (0..7).all(|y| {
            (0..7).all(|x: usize| {
                let ring = x.abs_diff(3).max(usize::abs_diff(y, 3));
                symbol.is_dark(left + x, top + y) == (ring != 2)
            })
        })
    };
    let far = symbol.side - 7;
    assert!(finder(0, 0) && finder(far, 0) && finder(0, far));
    assert!(!finder(far, far));
    assert!(!symbol.is_dark(symbol.side, 0) && !symbol.is_dark(0, symbol.side), "outside is light");
    assert_eq!(symbol.with_quiet(), symbol.side + 8);
}

#[test]
fn a_text_too_long_says_by_how_much() {
    let error = Symbol::of(&"x".repeat(MOST_BYTES + 1)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the text for the QR code has 2332 bytes and a QR code of error correction M holds at most 2331 \
         (ISO/IEC 18004): shorten the text"
    );
    assert_eq!(Symbol::of(&"ß".repeat(5000)).unwrap_err().bytes, 10_000);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn any_text_comes_back(text in "\\PC{0,200}") {
        let symbol = Symbol::of(&text).unwrap();
        prop_assert_eq!(read(&symbol).0, text);
    }

    #[test]
    fn any_characters_come_back_or_are_too_long(text in proptest::collection::vec(any::<char>(), 0..900)) {
        let text: String = text.into_iter().collect();
        match Symbol::of(&text) {
            Ok(symbol) => prop_assert_eq!(read(&symbol).0, text),
            Err(error) => prop_assert!(error.bytes == text.len() && text.len() > 2300),
        }
    }
}
