//! What can fly today, what can't, what was last seen too long ago, and the next thing
//! to do.

use units::Minutes;

use crate::field::{Ageing, Field, Part};
use crate::fleet::{Fleet, natural};
use crate::id::DeviceId;
use crate::plan::{self, Plan};
use crate::register::{Device, Facts, Register};
use crate::rule::Verdict;
use crate::scene::Scene;
use crate::time::Moment;
use crate::verdict;
use crate::view::{self, Card, ReceiverView, State, TransmitterView};

/// Whether an aircraft can fly, as far as its links go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ready {
    /// Every receiver in it links with one transmitter.
    Links,
    /// No rule is broken with one transmitter, but something isn't known.
    Unknown,
    /// With every transmitter a rule is broken.
    Blocked,
    /// No receiver is known to be in it.
    Bare,
    /// It is lent, crashed or on the shelf.
    Away,
}

impl Ready {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Ready::Links => "links",
            Ready::Unknown => "unknown",
            Ready::Blocked => "blocked",
            Ready::Bare => "no_receiver",
            Ready::Away => "away",
        }
    }
}

/// One aircraft's line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The aircraft.
    pub aircraft: Card,
    /// Whether it can fly.
    pub ready: Ready,
    /// The transmitter that suits it best.
    pub transmitter: Option<Card>,
    /// The receivers in it.
    pub receivers: Vec<Card>,
    /// The pair of devices that stands in the way, or the first that holds.
    pub link: Option<(DeviceId, DeviceId)>,
    /// Why, in a sentence.
    pub text: String,
    /// What to do about it, where it is known.
    pub plan: Option<Plan>,
}

/// A fact last seen too long ago.
#[derive(Clone, Debug, PartialEq)]
pub struct Stale {
    /// The device.
    pub device: Card,
    /// Its part.
    pub part: Part,
    /// The fact.
    pub field: Field,
    /// When it was last seen.
    pub seen: Moment,
    /// How many days ago.
    pub days: i64,
}

/// The answer to *what about today?*
#[derive(Clone, Debug, PartialEq)]
pub struct Today {
    /// Every aircraft that the workshop still has, in the order of labels.
    pub lines: Vec<Line>,
    /// Facts last seen too long ago, the oldest first.
    pub stale: Vec<Stale>,
    /// How many such facts there are in all.
    pub stale_count: usize,
    /// The line whose mending takes the fewest minutes, as an index into `lines`.
    pub next: Option<usize>,
    /// Where no aircraft is written down: how many receivers link with some transmitter,
    /// of how many.
    pub receivers: Option<(usize, usize)>,
    /// How many fault trails are open.
    pub open_trails: usize,
    /// How many refits are open.
    pub open_refits: usize,
}

impl Today {
    /// How many aircraft are of a kind.
    pub fn count(&self, ready: Ready) -> usize {
        self.lines.iter().filter(|line| line.ready == ready).count()
    }

    /// The answer in a sentence.
    pub fn sentence(&self) -> String {
        let all = self.lines.iter().filter(|line| line.ready != Ready::Away).count();
        if all == 0 {
            return match self.receivers {
                None | Some((_, 0)) => "There is no aircraft in this workshop yet.".to_owned(),
                Some((0, _)) => {
                    "No receiver links with a transmitter, and no aircraft is written down yet.".to_owned()
                }
                Some((linking, receivers)) => format!(
                    "{linking} of {receivers} receivers link with a transmitter; no aircraft is written down yet."
                ),
            };
        }
        let fly = self.count(Ready::Links);
        let can = match (fly, all) {
            (0, 1) => "The one aircraft can't fly yet".to_owned(),
            (1, 1) => "The one aircraft can fly".to_owned(),
            (0, all) => format!("None of {all} aircraft can fly yet"),
            (fly, all) if fly == all => format!("All {all} aircraft can fly"),
            (fly, all) => format!("{fly} of {all} aircraft can fly"),
        };
        match self.next.map(|at| &self.lines[at]) {
            Some(line) => {
                let minutes = line.plan.as_ref().map_or(Minutes::ZERO, |plan| plan.minutes);
                format!("{can}; next is {}, {minutes}.", line.aircraft.spoken())
            }
            None => format!("{can}."),
        }
    }
}

