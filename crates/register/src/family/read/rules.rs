//! The rules by which two ends link: regions, versions, secrets, partners, model IDs.

use super::super::{
    CheckedAt, ModelIdRule, PartnerRule, RegionRule, SecretRule, VersionGroup, VersionRule, squeeze,
};
use super::{LONGEST_LIST, spans};
use crate::desk::telling::shown;
use crate::desk::{Desk, Keys, Section};

pub(super) const REGION: Keys = &[("variants", "[\"EU\", \"US\"]"), ("must_match", "true")];
pub(super) const VERSION: Keys =
    &[("rule", "\"same-parts\""), ("parts", "1"), ("called", "\"major\""), ("group", "[[version.group]]")];
pub(super) const GROUP: Keys = &[("name", "\"first\""), ("spans", "[\"1.0..1.9\", \"2.3\"]")];
pub(super) const SECRET: Keys =
    &[("rule", "\"equal\""), ("blank_allowed", "true"), ("links_unpaired", "true")];
pub(super) const PARTNERS: Keys = &[("remembers", "1"), ("pairing_drops_others", "true")];
pub(super) const MODEL_ID: Keys = &[
    ("checked_at", "\"receiver\""),
    ("low", "0"),
    ("high", "63"),
    ("off", "255"),
    ("refused", "\"keeps its outputs still\""),
];

/// Every table of keys here, by its header.
#[cfg(test)]
pub(super) const ALL: &[(&str, Keys)] = &[
    ("[region]", REGION),
    ("[version]", VERSION),
    ("[[version.group]]", GROUP),
    ("[secret]", SECRET),
    ("[partners]", PARTNERS),
    ("[model_id]", MODEL_ID),
];

pub(super) fn regions(desk: &mut Desk<'_>, top: &Section<'_>) -> RegionRule {
    let none = RegionRule { variants: Vec::new(), must_match: false };
    let Some(section) = top.section(desk, "region", REGION) else { return none };
    let variants = section.need(desk, "variants").texts(desk);
    for (i, variant) in variants.iter().enumerate() {
        if variants.iter().take(i).any(|before| squeeze(before) == squeeze(variant)) {
            let says = format!("names \"{}\" twice; leave one out", shown(variant));
            section.get("variants").report(desk, says);
        }
    }
    let must_match = section.get("must_match").flag(desk);
    if must_match == Some(true) && variants.is_empty() {
        section.get("must_match").report(
            desk,
            "is true, but `variants` names none that could match; name them, or leave the section out",
        );
    }
    RegionRule { must_match: must_match.unwrap_or(!variants.is_empty()), variants }
}

/// How the section says which versions go together.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Any,
    SameParts,
    Groups,
}

pub(super) fn versions(desk: &mut Desk<'_>, top: &Section<'_>) -> VersionRule {
    top.need(desk, "version");
    let Some(section) = top.section(desk, "version", VERSION) else { return VersionRule::Any };
    let ways = [("any", Way::Any), ("same-parts", Way::SameParts), ("groups", Way::Groups)];
    let way = section.need(desk, "rule").choice(desk, &ways);
    if way.is_some_and(|way| way != Way::SameParts) {
        section.only_with(desk, &["parts", "called"], "rule = \"same-parts\"");
    }
    if way.is_some_and(|way| way != Way::Groups) {
        section.only_with(desk, &["group"], "rule = \"groups\"");
    }
    match way {
        Some(Way::SameParts) => {
            let parts = section.get("parts").whole(desk, 1, 8).unwrap_or(1);
            let usual = match parts {
                1 => "major".to_owned(),
                2 => "minor".to_owned(),
                _ => format!("number {parts}"),
            };
            let called = section.get("called").filled(desk).unwrap_or(usual);
            VersionRule::SameParts { parts: usize::try_from(parts).unwrap_or(1), called }
        }
        Some(Way::Groups) => VersionRule::Groups(groups(desk, &section)),
        Some(Way::Any) | None => VersionRule::Any,
    }
}

