//! Erasing for good what a guest's trail says.

use register::entry::Body;
use register::id::EntryId;
use register::trail::{Begun, TrailLog};
use store::Record;

use super::{NoTrail, find};
use crate::workshop::Workshop;

/// The kind of the entry that begins a trail, in the head that stays when it is erased.
const BEGINNING: &str = "trail";

fn of_guest(begun: &Begun) -> Result<(), NoTrail> {
    let own = begun.transmitter.is_some() && begun.receiver.is_some() && begun.whose.is_empty();
    if own { Err(NoTrail::NotGuest) } else { Ok(()) }
}

/// Whether a trail's data can be erased: only where some of it is a guest's.
///
/// # Errors
/// It is about the workshop's own gear only.
pub fn may_forget(log: &TrailLog) -> Result<(), NoTrail> {
    of_guest(&log.begun.what)
}

/// The trail that a person means to forget, as [`find`] has it: also one whose beginning was
/// struck, or erased where its journal couldn't be emptied.
///
/// # Errors
/// There is none, it isn't clear which, or it is about the workshop's own gear only.
pub fn find_to_forget(workshop: &Workshop, name: &str) -> Result<EntryId, NoTrail> {
    let id = match find(workshop, Some(name)) {
        Err(NoTrail::Missing(wanted)) if wanted.len() >= 4 => {
            let mut all = workshop.store.recent(u32::MAX)?;
            all.retain(|one| one.kind == BEGINNING && one.stamp.id.to_string().ends_with(&wanted));
            match all.as_slice() {
                [] => return Err(NoTrail::Missing(wanted)),
                [one] => one.stamp.id,
                many => {
                    let ids: Vec<String> = many.iter().map(|one| one.stamp.id.to_string()).collect();
                    return Err(NoTrail::Several(ids.join(", ")));
                }
            }
        }
        other => other?,
    };
    beginning(workshop, id)?;
    Ok(id)
}

/// Whether an entry is the beginning of a trail that may be erased, or was.
fn beginning(workshop: &Workshop, id: EntryId) -> Result<(), NoTrail> {
    match workshop.store.record(id)? {
        Some(Record { body: Body::TrailBegun(begun), .. }) => of_guest(&begun),
        Some(Record { kind, erased: true, .. }) if kind == BEGINNING => Ok(()),
        _ => Err(NoTrail::Missing(id.to_string())),
    }
}

/// Erases what a guest's trail says, as a whole or not at all, also of one that was struck. How
/// it ended stays, for it names nobody. Done again it empties a journal that was in use.
///
/// # Errors
/// It is about the workshop's own gear only, the workshop can't be written, or its journal is in
/// use.
pub fn forget(workshop: &mut Workshop, id: EntryId) -> Result<usize, NoTrail> {
    beginning(workshop, id)?;
    // Struck events are not in the log, but their words are in the file.
    let mut entries = Vec::new();
    workshop.store.for_each(0, |stamp, body| {
        if matches!(&body, Body::TrailEvent { trail, .. } if *trail == id) {
            entries.push(stamp.id);
        }
    })?;
    entries.push(id);
    let erased = workshop.store.erase_all(&entries);
    // They are gone from the logbook, also where the journal still holds them.
    workshop.refresh()?;
    erased?;
    Ok(entries.len())
}
