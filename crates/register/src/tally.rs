//! All verdicts of a fleet at once: counted by verdict and reason, and any page of them.
//!
//! Going pair by pair through [`crate::verdict::link`] costs a microsecond and more for
//! every transmitter and receiver. Here the receivers are sorted once into classes that
//! no rule can tell apart; each transmitter then asks the same functions of
//! [`crate::rule`] about one member of every class. Receivers that are special to one
//! transmitter (in an aircraft that it has a memory for, paired with it, holding its
//! secret or the ID of one of its memories) are judged one by one. The answers are those
//! of [`crate::verdict::best`], pair for pair.

mod code;
mod hearing;
mod index;
mod row;

use std::ops::Range;

use crate::fleet::Fleet;
use crate::id::DeviceId;
use crate::rule::{Rule, Status, Verdict};

use self::code::Code;
pub(crate) use self::hearing::Hearing;
use self::index::Index;
use self::row::Scratch;
pub use self::row::{Cell, Row};

/// How many links there are, by verdict and by reason.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// All of them.
    pub links: u64,
    by_verdict: [u64; 3],
    by_reason: [[u64; 3]; 7],
}

impl Counts {
    /// How many have this verdict.
    pub fn verdict(&self, verdict: Verdict) -> u64 {
        self.by_verdict[verdict as usize]
    }

    /// For how many this rule came to this status. A rule that does not arise (the
    /// families differ) has none.
    pub fn reason(&self, rule: Rule, status: Status) -> u64 {
        self.by_reason[rule as usize][status as usize]
    }

    fn add(&mut self, code: Code, count: u64) {
        self.links += count;
        self.by_verdict[code.verdict() as usize] += count;
        for rule in Rule::ALL {
            if let Some(status) = code.status(rule) {
                self.by_reason[rule as usize][status as usize] += count;
            }
        }
    }
}

/// Which links to list; an empty filter lists all.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Those with this verdict.
    pub verdict: Option<Verdict>,
    /// Those for which this rule came to this status.
    pub reason: Option<(Rule, Status)>,
    /// Those of the transmitter at this place of the fleet's list.
    pub transmitter: Option<usize>,
    /// Those of the receiver at this place of the fleet's list.
    pub receiver: Option<usize>,
    /// Those of the receivers known to be in this aircraft.
    pub aircraft: Option<DeviceId>,
    /// Those of this link family, named as [`crate::verdict::Link::family`] names it.
    pub family: Option<String>,
    /// Only links that are meant to hold, or all.
    pub wanted_only: bool,
}

impl Filter {
    fn takes(&self, cell: Cell) -> bool {
        self.verdict.is_none_or(|verdict| cell.verdict() == verdict)
            && self.reason.is_none_or(|(rule, status)| cell.status(rule) == Some(status))
            && (!self.wanted_only || cell.wanted)
    }
}

/// A page of links.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Page {
    /// How many links the filter takes in all.
    pub total: u64,
    /// Those on the page: places in the fleet's lists of transmitters and receivers, in
    /// that order.
    pub links: Vec<(usize, usize)>,
}

/// The links of one transmitter that are alike, and how many they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Alike {
    cell: Cell,
    count: u32,
}

/// The counts of some transmitters, made by [`Job::piece`].
#[derive(Clone, Debug)]
pub struct Piece {
    from: usize,
    rows: Vec<Vec<Alike>>,
}

/// A tally in the making, which goes forward some transmitters at a time.
///
/// ```
/// # use register::{fleet::Fleet, tally::Job};
/// let fleet = Fleet::default();
/// let mut job = Job::new(&fleet);
/// while job.advance(&fleet, 16) < job.transmitters() {
///     // show how far it is, or stop
/// }
/// assert!(job.finish().is_some());
/// ```
#[derive(Debug)]
pub struct Job {
    index: Index,
    rows: Vec<Option<Vec<Alike>>>,
    scratch: Scratch,
    next: usize,
}

