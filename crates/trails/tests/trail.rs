//! One search on real gear, from the first step to the closing.
#![expect(clippy::unwrap_used, reason = "a test that can't be set up must stop")]

#[path = "../../register/tests/workshop/mod.rs"]
mod workshop;

use register::entry::Body;
use register::family::Side;
use register::field::{Field, How};
use register::fleet::Fleet;
use register::id::EntryId;
use register::rule::Rule;
use register::scene::Scene;
use register::time::{DAY_MS, Moment};
use register::trail::{Begun, Event, Helped, Outcome};
use register::value::{SecretMark, Value};
use trails::learn::{Counts, UNLISTED};
use trails::planner::Effort;
use trails::trail::{Deed, Next, Refused, Remark, Settled, Trail, act, close, follow};
use workshop::{RX, TX, Workshop, end, text};

const USUAL: &str = include_str!("../../register/tests/workshop/usual.toml");

/// A workshop with a trail in it.
struct Bench {
    workshop: Workshop,
    trail: EntryId,
    now: Moment,
}

impl Bench {
    fn begin(workshop: Workshop, begun: Begun) -> Bench {
        let mut bench = Bench { workshop, trail: EntryId(0), now: Moment(1_000_000) };
        bench.trail = bench.workshop.push(RX, Body::TrailBegun(begun));
        bench
    }

    fn own(workshop: Workshop, symptom: &str) -> Bench {
        Bench::begin(workshop, begun(symptom, true))
    }

    fn try_trail(&self) -> Result<Trail, trails::trail::Lost> {
        let register = self.workshop.register();
        let fleet = Fleet::of(&Scene::new(&register));
        let log = register.trail(self.trail).unwrap();
        follow(&register, &fleet, log, self.now, Effort { exact_states: 2_000.0, evaluations: 500 })
    }

    fn trail(&self) -> Trail {
        self.try_trail().unwrap()
    }

    fn try_to(&mut self, deed: Deed) -> Result<Trail, Refused> {
        let register = self.workshop.register();
        let trail = self.trail();
        let act = act(&register, register.trail(self.trail).unwrap(), &trail, deed, self.now)?;
        for (device, part, field, value) in act.readings {
            self.workshop.reading(device, part, How::Seen, field, value, true);
        }
        for change in act.changes {
            let register = self.workshop.register();
            self.workshop.push(change.device(), change.body(&register));
        }
        for event in act.events {
            self.workshop.push(RX, Body::TrailEvent { trail: self.trail, event });
        }
        Ok(self.trail())
    }

    fn act(&mut self, deed: Deed) -> Trail {
        self.try_to(deed).unwrap()
    }

    fn answer(&mut self, step: &str, answer: &str) -> Trail {
        self.act(Deed::Answer { step: step.into(), answer: answer.into(), facts: Vec::new() })
    }

    fn tried(&mut self, step: &str, helped: Helped) -> Trail {
        self.act(Deed::Tried { step: step.into(), mend: None, helped })
    }

    fn prove_all(&mut self) -> Trail {
        for proof in self.trail().proofs {
            self.act(Deed::Proved { proof: proof.key, held: true });
        }
        self.trail()
    }

    fn close(&mut self, cause: &str, outcome: Outcome) -> Result<EntryId, Vec<Refused>> {
        let closed = close(&self.trail(), cause, outcome)?;
        Ok(self.workshop.push(RX, Body::TrailClosed(closed)))
    }
}

fn begun(symptom: &str, own: bool) -> Begun {
    Begun {
        symptom: symptom.to_owned(),
        transmitter: own.then(|| end(TX)),
        receiver: own.then(|| end(RX)),
        whose: String::new(),
        facts: Vec::new(),
        open: Vec::new(),
    }
}

/// A transmitter and a receiver of the usual family, of which no more is known.
fn bare() -> Workshop {
    let mut workshop = Workshop::new();
    workshop.family(USUAL);
    workshop.transmitter(TX, "T1");
    workshop.receiver(RX, "R1");
    for device in [TX, RX] {
        workshop.end(device, Field::Family, text("Usual"));
        workshop.end(device, Field::Band, text("2.4 GHz"));
        workshop.end(device, Field::Region, text("EU"));
    }
    workshop
}

