//! For each rule that blocks a link, the mends that lift it: their steps and minutes,
//! and what else in the fleet they break or repair.

use units::Minutes;

use crate::check::Ends;
use crate::effect::{self, Touched};
use crate::family::{Energised, Family, ModelIdRule, SecretRule, Side};
use crate::field::{Field, Part};
use crate::fleet::Fleet;
use crate::rule::{self, Rule, Status, Verdict};
use crate::scene::{Change, Scene};
use crate::time::Moment;
use crate::value::{EndRef, SecretMark, Value};
use crate::verdict::{self, Link};
use crate::view::{self, ModelId, ReceiverView, State, TransmitterView};

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The key of its minutes (`mend.pair`).
    pub key: &'static str,
    /// What to do.
    pub text: String,
    /// How long it takes.
    pub minutes: Minutes,
    /// What it energises.
    pub energises: Vec<Energised>,
    /// A caution of its own, beyond those of what it energises.
    pub caution: Option<&'static str>,
    /// What it changes.
    pub changes: Vec<Change>,
}

impl Step {
    /// Every caution that goes with the step.
    pub fn cautions(&self) -> Vec<&'static str> {
        self.energises.iter().map(|one| one.caution()).chain(self.caution).collect()
    }
}

/// One way to lift a block.
#[derive(Clone, Debug, PartialEq)]
pub struct Mend {
    /// The rule it lifts.
    pub rule: Rule,
    /// What to do, in a line.
    pub action: String,
    /// The steps, follow-ups included (a flash that wipes the pairing is followed by
    /// pairing).
    pub steps: Vec<Step>,
    /// The minutes of all steps.
    pub minutes: Minutes,
    /// The verdict afterwards: on this link, or on the one that takes its place.
    pub after: Verdict,
    /// What takes the place of this link, in words (`T1 with R26`); `None` where the two
    /// devices themselves are mended.
    pub instead: Option<String>,
    /// The rules that still block it afterwards.
    pub leaves: Vec<Rule>,
    /// Other links that hold now and won't.
    pub breaks: Vec<Touched>,
    /// Other links that don't hold now and will.
    pub repairs: Vec<Touched>,
}

/// A way to lift one rule, not yet tried out.
#[derive(Clone, Debug)]
pub(crate) struct Idea {
    pub rule: Rule,
    pub steps: Vec<Step>,
}

/// The caution that goes with a switched-off model-ID check.
pub const CHECK_OFF: &str = "With the model-ID check off a wrong memory can start the motor: take the propeller \
     off until the right memory is chosen, and switch the check on again when you are done.";

/// Judges two devices in a scene.
pub(crate) fn judge(scene: &Scene, link: &Link) -> Option<(TransmitterView, ReceiverView, Link)> {
    let transmitter = view::transmitter(scene, scene.device(link.transmitter.id)?);
    let receiver = view::receiver(scene, scene.device(link.receiver.id)?);
    let link = verdict::link(scene, &transmitter, &receiver);
    Some((transmitter, receiver, link))
}

/// What comes alive when a receiver hears its transmitter: in an aircraft the servos and
/// the motor as well.
pub fn both_on(receiver: &ReceiverView) -> &'static [Energised] {
    if receiver.fitted_in().is_some() {
        &Energised::ALL
    } else {
        &[Energised::Receiver, Energised::Transmitter]
    }
}

struct Kit<'a> {
    scene: &'a Scene<'a>,
    rules: Option<&'a Family>,
}

