//! The sheet's averages against drawing spells, fades and packets one by one.

use link::fading::Scatter;
use link::sheet::Stage;
use units::{Db, Metres};

use crate::{ask, gear};

/// A small generator: `SplitMix64` (Steele, Lea and Flood, *Fast splittable pseudorandom
/// number generators*, 2014; from memory). Good enough to draw with, and the same everywhere.
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn uniform(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Two independent standard normals (Box and Muller, 1958).
    fn normals(&mut self) -> (f64, f64) {
        let (radius, turn) = ((-2.0 * self.uniform().ln()).sqrt(), std::f64::consts::TAU * self.uniform());
        (radius * turn.cos(), radius * turn.sin())
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "an index of a short list"
    )]
    fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[((self.uniform() * list.len() as f64) as usize).min(list.len() - 1)]
    }
}

/// A spell's power over its mean: a direct wave and scattered ones.
fn fade(draw: &mut Draw, scatter: Scatter) -> Db {
    let k = match scatter {
        Scatter::Rayleigh => 0.0,
        Scatter::Rician { k } => k.ratio(),
    };
    let (x, y) = draw.normals();
    let direct = (k / (k + 1.0)).sqrt();
    let part = (0.5 / (k + 1.0)).sqrt();
    Db::of_ratio((direct + part * x).powi(2) + (part * y).powi(2))
}

#[test]
fn delivery_and_probability_are_those_of_drawn_spells() {
    for (seed, typed) in [
        (1, "distance_m=6000 fading=rayleigh"),
        (2, "distance_m=9000 fading=rician k_db=6 shadowing_db=6"),
        (3, "distance_m=12000 other_links=2 rx_antennas=two-crossed"),
        (4, "distance_m=5000 motion=any-attitude fading=rician k_db=12"),
    ] {
        let gear = gear::brook();
        let asked = ask(&gear, typed);
        let stage = Stage::new(&asked.setup).unwrap();
        let at = stage.at(asked.setup.flight.distance).unwrap();
        let tuned = stage.tune(&asked.setting).unwrap();
        let before = asked.setting.power - at.path.total;
        let scatter = at.scatter(&stage);
        let delivery = tuned.air.mean_delivery(&at, before, &at.control, stage.shadowing);
        let probability = tuned.air.probability(&at, before, &at.control, stage.shadowing);

        let mut draw = Draw(seed);
        let (spells, packets) = (4000, 40);
        let (mut arrived, mut squares, mut good) = (0.0, 0.0, 0.0);
        for _ in 0..spells {
            let shadow = Db(draw.normals().0 * stage.shadowing.0);
            let mean = before - tuned.air.sensitivity
                + Db(*draw.of(&at.control))
                + Db(*draw.of(&at.heights))
                + shadow;
            let mut through = 0.0;
            for _ in 0..packets {
                let over = mean + fade(&mut draw, scatter);
                let heard = draw.uniform() >= tuned.air.curve().loss(over);
                let free = draw.uniform() < tuned.air.survive();
                through += f64::from(u8::from(heard && free)) / f64::from(packets);
            }
            arrived += through;
            squares += through * through;
            // The quality of a spell is the mean over its fading: known to the sheet, seen
            // here through few packets, so it is compared by the mean level it needs.
            good += f64::from(u8::from(mean.0 >= tuned.air.needed(&at).unwrap().0));
        }
        let count = f64::from(spells);
        let mean = arrived / count;
        let error = ((squares / count - mean * mean).max(0.0) / count).sqrt();
        assert!(
            (mean - delivery).abs() < 3.0 * error + 0.002,
            "{typed}: drawn {mean} ± {error}, sheet {delivery}"
        );
        let share = good / count;
        let error = (probability * (1.0 - probability) / count).sqrt();
        assert!(
            (share - probability).abs() < 3.0 * error + 1e-6,
            "{typed}: drawn {share}, sheet {probability}"
        );
    }
}

