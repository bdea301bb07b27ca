//! From what was typed and what is known of the gear to a setup and a setting.

use units::{Db, Dbi, Degrees, Metres, MetresPerSecond, Mhz, Milliwatts, Seconds};

use super::{ANTENNA_KEYS, Gear, GearMode, WISHES};
use crate::adviser;
use crate::antenna::Kind as Antenna;
use crate::attitude::{Fitted, GroundAntenna, Motion, Mounting, Pointing, Shadow, Transmits};
use crate::bounds::{Bound, OutOfRange};
use crate::calc::{CalcError, Given};
use crate::fading::Scatter;
use crate::ground::{Ground, Polarisation};
use crate::hopping::wifi_centre;
use crate::latency::Stepping;
use crate::law::{Limits, UnknownRegion};
use crate::noise::{Environment, Site};
use crate::path::{Path, Trees};
use crate::profile::Profile;
use crate::sheet::{Flight, Frames, Hops, Neighbours, Receiving, Setting, Setup, SheetError, Warning, Wifi};
use crate::silicon;
use crate::telemetry::Sensor;
use crate::vegetation::TreeModel;

/// What is wrong with something that was said.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WishError {
    /// A value can't be read or lies outside its range.
    #[error(transparent)]
    Value(#[from] CalcError),
    /// No mode of the family has this name.
    #[error("`mode` is `{got}`; {family} has {have} on {band}")]
    Mode {
        /// What was typed.
        got: String,
        /// The family.
        family: String,
        /// The band.
        band: String,
        /// Its modes.
        have: String,
    },
    /// The mode has no such telemetry share.
    #[error("`telemetry_one_in` is {got}; the mode {mode} has {have}")]
    Share {
        /// What was typed.
        got: u32,
        /// The mode.
        mode: String,
        /// Its shares.
        have: String,
    },
    /// A packet lasts longer than its slot.
    #[error(
        "the mode {mode} can't be: a packet lasts {packet_ms:.1} ms, but a slot only {slot_ms:.1} ms; correct the \
         family file ({family}: packet rate, payload, spreading factor or bandwidth)"
    )]
    Slot {
        /// The mode.
        mode: String,
        /// The family.
        family: String,
        /// How long a packet lasts.
        packet_ms: f64,
        /// How long a slot lasts.
        slot_ms: f64,
    },
    /// The family has no modes on this band.
    #[error("{family} has no packet modes on {band}; add them to its file to reckon with it")]
    NoModes {
        /// The family.
        family: String,
        /// The band.
        band: String,
    },
    /// The family has no power steps, and none was typed.
    #[error("`power_mw` is needed: {family} states no power steps")]
    NoPower {
        /// The family.
        family: String,
    },
    /// A sensor can't be read.
    #[error("`sensors`: `{got}` is not name:bytes:seconds, such as battery:4:3")]
    Sensor {
        /// What was typed.
        got: String,
    },
    /// A Wi-Fi channel can't be read.
    #[error("`wifi`: `{got}` is not a channel from 1 to 13")]
    Wifi {
        /// What was typed.
        got: String,
    },
    /// The region has no limits here.
    #[error("`region`: {0}")]
    Region(UnknownRegion),
    /// The way asked for is longer than the profile.
    #[error(
        "`distance_m` is {distance}, but the profile ends at {end}; take a longer profile or a nearer distance"
    )]
    BeyondProfile {
        /// What was asked.
        distance: Metres,
        /// Where the profile ends.
        end: Metres,
    },
}

impl WishError {
    /// The input that it is about, where it is about one.
    pub fn key(&self) -> Option<&str> {
        match self {
            WishError::Value(why) => why.key(),
            WishError::Mode { .. } | WishError::Slot { .. } => Some("mode"),
            WishError::Share { .. } => Some("telemetry_one_in"),
            WishError::NoModes { .. } => None,
            WishError::NoPower { .. } => Some("power_mw"),
            WishError::Sensor { .. } => Some("sensors"),
            WishError::Wifi { .. } => Some("wifi"),
            WishError::Region(_) => Some("region"),
            WishError::BeyondProfile { .. } => Some("distance_m"),
        }
    }
}

impl From<OutOfRange> for WishError {
    fn from(why: OutOfRange) -> WishError {
        WishError::Value(CalcError::OutOfRange(why))
    }
}

