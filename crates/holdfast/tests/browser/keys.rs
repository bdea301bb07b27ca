//! Somebody who has only the keys: Tab, the space bar, Enter, the arrows.

use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;

use fantoccini::Locator;
use fantoccini::actions::{InputSource as _, KeyAction, KeyActions};
use fantoccini::key::Key;
use serde_json::Value;

use crate::house::Visitor;

/// Longer than any page has places for the focus.
const MOST_TABS: usize = 250;

/// What the focus is on, and what is wrong with how it shows. Asks only; moves nothing.
///
/// `order` says whether it comes after the place before it in the page.
const FOCUS: &str = "
    const on = document.activeElement, wanted = arguments[0], words = arguments[1];
    if (!on || on === document.body) window.lastPlace = null;
    if (!on || on === document.body) return { place: '', hit: false, wrong: '' };
    const box = on.getBoundingClientRect(), style = getComputedStyle(on);
    const place = on.tagName + ' ' + (on.innerText || on.value || on.name || '').slice(0, 60);
    const wrong = [];
    if (!on.matches(':focus-visible')) wrong.push('no visible focus');
    if (style.outlineStyle === 'none' || parseFloat(style.outlineWidth) < 2) wrong.push('no outline');
    if (box.width < 1 || box.height < 1) wrong.push('no size');
    if (box.left < -1 || box.right > document.documentElement.clientWidth + 1) wrong.push('beside the screen');
    // At least a part of it can be seen: nothing lies over all of it.
    const seen = [[.5, .5], [.5, .1], [.5, .9], [.05, .5], [.95, .5]].some(([x, y]) => {
        const at = document.elementFromPoint(box.left + box.width * x, box.top + box.height * y);
        return at && (on.contains(at) || at.contains(on) && at.matches('li, label, p, form, a, summary'));
    });
    if (!seen) wrong.push('not to be seen at ' + Math.round(box.top));
    const before = window.lastPlace;
    if (before && before.isConnected && before !== on
        && !(before.compareDocumentPosition(on) & Node.DOCUMENT_POSITION_FOLLOWING)) wrong.push('out of order');
    if (on.tabIndex > 0) wrong.push('an order of its own');
    const hit = on.matches(wanted) && (on.innerText || on.value || '').includes(words);
    if (!wrong.length) window.lastPlace = on;
    return { place, hit, wrong: wrong.join(', ') };";

/// A person at the keys; nothing else is touched.
pub struct Keys<'a> {
    pub v: &'a Visitor,
    /// How often Enter was pressed.
    pub entered: AtomicU32,
}

impl<'a> Keys<'a> {
    pub fn of(v: &'a Visitor) -> Keys<'a> {
        Keys { v, entered: AtomicU32::new(0) }
    }

    pub async fn key(&self, value: char) {
        let press =
            KeyActions::new("keys".to_owned()).then(KeyAction::Down { value }).then(KeyAction::Up { value });
        self.v.client.perform_actions(press).await.unwrap();
    }

    pub async fn ask(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.v.client.execute(script, arguments).await.unwrap()
    }

    /// Where the focus is. What scrolls into view is given a moment to arrive.
    async fn focus(&self, css: &str, says: &str) -> (String, bool) {
        let mut last = Value::Null;
        for _ in 0..40 {
            last = self.ask(FOCUS, vec![css.into(), says.into()]).await;
            if last["wrong"] == "" {
                return (last["place"].as_str().unwrap().to_owned(), last["hit"].as_bool().unwrap());
            }
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
        panic!("{}: {}", last["place"], last["wrong"]);
    }

    /// Tab, until the focus is on what `css` matches and `says` is in; gives the places on the
    /// way. Each of them has to be visible, and after the one before it.
    pub async fn tab_to(&self, css: &str, says: &str) -> Vec<String> {
        let mut way = Vec::new();
        for _ in 0..MOST_TABS {
            self.key(char::from(Key::Tab)).await;
            let (place, hit) = self.focus(css, says).await;
            way.push(place);
            if hit {
                return way;
            }
        }
        panic!("Tab never reaches {css} {says:?}: {way:?}");
    }

    /// Enter on a link or a button, and the page that it leads to.
    pub async fn enter(&self) {
        let old = self.v.client.find(Locator::Css("html")).await.unwrap();
        self.entered.fetch_add(1, Ordering::Relaxed);
        self.key(char::from(Key::Enter)).await;
        for _ in 0..500 {
            if old.tag_name().await.is_err() {
                self.v.client.wait().for_element(Locator::Css("footer")).await.unwrap();
                return;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        panic!("Enter leads nowhere");
    }

    pub async fn follow(&self, css: &str, says: &str) {
        self.tab_to(css, says).await;
        self.enter().await;
    }

    pub async fn text(&self, css: &str) -> String {
        let ask = "const found = document.querySelector(arguments[0]); return found ? found.innerText : ''";
        self.ask(ask, vec![css.into()]).await.as_str().unwrap_or_default().to_owned()
    }

    pub async fn count(&self, css: &str) -> u64 {
        let ask = "return document.querySelectorAll(arguments[0]).length";
        self.ask(ask, vec![css.into()]).await.as_u64().unwrap()
    }
}
