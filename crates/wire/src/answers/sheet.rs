//! The link sheet.

use link::law::{NOTICE, Standing};
use link::sheet::{self, FAILSAFE_SPAN, Limiting, Setting, slots_of};
use link::wish::{Asked, Gear};
use register::radio::Suggested;
use serde::Serialize;
use units::{Dbm, Metres, Seconds};

use super::law::Judged;
use super::telemetry::Fitted;

/// Whose link: names, and the gear.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct About {
    /// The transmitter; none for a family without devices.
    pub transmitter: Option<String>,
    /// The receiver.
    pub receiver: Option<String>,
    /// The aircraft it is in.
    pub aircraft: Option<String>,
    /// The link family.
    pub family: String,
    /// The band.
    pub band: String,
}

impl About {
    /// A family's gear, no device.
    pub fn family(gear: &Gear) -> About {
        About {
            transmitter: None,
            receiver: None,
            aircraft: None,
            family: gear.family.clone(),
            band: gear.band.clone(),
        }
    }
}

/// A setting.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chosen {
    /// The packet mode.
    pub mode: String,
    /// `css`, `fsk` or `stated`.
    pub modulation: &'static str,
    /// Slots a second.
    pub packet_rate_hz: f64,
    /// Bytes in a packet.
    pub payload_bytes: u32,
    /// Time of a packet on the air, where it is known.
    pub airtime_us: Option<f64>,
    /// Transmit power into the antenna's cable.
    pub power_mw: f64,
    /// One slot in so many for telemetry; none without.
    pub telemetry_one_in: Option<u32>,
    /// What the receiver sends with; none when it doesn't or it isn't known.
    pub telemetry_mw: Option<f64>,
}

impl Chosen {
    /// A setting as an answer.
    pub fn new(setting: &Setting) -> Chosen {
        let mode = &setting.mode;
        Chosen {
            mode: mode.name.clone(),
            modulation: mode.modulation.word(),
            packet_rate_hz: mode.packet_rate.0,
            payload_bytes: mode.payload_bytes,
            airtime_us: mode.airtime().ok().flatten().map(|airtime| airtime.0),
            power_mw: milliwatts(setting.power),
            telemetry_one_in: mode.telemetry_one_in,
            telemetry_mw: setting.telemetry_power.map(milliwatts),
        }
    }
}

/// To a nanowatt, so that what was typed comes out again.
fn milliwatts(power: Dbm) -> f64 {
    (power.milliwatts().0 * 1e6).round() / 1e6
}

/// One link, both ways.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// Whose link.
    pub about: About,
    /// The setting.
    pub setting: Chosen,
    /// The flight.
    pub flight: Flight,
    /// Whether control holds at the wanted distance with the wanted probability.
    pub holds: bool,
    /// Whether the wanted latency is kept; none where none is wanted.
    pub in_time: Option<bool>,
    /// What the limits say of both ways, the worse of the two; none without a region.
    pub standing: Option<&'static str>,
    /// Which way fails first: `control`, `telemetry`, `both`, `only-control` (nothing is
    /// known of telemetry).
    pub limiting: &'static str,
    /// Transmitter to aircraft.
    pub control: Direction,
    /// Aircraft to transmitter.
    pub telemetry: Option<Direction>,
    /// The way at the wanted distance.
    pub path: Path,
    /// Stick to servo.
    pub latency: Latency,
    /// Who else sends.
    pub interference: Interference,
    /// The chance of a failsafe; none where the receiver's time-out isn't known.
    pub failsafe: Option<Failsafe>,
    /// Formulas of the figures beside the staircase, as `calc` has them.
    pub formulas: Vec<Named>,
    /// What a little more of something buys.
    pub gains: Vec<Gain>,
    /// Margin and probability against distance.
    pub curve: Vec<Point>,
    /// How the sensors fit.
    pub telemetry_fit: Option<Fitted>,
    /// What the limits say; none without a region.
    pub law: Option<Judged>,
    /// The same for what the receiver sends.
    pub telemetry_law: Option<Judged>,
    /// What lies beyond sight, height or horizon.
    pub warnings: Vec<Warning>,
    /// What was taken to be so.
    pub assumptions: Vec<Assumption>,
    /// Inputs taken from the register.
    pub suggested: Vec<Taken>,
    /// Inputs taken from a default.
    pub taken: Vec<Taken>,
    /// What stands beside every judgement.
    pub notice: &'static str,
}

