//! The sheet itself: everything at the wanted distance, then the curve.

use units::{Db, Dbi, Dbm, Hertz, Khz, Mhz, Micros, Seconds};

use super::answer::{
    Antennas, Direction, FailsafeChance, Gain, Limiting, Named, Reach, Sheet, Stair, StairKind, Warning, Way,
};
use super::reach::{Ends, ONE_IN_TWENTY, Row, curve, percentile, reach, reach_with};
use super::stage::{At, Stage, Tuned, middle, over_shadow, real};
use super::{FAILSAFE_SPAN, SPELL, Setting, Setup, SheetError, assume};
use crate::antenna::Axis;
use crate::attitude::{GroundAntenna, Pointing, Transmits};
use crate::bounds::OutOfRange;
use crate::css::Css;
use crate::fading::Scatter;
use crate::failsafe::{Failsafe, Outlook, chance_in, doppler, outlook};
use crate::hopping::{self, HopPlan, Hoppers, Network};
use crate::latency::{Latency, Stepping, Timing, latency};
use crate::law::{Emission, Judgement, Limits, judge};
use crate::mode::Modulation;
use crate::sight::{height_rule, sight_distance};
use crate::telemetry::{Fit, Slots, fit};

/// The link sheet of one setting. `others` are settings to compare it with: each becomes
/// one of [`Sheet::gains`].
///
/// # Errors
/// [`SheetError`] when a value lies outside its range or the region is unknown.
pub fn sheet(
    setup: &Setup,
    setting: &Setting,
    others: &[Setting],
    limits: &Limits,
) -> Result<Sheet, SheetError> {
    let stage = Stage::new(setup)?;
    let row = Row::new(&stage)?;
    sheet_on(&stage, &row, setting, others, limits)
}

/// The same on a stage that is already reckoned.
///
/// # Errors
/// As [`sheet`].
pub fn sheet_on(
    stage: &Stage,
    row: &Row,
    setting: &Setting,
    others: &[Setting],
    limits: &Limits,
) -> Result<Sheet, SheetError> {
    let setup = stage.setup;
    let tuned = stage.tune(setting)?;
    let at = stage.at(setup.flight.distance)?;
    let control = direction(stage, row, &tuned.control(), &at)?;
    let telemetry = tuned.telemetry().map(|ends| direction(stage, row, &ends, &at)).transpose()?;
    let limiting = limiting(&control, telemetry.as_ref());
    let lost = 1.0 - control.delivery;
    let here = latency_of(setup, setting, lost)?;
    let far =
        [Some(setup.flight.distance), control.reach.high, telemetry.as_ref().and_then(|way| way.reach.high)]
            .into_iter()
            .flatten()
            .map(|distance| distance.0)
            .fold(100.0, f64::max);
    let law = law_of(setup, setting, Way::Control, limits)?;
    let telemetry_law = match telemetry {
        Some(_) => law_of(setup, setting, Way::Telemetry, limits)?,
        None => None,
    };
    let kept = setup.flight.latency.map(|wanted| here.p95.0 <= wanted.0 * (1.0 + 1e-9));
    let standings = [&law, &telemetry_law].into_iter().flatten().map(Judgement::standing);
    Ok(Sheet {
        holds: control.holds,
        in_time: kept,
        standing: standings.max(),
        formulas: formulas(stage, setting, &tuned, &at, lost)?,
        gains: gains(stage, row, &tuned, setting, others, &control.reach, here.median)?,
        curve: curve(stage, row, &tuned, units::Metres(far * 1.3)),
        failsafe: failsafe(stage, &tuned, setting, &at)?,
        telemetry_fit: telemetry_fit(setup, setting),
        warnings: warnings(setup, &at, &control, telemetry.as_ref())?,
        assumptions: assume::assumptions(stage, setting, &tuned, &at),
        lost_to_others: 1.0 - tuned.air.survive(),
        path: at.path,
        latency: here,
        control,
        telemetry,
        limiting,
        lost,
        law,
        telemetry_law,
    })
}

