//! What all settings of one setup share, and one setting placed on it.

use std::sync::LazyLock;

use units::{Db, Dbm, Degrees, Metres, Mhz};

use super::{Setting, Setup};
use crate::attitude::{GainSpread, GroundAntenna, Motion, Mounting, gain_spreads};
use crate::bounds::{self, OutOfRange};
use crate::error_rate::PacketCurve;
use crate::fading::{FadedCurve, Scatter, k_by_elevation, normal_cdf, shadowing_by_height};
use crate::mode::Mode;
use crate::noise::{Site, noise_level};
use crate::path::PathLoss;
use crate::silicon;

/// Elevations at which antennas and fading are reckoned; between them, linearly.
const ELEVATIONS_DEG: [f64; 9] = [0.0, 2.0, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 85.0];

/// At how many heights about the wanted one the way is reckoned.
pub const HEIGHTS: usize = 5;

/// Steps in which shadowing's deviation is gone through: from -4.5 to 4.5 standard
/// deviations by quarters. A packet's loss against level is steep, so that few points in
/// the places of a Gauss-Hermite rule would miss its tail.
const DEVIATIONS: usize = 37;

/// The standard normal over those steps: deviation and weight.
fn normal_steps() -> [(f64, f64); DEVIATIONS] {
    let mut steps = [(0.0, 0.0); DEVIATIONS];
    let mut sum = 0.0;
    for (i, step) in steps.iter_mut().enumerate() {
        let deviation = 0.25 * real(i) - 4.5;
        let weight = (-0.5 * deviation * deviation).exp();
        *step = (deviation, weight);
        sum += weight;
    }
    steps.map(|(deviation, weight)| (deviation, weight / sum))
}

/// A figure against margin, averaged over log-normal shadowing: `values` stand `step_db`
/// apart from `first_db` on, straight between them and level beyond.
pub(super) fn over_shadow(values: &[f64], step_db: f64, shadowing: Db) -> Vec<f64> {
    if shadowing.0 <= 0.0 {
        return values.to_vec();
    }
    let steps = normal_steps();
    let last = values.len() - 1;
    let at = |place: f64| {
        let place = place.clamp(0.0, real(last));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped just before")]
        let low = (place as usize).min(last.saturating_sub(1));
        let (a, b) = (values[low], values[(low + 1).min(last)]);
        a + (b - a) * (place - real(low))
    };
    (0..values.len())
        .map(|i| {
            let share = |(deviation, weight)| weight * at(real(i) + deviation * shadowing.0 / step_db);
            steps.iter().copied().map(share).sum()
        })
        .collect()
}

/// The part of a reckoning that all settings of one setup share.
#[derive(Clone, Debug)]
pub struct Stage<'a> {
    /// The setup.
    pub setup: &'a Setup,
    /// Shadowing's standard deviation.
    pub shadowing: Db,
    nodes: Vec<Node>,
}

#[derive(Clone, Debug)]
struct Node {
    control: Vec<f64>,
    telemetry: Vec<f64>,
    scatter: Scatter,
}

/// One distance.
#[derive(Clone, Debug)]
pub struct At {
    /// The way there, at the height that was asked for.
    pub path: PathLoss,
    /// What the level has over that at each of the heights about it, dB, equally likely.
    pub heights: [f64; HEIGHTS],
    /// Combined antenna gains on the way up, dB, equally likely, ascending.
    pub control: Vec<f64>,
    /// Combined antenna gains on the way down.
    pub telemetry: Vec<f64>,
    /// Between which two elevations it lies, and how far.
    between: (usize, f64),
}

/// A receiver that listens to one mode.
#[derive(Clone, Debug)]
pub struct Receiver {
    /// The level at which one packet in a hundred is lost, with the noise of the site.
    pub sensitivity: Dbm,
    /// What the noise of the site takes from it.
    pub desense: Db,
    /// The mode it listens to.
    pub mode: Mode,
    curve: PacketCurve,
    /// By elevation.
    faded: Vec<FadedCurve>,
    /// Mean margin for the asked quality, by elevation; none when others alone take more.
    needed: Option<Vec<f64>>,
    /// The share of packets that others don't hit.
    survive: f64,
}

/// The share of packets that arrive, as a table over the margin: straight lines an eighth
/// of a decibel long.
#[derive(Clone, Debug)]
pub struct Delivered {
    sensitivity: Dbm,
    values: Vec<f64>,
}

