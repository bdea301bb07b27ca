//! What holds of each end, memory and aircraft: standing readings weighed by how they
//! are known, with lapses and pairings worked in.

use std::sync::Arc;

use crate::family::{Family, PartnerRule, Side, Version, band_mhz, squeeze};
use crate::field::{Field, How, Sort};
use crate::id::{DeviceId, EntryId};
use crate::register::{Device, EndFacts, Facts, Reading};
use crate::scene::Scene;
use crate::time::{Clock, Moment};
use crate::value::{EndRef, SecretMark, Value};

/// How and since when something is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// How.
    pub how: How,
    /// When it was seen.
    pub seen: Moment,
    /// The order of its entry.
    pub clock: Clock,
    /// The entry that says so.
    pub entry: EntryId,
    /// Whether it claims to be seen later than it was written down.
    pub future: bool,
}

/// Clocks of two devices may differ by so much before a reading counts as dated into
/// the future, milliseconds.
const CLOCK_SLACK_MS: i64 = 5 * 60 * 1000;

impl Source {
    fn of(reading: &Reading) -> Source {
        Source {
            how: reading.how,
            seen: reading.seen,
            clock: reading.clock,
            entry: reading.entry,
            future: reading.seen.0 > reading.recorded.0.saturating_add(CLOCK_SLACK_MS),
        }
    }

    fn event(seen: Moment, clock: Clock, entry: EntryId) -> Source {
        Source { how: How::Seen, seen, clock, entry, future: false }
    }

    /// Its place in time: by the moment seen, then by the clock.
    fn at(&self) -> (Moment, Clock) {
        (self.seen, self.clock)
    }
}

/// A fact: not known, known, or clashing (several values, equally well known).
#[derive(Clone, Debug, PartialEq)]
pub struct Known<T> {
    /// The values it may have; none when nothing is known.
    pub options: Vec<(T, Source)>,
}

impl<T> Default for Known<T> {
    fn default() -> Self {
        Known { options: Vec::new() }
    }
}

impl<T> Known<T> {
    /// The value, where there is exactly one.
    pub fn one(&self) -> Option<&T> {
        match self.options.as_slice() {
            [(value, _)] => Some(value),
            _ => None,
        }
    }

    /// The source of the value, or of the newest of clashing values.
    pub fn source(&self) -> Option<Source> {
        self.options.iter().map(|(_, source)| *source).max_by_key(|source| source.seen)
    }

    /// Whether equally well known readings disagree.
    pub fn clashes(&self) -> bool {
        self.options.len() > 1
    }

    fn map<U>(&self, f: impl Fn(&T) -> Option<U>) -> Known<U> {
        // One option that means nothing makes the fact unknown: it may be anything.
        let options: Option<Vec<_>> =
            self.options.iter().map(|(value, source)| Some((f(value)?, *source))).collect();
        Known { options: options.unwrap_or_default() }
    }
}

/// Decides what a field's standing readings come to; those not after `lapsed` are past.
pub fn weigh<'a>(
    readings: impl Iterator<Item = &'a Reading> + Clone,
    lapsed: Option<(Moment, Clock)>,
) -> Known<Value> {
    let live = readings.filter(|reading| lapsed.is_none_or(|at| reading.at() > at));
    let Some(best) = live.clone().map(|reading| reading.how).max() else { return Known::default() };
    let mut options: Vec<(Value, Source)> = Vec::new();
    for reading in live.filter(|reading| reading.how == best) {
        if reading.value == Value::Unknown {
            return Known::default();
        }
        match options.iter_mut().find(|(value, _)| *value == reading.value) {
            Some((_, source)) if source.seen >= reading.seen => {}
            Some((_, source)) => *source = Source::of(reading),
            None => options.push((reading.value.clone(), Source::of(reading))),
        }
    }
    options.sort_by(|(a, _), (b, _)| a.cmp(b));
    Known { options }
}

