//! The sections of a family file, one function each; the rules of linking are in
//! [`super::rules`].

use std::collections::BTreeMap;

use units::{Dbm, Hertz, Khz, Mhz, Milliwatts, Minutes};

use super::super::{
    Band, Energised, Family, FlashRoute, Lamp, Mode, Modulation, Pairing, Side, Waiting, squeeze,
};
use super::desk::{Desk, Keys, Section};
use super::minutes::minutes;
use super::rules;
use super::telling::shown;
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
];
pub(super) const MODE: Keys = &[
    ("name", "\"120 Hz\""),
    ("bands", "[\"2.4 GHz\"]"),
    ("modulation", "\"css\""),
    ("spreading_factor", "7"),
    ("bandwidth_khz", "812.5"),
    ("coding_rate", "5"),
    ("bit_rate_kbps", "100"),
    ("deviation_khz", "47.6"),
    ("sensitivity_dbm", "-105"),
    ("packet_rate_hz", "120"),
    ("payload_bytes", "10"),
    ("telemetry_one_in", "[5, 20]"),
];
pub(super) const POWER: Keys = &[("steps_mw", "[10, 25, 100]")];
pub(super) const PAIRING: Keys = &[
    ("gesture", "[\"Hold the side key.\", \"Switch the supply on.\"]"),
    ("energises", "[\"receiver\"]"),
    ("minutes", "3"),
];
pub(super) const LAMP: Keys = &[("state", "\"waiting to pair\""), ("shows", "\"two short, one long\"")];
pub(super) const WAITING: Keys =
    &[("after_s", "60"), ("does", "\"opens its settings page\""), ("settings_at", "\"as your manual says\"")];
pub(super) const FLASH: Keys = &[
    ("name", "\"cable to the bench computer\""),
    ("side", "\"receiver\""),
    ("minutes", "10"),
    ("needs", "[\"the receiver's socket\"]"),
    ("energises", "[\"receiver\"]"),
    ("wipes", "[\"partners\"]"),
];

/// Every table of keys here.
#[cfg(test)]
pub(super) const ALL: &[Keys] = &[FAMILY, BAND, MODE, POWER, PAIRING, LAMP, WAITING, FLASH];

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
    let modes = modes(desk, top, &bands);
    Family {
        name,
        summary,
        invented,
        modes,
        bands,
        regions: rules::regions(desk, top),
        versions: rules::versions(desk, top),
        secret: rules::secret(desk, top),
        partners: rules::partners(desk, top),
        model_id: rules::model_id(desk, top),
        power_steps: power(desk, top),
        pairing: pairing(desk, top),
        lamps: lamps(desk, top),
        waiting: waiting(desk, top),
        flash: flash(desk, top),
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
        });
    }
    out
}

fn round3(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// How a mode's section says it modulates.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Css,
    Fsk,
    Stated,
}

fn modes(desk: &mut Desk<'_>, top: &Section<'_>, bands: &[Band]) -> Vec<Mode> {
    let mut out: Vec<Mode> = Vec::new();
    for section in top.sections(desk, "mode", MODE) {
        let name = section.need(desk, "name").filled(desk).unwrap_or_default();
        if !name.is_empty() && out.iter().any(|mode| squeeze(&mode.name) == squeeze(&name)) {
            let says =
                format!("says \"{}\", which names another mode already; give it another name", shown(&name));
            section.get("name").report(desk, says);
        }
        let on = mode_bands(desk, &section, bands);
        let modulation = modulation(desk, &section);
        let packet_rate =
            section.need(desk, "packet_rate_hz").number(desk, 0.01, 100_000.0).unwrap_or_default();
        let payload_bytes = section.need(desk, "payload_bytes").whole(desk, 1, 65_535).unwrap_or_default();
        let shares = section.get("telemetry_one_in").list(desk);
        let telemetry_one_in = shares.iter().filter_map(|item| item.whole(desk, 1, 100_000)).collect();
        out.push(Mode {
            name,
            bands: on,
            modulation,
            packet_rate: Hertz(packet_rate),
            payload_bytes,
            telemetry_one_in,
        });
    }
    out
}

