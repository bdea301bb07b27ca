//! Refits from the first question to the end, on the demo's invented club.

use holdfast::workshop::{Places, Workshop};
use register::refit::{Event, RefitLog, Wish};
use register::value::{SecretMark, Value as Fact};
use serde_json::Value;
use store::keys::SecretText;

use crate::bench::{Bench, Ran};

/// A plan that needs a link let go, since a receiver's hardware can't follow.
const MAJOR: [&str; 3] = ["to=T1:5.1", "let-go=A4:T1", "evenings=4x120"];

/// A folder with the demo's workshop in `demo`.
fn demo() -> Bench {
    let bench = Bench::new();
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    bench
}

/// Words for the demo's workshop.
fn on<'a>(words: &[&'a str]) -> Vec<&'a str> {
    [words, &["--workshop", "demo"]].concat()
}

fn text(bench: &Bench, words: &[&str]) -> String {
    flat(&bench.ok(&on(words)))
}

fn json(bench: &Bench, words: &[&str]) -> Value {
    bench.json(&on(words))
}

/// Text whose lines are run together.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn word(value: &Value) -> String {
    value.as_str().unwrap_or_else(|| panic!("no word: {value}")).to_owned()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or_else(|| panic!("no list: {value}"), Vec::as_slice)
}

/// The steps that are left, each with its evening's number.
fn steps(plan: &Value) -> Vec<(u64, &Value)> {
    let evenings = list(&plan["evenings"]).iter();
    evenings
        .flat_map(|evening| {
            let number = evening["number"].as_u64().unwrap();
            list(&evening["steps"]).iter().map(move |step| (number, step))
        })
        .collect()
}

fn begin(bench: &Bench) -> Value {
    let words = [&["refit", "plan"], &MAJOR[..], &["--begin", "--name", "New major"]].concat();
    json(bench, &words)["refit"].clone()
}

/// Everything that an answer says stands in the text, too.
#[track_caller]
fn says_all_of(text: &str, plan: &Value) {
    let says = |value: &Value| {
        let words = flat(value.as_str().unwrap());
        assert!(text.contains(&words), "`{words}` is not in {text}");
    };
    for wish in list(&plan["wishes"]) {
        says(wish);
    }
    for reason in list(&plan["reasons"]) {
        says(&reason["what"]);
        if reason["wished"] == false {
            says(&reason["why"]);
        }
    }
    for why in list(&plan["no_way_back"]) {
        says(why);
    }
    for craft in list(&plan["crafts"]) {
        says(&craft["label"]);
    }
    for (_, step) in steps(plan) {
        for part in ["code", "text", "if_fails"] {
            says(&step[part]);
        }
        says(&word(&step["back"]["text"]).trim_end_matches('.').into());
        for part in ["cautions", "needs", "energises", "grounds", "frees"] {
            for one in list(&step[part]) {
                says(one);
            }
        }
        let takes = units::Minutes(step["minutes"].as_f64().unwrap());
        let lead = format!("{} {takes}: ", word(&step["code"]));
        assert!(text.contains(&lead), "`{lead}` is not in {text}");
    }
}

#[test]
fn wishes_that_clash_are_an_answer() {
    let bench = demo();
    let told = text(&bench, &["refit", "plan", "to=T1:5.1"]);
    let answer = json(&bench, &["refit", "plan", "to=T1:5.1"]);
    assert!(answer["plan"].is_null() && answer["refit"].is_null(), "{answer:#}");
    let clash = &answer["clash"];
    let ideas = list(&clash["ideas"]);
    let of_ideas = ideas.iter().flat_map(|idea| [&idea["text"], &idea["wish"]]);
    for part in list(&clash["words"]).iter().chain(of_ideas).chain([&clash["why"]]) {
        assert!(told.contains(&flat(&word(part))), "{part} is not in {told}");
    }
    // Each idea would do: with the wish that it names there is a plan.
    assert!(ideas.len() > 1, "{clash:#}");
    for idea in ideas {
        let with = json(&bench, &["refit", "plan", "to=T1:5.1", &word(&idea["wish"])]);
        assert!(with["plan"].is_object(), "{idea}: {with:#}");
    }
    // The family's file says which hardware 5.1 is for: R5 isn't of it.
    assert!(word(&clash["why"]).contains("R5"), "{clash:#}");
    assert_eq!(clash["smallest"], true, "{clash:#}");
    // Nothing can be begun with it.
    let ran = bench.run(&on(&["refit", "plan", "to=T1:5.1", "--begin"])).is(1);
    assert!(ran.err.contains("nothing was written down"), "{}", ran.err);
    assert_eq!(list(&json(&bench, &["refit"])).len(), 0);
    // Letting that link go, or replacing the receiver, makes it possible.
    for (wish, cost) in [("let-go=A4:T1", 0), ("replace=R5:45", 45)] {
        let answer = json(&bench, &["refit", "plan", "to=T1:5.1", wish]);
        assert_eq!(answer["plan"]["cost"], cost, "{wish}: {answer:#}");
        assert_eq!(list(&answer["plan"]["replaced"]).len(), usize::from(cost > 0), "{wish}");
    }
}

