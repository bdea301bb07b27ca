//! Twenty-six circuits against a modified nodal analysis of their own: Newton's method on all node
//! voltages and element currents at once, solved by the LU decomposition of a general library. States
//! of diodes and regulators are found by trying and flipping what contradicts itself.

use std::fmt::Write as _;

use fitting::supply::{Charge, Load, Outcome};
use nalgebra::{DMatrix, DVector};

use super::supply;

/// One pack's way to the bus.
#[derive(Clone, Copy)]
struct Way {
    chemistry: &'static str,
    cells: u32,
    cell_v: f64,
    cell_mohm: f64,
    /// Milliohms of contacts before the regulator, and behind it.
    before: f64,
    after: f64,
    regulator: Reg,
    /// Amperes of a motor at the pack's terminals, in every load but at rest.
    motor: f64,
}

#[derive(Clone, Copy)]
enum Reg {
    None,
    /// Set volts, drop-out, own milliamperes, burst.
    Linear(f64, f64, f64, f64),
    /// Set volts, drop-out, own milliamperes, burst, per cent.
    Switching(f64, f64, f64, f64, f64),
}

#[derive(Clone, Copy)]
enum Joined {
    One,
    Diodes(f64),
    Parallel,
}

/// How many, idle mA, moving A, hold A, stall A, rated volts, lead metres, lead gauge.
type Sort = (u32, f64, f64, f64, f64, f64, f64, u32);

struct Circuit {
    what: &'static str,
    ways: &'static [Way],
    joined: Joined,
    /// Milliamperes of the receiver.
    receiver: f64,
    servos: &'static [Sort],
}

const STANDARD: Sort = (4, 15.0, 0.5, 0.8, 1.5, 5.0, 0.3, 26);
const MICRO: Sort = (3, 8.0, 0.2, 0.3, 0.8, 5.0, 0.2, 28);
const LARGE: Sort = (6, 60.0, 2.0, 2.0, 6.0, 7.4, 0.8, 20);
const NEVER: f64 = 1000.0;

const fn way(chemistry: &'static str, cells: u32, cell_v: f64, cell_mohm: f64) -> Way {
    Way { chemistry, cells, cell_v, cell_mohm, before: 0.0, after: 20.0, regulator: Reg::None, motor: 0.0 }
}

const fn flown(motor: f64, way: Way) -> Way {
    Way { motor, ..way }
}

const fn fed(way: Way, before: f64, after: f64, regulator: Reg) -> Way {
    Way { before, after, regulator, ..way }
}

