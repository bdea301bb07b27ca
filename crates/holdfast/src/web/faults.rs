//! Fault trails: the symptoms, beginning one, one step at a time.

use axum::extract::Path;
use axum::response::Response;
use pages::fault::lost::Lost as LostPage;
use pages::fault::{FACTS_FORM, Faults, Start, lost, mark, sentence, start};
use pages::form::Typed;
use pages::site::Mood;
use register::family::Side;
use register::field::{Field, Sort};
use register::fleet::Fleet;
use register::id::EntryId;
use register::scene::Scene;
use register::trail::{Begun, Event, Helped, Outcome, TrailLog};
use register::value::{EndRef, SecretMark, Value};
use store::keys::SecretText;
use trails::library;
use trails::model::Model;
use trails::planner::Effort;
use trails::trail::{Deed, Lost, MOST_WORDS, Refused as NotDone, Trail, act, follow};
use units::Minutes;

use super::devices::sentence as about_field;
use super::error::WebError;
use super::state::{Asked, Form, View, html, html_wrong};
use crate::faults::{self, NoTrail};
use crate::values;
use crate::workshop::{Workshop, now};

/// Why a form isn't taken.
enum Refused {
    /// Fields are wrong: their names (empty for the whole form), and what is.
    Fields(Vec<(String, String)>),
    /// Something else.
    Web(WebError),
}

fn wrong(name: &str, says: impl Into<String>) -> Refused {
    Refused::Fields(vec![(name.to_owned(), about_field(says.into()))])
}

impl From<NoTrail> for Refused {
    fn from(error: NoTrail) -> Refused {
        match error {
            NoTrail::Missing(_) | NoTrail::None => Refused::Web(WebError::no_such("fault trail")),
            NoTrail::Workshop(error) => Refused::Web(error.into()),
            NoTrail::Lost(lost) => Refused::Web(WebError::Missing(sentence(&lost.to_string()))),
            NoTrail::Unsettled(list) => {
                let says: Vec<String> = list.iter().map(|one| sentence(&one.to_string())).collect();
                Refused::Fields(vec![(String::new(), format!("Not closed yet.\n{}", says.join("\n")))])
            }
            NoTrail::Refused(why @ NotDone::Minutes) => wrong("minutes", sentence(&why.to_string())),
            NoTrail::Refused(why @ NotDone::NoText) => wrong("text", sentence(&why.to_string())),
            other => wrong("", sentence(&other.to_string())),
        }
    }
}

impl From<WebError> for Refused {
    fn from(error: WebError) -> Refused {
        Refused::Web(error)
    }
}

impl From<NoTrail> for WebError {
    fn from(error: NoTrail) -> WebError {
        match Refused::from(error) {
            Refused::Web(error) => error,
            Refused::Fields(list) => WebError::Bad(list.into_iter().map(|(_, says)| says).collect()),
        }
    }
}

/// What was typed, without what may be a link secret.
fn typed(form: &Form, key: &str, errors: Vec<(String, String)>) -> Typed {
    let mut typed = form.typed(key, errors);
    typed.values.retain(|(name, _)| !name.ends_with(".secret"));
    typed
}

fn list_page(asked: &Asked, view: &View) -> pages::Markup {
    let symptoms = library::symptoms();
    let problems: Vec<String> = library::problems().iter().map(ToString::to_string).collect();
    let register = view.register();
    let trails = register.trails();
    let begun = |id: EntryId| trails.iter().any(|log| log.id() == id);
    let sheet = Faults {
        symptoms: &symptoms,
        trails,
        erased: register.trail_closings().iter().filter(|mark| !begun(mark.what.trail)).count(),
        problems: &problems,
        transmitter: asked.get("t").unwrap_or_default(),
        receiver: asked.get("r").unwrap_or_default(),
    };
    pages::fault::list::page(&asked.site(Some(view.name())), &Scene::new(register), &sheet)
}

/// `/faults`.
pub async fn list(asked: Asked) -> Response {
    asked.view(|asked, view| Ok(html(list_page(asked, view)))).await
}

fn no_symptom() -> WebError {
    WebError::Missing("There is no symptom of this name; the page Faults lists those there are.".to_owned())
}

