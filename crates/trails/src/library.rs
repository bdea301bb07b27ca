//! The fault models that come with the program, one a symptom.
//!
//! Their weights, likelihoods and minutes are judgement; each file says so.

use std::sync::OnceLock;

use register::family::read::Problem;

use crate::file;
use crate::model::Model;

/// What the shipped files came to.
struct Library {
    symptoms: Vec<Model>,
    problems: Vec<Problem>,
}

/// The shipped fault models: file name and text, in the order in which symptoms are listed.
pub fn shipped() -> &'static [(&'static str, &'static str)] {
    &[
        ("wont_pair.toml", include_str!("../data/wont_pair.toml")),
        ("nothing_moves.toml", include_str!("../data/nothing_moves.toml")),
        ("short_range.toml", include_str!("../data/short_range.toml")),
        ("drops_out.toml", include_str!("../data/drops_out.toml")),
        ("wrong_aircraft.toml", include_str!("../data/wrong_aircraft.toml")),
        ("failsafe_wrong.toml", include_str!("../data/failsafe_wrong.toml")),
        ("no_telemetry.toml", include_str!("../data/no_telemetry.toml")),
    ]
}

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| gather(shipped()))
}

/// Reads each file for itself: one that can't be read doesn't take the others along.
fn gather(files: &[(&str, &str)]) -> Library {
    let mut out = Library { symptoms: Vec::new(), problems: Vec::new() };
    for (origin, text) in files {
        match file::read(origin, text) {
            Ok(model) => out.symptoms.push(model),
            Err(problems) => out.problems.extend(problems),
        }
    }
    out
}

/// Every shipped symptom, in the order of [`shipped`].
pub fn symptoms() -> Vec<Model> {
    library().symptoms.clone()
}

/// The shipped symptom with this key.
pub fn symptom(key: &str) -> Option<Model> {
    library().symptoms.iter().find(|model| model.key == key).cloned()
}

/// What keeps a shipped file from being read; none in a program as it was tested.
pub fn problems() -> &'static [Problem] {
    &library().problems
}

#[cfg(test)]
mod tests {
    use super::{gather, shipped};

    #[test]
    fn a_broken_file_leaves_the_others() {
        let broken = [shipped()[0], ("broken.toml", "schema = 1\n[model\n"), shipped()[1]];
        let library = gather(&broken);
        assert_eq!(library.symptoms.len(), 2);
        assert!(library.problems.iter().all(|one| one.origin == "broken.toml"), "{:?}", library.problems);
        assert!(!library.problems.is_empty());
    }
}
