//! Refits: the list, what is wished, and plans that wait to be begun.
//!
//! The planner works on a thread of its own, and its plan is kept in memory by a number: the
//! wishes may hold a link secret's fingerprint, which no page carries.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::extract::Path;
use axum::response::{IntoResponse as _, Redirect, Response};
use pages::form::Typed;
use pages::refit::preview::{self, Preview};
use pages::refit::{Ended, Open, Refits, Start, Why, job as job_page, list as list_page, standing, start};
use pages::site::Mood;
use refits::ask::Question;
use refits::planner::{Idea, NoPlan, Plan, Progress};
use register::field::Sort;
use register::fleet::{Fleet, find};
use register::id::EntryId;
use register::refit::RefitLog;
use register::register::Register;
use register::scene::Scene;

use super::error::WebError;
use super::refit_follow;
use super::refit_wishes::{Refused, TypedSecret, read, typed, without_secret, words};
use super::state::{App, Asked, Form, View, html, html_wrong, lock, random_word};
use crate::refits::{self as work, LONGEST_NAME, NoRefit};

/// How many plans wait at once; the oldest goes.
const JOBS: usize = 8;
/// How many open refits are reckoned on the list.
const MOST_RECKONED: usize = 8;
/// How long a page waits for a plan before it says how far that is.
const PATIENCE: Duration = Duration::from_millis(1_500);

/// A plan on its way, or waiting to be begun.
pub struct PlanJob {
    question: Question,
    /// What was typed, without what may be a link secret.
    typed: Form,
    /// The refit whose rest it plans.
    of: Option<EntryId>,
    /// How many entries the register had when it was planned.
    entries: u64,
    stop: Arc<AtomicBool>,
    stage: Stage,
}

enum Stage {
    /// The planner works.
    Working(Option<Progress>),
    /// It can be looked at.
    Ready(Box<Plan>),
    /// There is none.
    None(NoPlan),
    /// It was begun as this refit.
    Begun(EntryId),
    /// The planner itself failed.
    Failed,
}

/// `/refits`.
pub async fn list(asked: Asked) -> Response {
    asked
        .view(|asked, view| {
            let register = view.register();
            let logs = register.refits().iter().rev();
            let open: Vec<&RefitLog> = logs.clone().filter(|log| log.ended().is_none()).collect();
            let open: Vec<Open> = open
                .into_iter()
                .enumerate()
                .map(|(at, log)| Open {
                    log,
                    standing: (at < MOST_RECKONED)
                        .then(|| work::at(register, view.fleet(), log.id()).ok())
                        .flatten(),
                })
                .collect();
            let ended: Vec<Ended> =
                logs.filter_map(|log| log.ended().map(|(how, _)| Ended { log, how })).collect();
            let sheet = Refits { open: &open, ended: &ended };
            Ok(html(list_page::page(&asked.site(Some(view.name())), &Scene::new(register), &sheet)))
        })
        .await
}

fn start_page(asked: &Asked, view: &View, why: Option<&Why>, typed: &Typed) -> pages::Markup {
    let scene = Scene::new(view.register());
    let transmitter = asked.get("t").and_then(|name| find(&scene, name, Some(Sort::Transmitter)).ok());
    let sheet = Start { transmitter, why };
    start::page(&asked.site(Some(view.name())), &scene, view.fleet(), &sheet, typed)
}

/// `/refits/new`.
pub async fn new(asked: Asked) -> Response {
    asked
        .view(|asked, view| {
            let before = asked.get("job").and_then(|key| job(&asked.app, key).ok());
            let typed = match before {
                Some(job) => lock(&job).typed.typed(start::FORM, Vec::new()),
                None => Typed::none(),
            };
            Ok(html(start_page(asked, view, None, &typed)))
        })
        .await
}

