//! A verdict, with its reasons, checks and mends.

use register::check::{self, Check};
use register::effect::Touched;
use register::fleet::Fleet;
use register::mend::{self, Mend, Step};
use register::rule::{Question, Verdict};
use register::scene::Scene;
use register::time::Moment;
use register::verdict;
use register::view::{ReceiverView, TransmitterView};
use serde::Serialize;

/// The verdict on one transmitter and one receiver.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Link {
    /// The transmitter's code, else its name.
    pub transmitter: String,
    /// The receiver's code, else its name.
    pub receiver: String,
    /// The aircraft that the receiver is in.
    pub aircraft: Option<String>,
    /// The link family.
    pub family: Option<String>,
    /// `links`, `blocked` or `unknown`.
    pub verdict: &'static str,
    /// `yes`, `no` or `not_known`.
    pub can_pair: &'static str,
    /// `yes`, `no` or `not_known`.
    pub paired: &'static str,
    /// `yes`, `no` or `not_known`.
    pub obeyed: &'static str,
    /// What each rule came to.
    pub reasons: Vec<Reason>,
    /// The looks that settle what is not known, the quickest first.
    pub settle: Vec<Settle>,
    /// The ways to lift what blocks, the quickest first.
    pub mend: Vec<Way>,
    /// Whether the link is meant to hold.
    pub wanted: bool,
    /// The end of the transmitter that it is about.
    pub transmitter_end: String,
    /// The end of the receiver that it is about.
    pub receiver_end: String,
    /// The model memory that it is about.
    pub memory: Option<String>,
    /// The transmitter's id.
    pub transmitter_id: String,
    /// The receiver's id.
    pub receiver_id: String,
    /// The aircraft's id.
    pub aircraft_id: Option<String>,
}

/// What one rule came to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reason {
    /// The rule's word.
    pub rule: &'static str,
    /// `pass`, `fail` or `unknown`.
    pub status: &'static str,
    /// The transmitter's value.
    pub transmitter_value: String,
    /// The receiver's value.
    pub receiver_value: String,
    /// Since when both are known.
    pub known_since: Option<String>,
    /// The reason in a sentence.
    pub text: String,
    /// How the transmitter's value is known.
    pub transmitter_how: Option<&'static str>,
    /// When the transmitter's value was seen.
    pub transmitter_seen: Option<String>,
    /// How the receiver's value is known.
    pub receiver_how: Option<&'static str>,
    /// When the receiver's value was seen.
    pub receiver_seen: Option<String>,
}

/// A look that settles something.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Settle {
    /// What to do.
    pub check: String,
    /// How long it takes.
    pub minutes: f64,
    /// The rule it settles.
    pub rule: &'static str,
    /// The key of its minutes.
    pub key: &'static str,
}

/// A way to lift a block.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    /// What to do.
    pub action: String,
    /// How long it takes.
    pub minutes: f64,
    /// Other links that hold now and won't.
    pub breaks: Vec<Change>,
    /// Other links that don't hold now and will.
    pub repairs: Vec<Change>,
    /// The rule it lifts.
    pub rule: &'static str,
    /// The steps.
    pub steps: Vec<Do>,
    /// The verdict afterwards: on this link, or on the one in its place.
    pub after: &'static str,
    /// What takes the place of this link; `null` where its own two devices are mended.
    pub instead: Option<String>,
    /// The rules that block even then.
    pub leaves: Vec<&'static str>,
}

/// One step of a way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Do {
    /// What to do.
    pub step: String,
    /// How long it takes.
    pub minutes: f64,
    /// What it energises.
    pub energises: Vec<&'static str>,
    /// What to beware of.
    pub cautions: Vec<&'static str>,
    /// The key of its minutes.
    pub key: &'static str,
}

/// A link whose verdict changes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The transmitter.
    pub transmitter: String,
    /// The receiver.
    pub receiver: String,
    /// The aircraft it is in.
    pub aircraft: Option<String>,
    /// The link in words.
    pub text: String,
    /// The verdict before; `null` where there was no such pair.
    pub before: Option<&'static str>,
    /// The verdict after; `null` where there is no such pair any more.
    pub after: Option<&'static str>,
    /// Whether the link is meant to hold.
    pub wanted: bool,
}

