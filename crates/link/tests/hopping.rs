//! Other transmitters: check values, closed forms against seeded simulation, laws.
#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

use link::calc::{self, Value};
use link::hopping::{
    HopPlan, Hoppers, Network, band_overlap, collision_asynchronous, collision_markov, collision_per_symbol,
    collision_shares, collision_synchronous, continuum_share, survive, wifi_centre,
};
use proptest::prelude::*;
use units::{Khz, Mhz, Micros};

/// Elementary probability; the columns per symbol: Geraniotis and Pursley, IEEE
/// Transactions on Communications COM-30(5), 1982, 996–1009 (formula from memory).
/// Computed with Python 3, the first two columns there checked by a 400,000-trial draw.
const HOPPING: &str = include_str!("data/radio-hopping.csv");
/// Counted channel by channel with Python 3; centres IEEE 802.11.
const WIFI: &str = include_str!("data/radio-hopping-wifi.csv");

fn records(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

fn whole(text: &str) -> u32 {
    text.parse().unwrap()
}

/// Stops with every wrong row, or when no row ran.
fn verdict(rows: usize, wrong: &[String]) {
    assert!(rows > 0, "no row ran");
    assert!(wrong.is_empty(), "{} of {rows} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn collisions_as_tabulated() {
    let mut wrong = Vec::new();
    let rows = records(HOPPING);
    for row in &rows {
        let (links, channels) = (whole(&row[0]), whole(&row[1]));
        let columns = [
            ("synchronous", collision_synchronous(links, channels)),
            ("asynchronous", collision_asynchronous(links, channels)),
            ("10 symbols", collision_per_symbol(links, channels, 10)),
            ("100 symbols", collision_per_symbol(links, channels, 100)),
        ];
        for ((what, got), wanted) in columns.into_iter().zip(&row[2..]) {
            let got = got.unwrap();
            let close = (got - number(wanted)).abs() <= 1e-8;
            if !close {
                wrong.push(format!("{what}, {links} links on {channels}: {got}, not {wanted}"));
            }
        }
    }
    assert_eq!(rows.len(), 8);
    verdict(rows.len(), &wrong);
}

#[test]
fn wifi_overlap_as_tabulated() {
    let mut wrong = Vec::new();
    let rows = records(WIFI);
    for row in &rows {
        // `80 x 1 MHz from 2401` and, where it is said, the width of the signal.
        let words: Vec<&str> = row[0].split([' ', ',']).collect();
        let plan = HopPlan {
            first: Mhz(number(words[5])),
            spacing: Khz(number(words[2]) * 1e3),
            channels: whole(&row[1]),
            bandwidth: Khz(number(&row[2]) * 1e3),
        };
        let centre = wifi_centre(whole(&row[3])).unwrap();
        let got = band_overlap(&plan, centre, Khz(number(&row[5]) * 1e3)).unwrap();
        let close = (got.share - number(&row[7])).abs() <= 5e-7;
        if centre != Mhz(number(&row[4])) || got.hit != whole(&row[6]) || !close {
            wrong.push(format!("{} on Wi-Fi {}: {centre} {got:?}, not {}", row[0], row[3], row[6]));
        }
    }
    assert_eq!(rows.len(), 16);
    verdict(rows.len(), &wrong);
}

#[test]
fn a_network_in_a_band_without_channels() {
    // 20 of 83.5 MHz; three side by side take three times as much.
    let one = continuum_share(Mhz(2400.0), Mhz(2483.5), Khz(20_000.0)).unwrap();
    assert!((one - 0.2395).abs() < 5e-5 && (3.0 * one - 0.7186).abs() < 5e-5, "{one}");
    let error = continuum_share(Mhz(2400.0), Mhz(2410.0), Khz(20_000.0)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "`width_khz` is 20000; it must lie in 0.001 to 10000 kHz (no wider than the band)"
    );
}

#[test]
fn links_that_never_stay() {
    // (1/q)(1 + 1/N) for one other link, worked out by hand (the term is from memory).
    for (channels, symbols, wanted) in [(20, 1, 0.1), (40, 10, 0.0275), (80, 100, 0.012_625), (2, 1, 1.0)] {
        let got = collision_markov(2, channels, symbols).unwrap();
        assert!((got - wanted).abs() < 1e-12, "{got}, not {wanted}");
    }
    assert_eq!(
        collision_markov(2, 1, 10).unwrap_err().to_string(),
        "`channels` is 1; it must lie in 2 to 10000 (a link that never stays needs somewhere to go)"
    );
}

/// A small generator (`SplitMix64`: Steele, Lea and Flood, OOPSLA 2014), from memory.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        f64::from(u32::try_from((z ^ (z >> 31)) >> 32).unwrap()) / 4_294_967_296.0
    }

    /// Whether a channel drawn at random is the one that counts.
    fn meets(&mut self, channels: u32) -> bool {
        self.unit() * f64::from(channels) < 1.0
    }
}

