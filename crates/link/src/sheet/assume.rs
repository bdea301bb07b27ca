//! What a sheet takes to be so, said beside its figures.

use super::answer::Assumption;
use super::stage::{At, Stage, Tuned};
use super::{SPELL, Setting};
use crate::antenna::CROSS_POLAR;
use crate::attitude::{NULL_DEPTH, Pointing};
use crate::fading::Scatter;
use crate::mode::Modulation;
use crate::noise::Site;
use crate::path::{DEEPEST_NULL, ROUGHNESS};

/// Everything that was taken to be so, in the order of the staircase.
pub(super) fn assumptions(stage: &Stage, setting: &Setting, tuned: &Tuned, at: &At) -> Vec<Assumption> {
    let setup = stage.setup;
    let mut list = Vec::new();
    let mut say = |what, value: String, why: &str| {
        list.push(Assumption { what, value, why: why.to_owned() });
    };
    match &setting.mode.modulation {
        Modulation::Stated { .. } => say(
            "sensitivity",
            format!("{}", tuned.air.sensitivity),
            "stated by the family file, not reckoned from the modulation; noise from outside is set against a usual \
             receiver's own, in 500 kHz where no bandwidth is stated",
        ),
        _ => say("receiver's noise figure", format!("{}", setup.air.noise_figure), setup.air.from),
    }
    if let Some(why) = tuned.air.curve().assumed() {
        say("packet loss against level", "taken over".to_owned(), why);
    }
    say(
        "ground",
        format!(
            "{} (permittivity {}, {} S/m)",
            setup.path.ground.name, setup.path.ground.permittivity, setup.path.ground.conductivity_s_m
        ),
        setup.path.ground.source,
    );
    say(
        "earth's curvature",
        format!("effective radius {:.2} times the true one", setup.path.earth_k),
        "4/3 is the usual average (Rec. ITU-R P.452/P.526 use the median of the place)",
    );
    if setup.path.profile.is_none() {
        say("terrain", "level ground".to_owned(), "no profile was given");
    }
    antennas_and_ground(stage, &mut say);
    match (at.scatter(stage), setup.scatter) {
        (Scatter::Rayleigh, _) => say("fading", "no direct wave (Rayleigh)".to_owned(), "as chosen"),
        (Scatter::Rician { k }, Some(_)) => say("fading", format!("Rician, K {:.1} dB", k.0), "as chosen"),
        (Scatter::Rician { k }, None) => say(
            "fading",
            format!("Rician, K {:.1} dB", k.0),
            "by elevation: 15 dB well above the ground (3GPP TR 36.777, B.1.3), less near it (judgement)",
        ),
    }
    say(
        "shadowing",
        format!("log-normal, {:.1} dB", stage.shadowing.0),
        if setup.shadowing.is_some() {
            "as chosen"
        } else {
            "by height: 4.2 exp(-0.0046 h) dB (3GPP TR 36.777, table B-3, rural with a line of sight)"
        },
    );
    say(
        "attitude",
        setup.motion.word().to_owned(),
        "64 equally likely attitudes; the combined gain of both antennas in each",
    );
    say(
        "height",
        format!("{} and {:.0} % to either side", setup.path.air_height, setup.flight.height_spread * 100.0),
        "an aircraft doesn't hold its height to a wave's length: five heights, equally likely; where the ray off the \
         ground cancels the direct one, a few metres more or less bring it back",
    );
    say(
        "spell",
        format!("{} s", SPELL.0),
        "how long one attitude and shadow last; a judgement, about the time of a manoeuvre",
    );
    match &setup.air.site {
        Site::Quiet => say(
            "noise at the aircraft",
            "thermal only".to_owned(),
            "man-made noise of the broadband kind lies below it in these bands (Rec. ITU-R P.372, extrapolated); \
             other transmitters are reckoned apart. A measured floor is better",
        ),
        Site::Environment(environment) => say(
            "noise at the aircraft",
            format!("{}: {:.1} dB over the receiver's own", environment.word(), tuned.air.desense.0),
            "Rec. ITU-R P.372-16, extrapolated far beyond the 250 MHz up to which it is published",
        ),
        Site::Measured { .. } => say(
            "noise at the aircraft",
            format!("{:.1} dB over the receiver's own", tuned.air.desense.0),
            "the measured floor, taken as white noise; the transmitter's own receiver hears the same",
        ),
    }
    others(stage, setting, &mut say);
    say(
        "what isn't known",
        format!("{:.1} dB (one standard deviation)", setup.uncertainty.0),
        "antennas on the airframe, noise figures, the ground: a judgement; it makes the interval of each distance",
    );
    if setting.mode.airtime().ok().flatten().is_none() {
        say("time on the air", "one whole slot".to_owned(), "the family file doesn't state it");
    }
    list
}

