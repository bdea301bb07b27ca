//! The forms of a device's page.

use maud::{Markup, html};
use register::field::{Field, Part, Sort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::view::EndView;

use super::Leaf;
use crate::form::{Form, Input, Typed, choice, hidden, send, send_main};
use crate::reading;
use crate::sheet::{DeviceSheet, Edit};
use crate::words;

/// Facts that the general form offers, by what the device is.
fn offered(sort: Option<Sort>) -> Vec<Field> {
    use Field::{Antenna, Code, Craft, Handset, Maker, Model, Name, Note, Owner, Pack, State};
    match sort {
        Some(Sort::Transmitter) => vec![Code, Name, State, Maker, Model, Handset, Owner, Pack, Note],
        Some(Sort::Receiver) => vec![Code, Name, State, Field::Aircraft, Maker, Model, Owner, Note],
        Some(Sort::Aircraft) => vec![Code, Name, State, Craft, Maker, Model, Owner, Pack, Note],
        None => vec![Code, Name, State, Antenna, Note],
    }
}

/// The fact that a refused reading was about: its form is shown again.
fn refused(typed: &Typed) -> Option<Edit> {
    let part = Part::from_word(typed.value("reading", "part")?)?;
    let field = typed.value("reading", "field")?.parse().ok()?;
    Some(Edit { part, field })
}

fn write(on: &Leaf, fleet: &Fleet, edit: Option<&Edit>, typed: &Typed) -> Markup {
    let form = Form::new("reading", typed);
    let refused = refused(typed);
    let edit = refused.as_ref().or(edit);
    html! {
        section.write id="write" aria-labelledby="write-title" {
            @if let Some(Edit { part, field }) = edit {
                @let place = words::part(part);
                h2 id="write-title" { "Write down: " (field.label()) @if !place.is_empty() { ", " (words::name(&place)) } }
                (form.post(on.site, &on.action("reading"), &html! {
                    (reading::inputs(&form, on.site, on.scene, fleet, on.device.id, part, *field))
                    (send_main("Write it down"))
                }))
            } @else {
                h2 id="write-title" { "Write something down" }
                p { "Choose “look again” beside a fact, or one of these:" }
                ul.ways {
                    @for field in offered(on.device.sort) {
                        li { a href={ "/device/" (on.device.id) "?part=whole&field=" (field.key()) "#write" } { (field.label()) } }
                    }
                    @for key in on.device.ends.keys() {
                        li { a href={ "/device/" (on.device.id) "?part=" (words::encode(&Part::End(key.clone()).word())) "&field=antenna#write" } {
                            "antenna of " (words::name(&words::part(&Part::End(key.clone()))))
                        } }
                    }
                }
            }
        }
    }
}

pub(super) fn forms(
    on: &Leaf,
    fleet: &Fleet,
    ends: &[EndView],
    sheet: &DeviceSheet,
    typed: &Typed,
) -> Markup {
    let radio = matches!(on.device.sort, Some(Sort::Transmitter | Sort::Receiver));
    html! {
        (write(on, fleet, sheet.edit.as_ref(), typed))
        @if on.device.sort == Some(Sort::Receiver) { (paired(on, fleet, ends, typed)) }
        @if radio { (flashed(on, ends, typed)) (add_end(on, typed)) }
        @if on.device.sort == Some(Sort::Transmitter) { (add_memory(on, fleet, ends, typed)) }
        (note(on, typed))
        (same_as(on, typed))
        p { a href={ "/whatif?device=" (on.device.id) } { "What if something about it changed?" } }
    }
}

fn end_select(form: &Form, ends: &[EndView]) -> Markup {
    match ends {
        [only] => hidden("end", &only.end.end),
        many => {
            let choices: Vec<_> = many.iter().map(|end| choice(&end.end.end, &end.end.end)).collect();
            form.select(Input::new("end", "End"), &choices)
        }
    }
}

fn paired(on: &Leaf, fleet: &Fleet, ends: &[EndView], typed: &Typed) -> Markup {
    let form = Form::new("paired", typed);
    html! {
        details open[typed.sent("paired")] {
            summary { "It was paired" }
            (form.post(on.site, &on.action("paired"), &html! {
                (end_select(&form, ends))
                (form.select(Input::new("transmitter", "With the transmitter").required(), &reading::transmitter_ends(on.scene, fleet)))
                (form.date(Input::new("seen", "When").start(&on.site.now.date())))
                p { (send("Write the pairing down")) }
            }))
        }
    }
}

fn flashed(on: &Leaf, ends: &[EndView], typed: &Typed) -> Markup {
    let form = Form::new("flashed", typed);
    let routes: Vec<String> = ends
        .iter()
        .filter_map(|end| end.rules.as_deref())
        .flat_map(|family| &family.flash)
        .filter(|route| Some(route.side.word()) == on.device.sort.map(Sort::word))
        .map(|route| route.name.clone())
        .collect();
    let mut choices = vec![choice("", "not said")];
    for route in &routes {
        if !choices.iter().any(|(have, _)| have == route) {
            choices.push(choice(route, route));
        }
    }
    html! {
        details open[typed.sent("flashed")] {
            summary { "It was flashed" }
            (form.post(on.site, &on.action("flashed"), &html! {
                (end_select(&form, ends))
                (form.text(Input::new("version", "Firmware version written").required()))
                (form.select(Input::new("route", "Way it was flashed").hint("What a way wipes is written in the family file"), &choices))
                (form.date(Input::new("seen", "When").start(&on.site.now.date())))
                p { (send("Write the flash down")) }
            }))
        }
    }
}

fn add_end(on: &Leaf, typed: &Typed) -> Markup {
    let form = Form::new("end", typed);
    let (bands, regions) = reading::bands_and_regions(on.scene, None);
    html! {
        details open[typed.sent("end")] {
            summary { "It has a further end" }
            p { "An end is one radio interface: a second RF module, a second band, a second family." }
            (form.post(on.site, &on.action("end"), &html! {
                (form.text(Input::new("name", "What to call the end").hint("For instance inside, bay, 2.4").required()))
                (form.suggest(Input::new("family", "Link family"), &reading::family_names(on.scene)))
                (form.suggest(Input::new("band", "Band"), &bands))
                (form.suggest(Input::new("region", "Region variant"), &regions))
                (form.text(Input::new("firmware", "Firmware")))
                (reading::how_and_seen(&form, on.site))
                p { (send("Add the end")) }
            }))
        }
    }
}

fn add_memory(on: &Leaf, fleet: &Fleet, ends: &[EndView], typed: &Typed) -> Markup {
    let form = Form::new("memory", typed);
    html! {
        details open[typed.sent("memory")] {
            summary { "It has a further model memory" }
            (form.post(on.site, &on.action("memory"), &html! {
                (form.text(Input::new("name", "What the memory is called").required()))
                (form.number(Input::new("model_id", "Model ID").hint("A number, or off; leave it empty when not known")))
                (reading::aircraft(&form, fleet, "aircraft", ""))
                (end_select(&form, ends))
                (reading::how_and_seen(&form, on.site))
                p { (send("Add the memory")) }
            }))
        }
    }
}

fn note(on: &Leaf, typed: &Typed) -> Markup {
    let form = Form::new("note", typed);
    html! {
        details open[typed.sent("note")] {
            summary { "A note about it" }
            (form.post(on.site, &on.action("note"), &html! {
                (form.area(Input::new("text", "Note").hint("Never write a link secret here").required(), 3))
                p { (send("Write the note down")) }
            }))
        }
    }
}

fn same_as(on: &Leaf, typed: &Typed) -> Markup {
    let form = Form::new("same-as", typed);
    let parted = Form::new("parted", typed);
    let joined: Vec<DeviceId> =
        on.scene.register.joined().filter(|(_, under)| *under == on.device.id).map(|(id, _)| id).collect();
    html! {
        details open[typed.sent("same-as") || typed.sent("parted")] {
            summary { "It was entered twice" }
            (form.post(on.site, &on.action("same-as"), &html! {
                (form.text(Input::new("other", "The other one").hint("Its code, name or id").required()))
                p { (send("They are one and the same")) }
            }))
            @for id in &joined {
                (parted.post(on.site, &on.action("parted"), &html! {
                    (hidden("other", &id.to_string()))
                    p { "Joined with " code { (id) } " " (send("Part them again")) }
                }))
            }
        }
    }
}
