//! Which sensors fit into a link's telemetry slots, and how often each then comes.
//!
//! A deterministic schedule serves them: first the sensor whose value is oldest for its wanted
//! age, or, where that doesn't fit all, the one whose value would be late first. Frames are
//! packed whole into a slot, and only one longer than a slot is split over several. The schedule is run until it repeats, so that the gaps found are the longest
//! there will ever be. A schedule in which all fit is a proof; that none of the schedules
//! tried fits is none, except where [`Fit::load`] is over 1.

use units::{Hertz, Seconds};

use crate::bounds::{Bound, OutOfRange};

/// Bytes of a sensor's frame, or of a slot.
pub const BYTES: Bound = Bound {
    name: "bytes",
    unit: "bytes",
    low: 1.0,
    high: 255.0,
    why: "what one packet of the public chips holds",
};

/// A wanted time between values.
pub const WANTED: Bound = Bound {
    name: "wanted_s",
    unit: "s",
    low: 0.01,
    high: 3600.0,
    why: "from a hundred values a second to one an hour",
};

/// Telemetry slots a second.
pub const SLOT_RATE: Bound =
    Bound { name: "slots_per_second", unit: "Hz", low: 0.01, high: 5000.0, why: "telemetry needs slots" };

/// A sensor: what it sends and how fresh its value is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensor {
    /// Its name.
    pub name: String,
    /// Bytes of one frame.
    pub bytes: u32,
    /// The longest wanted time from one value to the next.
    pub wanted: Seconds,
}

impl Sensor {
    /// Whether it makes sense.
    ///
    /// # Errors
    /// [`OutOfRange`] with the range.
    pub fn check(&self) -> Result<(), OutOfRange> {
        BYTES.check(f64::from(self.bytes))?;
        WANTED.check(self.wanted.0).map(|_| ())
    }

    /// Sensors of a usual glider or powered model (common practice, no source).
    pub fn usual() -> Vec<Sensor> {
        let sensor =
            |name: &str, bytes, wanted| Sensor { name: name.to_owned(), bytes, wanted: Seconds(wanted) };
        vec![
            sensor("variometer", 4, 0.2),
            sensor("link quality", 10, 1.0),
            sensor("position", 15, 1.0),
            sensor("motor current", 8, 2.0),
            sensor("battery voltage", 4, 5.0),
        ]
    }
}

/// What a link has for telemetry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slots {
    /// Telemetry slots a second.
    pub per_second: Hertz,
    /// Bytes for sensors in one slot, headers taken off.
    pub bytes: u32,
}

impl Slots {
    /// Whether they make sense.
    ///
    /// # Errors
    /// [`OutOfRange`] with the range.
    pub fn check(&self) -> Result<(), OutOfRange> {
        SLOT_RATE.check(self.per_second.0)?;
        BYTES.check(f64::from(self.bytes)).map(|_| ())
    }
}

/// What becomes of one sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct Served {
    /// Its name.
    pub name: String,
    /// The longest wanted time from one value to the next.
    pub wanted: Seconds,
    /// The longest gap that the schedule leaves; none when the sensor is never served.
    pub achieved: Option<Seconds>,
    /// Whether that is soon enough.
    pub fits: bool,
}

/// What the slots carry.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Each sensor, in the order given.
    pub sensors: Vec<Served>,
    /// Bytes wanted over bytes there are; over 1 can't fit.
    pub load: f64,
    /// Whether every sensor fits.
    pub fits: bool,
}

/// Who comes first in a slot.
#[derive(Clone, Copy, Debug)]
enum Order {
    /// The oldest value for its wanted age: all come as often as each other, for their wants.
    ByAge,
    /// The value that would be late first, once so much of its wanted gap has passed.
    ByDeadline { patience: f64 },
}

/// How much of its wanted gap must pass before a sensor may come again. Sending early is
/// harmless where there is room, and in the way where there is little.
const PATIENCE: [f64; 4] = [0.0, 0.5, 0.75, 1.0];

/// Slots after which a schedule that has not repeated is taken as it is. A gap wanted longer
/// than an eighth of it is planned as that eighth.
const LONGEST: u32 = 1 << 16;

