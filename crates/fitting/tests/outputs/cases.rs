//! Aircraft as texts: a clean one, what is changed on it and what is then found, one that is all
//! wrong.
//!
//! Each row's figures are common practice without a source unless it says otherwise; what is
//! computed from them stands in `says`.

use fitting::finding::Weight;

/// A change to the clean aircraft, and what is found then.
pub struct Case {
    /// What is wrong.
    pub what: &'static str,
    /// Texts of the clean aircraft and what stands there instead; each the first time.
    pub swap: &'static [(&'static str, &'static str)],
    /// Rows at the end.
    pub more: &'static str,
    /// The sort of craft.
    pub craft: &'static str,
    /// The receivers that are fitted; R7 where there is none here.
    pub receivers: &'static [&'static str],
    /// The transmitters that are meant to fly it.
    pub transmitters: &'static [&'static str],
    /// All that is found.
    pub finds: &'static [(&'static str, Weight)],
    /// What the texts have in them.
    pub says: &'static [&'static str],
}

const NONE: Case = Case {
    what: "",
    swap: &[],
    more: "",
    craft: "aeroplane",
    receivers: &[],
    transmitters: &[],
    finds: &[],
    says: &[],
};

const FAULT: Weight = Weight::Fault;
const WARNING: Weight = Weight::Warning;
const NOTE: Weight = Weight::Note;

/// Nothing wrong: two elevator servos mirrored on one surface, a motor, retracts.
pub const CLEAN: &str = r#"
[[transmitter]]
label = "T1"
order = ["AETR", "gear"]
channels = 8
steps = 1024

[[output]]
number = 3
[[output]]
number = 6
channel = 2
reversed = true

[[part]]
name = "aileron servo"
output = 1
low_us = 900
high_us = 2100
fastest_hz = 50
dead_band_us = 4

[[part]]
name = "elevator servo one"
output = 2
surface = "elevator"
low_us = 900
high_us = 2100
centre_us = 1500
longer_moves = "up"
dead_band_us = 2
[[part]]
name = "elevator servo two"
output = 6
surface = "Elevator"
low_us = 900
high_us = 2100
centre_us = 1500
longer_moves = "down"
dead_band_us = 2

[[part]]
name = "motor controller"
sort = "speed-controller"
output = 3
function = "throttle"
low_us = 1000
high_us = 2000
idle_us = 1000

[[part]]
name = "rudder servo"
output = 4
low_us = 1000
high_us = 2000
[[part]]
name = "retracts"
sort = "other"
output = 5
low_us = 1000
high_us = 2000
"#;

