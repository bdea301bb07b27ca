//! What is wrong with the settings.

mod surfaces;
mod throttle;

use units::{Metres, Seconds};

use super::setup::{Action, Channel, Failsafe, Own, Power, Sort};
use super::words;
use crate::finding::{Finding, Weight, sort};
use crate::outputs::{function_root, is_throttle};

/// A function that outputs use.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InUse {
    /// Its channel at the receiver, where that is known.
    pub channel: Option<u32>,
    /// What it moves, in words.
    pub function: String,
}

impl InUse {
    /// A function whose channel isn't known.
    pub fn named(function: &str) -> InUse {
        InUse { channel: None, function: function.to_owned() }
    }
}

/// What a function means for failsafe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// It drives the craft.
    Throttle,
    /// It sets the pitch of a helicopter's main rotor.
    Collective,
    /// It steers.
    Surface,
    /// Anything else: flaps, gear, modes, lights.
    Other,
}

impl Role {
    /// The role of a function, by its words. A cut, hold or arming switch is no throttle.
    pub fn of(function: &str, craft: Sort) -> Role {
        let lower = function.to_lowercase();
        let has = |list: &[&str]| {
            lower
                .split(|c: char| !c.is_alphabetic() && c != '-')
                .any(|word| list.contains(&word) || list.contains(&word.trim_end_matches('s')))
        };
        if has(&["cut", "hold", "arm", "arming", "mode", "gain"]) {
            Role::Other
        } else if is_throttle(function) {
            Role::Throttle
        } else if has(&["collective"]) || craft == Sort::Helicopter && has(&["pitch"]) {
            Role::Collective
        } else if has(&[
            "aileron",
            "elevator",
            "rudder",
            "elevon",
            "taileron",
            "ruddervator",
            "v-tail",
            "vtail",
            "canard",
            "steering",
            "roll",
            "pitch",
            "yaw",
            "cyclic",
            "tail",
            "wheel",
            "flaperon",
        ]) {
            Role::Surface
        } else {
            Role::Other
        }
    }
}

/// Without control for longer than this is worth a warning (judgement).
const SLOW_FAILSAFE_S: f64 = 2.0;
/// Control that is back later than this is slow: a club's page says `within a few seconds; if it is
/// slow, do not fly`, that more than three is more than a few is judgement.
pub(crate) const SLOW_RETURN_S: f64 = 3.0;

/// Checks the settings of every channel. `craft` is what the register says it is, `functions` are
/// those that outputs use; without any, no channel is missed.
pub fn check(failsafe: &Failsafe, craft: Option<Sort>, functions: &[InUse]) -> Vec<Finding> {
    let mut findings = Vec::new();
    if let (Some(here), Some(there)) = (failsafe.sort, craft)
        && here != there
    {
        findings.push(Finding {
            key: "craft_differs",
            weight: Weight::Warning,
            about: "craft".to_owned(),
            text: format!("The failsafe part says {}, the register {}.", here.article(), there.article()),
            consequence: format!("The settings were judged for {}.", here.article()),
            mend: "Correct the one that is wrong.".to_owned(),
        });
    }
    let failsafe = failsafe.clone().for_craft(craft);
    throttle::check(&failsafe, functions, &mut findings);
    surfaces::check(&failsafe, &mut findings);
    missing(&failsafe, functions, &mut findings);
    times(&failsafe, &mut findings);
    sort(&mut findings);
    findings
}

fn about(channel: &Channel) -> String {
    format!("channel {} ({})", channel.number, channel.function)
}

fn serves(channel: &Channel, used: &InUse) -> bool {
    match used.channel {
        Some(number) => channel.number == number,
        None => same(&channel.function, &used.function),
    }
}

fn same(one: &str, other: &str) -> bool {
    function_root(one) == function_root(other)
}

/// Functions in use without a row, rows without a function in use, rows that call it otherwise.
fn missing(failsafe: &Failsafe, functions: &[InUse], findings: &mut Vec<Finding>) {
    for used in functions {
        let named = match used.channel {
            Some(number) => format!("channel {number} ({})", used.function),
            None => used.function.clone(),
        };
        match failsafe.channels.iter().find(|channel| serves(channel, used)) {
            // A missing throttle is told with the throttle.
            None if Role::of(&used.function, failsafe.craft()) == Role::Throttle => {}
            None => findings.push(Finding {
                key: "no_failsafe_row",
                weight: Weight::Warning,
                about: named,
                text: "It is in use, and the failsafe part says nothing about it.".to_owned(),
                consequence: "What it does without a link is not known; receivers from the factory often \
                              hold the last position."
                    .to_owned(),
                mend:
                    "Read the setting at the receiver or transmitter, try it with the transmitter off, and \
                       write it down."
                        .to_owned(),
            }),
            Some(channel) if !same(&channel.function, &used.function) => findings.push(Finding {
                key: "function_differs",
                weight: Weight::Warning,
                about: about(channel),
                text: format!(
                    "The failsafe part calls it {}, the outputs call it {}.",
                    channel.function, used.function
                ),
                consequence: "The setting may stand on the wrong channel.".to_owned(),
                mend: "Move the stick and see what answers; correct the part that is wrong.".to_owned(),
            }),
            Some(_) => {}
        }
    }
    if functions.is_empty() {
        return;
    }
    for channel in &failsafe.channels {
        if !functions.iter().any(|used| serves(channel, used)) {
            findings.push(Finding {
                key: "channel_not_in_use",
                weight: Weight::Note,
                about: about(channel),
                text: "It has a failsafe setting, and no output uses it.".to_owned(),
                consequence: "The setting moves nothing.".to_owned(),
                mend: "Take the row out, or add the output.".to_owned(),
            });
        }
    }
}

fn times(failsafe: &Failsafe, findings: &mut Vec<Finding>) {
    let after = failsafe.timing.failsafe_after;
    if after.0 > SLOW_FAILSAFE_S {
        let far = failsafe.flight.map_or_else(String::new, |flight| {
            format!(
                " At the speed given it covers {} in that time.",
                words::metres(Metres(flight.speed.0 * after.0))
            )
        });
        findings.push(Finding {
            key: "slow_failsafe",
            weight: Weight::Warning,
            about: "timing".to_owned(),
            text: format!("Failsafe takes {} after the last good packet.", words::seconds(after)),
            consequence: format!("Until then it goes on with the last commands.{far}"),
            mend: "Set a shorter time where the receiver allows it.".to_owned(),
        });
    }
    if let Some(back) = failsafe.timing.control_back.filter(|back| *back > Seconds(SLOW_RETURN_S)) {
        findings.push(Finding {
            key: "slow_return",
            weight: Weight::Warning,
            about: "timing".to_owned(),
            text: format!("Control is back {} after the transmitter is.", words::seconds(back)),
            consequence: "A short loss of the link costs the aircraft.".to_owned(),
            mend: "Find out why the receiver takes so long before flying; within a few seconds is usual."
                .to_owned(),
        });
    }
}
