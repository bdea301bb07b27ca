//! What can be typed behind `refit`.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand};

/// The wishes, for help.
pub const WISHES: &str = "\
Wishes, one a word:
  to=T1:5.1               T1 holds version 5.1; of several ends one is named as T1/module
  newest=Whimbrel         all of a link family holds its newest release
  secret=Whimbrel         all of a family, or secret=T1,R3 these, hold a new link secret; it is asked for, not shown
  clear-secret=T1,R3      these hold no link secret
  pairs=all               every link that is meant to hold does
  need=A2:T1,T4           A2 counts as able to fly only while it links with all of these
  let-go=A7:T2            A7 may lose T2; let-go=A7: it may be left without a link
  stay=R9                 R9 is left as it is
  replace=R12:45          R12 may be replaced by a new one that costs 45; replace=R12:R26 by a spare
  evenings=4x120          four evenings of 120 minutes; evenings=120,90,120 three
  fly=A3:2                A3 must be able to fly after evening 2; 0 is before the first
  grounded=2              at most two that can fly now can't between two evenings
  cover=A3:15             opening and closing A3 takes 15 minutes";

/// `refit`.
#[derive(Debug, ClapArgs)]
pub struct Refit {
    /// What to do; the refits are listed when left out.
    #[command(subcommand)]
    pub what: Option<What>,
}

/// What to do with refits.
#[derive(Debug, Subcommand)]
pub enum What {
    /// Plan a refit: what changes in which evening, and which aircraft can fly meanwhile
    Plan(Plan),
    /// Show where a refit stands; without a name the one that is open, or the list
    Show(Show),
    /// Write steps down as done, with what they change
    Tick(Tick),
    /// Take a tick back, with what was written down for it
    Untick {
        /// The step's code
        code: String,
        /// Which refit it is about
        #[command(flatten)]
        of: Of,
    },
    /// Put something off to a later evening
    Defer(Defer),
    /// Plan what is left anew
    Replan(Replan),
    /// End a refit: all done, or given up
    End(Ended),
    /// Show the firmware releases of link families, or set the workshop's own
    Releases(Releases),
}

/// Which refit a command is about.
#[derive(Debug, ClapArgs)]
pub struct Of {
    /// The refit: its name, its id or the last four or more characters of it [default: the only open one]
    #[arg(long)]
    pub refit: Option<String>,
}

/// How a new link secret comes in, and how long is searched.
#[derive(Debug, ClapArgs)]
pub struct Search {
    /// How much is searched at most, in counted seconds: the same on every machine
    #[arg(long, value_name = "SECONDS", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=86_400))]
    pub effort: u32,
    /// Read the new link secret from standard input (the first line)
    #[arg(long)]
    pub new_secret_stdin: bool,
}

/// `refit plan`.
#[derive(Debug, ClapArgs)]
#[command(after_help = WISHES)]
pub struct Plan {
    /// What is wished
    #[arg(value_name = "WISH", required = true)]
    pub wishes: Vec<String>,
    /// Begin the refit: write the plan down
    #[arg(long)]
    pub begin: bool,
    /// What the refit is called [default: its first wish]
    #[arg(long, requires = "begin")]
    pub name: Option<String>,
    /// How it is searched.
    #[command(flatten)]
    pub search: Search,
}

/// `refit show`.
#[derive(Debug, ClapArgs)]
pub struct Show {
    /// The refit: its name, its id or the last four or more characters of it
    pub refit: Option<String>,
    /// Only this evening
    #[arg(long, value_name = "N")]
    pub evening: Option<u32>,
    /// Print what is carried to the bench: boxes to tick, cautions, codes
    #[arg(long)]
    pub paper: bool,
}

/// `refit tick`.
#[derive(Debug, ClapArgs)]
#[command(group = clap::ArgGroup::new("which").required(true))]
pub struct Tick {
    /// The steps, by the codes that `refit show` gives them
    #[arg(value_name = "CODE", group = "which")]
    pub codes: Vec<String>,
    /// All that is left of an evening
    #[arg(long, value_name = "N", group = "which")]
    pub evening: Option<u32>,
    /// All that is left of a transmitter, an aircraft or a loose receiver in its next evening
    #[arg(long, value_name = "DEVICE", group = "which")]
    pub all_of: Option<String>,
    /// Which refit it is about
    #[command(flatten)]
    pub of: Of,
}

/// `refit defer`.
#[derive(Debug, ClapArgs)]
pub struct Defer {
    /// The transmitter, aircraft or receiver
    pub device: String,
    /// The first evening on which it may be worked on [default: the one after that in which it stands]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub until: Option<u32>,
    /// Which refit it is about
    #[command(flatten)]
    pub of: Of,
}

/// `refit replan`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Wishes are added to those that there are, and are written as behind `refit plan`; evenings= takes the place of the \
evenings before. `refit show` numbers the wishes, for --without.

  holdfast refit replan evenings=120,90,90 --from 2
  holdfast refit replan let-go=A7:T2 --without 3 --try")]
pub struct Replan {
    /// What is wished besides
    #[arg(value_name = "WISH")]
    pub wishes: Vec<String>,
    /// Drop this wish, by its number
    #[arg(long, value_name = "N")]
    pub without: Vec<usize>,
    /// The first evening that may be used [default: the one after the last in which anything was done]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub from: Option<u32>,
    /// That evening has begun, and so many minutes of it are left
    #[arg(long, value_name = "MINUTES", allow_negative_numbers = true)]
    pub left: Option<f64>,
    /// Only show the new plan
    #[arg(long = "try")]
    pub only_try: bool,
    /// How it is searched.
    #[command(flatten)]
    pub search: Search,
    /// Which refit it is about
    #[command(flatten)]
    pub of: Of,
}

/// `refit end`.
#[derive(Debug, ClapArgs)]
pub struct Ended {
    /// It is given up; what was done stays done
    #[arg(long)]
    pub abandon: bool,
    /// Which refit it is about
    #[command(flatten)]
    pub of: Of,
}

/// `refit releases`.
#[derive(Debug, ClapArgs)]
pub struct Releases {
    /// The link family; all are shown when left out
    pub family: Option<String>,
    /// Add the releases in this file to the family's own; they take the place of those added before
    #[arg(long, value_name = "PATH", requires = "family")]
    pub file: Option<PathBuf>,
    /// Take out again what was added
    #[arg(long, requires = "family", conflicts_with = "file")]
    pub clear: bool,
}
