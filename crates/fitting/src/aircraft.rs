//! An aircraft's fit as it stands in the logbook: each part read and checked with what the register
//! knows.

use register::family::band_mhz;
use register::family::read::Problem;
use register::fit::Part;
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::scene::Scene;
use register::time::Moment;
use register::view::Card;
use units::Mhz;

use crate::antennas::{self, Antennas};
use crate::commission::{PartState, transmitters};
use crate::failsafe::{self, Failsafe, InUse, Power, Sort};
use crate::finding::Finding;
use crate::outputs::{self, Facts, Named, Outputs};
use crate::part::Filled;
use crate::supply::{self, Supply};

/// A part that is written down.
#[derive(Clone, Debug, PartialEq)]
pub struct Written<T, A> {
    /// When.
    pub seen: Moment,
    /// Its entry.
    pub entry: EntryId,
    /// How many texts stand; more than one is a clash between copies of the workshop.
    pub texts: usize,
    /// What was written.
    pub text: String,
    /// What it says and what was found, or why it can't be read.
    pub read: Result<(T, A), Vec<Problem>>,
}

impl<T, A> Written<T, A> {
    /// What was found, where it can be read.
    pub fn answer(&self) -> Option<&A> {
        self.read.as_ref().ok().map(|(_, answer)| answer)
    }
}

/// An aircraft's fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Its outputs.
    pub outputs: Option<Written<Outputs, outputs::Answer>>,
    /// Its supply.
    pub supply: Option<Written<Supply, supply::Answer>>,
    /// Its failsafe.
    pub failsafe: Option<Written<Failsafe, failsafe::Answer>>,
    /// Its antennas.
    pub antennas: Option<Written<Antennas, antennas::Answer>>,
    /// The sort of craft: as the failsafe says, else as the register does.
    pub craft: failsafe::Sort,
    /// What drives it.
    pub power: Power,
}

/// What the register knows of an aircraft that the checks want.
#[derive(Clone, Debug, PartialEq)]
pub struct Around {
    /// For the outputs.
    pub facts: Facts,
    /// The sort of craft, where its words mean one.
    pub craft: Option<Sort>,
    /// The band of its receivers, where they are of one.
    pub band: Option<Mhz>,
}

fn named(card: &Card) -> Named {
    let also = [card.code.clone(), card.name.clone()].into_iter().flatten();
    let label = card.label();
    Named { also: also.filter(|one| *one != label).collect(), label }
}

impl Around {
    /// Of one aircraft.
    pub fn of(fleet: &Fleet, aircraft: DeviceId) -> Around {
        let craft = fleet.aircraft(aircraft).and_then(|view| view.craft.clone()).unwrap_or_default();
        let fitted: Vec<_> = fleet.fitted_in(aircraft).collect();
        let bands: Vec<Mhz> = fitted
            .iter()
            .flat_map(|receiver| &receiver.ends)
            .filter_map(|end| end.band.one().and_then(|words| band_mhz(words)))
            .collect();
        let band =
            bands.first().copied().filter(|first| bands.iter().all(|one| (one.0 - first.0).abs() < 1.0));
        Around {
            craft: sort_of(&craft),
            facts: Facts {
                craft,
                receivers: fitted.iter().map(|one| named(&one.card)).collect(),
                transmitters: transmitters(fleet, aircraft).iter().map(named).collect(),
            },
            band,
        }
    }
}

/// Words that mean a sort of craft, beside the sorts' own.
const ALSO: [(&str, Sort); 26] = [
    ("airplane", Sort::Aeroplane),
    ("plane", Sort::Aeroplane),
    ("biplane", Sort::Aeroplane),
    ("seaplane", Sort::Aeroplane),
    ("floatplane", Sort::Aeroplane),
    ("jet", Sort::Aeroplane),
    ("warbird", Sort::Aeroplane),
    ("sailplane", Sort::Glider),
    ("heli", Sort::Helicopter),
    ("quad", Sort::Multirotor),
    ("quadcopter", Sort::Multirotor),
    ("quadrocopter", Sort::Multirotor),
    ("hexacopter", Sort::Multirotor),
    ("octocopter", Sort::Multirotor),
    ("multicopter", Sort::Multirotor),
    ("tricopter", Sort::Multirotor),
    ("drone", Sort::Multirotor),
    ("ship", Sort::Boat),
    ("yacht", Sort::Boat),
    ("tug", Sort::Boat),
    ("sailboat", Sort::Boat),
    ("buggy", Sort::Car),
    ("truck", Sort::Car),
    ("truggy", Sort::Car),
    ("crawler", Sort::Car),
    ("lorry", Sort::Car),
];

