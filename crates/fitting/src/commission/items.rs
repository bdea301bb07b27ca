//! The list's items, one by one.

use std::collections::BTreeMap;

use register::fit::{Part, Proof, measured_words};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::rule::Verdict;
use register::scene::Scene;
use register::time::Moment;
use register::verdict::Link;
use register::view::{Card, ReceiverView, State};

use super::lapse::{self, Event};
use super::measure;
use super::{About, Commission, Item, Lapse, PartState, Signature, Standing, at, transmitters, tried};
use crate::finding::{Weight, heaviest};

pub fn list(
    scene: &Scene,
    fleet: &Fleet,
    aircraft: DeviceId,
    transmitter: Option<DeviceId>,
    parts: &[PartState],
    now: Moment,
) -> Option<Commission> {
    let view = fleet.aircraft(scene.register.canonical(aircraft))?;
    let meant = transmitters(fleet, view.card.id);
    let named = transmitter.map(|id| scene.register.canonical(id));
    let chosen = named.or(meant.first().map(|card| card.id));
    let chosen = chosen.and_then(|id| fleet.transmitter(id)).map(|view| view.card.clone());
    let fitted: Vec<&ReceiverView> = fleet.fitted_in(view.card.id).collect();
    let links: Vec<Link> = match &chosen {
        Some(card) => fitted.iter().filter_map(|one| fleet.link(scene, card.id, one.card.id)).collect(),
        None => Vec::new(),
    };
    let mut ends: Vec<String> = links.iter().map(|link| link.transmitter_end.end.clone()).collect();
    ends.sort_unstable();
    ends.dedup();
    let with = chosen.as_ref().map(|card| (card.id, ends.as_slice()));
    let events = lapse::events(scene, fleet, view.card.id, with, now);
    let bench = Bench {
        scene,
        view_id: view.card.id,
        now,
        chosen: chosen.as_ref(),
        fitted: &fitted,
        links: &links,
        parts,
        events: &events,
    };
    let mut items: Vec<Item> = About::ALL.into_iter().map(|about| bench.item(about)).collect();
    order_matters(&mut items);
    let signature = bench.signature(&items);
    let mut list = Commission {
        aircraft: view.card.clone(),
        craft: view.craft.clone(),
        transmitter: chosen.clone(),
        transmitters: meant,
        receivers: fitted.iter().map(|one| one.card.clone()).collect(),
        sentence: String::new(),
        items,
        signature,
    };
    list.sentence = sentence(&list);
    Some(list)
}

/// Clocks of two devices may differ by so much, milliseconds.
const CLOCK_SLACK_MS: i64 = 5 * 60 * 1000;

/// A proof that rests on another which no longer stands says so.
fn order_matters(items: &mut [Item]) {
    let directions = items.iter().find(|item| item.about == About::Proof(Proof::Directions));
    let Some(directions) = directions.map(|item| item.standing) else { return };
    if directions.counts() {
        return;
    }
    for item in items.iter_mut() {
        if matches!(item.about, About::Proof(Proof::Failsafe | Proof::Range)) && !item.next.is_empty() {
            item.next = format!("{} Prove the control directions first.", item.next);
        }
    }
}

struct Bench<'a> {
    scene: &'a Scene<'a>,
    view_id: DeviceId,
    now: Moment,
    chosen: Option<&'a Card>,
    fitted: &'a [&'a ReceiverView],
    links: &'a [Link],
    parts: &'a [PartState],
    events: &'a [Event],
}

fn item(about: About, standing: Standing, text: impl Into<String>, next: impl Into<String>) -> Item {
    Item {
        about,
        standing,
        text: text.into(),
        note: String::new(),
        seen: None,
        entry: None,
        lapses: Vec::new(),
        findings: Vec::new(),
        next: next.into(),
        minutes: None,
    }
}

