//! A link secret in every place of a file is found in nothing that comes out.

use intake::csv::{self, Job, Mapping, Options, Target};
use register::field::{Field, Sort};
use register::scene::Scene;

use crate::support::{Book, guess, mapping};

const CANARY: &str = "cormorant-9f3-quill";

/// Everything that a list gives: debug output and every text.
fn everything(bytes: &[u8], mapping: &Mapping) -> String {
    let mut out = String::new();
    let job = match Job::begin(bytes.to_vec(), mapping, Options::default()) {
        Ok(job) => job,
        Err(refused) => return format!("{refused} {refused:?}"),
    };
    out.push_str(&format!("{job:?}"));
    let read = csv::read(bytes.to_vec(), mapping, Options::default()).unwrap();
    out.push_str(&format!("{read:?}"));
    read.bad.iter().for_each(|bad| out.push_str(&bad.to_string()));
    let mut book = Book::with_family(include_str!("../../../register/families/plover.toml"));
    let plan = book.plan(&read.inventory);
    out.push_str(&format!("{plan:?}"));
    plan.bad.iter().for_each(|bad| out.push_str(&bad.to_string()));
    book.take(plan.drafts());
    out.push_str(&csv::write(&Scene::new(&book.register)));
    out.push_str(&intake::toml::write(&Scene::new(&book.register)));
    out
}

#[test]
fn a_secret_in_a_list_comes_out_nowhere() {
    let columns =
        "Sort,Code,Name,Family,Band,Region,Firmware,Link secret,Model ID,Paired with,State,How,Seen";
    let good = format!("{columns}\nrx,R1,One,Plover,2.4 GHz,,2.1,{CANARY},1,,shelf,seen,2025-01-01\n");
    let right = guess(good.as_bytes(), None);
    let mut files = vec![("its own column", good.clone(), right.clone())];
    // A bad row beside it, whatever is bad.
    for (what, from, to) in [
        ("sort", "rx,", "toaster,"),
        ("band", "2.4 GHz", "868 MHz"),
        ("model ID", ",1,,shelf", ",x,,shelf"),
        ("state", "shelf", "nowhere"),
        ("ragged", "2025-01-01", "2025-01-01,more"),
        ("quotation mark", CANARY, &format!("\"{CANARY}")),
    ] {
        files.push((what, good.replace(from, to), right.clone()));
    }
    files.push(("twice", format!("{good}rx,R1,One,,,,,{CANARY},,,,,\n"), right.clone()));
    files.push((
        "same as what is not there",
        good.replace(CANARY, &format!("same as {CANARY}")),
        right.clone(),
    ));
    files.push(("half a print", good.replace(CANARY, &format!("print:{CANARY}")), right.clone()));
    // In cells of other columns that are checked: the message doesn't quote them.
    for (what, from) in [
        ("as sort", "rx"),
        ("as band", "2.4 GHz"),
        ("as firmware", "2.1"),
        ("as state", "shelf"),
        ("as how", "seen"),
        ("as date", "2025-01-01"),
    ] {
        files.push((what, good.replace(&format!(",{CANARY},"), ",,").replace(from, CANARY), right.clone()));
    }
    let with = |target: Target| {
        let columns = &[("Code", Target::Code), ("Family", Target::Family), ("Key", target)];
        (format!("Code,Family,Key\nR1,Plover,{CANARY}\n"), mapping(columns, Sort::Receiver))
    };
    for (what, target) in [
        ("mapped to model ID", Target::ModelId),
        ("mapped to band", Target::Band),
        ("mapped to region", Target::Region),
        ("mapped to firmware", Target::Firmware),
        ("mapped to partners", Target::PairedWith),
        ("mapped to how", Target::How),
        ("mapped to seen", Target::Seen),
        ("mapped to id", Target::Id),
        ("mapped to state", Target::State),
        ("mapped to nothing", Target::Ignore),
    ] {
        let (text, mapping) = with(target);
        files.push((what, text, mapping));
    }
    let smelling = format!("Code,Pass phrase\nR1,{CANARY}\n");
    files.push((
        "in plain sight",
        smelling.clone(),
        mapping(&[("Code", Target::Code), ("Pass phrase", Target::Note)], Sort::Receiver),
    ));
    files.push(("left unread", smelling, mapping(&[("Code", Target::Code)], Sort::Receiver)));
    for (what, text, mapping) in &files {
        assert!(text.contains(CANARY), "{what}");
        assert!(!everything(text.as_bytes(), mapping).contains(CANARY), "{what}");
    }
    // The first is no bad row: the secret arrived, as a print.
    let mut book = Book::new();
    let (_, plan) = book.import_csv(good.as_bytes(), None);
    assert!(
        plan.proposals[0].changes.iter().any(|change| change.field == Field::Secret && change.after == "set")
    );
}

