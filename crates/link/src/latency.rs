//! How long a stick movement takes to reach a servo, as a distribution.

use units::{Micros, Seconds};

use crate::bounds::{Bound, OutOfRange};

const FRAME: Bound = Bound {
    name: "frame_s",
    unit: "s",
    low: 0.0,
    high: 0.1,
    why: "handsets and receivers renew their frames at least ten times a second",
};
const INTERVAL: Bound = Bound {
    name: "packet_interval_s",
    unit: "s",
    low: 0.0002,
    high: 25.0,
    why: "0.1 to 5000 packets a second",
};
pub(crate) const AIRTIME: Bound =
    Bound { name: "airtime_us", unit: "µs", low: 0.0, high: 10_000_000.0, why: "" };
const PROCESSING: Bound = Bound { name: "processing_s", unit: "s", low: 0.0, high: 1.0, why: "" };
pub(crate) const ONE_IN: Bound = Bound {
    name: "telemetry_one_in",
    unit: "",
    low: 2.0,
    high: 100_000.0,
    why: "with every slot for telemetry nothing is steered",
};
pub(crate) const LOSS: Bound = Bound {
    name: "loss",
    unit: "",
    low: 0.0,
    high: 0.99,
    why: "with more lost the link is gone rather than late",
};

/// Whether the handset's frames keep step with the packets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stepping {
    /// Each runs by its own clock: a finished frame waits for the next slot.
    FreeRunning,
    /// The handset finishes a frame just when a packet starts: no second wait.
    HandsetInStep,
}

/// What takes its time between stick and servo.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timing {
    /// How often the handset reads its sticks; 0 for at once.
    pub handset_frame: Seconds,
    /// From slot to slot, telemetry slots among them.
    pub packet_interval: Seconds,
    /// A packet's time on the air.
    pub airtime: Micros,
    /// How often the receiver renews its servo pulses; 0 for at once.
    pub servo_frame: Seconds,
    /// One slot in so many carries telemetry; none for no telemetry.
    pub telemetry_one_in: Option<u32>,
    /// Whether the handset keeps step.
    pub in_step: Stepping,
    /// Fixed times besides: filters, serial lines, decoding.
    pub processing: Seconds,
}

/// The distribution of the time from stick to servo.
#[derive(Clone, Debug, PartialEq)]
pub struct Latency {
    /// On average.
    pub mean: Seconds,
    /// Half of all movements arrive within it.
    pub median: Seconds,
    /// 95 of 100 do.
    pub p95: Seconds,
    /// 99 of 100 do.
    pub p99: Seconds,
    /// Start of each of equally wide bins, and the share of movements that arrive in it; the last bin
    /// holds everything later. The shares add up to 1.
    pub histogram: Vec<(Seconds, f64)>,
}

/// The time from stick to servo while packets are lost independently with this probability.
///
/// A movement at a random moment waits for the handset's next reading (uniform over its frame), then for
/// the next slot (uniform over the interval; nothing when in step, where frame and interval make one wait
/// of the longer of the two), then whole slots while they carry telemetry or are lost, then the airtime,
/// the processing and the wait for the next servo frame (uniform). Each later packet carries the newest
/// reading. The distribution is the exact sum of these, without a grid; quantiles to a microsecond.
///
/// Not in it: the pulse's own width (about 1.5 ms) and the servo's motion. Losses that come in runs, as
/// under fading, make the late end later than this.
///
/// # Errors
/// Frames over 0.1 s, intervals outside 0.2 ms to 10 s, a loss over 0.99, telemetry in every slot.
pub fn latency(timing: &Timing, loss: f64) -> Result<Latency, OutOfRange> {
    let sum = Sum::new(timing, loss)?;
    let quantile = |share| Seconds(sum.quantile(share));
    Ok(Latency {
        mean: Seconds(sum.mean()),
        median: quantile(0.5),
        p95: quantile(0.95),
        p99: quantile(0.99),
        histogram: sum.histogram(),
    })
}

/// How many of a hundred movements (as a share) reach the servo within a time; see [`latency`].
///
/// # Errors
/// As [`latency`].
pub fn arrived_within(timing: &Timing, loss: f64, time: Seconds) -> Result<f64, OutOfRange> {
    Ok(Sum::new(timing, loss)?.arrived(time.0))
}

/// A fixed time, up to three uniform waits, and whole slots.
struct Sum {
    fixed: f64,
    waits: Waits,
    interval: f64,
    /// How often k slots or fewer pass in vain, k = 0, 1, …
    by_slot: Vec<f64>,
}

impl Sum {
    fn new(timing: &Timing, loss: f64) -> Result<Sum, OutOfRange> {
        let handset = FRAME.check_as("handset_frame_s", timing.handset_frame.0)?;
        let servo = FRAME.check_as("servo_frame_s", timing.servo_frame.0)?;
        let interval = INTERVAL.check(timing.packet_interval.0)?;
        let airtime = AIRTIME.check(timing.airtime.0)?;
        let processing = PROCESSING.check(timing.processing.0)?;
        let one_in = timing.telemetry_one_in.map(|one_in| ONE_IN.check(f64::from(one_in))).transpose()?;
        let loss = LOSS.check(loss)?;
        let widths = match timing.in_step {
            Stepping::FreeRunning => [handset, interval, servo],
            Stepping::HandsetInStep => [handset.max(interval), 0.0, servo],
        };
        let (waits, settled) = Waits::new(widths);
        let fixed = airtime * 1e-6 + processing + settled;
        Ok(Sum { fixed, waits, interval, by_slot: slots_in_vain(loss, one_in) })
    }

