//! Which settings are worth choosing.
//!
//! Every mode, power step and telemetry share is reckoned at the wanted distance. One
//! setting *beats* another when it is at least as good in every respect and better in one.
//! The settings that nothing beats are kept; the rest have no reason to be chosen. Figures
//! are compared rounded ([`Scores`]), so that every platform keeps the same settings.

use std::collections::BTreeMap;

use units::{Db, Dbm, Metres, Milliwatts, Seconds};

use crate::bounds::OutOfRange;
use crate::law::{self, Limits, Standing};
use crate::sheet::{
    self, At, Reach, Row, Setting, Setup, SheetError, Stage, Way, emission, latency_of, slots_of,
};
use crate::telemetry::fit;

/// What one setting comes to at the wanted distance, rounded for comparing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Scores {
    /// Probability that control's link quality is reached, in thousandths; more is better.
    pub control: i64,
    /// The same for telemetry; [`NO_TELEMETRY`] where there is none.
    pub telemetry: i64,
    /// Latency that 95 of 100 stick movements keep, in tenths of a millisecond; less is
    /// better.
    pub latency: i64,
    /// The worst sensor's time between values over the time wanted, in hundredths, 100
    /// where all come in time; less is better.
    pub refresh: i64,
    /// Transmit power, microwatts; less is better.
    pub power: i64,
    /// What the limits say: 0 within, 1 not known, 2 over a remembered limit, 3 over; less is
    /// better.
    pub law: i64,
}

/// A respect in which settings are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Respect {
    /// Reach of control.
    Control,
    /// Reach of telemetry.
    Telemetry,
    /// Latency.
    Latency,
    /// Freshness of the sensors' values.
    Refresh,
    /// Power.
    Power,
    /// The limits of the place.
    Law,
}

/// The score of telemetry where none is sent.
pub const NO_TELEMETRY: i64 = -1;

/// The most settings that one advice looks at.
pub const MOST_SETTINGS: usize = 10_000;

/// Where a sensor never comes at all.
pub const NEVER: i64 = 1_000_000_000;

impl Respect {
    /// Every one.
    pub const ALL: [Respect; 6] = [
        Respect::Control,
        Respect::Telemetry,
        Respect::Latency,
        Respect::Refresh,
        Respect::Power,
        Respect::Law,
    ];

    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Respect::Control => "control",
            Respect::Telemetry => "telemetry",
            Respect::Latency => "latency",
            Respect::Refresh => "refresh",
            Respect::Power => "power",
            Respect::Law => "law",
        }
    }
}

impl Scores {
    /// The score in one respect, turned so that less is better.
    pub fn cost(&self, respect: Respect) -> i64 {
        match respect {
            Respect::Control => -self.control,
            Respect::Telemetry => -self.telemetry,
            Respect::Latency => self.latency,
            Respect::Refresh => self.refresh,
            Respect::Power => self.power,
            Respect::Law => self.law,
        }
    }

    /// Whether this is at least as good as `other` in every respect and better in one.
    pub fn beats(&self, other: &Scores) -> bool {
        let mut better = false;
        for respect in Respect::ALL {
            let (a, b) = (self.cost(respect), other.cost(respect));
            if a > b {
                return false;
            }
            better |= a < b;
        }
        better
    }
}

/// One setting, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Its place among the settings given.
    pub index: usize,
    /// Its scores.
    pub scores: Scores,
    /// Probability that control's link quality is reached.
    pub control: f64,
    /// The same for telemetry; none without.
    pub telemetry: Option<f64>,
    /// Median latency.
    pub latency: Seconds,
    /// Latency that 95 of 100 stick movements keep.
    pub latency_p95: Seconds,
    /// Middling margin of control.
    pub margin: Db,
    /// Whether every sensor comes in time; none without sensors.
    pub sensors_fit: Option<bool>,
    /// What the limits say; none without a region.
    pub law: Option<Standing>,
    /// What of the flight's needs it fails.
    pub fails: Vec<Respect>,
}