impl Kit<'_> {
    fn step(&self, key: &'static str, text: String, energises: &[Energised], changes: Vec<Change>) -> Step {
        let minutes = self.scene.register.minutes().lookup(key, self.rules);
        Step { key, text, minutes, energises: energises.to_vec(), caution: None, changes }
    }

    fn set(end: &EndRef, field: Field, value: Value) -> Change {
        Change::Set { device: end.device, part: Part::End(end.end.clone()), field, value }
    }

    fn pair(
        &self,
        receiver: &EndRef,
        transmitter: &EndRef,
        names: (&str, &str),
        view: &ReceiverView,
    ) -> Step {
        let change = Change::Pair { receiver: receiver.clone(), transmitter: transmitter.clone() };
        let text = format!("Pair {} with {} by hand.", names.1, names.0);
        let mut step = self.step("mend.pair", text, both_on(view), vec![change]);
        if let Some(family) = self.rules {
            step.minutes = family.minutes.get("mend.pair").copied().unwrap_or(family.pairing.minutes);
            // The workshop's own figure prevails over every file.
            if let Some(own) = self.scene.register.minutes().workshop("mend.pair") {
                step.minutes = own;
            }
            step.energises.clone_from(&family.pairing.energises);
        }
        step.caution = Some("Don't pair beside other gear that is in pair mode.");
        step
    }

    /// Flashing an end, by the family's quickest route or routes unknown.
    fn flash(&self, side: Side, end: &EndRef, name: &str, version: &str, region: Option<&str>) -> Vec<Step> {
        let mut changes = vec![];
        let what = match region {
            Some(region) => format!("{version}, {region} variant"),
            None => version.to_owned(),
        };
        let change = |route: &str| Change::Flash {
            end: end.clone(),
            version: version.to_owned(),
            route: route.to_owned(),
        };
        let routes: Vec<_> =
            self.rules.iter().flat_map(|family| &family.flash).filter(|route| route.side == side).collect();
        let region = region.map(|region| Kit::set(end, Field::Region, Value::Text(region.to_owned())));
        if routes.is_empty() {
            changes.push(change(""));
            changes.extend(region);
            let energises =
                if side == Side::Receiver { [Energised::Receiver] } else { [Energised::Transmitter] };
            return vec![self.step("mend.flash", format!("Flash {name} to {what}."), &energises, changes)];
        }
        routes
            .into_iter()
            .map(|route| {
                let needs = if route.needs.is_empty() {
                    String::new()
                } else {
                    format!(" (needs {})", route.needs.join(", "))
                };
                let mut changes = vec![change(&route.name)];
                changes.extend(region.clone());
                let text = format!("Flash {name} to {what} by {}{needs}.", route.name);
                let mut step = self.step("mend.flash", text, &route.energises, changes);
                step.minutes = self.scene.register.minutes().workshop("mend.flash").unwrap_or(route.minutes);
                step
            })
            .collect()
    }
}

