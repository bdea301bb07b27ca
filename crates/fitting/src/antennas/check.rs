//! What is wrong with the antennas.

use units::{Db, Degrees, Metres, Mhz};

use super::{Antenna, Antennas, Around, Connector, Direction, Held, Near, Point, Round, Sort};
use super::{band, lay, near, round, same};
use crate::finding::{self, Finding, Weight};

/// One antenna, for the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Its name.
    pub name: String,
    /// Its receiver's label, as it was written; empty for the aircraft's only one.
    pub on: String,
    /// What it is.
    pub sort: Sort,
    /// From root to tip, where that is known.
    pub towards: Option<Direction>,
    /// Its working part by both ends, where its place is known.
    pub piece: Option<(Point, Point)>,
    /// Its working length as measured.
    pub length: Option<Metres>,
    /// Its working length as it should be for the band.
    pub right_length: Option<Metres>,
    /// What its length or its band costs, where that can be reckoned.
    pub cost: Option<Db>,
    /// What comes near it, the nearest first.
    pub near: Vec<Near>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// In one sentence.
    pub sentence: String,
    /// The heaviest first.
    pub findings: Vec<Finding>,
    /// Each antenna.
    pub sites: Vec<Site>,
    /// Each receiver of whose antennas a direction is known.
    pub rounds: Vec<Round>,
    /// What was not checked, and why.
    pub unchecked: Vec<String>,
}

/// Two antennas nearer to a right angle than this are as they should be: 75 degrees or more.
/// Judgement, no source: there the field costs at most 4.3 dB instead of 3.0.
const SQUARE: Degrees = Degrees(75.0);

/// Under this two antennas hardly help each other: 60 degrees, where the field costs 6 dB.
const ASKEW: Degrees = Degrees(60.0);

/// A hole is worth a finding from here: 10 dB, a third of the range. Judgement, no source.
const DEEP: Db = Db(10.0);

/// A length in words, whole millimetres from 10 on.
pub(super) fn mm(length: Metres) -> String {
    let mm = length.0 * 1000.0;
    if mm < 9.95 { format!("{mm:.1} mm") } else { format!("{mm:.0} mm") }
}

/// Checks the antennas; `band` is the middle of the band that they are used in, where it is known.
///
/// Nothing here knows what the airframe does to a pattern: that is always among what was not checked.
pub fn check(antennas: &Antennas, band: Option<Mhz>) -> Answer {
    if antennas.antennas.is_empty() {
        return Answer {
            sentence: "No antenna is written down, so nothing about them was checked.".to_owned(),
            findings: Vec::new(),
            sites: Vec::new(),
            rounds: Vec::new(),
            unchecked: vec!["The antennas: none is written down.".to_owned()],
        };
    }
    let (mut findings, mut sites, mut rounds, mut unchecked) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for antenna in &antennas.antennas {
        let at = band.or(antenna.made_for);
        let near = near::near(antenna, antennas);
        let (about_band, cost) = band::findings(antenna, band);
        findings.extend(surroundings(antenna));
        findings.extend(connectors(antenna));
        findings.extend(about_band);
        findings.extend(near::findings(antenna, &near, at.map(|at| Metres(at.wavelength().0 / 4.0))));
        unchecked.extend(not_checked(antenna, band, &near));
        sites.push(Site {
            name: antenna.name.clone(),
            on: antenna.on.clone(),
            sort: antenna.sort,
            towards: antenna.towards,
            piece: near::piece(antenna),
            length: antenna.length,
            right_length: at.and_then(|at| band::right_length(antenna.sort, at)),
            cost,
            near,
        });
    }
    for (on, group) in receivers(antennas) {
        findings.extend(pairs(antennas, &on, &group, band, &mut unchecked));
        if let Some(round) = round::round(&on, &group) {
            findings.extend(holes(&round, group.len()));
            rounds.push(round);
        }
    }
    unchecked.push(
        "What the airframe, its carbon and its wires do to the antennas' pattern: the ground range check shows \
         that, in every attitude and with the motor running."
            .to_owned(),
    );
    finding::sort(&mut findings);
    Answer { sentence: sentence(antennas, &findings, &rounds), findings, sites, rounds, unchecked }
}

/// The antennas of each receiver, in their order.
fn receivers(antennas: &Antennas) -> Vec<(String, Vec<&Antenna>)> {
    let mut out: Vec<(String, Vec<&Antenna>)> = Vec::new();
    for antenna in &antennas.antennas {
        match out.iter_mut().find(|(on, _)| same(on, &antenna.on)) {
            Some((_, group)) => group.push(antenna),
            None => out.push((antenna.on.clone(), vec![antenna])),
        }
    }
    out
}

