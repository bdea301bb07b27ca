//! The command line: what was typed, then what it means, then what the engine answers.

mod add;
mod advise;
mod args;
mod asked;
mod backup;
mod budget;
mod calc;
mod card;
mod commission;
mod demo;
mod export;
mod families;
mod fault;
mod fit;
mod ids;
mod import;
mod law;
mod link;
mod links;
mod named;
mod out;
mod reach;
mod record;
mod refit;
mod settings;
mod show;
mod spares;
mod table;
mod telemetry;
mod what_if;

use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{CommandFactory as _, Parser as _};
use register::fit::Part;
use store::StoreError;

use crate::workshop::{Places, Workshop, WorkshopError};
use args::{Args, Command};
use out::Out;

/// All went well.
const OK: u8 = 0;
/// Something failed, or what was given can't be used.
const FAILED: u8 = 1;
/// The command line itself can't be read.
const USAGE: u8 = 2;
/// The question was answered, and the answer is that something is wrong.
const WRONG: u8 = 3;

/// How a command ended, when it did not fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    /// Well.
    Fine,
    /// `verify`, `families check` or `fault check` found something.
    Wrong,
}

/// What every command works with.
struct Session {
    places: Places,
    author: String,
    out: Out,
}

impl Session {
    /// The workshop, which must be there.
    fn workshop(&self) -> anyhow::Result<Workshop> {
        match Workshop::open_existing(&self.places, &self.author) {
            Err(WorkshopError::Store(StoreError::Missing { path })) => Err(anyhow::anyhow!(
                "there is no workshop at {}; begin one with `add`, `import` or `serve`, or name another with --workshop",
                path.display()
            )),
            other => Ok(other?),
        }
    }

    /// The workshop, begun when there is none.
    fn workshop_or_new(&self) -> anyhow::Result<Workshop> {
        Ok(Workshop::open(&self.places, &self.author)?)
    }
}

/// Runs the command line.
pub fn run() -> ExitCode {
    let code = match Args::try_parse() {
        Ok(args) => carry_out(args),
        Err(error) => not_understood(&error),
    };
    ExitCode::from(code)
}

fn carry_out(args: Args) -> u8 {
    let done = session(&args).and_then(|mut session| {
        let end = command(&mut session, args.command)?;
        session.out.flush()?;
        Ok(end)
    });
    match done {
        Ok(End::Fine) => OK,
        Ok(End::Wrong) => WRONG,
        Err(error) if is_closed_pipe(&error) => OK,
        Err(error) => {
            out::complain(&format!("holdfast: {error:#}"));
            FAILED
        }
    }
}

/// Whoever read the output has seen enough.
fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error
        .chain()
        .filter_map(|cause| cause.downcast_ref::<io::Error>())
        .any(|error| error.kind() == io::ErrorKind::BrokenPipe)
}

/// Help, version, or a command line that can't be read.
fn not_understood(error: &clap::Error) -> u8 {
    if !error.use_stderr() {
        // A closed pipe is no failure here either.
        let _ = error.print();
        return OK;
    }
    let about_a_secret =
        std::env::args_os().any(|word| word.to_string_lossy().to_lowercase().contains("secret"));
    if about_a_secret {
        // What was typed may hold a link secret, so it isn't repeated.
        out::complain(
            "holdfast: this can't be read, and it is not repeated here, since it may hold a link secret.\n\
             A secret is never typed on the command line: write `holdfast record DEVICE secret` and type it when \
             asked, or add --secret-stdin and send it in. See `holdfast record --help`.",
        );
    } else {
        out::complain(error.to_string().trim_end());
    }
    USAGE
}

fn session(args: &Args) -> anyhow::Result<Session> {
    let workshop = args.workshop.clone().map(in_folder);
    let author = args.author.clone().or_else(user).unwrap_or_else(|| "unnamed".to_owned());
    let author = crate::values::text(&author).map_err(|why| anyhow::anyhow!("the author's name {why}"))?;
    let mut places = Places::of(workshop);
    if let Some(keys) = demo::keys_beside(&places.workshop) {
        places.keys = keys;
    }
    Ok(Session { places, author, out: Out::new(args.json) })
}

/// A folder stands for the workshop in it.
fn in_folder(path: PathBuf) -> PathBuf {
    let ends_open = path.as_os_str().to_string_lossy().ends_with(std::path::MAIN_SEPARATOR);
    if path.is_dir() || ends_open { path.join("workshop.holdfast") } else { path }
}