#[expect(clippy::too_many_lines, reason = "one arm a rule")]
/// Ways to lift the rules that block a link, on its own two devices.
pub(crate) fn ideas(
    scene: &Scene,
    transmitter: &TransmitterView,
    receiver: &ReceiverView,
    link: &Link,
) -> Vec<Idea> {
    let Some(ends) = Ends::of(link, transmitter, receiver) else { return Vec::new() };
    let (t, r) = (ends.t, ends.r);
    let rules = rule::rules_for(t, r);
    let kit = Kit { scene, rules };
    let (tn, rn) = (link.transmitter.label(), link.receiver.label());
    let mut ideas: Vec<Idea> = Vec::new();
    let failing: Vec<Rule> = link
        .findings
        .iter()
        .filter(|finding| finding.status == Status::Fail)
        .map(|finding| finding.rule)
        .collect();
    for rule in failing {
        let mut add = |steps: Vec<Step>| ideas.push(Idea { rule, steps });
        match rule {
            Rule::Family | Rule::Band => {}
            Rule::Region => {
                if let (Some(want), Some(version)) = (t.region.one(), r.firmware.one()) {
                    for step in kit.flash(Side::Receiver, &r.end, &rn, version, Some(want)) {
                        add(vec![step]);
                    }
                }
                if let (Some(want), Some(version)) = (r.region.one(), t.firmware.one()) {
                    for step in kit.flash(Side::Transmitter, &t.end, &tn, version, Some(want)) {
                        add(vec![step]);
                    }
                }
            }
            Rule::Version => {
                if let Some(version) = t.firmware.one() {
                    for step in kit.flash(Side::Receiver, &r.end, &rn, version, None) {
                        add(vec![step]);
                    }
                }
                if let Some(version) = r.firmware.one() {
                    for step in kit.flash(Side::Transmitter, &t.end, &tn, version, None) {
                        add(vec![step]);
                    }
                }
            }
            Rule::Secret => {
                let held = |end: &view::EndView| match end.secret.one() {
                    Some(SecretMark::Blank) | None => None,
                    Some(SecretMark::SameAs(_)) => Some(SecretMark::SameAs(end.end.clone())),
                    Some(print) => Some(print.clone()),
                };
                if let Some(mark) = held(t) {
                    let change = Kit::set(&r.end, Field::Secret, Value::Secret(mark));
                    add(vec![kit.step(
                        "mend.set_secret",
                        format!("Set the link secret of {rn} to that of {tn}."),
                        &[Energised::Receiver],
                        vec![change],
                    )]);
                }
                if let Some(mark) = held(r) {
                    let change = Kit::set(&t.end, Field::Secret, Value::Secret(mark));
                    add(vec![kit.step(
                        "mend.set_secret",
                        format!("Set the link secret of {tn} to that of {rn}."),
                        &[Energised::Transmitter],
                        vec![change],
                    )]);
                }
                if matches!(
                    rules.map(|family| &family.secret),
                    Some(SecretRule::Equal { blank_allowed: true, .. })
                ) {
                    let mut steps = Vec::new();
                    for (end, name, energised) in
                        [(t, &tn, Energised::Transmitter), (r, &rn, Energised::Receiver)]
                    {
                        if end.secret.one() != Some(&SecretMark::Blank) {
                            let change = Kit::set(&end.end, Field::Secret, Value::Secret(SecretMark::Blank));
                            let text = format!("Clear the link secret of {name}.");
                            steps.push(kit.step("mend.clear_secret", text, &[energised], vec![change]));
                        }
                    }
                    if !steps.is_empty() {
                        add(steps);
                    }
                }
            }
            Rule::Pairing => add(vec![kit.pair(&r.end, &t.end, (&tn, &rn), receiver)]),
            Rule::ModelId => {
                for steps in model_id_ideas(&kit, transmitter, receiver, t, r, link) {
                    add(steps);
                }
            }
        }
    }
    // A memory that chooses the wrong end of its transmitter may choose another.
    if let Some(aircraft) = receiver.fitted_in() {
        for memory in transmitter.memories.iter().filter(|memory| memory.flies(aircraft)) {
            let Some(rule) =
                link.findings.iter().find(|finding| finding.status == Status::Fail).map(|f| f.rule)
            else {
                break;
            };
            for other in transmitter.ends.iter().filter(|end| end.end != t.end) {
                let ruling = rule::judge(other, &transmitter.memories, r, None);
                if memory.end.one().is_some() && ruling.answer(rule::Question::CanPair) == rule::Answer::Yes {
                    let change = Change::Set {
                        device: transmitter.card.id,
                        part: Part::Memory(memory.key.clone()),
                        field: Field::End,
                        value: Value::Text(other.end.end.clone()),
                    };
                    let text =
                        format!("Let memory {} of {tn} choose the end {}.", memory.label, other.end.end);
                    let step = kit.step("mend.choose_end", text, &[Energised::Transmitter], vec![change]);
                    ideas.push(Idea { rule, steps: vec![step] });
                }
            }
        }
    }
    ideas
}

