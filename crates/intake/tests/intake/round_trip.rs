//! What is written out and read into an empty workshop is the same register.

use intake::csv::{self, Header, Mapping, Options};
use proptest::prelude::*;
use register::entry::Body;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::scene::Scene;
use register::time::{DAY_MS, Moment};
use register::value::{EndRef, Partners, SecretMark, Value};

use crate::support::{Book, NOW, facts};

/// Reads an export of the book into an empty one.
fn through_csv(book: &Book) -> Book {
    let list = csv::write(&Scene::new(&book.register));
    let header = Header::read(list.as_bytes()).unwrap();
    let mapping: Mapping = csv::mapping::guess(&header);
    let read = csv::read(list.clone().into_bytes(), &mapping, Options::default()).unwrap();
    assert_eq!(read.bad, [], "{list}");
    // The same workshop finds nothing new in its own export.
    let again = book.plan(&read.inventory);
    assert_eq!(again.bad, [], "{list}");
    assert_eq!(again.drafts().count(), 0, "{:#?}\n{list}", again.proposals);
    let mut other = Book::new();
    let plan = other.plan(&read.inventory);
    assert_eq!(plan.bad, [], "{list}");
    other.take(plan.drafts());
    other
}

fn through_toml(book: &Book) -> Book {
    let file = intake::toml::write(&Scene::new(&book.register));
    let read = intake::toml::read("export.toml", &file);
    assert_eq!(read.problems, [], "{file}");
    let again = book.plan(&read.inventory);
    assert_eq!(again.bad, [], "{file}");
    assert_eq!(again.drafts().count(), 0, "{:#?}\n{file}", again.proposals);
    let mut other = Book::new();
    let plan = other.plan(&read.inventory);
    assert_eq!(plan.bad, [], "{file}");
    other.take(plan.drafts());
    other
}

fn reading(part: Part, how: How, facts: Vec<(Field, Value)>) -> Body {
    Body::Reading { part, how, facts, replaces: Vec::new() }
}

pub fn hostile() -> Vec<String> {
    let long = "ü".repeat(10_000);
    [
        "<script>alert(1)</script>",
        long.as_str(),
        "\u{202e}gnp.exe",
        "two\nlines",
        "old\rmac",
        "\r\n",
        "tab\tbed",
        "🛩️👩‍✈️",
        "'; DROP TABLE entry; --",
        "=1+1",
        "+1",
        "-2",
        "@sum",
        "'=1+1",
        "''",
        "'",
        " spaces ",
        " ",
        "\u{feff}mark",
        "a,b;c\"d\"",
        "?",
        "-",
        "none",
        "blank",
        "same as R1",
        "only T1",
        "print:0:0",
        "4,1",
        "\\u0041 \\n",
        "\"\"\"",
        "00000000-0000-0000-0000-000000000063",
        "\u{7f}\u{1}\u{85}",
    ]
    .into_iter()
    .map(str::to_owned)
    .collect()
}