/// What a whole device's or memory's fact comes to.
pub fn fact(facts: &Facts, field: Field) -> Known<Value> {
    let mut readings = facts.of(field);
    // One reading is by far the commonest case, and needs no weighing.
    match (readings.next(), readings.next()) {
        (None, _) => Known::default(),
        (Some(only), None) if only.value == Value::Unknown => Known::default(),
        (Some(only), None) => Known { options: vec![(only.value.clone(), Source::of(only))] },
        _ => weigh(facts.of(field).collect::<Vec<_>>().into_iter(), None),
    }
}

fn text(value: &Value) -> Option<String> {
    match value {
        Value::Text(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}

/// The words of a fact, where there is one value.
pub fn words(facts: &Facts, field: Field) -> Option<String> {
    fact(facts, field).one().and_then(text)
}

/// A model ID as an end or a memory holds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ModelId {
    /// The check is switched off.
    Off,
    /// The number.
    Id(u32),
}

fn model_id(value: &Value) -> Option<ModelId> {
    match value {
        Value::Off => Some(ModelId::Off),
        Value::Number(number) => Some(ModelId::Id(*number)),
        Value::Text(text) => text.trim().parse().ok().map(ModelId::Id),
        _ => None,
    }
}

/// A secret, as two ends compare it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SecretKey {
    /// Empty.
    Blank,
    /// A fingerprint under a key.
    Print(u64, u128),
    /// Whatever that end holds.
    HeldBy(EndRef),
}

/// Where an end transmits.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BandKey {
    /// Between two frequencies, kilohertz.
    Span(u64, u64),
    /// Words that no family file explains.
    Words(String),
}

/// A value as the rules compare it: recognised by the family, or only words.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WordKey<T> {
    /// What it means; `None` when the words mean nothing to the family.
    pub means: Option<T>,
    /// The words, lower case without spaces.
    pub words: String,
}

/// Which transmitter ends a receiver end remembers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PartnerView {
    /// Those it is known to remember.
    pub known: Vec<(EndRef, Source)>,
    /// Set when these are all of them, with the reason for knowing so.
    pub all: Option<Source>,
}

/// One end, with its facts weighed.
#[derive(Clone, Debug, PartialEq)]
pub struct EndView {
    /// Which end.
    pub end: EndRef,
    /// The family's name.
    pub family: Known<String>,
    /// What the family's file says, where it is known and read.
    pub rules: Option<Arc<Family>>,
    /// The band, in the owner's words.
    pub band: Known<String>,
    /// The region variant.
    pub region: Known<String>,
    /// The firmware version.
    pub firmware: Known<String>,
    /// The secret.
    pub secret: Known<SecretMark>,
    /// The model ID (receivers).
    pub model_id: Known<ModelId>,
    /// The partners (receivers).
    pub partners: PartnerView,
    /// When the last flash was, if any.
    pub flashed: Option<Moment>,
    /// The same facts as the rules compare them.
    pub keys: EndKeys,
}

/// An end's facts as the rules compare them; an empty list is *not known*.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct EndKeys {
    /// Family names, squeezed.
    pub family: Vec<String>,
    /// Bands.
    pub band: Vec<BandKey>,
    /// Region variants.
    pub region: Vec<WordKey<String>>,
    /// Versions.
    pub version: Vec<WordKey<Version>>,
    /// Secrets.
    pub secret: Vec<SecretKey>,
}

/// One model memory.
#[derive(Clone, Debug, PartialEq)]
pub struct MemoryView {
    /// Its key.
    pub key: String,
    /// What to call it.
    pub label: String,
    /// The end it chooses.
    pub end: Known<String>,
    /// Its model ID.
    pub model_id: Known<ModelId>,
    /// The aircraft it flies (`None` = none).
    pub aircraft: Known<Option<DeviceId>>,
}

impl MemoryView {
    /// Whether this memory may choose the end `key` of a transmitter with `ends` ends.
    pub fn may_choose(&self, key: &str) -> bool {
        self.end.options.is_empty() || self.end.options.iter().any(|(end, _)| end == key)
    }

    /// Whether this memory is known to fly the aircraft.
    pub fn flies(&self, aircraft: DeviceId) -> bool {
        matches!(self.aircraft.one(), Some(Some(id)) if *id == aircraft)
    }
}

