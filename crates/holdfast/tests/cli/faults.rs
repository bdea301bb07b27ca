//! Fault trails from the first step to the closing, and any model file.

use serde_json::Value;

use crate::bench::Bench;

/// T5 of the test instances: one question. Exact fractions by exhaustive search; definitions
/// after Breese & Heckerman 1996 (arXiv 1302.3563).
const ONE_QUESTION: &str = r#"
schema = 1

[model]
key = "one_question"
name = "One question"
unlisted = 0
second = 0

[[cause]]
key = "f1"
label = "the first"
weight = 0.35

[[cause]]
key = "f2"
label = "the second"
weight = 0.30

[[cause]]
key = "f3"
label = "the third"
weight = 0.20

[[cause]]
key = "f4"
label = "the fourth"
weight = 0.15

[[mend]]
key = "a1"
do = "Mend the first"
minutes = 8
cures.f1 = 1

[[mend]]
key = "a2"
do = "Mend the second"
minutes = 5
cures.f2 = 1

[[mend]]
key = "a3"
do = "Mend the third"
minutes = 6
cures.f3 = 1

[[mend]]
key = "a4"
do = "Mend the fourth"
minutes = 10
cures.f4 = 1

[[check]]
key = "ask"
ask = "Is it so?"
minutes = 1
answers = ["yes", "no"]
usual = [0.10, 0.90]
if.f1 = [0.95, 0.05]
if.f3 = [0.50, 0.50]
"#;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

fn word(value: &Value) -> String {
    value.as_str().unwrap_or_else(|| panic!("no word: {value}")).to_owned()
}

/// The minutes behind a word of a text.
#[track_caller]
fn minutes_after(text: &str, lead: &str) -> f64 {
    let rest = text.split(lead).nth(1).unwrap_or_else(|| panic!("no `{lead}` in {text}"));
    let number = rest.split(" min").next().unwrap();
    number.trim().parse().unwrap_or_else(|_| panic!("`{number}` behind `{lead}` in {text}"))
}

/// Answers the next step of a trail so that it goes on: what is no mend is *can't tell*.
fn go_on(bench: &Bench, trail: &Value) -> Value {
    let next = &trail["next"];
    let answer = match next["kind"].as_str().unwrap() {
        "step" if next["step"]["kind"] == "mend" => "no-help",
        "step" => "cant-tell",
        "restore" => "done",
        "prove" => "held",
        other => panic!("can't go on from {other}"),
    };
    bench.json(&["fault", "answer", answer])
}

/// Proves everything and puts everything back.
fn settle(bench: &Bench, mut trail: Value) -> Value {
    while trail["next"]["kind"] != "close" {
        trail = go_on(bench, &trail);
    }
    trail
}

/// Two answers on one trail tell of the same place.
#[track_caller]
fn same_place(one: &Value, other: &Value) {
    assert_eq!((&one["id"], &one["history"]), (&other["id"], &other["history"]));
    assert_eq!(one["next"]["step"]["key"], other["next"]["step"]["key"]);
    let expected = [one, other].map(|trail| number(&trail["expected_minutes"]));
    assert!((expected[0] - expected[1]).abs() < 1e-3, "{expected:?}");
}

