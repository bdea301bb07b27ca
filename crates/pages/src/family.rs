//! `GET /families` and `GET /family/{name}`: link families.

mod releases;

use maud::{Markup, html};
use register::family::read::Problem;
use register::family::{
    CheckedAt, Family, FamilyFault, LampState, ModelIdRule, Modulation, PacketFormat, SecretRule, Side,
    VersionRule,
};
use register::register::Register;
use register::view::Card;

use crate::site::Site;
use crate::words;

/// A family's page.
#[derive(Clone, Debug)]
pub struct FamilySheet<'a> {
    /// Its name, as devices and the workshop write it.
    pub name: &'a str,
    /// What its file says, where there is one that can be read.
    pub family: Option<&'a Family>,
    /// What is wrong with its file.
    pub problems: &'a [Problem],
    /// Devices with an end that speaks it.
    pub users: &'a [Card],
}

/// Every family of the workshop; `missing` are names that ends speak and no file explains.
pub fn list(site: &Site, register: &Register, missing: &[String]) -> Markup {
    let families: Vec<_> = register.families().collect();
    let body = html! {
        p.answer {
            @if families.is_empty() { "No link family is written down yet." }
            @else { (words::counted(families.len() as u64, "link family is", "link families are")) " written down." }
        }
        p { "A link family describes one radio system: its bands, and the rules by which two ends link. You write it from the manual of your system; the program knows no product." }
        @if !missing.is_empty() {
            section.next aria-labelledby="missing" {
                h2 id="missing" { "Spoken, but not written down" }
                ul { @for name in missing { li { (words::name(name)) } } }
                p { "Until then every link of these is unknown." }
            }
        }
        @if !families.is_empty() {
            table.stack data-filter {
                caption { "Link families" }
                thead { tr { th scope="col" { "Family" } th scope="col" { "Summary" } th scope="col" { "Since" } } }
                tbody {
                    @for (key, used) in &families {
                        @let shown = used.family.as_ref().map_or(*key, |family| family.name.as_str());
                        tr {
                            th scope="row" { a href={ "/family/" (words::encode(shown)) } { (words::name(shown)) } }
                            td data-label="Summary" {
                                @match &used.family {
                                    Some(family) => { (words::prose(&family.summary)) @if family.invented { " " em { "invented, for examples" } } }
                                    None => strong.flag { "its file can't be read" }
                                }
                            }
                            td data-label="Since" { (words::date(used.since)) }
                        }
                    }
                }
            }
        }
        p.main-action { a.main href="/family/new" { "Write a link family down" } }
    };
    site.page("Link families", &body)
}

/// One family: its rules in sentences, its gesture, lamps and flash routes.
pub fn page(site: &Site, sheet: &FamilySheet) -> Markup {
    let body = html! {
        @match sheet.family {
            None => {
                p.answer { "Its rules are not known: there is no file for it that can be read." }
                (problems(sheet.problems))
                p.main-action { a.main href="/family/new" { "Write it down from its manual" } }
            }
            Some(family) => {
                p.answer { (words::prose(&family.summary)) @if family.summary.is_empty() { "A link family." } }
                @if family.invented { p { em { "Invented: it exists only in examples." } } }
                (problems(sheet.problems))
                (rules(family))
                (pairing(family))
                (lamps_with_meaning(family))
                (waiting(family))
                (flash(family))
                (releases::reaches(family))
                (releases::releases(family))
                (faults(family))
                (modes(family))
                (own_minutes(family))
                p {
                    a href={ "/family/" (words::encode(&family.name)) ".toml" } { "Take the file along" }
                    " · " a href={ "/family/new?from=" (words::encode(&family.name)) } { "Change it, or start another from it" }
                }
            }
        }
        @if !sheet.users.is_empty() {
            section aria-labelledby="users" {
                h2 id="users" { "Spoken by" }
                ul.cards { @for card in sheet.users { li { (words::device_full(card)) } } }
                p { a href={ "/links?family=" (words::encode(sheet.name)) } { "Its links" } }
            }
        }
    };
    site.page(sheet.name, &body)
}

