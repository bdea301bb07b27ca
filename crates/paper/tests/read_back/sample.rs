//! Cards as the bench and the field get them; all of it invented.

use fitting::card::{Block, Card, Code, Label};
use fitting::qr::Symbol;

pub fn code(text: &str) -> Code {
    Code { text: text.to_owned(), symbol: Symbol::of(text).unwrap() }
}

fn fact(name: &str, value: &str, known: &str) -> (String, String, String) {
    (name.to_owned(), value.to_owned(), known.to_owned())
}

fn tick(what: &str, more: &str) -> (String, String) {
    (what.to_owned(), more.to_owned())
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|&cell| cell.to_owned()).collect()
}

pub const FOOT: &str = "Printed 2026-03-14 from the workshop 'Mill Lane'. Local rules and the maker's manual \
                        prevail over this card.";

pub fn field() -> Card {
    Card {
        kind: "Field card".to_owned(),
        title: "A3 · Otter".to_owned(),
        sentence: "Failsafe and directions were proven on 2026-03-12; the range check has lapsed: the antenna \
                   was changed after it."
            .to_owned(),
        blocks: vec![
            Block::Caution(
                "Hold the aircraft or take the propeller off before the motor can turn. Transmitter on first, \
                 off last."
                    .to_owned(),
            ),
            Block::Facts(vec![
                fact("Transmitter", "T1, model memory 4", "read, 2 days ago"),
                fact("Receiver", "R7, 2400 MHz", "seen on the device, 2 days ago"),
                fact("Model ID", "12, checked at the receiver", "seen, 2 days ago"),
                fact("Pack", "3 cells, 2200 mAh; land with 3.6 V a cell", "told, last month"),
            ]),
            Block::Heading("Before the first flight".to_owned()),
            Block::Boxes(vec![
                tick("Range check at 30 paces with the motor off, then on", "energises receiver, servos, motor"),
                tick("Ailerons: stick right, the right one rises", ""),
                tick("Elevator: stick back, it rises", ""),
                tick("Failsafe: transmitter off, the motor stops within 1 s", "propeller off or aircraft held"),
            ]),
            Block::Heading("If the link is lost".to_owned()),
            Block::Words(
                "Motor cut, gliding: with 4 m/s wind it comes down within 310 m, to the east of where it was \
                 last seen."
                    .to_owned(),
            ),
            Block::Lines(vec!["Date".to_owned(), "Name".to_owned()]),
        ],
        foot: FOOT.to_owned(),
        code: Some(code("A3 Otter\nT1 memory 4, R7\n2400 MHz, model ID 12\nfailsafe 2026-03-12")),
    }
}

pub fn bench() -> Card {
    let field = field();
    let mut blocks = vec![field.blocks[0].clone(), Block::Heading("What is on it".to_owned())];
    blocks.push(field.blocks[1].clone());
    blocks.extend([
        Block::Heading("Outputs".to_owned()),
        Block::Table(
            row(&["Output", "Channel", "Moves", "Pulse, µs", "Rate, Hz", "Left to do"]),
            vec![
                row(&["1", "1 aileron", "two servos by a Y lead", "1000–1500–2000", "50", ""]),
                row(&["2", "2 elevator", "servo in the tail", "1100–1520–1940", "50", "travel is less than its channel gives: widen the channel"]),
                row(&["3", "3 throttle", "speed controller", "1000–2000", "50", "calibrate the ends"]),
                row(&["4", "4 rudder", "servo in the tail", "1000–1500–2000", "50", ""]),
                row(&["5", "5 lights", "nothing", "", "", "free output"]),
            ],
        ),
        Block::Heading("Supply".to_owned()),
        Block::Words(
            "In a hard manoeuvre the receiver keeps 4.71 V, 0.86 V above its brown-out. With every servo stalled \
             the regulator can't carry the load: the voltage collapses. A regulator of 5 A would hold 4.9 V."
                .to_owned(),
        ),
        Block::Heading("To prove, in this order".to_owned()),
        Block::Boxes(vec![
            tick("Every surface moves the right way", "energises receiver and servos; propeller off"),
            tick("Switched on with no transmitter, the motor stays off", "energises the motor; aircraft held"),
            tick("Failsafe: transmitter off, throttle goes to cut within 1 s", "energises the motor; aircraft held"),
            tick("Range check with the motor off, then on", "energises the motor; two people"),
            tick("Supply: all servos at once for ten seconds, receiver did not restart", "energises servos"),
        ]),
        Block::Caution(
            "The supply check loads the pack. Watch it, keep it on a surface that doesn't burn, and charge it by \
             its maker's rules."
                .to_owned(),
        ),
        Block::Heading("Not checked".to_owned()),
        Block::Words("Antenna clearance to the carbon spar; battery age.".to_owned()),
        Block::Lines(row(&["Done by", "Date", "Signed off by", "Next check"])),
    ]);
    Card { kind: "Bench card".to_owned(), blocks, ..field }
}

pub fn labels(count: usize) -> Vec<Label> {
    let label = |number: usize| Label {
        title: match number % 3 {
            0 => format!("R{number}"),
            1 => format!("R{number} Otter"),
            _ => format!("T{number} club transmitter"),
        },
        lines: vec![
            "2400 MHz, firmware 3.2.1".to_owned(),
            "model ID 12".to_owned(),
            "seen 2026-03-14".to_owned(),
        ],
        code: code(&format!("R{number}\n2400 MHz\nfirmware 3.2.1")),
    };
    (1..=count).map(label).collect()
}
