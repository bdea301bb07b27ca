//! Families of every shape, with names as nasty as they get.

use proptest::prelude::*;
use register::family::{
    Access, Band, CheckedAt, ChipKind, Energised, Family, FamilyFault, FlashRoute, HeaderKind,
    InterleavingKind, Lamp, LampState, Mode, ModelIdRule, Modulation, PacketFormat, Pairing, PartnerRule,
    Reach, ReachSort, RegionRule, Release, SecretRule, Side, Version, VersionGroup, VersionRule, VersionSpan,
    Waiting,
};
use register::field::Field;
use units::{Db, Dbm, Hertz, Khz, Mhz, Micros, Milliwatts, Minutes, Seconds};

/// Any text that says something, nasty ones among them.
fn hostile() -> impl Strategy<Value = String> {
    prop_oneof![
        "\\PC{1,12}",
        prop::collection::vec(any::<char>(), 1..8).prop_map(|chars| chars.into_iter().collect()),
        prop::sample::select(vec![
            "<script>alert(1)</script>",
            "'; DROP TABLE entry; --",
            "a\0b",
            "two\nlines\r\n",
            "\"\"\" '''",
            "\\u0041 \\",
            "\u{202e}gnitfird\u{2066}",
            "👩‍🚀",
            "# = [x]",
            "\u{feff}mark",
            "a.b",
        ])
        .prop_map(str::to_owned),
        Just("long ".repeat(400)),
    ]
    .prop_filter("says something", |text| !text.trim().is_empty())
}

fn few<T: std::fmt::Debug>(one: impl Strategy<Value = T>) -> impl Strategy<Value = Vec<T>> {
    prop::collection::vec(one, 0..4)
}

/// One of them, or nothing known.
fn maybe<T: Copy + std::fmt::Debug + 'static>(all: &[T]) -> impl Strategy<Value = Option<T>> + use<T> {
    prop::option::of(prop::sample::select(all.to_vec()))
}

/// Names that the program tells apart; `tag` keeps them so.
fn tagged(names: Vec<String>, tag: &str) -> Vec<String> {
    names
        .into_iter()
        .enumerate()
        .map(|(i, name)| format!("{tag}{i}{}", name.chars().take(1_900).collect::<String>()))
        .collect()
}

fn bands() -> impl Strategy<Value = Vec<Band>> {
    let band = (
        1.0..90_000.0_f64,
        0.001..9_000.0_f64,
        few(hostile()),
        0_u32..10_000,
        prop::option::of(0.001..1.0_f64),
        (prop::option::of(0.0..=30.0_f64), maybe(&Access::ALL)),
    );
    prop::collection::vec((hostile(), band), 1..4)
        .prop_map(|rows| {
            let names = tagged(rows.iter().map(|(name, _)| name.clone()).collect(), "b");
            rows.into_iter()
                .zip(names)
                .enumerate()
                .map(|(i, ((_, (low, width, also, channels, spacing, rest)), name))| Band {
                    name,
                    also: tagged(also, &format!("also{i}-")),
                    low: Mhz(low),
                    high: Mhz(low + width),
                    channels,
                    // As far apart as fits, or less.
                    spacing: spacing.map(|part: f64| Khz((part * width * 1000.0 / 10_000.0).max(0.001))),
                    noise_figure: rest.0.map(Db),
                    access: rest.1,
                })
                .filter(|band| {
                    band.spacing.is_none_or(|spacing| {
                        f64::from(band.channels) * spacing.0 <= (band.high.0 - band.low.0) * 1000.0
                    })
                })
                .collect::<Vec<_>>()
        })
        .prop_filter("at least one", |bands| !bands.is_empty())
}

fn versions() -> impl Strategy<Value = VersionRule> {
    let groups = prop::collection::vec((hostile(), 1_u32..5, 0_u32..9), 1..4).prop_map(|rows| {
        let names = tagged(rows.iter().map(|(name, ..)| name.clone()).collect(), "g");
        let mut next = 0;
        let groups = rows
            .into_iter()
            .zip(names)
            .map(|((_, spans, minor), name)| VersionGroup {
                name,
                spans: (0..spans)
                    .map(|i| {
                        next += 2;
                        let to = if i % 2 == 0 { vec![next + 1, minor] } else { vec![next, 9] };
                        VersionSpan { from: Version(vec![next, 9]), to: Version(to) }
                    })
                    .collect(),
            })
            .collect();
        VersionRule::Groups(groups)
    });
    prop_oneof![
        Just(VersionRule::Any),
        (1_usize..9, hostile()).prop_map(|(parts, called)| VersionRule::SameParts { parts, called }),
        groups,
    ]
}

