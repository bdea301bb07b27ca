//! The pages of fault trails, drawn from trails on a small fleet's gear and on a guest's.

use pages::fault::{Faults, Start, list, mark, start, step};
use pages::form::Typed;
use register::entry::Body;
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::scene::Scene;
use register::trail::{Begun, Closed, Event, Helped, Outcome};
use register::value::EndRef;
use trails::planner::Effort;
use trails::trail::{Next, Trail, follow};
use units::Minutes;

use crate::fleet::{Logbook, R2, R4, T1, now, small};
use crate::{check, site};

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
    follow(
        &book.register,
        &Fleet::of(&scene),
        log,
        now(),
        Effort { evaluations: 200, ..Effort::look_ahead() },
    )
    .unwrap()
}

fn page(trail: &Trail, typed: &Typed) -> String {
    step::page(&site("/fault"), trail, "abc123", typed).into_string()
}

/// A guest's trail with every cause, its page after each thing that was done until it closed.
fn to_the_end(symptom: &str) -> Vec<(String, String)> {
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun(symptom, None, "<b>Quill</b>"));
    let mut pages = Vec::new();
    for round in 0..120 {
        let trail = at(&book, id);
        pages.push((format!("{symptom} {round}"), page(&trail, &Typed::none())));
        let event = match &trail.next {
            Next::Step(proposal) => {
                let step = &trail.model.steps[proposal.step];
                match step.as_check() {
                    // One in three can't be told.
                    Some(check) if round % 3 != 0 => {
                        let answer = check.answers[round % check.answers.len()].key.clone();
                        Event::Answered { step: step.key.clone(), answer, facts: Vec::new() }
                    }
                    Some(_) => {
                        Event::Answered { step: step.key.clone(), answer: String::new(), facts: Vec::new() }
                    }
                    None => {
                        let helped = if round > 4 { Helped::Yes } else { Helped::No };
                        Event::Tried { step: step.key.clone(), helped, facts: Vec::new(), way: None }
                    }
                }
            }
            Next::Restore { change } => Event::PutBack { change: trail.changes[*change].key.clone() },
            Next::Prove { proof } => Event::Proved { proof: trail.proofs[*proof].key.clone(), held: true },
            Next::Closed => break,
            Next::Lift { .. } => panic!("nothing is known of a guest's gear"),
            Next::Close | Next::GiveUp { .. } | Next::Stuck => {
                let proven = matches!(trail.next, Next::Close);
                let closed = Closed {
                    trail: id,
                    symptom: symptom.to_owned(),
                    cause: trail.model.causes[0].key.clone(),
                    outcome: if proven { Outcome::Proven } else { Outcome::GaveUp },
                    minutes: Minutes(12.5),
                };
                book.write("2026-05-30", DeviceId::WORKSHOP, Body::TrailClosed(closed));
                continue;
            }
        };
        book.write("2026-05-30", DeviceId::WORKSHOP, Body::TrailEvent { trail: id, event });
    }
    pages
}

fn wrong(pages: &[(String, String)]) -> Vec<String> {
    let of = |(name, page): &(String, String)| {
        let mut wrong = check::wrong(page);
        wrong.extend(check::blocks_in_paragraphs(page));
        if page.contains("<b>Quill") {
            wrong.push("markup that was typed".to_owned());
        }
        // Headings in order: none deeper than one level below the one before it.
        let levels: Vec<u32> = page
            .split("<h")
            .skip(1)
            .filter_map(|piece| piece.chars().next().and_then(|level| level.to_digit(10)))
            .collect();
        if levels.windows(2).any(|pair| pair[1] > pair[0] + 1) {
            wrong.push(format!("headings {levels:?}"));
        }
        wrong.into_iter().map(|says| format!("{name}: {says}")).collect::<Vec<_>>()
    };
    pages.iter().flat_map(of).collect()
}

