//! What the server holds between requests.

use std::collections::{BTreeMap, HashMap};
use std::convert::Infallible;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{StatusCode, Uri};
use axum::response::{Html, IntoResponse as _, Redirect, Response};
use pages::Markup;
use pages::form::Typed;
use pages::site::{Mood, Notice, Site};

use super::error::{self, WebError};
use super::guard::Door;
use super::imports::Job;
use super::refits::PlanJob;
use super::share::Sharing;
use crate::workshop::{Workshop, now, workshop_name};
use register::fleet::Fleet;
use register::register::Register;

/// The state behind both doors.
pub struct App {
    workshop: Mutex<Workshop>,
    token: String,
    notices: Mutex<HashMap<String, Notice>>,
    pub(super) sharing: Mutex<Sharing>,
    pub(super) jobs: Mutex<BTreeMap<String, Arc<Mutex<Job>>>>,
    pub(super) plans: Mutex<BTreeMap<String, Arc<Mutex<PlanJob>>>>,
}

/// A fresh random word of 32 hexadecimal digits.
pub fn random_word() -> String {
    let mut bytes = [0u8; 16];
    // Without randomness there is no safe token; the system has never been seen to fail here.
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    format!("{:032x}", u128::from_le_bytes(bytes))
}

/// Locks, also after another thread panicked: every change of the workshop is one
/// transaction, so what it holds is whole.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// How many notices wait to be shown at most.
const NOTICES: usize = 200;

impl App {
    /// The state around an open workshop.
    pub fn new(workshop: Workshop) -> App {
        App {
            workshop: Mutex::new(workshop),
            token: random_word(),
            notices: Mutex::default(),
            sharing: Mutex::default(),
            jobs: Mutex::default(),
            plans: Mutex::default(),
        }
    }

    /// Uses the workshop outside a request.
    pub fn use_workshop<T>(&self, work: impl FnOnce(&mut Workshop) -> T) -> T {
        work(&mut lock(&self.workshop))
    }

    fn keep_notice(&self, notice: Notice) -> String {
        let mut notices = lock(&self.notices);
        if notices.len() >= NOTICES {
            notices.clear();
        }
        let key = random_word();
        notices.insert(key.clone(), notice);
        key
    }
}

/// What a workshop adds up to at one moment.
pub struct View {
    register: Arc<Register>,
    fleet: Arc<Fleet>,
}

impl View {
    /// That of a workshop now.
    pub fn of(workshop: &Workshop) -> View {
        View { register: workshop.register().clone(), fleet: workshop.fleet().clone() }
    }

    /// What the logbook adds up to.
    pub fn register(&self) -> &Arc<Register> {
        &self.register
    }

    /// The fleet, viewed.
    pub fn fleet(&self) -> &Arc<Fleet> {
        &self.fleet
    }

    /// The workshop's name.
    pub fn name(&self) -> &str {
        workshop_name(&self.register)
    }
}

/// One request: who asks, by which door, for what.
pub struct Asked {
    /// The state.
    pub app: Arc<App>,
    /// The door.
    pub door: Door,
    /// The path.
    pub path: String,
    /// The query, decoded.
    pub query: Vec<(String, String)>,
}

/// Decodes `a=1&b=2`.
pub fn decode(text: &str) -> Vec<(String, String)> {
    axum::extract::Query::<Vec<(String, String)>>::try_from_uri(
        &Uri::builder().path_and_query(format!("/?{text}")).build().unwrap_or_default(),
    )
    .map(|query| query.0)
    .unwrap_or_default()
}

impl Asked {
    /// A request for an address.
    pub fn of(app: Arc<App>, door: Door, uri: &Uri) -> Asked {
        let query = uri.query().map(decode).unwrap_or_default();
        Asked { app, door, path: uri.path().to_owned(), query }
    }

