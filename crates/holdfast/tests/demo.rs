//! The demo workshop shows what it promises: every rule blocks something, something is
//! unknown, most links that are meant to hold do, and every trouble has a next step.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

use std::collections::{BTreeMap, BTreeSet};

use holdfast::demo;
use holdfast::workshop::{Workshop, now};
use register::check;
use register::entry::{Body, Stamp};
use register::field::{Field, Sort};
use register::fleet::find;
use register::id::DeviceId;
use register::mend;
use register::rule::{Rule, Status, Verdict};
use register::scene::Scene;
use register::spares;
use register::time::Moment;
use register::today::{Ready, today};
use register::verdict::{self, Link};
use register::view::{ModelId, State};
use store::Store;
use store::keys::SecretText;

struct Demo {
    workshop: Workshop,
    now: Moment,
    _keys: tempfile::TempDir,
}

impl Demo {
    fn new() -> Demo {
        let keys = tempfile::tempdir().unwrap();
        let store = Store::in_memory().unwrap();
        let mut workshop = Workshop::around(store, keys.path(), "a tester").unwrap();
        let now = now();
        demo::build(&mut workshop, now).unwrap();
        Demo { workshop, now, _keys: keys }
    }

    fn scene(&self) -> Scene<'_> {
        Scene::new(self.workshop.register())
    }

    fn id(&self, code: &str) -> DeviceId {
        find(&self.scene(), code, None).unwrap()
    }

    fn link(&self, one: &str, other: &str) -> Link {
        self.workshop.fleet().link(&self.scene(), self.id(one), self.id(other)).unwrap()
    }

    fn wanted(&self) -> Vec<Link> {
        let fleet = self.workshop.fleet();
        let pairs = fleet.wanted().into_iter();
        pairs
            .map(|(t, r)| verdict::link(&self.scene(), &fleet.transmitters[t], &fleet.receivers[r]))
            .collect()
    }

    fn entries(&self) -> Vec<(Stamp, Body)> {
        let mut entries = Vec::new();
        self.workshop.store.for_each(0, |stamp, body| entries.push((stamp, body))).unwrap();
        entries
    }
}

/// The rules that came to `status`, by their words.
fn rules(link: &Link, status: Status) -> Vec<&'static str> {
    link.findings.iter().filter(|finding| finding.status == status).map(|f| f.rule.word()).collect()
}

#[test]
fn the_club_is_large_enough_and_marked_as_invented() {
    let demo = Demo::new();
    let (workshop, fleet) = (&demo.workshop, demo.workshop.fleet());
    assert!(workshop.name().contains("invented"), "{}", workshop.name());
    assert_eq!(workshop.author, "a tester");
    let counts = (fleet.transmitters.len(), fleet.receivers.len(), fleet.aircraft.len());
    assert_eq!(counts, (5, 30, 25));
    assert_eq!(fleet.gone.len(), 1, "the sold handset");
    assert!(workshop.family_problems().is_empty());
    let families: Vec<&str> = workshop.register().families().map(|(name, _)| name).collect();
    assert_eq!(families, ["plover", "whimbrel"]);
    assert!(workshop.register().families().all(|(_, used)| used.family.as_ref().unwrap().invented));

    for device in workshop.register().devices() {
        assert_ne!(device.id, DeviceId::WORKSHOP, "a table names a code that is no row's");
        let note = register::view::words(&device.whole, Field::Note).unwrap_or_default();
        assert!(note.starts_with("Invented"), "{}: {note}", register::view::card(device).full());
    }
    let states = |state| {
        let cards = fleet.aircraft.iter().map(|craft| &craft.card);
        cards.filter(|card| card.state == state).map(register::view::Card::label).collect::<Vec<_>>()
    };
    assert_eq!(states(State::Lent), ["A17"]);
    assert_eq!(states(State::Crashed), ["A21"]);
    let shelf = fleet.receivers.iter().filter(|receiver| receiver.card.state == State::Shelf);
    assert_eq!(shelf.count(), 5);
    let double: Vec<String> = fleet
        .aircraft
        .iter()
        .filter(|craft| fleet.fitted_in(craft.card.id).count() == 2)
        .map(|craft| craft.card.label())
        .collect();
    assert_eq!(double, ["A3"]);
}