fn weight(trail: &Trail, cause: &str) -> f64 {
    trail.belief.of_cause(trail.model.cause(cause).unwrap_or_else(|| panic!("no cause {cause}")))
}

#[test]
fn a_failed_rule_is_named_at_once_with_its_mend() {
    // Trade check, common practice, no source: 3.x does not link with 4.x.
    let mut workshop = bare();
    workshop.end(TX, Field::Firmware, text("4.1"));
    workshop.end(RX, Field::Firmware, text("3.6"));
    let mut bench = Bench::own(workshop, "wont_pair");
    let trail = bench.trail();
    assert_eq!(trail.next, Next::Lift { certain: 0 });
    let certain = &trail.certain[0];
    assert_eq!(certain.rule, Rule::Version);
    assert!(certain.reason.contains("4.1") && certain.reason.contains("3.6"), "{}", certain.reason);
    assert!(!certain.mends.is_empty());

    // Done, and it works: the flash stands in the register, the fault has its name.
    let trail = bench.tried("rule:version", Helped::Yes);
    assert!(trail.certain.is_empty(), "{:?}", trail.certain);
    assert_eq!(trail.helped.as_ref().unwrap().causes[0].key, "version");
    assert!(matches!(trail.next, Next::Prove { .. }));
    let register = bench.workshop.register();
    let fleet = Fleet::of(&Scene::new(&register));
    assert!(fleet.receiver(RX).unwrap().ends[0].firmware.one().unwrap().starts_with('4'));
}

#[test]
fn two_failed_rules_are_two_faults() {
    let mut workshop = bare();
    workshop.end(TX, Field::Firmware, text("4.1"));
    workshop.end(RX, Field::Firmware, text("3.6"));
    workshop.end(TX, Field::Secret, Value::Secret(workshop::print(1)));
    workshop.end(RX, Field::Secret, Value::Secret(workshop::print(2)));
    let mut bench = Bench::own(workshop, "wont_pair");
    let rules: Vec<Rule> = bench.trail().certain.iter().map(|one| one.rule).collect();
    assert_eq!(rules, [Rule::Version, Rule::Secret]);
    let trail = bench.tried("rule:version", Helped::No);
    assert_eq!(trail.certain.iter().map(|one| one.rule).collect::<Vec<_>>(), [Rule::Secret]);
    assert_eq!(trail.next, Next::Lift { certain: 0 });
    // Couldn't be done: the search goes on without it.
    let trail = bench.tried("rule:secret", Helped::CantTell);
    assert!(trail.certain[0].set_aside);
    assert!(matches!(trail.next, Next::Step(_)), "{:?}", trail.next);
}

#[test]
fn two_blank_secrets_leave_secret_with_next_to_no_weight() {
    let before = weight(&Bench::own(bare(), "wont_pair").trail(), "secret");
    let mut workshop = bare();
    for device in [TX, RX] {
        workshop.end(device, Field::Secret, Value::Secret(SecretMark::Blank));
    }
    let after = weight(&Bench::own(workshop, "wont_pair").trail(), "secret");
    assert!(before > 0.02, "{before}");
    assert!(after < 0.005 && after > 0.0, "{after}");
}

#[test]
fn old_readings_count_less() {
    let mut workshop = bare();
    for device in [TX, RX] {
        workshop.end(device, Field::Firmware, text("4.1"));
    }
    let mut bench = Bench::own(workshop, "wont_pair");
    let fresh = weight(&bench.trail(), "version");
    bench.now = Moment(bench.now.0 + 1000 * DAY_MS);
    let old = weight(&bench.trail(), "version");
    assert!(fresh < old / 5.0, "{fresh} {old}");
}