fn modulation() -> impl Strategy<Value = Modulation> {
    prop_oneof![
        (5_u32..13, 0.1..100_000.0, 5_u32..9).prop_map(|(spreading_factor, khz, coding_rate)| {
            Modulation::Css { spreading_factor, bandwidth: Khz(khz), coding_rate }
        }),
        (0.01..100_000.0, 0.01..100_000.0)
            .prop_map(|(bit_rate_kbps, khz)| Modulation::Fsk { bit_rate_kbps, deviation: Khz(khz) }),
        (-200.0..0.0, prop::option::of(0.1..100_000.0), prop::option::of(1.0..100_000_000.0)).prop_map(
            |(dbm, khz, us)| Modulation::Stated {
                sensitivity: Dbm(dbm),
                occupied: khz.map(Khz),
                airtime: us.map(Micros),
            }
        ),
    ]
}

fn packet() -> impl Strategy<Value = PacketFormat> {
    (
        prop::option::of(1_u32..65_536),
        maybe(&HeaderKind::ALL),
        any::<Option<bool>>(),
        maybe(&InterleavingKind::ALL),
        maybe(&ChipKind::ALL),
    )
        .prop_map(|(preamble_symbols, header, crc, interleaving, chip)| PacketFormat {
            preamble_symbols,
            header,
            crc,
            interleaving,
            chip,
        })
}

/// The packet format as far as it goes with the modulation and the mode's bands.
fn fitting(mut packet: PacketFormat, modulation: &Modulation, on: &[Band]) -> PacketFormat {
    let Modulation::Css { coding_rate, .. } = modulation else { return PacketFormat::default() };
    if *coding_rate == 7 || on.iter().any(|band| packet.chip_on(band) == ChipKind::SubGhz) {
        packet.interleaving = packet.interleaving.filter(|kind| *kind != InterleavingKind::Long);
    }
    packet
}

/// The releases as far as they go with the groups of versions, each by every route of its side.
fn fitting_releases(
    mut releases: Vec<Release>,
    versions: &VersionRule,
    flash: &[FlashRoute],
) -> Vec<Release> {
    releases.retain(|release| {
        let Some(number) = Version::parse(&release.version) else { return false };
        let VersionRule::Groups(groups) = versions else { return true };
        groups.iter().flat_map(|group| &group.spans).any(|span| span.holds(&number) == Some(true))
    });
    for release in &mut releases {
        let fits = |route: &&FlashRoute| Some(route.side) == release.side;
        release.routes = flash.iter().filter(fits).map(|route| route.name.clone()).collect();
    }
    releases
}

fn model_id() -> impl Strategy<Value = ModelIdRule> {
    let at = prop::sample::select(vec![CheckedAt::Receiver, CheckedAt::Transmitter]);
    prop_oneof![
        Just(ModelIdRule::Absent),
        (at, any::<u32>(), any::<u32>(), any::<Option<u32>>(), hostile()).prop_map(
            |(at, a, b, off, refused)| {
                ModelIdRule::Checked { at, low: a.min(b), high: a.max(b), off, refused }
            }
        ),
    ]
}

fn energised() -> impl Strategy<Value = Vec<Energised>> {
    prop::sample::subsequence(Energised::ALL.to_vec(), 0..=4)
}

fn minutes() -> impl Strategy<Value = Minutes> {
    (0.0..10_080.0).prop_map(Minutes)
}

fn lamps() -> impl Strategy<Value = Vec<Lamp>> {
    few((hostile(), hostile(), maybe(&LampState::ALL))).prop_map(|rows| {
        let states = tagged(rows.iter().map(|row| row.0.clone()).collect(), "l");
        rows.into_iter().zip(states).map(|((_, shows, means), state)| Lamp { state, shows, means }).collect()
    })
}