/// Days after which a settable fact is worth another look, unless the workshop's setting
/// `stale.settable_days` says otherwise. Judgement, no source.
const SETTABLE_DAYS: i64 = 180;
/// The same for what wears (`stale.wearing_days`). Judgement, no source.
const WEARING_DAYS: i64 = 365;

/// After how many days a field is worth another look; `None` for what never changes.
pub fn stale_after(register: &Register, field: Field) -> Option<i64> {
    let (key, default) = match field.ageing() {
        Ageing::Fixed => return None,
        Ageing::Settable => ("stale.settable_days", SETTABLE_DAYS),
        Ageing::Wearing => ("stale.wearing_days", WEARING_DAYS),
    };
    // What a thing is called and where it is doesn't go bad by itself.
    if matches!(
        field,
        Field::Code
            | Field::Name
            | Field::State
            | Field::Owner
            | Field::Note
            | Field::Family
            | Field::End
            | Field::Aircraft
            | Field::Partners
    ) {
        return None;
    }
    Some(register.setting(key).and_then(|days| days.trim().parse().ok()).unwrap_or(default))
}

/// How many lines get a plan, and how many stale facts are listed.
const PLANS: usize = 60;
const STALE_LISTED: usize = 200;

/// What about today.
pub fn today(scene: &Scene, fleet: &Fleet, now: Moment) -> Today {
    let mut in_aircraft: std::collections::HashMap<DeviceId, Vec<&ReceiverView>> =
        std::collections::HashMap::new();
    for receiver in &fleet.receivers {
        if let Some(aircraft) = receiver.fitted_in() {
            in_aircraft.entry(aircraft).or_default().push(receiver);
        }
    }
    let mut flown: std::collections::HashMap<DeviceId, Vec<&TransmitterView>> =
        std::collections::HashMap::new();
    for transmitter in &fleet.transmitters {
        for aircraft in
            transmitter.memories.iter().filter_map(|memory| memory.aircraft.one().copied().flatten())
        {
            let list = flown.entry(aircraft).or_default();
            if !list.iter().any(|have| have.card.id == transmitter.card.id) {
                list.push(transmitter);
            }
        }
    }
    let mut lines: Vec<Line> = Vec::new();
    for craft in &fleet.aircraft {
        let receivers = in_aircraft.get(&craft.card.id).map(Vec::as_slice).unwrap_or_default();
        let flown_by = flown.get(&craft.card.id).map(Vec::as_slice).unwrap_or_default();
        lines.push(line(scene, fleet, &craft.card, receivers, flown_by));
    }
    let mut worst: Vec<usize> =
        (0..lines.len()).filter(|at| matches!(lines[*at].ready, Ready::Blocked | Ready::Unknown)).collect();
    worst.sort_by_key(|at| (lines[*at].ready, *at));
    for at in worst.into_iter().take(PLANS) {
        if let Some((transmitter, receiver)) = lines[at].link
            && let Some(link) = fleet.link(scene, transmitter, receiver)
        {
            lines[at].plan = plan::gentle(scene, fleet, &link, now).map(|(plan, _)| plan);
        }
    }
    let next = (0..lines.len())
        .filter_map(|at| Some((lines[at].plan.as_ref()?.minutes.hundredths(), at)))
        .min()
        .map(|(_, at)| at);
    let mut stale = Vec::new();
    for device in scene.devices() {
        gather_stale(scene.register, device, now, &mut stale);
    }
    let stale_count = stale.len();
    stale.sort_by_cached_key(|stale: &Stale| {
        (stale.seen, natural(&stale.device.label()), stale.field, stale.part.clone())
    });
    stale.truncate(STALE_LISTED);
    let receivers = fleet.aircraft.is_empty().then(|| {
        let links = |receiver: &&ReceiverView| {
            fleet.transmitters.iter().any(|t| verdict::best(t, receiver).ruling.verdict() == Verdict::Links)
        };
        (fleet.receivers.iter().filter(links).count(), fleet.receivers.len())
    });
    let open_trails = scene.register.trails().iter().filter(|log| log.closed.is_none()).count();
    let open_refits = scene.register.refits().iter().filter(|log| log.ended().is_none()).count();
    Today { lines, stale, stale_count, next, receivers, open_trails, open_refits }
}

