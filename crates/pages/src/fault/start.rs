//! `GET /faults/new`: whose gear it is; one button begins with a guest's.

use maud::{Markup, html};
use register::family::Side;
use register::field::Field;
use register::fleet::Fleet;
use register::scene::Scene;
use register::value::EndRef;
use register::view::EndView;
use trails::model::Model;

use crate::form::{Choice, Form, Input, Typed, choice, hidden, send, send_main};
use crate::reading::{bands_and_regions, capital, end_label, end_value, family_names};
use crate::site::Site;
use crate::words;

/// How a trail may begin.
#[derive(Clone, Debug)]
pub struct Start<'a> {
    /// The symptom.
    pub model: &'a Model,
    /// The transmitter end that was chosen before.
    pub transmitter: Option<EndRef>,
    /// The receiver end that was chosen before.
    pub receiver: Option<EndRef>,
}

/// The form of a guest's gear about which nothing is said yet.
pub const GUEST_FORM: &str = "guest";
/// The form with everything else.
pub const FORM: &str = "begin";
/// The value of `transmitter` and `receiver` for guest gear.
pub const GUEST: &str = "guest";
/// The facts of guest gear that may be told at the start, `SIDE.FACT` by name. A link secret
/// has the fields `SIDE.secret` and `SIDE.blank` beside them.
pub const TOLD: [Field; 5] = [Field::Family, Field::Band, Field::Firmware, Field::Region, Field::ModelId];

/// More ends than these are not offered as a list; the code or name is typed.
const MOST_OFFERED: usize = 300;

/// Whose gear? Posts to `/faults`: form [`GUEST_FORM`] with `symptom`, `transmitter` and
/// `receiver` (both [`GUEST`]); form [`FORM`] with those as ends, `whose`, `open` (several)
/// and what is told of guest gear ([`TOLD`]).
pub fn page(site: &Site, scene: &Scene, fleet: &Fleet, start: &Start, typed: &Typed) -> Markup {
    let own_first = start.transmitter.is_some() || start.receiver.is_some() || typed.sent(FORM);
    let body = html! {
        p.answer { (words::prose(&start.model.name)) ": whose gear is it?" }
        @if own_first {
            (own(site, scene, fleet, start, typed, true))
            (guest(site, start, typed, false))
        } @else {
            (guest(site, start, typed, true))
            (own(site, scene, fleet, start, typed, false))
        }
        ul.ways {
            li { a href={ "/faults/card?symptom=" (words::encode(&start.model.key)) } { "A trail card on paper for it" } }
            li { a href="/faults" { "Another symptom" } }
        }
    };
    site.page("A new fault trail", &body)
}

fn guest(site: &Site, start: &Start, typed: &Typed, main: Main) -> Markup {
    let form = Form::new(GUEST_FORM, typed);
    html! {
        section aria-labelledby="guest" {
            h2 id="guest" { "A guest's gear, in no register" }
            p { "Nothing needs to be known about it: what is worth asking is asked on the way." }
            (form.post(site, "/faults", &html! {
                (hidden("symptom", &start.model.key))
                (hidden("transmitter", GUEST))
                (hidden("receiver", GUEST))
                (button(main, "Begin with a guest's gear"))
            }))
        }
    }
}

/// Whether a button is the page's main one.
type Main = bool;

fn button(main: Main, says: &str) -> Markup {
    if main {
        send_main(says)
    } else {
        html! { p { (send(says)) } }
    }
}

fn ends<'a>(scene: &Scene, all: impl Iterator<Item = &'a EndView>, side: Side) -> Option<Vec<Choice>> {
    let guests = choice(GUEST, &format!("a guest's {}", side.word()));
    let mut choices = vec![choice("", "choose"), guests];
    choices.extend(all.map(|end| (end_value(&end.end), end_label(scene, &end.end))));
    (choices.len() <= MOST_OFFERED).then_some(choices)
}