#[test]
fn hostile_names_come_back_in_every_field() {
    let mut book = Book::new();
    for (i, words) in hostile().into_iter().enumerate() {
        let text = || Value::Text(words.clone());
        let base = 100 + 10 * i as u128;
        let (aircraft, transmitter, receiver) = (DeviceId(base), DeviceId(base + 1), DeviceId(base + 2));
        let whole = || {
            vec![Field::Code, Field::Name, Field::Maker, Field::Model, Field::Owner, Field::Note, Field::Pack]
        };
        for (id, sort) in
            [(aircraft, Sort::Aircraft), (transmitter, Sort::Transmitter), (receiver, Sort::Receiver)]
        {
            book.say(id, NOW, Body::Device { sort });
            let facts = whole().into_iter().map(|field| (field, text())).collect();
            book.say(id, NOW, reading(Part::Whole, How::Label, facts));
        }
        let end = Part::End(words.clone());
        let fields = [
            Field::Family,
            Field::Band,
            Field::Region,
            Field::Firmware,
            Field::Antenna,
            Field::Note,
            Field::Name,
        ];
        for id in [transmitter, receiver] {
            let facts = fields.iter().map(|field| (*field, text())).collect();
            book.say(id, NOW, reading(end.clone(), How::Label, facts));
        }
        let far = EndRef { device: transmitter, end: words.clone() };
        let partners = Value::Partners(Partners { ends: vec![far.clone()], all: true });
        let same = Value::Secret(SecretMark::SameAs(far));
        book.say(
            receiver,
            NOW,
            reading(end, How::Seen, vec![(Field::Partners, partners), (Field::Secret, same)]),
        );
        book.say(
            receiver,
            NOW,
            reading(Part::Whole, How::Told, vec![(Field::Aircraft, Value::Device(aircraft))]),
        );
        let memory =
            vec![(Field::Name, text()), (Field::Aircraft, Value::Device(aircraft)), (Field::End, text())];
        book.say(transmitter, NOW, reading(Part::Memory(words.clone()), How::Label, memory));
    }
    assert!(book.facts().len() > 90);
    assert_eq!(facts(&through_csv(&book).register), book.facts());
    assert_eq!(facts(&through_toml(&book).register), book.facts());
}

/// A name is looked up without the spaces around it, so two that differ in nothing else
/// are no names of their own.
#[test]
fn codes_that_differ_in_spaces_only_come_back() {
    let mut book = Book::new();
    for (device, code) in [(1, "="), (2, "= "), (3, "R1"), (4, " r1")] {
        book.say(DeviceId(device), NOW, Body::Device { sort: Sort::Receiver });
        book.say(
            DeviceId(device),
            NOW,
            reading(Part::Whole, How::Seen, vec![(Field::Code, Value::Text(code.to_owned()))]),
        );
    }
    assert_eq!(through_csv(&book).facts(), book.facts());
    assert_eq!(through_toml(&book).facts(), book.facts());
}

/// Code and name both clash, and the clashing code was seen when the name was that holds.
#[test]
fn clashes_of_two_facts_stand_after_what_they_clash_with() {
    let mut book = Book::new();
    let device = DeviceId(1);
    let early = Moment(NOW.0 - DAY_MS);
    book.say(device, NOW, Body::Device { sort: Sort::Receiver });
    for (seen, field, words) in [
        (early, Field::Code, "R7"),
        (NOW, Field::Code, "R8"),
        (NOW, Field::Name, "Left"),
        (NOW, Field::Name, "left"),
    ] {
        let facts = vec![(field, Value::Text(words.to_owned()))];
        book.say(device, seen, reading(Part::Whole, How::Seen, facts));
    }
    assert_eq!(through_csv(&book).facts(), book.facts());
    assert_eq!(through_toml(&book).facts(), book.facts());
}

/// A known fault, kept in sight until it is mended: names are read without regard to
/// letter case, so a partner written down for an end that its transmitter doesn't have
/// comes back as the end that differs in case only. No door lets such a partner in; a
/// merged logbook can hold one. When this test fails, the fault is gone: turn it round.
#[test]
#[should_panic(expected = "assertion `left == right` failed")]
fn a_partner_end_in_another_letter_case_does_not_come_back() {
    let mut book = Book::new();
    let (transmitter, receiver) = (DeviceId(1), DeviceId(2));
    let family = vec![(Field::Family, Value::Text("Own".to_owned()))];
    let partners = Partners { ends: vec![EndRef { device: transmitter, end: "R7".to_owned() }], all: true };
    book.say(transmitter, NOW, Body::Device { sort: Sort::Transmitter });
    book.say(transmitter, NOW, reading(Part::End("r7".to_owned()), How::Seen, family));
    book.say(receiver, NOW, Body::Device { sort: Sort::Receiver });
    let facts = vec![(Field::Partners, Value::Partners(partners))];
    book.say(receiver, NOW, reading(Part::End(Part::MAIN.to_owned()), How::Seen, facts));
    assert_eq!(through_csv(&book).facts(), book.facts());
}

