//! Labels: the short code large, the main facts small, both in the square too.

use register::id::DeviceId;
use register::view::Card as DeviceCard;

use super::{About, end_words};
use crate::card::Label;
use crate::qr::TooLong;

/// The label of a device; `None` when the workshop has none with this id.
///
/// # Errors
/// What it says is too long for a QR code.
pub fn label(about: &About, device: DeviceId) -> Result<Option<Label>, TooLong> {
    let id = about.scene.register.canonical(device);
    let Some(lines) = lines(about, id) else { return Ok(None) };
    let Some((title, rest)) = lines.split_first() else { return Ok(None) };
    let code = about.code(id, &lines)?;
    Ok(Some(Label { title: title.clone(), lines: rest.to_vec(), code }))
}

/// The first line is the code; the others are facts. No secret is among them.
fn lines(about: &About, id: DeviceId) -> Option<Vec<String>> {
    if let Some(view) = about.fleet.receiver(id) {
        let mut out = first(&view.card);
        for end in &view.ends {
            let key = if view.ends.len() > 1 { format!("{}: ", end.end.end) } else { String::new() };
            let words = end_words(end);
            if !words.is_empty() {
                out.push(format!("{key}{}", words.join(", ")));
            }
        }
        if let Some(aircraft) = view.fitted_in().and_then(|id| about.fleet.aircraft(id)) {
            out.push(format!("in {}", aircraft.card.full()));
        }
        return Some(out);
    }
    if let Some(view) = about.fleet.transmitter(id) {
        let mut out = first(&view.card);
        for end in &view.ends {
            let words = end_words(end);
            if !words.is_empty() {
                out.push(format!("{}: {}", end.end.end, words.join(", ")));
            }
        }
        return Some(out);
    }
    about.fleet.aircraft(id).map(|view| aircraft_lines(about, &view.card))
}

fn first(card: &DeviceCard) -> Vec<String> {
    let mut out = vec![card.label()];
    if let Some(name) = card.name.clone().filter(|name| *name != out[0]) {
        out.push(name);
    }
    out
}

/// The same for an aircraft.
pub fn aircraft_lines(about: &About, card: &DeviceCard) -> Vec<String> {
    let mut out = first(card);
    out.extend(about.fleet.aircraft(card.id).and_then(|view| view.craft.clone()));
    let receivers: Vec<String> = about.fleet.fitted_in(card.id).map(|one| one.card.label()).collect();
    if !receivers.is_empty() {
        out.push(format!("receiver {}", receivers.join(", ")));
    }
    let flown =
        about.fleet.transmitters.iter().filter(|view| view.memories.iter().any(|one| one.flies(card.id)));
    let flown: Vec<String> = flown.map(|view| view.card.label()).collect();
    if !flown.is_empty() {
        out.push(format!("flown by {}", flown.join(", ")));
    }
    out
}
