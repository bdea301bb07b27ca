//! The papers of fault trails: the card for the field, the closing report, the weights.

use std::collections::BTreeSet;

use pages::fault::card::{self, Card};
use pages::fault::report;
use pages::fault::weights::{self, Weights};
use pages::form::Typed;
use register::entry::Body;
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::scene::Scene;
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::EndRef;
use trails::card::{DEEPEST, Node, Then, size, tree};
use trails::learn::{Counts, STRENGTH, STRENGTHS, teach};
use trails::library;
use trails::model::Model;
use trails::planner::{Choice, Effort};
use trails::table::Situation;
use trails::trail::{Next, Trail, follow};
use units::Minutes;

use crate::fleet::{Logbook, R4, T1, now, small};
use crate::{check, site};

/// What a page must never hold as it was typed.
const HOSTILE: [&str; 4] =
    ["<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "\u{202e}nwot", "</title><h1>mine</h1>"];

fn light() -> Effort {
    Effort { evaluations: 200, ..Effort::look_ahead() }
}

/// What a person reads: the text without tags.
fn words(page: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    out.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
}

fn wrong(page: &str) -> Vec<String> {
    let mut wrong = check::wrong(page);
    wrong.extend(check::blocks_in_paragraphs(page));
    let levels: Vec<u32> = page
        .split("<h")
        .skip(1)
        .filter_map(|piece| piece.chars().next().and_then(|level| level.to_digit(10)))
        .collect();
    if levels.windows(2).any(|pair| pair[1] > pair[0] + 1) {
        wrong.push(format!("headings {levels:?}"));
    }
    for hostile in HOSTILE {
        if page.contains(hostile) {
            wrong.push(format!("as it was typed: {hostile}"));
        }
    }
    wrong
}

// ------------------------------------------------------------------------------- the card

/// One place of a card as it is printed.
struct Place {
    number: usize,
    says: String,
    /// The branches: their words, and the number that they lead to.
    branches: Vec<(String, Option<usize>)>,
}

fn number(text: &str) -> usize {
    text.chars().take_while(char::is_ascii_digit).collect::<String>().parse().unwrap()
}

fn places(page: &str) -> Vec<Place> {
    let list = page.split("<ol class=\"card\">").nth(1).unwrap().split("</ol>").next().unwrap();
    let pieces = list.split("<li id=\"n").skip(1);
    pieces
        .map(|piece| {
            let shown = number(piece.split(" value=\"").nth(1).unwrap());
            assert_eq!(number(piece), shown, "an anchor and its number differ");
            let (says, branches) = piece.split_once("<ul class=\"branches\">").unwrap_or((piece, ""));
            let branches = branches
                .split("<li>")
                .skip(1)
                .map(|branch| {
                    let branch = branch.split("</li>").next().unwrap();
                    let to = branch.split("href=\"#n").nth(1).map(number);
                    let text = words(branch);
                    // The words that are printed name the same number as the link.
                    assert_eq!(text.split("go to ").nth(1).map(number), to, "{text}");
                    (text, to)
                })
                .collect();
            Place { number: number(piece), says: says.to_owned(), branches }
        })
        .collect()
}

/// Walks the tree and the printed card side by side; what differs.
fn differs(model: &Model, node: &Node, at: usize, places: &[Place], met: &mut Vec<usize>) -> Vec<String> {
    met.push(at);
    let Some(place) = places.iter().find(|place| place.number == at) else {
        return vec![format!("there is no {at}")];
    };
    let mut wrong = Vec::new();
    if let Choice::Do(step) = node.choice {
        let says = words(&place.says);
        if !says.contains(&model.steps[step].label) {
            wrong.push(format!("{at} is another step: {says}"));
        }
        // How it is done stands at the first place of a step; the others lead there.
        let how = match place.says.split("href=\"#n").nth(1).map(number) {
            None => says.clone(),
            Some(first) => {
                let first = places.iter().find(|place| place.number == first && first < at);
                first.map(|place| words(&place.says)).unwrap_or_default()
            }
        };
        if !how.contains(&model.steps[step].label) || !how.contains(&model.steps[step].how) {
            wrong.push(format!("{at} doesn't say how: {says}"));
        }
        if !says.contains(&node.minutes.to_string()) {
            wrong.push(format!("{at} has no minutes: {says}"));
        }
    }
    if place.branches.len() != node.branches.len() {
        wrong.push(format!("{at} has {} branches", place.branches.len()));
    }
    for (branch, (says, to)) in node.branches.iter().zip(&place.branches) {
        if !says.starts_with(branch.label.trim_end_matches('.')) || !says.contains('%') {
            wrong.push(format!("{at}: {says}, not {}", branch.label));
        }
        match (&branch.then, to) {
            (Then::Node(next), Some(to)) => wrong.extend(differs(model, next, *to, places, met)),
            (Then::Works, None) if says.ends_with("prove it.") => {}
            (Then::Ends { likeliest }, None) => {
                if likeliest.is_empty() || !likeliest.iter().all(|(label, _)| says.contains(label.as_str())) {
                    wrong.push(format!("{at}: {says}, not {likeliest:?}"));
                }
            }
            (then, to) => wrong.push(format!("{at}: {says} leads to {to:?}, not {then:?}")),
        }
    }
    wrong
}

fn card_of(model: &Model, situation: &Situation, depth: u32, gear: &str) -> (Node, String) {
    let tree = tree(model, situation, depth, light());
    let card = Card { model, tree: &tree, depth, gear, certain: &[], address: "/faults/card" };
    let page = card::page(&site("/faults/card"), &card).into_string();
    (tree, page)
}

#[test]
fn every_number_of_a_card_leads_to_its_place() {
    let mut wrong_ones = Vec::new();
    let mut cards = 0;
    for model in library::symptoms() {
        for depth in [1, 3, DEEPEST] {
            let (tree, page) = card_of(&model, &Situation::start(&model), depth, "");
            let name = format!("{} {depth}", model.key);
            wrong_ones.extend(wrong(&page).into_iter().map(|says| format!("{name}: {says}")));
            let places = places(&page);
            let mut met = Vec::new();
            let differs = differs(&model, &tree, 1, &places, &mut met);
            wrong_ones.extend(differs.into_iter().map(|says| format!("{name}: {says}")));
            // Each place of the tree once, numbered from 1, and none is led to twice.
            let all: BTreeSet<usize> = met.iter().copied().collect();
            if met.len() != size(&tree) || all.len() != met.len() || places.len() != met.len() {
                wrong_ones.push(format!("{name}: {met:?} of {}", places.len()));
            }
            let numbers: Vec<usize> = places.iter().map(|place| place.number).collect();
            if numbers != (1..=places.len()).collect::<Vec<_>>() {
                wrong_ones.push(format!("{name}: {numbers:?}"));
            }
            // The proofs, and every caution of its steps, each once.
            let text = words(&page);
            for proof in &model.proofs {
                if !text.contains(&proof.text) {
                    wrong_ones.push(format!("{name}: no proof {}", proof.key));
                }
            }
            cards += 1;
        }
    }
    assert!(wrong_ones.is_empty(), "{}", wrong_ones.join("\n"));
    assert_eq!(cards, 3 * library::symptoms().len());
}

/// The steps of a card.
fn steps(node: &Node, into: &mut Vec<usize>) {
    if let Choice::Do(step) = node.choice {
        into.push(step);
    }
    for branch in &node.branches {
        if let Then::Node(next) = &branch.then {
            steps(next, into);
        }
    }
}

#[test]
fn a_card_holds_the_cautions_of_all_its_steps_once() {
    let model = library::symptom("wont_pair").unwrap();
    let (tree, page) = card_of(&model, &Situation::start(&model), DEEPEST, "");
    let mut all = Vec::new();
    steps(&tree, &mut all);
    let cautions: BTreeSet<&str> = all.iter().flat_map(|step| model.steps[*step].cautions()).collect();
    assert!(!cautions.is_empty());
    let text = words(&page);
    for caution in cautions {
        assert_eq!(text.matches(caution).count(), 1, "{caution}: {text}");
    }
}

#[test]
fn hostile_gear_stays_words_on_a_card() {
    let model = library::symptom("short_range").unwrap();
    for hostile in HOSTILE {
        let gear = format!("For {hostile} with {hostile}, after nothing yet on the trail.");
        let (_, page) = card_of(&model, &Situation::start(&model), 1, &gear);
        assert!(wrong(&page).is_empty(), "{:?}", wrong(&page));
        let shown = hostile.replace('\u{202e}', "⟨U+202E⟩");
        assert!(words(&page).contains(&shown), "{}", words(&page));
    }
}

// ----------------------------------------------------------------------------- the report

fn begun(symptom: &str, sides: Option<(DeviceId, DeviceId)>, whose: &str) -> Body {
    let end = |device| EndRef { device, end: "main".to_owned() };
    Body::TrailBegun(Begun {
        symptom: symptom.to_owned(),
        transmitter: sides.map(|(t, _)| end(t)),
        receiver: sides.map(|(_, r)| end(r)),
        whose: whose.to_owned(),
        facts: Vec::new(),
        open: Vec::new(),
    })
}

fn at(book: &Logbook, id: EntryId) -> Trail {
    let scene = Scene::new(&book.register);
    let log = book.register.trail(id).unwrap();
    follow(&book.register, &Fleet::of(&scene), log, now(), light()).unwrap()
}

fn event(book: &mut Logbook, id: EntryId, event: Event) {
    book.write("2026-05-30", DeviceId::WORKSHOP, Body::TrailEvent { trail: id, event });
}

fn close(book: &mut Logbook, id: EntryId, symptom: &str, cause: &str, outcome: Outcome) {
    let closed = Closed {
        trail: id,
        symptom: symptom.to_owned(),
        cause: cause.to_owned(),
        outcome,
        minutes: Minutes(12.5),
    };
    book.write("2026-05-30", DeviceId::WORKSHOP, Body::TrailClosed(closed));
}

fn report(trail: &Trail) -> (String, String) {
    let page = report::page(&site("/fault"), trail).into_string();
    assert!(wrong(&page).is_empty(), "{:?}", wrong(&page));
    let text = words(&page);
    // Whatever was found, a report never says that it is safe to fly.
    assert!(text.contains("doesn't say that the aircraft is safe"), "{text}");
    (page, text)
}

fn sentence(page: &str) -> String {
    words(page.split("class=\"answer\">").nth(1).unwrap().split("</p>").next().unwrap())
}

/// A section of a report by the id of its heading.
fn section(page: &str, id: &str) -> Option<String> {
    let rest = page.split(&format!("<section aria-labelledby=\"{id}\">")).nth(1)?;
    Some(words(rest.split("</section>").next().unwrap()))
}

#[test]
fn a_report_says_where_an_open_trail_stands() {
    let mut book = small();
    let id = book.write("2026-05-30", R4, begun("short_range", Some((T1, R4)), "Wren's pilot"));
    let (page, text) = report(&at(&book, id));
    assert_eq!(sentence(&page), "This trail is still open.");
    for says in ["Grey handset", "Wren receiver", "Wren's pilot", "Whimbrel"] {
        assert!(text.contains(says), "{says}: {text}");
    }
    assert!(section(&page, "done").unwrap().contains("Nothing yet."));
    assert_eq!(section(&page, "changed"), None);
    let proven = section(&page, "proven").unwrap();
    let model = library::symptom("short_range").unwrap();
    assert!(proven.contains("Not tried:") && !proven.contains("Seen to hold:"), "{proven}");
    assert_eq!(proven.matches("Not tried:").count(), model.proofs.len());
    assert!(section(&page, "likely").unwrap().contains('%'));
}

#[test]
fn a_report_with_something_still_changed_warns_of_it() {
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
    let model = library::symptom("wont_pair").unwrap();
    let step = model.step("model_id_off").unwrap();
    let leaves = model.steps[step].leaves.as_ref().unwrap().what.trim_end_matches('.').to_owned();
    let answered =
        Event::Answered { step: "model_id_off".to_owned(), answer: "no".to_owned(), facts: Vec::new() };
    event(&mut book, id, answered);
    let (page, text) = report(&at(&book, id));
    let warning = "Something is still to be put back: don't fly before it is.";
    assert!(text.contains(warning), "{text}");
    let changed = section(&page, "changed").unwrap();
    assert!(changed.contains(&format!("{leaves}: still to be put back.")), "{changed}");
    let done = section(&page, "done").unwrap();
    assert!(
        done.contains(&model.steps[step].label) && done.to_lowercase().contains("no, nothing changed"),
        "{done}"
    );
    event(&mut book, id, Event::PutBack { change: "model_id_off".to_owned() });
    let (page, text) = report(&at(&book, id));
    assert!(!text.contains(warning), "{text}");
    assert!(section(&page, "changed").unwrap().contains(&format!("{leaves}: put back.")));
    event(
        &mut book,
        id,
        Event::Elsewise {
            text: "Bent a wire".to_owned(),
            minutes: Minutes(3.0),
            changed: "A wire is bent".to_owned(),
        },
    );
    event(&mut book, id, Event::Accepted { change: "elsewise-1".to_owned() });
    let (page, text) = report(&at(&book, id));
    assert!(!text.contains(warning), "{text}");
    assert!(section(&page, "changed").unwrap().contains("A wire is bent: stays, accepted by name."));
}

/// Tries a mend that helps, and proves what there is to prove.
fn proven(book: &mut Logbook, id: EntryId, step: &str) {
    event(
        book,
        id,
        Event::Tried { step: step.to_owned(), helped: Helped::Yes, facts: Vec::new(), way: None },
    );
    for _ in 0..20 {
        let what = match &at(book, id).next {
            Next::Restore { change } => Event::PutBack { change: at(book, id).changes[*change].key.clone() },
            Next::Prove { proof } => {
                Event::Proved { proof: at(book, id).proofs[*proof].key.clone(), held: true }
            }
            _ => break,
        };
        event(book, id, what);
    }
    assert!(matches!(at(book, id).next, Next::Close));
}

#[test]
fn a_report_tells_a_proof_that_did_not_hold_from_one_that_was_not_tried() {
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
    let step = "same_secret".to_owned();
    event(&mut book, id, Event::Tried { step, helped: Helped::Yes, facts: Vec::new(), way: None });
    let proof = library::symptom("wont_pair").unwrap().proofs[0].clone();
    event(&mut book, id, Event::Proved { proof: proof.key, held: false });
    let (page, text) = report(&at(&book, id));
    let tried = section(&page, "proven").unwrap();
    assert!(tried.contains(&format!("Tried, and did NOT hold: {}", proof.text)), "{text}");
    assert_eq!(tried.matches("did NOT hold").count(), 1);
    assert!(!tried.contains(&format!("Not tried: {}", proof.text)), "{text}");
}

#[test]
fn a_trail_that_is_over_has_no_tree() {
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
    proven(&mut book, id, "same_secret");
    let page = card::over(&site("/fault/card"), &at(&book, id)).into_string();
    assert!(words(&page).contains("Something helped, so there is nothing to search for:"), "{page}");
    assert!(wrong(&page).is_empty(), "{:?}", wrong(&page));
    close(&mut book, id, "wont_pair", "secret", Outcome::Proven);
    let page = card::over(&site("/fault/card"), &at(&book, id)).into_string();
    assert!(words(&page).contains("This trail is closed: The link is proven. It was:"), "{page}");
    assert!(!page.contains("class=\"card\"") && wrong(&page).is_empty(), "{page}");
}

#[test]
fn a_report_of_a_proven_trail_names_the_fault_and_what_was_seen_to_hold() {
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
    proven(&mut book, id, "same_secret");
    close(&mut book, id, "wont_pair", "secret", Outcome::Proven);
    let trail = at(&book, id);
    let (page, text) = report(&trail);
    let cause = trail.cause_label("secret");
    assert_eq!(sentence(&page), format!("It works again, and that was proven. It was: {cause}."));
    let proven = section(&page, "proven").unwrap();
    assert_eq!(proven.matches("Seen to hold:").count(), trail.proofs.len(), "{proven}");
    assert!(!proven.contains("Not tried:"), "{proven}");
    assert_eq!(section(&page, "likely"), None, "the cause is known: {text}");
    assert!(text.contains(&Minutes(12.5).to_string()), "{text}");
    // Proven, but nobody found out what it was.
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
    self::proven(&mut book, id, "same_secret");
    close(&mut book, id, "wont_pair", "", Outcome::Proven);
    let (page, _) = report(&at(&book, id));
    assert_eq!(sentence(&page), "It works again, and that was proven. What it was is not known.");
    assert!(section(&page, "likely").is_some());
}

#[test]
fn a_report_of_what_was_given_up_says_so_and_what_it_may_be() {
    for (outcome, cause, says) in [
        (Outcome::GaveUp, "", "It ended without a cure: given up. What it was is not known."),
        (Outcome::Left, "", "It ended without a cure: left as it is. What it was is not known."),
        (
            Outcome::GaveUp,
            "receiver_dead",
            "It ended without a cure: given up. It is: The receiver is broken.",
        ),
    ] {
        let mut book = small();
        let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
        let tried = Event::Tried {
            step: "pair_by_the_book".to_owned(),
            helped: Helped::No,
            facts: Vec::new(),
            way: None,
        };
        event(&mut book, id, tried);
        close(&mut book, id, "wont_pair", cause, outcome);
        let (page, text) = report(&at(&book, id));
        assert_eq!(sentence(&page), says);
        assert!(section(&page, "done").unwrap().to_lowercase().contains("still broken"), "{text}");
        assert_eq!(section(&page, "likely").is_some(), cause.is_empty(), "{text}");
        assert!(!section(&page, "proven").unwrap().contains("Seen to hold"), "{text}");
    }
}

#[test]
fn hostile_notes_and_names_stay_words_in_a_report() {
    for hostile in HOSTILE {
        let mut book = small();
        let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("no_telemetry", None, hostile));
        let did =
            Event::Elsewise { text: hostile.to_owned(), minutes: Minutes(1.0), changed: hostile.to_owned() };
        event(&mut book, id, did);
        // A cause that no library has: a trail of another program, or of an older library.
        close(&mut book, id, "no_telemetry", hostile, Outcome::GaveUp);
        let (page, text) = report(&at(&book, id));
        let shown = hostile.replace('\u{202e}', "⟨U+202E⟩");
        // Whose, what was done, what it changed; the cause has its underscores as spaces.
        assert!(text.matches(&shown).count() >= 4, "{page}");
    }
}