/// Faults that each say something, no key twice.
fn faults() -> impl Strategy<Value = Vec<FamilyFault>> {
    let how = || prop_oneof![Just(String::new()), hostile()];
    let ask = (hostile(), how(), minutes(), 0.0..1.0_f64, 0.0..1.0_f64)
        .prop_filter("a yes points to the cause", |(.., one, other)| one > other);
    let mend = (hostile(), how(), minutes(), 0.0..=1.0_f64);
    let head = ("[a-zA-Z0-9_]{1,12}", "[a-zA-Z0-9_]{0,12}", prop::option::of(hostile()));
    let weight = prop::option::of(0.0..=10_000.0_f64);
    let fault = (head, weight, prop::option::of(ask), prop::option::of(mend), energised()).prop_map(
        |((symptom, key, label), weight, ask, mend, energises)| {
            let says = label.is_some() || ask.is_some() || mend.is_some();
            let mut fault = FamilyFault {
                symptom,
                key,
                label,
                weight: if says { weight } else { weight.or(Some(0.0)) },
                ask: None,
                ask_how: String::new(),
                ask_minutes: None,
                yes_if: FamilyFault::USUAL_YES_IF,
                yes_else: FamilyFault::USUAL_YES_ELSE,
                mend: None,
                mend_how: String::new(),
                mend_minutes: None,
                cures: FamilyFault::USUAL_CURES,
                energises: if ask.is_none() && mend.is_none() { Vec::new() } else { energises },
            };
            if let Some((question, how, minutes, yes_if, yes_else)) = ask {
                fault = FamilyFault {
                    ask: Some(question),
                    ask_how: how,
                    ask_minutes: Some(minutes),
                    yes_if,
                    yes_else,
                    ..fault
                };
            }
            if let Some((label, how, minutes, cures)) = mend {
                fault = FamilyFault {
                    mend: Some(label),
                    mend_how: how,
                    mend_minutes: Some(minutes),
                    cures,
                    ..fault
                };
            }
            fault
        },
    );
    few(fault).prop_map(|mut faults| {
        for (i, fault) in faults.iter_mut().enumerate() {
            fault.key.insert_str(0, &format!("k{i}_"));
        }
        faults
    })
}

fn wipes() -> impl Strategy<Value = Vec<Field>> {
    prop::sample::subsequence(vec![Field::Partners, Field::Secret, Field::ModelId, Field::Region], 0..=4)
}

fn reaches() -> impl Strategy<Value = Vec<Reach>> {
    let sort = prop::sample::select(ReachSort::ALL.to_vec());
    few((hostile(), sort, prop::option::of(minutes()))).prop_map(|rows| {
        let names = tagged(rows.iter().map(|row| row.0.clone()).collect(), "n");
        rows.into_iter()
            .zip(names)
            .map(|((_, sort, minutes), name)| Reach {
                name,
                sort,
                minutes: minutes.filter(|_| sort == ReachSort::Cover),
            })
            .collect()
    })
}

/// Releases, no version twice for a side; their routes are put in by [`family`].
fn releases() -> impl Strategy<Value = Vec<Release>> {
    let side = maybe(&[Side::Receiver, Side::Transmitter]);
    let tail = prop_oneof![Just(""), Just("-rc1"), Just(" \"beta\""), Just("+\u{202e}")];
    let from = prop::option::of(prop::collection::vec(0_u32..3, 1..4));
    let texts = (few(hostile()), few(hostile()), prop_oneof![Just(String::new()), hostile()]);
    few((side, tail, from, wipes(), texts)).prop_map(|rows| {
        rows.into_iter()
            .enumerate()
            .map(|(i, (side, tail, from, wipes, (hardware, changes, no_way_back)))| Release {
                version: format!("v{}.3{tail}", 3 + 2 * i),
                side,
                hardware,
                from: from.map(Version),
                routes: Vec::new(),
                wipes,
                changes,
                no_way_back,
            })
            .collect()
    })
}

type Mishap = (Option<u32>, String, Option<Minutes>);
type Route = (String, bool, Minutes, Vec<String>, Vec<Energised>, Vec<Field>, Mishap);