/// The sort of craft that an owner's words mean; none where they mean none or several.
pub fn sort_of(words: &str) -> Option<Sort> {
    let lower = words.trim().to_lowercase();
    if lower == "flying boat" {
        return Some(Sort::Aeroplane);
    }
    let of = |word: &str| {
        Sort::from_word(word).or_else(|| ALSO.iter().find(|(also, _)| *also == word).map(|(_, sort)| *sort))
    };
    let mut meant = lower.split(|c: char| !c.is_alphabetic()).filter_map(of);
    let first = meant.next()?;
    meant.all(|other| other == first).then_some(first)
}

/// What drives a craft of which nothing says it: nothing for a glider, unless its owner's words or what
/// hangs on its outputs speak of a motor; then, and for all else, an electric one.
fn driven_by(sort: Sort, words: &str, outputs: Option<&Outputs>) -> Power {
    let lower = words.to_lowercase();
    let said = lower
        .split(|c: char| !c.is_alphabetic())
        .any(|word| matches!(word, "electric" | "motor" | "powered" | "motorised" | "motorized"));
    let hangs = outputs.is_some_and(|outputs| {
        let motor = |part: &outputs::Hung| part.sort == outputs::Sort::SpeedController;
        outputs.parts.iter().any(motor)
            || !outputs.parts.is_empty()
                && outputs::functions(outputs).iter().any(|function| outputs::is_throttle(function))
    });
    if sort == Sort::Glider && !said && !hangs { Power::None } else { Power::Electric }
}

/// The channels that outputs use, as the failsafe wants them.
pub fn in_use(outputs: &Outputs) -> Vec<InUse> {
    outputs::used(outputs)
        .into_iter()
        .map(|used| InUse { channel: used.channel, function: used.function })
        .collect()
}

impl Fit {
    /// The fit of an aircraft, as the logbook has it.
    pub fn of(scene: &Scene, fleet: &Fleet, aircraft: DeviceId) -> Fit {
        let around = Around::of(fleet, aircraft);
        let log = scene.register.fit(aircraft);
        let stands = |part: Part| {
            let log = log?;
            let mark = log.text(part)?;
            Some((mark.seen, mark.entry, log.standing(part).len(), mark.what.text.as_str()))
        };
        let outputs = stands(Part::Outputs).map(|at| {
            written(at, |origin, text| {
                let outputs = Outputs::read(origin, text)?;
                let answer = outputs::check(&outputs, &around.facts);
                Ok((outputs, answer))
            })
        });
        let supply = stands(Part::Supply).map(|at| {
            written(at, |origin, text| {
                let supply = Supply::read(origin, text)?;
                let answer = supply::solve(&supply);
                Ok((supply, answer))
            })
        });
        let used = match &outputs {
            Some(Written { read: Ok((outputs, _)), .. }) => in_use(outputs),
            _ => Vec::new(),
        };
        let failsafe = stands(Part::Failsafe).map(|at| {
            written(at, |origin, text| {
                let failsafe = Failsafe::read(origin, text)?;
                let answer = failsafe::answer(&failsafe, around.craft, &used);
                Ok((failsafe.for_craft(around.craft), answer))
            })
        });
        let antennas = stands(Part::Antennas).map(|at| {
            written(at, |origin, text| {
                let antennas = Antennas::read(origin, text)?;
                let answer = antennas::check(&antennas, around.band);
                Ok((antennas, answer))
            })
        });
        let (craft, power) = match &failsafe {
            Some(Written { read: Ok((failsafe, _)), .. }) => (failsafe.craft(), failsafe.power),
            _ => (around.craft.unwrap_or(Sort::Aeroplane), None),
        };
        let hanging = match &outputs {
            Some(Written { read: Ok((outputs, _)), .. }) => Some(outputs),
            _ => None,
        };
        // Cautions go by this: rather a motor too many.
        let power = power.unwrap_or_else(|| driven_by(craft, &around.facts.craft, hanging));
        Fit { outputs, supply, failsafe, antennas, craft, power }
    }