/// A question, ready to be reckoned.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Everything but the setting.
    pub setup: Setup,
    /// The setting that was asked for.
    pub setting: Setting,
    /// The next slower and the next quicker mode at the same power, for comparison.
    pub others: Vec<Setting>,
    /// Every setting the gear has, for the adviser; too many are refused, not listed.
    pub all: Result<Vec<Setting>, SheetError>,
    /// What wasn't said and was taken from the gear or from a default, as `key=value`.
    pub taken: Vec<(&'static str, String)>,
}

/// Reads what was typed and makes the question of it.
///
/// # Errors
/// Every [`WishError`], at least one.
pub fn build(gear: &Gear, typed: &[(String, String)], limits: &Limits) -> Result<Asked, Vec<WishError>> {
    let (given, unread) = Given::read_kindly("a link sheet", WISHES, typed);
    let mut wrong: Vec<WishError> = unread.into_iter().map(WishError::Value).collect();
    let already: Vec<String> = wrong.iter().filter_map(|why| why.key().map(str::to_owned)).collect();
    let mut note = |result: Result<(), WishError>| {
        if let Err(why) = result
            && !why.key().is_some_and(|key| already.iter().any(|have| have == key))
        {
            wrong.push(why);
        }
    };
    note(region(&given, limits).map(|_| ()));
    note(sensors(&given).map(|_| ()));
    note(wifi(&given).map(|_| ()));
    note(setting(gear, &given).map(|_| ()));
    note(ground_antenna(&given).map(|_| ()));
    note(beyond(&given));
    if !wrong.is_empty() {
        return Err(wrong);
    }
    asked(gear, &given, limits, typed).map_err(|why| vec![why])
}

fn asked(
    gear: &Gear,
    given: &Given,
    limits: &Limits,
    typed: &[(String, String)],
) -> Result<Asked, WishError> {
    let (mode, setting) = setting(gear, given)?;
    let setup = setup(gear, given, limits, &setting)?;
    let sound = || gear.modes.iter().filter(|one| one.fits_its_slot());
    let mut by_rate: Vec<&GearMode> = sound().collect();
    by_rate.sort_by(|a, b| {
        let rate = |one: &GearMode| one.mode.packet_rate.0;
        rate(a).total_cmp(&rate(b)).then_with(|| a.mode.name.cmp(&b.mode.name))
    });
    let place = by_rate.iter().position(|one| one.mode.name == mode.mode.name).unwrap_or_default();
    let near = [place.checked_sub(1), Some(place + 1)];
    let others = near
        .into_iter()
        .flatten()
        .filter_map(|place| by_rate.get(place))
        .map(|other| {
            let wanted = setting.mode.telemetry_one_in;
            let nearest = |share: &&u32| wanted.map_or(0, |wanted| share.abs_diff(wanted));
            let share = wanted.and_then(|_| other.shares.iter().min_by_key(nearest).copied());
            of_mode(other, share, &setting)
        })
        .collect();
    let modes: Vec<_> = sound().map(|one| (one.mode.clone(), one.shares.clone(), one.hop_every)).collect();
    let mut steps = gear.power_steps.clone();
    if steps.is_empty() {
        steps.push(setting.power.milliwatts());
    }
    let telemetry_power = telemetry_power(gear, given)?.map(Milliwatts::level);
    let count = adviser::count(&modes, &steps);
    let all = if count > adviser::MOST_SETTINGS {
        Err(SheetError::TooManySettings { count, most: adviser::MOST_SETTINGS })
    } else {
        Ok(adviser::settings(&modes, &steps, telemetry_power))
    };
    let taken = WISHES
        .iter()
        .filter(|wish| !typed.iter().any(|(key, text)| key == wish.key && !text.trim().is_empty()))
        .filter_map(|wish| Some((wish.key, wish.default.filter(|text| !text.is_empty())?.to_owned())))
        .collect();
    Ok(Asked { setup, setting, others, all, taken })
}

fn of_mode(other: &GearMode, share: Option<u32>, like: &Setting) -> Setting {
    let mut mode = other.mode.clone();
    mode.telemetry_one_in = share;
    Setting {
        mode,
        power: like.power,
        telemetry_power: like.telemetry_power.filter(|_| share.is_some()),
        hop_every: other.hop_every,
    }
}

fn telemetry_power(gear: &Gear, given: &Given) -> Result<Option<Milliwatts>, WishError> {
    Ok(given.maybe_number("telemetry_mw")?.map(Milliwatts).or(gear.telemetry_power))
}

