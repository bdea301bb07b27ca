//! What stands in the PDF, read back by poppler's tools and an independent reader of QR codes.
#![expect(clippy::unwrap_used, reason = "a test that can't go on should stop")]

mod sample;
mod tools;

use fitting::card::{Block, Card, Size};
use paper::{PaperError, cards, labels};
use proptest::prelude::*;
use tools::Pdf;

/// Everything on a card that is text, in the order in which it is read.
fn texts(card: &Card) -> Vec<&str> {
    let mut texts: Vec<&str> = vec![&card.kind, &card.title, &card.sentence];
    for block in &card.blocks {
        match block {
            Block::Heading(text) | Block::Words(text) => texts.push(text),
            Block::Caution(text) => texts.extend(["Caution", text]),
            Block::Facts(facts) => {
                texts.extend(facts.iter().flat_map(|(name, value, how)| [&**name, value, how]));
            }
            Block::Boxes(boxes) => texts.extend(boxes.iter().flat_map(|(what, more)| [&**what, more])),
            Block::Table(header, rows) => {
                texts.extend(header.iter().chain(rows.iter().flatten()).map(String::as_str));
            }
            Block::Lines(lines) => texts.extend(lines.iter().map(String::as_str)),
        }
    }
    texts
}

fn dense(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// The first of the words that doesn't come out of the pages in its turn. Blanks don't count: a
/// long word may be broken over lines. What stands between the words (a table's header again, a
/// foot, a page number) doesn't either.
fn missing<'a>(words: impl Iterator<Item = &'a str>, pages: &[String]) -> Option<&'a str> {
    let read = dense(&pages.concat());
    let mut rest = read.as_str();
    for word in words {
        match rest.find(word) {
            Some(at) => rest = &rest[at + word.len()..],
            None => return Some(word),
        }
    }
    None
}

fn assert_reads(card: &Card, pdf: &Pdf) {
    let texts = texts(card);
    let words = texts.iter().flat_map(|text| text.split_whitespace());
    let pages = pdf.pages();
    assert_eq!(missing(words, &pages), None, "of {:?}", card.title);
    for (number, page) in pages.iter().enumerate() {
        assert_eq!(
            missing(card.foot.split_whitespace(), std::slice::from_ref(page)),
            None,
            "foot of page {number}"
        );
        let says = format!("page {} of {}", number + 1, pages.len());
        assert_eq!(page.contains(&says), pages.len() > 1, "{says}: {page}");
    }
}

/// ISO 216: A6 is 105 mm by 148 mm, A4 is 210 mm by 297 mm; a point is 1/72 inch of 25.4 mm.
const SHEETS: [(Size, f64, f64, f64); 2] = [(Size::A6, 297.6, 419.5, 6.0), (Size::A4, 595.3, 841.9, 15.0)];

#[test]
fn cards_come_back_from_both_sizes() {
    for card in [sample::field(), sample::bench()] {
        for (size, width, height, margin) in SHEETS {
            let pdf = Pdf::new(&cards(std::slice::from_ref(&card), size).unwrap());
            assert_reads(&card, &pdf);
            let (wide, high) = pdf.page_size();
            assert!((wide - width).abs() < 0.5 && (high - height).abs() < 0.5, "{wide} x {high}");
            assert_eq!(pdf.fact("Title").as_deref(), Some(&*format!("{}: {}", card.kind, card.title)));
            for unsaid in ["Author", "CreationDate", "ModDate"] {
                assert_eq!(pdf.fact(unsaid), None);
            }
            let fonts = pdf.fonts();
            assert_eq!(fonts.len(), 2, "{fonts:?}");
            for font in fonts {
                assert!(font.embedded && font.subset && font.to_unicode, "{font:?}");
            }
            let dpi = 200.0;
            let picture = pdf.picture(1, dpi);
            // The quiet zone of the code may lie in the margin, ink may not (half a line's width aside).
            assert!(picture.darkest_border(margin - 0.5, dpi) > 250, "ink in the margin");
            let found = pdf.code(1);
            let code = card.code.as_ref().unwrap();
            assert_eq!(found.text, code.text);
            let module = found.across / f64::from(u32::try_from(code.symbol.side).unwrap());
            assert!(module > 0.49, "a module of {module} mm");
        }
    }
}

