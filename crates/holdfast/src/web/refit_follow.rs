//! A refit under way: where it stands, ticking, putting off, planning anew, ending; on paper.

use axum::extract::Path;
use axum::response::Response;
use pages::form::Typed;
use pages::refit::paper as paper_page;
use pages::refit::standing::{self, Follow};
use pages::site::Mood;
use register::fleet::find;
use register::id::EntryId;
use register::refit::{Ending, Wish};
use register::scene::Scene;
use units::Minutes;

use super::error::WebError;
use super::refit_wishes::{Refused, TypedSecret, more, read, typed, wrong};
use super::refits::planned;
use super::state::{Asked, Form, View, html, html_wrong};
use crate::refits::{self as work, Ticks, Which};
use crate::workshop::Workshop;

/// The refit that an address names.
fn id_of(name: &str) -> Result<EntryId, WebError> {
    name.parse().map_err(|_| WebError::no_such("refit"))
}

/// Lays out where a refit stands, for a page.
pub(super) fn with<T>(
    view: &View,
    id: EntryId,
    put_off: Option<&str>,
    draw: impl FnOnce(&Follow) -> T,
) -> Result<T, WebError> {
    let register = view.register();
    let scene = Scene::new(register);
    let log = work::log(register, id)?;
    let standing = work::at(register, view.fleet(), id)?;
    let evenings = log.wishes().iter().rev().find(|wish| matches!(wish, Wish::Evenings { .. }));
    let word = evenings.and_then(|wish| work::wish_word(&scene, wish)).unwrap_or_default();
    Ok(draw(&Follow {
        log,
        standing: &standing,
        short: &work::short(id),
        evenings: word.strip_prefix("evenings=").unwrap_or_default(),
        put_off: put_off.and_then(|name| find(&scene, name, None).ok()),
    }))
}

fn page(asked: &Asked, view: &View, id: EntryId, typed: &Typed) -> Result<pages::Markup, WebError> {
    let site = asked.site(Some(view.name()));
    with(view, id, asked.get("put-off"), |follow| {
        standing::page(&site, &Scene::new(view.register()), follow, typed)
    })
}

/// `/refit/{id}`.
pub async fn one(asked: Asked, Path(id): Path<String>) -> Response {
    asked.view(move |asked, view| page(asked, view, id_of(&id)?, &Typed::none()).map(html)).await
}

/// `/refit/{id}/paper?evening=N`.
pub async fn paper(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, view| {
            let standing = work::at(view.register(), view.fleet(), id_of(&id)?)?;
            let evening = match asked.get("evening") {
                None => None,
                Some(text) => Some(text.trim().parse().map_err(|_| {
                    WebError::Bad("The evening in this address must be a whole number.".to_owned())
                })?),
            };
            let site = asked.site(Some(view.name()));
            Ok(html(paper_page::page(&site, &Scene::new(view.register()), &standing, evening)))
        })
        .await
}

/// Where to go, what to say there, and whether it is good news.
struct Done {
    to: String,
    mood: Mood,
    says: String,
}

fn tick(workshop: &mut Workshop, id: EntryId, form: &Form) -> Result<Done, Refused> {
    let all = form.get("all") == Some("1");
    let sent = form.all(if all { "of" } else { "step" });
    if sent.is_empty() {
        return Err(wrong("", "Tick the steps that are done first."));
    }
    let standing = work::at(workshop.register(), workshop.fleet(), id)?;
    // Somebody else may have ticked some of them, or planned the rest anew.
    let is_left = |key: &str| standing.lines().any(|(_, line)| line.step.key == key);
    let (left, gone): (Vec<&str>, Vec<&str>) = sent.into_iter().partition(|key| is_left(key));
    let to = format!("/refit/{id}");
    if left.is_empty() && standing.ended.is_none() {
        let says = "Nothing was written: these steps are done already, or are no longer part of the plan. This is where it stands.";
        return Ok(Done { to, mood: Mood::Bad, says: says.to_owned() });
    }
    let codes = left.into_iter().map(str::to_owned).collect();
    let Ticks { standing: after, texts, passed_over } = work::tick(workshop, id, &Which::Codes(codes))?;
    let mut says = match texts.as_slice() {
        [only] => format!("Ticked: {only}"),
        many => format!("Ticked: {} steps.", many.len()),
    };
    if !gone.is_empty() {
        says.push_str(" The others were done already, or are no longer part of the plan.");
    }
    if !passed_over.is_empty() {
        says.push(' ');
        says.push_str(&passed(&passed_over));
    }
    if after.ended == Some(Ending::Done) {
        says.push_str(" That was the last: the refit is done.");
    }
    Ok(Done { to, mood: Mood::Good, says })
}

/// So many steps that were passed over are named.
const NAMED: usize = 4;

/// The steps that stand before a ticked one and are not done.
fn passed(steps: &[String]) -> String {
    let named: Vec<&str> = steps.iter().take(NAMED).map(|step| step.trim_end_matches('.')).collect();
    let more = match steps.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    format!("Passed over: {}{more}.", named.join("; "))
}

