//! Finds the rows that somebody means by the words they typed.

use std::sync::Arc;

use super::row::Technique;
use super::{Limits, Row, UnknownRegion};

/// No row fits what was asked for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLimit {
    /// The region.
    #[error(transparent)]
    Region(#[from] UnknownRegion),
    /// The band.
    #[error("no band of {region} is `{band}`; held are {}", held.join(", "))]
    Band {
        /// The region.
        region: String,
        /// What was asked for.
        band: String,
        /// What there is.
        held: Vec<String>,
    },
    /// The class.
    #[error("no class of {region} in {band} is `{class}`; held are {}", held.join("; "))]
    Class {
        /// The region.
        region: String,
        /// The band.
        band: String,
        /// What was asked for.
        class: String,
        /// What there is.
        held: Vec<String>,
    },
}

/// The rows of a region for a band and a class, as typed.
///
/// The band may be a row's id, its band in words (`2400-2483.5`), a span or one frequency
/// (`868.3`, `2.4 GHz`). The class may be a row's id or its end (`fhss-50`), the modulation
/// or the use in words, a technique (`hopping` or `fhss`, `digital`, `hybrid`, `narrow`,
/// `any`), or words that all occur in the row's modulation and use. A row for any modulation
/// answers to every technique. An empty class means all.
///
/// # Errors
/// [`NoLimit`], naming what there is.
pub fn rows_for(limits: &Limits, region: &str, band: &str, class: &str) -> Result<Vec<Arc<Row>>, NoLimit> {
    let rows = limits.rows_in(region)?;
    let region = limits.region(region)?;
    let in_band = in_band(&rows, band).ok_or_else(|| NoLimit::Band {
        region: region.to_owned(),
        band: short(band),
        held: distinct(rows.iter().map(|row| row.band.clone())),
    })?;
    of_class(&in_band, class).ok_or_else(|| NoLimit::Class {
        region: region.to_owned(),
        band: short(band),
        class: short(class),
        held: distinct(in_band.iter().map(|row| format!("{} ({})", row.modulation_class, row.id))),
    })
}

fn short(text: &str) -> String {
    text.trim().chars().take(60).collect()
}

fn distinct(all: impl Iterator<Item = String>) -> Vec<String> {
    let mut seen: Vec<String> = Vec::new();
    for text in all {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen
}

/// The rows that `test` picks; none for no row.
fn those<'a>(rows: &[&'a Arc<Row>], test: impl Fn(&Row) -> bool) -> Option<Vec<&'a Arc<Row>>> {
    let found: Vec<_> = rows.iter().copied().filter(|row| test(row)).collect();
    (!found.is_empty()).then_some(found)
}

fn in_band<'a>(rows: &[&'a Arc<Row>], typed: &str) -> Option<Vec<&'a Arc<Row>>> {
    let typed = typed.trim();
    let same = |row: &Row| row.id.eq_ignore_ascii_case(typed) || row.band.eq_ignore_ascii_case(typed);
    those(rows, same).or_else(|| match frequencies(typed)? {
        (low, Some(high)) => {
            let equal = |row: &Row| row.edges.is_some_and(|(l, u)| near(l.0, low) && near(u.0, high));
            let holds = |row: &Row| row.edges.is_some_and(|(l, u)| l.0 <= low && high <= u.0);
            those(rows, equal).or_else(|| those(rows, holds))
        }
        (at, None) => {
            let inside = |row: &Row| row.edges.is_some_and(|(l, u)| l.0 <= at && at < u.0);
            // A frequency with decimals is meant as it stands: between two sub-bands, or past
            // an edge, no row is for it. Only a band's name may be loose.
            if !near(at.fract(), 0.0) && !is_a_bands_name(typed) {
                return those(rows, inside);
            }
            // `433` and `900` are how the trade calls bands that begin a little above.
            let named = |row: &Row| row.edges.is_some_and(|(l, _)| near(l.0.floor(), at));
            // So is `900`, a round hundred.
            let round = |row: &Row| {
                near(at % 100.0, 0.0) && row.edges.is_some_and(|(l, _)| near(l.0 - l.0 % 100.0, at))
            };
            those(rows, inside).or_else(|| those(rows, named)).or_else(|| those(rows, round))
        }
    })
}

