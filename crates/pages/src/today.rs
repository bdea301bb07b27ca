//! `GET /`: what can fly today.

use maud::{Markup, html};
use register::rule::Verdict;
use register::today::{Line, Ready, Today};

use crate::draw;
use crate::sheet::Cord;
use crate::site::Site;
use crate::words;

fn cord(line: &Line) -> Option<Cord> {
    let (transmitter, receiver) = line.link?;
    Some(Cord {
        transmitter: line.transmitter.clone().filter(|card| card.id == transmitter)?,
        receiver: line.receivers.iter().find(|card| card.id == receiver)?.clone(),
        aircraft: Some(line.aircraft.clone()),
        verdict: match line.ready {
            Ready::Links => Verdict::Links,
            Ready::Blocked => Verdict::Blocked,
            _ => Verdict::Unknown,
        },
        text: if line.ready == Ready::Links { String::new() } else { line.text.clone() },
    })
}

/// What can fly, the next thing to do, the cords, every aircraft, what to look at again.
pub fn page(site: &Site, today: &Today) -> Markup {
    let cords: Vec<Cord> = today.lines.iter().filter_map(cord).collect();
    let body = html! {
        p.answer { (words::prose(&today.sentence())) }
        @if today.open_trails > 0 {
            p { a href="/faults" { (words::counted(today.open_trails as u64, "fault trail is", "fault trails are")) " open" } }
        }
        @if today.open_refits > 0 {
            p { a href="/refits" { (words::counted(today.open_refits as u64, "refit is", "refits are")) " open" } }
        }
        @if today.lines.is_empty() && today.receivers.is_some_and(|(_, all)| all > 0) {
            (no_aircraft())
        } @else if today.lines.is_empty() {
            (empty())
        } @else {
            (next(today))
            @if draw::crafts(&cords) <= draw::MOST_AIRCRAFT && !cords.is_empty() {
                figure.drawing.wide {
                    (draw::cords(&cords))
                    figcaption { "The cord that suits each aircraft best. " a href="/cords" { "Every cord that is meant to hold" } }
                }
            }
            (lines(today))
        }
        (stale(today))
        p.small { "Only the radio link is judged here, from what is written down. Nothing on this page replaces a range check and a look at every control surface." }
    };
    site.page("Today", &body)
}

/// There is gear, and no aircraft to fly it in.
fn no_aircraft() -> Markup {
    html! {
        div.next {
            p { "Write down which receiver is in which aircraft, and this page says what can fly." }
            p.main-action { a.main href="/links" { "Look at every link" } }
            ul.ways {
                li { a href="/device/new?sort=aircraft" { "Add an aircraft" } }
                li { a href="/import" { "Import a list" } }
            }
        }
    }
}

fn empty() -> Markup {
    html! {
        div.next {
            p { "A workshop begins with a list of gear: a spreadsheet, or one device after another." }
            p.main-action { a.main href="/import" { "Import a list" } }
            ul.ways {
                li { a href="/device/new?sort=transmitter" { "Add a transmitter" } }
                li { a href="/device/new?sort=receiver" { "Add a receiver" } }
                li { a href="/device/new?sort=aircraft" { "Add an aircraft" } }
                li { a href="/family/new" { "Write down a link family from its manual" } }
            }
        }
    }
}

fn next(today: &Today) -> Markup {
    let Some(line) = today.next.and_then(|at| today.lines.get(at)) else { return html! {} };
    let Some(plan) = &line.plan else { return html! {} };
    html! {
        section.next aria-labelledby="next" {
            h2 id="next" { "Next: " (words::name(&line.aircraft.spoken())) ", " (words::minutes(plan.minutes)) }
            ol {
                @for check in &plan.checks { li { (words::prose(&check.text)) " " (words::minutes(check.minutes)) } }
                @for step in &plan.steps {
                    li {
                        (words::prose(&step.text)) " " (words::minutes(step.minutes))
                        (words::cautions(&step.cautions()))
                    }
                }
            }
            @if let Some((transmitter, receiver)) = line.link {
                p.main-action { a.main href={ "/link/" (transmitter) "/" (receiver) } { "Do it, and write it down" } }
            }
        }
    }
}

