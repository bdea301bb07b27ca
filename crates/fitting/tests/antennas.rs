//! The antennas of an aircraft: distances, angles, holes, lengths and bands, against figures from
//! outside and against the same reckoned another way.
#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

use fitting::antennas::{Answer, Antennas, check};
use fitting::finding::Weight;
use proptest::prelude::*;
use units::Mhz;

/// Two crossed bare tips on one receiver, everything about them as it should be.
const GOOD: &str = r#"
[[antenna]]
name = "left"
on = "R7"
kind = "bare-tip"
length_mm = 31
for_mhz = 2440
connector = "snap-on"
socket = "snap-on"
azimuth_deg = -90
elevation_deg = 0
around = "clear"
carbon_mm = 60
motor_lead_mm = 120
pack_mm = 80

[[antenna]]
name = "fin"
on = "R7"
kind = "bare-tip"
length_mm = 31
for_mhz = 2440
connector = "snap-on"
socket = "snap-on"
azimuth_deg = 0
elevation_deg = 90
around = "clear"
metal_mm = 50

[between]
apart_mm = 150
"#;

fn answer(text: &str, band: Option<f64>) -> Answer {
    let antennas = Antennas::read("antennas.toml", text).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    check(&antennas, band.map(Mhz))
}

fn keys(answer: &Answer) -> Vec<&'static str> {
    answer.findings.iter().map(|finding| finding.key).collect()
}

fn told(text: &str) -> Vec<String> {
    Antennas::read("a.toml", text).unwrap_err().iter().map(ToString::to_string).collect()
}

/// Two bare tips that point so (azimuth, elevation).
fn two(one: (f64, f64), other: (f64, f64)) -> String {
    let antenna = |name: &str, (azimuth, elevation): (f64, f64)| {
        format!(
            "[[antenna]]\nname = \"{name}\"\nkind = \"bare-tip\"\nazimuth_deg = {azimuth}\nelevation_deg = {elevation}\n"
        )
    };
    antenna("a", one) + &antenna("b", other)
}

#[test]
fn what_is_as_it_should_be_has_no_fault_and_still_says_what_was_not_checked() {
    let good = answer(GOOD, Some(2440.0));
    assert!(good.findings.iter().all(|finding| finding.weight == Weight::Note), "{:#?}", good.findings);
    assert!(good.sentence.starts_with("Nothing was found against 2 antennas"), "{}", good.sentence);
    assert!(good.unchecked.last().unwrap().contains("ground range check"), "{:?}", good.unchecked);
    assert!(!format!("{good:?}").contains("safe"));
    let nothing = answer("", None);
    assert_eq!(nothing.sentence, "No antenna is written down, so nothing about them was checked.");
    assert_eq!(nothing.unchecked, ["The antennas: none is written down."]);
}

