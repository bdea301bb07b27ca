//! Pages about link families.

use std::collections::BTreeSet;
use std::sync::Arc;

use axum::extract::Path;
use axum::response::{IntoResponse as _, Response};
use pages::family::FamilySheet;
use pages::form::Typed;
use register::family::{read, shipped};
use register::field::Field;
use register::view;

use super::error::WebError;
use super::state::{Asked, Form, html, html_wrong};
use crate::workshop::{Workshop, shipped_family};

/// The family names that ends speak, as written, with the devices that speak them.
fn spoken(workshop: &Workshop) -> Vec<(String, Vec<view::Card>)> {
    let mut names: Vec<(String, Vec<view::Card>)> = Vec::new();
    for device in workshop.register().devices() {
        let families: BTreeSet<String> =
            device.ends.values().filter_map(|end| view::words(&end.facts, Field::Family)).collect();
        for family in families {
            match names.iter_mut().find(|(name, _)| *name == family) {
                Some((_, users)) => users.push(view::card(device)),
                None => names.push((family, vec![view::card(device)])),
            }
        }
    }
    names
}

/// `/families`.
pub async fn list(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            let register = workshop.register().clone();
            let mut missing: Vec<String> = spoken(workshop)
                .into_iter()
                .map(|(name, _)| name)
                .filter(|name| register.family(name).is_none())
                .collect();
            missing.sort();
            Ok(html(pages::family::list(&asked.site(Some(workshop.name())), &register, &missing)))
        })
        .await
}

/// `/family/{name}` and `/family/{name}.toml`.
pub async fn one(asked: Asked, Path(name): Path<String>) -> Response {
    asked
        .with(move |asked, workshop| {
            let register = workshop.register().clone();
            if let Some(bare) = name.strip_suffix(".toml")
                && register.families().all(|(have, _)| have != name)
            {
                return download(workshop, bare);
            }
            let used =
                register.families().find(|(_, used)| used.family.as_ref().is_some_and(|f| f.name == name));
            let users: Vec<view::Card> = spoken(workshop)
                .into_iter()
                .filter(|(have, _)| have.eq_ignore_ascii_case(&name))
                .flat_map(|(_, users)| users)
                .take(200)
                .collect();
            let problems = workshop
                .family_problems()
                .iter()
                .find(|(have, _)| have.eq_ignore_ascii_case(&name))
                .map(|(_, problems)| problems.clone())
                .unwrap_or_default();
            if used.is_none() && users.is_empty() && problems.is_empty() {
                return Err(WebError::Missing("No family of this name is known here.".to_owned()));
            }
            let family = register.family(&name).cloned();
            let sheet =
                FamilySheet { name: &name, family: family.as_deref(), problems: &problems, users: &users };
            Ok(html(pages::family::page(&asked.site(Some(workshop.name())), &sheet)))
        })
        .await
}

fn download(workshop: &Workshop, name: &str) -> Result<Response, WebError> {
    let register = workshop.register();
    let found = register
        .families()
        .find(|(_, used)| used.family.as_ref().is_some_and(|family| family.name.eq_ignore_ascii_case(name)))
        .map(|(_, used)| used.file);
    let Some(bytes) = found.map(|digest| workshop.store.file(digest)).transpose()?.flatten() else {
        return Err(WebError::Missing("No family of this name has a file here.".to_owned()));
    };
    let headers = [
        ("content-type", "application/toml; charset=utf-8"),
        ("content-disposition", "attachment; filename=\"family.toml\""),
    ];
    Ok((headers, bytes).into_response())
}

fn starters() -> Vec<&'static str> {
    shipped::starters().iter().map(|(name, _)| *name).collect()
}

fn form_page(asked: &Asked, workshop: &Workshop, typed: &Typed) -> pages::Markup {
    pages::family_form::page(&asked.site(Some(workshop.name())), &starters(), typed)
}

/// `/family/new`.
pub async fn form(asked: Asked) -> Response {
    asked
        .with(|asked, workshop| {
            // Starts from a starter, or from a family that the workshop already has.
            let start = asked.get("from").and_then(|from| {
                let own = workshop.register().family(from).cloned();
                own.or_else(|| {
                    let text = shipped_family(from)?;
                    read::read(from, text).ok().map(Arc::new)
                })
            });
            let typed = match start {
                Some(family) => Typed {
                    form: "family".to_owned(),
                    values: pages::family_form::from_family(&family),
                    errors: Vec::new(),
                },
                None => Typed::none(),
            };
            Ok(html(form_page(asked, workshop, &typed)))
        })
        .await
}

/// `POST /family/new`.
pub async fn create(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            if form.get("more").is_some() {
                let typed = form.typed("family", Vec::new());
                return Ok(html(form_page(asked, workshop, &typed)));
            }
            let text = pages::family_form::to_toml(&form.0);
            match read::read("the form", &text) {
                Ok(family) => added(asked, workshop, &family, &text),
                Err(problems) => {
                    let errors = pages::family_form::to_errors(&form.0, &problems);
                    Ok(html_wrong(form_page(asked, workshop, &form.typed("family", errors))))
                }
            }
        })
        .await
}

/// `POST /family/paste`.
pub async fn paste(asked: Asked, form: Form) -> Response {
    asked
        .form(form, |asked, workshop, form| {
            let text = form.get("text").unwrap_or_default().replace("\r\n", "\n");
            match read::read("the pasted file", &text) {
                Ok(family) => added(asked, workshop, &family, &text),
                Err(problems) => {
                    let says: Vec<String> = problems.iter().take(20).map(ToString::to_string).collect();
                    let typed = form.typed("paste", vec![("text".to_owned(), says.join("\n"))]);
                    Ok(html_wrong(form_page(asked, workshop, &typed)))
                }
            }
        })
        .await
}

fn added(
    asked: &Asked,
    workshop: &mut Workshop,
    family: &register::family::Family,
    text: &str,
) -> Result<Response, WebError> {
    let register = workshop.register().clone();
    let before = workshop.fleet().clone();
    let had = register.family(&family.name).is_some();
    let tally = register::tally::Tally::of(&before).wanted().to_owned();
    workshop.add_family(family, text)?;
    let after = register::tally::Tally::of(workshop.fleet()).wanted().to_owned();
    let links = register::rule::Verdict::Links;
    let what = if had { "The family's file is replaced" } else { "The family is added" };
    let says = match (tally.verdict(links), after.verdict(links)) {
        (was, is) if was == is => format!("{what}."),
        (was, is) => format!("{what}: {is} of the links that are meant to hold now do, {was} did before."),
    };
    let to = format!("/family/{}", escape(&family.name));
    Ok(asked.done(&to, &says))
}

fn hex(digit: u8) -> char {
    char::from_digit(u32::from(digit), 16).unwrap_or('0').to_ascii_uppercase()
}

/// A name as one segment of an address.
pub fn escape(name: &str) -> String {
    let mut out = String::new();
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.extend(['%', hex(byte >> 4), hex(byte & 15)]);
        }
    }
    out
}
