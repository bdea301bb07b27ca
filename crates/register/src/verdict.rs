//! The verdict on one transmitter and one receiver, with a reason for each rule.

use crate::family::{CheckedAt, Family, ModelIdRule, SecretRule, VersionRule};
use crate::rule::{self, Answer, Question, Rule, Ruling, Status, Verdict};
use crate::scene::Scene;
use crate::time::Moment;
use crate::value::{EndRef, SecretMark};
use crate::view::{self, Card, EndView, Known, ModelId, ReceiverView, Source, TransmitterView};

/// A value as a person sees it, with how it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The words (`not known` where nothing is).
    pub text: String,
    /// How and since when.
    pub source: Option<Source>,
    /// Whether equally well known readings disagree.
    pub clash: bool,
}

/// What one rule came to, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The rule.
    pub rule: Rule,
    /// What it came to.
    pub status: Status,
    /// The transmitter's value.
    pub transmitter: Shown,
    /// The receiver's value.
    pub receiver: Shown,
    /// Since when it is known: the later of the two readings.
    pub known_since: Option<Moment>,
    /// The reason in a sentence.
    pub text: String,
}

/// The verdict on one transmitter and one receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// The transmitter.
    pub transmitter: Card,
    /// The receiver.
    pub receiver: Card,
    /// The aircraft the receiver is in.
    pub aircraft: Option<Card>,
    /// The family, where one end knows it.
    pub family: Option<String>,
    /// The transmitter's end that fits best.
    pub transmitter_end: EndRef,
    /// The receiver's end that fits best.
    pub receiver_end: EndRef,
    /// The model memory it is about: key and label.
    pub memory: Option<(String, String)>,
    /// What the rules came to.
    pub ruling: Ruling,
    /// Why.
    pub findings: Vec<Finding>,
    /// Whether this link is meant to hold: a memory of the transmitter flies the
    /// receiver's aircraft, or the receiver remembers the transmitter.
    pub wanted: bool,
}

impl Link {
    /// The verdict.
    pub fn verdict(&self) -> Verdict {
        self.ruling.verdict()
    }

    /// The answer to one question.
    pub fn answer(&self, question: Question) -> Answer {
        self.ruling.answer(question)
    }
}

/// The pair of ends that fits best, as indexes, with its ruling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Best {
    /// The transmitter's end.
    pub transmitter: usize,
    /// The receiver's end.
    pub receiver: usize,
    /// Its ruling.
    pub ruling: Ruling,
}

/// Whether the end at `at` may be used to fly what `receiver` is in: the memory for the
/// aircraft chooses the end, where there is such a memory and it is known to choose.
pub fn end_in_play(transmitter: &TransmitterView, at: usize, receiver: &ReceiverView) -> bool {
    let Some(aircraft) = receiver.fitted_in() else { return true };
    let end = &transmitter.ends[at].end.end;
    let mut chosen = transmitter
        .memories
        .iter()
        .filter(|memory| memory.flies(aircraft))
        .flat_map(|memory| &memory.end.options)
        // A memory that names an end its transmitter doesn't have chooses nothing.
        .filter(|(name, _)| transmitter.ends.iter().any(|end| end.end.end == *name))
        .peekable();
    chosen.peek().is_none() || chosen.any(|(chosen, _)| chosen == end)
}

/// The pair of ends that fits best. Ties go to the ends that come first by key.
pub fn best(transmitter: &TransmitterView, receiver: &ReceiverView) -> Best {
    let aircraft = receiver.fitted_in();
    let mut best: Option<Best> = None;
    for (t, transmitter_end) in transmitter.ends.iter().enumerate() {
        if !end_in_play(transmitter, t, receiver) {
            continue;
        }
        for (r, receiver_end) in receiver.ends.iter().enumerate() {
            let ruling = rule::judge(transmitter_end, &transmitter.memories, receiver_end, aircraft);
            if best.as_ref().is_none_or(|have| ruling.rank() < have.ruling.rank()) {
                best = Some(Best { transmitter: t, receiver: r, ruling });
            }
        }
    }
    best.unwrap_or(Best {
        transmitter: 0,
        receiver: 0,
        ruling: Ruling { by_rule: [Some(Status::Unknown); 7], memory: None },
    })
}