const CIRCUITS: &[Circuit] = &[
    Circuit {
        what: "4 NiMH, bare",
        ways: &[way("nimh", 4, 1.25, 25.0)],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "5 NiMH, bare",
        ways: &[way("nimh", 5, 1.3, 22.0)],
        joined: Joined::One,
        receiver: 120.0,
        servos: &[STANDARD, MICRO],
    },
    Circuit {
        what: "4 NiMH, cold",
        ways: &[way("nimh", 4, 1.2, 60.0)],
        joined: Joined::One,
        receiver: 100.0,
        servos: &[MICRO],
    },
    Circuit {
        what: "2 LiFe, large servos",
        ways: &[way("life", 2, 3.25, 9.0)],
        joined: Joined::One,
        receiver: 180.0,
        servos: &[LARGE],
    },
    Circuit {
        what: "no servo",
        ways: &[way("life", 2, 3.3, 12.0)],
        joined: Joined::One,
        receiver: 333.0,
        servos: &[],
    },
    Circuit {
        what: "linear, holds",
        ways: &[fed(way("lipo", 2, 3.9, 12.0), 8.0, 15.0, Reg::Linear(5.0, 0.5, 8.0, NEVER))],
        joined: Joined::One,
        receiver: 140.0,
        servos: &[MICRO],
    },
    Circuit {
        what: "linear, drops out",
        ways: &[fed(way("lipo", 2, 3.0, 40.0), 30.0, 15.0, Reg::Linear(5.5, 0.8, 5.0, NEVER))],
        joined: Joined::One,
        receiver: 140.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "linear from four cells",
        ways: &[fed(way("nimh", 6, 1.25, 30.0), 0.0, 40.0, Reg::Linear(6.0, 0.3, 12.0, NEVER))],
        joined: Joined::One,
        receiver: 90.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "switching, holds",
        ways: &[fed(way("lipo", 3, 3.8, 8.0), 12.0, 10.0, Reg::Switching(5.0, 0.3, 15.0, NEVER, 85.0))],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "switching to 6 V",
        ways: &[fed(way("lihv", 4, 3.9, 6.0), 5.0, 12.0, Reg::Switching(6.0, 0.4, 20.0, NEVER, 90.0))],
        joined: Joined::One,
        receiver: 200.0,
        servos: &[STANDARD, MICRO],
    },
    Circuit {
        what: "switching, drops out",
        ways: &[fed(way("lipo", 2, 3.0, 60.0), 50.0, 25.0, Reg::Switching(5.8, 0.3, 15.0, NEVER, 88.0))],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "switching, all of its input",
        ways: &[fed(way("life", 2, 2.9, 20.0), 10.0, 10.0, Reg::Switching(7.4, 0.2, 10.0, NEVER, 95.0))],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[MICRO],
    },
    Circuit {
        what: "switching at 100 %",
        ways: &[fed(way("lipo", 6, 3.7, 5.0), 4.0, 3.0, Reg::Switching(7.4, 0.5, 0.0, NEVER, 100.0))],
        joined: Joined::One,
        receiver: 200.0,
        servos: &[LARGE],
    },
    Circuit {
        what: "diodes, alike",
        ways: &[way("nimh", 5, 1.25, 25.0), way("nimh", 5, 1.25, 25.0)],
        joined: Joined::Diodes(0.4),
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "diodes, one fuller",
        ways: &[way("nimh", 5, 1.35, 25.0), way("nimh", 5, 1.2, 40.0)],
        joined: Joined::Diodes(0.35),
        receiver: 150.0,
        servos: &[STANDARD, MICRO],
    },
    Circuit {
        what: "diodes, one stands by",
        ways: &[way("life", 2, 3.3, 9.0), way("nimh", 4, 1.2, 25.0)],
        joined: Joined::Diodes(0.4),
        receiver: 150.0,
        servos: &[MICRO],
    },
    Circuit {
        what: "diodes, one behind a regulator",
        ways: &[
            fed(way("lipo", 2, 3.7, 10.0), 10.0, 10.0, Reg::Switching(6.0, 0.3, 10.0, NEVER, 85.0)),
            way("nimh", 5, 1.2, 30.0),
        ],
        joined: Joined::Diodes(0.4),
        receiver: 150.0,
        servos: &[LARGE],
    },
    Circuit {
        what: "two bare packs",
        ways: &[way("life", 2, 3.3, 9.0), way("life", 2, 3.2, 15.0)],
        joined: Joined::Parallel,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "two regulators, unlike",
        ways: &[
            fed(way("lipo", 2, 3.8, 10.0), 10.0, 18.0, Reg::Linear(5.02, 0.5, 8.0, NEVER)),
            fed(way("lipo", 3, 3.8, 8.0), 10.0, 12.0, Reg::Switching(5.0, 0.3, 15.0, NEVER, 85.0)),
        ],
        joined: Joined::Parallel,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "two regulators, one at its limit",
        ways: &[
            fed(way("lipo", 2, 3.8, 10.0), 10.0, 5.0, Reg::Switching(5.1, 0.3, 10.0, 2.0, 85.0)),
            fed(way("lipo", 2, 3.8, 8.0), 10.0, 12.0, Reg::Linear(5.0, 0.5, 8.0, NEVER)),
        ],
        joined: Joined::Parallel,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "a motor, and a switching regulator that holds",
        ways: &[flown(
            40.0,
            fed(way("lipo", 3, 3.7, 12.0), 12.0, 10.0, Reg::Switching(5.0, 0.3, 15.0, NEVER, 85.0)),
        )],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "a motor that lets a linear regulator drop out",
        ways: &[flown(18.0, fed(way("lipo", 2, 3.7, 40.0), 8.0, 15.0, Reg::Linear(5.5, 0.5, 8.0, NEVER)))],
        joined: Joined::One,
        receiver: 140.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "a motor that lets a switching regulator drop out",
        ways: &[flown(
            28.0,
            fed(way("lipo", 3, 3.5, 50.0), 10.0, 10.0, Reg::Switching(6.0, 0.3, 15.0, NEVER, 90.0)),
        )],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[MICRO],
    },
    Circuit {
        what: "a motor on a bare pack",
        ways: &[flown(8.0, way("life", 2, 3.3, 20.0))],
        joined: Joined::One,
        receiver: 150.0,
        servos: &[STANDARD],
    },
    Circuit {
        what: "diodes, and a motor that hands the bus over",
        ways: &[
            flown(
                70.0,
                fed(way("lipo", 3, 3.6, 25.0), 4.0, 10.0, Reg::Switching(6.0, 0.3, 10.0, NEVER, 85.0)),
            ),
            flown(3.0, way("nimh", 5, 1.25, 25.0)),
        ],
        joined: Joined::Diodes(0.4),
        receiver: 150.0,
        servos: &[STANDARD, MICRO],
    },
    Circuit {
        what: "two bare packs, one of them drives the motor",
        ways: &[flown(10.0, way("life", 2, 3.3, 15.0)), way("life", 2, 3.3, 9.0)],
        joined: Joined::Parallel,
        receiver: 150.0,
        servos: &[MICRO],
    },
];

