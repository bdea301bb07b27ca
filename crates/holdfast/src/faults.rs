//! What both doors do with fault trails: begin, follow, write down, go back, close, forget.

mod forget;

use register::entry::{Body, Draft};
use register::family::Side;
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::register::Register;
use register::scene::{Change, Scene};
use register::time::Moment;
use register::trail::{Begun, Closed, Event, Helped, Outcome, TrailLog};
use register::value::{EndRef, Value};
use store::Record;
use trails::learn::{STRENGTHS, UNLISTED};
use trails::planner::Effort;
use trails::trail::{Deed, Lost, Refused, Trail, act, close, follow, guest, place, scene};
use units::Minutes;

use crate::values;
use crate::workshop::{Workshop, WorkshopError, now};

pub use forget::{find_to_forget, forget, may_forget};

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
    let mut drafts: Vec<Draft> = match &deed {
        Deed::PutBack { change } => undone(workshop, &log, change, seen)?,
        _ => Vec::new(),
    };
    let done = act(workshop.register(), &log, &trail, deed, seen)?;
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

fn struck(record: &Record, seen: Moment) -> Draft {
    Draft { seen, subject: record.stamp.subject, body: Body::Strike { entry: record.stamp.id } }
}

/// What was written together with an entry and still counts. A mend may have touched other
/// devices (a spare that was fitted), so it is looked for among all that is recent, and in the
/// history of both ends.
fn written_with(workshop: &Workshop, log: &TrailLog, record: &Record) -> Result<Vec<Record>, NoTrail> {
    let begun = &log.begun.what;
    let mut all = workshop.store.recent(RECENT)?;
    let ends = [&begun.transmitter, &begun.receiver].into_iter().flatten().map(|end| end.device);
    for subject in ends.chain([record.stamp.subject]) {
        all.extend(workshop.store.about(subject)?);
    }
    all.retain(|one| {
        one.stamp.recorded == record.stamp.recorded
            && one.stamp.replica == record.stamp.replica
            && !workshop.register().is_struck(one.stamp.id)
    });
    all.sort_by_key(|one| one.stamp.id);
    all.dedup_by_key(|one| one.stamp.id);
    Ok(all)
}

/// The readings that a mend of the register made, struck when its change is put back: what was
/// known before holds again.
fn undone(workshop: &Workshop, log: &TrailLog, change: &str, seen: Moment) -> Result<Vec<Draft>, NoTrail> {
    let made = log.events.iter().rev().find(|mark| {
        matches!(&mark.what, Event::Tried { step, helped, .. } if step == change && *helped != Helped::CantTell)
    });
    let Some(made) = made.filter(|_| change.starts_with("rule:")) else { return Ok(Vec::new()) };
    let Some(record) = workshop.store.record(made.entry)? else { return Ok(Vec::new()) };
    let all = written_with(workshop, log, &record)?;
    Ok(all
        .iter()
        .filter(|one| matches!(one.body, Body::Reading { .. }))
        .map(|one| struck(one, seen))
        .collect())
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
    let strike = written_with(workshop, &log, &record)?.into_iter().filter(|one| match &one.body {
        Body::TrailEvent { trail, .. } => *trail == id,
        Body::TrailClosed(closed) => closed.trail == id,
        Body::Reading { .. } | Body::Paired { .. } | Body::Flashed { .. } => true,
        _ => false,
    });
    let seen = now();
    let drafts: Vec<Draft> = strike.map(|one| struck(&one, seen)).collect();
    workshop.record(&drafts, &[])?;
    at(workshop, id)
}

/// Closes a trail; gives it as it stands then. Left as it is can also be a trail that can't be
/// followed any more, because its gear is gone from the register: then there is none to give.
///
/// # Errors
/// Something is not settled yet, or the workshop can't be written.
pub fn end(
    workshop: &mut Workshop,
    id: EntryId,
    cause: &str,
    outcome: Outcome,
) -> Result<Option<Trail>, NoTrail> {
    let log = log(workshop, id)?;
    let closed = match light(workshop, id) {
        Ok(trail) => close(&trail, cause, outcome).map_err(NoTrail::Unsettled)?,
        Err(NoTrail::Lost(_)) if outcome == Outcome::Left => left(&log, cause)?,
        Err(other) => return Err(other),
    };
    let draft = Draft { seen: now(), subject: subject(&log.begun.what), body: Body::TrailClosed(closed) };
    workshop.record(&[draft], &[])?;
    match at(workshop, id) {
        Ok(trail) => Ok(Some(trail)),
        Err(NoTrail::Lost(_)) => Ok(None),
        Err(other) => Err(other),
    }
}

/// What closes a trail that can't be followed any more, from its entries alone. Its minutes are
/// those of its steps as shipped.
fn left(log: &TrailLog, cause: &str) -> Result<Closed, NoTrail> {
    if log.closed.is_some() {
        return Err(NoTrail::Unsettled(vec![Refused::Closed]));
    }
    let symptom = &log.begun.what.symptom;
    let model = trails::library::symptom(symptom);
    let known = |key: &str| key == UNLISTED || model.as_ref().is_some_and(|model| model.cause(key).is_some());
    if !cause.is_empty() && !known(cause) {
        let says = "is none of this symptom's; leave it out where it wasn't found".to_owned();
        return Err(NoTrail::Value { fact: "the cause named".to_owned(), says });
    }
    let mut done: Vec<&str> = Vec::new();
    let mut minutes = Minutes::ZERO;
    for event in log.events.iter().map(|mark| &mark.what) {
        match event {
            Event::Elsewise { minutes: more, .. } => minutes += *more,
            Event::Tried { way: Some(way), .. } => minutes += way.minutes,
            // A step said again takes none.
            Event::Answered { step, .. } | Event::Tried { step, .. } if !done.contains(&step.as_str()) => {
                done.push(step);
                let step = model.as_ref().and_then(|model| Some(&model.steps[model.step(step)?]));
                minutes += step.map_or(Minutes::ZERO, |step| step.minutes);
            }
            _ => {}
        }
    }
    Ok(Closed {
        trail: log.id(),
        symptom: symptom.clone(),
        cause: cause.to_owned(),
        outcome: Outcome::Left,
        minutes,
    })
}

/// When a trail was last touched.
pub fn touched(log: &TrailLog) -> Moment {
    let last = log.closed.as_ref().map(|mark| mark.seen).or(log.events.last().map(|mark| mark.seen));
    last.unwrap_or(log.begun.seen)
}
