//! Which hop channels a fixed wide signal covers.

use units::{Khz, Mhz};

use super::CHANNELS;
use crate::bounds::{self, Bound, OutOfRange};

/// Wi-Fi channels at 2.4 GHz.
pub const WIFI_CHANNEL: Bound = Bound {
    name: "wifi_channel",
    unit: "",
    low: 1.0,
    high: 13.0,
    why: "the 2.4 GHz channels that are 5 MHz apart",
};

/// From one hop channel to the next.
pub const SPACING: Bound =
    Bound { name: "spacing_khz", unit: "kHz", low: 0.1, high: 100_000.0, why: "channels stand apart" };

/// How wide a signal is.
pub const WIDTH: Bound =
    Bound { name: "width_khz", unit: "kHz", low: 0.001, high: 1_000_000.0, why: "a signal has some width" };

/// The channels of a hopping link.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HopPlan {
    /// Centre of the first channel.
    pub first: Mhz,
    /// From one channel to the next.
    pub spacing: Khz,
    /// How many.
    pub channels: u32,
    /// How wide the signal is on one of them.
    pub bandwidth: Khz,
}

/// What a fixed signal covers of a hop plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overlap {
    /// How many channels it touches.
    pub hit: u32,
    /// Their share of all: the chance that a hop meets it while it sends.
    pub share: f64,
}

impl HopPlan {
    /// Whether its figures make sense.
    ///
    /// # Errors
    /// [`OutOfRange`] for a first channel outside [`bounds::FREQUENCY`], a spacing outside
    /// [`SPACING`], no channels ([`CHANNELS`]) or a bandwidth outside [`WIDTH`].
    pub fn check(&self) -> Result<(), OutOfRange> {
        bounds::FREQUENCY.check_as("first_mhz", self.first.0)?;
        SPACING.check(self.spacing.0)?;
        CHANNELS.check(f64::from(self.channels))?;
        WIDTH.check_as("bandwidth_khz", self.bandwidth.0)?;
        Ok(())
    }

    /// The centres of its channels.
    pub fn centres(&self) -> impl Iterator<Item = Mhz> + use<> {
        let HopPlan { first, spacing, channels, .. } = *self;
        (0..channels).map(move |index| Mhz((first.0 * 1e3 + f64::from(index) * spacing.0) / 1e3))
    }

    /// Whether a signal of `width` round `centre` touches the channel at `channel`:
    /// |f − F| < (W + B)/2, with the signal's F and W. Edges that only meet (to a millihertz) don't touch.
    pub(super) fn touches(&self, channel: Mhz, centre: Mhz, width: Khz) -> bool {
        let apart_khz = (channel.0 - centre.0).abs() * 1e3;
        apart_khz < f64::midpoint(width.0, self.bandwidth.0) - 1e-6
    }
}

/// Which hop channels a fixed signal of `width` round `centre` touches.
///
/// Both spectra are taken as boxes; a strong signal close by reaches further.
///
/// # Errors
/// [`OutOfRange`] for what [`HopPlan::check`] refuses, a centre outside
/// [`bounds::FREQUENCY`] or a width outside [`WIDTH`].
pub fn band_overlap(plan: &HopPlan, centre: Mhz, width: Khz) -> Result<Overlap, OutOfRange> {
    plan.check()?;
    bounds::FREQUENCY.check_as("centre_mhz", centre.0)?;
    WIDTH.check(width.0)?;
    let hit = plan.centres().fold(0, |hit, channel| hit + u32::from(plan.touches(channel, centre, width)));
    Ok(Overlap { hit, share: f64::from(hit) / f64::from(plan.channels) })
}

/// The share of a band that a signal inside it takes, as if hops fell anywhere in it: 20
/// MHz of 2400 to 2483.5 MHz are 0.2395.
///
/// # Errors
/// [`OutOfRange`] for edges outside [`bounds::FREQUENCY`], a width outside [`WIDTH`], or
/// one wider than the band.
pub fn continuum_share(low: Mhz, high: Mhz, width: Khz) -> Result<f64, OutOfRange> {
    bounds::FREQUENCY.check_as("low_mhz", low.0)?;
    bounds::FREQUENCY.check_as("high_mhz", high.0)?;
    let band = (high.0 - low.0) * 1e3;
    let fits = Bound { high: band, why: "no wider than the band", ..WIDTH };
    Ok(fits.check(width.0)? / band)
}

/// Centre of a 2.4 GHz Wi-Fi channel: 2407 + 5 n MHz (IEEE 802.11, from memory).
///
/// # Errors
/// [`OutOfRange`] for a channel that isn't 1 to 13.
pub fn wifi_centre(channel: u32) -> Result<Mhz, OutOfRange> {
    Ok(Mhz(2407.0 + 5.0 * WIFI_CHANNEL.check(f64::from(channel))?))
}
