//! What a text of the antennas may say.

use register::fit::Part;

use crate::part::{Key, Kind, Many, Need, Schema, Table};

const PLACE_MM: Kind = Kind::Number { low: -5000.0, high: 5000.0, unit: "mm" };
const NEAR_MM: Kind = Kind::Number { low: 0.0, high: 5000.0, unit: "mm" };

const CONNECTORS: Kind = Kind::Choice(&[
    ("threaded", "threaded"),
    ("threaded-reversed", "threaded, pin and hole swapped"),
    ("snap-on", "snap-on"),
    ("snap-on-small", "snap-on, the smaller size"),
    ("soldered", "soldered"),
]);

/// The tables and keys of the antennas.
pub static SCHEMA: Schema = Schema { part: Part::Antennas, tables: &[ANTENNA, BETWEEN, PLACE, THING] };

const ANTENNA: Table = Table {
    name: "antenna",
    label: "antenna",
    many: Many::Several,
    what: "One antenna of a receiver",
    keys: &[
        Key {
            name: "name",
            label: "Name",
            kind: Kind::Text,
            need: Need::Must,
            what: "What to call it: each name once",
            example: "\"left\"",
        },
        Key {
            name: "on",
            label: "On receiver",
            kind: Kind::Text,
            need: Need::Else("the aircraft's receiver"),
            what: "The label of the receiver that it belongs to",
            example: "\"R7\"",
        },
        Key {
            name: "kind",
            label: "Kind",
            kind: Kind::Choice(&[
                ("wire", "wire, a quarter wave long"),
                ("bare-tip", "coaxial cable with a bare tip"),
                ("sleeve", "coaxial cable with a bare tip and a sleeve"),
                ("dipole", "dipole, two arms"),
                ("chip", "ceramic chip on the board"),
                ("patch", "patch, looks one way"),
            ]),
            need: Need::Must,
            what: "What it is",
            example: "\"bare-tip\"",
        },
        Key {
            name: "length_mm",
            label: "Working length",
            kind: Kind::Number { low: 1.0, high: 3000.0, unit: "mm" },
            need: Need::Else("not checked"),
            what: "The working part alone: the wire, the bare tip, both arms of a dipole from tip to tip",
            example: "31",
        },
        Key {
            name: "for_mhz",
            label: "Made for",
            kind: Kind::Number { low: 25.0, high: 6000.0, unit: "MHz" },
            need: Need::Else("not checked"),
            what: "The middle of the band that it is made for",
            example: "2440",
        },
        Key {
            name: "connector",
            label: "Its connector",
            kind: CONNECTORS,
            need: Need::Else("not checked"),
            what: "What is at the end of its cable",
            example: "\"snap-on\"",
        },
        Key {
            name: "socket",
            label: "Receiver's socket",
            kind: CONNECTORS,
            need: Need::Else("not checked"),
            what: "What the receiver has for it",
            example: "\"snap-on\"",
        },
        Key {
            name: "azimuth_deg",
            label: "Points to, clockwise from the nose",
            kind: Kind::Number { low: -180.0, high: 360.0, unit: "°" },
            need: Need::Else("0, where elevation_deg is given; else not known"),
            what: "From root to tip, seen from above: 0 is the nose, 90 the right; a patch: where it looks",
            example: "90",
        },
        Key {
            name: "elevation_deg",
            label: "Points up",
            kind: Kind::Number { low: -90.0, high: 90.0, unit: "°" },
            need: Need::Else("0, where azimuth_deg is given; else not known"),
            what: "From root to tip: 90 is straight up, -90 straight down, the aircraft level",
            example: "0",
        },
        Key {
            name: "around",
            label: "What is round it",
            kind: Kind::Choice(&[
                ("clear", "nothing, or wood, foam, glass fibre"),
                ("behind-carbon", "carbon on one side"),
                ("in-carbon", "carbon all round"),
            ]),
            need: Need::Else("not checked"),
            what: "Whether carbon hides its working part",
            example: "\"clear\"",
        },
        Key {
            name: "carbon_mm",
            label: "To the nearest carbon",
            kind: NEAR_MM,
            need: Need::Else("by the places, where they are known"),
            what: "Distance from its working part to the nearest carbon",
            example: "60",
        },
        Key {
            name: "motor_lead_mm",
            label: "To the motor leads",
            kind: NEAR_MM,
            need: Need::Else("by the places, where they are known"),
            what: "Distance to the nearest motor lead or speed controller",
            example: "120",
        },
        Key {
            name: "pack_mm",
            label: "To the pack",
            kind: NEAR_MM,
            need: Need::Else("by the places, where they are known"),
            what: "Distance to the nearest pack",
            example: "80",
        },
        Key {
            name: "metal_mm",
            label: "To other metal",
            kind: NEAR_MM,
            need: Need::Else("by the places, where they are known"),
            what: "Distance to the nearest servo lead, metal rod or other metal",
            example: "50",
        },
    ],
};