#[test]
fn a_certain_fault_is_lifted_and_the_register_follows() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["record", "R1", "firmware", "3.6"]);
    let told = bench.ok(&["fault", "start", "wont-pair", "R1", "T1"]);
    assert!(told.contains("has begun") && told.contains("Certain:"), "{told}");
    assert!(told.contains("4.1") && told.contains("3.6"), "{told}");
    assert!(told.contains("Caution:") && told.contains("helped"), "{told}");
    let trail = bench.json(&["fault", "next"]);
    assert_eq!(trail["next"]["kind"], "lift");
    assert_eq!(trail["next"]["certain"]["step"], "rule:version");
    let ways = trail["next"]["certain"]["ways"].as_array().unwrap();
    assert!((minutes_after(&told, "Lift it, ") - number(&ways[0]["minutes"])).abs() < 0.051, "{told}");
    assert!(!trail["transmitter"].is_null() && trail["guests"]["receiver"] == false);

    // What isn't there.
    let error = bench.fails(&["fault", "answer", "helped", "--way", "90"]);
    assert!(error.contains("no way `90`") && error.contains('1'), "{error}");
    let error = bench.fails(&["fault", "answer", "perhaps"]);
    assert!(error.contains("1 helped (It works now), 2 no-help"), "{error}");
    // It can't be closed before it is proven.
    let error = bench.fails(&["fault", "close", "version"]);
    assert!(error.contains("nothing is written down that helped"), "{error}");

    // Lifted, and the register has it.
    let trail = bench.json(&["fault", "answer", "1"]);
    assert_eq!(trail["helped"]["causes"][0]["key"], "version", "{trail:#}");
    let link = bench.json(&["link", "T1", "R1"]);
    let rule =
        link["reasons"].as_array().unwrap().iter().find(|rule| rule["rule"] == "version").unwrap().clone();
    assert_eq!(rule["status"], "pass", "{rule:#}");
    let error = bench.fails(&["fault", "close"]);
    assert!(error.contains("can't be closed yet") && error.contains("not proven yet"), "{error}");
    // Three words for a proof: not tried, tried in vain, seen to hold.
    let short = word(&trail["short"]);
    let proofs = |trail: &Value| -> Vec<(bool, bool)> {
        let proofs = trail["proofs"].as_array().unwrap().iter();
        proofs.map(|proof| (proof["held"] == true, proof["failed"] == true)).collect()
    };
    assert!(proofs(&trail).iter().all(|one| *one == (false, false)), "{trail:#}");
    let told = bench.ok(&["fault", "show", &short, "--report"]);
    assert!(told.contains("not tried: ") && !told.contains("did NOT hold"), "{told}");
    let failed = bench.json(&["fault", "answer", "failed"]);
    assert!(proofs(&failed).contains(&(false, true)), "{failed:#}");
    let told = bench.ok(&["fault", "show", &short, "--report"]);
    assert!(told.contains("tried, and did NOT hold: ") && told.contains("not tried: "), "{told}");
    bench.ok(&["fault", "back"]);
    let trail = settle(&bench, trail);
    assert!(proofs(&trail).iter().all(|one| *one == (true, false)), "{trail:#}");
    let told = bench.ok(&["fault", "show", &short, "--report"]);
    assert!(told.contains("seen to hold: ") && !told.contains("not tried"), "{told}");
    let told = bench.ok(&["fault", "close"]);
    assert!(told.starts_with("Closed after") && told.contains("the link is proven"), "{told}");
    let list = bench.json(&["fault", "show"]);
    assert_eq!(list[0]["closed"]["cause"], "version", "{list:#}");
    assert_eq!(list[0]["closed"]["outcome"], "proven");
    let list = bench.ok(&["fault"]);
    assert!(list.contains("the link is proven: The firmware"), "{list}");

    // What it was can be left open.
    bench.ok(&["fault", "back", "--trail", &short]);
    bench.run(&["fault", "close", "version", "--not-found"]).is(2);
    let trail = bench.json(&["fault", "close", "--not-found"]);
    assert!(trail["closed"]["cause"].is_null(), "{trail:#}");
    bench.ok(&["fault", "back", "--trail", &short]);
    let trail = bench.json(&["fault", "close"]);
    assert_eq!(trail["closed"]["cause"], "version");

    // It counts, until its closing is taken back.
    let cases = |bench: &Bench| number(&bench.json(&["fault", "weights", "wont_pair"])["cases"]);
    assert!((cases(&bench) - 1.0).abs() < 1e-9);
    let error = bench.fails(&["fault", "back"]);
    assert!(error.contains("--trail"), "{error}");
    let told = bench.ok(&["fault", "back", "--trail", &short]);
    assert!(told.contains("open again"), "{told}");
    assert!(cases(&bench).abs() < 1e-9);
}