impl Job {
    /// Sorts the receivers into classes; nothing is counted yet.
    pub fn new(fleet: &Fleet) -> Job {
        let index = Index::of(fleet);
        Job { scratch: Scratch::new(), index, rows: vec![None; fleet.transmitters.len()], next: 0 }
    }

    /// How many transmitters there are to count.
    pub fn transmitters(&self) -> usize {
        self.rows.len()
    }

    /// Counts up to `transmitters` more, in order, and returns how many are done.
    pub fn advance(&mut self, fleet: &Fleet, transmitters: usize) -> usize {
        let end = self.next.saturating_add(transmitters.max(1)).min(self.rows.len());
        for at in self.next..end {
            if self.rows[at].is_none() {
                self.rows[at] = Some(row::alike(&self.index, fleet, at, &mut self.scratch));
            }
        }
        self.next = end;
        end
    }

    /// Counts some transmitters without changing the job, so that several threads of a
    /// door can each count a piece.
    pub fn piece(&self, fleet: &Fleet, transmitters: Range<usize>) -> Piece {
        let mut scratch = Scratch::new();
        let from = transmitters.start.min(self.rows.len());
        let to = transmitters.end.min(self.rows.len());
        Piece { from, rows: (from..to).map(|at| row::alike(&self.index, fleet, at, &mut scratch)).collect() }
    }

    /// Takes a counted piece in.
    pub fn take(&mut self, piece: Piece) {
        for (at, row) in piece.rows.into_iter().enumerate() {
            if let Some(place) = self.rows.get_mut(piece.from + at) {
                *place = Some(row);
            }
        }
        while self.rows.get(self.next).is_some_and(Option::is_some) {
            self.next += 1;
        }
    }

    /// The tally, once every transmitter is counted.
    pub fn finish(self) -> Option<Tally> {
        let rows: Vec<Vec<Alike>> = self.rows.into_iter().collect::<Option<_>>()?;
        let mut tally = Tally { index: self.index, rows, all: Counts::default(), wanted: Counts::default() };
        for alike in tally.rows.iter().flatten() {
            tally.all.add(alike.cell.code, u64::from(alike.count));
            if alike.cell.wanted {
                tally.wanted.add(alike.cell.code, u64::from(alike.count));
            }
        }
        Some(tally)
    }
}

/// Every verdict of a fleet, counted.
#[derive(Debug)]
pub struct Tally {
    index: Index,
    /// By transmitter.
    rows: Vec<Vec<Alike>>,
    all: Counts,
    wanted: Counts,
}

impl Tally {
    /// Counts a whole fleet. A large one takes about a second; see [`Job`] for pieces.
    ///
    /// # Panics
    /// Never: a job that went through every transmitter is finished.
    pub fn of(fleet: &Fleet) -> Tally {
        let mut job = Job::new(fleet);
        job.advance(fleet, fleet.transmitters.len());
        job.finish().expect("every transmitter has just been counted")
    }

    /// All links.
    pub fn counts(&self) -> &Counts {
        &self.all
    }

    /// The links that are meant to hold.
    pub fn wanted(&self) -> &Counts {
        &self.wanted
    }

    /// The links of one transmitter, by its place in the fleet's list.
    pub fn of_transmitter(&self, transmitter: usize) -> Counts {
        let mut counts = Counts::default();
        for alike in self.rows.get(transmitter).into_iter().flatten() {
            counts.add(alike.cell.code, u64::from(alike.count));
        }
        counts
    }

    /// Every link of one transmitter; empty when there is no such transmitter. `fleet`
    /// must be the one that was counted.
    pub fn row(&self, fleet: &Fleet, transmitter: usize) -> Row {
        if transmitter >= self.rows.len() {
            return Row::default();
        }
        row::row(&self.index, fleet, transmitter, &mut Scratch::new())
    }

