//! How far and how long an aircraft goes once nothing drives it, through still air.
//!
//! Wind is not in it: a steady, even wind carries all of it along alike.

use link::atmosphere::Density;
use units::{Degrees, Metres, MetresPerSecond, Seconds};

/// Standard gravity, metres a second squared (exact; 3rd General Conference on Weights and Measures,
/// 1901; ISO 80000-3).
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// A falling body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Its mass, kilograms.
    pub mass_kg: f64,
    /// Its frontal area times its drag coefficient, square metres.
    pub drag_area_m2: f64,
}

impl Body {
    /// Its slowing by the air, `a = k v²`: `k = ρ S / 2m`, a metre (textbook drag equation; the drag
    /// area is taken to hold at every speed and attitude, which a tumbling aircraft's doesn't).
    pub fn drag_per_m(&self, air: Density) -> f64 {
        air.0 * self.drag_area_m2 / (2.0 * self.mass_kg)
    }
}

/// The moment at which a body begins to fall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shot {
    /// Height above the ground.
    pub height: Metres,
    /// Speed along its path.
    pub speed: MetresPerSecond,
    /// The angle of its path, upwards positive.
    pub climb: Degrees,
    /// [`Body::drag_per_m`]; 0 for no air.
    pub drag_per_m: f64,
}

/// Where it meets the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// After how long.
    pub time: Seconds,
    /// How far along, over level ground in still air.
    pub along: Metres,
    /// How fast it is then.
    pub speed: MetresPerSecond,
}

/// Position and speed: along, up, and their changes.
#[derive(Clone, Copy)]
struct State([f64; 4]);

impl State {
    fn change(self, drag: f64) -> [f64; 4] {
        let State([_, _, vx, vz]) = self;
        let slow = drag * vx.hypot(vz);
        [vx, vz, -slow * vx, -slow * vz - GRAVITY_M_S2]
    }

    fn moved(self, change: [f64; 4], by: f64) -> State {
        State(std::array::from_fn(|at| self.0[at] + by * change[at]))
    }

    /// One step of the classical Runge–Kutta method of fourth order (textbook).
    fn step(self, drag: f64, step: f64) -> State {
        let a = self.change(drag);
        let b = self.moved(a, step / 2.0).change(drag);
        let c = self.moved(b, step / 2.0).change(drag);
        let d = self.moved(c, step).change(drag);
        self.moved(std::array::from_fn(|at| (a[at] + 2.0 * b[at] + 2.0 * c[at] + d[at]) / 6.0), step)
    }
}

/// More steps than any fall that a part can say needs; a fall that isn't down by then ends in the air.
const MOST_STEPS: u32 = 2_000_000;

/// A fall in fixed steps of the Runge–Kutta method of fourth order; the last step is cut where it
/// meets the ground. [`ballistic`] chooses its steps by the speed.
pub fn stepped(shot: &Shot, step: Seconds) -> Landing {
    fall(shot, |_| step.0)
}

fn fall(shot: &Shot, step_at: impl Fn(State) -> f64) -> Landing {
    let climb = shot.climb.radians();
    let (vx, vz) = (shot.speed.0 * climb.cos(), shot.speed.0 * climb.sin());
    let mut state = State([0.0, shot.height.0.max(0.0), vx, vz]);
    let mut time = 0.0;
    for _ in 0..MOST_STEPS {
        let step = step_at(state);
        let next = state.step(shot.drag_per_m, step);
        if next.0[1] > 0.0 {
            (state, time) = (next, time + step);
            continue;
        }
        // Halved until the bounds can't be told apart.
        let (mut low, mut high) = (0.0, step);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if state.step(shot.drag_per_m, middle).0[1] > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        (state, time) = (state.step(shot.drag_per_m, high), time + high);
        break;
    }
    let State([along, _, vx, vz]) = state;
    Landing { time: Seconds(time), along: Metres(along), speed: MetresPerSecond(vx.hypot(vz)) }
}

/// A fall with quadratic drag, `dv/dt = −g − k |v| v` (textbook). A step is a share of the time in which
/// drag at the speed of the moment changes it, so that what was fast once doesn't cost small steps for long;
/// all are halved until distance and time change by less than 1e-8 of themselves. Holds for a drag of up to
/// 2 a metre and 1500 m of height; with more the steps may run out.
pub fn ballistic(shot: &Shot) -> Landing {
    let drag = shot.drag_per_m;
    let share = |part: f64| {
        move |state: State| {
            let State([_, _, vx, vz]) = state;
            part * (0.25 / (drag * vx.hypot(vz) + (GRAVITY_M_S2 * drag).sqrt())).min(0.1)
        }
    };
    let mut part = 1.0;
    let mut landing = fall(shot, share(part));
    for _ in 0..8 {
        part /= 2.0;
        let finer = fall(shot, share(part));
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-8 * (1e-3 + b.abs());
        let done = close(landing.along.0, finer.along.0) && close(landing.time.0, finer.time.0);
        landing = finer;
        if done {
            break;
        }
    }
    landing
}

/// A steady glide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glide {
    /// Metres forward for a metre of height, through still air.
    pub ratio: f64,
    /// Airspeed along the path.
    pub speed: MetresPerSecond,
}

/// A straight glide to level ground. Speed above the glide's is turned into height first, `(v² − u²) /
/// 2g`, a lack of speed costs as much (textbook energy height; drag beyond the glide's is not counted,
/// so a fast aircraft gets less far than this).
pub fn glide(height: Metres, before: MetresPerSecond, glide: &Glide) -> Landing {
    let gained = (before.0.powi(2) - glide.speed.0.powi(2)) / (2.0 * GRAVITY_M_S2);
    let height = (height.0 + gained).max(0.0);
    let path = height * glide.ratio.hypot(1.0);
    Landing { time: Seconds(path / glide.speed.0), along: Metres(height * glide.ratio), speed: glide.speed }
}

/// Running out at an even slowing: `v² / 2a`, `v / a` (textbook).
pub fn coast(speed: MetresPerSecond, slowing_m_s2: f64) -> Landing {
    Landing {
        time: Seconds(speed.0 / slowing_m_s2),
        along: Metres(speed.0.powi(2) / (2.0 * slowing_m_s2)),
        speed: MetresPerSecond(0.0),
    }
}

/// The radius of a level turn, `v² / (g tan bank)` (textbook).
pub fn turn_radius(speed: MetresPerSecond, bank: Degrees) -> Metres {
    Metres(speed.0.powi(2) / (GRAVITY_M_S2 * bank.radians().tan()))
}
