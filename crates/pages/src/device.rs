//! `GET /device/{id}` and `GET /device/new?sort=`: one device, and a new one.

mod forms;

use maud::{Markup, html};
use register::field::{Field, Part, Sort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::register::{Device, Facts};
use register::scene::Scene;
use register::today::stale_after;
use register::value::Value;
use register::verdict::{model_id_words, secret_words, wanted};
use register::view::{self, Card, EndView, Known, MemoryView, Source};

use crate::form::{Form, Input, Typed, choice, hidden, send_main};
use crate::reading::{self, end_label, value_words};
use crate::sheet::DeviceSheet;
use crate::site::Site;
use crate::words;

/// One device: its facts with age and source, its ends and memories, links, logbook, forms.
///
/// # Forms
/// All go to `/device/{id}/…`; the hidden field `form` is the last word of the action.
/// - `reading`: `part` (`whole`, `end:main`, `memory:3`), `field` (a field's key), `how`,
///   `seen` (a date) and the value. `unknown=1` means *not known any more*. The value is in
///   `value`, but: a link secret is `secret_is` (`typed`, `blank`, `same`, `unknown`) with
///   `value` (the typed one) and `same` (`DEVICE/END`); partners are `partner` (`DEVICE/END`,
///   any number of times) and `all=1` when these are all; `aircraft` is an id, a code, a name
///   or `none`; `model_id` a number or `off`.
/// - `end`: `name` (its key), `family`, `band`, `region`, `firmware`, `how`, `seen`.
/// - `memory`: `name`, `model_id`, `aircraft`, `end`, `how`, `seen`.
/// - `paired`: `end`, `transmitter` (`DEVICE/END`), `seen`.
/// - `flashed`: `end`, `version`, `route`, `seen`.
/// - `note`: `text`. `same-as`: `other` (code, name or id). `parted`: `other` (an id).
/// - `/entry/{id}/strike` and `/entry/{id}/erase`: nothing else (their `form` is empty).
pub fn page(
    site: &Site,
    scene: &Scene,
    fleet: &Fleet,
    device: &Device,
    sheet: &DeviceSheet,
    typed: &Typed,
) -> Markup {
    let card = view::card(device);
    let transmitter = (device.sort == Some(Sort::Transmitter)).then(|| view::transmitter(scene, device));
    let receiver = (device.sort == Some(Sort::Receiver)).then(|| view::receiver(scene, device));
    let ends: &[EndView] = match (&transmitter, &receiver) {
        (Some(view), _) => &view.ends,
        (_, Some(view)) => &view.ends,
        _ => &[],
    };
    let on = Leaf { site, scene, device };
    let body = html! {
        p.answer {
            (device.sort.map_or("A device that is only spoken of", |sort| match sort {
                Sort::Transmitter => "A transmitter",
                Sort::Receiver => "A receiver",
                Sort::Aircraft => "An aircraft",
            }))
            ", " (card.state.word())
            @if let Some(aircraft) = receiver.as_ref().and_then(view::ReceiverView::fitted_in).and_then(|id| scene.device(id)) {
                ", in " (words::device_full(&view::card(aircraft)))
            }
            @if site.now.days_since(card.last_seen) < 0 {
                ", with a reading dated in the future"
            } @else if card.last_seen.0 != i64::MIN {
                ", last seen " time datetime=(card.last_seen) { (words::ago(site.now.days_since(card.last_seen))) }
            }
            "."
        }
        @if device.sort == Some(Sort::Aircraft) { (fitted(fleet, device.id)) }
        (on.whole())
        @for end in ends { (on.end(end)) }
        @if let Some(view) = &transmitter { (on.memories(&view.memories)) }
        (links(device, sheet))
        @if device.sort == Some(Sort::Transmitter) {
            ul.ways { li { a href={ "/refits/new?t=" (device.id) } { "Plan a refit: another version, and all that must follow" } } }
        }
        (link_sheets(fleet, device))
        @if let Some(list) = sheet.commission { (crate::fit::section::aircraft(site, list, typed)) }
        @else if device.sort.is_some() && device.sort != Some(Sort::Aircraft) {
            (crate::fit::section::other(site, device.id, device.sort, typed))
        }
        (forms::forms(&on, fleet, ends, sheet, typed))
        (log(&on, sheet))
    };
    site.page(&card.full(), &body)
}

/// What every part of the page needs.
struct Leaf<'a> {
    site: &'a Site,
    scene: &'a Scene<'a>,
    device: &'a Device,
}

