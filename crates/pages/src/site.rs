//! What every page says, and the sheet of paper around it.

use maud::{DOCTYPE, Markup, html};
use register::time::Moment;

use crate::words;

/// Whether a notice is good or bad news.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mood {
    /// Done as asked.
    Good,
    /// Not done.
    Bad,
}

/// What became of the last thing that was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// Good or bad.
    pub mood: Mood,
    /// What, where, what to do.
    pub text: String,
}

/// What goes to every page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// The workshop's name; may be empty.
    pub workshop_name: String,
    /// Whether phones in the room may read and write; every page says so.
    pub shared: bool,
    /// Whether the page is seen on the machine that serves it.
    pub is_host: bool,
    /// What every form carries in its hidden field `token`.
    pub form_token: String,
    /// Now.
    pub now: Moment,
    /// What became of the last thing that was done.
    pub notice: Option<Notice>,
    /// The path of this page, `/links`.
    pub path: String,
}

const FIRST: &[(&str, &str)] = &[
    ("/", "Today"),
    ("/cords", "Cords"),
    ("/links", "Links"),
    ("/faults", "Faults"),
    ("/refits", "Refits"),
    ("/commission", "Commissioning"),
    ("/transmitters", "Transmitters"),
    ("/receivers", "Receivers"),
    ("/aircraft", "Aircraft"),
];

const REST: &[(&str, &str)] = &[
    ("/sheet", "Link sheet"),
    ("/formulas", "Formulas"),
    ("/families", "Link families"),
    ("/ids", "Model IDs"),
    ("/whatif", "What if"),
    ("/import", "Import"),
    ("/export", "Export"),
    ("/history", "Logbook"),
    ("/settings", "Settings"),
];

const SHARING: (&str, &str) = ("/sharing", "Sharing");

impl Site {
    fn entry(&self, (href, label): &(&str, &str)) -> Markup {
        html! {
            li { a href=(href) aria-current=[(self.path == *href).then_some("page")] { (label) } }
        }
    }

    /// The page among those that are folded away.
    fn in_rest(&self) -> Option<&'static str> {
        let rest = REST.iter().chain(std::iter::once(&SHARING));
        rest.into_iter().find(|(href, _)| self.path == *href).map(|(_, label)| *label)
    }

    fn navigation(&self) -> Markup {
        html! {
            nav aria-label="Pages" {
                ul { @for entry in FIRST { (self.entry(entry)) } }
                details {
                    summary { "More" @if let Some(label) = self.in_rest() { ": " strong { (label) } } }
                    ul {
                        @for entry in REST { (self.entry(entry)) }
                        @if self.is_host { (self.entry(&SHARING)) }
                    }
                }
            }
        }
    }

    /// A whole page: `title` is its one question, `body` the answer.
    pub(crate) fn page(&self, title: &str, body: &Markup) -> Markup {
        self.sheet(title, true, None, body)
    }

    /// A page that asks for itself again after some seconds.
    pub(crate) fn waiting_page(&self, title: &str, seconds: u32, body: &Markup) -> Markup {
        self.sheet(title, true, Some(seconds), body)
    }

    /// A page for somebody who may not see the workshop yet: nothing of it is on it.
    pub(crate) fn outside_page(&self, title: &str, body: &Markup) -> Markup {
        self.sheet(title, false, None, body)
    }

    fn sheet(&self, title: &str, inside: bool, refresh: Option<u32>, body: &Markup) -> Markup {
        let workshop = if self.workshop_name.trim().is_empty() || !inside {
            "Holdfast"
        } else {
            self.workshop_name.as_str()
        };
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    @if let Some(seconds) = refresh { meta http-equiv="refresh" content=(seconds); }
                    title { (words::clip(title)) " · " (words::clip(workshop)) }
                    link rel="stylesheet" href="/static/style.css";
                    link rel="icon" href="data:,";
                    script src="/static/script.js" defer {}
                }
                body {
                    a.skip href="#page" { "To the page" }
                    header {
                        p.workshop { a href="/" { (words::name(workshop)) } }
                        @if inside { (self.navigation()) }
                        @if self.shared {
                            p.shared { "Shared with phones in this room." }
                        }
                    }
                    main id="page" tabindex="-1" {
                        @if let Some(notice) = &self.notice {
                            p.notice.good[notice.mood == Mood::Good].bad[notice.mood == Mood::Bad]
                                role=(if notice.mood == Mood::Good { "status" } else { "alert" }) {
                                (words::prose(&notice.text))
                            }
                        }
                        h1 { (words::name(title)) }
                        (body)
                    }
                    footer {
                        p { "Planning and record-keeping aid; local rules and the maker's manual prevail." }
                        @if inside {
                            p.small { "Dates and times are UTC. This page: " (words::minute(self.now)) }
                        }
                    }
                }
            }
        }
    }
}
