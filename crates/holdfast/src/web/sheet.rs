//! The link sheet: whose link, and what it comes to.

use std::sync::OnceLock;

use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse as _, Redirect, Response};
use link::adviser;
use link::law::Limits;
use link::sheet::{Setting, SheetError};
use link::wish::{Gear, WISHES};
use pages::form::Typed;
use pages::radio::{self as sheets, SheetPage};
use pages::sheet::WayOn;
use register::family::{read, shipped};
use register::field::Sort;
use register::fleet::{self, Fleet};
use register::id::DeviceId;
use register::radio::{Meant, NoGear, Suggested};
use register::register::Register;
use register::scene::Scene;
use register::verdict;
use register::view::Card;

use super::error::{self, WebError};
use super::families::escape;
use super::state::{Asked, View, html, html_wrong};
use crate::radio::{self, About, NoQuestion, Subject};

/// What of an address names the ends, where a device has several.
const ENDS: [&str; 3] = ["transmitter_end", "receiver_end", "band"];

/// How many other links a sheet leads to.
const MOST_WAYS: usize = 8;

/// How many devices a list to choose from holds.
const CHOICES: usize = 2_000;

/// The limits of the regions, read once.
fn limits() -> &'static Limits {
    static LIMITS: OnceLock<Limits> = OnceLock::new();
    LIMITS.get_or_init(Limits::shipped)
}

fn way(href: impl Into<String>, label: impl Into<String>) -> WayOn {
    WayOn { href: href.into(), label: label.into() }
}

/// Whether only the answer is asked for: the script puts it into a page that is there.
pub fn only_answer(asked: &Asked) -> bool {
    asked.get("part") == Some("answer")
}

/// What was typed into a form that asks: the query without what steers the page.
pub fn wishes(asked: &Asked, but: &[&str]) -> Vec<(String, String)> {
    let steers = |key: &str| ["part", "notice"].contains(&key) || but.contains(&key);
    let typed = asked.query.iter().filter(|(key, _)| !steers(key));
    typed.map(|(key, text)| (key.clone(), minus(text))).collect()
}

/// Pages write a minus as a minus; before a digit it is read as one, too.
fn minus(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let number = chars.peek().is_some_and(|next| next.is_ascii_digit() || *next == '.');
        out.push(if c == '\u{2212}' && number { '-' } else { c });
    }
    out
}

/// What was typed for inputs that there are, and a sentence about those that there aren't.
pub fn known(
    values: Vec<(String, String)>,
    inputs: &[link::calc::Input],
) -> (Vec<(String, String)>, Option<String>) {
    const NAMED: usize = 5;
    let (known, other): (Vec<_>, Vec<_>) =
        values.into_iter().partition(|(key, _)| inputs.iter().any(|input| input.key == key));
    let mut keys: Vec<String> = Vec::new();
    for (key, _) in other {
        let key: String = key.chars().take(40).collect();
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    let more = keys.len().saturating_sub(NAMED);
    keys.truncate(NAMED);
    let named: Vec<String> = keys.iter().map(|key| format!("“{key}”")).collect();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let says = (!named.is_empty()).then(|| {
        format!("The address names inputs that there aren't here: {}{more}. Take them out.", named.join(", "))
    });
    (known, says)
}

/// A page, or the part of one that only answers: 422 when something that was typed can't be
/// used, else 200.
pub fn answered(markup: pages::Markup, wrong: bool) -> Response {
    if wrong { html_wrong(markup) } else { html(markup) }
}

/// `/sheet`: whose link?
pub async fn choose(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            if let Some(family) = asked.get("family") {
                let band = asked.get("band").map(|band| format!("/{}", escape(band))).unwrap_or_default();
                return Ok(Redirect::to(&format!("/sheet/family/{}{band}", escape(family))).into_response());
            }
            let scene = Scene::new(&register);
            let mut typed = Typed { form: sheets::CHOOSE.to_owned(), ..Typed::none() };
            let mut find = |name: &str, sorts: &[Sort]| {
                let (_, words) = asked.query.iter().find(|(have, _)| have == name)?;
                if words.trim().is_empty() {
                    typed.errors.push((name.to_owned(), "Choose one from the list.".to_owned()));
                    return None;
                }
                let found: Vec<_> =
                    sorts.iter().map(|sort| fleet::find(&scene, words, Some(*sort))).collect();
                if let Some(id) = found.iter().find_map(|one| one.as_ref().ok()) {
                    typed.values.push((name.to_owned(), id.to_string()));
                    return Some(*id);
                }
                let why = found.iter().find_map(|one| one.as_ref().err());
                let says = why.map_or_else(String::new, super::devices::not_found);
                typed.values.push((name.to_owned(), words.clone()));
                typed.errors.push((name.to_owned(), says));
                None
            };
            let transmitter = find("transmitter", &[Sort::Transmitter]);
            let other = find("other", &[Sort::Aircraft, Sort::Receiver]);
            if let (Some(transmitter), Some(other)) = (transmitter, other) {
                return Ok(Redirect::to(&format!("/sheet/{transmitter}/{other}")).into_response());
            }
            let wrong = !typed.errors.is_empty();
            let page = choices(&asked.site(Some(workshop.name())), &register, &fleet, &typed);
            Ok(answered(page, wrong))
        })
        .await
}

