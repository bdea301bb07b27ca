//! Writes a family as the file that [`super::read`] reads: reading it back gives the
//! same family.

use std::fmt::Write as _;

use super::read::SCHEMA;
use super::{
    CheckedAt, Energised, Family, ModelIdRule, Modulation, Reach, Release, Releases, SecretRule, VersionRule,
    VersionSpan,
};

/// The family as a TOML file, with a line on what each section is for.
pub fn write(family: &Family) -> String {
    let mut out = Page::default();
    out.note("A link family: how one radio system pairs and links, written from its manual.");
    out.note("What every key means stands in docs/families.md.");
    out.key("schema", SCHEMA);
    out.head("[family]", "");
    out.key("name", text(&family.name));
    out.key("summary", text(&family.summary));
    out.key("invented", family.invented);
    bands(&mut out, family);
    rules(&mut out, family);
    modes(&mut out, family);
    out.head("[power]", "The transmit power steps.");
    out.key("steps_mw", list(family.power_steps.iter().map(|step| step.0)));
    out.known("telemetry_mw", family.telemetry_power.map(|power| power.0));
    if let Some(after) = family.failsafe_after {
        out.head("[failsafe]", "When a receiver that hears no packet goes to its failsafe.");
        out.key("after_s", after.0);
    }
    bench(&mut out, family);
    reaches(&mut out, &family.reaches);
    releases(&mut out, &family.releases);
    faults(&mut out, family);
    if !family.minutes.is_empty() {
        out.head(
            "[minutes]",
            "What a check or a mend takes on these devices, where the workshop's figure is wrong.",
        );
        for (key, minutes) in &family.minutes {
            out.key(&text(key), minutes.0);
        }
    }
    out.0
}

/// Releases that a workshop adds to a family, as the text that
/// [`super::release::read_releases`] reads: reading it back gives the same.
pub fn write_releases(of: &Releases) -> String {
    let mut out = Page::default();
    out.note("Releases that this workshop adds to a link family.");
    out.note("What every key means stands in docs/families.md.");
    out.key("schema", SCHEMA);
    out.key("family", text(&of.family));
    reaches(&mut out, &of.reaches);
    releases(&mut out, &of.releases);
    out.0
}

fn bands(out: &mut Page, family: &Family) {
    for (i, band) in family.bands.iter().enumerate() {
        out.head("[[band]]", if i == 0 { "The bands its ends can have." } else { "" });
        out.key("name", text(&band.name));
        out.key("also", texts(&band.also));
        out.key("low_mhz", band.low.0);
        out.key("high_mhz", band.high.0);
        out.key("channels", band.channels);
        out.known("spacing_khz", band.spacing.map(|spacing| spacing.0));
        out.known("noise_figure_db", band.noise_figure.map(|figure| figure.0));
        out.known("access", band.access.map(|access| text(access.word())));
    }
}

fn rules(out: &mut Page, family: &Family) {
    out.head("[region]", "Region variants of the firmware.");
    out.key("variants", texts(&family.regions.variants));
    out.key("must_match", family.regions.must_match);

    out.head("[version]", "Which firmware versions talk to each other.");
    match &family.versions {
        VersionRule::Any => out.key("rule", text("any")),
        VersionRule::SameParts { parts, called } => {
            out.key("rule", text("same-parts"));
            out.key("parts", parts);
            out.key("called", text(called));
        }
        VersionRule::Groups(groups) => {
            out.key("rule", text("groups"));
            for group in groups {
                out.head("[[version.group]]", "");
                out.key("name", text(&group.name));
                out.key("spans", list(group.spans.iter().map(|span| text(&span_word(span)))));
            }
        }
    }

    out.head("[secret]", "The shared word that both ends must hold.");
    match family.secret {
        SecretRule::Absent => out.key("rule", text("none")),
        SecretRule::Equal { blank_allowed, links_unpaired } => {
            out.key("rule", text("equal"));
            out.key("blank_allowed", blank_allowed);
            out.key("links_unpaired", links_unpaired);
        }
    }

    out.head("[partners]", "How many transmitters a receiver remembers.");
    out.key("remembers", family.partners.remembers);
    out.key("pairing_drops_others", family.partners.pairing_drops_others);

    out.head("[model_id]", "The number that keeps a wrong model memory from driving an aircraft.");
    match &family.model_id {
        ModelIdRule::Absent => out.key("checked_at", text("none")),
        ModelIdRule::Checked { at, low, high, off, refused } => {
            let at = match at {
                CheckedAt::Receiver => "receiver",
                CheckedAt::Transmitter => "transmitter",
            };
            out.key("checked_at", text(at));
            out.key("low", low);
            out.key("high", high);
            out.known("off", *off);
            out.key("refused", text(refused));
        }
    }
}