    /// The link families that links are reported under, in order.
    pub fn families(&self) -> Vec<&str> {
        let mut seen: Vec<u32> = self.rows.iter().flatten().map(|alike| alike.cell.family).collect();
        seen.sort_unstable();
        seen.dedup();
        let mut names: Vec<&str> = seen.into_iter().filter_map(|id| self.index.family_name(id)).collect();
        names.sort_unstable();
        names
    }

    /// The name of the link family of a cell, as [`crate::verdict::Link::family`] reports it.
    pub fn family_of(&self, cell: &Cell) -> Option<&str> {
        self.index.family_name(cell.family)
    }

    /// The page that starts at the link `offset` of those that the filter takes, with up
    /// to `limit` links, by transmitter and then receiver in the fleet's order. `fleet`
    /// must be the one that was counted.
    pub fn page(&self, fleet: &Fleet, filter: &Filter, offset: u64, limit: usize) -> Page {
        let mut page = Page::default();
        let family = match &filter.family {
            None => None,
            Some(name) => match self.index.family_id(name) {
                Some(id) => Some(id),
                // No link can have a family that no end speaks.
                None => return page,
            },
        };
        let takes = |cell: Cell| filter.takes(cell) && family.is_none_or(|id| id == cell.family);
        let transmitters = match filter.transmitter {
            Some(at) => at..at.saturating_add(1).min(self.rows.len()).max(at),
            None => 0..self.rows.len(),
        };
        let picked = self.picked(fleet, filter);
        let mut scratch = Scratch::new();
        let push = |page: &mut Page, transmitter: usize, receiver: usize| {
            if page.total >= offset && page.links.len() < limit {
                page.links.push((transmitter, receiver));
            }
            page.total += 1;
        };
        for transmitter in transmitters {
            let Some(alike) = self.rows.get(transmitter) else { break };
            let count: u64 =
                alike.iter().filter(|alike| takes(alike.cell)).map(|alike| u64::from(alike.count)).sum();
            if count == 0 {
                continue;
            }
            match &picked {
                None if page.links.len() >= limit || page.total + count <= offset => page.total += count,
                None => {
                    let row = row::row(&self.index, fleet, transmitter, &mut scratch);
                    for (receiver, cell) in row.cells().enumerate() {
                        if takes(cell) {
                            push(&mut page, transmitter, receiver);
                        }
                    }
                }
                Some(receivers) if receivers.len() > ONE_BY_ONE => {
                    let row = row::row(&self.index, fleet, transmitter, &mut scratch);
                    for receiver in receivers {
                        if row.cell(*receiver).is_some_and(&takes) {
                            push(&mut page, transmitter, *receiver);
                        }
                    }
                }
                Some(receivers) => {
                    for receiver in receivers {
                        if takes(self.index.cell(fleet, transmitter, *receiver)) {
                            push(&mut page, transmitter, *receiver);
                        }
                    }
                }
            }
        }
        page
    }

    /// The receivers that the filter names, in order; `None` when it names none.
    fn picked(&self, fleet: &Fleet, filter: &Filter) -> Option<Vec<usize>> {
        if filter.receiver.is_none() && filter.aircraft.is_none() {
            return None;
        }
        let fitted = |at: &usize| {
            let receiver = &fleet.receivers[*at];
            filter.aircraft.is_none_or(|aircraft| receiver.fitted_in() == Some(aircraft))
        };
        let all = match (filter.receiver, filter.aircraft) {
            (Some(at), _) => Vec::from_iter((at < fleet.receivers.len()).then_some(at)),
            (None, Some(aircraft)) => self.index.fitted_in(aircraft).iter().map(|at| *at as usize).collect(),
            (None, None) => Vec::new(),
        };
        Some(all.into_iter().filter(fitted).collect())
    }
}

/// Up to so many receivers of a transmitter are judged one by one rather than by its row.
const ONE_BY_ONE: usize = 64;