fn choices(site: &pages::site::Site, register: &Register, fleet: &Fleet, typed: &Typed) -> pages::Markup {
    let one = |card: &Card| (card.id.to_string(), card.full());
    let transmitters: Vec<_> = fleet.transmitters.iter().take(CHOICES).map(|view| one(&view.card)).collect();
    let aircraft = fleet.aircraft.iter().map(|view| one(&view.card));
    let receivers = fleet.receivers.iter().map(|view| one(&view.card));
    let others: Vec<_> = aircraft.chain(receivers).take(CHOICES).collect();
    sheets::choose(site, &transmitters, &others, &families(register), typed)
}

/// Every family with the names of its bands: the workshop's own, then those that come with
/// the program.
fn families(register: &Register) -> Vec<(String, Vec<String>)> {
    let starters = shipped::starters().iter().filter_map(|(file, text)| read::read(file, text).ok());
    let known = register.families().filter_map(|(_, used)| used.family.as_deref().cloned());
    let mut families: Vec<(String, Vec<String>)> = Vec::new();
    for family in known.chain(starters) {
        if !families.iter().any(|(name, _)| name.eq_ignore_ascii_case(&family.name)) {
            families.push((family.name, family.bands.into_iter().map(|band| band.name).collect()));
        }
    }
    families
}

/// `/sheet/{transmitter}/{other}`; the other is a receiver or an aircraft.
pub async fn of_link(asked: Asked, Path((transmitter, other)): Path<(String, String)>) -> Response {
    asked
        .view(move |asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let id = |text: &str| {
                let id = text.parse::<DeviceId>().map_err(|_| WebError::no_such("device"))?;
                Ok::<_, WebError>(register.canonical(id))
            };
            let (transmitter, other) = (id(&transmitter)?, id(&other)?);
            let meant = Meant {
                transmitter_end: asked.get(ENDS[0]),
                receiver_end: asked.get(ENDS[1]),
                band: asked.get(ENDS[2]),
            };
            match radio::by_ids(&register, &fleet, transmitter, other, meant, limits()) {
                Ok(subject) => {
                    let action = format!("/sheet/{transmitter}/{other}");
                    let others = others(&register, &fleet, (transmitter, other), &subject);
                    Ok(answer(asked, workshop, subject, action, &others))
                }
                Err(why) => gap(asked, workshop, (transmitter, other), &why),
            }
        })
        .await
}

/// The links beside this one: on another band of the same devices, and to other receivers
/// aboard.
fn others(
    register: &Register,
    fleet: &Fleet,
    (transmitter, other): (DeviceId, DeviceId),
    subject: &Subject,
) -> Vec<WayOn> {
    let About::Link { receiver, aircraft, .. } = &subject.about else { return Vec::new() };
    let gear = &subject.found.gear;
    let mut ways: Vec<WayOn> = Vec::new();
    let Some(view) = fleet.receiver(receiver.id) else { return ways };
    for end in &view.ends {
        let Some(band) = end.band.one() else { continue };
        let meant = Meant { receiver_end: Some(&end.end.end), ..Meant::default() };
        let there = radio::by_ids(register, fleet, transmitter, receiver.id, meant, limits());
        let Ok(there) = there else { continue };
        let known = ways.iter().any(|way| way.label.ends_with(&there.found.gear.band));
        if there.found.gear.band != gear.band && !known {
            ways.push(way(
                format!("/sheet/{transmitter}/{}?{}={}", receiver.id, ENDS[1], escape(&end.end.end)),
                format!(
                    "The same link on {}",
                    if band.is_empty() { &end.end.end } else { &there.found.gear.band }
                ),
            ));
        }
    }
    if aircraft.as_ref().is_some_and(|aircraft| aircraft.id == other) {
        let aboard = fleet.fitted_in(other).filter(|one| one.card.id != receiver.id);
        ways.extend(aboard.take(MOST_WAYS).map(|one| {
            way(
                format!("/sheet/{transmitter}/{}", one.card.id),
                format!("The link to {}, aboard too", one.card.label()),
            )
        }));
    }
    ways
}

