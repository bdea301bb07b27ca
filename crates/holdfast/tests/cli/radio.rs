//! The link sheet and the formulas, asked at the command line.

use serde_json::Value;

use crate::bench::Bench;

/// A bench with the demo's workshop in it.
fn demo() -> Bench {
    let bench = Bench::new();
    bench.ok(&["demo", "--no-serve", "--dir", "demo"]);
    bench
}

const DEVICES: &[&str] = &["--workshop", "demo", "T1", "R1"];
const FAMILY: &[&str] = &["--family", "Starter CSS 2.4", "region=EU", "telemetry_mw=10"];

fn args<'a>(command: &'a str, whose: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    [command].iter().chain(whose).chain(more).copied().collect()
}

fn has(answer: &Value, command: &str, keys: &[&str]) {
    for key in keys {
        assert!(answer.get(key).is_some(), "{command} lacks {key}: {answer:#}");
    }
}

#[test]
fn every_command_answers_on_devices_and_on_a_family() {
    let bench = demo();
    let keys: [(&str, &[&str]); 5] = [
        (
            "budget",
            &[
                "about",
                "setting",
                "flight",
                "holds",
                "in_time",
                "standing",
                "formulas",
                "limiting",
                "control",
                "telemetry",
                "path",
                "latency",
                "interference",
                "failsafe",
                "gains",
                "curve",
                "telemetry_fit",
                "law",
                "telemetry_law",
                "warnings",
                "assumptions",
                "suggested",
                "taken",
                "notice",
            ],
        ),
        (
            "reach",
            &[
                "about",
                "setting",
                "holds",
                "standing",
                "limiting",
                "control",
                "telemetry",
                "gains",
                "curve",
                "assumptions",
            ],
        ),
        (
            "advise",
            &[
                "about",
                "distance_m",
                "looked_at",
                "worth_choosing",
                "meeting",
                "choices",
                "warnings",
                "notice",
            ],
        ),
        ("law", &["about", "setting", "standing", "control", "telemetry", "warnings", "notice"]),
        ("telemetry", &["about", "setting", "sensors", "fit", "smallest_one_in", "modes"]),
    ];
    for (command, keys) in keys {
        for whose in [DEVICES, FAMILY] {
            let answer = bench.json(&args(command, whose, &[]));
            has(&answer, command, keys);
            let about = &answer["about"];
            if whose == DEVICES {
                assert_eq!((&about["transmitter"], &about["receiver"]), (&"T1".into(), &"R1".into()));
                assert_eq!(about["family"], "Whimbrel");
            } else {
                assert!(about["transmitter"].is_null());
                assert_eq!(about["family"], "Starter CSS 2.4");
            }
            assert!(!bench.ok(&args(command, whose, &[])).is_empty());
        }
    }
}

#[test]
fn a_budget_adds_up_and_its_reach_has_probability_and_interval() {
    let bench = demo();
    let sheet = bench.json(&args("budget", DEVICES, &["distance_m=800", "probability=0.95"]));
    for way in ["control", "telemetry"] {
        let way = &sheet[way];
        let mut level = 0.0;
        for stair in way["stairs"].as_array().unwrap() {
            let (change, after) =
                (stair["change_db"].as_f64().unwrap(), stair["level_dbm"].as_f64().unwrap());
            if stair["kind"] == "power" {
                level = after;
            } else {
                level += change;
            }
            assert!((after - level).abs() < 1e-9, "{stair:#}");
        }
        let margin = way["received_dbm"].as_f64().unwrap() - way["sensitivity_dbm"].as_f64().unwrap();
        assert!((margin - way["margin_db"].as_f64().unwrap()).abs() < 1e-9);
        let reach = &way["reach"];
        let metres = |key: &str| reach[key].as_f64().unwrap();
        assert!(
            metres("low_m") <= metres("distance_m") && metres("distance_m") <= metres("high_m"),
            "{reach}"
        );
        assert_eq!(reach["probability"], 0.95);
    }
    // The formula of a step, with the inputs it names, gives the step.
    let stairs = sheet["control"]["stairs"].as_array().unwrap();
    let free = stairs.iter().find(|stair| stair["calc"] == "free-space-loss").unwrap();
    let inputs = free["inputs"].as_str().unwrap();
    let words: Vec<&str> = ["calc", "free-space-loss"].into_iter().chain(inputs.split(' ')).collect();
    let loss = bench.json(&words)["loss_db"].as_f64().unwrap();
    assert!((loss + free["change_db"].as_f64().unwrap()).abs() < 0.01, "{free:#}");
    // What a person reads says the same.
    let told = bench.ok(&args("budget", DEVICES, &["distance_m=800", "probability=0.95"]));
    for words in ["as sure as 9 in 10", "spells that hold, of 100", "limits: it fails first", "Planning aid"]
    {
        assert!(told.contains(words), "{words} is not in\n{told}");
    }
    assert!(!told.to_lowercase().contains("legal"), "{told}");
    let more = bench.ok(&args("budget", DEVICES, &["--assumptions"]));
    assert!(more.len() > told.len());
}

