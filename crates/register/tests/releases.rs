//! Firmware releases of a family: what is read and refused, and what a workshop adds to it.

#[path = "families/arbitrary.rs"]
mod arbitrary;

use proptest::prelude::*;
use register::entry::{Body, Stamp};
use register::family::read::read;
use register::family::release::{
    family_of_setting, read_releases, read_releases_for, setting_of, write_releases,
};
use register::family::write::write;
use register::family::{Family, Reach, ReachSort, Release, Releases, Side, Version, VersionRule};
use register::field::Field;
use register::id::{DeviceId, Digest, EntryId, ReplicaId};
use register::register::{Folded, Register};
use register::time::{Clock, Moment};
use units::Minutes;

/// A family without a problem, one way to write each side.
const FAMILY: &str = r#"schema = 1

[family]
name = "Sand Erling"

[[band]]
name = "2.4 GHz"
low_mhz = 2400
high_mhz = 2483.5

[version]
rule = "groups"

[[version.group]]
name = "old"
spans = ["1.0..2.9"]

[[version.group]]
name = "new"
spans = ["3.0..4.9"]

[secret]
rule = "none"

[model_id]
checked_at = "none"

[pairing]
needs = ["the key"]
energises = ["receiver"]
minutes = 3

[[flash]]
name = "bench lead"
side = "receiver"
minutes = 8
energises = ["receiver"]
wipes = ["partners"]
fails_one_in = 50
recovery = "Bridge the pads."
recovery_minutes = 7

[[flash]]
name = "card"
side = "transmitter"
minutes = 8
energises = ["transmitter"]
wipes = []
"#;

/// What it is given; the first line, which is blank, is the file's 49th.
const MORE: &str = r#"
[[reach]]
name = "the key"
sort = "cover"
minutes = 6

[[release]]
version = "2.4"

[[release]]
version = "3.2"
side = "receiver"
hardware = ["six outputs"]
from = "2.4"
routes = ["Bench Lead"]
wipes = ["model_id"]
changes = ["One.", "Two."]
no_way_back = "It is so."
"#;

fn whole() -> String {
    format!("{FAMILY}{MORE}")
}

fn told(text: &str) -> Vec<String> {
    read("f.toml", text).err().unwrap_or_default().iter().map(ToString::to_string).collect()
}

#[test]
fn releases_are_read() {
    let family = read("f.toml", &whole()).unwrap();
    assert_eq!(family.pairing.needs, ["the key"]);
    let route = &family.flash[0];
    assert_eq!((route.fails_one_in, route.recovery_minutes), (Some(50), Some(Minutes(7.0))));
    assert_eq!(route.recovery, "Bridge the pads.");
    assert_eq!((family.flash[1].fails_one_in, family.flash[1].recovery_minutes), (None, None));
    assert_eq!(
        family.reaches,
        [Reach { name: "the key".to_owned(), sort: ReachSort::Cover, minutes: Some(Minutes(6.0)) }]
    );
    assert_eq!(family.reach("The  KEY"), family.reaches.first());
    let plain = Release {
        version: "2.4".to_owned(),
        side: None,
        hardware: Vec::new(),
        from: None,
        routes: Vec::new(),
        wipes: Vec::new(),
        changes: Vec::new(),
        no_way_back: String::new(),
    };
    let full = Release {
        version: "3.2".to_owned(),
        side: Some(Side::Receiver),
        hardware: vec!["six outputs".to_owned()],
        from: Some(Version(vec![2, 4])),
        routes: vec!["Bench Lead".to_owned()],
        wipes: vec![Field::ModelId],
        changes: vec!["One.".to_owned(), "Two.".to_owned()],
        no_way_back: "It is so.".to_owned(),
    };
    assert_eq!(family.releases, [plain, full]);
    assert_eq!(read("f.toml", &write(&family)).as_ref(), Ok(&family));
}

/// A release is found by its side and its numbers, and wipes beside its route.
#[test]
fn a_release_is_found_and_wipes() {
    let family = read("f.toml", &whole()).unwrap();
    let found = |side, version: &str| family.release(side, version).map(|release| release.version.as_str());
    assert_eq!(found(Side::Transmitter, "v2.4"), Some("2.4"));
    assert_eq!(found(Side::Receiver, "3.2-rc1"), Some("3.2"));
    assert_eq!(found(Side::Transmitter, "3.2"), None);
    assert_eq!(found(Side::Receiver, "3.2.0"), None);
    assert_eq!(found(Side::Receiver, "unknown"), None);
    let wiped = |version: &str| family.wiped_by_flash(Side::Receiver, "bench lead", version);
    assert_eq!(wiped("2.4"), [Field::Partners]);
    let both = wiped("3.2");
    assert!(both.len() == 2 && both.contains(&Field::Partners) && both.contains(&Field::ModelId), "{both:?}");
}

