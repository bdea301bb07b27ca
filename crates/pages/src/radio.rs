//! `GET /sheet`: the link sheet, from the transmitter's power to the chance of a failsafe.

mod advice;
mod begin;
mod curve;
#[cfg(test)]
mod drawn;
mod place;
mod question;
mod rules;
mod say;
mod stairs;
mod time;

use link::adviser::Advice;
use link::law::NOTICE;
use link::sheet::{Direction, Limiting, NEAREST, Named, Reach, Setting, Setup, Sheet, Way};
use link::sight::sight_distance;
use link::wish::{Gear, WISHES};
use maud::{Markup, html};
use units::Metres;

use crate::form::Typed;
use crate::sheet::WayOn;
use crate::site::Site;
use crate::words;

/// The key of the form: [`Typed::form`] must hold it for what was typed to be kept.
pub const FORM: &str = "sheet";

/// The key of the form of [`choose`].
pub const CHOOSE: &str = "choose";

/// What the page of a link sheet is given.
#[derive(Clone, Debug)]
pub struct SheetPage<'a> {
    /// Whose link, `T1 to Hay Wagon`.
    pub title: String,
    /// The path that the form goes to, `/sheet/1/2`, without a query; the answer to a
    /// setting of the advice lies there too.
    pub action: String,
    /// What of the address belongs to whose link it is, not to the flight: it goes along
    /// with every question.
    pub kept: &'a [(String, String)],
    /// The gear.
    pub gear: &'a Gear,
    /// The answer; none when something that was typed can't be used.
    pub sheet: Option<&'a Sheet>,
    /// Which settings nothing beats, or why that isn't told.
    pub advice: Option<Result<&'a Advice, &'a str>>,
    /// The settings that the advice speaks of by their place.
    pub settings: &'a [Setting],
    /// The setup of the sheet.
    pub setup: Option<&'a Setup>,
    /// The setting of the sheet.
    pub setting: Option<&'a Setting>,
    /// What the register suggests and nobody said otherwise: key, value, and what it is
    /// taken from.
    pub suggested: &'a [(String, String, String)],
    /// The links beside this one: another band of the same devices, another receiver aboard.
    pub others: &'a [WayOn],
    /// Where the person came from: address and words.
    pub back: Option<(String, String)>,
    /// What was typed (form [`FORM`]), and what was wrong with it.
    pub typed: &'a Typed,
    /// The regions whose limits are held.
    pub regions: &'a [&'a str],
}

/// The whole page: the answer first, the form beside or below it, the one button within reach
/// of a thumb.
pub fn page(site: &Site, page: &SheetPage) -> Markup {
    let body = html! {
        div.radio {
            (answer(page))
            (question::form(page))
            p.main-action {
                button.main type="submit" form=(question::ID) { "Reckon" }
                a.to-question href={ "#" (question::ID) } { "To the question" }
            }
        }
    };
    site.page(&page.title, &body)
}

/// Only what changes when another value is typed: an element with the id `sheet-answer`.
pub fn answer(page: &SheetPage) -> Markup {
    html! {
        div.sheet-answer id="sheet-answer" {
            @match page.sheet {
                Some(sheet) => (full(page, sheet)),
                None => (not_yet(page)),
            }
            @if !page.others.is_empty() {
                section aria-labelledby="others" {
                    h2 id="others" { "Beside this link" }
                    ul.ways { @for way in page.others { li { a href=(way.href) { (words::name(&way.label)) } } } }
                }
            }
            @if let Some((href, label)) = &page.back { p { a href=(href) { (words::name(label)) } } }
        }
    }
}

/// What is wrong, each leading to its field.
fn not_yet(page: &SheetPage) -> Markup {
    let errors = &page.typed.errors;
    html! {
        p.answer {
            @match errors.len() {
                0 => "This can't be answered yet.",
                1 => "This can't be answered yet: one thing that was typed can't be used.",
                count => { "This can't be answered yet: " (count) " things that were typed can't be used." }
            }
        }
        (crate::formulas::problems(FORM, errors, &|key| {
            WISHES.iter().find(|wish| wish.key == key).map(question::label)
        }))
    }
}

