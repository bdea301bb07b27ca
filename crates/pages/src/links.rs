//! `GET /links` and `GET /matrix`: verdicts with filters.

use maud::{Markup, html};
use register::rule::{Answer, Question, Rule, Status, Verdict};
use register::verdict::Link;

use crate::form::{Choice, Form, Input, Typed, choice, send};
use crate::sheet::{LinksQuery, LinksSheet, MatrixSheet};
use crate::site::Site;
use crate::words;

impl LinksQuery {
    /// The query, `?verdict=blocked&page=2`, for page `page`.
    pub fn to_query(&self, page: u64) -> String {
        let mut parts: Vec<String> = Vec::new();
        let mut add = |name: &str, value: &str| {
            if !value.is_empty() {
                parts.push(format!("{name}={}", words::encode(value)));
            }
        };
        add("verdict", self.verdict.map_or("", Verdict::word));
        add("rule", self.rule.map_or("", Rule::word));
        add("transmitter", &self.transmitter);
        add("receiver", &self.receiver);
        add("aircraft", &self.aircraft);
        add("family", &self.family);
        add("wanted", if self.wanted { "1" } else { "" });
        add("page", &if page > 1 { page.to_string() } else { String::new() });
        format!("?{}", parts.join("&"))
    }

    /// The fields of the filter form.
    fn fields(&self) -> Vec<(String, String)> {
        let mut fields = vec![
            ("verdict".to_owned(), self.verdict.map_or("", Verdict::word).to_owned()),
            ("rule".to_owned(), self.rule.map_or("", Rule::word).to_owned()),
            ("transmitter".to_owned(), self.transmitter.clone()),
            ("receiver".to_owned(), self.receiver.clone()),
            ("aircraft".to_owned(), self.aircraft.clone()),
            ("family".to_owned(), self.family.clone()),
        ];
        if self.wanted {
            fields.push(("wanted".to_owned(), "1".to_owned()));
        }
        fields
    }

    /// What is filtered, in words.
    fn in_words(&self) -> Vec<String> {
        let mut words: Vec<String> = Vec::new();
        words.extend(self.verdict.map(|verdict| verdict.word().to_owned()));
        words.extend(self.rule.map(|rule| format!("because of the {}", rule.label())));
        for (what, value) in [
            ("transmitter", &self.transmitter),
            ("receiver", &self.receiver),
            ("aircraft", &self.aircraft),
            ("family", &self.family),
        ] {
            if !value.is_empty() {
                words.push(format!("{what} {value}"));
            }
        }
        words.extend(self.wanted.then(|| "meant to hold".to_owned()));
        words
    }
}

fn filters(action: &str, query: &LinksQuery, families: &[String], typed: &Typed) -> Markup {
    let kept = Typed { form: "filter".to_owned(), values: query.fields(), errors: typed.errors.clone() };
    let form = Form::new("filter", &kept);
    let mut verdicts = vec![choice("", "any")];
    verdicts.extend(Verdict::ALL.iter().map(|verdict| choice(verdict.word(), verdict.word())));
    let mut rules = vec![choice("", "any")];
    rules.extend(Rule::ALL.iter().map(|rule| choice(rule.word(), rule.label())));
    let mut names: Vec<Choice> = vec![choice("", "any")];
    names.extend(families.iter().map(|name| choice(name, name)));
    let said = query.in_words();
    html! {
        details.filters open[typed.sent("filter")] {
            summary { "Filter" @if !said.is_empty() { ": " (words::prose(&said.join(", "))) } }
            form method="get" action=(action) {
                (form.wrong_question())
                div.fields {
                    (form.select(Input::new("verdict", "Verdict"), &verdicts))
                    (form.select(Input::new("rule", "Because of the"), &rules))
                    (form.text(Input::new("transmitter", "Transmitter").hint("Code or name")))
                    (form.text(Input::new("receiver", "Receiver").hint("Code or name")))
                    (form.text(Input::new("aircraft", "Aircraft").hint("Code or name")))
                    (form.select(Input::new("family", "Link family"), &names))
                    (form.tick(Input::new("wanted", "Only links that are meant to hold")))
                }
                p { (send("Show")) }
            }
        }
        @if !said.is_empty() { p { a href=(action) { "Show all, without a filter" } } }
    }
}

/// A table of links, also used on the pages of devices.
pub(crate) fn table(caption: &str, links: &[Link]) -> Markup {
    html! {
        table.stack data-filter {
            caption { (caption) }
            thead { tr {
                th scope="col" { "Transmitter" } th scope="col" { "Receiver" } th scope="col" { "Aircraft" }
                th scope="col" { "Verdict" } th scope="col" { "Can pair, paired, obeyed" } th scope="col" { "Why" }
            } }
            tbody {
                @for link in links {
                    tr {
                        th scope="row" { (words::device(&link.transmitter)) }
                        td data-label="Receiver" { (words::device(&link.receiver)) }
                        td data-label="Aircraft" { @if let Some(card) = &link.aircraft { (words::device(card)) } }
                        td data-label="Verdict" {
                            a href={ "/link/" (link.transmitter.id) "/" (link.receiver.id) } { (words::verdict(link.verdict())) }
                        }
                        td data-label="Can pair, paired, obeyed" { (answers(link)) }
                        td data-label="Why" { @if !why(link).is_empty() { (words::prose(why(link))) } }
                    }
                }
            }
        }
    }
}

