//! What all settings of one setup share, and one setting placed on it.

use units::{Db, Dbm, Degrees, Metres, Mhz};

use super::{Setting, Setup};
use crate::attitude::{Mounting, gain_spread};
use crate::bounds::OutOfRange;
use crate::error_rate::PacketCurve;
use crate::fading::{FadedCurve, Scatter, k_by_elevation, normal_cdf, shadowing_by_height};
use crate::noise::{Site, noise_level};
use crate::path::PathLoss;
use crate::silicon;

/// Elevations at which antennas and fading are reckoned; between them, linearly.
const ELEVATIONS_DEG: [f64; 9] = [0.0, 2.0, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 85.0];

/// Five-point Gauss-Hermite rule for a standard normal: deviation and weight.
///
/// Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.10, with the
/// argument times the square root of 2 and the weights over the square root of pi.
pub(super) const NORMAL: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_69),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_64),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_64),
    (2.856_970_013_872_806, 0.011_257_411_327_720_69),
];

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
    elevation_deg: f64,
    control: Vec<f64>,
    telemetry: Vec<f64>,
    scatter: Scatter,
}

/// One distance.
#[derive(Clone, Debug)]
pub struct At {
    /// The way there.
    pub path: PathLoss,
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
    curve: PacketCurve,
    /// By elevation.
    faded: Vec<FadedCurve>,
    /// Mean margin for the asked quality, by elevation; none when others alone take more.
    needed: Option<Vec<f64>>,
    /// The share of packets that others don't hit.
    survive: f64,
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
        let mut nodes = Vec::with_capacity(ELEVATIONS_DEG.len());
        for elevation_deg in ELEVATIONS_DEG {
            let spread = |mounting: &Mounting| {
                gain_spread(&setup.ground_antenna, mounting, setup.motion, Degrees(elevation_deg))
                    .map(|spread| spread.quantiles.iter().map(|gain| gain.0).collect::<Vec<f64>>())
            };
            let control = spread(&setup.mounting)?;
            let telemetry =
                if sending == setup.mounting { control.clone() } else { spread(&sending)? };
            let scatter =
                setup.scatter.unwrap_or_else(|| Scatter::Rician { k: k_by_elevation(Degrees(elevation_deg)) });
            nodes.push(Node { elevation_deg, control, telemetry, scatter });
        }
        Ok(Stage { setup, shadowing, nodes })
    }

    /// The way to one distance, and the antennas there.
    ///
    /// # Errors
    /// [`OutOfRange`] for a distance outside its range, or beyond the end of the profile.
    pub fn at(&self, distance: Metres) -> Result<At, OutOfRange> {
        let path = self.setup.path.loss(self.setup.frequency, distance)?;
        let between = self.between(path.elevation);
        let (low, share) = between;
        let blend = |pick: fn(&Node) -> &Vec<f64>| {
            let (a, b) = (pick(&self.nodes[low]), pick(&self.nodes[low + 1]));
            a.iter().zip(b).map(|(a, b)| a + (b - a) * share).collect()
        };
        Ok(At { path, control: blend(|node| &node.control), telemetry: blend(|node| &node.telemetry), between })
    }

    fn between(&self, elevation: Degrees) -> (usize, f64) {
        let elevation = elevation.0.clamp(0.0, ELEVATIONS_DEG[ELEVATIONS_DEG.len() - 1]);
        let last = self.nodes.len() - 2;
        let low = self.nodes.iter().rposition(|node| node.elevation_deg <= elevation).unwrap_or(0).min(last);
        let (a, b) = (self.nodes[low].elevation_deg, self.nodes[low + 1].elevation_deg);
        (low, ((elevation - a) / (b - a)).clamp(0.0, 1.0))
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
        Ok(Receiver { sensitivity: quiet + desense, desense, curve, faded, needed, survive })
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
        let sum: f64 = gains
            .iter()
            .map(|gain| {
                let over = over + gain;
                if shadowing.0 > 0.0 {
                    normal_cdf(over / shadowing.0)
                } else {
                    f64::from(u8::from(over >= 0.0))
                }
            })
            .sum();
        (sum / gains.len() as f64).clamp(0.0, 1.0)
    }

    /// The share of packets that arrive, over all spells.
    pub fn mean_delivery(&self, at: &At, before: Dbm, gains: &[f64], shadowing: Db) -> f64 {
        let margin = before - self.sensitivity;
        let mut sum = 0.0;
        for gain in gains {
            for (deviation, weight) in NORMAL {
                sum += weight * self.delivery(at, Db(margin.0 + gain + deviation * shadowing.0));
            }
        }
        (sum / gains.len() as f64).clamp(0.0, 1.0)
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

impl At {
    /// The fading there.
    pub fn scatter(&self, stage: &Stage) -> Scatter {
        let (low, share) = self.between;
        match (stage.nodes[low].scatter, stage.nodes[low + 1].scatter) {
            (Scatter::Rician { k: a }, Scatter::Rician { k: b }) => Scatter::Rician { k: a + (b - a) * share },
            (first, _) => first,
        }
    }
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
