//! A link secret comes in and never out.

use crate::bench::{Bench, Ran};

const CANARY: &str = "kanarienvogel-4711";

fn is_silent(ran: &Ran) {
    let told = format!("{}{}", ran.out, ran.err);
    assert!(!told.contains(CANARY) && !told.contains("kanarien"), "{told}");
}

#[test]
fn a_secret_is_found_in_nothing_that_comes_out() {
    let bench = Bench::new();
    bench.pair();
    let line = format!("{CANARY}\n");
    // Doors that take it.
    is_silent(&bench.run_with(&["record", "R1", "secret", "--secret-stdin"], line.as_bytes()).is(0));
    is_silent(
        &bench.run_with(&["record", "T1", "secret", "--secret-stdin", "--json"], line.as_bytes()).is(0),
    );
    bench
        .write("in.csv", format!("code;sort;family;secret;seen\nR2;receiver;Whimbrel;{CANARY};2026-05-01\n"));
    is_silent(&bench.run(&["import", "in.csv"]).is(0));
    bench.write(
        "in.toml",
        format!("schema = 1\n[[receiver]]\ncode = \"R3\"\nfamily = \"Whimbrel\"\nsecret = \"{CANARY}\"\n"),
    );
    is_silent(&bench.run(&["import", "in.toml"]).is(0));
    // The four hold the same one.
    let secret = |name: &str| {
        let link = bench.json(&["link", "T1", name]);
        let reasons = link["reasons"].as_array().unwrap().clone();
        reasons.iter().find(|reason| reason["rule"] == "secret").unwrap()["status"].clone()
    };
    for name in ["R1", "R2", "R3"] {
        assert_eq!(secret(name), "pass", "{name}");
    }
    // Doors that refuse it, and mistakes on the way.
    for args in [
        &["record", "R1", "secret", CANARY] as &[&str],
        &["record", "R1", "secret", "the", CANARY],
        &["record", "R1", "secret", &format!("same as {CANARY}")],
        &["add", "receiver", "R9", &format!("secret={CANARY}")],
        &["whatif", "--set", &format!("R1 secret {CANARY}")],
        &["whatif", "--new", &format!("receiver N1 secret={CANARY}")],
    ] {
        is_silent(&bench.run(args).is(1));
    }
    for args in [
        &["record", "R1", "secret", &format!("--{CANARY}")] as &[&str],
        &["record", "R1", &format!("--secret={CANARY}")],
        &["record", "R1", "--secret-stdin", &format!("--value={CANARY}")],
    ] {
        is_silent(&bench.run(args).is(2));
    }
    bench.write(
        "bad.csv",
        format!("code;sort;model id;secret\nR4;receiver;{CANARY};{CANARY}\nR5;{CANARY};1;x\n"),
    );
    is_silent(&bench.run(&["import", "bad.csv"]).is(1));
    is_silent(&bench.run(&["import", "bad.csv", "--skip-bad", "--json"]).is(0));
    bench.write(
        "bad.toml",
        format!("schema = 1\n[[receiver]]\ncode = \"R4\"\nsecret = \"{CANARY}\nname = 1\n"),
    );
    is_silent(&bench.run(&["import", "bad.toml"]).is(1));
    bench.write("shown.csv", format!("code;sort;passphrase\nR4;receiver;{CANARY}\n"));
    is_silent(&bench.run(&["import", "shown.csv", "--map", "passphrase=note"]).is(1));
    // Everything that comes out.
    for args in [
        &["show"] as &[&str],
        &["show", "R1"],
        &["show", "R1", "--json"],
        &["show", "receivers"],
        &["show", "history"],
        &["show", "history", "--json"],
        &["links", "--json"],
        &["link", "T1", "R1"],
        &["export", "out.jsonl"],
        &["export", "out.toml"],
        &["export", "out.csv"],
        &["export", "-"],
        &["export", "-", "--as", "toml"],
        &["export", "-", "--as", "csv"],
        &["backup", "copy.holdfast"],
        &["verify"],
    ] {
        is_silent(&bench.run(args).is(0));
    }
    let inputs = ["in.csv", "in.toml", "bad.csv", "bad.toml", "shown.csv"];
    let files = bench.bytes(&inputs);
    assert!(files.iter().any(|(path, _)| path.ends_with("out.toml")) && files.len() >= 7);
    for (path, bytes) in files {
        let found = bytes.windows(CANARY.len()).any(|window| window == CANARY.as_bytes());
        assert!(!found, "the secret stands in {}", path.display());
    }
}

/// Fingerprints compare only under one key.
#[test]
fn another_key_says_nothing() {
    let bench = Bench::new();
    bench.pair();
    bench.run_with(&["record", "R1", "secret", "--secret-stdin"], b"heron\n").is(0);
    bench.run_with(&["record", "T1", "secret", "--secret-stdin"], b"heron\n").is(0);
    assert_eq!(bench.json(&["link", "T1", "R1"])["verdict"], "links");
    std::fs::remove_dir_all(bench.path("keys")).unwrap();
    bench.run_with(&["record", "T1", "secret", "--secret-stdin"], b"heron\n").is(0);
    let link = bench.json(&["link", "T1", "R1"]);
    assert_eq!(link["verdict"], "unknown", "{link:#}");
    assert_eq!(link["settle"][0]["rule"], "secret");
}
