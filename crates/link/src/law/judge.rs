//! Puts the rows of a region to an emission.

use std::sync::Arc;

use units::{Dbm, Khz, Mhz};

use super::demand::{Case, Telling};
use super::row::Technique;
use super::{
    Demand, Emission, Judgement, Limits, NOTICE, Row, RowJudgement, Standing, UnknownRegion, Verdict, What,
    power,
};

/// What the rules of a region say about an emission that uses its hop channels equally.
///
/// Every row whose band it touches and whose kind of modulation it has is put to it; the best
/// row decides, as a rule may be met in any of its ways. Between rows with an excess the one
/// with the least decides.
///
/// # Errors
/// [`UnknownRegion`], naming the regions there are.
pub fn judge(limits: &Limits, region: &str, emission: &Emission) -> Result<Judgement, UnknownRegion> {
    judge_hop_list(limits, region, emission, &[])
}

/// The same for a hop list that uses some channels more often: visits to each channel in one
/// run through the list. An empty list means equal use.
///
/// # Errors
/// [`UnknownRegion`], naming the regions there are.
pub fn judge_hop_list(
    limits: &Limits,
    region: &str,
    emission: &Emission,
    visits: &[u32],
) -> Result<Judgement, UnknownRegion> {
    let region = limits.region(region)?.to_owned();
    let mut rows = put(limits, &region, emission, visits, Telling::Words)?;
    let hops = emission.hop_channels.is_some_and(|channels| channels > 1);
    rows.sort_by_key(|judged| rank(judged, hops));
    let verdict = rows.first().map_or(Verdict::NotKnown, |best| best.verdict);
    let notes = notes(&region, &rows);
    Ok(Judgement { region, verdict, rows, notes })
}

/// The standing of [`judge`] alone, without a word: for weighing many settings.
///
/// # Errors
/// [`UnknownRegion`], naming the regions there are.
pub fn standing(limits: &Limits, region: &str, emission: &Emission) -> Result<Standing, UnknownRegion> {
    let rows = put(limits, limits.region(region)?, emission, &[], Telling::VerdictsOnly)?;
    let hops = emission.hop_channels.is_some_and(|channels| channels > 1);
    let best = rows.iter().min_by_key(|judged| rank(judged, hops));
    Ok(best.map_or(Standing::NotKnown, RowJudgement::standing))
}

/// Every row that can apply, put to the emission.
fn put(
    limits: &Limits,
    region: &str,
    emission: &Emission,
    visits: &[u32],
    telling: Telling,
) -> Result<Vec<RowJudgement>, UnknownRegion> {
    let mut rows: Vec<RowJudgement> = Vec::new();
    for row in limits.rows_in(region)?.into_iter().filter(|row| touches(row, emission)) {
        let case = Case { row, emission, region, clause: &row.source, visits, telling };
        if row.as_rows.is_empty() {
            if can_be(row, emission) {
                rows.push(judged(row, None, case.demands()));
            }
            continue;
        }
        for other in row.as_rows.iter().filter_map(|id| limits.row(id)) {
            if can_be(other, emission) {
                let clause = format!("{}; as {}", row.source, other.source);
                let taken = Case { row: other, clause: &clause, ..case };
                let mut demands = case.demands();
                demands.extend(taken.of_modulation());
                // An exemption below a power is part of the row taken over.
                demands.extend(other.strictly.contains(&What::Power).then(|| taken.power()));
                rows.push(judged(row, Some(other.clone()), demands));
            }
        }
    }
    Ok(rows)
}

fn judged(row: &Arc<Row>, through: Option<Arc<Row>>, demands: Vec<Demand>) -> RowJudgement {
    let verdict = demands.iter().map(|demand| demand.verdict).max().unwrap_or(Verdict::NotKnown);
    RowJudgement { row: row.clone(), through, verdict, demands }
}

/// Whether the emission shares any frequency with the row's band. The edges of a row of spot
/// channels may be its outer channels' centres.
fn touches(row: &Row, emission: &Emission) -> bool {
    let Some((lower, upper)) = row.edges else { return false };
    let around =
        if row.centres.is_empty() { Mhz(0.0) } else { Mhz(row.channel_spacing.unwrap_or(Khz(10.0)).0 / 2e3) };
    emission.low.0 < upper.0 + around.0 && emission.high.0 > lower.0 - around.0
}

/// Whether the emission is of the kind that the row is for.
fn can_be(row: &Row, emission: &Emission) -> bool {
    // Whether it hops may be unknown: then it may be of either kind, and the row's demands
    // say that it isn't known.
    let hops = emission.hop_channels.map(|channels| channels > 1);
    let kind = match row.technique {
        Technique::Hopping | Technique::Hybrid => hops != Some(false),
        Technique::NotHopping => hops != Some(true),
        Technique::Any | Technique::Digital | Technique::Narrow => true,
    };
    let radiated = power::eirp(emission.conducted, emission.gain, emission.feed_loss);
    kind && row.from_eirp.is_none_or(|from: Dbm| (radiated - from).thousandths() >= 0)
}

/// Least first: within; not known with every remembered limit kept; over; not known with a
/// remembered limit exceeded. Of rows that stand alike, one for hopping equipment goes first
/// for an emission that hops; then the least excess, then the fewest unknowns.
fn rank(judged: &RowJudgement, hops: bool) -> (u8, bool, i64, usize) {
    let row = judged.through.as_ref().unwrap_or(&judged.row);
    let other_kind = hops && !matches!(row.technique, Technique::Hopping | Technique::Hybrid);
    let excess: f64 = judged.demands.iter().map(|demand| demand.excess).sum();
    let tier = match judged.standing() {
        Standing::Within => 0,
        Standing::NotKnown => 1,
        Standing::Over => 2,
        Standing::OverRemembered => 3,
    };
    let unknown = judged.demands.iter().filter(|demand| demand.verdict == Verdict::NotKnown).count();
    (tier, other_kind, units::Db(excess).thousandths(), unknown)
}

fn notes(region: &str, rows: &[RowJudgement]) -> Vec<String> {
    let mut notes = vec![NOTICE.to_owned()];
    let Some(best) = rows.first() else {
        notes.push(format!("No limit is held for {region} at these frequencies; ask the administration."));
        return notes;
    };
    if best.row.region != region {
        notes.push(format!(
            "The row is of {}; {region} carries it out in a national table, which prevails.",
            best.row.region
        ));
    }
    notes.push(format!("How {} is known: {}.", best.row.id, best.row.obtained.says()));
    if best.demands.iter().any(|demand| demand.what == What::PowerDensity) {
        notes.push("Power density is reckoned as spread flat; a real spectrum peaks higher.".to_owned());
    }
    notes.push(
        "A transmitter may be used only with the antennas and settings it was approved with.".to_owned(),
    );
    notes
}
