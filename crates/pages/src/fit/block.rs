//! What several pages share: marks of standings and weights, findings, lists of sentences.

use fitting::aircraft::Written;
use fitting::commission::Standing;
use fitting::finding::{Finding, Weight};
use fitting::part::Problem;
use maud::{Markup, html};
use register::time::Moment;

use crate::site::Site;
use crate::words;

/// A box to tick, as it stands: the shape says it, the word beside it again.
pub(super) fn mark(standing: Standing) -> Markup {
    let tick = "M5.5 11.5 L9 15.5 L17.5 4.5";
    html! {
        svg.tick-mark viewBox="0 0 25 22" width="25" height="22" aria-hidden="true" focusable="false" {
            @match standing {
                Standing::Checked => {
                    rect.line x="2" y="4" width="15" height="15" {}
                    path.tick-line d=(tick) {}
                }
                Standing::Warned => {
                    rect.line x="2" y="4" width="15" height="15" {}
                    path.tick-line d=(tick) {}
                    path.flag-line d="M22 6 V14 M22 17.6 V18.4" {}
                }
                Standing::Lapsed => {
                    rect.line.fading x="2" y="4" width="15" height="15" {}
                    path.line.fading d=(tick) {}
                }
                Standing::Open => { rect.line x="2" y="4" width="15" height="15" {} }
                Standing::Failed => {
                    rect.line x="2" y="4" width="15" height="15" {}
                    path.tick-line d="M5.5 7.5 L13.5 15.5 M13.5 7.5 L5.5 15.5" {}
                }
            }
        }
    }
}

/// The mark of a weight.
pub(super) fn weight_mark(weight: Weight) -> Markup {
    html! {
        svg.tick-mark viewBox="0 0 22 22" width="22" height="22" aria-hidden="true" focusable="false" {
            @match weight {
                Weight::Fault => { circle.filled cx="11" cy="11" r="9" {} path.on-filled d="M7 7 L15 15 M15 7 L7 15" {} }
                Weight::Warning => { path.line d="M11 2.5 L20 18.5 H2 Z" {} path.flag-line d="M11 8 V13 M11 15.2 V16.4" {} }
                Weight::Note => { circle.line cx="11" cy="11" r="8" {} path.flag-line d="M11 10 V16 M11 6 V7.3" {} }
            }
        }
    }
}

/// What a finding says, with what follows and what to do.
pub(super) fn finding(finding: &Finding) -> Markup {
    html! {
        li.finding {
            (weight_mark(finding.weight))
            div {
                p { strong.flag[finding.weight == Weight::Fault] { (crate::reading::capital(finding.weight.word())) } ", " (words::name(&finding.about)) ": " (told(&said(&finding.text))) }
                @if !finding.consequence.is_empty() { p { (told(&said(&crate::reading::capital(&finding.consequence)))) } }
                @if !finding.mend.is_empty() { p { strong { "Do: " } (told(&said(&finding.mend))) } }
            }
        }
    }
}

/// With a full stop where there is no end yet.
fn said(text: &str) -> String {
    if text.ends_with(['.', '?', '!', ':']) { text.to_owned() } else { format!("{text}.") }
}

/// All that was found: faults and warnings in view, notes folded away where there are others.
pub(super) fn findings(all: &[Finding]) -> Markup {
    let (heavy, notes): (Vec<_>, Vec<_>) = all.iter().partition(|one| one.weight > Weight::Note);
    html! {
        section aria-labelledby="found" {
            h2 id="found" { "What was found" }
            @if heavy.is_empty() { p { "No fault and no warning in what is written down." } }
            @if !heavy.is_empty() { ul.findings { @for one in &heavy { (finding(one)) } } }
            @if !notes.is_empty() {
                details open[heavy.is_empty()] {
                    summary { (words::counted(notes.len() as u64, "note", "notes")) }
                    ul.findings { @for one in &notes { (finding(one)) } }
                }
            }
        }
    }
}

/// Sentences under a heading; nothing for none.
pub(super) fn sentences(id: &str, heading: &str, all: &[String]) -> Markup {
    html! {
        @if !all.is_empty() {
            section aria-labelledby=(id) {
                h2 id=(id) { (heading) }
                ul { @for one in all { li { (told(&crate::reading::capital(one))) } } }
            }
        }
    }
}

/// A sentence of the engine; what stands between backticks is typed.
pub(super) fn told(text: &str) -> Markup {
    let text = words::clip_to(text, 900);
    html! {
        bdi dir="ltr" {
            @for (at, piece) in text.split('`').enumerate() {
                @if at % 2 == 1 { code { (piece) } } @else { (piece) }
            }
        }
    }
}

/// When something was seen, small.
pub(super) fn seen(site: &Site, at: Moment) -> Markup {
    html! { small.source { (words::date(at)) ", " (words::ago(site.now.days_since(at))) } }
}

/// Why a part can't be read.
pub(super) fn problems(all: &[Problem]) -> Markup {
    html! {
        div.problems {
            p { strong { "What is written can't be read:" } }
            ul { @for one in all { li { (told(&one.to_string())) } } }
        }
    }
}

/// When a part was written down, and whether copies of the workshop disagree.
pub(super) fn written<T, A>(site: &Site, one: &Written<T, A>) -> Markup {
    html! {
        p.small {
            "Written down " (words::date(one.seen)) ", " (words::ago(site.now.days_since(one.seen))) "."
            @if one.texts > 1 {
                " " strong.flag { "Copies of the workshop wrote it differently: the later is shown; write it down once more to settle it." }
            }
        }
    }
}
