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
        (plan(sheet))
        (mends(site, sheet, typed))
        (checks(site, scene, fleet, sheet, typed))
        (rules(site, link))
        (bench(sheet, link))
    };
    site.page(&title, &body)
}

fn plan(sheet: &LinkSheet) -> Markup {
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

fn mends(site: &Site, sheet: &LinkSheet, typed: &Typed) -> Markup {
    let link = sheet.link;
    let action = format!("/link/{}/{}/mend", link.transmitter.id, link.receiver.id);
    let form = Form::new("mend", typed);
    html! {
        @if !sheet.mends.is_empty() {
            section aria-labelledby="mends" {
                h2 id="mends" { "What lifts it" }
                ol.mends {
                    @for (at, mend) in sheet.mends.iter().enumerate() {
                        li {
                            h3 { (words::prose(&mend.action)) " " (words::minutes(mend.minutes)) }
                            @if mend.steps.len() > 1 {
                                ol { @for step in &mend.steps { li { (words::prose(&step.text)) " " (words::minutes(step.minutes)) } } }
                            }
                            @let cautions = cautions(mend);
                            (words::cautions(&cautions))
                            p {
                                @if let Some(instead) = &mend.instead {
                                    "Goes round it: " (words::name(instead)) " then " (words::verdict(mend.after))
                                } @else {
                                    "Lifts the " (mend.rule.label()) ". This link then: " (words::verdict(mend.after))
                                }
                                @if !mend.leaves.is_empty() { ", still held up by the " (rule_names(&mend.leaves)) }
                                "."
                            }
                            (touched("It breaks:", &mend.breaks))
                            (touched("It repairs:", &mend.repairs))
                            @if mend.breaks.is_empty() { p.small { "It breaks no other link." } }
                            (form.post(site, &action, &html! {
                                (hidden("index", &at.to_string()))
                                (hidden("action", &sent_as(&mend.action)))
                                @if at == 0 { (send_main("I did this")) } @else { p { (send("I did this")) } }
                            }))
                        }
                    }
                }
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

fn checks(site: &Site, scene: &Scene, fleet: &Fleet, sheet: &LinkSheet, typed: &Typed) -> Markup {
    let link = sheet.link;
    let action = format!("/link/{}/{}/check", link.transmitter.id, link.receiver.id);
    html! {
        @if !sheet.checks.is_empty() {
            section aria-labelledby="checks" {
                h2 id="checks" { "What settles it" }
                ol.checks {
                    @for (at, check) in sheet.checks.iter().enumerate() {
                        li {
                            h3 { (words::prose(&check.text)) " " (words::minutes(check.minutes)) }
                            p.small { "Settles the " (check.rule.label()) "." }
                            @let key = format!("check-{at}");
                            @let form = Form::new(&key, typed);
                            @match &check.fact {
                                Some((device, part, field)) if !matches!(
                                    (part, field),
                                    (register::field::Part::Whole, register::field::Field::ModelId)
                                ) => {
                                    details open[at == 0 || typed.sent(&key)] {
                                        summary { "Write down what you see" }
                                        (form.post(site, &action, &html! {
                                            (hidden("index", &at.to_string()))
                                            (hidden("check", &sent_as(&check.text)))
                                            (hidden("device", &device.to_string()))
                                            (reading::inputs(&form, site, scene, fleet, *device, part, *field))
                                            @if at == 0 && sheet.mends.is_empty() { (send_main("Write it down")) }
                                            @else { p { (send("Write it down")) } }
                                        }))
                                    }
                                }
                                Some((device, _, _)) => {
                                    p { a href={ "/device/" (device) "#memories" } { "To its model memories" } }
                                }
                                None => {
                                    p { a href="/family/new" { "Write the family down" } }
                                }
                            }
                        }
                    }
                }
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
            table.stack {
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
