//! Reads a fault model file and says where each problem is.
//!
//! One symptom a file, in TOML; the keys, their ranges and their defaults are described in
//! `docs/fault-model.md`. The tables of keys in [`KEYS`] are what is enforced, and a test
//! holds the two together.

mod figures;
mod parts;
mod steps;

use register::desk::{Desk, Keys, Section};
use register::family::read::Problem;
use units::Minutes;

use crate::model::Model;

/// The schema that this version reads.
pub const SCHEMA: u32 = 1;

/// The largest file read, bytes.
pub const LARGEST_FILE_BYTES: usize = 256 * 1024;

/// The most answers a check may have, *can't tell* apart.
pub const MOST_ANSWERS: usize = 20;

/// The greatest weight of a cause.
pub const MOST_WEIGHT: f64 = 10_000.0;

/// The most likelihoods a model may come to: its causes times the answers of all its checks
/// and the mends, twice. A guard against a file made to fill the memory.
pub const MOST_FIGURES: usize = 2_000_000;

/// Likelihoods that sum to 1 as closely as this are scaled to sum to 1; others are refused.
pub const SUM_SLACK: f64 = 1e-3;

/// The answer every check has, which tells nothing; no file can have one of this key.
pub const CANT_TELL: &str = "cant-tell";

/// How likely a second fault is where the file doesn't say (judgement).
pub const USUAL_SECOND: f64 = 0.05;

const TOP: Keys = &[
    ("schema", "1"),
    ("model", "[model]"),
    ("give_up", "[give_up]"),
    ("cover", "[[cover]]"),
    ("cause", "[[cause]]"),
    ("check", "[[check]]"),
    ("mend", "[[mend]]"),
    ("proof", "[[proof]]"),
];

const MODEL: Keys = &[
    ("key", "\"wont_pair\""),
    ("name", "\"Won't pair or link\""),
    ("about", "\"The receiver doesn't answer to the transmitter.\""),
    ("unlisted", "4"),
    ("second", "0.05"),
    ("comeback_minutes", "60"),
];

const GIVE_UP: Keys = &[("label", "\"Replace the receiver.\""), ("minutes", "90")];

const COVER: Keys = &[
    ("key", "\"hatch\""),
    ("label", "\"the glued hatch\""),
    ("open_minutes", "10"),
    ("close_minutes", "15"),
    ("inside", "\"wing\""),
    ("wants", "[\"fitted\"]"),
];

const CAUSE: Keys = &[
    ("key", "\"band\""),
    ("label", "\"The two ends are on different bands\""),
    ("weight", "8"),
    ("rule", "\"band\""),
    ("wants", "[\"several-ends\"]"),
];

const CHECK: Keys = &[
    ("key", "\"see_lamp\""),
    ("ask", "\"Does the receiver's lamp glow?\""),
    ("how", "\"Look through the window.\""),
    ("good", "\"It glows steadily.\""),
    ("minutes", "2"),
    ("needs", "[\"hatch\"]"),
    ("energises", "[\"receiver\"]"),
    ("caution", "\"The lamp is bright: don't look straight into it.\""),
    ("wants", "[\"fitted\"]"),
    ("rule", "\"band\""),
    ("fact", "\"band\""),
    ("lamp", "true"),
    ("answers", "[\"yes\", \"no\"]"),
    ("usual", "[0.9, 0.1]"),
    ("unlisted", "[0.6, 0.4]"),
    ("if", "{ band = [0.1, 0.9] }"),
    ("leaves", "{ what = \"The check is off\", back = \"Switch it on.\" }"),
];

const ANSWER: Keys = &[("key", "\"yes\""), ("label", "\"Yes, it glows\"")];

const LEAVES: Keys = &[("what", "\"The check is off\""), ("back", "\"Switch it on.\"")];

