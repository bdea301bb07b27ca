//! Merging is set union: order, grouping and repetition make no difference.

use proptest::collection::vec;
use proptest::prelude::*;
use store::Store;

use crate::workshop::{Workshop, export, note, problems, write};

/// What happens in one of three workshops.
#[derive(Clone, Debug)]
enum Event {
    Write { who: usize, count: usize },
    Merge { who: usize, from: usize },
    Erase { who: usize, entry: usize },
}

fn event() -> impl Strategy<Value = Event> {
    prop_oneof![
        3 => (0..3usize, 1..4usize).prop_map(|(who, count)| Event::Write { who, count }),
        1 => (0..3usize, 0..3usize).prop_map(|(who, from)| Event::Merge { who, from }),
        1 => (0..3usize, 0..20usize).prop_map(|(who, entry)| Event::Erase { who, entry }),
    ]
}

/// Three workshops after these events.
fn live(events: &[Event]) -> [Store; 3] {
    let mut stores = [0; 3].map(|_| Store::in_memory().unwrap());
    for event in events {
        match *event {
            Event::Write { who, count } => {
                let drafts: Vec<_> = (0..count).map(|i| note(&format!("{who} {i}"))).collect();
                write(&mut stores[who], &drafts);
            }
            Event::Merge { who, from } => {
                let other = export(&stores[from]);
                stores[who].import(other.as_bytes()).unwrap();
            }
            Event::Erase { who, entry } => {
                if let Some(record) = stores[who].recent(20).unwrap().get(entry) {
                    stores[who].erase(record.stamp.id).unwrap();
                }
            }
        }
    }
    stores
}

/// A fresh workshop that takes these over one after the other.
fn union(stores: &[&Store]) -> Store {
    let mut all = Store::in_memory().unwrap();
    for store in stores {
        all.merge_store(store).unwrap();
    }
    assert_eq!(problems(&all), [""; 0]);
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn merge_is_commutative_associative_and_idempotent(events in vec(event(), 1..25)) {
        let [a, b, c] = live(&events);
        let all = export(&union(&[&a, &b, &c]));
        for order in [[&a, &c, &b], [&b, &a, &c], [&b, &c, &a], [&c, &a, &b], [&c, &b, &a]] {
            prop_assert_eq!(&export(&union(&order)), &all);
        }
        let (left, right) = (union(&[&a, &b]), union(&[&b, &c]));
        prop_assert_eq!(&export(&union(&[&left, &c])), &all);
        prop_assert_eq!(&export(&union(&[&a, &right])), &all);
        prop_assert_eq!(export(&union(&[&a, &a])), export(&a));
    }
}

#[test]
fn a_workshop_merges_with_a_file_of_either_form() {
    let one = Workshop::with_entries(3);
    let two = Workshop::with_entries(2);
    let text = two.beside("two.jsonl");
    std::fs::write(&text, export(&two.open())).unwrap();
    let mut store = one.open();
    let outcome = store.merge(&two.path).unwrap();
    assert_eq!((outcome.added, outcome.known), (2, 0));
    let outcome = store.merge(&text).unwrap();
    assert_eq!((outcome.added, outcome.known), (0, 2));
    let found = store.verify().unwrap();
    assert_eq!((found.entries, found.replicas, found.problems), (5, 2, vec![]));
}

#[test]
fn an_altered_workshop_is_not_taken_over() {
    let harms = [
        ("UPDATE entries SET body = replace(body, 'note 1', 'note 7') WHERE row = 2", "its body was altered"),
        ("DELETE FROM entries WHERE row = 2", "number 2 is missing"),
        ("UPDATE entries SET head = replace(head, 'Ada', 'Eve') WHERE row = 2", "does not follow"),
    ];
    for (sql, expected) in harms {
        let bad = Workshop::with_entries(3);
        bad.raw().execute_batch(sql).unwrap();
        let mut store = Store::in_memory().unwrap();
        let error = store.merge(&bad.path).unwrap_err().to_string();
        assert!(error.starts_with("nothing was taken over: ") && error.contains(expected), "{error}");
        assert_eq!(store.extent().unwrap().last_row, 0);
    }
}