/// The rows.
pub const CASES: &[Case] = &[
    Case {
        what: "a 50 Hz servo on 333 Hz",
        more: "[[output]]\nnumber = 1\nrate_hz = 333\n",
        finds: &[("rate_too_fast", FAULT)],
        says: &["sends 333 Hz; aileron servo takes at most 50 Hz"],
        ..NONE
    },
    Case {
        what: "a servo whose rate nobody wrote down, in a fast group",
        more: "[[output]]\nnumber = 4\nrate_hz = 200\ngroup = 1\n",
        finds: &[("rate_too_fast", WARNING)],
        says: &["so 50 Hz is taken"],
        ..NONE
    },
    Case {
        what: "frames of 18 ms are taken for 50 Hz",
        more: "[[output]]\nnumber = 1\nrate_hz = 55.5\n",
        ..NONE
    },
    Case {
        what: "333 Hz leaves 0.903 ms after a pulse of 2.1 ms, which is room",
        swap: &[("fastest_hz = 50", "fastest_hz = 333")],
        more: "[[output]]\nnumber = 1\nrate_hz = 333\nlow_us = 900\nhigh_us = 2100\n",
        ..NONE
    },
    Case {
        what: "500 Hz can't carry a pulse of 2000 µs",
        swap: &[("fastest_hz = 50", "fastest_hz = 560")],
        more: "[[output]]\nnumber = 1\nrate_hz = 500\n",
        finds: &[("frame_too_short", FAULT)],
        says: &["a frame of 2 ms; its longest pulse of 2 ms doesn't fit in"],
        ..NONE
    },
    Case {
        what: "450 Hz leaves too little",
        swap: &[("fastest_hz = 50", "fastest_hz = 560")],
        more: "[[output]]\nnumber = 1\nrate_hz = 450\n",
        finds: &[("frame_too_short", WARNING)],
        says: &["leaves 0.222 ms"],
        ..NONE
    },
    Case {
        what: "ten channels leave no pause in 22 ms",
        more: "[[output]]\nnumber = 9\nchannel = 1\nsends = \"train\"\ntrain_channels = 10\nrate_hz = 45.4545454545\n\
               [[part]]\nname = \"flight controller\"\nsort = \"controller\"\noutput = 9\nstream = \"train\"\n",
        finds: &[("train_too_long", FAULT)],
        says: &["20 ms with all at their longest, which leaves 2 ms of pause"],
        ..NONE
    },
    Case {
        what: "eight channels leave 4 ms in 20 ms",
        more: "[[output]]\nnumber = 9\nchannel = 1\nsends = \"train\"\n\
               [[part]]\nname = \"flight controller\"\nsort = \"controller\"\noutput = 9\nstream = \"train\"\n",
        ..NONE
    },
    Case {
        what: "one group, two rates",
        swap: &[
            ("number = 3", "number = 3\ngroup = 2"),
            ("number = 6", "number = 6\ngroup = 2\nrate_hz = 55"),
        ],
        finds: &[("group_rates_differ", WARNING)],
        says: &["50 Hz and 55 Hz"],
        ..NONE
    },
    Case {
        what: "both elevator servos go the same way round, one reversed",
        swap: &[("longer_moves = \"down\"", "longer_moves = \"up\"")],
        finds: &[("servos_opposed", FAULT)],
        // 0.09 degree per µs over 500 µs, either side (common practice, no source).
        says: &["at -45° and elevator servo two at 45°: 90° apart"],
        ..NONE
    },
    Case {
        what: "centres 40 µs apart: 3.6 degrees",
        swap: &[("reversed = true", "reversed = true\nlow_us = 1000\ncentre_us = 1540\nhigh_us = 2000")],
        finds: &[("servos_apart", WARNING), ("centre_off", NOTE)],
        says: &["3.6° apart"],
        ..NONE
    },
    Case {
        what: "one servo has four fifths of the other's travel: 9 degrees at the ends",
        swap: &[("longer_moves = \"down\"", "longer_moves = \"down\"\ndeg_per_us = 0.072")],
        finds: &[("servos_apart", FAULT)],
        says: &["at the stick's low end", "9° apart"],
        ..NONE
    },
    Case {
        what: "less apart than the dead band",
        swap: &[("reversed = true", "reversed = true\nlow_us = 1000\ncentre_us = 1502\nhigh_us = 2000")],
        ..NONE
    },
    Case {
        what: "which way a servo goes isn't known",
        swap: &[("longer_moves = \"down\"\n", "")],
        says: &["whether they fight wasn't checked"],
        ..NONE
    },
    Case {
        what: "an aileron servo with the motor on one output",
        swap: &[("output = 1", "output = 3\nfunction = \"aileron\"")],
        more: "[[output]]\nnumber = 1\nsends = \"nothing\"\n",
        finds: &[("output_used_twice", FAULT), ("function_differs", FAULT), ("channel_without_output", NOTE)],
        ..NONE
    },
    Case {
        what: "two aileron servos on one lead",
        more: "[[part]]\nname = \"aileron servo two\"\noutput = 1\nlow_us = 900\nhigh_us = 2100\n",
        finds: &[("output_shared", NOTE)],
        says: &["carries 2 parts: aileron servo and aileron servo two"],
        ..NONE
    },
    Case {
        what: "a light on the aileron lead",
        more: "[[part]]\nname = \"wing light\"\nsort = \"light\"\noutput = 1\nlow_us = 900\nhigh_us = 2100\n",
        finds: &[("output_used_twice", WARNING)],
        says: &["aileron servo and wing light"],
        ..NONE
    },
    Case {
        what: "an output that stands twice",
        more: "[[output]]\nnumber = 3\nchannel = 4\n",
        finds: &[("output_listed_twice", FAULT)],
        says: &["Output 3 of R7 stands here twice: channel 3", "channel 4"],
        ..NONE
    },
    Case {
        what: "an output that nothing hangs on",
        more: "[[output]]\nnumber = 7\nchannel = 1\n",
        finds: &[("output_bare", NOTE)],
        says: &["Output 7 of R7 sends channel 1 (aileron); nothing hangs on it"],
        ..NONE
    },
    Case {
        what: "no output for the rudder",
        swap: &[(
            "name = \"rudder servo\"\noutput = 4",
            "name = \"rudder servo\"\noutput = 4\nfunction = \"aileron\"",
        )],
        more: "[[output]]\nnumber = 4\nchannel = 1\n",
        finds: &[("channel_without_output", NOTE)],
        says: &["sends rudder on channel 4; no output carries it"],
        ..NONE
    },
    Case {
        what: "no output for the gear",
        swap: &[
            ("output = 5", "output = 4\nfunction = \"rudder\""),
            ("sort = \"other\"", "sort = \"servo\""),
        ],
        finds: &[("channel_without_output", NOTE), ("output_shared", NOTE)],
        says: &["gear on channel 5"],
        ..NONE
    },
    Case {
        what: "a glider's throttle channel leads nowhere",
        swap: &[
            ("[[output]]\nnumber = 3\n", ""),
            (
                "[[part]]\nname = \"motor controller\"\nsort = \"speed-controller\"\noutput = 3\nfunction = \"throttle\"\nlow_us = 1000\nhigh_us = 2000\nidle_us = 1000\n",
                "",
            ),
        ],
        craft: "glider",
        finds: &[("channel_without_output", NOTE)],
        ..NONE
    },
    Case {
        what: "a channel that nobody sends",
        swap: &[("channels = 8", "channels = 5")],
        more: "[[part]]\nname = \"horn\"\nsort = \"light\"\noutput = 6\nlow_us = 900\nhigh_us = 2100\n[[output]]\nnumber = 7\nchannel = 9\n[[part]]\nname = \"lamp\"\nsort = \"light\"\noutput = 7\nlow_us = 900\nhigh_us = 2100\n",
        finds: &[("channel_not_sent", FAULT), ("output_used_twice", WARNING)],
        says: &["carries channel 9; T1 sends 5 channels"],
        ..NONE
    },
    Case {
        what: "a channel without a word",
        more: "[[part]]\nname = \"lamp\"\nsort = \"light\"\noutput = 8\nlow_us = 900\nhigh_us = 2100\n",
        finds: &[("channel_not_named", NOTE)],
        says: &["T1's order doesn't say what that is"],
        ..NONE
    },
    Case {
        what: "the rudder servo in the output of the gear, with the function said",
        swap: &[
            (
                "name = \"rudder servo\"\noutput = 4",
                "name = \"rudder servo\"\nfunction = \"rudder\"\noutput = 5",
            ),
            (
                "name = \"retracts\"\nsort = \"other\"\noutput = 5",
                "name = \"retracts\"\nsort = \"other\"\nfunction = \"gear\"\noutput = 4",
            ),
        ],
        finds: &[("function_differs", FAULT), ("function_differs", WARNING)],
        says: &["Rudder servo serves rudder; output 5 of R7 carries channel 5, which is gear with T1"],
        ..NONE
    },
    Case {
        what: "a speed controller on the ailerons",
        swap: &[("name = \"aileron servo\"\n", "name = \"aileron servo\"\nsort = \"speed-controller\"\n")],
        finds: &[("function_differs", FAULT)],
        says: &["which is aileron with T1"],
        ..NONE
    },
    Case {
        what: "a servo on an output that sends nothing",
        more: "[[output]]\nnumber = 1\nsends = \"nothing\"\n",
        finds: &[("output_silent", FAULT), ("channel_without_output", NOTE)],
        ..NONE
    },
    Case {
        what: "a serial stream into a servo",
        more: "[[output]]\nnumber = 1\nstream = \"serial bus\"\n",
        finds: &[("stream_into_pulses", FAULT)],
        says: &["sends the serial stream \"serial bus\"; aileron servo takes pulses"],
        ..NONE
    },
    Case {
        what: "pulses into a serial input",
        more: "[[output]]\nnumber = 9\nchannel = 1\n[[part]]\nname = \"gyro\"\nsort = \"controller\"\noutput = 9\nstream = \"serial bus\"\n",
        finds: &[("pulses_into_stream", FAULT)],
        says: &["gyro expects the serial stream \"serial bus\""],
        ..NONE
    },
    Case {
        what: "one stream sent, another expected",
        more: "[[output]]\nnumber = 9\nstream = \"serial bus\"\n[[part]]\nname = \"gyro\"\nsort = \"controller\"\noutput = 9\nstream = \"other bus\"\n",
        finds: &[("stream_differs", FAULT)],
        says: &["sends the serial stream \"serial bus\"; gyro expects the serial stream \"other bus\""],
        ..NONE
    },
    Case {
        what: "the same stream at both ends, in other letters",
        more: "[[output]]\nnumber = 9\nstream = \"Serial bus\"\n[[part]]\nname = \"gyro\"\nsort = \"controller\"\noutput = 9\nstream = \"serial BUS\"\n",
        ..NONE
    },
    Case {
        what: "nobody wrote the stream's name down",
        more: "[[output]]\nnumber = 9\nsends = \"stream\"\n[[part]]\nname = \"gyro\"\nsort = \"controller\"\noutput = 9\nstream = \"serial bus\"\n",
        finds: &[("stream_not_named", WARNING)],
        ..NONE
    },
    Case {
        what: "nobody wrote down what the gyro expects",
        more: "[[output]]\nnumber = 9\nstream = \"serial bus\"\n[[part]]\nname = \"gyro\"\nsort = \"controller\"\noutput = 9\n",
        finds: &[("stream_not_named", WARNING)],
        ..NONE
    },
    Case {
        what: "a train into a stream",
        more: "[[output]]\nnumber = 9\nsends = \"train\"\nchannel = 1\n[[part]]\nname = \"gyro\"\nsort = \"controller\"\noutput = 9\nstream = \"serial bus\"\n",
        finds: &[("stream_differs", FAULT)],
        ..NONE
    },
    Case {
        what: "12 µs past an end",
        swap: &[("low_us = 900\nhigh_us = 2100\nfastest_hz", "low_us = 1012\nhigh_us = 2100\nfastest_hz")],
        finds: &[("range_outside", NOTE)],
        ..NONE
    },
    Case {
        what: "20 µs past an end",
        swap: &[("low_us = 900\nhigh_us = 2100\nfastest_hz", "low_us = 1020\nhigh_us = 2100\nfastest_hz")],
        finds: &[("range_outside", WARNING)],
        says: &["sends 1000 to 2000 µs; aileron servo takes 1020 to 2100 µs"],
        ..NONE
    },
    Case {
        what: "200 µs past both ends",
        more: "[[output]]\nnumber = 1\nlow_us = 700\nhigh_us = 2300\n",
        finds: &[("range_outside", FAULT)],
        says: &["sends 700 to 2300 µs"],
        ..NONE
    },
    Case {
        what: "half the range is used, and half the steps reach it",
        more: "[[output]]\nnumber = 1\nlow_us = 1250\nhigh_us = 1750\n",
        finds: &[("range_partly_used", NOTE), ("steps_lost", NOTE)],
        says: &[
            "so 42 % of its range is used",
            "1024 steps of T1 over 1000 µs are 0.977 µs apiece; between 1250 and 1750 µs 512 of them reach aileron servo",
        ],
        ..NONE
    },
    Case {
        what: "ten bits are coarser than a dead band of 0.5 µs",
        swap: &[("dead_band_us = 4", "dead_band_us = 0.5")],
        finds: &[("steps_coarse", NOTE)],
        says: &["0.977 µs apiece", "room for 2000 places over its 1000 µs, and 1024 are sent"],
        ..NONE
    },
    Case {
        what: "eleven bits are finer than a dead band of 0.5 µs",
        swap: &[("dead_band_us = 4", "dead_band_us = 0.5"), ("steps = 1024", "steps = 2048")],
        ..NONE
    },
    Case {
        what: "the servo's middle lies at 1520 µs",
        swap: &[("fastest_hz = 50", "fastest_hz = 50\ncentre_us = 1520")],
        finds: &[("centre_off", NOTE)],
        says: &["has its middle at 1520 µs"],
        ..NONE
    },
    Case {
        what: "a narrow-pulse tail servo (760 µs) on ordinary pulses",
        swap: &[(
            "name = \"rudder servo\"\noutput = 4\nlow_us = 1000\nhigh_us = 2000",
            "name = \"tail servo\"\noutput = 4\ncentre_us = 760\nfastest_hz = 560",
        )],
        finds: &[("pulse_kind_differs", FAULT)],
        says: &["pulses round 1500 µs; tail servo is made for a centre of 760 µs"],
        ..NONE
    },
    Case {
        what: "an ordinary servo on narrow pulses",
        more: "[[output]]\nnumber = 4\nlow_us = 500\ncentre_us = 760\nhigh_us = 1020\n",
        finds: &[("pulse_kind_differs", FAULT)],
        says: &["pulses round 760 µs; rudder servo is made for a centre of 1500 µs"],
        ..NONE
    },
    Case {
        what: "a narrow-pulse servo on its own pulses at 560 Hz",
        swap: &[(
            "name = \"rudder servo\"\noutput = 4\nlow_us = 1000\nhigh_us = 2000",
            "name = \"tail servo\"\noutput = 4\nlow_us = 500\ncentre_us = 760\nhigh_us = 1020\nfastest_hz = 560",
        )],
        more: "[[output]]\nnumber = 4\nlow_us = 500\ncentre_us = 760\nhigh_us = 1020\nrate_hz = 560\n",
        finds: &[("steps_lost", NOTE)],
        ..NONE
    },
    Case {
        what: "another transmitter has the throttle first",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"TAER\", \"gear\"]\nchannels = 8\n",
        finds: &[("order_moves_throttle", FAULT)],
        says: &[
            "channel 1 is aileron with T1 and throttle with T2 (aileron servo)",
            "channel 3 is throttle with T1 and elevator with T2 (motor controller)",
        ],
        ..NONE
    },
    Case {
        what: "ailerons and elevator exchanged",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"EATR\", \"gear\"]\nchannels = 8\n",
        finds: &[("order_differs", FAULT)],
        says: &[
            "channel 2 is elevator with T1 and aileron with T2 (elevator servo one and elevator servo two)",
        ],
        ..NONE
    },
    Case {
        what: "another switch",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"AETR\", \"flaps\"]\nchannels = 8\n",
        finds: &[("order_differs", WARNING)],
        says: &["channel 5 is gear with T1 and flaps with T2"],
        ..NONE
    },
    Case {
        what: "the same order in other words",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"ailerons\", \"elevator\", \"motor\", \"rudder\", \"gear\"]\nchannels = 8\n",
        ..NONE
    },
    Case {
        what: "a trainer's second transmitter with the throttle elsewhere",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"TAER\", \"gear\"]\nchannels = 8\nrole = \"second\"\n",
        finds: &[("order_moves_throttle", FAULT)],
        says: &["channel 1 is aileron with T1 and throttle with T2"],
        ..NONE
    },
    Case {
        what: "a trainer's second transmitter sends too little",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"AETR\"]\nchannels = 4\nrole = \"second\"\n",
        finds: &[("channel_not_sent", FAULT)],
        says: &["T2 (second, at the trainer's lead) sends 4 channels"],
        ..NONE
    },
    Case {
        what: "a trainer's second transmitter has its throttle reversed",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"AETR\", \"gear\"]\nchannels = 8\nrole = \"second\"\nreversed = [\"throttle\"]\n",
        finds: &[("direction_differs", FAULT), ("throttle_not_idle", FAULT)],
        says: &["With T2's throttle stick at rest (at its low end) output 3 of R7 sends 2000 µs"],
        ..NONE
    },
    Case {
        what: "only a second transmitter",
        swap: &[("label = \"T1\"", "label = \"T1\"\nrole = \"second\"")],
        finds: &[("no_main_transmitter", WARNING)],
        ..NONE
    },
    Case {
        what: "one of two transmitters has the elevator reversed",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"AETR\", \"gear\"]\nchannels = 8\nreversed = [\"elevator\"]\n",
        finds: &[("direction_differs", FAULT)],
        says: &["T2 sends elevator reversed, T1 doesn't"],
        ..NONE
    },
    Case {
        what: "one of two transmitters sends a wider range",
        more: "[[transmitter]]\nlabel = \"T2\"\norder = [\"AETR\", \"gear\"]\nchannels = 8\nlow_us = 950\nhigh_us = 2000\n",
        finds: &[
            ("sent_range_differs", WARNING),
            ("range_outside", WARNING),
            ("range_outside", WARNING),
            ("range_outside", WARNING),
            // 50 µs at 0.09 degree: the reversed servo has them at the other end.
            ("servos_apart", WARNING),
        ],
        says: &[
            "T1 sends 1000 to 2000 µs, T2 sends 950 to 2000 µs",
            "sends 950 to 2000 µs with T2",
            "4.5° apart",
        ],
        ..NONE
    },
    Case {
        what: "full throttle with the stick down",
        swap: &[("number = 3", "number = 3\nreversed = true")],
        finds: &[("throttle_not_idle", FAULT)],
        says: &["output 3 of R7 sends 2000 µs; the motor of motor controller stands at 1000 µs"],
        ..NONE
    },
    Case {
        what: "full throttle with the stick down, where nobody said at which pulse the motor stands",
        swap: &[("number = 3", "number = 3\nreversed = true"), ("\nidle_us = 1000", "")],
        finds: &[("throttle_not_idle", FAULT)],
        says: &["(taken: the output's shortest pulse)"],
        ..NONE
    },
    Case {
        what: "reversed twice is not reversed",
        swap: &[
            ("number = 3", "number = 3\nreversed = true"),
            ("steps = 1024", "steps = 1024\nreversed = [\"throttle\"]"),
        ],
        ..NONE
    },
    Case {
        what: "a throttle that rests in the middle, with a motor that stands at the low end",
        swap: &[("steps = 1024", "steps = 1024\nthrottle_rest = \"centre\"")],
        finds: &[("throttle_not_idle", FAULT)],
        says: &["(in its middle) output 3 of R7 sends 1500 µs"],
        ..NONE
    },
    Case {
        what: "a throttle that rests in the middle, with a motor that goes backwards",
        swap: &[
            ("steps = 1024", "steps = 1024\nthrottle_rest = \"centre\""),
            ("idle_us = 1000", "idle_us = 1500"),
        ],
        craft: "car",
        ..NONE
    },
    Case {
        what: "a receiver that the text forgot",
        receivers: &["R7", "R9"],
        finds: &[("receiver_not_named", WARNING)],
        ..NONE
    },
    Case {
        what: "a transmitter that the text forgot",
        transmitters: &["T1", "T4"],
        finds: &[("transmitter_not_written", WARNING)],
        says: &["T4 is meant to fly it"],
        ..NONE
    },
    Case {
        what: "a transmitter that the register does not know to fly it",
        transmitters: &["T4"],
        finds: &[("transmitter_not_written", WARNING), ("transmitter_not_meant", NOTE)],
        ..NONE
    },
    Case {
        what: "another receiver than the one that is fitted",
        swap: &[
            ("number = 3", "number = 3\nreceiver = \"R8\""),
            ("number = 6", "number = 6\nreceiver = \"R8\""),
            ("output = 1", "output = 1\nreceiver = \"R8\""),
            ("output = 2", "output = 2\nreceiver = \"R8\""),
            ("output = 6", "output = 6\nreceiver = \"R8\""),
            ("output = 3", "output = 3\nreceiver = \"R8\""),
            ("output = 4", "output = 4\nreceiver = \"R8\""),
            ("output = 5", "output = 5\nreceiver = \"R8\""),
        ],
        finds: &[("receiver_not_fitted", WARNING), ("receiver_not_written", WARNING)],
        says: &["Outputs of R8 are written down; what is fitted in the aircraft: R7"],
        ..NONE
    },
];