const FIRST_DB: f64 = -30.0;
const STEP_DB: f64 = 0.125;
const STEPS: usize = 640;

impl Delivered {
    /// Over all spells, for a level before antennas that are equally likely `gains`.
    pub fn over(&self, at: &At, before: Dbm, gains: &[f64]) -> f64 {
        let margin = (before - self.sensitivity).0;
        let sum: f64 = at.spells(gains).map(|gain| self.at(margin + gain)).sum();
        (sum / At::count(gains)).clamp(0.0, 1.0)
    }

    fn at(&self, margin: f64) -> f64 {
        let along = ((margin - FIRST_DB) / STEP_DB).clamp(0.0, real(STEPS));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped just before")]
        let low = (along as usize).min(STEPS - 1);
        let (a, b) = (self.values[low], self.values[low + 1]);
        a + (b - a) * (along - real(low))
    }
}

/// One setting on a stage.
#[derive(Clone, Debug)]
pub struct Tuned {
    /// The aircraft's receiver.
    pub air: Receiver,
    /// The transmitter's receiver, when telemetry is sent.
    pub ground: Option<Receiver>,
    /// The transmitter's power.
    pub power: Dbm,
    /// The aircraft's power.
    pub telemetry_power: Option<Dbm>,
}

impl<'a> Stage<'a> {
    /// Reckons antennas and fading over all elevations.
    ///
    /// # Errors
    /// [`OutOfRange`] when a value of the setup lies outside its range.
    pub fn new(setup: &'a Setup) -> Result<Stage<'a>, OutOfRange> {
        setup.check()?;
        let shadowing = setup.shadowing.unwrap_or_else(|| shadowing_by_height(setup.path.air_height));
        let sending = setup.mounting.transmitting(setup.telemetry_sends);
        let elevations = ELEVATIONS_DEG.map(Degrees);
        let spreads = |mounting: &Mounting| {
            gain_spreads(&setup.ground_antenna, mounting, setup.motion, &elevations).map(|spreads| {
                let gains = |spread: GainSpread| spread.quantiles.iter().map(|gain| gain.0).collect();
                spreads.into_iter().map(gains).collect::<Vec<Vec<f64>>>()
            })
        };
        let control = spreads(&setup.mounting)?;
        let telemetry = if sending == setup.mounting { control.clone() } else { spreads(&sending)? };
        let nodes = ELEVATIONS_DEG
            .into_iter()
            .zip(control.into_iter().zip(telemetry))
            .map(|(elevation_deg, (control, telemetry))| {
                let by_elevation = || Scatter::Rician { k: k_by_elevation(Degrees(elevation_deg)) };
                Node { control, telemetry, scatter: setup.scatter.unwrap_or_else(by_elevation) }
            })
            .collect();
        Ok(Stage { setup, shadowing, nodes })
    }

    /// The way to one distance, and the antennas there.
    ///
    /// # Errors
    /// [`OutOfRange`] for a distance outside its range, or beyond the end of the profile.
    pub fn at(&self, distance: Metres) -> Result<At, OutOfRange> {
        let ways = self.ways(distance)?;
        let path = ways[HEIGHTS / 2];
        let heights = ways.map(|way| path.total.0 - way.total.0);
        let between = between(path.elevation);
        let (low, share) = between;
        let blend = |pick: fn(&Node) -> &Vec<f64>| {
            let (a, b) = (pick(&self.nodes[low]), pick(&self.nodes[low + 1]));
            a.iter().zip(b).map(|(a, b)| a + (b - a) * share).collect()
        };
        Ok(At {
            path,
            heights,
            control: blend(|node| &node.control),
            telemetry: blend(|node| &node.telemetry),
            between,
        })
    }

    /// The way at each height: an aircraft doesn't hold its height to a wave's length, and
    /// over flat ground a few metres more or less lead from a null to a peak.
    fn ways(&self, distance: Metres) -> Result<[PathLoss; HEIGHTS], OutOfRange> {
        let setup = self.setup;
        let wanted = setup.path.air_height.0;
        let mut path = setup.path.clone();
        let mut loss = |step: f64| {
            let height = wanted * (1.0 + setup.flight.height_spread * step);
            path.air_height = Metres(height.clamp(bounds::HEIGHT.low, bounds::HEIGHT.high));
            path.loss(setup.frequency, distance)
        };
        Ok([loss(-1.0)?, loss(-0.5)?, loss(0.0)?, loss(0.5)?, loss(1.0)?])
    }

    /// Places a setting.
    ///
    /// # Errors
    /// [`OutOfRange`] when a value of the setting lies outside its range.
    pub fn tune(&self, setting: &Setting) -> Result<Tuned, OutOfRange> {
        setting.check()?;
        let air = self.receiver(setting, &self.setup.air)?;
        let ground = if setting.mode.telemetry_one_in.is_some() && setting.telemetry_power.is_some() {
            Some(self.receiver(setting, &self.setup.ground)?)
        } else {
            None
        };
        Ok(Tuned { air, ground, power: setting.power, telemetry_power: setting.telemetry_power })
    }

    fn receiver(&self, setting: &Setting, receiving: &super::Receiving) -> Result<Receiver, OutOfRange> {
        let mode = &setting.mode;
        let quiet = silicon::sensitivity(&mode.modulation, mode.payload_bytes, receiving.noise_figure)?;
        let desense = desense(self.setup.frequency, setting, receiving)?;
        let curve = PacketCurve::new(&mode.modulation, mode.payload_bytes)?;
        let mut faded: Vec<FadedCurve> = Vec::with_capacity(self.nodes.len());
        for (i, node) in self.nodes.iter().enumerate() {
            let same = (0..i).find(|&before| self.nodes[before].scatter == node.scatter);
            let next = match same {
                Some(before) => faded[before].clone(),
                None => FadedCurve::new(&curve, node.scatter)?,
            };
            faded.push(next);
        }
        let survive = super::compute::survive(self.setup, setting)?;
        let wanted = self.setup.flight.quality / survive;
        let needed =
            (wanted < 1.0).then(|| faded.iter().map(|faded| faded.needed(wanted).0).collect::<Vec<f64>>());
        Ok(Receiver {
            sensitivity: quiet + desense,
            desense,
            mode: mode.clone(),
            curve,
            faded,
            needed,
            survive,
        })
    }
}

/// How much the noise of the site takes from a receiver. A mode of which only the
/// sensitivity is stated is reckoned with its bandwidth where that is stated, else with
/// that of 500 kHz: the rise over thermal noise hardly depends on it.
fn desense(frequency: Mhz, setting: &Setting, receiving: &super::Receiving) -> Result<Db, OutOfRange> {
    if receiving.site == Site::Quiet {
        return Ok(Db::ZERO);
    }
    let bandwidth = setting.mode.modulation.bandwidth().unwrap_or(units::Khz(500.0));
    let level = |site: &Site| noise_level(frequency, bandwidth, receiving.noise_figure, site);
    Ok(level(&receiving.site)? - level(&Site::Quiet)?)
}

impl Receiver {
    /// The mean margin over fading that the asked link quality needs; none when other
    /// transmitters alone take more than it leaves.
    pub fn needed(&self, at: &At) -> Option<Db> {
        let needed = self.needed.as_ref()?;
        let (low, share) = at.between;
        Some(Db(needed[low] + (needed[low + 1] - needed[low]) * share))
    }

