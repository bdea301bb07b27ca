//! Worked examples of duty, hopping and dwell.

use crate::{Wrong, demand, hopping, ids, judged, single};
use link::calc::{self, Value};
use link::law::reckon::{
    accumulated, busy_threshold, duty, hops_for_separation, medium_utilisation, unavailable,
};
use link::law::{Access, Emission, Limits, Verdict, What, judge_hop_list};
use units::{Dbi, Dbm, Hertz, Khz, Micros, Milliwatts, Seconds};

/// Duty limits of ERC/REC 70-03, over one hour.
#[test]
fn duty_cycle() {
    let mut wrong = Wrong::default();
    for (share, seconds, fastest) in
        [(0.001, 3.6, 0.333_333), (0.01, 36.0, 3.333_333), (0.1, 360.0, 33.333_333)]
    {
        wrong.close("s per hour", share * 3600.0, seconds, 1e-9);
        wrong.close("fastest", duty(Seconds(0.003), Hertz(fastest)), share, 1e-8);
    }
    for (ms, rate, share) in [(3.0, 50.0, 0.15), (3.0, 25.0, 0.075), (1.2, 50.0, 0.06), (7.0, 50.0, 0.35)] {
        wrong.close("duty", duty(Seconds(ms / 1e3), Hertz(rate)), share, 1e-12);
    }
    let frames = |centre: f64, ms: f64, rate: f64, access| Emission {
        duty: Some(duty(Seconds(ms / 1e3), Hertz(rate))),
        airtime: Some(Micros(ms * 1e3)),
        gain: Dbi(2.15),
        access,
        ..single(centre, 100.0)
    };
    // 15 %: over every EU limit below 1 GHz, unless it listens before it talks.
    for (centre, row) in [
        (864.0, "eu-863"),
        (866.0, "eu-865"),
        (868.3, "eu-868.0"),
        (869.0, "eu-868.7"),
        (869.5, "eu-869.4"),
        (869.85, "eu-869.7-25mw"),
        (434.0, "eu-433-10mw"),
    ] {
        let found = demand(&judged("EU", &frames(centre, 3.0, 50.0, Access::None)), row, What::Duty);
        wrong.that(&format!("{found:?}"), (found.verdict == Verdict::Over).then_some(()));
    }
    let listens = judged("EU", &frames(868.3, 3.0, 50.0, Access::ListenBeforeTalk));
    assert_eq!(listens.verdict, Verdict::NotKnown, "{listens:?}");
    // 7.5 % fits 10 %, not 1 %.
    let slower = |centre| judged("EU", &frames(centre, 3.0, 25.0, Access::None));
    assert_eq!(slower(869.525).verdict, Verdict::Within, "{:?}", slower(869.525));
    assert_eq!(demand(&slower(868.3), "eu-868.0", What::Duty).words(), "over by 6.5 %");
    // Exactly at the limit is within.
    let exact = judged("EU", &frames(869.525, 2.0, 50.0, Access::None));
    assert_eq!(exact.verdict, Verdict::Within, "{exact:?}");
    wrong.done(17);
}

// Worked examples: hopping and dwell.

