//! Fault trails in a browser: from the symptom to closed on a phone, with the keyboard alone;
//! and the papers on a wide screen, in the dark, and as they are printed.

use std::sync::atomic::Ordering;

use fantoccini::key::Key;
use serde_json::json;

use crate::house::{House, Visitor};
use crate::keys::Keys;

/// What is wrong with the big answers of a page, and with how it fits a phone.
const ANSWERS: &str = "
    const wrong = [], most = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > most) wrong.push('scrolls sideways to ' + document.documentElement.scrollWidth);
    const big = [...document.querySelectorAll('.next button.answer-button, .main-action .main, .go-back button, a.big')]
        .filter((one) => one.checkVisibility());
    for (const one of big) {
        const box = one.getBoundingClientRect();
        if (box.height < 44) wrong.push(box.height + ' px high: ' + one.innerText);
        if (box.left < 0 || box.right > most) wrong.push(box.left + ' to ' + box.right + ': ' + one.innerText);
    }
    return [big.length, wrong];";

/// What a step of a trail has to show: its answers, minutes, weights; cautions before the
/// answers where it energises. Gives the step's key, and whether cautions stand there.
async fn step(keys: &Keys<'_>) -> (String, bool) {
    keys.v.fits("the step").await;
    let found = keys.ask(ANSWERS, vec![]).await;
    assert!(found[0].as_u64().unwrap() >= 2, "{}", keys.text("main").await);
    assert_eq!(found[1], json!([]), "{}", keys.text("h1").await);
    let main = keys.text("main").await;
    assert!(main.contains("more to a proven link") && main.contains("min"), "no minutes left: {main}");
    assert!(keys.text("p.answer").await.contains("min"), "a step has its minutes");
    // The weights: each a bar with its figure.
    let bars = keys.count("ol.weights > li").await;
    assert!(bars >= 3 && keys.count("ol.weights > li svg.weigh rect.now").await == bars, "{main}");
    assert!(keys.text("ol.weights").await.contains('%'));
    let energises = "
        const next = document.querySelector('.next'), first = next.querySelector('button');
        const caution = [...next.querySelectorAll('.caution')].find((one) =>
            one.compareDocumentPosition(first) & Node.DOCUMENT_POSITION_FOLLOWING);
        return [next.innerText.includes('Energises:'), !!caution && caution.checkVisibility()];";
    let seen = keys.ask(energises, vec![]).await;
    assert!(seen[0] == json!(false) || seen[1] == json!(true), "energises without a caution: {main}");
    let key = "return document.querySelector('.next input[name=step]').value";
    (keys.ask(key, vec![]).await.as_str().unwrap().to_owned(), seen[0] == json!(true))
}

/// Whether the next answers of a page are those of a step.
async fn is_step(keys: &Keys<'_>) -> bool {
    keys.count(".next input[name='step']").await > 0
}

/// The truth of this evening: the receiver refuses this memory's model ID. What it holds can't
/// be read, for its settings page doesn't open.
fn truth(step: &str) -> &'static str {
    match step {
        "set_model_id" => "helped",
        "lamp" => "refused",
        "see_module" => "shown",
        "see_model_ids" => "cant-tell",
        "model_id_off" | "good_receiver" => "yes",
        "others_near" | "good_transmitter" => "no",
        check if check.starts_with("see_") || check.starts_with("measure_") => "good",
        _ => "no-help",
    }
}

const STEP: &str = "model_id_off";

/// Does the step that switches the model-ID check off, by `Another step first`, where it is
/// offered there.
async fn switched_off(keys: &Keys<'_>) -> bool {
    let there = "
        const input = [...document.querySelectorAll('details input[name=step]')].find((one) => one.value === arguments[0]);
        return input ? input.closest('details').querySelector('summary').innerText : ''";
    let label = keys.ask(there, vec![STEP.into()]).await;
    let label = label.as_str().unwrap();
    if label.is_empty() {
        return false;
    }
    keys.tab_to("summary", "Another step first").await;
    keys.key(' ').await;
    keys.tab_to("summary", label).await;
    keys.key(' ').await;
    let open = "
        const input = [...document.querySelectorAll('details input[name=step]')].find((one) => one.value === arguments[0]);
        const details = input.closest('details'), caution = details.querySelector('.caution');
        return details.open && !!caution && caution.checkVisibility() && details.innerText.includes('to be put back at the end')";
    assert_eq!(keys.ask(open, vec![STEP.into()]).await, json!(true), "{}", keys.text("main").await);
    keys.v.fits("another step").await;
    keys.v.picture("31-another-step").await;
    keys.follow("details details button.answer-button[value='yes']", "").await;
    true
}

