//! `refit`: plans of firmware and settings across the fleet, evening by evening, and how far
//! they have come. All that is kept stands in the logbook.

pub mod args;
mod paper;
mod releases;
mod say;
mod stop;
mod typed;

use anyhow::bail;
use refits::ask::Question;
use refits::follow::{NoStep, Standing};
use refits::planner::{NoPlan, Plan, Progress};
use register::fleet::Fleet;
use register::id::EntryId;
use register::refit::Ending;
use register::register::Register;
use register::scene::Scene;
use units::Minutes;
use wire::answers::refit::{self as answers, Brief, Clash, Planned};

use self::args::What;
use self::stop::{By, Stop};
use super::out::{self, Out};
use super::{Session, named};
use crate::refits::{self as doors, NoRefit, Ticks, Which, short};
use crate::workshop::Workshop;

/// Does something with refits.
pub fn refit(session: &mut Session, what: Option<What>) -> anyhow::Result<()> {
    match what {
        None => list(session),
        Some(What::Plan(args)) => plan(session, &args),
        Some(What::Show(args)) => show(session, &args),
        Some(What::Tick(args)) => tick(session, &args),
        Some(What::Untick { code, of }) => untick(session, &code, &of),
        Some(What::Defer(args)) => defer(session, &args),
        Some(What::Replan(args)) => replan(session, &args),
        Some(What::End(args)) => end(session, &args),
        Some(What::Releases(args)) => releases::releases(session, &args),
    }
}

/// Units of work in a counted second.
const SECOND: u64 = 1_000_000;

/// What came of a search.
struct Sought {
    plan: Result<Plan, NoPlan>,
    stopped: Option<By>,
}

impl Sought {
    /// Whether the answer may be written down: it may after Enter, and not after Ctrl-C.
    fn may_be_kept(&self) -> bool {
        self.stopped != Some(By::CtrlC)
    }
}

/// Searches for a plan, and says meanwhile how far it has come.
fn seek(register: &Register, fleet: &Fleet, question: &Question, effort: u32) -> Sought {
    let stop = Stop::listen();
    let mut stopped = None;
    let mut told = false;
    let plan = doors::plan(register, fleet, question, u64::from(effort) * SECOND, &mut |progress| {
        out::progress(&format!("{:<100}", how_far(progress, effort, stop.enter)));
        told = true;
        stopped = stop.asked();
        stopped.is_none()
    });
    if told {
        out::progress_done();
    }
    Sought { plan, stopped }
}

fn how_far(progress: &Progress, effort: u32, enter: bool) -> String {
    #[expect(clippy::cast_precision_loss, reason = "minutes of some evenings")]
    let minutes = |hundredths: i64| Minutes(hundredths as f64 / 100.0);
    let best = progress.best.map_or_else(
        || "no plan yet".to_owned(),
        |best| format!("best {}, bound {}", minutes(best.minutes), minutes(progress.bound.minutes)),
    );
    let how = if enter { "Enter takes the best so far" } else { "Ctrl-C stops" };
    format!("Planning: {best}; {} of {effort} s. {how}.", progress.work / SECOND)
}

/// How a search that was stopped by hand is told.
fn stopped_words(by: By, plan: &Plan) -> String {
    let short_of = if plan.proven { "" } else { " It may not be the best there is." };
    let by = if by == By::Enter { "Enter" } else { "Ctrl-C" };
    format!("Stopped by {by}: this is the best plan that was found until then.{short_of}")
}

/// The register and its fleet stay as they are while a search runs.
fn plan(session: &mut Session, args: &args::Plan) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let wishes = typed::wishes(&mut workshop, &scene, &args.wishes, args.search.new_secret_stdin)?;
    let question = Question::new(wishes);
    let sought = seek(&register, workshop.fleet(), &question, args.search.effort);
    let keep = sought.may_be_kept();
    let plan = match &sought.plan {
        Ok(plan) => plan,
        Err(NoPlan::Clash(clash)) if !args.begin => {
            let answer = Clash::new(clash, &|wish| doors::wish_word(&scene, wish));
            return tell_clash(session, answer);
        }
        Err(why) => return Err(no_plan(why, args.begin)),
    };
    let mut refit = None;
    if args.begin && keep {
        let name = args.name.as_deref().unwrap_or_default();
        let id = doors::begin(&mut workshop, name, &question.wishes, plan)?;
        refit = Some(doors::at(workshop.register(), workshop.fleet(), id)?);
    }
    tell_plan(session, &workshop, &sought, plan, refit.as_ref())?;
    if session.out.json || plan.is_empty() {
        return Ok(());
    }
    let out = &mut session.out;
    out.gap()?;
    let words = match refit {
        Some(refit) => format!(
            "Refit {} has begun: {}. `refit tick CODE` writes a step down as done.",
            short(refit.id),
            refit.name
        ),
        None if args.begin => "Nothing was written down, since the search was stopped by Ctrl-C.".to_owned(),
        None => "Nothing was written down; with --begin the refit begins.".to_owned(),
    };
    Ok(out.line(&words)?)
}

