//! The pages of commissioning, drawn from an aircraft with a fit.

use fitting::aircraft::Fit;
use fitting::card::Size;
use fitting::cards;
use fitting::commission::{Commission, commission, lapse};
use fitting::failsafe::proof_steps;
use fitting::part::{from_inputs, inputs, read, schema, write};
use pages::fit::fleet::FleetSheet;
use pages::fit::labels::Choose;
use pages::fit::list::ListSheet;
use pages::fit::paper::CardSheet;
use pages::fit::part::PartSheet;
use pages::fit::{self, FORM, after_row, tidied};
use pages::form::Typed;
use register::entry::Body;
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::fleet::Fleet;
use register::scene::Scene;
use register::view::card;

use crate::fleet::{HERON, Logbook, R1, SWIFT, T1, now, small};
use crate::{check, site};

const OUTPUTS: &str = "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n
[[output]]\nnumber = 1\nchannel = 1\n\n[[output]]\nnumber = 3\nchannel = 3\n\n[[output]]\nnumber = 4\nsends = \"nothing\"\n
[[part]]\nname = \"aileron servo\"\noutput = 1\nsurface = \"ailerons\"\n
[[part]]\nname = \"speed <controller>\"\nsort = \"speed-controller\"\noutput = 3\n
[[part]]\nname = \"lamp\"\nsort = \"light\"\noutput = 1\n";

const SUPPLY: &str =
    "[[pack]]\nname = \"flight pack\"\nchemistry = \"lipo\"\ncells = 2\ncapacity_mah = 1000\n
[[regulator]]\nkind = \"switching\"\nset_v = 5\nburst_a = 10\n
[[servo]]\nname = \"all\"\nclass = \"micro\"\ncount = 3\n";

const FAILSAFE: &str =
    "[[channel]]\nchannel = 3\nfunction = \"throttle\"\naction = \"value\"\nvalue_us = 1000\n
[flight]\nspeed_m_s = 14\nheight_m = 50\nheading_deg = 45\n
[wind]\nspeed_m_s = 3\nfrom_deg = 270\n\n[field]\neast_m = 40\nnorth_m = 60\nradius_m = 300\n";

const ANTENNAS: &str =
    "[[antenna]]\nname = \"left\"\nkind = \"bare-tip\"\nlength_mm = 31\nazimuth_deg = -90\n
[[antenna]]\nname = \"fin\"\nkind = \"bare-tip\"\nelevation_deg = 90\n
[[place]]\nantenna = \"left\"\nx_mm = 0\ny_mm = -40\nz_mm = 0\n
[[thing]]\nkind = \"pack\"\nx_mm = 60\ny_mm = 0\nz_mm = 0\n";

const TEXTS: [(Part, &str); 4] = [
    (Part::Outputs, OUTPUTS),
    (Part::Supply, SUPPLY),
    (Part::Failsafe, FAILSAFE),
    (Part::Antennas, ANTENNAS),
];

/// The small fleet with a fit on Swift, a proof that lapsed, one that did not hold, and a signature.
fn fitted() -> Logbook {
    let mut book = small();
    for (part, text) in TEXTS {
        let body = Fitted { part, text: text.to_owned(), replaces: Vec::new() };
        book.write("2026-05-20", SWIFT, Body::Fitted(body));
    }
    let proved = |proof, held| {
        Body::Proved(Proved {
            proof,
            transmitter: Some(T1),
            held,
            steps: Vec::new(),
            measured: std::collections::BTreeMap::new(),
            note: String::new(),
        })
    };
    book.write("2026-05-29", SWIFT, proved(Proof::Directions, true));
    book.write("2026-05-29", SWIFT, proved(Proof::Range, false));
    book.write(
        "2026-05-29",
        SWIFT,
        Body::Worked(Worked { what: Work::Servo, note: "left aileron".to_owned() }),
    );
    let signed = Signed {
        transmitter: Some(T1),
        checked: vec!["proof:directions".to_owned()],
        unchecked: vec!["supply".to_owned()],
        note: String::new(),
    };
    book.write("2026-05-29", SWIFT, Body::Signed(signed));
    book
}

struct Drawn {
    book: Logbook,
    fleet: Fleet,
}