impl Leaf<'_> {
    fn edit_address(&self, part: &Part, field: Field) -> String {
        format!("/device/{}?part={}&field={}#write", self.device.id, words::encode(&part.word()), field.key())
    }

    fn edit_link(&self, part: &Part, field: Field) -> Markup {
        html! {
            a.edit href=(self.edit_address(part, field)) {
                "look again" span.quiet { ": " (field.label()) " " (words::name(&words::part(part))) }
            }
        }
    }

    fn source(&self, field: Field, source: Source) -> Markup {
        let days = self.site.now.days_since(source.seen);
        let old = stale_after(self.scene.register, field).is_some_and(|limit| days > limit);
        html! {
            a.quiet-link href={ "#" (crate::sheet::anchor(source.entry)) } { (words::source(source, self.site.now)) }
            @if old { " " small.flag { "worth another look" } }
        }
    }

    fn known<T>(&self, part: &Part, field: Field, known: &Known<T>, says: impl Fn(&T) -> String) -> Markup {
        self.row(part, field, &self.options(field, known, says))
    }

    fn options<T>(&self, field: Field, known: &Known<T>, says: impl Fn(&T) -> String) -> Markup {
        html! {
            @if known.options.is_empty() {
                em { "not known" }
            }
            @for (at, (value, source)) in known.options.iter().enumerate() {
                @if at > 0 { " or " }
                (words::whole(&says(value))) " " (self.source(field, *source))
            }
            @if known.clashes() { " " strong.flag { "readings disagree: look again" } }
        }
    }

    fn row(&self, part: &Part, field: Field, body: &Markup) -> Markup {
        html! {
            tr {
                th scope="row" { (reading::capital(field.label())) }
                td { (body) }
                td { (self.edit_link(part, field)) }
            }
        }
    }

    fn facts(&self, part: &Part, facts: &Facts, but: &[Field]) -> Markup {
        html! {
            @for field in Field::ALL.iter().filter(|field| !but.contains(field) && facts.of(**field).next().is_some()) {
                (self.known(part, *field, &view::fact(facts, *field), |value: &Value| value_words(self.scene, value)))
            }
        }
    }

    fn whole(&self) -> Markup {
        html! {
            table.facts {
                caption { "What is known of it" }
                thead.quiet { tr { th scope="col" { "Fact" } th scope="col" { "Value" } th scope="col" { "Do" } } }
                tbody {
                    (self.facts(&Part::Whole, &self.device.whole, &[]))
                    @if self.device.whole.is_empty() { tr { td colspan="3" { "Nothing yet: write down its code and name below." } } }
                }
            }
        }
    }

    fn end(&self, end: &EndView) -> Markup {
        let part = Part::End(end.end.end.clone());
        let is_receiver = self.device.sort == Some(Sort::Receiver);
        let plain = String::clone;
        let shown = [
            Field::Family,
            Field::Band,
            Field::Region,
            Field::Firmware,
            Field::Secret,
            Field::ModelId,
            Field::Partners,
        ];
        let regions = end.rules.as_ref().is_none_or(|rules| !rules.regions.variants.is_empty());
        let secrets =
            end.rules.as_ref().is_none_or(|rules| rules.secret != register::family::SecretRule::Absent);
        html! {
            table.facts {
                caption { "End " (words::name(&end.end.end)) }
                thead.quiet { tr { th scope="col" { "Fact" } th scope="col" { "Value" } th scope="col" { "Do" } } }
                tbody {
                    (self.known(&part, Field::Family, &end.family, plain))
                    (self.known(&part, Field::Band, &end.band, plain))
                    @if regions { (self.known(&part, Field::Region, &end.region, plain)) }
                    (self.known(&part, Field::Firmware, &end.firmware, plain))
                    @if secrets || !end.secret.options.is_empty() {
                        (self.known(&part, Field::Secret, &end.secret, |mark| secret_words(self.scene, mark)))
                    }
                    @if is_receiver {
                        (self.known(&part, Field::ModelId, &end.model_id, |id| model_id_words(*id, end.rules.as_deref())))
                        (self.partners(&part, end))
                    }
                    @if let Some(facts) = self.device.part(&part) { (self.facts(&part, facts, &shown)) }
                    @if let Some(flashed) = end.flashed {
                        tr { th scope="row" { "Last flashed" } td { (words::date(flashed)) } td {} }
                    }
                }
            }
            @if let Some(name) = end.family.one() {
                @if end.rules.is_none() {
                    p { "There is no family file for " (words::name(name)) ": " a href="/family/new" { "write it down from its manual" } "." }
                } @else {
                    p.small { a href={ "/family/" (words::encode(name)) } { "The rules of " (words::name(name)) } }
                }
            }
        }
    }

    fn partners(&self, part: &Part, end: &EndView) -> Markup {
        let body = html! {
            @if end.partners.known.is_empty() {
                @if end.partners.all.is_some() { "none" } @else { em { "not known" } }
            }
            @for (at, (partner, source)) in end.partners.known.iter().enumerate() {
                @if at > 0 { ", " }
                a href={ "/device/" (partner.device) } { (words::name(&end_label(self.scene, partner))) }
                " " (self.source(Field::Partners, *source))
            }
            @if !end.partners.known.is_empty() && end.partners.all.is_none() { ", maybe others" }
            @if let (true, Some(source)) = (end.partners.known.is_empty(), end.partners.all) {
                " " (self.source(Field::Partners, source))
            }
        };
        self.row(part, Field::Partners, &body)
    }

    fn memories(&self, memories: &[MemoryView]) -> Markup {
        html! {
            section id="memories" aria-labelledby="memories-title" {
                h2 id="memories-title" { "Model memories" }
                @if memories.is_empty() {
                    p { "None is written down yet. Add them below, each with its model ID and the aircraft it flies." }
                }
                @if !memories.is_empty() {
                    table.stack.memories data-filter {
                        caption { "Each with its model ID and the aircraft it flies" }
                        thead { tr {
                            th scope="col" { "Memory" } th scope="col" { "Model ID" } th scope="col" { "Aircraft" }
                            th scope="col" { "End" } th scope="col" { "Look again at" }
                        } }
                        tbody { @for memory in memories { (self.memory(memory)) } }
                    }
                }
            }
        }
    }

    fn memory(&self, memory: &MemoryView) -> Markup {
        const SHOWN: [Field; 4] = [Field::Name, Field::ModelId, Field::Aircraft, Field::End];
        let part = Part::Memory(memory.key.clone());
        let facts = self.device.part(&part);
        let more: Vec<Field> = Field::ALL
            .iter()
            .copied()
            .filter(|field| {
                !SHOWN.contains(field) && facts.is_some_and(|facts| facts.of(*field).next().is_some())
            })
            .collect();
        html! {
            tr {
                th scope="row" { (words::name(&memory.label)) }
                td data-label="Model ID" {
                    (self.options(Field::ModelId, &memory.model_id, |id| model_id_words(*id, None)))
                }
                td data-label="Aircraft" { (self.options(Field::Aircraft, &memory.aircraft, |id| self.aircraft(*id))) }
                td data-label="End" {
                    (self.options(Field::End, &memory.end, String::clone))
                    @if let Some(facts) = facts {
                        @for field in &more {
                            br; (field.label()) ": "
                            (self.options(*field, &view::fact(facts, *field), |value: &Value| value_words(self.scene, value)))
                        }
                    }
                }
                td data-label="Look again at" {
                    @for (at, field) in SHOWN.iter().chain(&more).enumerate() {
                        @if at > 0 { " " }
                        a.edit href=(self.edit_address(&part, *field)) {
                            (field.label()) span.quiet { " of " (words::name(&memory.label)) }
                        }
                    }
                }
            }
        }
    }

    fn aircraft(&self, id: Option<DeviceId>) -> String {
        id.map_or_else(|| "none".to_owned(), |id| value_words(self.scene, &Value::Device(id)))
    }

    fn action(&self, last: &str) -> String {
        format!("/device/{}/{last}", self.device.id)
    }
}

