//! The planner: from a question to a plan with its proof, in pieces that can be stopped.

mod conflict;
mod picks;
mod tidy;

use register::fleet::Fleet;
use register::id::DeviceId;
use register::refit::{EndWork, Kept, Placed, Wish};
use register::register::Register;
use register::rule::{Rule, Status, Verdict};
use register::time::Moment;
use register::verdict;
use units::Minutes;

use crate::ask::Question;
use crate::layout::{Laid, Night};
use crate::problem::{Assignment, Place, Problem, Score};
use crate::search::{self, Search, State};
use crate::tables::{self, Options, Tables};
use crate::words;
use crate::world::{Craft, LeftOut, Look, Mask, Trouble, World};
use picks::Ways;

pub use conflict::{Clash, Idea};

/// There is no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoPlan {
    /// A wish names what isn't there.
    #[error("{0}")]
    Refused(String),
    /// The wishes can't be met together.
    #[error("{}", .0.sentence())]
    Clash(Clash),
    /// The search was stopped before it found any plan.
    #[error("no plan was found yet; let the search go on, or wish for less")]
    Stopped,
}

/// An aircraft's line in a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct CraftLine {
    /// The aircraft.
    pub craft: Craft,
    /// Whether it can fly before the first evening of the plan.
    pub before: bool,
}

/// Why a device is worked on.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// The device.
    pub device: DeviceId,
    /// What it comes to, in words (`goes to 5.1`).
    pub what: String,
    /// Why.
    pub why: String,
    /// Whether a wish says so itself; else it is forced by another change.
    pub wished: bool,
}

/// A plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The aircraft it touches, in the order of labels.
    pub crafts: Vec<CraftLine>,
    /// How many aircraft it doesn't touch.
    pub untouched: usize,
    /// The evenings that are left, from the first that may still be used to the last with work.
    pub nights: Vec<Night>,
    /// What it comes to.
    pub score: Score,
    /// No plan is better than this.
    pub bound: Score,
    /// Whether it is proven that no plan is better.
    pub proven: bool,
    /// The gap in the first criterion that isn't proven, as a part of it.
    pub gap: f64,
    /// What is worked on, and why.
    pub reasons: Vec<Reason>,
    /// What would be good to look at first.
    pub looks: Vec<Look>,
    /// What a wish for a whole family leaves out.
    pub left_out: Vec<LeftOut>,
    /// Why there is no way back from some step, said before the first.
    pub no_way_back: Vec<String>,
    /// What replacing costs, in whole units of the owner's money.
    pub cost: u32,
    /// The receivers that are replaced, each with what takes its place.
    pub replaced: Vec<(DeviceId, DeviceId)>,
    /// What the log keeps of it.
    pub placed: Vec<Placed>,
    /// How many of them are transmitters.
    pub pivots: usize,
    /// The links that hold now and will.
    pub links: Vec<Kept>,
    /// What was wished, in words.
    pub wishes: Vec<String>,
    /// What is left to do was put together with less than all that was planned: why.
    pub notes: Vec<String>,
}

impl Plan {
    /// Whether there is nothing to do.
    pub fn is_empty(&self) -> bool {
        self.nights.iter().all(|night| night.lines.is_empty())
    }

    /// The minutes of all steps.
    pub fn minutes(&self) -> Minutes {
        self.nights.iter().map(|night| night.minutes).sum()
    }

    /// How many evenings have work.
    pub fn evenings(&self) -> usize {
        self.nights.iter().filter(|night| !night.lines.is_empty()).count()
    }

