//! Writes a family as the file that [`super::read`] reads.

use super::Family;

/// The family as a TOML file.
pub fn write(family: &Family) -> String {
    family.name.clone()
}