/// The verdict of [`best`] alone, found without judging more than it needs.
pub fn quick(transmitter: &TransmitterView, receiver: &ReceiverView) -> Verdict {
    let aircraft = receiver.fitted_in();
    let mut verdict = None;
    for (t, transmitter_end) in transmitter.ends.iter().enumerate() {
        if !end_in_play(transmitter, t, receiver) {
            continue;
        }
        for receiver_end in &receiver.ends {
            let one = rule::verdict_of(transmitter_end, &transmitter.memories, receiver_end, aircraft);
            verdict = Some(verdict.map_or(one, |have: Verdict| have.min(one)));
        }
    }
    verdict.unwrap_or(Verdict::Unknown)
}

/// Whether the link is meant to hold.
pub fn wanted(transmitter: &TransmitterView, receiver: &ReceiverView) -> bool {
    receiver.fitted_in().is_some_and(|aircraft| transmitter.memories.iter().any(|m| m.flies(aircraft)))
        || receiver
            .ends
            .iter()
            .any(|end| end.partners.known.iter().any(|(partner, _)| partner.device == transmitter.card.id))
}

/// The verdict on a transmitter and a receiver, in full.
pub fn link(scene: &Scene, transmitter: &TransmitterView, receiver: &ReceiverView) -> Link {
    let best = best(transmitter, receiver);
    let (t, r) = (&transmitter.ends[best.transmitter], &receiver.ends[best.receiver]);
    let rules = rule::rules_for(t, r);
    let family = rules
        .map(|family| family.name.clone())
        .or_else(|| t.family.one().cloned())
        .or_else(|| r.family.one().cloned());
    let memory = best.ruling.memory.map(|at| &transmitter.memories[at]);
    let aircraft = receiver.fitted_in().and_then(|id| scene.device(id)).map(view::card);
    let names = Names { transmitter: &transmitter.card, receiver: &receiver.card };
    let findings = Rule::ALL
        .into_iter()
        .filter_map(|rule| Some((rule, best.ruling.status(rule)?)))
        .map(|(rule, status)| {
            finding(scene, &names, rule, status, transmitter, t, r, rules, best.ruling.memory, receiver)
        })
        .collect();
    Link {
        transmitter: transmitter.card.clone(),
        receiver: receiver.card.clone(),
        aircraft,
        family,
        transmitter_end: t.end.clone(),
        receiver_end: r.end.clone(),
        memory: memory.map(|memory| (memory.key.clone(), memory.label.clone())),
        ruling: best.ruling,
        findings,
        wanted: wanted(transmitter, receiver),
    }
}

struct Names<'a> {
    transmitter: &'a Card,
    receiver: &'a Card,
}

fn show<T>(known: &Known<T>, words: impl Fn(&T) -> String) -> Shown {
    let text = match known.options.as_slice() {
        [] => "not known".to_owned(),
        [(value, _)] => words(value),
        many => many.iter().map(|(value, _)| words(value)).collect::<Vec<_>>().join(" or "),
    };
    Shown { text, source: known.source(), clash: known.clashes() }
}

fn plain(known: &Known<String>) -> Shown {
    show(known, Clone::clone)
}

/// What a secret looks like to a person: never the secret.
pub fn secret_words(scene: &Scene, mark: &SecretMark) -> String {
    match mark {
        SecretMark::Blank => "blank".to_owned(),
        SecretMark::Print { .. } => "set".to_owned(),
        SecretMark::SameAs(end) => {
            let device = scene.device(end.device).map(view::card);
            let name = device.map_or_else(|| "another device".to_owned(), |card| card.label());
            format!("same as {name}")
        }
    }
}

/// What a model ID looks like to a person.
pub fn model_id_words(id: ModelId, rules: Option<&Family>) -> String {
    let off = match rules.map(|family| &family.model_id) {
        Some(ModelIdRule::Checked { off, .. }) => *off,
        _ => None,
    };
    match id {
        ModelId::Off => "check off".to_owned(),
        ModelId::Id(number) if Some(number) == off => format!("check off ({number})"),
        ModelId::Id(number) => number.to_string(),
    }
}

fn end_name(scene: &Scene, end: &EndRef) -> String {
    let name = scene
        .device(end.device)
        .map_or_else(|| "a transmitter not in the register".to_owned(), |device| view::card(device).label());
    if end.end == crate::field::Part::MAIN { name } else { format!("{name} ({})", end.end) }
}

