//! Taking a tick back.

use refits::follow::{self, Standing};
use register::entry::{Body, Draft};
use register::id::{DeviceId, EntryId};
use register::refit::Event;
use store::Record;

use super::{NoRefit, at, log};
use crate::workshop::{Workshop, now};

/// How far back the logbook is looked through for what was written together.
const RECENT: u32 = 3_000;

/// Takes a tick back: it is struck, with what was written down for it. A refit that ended by it
/// is open again.
///
/// # Errors
/// No such step was ticked, or the workshop can't be written.
pub fn untick(workshop: &mut Workshop, id: EntryId, word: &str) -> Result<Standing, NoRefit> {
    let log = log(workshop.register(), id)?;
    let word = word.trim();
    let missing = || NoRefit::NotTicked(word.chars().take(60).collect());
    let is_it = |step: &str| step == word || follow::code(step).eq_ignore_ascii_case(word);
    // Two people may have ticked it: both ticks go.
    let ticks: Vec<EntryId> = log
        .events
        .iter()
        .filter(|mark| matches!(&mark.what, Event::Ticked { step, .. } if is_it(step)))
        .map(|mark| mark.entry)
        .collect();
    if ticks.is_empty() {
        return Err(missing());
    }
    let mut strike: Vec<(EntryId, DeviceId)> = log
        .events
        .iter()
        .filter(|mark| matches!(mark.what, Event::Ended { .. }))
        .map(|mark| (mark.entry, DeviceId::WORKSHOP))
        .collect();
    for tick in ticks {
        let record = workshop.store.record(tick)?.ok_or_else(missing)?;
        strike.extend(written_for(workshop, &record)?);
        strike.push((record.stamp.id, record.stamp.subject));
    }
    let seen = now();
    let drafts: Vec<Draft> = strike
        .into_iter()
        .map(|(entry, subject)| Draft { seen, subject, body: Body::Strike { entry } })
        .collect();
    workshop.record(&drafts, &[])?;
    at(workshop.register(), workshop.fleet(), id)
}

/// What was written down for a tick: the entries just after it in the same breath, up to the next
/// tick.
fn written_for(workshop: &Workshop, tick: &Record) -> Result<Vec<(EntryId, DeviceId)>, NoRefit> {
    let mut all = workshop.store.recent(RECENT)?;
    all.retain(|one| {
        one.stamp.recorded == tick.stamp.recorded
            && one.stamp.replica == tick.stamp.replica
            && one.stamp.clock > tick.stamp.clock
    });
    all.sort_by_key(|one| (one.stamp.clock, one.stamp.id));
    let of_tick = all.into_iter().take_while(|one| {
        matches!(
            one.body,
            Body::Device { .. } | Body::Reading { .. } | Body::Paired { .. } | Body::Flashed { .. }
        )
    });
    Ok(of_tick.map(|one| (one.stamp.id, one.stamp.subject)).collect())
}