#[test]
fn a_part_of_six_lines_gets_an_answer() {
    let text =
        "[[antenna]]\nname = \"only\"\nkind = \"wire\"\nlength_mm = 31\naround = \"clear\"\ncarbon_mm = 15\n";
    let short = answer(text, Some(2440.0));
    assert_eq!(keys(&short), ["too_near"]);
    insta::assert_snapshot!(short.sentence, @"1 warning on 1 antenna, first antenna only: it is 15 mm from the nearest carbon, less than 20 mm.");
    insta::assert_debug_snapshot!(short.unchecked, @r#"
    [
        "Of antenna only: where it points, the band that it is made for, whether its connector fits; not written down or not known.",
        "What the airframe, its carbon and its wires do to the antennas' pattern: the ground range check shows that, in every attitude and with the motor running.",
    ]
    "#);
}

#[test]
fn working_lengths_are_judged_by_a_quarter_wave() {
    // A quarter wave is about 31 mm at 2.4 GHz, 82 mm at 915 MHz, 86 mm at 868 MHz: c/4f. 10 % either
    // way is let pass.
    let rows = [
        ("bare-tip", 2440.0, 31.0, false),
        ("bare-tip", 915.0, 82.0, false),
        ("bare-tip", 868.0, 86.0, false),
        ("wire", 868.0, 82.0, false),
        ("sleeve", 2440.0, 28.0, false),
        ("dipole", 2440.0, 61.0, false),
        ("bare-tip", 2440.0, 27.0, true),
        ("bare-tip", 2440.0, 34.5, true),
        ("bare-tip", 868.0, 31.0, true),
        ("dipole", 2440.0, 31.0, true),
        ("sleeve", 915.0, 164.0, true),
        // The old bands: 8.6 m is a wave at 35 MHz; a metre of wire is usual, matched by the receiver.
        ("wire", 35.0, 2140.0, false),
        ("wire", 35.0, 1000.0, false),
        ("wire", 35.0, 2900.0, true),
    ];
    let mut wrong = Vec::new();
    for (kind, mhz, length, off) in rows {
        let text = format!("[[antenna]]\nname = \"a\"\nkind = \"{kind}\"\nlength_mm = {length}\n");
        let found = answer(&text, Some(mhz));
        if keys(&found).contains(&"wrong_length") != off {
            wrong.push(format!("{kind} {length} mm at {mhz} MHz: {:?}", found.findings));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let text = "[[antenna]]\nname = \"a\"\nkind = \"wire\"\nlength_mm = 86\n";
    let long = answer(text, Some(2440.0));
    let finding = &long.findings[0];
    assert!(finding.consequence.contains("in lobes"), "three quarters of a wave: {finding:?}");
    assert!(
        finding.text.contains("180 % longer") && finding.text.contains("as long as for 871 MHz"),
        "{finding:?}"
    );
    // A chip has no length to be off.
    let chip = answer("[[antenna]]\nname = \"a\"\nkind = \"chip\"\nlength_mm = 9\n", Some(2440.0));
    assert_eq!(keys(&chip), Vec::<&str>::new());
}

#[test]
fn wrong_bands_are_faults_with_their_price() {
    let of = |kind: &str, made_for: f64, band: f64| {
        let text = format!("[[antenna]]\nname = \"a\"\nkind = \"{kind}\"\nfor_mhz = {made_for}\n");
        answer(&text, Some(band))
    };
    let mut wrong = Vec::new();
    // Both ends of the band at 2.4 GHz, and of those under 1 GHz.
    let rows = [
        (868.0, 2400.0),
        (868.0, 2483.5),
        (915.0, 2400.0),
        (915.0, 2483.5),
        (2440.0, 863.0),
        (2440.0, 870.0),
        (2440.0, 902.0),
        (2440.0, 928.0),
    ];
    for (made_for, band) in rows {
        for kind in ["wire", "bare-tip", "sleeve", "dipole"] {
            let found = of(kind, made_for, band);
            let cost = found.sites[0].cost.unwrap().0;
            let left = format!("{:.0} %", 100.0 * 10f64.powf(-cost / 20.0));
            let says = found.findings.first().is_some_and(|first| {
                first.key == "wrong_band"
                    && first.weight >= Weight::Warning
                    && first.consequence.contains(&left)
            });
            if !(says && cost > 1.0) {
                wrong.push(format!("{kind} {made_for} at {band}: {cost} dB {:?}", found.findings));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(keys(&of("wire", 868.0, 868.0)), Vec::<&str>::new());
    assert_eq!(keys(&of("chip", 868.0, 2440.0)), ["wrong_band"]);
    assert_eq!(keys(&of("patch", 2440.0, 2450.0)), Vec::<&str>::new());
}

#[test]
fn two_to_five_centimetres_are_kept_from_what_disturbs() {
    // Common practice, no source: 2 to 5 cm or more from packs, motors and their leads, speed
    // controllers, servo leads, metal rods, carbon.
    let kinds = ["carbon", "motor-lead", "speed-controller", "pack", "servo-lead", "metal-rod"];
    for kind in kinds {
        for (away, weight) in [(10.0, Some(Weight::Warning)), (30.0, Some(Weight::Note)), (50.1, None)] {
            let text = format!(
                "[[antenna]]\nname = \"a\"\nkind = \"bare-tip\"\nlength_mm = 31\nazimuth_deg = 90\n\
                 [[place]]\nantenna = \"a\"\nx_mm = 0\ny_mm = 0\nz_mm = 0\n\
                 [[thing]]\nkind = \"{kind}\"\nx_mm = 0\ny_mm = {}\nz_mm = 0\n",
                31.0 + away
            );
            let found = answer(&text, Some(2440.0));
            assert!((found.sites[0].near[0].distance.0 - away / 1000.0).abs() < 1e-12, "{kind} {away}");
            let near = found.findings.iter().find(|finding| finding.key == "too_near");
            assert_eq!(near.map(|finding| finding.weight), weight, "{kind} {away}");
        }
    }
    for (key, kind) in
        [("carbon_mm", "carbon"), ("motor_lead_mm", "motor lead"), ("pack_mm", "pack"), ("metal_mm", "metal")]
    {
        let found = answer(&format!("[[antenna]]\nname = \"a\"\nkind = \"wire\"\n{key} = 19\n"), None);
        assert_eq!(found.findings[0].weight, Weight::Warning, "{key}");
        assert!(found.findings[0].text.contains(kind), "{:?}", found.findings[0]);
    }
}

#[test]
fn carbon_round_an_antenna_is_a_fault_and_beside_it_a_warning() {
    for (word, found_key) in [("in-carbon", "in_carbon"), ("behind-carbon", "behind_carbon")] {
        let found = answer(&GOOD.replacen("\"clear\"", &format!("\"{word}\""), 1), Some(2440.0));
        assert_eq!(found.findings[0].key, found_key);
        assert!(found.findings[0].weight >= Weight::Warning);
    }
}

#[test]
fn connectors_that_differ_are_faults() {
    let words = ["threaded", "threaded-reversed", "snap-on", "snap-on-small", "soldered"];
    for has in words {
        for wants in words {
            let text = format!(
                "[[antenna]]\nname = \"a\"\nkind = \"wire\"\nconnector = \"{has}\"\nsocket = \"{wants}\"\n"
            );
            let found = keys(&answer(&text, None));
            assert_eq!(found.contains(&"connector_differs"), has != wants, "{has} {wants}");
        }
    }
}

#[test]
fn long_things_that_run_with_an_antenna_are_found() {
    let rod = |to: &str| {
        let text = format!(
            "[[antenna]]\nname = \"a\"\nkind = \"bare-tip\"\nlength_mm = 31\nazimuth_deg = 0\n\
             [[place]]\nantenna = \"a\"\nx_mm = 0\ny_mm = 0\nz_mm = 0\n\
             [[thing]]\nkind = \"metal-rod\"\nname = \"pushrod\"\nx_mm = -200\ny_mm = 40\nz_mm = 0\n{to}\n"
        );
        answer(&text, Some(2440.0))
    };
    assert!(keys(&rod("x2_mm = 200")).contains(&"runs_alongside"));
    assert!(!keys(&rod("y2_mm = 400")).contains(&"runs_alongside"));
    // A point has no direction.
    assert!(!keys(&rod("")).contains(&"runs_alongside"));
    let near = &rod("x2_mm = 200").sites[0].near[0];
    assert!(near.angle.unwrap().0 < 1e-9 && (near.distance.0 - 0.040).abs() < 1e-12, "{near:?}");
}

#[test]
fn at_right_angles_the_field_costs_three_decibels_and_less_angle_costs_more() {
    // -20 log cos: 45° 3.01, 60° 6.02, 75° 11.74 dB (Balanis, Antenna Theory, 2.12, from memory); the
    // field may lie 90° - angle/2 off both.
    for (angle, loss) in [(60.0, "6.0 dB"), (30.0, "11.7 dB"), (5.0, "20.0 dB")] {
        let found = answer(&two((0.0, 0.0), (angle, 0.0)), None);
        let finding = found.findings.iter().find(|finding| finding.key == "not_square").unwrap();
        assert!(finding.consequence.contains(loss) && finding.consequence.contains("3.0 dB"), "{finding:?}");
    }
    for square in [(90.0, 0.0), (-90.0, 0.0), (180.0, 90.0), (77.0, 90.0)] {
        assert!(!keys(&answer(&two((0.0, 0.0), square), None)).contains(&"not_square"), "{square:?}");
    }
    // Opposite ways is alongside.
    assert!(keys(&answer(&two((0.0, 0.0), (180.0, 0.0)), None)).contains(&"not_square"));
    // Where no directions are known, the angle that was measured stands.
    let text = "[[antenna]]\nname = \"a\"\nkind = \"wire\"\n[[antenna]]\nname = \"b\"\nkind = \"wire\"\n[between]\nangle_deg = 20\n";
    assert!(keys(&answer(text, None)).contains(&"not_square"));
}

#[test]
fn the_deepest_hole_of_crossed_antennas_lies_between_them() {
    // 20 log(cos(90 cos t)/sin t) at 45 degrees is -4.0417 dB (Balanis, Antenna Theory, 4.6, from
    // memory; computed); a wire alone has its hole along itself.
    let round = &answer(&two((0.0, 0.0), (90.0, 0.0)), None).rounds[0];
    assert!((round.hole.depth.0 - 4.041_731).abs() < 1e-4, "{:?}", round.hole);
    let hole = round.hole.towards[0];
    assert!(hole.elevation.0.abs() < 1e-9 && (hole.azimuth.0.abs() % 90.0 - 45.0).abs() < 1e-9, "{hole:?}");
    insta::assert_snapshot!(round.hole.words, @"ahead and out to the right, and behind and out to the left");
    let alone = "[[antenna]]\nname = \"a\"\nkind = \"bare-tip\"\nazimuth_deg = -90\n";
    let found = answer(alone, Some(2440.0));
    let round = &found.rounds[0];
    assert_eq!(round.hole.words, "straight out to the left, and straight out to the right");
    assert!((round.hole.depth.0 - 25.0).abs() < 1e-9, "no deeper than airframe and ground leave it");
    assert!(found.findings.iter().any(|finding| finding.key == "hole"));
    // The line goes clockwise from the nose: full ahead and behind, nothing to either side.
    assert_eq!(round.line.len(), 72);
    assert!(round.line[0].0.abs() < 1e-9 && round.line[36].0.abs() < 1e-9);
    assert!((round.line[18].0 + 25.0).abs() < 1e-9 && (round.line[54].0 + 25.0).abs() < 1e-9);
    // 30 degrees off the wire: -7.5808 dB.
    assert!((round.line[12].0 + 7.580_762).abs() < 1e-4, "{}", round.line[12]);
}

#[test]
fn how_to_hold_the_transmitter_is_said_where_it_matters() {
    let lying = answer(&two((0.0, 0.0), (90.0, 0.0)), None);
    let held = lying.rounds[0].held.unwrap();
    // Both lie flat: a field that stands upright meets neither; 20 dB at most, besides the pattern.
    assert!(held.upright.0 > 15.0 && held.flat.0 < 7.0, "{held:?}");
    let finding = lying.findings.iter().find(|finding| finding.key == "how_to_hold").unwrap();
    assert!(finding.mend.starts_with("Hold it level"), "{finding:?}");
    let standing = answer(&two((90.0, 0.0), (0.0, 90.0)), None);
    assert!(standing.rounds[0].held.unwrap().upright.0 < 1.0, "{:?}", standing.rounds[0].held);
}

#[test]
fn each_receiver_is_looked_at_alone() {
    let text = GOOD.replacen("on = \"R7\"", "on = \"R8\"", 1);
    let found = answer(&text, Some(2440.0));
    assert_eq!(found.rounds.len(), 2);
    assert!(found.rounds.iter().all(|round| round.antennas.len() == 1));
    // Capitals make no other receiver.
    let text = GOOD.replacen("on = \"R7\"", "on = \"r7\"", 1);
    assert_eq!(answer(&text, Some(2440.0)).rounds.len(), 1);
}

#[test]
fn problems_say_what_where_and_what_to_do() {
    let text = r#"
[[antenna]]
name = "left"
kind = "wire"

[[antenna]]
name = "Left"
kind = "wire"

[[place]]
antenna = "right"
x_mm = 0
y_mm = 0
z_mm = 0
"#;
    insta::assert_debug_snapshot!(told(text), @r#"
    [
        "a.toml:6: `antenna[2].name` is \"Left\", as another antenna; give each its own name",
        "a.toml:10: `place[1].antenna` is \"right\", but no antenna is called so; write an antenna's name",
    ]
    "#);
    let text = "[[antenna]]\nname = \"a\"\nkind = \"whip\"\nlength_mm = -3\nelevation_deg = 100\n";
    insta::assert_snapshot!(told(text).join("\n"), @r#"
    a.toml:3: `antenna[1].kind` is `whip`; choose "wire", "bare-tip", "sleeve", "dipole", "chip" or "patch"
    a.toml:4: `antenna[1].length_mm` is -3 mm; it can be 1 to 3000 mm
    a.toml:5: `antenna[1].elevation_deg` is 100 °; it can be -90 to 90 °
    "#);
}

/// Points of a piece, for the slow way.
fn slow(one: [[f64; 3]; 2], other: [[f64; 3]; 2]) -> f64 {
    let at = |piece: [[f64; 3]; 2], share: f64| {
        let part = |axis: usize| piece[0][axis] + share * (piece[1][axis] - piece[0][axis]);
        [part(0), part(1), part(2)]
    };
    // Round by round on a finer net about the best: the distance is convex in both shares.
    let (mut s, mut t, mut width) = (0.5, 0.5, 0.5);
    let mut best = f64::INFINITY;
    for _ in 0..40 {
        let (s0, t0) = (s, t);
        for i in -10..=10 {
            for j in -10..=10 {
                let a: f64 = (s0 + width * f64::from(i) / 10.0).clamp(0.0, 1.0);
                let b: f64 = (t0 + width * f64::from(j) / 10.0).clamp(0.0, 1.0);
                let (from, to) = (at(one, a), at(other, b));
                let away = (from[0] - to[0]).hypot(from[1] - to[1]).hypot(from[2] - to[2]);
                if away < best {
                    (best, s, t) = (away, a, b);
                }
            }
        }
        width *= 0.7;
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// The distance to a long thing is the least of all pairs of points.
    #[test]
    fn distances_are_the_shortest(
        root in prop::array::uniform3(-300..300_i32),
        thing in prop::array::uniform3(-300..300_i32),
        other in prop::array::uniform3(-300..300_i32),
        azimuth in -180..180_i32,
        elevation in -90..90_i32,
        length in 5..200_i32,
    ) {
        let text = format!(
            "[[antenna]]\nname = \"a\"\nkind = \"wire\"\nlength_mm = {length}\nazimuth_deg = {azimuth}\nelevation_deg = {elevation}\n\
             [[place]]\nantenna = \"a\"\nx_mm = {}\ny_mm = {}\nz_mm = {}\n\
             [[thing]]\nkind = \"carbon\"\nx_mm = {}\ny_mm = {}\nz_mm = {}\nx2_mm = {}\ny2_mm = {}\nz2_mm = {}\n",
            root[0], root[1], root[2], thing[0], thing[1], thing[2], other[0], other[1], other[2]
        );
        let found = answer(&text, None);
        let (a, e) = (f64::from(azimuth).to_radians(), f64::from(elevation).to_radians());
        let from = root.map(f64::from);
        let length = f64::from(length);
        let tip = [
            from[0] + length * e.cos() * a.cos(),
            from[1] + length * e.cos() * a.sin(),
            from[2] + length * e.sin(),
        ];
        let slow = slow([from, tip], [thing.map(f64::from), other.map(f64::from)]) / 1000.0;
        let fast = found.sites[0].near[0].distance.0;
        prop_assert!((fast - slow).abs() < 1e-4 && fast <= slow + 1e-9, "{fast} {slow}");
    }

    /// Whichever way two antennas point: numbers, a hole no deeper than 25 dB and no higher than any
    /// direction of the dipole's formula.
    #[test]
    fn a_hole_is_where_no_direction_is_worse(
        one in (-180.0..180.0f64, -90.0..90.0f64),
        other in (-180.0..180.0f64, -90.0..90.0f64),
        look in prop::collection::vec((-180.0..180.0f64, -90.0..90.0f64), 200),
    ) {
        let vector = |(azimuth, elevation): (f64, f64)| {
            let (a, e) = (azimuth.to_radians(), elevation.to_radians());
            [e.cos() * a.cos(), e.cos() * a.sin(), e.sin()]
        };
        let found = answer(&two(one, other), None);
        let round = &found.rounds[0];
        prop_assert!(round.hole.depth.0 >= 4.0 && round.hole.depth.0 <= 25.0 + 1e-9, "{:?}", round.hole);
        prop_assert!(round.line.iter().all(|gain| gain.0 <= 0.0 && gain.0 >= -25.0 - 1e-9));
        for towards in look {
            // cos((pi/2) cos t)/sin t, as power.
            let gain = [one, other].map(|wire| {
                let (w, d) = (vector(wire), vector(towards));
                let cos: f64 = w[0] * d[0] + w[1] * d[1] + w[2] * d[2];
                let sin2 = (1.0 - cos * cos).max(1e-12);
                20.0 * ((std::f64::consts::FRAC_PI_2 * cos).cos() / sin2.sqrt()).abs().max(1e-9).log10()
            });
            let gain = gain[0].max(gain[1]);
            // A net of 3 degrees misses no more than this, but for the narrow holes along one wire.
            prop_assert!(gain >= -round.hole.depth.0 - 1.0 || gain < -24.0, "{gain} {:?}", round.hole);
        }
    }

    /// Nearer never weighs less.
    #[test]
    fn nearer_is_never_lighter(near in 0.0..200.0f64, farther in 0.0..200.0f64) {
        let weight = |mm: f64| {
            let text = format!("[[antenna]]\nname = \"a\"\nkind = \"wire\"\ncarbon_mm = {mm}\n");
            answer(&text, None).findings.first().map(|finding| finding.weight)
        };
        let farther = near + farther;
        prop_assert!(weight(near) >= weight(farther));
    }
}

/// Where only one of two antennas has a direction, what the other hears isn't known.
#[test]
fn the_hole_of_one_of_two_is_a_note() {
    let text = "[[antenna]]\nname = \"a\"\nkind = \"bare-tip\"\nelevation_deg = 90\n\
                [[antenna]]\nname = \"b\"\nkind = \"bare-tip\"\n";
    let found = answer(text, None);
    let hole = found.findings.iter().find(|one| one.key == "hole").unwrap();
    assert_eq!(hole.weight, fitting::finding::Weight::Note);
    assert!(
        hole.text.contains("whose direction is written down (a)") && hole.mend.contains("others point"),
        "{hole:?}"
    );
}

#[test]
fn no_receiver_has_nine_antennas() {
    let text = |on: &str| -> String {
        let one = |number| format!("[[antenna]]\nname = \"a{number}\"\nkind = \"wire\"\non = \"{on}\"\n");
        (0..20).map(one).collect::<Vec<String>>().concat()
    };
    let problems = Antennas::read("fit", &text("R7")).unwrap_err();
    assert_eq!(
        problems.iter().map(ToString::to_string).collect::<Vec<_>>(),
        ["fit:33: `antenna[9].on` makes more than 8 antennas of R7; write whose each of them is"]
    );
}