#[test]
fn every_wanted_link_has_the_verdict_it_was_made_for() {
    // Transmitter, receiver, verdict, the rules that stand in the way.
    let expected = "
        T1 R1 links | T1 R2 links | T1 R3 links | T1 R4 links | T1 R5 links | T1 R6 blocked band
        T1 R7 links | T1 R8 blocked version | T1 R9 blocked region | T1 R10 blocked secret
        T1 R11 blocked model_id | T1 R12 unknown model_id | T1 R13 unknown secret pairing
        T1 R14 unknown version | T1 R15 links | T2 R16 links | T2 R17 links | T2 R18 links
        T3 R19 links | T3 R20 links | T3 R21 blocked pairing | T3 R22 unknown version | T3 R23 links
        T4 R1 links | T4 R2 links | T4 R25 links | T5 R24 unknown region version secret model_id";
    let expected: BTreeSet<String> = expected.split(['|', '\n']).map(|one| one.trim().to_owned()).collect();
    let demo = Demo::new();
    let links = demo.wanted();
    let found = links.iter().map(|link| {
        let why = match link.verdict() {
            Verdict::Links => Vec::new(),
            Verdict::Unknown => rules(link, Status::Unknown),
            Verdict::Blocked => rules(link, Status::Fail),
        };
        let mut words =
            vec![link.transmitter.label(), link.receiver.label(), link.verdict().word().to_owned()];
        words.extend(why.into_iter().map(str::to_owned));
        words.join(" ")
    });
    let mut found: BTreeSet<String> = found.collect();
    found.insert(String::new()); // the table's blank first line
    assert_eq!(found, expected);
    let holding = links.iter().filter(|link| link.verdict() == Verdict::Links).count();
    assert!(2 * holding > links.len(), "{holding} of {}", links.len());
}

#[test]
fn every_rule_blocks_a_link_and_every_finding_has_its_sentence() {
    let demo = Demo::new();
    let fleet = demo.workshop.fleet();
    let mut fails: BTreeMap<&str, usize> = BTreeMap::new();
    for transmitter in &fleet.transmitters {
        for receiver in &fleet.receivers {
            let link = verdict::link(&demo.scene(), transmitter, receiver);
            assert!(!link.findings.is_empty());
            for finding in &link.findings {
                assert!(!finding.text.is_empty() && !finding.transmitter.text.is_empty());
                assert!(!finding.receiver.text.is_empty());
            }
            for rule in rules(&link, Status::Fail) {
                *fails.entry(rule).or_default() += 1;
            }
        }
    }
    let every: BTreeSet<&str> = Rule::ALL.iter().map(|rule| rule.word()).collect();
    assert_eq!(fails.keys().copied().collect::<BTreeSet<_>>(), every);
}

#[test]
fn every_trouble_has_a_next_step() {
    let demo = Demo::new();
    let (scene, fleet) = (demo.scene(), demo.workshop.fleet());
    for link in demo.wanted() {
        let name = format!("{} with {}", link.transmitter.label(), link.receiver.label());
        let transmitter = fleet.transmitter(link.transmitter.id).unwrap();
        let receiver = fleet.receiver(link.receiver.id).unwrap();
        let mends = mend::mends(&scene, fleet, transmitter, receiver, &link, demo.now);
        let checks = check::checks(&scene, transmitter, receiver, &link);
        match link.verdict() {
            Verdict::Links => assert!(mends.is_empty() && checks.is_empty(), "{name}"),
            Verdict::Unknown => assert!(!checks.is_empty(), "{name}"),
            Verdict::Blocked => {
                let cures = |mend: &mend::Mend| mend.after == Verdict::Links && mend.breaks.is_empty();
                assert!(mends.iter().any(cures), "{name}: {mends:#?}");
            }
        }
    }
    // The version that differs could also be mended at the handset, at a price.
    let link = demo.link("T1", "R8");
    let (transmitter, receiver) = (fleet.transmitter(link.transmitter.id), fleet.receiver(link.receiver.id));
    let mends = mend::mends(&scene, fleet, transmitter.unwrap(), receiver.unwrap(), &link, demo.now);
    assert!(mends.iter().any(|mend| mend.breaks.iter().any(|touched| touched.wanted)));
}

#[test]
fn today_tells_what_can_fly_and_what_to_do_next() {
    let demo = Demo::new();
    let today = today(&demo.scene(), demo.workshop.fleet(), demo.now);
    let counts = [Ready::Links, Ready::Unknown, Ready::Blocked, Ready::Bare, Ready::Away];
    assert_eq!(counts.map(|ready| today.count(ready)), [12, 4, 6, 1, 2]);
    let sentence = today.sentence();
    assert!(sentence.starts_with("12 of 23 aircraft can fly; next is "), "{sentence}");
    assert!(today.lines.iter().all(|line| !line.text.is_empty()));
    let troubled = today.lines.iter().filter(|line| matches!(line.ready, Ready::Unknown | Ready::Blocked));
    assert!(troubled.into_iter().all(|line| line.plan.is_some()));
    let stale: BTreeSet<String> = today.stale.iter().map(|stale| stale.device.label()).collect();
    assert_eq!(stale, ["A3", "R13", "R17", "R29"].map(str::to_owned).into());
}

#[test]
fn some_spares_fit_and_one_fits_nothing() {
    let demo = Demo::new();
    let (scene, fleet) = (demo.scene(), demo.workshop.fleet());
    let mut fits: BTreeMap<String, usize> = BTreeMap::new();
    for craft in &fleet.aircraft {
        for spare in spares::spares(&scene, fleet, craft.card.id, demo.now) {
            *fits.entry(spare.receiver.label()).or_default() += usize::from(spare.fits());
        }
    }
    let without: Vec<&String> =
        fits.iter().filter(|(_, count)| **count == 0).map(|(label, _)| label).collect();
    assert_eq!((fits.len(), without), (5, vec![&"R29".to_owned()]));
    let for_wet_biscuit = spares::spares(&scene, fleet, demo.id("A7"), demo.now);
    assert!(for_wet_biscuit[0].fits());
    assert_eq!(for_wet_biscuit[0].receiver.label(), "R26");
}

