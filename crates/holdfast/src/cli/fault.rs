//! `fault`: fault trails, one step at a time. All that is kept stands in the logbook, so a
//! trail goes on in the next run of the program.

pub mod args;
mod deed;
mod paper;
mod say;
mod solve;
mod typed;

use anyhow::bail;
use register::id::EntryId;
use register::scene::Scene;
use register::trail::Outcome;
use trails::learn::{self, Counts};
use trails::library;
use trails::model::Model;
use trails::trail::{Deed, Trail as Engine};
use units::Minutes;
use wire::answers::fault::Trail;
use wire::answers::fault::list::{Brief, Symptom, Weights};

use self::args::What;
use super::out::ask;
use super::table::Table;
use super::{End, Session};
use crate::faults::{self, short};
use crate::values;
use crate::workshop::Workshop;

/// Does something with fault trails.
pub fn fault(session: &mut Session, what: Option<What>) -> anyhow::Result<End> {
    match what {
        None | Some(What::Show(args::Show { trail: None, .. })) => list(session)?,
        Some(What::Symptoms) => symptoms(session)?,
        Some(What::Start(args)) => start(session, &args)?,
        Some(What::Next { trail }) => next(session, trail.as_deref())?,
        Some(What::Answer(args)) => answer(session, &args)?,
        Some(What::Did(args)) => did(session, &args)?,
        Some(What::Open { cover, of }) => write(session, &of, |_| Deed::Opened { cover: key(&cover) })?,
        Some(What::Back(of)) => back(session, &of)?,
        Some(What::Restore { change, of }) => write(session, &of, |_| Deed::PutBack { change })?,
        Some(What::Accept { change, of }) => write(session, &of, |_| Deed::Accepted { change })?,
        Some(What::Close(args)) => close(session, &args)?,
        Some(What::Show(args::Show { trail: Some(name), report })) => show(session, &name, report)?,
        Some(What::Card(args)) => paper::card(session, &args)?,
        Some(What::Forget { trail, yes }) => forget(session, &trail, yes)?,
        Some(What::Weights { symptom }) => weights(session, &symptom)?,
        Some(What::Solve(args)) => solve::solve(session, &args)?,
        Some(What::Check { files }) => {
            let problems =
                |origin: &str, text: &str| trails::file::read(origin, text).err().unwrap_or_default();
            return super::families::check(session, &files, problems);
        }
    }
    Ok(End::Fine)
}

/// A key as a person may type it: with `-` for `_`.
fn key(typed: &str) -> String {
    typed.trim().to_lowercase().replace('-', "_")
}

/// The fault model of a symptom.
fn symptom(typed: &str) -> anyhow::Result<Model> {
    let wanted = key(typed);
    if let Some(model) = library::symptom(&wanted) {
        return Ok(model);
    }
    let known: Vec<String> = library::symptoms().into_iter().map(|model| model.key).collect();
    let typed: String = typed.chars().take(60).collect();
    bail!(
        "there is no symptom `{typed}`; there are {} (`fault symptoms` says what they are)",
        known.join(", ")
    )
}

/// The workshop, where there is one: the library is there without.
fn any_workshop(session: &Session) -> anyhow::Result<Option<Workshop>> {
    super::asked::family_workshop(session)
}

fn symptoms(session: &mut Session) -> anyhow::Result<()> {
    let all: Vec<Symptom> = library::symptoms().iter().map(Symptom::new).collect();
    if session.out.json {
        return session.out.answer(&all);
    }
    let out = &mut session.out;
    let mut table = Table::new(&["symptom", "name", "what it is"]);
    for one in &all {
        table.row(&[one.key.as_str(), &one.name, &one.about]);
    }
    table.write(out)?;
    for problem in library::problems() {
        out.line(&problem.to_string())?;
    }
    out.gap()?;
    out.line(
        "`fault start SYMPTOM TRANSMITTER RECEIVER` begins a trail; write `guest` for gear that is in no register.",
    )?;
    Ok(())
}

/// Where a trail stands. One whose gear is gone can still be closed.
fn at(workshop: &Workshop, id: EntryId) -> anyhow::Result<Engine> {
    match faults::at(workshop, id) {
        Err(faults::NoTrail::Lost(why)) => {
            bail!("{why}; `fault close --left --trail {}` ends this one", short(id))
        }
        other => Ok(other?),
    }
}

/// Nothing is written down on a closed trail.
fn still_open(trail: &Engine) -> anyhow::Result<()> {
    if trail.closed.is_none() {
        return Ok(());
    }
    let short = short(trail.id);
    bail!("trail {short} is closed; `fault back --trail {short}` takes the closing back")
}

