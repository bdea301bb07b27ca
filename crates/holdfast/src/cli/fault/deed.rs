//! What `fault answer` means, by what is to be done next.

use anyhow::bail;
use register::family::Side;
use register::field::Field;
use register::trail::Helped;
use register::value::Value;
use trails::evidence::field_of;
use trails::model::{Check, Kind};
use trails::solve::CANT_TELL;
use trails::trail::{Deed, Next, Trail, helped_label};

use super::{args, typed};
use crate::faults;
use crate::workshop::Workshop;

/// The word by which the facts given with it are the answer.
const READ: &str = "read";

/// The answers to what was put back.
const SETTLED: [(&str, &str); 2] = [("done", "It is put back"), ("stays", "It stays as it is")];

/// The answers to a proof.
const HELD: [(&str, &str); 2] = [("held", "It held"), ("failed", "It didn't hold")];

/// An answer with its words.
pub type Choice = (String, String);

fn choices(list: &[(&str, &str)]) -> Vec<Choice> {
    list.iter().map(|(key, label)| ((*key).to_owned(), (*label).to_owned())).collect()
}

fn of_mend() -> Vec<Choice> {
    Helped::ALL.into_iter().map(|one| (one.word().to_owned(), helped_label(one).to_owned())).collect()
}

fn of_check(check: &Check) -> Vec<Choice> {
    let answers = check.answers.iter().map(|one| (one.key.clone(), one.label.clone()));
    answers.chain([(CANT_TELL.to_owned(), "Can't tell".to_owned())]).collect()
}

/// The answers that may be given now, in the order of their numbers.
pub fn now(trail: &Trail) -> Vec<Choice> {
    match &trail.next {
        Next::Step(proposal) => match &trail.model.steps[proposal.step].kind {
            Kind::Check(check) => of_check(check),
            Kind::Mend(_) => of_mend(),
        },
        Next::Lift { .. } => of_mend(),
        Next::Restore { .. } => choices(&SETTLED),
        Next::Prove { .. } => choices(&HELD),
        Next::GiveUp { .. } | Next::Stuck | Next::Close | Next::Closed => Vec::new(),
    }
}

/// The answer's key: by itself, or by its number.
fn chosen(typed: &str, list: &[Choice]) -> anyhow::Result<String> {
    let word = typed.trim();
    let same = |key: &str| key.eq_ignore_ascii_case(word) || key.replace('_', "-").eq_ignore_ascii_case(word);
    if let Some((key, _)) = list.iter().find(|(key, _)| same(key)) {
        return Ok(key.clone());
    }
    let by_number = word.parse::<usize>().ok().and_then(|at| list.get(at.checked_sub(1)?));
    if let Some((key, _)) = by_number {
        return Ok(key.clone());
    }
    let there: Vec<String> =
        list.iter().zip(1..).map(|((key, label), at)| format!("{at} {key} ({label})")).collect();
    // What was typed is not repeated: where a link secret is asked about, it may be one.
    bail!("that is no answer to this; the answers are {}", there.join(", "))
}

/// What an answer means, on the step that is next or on the one that is named.
pub fn of_answer(workshop: &mut Workshop, trail: &Trail, args: &args::Answer) -> anyhow::Result<Deed> {
    let told = typed::facts(&args.words)?;
    let mut facts = typed::read(workshop, trail, &told)?;
    facts.extend(typed::secrets(workshop, &args.secrets)?);
    let deed = match args.step.as_deref() {
        Some(step) => on_step(trail, step, &args.given, facts, args.way)?,
        None => on_next(trail, &args.given, facts, args.way)?,
    };
    // Told by the facts: where they don't tell, nothing is written.
    if args.given.trim().eq_ignore_ascii_case(READ) && !faults::tells(workshop, trail, deed.clone())? {
        bail!(
            "these facts alone don't tell: {}; or give one of the answers with them, `{CANT_TELL}` writes them down and \
             goes on",
            missing(trail, &deed)
        );
    }
    Ok(deed)
}

