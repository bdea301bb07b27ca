//! Refits by the web door: from what is wished to done, and what must not happen.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod site;

use ::refits::layout::Line;
use axum::http::StatusCode;
use holdfast::refits;
use holdfast::workshop::now;
use register::refit::{Ending, Event, RefitLog};
use site::{Sheet, Site, attribute, error, form, forms, words};

const SECRET: &str = "seventeen wet herons";
/// In the demo this aircraft is lent, so that T2 can't change unless their link may go.
const LENT: (&str, &str) = ("more", "let-go=A17:T2");

/// What is typed, the field that is wrong, and what is said there.
type Case = (&'static [(&'static str, &'static str)], &'static str, &'static str);

/// The value of the first option of a page whose words are these.
fn option(page: &str, says: &str) -> String {
    let pieces = page.split("<option").skip(1);
    let found = pieces
        .map(|piece| piece.split("</option>").next().unwrap())
        .find(|piece| piece.ends_with(&format!(">{says}")));
    attribute(found.unwrap_or_else(|| panic!("no {says}: {}", words(page))), "value")
}

/// The values of the check boxes of steps, in order.
fn steps(page: &str) -> Vec<String> {
    let pieces = page.split("<input").skip(1).map(|piece| piece.split('>').next().unwrap());
    pieces
        .filter(|tag| tag.contains("type=\"checkbox\"") && tag.contains("name=\"step\""))
        .map(|tag| attribute(tag, "value"))
        .collect()
}

impl Site {
    fn refits(&self) -> Vec<RefitLog> {
        self.state.use_workshop(|workshop| workshop.register().refits().to_vec())
    }

    /// What is left of the last refit, each step with its evening.
    fn lines(&self) -> Vec<(u32, Line)> {
        let id = self.refits().last().unwrap().id();
        self.state.use_workshop(|workshop| {
            let standing = refits::at(workshop.register(), workshop.fleet(), id).unwrap();
            standing.lines().map(|(evening, line)| (evening, line.clone())).collect()
        })
    }

    /// The page that a plan's address shows when the planner has come to an end.
    async fn planned(&self, address: &str) -> String {
        for _ in 0..120 {
            let page = self.get(address).await;
            if !page.contains("http-equiv=\"refresh\"") {
                return page;
            }
        }
        panic!("the planner doesn't end");
    }

    /// Plans; gives the address of the plan and its page.
    async fn plan(&self, typed: &[(&str, &str)]) -> (String, String) {
        let sheet = form(&self.get("/refits/new").await, "plan");
        let (status, page, to) = self.send(&sheet, typed).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{}", words(&page));
        let page = self.planned(&to).await;
        (to, page)
    }

    /// What the form sends for one transmitter to one version.
    async fn to(&self, says: &str) -> String {
        option(&self.get("/refits/new").await, says)
    }

    /// A refit of T2, begun: its page.
    async fn begun(&self, name: &str) -> String {
        let to = self.to("T2: 3.9 to 4.6").await;
        let (_, page) = self.plan(&[("to", &to), LENT]).await;
        self.done(&form(&page, "begin"), &[("name", name)]).await
    }

    fn address(&self) -> String {
        format!("/refit/{}", self.refits().last().unwrap().id())
    }
}

#[tokio::test]
async fn a_refit_is_planned_begun_ticked_put_off_planned_anew_and_given_up() {
    let site = Site::demo();
    assert!(words(&site.get("/refits").await).contains("No refit is open."));
    assert!(!site.get("/").await.contains("refit is open</a>"));
    // From the page of the transmitter: it is chosen already.
    let t2 = site.id("T2");
    assert!(site.get(&format!("/device/{t2}")).await.contains(&format!("href=\"/refits/new?t={t2}\"")));
    let page = site.get(&format!("/refits/new?t={t2}")).await;
    let chosen = page.split("name=\"to\"").nth(1).unwrap().split("</select>").next().unwrap();
    assert!(chosen.split("selected").next().unwrap().contains(&t2), "{chosen}");
    // Planning writes nothing.
    let before = site.entries();
    let to = site.to("T2: 3.9 to 4.6").await;
    let (address, page) = site.plan(&[("to", &to), ("count", "3"), ("minutes", "120"), LENT]).await;
    assert_eq!(site.entries(), before);
    let says = words(&page);
    for part in
        ["Proven: ", "T2 holds 4.6", "3 evenings of 120 min", "When each aircraft can fly", "Evening 1"]
    {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(site.refits().is_empty());
    // Begun; a second touch leads to the same.
    let begin = form(&page, "begin");
    let page = site.done(&begin, &[("name", "Two to four six")]).await;
    assert!(words(&page).contains("The refit has begun."), "{}", words(&page));
    site.done(&begin, &[("name", "Two to four six")]).await;
    assert_eq!(site.refits().len(), 1);
    assert_eq!(site.look(&address).await.2, site.address());
    assert!(site.get("/").await.contains("<a href=\"/refits\">1 refit is open</a>"));
    assert!(words(&site.get("/refits").await).contains("Next, in evening 1"));
    // The first steps are ticked.
    let all = steps(&page);
    let tick = form(&page, "tick-1");
    let page = site.done(&tick, &[("step", &all[0]), ("step", &all[1])]).await;
    assert!(words(&page).contains("Ticked: 2 steps."), "{}", words(&page));
    assert!(!words(&page).contains("Passed over"), "{}", words(&page));
    assert_eq!(steps(&page), all[2..], "what is done has no box any more");
    // The page that is behind ticks nothing twice.
    let entries = site.entries();
    let page = site.done(&tick, &[("step", &all[0])]).await;
    assert!(words(&page).contains("Nothing was written"), "{}", words(&page));
    assert_eq!(site.entries(), entries);
    // One is taken back, and ticked again.
    let page = site.done(&form(&page, "untick-1"), &[("step", &all[1])]).await;
    assert!(words(&page).contains("Taken back"));
    assert_eq!(steps(&page), all[1..]);
    let page = site.done(&form(&page, "tick-1"), &[("step", &all[1])]).await;
    // One aircraft is put off: then the rest wants a new plan.
    let what = page.split("put-off=").nth(2).unwrap().split('#').next().unwrap().to_owned();
    let page = site.get(&format!("{}?put-off={what}", site.address())).await;
    assert!(page.contains(&format!("<option value=\"{what}\" selected>")), "{}", words(&page));
    let page = site.done(&form(&page, "defer"), &[("what", &what), ("until", "")]).await;
    assert!(words(&page).contains("is put off to evening 2"), "{}", words(&page));
    let (status, _, to) = site.send(&form(&page, "anew"), &[]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let page = site.planned(&to).await;
    assert!(words(&page).contains("A new plan of the rest: Two to four six"), "{}", words(&page));
    let page = site.done(&form(&page, "begin"), &[]).await;
    assert!(words(&page).contains("The new plan stands"), "{}", words(&page));
    assert!(!words(&page).contains("doesn't fit any more"), "{}", words(&page));
    let left = steps(&page);
    assert!(!left.is_empty() && !left.contains(&all[0]) && !left.contains(&all[1]), "done steps come again");
    // On paper: each code that is left.
    let paper = site.get(&format!("{}/paper", site.address())).await;
    assert_eq!(paper.matches("class=\"step-code\"").count(), left.len());
    // Given up: nothing to tick any more, and what was done is there.
    let page = site.done(&form(&page, "end"), &[]).await;
    assert!(words(&page).contains("Refits that ended"), "{}", words(&page));
    let page = site.get(&site.address()).await;
    assert!(steps(&page).is_empty());
    assert!(words(&page).contains("was given up; what was done stays done"), "{}", words(&page));
    assert!(matches!(site.refits()[0].ended(), Some((Ending::Abandoned, _))));
}

#[tokio::test]
async fn steps_that_are_passed_over_are_named() {
    let site = Site::demo();
    let page = site.begun("x").await;
    let lines = site.lines();
    let (first, second) = lines
        .iter()
        .zip(&lines[1..])
        .find(|((evening, a), (other, b))| evening == other && a.step.what == b.step.what)
        .map(|((evening, a), (_, b))| ((evening, &a.step), &b.step))
        .unwrap();
    let (evening, first) = first;
    let page = site.done(&form(&page, &format!("tick-{evening}")), &[("step", &second.key)]).await;
    let says = words(&page);
    assert!(says.contains(&format!("Ticked: {}", second.text)), "{says}");
    let passed = format!("Passed over: {}.", first.text.trim_end_matches('.'));
    assert!(says.contains(&passed), "{passed}: {says}");
    // Nothing lies before it any more that isn't done.
    let page = site.done(&form(&page, &format!("tick-{evening}")), &[("step", &first.key)]).await;
    assert!(!words(&page).contains("Passed over"), "{}", words(&page));
}

/// What is folded away under "Give this refit up".
fn giving_up(page: &str) -> String {
    let piece = page.split("id=\"give-up\"").nth(1).unwrap_or_else(|| panic!("{}", words(page)));
    assert!(!piece.split('>').next().unwrap().contains("open"), "giving up is two moves");
    words(piece.split_once('>').unwrap().1.split("</details>").next().unwrap())
}

#[tokio::test]
async fn giving_up_says_first_who_stays_grounded() {
    let site = Site::demo();
    let page = site.begun("x").await;
    assert!(giving_up(&page).contains("it leaves nothing grounded"), "{}", giving_up(&page));
    // Up to the step that grounds somebody.
    let lines = site.lines();
    let last = lines.iter().position(|(_, line)| !line.grounds.is_empty()).unwrap();
    let mut page = page;
    for (evening, line) in &lines[..=last] {
        page = site.done(&form(&page, &format!("tick-{evening}")), &[("step", &line.step.key)]).await;
    }
    let grounded: Vec<String> = site.state.use_workshop(|workshop| {
        let fleet = workshop.fleet();
        lines[last].1.grounds.iter().map(|id| fleet.aircraft(*id).unwrap().card.full()).collect()
    });
    let says = giving_up(&page);
    assert!(says.contains("that flew before can't fly:") && !says.contains("nothing grounded"), "{says}");
    for craft in &grounded {
        assert!(says.contains(craft), "{craft}: {says}");
    }
    assert!(says.contains("What was done stays done"), "{says}");
    let page = site.done(&form(&page, "end"), &[]).await;
    assert!(words(&page).contains("The refit is given up"), "{}", words(&page));
}

/// The forms of the ideas on the page of a clash.
fn ideas(page: &str) -> Vec<Sheet> {
    forms(page).into_iter().filter(|(key, _)| key.starts_with("idea-")).map(|(_, sheet)| sheet).collect()
}

#[tokio::test]
async fn an_idea_for_wishes_that_clash_is_planned_with_at_a_press() {
    let site = Site::demo();
    let to = site.to("T1 (module): 4.5 to 5.1").await;
    let typed = [("to", to.as_str()), ("grounded", "30"), ("more", "stay=R30")];
    let (address, page) = site.plan(&typed).await;
    assert!(words(&page).contains("These wishes can't be met together."), "{}", words(&page));
    let entries = site.entries();
    let ideas_of_it = ideas(&page);
    assert!(ideas_of_it.iter().any(|sheet| sheet.buttons[0].2.contains("R5")), "{}", words(&page));
    for sheet in &ideas_of_it {
        let (status, page, to_plan) = site.send(sheet, &[]).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{}", words(&page));
        assert_ne!(to_plan, address);
        let page = site.planned(&to_plan).await;
        assert!(page.contains("Begin this refit"), "{:?}: {}", sheet.buttons, words(&page));
        // What was typed is all there, with the idea as one line more.
        let key = to_plan.rsplit('/').next().unwrap();
        let page = site.get(&format!("/refits/new?job={key}")).await;
        assert!(page.contains(&format!("value=\"{to}\" selected")), "{}", words(&page));
        let more = page.split("name=\"more\"").nth(1).unwrap().split("</textarea>").next().unwrap();
        let lines: Vec<&str> = more.split_once('>').unwrap().1.trim().lines().collect();
        assert_eq!(lines.len(), 2, "{lines:?}");
        assert_eq!(lines[0], "stay=R30");
        assert!(lines[1].starts_with("let-go=") || lines[1].starts_with("replace="), "{lines:?}");
    }
    // One that isn't there leads back.
    let mut sheet = ideas_of_it[0].clone();
    sheet.hidden.retain(|(name, _)| name != "idea");
    for nonsense in ["99", "-1", "x", ""] {
        assert_eq!(site.send(&sheet, &[("idea", nonsense)]).await.2, address, "{nonsense}");
    }
    sheet.hidden.retain(|(name, _)| name != "token");
    assert_eq!(site.send(&sheet, &[("idea", "0")]).await.0, StatusCode::FORBIDDEN);
    assert_eq!(site.entries(), entries);
}

#[tokio::test]
async fn an_idea_keeps_a_link_secret_that_was_typed() {
    let site = Site::demo();
    let to = site.to("T1 (module): 4.5 to 5.1").await;
    let (_, page) = site.plan(&[("to", &to), ("secret_on", "T2/main"), ("secret", SECRET), LENT]).await;
    assert!(!page.contains(SECRET));
    let sheet = ideas(&page).into_iter().next().unwrap_or_else(|| panic!("{}", words(&page)));
    assert!(!sheet.hidden.iter().any(|(name, _)| name.contains("secret")), "{sheet:?}");
    let (_, _, to_plan) = site.send(&sheet, &[]).await;
    let page = site.planned(&to_plan).await;
    assert!(words(&page).contains("holds the new link secret"), "{}", words(&page));
    assert!(page.contains("Begin this refit") && !page.contains(SECRET), "{}", words(&page));
}

#[tokio::test]
async fn an_idea_for_the_rest_of_a_refit_is_planned_with_too() {
    let site = Site::demo();
    let page = site.begun("x").await;
    let wish = [("keep", "0"), ("keep", "1"), ("more", "to=T1/module:5.1")];
    let (_, _, to) = site.send(&form(&page, "replan"), &wish).await;
    let clash = site.planned(&to).await;
    let sheet = ideas(&clash).into_iter().next().unwrap_or_else(|| panic!("{}", words(&clash)));
    let (_, _, to) = site.send(&sheet, &[]).await;
    let page = site.planned(&to).await;
    assert!(words(&page).contains("A new plan of the rest: x"), "{}", words(&page));
    // A page that is behind plans nothing.
    let page = site.get(&site.address()).await;
    let step = &steps(&page)[0];
    site.done(&form(&page, "tick-1"), &[("step", step)]).await;
    let page = site.done(&sheet, &[]).await;
    assert!(words(&page).contains("has moved on"), "{}", words(&page));
}

#[tokio::test]
async fn a_whole_evening_is_ticked_at_once_and_the_last_step_ends_it() {
    let site = Site::demo();
    let mut page = site.begun("").await;
    assert!(site.refits()[0].begun.what.name.contains("T2 holds 4.6"), "called after its first wish");
    for evening in 1..10 {
        if steps(&page).is_empty() {
            break;
        }
        let key = format!("tick-{evening}");
        if page.contains(&format!("value=\"{key}\"")) {
            page = site.done(&form(&page, &key), &[("all", "1")]).await;
        }
    }
    assert!(words(&page).contains("That was the last: the refit is done."), "{}", words(&page));
    assert!(matches!(site.refits()[0].ended(), Some((Ending::Done, _))));
    // What the steps change is in the logbook.
    let held = words(&site.get(&format!("/device/{}", site.id("T2"))).await);
    assert!(held.contains("4.6"), "{held}");
    // Nothing is left to wish for.
    let (_, page) = site.plan(&[("more", "to=T2:4.6")]).await;
    assert!(words(&page).contains("Nothing has to be changed."), "{}", words(&page));
    assert!(!page.contains("value=\"begin\""));
}

#[tokio::test]
async fn what_is_wrong_stands_beside_what_was_typed() {
    let site = Site::demo();
    let sheet = form(&site.get("/refits/new").await, "plan");
    let entries = site.entries();
    let (status, page, _) = site.send(&sheet, &[]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&page).contains("Say what is to change"), "{}", words(&page));
    let cases: [Case; 8] = [
        (&[("to", "T1")], "to", "a device and a version"),
        (&[("to", "T2:new")], "to", "no numbers"),
        (&[("pairs", "1"), ("minutes", "90")], "count", "how many evenings"),
        (&[("pairs", "1"), ("count", "0")], "count", "from 1 to"),
        (&[("pairs", "1"), ("grounded", "few")], "grounded", "whole number"),
        (&[("pairs", "1"), ("fly_after", "2")], "fly", "Choose the aircraft"),
        (&[("more", "pairs=all\nfly=A1")], "more", "`fly=A1` must be an aircraft and an evening"),
        (&[("secret_on", "Whimbrel")], "secret", "Type the new link secret"),
    ];
    for (typed, field, says) in cases {
        let (status, page, _) = site.send(&sheet, typed).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{typed:?}");
        assert!(error(&page, "plan", field).contains(says), "{field}: {}", error(&page, "plan", field));
        for (name, value) in
            typed.iter().filter(|(name, value)| *value != "1" && *name != "more" && *name != "fly_after")
        {
            assert!(page.contains(&format!("value=\"{value}\"")), "{name} is gone");
        }
        if let Some((_, more)) = typed.iter().find(|(name, _)| *name == "more") {
            assert!(page.contains(more));
        }
    }
    assert_eq!(site.entries(), entries);
    // A plan that can't be: why, ideas, and what was wished to be mended.
    let (_, page) = site.plan(&[("more", "to=T2:5.1\nstay=R6"), ("count", "1"), ("minutes", "5")]).await;
    let says = words(&page);
    assert!(says.contains("can't be met"), "{says}");
    assert!(page.contains("to=T2:5.1\nstay=R6"), "{says}");
    assert!(form(&page, "plan").action == "/refits/plan");
    // A name that is too long.
    let to = site.to("T2: 3.9 to 4.6").await;
    let (_, page) = site.plan(&[("to", &to), LENT]).await;
    let long = "x".repeat(81);
    let (status, page, _) = site.send(&form(&page, "begin"), &[("name", &long)]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "begin", "name").contains("at most 80"), "{}", words(&page));
    assert!(page.contains(&long));
}

#[tokio::test]
async fn what_is_wrong_on_a_refits_page_keeps_its_ticks() {
    let site = Site::demo();
    let page = site.begun("x").await;
    let (status, page, _) = site.send(&form(&page, "tick-1"), &[]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(words(&page).contains("Tick the steps that are done first."), "{}", words(&page));
    let replan = form(&page, "replan");
    let (status, page, _) =
        site.send(&replan, &[("keep", "0"), ("evenings", "many"), ("from", "0"), ("more", "stay=R6")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(error(&page, "replan", "from").contains("number of an evening"), "{}", words(&page));
    assert!(page.contains("value=\"many\"") && page.contains("stay=R6"));
    let (_, page, _) = site.send(&replan, &[("keep", "0"), ("evenings", "many")]).await;
    assert!(error(&page, "replan", "evenings").contains("minutes"), "{}", error(&page, "replan", "evenings"));
    let (_, page, _) = site.send(&form(&page, "defer"), &[("what", "nobody"), ("until", "2")]).await;
    assert!(error(&page, "defer", "what").contains("nobody"), "{}", words(&page));
    // A page that is behind plans nothing: wishes are named by their places.
    let steps = steps(&page);
    site.done(&form(&page, "tick-1"), &[("step", &steps[0])]).await;
    let page = site.done(&replan, &[("keep", "0")]).await;
    assert!(words(&page).contains("has moved on"), "{}", words(&page));
    // It can't be said to be done while something is left.
    let mut end = form(&page, "end");
    end.hidden.retain(|(name, _)| name != "how");
    let page = site.done(&end, &[("how", "done")]).await;
    assert!(words(&page).contains("Something is left to do"), "{}", words(&page));
    assert!(site.refits()[0].ended().is_none());
}

#[tokio::test]
async fn a_plan_of_a_workshop_that_has_changed_is_made_once_more() {
    let site = Site::demo();
    let to = site.to("T2: 3.9 to 4.6").await;
    let (address, page) = site.plan(&[("to", &to), LENT]).await;
    site.state.use_workshop(|workshop| {
        let body = register::entry::Body::Setting {
            key: "stale.settable_days".to_owned(),
            value: Some("90".to_owned()),
        };
        let draft = register::entry::Draft { seen: now(), subject: register::id::DeviceId::WORKSHOP, body };
        workshop.record(&[draft], &[]).unwrap();
    });
    let (status, _, to) = site.send(&form(&page, "begin"), &[]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    assert!(to.starts_with(&address) && site.refits().is_empty());
    let page = site.planned(&address).await;
    site.done(&form(&page, "begin"), &[]).await;
    assert_eq!(site.refits().len(), 1);
}

#[tokio::test]
async fn the_search_can_be_stopped() {
    let site = Site::demo();
    let sheet = form(&site.get("/refits/new").await, "plan");
    let (status, _, to) =
        site.send(&sheet, &[("newest", "Whimbrel"), ("pairs", "1"), ("more", "newest=Plover")]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let stop = Sheet { action: format!("{to}/stop"), ..sheet };
    let (status, _, back) = site.send(&stop, &[]).await;
    assert_eq!((status, back.as_str()), (StatusCode::SEE_OTHER, to.as_str()));
    let says = words(&site.planned(&to).await);
    let stopped = ["The search was stopped; this is the best so far.", "Stopped before any plan was found."];
    let settled = ["can't be met", "can't be planned"];
    assert!(stopped.iter().chain(&settled).any(|words| says.contains(words)), "{says}");
    assert!(site.refits().is_empty());
}

#[tokio::test]
async fn a_link_secret_is_on_no_page() {
    let site = Site::demo();
    let check =
        |page: &str| assert!(!page.contains(SECRET) && !page.contains("wet herons"), "{}", words(page));
    let sheet = form(&site.get("/refits/new").await, "plan");
    // Where something else is wrong.
    let (status, page, _) =
        site.send(&sheet, &[("secret_on", "Whimbrel"), ("secret", SECRET), ("grounded", "x")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    check(&page);
    // Typed where it doesn't belong, alone and beside another error.
    for more in [format!("secret={SECRET}"), format!("secret={SECRET}\nfoo=1")] {
        for fly in ["", "2"] {
            let (status, page, _) = site.send(&sheet, &[("more", &more), ("fly_after", fly)]).await;
            assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
            check(&page);
        }
    }
    // A line that says only where it goes is kept.
    let (_, page, _) = site.send(&sheet, &[("more", "secret=T2"), ("fly_after", "2")]).await;
    assert!(page.contains("secret=T2"));
    // A plan with it: its pages, the refit's, the list, paper, logbook.
    let (address, page) = site.plan(&[("secret_on", "T2/main"), ("secret", SECRET), LENT]).await;
    check(&page);
    assert!(words(&page).contains("holds the new link secret"), "{}", words(&page));
    let page = site.done(&form(&page, "begin"), &[]).await;
    check(&page);
    let all = steps(&page);
    let typed: Vec<(&str, &str)> = all.iter().map(|step| ("step", step.as_str())).collect();
    check(&site.done(&form(&page, "tick-1"), &typed).await);
    let here = site.address();
    for path in ["/refits".to_owned(), here.clone(), format!("{here}/paper"), "/history".to_owned()] {
        check(&site.get(&path).await);
    }
    // What was typed is offered again, without it.
    let key = address.rsplit('/').next().unwrap();
    let page = site.get(&format!("/refits/new?job={key}")).await;
    check(&page);
    assert!(page.contains("value=\"T2/main\" selected"), "{}", words(&page));
}

#[tokio::test]
async fn a_form_needs_its_token_and_hostile_words_stay_words() {
    let site = Site::demo();
    let page = site.begun("\"><script>alert(1)</script>").await;
    let here = site.address();
    for path in [&here, &"/refits".to_owned(), &format!("{here}/paper")] {
        let page = site.get(path).await;
        assert!(!page.contains("<script>alert"), "{path}");
        assert!(words(&page).contains("<script>alert(1)</script>"), "{path}: shown as it is");
    }
    let entries = site.entries();
    for key in ["tick-1", "defer", "replan", "end"] {
        let mut sheet = form(&page, key);
        sheet.hidden.retain(|(name, _)| name != "token");
        let (status, _, _) = site.send(&sheet, &[("all", "1"), ("what", "T2"), ("token", "another")]).await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{key}");
    }
    let sheet = Sheet { action: "/refits/plan".to_owned(), hidden: Vec::new(), buttons: Vec::new() };
    assert_eq!(site.send(&sheet, &[("pairs", "1")]).await.0, StatusCode::FORBIDDEN);
    assert_eq!(site.entries(), entries);
    assert!(!site.refits()[0].events.iter().any(|mark| matches!(mark.what, Event::Ticked { .. })));
    // Nothing at these addresses, and a way on.
    for path in ["/refit/none", "/refit/00000000-0000-0000-0000-000000000001", "/refits/job/1-a"] {
        let (status, page, _) = site.look(path).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        assert!(page.contains("href=\"/\""));
    }
    assert_eq!(site.look(&format!("{here}/paper?evening=x")).await.0, StatusCode::BAD_REQUEST);
}