#[test]
fn a_plan_is_told_in_full() {
    let bench = demo();
    let words = [&["refit", "plan"], &MAJOR[..]].concat();
    let (told, answer) = (text(&bench, &words), json(&bench, &words));
    let plan = &answer["plan"];
    assert!(answer["clash"].is_null() && answer["refit"].is_null() && answer["stopped"] == false);
    says_all_of(&told, plan);
    assert!(told.starts_with(&flat(&word(&plan["sentence"]))), "{told}");
    assert!(told.contains(&flat(&word(&plan["proof"]["sentence"]))), "{told}");
    assert!(told.contains("Nothing was written down"), "{told}");
    assert!(list(&json(&bench, &["refit"])).is_empty());
    // The warnings stand before the first step.
    let first = told.find(&word(&steps(plan)[0].1["code"])).unwrap();
    for why in list(&plan["no_way_back"]) {
        assert!(told.find(&flat(&word(why))).unwrap() < first, "{why}");
    }
    // Minutes add up, and no evening is longer than it may be.
    let mut all = 0.0;
    for evening in list(&plan["evenings"]) {
        let minutes: f64 = list(&evening["steps"]).iter().map(|step| step["minutes"].as_f64().unwrap()).sum();
        assert!((minutes - evening["minutes"].as_f64().unwrap()).abs() < 0.005, "{evening:#}");
        assert!(minutes <= evening["available"].as_f64().unwrap(), "{evening:#}");
        // Getting the bench out takes its time, and isn't what plans are compared by.
        let bench = list(&evening["steps"]).iter().filter(|step| step["sort"] == "bench");
        all += minutes - bench.map(|step| step["minutes"].as_f64().unwrap()).sum::<f64>();
    }
    assert!((all - plan["proof"]["minutes"].as_f64().unwrap()).abs() < 0.005, "{all}");
    // The grid is what the steps do: an aircraft that was grounded and not freed can't fly.
    let names: Vec<String> = list(&plan["crafts"]).iter().map(|craft| word(&craft["label"])).collect();
    let mut flies: Vec<bool> =
        list(&plan["crafts"]).iter().map(|craft| craft["before"].as_bool().unwrap()).collect();
    for (at, evening) in list(&plan["evenings"]).iter().enumerate() {
        for step in list(&evening["steps"]) {
            for (part, after) in [("grounds", false), ("frees", true)] {
                for name in list(&step[part]) {
                    let craft = names.iter().position(|one| *one == word(name)).unwrap();
                    assert_eq!(flies[craft], !after, "{step:#}");
                    flies[craft] = after;
                }
            }
        }
        for (craft, flies) in list(&plan["crafts"]).iter().zip(&flies) {
            assert_eq!(craft["after"][at], *flies, "{craft:#} after {at}");
        }
    }
}

