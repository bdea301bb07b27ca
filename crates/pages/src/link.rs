//! `GET /link/{tx}/{rx}`: one verdict, in full.

use maud::{Markup, html};
use register::check::Check;
use register::effect::Touched;
use register::family::Family;
use register::fleet::Fleet;
use register::mend::Mend;
use register::plan::Plan;
use register::rule::{Question, Rule, Status, Verdict};
use register::scene::Scene;
use register::verdict::{Finding, Link, Shown};

use crate::form::{Form, Typed, hidden, send, send_main};
use crate::links::why;
use crate::reading;
use crate::site::Site;
use crate::words;

/// What the engine says about one link.
#[derive(Clone, Debug)]
pub struct LinkSheet<'a> {
    /// The verdict.
    pub link: &'a Link,
    /// What settles what isn't known.
    pub checks: &'a [Check],
    /// What lifts what is broken.
    pub mends: &'a [Mend],
    /// The quickest way to a link that holds.
    pub plan: Option<&'a Plan>,
    /// The family's file, where there is one: pairing gesture, lamps, waits.
    pub family: Option<&'a Family>,
}

/// A mend's action or a check's text as the forms of [`page`] send it back: a name in it may
/// hold characters that no form brings home unchanged, so the door compares these.
pub fn sent_as(text: &str) -> String {
    words::clip_to(text, usize::MAX)
}

/// One verdict: the answer, every rule with both values, checks, mends.
///
/// Forms: each mend posts `index` and `action` (see [`sent_as`]) to `/link/{tx}/{rx}/mend` (form `mend`);
/// each check posts `index`, `check` (its text) and, where it is about one fact, `device`,
/// `part`, `field`, the value as in [`crate::device::page`], `how`, `seen` to
/// `/link/{tx}/{rx}/check` (form `check-INDEX`).
pub fn page(site: &Site, scene: &Scene, fleet: &Fleet, sheet: &LinkSheet, typed: &Typed) -> Markup {
    let link = sheet.link;
    let on = Bench { site, scene, fleet, sheet, typed, quickest: quickest(sheet) };
    let title =
        format!("{} with {}", words::clip(&link.transmitter.label()), words::clip(&link.receiver.label()));
    let body = html! {
        p.answer {
            (words::verdict(link.verdict()))
            @match link.verdict() {
                Verdict::Links => { ": every rule that is written down holds." }
                _ => { ": " (words::prose(why(link))) }
            }
        }
        p {
            (words::device_full(&link.transmitter))
            @if link.transmitter_end.end != register::field::Part::MAIN { " (" (words::name(&link.transmitter_end.end)) ")" }
            " with " (words::device_full(&link.receiver))
            @if link.receiver_end.end != register::field::Part::MAIN { " (" (words::name(&link.receiver_end.end)) ")" }
            @if let Some(card) = &link.aircraft { " in " (words::device_full(card)) }
            @if let Some((_, label)) = &link.memory { ", memory " (words::name(label)) }
            ". "
            @if link.wanted { "This link is meant to hold." } @else { "This link isn't meant to hold: no memory flies that aircraft, and the receiver isn't known to remember the transmitter." }
        }
        dl.questions {
            div { dt { "Can they pair?" } dd { (words::answer(link.answer(Question::CanPair))) } }
            div { dt { "Are they paired?" } dd { (words::answer(link.answer(Question::Paired))) } }
            div { dt { "Will the memory be obeyed?" } dd { (words::answer(link.answer(Question::Obeyed))) } }
        }
        ul.ways {
            li { a href={ "/sheet/" (link.transmitter.id) "/" (link.receiver.id) } { "How far it reaches: the link sheet" } }
            li { a href={ "/faults/new?t=" (words::encode(&reading::end_value(&link.transmitter_end))) "&r=" (words::encode(&reading::end_value(&link.receiver_end))) } { "It doesn't work: find the fault" } }
            li { a href={ "/refits/new?t=" (link.transmitter.id) } { "Plan a refit" } }
        }
        (plan(sheet, &on))
        (mends(sheet, &on))
        (checks(sheet, &on))
        (rules(site, link))
        (bench(sheet, link))
    };
    site.page(&title, &body)
}

/// What the quickest way is, where it stands in full among the mends or the checks: it is
/// said once then, with the button that writes it down.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Quickest {
    /// The mend of this index.
    Mend(usize),
    /// The check of this index.
    Check(usize),
    /// Several of them after one another, or none.
    Other,
}

fn quickest(sheet: &LinkSheet) -> Quickest {
    let Some(plan) = sheet.plan else { return Quickest::Other };
    let mend = || sheet.mends.iter().position(|mend| mend.instead.is_none() && mend.steps == plan.steps);
    match (plan.checks.as_slice(), plan.steps.as_slice()) {
        ([], [_, ..]) => mend().map_or(Quickest::Other, Quickest::Mend),
        ([only], []) => {
            let at = sheet.checks.iter().position(|check| check == only);
            at.map_or(Quickest::Other, Quickest::Check)
        }
        _ => Quickest::Other,
    }
}