/// The trail from its first step until something helped; says whether the model-ID check was
/// switched off on the way, and how many steps energised something.
async fn search(keys: &Keys<'_>) -> (bool, u32) {
    let (mut off, mut energised) = (false, 0);
    for _ in 0..40 {
        if !is_step(keys).await {
            return (off, energised);
        }
        let (key, energises) = step(keys).await;
        energised += u32::from(energises);
        if !off && key != STEP && switched_off(keys).await {
            off = true;
            continue;
        }
        off |= key == STEP;
        let answer = truth(&key);
        keys.follow(&format!(".next button.answer-button[value='{answer}']"), "").await;
    }
    panic!("nothing helps: {}", keys.text("main").await);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_guests_trail_from_symptom_to_closed_with_the_keyboard_on_a_phone() {
    let house = House::open().await;
    let visitor = Visitor::arrive(&house, 360, 780).await;
    let v = &visitor;
    let keys = &Keys::of(v);
    v.go("/").await;
    // Three keys from anywhere to the first step: the page, the symptom, begin.
    keys.follow("nav a", "Faults").await;
    v.fits("/faults").await;
    v.picture("30-faults").await;
    assert_eq!(keys.ask(ANSWERS, vec![]).await[1], json!([]));
    let symptoms = keys.count("a.big").await;
    assert!(symptoms >= 7, "{symptoms} symptoms");
    // The symptoms come first in the page, in the order in which they are seen.
    let way = keys.tab_to("a.big", "").await;
    assert!(way.len() < 20, "{way:?}");
    if !way.last().unwrap().contains("Won't pair") {
        keys.tab_to("a.big", "Won't pair").await;
    }
    keys.enter().await;
    v.fits("/faults/new").await;
    assert_eq!(keys.ask(ANSWERS, vec![]).await[1], json!([]));
    keys.follow("button.main", "Begin with a guest").await;
    assert_eq!(keys.entered.load(Ordering::Relaxed), 3, "keys to the first step");
    assert!(keys.text("h1").await.contains("Won't pair or link"), "{}", keys.text("main").await);
    v.picture("32-first-step").await;

    // Can't tell is an answer; going back takes it back, and the same step comes again.
    let (first, _) = step(keys).await;
    let way = keys.tab_to(".next button.answer-button[value='cant-tell']", "").await;
    assert!(way.iter().any(|place| place.contains("% likely")), "the answers come first: {way:?}");
    keys.enter().await;
    let (second, _) = step(keys).await;
    assert_ne!(first, second, "what can't be told is asked again");
    assert!(keys.text("ol.log.done").await.to_lowercase().contains("can't tell"));
    let before = keys.text("ol.weights").await;
    keys.follow(".go-back button", "Go back").await;
    assert_eq!(step(keys).await.0, first);
    assert_eq!(keys.count("ol.log.done").await, 0, "{}", keys.text("main").await);
    keys.follow(".next button.answer-button[value='cant-tell']", "").await;
    assert_eq!(step(keys).await.0, second, "the same answers, the same step");
    assert_eq!(keys.text("ol.weights").await, before);

    let (off, energised) = search(keys).await;
    assert!(off, "the model-ID check was never offered: {}", keys.text("main").await);
    assert!(energised > 0, "no step energised anything");
    // It seems to work: put back first, then prove, then name it.
    let mut proofs = 0;
    let mut put_back = 0;
    for _ in 0..20 {
        v.fits("putting back and proving").await;
        assert_eq!(keys.ask(ANSWERS, vec![]).await[1], json!([]));
        let answer = keys.text("p.answer").await;
        if keys.count(".next input[name='proof']").await > 0 {
            assert!(answer.contains("Prove it"), "{answer}");
            assert!(keys.count(".next .caution").await > 0, "{}", keys.text("main").await);
            proofs += 1;
            keys.follow(".next button.answer-button[value='yes']", "It held").await;
        } else if keys.count(".next button[name='change']").await > 0 {
            assert!(answer.contains("Put back"), "{answer}");
            assert_eq!(proofs, 0, "proven before everything was put back");
            put_back += 1;
            v.picture("33-put-back").await;
            keys.follow(".next button[name='change']", "It is put back").await;
        } else {
            break;
        }
    }
    assert!(put_back >= 1 && proofs >= 3, "{put_back} {proofs}");
    v.picture("34-close").await;
    // What it was: the likeliest that the mend cures is chosen; the arrows would change it.
    keys.tab_to("input[name='cause']", "").await;
    let chosen = "return document.querySelector('input[name=cause]:checked')?.value";
    for _ in 0..20 {
        if keys.ask(chosen, vec![]).await == json!("model_id") {
            break;
        }
        keys.key(char::from(Key::Down)).await;
    }
    assert_eq!(keys.ask(chosen, vec![]).await, json!("model_id"), "{}", keys.text("main").await);
    keys.follow("button.main", "Close the trail").await;
    let answer = keys.text("p.answer").await;
    assert!(answer.contains("The link is proven. It was:") && answer.contains("model ID"), "{answer}");
    v.fits("the closed trail").await;
    // The report.
    keys.follow("a.main", "Read the closing report").await;
    v.fits("the report").await;
    v.picture("35-report").await;
    let report = keys.text("main").await;
    for says in [
        "It works again, and that was proven.",
        "model ID",
        "Seen to hold:",
        "put back",
        "Won't pair or link",
    ] {
        assert!(report.contains(says), "{says}: {report}");
    }
    assert!(!report.contains("Not tried:") && !report.contains("still to be put back"), "{report}");
    // The closed case teaches: the weights are there on a phone, too.
    v.go("/faults/weights?symptom=wont_pair").await;
    v.fits("the weights").await;
    assert!(keys.text("main").await.contains("1 closed trail has taught these weights."));
    let table = "return document.querySelector('table').checkVisibility()";
    assert_eq!(keys.ask(table, vec![]).await, json!(true), "the weights are hidden on a phone");
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_failed_rule_of_own_gear_is_named_at_once_with_the_keyboard_on_a_phone() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 360, 780).await;
    let v = &visitor;
    let keys = &Keys::of(v);
    v.go("/links?verdict=blocked&rule=version&wanted=1").await;
    keys.follow("main a[href^='/link/']", "").await;
    keys.follow("main a[href^='/faults/new?']", "").await;
    keys.follow("a.big", "Won't pair").await;
    v.fits("the beginning").await;
    // Both ends are chosen already.
    let ends = "return ['transmitter', 'receiver'].map((name) => document.querySelector(`select[name=${name}]`).value)";
    let ends = keys.ask(ends, vec![]).await;
    assert!(ends.as_array().unwrap().iter().all(|end| end.as_str().unwrap().contains('/')), "{ends}");
    keys.follow("button.main", "Begin the trail").await;
    v.fits("the failed rule").await;
    v.picture("36-certain").await;
    let answer = keys.text("p.answer").await;
    assert!(
        answer.starts_with("Certain: ") && answer.contains("don't link") && answer.contains("min"),
        "{answer}"
    );
    assert_eq!(keys.ask(ANSWERS, vec![]).await[1], json!([]));
    let main = keys.text("main").await;
    // The mend, its cautions before its answers, the minutes that are left.
    assert!(keys.text(".next h2").await.contains("min"), "{main}");
    let caution = "
        const next = document.querySelector('.next'), caution = next.querySelector('.caution');
        return !!caution && !!(caution.compareDocumentPosition(next.querySelector('button')) & Node.DOCUMENT_POSITION_FOLLOWING)";
    assert_eq!(keys.ask(caution, vec![]).await, json!(true), "{main}");
    assert!(main.contains("to mend what fails for certain"), "{main}");
    keys.follow(".next button.answer-button[value='helped']", "It works now").await;
    let answer = keys.text("p.answer").await;
    assert!(answer.contains("Prove it") || answer.contains("Put back"), "{answer}");
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answers_stand_on_the_first_screen_of_a_small_phone() {
    const HEIGHT: u32 = 740;
    let house = House::open().await;
    let visitor = Visitor::arrive(&house, 360, HEIGHT).await;
    let v = &visitor;
    let keys = &Keys::of(v);
    let first = "
        const next = document.querySelector('.next'), button = next.querySelector('button.answer-button');
        return [button.getBoundingClientRect().bottom + scrollY, next.querySelectorAll('.caution p').length,
            document.querySelector('p.answer').innerText];";
    let (mut low, mut seen) = (Vec::new(), 0);
    for model in trails::library::symptoms() {
        v.go(&format!("/faults/new?symptom={}", model.key)).await;
        keys.follow("button.main", "Begin with a guest").await;
        for _ in 0..5 {
            if !is_step(keys).await {
                break;
            }
            let found = keys.ask(first, vec![]).await;
            let cautions = found[1].as_u64().unwrap();
            v.picture(&format!("38-answers-{}-{cautions}", model.key)).await;
            if std::env::var_os("HOLDFAST_SCREENS").is_some() {
                eprintln!("{}: {found}", model.key);
            }
            if cautions <= 2 {
                seen += 1;
                if found[0].as_f64().unwrap() > f64::from(HEIGHT) {
                    low.push(format!("{}: {found}", model.key));
                }
            }
            keys.follow(".next button.answer-button[value='cant-tell']", "").await;
        }
    }
    assert!(seen > 10, "{seen} steps");
    assert!(low.is_empty(), "{}", low.join("\n"));
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_papers_of_a_trail_on_a_wide_screen_in_the_dark_and_in_print() {
    let house = House::demo().await;
    for width in [1280, 360] {
        let visitor = Visitor::arrive(&house, width, 900).await;
        let v = &visitor;
        let keys = &Keys::of(v);
        // A trail of this workshop, begun with the keyboard; its papers.
        v.go("/faults/new?symptom=short_range").await;
        keys.follow("button.main", "Begin with a guest").await;
        let trail = v.client.current_url().await.unwrap().path().to_owned();
        // Another depth, with the arrows of the list.
        v.go(&format!("{trail}/card")).await;
        keys.tab_to("select[name='depth']", "").await;
        let depth = "return Number(document.querySelector('select[name=depth]').value)";
        let before = keys.ask(depth, vec![]).await.as_u64().unwrap();
        keys.key(char::from(Key::Down)).await;
        keys.follow("button", "Reckon the card").await;
        let address = v.client.current_url().await.unwrap();
        assert!(
            address.query().is_some_and(|query| query.contains(&format!("depth={}", before + 1))),
            "{address}"
        );
        assert_eq!(keys.ask(depth, vec![]).await.as_u64(), Some(before + 1), "{address}");
        let papers = [
            trail.clone(),
            format!("{trail}/card"),
            format!("{trail}/card?depth=1"),
            format!("{trail}/report"),
            "/faults/card?symptom=wont_pair&depth=5".to_owned(),
            "/faults/weights".to_owned(),
            "/faults/weights?symptom=drops_out".to_owned(),
            "/faults".to_owned(),
        ];
        for path in &papers {
            v.go(path).await;
            v.fits(path).await;
            v.can_be_read(path).await;
        }
        // In print there are no forms and no ways on, but all of the answer.
        for path in &papers[1..7] {
            v.go(path).await;
            v.media("print", "light").await;
            let shown = "return [...document.querySelectorAll('form, nav, button')].filter((one) => one.checkVisibility()).map((one) => one.outerHTML.slice(0, 90))";
            assert_eq!(keys.ask(shown, vec![]).await, json!([]), "{path} in print");
            let there = "return ['h1', 'p.answer', 'footer p'].concat(document.querySelector('ol.card') ? ['ol.card > li'] : [])
                .filter((css) => !document.querySelector(css)?.checkVisibility())";
            assert_eq!(keys.ask(there, vec![]).await, json!([]), "{path} in print");
            v.media("", "light").await;
        }
        visitor.leave().await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_trail_card_of_the_usual_depth_is_one_sheet_of_paper() {
    let house = House::open().await;
    let visitor = Visitor::arrive(&house, 1280, 900).await;
    let mut more = Vec::new();
    for model in trails::library::symptoms() {
        visitor.go(&format!("/faults/card?symptom={}", model.key)).await;
        let sheets = visitor.sheets(&model.key).await;
        assert!(sheets > 0, "nothing was printed");
        if sheets > 1 {
            more.push(format!("{}: {sheets}", model.key));
        }
    }
    assert!(more.is_empty(), "{more:?}");
    visitor.leave().await;
}