/// Where a device is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// In use (or nobody said otherwise).
    InUse,
    /// On the shelf.
    Shelf,
    /// Lent to somebody.
    Lent,
    /// Crashed, and not yet looked at.
    Crashed,
    /// Sold.
    Sold,
    /// Destroyed.
    Destroyed,
}

impl State {
    /// Every state.
    pub const ALL: [State; 6] =
        [State::InUse, State::Shelf, State::Lent, State::Crashed, State::Sold, State::Destroyed];

    /// The word in TOML, CSV, JSON and on pages.
    pub fn word(self) -> &'static str {
        match self {
            State::InUse => "in use",
            State::Shelf => "shelf",
            State::Lent => "lent",
            State::Crashed => "crashed",
            State::Sold => "sold",
            State::Destroyed => "destroyed",
        }
    }

    /// The state that a word means.
    pub fn from_word(word: &str) -> Option<State> {
        let word = squeeze(word).replace(['_', '-'], "");
        State::ALL.into_iter().find(|state| squeeze(state.word()) == word)
    }

    /// Whether the workshop still has it.
    pub fn is_here(self) -> bool {
        !matches!(self, State::Sold | State::Destroyed)
    }
}

/// What every device has.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Its id.
    pub id: DeviceId,
    /// Its short code, where it has one.
    pub code: Option<String>,
    /// Its name, where it has one.
    pub name: Option<String>,
    /// Where it is.
    pub state: State,
    /// When anything about it was last seen.
    pub last_seen: Moment,
}

impl Card {
    /// What tables and JSON call it: the code, else the name, else the start of the id.
    pub fn label(&self) -> String {
        self.code.clone().or_else(|| self.name.clone()).unwrap_or_else(|| short(self.id))
    }

    /// What sentences call it: the name, else the code, else the start of the id.
    pub fn spoken(&self) -> String {
        self.name.clone().or_else(|| self.code.clone()).unwrap_or_else(|| short(self.id))
    }

    /// Code and name, `R7 Glider receiver`.
    pub fn full(&self) -> String {
        match (&self.code, &self.name) {
            (Some(code), Some(name)) if code != name => format!("{code} {name}"),
            _ => self.label(),
        }
    }
}

fn short(id: DeviceId) -> String {
    // The end of a version 7 id is random, its start is a time.
    let id = id.to_string();
    format!("…{}", &id[id.len() - 6..])
}

/// A transmitter.
#[derive(Clone, Debug, PartialEq)]
pub struct TransmitterView {
    /// What it is called and where it is.
    pub card: Card,
    /// Its ends.
    pub ends: Vec<EndView>,
    /// Its model memories.
    pub memories: Vec<MemoryView>,
}

/// A receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct ReceiverView {
    /// What it is called and where it is.
    pub card: Card,
    /// The aircraft it is fitted in (`None` = none).
    pub aircraft: Known<Option<DeviceId>>,
    /// Its ends.
    pub ends: Vec<EndView>,
}

impl ReceiverView {
    /// The aircraft it is known to be in.
    pub fn fitted_in(&self) -> Option<DeviceId> {
        self.aircraft.one().copied().flatten()
    }
}

/// What a device is called and where it is.
pub fn card(device: &Device) -> Card {
    let state = words(&device.whole, Field::State).and_then(|word| State::from_word(&word));
    Card {
        id: device.id,
        code: words(&device.whole, Field::Code),
        name: words(&device.whole, Field::Name),
        state: state.unwrap_or(State::InUse),
        last_seen: device.last_seen,
    }
}

fn aircraft(scene: &Scene, facts: &Facts) -> Known<Option<DeviceId>> {
    fact(facts, Field::Aircraft).map(|value| match value {
        Value::Device(id) => Some(Some(scene.register.canonical(*id))),
        Value::None => Some(None),
        _ => None,
    })
}

