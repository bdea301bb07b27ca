//! What each channel does without a link, from the loss to the ground, and where to look.

use std::io;

use wire::answers::fit::failsafe::{Failsafe, Search, Timeline};

use super::{figure, under};
use crate::cli::out::Out;
use crate::cli::table::Table;

pub fn drawing(out: &mut Out, failsafe: &Failsafe) -> io::Result<()> {
    channels(out, failsafe)?;
    if let Some(timeline) = &failsafe.timeline {
        moments(out, timeline)?;
    }
    if let Some(search) = &failsafe.search {
        look(out, search)?;
    }
    Ok(())
}

fn channels(out: &mut Out, failsafe: &Failsafe) -> io::Result<()> {
    if failsafe.channels.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line("Without a link, as written:")?;
    let mut table = Table::new(&["channel", "moves", "goes"]).first_whole();
    for channel in &failsafe.channels {
        let goes = match (channel.action, channel.value_us) {
            ("hold", _) => "keeps its last place".to_owned(),
            ("value", Some(value)) => format!("goes to {value} µs"),
            ("value", None) => "goes to a value that isn't written down".to_owned(),
            ("no-pulses", _) => "gets no pulses".to_owned(),
            _ => "was not set".to_owned(),
        };
        table.row(&[format!("{:>7}", channel.channel), channel.function.clone(), goes]);
    }
    table.write(out)
}

fn moments(out: &mut Out, timeline: &Timeline) -> io::Result<()> {
    out.gap()?;
    out.line("From the last good packet on:")?;
    let mut table = Table::new(&["after", "height", "from there", "what happens"]).first_whole();
    for moment in &timeline.moments {
        table.row(&[
            figure(5, 1, moment.at_s, "s"),
            figure(5, 0, moment.height_m, "m"),
            figure(5, 0, moment.from_lost_m, "m"),
            moment.text.clone(),
        ]);
    }
    table.write(out)
}

fn look(out: &mut Out, search: &Search) -> io::Result<()> {
    out.gap()?;
    out.line("If it goes down:")?;
    search
        .look
        .iter()
        .enumerate()
        .try_for_each(|(at, line)| out.hanging(2, &format!("{}.", at + 1), line))?;
    under(out, "In the field:", &search.field)?;
    under(out, "Mind:", &search.cautions)
}