fn direction(stage: &Stage, row: &Row, ends: &Ends, at: &At) -> Result<Direction, OutOfRange> {
    let gains = ends.gains(at);
    let before = ends.before(at);
    let received = before + Db(middle(gains));
    let sensitivity = ends.receiver.sensitivity;
    let probability = ends.probability(at, stage.shadowing, Db::ZERO);
    Ok(Direction {
        way: ends.way,
        stairs: stairs(stage, ends, at),
        antennas: antennas_of(gains),
        received,
        sensitivity,
        margin: received - sensitivity,
        needed: ends.receiver.needed(at),
        probability,
        holds: probability >= stage.setup.flight.probability - 1e-9,
        delivery: ends.receiver.mean_delivery(at, before, gains, stage.shadowing),
        reach: reach(stage, row, ends)?,
    })
}

/// Gains in ascending order, equally likely.
pub(crate) fn antennas_of(gains: &[f64]) -> Antennas {
    let powers: f64 = gains.iter().map(|gain| Db(*gain).ratio()).sum();
    let at = |one_in: usize| Db(gains.get(gains.len() / one_in).copied().unwrap_or_default());
    Antennas {
        expected: Db::of_ratio(powers / real(gains.len().max(1))),
        middling: Db(middle(gains)),
        worst_of_20: at(20),
        worst: Db(gains.first().copied().unwrap_or_default()),
    }
}

/// The gain of the ground antenna as it is held.
pub(crate) fn held_gain(antenna: &GroundAntenna) -> Dbi {
    let off = match antenna.pointing {
        Pointing::Right => return antenna.kind.peak(),
        Pointing::OffBy(off) => off,
    };
    match antenna.kind.axis() {
        Axis::Wire => antenna.kind.gain(units::Degrees(90.0 - off.0)),
        Axis::Beam => antenna.kind.gain(off),
        Axis::None => antenna.kind.peak(),
    }
}

fn stairs(stage: &Stage, ends: &Ends, at: &At) -> Vec<Stair> {
    let setup = stage.setup;
    let gains = ends.gains(at);
    let ground = held_gain(&setup.ground_antenna).over_isotropic() - setup.ground_antenna.feed_loss;
    let air = Db(middle(gains)) - ground;
    let mut level = ends.power;
    let mut stairs = Vec::with_capacity(10);
    let mut step = |kind, says, change: Db, formula, inputs: String| {
        level = level + change;
        stairs.push(Stair { kind, says, change, level, formula, inputs });
    };
    let elevation = at.path.elevation.0.clamp(0.0, 85.0);
    let sends = match ends.way {
        Way::Control => Transmits::Better,
        Way::Telemetry => setup.telemetry_sends,
    };
    let antennas =
        || format!("{} elevation_deg={elevation:.4} telemetry_from={}", setup.antennas_as_said, sends.word());
    let ground_step = ("transmitter's antenna and cable", ground);
    let air_step = ("aircraft's antenna, as it lies", air);
    let (first, second) = match ends.way {
        Way::Control => (ground_step, air_step),
        Way::Telemetry => (air_step, ground_step),
    };
    step(StairKind::Power, "power", Db::ZERO, "", format!("{:.1} mW", ends.power.milliwatts().0));
    step(StairKind::Antenna, first.0, first.1, "antenna-spread", antennas());
    let inputs = format!("frequency_mhz={} distance_m={:.3}", setup.frequency.0, at.path.slant.0);
    step(StairKind::Way, "free space", -at.path.free_space, "free-space-loss", inputs);
    step(StairKind::Way, "the ground", -at.path.ground, "path-loss", way_inputs(setup));
    if setup.path.trees.is_some() {
        step(StairKind::Way, "trees", -at.path.trees, "path-loss", way_inputs(setup));
    }
    step(StairKind::Antenna, second.0, second.1, "antenna-spread", antennas());
    let worst = Db(percentile(at, gains, stage.shadowing, 0.05) - middle(gains));
    let inputs = format!(
        "64 attitudes ({}), 5 heights within {:.0} %, shadowing {:.1} dB, together",
        setup.motion.word(),
        setup.flight.height_spread * 100.0,
        stage.shadowing.0
    );
    step(StairKind::Allowance, "attitude, height and shadow: worst of 20 spells", worst, "", inputs);
    if let Some(needed) = ends.receiver.needed(at) {
        let inputs = quality_inputs(stage, ends, at);
        step(StairKind::Allowance, "for the asked packets, in fading", -needed, "quality-margin", inputs);
    }
    stairs
}

