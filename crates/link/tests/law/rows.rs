//! Every row: read, judged, and its figures.

use crate::{DATA, Wrong, demand, hopping, judged, single};
use link::law::{Access, Emission, Limits, Obtained, Row, Technique, Verdict, What, power_limit};
use units::{Db, Dbi, Dbm, Khz, Mhz, Micros};

#[test]
fn every_row_is_read_and_keeps_its_words() {
    let limits = Limits::shipped();
    assert_eq!(limits.rows().len(), DATA.lines().count() - 1);
    assert_eq!(limits.rows().len(), 67);
    let of = |obtained| limits.rows().iter().filter(|row| row.obtained == obtained).count();
    assert_eq!(
        [of(Obtained::Text), of(Obtained::SecondHand), of(Obtained::Mixed), of(Obtained::Memory)],
        [10, 24, 21, 12]
    );
    assert_eq!(limits.regions(), ["US", "CA", "EU", "DE", "CH", "FR", "GB", "AU", "NZ", "JP", "IN"]);
    for row in limits.rows() {
        assert!(!row.source.is_empty() && !row.band.is_empty() && !row.use_class.is_empty(), "{}", row.id);
        for (centre, next) in row.centres.iter().zip(row.centres.iter().skip(1)) {
            assert!(centre < next, "{}: {centre} before {next}", row.id);
        }
        for centre in &row.centres {
            let (low, high) = row.edges.unwrap();
            assert!(low <= *centre && *centre <= high, "{}: {centre}", row.id);
        }
    }
    // Counts that the rules and their summaries state.
    let centres = |id| limits.row(id).unwrap().centres.len();
    assert_eq!(
        [
            centres("us-rcrs-27"),
            centres("us-rcrs-72"),
            centres("eu-27-model"),
            centres("eu-35-model"),
            centres("eu-40-model"),
            centres("uk-35-model"),
            centres("ch-40-model"),
        ],
        [6, 50, 5, 23, 4, 36, 18]
    );
}

/// The radiated power that the data state beside each limit is reached at the limit: at 6 dBi
/// where gain up to 6 dBi is free, else with a dipole and half a decibel of feed loss.
#[test]
fn every_limit_radiates_what_the_data_say() {
    let mut wrong = Wrong::default();
    let limits = Limits::shipped();
    for row in limits.rows() {
        let (Some(_), Some(eirp)) = (row.power, row.max_eirp) else { continue };
        let (gain, loss) = if row.gain_words.starts_with("limit holds up to 6 dBi") {
            (Dbi(6.0), Db(0.0))
        } else if row.gain_words.contains("ceiling") {
            (Dbi(20.0), Db(0.0))
        } else {
            (Dbi(2.15), Db(0.5))
        };
        let Ok(found) = power_limit(&limits, &row.region, &row.id, &row.id, gain, loss) else {
            wrong.that(&format!("{}: not found by its id", row.id), None);
            continue;
        };
        wrong.close(&row.id, found.eirp.map_or(f64::NAN, |level| level.0), eirp.0, 1e-4);
        wrong.that(
            &format!("{}: figures from memory are never given as read", row.id),
            (row.obtained != Obtained::Memory || found.conducted.is_none()).then_some(()),
        );
    }
    wrong.done(55);
}

/// An emission made to lie inside a row.
fn inside(row: &Row) -> Option<Emission> {
    let (low, high) = row.edges?;
    let centre = row.centres.first().copied().unwrap_or(Mhz(f64::midpoint(low.0, high.0)));
    let narrow = row.max_bandwidth.or(row.channel_spacing).unwrap_or(Khz(10.0)).0;
    let occupied = row.min_bandwidth.map_or(narrow * 0.8, |width| width.0 * 1.2);
    let mut emission = single(centre.0, occupied.min((high.0 - low.0) * 900.0));
    if row.technique == Technique::Hopping || row.technique == Technique::Hybrid {
        emission.hop_channels = Some(150);
        emission.hop_spacing = Some(Khz(500.0));
        (emission.low, emission.high) = (low, high);
    }
    emission.duty = Some(0.0005);
    emission.airtime = Some(Micros(2000.0));
    emission.access = Access::ListenBeforeTalk;
    emission.gain = Dbi(0.0);
    emission.conducted = row.power.unwrap_or(Dbm(0.0));
    Some(emission)
}