/// There is no plan, and so nothing was written down.
fn no_plan(why: &NoPlan, to_write: bool) -> anyhow::Error {
    let more = if matches!(why, NoPlan::Stopped) { " (--effort gives it longer)" } else { "" };
    if to_write {
        anyhow::anyhow!("nothing was written down: {why}{more}")
    } else {
        anyhow::anyhow!("{why}{more}")
    }
}

fn tell_clash(session: &mut Session, clash: Clash) -> anyhow::Result<()> {
    if session.out.json {
        return session.out.answer(&Planned { plan: None, clash: Some(clash), stopped: false, refit: None });
    }
    Ok(say::clash(&mut session.out, &clash)?)
}

fn tell_plan(
    session: &mut Session,
    workshop: &Workshop,
    sought: &Sought,
    plan: &Plan,
    refit: Option<&Standing>,
) -> anyhow::Result<()> {
    let scene = Scene::new(workshop.register());
    let answer = answers::plan::Plan::new(&scene, plan);
    if session.out.json {
        let refit = refit.map(|standing| answer_of(workshop, standing));
        let stopped = sought.stopped.is_some();
        return session.out.answer(&Planned { plan: Some(answer), clash: None, stopped, refit });
    }
    if let Some(by) = sought.stopped {
        session.out.line(&stopped_words(by, plan))?;
        session.out.gap()?;
    }
    Ok(say::plan(&mut session.out, &answer)?)
}

fn answer_of(workshop: &Workshop, standing: &Standing) -> answers::Standing {
    answers::Standing::new(workshop.register(), standing, &short(standing.id))
}

/// Every refit, those that are open first, each with where it stands.
fn briefs(workshop: &Workshop) -> anyhow::Result<Vec<Brief>> {
    let register = workshop.register();
    let mut all = Vec::new();
    for log in register.refits() {
        let standing = doors::at(register, workshop.fleet(), log.id())?;
        all.push((standing.ended.is_some(), Brief::new(&standing, &short(log.id()))));
    }
    all.sort_by_key(|(ended, _)| *ended);
    Ok(all.into_iter().map(|(_, brief)| brief).collect())
}

fn list(session: &mut Session) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let all = briefs(&workshop)?;
    if session.out.json {
        return session.out.answer(&all);
    }
    Ok(say::list(&mut session.out, &all)?)
}

/// The refit that is meant.
fn find(workshop: &Workshop, of: &args::Of) -> Result<EntryId, NoRefit> {
    doors::find(workshop.register(), of.refit.as_deref())
}

fn show(session: &mut Session, args: &args::Show) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let id = match doors::find(workshop.register(), args.refit.as_deref()) {
        // Nothing was asked about one of them, so the list is the answer.
        Err(NoRefit::None | NoRefit::Several(_))
            if args.refit.is_none() && args.evening.is_none() && !args.paper =>
        {
            return list(session);
        }
        found => found?,
    };
    let standing = doors::at(workshop.register(), workshop.fleet(), id)?;
    let answer = answer_of(&workshop, &standing);
    if session.out.json {
        return session.out.answer(&answer);
    }
    if let Some(number) = args.evening {
        let there: Vec<u32> = standing.evenings().into_iter().map(|(number, ..)| number).collect();
        if !there.contains(&number) {
            let list: Vec<String> = there.iter().map(ToString::to_string).collect();
            bail!(
                "nothing is done or left in evening {number}; the evenings of this refit are {}",
                list.join(", ")
            );
        }
    }
    let out = &mut session.out;
    if args.paper {
        return Ok(paper::print(out, &answer, args.evening)?);
    }
    say::standing(out, &answer, args.evening)?;
    let others: Vec<Brief> = briefs(&workshop)?.into_iter().filter(|one| one.id != answer.id).collect();
    if args.refit.is_none() && !others.is_empty() {
        out.gap()?;
        out.line("Other refits:")?;
        say::list(out, &others)?;
    }
    Ok(())
}

/// Says what was written down, and where the refit stands now.
fn tell(
    session: &mut Session,
    workshop: &Workshop,
    standing: &Standing,
    done: &[String],
) -> anyhow::Result<()> {
    let answer = answer_of(workshop, standing);
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out: &mut Out = &mut session.out;
    for line in done {
        out.line(line)?;
    }
    out.gap()?;
    Ok(say::after(out, &answer)?)
}

