//! What is seen when everything is done: the rest of what a wish wants is mended, and what can't
//! be told is to be looked at.

use std::collections::{BTreeMap, BTreeSet};

use register::field::Part;
use register::fleet::Fleet;
use register::id::DeviceId;
use register::mend::Step;
use register::plan;
use register::refit::Wish;
use register::rule::Verdict;
use register::scene::{Change, Scene};
use register::verdict::{self, Link};
use register::view::{self, TransmitterView};

use super::{Look, Trouble, World, lean};
use crate::bench::Bench;

/// Links that were to hold and don't, each with the place of its aircraft.
type Missing = Vec<(Link, usize)>;

impl World<'_> {
    /// Sees what links when everything is done, and adds the mends of what a wish wants besides.
    pub(super) fn mend_rest(&mut self, fleet: &Fleet) -> Result<(), Trouble> {
        let after = Bench::all_at_once(self);
        let missing = self.missing(&after, fleet)?;
        let Some(first) = missing.first() else { return Ok(()) };
        let mut extra = BTreeMap::new();
        for (link, _) in &missing {
            let Some(plan) = plan::plan(&after, link, self.now) else { continue };
            if !plan.steps.is_empty() && !self.harms(link, &plan.steps) {
                extra.insert((link.transmitter.id, link.receiver.id), plan.steps);
            }
        }
        if extra.is_empty() {
            return Err(self.missing_words(&after, first));
        }
        self.extra = extra;
        self.items = lean::groups(self, fleet)?;
        self.started.take();
        let after = Bench::all_at_once(self);
        let missing = self.missing(&after, fleet)?;
        missing.first().map_or(Ok(()), |first| Err(self.missing_words(&after, first)))
    }

    fn missing(&self, after: &Scene, fleet: &Fleet) -> Result<Missing, Trouble> {
        let touched: BTreeSet<usize> =
            self.items.iter().flat_map(|group| group.crafts.iter().copied()).collect();
        let mut views: BTreeMap<DeviceId, Option<TransmitterView>> = BTreeMap::new();
        let mut missing = Vec::new();
        for (at, craft) in self.crafts.iter().enumerate().filter(|(_, craft)| !craft.required.is_empty()) {
            if !touched.contains(&at) {
                // It stands as it did.
                for t in &craft.required {
                    for r in &craft.receivers {
                        let Some((t, r)) = fleet.transmitter(*t).zip(fleet.receiver(*r)) else { continue };
                        if verdict::quick(t, r) != Verdict::Links {
                            missing.push((verdict::link(after, t, r), at));
                        }
                    }
                }
                continue;
            }
            let receivers = self.fitted(after, craft);
            if receivers.is_empty() {
                return Err(Trouble::Clash(format!(
                    "{} must be flown with {}, and no receiver is left in it when all is done.",
                    craft.card.spoken(),
                    craft.required.iter().map(|id| self.label(*id)).collect::<Vec<_>>().join(" and ")
                )));
            }
            for t in &craft.required {
                let view = views
                    .entry(*t)
                    .or_insert_with(|| after.device(*t).map(|device| view::transmitter(after, device)));
                let Some(view) = view else { continue };
                for receiver in &receivers {
                    if verdict::quick(view, receiver) != Verdict::Links {
                        missing.push((verdict::link(after, view, receiver), at));
                    }
                }
            }
        }
        Ok(missing)
    }

    /// Whether mends change something of a transmitter that other aircraft lean on as well.
    fn harms(&self, link: &Link, steps: &[Step]) -> bool {
        let transmitter = link.transmitter.id;
        let changes = steps.iter().flat_map(|step| &step.changes).any(|change| {
            let memory = matches!(change, Change::Set { part: Part::Memory(_), .. });
            change.device() == transmitter && !memory
        });
        changes
            && self.crafts.iter().any(|craft| {
                craft.flown_by.contains(&transmitter) && !craft.receivers.contains(&link.receiver.id)
            })
    }

    fn missing_words(&self, after: &Scene, (link, craft): &(Link, usize)) -> Trouble {
        let reason = link
            .findings
            .iter()
            .max_by_key(|finding| finding.status)
            .map(|finding| finding.text.clone())
            .unwrap_or_default();
        let looks = World::looks_of(after, link);
        let first = looks.first().map(|look| format!(" Look first: {}", look.text));
        Trouble::Clash(format!(
            "{} must be flown with {}, and that link doesn't hold when all is done. {reason}{}",
            self.crafts[*craft].card.spoken(),
            link.transmitter.label(),
            first.unwrap_or_default()
        ))
    }

    /// An aircraft that must fly on a day and is not touched flies as it stands, or never.
    pub(super) fn must_fly(&self) -> Result<(), Trouble> {
        let from = i64::from(self.question.from.max(1));
        let begun = self.question.has_begun(self.question.from.max(1));
        for (_, wish) in self.wishes() {
            let Wish::Fly { aircraft, after } = wish else { continue };
            let days = i64::from(*after) - from;
            if days < -1 || (days == -1 && begun) {
                continue;
            }
            let aircraft = self.scene.register.canonical(*aircraft);
            let Some(at) = self.crafts.iter().position(|craft| craft.card.id == aircraft) else { continue };
            let touched = self.items.iter().any(|group| group.crafts.contains(&at));
            if !touched && !self.flies(&self.scene, &self.crafts[at]) {
                return Err(Trouble::Clash(format!(
                    "{} can't fly as things stand, and nothing that is done changes that.",
                    self.crafts[at].card.spoken()
                )));
            }
        }
        Ok(())
    }

    /// Links of which nobody knows whether they hold: a wish means them to, or a transmitter that
    /// changes may break them.
    pub(super) fn look_first(&mut self, fleet: &Fleet) {
        let all_pair = self.all_pair();
        let mut found = Vec::new();
        for craft in &self.crafts {
            for t in craft.flown_by.iter().filter(|t| !craft.required.contains(t)) {
                if !all_pair && !self.pivots.contains(t) {
                    continue;
                }
                for r in &craft.receivers {
                    let Some((view, receiver)) = fleet.transmitter(*t).zip(fleet.receiver(*r)) else {
                        continue;
                    };
                    if verdict::quick(view, receiver) != Verdict::Unknown {
                        continue;
                    }
                    let link = verdict::link(&self.scene, view, receiver);
                    for check in World::looks_of(&self.scene, &link) {
                        let (name, transmitter) = (craft.card.spoken(), link.transmitter.label());
                        found.push(Look {
                            text: check.text,
                            minutes: check.minutes,
                            supposes: if all_pair {
                                format!("Until then the plan leaves {name} with {transmitter} out.")
                            } else {
                                format!(
                                    "{transmitter} changes, and what is not known may break: until then the \
                                     plan doesn't keep {name} with {transmitter}."
                                )
                            },
                        });
                    }
                }
            }
        }
        found.sort_by(|a, b| (&a.text, &a.supposes).cmp(&(&b.text, &b.supposes)));
        found.dedup_by(|a, b| a.text == b.text);
        found.append(&mut self.looks);
        self.looks = found;
    }
}