/// Says where a trail stands: what was done just now, then what comes next.
fn tell(session: &mut Session, trail: &Engine, done: Option<&str>) -> anyhow::Result<()> {
    let answer = Trail::new(trail, &short(trail.id));
    if session.out.json {
        return session.out.answer(&answer);
    }
    if let Some(done) = done {
        session.out.line(done)?;
        session.out.gap()?;
    }
    Ok(say::next(&mut session.out, trail, &answer)?)
}

fn start(session: &mut Session, args: &args::Start) -> anyhow::Result<()> {
    let model = symptom(&args.symptom)?;
    let mut workshop = session.workshop_or_new()?;
    let begun = typed::begun(&mut workshop, &model, args)?;
    let id = faults::begin(&mut workshop, begun)?;
    let trail = faults::at(&workshop, id)?;
    tell(session, &trail, Some(&format!("Trail {} has begun.", short(id))))
}

fn next(session: &mut Session, name: Option<&str>) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let id = faults::find(&workshop, name)?;
    tell(session, &at(&workshop, id)?, None)
}

/// Writes a deed down on the trail that is meant.
fn write(session: &mut Session, of: &args::Of, deed: impl FnOnce(&Engine) -> Deed) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = faults::find(&workshop, of.trail.as_deref())?;
    let trail = at(&workshop, id)?;
    still_open(&trail)?;
    let after = faults::write(&mut workshop, id, deed(&trail))?;
    tell(session, &after, Some(&say::done(&after)))
}

fn answer(session: &mut Session, args: &args::Answer) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = faults::find(&workshop, args.of.trail.as_deref())?;
    let trail = at(&workshop, id)?;
    still_open(&trail)?;
    let deed = deed::of_answer(&mut workshop, &trail, args)?;
    let after = faults::write(&mut workshop, id, deed)?;
    tell(session, &after, Some(&say::done(&after)))
}

fn did(session: &mut Session, args: &args::Did) -> anyhow::Result<()> {
    let text = |what: &str, words: &str| values::text(words).map_err(|why| anyhow::anyhow!("{what} {why}"));
    let deed = Deed::Elsewise {
        text: text("the text", &args.text.join(" "))?,
        minutes: Minutes(args.minutes),
        changed: text("what was changed", args.changed.as_deref().unwrap_or_default())?,
        helped: if args.helped { register::trail::Helped::Yes } else { register::trail::Helped::No },
    };
    write(session, &args.of, |_| deed)
}

fn back(session: &mut Session, of: &args::Of) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = match faults::find(&workshop, of.trail.as_deref()) {
        // A trail that was closed by mistake is taken up again by its name.
        Err(faults::NoTrail::None) if !workshop.register().trails().is_empty() => bail!(
            "no fault trail is open; `fault back --trail TRAIL` takes a closing back, `fault show` lists the trails"
        ),
        other => other?,
    };
    let before = at(&workshop, id)?;
    let after = faults::back(&mut workshop, id)?;
    let what = match (&before.closed, before.history.last()) {
        (Some(_), _) => "Taken back: the closing. The trail is open again.".to_owned(),
        (None, Some(done)) => format!("Taken back: {}", say::capital(&done.what)),
        (None, None) => "Taken back.".to_owned(),
    };
    tell(session, &after, Some(&what))
}

fn close(session: &mut Session, args: &args::Close) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = faults::find(&workshop, args.of.trail.as_deref())?;
    let outcome = match (args.gave_up, args.left) {
        (true, _) => Outcome::GaveUp,
        (_, true) => Outcome::Left,
        _ => Outcome::Proven,
    };
    let trail = match faults::at(&workshop, id) {
        // Its gear is gone; it can be left as it is.
        Err(faults::NoTrail::Lost(_)) if outcome == Outcome::Left => None,
        _ => Some(at(&workshop, id)?),
    };
    trail.as_ref().map_or(Ok(()), still_open)?;
    let presumed = || {
        let proven = trail.as_ref().filter(|_| outcome == Outcome::Proven && !args.not_found);
        proven.map(Engine::presumed).unwrap_or_default()
    };
    let cause = args.cause.as_deref().map_or_else(presumed, key);
    if let Some(after) = faults::end(&mut workshop, id, &cause, outcome)? {
        return tell(session, &after, None);
    }
    let log = faults::log(&workshop, id)?;
    let scene = Scene::new(workshop.register());
    let brief = Brief::new(&scene, &log, &short(id), faults::touched(&log));
    if session.out.json {
        return session.out.answer(&brief);
    }
    session.out.line(&format!(
        "Closed: {}. The gear of trail {} is not in the register any more.",
        say::outcome(outcome.word()),
        brief.short
    ))?;
    Ok(())
}

