//! Each quantity's name and range, once; every range error is made from them.

use std::fmt;

/// The range in which a quantity makes sense here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    /// Its name, with the unit as a suffix where it has one (`distance_m`).
    pub name: &'static str,
    /// Its unit in words for messages; empty for a bare number.
    pub unit: &'static str,
    /// The least value.
    pub low: f64,
    /// The greatest value.
    pub high: f64,
    /// Where the range comes from.
    pub why: &'static str,
}

impl Bound {
    /// The value, when it lies inside (NaN never does).
    ///
    /// # Errors
    /// [`OutOfRange`] with the name, the value and the range.
    pub fn check(&self, value: f64) -> Result<f64, OutOfRange> {
        self.check_as(self.name, value)
    }

    /// The same, for a quantity that stands under another name in its place.
    ///
    /// # Errors
    /// [`OutOfRange`] with the given name, the value and the range.
    pub fn check_as(&self, name: &str, value: f64) -> Result<f64, OutOfRange> {
        if self.low <= value && value <= self.high {
            Ok(value)
        } else {
            Err(OutOfRange { name: name.to_owned(), got: value, bound: *self })
        }
    }

    /// The range in words: `0.1 to 1000000 m`.
    pub fn words(&self) -> String {
        let space = if self.unit.is_empty() { "" } else { " " };
        format!("{} to {}{space}{}", self.low, self.high, self.unit)
    }
}

/// A value lies outside its range.
#[derive(Clone, Debug, PartialEq)]
pub struct OutOfRange {
    /// What it is.
    pub name: String,
    /// What was given.
    pub got: f64,
    /// The range.
    pub bound: Bound,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is {}; it must lie in {}", self.name, self.got, self.bound.words())?;
        if !self.bound.why.is_empty() {
            write!(f, " ({})", self.bound.why)?;
        }
        Ok(())
    }
}

impl std::error::Error for OutOfRange {}

macro_rules! bounds {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $unit:literal, $low:literal ..= $high:literal, $why:literal; )*) => {
        $( $(#[$doc])* pub const $name: Bound = Bound { name: $key, unit: $unit, low: $low, high: $high, why: $why }; )*

        /// Every one of them.
        pub const ALL: &[Bound] = &[ $( $name, )* ];
    };
}

bounds! {
    /// A carrier frequency.
    FREQUENCY = "frequency_mhz", "MHz", 25.0 ..= 6000.0, "the bands of model control and what lies between";
    /// A distance between two antennas, or along a path.
    DISTANCE = "distance_m", "m", 0.1 ..= 1_000_000.0, "from a bench to far beyond any horizon";
    /// An antenna's height above the ground.
    HEIGHT = "height_m", "m", 0.1 ..= 20_000.0, "above the ground under the antenna";
    /// A height of the ground above the sea.
    GROUND_HEIGHT = "ground_height_m", "m", -500.0 ..= 9000.0, "above sea level, on Earth";
    /// A transmit power.
    POWER = "power_mw", "mW", 0.001 ..= 10_000.0, "a transmitter sends something, and none of model control more than 10 W";
    /// A transmit power as a level.
    LEVEL = "level_dbm", "dBm", -200.0 ..= 60.0, "from far under any noise to 1 kW";
    /// An antenna's gain over isotropic.
    GAIN = "gain_dbi", "dBi", -30.0 ..= 30.0, "from an antenna that is off to a large dish";
    /// A loss in cable and plugs.
    FEED_LOSS = "feed_loss_db", "dB", 0.0 ..= 30.0, "cable and plugs lose, they never gain";
    /// A margin, or a ratio of powers.
    MARGIN = "margin_db", "dB", -100.0 ..= 200.0, "";
    /// A receiver's noise figure.
    NOISE_FIGURE = "noise_figure_db", "dB", 0.0 ..= 30.0, "no receiver is quieter than its warm resistor";
    /// How far the noise at the site stands over thermal noise.
    NOISE_RISE = "noise_rise_db", "dB", 0.0 ..= 80.0, "measured with the receiver's own antenna";
    /// A bandwidth.
    BANDWIDTH = "bandwidth_hz", "Hz", 1.0 ..= 100_000_000.0, "";
    /// A spreading factor.
    SPREADING = "sf", "", 5.0 ..= 12.0, "the spreading factors of the public chip families";
    /// Preamble symbols as programmed.
    PREAMBLE = "preamble_symbols", "symbols", 1.0 ..= 65_535.0, "";
    /// Bytes in a packet.
    PAYLOAD = "payload_bytes", "bytes", 1.0 ..= 255.0, "what one packet of the public chips holds";
    /// Packets a second.
    PACKET_RATE = "packet_rate_hz", "Hz", 0.1 ..= 5000.0, "";
    /// A Rician K factor.
    K_FACTOR = "k_db", "dB", -40.0 ..= 60.0, "from no direct wave to nothing but the direct wave";
    /// A standard deviation of shadowing.
    SHADOWING = "shadowing_db", "dB", 0.0 ..= 30.0, "";
    /// A probability.
    PROBABILITY = "probability", "", 0.0 ..= 1.0, "";
    /// A probability that something is asked for with: neither never nor always.
    WANTED_PROBABILITY = "probability", "", 0.000_001 ..= 0.999_999, "neither never nor always can be reached";
    /// A speed.
    SPEED = "speed_m_per_s", "m/s", 0.0 ..= 300.0, "up to a jet or a dynamic soarer";
    /// The effective Earth radius over the true one.
    EARTH_K = "k", "", 0.3 ..= 100.0, "4/3 on average; less bends the ray down, more straightens it";
    /// Relative permittivity of the ground.
    PERMITTIVITY = "permittivity", "", 1.0 ..= 100.0, "1 is air, about 80 is water";
    /// Conductivity of the ground.
    CONDUCTIVITY = "conductivity_s_m", "S/m", 0.0 ..= 20.0, "about 5 is the sea";
    /// An angle.
    ANGLE = "angle_deg", "degrees", -360.0 ..= 360.0, "";
    /// Depth of trees on the path.
    TREES = "depth_m", "m", 0.0 ..= 400.0, "the fits end at 400 m";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_outside_says_what_where_and_what_to_do() {
        let error = DISTANCE.check(-3.0).unwrap_err();
        assert_eq!(
            error.to_string(),
            "`distance_m` is -3; it must lie in 0.1 to 1000000 m (from a bench to far beyond any horizon)"
        );
        for bound in ALL {
            assert!(bound.low < bound.high, "{}", bound.name);
            for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, bound.low - 1.0, bound.high + 1.0] {
                assert!(bound.check(bad).is_err(), "{} {bad}", bound.name);
            }
            assert!(bound.check(bound.low).is_ok() && bound.check(bound.high).is_ok());
        }
    }
}
