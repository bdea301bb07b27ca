//! `GET /formulas` and `GET /formula/{name}`: every formula of the engine, with its inputs,
//! where it holds and where it comes from; and each of them computed.

use link::bounds::Bound;
use link::calc::{self, Answer, CalcError, Formula, Input as Given, Kind, Output, Value, unit_of as unit};
use maud::{Markup, html};

use crate::form::{Form, Input, Typed, choice, send_main};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

/// The key of a formula's form: [`Typed::form`] must hold it for what was typed to be kept.
pub const FORM: &str = "formula";

/// Every formula, by subject.
pub fn list(site: &Site) -> Markup {
    let body = html! {
        p.answer { "Every formula that this program reckons with: what it takes, where it holds, where it comes from." }
        p { "Each can be computed by itself, with figures of your own." }
        ul.ways {
            @for (at, (subject, _)) in calc::ALL.iter().enumerate() {
                li { a href={ "#subject-" (at) } { (subject) } }
            }
        }
        @for (at, (subject, formulas)) in calc::ALL.iter().enumerate() {
            section aria-labelledby={ "subject-" (at) } {
                h2 id={ "subject-" (at) } { (subject) }
                @for formula in *formulas { (entry(formula)) }
            }
        }
    };
    site.page("Formulas", &body)
}

fn address(formula: &Formula) -> String {
    format!("/formula/{}", formula.name)
}

fn entry(formula: &Formula) -> Markup {
    html! {
        article.formula {
            h3 { a href=(address(formula)) { (capital(formula.says)) } }
            p.small { "Name: " code { (formula.name) } }
            p.as-written { code { (formula.formula) } }
            details {
                summary { "Inputs, where it holds, source" span.quiet { " of " (formula.name) } }
                (inputs(formula))
                (about(formula))
            }
        }
    }
}

fn inputs(formula: &Formula) -> Markup {
    html! {
        table.stack {
            caption { "What it takes" }
            thead { tr { th scope="col" { "Input" } th scope="col" { "What it is" } th scope="col" { "What may stand there" } th scope="col" { "Left out" } } }
            tbody {
                @for input in formula.inputs {
                    tr {
                        th scope="row" { code { (input.key) } }
                        td data-label="What it is" { (capital(input.says)) }
                        td data-label="What may stand there" { (range(input.kind)) }
                        td data-label="Left out" { (left_out(input)) }
                    }
                }
            }
        }
        table.stack {
            caption { "What it gives" }
            thead { tr { th scope="col" { "Output" } th scope="col" { "What it is" } th scope="col" { "Unit" } } }
            tbody {
                @for output in formula.outputs {
                    tr {
                        th scope="row" { code { (output.key) } }
                        td data-label="What it is" { (capital(output.says)) }
                        td data-label="Unit" { (unit(output.key)) }
                    }
                }
            }
        }
    }
}

fn about(formula: &Formula) -> Markup {
    html! {
        dl.about {
            dt { "Where it holds" } dd { (capital(formula.holds)) }
            dt { "Source" } dd { (formula.source) }
        }
    }
}

fn range(kind: Kind) -> String {
    let of = |bound: Bound, sort: &str| {
        let why = if bound.why.is_empty() { String::new() } else { format!(" ({})", bound.why) };
        format!("{sort}{}{why}", bound.words())
    };
    match kind {
        Kind::Number(bound) => of(bound, ""),
        Kind::Whole(bound) => of(bound, "whole number, "),
        Kind::Choice(words) => words.join(", "),
        Kind::Switch => "on or off".to_owned(),
        Kind::Text => "words, at most 200 characters".to_owned(),
        Kind::Profile => PROFILE.to_owned(),
    }
}

/// What a field of a path profile says of it; [`LONGEST`](crate::form::LONGEST) is its bound.
pub(crate) const PROFILE: &str = "lines of distance_m,height_m from the pilot out, a ; may stand in place of a new line; \
     longer than 20,000 characters: on the command line";

/// Words with the unit of a key.
pub(crate) fn with_its_unit(says: &str, key: &str) -> String {
    match unit(key) {
        "" => capital(says),
        unit => format!("{} ({unit})", capital(says)),
    }
}

fn left_out(input: &Given) -> String {
    match input.default {
        None => "must be given".to_owned(),
        Some("") => "may be left out".to_owned(),
        Some(default) => format!("{default} is taken"),
    }
}

