//! The throttle: the least acceptable setting is idle for an engine, stopped for an electric motor
//! (as national associations' club safety pages say).

use super::super::course::{IDLE_SLACK, opening};
use super::{Action, Channel, Failsafe, Finding, InUse, Own, Power, Role, Sort, Weight, about};

/// More of the travel than a throttle cut takes beyond idle (judgement).
const FAR_BEYOND: f64 = 0.4;

const HELD: &str = "Without a link it goes on under power, out of anybody's hands; a throttle that was held \
                    open has led to a death.";

pub(super) fn check(failsafe: &Failsafe, functions: &[InUse], findings: &mut Vec<Finding>) {
    let craft = failsafe.craft();
    let is_throttle = |function: &str| Role::of(function, craft) == Role::Throttle;
    let rows: Vec<_> = failsafe.channels.iter().filter(|one| is_throttle(&one.function)).collect();
    let used: Vec<_> = functions.iter().filter(|used| is_throttle(&used.function)).collect();
    if failsafe.driven_by() == Power::None {
        if let Some(row) = rows.first() {
            findings.push(Finding {
                key: "throttle_without_power",
                weight: Weight::Warning,
                about: about(row),
                text: format!("It is a throttle, and {} without a motor was taken.", craft.article()),
                consequence: "The throttle was not judged.".to_owned(),
                mend: "Say what drives it: craft.power = \"electric\" or \"engine\".".to_owned(),
            });
        } else if let Some(one) = used.first() {
            findings.push(Finding {
                key: "throttle_without_power",
                weight: Weight::Warning,
                about: one.function.clone(),
                text: format!(
                    "The outputs use a throttle, and {} without a motor was taken.",
                    craft.article()
                ),
                consequence: "What the motor does without a link was not judged.".to_owned(),
                mend: "Say what drives it, craft.power = \"electric\" or \"engine\", and what its throttle \
                       does; or take the throttle out of the outputs."
                    .to_owned(),
            });
        }
        return;
    }
    for row in &rows {
        findings.extend(judge(failsafe, row));
        if row.action == Action::Value && row.value.is_some() && row.idle.is_none() {
            let idle = if craft.grounded() { "1500" } else { "1000" };
            findings.push(Finding {
                key: "idle_not_said",
                weight: Weight::Note,
                about: about(row),
                text: format!("Its idle or stopped value isn't given; {idle} us was taken."),
                consequence:
                    "With the throttle reversed, the value that stops it is at the other end, and this \
                              judgement is wrong."
                        .to_owned(),
                mend:
                    "Read the pulse width with the stick at idle and write it down as idle_us, that of full \
                       throttle as full_us."
                        .to_owned(),
            });
        }
    }
    let mut missed: Vec<String> = used
        .iter()
        .filter(|used| !rows.iter().any(|row| super::serves(row, used)))
        .map(|used| used.function.clone())
        .collect();
    if rows.is_empty() && used.is_empty() {
        missed.push("throttle".to_owned());
    }
    findings.extend(missed.into_iter().map(|name| {
        found(
            "throttle_missing",
            Weight::Fault,
            name,
            "It is powered, and the failsafe part says nothing about this throttle.".to_owned(),
            format!("Receivers from the factory often hold the last position. {HELD}"),
            stop(failsafe),
        )
    }));
}

fn found(
    key: &'static str,
    weight: Weight,
    about: String,
    text: String,
    consequence: String,
    mend: String,
) -> Finding {
    Finding { key, weight, about, text, consequence, mend }
}

fn stop(failsafe: &Failsafe) -> String {
    let how = match (failsafe.craft(), failsafe.driven_by()) {
        (Sort::Multirotor, _) => {
            "Set what makes its flight controller take its own return or descent, or the motors stopped, as its \
             manual says"
        }
        (_, Power::Engine) => "Set it to idle, or to the value that stops the engine",
        _ => "Set it to the value at which the motor stands",
    };
    format!(
        "{how}; prove the throttle's direction first, with the propeller off, then try it with the transmitter off."
    )
}

