//! What the register and a family file know of a link's radio, as [`link`] wants it.

use link::css::{Chip, Coding, Css, Header, Interleaving, LowRate};
use link::fsk::Fsk;
use link::law::{Access as LawAccess, Limits};
use link::mode;
use link::wish::{Gear, GearMode};

use crate::family::{Access, Band, ChipKind, Family, HeaderKind, InterleavingKind, Mode, Modulation};
use crate::field::Field;
use crate::rule::{self, Rule, Ruling, Status, rules_for};
use crate::scene::Scene;
use crate::value::EndRef;
use crate::verdict;
use crate::view::{self, EndView, ReceiverView, TransmitterView};

/// The gear of one link, with what suggests itself from what is written down.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The gear.
    pub gear: Gear,
    /// Values for inputs that the register suggests.
    pub suggested: Vec<Suggested>,
    /// What must be known of the link: that it is blocked, say.
    pub notes: Vec<String>,
}

/// Which of the ends is meant, where a device has several.
#[derive(Clone, Copy, Debug, Default)]
pub struct Meant<'a> {
    /// The transmitter's end, by its key.
    pub transmitter_end: Option<&'a str>,
    /// The receiver's end, by its key.
    pub receiver_end: Option<&'a str>,
    /// The band.
    pub band: Option<&'a str>,
}

/// A value that the register suggests for an input of the link sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggested {
    /// The input.
    pub key: &'static str,
    /// The value, as it would be typed.
    pub text: String,
    /// What it is taken from.
    pub from: String,
}

/// The gear of a link isn't known well enough to reckon with.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoGear {
    /// The family of neither end is known, or its file isn't.
    #[error(
        "the link family of neither {transmitter} nor {receiver} is known with its file; record it: \
         record {receiver} family NAME, and see `families`"
    )]
    Family {
        /// The transmitter, as it is called.
        transmitter: String,
        /// The receiver, as it is called.
        receiver: String,
    },
    /// The band isn't known, and the family has several.
    #[error(
        "the band of neither {transmitter} nor {receiver} is known, and {family} has {have}; record it: record {receiver} band BAND"
    )]
    Band {
        /// The transmitter, as it is called.
        transmitter: String,
        /// The receiver, as it is called.
        receiver: String,
        /// The family.
        family: String,
        /// Its bands.
        have: String,
    },
    /// The two ends can't hear each other, whatever the distance.
    #[error(
        "{transmitter} and {receiver} can't hear each other, so there is nothing to reckon: they differ in {rule}; \
         see link {transmitter} {receiver}"
    )]
    Deaf {
        /// The transmitter, as it is called.
        transmitter: String,
        /// The receiver, as it is called.
        receiver: String,
        /// The rule that fails.
        rule: &'static str,
    },
    /// No ends are as they were meant.
    #[error("{transmitter} and {receiver} have no ends like that; they have {have}")]
    NoSuchEnds {
        /// The transmitter, as it is called.
        transmitter: String,
        /// The receiver, as it is called.
        receiver: String,
        /// Their ends, with their bands.
        have: String,
    },
    /// No band was named, and the family has several.
    #[error("{family} has several bands; name one: {have}")]
    WhichBand {
        /// The family.
        family: String,
        /// Its bands.
        have: String,
    },
    /// The family has no such band.
    #[error("{family} has no band `{got}`; it has {have}")]
    NoSuchBand {
        /// The family.
        family: String,
        /// What was typed.
        got: String,
        /// Its bands.
        have: String,
    },
}

/// The gear of a family on one band.
pub fn gear(family: &Family, band: &Band) -> Gear {
    Gear {
        family: family.name.clone(),
        band: band.name.clone(),
        low: band.low,
        high: band.high,
        channels: (band.channels > 0).then_some(band.channels),
        spacing: band.spacing,
        access: match band.access {
            None => LawAccess::NotKnown,
            Some(Access::None) => LawAccess::None,
            Some(Access::ListenBeforeTalk) => LawAccess::ListenBeforeTalk,
            Some(Access::DetectAndAvoid) => LawAccess::DetectAndAvoid,
        },
        noise_figure: band.noise_figure,
        modes: family
            .modes
            .iter()
            .filter(|mode| {
                mode.bands.is_empty()
                    || mode.bands.iter().any(|name| family.band(name).is_some_and(|b| b.name == band.name))
            })
            .map(|mode| gear_mode(mode, band))
            .collect(),
        power_steps: family.power_steps.clone(),
        telemetry_power: family.telemetry_power,
        failsafe_after: family.failsafe_after,
    }
}

/// The gear of a family on the band of this name; on its only one when none is named.
///
/// # Errors
/// [`NoGear::NoSuchBand`], naming the bands there are.
pub fn gear_on(family: &Family, band: &str) -> Result<Gear, NoGear> {
    let found = match (band.trim(), family.bands.as_slice()) {
        ("", [only]) => Some(only),
        ("", _) => None,
        (name, _) => family.band(name),
    };
    if found.is_none() && band.trim().is_empty() {
        return Err(NoGear::WhichBand { family: family.name.clone(), have: bands(family) });
    }
    found.map(|band| gear(family, band)).ok_or_else(|| NoGear::NoSuchBand {
        family: family.name.clone(),
        got: band.chars().take(40).collect(),
        have: bands(family),
    })
}

