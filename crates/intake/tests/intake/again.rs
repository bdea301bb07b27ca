//! A list laid beside what the workshop has: only differences are proposed.

use intake::plan::{FieldChange, Plan};
use register::entry::Body;
use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::scene::Scene;
use register::time::{DAY_MS, Moment};
use register::value::{Partners, SecretMark, Value};

use crate::support::{Book, NOW};

const LIST: &str = "Sort;Code;Name;Aircraft;Band;Firmware;Model ID;Link secret;Paired with;State\n\
    aircraft;A1;Old glider;;;;;;;\n\
    tx;T1;Desk;;2,4 GHz;4,1;;tern nest;;\n\
    tx;T2;Case;;868;3,0;;same as T1;;\n\
    rx;R1;First;Old glider;2,4 GHz;4,1;7;tern nest;T1;in use\n\
    rx;R2;Second;New delta;868 MHz;3,0;off;(blank);only T1 + T2;shelf\n";

fn changes(plan: &Plan) -> Vec<String> {
    let one = |label: &str, change: &FieldChange| {
        let before = change.before.as_deref().unwrap_or("nothing");
        let noted = if change.only_noted { " (noted)" } else { "" };
        format!("{label} {} {}: {before} -> {}{noted}", change.part.word(), change.field, change.after)
    };
    plan.proposals
        .iter()
        .flat_map(|proposal| proposal.changes.iter().map(move |change| one(&proposal.label, change)))
        .collect()
}

#[test]
fn the_same_list_again_changes_nothing_and_an_edited_one_shows_its_edits() {
    let mut book = Book::new();
    let (read, plan) = book.import_csv(LIST.as_bytes(), None);
    assert_eq!(
        (read.bad.len(), plan.bad.len(), plan.proposals.len()),
        (0, 0, 6),
        "{:?} {:?}",
        read.bad,
        plan.bad
    );
    assert!(plan.proposals.iter().all(|proposal| proposal.is_new));

    let (_, plan) = book.import_csv(LIST.as_bytes(), None);
    assert_eq!((changes(&plan), plan.unchanged), (Vec::new(), 5));
    assert_eq!(plan.drafts().count(), 0);

    let edited = LIST
        .replace(
            "rx;R1;First;Old glider;2,4 GHz;4,1;7;tern nest",
            "rx;r1;First;Old glider;2.4ghz;4,2;8;another",
        )
        .replace("only T1 + T2", "none")
        .replace("(blank)", "tern nest");
    let (_, plan) = book.import_csv(edited.as_bytes(), None);
    assert_eq!(
        changes(&plan),
        [
            "r1 First whole code: R1 -> r1",
            "r1 First end:main firmware: 4.1 -> 4.2",
            "r1 First end:main secret: set -> changed",
            "r1 First end:main model_id: 7 -> 8",
            "R2 Second end:main secret: blank -> set",
            "R2 Second end:main partners: only T1, T2 -> none",
        ]
    );
    assert_eq!(plan.unchanged, 3);
    assert!(plan.proposals.iter().all(|proposal| !proposal.is_new));
    let replaces = plan
        .drafts()
        .filter(|draft| matches!(&draft.body, Body::Reading { replaces, .. } if replaces.is_empty()));
    assert_eq!(replaces.count(), 0, "every reading names what it replaces");
    let (_, plan) = book.import_csv(edited.as_bytes(), None);
    assert_eq!(changes(&plan), Vec::<String>::new());
}

#[test]
fn one_entry_holds_what_was_seen_together() {
    let (_, plan) = Book::new()
        .plan_csv(b"Code,Name,Band,Firmware,Seen\nR1,First,2.4 GHz,4.1,2024-05-01\n", Some(Sort::Receiver));
    let drafts: Vec<_> = plan.drafts().collect();
    assert_eq!(drafts.len(), 3);
    assert_eq!(drafts[0].body, Body::Device { sort: Sort::Receiver });
    let when = Moment::parse("2024-05-01").unwrap();
    assert!(drafts.iter().all(|draft| draft.seen == when));
    let facts = |at: usize| match &drafts[at].body {
        Body::Reading { part, how, facts, .. } => (part.word(), *how, facts.len()),
        other => panic!("{other:?}"),
    };
    assert_eq!((facts(1), facts(2)), (("whole".into(), How::Label, 2), ("end:main".into(), How::Label, 2)));
}

#[test]
fn devices_are_found_by_code_then_by_name() {
    let mut book = Book::new();
    book.import_csv(b"Code,Name\nR1,Kite\nR2,Kite\n,Finch\n", Some(Sort::Receiver));
    let list = b"Code,Name,Firmware\nR1,,4.1\n,Kite,4.1\nR9,Finch,4.1\nR3,Kite,4.1\n,R2,4.1\n";
    let (_, plan) = book.plan_csv(list, Some(Sort::Receiver));
    let told: Vec<String> = plan.bad.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "row 3: has a name that several receivers of the workshop have; name the one that is meant by its id"
        ]
    );
    let got: Vec<(&str, bool)> =
        plan.proposals.iter().map(|proposal| (proposal.label.as_str(), proposal.is_new)).collect();
    // `R9 Finch` gives the nameless one a code; `R3 Kite` is a third; a name is no code.
    assert_eq!(got, [("R1 Kite", false), ("R9 Finch", false), ("R3 Kite", true), ("R2", true)]);
}

