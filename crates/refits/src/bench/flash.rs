//! Writing firmware: what to save, what the flash wipes, what to do when it fails, the way back.

use std::collections::BTreeSet;

use register::family::{Energised, Family, FlashRoute, Side};
use register::field::{Field, Part, Sort as DeviceSort};
use register::id::DeviceId;
use register::scene::Change;
use register::value::{EndRef, Value};

use super::{Bench, Routes, set};
use crate::release::{self, end_key};
use crate::step::{Back, Sort, Step};
use crate::world::{Because, Target};

/// The caution of every flash.
const WHILE_WRITING: &str = "Don't take the supply away while it is being written.";

impl Bench<'_, '_> {
    /// Writes a target's versions; gives the facts that were wiped and aren't set by the flash
    /// itself.
    pub(super) fn flash(&mut self, what: DeviceId, target: &Target, routes: &Routes) -> BTreeSet<Field> {
        let mut wiped = BTreeSet::new();
        let world = self.world;
        let family = target.family.as_deref();
        let held = self.view(&target.end, target.side).and_then(|view| view.firmware.one().cloned());
        let mut before = held;
        for (at, version) in target.versions.iter().enumerate() {
            let open = family.map(|family| release::routes(family, target.side, version)).unwrap_or_default();
            let named = routes.get(&target.end);
            let route = open.iter().find(|route| Some(&route.name) == named).or(open.first()).copied();
            // The cover is opened where any of the flashes needs it.
            self.reach(target, route);
            if at == 0 {
                self.save(what, target, route);
            }
            let name = route.map_or("", |route| &route.name);
            let now_wiped: Vec<Field> =
                family.map(|family| family.wiped_by_flash(target.side, name, version)).unwrap_or_default();
            let mut changes = vec![Change::Flash {
                end: target.end.clone(),
                version: version.clone(),
                route: name.to_owned(),
            }];
            let region =
                now_wiped.contains(&Field::Region).then(|| world.last_known(&target.end, Field::Region));
            let mut variant = String::new();
            if let Some(Some(region)) = region {
                if let Value::Text(words) = &region {
                    variant = format!(" Choose the {words} variant.");
                }
                changes.push(set(&target.end, Field::Region, region));
            }
            wiped.extend(now_wiped.into_iter().filter(|field| *field != Field::Region));
            let mut step = self.flash_step(what, target, route, version, before.as_deref(), changes);
            step.text.push_str(&variant);
            self.push(step);
            before = Some(version.clone());
        }
        // Partners come again by pairing.
        wiped.remove(&Field::Partners);
        wiped
    }

    /// A mend that flashes is treated as every flash is: its cover is opened, the settings are
    /// written down, and the step says what to do when it fails and what the way back is.
    pub(super) fn before_a_flash(&mut self, what: DeviceId, step: &mut Step) {
        let flash = step.changes.iter().find_map(|change| match change {
            Change::Flash { end, version, route } => Some((end.clone(), version.clone(), route.clone())),
            _ => None,
        });
        let Some((end, version, name)) = flash else { return };
        let side = match self.scene.device(end.device).and_then(|device| device.sort) {
            Some(DeviceSort::Transmitter) => Side::Transmitter,
            _ => Side::Receiver,
        };
        let Some(view) = self.view(&end, side) else { return };
        let target = Target {
            end: end.clone(),
            side,
            family: view.rules.clone(),
            versions: vec![version.clone()],
            secret: None,
            again: Vec::new(),
            because: Because::Repairs,
        };
        let family = view.rules.as_deref();
        let open = family.map(|family| release::routes(family, side, &version)).unwrap_or_default();
        let route = open.iter().find(|route| route.name == name).copied();
        self.reach(&target, route);
        self.save(what, &target, route);
        step.sort = Sort::Flash;
        step.needs = route.map(|route| route.needs.clone()).unwrap_or_default();
        step.cautions.push(WHILE_WRITING.to_owned());
        step.if_fails = if_fails(&self.end_name(&end), route);
        let before = view.firmware.one().cloned();
        step.back = self.back(family, side, &end, &self.end_name(&end), &version, before.as_deref());
    }

    fn reach(&mut self, target: &Target, route: Option<&FlashRoute>) {
        let family = target.family.as_deref();
        let Some(route) = route else { return };
        if let (Some(cover), Some(craft)) =
            (Bench::cover_of(family, &route.needs), self.craft_of(target.end.device))
        {
            self.open_cover(craft, cover);
        }
    }

    fn save(&mut self, what: DeviceId, target: &Target, route: Option<&FlashRoute>) {
        let device = target.end.device;
        if self.saved.contains_key(&device) {
            return;
        }
        self.saved.insert(device, self.tick);
        let family = target.family.as_deref();
        let wiped: BTreeSet<&'static str> = target
            .versions
            .iter()
            .flat_map(|version| {
                let name = route.map_or("", |route| &route.name);
                family.map(|family| family.wiped_by_flash(target.side, name, version)).unwrap_or_default()
            })
            .map(|field| match field {
                Field::Partners => "what it is paired with",
                other => other.label(),
            })
            .collect();
        let label = self.label(device);
        let text = if wiped.is_empty() {
            format!("Write down the settings of {label}, or save them to a file, before it is flashed.")
        } else {
            let wiped: Vec<&str> = wiped.into_iter().collect();
            format!(
                "Write down the settings of {label}, or save them to a file: the flash wipes {}.",
                wiped.join(", ")
            )
        };
        let energises = match target.side {
            Side::Transmitter => Energised::Transmitter,
            Side::Receiver => Energised::Receiver,
        };
        self.push(Step {
            key: format!("save:{device}/"),
            sort: Sort::Save,
            what,
            device,
            text,
            minutes: self.minutes("refit.save", family),
            needs: Vec::new(),
            energises: vec![energises],
            cautions: Vec::new(),
            changes: Vec::new(),
            if_fails: String::new(),
            back: Back::Nothing,
        });
    }