#[test]
fn a_trail_goes_on_in_the_next_run_and_back() {
    let bench = Bench::new();
    bench.pair();
    let first = bench.json(&["fault", "start", "wont_pair", "T1", "R1"]);
    assert_eq!(first["next"]["kind"], "step", "{first:#}");
    // Its state is the logbook; readings have grown older by a moment.
    same_place(&bench.json(&["fault", "next"]), &first);
    let told = bench.ok(&["fault", "next"]);
    let step = &first["next"]["step"];
    assert!(told.contains(&word(&step["label"])), "{told}");
    assert!(
        (minutes_after(&told, &format!("{}, ", if step["kind"] == "check" { "Check" } else { "Mend" }))
            - number(&step["minutes"]))
        .abs()
            < 0.051
    );
    assert!(
        (minutes_after(&told, "Expected: ") - number(&first["expected_minutes"])).abs() < 0.051,
        "{told}"
    );
    let sum: f64 = first["weights"].as_array().unwrap().iter().map(|one| number(&one["weight"])).sum();
    assert!((sum - 1.0).abs() < 1e-6, "{sum}");
    let chances: f64 = step["outcomes"].as_array().unwrap().iter().map(|one| number(&one["chance"])).sum();
    assert!((chances - 1.0).abs() < 1e-6, "{chances}");

    // One step on, and back.
    let second = go_on(&bench, &first);
    assert_eq!(second["history"].as_array().unwrap().len(), 1);
    assert_ne!(second["next"]["step"]["key"], first["next"]["step"]["key"]);
    let told = bench.ok(&["fault", "back"]);
    assert!(told.starts_with("Taken back:"), "{told}");
    same_place(&bench.json(&["fault", "next"]), &first);
    let error = bench.fails(&["fault", "back"]);
    assert!(error.contains("nothing was done"), "{error}");

    // Something else, which leaves something changed.
    let told = bench.ok(&[
        "fault",
        "did",
        "shook",
        "the",
        "plug",
        "--minutes",
        "2.5",
        "--changed",
        "The plug is taped",
    ]);
    assert!(told.contains("Shook the plug") && told.contains("To be put back"), "{told}");
    let error = bench.fails(&["fault", "close", "--left"]);
    assert!(error.contains("still to be put back or accepted by name: The plug is taped"), "{error}");
    let error = bench.fails(&["fault", "restore", "lamp"]);
    assert!(error.contains("elsewise-1"), "{error}");
    let trail = bench.json(&["fault", "accept", "elsewise-1"]);
    assert_eq!(trail["changes"][0]["settled"], "accepted");
    assert!((number(&trail["spent_minutes"]) - 2.5).abs() < 1e-9);
    let error = bench.fails(&["fault", "did", "x", "--minutes", "-1"]);
    assert!(error.contains("between 0 and 10080"), "{error}");
    let error = bench.fails(&["fault", "open", "roof"]);
    assert!(error.contains("no cover `roof`") && error.contains("hatch"), "{error}");
    let trail = bench.json(&["fault", "open", "canopy"]);
    let canopy =
        trail["covers"].as_array().unwrap().iter().find(|cover| cover["key"] == "canopy").unwrap().clone();
    assert_eq!(canopy["open"], true);

    // It is shown whole, and left.
    let short = word(&trail["short"]);
    let all = bench.ok(&["fault", "show", &short]);
    for part in
        ["Shook the plug", "The plug is taped", "stays, accepted by name", "not tried:", "at the start"]
    {
        assert!(all.contains(part), "{part}: {all}");
    }
    let narrow = bench.command(&["fault", "show", &short]).env("COLUMNS", "44").output().unwrap();
    let narrow = String::from_utf8(narrow.stdout).unwrap();
    assert!(narrow.lines().all(|line| line.chars().count() <= 44), "{narrow}");
    let report = bench.ok(&["fault", "show", &short, "--report"]);
    assert!(report.starts_with("Report of a search") && report.contains("not closed"), "{report}");
    assert!(all.contains("Covers:"), "{all}");
    bench.ok(&["fault", "close", "--left"]);
    let all = bench.ok(&["fault", "show", &short]);
    assert!(!all.contains("Covers:"), "{all}");
    let error = bench.fails(&["fault", "close", "--left", "--trail", &short]);
    assert!(error.contains(&format!("`fault back --trail {short}`")), "{error}");
    let error = bench.fails(&["fault", "next"]);
    assert!(error.contains("no fault trail is open"), "{error}");
    let error = bench.fails(&["fault", "answer", "good", "--trail", &short]);
    assert!(error.contains("closed"), "{error}");
    // The workshop's own words aren't erased.
    let error = bench.fails(&["fault", "forget", &short, "--yes"]);
    assert!(error.contains("own gear"), "{error}");
}

