//! The greatest conducted power under a row's limit.

use std::sync::Arc;

use units::{DIPOLE_OVER_ISOTROPIC, Db, Dbi, Dbm};

use super::row::{AccessRule, Basis, CeilingKnown, GainRule, HopRule, Row, Use};
use super::{Limits, NoLimit, Obtained, REMEMBERED, What, rows_for, say};

/// What a row allows with an antenna and a feed line.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerLimit {
    /// The row.
    pub row: Arc<Row>,
    /// Greatest power into the feed line; none when no figure was found or the figure is only
    /// remembered.
    pub conducted: Option<Dbm>,
    /// The same from a remembered figure.
    pub remembered: Option<Dbm>,
    /// What is then radiated (EIRP).
    pub eirp: Option<Dbm>,
    /// The limit in words.
    pub limit: String,
    /// Document, edition, clause.
    pub clause: String,
    /// What must be known beside it: how the row was obtained, what else it demands, which
    /// other rows were meant too.
    pub notes: Vec<String>,
}

/// A row's limit for an antenna and a feed line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Allowed {
    /// Greatest conducted power.
    pub conducted: Dbm,
    /// Whether the figure that binds was read.
    pub how: How,
}

/// How the figure that binds is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum How {
    Read,
    Remembered,
}

/// Radiated power over isotropic.
pub(super) fn eirp(conducted: Dbm, gain: Dbi, feed_loss: Db) -> Dbm {
    conducted - feed_loss + gain.over_isotropic()
}

/// The greatest conducted power; none where the row holds no figure.
pub(super) fn allowed(row: &Row, gain: Dbi, feed_loss: Db) -> Option<Allowed> {
    let limit = row.power?;
    let over_six = Db((gain.0 - 6.0).max(0.0));
    let back = gain.over_isotropic() - feed_loss;
    let row_known = if row.is_remembered(What::Power) { How::Remembered } else { How::Read };
    let plain = |conducted| Some(Allowed { conducted, how: row_known });
    match row.gain_rule {
        GainRule::OverSix => plain(limit - over_six),
        GainRule::OverSixByThirds => plain(limit - over_six / 3.0),
        GainRule::Radiated if row.basis == Basis::Erp => plain(limit + DIPOLE_OVER_ISOTROPIC - back),
        GainRule::Radiated => plain(limit - back),
        GainRule::AsItStands => plain(limit),
        GainRule::Ceiling { eirp } => {
            let under = eirp - back;
            if under < limit && row.ceiling == CeilingKnown::FromMemory {
                Some(Allowed { conducted: under, how: How::Remembered })
            } else {
                plain(if under < limit { under } else { limit })
            }
        }
    }
}

/// The limit in words, with what it comes to for this antenna.
pub(super) fn words(row: &Row, gain: Dbi, feed_loss: Db) -> String {
    let (Some(limit), Some(allowed)) = (row.power, allowed(row, gain, feed_loss)) else {
        return "none: no figure is held".to_owned();
    };
    let mut words = format!("{} {}", say::level(limit), row.basis.word());
    if let GainRule::Ceiling { eirp } = row.gain_rule {
        words = format!("{words} and {} EIRP", say::level(eirp));
    }
    if row.basis != Basis::Conducted || (allowed.conducted - limit).thousandths() != 0 {
        words = format!("{words}, {} conducted with this antenna", say::level(allowed.conducted));
    }
    if row.strictly.contains(&What::Power) {
        words = format!("below {words}");
    }
    if allowed.how == How::Remembered { format!("{REMEMBERED} {words}") } else { words }
}