#[test]
fn the_check_off_is_put_back_before_the_trail_closes() {
    let mut workshop = bare();
    for device in [TX, RX] {
        workshop.end(device, Field::Firmware, text("4.1"));
        workshop.end(device, Field::Secret, Value::Secret(SecretMark::Blank));
    }
    let mut bench = Bench::own(workshop, "wont_pair");
    let step = bench.trail().model.step("model_id_off").expect("offered");
    let model = bench.trail().model;
    let cautions = model.steps[step].cautions().join(" ");
    assert!(cautions.contains("wrong model memory"), "{cautions}");
    let answer = model.steps[step].as_check().unwrap().answers[0].key.clone();
    let trail = bench.answer("model_id_off", &answer);
    assert_eq!(trail.changes.len(), 1);
    assert_eq!(trail.changes[0].settled, Settled::Open);

    let trail = bench.tried("set_model_id", Helped::Yes);
    assert_eq!(trail.next, Next::Restore { change: 0 });
    bench.prove_all();
    let refused = bench.close("model_id", Outcome::Proven).unwrap_err();
    assert!(matches!(refused.as_slice(), [Refused::Unsettled(_)]), "{refused:?}");
    let refused = bench.close("", Outcome::GaveUp).unwrap_err();
    assert!(matches!(refused.as_slice(), [Refused::Unsettled(_)]), "{refused:?}");

    // Put back: what was proven with the check off is to be proven again.
    let trail = bench.act(Deed::PutBack { change: "model_id_off".into() });
    assert!(trail.proofs.iter().all(|proof| !proof.held));
    assert!(bench.close("model_id", Outcome::Proven).is_err());
    let trail = bench.prove_all();
    assert_eq!(trail.next, Next::Close);
    bench.close("model_id", Outcome::Proven).unwrap();
    let trail = bench.trail();
    assert_eq!(trail.next, Next::Closed);
    assert_eq!(
        bench.try_to(Deed::Opened { cover: "canopy".into() }).unwrap_err(),
        Refused::Closed,
        "a closed trail takes nothing more"
    );
}

#[test]
fn a_check_switched_off_by_the_register_s_own_mend_is_put_back_too() {
    let mut workshop = bare();
    for device in [TX, RX] {
        workshop.end(device, Field::Firmware, text("4.1"));
        workshop.end(device, Field::Secret, Value::Secret(SecretMark::Blank));
    }
    workshop.memory(TX, "1", Field::ModelId, Value::Number(5));
    workshop.end(RX, Field::ModelId, Value::Number(7));
    workshop.pair(RX, TX);
    let mut bench = Bench::own(workshop, "wont_pair");
    let certain = &bench.trail().certain[0];
    assert_eq!(certain.rule, Rule::ModelId);
    let off =
        certain.mends.iter().position(|mend| mend.steps.iter().any(|step| step.key == "mend.check_off"));
    let trail = bench.act(Deed::Tried { step: "rule:model_id".into(), mend: off, helped: Helped::Yes });
    assert_eq!(trail.next, Next::Restore { change: 0 });
    // The way is written down with its minutes.
    assert_eq!(trail.history[0].minutes, certain.mends[off.unwrap()].minutes);
    bench.prove_all();
    assert!(bench.close("model_id", Outcome::Proven).is_err());
}

#[test]
fn an_answer_that_is_said_again_replaces_the_first() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let once = weight(&bench.answer("see_secrets", "bad"), "secret");
    let trail = bench.answer("see_secrets", "bad");
    assert!((weight(&trail, "secret") - once).abs() < 1e-12);
    let spent = trail.spent;
    let trail = bench.answer("see_secrets", "good");
    assert!(weight(&trail, "secret") < 0.05);
    assert_eq!(trail.spent, spent);
    let once = weight(&bench.tried("mend_antenna", Helped::No), "antenna");
    let twice = weight(&bench.tried("mend_antenna", Helped::No), "antenna");
    assert!((once - twice).abs() < 1e-12);
}

#[test]
fn what_a_guest_was_told_to_have_does_not_silence_what_is_seen() {
    let mut start = begun("wont_pair", false);
    for side in [Side::Transmitter, Side::Receiver] {
        start.facts.push((side, Field::Family, text("Usual")));
        start.facts.push((side, Field::Firmware, text("4.1")));
    }
    let mut workshop = Workshop::new();
    workshop.family(USUAL);
    let mut bench = Bench::begin(workshop, start);
    let told = weight(&bench.trail(), "version");
    assert!(told > 0.01, "told is not seen: {told}");
    let seen = weight(&bench.answer("see_versions", "bad"), "version");
    assert!(seen > told * 3.0, "{told} {seen}");
}

