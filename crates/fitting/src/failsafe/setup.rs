//! The part as types.

mod reading;

use link::atmosphere::Density;
use units::{Degrees, Metres, MetresPerSecond, Micros, Seconds};

use super::area::{Polygon, Spot};
use super::fall::Body;

pub(super) use reading::of;

macro_rules! choice {
    ($( $(#[$doc:meta])* $name:ident { $( $(#[$one_doc:meta])* $one:ident = $word:literal; )* } )*) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $( $(#[$one_doc])* $one, )* }

        impl $name {
            /// Every one.
            pub const ALL: &[$name] = &[ $( $name::$one, )* ];

            /// The word in files and in JSON.
            pub fn word(self) -> &'static str {
                match self { $( $name::$one => $word, )* }
            }

            /// The one with this word.
            pub fn from_word(word: &str) -> Option<$name> {
                $name::ALL.iter().copied().find(|one| one.word() == word)
            }
        }
    )* };
}

choice! {
    /// What a channel does without a link.
    Action {
        /// It keeps its last position.
        Hold = "hold";
        /// It goes to a value.
        Value = "value";
        /// Its pulses stop.
        NoPulses = "no-pulses";
        /// Nobody set it.
        NotSet = "not-set";
    }

    /// What sort of craft.
    Sort {
        /// A powered aeroplane, or one that flies like one.
        Aeroplane = "aeroplane";
        /// A glider, with or without a motor to climb.
        Glider = "glider";
        /// A helicopter.
        Helicopter = "helicopter";
        /// A multirotor.
        Multirotor = "multirotor";
        /// A boat.
        Boat = "boat";
        /// A car or another vehicle on the ground.
        Car = "car";
    }

    /// What drives it.
    Power {
        /// An electric motor.
        Electric = "electric";
        /// An engine.
        Engine = "engine";
        /// Nothing.
        None = "none";
    }

    /// What a flight controller does by itself without a link.
    Own {
        /// Nothing.
        None = "none";
        /// It descends.
        Descend = "descend";
        /// It returns.
        Return = "return";
    }

    /// How it goes on once failsafe has taken.
    Falls {
        /// It glides.
        Glide = "glide";
        /// It falls like a stone.
        Ballistic = "ballistic";
        /// It rolls or runs out.
        Stop = "stop";
    }

    /// How it glides.
    Turning {
        /// Straight on.
        Straight = "straight";
        /// In a gentle turn.
        Gentle = "gentle";
        /// Not known.
        Unknown = "unknown";
    }
}

impl Sort {
    /// With its article: `an aeroplane`.
    pub fn article(self) -> &'static str {
        match self {
            Sort::Aeroplane => "an aeroplane",
            Sort::Glider => "a glider",
            Sort::Helicopter => "a helicopter",
            Sort::Multirotor => "a multirotor",
            Sort::Boat => "a boat",
            Sort::Car => "a car",
        }
    }

    /// Whether it stays on ground or water.
    pub(super) fn grounded(self) -> bool {
        matches!(self, Sort::Boat | Sort::Car)
    }
}

/// What one channel is set to.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    /// Its number at the receiver.
    pub number: u32,
    /// What it moves, in words.
    pub function: String,
    /// What it does without a link.
    pub action: Action,
    /// Where it goes.
    pub value: Option<Micros>,
    /// A throttle's idle or stop.
    pub idle: Option<Micros>,
    /// A throttle's full.
    pub full: Option<Micros>,
}

/// How long things take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timing {
    /// From the last good packet to failsafe.
    pub failsafe_after: Seconds,
    /// Until the surfaces are there.
    pub servo_travel: Seconds,
    /// Until the motor stands or idles.
    pub motor_stop: Seconds,
    /// Until control is back.
    pub control_back: Option<Seconds>,
}

/// How it moves when the link is lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flight {
    /// Through the air along its path; over ground or water for a car or boat.
    pub speed: MetresPerSecond,
    /// Above the ground below it.
    pub height: Metres,
    /// Where its nose points, from true north; `None` where nobody knows.
    pub heading: Option<Degrees>,
    /// The angle of its path, upwards positive.
    pub climb: Degrees,
}

/// The mean wind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// Its speed.
    pub speed: MetresPerSecond,
    /// Where it comes from, from true north.
    pub from: Degrees,
}

/// How well all that is known: one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Of the heading.
    pub heading: Degrees,
    /// Of glide ratio, drag area or slowing, as a ratio.
    pub fall: f64,
    /// Of the wind, each way.
    pub wind: MetresPerSecond,
    /// Of the place, each way.
    pub place: Metres,
}

/// How far the field reaches.
#[derive(Clone, Debug, PartialEq)]
pub enum Boundary {
    /// A circle round the pilot.
    Radius(Metres),
    /// Corners.
    Corners(Polygon),
}

/// Where it is, and how far the field reaches.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Where the link is lost, seen from the pilot; `None` where nobody said.
    pub lost: Option<Spot>,
    /// The boundary, where there is one.
    pub boundary: Option<Boundary>,
    /// The density of the air.
    pub air: Density,
}

/// The way down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Way {
    pub falls: Option<Falls>,
    pub turning: Turning,
    pub ratio: Option<f64>,
    pub glide: Option<MetresPerSecond>,
    pub turn_radius: Option<Metres>,
    pub body: Option<Body>,
    pub slowing_m_s2: Option<f64>,
}

/// The failsafe part of a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Failsafe {
    /// The channels.
    pub channels: Vec<Channel>,
    /// The sort of craft, where the part says it.
    pub sort: Option<Sort>,
    /// What drives it, where the part says it.
    pub power: Option<Power>,
    /// What its flight controller does by itself, where the part says it.
    pub own: Option<Own>,
    /// How long things take.
    pub timing: Timing,
    /// How it moves when the link is lost.
    pub flight: Option<Flight>,
    /// The wind; calm where the part says none.
    pub wind: Wind,
    /// How well it is known.
    pub spread: Spread,
    /// Where it is.
    pub field: Field,
    pub(super) way: Way,
    /// What was taken because the part doesn't say it.
    pub(super) taken: Vec<String>,
}

impl Failsafe {
    /// The same with the register's sort of craft, where the part says none.
    #[must_use]
    pub fn for_craft(mut self, craft: Option<Sort>) -> Failsafe {
        self.sort = self.sort.or(craft);
        self
    }

    /// The sort of craft it is taken for: an aeroplane where nothing says what it is.
    pub fn craft(&self) -> Sort {
        self.sort.unwrap_or(Sort::Aeroplane)
    }

    /// What it is taken to be driven by: nothing for a glider, electric else.
    pub fn driven_by(&self) -> Power {
        self.power.unwrap_or(match self.craft() {
            Sort::Glider => Power::None,
            _ => Power::Electric,
        })
    }

    /// How it is taken to go on once failsafe has taken.
    pub fn falls(&self) -> Falls {
        match (self.craft(), self.way.falls) {
            (Sort::Boat | Sort::Car, _) => Falls::Stop,
            (_, Some(falls)) => falls,
            (Sort::Aeroplane | Sort::Glider, None) => Falls::Glide,
            (Sort::Helicopter | Sort::Multirotor, None) => Falls::Ballistic,
        }
    }
}
