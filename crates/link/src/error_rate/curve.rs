//! Packet loss against the level over the sensitivity, made once and read in no time.

use units::{Db, Khz};

use super::Frame;
use super::table::{KNOTS, LOG_HAZARD, STEP};
use crate::bounds::OutOfRange;
use crate::css::{Chip, Css};
use crate::mode::Modulation;

/// ln(-ln(1 - 0.01)): where one packet in a hundred is lost.
const ONE_IN_A_HUNDRED: f64 = -4.600_149_226_776_579;

/// The Eb/N0 of the first knot of FSK, dB.
const FSK_FIRST: f64 = 0.0;

/// How many packets are lost at which level over the sensitivity.
///
/// The shape is the theory's ([`super::packet_error`]) for this modulation and payload; the
/// place is the data sheets': at the sensitivity one packet in a hundred is lost, whatever
/// the payload (the sheets state it for 10 bytes at 4/5; the longest payload would want
/// about 1 dB more).
///
/// Kept as a table of ln(-ln(1 - loss)) every 0.5 dB with a monotone cubic between; within 1 %
/// of the theory's loss wherever that is above 10^-9. Far above the sensitivity the loss is
/// overrated, never underrated.
#[derive(Clone, Debug, PartialEq)]
pub struct PacketCurve {
    /// The first knot's place, dB over the sensitivity.
    first: f64,
    /// At each knot ln(-ln(1 - loss)) and its slope per knot.
    knots: [(f64, f64); KNOTS],
    assumed: Option<&'static str>,
}

/// What stands in for a mode of which only a sensitivity is stated.
pub(super) fn stand_in() -> Css {
    Css::neutral(Chip::Ghz2g4, 7, Khz(812.5), 5)
}

impl PacketCurve {
    /// The curve of packets with this payload.
    ///
    /// # Errors
    /// [`OutOfRange`] for parameters that the chips can't be set to, a payload outside 1 to
    /// 255 bytes.
    pub fn new(modulation: &Modulation, payload_bytes: u32) -> Result<PacketCurve, OutOfRange> {
        match modulation {
            Modulation::Css(css) => PacketCurve::of_css(css, payload_bytes, None),
            Modulation::Stated { .. } => PacketCurve::of_css(
                &stand_in(),
                payload_bytes,
                Some("only its sensitivity is stated; packets are lost around it as at SF7 with coding 4/5"),
            ),
            Modulation::Fsk(fsk) => {
                let bits = f64::from(fsk.bits(payload_bytes)?);
                let mut ebn0 = FSK_FIRST;
                let values = std::array::from_fn(|_| {
                    let wrong = 0.5 * (-Db(ebn0).ratio() / 2.0).exp();
                    ebn0 += STEP;
                    (-bits * (-wrong).ln_1p()).ln()
                });
                Ok(PacketCurve::through(&values, None))
            }
        }
    }

    fn of_css(
        css: &Css,
        payload_bytes: u32,
        assumed: Option<&'static str>,
    ) -> Result<PacketCurve, OutOfRange> {
        let frame = Frame::of(css, payload_bytes)?;
        let row = usize::from(css.sf.clamp(5, 12) - 5);
        let values = LOG_HAZARD[row].map(|log| frame.hazard(log.exp()).ln());
        Ok(PacketCurve::through(&values, assumed))
    }

    /// The curve through the knots, moved so that one packet in a hundred is lost at 0 dB.
    fn through(values: &[f64; KNOTS], assumed: Option<&'static str>) -> PacketCurve {
        let rise = |knot: usize| values[knot + 1] - values[knot];
        let knots = std::array::from_fn(|knot| {
            // Never more than three times the smaller neighbour's slope: the cubic between
            // falling knots then falls (F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal.
            // 17(2), 1980).
            let slope = match knot {
                0 => (1.5 * rise(0) - 0.5 * rise(1)).clamp(3.0 * rise(0), 0.0),
                _ if knot == KNOTS - 1 => 1.5 * rise(knot - 1) - 0.5 * rise(knot - 2),
                _ => {
                    let (before, after) = (rise(knot - 1), rise(knot));
                    f64::midpoint(before, after).max(3.0 * before.max(after))
                }
            };
            (values[knot], slope)
        });
        let mut curve = PacketCurve { first: 0.0, knots, assumed };
        let (mut low, mut high) = (0.0, STEP * steps());
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if curve.log_hazard(middle) > ONE_IN_A_HUNDRED {
                low = middle;
            } else {
                high = middle;
            }
        }
        curve.first = -f64::midpoint(low, high);
        curve
    }

    /// ln(-ln(1 - loss)) at so many decibels over the sensitivity.
    fn log_hazard(&self, over_sensitivity: f64) -> f64 {
        let place = (over_sensitivity - self.first) / STEP;
        if place <= 0.0 {
            return self.knots[0].0;
        }
        if place >= steps() {
            let (value, slope) = self.knots[KNOTS - 1];
            return value + slope * (place - steps());
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 36, see above")]
        let knot = (place as usize).min(KNOTS - 2);
        #[expect(clippy::cast_precision_loss, reason = "at most 36")]
        let t = place - knot as f64;
        let ((from, leaving), (to, arriving)) = (self.knots[knot], self.knots[knot + 1]);
        let rest = 1.0 - t;
        from * (1.0 + 2.0 * t) * rest * rest + leaving * t * rest * rest + to * t * t * (3.0 - 2.0 * t)
            - arriving * t * t * rest
    }

    /// The chance that a packet is lost at this level over the sensitivity: 0.01 at 0 dB,
    /// falling, inside 0 to 1 for every number.
    pub fn loss(&self, over_sensitivity: Db) -> f64 {
        (-(-self.log_hazard(over_sensitivity.0).exp()).exp_m1()).clamp(0.0, 1.0)
    }

    /// What was assumed where the modulation isn't known.
    pub fn assumed(&self) -> Option<&'static str> {
        self.assumed
    }
}

/// Steps from the first knot to the last.
#[expect(clippy::cast_precision_loss, reason = "36")]
const fn steps() -> f64 {
    (KNOTS - 1) as f64
}
