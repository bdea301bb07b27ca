//! Firmware releases of a family, and what must be reached to write them.

use units::Minutes;

use super::{Family, Side, Version, squeeze};
use crate::field::Field;

pub use super::read::{read_releases, read_releases_for};
pub use super::write::write_releases;

/// One firmware release.
#[derive(Clone, Debug, PartialEq)]
pub struct Release {
    /// The version as its maker writes it.
    pub version: String,
    /// Which side it is for; `None` for both.
    pub side: Option<Side>,
    /// The types of device (their fact *type*) that can take it; empty for every one.
    pub hardware: Vec<String>,
    /// The least version from which it can be written directly; an older one takes another
    /// release first.
    pub from: Option<Version>,
    /// The flash routes that can write it, by name, for a release of one side; empty for every
    /// route of its side.
    pub routes: Vec<String>,
    /// Which facts of the end it wipes, beyond those that the route wipes.
    pub wipes: Vec<Field>,
    /// What it changes, in the author's words.
    pub changes: Vec<String>,
    /// Why nothing older can be written over it, in the author's words; empty when it can.
    pub no_way_back: String,
}

/// Something that must be reached before an end can be flashed or paired.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// What `needs` call it.
    pub name: String,
    /// What sort of thing it is.
    pub sort: ReachSort,
    /// How long opening and closing takes, for a cover; none for the usual time.
    pub minutes: Option<Minutes>,
}

/// What sort of thing must be reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ReachSort {
    /// A cover of the aircraft: hatch, canopy, wing.
    Cover,
    /// A computer.
    Computer,
    /// A page that the device serves on a network.
    NetworkPage,
    /// A cable or an adapter.
    Cable,
}

/// Releases that a workshop adds to a family, or that it describes otherwise than the family's
/// file.
#[derive(Clone, Debug, PartialEq)]
pub struct Releases {
    /// The family, by name.
    pub family: String,
    /// The releases.
    pub releases: Vec<Release>,
    /// What must be reached.
    pub reaches: Vec<Reach>,
}

/// What the settings of a workshop that hold [`Releases`] begin with.
const SETTING: &str = "releases.";

/// The setting that holds the releases which a workshop adds to a family of this name.
pub fn setting_of(family: &str) -> String {
    format!("{SETTING}{}", squeeze(family))
}

/// The family, its name squeezed, whose releases a setting holds; none for another setting.
pub fn family_of_setting(key: &str) -> Option<String> {
    key.strip_prefix(SETTING).map(squeeze)
}

/// Whether two texts name one version: by their numbers where both have some, else by their
/// words.
fn same_version(a: &str, b: &str) -> bool {
    match (Version::parse(a), Version::parse(b)) {
        (Some(a), Some(b)) => a == b,
        _ => squeeze(a) == squeeze(b),
    }
}

impl ReachSort {
    /// Every one.
    pub const ALL: [ReachSort; 4] =
        [ReachSort::Cover, ReachSort::Computer, ReachSort::NetworkPage, ReachSort::Cable];

    /// The word in files and JSON.
    pub fn word(self) -> &'static str {
        match self {
            ReachSort::Cover => "cover",
            ReachSort::Computer => "computer",
            ReachSort::NetworkPage => "network page",
            ReachSort::Cable => "cable",
        }
    }

    /// What it takes, in words.
    pub fn label(self) -> &'static str {
        match self {
            ReachSort::Cover => "opening a cover",
            ReachSort::Computer => "a computer",
            ReachSort::NetworkPage => "a page that the device serves",
            ReachSort::Cable => "a cable or an adapter",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<ReachSort> {
        ReachSort::ALL.into_iter().find(|one| one.word() == word)
    }
}

impl Family {
    /// The release of this version for a side. Versions compare by their numbers where both have
    /// some, else by their words.
    pub fn release(&self, side: Side, version: &str) -> Option<&Release> {
        self.releases.iter().find(|release| {
            release.side.is_none_or(|have| have == side) && same_version(&release.version, version)
        })
    }

    /// The facts of an end that writing `version` to it by a route wipes: those of the route
    /// ([`Family::wiped_by`]) and those of the release.
    pub fn wiped_by_flash(&self, side: Side, route: &str, version: &str) -> Vec<Field> {
        let mut wiped = self.wiped_by(side, route);
        if let Some(release) = self.release(side, version) {
            wiped.extend(release.wipes.iter().copied());
            wiped.sort_unstable();
            wiped.dedup();
        }
        wiped
    }

    /// What one of the words of a `needs` list is, where the file says so.
    pub fn reach(&self, need: &str) -> Option<&Reach> {
        self.reaches.iter().find(|reach| squeeze(&reach.name) == squeeze(need))
    }

    /// The family as a workshop describes its releases: one of `more` takes the place of the
    /// family's own of that version, for the side that it is for, and what must be reached goes
    /// by its name.
    #[must_use]
    pub fn with_releases(&self, more: &Releases) -> Family {
        let mut family = self.clone();
        for release in &more.releases {
            family.releases.retain_mut(|own| {
                if !same_version(&own.version, &release.version) {
                    return true;
                }
                match (own.side, release.side) {
                    // Of one for both sides the other one stands.
                    (None, Some(side)) => {
                        own.side = Some(match side {
                            Side::Transmitter => Side::Receiver,
                            Side::Receiver => Side::Transmitter,
                        });
                        true
                    }
                    (Some(own), Some(side)) => own != side,
                    (_, None) => false,
                }
            });
            family.releases.push(release.clone());
        }
        for reach in &more.reaches {
            family.reaches.retain(|own| squeeze(&own.name) != squeeze(&reach.name));
            family.reaches.push(reach.clone());
        }
        family
    }
}
