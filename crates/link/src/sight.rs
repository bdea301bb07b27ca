//! How far an aircraft can be seen, and how high it may fly.
//!
//! A link that reaches farther than the eye does not make the flight longer: nearly every
//! rule wants the aircraft in sight. Planning aids; local rules prevail.

use units::Metres;

use crate::bounds::{Bound, OutOfRange};

/// A wing span.
pub const SPAN: Bound = Bound {
    name: "span_m",
    unit: "m",
    low: 0.05,
    high: 15.0,
    why: "from an indoor model to the largest ones",
};

/// The angle under which the span must appear for its attitude to be told, minutes of arc.
///
/// A judgement, no source: the eye parts two lines about one minute of arc apart (the
/// definition of normal visual acuity), and telling a wing's tilt wants several times that.
pub const ATTITUDE_ARC_MINUTES: f64 = 5.0;

/// How far away the attitude of an aircraft of this span can be told by the naked eye in
/// clear air.
///
/// # Errors
/// [`OutOfRange`] for a span outside [`SPAN`].
pub fn sight_distance(span: Metres) -> Result<Metres, OutOfRange> {
    let span = SPAN.check(span.0)?;
    Ok(Metres(span / (ATTITUDE_ARC_MINUTES / 60.0).to_radians().tan()))
}

/// How surely a rule's text is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// Read in the rule itself.
    Text,
    /// Read where somebody quoted it.
    SecondHand,
    /// From memory.
    Memory,
}

/// A height above ground that a region's rule names.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeightRule {
    /// The region, as in the table of radio limits.
    pub region: &'static str,
    /// The greatest height above ground.
    pub height: Metres,
    /// Where it stands.
    pub source: &'static str,
    /// How surely.
    pub known: Known,
}

/// The height rules that are known. Clubs and single sites may have others.
pub const HEIGHT_RULES: [HeightRule; 6] = [
    HeightRule {
        region: "US",
        height: Metres(121.92),
        source: "49 USC 44809(a)(6): 400 ft above ground in class G airspace",
        known: Known::Text,
    },
    HeightRule {
        region: "EU",
        height: Metres(120.0),
        source: "(EU) 2019/947 UAS.OPEN.010(2) to (4): 120 m from the closest point of the surface; unmanned \
                 sailplanes under 10 kg 120 m over the pilot",
        known: Known::Text,
    },
    HeightRule {
        region: "GB",
        height: Metres(120.0),
        source: "CAP 1789A (February 2021), article 4: 120 m",
        known: Known::Text,
    },
    HeightRule {
        region: "AU",
        height: Metres(121.92),
        source: "CASR 101.085, 101.400: 400 ft outside approved areas, as quoted second-hand",
        known: Known::SecondHand,
    },
    HeightRule {
        region: "NZ",
        height: Metres(120.0),
        source: "Civil Aviation Rules part 101: 120 m, as a club's summary has it",
        known: Known::SecondHand,
    },
    HeightRule {
        region: "CA",
        height: Metres(122.0),
        source: "CARs 901.25: 400 ft, from memory",
        known: Known::Memory,
    },
];

/// The height rule of a region, where one is known.
///
/// Germany and France are members of the EU, whose rule holds there as it stands (a
/// regulation, no directive); for Switzerland none is held.
pub fn height_rule(region: &str) -> Option<&'static HeightRule> {
    let region = match region {
        "DE" | "FR" => "EU",
        other => other,
    };
    HEIGHT_RULES.iter().find(|rule| rule.region.eq_ignore_ascii_case(region))
}
