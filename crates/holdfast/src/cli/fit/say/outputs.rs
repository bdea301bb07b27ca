//! What goes where, one row an output.

use std::io;

use wire::answers::fit::outputs::{Outputs, Part, Wire};

use crate::cli::out::Out;
use crate::cli::table::Table;

pub fn drawing(out: &mut Out, outputs: &Outputs) -> io::Result<()> {
    if outputs.wiring.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line("What goes where:")?;
    let mut table = Table::new(&["output", "carries", "moves", "look at", "sends"]).first_whole();
    for wire in &outputs.wiring {
        let output = format!("{} {}", wire.receiver, wire.output);
        let moves: Vec<String> = wire.parts.iter().map(part).collect();
        let look = wire.weight.filter(|weight| *weight != "note").unwrap_or("-");
        table.row(&[output.trim(), &carries(wire), &moves.join(", "), look, &wire.says]);
    }
    table.write(out)
}

/// What a channel carries: once where all transmitters send the same there.
fn carries(wire: &Wire) -> String {
    let word = |function: &Option<String>| function.clone().unwrap_or_else(|| "?".to_owned());
    let Some(first) = wire.carries.first() else { return "?".to_owned() };
    if wire.carries.iter().all(|one| one.function == first.function) {
        return word(&first.function);
    }
    let each: Vec<String> =
        wire.carries.iter().map(|one| format!("{} {}", one.transmitter, word(&one.function))).collect();
    each.join("; ")
}

fn part(part: &Part) -> String {
    match &part.surface {
        Some(surface) if *surface != part.name => format!("{} ({surface})", part.name),
        _ => part.name.clone(),
    }
}
