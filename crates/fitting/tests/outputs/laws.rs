//! Laws of the outputs, whatever the aircraft.

use std::fmt::Write as _;

use fitting::finding::Weight;
use fitting::outputs::{Answer, Facts, Outputs, check};
use proptest::prelude::*;
use proptest::sample::subsequence;

fn answer(text: &str) -> Answer {
    check(
        &Outputs::read("test", text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}")),
        &Facts::default(),
    )
}

/// A row of an aircraft, all keys in bounds, sense not asked for.
fn transmitter(number: usize) -> impl Strategy<Value = String> {
    let orders = prop::sample::select(vec!["AETR", "TAER", "EATR", "RETA"]);
    (orders, any::<bool>(), 4_u32..12, 800_u32..1200, 1800_u32..2200, prop::option::of(2_u32..5000), 0_usize..3).prop_map(
        move |(order, second, channels, low, high, steps, rest)| {
            let mut row = format!(
                "[[transmitter]]\nlabel = \"T{number}\"\norder = [\"{order}\"]\nrole = \"{}\"\nchannels = {channels}\n\
                 low_us = {low}\nhigh_us = {high}\nthrottle_rest = \"{}\"\n",
                if second { "second" } else { "main" },
                ["low", "centre", "high"][rest]
            );
            if let Some(steps) = steps {
                writeln!(row, "steps = {steps}").unwrap();
            }
            row
        },
    )
}

fn output() -> impl Strategy<Value = String> {
    (1_u32..12, 1_u32..14, 0_usize..4, any::<bool>(), 10.0..1500.0, prop::option::of(1_u32..3), 300_u32..1400)
        .prop_map(|(number, channel, sends, reversed, rate, group, low)| {
            let mut row = format!(
                "[[output]]\nnumber = {number}\nchannel = {channel}\nsends = \"{}\"\nreversed = {reversed}\n\
                 rate_hz = {rate}\nlow_us = {low}\nhigh_us = {}\n",
                ["pulses", "train", "stream", "nothing"][sends],
                low + 700
            );
            if let Some(group) = group {
                writeln!(row, "group = {group}").unwrap();
            }
            row
        })
}

fn part(number: usize) -> impl Strategy<Value = String> {
    let keys = vec![
        "function = \"throttle\"",
        "surface = \"flap\"",
        "low_us = 900",
        "high_us = 2050",
        "centre_us = 1510",
        "fastest_hz = 300",
        "dead_band_us = 1.5",
        "longer_moves = \"up\"",
        "deg_per_us = 0.2",
        "idle_us = 1100",
    ];
    let sorts = prop::sample::select(vec!["servo", "speed-controller", "light", "controller", "other"]);
    (sorts, 1_u32..12, subsequence(keys, 0..=10), prop::option::of(0_usize..3)).prop_map(
        move |(sort, output, keys, stream)| {
            let mut row =
                format!("[[part]]\nname = \"part {number}\"\nsort = \"{sort}\"\noutput = {output}\n");
            for key in keys {
                writeln!(row, "{key}").unwrap();
            }
            if let Some(stream) = stream {
                writeln!(row, "stream = \"{}\"", ["train", "bus", "other bus"][stream]).unwrap();
            }
            row
        },
    )
}

fn rows() -> impl Strategy<Value = Vec<String>> {
    let senders = (0_usize..3).prop_flat_map(|n| (0..n).map(transmitter).collect::<Vec<_>>());
    let parts = (0_usize..6).prop_flat_map(|n| (0..n).map(part).collect::<Vec<_>>());
    (senders, prop::collection::vec(output(), 0..5), parts).prop_map(|(a, b, c)| [a, b, c].concat())
}

/// Two servos on one surface, each with numbers of its own.
fn surface(one: &str, two: &str, reversed: &str, centre: f64, travel: f64) -> String {
    let (low, high) = (centre - travel, centre + travel);
    format!(
        "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n\
         [[output]]\nnumber = 1\nlow_us = {low}\ncentre_us = {centre}\nhigh_us = {high}\n\
         [[output]]\nnumber = 2\nchannel = 1\nreversed = {reversed}\nlow_us = {low}\ncentre_us = {centre}\nhigh_us = {high}\n\
         [[part]]\nname = \"one\"\noutput = 1\nsurface = \"wing\"\n{one}\n\
         [[part]]\nname = \"two\"\noutput = 2\nsurface = \"wing\"\n{two}\n"
    )
}

