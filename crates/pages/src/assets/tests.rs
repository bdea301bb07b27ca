//! The style sheet's colours, measured.

use super::{SCRIPT_JS, STYLE_CSS};

/// Relative luminance; source: WCAG 2.2, "relative luminance".
fn luminance(hex: &str) -> f64 {
    let channel = |at: usize| {
        let c = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

/// Contrast ratio; source: WCAG 2.2, "contrast ratio".
fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// The colours of a scheme: the first `:root` block is light, the second dark.
fn colour(scheme: usize, name: &str) -> String {
    let block = STYLE_CSS.split(":root {").nth(scheme + 1).unwrap().split('}').next().unwrap();
    let start = block.find(&format!("--{name}: ")).unwrap() + name.len() + 4;
    block[start..start + 7].to_owned()
}

#[test]
fn the_measure_is_right() {
    // WCAG 2.2: black on white is 21:1; #767676 on white is the well-known grey at 4.54.
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    assert!((contrast("#767676", "#ffffff") - 4.54).abs() < 0.01);
}

#[test]
fn words_stand_out_in_light_and_dark() {
    let mut weak = Vec::new();
    for scheme in [0, 1] {
        for ground in ["paper", "sheet"] {
            // Success criterion 1.4.3: text 4.5:1. 1.4.11: edges of inputs 3:1.
            for (ink, least) in [("ink", 4.5), ("soft", 4.5), ("pencil", 4.5), ("edge", 3.0)] {
                let ratio = contrast(&colour(scheme, ink), &colour(scheme, ground));
                if ratio < least {
                    weak.push(format!("scheme {scheme}: {ink} on {ground} is {ratio:.2}, not {least}"));
                }
            }
        }
        let ratio = contrast(&colour(scheme, "on-press"), &colour(scheme, "press"));
        assert!(ratio >= 4.5, "scheme {scheme}: the main button is {ratio:.2}");
    }
    assert!(weak.is_empty(), "{}", weak.join("\n"));
}

#[test]
fn nothing_is_fetched_from_elsewhere_and_the_script_stays_small() {
    for file in [STYLE_CSS, SCRIPT_JS] {
        assert!(!file.contains("http") && !file.contains("@import") && !file.contains("url("));
    }
    assert!(SCRIPT_JS.lines().count() < 160);
}
