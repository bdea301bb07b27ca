//! Figures of a sheet in words.

use link::sheet::{Direction, FARTHEST, NEAREST, Reach, Setting};
use units::{Db, Metres, Seconds};

/// A number with at most so many digits after the point, no zeros at its end.
pub(super) fn trim(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.replace('-', "\u{2212}") }
}

/// A change: `+1.2 dB`, `−80.2 dB`.
pub(super) fn signed(change: Db) -> String {
    let text = format!("{:.1}", change.0.abs());
    let sign = match text.as_str() {
        "0.0" => "",
        _ if change.0 < 0.0 => "\u{2212}",
        _ => "+",
    };
    format!("{sign}{text} dB")
}

/// A level with a minus that a screen reader says.
pub(super) fn level(level: units::Dbm) -> String {
    level.to_string().replace('-', "\u{2212}")
}

/// A margin: `23.4 dB`.
pub(super) fn margin(margin: Db) -> String {
    format!("{} dB", decibels(margin))
}

/// A margin without its unit, for a column that says it.
pub(super) fn decibels(margin: Db) -> String {
    let text = format!("{:.1}", margin.0);
    if text == "-0.0" { "0.0".to_owned() } else { text.replace('-', "\u{2212}") }
}

/// A distance as it was asked for.
pub(super) fn exact(distance: Metres) -> String {
    if distance.0 < 1000.0 {
        format!("{} m", trim(distance.0, 1))
    } else {
        format!("{} km", trim(distance.0 / 1e3, 3))
    }
}

/// A distance that isn't known better than two digits: figure and unit.
fn rounded(distance: Metres) -> (String, &'static str) {
    let d = distance.0;
    if d < 99.5 {
        (format!("{d:.0}"), "m")
    } else if d < 995.0 {
        (format!("{:.0}", (d / 10.0).round() * 10.0), "m")
    } else if d < 9950.0 {
        (format!("{:.1}", d / 1e3), "km")
    } else {
        (format!("{:.0}", d / 1e3), "km")
    }
}

/// Two distances that are to be compared, with as many digits as tell them apart (four at the
/// most); two where they are the same.
pub(super) fn apart(one: Metres, other: Metres) -> (String, String) {
    for digits in 2..=4 {
        let (a, b) = (digits_of(one, digits), digits_of(other, digits));
        if a != b {
            return (a, b);
        }
    }
    (about(one), about(other))
}

/// A distance with so many digits.
fn digits_of(distance: Metres, digits: i32) -> String {
    if digits == 2 || distance.0 <= 0.0 {
        return about(distance);
    }
    let unit = 10f64.powf(f64::from(digits) - 1.0 - distance.0.log10().floor());
    let rounded = (distance.0 * unit).round() / unit;
    if rounded < 1000.0 {
        format!("{} m", trim(rounded, 2))
    } else {
        format!("{} km", trim(rounded / 1e3, 4))
    }
}

/// The same in words.
pub(super) fn about(distance: Metres) -> String {
    let (figure, unit) = rounded(distance);
    format!("{figure} {unit}")
}

/// A distance, and between which it lies: `1.2 km (0.7 to 1.4 km)`.
pub(super) fn reach(reach: &Reach) -> String {
    let farthest = |d: Metres| d.0 >= FARTHEST.0 * 0.999;
    match reach.distance {
        None => format!("not even {}", exact(NEAREST)),
        Some(distance) => {
            let (low, high) = (reach.low.map(rounded), reach.high.map(rounded));
            let most = match (&high, reach.high) {
                (_, Some(high)) if farthest(high) => format!("more than {}", about(FARTHEST)),
                (Some((figure, unit)), _) => format!("{figure} {unit}"),
                (None, _) => "not known".to_owned(),
            };
            let least = match (&low, &high, reach.high) {
                (None, _, _) => "nothing".to_owned(),
                (Some((figure, unit)), Some((_, same)), Some(up)) if unit == same && !farthest(up) => {
                    figure.clone()
                }
                (Some((figure, unit)), _, _) => format!("{figure} {unit}"),
            };
            if reach.beyond {
                let least = reach.low.map_or("nothing".to_owned(), about);
                format!(
                    "more than {}, the farthest that is looked at ({least} at the least)",
                    about(distance)
                )
            } else {
                format!("{} ({least} to {most})", about(distance))
            }
        }
    }
}

/// In how many spells a direction holds.
pub(super) fn holds(direction: &Direction) -> String {
    of_hundred(direction.probability, direction.reach.probability)
}

/// A probability of spells: `99 of 100`. It is rounded to the nearest whole number, but never
/// across the one that is wanted: what falls short must not read as if it sufficed.
pub(super) fn of_hundred(probability: f64, wanted: f64) -> String {
    /// As near as the engine counts as reached.
    const NEAR: f64 = 1e-7;
    let (hundred, wanted) = (probability * 100.0, wanted * 100.0);
    let short = hundred + NEAR < wanted;
    let nearest = hundred.round();
    let shown = if short && nearest + NEAR >= wanted { hundred.floor() } else { nearest };
    if hundred >= 99.5 {
        "more than 99 of 100".to_owned()
    } else if shown < 1.0 {
        "fewer than 1 of 100".to_owned()
    } else {
        format!("{shown:.0} of 100")
    }
}

