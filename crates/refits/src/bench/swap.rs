//! Replacing a receiver that can't follow.

use register::family::{Energised, Side};
use register::field::{Field, Sort as DeviceSort};
use register::id::DeviceId;
use register::scene::Change;
use register::value::{EndRef, SecretMark, Value};
use register::view::ModelId;

use super::flash::whole;
use super::{Bench, Routes, Why, set};
use crate::step::{Back, Sort, Step};
use crate::world::{Craft, Swap, Target};

impl Bench<'_, '_> {
    /// Fits what takes a receiver's place, and gives it the settings of the old one. Those come
    /// before it is fitted, so that nothing is half done when the old one is out.
    pub(super) fn swap(&mut self, craft: &Craft, receiver: DeviceId, swap: &Swap, routes: &Routes) {
        let what = craft.card.id;
        let Some(old) = self.view(&swap.old_end, Side::Receiver) else { return };
        let family = swap.target.family.clone();
        let mark = swap.target.secret.clone().or_else(|| old.secret.one().cloned());
        let mark = mark.filter(|mark| !matches!(mark, SecretMark::SameAs(end) if *end == swap.target.end));
        let id = old.model_id.one().map(|id| match id {
            ModelId::Off => Value::Off,
            ModelId::Id(number) => Value::Number(*number),
        });
        let name = self.label(receiver);
        let mut minutes = self.minutes("mend.swap_receiver", family.as_deref());
        let mut changes = Vec::new();
        let mut settings = Vec::new();
        if swap.bought {
            changes.extend(bought(swap, &old, &name));
            // One that isn't there yet can't be worked on before; its settings are part of the step.
            if let Some(mark) = mark {
                changes.push(set(&swap.target.end, Field::Secret, Value::Secret(mark.clone())));
                if mark != SecretMark::Blank {
                    settings.push(if swap.target.secret.is_some() {
                        "the new link secret"
                    } else {
                        "the same link secret"
                    });
                    minutes += self.minutes("mend.set_secret", family.as_deref());
                }
            }
            if let Some(id) = id {
                changes.push(set(&swap.target.end, Field::ModelId, id));
                settings.push("the same model ID");
                minutes += self.minutes("mend.set_model_id", family.as_deref());
            }
        } else {
            self.end(what, &Target { secret: None, ..swap.target.clone() }, routes);
            if let Some(mark) = mark {
                let why = if swap.target.secret.is_some() { Why::New } else { Why::AsBefore(receiver) };
                self.set_secret(what, &swap.target, &mark, &why);
            }
            if let Some(id) = id {
                self.set_model_id(what, &swap.target.end, Side::Receiver, id, &Why::AsBefore(receiver));
            }
        }
        self.open_cover(craft, None);
        changes.extend([
            whole(receiver, Field::Aircraft, Value::None),
            whole(receiver, Field::State, Value::Text("shelf".to_owned())),
            whole(swap.by, Field::Aircraft, Value::Device(what)),
            whole(swap.by, Field::State, Value::Text("in use".to_owned())),
        ]);
        let by = if swap.bought {
            let version =
                swap.version.as_ref().map(|version| format!(" that holds {version}")).unwrap_or_default();
            let cost = if swap.cost == 0 { String::new() } else { format!(", costs {}", swap.cost) };
            format!("a new receiver{version} (to be bought{cost})")
        } else {
            self.label(swap.by)
        };
        let settings = if settings.is_empty() {
            String::new()
        } else {
            format!(" Give it {} first.", settings.join(" and "))
        };
        self.push(Step {
            key: format!("swap:{}/{receiver}", swap.by),
            sort: Sort::Swap,
            what,
            device: swap.by,
            text: format!(
                "Fit {by} in {} in the place of {name}: outputs, supply and antennas as before.{settings}",
                craft.card.spoken()
            ),
            minutes,
            needs: Vec::new(),
            energises: Vec::new(),
            cautions: vec![
                "Keep the flight pack out until the outputs are back in their places.".to_owned(),
                "Set and test the failsafe anew: a new receiver knows nothing of the old one's.".to_owned(),
            ],
            changes,
            if_fails: String::new(),
            back: Back::Way {
                text: format!("Put {name} back in its place."),
                minutes: self.minutes("mend.swap_receiver", family.as_deref()),
            },
        });
    }
}

/// What is known of a receiver that is yet to be bought.
fn bought(swap: &Swap, old: &register::view::EndView, name: &str) -> Vec<Change> {
    let end: &EndRef = &swap.target.end;
    let mut changes = vec![
        Change::Add { device: swap.by, sort: DeviceSort::Receiver },
        whole(swap.by, Field::Name, Value::Text(format!("{name} (new)"))),
    ];
    let facts = [
        (Field::Family, old.family.one()),
        (Field::Band, old.band.one()),
        (Field::Region, old.region.one()),
        (Field::Firmware, swap.version.as_ref().or(old.firmware.one())),
    ];
    for (field, value) in facts {
        changes.extend(value.map(|value| set(end, field, Value::Text(value.clone()))));
    }
    changes
}

/// What the work on a receiver in an aircraft brings to life.
pub(super) const IN_AIRCRAFT: [Energised; 4] = Energised::ALL;
