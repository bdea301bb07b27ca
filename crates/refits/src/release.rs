//! Which release an end can take, and by which way.

use register::family::{Family, FlashRoute, ReachSort, Release, Side, Version, VersionRule};
use register::field::Field;
use register::scene::Scene;
use register::value::EndRef;
use register::view::{self, EndView};
use units::Minutes;

/// Lower case without spaces.
fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// Whether two versions are the same: by their numbers, else by their words.
pub fn same(a: &str, b: &str) -> bool {
    match (Version::parse(a), Version::parse(b)) {
        (Some(a), Some(b)) => a == b,
        _ => plain(a) == plain(b),
    }
}

fn older(a: &str, b: &Version) -> bool {
    Version::parse(a).is_some_and(|a| a < *b)
}

/// The numbers that must be equal for two versions to go together; `None` where the family's
/// rule can't tell.
pub fn class(family: &Family, version: &str) -> Option<Vec<u32>> {
    match &family.versions {
        VersionRule::Any => Some(Vec::new()),
        VersionRule::SameParts { parts, .. } => {
            let version = Version::parse(version)?;
            version.0.get(..*parts).map(<[u32]>::to_vec)
        }
        VersionRule::Groups(groups) => {
            let version = Version::parse(version)?;
            let mut found = None;
            for (at, group) in groups.iter().enumerate() {
                for span in &group.spans {
                    match span.holds(&version) {
                        Some(true) => found = u32::try_from(at).ok(),
                        Some(false) => {}
                        None => return None,
                    }
                }
            }
            found.map(|at| vec![at])
        }
    }
}

/// The words for a class, `5.x` or the group's name.
pub fn class_words(family: &Family, class: &[u32]) -> String {
    match &family.versions {
        VersionRule::Any => "any version".to_owned(),
        VersionRule::SameParts { .. } => {
            let numbers: Vec<String> = class.iter().map(ToString::to_string).collect();
            format!("{}.x", numbers.join("."))
        }
        VersionRule::Groups(groups) => {
            let at = class.first().and_then(|at| usize::try_from(*at).ok());
            at.and_then(|at| groups.get(at)).map_or_else(String::new, |group| format!("group {}", group.name))
        }
    }
}

/// Why an end can't take a release.
#[derive(Clone, Debug, PartialEq)]
pub enum CantTake {
    /// Its hardware is not among those that can.
    Hardware {
        /// Its type.
        model: String,
    },
    /// No chain of releases leads from what it holds to it.
    NoWay,
    /// What it holds allows no older version over it.
    NoWayBack {
        /// In the author's words.
        words: String,
    },
    /// No flash route can write it.
    NoRoute,
}

impl CantTake {
    /// In words, after the device's name: `R9 …`.
    pub fn words(&self, version: &str) -> String {
        match self {
            CantTake::Hardware { model } => format!("is of the type {model}, which can't take {version}"),
            CantTake::NoWay => format!("has no way from what it holds to {version}"),
            CantTake::NoWayBack { words } => format!("can't go back to {version}: {words}"),
            CantTake::NoRoute => format!("has no flash route that writes {version}"),
        }
    }
}

/// A way to a version.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// The versions to write, in order; the last is the wanted one.
    pub versions: Vec<String>,
    /// Whether it isn't known if the hardware can take it.
    pub hardware_unknown: bool,
    /// Whether it isn't known what it holds now.
    pub held_unknown: bool,
}

/// What an end is, as far as releases ask.
#[derive(Clone, Debug)]
pub struct Holder {
    /// Its type, where that is known.
    pub model: Option<String>,
    /// Which side of a link it is.
    pub side: Side,
    /// The version it holds, where that is known.
    pub holds: Option<String>,
}

impl Holder {
    /// The holder that an end is.
    pub fn of(scene: &Scene, end: &EndView, side: Side) -> Holder {
        let model = scene.device(end.end.device).and_then(|device| view::words(&device.whole, Field::Model));
        Holder { model, side, holds: end.firmware.one().cloned() }
    }

    fn fits(&self, release: &Release) -> Option<bool> {
        if release.hardware.is_empty() {
            return Some(true);
        }
        let model = plain(self.model.as_ref()?);
        Some(release.hardware.iter().any(|type_| plain(type_) == model))
    }
}

