//! What a ground range check was worth.

use units::{Db, Metres};

use super::words;
use crate::finding::{Finding, Weight, heaviest, sort};

/// What a range check says.
#[derive(Clone, Debug, PartialEq)]
pub struct RangeJudgement {
    /// The answer in a sentence.
    pub sentence: String,
    /// What was found, the heaviest first.
    pub findings: Vec<Finding>,
    /// The distance at full power that the check corresponds to near the ground, where the field
    /// falls with the fourth power of distance: `d · 10^(dB/40)`; `None` without a known reduction.
    pub near_ground: Option<Metres>,
    /// The same in free space, `d · 10^(dB/20)`.
    pub free_space: Option<Metres>,
}

/// With reduced power, full control at about 30 m is what is usually asked for (common practice, no
/// source; each maker sets its own).
const LEAST_REDUCED: Metres = Metres(30.0);
/// A distance shorter by more than this than last time deserves a search (common practice, no source:
/// 20 to 30 %).
const SHORTER: f64 = 0.25;

/// Judges the distance of a ground range check. `reduction` is the transmitter's in its range-check
/// mode, none at full power; `last` the distance of the last check done alike; `needed` how far the
/// aircraft is flown.
pub fn judge_range(
    distance: Metres,
    reduction: Option<Db>,
    last: Option<Metres>,
    needed: Option<Metres>,
) -> RangeJudgement {
    let mut findings = Vec::new();
    let mut add = |key: &'static str, weight: Weight, text: String, consequence: &str, mend: &str| {
        findings.push(Finding {
            key,
            weight,
            about: "range check".to_owned(),
            text,
            consequence: consequence.to_owned(),
            mend: mend.to_owned(),
        });
    };
    let went = words::metres(distance);
    let far = |slope: f64| reduction.map(|reduction| distance * 10_f64.powf(reduction.0 / slope));
    let (near_ground, free_space) = (far(40.0), far(20.0));
    if let Some(last) = last.filter(|last| distance.0 < last.0 * (1.0 - SHORTER)) {
        add(
            "shorter_than_last",
            Weight::Warning,
            format!(
                "{went}, {} last time: {:.0} % less.",
                words::metres(last),
                100.0 * (1.0 - distance.0 / last.0)
            ),
            "Something changed: an antenna, a supply, a noise, the place or the weather.",
            "Find out what before flying: antennas at both ends first, then the same place and heading again.",
        );
    }
    if reduction.is_some() && distance.0 < LEAST_REDUCED.0 {
        add(
            "under_thirty_metres",
            Weight::Warning,
            format!("{went} at reduced power; about 30 m is usually asked for."),
            "The link has less in hand than usual.",
            "Go by the distance in the maker's manual where it gives one; look at antennas, supply and noise \
             before flying.",
        );
    }
    if reduction.is_none() {
        add(
            "full_power",
            Weight::Note,
            format!("{went}, and no reduction in power is known."),
            "A short check at full power proves little.",
            "Use the transmitter's range-check mode where it has one and write its reduction down; else walk as \
             far as the site allows.",
        );
    }
    if let (Some(needed), Some(near), Some(free)) = (needed, near_ground, free_space) {
        let text = |than: &str, far: Metres| {
            format!("It is flown to {}, {than} {}.", words::metres(needed), words::metres(far))
        };
        if needed > free {
            add(
                "short_of_needed",
                Weight::Warning,
                text("the check corresponds even in free space to no more than", free),
                "The check gives no ground to fly so far.",
                "Find out why the distance is short, or fly nearer.",
            );
        } else if needed > near {
            add(
                "between",
                Weight::Note,
                text("the check corresponds near the ground to no more than", near),
                "High up it may reach, low over the far end of the field it may not.",
                "Keep height at the far end, or do the check at a greater distance.",
            );
        }
    }
    sort(&mut findings);
    let corresponds = match (near_ground, free_space) {
        (Some(near), Some(free)) => format!(
            "; at full power that corresponds to between {} near the ground and {} in free space",
            words::metres(near),
            words::metres(free)
        ),
        _ => String::new(),
    };
    let verdict = match heaviest(&findings) {
        Some(Weight::Warning | Weight::Fault) => "Look for the cause before flying",
        _ => "Nothing found against it",
    };
    let sentence = format!("{verdict}: the check went to {went}{corresponds}.");
    RangeJudgement { sentence, findings, near_ground, free_space }
}