    /// The share that has arrived by a time.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "slot numbers, held inside the list"
    )]
    fn arrived(&self, time: f64) -> f64 {
        let left = time - self.fixed;
        let number = self.by_slot.len();
        // Up to `sure` slots leave enough time for any wait; beyond `most` there is none left.
        let slots =
            |time: f64| if time < 0.0 { 0 } else { ((time / self.interval) as usize + 1).min(number) };
        let (sure, most) = (slots(left - self.waits.longest), slots(left));
        let before = |slot: usize| if slot == 0 { 0.0 } else { self.by_slot[slot - 1] };
        let partly: f64 = (sure..most)
            .map(|slot| {
                let share = self.by_slot[slot] - before(slot);
                share * self.waits.within(left - slot as f64 * self.interval)
            })
            .sum();
        (before(sure) + partly).clamp(0.0, 1.0)
    }

    fn mean(&self) -> f64 {
        let slots: f64 = self.by_slot.iter().map(|by| 1.0 - by).sum();
        self.fixed + 0.5 * self.waits.longest + slots * self.interval
    }

    #[expect(clippy::cast_precision_loss, reason = "a few thousand slots")]
    fn last(&self) -> f64 {
        self.fixed + self.waits.longest + self.by_slot.len() as f64 * self.interval
    }

    fn quantile(&self, share: f64) -> f64 {
        // The slot on which it falls narrows the search.
        let slot = self.by_slot.partition_point(|by| *by < share);
        let (mut low, mut high) = (self.fixed, self.last());
        #[expect(clippy::cast_precision_loss, reason = "a few thousand slots")]
        let bound = self.fixed + self.waits.longest + (slot + 1) as f64 * self.interval;
        if self.arrived(bound) >= share {
            high = bound;
        }
        while high - low > 2e-7 {
            let middle = 0.5 * (low + high);
            if self.arrived(middle) < share {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    fn histogram(&self) -> Vec<(Seconds, f64)> {
        const BINS: f64 = 50.0;
        let end = self.quantile(0.999);
        let width = round_width((end - self.fixed).max(1e-5) / BINS);
        let first = (self.fixed / width).floor();
        let mut bins = Vec::new();
        let (mut index, mut before) = (0.0, 0.0);
        loop {
            let start = (first + index) * width;
            if start >= end {
                bins.push((Seconds(start), 1.0 - before));
                return bins;
            }
            let arrived = self.arrived(start + width);
            bins.push((Seconds(start), arrived - before));
            before = arrived;
            index += 1.0;
        }
    }
}

/// The next wider of 1, 2 and 5 times a power of ten.
fn round_width(width: f64) -> f64 {
    let decade = 10f64.powf(width.log10().floor());
    let steps = [1.0, 2.0, 5.0];
    steps.iter().map(|step| step * decade).find(|wide| *wide >= width).unwrap_or(10.0 * decade)
}

/// How often 0, 1, 2, … slots or fewer pass in vain before a control packet arrives, from a random slot on.
#[expect(clippy::cast_precision_loss, reason = "a few hundred thousand slots at most")]
fn slots_in_vain(loss: f64, one_in: Option<f64>) -> Vec<f64> {
    const LEFT_OUT: f64 = 1e-10;
    const MOST: usize = 100_000;
    let mut by = Vec::new();
    let mut so_far = 0.0;
    while so_far < 1.0 - LEFT_OUT && by.len() < MOST {
        let k = by.len() as f64;
        let share = match one_in {
            None => loss.powf(k),
            // Of the n places to start from, `more` meet one telemetry slot more on the way than the
            // others, and from one place slot k itself is telemetry.
            Some(n) => {
                let met = (k / n).floor();
                let more = k - met * n;
                let with_more = if more > 0.0 { more * loss.powf(k - met - 1.0) } else { 0.0 };
                (with_more + (n - more - 1.0) * loss.powf(k - met)) / n
            }
        };
        so_far += share * (1.0 - loss);
        by.push(so_far.min(1.0));
    }
    if let Some(last) = by.last_mut() {
        *last = 1.0;
    }
    by
}

/// The sum of up to three uniform waits.
struct Waits {
    widths: Vec<f64>,
    /// All of them together.
    longest: f64,
}

impl Waits {
    /// The waits, and the mean of those that are too short to count (a millionth of the longest).
    fn new(widths: [f64; 3]) -> (Waits, f64) {
        let least = 1e-6 * widths.iter().fold(0.0_f64, |most, width| most.max(*width));
        let (long, short): (Vec<f64>, Vec<f64>) = widths.iter().partition(|width| **width > least);
        let longest = long.iter().sum();
        (Waits { widths: long, longest }, 0.5 * short.iter().sum::<f64>())
    }

    /// How often their sum is at most `time`: the volume of a box's corner, by inclusion and exclusion.
    fn within(&self, time: f64) -> f64 {
        if time <= 0.0 {
            return 0.0;
        }
        if time >= self.longest {
            return 1.0;
        }
        // The sum is symmetric; the lower half cancels less.
        if time > 0.5 * self.longest {
            return 1.0 - self.lower(self.longest - time);
        }
        self.lower(time)
    }

    fn lower(&self, time: f64) -> f64 {
        let number = self.widths.len();
        let mut volume = 0.0;
        for corner in 0..(1_u32 << number) {
            let taken = self.widths.iter().enumerate().filter(|(bit, _)| corner >> bit & 1 == 1);
            let left = time - taken.map(|(_, width)| width).sum::<f64>();
            if left > 0.0 {
                let sign = if corner.count_ones() % 2 == 0 { 1.0 } else { -1.0 };
                volume += sign * (0..number).fold(1.0, |product, _| product * left);
            }
        }
        let divisor: f64 = self.widths.iter().zip(1_u32..).map(|(width, n)| width * f64::from(n)).product();
        (volume / divisor).clamp(0.0, 1.0)
    }
}