impl Link {
    /// The answer, of a verdict with what settles and what mends it.
    pub fn new(link: &verdict::Link, checks: &[Check], mends: &[Mend]) -> Link {
        Link {
            transmitter: link.transmitter.label(),
            receiver: link.receiver.label(),
            aircraft: link.aircraft.as_ref().map(register::view::Card::label),
            family: link.family.clone(),
            verdict: link.verdict().word(),
            can_pair: link.answer(Question::CanPair).word(),
            paired: link.answer(Question::Paired).word(),
            obeyed: link.answer(Question::Obeyed).word(),
            reasons: link.findings.iter().map(Reason::new).collect(),
            settle: checks.iter().map(Settle::new).collect(),
            mend: mends.iter().map(Way::new).collect(),
            wanted: link.wanted,
            transmitter_end: link.transmitter_end.end.clone(),
            receiver_end: link.receiver_end.end.clone(),
            memory: link.memory.as_ref().map(|(_, label)| label.clone()),
            transmitter_id: link.transmitter.id.to_string(),
            receiver_id: link.receiver.id.to_string(),
            aircraft_id: link.aircraft.as_ref().map(|card| card.id.to_string()),
        }
    }

    /// The whole answer on two devices of a fleet.
    pub fn of(
        scene: &Scene,
        fleet: &Fleet,
        transmitter: &TransmitterView,
        receiver: &ReceiverView,
        now: Moment,
    ) -> Link {
        let link = verdict::link(scene, transmitter, receiver);
        let checks = check::checks(scene, transmitter, receiver, &link);
        let mends = mend::mends(scene, fleet, transmitter, receiver, &link, now);
        Link::new(&link, &checks, &mends)
    }
}

impl Reason {
    fn new(finding: &verdict::Finding) -> Reason {
        let how = |shown: &verdict::Shown| shown.source.map(|source| source.how.word());
        let seen = |shown: &verdict::Shown| shown.source.map(|source| source.seen.to_string());
        Reason {
            rule: finding.rule.word(),
            status: finding.status.word(),
            transmitter_value: finding.transmitter.text.clone(),
            receiver_value: finding.receiver.text.clone(),
            known_since: finding.known_since.map(|since| since.to_string()),
            text: finding.text.clone(),
            transmitter_how: how(&finding.transmitter),
            transmitter_seen: seen(&finding.transmitter),
            receiver_how: how(&finding.receiver),
            receiver_seen: seen(&finding.receiver),
        }
    }
}

impl Settle {
    /// A check as an answer.
    pub fn new(check: &Check) -> Settle {
        Settle {
            check: check.text.clone(),
            minutes: super::minutes(check.minutes),
            rule: check.rule.word(),
            key: check.key,
        }
    }
}

impl Way {
    /// A mend as an answer.
    pub fn new(mend: &Mend) -> Way {
        Way {
            action: mend.action.clone(),
            minutes: super::minutes(mend.minutes),
            breaks: mend.breaks.iter().map(Change::new).collect(),
            repairs: mend.repairs.iter().map(Change::new).collect(),
            rule: mend.rule.word(),
            steps: mend.steps.iter().map(Do::new).collect(),
            after: mend.after.word(),
            instead: mend.instead.clone(),
            leaves: mend.leaves.iter().map(|rule| rule.word()).collect(),
        }
    }
}

impl Do {
    /// A step as an answer.
    pub fn new(step: &Step) -> Do {
        Do {
            step: step.text.clone(),
            minutes: super::minutes(step.minutes),
            energises: step.energises.iter().map(|one| one.word()).collect(),
            cautions: step.cautions(),
            key: step.key,
        }
    }
}

impl Change {
    /// A touched link as an answer.
    pub fn new(touched: &Touched) -> Change {
        Change {
            transmitter: touched.transmitter.label(),
            receiver: touched.receiver.label(),
            aircraft: touched.aircraft.as_ref().map(register::view::Card::label),
            text: touched.text(),
            before: touched.before.map(Verdict::word),
            after: touched.after.map(Verdict::word),
            wanted: touched.wanted,
        }
    }
}
