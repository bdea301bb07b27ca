//! `GET /family/new?from=`: a link family made on a form.

mod fields;
mod fill;
mod releases;

use maud::{Markup, html};
use register::family::{Access, ChipKind, Energised, HeaderKind, InterleavingKind, LampState};
use register::field::Field;

use crate::form::{Choice, Form, Input, Typed, choice, send, send_main};
use crate::site::Site;
use crate::words;

pub use fields::{to_errors, to_toml};
pub use fill::from_family;

/// How many blank rows stand below those that are filled.
const BLANK_ROWS: usize = 2;

/// A form with every key of a family file, and a box to paste a whole file into.
///
/// `starters` are what `?from=` offers, by their file names. Fields are called as
/// [`register::family::read::Problem::key`] calls keys (`family.name`, `band[1].low_mhz`);
/// see [`to_toml`]. To start from a starter or an earlier family give `typed` with form
/// `family` and the values of [`from_family`].
/// Posts to `/family/new` (form `family`) and to `/family/paste` (form `paste`: `text`).
/// A `more=1` among the fields of `/family/new` asks for the form again with two more
/// blank rows everywhere, and writes nothing.
pub fn page(site: &Site, starters: &[&str], typed: &Typed) -> Markup {
    let form = Form::new("family", typed);
    let paste = Form::new("paste", typed);
    let body = html! {
        p.answer { "Write down how your system links, with its manual beside you." }
        @if !starters.is_empty() && !typed.sent("paste") {
            p { "Start from nothing, or from something near:" }
            ul.ways {
                @for name in starters {
                    li { a href={ "/family/new?from=" (words::encode(name)) } { (words::name(&label(name))) } }
                }
            }
        }
        details open[typed.sent("paste")] {
            summary { "Paste a whole file instead" }
            (paste.post(site, "/family/paste", &html! {
                (paste.area(Input::new("text", "The family file (TOML)").required(), 16))
                p { (send("Check it and take it in")) }
            }))
        }
        (form.post(site, "/family/new", &html! {
            (first(&form))
            (bands(&form, typed))
            (linking(&form, typed))
            (bench(&form, typed))
            (releases::releases(&form, typed))
            (faults(&form, typed))
            (modes(&form, typed))
            (rest(&form))
            p { button.plain type="submit" name="more" value="1" formnovalidate { "More blank rows" } }
            (send_main("Check it and take it in"))
        }))
    };
    site.page("A new link family", &body)
}

/// `starter-fsk-2g4.toml` as people read it; a file called otherwise keeps its name's words.
fn label(file: &str) -> String {
    let words = file.trim_end_matches(".toml").trim_start_matches("starter-");
    let words = match words {
        "css-2g4" => "chirp spread spectrum, 2.4 GHz".to_owned(),
        "css-sub-ghz" => "chirp spread spectrum, below 1 GHz".to_owned(),
        "fsk-2g4" => "frequency-shift keying, 2.4 GHz".to_owned(),
        other => other.replace('-', " "),
    };
    crate::reading::capital(&words)
}

fn yes_no() -> [Choice; 2] {
    [choice("false", "no"), choice("true", "yes")]
}

/// Choices that begin with "not known".
fn perhaps<'a>(known: impl IntoIterator<Item = (&'a str, &'a str)>) -> Vec<Choice> {
    let known = known.into_iter().map(|(value, words)| choice(value, words));
    std::iter::once(choice("", "not known")).chain(known).collect()
}

fn energised() -> Vec<Choice> {
    Energised::ALL.iter().map(|one| choice(one.word(), one.word())).collect()
}

/// How many rows of a list to show: those that are filled, and some blank ones.
fn rows(typed: &Typed, list: &str) -> usize {
    fields::rows(&typed.values, list) + BLANK_ROWS
}

fn first(form: &Form) -> Markup {
    html! {
        fieldset {
            legend { "The family" }
            (form.text(Input::new("family.name", "Name").hint("Devices refer to it by this").required()))
            (form.text(Input::new("family.summary", "In a line")))
            (form.select(Input::new("family.invented", "Invented, for examples").start("false"), &yes_no()))
        }
    }
}