#[test]
fn two_rows_that_turn_out_to_be_one_device_are_told() {
    let mut book = Book::new();
    book.import_csv(b"Code,Name\nR1,Kite\n", Some(Sort::Receiver));
    let (read, plan) = book.plan_csv(b"Code,Name,Note\nR1,,a\n,Kite,b\n", Some(Sort::Receiver));
    assert_eq!(read.bad, []);
    assert_eq!(
        plan.bad[0].to_string(),
        "row 3: is about a device that other rows are about by another code or name; use the same in all of them"
    );
    assert_eq!(plan.proposals.len(), 1);
}

#[test]
fn what_is_known_better_is_kept_and_what_is_said_better_is_taken() {
    let mut book = Book::new();
    book.import_csv(b"Code,Firmware,How,Seen\nR1,4.1,seen,2024-01-01\n", Some(Sort::Receiver));
    let (_, plan) = book.import_csv(b"Code,Firmware,How\nR1,4.2,told\n", Some(Sort::Receiver));
    assert_eq!(changes(&plan), ["R1 end:main firmware: 4.1 -> 4.2 (noted)"]);
    let (_, plan) = book.import_csv(b"Code,Firmware,How\nR1,4.2,told\n", Some(Sort::Receiver));
    assert_eq!(changes(&plan), Vec::<String>::new(), "noted once is enough");
    let (_, plan) =
        book.import_csv(b"Code,Firmware,How,Seen\nR1,4.1,seen,2024-06-01\n", Some(Sort::Receiver));
    assert_eq!(changes(&plan), ["R1 end:main firmware: 4.1 (seen, 2024-01-01) -> 4.1 (seen, 2024-06-01)"]);
    let (_, plan) = book.import_csv(b"Code,Firmware\nR1,4.1\n", Some(Sort::Receiver));
    assert_eq!(changes(&plan), Vec::<String>::new(), "a list that doesn't say when adds nothing");
}

#[test]
fn a_flash_does_not_make_an_old_list_news() {
    let mut book = Book::with_family(include_str!("../../../register/families/plover.toml"));
    let list = b"Sort,Code,Family,Paired with\ntx,T1,Plover,\nrx,R1,Plover,T1\n";
    book.import_csv(list, None);
    let receiver =
        book.register.devices().iter().find(|device| device.sort == Some(Sort::Receiver)).unwrap().id;
    let body = Body::Flashed { end: "main".into(), version: "2.0".into(), route: "bench lead".into() };
    book.say(receiver, Moment(NOW.0 + DAY_MS), body);
    let scene = Scene::new(&book.register);
    let device = scene.device(receiver).unwrap();
    let told = intake::export::holds(&scene, device, &Part::End("main".into()), Field::Partners);
    assert_eq!(
        told[0].value,
        Value::Partners(Partners { ends: Vec::new(), all: true }),
        "the flash wiped it"
    );
    let (_, plan) = book.plan_csv(list, None);
    assert_eq!(changes(&plan), Vec::<String>::new());
}

#[test]
fn values_are_checked_against_the_family() {
    let mut book = Book::with_family(include_str!("../../../register/families/plover.toml"));
    let list = "Sort,Code,Name,Of,Family,Band,Region,Firmware,Model ID,End\n\
                tx,T1,,,Plover,2400,,2.1,,\n\
                rx,R1,,,plover,868 MHz,,2.1,,\n\
                rx,R2,,,Plover,2.45 GHz,east,2.1,,\n\
                rx,R3,,,Plover,,,banana,,\n\
                memory,1,,T1,,,,,99,\n\
                memory,2,,T1,,,,,100,\n\
                memory,3,,T1,,,,,0,\n\
                memory,4,,T1,,,,,off,\n\
                rx,R4,,,Unheard,868 MHz,east,banana,999,\n";
    let (read, plan) = book.plan_csv(list.as_bytes(), None);
    assert_eq!(read.bad, []);
    let told: Vec<String> = plan.bad.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "row 3, column `Band`: is no band of the link family Plover; its bands are 2.4 GHz",
            "row 4, column `Region`: is filled, but the link family Plover has no region variants; leave it empty",
            "row 5, column `Firmware`: is no version; write numbers with points, as in 4.1",
            "row 7, column `Model ID`: is no model ID of the link family Plover; its IDs go from 1 to 99, or 0 to \
             switch the check off",
        ]
    );
    let labels: Vec<&str> = plan.proposals.iter().map(|proposal| proposal.label.as_str()).collect();
    assert_eq!(labels, ["T1", "R4"]);
    assert_eq!(plan.proposals[0].rows, [2, 6, 8, 9]);
    assert_eq!(plan.unknown_families.iter().map(String::as_str).collect::<Vec<_>>(), ["Unheard"]);
    book.take(plan.drafts());
    // The family as the workshop knows it counts, too.
    let (_, plan) = book.plan_csv(b"Sort,Code,Band\ntx,T1,868 MHz\n", None);
    assert_eq!(plan.bad.len(), 1);
}