/// Whether a figure is how the trade calls a band (`2.4`, `2.4 GHz`), not a frequency in it.
fn is_a_bands_name(typed: &str) -> bool {
    let lower = typed.to_ascii_lowercase();
    lower.ends_with("ghz") || lower.parse::<f64>().is_ok_and(|number| number < 10.0)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

/// One frequency or a span, megahertz. A bare number below 10 is gigahertz.
fn frequencies(typed: &str) -> Option<(f64, Option<f64>)> {
    let lower = typed.to_ascii_lowercase();
    let (text, unit) = match (lower.strip_suffix("ghz"), lower.strip_suffix("mhz")) {
        (Some(text), _) => (text, Some(1000.0)),
        (_, Some(text)) => (text, Some(1.0)),
        _ => (lower.as_str(), None),
    };
    let number = |part: &str| {
        let number = part.trim().parse::<f64>().ok().filter(|number| number.is_finite() && *number > 0.0)?;
        Some(number * unit.unwrap_or(if number < 10.0 { 1000.0 } else { 1.0 }))
    };
    let mut parts = text.split(['-', '–']).flat_map(|part| part.split(" to "));
    let first = number(parts.next()?)?;
    match parts.next() {
        None => Some((first, None)),
        Some(second) if parts.next().is_none() => {
            let second = number(second)?;
            (first < second).then_some((first, Some(second)))
        }
        Some(_) => None,
    }
}

fn of_class(rows: &[&Arc<Row>], typed: &str) -> Option<Vec<Arc<Row>>> {
    let typed = typed.trim().to_ascii_lowercase();
    let found = if typed.is_empty() {
        those(rows, |_| true)
    } else {
        let technique = technique(&typed);
        those(rows, |row| row.id.eq_ignore_ascii_case(&typed))
            .or_else(|| those(rows, |row| row.modulation_class.eq_ignore_ascii_case(&typed)))
            .or_else(|| those(rows, |row| row.id.to_ascii_lowercase().ends_with(&format!("-{typed}"))))
            .or_else(|| those(rows, |row| technique == Some(row.technique)))
            .or_else(|| those(rows, |row| row.use_class.eq_ignore_ascii_case(&typed)))
            .or_else(|| those(rows, |row| says(row, &typed)))
            .or_else(|| those(rows, |row| technique == Some(Technique::Digital) && wide(row)))
            .or_else(|| technique.and_then(|_| those(rows, |row| row.technique == Technique::Any)))
    };
    found.map(|rows| rows.into_iter().cloned().collect())
}

/// The technique of a word of the trade.
fn technique(word: &str) -> Option<Technique> {
    Some(match word {
        "any" => Technique::Any,
        "fhss" | "hopping" | "frequency hopping" => Technique::Hopping,
        "digital" | "dts" | "wideband" | "spread" | "css" | "dsss" | "ofdm" => Technique::Digital,
        "hybrid" => Technique::Hybrid,
        "not fhss" | "not hopping" | "not-hopping" => Technique::NotHopping,
        "narrow" | "narrowband" | "narrow band" | "fsk" => Technique::Narrow,
        _ => return None,
    })
}

/// Whether the row is for wide channels that stay where they are.
fn wide(row: &Row) -> bool {
    row.technique == Technique::NotHopping
}

/// Whether every word typed occurs in the row's id, modulation and use.
fn says(row: &Row, typed: &str) -> bool {
    let not_hopping = row.technique == Technique::NotHopping;
    let have = format!("{} {} {}", row.id, row.modulation_class, row.use_class).to_ascii_lowercase();
    let have: Vec<&str> = words(&have).collect();
    let (has_not, has_non) = (words(typed).any(|word| word == "not"), words(typed).any(|word| word == "non"));
    words(typed).all(|word| match word {
        "fhss" | "hopping" if not_hopping => has_not,
        "adaptive" => have.contains(&"adaptive") && have.contains(&"non") == has_non,
        "hopping" => have.contains(&"hopping") || have.contains(&"fhss"),
        word => have.contains(&word),
    }) && words(typed).next().is_some()
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric() && c != '.').filter(|word| !word.is_empty())
}