#[test]
fn a_band_that_differs_is_named_with_a_mend_also_of_a_guest() {
    let mut start = begun("wont_pair", false);
    for (side, band) in [(Side::Transmitter, "2.4 GHz"), (Side::Receiver, "868 MHz")] {
        start.facts.push((side, Field::Family, text("Usual")));
        start.facts.push((side, Field::Band, text(band)));
    }
    let mut workshop = Workshop::new();
    workshop.family(USUAL);
    let mut bench = Bench::begin(workshop, start);
    let trail = bench.trail();
    assert_eq!(trail.certain[0].rule, Rule::Band);
    assert!(!trail.certain[0].mends.is_empty());
    assert!(trail.expected.unwrap().0 > 0.0);
    // It can't be done: it stays the fault.
    let trail = bench.tried("rule:band", Helped::CantTell);
    assert_eq!(trail.likeliest()[0].key, "band", "{:?}", trail.likeliest());
    assert!(weight(&trail, "band") > 0.3, "{:?}", trail.likeliest());
}

#[test]
fn pairing_with_a_guest_puts_no_guest_into_the_register() {
    let mut workshop = bare();
    workshop.end(RX, Field::Partners, Value::Partners(register::value::Partners { ends: vec![], all: true }));
    workshop.end(RX, Field::Secret, Value::Secret(SecretMark::Blank));
    let mut start = begun("wont_pair", true);
    start.transmitter = None;
    start.facts.push((Side::Transmitter, Field::Secret, Value::Secret(SecretMark::Blank)));
    start.facts.push((Side::Transmitter, Field::Family, text("Usual")));
    start.facts.push((Side::Transmitter, Field::Band, text("2.4 GHz")));
    let mut bench = Bench::begin(workshop, start);
    let known = bench.workshop.register().devices().len();
    let rules: Vec<Rule> = bench.trail().certain.iter().map(|one| one.rule).collect();
    assert_eq!(rules, [Rule::Pairing]);
    let trail = bench.tried("rule:pairing", Helped::Yes);
    assert!(trail.certain.is_empty(), "{:?}", trail.certain);
    let register = bench.workshop.register();
    assert_eq!(register.devices().len(), known);
    let guest = trails::trail::guest(bench.trail, Side::Transmitter);
    for device in register.devices() {
        assert!(
            !format!("{device:?}").contains(&format!("{guest:?}")),
            "the guest is named in {}",
            device.id
        );
    }
}

#[test]
fn two_failed_rules_want_two_mends_although_the_first_seems_enough() {
    let mut workshop = bare();
    workshop.end(TX, Field::Firmware, text("4.1"));
    workshop.end(RX, Field::Firmware, text("3.6"));
    workshop.end(TX, Field::Secret, Value::Secret(workshop::print(1)));
    workshop.end(RX, Field::Secret, Value::Secret(workshop::print(2)));
    let mut bench = Bench::own(workshop, "wont_pair");
    let trail = bench.tried("rule:version", Helped::Yes);
    assert_eq!(trail.next, Next::Lift { certain: 0 });
    let trail = bench.tried("rule:secret", Helped::Yes);
    assert!(matches!(trail.next, Next::Prove { .. } | Next::Restore { .. }), "{:?}", trail.next);
}

#[test]
fn covers_are_paid_once() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let before = bench.trail();
    let lamp = before.model.step("lamp").unwrap();
    let all = before.model.minutes_of(lamp, &before.situation.open);
    let trail = bench.answer("lamp", "waiting");
    assert_eq!(trail.spent, all);
    assert_eq!(trail.to_close(), units::Minutes::ZERO);
    // The hatch lies under the canopy, which is open already.
    let trail = bench.act(Deed::Opened { cover: "hatch".into() });
    let hatch = &trail.model.covers[trail.model.cover("hatch").unwrap()];
    assert_eq!(trail.spent, all + hatch.open);
    assert_eq!(trail.to_close(), hatch.close);
}

#[test]
fn a_closed_trail_stays_as_it_was() {
    let mut bench = Bench::own(bare(), "wont_pair");
    bench.tried("elsewhere", Helped::Yes);
    let before = bench.trail();
    for change in bench.trail().changes.clone() {
        bench.act(Deed::Accepted { change: change.key });
    }
    bench.prove_all();
    bench.close("noise", Outcome::Proven).unwrap();
    let after = bench.trail();
    assert!((weight(&before, "noise") - weight(&after, "noise")).abs() < 1e-9);
    bench.workshop.end(TX, Field::Firmware, text("5.0"));
    bench.workshop.end(RX, Field::Firmware, text("4.0"));
    assert!(bench.trail().certain.is_empty());
}