/// A setting that nothing beats.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// It.
    pub judged: Judged,
    /// How far control reaches with the wanted probability.
    pub reach: Reach,
    /// In what it is the best of all that are worth choosing.
    pub best_in: Vec<Respect>,
    /// What it gives up against the best in each other respect, in words.
    pub gives_up: Vec<String>,
}

/// The adviser's answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// How many settings were looked at.
    pub looked_at: usize,
    /// Those that nothing beats: first those that meet every need, then the rest; within
    /// them by the fewest failed needs, the surest control, the least latency, the least
    /// power.
    pub choices: Vec<Choice>,
    /// How many meet every need.
    pub meeting: usize,
}

/// Judges every setting and keeps those that nothing beats.
///
/// # Errors
/// [`SheetError`] when a value lies outside its range or the region is unknown.
pub fn advise(setup: &Setup, settings: &[Setting], limits: &Limits) -> Result<Advice, SheetError> {
    if settings.len() > MOST_SETTINGS {
        return Err(SheetError::TooManySettings { count: settings.len(), most: MOST_SETTINGS });
    }
    let stage = Stage::new(setup)?;
    let row = Row::new(&stage)?;
    let at = stage.at(setup.flight.distance)?;
    let mut seen = Seen::default();
    let judged = judge_each(&stage, settings, limits, &mut seen)?;
    let kept = unbeaten(&judged);
    let best = |respect| kept.iter().map(|judged| judged.scores.cost(respect)).min().unwrap_or_default();
    let bests: Vec<(Respect, i64)> = Respect::ALL.iter().map(|&respect| (respect, best(respect))).collect();
    let mut choices = Vec::with_capacity(kept.len());
    for judged in &kept {
        let setting = &settings[judged.index];
        let place = tuned_place(&stage, &at, setting, &mut seen)?;
        let air = &seen.tuned[place].receivers.air;
        choices.push(Choice {
            reach: sheet::control_reach(&stage, &row, air, setting.power)?,
            best_in: bests
                .iter()
                .filter(|(respect, best)| judged.scores.cost(*respect) == *best && matters(setup, *respect))
                .filter(|(respect, _)| *respect != Respect::Telemetry || judged.telemetry.is_some())
                .filter(|(respect, _)| !judged.fails.contains(respect))
                .map(|(respect, _)| *respect)
                .collect(),
            gives_up: bests
                .iter()
                .filter(|(respect, best)| judged.scores.cost(*respect) > *best)
                .map(|(respect, best)| gives_up(&judged.scores, *respect, *best))
                .collect(),
            judged: judged.clone(),
        });
    }
    choices.sort_by_key(|choice| {
        let scores = &choice.judged.scores;
        (choice.judged.fails.len(), -scores.control, scores.latency, scores.power, choice.judged.index)
    });
    let meeting = choices.iter().filter(|choice| choice.judged.fails.is_empty()).count();
    Ok(Advice { looked_at: settings.len(), choices, meeting })
}

/// Whether settings differ in a respect for a reason that this setup asks about.
fn matters(setup: &Setup, respect: Respect) -> bool {
    match respect {
        Respect::Refresh => !setup.sensors.is_empty(),
        Respect::Law => setup.region.is_some(),
        _ => true,
    }
}

