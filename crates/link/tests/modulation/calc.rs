//! The same by name, as it is typed.

use link::calc::{Value, find, list};

fn answer(name: &str, typed: &[(&str, &str)]) -> Result<Vec<(&'static str, f64)>, String> {
    let typed: Vec<(String, String)> =
        typed.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
    let answer = find(name).unwrap().answer(&typed).map_err(|error| error.to_string())?;
    Ok(answer
        .values
        .into_iter()
        .filter_map(|(key, value)| match value {
            Value::Number(number) => Some((key, number)),
            _ => None,
        })
        .collect())
}

const NAMES: [&str; 14] = [
    "thermal-noise",
    "manmade-noise",
    "css-airtime",
    "fsk-airtime",
    "fsk-bandwidth",
    "flrc-airtime",
    "css-sensitivity",
    "fsk-sensitivity",
    "flrc-sensitivity",
    "symbol-error",
    "symbol-error-snr",
    "fsk-bit-error",
    "hamming-codeword-error",
    "packet-error",
];

#[test]
fn every_example_gives_every_output() {
    for name in NAMES {
        let formula = list().find(|formula| formula.name == name).unwrap();
        let typed: Vec<(String, String)> =
            formula.example.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
        let answer = formula.answer(&typed).unwrap();
        let keys: Vec<&str> = answer.values.iter().map(|(key, _)| *key).collect();
        let declared: Vec<&str> = formula.outputs.iter().map(|output| output.key).collect();
        assert_eq!(keys, declared, "{name}");
        assert!(!formula.source.is_empty() && !formula.holds.is_empty() && !formula.formula.is_empty());
    }
}

/// What is typed, the output, its value and the tolerance: values of the tables beside (their
/// sources in the README).
const TYPED: &str = "
thermal-noise bandwidth_hz=125000 -> level_dbm -123.0061 0.0005
thermal-noise bandwidth_hz=125000 noise_figure_db=6 -> level_dbm -117.0061 0.0005
manmade-noise environment=quiet_rural frequency_mhz=868 -> noise_db -30.442 0.001
css-airtime chip=2g4 sf=5 bandwidth_hz=812500 coding_rate=4/8 interleaving=long preamble_symbols=12 \
payload_bytes=13 header=implicit crc=on -> airtime_us 2609.231 0.001
css-airtime chip=sub-ghz sf=5 bandwidth_hz=125000 coding_rate=1 payload_bytes=13 -> symbols 52.25 0
css-airtime chip=sub-ghz sf=7 bandwidth_hz=125000 payload_bytes=10 low_rate=on -> airtime_us 46336 0
fsk-airtime bit_rate_kbps=250 preamble_bits=16 sync_bits=24 header_bits=0 payload_bytes=8 -> airtime_us 480 0.01
flrc-airtime bit_rate_kbps=650 payload_bytes=13 -> airtime_us 364.615 0.01
fsk-bandwidth bit_rate_kbps=250 deviation_khz=62.5 -> bandwidth_khz 375 0
css-sensitivity chip=sub-ghz sf=12 bandwidth_hz=125000 -> sensitivity_dbm -137 2
css-sensitivity chip=2g4 sf=7 bandwidth_hz=812500 noise_figure_db=0 -> sensitivity_dbm -122.377 0.001
fsk-sensitivity bit_rate_kbps=1000 payload_bytes=10 -> sensitivity_dbm -88 3
flrc-sensitivity bit_rate_kbps=650 coding=1/2 -> sensitivity_dbm -104 0
symbol-error sf=9 snr_db=-12.5 -> symbol_error 1.022315e-4 1e-9
symbol-error sf=9 snr_db=5 fading=rayleigh -> bit_error 2.102682e-3 1e-8
symbol-error-snr sf=12 symbol_error=1e-3 -> snr_db -21.7712 0.001
fsk-bit-error ebn0_db=12 -> bit_error 1.808915e-4 1e-9
hamming-codeword-error code=7/4 bit_error=0.01 -> codeword_error 2.031042e-3 1e-8
packet-error sf=7 snr_db=-7.5 payload_bytes=8 -> packet_error 5.209223e-3 1e-7
packet-error modulation=fsk ebn0_db=12 payload_bytes=32 -> packet_error 4.525636e-2 1e-7
";

#[test]
fn typed_values() {
    let mut wrong = super::table::Wrong::default();
    for line in TYPED.lines().filter(|line| !line.is_empty()) {
        let (typed, expected) = line.split_once(" -> ").unwrap();
        let mut words = typed.split(' ');
        let name = words.next().unwrap();
        let typed: Vec<(&str, &str)> = words.map(|word| word.split_once('=').unwrap()).collect();
        let expected: Vec<&str> = expected.split(' ').collect();
        let got = answer(name, &typed).unwrap().into_iter().find(|(key, _)| *key == expected[0]).unwrap().1;
        wrong.near(got, expected[1].parse().unwrap(), expected[2].parse().unwrap(), &line);
    }
    wrong.done(20);
}

#[test]
fn an_extrapolation_is_noted() {
    let formula = find("manmade-noise").unwrap();
    let typed = |mhz: &str| {
        [("environment", "city"), ("frequency_mhz", mhz)].map(|(key, text)| (key.to_owned(), text.to_owned()))
    };
    assert!(
        formula.answer(&typed("868")).unwrap().notes[0]
            .starts_with("extrapolated: published for 0.3 to 250 MHz.")
    );
    assert!(formula.answer(&typed("100")).unwrap().notes.is_empty());
}

#[test]
fn what_does_not_go_together_is_told() {
    let css = [("chip", "2g4"), ("sf", "7"), ("bandwidth_hz", "812500"), ("payload_bytes", "8")];
    let with = |more: &[(&'static str, &'static str)]| {
        let mut typed: Vec<(&str, &str)> =
            css.into_iter().filter(|(key, _)| more.iter().all(|(have, _)| have != key)).collect();
        typed.extend(more);
        answer("css-airtime", &typed).unwrap_err()
    };
    assert_eq!(
        with(&[("sf", "13")]),
        "`sf` is 13; it must lie in 5 to 12 (the spreading factors of the public chip families)"
    );
    assert_eq!(
        with(&[("interleaving", "long"), ("coding_rate", "4/7")]),
        "long interleaving exists at 2.4 GHz only, at 4/5, 4/6 and 4/8; choose chip=2g4 and one of these, or \
         interleaving=standard"
    );
    assert!(with(&[("chip", "433")]).starts_with("`chip` is `433`, which is not one of sub-ghz, 2g4"));
    let packet = |typed: &[(&str, &str)]| answer("packet-error", typed).unwrap_err();
    assert_eq!(
        packet(&[("payload_bytes", "8"), ("snr_db", "3")]),
        "modulation=css needs `sf`; give it as sf=VALUE"
    );
    assert_eq!(
        packet(&[("payload_bytes", "8"), ("modulation", "fsk"), ("ebn0_db", "3"), ("sf", "7")]),
        "`sf` has no part in modulation=fsk; leave it out"
    );
}
