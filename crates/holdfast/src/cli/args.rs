//! What can be typed: every command with its words and its help.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

const AFTER: &str = "\
Exit codes:
  0  all went well (a verdict `blocked` is an answer, not a failure)
  1  something failed, or what was given can't be used; the message says what to do
  2  the command line can't be read
  3  `verify` found damage, or `families check` or `fault check` found problems

Holdfast plans and explains; it never says that an aircraft is safe. Local rules and the maker's manual prevail.";

/// The workshop book and the calculator for the radio links of model aircraft.
#[derive(Debug, Parser)]
#[command(name = "holdfast", version, after_help = AFTER, max_term_width = 100)]
pub struct Args {
    /// The workshop's file, or a folder that holds `workshop.holdfast` [env:
    /// `HOLDFAST_WORKSHOP`; default: the platform's data folder]
    #[arg(
        long,
        global = true,
        value_name = "PATH",
        env = "HOLDFAST_WORKSHOP",
        hide_env = true,
        help_heading = "For every command"
    )]
    pub workshop: Option<PathBuf>,
    /// Who is written down as the author of entries [env: `HOLDFAST_AUTHOR`; default: your
    /// user name]
    #[arg(
        long,
        global = true,
        value_name = "NAME",
        env = "HOLDFAST_AUTHOR",
        hide_env = true,
        help_heading = "For every command"
    )]
    pub author: Option<String>,
    /// Answer in JSON
    #[arg(long, global = true, help_heading = "For every command")]
    pub json: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// A command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Build an invented club's workshop and serve it; your own is not touched
    Demo(Demo),
    /// Serve the workshop's pages on this machine
    Serve(Serve),
    /// Import a spreadsheet (CSV), a workshop file (TOML) or a logbook (JSON Lines)
    Import(Import),
    /// Export the workshop as a spreadsheet, a workshop file or a logbook
    Export(Export),
    /// Take over all entries of another workshop or logbook
    Merge {
        /// The other workshop's file, or a logbook in JSON Lines
        other: PathBuf,
    },
    /// Show the workshop, a list, or one device with all that is known of it
    Show(Show),
    /// Add a transmitter, a receiver or an aircraft
    Add(Add),
    /// Record a reading: a fact of a device as it was seen
    Record(Record),
    /// Record that a receiver was paired with a transmitter
    Pair(Pair),
    /// Record that new firmware was written to a device
    Flash(Flash),
    /// Record words about a device
    Note(Note),
    /// Strike a wrong entry; it stays in the logbook, struck
    Strike {
        /// The entry's id, as `show history` gives it
        entry: String,
    },
    /// Erase what an entry says, for good; its place in the chain stays
    Erase {
        /// The entry's id, as `show history` gives it
        entry: String,
    },
    /// Record that one device was entered twice
    SameAs {
        /// One of the two
        one: String,
        /// The other
        other: String,
    },
    /// Record that two joined devices are two after all
    Parted {
        /// The id of one
        one: String,
        /// The id of the other
        other: String,
    },
    /// List the verdicts on all links
    Links(Links),
    /// Explain one link in full: reasons, checks and mends
    Link(Link),
    /// See what changes would do to every link; nothing is stored
    #[command(name = "whatif")]
    Whatif(WhatIf),
    /// Which shelf receiver fits an aircraft
    Spares {
        /// The aircraft's code, name or id
        aircraft: String,
    },
    /// Model IDs that collide, and a new allocation
    Ids(Ids),
    /// A link's budget both ways: margin, probability, reach, latency, failsafe, limits
    Budget(Budget),
    /// How far a link reaches, and what a decibel or another mode buys
    Reach(Reach),
    /// Which modes, powers and telemetry shares are worth choosing
    Advise(Advise),
    /// What the radio limits of a region say about a setting
    Law(Law),
    /// How fresh each sensor's value comes, in every mode and share
    Telemetry(Telemetry),
    /// Any formula by its name; `calc list` names all
    Calc(Calc),
    /// Fault trails: find out why a link won't pair, hold or obey, in the fewest minutes
    Fault(super::fault::args::Fault),
    /// Refits: firmware and settings across the fleet in evenings, and who can fly meanwhile
    Refit(super::refit::args::Refit),
    /// Outputs of an aircraft: which channel goes where, what it sends, what hangs on it
    Outputs(super::fit::args::Part),
    /// Supply of an aircraft: whether the receiver keeps its voltage while the servos work
    Supply(super::fit::args::Part),
    /// Failsafe of an aircraft: what each channel does without a link, and where it comes down
    Failsafe(super::fit::args::Part),
    /// Antennas of an aircraft: where they sit, whether they are made for the band
    Antennas(super::fit::args::Part),
    /// Commissioning: what was checked, what lapsed and by what; proofs, work, signatures
    Commission(super::commission::args::Commission),
    /// A card of an aircraft for the bench or the field, as text or PDF
    Card(super::card::Card),
    /// Labels for receivers, transmitters and aircraft, as text or PDF
    Labels(super::card::Labels),
    /// Link families: list, check, add
    Families(Families),
    /// Minutes of checks, mends and steps of refits: list, change
    Minutes(Minutes),
    /// Settings of the workshop: list, change
    Settings(Settings),
    /// Copy the workshop to a new file and check the copy
    Backup {
        /// The file to write; it must not exist yet
        to: PathBuf,
    },
    /// Get the workshop back from a backup
    Restore(Restore),
    /// Check every chain, entry and file of the workshop
    Verify,
    /// Print the completions for a shell
    Completions {
        /// Which shell
        shell: Shell,
    },
    /// Print the manual page
    Man,
}

