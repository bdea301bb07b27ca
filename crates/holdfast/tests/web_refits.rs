//! Refits by the web door: from what is wished to done, and what must not happen.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod reading;

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use holdfast::demo;
use holdfast::web::{App, Door, app};
use holdfast::workshop::{Workshop, now};
use reading::words;
use register::fleet::find;
use register::refit::{Ending, Event, RefitLog};
use register::scene::Scene;
use store::Store;
use tower::ServiceExt as _;

const HOST: &str = "127.0.0.1:7717";
const SECRET: &str = "seventeen wet herons";
/// In the demo this aircraft is lent, so that T2 can't change unless their link may go.
const LENT: (&str, &str) = ("more", "let-go=A17:T2");

/// What is typed, the field that is wrong, and what is said there.
type Case = (&'static [(&'static str, &'static str)], &'static str, &'static str);

struct Site {
    state: Arc<App>,
    _keys: tempfile::TempDir,
}

/// A form of a page: where it goes, and what it holds that nobody types.
#[derive(Clone, Debug)]
struct Sheet {
    action: String,
    hidden: Vec<(String, String)>,
}

fn attribute(tag: &str, name: &str) -> String {
    let text = tag.split(&format!(" {name}=\"")).nth(1).unwrap_or_default();
    text.split('"')
        .next()
        .unwrap()
        .replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

/// The form of a page that writes, by the value of `form`.
fn form(page: &str, key: &str) -> Sheet {
    for piece in page.split("<form method=\"post\"").skip(1) {
        let piece = piece.split("</form>").next().unwrap();
        let tags = piece.split("<input").skip(1).map(|tag| tag.split('>').next().unwrap());
        let hidden: Vec<(String, String)> = tags
            .filter(|tag| tag.contains("type=\"hidden\""))
            .map(|tag| (attribute(tag, "name"), attribute(tag, "value")))
            .collect();
        if hidden.iter().any(|(name, value)| name == "form" && value == key) {
            return Sheet { action: attribute(piece, "action"), hidden };
        }
    }
    panic!("no form {key}: {}", words(page));
}

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

fn enc(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

/// The error beside the field of this name.
fn error(page: &str, form: &str, name: &str) -> String {
    let id = format!("id=\"f-{form}-{}-error\"", name.replace(['_', '.'], "-"));
    let at = page.find(&id).unwrap_or_else(|| panic!("no error at {name}: {}", words(page)));
    words(page[at..].split("</span>").next().unwrap().split_once('>').unwrap().1)
}

impl Site {
    fn demo() -> Site {
        let keys = tempfile::tempdir().unwrap();
        let workshop = Workshop::around(Store::in_memory().unwrap(), keys.path(), "a tester").unwrap();
        let site = Site { state: Arc::new(App::new(workshop)), _keys: keys };
        site.state.use_workshop(|workshop| demo::build(workshop, now()).unwrap());
        site
    }

    fn id(&self, code: &str) -> String {
        self.state
            .use_workshop(|workshop| find(&Scene::new(workshop.register()), code, None).unwrap().to_string())
    }

    fn refits(&self) -> Vec<RefitLog> {
        self.state.use_workshop(|workshop| workshop.register().refits().to_vec())
    }

    fn entries(&self) -> u64 {
        self.state.use_workshop(|workshop| workshop.register().entries())
    }

    async fn ask(&self, request: Request<Body>) -> (StatusCode, String, String) {
        let response = app(self.state.clone(), Door::Loopback).oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 100 << 20).await.unwrap();
        let to = parts.headers.get("location").map(|to| to.to_str().unwrap().to_owned());
        (parts.status, String::from_utf8(bytes.to_vec()).unwrap(), to.unwrap_or_default())
    }

    async fn look(&self, path: &str) -> (StatusCode, String, String) {
        self.ask(Request::get(path).header("host", HOST).body(Body::empty()).unwrap()).await
    }

    async fn get(&self, path: &str) -> String {
        let (status, page, _) = self.look(path).await;
        assert_eq!(status, StatusCode::OK, "{path}: {}", words(&page));
        page
    }

    /// Sends a form with what is typed into it.
    async fn send(&self, sheet: &Sheet, typed: &[(&str, &str)]) -> (StatusCode, String, String) {
        let hidden = sheet.hidden.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        let body: Vec<String> = hidden
            .chain(typed.iter().copied())
            .map(|(name, value)| format!("{}={}", enc(name), enc(value)))
            .collect();
        let request = Request::post(&sheet.action)
            .header("host", HOST)
            .header("origin", format!("http://{HOST}"))
            .header("content-type", "application/x-www-form-urlencoded")
            .body(Body::from(body.join("&")))
            .unwrap();
        self.ask(request).await
    }

    /// Sends a form and gives the page that it leads to.
    async fn done(&self, sheet: &Sheet, typed: &[(&str, &str)]) -> String {
        let (status, page, to) = self.send(sheet, typed).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{}: {}", sheet.action, words(&page));
        self.get(&to).await
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
    let stop = Sheet { action: format!("{to}/stop"), hidden: sheet.hidden };
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
    let sheet = Sheet { action: "/refits/plan".to_owned(), hidden: Vec::new() };
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