/// The formulas of the figures beside the staircase.
fn formulas(
    stage: &Stage,
    setting: &Setting,
    tuned: &Tuned,
    at: &At,
    lost: f64,
) -> Result<Vec<Named>, OutOfRange> {
    let setup = stage.setup;
    let mode = &setting.mode;
    let mut list = Vec::new();
    let mut name = |what, formula, inputs: String| list.push(Named { what, formula, inputs });
    let figure = setup.air.noise_figure.0;
    match &mode.modulation {
        Modulation::Css(css) => {
            let packet = packet_inputs(css);
            let chip = format!("sf={} bandwidth_hz={}", css.sf, css.bandwidth.hz());
            name(
                "least level, without noise from outside",
                "css-sensitivity",
                format!("chip={} {chip} noise_figure_db={figure}", css.chip.word()),
            );
            let inputs = format!("{chip} {packet} payload_bytes={}", mode.payload_bytes);
            name("a packet's time on the air", "css-airtime", inputs);
        }
        Modulation::Fsk(fsk) => {
            let inputs = format!(
                "bit_rate_kbps={} payload_bytes={} noise_figure_db={figure}",
                fsk.bit_rate_kbps, mode.payload_bytes
            );
            name("least level, without noise from outside", "fsk-sensitivity", inputs);
        }
        Modulation::Stated { .. } => {}
    }
    let frames = &setup.frames;
    let airtime = mode.airtime()?.unwrap_or(Micros(mode.packet_rate.period().0 * 1e6));
    let share =
        mode.telemetry_one_in.map_or_else(String::new, |one_in| format!(" telemetry_one_in={one_in}"));
    name(
        "from stick to servo",
        "stick-latency",
        format!(
            "handset_frame_ms={} packet_rate_hz={} airtime_us={:.3} servo_frame_ms={} processing_ms={}{share} \
             in_step={} loss={:.6}",
            frames.handset.ms(),
            mode.packet_rate.0,
            airtime.0,
            frames.servo.ms(),
            frames.processing.ms(),
            if frames.stepping == Stepping::HandsetInStep { "on" } else { "off" },
            lost.clamp(0.0, 0.99),
        ),
    );
    if setup.neighbours.links > 0 {
        let plan = hop_plan(setup, setting);
        let share = (airtime.0 / (mode.packet_rate.period().0 * 1e6)).min(1.0);
        name(
            "packets that other links hit",
            "hop-share-collision",
            format!(
                "links={} channels={} own_share={share:.6} other_share={share:.6}",
                setup.neighbours.links + 1,
                plan.channels
            ),
        );
    }
    if let (Some(after), Scatter::Rician { k }) = (setup.failsafe_after, at.scatter(stage)) {
        let middling = tuned.control();
        let margin = middling.before(at) - middling.receiver.sensitivity + Db(middle(&at.control));
        name(
            "failsafes by fading alone, in the middling attitude",
            "failsafe-chance",
            format!(
                "margin_db={:.3} k_db={:.3} packet_rate_hz={:.6} timeout_s={} speed_m_per_s={} frequency_mhz={} \
                 payload_bytes={}",
                margin.0.clamp(-100.0, 200.0),
                k.0,
                mode.packet_rate.0 * mode.control_share(),
                after.0,
                setup.flight.speed.0,
                setup.frequency.0,
                mode.payload_bytes
            ),
        );
    }
    Ok(list)
}

/// The packet's format as inputs of `css-airtime` and `quality-margin`.
fn packet_inputs(css: &Css) -> String {
    format!(
        "chip={} coding_rate=4/{} interleaving={} preamble_symbols={} header={} crc={}",
        css.chip.word(),
        css.coding.denominator,
        css.coding.interleaving.word(),
        css.preamble_symbols,
        css.header.word(),
        if css.crc { "on" } else { "off" },
    )
}