#[test]
fn a_secret_in_a_workshop_file_comes_out_nowhere() {
    let good =
        format!("schema = 1\n[[receiver]]\ncode = \"R1\"\nfamily = \"Plover\"\nsecret = \"{CANARY}\"\n");
    let line = format!("secret = \"{CANARY}\"");
    let files = [
        ("its own key", good.clone()),
        (
            "with how and when",
            good.replace(&line, &format!("secret = {{ value = \"{CANARY}\", how = \"seen\" }}")),
        ),
        ("no quotation mark before", good.replace(&line, &format!("secret = {CANARY}\""))),
        ("no quotation mark after", good.replace(&line, &format!("secret = \"{CANARY}"))),
        ("no equals sign", good.replace(&line, &format!("secret \"{CANARY}\""))),
        ("a broken line before", good.replace(&line, &format!("note = \n{line}"))),
        ("twice", good.replace(&line, &format!("{line}\n{line}"))),
        ("a list", good.replace(&line, &format!("secret = [\"{CANARY}\"]"))),
        ("another key", good.replace(&line, &format!("secrete = \"{CANARY}\""))),
        ("another part", good.replace("[[receiver]]", "[[aircraft]]")),
        ("a bad key beside", format!("{good}stat = 1\n")),
        ("a bad value beside", format!("{good}model_id = 100\n")),
        ("a bad state beside", format!("{good}state = \"nowhere\"\n")),
        ("as a band", good.replace(&line, &format!("band = \"{CANARY}\""))),
        ("as a model ID", good.replace(&line, &format!("model_id = \"{CANARY}\""))),
        ("as how", good.replace(&line, &format!("how = \"{CANARY}\""))),
        ("as a date", good.replace(&line, &format!("seen = \"{CANARY}\""))),
        ("as an id", good.replace(&line, &format!("id = \"{CANARY}\""))),
        ("as a schema", good.replace("schema = 1", &format!("schema = \"{CANARY}\""))),
        (
            "as minutes",
            good.replace("schema = 1", &format!("schema = 1\n[minutes]\n\"check.firmware\" = \"{CANARY}\"")),
        ),
        ("as partners", good.replace(&line, &format!("paired_with = \"{CANARY}\""))),
        ("unknown key in brackets", good.replace(&line, &format!("secret = {{ word = \"{CANARY}\" }}"))),
    ];
    for (what, text) in &files {
        assert!(text.contains(CANARY), "{what}");
        let mut book = Book::with_family(include_str!("../../../register/families/plover.toml"));
        let read = intake::toml::read("mine.toml", text);
        let plan = book.plan(&read.inventory);
        let mut out = format!("{read:?} {plan:?}");
        read.problems.iter().for_each(|problem| out.push_str(&problem.to_string()));
        plan.bad.iter().for_each(|bad| out.push_str(&bad.to_string()));
        book.take(plan.drafts());
        out.push_str(&csv::write(&Scene::new(&book.register)));
        out.push_str(&intake::toml::write(&Scene::new(&book.register)));
        assert!(!out.contains(CANARY), "{what}: {out}");
    }
    let mut book = Book::new();
    let plan = book.plan(&intake::toml::read("mine.toml", &good).inventory);
    assert!(
        plan.proposals[0].changes.iter().any(|change| change.field == Field::Secret && change.after == "set")
    );
    book.take(plan.drafts());
    assert!(csv::write(&Scene::new(&book.register)).contains("print:"));
}