fn owner(on: &str) -> String {
    if on.is_empty() { "the receiver".to_owned() } else { on.to_owned() }
}

fn surroundings(antenna: &Antenna) -> Option<Finding> {
    let (weight, text, consequence) = match antenna.around? {
        Around::Clear => return None,
        Around::BehindCarbon => (
            Weight::Warning,
            "Carbon lies on one side of it.",
            "Carbon stops radio waves like metal: towards that side there is little or no reception, and the \
             antenna is shifted off its band.",
        ),
        Around::InCarbon => (
            Weight::Fault,
            "Carbon lies all round it.",
            "Carbon stops radio waves like metal: there is little or no reception in any direction.",
        ),
    };
    Some(Finding {
        key: if weight == Weight::Fault { "in_carbon" } else { "behind_carbon" },
        weight,
        about: format!("antenna {}", antenna.name),
        text: text.to_owned(),
        consequence: consequence.to_owned(),
        mend: "Bring the whole working part outside, or under wood, foam or glass fibre, and check the range on \
               the ground before it flies."
            .to_owned(),
    })
}

fn connectors(antenna: &Antenna) -> Option<Finding> {
    let (has, wants) = (antenna.connector?, antenna.socket?);
    if has == wants {
        return None;
    }
    let threads = [Connector::Threaded, Connector::ThreadedReversed];
    let consequence = if threads.contains(&has) && threads.contains(&wants) {
        "It screws on, but its middle contact doesn't meet: the receiver is as good as without an antenna, and a \
         transmitter can be damaged."
    } else {
        "It doesn't fit, or sits loose and comes off in flight: then the receiver has no antenna."
    };
    Some(Finding {
        key: "connector_differs",
        weight: Weight::Fault,
        about: format!("antenna {}", antenna.name),
        text: format!("Its connector is {}, the receiver's is {}.", has.label(), wants.label()),
        consequence: consequence.to_owned(),
        mend: "Fit an antenna with the receiver's connector; an adapter is one more plug that can come off."
            .to_owned(),
    })
}

/// How the antennas of a receiver stand to each other.
fn pairs(
    all: &Antennas,
    on: &str,
    group: &[&Antenna],
    band: Option<Mhz>,
    unchecked: &mut Vec<String>,
) -> Vec<Finding> {
    let mut out = Vec::new();
    let straight: Vec<&Antenna> = group.iter().copied().filter(|one| one.sort.is_straight()).collect();
    if straight.len() < 2 {
        return out;
    }
    let both: Vec<(&Antenna, &Antenna)> = straight
        .iter()
        .enumerate()
        .flat_map(|(at, one)| straight[at + 1..].iter().map(move |other| (*one, *other)))
        .collect();
    let about = format!("antennas of {}", owner(on));
    let angle = both
        .iter()
        .filter_map(|(one, other)| lay::between(one.towards?.vector(), other.towards?.vector()))
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .or(all.angle);
    match angle {
        Some(angle) => out.extend(angle_finding(angle, &about)),
        None => {
            unchecked.push(format!("The angle between the {about}: their directions aren't written down."));
        }
    }
    let mut known = false;
    for (one, other) in both {
        let places = near::piece(one).zip(near::piece(other)).map(|(one, other)| lay::shortest(one, other));
        let Some(apart) = places.or(all.apart) else { continue };
        known = true;
        let at = band.or(one.made_for);
        let quarter = at.map_or(near::WELL, |at| Metres((at.wavelength().0 / 4.0).max(near::WELL.0)));
        if apart.0 < quarter.0 {
            out.push(Finding {
                key: "too_close_together",
                weight: if apart.0 < near::LEAST.0 { Weight::Warning } else { Weight::Note },
                about: format!("antennas {} and {}", one.name, other.name),
                text: format!("They come within {} of each other, less than {}.", mm(apart), mm(quarter)),
                consequence: "Two antennas so near take from each other, and the same thing shades both."
                    .to_owned(),
                mend: "Lay them as far apart as the airframe allows.".to_owned(),
            });
        }
    }
    if !known {
        unchecked.push(format!("The distance between the {about}: their places aren't written down."));
    }
    out
}

fn angle_finding(angle: Degrees, about: &str) -> Option<Finding> {
    if angle.0 >= SQUARE.0 {
        return None;
    }
    let (worst, best) = (round::field_loss(angle), round::field_loss(Degrees(90.0)));
    Some(Finding {
        key: "not_square",
        weight: if angle.0 < ASKEW.0 { Weight::Warning } else { Weight::Note },
        about: about.to_owned(),
        text: format!("They stand at {:.0}° to each other; 90° is best.", angle.0),
        consequence: format!(
            "A field that lies across both costs up to {:.1} dB; at 90° it would be {:.1} dB. In a turn or a roll \
             both lose it together.",
            worst.0, best.0
        ),
        mend: "Turn one of them until they stand at right angles, and fix both so that they stay.".to_owned(),
    })
}