impl Circuit {
    fn text(&self) -> String {
        let mut text = String::new();
        for (place, way) in self.ways.iter().enumerate() {
            let name = format!("p{place}");
            let _ = writeln!(
                text,
                "[[pack]]\nname = \"{name}\"\nchemistry = \"{}\"\ncells = {}\ncell_v = {}\ncell_mohm = {}",
                way.chemistry, way.cells, way.cell_v, way.cell_mohm
            );
            if way.motor > 0.0 {
                let _ = writeln!(text, "motor_a = {}", way.motor);
            }
            for (side, milliohms) in [("before", way.before), ("after", way.after)] {
                let _ = writeln!(
                    text,
                    "[[wire]]\npack = \"{name}\"\nplace = \"{side}\"\nlength_m = 0\nconnector_mohm = {milliohms}"
                );
            }
            let regulator = match way.regulator {
                Reg::None => String::new(),
                Reg::Linear(set, dropout, own, burst) => {
                    format!(
                        "kind = \"linear\"\nset_v = {set}\ndropout_v = {dropout}\nquiescent_ma = {own}\n{}",
                        limit(burst)
                    )
                }
                Reg::Switching(set, dropout, own, burst, percent) => format!(
                    "kind = \"switching\"\nset_v = {set}\ndropout_v = {dropout}\nquiescent_ma = {own}\n\
                     efficiency_percent = {percent}\n{}",
                    limit(burst)
                ),
            };
            if !regulator.is_empty() {
                let _ = writeln!(text, "[[regulator]]\npack = \"{name}\"\n{regulator}");
            }
        }
        let _ = writeln!(text, "[receiver]\nidle_ma = {}\ntelemetry_ma = 0", self.receiver);
        for (place, (count, idle, moving, hold, stall, rated, lead, gauge)) in self.servos.iter().enumerate()
        {
            let _ = writeln!(
                text,
                "[[servo]]\nname = \"s{place}\"\ncount = {count}\nidle_ma = {idle}\nmoving_a = {moving}\nhold_a = {hold}\n\
                 stall_a = {stall}\nrated_v = {rated}\nlead_m = {lead}\nlead_gauge = {gauge}"
            );
        }
        if !self.servos.is_empty() {
            text.push_str("[[manoeuvre]]\nname = \"hold\"\nholding = [\"all\"]\n");
        }
        match self.joined {
            Joined::One => {}
            Joined::Diodes(drop) => {
                let _ = writeln!(text, "[supply]\njoin = \"diodes\"\ndiode_drop_v = {drop}");
            }
            Joined::Parallel => text.push_str("[supply]\njoin = \"parallel\"\n"),
        }
        text
    }
}