impl Drawn {
    fn of(book: Logbook) -> Drawn {
        let fleet = Fleet::of(&Scene::new(&book.register));
        Drawn { book, fleet }
    }

    fn fit(&self) -> Fit {
        Fit::of(&Scene::new(&self.book.register), &self.fleet, SWIFT)
    }

    fn list(&self) -> Commission {
        let scene = Scene::new(&self.book.register);
        commission(&scene, &self.fleet, SWIFT, Some(T1), &self.fit().states(), now()).unwrap()
    }

    fn part(&self, part: Part, typed: &Typed) -> String {
        let (list, fit) = (self.list(), self.fit());
        let sheet = PartSheet { card: &list.aircraft, part, fit: &fit, case: None };
        fit::part::page(&site("/device/part"), &sheet, typed).into_string()
    }

    fn listed(&self, typed: &Typed) -> String {
        let (list, fit) = (self.list(), self.fit());
        let steps: Vec<_> =
            Proof::ALL.iter().map(|proof| (*proof, proof_steps(fit.craft, fit.power, *proof))).collect();
        let sheet = ListSheet { list: &list, steps: &steps };
        fit::list::page(&site("/device/commission"), &sheet, typed).into_string()
    }

    fn papers(&self) -> Vec<(&'static str, String)> {
        let scene = Scene::new(&self.book.register);
        let (list, fit) = (self.list(), self.fit());
        let about = cards::About {
            scene: &scene,
            fleet: &self.fleet,
            workshop: "Sandbank club",
            address: Some("http://192.0.2.7:7420"),
            now: now(),
        };
        let ways = [("/device/x/card?of=field&size=a6".to_owned(), "Field card on A6".to_owned())];
        let one = |card: &fitting::card::Card, size| {
            let sheet = CardSheet { card, size, pdf: "/device/x/card.pdf", ways: &ways };
            fit::paper::page(&site("/card"), &sheet).into_string()
        };
        let labels: Vec<_> =
            [R1, T1, SWIFT].iter().map(|id| cards::label(&about, *id).unwrap().unwrap()).collect();
        let groups = [("Receivers".to_owned(), vec![card(scene.device(R1).unwrap())])];
        let choose = Choose { groups: &groups, chosen: &[R1], most: 240 };
        vec![
            ("fit-bench-card", one(&cards::bench(&about, &list, &fit).unwrap(), Size::A4)),
            ("fit-field-card", one(&cards::field(&about, &list, &fit).unwrap(), Size::A6)),
            ("fit-labels", fit::labels::print(&site("/labels/print"), &labels, "/labels.pdf").into_string()),
            ("fit-labels-choose", fit::labels::choose(&site("/labels"), &choose).into_string()),
        ]
    }
}

/// Every page of commissioning, by name.
fn all_pages() -> Vec<(&'static str, String)> {
    let none = Typed::none();
    let (bare, drawn) = (Drawn::of(small()), Drawn::of(fitted()));
    let wrong = Typed {
        form: FORM.to_owned(),
        values: vec![
            ("output.1.number".to_owned(), "one".to_owned()),
            ("output.1.rate_hz".to_owned(), "333".to_owned()),
            ("output.2.number".to_owned(), String::new()),
        ],
        errors: vec![("output.1.number".to_owned(), "This is \"one\"; write a whole number.".to_owned())],
    };
    let list = drawn.list();
    let fleet = FleetSheet { lists: &[list], total: 1, page: 1, per_page: 50 };
    let empty = FleetSheet { lists: &[], total: 0, page: 1, per_page: 50 };
    let mut pages = vec![
        ("fit-fleet", fit::fleet::page(&site("/commission"), &fleet).into_string()),
        ("fit-fleet-empty", fit::fleet::page(&site("/commission"), &empty).into_string()),
        ("fit-table", fit::table::page(&site("/commission/table"), lapse::rules()).into_string()),
        ("fit-list", drawn.listed(&none)),
        ("fit-list-bare", bare.listed(&none)),
        ("fit-outputs-bare", bare.part(Part::Outputs, &none)),
        ("fit-outputs-wrong", bare.part(Part::Outputs, &wrong)),
        ("fit-outputs", drawn.part(Part::Outputs, &none)),
        ("fit-supply", drawn.part(Part::Supply, &none)),
        ("fit-failsafe", drawn.part(Part::Failsafe, &none)),
        ("fit-antennas", drawn.part(Part::Antennas, &none)),
    ];
    pages.extend(drawn.papers());
    pages
}

