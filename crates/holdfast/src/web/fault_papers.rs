//! Fault trails on paper: the trail card, the closing report; and the weights.

use axum::extract::Path;
use axum::response::Response;
use pages::fault::card::Card;
use pages::fault::weights::Weights;
use pages::fault::{card, report, weights};
use pages::form::Typed;
use register::entry::{Body, Draft};
use register::id::DeviceId;
use trails::card::Node;
use trails::learn::{self, Counts, STRENGTH_SETTING};
use trails::library;
use trails::model::Model;
use trails::planner::Effort;
use trails::table::Situation;

use super::error::WebError;
use super::state::{Asked, Form, html, html_wrong};
use super::tools::setting_value;
use crate::faults;
use crate::workshop::{Workshop, now, workshop_name};

/// The deepest that a card is where nobody says how deep: as much of it as fits a sheet.
const USUAL_DEPTH: u32 = 3;

/// The tree that a form asks for, and how deep it is.
fn tree_for(form: &Form, model: &Model, situation: &Situation) -> (Node, u32) {
    let reckoned = |depth| trails::card::tree(model, situation, depth, Effort::default());
    if let Some(asked) = form.get("depth").and_then(|text| text.trim().parse::<u32>().ok()) {
        let depth = asked.clamp(1, trails::card::DEEPEST);
        return (reckoned(depth), depth);
    }
    for depth in (2..=USUAL_DEPTH).rev() {
        let tree = reckoned(depth);
        if card::fits_a_sheet(model, &tree) {
            return (tree, depth);
        }
    }
    (reckoned(1), 1)
}

fn model_of(form: &Form) -> Result<Model, WebError> {
    let symptoms = library::symptoms();
    match form.get("symptom").filter(|key| !key.is_empty()) {
        Some(key) => symptoms.into_iter().find(|model| model.key == key),
        None => symptoms.into_iter().next(),
    }
    .ok_or_else(|| WebError::no_such("symptom"))
}

/// `GET /fault/{id}/card`.
pub async fn of_trail(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, workshop| {
            let register = workshop.register().clone();
            let id = id.parse().map_err(|_| WebError::no_such("fault trail"))?;
            let trail = faults::at_of(&register, workshop.fleet(), id)?;
            if !trail.searching() {
                return Ok(html(card::over(&asked.site(Some(workshop.name())), &trail)));
            }
            let (tree, depth) = tree_for(&Form(asked.query.clone()), &trail.model, &trail.situation);
            let link = &trail.link;
            let gear = format!(
                "For {} with {}, after {} on the trail.",
                link.transmitter.full(),
                link.receiver.full(),
                match trail.history.len() {
                    0 => "nothing yet".to_owned(),
                    1 => "1 thing done".to_owned(),
                    many => format!("{many} things done"),
                }
            );
            let address = format!("/fault/{id}/card");
            let card = Card {
                model: &trail.model,
                tree: &tree,
                depth,
                gear: &gear,
                certain: &trail.first(),
                address: &address,
            };
            Ok(html(card::page(&asked.site(Some(workshop.name())), &card)))
        })
        .await
}

/// `GET /faults/card?symptom=KEY&depth=N`.
pub async fn of_symptom(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let form = Form(asked.query.clone());
            let symptom = model_of(&form)?.key;
            let trail = faults::fresh(workshop.register(), workshop.fleet(), &symptom)?;
            let model = &trail.model;
            let (tree, depth) = tree_for(&form, model, &trail.situation);
            let card = Card { model, tree: &tree, depth, gear: "", certain: &[], address: "/faults/card" };
            Ok(html(pages::fault::card::page(&asked.site(Some(workshop.name())), &card)))
        })
        .await
}

/// `GET /fault/{id}/report`.
pub async fn of_closing(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, workshop| {
            let id = id.parse().map_err(|_| WebError::no_such("fault trail"))?;
            let trail = faults::at_of(workshop.register(), workshop.fleet(), id)?;
            Ok(html(report::page(&asked.site(Some(workshop.name())), &trail)))
        })
        .await
}

fn weights_page(
    asked: &Asked,
    workshop: &Workshop,
    form: &Form,
    typed: &Typed,
) -> Result<maud::Markup, WebError> {
    let model = model_of(form)?;
    let register = workshop.register();
    let (counts, strength) = (Counts::of(register, &model.key), learn::strength(register));
    let mut taught = model.clone();
    learn::teach(&mut taught, &counts, strength);
    let symptoms = library::symptoms();
    let shown = Weights { symptoms: &symptoms, model: &model, taught: &taught, counts: &counts, strength };
    Ok(weights::page(&asked.site(Some(workshop_name(register))), &shown, typed))
}

/// `GET /faults/weights?symptom=KEY`.
pub async fn weights(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            weights_page(asked, workshop, &Form(asked.query.clone()), &Typed::none()).map(html)
        })
        .await
}

/// `POST /faults/weights`.
pub async fn set_strength(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            match setting_value(STRENGTH_SETTING, form.get("strength").unwrap_or_default()) {
                Ok(value) => {
                    let body = Body::Setting { key: STRENGTH_SETTING.to_owned(), value };
                    workshop.record(&[Draft { seen: now(), subject: DeviceId::WORKSHOP, body }], &[])?;
                    let symptom = form.get("symptom").unwrap_or_default();
                    let symptom: String =
                        symptom.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
                    Ok(asked.done(&format!("/faults/weights?symptom={symptom}"), "Set."))
                }
                Err(says) => {
                    let typed =
                        form.typed("strength", vec![("strength".to_owned(), format!("This {says}."))]);
                    weights_page(asked, workshop, &form, &typed).map(html_wrong)
                }
            }
        })
        .await
}