fn start_page(asked: &Asked, view: &View, model: &Model, typed: &Typed) -> pages::Markup {
    let scene = Scene::new(view.register());
    let end = |name: &str, sort: Sort, side: Side| -> Option<EndRef> {
        let words = asked.get(name)?;
        values::end(&scene, words, Some(sort), side).ok()
    };
    let sheet = Start {
        model,
        transmitter: end("t", Sort::Transmitter, Side::Transmitter),
        receiver: end("r", Sort::Receiver, Side::Receiver),
    };
    start::page(&asked.site(Some(view.name())), &scene, view.fleet(), &sheet, typed)
}

/// `/faults/new?symptom=`: whose gear? Without a symptom: which?
pub async fn new(asked: Asked) -> Response {
    asked
        .view(|asked, view| {
            let Some(key) = asked.get("symptom") else { return Ok(html(list_page(asked, view))) };
            let model = library::symptom(key).ok_or_else(no_symptom)?;
            Ok(html(start_page(asked, view, &model, &Typed::none())))
        })
        .await
}

fn side_of(scene: &Scene, form: &Form, side: Side) -> Result<Option<EndRef>, Refused> {
    let (name, sort) = match side {
        Side::Transmitter => ("transmitter", Sort::Transmitter),
        Side::Receiver => ("receiver", Sort::Receiver),
    };
    let Some(words) = form.filled(name) else {
        return Err(wrong(name, format!("Choose the {name}, or a guest's.")));
    };
    if words.eq_ignore_ascii_case(start::GUEST) {
        return Ok(None);
    }
    values::end(scene, words, Some(sort), side).map(Some).map_err(|says| wrong(name, sentence(&says)))
}

/// The link secret that was typed or seen blank on one side.
fn secret_of(workshop: &mut Workshop, form: &Form, side: Side) -> Result<Option<Value>, Refused> {
    let name = format!("{}.secret", side.word());
    // As typed: spaces at its ends belong to it.
    let secret = form.get(&name).filter(|text| !text.is_empty());
    let blank = form.get(&format!("{}.blank", side.word())) == Some("1");
    match (secret, blank) {
        (Some(_), true) => {
            Err(wrong(&name, "A secret is typed here, and it is ticked as blank: only one can be."))
        }
        (Some(text), false) => {
            let mark = workshop.fingerprint(&SecretText::new(text)).map_err(WebError::from)?;
            Ok(Some(Value::Secret(mark)))
        }
        (None, true) => Ok(Some(Value::Secret(SecretMark::Blank))),
        (None, false) => Ok(None),
    }
}

fn begun_of(workshop: &mut Workshop, form: &Form) -> Result<Begun, Refused> {
    let symptom = form.filled("symptom").unwrap_or_default().to_owned();
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    let transmitter = side_of(&scene, form, Side::Transmitter)?;
    let receiver = side_of(&scene, form, Side::Receiver)?;
    let whose = values::text(form.get("whose").unwrap_or_default()).map_err(|says| wrong("whose", says))?;
    let mut told: Vec<(Side, Field, String)> = Vec::new();
    let mut secrets = Vec::new();
    for (side, own) in [(Side::Transmitter, transmitter.is_some()), (Side::Receiver, receiver.is_some())] {
        let not_guest = |name: &str| {
            let says = format!(
                "The {} is the workshop's own: take this out, and write it down on its page.",
                side.word()
            );
            Err(wrong(name, says))
        };
        for field in start::TOLD {
            let name = format!("{}.{}", side.word(), field.key());
            if let Some(words) = form.filled(&name) {
                if own {
                    return not_guest(&name);
                }
                told.push((side, field, words.to_owned()));
            }
        }
        if let Some(value) = secret_of(workshop, form, side)? {
            if own {
                return not_guest(&format!("{}.secret", side.word()));
            }
            secrets.push((side, Field::Secret, value));
        }
    }
    let mut facts = faults::told(workshop, &told).map_err(|(at, says)| {
        let (side, field, _) = &told[at];
        wrong(&format!("{}.{}", side.word(), field.key()), says)
    })?;
    facts.extend(secrets);
    let model = library::symptom(&symptom);
    let known = |key: &&str| model.as_ref().is_some_and(|model| model.cover(key).is_some());
    let open = form.all("open").into_iter().filter(known).map(str::to_owned).collect();
    Ok(Begun { symptom, transmitter, receiver, whose, facts, open })
}

