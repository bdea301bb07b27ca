//! What happened to the invented club's gear, in days before now.

use register::field::{Field, How, Part};

/// A pairing: days ago, receiver, transmitter and its end.
pub(super) const PAIRED: &[(i64, &str, &str, &str)] = &[
    (424, "R1", "T1", "inside"),
    (419, "R16", "T2", "main"),
    (397, "R17", "T2", "main"),
    (396, "R18", "T2", "main"),
    (286, "R19", "T3", "main"),
    (279, "R20", "T3", "main"),
    (278, "R21", "T3", "main"),
    (232, "R23", "T3", "main"),
    (139, "R22", "T3", "main"),
    (119, "R24", "T5", "main"),
];

/// New firmware, written to an end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flash {
    pub(super) days: i64,
    pub(super) code: &'static str,
    pub(super) end: &'static str,
    /// The version before.
    pub(super) from: &'static str,
    pub(super) to: &'static str,
    pub(super) route: &'static str,
}

/// The flashes.
pub(super) const FLASHED: &[Flash] = &[
    Flash { days: 311, code: "T1", end: "inside", from: "3.8", to: "4.6", route: "cable to the handset" },
    Flash { days: 310, code: "T1", end: "module", from: "3.8", to: "4.5", route: "cable to the handset" },
    Flash { days: 309, code: "R1", end: "main", from: "3.8", to: "4.6", route: "its own network page" },
    Flash { days: 309, code: "R2", end: "main", from: "3.6", to: "4.1", route: "its own network page" },
    Flash { days: 308, code: "R5", end: "main", from: "3.8", to: "4.5", route: "its own network page" },
    Flash {
        days: 35,
        code: "R12",
        end: "main",
        from: "4.2",
        to: "4.6",
        route: "cable to the bench computer",
    },
    Flash { days: 7, code: "R21", end: "main", from: "2.8", to: "3.3", route: "bench lead" },
];

/// A single reading of one text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Said {
    pub(super) days: i64,
    pub(super) code: &'static str,
    /// An end's key; empty for the device as a whole.
    pub(super) end: &'static str,
    pub(super) how: How,
    pub(super) field: Field,
    pub(super) text: &'static str,
}

impl Said {
    /// The part it is about.
    pub(super) fn part(&self) -> Part {
        if self.end.is_empty() { Part::Whole } else { Part::End(self.end.to_owned()) }
    }
}

const fn whole(days: i64, code: &'static str, field: Field, text: &'static str) -> Said {
    Said { days, code, end: "", how: How::Seen, field, text }
}

const fn antenna(days: i64, code: &'static str, end: &'static str, text: &'static str) -> Said {
    Said { days, code, end, how: How::Seen, field: Field::Antenna, text }
}

/// Further readings, each of a fact of its own.
pub(super) const SAID: &[Said] = &[
    whole(390, "A3", Field::Pack, "two flat packs, one for each receiver"),
    whole(160, "A15", Field::Pack, "one flat pack, renewed"),
    antenna(290, "T1", "module", "whip, straight"),
    antenna(88, "R5", "main", "one wire, whole length"),
    antenna(60, "R19", "main", "one wire, tip a little green"),
    whole(240, "T6", Field::State, "sold"),
    whole(12, "A17", Field::State, "lent"),
    whole(5, "A21", Field::State, "crashed"),
    whole(190, "A25", Field::Owner, "the pupils"),
    whole(26, "T4", Field::Handset, "1.7"),
    Said { how: How::Told, ..antenna(58, "R10", "main", "both whips, renewed by its former owner") },
    Said { how: How::Assumed, ..whole(333, "A14", Field::Pack, "whichever is charged") },
];

/// A note in the history of a device.
pub(super) const NOTED: &[(i64, &str, &str)] = &[
    (371, "A7", "Missed the spring flashing: its owner had the key to the garage."),
    (240, "T6", "Sold with everything in it. Its link secret was never typed in here."),
    (58, "A9", "Told: it flew well with the handset of its former club."),
    (12, "A17", "Lent for the summer meeting; back before the leaves fall."),
    (7, "R21", "Lamp says it hears nothing since the bench lead."),
    (5, "A21", "Hit the oak. Receiver still glows; not yet taken apart."),
    (3, "A24", "Which of the shelf receivers fits?"),
];

/// The device that was entered twice: under which code it stands, when it was entered
/// again, the words by which, and when that was noticed.
pub(super) const TWICE: (&str, i64, &str, i64) = ("R26", 149, "the silver one from the swap table", 76);

/// A wrong reading that was struck later: device, version, when read, when struck.
pub(super) const STRUCK: (&str, &str, i64, i64) = ("R3", "5.4", 50, 49);

/// A reading dated into the future by a phone with a wrong clock: device and days from now.
pub(super) const FUTURE: (&str, i64) = ("R19", 40);

/// A firmware that two helpers read differently on two copies of the workshop: device,
/// then what each saw, and when.
pub(super) const CLASH: (&str, (&str, i64), (&str, i64)) = ("R14", ("4.2", 9), ("3.8", 8));