/// `/sheet/family/{name}?band=`: a family's gear, without a device.
pub async fn of_family(asked: Asked, Path(name): Path<String>) -> Response {
    let band = asked.get("band").unwrap_or_default().to_owned();
    family(asked, name, band).await
}

/// `/sheet/family/{name}/{band}`.
pub async fn of_band(asked: Asked, Path((name, band)): Path<(String, String)>) -> Response {
    family(asked, name, band).await
}

async fn family(asked: Asked, name: String, band: String) -> Response {
    asked
        .view(move |asked, workshop| {
            let register = workshop.register().clone();
            match radio::by_family(&register, &name, &band) {
                Ok(subject) => {
                    let gear = &subject.found.gear;
                    let action = format!("/sheet/family/{}/{}", escape(&gear.family), escape(&gear.band));
                    Ok(answer(asked, workshop, subject, action, &[]))
                }
                Err(why) => Ok(no_family(asked, workshop, &why)),
            }
        })
        .await
}

fn heading(about: &About, family: &str, band: &str) -> String {
    match about {
        About::Link { transmitter, aircraft: Some(aircraft), .. } => {
            format!("{} to {}", transmitter.full(), aircraft.full())
        }
        About::Link { transmitter, receiver, .. } => {
            format!("{} to {}", transmitter.full(), receiver.full())
        }
        About::Family => format!("{family}, {band}"),
    }
}

fn back(about: &About) -> (String, String) {
    match about {
        About::Link { transmitter, receiver, .. } => (
            format!("/link/{}/{}", transmitter.id, receiver.id),
            format!("Whether {} and {} link", transmitter.label(), receiver.label()),
        ),
        About::Family => ("/sheet".to_owned(), "Another link sheet".to_owned()),
    }
}

/// The answer to what was typed: the whole page, or only the part that changes.
fn answer(asked: &Asked, workshop: &View, subject: Subject, action: String, others: &[WayOn]) -> Response {
    let limits = limits();
    let (values, unknown) = known(wishes(asked, &["band", "form", ENDS[0], ENDS[1]]), WISHES);
    let gear = subject.found.gear.clone();
    if gear.modes.is_empty() {
        return without_modes(asked, workshop, &gear);
    }
    // A link's ends go along with everything that is asked of it; a family's band is in the path.
    let ends = if matches!(subject.about, About::Link { .. }) { &ENDS[..] } else { &[] };
    let kept: Vec<(String, String)> =
        ends.iter().filter_map(|key| Some(((*key).to_owned(), asked.get(key)?.to_owned()))).collect();
    let title = heading(&subject.about, &gear.family, &gear.band);
    let back = back(&subject.about);
    let said = |key: &str| values.iter().any(|(have, text)| have == key && !text.trim().is_empty());
    let suggested: Vec<(String, String, String)> = subject
        .found
        .suggested
        .iter()
        .filter(|one| !said(one.key))
        .map(|Suggested { key, text, from }| ((*key).to_owned(), text.clone(), from.clone()))
        .collect();
    let mut errors: Vec<(String, String)> = unknown.into_iter().map(|says| (String::new(), says)).collect();
    let question = match subject.ask(&values, limits) {
        Ok(question) => errors.is_empty().then_some(question),
        Err(NoQuestion::Wishes(wrong)) => {
            errors.extend(wrong.iter().map(|one| at_its_field(one.key(), &one.to_string())));
            None
        }
        Err(other) => {
            errors.push(at_its_field(None, &other.to_string()));
            None
        }
    };
    let sheet = question.as_ref().and_then(|question| {
        let asked = &question.asked;
        let sheet = link::sheet::sheet(&asked.setup, &asked.setting, &asked.others, limits);
        sheet.map_err(|why| errors.push(not_reckoned(&why))).ok()
    });
    // Too many settings to advise on leave the sheet as it is.
    let settings: Result<&[Setting], &SheetError> =
        question.as_ref().map_or(Ok(&[]), |question| question.asked.all.as_deref());
    let advice = match (&question, &sheet, settings) {
        (Some(question), Some(_), Ok(settings)) => {
            match adviser::advise(&question.asked.setup, settings, limits) {
                Ok(advice) => Some(Ok(advice)),
                Err(why @ SheetError::TooManySettings { .. }) => Some(Err(ended(&why.to_string()))),
                Err(why) => {
                    errors.push(not_reckoned(&why));
                    None
                }
            }
        }
        (Some(_), Some(_), Err(why)) => Some(Err(ended(&why.to_string()))),
        _ => None,
    };
    let wrong = !errors.is_empty();
    let typed = if values.is_empty() && !wrong {
        Typed::none()
    } else {
        Typed { form: sheets::FORM.to_owned(), values, errors }
    };
    let regions = limits.regions();
    let page = SheetPage {
        title,
        action,
        kept: &kept,
        gear: &gear,
        sheet: sheet.as_ref().filter(|_| !wrong),
        advice: advice.as_ref().map(|advice| advice.as_ref().map_err(String::as_str)),
        settings: settings.unwrap_or_default(),
        setup: question.as_ref().map(|question| &question.asked.setup),
        setting: question.as_ref().map(|question| &question.asked.setting),
        suggested: &suggested,
        others,
        back: Some(back),
        typed: &typed,
        regions: &regions,
    };
    let markup = if only_answer(asked) {
        sheets::answer(&page)
    } else {
        sheets::page(&asked.site(Some(workshop.name())), &page)
    };
    answered(markup, wrong)
}