/// `POST /refits/plan`.
pub async fn plan(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            let register = workshop.register().clone();
            let wishes =
                words(&form).and_then(|words| read(&register, &words, &mut TypedSecret::of(workshop, &form)));
            match wishes {
                Ok(wishes) => Ok(planned(asked, &View::of(workshop), Question::new(wishes), &form, None)),
                Err(Refused::Fields(errors)) => {
                    let typed = typed(&register, &form, start::FORM, errors);
                    Ok(html_wrong(start_page(asked, &View::of(workshop), None, &typed)))
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

/// Sets the planner to work, and goes to where its plan will be.
pub(super) fn planned(
    asked: &Asked,
    view: &View,
    question: Question,
    form: &Form,
    of: Option<EntryId>,
) -> Response {
    let job = Arc::new(Mutex::new(PlanJob {
        question,
        typed: without_secret(form),
        of,
        entries: 0,
        stop: Arc::default(),
        stage: Stage::Working(None),
    }));
    let key = keep(&asked.app, job.clone());
    set_to_work(view, &job);
    Redirect::to(&format!("/refits/job/{key}")).into_response()
}

fn keep(app: &App, job: Arc<Mutex<PlanJob>>) -> String {
    let mut jobs = lock(&app.plans);
    while jobs.len() >= JOBS {
        if let Some((_, oldest)) = jobs.pop_first() {
            lock(&oldest).stop.store(true, Ordering::Relaxed);
        }
    }
    // The number keeps them in order, the word keeps them from being guessed.
    let last = jobs.last_key_value().and_then(|(key, _)| key.split('-').next()?.parse::<u64>().ok());
    let key = format!("{:08}-{}", last.unwrap_or(0) + 1, random_word());
    jobs.insert(key.clone(), job);
    key
}

fn job(app: &App, key: &str) -> Result<Arc<Mutex<PlanJob>>, WebError> {
    lock(&app.plans).get(key).cloned().ok_or_else(|| {
        WebError::Missing(
            "This plan is no longer waiting: newer ones took its place, or the server was started again. Plan it once more."
                .to_owned(),
        )
    })
}

/// Says that the planner failed, unless it came to an end.
struct Ends(Arc<Mutex<PlanJob>>);

impl Drop for Ends {
    fn drop(&mut self) {
        let mut job = lock(&self.0);
        if matches!(job.stage, Stage::Working(_)) {
            job.stage = Stage::Failed;
        }
    }
}

/// Plans on a thread of its own, from what the workshop adds up to now.
fn set_to_work(view: &View, shared: &Arc<Mutex<PlanJob>>) {
    let (register, fleet) = (view.register().clone(), view.fleet().clone());
    let mut job = lock(shared);
    job.entries = register.entries();
    job.stage = Stage::Working(None);
    job.stop = Arc::default();
    let (question, stop) = (job.question.clone(), job.stop.clone());
    drop(job);
    let ends = Ends(shared.clone());
    std::thread::spawn(move || reckon(&register, &fleet, &question, &stop, &ends));
}

fn reckon(register: &Register, fleet: &Fleet, question: &Question, stop: &AtomicBool, ends: &Ends) {
    let mut keep_on = |progress: &Progress| {
        lock(&ends.0).stage = Stage::Working(Some(progress.clone()));
        !stop.load(Ordering::Relaxed)
    };
    let plan = work::plan(register, fleet, question, work::EFFORT, &mut keep_on);
    lock(&ends.0).stage = match plan {
        Ok(plan) => Stage::Ready(Box::new(plan)),
        Err(why) => Stage::None(why),
    };
}

/// Waits a little for the planner.
async fn wait(shared: &Mutex<PlanJob>) {
    let begun = Instant::now();
    while matches!(lock(shared).stage, Stage::Working(_)) && begun.elapsed() < PATIENCE {
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// What could be wished instead where there is no plan.
fn ideas(no_plan: &NoPlan) -> &[Idea] {
    match no_plan {
        NoPlan::Clash(clash) => &clash.ideas,
        NoPlan::Refused(_) | NoPlan::Stopped => &[],
    }
}

/// The page of a plan: how far it is, what it is, or why there is none.
fn job_answer(
    asked: &Asked,
    view: &View,
    key: &str,
    job: &PlanJob,
    typed_now: Option<&Typed>,
) -> Result<pages::Markup, WebError> {
    let register = view.register();
    let scene = Scene::new(register);
    let site = asked.site(Some(view.name()));
    match &job.stage {
        Stage::Working(progress) => Ok(job_page::page(&site, key, progress.as_ref(), work::EFFORT)),
        Stage::Ready(plan) => {
            let of = job.of.and_then(|id| register.refit(id));
            let of = of.map(|log| (log.id().to_string(), log.begun.what.name.clone()));
            let sheet = Preview {
                job: key,
                plan,
                of: of.as_ref().map(|(id, name)| (id.as_str(), name.as_str())),
                stopped: if job.stop.load(Ordering::Relaxed) {
                    "The search was stopped; this is the best so far."
                } else {
                    ""
                },
                longest_name: LONGEST_NAME,
            };
            Ok(preview::page(&site, &scene, &sheet, typed_now.unwrap_or(&Typed::none())))
        }
        Stage::None(no_plan) => {
            let in_words = |idea: &Idea| {
                let word = idea.wish.as_ref().and_then(|wish| work::wish_word(&scene, wish));
                (idea.text.clone(), word)
            };
            let ideas: Vec<(String, Option<String>)> = ideas(no_plan).iter().map(in_words).collect();
            let why = Why { no_plan, job: key, ideas: &ideas };
            match job.of {
                None => Ok(start_page(asked, view, Some(&why), &job.typed.typed(start::FORM, Vec::new()))),
                Some(id) => {
                    let typed = job.typed.typed("replan", Vec::new());
                    refit_follow::with(view, id, None, |follow| {
                        standing::no_plan(&site, &scene, follow, &why, &typed)
                    })
                }
            }
        }
        Stage::Begun(_) | Stage::Failed => Err(WebError::Inside),
    }
}

/// `/refits/job/{job}`.
pub async fn look(asked: Asked, Path(key): Path<String>) -> Response {
    if let Ok(shared) = job(&asked.app, &key) {
        wait(&shared).await;
    }
    asked
        .view(move |asked, view| {
            let shared = job(&asked.app, &key)?;
            let job = lock(&shared);
            if let Stage::Begun(id) = job.stage {
                return Ok(Redirect::to(&format!("/refit/{id}")).into_response());
            }
            job_answer(asked, view, &key, &job, None).map(html)
        })
        .await
}

/// `POST /refits/job/{job}/stop`.
pub async fn stop(asked: Asked, Path(key): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, _, _| {
            let shared = job(&asked.app, &key)?;
            let job = lock(&shared);
            if matches!(job.stage, Stage::Working(_)) {
                job.stop.store(true, Ordering::Relaxed);
            }
            Ok(Redirect::to(&format!("/refits/job/{key}")).into_response())
        })
        .await
}

/// `POST /refits/job/{job}/idea`: plans once more, with an idea for wishes that clash. What was
/// wished is still in memory, a link secret's fingerprint too; nothing has to be typed again.
pub async fn idea(asked: Asked, Path(key): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let shared = job(&asked.app, &key)?;
            let job = lock(&shared);
            let place = form.get("idea").and_then(|at| at.parse::<usize>().ok());
            let wish = match (&job.stage, place) {
                (Stage::None(no_plan), Some(at)) => ideas(no_plan).get(at).and_then(|idea| idea.wish.clone()),
                _ => None,
            };
            let Some(wish) = wish else {
                return Ok(Redirect::to(&format!("/refits/job/{key}")).into_response());
            };
            let (of, mut typed, mut question) = (job.of, job.typed.clone(), job.question.clone());
            drop(job);
            // What is left of a refit was read when its rest was planned.
            if let Some(id) = of
                && typed.get("at") != Some(standing::mark(work::log(workshop.register(), id)?).as_str())
            {
                let says = "The refit has moved on since that page was shown, so nothing was planned. This is where it stands.";
                return Ok(asked.says(&format!("/refit/{id}"), Mood::Bad, says));
            }
            typed.add_line("more", &work::wish_word(&Scene::new(workshop.register()), &wish).unwrap_or_default());
            question.wishes.push(wish);
            Ok(planned(asked, &View::of(workshop), question, &typed, of))
        })
        .await
}

/// `POST /refits/job/{job}/begin`: the refit begins, or its rest is planned anew.
pub async fn begin(asked: Asked, Path(key): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let shared = job(&asked.app, &key)?;
            let mut job = lock(&shared);
            let here = format!("/refits/job/{key}");
            let plan = match &job.stage {
                Stage::Ready(plan) => plan.clone(),
                Stage::Begun(id) => {
                    let says = "This plan was begun just before: here it is.";
                    return Ok(asked.says(&format!("/refit/{id}"), Mood::Good, says));
                }
                _ => return Ok(Redirect::to(&here).into_response()),
            };
            if job.entries != workshop.register().entries() {
                drop(job);
                set_to_work(&View::of(workshop), &shared);
                let says = "The workshop has changed since this was planned, so nothing was written. This is the plan as things stand now: look at it once more.";
                return Ok(asked.says(&here, Mood::Bad, says));
            }
            let wishes = job.question.wishes.clone();
            let done = match job.of {
                None => work::begin(workshop, form.get("name").unwrap_or_default(), &wishes, &plan)
                    .map(|id| (id, "The refit has begun.")),
                Some(id) => work::replanned(workshop, id, &wishes, &plan)
                    .map(|_| (id, "The new plan stands; what is done stays done.")),
            };
            match done {
                Ok((id, says)) => {
                    job.stage = Stage::Begun(id);
                    Ok(asked.done(&format!("/refit/{id}"), says))
                }
                Err(error) => {
                    let long = matches!(error, NoRefit::Word { .. });
                    match Refused::from(error) {
                        Refused::Web(error) => Err(error),
                        Refused::Fields(mut errors) => {
                            if long {
                                errors = vec![(
                                    "name".to_owned(),
                                    format!("This is too long: at most {LONGEST_NAME} characters."),
                                )];
                            }
                            let typed = typed(workshop.register(), &form, "begin", errors);
                            job_answer(asked, &View::of(workshop), &key, &job, Some(&typed)).map(html_wrong)
                        }
                    }
                }
            }
        })
        .await
}