#[test]
fn no_cell_of_an_export_is_a_formula() {
    let mut book = Book::new();
    book.say(DeviceId(1), NOW, Body::Device { sort: Sort::Aircraft });
    for (field, words) in
        [(Field::Code, "=1+1"), (Field::Name, "+cmd"), (Field::Note, "@x"), (Field::Owner, "-x")]
    {
        let fact = vec![(field, Value::Text(words.to_owned()))];
        book.say(DeviceId(1), NOW, reading(Part::Whole, How::Seen, fact));
    }
    let list = csv::write(&Scene::new(&book.register));
    for cell in list.split([',', '\n']) {
        assert!(!cell.trim_start_matches('"').starts_with(['=', '+', '-', '@']), "{cell}");
    }
    assert!(list.contains("'=1+1"));
}

#[test]
fn events_come_back_as_what_they_add_up_to() {
    let mut book = Book::with_family(include_str!("../../../register/families/plover.toml"));
    let list =
        b"Sort,Code,Family,Firmware,Paired with\ntx,T1,Plover,2.0,\ntx,T2,Plover,2.0,\nrx,R1,Plover,1.0,T1\n";
    book.import_csv(list, None);
    let id = |code: &str| {
        let scene = Scene::new(&book.register);
        register::fleet::find(&scene, code, None).unwrap()
    };
    let (receiver, transmitter) = (id("R1"), EndRef { device: id("T2"), end: "main".into() });
    let flashed = Body::Flashed { end: "main".into(), version: "2.1".into(), route: "bench lead".into() };
    book.say(receiver, Moment(NOW.0 + DAY_MS), flashed);
    book.say(receiver, Moment(NOW.0 + 2 * DAY_MS), Body::Paired { end: "main".into(), transmitter });
    let facts_now = book.facts();
    assert!(
        facts_now["R1"].iter().any(|fact| fact.contains("<T2>"))
            && !facts_now["R1"].iter().any(|fact| fact.contains("<T1>"))
    );
    assert_eq!(facts(&through_csv(&book).register), facts_now);
    assert_eq!(facts(&through_toml(&book).register), facts_now);
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => prop::sample::select(vec!["R7", "r7", "Glider", "T1", "2.4 GHz", "2,4", "4.1"]).prop_map(str::to_owned),
        1 => prop::sample::select(hostile()),
        1 => "[^\u{0}]{1,6}",
        1 => "['=+?; ]{1,4}",
    ]
}

#[derive(Clone, Debug)]
pub struct Say {
    device: usize,
    part: usize,
    key: String,
    field: usize,
    words: String,
    number: u32,
    how: How,
    day: i64,
    replaces: bool,
}

pub fn say() -> impl Strategy<Value = Say> {
    let how = prop::sample::select(How::ALL.to_vec());
    let key = prop_oneof![3 => Just("main".to_owned()), 1 => words()];
    (0..6_usize, 0..3_usize, key, 0..14_usize, words(), 0..70_u32, how, 0..3_i64, any::<bool>()).prop_map(
        |(device, part, key, field, words, number, how, day, replaces)| Say {
            device,
            part,
            key,
            field,
            words,
            number,
            how,
            day: day * DAY_MS / 2 + if day == 2 { 123 } else { 0 },
            replaces,
        },
    )
}

/// Two aircraft, two transmitters, two receivers.
const SORTS: [Sort; 6] =
    [Sort::Aircraft, Sort::Aircraft, Sort::Transmitter, Sort::Transmitter, Sort::Receiver, Sort::Receiver];

fn id(device: usize) -> DeviceId {
    DeviceId(0x1000 + device as u128)
}

