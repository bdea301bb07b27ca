//! What the limits of a place say.

use link::law::{Demand, Judgement, NOTICE, Row, RowJudgement, Standing};
use link::wish;
use register::radio::Suggested;
use serde::Serialize;

use super::sheet::{About, Chosen, Taken, Warning};

/// The judgement of both ways of a setting.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Law {
    /// Whose link.
    pub about: About,
    /// The setting.
    pub setting: Chosen,
    /// Both ways, the worse of the two; none where neither is judged.
    pub standing: Option<&'static str>,
    /// What the transmitter sends.
    pub control: Option<Judged>,
    /// What the receiver sends; none without telemetry or where its power isn't known.
    pub telemetry: Option<Judged>,
    /// What must be known of what was said.
    pub warnings: Vec<Warning>,
    /// Inputs taken from the register.
    pub suggested: Vec<Taken>,
    /// Inputs taken from a default.
    pub taken: Vec<Taken>,
    /// What stands beside every judgement.
    pub notice: &'static str,
}

/// One way, judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// The region.
    pub region: String,
    /// `within the planning limit`, `not known`, `over the planning limit`.
    pub verdict: &'static str,
    /// The same, with what a remembered limit says: also `over a remembered limit`.
    pub standing: &'static str,
    /// All of it in a sentence.
    pub sentence: String,
    /// The rows that can apply, the one that decides first.
    pub rows: Vec<JudgedRow>,
    /// What must be known beside it.
    pub notes: Vec<String>,
}

/// One row, put to an emission.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JudgedRow {
    /// The row.
    pub row: String,
    /// Its band.
    pub band: String,
    /// What it is for.
    pub class: String,
    /// The row whose demands it takes over.
    pub through: Option<String>,
    /// The worst of its demands.
    pub verdict: &'static str,
    /// The same, with what a remembered limit says: also `over a remembered limit`.
    pub standing: &'static str,
    /// The demands that decide, in words; none within the limit.
    pub why: Vec<String>,
    /// Its demands.
    pub demands: Vec<Asked>,
    /// Document, edition and clause.
    pub source: String,
    /// How it is known: `text`, `text-secondhand`, `mixed`, `memory`.
    pub obtained: &'static str,
    /// That in words.
    pub known: &'static str,
}

/// One demand, put to an emission.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Asked {
    /// What it is about.
    pub what: &'static str,
    /// What it comes to.
    pub verdict: &'static str,
    /// That in words: `over by 3.0 dB`.
    pub words: String,
    /// The limit.
    pub limit: String,
    /// What the emission has.
    pub got: String,
    /// By how much it is over.
    pub over_by: Option<String>,
    /// Document, edition and clause.
    pub clause: String,
}

impl Law {
    /// Control and telemetry as an answer.
    pub fn new(
        about: About,
        setting: Chosen,
        [control, telemetry]: [Option<&Judgement>; 2],
        asked: &wish::Asked,
        suggested: &[Suggested],
    ) -> Law {
        let standings = [control, telemetry].into_iter().flatten().map(Judgement::standing);
        Law {
            about,
            setting,
            standing: standings.max().map(Standing::word),
            control: control.map(Judged::new),
            telemetry: telemetry.map(Judged::new),
            warnings: Warning::noted(asked),
            suggested: Taken::suggested(suggested),
            taken: Taken::defaults(asked),
            notice: NOTICE,
        }
    }
}

impl Judged {
    /// A judgement as an answer.
    pub fn new(judgement: &Judgement) -> Judged {
        Judged {
            region: judgement.region.clone(),
            verdict: judgement.verdict.word(),
            standing: judgement.standing().word(),
            sentence: judgement.sentence(),
            rows: judgement.rows.iter().map(JudgedRow::new).collect(),
            notes: judgement.notes.clone(),
        }
    }
}