fn gives_up(scores: &Scores, respect: Respect, best: i64) -> String {
    // Never a certainty, and never nothing.
    let spells = |thousandths: i64| match thousandths {
        1000.. => "over 99.9".to_owned(),
        ..=0 => "under 0.1".to_owned(),
        some => format!("{:.1}", real(some) / 10.0),
    };
    match respect {
        Respect::Control => {
            format!("control: {} of 100 spells instead of {}", spells(scores.control), spells(-best))
        }
        Respect::Telemetry if scores.telemetry == NO_TELEMETRY => "telemetry: it sends none".to_owned(),
        Respect::Telemetry => {
            format!("telemetry: {} of 100 spells instead of {}", spells(scores.telemetry), spells(-best))
        }
        Respect::Latency => {
            format!("latency: {:.1} ms instead of {:.1} ms", real(scores.latency) / 10.0, real(best) / 10.0)
        }
        Respect::Refresh if scores.refresh >= NEVER => "a sensor that never comes".to_owned(),
        Respect::Refresh => {
            format!("sensors: the slowest {:.1} times later than wanted", real(scores.refresh) / 100.0)
        }
        Respect::Power => {
            format!("power: {:.0} mW instead of {:.0} mW", real(scores.power) / 1e3, real(best) / 1e3)
        }
        Respect::Law if scores.law == 3 => "over a planning limit".to_owned(),
        Respect::Law if scores.law == 2 => "over a remembered limit".to_owned(),
        Respect::Law => "its limit is not known".to_owned(),
    }
}

/// A score as a number.
#[expect(clippy::cast_precision_loss, reason = "scores are far below 2^52")]
fn real(score: i64) -> f64 {
    score as f64
}

/// Those that none of the others beats, in the order given. Of settings that are alike in
/// every respect, all are kept.
///
/// Sorted by cost, a setting can only be beaten by one that stands before it, so each is
/// compared with those kept so far; what a beaten one beats, its victor beats too.
pub fn unbeaten(judged: &[Judged]) -> Vec<Judged> {
    let mut order: Vec<&Judged> = judged.iter().collect();
    order.sort_by_key(|judged| (Respect::ALL.map(|respect| judged.scores.cost(respect)), judged.index));
    let mut kept: Vec<&Judged> = Vec::new();
    for judged in order {
        if !kept.iter().any(|other| other.scores.beats(&judged.scores)) {
            kept.push(judged);
        }
    }
    kept.sort_by_key(|judged| judged.index);
    kept.into_iter().cloned().collect()
}

/// Judges every setting at the wanted distance.
///
/// # Errors
/// [`SheetError`] when a value lies outside its range or the region is unknown.
pub fn judge_all(stage: &Stage, settings: &[Setting], limits: &Limits) -> Result<Vec<Judged>, SheetError> {
    judge_each(stage, settings, limits, &mut Seen::default())
}

fn judge_each(
    stage: &Stage,
    settings: &[Setting],
    limits: &Limits,
    seen: &mut Seen,
) -> Result<Vec<Judged>, SheetError> {
    let at = stage.at(stage.setup.flight.distance)?;
    let each = settings.iter().enumerate();
    each.map(|(index, setting)| judge_one(stage, &at, index, setting, limits, seen)).collect()
}

/// A mode's receivers, which depend on neither power nor telemetry share.
struct Tuned {
    like: Setting,
    receivers: sheet::Tuned,
    delivered: sheet::Delivered,
}

/// What several settings of one run share: receivers by mode, latencies by loss.
#[derive(Default)]
struct Seen {
    tuned: Vec<Tuned>,
    telemetry: Option<(usize, Dbm, f64)>,
    down: Option<(Setting, Option<Standing>)>,
    latency: BTreeMap<(usize, Option<u32>, i64), (Seconds, Seconds)>,
    refresh: Vec<(crate::mode::Mode, i64)>,
}

