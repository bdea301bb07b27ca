//! Fault trails by the web door: from the symptom to closed, and what must not happen.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod site;

use axum::http::StatusCode;
use holdfast::workshop::now;
use register::trail::{Event, Helped, Outcome, TrailLog};
use register::value::{SecretMark, Value};
use site::{HOSTILE, Sheet, Site, attribute, error, form, forms, words};

/// The first form that offers an answer with big buttons, if there is one.
fn answers(page: &str) -> Option<(String, Sheet)> {
    let piece = page.split("class=\"next\"").nth(1)?;
    forms(piece).into_iter().next()
}

impl Site {
    fn trails(&self) -> Vec<TrailLog> {
        self.state.use_workshop(|workshop| workshop.register().trails().to_vec())
    }

    /// A trail on a guest's gear: its page.
    async fn guest(&self, symptom: &str) -> String {
        let page = self.get(&format!("/faults/new?symptom={symptom}")).await;
        self.done(&form(&page, "guest"), &[]).await
    }
}

/// Presses the button with this value, wherever it is among the next answers.
async fn press(site: &Site, page: &str, value: &str) -> String {
    let (_, sheet) = answers(page).unwrap();
    let button = sheet.buttons.iter().find(|(_, have, _)| have == value);
    let (name, value, _) = button.unwrap_or_else(|| panic!("no {value} among {:?}", sheet.buttons));
    site.done(&sheet, &[(name, value)]).await
}

/// Says of every check that nothing can be told, and of every mend that it didn't help,
/// until a mend comes that `helps` names.
async fn until_helped(site: &Site, mut page: String) -> String {
    for _ in 0..60 {
        let (key, sheet) = answers(&page).unwrap_or_else(|| panic!("no answers: {}", words(&page)));
        assert!(key.starts_with("step-") || key.starts_with("rule"), "{key}: {}", words(&page));
        if sheet.buttons.iter().any(|(_, value, _)| value == "helped") {
            return press(site, &page, "helped").await;
        }
        page = press(site, &page, "cant-tell").await;
    }
    panic!("no mend was proposed: {}", words(&page));
}

/// Puts everything back, and says that every proof held.
async fn prove(site: &Site, mut page: String) -> String {
    for _ in 0..40 {
        let (key, sheet) = answers(&page).unwrap();
        match key.as_str() {
            "prove" => page = press(site, &page, "yes").await,
            "close" => return page,
            key if key.starts_with("restore-") => {
                let (name, value, _) = &sheet.buttons[0];
                page = site.done(&sheet, &[(name, value)]).await;
            }
            other => panic!("{other}: {}", words(&page)),
        }
    }
    panic!("never proven: {}", words(&page));
}

#[tokio::test]
async fn a_guests_trail_starts_in_three_taps_at_most() {
    let site = Site::empty();
    let page = site.get("/faults").await;
    // The first tap: the symptom. Every symptom is there.
    for model in trails::library::symptoms() {
        assert!(page.contains(&format!("/faults/new?symptom={}\"", model.key)), "{}", model.key);
    }
    let page = site.get("/faults/new?symptom=wont_pair").await;
    // The second: begin. Nothing is to be typed.
    let sheet = form(&page, "guest");
    assert_eq!(sheet.buttons.len(), 1);
    let page = site.done(&sheet, &[]).await;
    let text = words(&page);
    assert!(text.contains("Won't pair or link: the guest's transmitter with the guest's receiver"), "{text}");
    assert!(text.contains("more to a proven link, or to giving up"), "{text}");
    let (_, sheet) = answers(&page).unwrap();
    assert!(sheet.buttons.len() >= 2 && sheet.buttons.iter().any(|(_, value, _)| value == "cant-tell"));
    // Each answer but can't tell shows its chance.
    for (_, value, says) in &sheet.buttons {
        assert!(value == "cant-tell" || says.contains("% likely"), "{value}: {says}");
    }
    assert_eq!(site.trails().len(), 1);
}