fn fitted(fleet: &Fleet, aircraft: DeviceId) -> Markup {
    let receivers: Vec<_> = fleet.fitted_in(aircraft).collect();
    html! {
        p {
            @if receivers.is_empty() { "No receiver is known to be in it. " }
            @else {
                "Receivers in it: "
                @for (at, view) in receivers.iter().enumerate() { @if at > 0 { ", " } (words::device_full(&view.card)) }
                ". "
            }
            a href={ "/spares/" (aircraft) } { "Which spare fits?" }
        }
    }
}

/// How many link sheets are named.
const SHEETS: usize = 12;

/// The link sheets of an aircraft, one for each transmitter that flies it, or of a
/// transmitter, one for each aircraft that it flies.
fn link_sheets(fleet: &Fleet, device: &Device) -> Markup {
    let id = device.id;
    let mut found: Vec<(String, &Card)> = Vec::new();
    let any = match device.sort {
        Some(Sort::Aircraft) => {
            let fitted: Vec<_> = fleet.fitted_in(id).collect();
            for t in fleet.transmitters.iter().filter(|t| fitted.iter().any(|r| wanted(t, r))) {
                found.push((format!("/sheet/{}/{id}", t.card.id), &t.card));
            }
            format!("/sheet?other={id}")
        }
        Some(Sort::Transmitter) => {
            if let Some(t) = fleet.transmitter(id) {
                for r in fleet.receivers.iter().filter(|r| wanted(t, r)) {
                    let craft = r.fitted_in().and_then(|id| fleet.aircraft(id)).map(|craft| &craft.card);
                    let card = craft.unwrap_or(&r.card);
                    if !found.iter().any(|(_, have)| have.id == card.id) {
                        found.push((format!("/sheet/{id}/{}", card.id), card));
                    }
                }
            }
            format!("/sheet?transmitter={id}")
        }
        _ => return html! {},
    };
    html! {
        section aria-labelledby="link-sheets" {
            h2 id="link-sheets" { "How far it reaches" }
            ul.ways {
                @for (href, card) in found.iter().take(SHEETS) {
                    li { a href=(href) { "Link sheet with " (words::name(&card.label())) } }
                }
                li { a href=(any) { (if found.is_empty() { "Choose a link for its sheet" } else { "With another" }) } }
            }
        }
    }
}