/// The flight.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flight {
    /// How far away, along the ground.
    pub distance_m: f64,
    /// How high.
    pub air_height_m: f64,
    /// How fast.
    pub speed_m_per_s: f64,
    /// The probability with which the link must hold.
    pub probability: f64,
    /// The share of packets that must arrive.
    pub quality: f64,
    /// The latency that 95 of 100 stick movements must keep; none where none is wanted.
    pub latency_ms: Option<f64>,
    /// The region whose limits count.
    pub region: Option<String>,
}

/// One way of a link.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Direction {
    /// From the power down to what is left.
    pub stairs: Vec<Stair>,
    /// What both antennas come to over the attitudes of the manoeuvre.
    pub antennas: Antennas,
    /// The level at the receiver in the middling attitude.
    pub received_dbm: f64,
    /// The level at which one packet in a hundred is lost.
    pub sensitivity_dbm: f64,
    /// The one over the other.
    pub margin_db: f64,
    /// The margin that fading and the asked link quality need; none where no margin is enough.
    pub needed_db: Option<f64>,
    /// The probability of a spell whose link quality is reached.
    pub probability: f64,
    /// Whether that is the wanted one or more.
    pub holds: bool,
    /// The share of packets that arrive, over all spells.
    pub delivery: f64,
    /// How far it reaches.
    pub reach: Reach,
}

/// What both antennas come to: gains less what fields, shadow and cables take.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Antennas {
    /// The mean of the power.
    pub expected_db: f64,
    /// Half of the attitudes are better.
    pub middling_db: f64,
    /// 19 of 20 attitudes are better.
    pub worst_of_20_db: f64,
    /// The worst of 64.
    pub worst_db: f64,
}

/// One step of the staircase.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stair {
    /// `power`, `antenna`, `way`, `allowance`.
    pub kind: &'static str,
    /// What it is.
    pub what: &'static str,
    /// What it adds.
    pub change_db: f64,
    /// The level after it.
    pub level_dbm: f64,
    /// The formula it comes from, as `calc` has it; none for a given value.
    pub calc: Option<&'static str>,
    /// What went into it.
    pub inputs: String,
}

/// A figure's formula, with its inputs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Named {
    /// Of what figure.
    pub what: &'static str,
    /// The formula, as `calc` has it.
    pub calc: &'static str,
    /// Its inputs, as `calc` takes them.
    pub inputs: String,
}

/// How far a direction reaches.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// The distance; none when not even the nearest one looked at.
    pub distance_m: Option<f64>,
    /// If everything that isn't known is against it (one in twenty).
    pub low_m: Option<f64>,
    /// If everything that isn't known is for it (one in twenty).
    pub high_m: Option<f64>,
    /// The probability it was asked for.
    pub probability: f64,
    /// Whether it goes on beyond the farthest distance that was looked at.
    pub beyond: bool,
}

impl Reach {
    /// A reach as an answer.
    pub fn new(reach: &sheet::Reach) -> Reach {
        let metres = |distance: Option<Metres>| distance.map(|distance| distance.0);
        Reach {
            distance_m: metres(reach.distance),
            low_m: metres(reach.low),
            high_m: metres(reach.high),
            probability: reach.probability,
            beyond: reach.beyond,
        }
    }
}

/// The way at the wanted distance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Path {
    /// Between the antennas.
    pub slant_m: f64,
    /// In free space.
    pub free_space_db: f64,
    /// What the ground adds.
    pub ground_db: f64,
    /// What trees add.
    pub trees_db: f64,
    /// All together.
    pub total_db: f64,
    /// Least clearance over 0.552 of the first Fresnel radius; from 1 the path is clear.
    pub clearance: f64,
    /// How much of the ground's part is diffraction.
    pub diffraction_share: f64,
    /// How high the aircraft stands above the horizontal.
    pub elevation_deg: f64,
}

/// Stick to servo.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Latency {
    /// Half of all movements arrive within it.
    pub median_ms: f64,
    /// On average.
    pub mean_ms: f64,
    /// 95 of 100 do.
    pub p95_ms: f64,
    /// 99 of 100 do.
    pub p99_ms: f64,
    /// Start of each bin, and the share of movements in it; the last bin holds all later ones.
    pub histogram: Vec<Bin>,
}

/// One bin of a histogram.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bin {
    /// Where it begins.
    pub from_ms: f64,
    /// The share in it.
    pub share: f64,
}

/// Packets that are lost.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Interference {
    /// The share of slots whose packet is lost at the wanted distance.
    pub lost: f64,
    /// The part of it that other transmitters take.
    pub lost_to_others: f64,
}

/// The chance of a failsafe.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Failsafe {
    /// The receiver's time-out.
    pub after_s: f64,
    /// The chance in [`Failsafe::in_s`], staying at the wanted distance.
    pub chance: f64,
    /// The time it is for.
    pub in_s: f64,
    /// How much of its rate comes from fading within metres.
    pub from_fading: f64,
}

