//! Solves the bus: one pack, or two that feed it together.
//!
//! With one pack the unknown is its current, with two the bus voltage. Either way the equation is
//! monotone in the unknown and bracketed, and is halved down to the last bit that a float has.

use super::answer::Regulation;
use super::branch::{Branch, End, Standing};

/// What the bus feeds: `constant + conductance · volts`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Demand {
    pub constant: f64,
    pub conductance: f64,
}

/// Where it settles.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    pub bus: f64,
    /// Those that feed, each with its branch's place.
    pub standings: Vec<(usize, Standing)>,
}

/// Why it settles nowhere.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Fall {
    /// The regulator of this branch would have to give more than its burst current.
    Burst(usize),
    /// The pack of this branch can't give its switching regulator so much power.
    Source(usize),
    /// The cells of this branch can't carry the motor's current.
    Motor(usize),
    /// Cells and leads can't carry the current at any voltage.
    Weak,
    /// The branch has no output at all.
    Dead,
}

/// Halvings: more than a float has bits between two brackets.
const HALVINGS: u32 = 2200;

/// The place where `rises` turns from below nothing to above, between two brackets.
fn halve(mut low: f64, mut high: f64, rises: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if rises(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    // Of two neighbours the nearer one.
    if rises(low).abs() < rises(high).abs() { low } else { high }
}

/// Solves the branches that stand together on the bus.
pub(super) fn settle(branches: &[Branch], demand: Demand) -> Result<Settled, Fall> {
    match branches {
        [] => Err(Fall::Dead),
        [one] => single(one, demand),
        several => together(several, demand),
    }
}

fn single(branch: &Branch, demand: Demand) -> Result<Settled, Fall> {
    let at = |amps: f64| branch.standing(amps, f64::INFINITY);
    let idle = branch.at_bus(&at(0.0));
    if idle <= 0.0 {
        return Err(Fall::Dead);
    }
    let (most, end) = branch.most();
    let over = |amps: f64| amps - demand.constant - demand.conductance * branch.at_bus(&at(amps));
    let high = (demand.constant + demand.conductance * idle).min(most);
    if over(high) < 0.0 {
        return Err(match end {
            End::Source => Fall::Source(branch.pack),
            End::Burst => Fall::Burst(branch.pack),
            End::Open => Fall::Weak,
        });
    }
    let amps = halve(0.0, high, over);
    let standing = at(amps);
    let bus = branch.at_bus(&standing);
    if bus <= 0.0 {
        return Err(Fall::Weak);
    }
    Ok(Settled { bus, standings: vec![(0, standing)] })
}

/// What a branch gives into a bus at this voltage, and whether that is all it can.
fn given(branch: &Branch, bus: f64) -> (Standing, Option<End>) {
    let free = |amps: f64| branch.standing(amps, f64::INFINITY);
    if branch.stage.is_none() && branch.diode.is_none() {
        // A bare pack also takes current.
        let amps = (branch.source() - bus) / (branch.cells + branch.before + branch.downstream());
        return (free(amps), None);
    }
    let idle = branch.at_bus(&free(0.0));
    if idle <= bus {
        return (free(0.0), None);
    }
    let (most, end) = branch.most();
    let full = (idle - bus) / branch.downstream();
    if most < full && branch.at_bus(&free(most)) > bus {
        let cap = bus + branch.diode.unwrap_or(0.0) + most * branch.downstream();
        let mut standing = branch.standing(most, cap);
        standing.holds = Regulation::AtLimit;
        return (standing, Some(end));
    }
    let amps = halve(0.0, full.min(most), |amps| bus - branch.at_bus(&free(amps)));
    (free(amps), None)
}

fn together(branches: &[Branch], demand: Demand) -> Result<Settled, Fall> {
    let start =
        branches.iter().map(|branch| branch.at_bus(&branch.standing(0.0, f64::INFINITY))).fold(0.0, f64::max);
    if start <= 0.0 {
        return Err(Fall::Dead);
    }
    let short = |bus: f64| {
        demand.constant + demand.conductance * bus
            - branches.iter().map(|branch| given(branch, bus).0.out).sum::<f64>()
    };
    if short(0.0) > 0.0 {
        let ended = branches.iter().find_map(|branch| given(branch, 0.0).1.map(|end| (branch.pack, end)));
        return Err(ended.map_or(Fall::Weak, |(pack, end)| fall(pack, end)));
    }
    let bus = halve(0.0, start, short);
    if bus <= 0.0 {
        return Err(Fall::Weak);
    }
    let all: Vec<(Standing, Option<End>)> = branches.iter().map(|branch| given(branch, bus)).collect();
    if let Some((at, _)) = all.iter().enumerate().find(|(_, (_, end))| *end == Some(End::Source)) {
        return Err(Fall::Source(branches[at].pack));
    }
    // One at its limit is carried by another that isn't, fed or ready to feed.
    let spare = all.iter().any(|(_, end)| end.is_none());
    if let Some(at) = (0..all.len()).find(|at| all[*at].1.is_some())
        && !spare
    {
        return Err(Fall::Burst(branches[at].pack));
    }
    let standings = all.into_iter().map(|(standing, _)| standing).enumerate().collect();
    Ok(Settled { bus, standings })
}

fn fall(pack: usize, end: End) -> Fall {
    match end {
        End::Burst => Fall::Burst(pack),
        End::Source => Fall::Source(pack),
        End::Open => Fall::Weak,
    }
}
