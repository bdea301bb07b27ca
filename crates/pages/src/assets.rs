//! The two files that pages name: a style sheet and a small script.

/// `/static/style.css`.
pub const STYLE_CSS: &str = include_str!("style.css");

/// `/static/script.js`: filters long tables and asks anew while typing. Everything works
/// without it.
pub const SCRIPT_JS: &str = include_str!("script.js");

#[cfg(test)]
mod tests;
