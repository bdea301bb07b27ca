//! Traps that a rule sets.

use crate::{demand, hopping, judged, single};
use link::law::{Access, Demand, Emission, Limits, Use, Verdict, What, judge, power_limit};
use units::{Db, Dbi, Dbm, Khz, Mhz, Micros, Milliwatts};

#[test]
fn an_erp_limit_is_no_conducted_limit() {
    let limits = Limits::shipped();
    let at = |gain| power_limit(&limits, "EU", "868.3", "", Dbi(gain), Db(0.0)).unwrap().conducted.unwrap();
    assert_eq!((at(2.15) - at(8.15)).thousandths(), 6000);
    assert_eq!((at(2.15) - at(0.0)).thousandths(), -2150);
}

#[test]
fn one_narrow_channel_at_902_must_be_weak_wide_or_hop() {
    let narrow = Emission { conducted: Dbm(20.0), ..single(915.0, 125.0) };
    assert_eq!(judged("US", &narrow).verdict, Verdict::Over);
    let weak = Emission { conducted: Dbm(-4.0), ..narrow.clone() };
    assert_eq!(judged("US", &weak).decisive().unwrap().row.id, "us-249-902");
    assert_eq!(judged("US", &weak).verdict, Verdict::Within);
    let wide = Emission { conducted: Dbm(20.0), ..single(915.0, 500.0) };
    assert_eq!(judged("US", &wide).verdict, Verdict::Within);
    let hops = Emission { conducted: Dbm(20.0), occupied: Some(Khz(125.0)), ..hopping(902.0, 928.0, 50) };
    assert_eq!(judged("US", &hops).verdict, Verdict::Within);
}

#[test]
fn a_watt_at_902_needs_fifty_channels() {
    let watt = Emission { conducted: Dbm(30.0), occupied: Some(Khz(400.0)), ..hopping(902.0, 928.0, 50) };
    assert_eq!(judged("US", &watt).verdict, Verdict::Within);
    assert_eq!(judged("US", &watt).decisive().unwrap().row.id, "us-902-fhss-50-wide");
    let fewer = Emission { hop_channels: Some(49), ..watt };
    let judgement = judged("US", &fewer);
    assert_eq!(judgement.verdict, Verdict::Over);
    assert_eq!(judgement.decisive().unwrap().row.id, "us-902-fhss-50-wide");
    assert_eq!(
        judgement.sentence(),
        "Over in us-902-fhss-50-wide: hop channels over by 1 hop (too few) (47 CFR 15.247 (as revised 1 Sep \
         2021; current text last amended 85 FR 18149, 1 Apr 2020) (a)(1)(i), (b)(2), (b)(4)). Planning aid; \
         local rules prevail."
    );
    let weaker = Emission { conducted: Dbm(23.979), ..fewer };
    assert_eq!(judged("US", &weaker).verdict, Verdict::Within);
}

#[test]
fn point_to_point_relief_is_not_for_a_moving_aircraft() {
    let dish = Emission {
        conducted: Dbm(24.0),
        gain: Dbi(24.0),
        hop_channels: Some(1),
        hop_spacing: None,
        ..single(2440.0, 2000.0)
    };
    let judgement = judged("US", &dish);
    assert_eq!(judgement.verdict, Verdict::Over);
    let relief = judgement.rows.iter().find(|judged| judged.row.id == "us-2400-dts-p2p").unwrap();
    assert_eq!(relief.row.aircraft, Use::NotAircraft);
    let words: Vec<String> = relief.deciding().map(Demand::words).collect();
    assert_eq!(words, ["over: asked is fixed point-to-point only, it has a link to a model aircraft"]);
    // 24 dBm with 24 dBi: over by 12 dB where each decibel over 6 dBi counts.
    assert_eq!(demand(&judgement, "us-2400-dts", What::Power).words(), "over by 12.0 dB");
}

#[test]
fn what_crosses_an_edge_is_outside_the_row() {
    let at = |centre| judged("EU", &Emission { duty: Some(0.001), ..single(centre, 125.0) });
    assert_eq!(at(868.3).verdict, Verdict::Within);
    assert_eq!(at(868.5375).verdict, Verdict::Within, "its edge is the band's");
    assert_eq!(at(868.55).verdict, Verdict::Over);
    assert_eq!(demand(&at(868.55), "eu-868.0", What::Edges).words(), "over by 12.5 kHz");
    // 868.6 to 868.7 and 869.2 to 869.4 hold no general row.
    let between = judged("EU", &Emission { duty: Some(0.001), ..single(868.65, 25.0) });
    assert_eq!((between.verdict, between.rows.len()), (Verdict::NotKnown, 0));
    assert_eq!(
        between.sentence(),
        "Not known: no limit is held for EU at these frequencies. Planning aid; local rules prevail."
    );
}

