//! Lists, proofs and signatures as text.

use std::io;

use fitting::commission::About;
use register::fit::Proof;
use wire::answers::commission::{Brief, Item, List, Noted, Rule, Signed, Steps, proof_labels};

use crate::cli::fit::say::{findings, under};
use crate::cli::link::minutes;
use crate::cli::out::Out;
use crate::cli::table::Table;

/// The day of a moment.
fn date(moment: Option<&str>) -> &str {
    moment.and_then(|text| text.get(..10)).unwrap_or("-")
}

/// The words for an item's key.
fn label(key: &str) -> String {
    About::from_key(key).map_or_else(|| key.to_owned(), |about| about.label().to_owned())
}

/// A whole list.
pub fn list(out: &mut Out, list: &List) -> io::Result<()> {
    out.line(&list.sentence)?;
    out.gap()?;
    let mut table = Table::new(&["item", "stands", "seen", "how it is known"]).first_whole();
    for item in &list.items {
        let note = if item.note.is_empty() { String::new() } else { format!(" {}", item.note) };
        table.row(&[item.label, item.stands, date(item.seen.as_deref()), &format!("{}{note}", item.text)]);
    }
    table.write(out)?;
    next(out, list)?;
    lapses(out, &list.items)?;
    if let Some(signature) = &list.signature {
        out.gap()?;
        let seen = date(signature.seen.as_deref());
        let state = if signature.stands {
            "all was checked then, and still is".to_owned()
        } else if signature.since.is_empty() {
            "not all was checked then".to_owned()
        } else {
            let gone: Vec<String> = signature.since.iter().map(|key| label(key)).collect();
            format!("no longer so since then: {}", gone.join(", "))
        };
        out.line(&format!("Last signed {seen}; {state}."))?;
    }
    let others: Vec<&str> = list
        .transmitters
        .iter()
        .filter(|one| list.transmitter.as_ref().is_none_or(|chosen| chosen.id != one.id))
        .map(|one| one.label.as_str())
        .collect();
    if !others.is_empty() {
        out.gap()?;
        out.line(&format!("It has a list of its own with {} (--transmitter).", others.join(", ")))?;
    }
    Ok(())
}

/// What to do, in the order of the list.
fn next(out: &mut Out, list: &List) -> io::Result<()> {
    let todo: Vec<&Item> = list.items.iter().filter(|item| !item.next.is_empty()).collect();
    if todo.is_empty() {
        return Ok(());
    }
    out.gap()?;
    out.line("To do, in this order:")?;
    for (at, item) in todo.iter().enumerate() {
        let minutes = item.minutes.map(|one| format!(" ({})", minutes(one))).unwrap_or_default();
        out.hanging(2, &format!("{}.", at + 1), &format!("{}{minutes}: {}", item.label, item.next))?;
    }
    Ok(())
}

fn lapses(out: &mut Out, items: &[Item]) -> io::Result<()> {
    let lapsed: Vec<String> = items
        .iter()
        .flat_map(|item| item.lapses.iter().map(move |lapse| (item, lapse)))
        .map(|(item, lapse)| {
            let note = if lapse.note.is_empty() { String::new() } else { format!(" ({})", lapse.note) };
            format!("{}: {}{note}, {}; {}.", item.label, lapse.text, date(lapse.seen.as_deref()), lapse.why)
        })
        .collect();
    under(out, "What lapsed, and by what:", &lapsed)
}

/// What comes alive and what to mind, at each step.
pub fn steps(out: &mut Out, steps: &Steps) -> io::Result<()> {
    out.line(&format!("The steps of the {} on {}:", steps.label, steps.aircraft.label))?;
    for (at, step) in steps.steps.iter().enumerate() {
        out.gap()?;
        let lead = format!("{}.", at + 1);
        out.hanging(2, &lead, &step.text)?;
        let by = 5;
        for caution in &step.cautions {
            out.hanging(by, "Caution:", caution)?;
        }
        if !step.energises.is_empty() {
            out.hanging(by, "Comes alive:", &format!("{}.", step.energises.join(", ")))?;
        }
        out.hanging(by, "Key:", step.key)?;
    }
    if !steps.measures.is_empty() {
        out.gap()?;
        out.line("What can be written down with it:")?;
        let mut table = Table::new(&["key", "from", "to", "unit", "what it is"]).first_whole();
        for one in &steps.measures {
            table.row(&[one.key, &one.low.to_string(), &one.high.to_string(), one.unit, one.label]);
        }
        table.write(out)?;
    }
    out.gap()?;
    let figures: Vec<String> = steps.measures.iter().map(|one| format!(" {}=…", one.key)).collect();
    out.line(&format!(
        "`commission prove {} {} held{}` writes down how it went; `failed` in place of `held` where something did \
         not hold.",
        steps.aircraft.label,
        steps.proof,
        figures.concat()
    ))
}

