//! What both doors do with fault trails: begin, follow, write down, go back, close, forget.

use register::entry::{Body, Draft};
use register::family::Side;
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::register::Register;
use register::scene::{Change, Scene};
use register::time::Moment;
use register::trail::{Begun, Event, Outcome, TrailLog};
use register::value::{EndRef, Value};
use trails::learn::STRENGTHS;
use trails::planner::Effort;
use trails::trail::{Deed, Lost, Refused, Trail, act, close, follow, guest, place, scene};

use crate::values;
use crate::workshop::{Workshop, WorkshopError, now};

/// A trail can't be begun, followed or taken further.
#[derive(Debug, thiserror::Error)]
pub enum NoTrail {
    /// There is no such trail.
    #[error("there is no fault trail {0}; `fault show` lists them")]
    Missing(String),
    /// There is none at all.
    #[error("no fault trail is open; begin one with `fault start SYMPTOM TRANSMITTER RECEIVER`")]
    None,
    /// Several are open, and none was named.
    #[error("several fault trails are open; name one of {0}")]
    Several(String),
    /// It can't be followed.
    #[error(transparent)]
    Lost(#[from] Lost),
    /// The deed doesn't fit.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// It can't be closed yet.
    #[error("the trail can't be closed yet: {}", list(.0))]
    Unsettled(Vec<Refused>),
    /// A value can't be read.
    #[error("{fact} {says}")]
    Value {
        /// The fact.
        fact: String,
        /// Why not.
        says: String,
    },
    /// There is nothing to go back to.
    #[error("nothing was done on this trail yet, so there is nothing to take back")]
    NothingDone,
    /// Only guest gear's data is erased.
    #[error(
        "this trail is about the workshop's own gear; only a guest's data is erased (a wrong entry is struck)"
    )]
    NotGuest,
    /// The workshop.
    #[error(transparent)]
    Workshop(#[from] WorkshopError),
}

