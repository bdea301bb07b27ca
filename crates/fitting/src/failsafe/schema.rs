//! The tables and keys of the part.

use register::fit::Part;

use crate::part::{Kind, Many, Need, Schema, Table, key, number};

const ACTIONS: Kind = Kind::Choice(&[
    ("hold", "holds its last position"),
    ("value", "goes to a value"),
    ("no-pulses", "stops its pulses"),
    ("not-set", "was never set"),
]);
const SORTS: Kind = Kind::Choice(&[
    ("aeroplane", "aeroplane"),
    ("glider", "glider"),
    ("helicopter", "helicopter"),
    ("multirotor", "multirotor"),
    ("boat", "boat"),
    ("car", "car"),
]);
const POWERS: Kind =
    Kind::Choice(&[("electric", "electric motor"), ("engine", "engine"), ("none", "no motor")]);
const OWN: Kind =
    Kind::Choice(&[("none", "none"), ("descend", "descends by itself"), ("return", "returns by itself")]);
const FALLS: Kind =
    Kind::Choice(&[("glide", "glides"), ("ballistic", "falls like a stone"), ("stop", "rolls or runs out")]);
const TURNING: Kind =
    Kind::Choice(&[("straight", "straight on"), ("gentle", "gentle turn"), ("unknown", "not known")]);

/// The failsafe part of a fit.
pub static SCHEMA: Schema = Schema {
    part: Part::Failsafe,
    tables: &[CHANNEL, CRAFT, TIMING, FLIGHT, FALL, WIND, SPREAD, FIELD, CORNER],
};

const CHANNEL: Table = Table {
    name: "channel",
    label: "Channel",
    many: Many::Several,
    what: "what one channel of the receiver does without a link",
    keys: &[
        key(
            "channel",
            "Channel",
            Kind::Whole { low: 1, high: 64 },
            Need::Must,
            "its number at the receiver",
            "3",
        ),
        key(
            "function",
            "Function",
            Kind::Text,
            Need::Must,
            "what it moves: throttle, aileron, elevator, rudder, collective, steering, flap, mode ...",
            "\"throttle\"",
        ),
        key("action", "Without a link", ACTIONS, Need::Must, "what the receiver is set to do", "\"value\""),
        key(
            "value_us",
            "Value",
            number(500.0, 2500.0, "us"),
            Need::Else("not known"),
            "the pulse width it goes to",
            "1000",
        ),
        key(
            "idle_us",
            "Idle or stopped",
            number(500.0, 2500.0, "us"),
            Need::Else("1000 for a throttle, 1500 in a boat or car"),
            "throttle only: the pulse width at idle (engine) or stopped (electric)",
            "1000",
        ),
        key(
            "full_us",
            "Full",
            number(500.0, 2500.0, "us"),
            Need::Else("2000; 1000 where it idles above 1500"),
            "throttle only: the pulse width at full throttle",
            "2000",
        ),
    ],
};

const CRAFT: Table = Table {
    name: "craft",
    label: "Craft",
    many: Many::One,
    what: "what sort of craft it is",
    keys: &[
        key(
            "sort",
            "Sort",
            SORTS,
            Need::Else("what the register says, else aeroplane"),
            "aeroplane, glider, helicopter, multirotor, boat or car",
            "\"aeroplane\"",
        ),
        key(
            "power",
            "Power",
            POWERS,
            Need::Else("none for a glider, else electric"),
            "what drives it",
            "\"electric\"",
        ),
        key(
            "own",
            "Its own behaviour",
            OWN,
            Need::Else("not known"),
            "what its flight controller does by itself when the link is lost",
            "\"descend\"",
        ),
    ],
};

const TIMING: Table = Table {
    name: "timing",
    label: "Timing",
    many: Many::One,
    what: "how long things take; measure them in the failsafe proof",
    keys: &[
        key(
            "failsafe_after_s",
            "Failsafe after",
            number(0.0, 60.0, "s"),
            Need::Else("1"),
            "from the last good packet until the receiver takes its failsafe",
            "1",
        ),
        key(
            "servo_travel_s",
            "Servo travel",
            number(0.0, 10.0, "s"),
            Need::Else("0.3"),
            "until the surfaces are at their failsafe places",
            "0.3",
        ),
        key(
            "motor_stop_s",
            "Motor stop",
            number(0.0, 60.0, "s"),
            Need::Else("1"),
            "from failsafe until the motor stands or idles",
            "1",
        ),
        key(
            "control_back_s",
            "Control back",
            number(0.0, 600.0, "s"),
            Need::Else("not known"),
            "from the transmitter's return until the controls obey",
            "1.5",
        ),
    ],
};

const FLIGHT: Table = Table {
    name: "flight",
    label: "Flight",
    many: Many::One,
    what: "how it moves at the moment the link is lost",
    keys: &[
        key(
            "speed_m_s",
            "Speed",
            number(0.0, 150.0, "m/s"),
            Need::Must,
            "through the air along its path; over ground or water for a car or boat",
            "18",
        ),
        key(
            "height_m",
            "Height",
            number(0.0, 1500.0, "m"),
            Need::Else("0"),
            "above the ground below it",
            "80",
        ),
        key(
            "heading_deg",
            "Heading",
            number(0.0, 360.0, "deg"),
            Need::Else("not known: any direction"),
            "where its nose points, from true north",
            "45",
        ),
        key(
            "climb_deg",
            "Climb",
            number(-90.0, 90.0, "deg"),
            Need::Else("0"),
            "angle of its path, upwards positive",
            "0",
        ),
    ],
};

