//! The failsafe: what each channel does, from the loss to the ground, where to look.
//!
//! Metres and seconds are to the hundredth; east and north are from the pilot, bearings from true
//! north.

use fitting::failsafe::area::{Ellipse as Within, Spot as Place};
use fitting::failsafe::{Answer, Failsafe as Read, Search as Sought, Timeline as Followed};
use serde::Serialize;

use super::to;

/// What a failsafe does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Failsafe {
    /// The sort of craft that was reckoned with.
    pub craft: &'static str,
    /// What drives it.
    pub power: &'static str,
    /// What each channel does without a link.
    pub channels: Vec<Channel>,
    /// From the loss to the ground; `null` where that can't be said.
    pub timeline: Option<Timeline>,
    /// Where to look; `null` where that can't be said.
    pub search: Option<Search>,
    /// Why there is no time line or no area to search; `null` where there is one.
    pub why_not: Option<String>,
}

/// What one channel does without a link.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Channel {
    /// Its number.
    pub channel: u32,
    /// What it moves.
    pub function: String,
    /// `hold`, `value`, `no-pulses` or `not-set`.
    pub action: &'static str,
    /// The pulse that it goes to.
    pub value_us: Option<f64>,
}

/// From the last good packet to the ground.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Timeline {
    /// In a sentence.
    pub sentence: String,
    /// Moment by moment.
    pub moments: Vec<Moment>,
    /// To the ground.
    pub time_s: f64,
    /// From where the link was lost, over ground.
    pub distance_m: f64,
}

/// One moment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moment {
    /// Which.
    pub key: &'static str,
    /// After the last good packet.
    pub at_s: f64,
    /// Above the ground.
    pub height_m: f64,
    /// From where the link was lost, over ground.
    pub from_lost_m: f64,
    /// Where; `null` where heading or starting place isn't known.
    pub place: Option<Spot>,
    /// What happens.
    pub text: String,
}

/// A place, seen from the pilot.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spot {
    /// East of the pilot.
    pub east_m: f64,
    /// North of the pilot.
    pub north_m: f64,
}

/// Where to look.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Search {
    /// Where to look first.
    pub sentence: String,
    /// Where to look, one place after the other.
    pub look: Vec<String>,
    /// Where the link was lost.
    pub lost: Spot,
    /// Where it comes down if all is as stated.
    pub centre: Spot,
    /// Where it comes down 95 times in 100 if it goes straight on.
    pub ellipse: Option<Ellipse>,
    /// As far as it can come, whichever way it turns.
    pub reach: Option<Disc>,
    /// How these lie in the field.
    pub field: Vec<String>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// An area that holds the place 95 times in 100.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ellipse {
    /// Its middle.
    pub centre: Spot,
    /// Half its length.
    pub half_length_m: f64,
    /// Half its width.
    pub half_width_m: f64,
    /// Where its length points.
    pub bearing_deg: f64,
}

/// Everywhere within a distance of a place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Disc {
    /// Its middle.
    pub centre: Spot,
    /// Its radius.
    pub radius_m: f64,
}

impl Failsafe {
    /// What a failsafe does, as an answer.
    pub fn new(failsafe: &Read, answer: &Answer) -> Failsafe {
        let channels = failsafe.channels.iter().map(|channel| Channel {
            channel: channel.number,
            function: channel.function.clone(),
            action: channel.action.word(),
            value_us: channel.value.map(|value| to(1, value.0)),
        });
        let why = answer.timeline.as_ref().err().or(answer.search.as_ref().err());
        Failsafe {
            craft: failsafe.craft().word(),
            power: failsafe.driven_by().word(),
            channels: channels.collect(),
            timeline: answer.timeline.as_ref().ok().map(Timeline::new),
            search: answer.search.as_ref().ok().map(Search::new),
            why_not: why.map(ToString::to_string),
        }
    }
}

/// What was reckoned with beyond what the part says, each once.
pub fn assumptions(answer: &Answer) -> Vec<String> {
    let timeline = answer.timeline.iter().flat_map(|one| &one.assumptions);
    let search = answer.search.iter().flat_map(|one| &one.assumptions);
    let mut out: Vec<String> = Vec::new();
    for one in timeline.chain(search) {
        if !out.contains(one) {
            out.push(one.clone());
        }
    }
    out
}

impl Timeline {
    fn new(timeline: &Followed) -> Timeline {
        let moments = timeline.moments.iter().map(|moment| Moment {
            key: moment.key,
            at_s: to(2, moment.at.0),
            height_m: to(2, moment.height.0),
            from_lost_m: to(2, moment.from_lost.0),
            place: moment.place.map(Spot::new),
            text: moment.text.clone(),
        });
        Timeline {
            sentence: timeline.sentence.clone(),
            moments: moments.collect(),
            time_s: to(2, timeline.time.0),
            distance_m: to(2, timeline.distance.0),
        }
    }
}

impl Search {
    fn new(search: &Sought) -> Search {
        let edges = search.ellipse_edge.iter().chain(&search.reach_edge);
        Search {
            sentence: search.sentence.clone(),
            look: search.look.clone(),
            lost: Spot::new(search.lost),
            centre: Spot::new(search.centre),
            ellipse: search.ellipse.map(Ellipse::new),
            reach: search
                .reach
                .map(|disc| Disc { centre: Spot::new(disc.centre), radius_m: to(2, disc.radius.0) }),
            field: edges.map(|edge| edge.text.clone()).collect(),
            cautions: search.cautions.clone(),
        }
    }
}

impl Spot {
    fn new(place: Place) -> Spot {
        Spot { east_m: to(2, place.east.0), north_m: to(2, place.north.0) }
    }
}

impl Ellipse {
    fn new(within: Within) -> Ellipse {
        Ellipse {
            centre: Spot::new(within.centre),
            half_length_m: to(2, within.major.0),
            half_width_m: to(2, within.minor.0),
            bearing_deg: to(1, within.bearing.0),
        }
    }
}
