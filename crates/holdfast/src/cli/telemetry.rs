//! `telemetry`: how sensors fit into telemetry slots.

use std::io;

use anyhow::bail;
use link::law::Limits;
use wire::answers::telemetry::{Fitted, Telemetry};

use super::Session;
use super::args;
use super::asked::{self, figure};
use super::out::Out;
use super::table::Table;

/// Shows how the sensors fit, in the asked setting and in every other.
pub fn telemetry(session: &mut Session, args: &args::Telemetry) -> anyhow::Result<()> {
    let question = asked::question(session, &args.asked, &Limits::shipped())?;
    if question.asked.setup.sensors.is_empty() {
        bail!("no sensors are given; add sensors=, such as \"sensors=variometer:4:0.2; battery:4:3\"");
    }
    let answer =
        Telemetry::new(asked::about(&question), &question.gear, &question.asked, &question.suggested);
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(show(&mut session.out, &answer)?)
}

fn show(out: &mut Out, answer: &Telemetry) -> io::Result<()> {
    asked::head(out, &answer.about, &answer.setting)?;
    asked::warnings(out, &answer.warnings)?;
    out.gap()?;
    let mode = &answer.setting.mode;
    match &answer.fit {
        None => out.line(&format!("{mode} sends no telemetry as asked, so no sensor is served."))?,
        Some(fit) => {
            if let (Some(rate), Some(bytes)) = (fit.slots_per_second, fit.slot_bytes) {
                out.line(&format!(
                    "{} telemetry slots a second of {bytes} bytes; the sensors want {:.0} % of them.",
                    figure(rate),
                    fit.load * 100.0
                ))?;
            }
            out.gap()?;
            let mut table = Table::new(&["sensor", "bytes", "wanted every", "comes every", "in time"]);
            for (served, wanted) in fit.sensors.iter().zip(&answer.sensors) {
                let comes = served.achieved_s.map_or_else(|| "never".to_owned(), seconds);
                let fits = if served.fits { "yes" } else { "no" };
                table.row(&[
                    &served.name,
                    &wanted.bytes.to_string(),
                    &seconds(served.wanted_s),
                    &comes,
                    fits,
                ]);
            }
            table.write(out)?;
            out.gap()?;
            out.line(&if fit.fits {
                "All come in time.".to_owned()
            } else {
                format!("Late: {}.", late(fit))
            })?;
        }
    }
    out.line(&match answer.smallest_one_in {
        Some(share) => format!("The smallest share of {mode} that fits all: one slot in {share}."),
        None => format!("No share of {mode} fits all."),
    })?;
    out.gap()?;
    let mut table = Table::new(&["mode", "one in", "slots/s", "load", "what comes late"]);
    for one in &answer.modes {
        let share = one.telemetry_one_in.map_or_else(|| "-".to_owned(), |share| share.to_string());
        let Some(fit) = &one.fit else {
            table.row(&[one.mode.as_str(), &share, "0", "", "no telemetry"]);
            continue;
        };
        let told = match (fit.fits, one.smallest_that_fits) {
            (true, true) => "nothing; the smallest share of the mode that fits".to_owned(),
            (true, false) => "nothing".to_owned(),
            (false, _) => late(fit),
        };
        let slots = fit.slots_per_second.map(figure).unwrap_or_default();
        table.row(&[one.mode.as_str(), &share, &slots, &format!("{:.0} %", fit.load * 100.0), &told]);
    }
    table.write(out)?;
    out.gap()?;
    out.line(
        "Times are the longest between two values while every packet arrives; lost packets make them longer.",
    )
}

/// The sensors that come late, with how often they come.
fn late(fit: &Fitted) -> String {
    let late = fit.sensors.iter().filter(|served| !served.fits).map(|served| match served.achieved_s {
        Some(gap) => format!("{} (every {})", served.name, seconds(gap)),
        None => format!("{} (never)", served.name),
    });
    late.collect::<Vec<_>>().join(", ")
}

fn seconds(time: f64) -> String {
    if time < 1.0 {
        format!("{} ms", figure((time * 1e4).round() / 10.0))
    } else {
        format!("{} s", figure(time))
    }
}
