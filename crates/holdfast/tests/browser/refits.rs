//! Refits in a browser: from a wish to done; wishes that clash and an idea that is followed;
//! ticking with the keyboard alone on a phone; how the pages look, what they are called to
//! somebody who hears them, and how they are printed.

use fantoccini::key::Key;
use serde_json::json;

use crate::heard::{SMALL, can_be_heard, heard};
use crate::house::{House, Visitor};
use crate::keys::Keys;

impl Visitor {
    /// Sends the wishes, and waits for the plan or for why there is none.
    async fn plan(&self) {
        self.press_words("button.main", "Plan it").await;
        self.until_gone("meta[http-equiv=refresh]").await;
    }
}

/// A major version further; in the demo other things must follow.
const WISH: &str = "T4: 4.2 to 5.1";
const BOXES: &str = "input[type=checkbox][name=step]";

/// Plans a refit of T4, in as many evenings of so many minutes.
async fn planned(v: &Visitor, evenings: &str, minutes: &str) {
    v.go("/refits/new").await;
    v.choose_words("select[name='to']", WISH).await;
    v.fill("input[name='count']", evenings).await;
    v.fill("input[name='minutes']", minutes).await;
    v.plan().await;
}

/// Begins the plan that is shown; gives the refit's address.
async fn begun(v: &Visitor, name: &str) -> String {
    v.fill("input[name='name']", name).await;
    v.press_words("button.main", "Begin this refit").await;
    assert!(v.text("[role=status]").await.contains("The refit has begun."));
    v.address().await
}

/// The steps of each evening that has some left: the evening's words and the steps' keys.
async fn evenings(v: &Visitor) -> Vec<(String, Vec<String>)> {
    let script = "return [...document.querySelectorAll('.evening')].map((one) =>
        [one.querySelector('summary').innerText, [...one.querySelectorAll('input[name=step]')].map((box) => box.value)])
        .filter(([_, steps]) => steps.length)";
    serde_json::from_value(v.ask(script, vec![]).await).unwrap()
}

