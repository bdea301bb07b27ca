//! `budget`: the whole link sheet in words.

use std::io;

use link::law::Limits;
use link::sheet::sheet;
use units::{Db, Dbm};
use wire::answers::sheet::{Direction, Sheet};

use super::Session;
use super::args;
use super::asked::{self, figure, of_100};
use super::out::Out;
use super::table::Table;

/// Shows a link's budget.
pub fn budget(session: &mut Session, args: &args::Budget) -> anyhow::Result<()> {
    let answer = answer(session, &args.asked)?;
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(show(&mut session.out, &answer, args)?)
}

/// The sheet that was asked for.
pub fn answer(session: &Session, asked: &args::Asked) -> anyhow::Result<Sheet> {
    let limits = Limits::shipped();
    let question = asked::question(session, asked, &limits)?;
    let found = sheet(&question.asked.setup, &question.asked.setting, &question.asked.others, &limits)?;
    Ok(Sheet::new(asked::about(&question), &question.asked, &question.suggested, &found))
}

fn show(out: &mut Out, sheet: &Sheet, args: &args::Budget) -> io::Result<()> {
    out.line(&first(sheet))?;
    out.gap()?;
    asked::head(out, &sheet.about, &sheet.setting)?;
    out.line(&asked::flight_words(&sheet.flight))?;
    out.gap()?;
    stairs(out, "Control, from the transmitter to the aircraft", &sheet.control, args.formulas)?;
    if let Some(telemetry) = &sheet.telemetry {
        out.gap()?;
        stairs(out, "Telemetry, from the aircraft to the transmitter", telemetry, args.formulas)?;
    }
    if !args.formulas {
        out.line("--formulas gives each step's formula with its inputs.")?;
    }
    out.gap()?;
    both(out, sheet)?;
    out.gap()?;
    out.line(asked::limiting_words(sheet.limiting))?;
    let latency = &sheet.latency;
    out.line(&format!(
        "Stick to servo: half within {:.1} ms, 95 of 100 within {:.1} ms, 99 of 100 within {:.1} ms.",
        latency.median_ms, latency.p95_ms, latency.p99_ms
    ))?;
    match &sheet.failsafe {
        Some(failsafe) => out.line(&format!(
            "Failsafe (nothing for {} s): chance {} in 100 within {} min at this distance; of its rate {} % from fading \
             within metres, the rest from spells of bad attitude and shadow.",
            figure(failsafe.after_s),
            of_100(failsafe.chance),
            figure(failsafe.in_s / 60.0),
            figure((failsafe.from_fading * 100.0).round()),
        ))?,
        None => out.line("Failsafe: the receiver's time-out is not known; add failsafe_s=.")?,
    }
    out.line(&format!(
        "Lost: {} of 100 packets in all, {} of 100 to other transmitters.",
        of_100(sheet.interference.lost),
        of_100(sheet.interference.lost_to_others)
    ))?;
    if let Some(fit) = &sheet.telemetry_fit {
        let late: Vec<&str> =
            fit.sensors.iter().filter(|sensor| !sensor.fits).map(|sensor| sensor.name.as_str()).collect();
        let told = if late.is_empty() {
            "all come in time".to_owned()
        } else {
            format!("late: {}", late.join(", "))
        };
        out.line(&format!("Sensors: {told}; load {:.0} % of the telemetry slots.", fit.load * 100.0))?;
    }
    out.gap()?;
    laws(out, sheet)?;
    asked::warnings(out, &sheet.warnings)?;
    out.gap()?;
    if args.assumptions {
        out.line("Taken to be so:")?;
        for one in &sheet.assumptions {
            out.hanging(2, "-", &format!("{}: {} ({})", one.what, one.value, one.why))?;
        }
    } else {
        let words: Vec<String> =
            sheet.assumptions.iter().map(|one| format!("{}: {}", one.what, one.value)).collect();
        out.line(&format!("Taken to be so (--assumptions says why): {}.", words.join("; ")))?;
    }
    asked::suggested(out, &sheet.suggested)?;
    asked::taken(out, &sheet.taken)?;
    out.gap()?;
    asked::caution(out)
}

