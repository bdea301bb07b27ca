//! What the commands answer.

use serde_json::Value;

use crate::bench::Bench;

fn first(bench: &Bench) -> Value {
    bench.json(&["link", "T1", "R1"])
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_else(|| panic!("{key} is no text in {value}"))
}

#[test]
fn a_newcomers_pair_links_and_a_flash_changes_it() {
    let bench = Bench::new();
    bench.pair();
    let link = first(&bench);
    assert_eq!(text(&link, "verdict"), "links", "{link:#}");
    // Common practice, no source: equal major versions link whatever the minor.
    let told = bench.ok(&["flash", "R1", "3.2"]);
    assert!(told.contains("T1 with R1: blocked now (links before)."), "{told}");
    let link = first(&bench);
    assert_eq!(text(&link, "verdict"), "blocked");
    let failed: Vec<&str> = link["reasons"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|reason| reason["status"] == "fail")
        .map(|reason| text(reason, "rule"))
        .collect();
    // The family's flash wipes the pairing, too, by the way that wipes the most.
    assert!(failed.contains(&"version"), "{failed:?}");
    // Whichever is named first.
    assert_eq!(bench.json(&["link", "R1", "T1"]), link);
}

#[test]
fn links_json_has_the_promised_shape() {
    let bench = Bench::new();
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    let text = bench.ok(&["--workshop", "demo", "links", "--json"]);
    let links: Vec<Value> = serde_json::from_str(&text).unwrap();
    let one_of = |value: &Value, words: &[&str]| words.iter().any(|word| value == word);
    let is_text_or_null = |value: &Value| value.is_string() || value.is_null();
    for link in &links {
        assert!(link["transmitter"].is_string() && link["receiver"].is_string());
        assert!(is_text_or_null(&link["aircraft"]) && is_text_or_null(&link["family"]));
        assert!(one_of(&link["verdict"], &["links", "blocked", "unknown"]), "{link:#}");
        for question in ["can_pair", "paired", "obeyed"] {
            assert!(one_of(&link[question], &["yes", "no", "not_known"]), "{link:#}");
        }
        for reason in link["reasons"].as_array().unwrap() {
            assert!(one_of(&reason["status"], &["pass", "fail", "unknown"]));
            for key in ["rule", "transmitter_value", "receiver_value", "text"] {
                assert!(reason[key].is_string(), "{key} of {reason:#}");
            }
            let since = &reason["known_since"];
            let is_rfc_3339 =
                |text: &str| text.len() == 20 && text.as_bytes()[10] == b'T' && text.ends_with('Z');
            assert!(since.is_null() || since.as_str().is_some_and(is_rfc_3339), "{reason:#}");
        }
        for check in link["settle"].as_array().unwrap() {
            assert!(check["check"].is_string() && check["minutes"].is_number());
        }
        for way in link["mend"].as_array().unwrap() {
            assert!(way["action"].is_string() && way["minutes"].is_number());
            assert!(way["breaks"].is_array() && way["repairs"].is_array());
        }
        // A block without a mend only where no work on these two helps.
        if link["verdict"] == "unknown" {
            assert!(!link["settle"].as_array().unwrap().is_empty(), "{link:#}");
        }
    }
    for verdict in ["links", "blocked", "unknown"] {
        let listed = bench.json(&["--workshop", "demo", "links", "--verdict", verdict]);
        let counted = links.iter().filter(|link| link["verdict"] == verdict).count();
        assert!(counted > 0, "{verdict}");
        assert_eq!(listed.as_array().unwrap().len(), counted, "{verdict}");
    }
    // The order of the keys is fixed.
    let line = text.lines().nth(1).unwrap();
    let keys = [
        "transmitter",
        "receiver",
        "aircraft",
        "family",
        "verdict",
        "can_pair",
        "paired",
        "obeyed",
        "reasons",
        "settle",
        "mend",
    ];
    let places: Vec<usize> = keys.iter().map(|key| line.find(&format!("\"{key}\":")).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn filters_and_pages_take_from_the_whole() {
    let bench = Bench::new();
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    let list = |more: &[&str]| -> Vec<Value> {
        let args: Vec<&str> = ["--workshop", "demo", "links"].iter().chain(more).copied().collect();
        bench.json(&args).as_array().unwrap().clone()
    };
    let all = list(&[]);
    let having =
        |key: &str, word: &str| all.iter().filter(|link| link[key] == word).cloned().collect::<Vec<_>>();
    assert_eq!(list(&["--transmitter", "T1"]), having("transmitter", "T1"));
    assert_eq!(list(&["--receiver", "r7"]), having("receiver", "R7"));
    assert_eq!(list(&["--family", "whimbrel"]), having("family", "Whimbrel"));
    let wanted: Vec<Value> = all.iter().filter(|link| link["wanted"] == true).cloned().collect();
    assert_eq!(list(&["--wanted"]), wanted);
    let broken = |link: &&Value| {
        let reasons = link["reasons"].as_array().unwrap();
        reasons.iter().any(|reason| reason["rule"] == "version" && reason["status"] == "fail")
    };
    let expected: Vec<Value> = all.iter().filter(broken).cloned().collect();
    assert!(!expected.is_empty());
    assert_eq!(list(&["--rule", "version"]), expected);
    assert_eq!(list(&["--offset", "3", "--limit", "4"]), all[3..7]);
}

#[test]
fn changing_the_minutes_changes_the_order_of_proposals() {
    let bench = Bench::new();
    bench.pair();
    bench.run_with(&["record", "T1", "secret", "--secret-stdin"], b"one\n").is(0);
    bench.run_with(&["record", "R1", "secret", "--secret-stdin"], b"other\n").is(0);
    let actions = || -> Vec<String> {
        let link = first(&bench);
        link["mend"].as_array().unwrap().iter().map(|way| text(way, "action").to_owned()).collect()
    };
    let before = actions();
    assert!(before[0].starts_with("Set the link secret"), "{before:#?}");
    bench.ok(&["minutes", "set", "mend.clear_secret", "0.5"]);
    let after = actions();
    assert!(after[0].starts_with("Clear the link secret"), "{after:#?}");
    bench.ok(&["minutes", "clear", "mend.clear_secret"]);
    assert_eq!(actions(), before);

    // The same in the family's file.
    let family = bench.ok(&["families", "export", "whimbrel"]);
    let mine = family.replace("[minutes]\n", "[minutes]\nmend.clear_secret = 0.5\n");
    assert_ne!(mine, family);
    bench.write("mine.toml", mine);
    bench.ok(&["families", "add", "mine.toml"]);
    assert_eq!(actions(), after);
}

#[test]
fn what_if_stores_nothing_and_is_what_then_happens() {
    let bench = Bench::new();
    bench.pair();
    let entries = bench.json(&["verify"])["entries"].clone();
    let supposed = bench.json(&["whatif", "--set", "R1 model_id 9"]);
    assert_eq!(supposed["breaks"].as_array().unwrap().len(), 1, "{supposed:#}");
    let new = bench.json(&[
        "whatif",
        "--new",
        "receiver \"New One\" family=Whimbrel band='2.4 GHz' firmware=4.0 region=EU secret=blank model_id=off",
        "--pair",
        "\"New One\" T1",
    ]);
    assert_eq!(new["new"][0]["verdict"], "links", "{new:#}");
    assert_eq!(new["new"][0]["receiver"], "New One");
    assert_eq!(bench.json(&["verify"])["entries"], entries, "nothing was stored");
    assert_eq!(text(&first(&bench), "verdict"), "links");
    bench.ok(&["record", "R1", "model_id", "9"]);
    assert_eq!(text(&first(&bench), "verdict"), "blocked");
}

#[test]
fn wrong_entries_are_struck_and_doubles_joined() {
    let bench = Bench::new();
    bench.pair();
    let done = bench.json(&["record", "R1", "band", "868 MHz"]);
    assert_eq!(text(&first(&bench), "verdict"), "blocked");
    let entry = text(&done["recorded"][0], "entry").to_owned();
    bench.ok(&["strike", &entry]);
    assert_eq!(text(&first(&bench), "verdict"), "links");
    bench.run(&["strike", &entry]).is(1);

    let note = bench.json(&["note", "R1", "belongs", "to", "somebody"]);
    let note = text(&note["recorded"][0], "entry").to_owned();
    bench.ok(&["erase", &note]);
    assert!(!bench.ok(&["show", "history", "R1"]).contains("somebody"));
    bench.ok(&["verify"]);

    bench.ok(&["add", "receiver", "R2", "antenna=wire"]);
    bench.ok(&["same-as", "R1", "R2"]);
    let receivers = bench.json(&["show", "receivers"]);
    assert_eq!(receivers.as_array().unwrap().len(), 1, "{receivers:#}");
    let told = bench.fails(&["parted", "R1", "R2"]);
    let ids: Vec<&str> =
        told.split(|c: char| !c.is_ascii_hexdigit() && c != '-').filter(|word| word.len() == 36).collect();
    bench.ok(&["parted", ids[0], ids[1]]);
    assert_eq!(bench.json(&["show", "receivers"]).as_array().unwrap().len(), 2);
}

#[test]
fn a_told_never_overrides_a_seen() {
    let bench = Bench::new();
    bench.pair();
    let told = bench.ok(&["record", "R1", "firmware", "3.0", "--how", "told"]);
    assert!(told.contains("only noted") && told.contains("(seen)"), "{told}");
    assert_eq!(text(&first(&bench), "verdict"), "links");
    let told = bench.ok(&["record", "R1", "firmware", "3.0"]);
    assert!(!told.contains("only noted"), "{told}");
    assert_eq!(text(&first(&bench), "verdict"), "blocked");
}

/// Every command has `--json`, and it is JSON.
#[test]
fn every_answer_comes_as_json() {
    let bench = Bench::new();
    let demo = bench.json(&["demo", "--no-serve", "--dir", "demo"]);
    assert!(demo["transmitters"].as_u64().unwrap() >= 4, "{demo}");
    for args in [
        &["show"] as &[&str],
        &["show", "today"],
        &["show", "transmitters"],
        &["show", "receivers"],
        &["show", "aircraft"],
        &["show", "families"],
        &["show", "history"],
        &["show", "R1"],
        &["show", "history", "R1"],
        &["spares", "A7"],
        &["ids"],
        &["ids", "--allocate", "Whimbrel"],
        &["families"],
        &["families", "starters"],
        &["minutes"],
        &["settings"],
        &["verify"],
        &["backup", "copy.holdfast"],
        &["merge", "copy.holdfast"],
        &["note", "R1", "a word"],
        &["settings", "set", "name", "Ours"],
        &["minutes", "set", "mend.pair", "4"],
        &["export", "list.csv"],
        &["import", "list.csv", "--dry-run"],
    ] {
        let args: Vec<&str> = ["--workshop", "demo"].iter().chain(args).copied().collect();
        bench.json(&args);
    }
    assert_eq!(bench.json(&["--workshop", "demo", "show"])["name"], "Ours");
}

/// The output as one line, however it was wrapped.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_no_mend_lifts_is_said_and_no_look_is_proposed_for_it() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&[
        "add",
        "receiver",
        "R2",
        "family=Whimbrel",
        "band=868 MHz",
        "region=EU",
        "firmware=3.0",
        "secret=blank",
        "model_id=7",
    ]);
    let told = flat(&bench.ok(&["link", "T1", "R2"]));
    assert!(told.contains("can't be made to link: no way lifts the block by band."), "{told}");
    assert!(!told.contains("To mend it"), "{told}");
    // Whether its model ID fits is not known, but a look at it is of no use.
    let new = "receiver N1 family=Whimbrel band='868 MHz' firmware=4.0";
    let told = flat(&bench.ok(&["whatif", "--new", new]));
    assert!(told.contains("can't hear each other.") && !told.contains("Look "), "{told}");
    // Where looking does settle it, it is proposed.
    let new = "receiver N1 family=Whimbrel band='2.4 GHz' firmware=4.0";
    let told = flat(&bench.ok(&["whatif", "--new", new]));
    assert!(told.contains("Look "), "{told}");
}

