//! What was measured, in words.

/// Unit suffixes of keys, and how the unit is written.
const UNITS: [(&str, &str); 17] = [
    ("_m", " m"),
    ("_km", " km"),
    ("_mm", " mm"),
    ("_ft", " ft"),
    ("_s", " s"),
    ("_min", " min"),
    ("_us", " µs"),
    ("_v", " V"),
    ("_a", " A"),
    ("_w", " W"),
    ("_mah", " mAh"),
    ("_mw", " mW"),
    ("_db", " dB"),
    ("_dbm", " dBm"),
    ("_c", " °C"),
    ("_deg", "°"),
    ("_percent", " %"),
];

/// A measured value in words: `distance 45 m` for `distance_m` and 45. A key without a unit
/// that is known here stands as it is, its underscores as spaces.
pub fn measured_words(key: &str, value: f64) -> String {
    let known = UNITS.iter().find_map(|(suffix, unit)| {
        let what = key.strip_suffix(suffix)?;
        (!what.is_empty()).then_some((what, *unit))
    });
    let (what, unit) = known.unwrap_or((key, ""));
    // The sum makes 0 of -0.
    format!("{} {}{unit}", what.replace('_', " "), value + 0.0)
}
