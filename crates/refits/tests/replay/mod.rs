//! Plans, and every one of them replayed through the verdict engine.
#![allow(dead_code, reason = "each test uses its own part of it")]

use std::collections::BTreeMap;

use refits::ask::Question;
use refits::planner::{CraftLine, NoPlan, Plan, Planner};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::rule::Verdict;
use register::scene::Scene;

use super::club::{Club, NOW};

/// The best plan, searched to the end.
pub fn plan(club: &Club, question: &Question) -> Result<Plan, NoPlan> {
    let fleet = club.fleet();
    let mut planner = Planner::new(&club.register, &fleet, question, NOW)?;
    while !planner.run(1_000_000).finished {}
    planner.plan()
}

/// Every step of a plan carried out on a copy of the register, every verdict computed anew.
pub fn replay(club: &Club, plan: &Plan) {
    let mut scene = Scene::new(&club.register);
    let flies = |scene: &Scene, fleet: &Fleet, line: &CraftLine| {
        let with = |t: DeviceId| {
            let receivers: Vec<DeviceId> =
                fleet.fitted_in(line.craft.card.id).map(|view| view.card.id).collect();
            !receivers.is_empty()
                && receivers
                    .iter()
                    .all(|r| fleet.link(scene, t, *r).is_some_and(|link| link.verdict() == Verdict::Links))
        };
        if line.craft.needs.is_empty() {
            line.craft.flown_by.iter().any(|t| with(*t))
        } else {
            line.craft.needs.iter().all(|t| with(*t))
        }
    };
    let mut said: BTreeMap<DeviceId, bool> =
        plan.crafts.iter().map(|line| (line.craft.card.id, line.before)).collect();
    let check = |scene: &Scene, said: &BTreeMap<DeviceId, bool>, place: &str| {
        let fleet = Fleet::of(scene);
        for line in &plan.crafts {
            let id = line.craft.card.id;
            assert_eq!(flies(scene, &fleet, line), said[&id], "{} {place}", line.craft.card.label());
        }
    };
    check(&scene, &said, "before all");
    for night in &plan.nights {
        for line in &night.lines {
            for change in &line.step.changes {
                scene.apply(change, NOW);
            }
            for id in &line.grounds {
                assert_eq!(said.insert(*id, false), Some(true));
            }
            for id in &line.frees {
                assert_eq!(said.insert(*id, true), Some(false));
            }
            // Where nothing changed, nothing can fly that couldn't.
            if line.step.changes.is_empty() {
                assert!(line.grounds.is_empty() && line.frees.is_empty());
            } else {
                check(&scene, &said, &line.step.text);
            }
        }
        for (line, flies) in plan.crafts.iter().zip(&night.flies) {
            assert_eq!(said[&line.craft.card.id], *flies);
        }
    }
    // What was to link does.
    let fleet = Fleet::of(&scene);
    for line in &plan.crafts {
        for t in &line.craft.required {
            for r in fleet.fitted_in(line.craft.card.id) {
                assert_eq!(fleet.link(&scene, *t, r.card.id).unwrap().verdict(), Verdict::Links);
            }
        }
    }
}