#[test]
fn a_spare_of_which_something_is_not_known_fits_maybe() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["add", "receiver", "R2", "state=shelf"]);
    let told = flat(&bench.ok(&["spares", "A1"]));
    assert!(told.contains("0 of 1 ways") && told.contains("1 more may"), "{told}");
    assert!(told.contains("R2 T1 maybe"), "{told}");
    let sure = ["family=Whimbrel", "band=2.4 GHz", "region=EU", "firmware=4.1", "secret=blank", "model_id=7"];
    bench.ok(&[&["add", "receiver", "R3", "state=shelf", "partners=none"][..], &sure].concat());
    let told = flat(&bench.ok(&["spares", "A1"]));
    assert!(told.contains("1 of 2 ways") && told.contains("R3 T1 yes"), "{told}");
}

#[test]
fn facts_go_by_the_names_of_lists_and_a_strange_family_is_pointed_out() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["record", "R1", "paired_with", "only T1"]);
    let told = flat(&bench.ok(&["record", "R1", "family", "Whimbral"]));
    assert!(told.contains("no family file for Whimbral"), "{told}");
    let told = flat(&bench.ok(&["record", "R1", "family", "whimbrel"]));
    assert!(!told.contains("no family file"), "{told}");
    let told = flat(&bench.ok(&["add", "receiver", "R5", "family=Whimbral"]));
    assert!(told.contains("no family file for Whimbral"), "{told}");
}

