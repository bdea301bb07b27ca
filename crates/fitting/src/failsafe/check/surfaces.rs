//! What steers: it depends on the sort of craft (common practice, no source, unless said).

use super::{Action, Channel, Failsafe, Finding, Own, Power, Role, Sort, Weight, about};

/// A surface this far from the middle turns or pitches more than gently (judgement).
const GENTLE_US: f64 = 150.0;

pub(super) fn check(failsafe: &Failsafe, findings: &mut Vec<Finding>) {
    let craft = failsafe.craft();
    for row in &failsafe.channels {
        match Role::of(&row.function, craft) {
            Role::Throttle => {}
            Role::Collective => findings.push(collective(row)),
            Role::Surface => findings.extend(surface(failsafe, row)),
            Role::Other => findings.extend(other(row)),
        }
    }
    let collective = |row: &Channel| Role::of(&row.function, craft) == Role::Collective;
    if craft == Sort::Helicopter && !failsafe.channels.iter().any(collective) {
        findings.push(found(
            "collective_missing",
            Weight::Warning,
            "collective".to_owned(),
            "The failsafe part of a helicopter says nothing about its collective.",
            "With the motor stopped and pitch left on, the rotor slows down and it drops.",
            COLLECTIVE,
        ));
    }
    if craft == Sort::Multirotor {
        findings.push(own(failsafe));
    }
}

const COLLECTIVE: &str = "Set the collective to low pitch as the maker's manual says, together with the throttle \
                          held or cut, and try both with the main blades off.";

fn found(
    key: &'static str,
    weight: Weight,
    about: String,
    text: &str,
    consequence: &str,
    mend: &str,
) -> Finding {
    Finding {
        key,
        weight,
        about,
        text: text.to_owned(),
        consequence: consequence.to_owned(),
        mend: mend.to_owned(),
    }
}

fn own(failsafe: &Failsafe) -> Finding {
    let about = "flight controller".to_owned();
    match failsafe.own {
        Some(Own::Descend | Own::Return) => found(
            "own_behaviour",
            Weight::Note,
            about,
            "Its flight controller takes over when the link is lost.",
            "That works only if it notices: a receiver that holds may hide the loss from it.",
            "With the propellers off, switch the transmitter off and see the flight controller report it; try the \
             rest as its manual says.",
        ),
        _ => found(
            "no_own_behaviour",
            Weight::Warning,
            about,
            "Nothing says that its flight controller returns or descends by itself.",
            "A multirotor has no glide: with fixed stick values it drifts off, climbs or falls.",
            "Set its flight controller's own return or descent, and write it down as craft.own.",
        ),
    }
}

fn collective(row: &Channel) -> Finding {
    let (key, text) = match row.action {
        Action::Hold => ("collective_held", "The collective holds its last pitch."),
        Action::NotSet => {
            ("collective_not_set", "The collective was never set, which often means that it holds.")
        }
        Action::NoPulses => ("collective_no_pulses", "The pulses to the collective servo stop."),
        Action::Value => {
            return found(
                "collective_value",
                Weight::Note,
                about(row),
                "The collective goes to a set value.",
                "Whether that is low pitch depends on the linkage.",
                "See on the bench, with the main blades off, that it is the pitch that the maker's manual asks for.",
            );
        }
    };
    let consequence = "With the motor stopped and pitch left on, the rotor slows down and it drops; with the motor \
                       running it climbs away.";
    found(key, Weight::Warning, about(row), text, consequence, COLLECTIVE)
}