#[test]
fn a_change_may_stay_by_name() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let deed = Deed::Elsewise {
        text: "Cut the power to 10 mW.".into(),
        minutes: units::Minutes(2.0),
        changed: "The power is at 10 mW".into(),
        helped: Helped::Yes,
    };
    let trail = bench.act(deed);
    assert_eq!(trail.changes[0].key, "elsewise-1");
    assert_eq!(trail.helped.as_ref().unwrap().step, "elsewise");
    let unknown = bench.try_to(Deed::Accepted { change: "power".into() }).unwrap_err();
    assert!(unknown.to_string().contains("elsewise-1"), "{unknown}");
    let trail = bench.act(Deed::Accepted { change: "elsewise-1".into() });
    assert_eq!(trail.changes[0].settled, Settled::Accepted);
    bench.prove_all();
    bench.close(UNLISTED, Outcome::Proven).unwrap();
}

#[test]
fn a_proof_that_fails_takes_the_search_up_again() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let first = bench.trail();
    let before = weight(&first, "antenna");
    bench.tried("mend_antenna", Helped::Yes);
    let proof = bench.trail().proofs[0].key.clone();
    let trail = bench.act(Deed::Proved { proof, held: false });
    assert!(trail.searching());
    assert!(weight(&trail, "antenna") < before / 2.0);
    let at = trail.model.step("mend_antenna").unwrap();
    assert!(trail.situation.done[at]);
    assert_eq!(trail.history.len(), 2);
    let refused = bench.close("antenna", Outcome::Proven).unwrap_err();
    assert!(refused.contains(&Refused::NotFound), "{refused:?}");
}

#[test]
fn what_worked_only_with_the_change_points_to_its_cause() {
    // Clearing both secrets links; with the secrets back it doesn't: the secret is it.
    let mut bench = Bench::own(bare(), "wont_pair");
    bench.tried("clear_secrets", Helped::Yes);
    bench.act(Deed::PutBack { change: "clear_secrets".into() });
    let proof = bench.trail().proofs[0].key.clone();
    let trail = bench.act(Deed::Proved { proof, held: false });
    assert_eq!(trail.likeliest()[0].key, "secret", "{:?}", trail.likeliest());
}

#[test]
fn guest_gear_stays_on_the_trail() {
    let mut workshop = Workshop::new();
    workshop.family(USUAL);
    let mut start = begun("wont_pair", false);
    for side in [Side::Transmitter, Side::Receiver] {
        start.facts.push((side, Field::Family, text("Usual")));
    }
    start.facts.push((Side::Transmitter, Field::Firmware, text("4.1")));
    let mut bench = Bench::begin(workshop, start);
    let trail = bench.trail();
    assert!(trail.certain.is_empty());
    let known = bench.workshop.register().devices().len();
    // The other version is read: the answer follows from the facts.
    let facts = vec![(Side::Receiver, Field::Firmware, text("3.6"))];
    let trail = bench.act(Deed::Answer { step: "see_versions".into(), answer: String::new(), facts });
    assert!(matches!(&bench.workshop.register().trail(bench.trail).unwrap().events[0].what,
        Event::Answered { answer, facts, .. } if answer == "bad" && facts.len() == 1));
    assert_eq!(trail.certain[0].rule, Rule::Version);
    let trail = bench.tried("rule:version", Helped::Yes);
    assert!(trail.certain.is_empty(), "{:?}", trail.certain);
    assert_eq!(bench.workshop.register().devices().len(), known, "no device was entered");
}

#[test]
fn an_answer_with_its_facts_fills_in_the_register() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let asked = trails::trail::place(&bench.trail(), Side::Receiver, Field::Firmware).unwrap();
    assert_eq!(asked.0, RX);
    let facts = vec![
        (Side::Transmitter, Field::Firmware, text("4.1")),
        (Side::Receiver, Field::Firmware, text("4.0")),
    ];
    let trail = bench.act(Deed::Answer { step: "see_versions".into(), answer: String::new(), facts });
    let register = bench.workshop.register();
    let fleet = Fleet::of(&Scene::new(&register));
    assert_eq!(fleet.receiver(RX).unwrap().ends[0].firmware.one().unwrap(), "4.0");
    assert!(weight(&trail, "version") < 0.01, "{}", weight(&trail, "version"));
    // The history shows what the answer did to the weights.
    let done = &trail.history[0];
    let of = |weights: &[trails::trail::Weight]| {
        weights.iter().find(|one| one.key == "version").map_or(0.0, |one| one.weight)
    };
    assert!(of(&done.before) > 0.05 && of(&done.after) < 0.01, "{done:?}");
}