/// A transmitter's view.
pub fn transmitter(scene: &Scene, device: &Device) -> TransmitterView {
    let memories = device
        .memories
        .iter()
        .map(|(key, facts)| MemoryView {
            key: key.clone(),
            label: words(facts, Field::Name).unwrap_or_else(|| key.clone()),
            end: fact(facts, Field::End).map(text),
            model_id: fact(facts, Field::ModelId).map(model_id),
            aircraft: aircraft(scene, facts),
        })
        .collect();
    TransmitterView { card: card(device), ends: ends(scene, device, Side::Transmitter), memories }
}

/// A receiver's view.
pub fn receiver(scene: &Scene, device: &Device) -> ReceiverView {
    ReceiverView {
        card: card(device),
        aircraft: aircraft(scene, &device.whole),
        ends: ends(scene, device, Side::Receiver),
    }
}

fn ends(scene: &Scene, device: &Device, side: Side) -> Vec<EndView> {
    if device.ends.is_empty() {
        // Every radio has at least one end, whether or not anybody wrote about it.
        return vec![end(scene, device.id, crate::field::Part::MAIN, &EndFacts::default(), side)];
    }
    device.ends.iter().map(|(key, facts)| end(scene, device.id, key, facts, side)).collect()
}

/// The latest flash of this end that wipes `field`, by what the family says.
fn wiped(
    facts: &EndFacts,
    family: Option<&Family>,
    side: Side,
    field: Field,
) -> Option<(Moment, Clock, EntryId)> {
    let family = family?;
    facts
        .flashes
        .iter()
        .filter(|flash| family.wiped_by_flash(side, &flash.route, &flash.version).contains(&field))
        .map(|flash| (flash.seen, flash.clock, flash.entry))
        .max()
}

fn end(scene: &Scene, device: DeviceId, key: &str, facts: &EndFacts, side: Side) -> EndView {
    let family = fact(&facts.facts, Field::Family).map(text);
    let rules = family.one().and_then(|name| scene.register.family(name)).cloned();
    let rules_ref = rules.as_deref();
    let weighed = |field| {
        let lapsed = wiped(facts, rules_ref, side, field).map(|(seen, clock, _)| (seen, clock));
        match lapsed {
            None => fact(&facts.facts, field),
            Some(_) => weigh(facts.facts.of(field).collect::<Vec<_>>().into_iter(), lapsed),
        }
    };
    let band = fact(&facts.facts, Field::Band).map(text);
    let region = weighed(Field::Region).map(text);
    let firmware = fact(&facts.facts, Field::Firmware).map(text);
    let secret = weighed(Field::Secret).map(|value| match value {
        Value::Secret(mark) => Some(mark.clone()),
        _ => None,
    });
    let end = EndRef { device, end: key.to_owned() };
    let keys = EndKeys {
        family: keys(&family, |name| squeeze(name)),
        band: band_keys(&band, rules_ref),
        region: keys(&region, |text| WordKey {
            means: rules_ref.and_then(|family| family.region(text)).map(str::to_owned),
            words: squeeze(text),
        }),
        version: keys(&firmware, |text| WordKey { means: Version::parse(text), words: squeeze(text) }),
        secret: secret_keys(scene, &secret, &end, 0),
    };
    let wiped_partners = wiped(facts, rules_ref, side, Field::Partners);
    let partners = match side {
        Side::Receiver => partners(scene, facts, rules_ref, wiped_partners),
        Side::Transmitter => PartnerView::default(),
    };
    EndView {
        model_id: weighed(Field::ModelId).map(model_id),
        flashed: facts.flashes.iter().map(|flash| flash.seen).max(),
        end,
        family,
        rules,
        band,
        region,
        firmware,
        secret,
        partners,
        keys,
    }
}

fn keys<T, K: Ord>(known: &Known<T>, key: impl Fn(&T) -> K) -> Vec<K> {
    let mut keys: Vec<K> = known.options.iter().map(|(value, _)| key(value)).collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}