/// What is put in place of a line, and every problem that follows.
#[test]
#[expect(clippy::too_many_lines, reason = "a table, a row a problem")]
fn each_problem_is_told_with_its_line_and_key() {
    let rows: &[(&str, &str, &[&str])] = &[
        (
            "fails_one_in = 50",
            "fails_one_in = 1",
            &["f.toml:39: `flash[1].fails_one_in` is 1, outside 2 to 1000000; correct it"],
        ),
        ("fails_one_in = 50", "fails_one_in = 2", &[]),
        (
            "recovery_minutes = 7",
            "recovery_minutes = -1",
            &["f.toml:41: `flash[1].recovery_minutes` is -1, outside 0 to 10080; correct it"],
        ),
        (
            "recovery = \"Bridge the pads.\"",
            "recovery = 7",
            &[
                "f.toml:40: `flash[1].recovery` is a whole number; write text in quotes, as in `recovery = \"Hold the side key while switching on, then write it again.\"`",
            ],
        ),
        (
            "needs = [\"the key\"]",
            "needs = \"the key\"",
            &[
                "f.toml:29: `pairing.needs` is text; write a list in square brackets, as in `needs = [\"the receiver's side key\"]`",
            ],
        ),
        (
            "sort = \"cover\"",
            "sort = \"lid\"",
            &[
                "f.toml:52: `reach[1].sort` is \"lid\"; write \"cover\", \"computer\", \"network page\" or \"cable\"",
            ],
        ),
        (
            "sort = \"cover\"",
            "sort = \"cable\"",
            &[
                "f.toml:53: `reach[1].minutes` means something only with sort = \"cover\"; leave it out, or choose that",
            ],
        ),
        (
            "name = \"the key\"\nsort = \"cover\"\nminutes = 6",
            "",
            &[
                "f.toml:50: `reach[1].name` is missing; add it, as in `name = \"the bench computer\"`",
                "f.toml:50: `reach[1].sort` is missing; add it, as in `sort = \"computer\"`",
            ],
        ),
        (
            "minutes = 6\n",
            "minutes = 6\n\n[[reach]]\nname = \"The Key\"\nsort = \"cable\"\n",
            &["f.toml:56: `reach[2].name` says \"The Key\", which is described already; keep one of the two"],
        ),
        (
            "version = \"2.4\"\n",
            "",
            &["f.toml:55: `release[1].version` is missing; add it, as in `version = \"4.2\"`"],
        ),
        (
            "version = \"2.4\"",
            "version = \"newest\"",
            &[
                "f.toml:56: `release[1].version` is \"newest\"; write a version with its numbers, as in \"4.2\"",
            ],
        ),
        (
            "version = \"2.4\"",
            "version = \"5.0\"",
            &[
                "f.toml:56: `release[1].version` is 5.0, in no group of [version]; add it to the `spans` of one",
            ],
        ),
        // A version that says too little to lie in a group.
        (
            "version = \"2.4\"",
            "version = \"1\"",
            &["f.toml:56: `release[1].version` is 1, in no group of [version]; add it to the `spans` of one"],
        ),
        (
            "version = \"2.4\"",
            "version = \"v3.2 beta\"",
            &[
                "f.toml:59: `release[2].version` says \"3.2\", which is described for that side already; keep one of the two",
            ],
        ),
        ("version = \"2.4\"", "version = \"3.2\"\nside = \"transmitter\"", &[]),
        (
            "side = \"receiver\"\nhardware",
            "side = \"both\"\nhardware",
            &["f.toml:60: `release[2].side` is \"both\"; write \"transmitter\" or \"receiver\""],
        ),
        (
            "side = \"receiver\"\nhardware",
            "hardware",
            &[
                "f.toml:62: `release[2].routes` means something only with a `side`; leave it out, or choose that",
            ],
        ),
        (
            "from = \"2.4\"",
            "from = \"4.x\"",
            &["f.toml:62: `release[2].from` is \"4.x\"; write a version with its numbers, as in \"4.2\""],
        ),
        (
            "from = \"2.4\"",
            "from = \"3.3\"",
            &[
                "f.toml:62: `release[2].from` is 3.3, above the release itself (3.2); write an earlier version",
            ],
        ),
        ("from = \"2.4\"", "from = \"3.2\"", &[]),
        (
            "routes = [\"Bench Lead\"]",
            "routes = [\"card\"]",
            &[
                "f.toml:63: `release[2].routes[1]` is \"card\", and no [[flash]] of a receiver is called that; write \"bench lead\"",
            ],
        ),
        (
            "routes = [\"Bench Lead\"]",
            "routes = [\"bench lead\", \"BENCH LEAD\"]",
            &["f.toml:63: `release[2].routes[2]` says \"BENCH LEAD\" a second time; leave it out"],
        ),
        (
            "wipes = [\"model_id\"]",
            "wipes = [\"band\"]",
            &[
                "f.toml:64: `release[2].wipes[1]` is \"band\"; it can be \"partners\", \"secret\", \"model_id\" or \"region\"",
            ],
        ),
        (
            "no_way_back",
            "no_wayback",
            &[
                "f.toml:66: `release[2].no_wayback` is not a key that belongs here; did you mean `no_way_back`?",
            ],
        ),
    ];
    let good = whole();
    assert_eq!(told(&good), Vec::<String>::new());
    let mut wrong = Vec::new();
    for (from, to, want) in rows {
        assert!(good.contains(from), "the row doesn't touch the file: {from}");
        let got = told(&good.replacen(from, to, 1));
        if got != *want {
            wrong.push(format!("{from:?} -> {to:?}\n  got  {got:#?}\n  want {want:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Without groups every version may be a release.
#[test]
fn without_groups_no_version_is_out_of_place() {
    let groups = FAMILY.find("rule = \"groups\"").unwrap()..FAMILY.find("[secret]").unwrap();
    let mut text = whole();
    text.replace_range(groups, "rule = \"any\"\n\n");
    let family = read("f.toml", &text.replace("version = \"2.4\"", "version = \"77\"")).unwrap();
    assert_eq!(family.versions, VersionRule::Any);
    assert_eq!(family.releases[0].version, "77");
}

#[test]
fn every_sort_of_reach_has_its_word() {
    for sort in ReachSort::ALL {
        assert_eq!(ReachSort::from_word(sort.word()), Some(sort));
    }
    assert_eq!(ReachSort::from_word("Cover"), None);
}

fn added(releases: &str) -> String {
    format!("schema = 1\nfamily = \"sand erling\"\n{releases}")
}

/// What a workshop adds takes the place of the family's own, for its side.
#[test]
fn a_workshop_adds_and_overrides() {
    let family = read("f.toml", &whole()).unwrap();
    let with = |text: &str| {
        let more = read_releases_for("w", &added(text), &family).unwrap();
        let merged = family.with_releases(&more);
        // Still a family that the reader takes.
        assert_eq!(read("again", &write(&merged)).as_ref(), Ok(&merged), "{text}");
        merged
    };
    let sides = |family: &Family| -> Vec<(String, Option<Side>)> {
        family.releases.iter().map(|one| (one.version.clone(), one.side)).collect()
    };
    let row = |version: &str, side| (version.to_owned(), side);
    assert_eq!(with(""), family);
    let (rx, tx) = (Some(Side::Receiver), Some(Side::Transmitter));
    // A new one stands last.
    let merged = with("[[release]]\nversion = '3.4'\n");
    assert_eq!(sides(&merged), [row("2.4", None), row("3.2", rx), row("3.4", None)]);
    // One side of one that was for both.
    let merged = with("[[release]]\nversion = '2.4'\nside = 'receiver'\nwipes = ['secret']\n");
    assert_eq!(sides(&merged), [row("2.4", tx), row("3.2", rx), row("2.4", rx)]);
    assert!(merged.wiped_by_flash(Side::Receiver, "bench lead", "2.4").contains(&Field::Secret));
    assert!(merged.wiped_by_flash(Side::Transmitter, "card", "2.4").is_empty());
    // The other side of one that was for one.
    let merged = with("[[release]]\nversion = '3.2'\nside = 'transmitter'\n");
    assert_eq!(sides(&merged), [row("2.4", None), row("3.2", rx), row("3.2", tx)]);
    // The same side, written otherwise: all of it is replaced.
    let merged = with("[[release]]\nversion = 'v3.2'\nside = 'receiver'\n");
    assert_eq!(sides(&merged), [row("2.4", None), row("v3.2", rx)]);
    assert!(merged.releases[1].hardware.is_empty());
    // Both sides at once.
    let merged = with("[[release]]\nversion = '3.2'\n");
    assert_eq!(sides(&merged), [row("2.4", None), row("3.2", None)]);
    // What must be reached goes by name.
    let merged =
        with("[[reach]]\nname = 'THE KEY'\nsort = 'cable'\n\n[[reach]]\nname = 'pc'\nsort = 'computer'\n");
    assert_eq!(merged.reach("the key").map(|reach| reach.sort), Some(ReachSort::Cable));
    assert_eq!(merged.reaches.len(), 2);
    assert_eq!(merged.releases, family.releases);
}

#[test]
fn an_added_text_that_does_not_fit_is_told() {
    let family = read("f.toml", &whole()).unwrap();
    let told = |text: &str| -> Vec<String> {
        let read = read_releases_for("w", text, &family);
        read.err().unwrap_or_default().iter().map(ToString::to_string).collect()
    };
    assert_eq!(
        told(""),
        [
            "w:1: `family` is missing; add it, as in `family = \"My system\"`",
            "w:1: `schema` is missing; add it, as in `schema = 1`",
        ]
    );
    assert_eq!(
        told("schema = 1\nfamily = 'Plover'\n[[band]]\n"),
        [
            "w:2: `family` is \"Plover\"; these are releases of \"Sand Erling\"",
            "w:3: `band` is not a key that belongs here; the keys here are `schema`, `family`, `reach`, `release`",
        ]
    );
    assert_eq!(
        told("schema = 2\nfamily = 'Sand Erling'\n"),
        [
            "w:1: `schema` is 2, newer than the 1 this version reads; use a newer version of the program, or write the file for schema 1"
        ]
    );
    let text = added("[[release]]\nversion = '5.5'\nside = 'transmitter'\nroutes = ['bench lead']\n");
    assert_eq!(
        told(&text),
        [
            "w:4: `release[1].version` is 5.5, in no group of [version]; add it to the `spans` of one",
            "w:6: `release[1].routes[1]` is \"bench lead\", and no [[flash]] of a transmitter is called that; write \"card\"",
        ]
    );
    // Without the family nobody can tell.
    assert_eq!(read_releases("w", &text).unwrap().releases.len(), 1);
    assert!(told("not toml")[0].starts_with("w:1: the file can't be read from here"));
}

#[test]
fn the_documented_text_of_releases_fits_the_documented_family() {
    let docs = include_str!("../../../docs/families.md");
    let mut examples = docs.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next());
    let family = read("docs", examples.next().unwrap()).unwrap();
    let more = read_releases_for("docs", examples.next().unwrap(), &family).unwrap();
    let merged = family.with_releases(&more);
    assert_eq!(merged.releases.len(), family.releases.len() + 1);
    assert_eq!(merged.reaches.len(), family.reaches.len());
    assert!(docs.contains("settings set releases.Sanderling"));
}

#[test]
fn the_setting_goes_by_the_squeezed_name() {
    assert_eq!(setting_of("Sand Erling"), "releases.sanderling");
    assert_eq!(family_of_setting("releases.Sand Erling").as_deref(), Some("sanderling"));
    assert_eq!(family_of_setting("minutes.refit.bench"), None);
}

/// A family is read anew after its setting of releases was set or cleared, and only then.
#[test]
fn the_register_asks_for_the_family_again() {
    let family = std::sync::Arc::new(read("f.toml", FAMILY).unwrap());
    let file = Digest([7; 32]);
    let mut register = Register::begin([]);
    let mut clock = 0;
    let mut say = |register: &mut Register, body| {
        clock += 1;
        let moment = Moment(i64::try_from(clock).unwrap() * 1000);
        let stamp = Stamp {
            id: EntryId(u128::from(clock)),
            replica: ReplicaId(1),
            clock: Clock(clock),
            seen: moment,
            recorded: moment,
            subject: DeviceId::WORKSHOP,
        };
        assert_eq!(register.fold(&stamp, body), Folded::In);
    };
    say(&mut register, Body::Family { name: "Sand Erling".to_owned(), file });
    register.give_family(file, &family);
    let setting = |key: &str, value: Option<&str>| Body::Setting {
        key: key.to_owned(),
        value: value.map(str::to_owned),
    };
    for (key, value, unread) in [
        ("releases.plover", Some("x"), 0),
        ("releases", Some("x"), 0),
        ("name", Some("releases.sanderling"), 0),
        ("releases.sanderling", Some("x"), 1),
        ("releases.sanderling", None, 1),
        ("releases.Sand Erling", Some("y"), 1),
    ] {
        say(&mut register, setting(key, value));
        assert_eq!(register.setting(key), value);
        assert_eq!(register.unread_families().len(), unread, "{key} {value:?}");
        assert_eq!(register.family("Sand Erling").is_some(), unread == 0, "{key} {value:?}");
        register.give_family(file, &family);
    }
}

/// Each invented family shows what a refit has to deal with.
#[test]
fn the_invented_families_have_releases() {
    for (file, text) in register::family::shipped::demo_families() {
        let family = read(file, text).unwrap();
        assert!(family.releases.len() >= 6, "{file}");
        assert!(family.releases.iter().any(|release| !release.no_way_back.is_empty()), "{file}");
        assert!(family.releases.iter().any(|release| !release.hardware.is_empty()), "{file}");
        assert!(family.flash.iter().all(|route| {
            route.fails_one_in.is_some() && route.recovery_minutes.is_some() && !route.recovery.is_empty()
        }));
        assert!(family.pairing.needs.iter().all(|need| family.reach(need).is_some()), "{file}");
        // The transmitters of the demo have no type.
        assert!(
            family
                .releases
                .iter()
                .all(|release| release.side == Some(Side::Receiver) || release.hardware.is_empty()),
            "{file}"
        );
    }
}

proptest! {
    /// A family's own releases, added to it, change nothing but their order; written as a text,
    /// they read back the same.
    #[test]
    fn what_a_family_has_already_changes_nothing(family in arbitrary::family()) {
        let more = Releases {
            family: family.name.clone(),
            releases: family.releases.clone(),
            reaches: family.reaches.clone(),
        };
        let text = write_releases(&more);
        let back = read_releases_for("w", &text, &family);
        prop_assert_eq!(back.as_ref(), Ok(&more), "{}", text);
        prop_assert_eq!(family.with_releases(&more), family);
    }

    /// Whatever is added, the family is one that the reader takes, and each release that was
    /// added is what is found for its side.
    #[test]
    fn a_family_with_added_releases_is_a_family(family in arbitrary::family(), other in arbitrary::family()) {
        let releases: Vec<Release> = other
            .releases
            .iter()
            .filter(|one| match &family.versions {
                VersionRule::Groups(groups) => {
                    let number = Version::parse(&one.version).unwrap();
                    groups.iter().flat_map(|group| &group.spans).any(|span| span.holds(&number) == Some(true))
                }
                _ => true,
            })
            .map(|one| Release { routes: Vec::new(), ..one.clone() })
            .collect();
        let more = Releases { family: family.name.clone(), releases, reaches: other.reaches.clone() };
        let merged = family.with_releases(&more);
        let back = read("f.toml", &write(&merged));
        prop_assert_eq!(back.as_ref(), Ok(&merged));
        for release in &more.releases {
            for side in [Side::Receiver, Side::Transmitter] {
                if release.side.is_none_or(|have| have == side) {
                    prop_assert_eq!(merged.release(side, &release.version), Some(release));
                }
            }
        }
        for release in &family.releases {
            for side in [Side::Receiver, Side::Transmitter] {
                if release.side.is_none_or(|have| have == side) {
                    prop_assert!(merged.release(side, &release.version).is_some());
                }
            }
        }
    }

    #[test]
    fn any_text_of_releases_is_read_or_told(text in any::<String>(), cut in any::<prop::sample::Index>()) {
        let family = read("f.toml", FAMILY).unwrap();
        let good = added(MORE);
        let at = (0..=cut.index(good.len())).rev().find(|at| good.is_char_boundary(*at)).unwrap_or(0);
        for text in [text, good[..at].to_owned()] {
            for problem in read_releases_for("w", &text, &family).err().unwrap_or_default() {
                prop_assert!(problem.line >= 1 && problem.line <= text.matches('\n').count() + 1);
            }
        }
    }
}