#[test]
fn a_mode_further_and_a_decibel_more_stand_in_reach() {
    let bench = demo();
    let reach = bench.json(&args("reach", DEVICES, &["mode=Brook"]));
    let of: Vec<&str> =
        reach["gains"].as_array().unwrap().iter().map(|gain| gain["of"].as_str().unwrap()).collect();
    assert_eq!(of, ["1 dB more", "Mere", "Rapid"]);
    let curve = reach["curve"].as_array().unwrap();
    assert!(curve.len() > 20);
    for point in curve {
        let probability = point["probability"].as_f64().unwrap();
        assert!((0.0..=1.0).contains(&probability), "{point}");
    }
}

#[test]
fn every_setting_is_looked_at_and_those_that_fail_stand_behind() {
    let bench = demo();
    let advice = bench.json(&args("advise", DEVICES, &["latency_ms=60"]));
    // Three modes with three shares each, three power steps: the family file of the demo.
    assert_eq!(advice["looked_at"], 27);
    let choices = advice["choices"].as_array().unwrap();
    let meeting = usize::try_from(advice["meeting"].as_u64().unwrap()).unwrap();
    for (at, choice) in choices.iter().enumerate() {
        assert_eq!(choice["fails"].as_array().unwrap().is_empty(), at < meeting, "{choice:#}");
    }
    // No setting steers within 1 ms, so all fail a need and ten are shown.
    let few = args("advise", DEVICES, &["latency_ms=1"]);
    let advice = bench.json(&few);
    let worth = advice["choices"].as_array().unwrap().len();
    assert_eq!(advice["meeting"], 0);
    assert!(worth > 10, "{worth}");
    let told = bench.ok(&few);
    assert!(told.contains(&format!("{} more fail a need; --all shows them.", worth - 10)), "{told}");
    assert!(told.contains("\n 10. ") && !told.contains("\n 11. "), "{told}");
    let all = bench.ok(&[&few[..], &["--all"]].concat());
    assert!(all.contains(&format!("\n{worth:>3}. ")) && !all.contains("--all"), "{all}");
}

#[test]
fn the_law_names_clause_and_how_it_is_known() {
    let bench = demo();
    let law = bench.json(&args("law", DEVICES, &["power_mw=1000"]));
    let control = &law["control"];
    assert_eq!(control["region"], "EU");
    assert_eq!(control["verdict"], "over the planning limit");
    for row in control["rows"].as_array().unwrap() {
        for key in ["row", "source", "known", "obtained", "verdict"] {
            assert!(row[key].as_str().is_some_and(|text| !text.is_empty()), "{key} of {row:#}");
        }
        for demand in row["demands"].as_array().unwrap() {
            has(demand, "law", &["what", "verdict", "words", "limit", "got", "clause"]);
        }
    }
    let told = bench.ok(&args("law", DEVICES, &["power_mw=1000"]));
    assert!(told.contains("over by ") && told.contains("Planning aid; local rules prevail."), "{told}");

    // Every row of the table of limits.
    let rows =
        include_str!("../../../link/data/limits.csv").lines().filter(|line| !line.is_empty()).count() - 1;
    assert_eq!(bench.json(&["law", "--list"]).as_array().unwrap().len(), rows);
    let of_us = bench.json(&["law", "--list", "us"]);
    assert!(of_us.as_array().unwrap().iter().all(|row| row["region"] == "US"));
    assert!(bench.ok(&["law", "--list", "EU"]).contains("eu-2400-fhss-adaptive"));
    assert!(bench.fails(&["law", "--list", "Atlantis"]).contains("Atlantis"));
    // Without a region nothing is judged.
    let told = bench.fails(&["law", "--family", "Starter CSS 2.4"]);
    assert!(told.contains("region=") && told.contains("EU") && told.contains("US"), "{told}");
}