/// `demo`.
#[derive(Debug, ClapArgs)]
pub struct Demo {
    /// The folder to build it in [default: `demo` in the platform's data folder]
    #[arg(long, value_name = "FOLDER")]
    pub dir: Option<PathBuf>,
    /// Only build it
    #[arg(long)]
    pub no_serve: bool,
    /// The port to serve on; 0 for any free one [default: 7717, or any free one]
    #[arg(long)]
    pub port: Option<u16>,
}

/// `serve`.
#[derive(Debug, ClapArgs)]
pub struct Serve {
    /// The port on this machine; 0 for any free one [default: 7717, or any free one]
    #[arg(long)]
    pub port: Option<u16>,
    /// Share with phones in the same room at once, on this address
    #[arg(long, value_name = "ADDRESS:PORT")]
    pub share_on: Option<SocketAddr>,
}

/// `import`.
#[derive(Debug, ClapArgs)]
pub struct Import {
    /// The file; what it is shows from its content. `-` reads from standard input
    pub file: PathBuf,
    /// What a column holds, such as `Nr.=code` or `Remarks=ignore`; remembered for lists
    /// with the same columns
    #[arg(long, value_name = "COLUMN=FACT")]
    pub map: Vec<String>,
    /// What the rows are, where no column says so
    #[arg(long)]
    pub sort: Option<Sort>,
    /// How the facts are known, where the file doesn't say
    #[arg(long, default_value = "label")]
    pub how: How,
    /// When the facts were seen, where the file doesn't say [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
    /// Only show what would change
    #[arg(long)]
    pub dry_run: bool,
    /// Change facts that are there already without asking
    #[arg(long)]
    pub yes: bool,
    /// Import the good rows and leave the bad ones out
    #[arg(long)]
    pub skip_bad: bool,
}

/// `export`.
#[derive(Debug, ClapArgs)]
pub struct Export {
    /// The file to write, which must not exist yet; `-` for standard output. Beside a
    /// workshop file in TOML the family files are written, too
    #[arg(default_value = "-")]
    pub to: PathBuf,
    /// The form [default: by the file's name, else jsonl]
    #[arg(long = "as", value_name = "FORM")]
    pub form: Option<Form>,
}

/// `show`.
#[derive(Debug, ClapArgs)]
pub struct Show {
    /// `today`, `transmitters`, `receivers`, `aircraft`, `families`, `history`, or a
    /// device's code, name or id; everything in short when left out
    pub what: Option<String>,
    /// With `history`: only of this device
    pub device: Option<String>,
    /// With `history`: how many entries
    #[arg(long, default_value_t = 50)]
    pub limit: u32,
}