fn model_id_ideas(
    kit: &Kit,
    transmitter: &TransmitterView,
    receiver: &ReceiverView,
    t: &view::EndView,
    r: &view::EndView,
    link: &Link,
) -> Vec<Vec<Step>> {
    let (tn, rn) = (transmitter.card.label(), receiver.card.label());
    let Some(ModelIdRule::Checked { at, off, low, high, .. }) = kit.rules.map(|family| &family.model_id)
    else {
        return Vec::new();
    };
    let number = |id: Option<&ModelId>| match id {
        Some(ModelId::Id(id)) if Some(*id) != *off => Some(*id),
        _ => None,
    };
    let held = number(r.model_id.one());
    let mut ideas = Vec::new();
    let memory =
        link.memory.as_ref().and_then(|(key, _)| transmitter.memories.iter().find(|m| m.key == *key));
    let memory_change = |key: &str, field, value| Change::Set {
        device: transmitter.card.id,
        part: Part::Memory(key.to_owned()),
        field,
        value,
    };
    if let Some(memory) = memory {
        if let Some(id) = held {
            ideas.push(vec![kit.step(
                "mend.set_memory_id",
                format!("Set the model ID of memory {} on {tn} to {id}.", memory.label),
                &[Energised::Transmitter],
                vec![memory_change(&memory.key, Field::ModelId, Value::Number(id))],
            )]);
        }
        if let Some(id) = number(memory.model_id.one()) {
            ideas.push(vec![kit.step(
                "mend.set_model_id",
                format!("Set the model ID of {rn} to {id}."),
                both_on(receiver),
                vec![Kit::set(&r.end, Field::ModelId, Value::Number(id))],
            )]);
        }
    } else if let Some(id) = held.filter(|id| (*low..=*high).contains(id)) {
        let aircraft = link.aircraft.as_ref();
        let label = aircraft.map_or_else(|| rn.clone(), view::Card::spoken);
        let key = free_key(transmitter);
        let mut changes = vec![
            memory_change(&key, Field::Name, Value::Text(label.clone())),
            memory_change(&key, Field::ModelId, Value::Number(id)),
            memory_change(&key, Field::End, Value::Text(t.end.end.clone())),
        ];
        if let Some(aircraft) = aircraft {
            changes.push(memory_change(&key, Field::Aircraft, Value::Device(aircraft.id)));
        }
        ideas.push(vec![kit.step(
            "mend.add_memory",
            format!("Make a model memory {label} with model ID {id} on {tn}."),
            &[Energised::Transmitter],
            changes,
        )]);
    }
    if let Some(off) = off {
        let (change, text) = match at {
            crate::family::CheckedAt::Receiver => (
                Some(Kit::set(&r.end, Field::ModelId, Value::Off)),
                format!("Switch the model-ID check of {rn} off (value {off})."),
            ),
            crate::family::CheckedAt::Transmitter => (
                memory.map(|memory| memory_change(&memory.key, Field::ModelId, Value::Off)),
                memory
                    .map(|memory| {
                        format!("Switch the check of memory {} on {tn} off (value {off}).", memory.label)
                    })
                    .unwrap_or_default(),
            ),
        };
        if let Some(change) = change {
            let mut step = kit.step("mend.check_off", text, both_on(receiver), vec![change]);
            step.caution = Some(CHECK_OFF);
            ideas.push(vec![step]);
        }
    }
    ideas
}

/// A memory key that the transmitter doesn't use yet.
fn free_key(transmitter: &TransmitterView) -> String {
    // Among one more key than there are memories, one is free.
    (1..=transmitter.memories.len() + 1)
        .map(|number| format!("m{number}"))
        .find(|key| transmitter.memories.iter().all(|memory| memory.key != *key))
        .unwrap_or_default()
}

/// Carries an idea out in a copy of the scene and adds what it makes necessary: values
/// that a flash wiped are set again, and the ends are paired again.
pub(crate) fn carry_out<'a>(
    scene: &Scene<'a>,
    before: &Link,
    idea: &Idea,
    now: Moment,
) -> Option<(Scene<'a>, Vec<Step>, TransmitterView, ReceiverView, Link)> {
    let mut after = scene.clone();
    let (old_t, old_r) = (
        view::transmitter(scene, scene.device(before.transmitter.id)?),
        view::receiver(scene, scene.device(before.receiver.id)?),
    );
    let old = Ends::of(before, &old_t, &old_r)?;
    let rules = rule::rules_for(old.t, old.r);
    let mut steps = idea.steps.clone();
    let mut flashed: Option<(Side, EndRef)> = None;
    for step in &steps {
        for change in &step.changes {
            after.apply(change, now);
            if let Change::Flash { end, .. } = change {
                let side = if *end == old.t.end { Side::Transmitter } else { Side::Receiver };
                flashed = Some((side, end.clone()));
            }
        }
    }
    if let Some((side, end)) = flashed {
        let kit = Kit { scene, rules };
        let (was, name) = match side {
            Side::Transmitter => (old.t, before.transmitter.label()),
            Side::Receiver => (old.r, before.receiver.label()),
        };
        let energises = if side == Side::Receiver { [Energised::Receiver] } else { [Energised::Transmitter] };
        let (_, _, link) = judge(&after, before)?;
        let lost = |rule: Rule| link.ruling.status(rule) > before.ruling.status(rule);
        let mut more = Vec::new();
        if lost(Rule::Secret)
            && let Some(mark) = was.secret.one()
        {
            let change = Kit::set(&end, Field::Secret, Value::Secret(mark.clone()));
            let text = format!("Set the link secret of {name} again: the flash wiped it.");
            more.push(kit.step("mend.set_secret", text, &energises, vec![change]));
        }
        if lost(Rule::ModelId)
            && side == Side::Receiver
            && let Some(id) = was.model_id.one()
        {
            let value = match id {
                ModelId::Off => Value::Off,
                ModelId::Id(id) => Value::Number(*id),
            };
            let text = format!("Set the model ID of {name} again: the flash wiped it.");
            let change = Kit::set(&end, Field::ModelId, value);
            more.push(kit.step("mend.set_model_id", text, &energises, vec![change]));
        }
        if lost(Rule::Region)
            && let Some(region) = was.region.one()
        {
            // Choosing the variant is part of flashing; it costs nothing more.
            if let Some(first) = steps.first_mut() {
                let change = Kit::set(&end, Field::Region, Value::Text(region.clone()));
                after.apply(&change, now);
                first.changes.push(change);
            }
        }
        for change in more.iter().flat_map(|step| &step.changes) {
            after.apply(change, now);
        }
        let (_, _, link) = judge(&after, before)?;
        if link.ruling.status(Rule::Pairing) > before.ruling.status(Rule::Pairing) {
            let step = kit.pair(
                &link.receiver_end,
                &link.transmitter_end,
                (&before.transmitter.label(), &before.receiver.label()),
                &old_r,
            );
            for change in &step.changes {
                after.apply(change, now);
            }
            more.push(step);
        }
        steps.extend(more);
    }
    let (transmitter, receiver, link) = judge(&after, before)?;
    Some((after, steps, transmitter, receiver, link))
}