pub(crate) fn problems(problems: &[Problem]) -> Markup {
    html! {
        @if !problems.is_empty() {
            section.problems aria-labelledby="problems" role="alert" {
                h2 id="problems" { (words::counted(problems.len() as u64, "problem", "problems")) " in the file" }
                ul { @for one in problems { li { (words::prose(&one.to_string())) } } }
            }
        }
    }
}

fn version(rule: &VersionRule) -> Markup {
    html! {
        @match rule {
            VersionRule::Any => "Any two firmware versions link.",
            VersionRule::SameParts { parts, called } => {
                @if *parts == 1 { "Versions with the same " (words::name(called)) " number link." }
                @else { "Versions with the same first " (parts) " numbers (up to " (words::name(called)) ") link." }
            }
            VersionRule::Groups(groups) => {
                "Versions within one group link: "
                @for (at, group) in groups.iter().enumerate() {
                    @if at > 0 { "; " }
                    (words::name(&group.name)) " ("
                    @for (at, span) in group.spans.iter().enumerate() {
                        @if at > 0 { ", " }
                        (span.from) @if span.from != span.to { " to " (span.to) }
                    }
                    ")"
                }
                "."
            }
        }
    }
}

fn rules(family: &Family) -> Markup {
    html! {
        section aria-labelledby="rules" {
            h2 id="rules" { "Its rules" }
            dl.rules {
                dt { "Bands" }
                dd { ul { @for band in &family.bands {
                    li {
                        (words::name(&band.name)) ": " (band.low) " to " (band.high)
                        @if band.channels > 0 { ", " (band.channels) " channels" }
                        @if let Some(spacing) = band.spacing { ", " (spacing.0) " kHz apart" }
                        @if let Some(figure) = band.noise_figure { ", noise figure " (figure.0) " dB" }
                        @if let Some(access) = band.access { ", " (access.label()) }
                    }
                } } }
                dt { "Region variants" }
                dd {
                    @if family.regions.variants.is_empty() { "It has none." }
                    @else { bdi { (words::clip(&family.regions.variants.join(", "))) }
                        (if family.regions.must_match { ". Both ends must have the same." } else { ". They don't keep ends apart." }) }
                }
                dt { "Firmware" } dd { (version(&family.versions)) }
                dt { "Link secret" }
                dd { @match family.secret {
                    SecretRule::Absent => "It has none.",
                    SecretRule::Equal { blank_allowed, links_unpaired } => {
                        "Both ends must hold the same."
                        @if blank_allowed { " Two blank ends can be paired by hand." }
                        @if links_unpaired { " Equal secrets link without pairing, and then with every transmitter that holds it." }
                    }
                } }
                dt { "Partners" }
                dd {
                    "A receiver remembers " (words::counted(u64::from(family.partners.remembers), "transmitter", "transmitters")) ". "
                    @if family.partners.pairing_drops_others { "Pairing makes it forget all others." }
                    @else { "The oldest goes when there is no room." }
                }
                dt { "Model ID" }
                dd { @match &family.model_id {
                    ModelIdRule::Absent => "It has no such check.",
                    ModelIdRule::Checked { at, low, high, off, refused } => {
                        (low) " to " (high) ", checked at the "
                        (match at { CheckedAt::Receiver => "receiver", CheckedAt::Transmitter => "transmitter" }) ". "
                        @if let Some(off) = off { (off) " switches the check off. " }
                        @if !refused.is_empty() { "A refused end: " (words::prose(refused)) "." }
                    }
                } }
                @if !family.power_steps.is_empty() {
                    dt { "Power steps" }
                    dd { @for (at, step) in family.power_steps.iter().enumerate() { @if at > 0 { ", " } (step.0) } " mW" }
                }
                @if let Some(power) = family.telemetry_power {
                    dt { "Telemetry power" } dd { "Receivers send with " (power.0) " mW" }
                }
                @if let Some(after) = family.failsafe_after {
                    dt { "Failsafe" } dd { "After " (after.0) " s without a valid packet" }
                }
            }
        }
    }
}

