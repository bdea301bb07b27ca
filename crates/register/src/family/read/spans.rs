//! Runs of firmware versions: how they are written, and which of them overlap.

use std::cmp::Ordering;

use super::super::{Version, VersionSpan};

/// How many numbers a version in a file may have.
const MOST_PARTS: usize = 8;

/// Reads `1.0..1.9` or `2.3`.
///
/// # Errors
/// What is wrong with it and what to do.
pub(super) fn parse(text: &str) -> Result<VersionSpan, String> {
    let (from, to) = match text.split_once("..") {
        Some((from, to)) => (version(from)?, version(to)?),
        None => (version(text)?, version(text)?),
    };
    if low_high(&from, &to) == Ordering::Greater {
        return Err(format!(
            "runs from {from} down to {to}; write the lower version first, as in \"{to}..{from}\""
        ));
    }
    Ok(VersionSpan { from, to })
}

/// Reads the numbers of a version, and nothing but numbers.
fn version(text: &str) -> Result<Version, String> {
    let wrong = || {
        format!(
            "has \"{}\" where a version should be; write numbers with dots, as in \"2.3\" or \"1.0..1.9\"",
            crate::desk::telling::shown(text.trim())
        )
    };
    let parts: Vec<u32> = text
        .trim()
        .split('.')
        // `+1` would parse, and is no version.
        .map(|part| part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse().ok()).flatten())
        .collect::<Option<_>>()
        .ok_or_else(wrong)?;
    if parts.len() > MOST_PARTS {
        return Err(format!("has a version of {} numbers; {MOST_PARTS} are read", parts.len()));
    }
    Ok(Version(parts))
}

/// Whether some version lies in both.
pub(super) fn overlap(a: &VersionSpan, b: &VersionSpan) -> bool {
    low_high(&a.from, &b.to) != Ordering::Greater && low_high(&b.from, &a.to) != Ordering::Greater
}

/// Compares a lower edge, whose unsaid numbers are 0, with an upper edge, whose unsaid
/// numbers are as large as they get (`2.9` includes `2.9.7`).
fn low_high(low: &Version, high: &Version) -> Ordering {
    for (i, high) in high.0.iter().enumerate() {
        match low.0.get(i).copied().unwrap_or(0).cmp(high) {
            Ordering::Equal => {}
            other => return other,
        }
    }
    if low.0.len() > high.0.len() { Ordering::Less } else { Ordering::Equal }
}

#[cfg(test)]
mod tests {
    use super::{overlap, parse};

    #[test]
    fn overlaps_follow_the_edges() {
        let rows = [
            ("1.0..1.9", "2.0", false),
            ("1.0..1.9", "1.9.7", true), // 1.9 as an upper edge includes 1.9.7
            ("1.0..1.9", "1.9..2.1", true),
            ("1..1", "1.4", true),
            ("2.4", "2.5", false),
            ("2.4.1", "2.4.2", false),
            ("2.4", "2.4.2..2.6", true),
            ("0.9", "1..3", false),
        ];
        for (a, b, want) in rows {
            let (a, b) = (parse(a).unwrap(), parse(b).unwrap());
            assert_eq!(overlap(&a, &b), want, "{a:?} {b:?}");
            assert_eq!(overlap(&b, &a), want, "{b:?} {a:?}");
        }
    }

    #[test]
    fn what_is_no_span_is_told() {
        for text in
            ["", "1.x", "1..", "..2", "1.0...1.9", "+1", "1.99999999999", "v1", "2.0..1.9", "1.2..1.1.9"]
        {
            assert!(parse(text).is_err(), "{text}");
        }
        assert!(parse("1.2.3..1.2").is_ok());
    }
}