/// The share of trials that come true, checked against a closed form to 3 standard errors.
/// Of so many checks one in a few hundred misses by chance; it is drawn once more with
/// twenty times the trials, and then has to hold.
fn simulated(what: &str, closed: f64, mut trial: impl FnMut() -> bool) -> Option<String> {
    let mut wrong = None;
    for trials in [20_000u32, 400_000] {
        let hits = (0..trials).fold(0u32, |hits, _| hits + u32::from(trial()));
        let got = f64::from(hits) / f64::from(trials);
        let error = (closed * (1.0 - closed) / f64::from(trials)).sqrt();
        let close = (got - closed).abs() <= 3.0 * error;
        if close {
            return None;
        }
        wrong = Some(format!("{what}: {got} in {trials} trials, not {closed} to 3 x {error}"));
    }
    wrong
}

/// Whether a link that hops every dwell of length 1, at a phase of its own, and sends for
/// `share` of each, touches the time 0 to `own` on our channel.
fn touches(random: &mut Random, channels: u32, own: f64, share: f64) -> bool {
    let phase = random.unit();
    let mut hit = false;
    let mut start = phase - 2.0;
    while start < own {
        let same = random.meets(channels);
        hit |= same && start + share > 0.0;
        start += 1.0;
    }
    hit
}

#[test]
fn collisions_as_simulated() {
    let mut random = Random(1982);
    let mut wrong = Vec::new();
    let rows = records(HOPPING);
    for row in &rows {
        let (links, channels) = (whole(&row[0]), whole(&row[1]));
        let random = &mut random;
        let mut check = |what: &str, closed: f64, own: f64, share: f64| {
            let what = format!("{what}, {links} links on {channels}");
            wrong.extend(simulated(&what, closed, || {
                // Every link draws, also after a hit.
                (1..links).fold(false, |hit, _| touches(random, channels, own, share) | hit)
            }));
        };
        check("asynchronous", collision_asynchronous(links, channels).unwrap(), 1.0, 1.0);
        check("10 symbols", collision_per_symbol(links, channels, 10).unwrap(), 0.1, 1.0);
        for (own, share) in [(0.3, 0.4), (0.8, 0.9), (1.0, 0.2), (0.5, 0.5)] {
            check("shares", collision_shares(links, channels, own, share).unwrap(), own, share);
        }
        // A symbol of a tenth of a dwell meets one hop in ten, and then two channels.
        let closed = collision_markov(links, channels, 10).unwrap();
        wrong.extend(simulated("no repeats", closed, || {
            (1..links).fold(false, |hit, _| {
                let first = random.meets(channels);
                let hops = random.unit() < 0.1;
                let second = hops && !first && random.meets(channels - 1);
                first | second | hit
            })
        }));
        let closed = collision_synchronous(links, channels).unwrap();
        wrong.extend(simulated("synchronous", closed, || {
            (1..links).fold(false, |hit, _| random.meets(channels) | hit)
        }));
    }
    verdict(rows.len(), &wrong);
}

#[test]
fn survival_as_simulated() {
    let plan = HopPlan { first: Mhz(2401.0), spacing: Khz(1000.0), channels: 80, bandwidth: Khz(812.5) };
    let links = |links, airtime, interval| Hoppers {
        links,
        channels: 80,
        airtime: Micros(airtime),
        interval: Micros(interval),
    };
    let wifi = |channel, duty, burst| Network {
        centre: wifi_centre(channel).unwrap(),
        width: Khz(20_000.0),
        duty,
        burst: Micros(burst),
    };
    // Also a quick neighbour that hops more than twice in our packet, and two networks on
    // channels that overlap.
    let others = [links(4, 1500.0, 4000.0), links(3, 400.0, 1000.0)];
    let networks = [wifi(1, 0.3, 700.0), wifi(3, 0.5, 2000.0), wifi(11, 0.1, 300.0)];
    let airtime = 2700.0;
    let closed = survive(&plan, Micros(airtime), &others, &networks).unwrap();
    let mut random = Random(4);
    let past_links = |random: &mut Random| {
        let mut hit = false;
        for other in &others {
            for _ in 0..other.links {
                let mut start = (random.unit() - 20.0) * other.interval.0;
                while start < airtime {
                    hit |= random.meets(80) && start + other.airtime.0 > 0.0;
                    start += other.interval.0;
                }
            }
        }
        !hit
    };
    // Bursts all equally long, gaps exponential; a run-in of many bursts forgets the start.
    let past_networks = |random: &mut Random| {
        let channel = (random.unit() * 80.0).floor();
        let mut hit = false;
        for network in &networks {
            let covered = (2401.0 + channel - network.centre.0).abs() < f64::midpoint(20.0, 0.8125);
            let burst = network.burst.0;
            let gap = burst * (1.0 - network.duty) / network.duty;
            let mut time = -30.0 * (burst + gap) * (1.0 + random.unit());
            while time < airtime {
                let end = time + burst;
                hit |= covered && end > 0.0;
                time = end - gap * (1.0 - random.unit()).ln();
            }
        }
        !hit
    };
    let mut wrong = Vec::new();
    wrong.extend(simulated("links", closed.past_links, || past_links(&mut random)));
    wrong.extend(simulated("networks", closed.past_networks, || past_networks(&mut random)));
    wrong.extend(simulated("both", closed.probability, || {
        past_links(&mut random) & past_networks(&mut random)
    }));
    verdict(3, &wrong);
}

