//! What may be typed, and what is said when it matches nothing.

use crate::{DATA, hopping};
use link::calc::{self, Value};
use link::law::{Limits, judge, power_limit};
use units::{Db, Dbi};

#[test]
fn what_matches_nothing_says_what_there_is() {
    let limits = Limits::shipped();
    let at = |region: &str, band: &str, class: &str| {
        power_limit(&limits, region, band, class, Dbi(2.0), Db(0.0)).unwrap_err().to_string()
    };
    assert_eq!(
        at("XX", "2400-2483.5", "fhss"),
        "no limits are held for the region `XX`; held are US, CA, EU, DE, CH, FR, GB, AU, NZ, JP, IN"
    );
    assert_eq!(at("NZ", "868", "fhss"), "no band of NZ is `868`; held are 915-928, 2400-2483.5");
    assert_eq!(
        at("AU", "915-928", "narrow"),
        "no class of AU in 915-928 is `narrow`; held are FHSS, at least 20 hopping frequencies \
         (au-915-fhss); digital modulation (au-915-dts)"
    );
    assert_eq!(
        judge(&limits, "Atlantis", &hopping(2400.0, 2483.5, 40)).unwrap_err().to_string(),
        "no limits are held for the region `Atlantis`; held are US, CA, EU, DE, CH, FR, GB, AU, NZ, JP, IN"
    );
    let calc = |typed: &[(&str, &str)]| {
        let typed: Vec<_> = typed.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
        calc::find("power-limit").unwrap().answer(&typed).unwrap_err().to_string()
    };
    let usual = [("region", "EU"), ("band", "2400-2483.5"), ("class", "fhss"), ("gain_dbi", "40")];
    assert_eq!(
        calc(&usual),
        "`gain_dbi` is 40; it must lie in -30 to 30 dBi (from an antenna that is off to a large dish)"
    );
    let typed = [("region", "EU"), ("band", "2400-2483.5"), ("class", "smoke"), ("gain_dbi", "2")];
    assert!(
        calc(&typed).starts_with("`class` is `smoke`, which is not a class of EU in this band: FHSS non-")
    );
    let typed = [("region", "EU"), ("band", "17 GHz"), ("class", ""), ("gain_dbi", "2")];
    assert!(
        calc(&typed).starts_with("`band` is `17 GHz`, which is not a band of EU: 2400-2483.5, 433.05-434.79")
    );
    let typed = [("region", "Mars"), ("band", "2.4 GHz"), ("class", ""), ("gain_dbi", "2")];
    assert!(calc(&typed).starts_with("`region` is `Mars`, which is not one of US, CA, EU"));
}

#[test]
fn a_band_and_a_class_may_be_typed_in_many_ways() {
    let limits = Limits::shipped();
    let row = |region: &str, band: &str, class: &str| {
        power_limit(&limits, region, band, class, Dbi(2.0), Db(0.0)).unwrap().row.id.clone()
    };
    for (region, band, class, id) in [
        ("us", "902-928", "FHSS 25-49 channels, 20 dB bandwidth 250-500 kHz", "us-902-fhss-25"),
        ("US", "900 MHz", "digital", "us-902-dts"),
        ("US", "915", "hybrid", "us-902-hybrid"),
        ("US", "902 - 928 MHz", "fhss", "us-902-fhss-50"),
        ("US", "us-2400-dts", "", "us-2400-dts"),
        ("US", "2.4", "any", "us-249-2400"),
        ("US", "72.05", "narrow", "us-rcrs-72"),
        ("EU", "2.4 GHz", "FHSS adaptive", "eu-2400-fhss-adaptive"),
        ("EU", "2.4 GHz", "FHSS non-adaptive", "eu-2400-fhss-nonadaptive"),
        ("EU", "2.4 GHz", "not FHSS", "eu-2400-nonfhss-adaptive"),
        ("EU", "2.4 GHz", "not FHSS, non-adaptive", "eu-2400-nonfhss-nonadaptive"),
        ("EU", "2400-2483.5", "nonspecific", "eu-2400-nonspecific"),
        ("EU", "433 MHz", "", "eu-433-10mw"),
        ("EU", "868 MHz", "css", "eu-868.0"),
        ("EU", "869.4", "fsk", "eu-869.4"),
        ("EU", "35 MHz", "flying models only", "eu-35-model"),
        ("UK", "2400", "fhss", "uk-2400"),
        ("DE", "868.3", "", "eu-868.0"),
        ("IN", "865-867", "", "in-865"),
    ] {
        assert_eq!(row(region, band, class), id, "{region} {band} {class}");
    }
    // Where several are meant, the notes name the others.
    let found = power_limit(&limits, "US", "902-928", "fhss", Dbi(2.0), Db(0.0)).unwrap();
    assert!(found.notes.iter().any(|note| note.contains("us-902-fhss-25")), "{:?}", found.notes);
}

#[test]
fn bad_limits_name_the_line() {
    let heading = DATA.lines().next().unwrap();
    let first = DATA.lines().nth(1).unwrap();
    let read = |row: &str| Limits::read(&format!("{heading}\n{first}\n{row}\n")).unwrap_err().to_string();
    assert_eq!(read(first), "limits, line 3: the id `us-902-fhss-50` stands twice");
    let other = first.replace("us-902-fhss-50", "x");
    assert_eq!(
        read(&other.replace("30.0000", "29.0000")),
        "limits, line 3: Some(1000.0) mW and Some(29.0) dBm are not the same power"
    );
    assert_eq!(
        read(&other.replace(",902,928,", ",928,902,")),
        "limits, line 3: `lower_mhz` must lie below `upper_mhz`"
    );
    assert_eq!(read(&other.replace("mixed", "dreamt")), "limits, line 3: `obtained` is `dreamt`");
    assert!(Limits::read(heading).unwrap_err().to_string().contains("there is no row"));
    assert!(Limits::read("id\nx").unwrap_err().to_string().contains("there is no column"));
}

#[test]
fn every_formula_answers_its_example() {
    for name in [
        "power-limit",
        "radiated-power",
        "duty-cycle",
        "hop-dwell",
        "medium-utilisation",
        "power-density",
        "field-power",
    ] {
        let formula = calc::find(name).unwrap();
        let typed: Vec<_> =
            formula.example.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
        let answer = formula.answer(&typed).unwrap();
        let keys: Vec<&str> = answer.values.iter().map(|(key, _)| *key).collect();
        let declared: Vec<&str> = formula.outputs.iter().map(|output| output.key).collect();
        assert_eq!(keys, declared, "{name}");
    }
    // A remembered figure is nothing, with the figure beside it.
    let typed = [("region", "CA"), ("band", "902-928"), ("class", "fhss-50"), ("gain_dbi", "2")];
    let typed: Vec<_> = typed.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
    let answer = calc::find("power-limit").unwrap().answer(&typed).unwrap();
    assert_eq!(answer.values[0], ("conducted_dbm", Value::Nothing));
    assert_eq!(answer.values[1], ("remembered_dbm", Value::Number(30.0)));
}