fn full(page: &SheetPage, sheet: &Sheet) -> Markup {
    let flight = page.setup.map(|setup| &setup.flight);
    let asked = flight.map(|flight| flight.distance);
    let seen = flight.and_then(|flight| sight_distance(flight.span).ok());
    html! {
        p.answer { (sentence(sheet, asked)) }
        (basis(page))
        (at_a_glance(sheet))
        @if !sheet.warnings.is_empty() {
            ul.problems {
                @for warning in &sheet.warnings { li { (words::prose(&warning.text)) " " small.source { (warning.source) } } }
            }
        }
        section aria-labelledby="budget" {
            h2 id="budget" { "Where the power goes" }
            div.charts {
                (stairs::direction(&sheet.control))
                @if let Some(telemetry) = &sheet.telemetry { (stairs::direction(telemetry)) }
            }
            p.small { "Weak levels lie left, strong ones right. Hatched: set aside for what moves." }
            @if sheet.telemetry.is_none() {
                p { "Telemetry isn't reckoned: the mode has none, or what the receiver sends with isn't known." }
            }
            details {
                summary { "Step by step, with formulas and sources" }
                (stairs::table(&sheet.control, least(sheet)))
                @if let Some(telemetry) = &sheet.telemetry { (stairs::table(telemetry, least(sheet))) }
            }
            @if !sheet.formulas.is_empty() {
                details {
                    summary { "How the other figures are reckoned" }
                    (reckoned(&sheet.formulas))
                }
            }
        }
        section aria-labelledby="distance" {
            h2 id="distance" { "Margin against distance" }
            div.charts {
                (curve::drawing(sheet, asked, seen))
                (curve::table(sheet))
            }
        }
        div.charts {
            section aria-labelledby="latency" {
                h2 id="latency" { "From stick to servo" }
                (time::latency(sheet, flight.and_then(|flight| flight.latency)))
            }
            section aria-labelledby="refresh" {
                h2 id="refresh" { "How fresh telemetry is" }
                @match &sheet.telemetry_fit {
                    Some(fit) => (time::refresh(fit)),
                    None => p { "There are no telemetry slots, or no sensors were named." },
                }
            }
        }
        section aria-labelledby="failsafe" {
            h2 id="failsafe" { "Chance of a failsafe" }
            (time::failsafe(sheet.failsafe.as_ref()))
        }
        section aria-labelledby="limits" {
            h2 id="limits" { "What the limits say" }
            (rules::both(sheet.law.as_ref(), sheet.telemetry_law.as_ref()))
        }
        section aria-labelledby="more" {
            h2 id="more" { "What a little more buys" }
            (advice::gains(sheet))
        }
        @if let Some(choices) = page.advice {
            section aria-labelledby="choices" {
                h2 id="choices" { "Settings worth choosing" }
                @match choices {
                    Ok(choices) => (advice::advice(page, choices)),
                    Err(why) => p { (words::prose(why)) },
                }
            }
        }
        section aria-labelledby="assumed" {
            h2 id="assumed" { "What was taken to be so" }
            (assumptions(sheet))
        }
        (words::cautions(CAUTIONS))
    }
}

/// What stands on every sheet.
const CAUTIONS: &[&str] = &[
    "Never transmit without the antenna.",
    "After a check at reduced power, make sure that full power is restored.",
    "Keep the aircraft in sight, however far the link reaches.",
    "Local rules and the maker's manual prevail.",
];

/// The answer in a sentence.
fn sentence(sheet: &Sheet, asked: Option<Metres>) -> Markup {
    let control = &sheet.control;
    let at = asked.map_or_else(|| say::about(sheet.path.slant), say::exact);
    html! {
        @if sheet.holds {
            "Holds " (at) " out in " (say::holds(control)) " spells"
        } @else {
            "Does not hold " (at) " out: enough packets arrive in " (say::holds(control))
            " spells, wanted are " (say::asked(control.reach.probability))
        }
        "; " (first_to_fail(sheet)) "."
    }
}

fn first_to_fail(sheet: &Sheet) -> String {
    let control = say::reach(&sheet.control.reach);
    match (sheet.limiting, &sheet.telemetry) {
        (Limiting::Way(Way::Telemetry), Some(telemetry)) => {
            format!("telemetry {}", fails_first(&telemetry.reach))
        }
        (Limiting::Way(_), _) => format!("control {}", fails_first(&sheet.control.reach)),
        (Limiting::Both, _) => format!("both ways reach {control}"),
        (Limiting::OnlyControl, _) => format!("control reaches {control}"),
    }
}

