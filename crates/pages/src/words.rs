//! Words: names that come from anywhere, moments, sources, verdicts.

use std::fmt::Write as _;

use maud::{Markup, html};
use register::field::How;
use register::rule::{Answer, Verdict};
use register::time::Moment;
use register::today::Ready;
use register::view::{Card, Source};
use units::Minutes;

use crate::draw;

/// Longer names are clipped in tables; the device's page shows the whole.
const NAME_CHARS: usize = 80;
/// Longer sentences (which hold names) are clipped.
const PROSE_CHARS: usize = 700;

/// Makes characters visible that would hide, reorder or cut what follows: controls
/// become their pictures, bidirectional overrides their code.
fn visible(text: &str, into: &mut String, most: usize) -> bool {
    for (count, c) in text.chars().enumerate() {
        if count == most {
            return true;
        }
        match c {
            '\n' | '\r' | '\t' => into.push(' '),
            '\0'..='\u{1f}' => into.push(char::from_u32(0x2400 + u32::from(c)).unwrap_or('\u{fffd}')),
            '\u{7f}' => into.push('\u{2421}'),
            '\u{80}'..='\u{9f}' => into.push('\u{fffd}'),
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                let _ = write!(into, "⟨U+{:04X}⟩", u32::from(c));
            }
            c => into.push(c),
        }
    }
    false
}

/// A text for a place that takes no markup (a title, an option), clipped.
pub(crate) fn clip(text: &str) -> String {
    clip_to(text, NAME_CHARS)
}

/// The same, clipped to `most` characters.
pub(crate) fn clip_to(text: &str, most: usize) -> String {
    let mut out = String::new();
    if visible(text, &mut out, most) {
        out.push('…');
    }
    out
}

/// A name, clipped and kept from touching the order of the text around it.
pub(crate) fn name(text: &str) -> Markup {
    html! { bdi { (clip(text)) } }
}

/// A value at its full length: what is long can be opened.
pub(crate) fn whole(text: &str) -> Markup {
    if text.chars().nth(NAME_CHARS * 3).is_none() {
        return html! { bdi { (clip_to(text, usize::MAX)) } };
    }
    html! {
        details.long {
            summary { bdi { (clip(text)) } " (all " (count(text.chars().count() as u64)) " characters)" }
            p dir="auto" { (clip_to(text, usize::MAX)) }
        }
    }
}

/// A sentence of the engine, which may hold names.
pub(crate) fn prose(text: &str) -> Markup {
    html! { bdi dir="ltr" { (clip_to(text, PROSE_CHARS)) } }
}

/// A moment as a date.
pub(crate) fn date(at: Moment) -> Markup {
    html! { time datetime=(at) { (at.date()) } }
}

/// A moment to the minute.
pub(crate) fn minute(at: Moment) -> Markup {
    html! { time datetime=(at) { (at.date_minute()) } }
}

/// How long ago, in words.
pub(crate) fn ago(days: i64) -> String {
    match days {
        ..0 => "in the future".to_owned(),
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        days => format!("{days} days ago"),
    }
}

/// How and since when a value is known, small.
pub(crate) fn source(source: Source, now: Moment) -> Markup {
    let days = now.days_since(source.seen);
    html! {
        small.source {
            @if source.future || days < 0 {
                strong.flag { "dated in the future" } ": " (how(source.how)) ", " (date(source.seen))
            } @else if source.how == How::Seen {
                "seen " time datetime=(source.seen) { (ago(days)) }
            } @else {
                (how(source.how)) ", " (date(source.seen))
            }
        }
    }
}

/// How something is known, in words.
pub(crate) fn how(how: How) -> &'static str {
    match how {
        How::Assumed => "assumed",
        How::Told => "told",
        How::Label => "read on the label",
        How::Seen => "seen on the device",
    }
}

/// A verdict: the cord and the word.
pub(crate) fn verdict(verdict: Verdict) -> Markup {
    html! { span.verdict { (draw::mark(verdict)) " " (verdict.word()) } }
}

/// Whether an aircraft's links hold: the cord and the words.
pub(crate) fn ready(ready: Ready) -> Markup {
    match ready {
        Ready::Links => verdict(Verdict::Links),
        Ready::Unknown => verdict(Verdict::Unknown),
        Ready::Blocked => verdict(Verdict::Blocked),
        Ready::Bare => html! { span.verdict { (draw::no_cord()) " no receiver" } },
        Ready::Away => html! { span.verdict { (draw::no_cord()) " away" } },
    }
}

/// An answer to one question.
pub(crate) fn answer(answer: Answer) -> Markup {
    html! { strong { (answer.label()) } }
}

/// A device's label, leading to its page.
pub(crate) fn device(card: &Card) -> Markup {
    html! { a href={ "/device/" (card.id) } { (name(&card.label())) } }
}

/// A device's code and name, leading to its page.
pub(crate) fn device_full(card: &Card) -> Markup {
    html! { a href={ "/device/" (card.id) } { (name(&card.full())) } }
}

/// Minutes at the bench.
pub(crate) fn minutes(minutes: Minutes) -> Markup {
    html! { span.minutes { (minutes) } }
}

/// A whole number with its thousands parted.
pub(crate) fn count(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// `1 link`, `1,200 links`.
pub(crate) fn counted(number: u64, one: &str, many: &str) -> String {
    format!("{} {}", count(number), if number == 1 { one } else { many })
}

/// Cautions of a step.
pub(crate) fn cautions(cautions: &[&str]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            div.caution role="note" {
                @for one in cautions { p { strong { "Caution: " } (one) } }
            }
        }
    }
}

/// A part of a device, in words; nothing for the whole and for an only end.
pub(crate) fn part(part: &register::field::Part) -> String {
    use register::field::Part;
    match part {
        Part::Whole => String::new(),
        Part::End(key) if key == Part::MAIN => "main end".to_owned(),
        Part::End(key) => format!("end {key}"),
        Part::Memory(key) => format!("memory {key}"),
    }
}

/// Percent-encodes a piece of an address.
pub(crate) fn encode(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~') {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

/// Earlier and later pages of a list.
pub(crate) fn pager(page: u64, per_page: u64, total: u64, href: impl Fn(u64) -> String) -> Markup {
    let page = page.max(1);
    let pages = total.div_ceil(per_page.max(1)).max(1);
    html! {
        @if pages > 1 {
            nav.pager aria-label="Pages of the list" {
                @if page > 1 { a rel="prev" href=(href(page - 1)) { "Earlier page" } }
                span { "Page " (count(page)) " of " (count(pages)) }
                @if page < pages { a rel="next" href=(href(page + 1)) { "Next page" } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hidden_characters_show() {
        assert_eq!(clip("a\0b\u{202e}c\nd"), "a\u{2400}b⟨U+202E⟩c d");
        assert_eq!(clip(&"x".repeat(81)), format!("{}…", "x".repeat(80)));
        assert_eq!(clip(&"x".repeat(80)), "x".repeat(80));
    }

    #[test]
    fn numbers_have_their_thousands_parted() {
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(1000), "1,000");
        assert_eq!(count(1_234_567), "1,234,567");
    }

    #[test]
    fn addresses_hold_no_markup() {
        assert_eq!(encode("a b/<\"é"), "a%20b%2F%3C%22%C3%A9");
    }
}
