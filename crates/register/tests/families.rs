//! Family files: what is read, what is refused and how it is told, and that writing and
//! reading are each other's reverse.

#[path = "families/arbitrary.rs"]
mod arbitrary;
#[path = "families/reference.rs"]
mod reference;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use proptest::prelude::*;
use register::family::read::{self, Problem, read};
use register::family::write::write;
use register::family::{
    Access, CheckedAt, ChipKind, Energised, FamilyFault, HeaderKind, InterleavingKind, LampState,
    ModelIdRule, Modulation, PacketFormat, PartnerRule, RegionRule, SecretRule, Side, VersionRule, shipped,
};
use register::field::Field;
use register::minutes::MinutesTable;
use units::{Db, Khz, Micros, Milliwatts, Minutes, Seconds};

/// A small file without a problem; each row of the table below breaks it in one way.
const GOOD: &str = r#"schema = 1

[family]
name = "Sanderling"

[[band]]
name = "2.4 GHz"
also = ["2400"]
low_mhz = 2400
high_mhz = 2483.5
channels = 40
spacing_khz = 2000

[[band]]
name = "868 MHz"
low_mhz = 863
high_mhz = 870

[region]
variants = ["North", "South"]
must_match = true

[version]
rule = "groups"

[[version.group]]
name = "old"
spans = ["1.0..1.9", "2.3"]

[[version.group]]
name = "new"
spans = ["3..4"]

[secret]
rule = "equal"
blank_allowed = true

[partners]
remembers = 2

[model_id]
checked_at = "receiver"
low = 1
high = 40
off = 0

[[mode]]
name = "120 Hz"
bands = ["2.4 GHz"]
modulation = "css"
spreading_factor = 7
bandwidth_khz = 812.5
packet_rate_hz = 120
payload_bytes = 10
telemetry_one_in = [5, 20]

[power]
steps_mw = [10, 50]

[pairing]
gesture = ["Press the recessed key."]
energises = ["receiver"]
minutes = 3

[[lamp]]
state = "linked"
shows = "rose"

[waiting]
after_s = 90
does = "goes dark"

[[flash]]
name = "bench lead"
side = "receiver"
minutes = 8
needs = ["the socket"]
energises = ["receiver"]
wipes = ["partners"]

[minutes]
check.firmware = 4
"#;

fn problems(text: &str) -> Vec<Problem> {
    read("f.toml", text).err().unwrap_or_default()
}

fn told(text: &str) -> Vec<String> {
    problems(text).iter().map(ToString::to_string).collect()
}

#[test]
fn the_good_file_is_good() {
    let family = read("f.toml", GOOD).unwrap();
    assert_eq!(family.name, "Sanderling");
    assert_eq!(family.bands.len(), 2);
    assert_eq!(
        family.model_id,
        ModelIdRule::Checked {
            at: CheckedAt::Receiver,
            low: 1,
            high: 40,
            off: Some(0),
            refused: String::new()
        }
    );
    assert_eq!(family.secret, SecretRule::Equal { blank_allowed: true, links_unpaired: false });
    assert_eq!(family.wiped_by(Side::Receiver, "bench lead"), [Field::Partners]);
    assert_eq!(family.minutes, BTreeMap::from([("check.firmware".to_owned(), Minutes(4.0))]));
}