#[tokio::test]
async fn a_trail_goes_from_the_symptom_to_closed() {
    let site = Site::empty();
    let page = site.guest("wont_pair").await;
    let page = until_helped(&site, page).await;
    assert!(
        words(&page).contains("It seems to work") || words(&page).contains("Prove it"),
        "{}",
        words(&page)
    );
    let page = prove(&site, page).await;
    assert!(words(&page).contains("Name the fault, and close the trail"), "{}", words(&page));
    let sheet = form(&page, "close");
    let cause = attribute(
        page.split("type=\"radio\" name=\"cause\"").nth(1).unwrap().split('>').next().unwrap(),
        "value",
    );
    let page = site.done(&sheet, &[("cause", &cause)]).await;
    let text = words(&page);
    assert!(text.contains("Closed: The link is proven. It was:"), "{text}");
    let log = &site.trails()[0];
    let closed = &log.closed.as_ref().unwrap().what;
    assert_eq!((closed.outcome, closed.cause.as_str()), (Outcome::Proven, cause.as_str()));
    assert!(log.events.iter().any(|mark| matches!(mark.what, Event::Proved { held: true, .. })));
    // It is listed, and can be taken up again.
    assert!(words(&site.get("/faults").await).contains("The link is proven"));
    let page = site.done(&form(&page, "back"), &[]).await;
    assert!(words(&page).contains("Name the fault"), "{}", words(&page));
    assert!(site.trails()[0].closed.is_none());
}

#[tokio::test]
async fn a_rule_that_fails_is_named_at_once_with_its_mend() {
    let site = Site::demo();
    // A link of the demo that its firmware blocks.
    let page = site.get("/links?verdict=blocked&rule=version&wanted=1").await;
    let at = page.find("href=\"/link/").unwrap();
    let link = page[at + 6..].split('"').next().unwrap().to_owned();
    let page = site.get(&link).await;
    let way =
        page.split("href=\"/faults/new?").nth(1).unwrap().split('"').next().unwrap().replace("&amp;", "&");
    // The link's page leads to the symptoms, and the gear is chosen already.
    let page = site.get(&format!("/faults/new?{way}")).await;
    let way = page.split("href=\"/faults/new?symptom=wont_pair").nth(1).unwrap();
    let way = way.split('"').next().unwrap().replace("&amp;", "&");
    let page = site.get(&format!("/faults/new?symptom=wont_pair{way}")).await;
    let chosen: Vec<String> = page
        .split("<option ")
        .skip(1)
        .map(|option| option.split('>').next().unwrap())
        .filter(|option| option.contains(" selected"))
        .map(|option| attribute(option, "value"))
        .collect();
    assert_eq!(chosen.len(), 2, "{chosen:?}");
    let sheet = form(&page, "begin");
    let page = site.done(&sheet, &[("transmitter", &chosen[0]), ("receiver", &chosen[1])]).await;
    let text = words(&page);
    assert!(text.contains("Certain:") && text.contains("firmware"), "{text}");
    // The minutes of the mend are no minutes to a proven link.
    assert!(
        text.contains("to mend what fails for certain") && !text.contains("more to a proven link"),
        "{text}"
    );
    assert!(text.contains("Mend it, ") && !text.to_lowercase().contains("lift it"), "{text}");
    let before = site.state.use_workshop(|workshop| workshop.store.recent(100_000).unwrap().len());
    let (_, sheet) = answers(&page).unwrap();
    assert!(
        sheet.hidden.iter().any(|(name, value)| name == "step" && value.starts_with("rule:")),
        "{sheet:?}"
    );
    // Words that no way has write nothing.
    let mut other = sheet.clone();
    other.hidden.iter_mut().find(|(name, _)| name == "action").unwrap().1 = "Flash it to 9.9.".to_owned();
    let (status, page, _) = site.send(&other, &[("helped", "helped")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&page).contains("Nothing was written; look again"), "{}", words(&page));
    let page = site.done(&sheet, &[("helped", "helped")]).await;
    let log = site.trails().pop().unwrap();
    assert!(matches!(&log.events[0].what, Event::Tried { helped: Helped::Yes, .. }), "{log:?}");
    // The mend's change is in the register: an entry beside the trail's own.
    let after = site.state.use_workshop(|workshop| workshop.store.recent(100_000).unwrap().len());
    assert!(after >= before + 2, "{before} {after}");
    assert!(
        words(&page).contains("Prove it") || words(&page).contains("It seems to work"),
        "{}",
        words(&page)
    );
}