/// What a receiver must hear as inputs of the formula `quality-margin`.
fn quality_inputs(stage: &Stage, ends: &Ends, at: &At) -> String {
    let fading = match at.scatter(stage) {
        Scatter::Rayleigh => "fading=rayleigh".to_owned(),
        Scatter::Rician { k } => format!("fading=rician k_db={:.3}", k.0),
    };
    let mode = &ends.receiver.mode;
    let modulation = match &mode.modulation {
        Modulation::Css(css) => {
            format!("modulation=css sf={} bandwidth_hz={} {}", css.sf, css.bandwidth.hz(), packet_inputs(css))
        }
        Modulation::Fsk(_) => "modulation=fsk".to_owned(),
        Modulation::Stated { .. } => "modulation=stated".to_owned(),
    };
    let quality = stage.setup.flight.quality / ends.receiver.survive();
    format!("{modulation} payload_bytes={} quality={quality:.6} {fading}", mode.payload_bytes)
}

/// The way of a setup as inputs of the formula `path-loss`.
fn way_inputs(setup: &Setup) -> String {
    let path = &setup.path;
    let mut inputs = format!(
        "frequency_mhz={} distance_m={} ground_height_m={} air_height_m={} polarisation={} ground={} k={:.6}",
        setup.frequency.0,
        setup.flight.distance.0,
        path.ground_height.0,
        path.air_height.0,
        path.polarisation.word(),
        path.ground.name,
        path.earth_k,
    );
    if let Some(trees) = &path.trees {
        inputs = format!("{inputs} trees_m={} trees={}", trees.depth.0, trees.model.word());
    }
    if let Some(profile) = &path.profile {
        inputs = format!("{inputs} profile={}", profile.words());
    }
    inputs
}

fn limiting(control: &Direction, telemetry: Option<&Direction>) -> Limiting {
    let Some(telemetry) = telemetry else { return Limiting::OnlyControl };
    // Compared in whole metres, so that every platform says the same.
    let metres = |reach: &Reach| match (reach.beyond, reach.distance) {
        (true, _) => f64::INFINITY,
        (false, distance) => distance.map_or(0.0, |distance| distance.0.round()),
    };
    let (up, down) = (metres(&control.reach), metres(&telemetry.reach));
    if up < down {
        Limiting::Way(Way::Control)
    } else if down < up {
        Limiting::Way(Way::Telemetry)
    } else {
        Limiting::Both
    }
}

fn gains(
    stage: &Stage,
    row: &Row,
    tuned: &Tuned,
    setting: &Setting,
    others: &[Setting],
    now: &Reach,
    median: Seconds,
) -> Result<Vec<Gain>, SheetError> {
    let setup = stage.setup;
    let farther = |distance: Option<units::Metres>| Some(distance?.0 / now.distance?.0 - 1.0);
    let mut gains = Vec::with_capacity(others.len() + 1);
    let (distance, beyond) = reach_with(stage, row, &tuned.control(), Db(1.0))?;
    let farther_by = if beyond { None } else { farther(distance) };
    gains.push(Gain { of: "1 dB more".to_owned(), distance, farther: farther_by, latency: median });
    for other in others {
        let placed = stage.tune(other)?;
        let (distance, beyond) = reach_with(stage, row, &placed.control(), Db::ZERO)?;
        let ends = placed.control();
        let at = stage.at(setup.flight.distance)?;
        let delivery = placed.air.mean_delivery(&at, ends.before(&at), &at.control, stage.shadowing);
        gains.push(Gain {
            of: other.mode.name.clone(),
            distance,
            farther: if beyond { None } else { farther(distance) },
            latency: latency_of(setup, other, 1.0 - delivery)?.median,
        });
    }
    gains.retain(|gain| gain.of != setting.mode.name);
    Ok(gains)
}

/// Stick to servo with a share of packets lost.
///
/// # Errors
/// [`OutOfRange`] for times outside their range.
pub fn latency_of(setup: &Setup, setting: &Setting, lost: f64) -> Result<Latency, OutOfRange> {
    let mode = &setting.mode;
    let interval = mode.packet_rate.period();
    // A mode that doesn't say how long a packet lasts has at most its slot.
    let airtime = mode.airtime()?.unwrap_or(Micros(interval.0 * 1e6));
    let timing = Timing {
        handset_frame: setup.frames.handset,
        packet_interval: interval,
        airtime,
        servo_frame: setup.frames.servo,
        telemetry_one_in: mode.telemetry_one_in,
        in_step: setup.frames.stepping,
        processing: setup.frames.processing,
    };
    // Beyond this the link is gone rather than late; the sheet says so by its probability.
    latency(&timing, lost.clamp(0.0, 0.99))
}