/// Serves the sensors in the slots, by the schedule in which most fit.
///
/// A sensor or slot outside its range ([`Sensor::check`], [`Slots::check`]) is never served.
pub fn fit(sensors: &[Sensor], slots: &Slots) -> Fit {
    let sound = slots.check().is_ok();
    let rate = slots.per_second.0;
    let served: Vec<&Sensor> = sensors.iter().filter(|sensor| sound && sensor.check().is_ok()).collect();
    let wanted: f64 = served.iter().map(|sensor| f64::from(sensor.bytes) / sensor.wanted.0).sum();
    let load = if sound { wanted / (rate * f64::from(slots.bytes)) } else { 0.0 };
    let tasks: Vec<Task> = served.iter().map(|sensor| Task::new(sensor, rate)).collect();
    let mut best: Option<(usize, f64, Vec<Option<u32>>)> = None;
    for (tasks, order) in plans(&tasks) {
        let gaps = Schedule::new(&tasks, slots.bytes, order).longest_gaps();
        let late = |(gap, sensor): (&Option<u32>, &&Sensor)| {
            gap.map_or(f64::INFINITY, |gap| f64::from(gap) / rate / sensor.wanted.0)
        };
        let lateness: Vec<f64> = gaps.iter().zip(&served).map(late).collect();
        let missed = lateness.iter().filter(|late| **late > 1.0 + 1e-9).count();
        let worst = lateness.iter().copied().fold(0.0, f64::max);
        let better = best.as_ref().is_none_or(|(least, by, _)| (missed, worst) < (*least, *by));
        if better {
            best = Some((missed, worst, gaps));
        }
        // Over a load of 1 no other schedule fits all either.
        if missed == 0 || load > 1.0 + 1e-9 {
            break;
        }
    }
    let mut gaps = best.map(|(_, _, gaps)| gaps).unwrap_or_default().into_iter();
    let answer = |sensor: &Sensor| {
        let gap = if sound && sensor.check().is_ok() { gaps.next().flatten() } else { None };
        let achieved = gap.map(|gap| Seconds(f64::from(gap) / rate));
        let fits = achieved.is_some_and(|gap| gap.0 <= sensor.wanted.0 * (1.0 + 1e-9));
        Served { name: sensor.name.clone(), wanted: sensor.wanted, achieved, fits }
    };
    let sensors: Vec<Served> = sensors.iter().map(answer).collect();
    let fits = sensors.iter().all(|sensor| sensor.fits);
    Fit { sensors, load, fits }
}

/// The smallest share that fits every sensor: of the shares (one slot in so many), the
/// greatest number whose schedule leaves nothing out; none when not one does.
pub fn smallest_share(sensors: &[Sensor], packet_rate: Hertz, bytes: u32, shares: &[u32]) -> Option<u32> {
    let mut shares: Vec<u32> = shares.iter().copied().filter(|share| *share > 0).collect();
    shares.sort_unstable_by(|a, b| b.cmp(a));
    shares.into_iter().find(|share| {
        let slots = Slots { per_second: Hertz(packet_rate.0 / f64::from(*share)), bytes };
        fit(sensors, &slots).fits
    })
}

/// The schedules to try: as wanted, with more and more patience; then with every wanted gap
/// shortened to one of them times a power of two, as gaps that divide each other interlock.
fn plans(tasks: &[Task]) -> impl Iterator<Item = (Vec<Task>, Order)> {
    let by_deadline = PATIENCE.into_iter().map(|patience| Order::ByDeadline { patience });
    let as_wanted = std::iter::once(Order::ByAge).chain(by_deadline).map(|order| (tasks.to_vec(), order));
    let mut bases: Vec<u32> = tasks.iter().map(|task| task.wanted).collect();
    bases.sort_unstable();
    bases.dedup();
    let interlocked = bases.into_iter().flat_map(|base| {
        let shortened: Vec<Task> = tasks.iter().map(|task| task.shortened(base)).collect();
        PATIENCE
            .into_iter()
            .rev()
            .step_by(3)
            .map(move |patience| (shortened.clone(), Order::ByDeadline { patience }))
    });
    as_wanted.chain(interlocked)
}

/// A sensor in slots and bytes.
#[derive(Clone, Copy, Debug)]
struct Task {
    bytes: u32,
    wanted: u32,
}