const BETWEEN: Table = Table {
    name: "between",
    label: "between two antennas",
    many: Many::One,
    what: "How the two antennas of one receiver stand to each other, where no directions or places are known",
    keys: &[
        Key {
            name: "angle_deg",
            label: "Angle between them",
            kind: Kind::Number { low: 0.0, high: 90.0, unit: "°" },
            need: Need::Else("by the directions, where they are known"),
            what: "Between the two wires: 90 is best, 0 is alongside each other",
            example: "90",
        },
        Key {
            name: "apart_mm",
            label: "Distance between them",
            kind: NEAR_MM,
            need: Need::Else("by the places, where they are known"),
            what: "Between their working parts, at the nearest",
            example: "150",
        },
    ],
};

const fn place(name: &'static str, label: &'static str, what: &'static str, example: &'static str) -> Key {
    Key { name, label, kind: PLACE_MM, need: Need::Must, what, example }
}

const fn second(name: &'static str, label: &'static str, same: &'static str, example: &'static str) -> Key {
    let what = "The other end of a long thing";
    Key { name, label, kind: PLACE_MM, need: Need::Else(same), what, example }
}

const PLACE: Table = Table {
    name: "place",
    label: "antenna's place",
    many: Many::Several,
    what: "Where the working part of an antenna begins, measured from any one point of the aircraft",
    keys: &[
        Key {
            name: "antenna",
            label: "Antenna",
            kind: Kind::Text,
            need: Need::Must,
            what: "The antenna's name",
            example: "\"left\"",
        },
        place("x_mm", "Forward", "Forward of that point; behind it is negative", "-120"),
        place("y_mm", "To the right", "To the right of it; to the left is negative", "-30"),
        place("z_mm", "Up", "Above it; below is negative", "15"),
    ],
};

const THING: Table = Table {
    name: "thing",
    label: "thing near by",
    many: Many::Several,
    what: "Something that disturbs an antenna near it",
    keys: &[
        Key {
            name: "kind",
            label: "Kind",
            kind: Kind::Choice(&[
                ("carbon", "carbon part"),
                ("motor-lead", "motor lead"),
                ("speed-controller", "speed controller"),
                ("pack", "pack"),
                ("servo-lead", "servo lead"),
                ("metal-rod", "metal rod"),
            ]),
            need: Need::Must,
            what: "What it is",
            example: "\"motor-lead\"",
        },
        Key {
            name: "name",
            label: "Name",
            kind: Kind::Text,
            need: Need::Else("the kind"),
            what: "What to call it",
            example: "\"left motor's lead\"",
        },
        place("x_mm", "Forward", "From the same point as the antennas' places", "-60"),
        place("y_mm", "To the right", "From the same point", "0"),
        place("z_mm", "Up", "From the same point", "-10"),
        second("x2_mm", "Forward, other end", "the same as x_mm", "80"),
        second("y2_mm", "To the right, other end", "the same as y_mm", "0"),
        second("z2_mm", "Up, other end", "the same as z_mm", "-10"),
    ],
};
