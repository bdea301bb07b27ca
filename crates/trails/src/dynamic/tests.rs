//! Check values: exact fractions by exhaustive search; definitions after Breese & Heckerman
//! 1996 (arXiv 1302.3563), Ottosen & Jensen 2010 (arXiv 1203.3502).

#[path = "tests/brute.rs"]
mod brute;
#[path = "../../tests/common/mod.rs"]
mod common;
#[path = "../../tests/instances/rows.rs"]
mod rows;

use super::{Solved, solve, states};
use crate::belief::Seen;
use crate::model::Model;
use crate::planner::Choice;
use crate::table::{Situation, Table};
use common::{CoverOf, model, yes_no};
use rows::Rows;

/// A situation that is reached by tries and answers.
struct Stand<'a> {
    model: &'a Model,
    situation: Situation,
}

impl<'a> Stand<'a> {
    fn start(model: &'a Model) -> Stand<'a> {
        Stand { model, situation: Situation::start(model) }
    }

    /// The step isn't there to be chosen.
    fn without(mut self, key: &str) -> Self {
        self.situation.done[self.model.step(key).unwrap()] = true;
        self
    }

    fn failed(self, key: &str) -> Self {
        let step = self.model.step(key).unwrap();
        self.after(step, &Seen::Failed { step })
    }

    fn answered(self, key: &str, answer: usize) -> Self {
        let step = self.model.step(key).unwrap();
        self.after(step, &Seen::Answer { step, answer })
    }

    fn after(mut self, step: usize, seen: &Seen) -> Self {
        self.situation.belief.see(self.model, seen);
        self.situation.done[step] = true;
        for cover in self.model.covers_for(step) {
            self.situation.open[cover] = true;
        }
        self
    }

    fn solve(&self) -> Solved {
        solve(&Table::new(self.model, &self.situation.belief), &self.situation)
    }

    /// What it costs to begin with this.
    fn beginning(&self, key: &str) -> f64 {
        let choice = Choice::Do(self.model.step(key).unwrap());
        self.solve().ranked.iter().find(|(one, _)| *one == choice).map_or(f64::NAN, |(_, minutes)| *minutes)
    }

    /// The steps in order while mends fail, until a check, giving up or the end.
    fn course(mut self) -> String {
        let mut words = Vec::new();
        loop {
            match self.solve().choice {
                Choice::Do(step) => {
                    let key = self.model.steps[step].key.clone();
                    words.push(key.clone());
                    if self.model.steps[step].as_check().is_some() {
                        break;
                    }
                    self = self.failed(&key);
                    if self.situation.belief.contradiction {
                        break;
                    }
                }
                Choice::GiveUp => {
                    words.push("call".into());
                    break;
                }
                Choice::Stop => break,
            }
        }
        words.join(" ")
    }
}

fn t5() -> Model {
    let mends = [
        ("A1", 8.0, vec![(0, 1.0)], None),
        ("A2", 5.0, vec![(1, 1.0)], None),
        ("A3", 6.0, vec![(2, 1.0)], None),
        ("A4", 10.0, vec![(3, 1.0)], None),
    ];
    let question = ("Q", 1.0, yes_no(&[0.95, 0.10, 0.50, 0.10, 0.5]));
    model(&[0.35, 0.30, 0.20, 0.15], 0.0, &mends, &[question], &[], None)
}

fn t5b() -> Model {
    let mends = [
        ("A1", 4.0, vec![(0, 1.0)], None),
        ("A2", 9.0, vec![(1, 1.0)], None),
        ("A3", 11.0, vec![(2, 1.0)], None),
        ("A4", 8.0, vec![(3, 1.0)], None),
    ];
    let question = ("Q", 2.0, yes_no(&[0.20, 0.05, 0.95, 0.05, 0.5]));
    model(&[0.50, 0.20, 0.15, 0.15], 0.0, &mends, &[question], &[], None)
}

fn t6() -> Model {
    let mends = [
        ("A", 1.0, vec![(1, 1.0), (2, 1.0)], None),
        ("B", 1.0, vec![(0, 1.0), (1, 1.0)], None),
        ("C", 1.0, vec![(2, 1.0), (3, 1.0)], None),
    ];
    model(&[0.22, 0.28, 0.28, 0.22], 0.0, &mends, &[], &[], None)
}

fn t10() -> Model {
    let mends = [
        ("a", 2.0, vec![(0, 1.0)], None),
        ("b", 3.0, vec![(1, 1.0)], Some(0)),
        ("c", 2.0, vec![(2, 1.0)], Some(0)),
        ("d", 4.0, vec![(3, 1.0)], Some(1)),
    ];
    let question = ("Q", 0.5, yes_no(&[0.10, 0.90, 0.80, 0.20, 0.50]));
    model(&[0.30, 0.25, 0.20, 0.15], 0.10, &mends, &[question], &[(4.0, None), (6.0, None)], Some(40.0))
}

#[test]
fn one_question_t5() {
    let mut rows = Rows::default();
    let model = t5();
    let start = Stand::start(&model);
    rows.words("T5 full optimum", &Stand::start(&model).course(), "Q");
    rows.minutes("T5 full optimum", start.solve().minutes, 11.857_500);
    let plain = Stand::start(&model).without("Q");
    rows.minutes("T5 no question", plain.solve().minutes, 14.200_000);
    rows.words("T5 no question", &plain.course(), "A2 A1 A3 A4");
    let branches = [(0, 10.607_330, "A1 A3 A2 A4"), (1, 11.086_124, "A2 A3 A4 A1")];
    for (answer, minutes, course) in branches {
        let branch = Stand::start(&model).answered("Q", answer);
        rows.minutes(&format!("T5 answer {answer}"), branch.solve().minutes, minutes);
        rows.words(&format!("T5 answer {answer}"), &branch.course(), course);
    }
    rows.end();
}

#[test]
fn acting_before_asking_t5b() {
    let mut rows = Rows::default();
    let model = t5b();
    let start = Stand::start(&model);
    rows.minutes("T5b full optimum", start.solve().minutes, 11.320_000);
    rows.minutes("T5b A1 first", start.beginning("A1"), 11.320_000);
    rows.minutes("T5b ask now", start.beginning("Q"), 12.320_000);
    rows.words("T5b full optimum", &start.course(), "A1 Q");
    let plain = Stand::start(&model).without("Q");
    rows.minutes("T5b no question", plain.solve().minutes, 12.550_000);
    rows.words("T5b no question", &plain.course(), "A1 A2 A4 A3");
    let asked = [(0, 11.605_769, "A1 A3 A2 A4"), (1, 9.868_243, "A1 A2 A4 A3")];
    for (answer, minutes, course) in asked {
        let branch = Stand::start(&model).answered("Q", answer);
        rows.minutes(&format!("T5b ask now, answer {answer}"), branch.solve().minutes, minutes);
        rows.words(&format!("T5b ask now, answer {answer}"), &branch.course(), course);
    }
    let failed = Stand::start(&model).failed("A1");
    rows.minutes("T5b after A1, ECO", failed.solve().minutes, 14.640_000);
    rows.minutes(
        "T5b after A1, ECR",
        Stand::start(&model).without("Q").failed("A1").solve().minutes,
        17.100_000,
    );
    for (answer, course) in [(0, "A3 A2 A4"), (1, "A2 A4 A3")] {
        let branch = Stand::start(&model).failed("A1").answered("Q", answer);
        rows.words(&format!("T5b after A1, answer {answer}"), &branch.course(), course);
    }
    rows.end();
}

#[test]
fn dependent_mends_t6() {
    let mut rows = Rows::default();
    let model = t6();
    let start = Stand::start(&model);
    rows.minutes("T6 optimum", start.solve().minutes, 1.500_000);
    rows.words("T6 optimum", &Stand::start(&model).course(), "B C");
    for (begin, minutes) in [("A", 1.660_000), ("B", 1.500_000), ("C", 1.500_000)] {
        rows.minutes(&format!("T6 beginning with {begin}"), start.beginning(begin), minutes);
    }
    // Beginning with B and then A, whatever comes after: 1 for B, and half the time A and on.
    let after_b = Stand::start(&model).failed("B");
    rows.minutes("T6 B A C", 1.0 + 0.5 * after_b.beginning("A"), 1.720_000);
    rows.end();
}

#[test]
fn covers_question_and_call_t10() {
    let mut rows = Rows::default();
    let model = t10();
    rows.minutes("T10 optimum", Stand::start(&model).solve().minutes, 13.770_000);
    rows.words("T10 optimum", &Stand::start(&model).course(), "Q");
    let plain = Stand::start(&model).without("Q");
    rows.minutes("T10 no question", plain.solve().minutes, 14.200_000);
    rows.words("T10 no question", &plain.course(), "a c b d call");
    let posteriors = [
        [0.060_606, 0.454_545, 0.323_232, 0.060_606, 0.101_010],
        [0.534_653, 0.049_505, 0.079_208, 0.237_624, 0.099_010],
    ];
    let courses = [(14.131_313, "c b a d call"), (12.425_743, "a d c b call")];
    for (answer, (minutes, course)) in courses.into_iter().enumerate() {
        let branch = Stand::start(&model).answered("Q", answer);
        for (at, want) in posteriors[answer].into_iter().enumerate() {
            let got = branch.situation.belief.singles[at];
            rows.minutes(&format!("T10 answer {answer}, fault {at}"), got, want);
        }
        rows.minutes(&format!("T10 answer {answer}"), branch.solve().minutes, minutes);
        rows.words(&format!("T10 answer {answer}"), &branch.course(), course);
    }
    rows.end();
}

/// `(name, mends (key, chance, minutes, cover), covers, call, minutes, course)`.
type Instance = (&'static str, Vec<Single>, Vec<CoverOf>, Option<f64>, f64, &'static str);
type Single = (&'static str, f64, f64, Option<usize>);

/// T1 to T4 hold for the dynamic programming as well.
#[test]
fn independent_mends_t1_to_t4() {
    let mut rows = Rows::default();
    let instances: [Instance; 5] = [
        (
            "T1",
            vec![
                ("A", 0.40, 6.0, None),
                ("B", 0.25, 2.0, None),
                ("C", 0.15, 3.0, None),
                ("D", 0.12, 1.0, None),
                ("E", 0.08, 4.0, None),
            ],
            vec![],
            None,
            7.540_000,
            "B D A C E",
        ),
        (
            "T2",
            vec![
                ("A", 0.30, 5.0, None),
                ("B", 0.25, 10.0, None),
                ("C", 0.15, 4.0, None),
                ("D", 0.10, 20.0, None),
                ("E", 0.05, 12.0, None),
            ],
            vec![],
            Some(40.0),
            25.300_000,
            "A C B call",
        ),
        ("T2b", vec![("A", 0.5, 5.2, None), ("B", 0.5, 5.2, None)], vec![], Some(10.0), 7.800_000, "A B"),
        (
            "T3",
            vec![
                ("a", 0.20, 4.0, None),
                ("b", 0.10, 3.0, None),
                ("c", 0.22, 2.0, Some(0)),
                ("d", 0.18, 2.0, Some(0)),
                ("e", 0.16, 1.0, Some(1)),
                ("f", 0.14, 5.0, Some(1)),
            ],
            vec![(5.0, None), (3.0, None)],
            None,
            13.780_000,
            "a c d e b f",
        ),
        (
            "T4",
            vec![
                ("a", 0.15, 2.0, None),
                ("b", 0.10, 5.0, None),
                ("c", 0.12, 3.0, Some(0)),
                ("d", 0.08, 1.0, Some(0)),
                ("e", 0.30, 2.0, Some(1)),
                ("f", 0.25, 4.0, Some(1)),
            ],
            vec![(2.0, None), (6.0, Some(0))],
            None,
            13.750_000,
            "a d e f c b",
        ),
    ];
    for (name, mends, covers, call, minutes, course) in instances {
        let priors: Vec<f64> = mends.iter().map(|(_, p, _, _)| *p).collect();
        let unlisted = if call.is_some() { 1.0 - priors.iter().sum::<f64>() } else { 0.0 };
        let mends: Vec<_> = mends
            .iter()
            .enumerate()
            .map(|(at, (key, _, minutes, cover))| (*key, *minutes, vec![(at, 1.0)], *cover))
            .collect();
        let model = model(&priors, unlisted.max(0.0), &mends, &[], &covers, call);
        rows.minutes(name, Stand::start(&model).solve().minutes, minutes);
        rows.words(name, &Stand::start(&model).course(), course);
    }
    rows.end();
}

#[test]
fn nothing_that_helps_is_the_end() {
    // The mend cures what can't be; the check can't change anything either.
    let mends = [("A", 3.0, vec![(0, 1.0)], None)];
    let checks = [("Q", 1.0, yes_no(&[0.2, 0.9, 0.5]))];
    let stop = model(&[0.0, 1.0], 0.0, &mends, &checks, &[], None);
    let solved = Stand::start(&stop).solve();
    assert_eq!(solved, Solved { choice: Choice::Stop, minutes: 0.0, ranked: vec![] });
    let call = model(&[0.0, 1.0], 0.0, &mends, &checks, &[], Some(7.0));
    let solved = Stand::start(&call).solve();
    assert_eq!(solved, Solved { choice: Choice::GiveUp, minutes: 7.0, ranked: vec![(Choice::GiveUp, 7.0)] });
}

#[test]
fn equal_plans_are_told_apart_by_kind_and_place() {
    // Three mends alike: the one that stands first is named first.
    let mends = ["A", "B", "C"].map(|key| (key, 2.0, vec![(0, 0.5)], None));
    let same = model(&[1.0], 0.0, &mends, &[], &[], None);
    let ranked: Vec<_> = Stand::start(&same).solve().ranked.into_iter().map(|(choice, _)| choice).collect();
    assert_eq!(ranked, [Choice::Do(0), Choice::Do(1), Choice::Do(2)]);
    // Doing it and giving up cost the same: the mend goes first.
    let mends = [("A", 5.0, vec![(0, 1.0)], None)];
    let tied = model(&[1.0], 0.0, &mends, &[], &[], Some(5.0));
    let ranked: Vec<_> = Stand::start(&tied).solve().ranked.into_iter().map(|(choice, _)| choice).collect();
    assert_eq!(ranked, [Choice::Do(0), Choice::GiveUp]);
}

#[test]
fn states_are_counted() {
    let model = t10();
    let situation = Situation::start(&model);
    let table = Table::new(&model, &situation.belief);
    assert_eq!(states(&table, &situation).to_bits(), 48.0_f64.to_bits(), "2 to the 4 mends, times 3");
    let stand = Stand::start(&model).failed("a").answered("Q", 0);
    let table = Table::new(&model, &stand.situation.belief);
    assert_eq!(states(&table, &stand.situation).to_bits(), 8.0_f64.to_bits());
}