    /// The answer in a sentence.
    pub fn sentence(&self) -> String {
        if self.is_empty() {
            return "Nothing has to be changed.".to_owned();
        }
        let transmitters = self.pivots;
        let is_aircraft = |placed: &&Placed| self.crafts.iter().any(|line| line.craft.card.id == placed.what);
        let aircraft = self.placed.iter().filter(is_aircraft).count();
        let spares = self.placed.len().saturating_sub(transmitters + aircraft);
        let evenings = match self.evenings() {
            1 => "one evening".to_owned(),
            many => format!("{many} evenings"),
        };
        let grounded = match self.score.grounded {
            0 if self.evenings() == 1 => "aircraft are grounded only while it lasts".to_owned(),
            0 => "no aircraft is grounded between them".to_owned(),
            1 => "one aircraft is grounded for one evening".to_owned(),
            many => format!("{many} aircraft-evenings grounded"),
        };
        let count = |number: usize, one: &str, many: &str| match number {
            0 => None,
            1 => Some(format!("one {one}")),
            number => Some(format!("{number} {many}")),
        };
        let things: Vec<String> = [
            count(transmitters, "transmitter", "transmitters"),
            count(aircraft, "aircraft", "aircraft"),
            count(spares, "spare", "spares"),
        ]
        .into_iter()
        .flatten()
        .collect();
        let things = match things.as_slice() {
            [rest @ .., last] if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            all => all.concat(),
        };
        let last = self.nights.last().map(|night| night.flies.as_slice()).unwrap_or_default();
        let lost = self.crafts.iter().zip(last).filter(|(line, flies)| line.before && !**flies);
        let lost: Vec<String> = lost.map(|(line, _)| line.craft.card.spoken()).collect();
        let lost = if lost.is_empty() {
            String::new()
        } else {
            format!("; can't fly any more: {}", lost.join(", "))
        };
        let sentence = format!("{things} in {evenings}, {}; {grounded}{lost}.", self.minutes());
        let mut letters = sentence.chars();
        letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
    }

    /// The proof in a sentence.
    pub fn proof(&self) -> String {
        if self.proven {
            return "Proven: no plan takes fewer minutes; of those none grounds less, and of those none opens fewer covers."
                .to_owned();
        }
        if self.score == self.bound {
            return "The best of the ways that were looked into; there are more ways than that, and it is not proven \
                    that none of them is better."
                .to_owned();
        }
        let (what, best, bound) = if self.score.minutes != self.bound.minutes {
            let minutes = |hundredths: i64| crate::minutes(hundredths).to_string();
            ("minutes", minutes(self.score.minutes), minutes(self.bound.minutes))
        } else if self.score.grounded != self.bound.grounded {
            ("aircraft-evenings grounded", self.score.grounded.to_string(), self.bound.grounded.to_string())
        } else {
            ("covers opened", self.score.covers.to_string(), self.bound.covers.to_string())
        };
        format!(
            "Not proven the best: {what} {best}, and no plan has less than {bound} (a gap of {:.1} %).",
            self.gap * 100.0
        )
    }
}

struct Alternative<'a> {
    world: World<'a>,
    options: Options,
    problem: Problem,
    search: Search,
    state: State,
    bound: Score,
}

/// How far a planner has come.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// Whether there is nothing left to search.
    pub finished: bool,
    /// What the best plan so far comes to.
    pub best: Option<Score>,
    /// No plan is better than this.
    pub bound: Score,
    /// Work done, in units of about a microsecond.
    pub work: u64,
}

/// A planner at work.
pub struct Planner<'a> {
    register: &'a Register,
    fleet: &'a Fleet,
    question: &'a Question,
    now: Moment,
    alternatives: Vec<Alternative<'a>>,
    /// Whether these are all ways to settle what the wishes leave open.
    complete: bool,
    /// How many of them have a bound.
    begun: usize,
    at: usize,
    best: Option<(usize, Assignment, Score)>,
    work: u64,
}

impl std::fmt::Debug for Planner<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Planner").field("alternatives", &self.alternatives.len()).finish_non_exhaustive()
    }
}

