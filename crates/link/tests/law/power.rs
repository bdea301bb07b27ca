//! Worked examples of power, gain and density.

use crate::{Wrong, demand, judged, single};
use link::law::reckon::{density_throughout, eirp_of_field, flat_density};
use link::law::{Access, Emission, Limits, Verdict, What, power_limit};
use units::{Db, Dbi, Dbm, Khz, Metres, Milliwatts};

/// Worked from the limits: 47 CFR 15.247(b), (c); EN 300 328; ERC/REC 70-03 with
/// EIRP = ERP + 2.15.
#[test]
fn power_and_gain() {
    let rows: &[(&str, &str, &str, f64, f64, f64, f64)] = &[
        ("US", "2400-2483.5", "digital modulation", 9.0, 0.0, 27.0, 36.0),
        ("US", "902-928", "digital", 9.0, 0.0, 27.0, 36.0),
        ("US", "2400-2483.5", "digital", 2.0, 0.0, 30.0, 32.0),
        ("US", "902-928", "digital", 2.0, 0.0, 30.0, 32.0),
        ("US", "2400-2483.5", "dts", 6.0, 0.0, 30.0, 36.0),
        ("US", "902-928", "FHSS 25-49", 8.0, 0.0, 21.9794, 29.9794),
        ("US", "2400-2483.5", "fhss-15", 12.0, 0.0, 14.9691, 26.9691),
        ("US", "2.4 GHz", "fixed point-to-point", 24.0, 0.0, 24.0, 48.0),
        ("EU", "2.4 GHz", "fhss", 2.15, 0.5, 18.35, 20.0),
        ("EU", "2400-2483.5", "FHSS", 5.0, 1.0, 16.0, 20.0),
        ("EU", "869.40-869.65", "any", 2.15, 0.0, 26.9897, 29.1397),
        ("EU", "869.5", "non-specific SRD", 5.0, 1.0, 25.1397, 29.1397),
        ("EU", "868.0-868.6", "any", 2.15, 0.5, 14.4794, 16.1294),
        ("EU", "868", "fhss", 2.15, 0.5, 14.4794, 16.1294),
    ];
    let mut wrong = Wrong::default();
    for (region, band, class, gain, loss, conducted, eirp) in rows {
        let found = power_limit(&Limits::shipped(), region, band, class, Dbi(*gain), Db(*loss)).unwrap();
        let what = format!("{region} {band} {class}");
        wrong.close(&what, found.conducted.unwrap().0, *conducted, 1e-6);
        wrong.close(&what, found.eirp.unwrap().0, *eirp, 1e-6);
    }
    // The same in milliwatts.
    for (dbm, mw) in
        [(27.0, 501.187), (21.9794, 157.739), (14.9691, 31.399), (25.1397, 326.565), (14.4794, 28.050)]
    {
        wrong.close("mW", Dbm(dbm).milliwatts().0, mw, 6e-4);
    }
    // 15.249: 50 mV/m at 3 m.
    let power = eirp_of_field(50.0, Metres(3.0));
    wrong.close("15.249 mW", power.0, 0.75, 1e-9);
    wrong.close("15.249 dBm", power.level().0, -1.249_387, 1e-6);
    wrong.done(33);
}

/// mW ERP, dBm ERP, dBm EIRP, mW EIRP; 2.15 dB is a factor of 1.640590.
#[test]
fn erp_and_eirp() {
    let rows = [
        (1.0, 0.0, 2.15, 1.640_590),
        (5.0, 6.989_700, 9.139_700, 8.202_949),
        (10.0, 10.0, 12.15, 16.405_898),
        (25.0, 13.979_400, 16.129_400, 41.014_744),
        (100.0, 20.0, 22.15, 164.058_977),
        (500.0, 26.989_700, 29.139_700, 820.294_887),
    ];
    let mut wrong = Wrong::default();
    for (mw, dbm, eirp, eirp_mw) in rows {
        wrong.close("ERP", Milliwatts(mw).level().0, dbm, 1e-6);
        let radiated = Milliwatts(mw).level() + units::DIPOLE_OVER_ISOTROPIC;
        wrong.close("EIRP", radiated.0, eirp, 1e-6);
        wrong.close("EIRP mW", radiated.milliwatts().0, eirp_mw, 1e-6);
    }
    wrong.done(18);
}

/// 47 CFR 15.247(e): 8 dBm in 3 kHz; EN 300 328: 10 dBm in 1 MHz.
#[test]
fn power_density() {
    let mut wrong = Wrong::default();
    wrong.close("20 dBm", flat_density(Dbm(20.0), Khz(500.0), Khz(3.0)).0, -2.218_487, 1e-6);
    wrong.close("30 dBm", flat_density(Dbm(30.0), Khz(500.0), Khz(3.0)).0, 7.781_513, 1e-6);
    wrong.close("most", flat_density(Dbm(30.218_487), Khz(500.0), Khz(3.0)).0, 8.0, 1e-6);
    for (mhz, most) in [(0.5, 6.989_700), (1.0, 10.0), (2.0, 13.010_300), (10.0, 20.0)] {
        wrong.close("per MHz", density_throughout(Dbm(most), Khz(mhz * 1e3), Khz(1000.0)).0, 10.0, 1e-6);
    }
    let wide = |dbm| Emission { conducted: Dbm(dbm), gain: Dbi(0.0), ..single(915.0, 500.0) };
    let found = |dbm| demand(&judged("US", &wide(dbm)), "us-902-dts", What::PowerDensity);
    wrong.that("30 dBm is just within", (found(30.0).verdict == Verdict::Within).then_some(()));
    wrong.that("30.22 dBm is over", (found(30.22).verdict == Verdict::Over).then_some(()));
    // A non-hopping signal under 10 MHz wide can't use 20 dBm EIRP in the EU.
    let eu = |mhz: f64| Emission {
        conducted: Dbm(20.0),
        gain: Dbi(0.0),
        access: Access::ListenBeforeTalk,
        ..single(2440.0, mhz * 1e3)
    };
    for (mhz, verdict) in
        [(0.5, Verdict::Over), (1.0, Verdict::Over), (9.9, Verdict::Over), (10.0, Verdict::Within)]
    {
        let found = demand(&judged("EU", &eu(mhz)), "eu-2400-nonfhss-adaptive", What::PowerDensity);
        wrong.that(&format!("{mhz} MHz: {found:?}"), (found.verdict == verdict).then_some(()));
    }
    wrong.done(13);
}