/// What is missing where the facts read with a check don't tell its answer.
fn missing(trail: &Trail, deed: &Deed) -> String {
    let Deed::Answer { step, facts, .. } = deed else { return "this is no check".to_owned() };
    let check = trail.model.step(step).and_then(|at| trail.model.steps[at].as_check());
    let Some(rule) = check.and_then(|check| check.rule) else {
        return "no facts can answer this check".to_owned();
    };
    // The sides of which a fact is not told here, as they are typed.
    let not_told = |field: Field| -> Vec<String> {
        let told = |side: Side| facts.iter().any(|(of, which, _)| (*of, *which) == (side, field));
        let sides = [Side::Transmitter, Side::Receiver].into_iter().filter(|side| !told(*side));
        sides.map(|side| format!("`{}.{}=…`", side.word().to_lowercase(), field.key())).collect()
    };
    let family = not_told(Field::Family);
    if trail.link.family.is_none() && family.len() == 2 {
        return format!(
            "the link family is not known, which says what fits; give {} as well",
            family.join(" or ")
        );
    }
    let field = check.and_then(|check| check.field).unwrap_or_else(|| field_of(rule));
    let other = not_told(field);
    if !other.is_empty() {
        return format!("give what the other end shows as well, {}", other.join(" "));
    }
    "no family file here says which of these fit; `families add` takes one".to_owned()
}

type Facts = Vec<(Side, Field, Value)>;

fn no_facts(facts: &Facts) -> anyhow::Result<()> {
    if facts.is_empty() {
        return Ok(());
    }
    bail!("facts go with a check's answer; write them down with `record`, or with the check that reads them")
}

fn no_way(way: Option<u16>) -> anyhow::Result<()> {
    if way.is_none() {
        return Ok(());
    }
    bail!("--way goes with a rule that fails, of which there is none to be lifted here")
}

fn on_next(trail: &Trail, answer: &str, facts: Facts, way: Option<u16>) -> anyhow::Result<Deed> {
    if !matches!(trail.next, Next::Lift { .. }) {
        no_way(way)?;
    }
    match &trail.next {
        Next::Step(proposal) => {
            let step = trail.model.steps[proposal.step].key.clone();
            on_step(trail, &step, answer, facts, way)
        }
        Next::Lift { certain } => {
            let step = format!("rule:{}", trail.certain[*certain].rule.word());
            on_step(trail, &step, answer, facts, way)
        }
        Next::Restore { change } => {
            no_facts(&facts)?;
            let change = trail.changes[*change].key.clone();
            Ok(match chosen(answer, &now(trail))?.as_str() {
                "done" => Deed::PutBack { change },
                _ => Deed::Accepted { change },
            })
        }
        Next::Prove { proof } => {
            no_facts(&facts)?;
            let held = chosen(answer, &now(trail))? == "held";
            Ok(Deed::Proved { proof: trail.proofs[*proof].key.clone(), held })
        }
        Next::GiveUp { .. } => bail!(
            "nothing more is worth its minutes, so nothing is asked: end it with `fault close --gave-up`, or answer \
             another step with --step KEY"
        ),
        Next::Stuck => bail!(
            "nothing in this list is left to try, so nothing is asked: write down what else you do with `fault did`, \
             or end it with `fault close --left`"
        ),
        Next::Close => bail!("nothing is left to be answered: name the fault with `fault close [CAUSE]`"),
        Next::Closed => bail!(
            "this trail is closed; `fault back --trail {}` takes the closing back",
            faults::short(trail.id)
        ),
    }
}

fn on_step(trail: &Trail, step: &str, answer: &str, facts: Facts, way: Option<u16>) -> anyhow::Result<Deed> {
    let check = trail.model.step(&super::key(step)).map(|at| &trail.model.steps[at]);
    if let Some((step, check)) = check.and_then(|step| Some((step, step.as_check()?))) {
        no_way(way)?;
        let read = answer.trim().eq_ignore_ascii_case(READ);
        if read && facts.is_empty() {
            bail!("give what was read with it, as receiver.firmware=4.1 transmitter.firmware=4.1");
        }
        let answer = if read { CANT_TELL.to_owned() } else { chosen(answer, &of_check(check))? };
        // With no answer the facts tell; *can't tell* is no answer, too.
        let answer = if answer == CANT_TELL { String::new() } else { answer };
        return Ok(Deed::Answer { step: step.key.clone(), answer, facts });
    }
    no_facts(&facts)?;
    let word = chosen(answer, &of_mend())?;
    let helped = Helped::from_word(&word).unwrap_or(Helped::CantTell);
    if let Some(step) = check {
        no_way(way)?;
        return Ok(Deed::Tried { step: step.key.clone(), mend: None, helped });
    }
    let step = if step.starts_with("rule:") { step.to_lowercase() } else { super::key(step) };
    Ok(Deed::Tried { step, mend: way.map(|way| usize::from(way) - 1), helped })
}
