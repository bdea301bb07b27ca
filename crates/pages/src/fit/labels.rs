//! `GET /labels` and `/labels/print`: labels for devices.

use fitting::card::Label;
use maud::{Markup, html};
use register::view::Card;

use super::paper::square;
use crate::site::Site;
use crate::words;

/// What the page that chooses needs: what can have a label, with a heading for each sort.
#[derive(Clone, Copy, Debug)]
pub struct Choose<'a> {
    /// Heading and devices.
    pub groups: &'a [(String, Vec<Card>)],
    /// Those that are ticked.
    pub chosen: &'a [register::id::DeviceId],
    /// The most that fit one print.
    pub most: usize,
}

/// Chooses devices. Its form asks `/labels/print` (`d`, several), or `/labels.pdf` by its second button.
pub fn choose(site: &Site, sheet: &Choose) -> Markup {
    let any = sheet.groups.iter().any(|(_, cards)| !cards.is_empty());
    let body = html! {
        p.answer { "A label says what a device is, for an eye and for a phone." }
        @if any {
            p { "Its square holds the same facts as text, and the address of the device's page when sharing has one. No link secret is on it." }
            form method="get" action="/labels/print" {
                @for (at, (heading, cards)) in sheet.groups.iter().enumerate() {
                    @if !cards.is_empty() {
                        fieldset.choices.label-choices {
                            legend { (heading) }
                            @for (row, card) in cards.iter().enumerate() {
                                @let id = format!("label-{at}-{row}");
                                div.choice {
                                    input id=(id) type="checkbox" name="d" value=(card.id) checked[sheet.chosen.contains(&card.id)];
                                    label for=(id) { (words::name(&card.full())) }
                                }
                            }
                        }
                    }
                }
                p.small { "None ticked: every receiver and transmitter. At most " (words::count(sheet.most as u64)) " at once." }
                p.main-action { button.main type="submit" { "Labels to print" } }
                p { button.plain type="submit" formaction="/labels.pdf" { "As a PDF" } }
            }
        } @else {
            ul.ways { li { a href="/import" { "Import a list" } } li { a href="/receivers" { "Add a receiver" } } }
        }
    };
    site.page("Labels", &body)
}

/// Labels, ready to print.
pub fn print(site: &Site, labels: &[Label], pdf: &str) -> Markup {
    let body = html! {
        div.no-print {
            p.answer { (words::counted(labels.len() as u64, "label", "labels")) "." }
            p { "Print this page from the browser on A4 and cut along the lines; or take the PDF." }
            ul.ways { li { a.main href=(pdf) { "The PDF" } } li { a href="/labels" { "Choose others" } } }
        }
        ul.labels {
            @for label in labels {
                li.label {
                    (square(&label.code, &label.title))
                    div {
                        p.label-title { (words::name(&label.title)) }
                        @for line in &label.lines { p { (words::prose(line)) } }
                    }
                }
            }
        }
    };
    site.page("Labels to print", &body)
}
