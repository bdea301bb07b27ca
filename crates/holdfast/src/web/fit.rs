//! Commissioning: every aircraft, an aircraft's list, proofs, work, signatures.

use std::collections::BTreeMap;

use axum::extract::Path;
use axum::response::Response;
use fitting::commission::lapse;
use fitting::commission::measure::{BadMeasure, BadSteps, MEASURES};
use pages::fit::fleet::FleetSheet;
use pages::fit::list::{ListSheet, SIGN, form_key};
use pages::fit::{fleet as fleet_page, list as list_page, table, work};
use pages::form::Typed;
use register::fit::{Proof, Work};
use register::fleet::find;
use register::id::DeviceId;
use register::scene::Scene;
use register::time::Moment;

use super::devices::device_page;
use super::error::WebError;
use super::state::{Asked, Form, View, html, html_wrong};
use crate::fittings::{self, NoFit, Tried};
use crate::workshop::{Workshop, now};

/// How many aircraft a page of the fleet's list holds.
const PER_PAGE: u64 = 50;

/// Why a form isn't taken.
pub(super) enum Refused {
    /// What is wrong, by the names of fields.
    Fields(Vec<(String, String)>),
    /// Something else.
    Web(WebError),
}

impl<E: Into<WebError>> From<E> for Refused {
    fn from(error: E) -> Refused {
        Refused::Web(error.into())
    }
}

/// One field is wrong.
pub(super) fn wrong(name: &str, says: impl Into<String>) -> Refused {
    Refused::Fields(vec![(name.to_owned(), super::devices::sentence(says.into()))])
}

impl From<NoFit> for WebError {
    fn from(error: NoFit) -> WebError {
        match error {
            NoFit::NoAircraft(_) => WebError::no_such("aircraft"),
            NoFit::NoTransmitter(_) => WebError::no_such("transmitter"),
            NoFit::Workshop(error) => WebError::Workshop(error),
            other => WebError::Bad(sentence(&other)),
        }
    }
}

fn sentence(error: &NoFit) -> String {
    let mut says = pages_capital(&error.to_string());
    if !says.ends_with(['.', '?', '!']) {
        says.push('.');
    }
    says
}

fn pages_capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// The device that an address names.
pub(super) fn id_of(text: &str) -> Result<DeviceId, WebError> {
    text.parse().map_err(|_| WebError::no_such("device"))
}

/// The transmitter that an address or a form names, by its id or what it is called.
pub(super) fn transmitter(view: &View, name: Option<&str>) -> Result<Option<DeviceId>, WebError> {
    let Some(name) = name.map(str::trim).filter(|name| !name.is_empty()) else { return Ok(None) };
    Ok(Some(find(&Scene::new(view.register()), name, Some(register::field::Sort::Transmitter))?))
}

/// `/commission`.
pub async fn fleet(asked: Asked) -> Response {
    asked
        .view(|asked, view| {
            let page = asked.page_number();
            let all = &view.fleet().aircraft;
            let skip = usize::try_from((page - 1).saturating_mul(PER_PAGE)).unwrap_or(usize::MAX);
            let shown = all.iter().skip(skip).take(usize::try_from(PER_PAGE).unwrap_or(usize::MAX));
            let lists: Vec<_> = shown
                .filter_map(|one| fittings::list(view.register(), view.fleet(), one.card.id, None).ok())
                .map(|(list, _)| list)
                .collect();
            let sheet = FleetSheet { lists: &lists, total: all.len() as u64, page, per_page: PER_PAGE };
            Ok(html(fleet_page::page(&asked.site(Some(view.name())), &sheet)))
        })
        .await
}

/// `/commission/table`.
pub async fn lapses(asked: Asked) -> Response {
    asked.view(|asked, view| Ok(html(table::page(&asked.site(Some(view.name())), lapse::rules())))).await
}

fn list_markup(
    asked: &Asked,
    view: &View,
    id: DeviceId,
    transmitter: Option<DeviceId>,
    typed: &Typed,
) -> Result<pages::Markup, WebError> {
    let (list, fit) = fittings::list(view.register(), view.fleet(), id, transmitter)?;
    let steps: Vec<_> = Proof::ALL
        .iter()
        .map(|proof| (*proof, fitting::failsafe::proof_steps(fit.craft, fit.power, *proof)))
        .collect();
    let sheet = ListSheet { list: &list, steps: &steps };
    Ok(list_page::page(&asked.site(Some(view.name())), &sheet, typed))
}

/// `/device/{id}/commission?t=T`.
pub async fn list(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, view| {
            let transmitter = transmitter(view, asked.get("t"))?;
            list_markup(asked, view, id_of(&id)?, transmitter, &Typed::none()).map(html)
        })
        .await
}

/// The page of the list with this transmitter.
fn back(id: DeviceId, transmitter: Option<DeviceId>, anchor: &str) -> String {
    let with = transmitter.map(|one| format!("?t={one}")).unwrap_or_default();
    format!("/device/{id}/commission{with}{anchor}")
}

/// The day that was typed; none for today, which means this moment.
fn seen(form: &Form) -> Result<Option<Moment>, Refused> {
    let Some(text) = form.filled("seen") else { return Ok(None) };
    let seen = Moment::parse(text).map_err(|error| wrong("seen", format!("{error}.")))?;
    Ok((seen.date() != now().date()).then_some(seen))
}

