//! Pages about links: today, cords, lists, the matrix, one verdict.

use axum::extract::Path;
use axum::response::Response;
use pages::form::Typed;
use pages::link::LinkSheet;
use pages::sheet::{Cord, LinksQuery, LinksSheet, MatrixCell, MatrixRow, MatrixSheet};
use pages::site::Mood;
use register::field::Sort;
use register::fleet::{self, Fleet};
use register::id::DeviceId;
use register::rule::{Rule, Status, Verdict};
use register::scene::Scene;
use register::tally::{Filter, Tally};
use register::verdict::{self, Link};
use register::{check, mend as mends, plan, today as todays, view};

use super::devices::{self, reading_from};
use super::error::WebError;
use super::state::{Asked, Form, View, html, html_wrong};
use crate::workshop::now;

/// How many links a page of the list holds.
const PER_PAGE: usize = 50;
/// How many rows and columns of the matrix a page holds.
const MATRIX_ROWS: u64 = 50;
const MATRIX_COLUMNS: usize = 40;
/// How many cords are drawn or listed.
const CORDS: usize = 2_000;

/// `/`.
pub async fn today(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let answer = todays::today(&scene, &fleet, now());
            Ok(html(pages::today::page(&asked.site(Some(workshop.name())), &answer)))
        })
        .await
}

/// The wanted links of a fleet, in full, as many as are drawn.
pub fn wanted_links(scene: &Scene, fleet: &Fleet, all: bool) -> Vec<Link> {
    let pairs: Vec<(usize, usize)> = if all {
        (0..fleet.transmitters.len())
            .flat_map(|t| (0..fleet.receivers.len()).map(move |r| (t, r)))
            .take(CORDS)
            .collect()
    } else {
        fleet.wanted().into_iter().take(CORDS).collect()
    };
    pairs
        .into_iter()
        .map(|(t, r)| verdict::link(scene, &fleet.transmitters[t], &fleet.receivers[r]))
        .collect()
}

/// `/cords`.
pub async fn cords(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let all = asked.get("all").is_some();
            let cords: Vec<Cord> = wanted_links(&scene, &fleet, all).iter().map(Cord::of).collect();
            Ok(html(pages::cords::page(&asked.site(Some(workshop.name())), &cords, all)))
        })
        .await
}

struct Filtered {
    query: LinksQuery,
    filter: Filter,
    typed: Typed,
}

fn filtered(asked: &Asked, scene: &Scene, fleet: &Fleet) -> Filtered {
    let word = |name: &str| asked.get(name).unwrap_or_default().trim().to_owned();
    let query = LinksQuery {
        verdict: asked.get("verdict").and_then(Verdict::from_word),
        rule: asked.get("rule").and_then(Rule::from_word),
        transmitter: word("transmitter"),
        receiver: word("receiver"),
        aircraft: word("aircraft"),
        family: word("family"),
        wanted: asked.get("wanted").is_some(),
        page: asked.page_number(),
    };
    let mut typed = Typed::none();
    let unknown_word = |name: &str, known: bool| asked.get(name).is_some() && !known;
    for (name, is_known) in [("verdict", query.verdict.is_some()), ("rule", query.rule.is_some())] {
        if unknown_word(name, is_known) {
            "filter".clone_into(&mut typed.form);
            typed.values.clone_from(&asked.query);
            typed
                .errors
                .push((name.to_owned(), "There is no such choice; choose one from the list.".to_owned()));
        }
    }
    let mut find = |name: &str, words: &str, sort: Sort| {
        if words.is_empty() {
            return None;
        }
        match fleet::find(scene, words, Some(sort)) {
            Ok(id) => Some(id),
            Err(error) => {
                "filter".clone_into(&mut typed.form);
                typed.values.clone_from(&asked.query);
                typed.errors.push((name.to_owned(), super::devices::not_found(&error)));
                None
            }
        }
    };
    let place = |id: Option<DeviceId>| id.and_then(|id| fleet.place(id)).map(|(_, at)| at);
    let transmitter = find("transmitter", &query.transmitter, Sort::Transmitter);
    let receiver = find("receiver", &query.receiver, Sort::Receiver);
    let aircraft = find("aircraft", &query.aircraft, Sort::Aircraft);
    let status = if query.verdict == Some(Verdict::Unknown) { Status::Unknown } else { Status::Fail };
    let filter = Filter {
        verdict: query.verdict,
        reason: query.rule.map(|rule| (rule, status)),
        transmitter: place(transmitter),
        receiver: place(receiver),
        aircraft,
        family: Some(query.family.clone()).filter(|family| !family.is_empty()),
        wanted_only: query.wanted,
    };
    Filtered { query, filter, typed }
}

