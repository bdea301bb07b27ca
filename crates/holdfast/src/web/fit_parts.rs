//! The four parts of an aircraft's fit: their pages and forms.

use axum::extract::Path;
use axum::response::Response;
use fitting::part::{self, Problem, Schema};
use pages::fit::part::{self as part_page, PartSheet, TEXT};
use pages::fit::{FORM, ROW, after_row, tidied};
use pages::form::Typed;
use register::fit::Part;
use register::id::DeviceId;

use super::error::WebError;
use super::fit::id_of;
use super::state::{Asked, Form, View, html, html_wrong};
use crate::fittings::{self, NoFit};
use crate::workshop::Workshop;

/// What problems call what was typed.
const ORIGIN: &str = "the form";

fn markup(
    asked: &Asked,
    view: &View,
    id: DeviceId,
    part: Part,
    typed: &Typed,
) -> Result<pages::Markup, WebError> {
    let id = view.register().canonical(id);
    let craft = view.fleet().aircraft(id).ok_or_else(|| WebError::no_such("aircraft"))?;
    let fit = fittings::fit(view.register(), view.fleet(), id);
    let case = asked.get("case").and_then(|case| case.parse().ok());
    let sheet = PartSheet { card: &craft.card, part, fit: &fit, case };
    Ok(part_page::page(&asked.site(Some(view.name())), &sheet, typed))
}

/// `/device/{id}/{part}`.
pub async fn look(asked: Asked, Path(id): Path<String>, part: Part) -> Response {
    asked.view(move |asked, view| markup(asked, view, id_of(&id)?, part, &Typed::none()).map(html)).await
}

/// The cells of the form: what was typed, by path.
fn cells(form: &Form) -> Vec<(String, String)> {
    let own = ["token", "form", ROW];
    form.0.iter().filter(|(name, _)| !own.contains(&name.as_str())).cloned().collect()
}

/// A problem's place as the form calls it: `output[2].channel` and `flight.speed_m_s` are
/// `output.2.channel` and `flight.1.speed_m_s`.
fn field(schema: &Schema, key: &str) -> Option<String> {
    let (row, key) = key.rsplit_once('.')?;
    let (table, number) = match row.split_once(['[', '.']) {
        Some((table, number)) => (table, number.trim_end_matches(']').parse::<u32>().ok()?),
        None => (row, 1),
    };
    schema.table(table)?.1.key(key)?;
    Some(format!("{table}.{number}.{key}"))
}

fn errors(schema: &Schema, problems: &[Problem]) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = Vec::new();
    let mut whole: Vec<String> = Vec::new();
    for one in problems {
        match field(schema, &one.key) {
            Some(name) => out.push((name, super::devices::sentence(one.says.clone()))),
            None => whole.push(format!("{} {}.", one.key, one.says.trim_end_matches('.'))),
        }
    }
    if !whole.is_empty() {
        out.push((String::new(), whole.join("\n")));
    }
    out
}

fn write(workshop: &mut Workshop, id: DeviceId, part: Part, cells: &[(String, String)]) -> Result<(), NoFit> {
    let filled = part::from_inputs(part::schema(part), ORIGIN, cells).map_err(NoFit::Text)?;
    fittings::write_part(workshop, id, part, ORIGIN, &part::write(&filled))
}

fn address(workshop: &Workshop, id: DeviceId, part: Part) -> String {
    format!("/device/{}/{}", workshop.register().canonical(id), part.word())
}

/// `POST /device/{id}/{part}`: the form, or one of its buttons that add a row or take one away.
pub async fn fill(asked: Asked, Path(id): Path<String>, form: Form, part: Part) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            let schema = part::schema(part);
            if let Some(word) = form.get(ROW) {
                let values = after_row(schema, &cells(&form), word).ok_or_else(|| {
                    WebError::Bad(
                        "There is no such row to add or take away; go back and try again.".to_owned(),
                    )
                })?;
                let typed = Typed { form: FORM.to_owned(), values, errors: Vec::new() };
                return markup(asked, &View::of(workshop), id, part, &typed).map(html);
            }
            let cells = tidied(&cells(&form));
            let errors = if cells.is_empty() {
                vec![(
                    String::new(),
                    "Nothing is filled in yet. To take away what is written down, use “Take it away” below."
                        .to_owned(),
                )]
            } else {
                match write(workshop, id, part, &cells) {
                    Ok(()) => {
                        let says = format!("The {} {} written down.", part.label(), is_or_are(part));
                        return Ok(asked.done(&address(workshop, id, part), &says));
                    }
                    Err(NoFit::Text(problems)) => errors(schema, &problems),
                    Err(other) => return Err(other.into()),
                }
            };
            let typed = Typed { form: FORM.to_owned(), values: cells, errors };
            markup(asked, &View::of(workshop), id, part, &typed).map(html_wrong)
        })
        .await
}

/// `POST /device/{id}/{part}/text` and `/clear`.
pub async fn act(
    asked: Asked,
    Path((id, action)): Path<(String, String)>,
    form: Form,
    part: Part,
) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let id = id_of(&id)?;
            match action.as_str() {
                "text" => text(asked, workshop, id, part, &form),
                "clear" => {
                    fittings::clear_part(workshop, id, part)?;
                    let says = format!(
                        "The {} {} taken away; the logbook keeps what was.",
                        part.label(),
                        is_or_are(part)
                    );
                    Ok(asked.done(&address(workshop, id, part), &says))
                }
                _ => Err(WebError::Missing("There is no page at this address.".to_owned())),
            }
        })
        .await
}

fn text(
    asked: &Asked,
    workshop: &mut Workshop,
    id: DeviceId,
    part: Part,
    form: &Form,
) -> Result<Response, WebError> {
    let text = form.get("text").unwrap_or_default().replace("\r\n", "\n");
    let errors = if text.trim().is_empty() {
        vec!["The text is empty. To take away what is written down, use “Take it away” below.".to_owned()]
    } else {
        match fittings::write_part(workshop, id, part, "the text", &text) {
            Ok(()) => {
                let says = format!("The {} {} written down.", part.label(), is_or_are(part));
                return Ok(asked.done(&address(workshop, id, part), &says));
            }
            Err(NoFit::Text(problems)) => problems.iter().map(ToString::to_string).collect(),
            Err(other) => return Err(other.into()),
        }
    };
    let typed = form.typed(TEXT, vec![("text".to_owned(), errors.join("\n"))]);
    markup(asked, &View::of(workshop), id, part, &typed).map(html_wrong)
}

fn is_or_are(part: Part) -> &'static str {
    match part {
        Part::Outputs | Part::Antennas => "are",
        Part::Supply | Part::Failsafe => "is",
    }
}
