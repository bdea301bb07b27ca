//! What was said wrongly is named, all of it at once.

use link::law::Limits;
use link::wish::{WISHES, build};

use crate::gear;

fn wrong(typed: &[(&str, &str)]) -> Vec<(String, String)> {
    let typed: Vec<(String, String)> =
        typed.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
    let errors = build(&gear::brook(), &typed, &Limits::shipped()).err().unwrap_or_default();
    errors.iter().map(|why| (why.key().unwrap_or_default().to_owned(), why.to_string())).collect()
}

#[test]
fn nonsense_is_refused_by_name_and_range() {
    let rows = [
        ("power_mw", "0", "0.001 to 10000 mW"),
        ("distance_m", "-5", "0.1 to 1000000 m"),
        ("tx_gain_dbi", "40", "-30 to 30 dBi"),
        ("tx_gain_dbi", "12", "-10 to 2.5 dBi"),
        ("region", "Atlantis", "EU"),
        ("mode", "Torrent", "Rapid, Brook, Mere"),
        ("telemetry_one_in", "3", "one in 4"),
        ("telemetry_one_in", "2.5", "whole number"),
        ("quality", "1", "0.01 to 0.999"),
        ("probability", "1", "0.000001 to 0.999999"),
        ("wifi", "1,14", "1 to 13"),
        ("sensors", "vario:4", "name:bytes:seconds"),
        ("sensors", "vario:0:1", "name:bytes:seconds"),
        ("profile", "0,1;1,x", "distance_m,height_m"),
        ("motion", "hover", "circuit"),
        ("distance_m", "NaN", "a number"),
        ("distance_m", "1,5", "with a point"),
        ("flux", "3", "takes no"),
    ];
    for (key, value, wanted) in rows {
        let errors = wrong(&[(key, value)]);
        assert!(
            errors.iter().any(|(at, text)| at == key && text.contains(wanted)),
            "{key}={value}: {errors:?} doesn't say `{wanted}`"
        );
    }
    let all = wrong(&[("power_mw", "0"), ("distance_m", "x"), ("motion", "hover")]);
    assert_eq!(all.len(), 3, "{all:?}");
    let all = wrong(&[("distance_m", "0"), ("region", "Atlantis"), ("mode", "Torrent"), ("sensors", "x")]);
    assert_eq!(all.len(), 4, "what can't be read hides nothing else: {all:?}");
    let all = wrong(&[("region", "Atlantis"), ("mode", "Torrent"), ("wifi", "99")]);
    assert_eq!(all.len(), 3, "{all:?}");
}

#[test]
fn things_that_dont_go_together_are_said() {
    let errors = wrong(&[("fading", "rician")]);
    assert!(errors[0].1.contains("`k_db` is needed"), "{errors:?}");
    let errors = wrong(&[("fading", "rayleigh"), ("k_db", "3")]);
    assert!(errors[0].1.contains("leave one of them out"), "{errors:?}");
    let errors = wrong(&[("tx_antenna", "isotropic"), ("tx_gain_dbi", "0")]);
    assert!(errors[0].1.contains("doesn't go with tx_antenna=isotropic"), "{errors:?}");
    let errors = wrong(&[("profile", "0,10;100,12;300,10"), ("distance_m", "500")]);
    assert!(errors[0].1.contains("profile ends at 300 m"), "{errors:?}");
}

/// SF12 in 203 kHz takes seconds for 200 bytes (SX1280/81 data sheet Rev 2.2, 7.4.4): no
/// three hundred times a second.
#[test]
fn a_packet_longer_than_its_slot_is_refused() {
    let mut gear = gear::brook();
    let mut slow = gear::mode("Glacier", 12, 300.0);
    slow.mode.payload_bytes = 200;
    gear.modes.push(slow);
    let typed = vec![("mode".to_owned(), "Glacier".to_owned())];
    let why = build(&gear, &typed, &Limits::shipped()).unwrap_err();
    assert!(why.len() == 1 && why[0].to_string().contains("a slot only 3.3 ms"), "{why:?}");
    // The others are reckoned all the same, and the sheet says what was left out.
    let asked = build(&gear, &[], &Limits::shipped()).unwrap();
    assert!(asked.all.as_ref().unwrap().iter().all(|setting| setting.mode.name != "Glacier"));
    assert!(asked.setup.notes.iter().any(|note| note.text.contains("Glacier")), "{:?}", asked.setup.notes);
}

#[test]
fn a_power_that_is_no_step_is_said() {
    let typed = vec![("power_mw".to_owned(), "50".to_owned())];
    let asked = build(&gear::brook(), &typed, &Limits::shipped()).unwrap();
    assert!(asked.setup.notes[0].text.contains("it has 8, 40, 90 mW"), "{:?}", asked.setup.notes);
}

#[test]
fn what_is_left_out_is_taken_and_said() {
    let asked =
        build(&gear::brook(), &[("distance_m".to_owned(), "700".to_owned())], &Limits::shipped()).unwrap();
    assert!(asked.taken.iter().any(|(key, value)| *key == "air_height_m" && value == "60"));
    assert!(!asked.taken.iter().any(|(key, _)| *key == "distance_m"));
    assert_eq!(asked.setting.mode.name, "Mere", "the slowest is the one to begin with");
    assert_eq!(asked.setting.mode.telemetry_one_in, Some(4));
    assert_eq!(asked.all.unwrap().len(), 27, "three modes, three shares, three powers");
    let defaults = WISHES.iter().filter(|wish| wish.default.is_some_and(|text| !text.is_empty())).count();
    assert_eq!(asked.taken.len(), defaults - 1);
}
