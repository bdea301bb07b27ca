//! What the drawings share: they are as wide as a phone, so that their words keep the size
//! of words.

/// How wide a drawing is, in the units of its figures.
pub(super) const WIDTH: f64 = 330.0;

/// A place, to a tenth.
pub(super) fn n(value: f64) -> String {
    format!("{value:.1}")
}

/// A number of rows as a factor.
pub(super) fn times(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}
