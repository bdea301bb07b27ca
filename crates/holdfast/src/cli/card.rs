//! `card` and `labels`: what goes to the bench, to the field and onto the devices.

use std::io;
use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::{Args as ClapArgs, ValueEnum};
use fitting::card::Size;
use register::field::Sort;
use register::id::DeviceId;
use register::scene::Scene;
use wire::answers::card::{Block, Card as Printed, Label};

use super::export::New;
use super::out::Out;
use super::table::Table;
use super::{Session, named};
use crate::fittings::{self, Which};

/// `card`.
#[derive(Debug, ClapArgs)]
pub struct Card {
    /// The aircraft's code, name or id
    pub aircraft: String,
    /// Which card
    #[arg(value_name = "CARD")]
    pub of: Of,
    /// With which transmitter [default: the first that is meant to fly it]
    #[arg(long, value_name = "TX")]
    pub transmitter: Option<String>,
    /// The paper, for --pdf [default: a4 for the bench, a6 for the field]
    #[arg(long, requires = "pdf")]
    pub size: Option<Paper>,
    /// Write it as a PDF to this file, which must not exist yet; `-` for standard output
    #[arg(long, value_name = "FILE")]
    pub pdf: Option<PathBuf>,
}

/// `labels`.
#[derive(Debug, ClapArgs)]
pub struct Labels {
    /// The devices' codes, names or ids [default: every transmitter and receiver]
    pub devices: Vec<String>,
    /// Write them as a PDF to this file, which must not exist yet; `-` for standard output
    #[arg(long, value_name = "FILE")]
    pub pdf: Option<PathBuf>,
}

/// Which card.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Of {
    /// All that is written down and found, and what is still to be proven
    Bench,
    /// What to do and to know at the field
    Field,
}

/// A size of paper.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Paper {
    /// 210 mm by 297 mm
    A4,
    /// 105 mm by 148 mm
    A6,
}

/// Prints a card.
pub fn card(session: &mut Session, args: &Card) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register(), workshop.fleet());
    let scene = Scene::new(register);
    let aircraft = named::device(&scene, &args.aircraft, Some(Sort::Aircraft))?;
    let transmitter = named::transmitter(&scene, args.transmitter.as_deref())?;
    let (which, usual) = match args.of {
        Of::Bench => (Which::Bench, Size::A4),
        Of::Field => (Which::Field, Size::A6),
    };
    let address = fittings::address(register);
    let card = fittings::card(register, fleet, which, aircraft, transmitter, address.as_deref())?;
    if let Some(to) = &args.pdf {
        let size = args.size.map_or(usual, |paper| match paper {
            Paper::A4 => Size::A4,
            Paper::A6 => Size::A6,
        });
        return pdf(session, to, &paper::cards(&[card], size)?, "card");
    }
    let answer = Printed::new(&card);
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(print(&mut session.out, &answer)?)
}

/// Prints labels.
pub fn labels(session: &mut Session, args: &Labels) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register(), workshop.fleet());
    let scene = Scene::new(register);
    let mut devices: Vec<DeviceId> = Vec::new();
    for name in &args.devices {
        devices.push(named::device(&scene, name, None)?);
    }
    if devices.is_empty() {
        devices.extend(fleet.transmitters.iter().map(|view| view.card.id));
        devices.extend(fleet.receivers.iter().map(|view| view.card.id));
    }
    if devices.is_empty() {
        bail!("the workshop has neither a transmitter nor a receiver to label; `add` adds one");
    }
    let address = fittings::address(register);
    let labels = fittings::labels(register, fleet, &devices, address.as_deref())?;
    if let Some(to) = &args.pdf {
        return pdf(
            session,
            to,
            &paper::labels(&labels)?,
            if labels.len() == 1 { "label" } else { "labels" },
        );
    }
    let answer: Vec<Label> = labels.iter().map(Label::new).collect();
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    for (at, label) in answer.iter().enumerate() {
        if at > 0 {
            out.gap()?;
        }
        out.line(&label.title)?;
        label.lines.iter().try_for_each(|line| out.indented(2, line))?;
        square(out, &label.code)?;
    }
    Ok(())
}

/// Writes a PDF to a file, or to standard output where no person looks at it.
fn pdf(session: &mut Session, to: &Path, bytes: &[u8], what: &str) -> anyhow::Result<()> {
    if to == Path::new("-") {
        if session.out.json {
            bail!(
                "--pdf - writes the PDF itself, so there is no answer in JSON; name a file, or leave --json out"
            );
        }
        if io::IsTerminal::is_terminal(&io::stdout()) {
            bail!("a PDF can't be read on a terminal; name a file, or send it to another program");
        }
        return Ok(session.out.bytes(bytes)?);
    }
    let mut file = New::create(to)?;
    file.write(bytes)?;
    file.keep()?;
    let to = to.display().to_string();
    if session.out.json {
        return session.out.answer(&serde_json::json!({ "written": to, "bytes": bytes.len() }));
    }
    Ok(session.out.line(&format!("The {what} went to {to}."))?)
}

fn square(out: &mut Out, code: &str) -> io::Result<()> {
    out.indented(2, "The square holds:")?;
    code.lines().try_for_each(|line| out.indented(4, line))
}

fn print(out: &mut Out, card: &Printed) -> io::Result<()> {
    out.line(&format!("{}: {}", card.kind, card.title))?;
    out.line(&card.sentence)?;
    let mut headed = false;
    for block in &card.blocks {
        // What belongs to a heading stands right under it.
        if !headed {
            out.gap()?;
        }
        headed = matches!(block, Block::Heading { .. });
        print_block(out, block)?;
    }
    out.gap()?;
    if let Some(code) = &card.code {
        out.line("The square holds:")?;
        code.lines().try_for_each(|line| out.indented(2, line))?;
        out.gap()?;
    }
    out.line(&card.foot)
}

fn print_block(out: &mut Out, block: &Block) -> io::Result<()> {
    match block {
        Block::Heading { text } => out.line(&format!("{text}:")),
        Block::Words { text } => out.line(text),
        Block::Caution { text } => out.hanging(0, "Caution:", text),
        Block::Facts { facts } => facts.iter().try_for_each(|fact| {
            let known = if fact.known.is_empty() { String::new() } else { format!(" ({})", fact.known) };
            out.hanging(2, &format!("{}:", fact.name), &format!("{}{known}", fact.value))
        }),
        Block::Boxes { boxes } => boxes.iter().try_for_each(|tick| {
            out.hanging(2, "[ ]", &tick.text)?;
            if tick.more.is_empty() { Ok(()) } else { out.indented(6, &tick.more) }
        }),
        Block::Table { header, rows } => {
            let heads: Vec<String> = header.iter().map(|head| head.to_lowercase()).collect();
            let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>()).first_whole();
            for row in rows {
                table.row(row);
            }
            table.write(out)
        }
        Block::Lines { lines } => lines.iter().try_for_each(|line| {
            let rule = "_".repeat(out.width().saturating_sub(super::out::columns(line) + 5).clamp(8, 40));
            out.indented(2, &format!("{line}: {rule}"))
        }),
    }
}