fn value(say: &Say, field: Field, index: usize) -> Value {
    let far = EndRef { device: id(2 + index % 2), end: say.key.clone() };
    match field {
        Field::State => Value::Text("shelf".to_owned()),
        Field::ModelId if say.number == 0 => Value::Off,
        Field::ModelId => Value::Number(say.number),
        Field::Aircraft if say.number < 10 => Value::None,
        Field::Aircraft => Value::Device(id(index % 2)),
        Field::Partners if say.number == 0 => Value::Partners(Partners { ends: Vec::new(), all: true }),
        Field::Partners => {
            let mut ends = vec![far];
            if say.number > 40 {
                ends.push(EndRef { device: id(2 + (index + 1) % 2), end: "main".into() });
            }
            Value::Partners(Partners { ends, all: say.number.is_multiple_of(2) })
        }
        Field::Secret if say.number < 20 => Value::Secret(SecretMark::Blank),
        Field::Secret if say.number < 40 => Value::Secret(SecretMark::SameAs(far)),
        Field::Secret => {
            Value::Secret(SecretMark::Print { key: u64::from(say.number), print: u128::MAX / 3 })
        }
        _ => Value::Text(say.words.clone()),
    }
}

pub fn book(says: &[Say]) -> Book {
    let mut book = Book::new();
    for (device, sort) in SORTS.into_iter().enumerate() {
        book.say(id(device), NOW, Body::Device { sort });
    }
    for (index, say) in says.iter().enumerate() {
        let sort = SORTS[say.device];
        let part = match (say.part, sort) {
            (1, Sort::Transmitter | Sort::Receiver) => Part::End(say.key.clone()),
            (2, Sort::Transmitter) => Part::Memory(say.key.clone()),
            _ => Part::Whole,
        };
        let fields = intake::inventory::fields_of(sort, &part);
        let field = fields[say.field % fields.len()];
        let standing = book.register.device(id(say.device)).unwrap().standing(&part, std::iter::once(field));
        let replaces = if say.replaces { standing } else { Vec::new() };
        let facts = vec![(field, value(say, field, index))];
        let body = Body::Reading { part, how: say.how, facts, replaces };
        book.say(id(say.device), Moment(NOW.0 + say.day), body);
    }
    book
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_register_survives_a_list(says in prop::collection::vec(say(), 0..24)) {
        let book = book(&says);
        prop_assert_eq!(facts(&through_csv(&book).register), book.facts());
    }

    #[test]
    fn any_register_survives_a_workshop_file(says in prop::collection::vec(say(), 0..24)) {
        let book = book(&says);
        prop_assert_eq!(facts(&through_toml(&book).register), book.facts());
    }

    #[test]
    fn any_bytes_are_read_or_told(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Ok(header) = Header::read(&bytes) {
            let mut mapping = csv::mapping::guess(&header);
            mapping.rows = Some(Sort::Receiver);
            let _ = csv::read(bytes, &mapping, Options::default());
        }
    }

    #[test]
    fn any_list_is_read_or_told(text in "(Code|Name|Band|;|,|\"|\n|\r|R7|4,1|'|=| ){0,40}") {
        let list = format!("Code,Name,Firmware\n{text}");
        let mut mapping = csv::mapping::guess(&Header::read(list.as_bytes()).unwrap());
        mapping.rows = Some(Sort::Receiver);
        if let Ok(read) = csv::read(list.clone().into_bytes(), &mapping, Options::default()) {
            prop_assert!(read.inventory.units.len() + read.bad.len() >= usize::try_from(read.rows).unwrap());
            let _ = Book::new().plan(&read.inventory);
        }
    }

    #[test]
    fn any_workshop_file_is_read_or_told(text in "(\\[\\[receiver\\]\\]|\\[\\[receiver.end\\]\\]|code = \"R1\"|band|=|\"|\\{|\\}|\\[|\\]|\n|key|value|,| ){0,40}") {
        let read = intake::toml::read("f.toml", &format!("schema = 1\n{text}"));
        let _ = Book::new().plan(&read.inventory);
    }
}