/// `add`.
#[derive(Debug, ClapArgs)]
pub struct Add {
    /// What it is
    pub sort: Sort,
    /// Its short code, as on its label
    pub code: String,
    /// What you call it
    #[arg(long)]
    pub name: Option<String>,
    /// Facts that you see on it, such as `family=Whimbrel band=2.4GHz`
    #[arg(value_name = "FACT=VALUE")]
    pub facts: Vec<String>,
    /// How those facts are known
    #[arg(long, default_value = "seen")]
    pub how: How,
    /// When they were seen [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
}

/// `record`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Facts: code, name, maker, model, craft, state, owner, family, band, region, firmware, secret, model_id, partners, \
aircraft, end, antenna, pack, handset, note.

Values: any words; `unknown` when a fact is not known any more; model_id a number or `off`; aircraft a name or \
`none`; partners such as `T1; T2`, `only T1` or `none`; secret `blank` or `same as T1`.

A link secret itself is never typed on the command line, where other programs could read it: leave VALUE out and \
type it when asked, or use --secret-stdin.")]
pub struct Record {
    /// The device's code, name or id
    pub device: String,
    /// The fact
    pub fact: String,
    /// Its value
    pub value: Vec<String>,
    /// The end it is about, where the device has several
    #[arg(long, value_name = "KEY", conflicts_with = "memory")]
    pub end: Option<String>,
    /// The model memory it is about
    #[arg(long, value_name = "KEY")]
    pub memory: Option<String>,
    /// How it is known
    #[arg(long, default_value = "seen")]
    pub how: How,
    /// When it was seen [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
    /// Read the link secret from standard input (the first line)
    #[arg(long)]
    pub secret_stdin: bool,
}

/// `pair`.
#[derive(Debug, ClapArgs)]
pub struct Pair {
    /// The receiver; `R1/END` where it has several ends
    pub receiver: String,
    /// The transmitter; `T1/END` where it has several ends
    pub transmitter: String,
    /// When [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
}

/// `flash`.
#[derive(Debug, ClapArgs)]
pub struct Flash {
    /// The device; `R1/END` where it has several ends
    pub device: String,
    /// The version written
    pub version: String,
    /// The way it was written, by the family file's name for it
    #[arg(long)]
    pub route: Option<String>,
    /// When [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
}

/// `note`.
#[derive(Debug, ClapArgs)]
pub struct Note {
    /// The device's code, name or id
    pub device: String,
    /// The words
    #[arg(required = true)]
    pub text: Vec<String>,
    /// When [default: now]
    #[arg(long, value_name = "DATE")]
    pub seen: Option<String>,
}

/// `links`.
#[derive(Debug, ClapArgs)]
pub struct Links {
    /// Only those of this transmitter
    #[arg(long, value_name = "TX")]
    pub transmitter: Option<String>,
    /// Only those of this receiver
    #[arg(long, value_name = "RX")]
    pub receiver: Option<String>,
    /// Only those of receivers in this aircraft
    #[arg(long, value_name = "NAME")]
    pub aircraft: Option<String>,
    /// Only those of this link family
    #[arg(long, value_name = "NAME")]
    pub family: Option<String>,
    /// Only those with this verdict
    #[arg(long)]
    pub verdict: Option<Verdict>,
    /// Only those with a rule that fails, or that comes to another status: `version`,
    /// `secret=unknown`
    #[arg(long, value_name = "RULE[=STATUS]")]
    pub rule: Option<String>,
    /// Only links that are meant to hold: a memory flies the aircraft, or they are paired
    #[arg(long)]
    pub wanted: bool,
    /// How many to pass over
    #[arg(long, default_value_t = 0)]
    pub offset: u64,
    /// How many to list [default: 100; with --json all, up to 20,000 links]
    #[arg(long)]
    pub limit: Option<usize>,
}

/// `link`.
#[derive(Debug, ClapArgs)]
pub struct Link {
    /// One of the two devices
    pub one: String,
    /// The other
    pub other: String,
}