fn user() -> Option<String> {
    ["USER", "USERNAME", "LOGNAME"]
        .iter()
        .filter_map(|name| std::env::var(name).ok())
        .find(|name| !name.trim().is_empty())
}

fn command(session: &mut Session, command: Command) -> anyhow::Result<End> {
    match command {
        Command::Demo(args) => demo::demo(session, &args)?,
        Command::Serve(args) => demo::serve(session, &args)?,
        Command::Import(args) => import::import(session, &args)?,
        Command::Export(args) => export::export(session, &args)?,
        Command::Merge { other } => backup::merge(session, &other)?,
        Command::Show(args) => show::show(session, &args)?,
        Command::Add(args) => add::add(session, &args)?,
        Command::Record(args) => record::record(session, &args)?,
        Command::Pair(args) => record::pair(session, &args)?,
        Command::Flash(args) => record::flash(session, &args)?,
        Command::Note(args) => record::note(session, &args)?,
        Command::Strike { entry } => record::strike(session, &entry)?,
        Command::Erase { entry } => record::erase(session, &entry)?,
        Command::SameAs { one, other } => record::same_as(session, &one, &other)?,
        Command::Parted { one, other } => record::parted(session, &one, &other)?,
        Command::Links(args) => links::links(session, &args)?,
        Command::Link(args) => link::link(session, &args)?,
        Command::Whatif(args) => what_if::what_if(session, &args)?,
        Command::Spares { aircraft } => spares::spares(session, &aircraft)?,
        Command::Ids(args) => ids::ids(session, &args)?,
        Command::Budget(args) => budget::budget(session, &args)?,
        Command::Reach(args) => reach::reach(session, &args)?,
        Command::Advise(args) => advise::advise(session, &args)?,
        Command::Law(args) => law::law(session, &args)?,
        Command::Telemetry(args) => telemetry::telemetry(session, &args)?,
        Command::Calc(args) => calc::calc(session, &args)?,
        Command::Fault(args) => return fault::fault(session, args.what),
        Command::Refit(args) => refit::refit(session, args.what)?,
        Command::Outputs(args) => fit::part(session, Part::Outputs, &args)?,
        Command::Supply(args) => fit::part(session, Part::Supply, &args)?,
        Command::Failsafe(args) => fit::part(session, Part::Failsafe, &args)?,
        Command::Antennas(args) => fit::part(session, Part::Antennas, &args)?,
        Command::Commission(args) => commission::commission(session, args.what)?,
        Command::Card(args) => card::card(session, &args)?,
        Command::Labels(args) => card::labels(session, &args)?,
        Command::Families(args) => return families::families(session, args.what),
        Command::Minutes(args) => settings::minutes(session, args.what)?,
        Command::Settings(args) => settings::settings(session, args.what)?,
        Command::Backup { to } => backup::backup(session, &to)?,
        Command::Restore(args) => backup::restore(session, &args)?,
        Command::Verify => return backup::verify(session),
        Command::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(shell, &mut Args::command(), "holdfast", &mut text);
            session.out.bytes(&text)?;
        }
        Command::Man => {
            let mut text = Vec::new();
            man(&Args::command(), &mut text).context("the manual page can't be made")?;
            session.out.bytes(&text)?;
        }
    }
    Ok(End::Fine)
}

/// The manual page, with every command on it.
fn man(command: &clap::Command, into: &mut Vec<u8>) -> io::Result<()> {
    clap_mangen::Man::new(command.clone()).render(into)?;
    sections(command, "holdfast", into)
}

/// A section for each command below another.
fn sections(command: &clap::Command, above: &str, into: &mut Vec<u8>) -> io::Result<()> {
    for sub in command.get_subcommands().filter(|sub| sub.get_name() != "help") {
        let name = format!("{above} {}", sub.get_name());
        let page = clap_mangen::Man::new(sub.clone().bin_name(name.clone()));
        into.extend_from_slice(format!(".SH \"{}\"\n", name.to_uppercase()).as_bytes());
        page.render_description_section(into)?;
        page.render_synopsis_section(into)?;
        page.render_options_section(into)?;
        sections(sub, &name, into)?;
    }
    Ok(())
}