/// The slots that a setting has for telemetry; none without.
pub fn slots_of(setting: &Setting) -> Option<Slots> {
    let one_in = setting.mode.telemetry_one_in?;
    let per_second = Hertz(setting.mode.packet_rate.0 / f64::from(one_in.max(1)));
    Some(Slots { per_second, bytes: setting.mode.payload_bytes })
}

fn telemetry_fit(setup: &Setup, setting: &Setting) -> Option<Fit> {
    let slots = slots_of(setting)?;
    (!setup.sensors.is_empty()).then(|| fit(&setup.sensors, &slots))
}

/// What the limits of the setup's region say about one way of a setting; none without a
/// region, or without a power.
///
/// # Errors
/// [`SheetError::Region`], naming the regions there are.
pub fn law_of(
    setup: &Setup,
    setting: &Setting,
    way: Way,
    limits: &Limits,
) -> Result<Option<Judgement>, SheetError> {
    let Some(region) = &setup.region else { return Ok(None) };
    let Some(emission) = emission(setup, setting, way)? else { return Ok(None) };
    Ok(Some(judge(limits, region, &emission)?))
}

/// What one way sends, as far as rules ask; none when its power isn't known.
///
/// # Errors
/// [`OutOfRange`] for a mode outside its range.
pub fn emission(setup: &Setup, setting: &Setting, way: Way) -> Result<Option<Emission>, OutOfRange> {
    let mode = &setting.mode;
    let airtime = mode.airtime()?;
    let occupied = mode.modulation.bandwidth();
    let hops = &setup.hops;
    let (conducted, gain, feed_loss, share) = match way {
        Way::Control => {
            let antenna = &setup.ground_antenna;
            (setting.power, antenna.kind.peak(), antenna.feed_loss, mode.control_share())
        }
        Way::Telemetry => {
            let (Some(power), Some(fitted)) = (setting.telemetry_power, setup.mounting.antennas.first())
            else {
                return Ok(None);
            };
            (power, fitted.kind.peak(), fitted.feed_loss, mode.telemetry_share())
        }
    };
    // Where channels and spacing are known, the hop channels stand in the middle of the band.
    let span = match (hops.channels, hops.spacing, occupied) {
        (Some(channels), Some(spacing), Some(occupied)) if channels > 1 => {
            (f64::from(channels - 1) * spacing.0 + occupied.0) / 1e3
        }
        _ => hops.high.0 - hops.low.0,
    };
    let middle = f64::midpoint(hops.low.0, hops.high.0);
    let packets = setting.hop_every;
    Ok(Some(Emission {
        conducted,
        gain,
        feed_loss,
        low: Mhz(middle - span / 2.0),
        high: Mhz(middle + span / 2.0),
        occupied,
        hop_channels: hops.channels,
        hop_spacing: hops.spacing,
        dwell: airtime.zip(packets).map(|(airtime, packets)| airtime * f64::from(packets)),
        airtime,
        duty: airtime.map(|airtime| (airtime.seconds().0 * mode.packet_rate.0 * share).min(1.0)),
        access: hops.access,
    }))
}

/// The grid on which the outlook of a failsafe is reckoned, and the finer one on which it
/// is averaged over shadowing.
const FIRST_DB: f64 = -30.0;
const COARSE_DB: f64 = 2.0;
const COARSE: usize = 46;
const FINE: usize = 4;