fn fights(answer: &Answer) -> bool {
    answer.findings.iter().any(|finding| finding.key.starts_with("servos_"))
}

proptest! {
    #[test]
    fn the_order_of_rows_says_nothing(
        (rows, shuffled) in rows().prop_flat_map(|rows| (Just(rows.clone()), Just(rows).prop_shuffle()))
    ) {
        prop_assert_eq!(answer(&rows.concat()), answer(&shuffled.concat()));
    }

    #[test]
    fn every_aircraft_has_an_answer_in_words(rows in rows()) {
        let answer = answer(&rows.concat());
        prop_assert!(!answer.sentence.is_empty());
        prop_assert!(answer.findings.is_sorted_by_key(|finding| std::cmp::Reverse(finding.weight)));
        for finding in &answer.findings {
            for words in [&finding.text, &finding.consequence, &finding.mend, &answer.sentence] {
                prop_assert!(words.ends_with('.') && !words.contains("NaN") && !words.contains("inf"), "{}", words);
            }
        }
    }

    #[test]
    fn mirrored_servos_with_the_same_numbers_never_fight(
        centre in 1300.0..1700.0, travel in 50.0..900.0, middle in 1300.0..1700.0, deg in 0.02..0.4
    ) {
        // Mounted alike, each number may be anything: both do the same.
        let alike = format!("centre_us = {middle}\ndeg_per_us = {deg}\nlonger_moves = \"down\"");
        prop_assert!(!fights(&answer(&surface(&alike, &alike, "false", centre, travel))));
        // Mirrored, the second one reversed: the same angles where the centre is the servos' own.
        let mirror = |way: &str| format!("centre_us = {centre}\ndeg_per_us = {deg}\nlonger_moves = \"{way}\"");
        prop_assert!(!fights(&answer(&surface(&mirror("up"), &mirror("down"), "true", centre, travel))));
        // Mirrored, but not reversed: against each other.
        prop_assert!(fights(&answer(&surface(&mirror("up"), &mirror("down"), "false", centre, travel))));
    }

    /// Notes are left out: that a part's range is used partly is more so when it is wider.
    #[test]
    fn a_wider_accepted_range_never_adds_a_fault_or_a_warning(
        sent_low in 600.0..1400.0, sent_high in 1600.0..2400.0,
        low in 600.0..1499.0, high in 1501.0..2400.0, wider in 0.0..400.0
    ) {
        let text = |wider: f64| format!(
            "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\nlow_us = {sent_low}\nhigh_us = {sent_high}\n\
             [[part]]\nname = \"servo\"\noutput = 1\ncentre_us = 1500\nlow_us = {}\nhigh_us = {}\n",
            low - wider, high + wider
        );
        let heavy = |text: &str| -> Vec<(Weight, &str)> {
            answer(text).findings.iter().filter(|one| one.weight > Weight::Note).map(|one| (one.weight, one.key)).collect()
        };
        let (narrow, wide) = (heavy(&text(0.0)), heavy(&text(wider)));
        for (weight, key) in &wide {
            prop_assert!(narrow.iter().any(|(was, had)| had == key && was >= weight), "{} {}", key, weight);
        }
    }

    #[test]
    fn a_faster_part_never_adds_a_finding(rate in 10.0..1500.0, fastest in 10.0..1500.0, more in 0.0..500.0) {
        let found = |fastest: f64| answer(&format!(
            "[[transmitter]]\nlabel = \"T1\"\norder = [\"AETR\"]\n[[output]]\nnumber = 1\nrate_hz = {rate}\n\
             [[part]]\nname = \"servo\"\noutput = 1\nfastest_hz = {fastest}\n"
        )).findings.len();
        prop_assert!(found(fastest + more) <= found(fastest));
    }
}
