//! One pack with its leads and its regulator, as seen from the bus: the more current, the less
//! voltage.

use super::answer::Regulation;
use super::model::{Charge, Kind, Pack, Throttle, Wire};

/// One way from an electromotive force to the bus. Volts, amperes, ohms.
#[derive(Clone, Debug)]
pub(super) struct Branch {
    /// Which pack.
    pub pack: usize,
    pub emf: f64,
    pub cells: f64,
    /// What a motor draws behind the cells.
    pub motor: f64,
    /// Leads up to the regulator.
    pub before: f64,
    pub stage: Option<Converter>,
    /// Leads from it to the bus.
    pub after: f64,
    /// A diode's forward voltage.
    pub diode: Option<f64>,
    /// The contact where two packs meet.
    pub joint: f64,
}

/// A regulator's figures.
#[derive(Clone, Copy, Debug)]
pub(super) struct Converter {
    kind: Kind,
    set: f64,
    dropout: f64,
    efficiency: f64,
    own: f64,
    burst: f64,
}

/// How a branch stands at a current into the bus.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    /// Into the bus.
    pub out: f64,
    /// Out of the pack.
    pub drawn: f64,
    /// At the regulator's input; without one, as its output.
    pub input: f64,
    /// At the regulator's output.
    pub output: f64,
    pub holds: Regulation,
}

/// What ends a branch's current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    /// Nothing but Ohm's law.
    Open,
    /// The regulator's burst current.
    Burst,
    /// The most power that the pack can give a switching regulator.
    Source,
}

/// The resistance of leads in a row; a temperature that copper's line doesn't hold for can't be in a
/// supply that was read.
pub(super) fn in_row(wires: &[Wire]) -> f64 {
    wires.iter().map(|wire| wire.resistance().map_or(0.0, |ohms| ohms.0)).sum()
}

impl Branch {
    pub(super) fn of(place: usize, pack: &Pack, charge: Charge, throttle: Throttle) -> Branch {
        let stage = pack.regulator.as_ref().map(|one| Converter {
            kind: one.kind,
            set: one.set.0,
            dropout: one.dropout.0,
            efficiency: one.efficiency,
            own: one.quiescent.0,
            burst: one.burst.map_or(f64::INFINITY, |amps| amps.0),
        });
        Branch {
            pack: place,
            emf: pack.emf(charge).0,
            cells: pack.resistance().0,
            motor: pack.motor_amps(throttle).0,
            before: in_row(&pack.before),
            stage,
            after: in_row(&pack.after),
            diode: None,
            joint: 0.0,
        }
    }

    /// What the pack would have at its terminals with nothing but the motor on it.
    pub(super) fn source(&self) -> f64 {
        self.emf - self.cells * self.motor
    }

    /// At the pack's terminals, with a current drawn beside the motor's.
    pub(super) fn terminals(&self, drawn: f64) -> f64 {
        self.emf - self.cells * (drawn + self.motor)
    }

    /// Whether the cells carry the motor's current, and the regulator still has an input beside it.
    pub(super) fn carries_motor(&self, standing: &Standing) -> bool {
        let terminals = self.terminals(standing.drawn);
        let input = terminals - self.before * standing.drawn;
        self.motor <= 0.0 || (terminals > 0.0 && (self.stage.is_none() || input > 0.0))
    }

    /// Ohms before the regulator.
    fn upstream(&self) -> f64 {
        self.cells + self.before
    }

    /// Ohms behind it.
    pub(super) fn downstream(&self) -> f64 {
        self.after + self.joint
    }

    /// The voltage at the bus that a standing gives.
    pub(super) fn at_bus(&self, standing: &Standing) -> f64 {
        standing.output - standing.out * self.downstream() - self.diode.unwrap_or(0.0)
    }

    /// The most current it can give into the bus, and what ends it.
    pub(super) fn most(&self) -> (f64, End) {
        let Some(stage) = self.stage else { return (f64::INFINITY, End::Open) };
        let burst = if stage.burst.is_finite() { End::Burst } else { End::Open };
        if stage.kind == Kind::Linear {
            return (stage.burst, burst);
        }
        let (free, ohms) = (self.source() - self.upstream() * stage.own, self.upstream());
        // A source gives most at half its voltage; a converter that asks for more pulls it down, whether
        // it regulates there or has dropped out already. Just short of that, so that rounding doesn't
        // decide.
        let output = stage.set.min(free / 2.0 - stage.dropout);
        if ohms > 0.0 && output > 0.0 {
            let most = stage.efficiency * free * free / (4.0 * ohms * output) * (1.0 - 1e-12);
            if most < stage.burst {
                return (most, End::Source);
            }
        }
        (stage.burst, burst)
    }

    /// How it stands at a current into the bus, with its output held down to `cap` where it gives
    /// all it can.
    pub(super) fn standing(&self, out: f64, cap: f64) -> Standing {
        let (source, ohms) = (self.source(), self.upstream());
        match self.stage {
            None => {
                let output = source - ohms * out;
                Standing { out, drawn: out, input: output, output, holds: Regulation::Holds }
            }
            Some(stage) if stage.kind == Kind::Linear => {
                let drawn = out + stage.own;
                let input = source - ohms * drawn;
                let free = input - stage.dropout;
                let holds = if free < stage.set { Regulation::DroppedOut } else { Regulation::Holds };
                Standing { out, drawn, input, output: free.min(stage.set).min(cap), holds }
            }
            Some(stage) => stage.switching(source, ohms, out, cap),
        }
    }
}

impl Converter {
    /// A converter takes what it gives over its efficiency, and a constant current of its own. Below
    /// its drop-out the output follows the input.
    fn switching(self, source: f64, ohms: f64, out: f64, cap: f64) -> Standing {
        let free = source - ohms * self.own;
        let at_power = |volts: f64| {
            // The upper root of input² - free·input + ohms·power = 0.
            let power = volts * out / self.efficiency;
            let under = free * free - 4.0 * ohms * power;
            (under >= 0.0).then(|| f64::midpoint(free, under.sqrt()))
        };
        let least = self.set + self.dropout;
        let regulated = at_power(self.set).filter(|input| *input >= least);
        let (mut input, mut output, mut holds) = if let Some(input) = regulated {
            (input, self.set, Regulation::Holds)
        } else {
            // The positive root of input² - (free - load)·input - load·dropout = 0, in the form that
            // doesn't cancel.
            let load = ohms * out / self.efficiency;
            let half = free - load;
            let root = (half * half + 4.0 * load * self.dropout).sqrt();
            let input = if half >= 0.0 {
                f64::midpoint(half, root)
            } else {
                2.0 * load * self.dropout / (root - half)
            };
            (input, input - self.dropout, Regulation::DroppedOut)
        };
        if output > cap {
            output = cap;
            input = at_power(cap).unwrap_or(input);
            holds = Regulation::AtLimit;
        }
        let drawn = if input > 0.0 { output * out / (self.efficiency * input) } else { 0.0 } + self.own;
        Standing { out, drawn, input, output, holds }
    }
}