#[test]
fn survival_by_hand() {
    let plan = HopPlan { first: Mhz(2401.0), spacing: Khz(1000.0), channels: 80, bandwidth: Khz(1000.0) };
    let nobody = survive(&plan, Micros(5000.0), &[], &[]).unwrap();
    assert!((nobody.probability - 1.0).abs() < 1e-12);
    // A network that never pauses takes its 21 of 80 channels, twice the same one no more.
    let always = Network::of_duty(Mhz(2437.0), Khz(20_000.0), 1.0);
    for networks in [vec![always], vec![always, always]] {
        let got = survive(&plan, Micros(5000.0), &[], &networks).unwrap();
        assert!((got.past_networks - 59.0 / 80.0).abs() < 1e-12, "{got:?}");
    }
    let silent = Network { duty: 0.0, ..always };
    assert!((survive(&plan, Micros(5000.0), &[], &[silent]).unwrap().probability - 1.0).abs() < 1e-12);
    // Links that send all the time at our rate: the asynchronous case.
    let all = Hoppers { links: 9, channels: 80, airtime: Micros(4000.0), interval: Micros(4000.0) };
    let got = survive(&plan, Micros(4000.0), &[all], &[]).unwrap().past_links;
    assert!((1.0 - got - collision_asynchronous(10, 80).unwrap()).abs() < 1e-12);
    let late = Hoppers { airtime: Micros(5000.0), ..all };
    assert_eq!(
        survive(&plan, Micros(4000.0), &[late], &[]).unwrap_err().to_string(),
        "`interval_us` is 4000; it must lie in 5000 to 60000000 µs (a packet ends before the next begins)"
    );
}

/// Keys and what is typed for them.
type Typed<'a> = &'a [(&'a str, &'a str)];

fn answer(name: &str, typed: Typed) -> Result<calc::Answer, calc::CalcError> {
    let typed: Vec<_> = typed.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect();
    calc::find(name)?.answer(&typed)
}

#[test]
fn formulas_by_name() {
    let rows: &[(&str, Typed, &str, f64)] = &[
        (
            "hop-collision",
            &[("links", "10"), ("channels", "40"), ("timing", "synchronous")],
            "probability",
            0.203_764_49,
        ),
        (
            "hop-collision",
            &[("links", "10"), ("channels", "40"), ("timing", "asynchronous")],
            "probability",
            0.366_009_01,
        ),
        (
            "hop-collision",
            &[("links", "10"), ("channels", "40"), ("timing", "per-symbol"), ("symbols_per_dwell", "10")],
            "probability",
            0.221_501_68,
        ),
        (
            "hop-collision",
            &[("links", "2"), ("channels", "20"), ("timing", "no-repeats"), ("symbols_per_dwell", "1")],
            "probability",
            0.1,
        ),
        (
            "hop-share-collision",
            &[("links", "5"), ("channels", "40"), ("own_share", "1"), ("other_share", "1")],
            "probability",
            0.183_348_20,
        ),
        (
            "wifi-overlap",
            &[
                ("first_mhz", "2402"),
                ("spacing_khz", "2000"),
                ("channels", "40"),
                ("bandwidth_khz", "1000"),
                ("wifi_channel", "6"),
            ],
            "channels_hit",
            10.0,
        ),
    ];
    let mut wrong = Vec::new();
    for (name, typed, key, wanted) in rows {
        let got = answer(name, typed).unwrap();
        let value = got.values.iter().find(|(have, _)| have == key).map(|(_, value)| value);
        let close = matches!(value, Some(Value::Number(number)) if (number - wanted).abs() <= 1e-8);
        if !close {
            wrong.push(format!("{name} {typed:?}: {value:?}, not {wanted}"));
        }
    }
    verdict(rows.len(), &wrong);
}

