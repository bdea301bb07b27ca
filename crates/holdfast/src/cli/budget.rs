//! `budget`: the whole link sheet in words.

use std::io;

use link::law::Limits;
use link::sheet::{NEAREST, sheet};
use units::{Db, Dbm};
use wire::answers::sheet::{Direction, Sheet};

use super::Session;
use super::args;
use super::asked::{self, chance_of_100, figure, of_100, percent};
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
    if args.formulas {
        out.gap()?;
        out.line("Figures beside the steps")?;
        for one in &sheet.formulas {
            out.hanging(2, "-", &format!("{}: {} ({})", one.what, one.inputs, one.calc))?;
        }
    } else {
        out.line("--formulas gives each step's formula with its inputs.")?;
    }
    out.gap()?;
    both(out, sheet)?;
    out.gap()?;
    out.line(&asked::limiting_words(sheet.limiting, &sheet.control.reach))?;
    let latency = &sheet.latency;
    out.line(&format!(
        "Stick to servo: half within {:.1} ms, 95 of 100 within {:.1} ms, 99 of 100 within {:.1} ms.",
        latency.median_ms, latency.p95_ms, latency.p99_ms
    ))?;
    if let (Some(in_time), Some(wanted)) = (sheet.in_time, sheet.flight.latency_ms) {
        let kept = if in_time { "is kept" } else { "is not kept" };
        out.line(&format!("Wanted are {} ms for 95 of 100: that {kept}.", figure(wanted)))?;
    }
    match &sheet.failsafe {
        Some(failsafe) => out.line(&format!(
            "Failsafe (nothing for {} s): chance {} in 100 within {} min at this distance; of its rate {} % from fading \
             within metres, the rest from spells of bad attitude and shadow.",
            figure(failsafe.after_s),
            chance_of_100(failsafe.chance),
            figure(failsafe.in_s / 60.0),
            figure((failsafe.from_fading * 100.0).round()),
        ))?,
        None => out.line("Failsafe: the receiver's time-out is not known; add failsafe_s=.")?,
    }
    out.line(&format!(
        "Lost: {} of 100 packets in all, {} of 100 to other transmitters.",
        chance_of_100(sheet.interference.lost),
        chance_of_100(sheet.interference.lost_to_others)
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
        "{} {} out as wanted: {} of 100 spells",
        if sheet.holds { "Holds" } else { "Does not hold" },
        asked::metres(Some(sheet.flight.distance_m)),
        of_100(sheet.control.probability)
    );
    let reach = |way: &Direction| {
        let reach = &way.reach;
        let beyond = if reach.beyond { "beyond " } else { "" };
        let (low, high) = (asked::metres(reach.low_m), asked::metres(reach.high_m));
        format!("{beyond}{} ({low} to {high})", asked::metres(reach.distance_m))
    };
    let first = match (&sheet.telemetry, sheet.limiting) {
        (Some(telemetry), "telemetry") => format!("{holds}; telemetry fails first, at {}.", reach(telemetry)),
        (Some(_), "control") => format!("{holds}; control fails first, at {}.", reach(&sheet.control)),
        (telemetry, _) if sheet.control.reach.distance_m.is_none() => {
            let what = if telemetry.is_some() { "neither way holds" } else { "it doesn't hold" };
            format!("{holds}; {what} even at {NEAREST}.")
        }
        _ => format!("{holds}; it reaches {}.", reach(&sheet.control)),
    };
    let late = if sheet.in_time == Some(false) { " Later than the wanted latency." } else { "" };
    match (sheet.standing, &sheet.flight.region) {
        (Some(standing), Some(region)) => {
            format!("{first}{late} Limits of {region}: {standing}.")
        }
        _ => format!("{first}{late}"),
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
    out.line(&format!("One packet in 100 is lost at {}, the sensitivity.", Dbm(way.sensitivity_dbm)))
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
        match way.needed_db {
            None => "none is enough".to_owned(),
            // Fewer packets are wanted than arrive at the sensitivity.
            Some(needed) if needed < 0.0 => format!("none; {} less does", Db(-needed)),
            Some(needed) => Db(needed).to_string(),
        }
    });
    row("spells that hold, of 100", &|way| of_100(way.probability));
    row("holds as wanted", &|way| if way.holds { "yes" } else { "no" }.to_owned());
    row("packets that arrive, of 100", &|way| of_100(way.delivery));
    let wanted = format!("reach, {} of 100 spells", percent(sheet.flight.probability));
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
    let ways = [("control", Some(law)), ("telemetry", sheet.telemetry_law.as_ref())];
    for (way, law) in ways.into_iter().filter_map(|(way, law)| Some((way, law?))) {
        // The sentence begins with the verdict, which doesn't tell of remembered limits.
        let beside = if law.standing == law.verdict { String::new() } else { format!(", {}", law.standing) };
        out.line(&format!("Limits of {} for {way}{beside}: {}", law.region, law.sentence))?;
    }
    Ok(())
}