#[test]
fn the_model_id_check_is_put_back_at_the_end() {
    let bench = Bench::new();
    bench.families();
    let trail = bench.json(&[
        "fault",
        "start",
        "wont_pair",
        "guest",
        "guest",
        "transmitter.family=Whimbrel",
        "receiver.family=Whimbrel",
    ]);
    assert_eq!(trail["guests"]["transmitter"], true);
    let told = bench.ok(&["fault", "answer", "yes", "--step", "model-id-off"]);
    assert!(told.contains("To be put back before it closes (model_id_off)"), "{told}");
    // A mend is tried, and it works.
    let trail = bench.json(&["fault", "answer", "helped", "--step", "set_model_id"]);
    assert_eq!(trail["next"]["kind"], "restore", "{trail:#}");
    let told = bench.ok(&["fault", "next"]);
    assert!(
        told.contains("Put back: Switch the model-ID check on again.") && told.contains("propeller"),
        "{told}"
    );
    let error = bench.fails(&["fault", "close"]);
    assert!(error.contains("The model-ID check is off") && error.contains("not proven yet"), "{error}");
    let trail = settle(&bench, trail);
    assert_eq!(trail["changes"][0]["settled"], "put-back");
    let told = bench.ok(&["fault", "close"]);
    assert!(told.replace('\n', " ").contains("refuses this model memory's model ID"), "{told}");
}

#[test]
fn a_guest_trail_takes_facts_and_forgets_them() {
    let bench = Bench::new();
    bench.families();
    let mark = "Brachvogel-Anna";
    let trail = bench.json(&[
        "fault",
        "start",
        "wont_pair",
        "guest",
        "guest",
        "receiver.firmware=3.4",
        "receiver.family=Whimbrel",
        "transmitter.family=Whimbrel",
        "transmitter.secret=blank",
        "open=canopy,meter",
        &format!("whose={mark}"),
    ]);
    assert_eq!(trail["whose"], mark);
    let open = |key: &str| {
        let covers = trail["covers"].as_array().unwrap();
        covers.iter().find(|cover| cover["key"] == key).unwrap()["open"].clone()
    };
    assert_eq!((open("canopy"), open("meter"), open("hatch")), (true.into(), true.into(), false.into()));
    // Told by the facts: alone the one doesn't tell, both do.
    let error = bench.fails(&["fault", "answer", "read", "--step", "see_versions"]);
    assert!(error.contains("give what was read"), "{error}");
    let error = bench.fails(&["fault", "answer", "read", "receiver.firmware=3.5", "--step", "see_versions"]);
    assert!(error.contains("don't tell"), "{error}");
    let trail =
        bench.json(&["fault", "answer", "read", "transmitter.firmware=4.1", "--step", "see_versions"]);
    assert_eq!(trail["next"]["certain"]["rule"], "version", "{trail:#}");
    // Nothing of it is in the register.
    assert_eq!(bench.json(&["show", "receivers"]).as_array().unwrap().len(), 0);
    // A secret comes by another way than words.
    let ran = bench.run_with(
        &[
            "fault",
            "answer",
            "read",
            "--receiver-secret",
            "--secret-stdin",
            "--step",
            "see_secrets",
            "--json",
        ],
        b"kanarienvogel\n",
    );
    let trail: Value = serde_json::from_str(&ran.is(0).out).unwrap();
    let certain = trail["certain"].as_array().unwrap();
    assert!(certain.iter().any(|one| one["rule"] == "secret"), "{trail:#}");
    bench.ok(&["fault", "did", &format!("asked {mark} about it"), "--minutes", "1"]);
    bench.ok(&["fault", "back"]);

    let short = word(&trail["short"]);
    bench.ok(&["fault", "close", "version", "--gave-up"]);
    let held = |bench: &Bench| {
        let files = bench.bytes(&[]);
        assert!(!files.is_empty());
        files.iter().any(|(_, bytes)| bytes.windows(mark.len()).any(|part| part == mark.as_bytes()))
    };
    assert!(held(&bench), "the measure measures");
    let error = bench.fails(&["fault", "forget", &short]);
    assert!(error.contains("nothing was erased") && error.contains("--yes"), "{error}");
    assert!(held(&bench));
    bench.ok(&["fault", "forget", &short, "--yes"]);
    assert!(!held(&bench), "the guest's words are still in a file");
    let error = bench.fails(&["fault", "next", &short]);
    assert!(error.contains("no fault trail"), "{error}");
    // How it ended still counts.
    assert!((number(&bench.json(&["fault", "weights", "wont_pair"])["cases"]) - 1.0).abs() < 1e-9);
    bench.ok(&["verify"]);
}