#[test]
fn pages_of_commissioning_look_as_they_did() {
    for (name, page) in all_pages() {
        insta::assert_snapshot!(name, page.replace("><", ">\n<"));
    }
}

#[test]
fn pages_of_commissioning_are_whole_and_say_nothing_that_nobody_knows() {
    let mut wrong = Vec::new();
    for (name, page) in all_pages() {
        wrong.extend(check::wrong(&page).into_iter().map(|says| format!("{name}: {says}")));
        wrong.extend(check::blocks_in_paragraphs(&page).into_iter().map(|says| format!("{name}: {says}")));
        let lower = page.to_lowercase();
        for word in [" is safe", "ready to fly", "ok to fly", "cafe42", "<controller>", "nan", "infinity"] {
            let found = lower.split(|c: char| "<>\"".contains(c)).any(|text| match word {
                "nan" => text.split(|c: char| !c.is_alphanumeric()).any(|one| one == "nan"),
                _ => text.contains(word),
            });
            if found || (word == "<controller>" && lower.contains(word)) {
                wrong.push(format!("{name}: says `{word}`"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_form_has_a_field_for_every_key_of_every_part() {
    let drawn = Drawn::of(small());
    for part in Part::ALL {
        // A row of each table, asked for by its button.
        let mut cells = Vec::new();
        for table in schema(*part).tables {
            if let Some(more) = after_row(schema(*part), &cells, &format!("add.{}", table.name)) {
                cells = more;
            }
        }
        let typed = Typed { form: FORM.to_owned(), values: cells, errors: Vec::new() };
        let page = drawn.part(*part, &typed);
        for table in schema(*part).tables {
            for key in table.keys {
                let name = format!("name=\"{}.1.{}\"", table.name, key.name);
                assert_eq!(page.matches(&name).count(), 1, "{part:?} {name}");
            }
        }
    }
}

#[test]
fn what_stands_in_a_form_is_read_back_as_it_was() {
    for (part, text) in TEXTS {
        let filled = read(schema(part), "a test", text).unwrap();
        let page = Drawn::of(fitted()).part(part, &Typed::none());
        let cells: Vec<(String, String)> = inputs(&filled);
        for (path, value) in &cells {
            assert!(page.contains(&format!("name=\"{path}\"")), "{part:?} {path}");
            assert!(
                page.contains(&value.replace('<', "&lt;").replace('>', "&gt;")),
                "{part:?} {path} = {value}"
            );
        }
        let back = from_inputs(schema(part), "a test", &tidied(&cells)).unwrap();
        assert_eq!(write(&back), write(&filled), "{part:?}");
    }
}

/// A button's word, and what stands in the form after it; `None` where it is no button's.
type After<'a> = (&'a str, Option<&'a [(&'a str, &'a str)]>);

fn cells(all: &[(&str, &str)]) -> Vec<(String, String)> {
    all.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())).collect()
}

#[test]
fn rows_come_and_go_and_keep_what_was_typed() {
    let outputs = schema(Part::Outputs);
    let typed = cells(&[
        ("output.1.number", "1"),
        ("output.2.number", "x"),
        ("output.3.number", "3"),
        ("part.2.name", "lamp"),
    ]);
    let cases: [After; 7] = [
        (
            "take.output.2",
            Some(&[("output.1.number", "1"), ("output.2.number", "3"), ("part.2.name", "lamp")]),
        ),
        (
            "take.output.9",
            Some(&[
                ("output.1.number", "1"),
                ("output.2.number", "x"),
                ("output.3.number", "3"),
                ("part.2.name", "lamp"),
            ]),
        ),
        ("take.output.x", None),
        ("add.nothing", None),
        ("take", None),
        ("", None),
        ("add.output.3", None),
    ];
    for (word, want) in cases {
        assert_eq!(after_row(outputs, &typed, word), want.map(cells), "{word}");
    }
    let more = after_row(outputs, &typed, "add.output").unwrap();
    assert_eq!(more.last().unwrap(), &("output.4.receiver".to_owned(), String::new()));
    // Rows in which nothing stands go, the others close up.
    let tidy = tidied(&cells(&[
        ("output.1.number", " "),
        ("output.2.number", "x"),
        ("output.2.channel", ""),
        ("part.7.name", "lamp"),
        ("strange", "1"),
    ]));
    assert_eq!(
        tidy,
        cells(&[
            ("output.1.number", "x"),
            ("output.1.channel", ""),
            ("part.1.name", "lamp"),
            ("strange", "1")
        ])
    );
}

#[test]
fn a_wrong_field_says_so_and_stands_in_view() {
    let page = all_pages().into_iter().find(|(name, _)| *name == "fit-outputs-wrong").unwrap().1;
    assert!(page.contains("<span class=\"error\" id=\"f-fit-output-1-number-error\">"));
    assert!(page.contains("aria-describedby=\"f-fit-output-1-number-hint f-fit-output-1-number-error\""));
    assert!(page.contains("value=\"one\"") && page.contains("value=\"333\""));
}

#[test]
fn the_list_says_what_lapsed_by_what_and_why() {
    let page = Drawn::of(fitted()).listed(&Typed::none());
    let directions = page
        .split("id=\"item-proof-directions\"")
        .nth(1)
        .unwrap()
        .split("</li><li class=\"item\"")
        .next()
        .unwrap();
    assert!(directions.contains("Lapsed") && directions.contains("servo or linkage changed"));
    let rule = lapse::rule(lapse::Happening::Servo);
    assert!(directions.contains(&rule.why[1..]), "{}", rule.why);
    assert!(page.contains("Did not hold") && page.contains("No longer so: "));
    // Cautions stand with the steps.
    assert!(page.matches("<strong>Caution: </strong>").count() > 8);
}

#[test]
fn a_square_holds_its_symbol_module_by_module() {
    let drawn = Drawn::of(fitted());
    let scene = Scene::new(&drawn.book.register);
    let about = cards::About { scene: &scene, fleet: &drawn.fleet, workshop: "", address: None, now: now() };
    let label = cards::label(&about, R1).unwrap().unwrap();
    let page = fit::labels::print(&site("/labels/print"), std::slice::from_ref(&label), "/x").into_string();
    let d = page.split("class=\"dark\" d=\"").nth(1).unwrap().split('"').next().unwrap();
    let mut drawn_dark = std::collections::BTreeSet::new();
    for piece in d.split('z').filter(|piece| !piece.is_empty()) {
        let (place, rest) = piece.trim_start_matches('M').split_once('h').unwrap();
        let (x, y) = place.split_once(' ').unwrap();
        let run: usize = rest.split('v').next().unwrap().parse().unwrap();
        let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
        drawn_dark.extend((x..x + run).map(|x| (x, y)));
    }
    let symbol = &label.code.symbol;
    let quiet = fitting::qr::QUIET;
    for y in 0..symbol.side {
        for x in 0..symbol.side {
            assert_eq!(drawn_dark.contains(&(x + quiet, y + quiet)), symbol.is_dark(x, y), "{x} {y}");
        }
    }
    // The finder patterns (ISO/IEC 18004): seven dark modules at three corners.
    let far = symbol.side - 7;
    for (x, y) in [(0, 0), (far, 0), (0, far)] {
        assert!((0..7).all(|at| drawn_dark.contains(&(x + at + quiet, y + quiet))), "{x} {y}");
    }
}

#[test]
fn a_part_that_cannot_be_read_says_why_and_keeps_its_text() {
    let mut book = small();
    let text = "[[antenna]]\nname = \"left\"\nfrom_next_year = 3\n";
    let body = Fitted { part: Part::Antennas, text: text.to_owned(), replaces: Vec::new() };
    book.write("2026-05-20", HERON, Body::Fitted(body));
    let fleet = Fleet::of(&Scene::new(&book.register));
    let scene = Scene::new(&book.register);
    let fit = Fit::of(&scene, &fleet, HERON);
    let craft = fleet.aircraft(HERON).unwrap();
    let sheet = PartSheet { card: &craft.card, part: Part::Antennas, fit: &fit, case: None };
    let page = fit::part::page(&site("/device/part"), &sheet, &Typed::none()).into_string();
    assert!(page.contains("can't be read") && page.contains("from_next_year"));
    assert!(check::wrong(&page).is_empty(), "{:?}", check::wrong(&page));
}
