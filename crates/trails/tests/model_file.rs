//! Fault model files: what is read, what is refused and how it is told.

#![expect(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use std::fmt::Write as _;

use proptest::prelude::*;
use register::family::Energised;
use register::family::read::Problem;
use register::field::Field;
use register::rule::Rule;
use trails::belief::{Belief, Seen};
use trails::file::{self, read};
use trails::library;
use trails::model::{Answer, Leaves, Model, Trait};
use trails::planner::{Choice, Effort, advise};
use trails::table::Situation;
use units::Minutes;

/// A file that uses every key; each row of the table below breaks it in one way.
const GOOD: &str = include_str!("model_file/good.toml");

/// The page that describes the format.
const DOCS: &str = include_str!("../../../docs/fault-model.md");

fn problems(text: &str) -> Vec<Problem> {
    read("f.toml", text).err().unwrap_or_default()
}

/// The good file with one piece of it changed.
fn changed(from: &str, to: &str) -> String {
    assert_eq!(GOOD.matches(from).count(), 1, "not once in the good file: {from}");
    GOOD.replace(from, to)
}

fn close(got: f64, want: f64) -> bool {
    (got - want).abs() <= 1e-12
}

#[test]
fn every_key_is_read() {
    let model = read("good.toml", GOOD).unwrap();
    assert_eq!(
        (model.key.as_str(), model.name.as_str(), model.about.as_str()),
        ("dead_stick", "The stick does nothing", "Invented, for the tests.")
    );
    assert_eq!((model.unlisted, model.second, model.comeback), (4.0, 0.02, Minutes(45.0)));
    let give_up = model.give_up.as_ref().unwrap();
    assert_eq!((give_up.label.as_str(), give_up.minutes), ("Send it to its maker", Minutes(90.0)));

    // A cover may stand inside one that comes after it.
    let covers: Vec<_> = model
        .covers
        .iter()
        .map(|cover| (cover.key.as_str(), cover.label.as_str(), cover.open.0, cover.close.0, cover.inside))
        .collect();
    assert_eq!(
        covers,
        [("hatch", "the glued hatch", 10.0, 15.5, Some(1)), ("wing", "the wing", 2.0, 3.0, None)]
    );

    let [band, loose] = &model.causes[..] else { panic!("{:?}", model.causes) };
    assert_eq!((band.key.as_str(), band.weight, band.rule), ("band", 8.0, Some(Rule::Band)));
    assert_eq!(band.label, "The two ends are on different bands");
    assert_eq!(band.wants, [Trait::SeveralEnds]);
    assert_eq!((loose.key.as_str(), loose.weight, loose.rule), ("loose", 3.0, None));
    assert!(loose.wants.is_empty());

    let lamp = &model.steps[0];
    assert_eq!(
        (lamp.key.as_str(), lamp.label.as_str(), lamp.how.as_str(), lamp.good.as_str()),
        ("see_lamp", "Does the lamp glow?", "Look through the window.", "It glows steadily.")
    );
    assert_eq!((lamp.minutes, &lamp.needs[..]), (Minutes(2.0), &[0][..]));
    assert_eq!(lamp.energises, [Energised::Receiver, Energised::Servos]);
    assert_eq!(lamp.caution, "Not straight into the eye.");
    assert_eq!(lamp.wants, [Trait::Fitted, Trait::Secret]);
    assert_eq!(lamp.leaves, Some(Leaves { what: "The window is open".into(), back: "Shut it.".into() }));
    let check = lamp.as_check().unwrap();
    let answer = |key: &str, label: &str| Answer { key: key.into(), label: label.into() };
    assert_eq!(
        check.answers,
        [answer("yes", "Yes, it glows"), answer("no-lamp", "No lamp"), answer("it_blinks", "It blinks")]
    );
    assert_eq!((check.rule, check.field, check.lamp), (Some(Rule::Band), Some(Field::Firmware), true));
    assert_eq!(check.speaks, [true, false]);
    // Columns: band as said, loose as usual, what is not in the list as said.
    assert_eq!(check.likelihood, [[0.1, 0.5, 0.2], [0.9, 0.25, 0.3], [0.0, 0.25, 0.5]]);

    let plugs = &model.steps[1];
    assert_eq!(
        (plugs.key.as_str(), plugs.label.as_str(), plugs.how.as_str(), plugs.good.as_str()),
        ("push_plugs", "Push every plug home", "One after the other.", "None gives way.")
    );
    assert_eq!((plugs.minutes, &plugs.needs[..]), (Minutes(4.0), &[1][..]));
    assert_eq!((&plugs.energises[..], plugs.caution.as_str()), (&[Energised::Motor][..], "Propeller off."));
    assert_eq!(plugs.wants, [Trait::Waiting]);
    assert_eq!(plugs.leaves, Some(Leaves { what: "The tape is off".into(), back: "Tape them.".into() }));
    let mend = plugs.as_mend().unwrap();
    assert_eq!((&mend.cures[..], &mend.seems[..]), (&[0.0, 0.9, 0.1][..], &[0.0, 0.3, 0.0][..]));
    assert_eq!((mend.watch.as_str(), mend.rule), ("three flights", Some(Rule::Pairing)));

    let proof = &model.proofs[0];
    assert_eq!(
        (proof.key.as_str(), proof.text.as_str(), &proof.energises[..]),
        ("range", "Walk thirty paces: every control follows.", &[Energised::Transmitter][..])
    );
    model.check().unwrap();
}