/// How a proof stands after it was written down.
pub fn after(out: &mut Out, list: &List, key: &str) -> io::Result<()> {
    let Some(item) = list.items.iter().find(|item| item.key == key) else { return Ok(()) };
    out.line(&format!("Written down. {}: {}.", upper(item.label), item.stands))?;
    out.line(&item.text)?;
    findings(out, &item.findings)?;
    out.gap()?;
    out.line(&list.sentence)?;
    if let Some(item) = list.items.iter().find(|item| list.next.as_ref() == Some(&item.key)) {
        out.hanging(0, "Next:", &item.next)?;
    }
    Ok(())
}

fn upper(words: &str) -> String {
    let mut words = words.to_owned();
    if let Some(first) = words.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    words
}

/// Work that was noted.
pub fn noted(out: &mut Out, noted: &Noted) -> io::Result<()> {
    match &noted.device {
        Some(device) => out.line(&format!("Noted on {device}: {}.", noted.label))?,
        None => out.line(&format!("Noted: {}.", noted.label))?,
    }
    let Some(rule) = noted.rule.as_ref().filter(|rule| !rule.lapses.is_empty()) else {
        return out.line("By the table it lapses nothing.");
    };
    out.line(&format!("By the table it lapses: {} ({}).", proof_labels(&rule.lapses).join(", "), rule.why))?;
    match noted.aircraft.as_slice() {
        [] => out.line("No aircraft is known that it is about."),
        [one] => out.line(&format!("That is about {one}; `commission show {one}` says what stands.")),
        many => out.line(&format!("That is about {}; `commission fleet` says what stands.", many.join(", "))),
    }
}

/// What was signed.
pub fn signed(out: &mut Out, list: &List, signed: &Signed) -> io::Result<()> {
    let with = list.transmitter.as_ref().map(|one| format!(" with {}", one.label)).unwrap_or_default();
    out.line(&format!("Signed for {}{with}.", list.aircraft.label))?;
    let labels = |keys: &[String]| keys.iter().map(|key| label(key)).collect::<Vec<_>>();
    under(out, "What was checked:", &labels(&signed.checked))?;
    under(out, "What was not:", &labels(&signed.not_checked))?;
    out.gap()?;
    out.line("It says what was checked and what was not; local rules and the makers' manuals prevail.")
}

/// Which happening lapses which proofs.
pub fn table(out: &mut Out, rules: &[Rule]) -> io::Result<()> {
    let columns = [Proof::Directions, Proof::Failsafe, Proof::Range, Proof::Supply];
    let heads: Vec<&str> =
        ["what happens"].into_iter().chain(columns.iter().map(|proof| proof.word())).chain(["why"]).collect();
    out.line("What makes a proof lapse:")?;
    let mut table = Table::new(&heads).first_whole();
    for rule in rules {
        let mut cells = vec![rule.what.as_str()];
        cells.extend(columns.map(|proof| if rule.lapses.contains(&proof.word()) { "lapses" } else { "-" }));
        cells.push(&rule.why);
        table.row(&cells);
    }
    table.write(out)?;
    out.gap()?;
    out.line("Where that comes from:")?;
    let mut sources: Vec<&str> = Vec::new();
    for rule in rules {
        if !sources.contains(&rule.source.as_str()) {
            sources.push(&rule.source);
        }
    }
    for source in sources {
        let of: Vec<&str> =
            rules.iter().filter(|rule| rule.source == source).map(|rule| rule.what.as_str()).collect();
        out.hanging(2, "-", &format!("{}: {source}.", of.join(", ")))?;
    }
    Ok(())
}

/// Every aircraft with the first thing to do.
pub fn fleet(out: &mut Out, all: &[Brief]) -> io::Result<()> {
    if all.is_empty() {
        return out.line("The workshop has no aircraft; `add aircraft CODE` adds one.");
    }
    let mut table =
        Table::new(&["aircraft", "with", "checked", "lapsed", "did not hold", "first thing to do"])
            .first_whole();
    for one in all {
        let name = match (&one.aircraft.code, &one.aircraft.name) {
            (Some(code), Some(name)) => format!("{code} {name}"),
            _ => one.aircraft.label.clone(),
        };
        let first = if one.next.is_empty() { "-".to_owned() } else { one.next.clone() };
        table.row(&[
            name.as_str(),
            one.transmitter.as_deref().unwrap_or("-"),
            &format!("{} of {}", one.checked, one.items),
            &one.lapsed.to_string(),
            &one.failed.to_string(),
            &first,
        ]);
    }
    table.write(out)
}
