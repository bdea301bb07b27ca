//! What a page is to somebody who hears it or hits it with a thumb.

use serde_json::{Value, json};

use crate::house::Visitor;

/// What a page is to somebody who hears it: roles, names and descriptions as the browser hands
/// them to a screen reader (Accessible Name and Description Computation 1.2).
pub async fn heard(v: &Visitor) -> Vec<(String, String)> {
    v.browser("Accessibility.enable", json!({})).await;
    let tree = v.browser("Accessibility.getFullAXTree", json!({})).await;
    let nodes = tree["nodes"].as_array().unwrap();
    let seen = nodes.iter().filter(|node| node["ignored"] != json!(true));
    let text = |value: &Value| value["value"].as_str().unwrap_or_default().to_owned();
    seen.map(|node| (text(&node["role"]), text(&node["name"]))).collect()
}

/// What can be worked and has no name, or the name of another that does another thing; headings
/// that jump.
pub async fn unheard(v: &Visitor) -> Vec<String> {
    const WORKED: [&str; 9] = [
        "button",
        "checkbox",
        "combobox",
        "DisclosureTriangle",
        "link",
        "progressbar",
        "spinbutton",
        "textbox",
        "region",
    ];
    let mut wrong = Vec::new();
    let heard = heard(v).await;
    let nameless: Vec<&String> = heard
        .iter()
        .filter(|(role, name)| WORKED.contains(&role.as_str()) && name.trim().is_empty())
        .map(|(role, _)| role)
        .collect();
    wrong.extend(nameless.into_iter().map(|role| format!("nameless: {role}")));
    let mut own: Vec<&(String, String)> = heard
        .iter()
        .filter(|(role, _)| ["button", "checkbox", "DisclosureTriangle"].contains(&role.as_str()))
        .collect();
    own.sort();
    let twice: Vec<_> = own
        .windows(2)
        .filter(|pair| pair[0] == pair[1] && pair[0].0 != "DisclosureTriangle")
        .map(|pair| pair[0])
        .collect();
    wrong.extend(twice.into_iter().map(|one| format!("the same name for different things: {one:?}")));
    // WCAG 2.2, 2.4.4: where a link leads is told by its words.
    let links = "
        const to = {};
        for (const one of document.querySelectorAll('main a')) {
            if (!one.checkVisibility()) continue;
            (to[one.textContent.trim()] ||= new Set()).add(one.href);
        }
        return Object.entries(to).filter(([_, all]) => all.size > 1).map(([words]) => words);";
    let links = v.ask(links, vec![]).await;
    if links != json!([]) {
        wrong.push(format!("the same words lead to different places: {links}"));
    }
    // Headings go down by one.
    let jumps = "
        const levels = [...document.querySelectorAll('main :is(h1, h2, h3, h4)')].filter((one) => one.checkVisibility()).map((one) => Number(one.tagName[1]));
        return levels.filter((level, at) => at > 0 && level > levels[at - 1] + 1);";
    let jumps = v.ask(jumps, vec![]).await;
    if jumps != json!([]) {
        wrong.push(format!("a heading's level is left out: {jumps}"));
    }
    wrong
}

/// Everything that can be worked has a name, and no two that do different things share one.
pub async fn can_be_heard(v: &Visitor, path: &str) {
    assert_eq!(unheard(v).await, [""; 0], "{path}");
}

/// What a thumb has to hit is 24 px at least: WCAG 2.2, 2.5.8, target size (minimum).
pub const SMALL: &str = "
    return [...document.querySelectorAll('main :is(button, select, summary, .edit, input:not([type=hidden]))')].filter((one) => {
        const box = one.getBoundingClientRect();
        return one.checkVisibility() && (box.width < 24 || box.height < 24);
    }).map((one) => one.outerHTML.slice(0, 90) + ' ' + one.getBoundingClientRect().height);";
