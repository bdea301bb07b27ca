//! The bare problem of a refit: what is done in which evening, in whole numbers.
//!
//! A **pivot** is a transmitter, on which aircraft lean. An **item** is an aircraft with all of
//! its receivers (several aircraft, where one's facts are stated through the other's), or a loose
//! receiver. Each is worked on in one evening, in one of a few ways. What an item costs, and when
//! its aircraft can fly, depends on the *order* of its evening and those of its pivots and on
//! nothing else.

/// A point in the order of an item and its pivots: equal numbers are the same evening.
pub type Rank = u8;

/// One evening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// How much time there is, hundredths of a minute.
    pub capacity: i64,
    /// What it takes once if anything is done in this evening, counted among the minutes;
    /// hundredths of a minute.
    pub bench: i64,
}

/// What one way of working on a pivot takes by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Work {
    /// Hundredths of a minute.
    pub minutes: i64,
    /// How many covers are opened.
    pub covers: u32,
}

/// A transmitter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pivot {
    /// The ways of doing it; at least one.
    pub options: Vec<Work>,
    /// By evening: whether it may be done then.
    pub allowed: Vec<bool>,
}

/// Aircraft that are worked on together, or a loose receiver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// How many ways of doing it there are; at least one.
    pub options: usize,
    /// By evening: whether it may be done then. An item without work of its own (only its
    /// transmitters change) has [`Item::idle`] set and is never placed.
    pub allowed: Vec<bool>,
    /// Nothing is done on it in an evening of its own; it has one option, and the ranks given to
    /// [`Stages`] leave it out.
    pub idle: bool,
    /// The pivots it leans on, each once.
    pub pivots: Vec<usize>,
    /// How many aircraft it has, at most 64.
    pub aircraft: usize,
    /// Which of them (bit by bit) can fly before the first evening.
    pub flies_first: u64,
    /// Which of them count towards [`Problem::most_grounded`]: those that could fly before the
    /// refit began.
    pub counts: u64,
    /// Which of them can fly when all is done: only these count in aircraft-evenings.
    pub flies_last: u64,
    /// Aircraft (by number within the item) that must be able to fly after an evening (index
    /// from 0; `None` is before the first).
    pub must_fly: Vec<(usize, Option<usize>)>,
}

/// What happens to an item at each rank of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stages {
    /// By rank: minutes of the item in the evening of that rank (its own work, and pairing and
    /// testing with a pivot that was done then), hundredths.
    pub minutes: Vec<i64>,
    /// By rank: covers opened.
    pub covers: Vec<u32>,
    /// By rank: which aircraft can fly when that evening is over, bit by bit.
    pub flies: Vec<u64>,
}

/// Says what happens to items.
pub trait Stager {
    /// The stages of an item done in the way `option`, its pivots in the ways `pivot_options`
    /// (in the order of [`Item::pivots`]), in the order `ranks`: the item's own rank first (left
    /// out for an idle item), then those of its pivots. Ranks begin at 0 and leave out none.
    fn stages(&mut self, item: usize, option: usize, pivot_options: &[usize], ranks: &[Rank]) -> Stages;
}

/// A whole problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The evenings, in order.
    pub evenings: Vec<Slot>,
    /// The transmitters.
    pub pivots: Vec<Pivot>,
    /// The aircraft.
    pub items: Vec<Item>,
    /// At most so many of the aircraft that count ([`Item::counts`]) are grounded after any evening.
    pub most_grounded: Option<u32>,
}

/// Where something is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The evening, from 0.
    pub evening: usize,
    /// The way.
    pub option: usize,
}

/// A full answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assignment {
    /// By pivot.
    pub pivots: Vec<Place>,
    /// By item; `None` for idle ones.
    pub items: Vec<Option<Place>>,
}

/// What an answer comes to; the lesser the better, in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Score {
    /// Minutes of everything; hundredths.
    pub minutes: i64,
    /// Over all evenings, the aircraft that can't fly when it is over and can when all is done.
    pub grounded: i64,
    /// Covers opened.
    pub covers: i64,
}