#[test]
fn several_cards_stand_on_pages_of_their_own() {
    let both = [sample::field(), sample::field()];
    let one = Pdf::new(&cards(&both[..1], Size::A6).unwrap());
    let two = Pdf::new(&cards(&both, Size::A6).unwrap());
    assert_eq!(two.pages().len(), 2 * one.pages().len());
    assert_eq!(two.fact("Title").as_deref(), Some("2 cards"));
}

#[test]
fn the_same_card_gives_the_same_bytes() {
    let card = || cards(&[sample::bench()], Size::A4).unwrap();
    assert!(card() == card());
    let labels = || labels(&sample::labels(30)).unwrap();
    assert!(labels() == labels());
}

/// A card with many blocks, each with words that stand nowhere else.
fn long(blocks: usize) -> Card {
    let few = |prefix: &str, number: usize, count: usize| {
        (0..count).map(|word| format!("{prefix}{number}w{word}")).collect::<Vec<_>>().join(" ")
    };
    let block = |number: usize| match number % 5 {
        0 => Block::Heading(format!("Heading{number}")),
        1 => Block::Words(few("p", number, 40)),
        2 => Block::Boxes(vec![(few("b", number, 25), few("more", number, 12)); 1]),
        3 => Block::Table(
            vec!["Name".into(), "What".into()],
            vec![vec![few("c", number, 5), few("d", number, 20)]; 1],
        ),
        _ => Block::Caution(few("k", number, 12)),
    };
    Card { blocks: (0..blocks).map(block).collect(), ..sample::field() }
}

#[test]
fn a_long_card_goes_on_and_breaks_where_it_may() {
    for (size, ..) in SHEETS {
        let card = long(120);
        let pdf = Pdf::new(&cards(std::slice::from_ref(&card), size).unwrap());
        assert_reads(&card, &pdf);
        let pages = pdf.pages();
        assert!(pages.len() > 3, "{}", pages.len());
        for block in &card.blocks {
            let together = match block {
                Block::Boxes(boxes) => format!("{} {}", boxes[0].0, boxes[0].1),
                Block::Caution(text) => format!("Caution {text}"),
                Block::Table(_, rows) => rows[0].join(" "),
                _ => continue,
            };
            let holds = |page: &&String| missing(together.split(' '), std::slice::from_ref(page)).is_none();
            assert_eq!(pages.iter().filter(holds).count(), 1, "split: {together}");
        }
        for page in &pages {
            let body: Vec<&str> = page.lines().take_while(|line| !line.starts_with("Printed")).collect();
            assert!(!body.last().unwrap().starts_with("Heading"), "{page}");
        }
    }
}

#[test]
fn a_table_names_its_columns_on_every_page() {
    let rows = (0..80).map(|row| vec![format!("r{row}"), "some words beside".to_owned()]).collect();
    let table = Block::Table(vec!["Output".to_owned(), "Moves".to_owned()], rows);
    let card = Card { blocks: vec![table], ..sample::field() };
    let pages = Pdf::new(&cards(&[card], Size::A6).unwrap()).pages();
    assert!(pages.len() > 2);
    assert!(pages.iter().all(|page| page.contains("Output") && page.contains("Moves")));
}

#[test]
fn letters_can_be_read_in_the_field() {
    let pdf = Pdf::new(&cards(&[sample::field(), sample::bench()], Size::A6).unwrap());
    let sizes = pdf.letter_sizes();
    assert!(sizes.len() >= 3, "{sizes:?}");
    assert!(sizes.iter().all(|&size| size > 7.5 - 1.0 / 3.0), "{sizes:?}");
}