/// What a little more of something buys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// Of what: `1 dB more`, or a mode's name.
    pub of: String,
    /// The reach of control with it.
    pub distance_m: Option<f64>,
    /// That over the reach without, less one.
    pub farther: Option<f64>,
    /// Median latency with it.
    pub latency_median_ms: f64,
}

/// One distance of the curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// How far.
    pub distance_m: f64,
    /// Control: the middling margin.
    pub margin_db: f64,
    /// Control: the margin that 19 of 20 spells exceed.
    pub margin_low_db: f64,
    /// Control: the margin that 1 of 20 spells exceeds.
    pub margin_high_db: f64,
    /// Control: probability that the link quality is reached.
    pub probability: f64,
    /// Telemetry: the middling margin.
    pub telemetry_margin_db: Option<f64>,
    /// Telemetry: probability that the link quality is reached.
    pub telemetry_probability: Option<f64>,
}

/// Something that a distance on the sheet runs into.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Warning {
    /// In words.
    pub text: String,
    /// Where that stands.
    pub source: String,
}

impl Warning {
    fn new(warning: &sheet::Warning) -> Warning {
        Warning { text: warning.text.clone(), source: warning.source.clone() }
    }

    /// What must be known of what was said, before anything is reckoned.
    pub fn noted(asked: &Asked) -> Vec<Warning> {
        asked.setup.notes.iter().map(Warning::new).collect()
    }
}

/// Something taken to be so.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Assumption {
    /// What.
    pub what: &'static str,
    /// The value.
    pub value: String,
    /// Why that.
    pub why: String,
}

/// An input that nobody typed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Taken {
    /// The input.
    pub key: &'static str,
    /// Its value.
    pub value: String,
    /// What it is taken from.
    pub from: String,
}

impl Taken {
    /// What the register suggested.
    pub fn suggested(suggested: &[Suggested]) -> Vec<Taken> {
        suggested
            .iter()
            .map(|one| Taken { key: one.key, value: one.text.clone(), from: one.from.clone() })
            .collect()
    }

    /// What was taken from defaults.
    pub fn defaults(asked: &Asked) -> Vec<Taken> {
        let taken = asked.taken.iter();
        taken.map(|(key, value)| Taken { key, value: value.clone(), from: "default".to_owned() }).collect()
    }
}

/// The word for which way fails first.
pub fn limiting(limiting: Limiting) -> &'static str {
    match limiting {
        Limiting::Way(way) => way.word(),
        Limiting::Both => "both",
        Limiting::OnlyControl => "only-control",
    }
}

impl Direction {
    fn new(way: &sheet::Direction) -> Direction {
        let stairs = way.stairs.iter().map(|stair| Stair {
            kind: stair.kind.word(),
            what: stair.says,
            change_db: stair.change.0,
            level_dbm: stair.level.0,
            calc: Some(stair.formula).filter(|name| !name.is_empty()),
            inputs: stair.inputs.clone(),
        });
        Direction {
            stairs: stairs.collect(),
            antennas: Antennas {
                expected_db: way.antennas.expected.0,
                middling_db: way.antennas.middling.0,
                worst_of_20_db: way.antennas.worst_of_20.0,
                worst_db: way.antennas.worst.0,
            },
            received_dbm: way.received.0,
            sensitivity_dbm: way.sensitivity.0,
            margin_db: way.margin.0,
            needed_db: way.needed.map(|needed| needed.0),
            probability: way.probability,
            holds: way.holds,
            delivery: way.delivery,
            reach: Reach::new(&way.reach),
        }
    }
}

impl Point {
    fn new(point: &sheet::Point) -> Point {
        Point {
            distance_m: point.distance.0,
            margin_db: point.margin.0,
            margin_low_db: point.margin_low.0,
            margin_high_db: point.margin_high.0,
            probability: point.probability,
            telemetry_margin_db: point.telemetry_margin.map(|margin| margin.0),
            telemetry_probability: point.telemetry_probability,
        }
    }
}

impl Gain {
    fn new(gain: &sheet::Gain) -> Gain {
        Gain {
            of: gain.of.clone(),
            distance_m: gain.distance.map(|distance| distance.0),
            farther: gain.farther,
            latency_median_ms: gain.latency.ms(),
        }
    }
}

impl Latency {
    fn new(latency: &link::latency::Latency) -> Latency {
        let bins = latency.histogram.iter().map(|(from, share)| Bin { from_ms: from.ms(), share: *share });
        Latency {
            median_ms: latency.median.ms(),
            mean_ms: latency.mean.ms(),
            p95_ms: latency.p95.ms(),
            p99_ms: latency.p99.ms(),
            histogram: bins.collect(),
        }
    }
}