/// How a receiver is paired, with its cautions.
pub(crate) fn pairing(family: &Family) -> Markup {
    let cautions: Vec<&str> = family.pairing.energises.iter().map(|one| one.caution()).collect();
    html! {
        section aria-labelledby="pairing" {
            h2 id="pairing" { "How it is paired, " (words::minutes(family.pairing.minutes)) }
            (words::cautions(&cautions))
            @if !family.pairing.needs.is_empty() { p { "Needs " (words::prose(&family.pairing.needs.join(", "))) "." } }
            @if family.pairing.gesture.is_empty() { p { "The family file doesn't say." } }
            @else { ol { @for step in &family.pairing.gesture { li { (words::prose(step)) } } } }
        }
    }
}

/// What a receiver's lamp shows.
pub(crate) fn lamps(family: &Family) -> Markup {
    html! {
        @if !family.lamps.is_empty() {
            table.facts {
                caption { "What its lamp shows" }
                thead { tr { th scope="col" { "State" } th scope="col" { "Lamp" } } }
                tbody { @for lamp in &family.lamps { tr { th scope="row" { (words::name(&lamp.state)) } td { (words::prose(&lamp.shows)) } } } }
            }
        }
    }
}

/// The same, with what each state means to the program where the file says so.
fn lamps_with_meaning(family: &Family) -> Markup {
    if family.lamps.iter().all(|lamp| lamp.means.is_none()) {
        return lamps(family);
    }
    html! {
        table.stack {
            caption { "What its lamp shows" }
            thead { tr { th scope="col" { "State" } th scope="col" { "Lamp" } th scope="col" { "What that means" } } }
            tbody {
                @for lamp in &family.lamps {
                    tr {
                        th scope="row" { (words::name(&lamp.state)) }
                        td data-label="Lamp" { (words::prose(&lamp.shows)) }
                        td data-label="What that means" { (lamp.means.map_or("not said", LampState::label)) }
                    }
                }
            }
        }
    }
}

fn waiting(family: &Family) -> Markup {
    html! {
        @if let Some(waiting) = &family.waiting {
            p { "Left waiting for " (waiting.after_s) " seconds it " (words::prose(&waiting.does)) "."
                @if !waiting.settings_at.is_empty() { " Its settings page: " (words::prose(&waiting.settings_at)) "." } }
        }
    }
}

fn flash(family: &Family) -> Markup {
    html! {
        @if !family.flash.is_empty() {
            section aria-labelledby="flash" {
                h2 id="flash" { "How it is flashed" }
                @for route in &family.flash {
                    h3 { (words::name(&route.name)) ", the " (match route.side { Side::Transmitter => "transmitter", Side::Receiver => "receiver" })
                        ", " (words::minutes(route.minutes)) }
                    @let cautions: Vec<&str> = route.energises.iter().map(|one| one.caution()).collect();
                    (words::cautions(&cautions))
                    @if !route.needs.is_empty() { p { "Needs " (words::prose(&route.needs.join(", "))) "." } }
                    p {
                        @if route.wipes.is_empty() { "It wipes nothing." }
                        @else {
                            @let wiped: Vec<&str> = route.wipes.iter().map(|field| field.label()).collect();
                            "It wipes: " (wiped.join(", ")) "."
                        }
                        @if let Some(of) = route.fails_one_in { " One in " (of) " fails half-way." }
                    }
                    @if !route.recovery.is_empty() || route.recovery_minutes.is_some() {
                        p {
                            "When it failed half-way"
                            @if let Some(minutes) = route.recovery_minutes { ", " (words::minutes(minutes)) }
                            ": "
                            @if route.recovery.is_empty() { "the family file doesn't say what to do." }
                            @else { (words::prose(&route.recovery)) }
                        }
                    }
                }
            }
        }
    }
}

/// Its own faults, and what is otherwise with usual ones.
fn faults(family: &Family) -> Markup {
    html! {
        @if !family.faults.is_empty() {
            section aria-labelledby="faults" {
                h2 id="faults" { "Faults of its own" }
                p.hint { "What the family's author adds to the fault trails; the figures are the author's judgement." }
                @for fault in &family.faults { (own_fault(fault)) }
            }
        }
    }
}

