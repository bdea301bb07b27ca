//! Why wishes can't be met together: the smallest set of them, in words.

use register::refit::Wish;

use super::picks::Ways;
use super::{NoPlan, Planner, asks};
use crate::conflict::smallest_conflict;
use crate::problem::Problem;
use crate::search::{Search, State};
use crate::tables::{self, Options, Tables};
use crate::words;
use crate::world::{Mask, Trouble, World};

/// Something that could be wished instead.
#[derive(Clone, Debug, PartialEq)]
pub struct Idea {
    /// In words, after *you could*.
    pub text: String,
    /// The wish that would do by itself, beside all the others, where one was found. A replacement's
    /// cost is 0, for the person to say.
    pub wish: Option<Wish>,
}

/// Ideas that are words only.
fn said<const N: usize>(words: [&str; N]) -> Vec<Idea> {
    words.into_iter().map(|words| Idea { text: words.to_owned(), wish: None }).collect()
}

/// Wishes that can't be met together.
#[derive(Clone, Debug, PartialEq)]
pub struct Clash {
    /// The wishes, by their places.
    pub wishes: Vec<usize>,
    /// The same in words; the last may be that what links now must link in the end.
    pub words: Vec<String>,
    /// Whether it is proven that no smaller set of wishes clashes.
    pub smallest: bool,
    /// Why they clash.
    pub why: String,
    /// What could be wished instead.
    pub ideas: Vec<Idea>,
}

impl Clash {
    /// All of it in a few sentences.
    pub fn sentence(&self) -> String {
        let list = match self.words.as_slice() {
            [] => "What is wished can't be met.".to_owned(),
            [only] => format!("This can't be met: {only}."),
            many => format!("These wishes can't be met together: {}.", many.join("; ")),
        };
        let ideas = if self.ideas.is_empty() {
            String::new()
        } else {
            format!(
                " You could: {}.",
                self.ideas.iter().map(|idea| idea.text.as_str()).collect::<Vec<_>>().join("; or ")
            )
        };
        format!("{list} {}{ideas}", self.why)
    }
}

/// How much work one question to the search may take.
const WORK: u64 = 400_000;
/// How much work all of them may take.
const ALL_WORK: u64 = 8_000_000;
/// Up to so many receivers single ideas are tried, and so many links to let go are named.
const MOST_TRIED: usize = 120;
const MOST_IDEAS: usize = 3;
/// How many questions are asked.
const QUESTIONS: usize = 120;

/// Whether there is an answer in one way of settling what is open.
fn one_feasible(world: &World, left: &mut u64) -> Option<bool> {
    let options = Options::of(world);
    let mut search = Search::new(tables::problem(world, &options));
    let mut tables = Tables { world, options: &options };
    let mut spent = 0;
    while spent < WORK && *left > 0 {
        let progress = search.run(&mut tables, 10_000);
        *left = left.saturating_sub(10_000);
        if progress.best.is_some() {
            return Some(true);
        }
        if progress.state == State::Infeasible {
            return options.complete.then_some(false);
        }
        spent += 10_000;
    }
    None
}