#[test]
fn every_state_of_a_trail_is_a_whole_page() {
    let mut closed = 0;
    for model in trails::library::symptoms() {
        let pages = to_the_end(&model.key);
        let wrong = wrong(&pages);
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        closed += usize::from(pages.last().unwrap().1.contains("Closed: "));
        // The buttons are a group with the step as its name.
        for (name, page) in &pages {
            let groups = page.matches("role=\"group\" aria-label=\"").count();
            let answers = page.matches("class=\"answers").count();
            assert_eq!(groups, answers, "{name}");
            assert!(!page.contains("role=\"group\" aria-label=\"\""), "{name}: a group without a name");
        }
        // One answer a button, each with its value; nothing else is needed to answer.
        assert!(pages[0].1.contains("class=\"answer-button\" type=\"submit\""), "{}", model.key);
    }
    assert_eq!(closed, trails::library::symptoms().len());
}

#[test]
fn a_failed_rule_stands_first_with_its_ways() {
    let mut book = small();
    let id = book.write("2026-05-30", R2, begun("wont_pair", Some((T1, R2)), ""));
    let trail = at(&book, id);
    assert!(matches!(trail.next, Next::Lift { .. }));
    let page = page(&trail, &Typed::none());
    let answer = page.split("class=\"answer\">").nth(1).unwrap().split("</p>").next().unwrap();
    assert!(answer.starts_with("Certain: ") && answer.contains("4.1") && answer.contains("3.9"), "{answer}");
    let first = page.find("name=\"helped\" value=\"helped\"").unwrap();
    assert!(page.find("Caution").unwrap() < first, "a caution stands after the button");
    for words in ["It works now", "Done, still broken", "Couldn't do it"] {
        assert!(page.contains(words), "{words}");
    }
    assert!(wrong(&[("lift".to_owned(), page)]).is_empty());
}

#[test]
fn the_gear_that_was_chosen_is_chosen_on_the_way() {
    let mut book = small();
    let id = book.write("2026-05-30", R4, begun("short_range", Some((T1, R4)), ""));
    let scene = Scene::new(&book.register);
    let fleet = Fleet::of(&scene);
    let symptoms = trails::library::symptoms();
    let faults = Faults {
        symptoms: &symptoms,
        trails: book.register.trails(),
        erased: 2,
        problems: &["a.toml: wrong".to_owned()],
        transmitter: "T1/main",
        receiver: "",
    };
    let all = list::page(&site("/faults"), &scene, &faults).into_string();
    assert!(all.contains("/faults/new?symptom=wont_pair&amp;t=T1%2Fmain&amp;r="), "{all}");
    assert!(all.contains(&format!("/fault/{id}")) && all.contains("2 trails of guests were"));
    let chosen = EndRef { device: T1, end: "main".to_owned() };
    let new = Start { model: &symptoms[0], transmitter: Some(chosen), receiver: None };
    let own = start::page(&site("/faults/new"), &scene, &fleet, &new, &Typed::none()).into_string();
    assert!(own.contains(&format!("<option value=\"{T1}/main\" selected")), "{own}");
    let new = Start { transmitter: None, ..new };
    let guest = start::page(&site("/faults/new"), &scene, &fleet, &new, &Typed::none()).into_string();
    // The guest's button comes before anything that could be typed.
    assert!(guest.find("Begin with a guest").unwrap() < guest.find("<select").unwrap());
    let all = [("faults".to_owned(), all), ("own".to_owned(), own), ("guest".to_owned(), guest)];
    assert!(wrong(&all).is_empty(), "{:?}", wrong(&all));
}

#[test]
fn a_page_that_is_behind_can_be_told() {
    let mut book = small();
    let id = book.write("2026-05-30", DeviceId::WORKSHOP, begun("wont_pair", None, ""));
    let before = mark(&at(&book, id));
    let event = Event::Opened { cover: "canopy".to_owned() };
    book.write("2026-05-30", DeviceId::WORKSHOP, Body::TrailEvent { trail: id, event });
    assert_ne!(before, mark(&at(&book, id)));
    let trail = at(&book, id);
    let typed = Typed {
        form: "did".to_owned(),
        values: vec![("text".to_owned(), "Shook \"it\"".to_owned())],
        errors: vec![("minutes".to_owned(), "The minutes must lie between 0 and 10080.".to_owned())],
    };
    let page = page(&trail, &typed);
    assert!(page.contains("value=\"Shook &quot;it&quot;\"") && page.contains("id=\"f-did-minutes-error\""));
    assert!(page.contains("<details open><summary>I did something else"), "{page}");
    assert!(wrong(&[("did".to_owned(), page)]).is_empty());
}