fn list(session: &mut Session) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let scene = Scene::new(workshop.register());
    let logs = workshop.register().trails();
    let brief =
        |log: &register::trail::TrailLog| Brief::new(&scene, log, &short(log.id()), faults::touched(log));
    let all: Vec<Brief> = logs.iter().rev().map(brief).collect();
    if session.out.json {
        return session.out.answer(&all);
    }
    if all.is_empty() {
        session.out.line(
            "No fault trail yet. `fault symptoms` lists what one can begin from, `fault start SYMPTOM TRANSMITTER \
             RECEIVER` begins it.",
        )?;
        return Ok(());
    }
    let mut table = Table::new(&["trail", "symptom", "gear", "begun", "done", "stands"]);
    for one in &all {
        let side = |side: &Option<String>| side.clone().unwrap_or_else(|| "guest".to_owned());
        let gear = format!("{} with {}", side(&one.transmitter), side(&one.receiver));
        let stands = match &one.closed {
            None => "open".to_owned(),
            Some(closed) => {
                let model = library::symptom(&one.symptom.key);
                let label = |key: &String| {
                    model
                        .as_ref()
                        .map_or_else(|| key.clone(), |model| wire::answers::fault::cause_label(model, key))
                };
                let cause = closed.cause.as_ref().map(|key| format!(": {}", label(key))).unwrap_or_default();
                format!("{}{cause}", say::outcome(closed.outcome))
            }
        };
        let begun = one.begun.as_deref().and_then(|text| text.get(..10)).unwrap_or_default();
        table.row(&[&one.short, &one.symptom.name, &gear, begun, &one.done.to_string(), &stands]);
    }
    Ok(table.write(&mut session.out)?)
}

fn show(session: &mut Session, name: &str, report: bool) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let id = faults::find(&workshop, Some(name))?;
    let trail = at(&workshop, id)?;
    let answer = Trail::new(&trail, &short(id));
    if session.out.json {
        return session.out.answer(&answer);
    }
    if report {
        paper::report(&mut session.out, &trail, &answer)?;
    } else {
        say::all(&mut session.out, &trail, &answer)?;
    }
    Ok(())
}

fn forget(session: &mut Session, name: &str, yes: bool) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = faults::find_to_forget(&workshop, name)?;
    if !yes {
        session.out.flush()?;
        let question = format!(
            "Erase for good what trail {} says of the guest's gear? It can't be brought back.",
            short(id)
        );
        let wanted = if session.out.json { None } else { ask(&question) };
        match wanted {
            Some(true) => {}
            Some(false) => bail!("nothing was erased"),
            None => bail!(
                "nothing was erased, since what is erased can't be brought back; add --yes if you are sure"
            ),
        }
    }
    let entries = faults::forget(&mut workshop, id)?;
    if session.out.json {
        return session.out.answer(&serde_json::json!({ "forgotten": id.to_string(), "entries": entries }));
    }
    let entries = if entries == 1 { "1 entry".to_owned() } else { format!("{entries} entries") };
    session.out.line(&format!(
        "Erased: what trail {} said ({entries}). Backups and other copies keep theirs until merged.",
        short(id)
    ))?;
    Ok(())
}

fn weights(session: &mut Session, typed: &str) -> anyhow::Result<()> {
    let model = symptom(typed)?;
    let (counts, strength) = match any_workshop(session)? {
        Some(workshop) => (Counts::of(workshop.register(), &model.key), learn::strength(workshop.register())),
        None => (Counts::default(), learn::STRENGTH),
    };
    let answer = Weights::new(&model, &counts, strength);
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    out.line(&format!(
        "{}: the weights as shipped count for {}, this workshop has found {}.",
        answer.symptom.name,
        say::cases(answer.strength),
        answer.cases
    ))?;
    out.gap()?;
    let mut table = Table::new(&["shipped", "cases", "weight", "key", "cause"]);
    for one in &answer.causes {
        table.row(&[
            &say::share(one.library),
            &one.cases.to_string(),
            &say::share(one.weight),
            one.key.as_str(),
            one.label.as_str(),
        ]);
    }
    table.write(out)?;
    out.gap()?;
    out.line(
        "A closed trail whose fault was found is one case; striking its closing entry takes it back. \
         `settings set trails.strength N` says how many cases the shipped weights, which are judgement, count for.",
    )?;
    Ok(())
}