fn answers(link: &Link) -> Markup {
    let words: Vec<&str> = [Question::CanPair, Question::Paired, Question::Obeyed]
        .into_iter()
        .map(|question| Answer::label(link.answer(question)))
        .collect();
    html! { (words.join(", ")) }
}

/// The text of the finding that decides.
pub(crate) fn why(link: &Link) -> &str {
    let worst = link.findings.iter().map(|finding| finding.status).max();
    if worst == Some(Status::Pass) {
        return "";
    }
    link.findings
        .iter()
        .find(|finding| Some(finding.status) == worst)
        .map_or("", |finding| finding.text.as_str())
}

/// Links that the filters take. `typed` (form `filter`) tells what is wrong with a
/// filter (no such transmitter).
pub fn page(site: &Site, sheet: &LinksSheet, typed: &Typed) -> Markup {
    let [holds, unknown, blocked] = sheet.by_verdict;
    let body = html! {
        p.answer {
            @if sheet.of_all == 0 {
                "There are no links yet."
            } @else {
                "Of " (words::counted(sheet.of_all, "possible link", "possible links")) ", "
                (words::counted(holds, "holds", "hold")) ", "
                (words::count(blocked)) (if blocked == 1 { " is" } else { " are" }) " blocked, "
                (words::count(unknown)) (if unknown == 1 { " is" } else { " are" }) " unknown."
            }
        }
        @if sheet.of_all == 0 {
            p { "A link needs a transmitter and a receiver." }
            ul.ways {
                li { a href="/import" { "Import a list" } }
                li { a href="/device/new?sort=transmitter" { "Add a transmitter" } }
                li { a href="/device/new?sort=receiver" { "Add a receiver" } }
            }
        } @else {
            (filters("/links", &sheet.query, &sheet.families, typed))
            @if sheet.links.is_empty() {
                p { "No link is like that. " a href="/links" { "Show them all" } }
            } @else {
                (table(&words::counted(sheet.total, "link", "links"), sheet.links))
                (words::pager(sheet.query.page, sheet.per_page, sheet.total, |page| format!("/links{}", sheet.query.to_query(page))))
            }
            p { a href={ "/matrix" (sheet.query.to_query(1)) } { "The same as a matrix" } }
        }
    };
    site.page("Links", &body)
}

/// Transmitters as columns, receivers as rows, a verdict in each cell.
pub fn matrix(site: &Site, sheet: &MatrixSheet, typed: &Typed) -> Markup {
    let asked = !sheet.query.in_words().is_empty();
    let nothing = !asked && (sheet.rows.is_empty() || sheet.transmitters.is_empty());
    let body = html! {
        p.answer {
            @if nothing { "There is nothing to compare yet." } @else {
            (words::counted(sheet.rows_total, "receiver", "receivers")) " in rows against "
            (words::counted(sheet.transmitters_total.max(sheet.transmitters.len() as u64), "transmitter", "transmitters")) " in columns."
            }
        }
        @if sheet.transmitters_total > sheet.transmitters.len() as u64 {
            p { "The first " (words::count(sheet.transmitters.len() as u64)) " transmitters are shown; filter for others." }
        }
        @if nothing {
            p { "A link needs a transmitter and a receiver." }
            ul.ways {
                li { a href="/import" { "Import a list" } }
                li { a href="/device/new?sort=transmitter" { "Add a transmitter" } }
                li { a href="/device/new?sort=receiver" { "Add a receiver" } }
            }
        } @else {
            (filters("/matrix", &sheet.query, &sheet.families, typed))
        }
        @if nothing {
        } @else if sheet.rows.is_empty() || sheet.transmitters.is_empty() {
            p { "Nothing to compare. " a href="/matrix" { "Show all" } " or " a href="/import" { "import a list" } "." }
        } @else {
            ul.key {
                li { (words::verdict(Verdict::Links)) }
                li { (words::verdict(Verdict::Unknown)) }
                li { (words::verdict(Verdict::Blocked)) }
                li { span.wanted { "framed" } " meant to hold" }
            }
            div.scroll tabindex="0" role="region" aria-label="Matrix of verdicts" {
                table.matrix {
                    caption.quiet { "Receivers in rows, transmitters in columns" }
                    thead { tr {
                        th scope="col" { "Receiver" }
                        @for card in &sheet.transmitters { th scope="col" { (words::device(card)) } }
                    } }
                    tbody {
                        @for row in &sheet.rows {
                            tr {
                                th scope="row" {
                                    (words::device(&row.receiver))
                                    @if let Some(card) = &row.aircraft { small { " in " (words::name(&card.spoken())) } }
                                }
                                @for (cell, card) in row.cells.iter().zip(&sheet.transmitters) {
                                    td {
                                        @if let Some(cell) = cell {
                                            a.wanted[cell.wanted] href={ "/link/" (card.id) "/" (row.receiver.id) } {
                                                (words::verdict(cell.verdict))
                                                @if cell.wanted { span.quiet { " (meant to hold)" } }
                                            }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            (words::pager(sheet.query.page, sheet.per_page, sheet.rows_total, |page| format!("/matrix{}", sheet.query.to_query(page))))
        }
        p { a href={ "/links" (sheet.query.to_query(1)) } { "The same as a list" } }
    };
    site.page("Matrix", &body)
}