/// The chance of a failsafe in ten minutes at one distance.
///
/// Spells of one level last [`SPELL`] on average, exponentially. Within a spell that has
/// lasted for a time-out, fading may lose every packet of one ([`crate::failsafe`]). Spells in which
/// nothing arrives at all, a share b of them, join to runs that last SPELL/(1 − b) on
/// average; one that outlasts the time-out is a failsafe: b (1 − b)/SPELL · exp(−time-out
/// (1 − b)/SPELL) a second (a run of exponential spells is exponential).
fn failsafe(
    stage: &Stage,
    tuned: &Tuned,
    setting: &Setting,
    at: &At,
) -> Result<Option<FailsafeChance>, OutOfRange> {
    let setup = stage.setup;
    let Some(after) = setup.failsafe_after else { return Ok(None) };
    let mode = &setting.mode;
    let packet_interval = Seconds(mode.packet_rate.period().0 / mode.control_share().max(0.01));
    let doppler = doppler(setup.flight.speed, setup.frequency)?;
    let free = tuned.air.survive();
    // In a spell, fading has at most the spell's own time.
    let within = Failsafe { timeout: Seconds(after.0.min(SPELL.0)), packet_interval, doppler, free };
    let scatter = at.scatter(stage);
    let ends = tuned.control();
    let before: Dbm = ends.before(at);
    let over = (before - ends.receiver.sensitivity).0;
    let (mut begins, mut dead) = (Vec::with_capacity(COARSE), Vec::with_capacity(COARSE));
    for step in 0..COARSE {
        let level = Db(FIRST_DB + COARSE_DB * real(step));
        let Outlook { begins_per_second, share_of_time } =
            outlook(tuned.air.curve(), scatter, level, &within)?;
        begins.push(begins_per_second * (1.0 - share_of_time));
        dead.push(share_of_time);
    }
    let fine_db = COARSE_DB / real(FINE);
    let begins = over_shadow(&finer(&begins), fine_db, stage.shadowing);
    let dead = over_shadow(&finer(&dead), fine_db, stage.shadowing);
    let read = |values: &[f64], margin: f64| {
        let along = ((margin - FIRST_DB) / fine_db).clamp(0.0, real(values.len() - 1));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped just before")]
        let low = (along as usize).min(values.len() - 2);
        values[low] + (values[low + 1] - values[low]) * (along - real(low))
    };
    let (mut quick, mut lost) = (0.0, 0.0);
    for gain in at.spells(&at.control) {
        quick += read(&begins, over + gain);
        lost += read(&dead, over + gain);
    }
    let count = At::count(&at.control);
    let (quick, lost) = (quick / count, (lost / count).clamp(0.0, 1.0));
    let quick = quick * (-after.0 / SPELL.0).exp();
    let outlasts = (-after.0 * (1.0 - lost) / SPELL.0).exp();
    let slow = lost * (1.0 - lost) / SPELL.0 * outlasts;
    let already = lost * outlasts;
    let rate = quick + slow;
    Ok(Some(FailsafeChance {
        after,
        chance: (1.0 - (1.0 - already) * (1.0 - chance_in(rate, FAILSAFE_SPAN))).clamp(0.0, 1.0),
        from_fading: if rate > 0.0 { quick / rate } else { 0.0 },
    }))
}

/// The same figures [`FINE`] times as dense, straight in the logarithm between them: a rate
/// falls by decades within a few decibels.
fn finer(values: &[f64]) -> Vec<f64> {
    const LEAST: f64 = 1e-300;
    let mut dense = Vec::with_capacity((values.len() - 1) * FINE + 1);
    for pair in values.windows(2) {
        let (a, b) = (pair[0].max(LEAST).ln(), pair[1].max(LEAST).ln());
        dense.extend((0..FINE).map(|part| (a + (b - a) * real(part) / real(FINE)).exp()));
    }
    dense.extend(values.last());
    dense
}

/// The hop plan of a setting: the channels as the family file has them, or as many as fit
/// side by side where it doesn't say; in the middle of the band.
pub fn hop_plan(setup: &Setup, setting: &Setting) -> HopPlan {
    let hops = &setup.hops;
    let width_khz = (hops.high.0 - hops.low.0) * 1e3;
    let bandwidth = setting.mode.modulation.bandwidth().unwrap_or(Khz(500.0));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped just before")]
    let fitting = (width_khz / bandwidth.0).floor().clamp(1.0, 1000.0) as u32;
    let channels = hops.channels.filter(|channels| *channels > 0).unwrap_or(fitting);
    let spacing = hops.spacing.unwrap_or(Khz(width_khz / f64::from(channels)));
    let middle = f64::midpoint(hops.low.0, hops.high.0);
    let first = middle - f64::from(channels - 1) * spacing.0 / 2e3;
    HopPlan { first: Mhz(first), spacing, channels, bandwidth }
}