#[test]
fn a_refit_from_its_beginning_to_its_end() {
    let bench = demo();
    let begun = begin(&bench);
    assert_eq!((word(&begun["name"]).as_str(), &begun["ended"]), ("New major", &Value::Null));
    let plan = begun["plan"].clone();
    let told = text(&bench, &["refit", "show"]);
    says_all_of(&told, &plan);
    assert_eq!(json(&bench, &["refit", "show", "new major"])["plan"], plan);
    assert_eq!(json(&bench, &["refit"])[0]["short"], begun["short"]);

    let all = steps(&plan);
    let first = all[0].0;
    // On paper: each step of the evening with its box, and none of another.
    let paper = text(&bench, &["refit", "show", "--paper", "--evening", &first.to_string()]);
    for (evening, step) in &all {
        let line = format!("[ ] {} ", word(&step["code"]));
        assert_eq!(paper.contains(&line), *evening == first, "{line}: {paper}");
    }
    // One step, which its code names, then all of an evening.
    let code = word(&all[0].1["code"]);
    let told = text(&bench, &["refit", "tick", &code]);
    assert!(told.starts_with(&format!("Done: {}", flat(&word(&all[0].1["text"])))), "{told}");
    let again = bench.run(&on(&["refit", "tick", &code])).is(1).err;
    assert!(again.contains("was ticked already"), "{again}");
    bench.ok(&on(&["refit", "tick", "--evening", &first.to_string()]));
    let standing = json(&bench, &["refit", "show"]);
    let of_first = all.iter().filter(|(evening, _)| *evening == first).count();
    assert_eq!(list(&standing["done"]).len(), of_first);
    assert!(steps(&standing["plan"]).iter().all(|(evening, _)| *evening != first));
    // What was flashed stands in the register.
    let flashed = all.iter().find(|(evening, step)| {
        *evening == first && step["sort"] == "flash" && word(&step["device"]).starts_with('R')
    });
    let device = word(&flashed.unwrap().1["device"]);
    let facts = json(&bench, &["show", &device])["ends"][0]["facts"].clone();
    let firmware = list(&facts).iter().find(|fact| fact["fact"] == "firmware").unwrap();
    assert_eq!(firmware["value"], "5.1", "{firmware:#}");

    // One is taken back: it is left to do, and the register has the old version again.
    let code = word(&flashed.unwrap().1["code"]);
    let told = text(&bench, &["refit", "untick", &code]);
    assert!(told.starts_with(&format!("Not done after all: Flash {device} from ")), "{told}");
    let facts = json(&bench, &["show", &device])["ends"][0]["facts"].clone();
    let firmware = list(&facts).iter().find(|fact| fact["fact"] == "firmware").unwrap();
    assert_ne!(firmware["value"], "5.1", "{firmware:#}");
    let wrong = bench.run(&on(&["refit", "untick", &code])).is(1).err;
    assert!(wrong.contains(&format!("no step with the code {code} was ticked")), "{wrong}");
    bench.ok(&on(&["refit", "tick", &code]));

    // Something of the next evening is put off beyond it: the rest is to be planned anew.
    let standing = json(&bench, &["refit", "show"]);
    let left = steps(&standing["plan"]);
    let (next, step) = left.iter().find(|(_, step)| !step["what"].is_null()).unwrap();
    let what = word(&step["what"]);
    let until = (next + 1).to_string();
    let told = text(&bench, &["refit", "defer", &what, "--until", &until]);
    assert!(told.starts_with(&format!("Put off: {what} to evening {until}.")), "{told}");
    assert!(told.contains("should be planned anew"), "{told}");
    let tried = json(&bench, &["refit", "replan", "--try"]);
    assert!(tried["refit"].is_null() && !tried["plan"].is_null(), "{tried:#}");
    assert!(!list(&json(&bench, &["refit", "show"])["stale"]).is_empty());
    let told = text(&bench, &["refit", "replan", "evenings=6x110"]);
    assert!(told.contains("goes on by this plan") && told.contains("6 evenings of 110 min"), "{told}");
    let standing = json(&bench, &["refit", "show"]);
    assert!(list(&standing["stale"]).is_empty(), "{:#}", standing["stale"]);
    let evenings = list(&standing["wishes"]).iter().filter(|wish| word(wish).contains("evenings of"));
    assert_eq!(evenings.count(), 1, "{:#}", standing["wishes"]);
    for (evening, step) in steps(&standing["plan"]) {
        assert!(step["what"] != what.as_str() || evening > *next, "{step:#} in {evening}");
    }

    // It isn't done yet; the rest is done, a visit at a time, and with the last tick it ends.
    let early = bench.run(&on(&["refit", "end"])).is(1).err;
    assert!(early.contains("--abandon"), "{early}");
    let mut standing = standing;
    let mut rounds = 0;
    while standing["ended"].is_null() {
        let left = steps(&standing["plan"]);
        let step = left[0].1;
        standing = match step["what"].as_str() {
            Some(what) => json(&bench, &["refit", "tick", "--all-of", what]),
            None => json(&bench, &["refit", "tick", &word(&step["code"])]),
        };
        rounds += 1;
        assert!(rounds < 60, "it goes on for ever: {standing:#}");
    }
    assert_eq!(standing["ended"], "done");
    assert!(text(&bench, &["refit"]).contains("New major is done."));
    let late = bench.run(&on(&["refit", "tick", &code, "--refit", "new major"])).is(1).err;
    assert!(late.contains("has ended"), "{late}");
    // The last tick taken back opens it again; then it is given up.
    let last = word(&list(&standing["done"]).last().unwrap()["key"]);
    let opened = json(&bench, &["refit", "untick", &last]);
    assert!(opened["ended"].is_null(), "{opened:#}");
    let told = text(&bench, &["refit", "end", "--abandon"]);
    assert!(told.contains("was given up; what was done stays done"), "{told}");
    assert_eq!(json(&bench, &["refit"])[0]["ended"], "abandoned");
    bench.ok(&on(&["verify"]));
}

