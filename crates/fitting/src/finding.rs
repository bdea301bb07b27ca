//! What a check of an aircraft's fit found: what is so, what follows from it, what to do.

use std::fmt;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Worth knowing.
    Note,
    /// Look at it before the next flight.
    Warning,
    /// It doesn't work so, or it can hurt somebody.
    Fault,
}

impl Weight {
    /// The word in JSON and on pages.
    pub fn word(self) -> &'static str {
        match self {
            Weight::Note => "note",
            Weight::Warning => "warning",
            Weight::Fault => "fault",
        }
    }
}

impl fmt::Display for Weight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One thing that a check found.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What sort of finding, a stable key: `rate_too_fast`.
    pub key: &'static str,
    /// How much it matters.
    pub weight: Weight,
    /// What it is about, in the words of the fit: `left aileron servo`, `output 3 of R7`.
    pub about: String,
    /// What is so, with both values.
    pub text: String,
    /// What follows from it.
    pub consequence: String,
    /// What to do about it.
    pub mend: String,
}

/// The heaviest first; those of one weight stay in their order.
pub fn sort(findings: &mut [Finding]) {
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.weight));
}

/// The heaviest weight among findings.
pub fn heaviest(findings: &[Finding]) -> Option<Weight> {
    findings.iter().map(|finding| finding.weight).max()
}
