//! The rules by which two ends link, each decided from the two ends' values alone.
//!
//! A fact may have several possible values (a clash) or any (not known). A rule passes
//! or fails only when it does so for all of them: knowing more can settle a rule, and
//! never unsettles it.

use crate::family::{CheckedAt, Family, ModelIdRule, SecretRule, Version, VersionRule};
use crate::id::DeviceId;
use crate::value::EndRef;
use crate::view::{BandKey, EndKeys, EndView, MemoryView, ModelId, PartnerView, SecretKey, WordKey};

/// One rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// Both ends speak the same link family.
    Family,
    /// Both are on the same band.
    Band,
    /// Their region variants go together.
    Region,
    /// Their firmware versions go together.
    Version,
    /// Their link secrets go together.
    Secret,
    /// The receiver remembers the transmitter, or needs not to.
    Pairing,
    /// The receiver obeys the model memory.
    ModelId,
}

/// The question that a rule is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Question {
    /// Can the two ends pair?
    CanPair,
    /// Are they paired?
    Paired,
    /// Will the model memory be obeyed?
    Obeyed,
}

impl Rule {
    /// Every rule, in the order in which they are asked.
    pub const ALL: [Rule; 7] =
        [Rule::Family, Rule::Band, Rule::Region, Rule::Version, Rule::Secret, Rule::Pairing, Rule::ModelId];

    /// The word in JSON and filters.
    pub fn word(self) -> &'static str {
        match self {
            Rule::Family => "family",
            Rule::Band => "band",
            Rule::Region => "region",
            Rule::Version => "version",
            Rule::Secret => "secret",
            Rule::Pairing => "pairing",
            Rule::ModelId => "model_id",
        }
    }

    /// The words on pages.
    pub fn label(self) -> &'static str {
        match self {
            Rule::Family => "link family",
            Rule::Band => "band",
            Rule::Region => "region variant",
            Rule::Version => "firmware version",
            Rule::Secret => "link secret",
            Rule::Pairing => "pairing",
            Rule::ModelId => "model ID",
        }
    }

    /// The rule with this word.
    pub fn from_word(word: &str) -> Option<Rule> {
        Rule::ALL.into_iter().find(|rule| rule.word() == word)
    }

    /// The question it is part of.
    pub fn question(self) -> Question {
        match self {
            Rule::Family | Rule::Band | Rule::Region | Rule::Version | Rule::Secret => Question::CanPair,
            Rule::Pairing => Question::Paired,
            Rule::ModelId => Question::Obeyed,
        }
    }
}

/// What a rule came to; the worst wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Status {
    /// It holds.
    Pass,
    /// It can't be told.
    Unknown,
    /// It is broken.
    Fail,
}

impl Status {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Status::Pass => "pass",
            Status::Unknown => "unknown",
            Status::Fail => "fail",
        }
    }

    /// Pass when `holds`.
    pub fn of(holds: bool) -> Status {
        if holds { Status::Pass } else { Status::Fail }
    }
}

/// The common answer for every pair of possible values; *not known* where they differ or
/// where a side has none.
fn all_pairs<A, B>(a: &[A], b: &[B], rule: impl Fn(&A, &B) -> Status) -> Status {
    common(a.iter().flat_map(|a| b.iter().map(move |b| (a, b))).map(|(a, b)| rule(a, b)))
}

fn common(mut statuses: impl Iterator<Item = Status>) -> Status {
    let Some(first) = statuses.next() else { return Status::Unknown };
    if statuses.all(|status| status == first) { first } else { Status::Unknown }
}

/// Whether both ends speak the same family.
pub fn family(transmitter: &EndKeys, receiver: &EndKeys) -> Status {
    all_pairs(&transmitter.family, &receiver.family, |a, b| Status::of(a == b))
}

/// Whether both ends are on the same band: their spans overlap.
pub fn band(transmitter: &EndKeys, receiver: &EndKeys) -> Status {
    all_pairs(&transmitter.band, &receiver.band, |a, b| match (a, b) {
        (BandKey::Span(low, high), BandKey::Span(other_low, other_high)) => {
            Status::of(low <= other_high && other_low <= high)
        }
        (BandKey::Words(a), BandKey::Words(b)) if a == b => Status::Pass,
        _ => Status::Unknown,
    })
}

/// Whether the region variants go together.
pub fn region(rules: &Family, transmitter: &EndKeys, receiver: &EndKeys) -> Status {
    if !rules.regions.must_match || rules.regions.variants.len() < 2 {
        return Status::Pass;
    }
    all_pairs(&transmitter.region, &receiver.region, same_word)
}

fn same_word<T: PartialEq>(a: &WordKey<T>, b: &WordKey<T>) -> Status {
    match (&a.means, &b.means) {
        _ if a.words == b.words => Status::Pass,
        (Some(a), Some(b)) => Status::of(a == b),
        _ => Status::Unknown,
    }
}