fn family_names(workshop: &View) -> Vec<String> {
    let mut names: Vec<String> = workshop
        .register()
        .families()
        .map(|(name, used)| {
            used.family.as_ref().map_or_else(|| name.to_owned(), |family| family.name.clone())
        })
        .collect();
    names.sort();
    names
}

/// `/links`.
pub async fn list(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let Filtered { query, filter, typed } = filtered(asked, &scene, &fleet);
            let tally = Tally::of(&fleet);
            let counts = tally.counts();
            let page = if typed.errors.is_empty() {
                tally.page(&fleet, &filter, (query.page - 1).saturating_mul(PER_PAGE as u64), PER_PAGE)
            } else {
                register::tally::Page::default()
            };
            let links: Vec<Link> = page
                .links
                .iter()
                .map(|(t, r)| verdict::link(&scene, &fleet.transmitters[*t], &fleet.receivers[*r]))
                .collect();
            let sheet = LinksSheet {
                query,
                total: page.total,
                of_all: counts.links,
                by_verdict: Verdict::ALL.map(|verdict| counts.verdict(verdict)),
                links: &links,
                per_page: PER_PAGE as u64,
                families: tally.families().into_iter().map(str::to_owned).collect(),
            };
            Ok(html(pages::links::page(&asked.site(Some(workshop.name())), &sheet, &typed)))
        })
        .await
}

/// `/matrix`.
pub async fn matrix(asked: Asked) -> Response {
    asked
        .view(|asked, workshop| {
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let Filtered { query, filter, typed } = filtered(asked, &scene, &fleet);
            let columns: Vec<usize> = match filter.transmitter {
                Some(only) => vec![only],
                None => (0..fleet.transmitters.len()).take(MATRIX_COLUMNS).collect(),
            };
            let takes = |link: (usize, usize)| {
                let (t, r) = (&fleet.transmitters[link.0], &fleet.receivers[link.1]);
                let best = verdict::best(t, r);
                let wanted = verdict::wanted(t, r);
                let family = || {
                    let (t, r) = (&t.ends[best.transmitter], &r.ends[best.receiver]);
                    register::rule::rules_for(t, r)
                        .map(|family| family.name.clone())
                        .or_else(|| t.family.one().cloned())
                        .or_else(|| r.family.one().cloned())
                };
                let taken = filter.verdict.is_none_or(|verdict| best.ruling.verdict() == verdict)
                    && filter.reason.is_none_or(|(rule, status)| best.ruling.status(rule) == Some(status))
                    && (!filter.wanted_only || wanted)
                    && filter.family.as_ref().is_none_or(|name| family().as_ref() == Some(name));
                taken.then(|| MatrixCell { verdict: best.ruling.verdict(), wanted })
            };
            let rows: Vec<usize> = (0..fleet.receivers.len())
                .filter(|at| filter.receiver.is_none_or(|only| only == *at))
                .filter(|at| {
                    filter.aircraft.is_none_or(|aircraft| fleet.receivers[*at].fitted_in() == Some(aircraft))
                })
                .collect();
            let first = usize::try_from((query.page - 1).saturating_mul(MATRIX_ROWS)).unwrap_or(usize::MAX);
            let shown = rows
                .iter()
                .skip(first)
                .take(usize::try_from(MATRIX_ROWS).unwrap_or(usize::MAX))
                .map(|r| {
                    let receiver = &fleet.receivers[*r];
                    MatrixRow {
                        receiver: receiver.card.clone(),
                        aircraft: receiver.fitted_in().and_then(|id| scene.device(id)).map(view::card),
                        cells: columns.iter().map(|t| takes((*t, *r))).collect(),
                    }
                })
                .collect();
            let sheet = MatrixSheet {
                query,
                transmitters: columns.iter().map(|t| fleet.transmitters[*t].card.clone()).collect(),
                transmitters_total: fleet.transmitters.len() as u64,
                rows: shown,
                rows_total: rows.len() as u64,
                per_page: MATRIX_ROWS,
                families: family_names(workshop),
            };
            Ok(html(pages::links::matrix(&asked.site(Some(workshop.name())), &sheet, &typed)))
        })
        .await
}

/// Two ids of an address.
fn pair(transmitter: &str, receiver: &str) -> Result<(DeviceId, DeviceId), WebError> {
    let id = |text: &str| text.parse::<DeviceId>().map_err(|_| WebError::no_such("device"));
    Ok((id(transmitter)?, id(receiver)?))
}

