//! Two servos on one surface.

use std::collections::BTreeMap;

use super::say::{Found, figure};
use super::taken::{Line, Pulses, Taken, from};
use super::{Direction, Hung, Sender, Sends, function_root};
use crate::finding::Weight;

/// Further apart than this, degrees, two servos stall each other: our judgement.
const STALL: f64 = 5.0;

const PLACES: [&str; 3] = ["at the stick's low end", "in the stick's middle", "at the stick's high end"];

type On<'t> = (&'t Line<'t>, &'t Hung, &'t str);

pub(super) fn check(taken: &Taken<'_>, found: &mut Found) {
    let on: Vec<On<'_>> = taken
        .lines
        .iter()
        .filter(|line| line.output.sends == Sends::Pulses)
        .flat_map(|line| line.parts.iter().map(move |part| (line, *part)))
        .filter_map(|(line, part)| Some((line, part, part.surface.as_deref()?)))
        .collect();
    let mut surfaces: BTreeMap<String, Vec<&On<'_>>> = BTreeMap::new();
    for one in &on {
        surfaces.entry(one.2.to_lowercase()).or_default().push(one);
    }
    for (one, other) in surfaces.values().flat_map(|these| pairs(these)) {
        let (one, other) = if one.1.name <= other.1.name { (one, other) } else { (other, one) };
        pair(taken, one, other, found);
    }
}

/// So many servos on one surface are compared each with each; of more, each with the first.
const FEW: usize = 8;

fn pairs<'a, 't>(on: &'a [&'a On<'t>]) -> Vec<(&'a On<'t>, &'a On<'t>)> {
    let firsts = if on.len() > FEW { 1 } else { on.len() };
    let with = |at: usize| on[at + 1..].iter().map(move |other| (on[at], *other));
    (0..firsts).flat_map(with).collect()
}

fn pair(taken: &Taken<'_>, one: &On<'_>, other: &On<'_>, found: &mut Found) {
    let names = format!("{} and {}", one.1.name, other.1.name);
    let roots =
        [one, other].map(|(line, part, _)| taken.function(line, part).map(|name| function_root(&name)));
    if let [Some(a), Some(b)] = &roots
        && a != b
    {
        found.leave(&format!(
            "{names} move the {} and serve {a} and {b}: what the mix sends to each isn't known, so whether they \
             fight wasn't checked.",
            one.2
        ));
        return;
    }
    let (Some(_), Some(_)) = (one.1.longer_moves, other.1.longer_moves) else {
        found.leave(&format!(
            "Which way {names} move the {} isn't written down, so whether they fight wasn't checked.",
            one.2
        ));
        return;
    };
    let senders: Vec<Option<&Sender>> = if taken.outputs.senders.is_empty() {
        vec![None]
    } else {
        taken.outputs.senders.iter().map(Some).collect()
    };
    let worst = senders
        .into_iter()
        .map(|sender| Apart::of(one, other, sender))
        .reduce(|a, b| if (b.opposed, b.degrees) > (a.opposed, a.degrees) { b } else { a });
    if let Some(apart) = worst {
        tell(&names, one, other, &apart, found);
    }
}

/// How far two servos on a surface are apart at worst.
struct Apart {
    opposed: bool,
    degrees: f64,
    at: usize,
    angles: [f64; 2],
}

impl Apart {
    /// Both angles are straight lines on either side of the stick's middle, so the largest
    /// difference is at an end or in the middle.
    fn of(one: &On<'_>, other: &On<'_>, sender: Option<&Sender>) -> Apart {
        let [a, b] = [one, other].map(|(line, part, _)| angles(from(line, sender), part));
        let mut out =
            Apart { opposed: (a[2] - a[0]) * (b[2] - b[0]) < 0.0, degrees: 0.0, at: 0, angles: [a[0], b[0]] };
        for at in [1, 0, 2] {
            let degrees = (a[at] - b[at]).abs();
            if degrees > out.degrees {
                (out.degrees, out.at, out.angles) = (degrees, at, [a[at], b[at]]);
            }
        }
        out
    }
}

/// The surface's angle at the stick's low end, middle and high end, as this servo would have it.
fn angles(pulses: Pulses, part: &Hung) -> [f64; 3] {
    let sign = if part.longer_moves == Some(Direction::Reversed) { -1.0 } else { 1.0 };
    pulses.all().map(|pulse| sign * part.deg_per_us * (pulse - part.middle().0))
}

fn tell(names: &str, one: &On<'_>, other: &On<'_>, apart: &Apart, found: &mut Found) {
    let where_ = format!(
        "{} {} would have the {} at {}° and {} at {}°: {}° apart",
        PLACES[apart.at],
        one.1.name,
        one.2,
        figure(apart.angles[0], 1),
        other.1.name,
        figure(apart.angles[1], 1),
        figure(apart.degrees, 1)
    );
    let stall = "They push against each other, draw their stall current, grow hot, and can strip a gear or take the \
                 receiver's supply down.";
    if apart.opposed {
        found.add(
            "servos_opposed",
            Weight::Fault,
            names,
            [
                format!("{names} move the {} opposite ways: {where_}.", one.2),
                stall.to_owned(),
                format!(
                    "Disconnect one linkage before power is on, then reverse {} or {}, or mount one the other way \
                     round.",
                    one.0.name(),
                    other.0.name()
                ),
            ],
        );
        return;
    }
    // What neither would feel.
    let felt = [one, other]
        .map(|(_, part, _)| part.dead_band.map_or(super::range::DEAD_BAND, |band| band.0) * part.deg_per_us)
        .into_iter()
        .fold(0.0, f64::max);
    if apart.degrees <= felt + 1e-9 {
        return;
    }
    let heavy = apart.degrees > STALL;
    found.add(
        "servos_apart",
        if heavy { Weight::Fault } else { Weight::Warning },
        names,
        [
            format!("{names} don't agree on the {}: {where_}.", one.2),
            if heavy { stall } else { "They fight a little all the time: they hum, draw current and wear." }
                .to_owned(),
            "Disconnect one linkage, then make centres and ends of both outputs give the same angles, or make the \
             linkages alike."
                .to_owned(),
        ],
    );
}