/// Two people tick on two copies of one workshop; both ways of bringing them together have both.
#[test]
fn ticks_of_two_copies_come_together() {
    let bench = demo();
    let begun = begin(&bench);
    bench.ok(&on(&["backup", "copy.holdfast"]));
    let at_copy = |words: &[&str]| bench.ok(&[words, &["--workshop", "copy.holdfast"]].concat());
    let codes: Vec<String> =
        steps(&begun["plan"]).iter().take(3).map(|(_, step)| word(&step["code"])).collect();
    bench.ok(&on(&["refit", "tick", &codes[0], &codes[1]]));
    at_copy(&["refit", "tick", &codes[1], &codes[2]]);
    at_copy(&["export", "copy.jsonl"]);
    // The copy takes the original over by a merge, the original the copy by its logbook.
    at_copy(&["merge", "demo/workshop.holdfast"]);
    bench.ok(&on(&["import", "copy.jsonl"]));
    let done = |standing: &Value| -> Vec<String> {
        let mut codes: Vec<String> = list(&standing["done"]).iter().map(|one| word(&one["code"])).collect();
        codes.sort();
        codes
    };
    let mut expected = codes.clone();
    expected.sort();
    let here = json(&bench, &["refit", "show"]);
    let there = bench.json(&["refit", "show", "--workshop", "copy.holdfast"]);
    assert_eq!(done(&here), expected);
    assert_eq!(done(&there), expected);
    assert_eq!(here["plan"], there["plan"]);
    // What two people ticked is taken back at once for both.
    let after = json(&bench, &["refit", "untick", &codes[1]]);
    assert!(!done(&after).contains(&codes[1]), "{after:#}");
}

const CANARY: &str = "kanarienvogel-4712";

#[track_caller]
fn is_silent(ran: &Ran) {
    let told = format!("{}{}", ran.out, ran.err);
    assert!(!told.contains(CANARY) && !told.contains("kanarien"), "{told}");
}

#[test]
fn a_new_secret_is_asked_for_and_never_shown() {
    let bench = demo();
    let line = format!("{CANARY}\n");
    let words = on(&["refit", "plan", "secret=T3", "clear-secret=T1", "--begin"]);
    let none = bench.run(&words).is(1);
    assert!(none.err.contains("--new-secret-stdin"), "{}", none.err);
    for wrong in [format!("secret={CANARY}"), format!("secret=T1,{CANARY}"), format!("secret=T1:{CANARY}")] {
        let ran =
            bench.run_with(&on(&["refit", "plan", &wrong, "--new-secret-stdin"]), line.as_bytes()).is(1);
        is_silent(&ran);
        assert!(ran.err.contains("not repeated"), "{}", ran.err);
    }
    let needless =
        bench.run_with(&on(&["refit", "plan", "to=T1:5.1", "--new-secret-stdin"]), line.as_bytes());
    assert!(needless.is(1).err.contains("goes with a wish `secret=`"));
    let empty = bench.run_with(&on(&["refit", "plan", "secret=T1", "--new-secret-stdin"]), b"\n").is(1);
    assert!(empty.err.contains("clear-secret="), "{}", empty.err);

    let words =
        on(&["refit", "plan", "secret=T1", "evenings=4x120", "--begin", "--new-secret-stdin", "--json"]);
    is_silent(&bench.run_with(&words, line.as_bytes()).is(0));
    for words in [
        &["refit", "show"] as &[&str],
        &["refit", "show", "--json"],
        &["refit", "show", "--paper"],
        &["refit", "replan", "--try"],
        &["show", "history"],
        &["show", "history", "--json"],
    ] {
        let ran = bench.run(&on(words)).is(0);
        is_silent(&ran);
        // Nor the number that stands for it.
        for number in marks(&bench) {
            assert!(!ran.out.contains(&number), "{words:?}: {}", ran.out);
        }
    }
    assert!(text(&bench, &["refit", "show"]).contains("the new link secret"));
    for (path, bytes) in bench.bytes(&[]) {
        let found = bytes.windows(CANARY.len()).any(|window| window == CANARY.as_bytes());
        assert!(!found, "the secret stands in {}", path.display());
    }
}