/// Why a sheet can't be reckoned, at its field.
fn not_reckoned(why: &SheetError) -> (String, String) {
    let key = match why {
        SheetError::OutOfRange(range) => Some(range.name.as_str()),
        SheetError::Region(_) => Some("region"),
        SheetError::TooManySettings { .. } => None,
    };
    at_its_field(key, &why.to_string())
}

/// A family whose file has no packet modes on this band.
fn without_modes(asked: &Asked, workshop: &View, gear: &Gear) -> Response {
    let says = format!(
        "The file of {} has no packet modes on {}, so nothing can be reckoned yet. Add the modes from the manual to it.",
        gear.family, gear.band
    );
    let ways = [
        way(format!("/family/{}", escape(&gear.family)), format!("To the file of {}", gear.family)),
        way("/sheet", "Another link sheet"),
    ];
    html(pages::gap::page(&asked.site(Some(workshop.name())), "Link sheet", &says, &ways))
}

/// A sentence with its end.
fn ended(says: &str) -> String {
    if says.ends_with('.') { says.to_owned() } else { format!("{says}.") }
}

/// An error under the name of its field; one that belongs to none stands for the whole form.
fn at_its_field(key: Option<&str>, says: &str) -> (String, String) {
    let field = key.filter(|key| WISHES.iter().any(|wish| wish.key == *key)).unwrap_or_default();
    (field.to_owned(), ended(says))
}