#[test]
fn ends_memories_and_model_ids_show_their_odd_cases() {
    let demo = Demo::new();
    let fleet = demo.workshop.fleet();
    let bands = |code: &str| {
        let (id, mut bands) = (demo.id(code), Vec::new());
        let ends = fleet.transmitter(id).map(|view| &view.ends).or(fleet.receiver(id).map(|view| &view.ends));
        bands.extend(ends.unwrap().iter().map(|end| end.band.one().unwrap().as_str()));
        bands
    };
    assert_eq!(bands("T1"), ["2.4 GHz", "868 MHz"]);
    assert_eq!(bands("R7"), ["2.4 GHz", "868 MHz"]);
    assert_eq!(demo.link("T1", "R7").receiver_end.end, "low");
    // The pupils' handset flies what the main one flies.
    assert!(demo.link("T1", "R1").wanted && demo.link("T4", "R1").wanted);
    // A check that is off lets a handset in that was never meant to.
    assert_eq!(fleet.receiver(demo.id("R15")).unwrap().ends[0].model_id.one(), Some(&ModelId::Off));
    let stranger = demo.link("T4", "R15");
    assert_eq!((stranger.verdict(), stranger.wanted), (Verdict::Links, false));
    // Two memories of one handset hold one ID, on the end that both receivers hear.
    let main = fleet.transmitter(demo.id("T1")).unwrap();
    let mut by_id: BTreeMap<(Option<&String>, Option<&ModelId>), Vec<&str>> = BTreeMap::new();
    for memory in &main.memories {
        by_id.entry((memory.end.one(), memory.model_id.one())).or_default().push(&memory.label);
    }
    let shared: Vec<Vec<&str>> = by_id.into_values().filter(|labels| labels.len() > 1).collect();
    assert_eq!(shared, [["Quiet Cupboard", "Picnic Table"]]);
    assert_eq!(demo.link("T1", "R5").verdict(), Verdict::Links);
}

#[test]
fn the_history_has_what_a_logbook_meets() {
    let demo = Demo::new();
    let (register, fleet, entries) = (demo.workshop.register(), demo.workshop.fleet(), demo.entries());
    let end = |code: &str| fleet.receiver(demo.id(code)).unwrap().ends[0].clone();

    let is = |wanted: fn(&Body) -> bool| entries.iter().filter(|(_, body)| wanted(body)).count();
    assert_eq!(is(|body| matches!(body, Body::Flashed { .. })), 7);
    assert_eq!(is(|body| matches!(body, Body::Paired { .. })), 10);
    assert_eq!(is(|body| matches!(body, Body::Note { .. })), 7);

    let struck: Vec<_> = entries.iter().filter(|(stamp, _)| register.is_struck(stamp.id)).collect();
    assert_eq!(struck.len(), 1);
    assert_eq!(end("R3").firmware.one().map(String::as_str), Some("4.4"));

    let joined: Vec<_> = register.joined().collect();
    assert_eq!(joined.len(), 1);
    assert_eq!(joined[0].1, demo.id("R26"));
    assert_eq!(register.device(joined[0].0).unwrap().sort, Some(Sort::Receiver));

    let held = end("R19").model_id;
    assert_eq!(held.one(), Some(&ModelId::Id(1)));
    assert!(held.source().unwrap().future);
    assert!(end("R14").firmware.clashes());
    let replicas: BTreeSet<_> = entries.iter().map(|(stamp, _)| stamp.replica).collect();
    assert_eq!(replicas.len(), 2);

    let oldest = entries.iter().map(|(stamp, _)| stamp.seen).min().unwrap();
    assert!((400..460).contains(&demo.now.days_since(oldest)));
    let verification = demo.workshop.store.verify().unwrap();
    assert!(verification.holds(), "{:?}", verification.problems);
}

#[test]
fn link_secrets_are_kept_as_fingerprints_only() {
    let mut demo = Demo::new();
    let mut lines = Vec::new();
    demo.workshop.store.export(&mut lines).unwrap();
    let text = String::from_utf8(lines).unwrap();
    for secret in demo::SECRETS {
        assert!(!text.contains(secret));
    }
    let club = demo.workshop.fingerprint(&SecretText::new(demo::SECRETS[0])).unwrap();
    let fleet = demo.workshop.fleet();
    assert_eq!(fleet.transmitter(demo.id("T1")).unwrap().ends[0].secret.one(), Some(&club));
    let holders = fleet.receivers.iter().flat_map(|receiver| &receiver.ends);
    assert!(holders.filter(|end| end.secret.one() == Some(&club)).count() > 10);
}

#[test]
fn a_workshop_with_entries_is_left_alone() {
    let mut demo = Demo::new();
    let before = demo.entries();
    demo::build(&mut demo.workshop, demo.now).unwrap();
    assert_eq!(demo.entries(), before);
}