fn judge(failsafe: &Failsafe, row: &Channel) -> Option<Finding> {
    let whose = failsafe.craft().article();
    let fault = |key, text: String, consequence: String| {
        Some(found(key, Weight::Fault, about(row), text, consequence, stop(failsafe)))
    };
    let warning = |key, text: String, consequence: &str, mend: String| {
        Some(found(key, Weight::Warning, about(row), text, consequence.to_owned(), mend))
    };
    match row.action {
        Action::Hold => fault(
            "throttle_held",
            format!("The throttle of {whose} holds its last position."),
            HELD.to_owned(),
        ),
        Action::NotSet => fault(
            "throttle_not_set",
            format!("The throttle of {whose} was never set."),
            format!("Receivers from the factory often hold the last position. {HELD}"),
        ),
        // What its flight controller makes of that is told with the flight controller.
        Action::NoPulses
            if failsafe.craft() == Sort::Multirotor
                && matches!(failsafe.own, Some(Own::Descend | Own::Return)) =>
        {
            None
        }
        Action::NoPulses => warning(
            "throttle_no_pulses",
            "The pulses to the speed controller or throttle servo stop.".to_owned(),
            "What follows is up to what hangs on it: most speed controllers stop, a throttle servo stays where it \
             is or goes limp.",
            "Try it with the propeller off: motor turning slowly, transmitter off, and see what it does; set a \
             value where it doesn't stop."
                .to_owned(),
        ),
        Action::Value => match opening(row, failsafe.grounded()) {
            None => warning(
                "throttle_value_unknown",
                "It goes to a value, and the value isn't said.".to_owned(),
                "Whether that value stops the motor can't be judged.",
                "Read the value, or try it with the propeller off, and write it down as value_us.".to_owned(),
            ),
            Some(open) if open > IDLE_SLACK => fault(
                "throttle_above_idle",
                format!(
                    "It goes to {:.0} us, {:.0} % of the way from idle to full.",
                    row.value.map_or(0.0, |value| value.0),
                    open * 100.0
                ),
                "Without a link it goes on under power, out of anybody's hands.".to_owned(),
            ),
            Some(open) => rest(failsafe, row, open),
        },
    }
}

/// At idle, or beyond it.
fn rest(failsafe: &Failsafe, row: &Channel, open: f64) -> Option<Finding> {
    let note = |key, weight, text: &str, consequence: &str, mend: &str| {
        Some(found(key, weight, about(row), text.to_owned(), consequence.to_owned(), mend.to_owned()))
    };
    if failsafe.craft().grounded() && open < -IDLE_SLACK {
        return note(
            "throttle_brake_or_reverse",
            Weight::Warning,
            "It goes beyond the resting value, to brake or reverse.",
            "A speed controller that reverses drives it backwards without a link.",
            "Try it with the wheels or the propeller free; set the resting value where it doesn't only brake.",
        );
    }
    if !failsafe.craft().grounded() && open < -FAR_BEYOND {
        return note(
            "throttle_far_beyond_idle",
            Weight::Warning,
            "It goes far beyond idle, away from full throttle.",
            "If idle and full are written the wrong way round, or the motor can go backwards, it runs without a link.",
            "Compare idle_us and full_us with what the sticks send, then try it with the propeller off.",
        );
    }
    if failsafe.craft() == Sort::Multirotor && !matches!(failsafe.own, Some(Own::Descend | Own::Return)) {
        return note(
            "multirotor_stops",
            Weight::Warning,
            "The motors of a multirotor stop at failsafe.",
            "It falls from where it is, onto whatever is below.",
            "Prefer its flight controller's own return or descent, set and tried as its manual says; flying only \
             where nobody is below stays the rule.",
        );
    }
    if failsafe.driven_by() == Power::Engine && open >= -IDLE_SLACK {
        return note(
            "engine_idles",
            Weight::Note,
            "The engine goes on at idle.",
            "That is the least that is asked for; it can still hurt on the ground.",
            "Some sites ask for an engine that stops: then set the value that cuts it.",
        );
    }
    None
}
