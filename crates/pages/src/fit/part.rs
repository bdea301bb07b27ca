//! `GET /device/{id}/{outputs|supply|failsafe|antennas}`: a part of a fit.

use fitting::aircraft::Fit;
use fitting::part::{self, schema};
use maud::{Markup, html};
use register::fit::Part;
use register::view::Card;

use super::inputs::{self, FORM};
use super::{antennas, failsafe, outputs, supply};
use crate::form::{Form, Input, Typed, send};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

/// The key of the form with the part as one text.
pub const TEXT: &str = "text";

/// What the page needs.
#[derive(Clone, Copy, Debug)]
pub struct PartSheet<'a> {
    /// The aircraft.
    pub card: &'a Card,
    /// Which part.
    pub part: Part,
    /// Its fit.
    pub fit: &'a Fit,
    /// Of the supply: which case is drawn, counted from 0.
    pub case: Option<usize>,
}

impl PartSheet<'_> {
    fn address(&self) -> String {
        format!("/device/{}/{}", self.card.id, self.part.word())
    }
}

/// A part: the answer, its drawing, what was found, and the forms. The form [`FORM`] posts to the
/// page's own address: an input a cell, named by its path (`output.3.channel`), and the buttons named
/// [`inputs::ROW`]; the form [`TEXT`] to `…/text` (`text`); the form `clear` to `…/clear`.
pub fn page(site: &Site, sheet: &PartSheet, typed: &Typed) -> Markup {
    let text = sheet.fit.text(sheet.part);
    let name = sheet.card.label();
    let body = html! {
        @match text {
            None => {
                p.answer { (capital(says_nothing(sheet.part))) " of " (words::name(&sheet.card.spoken())) ": nothing is written down yet." }
                p { (why(sheet.part)) }
            }
            Some(_) => (answer(site, sheet)),
        }
        (form(site, sheet, text, typed))
        (as_text(site, sheet, text, typed))
        @if text.is_some() { (clear(site, sheet)) }
        ul.ways {
            li { a href={ "/device/" (sheet.card.id) "/commission" } { "Commissioning of " (words::name(&name)) } }
            @for other in Part::ALL.iter().filter(|other| **other != sheet.part) {
                li { a href={ "/device/" (sheet.card.id) "/" (other.word()) } { (capital(other.label())) } }
            }
        }
    };
    site.page(&format!("{} of {}", capital(sheet.part.label()), sheet.card.full()), &body)
}

fn says_nothing(part: Part) -> &'static str {
    match part {
        Part::Outputs => "outputs",
        Part::Supply => "supply",
        Part::Failsafe => "failsafe",
        Part::Antennas => "antennas",
    }
}

fn why(part: Part) -> &'static str {
    match part {
        Part::Outputs => {
            "Write down which channel each output carries and what hangs on it: double use, servos that fight each other, pulses and rates that a part can't take are found here and not at the field."
        }
        Part::Supply => {
            "Write down pack, leads, regulator and servos: the answer says where the voltage goes when everything moves at once, and what helps most."
        }
        Part::Failsafe => {
            "Write down what each channel does without a link, and how it flies: the answer says what is wrong, what happens when, and where to look."
        }
        Part::Antennas => {
            "Write down each antenna, where it points and what is near it: the answer says in which directions the receiver hears worst."
        }
    }
}

fn answer(site: &Site, sheet: &PartSheet) -> Markup {
    let fit = sheet.fit;
    match sheet.part {
        Part::Outputs => fit.outputs.as_ref().map_or_else(Markup::default, |one| outputs::answer(site, one)),
        Part::Supply => {
            fit.supply.as_ref().map_or_else(Markup::default, |one| supply::answer(site, one, sheet.case))
        }
        Part::Failsafe => {
            fit.failsafe.as_ref().map_or_else(Markup::default, |one| failsafe::answer(site, one))
        }
        Part::Antennas => {
            fit.antennas.as_ref().map_or_else(Markup::default, |one| antennas::answer(site, one, fit.craft))
        }
    }
}

fn form(site: &Site, sheet: &PartSheet, text: Option<&str>, typed: &Typed) -> Markup {
    let schema = schema(sheet.part);
    let read = text.and_then(|text| part::read(schema, "what is written", text).ok());
    let start = Typed {
        form: FORM.to_owned(),
        values: read.as_ref().map(part::inputs).unwrap_or_default(),
        errors: Vec::new(),
    };
    let shown = if typed.sent(FORM) { typed } else { &start };
    let body = html! {
        // Enter in a field sends the form: by its first button, which must be this one.
        button.quiet type="submit" tabindex="-1" aria-hidden="true" { "Write it down" }
        (inputs::rows(schema, &sheet.address(), shown))
        p.main-action { button.main type="submit" { "Write it down" } }
    };
    html! {
        section.write.part-form id="write" aria-labelledby="write-title" {
            h2 id="write-title" { @if text.is_some() { "What is written down" } @else { "Write it down" } }
            p.small { "Leave empty what you don't know: what is taken then stands beside each field." }
            (Form::new(FORM, shown).post(site, &sheet.address(), &body))
        }
    }
}

fn as_text(site: &Site, sheet: &PartSheet, text: Option<&str>, typed: &Typed) -> Markup {
    let form = Form::new(TEXT, typed);
    let start = text.map(str::to_owned).unwrap_or_default();
    html! {
        details id="as-text" open[typed.sent(TEXT)] {
            summary { "As one text" }
            p.small { "The same as in the form, as it stands in a file (TOML): to keep, to send, to copy from another aircraft." }
            (form.post(site, &format!("{}/text", sheet.address()), &html! {
                (form.area(Input::new("text", "The text").start(&start), 16))
                p { (send("Write this text down")) }
            }))
        }
    }
}

fn clear(site: &Site, sheet: &PartSheet) -> Markup {
    let none = Typed::none();
    html! {
        details {
            summary { "Take it away" }
            p { "Then nothing is written down any more; the logbook keeps what was." }
            (Form::new("clear", &none).post(site, &format!("{}/clear", sheet.address()), &html! {
                p { (send(&format!("Take the {} away", sheet.part.label()))) }
            }))
        }
    }
}
