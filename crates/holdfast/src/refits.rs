//! What both doors do with refits: read wishes, plan, begin, follow, tick, put off, plan anew, end.

mod untick;
mod wishes;

use refits::ask::Question;
use refits::follow::{self, NoStep, Standing};
use refits::layout::Line;
use refits::planner::{NoPlan, Plan, Planner, Progress};
use register::entry::{Body, Draft};
use register::fleet::{self, Fleet};
use register::id::{DeviceId, EntryId};
use register::refit::{Begun, Ending, Event, RefitLog, Wish};
use register::register::Register;
use register::scene::Scene;
use units::Minutes;

use crate::workshop::{Workshop, WorkshopError, now};

pub use untick::untick;
pub use wishes::{Secrets, evening_minutes, wish, wish_word, wishes};

/// A refit can't be planned, found or taken further.
#[derive(Debug, thiserror::Error)]
pub enum NoRefit {
    /// There is no such refit.
    #[error("there is no refit {0}; `refit show` lists them")]
    Missing(String),
    /// None is open.
    #[error("no refit is open; `refit plan` plans one, and with `--begin` begins it")]
    None,
    /// Several are open, and none was named.
    #[error("several refits are open; name one of {0}")]
    Several(String),
    /// A word can't be read.
    #[error("`{word}` {says}")]
    Word {
        /// The word.
        word: String,
        /// What is wrong with it.
        says: String,
    },
    /// There is no plan.
    #[error(transparent)]
    NoPlan(#[from] NoPlan),
    /// There is no such step.
    #[error(transparent)]
    Step(#[from] NoStep),
    /// There is nothing to do.
    #[error("nothing has to be changed for this, so there is nothing to begin")]
    Nothing,
    /// It ended already.
    #[error("{0} has ended; plan a new refit for what is left")]
    Ended(String),
    /// What is put off isn't part of it.
    #[error("{0} is not among what is left of this refit")]
    NotInIt(String),
    /// What is to be taken back was never done.
    #[error("no step with the code {0} was ticked in this refit")]
    NotTicked(String),
    /// The workshop.
    #[error(transparent)]
    Workshop(#[from] WorkshopError),
}

impl From<store::StoreError> for NoRefit {
    fn from(error: store::StoreError) -> NoRefit {
        NoRefit::Workshop(error.into())
    }
}

/// How long the planner works when nobody says otherwise, in its own units (about a
/// microsecond each).
pub const EFFORT: u64 = 10_000_000;
/// How much it works between two looks at whether it is to stop.
const SLICE: u64 = 100_000;

/// Plans: `keep_on` is told how far it has come after every little while, and says whether to go
/// on; the best plan so far is given when it doesn't.
///
/// # Errors
/// The wishes can't be read or met, or it was stopped before any plan was found.
pub fn plan(
    register: &Register,
    fleet: &Fleet,
    question: &Question,
    effort: u64,
    keep_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, NoPlan> {
    let mut planner = Planner::new(register, fleet, question, now())?;
    loop {
        let progress = planner.run(SLICE);
        if progress.finished || progress.work >= effort || !keep_on(&progress) {
            return planner.plan();
        }
    }
}

/// The short name of a refit: the end of its id.
pub fn short(id: EntryId) -> String {
    crate::faults::short(id)
}

/// The refit that a person means: by its id or the end of it, or its name; without one the only
/// one that is open.
///
/// # Errors
/// There is none, or it isn't clear which.
pub fn find(register: &Register, name: Option<&str>) -> Result<EntryId, NoRefit> {
    let refits = register.refits();
    let list = |found: &[&RefitLog]| found.iter().map(|log| short(log.id())).collect::<Vec<_>>().join(", ");
    if let Some(name) = name {
        let name = name.trim().to_lowercase();
        let by_id = |log: &&RefitLog| name.len() >= 4 && log.id().to_string().ends_with(&name);
        let by_name = |log: &&RefitLog| log.begun.what.name.to_lowercase() == name;
        let mut found: Vec<&RefitLog> = refits.iter().filter(by_id).collect();
        if found.is_empty() {
            found = refits.iter().filter(by_name).collect();
        }
        return match found.as_slice() {
            [one] => Ok(one.id()),
            [] => Err(NoRefit::Missing(name.chars().take(60).collect())),
            many => Err(NoRefit::Several(list(many))),
        };
    }
    let open: Vec<&RefitLog> = refits.iter().filter(|log| log.ended().is_none()).collect();
    match open.as_slice() {
        [] => Err(NoRefit::None),
        [one] => Ok(one.id()),
        many => Err(NoRefit::Several(list(many))),
    }
}

/// A refit's entries.
///
/// # Errors
/// There is no such refit.
pub fn log(register: &Register, id: EntryId) -> Result<&RefitLog, NoRefit> {
    register.refit(id).ok_or_else(|| NoRefit::Missing(id.to_string()))
}

/// Where a refit stands.
///
/// # Errors
/// There is no such refit.
pub fn at(register: &Register, fleet: &Fleet, id: EntryId) -> Result<Standing, NoRefit> {
    Ok(follow::standing(register, fleet, log(register, id)?, now()))
}

fn open(register: &Register, id: EntryId) -> Result<&RefitLog, NoRefit> {
    let log = log(register, id)?;
    match log.ended() {
        Some(_) => Err(NoRefit::Ended(log.begun.what.name.clone())),
        None => Ok(log),
    }
}

fn event(refit: EntryId, event: Event) -> Draft {
    Draft { seen: now(), subject: DeviceId::WORKSHOP, body: Body::RefitEvent { refit, event } }
}

/// The longest name of a refit, characters.
pub const LONGEST_NAME: usize = 80;

/// Begins a refit; without a name it is called after its first wish.
///
/// # Errors
/// There is nothing to do, the name is too long, or the workshop can't be written.
pub fn begin(workshop: &mut Workshop, name: &str, wishes: &[Wish], plan: &Plan) -> Result<EntryId, NoRefit> {
    if plan.is_empty() {
        return Err(NoRefit::Nothing);
    }
    let name = name.trim();
    if name.chars().count() > LONGEST_NAME {
        let says = format!("is too long for a name: at most {LONGEST_NAME} characters");
        return Err(NoRefit::Word { word: name.chars().take(20).collect(), says });
    }
    let name = if name.is_empty() {
        plan.wishes
            .first()
            .map_or_else(|| "Refit".to_owned(), |wish| wish.chars().take(LONGEST_NAME).collect())
    } else {
        name.to_owned()
    };
    let begun =
        Begun { name, wishes: wishes.to_vec(), links: plan.links.clone(), placed: plan.placed.clone() };
    let draft = Draft { seen: now(), subject: DeviceId::WORKSHOP, body: Body::RefitBegun(begun) };
    let written = workshop.record(&[draft], &[])?;
    written.first().map(|one| one.stamp.id).ok_or(NoRefit::None)
}

/// Which steps are ticked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// These, by code or key.
    Codes(Vec<String>),
    /// All that is left of an evening, from 1.
    Evening(u32),
    /// All that is left of a transmitter, an aircraft or a loose receiver in its next evening.
    Visit(DeviceId),
}

/// What a tick came to.
#[derive(Clone, Debug)]
pub struct Ticks {
    /// The refit as it stands then.
    pub standing: Standing,
    /// The steps that were ticked, in words.
    pub texts: Vec<String>,
    /// Steps of the same evening and the same aircraft or transmitter that stand before a ticked
    /// one and are not done, in words.
    pub passed_over: Vec<String>,
}

/// Writes steps down as done, with what they change; gives the refit as it stands then.
///
/// # Errors
/// There is no such step, it was done already, the refit has ended, or the workshop can't be
/// written; then nothing was.
pub fn tick(workshop: &mut Workshop, id: EntryId, which: &Which) -> Result<Ticks, NoRefit> {
    open(workshop.register(), id)?;
    let standing = at(workshop.register(), workshop.fleet(), id)?;
    let lines: Vec<(u32, &Line)> = match which {
        Which::Codes(codes) => {
            let mut lines: Vec<(u32, &Line)> = Vec::new();
            for code in codes {
                let (evening, line) = standing.step(code)?;
                if !lines.iter().any(|(_, have)| have.step.key == line.step.key) {
                    lines.push((evening, line));
                }
            }
            lines
        }
        Which::Evening(number) => standing.lines().filter(|(evening, _)| evening == number).collect(),
        Which::Visit(what) => {
            let what = workshop.register().canonical(*what);
            let next = standing.lines().find(|(_, line)| line.step.what == what).map(|(evening, _)| evening);
            standing
                .lines()
                .filter(|(evening, line)| Some(*evening) == next && line.step.what == what)
                .collect()
        }
    };
    if lines.is_empty() {
        let named = match which {
            Which::Codes(codes) => codes.join(", "),
            Which::Evening(number) => format!("of evening {number}"),
            Which::Visit(what) => fleet_label(workshop, *what),
        };
        return Err(NoStep::Nothing(named).into());
    }
    let is_ticked = |key: &str| lines.iter().any(|(_, line)| line.step.key == key);
    let mut passed_over: Vec<String> = Vec::new();
    for (evening, line) in &lines {
        let before = standing.lines().take_while(|(_, one)| one.step.key != line.step.key);
        let of_it = before.filter(|(other, one)| other == evening && one.step.what == line.step.what);
        for (_, one) in of_it.filter(|(_, one)| !is_ticked(&one.step.key)) {
            if !passed_over.contains(&one.step.text) {
                passed_over.push(one.step.text.clone());
            }
        }
    }
    let seen = now();
    let mut drafts = Vec::new();
    let mut texts = Vec::new();
    for (evening, line) in lines {
        texts.push(line.step.text.clone());
        let ticked = Event::Ticked { step: line.step.key.clone(), text: line.step.text.clone(), evening };
        drafts.push(event(id, ticked));
        // Just after its tick: see `register::refit::Event::Ticked`.
        for change in &line.step.changes {
            drafts.push(Draft { seen, subject: change.device(), body: change.body(workshop.register()) });
        }
    }
    workshop.record(&drafts, &[])?;
    let after = at(workshop.register(), workshop.fleet(), id)?;
    if after.finished() {
        workshop.record(&[event(id, Event::Ended { how: Ending::Done })], &[])?;
    }
    let standing = at(workshop.register(), workshop.fleet(), id)?;
    Ok(Ticks { standing, texts, passed_over })
}

fn fleet_label(workshop: &Workshop, id: DeviceId) -> String {
    let scene = Scene::new(workshop.register());
    scene.device(id).map_or_else(|| "that device".to_owned(), |device| register::view::card(device).label())
}

/// Puts something off: it is not worked on before an evening (the one after that in which it
/// stands, when none is named).
///
/// # Errors
/// It isn't part of what is left, the refit has ended, or the workshop can't be written.
pub fn defer(
    workshop: &mut Workshop,
    id: EntryId,
    what: DeviceId,
    until: Option<u32>,
) -> Result<Standing, NoRefit> {
    let log = open(workshop.register(), id)?;
    let what = workshop.register().canonical(what);
    let standing = at(workshop.register(), workshop.fleet(), id)?;
    // A receiver stands for the aircraft that it is in.
    let in_aircraft =
        workshop.fleet().receiver(what).and_then(register::view::ReceiverView::fitted_in).unwrap_or(what);
    let placed = log.placed().iter().find(|one| {
        let placed = workshop.register().canonical(one.what);
        placed == what || placed == in_aircraft
    });
    let left = standing.lines().find(|(_, line)| line.step.what == what || line.step.what == in_aircraft);
    let what = match (placed, left) {
        (_, Some((_, line))) => line.step.what,
        (Some(placed), None) if standing.plan.is_none() => placed.what,
        _ => return Err(NoRefit::NotInIt(fleet_label(workshop, what))),
    };
    let stands = left.map(|(evening, _)| evening).or(placed.map(|one| one.evening)).unwrap_or(1);
    let most = u32::try_from(refits::ask::MOST_EVENINGS).unwrap_or(u32::MAX);
    let until = until.unwrap_or(stands.saturating_add(1)).clamp(1, most);
    workshop.record(&[event(id, Event::Deferred { what, until })], &[])?;
    at(workshop.register(), workshop.fleet(), id)
}

/// What is wished from now on: what was and is kept (by its place), then what is new; new evenings
/// take the place of the old.
pub fn rewished(old: &[Wish], keep: &dyn Fn(usize) -> bool, new: Vec<Wish>) -> Vec<Wish> {
    let evenings = |wish: &Wish| matches!(wish, Wish::Evenings { .. });
    let anew = new.iter().any(evenings);
    let kept = old.iter().enumerate().filter(|(at, wish)| keep(*at) && !(anew && evenings(wish)));
    kept.map(|(_, wish)| wish.clone()).chain(new).collect()
}

/// The question that planning the rest anew puts.
///
/// # Errors
/// There is no such refit, or it has ended.
pub fn rest(
    register: &Register,
    id: EntryId,
    wishes: Option<Vec<Wish>>,
    from: Option<u32>,
    left: Option<Minutes>,
) -> Result<Question, NoRefit> {
    let log = open(register, id)?;
    let mut question = follow::question(register, log, from, left);
    if let Some(wishes) = wishes {
        question.wishes = wishes;
    }
    Ok(question)
}

/// Writes a new plan of the rest down.
///
/// # Errors
/// The refit has ended, or the workshop can't be written.
pub fn replanned(
    workshop: &mut Workshop,
    id: EntryId,
    wishes: &[Wish],
    plan: &Plan,
) -> Result<Standing, NoRefit> {
    open(workshop.register(), id)?;
    let planned = Event::Planned { wishes: wishes.to_vec(), placed: plan.placed.clone() };
    workshop.record(&[event(id, planned)], &[])?;
    at(workshop.register(), workshop.fleet(), id)
}

/// Ends a refit: all done, or given up.
///
/// # Errors
/// It has ended already, or the workshop can't be written.
pub fn end(workshop: &mut Workshop, id: EntryId, how: Ending) -> Result<Standing, NoRefit> {
    open(workshop.register(), id)?;
    workshop.record(&[event(id, Event::Ended { how })], &[])?;
    at(workshop.register(), workshop.fleet(), id)
}

/// A device by its name.
pub(crate) fn device(scene: &Scene, name: &str) -> Result<DeviceId, String> {
    fleet::find(scene, name, None).map_err(|error| format!("can't be read: {error}"))
}
