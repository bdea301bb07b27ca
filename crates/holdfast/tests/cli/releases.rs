//! Releases that a workshop adds to a link family.

use holdfast::workshop::{Places, Workshop};
use register::family::{Family, Side};

use super::bench::Bench;

/// Adds a release, and describes one of the family's own otherwise for receivers.
const MORE: &str = "schema = 1\nfamily = \"Plover\"\n\n[[release]]\nversion = \"3.6\"\nfrom = \"3.1\"\n\n\
                    [[release]]\nversion = \"2.9\"\nside = \"receiver\"\nwipes = [\"model_id\"]\n\n\
                    [[reach]]\nname = \"the receiver's last output\"\nsort = \"cover\"\nminutes = 17\n";

fn open(bench: &Bench) -> Workshop {
    let places = Places { workshop: bench.path("workshop.holdfast"), keys: bench.path("keys") };
    Workshop::open_existing(&places, "tester").unwrap()
}

fn plover(workshop: &Workshop) -> Family {
    workshop.register().family("plover").unwrap().as_ref().clone()
}

fn versions(family: &Family) -> Vec<&str> {
    family.releases.iter().map(|release| release.version.as_str()).collect()
}

#[test]
fn added_releases_are_put_into_the_family_and_taken_out_again() {
    let bench = Bench::new();
    bench.families();
    let own = plover(&open(&bench));
    assert!(own.release(Side::Receiver, "3.6").is_none());
    let told = bench.ok(&["settings", "set", "releases.Plover", MORE]);
    assert!(told.contains("releases.plover holds 2 releases, 1 thing to reach now"), "{told}");
    let merged = plover(&open(&bench));
    assert_eq!(versions(&merged).len(), own.releases.len() + 2, "{:?}", versions(&merged));
    assert!(merged.release(Side::Transmitter, "3.6").is_some());
    assert!(merged.release(Side::Transmitter, "2.9").unwrap().wipes.is_empty());
    assert_eq!(merged.release(Side::Receiver, "2.9").unwrap().wipes.len(), 1);
    assert!(merged.reach("the receiver's last output").unwrap().minutes.is_some_and(|it| it.0 > 16.0));
    assert_eq!((merged.name.as_str(), &merged.flash), (own.name.as_str(), &own.flash));
    let listed = bench.ok(&["settings"]);
    assert!(listed.contains("2 releases, 1 thing to reach"), "{listed}");
    assert!(!listed.contains("[[release]]"), "{listed}");
    // The file that is taken along is the file.
    let file = bench.ok(&["families", "export", "Plover"]);
    assert!(!file.contains("3.6"), "{file}");
    bench.ok(&["settings", "clear", "releases.PLOVER"]);
    assert_eq!(plover(&open(&bench)), own);
    let error = bench.fails(&["settings", "clear", "releases.plover"]);
    assert!(error.contains("no releases are added"), "{error}");
}

/// A workshop that is open takes in what was set, cleared and set again, and what another
/// program set meanwhile.
#[test]
fn an_open_workshop_follows() {
    let bench = Bench::new();
    bench.families();
    let mut workshop = open(&bench);
    let own = plover(&workshop);
    workshop.set("releases.plover", Some(MORE)).unwrap();
    let merged = plover(&workshop);
    assert!(versions(&merged).contains(&"3.6"));
    // Another family is left alone, and so is this one by another setting.
    workshop.set("name", Some("releases.plover")).unwrap();
    assert_eq!(plover(&workshop), merged);
    workshop.set("releases.plover", None).unwrap();
    assert_eq!(plover(&workshop), own);
    bench.ok(&["settings", "set", "releases.plover", MORE]);
    workshop.refresh().unwrap();
    assert_eq!(plover(&workshop), merged);
    // The family's file, given once more.
    let text = holdfast::workshop::shipped_family("plover.toml").unwrap();
    workshop.add_family(&own, text).unwrap();
    assert_eq!(plover(&workshop), merged);
    assert_eq!(plover(&open(&bench)), merged);
    assert!(workshop.family_problems().is_empty());
}

/// What can't be read leaves the family as it is, and is told for as long as it stands.
#[test]
fn a_text_that_does_not_fit_is_told_and_left_out() {
    let bench = Bench::new();
    bench.families();
    let mut workshop = open(&bench);
    let own = plover(&workshop);
    let told = |workshop: &Workshop| -> Vec<String> {
        let problems = workshop.family_problems().iter();
        problems
            .flat_map(|(name, problems)| problems.iter().map(move |one| format!("{name} {one}")))
            .collect()
    };
    // The doors refuse it; another program, or an older one, may have written it.
    let wrong = MORE.replace("2.9", "9.9");
    workshop.set("releases.plover", Some(&wrong)).unwrap();
    let want = [
        "plover releases of Plover:9: `release[2].version` is 9.9, in no group of [version]; add it to the `spans` of one",
    ];
    assert_eq!(told(&workshop), want);
    assert_eq!(plover(&workshop), own);
    workshop.set("name", Some("Other")).unwrap();
    assert_eq!(told(&workshop), want);
    assert_eq!(told(&open(&bench)), want);
    let overview = bench.ok(&["show"]);
    assert!(overview.contains("The releases added to plover don't fit it (1 problems)"), "{overview}");
    assert!(bench.ok(&["families"]).contains("releases of Plover:9:"));
    workshop.set("releases.plover", Some(MORE)).unwrap();
    assert_eq!(told(&workshop), Vec::<String>::new());
    assert!(versions(&plover(&workshop)).contains(&"3.6"));
    // A setting for a family that isn't there does nothing.
    workshop.set("releases.plover", None).unwrap();
    workshop.set("releases.nobody", Some(MORE)).unwrap();
    assert_eq!(told(&workshop), Vec::<String>::new());
    assert_eq!(plover(&workshop), own);
}

#[test]
fn nonsense_is_refused() {
    let bench = Bench::new();
    bench.families();
    let rows = [
        ("releases.plover", "much", "releases of Plover:1: the file can't be read from here"),
        ("releases.plover", "", "releases of Plover:1: `family` is missing"),
        ("releases.whimbrel", MORE, "`family` is \"Plover\"; these are releases of \"Whimbrel\""),
        ("releases.nobody", MORE, "no link family of that name"),
        ("releases.", MORE, "no link family of that name"),
        ("releases", MORE, "there is no setting of that name"),
    ];
    for (key, text, want) in rows {
        let error = bench.fails(&["settings", "set", key, text]);
        assert!(error.contains(want), "{key} {text}: {error}");
    }
    let unfit = MORE.replace("from = \"3.1\"", "from = \"3.7\"");
    let error = bench.fails(&["settings", "set", "releases.plover", &unfit]);
    assert!(error.contains("releases of Plover:6: `release[1].from` is 3.7, above"), "{error}");
    let many = format!("{MORE}{}", "[[release]]\nversion = \"8\"\n".repeat(50));
    let error = bench.fails(&["settings", "set", "releases.plover", &many]);
    assert!(error.contains("more; mend these first"), "{error}");
    let huge = format!("{MORE}{}", "# x\n".repeat(40_000));
    bench.ok(&["settings", "set", "releases.plover", &huge[..100_000]]);
    bench.ok(&["settings", "clear", "releases.plover"]);
    assert_eq!(bench.json(&["settings"]).as_object().unwrap().len(), 0);
}