fn partner_shown(scene: &Scene, receiver: &EndView) -> Shown {
    let names: Vec<String> = receiver.partners.known.iter().map(|(end, _)| end_name(scene, end)).collect();
    let newest = receiver.partners.known.iter().map(|(_, source)| *source).max_by_key(|source| source.seen);
    let text = match (names.is_empty(), receiver.partners.all.is_some()) {
        (true, true) => "paired with none".to_owned(),
        (true, false) => "not known".to_owned(),
        (false, true) => format!("paired with {}", names.join(", ")),
        (false, false) => format!("paired with {} and maybe others", names.join(", ")),
    };
    Shown { text, source: receiver.partners.all.or(newest), clash: false }
}

#[expect(clippy::too_many_arguments, reason = "everything that a reason may speak about")]
fn finding(
    scene: &Scene,
    names: &Names,
    rule: Rule,
    status: Status,
    view: &TransmitterView,
    t: &EndView,
    r: &EndView,
    rules: Option<&Family>,
    memory: Option<usize>,
    receiver: &ReceiverView,
) -> Finding {
    let (tn, rn) = (names.transmitter.label(), names.receiver.label());
    let (transmitter, receiver, text) = match rule {
        Rule::Family => {
            let (a, b) = (plain(&t.family), plain(&r.family));
            let text = match status {
                Status::Pass => format!("Both speak {}.", a.text),
                Status::Fail => {
                    format!("{tn} speaks {}, {rn} speaks {}: two families never link.", a.text, b.text)
                }
                Status::Unknown => unknown_text("which link family they speak", &tn, &a, &rn, &b),
            };
            (a, b, text)
        }
        Rule::Band => {
            let (a, b) = (band_shown(t), band_shown(r));
            let text = match status {
                Status::Pass => format!("Both are on {}.", b.text),
                Status::Fail => {
                    format!("{tn} is on {}, {rn} on {}: the chips can't hear each other.", a.text, b.text)
                }
                Status::Unknown => unknown_text("which band they are on", &tn, &a, &rn, &b),
            };
            (a, b, text)
        }
        Rule::Region => {
            let (a, b) = (plain(&t.region), plain(&r.region));
            let text = match (status, rules) {
                (Status::Pass, Some(family))
                    if !family.regions.must_match || family.regions.variants.len() < 2 =>
                {
                    format!("{} has no region variants that keep ends apart.", family.name)
                }
                (Status::Pass, _) => format!("Both are the {} variant.", a.text),
                (Status::Fail, _) => format!(
                    "{tn} is the {} variant, {rn} the {}: they hop on different channels.",
                    a.text, b.text
                ),
                (Status::Unknown, _) => no_rules(rules, t, r)
                    .unwrap_or_else(|| unknown_text("which region variant they are", &tn, &a, &rn, &b)),
            };
            (a, b, text)
        }
        Rule::Version => {
            let (a, b) = (plain(&t.firmware), plain(&r.firmware));
            let text = match status {
                Status::Unknown => no_rules(rules, t, r)
                    .or_else(|| odd_version(rules, &a, &b))
                    .unwrap_or_else(|| unknown_text("which firmware they hold", &tn, &a, &rn, &b)),
                _ => version_text(rules, status, &tn, &a, &rn, &b),
            };
            (a, b, text)
        }
        Rule::Secret => {
            let words = |mark: &SecretMark| secret_words(scene, mark);
            let (a, b) = (show(&t.secret, words), show(&r.secret, words));
            let text = secret_text(status, &tn, &a, &rn, &b, rules, t, r);
            (a, b, text)
        }
        Rule::Pairing => {
            let unpaired =
                rules.map_or(Status::Unknown, |family| rule::links_unpaired(family, &t.keys, &r.keys));
            let mut a = Shown { text: end_name(scene, &t.end), source: None, clash: false };
            let mut b = partner_shown(scene, r);
            if unpaired == Status::Pass && rule::remembers(&r.partners, &t.end) != Status::Pass {
                // What makes it pass is the secrets, so they are its sources.
                "not needed".clone_into(&mut b.text);
                (a.source, b.source) = (t.secret.source(), r.secret.source());
            }
            let text = match status {
                Status::Pass if unpaired == Status::Pass => {
                    "Equal link secrets link without pairing.".to_owned()
                }
                Status::Pass => format!("{rn} remembers {}.", a.text),
                Status::Fail => format!("{rn} doesn't remember {}: it is {}.", a.text, b.text),
                Status::Unknown => format!("Whether {rn} remembers {} is not known.", a.text),
            };
            (a, b, text)
        }
        Rule::ModelId => model_id_finding(scene, status, view, t, r, rules, memory, receiver),
    };
    let known_since = match (transmitter.source, receiver.source) {
        (Some(a), Some(b)) => Some(a.seen.max(b.seen)),
        (one, other) => one.or(other).map(|source| source.seen),
    };
    Finding { rule, status, transmitter, receiver, known_since, text }
}