#[test]
fn steps_stand_in_the_order_of_the_file() {
    let keys = |model: &Model| -> Vec<String> { model.steps.iter().map(|step| step.key.clone()).collect() };
    let model = read("good.toml", GOOD).unwrap();
    assert_eq!(keys(&model), ["see_lamp", "push_plugs", "other_band", "set_band"]);
    // Lists of tables written in a line each stand where they are written, too.
    let inline = r#"
schema = 1
mend = [
    { key = "first", do = "Mend", minutes = 1, cures = { a = 1 } },
    { key = "second", do = "Mend", minutes = 1, cures = { a = 1 } },
]
check = [{ key = "third", ask = "Well?", minutes = 1, answers = ["yes", "no"], usual = [1, 0] }]
cause = [{ key = "a", label = "A", weight = 1 }]
model = { key = "m", name = "M", unlisted = 0 }
"#;
    assert_eq!(keys(&read("inline.toml", inline).unwrap()), ["first", "second", "third"]);
}

#[test]
fn what_is_left_out_has_the_documented_default() {
    let small = r#"
schema = 1
[model]
key = "m"
name = "M"
unlisted = 0
[[cause]]
key = "a"
label = "A"
weight = 1
[[check]]
key = "ask"
ask = "Well?"
minutes = 1
answers = ["yes", "no"]
usual = [0.9, 0.1]
[[mend]]
key = "mend"
do = "Mend it"
minutes = 2
cures.a = 1
"#;
    let model = read("small.toml", small).unwrap();
    assert_eq!((model.about.as_str(), model.second, model.comeback), ("", 0.05, Minutes(0.0)));
    assert!(model.give_up.is_none() && model.covers.is_empty() && model.proofs.is_empty());
    let (ask, mend) = (&model.steps[0], &model.steps[1]);
    for step in [ask, mend] {
        assert_eq!((step.how.as_str(), step.good.as_str(), step.caution.as_str()), ("", "", ""));
        assert!(step.needs.is_empty() && step.energises.is_empty() && step.wants.is_empty());
        assert_eq!(step.leaves, None);
    }
    let check = ask.as_check().unwrap();
    assert_eq!((check.rule, check.field, check.lamp, &check.speaks[..]), (None, None, false, &[false][..]));
    // What is not in the list answers half as usual, half evenly: (0.9 + 0.5) / 2.
    assert!(close(check.likelihood[0][1], 0.7) && close(check.likelihood[1][1], 0.3), "{check:?}");
    let mend = mend.as_mend().unwrap();
    assert_eq!((&mend.cures[..], &mend.seems[..]), (&[1.0, 0.0][..], &[0.0, 0.0][..]));
    assert_eq!((mend.watch.as_str(), mend.rule), ("", None));

    // A fault that comes back costs giving up, where that is known.
    let given_up = small.replace("[[cause]]", "[give_up]\nlabel = \"Stop\"\nminutes = 70\n[[cause]]");
    assert_eq!(read("small.toml", &given_up).unwrap().comeback, Minutes(70.0));
    let own = given_up.replace("unlisted = 0", "unlisted = 0\ncomeback_minutes = 0");
    assert_eq!(read("small.toml", &own).unwrap().comeback, Minutes(0.0));
}

#[test]
fn rows_close_to_1_are_scaled_to_it() {
    // What people write for thirds, and the widest that is taken.
    let rows: [([f64; 3], bool); 6] = [
        ([0.33, 0.33, 0.34], true),
        ([0.333, 0.333, 0.333], true),
        ([0.501, 0.25, 0.25], true),
        ([0.5011, 0.25, 0.25], false),
        ([0.33, 0.33, 0.33], false),
        ([0.0, 0.0, 0.0], false),
    ];
    for ([a, b, c], taken) in rows {
        for from in ["usual = [0.5, 0.25, 0.25]", "unlisted = [0.2, 0.3, 0.5]", "if.band = [0.1, 0.9, 0]"] {
            let name = from.split_once(" = ").unwrap().0;
            let text = changed(from, &format!("{name} = [{a}, {b}, {c}]"));
            match read("f.toml", &text) {
                Ok(model) => {
                    assert!(taken, "{a} {b} {c} as {name} was taken");
                    let at = ["if.band", "usual", "unlisted"].iter().position(|one| *one == name).unwrap();
                    let check = model.steps[0].as_check().unwrap();
                    let column: Vec<f64> = check.likelihood.iter().map(|row| row[at]).collect();
                    let sum = a + b + c;
                    let want = [a / sum, b / sum, c / sum];
                    assert!(column.iter().zip(want).all(|(got, want)| close(*got, want)), "{column:?}");
                    assert!(close(column.iter().sum(), 1.0), "{column:?}");
                }
                Err(problems) => assert!(!taken, "{problems:?}"),
            }
        }
    }
}

