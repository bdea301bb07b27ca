//! Backups, restores, merges, round trips.

use std::fs;

use serde_json::Value;

use crate::bench::Bench;

/// Links without the ids that only a logbook carries along, and without the order that
/// such ids give to looks that take equally long.
fn plain(links: &Value) -> Vec<Value> {
    let mut links = links.as_array().unwrap().clone();
    for link in &mut links {
        let link = link.as_object_mut().unwrap();
        link.retain(|key, _| !key.ends_with("_id"));
        let looks = link["settle"].as_array_mut().unwrap();
        looks.sort_by_key(|look| (look["minutes"].to_string(), look["check"].to_string()));
    }
    links
}

#[test]
fn export_then_import_gives_the_same_links() {
    let bench = Bench::new();
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    let links = bench.json(&["--workshop", "demo", "links"]);
    assert!(links.as_array().unwrap().len() >= 80);
    for form in ["jsonl", "toml", "csv"] {
        let (file, fresh) = (format!("all.{form}"), format!("{form}.holdfast"));
        bench.ok(&["--workshop", "demo", "export", &file]);
        if form == "csv" {
            // A spreadsheet carries no family files and no minutes.
            for family in ["family-plover.toml", "family-whimbrel.toml"] {
                bench.ok(&["--workshop", &fresh, "families", "add", family]);
            }
        }
        bench.ok(&["--workshop", &fresh, "import", &file]);
        let again = bench.json(&["--workshop", &fresh, "links"]);
        if form == "jsonl" {
            assert_eq!(again, links);
        }
        for (one, other) in plain(&again).iter().zip(&plain(&links)) {
            assert_eq!(one, other, "{form}");
        }
        assert_eq!(again.as_array().unwrap().len(), links.as_array().unwrap().len());
        // Once more changes nothing.
        let entries = bench.json(&["--workshop", &fresh, "verify"])["entries"].clone();
        bench.ok(&["--workshop", &fresh, "import", &file]);
        assert_eq!(bench.json(&["--workshop", &fresh, "verify"])["entries"], entries, "{form}");
    }
}

#[test]
fn a_backup_comes_back() {
    let bench = Bench::new();
    bench.pair();
    let links = bench.json(&["links"]);
    bench.ok(&["backup", "copy.holdfast"]);
    bench.ok(&["record", "R1", "firmware", "3.0"]);
    bench.run(&["restore", "copy.holdfast"]).is(1);
    let told = bench.json(&["restore", "copy.holdfast", "--over"]);
    let aside = told["set_aside"].as_str().unwrap();
    assert_eq!(bench.json(&["links"]), links);
    // What was written after the backup is not lost, and can be merged back.
    bench.ok(&["merge", aside]);
    assert_eq!(bench.json(&["link", "T1", "R1"])["verdict"], "blocked");
    bench.ok(&["verify"]);
    bench.ok(&["--workshop", "other.holdfast", "restore", "copy.holdfast"]);
    assert_eq!(bench.json(&["--workshop", "other.holdfast", "links"]), links);
}

#[test]
fn damage_is_found_and_nothing_is_lost() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["note", "R1", "FINDABLE"]);
    bench.ok(&["backup", "copy.holdfast"]);
    let mut bytes = fs::read(bench.path("copy.holdfast")).unwrap();
    let at = bytes.windows(8).position(|window| window == b"FINDABLE").unwrap();
    bytes[at] = b'B';
    bench.write("altered.holdfast", &bytes);
    let ran = bench.run(&["--workshop", "altered.holdfast", "verify"]).is(3);
    assert!(ran.out.contains("Wrong: "), "{}", ran.out);
    let ran = bench.run(&["--workshop", "altered.holdfast", "verify", "--json"]).is(3);
    let found: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(found["holds"], false);
    assert_eq!(found["problems"].as_array().unwrap().len(), 1);
    let before = fs::read(bench.path("workshop.holdfast")).unwrap();
    bench.run(&["restore", "altered.holdfast", "--over"]).is(1);
    bench.run(&["merge", "altered.holdfast"]).is(1);
    assert_eq!(bench.ok(&["verify"]).lines().count(), 1);
    assert_eq!(fs::read(bench.path("workshop.holdfast")).unwrap(), before);

    // Cut in the middle, and no database at all.
    bench.write("cut.holdfast", &bytes[..bytes.len() / 2]);
    bench.write("noise.holdfast", vec![7; 9000]);
    for file in ["cut.holdfast", "noise.holdfast"] {
        let ran = bench.run(&["--workshop", file, "verify"]).is(3);
        assert!(ran.out.contains("Wrong: ") && ran.out.contains("damaged"), "{file}: {}", ran.out);
        bench.run(&["restore", file, "--over"]).is(1);
        assert_ne!(bench.run(&["--workshop", file, "add", "receiver", "R5"]).code, 0, "{file}");
    }
    assert_eq!(bench.json(&["link", "T1", "R1"])["verdict"], "links");
}

#[test]
fn a_folder_stands_for_the_workshop_in_it() {
    let bench = Bench::new();
    fs::create_dir(bench.path("hangar")).unwrap();
    bench.ok(&["--workshop", "hangar", "add", "receiver", "R1"]);
    assert!(bench.path("hangar/workshop.holdfast").is_file());
    bench.ok(&["--workshop", "hangar/workshop.holdfast", "show", "R1"]);
    // Without a name it is the platform's data folder.
    let ran = bench.command(&["add", "receiver", "R1"]).env_remove("HOLDFAST_WORKSHOP").output().unwrap();
    assert!(ran.status.success());
    if cfg!(target_os = "linux") {
        assert!(bench.path(".local/share/holdfast/workshop.holdfast").is_file());
    }
}

#[test]
fn two_copies_merge_to_the_same() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["backup", "copy.holdfast"]);
    fs::copy(bench.path("copy.holdfast"), bench.path("mate.holdfast")).unwrap();
    bench.ok(&["record", "R1", "antenna", "wire"]);
    bench.ok(&["--workshop", "mate.holdfast", "add", "receiver", "R2"]);
    bench.ok(&["merge", "mate.holdfast"]);
    bench.ok(&["--workshop", "mate.holdfast", "merge", "workshop.holdfast"]);
    let (ours, theirs) = (bench.ok(&["export"]), bench.ok(&["--workshop", "mate.holdfast", "export"]));
    assert!(ours.lines().count() > 10);
    assert_eq!(ours, theirs);
    for workshop in ["workshop.holdfast", "mate.holdfast"] {
        bench.ok(&["--workshop", workshop, "verify"]);
    }
}
