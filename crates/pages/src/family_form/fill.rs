//! A family as the fields of the form.

use std::fmt::Display;

use register::family::{
    Access, CheckedAt, ChipKind, Energised, Family, HeaderKind, InterleavingKind, LampState, ModelIdRule,
    Modulation, SecretRule, Side, VersionRule,
};

/// Fields in the making.
#[derive(Default)]
struct Sheet(Vec<(String, String)>);

impl Sheet {
    fn put(&mut self, name: &str, value: impl Display) {
        self.0.push((name.to_owned(), format!("{value}")));
    }

    /// A field that stays empty when its value is not known.
    fn known(&mut self, name: &str, value: Option<impl Display>) {
        if let Some(value) = value {
            self.put(name, value);
        }
    }

    fn list(&mut self, name: &str, values: impl IntoIterator<Item = impl ToString>) {
        let values: Vec<String> = values.into_iter().map(|value| value.to_string()).collect();
        self.put(name, values.join("; "));
    }

    fn energised(&mut self, name: &str, energised: &[Energised]) {
        for one in energised {
            self.put(name, one.word());
        }
    }
}

/// A family as the fields of the form, so that a starter or an earlier file fills it in.
pub fn from_family(family: &Family) -> Vec<(String, String)> {
    let mut sheet = Sheet::default();
    sheet.put("family.name", &family.name);
    sheet.put("family.summary", &family.summary);
    sheet.put("family.invented", family.invented);
    bands(&mut sheet, family);
    rules(&mut sheet, family);
    modes(&mut sheet, family);
    sheet.list("power.steps_mw", family.power_steps.iter().map(|step| step.0));
    sheet.known("power.telemetry_mw", family.telemetry_power.map(|power| power.0));
    sheet.known("failsafe.after_s", family.failsafe_after.map(|after| after.0));
    bench(&mut sheet, family);
    releases(&mut sheet, family);
    faults(&mut sheet, family);
    let minutes: Vec<String> =
        family.minutes.iter().map(|(key, minutes)| format!("{key} = {}", minutes.0)).collect();
    sheet.put("minutes", minutes.join("\n"));
    sheet.0
}

fn bands(sheet: &mut Sheet, family: &Family) {
    for (band, row) in family.bands.iter().zip(1..) {
        let key = |name: &str| format!("band[{row}].{name}");
        sheet.put(&key("name"), &band.name);
        sheet.list(&key("also"), &band.also);
        sheet.put(&key("low_mhz"), band.low.0);
        sheet.put(&key("high_mhz"), band.high.0);
        sheet.put(&key("channels"), band.channels);
        sheet.known(&key("spacing_khz"), band.spacing.map(|spacing| spacing.0));
        sheet.known(&key("noise_figure_db"), band.noise_figure.map(|figure| figure.0));
        sheet.known(&key("access"), band.access.map(Access::word));
    }
    sheet.list("region.variants", &family.regions.variants);
    sheet.put("region.must_match", family.regions.must_match);
}

fn rules(sheet: &mut Sheet, family: &Family) {
    match &family.versions {
        VersionRule::Any => sheet.put("version.rule", "any"),
        VersionRule::SameParts { parts, called } => {
            sheet.put("version.rule", "same-parts");
            sheet.put("version.parts", parts);
            sheet.put("version.called", called);
        }
        VersionRule::Groups(groups) => {
            sheet.put("version.rule", "groups");
            for (group, row) in groups.iter().zip(1..) {
                sheet.put(&format!("version.group[{row}].name"), &group.name);
                let spans = group.spans.iter().map(|span| {
                    if span.from == span.to {
                        span.from.to_string()
                    } else {
                        format!("{}..{}", span.from, span.to)
                    }
                });
                sheet.list(&format!("version.group[{row}].spans"), spans);
            }
        }
    }
    match family.secret {
        SecretRule::Absent => sheet.put("secret.rule", "none"),
        SecretRule::Equal { blank_allowed, links_unpaired } => {
            sheet.put("secret.rule", "equal");
            sheet.put("secret.blank_allowed", blank_allowed);
            sheet.put("secret.links_unpaired", links_unpaired);
        }
    }
    sheet.put("partners.remembers", family.partners.remembers);
    sheet.put("partners.pairing_drops_others", family.partners.pairing_drops_others);
    match &family.model_id {
        ModelIdRule::Absent => sheet.put("model_id.checked_at", "none"),
        ModelIdRule::Checked { at, low, high, off, refused } => {
            let at = match at {
                CheckedAt::Receiver => "receiver",
                CheckedAt::Transmitter => "transmitter",
            };
            sheet.put("model_id.checked_at", at);
            sheet.put("model_id.low", low);
            sheet.put("model_id.high", high);
            sheet.known("model_id.off", *off);
            sheet.put("model_id.refused", refused);
        }
    }
}

