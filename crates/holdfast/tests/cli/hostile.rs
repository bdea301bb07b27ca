//! Names that people of ill will, and ordinary people, come up with.

use unicode_width::UnicodeWidthStr as _;

use crate::bench::Bench;

fn names() -> Vec<String> {
    vec![
        "<script>alert(1)</script>".to_owned(),
        "x".repeat(10_000),
        "\u{202e}desrever \u{200f}marks\u{2066}".to_owned(),
        "two\nlines\r\nand \"quotes\", commas; semicolons".to_owned(),
        "\u{1b}]0;title\u{7}\u{1b}[2J\u{9b}31m".to_owned(),
        "👩‍✈️ 漢字 e\u{301}".to_owned(),
        "Robert'); DROP TABLE entries;--".to_owned(),
        "=1+cmd|' /C calc'!A0".to_owned(),
        "-1".to_owned(),
        "none".to_owned(),
        "../../etc/passwd".to_owned(),
        "a\\b\tc".to_owned(),
    ]
}

#[test]
fn hostile_names_are_kept_and_shown_harmless() {
    let bench = Bench::new();
    bench.families();
    for (at, name) in names().iter().enumerate() {
        bench.ok(&["add", "receiver", &format!("--name={name}"), "--", &format!("C{at}")]);
    }
    bench.ok(&["add", "transmitter", "T1"]);
    // A program can't be handed a NUL; a file can hold one.
    bench.write("nul.csv", b"sort,code,name\nreceiver,N1,a\0b\n");
    let refused = bench.run(&["import", "nul.csv"]).is(1);
    assert!(format!("{}{}", refused.out, refused.err).contains("NUL"), "{}{}", refused.out, refused.err);
    // Kept as they are.
    let kept = |workshop: &str| -> Vec<String> {
        let show = bench.json(&["--workshop", workshop, "show"]);
        let receivers = show["receivers"].as_array().unwrap().clone();
        receivers.iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(kept("workshop.holdfast"), names());
    // Shown harmless, on every width, and never wider.
    for width in ["40", "80", "200"] {
        for args in [
            &["show"] as &[&str],
            &["show", "receivers"],
            &["links"],
            &["show", "C4"],
            &["link", "T1", "C2"],
            &["show", "history"],
        ] {
            let out = bench.command(args).env("COLUMNS", width).output().unwrap();
            assert!(out.status.success());
            let out = String::from_utf8(out.stdout).unwrap();
            for line in out.lines() {
                let wide = line.width();
                assert!(wide <= width.parse().unwrap(), "{wide} columns of {width}: {line}");
                let is_bad = |c: char| {
                    c.is_control()
                        || matches!(c, '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
                };
                assert!(!line.contains(is_bad), "{line:?}");
            }
        }
    }
    let json = bench.ok(&["show", "--json"]);
    assert!(!json.contains(|c: char| c != '\n' && c.is_control()) && !json.contains('\u{202e}'));
    // Out and in again, unchanged, in every form.
    for form in ["jsonl", "toml", "csv"] {
        let file = format!("names.{form}");
        let fresh = format!("fresh-{form}.holdfast");
        bench.ok(&["export", &file]);
        bench.ok(&["--workshop", &fresh, "import", &file]);
        assert_eq!(kept(&fresh), names(), "{form}");
    }
}

#[test]
fn a_text_that_is_too_long_is_refused_with_a_reason() {
    let bench = Bench::new();
    let told = bench.fails(&["add", "receiver", "R1", "--name", &"x".repeat(10_001)]);
    assert!(told.contains("10000 characters"), "{told}");
    bench.run(&["show", "R1"]).is(1);
}