fn plan(sheet: &LinkSheet, on: &Bench) -> Markup {
    let Some(plan) = sheet.plan.filter(|plan| plan.checks.len() + plan.steps.len() > 0) else {
        return html! {
            @if sheet.link.verdict() == Verdict::Blocked && sheet.mends.is_empty() {
                p.next { "No mend on these two devices makes them link."
                    @if let Some(card) = &sheet.link.aircraft { " " a href={ "/spares/" (card.id) } { "See which spare fits" } } }
            }
        };
    };
    html! {
        section.next aria-labelledby="plan" {
            h2 id="plan" { "The quickest way, " (words::minutes(plan.minutes)) }
            @match on.quickest {
                Quickest::Mend(at) => div { (on.mend(at, &sheet.mends[at])) }
                Quickest::Check(at) => div { (on.check(at, &sheet.checks[at])) }
                Quickest::Other => {
                    ol {
                        @for check in &plan.checks { li { (words::prose(&check.text)) " " (words::minutes(check.minutes)) } }
                        @for step in &plan.steps {
                            li { (words::prose(&step.text)) " " (words::minutes(step.minutes)) (words::cautions(&step.cautions())) }
                        }
                    }
                    @if !plan.checks.is_empty() && !plan.steps.is_empty() { p.small { "It supposes that the looks show nothing bad." } }
                }
            }
        }
    }
}

fn touched(words_before: &str, list: &[Touched]) -> Markup {
    const SHOWN: usize = 20;
    html! {
        @if !list.is_empty() {
            p { strong { (words_before) } }
            ul {
                @for one in list.iter().take(SHOWN) {
                    li {
                        a href={ "/link/" (one.transmitter.id) "/" (one.receiver.id) } { (words::prose(&one.text())) }
                        @if one.wanted { " (meant to hold)" }
                    }
                }
                @if list.len() > SHOWN { li { "and " (words::count((list.len() - SHOWN) as u64)) " more" } }
            }
        }
    }
}

/// What the forms of the page need.
struct Bench<'a> {
    site: &'a Site,
    scene: &'a Scene<'a>,
    fleet: &'a Fleet,
    sheet: &'a LinkSheet<'a>,
    typed: &'a Typed,
    quickest: Quickest,
}

impl Bench<'_> {
    /// The page's one main action is the quickest way; where that is several things after
    /// one another, the first mend, or else the first check.
    fn is_main(&self, this: Quickest) -> bool {
        match self.quickest {
            Quickest::Other => {
                let first = if self.sheet.mends.is_empty() { Quickest::Check(0) } else { Quickest::Mend(0) };
                this == first
            }
            quickest => this == quickest,
        }
    }

    fn button(&self, this: Quickest, says: &str) -> Markup {
        html! { @if self.is_main(this) { (send_main(says)) } @else { p { (send(says)) } } }
    }

    fn way(&self, this: Quickest, href: &str, says: &str) -> Markup {
        html! {
            @if self.is_main(this) { p.main-action { a.main href=(href) { (says) } } } @else { p { a href=(href) { (says) } } }
        }
    }

    fn mend(&self, at: usize, mend: &Mend) -> Markup {
        let link = self.sheet.link;
        let action = format!("/link/{}/{}/mend", link.transmitter.id, link.receiver.id);
        let form = Form::new("mend", self.typed);
        let this = Quickest::Mend(at);
        html! {
            @match mend.steps.as_slice() {
                [first, rest @ ..] if !rest.is_empty() => {
                    h3 { (words::prose(&first.text)) " " (words::minutes(mend.minutes)) " in all" }
                    @for step in rest { p { "Then: " (words::prose(&step.text)) " " (words::minutes(step.minutes)) } }
                }
                _ => h3 { (words::prose(&mend.action)) @if self.quickest != this { " " (words::minutes(mend.minutes)) } }
            }
            (words::cautions(&cautions(mend)))
            p {
                @if let Some(instead) = &mend.instead {
                    "Goes round it: " (words::name(instead)) " then " (words::verdict(mend.after))
                } @else {
                    "Lifts the " (mend.rule.label()) ". This link then: " (words::verdict(mend.after))
                }
                @if !mend.leaves.is_empty() { ", still held up by the " (rule_names(&mend.leaves)) }
                "."
                @if mend.breaks.is_empty() { " It breaks no other link." }
            }
            (touched("It breaks:", &mend.breaks))
            (touched("It repairs:", &mend.repairs))
            (form.post(self.site, &action, &html! {
                (hidden("index", &at.to_string()))
                (hidden("action", &sent_as(&mend.action)))
                (self.button(this, "I did this"))
            }))
        }
    }

    fn check(&self, at: usize, check: &Check) -> Markup {
        let link = self.sheet.link;
        let action = format!("/link/{}/{}/check", link.transmitter.id, link.receiver.id);
        let key = format!("check-{at}");
        let form = Form::new(&key, self.typed);
        let this = Quickest::Check(at);
        html! {
            h3 { (words::prose(&check.text)) @if self.quickest != this { " " (words::minutes(check.minutes)) } }
            p.small { "Settles the " (check.rule.label()) "." }
            @match &check.fact {
                Some((device, part, field)) if !matches!(
                    (part, field),
                    (register::field::Part::Whole, register::field::Field::ModelId)
                ) => {
                    details open[self.is_main(this) || self.typed.sent(&key)] {
                        summary { "Write down what you see" }
                        (form.post(self.site, &action, &html! {
                            (hidden("index", &at.to_string()))
                            (hidden("check", &sent_as(&check.text)))
                            (hidden("device", &device.to_string()))
                            (reading::inputs(&form, self.site, self.scene, self.fleet, *device, part, *field))
                            (self.button(this, "Write it down"))
                        }))
                    }
                }
                Some((device, _, _)) => {
                    (self.way(this, &format!("/device/{device}#memories"), "To its model memories"))
                }
                None => {
                    (self.way(this, "/family/new", "Write the family down"))
                }
            }
        }
    }
}

