//! Prices of the evenings' time that make the bound as strong as it gets.
//!
//! Held, Wolfe & Crowder, "Validation of subgradient optimization", Mathematical Programming 6,
//! 1974.

use super::frame::{Frame, evenings_afforded, evenings_needed};
use super::pricing::{GROUNDED, MINUTE, Prices, Pricing};
use super::rows::{Key, Rows};
use crate::problem::{Problem, Score, Stager};

/// What the prices are led by.
#[derive(Clone, Copy, Debug)]
pub struct Aim {
    /// No answer has fewer minutes, benches left out.
    pub least_minutes: i64,
    /// What the bound can reach at most.
    pub target: Score,
    /// Only better answers count.
    pub limit: Option<Score>,
}

/// Looks for better prices of the evenings' time.
#[derive(Debug)]
pub struct Tuning {
    /// Whether grounded evenings count (at no more minutes than the best) or minutes only.
    pub grounded: bool,
    time: Vec<f64>,
    minute: f64,
    step: f64,
    since: u32,
    pub rounds: u32,
    best: Option<(Key, Prices)>,
}

impl Tuning {
    pub fn new(problem: &Problem, grounded: bool) -> Self {
        let minute = if grounded { key_as_ratio(GROUNDED) / 50.0 } else { 0.0 };
        Self {
            grounded,
            time: vec![0.0; problem.evenings.len()],
            minute,
            step: 1.0,
            since: 0,
            rounds: 0,
            best: None,
        }
    }

    fn prices(&self) -> Prices {
        #[expect(clippy::cast_possible_truncation, reason = "far below the range")]
        let whole = |price: f64| price.clamp(0.0, 1e24) as Key;
        let time = self.time.iter().map(|price| whole(*price)).collect();
        if self.grounded {
            Prices { minutes: whole(self.minute), grounded: GROUNDED, covers: 1, time }
        } else {
            Prices { minutes: MINUTE, grounded: 0, covers: 0, time }
        }
    }

    /// One step of the subgradient; `None` if there is no answer at all.
    pub fn step(
        &mut self,
        problem: &Problem,
        frame: &Frame,
        rows: &mut Rows,
        stager: &mut dyn Stager,
        aim: Aim,
        work: &mut u64,
    ) -> Option<()> {
        let Aim { least_minutes, target, limit } = aim;
        self.rounds += 1;
        let prices = self.prices();
        let mut pricing = Pricing::new(problem, frame, rows, stager, prices.clone(), work);
        let (price, loads, minutes) = pricing.cheapest(problem, frame, rows, stager, work)?;
        let unused = vec![false; problem.evenings.len()];
        let least = evenings_needed(frame, &unused, least_minutes)?;
        let most = limit.map_or(unused.len(), |limit| {
            evenings_afforded(problem, limit.minutes.saturating_sub(least_minutes))
        });
        let mut value = price + pricing.evenings.least(&unused, least, most);
        let mut slack: Vec<i64> = loads;
        let mut bench = 0;
        for (_, evening) in pricing.evenings.chosen(&unused, least, most) {
            slack[evening] -= frame.room[evening];
            bench += problem.evenings[evening].bench;
        }
        let mut minute_slack = 0;
        let goal = if self.grounded {
            value -= Key::from(target.minutes) * prices.minutes;
            minute_slack = minutes + bench - target.minutes;
            Key::from(target.grounded) * GROUNDED + Key::from(target.covers)
        } else {
            Key::from(target.minutes) * MINUTE
        };
        if self.best.as_ref().is_none_or(|(best, _)| value > *best) {
            self.best = Some((value, prices));
            self.since = 0;
        } else {
            self.since += 1;
            if self.since >= 6 {
                self.step /= 2.0;
                self.since = 0;
            }
        }
        // At a price of zero there is no way further down.
        for (slack, price) in slack.iter_mut().zip(&self.time) {
            if *slack < 0 && *price <= 0.0 {
                *slack = 0;
            }
        }
        #[expect(clippy::cast_precision_loss, reason = "a guide only: bounds are counted in whole numbers")]
        let norm = slack.iter().map(|one| *one as f64 * *one as f64).sum::<f64>()
            + minute_slack as f64 * minute_slack as f64;
        if norm <= 0.0 {
            self.step = 0.0;
            return Some(());
        }
        let length = self.step * key_as_ratio((goal - value).max(GROUNDED / 1000)) / norm;
        #[expect(clippy::cast_precision_loss, reason = "a guide only: bounds are counted in whole numbers")]
        {
            for (price, slack) in self.time.iter_mut().zip(&slack) {
                *price = (*price + length * *slack as f64).max(0.0);
            }
            self.minute = (self.minute + length * minute_slack as f64).max(0.0);
        }
        Some(())
    }

    /// Whether it is no use to go on.
    pub fn settled(&self, most: u32) -> bool {
        self.rounds >= most || self.step < 0.002
    }

    /// The best prices found.
    pub fn best(&self) -> Option<Prices> {
        self.best.as_ref().map(|(_, prices)| prices.clone())
    }
}

#[expect(clippy::cast_precision_loss, reason = "a guide only: bounds are counted in whole numbers")]
fn key_as_ratio(key: Key) -> f64 {
    key as f64
}