fn bands(family: &Family) -> String {
    family.bands.iter().map(|band| band.name.as_str()).collect::<Vec<_>>().join(", ")
}

/// What the file doesn't say of a packet's format is that of a neutral packet
/// ([`Css::neutral`]).
fn gear_mode(mode: &Mode, band: &Band) -> GearMode {
    let modulation = match mode.modulation {
        Modulation::Css { spreading_factor, bandwidth, coding_rate } => {
            let chip = match mode.packet.chip_on(band) {
                ChipKind::SubGhz => Chip::SubGhz,
                ChipKind::Ghz2g4 => Chip::Ghz2g4,
            };
            let neutral = Css::neutral(
                chip,
                u8::try_from(spreading_factor).unwrap_or(u8::MAX),
                bandwidth,
                u8::try_from(coding_rate).unwrap_or(u8::MAX),
            );
            let packet = &mode.packet;
            mode::Modulation::Css(Css {
                coding: Coding {
                    interleaving: match packet.interleaving {
                        Some(InterleavingKind::Long) => Interleaving::Long,
                        _ => neutral.coding.interleaving,
                    },
                    ..neutral.coding
                },
                preamble_symbols: packet.preamble_symbols.unwrap_or(neutral.preamble_symbols),
                header: match packet.header {
                    Some(HeaderKind::Implicit) => Header::Implicit,
                    Some(HeaderKind::Explicit) => Header::Explicit,
                    None => neutral.header,
                },
                crc: packet.crc.unwrap_or(neutral.crc),
                low_rate: LowRate::Auto,
                ..neutral
            })
        }
        Modulation::Fsk { bit_rate_kbps, deviation } => {
            mode::Modulation::Fsk(Fsk::neutral(bit_rate_kbps, deviation))
        }
        Modulation::Stated { sensitivity, occupied, airtime } => {
            mode::Modulation::Stated { sensitivity, bandwidth: occupied, airtime }
        }
    };
    GearMode {
        mode: mode::Mode {
            name: mode.name.clone(),
            modulation,
            packet_rate: mode.packet_rate,
            payload_bytes: mode.payload_bytes,
            telemetry_one_in: None,
        },
        shares: mode.telemetry_one_in.iter().copied().filter(|share| *share >= 2).collect(),
        hop_every: mode.hop_every,
    }
}

/// The gear of the link between a transmitter and a receiver, and what suggests itself.
///
/// # Errors
/// [`NoGear`], saying what to record.
pub fn of_link(
    scene: &Scene,
    transmitter: &TransmitterView,
    receiver: &ReceiverView,
    limits: &Limits,
    meant: Meant,
) -> Result<Found, NoGear> {
    let (called_t, called_r) = (transmitter.card.label(), receiver.card.label());
    let (t, r, ruling) = ends(transmitter, receiver, meant).ok_or_else(|| NoGear::NoSuchEnds {
        transmitter: called_t.clone(),
        receiver: called_r.clone(),
        have: ends_of(&called_t, &transmitter.ends) + "; " + &ends_of(&called_r, &receiver.ends),
    })?;
    for rule in [Rule::Family, Rule::Band] {
        if ruling.status(rule) == Some(Status::Fail) {
            let rule = rule.label();
            return Err(NoGear::Deaf { transmitter: called_t, receiver: called_r, rule });
        }
    }
    let family = rules_for(t, r)
        .ok_or_else(|| NoGear::Family { transmitter: called_t.clone(), receiver: called_r.clone() })?;
    // The receiver's band is the fixed one; a transmitter's end may serve several.
    let known = [r, t].into_iter().find_map(|end| family.band(end.band.one()?));
    let only = match family.bands.as_slice() {
        [only] => Some(only),
        _ => None,
    };
    let Some(band) = known.or(only) else {
        return Err(NoGear::Band {
            transmitter: called_t,
            receiver: called_r,
            family: family.name.clone(),
            have: bands(family),
        });
    };
    let mut suggested = Vec::new();
    suggested.extend(region(&[(r, &called_r), (t, &called_t)], limits));
    if let Some(words) = antenna(scene, &t.end)
        && let Some(kind) = antenna_kind(&words)
    {
        let from = format!("{called_t}: antenna “{words}”");
        suggested.push(Suggested { key: "tx_antenna", text: kind.to_owned(), from });
    }
    if let Some(words) = antenna(scene, &r.end) {
        let from = format!("{called_r}: antenna “{words}”");
        // Nothing with a beam is reckoned in an aircraft, whose attitude turns.
        if let Some(kind) = antenna_kind(&words).filter(|kind| !matches!(*kind, "patch" | "yagi")) {
            suggested.push(Suggested { key: "rx_antenna", text: kind.to_owned(), from: from.clone() });
        }
        if let Some(mounted) = mounted(&words) {
            suggested.push(Suggested { key: "rx_antennas", text: mounted.to_owned(), from });
        }
    }
    Ok(Found { gear: gear(family, band), suggested, notes: notes(&called_t, &called_r, &ruling) })
}

