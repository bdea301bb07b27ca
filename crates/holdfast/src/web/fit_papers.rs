//! Cards and labels: as pages for the printer, and as PDF.

use axum::extract::Path;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse as _, Response};
use fitting::card::{Card, Label, Size};
use pages::fit::labels::{self as labels_page, Choose};
use pages::fit::paper::{self as card_page, CardSheet};
use register::fleet::find;
use register::id::DeviceId;
use register::scene::Scene;

use super::error::WebError;
use super::fit::{id_of, transmitter};
use super::state::{Asked, View, html, lock};
use crate::fittings::{self, Which};

/// So many labels are made at once.
const MOST_LABELS: usize = 240;

/// Where the workshop's pages are, for those in the room.
fn place(asked: &Asked, view: &View) -> Option<String> {
    let shared = lock(&asked.app.sharing).addresses().first().map(|one| one.trim_end_matches('/').to_owned());
    shared.or_else(|| fittings::address(view.register()))
}

struct Wanted {
    id: DeviceId,
    which: Which,
    size: Size,
    with: Option<DeviceId>,
}

fn wanted(asked: &Asked, view: &View, id: &str) -> Result<Wanted, WebError> {
    let which = match asked.get("of") {
        None => Which::Field,
        Some(word) => Which::from_word(word)
            .ok_or_else(|| WebError::Bad("The card in this address must be bench or field.".to_owned()))?,
    };
    let size = match asked.get("size") {
        None if which == Which::Field => Size::A6,
        None => Size::A4,
        Some(word) => Size::from_word(word)
            .ok_or_else(|| WebError::Bad("The size in this address must be a4 or a6.".to_owned()))?,
    };
    Ok(Wanted { id: id_of(id)?, which, size, with: transmitter(view, asked.get("t"))? })
}

fn card(asked: &Asked, view: &View, wanted: &Wanted) -> Result<Card, WebError> {
    let address = place(asked, view);
    let card = fittings::card(
        view.register(),
        view.fleet(),
        wanted.which,
        wanted.id,
        wanted.with,
        address.as_deref(),
    )?;
    Ok(card)
}

fn query(wanted: &Wanted, which: Which, size: Size) -> String {
    let with = wanted.with.map(|one| format!("&t={one}")).unwrap_or_default();
    format!("?of={}&size={}{with}", which.word(), size.word())
}

/// `/device/{id}/card?of=bench|field&size=a4|a6&t=T`.
pub async fn on_page(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, view| {
            let wanted = wanted(asked, view, &id)?;
            let card = card(asked, view, &wanted)?;
            let here = format!("/device/{}/card", wanted.id);
            let mut ways = Vec::new();
            for (which, name) in [(Which::Bench, "Bench card"), (Which::Field, "Field card")] {
                for size in Size::ALL {
                    if which != wanted.which || size != wanted.size {
                        let says = format!("{name} on {}", size.word().to_uppercase());
                        ways.push((format!("{here}{}", query(&wanted, which, size)), says));
                    }
                }
            }
            let with = wanted.with.map(|one| format!("?t={one}")).unwrap_or_default();
            ways.push((format!("/device/{}/commission{with}", wanted.id), "Commissioning".to_owned()));
            let pdf = format!("{here}.pdf{}", query(&wanted, wanted.which, wanted.size));
            let sheet = CardSheet { card: &card, size: wanted.size, pdf: &pdf, ways: &ways };
            Ok(html(card_page::page(&asked.site(Some(view.name())), &sheet)))
        })
        .await
}

fn pdf(name: &str, made: Result<Vec<u8>, paper::PaperError>) -> Result<Response, WebError> {
    let bytes = made.map_err(|error| WebError::Bad(format!("There is no PDF: {error}.")))?;
    let named = format!("attachment; filename=\"{name}.pdf\"");
    Ok(([(CONTENT_TYPE, "application/pdf".to_owned()), (CONTENT_DISPOSITION, named)], bytes).into_response())
}

/// `/device/{id}/card.pdf`, asked as [`on_page`].
pub async fn as_pdf(asked: Asked, Path(id): Path<String>) -> Response {
    asked
        .view(move |asked, view| {
            let wanted = wanted(asked, view, &id)?;
            let card = card(asked, view, &wanted)?;
            pdf(&format!("{}-card", wanted.which.word()), paper::cards(&[card], wanted.size))
        })
        .await
}

/// The devices that an address names, by id or what they are called.
fn named(asked: &Asked, view: &View) -> Result<Vec<DeviceId>, WebError> {
    let scene = Scene::new(view.register());
    let all = asked.query.iter().filter(|(name, value)| name == "d" && !value.is_empty());
    let mut out = Vec::new();
    for (_, name) in all.take(MOST_LABELS) {
        let id = match name.parse() {
            Ok(id) => id,
            Err(_) => find(&scene, name, None)?,
        };
        let id = view.register().canonical(id);
        if !out.contains(&id) {
            out.push(id);
        }
    }
    Ok(out)
}

fn labels(asked: &Asked, view: &View) -> Result<Vec<Label>, WebError> {
    let mut devices = named(asked, view)?;
    if devices.is_empty() {
        let fleet = view.fleet();
        let receivers = fleet.receivers.iter().map(|one| one.card.id);
        devices =
            receivers.chain(fleet.transmitters.iter().map(|one| one.card.id)).take(MOST_LABELS).collect();
    }
    let address = place(asked, view);
    Ok(fittings::labels(view.register(), view.fleet(), &devices, address.as_deref())?)
}

/// `/labels?d=…`.
pub async fn choose(asked: Asked) -> Response {
    asked
        .view(|asked, view| {
            let fleet = view.fleet();
            let chosen = named(asked, view)?;
            let groups = [
                ("Receivers".to_owned(), fleet.receivers.iter().map(|one| one.card.clone()).collect()),
                ("Transmitters".to_owned(), fleet.transmitters.iter().map(|one| one.card.clone()).collect()),
                ("Aircraft".to_owned(), fleet.aircraft.iter().map(|one| one.card.clone()).collect()),
            ];
            let sheet = Choose { groups: &groups, chosen: &chosen, most: MOST_LABELS };
            Ok(html(labels_page::choose(&asked.site(Some(view.name())), &sheet)))
        })
        .await
}

fn query_of(asked: &Asked) -> String {
    let all: Vec<String> = asked
        .query
        .iter()
        .filter(|(name, value)| name == "d" && !value.is_empty())
        .take(MOST_LABELS)
        .map(|(_, value)| {
            format!("d={}", value.replace(|c: char| !c.is_ascii_alphanumeric() && c != '-', ""))
        })
        .collect();
    if all.is_empty() { String::new() } else { format!("?{}", all.join("&")) }
}

/// `/labels/print?d=…`.
pub async fn print(asked: Asked) -> Response {
    asked
        .view(|asked, view| {
            let labels = labels(asked, view)?;
            let pdf = format!("/labels.pdf{}", query_of(asked));
            Ok(html(labels_page::print(&asked.site(Some(view.name())), &labels, &pdf)))
        })
        .await
}

/// `/labels.pdf?d=…`.
pub async fn labels_pdf(asked: Asked) -> Response {
    asked.view(|asked, view| pdf("labels", paper::labels(&labels(asked, view)?))).await
}
