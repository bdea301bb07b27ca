//! Every failure becomes a page that says what to do next.

use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use pages::sheet::WayOn;
use register::fleet::NotFound;

use super::state::Asked;
use crate::workshop::WorkshopError;

/// Why a page can't be given.
#[derive(Debug, thiserror::Error)]
pub enum WebError {
    /// There is no such thing.
    #[error("{0}")]
    Missing(String),
    /// What was sent makes no sense.
    #[error("{0}")]
    Bad(String),
    /// The form is from before a restart, or from elsewhere.
    #[error(
        "This form is no longer valid: the server was started again since. Go back, load the page anew and send it once more."
    )]
    Token,
    /// The workshop.
    #[error(transparent)]
    Workshop(#[from] WorkshopError),
    /// Something went wrong here.
    #[error("Something went wrong in Holdfast itself. Nothing was lost; try again, or restart it.")]
    Inside,
}

impl From<store::StoreError> for WebError {
    fn from(error: store::StoreError) -> WebError {
        WebError::Workshop(error.into())
    }
}

impl From<NotFound> for WebError {
    fn from(error: NotFound) -> WebError {
        WebError::Missing(error.to_string())
    }
}

impl WebError {
    /// Nothing of this sort has this id.
    pub fn no_such(what: &str) -> WebError {
        WebError::Missing(format!("There is no such {what} in this workshop."))
    }

    /// The status it is answered with.
    pub fn status(&self) -> StatusCode {
        match self {
            WebError::Missing(_) => StatusCode::NOT_FOUND,
            WebError::Bad(_) => StatusCode::BAD_REQUEST,
            WebError::Token => StatusCode::FORBIDDEN,
            WebError::Workshop(_) | WebError::Inside => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

/// A refusal before any page is made: nothing of the workshop stands on it.
pub fn plain(status: StatusCode, says: &str) -> Response {
    let page = maud::html! {
        (maud::DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { "Refused · Holdfast" } }
            body { main { h1 { "Refused" } p { (says) } p { a href="/" { "To today's page" } } } }
        }
    };
    (status, Html(page.into_string())).into_response()
}

/// An error as a page.
pub fn page(asked: &Asked, error: &WebError) -> Response {
    let site = asked.site(None);
    let ways = [WayOn { href: "/".to_owned(), label: "To today's page".to_owned() }];
    let markup = pages::error::page(&site, error.status().as_u16(), &error.to_string(), &ways);
    (error.status(), Html(markup.into_string())).into_response()
}

/// Nothing stands at this address.
pub async fn not_found(asked: Asked) -> Response {
    page(&asked, &WebError::Missing("There is no page at this address.".to_owned()))
}