/// The releases of one side of a family, the newest first.
pub fn of_side(family: &Family, side: Side) -> Vec<&Release> {
    let mut all: Vec<&Release> =
        family.releases.iter().filter(|release| release.side.is_none_or(|have| have == side)).collect();
    all.sort_by_key(|release| std::cmp::Reverse(Version::parse(&release.version)));
    all
}

/// The routes that can write a version to a side.
pub fn routes<'a>(family: &'a Family, side: Side, version: &str) -> Vec<&'a FlashRoute> {
    let release = family.release(side, version);
    family
        .flash
        .iter()
        .filter(|route| route.side == side)
        .filter(|route| {
            release.is_none_or(|release| {
                release.routes.is_empty()
                    || release.routes.iter().any(|name| plain(name) == plain(&route.name))
            })
        })
        .collect()
}

/// The shortest way from what an end holds to a version; of equally short ones that over the
/// newest releases.
///
/// # Errors
/// Why there is none.
pub fn way(family: &Family, holder: &Holder, version: &str) -> Result<Way, CantTake> {
    let held_unknown = holder.holds.is_none();
    let Some(target) = family.release(holder.side, version) else {
        // Nothing is written down of it, so nothing stands against it.
        return Ok(Way { versions: vec![version.to_owned()], hardware_unknown: false, held_unknown });
    };
    let fits = holder.fits(target);
    if fits == Some(false) {
        return Err(CantTake::Hardware { model: holder.model.clone().unwrap_or_default() });
    }
    if !family.flash.is_empty() && routes(family, holder.side, version).is_empty() {
        return Err(CantTake::NoRoute);
    }
    let way = |versions| Way { versions, hardware_unknown: fits.is_none(), held_unknown };
    let Some(holds) = &holder.holds else { return Ok(way(vec![target.version.clone()])) };
    if let (Some(held), Some(wanted)) = (family.release(holder.side, holds), Version::parse(version))
        && !held.no_way_back.is_empty()
        && Version::parse(holds).is_some_and(|holds| wanted < holds)
    {
        return Err(CantTake::NoWayBack { words: held.no_way_back.clone() });
    }
    // Breadth first, backwards from the wanted version: from which releases can it be written?
    let direct = |from: &str, to: &Release| to.from.as_ref().is_none_or(|least| !older(from, least));
    let mut trails: Vec<Vec<&Release>> = vec![vec![target]];
    let known = of_side(family, holder.side);
    for _ in 0..=known.len() {
        if let Some(found) = trails.iter().find(|trail| direct(holds, trail[0])) {
            return Ok(way(found.iter().map(|release| release.version.clone()).collect()));
        }
        let mut next = Vec::new();
        for trail in &trails {
            for release in &known {
                let seen = trail.iter().any(|have| have.version == release.version);
                let can = !seen
                    && holder.fits(release) != Some(false)
                    && direct(&release.version, trail[0])
                    && older(holds, &Version::parse(&release.version).unwrap_or(Version(Vec::new())))
                    && (family.flash.is_empty() || !routes(family, holder.side, &release.version).is_empty());
                if can {
                    let mut longer = vec![*release];
                    longer.extend(trail.iter().copied());
                    next.push(longer);
                }
            }
        }
        // The newest first step is enough of each length: the releases come newest first.
        next.truncate(64);
        trails = next;
    }
    Err(CantTake::NoWay)
}

/// The cover that words of a `needs` list mean, with its minutes where the family says so;
/// `None` where none is opened.
pub fn cover(family: &Family, needs: &[String]) -> Option<Option<Minutes>> {
    let mut reaches = needs.iter().filter_map(|need| family.reach(need));
    reaches.find(|reach| reach.sort == ReachSort::Cover).map(|reach| reach.minutes)
}

/// The release that a person means by a version: that version, or else the newest whose first
/// numbers it states (`5` for `5.1`).
pub fn meant<'a>(family: &'a Family, side: Side, version: &str) -> Option<&'a Release> {
    if let Some(exact) = family.release(side, version) {
        return Some(exact);
    }
    let wanted = Version::parse(version)?;
    of_side(family, side)
        .into_iter()
        .find(|release| Version::parse(&release.version).is_some_and(|have| have.0.starts_with(&wanted.0)))
}

/// An end as files and keys name it.
pub fn end_key(end: &EndRef) -> String {
    format!("{}/{}", end.device, end.end)
}