#[test]
fn telemetry_lists_every_mode_and_share() {
    let bench = demo();
    let answer = bench.json(&args("telemetry", DEVICES, &["sensors=variometer:4:0.2;battery:4:5"]));
    assert_eq!(answer["sensors"].as_array().unwrap().len(), 2);
    let modes = answer["modes"].as_array().unwrap();
    assert_eq!(modes.len(), 9);
    // The smallest share that fits is the rarest whose row fits.
    let asked = answer["setting"]["mode"].as_str().unwrap();
    let rarest = modes
        .iter()
        .filter(|row| row["mode"] == asked && row["fit"]["fits"] == true)
        .filter_map(|row| row["telemetry_one_in"].as_u64())
        .max();
    assert_eq!(answer["smallest_one_in"].as_u64(), rarest);
    let told = bench.fails(&args("telemetry", DEVICES, &["sensors=none"]));
    assert!(told.contains("sensors="), "{told}");
}

#[test]
fn nonsense_is_named_with_its_range() {
    let bench = demo();
    let cases = [
        ("power_mw=0", "`power_mw` is 0; it must lie in 0.001 to 10000 mW"),
        ("distance_m=-5", "`distance_m` is -5; it must lie in 0.1 to 1000000 m"),
        ("tx_gain_dbi=40", "`tx_gain_dbi` is 40; it must lie in -30 to 30 dBi"),
        ("region=Atlantis", "no limits are held for the region `Atlantis`; held are US"),
        ("mode=Torrent", "`mode` is `Torrent`; Whimbrel has Rapid, Brook, Mere"),
        ("distance=5", "near it are distance_m"),
        ("sf=13", "there is no input `sf`"),
        ("motion=spin", "one of level, circuit"),
        ("probability=NaN", "`probability` is `NaN`"),
        ("distance_m=", ""),
    ];
    for command in ["budget", "reach", "advise", "law", "telemetry"] {
        for (word, says) in cases {
            if says.is_empty() {
                bench.ok(&args(command, DEVICES, &[word]));
                continue;
            }
            let told = bench.fails(&args(command, DEVICES, &[word]));
            assert!(told.contains(says), "{command} {word}: {told}");
        }
        // All at once, one a line.
        let all: Vec<&str> =
            cases.iter().filter(|(_, says)| !says.is_empty()).map(|(word, _)| *word).collect();
        let told = bench.fails(&args(command, DEVICES, &all));
        for (_, says) in cases {
            assert!(told.contains(says), "{command}: {says} is not in\n{told}");
        }
        assert_eq!(told.lines().count(), all.len(), "{told}");
    }
    let calc = [
        (
            &["css-airtime", "chip=2g4", "sf=13", "bandwidth_hz=812500", "payload_bytes=8"][..],
            "`sf` is 13; it must lie in 5 to 12",
        ),
        (
            &["free-space-loss", "frequency_mhz=2450", "distance_m=-5"],
            "`distance_m` is -5; it must lie in 0.1 to",
        ),
        (&["power-limit", "region=Atlantis", "band=2.4 GHz", "gain_dbi=0"], "Atlantis"),
        (&["free-space-loss", "frequency=1", "distance_m=1"], "frequency_mhz"),
        (&["free-space-lost"], "near it: free-space-loss"),
        (&["free-space-loss", "2450", "1000"], "write KEY=VALUE"),
    ];
    for (words, says) in calc {
        let told = bench.fails(&args("calc", words, &[]));
        assert!(told.contains(says), "{words:?}: {told}");
    }
}

