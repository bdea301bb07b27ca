//! What a fault model says: causes with weights, covers, checks, mends, and giving up.
//!
//! All probabilities are plain ratios in 0..=1; all times are [`Minutes`]. A model is built
//! by [`crate::file::read`], or by code that fills the public fields and
//! calls [`Model::check`].

use register::family::Energised;
use register::field::Field;
use register::rule::Rule;
use units::Minutes;

/// A place in [`Model::causes`].
pub type CauseAt = usize;
/// A place in [`Model::covers`].
pub type CoverAt = usize;
/// A place in [`Model::steps`].
pub type StepAt = usize;

/// A fault model: what may be wrong, what can be done about it, and what that costs.
///
/// Hypotheses are numbered: `0..causes.len()` are the causes in order, and `causes.len()` is
/// *something not in this list* ([`Model::unlisted_at`]). Every likelihood row has one number
/// for each hypothesis.
#[derive(Clone, Debug, PartialEq)]
pub struct Model {
    /// Its key (`wont_pair`), used in entries and on the command line.
    pub key: String,
    /// Its name, as a flier says it (`Won't pair or link`).
    pub name: String,
    /// One line about it.
    pub about: String,
    /// What may be wrong.
    pub causes: Vec<Cause>,
    /// Weight of *something not in this list*, on the scale of the causes' weights.
    pub unlisted: f64,
    /// What must be opened, fetched or borrowed first.
    pub covers: Vec<Cover>,
    /// Checks and mends.
    pub steps: Vec<Step>,
    /// Calling it a day: send it to the maker, replace it. It always ends the search.
    pub give_up: Option<GiveUp>,
    /// How likely a second fault is, given that there is one: a pair of causes f, g begins
    /// with weight `second * p(f) * p(g)` beside the single causes' `p(f)`.
    pub second: f64,
    /// What a fault that comes back after a mend that only seemed to help costs.
    pub comeback: Minutes,
    /// What proves that the link holds again.
    pub proofs: Vec<Proof>,
}

/// Something that may be wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Its key.
    pub key: String,
    /// What is wrong, as a sentence without its stop.
    pub label: String,
    /// Prior weight, any positive scale (judgement unless the workshop has counted).
    pub weight: f64,
    /// The register's rule that is broken when this is the cause.
    pub rule: Option<Rule>,
    /// When it can be the cause at all.
    pub wants: Vec<Trait>,
}

/// Something about the gear that a cause or a step depends on. What isn't known counts as
/// there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Trait {
    /// The family has link secrets.
    Secret,
    /// Two blank secrets may pair by hand.
    BlankSecret,
    /// Equal secrets link without pairing.
    LinksUnpaired,
    /// The family checks model IDs.
    ModelId,
    /// A value switches the model-ID check off.
    ModelIdOff,
    /// The family has region variants that keep ends apart.
    Region,
    /// Versions matter.
    Version,
    /// A receiver left waiting does something of its own (its settings page).
    Waiting,
    /// The family's modes have telemetry.
    Telemetry,
    /// The receiver is fitted in an aircraft.
    Fitted,
    /// The transmitter has more than one end (RF modules, bands).
    SeveralEnds,
}

/// Something that must be opened, fetched or borrowed before a step; paid once.
#[derive(Clone, Debug, PartialEq)]
pub struct Cover {
    /// Its key.
    pub key: String,
    /// What it is (`the glued hatch`, `a computer`).
    pub label: String,
    /// The cover that must be open before this one.
    pub inside: Option<CoverAt>,
    /// To open it.
    pub open: Minutes,
    /// To close it again.
    pub close: Minutes,
    /// When it is there at all: a hatch only where the receiver is fitted in an aircraft.
    pub wants: Vec<Trait>,
}