fn setting<'a>(gear: &'a Gear, given: &Given) -> Result<(&'a GearMode, Setting), WishError> {
    let wanted = given.text("mode")?;
    let no_modes = || WishError::NoModes { family: gear.family.clone(), band: gear.band.clone() };
    let mode = if wanted.is_empty() {
        // The slowest reaches farthest: the one to begin with.
        let slowest = gear
            .modes
            .iter()
            .filter(|one| one.fits_its_slot())
            .min_by(|a, b| a.mode.packet_rate.0.total_cmp(&b.mode.packet_rate.0));
        slowest.ok_or_else(no_modes)?
    } else {
        let named = gear.modes.iter().find(|one| one.mode.name.eq_ignore_ascii_case(wanted));
        named.ok_or_else(|| {
            if gear.modes.is_empty() {
                return no_modes();
            }
            WishError::Mode {
                got: wanted.chars().take(60).collect(),
                family: gear.family.clone(),
                band: gear.band.clone(),
                have: gear.modes.iter().map(|one| one.mode.name.as_str()).collect::<Vec<_>>().join(", "),
            }
        })?
    };
    if !mode.fits_its_slot() {
        return Err(WishError::Slot {
            mode: mode.mode.name.clone(),
            family: gear.family.clone(),
            packet_ms: mode.mode.airtime()?.map_or(0.0, units::Micros::ms),
            slot_ms: mode.mode.packet_rate.period().ms(),
        });
    }
    let steps = gear.power_steps.iter().copied();
    let greatest = steps.max_by(|a, b| a.0.total_cmp(&b.0));
    let power = given.maybe_number("power_mw")?.map(Milliwatts).or(greatest);
    let power = power.ok_or_else(|| WishError::NoPower { family: gear.family.clone() })?;
    let share = match given.maybe_number("telemetry_one_in")? {
        Some(0.0) => None,
        Some(_) => {
            let share = given.whole("telemetry_one_in")?;
            if !mode.shares.contains(&share) {
                let have: Vec<String> = mode.shares.iter().map(|share| format!("one in {share}")).collect();
                return Err(WishError::Share {
                    got: share,
                    mode: mode.mode.name.clone(),
                    have: if have.is_empty() { "no telemetry".to_owned() } else { have.join(", ") },
                });
            }
            Some(share)
        }
        None => mode.shares.iter().min().copied(),
    };
    let like = Setting {
        mode: mode.mode.clone(),
        power: power.level(),
        telemetry_power: telemetry_power(gear, given)?.map(Milliwatts::level),
        hop_every: mode.hop_every,
    };
    Ok((mode, of_mode(mode, share, &like)))
}