    fn flash_step(
        &self,
        what: DeviceId,
        target: &Target,
        route: Option<&FlashRoute>,
        version: &str,
        before: Option<&str>,
        changes: Vec<Change>,
    ) -> Step {
        let family = target.family.as_deref();
        let name = self.end_name(&target.end);
        let own = self.world.scene.register.minutes().workshop("mend.flash");
        let minutes =
            own.or(route.map(|route| route.minutes)).unwrap_or_else(|| self.minutes("mend.flash", family));
        let by = route.map(|route| format!(" by {}", route.name)).unwrap_or_default();
        let from = before.map(|before| format!(" from {before}")).unwrap_or_default();
        let energises = route.map_or_else(
            || {
                vec![match target.side {
                    Side::Transmitter => Energised::Transmitter,
                    Side::Receiver => Energised::Receiver,
                }]
            },
            |route| route.energises.clone(),
        );
        let changes_words = family
            .and_then(|family| family.release(target.side, version))
            .filter(|release| !release.changes.is_empty())
            .map(|release| {
                let changes: Vec<&str> = release.changes.iter().map(|one| trim(one)).collect();
                format!(" It changes: {}.", changes.join("; "))
            })
            .unwrap_or_default();
        Step {
            key: format!("flash:{}:{version}", end_key(&target.end)),
            sort: Sort::Flash,
            what,
            device: target.end.device,
            text: format!(
                "Flash {name}{from} to {version}{by}. Then compare its settings with what you wrote down, and set \
                 again what differs.{changes_words}"
            ),
            minutes,
            needs: route.map(|route| route.needs.clone()).unwrap_or_default(),
            energises,
            cautions: vec![WHILE_WRITING.to_owned()],
            changes,
            if_fails: if_fails(&name, route),
            back: self.back(family, target.side, &target.end, &name, version, before),
        }
    }

    /// The way back from a version to the one before.
    fn back(
        &self,
        family: Option<&Family>,
        side: Side,
        end: &EndRef,
        name: &str,
        version: &str,
        before: Option<&str>,
    ) -> Back {
        let Some(before) = before else {
            return Back::None { why: format!("nobody wrote down which firmware {name} held before") };
        };
        let Some(family) = family else {
            return Back::Way {
                text: format!("Flash {name} back to {before}."),
                minutes: self.minutes("mend.flash", None),
            };
        };
        if let Some(release) = family.release(side, version)
            && !release.no_way_back.is_empty()
        {
            return Back::None {
                why: format!("{name} can't go back from {version}: {}", release.no_way_back),
            };
        }
        let routes = release::routes(family, side, before);
        let Some(route) = routes.iter().min_by_key(|route| route.minutes.hundredths()) else {
            if family.flash.is_empty() {
                return Back::Way {
                    text: format!("Flash {name} back to {before}."),
                    minutes: self.minutes("mend.flash", Some(family)),
                };
            }
            return Back::None {
                why: format!("the family file names no route that writes {before} to {name}"),
            };
        };
        let wiped = family.wiped_by_flash(side, &route.name, before);
        let mut minutes = route.minutes;
        let mut then = Vec::new();
        for (field, key, words) in [
            (Field::Secret, "mend.set_secret", "type its link secret"),
            (Field::ModelId, "mend.set_model_id", "set its model ID"),
            (Field::Partners, "mend.pair", "pair it"),
        ] {
            let knows = field == Field::Partners || self.world.last_known(end, field).is_some();
            if wiped.contains(&field) && knows && !(side == Side::Transmitter && field == Field::ModelId) {
                then.push(words);
                minutes += self.minutes(key, Some(family));
            }
        }
        let then = if then.is_empty() { String::new() } else { format!(", then {} again", then.join(", ")) };
        Back::Way { text: format!("Flash {name} back to {before} by {}{then}.", route.name), minutes }
    }
}

fn if_fails(name: &str, route: Option<&FlashRoute>) -> String {
    let Some(route) = route else {
        return format!(
            "If it stops half-way: leave the supply on and write it again; else follow its maker's manual. {name} stays out of use meanwhile."
        );
    };
    let odds = route.fails_one_in.map(|odds| format!("About one in {odds} fails. ")).unwrap_or_default();
    let minutes = route.recovery_minutes.map(|minutes| format!(" ({minutes})")).unwrap_or_default();
    if route.recovery.is_empty() {
        format!(
            "{odds}If it stops half-way: leave the supply on and write it again by the same route{minutes}; the family file says no more, so follow its maker's manual. Go on with the next step only when it starts."
        )
    } else {
        format!(
            "{odds}If it stops half-way: {}{minutes}. Go on with the next step only when {name} starts.",
            trim(&route.recovery)
        )
    }
}

fn trim(text: &str) -> &str {
    text.trim().trim_end_matches('.')
}

/// A fact of a device as a whole, as a change.
pub(super) fn whole(device: DeviceId, field: Field, value: Value) -> Change {
    Change::Set { device, part: Part::Whole, field, value }
}