fn judge_one(
    stage: &Stage,
    at: &At,
    index: usize,
    setting: &Setting,
    limits: &Limits,
    seen: &mut Seen,
) -> Result<Judged, SheetError> {
    let setup = stage.setup;
    setting.check()?;
    let place = tuned_place(stage, at, setting, seen)?;
    let Tuned { receivers: tuned, delivered, .. } = &seen.tuned[place];
    let before = setting.power - at.path.total;
    let control = tuned.air.probability(at, before, &at.control, stage.shadowing);
    let delivery = delivered.over(at, before, &at.control);
    let sends = setting.telemetry_power.filter(|_| setting.mode.telemetry_one_in.is_some());
    let telemetry = match (&tuned.ground, sends) {
        (Some(ground), Some(power)) => Some(match seen.telemetry {
            Some((of, with, probability)) if of == place && with == power => probability,
            _ => {
                let probability =
                    ground.probability(at, power - at.path.total, &at.telemetry, stage.shadowing);
                seen.telemetry = Some((place, power, probability));
                probability
            }
        }),
        _ => None,
    };
    let margin = before + Db(crate::sheet::middle(&at.control)) - tuned.air.sensitivity;
    let (latency, latency_p95) = latency_for(setup, setting, 1.0 - delivery, place, seen)?;
    let refresh = refresh_of(setup, setting, seen);
    let law = match law_verdict(setup, setting, Way::Control, limits)? {
        Some(up) => Some(law_down(setup, setting, limits, seen)?.map_or(up, |down| up.max(down))),
        None => None,
    };
    let scores = Scores {
        control: thousandths(control),
        telemetry: telemetry.map_or(NO_TELEMETRY, thousandths),
        latency: rounded(latency_p95.ms() * 10.0),
        refresh,
        power: rounded(setting.power.milliwatts().0 * 1e3),
        law: match law {
            None | Some(Standing::Within) => 0,
            Some(Standing::NotKnown) => 1,
            Some(Standing::OverRemembered) => 2,
            Some(Standing::Over) => 3,
        },
    };
    let flight = &setup.flight;
    let mut fails = Vec::new();
    // Needs are judged on the figures themselves: a wish may be finer than a thousandth.
    let enough = |probability: f64| probability >= flight.probability - 1e-9;
    if !enough(control) {
        fails.push(Respect::Control);
    }
    // Telemetry whose power isn't known is not known to fail.
    let unknown = setting.mode.telemetry_one_in.is_some() && setting.telemetry_power.is_none();
    if !setup.sensors.is_empty() && !unknown && !telemetry.is_some_and(enough) {
        fails.push(Respect::Telemetry);
    }
    if flight.latency.is_some_and(|wanted| scores.latency > rounded(wanted.ms() * 10.0)) {
        fails.push(Respect::Latency);
    }
    if !setup.sensors.is_empty() && scores.refresh > 100 {
        fails.push(Respect::Refresh);
    }
    if law.is_some_and(Standing::exceeds) {
        fails.push(Respect::Law);
    }
    let sensors_fit = (!setup.sensors.is_empty()).then_some(refresh <= 100);
    Ok(Judged { index, scores, control, telemetry, latency, latency_p95, margin, sensors_fit, law, fails })
}

/// The place of a setting's mode among those tuned. It is tuned with telemetry, so that it
/// serves every share.
fn tuned_place(stage: &Stage, at: &At, setting: &Setting, seen: &mut Seen) -> Result<usize, OutOfRange> {
    let same = |one: &Tuned| {
        let (a, b) = (&one.like.mode, &setting.mode);
        a.name == b.name
            && a.modulation == b.modulation
            && a.packet_rate == b.packet_rate
            && a.payload_bytes == b.payload_bytes
    };
    if let Some(place) = seen.tuned.iter().rposition(same) {
        return Ok(place);
    }
    let mut like = setting.clone();
    like.mode.telemetry_one_in = Some(2);
    like.telemetry_power = like.telemetry_power.or(Some(like.power));
    let tuned = stage.tune(&like)?;
    let delivered = tuned.air.delivered(at, stage.shadowing);
    seen.tuned.push(Tuned { like, receivers: tuned, delivered });
    Ok(seen.tuned.len() - 1)
}

/// What the limits say of one way, in a word; none without a region or a power.
fn law_verdict(
    setup: &Setup,
    setting: &Setting,
    way: Way,
    limits: &Limits,
) -> Result<Option<Standing>, SheetError> {
    let Some(region) = &setup.region else { return Ok(None) };
    let Some(emission) = emission(setup, setting, way)? else { return Ok(None) };
    Ok(Some(law::standing(limits, region, &emission)?))
}