/// What is put in place of a line of the good file, and every problem that follows.
#[test]
#[expect(clippy::too_many_lines, reason = "a table, a row a problem")]
fn each_problem_is_told_with_its_line_and_key() {
    let long = "x".repeat(2_001);
    let long_name = format!("name = \"{long}\"");
    let long_list = format!("variants = [{}]", "\"a\",".repeat(1_001));
    let hostile = "name = \"\"\n\"<b>\\u202e\\n\" = 1";
    let endless = format!("after_s = {}", "9".repeat(400));
    let endless_whole = format!("remembers = {}", "9".repeat(400));
    let many_words = format!("side = \"{}\"", "w".repeat(200));
    let rows: &[(&str, &str, &[&str])] = &[
        // The schema and the sections.
        ("schema = 1", "", &["f.toml:1: `schema` is missing; add it, as in `schema = 1`"]),
        (
            "schema = 1",
            "schema = 2",
            &[
                "f.toml:1: `schema` is 2, newer than the 1 this version reads; use a newer version of the program, or write the file for schema 1",
            ],
        ),
        ("schema = 1", "schema = 0", &["f.toml:1: `schema` is 0, outside 1 to 4294967295; correct it"]),
        (
            "[secret]\nrule = \"equal\"\nblank_allowed = true",
            "",
            &["f.toml:1: `secret` is missing; add a section [secret]"],
        ),
        (
            "[partners]\nremembers = 2",
            "[[partners]]\nremembers = 2",
            &["f.toml:38: `partners` is a list; there is one such section: write [partners]"],
        ),
        (
            "[[lamp]]",
            "[lamp]",
            &["f.toml:65: `lamp` is a section; there can be several: write [[lamp]] with two brackets"],
        ),
        (
            "[waiting]\nafter_s = 90\ndoes = \"goes dark\"",
            "[family.waiting]",
            &[
                "f.toml:69: `family.waiting` is not a key that belongs here; the keys here are `name`, `summary`, `invented`",
            ],
        ),
        // Syntax: one error stops the look at the meaning, a key given twice doesn't.
        (
            "remembers = 2",
            "remembers = ",
            &[
                "f.toml:39: the file can't be read from here: string values must be quoted, expected literal string; correct this line",
            ],
        ),
        (
            "remembers = 2",
            "remembers = 2\nremembers = 0",
            &["f.toml:40: the key on this line is given twice; keep one of the two"],
        ),
        (
            "after_s = 90\ndoes = \"goes dark\"",
            "does = 1\ndoes = 2",
            &[
                "f.toml:69: `waiting.after_s` is missing; add it, as in `after_s = 60`",
                "f.toml:70: `waiting.does` is a whole number; write text in quotes, as in `does = \"opens its settings page\"`",
                "f.toml:71: the key on this line is given twice; keep one of the two",
            ],
        ),
        // Unknown keys.
        (
            "blank_allowed = true",
            "blank_alowed = true",
            &[
                "f.toml:36: `secret.blank_alowed` is not a key that belongs here; did you mean `blank_allowed`?",
            ],
        ),
        (
            "remembers = 2",
            "colour = 2",
            &[
                "f.toml:39: `partners.colour` is not a key that belongs here; the keys here are `remembers`, `pairing_drops_others`",
            ],
        ),
        (
            "name = \"Sanderling\"",
            hostile,
            &[
                "f.toml:4: `family.name` is blank; write something, as in `name = \"My system\"`",
                "f.toml:5: `family.<b>\\u{202e}\\u{a}` is not a key that belongs here; the keys here are `name`, `summary`, `invented`",
            ],
        ),
        // Types.
        (
            "low_mhz = 2400",
            "low_mhz = \"2400\"",
            &["f.toml:9: `band[1].low_mhz` is text; write a number from 1 to 100000, as in `low_mhz = 2400`"],
        ),
        (
            "must_match = true",
            "must_match = 1",
            &[
                "f.toml:21: `region.must_match` is a whole number; write true or false, as in `must_match = true`",
            ],
        ),
        (
            "remembers = 2",
            "remembers = 2.0",
            &[
                "f.toml:39: `partners.remembers` is a number with decimals; write a whole number from 1 to 10000, as in `remembers = 1`",
            ],
        ),
        (
            "gesture = [\"Press the recessed key.\"]",
            "gesture = \"Press\"",
            &[
                "f.toml:61: `pairing.gesture` is text; write a list in square brackets, as in `gesture = [\"Hold the side key.\", \"Switch the supply on.\"]`",
            ],
        ),
        (
            "needs = [\"the socket\"]",
            "needs = [1979-05-27,\n \" \"]",
            &[
                "f.toml:77: `flash[1].needs[1]` is a date; write text in quotes",
                "f.toml:78: `flash[1].needs[2]` is blank; write something or leave it out",
            ],
        ),
        // Ranges.
        (
            "high = 40",
            "high = -1",
            &["f.toml:44: `model_id.high` is -1, outside 0 to 4294967295; correct it"],
        ),
        (
            "spreading_factor = 7",
            "spreading_factor = 13",
            &["f.toml:51: `mode[1].spreading_factor` is 13, outside 5 to 12; correct it"],
        ),
        (
            "spreading_factor = 7",
            "spreading_factor = 4",
            &["f.toml:51: `mode[1].spreading_factor` is 4, outside 5 to 12; correct it"],
        ),
        (
            "packet_rate_hz = 120",
            "packet_rate_hz = nan",
            &["f.toml:53: `mode[1].packet_rate_hz` is NaN, outside 0.01 to 100000; correct it"],
        ),
        (
            "packet_rate_hz = 120",
            "packet_rate_hz = 1e300",
            &["f.toml:53: `mode[1].packet_rate_hz` is 1e300, outside 0.01 to 100000; correct it"],
        ),
        (
            "after_s = 90",
            &endless,
            &["f.toml:70: `waiting.after_s` is a number too large to read, outside 0 to 604800; correct it"],
        ),
        (
            "remembers = 2",
            &endless_whole,
            &[
                "f.toml:39: `partners.remembers` is a number too large to read, outside 1 to 10000; correct it",
            ],
        ),
        (
            "minutes = 3",
            "minutes = -3",
            &["f.toml:63: `pairing.minutes` is -3, outside 0 to 10080; correct it"],
        ),
        (
            "telemetry_one_in = [5, 20]",
            "telemetry_one_in = [5, 0]",
            &["f.toml:55: `mode[1].telemetry_one_in[2]` is 0, outside 1 to 100000; correct it"],
        ),
        (
            "steps_mw = [10, 50]",
            "steps_mw = [10, -5]",
            &["f.toml:58: `power.steps_mw[2]` is -5, outside 0.001 to 1000000; correct it"],
        ),
        (
            "spacing_khz = 2000",
            "noise_figure_db = 30.5\naccess = \"polite\"",
            &[
                "f.toml:12: `band[1].noise_figure_db` is 30.5, outside 0 to 30; correct it",
                "f.toml:13: `band[1].access` is \"polite\"; write \"none\", \"listen-before-talk\" or \"detect-and-avoid\"",
            ],
        ),
        (
            "spacing_khz = 2000",
            "noise_figure_db = -1\naccess = true",
            &[
                "f.toml:12: `band[1].noise_figure_db` is -1, outside 0 to 30; correct it",
                "f.toml:13: `band[1].access` is true or false; write text in quotes, as in `access = \"listen-before-talk\"`",
            ],
        ),
        (
            "spreading_factor = 7",
            "spreading_factor = 7\npreamble_symbols = 0\nheader = \"none\"\ncrc = \"yes\"\ninterleaving = \"short\"\npacket_format = \"900\"",
            &[
                "f.toml:52: `mode[1].preamble_symbols` is 0, outside 1 to 65535; correct it",
                "f.toml:53: `mode[1].header` is \"none\"; write \"explicit\" or \"implicit\"",
                "f.toml:54: `mode[1].crc` is text; write true or false, as in `crc = true`",
                "f.toml:55: `mode[1].interleaving` is \"short\"; write \"standard\" or \"long\"",
                "f.toml:56: `mode[1].packet_format` is \"900\"; write \"sub-ghz\" or \"2g4\"",
            ],
        ),
        (
            "spreading_factor = 7",
            "spreading_factor = 7\npreamble_symbols = 65536",
            &["f.toml:52: `mode[1].preamble_symbols` is 65536, outside 1 to 65535; correct it"],
        ),
        (
            "payload_bytes = 10",
            "payload_bytes = 10\nhop_every = 0",
            &["f.toml:55: `mode[1].hop_every` is 0, outside 1 to 1000; correct it"],
        ),
        (
            "payload_bytes = 10",
            "payload_bytes = 10\nhop_every = 1001",
            &["f.toml:55: `mode[1].hop_every` is 1001, outside 1 to 1000; correct it"],
        ),
        (
            "modulation = \"css\"\nspreading_factor = 7\nbandwidth_khz = 812.5",
            "modulation = \"stated\"\nsensitivity_dbm = -100\noccupied_khz = 0\nairtime_us = 0.5",
            &[
                "f.toml:52: `mode[1].occupied_khz` is 0, outside 0.1 to 100000; correct it",
                "f.toml:53: `mode[1].airtime_us` is 0.5, outside 1 to 100000000; correct it",
            ],
        ),
        (
            "steps_mw = [10, 50]",
            "telemetry_mw = 0",
            &["f.toml:58: `power.telemetry_mw` is 0, outside 0.001 to 1000000; correct it"],
        ),
        (
            "[minutes]",
            "[failsafe]\nafter_s = 0\n\n[minutes]",
            &["f.toml:82: `failsafe.after_s` is 0, outside 0.001 to 3600; correct it"],
        ),
        (
            "[minutes]",
            "[failsafe]\nafter = 1\n\n[minutes]",
            &["f.toml:82: `failsafe.after` is not a key that belongs here; did you mean `after_s`?"],
        ),
        (
            "check.firmware = 4",
            "check.firmware = -4",
            &["f.toml:82: `minutes.check.firmware` is -4, outside 0 to 10080 minutes; correct it"],
        ),
        (
            "check.firmware = 4",
            "check.firmware = \"4\"",
            &[
                "f.toml:82: `minutes.check.firmware` is text; write the minutes as a number, as in `check.firmware = 2`",
            ],
        ),
        // Missing keys.
        ("low_mhz = 863", "", &["f.toml:14: `band[2].low_mhz` is missing; add it, as in `low_mhz = 2400`"]),
        (
            "energises = [\"receiver\"]\nwipes = [\"partners\"]",
            "",
            &[
                "f.toml:73: `flash[1].energises` is missing; add it, as in `energises = [\"receiver\"]`",
                "f.toml:73: `flash[1].wipes` is missing; add it, as in `wipes = [\"partners\"]`",
            ],
        ),
        (
            "spreading_factor = 7",
            "",
            &["f.toml:47: `mode[1].spreading_factor` is missing; add it, as in `spreading_factor = 7`"],
        ),
        // Given twice.
        (
            "name = \"868 MHz\"",
            "name = \"2.4ghz\"",
            &["f.toml:15: `band[2].name` says \"2.4ghz\", which is band 1 already; give it another name"],
        ),
        (
            "name = \"868 MHz\"",
            "name = \"868 MHz\"\nalso = [\"2400\"]",
            &["f.toml:16: `band[2].also` says \"2400\", which is band 1 already; give it another name"],
        ),
        (
            "variants = [\"North\", \"South\"]",
            "variants = [\"North\", \"north\"]",
            &["f.toml:20: `region.variants` names \"north\" twice; leave one out"],
        ),
        (
            "name = \"new\"",
            "name = \"old\"",
            &[
                "f.toml:31: `version.group[2].name` says \"old\", which names another group already; give it another name",
            ],
        ),
        (
            "steps_mw = [10, 50]",
            "steps_mw = [10, 10.0]",
            &["f.toml:58: `power.steps_mw[2]` says 10 mW a second time; leave it out"],
        ),
        (
            "wipes = [\"partners\"]",
            "wipes = [\"secret\", \"secret\"]",
            &["f.toml:79: `flash[1].wipes[2]` says \"secret\" a second time; leave it out"],
        ),
        (
            "[waiting]",
            "[[lamp]]\nstate = \"Linked\"\nshows = \"red\"\n\n[waiting]",
            &["f.toml:70: `lamp[2].state` says \"Linked\", which has a lamp already; keep one of the two"],
        ),
        (
            "check.firmware = 4",
            "check.firmware = 4\n\"check.firmware\" = 5",
            &["f.toml:83: `minutes.check.firmware` is given twice; keep one of the two"],
        ),
        // Parts that contradict each other.
        (
            "low_mhz = 2400\nhigh_mhz = 2483.5",
            "low_mhz = 2483.5\nhigh_mhz = 2400",
            &["f.toml:9: `band[1].low_mhz` is 2483.5, not below high_mhz (2400); write the lower edge here"],
        ),
        (
            "channels = 40",
            "channels = 43",
            &[
                "f.toml:11: `band[1].channels` is 43: at 2000 kHz apart they need 84 MHz, and the band has 83.5; correct the channels, the spacing or the edges",
            ],
        ),
        ("channels = 40", "channels = 42", &[]),
        (
            "low = 1",
            "low = 41",
            &["f.toml:43: `model_id.low` is 41, above high (40); write the least ID here"],
        ),
        ("off = 0", "off = 7", &[]),
        (
            "bands = [\"2.4 GHz\"]",
            "bands = [\"2.5 GHz\"]",
            &[
                "f.toml:49: `mode[1].bands[1]` is \"2.5 GHz\", and no [[band]] is called that; the bands are \"2.4 GHz\", \"868 MHz\"",
            ],
        ),
        (
            "spans = [\"3..4\"]",
            "spans = [\"4..3\"]",
            &[
                "f.toml:32: `version.group[2].spans[1]` runs from 4 down to 3; write the lower version first, as in \"3..4\"",
            ],
        ),
        (
            "spans = [\"3..4\"]",
            "spans = [\"1.9.7..4\"]",
            &[
                "f.toml:32: `version.group[2].spans[1]` shares versions with the group \"old\"; a version can be in one group only",
            ],
        ),
        (
            "spans = [\"3..4\"]",
            "spans = [\"3.x\"]",
            &[
                "f.toml:32: `version.group[2].spans[1]` has \"3.x\" where a version should be; write numbers with dots, as in \"2.3\" or \"1.0..1.9\"",
            ],
        ),
        (
            "spans = [\"3..4\"]",
            "spans = []",
            &[
                "f.toml:32: `version.group[2].spans` names no version; write some, as in `spans = [\"1.0..1.9\", \"2.3\"]`",
            ],
        ),
        (
            "rule = \"groups\"",
            "rule = \"any\"\nparts = 1",
            &[
                "f.toml:25: `version.parts` means something only with rule = \"same-parts\"; leave it out, or choose that",
                "f.toml:27: `version.group` means something only with rule = \"groups\"; leave it out, or choose that",
            ],
        ),
        (
            "rule = \"groups\"",
            "rule = \"major\"",
            &["f.toml:24: `version.rule` is \"major\"; write \"any\", \"same-parts\" or \"groups\""],
        ),
        (
            "checked_at = \"receiver\"\nlow = 1\nhigh = 40",
            "checked_at = \"none\"",
            &[
                "f.toml:43: `model_id.off` means something only with checked_at = \"receiver\" or \"transmitter\"; leave it out, or choose that",
            ],
        ),
        (
            "variants = [\"North\", \"South\"]",
            "variants = []",
            &[
                "f.toml:21: `region.must_match` is true, but `variants` names none that could match; name them, or leave the section out",
            ],
        ),
        (
            "spreading_factor = 7",
            "spreading_factor = 7\ndeviation_khz = 5",
            &[
                "f.toml:52: `mode[1].deviation_khz` means something only with modulation = \"fsk\"; leave it out, or choose that",
            ],
        ),
        (
            "spreading_factor = 7",
            "spreading_factor = 7\nairtime_us = 900",
            &[
                "f.toml:52: `mode[1].airtime_us` means something only with modulation = \"stated\"; leave it out, or choose that",
            ],
        ),
        (
            "modulation = \"css\"\nspreading_factor = 7\nbandwidth_khz = 812.5",
            "modulation = \"fsk\"\nbit_rate_kbps = 100\ndeviation_khz = 50\ncrc = true\npreamble_symbols = 8",
            &[
                "f.toml:53: `mode[1].crc` means something only with modulation = \"css\"; leave it out, or choose that",
                "f.toml:54: `mode[1].preamble_symbols` means something only with modulation = \"css\"; leave it out, or choose that",
            ],
        ),
        ("spreading_factor = 7", "spreading_factor = 7\ncoding_rate = 8\ninterleaving = \"long\"", &[]),
        (
            "spreading_factor = 7",
            "spreading_factor = 7\ncoding_rate = 7\ninterleaving = \"long\"",
            &[
                "f.toml:53: `mode[1].interleaving` is \"long\", which no chip has at coding rate 4/7; write \"standard\", or another coding_rate",
            ],
        ),
        (
            "bands = [\"2.4 GHz\"]",
            "interleaving = \"long\"",
            &[
                "f.toml:49: `mode[1].interleaving` is \"long\", which packets on \"868 MHz\" can't be: only the 2.4 GHz chip generation has it; write \"standard\", or packet_format = \"2g4\"",
            ],
        ),
        ("bands = [\"2.4 GHz\"]", "interleaving = \"long\"\npacket_format = \"2g4\"", &[]),
        // One fault, one problem: a band without its edge is not below 1 GHz.
        (
            "low_mhz = 863\nhigh_mhz = 870\n\n[region]",
            "high_mhz = 870\n\n[[mode]]\nname = \"long\"\nmodulation = \"css\"\nspreading_factor = 7\nbandwidth_khz = 812.5\ninterleaving = \"long\"\npacket_rate_hz = 9\npayload_bytes = 9\n\n[region]",
            &["f.toml:14: `band[2].low_mhz` is missing; add it, as in `low_mhz = 2400`"],
        ),
        (
            "wipes = [\"partners\"]",
            "wipes = [\"band\"]",
            &[
                "f.toml:79: `flash[1].wipes[1]` is \"band\"; it can be \"partners\", \"secret\", \"model_id\" or \"region\"",
            ],
        ),
        // Lamps and faults of its own.
        (
            "shows = \"rose\"",
            "shows = \"rose\"\nmeans = \"glowing\"",
            &[
                "f.toml:68: `lamp[1].means` is \"glowing\"; write \"off\", \"waiting\", \"pairing\", \"settings\", \"linked\", \"refused\", \"update\" or \"other\"",
            ],
        ),
        (
            "[minutes]",
            "[[fault]]\n\n[minutes]",
            &[
                "f.toml:81: `fault[1]` says nothing about the cause; give it a `label`, a `weight`, an `ask` or a `mend`",
                "f.toml:81: `fault[1].key` is missing; add it, as in `key = \"cracked_lead\"`",
                "f.toml:81: `fault[1].symptom` is missing; add it, as in `symptom = \"wont_pair\"`",
            ],
        ),
        (
            "[minutes]",
            "[[fault]]\nsymptom = \"won't pair\"\nkey = \"a-b\"\nlabel = \" \"\nweight = 10001\n\n[minutes]",
            &[
                "f.toml:82: `fault[1].symptom` is \"won't pair\"; a key has letters a to z, digits and _ only, as in `wont_pair`",
                "f.toml:83: `fault[1].key` is \"a-b\"; a key has letters a to z, digits and _ only, as in `wont_pair`",
                "f.toml:84: `fault[1].label` is blank; write something, as in `label = \"The antenna's lead is cracked where it is crimped\"`",
                "f.toml:85: `fault[1].weight` is 10001, outside 0 to 10000; correct it",
            ],
        ),
        (
            "[minutes]",
            "[[fault]]\nsymptom = \"wont_pair\"\nkey = \"lead\"\nask = \"Is it?\"\nmend = \"Mend it\"\n\n[minutes]",
            &[
                "f.toml:81: `fault[1].ask_minutes` is missing; add it, as in `ask_minutes = 2`",
                "f.toml:81: `fault[1].energises` is missing; add it, as in `energises = [\"receiver\"]`",
                "f.toml:81: `fault[1].mend_minutes` is missing; add it, as in `mend_minutes = 15`",
            ],
        ),
        (
            "[minutes]",
            "[[fault]]\nsymptom = \"wont_pair\"\nkey = \"lead\"\nweight = 2\nask_how = \"\"\nask_minutes = 1\nyes_if = 1\nyes_else = 0\nmend_how = \"\"\nmend_minutes = 1\ncures = 1\nenergises = [\"motor\"]\n\n[minutes]",
            &[
                "f.toml:85: `fault[1].ask_how` means something only with an `ask`; leave it out, or choose that",
                "f.toml:86: `fault[1].ask_minutes` means something only with an `ask`; leave it out, or choose that",
                "f.toml:87: `fault[1].yes_if` means something only with an `ask`; leave it out, or choose that",
                "f.toml:88: `fault[1].yes_else` means something only with an `ask`; leave it out, or choose that",
                "f.toml:89: `fault[1].mend_how` means something only with a `mend`; leave it out, or choose that",
                "f.toml:90: `fault[1].mend_minutes` means something only with a `mend`; leave it out, or choose that",
                "f.toml:91: `fault[1].cures` means something only with a `mend`; leave it out, or choose that",
                "f.toml:92: `fault[1].energises` means something only with an `ask` or a `mend`; leave it out, or choose that",
            ],
        ),
        (
            "[minutes]",
            "[[fault]]\nsymptom = \"wont_pair\"\nkey = \"lead\"\nweight = 2\nenergises = []\n\n[minutes]",
            &[],
        ),
        (
            "[minutes]",
            "[[fault]]\nsymptom = \"wont_pair\"\nkey = \"lead\"\nweight = 2\n\n[[fault]]\nsymptom = \"wont_pair\"\nkey = \"lead\"\nweight = 3\n\n[[fault]]\nsymptom = \"range\"\nkey = \"lead\"\nweight = 3\n\n[minutes]",
            &[
                "f.toml:88: `fault[2].key` says \"lead\", which \"wont_pair\" has already; keep one of the two, or give it another key",
            ],
        ),
        (
            "[minutes]",
            "[[fault]]\nsymptom = \"wont_pair\"\nkey = \"lead\"\nask = \"Is it?\"\nask_minutes = 10081\nyes_else = 0.9\nmend = \"Mend it\"\nmend_minutes = -1\ncures = 1.5\nenergises = [\"propeller\"]\n\n[minutes]",
            &[
                "f.toml:85: `fault[1].ask_minutes` is 10081, outside 0 to 10080; correct it",
                "f.toml:86: `fault[1].yes_else` makes a yes no likelier with this cause (0.9) than with another (0.9): no answer would point to it; correct `yes_if` or `yes_else`, or turn the question round",
                "f.toml:88: `fault[1].mend_minutes` is -1, outside 0 to 10080; correct it",
                "f.toml:89: `fault[1].cures` is 1.5, outside 0 to 1; correct it",
                "f.toml:90: `fault[1].energises[1]` is \"propeller\"; it can be \"receiver\", \"servos\", \"motor\" or \"transmitter\"",
            ],
        ),
        // Sizes, and how much is quoted.
        (
            "name = \"Sanderling\"",
            &long_name,
            &["f.toml:4: `family.name` has 2001 characters, more than the 2000 it may have; shorten it"],
        ),
        (
            "variants = [\"North\", \"South\"]\nmust_match = true",
            &long_list,
            &["f.toml:20: `region.variants` has 1001 values, more than the 1000 it may have; shorten it"],
        ),
        (
            "side = \"receiver\"",
            &many_words,
            &[
                "f.toml:75: `flash[1].side` is \"wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww…\"; write \"transmitter\" or \"receiver\"",
            ],
        ),
        // What stands among the secrets is not quoted.
        (
            "rule = \"equal\"",
            "rule = \"canary-in-the-reeds\"",
            &["f.toml:35: `secret.rule` is none of its words; write \"none\" or \"equal\""],
        ),
    ];
    let mut wrong = Vec::new();
    for (from, to, want) in rows {
        assert!(GOOD.contains(from), "the row doesn't touch the file: {from}");
        let got = told(&GOOD.replacen(from, to, 1));
        if got != *want {
            wrong.push(format!("{from:?} -> {to:.80?}\n  got  {got:#?}\n  want {want:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_secret_written_into_a_family_is_not_told() {
    for slip in [
        "rule = \"canary\"",
        "rule = [\"canary\"]",
        "rule = \"equal\"\nblank_allowed = \"canary\"",
        "rule = \"equal\"\nword = \"canary\"",
        "rule = \"equal\"\ncanary = true",
        "rule = \"equal\"\n\"the canary sings\" = 1",
        "rule = canary",
        "rule = \"canary",
        "rule = \"equal\" canary",
        "canary",
    ] {
        let told = told(&GOOD.replace("rule = \"equal\"", slip)).join("\n");
        assert!(told.contains("f.toml:3"), "{slip}: {told}");
        assert!(!told.contains("canary"), "{slip}: {told}");
    }
    let top = told(
        &GOOD
            .replace("[secret]\nrule", "[partner]\nrule")
            .replace("schema = 1", "schema = 1\nsecret = 'canary'"),
    );
    assert!(top.iter().any(|one| one.starts_with("f.toml:2: `secret` is text")), "{top:?}");
    assert!(!top.join("\n").contains("canary"));
}

#[test]
fn every_problem_of_a_file_is_told_at_once() {
    let text = GOOD
        .replace("high = 40", "high = -1")
        .replace("spreading_factor = 7", "spreading_factor = 13")
        .replace("rule = \"equal\"", "rule = 1")
        .replace("name = \"Sanderling\"", "");
    let got: Vec<(usize, String)> = problems(&text).into_iter().map(|one| (one.line, one.key)).collect();
    let want =
        [(3, "family.name"), (35, "secret.rule"), (44, "model_id.high"), (51, "mode[1].spreading_factor")];
    assert_eq!(got, want.map(|(line, key)| (line, key.to_owned())));
}

#[test]
fn a_huge_file_or_a_flood_of_problems_is_cut() {
    let huge = format!("{GOOD}#{}", "x".repeat(read::LARGEST_FILE_BYTES));
    assert_eq!(
        told(&huge),
        [format!(
            "f.toml:1: the file has {} bytes, more than the 262144 a family file may have; \
             check that it is the right file",
            huge.len()
        )]
    );
    let mut flood = GOOD.to_owned();
    for i in 0..5_000 {
        writeln!(flood, "k{i} = \"no time\"").unwrap();
    }
    let told = told(&flood);
    assert_eq!(told.len(), read::MOST_PROBLEMS + 1);
    assert!(
        told.last().unwrap().ends_with("4000 more problems follow; mend these first"),
        "{:?}",
        told.last()
    );
}

#[test]
fn what_is_left_out_has_the_documented_default() {
    let family = read(
        "f.toml",
        "schema = 1\nfamily.name = 'Small'\nsecret.rule = 'none'\nversion.rule = 'same-parts'\n\
         model_id.checked_at = 'none'\npairing = { energises = [], minutes = 0.5 }\n\
         band = [{ name = 'x', low_mhz = 1, high_mhz = 2 }]\n",
    )
    .unwrap();
    assert_eq!(family.versions, VersionRule::SameParts { parts: 1, called: "major".to_owned() });
    assert_eq!(family.partners, PartnerRule { remembers: 1, pairing_drops_others: false });
    assert_eq!(family.regions, RegionRule { variants: Vec::new(), must_match: false });
    assert!(!family.invented && family.modes.is_empty() && family.waiting.is_none());
}

/// What the manual doesn't say about the air is not known, whatever is usual.
#[test]
fn nothing_is_assumed_about_the_air() {
    let family = read("f.toml", GOOD).unwrap();
    assert!(family.bands.iter().all(|band| band.noise_figure.is_none() && band.access.is_none()));
    assert!(family.modes.iter().all(|mode| mode.packet.is_unknown() && mode.hop_every.is_none()));
    assert_eq!((family.telemetry_power, family.failsafe_after), (None, None));
    let written = write(&family);
    for key in
        ["noise_figure_db", "access", "preamble", "header", "crc", "hop_every", "telemetry_mw", "failsafe"]
    {
        assert!(!written.contains(key), "{key}");
    }
    // Not even with a section for it.
    let family = read("f.toml", &GOOD.replace("[minutes]", "[failsafe]\n\n[minutes]")).unwrap();
    assert_eq!(family.failsafe_after, None);
}

#[test]
fn what_is_said_about_the_air_is_read() {
    let docs = include_str!("../../../docs/families.md");
    let example = docs.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let family = read("docs/families.md", example).unwrap();
    let band = &family.bands[0];
    assert_eq!((band.noise_figure, band.access), (Some(Db(11.0)), Some(Access::ListenBeforeTalk)));
    let [chirp, stated] = family.modes.as_slice() else { panic!("two modes") };
    assert_eq!(
        chirp.packet,
        PacketFormat {
            preamble_symbols: Some(12),
            header: Some(HeaderKind::Implicit),
            crc: Some(true),
            interleaving: Some(InterleavingKind::Standard),
            chip: Some(ChipKind::Ghz2g4),
        }
    );
    assert_eq!((chirp.hop_every, stated.hop_every), (Some(1), None));
    assert!(matches!(
        stated.modulation,
        Modulation::Stated { occupied: Some(Khz(400.0)), airtime: Some(Micros(1800.0)), .. }
    ));
    assert_eq!(family.telemetry_power, Some(Milliwatts(25.0)));
    assert_eq!(family.failsafe_after, Some(Seconds(1.0)));
}

/// What isn't said of a fault is what the documentation says, and what is said is read.
#[test]
fn a_fault_of_its_own_is_read() {
    let fault = "[[fault]]\nsymptom = 'wont_pair'\nkey = 'lead'\nask = 'Is it?'\nask_minutes = 2\n\
                 mend = 'Mend it'\nmend_minutes = 15\nenergises = ['servos']\n\n[minutes]";
    let read_with = |fault: &str| read("f.toml", &GOOD.replace("[minutes]", fault)).unwrap().faults;
    let usual = FamilyFault {
        symptom: "wont_pair".to_owned(),
        key: "lead".to_owned(),
        label: None,
        weight: None,
        ask: Some("Is it?".to_owned()),
        ask_how: String::new(),
        ask_minutes: Some(Minutes(2.0)),
        yes_if: 0.9,
        yes_else: 0.05,
        mend: Some("Mend it".to_owned()),
        mend_how: String::new(),
        mend_minutes: Some(Minutes(15.0)),
        cures: 0.9,
        energises: vec![Energised::Servos],
    };
    assert_eq!(read_with(fault).as_slice(), std::slice::from_ref(&usual));
    let said = fault.replace(
        "ask =",
        "label = 'It is'\nweight = 0\nask_how = 'Look'\nyes_if = 1\nyes_else = 0\nmend_how = 'So'\n\
         cures = 0.5\nask =",
    );
    let want = FamilyFault {
        label: Some("It is".to_owned()),
        weight: Some(0.0),
        ask_how: "Look".to_owned(),
        yes_if: 1.0,
        yes_else: 0.0,
        mend_how: "So".to_owned(),
        cures: 0.5,
        ..usual
    };
    assert_eq!(read_with(&said), [want]);
    assert!(read("f.toml", GOOD).unwrap().faults.is_empty());
}

#[test]
fn a_lamp_may_say_what_it_means() {
    let means = |text: &str| read("f.toml", text).unwrap().lamps[0].means;
    assert_eq!(means(GOOD), None);
    for one in LampState::ALL {
        let said = GOOD.replace("shows = \"rose\"", &format!("shows = \"rose\"\nmeans = \"{}\"", one.word()));
        assert_eq!(means(&said), Some(one));
        assert_eq!(LampState::from_word(one.word()), Some(one));
    }
    assert_eq!(LampState::from_word("Linked"), None);
}

/// The packet format that isn't said follows the band; the one that is said doesn't.
#[test]
fn the_packet_format_follows_the_band() {
    let family = read("f.toml", GOOD).unwrap();
    let unsaid = family.modes[0].packet;
    assert_eq!(unsaid.chip_on(&family.bands[0]), ChipKind::Ghz2g4);
    assert_eq!(unsaid.chip_on(&family.bands[1]), ChipKind::SubGhz);
    let said = PacketFormat { chip: Some(ChipKind::Ghz2g4), ..unsaid };
    assert_eq!(said.chip_on(&family.bands[1]), ChipKind::Ghz2g4);
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_do_no_harm() {
    let text = format!("\u{feff}{}", GOOD.replace('\n', "\r\n"));
    assert_eq!(read("f.toml", &text).unwrap(), read("f.toml", GOOD).unwrap());
    let broken = text.replace("remembers = 2", "remembers = 0");
    assert_eq!(told(&broken), ["f.toml:39: `partners.remembers` is 0, outside 1 to 10000; correct it"]);
}

#[test]
fn the_documented_example_is_read() {
    let docs = include_str!("../../../docs/families.md");
    let example = docs.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    read("docs/families.md", example).unwrap();
}

#[test]
fn every_shipped_family_is_read_and_survives_a_rewrite() {
    let all: Vec<_> = shipped::starters().iter().chain(shipped::demo_families()).collect();
    assert_eq!(all.len(), 5);
    let mut names = BTreeSet::new();
    for (file, text) in all {
        let family = read(file, text).unwrap_or_else(|problems| panic!("{problems:#?}"));
        assert_eq!(read(file, &write(&family)).as_ref(), Ok(&family), "{file}");
        assert!(names.insert(family.name.clone()), "{file}: the name is taken");
    }
    assert!(shipped::demo_families().iter().all(|(file, text)| read(file, text).unwrap().invented));
}

/// The demo's families differ in every rule, so that the demo shows each of them.
#[test]
fn the_invented_families_differ() {
    let [one, other] = shipped::demo_families() else { panic!("two families") };
    let (one, other) = (read(one.0, one.1).unwrap(), read(other.0, other.1).unwrap());
    assert!(matches!(one.versions, VersionRule::SameParts { parts: 1, .. }));
    assert!(matches!(&other.versions, VersionRule::Groups(groups) if groups.len() == 2));
    assert_eq!(one.secret, SecretRule::Equal { blank_allowed: true, links_unpaired: true });
    assert_eq!(other.secret, SecretRule::Absent);
    assert!(matches!(one.model_id, ModelIdRule::Checked { at: CheckedAt::Receiver, off: Some(99), .. }));
    assert!(matches!(other.model_id, ModelIdRule::Checked { at: CheckedAt::Transmitter, off: Some(0), .. }));
    assert!(one.regions.must_match && other.regions.variants.is_empty());
    assert_eq!((one.partners.remembers, other.partners.remembers), (1, 3));
    assert_eq!(other.wiped_by(Side::Receiver, ""), [Field::Partners]);
    assert!(one.wiped_by(Side::Receiver, "its own network page").is_empty());
    assert_eq!((one.bands.len(), other.bands.len()), (3, 1));
}

/// A mode's packet must be over before the next begins. Time on air of a chirp packet by
/// the formulas of the SX1261/2 data sheet (6.1.4) and the SX1280 data sheet Rev 2.2
/// (7.4.4), which are one for standard interleaving up to spreading factor 10; of a keyed
/// one by its bits, 8 bytes of preamble and sync word and 2 of checksum.
#[test]
fn the_shipped_modes_fit_the_air() {
    let mut modes = 0;
    let mut wrong = Vec::new();
    for (file, text) in shipped::starters().iter().chain(shipped::demo_families()) {
        for mode in read(file, text).unwrap().modes {
            let airtime_s = match mode.modulation {
                Modulation::Css { spreading_factor, bandwidth, coding_rate } => {
                    assert!(spreading_factor <= 10);
                    let packet = mode.packet;
                    assert_eq!(packet.interleaving, Some(InterleavingKind::Standard));
                    let preamble = f64::from(packet.preamble_symbols.unwrap());
                    let header = if packet.header.unwrap() == HeaderKind::Explicit { 20.0 } else { 0.0 };
                    let crc = if packet.crc.unwrap() { 16.0 } else { 0.0 };
                    let sf = f64::from(spreading_factor);
                    let (sync, tail) = if spreading_factor < 7 { (6.25, 0.0) } else { (4.25, 8.0) };
                    let bits =
                        (8.0 * f64::from(mode.payload_bytes) + crc + header - 4.0 * sf + tail).max(0.0);
                    let symbols = preamble + sync + 8.0 + (bits / (4.0 * sf)).ceil() * f64::from(coding_rate);
                    symbols * sf.exp2() / bandwidth.hz()
                }
                Modulation::Fsk { bit_rate_kbps, .. } => {
                    f64::from(8 * (mode.payload_bytes + 10)) / (bit_rate_kbps * 1000.0)
                }
                Modulation::Stated { airtime, .. } => airtime.unwrap().seconds().0,
            };
            modes += 1;
            let used = airtime_s * mode.packet_rate.0;
            if !(used > 0.0 && used < 0.9) {
                wrong.push(format!("{file}: {} uses {used} of the air", mode.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(modes, 18);
}

/// In each invented family a faster mode costs range, and there is more than one share of
/// telemetry: there is something to choose.
#[test]
fn the_invented_families_leave_a_choice() {
    let mut bands = 0;
    for (file, text) in shipped::demo_families() {
        let family = read(file, text).unwrap();
        for band in &family.bands {
            let modes: Vec<_> = family
                .modes
                .iter()
                .filter(|mode| mode.bands.is_empty() || mode.bands.contains(&band.name))
                .collect();
            bands += 1;
            assert!(modes.len() >= 2, "{file}: {}", band.name);
            assert!(modes.is_sorted_by(|a, b| a.packet_rate > b.packet_rate), "{file}: {}", band.name);
            let slowness: Vec<f64> = modes
                .iter()
                .filter_map(|mode| match mode.modulation {
                    Modulation::Css { spreading_factor, .. } => Some(f64::from(spreading_factor)),
                    Modulation::Fsk { bit_rate_kbps, .. } => Some(-bit_rate_kbps),
                    Modulation::Stated { .. } => None,
                })
                .collect();
            assert!(slowness.is_sorted_by(|a, b| a < b), "{file}: {}: {slowness:?}", band.name);
            assert!(modes.iter().all(|mode| mode.telemetry_one_in.len() >= 3), "{file}: {}", band.name);
        }
    }
    assert_eq!(bands, 4);
}

#[test]
fn minutes_come_from_the_workshop_then_the_family_then_the_shipped_file() {
    let family = read("f.toml", GOOD).unwrap();
    let mut table = MinutesTable::shipped();
    assert_eq!(table.lookup("check.firmware", None), Minutes(2.0));
    assert_eq!(table.lookup("check.firmware", Some(&family)), Minutes(4.0));
    table.set("check.firmware", Minutes(7.0));
    assert_eq!(table.lookup("check.firmware", Some(&family)), Minutes(7.0));
    table.clear("check.firmware");
    assert_eq!(table.lookup("check.firmware", Some(&family)), Minutes(4.0));
    // What nobody names.
    assert_eq!(table.lookup("mend.gild", None), table.lookup("mend.other", None));
    assert_eq!(table.lookup("check.moon", None), table.lookup("check.other", None));
    assert_ne!(table.lookup("mend.other", None), table.lookup("check.other", None));
    table.set("mend.gild", Minutes(-1.0));
    assert_eq!(table.workshop("mend.gild"), Some(Minutes::ZERO));
    assert!(table.keys().contains(&"mend.gild"));
}

#[test]
fn the_shipped_minutes_name_every_check_and_mend() {
    let table = MinutesTable::shipped();
    let keys = table.keys();
    for key in
        "check.family check.band check.region check.firmware check.secret check.pairing check.model_id \
                check.memory check.family_file check.other mend.pair mend.set_secret mend.clear_secret \
                mend.set_model_id mend.set_memory_id mend.check_off mend.choose_end mend.add_memory mend.swap_receiver \
                mend.move_to_transmitter mend.flash mend.other refit.bench refit.cover refit.save refit.test \
                refit.range_check"
            .split_whitespace()
    {
        assert!(keys.contains(&key), "{key}");
        assert!(table.lookup(key, None) > Minutes::ZERO, "{key}");
    }
}

proptest! {
    #[test]
    fn a_written_family_reads_back_the_same(family in arbitrary::family()) {
        let text = write(&family);
        match read("f.toml", &text) {
            Ok(back) => prop_assert_eq!(back, family),
            Err(problems) => prop_assert!(false, "{problems:#?}\n{text}"),
        }
    }

    #[test]
    fn any_text_is_read_or_told(text in any::<String>()) {
        for problem in problems(&text) {
            prop_assert!(problem.line >= 1 && problem.line <= text.matches('\n').count() + 1);
        }
    }

    /// A good file with anything in place of some of its characters.
    #[test]
    fn a_damaged_file_is_read_or_told(at in 0..GOOD.len(), len in 0_usize..40, put in "\\PC{0,9}|[\\[\\]{}\"'=.,#\\n-]{0,5}") {
        let end = (at + len).min(GOOD.len());
        let text = format!("{}{put}{}", &GOOD[..at], &GOOD[end..]);
        for problem in problems(&text) {
            prop_assert!(problem.line >= 1 && problem.line <= text.matches('\n').count() + 1);
            prop_assert!(!problem.says.is_empty());
            prop_assert!(problem.to_string().chars().count() < 600, "{problem}");
        }
    }
}
