//! What the register and the family files know of a link's radio.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]
#![allow(missing_docs, dead_code, reason = "the workshop helper serves other tests too")]

mod workshop;

use link::css::Chip;
use link::law::{Access, Limits};
use link::mode::Modulation;
use link::wish::build;
use register::family::{Family, read, shipped};
use register::field::Field;
use register::fleet::Fleet;
use register::radio::{Found, Meant, NoGear, gear_on, of_link};
use register::scene::Scene;
use units::{Mhz, Milliwatts, Seconds};
use workshop::{RX, TX, Workshop, text};

fn family(file: &str) -> (&'static str, Family) {
    let all = shipped::demo_families().iter().chain(shipped::starters());
    let (name, words) = all.into_iter().find(|(name, _)| *name == file).unwrap();
    (words, read::read(name, words).unwrap())
}

#[test]
fn a_band_chooses_its_modes_and_its_packets() {
    let (_, whimbrel) = family("whimbrel.toml");
    let high = gear_on(&whimbrel, "2.4 GHz").unwrap();
    let names: Vec<&str> = high.modes.iter().map(|one| one.mode.name.as_str()).collect();
    assert_eq!(names, ["Rapid", "Brook", "Mere"]);
    assert_eq!((high.low, high.high), (Mhz(2400.0), Mhz(2483.5)));
    assert_eq!(high.power_steps, [Milliwatts(8.0), Milliwatts(40.0), Milliwatts(90.0)]);
    assert_eq!(high.failsafe_after, Some(Seconds(0.6)));
    let low = gear_on(&whimbrel, "868").unwrap();
    let Modulation::Css(css) = low.modes[0].mode.modulation else { panic!("{low:?}") };
    assert_eq!(css.chip, Chip::SubGhz, "the packet of the generation below 1 GHz");
    let why = gear_on(&whimbrel, "433 MHz").unwrap_err();
    assert!(matches!(&why, NoGear::NoSuchBand { have, .. } if have.contains("868 MHz")), "{why}");
    let why = gear_on(&whimbrel, "").unwrap_err().to_string();
    assert!(why.contains("2.4 GHz, 868 MHz, 915 MHz"), "{why}");
}

/// What a starter leaves unsaid stays unsaid, and a sheet can be reckoned all the same.
#[test]
fn every_shipped_family_makes_a_sheet_on_every_band() {
    let limits = Limits::shipped();
    for (file, words) in shipped::demo_families().iter().chain(shipped::starters()) {
        let family = read::read(file, words).unwrap();
        for band in &family.bands {
            let gear = gear_on(&family, &band.name).unwrap();
            assert!(!gear.modes.is_empty(), "{file} {}", band.name);
            let steps = if gear.power_steps.is_empty() { "25" } else { "" };
            let typed = [("power_mw".to_owned(), steps.to_owned()), ("region".to_owned(), "EU".to_owned())];
            let asked = build(&gear, &typed, &limits).unwrap_or_else(|why| panic!("{file}: {why:?}"));
            let sheet = link::sheet::sheet(&asked.setup, &asked.setting, &asked.others, &limits).unwrap();
            assert!(sheet.control.margin.0.is_finite(), "{file} {}", band.name);
            let advice = link::adviser::advise(&asked.setup, asked.all.as_ref().unwrap(), &limits).unwrap();
            assert!(!advice.choices.is_empty(), "{file} {}", band.name);
        }
    }
    let (_, starter) = family("starter-css-2g4.toml");
    let gear = gear_on(&starter, "").unwrap();
    assert_eq!((gear.access, gear.failsafe_after), (Access::NotKnown, None));
}

fn found(odd: impl FnOnce(&mut Workshop)) -> Result<Found, NoGear> {
    let mut w = Workshop::new();
    w.family(family("whimbrel.toml").0);
    w.transmitter(TX, "T1");
    w.receiver(RX, "R1");
    odd(&mut w);
    let register = w.register();
    let scene = Scene::new(&register);
    let fleet = Fleet::of(&scene);
    of_link(
        &scene,
        fleet.transmitter(TX).unwrap(),
        fleet.receiver(RX).unwrap(),
        &Limits::shipped(),
        Meant::default(),
    )
}

fn both(w: &mut Workshop, field: Field, words: &str) {
    for device in [TX, RX] {
        w.end(device, field, text(words));
    }
}

#[test]
fn the_register_suggests_what_is_written_down() {
    let found = found(|w| {
        both(w, Field::Family, "Whimbrel");
        both(w, Field::Band, "868 MHz");
        both(w, Field::Region, "EU");
        w.end(TX, Field::Antenna, text("patch, new"));
        w.end(RX, Field::Antenna, text("two half-wave dipoles"));
    })
    .unwrap();
    assert_eq!(found.gear.band, "868 MHz");
    let said: Vec<(&str, &str)> = found.suggested.iter().map(|one| (one.key, one.text.as_str())).collect();
    assert_eq!(
        said,
        [
            ("region", "EU"),
            ("tx_antenna", "patch"),
            ("rx_antenna", "half-wave-dipole"),
            ("rx_antennas", "two-crossed"),
        ]
    );
    assert!(found.suggested[0].from.contains("R1") && found.suggested[1].from.contains("T1"));
}

#[test]
fn what_isnt_known_says_what_to_record() {
    let why = found(|_| {}).unwrap_err().to_string();
    assert!(why.contains("record R1 family NAME"), "{why}");
    let why = found(|w| both(w, Field::Family, "Whimbrel")).unwrap_err().to_string();
    assert!(why.contains("record R1 band BAND") && why.contains("868 MHz"), "{why}");
    // One end that knows is enough.
    let known = found(|w| {
        w.end(TX, Field::Family, text("Whimbrel"));
        w.end(RX, Field::Band, text("2.4 GHz"));
    });
    assert_eq!(known.unwrap().gear.band, "2.4 GHz");
}

#[test]
fn ends_that_cant_hear_each_other_are_no_link() {
    let why = found(|w| {
        both(w, Field::Family, "Whimbrel");
        w.end(TX, Field::Band, text("2.4 GHz"));
        w.end(RX, Field::Band, text("868 MHz"));
    });
    assert!(matches!(&why, Err(NoGear::Deaf { rule: "band", .. })), "{why:?}");
    let blocked = found(|w| {
        both(w, Field::Family, "Whimbrel");
        both(w, Field::Band, "868 MHz");
        w.end(TX, Field::Firmware, text("4.1"));
        w.end(RX, Field::Firmware, text("3.2"));
    });
    let notes = blocked.unwrap().notes;
    assert!(notes[0].contains("blocked now (firmware version)"), "{notes:?}");
}

#[test]
fn words_about_antennas_say_how_they_lie() {
    let rows = [
        ("two parallel dipoles", Some("two-parallel")),
        ("both whips, renewed", Some("two-crossed")),
        ("one upright", Some("one-upright")),
        ("one wire along the tail", Some("one-along-body")),
        ("one wire, whole length", None),
    ];
    for (words, mounted) in rows {
        let found = found(|w| {
            both(w, Field::Family, "Whimbrel");
            both(w, Field::Band, "868 MHz");
            w.end(RX, Field::Antenna, text(words));
        })
        .unwrap();
        let said = found.suggested.iter().find(|one| one.key == "rx_antennas").map(|one| one.text.as_str());
        assert_eq!(said, mounted, "{words}");
    }
}