fn own_fault(fault: &FamilyFault) -> Markup {
    let cautions: Vec<&str> = fault.energises.iter().map(|one| one.caution()).collect();
    html! {
        h3 { (words::prose(fault.label.as_deref().unwrap_or(&fault.key))) }
        p {
            "A cause of " code { (words::name(&fault.symptom)) } ", called " code { (words::name(&fault.key)) } "."
            @if let Some(weight) = fault.weight { " Its weight is " (weight) "." }
        }
        (words::cautions(&cautions))
        @if let Some(ask) = &fault.ask {
            p {
                strong { (words::prose(ask)) }
                @if let Some(minutes) = fault.ask_minutes { " " (words::minutes(minutes)) }
                @if !fault.ask_how.is_empty() { br; (words::prose(&fault.ask_how)) }
                br; "A yes comes in " (percent(fault.yes_if)) " when it is this, in " (percent(fault.yes_else)) " when it isn't."
            }
        }
        @if let Some(mend) = &fault.mend {
            p {
                strong { (words::prose(mend)) }
                @if let Some(minutes) = fault.mend_minutes { " " (words::minutes(minutes)) }
                @if !fault.mend_how.is_empty() { br; (words::prose(&fault.mend_how)) }
                br; "It cures this in " (percent(fault.cures)) "."
            }
        }
    }
}

/// A likelihood as parts of a hundred, to a tenth.
fn percent(chance: f64) -> String {
    format!("{} %", (chance * 1000.0).round() / 10.0)
}

fn modes(family: &Family) -> Markup {
    html! {
        @if !family.modes.is_empty() {
            table.stack {
                caption { "Packet modes" }
                thead { tr { th scope="col" { "Mode" } th scope="col" { "Modulation" } th scope="col" { "Packets a second" } th scope="col" { "Payload" } th scope="col" { "Telemetry" } } }
                tbody {
                    @for mode in &family.modes {
                        tr {
                            th scope="row" { (words::name(&mode.name)) }
                            td data-label="Modulation" { @match &mode.modulation {
                                Modulation::Css { spreading_factor, bandwidth, coding_rate } => {
                                    "chirp spread spectrum, spreading factor " (spreading_factor) ", " (bandwidth.0) " kHz, coding rate 4/" (coding_rate)
                                }
                                Modulation::Fsk { bit_rate_kbps, deviation } => {
                                    "frequency-shift keying, " (bit_rate_kbps) " kbit/s, deviation " (deviation.0) " kHz"
                                }
                                Modulation::Stated { sensitivity, occupied, airtime } => {
                                    "sensitivity " (sensitivity.0) " dBm"
                                    @if let Some(width) = occupied { ", " (width.0) " kHz occupied" }
                                    @if let Some(time) = airtime { ", " (time.ms()) " ms on the air" }
                                }
                            } (packet(&mode.packet)) }
                            td data-label="Packets a second" { (mode.packet_rate.0) @if let Some(hop) = mode.hop_every { ", a hop after " (if hop == 1 { "each".to_owned() } else { format!("every {hop}") }) } }
                            td data-label="Payload" { (mode.payload_bytes) " bytes" }
                            td data-label="Telemetry" {
                                @if mode.telemetry_one_in.is_empty() { "none" }
                                @for (at, share) in mode.telemetry_one_in.iter().enumerate() { @if at > 0 { ", " } "one in " (share) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What is known of a packet's format, after its modulation.
fn packet(packet: &PacketFormat) -> Markup {
    html! {
        @if let Some(symbols) = packet.preamble_symbols { ", preamble of " (words::counted(u64::from(symbols), "symbol", "symbols")) }
        @if let Some(header) = packet.header { ", " (header.label()) }
        @if let Some(crc) = packet.crc { (if crc { ", checksum" } else { ", no checksum" }) }
        @if let Some(interleaving) = packet.interleaving { ", " (interleaving.label()) }
        @if let Some(chip) = packet.chip { ", " (chip.label()) }
    }
}

fn own_minutes(family: &Family) -> Markup {
    html! {
        @if !family.minutes.is_empty() {
            table.facts {
                caption { "Minutes that differ on these devices" }
                thead { tr { th scope="col" { "Check or mend" } th scope="col" { "Minutes" } } }
                tbody { @for (key, minutes) in &family.minutes { tr { th scope="row" { (words::name(key)) } td { (words::minutes(*minutes)) } } } }
            }
        }
    }
}