fn band_keys(band: &Known<String>, family: Option<&Family>) -> Vec<BandKey> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few gigahertz in kHz")]
    let khz = |mhz: f64| (mhz.max(0.0) * 1000.0).round() as u64;
    let span = |band: &crate::family::Band| BandKey::Span(khz(band.low.0), khz(band.high.0));
    if band.options.is_empty() {
        // A family with one band leaves no choice.
        return match family.map(|family| family.bands.as_slice()) {
            Some([only]) => vec![span(only)],
            _ => Vec::new(),
        };
    }
    keys(band, |text| {
        if let Some(band) = family.and_then(|family| family.band(text)) {
            return span(band);
        }
        // 1.5 % to each side keeps 868 and 915 MHz apart and joins 2.4 and 2.45 GHz.
        band_mhz(text).map_or_else(
            || BandKey::Words(squeeze(text)),
            |mhz| BandKey::Span(khz(mhz.0 * 0.985), khz(mhz.0 * 1.015)),
        )
    })
}

/// Whether an end's secret is known by itself: blank, or by a fingerprint.
pub fn secret_is_told(end: &EndView) -> bool {
    let secret = &end.keys.secret;
    !secret.is_empty() && !secret.iter().any(|key| matches!(key, SecretKey::HeldBy(_)))
}

/// How many *same as* readings may lead on from one another.
const SAME_AS_STEPS: u8 = 8;

fn secret_keys(scene: &Scene, secret: &Known<SecretMark>, own: &EndRef, depth: u8) -> Vec<SecretKey> {
    let mut keys = Vec::new();
    for (mark, source) in &secret.options {
        match mark {
            SecretMark::Blank => keys.push(SecretKey::Blank),
            SecretMark::Print { key, print } => keys.push(SecretKey::Print(*key, *print)),
            SecretMark::SameAs(other) => {
                let other = EndRef { device: scene.register.canonical(other.device), end: other.end.clone() };
                if other == *own || depth == SAME_AS_STEPS {
                    return Vec::new();
                }
                match held_by(scene, &other, source.at(), depth) {
                    Some(more) if more.is_empty() => keys.push(SecretKey::HeldBy(other)),
                    Some(more) => keys.extend(more),
                    // That end has since been given another secret: this reading is past.
                    None => return Vec::new(),
                }
            }
        }
    }
    keys.sort_unstable();
    keys.dedup();
    keys
}

/// What an end held at `when`; `None` when it was changed afterwards.
fn held_by(scene: &Scene, end: &EndRef, when: Instant, depth: u8) -> Option<Vec<SecretKey>> {
    let Some(device) = scene.device(end.device) else { return Some(Vec::new()) };
    let Some(facts) = device.ends.get(&end.end) else { return Some(Vec::new()) };
    let side = if device.sort == Some(Sort::Receiver) { Side::Receiver } else { Side::Transmitter };
    let (before, since) = wipes_about(scene, facts, side, Field::Secret, when);
    let readings: Vec<&Reading> = facts.facts.of(Field::Secret).collect();
    let secret = weigh(readings.iter().copied(), before).map(|value| match value {
        Value::Secret(mark) => Some(mark.clone()),
        _ => None,
    });
    // Reading the same value once more is no change; another value, or a wipe, is.
    let is_new = |entry: EntryId| {
        readings.iter().filter(|reading| reading.entry == entry).any(|reading| {
            reading.changed.is_some_and(|at| at > when) || since.is_some_and(|at| reading.at() > at)
        })
    };
    if secret.options.iter().any(|(_, source)| is_new(source.entry)) {
        return None;
    }
    if secret.options.is_empty() && since.is_some() {
        return None;
    }
    Some(secret_keys(scene, &secret, end, depth + 1))
}

/// A place in time: by the moment seen, then by the clock.
type Instant = (Moment, Clock);

/// The latest flash that wiped `field` by `when`, and the first one after it.
fn wipes_about(
    scene: &Scene,
    facts: &EndFacts,
    side: Side,
    field: Field,
    when: Instant,
) -> (Option<Instant>, Option<Instant>) {
    if facts.flashes.is_empty() {
        return (None, None);
    }
    let name = words(&facts.facts, Field::Family);
    let Some(rules) = name.and_then(|name| scene.register.family(&name)) else { return (None, None) };
    let wipes = || {
        facts
            .flashes
            .iter()
            .filter(|flash| rules.wiped_by_flash(side, &flash.route, &flash.version).contains(&field))
            .map(|flash| (flash.seen, flash.clock))
    };
    (wipes().filter(|at| *at <= when).max(), wipes().filter(|at| *at > when).min())
}