#[test]
fn the_family_brings_its_own_lamps_and_faults() {
    let own = format!(
        "{USUAL}\n\
         [[lamp]]\nstate = \"hears nothing\"\nshows = \"one slow wink\"\nmeans = \"waiting\"\n\
         [[lamp]]\nstate = \"linked\"\nshows = \"steady\"\nmeans = \"linked\"\n\
         [[lamp]]\nstate = \"settings page\"\nshows = \"Steady\"\nmeans = \"settings\"\n\
         [[fault]]\nsymptom = \"wont_pair\"\nkey = \"sticker\"\nlabel = \"The wrong sticker is on it\"\n\
         weight = 30\nenergises = []\nask = \"Is the sticker yellow?\"\nask_minutes = 0.2\nmend = \"Use the yellow one.\"\n\
         mend_minutes = 4\n"
    );
    let mut workshop = bare();
    workshop.family(&own);
    let bench = Bench::own(workshop, "wont_pair");
    let trail = bench.trail();
    trail.model.check().unwrap();
    let lamp = trail.model.steps[trail.model.step("lamp").unwrap()].as_check().unwrap();
    let words: Vec<(&str, &str)> =
        lamp.answers.iter().map(|one| (one.key.as_str(), one.label.as_str())).collect();
    assert_eq!(words[0], ("waiting", "one slow wink (hears nothing)"));
    // Two states that look alike are one answer.
    assert_eq!(words[1].1, "steady (linked) or Steady (settings page)");
    assert_eq!(words.len(), 3, "{words:?}");
    assert!(weight(&trail, "sticker") > 0.1);
    assert!(trail.model.step("family_sticker").is_some());
    let Next::Step(next) = &trail.next else { panic!("{:?}", trail.next) };
    assert_eq!(trail.model.steps[next.step].key, "family_sticker");
}

#[test]
fn what_a_family_does_not_have_is_no_cause() {
    let plain = USUAL
        .replace("rule = \"equal\"\nblank_allowed = true\nlinks_unpaired = true", "rule = \"none\"")
        .replace("variants = [\"EU\", \"US\"]\nmust_match = true", "variants = []\nmust_match = false");
    assert_ne!(plain, USUAL);
    let mut workshop = bare();
    workshop.family(&plain);
    let trail = Bench::own(workshop, "wont_pair").trail();
    for cause in ["secret", "region", "equal_secret"] {
        assert!(trail.model.cause(cause).is_none(), "{cause}");
    }
    trail.model.check().unwrap();
}

#[test]
fn a_receiver_on_the_bench_is_under_no_hatch() {
    let mut workshop = bare();
    workshop.whole(RX, Field::Aircraft, Value::None);
    let trail = Bench::own(workshop, "wont_pair").trail();
    trail.model.check().unwrap();
    let covers = |trail: &Trail| trail.model.covers.iter().map(|cover| cover.key.clone()).collect::<Vec<_>>();
    assert!(!covers(&trail).contains(&"hatch".to_owned()), "{:?}", covers(&trail));
    let lamp = trail.model.step("lamp").unwrap();
    assert!(trail.model.covers_for(lamp).is_empty());
    // Where that isn't known, it may be.
    assert!(covers(&Bench::own(bare(), "wont_pair").trail()).contains(&"hatch".to_owned()));
}

#[test]
fn when_every_mend_failed_only_giving_up_is_left() {
    let mut bench = Bench::own(bare(), "wont_pair");
    for mend in bench.trail().model.steps.iter().filter(|step| step.as_mend().is_some()) {
        bench.tried(&mend.key, Helped::No);
    }
    let trail = bench.trail();
    assert!(matches!(trail.next, Next::GiveUp { .. }), "{:?}", trail.next);
    let first = &trail.likeliest()[0];
    assert!(first.key == "receiver_dead" || first.key == UNLISTED, "{first:?}");
}