fn bands(form: &Form, typed: &Typed) -> Markup {
    let access = perhaps(Access::ALL.map(|one| (one.word(), one.label())));
    html! {
        fieldset {
            legend { "Bands" }
            @for row in 1..=rows(typed, "band") {
                @let key = |name: &str| format!("band[{row}].{name}");
                fieldset {
                    legend { "Band " (row) }
                    div.fields {
                        (form.text(Input::new(&key("name"), "Name").hint("For instance 2.4 GHz")))
                        (form.text(Input::new(&key("also"), "Other spellings").hint("Parted by semicolons")))
                        (form.number(Input::new(&key("low_mhz"), "Lower edge, MHz")))
                        (form.number(Input::new(&key("high_mhz"), "Upper edge, MHz")))
                        (form.number(Input::new(&key("channels"), "Hop channels").hint("Empty when the manual doesn't say")))
                        (form.number(Input::new(&key("spacing_khz"), "From channel to channel, kHz")))
                        (form.number(Input::new(&key("noise_figure_db"), "Receiver's noise figure, dB").hint("As the maker's sensitivity implies it; empty when not known")))
                        (form.select(Input::new(&key("access"), "How a transmitter enters the band"), &access))
                    }
                }
            }
            (form.text(Input::new("region.variants", "Region variants of the firmware").hint("Parted by semicolons; empty for none")))
            (form.select(Input::new("region.must_match", "Must both ends have the same variant?").start("true"), &yes_no()))
        }
    }
}

fn linking(form: &Form, typed: &Typed) -> Markup {
    let versions = [
        choice("", "choose"),
        choice("any", "any two versions link"),
        choice("same-parts", "versions with the same first numbers link"),
        choice("groups", "versions within one group link"),
    ];
    let secrets = [
        choice("", "choose"),
        choice("none", "it has none"),
        choice("equal", "both ends must hold the same"),
    ];
    let checked = [
        choice("", "choose"),
        choice("none", "there is no such check"),
        choice("receiver", "the receiver compares"),
        choice("transmitter", "the transmitter compares"),
    ];
    html! {
        fieldset {
            legend { "Which firmware versions link" }
            (form.select(Input::new("version.rule", "Rule"), &versions))
            div.fields {
                (form.number(Input::new("version.parts", "Same numbers: how many").hint("1: 4.1 links with 4.6, not with 3.9")))
                (form.text(Input::new("version.called", "What the last of them is called").hint("For instance major")))
            }
            @for row in 1..=rows(typed, "version.group") {
                @let key = |name: &str| format!("version.group[{row}].{name}");
                div.fields {
                    @let name = format!("Group {row}: name");
                    @let spans = format!("Group {row}: versions");
                    (form.text(Input::new(&key("name"), &name)))
                    (form.text(Input::new(&key("spans"), &spans).hint("For instance 1.0..1.9; 2.3")))
                }
            }
        }
        fieldset {
            legend { "Link secret" }
            p.hint { "Only the rule. Never write a secret itself into a family." }
            (form.select(Input::new("secret.rule", "Rule"), &secrets))
            (form.select(Input::new("secret.blank_allowed", "May two blank ends be paired by hand?").start("false"), &yes_no()))
            (form.select(Input::new("secret.links_unpaired", "Do equal secrets link without pairing?").start("false"), &yes_no()))
        }
        fieldset {
            legend { "What a receiver remembers" }
            (form.number(Input::new("partners.remembers", "How many transmitters").start("1")))
            (form.select(Input::new("partners.pairing_drops_others", "Does pairing make it forget all others?").start("true"), &yes_no()))
        }
        fieldset {
            legend { "Model ID" }
            (form.select(Input::new("model_id.checked_at", "Which end compares"), &checked))
            div.fields {
                (form.number(Input::new("model_id.low", "Least ID")))
                (form.number(Input::new("model_id.high", "Greatest ID")))
                (form.number(Input::new("model_id.off", "Value that switches the check off").hint("Empty when it can't be")))
                (form.text(Input::new("model_id.refused", "What a refused end does")))
            }
        }
    }
}

/// What a flash can make an end forget.
fn wipes() -> Vec<Choice> {
    [Field::Partners, Field::Secret, Field::ModelId, Field::Region]
        .map(|field| choice(field.key(), field.label()))
        .to_vec()
}