/// Why an assignment is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Broken {
    /// Something is in an evening in which it may not be.
    NotAllowed,
    /// An evening takes longer than there is time.
    TooLong {
        /// Which evening, from 0.
        evening: usize,
    },
    /// An aircraft can't fly when it must.
    MustFly {
        /// Its item.
        item: usize,
    },
    /// Too many are grounded after an evening.
    TooManyGrounded {
        /// Which evening, from 0.
        evening: usize,
    },
}

impl Problem {
    /// What an assignment comes to. This is the definition that the search is held to.
    ///
    /// # Errors
    /// What it breaks first: allowed evenings, time, aircraft that must fly, too many grounded.
    ///
    /// # Panics
    /// The assignment is not of this problem (another number of pivots or items).
    pub fn score(&self, stager: &mut dyn Stager, answer: &Assignment) -> Result<Score, Broken> {
        let evenings = self.evenings.len();
        let mut spent = vec![0_i64; evenings];
        let mut used = vec![false; evenings];
        let mut grounded = vec![0_u32; evenings];
        let mut score = Score::default();
        for (pivot, place) in self.pivots.iter().zip(&answer.pivots) {
            if !pivot.allowed[place.evening] {
                return Err(Broken::NotAllowed);
            }
            spent[place.evening] += pivot.options[place.option].minutes;
            used[place.evening] = true;
            score.covers += i64::from(pivot.options[place.option].covers);
        }
        let mut must_break = None;
        for (at, (item, place)) in self.items.iter().zip(&answer.items).enumerate() {
            if let Some(place) = place {
                if !item.allowed[place.evening] {
                    return Err(Broken::NotAllowed);
                }
                used[place.evening] = true;
            }
            let mut nights: Vec<usize> = place.iter().map(|place| place.evening).collect();
            nights.extend(item.pivots.iter().map(|pivot| answer.pivots[*pivot].evening));
            let mut in_order = nights.clone();
            in_order.sort_unstable();
            in_order.dedup();
            let ranks: Vec<Rank> = nights
                .iter()
                .map(|night| Rank::try_from(in_order.partition_point(|one| one < night)).unwrap_or(Rank::MAX))
                .collect();
            let options: Vec<usize> = item.pivots.iter().map(|pivot| answer.pivots[*pivot].option).collect();
            let stages = stager.stages(at, place.map_or(0, |place| place.option), &options, &ranks);
            for (rank, night) in in_order.iter().enumerate() {
                spent[*night] += stages.minutes[rank];
                score.covers += i64::from(stages.covers[rank]);
            }
            let flies_after = |evening: usize| {
                let passed = in_order.partition_point(|night| *night <= evening);
                if passed == 0 { item.flies_first } else { stages.flies[passed - 1] }
            };
            for (evening, count) in grounded.iter_mut().enumerate() {
                let flies = flies_after(evening);
                score.grounded += i64::from((item.flies_last & !flies).count_ones());
                *count += (item.counts & !flies).count_ones();
            }
            for (aircraft, after) in &item.must_fly {
                let flies = after.map_or(item.flies_first, flies_after);
                if flies & (1 << aircraft) == 0 {
                    must_break.get_or_insert(Broken::MustFly { item: at });
                }
            }
        }
        for (evening, slot) in self.evenings.iter().enumerate() {
            if used[evening] {
                spent[evening] += slot.bench;
            }
            if spent[evening] > slot.capacity {
                return Err(Broken::TooLong { evening });
            }
        }
        if let Some(broken) = must_break {
            return Err(broken);
        }
        if let Some(most) = self.most_grounded
            && let Some(evening) = grounded.iter().position(|count| *count > most)
        {
            return Err(Broken::TooManyGrounded { evening });
        }
        score.minutes = spent.iter().sum();
        Ok(score)
    }
}
