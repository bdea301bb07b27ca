//! Forms: inputs with labels, hints and errors, and what was typed kept.

use maud::{Markup, html};

use crate::site::Site;

/// What was typed into a form and what was wrong with it.
///
/// A page may hold several forms; `form` says which of them was sent (the value of its
/// hidden field `form`). Names are those of the inputs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Typed {
    /// Which form was sent; empty for none.
    pub form: String,
    /// What was typed, by the names of inputs, in the order in which it was sent. A
    /// name may stand several times. Fields that hold a link secret are better left
    /// out; they are never shown again even when they are in here.
    pub values: Vec<(String, String)>,
    /// What is wrong and what to do, by the names of inputs. The name `""` is for what
    /// is wrong with the whole form.
    pub errors: Vec<(String, String)>,
}

impl Typed {
    /// Nothing was sent.
    pub fn none() -> Typed {
        Typed::default()
    }

    /// What was typed into an input of the form `form`.
    pub fn value(&self, form: &str, name: &str) -> Option<&str> {
        if self.form != form {
            return None;
        }
        self.values.iter().find(|(have, _)| have == name).map(|(_, value)| value.as_str())
    }

    /// Whether a box of this name and value was ticked.
    pub fn has(&self, form: &str, name: &str, value: &str) -> bool {
        self.form == form && self.values.iter().any(|(have, this)| have == name && this == value)
    }

    /// What is wrong with an input of the form `form`.
    pub fn error(&self, form: &str, name: &str) -> Option<&str> {
        if self.form != form {
            return None;
        }
        self.errors.iter().find(|(have, _)| have == name).map(|(_, says)| says.as_str())
    }

    /// Whether the form `form` was sent.
    pub fn sent(&self, form: &str) -> bool {
        !form.is_empty() && self.form == form
    }
}

/// One form on a page: its key, and what was typed into it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Form<'a> {
    key: &'a str,
    typed: &'a Typed,
}

/// An input of a form.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Input<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its label.
    pub label: &'a str,
    /// A line of help; may be empty.
    pub hint: &'a str,
    /// What stands in it at first.
    pub start: &'a str,
    /// Whether something must stand in it.
    pub required: bool,
    /// The most characters that it takes.
    pub longest: Option<usize>,
}

impl<'a> Input<'a> {
    pub fn new(name: &'a str, label: &'a str) -> Input<'a> {
        Input { name, label, ..Input::default() }
    }

    #[must_use]
    pub fn hint(self, hint: &'a str) -> Input<'a> {
        Input { hint, ..self }
    }

    #[must_use]
    pub fn start(self, start: &'a str) -> Input<'a> {
        Input { start, ..self }
    }

    #[must_use]
    pub fn longest(self, longest: usize) -> Input<'a> {
        Input { longest: Some(longest), ..self }
    }

    #[must_use]
    pub fn required(self) -> Input<'a> {
        Input { required: true, ..self }
    }
}

/// A choice of a select or of radio buttons: value and words.
pub(crate) type Choice = (String, String);

/// A choice from fixed words.
pub(crate) fn choice(value: &str, words: &str) -> Choice {
    (value.to_owned(), words.to_owned())
}

/// How long the lines of a question may be: with every comma and line end written as an
/// address writes them they stay below what an address can hold.
pub(crate) const LONGEST: usize = 20_000;

