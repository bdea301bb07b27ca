//! The doors: the command line and the local web server. They read files and the clock,
//! hand both to the engine, and show what it answers; they decide nothing.

pub mod cli;
pub mod demo;
pub mod faults;
pub mod fittings;
pub mod radio;
pub mod refits;
pub mod text;
pub mod values;
pub mod web;
pub mod workshop;