    /// The share of packets that arrive at a mean margin.
    pub fn delivery(&self, at: &At, margin: Db) -> f64 {
        let (low, share) = at.between;
        let (a, b) = (self.faded[low].delivery(margin), self.faded[low + 1].delivery(margin));
        ((a + (b - a) * share) * self.survive).clamp(0.0, 1.0)
    }

    /// The probability of a spell whose quality is reached, for a level before antennas
    /// that are equally likely `gains`, under log-normal shadowing.
    pub fn probability(&self, at: &At, before: Dbm, gains: &[f64], shadowing: Db) -> f64 {
        let Some(needed) = self.needed(at) else { return 0.0 };
        let over = (before - self.sensitivity - needed).0;
        let sum: f64 = at.spells(gains).map(|gain| shadowed(over + gain, shadowing)).sum();
        (sum / At::count(gains)).clamp(0.0, 1.0)
    }

    /// The share of packets that arrive at a distance, against level, shadowing averaged.
    pub fn delivered(&self, at: &At, shadowing: Db) -> Delivered {
        let still: Vec<f64> =
            (0..=STEPS).map(|step| self.delivery(at, Db(FIRST_DB + STEP_DB * real(step)))).collect();
        Delivered { sensitivity: self.sensitivity, values: over_shadow(&still, STEP_DB, shadowing) }
    }

