//! What a sheet takes to be so, said beside its figures.

use super::answer::Assumption;
use super::stage::{At, Stage, Tuned};
use super::{SPELL, Setting};
use crate::fading::Scatter;
use crate::mode::Modulation;
use crate::noise::Site;

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
            "stated by the family file, not reckoned from the modulation",
        ),
        _ => say(
            "receiver's noise figure",
            format!("{}", setup.air.noise_figure),
            "from the family file, or the one that fits the public chip's data sheet; it includes losses inside",
        ),
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
        _ => say("noise at the aircraft", format!("{:.1} dB over thermal", tuned.air.desense.0), "as given"),
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