fn links(device: &Device, sheet: &DeviceSheet) -> Markup {
    let filter = device.sort.map_or("transmitter", Sort::word);
    html! {
        @if !sheet.links.is_empty() {
            section aria-labelledby="links" {
                h2 id="links" { "Its links" }
                (crate::links::table("Links, those that are meant to hold first", sheet.links))
                @if sheet.links_total > sheet.links.len() as u64 {
                    p { a href={ "/links?" (filter) "=" (device.id) } { "All " (words::count(sheet.links_total)) } }
                }
            }
        }
    }
}

fn log(on: &Leaf, sheet: &DeviceSheet) -> Markup {
    html! {
        section aria-labelledby="log" {
            h2 id="log" { "What the logbook says" }
            @if sheet.log.is_empty() { p { "Nothing yet." } }
            (crate::history::lines(on.site, on.scene, &sheet.log, false))
            @if sheet.log_goes_on { p { a href={ "/history?device=" (on.device.id) } { "Older entries" } } }
        }
    }
}

/// A form for a new device. Posts to `/device/new` (form `new`): `sort`, `code`, `name`,
/// `maker`, `model`, `state`, `owner`, `note`, `how`, `seen`; for an aircraft `craft`; for a
/// receiver `aircraft`; for a receiver and a transmitter `family`, `band`, `region`,
/// `firmware`, `secret_is` (empty, `typed`, `blank`), `value` (the typed secret); for a
/// receiver `model_id`.
pub fn new(site: &Site, scene: &Scene, fleet: &Fleet, sort: Sort, typed: &Typed) -> Markup {
    let form = Form::new("new", typed);
    let states: Vec<_> =
        view::State::ALL.into_iter().map(|state| choice(state.word(), state.word())).collect();
    let (bands, regions) = reading::bands_and_regions(scene, None);
    let radio = sort != Sort::Aircraft;
    let body = html! {
        p.answer { "A code or a name is enough; what isn't known can wait." }
        (form.post(site, "/device/new", &html! {
            (hidden("sort", sort.word()))
            div.fields {
                (form.text(Input::new("code", "Code").hint("What stands on its label, for instance R7")))
                (form.text(Input::new("name", "Name")))
                (form.select(Input::new("state", "State").start("in use"), &states))
                @if sort == Sort::Receiver { (reading::aircraft(&form, fleet, "aircraft", "")) }
                @if sort == Sort::Aircraft { (form.text(Input::new("craft", "Sort of craft").hint("Aeroplane, glider, helicopter, multirotor, boat, car"))) }
            }
            @if radio {
                fieldset {
                    legend { "Its radio" }
                    div.fields {
                        (form.suggest(Input::new("family", "Link family"), &reading::family_names(scene)))
                        (form.suggest(Input::new("band", "Band"), &bands))
                        (form.suggest(Input::new("region", "Region variant"), &regions))
                        (form.text(Input::new("firmware", "Firmware")))
                        @if sort == Sort::Receiver {
                            (form.number(Input::new("model_id", "Model ID").hint("A number, or off when the check is switched off")))
                        }
                    }
                    details open[typed.error("new", "value").is_some() || typed.error("new", "secret_is").is_some()] {
                        summary { "Link secret" }
                        (reading::secret(&form, &[], false))
                    }
                }
            }
            details open[typed.sent("new")] {
                summary { "Maker, owner, note" }
                div.fields {
                    (form.text(Input::new("maker", "Maker")))
                    (form.text(Input::new("model", "Type")))
                    (form.text(Input::new("owner", "Owner").hint("When it isn't the workshop's own")))
                }
                (form.area(Input::new("note", "Note").hint("Never write a link secret here"), 3))
            }
            (reading::how_and_seen(&form, site))
            (send_main("Write it down"))
        }))
    };
    let title = match sort {
        Sort::Transmitter => "New transmitter",
        Sort::Receiver => "New receiver",
        Sort::Aircraft => "New aircraft",
    };
    site.page(title, &body)
}