fn band_shown(end: &EndView) -> Shown {
    let mut shown = plain(&end.band);
    if let (true, Some(family)) = (end.band.options.is_empty(), end.rules.as_deref())
        && let [only] = family.bands.as_slice()
    {
        shown.text.clone_from(&only.name);
        shown.source = end.family.source();
    }
    shown
}

fn unknown_text(what: &str, tn: &str, a: &Shown, rn: &str, b: &Shown) -> String {
    let missing: Vec<&str> = [(tn, a), (rn, b)]
        .into_iter()
        .filter(|(_, shown)| shown.source.is_none())
        .map(|(name, _)| name)
        .collect();
    let clashing: Vec<&str> =
        [(tn, a), (rn, b)].into_iter().filter(|(_, shown)| shown.clash).map(|(name, _)| name).collect();
    if let [first, ..] = clashing.as_slice() {
        return format!("Readings of {first} disagree on {what}: look again.");
    }
    match missing.as_slice() {
        [one] => format!("Not known {what}: look at {one}."),
        [_, _] => format!("Not known {what}: look at {tn} and {rn}."),
        _ => format!("Can't be told from {} and {} {what}.", a.text, b.text),
    }
}

fn no_rules(rules: Option<&Family>, t: &EndView, r: &EndView) -> Option<String> {
    if rules.is_some() {
        return None;
    }
    let name = t.family.one().or(r.family.one());
    Some(match name {
        Some(name) => format!("There is no family file for {name}: its rules are not known."),
        None => "The link family is not known, so neither are its rules.".to_owned(),
    })
}

fn odd_version(rules: Option<&Family>, a: &Shown, b: &Shown) -> Option<String> {
    let family = rules?;
    (a.source.is_some() && b.source.is_some() && !a.clash && !b.clash).then(|| {
        format!("The file of {} doesn't say whether {} and {} go together.", family.name, a.text, b.text)
    })
}

fn version_text(rules: Option<&Family>, status: Status, tn: &str, a: &Shown, rn: &str, b: &Shown) -> String {
    let rule = rules.map(|family| &family.versions);
    match (status, rule) {
        (Status::Pass, Some(VersionRule::Any)) => "Any two versions link.".to_owned(),
        (Status::Pass, Some(VersionRule::SameParts { called, .. })) => {
            format!("{} and {} have the same {called} version.", a.text, b.text)
        }
        (Status::Pass, _) => format!("{} and {} go together.", a.text, b.text),
        (_, Some(VersionRule::SameParts { called, .. })) => {
            format!("{tn} holds {}, {rn} holds {}: different {called} versions don't link.", a.text, b.text)
        }
        _ => format!("{tn} holds {}, {rn} holds {}: the two groups don't link.", a.text, b.text),
    }
}

#[expect(clippy::too_many_arguments, reason = "both sides' values and what the rule needs")]
fn secret_text(
    status: Status,
    tn: &str,
    a: &Shown,
    rn: &str,
    b: &Shown,
    rules: Option<&Family>,
    t: &EndView,
    r: &EndView,
) -> String {
    match (status, rules.map(|family| &family.secret)) {
        (Status::Pass, Some(SecretRule::Absent)) => "This family has no link secrets.".to_owned(),
        (Status::Pass, _) if a.text == "blank" && b.text == "blank" => {
            "Both secrets are blank: they pair by hand.".to_owned()
        }
        (Status::Pass, _) => "Both hold the same secret.".to_owned(),
        (Status::Fail, _) if a.text == "blank" && b.text == "blank" => {
            "Both secrets are blank, and this family needs one.".to_owned()
        }
        (Status::Fail, _) => {
            format!("The secret of {tn} is {}, that of {rn} is {}: they differ.", a.text, b.text)
        }
        (Status::Unknown, _) => no_rules(rules, t, r).unwrap_or_else(|| {
            if a.source.is_none() || b.source.is_none() || a.clash || b.clash {
                return unknown_text("which secret they hold", tn, a, rn, b);
            }
            match [(tn, t), (rn, r)].into_iter().find(|(_, end)| !view::secret_is_told(end)) {
                Some((name, end)) if end.keys.secret.is_empty() => {
                    format!("{name} was {} before that one got another secret: look again.", shown_of(end, a, b, t))
                }
                Some((name, _)) => format!(
                    "Of {name} it is only known whose secret it shares, and that one was never typed: type it once."
                ),
                None => "The two secrets were written down under different keys: type one of them once more.".to_owned(),
            }
        }),
    }
}