const MEND: Keys = &[
    ("key", "\"set_band\""),
    ("do", "\"Choose the end on the receiver's band\""),
    ("how", "\"In the transmitter's menu.\""),
    ("good", "\"The receiver answers.\""),
    ("minutes", "4"),
    ("needs", "[\"hatch\"]"),
    ("energises", "[\"receiver\"]"),
    ("caution", "\"Let the iron cool.\""),
    ("wants", "[\"several-ends\"]"),
    ("rule", "\"band\""),
    ("cures", "{ band = 0.95 }"),
    ("seems", "{ loose = 0.3 }"),
    ("unlisted", "0.1"),
    ("watch", "\"three flights\""),
    ("leaves", "{ what = \"The check is off\", back = \"Switch it on.\" }"),
];

const PROOF: Keys = &[
    ("key", "\"range\""),
    ("text", "\"Walk thirty paces with range-check power: every control follows.\""),
    ("minutes", "10"),
    ("energises", "[\"receiver\", \"servos\"]"),
];

/// Every table of keys, by its header, each key with an example of its value.
pub const KEYS: &[(&str, Keys)] = &[
    ("[model]", MODEL),
    ("[give_up]", GIVE_UP),
    ("[[cover]]", COVER),
    ("[[cause]]", CAUSE),
    ("[[check]]", CHECK),
    ("answers", ANSWER),
    ("leaves", LEAVES),
    ("[[mend]]", MEND),
    ("[[proof]]", PROOF),
];

/// Reads a fault model file; `origin` is what to call it in problems. Steps stand in the
/// order of the file, checks and mends among each other.
///
/// ```
/// let problems = trails::file::read("mine.toml", "schema = 1\n[modle]\nkey = \"x\"\n").unwrap_err();
/// let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
/// assert!(told.iter().any(|one| one.starts_with("mine.toml:2: `modle` is not a key")), "{told:?}");
/// ```
///
/// # Errors
/// Every problem found, by line, with its key: syntax, unknown keys, missing keys, wrong
/// types, values out of range, names of things that aren't there, likelihoods that don't sum
/// to 1. While the syntax is broken (other than by a key given twice) the meaning is not
/// looked at. A model that is read passes [`Model::check`].
pub fn read(origin: &str, text: &str) -> Result<Model, Vec<Problem>> {
    let mut desk = Desk::new(origin, text);
    let model = whole(&mut desk, text);
    let problems = desk.into_problems();
    match model {
        Some(model) if problems.is_empty() => Ok(model),
        _ => Err(problems),
    }
}

/// The model; none where something was wrong that keeps the rest from being looked at, and
/// not to be used where anything was reported.
fn whole(desk: &mut Desk<'_>, text: &str) -> Option<Model> {
    let root = desk.parse(text, "a fault model", LARGEST_FILE_BYTES)?;
    if !desk.schema_fits(root.get_ref(), TOP, SCHEMA) {
        return None;
    }
    let top = Section::new(desk, String::new(), 0, root.get_ref(), TOP);
    let head = parts::head(desk, &top);
    let give_up = parts::give_up(desk, &top);
    let covers = parts::covers(desk, &top);
    let causes = parts::causes(desk, &top, head.unlisted);
    let (steps, lines) = steps::steps(desk, &top, &causes, &covers)?;
    let proofs = parts::proofs(desk, &top);
    let comeback = head.comeback.unwrap_or(give_up.as_ref().map_or(Minutes(0.0), |one| one.minutes));
    let model = Model {
        key: head.key,
        name: head.name,
        about: head.about,
        causes,
        unlisted: head.unlisted,
        covers,
        steps,
        give_up,
        second: head.second,
        comeback,
        proofs,
    };
    backstop(desk, &model, &lines);
    Some(model)
}

/// What [`Model::check`] finds and the reader didn't is told at the step it is about.
fn backstop(desk: &mut Desk<'_>, model: &Model, lines: &[usize]) {
    if desk.count() > 0 {
        return;
    }
    if let Err(problem) = model.check() {
        let step = problem.at.strip_prefix("step ").and_then(|key| model.step(key));
        let line = step.and_then(|at| lines.get(at)).copied().unwrap_or(1);
        desk.report(line, "", problem.to_string());
    }
}