/// The answer in one sentence.
fn first(sheet: &Sheet) -> String {
    let holds = format!(
        "Holds {} out in {} of 100 spells",
        asked::metres(Some(sheet.flight.distance_m)),
        of_100(sheet.control.probability)
    );
    let reach = |way: &Direction| {
        let reach = &way.reach;
        let beyond = if reach.beyond { "beyond " } else { "" };
        let (low, high) = (asked::metres(reach.low_m), asked::metres(reach.high_m));
        format!("{beyond}{} ({low} to {high})", asked::metres(reach.distance_m))
    };
    match (&sheet.telemetry, sheet.limiting) {
        (Some(telemetry), "telemetry") => format!("{holds}; telemetry fails first, at {}.", reach(telemetry)),
        (Some(_), "control") => format!("{holds}; control fails first, at {}.", reach(&sheet.control)),
        _ => format!("{holds}; it reaches {}.", reach(&sheet.control)),
    }
}

fn stairs(out: &mut Out, title: &str, way: &Direction, formulas: bool) -> io::Result<()> {
    out.line(title)?;
    let mut table = Table::new(&["   change", "     level", "what"]);
    for stair in &way.stairs {
        let from = match (stair.calc, stair.inputs.is_empty()) {
            _ if !formulas => String::new(),
            (Some(calc), _) => format!(": {} ({calc})", stair.inputs),
            (None, false) => format!(": {}", stair.inputs),
            (None, true) => String::new(),
        };
        let change =
            if stair.kind == "power" { String::new() } else { format!("{:>+6.1} dB", stair.change_db) };
        let level = format!("{:>10}", Dbm(stair.level_dbm).to_string());
        table.row(&[change, level, format!("{}{from}", stair.what)]);
    }
    table.write(out)?;
    if let Some(last) = way.stairs.last() {
        out.line(&format!(
            "What is left over the sensitivity of {}: {}.",
            Dbm(way.sensitivity_dbm),
            Db(last.level_dbm - way.sensitivity_dbm)
        ))?;
    }
    Ok(())
}

/// The figures of both ways, side by side.
fn both(out: &mut Out, sheet: &Sheet) -> io::Result<()> {
    let mut table = Table::new(&["at this distance", "control", "telemetry"]);
    let ways = [Some(&sheet.control), sheet.telemetry.as_ref()];
    let mut row = |what: &str, of: &dyn Fn(&Direction) -> String| {
        let cells = ways.map(|way| way.map_or_else(|| "-".to_owned(), of));
        table.row(&[what, &cells[0], &cells[1]]);
    };
    row("received, middling attitude", &|way| Dbm(way.received_dbm).to_string());
    row("sensitivity", &|way| Dbm(way.sensitivity_dbm).to_string());
    row("margin, middling attitude", &|way| Db(way.margin_db).to_string());
    row("margin that fading needs", &|way| {
        way.needed_db.map_or_else(|| "none is enough".to_owned(), |needed| Db(needed).to_string())
    });
    row("spells that hold, of 100", &|way| of_100(way.probability));
    row("packets that arrive, of 100", &|way| of_100(way.delivery));
    let wanted = format!("reach, {} of 100 spells", figure(sheet.flight.probability * 100.0));
    row(&wanted, &|way| {
        let beyond = if way.reach.beyond { "beyond " } else { "" };
        format!("{beyond}{}", asked::metres(way.reach.distance_m))
    });
    row("  as sure as 9 in 10, from", &|way| asked::metres(way.reach.low_m));
    row("  to", &|way| asked::metres(way.reach.high_m));
    table.write(out)
}

fn laws(out: &mut Out, sheet: &Sheet) -> io::Result<()> {
    let Some(law) = &sheet.law else {
        let regions = Limits::shipped().regions().join(", ");
        return out.line(&format!(
            "Limits: no region is given, so none are looked at; add region= ({regions} are held)."
        ));
    };
    out.line(&format!("Limits of {} for control: {}", law.region, law.sentence))?;
    if let Some(law) = &sheet.telemetry_law {
        out.line(&format!("Limits of {} for telemetry: {}", law.region, law.sentence))?;
    }
    Ok(())
}
