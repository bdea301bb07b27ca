//! The sections of a family file, one function each; the rules of linking are in
//! [`super::rules`], the packet modes in [`super::modes`].

use std::collections::BTreeMap;

use units::{Db, Khz, Mhz, Milliwatts, Minutes, Seconds};

use super::super::{
    Access, Band, Energised, Family, FlashRoute, Lamp, LampState, Pairing, Side, Waiting, squeeze,
};
use super::minutes::minutes;
use super::{faults, modes, releases, rules};
use crate::desk::telling::shown;
use crate::desk::{Desk, Keys, MOST_MINUTES, Section};
use crate::field::Field;

pub(super) const FAMILY: Keys =
    &[("name", "\"My system\""), ("summary", "\"2.4 GHz, from the manual of 2024\""), ("invented", "false")];
pub(super) const BAND: Keys = &[
    ("name", "\"2.4 GHz\""),
    ("also", "[\"2400\"]"),
    ("low_mhz", "2400"),
    ("high_mhz", "2483.5"),
    ("channels", "40"),
    ("spacing_khz", "2000"),
    ("noise_figure_db", "8"),
    ("access", "\"listen-before-talk\""),
];
pub(super) const POWER: Keys = &[("steps_mw", "[10, 25, 100]"), ("telemetry_mw", "25")];
pub(super) const FAILSAFE: Keys = &[("after_s", "1")];
pub(super) const PAIRING: Keys = &[
    ("gesture", "[\"Hold the side key.\", \"Switch the supply on.\"]"),
    ("needs", "[\"the receiver's side key\"]"),
    ("energises", "[\"receiver\"]"),
    ("minutes", "3"),
];
pub(super) const LAMP: Keys =
    &[("state", "\"waiting to pair\""), ("shows", "\"two short, one long\""), ("means", "\"pairing\"")];
pub(super) const WAITING: Keys =
    &[("after_s", "60"), ("does", "\"opens its settings page\""), ("settings_at", "\"as your manual says\"")];
pub(super) const FLASH: Keys = &[
    ("name", "\"cable to the bench computer\""),
    ("side", "\"receiver\""),
    ("minutes", "10"),
    ("needs", "[\"the receiver's socket\"]"),
    ("energises", "[\"receiver\"]"),
    ("wipes", "[\"partners\"]"),
    ("fails_one_in", "200"),
    ("recovery", "\"Hold the side key while switching on, then write it again.\""),
    ("recovery_minutes", "10"),
];

/// Every table of keys here, by its header.
#[cfg(test)]
pub(super) const ALL: &[(&str, Keys)] = &[
    ("[family]", FAMILY),
    ("[[band]]", BAND),
    ("[power]", POWER),
    ("[failsafe]", FAILSAFE),
    ("[pairing]", PAIRING),
    ("[[lamp]]", LAMP),
    ("[waiting]", WAITING),
    ("[[flash]]", FLASH),
];

/// Powers from a microwatt to a kilowatt.
const POWERS_MW: (f64, f64) = (0.001, 1_000_000.0);

/// The whole family; where something was wrong it is reported, and what stands in its
/// place is never used.
pub(super) fn family(desk: &mut Desk<'_>, top: &Section<'_>) -> Family {
    let mut name = String::new();
    let mut summary = String::new();
    let mut invented = false;
    top.need(desk, "family");
    if let Some(section) = top.section(desk, "family", FAMILY) {
        name = section.need(desk, "name").filled(desk).unwrap_or_default();
        summary = section.get("summary").text(desk).unwrap_or_default();
        invented = section.get("invented").flag(desk).unwrap_or(false);
    }
    let bands = bands(desk, top);
    let modes = modes::modes(desk, top, &bands);
    let (power_steps, telemetry_power) = power(desk, top);
    let (versions, flash) = (rules::versions(desk, top), flash(desk, top));
    let beside = releases::Beside { flash: &flash, versions: &versions };
    Family {
        reaches: releases::reaches(desk, top),
        releases: releases::releases(desk, top, Some(&beside)),
        name,
        summary,
        invented,
        modes,
        bands,
        regions: rules::regions(desk, top),
        versions,
        secret: rules::secret(desk, top),
        partners: rules::partners(desk, top),
        model_id: rules::model_id(desk, top),
        power_steps,
        telemetry_power,
        failsafe_after: failsafe_after(desk, top),
        pairing: pairing(desk, top),
        lamps: lamps(desk, top),
        waiting: waiting(desk, top),
        flash,
        faults: faults::faults(desk, top),
        minutes: own_minutes(desk, top),
    }
}

