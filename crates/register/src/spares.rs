//! Which spare fits an aircraft: shelf receivers tried out in it, the quickest first.

use units::Minutes;

use crate::fleet::{Fleet, natural};
use crate::id::DeviceId;
use crate::mend::{self, Step};
use crate::plan::{self, Plan};
use crate::rule::Verdict;
use crate::scene::Scene;
use crate::time::Moment;
use crate::verdict::{self, Link};
use crate::view::{self, Card, State};

/// A shelf receiver, tried out in an aircraft with one transmitter.
#[derive(Clone, Debug, PartialEq)]
pub struct Spare {
    /// The receiver.
    pub receiver: Card,
    /// The transmitter it would be flown with.
    pub transmitter: Card,
    /// The receiver it takes the place of.
    pub replaces: Option<Card>,
    /// Fitting it.
    pub fit: Step,
    /// The verdict once it is fitted, before anything else is done.
    pub link: Link,
    /// What is then to be looked at and done; `None` when nothing helps.
    pub plan: Option<Plan>,
    /// The minutes of fitting, looking and mending; `None` when nothing helps.
    pub minutes: Option<Minutes>,
}

impl Spare {
    /// Whether it can be made to link.
    pub fn fits(&self) -> bool {
        self.plan.is_some()
    }
}

/// How many spares are looked at closely for each transmitter.
const CLOSE_LOOKS: usize = 50;

/// The shelf receivers for an aircraft, with every transmitter that has a memory for it
/// (with every transmitter where none has); those that fit, the quickest first, then
/// those that don't.
pub fn spares(scene: &Scene, fleet: &Fleet, aircraft: DeviceId, now: Moment) -> Vec<Spare> {
    let Some(craft) = fleet.aircraft(aircraft) else { return Vec::new() };
    let fitted = fleet.fitted_in(aircraft).next();
    let has_memory =
        |view: &&view::TransmitterView| view.memories.iter().any(|memory| memory.flies(aircraft));
    let mut transmitters: Vec<_> = fleet.transmitters.iter().filter(has_memory).collect();
    if transmitters.is_empty() {
        transmitters = fleet.transmitters.iter().collect();
    }
    let mut found = Vec::new();
    for transmitter in transmitters {
        let mut shelf: Vec<_> = fleet
            .receivers
            .iter()
            .filter(|spare| spare.card.state == State::Shelf && spare.fitted_in() != Some(aircraft))
            .map(|spare| (verdict::best(transmitter, spare).ruling.rank(), spare))
            .collect();
        shelf.sort_by_key(|(rank, spare)| (*rank, spare.card.id));
        for (_, spare) in shelf.into_iter().take(CLOSE_LOOKS) {
            let fit = mend::swap_step(scene, spare, fitted, &craft.card);
            let mut after = scene.clone();
            for change in &fit.changes {
                after.apply(change, now);
            }
            let Some(view) = after.device(spare.card.id).map(|device| view::receiver(&after, device)) else {
                continue;
            };
            let link = verdict::link(&after, transmitter, &view);
            let plan = plan::plan(&after, &link, now);
            found.push(Spare {
                receiver: spare.card.clone(),
                transmitter: transmitter.card.clone(),
                replaces: fitted.map(|view| view.card.clone()),
                minutes: plan.as_ref().map(|plan| fit.minutes + plan.minutes),
                fit,
                link,
                plan,
            });
        }
    }
    found.sort_by_cached_key(|spare| {
        (
            spare.minutes.is_none(),
            spare.minutes.map(Minutes::hundredths),
            spare.link.verdict() != Verdict::Links,
            natural(&spare.receiver.label()),
            spare.receiver.id,
            spare.transmitter.id,
        )
    });
    found
}