fn tick(session: &mut Session, args: &args::Tick) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = find(&workshop, &args.of)?;
    let which = match (&args.all_of, args.evening) {
        (Some(name), _) => Which::Visit(named::device(&Scene::new(workshop.register()), name, None)?),
        (None, Some(number)) => Which::Evening(number),
        (None, None) => Which::Codes(args.codes.clone()),
    };
    let Ticks { standing, texts, passed_over } = match doors::tick(&mut workshop, id, &which) {
        Err(NoRefit::Step(NoStep::Nothing(name))) => match which {
            Which::Codes(_) => return Err(NoStep::Nothing(name).into()),
            Which::Evening(number) => bail!("nothing is left in evening {number}; `refit show` says what is"),
            Which::Visit(_) => bail!("nothing of {name} is left; `refit show` says what is"),
        },
        other => other?,
    };
    let done = texts.iter().map(|text| format!("Done: {text}"));
    let done: Vec<String> =
        done.chain(passed_over.iter().map(|text| format!("Passed over: {text}"))).collect();
    tell(session, &workshop, &standing, &done)
}

fn untick(session: &mut Session, code: &str, of: &args::Of) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    // A step may be taken back of a refit that its last tick has ended.
    let id = match find(&workshop, of) {
        Err(NoRefit::None) if workshop.register().refits().len() == 1 => workshop.register().refits()[0].id(),
        found => found?,
    };
    let was = doors::at(workshop.register(), workshop.fleet(), id)?;
    let standing = doors::untick(&mut workshop, id, code)?;
    let left: Vec<&str> = standing.done.iter().map(|one| one.key.as_str()).collect();
    let gone = was.done.iter().filter(|one| !left.contains(&one.key.as_str()));
    let done: Vec<String> = gone.map(|one| format!("Not done after all: {}", one.text)).collect();
    tell(session, &workshop, &standing, &done)
}

fn defer(session: &mut Session, args: &args::Defer) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = find(&workshop, &args.of)?;
    let device = named::device(&Scene::new(workshop.register()), &args.device, None)?;
    let was = doors::at(workshop.register(), workshop.fleet(), id)?.put_off;
    let standing = doors::defer(&mut workshop, id, device, args.until)?;
    let answer = answer_of(&workshop, &standing);
    let said = standing.put_off.iter().zip(&answer.put_off).filter(|(one, _)| !was.contains(one));
    let done: Vec<String> =
        said.map(|(_, one)| format!("Put off: {} to evening {}.", one.what, one.until)).collect();
    let done = if done.is_empty() { vec!["It was put off so already.".to_owned()] } else { done };
    tell(session, &workshop, &standing, &done)
}

/// The longest evening, minutes.
const LONGEST: f64 = 1_440.0;

fn replan(session: &mut Session, args: &args::Replan) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = find(&workshop, &args.of)?;
    if args.left.is_some_and(|left| !(0.0..=LONGEST).contains(&left)) {
        bail!("the minutes that are left of an evening must lie between 0 and {LONGEST}");
    }
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let new = typed::wishes(&mut workshop, &scene, &args.wishes, args.search.new_secret_stdin)?;
    let wishes = typed::merged(doors::log(&register, id)?.wishes(), &args.without, new)?;
    let question = doors::rest(&register, id, Some(wishes.clone()), args.from, args.left.map(Minutes))?;
    let sought = seek(&register, workshop.fleet(), &question, args.search.effort);
    let plan = match &sought.plan {
        Ok(plan) => plan,
        Err(NoPlan::Clash(clash)) if args.only_try => {
            let answer = Clash::new(clash, &|wish| doors::wish_word(&scene, wish));
            return tell_clash(session, answer);
        }
        Err(why) => return Err(no_plan(why, !args.only_try)),
    };
    let write = !args.only_try && sought.may_be_kept();
    let refit = if write { Some(doors::replanned(&mut workshop, id, &wishes, plan)?) } else { None };
    tell_plan(session, &workshop, &sought, plan, refit.as_ref())?;
    if session.out.json {
        return Ok(());
    }
    session.out.gap()?;
    let words = match (&refit, args.only_try) {
        (Some(refit), _) => format!("Refit {} goes on by this plan.", short(refit.id)),
        (None, true) => "Nothing was written down; without --try the refit goes on by this plan.".to_owned(),
        (None, false) => "Nothing was written down, since the search was stopped by Ctrl-C.".to_owned(),
    };
    Ok(session.out.line(&words)?)
}

fn end(session: &mut Session, args: &args::Ended) -> anyhow::Result<()> {
    let mut workshop = session.workshop()?;
    let id = find(&workshop, &args.of)?;
    let before = doors::at(workshop.register(), workshop.fleet(), id)?;
    if !args.abandon && !before.finished() {
        bail!(
            "{} Tick what is done, or write --abandon: it is given up then, and what was done stays done",
            before.sentence()
        );
    }
    let how = if args.abandon { Ending::Abandoned } else { Ending::Done };
    let standing = doors::end(&mut workshop, id, how)?;
    tell(session, &workshop, &standing, &["The refit has ended.".to_owned()])
}