#[test]
fn facts_that_do_not_tell_are_answered_with_what_is_missing() {
    let bench = Bench::new();
    bench.families();
    bench.ok(&["fault", "start", "wont_pair", "guest", "guest"]);
    let read = |words: &[&str]| {
        bench.fails(&[&["fault", "answer", "read", "--step", "see_versions"], words].concat())
    };
    let both = ["transmitter.firmware=4.1", "receiver.firmware=3.5"];
    let error = read(&both);
    assert!(
        error.contains("family is not known")
            && error.contains("`transmitter.family=…` or `receiver.family=…`"),
        "{error}"
    );
    let families = ["transmitter.family=Whimbrel", "receiver.family=Whimbrel"];
    let error = read(&[families[0], families[1], both[1]]);
    assert!(error.contains("`transmitter.firmware=…`") && !error.contains("`receiver.firmware"), "{error}");
    let all = [&["fault", "answer", "read", "--step", "see_versions"] as &[&str], &families, &both].concat();
    assert_eq!(bench.json(&all)["next"]["certain"]["rule"], "version");
}

#[test]
fn a_struck_trail_of_a_guest_is_forgotten_too() {
    let bench = Bench::new();
    bench.families();
    let mark = "Brachvogel-Anna";
    let trail = bench.json(&["fault", "start", "wont_pair", "guest", "guest", &format!("whose={mark}")]);
    bench.ok(&["fault", "did", &format!("asked {mark} about it"), "--minutes", "1"]);
    let (id, short) = (word(&trail["id"]), word(&trail["short"]));
    bench.ok(&["strike", &id]);
    assert_eq!(bench.json(&["fault", "show"]).as_array().unwrap().len(), 0);
    let held = || {
        let files = bench.bytes(&[]);
        files.iter().any(|(_, bytes)| bytes.windows(mark.len()).any(|part| part == mark.as_bytes()))
    };
    assert!(held(), "the measure measures");
    assert_eq!(bench.json(&["fault", "forget", &short, "--yes"])["entries"], 2);
    assert!(!held(), "the guest's words are still in a file");
    // Again, as after a journal that was in use.
    bench.ok(&["fault", "forget", &id, "--yes"]);
    let error = bench.fails(&["fault", "forget", "0000ffff", "--yes"]);
    assert!(error.contains("no fault trail"), "{error}");
}

#[test]
fn a_trail_whose_gear_is_gone_can_be_left() {
    let bench = Bench::new();
    bench.pair();
    let trail = bench.json(&["fault", "start", "wont_pair", "T1", "R1"]);
    let short = word(&trail["short"]);
    bench.ok(&["fault", "did", "shook it", "--minutes", "2.5", "--changed", "taped"]);
    let history = bench.json(&["show", "history", "R1"]);
    let begun = history.as_array().unwrap().iter().find(|one| one["kind"] == "device").unwrap();
    bench.ok(&["strike", &word(&begun["entry"])]);
    let error = bench.fails(&["fault", "next"]);
    assert!(error.contains(&format!("`fault close --left --trail {short}`")), "{error}");
    bench.fails(&["fault", "close", "--gave-up"]);
    let error = bench.fails(&["fault", "close", "nonsense", "--left"]);
    assert!(error.contains("none of this symptom's"), "{error}");
    let closed = bench.json(&["fault", "close", "--left"]);
    assert_eq!(closed["closed"]["outcome"], "left", "{closed:#}");
    assert!((number(&closed["closed"]["minutes"]) - 2.5).abs() < 1e-9, "{closed:#}");
    let error = bench.fails(&["fault", "next"]);
    assert!(error.contains("no fault trail is open"), "{error}");
    bench.fails(&["fault", "close", "--left", "--trail", &short]);
}

