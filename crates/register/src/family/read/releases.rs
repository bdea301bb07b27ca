//! Firmware releases and what must be reached for writing them: in a family's own file, and
//! in the text that a workshop adds to one.

use units::Minutes;

use super::super::release::{Reach, ReachSort, Release, Releases};
use super::super::{Family, FlashRoute, Side, Version, VersionRule, squeeze};
use super::sections::{SIDES, wipeable};
use super::{LARGEST_FILE_BYTES, Problem, SCHEMA};
use crate::desk::telling::{shown, words};
use crate::desk::{Desk, Keys, MOST_MINUTES, Section};

pub(super) const REACH: Keys =
    &[("name", "\"the bench computer\""), ("sort", "\"computer\""), ("minutes", "4")];
pub(super) const RELEASE: Keys = &[
    ("version", "\"4.2\""),
    ("side", "\"receiver\""),
    ("hardware", "[\"six outputs\"]"),
    ("from", "\"3.0\""),
    ("routes", "[\"cable to the bench computer\"]"),
    ("wipes", "[\"partners\"]"),
    ("changes", "[\"Telemetry is sent less often.\"]"),
    ("no_way_back", "\"it changes how settings are stored\""),
];

/// Every table of keys here, by its header.
#[cfg(test)]
pub(super) const ALL: &[(&str, Keys)] = &[("[[reach]]", REACH), ("[[release]]", RELEASE)];

/// The top of a text of releases.
const TOP: Keys =
    &[("schema", "1"), ("family", "\"My system\""), ("reach", "[[reach]]"), ("release", "[[release]]")];

/// What the rest of a family says that its releases must go with.
pub(super) struct Beside<'f> {
    pub(super) flash: &'f [FlashRoute],
    pub(super) versions: &'f VersionRule,
}

/// What must be reached, each name once.
pub(super) fn reaches(desk: &mut Desk<'_>, top: &Section<'_>) -> Vec<Reach> {
    let mut out: Vec<Reach> = Vec::new();
    for section in top.sections(desk, "reach", REACH) {
        let name = section.need(desk, "name").filled(desk).unwrap_or_default();
        if !name.is_empty() && out.iter().any(|reach| squeeze(&reach.name) == squeeze(&name)) {
            let says = format!("says \"{}\", which is described already; keep one of the two", shown(&name));
            section.get("name").report(desk, says);
        }
        let sort = section.need(desk, "sort").choice(desk, &ReachSort::ALL.map(|one| (one.word(), one)));
        if sort.is_some_and(|sort| sort != ReachSort::Cover) {
            section.only_with(desk, &["minutes"], "sort = \"cover\"");
        }
        let minutes = section.get("minutes").number(desk, 0.0, MOST_MINUTES).map(Minutes);
        out.push(Reach { name, sort: sort.unwrap_or(ReachSort::Cover), minutes });
    }
    out
}

/// The releases, no version twice for a side; checked against the rest of the family where
/// that is known.
pub(super) fn releases(desk: &mut Desk<'_>, top: &Section<'_>, beside: Option<&Beside<'_>>) -> Vec<Release> {
    let mut out: Vec<Release> = Vec::new();
    for section in top.sections(desk, "release", RELEASE) {
        let text = section.need(desk, "version").filled(desk).unwrap_or_default();
        let number = number(desk, &section, "version", &text);
        let side = section.get("side").choice(desk, &SIDES);
        let double = |one: &Release| {
            (one.side.is_none() || side.is_none() || one.side == side)
                && Version::parse(&one.version) == number
        };
        if number.is_some() && out.iter().any(double) {
            let says = format!(
                "says \"{}\", which is described for that side already; keep one of the two",
                shown(&text)
            );
            section.get("version").report(desk, says);
        }
        let from = section.get("from").filled(desk);
        let from = from.and_then(|from| self::number(desk, &section, "from", &from));
        if let (Some(from), Some(number)) = (&from, &number)
            && from > number
        {
            let says = format!("is {from}, above the release itself ({number}); write an earlier version");
            section.get("from").report(desk, says);
        }
        if let (Some(beside), Some(number)) = (beside, &number) {
            in_a_group(desk, &section, beside.versions, number);
        }
        out.push(Release {
            version: text,
            side,
            hardware: section.get("hardware").texts(desk),
            from,
            routes: routes(desk, &section, side, beside),
            wipes: section.get("wipes").choices(desk, &wipeable()),
            changes: section.get("changes").texts(desk),
            no_way_back: section.get("no_way_back").text(desk).unwrap_or_default(),
        });
    }
    out
}

