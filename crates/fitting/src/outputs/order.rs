//! Channel orders and the words for functions.

use super::{Hung, Outputs, Sender, Sends};

const LETTERS: [(char, &str); 4] = [('A', "aileron"), ('E', "elevator"), ('T', "throttle"), ('R', "rudder")];

/// A channel order in words: `AETR`, `taer`, `RT` become the functions of their letters, in their
/// order; any other word is a function itself, in small letters.
///
/// Two or three letters count only as capitals, so that a word is a word.
pub(super) fn expand(list: &[String]) -> Vec<String> {
    list.iter().flat_map(|word| letters(word).unwrap_or_else(|| vec![word.trim().to_lowercase()])).collect()
}

fn letters(word: &str) -> Option<Vec<String>> {
    let upper = word.to_uppercase();
    if !(2..=4).contains(&upper.chars().count()) || (upper.chars().count() < 4 && upper != word) {
        return None;
    }
    let mut out = Vec::new();
    for c in upper.chars() {
        let (_, function) = LETTERS.iter().find(|(letter, _)| *letter == c)?;
        if out.iter().any(|have| have == function) {
            return None;
        }
        out.push((*function).to_owned());
    }
    Some(out)
}

/// Whether a function drives a motor or an engine: its name has one of the words throttle, motor,
/// engine, gas, esc or thrust in it, and none that makes it the switch that stops or arms it.
///
/// ```
/// assert!(fitting::outputs::is_throttle("Left motor"));
/// assert!(!fitting::outputs::is_throttle("rudder"));
/// assert!(!fitting::outputs::is_throttle("throttle cut"));
/// ```
pub fn is_throttle(function: &str) -> bool {
    let lower = function.to_lowercase();
    let words = || lower.split(|c: char| !c.is_alphabetic());
    let stops = |word: &str| matches!(word, "cut" | "kill" | "stop" | "hold" | "arm" | "arming");
    let drives = |word: &str| {
        matches!(
            word,
            "throttle" | "throttles" | "motor" | "motors" | "engine" | "engines" | "gas" | "esc" | "thrust"
        )
    };
    words().any(drives) && !words().any(stops)
}

/// A function without what tells several of it apart: `left aileron`, `aileron 2` and `ailerons` are
/// all `aileron`; whatever is a throttle is `throttle`; `roll` is the aileron's and `yaw` the rudder's
/// stick, which also steers wheels.
pub fn function_root(function: &str) -> String {
    if is_throttle(function) {
        return "throttle".to_owned();
    }
    let lower = function.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphabetic())
        .filter(|word| {
            !word.is_empty()
                && !matches!(*word, "left" | "right" | "inner" | "outer" | "l" | "r" | "second" | "first")
        })
        .map(|word| if word.len() > 3 { word.strip_suffix('s').unwrap_or(word) } else { word })
        .collect();
    let root = if words.is_empty() { lower.trim().to_owned() } else { words.join(" ") };
    match root.as_str() {
        "roll" => "aileron".to_owned(),
        "yaw" | "steering" | "nose wheel" | "nosewheel" | "tail wheel" | "tailwheel" => "rudder".to_owned(),
        _ => root,
    }
}

/// Whether a surface is moved by a mix of which this function is one: an elevon by aileron and
/// elevator (trade usage, no source).
pub(super) fn is_mixed(surface: &str, function: &str) -> bool {
    let parts: [&str; 2] = match function_root(surface).as_str() {
        "elevon" | "taileron" => ["aileron", "elevator"],
        "ruddervator" | "v tail" | "vtail" => ["elevator", "rudder"],
        "flaperon" => ["aileron", "flap"],
        "spoileron" => ["aileron", "spoiler"],
        _ => return false,
    };
    parts.contains(&function_root(function).as_str())
}

/// What a channel carries from a transmitter.
pub(super) fn carried(sender: &Sender, channel: u32) -> Option<&str> {
    if channel == 0 || channel > sender.channels {
        return None;
    }
    sender.order.get(channel as usize - 1).map(String::as_str)
}

/// A function in use.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Used {
    /// Its channel at the receiver, where that is known.
    pub channel: Option<u32>,
    /// What it is called.
    pub function: String,
}

/// The functions in use, in the first transmitter's order of channels, then those that only parts
/// name; tell the throttle by [`is_throttle`]. Where a serial stream or a train leaves the receiver every
/// channel is in use, and where no part is written down.
pub fn used(outputs: &Outputs) -> Vec<Used> {
    let own = |part: &Hung| outputs.outputs.iter().find(|output| on(output, part));
    let hears_all = |part: &Hung| part.stream.is_some() && own(part).is_none();
    let all = outputs.parts.is_empty()
        || outputs.outputs.iter().any(|one| matches!(one.sends, Sends::Stream | Sends::Train))
        || outputs.parts.iter().any(hears_all);
    // The channel of a part that hears one.
    let heard: Vec<(&Hung, Option<u32>)> = outputs
        .parts
        .iter()
        .map(|part| match own(part) {
            Some(output) => (part, (output.sends == Sends::Pulses).then_some(output.channel)),
            None => (part, part.stream.is_none().then_some(part.output)),
        })
        .collect();
    let mut out: Vec<Used> = Vec::new();
    if let Some(first) = outputs.senders.first() {
        for (number, function) in (1_u32..).zip(&first.order) {
            if all || heard.iter().any(|(_, channel)| *channel == Some(number)) {
                out.push(Used { channel: Some(number), function: function.clone() });
            }
        }
    }
    let mut more: Vec<Used> = heard
        .into_iter()
        .filter_map(|(part, channel)| Some(Used { channel, function: part.function.clone()? }))
        .collect();
    more.sort_by(|a, b| (&a.function, a.channel).cmp(&(&b.function, b.channel)));
    for one in more {
        let is_there = |have: &Used| match (have.channel, one.channel) {
            (Some(a), Some(b)) if a == b => true,
            // Another channel of its own can fail on its own.
            (Some(_), Some(_)) => false,
            _ => function_root(&have.function) == function_root(&one.function),
        };
        if !out.iter().any(is_there) {
            out.push(one);
        }
    }
    out
}

/// The words for the functions in use, each once, in the order of [`used`].
pub fn functions(outputs: &Outputs) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for Used { function, .. } in used(outputs) {
        if !out.contains(&function) {
            out.push(function);
        }
    }
    out
}

fn on(output: &super::Output, part: &Hung) -> bool {
    output.number == part.output
        && output.receiver.as_deref().map(str::to_lowercase)
            == part.receiver.as_deref().map(str::to_lowercase)
}