#[tokio::test]
async fn values_of_both_ends_tell_the_answer_and_secrets_show_nowhere() {
    const SECRET: &str = "heron-canary-9";
    let site = Site::empty();
    let mut page = site.guest("wont_pair").await;
    // The first step that asks for facts; nothing can be told of those before it.
    let mut sheet = None;
    for _ in 0..40 {
        sheet = forms(&page).into_iter().find(|(key, _)| key == "facts").map(|(_, sheet)| sheet);
        let Some((_, next)) = answers(&page).filter(|_| sheet.is_none()) else { break };
        let mend = next.buttons.iter().any(|(_, value, _)| value == "no-help");
        page = press(&site, &page, if mend { "no-help" } else { "cant-tell" }).await;
    }
    let mut sheet = sheet.unwrap();
    // Nothing typed, and no answer.
    let (status, wrong, _) = site.send(&sheet, &[("answer", "")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&wrong).contains("Type what the two ends show"), "{}", words(&wrong));
    // One end alone doesn't tell; what was typed stays, and nothing is written.
    let before = site.trails()[0].events.len();
    let (status, wrong, _) = site.send(&sheet, &[("transmitter.value", "4.1"), ("answer", "")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{}", words(&wrong));
    assert!(
        wrong.contains("value=\"4.1\"") && words(&wrong).contains("This alone doesn't tell"),
        "{}",
        words(&wrong)
    );
    assert_eq!(site.trails()[0].events.len(), before);
    // Of the library's look at the secrets: both at once can't be.
    let model = trails::library::symptom("wont_pair").unwrap();
    let of_secrets = |step: &&trails::model::Step| {
        step.as_check().is_some_and(|check| check.rule == Some(register::rule::Rule::Secret))
    };
    let step = model.steps.iter().find(of_secrets).unwrap().key.clone();
    sheet.hidden.iter_mut().find(|(name, _)| name == "step").unwrap().1 = step;
    let both = [("receiver.secret", SECRET), ("receiver.blank", "1"), ("answer", "")];
    let (status, wrong, _) = site.send(&sheet, &both).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(!wrong.contains(SECRET));
    let typed = [("transmitter.blank", "1"), ("receiver.secret", SECRET), ("answer", "cant-tell")];
    let page = site.done(&sheet, &typed).await;
    assert!(!page.contains(SECRET));
    let log = site.trails().pop().unwrap();
    let facts: Vec<&Value> = log
        .events
        .iter()
        .flat_map(|mark| match &mark.what {
            Event::Answered { facts, .. } => facts.as_slice(),
            _ => &[],
        })
        .map(|(_, _, value)| value)
        .collect();
    let prints = |value: &&&Value| matches!(value, Value::Secret(SecretMark::Print { .. }));
    assert_eq!(facts.iter().filter(prints).count(), 1, "{facts:?}");
    assert_eq!(facts.len(), 2, "the blank one is written down as well: {facts:?}");
    for path in ["/faults", "/history"] {
        assert!(!site.get(path).await.contains(SECRET), "{path}");
    }
}

#[tokio::test]
async fn a_version_that_is_none_is_refused_beside_its_field() {
    let site = Site::empty();
    let page = site.get("/faults/new?symptom=wont_pair").await;
    let sheet = form(&page, "begin");
    let sides = [("transmitter", "guest"), ("receiver", "guest")];
    let typed = |more: &[(&'static str, &'static str)]| [&sides[..], more].concat();
    let wrong = typed(&[
        ("whose", "Robin's glider"),
        ("receiver.firmware", "newest"),
        ("transmitter.secret", "canary-7"),
    ]);
    let (status, page, _) = site.send(&sheet, &wrong).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "begin", "receiver.firmware").contains("version"));
    assert!(
        page.contains("value=\"newest\"") && page.contains("value=\"Robin's glider\""),
        "{}",
        words(&page)
    );
    assert!(!page.contains("canary-7"));
    assert!(site.trails().is_empty());
    let (status, page, _) = site.send(&sheet, &[("transmitter", ""), ("receiver", "guest")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "begin", "transmitter").contains("Choose the transmitter"));
    let good = typed(&[
        ("receiver.firmware", "4.1"),
        ("transmitter.firmware", "4.1"),
        ("receiver.model_id", "off"),
        ("transmitter.blank", "1"),
        ("receiver.blank", "1"),
        ("open", "canopy"),
        ("open", "nonsense"),
    ]);
    site.done(&sheet, &good).await;
    let begun = site.trails()[0].begun.what.clone();
    assert_eq!(begun.facts.len(), 5, "{begun:?}");
    assert_eq!(begun.open, ["canopy"]);
}