fn bench(form: &Form, typed: &Typed) -> Markup {
    let wipes = wipes();
    let meanings = perhaps(LampState::ALL.map(|one| (one.word(), one.label())));
    let sides = [choice("", "choose"), choice("receiver", "receiver"), choice("transmitter", "transmitter")];
    html! {
        fieldset {
            legend { "How a receiver is paired" }
            (form.area(Input::new("pairing.gesture", "What to do").hint("A line for each step, in your own words"), 4))
            (form.text(Input::new("pairing.needs", "What must be within reach").hint("Parted by semicolons")))
            (form.boxes(Input::new("pairing.energises", "What that switches on").hint("The cautions follow from it; when in doubt tick more"), &energised(), &[]))
            (form.number(Input::new("pairing.minutes", "Minutes")))
        }
        fieldset {
            legend { "What its lamp shows" }
            p.hint { "What a state means lets a fault trail ask for the lamp, in your words." }
            @for row in 1..=rows(typed, "lamp") {
                @let key = |name: &str| format!("lamp[{row}].{name}");
                @let state = format!("State {row}");
                @let shows = format!("Lamp in state {row}");
                @let means = format!("What state {row} means");
                div.fields {
                    (form.text(Input::new(&key("state"), &state)))
                    (form.text(Input::new(&key("shows"), &shows)))
                    (form.select(Input::new(&key("means"), &means), &meanings))
                }
            }
        }
        fieldset {
            legend { "When it is left waiting" }
            div.fields {
                (form.number(Input::new("waiting.after_s", "After how many seconds")))
                (form.text(Input::new("waiting.does", "What it does")))
                (form.text(Input::new("waiting.settings_at", "Where its settings page is")))
            }
        }
        fieldset {
            legend { "How it is flashed" }
            @for row in 1..=rows(typed, "flash") {
                @let key = |name: &str| format!("flash[{row}].{name}");
                fieldset {
                    legend { "Way " (row) }
                    div.fields {
                        (form.text(Input::new(&key("name"), "What it is called")))
                        (form.select(Input::new(&key("side"), "Which end"), &sides))
                        (form.number(Input::new(&key("minutes"), "Minutes")))
                        (form.text(Input::new(&key("needs"), "What must be within reach").hint("Parted by semicolons")))
                    }
                    (form.boxes(Input::new(&key("energises"), "What it switches on"), &energised(), &[]))
                    (form.boxes(Input::new(&key("wipes"), "What it makes the end forget"), &wipes, &[]))
                    div.fields {
                        (form.number(Input::new(&key("fails_one_in"), "One flash in how many fails half-way").hint("Empty when not known")))
                        (form.area(Input::new(&key("recovery"), "How the end is brought back then"), 2))
                        (form.number(Input::new(&key("recovery_minutes"), "Minutes for that")))
                    }
                }
            }
        }
    }
}

fn faults(form: &Form, typed: &Typed) -> Markup {
    html! {
        details open[fields::rows(&typed.values, "fault") > 0] {
            summary { "Faults of its own, for the fault trail" }
            p.hint { "A cause that no other system has, or a usual one that is likelier, rarer, told or cured otherwise here. The figures are your judgement." }
            @for row in 1..=rows(typed, "fault") {
                @let key = |name: &str| format!("fault[{row}].{name}");
                fieldset {
                    legend { "Cause " (row) }
                    div.fields {
                        (form.text(Input::new(&key("symptom"), "Key of the fault").hint("For instance wont_pair")))
                        (form.text(Input::new(&key("key"), "Key of the cause").hint("One of the trail's own changes that cause, any other adds one")))
                        (form.text(Input::new(&key("label"), "What is wrong").hint("As a sentence; empty when the trail says it")))
                        (form.number(Input::new(&key("weight"), "Weight").hint("How often it is this, beside the trail's weights; empty for the trail's own")))
                    }
                    div.fields {
                        (form.text(Input::new(&key("ask"), "A question to tell it").hint("Answered yes or no; a yes points to it")))
                        (form.area(Input::new(&key("ask_how"), "How to find the answer"), 2))
                        (form.number(Input::new(&key("ask_minutes"), "Minutes for that")))
                        (form.number(Input::new(&key("yes_if"), "How likely yes, when it is this").hint("0 to 1; empty for 0.9")))
                        (form.number(Input::new(&key("yes_else"), "How likely yes, when it isn't").hint("0 to 1; empty for 0.05")))
                    }
                    div.fields {
                        (form.text(Input::new(&key("mend"), "What cures it")))
                        (form.area(Input::new(&key("mend_how"), "How to do it"), 2))
                        (form.number(Input::new(&key("mend_minutes"), "Minutes for the cure").hint("Trying whether it helped included")))
                        (form.number(Input::new(&key("cures"), "How likely it cures").hint("0 to 1; empty for 0.9")))
                    }
                    (form.boxes(Input::new(&key("energises"), "What question or cure switch on").hint("The cautions follow from it; when in doubt tick more"), &energised(), &[]))
                }
            }
        }
    }
}

