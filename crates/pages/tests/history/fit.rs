//! Entries of commissioning.

use register::entry::Body;
use register::field::Sort;
use register::fit::{Fitted, Part, Proof, Proved, Signed, Work, Worked};
use register::id::DeviceId;
use std::collections::BTreeMap;

use crate::{page, text_of, workshop};

const HANDSET: DeviceId = DeviceId(3);

#[test]
fn a_fit_is_told_from_its_parts_to_the_signature() {
    let fitted = |part, text: &str| Body::Fitted(Fitted { part, text: text.into(), replaces: vec![] });
    let failsafe = Proved {
        proof: Proof::Failsafe,
        transmitter: Some(HANDSET),
        held: true,
        steps: vec![],
        measured: BTreeMap::from([("distance_m".into(), 45.0), ("<b>_v".into(), 4.85)]),
        note: "grass <i>wet</i>".into(),
    };
    let range = Proved { proof: Proof::Range, held: false, note: String::new(), ..failsafe.clone() };
    let range = Proved { transmitter: None, measured: BTreeMap::new(), ..range };
    let item = |many: usize| vec!["item".to_owned(); many];
    let signed =
        Signed { transmitter: Some(HANDSET), checked: item(9), unchecked: item(2), note: String::new() };
    let page = page(
        &workshop(HANDSET, Sort::Transmitter, "T1"),
        &[
            fitted(Part::Outputs, "name = \"canary-7731\""),
            fitted(Part::Supply, ""),
            Body::Proved(failsafe),
            Body::Proved(range),
            Body::Worked(Worked { what: Work::Motor, note: "new <u>bell</u>".into() }),
            Body::Worked(Worked { what: Work::FlyingDay, note: String::new() }),
            Body::Signed(Signed { note: "maiden".into(), ..signed }),
        ],
    );
    let text = text_of(&page);
    let sentences = [
        "outputs written down",
        "supply taken away",
        "failsafe proof with T1: held; &lt;b&gt; 4.85 V, distance 45 m; grass &lt;i&gt;wet&lt;/i&gt;",
        "range check: did not hold",
        "motor or speed controller changed: new &lt;u&gt;bell&lt;/u&gt;",
        "flying day began",
        "signed off with T1: 9 checked, 2 not; maiden",
    ];
    for sentence in sentences {
        assert!(text.contains(sentence), "{sentence} is not in {text}");
    }
    assert!(!page.contains("7731"), "the text of a part stands in the list: it is a whole file");
}
