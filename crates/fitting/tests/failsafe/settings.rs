//! Settings against what they must find, and parts that can't be.

use fitting::failsafe::{Failsafe, InUse, Role, SCHEMA, Sort, check};
use fitting::finding::Weight;
use fitting::part::{from_inputs, inputs};

use crate::part;

/// A row of `data/failsafe-findings.csv`: one channel, and what must be found about it; the source of
/// each stands beside it. That a throttle's idle isn't said is another finding.
#[test]
fn every_sort_of_craft() {
    let mut reader = csv::Reader::from_reader(include_str!("../data/failsafe-findings.csv").as_bytes());
    let heading: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let (mut wrong, mut rows, mut sorts) = (Vec::new(), 0, std::collections::BTreeSet::new());
    for row in reader.records() {
        let row = row.unwrap();
        let get = |column: &str| row[heading.iter().position(|have| have == column).unwrap()].to_owned();
        let mut typed = Vec::new();
        for (path, column) in [
            ("craft.1.sort", "craft"),
            ("craft.1.power", "power"),
            ("craft.1.own", "own"),
            ("channel.1.function", "function"),
            ("channel.1.action", "action"),
            ("channel.1.value_us", "value_us"),
            ("channel.1.idle_us", "idle_us"),
            ("channel.1.full_us", "full_us"),
        ] {
            typed.push((path.to_owned(), get(column)));
        }
        typed.push(("channel.1.channel".to_owned(), "5".to_owned()));
        let read = Failsafe::of("row", &from_inputs(&SCHEMA, "row", &typed).unwrap()).unwrap();
        let about = format!("channel 5 ({})", get("function"));
        let got: Vec<String> = check(&read, None, &[])
            .iter()
            .filter(|one| one.about == about && one.key != "idle_not_said")
            .map(|one| format!("{} {}", one.key, one.weight))
            .collect();
        let want = if get("finding") == "none" {
            vec![]
        } else {
            vec![format!("{} {}", get("finding"), get("weight"))]
        };
        assert!(!get("source").is_empty());
        if got != want {
            wrong.push(format!("{row:?}: {got:?}, not {want:?}"));
        }
        rows += 1;
        sorts.insert(get("craft"));
    }
    assert!(rows >= 40 && sorts.len() == Sort::ALL.len(), "{rows} rows, {sorts:?}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn keys(text: &str, craft: Option<Sort>, functions: &[InUse]) -> Vec<(&'static str, Weight)> {
    check(&part(text), craft, functions).iter().map(|one| (one.key, one.weight)).collect()
}

const SET: &str = "[[channel]]\nchannel = 3\nfunction = \"throttle\"\naction = \"value\"\nvalue_us = 1000\nidle_us = 1000\n";

fn used(channel: u32, function: &str) -> InUse {
    InUse { channel: Some(channel), function: function.to_owned() }
}

#[test]
fn what_the_outputs_use() {
    assert_eq!(keys(SET, None, &[used(3, "throttle")]), []);
    assert_eq!(keys(SET, None, &[InUse::named("Throttle")]), []);
    assert_eq!(
        keys(SET, None, &[used(3, "throttle"), used(1, "aileron")]),
        [("no_failsafe_row", Weight::Warning)]
    );
    assert_eq!(
        keys(SET, None, &[used(3, "throttle"), InUse::named("rudder")]),
        [("no_failsafe_row", Weight::Warning)]
    );
    // The throttle is on another channel: nothing is set there, and what is set moves a rudder.
    assert_eq!(
        keys(SET, None, &[used(1, "throttle"), used(3, "rudder")]),
        [("throttle_missing", Weight::Fault), ("function_differs", Weight::Warning)]
    );
    assert_eq!(
        keys(SET, None, &[used(1, "throttle")]),
        [("throttle_missing", Weight::Fault), ("channel_not_in_use", Weight::Note)]
    );
    // Nothing at all said of a powered craft.
    assert_eq!(keys("", None, &[]), [("throttle_missing", Weight::Fault)]);
    assert_eq!(keys("", Some(Sort::Glider), &[]), []);
    assert_eq!(keys("[craft]\nsort = \"glider\"\n", Some(Sort::Glider), &[]), []);
    assert_eq!(
        keys("[craft]\nsort = \"glider\"\n", Some(Sort::Car), &[]),
        [("craft_differs", Weight::Warning)]
    );
    assert_eq!(
        keys(&format!("{SET}[craft]\nsort = \"helicopter\"\n"), None, &[]),
        [("collective_missing", Weight::Warning)]
    );
    let own = |own: &str| keys(&format!("{SET}[craft]\nsort = \"multirotor\"\nown = \"{own}\"\n"), None, &[]);
    assert_eq!(own("descend"), [("own_behaviour", Weight::Note)]);
    assert_eq!(own("none"), [("multirotor_stops", Weight::Warning), ("no_own_behaviour", Weight::Warning)]);
    assert_eq!(keys(&SET.replace("idle_us = 1000\n", ""), None, &[]), [("idle_not_said", Weight::Note)]);
}

/// `Within a few seconds; if it is slow, do not fly` (a club's page); that more than five is slow is
/// judgement.
/// A glider is taken to have no motor; one whose outputs have a throttle has one, so that silence about it is
/// no answer.
#[test]
fn a_motor_that_only_the_outputs_know() {
    let hold = "[[channel]]\nchannel = 1\nfunction = \"aileron\"\naction = \"value\"\nvalue_us = 1500\n";
    let outputs = [used(1, "aileron"), used(3, "motor")];
    assert_eq!(keys(hold, Some(Sort::Glider), &outputs), [("throttle_without_power", Weight::Warning)]);
    assert_eq!(keys(hold, Some(Sort::Glider), &outputs[..1]), []);
}

#[test]
fn times_that_are_long() {
    let timing = |text: &str| keys(&format!("{SET}[timing]\n{text}\n"), None, &[]);
    assert_eq!(timing("control_back_s = 2"), []);
    assert_eq!(timing("control_back_s = 4"), [("slow_return", Weight::Warning)]);
    assert_eq!(timing("failsafe_after_s = 1.5"), []);
    assert_eq!(timing("failsafe_after_s = 2.5"), [("slow_failsafe", Weight::Warning)]);
}

#[test]
fn words_have_roles() {
    for (function, craft, role) in [
        ("throttle", Sort::Aeroplane, Role::Throttle),
        ("Left motor", Sort::Aeroplane, Role::Throttle),
        ("throttle hold", Sort::Helicopter, Role::Other),
        ("motor cut", Sort::Glider, Role::Other),
        ("pitch", Sort::Helicopter, Role::Collective),
        ("pitch", Sort::Multirotor, Role::Surface),
        ("collective", Sort::Helicopter, Role::Collective),
        ("ailerons", Sort::Aeroplane, Role::Surface),
        ("left aileron", Sort::Aeroplane, Role::Surface),
        ("V-tail", Sort::Glider, Role::Surface),
        ("steering", Sort::Car, Role::Surface),
        ("flight mode", Sort::Multirotor, Role::Other),
        ("flaps", Sort::Aeroplane, Role::Other),
        ("", Sort::Aeroplane, Role::Other),
    ] {
        assert_eq!(Role::of(function, craft), role, "{function} of {}", craft.article());
    }
}

#[test]
fn what_cannot_be() {
    for (text, want) in [
        (
            "[[channel]]\nchannel = 3\nfunction = \"throttle\"\naction = \"hold\"\n\n[[channel]]\nchannel = 3\nfunction = \"flap\"\naction = \"hold\"\n",
            "fit:6: `channel[2].channel` is 3, as in channel[1]; a channel has one row: put them together",
        ),
        (
            "[[channel]]\nchannel = 3\nfunction = \"throttle\"\naction = \"value\"\nidle_us = 1000\nfull_us = 1000\n",
            "fit:1: `channel[1].full_us` is the same as `idle_us`; give the pulse width at full throttle",
        ),
        (
            "[[channel]]\nchannel = 0\nfunction = \"throttle\"\naction = \"hold\"\n",
            "fit:2: `channel[1].channel` is 0; it can be 1 to 64",
        ),
        (
            "[[channel]]\nchannel = 1\nfunction = \"throttle\"\naction = \"keep\"\n",
            "fit:4: `channel[1].action` is `keep`; choose \"hold\", \"value\", \"no-pulses\" or \"not-set\"",
        ),
        ("[flight]\nheight_m = 5\n", "fit:1: `flight.speed_m_s` is missing; add it, as in `speed_m_s = 18`"),
        ("[flight]\nspeed_m_s = -3\n", "fit:2: `flight.speed_m_s` is -3 m/s; it can be 0 to 150 m/s"),
        (
            "[wind]\nspeed_m_s = 4\n",
            "fit:1: `wind.from_deg` is missing; a wind of 4 m/s comes from somewhere, as in `from_deg = 270`",
        ),
        (
            "[fall]\nmass_kg = 1\n",
            "fit:1: `fall.drag_area_m2` is missing; a mass without a drag area says nothing about air drag: give both or none",
        ),
        (
            "[fall]\nmass_kg = 0.05\ndrag_area_m2 = 5\n",
            "fit:1: `fall.drag_area_m2` is 5 m2 for 0.05 kg, which would fall at 0.4 m/s like a feather; correct it or the mass",
        ),
        (
            "[[corner]]\neast_m = 1\nnorth_m = 1\n",
            "fit:1: `corner[1].east_m` belongs to corner 1; a boundary needs three corners or more",
        ),
        (
            "[field]\nradius_m = 9\n[[corner]]\neast_m = 1\nnorth_m = 1\n",
            "fit:3: `corner[1].east_m` can't be there beside `field.radius_m`; give the boundary as corners or as a radius",
        ),
        (
            "[[corner]]\neast_m = 0\nnorth_m = 0\n[[corner]]\neast_m = 9\nnorth_m = 9\n[[corner]]\neast_m = 9\nnorth_m = 0\n[[corner]]\neast_m = 0\nnorth_m = 9\n",
            "fit:10: `corner[4].east_m` ends a boundary that crosses itself after corners 1 and 3; put the corners in their order round the field",
        ),
    ] {
        let problems = Failsafe::read("fit", text).unwrap_err();
        let got: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(got, [want], "{text}");
    }
}

/// The same from a form as from a file.
#[test]
fn forms_and_files_agree() {
    let text = format!(
        "{SET}[flight]\nspeed_m_s = 12.5\n[wind]\nspeed_m_s = 0\n[[corner]]\neast_m = 0\nnorth_m = 0\n[[corner]]\neast_m = 9\nnorth_m = 9\n[[corner]]\neast_m = 9\nnorth_m = -5\n"
    );
    let read = fitting::part::read(&SCHEMA, "fit", &text).unwrap();
    let typed = from_inputs(&SCHEMA, "fit", &inputs(&read)).unwrap();
    assert_eq!(Failsafe::of("fit", &read).unwrap(), Failsafe::of("fit", &typed).unwrap());
}