/// Whether the versions go together.
pub fn version(rules: &Family, transmitter: &EndKeys, receiver: &EndKeys) -> Status {
    if rules.versions == VersionRule::Any {
        return Status::Pass;
    }
    all_pairs(&transmitter.version, &receiver.version, |a, b| {
        if a.words == b.words {
            return Status::Pass;
        }
        match (&a.means, &b.means) {
            (Some(a), Some(b)) => versions(&rules.versions, a, b),
            _ => Status::Unknown,
        }
    })
}

/// Whether two versions go together by a family's rule.
pub fn versions(rule: &VersionRule, a: &Version, b: &Version) -> Status {
    match rule {
        VersionRule::Any => Status::Pass,
        VersionRule::SameParts { parts, .. } => {
            for part in 0..*parts {
                match (a.0.get(part), b.0.get(part)) {
                    (Some(a), Some(b)) if a == b => {}
                    (Some(_), Some(_)) => return Status::Fail,
                    // Too few numbers to tell, unless both state the very same ones.
                    _ => return if a == b { Status::Pass } else { Status::Unknown },
                }
            }
            Status::Pass
        }
        VersionRule::Groups(groups) => {
            let group = |version: &Version| {
                let mut found = None;
                for (at, group) in groups.iter().enumerate() {
                    for span in &group.spans {
                        match span.holds(version) {
                            Some(true) => found = Some(at),
                            Some(false) => {}
                            None => return None,
                        }
                    }
                }
                found
            };
            match (group(a), group(b)) {
                _ if a == b => Status::Pass,
                (Some(a), Some(b)) => Status::of(a == b),
                // A version that the file puts in no group may go with any.
                _ => Status::Unknown,
            }
        }
    }
}

/// Whether two secrets are the same.
fn same_secret(a: &SecretKey, b: &SecretKey) -> Status {
    match (a, b) {
        _ if a == b => Status::Pass,
        (SecretKey::Print(key, _), SecretKey::Print(other, _)) if key != other => Status::Unknown,
        (SecretKey::HeldBy(_), _) | (_, SecretKey::HeldBy(_)) => Status::Unknown,
        _ => Status::Fail,
    }
}

/// The possible secrets of an end; one of which nothing is known holds *its own*, which
/// lets "the same as on that device" match it.
fn secrets<'a>(keys: &'a EndKeys, own: &'a [SecretKey; 1]) -> &'a [SecretKey] {
    if keys.secret.is_empty() { own } else { &keys.secret }
}

/// Whether the secrets go together.
pub fn secret(rules: &Family, transmitter: &EndView, receiver: &EndView) -> Status {
    let SecretRule::Equal { blank_allowed, .. } = rules.secret else { return Status::Pass };
    let own = [SecretKey::HeldBy(transmitter.end.clone())];
    let own_receiver = [SecretKey::HeldBy(receiver.end.clone())];
    all_pairs(secrets(&transmitter.keys, &own), secrets(&receiver.keys, &own_receiver), |a, b| match (a, b) {
        (SecretKey::Blank, SecretKey::Blank) => Status::of(blank_allowed),
        _ => same_secret(a, b),
    })
}

/// Whether equal secrets make pairing needless: pass (they do), fail (they don't), or
/// not known.
pub fn links_unpaired(rules: &Family, transmitter: &EndKeys, receiver: &EndKeys) -> Status {
    let SecretRule::Equal { links_unpaired: true, .. } = rules.secret else { return Status::Fail };
    all_pairs(&transmitter.secret, &receiver.secret, |a, b| match (a, b) {
        (SecretKey::Blank, SecretKey::Blank) => Status::Fail,
        // Two ends of which only their likeness is known may both be blank.
        (SecretKey::HeldBy(_), _) | (_, SecretKey::HeldBy(_)) => Status::Unknown,
        _ => same_secret(a, b),
    })
}

/// Whether a receiver remembers a transmitter end.
pub fn remembers(partners: &PartnerView, transmitter: &EndRef) -> Status {
    if partners.known.iter().any(|(end, _)| end == transmitter) {
        Status::Pass
    } else if partners.all.is_some() {
        Status::Fail
    } else {
        Status::Unknown
    }
}

/// Whether the ends are paired, or need not be.
pub fn pairing(unpaired: Status, remembered: Status) -> Status {
    match (unpaired, remembered) {
        (Status::Pass, _) | (_, Status::Pass) => Status::Pass,
        (Status::Fail, Status::Fail) => Status::Fail,
        _ => Status::Unknown,
    }
}

/// What the model-ID rule came to, and with which memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Obedience {
    /// The status.
    pub status: Status,
    /// The memory it is about, as an index into the transmitter's memories.
    pub memory: Option<usize>,
}

