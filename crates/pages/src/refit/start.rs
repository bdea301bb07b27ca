//! `GET /refits/new`: what is wished.

use maud::{Markup, html};
use refits::release;
use register::family::{Family, SecretRule, Side};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::scene::Scene;

use super::clash::{self, Why};
use crate::form::{Choice, Form, Input, Typed, choice, send_main};
use crate::reading::{end_label, end_value};
use crate::site::Site;
use crate::words;

/// The form's key.
pub const FORM: &str = "plan";

/// What the page knows beforehand.
#[derive(Clone, Copy, Debug, Default)]
pub struct Start<'a> {
    /// The transmitter from whose page somebody came.
    pub transmitter: Option<DeviceId>,
    /// Why what was wished before can't be planned.
    pub why: Option<&'a Why<'a>>,
}

/// More than these are not offered as a list; they are typed.
const MOST_OFFERED: usize = 400;

/// The words of wishes: how it is typed, and what it says.
pub const LEGEND: [(&str, &str); 13] = [
    (
        "to=T2:5.1",
        "this transmitter or receiver holds that version (to=T2/module:5.1 for one end of several)",
    ),
    ("newest=FAMILY", "all of a link family holds its newest release"),
    ("secret=T1,R3", "these, or a whole family, hold the link secret that is typed above"),
    ("clear-secret=T1,R3", "these, or a whole family, hold no link secret"),
    ("pairs=all", "every link that is meant to hold does"),
    ("need=A2:T1,T4", "this aircraft can fly only while it links with all of these"),
    ("let-go=A7:T2", "this link may be given up (let-go=A7: all of that aircraft's)"),
    ("stay=R9", "this device is left as it is"),
    (
        "replace=R12:45",
        "this receiver may be replaced where it can't follow, at this cost (replace=R12:R26: by that spare)",
    ),
    ("evenings=120,90", "the minutes of each evening (evenings=4x120: four of 120)"),
    ("fly=A3:2", "this aircraft can fly after that evening"),
    ("grounded=2", "at most so many are grounded between two evenings"),
    ("cover=A3:15", "the minutes to open and close this aircraft's cover"),
];

/// What is to change and what must hold. Posts to `/refits/plan` (form [`FORM`]): `to`
/// (`DEVICE/END:VERSION`), `newest` (a family), `secret_on` (a family or `DEVICE/END`), `secret`,
/// `blank`, `pairs`, `count`, `minutes`, `fly`, `fly_after`, `grounded`, `more` (a wish a line).
pub fn page(site: &Site, scene: &Scene, fleet: &Fleet, start: &Start, typed: &Typed) -> Markup {
    let body = html! {
        @match start.why {
            Some(why) => { (clash::answer(site, why)) h2 { "Wish anew" } }
            None => p.answer { "What is to change? The evenings, and all that must follow, come from that." },
        }
        (wishes(site, scene, fleet, start, typed))
        p { a href="/refits" { "Refits that were planned" } }
    };
    site.page("Plan a refit", &body)
}

/// Each transmitter's ends with the releases that they could take; the newest first.
fn targets(scene: &Scene, fleet: &Fleet) -> Vec<(DeviceId, Choice)> {
    let mut all = Vec::new();
    for view in &fleet.transmitters {
        for end in &view.ends {
            let Some(family) = &end.rules else { continue };
            let holds = end.firmware.one();
            for one in release::of_side(family, Side::Transmitter) {
                if holds.is_some_and(|holds| release::same(holds, &one.version)) {
                    continue;
                }
                let from = holds.map_or_else(String::new, |holds| format!("{holds} "));
                let says = format!("{}: {from}to {}", end_label(scene, &end.end), one.version);
                all.push((view.card.id, (format!("{}:{}", end_value(&end.end), one.version), says)));
            }
        }
    }
    all
}

/// The families whose files are read.
fn families<'a>(scene: &'a Scene) -> Vec<&'a Family> {
    scene.register.families().filter_map(|(_, used)| used.family.as_deref()).collect()
}

fn has_secrets(family: &Family) -> bool {
    family.secret != SecretRule::Absent
}

