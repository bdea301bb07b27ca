//! Thermal and man-made noise, and what stands at the site.

use link::noise::{Environment, Extrapolation, Site, manmade_noise, noise_level, thermal_noise};
use proptest::prelude::*;
use units::{Db, Dbm, Khz, Mhz};

use super::table::{Wrong, rows};

/// k T B at 290 K; scipy 1.17.1 constants.
#[test]
fn thermal_noise_of_every_bandwidth() {
    let mut wrong = Wrong::default();
    for row in rows(include_str!("../data/radio-thermal-noise.csv")) {
        let got = thermal_noise(Khz(row.number("bandwidth_hz") / 1e3), Db(0.0)).unwrap();
        wrong.near(got.0, row.number("kTB_dbm"), 0.0005, &row);
    }
    wrong.done(13);
}

/// Rec. ITU-R P.372-16, section 6.1; the rural row is from memory and only reported.
#[test]
fn manmade_noise_of_every_environment() {
    let mut wrong = Wrong::default();
    let mut remembered = 0;
    for row in rows(include_str!("../data/radio-manmade-noise.csv")) {
        let environment = Environment::from_word(row.text("environment")).unwrap();
        let got = manmade_noise(environment, Mhz(row.number("f_mhz"))).unwrap();
        let published = got.extrapolated == Extrapolation::Published;
        assert_eq!(published, row.text("inside_published_range") == "yes", "{row:?}");
        if environment == Environment::Rural {
            remembered += 1;
            assert!(got.fam.0.is_finite());
            println!(
                "from memory: rural {} MHz {} (table {})",
                row.text("f_mhz"),
                got.fam,
                row.text("Fam_db")
            );
        } else {
            wrong.near(got.fam.0, row.number("Fam_db"), 0.001, &row);
        }
    }
    assert_eq!(remembered, 6);
    wrong.done(24);
}

#[test]
fn words_of_environments_go_both_ways() {
    for environment in Environment::ALL {
        assert_eq!(Environment::from_word(environment.word()), Some(environment));
    }
    assert_eq!(Environment::from_word("desert"), None);
}

#[test]
fn the_site_adds_to_the_receiver_as_power() {
    let (at, width, figure) = (Mhz(35.0), Khz(10.0), Db(6.0));
    let level = |site: &Site| noise_level(at, width, figure, site).unwrap();
    let own = level(&Site::Quiet);
    assert_eq!(own, thermal_noise(width, figure).unwrap());
    // k 290 K x 10 kHz is -133.975 dBm. City at 35 MHz: 76.8 - 27.7 log 35 = 34.03 dB over
    // it; 6 dB more or less beside that is 0.007 dB.
    assert!((level(&Site::Environment(Environment::City)).0 - -99.93).abs() < 0.01);
    // A floor of -110 dBm in 20 kHz is 3.01 dB less in 10 kHz.
    let measured = |dbm, khz| level(&Site::Measured { floor: Dbm(dbm), bandwidth: Khz(khz) });
    assert!((measured(-110.0, 20.0).0 - -113.0103).abs() < 1e-4);
    // A floor under the receiver's own noise is no floor.
    assert_eq!(measured(-150.0, 20.0), own);
    let text = noise_level(at, width, figure, &Site::Measured { floor: Dbm(f64::NAN), bandwidth: Khz(1.0) });
    assert!(text.unwrap_err().to_string().starts_with("`floor_dbm` is NaN; it must lie in -200 to 60 dBm"));
    let text = manmade_noise(Environment::City, Mhz(0.1)).unwrap_err().to_string();
    assert_eq!(
        text,
        "`frequency_mhz` is 0.1; it must lie in 0.3 to 6000 MHz (published for 0.3 to 250 MHz, extrapolated \
         to 6000 MHz)"
    );
    assert!(thermal_noise(Khz(0.0), Db(0.0)).is_err() && thermal_noise(Khz(1.0), Db(-1.0)).is_err());
}

proptest! {
    #[test]
    fn no_site_is_quieter_than_the_receiver(
        mhz in 0.3..6000.0, khz in 0.001..1e5, figure in 0.0..30.0,
        floor in -200.0..60.0, measured in 0.001..1e5, which in 0usize..5,
    ) {
        let own = thermal_noise(Khz(khz), Db(figure)).unwrap();
        let sites = [
            Site::Environment(Environment::ALL[which]),
            Site::Measured { floor: Dbm(floor), bandwidth: Khz(measured) },
        ];
        for site in sites {
            let level = noise_level(Mhz(mhz), Khz(khz), Db(figure), &site).unwrap();
            prop_assert!(level.0 >= own.0 - 1e-9 && level.0.is_finite(), "{level} {own}");
        }
        let doubled = thermal_noise(Khz(khz.min(4e4) * 2.0), Db(figure)).unwrap();
        let single = thermal_noise(Khz(khz.min(4e4)), Db(figure)).unwrap();
        prop_assert!(((doubled - single).0 - 3.0103).abs() < 1e-4);
    }
}
