//! The link families of a workshop, and the problems of a family file.

use register::family::read::Problem;
use register::register::FamilyUse;
use serde::Serialize;

/// A family that the workshop uses.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Family {
    /// Its name.
    pub name: String,
    /// One line about it.
    pub summary: String,
    /// Whether its file can be read.
    pub readable: bool,
    /// Whether it exists only in examples.
    pub invented: bool,
    /// Its bands.
    pub bands: Vec<String>,
    /// Since when the workshop uses this file.
    pub since: String,
    /// The file's SHA-256.
    pub file: String,
    /// How many transmitter ends speak it.
    pub transmitters: usize,
    /// How many receiver ends speak it.
    pub receivers: usize,
}

/// One problem in a file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trouble {
    /// The file.
    pub file: String,
    /// The line.
    pub line: usize,
    /// The key.
    pub key: String,
    /// What is wrong and what to do.
    pub text: String,
}

impl Family {
    /// The answer on a family; `ends` are the numbers of transmitter and receiver ends.
    pub fn new(name: &str, used: &FamilyUse, ends: (usize, usize)) -> Family {
        let family = used.family.as_deref();
        Family {
            name: family.map_or_else(|| name.to_owned(), |family| family.name.clone()),
            summary: family.map(|family| family.summary.clone()).unwrap_or_default(),
            readable: family.is_some(),
            invented: family.is_some_and(|family| family.invented),
            bands: family
                .map(|family| family.bands.iter().map(|band| band.name.clone()).collect())
                .unwrap_or_default(),
            since: used.since.to_string(),
            file: used.file.to_string(),
            transmitters: ends.0,
            receivers: ends.1,
        }
    }
}

impl Trouble {
    /// A problem as an answer.
    pub fn new(problem: &Problem) -> Trouble {
        Trouble {
            file: problem.origin.clone(),
            line: problem.line,
            key: problem.key.clone(),
            text: problem.says.clone(),
        }
    }
}
