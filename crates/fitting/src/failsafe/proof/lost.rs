//! What happens without a transmitter.

use register::family::Energised;

use super::{About, ProofStep, Sort};

pub(super) fn steps(about: About) -> Vec<ProofStep> {
    let alone = [Energised::Receiver, Energised::Servos];
    let mut first = about.on("failsafe_on");
    first.text.push_str(
        " Control directions come before this proof, the throttle's first of all: with the wrong direction failsafe \
         opens it.",
    );
    let mut steps = vec![first];
    if about.powered() {
        steps.push(about.step(
            "throttle_cut",
            &[Energised::Transmitter, Energised::Receiver, Energised::Servos, Energised::Motor],
            "Show the throttle cut: switch it, raise the throttle, and the motor stays still or the throttle closes.",
        ));
    }
    steps.push(about.controls(
        "sticks_off_centre",
        match about.craft {
            Sort::Multirotor => {
                "Put the sticks away from their failsafe places, so that a change can be seen on the flight \
                 controller's own display."
            }
            _ => "Hold the sticks away from their failsafe places, the throttle a little up, so that a change can be seen.",
        },
    ));
    let mut off = about.step(
        "transmitter_off",
        &alone,
        "Switch the transmitter off. Every set channel goes to its place, the throttle to idle or stopped; write down \
         after how many seconds.",
    );
    off.cautions.push(
        "A throttle that holds or opens shows itself now: stay clear of the propeller or the wheels."
            .to_owned(),
    );
    steps.push(off);
    if about.craft == Sort::Multirotor {
        steps.push(about.step(
            "loss_reported",
            &alone,
            "The flight controller reports the loss and says what it would do: descend, return or stop.",
        ));
    }
    steps.push(about.controls(
        "control_back",
        "Throttle stick down, transmitter on again: control is back within a few seconds. Write the seconds down; if it \
         is slow, don't fly.",
    ));
    let mut cold = about.step(
        "receiver_on_alone",
        &alone,
        "Receiver off, transmitter off. Then switch the receiver on with no transmitter: the motor stays still, and the \
         surfaces stay or go to their failsafe places.",
    );
    cold.cautions.push(
        "A receiver may do otherwise when it has never heard its transmitter since it was switched on: be as ready for a \
         start as in any step."
            .to_owned(),
    );
    steps.push(cold);
    steps.push(
        about.controls(
            "joined_after",
            "Transmitter on now: control comes without switching the receiver off.",
        ),
    );
    steps.push(about.off("failsafe_off"));
    steps
}