/// `whatif`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
Names with blanks stand in quotation marks within the words: --set '\"Big Receiver\" firmware 4.2'. An end is named \
as R1/END, a model memory as T1/memory:KEY. New devices are supposed first, then values, flashes and pairings.")]
pub struct WhatIf {
    /// A device not yet bought, such as 'receiver N1 family=Whimbrel band=2.4GHz firmware=4.1'
    #[arg(long, value_name = "SORT NAME FACT=VALUE…")]
    pub new: Vec<String>,
    /// A fact takes another value, such as 'R1 firmware 4.2'
    #[arg(long, value_name = "DEVICE FACT VALUE")]
    pub set: Vec<String>,
    /// A device is flashed, such as 'R1 4.2'
    #[arg(long, value_name = "DEVICE VERSION [ROUTE]")]
    pub flash: Vec<String>,
    /// A receiver is paired with a transmitter, such as 'R1 T1'
    #[arg(long, value_name = "RX TX")]
    pub pair: Vec<String>,
}

/// `ids`.
#[derive(Debug, ClapArgs)]
pub struct Ids {
    /// Propose new model IDs for this family, changing the fewest
    #[arg(long, value_name = "FAMILY")]
    pub allocate: Option<String>,
    /// With --allocate: leave checks that are switched off alone
    #[arg(long, requires = "allocate")]
    pub leave_off: bool,
}

/// Whose link a sheet is about, and what is said of it.
#[derive(Debug, ClapArgs)]
pub struct Asked {
    /// A transmitter and a receiver or an aircraft, then inputs such as `distance_m=800`; of several ends one is named
    /// as R1/END
    #[arg(value_name = "TX RX-OR-AIRCRAFT KEY=VALUE")]
    pub words: Vec<String>,
    /// A link family instead of devices; the neutral starters are known without a workshop
    #[arg(long, value_name = "NAME")]
    pub family: Option<String>,
    /// The band, where the family or the two devices have several
    #[arg(long, value_name = "BAND")]
    pub band: Option<String>,
}

/// `budget`.
#[derive(Debug, ClapArgs)]
#[command(after_help = super::asked::inputs_help())]
pub struct Budget {
    /// What is asked.
    #[command(flatten)]
    pub asked: Asked,
    /// Say everything that was taken to be so, and why
    #[arg(long)]
    pub assumptions: bool,
    /// Give the formula of each step with its inputs, as `calc` takes them
    #[arg(long)]
    pub formulas: bool,
}

/// `reach`.
#[derive(Debug, ClapArgs)]
#[command(after_help = super::asked::inputs_help())]
pub struct Reach {
    /// What is asked.
    #[command(flatten)]
    pub asked: Asked,
}

/// `advise`.
#[derive(Debug, ClapArgs)]
#[command(after_help = super::asked::inputs_help())]
pub struct Advise {
    /// What is asked.
    #[command(flatten)]
    pub asked: Asked,
    /// Show those that fail a need beyond the first ten, too
    #[arg(long)]
    pub all: bool,
}

/// `law`.
#[derive(Debug, ClapArgs)]
#[command(after_help = super::asked::inputs_help())]
pub struct Law {
    /// What is asked.
    #[command(flatten)]
    pub asked: Asked,
    /// List the limits that are held, of all regions or of the one that is named
    #[arg(long, conflicts_with_all = ["family", "band"])]
    pub list: bool,
}

/// `telemetry`.
#[derive(Debug, ClapArgs)]
#[command(after_help = super::asked::inputs_help())]
pub struct Telemetry {
    /// What is asked.
    #[command(flatten)]
    pub asked: Asked,
}

/// `calc`.
#[derive(Debug, ClapArgs)]
#[command(after_help = "\
A value `@FILE` is read from that file. A path profile may be a file by its name, or `-` for standard input.

  holdfast calc free-space-loss frequency_mhz=2450 distance_m=1000
  holdfast calc profile-loss --explain")]
pub struct Calc {
    /// The formula; `list` for all of them
    #[arg(default_value = "list")]
    pub name: String,
    /// Its inputs
    #[arg(value_name = "KEY=VALUE")]
    pub inputs: Vec<String>,
    /// Say what it takes and gives, where it holds and where it comes from
    #[arg(long)]
    pub explain: bool,
}