fn own(site: &Site, scene: &Scene, fleet: &Fleet, start: &Start, typed: &Typed, main: Main) -> Markup {
    let form = Form::new(FORM, typed);
    let model = start.model;
    let select = |side: Side, chosen: Option<&EndRef>| {
        let label = capital(side.word());
        let chosen = chosen.map(end_value).unwrap_or_default();
        let input = Input::new(side.word(), &label).required().start(&chosen);
        let choices = match side {
            Side::Transmitter => ends(scene, fleet.transmitters.iter().flat_map(|view| &view.ends), side),
            Side::Receiver => ends(scene, fleet.receivers.iter().flat_map(|view| &view.ends), side),
        };
        match choices {
            Some(choices) => form.select(input, &choices),
            None => form.text(input.hint("Its code or name, or guest")),
        }
    };
    let wrong =
        |names: &dyn Fn(&str) -> bool| typed.sent(FORM) && typed.errors.iter().any(|(name, _)| names(name));
    let covers: Vec<Choice> =
        model.covers.iter().map(|cover| choice(&cover.key, &capital(&cover.label))).collect();
    html! {
        section aria-labelledby="own" {
            h2 id="own" { "Gear of this workshop, or more is known" }
            (form.post(site, "/faults", &html! {
                (hidden("symptom", &model.key))
                div.fields {
                    (select(Side::Transmitter, start.transmitter.as_ref()))
                    (select(Side::Receiver, start.receiver.as_ref()))
                }
                details open[wrong(&|name| name.contains('.')) || told(typed)] {
                    summary { "What is known of a guest's gear" }
                    p.small { "Leave out what isn't known. It stays on this trail and can be erased with it." }
                    div.columns {
                        (facts(&form, scene, Side::Transmitter))
                        (facts(&form, scene, Side::Receiver))
                    }
                }
                @if !covers.is_empty() {
                    details open[typed.sent(FORM) && typed.values.iter().any(|(name, _)| name == "open")] {
                        summary { "What is open or at hand already" }
                        (form.boxes(Input::new("open", "Open or at hand"), &covers, &[]))
                    }
                }
                details open[wrong(&|name| name == "whose") || typed.value(FORM, "whose").is_some_and(|text| !text.is_empty())] {
                    summary { "Whose gear it is" }
                    (form.text(Input::new("whose", "Whose").hint("For the closing report; it can be erased")))
                }
                (button(main, "Begin the trail"))
            }))
        }
    }
}

/// Whether something was told of guest gear.
fn told(typed: &Typed) -> bool {
    typed.sent(FORM) && typed.values.iter().any(|(name, value)| name.contains('.') && !value.is_empty())
}

fn facts(form: &Form, scene: &Scene, side: Side) -> Markup {
    let (bands, regions) = bands_and_regions(scene, None);
    let name = |what: &str| format!("{}.{what}", side.word());
    html! {
        fieldset {
            legend { "The guest's " (side.word()) }
            @for field in TOLD {
                @let (name, label) = (name(field.key()), capital(field.label()));
                @let input = Input::new(&name, &label);
                @match field {
                    Field::Family => (form.suggest(input, &family_names(scene))),
                    Field::Band => (form.suggest(input, &bands)),
                    Field::Region => (form.suggest(input, &regions)),
                    Field::ModelId => (form.text(input.hint("A number, or off when the check is switched off"))),
                    _ => (form.text(input)),
                }
            }
            (secret(form, side))
        }
    }
}

/// The link secret of one side: typed, or seen blank.
pub(super) fn secret(form: &Form, side: Side) -> Markup {
    let (secret, blank) = (format!("{}.secret", side.word()), format!("{}.blank", side.word()));
    html! {
        (form.secret(Input::new(&secret, "Link secret").hint("Only a fingerprint of it is kept; it is shown nowhere")))
        (form.tick(Input::new(&blank, "Its link secret is blank")))
    }
}