fn shown_of<'a>(end: &EndView, a: &'a Shown, b: &'a Shown, t: &EndView) -> &'a str {
    if std::ptr::eq(end, t) { &a.text } else { &b.text }
}

#[expect(clippy::too_many_arguments, reason = "everything that a reason may speak about")]
fn model_id_finding(
    scene: &Scene,
    status: Status,
    view: &TransmitterView,
    t: &EndView,
    r: &EndView,
    rules: Option<&Family>,
    memory: Option<usize>,
    receiver: &ReceiverView,
) -> (Shown, Shown, String) {
    let (tn, rn) = (view.card.label(), receiver.card.label());
    let memory = memory.map(|at| &view.memories[at]);
    let b = show(&r.model_id, |id| model_id_words(*id, rules));
    let a = match memory {
        Some(memory) => {
            let mut shown = show(&memory.model_id, |id| model_id_words(*id, rules));
            shown.text = format!("{} in memory {}", shown.text, memory.label);
            shown
        }
        None if view.memories.is_empty() => {
            Shown { text: "no memory written down".to_owned(), source: None, clash: false }
        }
        None => Shown {
            text: format!("{} memories", view.memories.len()),
            source: view.memories.iter().filter_map(|memory| memory.model_id.source()).max_by_key(|s| s.seen),
            clash: false,
        },
    };
    let Some(family) = rules else {
        let text = "The link family's rules are not known.".to_owned();
        return (a, b, text);
    };
    let ModelIdRule::Checked { at, refused, .. } = &family.model_id else {
        return (a, b, format!("{} has no model-ID check: any memory is obeyed.", family.name));
    };
    let flown = receiver.fitted_in().and_then(|id| scene.device(id)).map(|device| view::card(device).label());
    let text = match (status, memory) {
        (Status::Pass, _) if *at == CheckedAt::Receiver && b.text.starts_with("check off") => {
            format!("The model-ID check of {rn} is off: it obeys any memory.")
        }
        (Status::Pass, Some(memory)) if a.text.starts_with("check off") => {
            format!("The check of memory {} is off: it drives any receiver.", memory.label)
        }
        (Status::Pass, Some(memory)) => format!("Memory {} and {rn} both hold {}.", memory.label, b.text),
        (Status::Pass, None) => "The model IDs agree.".to_owned(),
        (Status::Fail, Some(memory)) => {
            // The author's words may be a bare phrase.
            let words = refused.trim().trim_end_matches('.');
            let tail = if words.is_empty() { String::new() } else { format!(" Then {words}.") };
            format!(
                "Memory {} of {tn} holds {}, {rn} holds {}: the memory isn't obeyed.{tail}",
                memory.label,
                show(&memory.model_id, |id| model_id_words(*id, rules)).text,
                b.text
            )
        }
        (Status::Fail, None) if view.memories.iter().all(|memory| !memory.may_choose(&t.end.end)) => {
            format!("No memory of {tn} chooses its end {}.", t.end.end)
        }
        (Status::Fail, None) => match flown {
            Some(aircraft) => {
                format!("{tn} has no memory for {aircraft}, and none that holds {}.", b.text)
            }
            None => format!("No memory of {tn} holds {}, the ID of {rn}.", b.text),
        },
        (Status::Unknown, _) if view.memories.is_empty() => {
            format!("No model memory of {tn} is written down.")
        }
        (Status::Unknown, Some(memory)) if memory.model_id.options.is_empty() => {
            format!("The model ID of memory {} on {tn} is not known.", memory.label)
        }
        (Status::Unknown, _) if r.model_id.options.is_empty() => {
            format!("The model ID of {rn} is not known.")
        }
        (Status::Unknown, _) => {
            format!("Whether {rn} obeys a memory of {tn} can't be told from what is written down.")
        }
    };
    (a, b, text)
}
