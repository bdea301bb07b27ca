//! Loss through trees.

use std::fmt;

use units::{Db, Metres, Mhz};

use crate::bounds::{Bound, FREQUENCY, OutOfRange, TREES};

/// Where Weissberger's fit holds.
const WEISSBERGER: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 230.0,
    high: 95_000.0,
    why: "Weissberger's fit of 1982; take another tree model",
};

/// Where the early CCIR formula holds.
const CCIR: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 200.0,
    high: 95_000.0,
    why: "the CCIR's formula of 1986; take another tree model",
};

/// Where Rec. ITU-R P.833 gives its form.
const P833: Bound = Bound {
    name: "frequency_mhz",
    unit: "MHz",
    low: 30.0,
    high: 30_000.0,
    why: "Rec. ITU-R P.833-10 (2021) section 2.1",
};

/// A specific attenuation in woodland.
const SPECIFIC: Bound = Bound {
    name: "specific_db_per_m",
    unit: "dB/m",
    low: 0.0,
    high: 100.0,
    why: "loss of each metre of wood",
};

/// The most that woodland loses.
const MAXIMUM: Bound = Bound {
    name: "maximum_db",
    unit: "dB",
    low: 0.001,
    high: 300.0,
    why: "where the way round the wood loses less than the way through",
};

/// How deep into the woodland the saturating form may be asked.
const WOODLAND: Bound =
    Bound { name: "depth_m", unit: "m", low: 0.0, high: 10_000.0, why: "the form saturates long before" };

/// A measuring campaign whose fit of the greatest loss in woodland Rec. ITU-R P.833-10 prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Campaign {
    /// Tropical trees, Rio de Janeiro, 900 to 1800 MHz.
    Rio,
    /// Deciduous trees, Mulhouse, 900 to 2200 MHz.
    Mulhouse,
    /// Mixed coniferous and deciduous forest, St Petersburg, 105.9 to 2117.5 MHz.
    StPetersburg,
}

/// Which fit to reckon with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TreeModel {
    /// Weissberger's modified exponential decay (1982): dense, dry, in-leaf trees in the way.
    Weissberger,
    /// The CCIR's formula of 1986, both ends near the wood.
    EarlyCcir,
    /// One end stands in woodland: Rec. ITU-R P.833-10 (2021), section 2.1.
    Woodland(Campaign),
}

/// What trees lose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vegetation {
    /// The loss.
    pub loss: Db,
    /// What must be known beside it: that the fit was stretched beyond its campaign.
    pub note: Option<&'static str>,
}

impl Campaign {
    /// Every one of them.
    pub const ALL: [Campaign; 3] = [Campaign::Rio, Campaign::Mulhouse, Campaign::StPetersburg];

    /// A1 and alpha of Am = A1 f^alpha (f in MHz), and the campaign's frequencies.
    fn fit(self) -> (f64, f64, (f64, f64)) {
        match self {
            Campaign::Rio => (0.18, 0.752, (900.0, 1800.0)),
            Campaign::Mulhouse => (1.15, 0.43, (900.0, 2200.0)),
            Campaign::StPetersburg => (1.37, 0.42, (105.9, 2117.5)),
        }
    }

    /// Whether the campaign measured at this frequency.
    pub fn covers(self, frequency: Mhz) -> bool {
        let (low, high) = self.fit().2;
        low <= frequency.0 && frequency.0 <= high
    }

    /// The most that the wood loses, Am = A1 f^alpha with f in MHz.
    ///
    /// Source: Rec. ITU-R P.833-10 (2021) equation 2, as three independent transcriptions
    /// give it. The fit is answered over all of P.833's range; [`Campaign::covers`] says
    /// whether it is stretched.
    ///
    /// # Errors
    /// [`OutOfRange`] outside 30 MHz to 30 GHz.
    pub fn maximum(self, frequency: Mhz) -> Result<Db, OutOfRange> {
        P833.check(frequency.0)?;
        let (a1, alpha, _) = self.fit();
        Ok(Db(a1 * frequency.0.powf(alpha)))
    }
}

/// P.833-10 table 1 (mixed forest near St Petersburg, vertical polarisation): MHz, dB a metre.
const SPECIFIC_TABLE: [(f64, f64); 5] =
    [(105.9, 0.04), (466.475, 0.12), (949.0, 0.17), (1852.2, 0.30), (2117.5, 0.34)];

