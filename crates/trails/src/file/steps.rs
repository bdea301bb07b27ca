//! Checks and mends.

use std::collections::BTreeSet;

use register::desk::telling::shown;
use register::desk::{Desk, Section, Slot};
use register::field::Field;

use super::{ANSWER, CANT_TELL, CHECK, LEAVES, MEND, MOST_ANSWERS, MOST_FIGURES, figures, parts};
use crate::model::{Answer, Cause, Check, Cover, CoverAt, Kind, Leaves, Mend, Step};

/// What a section is.
#[derive(Clone, Copy)]
enum Sort {
    Check,
    Mend,
}

/// The steps in the order of the file, and the line of each; none when they come to more
/// figures than a model may have.
pub(super) fn steps(
    desk: &mut Desk<'_>,
    top: &Section<'_>,
    causes: &[Cause],
    covers: &[Cover],
) -> Option<(Vec<Step>, Vec<usize>)> {
    let mut sections: Vec<(Sort, Section<'_>)> =
        top.sections(desk, "check", CHECK).into_iter().map(|section| (Sort::Check, section)).collect();
    sections.extend(top.sections(desk, "mend", MEND).into_iter().map(|section| (Sort::Mend, section)));
    sections.sort_by_key(|(_, section)| section.at());
    let none = |slot: Slot<'_, '_>| !slot.there() || slot.is_empty_list();
    if none(top.get("check")) && none(top.get("mend")) {
        desk.report(1, "", "the file has no step; add a section [[check]] or [[mend]]");
    }
    let mut keys = BTreeSet::new();
    let mut figures = 0;
    let mut out = Vec::new();
    let mut lines = Vec::new();
    for (sort, section) in &sections {
        let key = parts::key(desk, section);
        let double = Some(key.as_str()).filter(|key| keys.contains(*key));
        parts::once(desk, section, &key, double.into_iter(), "step");
        keys.insert(key.clone());
        let (label, kind) = match sort {
            Sort::Check => {
                let label = section.need(desk, "ask").filled(desk);
                let answers = answers(desk, section);
                figures += answers.len() * (causes.len() + 1);
                if figures > MOST_FIGURES {
                    break;
                }
                (label, Kind::Check(check(desk, section, answers, causes)))
            }
            Sort::Mend => {
                let label = section.need(desk, "do").filled(desk);
                figures += 2 * (causes.len() + 1);
                if figures > MOST_FIGURES {
                    break;
                }
                (label, Kind::Mend(mend(desk, section, causes)))
            }
        };
        lines.push(section.line());
        out.push(Step {
            key,
            label: label.unwrap_or_default(),
            how: section.get("how").text(desk).unwrap_or_default(),
            good: section.get("good").text(desk).unwrap_or_default(),
            minutes: section.need(desk, "minutes").minutes(desk),
            needs: needs(desk, section, covers),
            energises: parts::energises(desk, section),
            caution: section.get("caution").text(desk).unwrap_or_default(),
            wants: parts::wants(desk, section),
            leaves: leaves(desk, section),
            kind,
        });
    }
    if figures > MOST_FIGURES {
        let says = format!(
            "the steps come to more than {MOST_FIGURES} likelihoods (causes times answers); \
             split the file into smaller models"
        );
        desk.report(1, "", says);
        return None;
    }
    Some((out, lines))
}

fn needs(desk: &mut Desk<'_>, section: &Section<'_>, covers: &[Cover]) -> Vec<CoverAt> {
    let mut out = Vec::new();
    for item in section.get("needs").list(desk) {
        let Some(key) = item.filled(desk) else { continue };
        match covers.iter().position(|cover| cover.key == key) {
            Some(at) if out.contains(&at) => {
                item.report(desk, format!("says \"{}\" a second time; leave it out", shown(&key)));
            }
            Some(at) => out.push(at),
            None => {
                let there = covers.iter().map(|cover| cover.key.as_str());
                let says = parts::unknown(&key, there, "cover", "[[cover]]");
                item.report(desk, format!("is \"{}\", which {says}", shown(&key)));
            }
        }
    }
    out
}

fn leaves(desk: &mut Desk<'_>, section: &Section<'_>) -> Option<Leaves> {
    let section = section.section(desk, "leaves", LEAVES)?;
    Some(Leaves {
        what: section.need(desk, "what").filled(desk).unwrap_or_default(),
        back: section.need(desk, "back").filled(desk).unwrap_or_default(),
    })
}

/// The answers; one that was reported stands with an empty key, so that rows are counted
/// right.
fn answers(desk: &mut Desk<'_>, section: &Section<'_>) -> Vec<Answer> {
    let slot = section.need(desk, "answers");
    let noted = desk.count();
    let items = slot.list(desk);
    if !slot.there() || desk.count() > noted {
        return Vec::new();
    }
    if items.len() < 2 {
        slot.report(desk, "has fewer than two answers; a check tells something only with two or more");
        return Vec::new();
    }
    if items.len() > MOST_ANSWERS {
        let says =
            format!("has {} answers, more than the {MOST_ANSWERS} a check may have; join some", items.len());
        slot.report(desk, says);
        return Vec::new();
    }
    let mut out: Vec<Answer> = Vec::new();
    for item in &items {
        let answer = if let Some(section) = item.section(desk, ANSWER) {
            let key = section.need(desk, "key").filled(desk).unwrap_or_default();
            let label = section.get("label");
            let label = if label.there() { label.filled(desk).unwrap_or_default() } else { words(&key) };
            Answer { key, label }
        } else {
            let key = item.filled(desk).unwrap_or_default();
            let label = words(&key);
            Answer { key, label }
        };
        let key = answer.key.as_str();
        let dashes = key.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'-');
        let says = if key.is_empty() {
            None
        } else if key == CANT_TELL {
            Some(format!("is \"{CANT_TELL}\", an answer that every check has; leave it out"))
        } else if !dashes {
            Some(format!(
                "is \"{}\"; an answer's key has letters a to z, digits, _ and - only: write \
                 {{ key = \"…\", label = \"…\" }}",
                shown(key)
            ))
        } else if out.iter().any(|other| other.key == key) {
            Some(format!("is \"{}\" a second time; give it another key", shown(key)))
        } else {
            None
        };
        if let Some(says) = says {
            item.report(desk, says);
        }
        out.push(answer);
    }
    out
}