/// What the limits say of telemetry, whatever the transmitter's power.
fn law_down(
    setup: &Setup,
    setting: &Setting,
    limits: &Limits,
    seen: &mut Seen,
) -> Result<Option<Standing>, SheetError> {
    if setting.mode.telemetry_one_in.is_none() {
        return Ok(None);
    }
    if let Some((like, verdict)) = &seen.down
        && like.mode == setting.mode
        && like.telemetry_power == setting.telemetry_power
    {
        return Ok(*verdict);
    }
    let verdict = law_verdict(setup, setting, Way::Telemetry, limits)?;
    seen.down = Some((setting.clone(), verdict));
    Ok(verdict)
}

/// Latency for a loss rounded to a thousandth, reckoned once a mode and loss.
fn latency_for(
    setup: &Setup,
    setting: &Setting,
    lost: f64,
    place: usize,
    seen: &mut Seen,
) -> Result<(Seconds, Seconds), OutOfRange> {
    let lost = thousandths(lost);
    if let Some(found) = seen.latency.get(&(place, setting.mode.telemetry_one_in, lost)) {
        return Ok(*found);
    }
    let latency = latency_of(setup, setting, real(lost) / 1e3)?;
    let found = (latency.median, latency.p95);
    seen.latency.insert((place, setting.mode.telemetry_one_in, lost), found);
    Ok(found)
}

fn refresh_of(setup: &Setup, setting: &Setting, seen: &mut Seen) -> i64 {
    if setup.sensors.is_empty() {
        return 100;
    }
    if let Some((_, found)) = seen.refresh.iter().rev().find(|(mode, _)| *mode == setting.mode) {
        return *found;
    }
    let refresh = match slots_of(setting) {
        None => NEVER,
        Some(slots) => {
            let fitted = fit(&setup.sensors, &slots);
            let worst = fitted.sensors.iter().map(|served| match served.achieved {
                Some(achieved) => rounded(achieved.0 / served.wanted.0 * 100.0).max(100),
                None => NEVER,
            });
            worst.max().unwrap_or(100)
        }
    };
    seen.refresh.push((setting.mode.clone(), refresh));
    refresh
}

/// Whole thousandths, never rounded up: what just misses a wish isn't shown as if it kept it.
fn thousandths(probability: f64) -> i64 {
    rounded((probability * 1e3 + 1e-6).floor())
}

#[expect(clippy::cast_possible_truncation, reason = "bounded just before")]
fn rounded(value: f64) -> i64 {
    value.clamp(-1e15, 1e15).round() as i64
}

/// How many settings [`settings`] makes of a family.
pub fn count(modes: &[(crate::mode::Mode, Vec<u32>, Option<u32>)], power_steps: &[Milliwatts]) -> usize {
    let shares: usize = modes.iter().map(|(_, shares, _)| shares.len().max(1)).sum();
    shares.saturating_mul(power_steps.len())
}

/// Every setting of a family: its modes, each with each of its telemetry shares, each with
/// each power step.
pub fn settings(
    modes: &[(crate::mode::Mode, Vec<u32>, Option<u32>)],
    power_steps: &[Milliwatts],
    telemetry_power: Option<Dbm>,
) -> Vec<Setting> {
    let mut settings = Vec::new();
    for (mode, shares, hop_every) in modes {
        let shares: Vec<Option<u32>> =
            if shares.is_empty() { vec![None] } else { shares.iter().copied().map(Some).collect() };
        for share in shares {
            for power in power_steps {
                settings.push(Setting {
                    mode: crate::mode::Mode { telemetry_one_in: share, ..mode.clone() },
                    power: power.level(),
                    telemetry_power: telemetry_power.filter(|_| share.is_some()),
                    hop_every: *hop_every,
                });
            }
        }
    }
    settings
}

/// How far the best of the choices that meet every need reaches; none when none does.
pub fn farthest(advice: &Advice) -> Option<Metres> {
    let meeting = advice.choices.iter().filter(|choice| choice.judged.fails.is_empty());
    meeting.filter_map(|choice| choice.reach.distance).max_by(|a, b| a.0.total_cmp(&b.0))
}
