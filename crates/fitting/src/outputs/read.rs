//! From cells to outputs.

use std::collections::BTreeMap;

use register::family::read::Problem;
use units::{Hertz, Micros};

use super::{Direction, Hung, Output, Outputs, Rest, Role, Sender, Sends, Sort, order};
use crate::part::{Filled, Row, problem};

/// The pulses of a stick's ends where nothing else is said (common practice, no source).
pub(super) const LOW: Micros = Micros(1000.0);
pub(super) const HIGH: Micros = Micros(2000.0);
/// The pulse of the middle, where it lies between the ends (common practice, no source).
pub(super) const CENTRE: Micros = Micros(1500.0);

pub(super) fn of(origin: &str, filled: &Filled) -> Result<Outputs, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut out = Outputs::default();
    for row in filled.rows("transmitter") {
        match sender(origin, row) {
            Ok(sender) => out.senders.push(sender),
            Err(problem) => problems.push(problem),
        }
    }
    for row in filled.rows("output") {
        match output(origin, row) {
            Ok(output) => out.outputs.push(output),
            Err(problem) => problems.push(problem),
        }
    }
    for row in filled.rows("part") {
        match part(origin, row) {
            Ok(part) => out.parts.push(part),
            Err(problem) => problems.push(problem),
        }
    }
    twice(origin, filled.rows("transmitter"), "label", "the label", &mut problems);
    twice(origin, filled.rows("part"), "name", "the name", &mut problems);
    problems.extend(half_named(origin, filled));
    if !problems.is_empty() {
        return Err(problems);
    }
    // The order of the rows says nothing.
    out.senders.sort_by_key(|one| (one.role, one.label.clone()));
    out.outputs.sort_by_key(|one| (one.receiver.clone(), one.number, format!("{one:?}")));
    out.parts.sort_by_key(|one| (one.receiver.clone(), one.output, one.name.clone()));
    Ok(out)
}

fn twice(origin: &str, rows: &[Row], key: &str, what: &str, problems: &mut Vec<Problem>) {
    let mut seen: BTreeMap<String, &str> = BTreeMap::new();
    for row in rows {
        let text = row.words(key);
        match seen.get(&text.to_lowercase()) {
            Some(first) => {
                problems.push(problem(
                    origin,
                    row,
                    key,
                    format!("is {what} of {first} too; give each its own"),
                ));
            }
            None => {
                seen.insert(text.to_lowercase(), &row.path);
            }
        }
    }
}

/// Rows with a receiver beside rows without: nobody could say whose the latter are.
fn half_named(origin: &str, filled: &Filled) -> Option<Problem> {
    let rows = || filled.rows("output").iter().chain(filled.rows("part"));
    let named = rows().find(|row| row.text("receiver").is_some())?;
    let bare = rows().find(|row| row.text("receiver").is_none())?;
    Some(problem(
        origin,
        bare,
        "receiver",
        format!("is missing, and {} names one; name it on every output and part", named.path),
    ))
}

fn micros(row: &Row, key: &str) -> Option<Micros> {
    row.number(key).map(Micros)
}

fn ordered(
    origin: &str,
    row: &Row,
    low: Option<Micros>,
    centre: Option<Micros>,
    high: Option<Micros>,
) -> Result<(), Problem> {
    if let (Some(low), Some(high)) = (low, high)
        && low >= high
    {
        return Err(problem(
            origin,
            row,
            "high_us",
            format!("is {} µs, not above low_us ({} µs); exchange or correct them", high.0, low.0),
        ));
    }
    let Some(centre) = centre else { return Ok(()) };
    if low.is_some_and(|low| centre < low) || high.is_some_and(|high| centre > high) {
        let end = |end: Option<Micros>| end.map_or("not said".to_owned(), |end| format!("{} µs", end.0));
        return Err(problem(
            origin,
            row,
            "centre_us",
            format!(
                "is {} µs, outside low_us ({}) to high_us ({}); correct one of the three",
                centre.0,
                end(low),
                end(high)
            ),
        ));
    }
    Ok(())
}