/// A number with six significant digits; very small and very large ones with an exponent.
fn number(value: f64) -> String {
    let size = value.abs();
    if value == 0.0 {
        return "0".to_owned();
    }
    if !(1e-4..1e9).contains(&size) {
        let text = format!("{value:.5e}");
        let (digits, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        return format!("{}e{exponent}", trimmed(digits));
    }
    let whole_digits = size.log10().floor();
    let decimals = (0..=9).find(|decimals| f64::from(*decimals) >= 5.0 - whole_digits).unwrap_or(9);
    trimmed(&format!("{value:.*}", usize::try_from(decimals).unwrap_or_default())).to_owned()
}

fn trimmed(digits: &str) -> &str {
    if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { digits }
}

fn with_unit(key: &str, value: &Value) -> Markup {
    html! {
        @match value {
            Value::Number(value) => {
                (number(*value))
                @if !unit(key).is_empty() { " " (unit(key)) }
            }
            Value::Text(text) => (words::prose(text)),
            Value::Nothing => em { "nothing is known" },
        }
    }
}

/// One formula: its form (GET, to `/formula/{name}`; every input by its key) and what it
/// gives for what was typed, or for its example while nothing was.
///
/// `typed` is of the form [`FORM`]; `computed` is what came out, none when something that was
/// typed can't be used.
pub fn page(site: &Site, formula: &Formula, typed: &Typed, computed: Option<&Answer>) -> Markup {
    let form = Form::new(FORM, typed);
    let body = html! {
        (answer(formula, typed, computed))
        form method="get" action=(address(formula)) data-live {
            @if computed.is_none() && typed.error(FORM, "").is_some() { (form.wrong_question()) }
            div.fields { @for input in formula.inputs { (field(&form, formula, input, typed)) } }
            (send_main("Compute"))
        }
        section aria-labelledby="about" {
            h2 id="about" { "The formula" }
            p.as-written { code { (formula.formula) } }
            (about(formula))
            p.small { "Name: " code { (formula.name) } }
        }
        p { a href="/formulas" { "All formulas" } }
    };
    site.page(&capital(formula.says), &body)
}

/// What stands in a field at first: the example's value, or what is taken when it is left
/// out.
fn start(formula: &Formula, input: &Given, typed: &Typed) -> &'static str {
    let default = input.default.unwrap_or_default();
    if typed.sent(FORM) {
        return default;
    }
    formula.example.iter().find(|(key, _)| *key == input.key).map_or(default, |(_, value)| value)
}

/// What a field is called, with its unit.
fn label(input: &Given) -> String {
    // What stands behind a comma or a colon is said by the hint.
    let says = match input.kind {
        Kind::Text => input.says.split([',', ':']).next().unwrap_or(input.says),
        _ => input.says,
    };
    with_its_unit(says, input.key)
}

fn field(form: &Form, formula: &Formula, input: &Given, typed: &Typed) -> Markup {
    let label = label(input);
    let hint = match input.kind {
        Kind::Choice(_) | Kind::Switch => input.key.to_owned(),
        Kind::Text if label != capital(input.says) => format!("{}: {}", input.key, input.says),
        kind => format!("{}: {}", input.key, range(kind)),
    };
    let hint = if input.default == Some("") { format!("{hint}; may be left out") } else { hint };
    let start = start(formula, input, typed);
    let lines = start.replace(';', "\n");
    let shown = Input::new(input.key, &label).hint(&hint).start(start);
    let shown = if input.default.is_none() { shown.required() } else { shown };
    let blank = (input.default == Some("")).then(|| choice("", "(left out)"));
    match input.kind {
        Kind::Number(_) | Kind::Whole(_) => form.number(shown),
        Kind::Choice(of) => {
            let choices: Vec<_> = blank.into_iter().chain(of.iter().map(|word| choice(word, word))).collect();
            form.select(shown, &choices)
        }
        Kind::Switch => {
            let choices: Vec<_> =
                blank.into_iter().chain(["on", "off"].map(|word| choice(word, word))).collect();
            form.select(shown, &choices)
        }
        Kind::Text => form.text(shown),
        Kind::Profile => form.area_of_question(shown.start(&lines), 8),
    }
}

/// The value that an input was computed with.
fn used(formula: &Formula, input: &Given, typed: &Typed) -> String {
    let typed_value = typed.value(FORM, input.key).map(str::trim).filter(|text| !text.is_empty());
    let value = typed_value.unwrap_or_else(|| start(formula, input, typed));
    if value.is_empty() { "left out".to_owned() } else { value.to_owned() }
}