impl Planner<'_> {
    fn mask(&self, marks: &[usize], on: &[bool]) -> Mask {
        let mut mask = Mask::all(self.question);
        for (place, on) in marks.iter().zip(on) {
            mask.wishes[*place] = *on;
        }
        // What must fly on a day must link with something then, and so go with its transmitter.
        let flies = self
            .question
            .wishes
            .iter()
            .zip(&mask.wishes)
            .any(|(wish, on)| *on && matches!(wish, Wish::Fly { .. }));
        mask.links = flies || on.last().copied().unwrap_or(true);
        mask
    }

    fn feasible(&self, mask: &Mask, left: &mut u64) -> Option<bool> {
        let mut ways = Ways::new(self.register, self.fleet, self.question, mask, self.now);
        let mut decided = true;
        while let Some(way) = ways.next() {
            match way {
                Ok(world) => match one_feasible(&world, left) {
                    Some(true) => return Some(true),
                    Some(false) => {}
                    None => decided = false,
                },
                // A wish that can't be read is refused before any of this.
                Err(Trouble::Refused(_)) => return None,
                Err(Trouble::Clash(_)) => {}
            }
        }
        (decided && ways.complete()).then_some(false)
    }

    /// The smallest conflict, in words.
    pub(super) fn clash(&self, trouble: Option<Trouble>) -> NoPlan {
        let marks: Vec<usize> =
            (0..self.question.wishes.len()).filter(|at| asks(&self.question.wishes[*at])).collect();
        let mut left = ALL_WORK;
        let found = smallest_conflict(marks.len() + 1, QUESTIONS, &mut |on| {
            self.feasible(&self.mask(&marks, on), &mut left)
        });
        let (on, smallest) = match found {
            Some(conflict) => {
                let mut on = vec![false; marks.len() + 1];
                for at in &conflict.wishes {
                    on[*at] = true;
                }
                (on, conflict.smallest_proven)
            }
            None => (vec![true; marks.len() + 1], false),
        };
        let wishes: Vec<usize> = marks.iter().zip(&on).filter(|(_, on)| **on).map(|(at, _)| *at).collect();
        let scene = register::scene::Scene::new(self.register);
        let mut said: Vec<String> =
            wishes.iter().map(|at| words::wish(&scene, &self.question.wishes[*at])).collect();
        if self.mask(&marks, &on).links {
            said.push(words::KEEP_LINKS.to_owned());
        }
        let trouble = trouble.filter(|_| !smallest);
        let (why, ideas) = self.reason(&self.mask(&marks, &on), trouble);
        NoPlan::Clash(Clash { wishes, words: said, smallest, why, ideas })
    }

    /// Single links that could be let go, and single receivers that could be replaced, each of
    /// which would do.
    fn named_ideas(&self, mask: &Mask) -> Vec<Idea> {
        if self.fleet.receivers.len() > MOST_TRIED {
            return Vec::new();
        }
        let would_do = |wish: Wish| {
            let mut question = self.question.clone();
            question.wishes.push(wish);
            let mut mask = mask.clone();
            mask.wishes.push(true);
            World::build(self.register, self.fleet, &question, &mask, &[], self.now).is_ok()
        };
        let scene = register::scene::Scene::new(self.register);
        let mut ideas = Vec::new();
        for (t, r) in self.fleet.wanted() {
            let (transmitter, receiver) = (&self.fleet.transmitters[t], &self.fleet.receivers[r]);
            let Some(aircraft) = receiver.fitted_in() else { continue };
            let wish = Wish::LetGo { aircraft, transmitter: Some(transmitter.card.id) };
            if ideas.len() < MOST_IDEAS && would_do(wish.clone()) {
                let text = format!("wish that {}", words::wish(&scene, &wish));
                ideas.push(Idea { text, wish: Some(wish) });
            }
        }
        for receiver in self.fleet.receivers.iter().filter(|view| view.fitted_in().is_some()) {
            let wish = Wish::Replace { receiver: receiver.card.id, by: None, cost: 0 };
            if ideas.len() < MOST_IDEAS + 2 && would_do(wish.clone()) {
                let text = format!("say what replacing {} costs", receiver.card.label());
                ideas.push(Idea { text, wish: Some(wish) });
            }
        }
        ideas
    }

    fn reason(&self, mask: &Mask, trouble: Option<Trouble>) -> (String, Vec<Idea>) {
        let world = match World::build(self.register, self.fleet, self.question, mask, &[], self.now) {
            Err(Trouble::Clash(words) | Trouble::Refused(words)) => {
                let mut ideas = self.named_ideas(mask);
                if ideas.is_empty() {
                    ideas = said([
                        "let links go that you can do without",
                        "say what replacing the receivers that can't follow costs",
                    ]);
                }
                return (words, ideas);
            }
            Ok(world) => world,
        };
        if let Some(Trouble::Clash(words)) = trouble {
            return (words, Vec::new());
        }
        let options = Options::of(&world);
        let problem = tables::problem(&world, &options);
        let mut tables = Tables { world: &world, options: &options };
        let mut longest: Option<(i64, String)> = None;
        let mut all: i64 =
            problem.pivots.iter().filter_map(|one| one.options.iter().map(|way| way.minutes).min()).sum();
        for (item, group) in world.items.iter().enumerate() {
            use crate::problem::Stager as _;
            let ranks = vec![0; group.pivots.len() + usize::from(group.has_work)];
            let stages = tables.stages(item, 0, &vec![0; group.pivots.len()], &ranks);
            let minutes: i64 = stages.minutes.iter().sum();
            all += minutes;
            if longest.as_ref().is_none_or(|(most, _)| *most < minutes) {
                longest = Some((minutes, world.spoken(group.what)));
            }
        }
        for (pivot, ways) in world.pivots.iter().zip(&problem.pivots) {
            let minutes = ways.options.iter().map(|way| way.minutes).min().unwrap_or(0);
            if longest.as_ref().is_none_or(|(most, _)| *most < minutes) {
                longest = Some((minutes, world.label(*pivot)));
            }
        }
        let room: i64 = problem.evenings.iter().map(|slot| (slot.capacity - slot.bench).max(0)).sum();
        let longest_evening =
            problem.evenings.iter().map(|slot| (slot.capacity - slot.bench).max(0)).max().unwrap_or(0);
        if problem.evenings.is_empty() {
            return ("No evening is left.".to_owned(), said(["add an evening"]));
        }
        let pivots = world.pivots.iter().zip(problem.pivots.iter().map(|one| &one.allowed));
        let items = world.items.iter().zip(&problem.items).filter(|(_, one)| !one.idle);
        let items = items.map(|(group, one)| (&group.what, &one.allowed));
        let never = pivots.chain(items).find(|(_, allowed)| allowed.iter().all(|allowed| !allowed));
        if let Some((what, _)) = never {
            return (
                format!("{} is put off beyond the last evening.", world.label(*what)),
                said(["add evenings", "put it off to an earlier one"]),
            );
        }
        if let Some((minutes, name)) = longest.filter(|(minutes, _)| *minutes > longest_evening) {
            return (
                format!(
                    "{name} alone takes {}, and the longest evening has {} beside getting the bench out.",
                    crate::minutes(minutes),
                    crate::minutes(longest_evening)
                ),
                said(["make one evening longer"]),
            );
        }
        if all > room {
            return (
                format!(
                    "What these wishes ask takes about {}, and the evenings have {} beside getting the bench out.",
                    crate::minutes(all),
                    crate::minutes(room)
                ),
                said(["add an evening, or make them longer"]),
            );
        }
        if let Some(reason) = cannot_fly(&world, &problem) {
            return reason;
        }
        (
            "A transmitter with all of its ends, and an aircraft with all of its receivers, is worked on in one \
             evening. While one side of a link is changed and the other isn't yet, its aircraft can't fly, and what must be \
             changed together doesn't fit into one evening."
                .to_owned(),
            said(["make the evenings longer", "let more aircraft be grounded, or fly later"]),
        )
    }
}

/// Which aircraft can't fly when it must, whatever is done, and what to wish instead.
fn cannot_fly(world: &World, problem: &Problem) -> Option<(String, Vec<Idea>)> {
    for (item, group) in problem.items.iter().zip(&world.items) {
        for (bit, after) in &item.must_fly {
            if after.is_none() && item.flies_first & (1 << bit) == 0 {
                let name = world.crafts[group.crafts[*bit]].card.spoken();
                return Some((
                    format!("{name} can't fly as things stand, and nothing is done before it must."),
                    vec![Idea { text: format!("let {name} fly after a later evening"), wish: None }],
                ));
            }
            if item.flies_last & (1 << bit) == 0 {
                let name = world.crafts[group.crafts[*bit]].card.spoken();
                return Some((
                    format!("No transmitter links with {name} when all is done."),
                    vec![Idea {
                        text: "wish that every link that is meant to hold does".to_owned(),
                        wish: Some(Wish::AllPair),
                    }],
                ));
            }
        }
    }
    None
}