/// The ends that are meant, of those the ones that go together best.
fn ends<'a>(
    transmitter: &'a TransmitterView,
    receiver: &'a ReceiverView,
    meant: Meant,
) -> Option<(&'a EndView, &'a EndView, Ruling)> {
    let named =
        |end: &EndView, key: Option<&str>| key.is_none_or(|key| end.end.end.eq_ignore_ascii_case(key));
    let on_band = |end: &EndView| match (meant.band, end.rules.as_deref(), end.band.one()) {
        (Some(wanted), Some(family), Some(have)) => {
            let (wanted, have) = (family.band(wanted), family.band(have));
            wanted.is_some() && wanted.map(|band| &band.name) == have.map(|band| &band.name)
        }
        _ => true,
    };
    let mut found: Option<(&EndView, &EndView, Ruling)> = None;
    // Who names an end or a band means it, whatever the model memory chooses.
    let said = meant.transmitter_end.is_some() || meant.band.is_some();
    for (at, t) in transmitter.ends.iter().enumerate() {
        let in_play = said || verdict::end_in_play(transmitter, at, receiver);
        if !in_play || !named(t, meant.transmitter_end) || !on_band(t) {
            continue;
        }
        for r in receiver.ends.iter().filter(|r| named(r, meant.receiver_end) && on_band(r)) {
            let ruling = rule::judge(t, &transmitter.memories, r, receiver.fitted_in());
            if found.as_ref().is_none_or(|(_, _, have)| ruling.rank() < have.rank()) {
                found = Some((t, r, ruling));
            }
        }
    }
    found
}

fn ends_of(called: &str, ends: &[EndView]) -> String {
    let one = |end: &EndView| {
        let band = end.band.one().map_or("band not known", String::as_str);
        format!("{called}/{} ({band})", end.end.end)
    };
    ends.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// A sheet reckons a link as if it held; where it doesn't, it says so.
fn notes(transmitter: &str, receiver: &str, ruling: &Ruling) -> Vec<String> {
    let failed: Vec<&str> = Rule::ALL
        .into_iter()
        .filter(|rule| ruling.status(*rule) == Some(Status::Fail))
        .map(Rule::label)
        .collect();
    if failed.is_empty() {
        return Vec::new();
    }
    vec![format!(
        "{transmitter} and {receiver} are blocked now ({}): this is what the link would do once that is mended.",
        failed.join(", ")
    )]
}

/// A region variant that is called like a region of the limits.
fn region(ends: &[(&EndView, &String)], limits: &Limits) -> Option<Suggested> {
    ends.iter().find_map(|(end, called)| {
        let variant = end.region.one()?;
        let region = limits.region(variant).ok()?;
        let from = format!("{called}: region variant {variant}");
        Some(Suggested { key: "region", text: region.to_owned(), from })
    })
}

fn antenna(scene: &Scene, end: &EndRef) -> Option<String> {
    let device = scene.device(end.device)?;
    let of_end = device.ends.get(&end.end).and_then(|facts| view::words(&facts.facts, Field::Antenna));
    of_end.or_else(|| view::words(&device.whole, Field::Antenna))
}

/// The sort of antenna that an owner's words name, if they name one.
fn antenna_kind(words: &str) -> Option<&'static str> {
    let words = words.to_lowercase();
    let named = [
        ("dipole", "half-wave-dipole"),
        ("half-wave", "half-wave-dipole"),
        ("half wave", "half-wave-dipole"),
        ("monopole", "monopole"),
        ("whip", "monopole"),
        ("quarter-wave", "monopole"),
        ("quarter wave", "monopole"),
        ("patch", "patch"),
        ("yagi", "yagi"),
    ];
    named.into_iter().find(|(word, _)| words.contains(word)).map(|(_, kind)| kind)
}

/// How an owner's words say that the antennas lie, if they say so. Two of which nothing
/// more is said are taken to lie at right angles, as common practice has it.
fn mounted(words: &str) -> Option<&'static str> {
    let words = words.to_lowercase();
    let says = |any: &[&str]| any.iter().any(|part| words.contains(part));
    if says(&["two ", "2 x", "2x", "both ", "pair of"]) {
        return Some(if says(&["parallel", "side by side"]) { "two-parallel" } else { "two-crossed" });
    }
    if says(&["upright", "vertical"]) {
        Some("one-upright")
    } else if says(&["along the wing", "along wing", "in the wing"]) {
        Some("one-along-wing")
    } else if says(&["along the tail", "along the fuselage", "along the body", "along the boom"]) {
        Some("one-along-body")
    } else {
        None
    }
}
