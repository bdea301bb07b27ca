//! What is wished in the forms of refits, and what was wrong with it.

use pages::fault::sentence;
use pages::form::Typed;
use register::refit::Wish;
use register::register::Register;
use register::scene::Scene;
use register::value::SecretMark;
use store::keys::SecretText;

use super::devices::sentence as about_field;
use super::error::WebError;
use super::state::Form;
use crate::refits::{self as work, NoRefit, Secrets};
use crate::workshop::Workshop;

/// Why a form isn't taken.
pub(super) enum Refused {
    /// Fields are wrong: their names (empty for the whole form), and what is.
    Fields(Vec<(String, String)>),
    /// Something else.
    Web(WebError),
}

pub(super) fn wrong(name: &str, says: impl Into<String>) -> Refused {
    Refused::Fields(vec![(name.to_owned(), about_field(says.into()))])
}

impl From<WebError> for Refused {
    fn from(error: WebError) -> Refused {
        Refused::Web(error)
    }
}

impl From<NoRefit> for Refused {
    fn from(error: NoRefit) -> Refused {
        match error {
            NoRefit::Missing(_) | NoRefit::None | NoRefit::Several(_) => {
                Refused::Web(WebError::no_such("refit"))
            }
            NoRefit::Workshop(error) => Refused::Web(error.into()),
            other => Refused::Fields(vec![(String::new(), sentence(&other.to_string()))]),
        }
    }
}

impl From<NoRefit> for WebError {
    fn from(error: NoRefit) -> WebError {
        match Refused::from(error) {
            Refused::Web(error) => error,
            Refused::Fields(list) => WebError::Bad(list.into_iter().map(|(_, says)| says).collect()),
        }
    }
}

/// The link secret that was typed, for wishes that need it.
pub(super) struct TypedSecret<'a> {
    workshop: &'a mut Workshop,
    secret: Option<String>,
}

impl<'a> TypedSecret<'a> {
    /// The one in a form's field `secret`; as typed, for spaces at its ends belong to it.
    pub fn of(workshop: &'a mut Workshop, form: &Form) -> TypedSecret<'a> {
        let secret = form.get("secret").filter(|text| !text.is_empty()).map(str::to_owned);
        TypedSecret { workshop, secret }
    }
}

impl Secrets for TypedSecret<'_> {
    fn typed(&mut self) -> Result<SecretMark, String> {
        let Some(secret) = &self.secret else {
            return Err("needs the new link secret: type it in its own field".to_owned());
        };
        self.workshop.fingerprint(&SecretText::new(secret)).map_err(|error| error.to_string())
    }
}

/// Whether a line of wishes is about a link secret, so that somebody may have typed the secret
/// itself into it.
fn of_secret(line: &str) -> bool {
    line.split_once('=').is_some_and(|(key, _)| key.trim().eq_ignore_ascii_case("secret"))
}

/// Stands for a typed secret where only the rest of a line is looked at.
struct AnySecret;

impl Secrets for AnySecret {
    fn typed(&mut self) -> Result<SecretMark, String> {
        Ok(SecretMark::Blank)
    }
}

/// Whether a line says only where a link secret goes.
fn names_where(scene: &Scene, line: &str) -> bool {
    work::wish(scene, line.trim(), &mut AnySecret).is_ok()
}

/// A word that can't be read, for the field `more`.
fn about_word(scene: &Scene, word: &str, says: &str) -> String {
    if of_secret(word) && !names_where(scene, word) {
        return "A line `secret=` names what gets the new link secret, such as secret=T1,R3; the secret itself goes into its own field. That line was taken out.".to_owned();
    }
    format!("`{}` {}.", word.chars().take(60).collect::<String>(), says.trim_end_matches('.'))
}

/// What to show again of a form, without what may be a link secret.
pub(super) fn typed(register: &Register, form: &Form, key: &str, errors: Vec<(String, String)>) -> Typed {
    let scene = Scene::new(register);
    let mut typed = without_secret(form).typed(key, errors);
    for (name, value) in &mut typed.values {
        if name == "more" {
            let lines = value.lines().filter(|line| !of_secret(line) || names_where(&scene, line));
            *value = lines.collect::<Vec<_>>().join("\n");
        }
    }
    typed
}