/// 47 CFR 15.247(a)(1)(i), (iii).
#[test]
fn dwell_in_the_us() {
    let mut wrong = Wrong::default();
    for (window, channels, ms) in
        [(20.0, 50.0, 400.0), (20.0, 64.0, 312.5), (10.0, 25.0, 400.0), (10.0, 30.0, 333.333_333)]
    {
        let got = accumulated(Seconds(window), 1.0 / channels, 1.0);
        wrong.close("dwell", got.ms(), ms, 1e-6);
    }
    wrong.close("biased", accumulated(Seconds(20.0), 2.0 / 51.0, 1.0).ms(), 784.314, 5e-4);
    wrong.done(5);

    let narrow = hopping(902.0, 928.0, 50);
    assert_eq!(demand(&judged("US", &narrow), "us-902-fhss-50", What::Dwell).verdict, Verdict::Within);
    assert_eq!(judged("US", &narrow).verdict, Verdict::Within);
    // One of the fifty visited twice in a run.
    let mut visits = [1; 50];
    visits[7] = 2;
    let biased = judge_hop_list(&Limits::shipped(), "US", &narrow, &visits).unwrap();
    let dwell = demand(&biased, "us-902-fhss-50", What::Dwell);
    assert_eq!((dwell.words().as_str(), dwell.got.as_str()), ("over by 384.314 ms", "784.314 ms in 20 s"));
    assert_eq!(biased.verdict, Verdict::Over);
    // Unless the transmitter is on for less of the time.
    let seldom = Emission { duty: Some(0.5), ..narrow.clone() };
    let seldom = judge_hop_list(&Limits::shipped(), "US", &seldom, &visits).unwrap();
    assert_eq!(demand(&seldom, "us-902-fhss-50", What::Dwell).verdict, Verdict::Within);
    // A duty that isn't known settles what is within even when always on, and no more.
    let unknown = Emission { duty: None, ..narrow.clone() };
    assert_eq!(demand(&judged("US", &unknown), "us-902-fhss-50", What::Dwell).verdict, Verdict::Within);
    let biased = judge_hop_list(&Limits::shipped(), "US", &unknown, &visits).unwrap();
    assert_eq!(demand(&biased, "us-902-fhss-50", What::Dwell).verdict, Verdict::NotKnown);
    // One visit longer than the limit is over, whatever the average.
    let long = Emission { dwell: Some(Micros(402_000.0)), duty: Some(0.1), ..narrow };
    assert_eq!(demand(&judged("US", &long), "us-902-fhss-50", What::Dwell).words(), "over by 2 ms");

    // 2.4 GHz: the window grows with the channels, so equal use is always exactly 0.4 s.
    for channels in [15, 16, 40, 74, 75, 79] {
        let judgement = judged("US", &hopping(2400.0, 2483.5, channels));
        let row = if channels < 75 { "us-2400-fhss-15" } else { "us-2400-fhss-75" };
        let dwell = demand(&judgement, row, What::Dwell);
        assert_eq!(dwell.verdict, Verdict::Within, "{channels}: {dwell:?}");
        assert!(dwell.got.starts_with("400 ms in "), "{dwell:?}");
        let half = Emission { duty: Some(0.5), ..hopping(2400.0, 2483.5, channels) };
        assert!(demand(&judged("US", &half), row, What::Dwell).got.starts_with("200 ms in "));
    }
}