#[test]
fn answers_that_fit_nothing_are_said_to_fit_nothing() {
    // Bands, families, versions, secrets, IDs, module and supply are all seen to be good, the
    // receiver links elsewhere, and another receiver links here: the list holds no such fault.
    let mut bench = Bench::own(bare(), "wont_pair");
    let steps = bench.trail().model.steps.clone();
    for step in &steps {
        let Some(check) = step.as_check() else { continue };
        // The answer that speaks most for something else.
        let unlisted = bench.trail().model.unlisted_at();
        let most = (0..check.answers.len())
            .max_by(|a, b| check.likelihood[*a][unlisted].total_cmp(&check.likelihood[*b][unlisted]))
            .unwrap();
        bench.answer(&step.key, &check.answers[most].key);
    }
    for mend in steps.iter().filter(|step| step.as_mend().is_some()) {
        bench.tried(&mend.key, Helped::No);
    }
    let trail = bench.trail();
    let Some(Remark::NotListed { weight }) = trail.remark else { panic!("{:?}", trail.remark) };
    assert!(weight >= 0.5, "{weight}");
    assert!(trail.belief.singles.iter().all(|weight| *weight > 0.0 && weight.is_finite()));
}

#[test]
fn closed_trails_teach_and_a_strike_takes_it_back() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let before = weight(&bench.trail(), "noise");
    let mut closings = Vec::new();
    for _ in 0..5 {
        bench.tried("elsewhere", Helped::Yes);
        for change in bench.trail().changes.clone() {
            if change.settled == Settled::Open {
                bench.act(Deed::Accepted { change: change.key });
            }
        }
        bench.prove_all();
        closings.push(bench.close("noise", Outcome::Proven).unwrap());
        bench.trail = bench.workshop.push(RX, Body::TrailBegun(begun("wont_pair", true)));
    }
    let trail = bench.trail();
    assert_eq!(trail.counts.of_cause("noise"), 5);
    assert!(weight(&trail, "noise") > before + 0.1, "{before} {}", weight(&trail, "noise"));
    assert!(Counts::of(&bench.workshop.register(), "drops_out").0.is_empty());
    for entry in closings {
        bench.workshop.push(RX, Body::Strike { entry });
    }
    assert_eq!(bench.trail().counts.total(), 0);
    assert!((weight(&bench.trail(), "noise") - before).abs() < 1e-12);
}

#[test]
fn the_same_question_gives_the_same_step() {
    let bench = Bench::own(bare(), "wont_pair");
    let (one, other) = (bench.trail(), bench.trail());
    assert_eq!(one.next, other.next);
    assert_eq!(one.expected.unwrap().0.to_bits(), other.expected.unwrap().0.to_bits());
}

#[test]
fn a_symptom_that_is_in_no_library_is_said() {
    let bench = Bench::own(bare(), "smells_odd");
    let lost = bench.try_trail().unwrap_err();
    assert!(lost.to_string().contains("wont_pair"), "{lost}");
}

#[test]
fn deeds_that_do_not_fit_are_refused_with_what_there_is() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let answer = |step: &str, answer: &str| Deed::Answer {
        step: step.into(),
        answer: answer.into(),
        facts: Vec::new(),
    };
    let cases = [
        (answer("nonsense", "yes"), "lamp"),
        (answer("lamp", "purple"), "waiting"),
        (answer("mend_antenna", "yes"), "helped"),
        (Deed::Tried { step: "lamp".into(), mend: None, helped: Helped::Yes }, "answers"),
        (Deed::Tried { step: "rule:band".into(), mend: None, helped: Helped::Yes }, "none"),
        (Deed::Opened { cover: "lid".into() }, "canopy"),
        (Deed::Proved { proof: "restart".into(), held: true }, "helped"),
        (Deed::Proved { proof: "prayer".into(), held: true }, "restart"),
        (
            Deed::Elsewise {
                text: " ".into(),
                minutes: units::Minutes(1.0),
                changed: String::new(),
                helped: Helped::No,
            },
            "words",
        ),
        (
            Deed::Elsewise {
                text: "x".into(),
                minutes: units::Minutes(f64::NAN),
                changed: String::new(),
                helped: Helped::No,
            },
            "minutes",
        ),
        (
            Deed::Elsewise {
                text: "x".repeat(501),
                minutes: units::Minutes(1.0),
                changed: String::new(),
                helped: Helped::No,
            },
            "500",
        ),
    ];
    for (deed, says) in cases {
        let refused = bench.try_to(deed.clone()).unwrap_err().to_string();
        assert!(refused.contains(says), "{deed:?}: {refused}");
    }
    assert!(bench.trail().history.is_empty());
}