fn line(
    scene: &Scene,
    fleet: &Fleet,
    card: &Card,
    receivers: &[&ReceiverView],
    flown_by: &[&TransmitterView],
) -> Line {
    let mut line = Line {
        aircraft: card.clone(),
        ready: Ready::Bare,
        transmitter: None,
        receivers: receivers.iter().map(|receiver| receiver.card.clone()).collect(),
        link: None,
        text: String::new(),
        plan: None,
    };
    if !matches!(card.state, State::InUse) {
        line.ready = Ready::Away;
        line.text = format!("It is {}.", where_words(card.state));
        return line;
    }
    if receivers.is_empty() {
        "No receiver is known to be in it.".clone_into(&mut line.text);
        return line;
    }
    // The transmitters that have a memory for it, else all of them.
    let any: Vec<&TransmitterView>;
    let candidates = if flown_by.is_empty() {
        any = fleet.transmitters.iter().collect();
        any.as_slice()
    } else {
        flown_by
    };
    let mut best: Option<((Verdict, usize, usize), &TransmitterView, &ReceiverView)> = None;
    for transmitter in candidates {
        let worst = receivers
            .iter()
            .map(|receiver| (verdict::best(transmitter, receiver).ruling.rank(), *receiver))
            .max_by_key(|(rank, receiver)| (*rank, std::cmp::Reverse(receiver.card.id)));
        if let Some((rank, receiver)) = worst
            && best.as_ref().is_none_or(|(have, ..)| rank < *have)
        {
            best = Some((rank, transmitter, receiver));
        }
    }
    let Some((rank, transmitter, receiver)) = best else {
        line.ready = Ready::Unknown;
        "There is no transmitter in the register.".clone_into(&mut line.text);
        return line;
    };
    line.ready = match rank.0 {
        Verdict::Links => Ready::Links,
        Verdict::Unknown => Ready::Unknown,
        Verdict::Blocked => Ready::Blocked,
    };
    line.transmitter = Some(transmitter.card.clone());
    line.link = Some((transmitter.card.id, receiver.card.id));
    line.text = if line.ready == Ready::Links {
        format!("Links with {}.", transmitter.card.label())
    } else {
        let link = verdict::link(scene, transmitter, receiver);
        let worst = link.findings.iter().map(|finding| finding.status).max();
        link.findings
            .iter()
            .find(|finding| Some(finding.status) == worst)
            .map(|finding| finding.text.clone())
            .unwrap_or_default()
    };
    line
}

fn where_words(state: State) -> &'static str {
    match state {
        State::InUse => "in use",
        State::Shelf => "on the shelf",
        State::Lent => "lent",
        State::Crashed => "crashed and not yet looked at",
        State::Sold => "sold",
        State::Destroyed => "destroyed",
    }
}

fn gather_stale(register: &Register, device: &Device, now: Moment, into: &mut Vec<Stale>) {
    let card = view::card(device);
    if !card.state.is_here() {
        return;
    }
    let mut gather = |part: Part, facts: &Facts| {
        let mut newest: Vec<(Field, Moment)> = Vec::new();
        for (field, reading) in facts.iter() {
            match newest.iter_mut().find(|(have, _)| *have == field) {
                Some((_, seen)) => *seen = (*seen).max(reading.seen),
                None => newest.push((field, reading.seen)),
            }
        }
        for (field, seen) in newest {
            let days = now.days_since(seen);
            if stale_after(register, field).is_some_and(|limit| days > limit) {
                into.push(Stale { device: card.clone(), part: part.clone(), field, seen, days });
            }
        }
    };
    gather(Part::Whole, &device.whole);
    for (key, end) in &device.ends {
        gather(Part::End(key.clone()), &end.facts);
    }
    for (key, facts) in &device.memories {
        gather(Part::Memory(key.clone()), facts);
    }
}
