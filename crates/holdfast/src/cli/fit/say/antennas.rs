//! Where antennas sit, and what they hear round the airframe.

use std::io;

use wire::answers::fit::antennas::{Antennas, Round, Site};

use super::{bar, figure};
use crate::cli::out::Out;
use crate::cli::table::Table;

pub fn drawing(out: &mut Out, antennas: &Antennas) -> io::Result<()> {
    if !antennas.sites.is_empty() {
        out.gap()?;
        out.line("The antennas:")?;
        let mut table =
            Table::new(&["antenna", "sort", "length", "should be", "costs", "points", "nearest to it"])
                .first_whole();
        for site in &antennas.sites {
            table.row(&row(site));
        }
        table.write(out)?;
    }
    antennas.rounds.iter().try_for_each(|one| round(out, one))
}

fn row(site: &Site) -> [String; 7] {
    let dash = || "-".to_owned();
    let mm = |length: Option<f64>| length.map_or_else(dash, |mm| figure(4, 0, mm, "mm"));
    let near: Vec<String> =
        site.near.iter().map(|near| format!("{} {:.0} mm", near.thing, near.distance_mm)).collect();
    let name = if site.on.is_empty() { site.name.clone() } else { format!("{} {}", site.on, site.name) };
    [
        name,
        site.sort.to_owned(),
        mm(site.length_mm),
        mm(site.right_length_mm),
        site.cost_db.map_or_else(dash, |db| format!("{db:.1} dB")),
        site.towards.as_ref().map_or_else(dash, |way| way.words.clone()),
        if near.is_empty() { dash() } else { near.join(", ") },
    ]
}

/// What the headings of the list are called.
const HEADINGS: [(usize, &str); 12] = [
    (0, "ahead"),
    (30, "30"),
    (60, "60"),
    (90, "right"),
    (120, "120"),
    (150, "150"),
    (180, "behind"),
    (210, "210"),
    (240, "240"),
    (270, "left"),
    (300, "300"),
    (330, "330"),
];

/// Degrees between two numbers of a line.
const STEP_DEG: usize = 5;
/// So deep the bars begin.
const DEEPEST: f64 = -30.0;

/// A line for every 30 degrees round the airframe.
fn round(out: &mut Out, round: &Round) -> io::Result<()> {
    let on = if round.on.is_empty() { String::new() } else { format!(" of {}", round.on) };
    out.gap()?;
    out.line(&format!(
        "Level, seen from above: what the antennas{on} ({}) hear under their best direction ({:+.1} dBi):",
        round.antennas.join(", "),
        round.best_dbi
    ))?;
    for (degrees, words) in HEADINGS {
        let Some(gain) = round.line_db.get(degrees / STEP_DEG) else { continue };
        out.ready(&format!("  {words:>6}  {}  {}", figure(5, 1, *gain, "dB"), bar(*gain, DEEPEST, 0.0, 40)))?;
    }
    out.line(&format!("Worst of all directions: {:.1} dB under the best, {}.", round.hole_db, round.hole))?;
    if let (Some(upright), Some(flat)) = (round.upright_db, round.flat_db) {
        out.line(&format!(
            "Far away in level flight on the worst heading: {upright:.1} dB under the best with the transmitter's antenna \
             upright, {flat:.1} dB with it level.",
        ))?;
    }
    Ok(())
}