#[test]
fn whose_link_it_is_must_be_clear() {
    let bench = demo();
    let cases: [(&[&str], &str); 8] = [
        (&["budget"], "name a transmitter and a receiver or an aircraft"),
        (&["budget", "--workshop", "demo", "T1"], "only T1 is"),
        (&["budget", "--workshop", "demo", "T1", "R1", "R2"], "3 devices are"),
        (&["budget", "--workshop", "demo", "T1", "R1", "distance_m=9", "R2"], "name the devices first"),
        (&["budget", "--workshop", "demo", "R1", "T1"], "R1 is a receiver, not a transmitter"),
        (&["budget", "--workshop", "demo", "--family", "Plover", "T1", "R1"], "ask about one of them"),
        (&["budget", "--family", "Dunlin"], "there is no link family `Dunlin`"),
        (&["budget", "T1", "R1"], "there is no workshop"),
    ];
    for (words, says) in cases {
        let told = bench.fails(words);
        assert!(told.contains(says), "{words:?}: {told}");
    }
    let told = bench.fails(&["budget", "--band", "868 MHz"]);
    assert!(told.contains("name a transmitter and a receiver"), "{told}");
    let told = bench.fails(&["budget", "--workshop", "demo", "--family", "Whimbrel"]);
    assert!(told.contains("2.4 GHz, 868 MHz") && told.contains("add --band"), "{told}");
    // Of ends on two bands, those that are meant.
    let ends: [(&[&str], &str); 4] = [
        (&["T1", "R7", "--band", "868 MHz"], "868 MHz"),
        (&["T1/module", "R7"], "868 MHz"),
        (&["T1/inside", "R7"], "2.4 GHz"),
        (&["T1/inside", "R7/high"], "2.4 GHz"),
    ];
    for (words, band) in ends {
        let asked = [&["budget", "--workshop", "demo"][..], words].concat();
        assert_eq!(bench.json(&asked)["about"]["band"], band, "{words:?}");
    }
    let told = bench.fails(&["budget", "--workshop", "demo", "T1/outside", "R7"]);
    assert!(told.contains("R7/high (2.4 GHz)"), "{told}");
    // Of an aircraft, its receiver.
    let sheet = bench.json(&["budget", "--workshop", "demo", "T1", "A1"]);
    assert_eq!((&sheet["about"]["receiver"], &sheet["about"]["aircraft"]), (&"R1".into(), &"A1".into()));
}

#[test]
fn values_come_from_files() {
    let bench = demo();
    let points = "distance_m,height_m\n0,100\n400,104\n900,131\n1500,112\n2000,108\n";
    bench.write("hill.csv", points);
    let base = ["calc", "profile-loss", "frequency_mhz=868", "height_tx_m=1.5", "height_rx_m=30", "--json"];
    let with = |word: &str, input: &str| {
        let ran = bench.run_with(&[&base[..], &[word]].concat(), input.as_bytes()).is(0);
        serde_json::from_str::<Value>(&ran.out).unwrap()
    };
    let typed = with("profile=0,100;400,104;900,131;1500,112;2000,108", "");
    assert_eq!(with("profile=hill.csv", ""), typed);
    assert_eq!(with("profile=@hill.csv", ""), typed);
    assert_eq!(with("profile=-", points), typed);
    bench.write("gain", " 6 \n");
    let limit =
        bench.json(&["calc", "power-limit", "region=US", "band=902-928", "class=fhss-50", "gain_dbi=@gain"]);
    assert_eq!(limit["inputs"]["gain_dbi"], 6.0);
    // A link over that hill loses more than over level ground.
    let reach = |more: &[&str]| {
        let sheet =
            bench.json(&args("budget", DEVICES, &[&["distance_m=2000", "air_height_m=5"], more].concat()));
        sheet["path"]["total_db"].as_f64().unwrap()
    };
    assert!(reach(&["profile=hill.csv"]) > reach(&[]) + 3.0);

    bench.write("large.csv", vec![b'\n'; 2_000_001]);
    bench.write("bytes.csv", [0xff, 0xfe, 0x00]);
    bench.write("empty.csv", " \n");
    std::fs::create_dir(bench.path("folder")).unwrap();
    for (word, says) in [
        ("profile=hil.csv", "the file hil.csv can't be read"),
        ("profile=@hil.csv", "the file hil.csv can't be read"),
        ("profile=large.csv", "larger than 2 MB"),
        ("profile=bytes.csv", "no text in UTF-8"),
        ("profile=folder", "is a folder"),
        ("profile=empty.csv", "`profile`: the file empty.csv is empty"),
        ("profile=@empty.csv", "is empty"),
        ("profile=-", "`profile`: standard input is empty"),
        ("profile=0,1;5,2", "at least 3 points"),
        ("height_tx_m=@none", "the file none can't be read"),
    ] {
        let words: Vec<&str> = base.iter().copied().filter(|word| !word.starts_with("height_tx")).collect();
        let told = bench.fails(&[&words[..], &[word]].concat());
        assert!(told.contains(says), "{word}: {told}");
    }
}