    /// How the parts stand, for the commissioning list.
    pub fn states(&self) -> Vec<PartState> {
        let mut out = Vec::new();
        let mut add = |part: Part, seen, entry, texts, read| {
            out.push(PartState { part, seen, entry, texts, works_to: None, read });
        };
        if let Some(one) = &self.outputs {
            add(Part::Outputs, one.seen, one.entry, one.texts, told(one, |a| (&a.sentence, &a.findings)));
        }
        if let Some(one) = &self.supply {
            add(Part::Supply, one.seen, one.entry, one.texts, told(one, |a| (&a.sentence, &a.findings)));
        }
        if let Some(one) = &self.failsafe {
            add(Part::Failsafe, one.seen, one.entry, one.texts, told(one, |a| (&a.sentence, &a.findings)));
        }
        if let Some(one) = &self.antennas {
            add(Part::Antennas, one.seen, one.entry, one.texts, told(one, |a| (&a.sentence, &a.findings)));
        }
        if let Some(Ok((supply, _))) = self.supply.as_ref().map(|one| one.read.as_ref()) {
            let works_to = Some(supply.receiver.works_to);
            out.iter_mut().filter(|one| one.part == Part::Supply).for_each(|one| one.works_to = works_to);
        }
        out
    }

    /// The text of a part.
    pub fn text(&self, part: Part) -> Option<&str> {
        match part {
            Part::Outputs => self.outputs.as_ref().map(|one| one.text.as_str()),
            Part::Supply => self.supply.as_ref().map(|one| one.text.as_str()),
            Part::Failsafe => self.failsafe.as_ref().map(|one| one.text.as_str()),
            Part::Antennas => self.antennas.as_ref().map(|one| one.text.as_str()),
        }
    }
}

/// Whether a part's text can be read; what a door asks before it writes one down.
///
/// # Errors
/// Every problem, with line and key.
pub fn check_text(part: Part, origin: &str, text: &str) -> Result<(), Vec<Problem>> {
    match part {
        Part::Outputs => Outputs::read(origin, text).map(drop),
        Part::Supply => Supply::read(origin, text).map(drop),
        Part::Failsafe => Failsafe::read(origin, text).map(drop),
        Part::Antennas => Antennas::read(origin, text).map(drop),
    }
}

/// Whether cells that were typed one by one can stand together; problems are keyed by their paths.
///
/// # Errors
/// Every problem between cells.
pub fn check_filled(part: Part, origin: &str, filled: &Filled) -> Result<(), Vec<Problem>> {
    match part {
        Part::Outputs => Outputs::of(origin, filled).map(drop),
        Part::Supply => Supply::of(origin, filled).map(drop),
        Part::Failsafe => Failsafe::of(origin, filled).map(drop),
        Part::Antennas => Antennas::of(origin, filled).map(drop),
    }
}

fn written<T, A>(
    (seen, entry, texts, text): (Moment, EntryId, usize, &str),
    read: impl FnOnce(&str, &str) -> Result<(T, A), Vec<Problem>>,
) -> Written<T, A> {
    Written { seen, entry, texts, text: text.to_owned(), read: read("what is written", text) }
}

fn told<T, A>(
    one: &Written<T, A>,
    of: impl FnOnce(&A) -> (&String, &Vec<Finding>),
) -> Result<(String, Vec<Finding>), Vec<Problem>> {
    match &one.read {
        Ok((_, answer)) => {
            let (sentence, findings) = of(answer);
            Ok((sentence.clone(), findings.clone()))
        }
        Err(problems) => Err(problems.clone()),
    }
}
