//! Every control moves its surface the right way.

use register::family::Energised;

use super::{About, ProofStep, Sort};

pub(super) fn steps(about: About) -> Vec<ProofStep> {
    let mut steps = vec![about.on("directions_on")];
    steps.extend(match about.craft {
        Sort::Aeroplane | Sort::Glider => vec![
            about.controls(
                "aileron_right",
                "From behind, stick right: the right aileron goes up, the left one down. Stick left: the other way.",
            ),
            about.controls("elevator_back", "Stick back: the elevator's trailing edge goes up. Forward: down."),
            about.controls("rudder_right", "Rudder right: its trailing edge goes right, and a steered wheel turns right."),
        ],
        Sort::Helicopter => vec![
            about.controls("cyclic_right", "Stick right: the swashplate tilts right. Left, forward and back likewise."),
            about.controls("collective_up", "Collective up: the blades' pitch grows."),
            about.controls(
                "tail_right",
                "Tail right: the tail's pitch moves so that the nose would turn right. Turn the nose by hand: the \
                 gyro works against the turn.",
            ),
        ],
        Sort::Multirotor => vec![
            about.controls("sticks_seen", "Each stick: the flight controller's own display shows it move the right way."),
            about.controls("tilt_seen", "Tilt the craft by hand: the flight controller shows the tilt the right way."),
            about.controls("modes_seen", "Each switch: the flight controller shows the mode that is written beside it."),
        ],
        Sort::Boat | Sort::Car => vec![
            about.controls("steering_right", "Steering right: it would turn right going forward. Left: left."),
        ],
    });
    steps.push(about.controls(
        "others_seen",
        "Every other channel: flaps, brakes, gear, lights move as written down, and back.",
    ));
    if about.powered() {
        let mut step = about.step(
            "throttle_direction",
            &[Energised::Transmitter, Energised::Receiver, Energised::Servos, Energised::Motor],
            "Throttle last: a little up from the bottom, and the motor begins to turn or the throttle begins to open, \
             the right way round; all the way down, and it stands or idles. See the throttle cut work, too.",
        );
        step.cautions.push(
            "A reversed throttle runs at full with the stick down: be ready to take the pack out.".to_owned(),
        );
        steps.push(step);
    }
    steps.push(about.controls(
        "full_travel",
        "Every control to its ends and corners: nothing binds, buzzes or pulls on another.",
    ));
    steps.push(about.off("directions_off"));
    steps
}