impl Task {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the type")]
    fn new(sensor: &Sensor, rate: f64) -> Task {
        let wanted = (sensor.wanted.0 * rate + 1e-9).floor().clamp(1.0, f64::from(LONGEST / 8)) as u32;
        Task { bytes: sensor.bytes, wanted }
    }

    /// With the longest gap that is not over the wanted one and is `base` times or over a
    /// power of two; a base that can't be halved so often is left as it is.
    fn shortened(self, base: u32) -> Task {
        let mut wanted = base;
        while wanted > self.wanted && wanted.is_multiple_of(2) {
            wanted /= 2;
        }
        while wanted <= self.wanted / 2 {
            wanted *= 2;
        }
        Task { wanted: wanted.min(self.wanted), ..self }
    }
}

/// Where a sensor stands between two slots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Turn {
    /// Slots since its last value was through; capped, as more makes no difference.
    age: u32,
    /// Bytes of a started frame still to send.
    rest: u32,
}

struct Schedule<'a> {
    tasks: &'a [Task],
    slot: u32,
    by: Order,
    turns: Vec<Turn>,
    order: Vec<usize>,
    /// Slots within which it must repeat; also the greatest age.
    horizon: u32,
}

impl<'a> Schedule<'a> {
    fn new(tasks: &'a [Task], slot: u32, order: Order) -> Schedule<'a> {
        let longest = tasks.iter().map(|task| task.wanted).max().unwrap_or(1);
        Schedule {
            tasks,
            slot,
            by: order,
            turns: tasks.iter().map(|task| Turn { age: task.wanted, rest: 0 }).collect(),
            order: (0..tasks.len()).collect(),
            horizon: longest.saturating_mul(8).clamp(1 << 12, LONGEST),
        }
    }

    /// One slot; calls `through` with the index and gap of each value that came through.
    fn step(&mut self, mut through: impl FnMut(usize, u32)) {
        for turn in &mut self.turns {
            turn.age = turn.age.saturating_add(1).min(self.horizon);
        }
        let (tasks, turns) = (self.tasks, &mut self.turns);
        let by = self.by;
        let patience = if let Order::ByDeadline { patience } = by { patience } else { 0.0 };
        self.order.sort_unstable_by_key(|at| {
            let (wanted, age) = (i64::from(tasks[*at].wanted), i64::from(turns[*at].age));
            let first = match by {
                Order::ByAge => -((age << 20) / wanted),
                Order::ByDeadline { .. } => wanted - age,
            };
            (first, wanted, *at)
        });
        let mut space = self.slot;
        for &at in &self.order {
            if space == 0 {
                break;
            }
            let (task, turn) = (tasks[at], &mut turns[at]);
            if turn.rest == 0 && f64::from(turn.age) < patience * f64::from(task.wanted) {
                continue;
            }
            let rest = if turn.rest == 0 { task.bytes } else { turn.rest };
            if rest <= space {
                space -= rest;
                through(at, turn.age);
                *turn = Turn { age: 0, rest: 0 };
            } else if task.bytes > self.slot {
                turn.rest = rest - space;
                space = 0;
            }
        }
    }

    /// The longest gap of each sensor over one full repetition, slots; none for a sensor that
    /// never comes through.
    fn longest_gaps(mut self) -> Vec<Option<u32>> {
        // Brent's search for a cycle: the state is compared with one kept at powers of two.
        let mut kept = self.turns.clone();
        let (mut power, mut length, mut steps) = (1u32, 0u32, 0u32);
        loop {
            self.step(|_, _| {});
            steps += 1;
            length += 1;
            if self.turns == kept {
                break;
            }
            if steps >= self.horizon {
                length = self.horizon / 2;
                break;
            }
            if length == power {
                kept.clone_from(&self.turns);
                power = power.saturating_mul(2);
                length = 0;
            }
        }
        let mut gaps: Vec<Option<u32>> = vec![None; self.tasks.len()];
        // Twice round, so that a gap across the seam is seen whole.
        for _ in 0..length.saturating_mul(2) {
            self.step(|at, gap| gaps[at] = Some(gaps[at].map_or(gap, |longest| longest.max(gap))));
        }
        for (gap, turn) in gaps.iter_mut().zip(&self.turns) {
            *gap = gap.map(|gap| gap.max(turn.age));
        }
        gaps
    }
}
