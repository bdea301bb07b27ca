//! Formulas by name.

use super::Formula;

/// The formulas.
pub const FORMULAS: &[Formula] = &[];