#[tokio::test]
async fn a_guests_facts_are_not_taken_for_the_workshops_own_gear() {
    let site = Site::demo();
    let page = site.get("/faults/new?symptom=wont_pair").await;
    let own = site.id("T1");
    let typed = [("transmitter", own.as_str()), ("receiver", "guest"), ("transmitter.band", "2.4 GHz")];
    let (status, page, _) = site.send(&form(&page, "begin"), &typed).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{}", words(&page));
    let name =
        if page.contains("f-begin-transmitter-band-error") { "transmitter.band" } else { "transmitter" };
    // A transmitter with several ends is asked for by its end first.
    assert!(!error(&page, "begin", name).is_empty());
    assert!(site.trails().is_empty());
}

#[tokio::test]
async fn something_else_that_was_done_is_written_down_and_put_back_before_the_end() {
    let site = Site::empty();
    let page = site.guest("short_range").await;
    let sheet = form(&page, "did");
    for (minutes, says) in [
        ("nan", "between 0 and"),
        ("-1", "between 0 and"),
        ("soon", "number of minutes"),
        ("1e9", "between 0 and"),
    ] {
        let (status, page, _) = site.send(&sheet, &[("text", "Shook it"), ("minutes", minutes)]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{minutes}");
        assert!(error(&page, "did", "minutes").contains(says), "{minutes}");
        assert!(page.contains("value=\"Shook it\""));
    }
    let (status, page, _) = site.send(&sheet, &[("text", "  "), ("minutes", "1")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "did", "text").contains("few words"));
    // More than is kept is refused where it is typed, not cut.
    let long = "é".repeat(501);
    for name in ["text", "changed"] {
        let other = if name == "text" { "changed" } else { "text" };
        let (status, page, _) = site.send(&sheet, &[(name, &long), (other, "short"), ("minutes", "1")]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{name}");
        let says = error(&page, "did", name);
        assert!(says.contains("501") && says.contains("500"), "{says}");
        assert!(page.contains(&long) && page.contains("maxlength=\"500\""));
    }
    assert!(site.trails()[0].events.is_empty());
    let mut page = page;
    for text in HOSTILE {
        let here = format!("/fault/{}", site.trails()[0].id());
        page = site.get(&here).await;
        page = site
            .done(
                &form(&page, "did"),
                &[("text", text), ("minutes", "2,5"), ("changed", text), ("helped", "no-help")],
            )
            .await;
        assert!(!page.contains(text), "{text}");
    }
    // It can't end while something is changed.
    let end = form(&page, "end");
    let (status, wrong, _) = site.send(&end, &[("outcome", "left"), ("cause", "")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&wrong).contains("Not closed yet."), "{}", words(&wrong));
    assert!(words(&wrong).contains("Still to be put back or accepted by name"), "{}", words(&wrong));
    for (at, way) in ["restore", "accept", "accept"].into_iter().enumerate() {
        let sheet = form(&page, &format!("{way}-elsewise-{}", at + 1));
        let (name, value, _) = sheet.buttons[0].clone();
        page = site.done(&sheet, &[(&name, &value)]).await;
    }
    let page = site.done(&form(&page, "end"), &[("outcome", "left"), ("cause", "")]).await;
    assert!(words(&page).contains("Closed: Left as it is. What it was wasn't found."), "{}", words(&page));
}

#[tokio::test]
async fn a_button_touched_twice_writes_once_and_going_back_takes_it_back() {
    let site = Site::empty();
    let first = site.guest("wont_pair").await;
    let (_, sheet) = answers(&first).unwrap();
    let (name, value, _) = sheet.buttons[0].clone();
    let after = site.done(&sheet, &[(&name, &value)]).await;
    let again = site.done(&sheet, &[(&name, &value)]).await;
    assert!(words(&again).contains("nothing more was written"), "{}", words(&again));
    assert_eq!(site.trails()[0].events.len(), 1);
    // The weights before and after stand beside what was done.
    assert!(
        after.contains("class=\"weights\"") && words(&after).contains("before the trail"),
        "{}",
        words(&after)
    );
    let back = site.done(&form(&after, "back"), &[]).await;
    assert!(words(&back).contains("Taken back:"), "{}", words(&back));
    assert_eq!(site.trails()[0].events.len(), 0);
    // The same question again gives the same step.
    let step = |page: &str| answers(page).unwrap().1.hidden.iter().find(|(name, _)| name == "step").cloned();
    assert_eq!(step(&first), step(&back));
    // A cover that is open already is written down.
    let sheet = form(&back, "open");
    let (name, value, _) = sheet.buttons[0].clone();
    let page = site.done(&sheet, &[(&name, &value)]).await;
    assert!(words(&page).contains("Opened or fetched"), "{}", words(&page));
}

#[tokio::test]
async fn a_guests_data_is_erased_when_that_is_confirmed() {
    let site = Site::empty();
    let page = site.get("/faults/new?symptom=wont_pair").await;
    let typed = [("transmitter", "guest"), ("receiver", "guest"), ("whose", "Quill of the next field")];
    let page = site.done(&form(&page, "begin"), &typed).await;
    assert!(page.contains("Quill of the next field"));
    let here = format!("/fault/{}", site.trails()[0].id());
    let page = site.done(&form(&page, "end"), &[("outcome", "gave-up"), ("cause", "band")]).await;
    let sheet = form(&page, "forget");
    let (status, page, _) = site.send(&sheet, &[]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "forget", "sure").contains("Tick this first"));
    let page = site.done(&sheet, &[("sure", "1")]).await;
    assert!(
        !page.contains("Quill") && words(&page).contains("1 trail of a guest was erased"),
        "{}",
        words(&page)
    );
    assert_eq!(site.look(&here).await.0, StatusCode::NOT_FOUND);
    assert!(!site.get("/history").await.contains("Quill"));
    // How it ended still teaches.
    let closings = site.state.use_workshop(|workshop| workshop.register().trail_closings().len());
    assert_eq!(closings, 1);
}

#[tokio::test]
async fn what_was_written_down_is_said_in_whole_sentences() {
    let site = Site::empty();
    let page = site.guest("short_range").await;
    let typed = [("text", "shook the plug"), ("minutes", "1"), ("changed", ""), ("helped", "no-help")];
    let page = site.done(&form(&page, "did"), &typed).await;
    let text = words(&page);
    assert!(text.contains("Written down: Shook the plug. Done outside the trail."), "{text}");
    // A question keeps its mark, and gets no stop beside it.
    let mut page = page;
    for _ in 0..6 {
        page = press(&site, &page, "cant-tell").await;
        let text = words(&page);
        assert!(text.contains("Written down: ") && !text.contains("?.") && !text.contains(".. "), "{text}");
    }
}

#[tokio::test]
async fn a_beginning_touched_twice_begins_one_trail() {
    let site = Site::empty();
    let page = site.get("/faults/new?symptom=wont_pair").await;
    let sheet = form(&page, "guest");
    site.done(&sheet, &[]).await;
    let again = site.done(&sheet, &[]).await;
    assert!(words(&again).contains("begun just before"), "{}", words(&again));
    assert_eq!(site.trails().len(), 1);
    assert!(again.contains(&format!("/fault/{}/", site.trails()[0].id())));
    // Another symptom is another trail; and so is the same again, once something is done.
    site.guest("short_range").await;
    assert_eq!(site.trails().len(), 2);
    let page = site.guest("wont_pair").await;
    assert_eq!(site.trails().len(), 3);
    press(&site, &page, "cant-tell").await;
    site.done(&sheet, &[]).await;
    assert_eq!(site.trails().len(), 4);
}

#[tokio::test]
async fn open_trails_stand_first_on_today_and_among_the_faults() {
    let site = Site::demo();
    assert!(!site.get("/").await.contains("open</a>"));
    site.guest("wont_pair").await;
    let page = site.get("/").await;
    let main = page.split("<h1").nth(1).unwrap();
    let line = main.find("<a href=\"/faults\">1 fault trail is open</a>").unwrap();
    assert!(line < main.find("<section").unwrap() && line < main.find("<table").unwrap(), "{}", words(&page));
    let symptoms = |page: &str| page.find("class=\"choices-big\"").unwrap();
    let page = site.get("/faults").await;
    let trail = format!("href=\"/fault/{}\"", site.trails()[0].id());
    assert!(page.find(&trail).unwrap() < symptoms(&page));
    // Many would push the symptoms away: then a link leads to them.
    for symptom in ["short_range", "drops_out", "no_telemetry"] {
        site.guest(symptom).await;
    }
    let page = site.get("/faults").await;
    assert!(page.find("href=\"#open\"").unwrap() < symptoms(&page));
    assert!(page.find(&trail).unwrap() > symptoms(&page));
}

#[tokio::test]
async fn a_trail_that_cant_go_on_says_why_and_a_guests_data_can_be_erased() {
    let site = Site::empty();
    let id = site.state.use_workshop(|workshop| {
        let begun = register::trail::Begun {
            symptom: "of_another_library".to_owned(),
            transmitter: None,
            receiver: None,
            whose: "Quill of the next field".to_owned(),
            facts: Vec::new(),
            open: Vec::new(),
        };
        let body = register::entry::Body::TrailBegun(begun);
        let draft = register::entry::Draft { seen: now(), subject: register::id::DeviceId::WORKSHOP, body };
        workshop.record(&[draft], &[]).unwrap()[0].stamp.id
    });
    let here = format!("/fault/{id}");
    let page = site.get(&here).await;
    assert!(words(&page).contains("There is no fault model for `of_another_library`"), "{}", words(&page));
    let sheet = form(&page, "forget");
    let mut other = sheet.clone();
    other.action = format!("{here}/answer");
    let (status, _, to) = site.send(&other, &[("step", "lamp"), ("answer", "off")]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    assert!(words(&site.get(&to).await).contains("no fault model"));
    // It can be closed as it is, once.
    let end = form(&page, "end");
    let page = site.done(&end, &[]).await;
    assert!(words(&page).contains("Left as it is"), "{}", words(&page));
    assert_eq!(site.trails()[0].closed.as_ref().unwrap().what.outcome, Outcome::Left);
    let (status, page, _) = site.send(&end, &[]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{}", words(&page));
    assert!(forms(&page).iter().all(|(key, _)| key != "end"));
    let (status, page, _) = site.send(&sheet, &[]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "forget", "sure").contains("Tick this first"));
    let page = site.done(&sheet, &[("sure", "1")]).await;
    assert!(!page.contains("Quill"), "{}", words(&page));
    assert_eq!(site.look(&here).await.0, StatusCode::NOT_FOUND);
    assert!(!site.get("/history").await.contains("Quill"));
}

#[tokio::test]
async fn a_trail_may_close_without_its_cause_and_has_no_card_then() {
    let site = Site::empty();
    let page = site.guest("wont_pair").await;
    let page = until_helped(&site, page).await;
    let card = format!("/fault/{}/card", site.trails()[0].id());
    let text = words(&site.get(&card).await);
    assert!(text.contains("Something helped, so there is nothing to search for"), "{text}");
    let page = prove(&site, page).await;
    // What the closing presumes is chosen; that it wasn't found can be chosen as well.
    let presumed = site.state.use_workshop(|workshop| {
        holdfast::faults::at(workshop, workshop.register().trails()[0].id()).unwrap().presumed()
    });
    let radios: Vec<&str> = page.split("type=\"radio\" name=\"cause\"").skip(1).collect();
    let tags: Vec<&str> = radios.iter().map(|rest| rest.split('>').next().unwrap()).collect();
    let checked: Vec<String> =
        tags.iter().filter(|tag| tag.contains(" checked")).map(|tag| attribute(tag, "value")).collect();
    assert_eq!(checked, [presumed]);
    assert!(tags.iter().any(|tag| attribute(tag, "value").is_empty()), "{tags:?}");
    let page = site.done(&form(&page, "close"), &[("cause", ""), ("other", "")]).await;
    assert!(words(&page).contains("The link is proven. What it was wasn't found."), "{}", words(&page));
    assert_eq!(site.trails()[0].closed.as_ref().unwrap().what.cause, "");
    let page = site.get(&card).await;
    assert!(words(&page).contains("This trail is closed") && !page.contains("class=\"card\""), "{page}");
}

#[tokio::test]
async fn what_is_not_there_is_said_and_a_form_without_its_token_is_refused() {
    let site = Site::empty();
    for path in
        ["/faults/new?symptom=nonsense", "/fault/nonsense", "/fault/0198f3c2-0000-7000-8000-000000000000"]
    {
        let (status, page, _) = site.look(path).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        assert!(page.contains("href=\"/\""), "{path}");
    }
    let page = site.guest("wont_pair").await;
    let (_, mut sheet) = answers(&page).unwrap();
    let (name, _, _) = sheet.buttons[0].clone();
    for value in ["", "nonsense"] {
        let (status, page, _) = site.send(&sheet, &[(&name, value)]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{value}: {}", words(&page));
    }
    sheet.hidden.retain(|(name, _)| name != "token");
    let (status, _, _) = site.send(&sheet, &[(&name, "cant-tell")]).await;
    assert_eq!(status, StatusCode::FORBIDDEN);
    assert!(site.trails()[0].events.is_empty());
}