    /// A value of the query; empty ones count as missing.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.query
            .iter()
            .find(|(have, value)| have == name && !value.is_empty())
            .map(|(_, value)| value.as_str())
    }

    /// The page number, from 1.
    pub fn page_number(&self) -> u64 {
        self.get("page").and_then(|page| page.parse().ok()).unwrap_or(1).clamp(1, 1_000_000_000)
    }

    /// What every page says.
    pub fn site(&self, workshop_name: Option<&str>) -> Site {
        let notice = self.get("notice").and_then(|key| lock(&self.app.notices).remove(key));
        Site {
            workshop_name: workshop_name.unwrap_or_default().to_owned(),
            shared: lock(&self.app.sharing).is_on(),
            is_host: self.door == Door::Loopback,
            form_token: self.app.token.clone(),
            now: now(),
            notice,
            path: self.path.clone(),
        }
    }

    /// Does some work with the workshop, up to date with what other programs wrote, off
    /// the threads that answer the network.
    pub async fn with<F>(self, work: F) -> Response
    where
        F: FnOnce(&Asked, &mut Workshop) -> Result<Response, WebError> + Send + 'static,
    {
        let done = tokio::task::spawn_blocking(move || {
            let app = self.app.clone();
            let result = {
                let mut workshop = lock(&app.workshop);
                match workshop.refresh() {
                    Ok(()) => work(&self, &mut workshop),
                    Err(error) => Err(error.into()),
                }
            };
            result.unwrap_or_else(|error| error::page(&self, &error))
        });
        match done.await {
            Ok(response) => response,
            Err(_) => error::plain(StatusCode::INTERNAL_SERVER_ERROR, &WebError::Inside.to_string()),
        }
    }

    /// Answers from what the workshop adds up to now. The lock is given back before any
    /// of it is computed, so that a long answer keeps nobody waiting.
    pub async fn view<F>(self, work: F) -> Response
    where
        F: FnOnce(&Asked, &View) -> Result<Response, WebError> + Send + 'static,
    {
        let done = tokio::task::spawn_blocking(move || {
            let seen = {
                let mut workshop = lock(&self.app.workshop);
                workshop.refresh().map(|()| View::of(&workshop))
            };
            let result = seen.map_err(WebError::from).and_then(|view| work(&self, &view));
            result.unwrap_or_else(|error| error::page(&self, &error))
        });
        match done.await {
            Ok(response) => response,
            Err(_) => error::plain(StatusCode::INTERNAL_SERVER_ERROR, &WebError::Inside.to_string()),
        }
    }

    /// The same for a form: its token is checked first.
    pub async fn form<F>(self, form: Form, work: F) -> Response
    where
        F: FnOnce(&Asked, &mut Workshop, Form) -> Result<Response, WebError> + Send + 'static,
    {
        self.with(move |asked, workshop| {
            asked.check_token(&form)?;
            work(asked, workshop, form)
        })
        .await
    }

    /// Checks that a form was made by this server.
    pub fn check_token(&self, form: &Form) -> Result<(), WebError> {
        if form.get("token") == Some(&self.app.token) { Ok(()) } else { Err(WebError::Token) }
    }

    /// Goes to another page and says there what was done.
    pub fn done(&self, to: &str, says: &str) -> Response {
        self.says(to, Mood::Good, says)
    }

    /// Goes to another page and says there what was not done.
    pub fn says(&self, to: &str, mood: Mood, says: &str) -> Response {
        let key = self.app.keep_notice(Notice { mood, text: says.to_owned() });
        let (to, anchor) = to.split_once('#').map_or((to, String::new()), |(to, a)| (to, format!("#{a}")));
        let and = if to.contains('?') { '&' } else { '?' };
        Redirect::to(&format!("{to}{and}notice={key}{anchor}")).into_response()
    }
}

impl FromRequestParts<Arc<App>> for Asked {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Asked, Infallible> {
        // A request that came through no known door is taken for one from outside.
        let door = parts.extensions.get::<Door>().copied().unwrap_or(Door::Shared);
        Ok(Asked::of(app.clone(), door, &parts.uri))
    }
}

impl FromRequest<Arc<App>> for Form {
    type Rejection = Response;

    async fn from_request(request: Request, app: &Arc<App>) -> Result<Form, Response> {
        let door = request.extensions().get::<Door>().copied().unwrap_or(Door::Shared);
        let asked = Asked::of(app.clone(), door, request.uri());
        match axum::Form::<Vec<(String, String)>>::from_request(request, app).await {
            Ok(axum::Form(fields)) => Ok(Form(fields)),
            Err(refused) if refused.status() == StatusCode::PAYLOAD_TOO_LARGE => {
                let says =
                    "What was sent is larger than a form may be (1 MiB). Shorten it, or import it as a file.";
                let markup = pages::error::page(&asked.site(None), 413, says, &[]);
                Err((StatusCode::PAYLOAD_TOO_LARGE, Html(markup.into_string())).into_response())
            }
            Err(_) => {
                let error = WebError::Bad(
                    "What was sent is no form of this program; go back and send it again.".to_owned(),
                );
                Err(error::page(&asked, &error))
            }
        }
    }
}

/// A page as an answer.
pub fn html(markup: Markup) -> Response {
    Html(markup.into_string()).into_response()
}

/// A page that shows a form again with what was wrong: status 422.
pub fn html_wrong(markup: Markup) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, Html(markup.into_string())).into_response()
}

/// A form that was sent.
#[derive(Clone, Default)]
pub struct Form(pub Vec<(String, String)>);

impl Form {
    /// A field, trimmed; `None` when it wasn't sent.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(have, _)| have == name).map(|(_, value)| value.as_str())
    }

    /// A field that says something.
    pub fn filled(&self, name: &str) -> Option<&str> {
        self.get(name).map(str::trim).filter(|value| !value.is_empty())
    }

    /// One line more in a field of several.
    pub fn add_line(&mut self, name: &str, line: &str) {
        match self.0.iter_mut().find(|(have, _)| have == name) {
            Some((_, text)) if !text.trim().is_empty() => *text = format!("{}\n{line}", text.trim_end()),
            Some((_, text)) => line.clone_into(text),
            None => self.0.push((name.to_owned(), line.to_owned())),
        }
    }

    /// Every value of a field.
    pub fn all(&self, name: &str) -> Vec<&str> {
        self.0.iter().filter(|(have, _)| have == name).map(|(_, value)| value.as_str()).collect()
    }

    /// What to show again when something was wrong; what may be a secret is left out,
    /// whatever else was chosen beside it.
    pub fn typed(&self, form: &str, errors: Vec<(String, String)>) -> Typed {
        let refused = !errors.is_empty();
        let secret = self.get("secret_is").is_some() || (refused && self.get("field") == Some("secret"));
        let values = self
            .0
            .iter()
            .filter(|(name, _)| name != "token" && name != "form" && !(secret && name == "value"))
            .filter(|(name, _)| !(refused && name == "secret"))
            .cloned()
            .collect();
        Typed { form: form.to_owned(), values, errors }
    }
}