impl JudgedRow {
    fn new(judged: &RowJudgement) -> JudgedRow {
        let row = &judged.row;
        JudgedRow {
            row: row.id.clone(),
            band: row.band.clone(),
            class: row.modulation_class.clone(),
            through: judged.through.as_ref().map(|row| row.id.clone()),
            verdict: judged.verdict.word(),
            standing: judged.standing().word(),
            why: match judged.standing() {
                Standing::Within => Vec::new(),
                _ => judged
                    .deciding()
                    .map(|demand| format!("{} {}", demand.what.word(), demand.words()))
                    .collect(),
            },
            demands: judged.demands.iter().map(Asked::new).collect(),
            source: row.source.clone(),
            obtained: row.obtained.word(),
            known: row.obtained.says(),
        }
    }
}

impl Asked {
    fn new(demand: &Demand) -> Asked {
        Asked {
            what: demand.what.word(),
            verdict: demand.verdict.word(),
            words: demand.words(),
            limit: demand.limit.clone(),
            got: demand.got.clone(),
            over_by: demand.over_by.clone(),
            clause: demand.clause.clone(),
        }
    }
}

/// One row of the limits.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Its name.
    pub row: String,
    /// The region.
    pub region: String,
    /// Who made the rule.
    pub administration: String,
    /// The band in words.
    pub band: String,
    /// Its lower edge.
    pub low_mhz: Option<f64>,
    /// Its upper edge.
    pub high_mhz: Option<f64>,
    /// Who or what it is for.
    #[serde(rename = "use")]
    pub use_class: String,
    /// The modulation it is for.
    pub class: String,
    /// The power limit on its basis.
    pub power_dbm: Option<f64>,
    /// What that is referred to.
    pub basis: &'static str,
    /// The gain rule in words.
    pub gain_rule: String,
    /// Greatest radiated power.
    pub eirp_dbm: Option<f64>,
    /// Limit of power density, in words.
    pub density: String,
    /// Least hop channels.
    pub hop_channels: Option<u32>,
    /// Longest time on one channel within the window.
    pub dwell_ms: Option<f64>,
    /// That window in words.
    pub window: String,
    /// Least distance of hop channels, in words.
    pub spacing: String,
    /// Greatest share of time on the air.
    pub duty: Option<f64>,
    /// Channel access in words.
    pub access: String,
    /// What else must be known.
    pub notes: String,
    /// Document, edition and clause.
    pub source: String,
    /// How it is known: `text`, `text-secondhand`, `mixed`, `memory`.
    pub obtained: &'static str,
    /// That in words.
    pub known: &'static str,
    /// More about that.
    pub known_detail: String,
    /// The demands that are from memory.
    pub remembered: Vec<&'static str>,
}

impl Limit {
    /// A row as an answer.
    pub fn new(row: &Row) -> Limit {
        Limit {
            row: row.id.clone(),
            region: row.region.clone(),
            administration: row.administration.clone(),
            band: row.band.clone(),
            low_mhz: row.edges.map(|(low, _)| low.0),
            high_mhz: row.edges.map(|(_, high)| high.0),
            use_class: row.use_class.clone(),
            class: row.modulation_class.clone(),
            power_dbm: row.power.map(|power| power.0),
            basis: row.basis.word(),
            gain_rule: row.gain_words.clone(),
            eirp_dbm: row.max_eirp.map(|power| power.0),
            density: row.density_words.clone(),
            hop_channels: row.hops.map(|rule| {
                use link::law::HopRule::{AtLeast, FifteenMhzOverSeparation};
                let (AtLeast(least) | FifteenMhzOverSeparation(least)) = rule;
                least
            }),
            dwell_ms: row.dwell.map(|(dwell, _)| dwell.ms()),
            window: row.window_words.clone(),
            spacing: row.spacing_words.clone(),
            duty: row.duty,
            access: row.access_words.clone(),
            notes: row.notes.clone(),
            source: row.source.clone(),
            obtained: row.obtained.word(),
            known: row.obtained.says(),
            known_detail: row.obtained_detail.clone(),
            remembered: row.remembered.iter().map(|what| what.word()).collect(),
        }
    }
}