/// Every mend for what blocks a link, the quickest first.
pub fn mends(
    scene: &Scene,
    fleet: &Fleet,
    transmitter: &TransmitterView,
    receiver: &ReceiverView,
    link: &Link,
    now: Moment,
) -> Vec<Mend> {
    if link.verdict() != Verdict::Blocked {
        return Vec::new();
    }
    let mut mends: Vec<Mend> = ideas(scene, transmitter, receiver, link)
        .iter()
        .filter_map(|idea| {
            let (after, steps, _, _, now_link) = carry_out(scene, link, idea, now)?;
            // A mend that leaves its own rule broken is none.
            if now_link.ruling.status(idea.rule) == Some(Status::Fail) {
                return None;
            }
            Some(finish(scene, fleet, link, idea.rule, steps, &after, &now_link))
        })
        .collect();
    mends.extend(instead(scene, fleet, receiver, link, now));
    mends.sort_by_cached_key(|mend| (mend.minutes.hundredths(), mend.rule, mend.action.clone()));
    mends.dedup_by(|a, b| a.action == b.action);
    mends
}

fn finish(
    scene: &Scene,
    fleet: &Fleet,
    link: &Link,
    rule: Rule,
    steps: Vec<Step>,
    after: &Scene,
    now_link: &Link,
) -> Mend {
    let effect = effect::effect(scene, fleet, after);
    let other = |touched: &&Touched| {
        touched.transmitter.id != link.transmitter.id || touched.receiver.id != link.receiver.id
    };
    let breaks = effect.breaks().filter(other).cloned().collect();
    let repairs = effect.repairs().filter(other).cloned().collect();
    let action = steps.iter().map(|step| step.text.clone()).collect::<Vec<_>>().join(" ");
    Mend {
        rule,
        action,
        minutes: steps.iter().map(|step| step.minutes).sum(),
        steps,
        after: now_link.verdict(),
        instead: None,
        leaves: Rule::ALL
            .into_iter()
            .filter(|rule| now_link.ruling.status(*rule) == Some(Status::Fail))
            .collect(),
        breaks,
        repairs,
    }
}

/// How many shelf spares and other transmitters are looked at closely.
const CLOSE_LOOKS: usize = 3;