fn no_link() -> WebError {
    WebError::Missing("There is no link between these two: one must be a transmitter and one a receiver that the workshop still has.".to_owned())
}

fn link_page(
    asked: &Asked,
    workshop: &View,
    ids: (DeviceId, DeviceId),
    typed: &Typed,
) -> Result<pages::Markup, WebError> {
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let link = fleet.link(&scene, ids.0, ids.1).ok_or_else(no_link)?;
    let (Some(transmitter), Some(receiver)) =
        (fleet.transmitter(link.transmitter.id), fleet.receiver(link.receiver.id))
    else {
        return Err(WebError::Inside);
    };
    let checks = check::checks(&scene, transmitter, receiver, &link);
    let found = mends::mends(&scene, &fleet, transmitter, receiver, &link, now());
    let way =
        if link.verdict() == Verdict::Links { None } else { plan::gentle(&scene, &fleet, &link, now()) };
    let family = link.family.as_deref().and_then(|name| register.family(name)).cloned();
    let sheet = LinkSheet {
        link: &link,
        checks: &checks,
        mends: &found,
        plan: way.as_ref().map(|(plan, _)| plan),
        family: family.as_deref(),
    };
    Ok(pages::link::page(&asked.site(Some(workshop.name())), &scene, &fleet, &sheet, typed))
}

/// `/link/{transmitter}/{receiver}`.
pub async fn one(asked: Asked, Path((transmitter, receiver)): Path<(String, String)>) -> Response {
    asked
        .view(move |asked, workshop| {
            let ids = pair(&transmitter, &receiver)?;
            link_page(asked, workshop, ids, &Typed::none()).map(html)
        })
        .await
}

/// *I did this*: a mend is recorded as carried out.
pub async fn mend(
    asked: Asked,
    Path((transmitter, receiver)): Path<(String, String)>,
    form: Form,
) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let ids = pair(&transmitter, &receiver)?;
            let here = format!("/link/{}/{}", ids.0, ids.1);
            let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
            let scene = Scene::new(&register);
            let link = fleet.link(&scene, ids.0, ids.1).ok_or_else(no_link)?;
            let (Some(t), Some(r)) = (fleet.transmitter(link.transmitter.id), fleet.receiver(link.receiver.id)) else {
                return Err(WebError::Inside);
            };
            let found = mends::mends(&scene, &fleet, t, r, &link, now());
            // The words decide, not the number: the list may have changed in between.
            let action = form.get("action").unwrap_or_default();
            let Some(chosen) = found.iter().find(|mend| pages::link::sent_as(&mend.action) == action) else {
                let says = "What stands between these two has changed since the page was shown. Nothing was written; look again.";
                return Ok(asked.says(&here, Mood::Bad, says));
            };
            let changes: Vec<_> = chosen.steps.iter().flat_map(|step| step.changes.clone()).collect();
            if changes.is_empty() {
                return Ok(asked.done(&here, "Nothing needs writing down for this: it changes no device."));
            }
            let before = link.verdict().word();
            workshop.carry_out(&changes)?;
            let register = workshop.register().clone();
            let after = workshop
                .fleet()
                .link(&Scene::new(&register), ids.0, ids.1)
                .map_or("gone", |link| link.verdict().word());
            let says = format!("Written down: {} The link was {before}, it is now {after}.", chosen.action);
            Ok(asked.done(&here, &says))
        })
        .await
}

/// The answer to a check: a reading, a pairing seen to hold, or nothing that one fact holds.
pub async fn check(
    asked: Asked,
    Path((transmitter, receiver)): Path<(String, String)>,
    form: Form,
) -> Response {
    asked
        .form(form, move |asked, workshop, form| {
            let ids = pair(&transmitter, &receiver)?;
            let here = format!("/link/{}/{}", ids.0, ids.1);
            let device = form.get("device").unwrap_or_default().parse::<DeviceId>();
            let Ok(device) = device else {
                return Err(WebError::Bad(
                    "This check names no device; go back and load the page anew.".to_owned(),
                ));
            };
            match reading_from(workshop, device, &form) {
                Ok(draft) => {
                    workshop.record(&[draft], &[])?;
                    Ok(asked.done(&here, "Written down."))
                }
                Err(devices::Refused::Field(name, says)) => {
                    let key = form.get("form").unwrap_or("check").to_owned();
                    let typed = form.typed(&key, vec![(name, says)]);
                    link_page(asked, &View::of(workshop), ids, &typed).map(html_wrong)
                }
                Err(devices::Refused::Web(error)) => Err(error),
            }
        })
        .await
}
