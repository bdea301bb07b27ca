//! Pieces that the pages of refits share.

use maud::{Markup, html};
use refits::planner::{Plan, Reason};
use register::id::DeviceId;
use register::scene::Scene;
use register::view::{self, Card};
use units::Minutes;

use crate::reading::capital;
use crate::words;

/// Hundredths of a minute as minutes.
pub(super) fn hundredths(count: i64) -> Minutes {
    #[expect(clippy::cast_precision_loss, reason = "minutes of some evenings")]
    Minutes(count as f64 / 100.0)
}

/// What a device is called in a line: its code, else its name.
pub(super) fn label(scene: &Scene, id: DeviceId) -> String {
    scene.device(id).map_or_else(|| "a device that is gone".to_owned(), |device| view::card(device).label())
}

/// A device with code and name.
pub(super) fn full(scene: &Scene, id: DeviceId) -> String {
    scene.device(id).map_or_else(|| "a device that is gone".to_owned(), |device| view::card(device).full())
}

/// A device in full, leading to its page.
pub(super) fn device(scene: &Scene, id: DeviceId) -> Markup {
    let card: Option<Card> = scene.device(id).map(view::card);
    html! {
        @match card {
            Some(card) => (words::device_full(&card)),
            None => "a device that is gone",
        }
    }
}

/// A list of devices in words: `A1, A2`.
pub(super) fn labels(scene: &Scene, ids: &[DeviceId]) -> String {
    ids.iter().map(|id| label(scene, *id)).collect::<Vec<_>>().join(", ")
}

/// Cautions in as few lines as can be.
pub(super) fn cautions(list: &[String]) -> Markup {
    html! {
        @if !list.is_empty() {
            div.caution role="note" {
                @for (at, one) in list.iter().enumerate() {
                    p { @if at == 0 { strong { (if list.len() == 1 { "Caution: " } else { "Cautions: " }) } } (words::prose(one)) }
                }
            }
        }
    }
}

/// Sentences that differ only in what they are about, as one: `R1, R2 can't go back …`.
fn together(list: &[String]) -> Vec<String> {
    const VERB: &str = " can't ";
    let mut groups: Vec<(Vec<&str>, &str)> = Vec::new();
    for one in list {
        let (who, rest) = one.split_once(VERB).unwrap_or((one, ""));
        match groups.iter_mut().find(|(_, have)| !rest.is_empty() && *have == rest) {
            Some((all, _)) => all.push(who),
            None => groups.push((vec![who], rest)),
        }
    }
    let say = |(who, rest): (Vec<&str>, &str)| {
        let who = who.join(", ");
        if rest.is_empty() { who } else { format!("{who}{VERB}{rest}") }
    };
    groups.into_iter().map(say).collect()
}

/// From which steps there is no way back, before the first of them.
pub(super) fn no_way_back(plan: &Plan) -> Markup {
    no_way_back_from(&plan.no_way_back, "no-way-back")
}

/// The same of some steps.
pub(super) fn no_way_back_from(reasons: &[String], id: &str) -> Markup {
    html! {
        @if !reasons.is_empty() {
            section.problems aria-labelledby=(id) {
                h2 id=(id) { "No way back" }
                p { "Once these are done, how things stand now can't be had again:" }
                ul { @for why in together(reasons) { li { (words::prose(&capital(&why))) } } }
            }
        }
    }
}

fn reason_list(scene: &Scene, list: &[&Reason]) -> Markup {
    html! {
        ul.reasons {
            @for reason in list {
                li {
                    (device(scene, reason.device)) " " (words::prose(reason.what.trim_end_matches('.'))) "."
                    @if !reason.why.is_empty() { " " span.small { (words::prose(&reason.why)) } }
                }
            }
        }
    }
}

/// So many reasons stand in view.
const IN_VIEW: usize = 12;

/// What other changes force, in view, then what was wished.
pub(super) fn reasons(scene: &Scene, plan: &Plan) -> Markup {
    let (wished, forced): (Vec<&Reason>, Vec<&Reason>) = plan.reasons.iter().partition(|one| one.wished);
    let (first, rest) = forced.split_at(forced.len().min(IN_VIEW));
    html! {
        @if !forced.is_empty() {
            section aria-labelledby="forced" {
                h2 id="forced" { "Forced by other changes" }
                p.small { "Nobody asked for these; without them a link that is meant to hold wouldn't." }
                (reason_list(scene, first))
                @if !rest.is_empty() {
                    details {
                        summary { (words::counted(rest.len() as u64, "more is", "more are")) " forced" }
                        (reason_list(scene, rest))
                    }
                }
            }
        }
        @if !wished.is_empty() {
            details {
                summary { "Changed because it is wished: " (words::count(wished.len() as u64)) }
                (reason_list(scene, &wished))
            }
        }
    }
}

/// What would be good to look at first, and what is left out.
pub(super) fn looks_and_left_out(plan: &Plan) -> Markup {
    html! {
        @if !plan.looks.is_empty() {
            section aria-labelledby="looks" {
                h2 id="looks" { "Look first" }
                p.small { "Not known yet. The plan supposes something; a look may make it shorter, or other." }
                ul {
                    @for look in &plan.looks {
                        li {
                            (words::prose(&look.text)) " " (words::minutes(look.minutes))
                            @if !look.supposes.is_empty() { " " span.small { "Supposed: " (words::prose(&look.supposes)) } }
                        }
                    }
                }
            }
        }
        @if !plan.left_out.is_empty() {
            section aria-labelledby="left-out" {
                h2 id="left-out" { "Left out" }
                ul { @for one in &plan.left_out { li { (words::device_full(&one.device)) " " (words::prose(&one.why)) } } }
            }
        }
    }
}

/// What replacing costs.
pub(super) fn replaced(scene: &Scene, plan: &Plan) -> Markup {
    html! {
        @if !plan.replaced.is_empty() {
            p {
                (words::counted(plan.replaced.len() as u64, "receiver is", "receivers are")) " replaced: "
                @for (at, (old, new)) in plan.replaced.iter().enumerate() {
                    @if at > 0 { "; " }
                    (words::name(&label(scene, *old)))
                    @if scene.device(*new).is_some() { " by " (words::name(&label(scene, *new))) } @else { " by a new one" }
                }
                ". Cost: " (words::count(u64::from(plan.cost))) "."
            }
        }
    }
}

/// Wishes in words.
pub(super) fn wishes(list: &[String]) -> Markup {
    html! { ul.wishes { @for one in list { li { (words::prose(&capital(one))) } } } }
}
