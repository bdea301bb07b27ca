//! Where the voltage goes, every load at every charge, and what would help.

use std::io;

use wire::answers::fit::supply::{Case, Change, Help, Point, Supply};

use super::{bar, figure, under};
use crate::cli::link::minutes;
use crate::cli::out::Out;
use crate::cli::table::Table;

pub fn drawing(out: &mut Out, supply: &Supply) -> io::Result<()> {
    cases(out, supply)?;
    out.gap()?;
    let worst = supply.worst_held.and_then(|at| supply.cases.get(at));
    if let Some((case, point)) = worst.and_then(|case| Some((case, case.point.as_ref()?))) {
        out.line(&format!("Where the voltage goes, in the worst case that holds ({}):", case.name))?;
        staircase(out, supply, point)?;
    } else {
        out.line("No case holds, so there is no way of the voltage to show.")?;
    }
    out.gap()?;
    out.line(&supply.endurance.sentence)?;
    helps(out, &supply.helps)?;
    out.gap()?;
    out.line(&supply.capacitor.text)
}

/// How a case is told in the table.
fn told(case: &Case) -> String {
    match (case.outcome, &case.point) {
        ("held", Some(point)) => figure(5, 2, point.receiver_v, "V"),
        (_, Some(point)) => format!("{} RESET", figure(5, 2, point.receiver_v, "V")),
        (_, None) => "COLLAPSE".to_owned(),
    }
}

/// A table: loads down, charges across.
fn cases(out: &mut Out, supply: &Supply) -> io::Result<()> {
    let mut charges: Vec<&str> = Vec::new();
    let mut rows: Vec<(&str, Option<&str>)> = Vec::new();
    for case in &supply.cases {
        if !charges.contains(&case.charge) {
            charges.push(case.charge);
        }
        let row = (case.load.as_str(), case.failed.as_deref());
        if !rows.contains(&row) {
            rows.push(row);
        }
    }
    out.gap()?;
    out.line(&format!(
        "At the receiver; it works down to {} V and resets at {} V:",
        supply.works_to_v, supply.resets_at_v
    ))?;
    let heads: Vec<String> = ["load".to_owned()]
        .into_iter()
        .chain(charges.iter().map(|charge| format!("pack {charge}")))
        .collect();
    let mut table = Table::new(&heads).first_whole();
    for (load, failed) in rows {
        let mut cells = vec![match failed {
            Some(pack) => format!("{load}, {pack} failed"),
            None => load.to_owned(),
        }];
        for charge in &charges {
            let case = supply
                .cases
                .iter()
                .find(|case| case.load == load && case.failed.as_deref() == failed && case.charge == *charge);
            cells.push(case.map_or_else(|| "-".to_owned(), told));
        }
        table.row(&cells);
    }
    table.write(out)?;
    let mut whys: Vec<String> = Vec::new();
    for case in &supply.cases {
        if let Some(why) = &case.why
            && !whys.contains(why)
        {
            whys.push(why.clone());
        }
    }
    under(out, "Why there is no operating point:", &whys)
}

/// How many columns the highest voltage of a staircase takes.
const BAR: u32 = 30;

/// The voltage on its way, a step a line.
fn staircase(out: &mut Out, supply: &Supply, point: &Point) -> io::Result<()> {
    let most = point.chain.iter().map(|stage| stage.in_v.max(stage.out_v)).fold(point.receiver_v, f64::max);
    let mut table = Table::new(&["pack", "after", "volts", "lost", "current", ""]).first_whole();
    let mut row = |pack: &str, after: &str, volts: f64, lost: Option<f64>, current: Option<f64>| {
        let lost = lost.map_or_else(|| "-".to_owned(), |lost| figure(5, 2, lost, "V"));
        let current = current.map_or_else(|| "-".to_owned(), |current| figure(5, 2, current, "A"));
        table.row(&[pack, after, &figure(5, 2, volts, "V"), &lost, &current, &bar(volts, 0.0, most, BAR)]);
    };
    for stage in &point.chain {
        row(&stage.pack, &stage.name, stage.out_v, Some(stage.in_v - stage.out_v), Some(stage.current_a));
    }
    row("", "at the receiver", point.receiver_v, None, Some(point.current_a));
    for servo in &point.servos {
        let name =
            if servo.count == 1 { servo.name.clone() } else { format!("{} x {}", servo.count, servo.name) };
        let each = if servo.count == 1 { "" } else { ", each" };
        row(
            "",
            &format!("at {name}{each}"),
            servo.volts_v,
            Some(point.receiver_v - servo.volts_v),
            Some(servo.current_a),
        );
    }
    row("", "the receiver resets at", supply.resets_at_v, None, None);
    table.write(out)?;
    for feed in &point.packs {
        if let Some(regulator) = &feed.regulator {
            let chip = regulator.chip_c.map(|chip| format!("; its chip comes to {chip:.0} °C if that lasts"));
            let state = match regulator.state {
                "holds" => "holds its voltage",
                "dropped-out" => "has dropped out: its output follows its input down",
                _ => "is at its limit",
            };
            out.line(&format!(
                "The regulator of {} {state} and turns {:.1} W to heat{}.",
                feed.pack,
                regulator.heat_w,
                chip.unwrap_or_default()
            ))?;
        }
    }
    out.line(&format!(
        "Of {:.1} W, {:.1} W reach {} and {:.1} W turn to heat on the way.",
        point.out_w,
        point.loads_w,
        if point.packs.iter().any(|feed| feed.motor_a > 0.0) {
            "motor, receiver and servos"
        } else {
            "receiver and servos"
        },
        point.lost_w
    ))
}

fn helps(out: &mut Out, all: &[Help]) -> io::Result<()> {
    if all.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line("What would help, packs low (volts at the receiver afterwards, and the gain):")?;
    let mut table = Table::new(&["at rest", "hard", "all stalled", "lasts", "change"]).first_whole();
    for help in all {
        let lasts = match (help.minutes_before, help.minutes_after) {
            (Some(before), Some(after)) if (before - after).abs() < 0.05 => "same".to_owned(),
            (_, Some(after)) => minutes(after),
            (_, None) => "-".to_owned(),
        };
        table.row(&[change(help.rest), change(help.hard), change(help.stalled), lasts, help.text.clone()]);
    }
    table.write(out)
}

fn change(change: Change) -> String {
    match (change.before_v, change.after_v) {
        (Some(before), Some(after)) => format!("{after:.2} V ({:+.2})", after - before + 0.0),
        (None, Some(after)) => format!("{after:.2} V (from none)"),
        (_, None) => "collapse".to_owned(),
    }
}
