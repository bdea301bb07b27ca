//! The way from the last good packet to the ground, through the air.

use units::{Degrees, Metres, MetresPerSecond, Seconds};

use super::check::Role;
use super::fall::{self, Glide, Landing, Shot};
use super::setup::{Action, Channel, Failsafe, Falls, Flight, Own, Power, Turning};
use super::words;
use super::{NoCourse, area::Spot};

/// What failsafe does to the drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Driven {
    /// It stands, or there is none.
    Stops,
    /// The engine idles.
    Idles,
    /// The settings don't say; taken to stop.
    Unsure,
    /// It runs on.
    RunsOn,
}

/// A throttle this much of its travel above idle drives the craft (judgement).
pub(super) const IDLE_SLACK: f64 = 0.03;

/// Where a throttle's failsafe value stands: 0 at idle or stopped, 1 at full, below 0 beyond idle.
pub(super) fn opening(channel: &Channel, grounded: Grounded) -> Option<f64> {
    let idle = channel.idle.map_or(if grounded == Grounded::Yes { 1500.0 } else { 1000.0 }, |us| us.0);
    // One that idles in the upper half is reversed.
    let full = channel.full.map_or(if idle > 1500.0 { 1000.0 } else { 2000.0 }, |us| us.0);
    let travel = full - idle;
    if travel.abs() < 1.0 { None } else { channel.value.map(|value| (value.0 - idle) / travel) }
}

/// Whether it stays on ground or water, where a throttle rests in the middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Grounded {
    Yes,
    No,
}

impl Failsafe {
    pub(super) fn grounded(&self) -> Grounded {
        if self.craft().grounded() { Grounded::Yes } else { Grounded::No }
    }

    /// What failsafe does to the drive, and why, in words; the worst of several motors.
    pub fn driven(&self) -> (Driven, String) {
        if self.driven_by() == Power::None {
            return (Driven::Stops, "nothing drives it".to_owned());
        }
        let throttles =
            self.channels.iter().filter(|one| Role::of(&one.function, self.craft()) == Role::Throttle);
        throttles
            .map(|channel| self.drive_of(channel))
            .max_by_key(|(driven, _)| *driven)
            .unwrap_or_else(|| (Driven::Unsure, "no channel is down as the throttle".to_owned()))
    }

    fn drive_of(&self, channel: &Channel) -> (Driven, String) {
        let name = format!("channel {} ({})", channel.number, channel.function);
        let alone = matches!(self.own, Some(Own::Descend | Own::Return));
        let held = if alone { Driven::Unsure } else { Driven::RunsOn };
        match channel.action {
            Action::Hold => (held, format!("{name} holds its last position")),
            Action::NotSet => (held, format!("{name} was never set, which often means that it holds")),
            Action::NoPulses => (Driven::Unsure, format!("{name} stops its pulses")),
            Action::Value => match opening(channel, self.grounded()) {
                None => (Driven::Unsure, format!("{name} goes to a value that isn't said")),
                Some(open) if open > IDLE_SLACK => {
                    (held, format!("{name} goes to {:.0} % throttle", open * 100.0))
                }
                Some(open) if open >= -IDLE_SLACK && self.driven_by() == Power::Engine => {
                    (Driven::Idles, format!("{name} goes to idle"))
                }
                Some(_) => (Driven::Stops, format!("{name} stops the motor")),
            },
        }
    }
}

/// What happens at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step {
    Lost,
    Failsafe,
    Surfaces,
    Motor,
    Contact,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    pub step: Step,
    pub at: Seconds,
    pub height: Metres,
    pub along: Metres,
}

/// A way to the ground.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub marks: Vec<Mark>,
    /// Along its nose, before it glides, falls or runs out.
    pub held: Metres,
    /// Along its nose, all of it.
    pub along: Metres,
    pub time: Seconds,
    /// It flew into the ground before anything else began.
    pub dived: Option<Seconds>,
    /// The speed at which it meets the ground.
    pub speed: MetresPerSecond,
}

/// What the way down is reckoned with.
pub(super) fn ratio(failsafe: &Failsafe) -> f64 {
    failsafe.way.ratio.unwrap_or(match failsafe.craft() {
        super::Sort::Glider => 15.0,
        _ => 8.0,
    })
}

pub(super) fn glide_speed(failsafe: &Failsafe, flight: &Flight) -> MetresPerSecond {
    failsafe.way.glide.unwrap_or(MetresPerSecond(flight.speed.0.max(1.0)))
}

pub(super) fn turn_radius(failsafe: &Failsafe, flight: &Flight) -> Metres {
    let glide = glide_speed(failsafe, flight);
    failsafe.way.turn_radius.unwrap_or_else(|| fall::turn_radius(glide, Degrees(15.0)))
}

/// The way down, with what it is reckoned with scaled.
fn down(failsafe: &Failsafe, flight: &Flight, height: Metres, scale: f64) -> Landing {
    match failsafe.falls() {
        Falls::Glide => {
            let how = Glide { ratio: ratio(failsafe) * scale, speed: glide_speed(failsafe, flight) };
            fall::glide(height, flight.speed, &how)
        }
        Falls::Ballistic => {
            let drag = failsafe.way.body.map_or(0.0, |body| body.drag_per_m(failsafe.field.air));
            let (speed, climb) = (flight.speed, flight.climb);
            fall::ballistic(&Shot { height, speed, climb, drag_per_m: drag * scale })
        }
        Falls::Stop => fall::coast(flight.speed, failsafe.way.slowing_m_s2.unwrap_or(1.0) * scale),
    }
}