#[test]
fn what_can_not_be_begun_is_told() {
    let bench = Bench::new();
    bench.pair();
    let canary = "kanarienvogel-4711";
    for (args, says) in [
        (&["wont_fly", "T1", "R1"] as &[&str], "no symptom `wont_fly`; there are wont_pair"),
        (&["wont_pair", "T9", "R1"], "T9"),
        (&["wont_pair", "T1", "A1"], "A1 is an aircraft, not a receiver"),
        (&["wont_pair", "T1", "T1"], "not a receiver"),
        (&["wont_pair", "T1", "R1", "receiver.firmware=4.1"], "is the workshop's own"),
        (&["wont_pair", "guest", "guest", "receiver.firmware=new"], "the receiver's firmware is no version"),
        (&["wont_pair", "guest", "guest", "receiver.colour=red"], "colour"),
        (&["wont_pair", "guest", "guest", "receiver.antenna=long"], "nothing that a trail asks about"),
        (&["wont_pair", "guest", "guest", "open=roof"], "no cover `roof` here; there are canopy"),
        (&["wont_pair", "guest", "guest", "hatch"], "has no `=`"),
        (&["wont_pair", "guest", "guest", "weather=rain"], "`weather` is nothing that can be said here"),
        (&["wont_pair", "guest", "guest", "receiver.secret=kanarienvogel-4711"], "--receiver-secret"),
        (&["wont_pair", "guest", "guest", "receiver.secret=same as kanarienvogel-4711"], "--receiver-secret"),
        (&["wont_pair", "guest", "guest", "--receiver-secret"], "--secret-stdin"),
    ] {
        let error = bench.fails(&[&["fault", "start"], args].concat());
        assert!(error.contains(says), "{args:?}: {error}");
        assert!(!error.contains(canary), "{error}");
    }
    assert_eq!(bench.json(&["fault", "show"]).as_array().unwrap().len(), 0, "nothing was begun");
    // Two are open: one is named.
    for _ in 0..2 {
        bench.ok(&["fault", "start", "no_telemetry", "T1", "guest"]);
    }
    let error = bench.fails(&["fault", "next"]);
    assert!(error.contains("several fault trails are open"), "{error}");
    let short = word(&bench.json(&["fault", "show"])[0]["short"]);
    assert_eq!(bench.json(&["fault", "next", &short])["short"], short.as_str());
    let error = bench.fails(&["fault", "answer", canary, "--trail", &short]);
    assert!(error.contains("the answers are 1 ") && !error.contains(canary), "{error}");
}