fn modes(out: &mut Page, family: &Family) {
    for (i, mode) in family.modes.iter().enumerate() {
        out.head("[[mode]]", if i == 0 { "The packet modes." } else { "" });
        out.key("name", text(&mode.name));
        out.key("bands", texts(&mode.bands));
        match &mode.modulation {
            Modulation::Css { spreading_factor, bandwidth, coding_rate } => {
                out.key("modulation", text("css"));
                out.key("spreading_factor", spreading_factor);
                out.key("bandwidth_khz", bandwidth.0);
                out.key("coding_rate", coding_rate);
            }
            Modulation::Fsk { bit_rate_kbps, deviation } => {
                out.key("modulation", text("fsk"));
                out.key("bit_rate_kbps", bit_rate_kbps);
                out.key("deviation_khz", deviation.0);
            }
            Modulation::Stated { sensitivity, occupied, airtime } => {
                out.key("modulation", text("stated"));
                out.key("sensitivity_dbm", sensitivity.0);
                out.known("occupied_khz", occupied.map(|width| width.0));
                out.known("airtime_us", airtime.map(|time| time.0));
            }
        }
        let packet = &mode.packet;
        out.known("preamble_symbols", packet.preamble_symbols);
        out.known("header", packet.header.map(|header| text(header.word())));
        out.known("crc", packet.crc);
        out.known("interleaving", packet.interleaving.map(|kind| text(kind.word())));
        out.known("packet_format", packet.chip.map(|chip| text(chip.word())));
        out.key("packet_rate_hz", mode.packet_rate.0);
        out.key("payload_bytes", mode.payload_bytes);
        out.known("hop_every", mode.hop_every);
        out.key("telemetry_one_in", list(mode.telemetry_one_in.iter()));
    }
}

fn bench(out: &mut Page, family: &Family) {
    out.head("[pairing]", "How a receiver is put into pair mode, and what that switches on.");
    out.key("gesture", texts(&family.pairing.gesture));
    out.key("needs", texts(&family.pairing.needs));
    out.key("energises", energised(&family.pairing.energises));
    out.key("minutes", family.pairing.minutes.0);
    for (i, lamp) in family.lamps.iter().enumerate() {
        out.head("[[lamp]]", if i == 0 { "What the receiver's lamp shows." } else { "" });
        out.key("state", text(&lamp.state));
        out.key("shows", text(&lamp.shows));
        out.known("means", lamp.means.map(|means| text(means.word())));
    }
    if let Some(waiting) = &family.waiting {
        out.head("[waiting]", "What the receiver does when it waits and hears nothing.");
        out.key("after_s", waiting.after_s);
        out.key("does", text(&waiting.does));
        out.key("settings_at", text(&waiting.settings_at));
    }
    for (i, route) in family.flash.iter().enumerate() {
        out.head("[[flash]]", if i == 0 { "The ways to write firmware, and what each wipes." } else { "" });
        out.key("name", text(&route.name));
        out.key("side", text(route.side.word()));
        out.key("minutes", route.minutes.0);
        out.key("needs", texts(&route.needs));
        out.key("energises", energised(&route.energises));
        out.key("wipes", list(route.wipes.iter().map(|field| text(field.key()))));
        out.known("fails_one_in", route.fails_one_in);
        if !route.recovery.is_empty() {
            out.key("recovery", text(&route.recovery));
        }
        out.known("recovery_minutes", route.recovery_minutes.map(|minutes| minutes.0));
    }
}

