//! The formulas, each by itself.

use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse as _, Response};
use link::calc::{self, CalcError, Formula, Given};
use pages::form::Typed;
use pages::formulas as page;
use pages::sheet::WayOn;

use super::sheet::{answered, known, only_answer, wishes};
use super::state::{Asked, html};

/// `/formulas`.
pub async fn list(asked: Asked) -> Response {
    asked.view(|asked, workshop| Ok(html(page::list(&asked.site(Some(workshop.name())))))).await
}

/// `/formula/{name}`: computed from what was typed, or from its example.
pub async fn one(asked: Asked, Path(name): Path<String>) -> Response {
    asked
        .view(move |asked, workshop| {
            let formula = match calc::find(&name) {
                Ok(formula) => formula,
                Err(error) => return Ok(unknown(asked, workshop.name(), &error)),
            };
            let (values, unknown) = known(wishes(asked, &["form"]), formula.inputs);
            let start = values.is_empty() && unknown.is_none();
            let read = if start {
                Given::read(formula, &example(formula)).map_err(|why| vec![why])
            } else {
                Given::read_all(formula.name, formula.inputs, &values)
            };
            let computed = read.and_then(|given| formula.answer_with(&given).map_err(|why| vec![why]));
            let mut errors: Vec<(String, String)> =
                unknown.into_iter().map(|says| (String::new(), says)).collect();
            if let Err(wrong) = &computed {
                errors.extend(wrong.iter().map(|error| at_its_field(formula, error)));
            }
            let wrong = !errors.is_empty();
            let form = if start { String::new() } else { page::FORM.to_owned() };
            let typed = Typed { form, values, errors };
            let computed = computed.as_ref().ok().filter(|_| !wrong);
            let markup = if only_answer(asked) {
                page::answer(formula, &typed, computed)
            } else {
                page::page(&asked.site(Some(workshop.name())), formula, &typed, computed)
            };
            Ok(answered(markup, wrong))
        })
        .await
}

fn example(formula: &Formula) -> Vec<(String, String)> {
    formula.example.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect()
}

/// An error under the name of its field; one that belongs to none stands for the whole form.
fn at_its_field(formula: &Formula, error: &CalcError) -> (String, String) {
    let key = error.key().filter(|key| formula.inputs.iter().any(|input| input.key == *key));
    (key.unwrap_or_default().to_owned(), page::wrong(error))
}

fn unknown(asked: &Asked, workshop: &str, error: &CalcError) -> Response {
    let mut ways = vec![WayOn { href: "/formulas".to_owned(), label: "All formulas".to_owned() }];
    if let CalcError::Unknown { near, .. } = error {
        ways.extend(
            near.iter().map(|name| WayOn { href: format!("/formula/{name}"), label: (*name).to_owned() }),
        );
    }
    let markup = pages::error::page(&asked.site(Some(workshop)), 404, &page::wrong(error), &ways);
    (StatusCode::NOT_FOUND, Html(markup.into_string())).into_response()
}