fn partners(
    scene: &Scene,
    facts: &EndFacts,
    family: Option<&Family>,
    wiped: Option<(Moment, Clock, EntryId)>,
) -> PartnerView {
    let rule = family.map_or(PartnerRule { remembers: u32::MAX, pairing_drops_others: false }, |family| {
        family.partners.clone()
    });
    let canonical =
        |end: &EndRef| EndRef { device: scene.register.canonical(end.device), end: end.end.clone() };
    let mut view = PartnerView::default();
    let mut from = (Moment(i64::MIN), Clock::ZERO);
    if let Some((seen, clock, entry)) = wiped {
        view.all = Some(Source::event(seen, clock, entry));
        from = (seen, clock);
    }
    let lapsed = wiped.map(|(seen, clock, _)| (seen, clock));
    let live: Vec<&Reading> = facts.facts.of(Field::Partners).collect();
    let read = weigh(live.iter().copied(), lapsed);
    if let Some(newest) =
        live.iter().filter(|reading| lapsed.is_none_or(|at| reading.at() > at)).map(|r| r.at()).max()
    {
        from = from.max(newest);
        view = read_partners(&read, canonical);
    }
    let mut events: Vec<_> = facts.pairings.iter().filter(|mark| (mark.seen, mark.clock) > from).collect();
    events.sort_by_key(|mark| (mark.seen, mark.clock, mark.entry));
    for mark in events {
        let source = Source::event(mark.seen, mark.clock, mark.entry);
        let end = canonical(&mark.transmitter);
        if rule.pairing_drops_others {
            view.known.clear();
        }
        view.known.retain(|(have, _)| *have != end);
        view.known.push((end, source));
        let room = usize::try_from(rule.remembers).unwrap_or(usize::MAX).max(1);
        if view.known.len() > room {
            view.known.remove(0);
        }
        if rule.pairing_drops_others || view.known.len() == room {
            view.all = Some(source);
        }
    }
    let room = usize::try_from(rule.remembers).unwrap_or(usize::MAX).max(1);
    if view.all.is_none() && view.known.len() >= room {
        view.all = view.known.last().map(|(_, source)| *source);
    }
    // A transmitter whose own flash made it forget its receivers is a stranger again.
    view.known.retain(|(end, source)| {
        let forgot = forgotten_at(scene, end);
        forgot.is_none_or(|at| source.at() > at)
    });
    view
}

fn read_partners(read: &Known<Value>, canonical: impl Fn(&EndRef) -> EndRef) -> PartnerView {
    let mut view = PartnerView::default();
    let mut all = true;
    let mut lists: Vec<(Vec<EndRef>, Source)> = Vec::new();
    for (value, source) in &read.options {
        match value {
            Value::Partners(partners) => {
                all &= partners.all;
                lists.push((partners.ends.iter().map(&canonical).collect(), *source));
            }
            Value::None => lists.push((Vec::new(), *source)),
            _ => return view,
        }
    }
    let [first, rest @ ..] = lists.as_slice() else { return view };
    for end in &first.0 {
        // Where readings clash, only what all of them say is known.
        if rest.iter().all(|(other, _)| other.contains(end)) {
            view.known.push((end.clone(), first.1));
        }
    }
    if rest.is_empty() && all {
        view.all = Some(first.1);
    }
    view
}

/// When a transmitter end last forgot its pairings by a flash, by its family's word.
fn forgotten_at(scene: &Scene, end: &EndRef) -> Option<(Moment, Clock)> {
    let facts = scene.device(end.device)?.ends.get(&end.end)?;
    if facts.flashes.is_empty() {
        return None;
    }
    let family = words(&facts.facts, Field::Family)?;
    let rules = scene.register.family(&family)?;
    wiped(facts, Some(rules), Side::Transmitter, Field::Partners).map(|(seen, clock, _)| (seen, clock))
}