#[test]
fn what_does_not_hold_is_not_said_to_hold() {
    let bench = demo();
    let far = ["other_links=100", "distance_m=5000"];
    let asked = [&["--workshop", "demo", "T1", "A2"][..], &far].concat();
    let sheet = bench.json(&args("budget", &asked, &[]));
    assert_eq!(sheet["holds"], false);
    assert!(
        sheet["control"]["probability"].as_f64().unwrap() < sheet["flight"]["probability"].as_f64().unwrap()
    );
    let told = bench.ok(&args("budget", &asked, &[]));
    assert!(told.starts_with("Does not hold 5.00 km out as wanted: "), "{told}");
    assert!(told.contains("Neither way holds even at 10 m."), "{told}");
    let told = bench.ok(&args("budget", DEVICES, &["distance_m=50"]));
    assert!(told.starts_with("Holds 50 m out as wanted: "), "{told}");
    // A wanted probability keeps its digits, and what falls short of it is never rounded up to it.
    let fine = bench.ok(&args("budget", DEVICES, &["distance_m=50", "probability=0.999999"]));
    assert!(fine.contains("99.9999 of 100 spells") && !fine.contains("in 100 of 100"), "{fine}");
    // The latency that is wanted.
    for (wanted, kept) in [("latency_ms=1", false), ("latency_ms=1000", true)] {
        let asked = args("budget", DEVICES, &[wanted]);
        assert_eq!(bench.json(&asked)["in_time"], kept, "{wanted}");
        let told = bench.ok(&asked);
        assert_eq!(told.contains("that is not kept"), !kept, "{told}");
        assert_eq!(told.contains("Later than the wanted latency."), !kept, "{told}");
    }
}

#[test]
fn an_exceeded_remembered_limit_is_told_alike_everywhere() {
    let bench = demo();
    // The limits of this region at 2.4 GHz are from memory, so the verdict stays not known.
    let asked = ["--workshop", "demo", "--family", "Plover", "--band", "2.4 GHz", "region=JP"];
    let words = "over a remembered limit";
    let law = bench.json(&args("law", &asked, &[]));
    assert_eq!(
        (&law["control"]["verdict"], &law["control"]["standing"]),
        (&"not known".into(), &words.into())
    );
    assert_eq!(law["standing"], words);
    assert_eq!(bench.json(&args("budget", &asked, &[]))["standing"], words);
    assert_eq!(bench.json(&args("reach", &asked, &[]))["standing"], words);
    let told = bench.ok(&args("law", &asked, &[]));
    assert!(told.contains("Control in JP: over a remembered limit"), "{told}");
    let told = bench.ok(&args("budget", &asked, &[]));
    assert!(told.contains("Limits of JP: over a remembered limit."), "{told}");
    // A setting over its limit fails, so it is not the best in it as well.
    let advice = bench.json(&args("advise", &asked, &["--all"]));
    let choices = advice["choices"].as_array().unwrap();
    assert!(choices.iter().any(|choice| choice["law"] == words), "{advice:#}");
    let says = |list: &Value| list.as_array().unwrap().contains(&"law".into());
    for choice in choices {
        assert!(!(says(&choice["fails"]) && says(&choice["best_in"])), "{choice:#}");
    }
}

#[test]
fn unknown_telemetry_power_is_said_with_how_to_give_it() {
    let bench = Bench::new();
    let asked = ["--family", "Starter CSS 2.4", "region=EU"];
    let advice = bench.json(&args("advise", &asked, &[]));
    let warning = advice["warnings"][0]["text"].as_str().unwrap();
    assert!(warning.contains("telemetry_mw"), "{warning}");
    let told = bench.ok(&args("advise", &asked, &[]));
    assert!(told.contains("not known") && told.contains("telemetry_mw"), "{told}");
    // What was typed comes out again.
    let sheet = bench.json(&args("budget", &asked, &["power_mw=90", "telemetry_mw=0.07"]));
    assert_eq!(
        (&sheet["setting"]["power_mw"], &sheet["setting"]["telemetry_mw"]),
        (&90.0.into(), &0.07.into())
    );
}

#[test]
fn the_formulas_beside_the_staircase_can_be_called() {
    let bench = demo();
    let sheet = bench.json(&args("budget", DEVICES, &["other_links=3"]));
    let formulas = sheet["formulas"].as_array().unwrap();
    assert!(formulas.len() >= 4, "{formulas:#?}");
    for one in formulas {
        let (name, inputs) = (one["calc"].as_str().unwrap(), one["inputs"].as_str().unwrap());
        let inputs: Vec<&str> = inputs.split(' ').collect();
        assert_eq!(bench.json(&args("calc", &[name], &inputs))["calc"], name);
    }
}