fn setup(gear: &Gear, given: &Given, limits: &Limits, setting: &Setting) -> Result<Setup, WishError> {
    let (figure, from) = match (given.maybe_number("noise_figure_db")?, gear.noise_figure) {
        (Some(figure), _) => (Db(figure), "as given"),
        (None, Some(figure)) => (figure, "from the family file"),
        (None, None) => (usual_noise_figure(gear, setting)?, usual_noise_words(gear, setting)),
    };
    let site = match given.maybe_number("noise_floor_dbm")? {
        Some(floor) => Site::Measured {
            floor: units::Dbm(floor),
            bandwidth: units::Khz(given.number("noise_bandwidth_khz")?),
        },
        None => match Environment::from_word(given.choice("noise")?) {
            Some(environment) => Site::Environment(environment),
            None => Site::Quiet,
        },
    };
    let receiving = Receiving { noise_figure: figure, from, site };
    let scatter = match (given.choice("fading")?, given.maybe_number("k_db")?) {
        ("rayleigh", None) => Some(Scatter::Rayleigh),
        ("rayleigh", Some(_)) => {
            let why = "`k_db` is given, but fading=rayleigh has no direct wave; leave one of them out";
            return Err(CalcError::DontGoTogether(why.to_owned()).into());
        }
        (_, Some(k)) => Some(Scatter::Rician { k: Db(k) }),
        ("rician", None) => {
            let why = "`k_db` is needed with fading=rician; give it, or take fading=by-elevation";
            return Err(CalcError::DontGoTogether(why.to_owned()).into());
        }
        _ => None,
    };
    Ok(Setup {
        frequency: Mhz(f64::midpoint(gear.low.0, gear.high.0)),
        path: path(given)?,
        ground_antenna: ground_antenna(given)?,
        mounting: mounting(given)?,
        motion: Motion::from_word(given.choice("motion")?).unwrap_or(Motion::Circuit),
        telemetry_sends: match given.choice("telemetry_from")? {
            "better" => Transmits::Better,
            _ => Transmits::First,
        },
        air: receiving.clone(),
        ground: receiving,
        scatter,
        shadowing: given.maybe_number("shadowing_db")?.map(Db),
        uncertainty: Db(given.number("uncertainty_db")?),
        neighbours: Neighbours { links: given.whole("other_links")?, wifi: wifi(given)? },
        hops: Hops {
            low: gear.low,
            high: gear.high,
            channels: gear.channels,
            spacing: gear.spacing,
            access: gear.access,
        },
        flight: Flight {
            distance: Metres(given.number("distance_m")?),
            height_spread: given.number("height_spread")?,
            speed: MetresPerSecond(given.number("speed_m_per_s")?),
            probability: given.number("probability")?,
            quality: given.number("quality")?,
            latency: given.maybe_number("latency_ms")?.map(|ms| Seconds(ms / 1e3)),
            span: Metres(given.number("span_m")?),
        },
        frames: Frames {
            handset: Seconds(given.number("handset_frame_ms")? / 1e3),
            servo: Seconds(given.number("servo_frame_ms")? / 1e3),
            processing: Seconds(given.number("processing_ms")? / 1e3),
            stepping: match given.choice("stepping")? {
                "in-step" => Stepping::HandsetInStep,
                _ => Stepping::FreeRunning,
            },
        },
        failsafe_after: given.maybe_number("failsafe_s")?.map(Seconds).or(gear.failsafe_after),
        sensors: sensors(given)?,
        region: region(given, limits)?,
        antennas_as_said: given.words(ANTENNA_KEYS),
        notes: notes(gear, given, setting)?,
    })
}

/// What must be known of what was said.
fn notes(gear: &Gear, given: &Given, setting: &Setting) -> Result<Vec<Warning>, WishError> {
    let mut notes = Vec::new();
    let mut note = |text: String| {
        notes.push(Warning { text, source: "what was said, beside the family file".to_owned() });
    };
    if setting.mode.telemetry_one_in.is_some() && setting.telemetry_power.is_none() {
        note(format!(
            "What the receiver sends with isn't known, so telemetry isn't reckoned: give telemetry_mw, or add it to \
             the file of {}.",
            gear.family
        ));
    }
    let stated = matches!(setting.mode.modulation, crate::mode::Modulation::Stated { .. });
    if stated && given.maybe_number("noise_figure_db")?.is_some() {
        note(format!(
            "The noise figure has no effect on the least level here: the file of {} states a sensitivity for {}.",
            gear.family, setting.mode.name
        ));
    }
    let outside = |wifi: &Wifi| {
        let half = wifi.width.0 / 2.0;
        wifi.centre.0 + half <= gear.low.0 || wifi.centre.0 - half >= gear.high.0
    };
    if wifi(given)?.iter().any(outside) {
        note(format!("Wi-Fi has no effect here: {} lies elsewhere.", gear.band));
    }
    if let Some(power) = given.maybe_number("power_mw")?
        && !gear.power_steps.is_empty()
        && !gear.power_steps.iter().any(|step| (step.0 - power).abs() < 1e-6)
    {
        let steps: Vec<String> = gear.power_steps.iter().map(|step| step.0.to_string()).collect();
        note(format!("{power} mW is no power step of {}; it has {} mW.", gear.family, steps.join(", ")));
    }
    let unsound: Vec<&str> =
        gear.modes.iter().filter(|one| !one.fits_its_slot()).map(|one| one.mode.name.as_str()).collect();
    if !unsound.is_empty() {
        note(format!(
            "Left out, since a packet lasts longer than its slot: {}. Correct the family file.",
            unsound.join(", ")
        ));
    }
    Ok(notes)
}

fn usual_noise_words(gear: &Gear, setting: &Setting) -> &'static str {
    match &setting.mode.modulation {
        crate::mode::Modulation::Css(_) => {
            "the one that fits the public chip's data sheet; losses inside are in it"
        }
        _ if gear.low.0 < 1000.0 => "usual for two-tone receivers below 1 GHz (from memory)",
        _ => "usual for two-tone receivers at 2.4 GHz (SX1280/81 data sheet Rev 2.2, table 6-7)",
    }
}

