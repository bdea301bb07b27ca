//! The wiring drawn: a receiver with its sockets, a cord to each part, the parts as what they are.

use fitting::finding::Weight;
use fitting::outputs::{OnWire, Sends, Sort, Wire};
use maud::{Markup, html};

use super::outputs::sends;
use super::place::{n, picture, times};
use crate::words;

/// The receiver's case ends here.
const CASE: f64 = 62.0;
/// Parts begin here.
const PART: f64 = 150.0;
const WORDS: f64 = 186.0;
const ROW: f64 = 46.0;
const SOCKET: f64 = 22.0;
const TOP: f64 = 22.0;

/// One part, or the loose end of a cord.
struct Place<'a> {
    wire: &'a Wire,
    part: Option<&'a OnWire>,
    socket: f64,
    y: f64,
}

/// The drawing of one receiver.
pub(super) fn figure(key: &str, receiver: &str, wires: &[&Wire]) -> Markup {
    let rows: usize = wires.iter().map(|wire| wire.parts.len().max(1)).sum();
    let height = TOP + ROW * times(rows) + 6.0;
    let case = SOCKET * times(wires.len()) + 14.0;
    let top = TOP + (ROW * times(rows) - case).max(0.0) / 2.0;
    let mut places = Vec::new();
    for (at, wire) in wires.iter().enumerate() {
        let socket = top + 7.0 + SOCKET * (times(at) + 0.5);
        let parts: Vec<Option<&OnWire>> =
            if wire.parts.is_empty() { vec![None] } else { wire.parts.iter().map(Some).collect() };
        for part in parts {
            places.push(Place { wire, part, socket, y: TOP + ROW * (times(places.len()) + 0.5) });
        }
    }
    let title = if receiver.is_empty() {
        "Wiring of the receiver".to_owned()
    } else {
        format!("Wiring of {receiver}")
    };
    let about =
        "From each output of the receiver a cord goes to what hangs on it. The table below says the same.";
    html! {
        figure.drawing {
            (picture(key, "wiring", height.max(top + case + 6.0), (&title, about), &html! {
                @for place in &places { (cord(place)) }
                (case_of(receiver, top, case))
                @for (at, wire) in wires.iter().enumerate() {
                    @let y = top + 7.0 + SOCKET * (times(at) + 0.5);
                    circle.plug cx=(n(CASE)) cy=(n(y)) r="4.5" {}
                    text.figure x=(n(CASE - 10.0)) y=(n(y + 4.0)) text-anchor="end" { (wire.number) }
                }
                @for place in &places { (end(place)) }
            }))
            figcaption {
                @if receiver.is_empty() { "The receiver's outputs" } @else { "Outputs of " (words::name(receiver)) }
                " and what hangs on them. Two lines are a stream, a broken line is all pulses in turn, a cut cord has a fault."
            }
        }
    }
}

/// The receiver's case with its two antennas.
fn case_of(receiver: &str, top: f64, height: f64) -> Markup {
    let name = if receiver.is_empty() { "RX" } else { receiver };
    let middle = top + height / 2.0;
    html! {
        path.line d={ "M12 " (n(top)) " C 10 " (n(top - 12.0)) " 16 " (n(top - 14.0)) " 14 " (n(top - 20.0)) " M24 " (n(top)) " C 26 " (n(top - 10.0)) " 34 " (n(top - 12.0)) " 40 " (n(top - 18.0)) } {}
        rect.case x="4" y=(n(top)) width=(n(CASE - 4.0)) height=(n(height)) rx="4" {}
        text.says x="17" y=(n(middle)) text-anchor="middle" transform={ "rotate(-90 17 " (n(middle)) ")" } { (words::clip_to(name, 10)) }
    }
}

/// The cord from its socket to its part: it hangs a little.
fn cord(place: &Place) -> Markup {
    let (from, to) = ((CASE + 5.0, place.socket), (PART - 4.0, place.y));
    let sag = 7.0;
    let curve = |shift: f64| {
        format!(
            "M{} {} C {} {} {} {} {} {}",
            n(from.0),
            n(from.1 + shift),
            n(from.0 + 34.0),
            n(from.1 + sag + shift),
            n(to.0 - 40.0),
            n(to.1 + sag + shift),
            n(to.0),
            n(to.1 + shift)
        )
    };
    if place.part.is_none() {
        // Nothing hangs on it: the socket stays empty, or a loose end says what it would carry.
        return html! { path.thin.dashes d={ "M" (n(from.0)) " " (n(from.1)) " h16" } {} };
    }
    let fault = place.wire.weight == Some(Weight::Fault);
    match place.wire.sends {
        Sends::Nothing => html! { path.cord.dotted d=(curve(0.0)) {} },
        Sends::Stream => {
            html! { path.line.flagged[fault] d=(curve(-2.5)) {} path.line.flagged[fault] d=(curve(2.5)) {} }
        }
        Sends::Train => html! { path.cord.dashes.cut[fault] d=(curve(0.0)) {} (cut(fault, from, to)) },
        Sends::Pulses => html! { path.cord.cut[fault] d=(curve(0.0)) {} (cut(fault, from, to)) },
    }
}

