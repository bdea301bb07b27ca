//! `calc`: a formula by its name.

use anyhow::bail;
use link::calc::{self, Formula, Given, Value, unit_of};
use wire::answers::calc::{About, Reckoned, Used};

use super::Session;
use super::args;
use super::asked::{Typed, is_key, refuse};
use super::out::Out;
use super::table::Table;

/// Computes a formula, explains it, or lists all.
pub fn calc(session: &mut Session, args: &args::Calc) -> anyhow::Result<()> {
    if args.name == "list" {
        if !args.inputs.is_empty() {
            bail!("`calc list` takes no inputs; put the formula's name in the place of `list`");
        }
        return list(session);
    }
    let formula = calc::find(&args.name)?;
    if args.explain {
        return explain(session, formula);
    }
    let Typed { names, inputs, mut wrong } = Typed::sort(&args.inputs, formula.inputs);
    wrong.extend(names.iter().map(|name| format!("`{name}` is no input; write KEY=VALUE")));
    let needs = formula.inputs.iter().any(|input| input.default.is_none());
    if args.inputs.is_empty() && needs {
        if !session.out.json {
            explain(session, formula)?;
            session.out.flush()?;
        }
        let needed = formula.inputs.iter().filter(|input| input.default.is_none());
        let keys: Vec<&str> = needed.map(|input| input.key).collect();
        bail!("`{}` needs {}; --explain says what each is", formula.name, keys.join(", "));
    }
    let (given, unread) = Given::read_kindly(formula.name, formula.inputs, &inputs);
    // An input whose file can't be read is not missing as well.
    let typed = |key: &str| {
        let words = args.inputs.iter().filter_map(|word| word.split_once('='));
        let input = formula.inputs.iter().find(|input| input.key == key);
        input.is_some_and(|input| {
            words.into_iter().any(|(typed, text)| is_key(input, typed) && !text.trim().is_empty())
        })
    };
    let missing = |why: &calc::CalcError| matches!(why, calc::CalcError::Missing { key, .. } if typed(key));
    wrong.extend(unread.iter().filter(|why| !missing(why)).map(ToString::to_string));
    refuse(&wrong)?;
    let answer = Reckoned::new(formula, &given)?;
    if session.out.json {
        return session.out.answer(&answer);
    }
    Ok(show(&mut session.out, &answer)?)
}

fn list(session: &mut Session) -> anyhow::Result<()> {
    if session.out.json {
        let all: Vec<About> = calc::list().map(About::new).collect();
        return session.out.answer(&all);
    }
    let out = &mut session.out;
    let widest = calc::list().map(|formula| formula.name.len()).max().unwrap_or_default();
    for (at, (subject, formulas)) in calc::ALL.iter().enumerate() {
        if at > 0 {
            out.gap()?;
        }
        out.line(subject)?;
        for formula in *formulas {
            out.hanging(2, &format!("{:<widest$} ", formula.name), formula.says)?;
        }
    }
    out.gap()?;
    out.line("`calc NAME --explain` says what one takes and gives, where it holds and where it comes from.")?;
    Ok(())
}

fn explain(session: &mut Session, formula: &Formula) -> anyhow::Result<()> {
    let about = About::new(formula);
    if session.out.json {
        return session.out.answer(&about);
    }
    let out = &mut session.out;
    let keys = about.inputs.iter().map(|input| input.key.len() + 1);
    let widest = keys.chain(about.outputs.iter().map(|output| output.key.len())).max().unwrap_or_default();
    out.line(&format!("{}: {}", about.calc, about.says))?;
    out.gap()?;
    out.line("Takes:")?;
    for input in &about.inputs {
        let may_be = Some(input.may_be()).filter(|words| !words.is_empty()).map(|words| format!("; {words}"));
        let else_ = match (input.needed, input.default) {
            (true, _) => "; needed".to_owned(),
            (false, Some(text)) => format!("; {text} when left out"),
            (false, None) => "; may be left out".to_owned(),
        };
        out.hanging(
            2,
            &format!("{}=", input.key),
            &format!("{}{}{else_}", input.says, may_be.unwrap_or_default()),
        )?;
    }
    out.gap()?;
    out.line("Gives:")?;
    for output in &about.outputs {
        let unit = if output.unit.is_empty() { String::new() } else { format!(" ({})", output.unit) };
        out.hanging(2, &format!("{:<widest$} ", output.key), &format!("{}{unit}", output.says))?;
    }
    out.gap()?;
    beside(out, about.formula, about.holds, about.source)?;
    out.hanging(0, "Example:", &format!("holdfast calc {} {}", about.calc, shell(&about.example)))?;
    Ok(())
}