#[test]
fn keys_may_have_capitals_and_blanks() {
    let bench = Bench::new();
    let plain = bench.json(&["calc", "free-space-loss", "frequency_mhz=2450", "distance_m=500"]);
    let loose = bench.json(&["calc", "free-space-loss", "FREQUENCY_MHZ=2450", "distance_m = 500"]);
    assert_eq!(loose, plain);
    let told = bench.fails(&["calc", "free-space-loss", "Distance_m=500", "distance_m=3", "frequency_mhz=1"]);
    assert!(told.contains("`distance_m` is given twice"), "{told}");
}

#[test]
fn what_is_so_or_not_is_a_boolean() {
    let bench = Bench::new();
    // Published up to 250 MHz (Rec. ITU-R P.372).
    for (frequency, beyond) in [("frequency_mhz=100", false), ("frequency_mhz=868", true)] {
        let noise = bench.json(&["calc", "manmade-noise", frequency, "environment=city"]);
        assert_eq!(noise["extrapolated"], beyond, "{noise}");
    }
}

fn examples(bench: &Bench) -> Vec<Value> {
    bench.json(&["calc", "list"]).as_array().unwrap().clone()
}

#[test]
fn every_formula_computes_its_own_example() {
    let bench = Bench::new();
    let all = examples(&bench);
    assert!(all.len() > 30, "{}", all.len());
    for about in &all {
        let name = about["calc"].as_str().unwrap();
        let typed: Vec<&str> =
            about["example"].as_array().unwrap().iter().map(|word| word.as_str().unwrap()).collect();
        let answer = bench.json(&args("calc", &[name], &typed));
        assert_eq!(answer["calc"], name);
        has(&answer, name, &["inputs", "formula", "holds", "source", "notes"]);
        for output in about["outputs"].as_array().unwrap() {
            let key = output["key"].as_str().unwrap();
            let value = &answer[key];
            assert!(!value.is_array() && !value.is_object(), "{name}: {key} is {value}");
            assert!(answer.get(key).is_some(), "{name} lacks {key}");
        }
        // What was used holds every input, and gives the same again.
        let used = answer["inputs"].as_object().unwrap();
        assert_eq!(used.len(), about["inputs"].as_array().unwrap().len(), "{name}");
        for text in ["formula", "holds", "source", "says"] {
            assert!(about[text].as_str().is_some_and(|text| !text.is_empty()), "{name}: {text}");
        }
        assert!(!bench.ok(&args("calc", &[name], &typed)).is_empty());
        let explained = bench.ok(&["calc", name, "--explain"]);
        assert!(explained.contains("Example: holdfast calc"), "{explained}");
    }
}

#[test]
fn the_list_names_every_formula_that_was_promised() {
    let bench = Bench::new();
    let told = bench.ok(&["calc", "list"]);
    assert_eq!(bench.ok(&["calc"]), told);
    let all = examples(&bench);
    for name in [
        "free-space-loss",
        "plane-earth-loss",
        "profile-loss",
        "fresnel-radius",
        "thermal-noise",
        "css-airtime",
        "css-sensitivity",
        "packet-error",
        "hop-collision",
        "rician-outage",
        "vegetation-loss",
        "manmade-noise",
        "power-limit",
        "pressure-height",
        "wire-resistance",
    ] {
        assert!(told.lines().any(|line| line.trim_start().starts_with(&format!("{name} "))), "{name}");
        assert!(all.iter().any(|about| about["calc"] == name), "{name}");
    }
    // Without inputs it says what they are, and fails.
    let ran = bench.run(&["calc", "free-space-loss"]).is(1);
    assert!(ran.out.contains("distance_m=") && ran.out.contains("Example:"), "{}", ran.out);
    assert!(ran.err.contains("needs frequency_mhz, distance_m"), "{}", ran.err);
}

