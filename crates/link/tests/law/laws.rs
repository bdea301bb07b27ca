//! What holds for any emission.

use crate::{hopping, judged, single};
use link::law::{Access, Emission, Limits, Verdict, judge, judge_hop_list, standing};
use proptest::prelude::*;
use units::{Db, Dbi, Dbm, Khz, Mhz, Micros};

fn any_emission() -> impl Strategy<Value = Emission> {
    let air = (
        -20.0..40.0f64,
        -10.0..30.0f64,
        0.0..6.0f64,
        25.0..3000.0f64,
        0.01..90.0f64,
        proptest::option::of(1.0..3000.0f64),
    );
    let time = (
        proptest::option::of(1u32..200),
        proptest::option::of(1.0..3000.0f64),
        proptest::option::of(0.0..1e6f64),
        proptest::option::of(0.0..1e6f64),
        proptest::option::of(0.0..=1.0f64),
        0usize..4,
    );
    (air, time).prop_map(
        |((dbm, gain, loss, low, span, occupied), (hops, spacing, dwell, air, duty, access))| Emission {
            conducted: Dbm(dbm),
            gain: Dbi(gain),
            feed_loss: Db(loss),
            low: Mhz(low),
            high: Mhz(low + span),
            occupied: occupied.map(Khz),
            hop_channels: hops,
            hop_spacing: spacing.map(Khz),
            dwell: dwell.map(Micros),
            airtime: air.map(Micros),
            duty,
            access: Access::ALL[access],
        },
    )
}

proptest! {
    #[test]
    fn the_worst_demand_and_the_best_row_decide(emission in any_emission(), at in 0usize..11) {
        let limits = Limits::shipped();
        let region = limits.regions()[at].to_owned();
        let judgement = judge(&limits, &region, &emission).unwrap();
        for judged in &judgement.rows {
            prop_assert_eq!(judged.verdict, judged.demands.iter().map(|demand| demand.verdict).max().unwrap());
            for demand in &judged.demands {
                prop_assert_eq!(demand.verdict == Verdict::Over, demand.words().starts_with("over"));
                prop_assert!(!demand.clause.is_empty() && !demand.got.is_empty());
                prop_assert!(!demand.words().contains("NaN") && !demand.got.contains("NaN"));
                if judged.row.is_remembered(demand.what) {
                    prop_assert_eq!(demand.verdict, Verdict::NotKnown);
                }
            }
        }
        prop_assert_eq!(standing(&limits, &region, &emission).unwrap(), judgement.standing());
        let within = judgement.rows.iter().any(|judged| judged.verdict == Verdict::Within);
        prop_assert_eq!(judgement.verdict == Verdict::Within, within);
        prop_assert!(judgement.sentence().ends_with("Planning aid; local rules prevail."));
    }

    #[test]
    fn more_power_is_never_within_where_less_was_not(
        emission in any_emission(), more in 0.0..30.0f64, at in 0usize..11,
    ) {
        let limits = Limits::shipped();
        let region = limits.regions()[at].to_owned();
        let less = judge(&limits, &region, &emission).unwrap().verdict;
        let stronger = Emission { conducted: emission.conducted + Db(more), ..emission };
        let more = judge(&limits, &region, &stronger).unwrap().verdict;
        prop_assert!(!(more == Verdict::Within && less != Verdict::Within), "{less} then {more}");
    }

    #[test]
    fn nonsense_is_never_within(bad in prop::sample::select(vec![f64::NAN, f64::INFINITY]), which in 0usize..5) {
        let mut emission = Emission { conducted: Dbm(0.0), ..single(2440.0, 2000.0) };
        match which {
            0 => emission.conducted = Dbm(bad),
            1 => emission.gain = Dbi(bad),
            2 => emission.feed_loss = Db(-bad),
            3 => emission.low = Mhz(-bad),
            _ => emission.high = Mhz(bad),
        }
        prop_assert_ne!(judged("EU", &emission).verdict, Verdict::Within);
    }

    #[test]
    fn a_hop_list_used_unequally_dwells_longer(visits in prop::collection::vec(1u32..5, 50)) {
        let emission = hopping(902.0, 928.0, 50);
        let equal = judged("US", &emission).verdict;
        let list = judge_hop_list(&Limits::shipped(), "US", &emission, &visits).unwrap().verdict;
        let even = visits.iter().all(|each| *each == visits[0]);
        prop_assert_eq!(equal, Verdict::Within);
        prop_assert_eq!(list == Verdict::Within, even);
    }
}