/// Nearly everything wrong.
pub const BAD: &str = r#"
[[transmitter]]
label = "T1"
order = ["AETR", "gear"]
channels = 8
steps = 512
[[transmitter]]
label = "T2"
order = ["TAER", "gear", "flaps"]
channels = 6
role = "second"
reversed = ["throttle"]
low_us = 950
high_us = 2050

[[output]]
receiver = "R7"
number = 1
rate_hz = 500
group = 1
[[output]]
receiver = "R7"
number = 2
group = 1
low_us = 1300
high_us = 1700
[[output]]
receiver = "R7"
number = 3
reversed = true
[[output]]
receiver = "R7"
number = 3
channel = 5
[[output]]
receiver = "R7"
number = 7
[[output]]
receiver = "R7"
number = 8
stream = "serial bus"
[[output]]
receiver = "R7"
number = 9
sends = "train"
channel = 1
train_channels = 12
[[output]]
receiver = "R7"
number = 10
sends = "nothing"
[[output]]
receiver = "R7"
number = 12
channel = 1

[[part]]
name = "left aileron servo"
receiver = "R7"
output = 1
surface = "aileron"
low_us = 1100
high_us = 1900
fastest_hz = 50
longer_moves = "up"
dead_band_us = 1
[[part]]
name = "right aileron servo"
receiver = "R7"
output = 12
surface = "aileron"
longer_moves = "down"
[[part]]
name = "elevator servo"
receiver = "R7"
output = 2
low_us = 900
high_us = 2100
centre_us = 1540
[[part]]
name = "motor controller"
receiver = "R7"
sort = "speed-controller"
output = 3
function = "throttle"
[[part]]
name = "tail servo"
receiver = "R7"
output = 4
centre_us = 760
fastest_hz = 560
[[part]]
name = "tail light"
receiver = "R7"
sort = "light"
output = 4
[[part]]
name = "gyro"
receiver = "R7"
sort = "controller"
output = 8
stream = "other bus"
[[part]]
name = "flap servo"
receiver = "R7"
output = 8
[[part]]
name = "flight controller"
receiver = "R7"
sort = "controller"
output = 9
[[part]]
name = "tow release"
receiver = "R7"
output = 10
[[part]]
name = "smoke pump"
receiver = "R8"
sort = "other"
output = 11
function = "smoke"
stream = "serial bus"
[[part]]
name = "horn"
receiver = "R7"
sort = "other"
output = 5
function = "horn"
"#;