fn modes(form: &Form, typed: &Typed) -> Markup {
    let sorts = [
        choice("", "choose"),
        choice("css", "chirp spread spectrum"),
        choice("fsk", "frequency-shift keying"),
        choice("stated", "only a sensitivity is known"),
    ];
    let headers = perhaps([
        (HeaderKind::Explicit.word(), "a header says its length"),
        (HeaderKind::Implicit.word(), "both ends know its length"),
    ]);
    let checksums = perhaps([("true", "yes"), ("false", "no")]);
    let interleavings = perhaps([
        (InterleavingKind::Standard.word(), "over a block"),
        (InterleavingKind::Long.word(), "over the whole packet"),
    ]);
    let formats = [
        choice("", "as the band's frequency has it"),
        choice(ChipKind::SubGhz.word(), "chips below 1 GHz"),
        choice(ChipKind::Ghz2g4.word(), "chips at 2.4 GHz"),
    ];
    html! {
        details open[fields::rows(&typed.values, "mode") > 0] {
            summary { "Packet modes, power and failsafe, where the manual says them" }
            @for row in 1..=rows(typed, "mode") {
                @let key = |name: &str| format!("mode[{row}].{name}");
                fieldset {
                    legend { "Mode " (row) }
                    div.fields {
                        (form.text(Input::new(&key("name"), "Name")))
                        (form.text(Input::new(&key("bands"), "Bands it exists on").hint("Parted by semicolons; empty for all")))
                        (form.select(Input::new(&key("modulation"), "Modulation"), &sorts))
                        (form.number(Input::new(&key("spreading_factor"), "Spreading factor")))
                        (form.number(Input::new(&key("bandwidth_khz"), "Bandwidth, kHz")))
                        (form.number(Input::new(&key("coding_rate"), "Coding rate, 4 over").hint("5 to 8")))
                        (form.number(Input::new(&key("bit_rate_kbps"), "Bit rate, kbit/s")))
                        (form.number(Input::new(&key("deviation_khz"), "Deviation, kHz")))
                        (form.number(Input::new(&key("sensitivity_dbm"), "Sensitivity, dBm")))
                        (form.number(Input::new(&key("occupied_khz"), "Occupied bandwidth, kHz")))
                        (form.number(Input::new(&key("airtime_us"), "Packet's time on the air, µs")))
                        (form.number(Input::new(&key("packet_rate_hz"), "Packets a second")))
                        (form.number(Input::new(&key("payload_bytes"), "Bytes in a packet")))
                        (form.number(Input::new(&key("hop_every"), "Packets on one channel before it hops")))
                        (form.text(Input::new(&key("telemetry_one_in"), "Telemetry, one packet in").hint("Numbers parted by semicolons; empty for none")))
                    }
                    p.hint { "The packet's format, for chirp spread spectrum:" }
                    div.fields {
                        (form.number(Input::new(&key("preamble_symbols"), "Preamble, symbols")))
                        (form.select(Input::new(&key("header"), "Header"), &headers))
                        (form.select(Input::new(&key("crc"), "Has it a checksum?"), &checksums))
                        (form.select(Input::new(&key("interleaving"), "Bits are spread"), &interleavings))
                        (form.select(Input::new(&key("packet_format"), "Format of which chips"), &formats))
                    }
                }
            }
            div.fields {
                (form.text(Input::new("power.steps_mw", "Transmit power steps, mW").hint("Parted by semicolons")))
                (form.number(Input::new("power.telemetry_mw", "Receivers send telemetry with, mW")))
                (form.number(Input::new("failsafe.after_s", "Failsafe after, seconds").hint("Without a valid packet; empty when not known")))
            }
        }
    }
}

fn rest(form: &Form) -> Markup {
    html! {
        details {
            summary { "Minutes that differ on these devices" }
            (form.area(Input::new("minutes", "Minutes").hint("A line each, for instance check.firmware = 4"), 4))
        }
    }
}
