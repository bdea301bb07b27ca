//! How well the public chips hear: one noise figure for each chip and bandwidth, and the
//! sensitivity that follows.
//!
//! A sensitivity is thermal noise + noise figure + required SNR. The noise figures below are
//! fitted once for each chip and bandwidth: the mean over all published spreading factors of
//! (published sensitivity - thermal noise - required SNR), to 0.1 dB. They hold what a
//! receiver loses besides, so they are no noise figures of an amplifier. [`deviations`]
//! lists how far each published value lies from what is reckoned: within 2 dB at SF7 to
//! SF12, within 3.5 dB at SF5 and SF6.

mod published;
mod stated;

use units::{Db, Dbm, Khz};

use crate::bounds::{self, OutOfRange};
use crate::css::{self, Chip};
use crate::mode::Modulation;
use crate::noise::thermal_noise;

pub use published::{Known, PUBLISHED, Published};
pub use stated::flrc_sensitivity;

/// A chip whose data sheet states sensitivities, with its way of receiving.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// SX1276/77/78/79 data sheet Rev 7, table 10, 868 to 1020 MHz, low-noise amplifier
    /// boosted.
    Sx1276,
    /// SX1272/73 data sheet Rev 2 (July 2014), page 19, low-noise amplifier boosted.
    Sx1272,
    /// SX1261/2 data sheet Rev 2.2, table 3-8, 150 to 960 MHz, boosted. Only SF7 and SF12 are
    /// published.
    Sx1261,
    /// SX1280/81 data sheet Rev 2.2 (May 2018), table 6-1, low-power mode.
    Sx1280LowPower,
    /// SX1280/81 data sheet Rev 2.2 (May 2018), table 3-5, high-sensitivity mode. Two values
    /// are published, each 2 dB better than in low-power mode; the figures here are those of
    /// low-power mode less 2 dB.
    Sx1280HighSensitivity,
}

impl Part {
    /// All of them.
    pub const ALL: [Part; 5] =
        [Part::Sx1276, Part::Sx1272, Part::Sx1261, Part::Sx1280LowPower, Part::Sx1280HighSensitivity];

    /// The chip and its way of receiving, in words.
    pub fn name(self) -> &'static str {
        match self {
            Part::Sx1276 => "SX1276/77/78/79",
            Part::Sx1272 => "SX1272/73",
            Part::Sx1261 => "SX1261/2",
            Part::Sx1280LowPower => "SX1280/81, low power",
            Part::Sx1280HighSensitivity => "SX1280/81, high sensitivity",
        }
    }

    /// Where its sensitivities are published.
    pub fn source(self) -> &'static str {
        match self {
            Part::Sx1276 => "SX1276/77/78/79 data sheet Rev 7, table 10 (RFS_L*_HF)",
            Part::Sx1272 => "SX1272/73 data sheet Rev 2 (July 2014), page 19",
            Part::Sx1261 => "SX1261/2 data sheet Rev 2.2, table 3-8",
            Part::Sx1280LowPower => "SX1280/81 data sheet Rev 2.2, table 6-1",
            Part::Sx1280HighSensitivity => "SX1280/81 data sheet Rev 2.2, table 3-5",
        }
    }

    /// Its noise figure at each published bandwidth, dB.
    pub const fn noise_figures(self) -> &'static [(Khz, Db)] {
        match self {
            Part::Sx1276 => &[(Khz(125.0), Db(7.4)), (Khz(250.0), Db(7.6)), (Khz(500.0), Db(7.9))],
            Part::Sx1272 => &[(Khz(125.0), Db(5.9)), (Khz(250.0), Db(5.4)), (Khz(500.0), Db(8.1))],
            Part::Sx1261 => {
                &[(Khz(10.4), Db(6.6)), (Khz(125.0), Db(6.3)), (Khz(250.0), Db(6.2)), (Khz(500.0), Db(7.7))]
            }
            Part::Sx1280LowPower => &[
                (Khz(203.125), Db(12.8)),
                (Khz(406.25), Db(11.6)),
                (Khz(812.5), Db(10.4)),
                (Khz(1625.0), Db(13.2)),
            ],
            Part::Sx1280HighSensitivity => &[
                (Khz(203.125), Db(10.8)),
                (Khz(406.25), Db(9.6)),
                (Khz(812.5), Db(8.4)),
                (Khz(1625.0), Db(11.2)),
            ],
        }
    }

    /// Its noise figure at the published bandwidth that is nearest in ratio.
    ///
    /// # Errors
    /// [`OutOfRange`] for a bandwidth outside [`css::BANDWIDTH`].
    pub fn noise_figure(self, bandwidth: Khz) -> Result<Db, OutOfRange> {
        css::BANDWIDTH.check(bandwidth.hz())?;
        let off = |have: Khz| (have.0 / bandwidth.0).ln().abs();
        let nearest = self.noise_figures().iter().min_by(|(a, _), (b, _)| off(*a).total_cmp(&off(*b)));
        Ok(nearest.map_or(TYPICAL_FSK, |(_, noise_figure)| *noise_figure))
    }
}