    /// The share of packets that arrive, over all spells.
    pub fn mean_delivery(&self, at: &At, before: Dbm, gains: &[f64], shadowing: Db) -> f64 {
        self.delivered(at, shadowing).over(at, before, gains)
    }

    /// The packet loss against level of the mode.
    pub fn curve(&self) -> &PacketCurve {
        &self.curve
    }

    /// The share of packets that others don't hit.
    pub fn survive(&self) -> f64 {
        self.survive
    }
}

/// The probability that log-normal shadowing leaves something of so many decibels.
pub(super) fn shadowed(over: f64, shadowing: Db) -> f64 {
    if shadowing.0 > 0.0 { bell(over / shadowing.0) } else { f64::from(u8::from(over >= 0.0)) }
}

/// The normal distribution from a table: 3e-7 of the exact one, and rising.
fn bell(x: f64) -> f64 {
    const STEPS: usize = 4096;
    const WIDEST: f64 = 6.5;
    static TABLE: LazyLock<Vec<f64>> = LazyLock::new(|| {
        (0..=STEPS).map(|i| normal_cdf(WIDEST * (2.0 * real(i) / real(STEPS) - 1.0))).collect()
    });
    if x <= -WIDEST {
        return 0.0;
    }
    if x >= WIDEST {
        return 1.0;
    }
    let along = (x / WIDEST + 1.0) * (real(STEPS) / 2.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the table")]
    let low = (along as usize).min(STEPS - 1);
    let (a, b) = (TABLE[low], TABLE[low + 1]);
    a + (b - a) * (along - real(low))
}

impl At {
    /// What the level has over that before the antennas, in every attitude and height.
    pub(super) fn spells<'a>(&'a self, gains: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        self.heights.iter().flat_map(move |height| gains.iter().map(move |gain| height + gain))
    }

    /// How many those are.
    pub(super) fn count(gains: &[f64]) -> f64 {
        real(gains.len() * HEIGHTS)
    }

    /// The fading there.
    pub fn scatter(&self, stage: &Stage) -> Scatter {
        let (low, share) = self.between;
        match (stage.nodes[low].scatter, stage.nodes[low + 1].scatter) {
            (Scatter::Rician { k: a }, Scatter::Rician { k: b }) => {
                Scatter::Rician { k: a + (b - a) * share }
            }
            (first, _) => first,
        }
    }
}

/// The combined antenna gains at one elevation, as the sheet takes them: straight between
/// the elevations that it reckons at; 64 values, ascending, equally likely.
///
/// # Errors
/// [`OutOfRange`] for antennas outside their ranges.
pub fn gains_at(
    ground: &GroundAntenna,
    mounting: &Mounting,
    motion: Motion,
    elevation: Degrees,
) -> Result<Vec<f64>, OutOfRange> {
    let (low, share) = between(elevation);
    let nodes = [Degrees(ELEVATIONS_DEG[low]), Degrees(ELEVATIONS_DEG[low + 1])];
    let spreads = gain_spreads(ground, mounting, motion, &nodes)?;
    let [a, b] = spreads.as_slice() else { return Ok(Vec::new()) };
    let gains = a.quantiles.iter().zip(&b.quantiles);
    Ok(gains.map(|(a, b)| a.0 + (b.0 - a.0) * share).collect())
}

/// Between which two of the elevations one lies, and how far.
fn between(elevation: Degrees) -> (usize, f64) {
    let last = ELEVATIONS_DEG.len() - 2;
    let elevation = elevation.0.clamp(0.0, ELEVATIONS_DEG[last + 1]);
    let low = ELEVATIONS_DEG.iter().rposition(|have| *have <= elevation).unwrap_or(0).min(last);
    let (a, b) = (ELEVATIONS_DEG[low], ELEVATIONS_DEG[low + 1]);
    (low, ((elevation - a) / (b - a)).clamp(0.0, 1.0))
}

/// A count as a number.
#[expect(clippy::cast_precision_loss, reason = "short lists and tables")]
pub(super) fn real(count: usize) -> f64 {
    count as f64
}

/// The middle of equally likely values in ascending order.
pub(crate) fn middle(gains: &[f64]) -> f64 {
    let half = gains.len() / 2;
    match gains.len() {
        0 => 0.0,
        len if len % 2 == 1 => gains[half],
        _ => f64::midpoint(gains[half - 1], gains[half]),
    }
}