#[test]
fn what_fails_for_certain_comes_before_a_card() {
    let mut workshop = bare();
    workshop.end(TX, Field::Firmware, text("4.1"));
    workshop.end(RX, Field::Firmware, text("3.6"));
    let mut bench = Bench::own(workshop, "wont_pair");
    let first = bench.trail().first();
    assert_eq!(first.len(), 1);
    assert!(first[0].contains("3.6") && first[0].contains("min"), "{first:?}");
    assert!(bench.tried("rule:version", Helped::No).first().is_empty());
}

#[test]
fn what_could_not_be_done_is_no_sign_of_something_else() {
    let mut bench = Bench::own(bare(), "wont_pair");
    for step in bench.trail().model.steps.clone() {
        match step.as_mend() {
            Some(_) => bench.tried(&step.key, Helped::CantTell),
            None => bench.answer(&step.key, "cant-tell"),
        };
    }
    let trail = bench.trail();
    assert_eq!(trail.remark, None);
    assert!(matches!(trail.next, Next::GiveUp { .. }), "{:?}", trail.next);
}

#[test]
fn what_fails_for_certain_is_what_is_likely() {
    let mut workshop = bare();
    workshop.end(TX, Field::Firmware, text("4.1"));
    workshop.end(RX, Field::Firmware, text("3.6"));
    workshop.end(TX, Field::Secret, Value::Secret(workshop::print(1)));
    workshop.end(RX, Field::Secret, Value::Secret(workshop::print(2)));
    let mut bench = Bench::own(workshop, "wont_pair");
    let trail = bench.trail();
    let first: Vec<String> = trail.likeliest().into_iter().take(2).map(|one| one.key).collect();
    assert!(first.contains(&"version".to_owned()) && first.contains(&"secret".to_owned()), "{first:?}");
    // Neither can be mended now, and something else seems to help: the register says it can't.
    bench.tried("rule:version", Helped::CantTell);
    let trail = bench.tried("rule:secret", Helped::CantTell);
    let Next::Step(next) = &trail.next else { panic!("{:?}", trail.next) };
    let key = trail.model.steps[next.step].key.clone();
    assert!(key != "see_versions" && key != "see_secrets", "the register knows it already");
    let trail = bench.tried("elsewhere", Helped::Yes);
    assert!(
        matches!(&trail.remark, Some(Remark::StillFails { reasons }) if reasons.len() == 2),
        "{:?}",
        trail.remark
    );
}

#[test]
fn once_something_helped_the_weights_are_of_what_it_cures() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let trail = bench.tried("mend_antenna", Helped::Yes);
    assert_eq!(trail.likeliest()[0].key, trail.helped.as_ref().unwrap().causes[0].key);
    assert_eq!(trail.history[0].after, trail.helped.as_ref().unwrap().causes);
    assert_eq!(trail.presumed(), "antenna");
    assert!(trail.likeliest().iter().all(|one| one.weight > 0.0), "what is ruled out is not likely");
    let proof = trail.proofs[0].key.clone();
    let trail = bench.act(Deed::Proved { proof, held: false });
    assert!(trail.proofs[0].failed && !trail.proofs[0].held);
}

#[test]
fn what_helped_outside_the_trail_keeps_its_words() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let trail = bench.act(Deed::Elsewise {
        text: "Swapped the pack.".into(),
        minutes: units::Minutes(5.0),
        changed: String::new(),
        helped: Helped::Yes,
    });
    assert_eq!(trail.helped.as_ref().unwrap().what, "Swapped the pack.");
    assert_eq!(trail.history.len(), 1);
    assert_eq!(trail.presumed(), "", "which of the causes it was is for a person to say");
}

#[test]
fn facts_and_answer_must_agree() {
    let mut bench = Bench::own(bare(), "wont_pair");
    let blank = Value::Secret(SecretMark::Blank);
    let facts =
        vec![(Side::Transmitter, Field::Secret, blank.clone()), (Side::Receiver, Field::Secret, blank)];
    let deed = Deed::Answer { step: "see_secrets".into(), answer: "bad".into(), facts };
    assert_eq!(bench.try_to(deed).unwrap_err(), Refused::FactsSay("good"));
}