fn fails_first(reach: &Reach) -> String {
    match reach.distance {
        Some(_) => format!("fails first, at {}", say::reach(reach)),
        None => format!("fails first, nearer than {}", say::exact(NEAREST)),
    }
}

/// With which setting, and what the words mean.
fn basis(page: &SheetPage) -> Markup {
    html! {
        p {
            @if let Some(setting) = page.setting { "With " strong { (say::setting(setting)) } }
            @else { "With the setting as typed" }
            ", " (words::name(&page.gear.family)) " on " (words::name(&page.gear.band)) "."
        }
        @if let Some(setup) = page.setup {
            p.small {
                "A spell is about a second of one attitude and shadow; it holds when " (say::asked(setup.flight.quality))
                " packets arrive. A reach is given for " (say::asked(setup.flight.probability))
                " spells; in brackets what it is with everything that isn't known against it, and for it, one in twenty each."
            }
        }
    }
}

fn at_a_glance(sheet: &Sheet) -> Markup {
    let way = |direction: &Direction| {
        html! {
            "margin " (say::margin(direction.margin)) ", " (say::holds(direction)) " spells"
            br; small { "reaches " (say::reach(&direction.reach)) }
        }
    };
    html! {
        dl.questions.glance {
            div { dt { "Control" } dd { (way(&sheet.control)) } }
            div { dt { "Telemetry" } dd {
                @match &sheet.telemetry { Some(telemetry) => (way(telemetry)), None => "not reckoned" }
            } }
            div { dt { "From stick to servo" } dd {
                (say::time(sheet.latency.median)) br; small { "95 of 100 within " (say::time(sheet.latency.p95)) }
            } }
            div { dt { "Failsafe in ten minutes" } dd {
                @match &sheet.failsafe {
                    Some(failsafe) => { (say::chance(failsafe.chance)) br; small { "time-out " (say::time(failsafe.after)) } }
                    None => "not known",
                }
            } }
            @if let Some(law) = &sheet.law {
                @let standing = sheet.standing.unwrap_or_else(|| law.standing());
                div { dt { "Limits, " (law.region) } dd { (rules::standing(standing)) br; small { (NOTICE) } } }
            }
        }
    }
}

/// The formula of the least level, where it is one.
fn least(sheet: &Sheet) -> Option<&Named> {
    sheet.formulas.iter().find(|one| one.formula.ends_with("-sensitivity"))
}

/// The figures that stand on no step, each with its formula and inputs.
fn reckoned(formulas: &[Named]) -> Markup {
    html! {
        table.stack {
            caption { "Figures beside the staircase" }
            thead { tr { th scope="col" { "What" } th scope="col" { "Formula" } th scope="col" { "From" } } }
            tbody {
                @for one in formulas {
                    tr {
                        th scope="row" { (say::capital(one.what)) }
                        td data-label="Formula" { (stairs::formula_link(one.formula, &one.inputs, &say::plain(one.formula))) }
                        td data-label="From" { (words::prose(&one.inputs)) }
                    }
                }
            }
        }
    }
}

fn assumptions(sheet: &Sheet) -> Markup {
    html! {
        table.stack {
            caption { "Assumptions" }
            thead { tr { th scope="col" { "What" } th scope="col" { "Taken as" } th scope="col" { "Why" } } }
            tbody {
                @for one in &sheet.assumptions {
                    tr {
                        th scope="row" { (say::capital(one.what)) }
                        td data-label="Taken as" { (words::prose(&one.value)) }
                        td data-label="Why" { (words::prose(&one.why)) }
                    }
                }
            }
        }
    }
}

/// `GET /sheet`: whose link?
///
/// A form asks by GET for `/sheet?transmitter=ID&other=ID`; `transmitters` and `others`
/// (receivers and aircraft) are the values of these selects with their labels. `typed` (form
/// [`CHOOSE`]) holds what was sent. `families` are names with the names of their bands, each a
/// link to `/sheet?family=NAME&band=NAME`.
pub fn choose(
    site: &Site,
    transmitters: &[(String, String)],
    others: &[(String, String)],
    families: &[(String, Vec<String>)],
    typed: &Typed,
) -> Markup {
    begin::page(site, transmitters, others, families, typed)
}
