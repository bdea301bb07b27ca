//! The inputs for one fact, shared by the pages that take readings.

use maud::{Markup, html};
use register::field::{Field, How, Part};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::scene::Scene;
use register::value::{EndRef, Value};
use register::verdict;
use register::view::{self, State};

use crate::form::{Choice, Form, Input, choice, hidden};
use crate::site::Site;
use crate::words;

/// More devices than these are not offered as a list; their code or name is typed.
const MOST_OFFERED: usize = 300;

/// An end as forms send it.
pub(crate) fn end_value(end: &EndRef) -> String {
    format!("{}/{}", end.device, end.end)
}

/// An end as people read it.
pub(crate) fn end_label(scene: &Scene, end: &EndRef) -> String {
    let label = scene
        .device(end.device)
        .map_or_else(|| "a device not in the register".to_owned(), |device| view::card(device).label());
    if end.end == Part::MAIN { label } else { format!("{label} ({})", end.end) }
}

/// The ends of every transmitter.
pub(crate) fn transmitter_ends(scene: &Scene, fleet: &Fleet) -> Vec<Choice> {
    fleet
        .transmitters
        .iter()
        .flat_map(|view| &view.ends)
        .take(MOST_OFFERED)
        .map(|end| (end_value(&end.end), end_label(scene, &end.end)))
        .collect()
}

fn all_ends(scene: &Scene, fleet: &Fleet, but: DeviceId) -> Vec<Choice> {
    let receivers = fleet.receivers.iter().flat_map(|view| &view.ends);
    let transmitters = fleet.transmitters.iter().flat_map(|view| &view.ends);
    transmitters
        .chain(receivers)
        .filter(|end| end.end.device != but)
        .take(MOST_OFFERED)
        .map(|end| (end_value(&end.end), end_label(scene, &end.end)))
        .collect()
}

/// A choice of aircraft, or of none.
pub(crate) fn aircraft(form: &Form, fleet: &Fleet, name: &str, start: &str) -> Markup {
    let input = Input::new(name, "Aircraft").start(start);
    if fleet.aircraft.len() > MOST_OFFERED {
        return form.text(input.hint("Its code or name, or none"));
    }
    let mut choices = vec![choice("", "not said"), choice("none", "in no aircraft")];
    choices.extend(fleet.aircraft.iter().map(|craft| (craft.card.id.to_string(), craft.card.full())));
    form.select(input, &choices)
}

/// The names of the families that the workshop has files of.
pub(crate) fn family_names(scene: &Scene) -> Vec<String> {
    scene
        .register
        .families()
        .map(|(name, used)| {
            used.family.as_ref().map_or_else(|| name.to_owned(), |family| family.name.clone())
        })
        .collect()
}

/// The bands and the region variants of a family, or of every family.
pub(crate) fn bands_and_regions(scene: &Scene, family: Option<&str>) -> (Vec<String>, Vec<String>) {
    let (mut bands, mut regions) = (Vec::new(), Vec::new());
    for (_, used) in scene.register.families() {
        let Some(rules) = &used.family else { continue };
        if family.is_some_and(|name| name != rules.name) {
            continue;
        }
        bands.extend(rules.bands.iter().map(|band| band.name.clone()));
        regions.extend(rules.regions.variants.iter().cloned());
    }
    for list in [&mut bands, &mut regions] {
        list.sort_unstable();
        list.dedup();
    }
    (bands, regions)
}

/// How it is known, and when it was seen.
pub(crate) fn how_and_seen(form: &Form, site: &Site) -> Markup {
    let hows: Vec<Choice> =
        How::ALL.into_iter().rev().map(|how| choice(how.word(), words::how(how))).collect();
    html! {
        div.fields {
            (form.select(Input::new("how", "How it is known").start(How::Seen.word()), &hows))
            (form.date(Input::new("seen", "When it was seen").start(&site.now.date())))
        }
    }
}

/// The inputs for one fact of a part of a device, with how it is known and when.
pub(crate) fn inputs(
    form: &Form,
    site: &Site,
    scene: &Scene,
    fleet: &Fleet,
    device: DeviceId,
    part: &Part,
    field: Field,
) -> Markup {
    html! {
        (hidden("part", &part.word()))
        (hidden("field", field.key()))
        (value(form, scene, fleet, device, part, field))
        (how_and_seen(form, site))
    }
}