fn wishes(site: &Site, scene: &Scene, fleet: &Fleet, start: &Start, typed: &Typed) -> Markup {
    let form = Form::new(FORM, typed);
    let targets = targets(scene, fleet);
    let chosen = start
        .transmitter
        .and_then(|id| targets.iter().find(|(have, _)| *have == id))
        .map(|(_, (value, _))| value.clone())
        .unwrap_or_default();
    let families = families(scene);
    let with_releases: Vec<&str> =
        families.iter().filter(|one| !one.releases.is_empty()).map(|one| one.name.as_str()).collect();
    let has = |name: &str| typed.value(FORM, name).is_some_and(|text| !text.trim().is_empty());
    html! {
        (form.post(site, "/refits/plan", &html! {
            fieldset {
                legend { "What is to change" }
                div.fields {
                    (to(&form, &targets, &chosen))
                    @if !with_releases.is_empty() {
                        @let choices: Vec<Choice> = std::iter::once(choice("", "none"))
                            .chain(with_releases.iter().map(|name| choice(name, &format!("all of {name}")))).collect();
                        (form.select(Input::new("newest", "A whole link family to its newest release"), &choices))
                    }
                }
                (form.tick(Input::new("pairs", "Everything that is meant to link does")))
                details open[has("secret_on") || has("blank") || typed.error(FORM, "secret").is_some()] {
                    summary { "A new link secret" }
                    (secret(&form, scene, fleet, &families))
                }
            }
            fieldset {
                legend { "What must hold meanwhile" }
                div.fields {
                    (form.text(Input::new("count", "How many evenings").hint("Left empty: as many as it takes").longest(4)))
                    (form.number(Input::new("minutes", "Minutes of each").hint("Left empty: 120").longest(8)))
                    (form.text(Input::new("grounded", "Most aircraft grounded").hint("Between two evenings, of those that can fly now").longest(6)))
                }
                div.fields {
                    (aircraft(&form, fleet))
                    (form.text(Input::new("fly_after", "… after this evening").hint("A number; 0 is before the first").longest(4)))
                }
            }
            details open[has("more") || typed.error(FORM, "more").is_some()] {
                summary { "More wishes" }
                (form.area(Input::new("more", "More wishes, one a line").hint("Two transmitters for one aircraft, what may be replaced, what stays: words as listed below"), 4))
                dl.legend { @for (word, says) in LEGEND { dt { code { (word) } } dd { (says) } } }
            }
            (send_main("Plan it"))
            p.small { "Nothing is written by planning. " @if with_releases.is_empty() { "No link family says yet which releases there are: write them down on its page first." } }
        }))
    }
}

fn to(form: &Form, targets: &[(DeviceId, Choice)], chosen: &str) -> Markup {
    let input = Input::new("to", "A transmitter to a version").start(chosen);
    if targets.len() > MOST_OFFERED || targets.is_empty() {
        return form.text(input.hint("Its code and the version, T1:5.1"));
    }
    let mut choices = vec![choice("", "none")];
    choices.extend(targets.iter().map(|(_, choice)| choice.clone()));
    form.select(input, &choices)
}

fn secret(form: &Form, scene: &Scene, fleet: &Fleet, families: &[&Family]) -> Markup {
    let input = Input::new("secret_on", "Where it goes");
    let families: Vec<&&Family> = families.iter().filter(|one| has_secrets(one)).collect();
    let ends: Vec<Choice> = fleet
        .transmitters
        .iter()
        .flat_map(|view| &view.ends)
        .filter(|end| end.rules.as_deref().is_none_or(has_secrets))
        .map(|end| (end_value(&end.end), format!("{}, and what must follow", end_label(scene, &end.end))))
        .collect();
    html! {
        @if ends.len() + families.len() > MOST_OFFERED {
            (form.text(input.hint("A link family, or codes: T1,R3")))
        } @else {
            @let choices: Vec<Choice> = std::iter::once(choice("", "nowhere"))
                .chain(families.iter().map(|one| choice(&one.name, &format!("all of {}", one.name)))).chain(ends).collect();
            (form.select(input, &choices))
        }
        (form.secret(Input::new("secret", "The new link secret").hint("Only a fingerprint of it is kept; it is shown nowhere, and has to be typed again when something is wrong here")))
        (form.tick(Input::new("blank", "No secret: it is cleared")))
    }
}

fn aircraft(form: &Form, fleet: &Fleet) -> Markup {
    let input = Input::new("fly", "This aircraft must fly");
    if fleet.aircraft.len() > MOST_OFFERED {
        return form.text(input.hint("Its code or name"));
    }
    let mut choices = vec![choice("", "none in particular")];
    choices.extend(
        fleet.aircraft.iter().map(|craft| (craft.card.id.to_string(), words::clip(&craft.card.full()))),
    );
    form.select(input, &choices)
}
