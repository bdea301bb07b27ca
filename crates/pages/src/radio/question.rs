//! The form of a sheet: every input by subject, what was typed kept, an error beside its
//! field, suggestions with where they come from.

use link::calc::{Input as Wish, Kind};
use link::wish::{GROUPS, WISHES};
use maud::{Markup, html};

use super::{FORM, SheetPage, say};
use crate::form::{Choice, Form, Input, choice, hidden};
use crate::words;

/// The id of the form, for the button that stands outside it.
pub(super) const ID: &str = "question";

/// Groups that stand open from the start.
const OPEN: usize = 2;

/// The whole form but its button.
pub(super) fn form(page: &SheetPage) -> Markup {
    let form = Form::new(FORM, page.typed);
    html! {
        form.question id=(ID) method="get" action=(page.action) data-live {
            h2 { "The question" }
            (form.wrong_question())
            @for (key, text) in page.kept { (hidden(key, text)) }
            @for (at, (heading, keys)) in GROUPS.iter().enumerate() { (group(page, &form, at, heading, keys)) }
        }
    }
}

fn group(page: &SheetPage, form: &Form, at: usize, heading: &str, keys: &[&str]) -> Markup {
    let wishes = || keys.iter().filter_map(|key| WISHES.iter().find(|wish| wish.key == *key));
    let wrong = wishes().any(|wish| page.typed.error(FORM, wish.key).is_some());
    let changed = wishes().filter(|wish| changed(page, wish)).count();
    html! {
        details.group open[at < OPEN || wrong] {
            summary {
                span.heading { (heading) }
                @if at >= OPEN && changed > 0 { " " small { (changed) " changed" } }
            }
            div.fields { @for wish in wishes() { (field(page, form, wish)) } }
        }
    }
}

fn changed(page: &SheetPage, wish: &Wish) -> bool {
    page.typed.value(FORM, wish.key).is_some_and(|text| {
        let text = text.trim();
        !text.is_empty() && text != start(wish)
    })
}

/// What stands in a field at first: the default, where it is one that a person would type.
fn start(wish: &Wish) -> &'static str {
    wish.default.filter(|text| text.len() <= 8 || !matches!(wish.kind, Kind::Number(_))).unwrap_or_default()
}

/// What a field is called: what the engine says of it, in the words of a label, with its unit.
pub(super) fn label(wish: &Wish) -> String {
    let says = match wish.key {
        "region" => "Region whose limits count",
        "telemetry_one_in" => "Telemetry: one slot in so many",
        "telemetry_mw" => "Telemetry power of the receiver",
        "tx_gain_dbi" => "Its gain",
        "polarisation" => "The transmitter's antenna is held",
        "ground_height_m" => "Height of the transmitter's antenna",
        "rx_antenna" => "The aircraft's antennas are",
        "trees" => "Loss in trees by the fit of",
        "sensors" => "Sensors, as name:bytes:seconds wanted, set apart by ;",
        "profile" => "The ground along the path",
        "noise_figure_db" => "The receivers' noise figure",
        _ => wish.says,
    };
    crate::formulas::with_its_unit(says, wish.key)
}