/// A gap with frayed ends near the part.
fn cut(fault: Cut, from: (f64, f64), to: (f64, f64)) -> Markup {
    let (x, y) = (f64::midpoint(from.0, to.0) + 6.0, f64::midpoint(from.1, to.1) + 5.0);
    html! {
        @if fault {
            circle.gap cx=(n(x)) cy=(n(y)) r="6" {}
            path.fray d={ "M" (n(x - 6.0)) " " (n(y)) " l4 -4 M" (n(x - 6.0)) " " (n(y)) " l5 1 M" (n(x - 6.0)) " " (n(y)) " l3 5 M" (n(x + 6.0)) " " (n(y)) " l-4 -4 M" (n(x + 6.0)) " " (n(y)) " l-5 1 M" (n(x + 6.0)) " " (n(y)) " l-3 5" } {}
        }
    }
}

/// Whether a cord is drawn cut.
type Cut = bool;

/// The part itself with its words.
fn end(place: &Place) -> Markup {
    let y = place.y;
    let carried = place.wire.carries.first().and_then(|one| one.function.clone());
    let function = place.part.and_then(|part| part.function.clone()).or(carried);
    let under = match (&function, place.wire.sends) {
        (Some(function), Sends::Pulses) => format!("ch {}, {function}", place.wire.channel),
        _ => sends(place.wire),
    };
    let flag = place.wire.weight.filter(|weight| *weight > Weight::Note);
    html! {
        @match place.part {
            Some(part) => {
                (part_drawn(part.sort, y))
                text.says x=(n(WORDS)) y=(n(y - 1.0)) { (words::clip_to(&part.name, 21)) }
                text.tick x=(n(WORDS)) y=(n(y + 13.0)) {
                    (words::clip_to(&under, 25))
                    @if let Some(weight) = flag { tspan.flag-words { " " (weight.word()) } }
                }
            }
            None => {
                text.tick x=(n(CASE + 28.0)) y=(n(place.socket.midpoint(y) + 4.0)) { "free: " (words::clip_to(&under, 30)) }
            }
        }
    }
}

fn part_drawn(sort: Sort, y: f64) -> Markup {
    let x = PART;
    match sort {
        // A servo: case with ears, its arm on the shaft.
        Sort::Servo => html! {
            rect.case x=(n(x)) y=(n(y - 8.0)) width="24" height="17" rx="1.5" {}
            path.line d={ "M" (n(x - 4.0)) " " (n(y - 4.0)) " h4 M" (n(x + 24.0)) " " (n(y - 4.0)) " h4 M" (n(x + 7.0)) " " (n(y - 11.0)) " L" (n(x + 22.0)) " " (n(y - 16.0)) } {}
            circle.plug cx=(n(x + 7.0)) cy=(n(y - 11.0)) r="3.4" {}
        },
        // A speed controller: a case with three leads to the motor.
        Sort::SpeedController => html! {
            rect.case x=(n(x)) y=(n(y - 9.0)) width="18" height="18" rx="3" {}
            path.line d={ "M" (n(x + 18.0)) " " (n(y - 5.0)) " h5 M" (n(x + 18.0)) " " (n(y)) " h5 M" (n(x + 18.0)) " " (n(y + 5.0)) " h5" } {}
            circle.ring cx=(n(x + 27.0)) cy=(n(y)) r="6" {}
            circle.plug cx=(n(x + 27.0)) cy=(n(y)) r="1.6" {}
        },
        Sort::Light => html! {
            circle.ring cx=(n(x + 10.0)) cy=(n(y)) r="5.5" {}
            path.line d={ "M" (n(x + 10.0)) " " (n(y - 12.0)) " v4 M" (n(x + 10.0)) " " (n(y + 8.0)) " v4 M" (n(x + 18.5)) " " (n(y)) " h4 M" (n(x + 16.5)) " " (n(y - 6.5)) " l3 -3 M" (n(x + 16.5)) " " (n(y + 6.5)) " l3 3" } {}
        },
        // A gyro: a case with its axes.
        Sort::Controller => html! {
            rect.case x=(n(x)) y=(n(y - 11.0)) width="24" height="22" rx="2" {}
            path.line d={ "M" (n(x + 12.0)) " " (n(y - 7.0)) " v14 M" (n(x + 5.0)) " " (n(y)) " h14 M" (n(x + 7.0)) " " (n(y + 5.0)) " l10 -10" } {}
        },
        Sort::Other => html! { rect.case x=(n(x)) y=(n(y - 8.0)) width="22" height="16" rx="8" {} },
    }
}
