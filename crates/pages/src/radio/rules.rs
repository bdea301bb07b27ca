//! What the limits of a place say about both ways of a link.

use link::law::{Demand, Judgement, NOTICE, RowJudgement, Standing};
use maud::{Markup, html};

use super::say;
use crate::draw;
use crate::words;

/// What the limits say: the mark's shape and the word. A remembered limit that is exceeded is
/// told as such.
pub(super) fn standing(standing: Standing) -> Markup {
    use register::rule::Verdict as Mark;
    let mark = match standing {
        Standing::Within => Mark::Links,
        Standing::NotKnown => Mark::Unknown,
        Standing::OverRemembered | Standing::Over => Mark::Blocked,
    };
    html! { span.verdict { (draw::mark(mark)) " " (standing.word()) } }
}

/// Both ways.
pub(super) fn both(control: Option<&Judgement>, telemetry: Option<&Judgement>) -> Markup {
    html! {
        @match control {
            None => p { "No region was chosen, so no limits were looked at. Choose one under “The flight”." },
            Some(control) => {
                (one("What the transmitter sends", control))
                @if let Some(telemetry) = telemetry { (one("What the aircraft sends", telemetry)) }
                p.notice { (NOTICE) }
            }
        }
    }
}

fn one(heading: &str, judgement: &Judgement) -> Markup {
    html! {
        h3 { (heading) }
        @match judgement.decisive() {
            None => p { (standing(judgement.standing())) ": no limit is held for " (judgement.region) " at these frequencies." },
            Some(best) => {
                p { (standing(judgement.standing())) " in " (judgement.region) ": " (best.row.band) " MHz, " (best.row.modulation_class) "." }
                @if judgement.standing() != Standing::Within {
                    ul { @for demand in best.deciding() { li { (sentence(demand)) } } }
                }
                details.long-list {
                    summary { "Every demand" }
                    (demands(best))
                    ul.small { @for note in judgement.notes.iter().filter(|note| *note != NOTICE) { li { (words::prose(note)) } } }
                    @if judgement.rows.len() > 1 { (others(&judgement.rows[1..])) }
                }
            }
        }
    }
}

fn sentence(demand: &Demand) -> Markup {
    html! {
        strong { (say::capital(demand.what.word())) ": " (demand.words()) } ". "
        "It has " (demand.got) "; "
        @if !demand.limit.starts_with("remembered limit") { "the limit is " }
        (demand.limit) ". "
        small.source { (demand.clause) }
    }
}

fn demands(row: &RowJudgement) -> Markup {
    html! {
        p.small { (row.row.band) ", " (row.row.use_class) ". Known: " (row.row.obtained.says()) "." }
        table.stack {
            caption { "Demands of " (row.row.id) }
            thead { tr {
                th scope="col" { "About" } th scope="col" { "It is" } th scope="col" { "The limit" } th scope="col" { "This link" }
                th scope="col" { "Clause" }
            } }
            tbody {
                @for demand in &row.demands {
                    tr {
                        th scope="row" { (say::capital(demand.what.word())) }
                        td data-label="It is" { (demand.words()) }
                        td data-label="The limit" { (demand.limit) }
                        td data-label="This link" { (demand.got) }
                        td data-label="Clause" { small.source { (demand.clause) } }
                    }
                }
            }
        }
    }
}

fn others(rows: &[RowJudgement]) -> Markup {
    const MOST: usize = 12;
    html! {
        p { "Other rows that could apply:" }
        ul {
            @for row in rows.iter().take(MOST) { li { (row.row.id) ": " (row.verdict.word()) } }
            @if rows.len() > MOST { li { "and " (words::count((rows.len() - MOST) as u64)) " more" } }
        }
    }
}
