//! Somebody who commissions an aircraft on its pages.

use std::collections::BTreeMap;

use fantoccini::Locator;
use serde_json::json;

use crate::house::Visitor;

/// Somebody at the bench, with the aircraft's pages.
pub struct Bench<'a> {
    pub v: &'a Visitor,
    /// `/device/…` of the aircraft.
    pub craft: String,
}

impl Bench<'_> {
    /// The page fits, and says nothing that it mustn't.
    pub async fn decent(&self, name: &str) {
        self.v.fits(name).await;
        decent(self.v, name).await;
        self.v.picture(&format!("70-{name}")).await;
    }

    /// Types into a cell of a part's form, or chooses in it; what it is folded away in is opened.
    pub async fn cell(&self, path: &str, text: &str) {
        let css = format!(".part-form [name='{path}']");
        let open = "
            const field = document.querySelector(arguments[0]);
            for (let one = field?.closest('details'); one; one = one.parentElement.closest('details')) one.open = true;
            return field?.tagName";
        match self.v.ask(open, vec![json!(css)]).await.as_str() {
            Some("SELECT") => self.v.choose(&css, text).await,
            Some(_) => self.v.fill(&css, text).await,
            None => panic!("no cell {path}"),
        }
    }

    /// What stands in the cells of a part's form, by their names; those that are empty are left out.
    pub async fn cells(&self) -> BTreeMap<String, String> {
        let ask = "
            const all = [...document.querySelectorAll('.part-form :is(input, select)')];
            return Object.fromEntries(all.filter((one) => one.name.includes('.') && one.value !== '').map((one) => [one.name, one.value]))";
        serde_json::from_value(self.v.ask(ask, vec![]).await).unwrap()
    }

    pub async fn add_row(&self, table: &str) {
        let before = self.cells().await;
        self.v.press(&format!("button[value='add.{table}']")).await;
        assert_eq!(self.cells().await, before, "a row more, and nothing else");
    }

    pub async fn write(&self) {
        self.v.press(".part-form button.main").await;
    }

    pub async fn written(&self, part: &str) {
        let says = self.v.text("[role=status]").await;
        let verb = if matches!(part, "supply" | "failsafe") { "is" } else { "are" };
        assert_eq!(says, format!("The {part} {verb} written down."), "{}", self.v.text("main").await);
    }

    /// Sends the form with a cell that can't be: the error stands at its field, that has the focus,
    /// and everything that was typed is still there.
    pub async fn wrong(&self, path: &str, text: &str) {
        self.cell(path, text).await;
        let before = self.cells().await;
        self.write().await;
        let ask = "
            const field = document.querySelector(arguments[0]);
            const notes = (field.getAttribute('aria-describedby') ?? '').split(' ').map((id) => document.getElementById(id));
            return [field.getAttribute('aria-invalid'), document.activeElement.name,
                notes.filter((one) => one?.matches('.error') && one.checkVisibility()).length,
                document.querySelectorAll('.part-form .error').length];";
        let css = format!(".part-form [name='{path}']");
        let seen = self.v.ask(ask, vec![json!(css)]).await;
        assert_eq!(seen, json!(["true", path, 1, 2]), "{}", self.v.text("main").await);
        assert_eq!(self.cells().await, before, "something that was typed is lost");
    }

    /// Writes a part down as one text.
    pub async fn as_text(&self, part: &str, text: &str) {
        self.v.go(&format!("{}/{part}", self.craft)).await;
        self.v.unfold("As one text").await;
        let paste = "document.querySelector('#as-text textarea').value = arguments[0]";
        self.v.ask(paste, vec![json!(text)]).await;
        self.v.press("#as-text button").await;
        self.written(part).await;
    }

    pub async fn list(&self) {
        self.v.go(&format!("{}/commission", self.craft)).await;
    }

    /// The items of the list: key and standing.
    pub async fn items(&self) -> Vec<(String, String)> {
        let ask = "return [...document.querySelectorAll('li.item')].map((one) =>
            [one.id.replace('item-', ''), one.querySelector('.how strong').innerText])";
        serde_json::from_value(self.v.ask(ask, vec![]).await).unwrap()
    }

    pub async fn standing(&self, item: &str) -> String {
        let items = self.items().await;
        items.iter().find(|(key, _)| key == item).unwrap_or_else(|| panic!("{item}: {items:?}")).1.clone()
    }

    pub async fn with_standing(&self, standing: &str) -> Vec<String> {
        self.items().await.into_iter().filter(|(_, have)| have == standing).map(|(key, _)| key).collect()
    }

    pub async fn tick(&self, css: &str) {
        let box_ =
            self.v.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"));
        let near = "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})";
        self.v.ask(near, vec![serde_json::to_value(&box_).unwrap()]).await;
        box_.click().await.unwrap();
    }
}

/// The page says nothing that it mustn't: no link secret that the demo's club typed, and no word of
/// an aircraft being safe.
pub async fn decent(v: &Visitor, name: &str) {
    let ask = "return document.documentElement.outerHTML + [...document.querySelectorAll('input, textarea')].map((one) => one.value).join(' ')";
    let all = v.ask(ask, vec![]).await.as_str().unwrap().to_lowercase();
    for never in holdfast::demo::SECRETS.into_iter().chain(["safe to fly", "ready to fly", "ok to fly"]) {
        assert!(!all.contains(never), "{name} says {never}");
    }
}