#[test]
fn a_flash_that_wipes_the_pairing_says_which_links_it_ended() {
    let bench = Bench::new();
    bench.write(
        "wiping.toml",
        holdfast::workshop::shipped_family("whimbrel.toml")
            .unwrap()
            .replace("name = \"Whimbrel\"", "name = \"Wiping\""),
    );
    let family = std::fs::read_to_string(bench.path("wiping.toml")).unwrap();
    let wipes: Vec<&str> = family.lines().filter(|line| line.starts_with("wipes")).collect();
    let wiping = wipes.iter().fold(family.clone(), |text, line| text.replace(line, "wipes = [\"partners\"]"));
    bench.write("wiping.toml", wiping);
    bench.ok(&["families", "add", "wiping.toml"]);
    let facts = ["family=Wiping", "band=2.4 GHz", "region=EU", "firmware=4.1", "secret=blank"];
    bench.ok(&[&["add", "transmitter", "T1"][..], &facts].concat());
    bench.ok(&[&["add", "receiver", "R1", "model_id=off"][..], &facts].concat());
    assert!(bench.ok(&["pair", "R1", "T1"]).contains("T1 with R1: links now"));
    let told = bench.ok(&["flash", "R1", "4.2"]);
    assert!(told.contains("T1 with R1: blocked now (links before)."), "{told}");
}