impl Path {
    fn new(path: &link::path::PathLoss) -> Path {
        Path {
            slant_m: path.slant.0,
            free_space_db: path.free_space.0,
            ground_db: path.ground.0,
            trees_db: path.trees.0,
            total_db: path.total.0,
            clearance: path.clearance,
            diffraction_share: path.diffraction_share,
            elevation_deg: path.elevation.0,
        }
    }
}

impl Sheet {
    /// A sheet as an answer.
    pub fn new(about: About, asked: &Asked, suggested: &[Suggested], sheet: &sheet::Sheet) -> Sheet {
        let flight = &asked.setup.flight;
        Sheet {
            about,
            setting: Chosen::new(&asked.setting),
            flight: Flight {
                distance_m: flight.distance.0,
                air_height_m: asked.setup.path.air_height.0,
                speed_m_per_s: flight.speed.0,
                probability: flight.probability,
                quality: flight.quality,
                latency_ms: flight.latency.map(Seconds::ms),
                region: asked.setup.region.clone(),
            },
            holds: sheet.holds,
            in_time: sheet.in_time,
            standing: sheet.standing.map(Standing::word),
            limiting: limiting(sheet.limiting),
            control: Direction::new(&sheet.control),
            telemetry: sheet.telemetry.as_ref().map(Direction::new),
            path: Path::new(&sheet.path),
            latency: Latency::new(&sheet.latency),
            interference: Interference { lost: sheet.lost, lost_to_others: sheet.lost_to_others },
            failsafe: sheet.failsafe.map(|failsafe| Failsafe {
                after_s: failsafe.after.0,
                chance: failsafe.chance,
                in_s: FAILSAFE_SPAN.0,
                from_fading: failsafe.from_fading,
            }),
            formulas: sheet
                .formulas
                .iter()
                .map(|one| Named { what: one.what, calc: one.formula, inputs: one.inputs.clone() })
                .collect(),
            gains: sheet.gains.iter().map(Gain::new).collect(),
            curve: sheet.curve.iter().map(Point::new).collect(),
            telemetry_fit: sheet.telemetry_fit.as_ref().map(|fit| Fitted::new(slots_of(&asked.setting), fit)),
            law: sheet.law.as_ref().map(Judged::new),
            telemetry_law: sheet.telemetry_law.as_ref().map(Judged::new),
            warnings: sheet.warnings.iter().map(Warning::new).collect(),
            assumptions: sheet
                .assumptions
                .iter()
                .map(|one| Assumption { what: one.what, value: one.value.clone(), why: one.why.clone() })
                .collect(),
            suggested: Taken::suggested(suggested),
            taken: Taken::defaults(asked),
            notice: NOTICE,
        }
    }
}

/// How far a link reaches, both ways, and what a little more of something buys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reaches {
    /// Whose link.
    pub about: About,
    /// The setting.
    pub setting: Chosen,
    /// The flight.
    pub flight: Flight,
    /// Whether control holds at the wanted distance with the wanted probability.
    pub holds: bool,
    /// What the limits say of both ways, the worse of the two; none without a region.
    pub standing: Option<&'static str>,
    /// Which way fails first.
    pub limiting: &'static str,
    /// How far control reaches.
    pub control: Reach,
    /// How far telemetry reaches.
    pub telemetry: Option<Reach>,
    /// What a little more of something buys.
    pub gains: Vec<Gain>,
    /// Margin and probability against distance.
    pub curve: Vec<Point>,
    /// What lies beyond sight, height or horizon.
    pub warnings: Vec<Warning>,
    /// What was taken to be so.
    pub assumptions: Vec<Assumption>,
    /// Inputs taken from the register.
    pub suggested: Vec<Taken>,
    /// Inputs taken from a default.
    pub taken: Vec<Taken>,
    /// What stands beside every judgement.
    pub notice: &'static str,
}

impl Reaches {
    /// What a sheet says of reach.
    pub fn of(sheet: Sheet) -> Reaches {
        Reaches {
            about: sheet.about,
            setting: sheet.setting,
            flight: sheet.flight,
            holds: sheet.holds,
            standing: sheet.standing,
            limiting: sheet.limiting,
            control: sheet.control.reach,
            telemetry: sheet.telemetry.map(|way| way.reach),
            gains: sheet.gains,
            curve: sheet.curve,
            warnings: sheet.warnings,
            assumptions: sheet.assumptions,
            suggested: sheet.suggested,
            taken: sheet.taken,
            notice: sheet.notice,
        }
    }
}