/// A link that can't be reckoned yet becomes a page that says what to write down, and where.
fn gap(
    asked: &Asked,
    workshop: &View,
    ids: (DeviceId, DeviceId),
    why: &NoQuestion,
) -> Result<Response, WebError> {
    let fleet = workshop.fleet();
    let scene = Scene::new(workshop.register());
    let called =
        |id: DeviceId| scene.device(id).map_or_else(String::new, |d| register::view::card(d).label());
    let (transmitter, other) = (called(ids.0), called(ids.1));
    let site = asked.site(Some(workshop.name()));
    let record = |id: DeviceId, field: &str, label: &str| {
        way(format!("/device/{id}?part=end:main&field={field}#write"), format!("Write down {label}"))
    };
    let choose = way("/sheet", "Another link sheet");
    // The receiver that is meant, where an aircraft was named.
    let receiver = fleet.transmitter(ids.0).and_then(|view| {
        let fitted = fleet.fitted_in(ids.1).min_by_key(|r| verdict::best(view, r).ruling.rank());
        fleet.receiver(ids.1).or(fitted)
    });
    let receiver = receiver.map_or(ids.1, |view| view.card.id);
    let facts = |field: &str, label: &str| {
        vec![
            record(receiver, field, &format!("the {label} of {}", called(receiver))),
            record(ids.0, field, &format!("the {label} of {transmitter}")),
        ]
    };
    let (says, mut ways) = match why {
        NoQuestion::Gear(NoGear::Family { transmitter, receiver }) => {
            let mut ways = facts("family", "link family");
            ways.push(way("/families", "Link families and their files"));
            let says = format!(
                "The link family of neither {transmitter} nor {receiver} is known with its file, so nothing can be reckoned yet."
            );
            (says, ways)
        }
        NoQuestion::Gear(NoGear::Band { transmitter, receiver, family, have }) => {
            let says = format!(
                "The band of neither {transmitter} nor {receiver} is known, and {family} has {have}, so nothing can be reckoned yet."
            );
            (says, facts("band", "band"))
        }
        NoQuestion::NoReceiver(aircraft) => (
            format!("No receiver is known to be in {aircraft}, so there is no link to reckon yet."),
            vec![
                way("/receivers", "Say of a receiver that it is in there"),
                way("/device/new?sort=receiver", "A new receiver"),
                way(format!("/device/{}", ids.1), format!("To {other}")),
            ],
        ),
        NoQuestion::NoTransmitter(called) if !called.is_empty() => (
            format!(
                "{called} is no transmitter; a link sheet goes from a transmitter to an aircraft or a receiver."
            ),
            vec![],
        ),
        NoQuestion::NeitherReceiverNorAircraft(called) if !called.is_empty() => (
            format!(
                "{called} is neither a receiver nor an aircraft that is here, so there is no link to reckon."
            ),
            vec![way(format!("/device/{}", ids.1), format!("To {other}"))],
        ),
        NoQuestion::Gear(NoGear::Deaf { transmitter, receiver: called, rule }) => (
            format!(
                "{transmitter} and {called} can't hear each other, whatever the distance: they differ in {rule}. There is nothing to reckon."
            ),
            vec![way(
                format!("/link/{}/{receiver}", ids.0),
                format!("Whether {transmitter} and {called} link"),
            )],
        ),
        NoQuestion::Gear(NoGear::NoSuchEnds { transmitter, receiver, have }) => (
            format!("{transmitter} and {receiver} have no ends like that; they have {have}."),
            vec![way(format!("/sheet/{}/{}", ids.0, ids.1), "The link of the ends that go together best")],
        ),
        NoQuestion::Gear(other) => (ended(&other.to_string()), vec![way("/families", "Link families")]),
        _ => return Err(WebError::no_such("device")),
    };
    ways.push(choose);
    Ok(html(pages::gap::page(&site, "Link sheet", &says, &ways)))
}

/// The same for a family.
fn no_family(asked: &Asked, workshop: &View, why: &NoQuestion) -> Response {
    let site = asked.site(Some(workshop.name()));
    match why {
        NoQuestion::Gear(
            why @ (NoGear::NoSuchBand { family, have, .. } | NoGear::WhichBand { family, have }),
        ) => {
            let got = if let NoGear::NoSuchBand { got, .. } = why { got.as_str() } else { "" };
            let known = families(workshop.register());
            let mut ways: Vec<WayOn> = known
                .iter()
                .filter(|(name, _)| name.eq_ignore_ascii_case(family))
                .flat_map(|(_, bands)| bands)
                .map(|band| way(format!("/sheet/family/{}/{}", escape(family), escape(band)), band.as_str()))
                .collect();
            ways.push(way(format!("/family/{}", escape(family)), format!("The rules of {family}")));
            ways.push(way("/sheet", "Another link sheet"));
            let says = match (got, have.as_str()) {
                (_, "") => format!("The file of {family} names no band, so nothing can be reckoned yet."),
                ("", have) => format!("{family} has {have}: choose the band."),
                (got, have) => format!("{family} has no band {got}; it has {have}."),
            };
            html(pages::gap::page(&site, "Link sheet", &says, &ways))
        }
        NoQuestion::NoFamily { got, have } => {
            let ways = [
                way("/sheet", "Choose from the families"),
                way("/family/new", "Write a family down from its manual"),
            ];
            let says = format!("There is no link family {got}; there are {have}.");
            let page = pages::error::page(&site, 404, &says, &ways);
            (StatusCode::NOT_FOUND, Html(page.into_string())).into_response()
        }
        other => error::page(asked, &WebError::Missing(other.to_string())),
    }
}