impl<'a> Form<'a> {
    pub fn new(key: &'a str, typed: &'a Typed) -> Form<'a> {
        Form { key, typed }
    }

    /// An id that no other form of the page has. Ids hold letters, digits and hyphens
    /// only, whatever the input is called.
    fn id(&self, name: &str) -> String {
        let mut id = String::from("f-");
        for c in self.key.chars().chain(std::iter::once('-')).chain(name.chars()) {
            id.push(if c.is_ascii_alphanumeric() { c } else { '-' });
        }
        id
    }

    fn value(&self, input: &Input) -> String {
        self.typed.value(self.key, input.name).unwrap_or(input.start).to_owned()
    }

    fn error(&self, name: &str) -> Option<&'a str> {
        self.typed.error(self.key, name)
    }

    fn described(&self, id: &str, input: &Input) -> Option<String> {
        let mut ids = Vec::new();
        if !input.hint.is_empty() {
            ids.push(format!("{id}-hint"));
        }
        if self.error(input.name).is_some() {
            ids.push(format!("{id}-error"));
        }
        (!ids.is_empty()).then(|| ids.join(" "))
    }

    fn notes(&self, id: &str, input: &Input) -> Markup {
        html! {
            @if !input.hint.is_empty() { span.hint id={ (id) "-hint" } { (input.hint) } }
            @if let Some(says) = self.error(input.name) {
                span.error id={ (id) "-error" } {
                    @for (at, line) in says.lines().enumerate() { @if at > 0 { br; } (line) }
                }
            }
        }
    }

    /// The whole form: hidden token and key, what is wrong with it as a whole, `body`.
    pub fn post(&self, site: &Site, action: &str, body: &Markup) -> Markup {
        self.form(site, action, None, body)
    }

    /// The same for a form with a file in it.
    pub fn upload(&self, site: &Site, action: &str, body: &Markup) -> Markup {
        self.form(site, action, Some("multipart/form-data"), body)
    }

    fn form(&self, site: &Site, action: &str, enctype: Option<&str>, body: &Markup) -> Markup {
        html! {
            form method="post" action=(action) enctype=[enctype] {
                input type="hidden" name="token" value=(site.form_token);
                input type="hidden" name="form" value=(self.key);
                (self.wrong())
                (body)
            }
        }
    }

    /// What is wrong with a form that writes, as a whole.
    fn wrong(&self) -> Markup {
        self.wrong_as("Nothing was written yet: see what is marked below.")
    }

    /// What is wrong with a form that only asks, as a whole.
    pub fn wrong_question(&self) -> Markup {
        self.wrong_as("This can't be answered yet: see what is marked below.")
    }

    fn wrong_as(&self, usual: &str) -> Markup {
        let whole = self.error("");
        let count = if self.typed.sent(self.key) { self.typed.errors.len() } else { 0 };
        html! {
            @if let Some(says) = whole {
                p.error role="alert" tabindex="-1" autofocus {
                    @for (at, line) in says.lines().enumerate() { @if at > 0 { br; } (line) }
                }
            } @else if count > 0 {
                p.error role="alert" { (usual) }
            }
        }
    }

    /// Whether the page opens at this input: the first that is wrong. Without it a form far
    /// down a page would hide why nothing was written.
    fn is_first_wrong(&self, name: &str) -> bool {
        self.error(name).is_some()
            && self.error("").is_none()
            && self.typed.errors.first().is_some_and(|(first, _)| first == name)
    }

    /// A line of text.
    pub fn text(&self, input: Input) -> Markup {
        self.line("text", None, input)
    }

    /// A line of text with suggestions.
    pub fn suggest(&self, input: Input, suggestions: &[String]) -> Markup {
        let list = format!("{}-list", self.id(input.name));
        html! {
            (self.line("text", (!suggestions.is_empty()).then_some(list.as_str()), input))
            @if !suggestions.is_empty() {
                datalist id=(list) { @for one in suggestions { option value=(one) {} } }
            }
        }
    }

    /// A number; typed as text, so that a decimal comma is kept and can be explained.
    pub fn number(&self, input: Input) -> Markup {
        self.line("decimal", None, input)
    }

    /// A date.
    pub fn date(&self, input: Input) -> Markup {
        self.line("date", None, input)
    }

    fn line(&self, sort: &str, list: Option<&str>, input: Input) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let wrong = self.error(input.name).map(|_| "true");
        let (sort, mode) = if sort == "decimal" { ("text", Some("decimal")) } else { (sort, None) };
        let dir = (sort == "text").then_some("auto");
        html! {
            div.field {
                label for=(id) { (input.label) }
                input id=(id) type=(sort) name=(input.name) value=(self.value(&input)) inputmode=[mode]
                    list=[list] dir=[dir] maxlength=[input.longest] required[input.required] autocomplete="off"
                    aria-describedby=[described] aria-invalid=[wrong] autofocus[self.is_first_wrong(input.name)];
                (self.notes(&id, &input))
            }
        }
    }

    /// A secret: never shown, never filled in again.
    pub fn secret(&self, input: Input) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let wrong = self.error(input.name).map(|_| "true");
        html! {
            div.field {
                label for=(id) { (input.label) }
                input id=(id) type="password" name=(input.name) autocomplete="off" spellcheck="false"
                    required[input.required] aria-describedby=[described] aria-invalid=[wrong] autofocus[self.is_first_wrong(input.name)];
                (self.notes(&id, &input))
            }
        }
    }

    /// Several lines of text.
    pub fn area(&self, input: Input, rows: u32) -> Markup {
        self.lines(input, rows, None)
    }

    /// The same in a form that asks: what is typed goes into an address, which has an end.
    pub fn area_of_question(&self, input: Input, rows: u32) -> Markup {
        self.lines(input, rows, Some(LONGEST))
    }

    fn lines(&self, input: Input, rows: u32, longest: Option<usize>) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let wrong = self.error(input.name).map(|_| "true");
        html! {
            div.field {
                label for=(id) { (input.label) }
                textarea id=(id) name=(input.name) rows=(rows) maxlength=[longest] dir="auto" required[input.required]
                    aria-describedby=[described] aria-invalid=[wrong] autofocus[self.is_first_wrong(input.name)] { "\n" (self.value(&input)) }
                (self.notes(&id, &input))
            }
        }
    }

    /// A file.
    pub fn file(&self, input: Input, accept: &str) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let wrong = self.error(input.name).map(|_| "true");
        html! {
            div.field {
                label for=(id) { (input.label) }
                input id=(id) type="file" name=(input.name) accept=(accept) required[input.required]
                    aria-describedby=[described] aria-invalid=[wrong] autofocus[self.is_first_wrong(input.name)];
                (self.notes(&id, &input))
            }
        }
    }

    /// A choice of one.
    pub fn select(&self, input: Input, choices: &[Choice]) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let wrong = self.error(input.name).map(|_| "true");
        let value = self.value(&input);
        let missing = !value.is_empty() && !choices.iter().any(|(have, _)| *have == value);
        html! {
            div.field {
                label for=(id) { (input.label) }
                select id=(id) name=(input.name) required[input.required]
                    aria-describedby=[described] aria-invalid=[wrong] autofocus[self.is_first_wrong(input.name)] {
                    @for (this, words) in choices {
                        option value=(this) selected[*this == value] { (crate::words::clip(words)) }
                    }
                    @if missing { option value=(value) selected { (crate::words::clip(&value)) } }
                }
                (self.notes(&id, &input))
            }
        }
    }

    /// One of a few, all in view.
    pub fn radio(&self, input: Input, choices: &[Choice]) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let value = self.value(&input);
        html! {
            fieldset.choices aria-describedby=[described] {
                legend { (input.label) }
                @for (at, (this, words)) in choices.iter().enumerate() {
                    div.choice {
                        input id={ (id) "-" (at) } type="radio" name=(input.name) value=(this) checked[*this == value];
                        label for={ (id) "-" (at) } { (words) }
                    }
                }
                (self.notes(&id, &input))
            }
        }
    }

    /// Any of several; `start` holds the values ticked at first.
    pub fn boxes(&self, input: Input, choices: &[Choice], start: &[&str]) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let ticked = |value: &str| {
            if self.typed.sent(self.key) {
                self.typed.has(self.key, input.name, value)
            } else {
                start.contains(&value)
            }
        };
        html! {
            fieldset.choices aria-describedby=[described] {
                legend { (input.label) }
                @for (at, (this, words)) in choices.iter().enumerate() {
                    div.choice {
                        input id={ (id) "-" (at) } type="checkbox" name=(input.name) value=(this) checked[ticked(this)];
                        label for={ (id) "-" (at) } { (crate::words::name(words)) }
                    }
                }
                (self.notes(&id, &input))
            }
        }
    }

    /// A yes or no; `1` is sent when it is ticked.
    pub fn tick(&self, input: Input) -> Markup {
        let id = self.id(input.name);
        let described = self.described(&id, &input);
        let on = if self.typed.sent(self.key) {
            self.typed.has(self.key, input.name, "1")
        } else {
            input.start == "1"
        };
        html! {
            div.field {
                div.choice {
                    input id=(id) type="checkbox" name=(input.name) value="1" checked[on] aria-describedby=[described];
                    label for=(id) { (input.label) }
                }
                (self.notes(&id, &input))
            }
        }
    }
}

/// A hidden field.
pub(crate) fn hidden(name: &str, value: &str) -> Markup {
    html! { input type="hidden" name=(name) value=(value); }
}

/// The button that sends a form.
pub(crate) fn send(words: &str) -> Markup {
    html! { button.plain type="submit" { (words) } }
}

/// The one main action of a page: it stays within reach of a thumb.
pub(crate) fn send_main(words: &str) -> Markup {
    html! { p.main-action { button.main type="submit" { (words) } } }
}