fn mode_bands(desk: &mut Desk<'_>, section: &Section<'_>, bands: &[Band]) -> Vec<String> {
    let mut out = Vec::new();
    for item in section.get("bands").list(desk) {
        let Some(text) = item.filled(desk) else { continue };
        let wanted = squeeze(&text);
        let band = bands.iter().find(|band| {
            squeeze(&band.name) == wanted || band.also.iter().any(|also| squeeze(also) == wanted)
        });
        if let Some(band) = band {
            out.push(band.name.clone());
        } else {
            let known: Vec<String> =
                bands.iter().take(5).map(|band| format!("\"{}\"", shown(&band.name))).collect();
            let says = format!(
                "is \"{}\", and no [[band]] is called that; the bands are {}",
                shown(&text),
                known.join(", ")
            );
            desk.report(item.line, item.key, says);
        }
    }
    out
}

fn modulation(desk: &mut Desk<'_>, section: &Section<'_>) -> Modulation {
    const CSS: [&str; 3] = ["spreading_factor", "bandwidth_khz", "coding_rate"];
    const FSK: [&str; 2] = ["bit_rate_kbps", "deviation_khz"];
    const STATED: [&str; 1] = ["sensitivity_dbm"];
    let way = section
        .need(desk, "modulation")
        .choice(desk, &[("css", Way::Css), ("fsk", Way::Fsk), ("stated", Way::Stated)]);
    for (one, names) in [(Way::Css, &CSS[..]), (Way::Fsk, &FSK[..]), (Way::Stated, &STATED[..])] {
        if way.is_some_and(|way| way != one) {
            let word = match one {
                Way::Css => "css",
                Way::Fsk => "fsk",
                Way::Stated => "stated",
            };
            section.only_with(desk, names, &format!("modulation = \"{word}\""));
        }
    }
    match way {
        Some(Way::Css) => Modulation::Css {
            spreading_factor: section.need(desk, "spreading_factor").whole(desk, 5, 12).unwrap_or_default(),
            bandwidth: Khz(section
                .need(desk, "bandwidth_khz")
                .number(desk, 0.1, 100_000.0)
                .unwrap_or_default()),
            coding_rate: section.get("coding_rate").whole(desk, 5, 8).unwrap_or(5),
        },
        Some(Way::Fsk) => Modulation::Fsk {
            bit_rate_kbps: section
                .need(desk, "bit_rate_kbps")
                .number(desk, 0.01, 100_000.0)
                .unwrap_or_default(),
            deviation: Khz(section
                .need(desk, "deviation_khz")
                .number(desk, 0.01, 100_000.0)
                .unwrap_or_default()),
        },
        Some(Way::Stated) => Modulation::Stated {
            sensitivity: Dbm(section
                .need(desk, "sensitivity_dbm")
                .number(desk, -200.0, 0.0)
                .unwrap_or_default()),
        },
        None => Modulation::Stated { sensitivity: Dbm(0.0) },
    }
}

fn power(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Milliwatts> {
    let mut out: Vec<Milliwatts> = Vec::new();
    let Some(section) = top.section(desk, "power", POWER) else { return out };
    for item in section.get("steps_mw").list(desk) {
        let Some(step) = item.number(desk, POWERS_MW.0, POWERS_MW.1).map(Milliwatts) else { continue };
        if out.contains(&step) {
            desk.report(item.line, item.key, format!("says {} mW a second time; leave it out", step.0));
        } else {
            out.push(step);
        }
    }
    out
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
            energises: energises(desk, &section),
            minutes: section.need(desk, "minutes").minutes(desk),
        },
        None => Pairing { gesture: Vec::new(), energises: Vec::new(), minutes: Minutes::ZERO },
    }
}

fn lamps(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Lamp> {
    let mut out: Vec<Lamp> = Vec::new();
    for section in top.sections(desk, "lamp", LAMP) {
        let state = section.need(desk, "state").filled(desk).unwrap_or_default();
        let shows = section.need(desk, "shows").filled(desk).unwrap_or_default();
        if !state.is_empty() && out.iter().any(|lamp| squeeze(&lamp.state) == squeeze(&state)) {
            let says = format!("says \"{}\", which has a lamp already; keep one of the two", shown(&state));
            section.get("state").report(desk, says);
        }
        out.push(Lamp { state, shows });
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

fn flash(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<FlashRoute> {
    const SIDES: [(&str, Side); 2] = [("transmitter", Side::Transmitter), ("receiver", Side::Receiver)];
    let wipeable: Vec<(&str, Field)> = [Field::Partners, Field::Secret, Field::ModelId, Field::Region]
        .map(|field| (field.key(), field))
        .to_vec();
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
            wipes: section.need(desk, "wipes").choices(desk, &wipeable),
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