#[test]
fn spot_channels_are_no_band() {
    let at = |region: &str, centre| judged(region, &Emission { conducted: Dbm(19.0), ..single(centre, 8.0) });
    for centre in [26.995, 27.045, 27.095, 27.145, 27.195, 40.665, 40.675, 40.685, 40.695, 35.0, 35.22] {
        assert_eq!(at("EU", centre).verdict, Verdict::Within, "{centre}: {:?}", at("EU", centre));
    }
    for centre in [27.02, 27.07, 40.67, 35.005] {
        assert_eq!(at("EU", centre).verdict, Verdict::Over, "{centre}");
    }
    assert_eq!(demand(&at("EU", 27.02), "eu-27-model", What::Channel).words(), "over by 25 kHz");
    // The outer channels' own edges lie outside the span of centres.
    assert_eq!(demand(&at("US", 72.99), "us-rcrs-72", What::Channel).verdict, Verdict::Within);
    assert_eq!(demand(&at("US", 72.0), "us-rcrs-72", What::Channel).verdict, Verdict::Over);
    // A channel may be no wider than its segment.
    let wide = judged("EU", &single(40.675, 12.0));
    assert_eq!(demand(&wide, "eu-40-model", What::Bandwidth).words(), "over by 2 kHz (too wide)");
}

#[test]
fn a_national_band_stays_at_home() {
    let at = |region: &str, centre| judged(region, &Emission { conducted: Dbm(19.0), ..single(centre, 8.0) });
    assert_eq!(at("DE", 35.82).verdict, Verdict::Within);
    assert!(at("EU", 35.82).rows.is_empty());
    assert_eq!(at("CH", 35.0).verdict, Verdict::Within, "the wider region's row");
    assert_eq!(at("FR", 35.0).verdict, Verdict::NotKnown, "said not to hold there");
    assert_eq!(at("GB", 34.95).verdict, Verdict::NotKnown, "its power is from memory");
    // Above 40.70 MHz flying models are excluded.
    let glider = at("CH", 40.815);
    assert_eq!(glider.verdict, Verdict::Over, "{glider:?}");
    assert_eq!(
        demand(&glider, "ch-40-model", What::Use).words(),
        "over: asked is ground and water models only, it has a link to a model aircraft"
    );
}

#[test]
fn japan_wants_listening_whatever_the_duty() {
    let at = |access| Emission { access, duty: Some(0.000_01), ..single(922.0, 125.0) };
    let found = |access| demand(&judged("JP", &at(access)), "jp-920", What::Access).verdict;
    assert_eq!(found(Access::None), Verdict::Over);
    assert_eq!(found(Access::DetectAndAvoid), Verdict::Over);
    assert_eq!(found(Access::NotKnown), Verdict::NotKnown);
    assert_eq!(found(Access::ListenBeforeTalk), Verdict::Within);
    assert_eq!(judged("JP", &at(Access::None)).verdict, Verdict::Over);
}

#[test]
fn a_row_that_refers_to_others_takes_over_their_demands() {
    let emission = Emission {
        conducted: Dbm(17.0),
        duty: Some(0.1),
        airtime: Some(Micros(3000.0)),
        ..hopping(2400.0, 2483.5, 40)
    };
    let judgement = judged("GB", &emission);
    assert_eq!(judgement.verdict, Verdict::Within, "{judgement:?}");
    let best = judgement.decisive().unwrap();
    assert_eq!(best.row.id, "uk-2400");
    assert_eq!(best.through.as_ref().unwrap().id, "eu-2400-fhss-nonadaptive");
    let hops = best.demands.iter().find(|demand| demand.what == What::HopChannels).unwrap();
    assert!(hops.clause.starts_with("IR 2030") && hops.clause.contains("EN 300 328"), "{}", hops.clause);
    let busy = judged("GB", &Emission { duty: Some(0.9), ..emission });
    assert_eq!(busy.verdict, Verdict::Over);
}

/// 25 mW ERP is by definition 25 mW into a half-wave dipole, whose peak is 2.1509 dBi where
/// the rules reckon 2.15 (ERC/REC 70-03; EN 300 220-2).
#[test]
fn full_erp_into_a_dipole_is_not_over() {
    let emission = Emission {
        conducted: Milliwatts(25.0).level(),
        gain: Dbi(2.1509),
        feed_loss: Db(0.0),
        duty: Some(0.005),
        ..single(868.3, 125.0)
    };
    let judgement = judge(&Limits::shipped(), "EU", &emission).unwrap();
    let power = |demand: &&Demand| demand.what == What::Power;
    let found = judgement.rows[0].demands.iter().find(power).unwrap();
    assert_eq!(found.verdict, Verdict::Within, "{found:?}");
    let more = Emission { conducted: Milliwatts(25.2).level(), ..emission };
    let judgement = judge(&Limits::shipped(), "EU", &more).unwrap();
    let found = judgement.rows[0].demands.iter().find(power).unwrap();
    assert_eq!(found.verdict, Verdict::Over, "{found:?}");
}

/// What isn't known of an emission is never taken to be within, or over.
#[test]
fn an_unknown_bandwidth_or_hop_count_is_not_known() {
    let limits = Limits::shipped();
    // 47 CFR 15.247(a)(2) wants 500 kHz of digital modulation that doesn't hop.
    let wide = Emission { conducted: Dbm(27.0), low: Mhz(902.0), high: Mhz(928.0), ..single(915.0, 600.0) };
    let unknown = Emission { occupied: None, ..wide.clone() };
    let judgement = judge(&limits, "US", &unknown).unwrap();
    assert_eq!(judgement.verdict, Verdict::NotKnown, "{}", judgement.sentence());
    // Narrow and hopping over 80 channels it would be within; whether it hops isn't known.
    let narrow = Emission { occupied: Some(Khz(125.0)), hop_channels: None, duty: Some(0.5), ..wide };
    let judgement = judge(&limits, "US", &narrow).unwrap();
    assert_eq!(judgement.verdict, Verdict::NotKnown, "{}", judgement.sentence());
}
