//! The voltage at the receiver.

use register::family::Energised;

use super::{About, Power, ProofStep, Sort};

pub(super) fn steps(about: About) -> Vec<ProofStep> {
    let mut packs = about.step(
        "packs_ready",
        &[],
        "Packs charged as for a flight, fastened, plugs whole and the right way round; a meter or a telemetry reading at \
         the receiver itself.",
    );
    packs.cautions.push("A swollen, dented, punctured or hot pack is not used.".to_owned());
    let mut steps = vec![
        packs,
        about.on("supply_on"),
        about.controls("rest_voltage", "Sticks still: write down the voltage at the receiver."),
        about.controls(
            "stirred_voltage",
            "Stir all sticks to their ends for ten seconds, everything moving at once: write down the lowest voltage. No \
             surface stutters, no lamp goes out.",
        ),
    ];
    steps.push(about.controls(
        "load_voltage",
        "Press gently against the surfaces or the steering while stirring: write down the lowest voltage.",
    ));
    // Rotors under load are held by nobody.
    let holdable = !matches!(about.craft, Sort::Helicopter | Sort::Multirotor);
    if about.power == Power::Electric && holdable {
        let mut running = about.step(
            "motor_voltage",
            &[Energised::Transmitter, Energised::Receiver, Energised::Servos, Energised::Motor],
            "Where motor and receiver share a pack or a regulator: with the motor running up under load, propeller on and \
             aircraft held, write down the lowest voltage while stirring.",
        );
        running.cautions.push(
            "The pack is out while the propeller goes back on, and when it comes off again.".to_owned(),
        );
        running.cautions.push(
            "Only with the aircraft held and nobody in the plane of the propeller; leave it out where that can't be had, \
             and say so."
                .to_owned(),
        );
        steps.push(running);
    }
    let mut warm = about.step(
        "regulator_warm",
        &[],
        "Receiver off: feel regulator, plugs and switch. Warm is usual, too hot to hold is not.",
    );
    warm.cautions.push("A failing regulator can be hot enough to burn: touch it carefully.".to_owned());
    steps.push(warm);
    steps.push(about.off("supply_off"));
    steps
}