/// What FSK reckons with where nothing else is known: 15 dB, the mean over the GFSK rows of
/// the SX1280/81 data sheet Rev 2.2, table 6-7, to whole decibels (two-tone theory, 1 % of
/// packets of 10 bytes; single rows lie up to 2.3 dB off, also by their filters). The chips
/// below 1 GHz hear better, by about 6 dB (from memory).
pub const TYPICAL_FSK: Db = Db(15.0);

/// The noise figure to reckon with for a generation of chips: the SX1261/2's below 1 GHz,
/// the SX1280/81's in low-power mode at 2.4 GHz (its high-sensitivity mode hears 2 dB
/// better), at the published bandwidth that is nearest in ratio.
///
/// No published sensitivity of the chips that hold both bands could be verified; they are
/// reckoned like these.
///
/// # Errors
/// [`OutOfRange`] for a bandwidth outside [`css::BANDWIDTH`].
pub fn noise_figure(chip: Chip, bandwidth: Khz) -> Result<Db, OutOfRange> {
    match chip {
        Chip::SubGhz => Part::Sx1261,
        Chip::Ghz2g4 => Part::Sx1280LowPower,
    }
    .noise_figure(bandwidth)
}

/// The level at which about one packet in a hundred is lost.
///
/// Chirps: thermal noise + noise figure + [`css::required_snr`], for any payload (data
/// sheets state it for 10 bytes). FSK: thermal noise in a width of the bit rate + noise
/// figure + the Eb/N0 at which non-coherent two-tone theory loses 1 % of packets of this
/// payload. A stated sensitivity is taken as stated, whatever the noise figure.
///
/// # Errors
/// [`OutOfRange`] for parameters that the chips can't be set to, a payload outside 1 to 255
/// bytes, a noise figure or a stated sensitivity outside its range.
pub fn sensitivity(modulation: &Modulation, payload_bytes: u32, noise_figure: Db) -> Result<Dbm, OutOfRange> {
    bounds::PAYLOAD.check(f64::from(payload_bytes))?;
    bounds::NOISE_FIGURE.check(noise_figure.0)?;
    match modulation {
        Modulation::Css(css) => {
            css.check()?;
            Ok(thermal_noise(css.bandwidth, noise_figure)? + css::required_snr(css.sf)?)
        }
        Modulation::Fsk(fsk) => {
            let bits = f64::from(fsk.bits(payload_bytes)?);
            let bit_error = -((1.0 - PACKETS_LOST).ln() / bits).exp_m1();
            let ebn0 = Db::of_ratio(-2.0 * (2.0 * bit_error).ln());
            Ok(thermal_noise(Khz(fsk.bit_rate_kbps), noise_figure)? + ebn0)
        }
        Modulation::Stated { sensitivity, .. } => {
            bounds::LEVEL.check_as("sensitivity_dbm", sensitivity.0).map(Dbm)
        }
    }
}

/// Of how many packets a sensitivity says that they are lost.
const PACKETS_LOST: f64 = 0.01;

/// How far one published sensitivity lies from what is reckoned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviation {
    /// What is published.
    pub published: Published,
    /// What is reckoned with the part's one noise figure at this bandwidth.
    pub reckoned: Dbm,
    /// Reckoned less published: positive where the chip hears better than reckoned.
    pub deviation: Db,
}

/// Every published sensitivity of chirps against what is reckoned.
///
/// # Errors
/// [`OutOfRange`] never for the table as it is.
pub fn deviations() -> Result<Vec<Deviation>, OutOfRange> {
    PUBLISHED
        .iter()
        .map(|&published| {
            let noise_figure = published.part.noise_figure(published.bandwidth)?;
            let reckoned =
                thermal_noise(published.bandwidth, noise_figure)? + css::required_snr(published.sf)?;
            Ok(Deviation { published, reckoned, deviation: reckoned - published.sensitivity })
        })
        .collect()
}