fn reaches(out: &mut Page, reaches: &[Reach]) {
    for (i, reach) in reaches.iter().enumerate() {
        out.head("[[reach]]", if i == 0 { "What the words of `needs` are." } else { "" });
        out.key("name", text(&reach.name));
        out.key("sort", text(reach.sort.word()));
        out.known("minutes", reach.minutes.map(|minutes| minutes.0));
    }
}

fn releases(out: &mut Page, releases: &[Release]) {
    for (i, release) in releases.iter().enumerate() {
        out.head("[[release]]", if i == 0 { "The firmware releases." } else { "" });
        out.key("version", text(&release.version));
        out.known("side", release.side.map(|side| text(side.word())));
        out.key("hardware", texts(&release.hardware));
        out.known("from", release.from.as_ref().map(|from| text(&from.to_string())));
        // Routes mean something only with a side.
        if release.side.is_some() {
            out.key("routes", texts(&release.routes));
        }
        out.key("wipes", list(release.wipes.iter().map(|field| text(field.key()))));
        out.key("changes", texts(&release.changes));
        out.key("no_way_back", text(&release.no_way_back));
    }
}

fn faults(out: &mut Page, family: &Family) {
    for (i, fault) in family.faults.iter().enumerate() {
        let note = "Faults of its own, and what is otherwise with usual ones. The figures are judgement.";
        out.head("[[fault]]", if i == 0 { note } else { "" });
        out.key("symptom", text(&fault.symptom));
        out.key("key", text(&fault.key));
        out.known("label", fault.label.as_deref().map(text));
        out.known("weight", fault.weight);
        if let Some(ask) = &fault.ask {
            out.key("ask", text(ask));
            out.key("ask_how", text(&fault.ask_how));
            out.known("ask_minutes", fault.ask_minutes.map(|minutes| minutes.0));
            out.key("yes_if", fault.yes_if);
            out.key("yes_else", fault.yes_else);
        }
        if let Some(mend) = &fault.mend {
            out.key("mend", text(mend));
            out.key("mend_how", text(&fault.mend_how));
            out.known("mend_minutes", fault.mend_minutes.map(|minutes| minutes.0));
            out.key("cures", fault.cures);
        }
        if fault.ask.is_some() || fault.mend.is_some() {
            out.key("energises", energised(&fault.energises));
        }
    }
}

/// The file as far as it is written.
#[derive(Default)]
struct Page(String);

impl Page {
    fn note(&mut self, note: &str) {
        self.line(format_args!("# {note}"));
    }

    fn head(&mut self, head: &str, note: &str) {
        self.0.push('\n');
        if !note.is_empty() {
            self.note(note);
        }
        self.line(format_args!("{head}"));
    }

    fn key(&mut self, key: &str, value: impl std::fmt::Display) {
        self.line(format_args!("{key} = {value}"));
    }

    /// A key that is left out when its value is not known.
    fn known(&mut self, key: &str, value: Option<impl std::fmt::Display>) {
        if let Some(value) = value {
            self.key(key, value);
        }
    }

    fn line(&mut self, line: std::fmt::Arguments<'_>) {
        // Writing to a string can't fail.
        let _ = writeln!(self.0, "{line}");
    }
}

fn span_word(span: &VersionSpan) -> String {
    if span.from == span.to { span.from.to_string() } else { format!("{}..{}", span.from, span.to) }
}

fn energised(list_of: &[Energised]) -> String {
    list(list_of.iter().map(|one| text(one.word())))
}

fn texts(list_of: &[String]) -> String {
    list(list_of.iter().map(|one| text(one)))
}

/// On one line while it is short, else one value a line.
fn list(values: impl Iterator<Item = impl std::fmt::Display>) -> String {
    let values: Vec<String> = values.map(|value| value.to_string()).collect();
    let line = values.join(", ");
    if line.chars().count() <= 90 {
        format!("[{line}]")
    } else {
        format!("[\n    {},\n]", values.join(",\n    "))
    }
}

/// A text in quotes; what can't be seen, or would move the text around it, is spelt out.
fn text(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() || super::read::moves_text(c) => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
