//! Pieces that the pages of fault trails share: chances in words, weights as bars, cautions.

use maud::{Markup, html};
use register::family::Energised;
use trails::trail::Weight;

use crate::reading::capital;
use crate::words;

/// A chance or a weight in words: `37 %`, `less than 1 %`.
pub(crate) fn percent(share: f64) -> String {
    let whole = share * 100.0;
    if share <= 0.0 {
        "0\u{a0}%".to_owned()
    } else if whole < 1.0 {
        "less than 1\u{a0}%".to_owned()
    } else if whole > 99.0 && share < 1.0 {
        "more than 99\u{a0}%".to_owned()
    } else {
        format!("{whole:.0}\u{a0}%")
    }
}

/// The weight of a cause in a list of them, where it is in there.
pub(crate) fn weight_in(list: &[Weight], key: &str) -> Option<f64> {
    list.iter().find(|one| one.key == key).map(|one| one.weight)
}

/// How wide a bar is, of a hundred.
fn width(weight: f64) -> String {
    format!("{:.1}", (weight * 100.0).clamp(0.0, 100.0))
}

/// What it may be: each cause with a bar for its weight now and a thin one for before.
pub(crate) fn weights(now: &[Weight], before: &[Weight]) -> Markup {
    html! {
        ol.weights {
            @for one in now {
                @let was = weight_in(before, &one.key);
                li {
                    span.cause { (words::prose(&one.label)) }
                    svg.weigh viewBox="0 0 100 14" preserveAspectRatio="none" aria-hidden="true" focusable="false" {
                        line.base x1="0" y1="0" x2="0" y2="14" {}
                        @if let Some(was) = was { rect.was x="0" y="1" width=(width(was)) height="3" {} }
                        rect.now x="0" y="6" width=(width(one.weight)) height="7" {}
                    }
                    span.small {
                        strong { (percent(one.weight)) }
                        @if let Some(was) = was { ", before the trail " (percent(was)) }
                    }
                }
            }
        }
    }
}

/// The likeliest few in a line: `the two ends are on different bands 34 %`.
pub(crate) fn likeliest(list: &[Weight], most: usize) -> Markup {
    html! {
        @for (at, one) in list.iter().filter(|one| one.weight > 0.0).take(most).enumerate() {
            @if at > 0 { "; " }
            (words::prose(&one.label)) " (" (percent(one.weight)) ")"
        }
    }
}

/// What a step energises, in words; nothing where it energises nothing.
pub(crate) fn energises(list: &[Energised]) -> Markup {
    let names: Vec<&str> = list.iter().map(|one| one.word()).collect();
    html! { @if !names.is_empty() { p.small { "Energises: " (names.join(", ")) "." } } }
}

/// Cautions that are the engine's own words.
pub(crate) fn cautions(list: &[String]) -> Markup {
    let list: Vec<&str> = list.iter().map(String::as_str).collect();
    words::cautions(&list)
}

/// Cautions in as few lines as can be, so that the answers below them are in sight.
pub(crate) fn cautions_in_brief(list: &[&str]) -> Markup {
    html! {
        @if !list.is_empty() {
            div.caution role="note" {
                @for (at, one) in list.iter().enumerate() {
                    p { @if at == 0 { strong { (if list.len() == 1 { "Caution: " } else { "Cautions: " }) } } (one) }
                }
            }
        }
    }
}

/// The cautions of several steps, each once.
pub(crate) fn each_once<'a>(all: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut list: Vec<&str> = Vec::new();
    for one in all {
        if !list.contains(&one) {
            list.push(one);
        }
    }
    list
}

/// A label as the beginning of a sentence that goes on: without its stop.
pub(crate) fn no_stop(text: &str) -> &str {
    text.trim_end().trim_end_matches('.')
}

/// Words as a sentence: with a capital, and with one mark at their end.
pub fn sentence(says: &str) -> String {
    let says = capital(says.trim());
    let body = says.trim_end_matches(['"', '”', ')']);
    if body.is_empty() || body.ends_with(['.', '?', '!', '…']) { says } else { format!("{says}.") }
}

#[cfg(test)]
mod tests {
    use super::{percent, sentence};

    #[test]
    fn a_sentence_has_one_mark_at_its_end() {
        for (words, says) in [
            ("shook the plug", "Shook the plug."),
            ("Done outside the trail.", "Done outside the trail."),
            ("is the lamp on?", "Is the lamp on?"),
            ("Stop!", "Stop!"),
            (" é so ", "É so."),
            ("It says “wait.”", "It says “wait.”"),
            ("off (both ends)", "Off (both ends)."),
            ("", ""),
        ] {
            assert_eq!(sentence(words), says);
        }
    }

    #[test]
    fn a_chance_is_never_rounded_to_none_or_all() {
        assert_eq!(percent(0.0), "0\u{a0}%");
        assert_eq!(percent(0.000_1), "less than 1\u{a0}%");
        assert_eq!(percent(0.374), "37\u{a0}%");
        assert_eq!(percent(0.999), "more than 99\u{a0}%");
        assert_eq!(percent(1.0), "100\u{a0}%");
    }
}