#[test]
fn any_model_is_solved() {
    let bench = Bench::new();
    bench.write("one.toml", ONE_QUESTION);
    let ask = ["fault", "solve", "one.toml"];
    let answer = bench.json(&ask);
    assert_eq!(answer["next"]["key"], "ask", "{answer:#}");
    assert!((number(&answer["expected_minutes"]) - 11.857_5).abs() < 1e-9, "{answer:#}");
    assert_eq!(answer["exact"], true);
    let told = bench.ok(&ask);
    assert!(told.starts_with("Check `ask`, 1 min: Is it so?"), "{told}");
    assert!((minutes_after(&told, "Expected: ") - 11.857_5).abs() < 0.005_1, "{told}");
    assert!(told.contains("(exact)"), "{told}");
    // Answers by key and by number; the order after them.
    for (given, next, expected) in [("yes", "a1", 10.607_330), ("2", "a2", 11.086_124)] {
        let answer = bench.json(&["fault", "solve", "one.toml", &format!("ask={given}")]);
        assert_eq!(answer["next"]["key"], next);
        assert!((number(&answer["expected_minutes"]) - expected).abs() < 5e-7, "{answer:#}");
    }
    let yes = bench.json(&["fault", "solve", "one.toml", "ask=yes"]);
    let weights = yes["weights"].as_array().unwrap();
    for (key, weight) in [("f1", 0.696_335), ("f2", 0.062_827), ("f3", 0.209_424), ("f4", 0.031_414)] {
        let found = weights.iter().find(|one| one["key"] == key).unwrap();
        assert!((number(&found["weight"]) - weight).abs() < 5e-7, "{key}: {found}");
    }
    let told = bench.ok(&["fault", "solve", "one.toml", "ask=yes", "a1=helped"]);
    assert!(told.contains("`a1` helped"), "{told}");
    let told = bench.ok(&["fault", "solve", "one.toml", "ask=yes", "--limit", "2"]);
    assert!(told.contains("more; --limit"), "{told}");
    for (given, says) in [
        ("roof=yes", "no step `roof`; its steps are a1, a2, a3, a4, ask"),
        ("ask=perhaps", "its answers are yes, no, cant-tell"),
        ("a1=maybe", "helped, no-help, cant-tell"),
        ("open=hatch", "no cover `hatch`"),
        ("ask", "has no `=`"),
    ] {
        let error = bench.fails(&["fault", "solve", "one.toml", given]);
        assert!(error.contains(says), "{given}: {error}");
    }
}

#[test]
fn a_bad_model_is_told_by_line_and_key() {
    let bench = Bench::new();
    bench.write("good.toml", ONE_QUESTION);
    bench.write(
        "bad.toml",
        ONE_QUESTION.replace("minutes = 6", "minutes = -6").replace("weight = 0.30", "wait = 0.30"),
    );
    assert_eq!(bench.ok(&["fault", "check", "good.toml"]).trim(), "good.toml is in order.");
    let told = bench.run(&["fault", "check", "good.toml", "bad.toml"]).is(3).out;
    assert!(
        told.contains("bad.toml:") && told.contains("mend[3].minutes") && told.contains("cause[2].weight"),
        "{told}"
    );
    let ran = bench.run(&["fault", "check", "bad.toml", "--json"]).is(3);
    let checked: Value = serde_json::from_str(&ran.out).unwrap();
    let problems = checked["problems"].as_array().unwrap();
    let line = ONE_QUESTION.lines().position(|line| line == "minutes = 6").unwrap() + 1;
    assert!(
        problems.iter().any(|one| one["line"] == line && one["key"] == "mend[3].minutes"),
        "{problems:#?}"
    );
    let error = bench.fails(&["fault", "solve", "bad.toml"]);
    assert!(error.contains("correct it first") && error.contains("bad.toml:"), "{error}");
    let error = bench.fails(&["fault", "check", "none.toml"]);
    assert!(error.contains("none.toml can't be read"), "{error}");
    // The others are checked all the same.
    let ran = bench.run(&["fault", "check", "none.toml", "good.toml"]).is(1);
    assert!(ran.out.contains("1 file is in order") && ran.err.contains("none.toml"), "{}", ran.out);
    let told = bench.run(&["fault", "check", "none.toml", "bad.toml"]).is(3).out;
    assert!(told.contains("bad.toml:") && told.contains("none.toml can't be read"), "{told}");
    let ran = bench.run(&["fault", "check", "none.toml", "bad.toml", "--json"]).is(3);
    let checked: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(checked["unreadable"].as_array().unwrap().len(), 1, "{checked:#}");
    bench.write("large.toml", "é".repeat(400_000));
    let told = bench.run(&["fault", "check", "large.toml"]).is(3).out;
    assert!(told.contains("256 KiB") || told.contains("large"), "{told}");
}