/// The noise figure that fits the public chips' data sheets. Two-tone receivers below 1 GHz
/// hear about 6 dB better than those at 2.4 GHz ([`silicon::TYPICAL_FSK`]; from memory).
fn usual_noise_figure(gear: &Gear, setting: &Setting) -> Result<Db, OutOfRange> {
    match &setting.mode.modulation {
        crate::mode::Modulation::Css(css) => silicon::noise_figure(css.chip, css.bandwidth),
        _ if gear.low.0 < 1000.0 => Ok(silicon::TYPICAL_FSK - Db(6.0)),
        _ => Ok(silicon::TYPICAL_FSK),
    }
}

fn path(given: &Given) -> Result<Path, WishError> {
    let depth = given.number("trees_m")?;
    Ok(Path {
        ground_height: Metres(given.number("ground_height_m")?),
        air_height: Metres(given.number("air_height_m")?),
        polarisation: Polarisation::from_word(given.choice("polarisation")?)
            .unwrap_or(Polarisation::Vertical),
        ground: Ground::named(given.choice("ground")?).unwrap_or(Ground::AVERAGE_LAND),
        earth_k: given.number("k")?,
        profile: given.maybe_profile("profile")?.cloned(),
        trees: (depth > 0.0).then_some(Trees {
            model: TreeModel::from_word(given.choice("trees")?).unwrap_or(TreeModel::Weissberger),
            depth: Metres(depth),
        }),
    })
}

/// The transmitter's antenna as it was said.
///
/// # Errors
/// [`WishError`] for a gain that the antenna can't have.
pub fn ground_antenna(given: &Given) -> Result<GroundAntenna, WishError> {
    let (word, gain) = (given.choice("tx_antenna")?, given.maybe_number("tx_gain_dbi")?);
    if gain.is_some() && matches!(word, "isotropic" | "off") {
        let why =
            format!("`tx_gain_dbi` doesn't go with tx_antenna={word}; leave it out, or take another antenna");
        return Err(CalcError::DontGoTogether(why).into());
    }
    if let Some(gain) = gain {
        // A wire's gain comes from its shape; more of it is another antenna, with a beam.
        let (low, high) = match word {
            "patch" => (3.0, 20.0),
            "yagi" => (5.0, 25.0),
            "circular-right" | "circular-left" => (-10.0, 4.0),
            "monopole" => (-10.0, 3.0),
            _ => (-10.0, 2.5),
        };
        let why = "what this sort of antenna can have; more gain is another sort, with a narrower beam";
        let bound = Bound { name: "tx_gain_dbi", unit: "dBi", low, high, why };
        bound.check(gain).map_err(CalcError::OutOfRange)?;
    }
    let kind = kind(word, gain);
    let off = given.number("tx_off_deg")?;
    Ok(GroundAntenna {
        kind,
        polarisation: Polarisation::from_word(given.choice("polarisation")?)
            .unwrap_or(Polarisation::Vertical),
        pointing: if off == 0.0 { Pointing::Right } else { Pointing::OffBy(Degrees(off)) },
        feed_loss: Db(given.number("tx_cable_db")?),
    })
}

/// The antenna of a word, with another gain where one is given. A beam of another gain is
/// as much narrower: gain times the square of the width stays (flat patch and Yagi alike).
fn kind(word: &str, gain: Option<f64>) -> Antenna {
    let usual = Antenna::from_word(word).unwrap_or(Antenna::HalfWaveDipole);
    let Some(gain) = gain else { return usual };
    let narrower = |usual: Dbi, width: Degrees| {
        let width = width.0 * 10f64.powf((usual.0 - gain) / 20.0);
        Degrees(width.clamp(2.0, 179.0))
    };
    match usual {
        Antenna::Patch { gain: usual, beamwidth } => {
            Antenna::Patch { gain: Dbi(gain), beamwidth: narrower(usual, beamwidth) }
        }
        Antenna::Yagi { gain: usual, beamwidth } => {
            Antenna::Yagi { gain: Dbi(gain), beamwidth: narrower(usual, beamwidth) }
        }
        Antenna::Circular { hand, axial_ratio, .. } => {
            Antenna::Circular { hand, axial_ratio, gain: Dbi(gain) }
        }
        other => raised(&other, gain),
    }
}

