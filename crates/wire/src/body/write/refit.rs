//! Bodies of refits.

use register::id::{DeviceId, EntryId};
use register::refit::{Begun, Event, Placed, Reach, Wish};
use units::Minutes;

use super::{Object, end_ref, list, plain, shown, write_secret};
use crate::push_text;

/// Nothing where minutes are no number that JSON has, or below 0.
pub(super) fn begun(object: &mut Object, begun: &Begun) -> Option<()> {
    object.text("name", &begun.name);
    list(object.key("links"), &begun.links, |out, kept| {
        out.push_str(r#"{"transmitter":"#);
        plain(out, kept.transmitter);
        plain(key(out, "aircraft"), kept.aircraft);
        out.push('}');
    });
    plan(object, &begun.wishes, &begun.placed)
}

/// Nothing where minutes are no number that JSON has, or below 0.
pub(super) fn event(object: &mut Object, refit: EntryId, event: &Event) -> Option<()> {
    object.plain("refit", refit);
    match event {
        Event::Ticked { step, text, evening } => {
            object.text("did", "ticked");
            object.text("step", step);
            object.text("text", text);
            shown(object.key("evening"), evening);
        }
        Event::Deferred { what, until } => {
            object.text("did", "deferred");
            object.plain("what", what);
            shown(object.key("until"), until);
        }
        Event::Planned { wishes, placed } => {
            object.text("did", "planned");
            plan(object, wishes, placed)?;
        }
        Event::Ended { how } => {
            object.text("did", "ended");
            object.text("how", how.word());
        }
    }
    Some(())
}

fn plan(object: &mut Object, wishes: &[Wish], placed: &[Placed]) -> Option<()> {
    if !wishes.iter().all(has_good_minutes) {
        return None;
    }
    list(object.key("wishes"), wishes, write_wish);
    list(object.key("placed"), placed, write_placed);
    Some(())
}

fn has_good_minutes(wish: &Wish) -> bool {
    let good = |minutes: &Minutes| minutes.0.is_finite() && minutes.0 >= 0.0;
    match wish {
        Wish::Evenings { minutes } => minutes.iter().all(good),
        Wish::Cover { minutes, .. } => good(minutes),
        _ => true,
    }
}

fn write_wish(out: &mut String, wish: &Wish) {
    match wish {
        Wish::Version { end, version } => {
            begin(out, "version");
            end_ref(key(out, "end"), end);
            push_text(key(out, "version"), version);
        }
        Wish::Newest { family } => {
            begin(out, "newest");
            push_text(key(out, "family"), family);
        }
        Wish::Secret { on, mark } => {
            begin(out, "secret");
            match on {
                Reach::Family(family) => push_text(key(out, "family"), family),
                Reach::Ends(ends) => list(key(out, "ends"), ends, end_ref),
            }
            write_secret(key(out, "secret"), mark);
        }
        Wish::AllPair => begin(out, "all-pair"),
        Wish::Need { aircraft, transmitters } => {
            begin(out, "need");
            plain(key(out, "aircraft"), aircraft);
            list(key(out, "transmitters"), transmitters, |out, one| plain(out, one));
        }
        Wish::LetGo { aircraft, transmitter } => {
            begin(out, "let-go");
            plain(key(out, "aircraft"), aircraft);
            device_or_none(key(out, "transmitter"), *transmitter);
        }
        Wish::Stay { device } => {
            begin(out, "stay");
            plain(key(out, "device"), device);
        }
        Wish::Replace { receiver, by, cost } => {
            begin(out, "replace");
            plain(key(out, "receiver"), receiver);
            device_or_none(key(out, "by"), *by);
            shown(key(out, "cost"), cost);
        }
        Wish::Evenings { minutes } => {
            begin(out, "evenings");
            list(key(out, "each"), minutes, |out, one| write_minutes(out, *one));
        }
        Wish::Fly { aircraft, after } => {
            begin(out, "fly");
            plain(key(out, "aircraft"), aircraft);
            shown(key(out, "after"), after);
        }
        Wish::Grounded { most } => {
            begin(out, "grounded");
            shown(key(out, "most"), most);
        }
        Wish::Cover { aircraft, minutes } => {
            begin(out, "cover");
            plain(key(out, "aircraft"), aircraft);
            write_minutes(key(out, "minutes"), *minutes);
        }
    }
    out.push('}');
}

fn write_placed(out: &mut String, placed: &Placed) {
    out.push_str(r#"{"what":"#);
    plain(out, placed.what);
    shown(key(out, "evening"), placed.evening);
    list(key(out, "ends"), &placed.ends, |out, work| {
        out.push_str(r#"{"end":"#);
        end_ref(out, &work.end);
        push_text(key(out, "version"), &work.version);
        push_text(key(out, "route"), &work.route);
        out.push('}');
    });
    list(key(out, "replaced"), &placed.replaced, |out, one| plain(out, one));
    out.push('}');
}

/// A wish's object up to its word.
fn begin(out: &mut String, wish: &str) {
    shown(out, format_args!(r#"{{"wish":"{wish}""#));
}

fn key<'a>(out: &'a mut String, key: &str) -> &'a mut String {
    shown(out, format_args!(",\"{key}\":"));
    out
}

fn device_or_none(out: &mut String, device: Option<DeviceId>) {
    match device {
        Some(device) => plain(out, device),
        None => out.push_str("null"),
    }
}

/// The fewest digits that read back as the same number; the sum makes 0 of -0.
fn write_minutes(out: &mut String, minutes: Minutes) {
    shown(out, minutes.0 + 0.0);
}