/// A share of packets in a hundred; what is there never reads as none.
pub(super) fn percent(share: f64) -> String {
    let hundred = share * 100.0;
    if hundred > 0.0 && hundred < 0.05 { "fewer than 0.1".to_owned() } else { trim(hundred, 1) }
}

/// A probability that was asked for, with every digit of it: `95 of 100`, `99.9999 of 100`.
pub(super) fn asked(probability: f64) -> String {
    format!("{} of 100", trim(probability * 100.0, 8))
}

/// A chance: `3 in 1,000`.
pub(super) fn chance(chance: f64) -> String {
    if chance >= 0.995 {
        return "nearly certain".to_owned();
    }
    for (of, words) in [(100.0, "100"), (1e3, "1,000"), (1e4, "10,000")] {
        if chance * of >= 0.995 {
            return format!("{:.0} in {words}", chance * of);
        }
    }
    "less than 1 in 10,000".to_owned()
}

/// A time: milliseconds below a second.
pub(super) fn time(time: Seconds) -> String {
    if time.0 < 0.0995 {
        format!("{:.1} ms", time.ms())
    } else if time.0 < 0.9995 {
        format!("{:.0} ms", time.ms())
    } else {
        format!("{} s", trim(time.0, 2))
    }
}

/// A power as it would be typed.
pub(super) fn milliwatts(power: units::Dbm) -> String {
    trim(power.milliwatts().0, 3)
}

/// A setting: mode, power, share.
pub(super) fn setting(setting: &Setting) -> String {
    let share = match setting.mode.telemetry_one_in {
        Some(share) => format!("one slot in {share} for telemetry"),
        None => "no telemetry".to_owned(),
    };
    format!("{}, {} mW, {share}", crate::words::clip(&setting.mode.name), milliwatts(setting.power))
}

/// A word of the engine's, as a person would write it.
pub(super) fn plain(word: &str) -> String {
    word.replace('-', " ")
}

/// With a capital letter.
pub(super) fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reached(distance: f64, low: f64, high: f64) -> Reach {
        Reach {
            distance: Some(Metres(distance)),
            low: Some(Metres(low)),
            high: Some(Metres(high)),
            probability: 0.95,
            beyond: false,
        }
    }

    #[test]
    fn a_distance_says_no_more_than_is_known() {
        assert_eq!(reach(&reached(1234.0, 711.0, 1444.0)), "1.2 km (710 m to 1.4 km)");
        assert_eq!(reach(&reached(734.0, 511.0, 944.0)), "730 m (510 to 940 m)");
        assert_eq!(reach(&reached(12_340.0, 9960.0, 14_440.0)), "12 km (10 to 14 km)");
        let none = Reach { distance: None, low: None, ..reached(1.0, 1.0, 1.0) };
        assert_eq!(reach(&none), "not even 10 m");
        assert_eq!(reach(&Reach { low: None, ..reached(40.0, 0.0, 90.0) }), "40 m (nothing to 90 m)");
    }

    #[test]
    fn probabilities_are_never_rounded_up_to_certainty() {
        assert_eq!(of_hundred(0.95, 0.95), "95 of 100");
        assert_eq!(of_hundred(0.9499, 0.95), "94 of 100", "short of what is wanted");
        assert_eq!(of_hundred(0.9499, 0.9), "95 of 100", "the nearest, where that decides nothing");
        assert_eq!(of_hundred(0.698, 0.99), "70 of 100");
        assert_eq!(of_hundred(0.956, 0.957), "95 of 100", "96 would read as if it sufficed");
        assert_eq!(of_hundred(0.9955, 0.999), "more than 99 of 100");
        assert_eq!(of_hundred(1.0, 0.99), "more than 99 of 100");
        assert_eq!(of_hundred(0.0, 0.99), "fewer than 1 of 100");
        assert_eq!(asked(0.999), "99.9 of 100");
        assert_eq!(asked(0.999_999), "99.9999 of 100");
        assert_eq!(asked(0.57), "57 of 100");
        assert_eq!(percent(0.000_2), "fewer than 0.1");
        assert_eq!(percent(0.0), "0");
        assert_eq!(percent(0.123), "12.3");
        assert_eq!(chance(0.0), "less than 1 in 10,000");
        assert_eq!(chance(0.0123), "1 in 100");
        assert_eq!(chance(0.0023), "2 in 1,000");
        assert_eq!(chance(1.0), "nearly certain");
    }

    #[test]
    fn changes_have_their_sign() {
        assert_eq!(signed(Db(-80.21)), "\u{2212}80.2 dB");
        assert_eq!(signed(Db(2.15)), "+2.1 dB");
        assert_eq!(signed(Db(-0.01)), "0.0 dB");
        assert_eq!(margin(Db(-0.04)), "0.0 dB");
        assert_eq!(margin(Db(-3.0)), "\u{2212}3.0 dB");
    }
}