/// What is taken to be so of antennas, and of the ground as a mirror.
fn antennas_and_ground(stage: &Stage, say: &mut impl FnMut(&'static str, String, &str)) {
    let setup = stage.setup;
    say(
        "two rays",
        format!("ground rough by {} cm, nulls no deeper than {:.0} dB", ROUGHNESS.0 * 100.0, DEEPEST_NULL.0),
        "a judgement: no field is a perfect mirror",
    );
    if let Some(trees) = &setup.path.trees {
        say("trees", trees.model.word().to_owned(), "one of several published fits; in leaf");
    }
    say(
        "fields at an angle",
        format!(
            "at most {:.0} dB lost; an antenna's own nulls filled to {:.0} dB",
            CROSS_POLAR.0, NULL_DEPTH.0
        ),
        "a judgement: reflections always leave something (common practice says 15 to 25 dB)",
    );
    if let Pointing::OffBy(off) = setup.ground_antenna.pointing {
        say(
            "how the transmitter is held",
            format!("{:.0} degrees off its antenna's best direction", off.0),
            "a judgement unless you said it: hands move, and pointing a wire at the aircraft turns its null there",
        );
    }
    if let Some(shadow) = &setup.mounting.shadow {
        say(
            "the airframe's shadow",
            format!("{:.0} dB within {:.0} degrees of one direction", shadow.loss.0, shadow.half_angle.0),
            "a judgement unless you said it: pack, motor and carbon hide the antennas",
        );
    }
    say(
        "frames",
        format!(
            "handset {} ms, servo {} ms, {} ms besides",
            setup.frames.handset.ms(),
            setup.frames.servo.ms(),
            setup.frames.processing.ms()
        ),
        "a judgement unless you said it: look at your gear's own figures",
    );
    if !setup.sensors.is_empty() {
        say(
            "sensors",
            "the whole payload carries their bytes, and no packet is lost".to_owned(),
            "headers and losses make values come later than shown",
        );
    }
    if setup.region.is_some() {
        say(
            "hop channels' place",
            "in the middle of the band".to_owned(),
            "the family file says how many and how far apart, not where they begin",
        );
    }
    if !setup.neighbours.wifi.is_empty() {
        say(
            "Wi-Fi",
            format!("bursts of {} ms", super::WIFI_BURST.ms()),
            "a judgement: from a few tenths to a few milliseconds",
        );
    }
}

/// What is taken to be so of failsafes and of other transmitters.
fn others(stage: &Stage, setting: &Setting, say: &mut impl FnMut(&'static str, String, &str)) {
    let setup = stage.setup;
    if setup.failsafe_after.is_some() {
        say(
            "chance of a failsafe",
            "staying at this distance".to_owned(),
            "fading correlated at flying speed (Clarke 1968), within a factor of 3 of simulation; hopping over \
             frequencies is not credited",
        );
    }
    if setup.neighbours.links > 0 || !setup.neighbours.wifi.is_empty() {
        say(
            "other transmitters",
            "every packet that overlaps with another on its channel is lost".to_owned(),
            "the worst case: a receiver rides through weaker ones (SX1280/81 data sheet Rev 2.2: chirps stand 7.5 dB \
             at SF7 to 19.5 dB at SF12 of the same sort)",
        );
        if setup.hops.channels.is_none() {
            let plan = super::hop_plan(setup, setting);
            say(
                "hop channels",
                plan.channels.to_string(),
                "as many as fit the band side by side: the family file doesn't say",
            );
        }
    }
}