/// A plan says what it forces, what to look at, and from where there is no way back, before
/// its first step.
async fn says_what_follows(v: &Visitor) {
    let main = v.text("main").await;
    assert!(main.contains("Proven: ") && main.contains("T4 holds 5.1"), "{main}");
    let order = "
        const first = document.querySelector('.evening .steps-list');
        return ['no-way-back', 'forced', 'looks'].map((id) => {
            const heading = document.getElementById(id), part = heading?.closest('section');
            return part && part.checkVisibility() && part.querySelectorAll('li').length > 0
                && !!(part.compareDocumentPosition(first) & Node.DOCUMENT_POSITION_FOLLOWING);
        });";
    assert_eq!(v.ask(order, vec![]).await, json!([true, true, true]), "{main}");
    // Each forced change names its device and why.
    for forced in v.all("section[aria-labelledby=forced] li").await {
        assert!(forced.contains(" goes to 5.1") && forced.contains("must go with"), "{forced}");
    }
    // Every device that a step can't bring back is named there.
    let one_way =
        "return [...document.querySelectorAll('.evening .steps-list > li')].map((one) => one.textContent)
        .filter((text) => text.includes('No way back:')).map((text) => text.match(/Flash (\\S+) from/)[1])";
    let one_way: Vec<String> = serde_json::from_value(v.ask(one_way, vec![]).await).unwrap();
    assert!(!one_way.is_empty(), "{main}");
    let named = v.text("section[aria-labelledby=no-way-back]").await;
    for device in &one_way {
        let word = |c: char| !c.is_alphanumeric();
        assert!(named.split(word).any(|name| name == device), "{device} isn't named: {named}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_refit_from_a_wish_to_done() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 1280, 900).await;
    let v = &visitor;
    // From the page of the transmitter; it is chosen already.
    v.go("/transmitters").await;
    v.press_words("main a[href^='/device/']", "T4").await;
    v.press("a[href^='/refits/new?t=']").await;
    let chosen =
        "const list = document.querySelector('select[name=to]'); return list.selectedOptions[0].text";
    assert!(v.ask(chosen, vec![]).await.as_str().unwrap().starts_with("T4: 4.2 to "));
    v.choose_words("select[name='to']", WISH).await;
    v.picture("50-wish").await;
    v.plan().await;
    v.picture("51-plan").await;
    v.fits("the plan").await;
    says_what_follows(v).await;
    let columns = v.all(".flights thead th").await;
    assert_eq!(v.all(".evening > summary").await.len(), columns.len() - 2, "{columns:?}");
    assert_eq!(v.ask(FURTHER, vec![]).await, json!([false, false]));
    let name = "The long way to five";
    let refit = begun(v, name).await;
    assert_eq!(v.text("h1").await, name);
    v.picture("52-begun").await;
    v.fits(&refit).await;

    // All of the first evening.
    let before = evenings(v).await;
    let (_, first) = &before[0];
    let second: Vec<&String> = before[1..].iter().flat_map(|(_, steps)| steps).collect();
    assert!(first.len() > 10 && !second.is_empty(), "{before:?}");
    v.press("button[name='all']").await;
    assert_eq!(v.text("[role=status]").await, format!("Ticked: {} steps.", first.len()));
    let done = v.values("button.take-back").await;
    assert_eq!(done.len(), first.len());
    assert!(first.iter().all(|step| done.contains(step)), "{done:?}");
    assert_eq!(v.values(BOXES).await.iter().collect::<Vec<_>>(), second);
    v.picture("53-first-evening").await;

    // One aircraft is put off, from the heading of its steps; the rest is planned anew.
    v.press_words(".visit a.edit", "A25").await;
    let chosen = "const form = document.querySelector('#put-off'); return [form.open, form.querySelector('select').selectedOptions[0].text]";
    let chosen = v.ask(chosen, vec![]).await;
    assert!(chosen[0] == json!(true) && chosen[1].as_str().unwrap().starts_with("A25"), "{chosen}");
    v.picture("54-put-off").await;
    v.press_words("#put-off button", "Put it off").await;
    assert!(v.text("section[aria-labelledby=anew]").await.contains("A25"), "{}", v.text("main").await);
    v.fits("a plan that doesn't fit any more").await;
    v.picture("55-stale").await;
    v.press_words("button.main", "Plan the rest anew").await;
    v.until_gone("meta[http-equiv=refresh]").await;
    v.picture("56-anew").await;
    v.press_words("button.main", "Take this plan").await;
    assert_eq!(v.address().await, refit);
    assert_eq!(v.all("section[aria-labelledby=anew]").await, [""; 0]);
    let after = evenings(v).await;
    assert!(!after.is_empty(), "{}", v.text("main").await);
    let again = after.iter().flat_map(|(_, steps)| steps).filter(|step| first.contains(step));
    assert_eq!(again.collect::<Vec<_>>(), [""; 0], "ticked steps come again");
    assert_eq!(v.values("button.take-back").await.len(), first.len(), "what is done stays done");
    // What was put off stands in a later evening than before.
    let r25 = "return [...document.querySelectorAll('.evening')].filter((one) =>
        [...one.querySelectorAll('.visit h3')].some((heading) => heading.innerText.includes('A25'))).map((one) => one.querySelector('h2').id)";
    let places: Vec<String> = serde_json::from_value(v.ask(r25, vec![]).await).unwrap();
    assert!(!places.is_empty() && !places.contains(&"evening-2".to_owned()), "{places:?}");
    v.picture("57-taken").await;

    // To the end.
    for _ in 0..after.len() {
        v.press("button[name='all']").await;
    }
    assert!(v.text("[role=status]").await.contains("That was the last: the refit is done."));
    // Nothing is left but to take the last back.
    assert_eq!(v.values(BOXES).await, [""; 0]);
    let left = v.all("main :is(button, select, textarea)").await;
    assert!(left.iter().all(|words| words.starts_with("take back")), "{left:?}");
    v.fits("the refit that is done").await;
    v.picture("58-done").await;
    v.go("/refits").await;
    assert!(v.text("section[aria-labelledby=ended]").await.contains(name));
    assert!(v.text("p.answer").await.contains("No refit is open."));
    v.fits("/refits").await;
    // What was flashed on the way is what the workshop holds now.
    v.go("/refits/new").await;
    let list: Vec<String> = serde_json::from_value(
        v.ask("return [...document.querySelector('select[name=to]').options].map((one) => one.text)", vec![])
            .await,
    )
    .unwrap();
    assert!(list.iter().any(|one| one.starts_with("T4: 5.1 to ")), "{list:?}");
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn wishes_that_clash_and_an_idea_that_is_followed() {
    let house = House::demo().await;
    for width in [1280, 360] {
        let visitor = Visitor::arrive(&house, width, 900).await;
        let v = &visitor;
        v.go("/refits/new").await;
        v.choose_words("select[name='to']", "T1 (module): 4.5 to 5.1").await;
        v.plan().await;
        v.fits("the clash").await;
        v.can_be_read("the clash").await;
        v.picture("60-clash").await;
        let main = v.text("main").await;
        assert_eq!(v.text("p.answer").await, "These wishes can't be met together.");
        let clash = v.text("section[aria-labelledby=clash]").await;
        for says in ["holds 5.1", "R5 must go with T1", "Without any one of them the others can be met."] {
            assert!(clash.contains(says), "{says}: {clash}");
        }
        let ideas = v.all("section[aria-labelledby=ideas] li").await;
        assert!(ideas.iter().any(|idea| idea.to_lowercase().contains("replacing r5 costs")), "{main}");
        can_be_heard(v, "the clash").await;
        assert_eq!(v.ask(SMALL, vec![]).await, json!([]), "the clash: small to hit");
        // One press, and it is planned with the idea.
        let address = v.address().await;
        v.press("section[aria-labelledby=ideas] button").await;
        v.until_gone("meta[http-equiv=refresh]").await;
        v.fits("the plan with an idea").await;
        assert!(v.text("main").await.contains("T1 (module) holds 5.1"), "{}", v.text("main").await);
        assert_eq!(v.all("button.main").await, ["Begin this refit"]);
        v.go(&address).await;
        // The form is there again with what was wished; the idea is one line more.
        let wished = "return document.querySelector('select[name=to]').selectedOptions[0].text";
        assert_eq!(v.ask(wished, vec![]).await, json!("T1 (module): 4.5 to 5.1"));
        v.unfold("More wishes").await;
        let legend = v.text("dl.legend").await;
        assert!(legend.contains("replace=") && legend.contains("at this cost"), "{legend}");
        v.fits("more wishes").await;
        v.fill("textarea[name='more']", "replace=R5:45").await;
        v.plan().await;
        v.picture("61-replaced").await;
        v.fits("the plan with a replaced receiver").await;
        let main = v.text("main").await;
        assert!(v.text("p.answer").await.contains("evening"), "{main}");
        assert!(main.contains("1 receiver is replaced: R5 by a new one. Cost: 45."), "{main}");
        // What is wished can be changed from there; it is as it was typed.
        v.press_words("ul.ways a", "Change what is wished").await;
        assert_eq!(v.values("textarea[name='more']").await, ["replace=R5:45"]);
        visitor.leave().await;
    }
}

/// Whether the table of flights is wider than its box, and whether that is said above it.
const FURTHER: &str = "
    const box = document.querySelector('.flying'), says = box.querySelector('.further span').getBoundingClientRect();
    return [box.scrollWidth > box.clientWidth + 1,
        box.querySelector('.further').getBoundingClientRect().height >= says.height];";

/// Heads of columns whose minutes stand in more than two lines, or that are cut off.
const BROKEN_HEADS: &str = "
    return [...document.querySelectorAll('.flights thead th:has(br)')].filter((one) => {
        const range = document.createRange();
        range.setStartAfter(one.querySelector('br'));
        range.setEndAfter(one.lastChild);
        const lines = new Set([...range.getClientRects()].map((rect) => Math.round(rect.bottom / 4)));
        return lines.size > 2 || one.scrollWidth > one.clientWidth + 1;
    }).map((one) => one.innerText);";

/// What a person with the keys sees: how many boxes are left and are ticked, how many are done.
const STANDING: &str = "
    return [document.querySelectorAll('input[name=step]').length,
        document.querySelectorAll('input[name=step]:checked').length,
        document.querySelectorAll('button.take-back').length];";

#[tokio::test(flavor = "multi_thread")]
async fn a_step_is_ticked_and_taken_back_with_the_keyboard_on_a_phone() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 360, 780).await;
    let v = &visitor;
    planned(v, "", "").await;
    says_what_follows(v).await;
    v.fits("the plan").await;
    v.picture("62-plan").await;
    let refit = begun(v, "With the keys").await;
    // From any page with the keys alone.
    let keys = &Keys::of(v);
    v.go("/").await;
    keys.follow("nav a", "Refits").await;
    keys.follow("main a[href^='/refit/']", "With the keys").await;
    assert_eq!(v.address().await, refit);
    v.fits(&refit).await;
    v.picture("63-refit").await;
    let all = keys.ask(STANDING, vec![]).await[0].as_u64().unwrap();
    assert_eq!(keys.ask(STANDING, vec![]).await, json!([all, 0, 0]));
    keys.tab_to("input[name=step]", "").await;
    let step = keys.ask("return document.activeElement.value", vec![]).await;
    keys.key(' ').await;
    assert_eq!(keys.ask(STANDING, vec![]).await, json!([all, 1, 0]));
    // The space bar takes back what it ticked, before anything is written.
    keys.key(' ').await;
    assert_eq!(keys.ask(STANDING, vec![]).await, json!([all, 0, 0]));
    keys.key(' ').await;
    keys.follow("button.main", "Tick these").await;
    assert_eq!(keys.ask(STANDING, vec![]).await, json!([all - 1, 0, 1]));
    assert!(keys.text("[role=status]").await.starts_with("Ticked: "));
    v.fits("one step is ticked").await;
    v.picture("64-ticked").await;
    assert!(!v.values(BOXES).await.contains(&step.as_str().unwrap().to_owned()));
    keys.follow("button.take-back", "take back").await;
    assert!(keys.text("[role=status]").await.starts_with("Taken back"));
    assert_eq!(keys.ask(STANDING, vec![]).await, json!([all, 0, 0]));
    assert_eq!(json!(v.values(BOXES).await[0]), step, "it stands where it stood");
    // The table of flights is wider than the phone, and says so; the evenings are near.
    assert_eq!(v.ask(FURTHER, vec![]).await, json!([true, true]));
    assert_eq!(v.ask(BROKEN_HEADS, vec![]).await, json!([]));
    v.go(&refit).await;
    keys.tab_to("nav.to-evenings a", "Evening 2").await;
    // Giving up is two moves; the first says what it would leave behind.
    keys.tab_to("summary", "Give this refit up").await;
    assert_eq!(v.text("#give-up").await, "Give this refit up");
    keys.key(char::from(Key::Enter)).await;
    assert!(v.text("#give-up").await.contains("If it stops here, it leaves nothing grounded"));
    v.fits("giving up").await;
    v.picture("64-give-up").await;
    keys.follow("#give-up button", "Give it up").await;
    assert!(keys.text("[role=status]").await.contains("The refit is given up"));
    visitor.leave().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_pages_of_a_refit_are_seen_heard_and_hit_on_a_phone_and_a_wide_screen() {
    for width in [1280, 360] {
        let house = House::demo().await;
        let visitor = Visitor::arrive(&house, width, 900).await;
        let v = &visitor;
        planned(v, "8", "45").await;
        let plan = v.address().await;
        can_be_heard(v, "the plan").await;
        v.fits("the plan").await;
        v.can_be_read("the plan").await;
        let refit = begun(v, "Seen and heard").await;
        // Some steps are done, something is put off.
        v.press(BOXES).await;
        v.press_words("button.main", "Tick these").await;
        v.go(&format!("{refit}?put-off=A25")).await;
        v.press_words("#put-off button", "Put it off").await;
        let pages = [
            refit.clone(),
            format!("{refit}?put-off=T4"),
            format!("{refit}/paper"),
            format!("{refit}/paper?evening=1"),
            plan,
            "/refits".to_owned(),
            "/refits/new".to_owned(),
            "/refits/new?t=T1".to_owned(),
        ];
        for path in &pages {
            v.go(path).await;
            v.fits(path).await;
            v.can_be_read(path).await;
            can_be_heard(v, path).await;
            assert_eq!(v.ask(SMALL, vec![]).await, json!([]), "{path}: small to hit");
            // With all that is folded away.
            v.ask("document.querySelectorAll('main details').forEach((one) => one.open = true)", vec![])
                .await;
            v.fits(path).await;
            v.can_be_read(path).await;
            can_be_heard(v, path).await;
            assert_eq!(v.ask(SMALL, vec![]).await, json!([]), "{path}: small to hit");
        }
        // The table of flights: headers for its columns and lines, words in its cells.
        v.go(&refit).await;
        let further = v.ask(FURTHER, vec![]).await;
        assert_eq!(further[0], further[1], "a table that goes on to the right says so, and no other");
        assert_eq!(v.ask(BROKEN_HEADS, vec![]).await, json!([]));
        v.picture("66-flights").await;
        let heard = heard(v).await;
        let named = |role: &str| {
            heard.iter().filter(|(have, _)| have == role).map(|(_, name)| name.as_str()).collect::<Vec<_>>()
        };
        assert!(named("table").contains(&"When each aircraft can fly"), "{:?}", named("table"));
        let (columns, lines) = (named("columnheader"), named("rowheader"));
        assert!(columns.len() > 4 && columns[..2] == ["Aircraft", "Now"], "{columns:?}");
        assert!(columns[2..].iter().all(|name| name.starts_with("After evening ")), "{columns:?}");
        assert!(lines.iter().any(|name| name.starts_with("A25")), "{lines:?}");
        let cells: Vec<String> = v.all(".flights td").await;
        assert_eq!(cells.len(), lines.len() * (columns.len() - 1));
        assert!(
            cells.iter().all(|cell| ["can fly", "grounded", "can't fly"].contains(&cell.trim())),
            "{cells:?}"
        );
        assert!(cells.iter().any(|cell| cell.trim() == "grounded"), "{cells:?}");
        // Each box says what is to be done, how long it takes, and its code.
        for name in named("checkbox").iter().filter(|name| !name.contains("holds 5.1")) {
            assert!(name.contains(" min"), "{name}");
        }
        visitor.leave().await;
    }
}

/// In print all steps of a page are there, those of evenings that are folded away, too.
async fn prints_all_steps(v: &Visitor, all: usize) {
    v.ask("document.querySelectorAll('.evening').forEach((one) => one.open = false)", vec![]).await;
    v.media("print", "light").await;
    let there = "return [...document.querySelectorAll('.steps-list > li')].filter((one) => one.getBoundingClientRect().height > 5).length";
    assert_eq!(v.ask(there, vec![]).await, json!(all), "steps aren't printed");
    assert_eq!(v.all("main :is(button, select, .edit)").await, [""; 0]);
    v.media("", "light").await;
    v.ask("document.querySelectorAll('.evening').forEach((one) => one.open = true)", vec![]).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_bench_paper_has_boxes_cautions_and_codes_and_an_evening_a_sheet() {
    let house = House::demo().await;
    let visitor = Visitor::arrive(&house, 1280, 900).await;
    let v = &visitor;
    planned(v, "", "").await;
    let all = v.all(".steps-list > li").await.len();
    prints_all_steps(v, all).await;
    let refit = begun(v, "On paper").await;
    let steps = evenings(v).await;
    let count = |css: &'static str| async move { v.all(css).await.len() };
    let cautions = count(".steps-list .caution").await;
    let ways = "return [...document.querySelectorAll('.steps-list strong')].filter((one) => /^(No way|Way) back:/.test(one.textContent)).length";
    let ways = v.ask(ways, vec![]).await.as_u64().unwrap();
    let mut sheets = Vec::new();
    for (at, (words, keys)) in steps.iter().enumerate() {
        let path = format!("{refit}/paper?evening={}", at + 1);
        v.go(&path).await;
        v.media("print", "light").await;
        assert!(words.starts_with(&format!("Evening {}", at + 1)), "{words}");
        assert_eq!(count(".sheet-of-paper .box").await, keys.len(), "{path}");
        assert_eq!(count(".sheet-of-paper .step-code").await, keys.len(), "{path}");
        v.media("", "light").await;
        sheets.push(v.sheets(&format!("paper-{}", at + 1)).await);
    }
    let path = format!("{refit}/paper");
    v.go(&path).await;
    v.picture("65-paper").await;
    v.media("print", "light").await;
    assert_eq!(all, steps.iter().map(|(_, keys)| keys.len()).sum::<usize>());
    assert_eq!(count(".sheet-of-paper").await, steps.len());
    assert_eq!(count(".sheet-of-paper .box").await, all);
    assert_eq!(count(".sheet-of-paper .caution").await, cautions);
    // A box is drawn, big enough for a pencil, and empty.
    let drawn = "return [...document.querySelectorAll('.box')].filter((one) => {
        const css = getComputedStyle(one), box = one.getBoundingClientRect();
        return box.width < 10 || box.height < 10 || parseFloat(css.borderTopWidth) < 1 || css.borderTopStyle !== 'solid' || one.matches('.ticked');
    }).length";
    assert_eq!(v.ask(drawn, vec![]).await, json!(0));
    // The way back isn't folded away, and nothing is there that only works on a screen.
    let back = v.all(".sheet-of-paper strong").await;
    let back = back.iter().filter(|says| says.starts_with("Way back:") || says.starts_with("No way back:"));
    assert_eq!(back.count() as u64, ways);
    assert!(count("section[aria-labelledby^=no-way-back] li").await > 0);
    assert_eq!(v.all("form, nav, button, input, .no-print").await, [""; 0]);
    v.media("", "light").await;
    // Each evening begins on a sheet of its own.
    assert_eq!(v.sheets("paper").await, sheets.iter().sum::<usize>(), "{sheets:?}");
    // The page of the refit itself is printed with its steps, those that are folded away, too.
    v.go(&refit).await;
    prints_all_steps(v, all).await;
    visitor.leave().await;
}