/// Whether the receiver obeys a model memory of the transmitter's end `end`: the one for
/// the receiver's aircraft, or any where there is none for it.
pub fn model_id(
    rules: &Family,
    end: &str,
    memories: &[MemoryView],
    receiver: &[ModelId],
    aircraft: Option<DeviceId>,
) -> Obedience {
    let of_end = || memories.iter().enumerate().filter(|(_, memory)| memory.may_choose(end));
    let mine = aircraft.and_then(|aircraft| of_end().find(|(_, memory)| memory.flies(aircraft)));
    let mine = mine.map(|(at, _)| at);
    let ModelIdRule::Checked { at, off, .. } = rules.model_id else {
        return Obedience { status: Status::Pass, memory: mine };
    };
    let normal = |id: &ModelId| match id {
        ModelId::Id(number) if Some(*number) == off => ModelId::Off,
        other => *other,
    };
    if at == CheckedAt::Receiver
        && !receiver.is_empty()
        && receiver.iter().all(|id| normal(id) == ModelId::Off)
    {
        return Obedience { status: Status::Pass, memory: mine };
    }
    // A transmitter may have a hundred memories and a fleet thousands of receivers: no list
    // is made here.
    let against = |memory: &MemoryView| {
        let ids = || memory.model_id.options.iter().map(|(id, _)| normal(id));
        let has_ids = !memory.model_id.options.is_empty();
        if at == CheckedAt::Transmitter && has_ids && ids().all(|id| id == ModelId::Off) {
            return Status::Pass;
        }
        common(ids().flat_map(|memory| receiver.iter().map(move |receiver| (memory, receiver))).map(
            |(memory, receiver)| match (memory, normal(receiver)) {
                (_, ModelId::Off) if at == CheckedAt::Receiver => Status::Pass,
                (ModelId::Off, _) => Status::of(at == CheckedAt::Transmitter),
                (memory, receiver) => Status::of(memory == receiver),
            },
        ))
    };
    let best = |for_aircraft: Option<DeviceId>| {
        of_end()
            .filter(|(_, memory)| for_aircraft.is_none_or(|aircraft| memory.flies(aircraft)))
            .map(|(at, memory)| (against(memory), at))
            .min()
    };
    let found = if mine.is_some() { best(aircraft) } else { best(None) };
    if let Some((status, at)) = found {
        // Of a failing crowd no single memory is the one.
        let memory = (mine.is_some() || status == Status::Pass).then_some(at);
        return Obedience { status, memory };
    }
    // A transmitter has memories; that none is written down says nothing. That all of
    // them choose other ends leaves only a switched-off check.
    let may_be_off = receiver.is_empty()
        || (at == CheckedAt::Receiver && receiver.iter().any(|id| normal(id) == ModelId::Off));
    let status = if memories.is_empty() || may_be_off { Status::Unknown } else { Status::Fail };
    Obedience { status, memory: None }
}

/// Every rule's status for a pair of ends, `None` where a rule doesn't arise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ruling {
    /// By [`Rule`], in the order of [`Rule::ALL`].
    pub by_rule: [Option<Status>; 7],
    /// The memory that the model-ID rule is about.
    pub memory: Option<usize>,
}

/// The family whose rules two ends are judged by: that of the end that knows it, since
/// with another family on the other side they could not link anyway.
pub fn rules_for<'a>(transmitter: &'a EndView, receiver: &'a EndView) -> Option<&'a Family> {
    transmitter.rules.as_deref().or(receiver.rules.as_deref())
}

/// Judges a pair of ends.
pub fn judge(
    transmitter: &EndView,
    memories: &[MemoryView],
    receiver: &EndView,
    aircraft: Option<DeviceId>,
) -> Ruling {
    let (t, r) = (&transmitter.keys, &receiver.keys);
    let family = family(t, r);
    let mut by_rule = [None; 7];
    by_rule[0] = Some(family);
    by_rule[1] = Some(band(t, r));
    if family == Status::Fail {
        // The other rules are those of one family; across two they do not arise.
        return Ruling { by_rule, memory: None };
    }
    let Some(rules) = rules_for(transmitter, receiver) else {
        // Nobody has said what the rules are.
        for status in &mut by_rule[2..] {
            *status = Some(Status::Unknown);
        }
        if remembers(&receiver.partners, &transmitter.end) == Status::Pass {
            by_rule[5] = Some(Status::Pass);
        }
        return Ruling { by_rule, memory: None };
    };
    let ids: Vec<ModelId> = receiver.model_id.options.iter().map(|(id, _)| *id).collect();
    let obedience = model_id(rules, &transmitter.end.end, memories, &ids, aircraft);
    by_rule[2] = Some(region(rules, t, r));
    by_rule[3] = Some(version(rules, t, r));
    by_rule[4] = Some(secret(rules, transmitter, receiver));
    by_rule[5] = Some(pairing(links_unpaired(rules, t, r), remembers(&receiver.partners, &transmitter.end)));
    by_rule[6] = Some(obedience.status);
    Ruling { by_rule, memory: obedience.memory }
}