impl Bench<'_> {
    fn item(&self, about: About) -> Item {
        let mut made = match about {
            About::Link => self.link(about),
            About::Part(part) => self.part(about, part),
            About::Proof(proof) => self.proof(about, proof),
        };
        let key = match about {
            About::Proof(proof) => format!("proof.{}", proof.word()),
            // What is written down already takes as long as its mend, and that isn't known.
            About::Part(part) if made.standing == Standing::Open => format!("write.{}", part.word()),
            About::Link | About::Part(_) => return made,
        };
        if !made.next.is_empty() {
            made.minutes = Some(self.scene.register.minutes().lookup(&key, None));
        }
        made
    }

    fn link(&self, about: About) -> Item {
        let Some(chosen) = self.chosen else {
            return item(
                about,
                Standing::Open,
                "No transmitter is known to fly it.",
                "Name the transmitter, or give one of its model memories this aircraft.",
            );
        };
        if self.fitted.is_empty() {
            return item(
                about,
                Standing::Open,
                "No receiver is known to be in it.",
                "Fit a receiver, and record it.",
            );
        }
        let name = chosen.label();
        let labels = |verdict: Verdict| {
            let those = self.links.iter().filter(|link| link.verdict() == verdict);
            those.map(|link| link.receiver.label()).collect::<Vec<_>>()
        };
        let (blocked, unknown) = (labels(Verdict::Blocked), labels(Verdict::Unknown));
        let mut made = if !blocked.is_empty() {
            let text = format!("{} doesn't link with {name}.", join(&blocked));
            item(
                about,
                Standing::Failed,
                text,
                format!("`link {name} {}` says why and what mends it.", blocked[0]),
            )
        } else if !unknown.is_empty() {
            let text = format!("Whether {} links with {name} isn't known.", join(&unknown));
            item(
                about,
                Standing::Open,
                text,
                format!("`link {name} {}` names the check that settles it.", unknown[0]),
            )
        } else {
            let all: Vec<String> = self.links.iter().map(|link| link.receiver.label()).collect();
            let verb = if all.len() == 1 { "links" } else { "link" };
            item(
                about,
                Standing::Checked,
                format!("{} {verb} with {name}, by what is written down.", join(&all)),
                "",
            )
        };
        // It is as old as the oldest fact that it rests on.
        let facts =
            self.links.iter().flat_map(|link| &link.findings).filter_map(|finding| finding.known_since);
        made.seen = facts.min();
        made
    }

    fn part(&self, about: About, part: Part) -> Item {
        let Some(state) = self.parts.iter().find(|state| state.part == part) else {
            return item(
                about,
                Standing::Open,
                format!("The {} are not written down.", part_words(part)),
                format!("Write them down: `{} {}`.", part.word(), self.name()),
            );
        };
        let mut made = match &state.read {
            Err(problems) => {
                let first = problems.first().map(ToString::to_string).unwrap_or_default();
                item(
                    about,
                    Standing::Failed,
                    format!("What is written can't be read: {first}"),
                    "Correct it.",
                )
            }
            Ok((sentence, findings)) => {
                let standing = match heaviest(findings) {
                    Some(Weight::Fault) => Standing::Failed,
                    Some(Weight::Warning) => Standing::Warned,
                    Some(Weight::Note) | None => Standing::Checked,
                };
                let next = findings.first().filter(|one| one.weight > Weight::Note);
                let mut made =
                    item(about, standing, sentence, next.map(|one| one.mend.clone()).unwrap_or_default());
                made.findings.clone_from(findings);
                made
            }
        };
        if state.texts > 1 {
            made.standing = made.standing.max(Standing::Warned);
            made.text = format!(
                "{} Two copies of the workshop wrote it differently ({} texts stand); the later is used.",
                made.text, state.texts
            );
            made.next = format!("Write the {} once more to settle it.", part.word());
        }
        made.seen = Some(state.seen);
        made.entry = Some(state.entry);
        made
    }

    fn name(&self) -> String {
        let device = self.scene.device(self.view_id);
        device.map(|device| register::view::card(device).label()).unwrap_or_default()
    }

    fn proof(&self, about: About, proof: Proof) -> Item {
        let transmitter = self.chosen.map(|card| card.id);
        let tried = tried(self.scene.register, self.view_id, proof, transmitter);
        let with = match (proof, self.chosen) {
            (Proof::Supply, _) | (_, None) => String::new(),
            (_, Some(card)) => format!(" with {}", card.label()),
        };
        // What is dated into the future would stand over all that happens until then.
        let latest = self.now.0.saturating_add(CLOCK_SLACK_MS);
        let (tried, ahead): (Vec<_>, Vec<_>) = tried.into_iter().partition(|mark| mark.seen.0 <= latest);
        if let (None, Some(mark)) = (tried.last(), ahead.last()) {
            let text = format!(
                "What is entered{with} is dated into the future, {}; it doesn't count.",
                mark.seen.date()
            );
            let mut made = item(
                about,
                Standing::Open,
                text,
                format!("{}{with}, or enter its date right.", doing(proof)),
            );
            made.entry = Some(mark.entry);
            return made;
        }
        let Some(last) = tried.last() else {
            return item(
                about,
                Standing::Open,
                format!("Never done{with}."),
                format!("{}{with}.", doing(proof)),
            );
        };
        let proven_at = at(last.seen, last.clock);
        let lapsing = self.events.iter().filter(|event| {
            let rule = lapse::rule(event.happening);
            rule.lapses.contains(&proof)
                && match event.entry {
                    // A day that began by itself: what was proven on it stands.
                    None => last.seen < event.seen,
                    Some(_) => at(event.seen, event.clock) > proven_at,
                }
        });
        let lapses: Vec<Lapse> = lapsing
            .map(|event| Lapse { event: event.clone(), why: &lapse::rule(event.happening).why })
            .collect();
        let when = last.seen.date();
        let measured = measured(&last.what.measured);
        let mut made = if !last.what.held {
            let text = format!("It did not hold on {when}{with}{measured}.");
            let mut made = item(about, Standing::Failed, text, "Find the cause, mend it, and do it again.");
            made.note.clone_from(&last.what.note);
            made
        } else if let Some(first) = lapses.first() {
            let more = match lapses.len() {
                1 => String::new(),
                2 => " and one thing more".to_owned(),
                many => format!(" and {} things more", many - 1),
            };
            let text = if first.event.entry.is_none() {
                format!("It held on {when}{with}{measured}, an earlier day.")
            } else {
                let then = first.event.seen.date();
                format!(
                    "It held on {when}{with}{measured}; since then, on {then}: {}{more}.",
                    first.event.text
                )
            };
            item(about, Standing::Lapsed, text, format!("{} again{with}.", doing(proof)))
        } else {
            item(about, Standing::Checked, format!("It held on {when}{with}{measured}."), "")
        };
        let before = tried[..tried.len() - 1].iter().rfind(|mark| mark.what.held);
        let works_to = self.parts.iter().find_map(|part| part.works_to).unwrap_or(measure::WORKS_TO);
        let before = before.map(|mark| &mark.what.measured);
        made.findings = measure::judge(proof, &last.what.measured, before, works_to);
        if made.standing == Standing::Checked
            && let Some(first) = made.findings.first()
        {
            made.standing = if first.weight == Weight::Fault { Standing::Failed } else { Standing::Warned };
            made.text = format!("{} {}", made.text, first.text);
            made.next.clone_from(&first.mend);
        }
        made.lapses = lapses;
        made.seen = Some(last.seen);
        made.entry = Some(last.entry);
        made
    }

    fn signature(&self, items: &[Item]) -> Option<Signature> {
        let register = self.scene.register;
        let chosen = self.chosen.map(|card| card.id);
        let log = register.fit(self.view_id)?;
        let same = |one: Option<DeviceId>| one.map(|id| register.canonical(id)) == chosen;
        let signed = log.signed.iter().filter(|mark| same(mark.what.transmitter));
        let last = signed.max_by_key(|mark| (mark.seen, mark.clock, mark.entry))?;
        let since: Vec<About> = items
            .iter()
            .filter(|item| !item.standing.counts() && last.what.checked.contains(&item.about.key()))
            .map(|item| item.about)
            .collect();
        let stands = since.is_empty() && last.what.unchecked.is_empty();
        Some(Signature { seen: last.seen, entry: last.entry, signed: last.what.clone(), since, stands })
    }
}