/// Loss of each metre of woodland, dB.
///
/// Between the values of Rec. ITU-R P.833-10 table 1 a power law is drawn; beyond both ends
/// its first and last stretch go on.
fn specific_db_per_m(frequency: Mhz) -> f64 {
    let last = SPECIFIC_TABLE.len() - 2;
    let at = SPECIFIC_TABLE.iter().skip(1).position(|(mhz, _)| frequency.0 <= *mhz).unwrap_or(last).min(last);
    let ((f0, g0), (f1, g1)) = (SPECIFIC_TABLE[at], SPECIFIC_TABLE[at + 1]);
    g0 * (frequency.0 / f0).powf((g1 / g0).ln() / (f1 / f0).ln())
}

/// Loss with one end in woodland, Am (1 - exp(-d gamma / Am)).
///
/// `specific_db_per_m` is gamma, the loss of each metre at first; `maximum` is Am, where the
/// way over the wood begins to lose less than the way through it. `depth` is the way
/// through the wood. Source: Rec. ITU-R P.833-10 (2021) equation 1.
///
/// # Errors
/// [`OutOfRange`] for a value outside its range.
pub fn woodland_loss(specific_db_per_m: f64, maximum: Db, depth: Metres) -> Result<Db, OutOfRange> {
    SPECIFIC.check(specific_db_per_m)?;
    MAXIMUM.check(maximum.0)?;
    WOODLAND.check(depth.0)?;
    Ok(Db(-maximum.0 * (-depth.0 * specific_db_per_m / maximum.0).exp_m1()))
}

/// What `depth` of trees on the path loses.
///
/// - [`TreeModel::Weissberger`]: 0.45 f^0.284 d under 14 m, 1.33 f^0.284 d^0.588 to 400 m, f in
///   GHz; 230 MHz to 95 GHz. The two branches miss each other by 0.02 dB at 14 m, as printed.
/// - [`TreeModel::EarlyCcir`]: 0.2 f^0.3 d^0.6, f in MHz; 200 MHz to 95 GHz.
/// - [`TreeModel::Woodland`]: [`woodland_loss`] with the campaign's greatest loss and the
///   loss a metre of P.833-10 table 1; 30 MHz to 30 GHz, with a note where it is stretched.
///
/// # Errors
/// [`OutOfRange`] for a frequency outside the fit or a depth outside [`TREES`].
pub fn vegetation_loss(model: TreeModel, frequency: Mhz, depth: Metres) -> Result<Vegetation, OutOfRange> {
    TREES.check(depth.0)?;
    match model {
        TreeModel::Weissberger => {
            WEISSBERGER.check(frequency.0)?;
            let f = (frequency.0 / 1e3).powf(0.284);
            let loss = if depth.0 < 14.0 { 0.45 * f * depth.0 } else { 1.33 * f * depth.0.powf(0.588) };
            Ok(Vegetation { loss: Db(loss), note: None })
        }
        TreeModel::EarlyCcir => {
            CCIR.check(frequency.0)?;
            let loss = 0.2 * frequency.0.powf(0.3) * depth.0.powf(0.6);
            Ok(Vegetation { loss: Db(loss), note: None })
        }
        TreeModel::Woodland(campaign) => {
            FREQUENCY.check(frequency.0)?;
            let maximum = campaign.maximum(frequency)?;
            let loss = woodland_loss(specific_db_per_m(frequency), maximum, depth)?;
            let tabled = SPECIFIC_TABLE[0].0 <= frequency.0
                && frequency.0 <= SPECIFIC_TABLE[SPECIFIC_TABLE.len() - 1].0;
            let note = (!campaign.covers(frequency) || !tabled).then_some(
                "Extrapolated: this frequency lies outside the measurements that the tree fit of P.833-10 stands on.",
            );
            Ok(Vegetation { loss, note })
        }
    }
}

impl TreeModel {
    /// Every one of them.
    pub const ALL: [TreeModel; 5] = [
        TreeModel::Weissberger,
        TreeModel::EarlyCcir,
        TreeModel::Woodland(Campaign::Rio),
        TreeModel::Woodland(Campaign::Mulhouse),
        TreeModel::Woodland(Campaign::StPetersburg),
    ];

    /// The words of all of them, in the order of [`TreeModel::ALL`].
    pub const WORDS: [&'static str; 5] =
        ["weissberger", "early-ccir", "p833-rio", "p833-mulhouse", "p833-st-petersburg"];

    /// Its word in files, forms and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            TreeModel::Weissberger => "weissberger",
            TreeModel::EarlyCcir => "early-ccir",
            TreeModel::Woodland(Campaign::Rio) => "p833-rio",
            TreeModel::Woodland(Campaign::Mulhouse) => "p833-mulhouse",
            TreeModel::Woodland(Campaign::StPetersburg) => "p833-st-petersburg",
        }
    }

    /// The model of this word.
    pub fn from_word(word: &str) -> Option<TreeModel> {
        TreeModel::ALL.into_iter().find(|model| model.word() == word)
    }
}

impl fmt::Display for TreeModel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
