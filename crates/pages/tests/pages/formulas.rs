//! The pages of the formulas, and the page for what is missing.

use link::calc::{self, Given};
use pages::form::Typed;
use pages::formulas::{FORM, answer, list, page, wrong};
use pages::sheet::WayOn;

use crate::check::{blocks_in_paragraphs, wrong as wrong_with};
use crate::site;

fn owned(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
    pairs.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect()
}

/// A formula's page for what was typed; nothing for its example.
fn shown(name: &str, typed: Option<&[(&str, &str)]>) -> String {
    let formula = calc::find(name).unwrap();
    let values = owned(typed.unwrap_or(formula.example));
    let computed = Given::read_all(formula.name, formula.inputs, &values)
        .and_then(|_| formula.answer(&values).map_err(|why| vec![why]));
    let errors = computed.as_ref().err().into_iter().flatten();
    let errors = errors.map(|error| (error.key().unwrap_or_default().to_owned(), wrong(error))).collect();
    let form = if typed.is_some() { FORM.to_owned() } else { String::new() };
    let typed = Typed { form, values: if typed.is_some() { values } else { Vec::new() }, errors };
    page(&site("/formula"), formula, &typed, computed.as_ref().ok()).into_string()
}

#[test]
fn every_formula_has_a_whole_page() {
    let mut bad = Vec::new();
    let mut pages = vec![("the list".to_owned(), list(&site("/formulas")).into_string())];
    for formula in calc::list() {
        pages.push((formula.name.to_owned(), shown(formula.name, None)));
        pages.push((format!("{} with nothing", formula.name), shown(formula.name, Some(&[("x<b>", "<i>")]))));
    }
    assert!(pages.len() > 1);
    for (name, page) in pages {
        bad.extend(wrong_with(&page).into_iter().map(|says| format!("{name}: {says}")));
        bad.extend(blocks_in_paragraphs(&page).into_iter().map(|says| format!("{name}: {says}")));
        if page.contains("<b>") || page.contains("<i>") {
            bad.push(format!("{name}: markup that was typed"));
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

#[test]
fn a_formula_names_source_range_and_place_of_validity() {
    insta::assert_snapshot!("formula", shown("free-space-loss", None).replace("><", ">\n<"));
    let formula = calc::find("free-space-loss").unwrap();
    let page = shown("free-space-loss", None);
    for words in [formula.formula, formula.source, "25 to 6000 MHz", "0.1 to 1000000 m"] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn what_is_wrong_leads_to_its_field() {
    let page = shown("free-space-loss", Some(&[("frequency_mhz", "2400"), ("distance_m", "-5")]));
    assert!(page.contains("href=\"#f-formula-distance-m\"") && page.contains("id=\"f-formula-distance-m\""));
    assert!(page.contains("value=\"2400\"") && page.contains("value=\"-5\""), "{page}");
    assert_eq!(page.matches("aria-invalid").count(), 1);
}

#[test]
fn the_part_for_the_script_is_the_part_of_the_page() {
    let formula = calc::find("free-space-loss").unwrap();
    let computed = formula.answer(&owned(formula.example)).unwrap();
    let part = answer(formula, &Typed::none(), Some(&computed)).into_string();
    assert!(part.starts_with("<div id=\"sheet-answer\">"), "{part}");
    assert!(shown("free-space-loss", None).contains(&part));
}

#[test]
fn what_is_missing_has_ways_on() {
    let way = |href: &str, label: &str| WayOn { href: href.to_owned(), label: label.to_owned() };
    let ways = [way("/device/x", "Write it down"), way("/families", "Link families")];
    let page = pages::gap::page(&site("/sheet"), "Link sheet", "The band isn't known.", &ways).into_string();
    assert_eq!(wrong_with(&page), Vec::<String>::new());
    assert!(page.contains("class=\"main\" href=\"/device/x\"") && page.contains("href=\"/families\""));
}