/// What is put in place of a piece of the good file, and every problem that follows.
#[test]
#[expect(clippy::too_many_lines, reason = "a table, a row a problem")]
fn each_problem_is_told_with_its_line_and_key() {
    let rows: &[(&str, &str, &[&str])] = &[
        // The schema and the sections.
        ("schema = 1", "", &["1: `schema` is missing; add it, as in `schema = 1`"]),
        (
            "schema = 1",
            "schema = 2",
            &[
                "1: `schema` is 2, newer than the 1 this version reads; use a newer version of the program, or write the file for schema 1",
            ],
        ),
        (
            "[model]\nkey = \"dead_stick\"\nname = \"The stick does nothing\"\nabout = \"Invented, for the tests.\"\nunlisted = 4\nsecond = 0.02\ncomeback_minutes = 45",
            "",
            &["1: `model` is missing; add a section [model]"],
        ),
        (
            "[give_up]",
            "[[give_up]]",
            &["11: `give_up` is a list; there is one such section: write [give_up]"],
        ),
        (
            "[[proof]]",
            "[proof]",
            &["96: `proof` is a section; there can be several: write [[proof]] with two brackets"],
        ),
        ("[[proof]]", "[[prof]]", &["96: `prof` is not a key that belongs here; did you mean `proof`?"]),
        // Syntax: one error stops the look at the meaning, a key given twice doesn't.
        (
            "unlisted = 4",
            "unlisted = ",
            &[
                "7: the file can't be read from here: string values must be quoted, expected literal string; correct this line",
            ],
        ),
        (
            "minutes = 90",
            "minutes = 90\nminutes = -1",
            &["14: the key on this line is given twice; keep one of the two"],
        ),
        // The head.
        (
            "key = \"dead_stick\"",
            "key = \"dead stick\"",
            &["4: `model.key` is \"dead stick\"; a key has letters a to z, digits and _ only"],
        ),
        (
            "key = \"dead_stick\"",
            "key = \"\"",
            &["4: `model.key` is blank; write something, as in `key = \"wont_pair\"`"],
        ),
        (
            "name = \"The stick does nothing\"",
            "",
            &["3: `model.name` is missing; add it, as in `name = \"Won't pair or link\"`"],
        ),
        (
            "name = \"The stick does nothing\"",
            "name = 7",
            &[
                "5: `model.name` is a whole number; write text in quotes, as in `name = \"Won't pair or link\"`",
            ],
        ),
        ("unlisted = 4", "unlisted = -0.5", &["7: `model.unlisted` is -0.5, outside 0 to 10000; correct it"]),
        ("unlisted = 4", "", &["3: `model.unlisted` is missing; add it, as in `unlisted = 4`"]),
        ("second = 0.02", "second = 1.5", &["8: `model.second` is 1.5, outside 0 to 1; correct it"]),
        (
            "comeback_minutes = 45",
            "comeback_minutes = \"45\"",
            &[
                "9: `model.comeback_minutes` is text; write a number from 0 to 10080, as in `comeback_minutes = 60`",
            ],
        ),
        (
            "comeback_minutes = 45",
            "comeback = 45",
            &[
                "9: `model.comeback` is not a key that belongs here; the keys here are `key`, `name`, `about`, `unlisted`, `second`, `comeback_minutes`",
            ],
        ),
        (
            "label = \"Send it to its maker\"",
            "label = \" \"",
            &["12: `give_up.label` is blank; write something, as in `label = \"Replace the receiver.\"`"],
        ),
        (
            "minutes = 90",
            "minutes = inf",
            &["13: `give_up.minutes` is a number too large to read, outside 0 to 10080; correct it"],
        ),
        // Covers.
        (
            "key = \"wing\"",
            "key = \"hatch\"",
            &[
                "20: `cover[1].inside` is \"wing\", which is not the key of a cover; write a section [[cover]] with it, or leave it out",
                "23: `cover[2].key` is \"hatch\", which another cover has already; give it another key",
                "65: `mend[1].needs[1]` is \"wing\", which is not the key of a cover; write a section [[cover]] with it, or leave it out",
            ],
        ),
        (
            "inside = \"wing\"",
            "inside = \"wnig\"",
            &[
                "20: `cover[1].inside` is \"wnig\", which is not the key of a cover; write a section [[cover]] with it, or leave it out",
            ],
        ),
        (
            "inside = \"wing\"",
            "inside = \"hatch\"",
            &["20: `cover[1].inside` puts the cover inside itself; take one `inside` away"],
        ),
        (
            "close_minutes = 3",
            "close_minutes = 3\ninside = \"hatch\"",
            &["20: `cover[1].inside` puts the cover inside itself; take one `inside` away"],
        ),
        (
            "close_minutes = 15.5",
            "",
            &["15: `cover[1].close_minutes` is missing; add it, as in `close_minutes = 15`"],
        ),
        (
            "open_minutes = 2\n",
            "open_minutes = nan\n",
            &["25: `cover[2].open_minutes` is NaN, outside 0 to 10080; correct it"],
        ),
        // Causes.
        (
            "key = \"loose\"",
            "key = \"band\"",
            &[
                "36: `cause[2].key` is \"band\", which another cause has already; give it another key",
                "70: `mend[1].cures.loose` is not the key of a cause; write a section [[cause]] with it, or leave it out",
                "71: `mend[1].seems.loose` is not the key of a cause; write a section [[cause]] with it, or leave it out",
                "88: `check[2].if.loose` is not the key of a cause; write a section [[cause]] with it, or leave it out",
            ],
        ),
        (
            "key = \"loose\"",
            "key = \"unlisted\"",
            &[
                "36: `cause[2].key` is \"unlisted\", which stands for what is not in the list; give it another key",
                "70: `mend[1].cures.loose` is not the key of a cause; write a section [[cause]] with it, or leave it out",
                "71: `mend[1].seems.loose` is not the key of a cause; write a section [[cause]] with it, or leave it out",
                "88: `check[2].if.loose` is not the key of a cause; write a section [[cause]] with it, or leave it out",
            ],
        ),
        ("weight = 3", "weight = 10001", &["38: `cause[2].weight` is 10001, outside 0 to 10000; correct it"]),
        ("weight = 3", "", &["35: `cause[2].weight` is missing; add it, as in `weight = 8`"]),
        (
            "rule = \"band\"\nwants = [\"several-ends\"]",
            "rule = \"bend\"\nwants = [\"several-ends\"]",
            &[
                "32: `cause[1].rule` is \"bend\"; write \"family\", \"band\", \"region\", \"version\", \"secret\", \"pairing\" or \"model_id\"",
            ],
        ),
        (
            "wants = [\"several-ends\"]",
            "wants = [\"several ends\", \"secret\", \"secret\"]",
            &[
                "33: `cause[1].wants[1]` is \"several ends\"; it can be \"secret\", \"blank-secret\", \"links-unpaired\", \"model-id\", \"model-id-off\", \"region\", \"version\", \"waiting\", \"telemetry\", \"fitted\" or \"several-ends\"",
                "33: `cause[1].wants[3]` says \"secret\" a second time; leave it out",
            ],
        ),
        // Checks.
        (
            "key = \"other_band\"",
            "key = \"push_plugs\"",
            &["80: `check[2].key` is \"push_plugs\", which another step has already; give it another key"],
        ),
        (
            "ask = \"Does the lamp glow?\"",
            "do = \"Does the lamp glow?\"",
            &[
                "40: `check[1].ask` is missing; add it, as in `ask = \"Does the receiver's lamp glow?\"`",
                "42: `check[1].do` is not a key that belongs here; the keys here are `key`, `ask`, `how`, `good`, `minutes`, `needs`, `energises`, `caution`, `wants`, `rule`, `fact`, `lamp`, `answers`, `usual`, `unlisted`, `if`, `leaves`",
            ],
        ),
        (
            "needs = [\"hatch\"]",
            "needs = [\"hatch\", \"hatch\", \"hetch\", \"fuselage\"]",
            &[
                "46: `check[1].needs[2]` says \"hatch\" a second time; leave it out",
                "46: `check[1].needs[3]` is \"hetch\", which is not the key of a cover; did you mean `hatch`?",
                "46: `check[1].needs[4]` is \"fuselage\", which is not the key of a cover; write a section [[cover]] with it, or leave it out",
            ],
        ),
        (
            "energises = [\"receiver\", \"servos\"]",
            "energises = \"receiver\"",
            &[
                "47: `check[1].energises` is text; write a list in square brackets, as in `energises = [\"receiver\"]`",
            ],
        ),
        (
            "fact = \"firmware\"",
            "fact = \"colour\"",
            &[
                "51: `check[1].fact` is \"colour\"; write \"code\", \"name\", \"maker\", \"model\", \"craft\", \"state\", \"owner\", \"family\", \"band\", \"region\", \"firmware\", \"secret\", \"model_id\", \"partners\", \"aircraft\", \"end\", \"antenna\", \"pack\", \"handset\" or \"note\"",
            ],
        ),
        (
            "lamp = true",
            "lamp = \"yes\"",
            &["52: `check[1].lamp` is text; write true or false, as in `lamp = true`"],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\"]",
            &[
                "83: `check[2].answers` has fewer than two answers; a check tells something only with two or more",
            ],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = \"yes\"",
            &[
                "83: `check[2].answers` is text; write a list in square brackets, as in `answers = [\"yes\", \"no\"]`",
            ],
        ),
        (
            "answers = [\"yes\", \"no\"]\n",
            "",
            &["79: `check[2].answers` is missing; add it, as in `answers = [\"yes\", \"no\"]`"],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\", \"yes\"]",
            &["83: `check[2].answers[2]` is \"yes\" a second time; give it another key"],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\", \"cant-tell\"]",
            &["83: `check[2].answers[2]` is \"cant-tell\", an answer that every check has; leave it out"],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\", \"No, it is not\"]",
            &[
                "83: `check[2].answers[2]` is \"No, it is not\"; an answer's key has letters a to z, digits, _ and - only: write { key = \"…\", label = \"…\" }",
            ],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\", 2]",
            &["83: `check[2].answers[2]` is a whole number; write text in quotes"],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\", { kye = \"no\" }]",
            &[
                "83: `check[2].answers[2].key` is missing; add it, as in `key = \"yes\"`",
                "83: `check[2].answers[2].kye` is not a key that belongs here; the keys here are `key`, `label`",
            ],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"yes\", { key = \"no\", label = \"\" }]",
            &["83: `check[2].answers[2].label` is blank; write something, as in `label = \"Yes, it glows\"`"],
        ),
        (
            "answers = [\"yes\", \"no\"]",
            "answers = [\"1\",\"2\",\"3\",\"4\",\"5\",\"6\",\"7\",\"8\",\"9\",\"10\",\"11\",\"12\",\"13\",\"14\",\"15\",\"16\",\"17\",\"18\",\"19\",\"20\",\"21\"]",
            &["83: `check[2].answers` has 21 answers, more than the 20 a check may have; join some"],
        ),
        // Likelihoods.
        (
            "usual = [0.9, 0.1]\n",
            "",
            &["79: `check[2].usual` is missing; add it, as in `usual = [0.9, 0.1]`"],
        ),
        (
            "usual = [0.9, 0.1]",
            "usual = [0.9, 0.2]",
            &["84: `check[2].usual` sums to 1.1; the likelihoods of a row sum to 1"],
        ),
        (
            "usual = [0.9, 0.1]",
            "usual = [1.9, -0.9]",
            &[
                "84: `check[2].usual[1]` is 1.9, outside 0 to 1; correct it",
                "84: `check[2].usual[2]` is -0.9, outside 0 to 1; correct it",
            ],
        ),
        (
            "usual = [0.9, 0.1]",
            "usual = [0.9, 0.1, 0]",
            &["84: `check[2].usual` has 3 likelihoods for 2 answers; write one an answer"],
        ),
        (
            "usual = [0.9, 0.1]",
            "usual = 0.9",
            &[
                "84: `check[2].usual` is a number with decimals; write a list in square brackets, as in `usual = [0.9, 0.1]`",
            ],
        ),
        (
            "unlisted = [0.2, 0.3, 0.5]",
            "unlisted = 0.2",
            &[
                "55: `check[1].unlisted` is a number with decimals; write a list in square brackets, as in `unlisted = [0.6, 0.4]`",
            ],
        ),
        (
            "unlisted = [0.2, 0.3, 0.5]",
            "unlisted = []",
            &["55: `check[1].unlisted` has 0 likelihoods for 3 answers; write one an answer"],
        ),
        (
            "if.band = [0.1, 0.9, 0]",
            "if.bend = [0.1, 0.9, 0]",
            &["56: `check[1].if.bend` is not the key of a cause; did you mean `band`?"],
        ),
        (
            "if.band = [0.1, 0.9, 0]",
            "if.anything = [0.1, 0.9, 0]",
            &[
                "56: `check[1].if.anything` is not the key of a cause; write a section [[cause]] with it, or leave it out",
            ],
        ),
        (
            "if.band = [0.1, 0.9, 0]",
            "if.unlisted = [0.1, 0.9, 0]",
            &[
                "56: `check[1].if.unlisted` is not the key of a cause; write `unlisted = …` in the section itself",
            ],
        ),
        (
            "if.band = [0.1, 0.9, 0]",
            "if = [0.1, 0.9, 0]",
            &["56: `check[1].if` is a list; write one value a key, as in `if = { band = [0.1, 0.9] }`"],
        ),
        (
            "if.band = [0.1, 0.9, 0]",
            "if.band = 0.1",
            &["56: `check[1].if.band` is a number with decimals; write a list in square brackets"],
        ),
        (
            "band = [0.05, 0.95]",
            "band = [0.05, 0.9]",
            &["87: `check[2].if.band` sums to 0.95; the likelihoods of a row sum to 1"],
        ),
        (
            "band = [0.05, 0.95]",
            "band = [\"0.05\", 0.95]",
            &["87: `check[2].if.band[1]` is text; write a number from 0 to 1"],
        ),
        // Mends.
        (
            "do = \"Push every plug home\"",
            "ask = \"Push every plug home\"",
            &[
                "59: `mend[1].do` is missing; add it, as in `do = \"Choose the end on the receiver's band\"`",
                "61: `mend[1].ask` is not a key that belongs here; the keys here are `key`, `do`, `how`, `good`, `minutes`, `needs`, `energises`, `caution`, `wants`, `rule`, `cures`, `seems`, `unlisted`, `watch`, `leaves`",
            ],
        ),
        (
            "minutes = 4\nneeds",
            "minutes = 10081\nneeds",
            &["64: `mend[1].minutes` is 10081, outside 0 to 10080; correct it"],
        ),
        ("minutes = 4\nneeds", "needs", &["59: `mend[1].minutes` is missing; add it, as in `minutes = 4`"]),
        (
            "cures.band = 0.95",
            "",
            &[
                "90: `mend[2].cures` cures nothing; say what it cures and how likely, as in `cures.band = 0.95`",
            ],
        ),
        (
            "cures.band = 0.95",
            "cures.band = 0",
            &[
                "94: `mend[2].cures` cures nothing; say what it cures and how likely, as in `cures.band = 0.95`",
            ],
        ),
        (
            "cures.band = 0.95",
            "cures.bond = 0.95",
            &["94: `mend[2].cures.bond` is not the key of a cause; did you mean `band`?"],
        ),
        (
            "cures.band = 0.95",
            "cures.unlisted = 0.95",
            &[
                "94: `mend[2].cures.unlisted` is not the key of a cause; write `unlisted = …` in the section itself",
            ],
        ),
        (
            "cures.band = 0.95",
            "cures = 0.95",
            &[
                "94: `mend[2].cures` is a number with decimals; write one value a key, as in `cures = { band = 0.95 }`",
            ],
        ),
        (
            "cures.band = 0.95",
            "cures.band = [0.95]",
            &["94: `mend[2].cures.band` is a list; write a number from 0 to 1"],
        ),
        (
            "seems.loose = 0.3",
            "seems.loose = 1.3",
            &["71: `mend[1].seems.loose` is 1.3, outside 0 to 1; correct it"],
        ),
        ("unlisted = 0.1", "unlisted = 2", &["72: `mend[1].unlisted` is 2, outside 0 to 1; correct it"]),
        (
            "back = \"Tape them.\"",
            "",
            &["75: `mend[1].leaves.back` is missing; add it, as in `back = \"Switch it on.\"`"],
        ),
        (
            "rule = \"pairing\"",
            "rule = [\"pairing\"]",
            &["69: `mend[1].rule` is a list; write text in quotes, as in `rule = \"band\"`"],
        ),
        // Proofs.
        (
            "text = \"Walk thirty paces: every control follows.\"",
            "",
            &[
                "96: `proof[1].text` is missing; add it, as in `text = \"Walk thirty paces with range-check power: every control follows.\"`",
            ],
        ),
        (
            "energises = [\"transmitter\"]",
            "energises = [\"propeller\"]",
            &[
                "99: `proof[1].energises[1]` is \"propeller\"; it can be \"receiver\", \"servos\", \"motor\" or \"transmitter\"",
            ],
        ),
    ];
    let mut wrong = Vec::new();
    for (from, to, want) in rows {
        let told: Vec<String> = problems(&changed(from, to))
            .iter()
            .map(|one| one.to_string().trim_start_matches("f.toml:").to_owned())
            .collect();
        if told != *want {
            wrong.push(format!("{from:?} -> {to:?}\n  told {told:#?}\n  want {want:#?}"));
        }
    }
    assert!(rows.len() > 60);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What no single change to the good file shows.
#[test]
fn files_without_causes_weights_or_steps_are_told() {
    let head = "schema = 1\n[model]\nkey = \"m\"\nname = \"M\"\nunlisted = 0\n";
    let cause = "[[cause]]\nkey = \"a\"\nlabel = \"A\"\nweight = 0\n";
    let mend = "[[mend]]\nkey = \"b\"\ndo = \"B\"\nminutes = 1\ncures.a = 1\n";
    let free = "[[mend]]\nkey = \"b\"\ndo = \"B\"\nminutes = 1\nunlisted = 1\n";
    let rows: &[(String, &[&str])] = &[
        (
            String::new(),
            &[
                "f.toml:1: the file has no step; add a section [[check]] or [[mend]]",
                "f.toml:1: `cause` is missing; add a section [[cause]]",
                "f.toml:1: `model` is missing; add a section [model]",
                "f.toml:1: `schema` is missing; add it, as in `schema = 1`",
            ],
        ),
        (
            format!("{head}{cause}"),
            &[
                "f.toml:1: the file has no step; add a section [[check]] or [[mend]]",
                "f.toml:6: `cause` has no weight in any of them; give at least one a `weight` above 0",
            ],
        ),
        (
            format!("{head}{cause}{mend}"),
            &["f.toml:6: `cause` has no weight in any of them; give at least one a `weight` above 0"],
        ),
        (format!("{}{cause}{mend}", head.replace("unlisted = 0", "unlisted = 1")), &[]),
        (format!("{head}{}{mend}", cause.replace("weight = 0", "weight = 0.5")), &[]),
        (format!("cause = []\n{head}{free}"), &["f.toml:1: `cause` has none in it; add a section [[cause]]"]),
        (
            format!("check = []\nmend = []\n{head}{}", cause.replace("weight = 0", "weight = 1")),
            &["f.toml:1: the file has no step; add a section [[check]] or [[mend]]"],
        ),
    ];
    for (text, want) in rows {
        let told: Vec<String> = problems(text).iter().map(ToString::to_string).collect();
        assert_eq!(told, *want, "{text}");
    }
}

#[test]
fn every_problem_of_a_file_is_told_at_once() {
    let text = GOOD
        .replace("unlisted = 4", "unlisted = -1")
        .replace("inside = \"wing\"", "inside = \"fuselage\"")
        .replace("rule = \"band\"\nwants", "rule = \"colour\"\nwants")
        .replace("usual = [0.5, 0.25, 0.25]", "usual = [0.5, 0.25]")
        .replace("cures.loose = 0.9", "cures.lose = 0.9")
        .replace("text = ", "txt = ");
    let told: Vec<_> = problems(&text).into_iter().map(|one| (one.line, one.key)).collect();
    let want = [
        (7, "model.unlisted"),
        (20, "cover[1].inside"),
        (32, "cause[1].rule"),
        (54, "check[1].usual"),
        (70, "mend[1].cures.lose"),
        (96, "proof[1].text"),
        (98, "proof[1].txt"),
    ];
    assert_eq!(told, want.map(|(line, key)| (line, key.to_owned())));
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_do_no_harm() {
    let text = format!("\u{feff}{}", GOOD.replace('\n', "\r\n"));
    assert_eq!(read("good.toml", &text), read("good.toml", GOOD));
}

#[test]
fn a_file_made_to_fill_the_memory_is_refused() {
    let told = |text: &str| problems(text).iter().map(ToString::to_string).collect::<Vec<_>>();
    let huge = "#".repeat(file::LARGEST_FILE_BYTES + 1);
    assert_eq!(
        told(&huge),
        ["f.toml:1: the file has 262145 bytes, more than the 262144 a fault model may have; \
          check that it is the right file"]
    );
    let mut text = "schema=1\nmodel={key=\"m\",name=\"m\",unlisted=1}\n".to_owned();
    for i in 0..1_000 {
        writeln!(text, "[[cause]]\nkey=\"c{i}\"\nlabel=\"c\"\nweight=1").unwrap();
    }
    let answers: Vec<String> = (0..20).map(|i| format!("\"{i}\"")).collect();
    let usual = vec!["0.05"; 20].join(",");
    for i in 0..200 {
        let answers = answers.join(",");
        writeln!(text, "[[check]]\nkey=\"s{i}\"\nask=\"?\"\nminutes=1\nanswers=[{answers}]\nusual=[{usual}]")
            .unwrap();
    }
    assert_eq!(
        told(&text),
        ["f.toml:1: the steps come to more than 2000000 likelihoods (causes times answers); \
          split the file into smaller models"]
    );
}

/// The documentation has every key there is in the table of its section, in the same order,
/// and no other.
#[test]
fn every_key_is_documented() {
    let mut documented: Vec<(&str, Vec<&str>)> = Vec::new();
    for line in DOCS.lines() {
        if let Some(rest) = line.strip_prefix("### ") {
            documented.push((rest.split('`').nth(1).unwrap_or_default(), Vec::new()));
        } else if let Some(row) = line.strip_prefix("| `")
            && let Some((_, keys)) = documented.last_mut()
        {
            keys.extend(row.split('`').next());
        }
    }
    let read: Vec<(&str, Vec<&str>)> = file::KEYS
        .iter()
        .map(|(header, keys)| (*header, keys.iter().map(|(key, _)| *key).collect()))
        .collect();
    assert!(read.iter().map(|(_, keys)| keys.len()).sum::<usize>() > 50);
    assert_eq!(documented, read);
}

/// The words to choose from are those that are read.
#[test]
fn every_word_is_documented() {
    let words = Trait::ALL
        .iter()
        .map(|one| one.word())
        .chain(Rule::ALL.iter().map(|one| one.word()))
        .chain(Energised::ALL.iter().map(|one| one.word()))
        .chain(Field::ALL.iter().map(|one| one.key()));
    let missing: Vec<&str> = words.filter(|word| !DOCS.contains(&format!("`\"{word}\"`"))).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

/// The models in the good file use every key but those with a default that they spell out
/// elsewhere: a key nobody reads would go unnoticed.
#[test]
fn the_good_file_has_every_key() {
    let mut missing = Vec::new();
    for (header, keys) in file::KEYS {
        for (key, _) in *keys {
            let there = [
                format!("\n{key} = "),
                format!("\n{key}."),
                format!(".{key}]"),
                format!("{{ {key} = "),
                format!(", {key} = "),
            ];
            if !there.iter().any(|one| GOOD.contains(one)) {
                missing.push(format!("{header} {key}"));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:?}");
}

fn example() -> &'static str {
    DOCS.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap()
}

/// The least expected minutes times the weight there is, by trying every order of steps.
/// One fault at a time; giving up must be known.
fn least(model: &Model, weights: &[f64], done: &[bool], open: &[bool]) -> f64 {
    let mass: f64 = weights.iter().sum();
    if mass <= 0.0 {
        return 0.0;
    }
    (0..model.steps.len())
        .filter(|at| !done[*at])
        .map(|at| first(model, at, weights, done, open))
        .fold(model.give_up.as_ref().unwrap().minutes.0 * mass, f64::min)
}

/// The same when this step is the first.
fn first(model: &Model, at: usize, weights: &[f64], done: &[bool], open: &[bool]) -> f64 {
    let step = &model.steps[at];
    let mut minutes = step.minutes.0;
    let (mut done, mut open) = (done.to_vec(), open.to_vec());
    done[at] = true;
    for cover in step.needs.iter().copied() {
        assert_eq!(model.covers[cover].inside, None, "covers within covers aren't tried here");
        if !open[cover] {
            minutes += model.covers[cover].open.0 + model.covers[cover].close.0;
            open[cover] = true;
        }
    }
    let price = minutes * weights.iter().sum::<f64>();
    let after = |keep: &dyn Fn(usize) -> f64| -> Vec<f64> {
        weights.iter().enumerate().map(|(cause, weight)| weight * keep(cause)).collect()
    };
    match (step.as_check(), step.as_mend()) {
        (Some(check), _) => {
            let rows = check.likelihood.iter();
            price + rows.map(|row| least(model, &after(&|cause| row[cause]), &done, &open)).sum::<f64>()
        }
        (_, Some(mend)) => {
            let hidden: f64 = after(&|cause| (1.0 - mend.cures[cause]) * mend.seems[cause]).iter().sum();
            let left = after(&|cause| (1.0 - mend.cures[cause]) * (1.0 - mend.seems[cause]));
            price + hidden * model.comeback.0 + least(model, &left, &done, &open)
        }
        _ => panic!("{step:?}"),
    }
}

/// The example is read, and every order of its steps tried gives the minutes that the planner
/// gives, which are those that the page tells.
#[test]
fn the_documented_example_is_read_and_solved() {
    let model = read("docs/fault-model.md", example()).unwrap();
    assert_eq!((model.causes.len(), model.steps.len()), (3, 5));

    // Weights 5, 3, 1 and 1; the control follows with 0, 0, 0.95 and (0 + 0.5) / 2.
    let seen = Seen::Answer { step: model.step("move_stick").unwrap(), answer: 0 };
    let belief = Belief::of(&model, &[seen]);
    assert!(close(belief.singles[2], 0.95 / (0.95 + 0.25)), "{belief:?}");

    let situation = Situation::start(&model);
    let advice = advise(&model, &situation, Effort::default());
    let total: f64 = model.priors().iter().sum();
    let weights: Vec<f64> = model.priors().iter().map(|weight| weight / total).collect();
    let want = least(&model, &weights, &situation.done, &situation.open);
    assert!(advice.method.exact(), "{advice:?}");
    assert!((advice.best.expected.0 - want).abs() < 1e-9, "{advice:?}, by every order {want}");
    let Choice::Do(at) = advice.best.choice else { panic!("{advice:?}") };
    let by_hand = first(&model, at, &weights, &situation.done, &situation.open);
    assert!((by_hand - want).abs() < 1e-9, "{at} first takes {by_hand}, the best {want}");
    let told = format!("`{}` comes first: {want:.1} minutes expected", model.steps[at].key);
    assert!(DOCS.contains(&told), "the page should say: {told}");
}

#[test]
fn shipped_models_are_read() {
    let told: Vec<String> = library::problems().iter().map(ToString::to_string).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    let keys: Vec<String> = library::symptoms().into_iter().map(|model| model.key).collect();
    let files: Vec<&str> =
        library::shipped().iter().map(|(name, _)| name.trim_end_matches(".toml")).collect();
    assert_eq!(keys, files);
    assert!(keys.iter().all(|key| library::symptom(key).is_some_and(|model| model.key == *key)));
    assert!(library::symptom("no_such").is_none());
}

proptest! {
    #[test]
    fn any_text_is_read_or_told(text in any::<String>()) {
        for problem in problems(&text) {
            prop_assert!(problem.line >= 1 && problem.line <= text.matches('\n').count() + 1);
        }
    }

    /// A good file with anything in place of some of its characters: read, and then sound,
    /// or told.
    #[test]
    fn a_damaged_file_is_read_or_told(
        at in 0..GOOD.len(),
        len in 0_usize..40,
        put in "\\PC{0,9}|[\\[\\]{}\"'=.,#\\n0-9-]{0,5}",
    ) {
        let end = (at + len).min(GOOD.len());
        let text = format!("{}{put}{}", &GOOD[..at], &GOOD[end..]);
        match read("f.toml", &text) {
            Ok(model) => prop_assert_eq!(model.check(), Ok(())),
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                for problem in problems {
                    prop_assert!(problem.line >= 1 && problem.line <= text.matches('\n').count() + 1);
                    prop_assert!(!problem.says.is_empty());
                    prop_assert!(problem.to_string().chars().count() < 600, "{}", problem);
                }
            }
        }
    }

    /// Whole lines of the good file left out.
    #[test]
    fn a_file_with_lines_missing_is_read_or_told(keep in proptest::collection::vec(proptest::bool::weighted(0.9), 120)) {
        let lines: Vec<&str> =
            GOOD.lines().zip(&keep).filter(|(_, keep)| **keep).map(|(line, _)| line).collect();
        let text = lines.join("\n");
        match read("f.toml", &text) {
            Ok(model) => prop_assert_eq!(model.check(), Ok(())),
            Err(problems) => prop_assert!(!problems.is_empty()),
        }
    }
}