/// A longer list is cut, and those that link left out first.
const MOST_LINES: usize = 200;

fn lines(today: &Today) -> Markup {
    let all = today.lines.len();
    let links = |line: &&Line| matches!(line.ready, Ready::Links | Ready::Away);
    let shown: Vec<&Line> = if all <= MOST_LINES {
        today.lines.iter().collect()
    } else {
        let stuck = today.lines.iter().filter(|line| !links(line));
        stuck.chain(today.lines.iter().filter(links)).take(MOST_LINES).collect()
    };
    html! {
        @if shown.len() < all {
            p { "The list is long: those that don't link stand first, and " (words::count((all - shown.len()) as u64))
                " are left out. " a href="/aircraft" { "Every aircraft" } " · "
                a href="/links?wanted=1&verdict=blocked" { "Every blocked link that is meant to hold" } }
        }
        table.stack data-filter {
            caption { (if shown.len() < all { "Aircraft" } else { "Every aircraft" }) }
            thead { tr {
                th scope="col" { "Aircraft" } th scope="col" { "Link" } th scope="col" { "With" }
                th scope="col" { "Why" } th scope="col" { "What to do" }
            } }
            tbody {
                @for line in &shown {
                    tr {
                        th scope="row" { (words::device_full(&line.aircraft)) }
                        td data-label="Link" {
                            @if let Some((transmitter, receiver)) = line.link {
                                a href={ "/link/" (transmitter) "/" (receiver) } { (words::ready(line.ready)) }
                            } @else {
                                (words::ready(line.ready))
                            }
                        }
                        td data-label="With" {
                            @if let Some(card) = &line.transmitter { (words::device(card)) }
                            @for card in &line.receivers { " " (words::device(card)) }
                        }
                        td data-label="Why" { (words::prose(&line.text)) }
                        td data-label="What to do" { (what_to_do(line)) }
                    }
                }
            }
        }
    }
}

fn what_to_do(line: &Line) -> Markup {
    html! {
        @match (&line.plan, line.ready) {
            (Some(plan), _) => {
                (words::prose(plan.first().unwrap_or_default())) " " (words::minutes(plan.minutes))
                @if plan.checks.len() + plan.steps.len() > 1 { " in all" }
            }
            (None, Ready::Bare) => {
                a href={ "/spares/" (line.aircraft.id) } { "See which spare fits" }
            }
            (None, Ready::Blocked) => {
                "No mend on these two devices helps. " a href={ "/spares/" (line.aircraft.id) } { "See which spare fits" }
            }
            _ => {}
        }
    }
}

fn stale(today: &Today) -> Markup {
    html! {
        @if !today.stale.is_empty() {
            section aria-labelledby="stale" {
                h2 id="stale" { "Last seen too long ago" }
                p { (words::counted(today.stale_count as u64, "fact is", "facts are")) " worth another look."
                    @if today.stale_count > today.stale.len() { " The oldest " (words::count(today.stale.len() as u64)) " are listed." } }
                details open[today.stale.len() <= 8] {
                    summary { "The list" }
                    table.stack data-filter {
                        caption { "Facts to look at again, the oldest first" }
                        thead { tr { th scope="col" { "Device" } th scope="col" { "Fact" } th scope="col" { "Last seen" } } }
                        tbody {
                            @for stale in &today.stale {
                                tr {
                                    th scope="row" { (words::device_full(&stale.device)) }
                                    td data-label="Fact" {
                                        a href={ "/device/" (stale.device.id) "?part=" (words::encode(&stale.part.word()))
                                            "&field=" (stale.field.key()) "#write" } {
                                            (stale.field.label())
                                            @let part = words::part(&stale.part);
                                            @if !part.is_empty() { " of " (words::name(&part)) }
                                        }
                                    }
                                    td data-label="Last seen" { (words::ago(stale.days)) ", " (words::date(stale.seen)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