/// A check or a mend.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its key.
    pub key: String,
    /// The question or the action, in a line (`Look at the receiver's lamp.`).
    pub label: String,
    /// How to do it.
    pub how: String,
    /// What good looks like.
    pub good: String,
    /// How long it takes, covers apart; a mend's includes trying whether it helped.
    pub minutes: Minutes,
    /// The covers it needs, outermost first or last: [`Model::covers_for`] adds those around.
    pub needs: Vec<CoverAt>,
    /// What it energises.
    pub energises: Vec<Energised>,
    /// A caution of its own.
    pub caution: String,
    /// When it makes sense at all.
    pub wants: Vec<Trait>,
    /// What it leaves changed until it is put back, if anything.
    pub leaves: Option<Leaves>,
    /// Check or mend.
    pub kind: Kind,
}

/// Something a step leaves changed, to be put back before the trail closes.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaves {
    /// What is changed (`The model-ID check is off`).
    pub what: String,
    /// How it is put back.
    pub back: String,
}

/// What sort of step.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A question, a look, a measurement or a swap: it tells, it doesn't cure.
    Check(Check),
    /// An action that may cure.
    Mend(Mend),
}

/// A check's answers and how likely each is.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// The answers but *can't tell*, which tells nothing and is always there.
    pub answers: Vec<Answer>,
    /// `likelihood[answer][hypothesis]`; each hypothesis's column sums to 1.
    pub likelihood: Vec<Vec<f64>>,
    /// Which causes the check speaks about (their columns were written for them; the others
    /// hold the usual one).
    pub speaks: Vec<bool>,
    /// The register's rule that it settles, where it is a look at both ends' facts.
    pub rule: Option<Rule>,
    /// The fact that is read, where a value may be typed with the answer.
    pub field: Option<Field>,
    /// Whether the answers are the family's lamp patterns.
    pub lamp: bool,
}

/// One answer of a check.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Its key.
    pub key: String,
    /// Its words.
    pub label: String,
}

/// What a mend does to each hypothesis.
#[derive(Clone, Debug, PartialEq)]
pub struct Mend {
    /// `cures[hypothesis]`: how likely it cures that cause. It is settled once: doing the
    /// same mend twice doesn't help.
    pub cures: Vec<f64>,
    /// `seems[hypothesis]`: how likely the trial afterwards looks good although that cause is
    /// still there (a fault that comes and goes).
    pub seems: Vec<f64>,
    /// How the trial is to be watched, empty for an ordinary one (`three flights`).
    pub watch: String,
    /// The register's rule that it restores.
    pub rule: Option<Rule>,
}

/// Giving up: it always ends the search.
#[derive(Clone, Debug, PartialEq)]
pub struct GiveUp {
    /// What that means here (`Replace the receiver, or send it to its maker.`).
    pub label: String,
    /// What it costs, in minutes.
    pub minutes: Minutes,
}

/// One thing that must be seen before a link counts as proven.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// Its key.
    pub key: String,
    /// What to do and see.
    pub text: String,
    /// How long it takes; 0 where the model doesn't say.
    pub minutes: Minutes,
    /// What it energises.
    pub energises: Vec<Energised>,
}

/// Something in a model can't be right.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{at}: {says}")]
pub struct ModelError {
    /// Where (`step see_lamp`, `cause band`).
    pub at: String,
    /// What is wrong and what to do.
    pub says: String,
}

impl Model {
    /// The hypothesis *something not in this list*.
    pub fn unlisted_at(&self) -> usize {
        self.causes.len()
    }

    /// How many hypotheses there are.
    pub fn hypotheses(&self) -> usize {
        self.causes.len() + 1
    }

    /// Prior weights of all hypotheses, not normalised.
    pub fn priors(&self) -> Vec<f64> {
        self.causes.iter().map(|cause| cause.weight).chain(std::iter::once(self.unlisted)).collect()
    }

    /// The place of a cause by its key.
    pub fn cause(&self, key: &str) -> Option<CauseAt> {
        self.causes.iter().position(|cause| cause.key == key)
    }