fn groups(desk: &mut Desk<'_>, section: &Section<'_>) -> Vec<VersionGroup> {
    if !section.get("group").there() {
        let line = section.line();
        desk.report(
            line,
            "version.group",
            "is missing; add a section [[version.group]] for each group of versions",
        );
    }
    let mut out: Vec<VersionGroup> = Vec::new();
    let mut seen = 0;
    for one in section.sections(desk, "group", GROUP) {
        let name = one.need(desk, "name").filled(desk).unwrap_or_default();
        if !name.is_empty() && out.iter().any(|group| squeeze(&group.name) == squeeze(&name)) {
            let says =
                format!("says \"{}\", which names another group already; give it another name", shown(&name));
            one.get("name").report(desk, says);
        }
        let items = one.need(desk, "spans").list(desk);
        if items.is_empty() && one.get("spans").there() {
            one.get("spans")
                .report(desk, "names no version; write some, as in `spans = [\"1.0..1.9\", \"2.3\"]`");
        }
        seen += items.len();
        if seen > LONGEST_LIST {
            let says = format!("brings the versions to more than {LONGEST_LIST} runs; write longer runs");
            one.get("spans").report(desk, says);
            break;
        }
        let mut spans = Vec::new();
        for item in items {
            let Some(text) = item.filled(desk) else { continue };
            match spans::parse(&text) {
                Ok(span) => {
                    let other = out
                        .iter()
                        .find(|group| group.spans.iter().any(|before| spans::overlap(before, &span)));
                    if let Some(other) = other {
                        let says = format!(
                            "shares versions with the group \"{}\"; a version can be in one group only",
                            shown(&other.name)
                        );
                        desk.report(item.line, item.key, says);
                    }
                    spans.push(span);
                }
                Err(says) => desk.report(item.line, item.key, says),
            }
        }
        out.push(VersionGroup { name, spans });
    }
    out
}

pub(super) fn secret(desk: &mut Desk<'_>, top: &Section<'_>) -> SecretRule {
    top.need(desk, "secret");
    let Some(section) = top.section(desk, "secret", SECRET) else { return SecretRule::Absent };
    match section.need(desk, "rule").choice(desk, &[("none", false), ("equal", true)]) {
        Some(true) => SecretRule::Equal {
            blank_allowed: section.get("blank_allowed").flag(desk).unwrap_or(false),
            links_unpaired: section.get("links_unpaired").flag(desk).unwrap_or(false),
        },
        Some(false) => {
            section.only_with(desk, &["blank_allowed", "links_unpaired"], "rule = \"equal\"");
            SecretRule::Absent
        }
        None => SecretRule::Absent,
    }
}

pub(super) fn partners(desk: &mut Desk<'_>, top: &Section<'_>) -> PartnerRule {
    match top.section(desk, "partners", PARTNERS) {
        Some(section) => PartnerRule {
            remembers: section.get("remembers").whole(desk, 1, 10_000).unwrap_or(1),
            pairing_drops_others: section.get("pairing_drops_others").flag(desk).unwrap_or(false),
        },
        None => PartnerRule { remembers: 1, pairing_drops_others: false },
    }
}

pub(super) fn model_id(desk: &mut Desk<'_>, top: &Section<'_>) -> ModelIdRule {
    top.need(desk, "model_id");
    let Some(section) = top.section(desk, "model_id", MODEL_ID) else { return ModelIdRule::Absent };
    let ends = [
        ("receiver", Some(CheckedAt::Receiver)),
        ("transmitter", Some(CheckedAt::Transmitter)),
        ("none", None),
    ];
    let at = match section.need(desk, "checked_at").choice(desk, &ends) {
        Some(Some(at)) => at,
        Some(None) => {
            let choice = "checked_at = \"receiver\" or \"transmitter\"";
            section.only_with(desk, &["low", "high", "off", "refused"], choice);
            return ModelIdRule::Absent;
        }
        None => return ModelIdRule::Absent,
    };
    let low = section.need(desk, "low").whole(desk, 0, u32::MAX);
    let high = section.need(desk, "high").whole(desk, 0, u32::MAX);
    if let (Some(low), Some(high)) = (low, high)
        && low > high
    {
        section.get("low").report(desk, format!("is {low}, above high ({high}); write the least ID here"));
    }
    ModelIdRule::Checked {
        at,
        low: low.unwrap_or_default(),
        high: high.unwrap_or_default(),
        off: section.get("off").whole(desk, 0, u32::MAX),
        refused: section.get("refused").text(desk).unwrap_or_default(),
    }
}