/// A form without what may be a link secret.
pub(super) fn without_secret(form: &Form) -> Form {
    Form(form.0.iter().filter(|(name, _)| name != "secret" && name != "token").cloned().collect())
}

/// Reads wishes, each with the field that it was typed in.
pub(super) fn read(
    register: &Register,
    words: &[(&str, String)],
    secrets: &mut dyn Secrets,
) -> Result<Vec<Wish>, Refused> {
    let scene = Scene::new(register);
    let mut errors: Vec<(String, String)> = Vec::new();
    for (field, word) in words {
        if let Err(says) = work::wish(&scene, word, secrets)
            && !errors.iter().any(|(have, _)| have == field)
        {
            let says = if *field == "more" { about_word(&scene, word, &says) } else { about_field(says) };
            errors.push(((*field).to_owned(), says));
        }
    }
    if !errors.is_empty() {
        return Err(Refused::Fields(errors));
    }
    let all: Vec<String> = words.iter().map(|(_, word)| word.clone()).collect();
    work::wishes(&scene, &all, secrets).map_err(|error| match error {
        NoRefit::Word { word, says } => wrong("more", about_word(&scene, &word, &says)),
        other => other.into(),
    })
}

/// The lines of the field `more`.
pub(super) fn more(form: &Form) -> Vec<(&'static str, String)> {
    let lines = form.get("more").unwrap_or_default().lines();
    lines.map(str::trim).filter(|line| !line.is_empty()).map(|line| ("more", line.to_owned())).collect()
}

/// What is wished, as words, each with the field that it came from.
pub(super) fn words(form: &Form) -> Result<Vec<(&'static str, String)>, Refused> {
    let mut all: Vec<(&str, String)> = Vec::new();
    let mut errors: Vec<(String, String)> = Vec::new();
    let mut bad = |name: &str, says: &str| errors.push((name.to_owned(), says.to_owned()));
    if let Some(to) = form.filled("to") {
        all.push(("to", format!("to={to}")));
    }
    if let Some(family) = form.filled("newest") {
        all.push(("newest", format!("newest={family}")));
    }
    if form.get("pairs") == Some("1") {
        all.push(("pairs", "pairs=all".to_owned()));
    }
    let more = more(form);
    let typed = form.get("secret").is_some_and(|text| !text.is_empty());
    let blank = form.get("blank") == Some("1");
    match form.filled("secret_on") {
        Some(_) if typed && blank => {
            bad("secret", "A secret is typed here, and it is ticked to be cleared: only one can be.");
        }
        Some(on) if typed => all.push(("secret_on", format!("secret={on}"))),
        Some(on) if blank => all.push(("secret_on", format!("clear-secret={on}"))),
        Some(_) => bad("secret", "Type the new link secret, or tick that it is cleared."),
        None if blank || typed && !more.iter().any(|(_, line)| of_secret(line)) => {
            bad("secret_on", "Say where the link secret goes; it has to be typed again.");
        }
        None => {}
    }
    let changes = !all.is_empty();
    match (form.filled("count"), form.filled("minutes")) {
        (Some(count), minutes) => {
            all.push(("count", format!("evenings={count}x{}", minutes.unwrap_or("120"))));
        }
        (None, Some(_)) => bad("count", "Say how many evenings, or leave out how long each is."),
        (None, None) => {}
    }
    if let Some(most) = form.filled("grounded") {
        all.push(("grounded", format!("grounded={most}")));
    }
    match (form.filled("fly"), form.filled("fly_after")) {
        (Some(aircraft), Some(after)) => all.push(("fly_after", format!("fly={aircraft}:{after}"))),
        (Some(_), None) => bad("fly_after", "Say after which evening it must fly; 0 is before the first."),
        (None, Some(_)) => bad("fly", "Choose the aircraft that must fly, or leave out after which evening."),
        (None, None) => {}
    }
    if errors.is_empty() && !changes && more.is_empty() {
        let says = "Say what is to change: a version, a family, a link secret, or that everything links.";
        errors.push((String::new(), says.to_owned()));
    }
    all.extend(more);
    if errors.is_empty() { Ok(all) } else { Err(Refused::Fields(errors)) }
}