/// The fingerprints in the wishes of the demo's refits, as numbers are written.
fn marks(bench: &Bench) -> Vec<String> {
    let places = Places { workshop: bench.path("demo/workshop.holdfast"), keys: bench.path("demo/keys") };
    let workshop = Workshop::open_existing(&places, "tester").unwrap();
    let wishes = workshop.register().refits().iter().flat_map(RefitLog::wishes);
    let numbers: Vec<String> = wishes
        .filter_map(|wish| match wish {
            Wish::Secret { mark: SecretMark::Print { print, .. }, .. } => Some(print),
            _ => None,
        })
        .flat_map(|print| [print.to_string(), format!("{print:x}")])
        .collect();
    assert!(!numbers.is_empty());
    numbers
}

/// Writes a key, and gives its id: the start of its digest.
fn key(bench: &Bench, byte: u8) -> u64 {
    let key = [byte; 32];
    let id = wire::digest(&key).to_string()[..16].to_owned();
    std::fs::create_dir_all(bench.path("keys")).unwrap();
    std::fs::write(bench.path("keys").join(format!("{id}.key")), key).unwrap();
    u64::from_str_radix(&id, 16).unwrap()
}

/// A machine that has several keys goes on under the one by which the workshop's newest secret
/// was written down, also where that is only a wish of a refit or a guest's in a fault trail.
#[test]
fn another_key_beside_doesn_t_change_the_fingerprints() {
    for fault in [false, true] {
        let bench = Bench::new();
        bench.pair();
        let _ = std::fs::remove_dir_all(bench.path("keys"));
        // Without a word from the workshop the key with the least id is taken.
        let mut both: Vec<(u64, u8)> = [3, 4].map(|byte| (key(&bench, byte), byte)).to_vec();
        both.sort_unstable();
        let [(least, _), (used, byte)] = both[..] else { panic!("two keys") };
        std::fs::remove_dir_all(bench.path("keys")).unwrap();
        key(&bench, byte);
        let words: &[&str] = if fault {
            &["fault", "start", "wont_pair", "guest", "R1", "--transmitter-secret", "--secret-stdin"]
        } else {
            &["refit", "plan", "secret=Whimbrel", "--begin", "--new-secret-stdin"]
        };
        bench.run_with(words, b"heron\n").is(0);
        for byte in [3, 4] {
            key(&bench, byte);
        }
        let places = Places { workshop: bench.path("workshop.holdfast"), keys: bench.path("keys") };
        let mut workshop = Workshop::open_existing(&places, "tester").unwrap();
        let mark = workshop.fingerprint(&SecretText::new("heron")).unwrap();
        let SecretMark::Print { key, .. } = &mark else { panic!("{mark:?}") };
        assert_eq!(*key, used, "not {least}, {fault}");
        let register = workshop.register();
        let mut written: Vec<SecretMark> = Vec::new();
        for log in register.refits() {
            let wishes = log.wishes().iter().filter_map(|wish| match wish {
                Wish::Secret { mark, .. } => Some(mark.clone()),
                _ => None,
            });
            written.extend(wishes);
            assert!(!log.events.iter().any(|mark| matches!(mark.what, Event::Ended { .. })));
        }
        for log in register.trails() {
            let facts = log.begun.what.facts.iter().filter_map(|(_, _, value)| match value {
                Fact::Secret(mark) => Some(mark.clone()),
                _ => None,
            });
            written.extend(facts);
        }
        assert_eq!(written, [mark]);
    }
}