fn list(reasons: &[Refused]) -> String {
    reasons.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

impl From<store::StoreError> for NoTrail {
    fn from(error: store::StoreError) -> NoTrail {
        NoTrail::Workshop(error.into())
    }
}

/// The short name of a trail: the end of its id.
pub fn short(id: EntryId) -> String {
    let text = id.to_string();
    text[text.len() - 6..].to_owned()
}

/// The trail that a person means: by its id or the end of it; without a name the only open
/// one.
///
/// # Errors
/// There is none, or it isn't clear which.
pub fn find(workshop: &Workshop, name: Option<&str>) -> Result<EntryId, NoTrail> {
    let trails = workshop.register().trails();
    if let Some(name) = name {
        let name = name.trim().to_lowercase();
        let fits = |log: &&TrailLog| name.len() >= 4 && log.id().to_string().ends_with(&name);
        let mut found = trails.iter().filter(fits);
        return match (found.next(), found.next()) {
            (Some(one), None) => Ok(one.id()),
            (Some(one), Some(other)) => {
                let all = [one, other].into_iter().chain(found).map(|log| log.id().to_string());
                Err(NoTrail::Several(all.collect::<Vec<_>>().join(", ")))
            }
            (None, _) => Err(NoTrail::Missing(name.chars().take(60).collect())),
        };
    }
    let open: Vec<&TrailLog> = trails.iter().filter(|log| log.closed.is_none()).collect();
    match open.as_slice() {
        [] => Err(NoTrail::None),
        [one] => Ok(one.id()),
        many => Err(NoTrail::Several(many.iter().map(|log| short(log.id())).collect::<Vec<_>>().join(", "))),
    }
}

/// A trail's entries.
///
/// # Errors
/// There is no such trail.
pub fn log(workshop: &Workshop, id: EntryId) -> Result<TrailLog, NoTrail> {
    workshop.register().trail(id).cloned().ok_or_else(|| NoTrail::Missing(id.to_string()))
}

/// Where a trail stands.
///
/// # Errors
/// There is no such trail, or it can't be followed any more.
pub fn at(workshop: &Workshop, id: EntryId) -> Result<Trail, NoTrail> {
    at_of(workshop.register(), workshop.fleet(), id)
}

/// The same, from what a page was given.
///
/// # Errors
/// As [`at`].
pub fn at_of(register: &Register, fleet: &Fleet, id: EntryId) -> Result<Trail, NoTrail> {
    let log = register.trail(id).ok_or_else(|| NoTrail::Missing(id.to_string()))?;
    Ok(follow(register, fleet, log, now(), Effort::default())?)
}

/// The same without reckoning what comes next: enough to write something down.
///
/// # Errors
/// As [`at`].
pub fn light(workshop: &Workshop, id: EntryId) -> Result<Trail, NoTrail> {
    let least = Effort { exact_states: 0.0, evaluations: 1 };
    Ok(follow(workshop.register(), workshop.fleet(), &log(workshop, id)?, now(), least)?)
}

fn subject(begun: &Begun) -> DeviceId {
    let end = begun.receiver.as_ref().or(begun.transmitter.as_ref());
    end.map_or(DeviceId::WORKSHOP, |end: &EndRef| end.device)
}

/// A trail that was not begun, to see what it would come to.
fn not_begun(begun: Begun) -> TrailLog {
    let clock = register::time::Clock(u64::MAX);
    let begun = register::trail::Mark { entry: EntryId(1), seen: now(), clock, what: begun };
    TrailLog { begun, events: Vec::new(), closed: None }
}

/// What a trail on gear of which nothing is known would begin with: for a card of a symptom.
///
/// # Errors
/// There is no such symptom.
pub fn fresh(register: &Register, fleet: &Fleet, symptom: &str) -> Result<Trail, NoTrail> {
    let begun = Begun {
        symptom: symptom.to_owned(),
        transmitter: None,
        receiver: None,
        whose: String::new(),
        facts: Vec::new(),
        open: Vec::new(),
    };
    let light = Effort { exact_states: 0.0, evaluations: 1 };
    Ok(follow(register, fleet, &not_begun(begun), now(), light)?)
}

/// Begins a trail; what is wrong with it is said before anything is written.
///
/// # Errors
/// The symptom or a device isn't known, or the workshop can't be written.
pub fn begin(workshop: &mut Workshop, begun: Begun) -> Result<EntryId, NoTrail> {
    let light = Effort { exact_states: 0.0, evaluations: 1 };
    follow(workshop.register(), workshop.fleet(), &not_begun(begun.clone()), now(), light)?;
    let draft = Draft { seen: now(), subject: subject(&begun), body: Body::TrailBegun(begun) };
    let written = workshop.record(&[draft], &[])?;
    written.first().map(|one| one.stamp.id).ok_or(NoTrail::None)
}

/// A fact of one side of a link.
pub type Fact = (Side, Field, Value);

/// Reads what is told of guest gear before a trail begins, as a person types it: the side, the
/// fact, the words. A link secret can only be `blank` here.
///
/// # Errors
/// The place in `facts` of the first that is no value of its fact, and why.
pub fn told(workshop: &Workshop, facts: &[(Side, Field, String)]) -> Result<Vec<Fact>, (usize, String)> {
    let register = workshop.register();
    let mut scene = Scene::new(register);
    let supposed = |side: Side| guest(EntryId(1), side);
    for (side, sort) in [(Side::Transmitter, Sort::Transmitter), (Side::Receiver, Sort::Receiver)] {
        scene.apply(&Change::Add { device: supposed(side), sort }, now());
    }
    let main = || Part::End(Part::MAIN.to_owned());
    // The family first: it says which bands, regions, versions and model IDs there are.
    let mut order: Vec<usize> = (0..facts.len()).collect();
    order.sort_by_key(|at| facts[*at].1 != Field::Family);
    let mut values: Vec<(usize, Value)> = Vec::new();
    for at in order {
        let (side, field, words) = &facts[at];
        let part = match (side, field) {
            (Side::Transmitter, Field::ModelId) => Part::Memory("now".to_owned()),
            _ => main(),
        };
        let device = supposed(*side);
        let value = values::parse(&scene, device, &part, *field, words).map_err(|says| (at, says))?;
        scene.apply(&Change::Set { device, part, field: *field, value: value.clone() }, now());
        values.push((at, value));
    }
    values.sort_by_key(|(at, _)| *at);
    Ok(values.into_iter().map(|(at, value)| (facts[at].0, facts[at].1, value)).collect())
}

/// Reads a fact of one side as a person types it.
///
/// # Errors
/// It is no value of that fact, or has no place on that side.
pub fn fact(
    workshop: &Workshop,
    id: EntryId,
    trail: &Trail,
    side: Side,
    field: Field,
    words: &str,
) -> Result<(Side, Field, Value), NoTrail> {
    let (device, part) = place(trail, side, field)?;
    let register = workshop.register();
    let scene = scene(register, &log(workshop, id)?, now())?;
    let value = values::parse(&scene, device, &part, field, words)
        .map_err(|says| NoTrail::Value { fact: format!("the {}'s {}", side.word(), field.label()), says })?;
    Ok((side, field, value))
}

/// Whether a deed tells something: an answer that isn't *can't tell*, where the facts read
/// with it were to give it.
///
/// # Errors
/// The deed doesn't fit.
pub fn tells(workshop: &Workshop, trail: &Trail, deed: Deed) -> Result<bool, NoTrail> {
    let log = log(workshop, trail.id)?;
    let done = act(workshop.register(), &log, trail, deed, now())?;
    let tells = |event: &Event| !matches!(event, Event::Answered { answer, .. } if answer.is_empty());
    Ok(done.events.iter().all(tells))
}

/// Reads how many cases the library's weights count for, as a person types it.
///
/// # Errors
/// It is no number in [`STRENGTHS`].
pub fn strength(typed: &str) -> Result<f64, String> {
    let says = || {
        format!(
            "must be a number from {} to {}: how many cases the library's own weights count for",
            STRENGTHS.start(),
            STRENGTHS.end()
        )
    };
    let number: f64 = typed.trim().replace(',', ".").parse().map_err(|_| says())?;
    if STRENGTHS.contains(&number) { Ok(number) } else { Err(says()) }
}

/// Writes down what was done; gives the trail as it stands then.
///
/// # Errors
/// The deed doesn't fit, or the workshop can't be written; then nothing was.
pub fn write(workshop: &mut Workshop, id: EntryId, deed: Deed) -> Result<Trail, NoTrail> {
    let log = log(workshop, id)?;
    let trail = light(workshop, id)?;
    let seen = now();
    let done = act(workshop.register(), &log, &trail, deed, seen)?;
    let mut drafts: Vec<Draft> = Vec::new();
    for (device, part, field, value) in done.readings {
        drafts.push(workshop.reading(device, part, How::Seen, seen, vec![(field, value)]));
    }
    for change in done.changes {
        let subject = change.device();
        drafts.push(Draft { seen, subject, body: change.body(workshop.register()) });
    }
    let subject = subject(&log.begun.what);
    drafts.extend(done.events.into_iter().map(|event| Draft {
        seen,
        subject,
        body: Body::TrailEvent { trail: id, event },
    }));
    workshop.record(&drafts, &[])?;
    at(workshop, id)
}

/// How far back the logbook is looked through for what was written together.
const RECENT: u32 = 500;

/// Takes the last thing back: its entry and those written together with it are struck.
///
/// # Errors
/// Nothing was done yet, or the workshop can't be written.
pub fn back(workshop: &mut Workshop, id: EntryId) -> Result<Trail, NoTrail> {
    let log = log(workshop, id)?;
    // A closing is the last thing of a closed trail.
    let last = log.closed.as_ref().map(|mark| mark.entry).or(log.events.last().map(|mark| mark.entry));
    let last = last.ok_or(NoTrail::NothingDone)?;
    let record = workshop.store.record(last)?.ok_or(NoTrail::NothingDone)?;
    let together = |stamp: &register::entry::Stamp| {
        stamp.recorded == record.stamp.recorded && stamp.replica == record.stamp.replica
    };
    // A mend may have touched other devices (a spare that was fitted), so what was written
    // together is looked for among all that is recent, and in the history of both ends.
    let begun = &log.begun.what;
    let mut all = workshop.store.recent(RECENT)?;
    let ends = [&begun.transmitter, &begun.receiver].into_iter().flatten().map(|end| end.device);
    for subject in ends.chain([record.stamp.subject]) {
        all.extend(workshop.store.about(subject)?);
    }
    let mut strike: Vec<(EntryId, DeviceId)> = all
        .iter()
        .filter(|one| together(&one.stamp) && !workshop.register().is_struck(one.stamp.id))
        .filter(|one| match &one.body {
            Body::TrailEvent { trail, .. } => *trail == id,
            Body::TrailClosed(closed) => closed.trail == id,
            Body::Reading { .. } | Body::Paired { .. } | Body::Flashed { .. } => true,
            _ => false,
        })
        .map(|one| (one.stamp.id, one.stamp.subject))
        .collect();
    strike.sort_unstable();
    strike.dedup();
    let seen = now();
    let drafts: Vec<Draft> = strike
        .into_iter()
        .map(|(entry, subject)| Draft { seen, subject, body: Body::Strike { entry } })
        .collect();
    workshop.record(&drafts, &[])?;
    at(workshop, id)
}

/// Closes a trail.
///
/// # Errors
/// Something is not settled yet, or the workshop can't be written.
pub fn end(workshop: &mut Workshop, id: EntryId, cause: &str, outcome: Outcome) -> Result<Trail, NoTrail> {
    let log = log(workshop, id)?;
    let trail = light(workshop, id)?;
    let closed = close(&trail, cause, outcome).map_err(NoTrail::Unsettled)?;
    let draft = Draft { seen: now(), subject: subject(&log.begun.what), body: Body::TrailClosed(closed) };
    workshop.record(&[draft], &[])?;
    at(workshop, id)
}

/// Whether a trail's data can be erased: only where some of it is a guest's.
///
/// # Errors
/// It is about the workshop's own gear only.
pub fn may_forget(log: &TrailLog) -> Result<(), NoTrail> {
    let begun = &log.begun.what;
    let own = begun.transmitter.is_some() && begun.receiver.is_some() && begun.whose.is_empty();
    if own { Err(NoTrail::NotGuest) } else { Ok(()) }
}

/// Erases what a guest's trail says. How it ended stays, for it names nobody.
///
/// # Errors
/// It is about the workshop's own gear only, or the workshop can't be written.
pub fn forget(workshop: &mut Workshop, id: EntryId) -> Result<usize, NoTrail> {
    let log = log(workshop, id)?;
    may_forget(&log)?;
    let begun = &log.begun.what;
    // Struck events are not in the log, but their words are in the file.
    let subject = subject(begun);
    let mut entries = vec![id];
    for one in workshop.store.about(subject)? {
        if matches!(&one.body, Body::TrailEvent { trail, .. } if *trail == id) {
            entries.push(one.stamp.id);
        }
    }
    for entry in &entries {
        workshop.store.erase(*entry)?;
    }
    workshop.refresh()?;
    Ok(entries.len())
}

/// When a trail was last touched.
pub fn touched(log: &TrailLog) -> Moment {
    let last = log.closed.as_ref().map(|mark| mark.seen).or(log.events.last().map(|mark| mark.seen));
    last.unwrap_or(log.begun.seen)
}
