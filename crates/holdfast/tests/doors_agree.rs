//! The command line and the pages give the same answer to the same question.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use holdfast::demo;
use holdfast::web::{App, Door, app};
use holdfast::workshop::{Places, Workshop, now};
use register::fleet::find;
use register::scene::Scene;
use serde_json::Value;
use store::Store;
use tower::ServiceExt as _;

/// What the command line says on the demo's workshop in this folder.
fn cli(dir: &Path, words: &[&str]) -> String {
    let done = Command::new(env!("CARGO_BIN_EXE_holdfast"))
        .args(words)
        .current_dir(dir)
        .env_clear()
        .env("HOME", dir)
        .env("HOLDFAST_KEYS", dir.join("keys"))
        .env("HOLDFAST_AUTHOR", "tester")
        .env("COLUMNS", "400")
        .output()
        .unwrap();
    assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).unwrap()
}

/// What a person reads of a page: its text without tags, blanks run together.
fn words(page: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => {
                inside = true;
                out.push(' ');
            }
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let plain = out.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The number in front of these words.
fn number_before(text: &str, behind: &str) -> f64 {
    let at = text.find(behind).unwrap_or_else(|| panic!("no `{behind}` in {text}"));
    let word = text[..at].split_whitespace().last().unwrap();
    word.parse().unwrap_or_else(|_| panic!("`{word}` before `{behind}` in {text}"))
}

/// The first distance behind these words, metres.
fn distance_after(text: &str, lead: &str) -> f64 {
    let at = text.find(lead).unwrap_or_else(|| panic!("no `{lead}` in {text}"));
    let mut rest = text[at + lead.len()..].split_whitespace().filter(|word| *word != "about");
    let number: f64 = rest.next().unwrap().parse().unwrap_or_else(|_| panic!("`{lead}` in {text}"));
    let unit = rest.next().unwrap();
    if unit.starts_with("km") { number * 1e3 } else { number }
}

#[tokio::test]
async fn both_doors_answer_alike() {
    let dir = tempfile::tempdir().unwrap();
    cli(dir.path(), &["demo", "--no-serve", "--dir", "demo"]);
    let keys = tempfile::tempdir().unwrap();
    let mut workshop = Workshop::around(Store::in_memory().unwrap(), keys.path(), "a tester").unwrap();
    demo::build(&mut workshop, now()).unwrap();
    let id = |code: &str| find(&Scene::new(workshop.register()), code, None).unwrap().to_string();
    let of_devices = format!("/sheet/{}/{}", id("T1"), id("A2"));
    let site = Arc::new(App::new(workshop));

    let devices: &[&str] = &["T1", "A2"];
    let family: &[&str] = &["--family", "Plover", "--band", "2.4 GHz"];
    let of_family = "/sheet/family/Plover/2.4%20GHz".to_owned();
    let cases: [(&[&str], &String, &[&str]); 6] = [
        (devices, &of_devices, &["distance_m=300", "power_mw=40"]),
        (devices, &of_devices, &["distance_m=1500", "region=US", "latency_ms=60"]),
        (devices, &of_devices, &["distance_m=2500", "other_links=3", "probability=0.95"]),
        (family, &of_family, &["distance_m=200", "region=EU"]),
        (family, &of_family, &["distance_m=900", "region=JP"]),
        (family, &of_family, &["distance_m=5000", "region=US"]),
    ];
    let (mut held, mut standings) = (Vec::new(), Vec::new());
    for (whose, path, inputs) in cases {
        let asked = |command: &str, more: &[&str]| {
            cli(dir.path(), &[&[command, "--workshop", "demo"][..], whose, inputs, more].concat())
        };
        let told = asked("budget", &[]);
        let sheet: Value = serde_json::from_str(&asked("budget", &["--json"])).unwrap();
        let advice: Value = serde_json::from_str(&asked("advise", &["--json"])).unwrap();
        let uri = format!("{path}?part=answer&{}", inputs.join("&"));
        let request = Request::get(&uri).header("host", "127.0.0.1:7717").body(Body::empty()).unwrap();
        let response = app(site.clone(), Door::Loopback).oneshot(request).await.unwrap();
        assert_eq!(response.status(), StatusCode::OK, "{uri}");
        let bytes = to_bytes(response.into_body(), 100 << 20).await.unwrap();
        let page = words(str::from_utf8(&bytes).unwrap());

        // Whether it holds.
        let holds = sheet["holds"].as_bool().unwrap();
        assert_eq!(told.starts_with("Does not hold"), !holds, "{told}");
        assert_eq!(page.contains("Does not hold"), !holds, "{page}");
        held.push(holds);
        // How often, of a hundred: text and page may round, but not by more than their last digit.
        let exact = sheet["control"]["probability"].as_f64().unwrap() * 100.0;
        let first = page.split("at a glance").next().unwrap();
        if exact >= 99.5 {
            assert!(first.contains("more than 99 of 100 spells"), "{exact}: {page}");
        } else if exact < 1.0 {
            assert!(first.contains("fewer than 1 of 100 spells"), "{exact}: {page}");
        } else {
            assert!((number_before(first, " of 100 spells") - exact).abs() <= 1.0, "{exact}: {page}");
            assert!((number_before(&told, " of 100 spells") - exact).abs() <= 0.1, "{exact}: {told}");
        }
        // How far each way reaches.
        let ways = ["control", "telemetry"].map(|way| sheet[way]["reach"]["distance_m"].as_f64());
        let glance = page.split("Control margin").nth(1).unwrap();
        for (way, nth) in ways.into_iter().zip(["", "Telemetry margin"]) {
            let Some(reach) = way else { continue };
            let shown = distance_after(&glance[glance.find(nth).unwrap()..], "reaches");
            assert!((shown / reach - 1.0).abs() < 0.06, "{nth} {reach} is shown as {shown}: {page}");
        }
        // What the limits say.
        let standing = sheet["standing"].as_str().unwrap();
        let region = sheet["flight"]["region"].as_str().unwrap();
        assert!(told.contains(&format!("Limits of {region}: {standing}.")), "{told}");
        let of_region = page.split(&format!("Limits, {region} ")).nth(1).unwrap();
        assert!(of_region.chars().take(40).collect::<String>().contains(standing), "{standing}: {of_region}");
        standings.push(standing.to_owned());
        // What is worth choosing.
        let (worth, meeting) = (&advice["worth_choosing"], &advice["meeting"]);
        let looked_at = &advice["looked_at"];
        assert!(page.contains(&format!("Of {looked_at} settings, {worth} ")), "{worth}: {page}");
        match meeting.as_u64().unwrap() {
            0 => assert!(page.contains("None meets every need"), "{page}"),
            1 => assert!(page.contains("1 meets every need"), "{page}"),
            some => assert!(page.contains(&format!("{some} meet every need")), "{page}"),
        }
        let best = &advice["choices"][0];
        let listed = page.split(" meet every need of this flight.").nth(1);
        let listed = listed.or_else(|| page.split(" meets every need of this flight.").nth(1)).unwrap();
        let head: String = listed.chars().take(120).collect();
        assert!(head.contains(best["setting"]["mode"].as_str().unwrap()), "{best:#}: {head}");
    }
    // The questions differ in what is answered.
    assert!(held.contains(&true) && held.contains(&false), "{held:?}");
    standings.sort();
    standings.dedup();
    assert!(standings.len() >= 3, "{standings:?}");
}

#[tokio::test]
async fn a_trail_stands_alike_behind_both_doors() {
    let dir = tempfile::tempdir().unwrap();
    cli(dir.path(), &["demo", "--no-serve", "--dir", "demo"]);
    let mut kinds = Vec::new();
    for (symptom, receiver) in [("wont_pair", "R1"), ("wont_pair", "R6"), ("short_range", "R1")] {
        let words = ["fault", "start", symptom, "T1", receiver, "--workshop", "demo", "--json"];
        let trail: Value = serde_json::from_str(&cli(dir.path(), &words)).unwrap();
        let id = trail["id"].as_str().unwrap();
        let places = Places {
            workshop: dir.path().join("demo/workshop.holdfast"),
            keys: dir.path().join("demo/keys"),
        };
        let workshop = Workshop::open_existing(&places, "a tester").unwrap();
        let site = Arc::new(App::new(workshop));
        let request = Request::get(format!("/fault/{id}")).header("host", "127.0.0.1:7717");
        let response = app(site, Door::Loopback).oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        assert_eq!(response.status(), StatusCode::OK, "{id}");
        let bytes = to_bytes(response.into_body(), 100 << 20).await.unwrap();
        let page = self::words(str::from_utf8(&bytes).unwrap());

        let kind = trail["next"]["kind"].as_str().unwrap();
        let says = match kind {
            "step" => trail["next"]["step"]["label"].as_str().unwrap().to_owned(),
            "lift" => trail["next"]["certain"]["reason"].as_str().unwrap().to_owned(),
            other => panic!("{other}"),
        };
        let says = says.replace('\u{a0}', " ");
        assert!(page.contains(says.trim_end_matches('.')), "{says}: {page}");
        let expected = trail["expected_minutes"].as_f64().unwrap();
        let shown = minutes_to_go(&page);
        assert!((shown - expected).abs() <= 0.051, "{expected}: {shown}: {page}");
        kinds.push(kind.to_owned());
    }
    assert!(kinds.contains(&"step".to_owned()) && kinds.contains(&"lift".to_owned()), "{kinds:?}");
}

/// The engine's plan, through the library as both doors reach it.
fn planned(workshop: &Workshop, words: &[&str]) -> Value {
    struct NoSecret;
    impl holdfast::refits::Secrets for NoSecret {
        fn typed(&mut self) -> Result<register::value::SecretMark, String> {
            Err("none here".to_owned())
        }
    }
    let (register, fleet) = (workshop.register(), workshop.fleet());
    let scene = Scene::new(register);
    let words: Vec<String> = words.iter().map(|&word| word.to_owned()).collect();
    let wishes = holdfast::refits::wishes(&scene, &words, &mut NoSecret).unwrap();
    let question = refits::ask::Question::new(wishes);
    let plan = holdfast::refits::plan(register, fleet, &question, holdfast::refits::EFFORT, &mut |_| true);
    serde_json::to_value(wire::answers::refit::plan::Plan::new(&scene, &plan.unwrap())).unwrap()
}

#[tokio::test]
async fn a_refit_stands_alike_behind_both_doors() {
    let dir = tempfile::tempdir().unwrap();
    cli(dir.path(), &["demo", "--no-serve", "--dir", "demo"]);
    let places =
        Places { workshop: dir.path().join("demo/workshop.holdfast"), keys: dir.path().join("demo/keys") };
    let workshop = Workshop::open_existing(&places, "a tester").unwrap();
    let asked = |wishes: &[&str], more: &[&str]| -> Value {
        let words = [&["refit", "plan", "--workshop", "demo", "--json"][..], wishes, more].concat();
        serde_json::from_str(&cli(dir.path(), &words)).unwrap()
    };
    let cases: [&[&str]; 3] = [
        &["to=T3:3.4", "evenings=2x90"],
        &["to=T1/inside:5.1", "evenings=4x120", "grounded=2"],
        &["to=T1:5.1", "replace=R5:45", "evenings=3x120"],
    ];
    for wishes in cases {
        let answer = asked(wishes, &[]);
        let plan = planned(&workshop, wishes);
        assert_eq!(answer["plan"], plan, "{wishes:?}");
        assert!(!plan["evenings"].as_array().unwrap().is_empty(), "{wishes:?}");
    }
    // One that has begun stands on its page with every step that is left, and what was done.
    let begun = asked(cases[1], &["--begin"])["refit"].clone();
    let id = begun["id"].as_str().unwrap();
    let first =
        begun["plan"]["evenings"].as_array().unwrap().iter().find(|one| one["steps"] != Value::Array(vec![]));
    let number = first.unwrap()["number"].to_string();
    cli(dir.path(), &["refit", "tick", "--evening", &number, "--workshop", "demo"]);
    let shown = cli(dir.path(), &["refit", "show", "--workshop", "demo", "--json"]);
    let standing: Value = serde_json::from_str(&shown).unwrap();
    let site = Arc::new(App::new(Workshop::open_existing(&places, "a tester").unwrap()));
    let request = Request::get(format!("/refit/{id}")).header("host", "127.0.0.1:7717");
    let response = app(site, Door::Loopback).oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
    assert_eq!(response.status(), StatusCode::OK, "{id}");
    let bytes = to_bytes(response.into_body(), 100 << 20).await.unwrap();
    let page = words(&str::from_utf8(&bytes).unwrap().replace('\u{a0}', " "));
    let evenings = standing["plan"]["evenings"].as_array().unwrap().iter();
    let left = evenings.flat_map(|evening| evening["steps"].as_array().unwrap());
    let done = standing["done"].as_array().unwrap();
    assert!(!done.is_empty());
    for step in left.chain(done) {
        assert!(page.contains(step["code"].as_str().unwrap()), "{step:#}: {page}");
        for caution in step["cautions"].as_array().into_iter().flatten() {
            assert!(page.contains(caution.as_str().unwrap()), "{caution}: {page}");
        }
    }
    assert!(page.contains(standing["sentence"].as_str().unwrap()), "{}: {page}", standing["sentence"]);
}

/// The minutes in *About 12.5 min more to a proven link* or *… to mend what fails for certain*.
fn minutes_to_go(page: &str) -> f64 {
    let certain = " min to mend what fails for certain";
    number_before(page, if page.contains(certain) { certain } else { " min more to a proven link" })
}
