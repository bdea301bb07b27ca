//! The firmware releases of a link family.

use register::family::{Family, Side, release};
use register::field::Field;
use serde::Serialize;

use crate::answers::minutes;

/// One release.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Release {
    /// The version.
    pub version: String,
    /// Which side it is for; `null` for both.
    pub side: Option<&'static str>,
    /// The types of device that can take it; empty for every one.
    pub hardware: Vec<String>,
    /// The least version from which it can be written directly; `null` for any.
    pub from: Option<String>,
    /// The flash routes that can write it; empty for every one of its side.
    pub routes: Vec<String>,
    /// Which facts it wipes, beyond those that the route wipes.
    pub wipes: Vec<&'static str>,
    /// What it changes.
    pub changes: Vec<String>,
    /// Why nothing older can be written over it; empty when it can.
    pub no_way_back: String,
}

/// Something that must be reached.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// What it is called.
    pub name: String,
    /// What sort of thing it is.
    pub sort: &'static str,
    /// How long opening and closing takes; `null` for the usual time, or where it is no cover.
    pub minutes: Option<f64>,
}

/// The releases of a family.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Releases {
    /// The family.
    pub family: String,
    /// Whether the workshop adds some of them to the family's file.
    pub added: bool,
    /// The releases.
    pub releases: Vec<Release>,
    /// What must be reached.
    pub reaches: Vec<Reach>,
}

impl Releases {
    /// The releases of a family; `added` says whether the workshop adds some.
    pub fn new(family: &Family, added: bool) -> Releases {
        let release = |one: &release::Release| Release {
            version: one.version.clone(),
            side: one.side.map(Side::word),
            hardware: one.hardware.clone(),
            from: one.from.as_ref().map(|from| {
                let numbers: Vec<String> = from.0.iter().map(ToString::to_string).collect();
                numbers.join(".")
            }),
            routes: one.routes.clone(),
            wipes: one.wipes.iter().copied().map(Field::key).collect(),
            changes: one.changes.clone(),
            no_way_back: one.no_way_back.clone(),
        };
        let reach = |one: &release::Reach| Reach {
            name: one.name.clone(),
            sort: one.sort.word(),
            minutes: one.minutes.map(minutes),
        };
        Releases {
            family: family.name.clone(),
            added,
            releases: family.releases.iter().map(release).collect(),
            reaches: family.reaches.iter().map(reach).collect(),
        }
    }
}