/// The whole way. Until the motor has stopped (or, without one, until the surfaces are there) it is
/// taken to go on along its path.
pub(super) fn course(failsafe: &Failsafe, flight: &Flight, scale: f64) -> Course {
    let grounded = failsafe.falls() == Falls::Stop;
    let climb = if grounded { Degrees(0.0) } else { flight.climb };
    let start = if grounded { Metres(0.0) } else { flight.height };
    let (sin, cos) = climb.radians().sin_cos();
    let (forward, up) = (flight.speed.0 * cos, flight.speed.0 * sin);
    let hits = if up < 0.0 { start.0 / -up } else { f64::INFINITY };
    let timing = &failsafe.timing;
    let taken = timing.failsafe_after;
    let surfaces = taken + timing.servo_travel;
    let powered = failsafe.driven_by() != Power::None;
    let motor = powered.then_some(taken + timing.motor_stop);
    let free = motor.map_or(surfaces, |motor| Seconds(motor.0.max(surfaces.0)));
    let mut steps = vec![(Step::Lost, Seconds(0.0)), (Step::Failsafe, taken), (Step::Surfaces, surfaces)];
    steps.extend(motor.map(|motor| (Step::Motor, motor)));
    steps.sort_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let held = |at: Seconds, step: Step| Mark {
        step,
        at,
        height: Metres((start.0 + up * at.0).max(0.0)),
        along: Metres(forward * at.0),
    };
    let mut marks: Vec<Mark> =
        steps.iter().filter(|(_, at)| at.0 < hits).map(|(step, at)| held(*at, *step)).collect();
    if hits <= free.0 {
        let contact = held(Seconds(hits), Step::Contact);
        marks.push(contact);
        let (along, speed) = (contact.along, flight.speed);
        return Course { marks, held: along, along, time: contact.at, dived: Some(contact.at), speed };
    }
    let last = held(free, Step::Contact);
    let landing = down(failsafe, flight, last.height, scale);
    let (along, time) = (last.along + landing.along, free + landing.time);
    marks.push(Mark { step: Step::Contact, at: time, height: Metres(0.0), along });
    Course { marks, held: last.along, along, time, dived: None, speed: landing.speed }
}

/// How the wind carries it in a time: metres east and north.
pub(super) fn carried(failsafe: &Failsafe, spot: Spot, time: Seconds) -> Spot {
    if failsafe.falls() == Falls::Stop {
        return spot;
    }
    spot.along(Degrees(failsafe.wind.from.0 + 180.0), Metres(failsafe.wind.speed.0 * time.0))
}

/// The flight, where the way can be followed.
pub(super) fn flight(failsafe: &Failsafe) -> Result<&Flight, NoCourse> {
    let flight = failsafe.flight.as_ref().ok_or(NoCourse::NoFlight)?;
    match failsafe.driven() {
        (Driven::RunsOn, why) => Err(NoCourse::RunsOn(why)),
        _ => Ok(flight),
    }
}

/// What the way was reckoned with beyond what the part says.
pub(super) fn assumptions(failsafe: &Failsafe, flight: &Flight) -> Vec<String> {
    let mut out =
        vec!["Level ground as high as that below it, a steady wind, nothing in the way.".to_owned()];
    if failsafe.sort.is_none() {
        out.push("An aeroplane, as nothing says what it is.".to_owned());
    }
    if failsafe.driven().0 == Driven::Unsure {
        out.push(format!("The motor stops at failsafe, though {}.", failsafe.driven().1));
    }
    if failsafe.driven().0 == Driven::Idles {
        out.push("An idling engine doesn't stretch the glide; it does a little.".to_owned());
    }
    if !failsafe.taken.is_empty() {
        out.push(format!("Taken, as the part doesn't say: {}.", failsafe.taken.join("; ")));
    }
    match failsafe.falls() {
        Falls::Glide => {
            if failsafe.way.ratio.is_none() {
                out.push(format!("A glide ratio of {}, as none is given (judgement).", ratio(failsafe)));
            }
            if failsafe.way.glide.is_none() {
                out.push("It glides at the speed at which it flies, as no glide speed is given.".to_owned());
            }
            if failsafe.way.turning == Turning::Gentle && failsafe.way.turn_radius.is_none() {
                let radius = words::metres(turn_radius(failsafe, flight));
                out.push(format!("A turn radius of {radius}, that of 15 degrees of bank."));
            }
        }
        Falls::Ballistic => {
            if failsafe.way.body.is_none() {
                out.push(
                    "No air drag, as no mass and drag area are given: it falls shorter than this.".to_owned(),
                );
            }
            if matches!(failsafe.own, Some(Own::Descend | Own::Return)) {
                out.push("Its flight controller doesn't catch it; where it does, that decides.".to_owned());
            }
        }
        Falls::Stop => {
            if failsafe.way.slowing_m_s2.is_none() {
                out.push("It slows by 1 m/s each second, as nothing is given (judgement).".to_owned());
            }
            if failsafe.craft() == super::Sort::Boat {
                out.push("Wind and stream that carry a stopped boat are not in it.".to_owned());
            }
        }
    }
    out
}
