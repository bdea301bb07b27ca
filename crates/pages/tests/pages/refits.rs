//! The pages of refits, drawn from plans for a small fleet.

use pages::form::Typed;
use pages::refit::preview::{self, Preview};
use pages::refit::{Ended, Follow, Open, Refits, Start, Why, job, list, paper, standing, start};
use refits::ask::Question;
use refits::follow::{self, Standing, code};
use refits::planner::{NoPlan, Plan, Planner, Progress};
use register::entry::Body;
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::refit::{Begun, Ending, Event, RefitLog, Wish};
use register::scene::Scene;
use register::value::EndRef;
use units::Minutes;

use crate::fleet::{HERON, Logbook, R1, R2, T1, now, small};
use crate::{check, site};

fn end(device: DeviceId) -> EndRef {
    EndRef { device, end: "main".to_owned() }
}

fn to(device: DeviceId, version: &str) -> Wish {
    Wish::Version { end: end(device), version: version.to_owned() }
}

fn plan_of(book: &Logbook, question: &Question) -> Result<Plan, NoPlan> {
    let fleet = Fleet::of(&Scene::new(&book.register));
    let mut planner = Planner::new(&book.register, &fleet, question, now())?;
    for _ in 0..200 {
        if planner.run(100_000).finished {
            break;
        }
    }
    planner.plan()
}

/// A refit of the grey handset and what must follow, begun.
fn begun(book: &mut Logbook, name: &str) -> (EntryId, Plan) {
    let wishes = vec![to(T1, "5.1"), Wish::Evenings { minutes: vec![Minutes(90.0); 3] }];
    let plan = plan_of(book, &Question::new(wishes.clone())).unwrap();
    assert!(!plan.is_empty());
    let begun =
        Begun { name: name.to_owned(), wishes, links: plan.links.clone(), placed: plan.placed.clone() };
    (book.write("2026-05-29", DeviceId::WORKSHOP, Body::RefitBegun(begun)), plan)
}

fn log(book: &Logbook, id: EntryId) -> &RefitLog {
    book.register.refit(id).unwrap()
}

fn at(book: &Logbook, id: EntryId) -> Standing {
    follow::standing(&book.register, &Fleet::of(&Scene::new(&book.register)), log(book, id), now())
}

fn event(book: &mut Logbook, id: EntryId, event: Event) {
    book.write("2026-05-30", DeviceId::WORKSHOP, Body::RefitEvent { refit: id, event });
}

fn tick(book: &mut Logbook, id: EntryId, count: usize) {
    let standing = at(book, id);
    let lines: Vec<_> = standing.lines().take(count).map(|(evening, line)| (evening, line.clone())).collect();
    for (evening, line) in lines {
        for change in &line.step.changes {
            let body = change.body(&book.register);
            book.write("2026-05-30", change.device(), body);
        }
        event(book, id, Event::Ticked { step: line.step.key.clone(), text: line.step.text.clone(), evening });
    }
}

fn followed(book: &Logbook, id: EntryId, typed: &Typed) -> String {
    let standing = at(book, id);
    let follow = Follow {
        log: log(book, id),
        standing: &standing,
        short: "abc123",
        evenings: "3x90",
        put_off: Some(HERON),
    };
    standing::page(&site("/refit"), &Scene::new(&book.register), &follow, typed).into_string()
}

fn previewed(book: &Logbook, plan: &Plan, of: Option<(&str, &str)>) -> String {
    let sheet = Preview { job: "00000001-abc", plan, of, stopped: "", longest_name: 80 };
    preview::page(&site("/refits/job"), &Scene::new(&book.register), &sheet, &Typed::none()).into_string()
}

fn start_page(book: &Logbook, start: &Start, typed: &Typed) -> String {
    let scene = Scene::new(&book.register);
    start::page(&site("/refits/new"), &scene, &Fleet::of(&scene), start, typed).into_string()
}

fn listed(book: &Logbook) -> String {
    let logs = book.register.refits();
    let open: Vec<Open> = logs
        .iter()
        .filter(|log| log.ended().is_none())
        .map(|log| Open { log, standing: Some(at(book, log.id())) })
        .collect();
    let ended: Vec<Ended> =
        logs.iter().filter_map(|log| log.ended().map(|(how, _)| Ended { log, how })).collect();
    let sheet = Refits { open: &open, ended: &ended };
    list::page(&site("/refits"), &Scene::new(&book.register), &sheet).into_string()
}