fn routes(rows: Vec<Route>) -> Vec<FlashRoute> {
    let names = tagged(rows.iter().map(|row| row.0.clone()).collect(), "f");
    rows.into_iter()
        .zip(names)
        .map(|((_, receiver, minutes, needs, energises, wipes, mishap), name)| FlashRoute {
            name,
            side: if receiver { Side::Receiver } else { Side::Transmitter },
            minutes,
            needs,
            energises,
            wipes,
            fails_one_in: mishap.0,
            recovery: mishap.1,
            recovery_minutes: mishap.2,
        })
        .collect()
}

/// A family that the reader takes.
pub fn family() -> impl Strategy<Value = Family> {
    let head = (hostile(), prop_oneof![Just(String::new()), hostile()], any::<bool>(), bands());
    let rules = (
        few(hostile()),
        any::<bool>(),
        versions(),
        any::<Option<(bool, bool)>>(),
        1_u32..10_001,
        any::<bool>(),
    );
    let air = (packet(), prop::option::of(1_u32..1_001));
    let modes = few((
        hostile(),
        modulation(),
        0.01..100_000.0,
        1_u32..65_536,
        few(1_u32..100_001),
        any::<bool>(),
        air,
    ));
    let power = (
        prop::collection::btree_set(1_u32..1_000_000, 0..4),
        prop::option::of(0.001..1_000_000.0),
        prop::option::of(0.001..3_600.0),
    );
    let waiting = prop::option::of((0.0..604_800.0, hostile(), prop_oneof![Just(String::new()), hostile()]));
    let mishap = (
        prop::option::of(2_u32..1_000_001),
        prop_oneof![Just(String::new()), hostile()],
        prop::option::of(minutes()),
    );
    let flash =
        (few((hostile(), any::<bool>(), minutes(), few(hostile()), energised(), wipes(), mishap)), reaches());
    let bench = (few(hostile()), few(hostile()), energised(), minutes(), releases());
    let own = prop::collection::btree_map(hostile(), minutes(), 0..4);
    (head, rules, model_id(), modes, (power, bench, lamps(), waiting, flash, (own, faults()))).prop_map(
        |(
            (name, summary, invented, bands),
            (variants, match_, versions, secret, remembers, drops),
            model_id,
            modes,
            rest,
        )| {
            let (
                (power, telemetry, failsafe),
                (gesture, needs, energises, minutes, releases),
                lamps,
                waiting,
                (flash, reaches),
                (own, faults),
            ) = rest;
            let mode_names = tagged(modes.iter().map(|row| row.0.clone()).collect(), "m");
            let variants = tagged(variants, "r");
            let flash = routes(flash);
            Family {
                name,
                summary,
                invented,
                reaches,
                releases: fitting_releases(releases, &versions, &flash),
                regions: RegionRule { must_match: match_ && !variants.is_empty(), variants },
                versions,
                secret: secret.map_or(SecretRule::Absent, |(blank_allowed, links_unpaired)| {
                    SecretRule::Equal { blank_allowed, links_unpaired }
                }),
                partners: PartnerRule { remembers, pairing_drops_others: drops },
                model_id,
                modes: modes
                    .into_iter()
                    .zip(mode_names)
                    .map(|((_, modulation, hz, payload_bytes, telemetry_one_in, all, air), name)| Mode {
                        name,
                        bands: if all { Vec::new() } else { vec![bands[0].name.clone()] },
                        packet: fitting(air.0, &modulation, if all { &bands } else { &bands[..1] }),
                        hop_every: air.1,
                        modulation,
                        packet_rate: Hertz(hz),
                        payload_bytes,
                        telemetry_one_in,
                    })
                    .collect(),
                bands,
                power_steps: power.into_iter().map(|step| Milliwatts(f64::from(step) / 8.0)).collect(),
                telemetry_power: telemetry.map(Milliwatts),
                failsafe_after: failsafe.map(Seconds),
                pairing: Pairing { gesture, needs, energises, minutes },
                lamps,
                waiting: waiting.map(|(after_s, does, settings_at)| Waiting { after_s, does, settings_at }),
                flash,
                faults,
                minutes: own,
            }
        },
    )
}
