//! The outputs of an aircraft: one row a sort of finding, figures from outside, laws, every text.
//!
//! Figures of pulses, frames and dead bands are common practice without a published source; the
//! sums on them are arithmetic that anyone can do again.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

#[path = "outputs/cases.rs"]
mod cases;
#[path = "outputs/laws.rs"]
mod laws;

use std::fmt::Write as _;

use cases::{CASES, CLEAN, Case};
use fitting::finding::Weight;
use fitting::outputs::{
    Answer, Facts, Named, Outputs, check, frame_rest, function_root, functions, is_throttle, step,
    steps_within, train_rest,
};
use units::{Hertz, Micros};

fn named(label: &str) -> Named {
    Named { label: label.to_owned(), also: Vec::new() }
}

/// An aeroplane with receiver R7, flown by T1.
fn facts() -> Facts {
    Facts { craft: "aeroplane".to_owned(), receivers: vec![named("R7")], transmitters: Vec::new() }
}

fn answer(text: &str, facts: &Facts) -> Answer {
    check(&Outputs::read("test", text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}")), facts)
}

fn text_of(case: &Case) -> String {
    let mut text = CLEAN.to_owned();
    for (from, to) in case.swap {
        assert!(text.contains(from), "{}: nothing to swap: {from}", case.what);
        text = text.replacen(from, to, 1);
    }
    text + case.more
}

#[test]
fn the_clean_aircraft_has_nothing_wrong() {
    let answer = answer(CLEAN, &facts());
    assert_eq!(answer.findings, Vec::new());
    assert_eq!(answer.not_checked, Vec::<String>::new());
    assert_eq!(answer.sentence, "6 parts on 6 outputs: nothing was found wrong in what is written down.");
    assert_eq!(answer.wiring.len(), 6);
    assert!(answer.wiring.iter().all(|wire| wire.receiver == "R7" && wire.weight.is_none()));
}

#[test]
fn each_row_finds_what_it_should_and_nothing_else() {
    assert!(!CASES.is_empty());
    let mut wrong = Vec::new();
    for case in CASES {
        let mut facts = facts();
        if !case.receivers.is_empty() {
            facts.receivers = case.receivers.iter().map(|label| named(label)).collect();
        }
        facts.transmitters = case.transmitters.iter().map(|label| named(label)).collect();
        case.craft.clone_into(&mut facts.craft);
        let answer = answer(&text_of(case), &facts);
        let mut got: Vec<(&str, Weight)> =
            answer.findings.iter().map(|finding| (finding.key, finding.weight)).collect();
        let mut want = case.finds.to_vec();
        got.sort_unstable();
        want.sort_unstable();
        let all = answer
            .findings
            .iter()
            .map(|one| one.text.as_str())
            .chain(answer.not_checked.iter().map(String::as_str));
        let all: Vec<&str> = all.collect();
        if got != want || !case.says.iter().all(|says| all.iter().any(|text| text.contains(says))) {
            wrong.push(format!(
                "{}:\n  got {got:?}\n want {want:?}\n says {:?} in {all:#?}",
                case.what, case.says
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_finding_has_its_consequence_and_its_mend() {
    for case in CASES {
        for finding in answer(&text_of(case), &facts()).findings {
            for words in [&finding.text, &finding.consequence, &finding.mend] {
                assert!(words.ends_with('.') && words.len() > 20, "{}: {words}", finding.key);
                let lower = words.to_lowercase();
                assert!(!lower.split(|c: char| !c.is_alphabetic()).any(|word| word == "safe"), "{words}");
                assert!(!words.contains("NaN") && !words.contains("  ") && !words.contains(".."), "{words}");
            }
            assert!(!finding.about.is_empty());
        }
    }
}

/// Common practice, no source: ranges, rates, resolution; the sums follow from them.
#[test]
fn figures_from_outside() {
    let rows: &[(&str, f64, f64, f64)] = &[
        // What, value, check value, tolerance from its last digit.
        ("333 Hz less 2.1 ms", frame_rest(Hertz(333.0), Micros(2100.0)).0 / 1e3, 0.903, 5e-4),
        ("frame at 333 Hz, ms", frame_rest(Hertz(333.0), Micros(0.0)).0 / 1e3, 3.003_003, 5e-7),
        ("frame at 560 Hz, ms", frame_rest(Hertz(560.0), Micros(0.0)).0 / 1e3, 1.785_714, 5e-7),
        ("500 Hz less 2 ms", frame_rest(Hertz(500.0), Micros(2000.0)).0, 0.0, 1e-9),
        ("eight channels in 20 ms", train_rest(Micros(20_000.0), 8, Micros(2000.0)).0, 4000.0, 1e-9),
        ("eight channels in 22.5 ms", train_rest(Micros(22_500.0), 8, Micros(2000.0)).0, 6500.0, 1e-9),
        ("10 bits over 1000 µs", step(Micros(1000.0), 1 << 10).0, 0.976_563, 5e-7),
        ("11 bits over 1000 µs", step(Micros(1000.0), 1 << 11).0, 0.488_281, 5e-7),
        (
            "steps of 10 bits in half the range",
            steps_within(Micros(500.0), step(Micros(1000.0), 1024)),
            512.0,
            1e-9,
        ),
    ];
    for (what, got, want, tol) in rows {
        let close = (got - want).abs() <= *tol; // false for NaN
        assert!(close, "{what}: {got}, not {want}");
    }
    assert!(steps_within(Micros(1.0), Micros(0.0)).is_finite());
    assert!(step(Micros(1.0), 0).0.is_finite());
}

#[test]
fn channel_orders_by_letters_and_by_words() {
    let rows: &[(&str, &[&str])] = &[
        ("[\"AETR\"]", &["aileron", "elevator", "throttle", "rudder"]),
        ("[\"TAER\"]", &["throttle", "aileron", "elevator", "rudder"]),
        ("[\"aetr\", \"Gear\"]", &["aileron", "elevator", "throttle", "rudder", "gear"]),
        ("[\"RT\"]", &["rudder", "throttle"]),
        ("[\"at\"]", &["at"]),
        ("[\"steering\", \"motor\"]", &["steering", "motor"]),
        ("[\"GEAR\", \"TTTT\"]", &["gear", "tttt"]),
    ];
    for (order, want) in rows {
        let outputs =
            Outputs::read("test", &format!("[[transmitter]]\nlabel = \"T1\"\norder = {order}\n")).unwrap();
        assert_eq!(outputs.senders[0].order, *want, "{order}");
        assert_eq!(functions(&outputs), *want, "{order}");
    }
}

#[test]
fn functions_in_use_and_the_throttle_among_them() {
    let outputs = Outputs::read("test", CLEAN).unwrap();
    let used = functions(&outputs);
    assert_eq!(used, ["aileron", "elevator", "throttle", "rudder", "gear"]);
    let throttles: Vec<&String> = used.iter().filter(|name| is_throttle(name)).collect();
    assert_eq!(throttles, ["throttle"]);
    // A channel on which nothing hangs isn't in use; what only a part names is.
    let outputs = Outputs::read(
        "test",
        "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n[[part]]\nname = \"horn\"\noutput = 7\nfunction = \"Horn\"\n[[part]]\nname = \"a\"\noutput = 1\n",
    )
    .unwrap();
    assert_eq!(functions(&outputs), ["aileron", "horn"]);
    for (name, root) in
        [("left ailerons", "aileron"), ("Flap 2", "flap"), ("motor 2", "throttle"), ("2", "2")]
    {
        assert_eq!(function_root(name), root);
    }
}

#[test]
fn six_lines_give_an_answer() {
    let text = "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n[[part]]\nname = \"elevator servo\"\noutput = 2\n";
    let answer = answer(text, &facts());
    assert!(
        answer.sentence.starts_with("1 part on 1 output, 1 warning and 2 notes; first: "),
        "{}",
        answer.sentence
    );
    let wire = &answer.wiring[0];
    assert_eq!((wire.number, wire.channel, wire.pulses), (2, 2, [1000.0, 1500.0, 2000.0].map(Micros)));
    assert_eq!(wire.carries[0].function.as_deref(), Some("elevator"));
    assert_eq!(wire.parts[0].function.as_deref(), Some("elevator"));
    let empty = check(&Outputs::default(), &facts());
    assert_eq!(empty.sentence, "Nothing is written down yet about what hangs on the receiver's outputs.");
    assert!(empty.findings.is_empty());
}

#[test]
fn a_receiver_is_known_by_any_of_its_names() {
    let text = "[[part]]\nname = \"servo\"\nreceiver = \"blue one\"\noutput = 1\n";
    let receivers = vec![Named { label: "R7".to_owned(), also: vec!["Blue One".to_owned()] }];
    let answer = answer(text, &Facts { receivers, ..Facts::default() });
    assert_eq!(answer.findings, Vec::new());
    assert_eq!(answer.wiring[0].receiver, "R7");
    assert_eq!(answer.not_checked.len(), 2, "no transmitter, no pulse range: {:?}", answer.not_checked);
}

#[test]
fn what_cant_be_is_refused_with_its_place() {
    let text = r#"
[[transmitter]]
label = "T1"
order = ["AETR"]
channels = 3
[[transmitter]]
label = "T2"
order = ["AETR"]
[[transmitter]]
label = "t2"
order = ["AETR"]
reversed = ["flaps"]
[[transmitter]]
label = "T3"
order = ["AETR"]
low_us = 2000
high_us = 1000
[[output]]
number = 1
low_us = 1000
centre_us = 900
high_us = 2000
[[output]]
number = 2
sends = "pulses"
stream = "serial bus"
[[output]]
receiver = "R7"
number = 3
[[part]]
name = "servo"
output = 1
low_us = 1500
high_us = 1500
[[part]]
name = "Servo"
output = 2
"#;
    let problems = Outputs::read("fit.toml", text).unwrap_err();
    let says = problems.iter().fold(String::new(), |mut out, one| {
        writeln!(out, "{one}").unwrap();
        out
    });
    insta::assert_snapshot!("refused", says);
    let typed = [("transmitter.1.label", "T1"), ("transmitter.1.order", ",")];
    let typed = typed.map(|(path, text)| (path.to_owned(), text.to_owned()));
    let filled = fitting::part::from_inputs(&fitting::outputs::SCHEMA, "form", &typed);
    assert!(filled.and_then(|filled| Outputs::of("form", &filled)).is_err());
}

/// One aircraft with nearly everything wrong: each text as a person reads it.
#[test]
fn every_text() {
    let facts = Facts {
        craft: "aeroplane".to_owned(),
        receivers: vec![named("R7"), named("R9")],
        transmitters: vec![named("T1"), named("T4")],
    };
    let answer = answer(cases::BAD, &facts);
    let mut out = format!("{}\n", answer.sentence);
    for one in &answer.findings {
        write!(
            out,
            "\n{} {} ({})\n  {}\n  {}\n  {}\n",
            one.weight, one.key, one.about, one.text, one.consequence, one.mend
        )
        .unwrap();
    }
    out.push_str("\nnot checked\n");
    for one in &answer.not_checked {
        writeln!(out, "  {one}").unwrap();
    }
    out.push_str("\ndrawing\n");
    for wire in &answer.wiring {
        let parts: Vec<&str> = wire.parts.iter().map(|part| part.name.as_str()).collect();
        let weight = wire.weight.map_or("-", Weight::word);
        writeln!(out, "  {} {}: {} [{}] {weight}", wire.receiver, wire.number, wire.says, parts.join(", "))
            .unwrap();
    }
    insta::assert_snapshot!("every_text", out);
}

/// The row of CASES that has a sort of finding proves it; here none is forgotten.
#[test]
fn the_rows_reach_every_sort_of_finding() {
    let mut keys: Vec<&str> = CASES.iter().flat_map(|case| case.finds.iter().map(|(key, _)| *key)).collect();
    keys.sort_unstable();
    keys.dedup();
    let sources = [
        include_str!("../src/outputs/frame.rs"),
        include_str!("../src/outputs/range.rs"),
        include_str!("../src/outputs/sender.rs"),
        include_str!("../src/outputs/signal.rs"),
        include_str!("../src/outputs/surface.rs"),
        include_str!("../src/outputs/wiring.rs"),
    ];
    let mut written: Vec<&str> = sources
        .iter()
        .flat_map(|text| text.split("found.add(").skip(1))
        .filter_map(|rest| rest.trim_start().strip_prefix('"')?.split('"').next())
        .collect();
    written.sort_unstable();
    written.dedup();
    assert!(written.len() > 25, "{written:?}");
    assert_eq!(keys, written);
}

fn found(text: &str, craft: &str) -> Answer {
    let facts = Facts { craft: craft.to_owned(), ..Facts::default() };
    check(&Outputs::read("test", text).unwrap(), &facts)
}

fn heavy(answer: &Answer) -> Vec<&'static str> {
    let those = answer.findings.iter().filter(|one| one.weight > Weight::Note);
    those.map(|one| one.key).collect()
}

/// A flight controller on a stream hears every channel, also where the output has no row of its own.
#[test]
fn all_channels_of_a_stream_are_in_use() {
    let text = "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\", \"arm\"]\n[[part]]\nname = \"fc\"\n\
                sort = \"controller\"\noutput = 1\nstream = \"serial bus\"\n";
    let outputs = Outputs::read("test", text).unwrap();
    assert_eq!(functions(&outputs), ["aileron", "elevator", "throttle", "rudder", "arm"]);
    // Two channels of one name are two channels; so is a second motor on a channel without a name.
    let text = "[[transmitter]]\nlabel = \"T1\"\norder = [\"throttle\", \"throttle\"]\nchannels = 3\n\
                [[part]]\nname = \"a\"\noutput = 1\n[[part]]\nname = \"b\"\noutput = 2\n\
                [[part]]\nname = \"c\"\noutput = 3\nfunction = \"third motor\"\n";
    let used = fitting::outputs::used(&Outputs::read("test", text).unwrap());
    assert_eq!(used.iter().map(|one| one.channel).collect::<Vec<_>>(), [Some(1), Some(2), Some(3)]);
}

/// A mix's surface on the channel of one of its sticks, and a wheel on the rudder's, are usual; a flap
/// there isn't (trade usage, no source).
#[test]
fn mixes_and_wheels_are_no_faults() {
    let with = |function: &str| {
        found(
            &format!(
                "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n[[part]]\nname = \"a\"\noutput = 1\n\
                 [[part]]\nname = \"e\"\noutput = 2\n[[part]]\nname = \"m\"\nsort = \"speed-controller\"\n\
                 output = 3\n[[part]]\nname = \"r\"\noutput = 4\nfunction = \"{function}\"\n"
            ),
            "aeroplane",
        )
    };
    for function in ["steering", "nose wheel", "yaw", "left V-tail", "ruddervator"] {
        assert_eq!(heavy(&with(function)), Vec::<&str>::new(), "{function}");
    }
    assert!(with("ruddervator").not_checked.iter().any(|one| one.contains("what the mix sends")));
    for function in ["flap", "elevon", "motor"] {
        assert_eq!(heavy(&with(function)), ["function_differs"], "{function}");
    }
    assert!(!is_throttle("throttle cut") && !is_throttle("Motor kill") && is_throttle("engines"));
}

/// An engine that idles above its shut throttle is shut with the stick down; a controller that goes both
/// ways stands in the middle, which in a boat or car needn't be said (common practice, no source).
#[test]
fn engines_and_controllers_that_reverse_stand_where_they_do() {
    let with = |more: &str, part: &str, craft: &str| {
        found(
            &format!(
                "[[transmitter]]\nlabel = \"T1\"\norder = [\"throttle\"]\n{more}\n[[part]]\nname = \"t\"\n\
                 output = 1\n{part}\n"
            ),
            craft,
        )
    };
    let centre = "throttle_rest = \"centre\"";
    let esc = "sort = \"speed-controller\"";
    assert_eq!(heavy(&with("", "idle_us = 1150", "aeroplane")), Vec::<&str>::new());
    assert_eq!(heavy(&with("reversed = [\"throttle\"]", "idle_us = 1850", "aeroplane")), Vec::<&str>::new());
    assert_eq!(
        heavy(&with("reversed = [\"throttle\"]", "idle_us = 1150", "aeroplane")),
        ["throttle_not_idle"]
    );
    assert_eq!(heavy(&with("", "idle_us = 1500", "car")), ["throttle_not_idle"]);
    assert_eq!(heavy(&with(centre, esc, "race car")), Vec::<&str>::new());
    assert_eq!(heavy(&with(centre, esc, "aeroplane")), ["throttle_not_idle"]);
    let unknown = with(centre, esc, "");
    assert_eq!(heavy(&unknown), Vec::<&str>::new());
    assert!(unknown.not_checked.iter().any(|one| one.contains("rests in its middle")), "{unknown:?}");
}

/// As many rows as a part may have, all wrong: the answer stays short enough to read, and the heaviest of
/// each sort is in it.
#[test]
fn a_thousand_wrong_rows_are_told_in_part() {
    let mut text = String::new();
    for number in 0..900 {
        let _ = writeln!(
            text,
            "[[part]]\nname=\"{number}\"\noutput={}\nsurface=\"s\"\nlonger_moves=\"{}\"",
            number % 64 + 1,
            if number % 2 == 0 { "up" } else { "down" }
        );
    }
    let answer = found(&text, "");
    assert!(answer.findings.len() <= 600, "{}", answer.findings.len());
    assert!(answer.findings.iter().any(|one| one.key == "servos_opposed"));
    assert!(
        answer.not_checked.iter().any(|one| one.contains("more of the same sorts")),
        "{:?}",
        answer.not_checked
    );
}