#[test]
fn every_row_is_judged() {
    let limits = Limits::shipped();
    let mut wrong = Wrong::default();
    for row in limits.rows() {
        let Some(emission) = inside(row) else {
            wrong.that(&format!("{} has no band", row.id), (row.id == "us-amateur-model").then_some(()));
            continue;
        };
        if row.power.is_none() {
            let judgement = judged(&row.region, &emission);
            let power = demand(&judgement, &row.id, What::Power);
            wrong.that(&format!("{}: no figure", row.id), (power.verdict == Verdict::NotKnown).then_some(()));
            continue;
        }
        let limits_power =
            power_limit(&limits, &row.region, &row.id, &row.id, emission.gain, emission.feed_loss).unwrap();
        let most = limits_power.conducted.or(limits_power.remembered).unwrap();
        let remembered = limits_power.conducted.is_none();
        // A row of something below a power does not reach it.
        let below = if row.strictly.contains(&What::Power) { Db(0.001) } else { Db(0.0) };
        let at = judged(&row.region, &Emission { conducted: most - below, ..emission.clone() });
        let over = judged(&row.region, &Emission { conducted: most + Db(3.0), ..emission });
        let at = demand(&at, &row.id, What::Power);
        let over = demand(&over, &row.id, What::Power);
        let wanted = if remembered {
            (Verdict::NotKnown, Verdict::NotKnown)
        } else {
            (Verdict::Within, Verdict::Over)
        };
        wrong.that(&format!("{at:?} {over:?}"), ((at.verdict, over.verdict) == wanted).then_some(()));
        wrong.that(
            &format!("{}: {:?}", row.id, over.over_by),
            (over.over_by.as_deref() == Some("3.0 dB")).then_some(()),
        );
        wrong.that(
            &format!("{}: {}", row.id, at.limit),
            (at.limit.starts_with("remembered limit") == remembered).then_some(()),
        );
        wrong.that(&row.id, (at.clause.contains(&row.source)).then_some(()));
    }
    wrong.done(67);
}

#[test]
fn a_row_from_memory_never_says_within() {
    let limits = Limits::shipped();
    let mut rows = 0;
    for row in limits.rows().iter().filter(|row| row.obtained == Obtained::Memory) {
        let emission = Emission { conducted: Dbm(-30.0), ..inside(row).unwrap() };
        for judged in judged(&row.region, &emission).rows.iter().filter(|judged| judged.row.id == row.id) {
            assert_eq!(judged.verdict, Verdict::NotKnown, "{}", row.id);
            for demand in &judged.demands {
                assert_eq!(demand.verdict, Verdict::NotKnown, "{}: {demand:?}", row.id);
                assert!(demand.words().starts_with("not known, remembered limit "), "{}", demand.words());
            }
            rows += 1;
        }
    }
    assert!(rows >= 12, "{rows}");
    // All of Canada is from memory or leans on it.
    let canada = judged("CA", &hopping(902.0, 928.0, 60));
    assert_eq!(canada.verdict, Verdict::NotKnown);
    assert!(canada.sentence().contains("remembered limit"), "{}", canada.sentence());
}

#[test]
fn a_row_partly_from_memory_says_which_part() {
    let adaptive = Emission { access: Access::ListenBeforeTalk, ..hopping(2400.0, 2483.5, 40) };
    let judgement = judged("EU", &adaptive);
    let dwell = demand(&judgement, "eu-2400-fhss-adaptive", What::Dwell);
    assert_eq!(dwell.words(), "not known, remembered limit 400 ms in 12 s");
    let power = demand(&judgement, "eu-2400-fhss-adaptive", What::Power);
    assert_eq!(power.words(), "within the planning limit");
    // A ceiling from memory doesn't spoil a limit that was read and binds.
    let limits = Limits::shipped();
    let japan = |gain| power_limit(&limits, "JP", "920.5-928.1", "", Dbi(gain), Db(0.0)).unwrap();
    assert_eq!(japan(2.0).conducted.map(|level| (level - Dbm(0.0)).thousandths()), Some(13_010));
    assert_eq!(japan(5.0).conducted, None);
    assert_eq!(japan(5.0).remembered.map(|level| (level - Dbm(0.0)).thousandths()), Some(11_010));
}