/// The same shape with another peak, as a table.
fn raised(kind: &Antenna, gain: f64) -> Antenna {
    let by = gain - kind.peak().0;
    let rows = (0..=36).map(|step| {
        let off = Degrees(f64::from(step) * 5.0);
        (off, Dbi((kind.gain(off).0 + by).clamp(-30.0, 30.0)))
    });
    Antenna::Table(rows.collect())
}

const NOSE: [f64; 3] = [1.0, 0.0, 0.0];
const WING: [f64; 3] = [0.0, 1.0, 0.0];
const DOWN: [f64; 3] = [0.0, 0.0, 1.0];

/// The aircraft's antennas as they were said.
///
/// # Errors
/// [`WishError`] for an input that isn't declared.
pub fn mounting(given: &Given) -> Result<Mounting, WishError> {
    let kind = kind(given.choice("rx_antenna")?, None);
    let axes: &[[f64; 3]] = match given.choice("rx_antennas")? {
        "one-upright" => &[DOWN],
        "one-along-body" => &[NOSE],
        "two-crossed" => &[WING, DOWN],
        "two-parallel" => &[WING, WING],
        _ => &[WING],
    };
    let feed_loss = Db(given.number("rx_cable_db")?);
    let toward = match given.choice("shadow_toward")? {
        "tail" => [-1.0, 0.0, 0.0],
        "above" => [0.0, 0.0, -1.0],
        "below" => DOWN,
        "left" => [0.0, -1.0, 0.0],
        "right" => WING,
        _ => NOSE,
    };
    let loss = given.number("shadow_db")?;
    let half_angle = given.number("shadow_deg")?;
    Ok(Mounting {
        antennas: axes.iter().map(|axis| Fitted { kind: kind.clone(), axis: *axis, feed_loss }).collect(),
        shadow: (loss > 0.0 && half_angle > 0.0).then_some(Shadow {
            axis: toward,
            half_angle: Degrees(half_angle),
            loss: Db(loss),
        }),
    })
}

fn region(given: &Given, limits: &Limits) -> Result<Option<String>, WishError> {
    let typed = given.text("region")?;
    if typed.is_empty() || typed.eq_ignore_ascii_case("none") {
        return Ok(None);
    }
    limits.region(typed).map(|region| Some(region.to_owned())).map_err(WishError::Region)
}

fn beyond(given: &Given) -> Result<(), WishError> {
    let distance = Metres(given.number("distance_m")?);
    match given.maybe_profile("profile")?.map(Profile::length) {
        Some(end) if distance.0 > end.0 => Err(WishError::BeyondProfile { distance, end }),
        _ => Ok(()),
    }
}

fn wifi(given: &Given) -> Result<Vec<Wifi>, WishError> {
    let busy = given.number("wifi_busy")?;
    let text = given.text("wifi")?;
    let channels = text.split([',', ';', ' ']).map(str::trim).filter(|part| !part.is_empty());
    channels
        .map(|part| {
            let bad = || WishError::Wifi { got: part.chars().take(20).collect() };
            let channel: u32 = part.parse().map_err(|_| bad())?;
            let centre = wifi_centre(channel).map_err(|_| bad())?;
            Ok(Wifi { centre, width: Mhz(20.0), busy })
        })
        .collect()
}

/// The bytes of one sensor's frame, and how fresh it can be wanted.
fn sensors(given: &Given) -> Result<Vec<Sensor>, WishError> {
    let text = given.text("sensors")?;
    let parts = text.split([';', '\n']).map(str::trim).filter(|part| !part.is_empty() && *part != "none");
    parts
        .map(|part| {
            let bad = || WishError::Sensor { got: part.chars().take(40).collect() };
            let mut fields = part.split(':').map(str::trim);
            let (Some(name), Some(bytes), Some(seconds), None) =
                (fields.next(), fields.next(), fields.next(), fields.next())
            else {
                return Err(bad());
            };
            let bytes: u32 = bytes.parse().map_err(|_| bad())?;
            let wanted: f64 = seconds.parse().map_err(|_| bad())?;
            if name.is_empty() || !(1..=255).contains(&bytes) || !(0.01..=3600.0).contains(&wanted) {
                return Err(bad());
            }
            Ok(Sensor { name: name.to_owned(), bytes, wanted: Seconds(wanted) })
        })
        .collect()
}