    /// The place of a step by its key.
    pub fn step(&self, key: &str) -> Option<StepAt> {
        self.steps.iter().position(|step| step.key == key)
    }

    /// The place of a cover by its key.
    pub fn cover(&self, key: &str) -> Option<CoverAt> {
        self.covers.iter().position(|cover| cover.key == key)
    }

    /// A cover and those around it, the outermost first.
    pub fn around(&self, cover: CoverAt) -> Vec<CoverAt> {
        let mut chain = Vec::new();
        let mut at = Some(cover);
        // `check` refuses covers that stand inside themselves; the bound is for a model that
        // wasn't checked.
        while let Some(cover) = at.filter(|_| chain.len() <= self.covers.len()) {
            chain.push(cover);
            at = self.covers.get(cover).and_then(|cover| cover.inside);
        }
        chain.reverse();
        chain
    }

    /// Every cover that a step needs open, those around them included, the outermost first,
    /// each once.
    pub fn covers_for(&self, step: StepAt) -> Vec<CoverAt> {
        let mut all = Vec::new();
        for &need in &self.steps[step].needs {
            for cover in self.around(need) {
                if !all.contains(&cover) {
                    all.push(cover);
                }
            }
        }
        all
    }

    /// Minutes of a step when the covers marked in `open` are open already: opening and
    /// closing the others are charged with it, once.
    pub fn minutes_of(&self, step: StepAt, open: &[bool]) -> Minutes {
        let covers: Minutes = self
            .covers_for(step)
            .into_iter()
            .filter(|cover| !open.get(*cover).copied().unwrap_or(false))
            .map(|cover| self.covers[cover].open + self.covers[cover].close)
            .sum();
        self.steps[step].minutes + covers
    }

    /// Refuses a model whose numbers or names can't be right.
    ///
    /// # Errors
    /// The first thing that is wrong, with its place.
    pub fn check(&self) -> Result<(), ModelError> {
        crate::sound::check(self)
    }
}

impl Step {
    /// The check, if it is one.
    pub fn as_check(&self) -> Option<&Check> {
        match &self.kind {
            Kind::Check(check) => Some(check),
            Kind::Mend(_) => None,
        }
    }

    /// The mend, if it is one.
    pub fn as_mend(&self) -> Option<&Mend> {
        match &self.kind {
            Kind::Mend(mend) => Some(mend),
            Kind::Check(_) => None,
        }
    }

    /// Every caution that goes with the step.
    pub fn cautions(&self) -> Vec<&str> {
        let own = Some(self.caution.as_str()).filter(|words| !words.is_empty());
        self.energises.iter().map(|one| one.caution()).chain(own).collect()
    }
}

impl Trait {
    /// Every trait.
    pub const ALL: [Trait; 11] = [
        Trait::Secret,
        Trait::BlankSecret,
        Trait::LinksUnpaired,
        Trait::ModelId,
        Trait::ModelIdOff,
        Trait::Region,
        Trait::Version,
        Trait::Waiting,
        Trait::Telemetry,
        Trait::Fitted,
        Trait::SeveralEnds,
    ];

    /// The word in model files.
    pub fn word(self) -> &'static str {
        match self {
            Trait::Secret => "secret",
            Trait::BlankSecret => "blank-secret",
            Trait::LinksUnpaired => "links-unpaired",
            Trait::ModelId => "model-id",
            Trait::ModelIdOff => "model-id-off",
            Trait::Region => "region",
            Trait::Version => "version",
            Trait::Waiting => "waiting",
            Trait::Telemetry => "telemetry",
            Trait::Fitted => "fitted",
            Trait::SeveralEnds => "several-ends",
        }
    }

    /// The trait with this word.
    pub fn from_word(word: &str) -> Option<Trait> {
        Trait::ALL.into_iter().find(|one| one.word() == word)
    }
}
