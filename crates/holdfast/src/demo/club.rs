//! The invented club's aircraft and transmitters.

use super::gear::{Aircraft, Id, Memory, Transmitter, Word, dunlin, plover, row, whimbrel};

const fn craft(
    code: &'static str,
    name: &'static str,
    craft: &'static str,
    entered: i64,
    note: &'static str,
) -> Aircraft {
    Aircraft { row: row(code, entered, entered, note), name, craft }
}

/// The aircraft.
pub(super) const AIRCRAFT: &[Aircraft] = &[
    craft("A1", "Tin Lantern", "aeroplane", 425, "The first line of the book; every beginner lands it once."),
    craft("A2", "Hay Wagon", "aeroplane", 425, "Flown by teacher and pupil, each with a handset."),
    craft("A3", "Second Breakfast", "glider", 410, "Large enough for two receivers, one for each wing."),
    craft("A4", "Quiet Cupboard", "glider", 402, "Flies far out, so on the lower band."),
    craft("A5", "Lost Umbrella", "multirotor", 96, "New on the lower band; not yet flown on it."),
    craft("A6", "Picnic Table", "aeroplane", 380, "Its receiver hears both bands."),
    craft("A7", "Wet Biscuit", "aeroplane", 371, "Back after a winter in a garage."),
    craft("A8", "Marmalade Bus", "aeroplane", 63, "Its receiver came from a far swap table."),
    craft("A9", "Slow Thunder", "helicopter", 58, "Bought ready to fly from another club."),
    craft("A10", "Kitchen Comet", "multirotor", 214, "Had its receiver changed in a hurry."),
    craft("A11", "Late Trumpet", "aeroplane", 305, "Its receiver was flashed on the bench."),
    craft("A12", "Velvet Plough", "glider", 250, "Bought together with the handset that has since left."),
    craft("A13", "Two Clocks", "aeroplane", 170, "Two helpers looked at it, and saw two different things."),
    craft("A14", "Open House", "aeroplane", 333, "For trying things out; the model-ID check is off."),
    craft("A15", "Milk Round", "aeroplane", 420, "Delivers the sweets on the children's day."),
    craft("A16", "Tall Story", "glider", 398, "Gets longer with every telling."),
    craft("A17", "Borrowed Ladder", "aeroplane", 398, "Stands in for whatever is broken."),
    craft("A18", "Salt Cellar", "boat", 287, "Tows the rescue line on the pond."),
    craft("A19", "Garden Gate", "aeroplane", 280, "Flat, square and cheerful."),
    craft("A20", "Sunday Parcel", "aeroplane", 280, "Was flashed last week and has been mute since."),
    craft("A21", "Paper Hat", "multirotor", 140, "Small; found the oak."),
    craft("A22", "Spare Sandwich", "aeroplane", 233, "Built from what the others left over."),
    craft("A23", "Dusty Crown", "glider", 120, "Came down from an attic with its handset."),
    craft("A24", "Empty Drawer", "glider", 40, "Just built; waits for a receiver."),
    craft("A25", "Long Sleeve", "aeroplane", 190, "The pupils' own."),
];

/// The handset that was sold; its link secret was never typed in.
pub(super) const SOLD: &str = "T6";

/// The transmitters.
pub(super) const TRANSMITTERS: &[Transmitter] = &[
    Transmitter {
        row: row("T1", 425, 21, "The club's main handset; a module for the lower band clips on its back."),
        name: "Copper Kettle",
        ends: &[
            whimbrel("2.4 GHz", "4.6", Word::Club, Id::Never).called("inside"),
            whimbrel("868 MHz", "4.5", Word::Club, Id::Never).called("module"),
        ],
        memories: &[
            Memory("1", "inside", Id::Number(1), "A1"),
            Memory("2", "inside", Id::Number(2), "A2"),
            Memory("3", "inside", Id::Number(3), "A3"),
            // The same number as memory 6: either drives both receivers.
            Memory("4", "module", Id::Number(6), "A4"),
            // Still the inside end, though the receiver is on the lower band.
            Memory("5", "inside", Id::Number(5), "A5"),
            Memory("6", "module", Id::Number(6), "A6"),
            Memory("7", "inside", Id::Number(7), "A7"),
            Memory("8", "inside", Id::Number(8), "A8"),
            Memory("9", "inside", Id::Number(9), "A9"),
            Memory("10", "inside", Id::Number(10), "A10"),
            Memory("11", "inside", Id::Number(11), "A11"),
            Memory("12", "inside", Id::Number(12), "A12"),
            Memory("13", "inside", Id::Number(13), "A13"),
            Memory("14", "inside", Id::Number(14), "A14"),
        ],
    },
    Transmitter {
        row: row("T2", 420, 48, "Older firmware on purpose: its three aircraft are as old."),
        name: "Green Door",
        ends: &[whimbrel("2.4 GHz", "3.9", Word::Blank, Id::Never)],
        memories: &[
            Memory("1", "main", Id::Number(1), "A15"),
            Memory("2", "main", Id::Number(2), "A16"),
            Memory("3", "main", Id::Number(3), "A17"),
        ],
    },
    Transmitter {
        row: row("T3", 290, 33, "Speaks Plover only."),
        name: "Paper Moon",
        ends: &[plover("3.1", Id::Never)],
        memories: &[
            Memory("1", "main", Id::Number(1), "A18"),
            Memory("2", "main", Id::Number(2), "A19"),
            Memory("3", "main", Id::Number(3), "A20"),
            Memory("4", "main", Id::Number(4), "A21"),
            Memory("5", "main", Id::Off, "A22"),
        ],
    },
    Transmitter {
        row: row("T4", 190, 26, "The pupils' handset; holds the club's word, so it flies T1's trainers too."),
        name: "Training Wheels",
        ends: &[whimbrel("2.4 GHz", "4.2", Word::Club, Id::Never)],
        memories: &[
            Memory("1", "main", Id::Number(1), "A1"),
            Memory("2", "main", Id::Number(2), "A2"),
            Memory("3", "main", Id::Number(25), "A25"),
        ],
    },
    Transmitter {
        row: row("T5", 120, 120, "An old Dunlin set; nobody has its manual."),
        name: "Attic Find",
        ends: &[dunlin("2")],
        memories: &[Memory("1", "main", Id::Never, "A23")],
    },
    Transmitter {
        row: row(SOLD, 405, 405, "Left with its owner."),
        name: "Departed Tenor",
        ends: &[whimbrel("2.4 GHz", "4.0", Word::Never, Id::Never)],
        memories: &[],
    },
];
