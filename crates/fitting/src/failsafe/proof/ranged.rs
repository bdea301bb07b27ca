//! The ground range check.

use register::family::Energised;

use super::{About, ProofStep, Sort};

pub(super) fn steps(about: About) -> Vec<ProofStep> {
    let mut ready = about.step(
        "range_place",
        &[],
        if about.craft.grounded() {
            "Set it as it runs, on open ground or at the water's edge, away from fences, cars and other transmitters."
        } else {
            "Raise the aircraft 0.6 to 1 m off the ground in its flying attitude, away from fences, cars and other \
             transmitters."
        },
    );
    ready.cautions.push("Tell others at the field before a transmitter goes to reduced power.".to_owned());
    let mut reduced = about.controls(
        "reduced_power",
        "Put the transmitter into its range-check mode, as the maker's manual says, and see that it shows it.",
    );
    reduced.cautions.push("Never take off in this mode.".to_owned());
    let mut steps = vec![
        ready,
        about.on("range_on"),
        reduced,
        about.controls(
            "motor_off_walk",
            "Motor off: walk 30 paces, or the maker's distance, while somebody at the aircraft watches. Move every control \
             all the way: smooth, no jitter, no lag, no failsafe.",
        ),
        about.controls(
            "headings",
            "Have it turned: nose to you, tail to you, and at least four headings in all. Note the worst one.",
        ),
    ];
    if about.powered() {
        let mut running = about.step(
            "motor_on_walk",
            &[Energised::Transmitter, Energised::Receiver, Energised::Servos, Energised::Motor],
            match about.craft {
                Sort::Helicopter => {
                    "Again with the motor running, main and tail blades off, at the same distance and headings."
                }
                _ => "Again with the motor running, slowly from idle to full and back, at the same distance and headings.",
            },
        );
        running
            .cautions
            .push("Agree on a sign for stop; whoever stands by the aircraft has the last word.".to_owned());
        steps.push(running);
    }
    steps.push(about.controls(
        "distance_noted",
        "Walk on until control first falters, as far as the site allows; write down the distance, the reduction and the \
         worst heading. Clearly shorter than last time: find out why before flying.",
    ));
    steps.push(about.controls("full_power_back", "Back to full power, and see the transmitter show it."));
    steps.push(about.off("range_off"));
    steps
}