/// The numbers of a version; none, and noted unless the text is blank, when it has none.
fn number(desk: &mut Desk<'_>, section: &Section<'_>, key: &'static str, text: &str) -> Option<Version> {
    let number = Version::parse(text);
    if number.is_none() && !text.is_empty() {
        let says = format!("is \"{}\"; write a version with its numbers, as in \"4.2\"", shown(text));
        section.get(key).report(desk, says);
    }
    number
}

/// A release of a family whose versions link by groups must be in one: otherwise nobody knows
/// what it links with.
fn in_a_group(desk: &mut Desk<'_>, section: &Section<'_>, versions: &VersionRule, number: &Version) {
    let VersionRule::Groups(groups) = versions else { return };
    if groups.iter().flat_map(|group| &group.spans).any(|span| span.holds(number) == Some(true)) {
        return;
    }
    let says = format!("is {number}, in no group of [version]; add it to the `spans` of one");
    section.get("version").report(desk, says);
}

/// The routes that can write a release, each one of the family's for its side.
fn routes(
    desk: &mut Desk<'_>,
    section: &Section<'_>,
    side: Option<Side>,
    beside: Option<&Beside<'_>>,
) -> Vec<String> {
    if !section.get("side").there() {
        section.only_with(desk, &["routes"], "a `side`");
    }
    let mut out: Vec<String> = Vec::new();
    for item in section.get("routes").list(desk) {
        let Some(name) = item.filled(desk) else { continue };
        if out.iter().any(|have| squeeze(have) == squeeze(&name)) {
            item.report(desk, format!("says \"{}\" a second time; leave it out", shown(&name)));
            continue;
        }
        if let (Some(beside), Some(side)) = (beside, side) {
            let there: Vec<&str> = beside
                .flash
                .iter()
                .filter(|route| route.side == side)
                .map(|route| route.name.as_str())
                .collect();
            if !there.iter().any(|route| squeeze(route) == squeeze(&name)) {
                item.report(desk, no_route(&name, side, &there));
            }
        }
        out.push(name);
    }
    out
}

fn no_route(name: &str, side: Side, there: &[&str]) -> String {
    let advice = if there.is_empty() {
        "there is none".to_owned()
    } else {
        let names: Vec<String> = there.iter().take(20).map(|route| shown(route)).collect();
        format!("write {}", words(names.iter().map(String::as_str)))
    };
    format!("is \"{}\", and no [[flash]] of a {} is called that; {advice}", shown(name), side.word())
}

/// Reads a text of releases that a workshop adds to a family; `origin` is what to call it in
/// problems.
///
/// Routes and groups are the family's business and not looked at here; see
/// [`read_releases_for`].
///
/// ```
/// use register::family::release::read_releases;
/// let text = "schema = 1\nfamily = \"Sanderling\"\n\n[[release]]\nversion = \"4.2\"\n";
/// assert_eq!(read_releases("mine", text).unwrap().releases.len(), 1);
/// ```
///
/// # Errors
/// Every problem found, by line, with its key, as [`super::read`] tells them.
pub fn read_releases(origin: &str, text: &str) -> Result<Releases, Vec<Problem>> {
    read_beside(origin, text, None)
}

/// Reads a text of releases for this family: also its name, the routes and the groups of
/// versions must be right for it.
///
/// # Errors
/// Every problem found, by line, with its key, as [`super::read`] tells them.
pub fn read_releases_for(origin: &str, text: &str, family: &Family) -> Result<Releases, Vec<Problem>> {
    read_beside(origin, text, Some(family))
}

fn read_beside(origin: &str, text: &str, whose: Option<&Family>) -> Result<Releases, Vec<Problem>> {
    let mut desk = Desk::new(origin, text);
    let Some(root) = desk.parse(text, "a text of releases", LARGEST_FILE_BYTES) else {
        return Err(desk.into_problems());
    };
    if !desk.schema_fits(root.get_ref(), TOP, SCHEMA) {
        return Err(desk.into_problems());
    }
    let top = Section::new(&mut desk, String::new(), 0, root.get_ref(), TOP);
    let family = top.need(&mut desk, "family").filled(&mut desk).unwrap_or_default();
    if let Some(whose) = whose
        && !family.is_empty()
        && squeeze(&whose.name) != squeeze(&family)
    {
        let says = format!("is \"{}\"; these are releases of \"{}\"", shown(&family), shown(&whose.name));
        top.get("family").report(&mut desk, says);
    }
    let reaches = reaches(&mut desk, &top);
    let beside = whose.map(|whose| Beside { flash: &whose.flash, versions: &whose.versions });
    let releases = releases(&mut desk, &top, beside.as_ref());
    let problems = desk.into_problems();
    if problems.is_empty() { Ok(Releases { family, releases, reaches }) } else { Err(problems) }
}