fn on_paper(book: &Logbook, id: EntryId) -> String {
    paper::page(&site("/refit"), &Scene::new(&book.register), &at(book, id), None).into_string()
}

/// Every page of refits, by name.
fn all_pages() -> Vec<(&'static str, String)> {
    let none = Typed::none();
    let mut book = small();
    let mut pages = vec![
        ("refits-none", listed(&book)),
        ("refit-new", start_page(&book, &Start { transmitter: Some(T1), why: None }, &none)),
    ];
    let stays = vec![to(T1, "5.1"), Wish::Stay { device: R1 }];
    let why = plan_of(&book, &Question::new(stays)).unwrap_err();
    let NoPlan::Clash(clash) = &why else { panic!("{why}") };
    let word = |at: usize| (at == 0).then(|| "let-go=A1:T1".to_owned());
    let ideas: Vec<(String, Option<String>)> =
        clash.ideas.iter().enumerate().map(|(at, idea)| (idea.text.clone(), word(at))).collect();
    let why = Why { no_plan: &why, job: "00000001-abc", ideas: &ideas };
    let typed = Typed {
        form: start::FORM.to_owned(),
        values: vec![("count".to_owned(), "2".to_owned()), ("more".to_owned(), "stay=R1".to_owned())],
        errors: Vec::new(),
    };
    pages.push(("refit-clash", start_page(&book, &Start { transmitter: None, why: Some(&why) }, &typed)));
    let nothing = plan_of(&book, &Question::new(vec![to(T1, "4.1")])).unwrap();
    assert!(nothing.is_empty());
    pages.push(("refit-nothing", previewed(&book, &nothing, None)));
    pages.push(("refit-working", job::page(&site("/refits/job"), "1-a", None, 100).into_string()));
    let (id, plan) = begun(&mut book, "The grey handset to 5.1");
    pages.push(("refit-plan", previewed(&book, &plan, None)));
    let progress = Progress { finished: false, best: Some(plan.score), bound: plan.bound, work: 50 };
    pages.push((
        "refit-working-on",
        job::page(&site("/refits/job"), "1-a", Some(&progress), 100).into_string(),
    ));
    pages.push(("refit-begun", followed(&book, id, &none)));
    pages.push(("refit-paper", on_paper(&book, id)));
    tick(&mut book, id, 3);
    pages.push(("refit-half", followed(&book, id, &none)));
    pages.push(("refits", listed(&book)));
    let left = at(&book, id).lines().map(|(_, line)| line.step.what).find(|what| *what != DeviceId::WORKSHOP);
    event(&mut book, id, Event::Deferred { what: left.unwrap(), until: 3 });
    assert!(!at(&book, id).stale.is_empty());
    pages.push(("refit-stale", followed(&book, id, &none)));
    let id_words = id.to_string();
    pages.push(("refit-anew", previewed(&book, &plan, Some((&id_words, "The grey handset to 5.1")))));
    event(&mut book, id, Event::Ended { how: Ending::Abandoned });
    pages.push(("refit-ended", followed(&book, id, &none)));
    pages.push(("refits-ended", listed(&book)));
    pages
}

#[test]
fn pages_of_refits_look_as_they_did() {
    for (name, page) in all_pages() {
        insta::assert_snapshot!(name, page.replace("><", ">\n<"));
    }
}