/// What to do for a proof.
fn doing(proof: Proof) -> &'static str {
    match proof {
        Proof::Directions => "Prove the control directions",
        Proof::Failsafe => "Prove the failsafe",
        Proof::Range => "Do the range check",
        Proof::Supply => "Do the supply check",
    }
}

/// What was measured, in words with a comma before each.
fn measured(values: &BTreeMap<String, f64>) -> String {
    values
        .iter()
        .map(|(key, value)| format!(", {}", measured_words(key, *value)))
        .collect::<Vec<_>>()
        .concat()
}

fn part_words(part: Part) -> &'static str {
    match part {
        Part::Outputs => "outputs",
        Part::Supply => "pack, wires and loads of the supply",
        Part::Failsafe => "failsafe's settings",
        Part::Antennas => "antennas",
    }
}

fn join(names: &[String]) -> String {
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}

/// What was checked, and what was not. It never says that an aircraft is safe.
fn sentence(list: &Commission) -> String {
    let name = list.aircraft.spoken();
    let with = list.transmitter.as_ref().map(|card| format!(" with {}", card.label())).unwrap_or_default();
    let of = |standing: Standing| {
        let those = list.items.iter().filter(|item| item.standing == standing);
        those.map(|item| item.about.label().to_owned()).collect::<Vec<_>>()
    };
    let counts = list.items.iter().filter(|item| item.standing.counts()).count();
    let all = list.items.len();
    let mut out = if counts == all {
        format!("{name}{with}: all {all} items are checked")
    } else {
        format!("{name}{with}: {counts} of {all} items are checked")
    };
    for (standing, words) in [
        (Standing::Failed, "did not hold"),
        (Standing::Lapsed, "lapsed"),
        (Standing::Open, "not checked"),
        (Standing::Warned, "to look at again"),
    ] {
        let those = of(standing);
        if !those.is_empty() {
            out = format!("{out}; {words}: {}", those.join(", "));
        }
    }
    match list.aircraft.state {
        State::InUse => {}
        other => out = format!("{out}; it is {}", other.word()),
    }
    out.push('.');
    out
}