#[test]
fn releases_are_shown_and_added() {
    let bench = Bench::new();
    bench.families();
    let all = bench.json(&["refit", "releases"]);
    let names: Vec<String> = list(&all).iter().map(|one| word(&one["family"])).collect();
    assert_eq!(names, ["Plover", "Whimbrel"]);
    let told = flat(&bench.ok(&["refit", "releases"]));
    for family in list(&all) {
        for release in list(&family["releases"]) {
            assert!(told.contains(&word(&release["version"])), "{release:#}: {told}");
            assert!(told.contains(release["side"].as_str().unwrap_or("both")), "{release:#}: {told}");
        }
    }
    bench.write(
        "more.toml",
        "schema = 1\nfamily = \"Plover\"\n\n[[release]]\nversion = \"3.6\"\nfrom = \"3.1\"\n",
    );
    bench.ok(&["families", "check", "more.toml"]);
    let told = bench.ok(&["refit", "releases", "plover", "--file", "more.toml"]);
    assert!(told.contains("Plover has 1 release, 0 things to reach of this workshop's own now"), "{told}");
    let plover = &bench.json(&["refit", "releases", "PLOVER"])[0];
    assert_eq!(plover["added"], true);
    let added = list(&plover["releases"]).iter().find(|one| one["version"] == "3.6").unwrap();
    assert_eq!((&added["from"], &added["side"]), (&"3.1".into(), &Value::Null));
    assert!(bench.ok(&["show", "history"]).contains("releases.plover set to 1 release, 0 things to reach"));
    bench.ok(&["refit", "releases", "Plover", "--clear"]);
    assert_eq!(bench.json(&["refit", "releases"]), all);
    // What doesn't fit is not taken.
    bench.write("bad.toml", "schema = 1\nfamily = \"Plover\"\n\n[[release]]\nversion = \"new\"\n");
    let error = bench.fails(&["refit", "releases", "Plover", "--file", "bad.toml"]);
    assert!(error.contains("bad.toml was not taken"), "{error}");
    bench.run(&["families", "check", "bad.toml"]).is(3);
    assert_eq!(bench.json(&["refit", "releases"]), all);
}

/// Every message says what, where and what to do; they are looked at when they change.
#[test]
fn errors() {
    let bench = demo();
    let mut told = String::new();
    let mut fail = |args: &[&str]| {
        let message = bench.fails(&on(args));
        told.push_str(&["$ holdfast ", &args.join(" "), "\n", &message, "\n"].concat());
    };
    for args in [
        &["refit", "plan", "quickly"] as &[&str],
        &["refit", "plan", "colour=red"],
        &["refit", "plan", "to=T1"],
        &["refit", "plan", "to=T1:new"],
        &["refit", "plan", "to=T1/cellar:5.1"],
        &["refit", "plan", "to=T9:5.1"],
        &["refit", "plan", "to=A1:5.1"],
        &["refit", "plan", "newest=Heron"],
        &["refit", "plan", "pairs=some"],
        &["refit", "plan", "need=A2:R1"],
        &["refit", "plan", "replace=R5:x:y:z"],
        &["refit", "plan", "evenings=0x120"],
        &["refit", "plan", "evenings=many"],
        &["refit", "plan", "grounded=few"],
        &["refit", "plan", "cover=A3:long"],
        &["refit", "plan", "evenings=2x120", "--begin"],
        &["refit", "show", "nothing"],
        &["refit", "show", "--paper"],
        &["refit", "tick", "bcdfg"],
        &["refit", "end"],
        &["refit", "releases", "Heron"],
        &["refit", "releases", "Plover", "--clear"],
        &["refit", "releases", "Plover", "--file", "none.toml"],
    ] {
        fail(args);
    }
    begin(&bench);
    for args in [
        &["refit", "show", "--evening", "9"] as &[&str],
        &["refit", "tick", "bcdfg"],
        &["refit", "tick", "--evening", "9"],
        &["refit", "tick", "--all-of", "T2"],
        &["refit", "untick", "bcdfg"],
        &["refit", "defer", "T2"],
        &["refit", "defer", "T9"],
        &["refit", "replan", "--without", "9"],
        &["refit", "replan", "--left", "-3"],
        &["refit", "end"],
    ] {
        fail(args);
    }
    insta::assert_snapshot!("refit_errors", told);
}