fn surface(failsafe: &Failsafe, row: &Channel) -> Option<Finding> {
    let craft = failsafe.craft();
    match row.action {
        Action::NotSet => Some(found(
            "surface_not_set",
            Weight::Warning,
            about(row),
            "It was never set.",
            "Receivers from the factory often hold the last position, whatever that was.",
            neutral(craft),
        )),
        Action::NoPulses if craft == Sort::Multirotor => Some(found(
            "no_pulses",
            Weight::Note,
            about(row),
            "The pulses to the flight controller stop.",
            "Many flight controllers take that as the loss of the link; whether this one does must be tried.",
            "With the propellers off, switch the transmitter off and see the flight controller report it.",
        )),
        Action::NoPulses => Some(found(
            "no_pulses",
            Weight::Warning,
            about(row),
            "Its pulses stop.",
            "What follows is up to the servo: most stay where they are or go limp, some run to an end.",
            "Switch the transmitter off and push against the surface to see what it does; set a value where that \
             isn't wanted.",
        )),
        Action::Hold => Some(held(failsafe, row)),
        Action::Value => value(craft, row),
    }
}

fn neutral(craft: Sort) -> &'static str {
    match craft {
        Sort::Aeroplane | Sort::Glider => {
            "Set it to neutral, or to a gentle turn for a stable aircraft, and see it go there with the transmitter off."
        }
        Sort::Helicopter => {
            "Set it to neutral and see it go there with the transmitter off, main blades off."
        }
        Sort::Multirotor => {
            "Leave it to the flight controller's own return or descent, set as its manual says."
        }
        Sort::Boat | Sort::Car => "Set the steering to straight or to a gentle turn and the drive to stop.",
    }
}

fn held(failsafe: &Failsafe, row: &Channel) -> Finding {
    let craft = failsafe.craft();
    let powered = failsafe.driven_by() != Power::None;
    let (weight, consequence) = match craft {
        Sort::Glider => (
            Weight::Note,
            "For a glider that can be right: a trimmed turn goes on. A glider in a dive or a loop keeps that, too.",
        ),
        Sort::Aeroplane if !powered => (Weight::Note, "It goes on as it was: a trimmed turn, or a dive."),
        Sort::Aeroplane => {
            (Weight::Warning, "It goes on as it was, be that a roll, a loop or a dive at the ground.")
        }
        Sort::Helicopter => {
            (Weight::Warning, "It keeps tilting as it was; a helicopter doesn't right itself.")
        }
        Sort::Multirotor => (
            Weight::Warning,
            "It keeps tilting as it was, and the flight controller may not notice the loss.",
        ),
        Sort::Boat => (Weight::Warning, "It circles or runs on until it has lost its way."),
        Sort::Car => (Weight::Warning, "It runs out along its last curve; at speed that can turn it over."),
    };
    found("surface_held", weight, about(row), "It holds its last position.", consequence, neutral(craft))
}

fn value(craft: Sort, row: &Channel) -> Option<Finding> {
    let Some(value) = row.value else {
        return Some(found(
            "surface_value_unknown",
            Weight::Note,
            about(row),
            "It goes to a value, and the value isn't said.",
            "Whether that is neutral or a turn can't be judged.",
            "Read the value, or see with the transmitter off where it goes, and write it down as value_us.",
        ));
    };
    let off = value.0 - 1500.0;
    if off.abs() <= GENTLE_US || craft == Sort::Multirotor {
        return None;
    }
    let text =
        format!("It goes to {:.0} us, {:.0} us from the middle of the usual range.", value.0, off.abs());
    let consequence = if craft.grounded() {
        "That is a tight turn, which can turn it over at speed."
    } else {
        "That is more than a gentle turn or pitch for most aircraft; a steep turn becomes a spiral dive."
    };
    Some(found("surface_far", Weight::Warning, about(row), &text, consequence, neutral(craft)))
}

fn other(row: &Channel) -> Option<Finding> {
    match row.action {
        Action::NotSet => Some(found(
            "other_not_set",
            Weight::Note,
            about(row),
            "It was never set.",
            "Receivers from the factory often hold the last position.",
            "Decide what it should do without a link, and write it down.",
        )),
        Action::NoPulses => Some(found(
            "no_pulses",
            Weight::Note,
            about(row),
            "Its pulses stop.",
            "What follows is up to what hangs on it.",
            "Switch the transmitter off and see what it does.",
        )),
        Action::Hold | Action::Value => None,
    }
}
