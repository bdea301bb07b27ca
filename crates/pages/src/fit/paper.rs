//! Cards as pages for the printer.

use std::fmt::Write as _;

use fitting::card::{Block, Card, Code, Size};
use maud::{Markup, html};

use crate::site::Site;
use crate::words;

/// What the page of a card needs.
#[derive(Clone, Copy, Debug)]
pub struct CardSheet<'a> {
    /// The card.
    pub card: &'a Card,
    /// On which paper.
    pub size: Size,
    /// Where the same is as a PDF.
    pub pdf: &'a str,
    /// Where the other cards and sizes are: address and words.
    pub ways: &'a [(String, String)],
}

/// A card, ready to print: on paper there is only the card.
pub fn page(site: &Site, sheet: &CardSheet) -> Markup {
    let card = sheet.card;
    let body = html! {
        div.no-print {
            p.answer { (words::prose(&card.kind)) " on " (sheet.size.word().to_uppercase()) "." }
            p { "Print this page from the browser, without its own head and foot lines; or take the PDF, which is laid out to the millimetre." }
            ul.ways {
                li { a.main href=(sheet.pdf) { "The PDF" } }
                @for (href, says) in sheet.ways { li { a href=(href) { (says) } } }
            }
        }
        article class={ "paper paper-" (sheet.size.word()) } aria-labelledby="card-title" {
            div.card-head {
                div {
                    p.small { (words::prose(&card.kind)) }
                    h2 id="card-title" { (words::name(&card.title)) }
                    p { (words::prose(&card.sentence)) }
                }
                @if let Some(code) = &card.code { (square(code, &card.title)) }
            }
            @for (at, block) in card.blocks.iter().enumerate() { (one(block, under(&card.blocks[..at]))) }
            p.card-foot { (words::prose(&card.foot)) }
        }
    };
    site.page(&format!("{}: {}", card.kind, card.title), &body)
}

/// The heading that a block stands under.
fn under(before: &[Block]) -> &str {
    let heading = before.iter().rev().find_map(|block| match block {
        Block::Heading(text) => Some(text.as_str()),
        _ => None,
    });
    heading.unwrap_or_default()
}

fn one(block: &Block, under: &str) -> Markup {
    match block {
        Block::Heading(text) => html! { h3 { (words::prose(text)) } },
        Block::Words(text) => html! { p { (words::prose(text)) } },
        Block::Caution(text) => {
            html! { div.caution role="note" { p { strong { "Caution: " } (words::prose(text)) } } }
        }
        Block::Facts(facts) => html! {
            dl.card-facts {
                @for (name, value, known) in facts {
                    div { dt { (words::prose(&crate::reading::capital(name))) } dd { (words::prose(value)) @if !known.is_empty() { " " small.source { (words::prose(known)) } } } }
                }
            }
        },
        Block::Boxes(boxes) => html! {
            ul.card-boxes {
                @for (text, more) in boxes {
                    li.boxed { span.box aria-hidden="true" {} span { (words::prose(text)) @if !more.is_empty() { " " small { (words::prose(more)) } } } }
                }
            }
        },
        Block::Table(header, rows) => html! {
            table {
                caption.quiet { (words::prose(under)) }
                thead { tr { @for one in header { th scope="col" { (words::prose(one)) } } } }
                tbody {
                    @for row in rows {
                        tr { @for (at, cell) in row.iter().enumerate() { @if at == 0 { th scope="row" { (words::prose(cell)) } } @else { td.whole[is_date(cell)] { (words::prose(cell)) } } } }
                    }
                }
            }
        },
        Block::Lines(lines) => html! {
            ul.card-lines { @for one in lines { li { span { (words::prose(one)) } span.rule aria-hidden="true" {} } } }
        },
    }
}

/// The QR code as one path: a run of dark modules a piece. It stays dark on light in every scheme.
pub(super) fn square(code: &Code, title: &str) -> Markup {
    let symbol = &code.symbol;
    let quiet = fitting::qr::QUIET;
    let side = symbol.with_quiet();
    let mut d = String::new();
    for y in 0..symbol.side {
        let mut x = 0;
        while x < symbol.side {
            let run = (x..symbol.side).take_while(|at| symbol.is_dark(*at, y)).count();
            if run > 0 {
                // Writing to a string can't fail.
                let _ = write!(d, "M{} {}h{run}v1h-{run}z", x + quiet, y + quiet);
            }
            x += run.max(1);
        }
    }
    let says: Vec<&str> = code.text.lines().collect();
    html! {
        svg.square role="img" viewBox={ "0 0 " (side) " " (side) } shape-rendering="crispEdges"
            aria-label={ "QR code of " (words::clip(title)) ": " (words::clip_to(&says.join("; "), 300)) } {
            rect.light x="0" y="0" width=(side) height=(side) {}
            path.dark d=(d) {}
        }
    }
}

/// A date isn't broken at its hyphens.
fn is_date(cell: &str) -> bool {
    cell.len() == 10 && cell.chars().all(|c| c.is_ascii_digit() || c == '-')
}