/// The greatest conducted power for a band and a class as typed ([`rows_for`]). Where they
/// mean several rows, the one that allows most decides and the notes name the others.
///
/// # Errors
/// [`NoLimit`], naming what there is.
pub fn power_limit(
    limits: &Limits,
    region: &str,
    band: &str,
    class: &str,
    gain: Dbi,
    feed_loss: Db,
) -> Result<PowerLimit, NoLimit> {
    let mut found: Vec<PowerLimit> =
        rows_for(limits, region, band, class)?.into_iter().map(|row| of_row(row, gain, feed_loss)).collect();
    found.sort_by_key(PowerLimit::rank);
    let mut found = found.into_iter();
    let mut best = found.next().ok_or_else(|| NoLimit::Class {
        region: region.to_owned(),
        band: band.to_owned(),
        class: class.to_owned(),
        held: Vec::new(),
    })?;
    for other in found {
        best.notes
            .push(format!("Also meant: {} ({}): {}.", other.row.id, other.row.modulation_class, other.limit));
    }
    Ok(best)
}

impl PowerLimit {
    /// Least comes first: for aircraft, read, most power.
    fn rank(&self) -> (bool, u8, i64) {
        let not_for_aircraft = self.row.aircraft != Use::Aircraft;
        match (self.conducted, self.remembered) {
            (Some(most), _) => (not_for_aircraft, 0, -(most - Dbm(0.0)).thousandths()),
            (None, Some(most)) => (not_for_aircraft, 1, -(most - Dbm(0.0)).thousandths()),
            (None, None) => (not_for_aircraft, 2, 0),
        }
    }
}

fn of_row(row: Arc<Row>, gain: Dbi, feed_loss: Db) -> PowerLimit {
    let allowed = allowed(&row, gain, feed_loss);
    let conducted = allowed.filter(|allowed| allowed.how == How::Read).map(|allowed| allowed.conducted);
    let remembered =
        allowed.filter(|allowed| allowed.how == How::Remembered).map(|allowed| allowed.conducted);
    let mut notes = vec![format!("How it is known: {}.", row.obtained.says())];
    if remembered.is_some() {
        notes.push("The figure is from memory: check the current document before use.".to_owned());
    }
    if allowed.is_none() {
        notes.push("No power figure is held for this row.".to_owned());
    }
    let demands = other_demands(&row);
    if !demands.is_empty() {
        notes.push(format!("It also demands: {}.", demands.join("; ")));
    }
    for words in [&row.notes, &row.obtained_detail] {
        if !words.is_empty() {
            notes.push(format!("About the row: {words}."));
        }
    }
    PowerLimit {
        conducted,
        remembered,
        eirp: allowed.map(|allowed| eirp(allowed.conducted, gain, feed_loss)),
        limit: words(&row, gain, feed_loss),
        clause: row.source.clone(),
        notes,
        row,
    }
}

/// What a row demands beside power, in words.
fn other_demands(row: &Row) -> Vec<String> {
    let mut demands = vec![format!("use: {}; modulation: {}", row.use_class, row.modulation_class)];
    match row.hops {
        Some(HopRule::AtLeast(least)) => demands.push(format!("at least {least} hop channels")),
        Some(HopRule::FifteenMhzOverSeparation(least)) => {
            demands.push(format!("at least {least} hop channels, or 15 MHz over their separation if more"));
        }
        None => {}
    }
    if let Some((most, _)) = row.dwell {
        demands.push(format!("at most {} on one channel in {}", say::time(most), row.window_words));
    }
    if !row.density_words.is_empty() {
        demands.push(row.density_words.clone());
    }
    if let Some(least) = row.min_bandwidth {
        demands.push(format!("channels at least {} wide", say::width(least)));
    }
    if let Some(most) = row.max_bandwidth {
        demands.push(format!("channels at most {} wide", say::width(most)));
    }
    if let Some(duty) = row.duty.filter(|duty| *duty < 1.0) {
        demands.push(format!("at most {} of the time on the air", say::share(duty)));
    }
    if row.access != AccessRule::Free || !row.as_rows.is_empty() {
        demands.push(row.access_words.clone());
    }
    if row.obtained == Obtained::Memory {
        demands.push("every figure of this row is from memory".to_owned());
    }
    demands
}