fn mends(sheet: &LinkSheet, on: &Bench) -> Markup {
    let said = |at: &usize| on.quickest == Quickest::Mend(*at);
    let rest: Vec<usize> = (0..sheet.mends.len()).filter(|at| !said(at)).collect();
    html! {
        @if !rest.is_empty() {
            section aria-labelledby="mends" {
                h2 id="mends" { (if rest.len() < sheet.mends.len() { "What else lifts it" } else { "What lifts it" }) }
                ol.mends { @for at in rest { li { (on.mend(at, &sheet.mends[at])) } } }
            }
        }
    }
}

fn cautions(mend: &Mend) -> Vec<&'static str> {
    let mut list: Vec<&'static str> = Vec::new();
    for one in mend.steps.iter().flat_map(register::mend::Step::cautions) {
        if !list.contains(&one) {
            list.push(one);
        }
    }
    list
}

fn rule_names(rules: &[Rule]) -> Markup {
    let names: Vec<&str> = rules.iter().map(|rule| rule.label()).collect();
    html! { (names.join(", ")) }
}

fn checks(sheet: &LinkSheet, on: &Bench) -> Markup {
    let said = |at: &usize| on.quickest == Quickest::Check(*at);
    let rest: Vec<usize> = (0..sheet.checks.len()).filter(|at| !said(at)).collect();
    html! {
        @if !rest.is_empty() {
            section aria-labelledby="checks" {
                h2 id="checks" { (if rest.len() < sheet.checks.len() { "What else would settle it" } else { "What settles it" }) }
                ol.checks { @for at in rest { li { (on.check(at, &sheet.checks[at])) } } }
            }
        }
    }
}

fn shown(shown: &Shown, site: &Site) -> Markup {
    html! {
        (words::whole(&shown.text))
        @if shown.clash { " " strong.flag { "readings disagree" } }
        @if let Some(source) = shown.source { br; (words::source(source, site.now)) }
    }
}

fn status(status: Status) -> Markup {
    let (verdict, word) = match status {
        Status::Pass => (Verdict::Links, "holds"),
        Status::Unknown => (Verdict::Unknown, "not known"),
        Status::Fail => (Verdict::Blocked, "broken"),
    };
    html! { span.verdict { (crate::draw::mark(verdict)) " " (word) } }
}

fn rules(site: &Site, link: &Link) -> Markup {
    let row = |finding: &Finding| {
        html! {
            tr {
                th scope="row" { (reading::capital(finding.rule.label())) }
                td data-label="It" { (status(finding.status)) }
                td data-label="Transmitter" { (shown(&finding.transmitter, site)) }
                td data-label="Receiver" { (shown(&finding.receiver, site)) }
                td data-label="Why" {
                    (words::prose(&finding.text))
                    @if let Some(since) = finding.known_since { br; small.source { "known since " (words::date(since)) } }
                }
            }
        }
    };
    html! {
        section aria-labelledby="rules" {
            h2 id="rules" { "Rule by rule" }
            table.stack.by-rule {
                caption { "Every rule that was asked" }
                thead { tr {
                    th scope="col" { "Rule" } th scope="col" { "It" } th scope="col" { "Transmitter" }
                    th scope="col" { "Receiver" } th scope="col" { "Why" }
                } }
                tbody { @for finding in &link.findings { (row(finding)) } }
            }
            @if let Some(family) = &link.family {
                p { "By the rules of " a href={ "/family/" (words::encode(family)) } { (words::name(family)) } "." }
            }
        }
    }
}

fn bench(sheet: &LinkSheet, link: &Link) -> Markup {
    let Some(family) = sheet.family else { return html! {} };
    html! {
        @if link.verdict() != Verdict::Links && (!family.pairing.gesture.is_empty() || !family.lamps.is_empty()) {
            section aria-labelledby="bench" {
                h2 id="bench" { "At the bench" }
                (crate::family::pairing(family))
                (crate::family::lamps(family))
            }
        }
    }
}