#[test]
fn cards_and_weights_need_no_workshop() {
    let bench = Bench::new();
    let symptoms = bench.json(&["fault", "symptoms"]);
    let symptoms = symptoms.as_array().unwrap();
    assert_eq!(symptoms.len(), 7);
    assert!(bench.ok(&["fault", "symptoms"]).contains("Won't pair or link"));
    for symptom in symptoms {
        let key = word(&symptom["key"]);
        let weights = bench.json(&["fault", "weights", &key]);
        let sum = |which: &str| -> f64 {
            weights["causes"].as_array().unwrap().iter().map(|one| number(&one[which])).sum()
        };
        assert!((sum("library") - 1.0).abs() < 1e-9 && (sum("weight") - 1.0).abs() < 1e-9, "{key}");
    }
    let card = bench.json(&["fault", "card", "wont_pair", "--depth", "2"]);
    assert!(number(&card["steps"]) >= 2.0, "{card:#}");
    let told = bench.ok(&["fault", "card", "wont_pair", "--depth", "2"]);
    let how = word(&card["first"]["step"]["how"]);
    let told_once = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!how.is_empty());
    assert_eq!(told_once.matches(&how).count(), 1, "{told}");
    assert!((minutes_after(&told, "2 deep; ") - number(&card["expected_minutes"])).abs() < 0.051, "{told}");
    assert!(told.contains(&word(&card["first"]["label"])), "{told}");
    let error = bench.fails(&["fault", "card", "wont_fly"]);
    assert!(error.contains("neither a symptom nor a trail"), "{error}");
    bench.run(&["fault", "card", "wont_pair", "--depth", "9"]).is(2);
    // A card of a trail goes on from where it stands.
    bench.pair();
    let trail = bench.json(&["fault", "start", "no_telemetry", "T1", "R1"]);
    let card = bench.json(&["fault", "card", &word(&trail["short"]), "--depth", "1"]);
    assert_eq!(card["trail"], trail["short"]);
    assert_eq!(card["symptom"]["key"], "no_telemetry");
}

#[test]
fn the_strength_of_the_library_is_a_setting() {
    let bench = Bench::new();
    bench.families();
    let told = bench.ok(&["settings"]);
    assert!(told.contains("trails.strength") && told.contains("(20)"), "{told}");
    for nonsense in ["0.5", "20000", "much", "NaN", "inf", "-3"] {
        let error = bench.fails(&["settings", "set", "--", "trails.strength", nonsense]);
        assert!(error.contains("from 1 to 10000"), "{nonsense}: {error}");
    }
    bench.ok(&["settings", "set", "trails.strength", "12,5"]);
    let weights = bench.json(&["fault", "weights", "wont_pair"]);
    assert!((number(&weights["strength"]) - 12.5).abs() < 1e-9);
    assert!((number(&weights["usual_strength"]) - 20.0).abs() < 1e-9);
    bench.ok(&["settings", "set", "trails.strength", "1"]);
    let told = bench.ok(&["fault", "weights", "wont_pair"]);
    assert!(told.contains("count for 1 case,"), "{told}");
    bench.ok(&["settings", "clear", "trails.strength"]);
    assert!((number(&bench.json(&["fault", "weights", "wont_pair"])["strength"]) - 20.0).abs() < 1e-9);
}

#[test]
fn putting_a_register_s_mend_back_brings_back_what_was_known() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["record", "R1", "model_id", "21"]);
    let before = bench.json(&["link", "T1", "R1"]);
    assert_eq!(before["verdict"], "blocked");
    let trail = bench.json(&["fault", "start", "wont_pair", "T1", "R1"]);
    let ways = trail["next"]["certain"]["ways"].as_array().unwrap();
    let off = ways.iter().position(|way| way.to_string().contains("check")).unwrap() + 1;
    let trail = bench.json(&["fault", "answer", "helped", "--way", &off.to_string()]);
    assert_eq!(trail["next"]["kind"], "restore", "{trail:#}");
    assert_ne!(bench.json(&["link", "T1", "R1"])["verdict"], "blocked");
    let trail = bench.json(&["fault", "answer", "done"]);
    // The ID is as it was, so the fault is there again, and named.
    assert_eq!(trail["next"]["certain"]["step"], "rule:model_id", "{trail:#}");
    let after = bench.json(&["link", "T1", "R1"]);
    assert_eq!(after["verdict"], "blocked");
    assert_eq!(after["reasons"], before["reasons"]);
}
