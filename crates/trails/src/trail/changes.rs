//! What a trail changed, to be put back or accepted by name before it closes.

use crate::model::Step;

/// Whether a change is settled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Settled {
    /// It is neither put back nor accepted.
    Open,
    /// It was put back.
    PutBack,
    /// It stays, by name.
    Accepted,
}

impl Settled {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Settled::Open => "open",
            Settled::PutBack => "put-back",
            Settled::Accepted => "accepted",
        }
    }

    /// The words on pages.
    pub fn label(self) -> &'static str {
        match self {
            Settled::Open => "still to be put back",
            Settled::PutBack => "put back",
            Settled::Accepted => "stays, accepted by name",
        }
    }
}

/// Something that a trail changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Its key: the step's, or `elsewise-1`.
    pub key: String,
    /// What is changed.
    pub what: String,
    /// How it is put back.
    pub back: String,
    /// The cautions that go with it.
    pub cautions: Vec<String>,
    /// Whether it is settled.
    pub settled: Settled,
}

/// The changes in the order in which they were made.
#[derive(Clone, Debug, Default)]
pub(super) struct Changes(pub Vec<Change>);

impl Changes {
    /// A step was done; what it leaves is open, also when it was put back before.
    pub fn done(&mut self, step: &Step) {
        if let Some(leaves) = &step.leaves {
            let cautions = step.cautions().into_iter().map(str::to_owned).collect();
            self.put(Change {
                key: step.key.clone(),
                what: leaves.what.clone(),
                back: leaves.back.clone(),
                cautions,
                settled: Settled::Open,
            });
        }
    }

    /// A mend of the register left something changed.
    pub fn of_rule(&mut self, key: &str, what: &str) {
        self.put(Change {
            key: key.to_owned(),
            what: what.to_owned(),
            back: format!("Put it back as it was: {what}"),
            cautions: Vec::new(),
            settled: Settled::Open,
        });
    }

    /// Something else was changed.
    pub fn elsewise(&mut self, what: &str) {
        let number = self.0.iter().filter(|change| change.key.starts_with("elsewise-")).count() + 1;
        self.put(Change {
            key: format!("elsewise-{number}"),
            what: what.to_owned(),
            back: format!("Put it back as it was: {what}"),
            cautions: Vec::new(),
            settled: Settled::Open,
        });
    }

    fn put(&mut self, change: Change) {
        match self.0.iter_mut().find(|have| have.key == change.key) {
            Some(have) => *have = change,
            None => self.0.push(change),
        }
    }

    /// Settles a change; says what it was.
    pub fn settle(&mut self, key: &str, settled: Settled) -> Option<&Change> {
        let change = self.0.iter_mut().find(|change| change.key == key)?;
        change.settled = settled;
        Some(change)
    }
}