fn bands(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Band> {
    top.need(desk, "band");
    let mut out = Vec::new();
    // What each spelling means already: two bands of one name could not be told apart.
    let mut taken: BTreeMap<String, usize> = BTreeMap::new();
    for (i, section) in top.sections(desk, "band", BAND).iter().enumerate() {
        let name = section.need(desk, "name").filled(desk).unwrap_or_default();
        let also = section.get("also").texts(desk);
        for (slot, text) in std::iter::once(("name", &name)).chain(also.iter().map(|text| ("also", text))) {
            let first = *taken.entry(squeeze(text)).or_insert(i);
            if first != i && !text.is_empty() {
                let says = format!(
                    "says \"{}\", which is band {} already; give it another name",
                    shown(text),
                    first + 1
                );
                section.get(slot).report(desk, says);
            }
        }
        let low = section.need(desk, "low_mhz").number(desk, 1.0, 100_000.0);
        let high = section.need(desk, "high_mhz").number(desk, 1.0, 100_000.0);
        let channels = section.get("channels").whole(desk, 0, 10_000).unwrap_or(0);
        let spacing = section.get("spacing_khz").number(desk, 0.001, 1_000_000.0);
        let noise_figure = section.get("noise_figure_db").number(desk, 0.0, 30.0);
        let access = section.get("access").choice(desk, &Access::ALL.map(|one| (one.word(), one)));
        if let (Some(low), Some(high)) = (low, high) {
            if low >= high {
                let says = format!("is {low}, not below high_mhz ({high}); write the lower edge here");
                section.get("low_mhz").report(desk, says);
            } else if let Some(spacing) = spacing
                && f64::from(channels.saturating_sub(1)) * spacing > (high - low) * 1000.0 + 1e-6
            {
                let says = format!(
                    "is {channels}: at {spacing} kHz apart they need {} MHz, and the band has {}; \
                     correct the channels, the spacing or the edges",
                    round3(f64::from(channels - 1) * spacing / 1000.0),
                    round3(high - low)
                );
                section.get("channels").report(desk, says);
            }
        }
        out.push(Band {
            name,
            also,
            low: Mhz(low.unwrap_or_default()),
            high: Mhz(high.unwrap_or_default()),
            channels,
            spacing: spacing.map(Khz),
            noise_figure: noise_figure.map(Db),
            access,
        });
    }
    out
}

fn round3(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// The power steps, and what receivers send telemetry with.
fn power(desk: &mut Desk<'_>, top: &Section<'_>) -> (Vec<Milliwatts>, Option<Milliwatts>) {
    let mut out: Vec<Milliwatts> = Vec::new();
    let Some(section) = top.section(desk, "power", POWER) else { return (out, None) };
    for item in section.get("steps_mw").list(desk) {
        let Some(step) = item.number(desk, POWERS_MW.0, POWERS_MW.1).map(Milliwatts) else { continue };
        if out.contains(&step) {
            desk.report(item.line, item.key, format!("says {} mW a second time; leave it out", step.0));
        } else {
            out.push(step);
        }
    }
    let telemetry = section.get("telemetry_mw").number(desk, POWERS_MW.0, POWERS_MW.1);
    (out, telemetry.map(Milliwatts))
}

fn failsafe_after(desk: &mut Desk<'_>, top: &Section<'_>) -> Option<Seconds> {
    const AN_HOUR_S: f64 = 3_600.0;
    let section = top.section(desk, "failsafe", FAILSAFE)?;
    section.get("after_s").number(desk, 0.001, AN_HOUR_S).map(Seconds)
}

fn energises(desk: &mut Desk<'_>, section: &Section<'_>) -> Vec<Energised> {
    let choices: Vec<(&str, Energised)> = Energised::ALL.iter().map(|one| (one.word(), *one)).collect();
    section.need(desk, "energises").choices(desk, &choices)
}

fn pairing(desk: &mut Desk<'_>, top: &Section<'_>) -> Pairing {
    top.need(desk, "pairing");
    match top.section(desk, "pairing", PAIRING) {
        Some(section) => Pairing {
            gesture: section.get("gesture").texts(desk),
            needs: section.get("needs").texts(desk),
            energises: energises(desk, &section),
            minutes: section.need(desk, "minutes").minutes(desk),
        },
        None => {
            Pairing { gesture: Vec::new(), needs: Vec::new(), energises: Vec::new(), minutes: Minutes::ZERO }
        }
    }
}

fn lamps(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Lamp> {
    let mut out: Vec<Lamp> = Vec::new();
    for section in top.sections(desk, "lamp", LAMP) {
        let state = section.need(desk, "state").filled(desk).unwrap_or_default();
        let shows = section.need(desk, "shows").filled(desk).unwrap_or_default();
        let means = section.get("means").choice(desk, &LampState::ALL.map(|one| (one.word(), one)));
        if !state.is_empty() && out.iter().any(|lamp| squeeze(&lamp.state) == squeeze(&state)) {
            let says = format!("says \"{}\", which has a lamp already; keep one of the two", shown(&state));
            section.get("state").report(desk, says);
        }
        out.push(Lamp { state, shows, means });
    }
    out
}

fn waiting(desk: &mut Desk<'_>, top: &Section<'_>) -> Option<Waiting> {
    const A_WEEK_S: f64 = 604_800.0;
    let section = top.section(desk, "waiting", WAITING)?;
    Some(Waiting {
        after_s: section.need(desk, "after_s").number(desk, 0.0, A_WEEK_S).unwrap_or_default(),
        does: section.need(desk, "does").filled(desk).unwrap_or_default(),
        settings_at: section.get("settings_at").text(desk).unwrap_or_default(),
    })
}

/// The two sides of a link, by the words for them.
pub(super) const SIDES: [(&str, Side); 2] =
    [("transmitter", Side::Transmitter), ("receiver", Side::Receiver)];

/// What a flash can make an end forget, by the words for it.
pub(super) fn wipeable() -> [(&'static str, Field); 4] {
    [Field::Partners, Field::Secret, Field::ModelId, Field::Region].map(|field| (field.key(), field))
}

fn flash(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<FlashRoute> {
    let mut out: Vec<FlashRoute> = Vec::new();
    for section in top.sections(desk, "flash", FLASH) {
        let name = section.need(desk, "name").filled(desk).unwrap_or_default();
        let side = section.need(desk, "side").choice(desk, &SIDES);
        let double = |one: &FlashRoute| Some(one.side) == side && squeeze(&one.name) == squeeze(&name);
        if !name.is_empty() && out.iter().any(double) {
            let says = format!(
                "says \"{}\", which names another way for that side already; give it another name",
                shown(&name)
            );
            section.get("name").report(desk, says);
        }
        out.push(FlashRoute {
            minutes: section.need(desk, "minutes").minutes(desk),
            needs: section.get("needs").texts(desk),
            energises: energises(desk, &section),
            wipes: section.need(desk, "wipes").choices(desk, &wipeable()),
            fails_one_in: section.get("fails_one_in").whole(desk, 2, 1_000_000),
            recovery: section.get("recovery").text(desk).unwrap_or_default(),
            recovery_minutes: section.get("recovery_minutes").number(desk, 0.0, MOST_MINUTES).map(Minutes),
            side: side.unwrap_or(Side::Receiver),
            name,
        });
    }
    out
}

fn own_minutes(desk: &mut Desk<'_>, top: &Section<'_>) -> BTreeMap<String, Minutes> {
    match top.table_of(desk, "minutes") {
        Some(section) => minutes(desk, &section),
        None => BTreeMap::new(),
    }
}