#[test]
fn a_foot_that_is_too_long_stands_once() {
    let foot = (0..200).map(|word| format!("foot{word}")).collect::<Vec<_>>().join(" ");
    let card = Card { foot: foot.clone(), ..sample::field() };
    let pages = Pdf::new(&cards(&[card], Size::A6).unwrap()).pages();
    assert_eq!(missing(foot.split(' '), &pages), None);
    assert_eq!(pages.concat().matches("foot7 ").count() + pages.concat().matches("foot7\n").count(), 1);
}

/// What a text becomes where the fonts lack its characters, or they leave no mark.
const STRANGE: &[(&str, &str)] = &[
    ("bell\u{7}rings", "bell�rings"),
    ("turned\u{202E}round", "turned�round"),
    ("joined\u{200B}up", "joined�up"),
    ("kite🪁", "kite�"),
    ("飛行機", "���"),
    ("\u{FEFF}\u{0}", "��"),
    ("µΩ°²±–—„“…€→√", "µΩ°²±–—„“…€→√"),
    ("Größe Łódź Ветер Ελλάς", "Größe Łódź Ветер Ελλάς"),
];

#[test]
fn what_cannot_be_written_is_seen_to_be_missing() {
    for bold in [false, true] {
        for (text, written) in STRANGE {
            let text = format!("begin {text} end");
            let block = if bold { Block::Heading(text) } else { Block::Words(text) };
            let card = Card { blocks: vec![block], ..sample::field() };
            let pages = Pdf::new(&cards(&[card], Size::A6).unwrap()).pages();
            let words = format!("begin {written} end");
            assert_eq!(missing(words.split(' '), &pages), None, "{words}: {pages:?}");
        }
    }
}

#[test]
fn hostile_texts_still_make_a_card() {
    let hostile = [
        "x".repeat(10_000),
        "word ".repeat(400),
        "\n".repeat(10_000),
        "\u{301}".repeat(600),
        "🪁".repeat(300),
        "שלום עולם 12 V, مرحبا بالعالم R7 ".repeat(10),
        (0..0x900).filter_map(char::from_u32).collect(),
        String::new(),
        "\u{a0}".repeat(500),
    ];
    for text in &hostile {
        let text = text.clone();
        let three = (text.clone(), text.clone(), text.clone());
        let blocks = vec![
            Block::Heading(text.clone()),
            Block::Caution(text.clone()),
            Block::Facts(vec![three]),
            Block::Boxes(vec![(text.clone(), text.clone())]),
            Block::Table(vec![text.clone(); 2], vec![vec![text.clone()], vec![], vec!["cell".to_owned(); 4]]),
            Block::Table(vec!["Name".to_owned(); 40], vec![vec![text.chars().take(50).collect(); 40]]),
            Block::Table(vec![], vec![]),
            Block::Lines(vec![text.clone(), "Date".to_owned()]),
            Block::Words(format!("{text} end")),
        ];
        let card = Card {
            kind: text.clone(),
            title: text.clone(),
            sentence: text.clone(),
            blocks,
            foot: text,
            code: None,
        };
        for (size, ..) in SHEETS {
            let pages = Pdf::new(&cards(std::slice::from_ref(&card), size).unwrap()).pages();
            assert!(pages.concat().contains("end"));
        }
    }
}

#[test]
fn a_long_word_is_broken_and_loses_nothing() {
    let word: String = (0..900).map(|at| char::from(b'a' + u8::try_from(at * 7 % 26).unwrap())).collect();
    let card = Card { blocks: vec![Block::Words(word.clone())], ..sample::field() };
    let pages = Pdf::new(&cards(&[card], Size::A6).unwrap()).pages();
    assert!(dense(&pages.concat()).contains(&word));
}

#[test]
fn the_largest_code_still_prints_at_half_a_millimetre() {
    let text = "x".repeat(fitting::qr::MOST_BYTES);
    let card = Card { code: Some(sample::code(&text)), ..sample::field() };
    let pdf = Pdf::new(&cards(std::slice::from_ref(&card), Size::A6).unwrap());
    let found = pdf.code(1);
    assert_eq!(found.text, text);
    assert!(found.across / 177.0 > 0.49, "177 modules (ISO/IEC 18004, version 40) on {} mm", found.across);
}

