//! What can be typed behind `outputs`, `supply`, `failsafe` and `antennas`.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand};

/// The ways in, for help.
pub const WAYS: &str = "\
A part of an aircraft's fit is a short text with tables and keys; --keys lists them with units, ranges and what is \
taken where one is left out. `set` changes single cells of it: table.row.key=value, rows counted from 1, an empty \
value takes the cell away.

What is written down is checked, not the aircraft: local rules and the makers' manuals prevail.";

/// A part of an aircraft's fit.
#[derive(Debug, ClapArgs)]
#[command(after_help = WAYS, disable_help_subcommand = true)]
#[command(group = clap::ArgGroup::new("way"))]
pub struct Part {
    /// The aircraft's code, name or id
    #[arg(required_unless_present = "keys")]
    pub aircraft: Option<String>,
    /// Write the part down from this text; `-` reads from standard input
    #[arg(long, value_name = "FILE", group = "way")]
    pub file: Option<PathBuf>,
    /// Print the text as it was written
    #[arg(long, group = "way")]
    pub text: bool,
    /// Take the part away; the logbook keeps it
    #[arg(long, group = "way")]
    pub clear: bool,
    /// List the tables and keys that may stand in the text
    #[arg(long, group = "way")]
    pub keys: bool,
    /// What else to do.
    #[command(subcommand)]
    pub what: Option<What>,
}

/// What else to do with a part.
#[derive(Debug, Subcommand)]
pub enum What {
    /// Change single cells of what is written down, or begin with them
    Set {
        /// A cell and its value; without a value the cell is taken away
        #[arg(value_name = "TABLE.ROW.KEY=VALUE", required = true)]
        cells: Vec<String>,
    },
}