#[test]
fn nonsense_is_refused_by_name_and_range() {
    let rows: &[(Typed, &str)] = &[
        (
            &[("links", "0"), ("channels", "40")],
            "`links` is 0; it must lie in 1 to 10000 (your own one counts; a field, not a city)",
        ),
        (
            &[("links", "2"), ("channels", "0")],
            "`channels` is 0; it must lie in 1 to 10000 (1 is a link that doesn't hop)",
        ),
        (
            &[("links", "2"), ("channels", "40"), ("timing", "sometimes")],
            "`timing` is `sometimes`, which is not one of synchronous, asynchronous, per-symbol, no-repeats",
        ),
    ];
    for (typed, wanted) in rows {
        assert_eq!(answer("hop-collision", typed).unwrap_err().to_string(), *wanted);
    }
    assert_eq!(
        wifi_centre(14).unwrap_err().to_string(),
        "`wifi_channel` is 14; it must lie in 1 to 13 (the 2.4 GHz channels that are 5 MHz apart)"
    );
}

proptest! {
    #[test]
    fn more_links_and_fewer_channels_never_help(
        links in 1u32..10_000, channels in 2u32..10_000, symbols in 1u32..1_000_000,
        own in 0.0..=1.0, other in 0.0..=1.0,
    ) {
        let all = |links, channels| [
            collision_synchronous(links, channels).unwrap(),
            collision_shares(links, channels, own, other).unwrap(),
            collision_per_symbol(links, channels, symbols).unwrap(),
            collision_markov(links, channels, symbols).unwrap(),
            collision_asynchronous(links, channels).unwrap(),
        ];
        let here = all(links, channels);
        for (index, (more, fewer)) in all(links + 1, channels).into_iter().zip(all(links, channels + 1)).enumerate() {
            prop_assert!((0.0..=1.0).contains(&here[index]));
            prop_assert!(more >= here[index] - 1e-12, "links, {}", index);
            // One channel more never hurts.
            prop_assert!(fewer <= here[index] + 1e-12, "channels, {}", index);
        }
        let [synchronous, shares, per_symbol, markov, asynchronous] = here;
        prop_assert!(synchronous <= per_symbol + 1e-12 && per_symbol <= asynchronous + 1e-12);
        prop_assert!(per_symbol <= markov + 1e-12 && shares <= asynchronous + 1e-12);
    }

    #[test]
    fn nobody_else_is_no_collision(channels in 1u32..10_000, own in 0.0..=1.0, other in 0.0..=1.0) {
        prop_assert!(collision_shares(1, channels, own, other).unwrap() <= 0.0);
        prop_assert!(collision_asynchronous(1, channels).unwrap() <= 0.0);
    }

    #[test]
    fn more_neighbours_never_help_a_packet(
        airtime in 1.0..50_000.0, count in 0u32..50, interval in 1000.0..50_000.0, filled in 0.001..=1.0,
        duty in 0.0..=1.0, burst in 1.0..100_000.0, channel in 1u32..=13, width in 1000.0..80_000.0,
        channels in 1u32..200, spacing in 1.0..2000.0,
    ) {
        let plan = HopPlan { first: Mhz(2401.0), spacing: Khz(spacing), channels, bandwidth: Khz(spacing) };
        let hoppers = |links| Hoppers { links, channels, airtime: Micros(interval * filled), interval: Micros(interval) };
        let network = |duty| Network {
            centre: wifi_centre(channel).unwrap(), width: Khz(width), duty, burst: Micros(burst),
        };
        let at = |airtime, links, duty| {
            survive(&plan, Micros(airtime), &[hoppers(links)], &[network(duty)]).unwrap().probability
        };
        let here = at(airtime, count, duty);
        prop_assert!((0.0..=1.0).contains(&here));
        prop_assert!(at(airtime, count + 1, duty) <= here + 1e-12);
        prop_assert!(at(airtime * 1.2, count, duty) <= here + 1e-12);
        prop_assert!(at(airtime, count, f64::midpoint(duty, 1.0)) <= here + 1e-12);
        // The network alone: never more than its channels.
        let overlap = band_overlap(&plan, wifi_centre(channel).unwrap(), Khz(width)).unwrap();
        let alone = survive(&plan, Micros(airtime), &[], &[network(duty)]).unwrap().past_networks;
        prop_assert!(alone >= 1.0 - overlap.share - 1e-12);
    }
}