#[test]
fn every_label_reads_and_its_code_too() {
    let all = sample::labels(30);
    let pdf = Pdf::new(&labels(&all).unwrap());
    let pages = pdf.pages();
    assert_eq!(pages.len(), 2);
    let words = all.iter().flat_map(|label| {
        label.title.split_whitespace().chain(label.lines.iter().flat_map(|line| line.split_whitespace()))
    });
    assert_eq!(missing(words, &pages), None);
    let (wide, high) = pdf.page_size();
    assert!((wide - 595.3).abs() < 0.5 && (high - 841.9).abs() < 0.5, "{wide} x {high}");
    // Cut where the sheet is to be cut: three by eight labels of 63.5 mm by 33.9 mm in the middle.
    let dpi = 200.0;
    let pictures = [pdf.picture(1, dpi), pdf.picture(2, dpi)];
    for (number, label) in all.iter().enumerate() {
        let (column, line) =
            ([0.0, 1.0, 2.0][number % 3], f64::from(u32::try_from(number % 24 / 3).unwrap()));
        let edges = [9.75 + 63.5 * column, 12.9 + 33.9 * line, 63.5, 33.9];
        let codes = pictures[number / 24].part(edges, dpi).codes();
        assert_eq!(codes.len(), 1, "{}", label.title);
        assert_eq!(codes[0].text, label.code.text);
    }
}

#[test]
fn a_label_too_full_is_seen_to_be() {
    let mut label = sample::labels(1).remove(0);
    label.title = "A very long name for a receiver that nobody would ever want to read on a label".to_owned();
    label.lines = vec!["many words ".repeat(60)];
    let pages = Pdf::new(&labels(&[label]).unwrap()).pages();
    assert!(pages.concat().matches('…').count() >= 2, "{pages:?}");
}

#[test]
fn errors_say_what_to_do() {
    assert_eq!(cards(&[], Size::A4).unwrap_err(), PaperError::Nothing);
    let nothing = labels(&[]).unwrap_err();
    assert_eq!(nothing.to_string(), "there is nothing to print: choose at least one card or label");
    let mut large = sample::labels(1).remove(0);
    large.code = sample::code(&"x".repeat(600));
    assert_eq!(
        labels(&[large]).unwrap_err().to_string(),
        "the QR code of label \"R1 Otter\" has 93 modules a side and a label has room for 75: shorten the text \
         that the code holds"
    );
}

fn text() -> impl Strategy<Value = String> {
    proptest::collection::vec("[A-Za-zäöüß0-9.,:;()/µ°-]{1,18}", 0..25).prop_map(|words| words.join(" "))
}

fn block() -> impl Strategy<Value = Block> {
    let texts = |most| proptest::collection::vec(text(), 0..most);
    prop_oneof![
        text().prop_map(Block::Heading),
        text().prop_map(Block::Words),
        text().prop_map(Block::Caution),
        proptest::collection::vec((text(), text(), text()), 0..5).prop_map(Block::Facts),
        proptest::collection::vec((text(), text()), 0..5).prop_map(Block::Boxes),
        (1_usize..5, texts(20)).prop_map(|(columns, cells)| {
            let rows: Vec<Vec<String>> = cells.chunks_exact(columns).map(<[String]>::to_vec).collect();
            Block::Table(rows.first().cloned().unwrap_or_default(), rows)
        }),
        texts(5).prop_map(Block::Lines),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn all_words_of_any_card_come_back(
        title in text(), sentence in text(), blocks in proptest::collection::vec(block(), 0..12), a4 in any::<bool>(),
    ) {
        let card = Card { title, sentence, blocks, ..sample::field() };
        let pdf = Pdf::new(&cards(std::slice::from_ref(&card), if a4 { Size::A4 } else { Size::A6 }).unwrap());
        assert_reads(&card, &pdf);
    }
}
