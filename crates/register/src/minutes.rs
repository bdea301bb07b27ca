//! How long each check and each mend takes at the bench: data, never code.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use units::Minutes;

use crate::family::Family;
use crate::family::read::flat_minutes;

/// The shipped figures.
const SHIPPED: &str = include_str!("../data/minutes.toml");

static TABLE: LazyLock<BTreeMap<String, Minutes>> =
    LazyLock::new(|| flat_minutes("minutes.toml", SHIPPED).expect("a test reads the shipped minutes"));

/// Minutes by key (`check.firmware`, `mend.pair`): the workshop's own figure first, then
/// the family's, then the shipped one.
///
/// ```
/// use register::minutes::MinutesTable;
/// use units::Minutes;
/// let mut table = MinutesTable::shipped();
/// assert_eq!(table.lookup("mend.pair", None), Minutes(3.0));
/// table.set("mend.pair", Minutes(8.0));
/// assert_eq!(table.lookup("mend.pair", None), Minutes(8.0));
/// table.clear("mend.pair");
/// assert_eq!(table.lookup("mend.pair", None), Minutes(3.0));
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MinutesTable {
    own: BTreeMap<String, Minutes>,
}

impl MinutesTable {
    /// The shipped figures, none of them changed.
    pub fn shipped() -> MinutesTable {
        MinutesTable::default()
    }

    /// The minutes of a check or a mend, on devices of `family` where one is given. A key
    /// that nobody knows takes as long as `check.other` or, when it starts with `mend.`,
    /// `mend.other`.
    pub fn lookup(&self, key: &str, family: Option<&Family>) -> Minutes {
        let find = |key: &str| {
            self.own
                .get(key)
                .or_else(|| family.and_then(|family| family.minutes.get(key)))
                .or_else(|| TABLE.get(key))
                .copied()
        };
        let other = if key.starts_with("mend.") { "mend.other" } else { "check.other" };
        find(key).or_else(|| find(other)).unwrap_or(Minutes::ZERO)
    }

    /// Sets the workshop's own figure. One that is no time (negative, not a number) is
    /// taken as none at all.
    pub fn set(&mut self, key: &str, minutes: Minutes) {
        self.own.insert(key.to_owned(), Minutes(minutes.0.max(0.0)));
    }

    /// Takes the workshop's own figure back.
    pub fn clear(&mut self, key: &str) {
        self.own.remove(key);
    }

    /// The workshop's own figure, where it has one.
    pub fn workshop(&self, key: &str) -> Option<Minutes> {
        self.own.get(key).copied()
    }

    /// Every key with a shipped figure or one of the workshop's own, in order.
    pub fn keys(&self) -> Vec<&str> {
        let mut keys: Vec<&str> = TABLE.keys().chain(self.own.keys()).map(String::as_str).collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }
}