fn limit(burst: f64) -> String {
    if burst < NEVER { format!("burst_a = {burst}") } else { String::new() }
}

/// One element between nodes (0 is ground). Its currents are unknowns of their own.
#[derive(Clone, Copy, Debug)]
enum Element {
    /// Volts between plus and minus.
    Source(usize, usize, f64),
    Resistor(usize, usize, f64),
    /// From, to, drop, whether it conducts.
    Diode(usize, usize, f64, bool),
    /// In, out, set, drop-out, own, burst, and how it stands.
    Linear(usize, usize, f64, f64, f64, f64, Stands),
    /// The same with its efficiency; two unknowns.
    Switching(usize, usize, f64, f64, f64, f64, f64, Stands),
    /// Node, constant current, conductance.
    Sink(usize, f64, f64),
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Stands {
    Holds,
    Dropped,
    Limited,
    Off,
}

impl Element {
    fn unknowns(&self) -> usize {
        match self {
            Element::Switching(..) => 2,
            Element::Sink(..) => 0,
            _ => 1,
        }
    }
}

/// Kirchhoff's current law at each node, then each element's own law.
fn residual(elements: &[Element], nodes: usize, x: &DVector<f64>) -> DVector<f64> {
    let mut out = DVector::zeros(x.len());
    let volts = |node: usize| if node == 0 { 0.0 } else { x[node - 1] };
    let mut at = nodes;
    for element in elements {
        let mut leave = |node: usize, amps: f64| {
            if node > 0 {
                out[node - 1] += amps;
            }
        };
        match *element {
            Element::Source(plus, minus, emf) => {
                leave(plus, -x[at]);
                leave(minus, x[at]);
                out[at] = volts(plus) - volts(minus) - emf;
            }
            Element::Resistor(from, to, ohms) => {
                leave(from, x[at]);
                leave(to, -x[at]);
                out[at] = volts(from) - volts(to) - ohms * x[at];
            }
            Element::Diode(from, to, drop, on) => {
                leave(from, x[at]);
                leave(to, -x[at]);
                out[at] = if on { volts(from) - volts(to) - drop } else { x[at] };
            }
            Element::Linear(input, output, set, dropout, own, burst, stands) => {
                leave(input, x[at] + own);
                leave(output, -x[at]);
                out[at] = law(stands, volts(input), volts(output), set, dropout, burst, x[at]);
            }
            Element::Switching(input, output, set, dropout, own, burst, efficiency, stands) => {
                leave(input, x[at + 1] + own);
                leave(output, -x[at]);
                out[at] = law(stands, volts(input), volts(output), set, dropout, burst, x[at]);
                out[at + 1] = efficiency * volts(input) * x[at + 1] - volts(output) * x[at];
            }
            Element::Sink(node, constant, conductance) => leave(node, constant + conductance * volts(node)),
        }
        at += element.unknowns();
    }
    out
}

fn law(stands: Stands, input: f64, output: f64, set: f64, dropout: f64, burst: f64, amps: f64) -> f64 {
    match stands {
        Stands::Holds => output - set,
        Stands::Dropped => output - input + dropout,
        Stands::Limited => amps - burst,
        Stands::Off => amps,
    }
}

fn newton(elements: &[Element], nodes: usize) -> DVector<f64> {
    let size = nodes + elements.iter().map(Element::unknowns).sum::<usize>();
    let mut x = DVector::from_element(size, 1.0);
    for node in 0..nodes {
        x[node] = 8.0;
    }
    for _ in 0..200 {
        let now = residual(elements, nodes, &x);
        let mut slopes = DMatrix::zeros(size, size);
        for column in 0..size {
            // Every law is at most of second degree: a central difference of any width is exact.
            let (mut up, mut down) = (x.clone(), x.clone());
            up[column] += 0.5;
            down[column] -= 0.5;
            slopes.set_column(column, &(residual(elements, nodes, &up) - residual(elements, nodes, &down)));
        }
        let step = slopes.lu().solve(&now).unwrap_or_else(|| panic!("no solution: {elements:?}, {x}"));
        x -= &step;
        if step.amax() < 1e-13 {
            break;
        }
    }
    assert!(residual(elements, nodes, &x).amax() < 1e-11, "Newton's method settled");
    x
}

/// Solves, flipping what contradicts itself, one at a time, until nothing does: first what would take
/// current backwards.
fn states(mut elements: Vec<Element>, nodes: usize) -> DVector<f64> {
    for _ in 0..40 {
        let x = newton(&elements, nodes);
        let volts = |node: usize| if node == 0 { 0.0 } else { x[node - 1] };
        let mut at = nodes;
        let mut flips: Vec<(usize, Element, bool)> = Vec::new();
        for (place, element) in elements.iter().enumerate() {
            let amps = if at < x.len() { x[at] } else { 0.0 };
            at += element.unknowns();
            let mut flipped = *element;
            match &mut flipped {
                Element::Diode(from, to, drop, on) => {
                    let right = if *on { amps >= -1e-12 } else { volts(*from) - volts(*to) <= *drop + 1e-12 };
                    if !right {
                        *on = !*on;
                        flips.push((place, flipped, amps < 0.0));
                    }
                }
                Element::Linear(input, output, set, dropout, _, burst, stands)
                | Element::Switching(input, output, set, dropout, _, burst, _, stands) => {
                    let next = next(*stands, volts(*input), volts(*output), (*set, *dropout, *burst), amps);
                    if next != *stands {
                        *stands = next;
                        flips.push((place, flipped, next == Stands::Off));
                    }
                }
                _ => {}
            }
        }
        let Some((place, flipped, _)) = flips.iter().find(|flip| flip.2).or(flips.first()) else {
            return x;
        };
        elements[*place] = *flipped;
        // When one comes to its limit the others are asked anew.
        if let Element::Linear(.., Stands::Limited) | Element::Switching(.., Stands::Limited) = flipped {
            for element in &mut elements {
                if let Element::Linear(.., stands @ Stands::Off)
                | Element::Switching(.., stands @ Stands::Off) = element
                {
                    *stands = Stands::Holds;
                }
            }
        }
    }
    panic!("no state fits");
}

fn next(
    stands: Stands,
    input: f64,
    output: f64,
    (set, dropout, burst): (f64, f64, f64),
    amps: f64,
) -> Stands {
    let open = set.min(input - dropout);
    match stands {
        Stands::Holds if input - dropout < set - 1e-12 => Stands::Dropped,
        Stands::Dropped if input - dropout > set + 1e-12 => Stands::Holds,
        Stands::Holds | Stands::Dropped if amps < -1e-12 => Stands::Off,
        Stands::Holds | Stands::Dropped if amps > burst + 1e-12 => Stands::Limited,
        Stands::Limited if output > open + 1e-12 => Stands::Holds,
        Stands::Off if output < open - 1e-12 => Stands::Holds,
        same => same,
    }
}

/// The published rule for copper wire (ASTM B258, IEC 60028; from memory), both conductors.
fn lead_ohms(metres: f64, gauge: u32) -> f64 {
    let diameter = 0.127 * 92f64.powf((36.0 - f64::from(gauge)) / 39.0);
    0.017_241 * 2.0 * metres / (std::f64::consts::FRAC_PI_4 * diameter * diameter)
}

/// The bus voltage, what each pack gives, and the voltage at each sort of servo.
fn solve(circuit: &Circuit, load: &Load) -> (f64, Vec<f64>, Vec<f64>) {
    // Node 1 is the bus.
    let (mut elements, mut nodes, mut sources) = (Vec::new(), 1, Vec::new());
    let mut node = || {
        nodes += 1;
        nodes
    };
    for way in circuit.ways {
        let (emf, inside, input, output, end) = (node(), node(), node(), node(), node());
        let n = f64::from(way.cells);
        sources.push(elements.len());
        elements.push(Element::Source(emf, 0, n * way.cell_v));
        elements.push(Element::Resistor(emf, inside, n * way.cell_mohm / 1e3));
        let motor = if *load == Load::Rest { 0.0 } else { way.motor };
        elements.push(Element::Sink(inside, motor, 0.0));
        elements.push(Element::Resistor(inside, input, way.before / 1e3));
        elements.push(match way.regulator {
            Reg::None => Element::Resistor(input, output, 0.0),
            Reg::Linear(set, dropout, own, burst) => {
                Element::Linear(input, output, set, dropout, own / 1e3, burst, Stands::Holds)
            }
            Reg::Switching(set, dropout, own, burst, percent) => Element::Switching(
                input,
                output,
                set,
                dropout,
                own / 1e3,
                burst,
                percent / 100.0,
                Stands::Holds,
            ),
        });
        elements.push(Element::Resistor(output, end, way.after / 1e3));
        match circuit.joined {
            Joined::One => elements.push(Element::Resistor(end, 1, 0.0)),
            Joined::Parallel => elements.push(Element::Resistor(end, 1, 0.001)),
            Joined::Diodes(drop) => {
                let behind = node();
                elements.push(Element::Diode(end, behind, drop, true));
                elements.push(Element::Resistor(behind, 1, 0.001));
            }
        }
    }
    elements.push(Element::Sink(1, circuit.receiver / 1e3, 0.0));
    let mut ends = Vec::new();
    for &(count, idle, _, hold, stall, rated, metres, gauge) in circuit.servos {
        let end = node();
        let count = f64::from(count);
        // All alike side by side.
        elements.push(Element::Resistor(1, end, lead_ohms(metres, gauge) / count));
        elements.push(match load {
            Load::Rest => Element::Sink(end, count * idle / 1e3, 0.0),
            Load::Manoeuvre(_) => Element::Sink(end, count * hold, 0.0),
            Load::Hard => Element::Sink(end, 0.0, count * 0.6 * stall / rated),
            Load::Stalled => Element::Sink(end, 0.0, count * stall / rated),
        });
        ends.push(end);
    }
    let starts: Vec<usize> = elements
        .iter()
        .scan(nodes, |at, element| {
            let start = *at;
            *at += element.unknowns();
            Some(start)
        })
        .collect();
    let x = states(elements, nodes);
    let packs = sources.iter().map(|place| x[starts[*place]]).collect();
    (x[0], packs, ends.iter().map(|end| x[end - 1]).collect())
}

#[test]
fn circuits_agree_with_an_independent_nodal_analysis() {
    assert_eq!(CIRCUITS.len(), 26);
    let (mut compared, mut worst, mut wrong) = (0, 0.0f64, Vec::new());
    for circuit in CIRCUITS {
        let supply = supply(&circuit.text());
        for load in supply.loads() {
            if circuit.servos.is_empty() && matches!(load, Load::Manoeuvre(_)) {
                continue;
            }
            let (bus, packs, servos) = solve(circuit, &load);
            let point = match supply.outcome(&load, Charge::Stated, None) {
                Outcome::Held(point) | Outcome::Reset(point) => point,
                Outcome::Collapse { why } => {
                    wrong.push(format!("{}, {load:?}: {why}, but {bus} V", circuit.what));
                    continue;
                }
            };
            let pairs = [(point.receiver_v.0, bus)]
                .into_iter()
                .chain(point.feeds.iter().map(|feed| feed.amps.0).zip(packs))
                .chain(point.servos.iter().map(|servo| servo.volts.0).zip(servos));
            for (got, want) in pairs {
                compared += 1;
                let off = (got - want).abs() / want.abs().max(1.0);
                worst = worst.max(off);
                // False for what is no number.
                let close = off <= 1e-9;
                if !close {
                    wrong.push(format!("{}, {load:?}: {got}, not {want}", circuit.what));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(compared > 280, "{compared}");
    println!("{compared} figures compared, the worst off by {worst:e}");
}