fn sender(origin: &str, row: &Row) -> Result<Sender, Problem> {
    let order = order::expand(row.list("order"));
    if order.is_empty() {
        return Err(problem(origin, row, "order", "names no function; write one word a channel"));
    }
    let named = u32::try_from(order.len()).unwrap_or(u32::MAX);
    let channels = row.whole("channels").unwrap_or(named);
    if channels < named {
        return Err(problem(
            origin,
            row,
            "channels",
            format!("is {channels}, fewer than the {named} functions of the order; correct one of them"),
        ));
    }
    let (low, high) = (micros(row, "low_us").unwrap_or(LOW), micros(row, "high_us").unwrap_or(HIGH));
    ordered(origin, row, Some(low), None, Some(high))?;
    let reversed = order::expand(row.list("reversed"));
    if let Some(strange) = reversed.iter().find(|one| !order.contains(one)) {
        return Err(problem(
            origin,
            row,
            "reversed",
            format!("has `{strange}`, which is not in the order; use the order's words"),
        ));
    }
    Ok(Sender {
        label: row.words("label"),
        role: if row.text("role") == Some("second") { Role::Second } else { Role::Main },
        order,
        channels,
        low,
        high,
        steps: row.whole("steps"),
        reversed,
        throttle_rest: match row.text("throttle_rest") {
            Some("centre") => Rest::Centre,
            Some("high") => Rest::High,
            _ => Rest::Low,
        },
    })
}

fn output(origin: &str, row: &Row) -> Result<Output, Problem> {
    let number = row.whole("number").unwrap_or(1);
    let stream = row.text("stream").map(str::to_owned);
    let sends = match row.text("sends") {
        Some("pulses") => Sends::Pulses,
        Some("train") => Sends::Train,
        Some("stream") => Sends::Stream,
        Some("nothing") => Sends::Nothing,
        _ if stream.is_some() => Sends::Stream,
        _ => Sends::Pulses,
    };
    if stream.is_some() && sends != Sends::Stream {
        return Err(problem(
            origin,
            row,
            "stream",
            format!(
                "names a stream, but the output sends {}; write sends = \"stream\" or take it away",
                sends.word()
            ),
        ));
    }
    let (low, centre, high) = (micros(row, "low_us"), micros(row, "centre_us"), micros(row, "high_us"));
    ordered(origin, row, low, centre, high)?;
    Ok(Output {
        receiver: row.text("receiver").map(str::to_owned),
        number,
        channel: row.whole("channel").unwrap_or(number),
        sends,
        stream,
        train_channels: row.whole("train_channels").unwrap_or(8),
        low,
        centre,
        high,
        direction: if row.yes("reversed") { Direction::Reversed } else { Direction::Normal },
        rate: Hertz(row.number("rate_hz").unwrap_or(50.0)),
        group: row.whole("group"),
    })
}

fn part(origin: &str, row: &Row) -> Result<Hung, Problem> {
    let (low, centre, high) = (micros(row, "low_us"), micros(row, "centre_us"), micros(row, "high_us"));
    ordered(origin, row, low, centre, high)?;
    Ok(Hung {
        name: row.words("name"),
        sort: match row.text("sort") {
            Some("speed-controller") => Sort::SpeedController,
            Some("light") => Sort::Light,
            Some("controller") => Sort::Controller,
            Some("other") => Sort::Other,
            _ => Sort::Servo,
        },
        receiver: row.text("receiver").map(str::to_owned),
        output: row.whole("output").unwrap_or(1),
        function: row.text("function").map(str::to_lowercase),
        surface: row.text("surface").map(str::to_owned),
        low,
        centre,
        high,
        fastest: row.number("fastest_hz").map(Hertz),
        stream: row.text("stream").map(str::to_owned),
        dead_band: micros(row, "dead_band_us"),
        longer_moves: match row.text("longer_moves") {
            Some("up") => Some(Direction::Normal),
            Some("down") => Some(Direction::Reversed),
            _ => None,
        },
        deg_per_us: row.number("deg_per_us").unwrap_or(0.09),
        idle: micros(row, "idle_us"),
    })
}
