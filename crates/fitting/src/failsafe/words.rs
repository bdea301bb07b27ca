//! Figures in words, alike in every sentence.

use units::{Degrees, Metres, Seconds};

use super::area::Spot;
use super::{Driven, Failsafe, Falls, Own};

/// `1 fault`, `3 faults`.
pub(super) fn counted(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// Whole metres, tens from 200 m on: nobody paces closer.
pub(super) fn metres(length: Metres) -> String {
    let rounded = if length.0.abs() >= 200.0 { (length.0 / 10.0).round() * 10.0 } else { length.0.round() };
    format!("{} m", rounded + 0.0)
}

/// As [`metres`], rounded down: for what must not be passed.
pub(super) fn metres_at_most(length: Metres) -> String {
    let step = if length.0 >= 200.0 { 10.0 } else { 1.0 };
    format!("{} m", (length.0 / step).floor() * step)
}

/// Tenths of a second under ten seconds, else whole seconds.
pub(super) fn seconds(time: Seconds) -> String {
    if time.0 < 9.95 { format!("{:.1} s", time.0) } else { format!("{:.0} s", time.0) }
}

const POINTS: [&str; 8] =
    ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

/// The nearest of eight points of the compass.
pub(super) fn point(bearing: Degrees) -> &'static str {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 8")]
    let eighth = (bearing.0.rem_euclid(360.0) / 45.0).round() as usize;
    POINTS[eighth % 8]
}

/// Three figures, as a compass is read: `045`.
pub(super) fn bearing(bearing: Degrees) -> String {
    format!("{:03.0}", bearing.0.round().rem_euclid(360.0))
}

/// `240 m to the north-east of where you stand (bearing 045)`; the name itself within five metres.
pub(super) fn way_to(from: Spot, name: &str, to: Spot) -> String {
    let (distance, towards) = from.to(to);
    if distance.0 < 5.0 {
        return name.to_owned();
    }
    format!("{} to the {} of {name} (bearing {})", metres(distance), point(towards), bearing(towards))
}

/// What a sentence about the way down rests on, put before it where the settings don't say that it is so.
pub(super) fn on_condition(failsafe: &Failsafe, sentence: &str) -> String {
    let alone =
        matches!(failsafe.own, Some(Own::Descend | Own::Return)) && failsafe.falls() == Falls::Ballistic;
    let condition = if alone {
        "If its flight controller doesn't catch it"
    } else if failsafe.driven().0 == Driven::Unsure {
        "If the motor stops, which the settings don't say"
    } else {
        return sentence.to_owned();
    };
    let mut rest = sentence.chars();
    let first = rest.next().map(char::to_lowercase).into_iter().flatten();
    format!("{condition}, {}{}", first.collect::<String>(), rest.as_str())
}
