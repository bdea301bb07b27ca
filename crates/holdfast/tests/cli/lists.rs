//! Importing lists.

use crate::bench::Bench;

const LIST: &str = "\
Nr;Was;Bezeichnung;System;Frequenz;FW\n\
R1;receiver;Left wing;Whimbrel;2,4 GHz;4,1\n\
R2;receiver;\"Two\nlines\";Whimbrel;868 MHz;4,6\n";

const MAP: &[&str] = &["--map", "Was=sort", "--map", "System=family"];

fn import<'a>(file: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    ["import", file].iter().chain(more).copied().collect()
}

#[test]
fn a_list_comes_in_once_mapped_and_again_edited() {
    let bench = Bench::new();
    bench.families();
    bench.write("list.csv", format!("\u{feff}{LIST}"));
    // Looking changes nothing.
    let look = bench.json(&import("list.csv", &[MAP, &["--dry-run"]].concat()));
    assert_eq!((&look["added"], &look["imported"]), (&2.into(), &false.into()), "{look:#}");
    assert_eq!(bench.json(&["show", "receivers"]).as_array().unwrap().len(), 0);
    bench.ok(&import("list.csv", MAP));
    let show = bench.json(&["show", "R2"]);
    assert_eq!(show["name"], "Two\nlines");
    // The columns are remembered: the same list again changes nothing, with no --map.
    let again = bench.json(&["import", "list.csv"]);
    assert_eq!((&again["added"], &again["unchanged"]), (&0.into(), &2.into()), "{again:#}");
    // An edited list shows its differences, and changes only when told to.
    bench.write("list.csv", LIST.replace("4,1", "4,2"));
    let ran = bench.run(&["import", "list.csv"]).is(1);
    assert!(ran.out.contains("firmware 4.2 (now 4.1)"), "{}", ran.out);
    assert!(ran.err.contains("--yes"), "{}", ran.err);
    assert!(bench.ok(&["show", "R1"]).contains("4.1"));
    bench.ok(&["import", "list.csv", "--yes"]);
    assert!(bench.ok(&["show", "R1"]).contains("4.2"));
}

#[test]
fn looking_at_a_list_begins_no_workshop() {
    let bench = Bench::new();
    bench.write("list.csv", LIST);
    let look = bench.json(&import("list.csv", &[MAP, &["--dry-run"]].concat()));
    assert_eq!(look["added"], 2, "{look:#}");
    assert!(!bench.path("workshop.holdfast").exists() && !bench.path("keys").exists());
}

#[test]
fn one_bad_row_holds_everything_back() {
    let bench = Bench::new();
    bench.families();
    bench.write(
        "list.csv",
        format!("{LIST}R3;kite;x;Whimbrel;2,4 GHz;4,1\nR4;receiver;x;Whimbrel;35 MHz;4,1\n"),
    );
    let ran = bench.run(&import("list.csv", MAP)).is(1);
    assert!(ran.out.contains("row 4") && ran.out.contains("row 5"), "{}", ran.out);
    assert_eq!(bench.json(&["show", "receivers"]).as_array().unwrap().len(), 0, "nothing is half imported");
    let done = bench.json(&import("list.csv", &[MAP, &["--skip-bad"]].concat()));
    assert_eq!((&done["added"], &done["bad"]), (&2.into(), &2.into()), "{done:#}");
    let rows: Vec<u64> =
        done["bad_rows"].as_array().unwrap().iter().map(|bad| bad["row"].as_u64().unwrap()).collect();
    assert_eq!(rows, [4, 5]);
    assert_eq!(bench.json(&["show", "receivers"]).as_array().unwrap().len(), 2);
}

#[test]
fn what_a_file_is_shows_from_its_content() {
    let bench = Bench::new();
    bench.write("a.txt", holdfast::workshop::shipped_family("plover.toml").unwrap());
    assert!(bench.ok(&["import", "a.txt"]).contains("Plover"));
    bench.write("b.txt", "schema = 1\n[[receiver]]\ncode = \"R1\"\n");
    assert!(bench.ok(&["import", "b.txt"]).contains("1 device added"));
    bench.ok(&["export", "c.txt", "--as", "jsonl"]);
    assert!(bench.ok(&["import", "c.txt"]).contains("here already"));
    // From a pipe.
    let ran = bench.run_with(&["import", "-", "--sort", "receiver"], b"code,name\nR7,Swift\n").is(0);
    assert!(ran.out.contains("1 device added"), "{}", ran.out);
    bench.write("empty.csv", "");
    assert!(bench.fails(&["import", "empty.csv"]).contains("is empty"));
    bench.run(&["import", "b.txt", "--map", "x=y"]).is(1);
}

#[test]
fn a_family_problem_names_file_line_and_key() {
    let bench = Bench::new();
    let text = holdfast::workshop::shipped_family("whimbrel.toml").unwrap();
    let line = 1 + text.lines().position(|line| line.starts_with("checked_at")).unwrap();
    bench.write("mine.toml", text.replace("checked_at = \"receiver\"", "checked_at = \"tower\""));
    let ran = bench.run(&["families", "check", "mine.toml"]).is(3);
    assert!(ran.out.contains(&format!("mine.toml:{line}: `model_id.checked_at`")), "{}", ran.out);
    let told = bench.fails(&["families", "add", "mine.toml"]);
    assert!(told.contains(&format!("mine.toml:{line}:")), "{told}");
    for (name, _) in register::family::shipped::starters() {
        let text = bench.ok(&["families", "starters", name]);
        bench.write(name, text);
        bench.ok(&["families", "check", name]);
    }
}

#[test]
fn a_list_without_a_header_shows_none_of_its_cells() {
    let bench = Bench::new();
    bench.write("bare.csv", "T1;transmitter;Whimbrel;CANARYbare\nR1;receiver;Whimbrel;CANARYbare\n");
    let all: &[&[&str]] = &[&[], &["--map", "Nr=code"], &["--sort", "receiver"], &["--json"]];
    for more in all {
        let ran = bench.run(&import("bare.csv", more)).is(1);
        assert!(!ran.out.contains("CANARY") && !ran.err.contains("CANARY"), "{} {}", ran.out, ran.err);
        assert!(ran.err.contains("first row must hold the names"), "{}", ran.err);
    }
}

#[test]
fn bad_rows_come_in_the_order_of_the_list() {
    let bench = Bench::new();
    bench.families();
    // The one can't be taken for what the family says, the other can't be read at all.
    bench.write(
        "list.csv",
        "Code;Sort;Family;Band;Seen\nR1;receiver;Whimbrel;35 MHz;\nR2;receiver;Whimbrel;;05/06/2026\n",
    );
    let look = bench.json(&["import", "list.csv", "--dry-run"]);
    let rows: Vec<u64> =
        look["bad_rows"].as_array().unwrap().iter().map(|bad| bad["row"].as_u64().unwrap()).collect();
    assert_eq!(rows, [2, 3]);
}
