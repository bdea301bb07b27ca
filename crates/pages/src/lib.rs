//! Answers as HTML and SVG: pure functions from what the engine answers to markup.
//!
//! Nothing is computed here: no verdict, no sum, no order. A page gets its answer, a
//! [`site::Site`] that says what every page says, and, where it has a form,
//! [`form::Typed`]: what was typed into it and what was wrong with that.
//!
//! Every page works without JavaScript, style sheets and pictures; the two files in
//! [`assets`] only make it easier on the eye and the thumb. No page carries an inline
//! style or script, so that the strictest content policy holds.

pub mod assets;
pub mod cords;
pub mod device;
pub mod devices;
mod draw;
pub mod error;
pub mod export;
pub mod family;
pub mod family_form;
pub mod fault;
pub mod fit;
pub mod form;
pub mod formulas;
pub mod gap;
pub mod history;
pub mod ids;
pub mod import;
pub mod link;
pub mod links;
pub mod radio;
mod reading;
pub mod refit;
pub mod settings;
pub mod sharing;
pub mod sheet;
pub mod site;
pub mod spares;
pub mod today;
pub mod whatif;
mod words;

pub use maud::Markup;
