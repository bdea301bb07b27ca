//! What can be typed behind `fault`.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand};

/// `fault`.
#[derive(Debug, ClapArgs)]
pub struct Fault {
    /// What to do; the trails are listed when left out.
    #[command(subcommand)]
    pub what: Option<What>,
}

/// What to do with fault trails.
#[derive(Debug, Subcommand)]
pub enum What {
    /// List the symptoms that a trail can begin from
    Symptoms,
    /// Begin a trail, and say the first step
    Start(Start),
    /// Say what comes next, and why
    Next {
        /// The trail: its id or the last four or more characters of it [default: the only open one]
        trail: Option<String>,
    },
    /// Say what came of what was to be done, and get the next step
    Answer(Answer),
    /// Write down something that the trail didn't propose
    Did(Did),
    /// Write down that a cover was opened, or something fetched
    Open {
        /// The cover, as `fault show TRAIL` names it
        cover: String,
        /// Which trail it is about
        #[command(flatten)]
        of: Of,
    },
    /// Go back: take back the last thing that was written down
    Back(Of),
    /// Write down that something changed was put back
    Restore {
        /// The change, as `fault show TRAIL` names it
        change: String,
        /// Which trail it is about
        #[command(flatten)]
        of: Of,
    },
    /// Write down that something changed stays
    Accept {
        /// The change, as `fault show TRAIL` names it
        change: String,
        /// Which trail it is about
        #[command(flatten)]
        of: Of,
    },
    /// Close a trail: name the fault that it was
    Close(Close),
    /// Show all of one trail, or list the trails
    Show(Show),
    /// Print a trail card: the best steps to a chosen depth, for the field
    Card(Card),
    /// Erase for good what a guest's trail says; how it ended stays
    Forget {
        /// The trail
        trail: String,
        /// Don't ask
        #[arg(long)]
        yes: bool,
    },
    /// Show the weights of a symptom's causes: as shipped, and with this workshop's cases
    Weights {
        /// The symptom's key
        symptom: String,
    },
    /// Run the planner on any fault model file
    Solve(Solve),
    /// Check fault model files; exit code 3 when there are problems
    Check {
        /// The files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
}

/// Which trail a command is about.
#[derive(Debug, ClapArgs)]
pub struct Of {
    /// The trail: its id or the last four or more characters of it [default: the only open one]
    #[arg(long)]
    pub trail: Option<String>,
}

/// Link secrets, which are never typed on the command line.
#[derive(Debug, ClapArgs)]
pub struct Secrets {
    /// Ask for the transmitter's link secret; it isn't shown
    #[arg(long)]
    pub transmitter_secret: bool,
    /// Ask for the receiver's link secret; it isn't shown
    #[arg(long)]
    pub receiver_secret: bool,
    /// Read these secrets from standard input: a line each, the transmitter's first
    #[arg(long)]
    pub secret_stdin: bool,
}

/// `fault start`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Words behind the two devices:
  open=hatch                a cover that is open already, or something that is at hand
  whose=\"Anna, red glider\"  whose gear it is, for the closing report; `fault forget` erases it
  transmitter.FACT=VALUE, receiver.FACT=VALUE
                            what is known of a guest's gear: family, band, region, firmware, model_id, secret

  holdfast fault start wont_pair T1 R7
  holdfast fault start wont_pair guest guest receiver.firmware=3.4 open=canopy")]
pub struct Start {
    /// The symptom's key, as `fault symptoms` lists them
    pub symptom: String,
    /// The transmitter, or `guest` for one that is in no register
    pub transmitter: String,
    /// The receiver, or `guest`
    pub receiver: String,
    /// What else is known
    #[arg(value_name = "KEY=VALUE")]
    pub words: Vec<String>,
    /// Link secrets.
    #[command(flatten)]
    pub secrets: Secrets,
}

/// `fault answer`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
A check is answered with the key or the number of one of its answers, with `cant-tell`, or with `read`, where the facts \
given with it tell:

  holdfast fault answer cant-tell
  holdfast fault answer read transmitter.firmware=4.1 receiver.firmware=3.6

A mend, and what lifts a failed rule: helped, no-help or cant-tell. What is to be put back: done or stays. A proof: held \
or failed.")]
pub struct Answer {
    /// The answer: its key or its number, as `fault next` gives them
    #[arg(value_name = "ANSWER")]
    pub given: String,
    /// Facts that were read with the check: transmitter.FACT=VALUE, receiver.FACT=VALUE
    #[arg(value_name = "SIDE.FACT=VALUE")]
    pub words: Vec<String>,
    /// Which trail it is about
    #[command(flatten)]
    pub of: Of,
    /// Another step than the one proposed, by its key; `rule:version` for a rule that fails
    #[arg(long, value_name = "KEY")]
    pub step: Option<String>,
    /// Which of the ways to lift a failed rule was taken, by its number
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub way: Option<u16>,
    /// Link secrets.
    #[command(flatten)]
    pub secrets: Secrets,
}

/// `fault did`.
#[derive(Debug, ClapArgs)]
pub struct Did {
    /// What was done, in a few words
    #[arg(required = true)]
    pub text: Vec<String>,
    /// How long it took
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub minutes: f64,
    /// What it left changed, to be put back before the trail closes
    #[arg(long, value_name = "TEXT")]
    pub changed: Option<String>,
    /// It works now
    #[arg(long)]
    pub helped: bool,
    /// Which trail it is about
    #[command(flatten)]
    pub of: Of,
}

/// `fault close`.
#[derive(Debug, ClapArgs)]
pub struct Close {
    /// The cause's key; `unlisted` for something not in the list [default: what helped cures,
    /// where one cause stands out]
    pub cause: Option<String>,
    /// Name no cause: what it was is not known
    #[arg(long, conflicts_with = "cause")]
    pub not_found: bool,
    /// It was given up: replaced, or sent to its maker
    #[arg(long, conflicts_with = "left")]
    pub gave_up: bool,
    /// It is left as it is
    #[arg(long)]
    pub left: bool,
    /// Which trail it is about
    #[command(flatten)]
    pub of: Of,
}

/// `fault show`.
#[derive(Debug, ClapArgs)]
pub struct Show {
    /// The trail: its id or the last four or more characters of it; all are listed when left out
    pub trail: Option<String>,
    /// The closing report, for the owner of the gear
    #[arg(long, requires = "trail")]
    pub report: bool,
}

/// `fault card`.
#[derive(Debug, ClapArgs)]
pub struct Card {
    /// A symptom's key for any gear, or a trail to go on from where it stands
    #[arg(value_name = "SYMPTOM|TRAIL")]
    pub of: String,
    /// How many steps deep
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=i64::from(trails::card::DEEPEST)))]
    pub depth: u32,
}

/// `fault solve`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Answers stand in the order in which they were given; a cover that is open is said with open=COVER:

  holdfast fault solve my-symptom.toml open=hatch measure_plug=enough push_plug=no-help")]
pub struct Solve {
    /// The model file
    pub model: PathBuf,
    /// What was answered
    #[arg(value_name = "STEP=ANSWER")]
    pub answers: Vec<String>,
    /// How many causes are listed
    #[arg(long, default_value_t = 8)]
    pub limit: usize,
}