/// A whole number in a field that may be empty.
fn number(form: &Form, name: &str) -> Result<Option<u32>, Refused> {
    let Some(text) = form.filled(name) else { return Ok(None) };
    let number = text.parse().ok().filter(|number| (1..=10_000).contains(number));
    number.map(Some).ok_or_else(|| wrong(name, "must be the number of an evening, 1 or more"))
}

fn defer(workshop: &mut Workshop, id: EntryId, form: &Form) -> Result<Done, Refused> {
    let register = workshop.register().clone();
    let name = form.filled("what").ok_or_else(|| wrong("what", "Choose what is put off."))?;
    let what = find(&Scene::new(&register), name, None).map_err(|error| wrong("what", error.to_string()))?;
    let until = number(form, "until")?;
    work::defer(workshop, id, what, until)?;
    let says = "Put off. Now plan the rest anew.".to_owned();
    Ok(Done { to: format!("/refit/{id}"), mood: Mood::Good, says })
}

fn replan(asked: &Asked, workshop: &mut Workshop, id: EntryId, form: &Form) -> Result<Response, Refused> {
    let register = workshop.register().clone();
    let log = work::log(&register, id)?;
    if form.get("at") != Some(standing::mark(log).as_str()) {
        let says = "The refit has moved on since that page was shown, so nothing was planned. This is where it stands.";
        return Ok(asked.says(&format!("/refit/{id}"), Mood::Bad, says));
    }
    let (from, left) = (number(form, "from")?, minutes(form)?);
    let mut words: Vec<(&str, String)> = Vec::new();
    if let Some(evenings) = form.filled("evenings") {
        words.push(("evenings", format!("evenings={evenings}")));
    }
    words.extend(more(form));
    let new = read(&register, &words, &mut TypedSecret::of(workshop, form))?;
    let kept = form.all("keep");
    let wishes = work::rewished(log.wishes(), &|at| kept.contains(&at.to_string().as_str()), new);
    let question = work::rest(&register, id, Some(wishes), from, left)?;
    Ok(planned(asked, &View::of(workshop), question, form, Some(id)))
}

/// The minutes that are left of an evening.
fn minutes(form: &Form) -> Result<Option<Minutes>, Refused> {
    let Some(text) = form.filled("left") else { return Ok(None) };
    let minutes =
        text.replace(',', ".").parse().ok().filter(|minutes: &f64| (0.0..=1_440.0).contains(minutes));
    minutes
        .map(|minutes| Some(Minutes(minutes)))
        .ok_or_else(|| wrong("left", "must be minutes, from 0 to 1440"))
}

fn end(workshop: &mut Workshop, id: EntryId, form: &Form) -> Result<Done, Refused> {
    let how = form.get("how").and_then(Ending::from_word).unwrap_or(Ending::Abandoned);
    if how == Ending::Done && !work::at(workshop.register(), workshop.fleet(), id)?.finished() {
        return Err(wrong("", "Something is left to do: tick it first, or give the refit up."));
    }
    work::end(workshop, id, how)?;
    let says = match how {
        Ending::Done => "The refit is done.",
        Ending::Abandoned => "The refit is given up; what was done stays done.",
    };
    Ok(Done { to: "/refits".to_owned(), mood: Mood::Good, says: says.to_owned() })
}

fn act(
    asked: &Asked,
    workshop: &mut Workshop,
    id: EntryId,
    action: &str,
    form: &Form,
) -> Result<Response, Refused> {
    let done = match action {
        "tick" => tick(workshop, id, form)?,
        "untick" => {
            work::untick(workshop, id, form.get("step").unwrap_or_default())?;
            let says = "Taken back: it is to be done again, and what was written down for it is struck.";
            Done { to: format!("/refit/{id}"), mood: Mood::Good, says: says.to_owned() }
        }
        "defer" => defer(workshop, id, form)?,
        "replan" => return replan(asked, workshop, id, form),
        "end" => end(workshop, id, form)?,
        _ => return Err(WebError::Missing("There is no page at this address.".to_owned()).into()),
    };
    Ok(asked.says(&done.to, done.mood, &done.says))
}

/// `POST /refit/{id}/{action}`.
pub async fn act_on(asked: Asked, Path((id, action)): Path<(String, String)>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            match act(asked, workshop, id, &action, &form) {
                Ok(response) => Ok(response),
                Err(Refused::Web(error)) => Err(error),
                Err(Refused::Fields(errors)) => {
                    let key = form.get("form").unwrap_or_default().to_owned();
                    // Where no form of the page shows it, it is said above all of them.
                    let whole: Vec<&str> = errors
                        .iter()
                        .filter(|(name, _)| name.is_empty())
                        .map(|(_, says)| says.as_str())
                        .collect();
                    if !whole.is_empty() && !key.starts_with("tick-") && key != "replan" && key != "defer" {
                        return Ok(asked.says(&format!("/refit/{id}"), Mood::Bad, &whole.join(" ")));
                    }
                    let typed = typed(workshop.register(), &form, &key, errors);
                    page(asked, &View::of(workshop), id, &typed).map(html_wrong)
                }
            }
        })
        .await
}