/// Ways round a block: another transmitter that already links, or a shelf spare.
fn instead(scene: &Scene, fleet: &Fleet, receiver: &ReceiverView, link: &Link, now: Moment) -> Vec<Mend> {
    let Some(first) = link.findings.iter().find(|finding| finding.status == Status::Fail).map(|f| f.rule)
    else {
        return Vec::new();
    };
    let Some(aircraft) = &link.aircraft else { return Vec::new() };
    let kit = Kit { scene, rules: None };
    let mut ways = Vec::new();
    let others = fleet
        .transmitters
        .iter()
        .filter(|other| other.card.id != link.transmitter.id)
        // One that is lent or crashed is not at hand.
        .filter(|other| matches!(other.card.state, State::InUse | State::Shelf))
        .filter(|other| verdict::best(other, receiver).ruling.verdict() == Verdict::Links);
    for other in others.take(CLOSE_LOOKS) {
        let text = format!("Fly {} with {}, which links already.", aircraft.spoken(), other.card.label());
        let step = kit.step("mend.move_to_transmitter", text, &[Energised::Transmitter], Vec::new());
        ways.push(Mend {
            rule: first,
            action: step.text.clone(),
            minutes: step.minutes,
            steps: vec![step],
            after: Verdict::Links,
            instead: Some(format!("{} with {}", other.card.label(), receiver.card.label())),
            leaves: Vec::new(),
            breaks: Vec::new(),
            repairs: Vec::new(),
        });
    }
    // Only what nothing else cures asks for another receiver.
    if !matches!(first, Rule::Family | Rule::Band | Rule::Region | Rule::Version) {
        return ways;
    }
    let Some(transmitter) = fleet.transmitter(link.transmitter.id) else { return ways };
    let mut spares: Vec<_> = fleet
        .receivers
        .iter()
        .filter(|spare| spare.card.state == State::Shelf && spare.card.id != receiver.card.id)
        .filter(|spare| spare.fitted_in().is_none())
        .map(|spare| (verdict::best(transmitter, spare).ruling.rank(), spare))
        .filter(|(rank, _)| rank.1 < 9)
        .collect();
    spares.sort_by_key(|(rank, spare)| (*rank, spare.card.id));
    for (_, spare) in spares.into_iter().take(CLOSE_LOOKS) {
        let mut after = scene.clone();
        let step = swap_step(scene, spare, Some(receiver), aircraft);
        for change in &step.changes {
            after.apply(change, now);
        }
        let Some(spare_now) = after.device(spare.card.id).map(|device| view::receiver(&after, device)) else {
            continue;
        };
        let spare_link = verdict::link(&after, transmitter, &spare_now);
        if !matches!(spare_link.answer(rule::Question::CanPair), rule::Answer::Yes) {
            continue;
        }
        let mut steps = vec![step];
        if let Some(plan) = crate::plan::plan(&after, &spare_link, now) {
            for change in plan.steps.iter().flat_map(|step| &step.changes) {
                after.apply(change, now);
            }
            steps.extend(plan.steps);
        }
        let Some((_, _, mended)) = judge(&after, &spare_link) else { continue };
        let mut mend = finish(scene, fleet, link, first, steps, &after, &mended);
        mend.instead = Some(format!("{} with {}", transmitter.card.label(), spare.card.label()));
        // The link that takes this one's place is what the mend is about, not a side effect.
        mend.repairs.retain(|touched| {
            touched.transmitter.id != transmitter.card.id || touched.receiver.id != spare.card.id
        });
        ways.push(mend);
    }
    ways
}

/// Fitting a spare into an aircraft, in the place of the receiver that is there.
pub(crate) fn swap_step(
    scene: &Scene,
    spare: &ReceiverView,
    old: Option<&ReceiverView>,
    aircraft: &view::Card,
) -> Step {
    let kit = Kit { scene, rules: spare.ends.first().and_then(|end| end.rules.as_deref()) };
    let whole = |device, field, value| Change::Set { device, part: Part::Whole, field, value };
    let mut changes = Vec::new();
    let place = old.map(|old| format!(" in the place of {}", old.card.label())).unwrap_or_default();
    let text = format!("Fit {} from the shelf in {}{place}.", spare.card.label(), aircraft.spoken());
    if let Some(old) = old {
        changes.push(whole(old.card.id, Field::Aircraft, Value::None));
        changes.push(whole(old.card.id, Field::State, Value::Text(State::Shelf.word().to_owned())));
    }
    changes.push(whole(spare.card.id, Field::Aircraft, Value::Device(aircraft.id)));
    changes.push(whole(spare.card.id, Field::State, Value::Text(State::InUse.word().to_owned())));
    kit.step("mend.swap_receiver", text, &[], changes)
}
