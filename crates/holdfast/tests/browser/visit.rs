//! What somebody does on a page with lists, folded parts and forms.

use fantoccini::Locator;
use serde_json::Value;

use crate::house::Visitor;

impl Visitor {
    pub async fn ask(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.client.execute(script, arguments).await.unwrap()
    }

    /// The words of everything that `css` matches and that can be seen.
    pub async fn all(&self, css: &str) -> Vec<String> {
        let script = "return [...document.querySelectorAll(arguments[0])].filter((one) => one.checkVisibility()).map((one) => one.innerText)";
        serde_json::from_value(self.ask(script, vec![css.into()]).await).unwrap()
    }

    /// The values of everything that `css` matches.
    pub async fn values(&self, css: &str) -> Vec<String> {
        let script = "return [...document.querySelectorAll(arguments[0])].map((one) => one.value)";
        serde_json::from_value(self.ask(script, vec![css.into()]).await).unwrap()
    }

    /// Chooses what is worded so from a list.
    pub async fn choose_words(&self, css: &str, words: &str) {
        let script =
            "return [...document.querySelector(arguments[0]).options].map((one) => [one.value, one.text])";
        let options: Vec<(String, String)> =
            serde_json::from_value(self.ask(script, vec![css.into()]).await).unwrap();
        let found = options.iter().find(|(_, text)| text == words);
        let (value, _) = found.unwrap_or_else(|| panic!("{words} isn't offered: {options:?}"));
        self.choose(css, value).await;
    }

    /// Opens what is folded away under these words.
    pub async fn unfold(&self, says: &str) {
        for one in self.client.find_all(Locator::Css("main summary")).await.unwrap() {
            if one.text().await.unwrap() == says {
                let near = "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})";
                self.ask(near, vec![serde_json::to_value(&one).unwrap()]).await;
                return one.click().await.unwrap();
            }
        }
        panic!("nothing is folded away under {says}");
    }

    /// Presses what is worded so.
    pub async fn press_words(&self, css: &str, words: &str) {
        let mark = "
            const one = [...document.querySelectorAll(arguments[0])].find((one) => one.checkVisibility() && one.innerText.includes(arguments[1]));
            if (one) one.id ||= 'to-be-pressed';
            return one?.id";
        let id = self.ask(mark, vec![css.into(), words.into()]).await;
        let id = id.as_str().unwrap_or_else(|| panic!("there is no {css} {words}"));
        self.press(&format!("[id='{id}']")).await;
    }

    pub async fn address(&self) -> String {
        self.client.current_url().await.unwrap().path().to_owned()
    }
}