fn refused(error: NoFit) -> Refused {
    match error {
        NoFit::Measure(BadMeasure::Range { key, low, high, unit, .. }) => {
            wrong(key, format!("This can be {low} to {high} {unit}."))
        }
        NoFit::Steps(BadSteps::Left(left)) => wrong(
            "went",
            format!(
                "It holds when every step was carried out, and {} not ticked. Tick them, tick none when all were, or \
                 say that it did not hold.",
                match left.split(", ").count() {
                    1 => "one is".to_owned(),
                    many => format!("{many} are"),
                }
            ),
        ),
        NoFit::Future(_) => wrong("seen", sentence(&error)),
        NoFit::LongNote(_) => wrong("note", sentence(&error)),
        NoFit::NotThere { .. } => wrong("work", sentence(&error)),
        NoFit::WhichTransmitter(_) => wrong(
            "",
            "No transmitter is known to fly this aircraft. Give one of a transmitter's model memories this aircraft, then do the check with it.",
        ),
        other => Refused::Web(other.into()),
    }
}

fn measured(form: &Form, proof: Proof) -> Result<BTreeMap<String, f64>, Refused> {
    let mut out = BTreeMap::new();
    for one in MEASURES.iter().filter(|one| one.proof == proof) {
        if let Some(text) = form.filled(one.key) {
            let number: f64 = text
                .replace(',', ".")
                .parse()
                .map_err(|_| wrong(one.key, format!("Write a number of {}.", one.unit)))?;
            out.insert(one.key.to_owned(), number);
        }
    }
    Ok(out)
}

fn tried(workshop: &mut Workshop, id: DeviceId, proof: Proof, form: &Form) -> Result<&'static str, Refused> {
    let held = match form.get("went") {
        Some("held") => true,
        Some("failed") => false,
        _ => return Err(wrong("went", "Say how it went.")),
    };
    let tried = Tried {
        proof,
        transmitter: transmitter(&View::of(workshop), form.get("t"))?,
        held,
        steps: form.all("step").into_iter().map(str::to_owned).collect(),
        measured: measured(form, proof)?,
        note: form.filled("note").unwrap_or_default().to_owned(),
        seen: seen(form)?,
    };
    fittings::prove(workshop, id, &tried).map_err(refused)?;
    Ok(if held { "held" } else { "did not hold" })
}

/// `POST /device/{id}/prove`.
pub async fn prove(asked: Asked, Path(id): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            let proof = form.get("proof").and_then(Proof::from_word).ok_or_else(|| {
                WebError::Bad("Which check? Send the form of one from the page of the list.".to_owned())
            })?;
            let done = tried(workshop, id, proof, &form);
            let view = View::of(workshop);
            let with = transmitter(&view, form.get("t"))?;
            match done {
                Ok(how) => {
                    let says = format!("Written down: the {} {how}.", proof.label());
                    Ok(asked.done(&back(id, with, &format!("#item-proof-{}", proof.word())), &says))
                }
                Err(Refused::Fields(errors)) => {
                    let typed = form.typed(&form_key(proof), errors);
                    list_markup(asked, &view, id, with, &typed).map(html_wrong)
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

/// `POST /device/{id}/sign`.
pub async fn sign(asked: Asked, Path(id): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            let with = transmitter(&View::of(workshop), form.get("t"))?;
            let note = form.get("note").unwrap_or_default();
            match fittings::sign(workshop, id, with, note).map_err(refused) {
                Ok(signed) => {
                    let says = format!(
                        "Signed: {} checked, {} not checked.",
                        signed.checked.len(),
                        signed.unchecked.len()
                    );
                    Ok(asked.done(&back(id, with, "#signing"), &says))
                }
                Err(Refused::Fields(errors)) => {
                    let typed = form.typed(SIGN, errors);
                    list_markup(asked, &View::of(workshop), id, with, &typed).map(html_wrong)
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

fn did(workshop: &mut Workshop, device: DeviceId, form: &Form) -> Result<String, Refused> {
    let work = form.get("work").and_then(Work::from_word);
    let work = work.ok_or_else(|| wrong("work", "Choose what was done, or what befell it."))?;
    let note = form.get("note").unwrap_or_default();
    let rule = fittings::worked(workshop, device, work, note, seen(form)?).map_err(refused)?;
    let lapses = rule.map(|rule| rule.lapses.as_slice()).unwrap_or_default();
    let lapses = lapses.iter().map(|proof| proof.label()).collect::<Vec<_>>().join(", ");
    let then = if lapses.is_empty() {
        "No check lapses by it.".to_owned()
    } else {
        format!("By it lapse: {lapses}.")
    };
    Ok(format!("Noted: {}. {then}", work.label()))
}

/// `POST /device/{id}/did`.
pub async fn worked(asked: Asked, Path(id): Path<String>, form: Form) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            let on_list = form.get("back").is_some_and(|back| back.contains("/commission"));
            let with = form.get("back").and_then(|back| back.split("t=").nth(1)?.parse().ok());
            match did(workshop, id, &form) {
                Ok(says) if on_list => Ok(asked.done(&back(id, with, ""), &says)),
                Ok(says) => Ok(asked.done(&format!("/device/{}", workshop.register().canonical(id)), &says)),
                Err(Refused::Fields(errors)) => {
                    let typed = form.typed(work::FORM, errors);
                    if on_list {
                        list_markup(asked, &View::of(workshop), id, with, &typed).map(html_wrong)
                    } else {
                        device_page(asked, workshop, id, &typed).map(html_wrong)
                    }
                }
                Err(Refused::Web(error)) => Err(error),
            }
        })
        .await
}

/// `POST /commission/did`: a flying day begins.
pub async fn day(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| match did(workshop, DeviceId::WORKSHOP, &form) {
            Ok(says) => Ok(asked.done("/commission", &says)),
            Err(Refused::Fields(errors)) => {
                let says = errors.into_iter().map(|(_, says)| says).collect::<Vec<_>>().join(" ");
                Err(WebError::Bad(says))
            }
            Err(Refused::Web(error)) => Err(error),
        })
        .await
}