impl<'a> Planner<'a> {
    /// Begins to plan.
    ///
    /// # Errors
    /// A wish names what isn't there ([`NoPlan::Refused`]); the wishes can't be met together in
    /// any number of evenings.
    pub fn new(
        register: &'a Register,
        fleet: &'a Fleet,
        question: &'a Question,
        now: Moment,
    ) -> Result<Planner<'a>, NoPlan> {
        let mask = Mask::all(question);
        let mut planner = Planner {
            register,
            fleet,
            question,
            now,
            alternatives: Vec::new(),
            complete: true,
            begun: 0,
            at: 0,
            best: None,
            work: 0,
        };
        let mut ways = Ways::new(register, fleet, question, &mask, now);
        let mut trouble = None;
        while let Some(way) = ways.next() {
            match way {
                Ok(world) => planner.alternatives.push(Alternative::new(world)),
                // What can't be read can't in any other way.
                Err(Trouble::Refused(words)) => return Err(NoPlan::Refused(words)),
                Err(why) => trouble = trouble.or(Some(why)),
            }
        }
        planner.complete = ways.complete();
        if planner.alternatives.is_empty() {
            return Err(planner.clash(trouble));
        }
        Ok(planner)
    }

    /// Goes on for about so many microseconds of work.
    pub fn run(&mut self, work: u64) -> Progress {
        let mut left = work;
        // First every way gets a bound, so that none is looked into that can't be better.
        while left > 0 && self.begun < self.alternatives.len() {
            self.piece(self.begun, 1, &mut left);
            self.begun += 1;
        }
        while left > 0 && self.at < self.alternatives.len() {
            if self.alternatives[self.at].state == State::Searching {
                self.piece(self.at, left, &mut left);
            }
            if self.alternatives[self.at].state != State::Searching {
                self.at += 1;
            }
        }
        self.progress()
    }

    /// Goes on with one of the ways.
    fn piece(&mut self, at: usize, work: u64, left: &mut u64) {
        let best = self.best.as_ref().map(|(_, _, score)| *score);
        let alternative = &mut self.alternatives[at];
        if let Some(best) = best {
            alternative.search.below(best);
        }
        let before = alternative.search_work();
        let mut tables = Tables { world: &alternative.world, options: &alternative.options };
        let progress = alternative.search.run(&mut tables, work);
        let spent = progress.work.saturating_sub(before);
        *left = left.saturating_sub(spent.max(1));
        self.work += spent;
        alternative.state = progress.state;
        alternative.bound = progress.bound;
        if let Some((answer, score)) = progress.best
            && best.is_none_or(|best| score < best)
        {
            self.best = Some((at, answer, score));
        }
    }

    fn progress(&self) -> Progress {
        let best = self.best.as_ref().map(|(_, _, score)| *score);
        let open = self.alternatives.iter().filter(|one| one.state == State::Searching).map(|one| one.bound);
        let bound = open.chain(best).min().unwrap_or_default();
        Progress { finished: self.at >= self.alternatives.len(), best, bound, work: self.work }
    }

    /// The best plan so far.
    ///
    /// # Errors
    /// There is none; where that is proven with the smallest set of wishes that can't be met
    /// together.
    pub fn plan(&self) -> Result<Plan, NoPlan> {
        let Some((at, answer, score)) = &self.best else {
            if self.at < self.alternatives.len() {
                return Err(NoPlan::Stopped);
            }
            return Err(self.clash(None));
        };
        let alternative = &self.alternatives[*at];
        let progress = self.progress();
        let Alternative { world, options, problem, .. } = alternative;
        let answer = tidy::tidy(problem, &mut Tables { world, options }, answer, *score);
        let mut plan = write(world, options, problem, &answer, *score, progress.bound);
        plan.proven &= self.complete && self.alternatives.iter().all(Alternative::complete);
        Ok(plan)
    }

    /// The world of the best plan so far, for tests that replay it.
    pub fn world(&self) -> Option<&World<'a>> {
        self.best.as_ref().map(|(at, ..)| &self.alternatives[*at].world)
    }

    /// The bare problem of the best plan so far, with its answer.
    pub fn answer(&self) -> Option<(&Problem, &Options, &Assignment)> {
        let (at, answer, _) = self.best.as_ref()?;
        let alternative = &self.alternatives[*at];
        Some((&alternative.problem, &alternative.options, answer))
    }
}