#[test]
fn rows_that_lean_on_bad_rows_are_told_and_make_nothing() {
    let mut book = Book::with_family(include_str!("../../../register/families/plover.toml"));
    let list = "Sort,Code,Family,Band,State,Aircraft,Paired with,Of,Link secret\n\
                aircraft,A1,,,nowhere,,,,\n\
                rx,R1,,,,A1,,,\n\
                tx,T1,Plover,868 MHz,,,,,\n\
                memory,1,,,,Delta,,T1,\n\
                rx,R2,,,,,T1,,\n\
                rx,R3,,,,,,,same as R2\n\
                rx,R4,,,,,Nobody,,\n\
                rx,R5,,,,,,,\n";
    let (read, plan) = book.import_csv(list.as_bytes(), None);
    let told: Vec<String> = read.bad.iter().chain(&plan.bad).map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "row 2, column `State`: is no state; write one of: in use, shelf, lent, crashed, sold, destroyed",
            "row 3, column `Aircraft`: names a device whose own row can't be taken; correct that row first",
            "row 4, column `Band`: is no band of the link family Plover; its bands are 2.4 GHz",
            "row 5: belongs to a device whose own row can't be taken; correct that row first",
            "row 6, column `Paired with`: names a device whose own row can't be taken; correct that row first",
            "row 7, column `Link secret`: names a device whose own row can't be taken; correct that row first",
            "row 8, column `Paired with`: names no transmitter of this list or the workshop; correct the name, or add \
             a row for it",
        ]
    );
    assert_eq!(plan.proposals.iter().map(|proposal| proposal.label.as_str()).collect::<Vec<_>>(), ["R5"]);
}

#[test]
fn an_end_is_named_where_there_are_several() {
    let list = "Sort,Code,End,Band,Paired with\n\
                tx,T1,in,2.4 GHz,\n\
                tx,T1,out,868 MHz,\n\
                rx,R1,,,T1 (OUT)\n\
                rx,R2,,,T1\n";
    let (_, plan) = Book::new().plan_csv(list.as_bytes(), None);
    assert_eq!(
        plan.bad[0].to_string(),
        "row 5, column `Paired with`: names a device with several ends; write the end after it in brackets, as in T1 \
         (internal)"
    );
    assert!(
        changes(&plan).contains(&"R1 end:main partners: nothing -> T1 (out)".to_owned()),
        "{:?}",
        changes(&plan)
    );
}

#[test]
fn a_list_settles_no_clash_by_accident() {
    let mut book = Book::new();
    let id = DeviceId(9);
    book.say(id, NOW, Body::Device { sort: Sort::Receiver });
    for firmware in ["4.1", "4.2"] {
        let facts = vec![(Field::Firmware, Value::Text(firmware.into()))];
        let part = Part::End("main".into());
        book.say(id, NOW, Body::Reading { part, how: How::Seen, facts, replaces: Vec::new() });
    }
    let code = vec![(Field::Code, Value::Text("R1".into()))];
    book.say(
        id,
        NOW,
        Body::Reading { part: Part::Whole, how: How::Label, facts: code, replaces: Vec::new() },
    );
    let (_, plan) = book.plan_csv(b"Code,Firmware,How\nR1,4.1,seen\n", Some(Sort::Receiver));
    assert_eq!(changes(&plan), Vec::<String>::new(), "that reading stands already");
    let (_, plan) = book.plan_csv(b"Code,Firmware,How,Seen\nR1,4.1,seen,2030-01-01\n", Some(Sort::Receiver));
    assert_eq!(changes(&plan), ["R1 end:main firmware: 4.1 or 4.2 -> 4.1"]);
    book.take(plan.drafts());
    let scene = Scene::new(&book.register);
    let held =
        intake::export::holds(&scene, scene.device(id).unwrap(), &Part::End("main".into()), Field::Firmware);
    assert_eq!(held.len(), 1);
}

#[test]
fn prints_under_another_key_are_a_change_of_the_secret() {
    let mut book = Book::new();
    let print = |key: u64| format!("Code,Secret\nR1,print:{key:016x}:{:032x}\n", 5);
    book.import_csv(print(1).as_bytes(), Some(Sort::Receiver));
    let (_, plan) = book.plan_csv(print(1).as_bytes(), Some(Sort::Receiver));
    assert_eq!(changes(&plan), Vec::<String>::new());
    let (_, plan) = book.plan_csv(print(2).as_bytes(), Some(Sort::Receiver));
    assert_eq!(changes(&plan), ["R1 end:main secret: set -> changed"]);
    let marks = plan.drafts().filter(|draft| {
        matches!(&draft.body, Body::Reading { facts, .. } if facts.contains(&(Field::Secret, Value::Secret(SecretMark::Print { key: 2, print: 5 }))))
    });
    assert_eq!(marks.count(), 1);
}
