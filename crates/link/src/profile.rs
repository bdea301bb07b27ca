//! The ground along a path: distances and heights.

use std::fmt;

use units::Metres;

use crate::bounds::{DISTANCE, GROUND_HEIGHT};

/// The ground along a path, from the transmitter's foot (distance 0) to the receiver's.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    distances_m: Vec<f64>,
    heights_m: Vec<f64>,
}

/// A profile can't be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BadProfile {
    /// A line can't be read.
    #[error(
        "point {point} is `{got}`; write distance_m,height_m, the two set apart by a comma, with a point for decimals, such as 250,104.5"
    )]
    Line {
        /// Which, from 1.
        point: usize,
        /// What stands there.
        got: String,
    },
    /// Too few points.
    #[error("a profile needs at least 3 points (both ends and one between), this one has {0}")]
    TooFew(usize),
    /// Too many points.
    #[error("a profile may have 20000 points, this one has {0}; leave some out")]
    TooMany(usize),
    /// The first distance is not 0.
    #[error("the first distance is {0}; a profile begins at 0")]
    Start(f64),
    /// The distances don't grow.
    #[error("point {point} lies at {got} m, not beyond the one before it; distances must grow")]
    Order {
        /// Which, from 1.
        point: usize,
        /// Its distance.
        got: f64,
    },
    /// A value lies outside its range.
    #[error("point {point}: {why}")]
    Value {
        /// Which, from 1.
        point: usize,
        /// Why.
        why: crate::bounds::OutOfRange,
    },
}

/// The most points of one profile.
pub const MOST_POINTS: usize = 20_000;

impl Profile {
    /// From distances (the first 0, growing) and heights above the sea.
    ///
    /// # Errors
    /// [`BadProfile`], with the number of the point.
    pub fn new(distances_m: Vec<f64>, heights_m: Vec<f64>) -> Result<Profile, BadProfile> {
        let points = distances_m.len().min(heights_m.len());
        if points < 3 || distances_m.len() != heights_m.len() {
            return Err(BadProfile::TooFew(points));
        }
        if points > MOST_POINTS {
            return Err(BadProfile::TooMany(points));
        }
        if distances_m[0] != 0.0 {
            return Err(BadProfile::Start(distances_m[0]));
        }
        for (i, pair) in distances_m.windows(2).enumerate() {
            DISTANCE.check(pair[1]).map_err(|why| BadProfile::Value { point: i + 2, why })?;
            if pair[1] <= pair[0] {
                return Err(BadProfile::Order { point: i + 2, got: pair[1] });
            }
        }
        for (i, height) in heights_m.iter().enumerate() {
            GROUND_HEIGHT.check(*height).map_err(|why| BadProfile::Value { point: i + 1, why })?;
        }
        Ok(Profile { distances_m, heights_m })
    }

    /// Reads lines (or parts set apart by `;`) of `distance_m,height_m`; one line of words
    /// above them is left out.
    ///
    /// # Errors
    /// [`BadProfile`], with the number of the point.
    pub fn read(text: &str) -> Result<Profile, BadProfile> {
        // Spreadsheets put a mark before the first byte.
        let text = text.trim_start_matches('\u{feff}');
        let parts = text.split(['\n', ';']).map(str::trim).filter(|part| !part.is_empty());
        let mut distances_m = Vec::new();
        let mut heights_m = Vec::new();
        for (i, part) in parts.enumerate() {
            let pair = part.split_once([',', '\t', ' ']);
            let pair = pair.and_then(|(d, h)| {
                let number = |text: &str| text.trim().parse::<f64>().ok().filter(|number| number.is_finite());
                Some((number(d)?, number(h)?))
            });
            match pair {
                Some((distance, height)) => {
                    distances_m.push(distance);
                    heights_m.push(height);
                }
                None if i == 0 && part.chars().any(char::is_alphabetic) => {}
                None => {
                    return Err(BadProfile::Line {
                        point: distances_m.len() + 1,
                        got: part.chars().take(40).collect(),
                    });
                }
            }
            if distances_m.len() > MOST_POINTS {
                return Err(BadProfile::TooMany(distances_m.len()));
            }
        }
        Profile::new(distances_m, heights_m)
    }

    /// The distances, metres, the first 0.
    pub fn distances_m(&self) -> &[f64] {
        &self.distances_m
    }

    /// The heights above the sea, metres.
    pub fn heights_m(&self) -> &[f64] {
        &self.heights_m
    }

    /// Its points as they can be typed: `0,100;250,104.5`.
    pub fn words(&self) -> String {
        let points = self.distances_m.iter().zip(&self.heights_m);
        points.map(|(d, h)| format!("{d},{h}")).collect::<Vec<_>>().join(";")
    }

    /// From one end to the other.
    pub fn length(&self) -> Metres {
        Metres(self.distances_m.last().copied().unwrap_or_default())
    }

    /// The same path walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Profile {
        let length = self.length().0;
        Profile {
            distances_m: self.distances_m.iter().rev().map(|d| length - d).collect(),
            heights_m: self.heights_m.iter().rev().copied().collect(),
        }
    }
}

impl fmt::Display for Profile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} points over {}", self.distances_m.len(), self.length())
    }
}