#[test]
fn formulas_give_published_values() {
    let bench = Bench::new();
    // Words, output, value, tolerance.
    let cases: [(&[&str], &str, f64, f64); 11] = [
        // Rec. ITU-R P.525-4; computed with the constants of scipy 1.17.1.
        (&["free-space-loss", "frequency_mhz=868", "distance_m=1000"], "loss_db", 91.2182, 0.001),
        (&["free-space-loss", "frequency_mhz=2450", "distance_m=10000"], "loss_db", 120.2311, 0.001),
        // k T B at 290 K with Boltzmann's constant of the SI (2019), in 125 kHz; 6 dB of noise figure.
        (&["thermal-noise", "bandwidth_hz=125000", "noise_figure_db=6"], "level_dbm", -117.0061, 0.001),
        // SX1280/81 data sheet Rev 2.2, 7.4.4: 51.25 symbols of 2^5 / 812.5 kHz.
        (
            &[
                "css-airtime",
                "chip=2g4",
                "sf=5",
                "bandwidth_hz=812500",
                "payload_bytes=13",
                "header=implicit",
                "preamble_symbols=12",
            ],
            "airtime_us",
            2018.462,
            0.001,
        ),
        // SX1261/2 data sheet, 6.1.4: 52.25 symbols of 2^5 / 125 kHz.
        (
            &[
                "css-airtime",
                "chip=sub-ghz",
                "sf=5",
                "bandwidth_hz=125000",
                "payload_bytes=13",
                "preamble_symbols=8",
            ],
            "airtime_us",
            13376.0,
            0.001,
        ),
        // Elementary probability: one other link on 40 channels, in step.
        (&["hop-collision", "links=2", "channels=40", "timing=synchronous"], "probability", 0.025, 1e-12),
        // 1 - exp(-0.1).
        (&["rayleigh-outage", "margin_db=10"], "probability", 0.095_162_581_964_040_4, 1e-12),
        // Weissberger 1982: 0.45 f^0.284 d below 14 m (f in GHz).
        (
            &["vegetation-loss", "model=weissberger", "frequency_mhz=868", "depth_m=10"],
            "loss_db",
            4.3227,
            0.001,
        ),
        // ISO 2533 and the U.S. Standard Atmosphere, 1976: 540.199 hPa at 5 km of geopotential height.
        (&["pressure-height", "pressure_pa=54019.9"], "height_m", 5_000.0, 0.1),
        // A published handbook table of wire gauges: gauge 20 has 10.15 ohm in 1000 ft.
        (&["wire-resistance", "awg=20", "length_m=304.8"], "resistance_ohm", 10.15, 0.01),
        // 47 CFR 15.247(b)(2), (b)(4): 1 W conducted with an antenna of up to 6 dBi.
        (
            &["power-limit", "region=US", "band=902-928", "class=fhss-50", "gain_dbi=6"],
            "conducted_dbm",
            30.0,
            1e-9,
        ),
    ];
    for (words, key, value, tolerance) in cases {
        let answer = bench.json(&args("calc", words, &[]));
        let got = answer[key].as_f64().unwrap_or_else(|| panic!("{key} is no number in {answer:#}"));
        assert!((got - value).abs() <= tolerance, "{words:?}: {got} instead of {value}");
    }
    // The outputs come first, under their own names.
    let text = bench.ok(&["calc", "free-space-loss", "frequency_mhz=868", "distance_m=1000", "--json"]);
    let places =
        ["\"calc\"", "\"loss_db\"", "\"inputs\"", "\"formula\"", "\"holds\"", "\"source\"", "\"notes\""]
            .map(|key| text.find(key).unwrap());
    assert!(places.is_sorted(), "{text}");
}

#[test]
fn nothing_is_cut_off_at_eighty_columns() {
    let bench = demo();
    let mut commands: Vec<Vec<&str>> = Vec::new();
    for command in ["budget", "reach", "advise", "law", "telemetry"] {
        commands.push(args(command, DEVICES, &[]));
        commands.push(args(command, FAMILY, &[]));
        commands.push(vec![command, "--help"]);
    }
    commands.push(vec!["law", "--list"]);
    commands.push(vec!["calc", "list"]);
    commands.push(vec!["calc", "profile-loss", "--explain"]);
    for words in commands {
        let done = bench.command(&words).env("COLUMNS", "80").output().unwrap();
        assert!(done.status.success(), "{words:?}");
        let told = String::from_utf8(done.stdout).unwrap();
        for line in told.lines() {
            assert!(line.chars().count() <= 80, "{words:?}: {line}");
            assert!(words.contains(&"--help") || !line.contains('…'), "{words:?}: {line}");
        }
    }
}