const FALL: Table = Table {
    name: "fall",
    label: "Way down",
    many: Many::One,
    what: "how it goes on once failsafe has taken",
    keys: &[
        key(
            "falls",
            "How",
            FALLS,
            Need::Else("aeroplane and glider glide, helicopter and multirotor fall, boat and car stop"),
            "glides, falls like a stone, or runs out",
            "\"glide\"",
        ),
        key(
            "turning",
            "Turning",
            TURNING,
            Need::Else("not known"),
            "how it glides with its controls at failsafe",
            "\"gentle\"",
        ),
        key(
            "glide_ratio",
            "Glide ratio",
            number(0.5, 60.0, ""),
            Need::Else("8; 15 for a glider"),
            "metres forward through still air for a metre of height",
            "8",
        ),
        key(
            "glide_m_s",
            "Glide speed",
            number(1.0, 100.0, "m/s"),
            Need::Else("the speed at which it flies"),
            "airspeed of the glide",
            "12",
        ),
        key(
            "turn_radius_m",
            "Turn radius",
            number(1.0, 1000.0, "m"),
            Need::Else("that of 15 deg of bank at the glide speed"),
            "radius of the gentle turn",
            "40",
        ),
        key(
            "mass_kg",
            "Mass",
            number(0.005, 200.0, "kg"),
            Need::Else("no air drag: the farthest"),
            "all-up mass, for a fall with air drag",
            "1.4",
        ),
        key(
            "drag_area_m2",
            "Drag area",
            number(0.0, 10.0, "m2"),
            Need::Else("no air drag: the farthest"),
            "frontal area times drag coefficient, for a fall with air drag",
            "0.02",
        ),
        key(
            "slowing_m_s2",
            "Slowing",
            number(0.05, 20.0, "m/s2"),
            Need::Else("1"),
            "how fast a boat or car loses speed without drive",
            "1",
        ),
    ],
};

const WIND: Table = Table {
    name: "wind",
    label: "Wind",
    many: Many::One,
    what: "the mean wind at flying height; none where it is left out",
    keys: &[
        key("speed_m_s", "Speed", number(0.0, 40.0, "m/s"), Need::Must, "its mean speed", "4"),
        key(
            "from_deg",
            "From",
            number(0.0, 360.0, "deg"),
            Need::Else("not known; then the speed must be 0"),
            "where it comes from, from true north",
            "270",
        ),
    ],
};

const SPREAD: Table = Table {
    name: "spread",
    label: "Spread",
    many: Many::One,
    what: "how well all that is known: plus or minus, right two times out of three",
    keys: &[
        key("heading_deg", "Heading", number(0.0, 90.0, "deg"), Need::Else("15"), "of the heading", "15"),
        key(
            "fall_percent",
            "Way down",
            number(0.0, 90.0, "%"),
            Need::Else("20"),
            "of the glide ratio, the drag area or the slowing",
            "20",
        ),
        key("wind_m_s", "Wind", number(0.0, 20.0, "m/s"), Need::Else("1"), "of the wind, each way", "1"),
        key(
            "place_m",
            "Place",
            number(0.0, 500.0, "m"),
            Need::Else("20"),
            "of the place where the link was lost, each way",
            "20",
        ),
    ],
};

const FIELD: Table = Table {
    name: "field",
    label: "Field",
    many: Many::One,
    what: "where it is when the link is lost, seen from the pilot, and how far the field reaches",
    keys: &[
        key(
            "east_m",
            "East",
            number(-20_000.0, 20_000.0, "m"),
            Need::Else("0"),
            "east of the pilot; west is negative",
            "120",
        ),
        key(
            "north_m",
            "North",
            number(-20_000.0, 20_000.0, "m"),
            Need::Else("0"),
            "north of the pilot; south is negative",
            "80",
        ),
        key(
            "radius_m",
            "Radius",
            number(1.0, 50_000.0, "m"),
            Need::Else("no boundary, or its corners"),
            "the field's boundary as a circle round the pilot",
            "300",
        ),
        key(
            "air_kg_m3",
            "Air density",
            number(0.3, 1.6, "kg/m3"),
            Need::Else("1.225"),
            "for a fall with air drag; 1.225 is the standard atmosphere at sea level (ISO 2533)",
            "1.225",
        ),
    ],
};

const CORNER: Table = Table {
    name: "corner",
    label: "Corner",
    many: Many::Several,
    what: "one corner of the field's boundary; three or more, in their order round the field",
    keys: &[
        key(
            "east_m",
            "East",
            number(-50_000.0, 50_000.0, "m"),
            Need::Must,
            "east of the pilot; west is negative",
            "250",
        ),
        key(
            "north_m",
            "North",
            number(-50_000.0, 50_000.0, "m"),
            Need::Must,
            "north of the pilot; south is negative",
            "-40",
        ),
    ],
};