fn modes(sheet: &mut Sheet, family: &Family) {
    for (mode, row) in family.modes.iter().zip(1..) {
        let key = |name: &str| format!("mode[{row}].{name}");
        sheet.put(&key("name"), &mode.name);
        sheet.list(&key("bands"), &mode.bands);
        match &mode.modulation {
            Modulation::Css { spreading_factor, bandwidth, coding_rate } => {
                sheet.put(&key("modulation"), "css");
                sheet.put(&key("spreading_factor"), spreading_factor);
                sheet.put(&key("bandwidth_khz"), bandwidth.0);
                sheet.put(&key("coding_rate"), coding_rate);
            }
            Modulation::Fsk { bit_rate_kbps, deviation } => {
                sheet.put(&key("modulation"), "fsk");
                sheet.put(&key("bit_rate_kbps"), bit_rate_kbps);
                sheet.put(&key("deviation_khz"), deviation.0);
            }
            Modulation::Stated { sensitivity, occupied, airtime } => {
                sheet.put(&key("modulation"), "stated");
                sheet.put(&key("sensitivity_dbm"), sensitivity.0);
                sheet.known(&key("occupied_khz"), occupied.map(|width| width.0));
                sheet.known(&key("airtime_us"), airtime.map(|time| time.0));
            }
        }
        let packet = &mode.packet;
        sheet.known(&key("preamble_symbols"), packet.preamble_symbols);
        sheet.known(&key("header"), packet.header.map(HeaderKind::word));
        sheet.known(&key("crc"), packet.crc);
        sheet.known(&key("interleaving"), packet.interleaving.map(InterleavingKind::word));
        sheet.known(&key("packet_format"), packet.chip.map(ChipKind::word));
        sheet.put(&key("packet_rate_hz"), mode.packet_rate.0);
        sheet.put(&key("payload_bytes"), mode.payload_bytes);
        sheet.known(&key("hop_every"), mode.hop_every);
        sheet.list(&key("telemetry_one_in"), &mode.telemetry_one_in);
    }
}

fn bench(sheet: &mut Sheet, family: &Family) {
    sheet.put("pairing.gesture", family.pairing.gesture.join("\n"));
    sheet.list("pairing.needs", &family.pairing.needs);
    sheet.energised("pairing.energises", &family.pairing.energises);
    sheet.put("pairing.minutes", family.pairing.minutes.0);
    for (lamp, row) in family.lamps.iter().zip(1..) {
        sheet.put(&format!("lamp[{row}].state"), &lamp.state);
        sheet.put(&format!("lamp[{row}].shows"), &lamp.shows);
        sheet.known(&format!("lamp[{row}].means"), lamp.means.map(LampState::word));
    }
    if let Some(waiting) = &family.waiting {
        sheet.put("waiting.after_s", waiting.after_s);
        sheet.put("waiting.does", &waiting.does);
        sheet.put("waiting.settings_at", &waiting.settings_at);
    }
    for (route, row) in family.flash.iter().zip(1..) {
        let key = |name: &str| format!("flash[{row}].{name}");
        sheet.put(&key("name"), &route.name);
        sheet.put(&key("side"), route.side.word());
        sheet.put(&key("minutes"), route.minutes.0);
        sheet.list(&key("needs"), &route.needs);
        sheet.energised(&key("energises"), &route.energises);
        for field in &route.wipes {
            sheet.put(&key("wipes"), field.key());
        }
        sheet.known(&key("fails_one_in"), route.fails_one_in);
        sheet.put(&key("recovery"), &route.recovery);
        sheet.known(&key("recovery_minutes"), route.recovery_minutes.map(|minutes| minutes.0));
    }
}

fn releases(sheet: &mut Sheet, family: &Family) {
    for (reach, row) in family.reaches.iter().zip(1..) {
        let key = |name: &str| format!("reach[{row}].{name}");
        sheet.put(&key("name"), &reach.name);
        sheet.put(&key("sort"), reach.sort.word());
        sheet.known(&key("minutes"), reach.minutes.map(|minutes| minutes.0));
    }
    for (release, row) in family.releases.iter().zip(1..) {
        let key = |name: &str| format!("release[{row}].{name}");
        sheet.put(&key("version"), &release.version);
        sheet.known(&key("side"), release.side.map(Side::word));
        sheet.put(&key("hardware"), release.hardware.join("\n"));
        sheet.known(&key("from"), release.from.as_ref());
        sheet.put(&key("routes"), release.routes.join("\n"));
        for field in &release.wipes {
            sheet.put(&key("wipes"), field.key());
        }
        sheet.put(&key("changes"), release.changes.join("\n"));
        sheet.put(&key("no_way_back"), &release.no_way_back);
    }
}

fn faults(sheet: &mut Sheet, family: &Family) {
    for (fault, row) in family.faults.iter().zip(1..) {
        let key = |name: &str| format!("fault[{row}].{name}");
        sheet.put(&key("symptom"), &fault.symptom);
        sheet.put(&key("key"), &fault.key);
        sheet.known(&key("label"), fault.label.as_ref());
        sheet.known(&key("weight"), fault.weight);
        if let Some(ask) = &fault.ask {
            sheet.put(&key("ask"), ask);
            sheet.put(&key("ask_how"), &fault.ask_how);
            sheet.known(&key("ask_minutes"), fault.ask_minutes.map(|minutes| minutes.0));
            sheet.put(&key("yes_if"), fault.yes_if);
            sheet.put(&key("yes_else"), fault.yes_else);
        }
        if let Some(mend) = &fault.mend {
            sheet.put(&key("mend"), mend);
            sheet.put(&key("mend_how"), &fault.mend_how);
            sheet.known(&key("mend_minutes"), fault.mend_minutes.map(|minutes| minutes.0));
            sheet.put(&key("cures"), fault.cures);
        }
        sheet.energised(&key("energises"), &fault.energises);
    }
}