// ---------------------------------------------------------------------------- the weights

fn weights_page(book: &Logbook, model: &Model, strength: f64, typed: &Typed) -> String {
    let symptoms = library::symptoms();
    let counts = Counts::of(&book.register, &model.key);
    let mut taught = model.clone();
    teach(&mut taught, &counts, strength);
    let shown = Weights { symptoms: &symptoms, model, taught: &taught, counts: &counts, strength };
    weights::page(&site("/faults/weights"), &shown, typed).into_string()
}

/// The row of a cause: library, cases here, now.
fn row(page: &str, label: &str) -> Vec<String> {
    let rows = page.split("<tr>").map(|row| row.split("</tr>").next().unwrap());
    let row =
        rows.into_iter().find(|row| words(row).starts_with(label)).unwrap_or_else(|| panic!("no {label}"));
    row.split("<td>").skip(1).map(|cell| words(cell.split("</td>").next().unwrap())).collect()
}

#[test]
fn weights_show_the_library_and_what_cases_made_of_it() {
    let model = library::symptom("wont_pair").unwrap();
    let mut book = small();
    let page = weights_page(&book, &model, STRENGTH, &Typed::none());
    assert!(wrong(&page).is_empty(), "{:?}", wrong(&page));
    assert!(words(&page).contains("all weights are the library's judgement"), "{}", words(&page));
    let label = &model.causes[model.cause("secret").unwrap()].label;
    let before = row(&page, label);
    // Nothing was learnt: both columns are the same.
    assert_eq!((before[0].as_str(), before[1].as_str()), (before[2].as_str(), "0"));
    // Every cause, and something not in this list, has its row; every symptom is a way on.
    assert_eq!(page.matches("<th scope=\"row\">").count(), model.causes.len() + 1);
    for symptom in library::symptoms() {
        let way = format!("href=\"/faults/weights?symptom={}\"", symptom.key);
        assert_eq!(page.contains(&way), symptom.key != model.key, "{way}");
    }
    // The table is seen on a phone too: nothing hides it there.
    assert!(!page.contains("class=\"wide\""), "what is `wide` is hidden on a phone");
    for _ in 0..40 {
        let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
        close(&mut book, id, "wont_pair", "secret", Outcome::Proven);
    }
    let percent = |text: &str| text.trim_end_matches('%').trim_end_matches('\u{a0}').parse::<f64>().unwrap();
    let mut last = percent(&before[2]);
    // The less the library counts for, the more the same cases say.
    for strength in [STRENGTH, STRENGTH / 10.0] {
        let page = weights_page(&book, &model, strength, &Typed::none());
        assert!(words(&page).contains("40 closed trails have taught these weights."), "{}", words(&page));
        let after = row(&page, label);
        assert_eq!((after[0].as_str(), after[1].as_str()), (before[0].as_str(), "40"));
        assert!(percent(&after[2]) > last, "{last} {after:?}");
        last = percent(&after[2]);
        assert!(page.contains(&format!("value=\"{strength}\"")));
    }
    let text = words(&page);
    for edge in [STRENGTHS.start(), STRENGTHS.end()] {
        assert!(text.contains(&edge.to_string()), "{text}");
    }
}

#[test]
fn a_wrong_strength_is_said_beside_its_field_and_kept() {
    let model = library::symptom("no_telemetry").unwrap();
    for hostile in HOSTILE {
        let typed = Typed {
            form: "strength".to_owned(),
            values: vec![("strength".to_owned(), hostile.to_owned())],
            errors: vec![("strength".to_owned(), "This must be a number.".to_owned())],
        };
        let page = weights_page(&small(), &model, STRENGTH, &typed);
        let quoted =
            hostile.replace('&', "&amp;").replace('"', "&quot;").replace('<', "&lt;").replace('>', "&gt;");
        assert!(page.contains(&format!("value=\"{quoted}\"")), "{page}");
        assert!(page.contains("id=\"f-strength-strength-error\"") && page.contains("aria-invalid=\"true\""));
        let without: Vec<String> =
            wrong(&page).into_iter().filter(|says| !says.contains('\u{202e}')).collect();
        assert!(without.is_empty(), "{without:?}");
    }
}