#[test]
fn every_page_of_a_refit_is_whole_and_can_be_used_without_sight_or_mouse() {
    let mut wrong = Vec::new();
    for (name, page) in all_pages() {
        wrong.extend(check::wrong(&page).into_iter().map(|says| format!("{name}: {says}")));
        wrong.extend(check::blocks_in_paragraphs(&page).into_iter().map(|says| format!("{name}: {says}")));
        let levels: Vec<u32> = page
            .split("<h")
            .skip(1)
            .filter_map(|piece| piece.chars().next().and_then(|level| level.to_digit(10)))
            .collect();
        if levels.windows(2).any(|pair| pair[1] > pair[0] + 1) {
            wrong.push(format!("{name}: headings {levels:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_step_has_a_box_its_code_its_minutes_and_its_cautions() {
    let mut book = small();
    let (id, _) = begun(&mut book, "x");
    let (page, sheet) = (followed(&book, id, &Typed::none()), on_paper(&book, id));
    let standing = at(&book, id);
    assert!(standing.lines().count() > 4);
    for (_, line) in standing.lines() {
        let key = &line.step.key;
        assert_eq!(page.matches(&format!("name=\"step\" value=\"{key}\"")).count(), 1, "{key}");
        // Told to hand with everything of its evening too.
        assert_eq!(page.matches(&format!("name=\"of\" value=\"{key}\"")).count(), 1, "{key}");
        for page in [&page, &sheet] {
            let li = page.split("<li>").find(|li| li.contains(&format!(">{}</code>", code(key)))).unwrap();
            assert!(li.contains(&line.step.minutes.to_string()), "{li}");
            for caution in &line.step.cautions {
                let shown: String = caution.replace('&', "&amp;").replace('"', "&quot;");
                assert!(li.contains(&shown), "{caution}: {li}");
            }
        }
    }
}

#[test]
fn the_line_of_an_aircraft_says_in_words_when_it_can_fly() {
    let mut book = small();
    let (id, plan) = begun(&mut book, "x");
    let page = followed(&book, id, &Typed::none());
    let table = page.split("<table class=\"flights\">").nth(1).unwrap().split("</table>").next().unwrap();
    let nights: Vec<_> = plan.nights.iter().filter(|night| !night.lines.is_empty()).collect();
    let mut rows = 0;
    for (at, craft) in plan.crafts.iter().enumerate() {
        let Some(row) = table
            .split("<tr>")
            .find(|row| row.contains(&format!("href=\"/device/{}\"", craft.craft.card.id)))
        else {
            continue;
        };
        rows += 1;
        let flies: Vec<bool> =
            std::iter::once(craft.before).chain(nights.iter().map(|night| night.flies[at])).collect();
        let said: Vec<bool> = row
            .split("<td")
            .skip(1)
            .map(|cell| {
                assert!(
                    ["can fly<", "grounded<", "can't fly<"].iter().any(|word| cell.contains(word)),
                    "{cell}"
                );
                cell.contains("can fly<")
            })
            .collect();
        assert_eq!(said, flies, "{row}");
    }
    assert!(rows > 0);
}

#[test]
fn what_is_forced_says_by_what_before_the_first_step() {
    let mut book = small();
    // The club's handset flies nothing here: the grey handset forces the receiver that follows.
    let (_, plan) = begun(&mut book, "x");
    let page = previewed(&book, &plan, None);
    for reason in plan.reasons.iter().filter(|reason| !reason.wished) {
        let why = reason.why.replace('&', "&amp;").replace('"', "&quot;");
        let place = page.find(&why).unwrap_or_else(|| panic!("{why}"));
        assert!(place < page.find("id=\"evening-").unwrap());
    }
    assert!(plan.reasons.iter().any(|reason| !reason.wished && [R1, R2].contains(&reason.device)));
}

#[test]
fn hostile_names_stay_text() {
    let mut book = small();
    let hostile = "\"><script>alert(1)</script>\u{202e}nwot";
    book.read(
        HERON,
        register::field::Part::Whole,
        register::field::How::Seen,
        register::field::Field::Name,
        register::value::Value::Text(hostile.to_owned()),
    );
    let (id, plan) = begun(&mut book, hostile);
    let typed = Typed {
        form: "replan".to_owned(),
        values: vec![("more".to_owned(), hostile.to_owned())],
        errors: vec![("more".to_owned(), format!("`{hostile}` is no wish."))],
    };
    let pages =
        [followed(&book, id, &typed), previewed(&book, &plan, None), on_paper(&book, id), listed(&book)];
    for page in pages {
        assert!(!page.contains("<script>alert"), "{page}");
        assert!(!page.contains("\"><script>"), "{page}");
        let wrong = check::wrong(&page);
        assert!(wrong.is_empty(), "{wrong:?}");
    }
}