/// The share of packets that neither another hopping link nor Wi-Fi hits. The other links
/// send as this one does.
pub(super) fn survive(setup: &Setup, setting: &Setting) -> Result<f64, OutOfRange> {
    let neighbours = &setup.neighbours;
    if neighbours.links == 0 && neighbours.wifi.is_empty() {
        return Ok(1.0);
    }
    let plan = hop_plan(setup, setting);
    let interval = Micros(setting.mode.packet_rate.period().0 * 1e6);
    let airtime = Micros(setting.mode.airtime()?.map_or(interval.0, |airtime| airtime.0).min(interval.0));
    let others = Hoppers { links: neighbours.links, channels: plan.channels, airtime, interval };
    let networks: Vec<Network> = neighbours
        .wifi
        .iter()
        .map(|wifi| Network {
            centre: wifi.centre,
            width: Khz(wifi.width.0 * 1e3),
            duty: wifi.busy,
            burst: WIFI_BURST,
        })
        .collect();
    Ok(hopping::survive(&plan, airtime, &[others], &networks)?.probability)
}

/// How long one burst of a Wi-Fi network lasts: a judgement, no source. A long aggregate
/// takes a few milliseconds, a short frame a few hundred microseconds.
pub const WIFI_BURST: Micros = Micros(1000.0);

fn warnings(
    setup: &Setup,
    at: &At,
    control: &Direction,
    telemetry: Option<&Direction>,
) -> Result<Vec<Warning>, OutOfRange> {
    let mut warnings = setup.notes.clone();
    let mut warn = |text: String, source: &str| warnings.push(Warning { text, source: source.to_owned() });
    let seen = sight_distance(setup.flight.span)?;
    let slant = at.path.slant;
    let judged = "a judgement: the span under 5 minutes of arc, no source";
    if slant.0 > seen.0 {
        warn(
            format!(
                "At {slant} an aircraft of {} m span is too small to tell its attitude by eye; about {seen} is the \
                 limit. Nearly every rule wants it in sight.",
                setup.flight.span.0
            ),
            judged,
        );
    } else if control.reach.distance.is_some_and(|reach| reach.0 > seen.0) {
        warn(
            format!(
                "The link reaches farther than an aircraft of {} m span can be flown by eye (about {seen}); the \
                 reach beyond that is margin, no leave to go there.",
                setup.flight.span.0
            ),
            judged,
        );
    }
    if let Some(rule) = setup.region.as_deref().and_then(height_rule)
        && setup.path.air_height.0 > rule.height.0
    {
        let known = match rule.known {
            crate::sight::Known::Text => "",
            crate::sight::Known::SecondHand => " (second-hand)",
            crate::sight::Known::Memory => " (from memory: check it)",
        };
        warn(
            format!(
                "{} above ground is over the {:.0} m that {} names{known}. A club's own permission may say otherwise.",
                setup.path.air_height, rule.height.0, rule.region
            ),
            rule.source,
        );
    }
    if control.needed.is_none() {
        warn(
            format!(
                "Other transmitters alone take so many packets that {:.0} in 100 can't arrive, so the link never holds \
                 here. That is the worst case, in which every overlap is lost; ask for a lower quality to see the rest.",
                setup.flight.quality * 100.0
            ),
            "closed forms of hopping collisions",
        );
    }
    if at.path.clearance <= 0.0 {
        warn(
            "The ground stands between the two antennas: the reckoning by diffraction is for a still path, and a \
             flight behind a hill loses sight as well."
                .to_owned(),
            "Rec. ITU-R P.526, section 4.5.2",
        );
    }
    if let Some(down) = telemetry
        && down.reach.distance.map(|d| d.0.round()) < control.reach.distance.map(|d| d.0.round())
        && !down.reach.beyond
    {
        warn(
            "Telemetry fails before control does: alarms that need it fall silent first, and silence is not good news."
                .to_owned(),
            "both directions of this sheet",
        );
    }
    Ok(warnings)
}

/// The deviation of the model's interval, for the pages.
pub fn interval_deviation(setup: &Setup) -> Db {
    setup.uncertainty * ONE_IN_TWENTY
}