/// `families`.
#[derive(Debug, ClapArgs)]
pub struct Families {
    /// What to do; the families in use are listed when left out.
    #[command(subcommand)]
    pub what: Option<FamiliesWhat>,
}

/// What to do with families.
#[derive(Debug, Subcommand)]
pub enum FamiliesWhat {
    /// List the families in use
    List,
    /// Check family files; exit code 3 when there are problems
    Check {
        /// The files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
    /// Use a family file in the workshop from now on
    Add {
        /// The file
        file: PathBuf,
    },
    /// List the neutral starters, or print one to begin your own from
    Starters {
        /// Which to print
        name: Option<String>,
    },
    /// Print the file of a family in use
    Export {
        /// The family's name
        name: String,
    },
}

/// `minutes`.
#[derive(Debug, ClapArgs)]
pub struct Minutes {
    /// What to do; all are listed when left out.
    #[command(subcommand)]
    pub what: Option<MinutesWhat>,
}

/// What to do with minutes.
#[derive(Debug, Subcommand)]
pub enum MinutesWhat {
    /// List all
    List,
    /// Set what a check or a mend takes in this workshop
    Set {
        /// Which, such as `mend.pair`
        key: String,
        /// How long it takes
        #[arg(allow_negative_numbers = true)]
        minutes: f64,
    },
    /// Take the workshop's own figure back
    Clear {
        /// Which
        key: String,
    },
}

/// `settings`.
#[derive(Debug, ClapArgs)]
pub struct Settings {
    /// What to do; all are listed when left out.
    #[command(subcommand)]
    pub what: Option<SettingsWhat>,
}

/// What to do with settings.
#[derive(Debug, Subcommand)]
pub enum SettingsWhat {
    /// List all
    List,
    /// Change one
    Set {
        /// Which, such as `name`
        key: String,
        /// Its value
        #[arg(allow_negative_numbers = true)]
        value: String,
    },
    /// Return one to its default
    Clear {
        /// Which
        key: String,
    },
}

/// `restore`.
#[derive(Debug, ClapArgs)]
pub struct Restore {
    /// The backup
    pub from: PathBuf,
    /// Restore over a workshop that is there; it is kept under another name
    #[arg(long)]
    pub over: bool,
}

/// What a device is.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Sort {
    /// A handset with its RF modules
    Transmitter,
    /// A receiver
    Receiver,
    /// An aircraft, boat or car
    Aircraft,
}

impl Sort {
    /// The engine's word for it.
    pub fn sort(self) -> register::field::Sort {
        match self {
            Sort::Transmitter => register::field::Sort::Transmitter,
            Sort::Receiver => register::field::Sort::Receiver,
            Sort::Aircraft => register::field::Sort::Aircraft,
        }
    }
}

/// How a fact is known.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum How {
    /// Seen on the device itself
    Seen,
    /// Read on a label, a box or a list
    Label,
    /// Somebody said so
    Told,
    /// Taken to be so
    Assumed,
}

impl How {
    /// The engine's word for it.
    pub fn how(self) -> register::field::How {
        match self {
            How::Seen => register::field::How::Seen,
            How::Label => register::field::How::Label,
            How::Told => register::field::How::Told,
            How::Assumed => register::field::How::Assumed,
        }
    }
}

/// A verdict.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Verdict {
    /// All rules hold
    Links,
    /// A rule is broken
    Blocked,
    /// Something is not known
    Unknown,
}

impl Verdict {
    /// The engine's word for it.
    pub fn verdict(self) -> register::rule::Verdict {
        match self {
            Verdict::Links => register::rule::Verdict::Links,
            Verdict::Blocked => register::rule::Verdict::Blocked,
            Verdict::Unknown => register::rule::Verdict::Unknown,
        }
    }
}

/// The form of an export.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// The whole logbook, entry by entry
    Jsonl,
    /// What holds today, as a workshop file
    Toml,
    /// What holds today, as a spreadsheet
    Csv,
}