/// ETSI EN 300 328 V1.8.1 4.3.1.2 to 4.3.1.6.
#[test]
fn hopping_in_the_eu() {
    for (separation, hops, window, adaptive) in [
        (100.0, 150, "2.25 s", "60 s"),
        (500.0, 30, "450 ms", "12 s"),
        (1000.0, 15, "225 ms", "6 s"),
        (2000.0, 15, "225 ms", "6 s"),
    ] {
        assert_eq!(hops_for_separation(15, Khz(separation)), hops);
        let emission = Emission {
            hop_spacing: Some(Khz(separation)),
            occupied: Some(Khz(100.0)),
            duty: Some(0.1),
            airtime: Some(Micros(2000.0)),
            ..hopping(2400.0, 2483.5, hops)
        };
        let emission = Emission { conducted: Dbm(18.0), ..emission };
        let judgement = judged("EU", &emission);
        assert_eq!(judgement.verdict, Verdict::Within, "{judgement:?}");
        assert_eq!(judgement.decisive().unwrap().row.id, "eu-2400-fhss-nonadaptive");
        let found = demand(&judgement, "eu-2400-fhss-nonadaptive", What::Dwell);
        assert_eq!(found.limit, format!("15 ms in {window}"));
        // Always on and used equally, the least number of channels is exactly at 15 ms.
        let always = judged("EU", &Emission { duty: Some(1.0), ..emission.clone() });
        let found = demand(&always, "eu-2400-fhss-nonadaptive", What::Dwell);
        assert_eq!((found.verdict, &found.got[..8]), (Verdict::Within, "15 ms in"), "{found:?}");
        let found = demand(&always, "eu-2400-fhss-adaptive", What::Dwell);
        assert_eq!(found.limit, format!("remembered limit 400 ms in {adaptive}"));
        let fewer = Emission { hop_channels: Some(hops - 1), ..emission };
        let found = demand(&judged("EU", &fewer), "eu-2400-fhss-nonadaptive", What::HopChannels);
        assert_eq!(found.words(), "over by 1 hop (too few)");
    }
    // A 7 ms frame: the transmit sequence limit is 5 ms.
    let long = Emission {
        conducted: Dbm(18.0),
        airtime: Some(Micros(7000.0)),
        duty: Some(0.1),
        ..hopping(2400.0, 2483.5, 40)
    };
    let found = demand(&judged("EU", &long), "eu-2400-fhss-nonadaptive", What::Sequence);
    assert_eq!(found.words(), "over by 2 ms");
    assert_eq!(judged("EU", &long).verdict, Verdict::Over);
    // 3 ms at half the time leaves a gap of 3 ms.
    let close = Emission { airtime: Some(Micros(3000.0)), duty: Some(0.5), ..long };
    let found = demand(&judged("EU", &close), "eu-2400-fhss-nonadaptive", What::Sequence);
    assert_eq!(found.words(), "over by 2 ms (the gap is too short)");

    for (hops, ms, unavailable_ms) in [(20, 4.0, 1000.0), (40, 10.0, 2000.0), (15, 60.0, 4500.0)] {
        let got = unavailable(hops, Seconds(ms / 1e3)).ms();
        assert!((got - unavailable_ms).abs() < 1e-9, "{hops}: {got}");
    }
    for (eirp, threshold) in [(20.0, -70.0), (14.0, -64.0), (10.0, -60.0), (23.0, -70.0)] {
        assert_eq!(busy_threshold(Dbm(eirp)), Dbm(threshold));
    }
}

/// ETSI EN 300 328 V1.8.1 4.3.1.5: (P / 100 mW) x duty, at most 10 %.
#[test]
fn medium_utilisation_in_the_eu() {
    for (mw, most) in [(100.0, 0.1), (50.0, 0.2), (25.0, 0.4), (63.0957, 0.158_489_41)] {
        let got = medium_utilisation(Milliwatts(mw).level(), most);
        assert!((got - 0.1).abs() < 1e-7, "{mw} mW: {got}");
        let at = |duty| {
            let emission = Emission {
                conducted: Milliwatts(mw).level(),
                gain: Dbi(0.0),
                airtime: Some(Micros(2000.0)),
                duty: Some(duty),
                ..hopping(2400.0, 2483.5, 40)
            };
            demand(&judged("EU", &emission), "eu-2400-fhss-nonadaptive", What::Utilisation)
        };
        assert_eq!(at(most).verdict, Verdict::Within, "{:?}", at(most));
        assert_eq!(at(most * 1.01).verdict, Verdict::Over, "{:?}", at(most * 1.01));
    }
    let calc = |dbm: &str| {
        let typed = [("eirp_dbm".to_owned(), dbm.to_owned())];
        let answer = calc::find("medium-utilisation").unwrap().answer(&typed).unwrap();
        (answer.values[1].1.clone(), answer.notes.len())
    };
    let Value::Number(largest) = calc("18").0 else { panic!("no number") };
    assert!((largest - 15.848_932).abs() < 1e-5, "{largest}");
    assert_eq!(calc("9.9"), (Value::Number(100.0), 1));
    // Below 10 mW the rule does not apply; another row holds.
    let low = Emission { conducted: Dbm(7.9), ..hopping(2400.0, 2483.5, 5) };
    assert_eq!(judged("EU", &low).verdict, Verdict::Within, "{:?}", judged("EU", &low));
    assert!(!ids(&judged("EU", &low)).contains(&"eu-2400-fhss-nonadaptive"));
    let exactly =
        demand(&judged("EU", &Emission { conducted: Dbm(8.0), ..low }), "eu-2400-fhss-low", What::Power);
    assert_eq!(exactly.verdict, Verdict::Over, "the limit is strictly below 10 dBm: {exactly:?}");
}