/// The words of an answer that has only a key: `no_lamp` is `No lamp`.
fn words(key: &str) -> String {
    let spaced = key.replace(['_', '-'], " ");
    let mut letters = spaced.chars();
    letters.next().map(|first| first.to_ascii_uppercase()).into_iter().chain(letters).collect()
}

fn check(desk: &mut Desk<'_>, section: &Section<'_>, answers: Vec<Answer>, causes: &[Cause]) -> Check {
    section.need(desk, "usual");
    let mut check = Check {
        likelihood: vec![vec![0.0; causes.len() + 1]; answers.len()],
        speaks: vec![false; causes.len()],
        rule: parts::rule(desk, section),
        field: section
            .get("fact")
            .choice(desk, &Field::ALL.iter().map(|field| (field.key(), *field)).collect::<Vec<_>>()),
        lamp: section.get("lamp").flag(desk).unwrap_or(false),
        answers,
    };
    let by_cause = figures::by_cause(desk, section, "if", causes);
    let count = check.answers.len();
    if count == 0 {
        return check;
    }
    let mut put = |hypothesis: usize, row: &[f64]| {
        for (answer, figure) in row.iter().enumerate() {
            check.likelihood[answer][hypothesis] = *figure;
        }
    };
    if let Some(usual) = figures::row_of(desk, section, "usual", count) {
        (0..causes.len()).for_each(|cause| put(cause, &usual));
        // Something not in the list: half as usual, half any answer.
        #[expect(clippy::cast_precision_loss, reason = "twenty answers at most")]
        let even = 1.0 / count as f64;
        put(causes.len(), &usual.iter().map(|one| f64::midpoint(*one, even)).collect::<Vec<_>>());
    }
    if let Some(unlisted) = figures::row_of(desk, section, "unlisted", count) {
        put(causes.len(), &unlisted);
    }
    let mut spoken = Vec::new();
    for (cause, item) in by_cause {
        spoken.push(cause);
        let Some(items) = item.list(desk) else { continue };
        let at = figures::At { line: item.line, key: &item.key };
        if let Some(row) = figures::row(desk, &items, count, at) {
            put(cause, &row);
        }
    }
    for cause in spoken {
        check.speaks[cause] = true;
    }
    check
}

fn mend(desk: &mut Desk<'_>, section: &Section<'_>, causes: &[Cause]) -> Mend {
    let noted = desk.count();
    let mut cures = figures::ratios(desk, section, "cures", causes);
    let seems = figures::ratios(desk, section, "seems", causes);
    cures[causes.len()] = section.get("unlisted").number(desk, 0.0, 1.0).unwrap_or_default();
    if desk.count() == noted && cures.iter().all(|cure| *cure <= 0.0) {
        let says = "cures nothing; say what it cures and how likely, as in `cures.band = 0.95`";
        let slot = section.get("cures");
        slot.report(desk, says);
    }
    Mend {
        cures,
        seems,
        watch: section.get("watch").text(desk).unwrap_or_default(),
        rule: parts::rule(desk, section),
    }
}
