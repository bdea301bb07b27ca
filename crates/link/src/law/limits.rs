//! All rows, and the regions they speak of.

use std::sync::{Arc, LazyLock};

use super::{Row, read};

/// The rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    pub(super) rows: Arc<[Arc<Row>]>,
}

/// The limits can't be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("limits, line {line}: {why}")]
pub struct BadLimits {
    /// The line, the heading being line 1.
    pub line: u64,
    /// Why.
    pub why: String,
}

/// No row speaks of the region.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no limits are held for the region `{region}`; held are {}", held.join(", "))]
pub struct UnknownRegion {
    /// What was asked for.
    pub region: String,
    /// What there is.
    pub held: Vec<String>,
}

static SHIPPED: LazyLock<Limits> = LazyLock::new(|| {
    Limits::read(include_str!("../../data/limits.csv")).expect("a test reads the shipped limits")
});

/// Regions whose own rows stand beside the rows of a wider one: members of the European
/// Union carry out its decisions, and administrations of the CEPT its recommendations, each
/// with a national table that prevails.
const WIDER: [(&str, &str); 3] = [("DE", "EU"), ("FR", "EU"), ("CH", "EU")];

/// Other words for a region.
const ALSO_CALLED: [(&str, &str); 2] = [("UK", "GB"), ("USA", "US")];

impl Limits {
    /// The limits that come with the program.
    pub fn shipped() -> Limits {
        SHIPPED.clone()
    }

    /// Reads limits from CSV with a heading; `data/limits.csv` is the example.
    ///
    /// # Errors
    /// [`BadLimits`] with the line and what is wrong on it.
    pub fn read(text: &str) -> Result<Limits, BadLimits> {
        Ok(Limits { rows: read::read(text)?.into() })
    }

    /// The row with this id.
    pub fn row(&self, id: &str) -> Option<&Arc<Row>> {
        self.rows.iter().find(|row| row.id == id)
    }

    /// The region as the data write it, whatever the case; `UK` and `USA` are known too.
    ///
    /// # Errors
    /// [`UnknownRegion`], naming the regions there are.
    pub fn region(&self, typed: &str) -> Result<&str, UnknownRegion> {
        let typed = typed.trim();
        let word = ALSO_CALLED
            .iter()
            .find_map(|(also, word)| also.eq_ignore_ascii_case(typed).then_some(*word))
            .unwrap_or(typed);
        let row = self.rows.iter().find(|row| row.region.eq_ignore_ascii_case(word));
        row.map(|row| row.region.as_str()).ok_or_else(|| UnknownRegion {
            region: typed.chars().take(40).collect(),
            held: self.regions().into_iter().map(str::to_owned).collect(),
        })
    }

    /// The rows that hold in a region: its own, then those of the wider region it belongs to.
    ///
    /// # Errors
    /// [`UnknownRegion`], naming the regions there are.
    pub fn rows_in(&self, region: &str) -> Result<Vec<&Arc<Row>>, UnknownRegion> {
        let region = self.region(region)?;
        let wider = WIDER.iter().find_map(|(part, wider)| (*part == region).then_some(*wider));
        let own = self.rows.iter().filter(|row| row.region == region);
        Ok(own.chain(self.rows.iter().filter(|row| Some(row.region.as_str()) == wider)).collect())
    }

    /// Every row, in the order of the data.
    pub fn rows(&self) -> &[Arc<Row>] {
        &self.rows
    }

    /// The regions, in the order of the data.
    pub fn regions(&self) -> Vec<&str> {
        let mut regions: Vec<&str> = Vec::new();
        for row in self.rows.iter() {
            if !regions.contains(&row.region.as_str()) {
                regions.push(&row.region);
            }
        }
        regions
    }
}
