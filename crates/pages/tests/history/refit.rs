//! Entries of refits.

use register::entry::Body;
use register::field::Sort;
use register::id::{DeviceId, EntryId};
use register::refit::{Begun, Ending, Event, Placed, Reach, Wish};
use register::value::SecretMark;

use crate::{page, text_of, workshop};

const PLANE: DeviceId = DeviceId(3);

#[test]
fn a_refit_is_told_from_its_beginning_to_its_end() {
    let secret = || Wish::Secret {
        on: Reach::Family("starter".into()),
        mark: SecretMark::Print { key: 0x7731, print: 0x7731_7731 },
    };
    let placed = |what, evening| Placed { what: DeviceId(what), evening, ends: vec![], replaced: vec![] };
    let begun = Begun {
        name: "New & <b>major</b>".into(),
        wishes: vec![secret(), Wish::AllPair, Wish::Grounded { most: 1 }],
        links: vec![],
        placed: vec![placed(1, 1), placed(2, 1), placed(3, 2), placed(4, 2), placed(5, 2)],
    };
    let single = Begun { wishes: vec![secret()], placed: vec![placed(3, 4)], ..begun.clone() };
    let idle = Begun { placed: vec![], ..single.clone() };
    let event = |event| Body::RefitEvent { refit: EntryId(1), event };
    let page = page(
        &workshop(PLANE, Sort::Aircraft, "A3"),
        &[
            Body::RefitBegun(begun),
            Body::RefitBegun(single),
            Body::RefitBegun(idle),
            event(Event::Ticked { step: "flash:a3".into(), text: "Flash <i>A3</i>".into(), evening: 1 }),
            event(Event::Deferred { what: PLANE, until: 3 }),
            event(Event::Planned { wishes: vec![secret()], placed: vec![] }),
            event(Event::Ended { how: Ending::Done }),
            event(Event::Ended { how: Ending::Abandoned }),
        ],
    );
    let text = text_of(&page);
    let name = "New &amp; &lt;b&gt;major&lt;/b&gt;";
    let sentences = [
        format!("a refit began: {name}, 3 wishes, 5 devices in 2 evenings"),
        format!("a refit began: {name}, 1 wish, 1 device in 1 evening"),
        format!("a refit began: {name}, 1 wish, nothing planned"),
        "refit: done: Flash &lt;i&gt;A3&lt;/i&gt;".to_owned(),
        "refit: A3 put off to evening 3".to_owned(),
        "refit planned anew".to_owned(),
        "refit ended: all done".to_owned(),
        "refit ended: abandoned".to_owned(),
    ];
    for sentence in sentences {
        assert!(text.contains(&sentence), "{sentence} is not in {text}");
    }
    assert!(!page.contains("7731"), "a secret's mark shows");
}

/// Releases that are added to a family are a whole file: how many is enough.
#[test]
fn a_text_of_releases_is_counted() {
    let text = "schema = 1\nfamily = \"Plover\"\n\n[[release]]\nversion = \"3.6\"\n\n[[release]]\nversion = \"3.7\"\n\n\
                [[reach]]\nname = \"the hatch\"\nsort = \"cover\"\n";
    let set = |value: &str| Body::Setting { key: "releases.plover".into(), value: Some(value.into()) };
    let page = text_of(&page(&workshop(PLANE, Sort::Aircraft, "A3"), &[set(text), set("nonsense")]));
    assert!(page.contains("setting releases.plover holds 2 releases, 1 thing to reach"), "{page}");
    assert!(page.contains("setting releases.plover holds a text that can't be read"), "{page}");
    assert!(!page.contains("3.6"), "{page}");
}
