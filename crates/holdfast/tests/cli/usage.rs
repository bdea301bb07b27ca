//! Help, exit codes, errors.

use std::io::Read as _;
use std::process::Stdio;

use crate::bench::Bench;

#[test]
fn exit_codes_are_as_documented() {
    let bench = Bench::new();
    bench.write("bad.toml", "schema = 1\n[famly]\n");
    bench.write("good.toml", holdfast::workshop::shipped_family("plover.toml").unwrap());
    let cases: &[(&[&str], i32)] = &[
        (&["--help"], 0),
        (&["--version"], 0),
        (&["links", "--help"], 0),
        (&[], 2),
        (&["lnks"], 2),
        (&["links", "--verdict", "maybe"], 2),
        (&["show"], 1), // no workshop yet
        (&["verify"], 1),
        (&["families", "check", "good.toml"], 0),
        (&["families", "check", "bad.toml"], 3),
        (&["families", "check", "good.toml", "bad.toml"], 3),
        (&["families", "check", "none.toml"], 1),
        (&["add", "transmitter", "T1"], 0),
        (&["add", "receiver", "R1"], 0),
        (&["show"], 0),
        (&["verify"], 0),
        (&["link", "T1", "R1"], 0), // unknown is an answer
        (&["link", "T1", "R9"], 1),
        (&["record", "R1", "firmware"], 1),
        (&["strike", "nonsense"], 1),
    ];
    for (args, code) in cases {
        bench.run(args).is(*code);
    }
}

/// Everything that help says is looked at when it changes.
#[test]
fn help() {
    let bench = Bench::new();
    insta::assert_snapshot!("help", bench.ok(&["--help"]));
    let mut all = String::new();
    let commands = [
        "demo", "serve", "import", "export", "show", "add", "record", "links", "whatif", "ids", "budget",
        "calc",
    ];
    for command in commands {
        all.push_str(&bench.ok(&[command, "--help"]));
        all.push_str("\n--------\n");
    }
    insta::assert_snapshot!("help_of_commands", all);
}

/// Every message says what, where and what to do; they are looked at when they change.
#[test]
fn errors() {
    let bench = Bench::new();
    let mut told = String::new();
    let mut fail = |args: &[&str]| {
        let message = bench.fails(args);
        told.push_str(&["$ holdfast ", &args.join(" "), "\n", &message, "\n"].concat());
    };
    fail(&["show"]);
    bench.pair();
    bench.ok(&["record", "T1", "family", "Whimbrel", "--end", "module"]);
    bench.ok(&["backup", "copy.holdfast"]);
    std::fs::create_dir(bench.path("mine")).unwrap();
    bench.write("mine/letter.txt", "dear diary");
    for args in [
        &["show", "R9"] as &[&str],
        &["add", "receiver", "R1"],
        &["add", "receiver", ""],
        &["add", "receiver", "R2", "4.1"],
        &["add", "aircraft", "A2", "firmware=4.1"],
        &["record", "R1", "colour", "red"],
        &["record", "R1", "firmware", "new"],
        &["record", "R1", "firmware"],
        &["record", "R1", "firmware", "4.1", "--seen", "yesterday"],
        &["record", "R1", "band", "35 MHz"],
        &["record", "R1", "model_id", "64"],
        &["record", "R1", "secret", "abcdef"],
        &["record", "R1", "secret"],
        &["record", "R1", "craft", "glider"],
        &["record", "T1", "firmware", "4.1"],
        &["record", "T1", "model_id", "3"],
        &["record", "A1", "band", "2.4 GHz"],
        &["record", "R1", "name", "x", "--memory", "m1"],
        &["pair", "R1", "A1"],
        &["flash", "R1", "4.6", "--route", "pigeon"],
        &["same-as", "R1", "T1"],
        &["parted", "R1", "T1"],
        &["strike", "01a2137b-6ba9-73c1-bcb6-73d825eabfe2"],
        &["erase", "x"],
        &["links", "--rule", "colour"],
        &["links", "--family", "Dunlin"],
        &["link", "T1", "A1"],
        &["whatif"],
        &["whatif", "--set", "R1"],
        &["whatif", "--new", "kite K1"],
        &["spares", "R1"],
        &["ids", "--allocate", "Dunlin"],
        &["minutes", "set", "mend.paint", "3"],
        &["minutes", "set", "mend.pair", "1e9"],
        &["settings", "set", "colour", "red"],
        &["settings", "set", "stale.settable_days", "soon"],
        &["families", "starters", "mine"],
        &["families", "export", "Dunlin"],
        &["backup", "copy.holdfast"],
        &["backup", "nowhere/copy.holdfast"],
        &["restore", "copy.holdfast"],
        &["restore", "none.holdfast", "--over"],
        &["merge", "none.holdfast"],
        &["import", "none.csv"],
        &["import", "copy.holdfast"],
        &["export", "copy.holdfast"],
        &["demo", "--no-serve", "--dir", "mine"],
    ] {
        fail(args);
    }
    insta::assert_snapshot!("errors", told);
}

#[test]
fn a_closed_pipe_is_no_failure() {
    let bench = Bench::new();
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    // Far more than a pipe holds, so that writing goes on after the reader has gone.
    let mut child = bench
        .command(&["--workshop", "demo", "links", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut out = child.stdout.take().unwrap();
    let mut first = [0; 10];
    out.read_exact(&mut first).unwrap();
    drop(out);
    let done = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&done.stderr), "");
    assert_eq!(done.status.code(), Some(0));
}

#[test]
fn completions_and_manual_name_every_command() {
    let bench = Bench::new();
    let help = bench.ok(&["--help"]);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .collect();
    assert!(commands.len() > 25, "{commands:?}");
    let bash = bench.ok(&["completions", "bash"]);
    let manual = bench.ok(&["man"]).replace("\\-", "-");
    for command in commands {
        assert!(bash.contains(command), "{command} is not completed");
        assert!(manual.contains(&format!("holdfast {command}")), "{command} is not in the manual");
    }
}

/// The page for users says the same as the program.
#[test]
fn every_command_is_documented() {
    let bench = Bench::new();
    let docs = include_str!("../../../../docs/commands.md");
    let help = bench.ok(&["--help"]);
    let commands = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next());
    for command in commands.filter(|command| *command != "help") {
        assert!(docs.contains(&format!("`{command}")), "{command} is not in docs/commands.md");
    }
}

#[test]
fn a_demo_touches_nothing_but_its_own() {
    let bench = Bench::new();
    bench.ok(&["add", "receiver", "R1"]);
    let own = std::fs::read(bench.path("workshop.holdfast")).unwrap();
    std::fs::create_dir(bench.path("mine")).unwrap();
    bench.write("mine/workshop.holdfast", "precious");
    bench.run(&["demo", "--no-serve", "--dir", "mine"]).is(1);
    assert_eq!(std::fs::read(bench.path("mine/workshop.holdfast")).unwrap(), b"precious");
    assert_eq!(std::fs::read_dir(bench.path("mine")).unwrap().count(), 1);

    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    let first = bench.json(&["--workshop", "demo", "show"]);
    bench.ok(&["--workshop", "demo", "add", "receiver", "R999"]);
    bench.write("demo/letter.txt", "dear diary");
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    let again = bench.json(&["--workshop", "demo", "show"]);
    assert_eq!(first["receivers"].as_array().unwrap().len(), again["receivers"].as_array().unwrap().len());
    assert!(bench.path("demo/letter.txt").exists());
    assert!(!bench.path("keys").exists(), "the demo keeps its keys by itself");
    assert_eq!(std::fs::read(bench.path("workshop.holdfast")).unwrap(), own);
}