/// The verdict alone, which stops at the first rule that fails: that of [`judge`].
pub fn verdict_of(
    transmitter: &EndView,
    memories: &[MemoryView],
    receiver: &EndView,
    aircraft: Option<DeviceId>,
) -> Verdict {
    let (t, r) = (&transmitter.keys, &receiver.keys);
    let mut worst = family(t, r).max(band(t, r));
    let remembered = || remembers(&receiver.partners, &transmitter.end);
    if let (true, Some(rules)) = (worst != Status::Fail, rules_for(transmitter, receiver)) {
        let asked: [&dyn Fn() -> Status; 5] = [
            &|| region(rules, t, r),
            &|| version(rules, t, r),
            &|| secret(rules, transmitter, receiver),
            &|| pairing(links_unpaired(rules, t, r), remembered()),
            &|| {
                let ids: Vec<ModelId> = receiver.model_id.options.iter().map(|(id, _)| *id).collect();
                model_id(rules, &transmitter.end.end, memories, &ids, aircraft).status
            },
        ];
        for rule in asked {
            worst = worst.max(rule());
            if worst == Status::Fail {
                break;
            }
        }
    } else {
        // Where nobody has said what the rules are, nothing passes for certain.
        worst = worst.max(Status::Unknown);
    }
    match worst {
        Status::Pass => Verdict::Links,
        Status::Unknown => Verdict::Unknown,
        Status::Fail => Verdict::Blocked,
    }
}

/// One of the three answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Answer {
    /// Yes.
    Yes,
    /// It can't be told.
    NotKnown,
    /// No.
    No,
}

impl Answer {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Answer::Yes => "yes",
            Answer::NotKnown => "not_known",
            Answer::No => "no",
        }
    }

    /// The words on pages.
    pub fn label(self) -> &'static str {
        match self {
            Answer::Yes => "yes",
            Answer::NotKnown => "not known",
            Answer::No => "no",
        }
    }
}

/// The verdict in one word; the worst answer wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// All three answers are yes.
    Links,
    /// No answer is no, and one is not known.
    Unknown,
    /// One answer is no.
    Blocked,
}

impl Verdict {
    /// Every verdict, best first.
    pub const ALL: [Verdict; 3] = [Verdict::Links, Verdict::Unknown, Verdict::Blocked];

    /// The word in JSON, filters and on pages.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Links => "links",
            Verdict::Unknown => "unknown",
            Verdict::Blocked => "blocked",
        }
    }

    /// The verdict with this word.
    pub fn from_word(word: &str) -> Option<Verdict> {
        Verdict::ALL.into_iter().find(|verdict| verdict.word() == word)
    }
}

impl Ruling {
    /// The status of one rule.
    pub fn status(&self, rule: Rule) -> Option<Status> {
        self.by_rule[rule as usize]
    }

    /// The answer to one question. A question of which no rule was asked is not known.
    pub fn answer(&self, question: Question) -> Answer {
        let worst = Rule::ALL
            .into_iter()
            .filter(|rule| rule.question() == question)
            .filter_map(|rule| self.status(rule))
            .max();
        match worst {
            Some(Status::Pass) => Answer::Yes,
            Some(Status::Fail) => Answer::No,
            Some(Status::Unknown) | None => Answer::NotKnown,
        }
    }

    /// The verdict.
    pub fn verdict(&self) -> Verdict {
        let worst =
            [Question::CanPair, Question::Paired, Question::Obeyed].map(|question| self.answer(question));
        match worst.into_iter().max() {
            Some(Answer::Yes) => Verdict::Links,
            Some(Answer::No) => Verdict::Blocked,
            Some(Answer::NotKnown) | None => Verdict::Unknown,
        }
    }

    /// How many rules fail, and how many can't be told: fewer is better.
    pub fn troubles(&self) -> (usize, usize) {
        let count = |wanted| self.by_rule.iter().filter(|status| **status == Some(wanted)).count();
        (count(Status::Fail), count(Status::Unknown))
    }

    /// The order of preference among rulings: the best first.
    pub fn rank(&self) -> (Verdict, usize, usize) {
        let (fails, unknowns) = self.troubles();
        // A failed family leaves the other rules unasked; it is worse than any other fail.
        let fails = if self.status(Rule::Family) == Some(Status::Fail) { 9 } else { fails };
        (self.verdict(), fails, unknowns)
    }
}