/// Begins a trail; a button that is touched twice leads to the one that it began. Says
/// whether it was there already.
fn begin_once(workshop: &mut Workshop, begun: Begun) -> Result<(EntryId, bool), Refused> {
    let newest = workshop.register().trails().last();
    let untouched =
        |log: &&TrailLog| log.events.is_empty() && log.closed.is_none() && log.begun.what == begun;
    if let Some(log) = newest.filter(untouched) {
        return Ok((log.id(), true));
    }
    Ok((faults::begin(workshop, begun)?, false))
}

/// `POST /faults`: a trail begins.
pub async fn begin(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            let model = library::symptom(form.get("symptom").unwrap_or_default()).ok_or_else(no_symptom)?;
            let begun = begun_of(workshop, &form).and_then(|begun| begin_once(workshop, begun));
            match begun {
                Ok((id, true)) => {
                    let says = "This trail was begun just before, and nothing is done on it yet: here it is.";
                    Ok(asked.says(&format!("/fault/{id}"), Mood::Good, says))
                }
                Ok((id, false)) => Ok(asked.done(&format!("/fault/{id}"), "The trail has begun.")),
                Err(Refused::Fields(errors)) => {
                    let typed = typed(&form, start::FORM, errors);
                    Ok(html_wrong(start_page(asked, &View::of(workshop), &model, &typed)))
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

/// The trail that an address names.
fn id_of(workshop: &Workshop, name: &str) -> Result<EntryId, WebError> {
    Ok(faults::find(workshop, Some(name))?)
}

fn step_page(asked: &Asked, workshop_name: &str, trail: &Trail, typed: &Typed) -> pages::Markup {
    let site = asked.site(Some(workshop_name));
    pages::fault::step::page(&site, trail, &faults::short(trail.id), typed)
}

/// The page of a trail that can't be followed any more.
fn lost_page(asked: &Asked, workshop_name: &str, log: &TrailLog, why: &Lost, typed: &Typed) -> pages::Markup {
    let sheet = LostPage {
        id: &log.id().to_string(),
        reason: &sentence(&why.to_string()),
        whose: &log.begun.what.whose,
        guest: faults::may_forget(log).is_ok(),
        open: log.closed.is_none(),
    };
    lost::page(&asked.site(Some(workshop_name)), &sheet, typed)
}

/// What can be done with a trail that can't be followed any more: a guest's data is erased.
fn act_on_lost(
    asked: &Asked,
    workshop: &mut Workshop,
    (id, why): (EntryId, &Lost),
    action: &str,
    form: &Form,
) -> Result<Response, WebError> {
    let log = faults::log(workshop, id)?;
    let done = match action {
        "forget" => forgotten(workshop, id, form),
        "close" => faults::end(workshop, id, "", Outcome::Left)
            .map(|_| ("/faults".to_owned(), "The trail is closed: left as it is.".to_owned()))
            .map_err(Refused::from),
        _ => return Ok(asked.says(&format!("/fault/{id}"), Mood::Bad, &sentence(&why.to_string()))),
    };
    match done {
        Ok((to, says)) => Ok(asked.done(&to, &says)),
        Err(Refused::Fields(errors)) => {
            let name = crate::workshop::workshop_name(workshop.register()).to_owned();
            Ok(html_wrong(lost_page(
                asked,
                &name,
                &log,
                why,
                &typed(form, form.get("form").unwrap_or("forget"), errors),
            )))
        }
        Err(Refused::Web(error)) => Err(error),
    }
}

/// `/fault/{id}`.
pub async fn one(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, view| {
            let register = view.register();
            let name = id.to_lowercase();
            let mut fits = register.trails().iter().filter(|log| log.id().to_string() == name);
            let log = fits.next().ok_or_else(|| WebError::no_such("fault trail"))?;
            let fleet: &Fleet = view.fleet();
            // Reckoned without the lock.
            Ok(html(match follow(register, fleet, log, now(), Effort::default()) {
                Ok(trail) => step_page(asked, view.name(), &trail, &Typed::none()),
                Err(why) => lost_page(asked, view.name(), log, &why, &Typed::none()),
            }))
        })
        .await
}

/// The facts that were typed with a check.
fn facts_of(
    workshop: &mut Workshop,
    trail: &Trail,
    step: &str,
    form: &Form,
) -> Result<Vec<(Side, Field, Value)>, Refused> {
    let check = trail.model.step(step).and_then(|at| trail.model.steps[at].as_check());
    let field = check.and_then(|check| check.field.or(check.rule.map(trails::evidence::field_of)));
    let Some(field) = field else { return Ok(Vec::new()) };
    let mut facts = Vec::new();
    for side in [Side::Transmitter, Side::Receiver] {
        let name = format!("{}.value", side.word());
        if field == Field::Secret {
            facts.extend(secret_of(workshop, form, side)?.map(|value| (side, field, value)));
        } else if let Some(words) = form.filled(&name) {
            let fact = faults::fact(workshop, trail.id, trail, side, field, words);
            facts.push(fact.map_err(|error| match error {
                NoTrail::Value { says, .. } => wrong(&name, says),
                NoTrail::Refused(refused) => wrong(&name, sentence(&refused.to_string())),
                other => Refused::from(other),
            })?);
        }
    }
    Ok(facts)
}

fn answered(workshop: &mut Workshop, trail: &Trail, form: &Form) -> Result<Deed, Refused> {
    let step = form.get("step").unwrap_or_default().to_owned();
    let facts = facts_of(workshop, trail, &step, form)?;
    let answer = form.get("answer").unwrap_or_default();
    let deed =
        |answer: &str| Deed::Answer { step: step.clone(), answer: answer.to_owned(), facts: facts.clone() };
    if answer == "cant-tell" {
        return Ok(deed(""));
    }
    if !answer.is_empty() {
        return Ok(deed(answer));
    }
    if facts.is_empty() {
        return Err(wrong("", "Type what the two ends show, or give one of the answers."));
    }
    // Told by the facts: where they don't tell, nothing is written yet.
    let log = faults::log(workshop, trail.id)?;
    let told = act(workshop.register(), &log, trail, deed(""), now()).map_err(NoTrail::from)?;
    let tells = |event: &Event| matches!(event, Event::Answered { answer, .. } if !answer.is_empty());
    if told.events.iter().any(tells) {
        return Ok(deed(""));
    }
    Err(wrong(
        "",
        "This alone doesn't tell: type what the other end shows as well, or give one of the answers with it. A link secret has to be typed again.",
    ))
}

fn tried(trail: &Trail, form: &Form) -> Result<Deed, Refused> {
    let step = form.get("step").unwrap_or_default().to_owned();
    let helped = form
        .get("helped")
        .and_then(Helped::from_word)
        .ok_or_else(|| wrong("", "Say whether it helped with one of the buttons."))?;
    let mut mend = None;
    if let Some(action) = form.get("action") {
        // The words decide, not the number: the list may have changed in between.
        let ways = trail.certain.iter().find(|one| format!("rule:{}", one.rule.word()) == step);
        let place = ways
            .and_then(|one| one.mends.iter().position(|mend| pages::link::sent_as(&mend.action) == action));
        mend = Some(place.ok_or_else(|| {
            wrong("", "What stands between the two ends has changed since the page was shown. Nothing was written; look again.")
        })?);
    }
    Ok(Deed::Tried { step, mend, helped })
}

fn did(form: &Form) -> Result<Deed, Refused> {
    let text = values::text(form.get("text").unwrap_or_default()).map_err(|says| wrong("text", says))?;
    let changed =
        values::text(form.get("changed").unwrap_or_default()).map_err(|says| wrong("changed", says))?;
    for (name, words) in [("text", &text), ("changed", &changed)] {
        let long = words.chars().count();
        if long > MOST_WORDS {
            let says = format!("has {long} characters, and {MOST_WORDS} is the most; say it shorter");
            return Err(wrong(name, says));
        }
    }
    if text.is_empty() {
        return Err(wrong("text", "Say in a few words what you did."));
    }
    let minutes = form.filled("minutes").unwrap_or_default();
    let minutes: f64 = minutes
        .replace(',', ".")
        .parse()
        .map_err(|_| wrong("minutes", "must be a number of minutes, such as 3 or 2.5"))?;
    let helped = form.get("helped").and_then(Helped::from_word).unwrap_or(Helped::No);
    Ok(Deed::Elsewise { text, minutes: Minutes(minutes), changed, helped })
}

/// What was sent, as a deed.
fn deed_of(workshop: &mut Workshop, trail: &Trail, action: &str, form: &Form) -> Result<Deed, Refused> {
    let named = |name: &str| form.get(name).unwrap_or_default().to_owned();
    match action {
        "answer" => answered(workshop, trail, form),
        "tried" => tried(trail, form),
        "did" => did(form),
        "open" => Ok(Deed::Opened { cover: named("cover") }),
        "restore" => Ok(Deed::PutBack { change: named("change") }),
        "accept" => Ok(Deed::Accepted { change: named("change") }),
        "prove" => match form.get("held") {
            Some("yes") => Ok(Deed::Proved { proof: named("proof"), held: true }),
            Some("no") => Ok(Deed::Proved { proof: named("proof"), held: false }),
            _ => Err(wrong("", "Say whether it held with one of the buttons.")),
        },
        _ => Err(WebError::Missing("There is no page at this address.".to_owned()).into()),
    }
}

/// What was written down, in a sentence.
fn said(trail: &Trail) -> String {
    match trail.history.last() {
        None => "Written down.".to_owned(),
        Some(done) if done.came.is_empty() => format!("Written down: {}", sentence(&done.what)),
        Some(done) => format!("Written down: {} {}", sentence(&done.what), sentence(&done.came)),
    }
}

/// Erases what a guest's trail says, where that was confirmed.
fn forgotten(workshop: &mut Workshop, id: EntryId, form: &Form) -> Result<(String, String), Refused> {
    if form.get("sure") != Some("1") {
        return Err(wrong("sure", "Tick this first: what is erased can't be brought back."));
    }
    faults::forget(workshop, id)?;
    Ok(("/faults".to_owned(), "Erased: what the guest's trail said is gone from this workshop. Copies elsewhere still hold it until they merge.".to_owned()))
}

/// Does what a form asks; gives where to go and what to say.
fn done(
    workshop: &mut Workshop,
    trail: &Trail,
    action: &str,
    form: &Form,
) -> Result<(String, String), Refused> {
    let id = trail.id;
    let here = format!("/fault/{id}");
    match action {
        "back" => {
            faults::back(workshop, id)?;
            let says = if trail.closed.is_some() {
                "The trail is taken up again.".to_owned()
            } else {
                let what = trail.history.last().map_or("the last thing", |done| done.what.as_str());
                format!("Taken back: {}", sentence(what))
            };
            Ok((here, says))
        }
        "close" => {
            let outcome = form
                .get("outcome")
                .and_then(Outcome::from_word)
                .ok_or_else(|| wrong("outcome", "Choose how it ends."))?;
            let cause = form.filled("other").or(form.filled("cause")).unwrap_or_default();
            faults::end(workshop, id, cause, outcome)?;
            Ok((here, "The trail is closed.".to_owned()))
        }
        "forget" => forgotten(workshop, id, form),
        _ => {
            let deed = deed_of(workshop, trail, action, form)?;
            let after = faults::write(workshop, id, deed)?;
            Ok((here, said(&after)))
        }
    }
}

/// `POST /fault/{id}/{action}`.
pub async fn act_on(asked: Asked, Path((id, action)): Path<(String, String)>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(workshop, &id)?;
            let trail = match faults::light(workshop, id) {
                Ok(trail) => trail,
                Err(NoTrail::Lost(why)) => return act_on_lost(asked, workshop, (id, &why), &action, &form),
                Err(error) => return Err(error.into()),
            };
            if form.get("at") != Some(mark(&trail).as_str()) {
                let says = "The trail has moved on since that page was shown, so nothing more was written. This is where it stands.";
                return Ok(asked.says(&format!("/fault/{id}"), Mood::Bad, says));
            }
            match done(workshop, &trail, &action, &form) {
                Ok((to, says)) => Ok(asked.done(&to, &says)),
                Err(Refused::Fields(errors)) => {
                    let key = form.get("form").unwrap_or(FACTS_FORM).to_owned();
                    let typed = typed(&form, &key, errors);
                    let name = crate::workshop::workshop_name(workshop.register()).to_owned();
                    let trail = faults::at(workshop, id)?;
                    Ok(html_wrong(step_page(asked, &name, &trail, &typed)))
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}