fn holes(round: &Round, antennas: usize) -> Vec<Finding> {
    let mut out = Vec::new();
    let about = format!("antennas of {}", owner(&round.on));
    let alone = round.antennas.len() == 1;
    // What the others hear isn't known.
    let all = round.antennas.len() == antennas;
    if round.hole.depth.0 >= DEEP.0 {
        let left = 100.0 * link::mismatch::range_share(round.hole.depth);
        let words = &round.hole.words;
        out.push(Finding {
            key: "hole",
            weight: if antennas == 1 || !all { Weight::Note } else { Weight::Warning },
            about: about.clone(),
            text: if all {
                format!("They hear {:.0} dB less than at best {words}.", round.hole.depth.0)
            } else {
                format!(
                    "Those whose direction is written down ({}) hear {:.0} dB less than at best {words}.",
                    round.antennas.join(", "),
                    round.hole.depth.0
                )
            },
            consequence: format!(
                "With that side towards the transmitter, {left:.0} % of the best range in free space is left, \
                 reflections apart."
            ),
            mend: if !all {
                "Write down where the others point, too: they may hear there.".to_owned()
            } else if alone {
                "One antenna has such a hole always: lay it so that the hole points where you seldom are, or fit \
                 a receiver with two."
                    .to_owned()
            } else {
                "Turn one of them until they stand at right angles.".to_owned()
            },
        });
    }
    out.extend(round.held.and_then(|held| how_to_hold(held, about)));
    out
}

fn how_to_hold(both: Held, about: String) -> Option<Finding> {
    let (good, held, bad, other) = if both.upright.0 <= both.flat.0 {
        (both.upright, "upright", both.flat, "level")
    } else {
        (both.flat, "level, across the line to the aircraft", both.upright, "upright")
    };
    (bad.0 - good.0 >= 6.0).then(|| {
        Finding {
            key: "how_to_hold",
            weight: Weight::Note,
            about,
            text: format!(
                "In level flight, on the worst heading, they lose {:.0} dB to a transmitter's antenna that is held \
                 {held}, and {:.0} dB to one that is held {other}.",
                good.0, bad.0
            ),
            consequence: "How the transmitter's antenna is held decides how far it reaches.".to_owned(),
            mend: format!("Hold it {held}; never point its tip at the aircraft."),
        }
    })
}

/// What couldn't be checked of one antenna.
fn not_checked(antenna: &Antenna, band: Option<Mhz>, near: &[Near]) -> Vec<String> {
    let mut missing = Vec::new();
    if antenna.towards.is_none() && !near::is_on_board(antenna) {
        missing.push("where it points");
    }
    if antenna.sort.is_straight() && antenna.length.is_none() {
        missing.push("its working length");
    }
    if antenna.made_for.is_none() {
        missing.push("the band that it is made for");
    } else if band.is_none() {
        missing.push("the band that it is used in");
    }
    if antenna.around.is_none() {
        missing.push("whether carbon hides it");
    }
    if near.is_empty() {
        missing.push("what is near it");
    }
    if (antenna.connector.is_none() || antenna.socket.is_none()) && !near::is_on_board(antenna) {
        missing.push("whether its connector fits");
    }
    if missing.is_empty() {
        return Vec::new();
    }
    vec![format!("Of antenna {}: {}; not written down or not known.", antenna.name, missing.join(", "))]
}

fn counted(count: usize, one: &str, several: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {several}") }
}

fn sentence(antennas: &Antennas, findings: &[Finding], rounds: &[Round]) -> String {
    let these = counted(antennas.antennas.len(), "antenna", "antennas");
    let count = |weight| findings.iter().filter(|finding| finding.weight == weight).count();
    let (faults, warnings) = (count(Weight::Fault), count(Weight::Warning));
    let hole =
        rounds.iter().max_by(|one, other| one.hole.depth.0.total_cmp(&other.hole.depth.0)).map_or_else(
            || "where they hear worst isn't known without their directions".to_owned(),
            |round| {
                format!("they hear worst {}, {:.1} dB under their best", round.hole.words, round.hole.depth.0)
            },
        );
    match findings.first() {
        Some(first) if faults + warnings > 0 => {
            let mut counts = Vec::new();
            if faults > 0 {
                counts.push(counted(faults, "fault", "faults"));
            }
            if warnings > 0 {
                counts.push(counted(warnings, "warning", "warnings"));
            }
            format!("{} on {these}, first {}: {}", counts.join(" and "), first.about, lower(&first.text))
        }
        _ => format!("Nothing was found against {these} by what is written down; {hole}."),
    }
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}