/// Words as a shell takes them.
fn shell(words: &[String]) -> String {
    let plain = |word: &str| word.chars().all(|c| c.is_ascii_alphanumeric() || "=_-.,:/+@%".contains(c));
    let words: Vec<String> = words
        .iter()
        .map(|word| if plain(word) { word.clone() } else { format!("'{}'", word.replace('\'', "'\\''")) })
        .collect();
    words.join(" ")
}

fn beside(out: &mut Out, formula: &str, holds: &str, source: &str) -> std::io::Result<()> {
    out.hanging(0, "Formula:", formula)?;
    out.hanging(0, "Holds:  ", holds)?;
    out.hanging(0, "Source: ", source)
}

fn show(out: &mut Out, answer: &Reckoned) -> std::io::Result<()> {
    let formula = answer.formula;
    let mut table = Table::new(&["", "value", "unit", "what"]);
    for (key, value) in &answer.answer.values {
        let says = formula.outputs.iter().find(|output| output.key == *key).map_or("", |output| output.says);
        let (value, unit) = match value {
            Value::Number(number) => (significant(*number), unit_of(key)),
            Value::Text(text) if text.len() > 24 => {
                // Long words stand in the column that may be broken into lines.
                table.row(&[*key, "", "", text]);
                continue;
            }
            Value::Text(text) => (text.clone(), ""),
            Value::Nothing => ("none".to_owned(), ""),
        };
        table.row(&[*key, &value, unit, says]);
    }
    table.write(out)?;
    for note in &answer.answer.notes {
        out.hanging(0, "Note:   ", note)?;
    }
    out.gap()?;
    let used: Vec<String> = answer
        .inputs
        .iter()
        .filter_map(|(key, value)| {
            Some(match value {
                Used::Nothing => return None,
                Used::Number(number) => format!("{key}={number}"),
                Used::Whole(number) => format!("{key}={number}"),
                Used::On(on) => format!("{key}={}", if *on { "on" } else { "off" }),
                Used::Text(text) => format!("{key}={text}"),
                Used::Points(points) => format!("{key}=({} points)", points.len()),
            })
        })
        .collect();
    out.hanging(0, "Inputs: ", &used.join(", "))?;
    beside(out, formula.formula, formula.holds, formula.source)
}

/// A number to seven significant digits, without idle zeros.
fn significant(number: f64) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    let size = number.abs().log10().floor();
    if !(-5.0..9.0).contains(&size) {
        let text = format!("{number:.6e}");
        let (digits, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        return format!("{}e{exponent}", trimmed(digits));
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 11")]
    let digits = (6.0 - size).max(0.0) as usize;
    trimmed(&format!("{number:.digits$}")).to_owned()
}

fn trimmed(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_seven_digits() {
        let cases = [
            (0.0, "0"),
            (91.218_234_5, "91.21823"),
            (-174.0, "-174"),
            (1e-12, "1e-12"),
            (123_456_789.0, "123456789"),
            (0.000_123_456_78, "0.0001234568"),
            (2.5e12, "2.5e12"),
        ];
        for (number, words) in cases {
            assert_eq!(significant(number), words);
        }
    }

    #[test]
    fn an_example_can_be_typed() {
        let words = ["k=1".to_owned(), "profile=0,1;5,2".to_owned(), "name=it's".to_owned()];
        assert_eq!(shell(&words), "k=1 'profile=0,1;5,2' 'name=it'\\''s'");
    }
}