fn field(page: &SheetPage, form: &Form, wish: &Wish) -> Markup {
    let label = label(wish);
    let suggested = page.suggested.iter().find(|(key, _, _)| key == wish.key);
    let mut hints: Vec<String> = Vec::new();
    hints.extend(explained(wish.key).map(str::to_owned));
    if let Kind::Number(bound) | Kind::Whole(bound) = &wish.kind {
        let unit = if bound.unit.is_empty() { String::new() } else { format!(" {}", bound.unit) };
        hints.push(format!("{} to {}{unit}", number(bound.low), number(bound.high)));
    }
    if let Some((_, text, from)) = suggested {
        hints.push(format!(
            "left empty: {} (from {})",
            words::clip(&say::plain(text)),
            words::clip_to(from, 200)
        ));
    }
    hints.extend(gear_hint(page, wish.key));
    if suggested.is_none()
        && start(wish).is_empty()
        && let Some(text) = wish.default.filter(|text| !text.is_empty())
    {
        let text = text.parse::<f64>().map_or_else(|_| text.to_owned(), |value| say::trim(value, 3));
        hints.push(format!("left empty: {text}"));
    }
    let hint = hints.join("; ");
    let first = begins(page, wish);
    let start = if suggested.is_some() { "" } else { first.as_str() };
    let input = Input::new(wish.key, &label).hint(&hint).start(start);
    match &wish.kind {
        Kind::Number(_) | Kind::Whole(_) => form.number(input),
        Kind::Profile => form.area_of_question(input, 4),
        Kind::Switch => form.select(input, &choices(suggested, &["on", "off"])),
        Kind::Choice(words) => form.select(input, &choices(suggested, words)),
        Kind::Text if wish.key == "region" => {
            let none = suggested
                .map_or_else(|| "none: no limits are looked at".to_owned(), |(_, text, _)| recorded(text));
            let mut all = vec![choice("", &none)];
            all.extend(page.regions.iter().map(|region| choice(region, region)));
            form.select(input, &all)
        }
        Kind::Text if wish.key == "mode" && !page.gear.modes.is_empty() => {
            let modes: Vec<Choice> = page
                .gear
                .modes
                .iter()
                .map(|one| {
                    let rate = say::trim(one.mode.packet_rate.0, 1);
                    (
                        one.mode.name.clone(),
                        format!("{}, {rate} packets a second", words::clip(&one.mode.name)),
                    )
                })
                .collect();
            form.select(input, &modes)
        }
        Kind::Text => form.text(input),
    }
}

/// What stands in a field before anything is typed: for the setting that of the sheet.
fn begins(page: &SheetPage, wish: &Wish) -> String {
    match (wish.key, page.setting) {
        ("mode", Some(setting)) => setting.mode.name.clone(),
        ("power_mw", Some(setting)) => say::milliwatts(setting.power),
        _ => start(wish).to_owned(),
    }
}

fn recorded(text: &str) -> String {
    format!("as recorded: {}", words::clip(&say::plain(text)))
}

fn choices(suggested: Option<&(String, String, String)>, all: &[&str]) -> Vec<Choice> {
    let first = suggested.map(|(_, text, _)| choice("", &recorded(text)));
    first.into_iter().chain(all.iter().map(|word| choice(word, &say::plain(word)))).collect()
}

/// What a label has no room for.
fn explained(key: &str) -> Option<&'static str> {
    Some(match key {
        "telemetry_one_in" => "left empty, the most there is; 0 for none",
        "tx_gain_dbi" | "noise_figure_db" => "where it isn't the usual one",
        "sensors" => "none for none",
        "ground_height_m" => "above the ground",
        "profile" => crate::formulas::PROFILE,
        _ => return None,
    })
}

/// What the gear has to choose from.
fn gear_hint(page: &SheetPage, key: &str) -> Option<String> {
    match key {
        "power_mw" => {
            let steps: Vec<String> = page.gear.power_steps.iter().map(|step| say::trim(step.0, 3)).collect();
            (!steps.is_empty()).then(|| format!("the transmitter's steps: {}", steps.join(", ")))
        }
        "telemetry_one_in" => {
            let name = &page.setting?.mode.name;
            let mode = page.gear.modes.iter().find(|one| one.mode.name == *name)?;
            let shares: Vec<String> = mode.shares.iter().map(ToString::to_string).collect();
            Some(if shares.is_empty() {
                format!("{} has no telemetry", words::clip(name))
            } else {
                format!("{} has {}", words::clip(name), shares.join(", "))
            })
        }
        "telemetry_mw" => {
            page.gear.telemetry_power.map(|power| format!("left empty: {}", say::trim(power.0, 3)))
        }
        "failsafe_s" => {
            page.gear.failsafe_after.map(|after| format!("left empty: {}", say::trim(after.0, 3)))
        }
        "noise_figure_db" => {
            page.gear.noise_figure.map(|figure| format!("left empty: {}", say::trim(figure.0, 1)))
        }
        _ => None,
    }
}

/// A number of a range, its thousands parted.
fn number(value: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number in that range"
    )]
    if value >= 1000.0 && value.fract() == 0.0 && value < 1e15 {
        return words::count(value as u64);
    }
    say::trim(value, 4)
}