fn value(form: &Form, scene: &Scene, fleet: &Fleet, device: DeviceId, part: &Part, field: Field) -> Markup {
    let label = capital(field.label());
    let input = Input::new("value", &label);
    let family = scene
        .device(device)
        .and_then(|device| device.part(part))
        .and_then(|facts| view::words(facts, Field::Family))
        .and_then(|name| scene.register.family(&name).map(|family| family.name.clone()));
    let unknown =
        form.tick(Input::new("unknown", "It is not known any more").hint("Leave the value empty then"));
    match field {
        Field::State => {
            let states: Vec<Choice> =
                State::ALL.into_iter().map(|state| choice(state.word(), state.word())).collect();
            form.select(input, &states)
        }
        Field::Aircraft => html! { (aircraft(form, fleet, "value", "")) (unknown) },
        Field::Family => html! { (form.suggest(input, &family_names(scene))) (unknown) },
        Field::Band => {
            html! { (form.suggest(input, &bands_and_regions(scene, family.as_deref()).0)) (unknown) }
        }
        Field::Region => {
            html! { (form.suggest(input, &bands_and_regions(scene, family.as_deref()).1)) (unknown) }
        }
        Field::ModelId => html! {
            (form.text(input.hint("A number, or off when the check is switched off")))
            (unknown)
        },
        Field::Secret => secret(form, &all_ends(scene, fleet, device), true),
        Field::Partners => html! {
            (form.boxes(
                Input::new("partner", "Paired with").hint("Tick none and “these are all” when it is paired with none"),
                &transmitter_ends(scene, fleet),
                &[],
            ))
            (form.tick(Input::new("all", "These are all it remembers")))
            (unknown)
        },
        Field::End => {
            let ends: Vec<Choice> = scene
                .device(device)
                .map(|device| device.ends.keys().map(|key| choice(key, key)).collect())
                .unwrap_or_default();
            html! { (form.select(input, &ends)) (unknown) }
        }
        Field::Note => form.area(input, 3),
        Field::Code | Field::Name => form.text(input),
        _ => html! { (form.text(input)) (unknown) },
    }
}

/// The inputs for a link secret: typed, blank, or the same as another end's.
pub(crate) fn secret(form: &Form, same: &[Choice], required: bool) -> Markup {
    let mut kinds = Vec::new();
    if !required {
        kinds.push(choice("", "not said"));
    }
    kinds.push(choice("typed", "typed below"));
    kinds.push(choice("blank", "blank: it holds none"));
    if !same.is_empty() {
        kinds.push(choice("same", "the same as another device's"));
    }
    if required {
        kinds.push(choice("unknown", "not known any more"));
    }
    let start = if required { "typed" } else { "" };
    html! {
        (form.radio(Input::new("secret_is", "Link secret").start(start), &kinds))
        (form.secret(Input::new("value", "The secret").hint(
            "Type it exactly. The workshop keeps a keyed fingerprint that compares two ends; the secret itself is stored nowhere and shown nowhere."
        )))
        @if !same.is_empty() {
            @let choices: Vec<Choice> = std::iter::once(choice("", "none")).chain(same.iter().cloned()).collect();
            (form.select(Input::new("same", "The same as that of"), &choices))
        }
    }
}

/// A value in words; a secret is only ever *set*, *blank* or *same as*.
pub(crate) fn value_words(scene: &Scene, value: &Value) -> String {
    match value {
        Value::Unknown => "not known any more".to_owned(),
        Value::Text(text) => text.clone(),
        Value::Number(number) => number.to_string(),
        Value::Off => "check off".to_owned(),
        Value::None => "none".to_owned(),
        Value::Secret(mark) => verdict::secret_words(scene, mark),
        Value::Device(id) => scene
            .device(*id)
            .map_or_else(|| "a device not in the register".to_owned(), |device| view::card(device).full()),
        Value::Partners(partners) => {
            let names: Vec<String> = partners.ends.iter().map(|end| end_label(scene, end)).collect();
            match (names.is_empty(), partners.all) {
                (true, true) => "paired with none".to_owned(),
                (true, false) => "not known".to_owned(),
                (false, true) => names.join(", "),
                (false, false) => format!("{} and maybe others", names.join(", ")),
            }
        }
    }
}

/// The first letter made a capital.
pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}