impl<'a> Alternative<'a> {
    fn new(world: World<'a>) -> Alternative<'a> {
        let options = Options::of(&world);
        let problem = tables::problem(&world, &options);
        let search = Search::new(problem.clone());
        Alternative { world, options, problem, search, state: State::Searching, bound: Score::default() }
    }

    /// Whether every way of doing it was looked into.
    fn complete(&self) -> bool {
        self.world.complete && self.options.complete
    }

    fn search_work(&self) -> u64 {
        self.search.work()
    }
}

/// Writes an answer out as a plan.
pub(crate) fn write(
    world: &World,
    options: &Options,
    problem: &Problem,
    answer: &Assignment,
    score: Score,
    bound: Score,
) -> Plan {
    let laid = Laid { world, options, assignment: answer };
    let available: Vec<Option<Minutes>> = problem
        .evenings
        .iter()
        .zip(world.question.from.max(1)..)
        .map(|(slot, number)| {
            let all = slot.capacity + tables::bench(world, number);
            (slot.capacity < i64::from(u32::MAX) / 2).then(|| crate::minutes(all))
        })
        .collect();
    let nights = laid.nights(&available);
    let crafts: Vec<CraftLine> = laid
        .crafts()
        .into_iter()
        .map(|at| CraftLine {
            craft: world.crafts[at].clone(),
            before: world.flies(&world.scene, &world.crafts[at]),
        })
        .collect();
    let mut no_way_back: Vec<String> = nights.iter().flat_map(|night| night.no_way_back.clone()).collect();
    no_way_back.dedup();
    Plan {
        untouched: world.crafts.len() - crafts.len(),
        crafts,
        nights,
        score,
        bound,
        proven: score == bound && world.complete && options.complete,
        gap: search::gap(score, bound),
        reasons: reasons(world),
        looks: world.looks.clone(),
        left_out: world.left_out.clone(),
        no_way_back,
        cost: world.swaps.values().map(|swap| swap.cost).sum(),
        replaced: world.swaps.iter().map(|(receiver, swap)| (*receiver, swap.by)).collect(),
        placed: placed(world, options, answer),
        pivots: world.pivots.len(),
        links: world.kept(),
        wishes: world.question.wishes.iter().map(|wish| words::wish(&world.scene, wish)).collect(),
        notes: notes(world, &laid),
    }
}

/// Other refits that are under way: what they change isn't known here.
fn notes(world: &World, laid: &Laid) -> Vec<String> {
    let mut all = further(world, laid);
    if world.question.links.is_some() {
        return all;
    }
    let open = world.scene.register.refits().iter().filter(|log| log.ended().is_none());
    all.extend(open.map(|log| {
        format!(
            "The refit {} is under way, and this plan knows nothing of what is left of it: end it first where both \
             touch the same transmitters or aircraft.",
            log.begun.what.name
        )
    }));
    all
}

/// Links that are meant to hold, don't, and are further from it when all is done.
fn further(world: &World, laid: &Laid) -> Vec<String> {
    let after = laid.after();
    let mut all = Vec::new();
    for craft in laid.crafts().into_iter().map(|at| &world.crafts[at]) {
        let (before, now) = (world.fitted(&world.scene, craft), world.fitted(&after, craft));
        for transmitter in craft.flown_by.iter().filter(|t| !craft.required.contains(t)) {
            let (Some(was), Some(is)) =
                (World::transmitter(&world.scene, *transmitter), World::transmitter(&after, *transmitter))
            else {
                continue;
            };
            for (old, new) in before.iter().zip(&now).filter(|(old, new)| old.card.id == new.card.id) {
                let (old, new) = (verdict::best(&was, old).ruling, verdict::best(&is, new).ruling);
                let lost = Rule::ALL.into_iter().filter(|rule| {
                    new.status(*rule) == Some(Status::Fail) && old.status(*rule) != Some(Status::Fail)
                });
                let lost: Vec<&str> = lost.map(Rule::label).collect();
                if old.verdict() != Verdict::Links && !lost.is_empty() {
                    all.push(format!(
                        "{} doesn't link with {} now, and is further from it when all is done: {}.",
                        craft.card.spoken(),
                        world.label(*transmitter),
                        lost.join(", ")
                    ));
                }
            }
        }
    }
    all
}

fn reasons(world: &World) -> Vec<Reason> {
    let mut all = Vec::new();
    for (device, targets) in &world.targets {
        for target in targets {
            let mut what = Vec::new();
            if let Some(version) = target.versions.last() {
                let several = world.scene.device(*device).is_some_and(|device| device.ends.len() > 1);
                let end = if several { format!(" with its end {}", target.end.end) } else { String::new() };
                what.push(format!("goes to {version}{end}"));
            }
            match &target.secret {
                Some(register::value::SecretMark::Blank) => {
                    what.push("has its link secret cleared".to_owned());
                }
                Some(_) => what.push("gets the link secret".to_owned()),
                None => {}
            }
            if !target.again.is_empty() {
                what.push("gets back what a flash wiped".to_owned());
            }
            all.push(Reason {
                device: *device,
                what: what.join(", "),
                why: words::because(world, *device, &target.because),
                wished: matches!(target.because, crate::world::Because::Wished { .. }),
            });
        }
    }
    for (receiver, swap) in &world.swaps {
        let by = if swap.bought { "a new one".to_owned() } else { world.label(swap.by) };
        all.push(Reason {
            device: *receiver,
            what: format!("is replaced by {by}"),
            why: format!("It can't follow. {}", words::because(world, *receiver, &swap.target.because)),
            wished: false,
        });
    }
    for ((transmitter, receiver), steps) in &world.extra {
        let what: Vec<&str> = steps.iter().map(|step| step.text.trim_end_matches('.')).collect();
        all.push(Reason {
            device: *receiver,
            what: what.join("; "),
            why: format!("The link with {} is meant to hold.", world.label(*transmitter)),
            wished: false,
        });
    }
    all.sort_by_cached_key(|reason| {
        (
            !world.pivots.contains(&reason.device),
            register::fleet::natural(&world.label(reason.device)),
            reason.device,
        )
    });
    all
}

fn placed(world: &World, options: &Options, answer: &Assignment) -> Vec<Placed> {
    let number = |place: Place| {
        world.question.from.max(1).saturating_add(u32::try_from(place.evening).unwrap_or(u32::MAX))
    };
    let ends = |devices: &[DeviceId], routes: &crate::bench::Routes| -> Vec<EndWork> {
        devices
            .iter()
            .flat_map(|device| world.targets.get(device).into_iter().flatten())
            .filter_map(|target| {
                let version = target.versions.last()?.clone();
                let route = routes.get(&target.end).cloned().unwrap_or_default();
                Some(EndWork { end: target.end.clone(), version, route })
            })
            .collect()
    };
    let mut all = Vec::new();
    for ((pivot, place), ways) in world.pivots.iter().zip(&answer.pivots).zip(&options.pivots) {
        all.push(Placed {
            what: *pivot,
            evening: number(*place),
            ends: ends(&[*pivot], &ways[place.option]),
            replaced: Vec::new(),
        });
    }
    for ((group, place), ways) in world.items.iter().zip(&answer.items).zip(&options.items) {
        let Some(place) = place else { continue };
        let mut devices: Vec<DeviceId> =
            group.crafts.iter().flat_map(|at| world.crafts[*at].receivers.clone()).collect();
        devices.extend(&group.loose);
        let replaced = devices.iter().copied().filter(|id| world.swaps.contains_key(id)).collect();
        all.push(Placed {
            what: group.what,
            evening: number(*place),
            ends: ends(&devices, &ways[place.option]),
            replaced,
        });
    }
    all.sort_by_key(|placed| placed.evening);
    all
}

/// Whether a wish asks for something, so that it can stand against another. Those that only
/// allow something are never in the way.
pub(crate) fn asks(wish: &Wish) -> bool {
    !matches!(wish, Wish::LetGo { .. } | Wish::Replace { .. } | Wish::Cover { .. })
}