/// `needed` is the mean level at which just the asked share arrives.
#[test]
fn the_needed_level_brings_the_asked_quality() {
    let gear = gear::brook();
    for (seed, typed) in [(7, "quality=0.8 fading=rayleigh"), (8, "quality=0.5 fading=rician k_db=10")] {
        let asked = ask(&gear, typed);
        let stage = Stage::new(&asked.setup).unwrap();
        let at = stage.at(Metres(1000.0)).unwrap();
        let tuned = stage.tune(&asked.setting).unwrap();
        let needed = tuned.air.needed(&at).unwrap();
        let scatter = at.scatter(&stage);
        let mut draw = Draw(seed);
        let trials = 200_000;
        let heard = (0..trials)
            .filter(|_| {
                let over = needed + fade(&mut draw, scatter);
                draw.uniform() >= tuned.air.curve().loss(over)
            })
            .count();
        let share = f64::from(u32::try_from(heard).unwrap()) / f64::from(trials);
        let quality = asked.setup.flight.quality;
        let error = (quality * (1.0 - quality) / f64::from(trials)).sqrt();
        assert!((share - quality).abs() < 3.0 * error + 0.001, "{typed}: {share}");
    }
}

/// Flies ten minutes: spells of exponential length, each with an attitude, a height and a
/// shadow, packets one by one in a still field. True when a time-out passes without one.
fn falls_into_failsafe(draw: &mut Draw, flight: &Flown) -> bool {
    let (mut now, mut last, mut spell_ends, mut loss) = (0.0, 0.0, 0.0, 0.0);
    while now < 600.0 {
        if now >= spell_ends {
            spell_ends = now - draw.uniform().ln();
            let shadow = draw.normals().0 * flight.shadowing_db;
            let level = flight.over_db + draw.of(flight.gains) + draw.of(flight.heights) + shadow;
            loss = 1.0 - (1.0 - flight.curve.loss(Db(level))) * flight.free;
        }
        if draw.uniform() >= loss {
            last = now;
        } else if now - last >= flight.after_s {
            return true;
        }
        now += flight.interval_s;
    }
    false
}

struct Flown<'a> {
    over_db: f64,
    gains: &'a [f64],
    heights: &'a [f64],
    shadowing_db: f64,
    curve: &'a link::error_rate::PacketCurve,
    free: f64,
    after_s: f64,
    interval_s: f64,
}

/// The chance of a failsafe by spells, packets and other links; fading is left out here (K of
/// 40 dB) and has its own simulation beside `failsafe`.
#[test]
fn the_chance_of_a_failsafe_is_that_of_drawn_flights() {
    let gear = gear::brook();
    for (seed, typed) in [
        (11, "distance_m=1500 failsafe_s=1"),
        (12, "distance_m=6000 failsafe_s=3"),
        (13, "distance_m=1500 failsafe_s=10"),
        (14, "distance_m=3000 failsafe_s=0.4 other_links=2"),
        (
            15,
            "distance_m=6000 air_height_m=120 shadowing_db=10 failsafe_s=2 rx_antenna=isotropic tx_antenna=isotropic",
        ),
        (16, "distance_m=100 failsafe_s=0.6 other_links=100"),
    ] {
        let asked = ask(&gear, &format!("{typed} fading=rician k_db=40"));
        let stage = Stage::new(&asked.setup).unwrap();
        let at = stage.at(asked.setup.flight.distance).unwrap();
        let tuned = stage.tune(&asked.setting).unwrap();
        let mode = &asked.setting.mode;
        let flown = Flown {
            over_db: (asked.setting.power - at.path.total - tuned.air.sensitivity).0,
            gains: &at.control,
            heights: &at.heights,
            shadowing_db: stage.shadowing.0,
            curve: tuned.air.curve(),
            free: tuned.air.survive(),
            after_s: asked.setup.failsafe_after.unwrap().0,
            interval_s: mode.packet_rate.period().0 / mode.control_share(),
        };
        let mut draw = Draw(seed);
        let flights = 400;
        let fallen = (0..flights).filter(|_| falls_into_failsafe(&mut draw, &flown)).count();
        let share = f64::from(u32::try_from(fallen).unwrap()) / f64::from(flights);
        let limits = link::law::Limits::shipped();
        let sheet = link::sheet::sheet(&asked.setup, &asked.setting, &[], &limits).unwrap();
        let chance = sheet.failsafe.unwrap().chance;
        let error = (share * (1.0 - share) / f64::from(flights)).sqrt().max(1.0 / f64::from(flights));
        // The model lets a run of dead spells be exponential: good to a third of its rate.
        let rate = -(1.0 - chance).max(1e-9).ln();
        let (low, high) = (1.0 - (-rate / 1.5).exp(), 1.0 - (-rate * 1.5).exp());
        let near = share >= low - 3.0 * error && share <= high + 3.0 * error;
        assert!(near, "{typed}: drawn {share} ± {error}, sheet {chance}");
    }
}