/// Only what changes when another value is typed: an element with the id `sheet-answer`.
pub fn answer(formula: &Formula, typed: &Typed, computed: Option<&Answer>) -> Markup {
    html! {
        div id="sheet-answer" {
            @match computed {
                None => {
                    p.answer { "This can't be computed yet." }
                    (problems(FORM, &typed.errors, &|key| {
                        formula.inputs.iter().find(|input| input.key == key).map(label)
                    }))
                },
                Some(answer) => (values(formula, typed, answer)),
            }
        }
    }
}

/// What is wrong with what was typed, in the words of a page.
pub fn wrong(error: &CalcError) -> String {
    match error {
        CalcError::Missing { .. } => "This is needed: give a value.".to_owned(),
        CalcError::Unknown { name, .. } => format!("There is no formula called {name}."),
        other => {
            let says = other.to_string();
            if says.ends_with('.') { says } else { format!("{says}.") }
        }
    }
}

/// What is wrong, each leading to its field of the form `form`. The script reads from here
/// which fields to mark.
pub(crate) fn problems(
    form: &str,
    errors: &[(String, String)],
    label: &dyn Fn(&str) -> Option<String>,
) -> Markup {
    html! {
        @if !errors.is_empty() {
            ul.problems {
                @for (key, says) in errors {
                    li {
                        @if let Some(label) = label(key) {
                            a href={ "#f-" (form) "-" (key.replace('_', "-")) } { (label) } ": "
                        }
                        (words::prose(says))
                    }
                }
            }
        }
    }
}

fn output(formula: &Formula, key: &str) -> Option<&'static Output> {
    formula.outputs.iter().find(|output| output.key == key)
}

fn says(formula: &Formula, key: &'static str) -> String {
    capital(output(formula, key).map_or(key, |output| output.says))
}

/// The first part of a sentence, for a heading.
fn first_part(says: &str) -> &str {
    says.split([';', ',']).next().unwrap_or(says)
}

fn values(formula: &Formula, typed: &Typed, answer: &Answer) -> Markup {
    html! {
        @if let Some((key, value)) = answer.values.first() {
            p.answer { (capital(first_part(output(formula, key).map_or(key, |output| output.says)))) ": " strong { (with_unit(key, value)) } "." }
        }
        @if answer.values.len() > 1 {
            table.facts.outputs {
                caption { "All of it" }
                thead.quiet { tr { th scope="col" { "Output" } th scope="col" { "Value" } th scope="col" { "Key" } } }
                tbody {
                    @for (key, value) in &answer.values {
                        tr {
                            th scope="row" { (says(formula, key)) }
                            td { (with_unit(key, value)) }
                            td { small { code { (key) } } }
                        }
                    }
                }
            }
        }
        @if !answer.notes.is_empty() {
            ul { @for note in &answer.notes { li { (words::prose(note)) } } }
        }
        p.small {
            @if typed.sent(FORM) { "Computed from " } @else { "An example, computed from " }
            @for (at, input) in formula.inputs.iter().enumerate() {
                @if at > 0 { ", " }
                (input.key) " " (words::name(&used(formula, input, typed)))
            }
            "."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_six_digits() {
        let cases = [
            (0.0, "0"),
            (100.220_4, "100.22"),
            (-0.000_5, "-0.0005"),
            (123_456.789, "123457"),
            (1e9, "1e9"),
            (1.234_567_8e-7, "1.23457e-7"),
            (299_792_458.0, "299792458"),
            (-111.0, "-111"),
            (0.95, "0.95"),
        ];
        for (value, text) in cases {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn every_formula_of_the_list_computes_its_example_on_its_page() {
        let mut seen = 0;
        for formula in calc::list() {
            let typed: Vec<(String, String)> =
                formula.example.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
            let computed = formula.answer(&typed).unwrap_or_else(|error| panic!("{}: {error}", formula.name));
            let shown = answer(formula, &Typed::none(), Some(&computed)).into_string();
            assert!(shown.contains("An example") && !shown.contains("NaN"), "{shown}");
            for (key, _) in &computed.values {
                assert!(
                    output(formula, key).is_some(),
                    "{} gives {key}, which it doesn't declare",
                    formula.name
                );
            }
            seen += 1;
        }
        assert!(seen > 0);
    }
}
