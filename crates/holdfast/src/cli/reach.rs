//! `reach`: how far a link goes.

use std::io;

use units::{Db, Metres};
use wire::answers::sheet::{Point, Reaches};

use super::Session;
use super::args;
use super::asked::{self, of_100};
use super::budget;
use super::out::Out;
use super::table::Table;

/// Shows how far a link reaches.
pub fn reach(session: &mut Session, args: &args::Reach) -> anyhow::Result<()> {
    let answer = Reaches::of(budget::answer(session, &args.asked)?);
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(show(&mut session.out, &answer)?)
}

fn show(out: &mut Out, reaches: &Reaches) -> io::Result<()> {
    asked::head(out, &reaches.about, &reaches.setting)?;
    out.line(&asked::flight_words(&reaches.flight))?;
    out.gap()?;
    out.hanging(0, "Control:  ", &asked::reach_words(&reaches.control))?;
    if let Some(telemetry) = &reaches.telemetry {
        out.hanging(0, "Telemetry:", &asked::reach_words(telemetry))?;
    }
    out.line(&asked::limiting_words(reaches.limiting, &reaches.control))?;
    asked::warnings(out, &reaches.warnings)?;
    out.gap()?;
    let mut table = Table::new(&["control with", "reaches", "that is", "median latency"]);
    for gain in &reaches.gains {
        let farther = match gain.farther {
            Some(share) if share < 0.0 => format!("{:.0} % nearer", -share * 100.0),
            Some(share) => format!("{:.0} % farther", share * 100.0),
            None => "-".to_owned(),
        };
        let latency = format!("{:.1} ms", gain.latency_median_ms);
        let mode = if gain.of == "1 dB more" { gain.of.clone() } else { format!("mode {}", gain.of) };
        table.row(&[mode, asked::metres(gain.distance_m), farther, latency]);
    }
    table.write(out)?;
    out.gap()?;
    curve(out, &reaches.curve)?;
    out.line(
        "margin: of control in the middling spell; 19 of 20 spells have more than the next figure, 1 of 20 more than the \
         one after it; hold: spells of 100 in which enough packets arrive; telemetry: its middling margin.",
    )?;
    out.gap()?;
    asked::suggested(out, &reaches.suggested)?;
    out.line("`budget` with the same words says what else was taken to be so.")?;
    asked::caution(out)
}

/// The most lines of the curve; all of it is in the JSON.
const LINES: usize = 24;

fn curve(out: &mut Out, curve: &[Point]) -> io::Result<()> {
    let telemetry = curve.iter().any(|point| point.telemetry_margin_db.is_some());
    let mut heads = vec!["distance", "margin", "19 of 20", "1 of 20", "hold"];
    if telemetry {
        heads.extend(["telemetry", "hold"]);
    }
    let mut table = Table::new(&heads);
    let step = curve.len().div_ceil(LINES).max(1);
    // The last point is always there.
    let shown = curve.iter().rev().step_by(step).collect::<Vec<_>>();
    for point in shown.into_iter().rev() {
        let mut cells = vec![
            Metres(point.distance_m).to_string(),
            Db(point.margin_db).to_string(),
            Db(point.margin_low_db).to_string(),
            Db(point.margin_high_db).to_string(),
            of_100(point.probability),
        ];
        if telemetry {
            let margin = point.telemetry_margin_db.map(|margin| Db(margin).to_string());
            cells.push(margin.unwrap_or_default());
            cells.push(point.telemetry_probability.map(of_100).unwrap_or_default());
        }
        table.row(&cells);
    }
    table.write(out)
}
