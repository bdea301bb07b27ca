//! The invented club's receivers: what is fitted, then what lies on the shelf.

use super::club::SOLD;
use super::gear::{End, Id, Receiver, Row, Word, dunlin, plover, row, whimbrel};

const fn fitted(row: Row, aircraft: &'static str, model: &'static str, ends: &'static [End]) -> Receiver {
    Receiver { row, model, aircraft, ends }
}

const fn shelf(row: Row, model: &'static str, ends: &'static [End]) -> Receiver {
    Receiver { row, model, aircraft: "", ends }
}

/// The receivers.
pub(super) const RECEIVERS: &[Receiver] = &[
    fitted(
        row("R1", 425, 41, "Never gave trouble."),
        "A1",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.6", Word::Club, Id::Number(1))],
    ),
    fitted(
        row("R2", 425, 41, "Flashed once, by its own page."),
        "A2",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.1", Word::Club, Id::Number(2))],
    ),
    fitted(
        row("R3", 410, 74, "The left of two."),
        "A3",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.4", Word::Club, Id::Number(3))],
    ),
    fitted(
        row("R4", 410, 74, "The right of two."),
        "A3",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.4", Word::Club, Id::Number(3))],
    ),
    fitted(
        row("R5", 402, 88, "Under the nose hatch, wire along the tail."),
        "A4",
        "four outputs, one long wire",
        &[whimbrel("868 MHz", "4.5", Word::Club, Id::Number(6))],
    ),
    fitted(
        row("R6", 96, 70, "Fitted when the lower band came."),
        "A5",
        "four outputs, one long wire",
        &[whimbrel("868 MHz", "4.5", Word::Club, Id::Number(5))],
    ),
    fitted(
        row("R7", 380, 52, "Two ends, one for each band."),
        "A6",
        "eight outputs, both bands",
        &[
            whimbrel("2.4 GHz", "4.5", Word::Club, Id::Number(6)).called("high"),
            whimbrel("868 MHz", "4.5", Word::Club, Id::Number(6)).called("low"),
        ],
    ),
    fitted(
        row("R8", 371, 30, "Was asleep when the others were flashed."),
        "A7",
        "six outputs",
        &[whimbrel("2.4 GHz", "3.8", Word::Club, Id::Number(7))],
    ),
    fitted(
        row("R9", 63, 28, "The sticker says it was meant for elsewhere."),
        "A8",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.4", Word::Club, Id::Number(8)).of_region("US")],
    ),
    fitted(
        row("R10", 58, 27, "Still holds the word of the club it came from."),
        "A9",
        "eight outputs",
        &[whimbrel("2.4 GHz", "4.3", Word::Former, Id::Number(9))],
    ),
    fitted(
        row("R11", 214, 44, "Came out of another multirotor, number and all."),
        "A10",
        "four outputs",
        &[whimbrel("2.4 GHz", "4.6", Word::Club, Id::Number(21))],
    ),
    fitted(
        row("R12", 305, 95, "Flashed by cable since."),
        "A11",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.2", Word::Club, Id::Number(11))],
    ),
    fitted(
        row("R13", 250, 110, "Only hearsay about its secret."),
        "A12",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.0", Word::ToldSameAs(SOLD, "main"), Id::Number(12))],
    ),
    fitted(
        row("R14", 170, 170, "Lay beside another of the same shape when it was looked at."),
        "A13",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.0", Word::Club, Id::Number(13))],
    ),
    fitted(
        row("R15", 333, 36, "Obeys any memory: propeller off on the bench."),
        "A14",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.4", Word::Club, Id::Off)],
    ),
    fitted(
        row("R16", 420, 130, "Paired by hand."),
        "A15",
        "five outputs",
        &[whimbrel("2.4 GHz", "3.7", Word::Blank, Id::Number(1))],
    ),
    fitted(
        row("R17", 398, 243, "Not looked at since last season."),
        "A16",
        "five outputs",
        &[whimbrel("2.4 GHz", "3.2", Word::Blank, Id::Number(2))],
    ),
    fitted(
        row("R18", 398, 132, "Paired by hand."),
        "A17",
        "five outputs",
        &[whimbrel("2.4 GHz", "3.5", Word::Blank, Id::Number(3))],
    ),
    fitted(
        row("R19", 287, 60, "In a jar against the water."),
        "A18",
        "four outputs",
        &[plover("2.9", Id::Number(1))],
    ),
    fitted(
        row("R20", 280, 61, "Behind the square hatch."),
        "A19",
        "four outputs",
        &[plover("3.4", Id::Number(2))],
    ),
    fitted(
        row("R21", 280, 61, "Flashed by the bench lead since."),
        "A20",
        "four outputs",
        &[plover("2.8", Id::Number(3))],
    ),
    fitted(
        row("R22", 140, 140, "Glued in; nobody has asked it for its firmware."),
        "A21",
        "tiny, three outputs",
        &[plover("", Id::Number(4))],
    ),
    fitted(
        row("R23", 233, 62, "From the box of leftovers."),
        "A22",
        "four outputs",
        &[plover("2.5", Id::Number(9))],
    ),
    fitted(
        row("R24", 120, 120, "Answers to its own handset on the bench; no manual."),
        "A23",
        "large, seven outputs",
        &[dunlin("2")],
    ),
    fitted(
        row("R25", 190, 26, "Set up by the pupils."),
        "A25",
        "six outputs",
        &[whimbrel("2.4 GHz", "4.2", Word::Club, Id::Number(25))],
    ),
    shelf(
        row("R26", 150, 77, "Entered twice: once from the swap table, once from the shelf."),
        "six outputs, silver",
        &[whimbrel("2.4 GHz", "4.6", Word::Club, Id::Number(40))],
    ),
    shelf(
        row("R27", 150, 77, "Fresh from its bag."),
        "four outputs, one long wire",
        &[whimbrel("868 MHz", "4.2", Word::Blank, Id::Number(0))],
    ),
    shelf(row("R28", 101, 77, "Bought as a reserve."), "four outputs", &[plover("2.6", Id::Number(30))]),
    shelf(
        row("R29", 300, 300, "From far away: no handset here speaks on its band."),
        "four outputs, one long wire",
        &[whimbrel("915 MHz", "4.0", Word::Blank, Id::Number(0)).of_region("US")],
    ),
    shelf(
        row("R30", 101, 77, "Of the first group of versions."),
        "tiny, three outputs",
        &[plover("1.8", Id::Number(31))],
    ),
];
