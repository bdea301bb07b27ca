//! Devices, facts and secrets as they are typed behind `fault start` and `fault answer`.

use std::io::{self, BufRead as _, IsTerminal as _, Read as _};

use anyhow::{Context as _, bail};
use register::family::Side;
use register::field::{Field, Part, Sort};
use register::scene::Scene;
use register::trail::Begun;
use register::value::{EndRef, Value};
use store::keys::SecretText;
use trails::model::Model;

use super::args;
use crate::cli::named;
use crate::cli::record;
use crate::faults;
use crate::values;
use crate::workshop::Workshop;

/// The word for gear that is in no register.
const GUEST: &str = "guest";

/// A fact of one side as it is typed.
pub type Told = (Side, Field, String);

/// The sides of a link, the transmitter first.
const SIDES: [Side; 2] = [Side::Transmitter, Side::Receiver];

/// The facts of one side of a link.
const FACTS: [Field; 6] =
    [Field::Family, Field::Band, Field::Region, Field::Firmware, Field::ModelId, Field::Secret];

/// What stands before the first `=` and behind it. What can't be split is not repeated: it
/// may be a link secret.
fn split(at: usize, word: &str) -> anyhow::Result<(&str, &str)> {
    let Some((key, value)) = word.split_once('=') else {
        bail!(
            "word {} behind the names has no `=`; write facts as receiver.firmware=4.1, and a value with blanks in \
             quotation marks",
            at + 1
        );
    };
    Ok((key.trim(), value.trim()))
}

/// `receiver.firmware`: which side, which fact.
fn side_and_field(key: &str) -> anyhow::Result<Option<(Side, Field)>> {
    let Some((side, fact)) = key.split_once('.') else { return Ok(None) };
    let Some(side) = SIDES.into_iter().find(|one| one.word().eq_ignore_ascii_case(side)) else {
        return Ok(None);
    };
    let field = named::fact(fact)?;
    let fits = FACTS.contains(&field) || (side, field) == (Side::Receiver, Field::Partners);
    if !fits {
        let known: Vec<&str> = FACTS.iter().map(|field| field.key()).collect();
        bail!("{} is nothing that a trail asks about; there are {}", field.key(), known.join(", "));
    }
    Ok(Some((side, field)))
}

fn clipped(key: &str) -> String {
    key.chars().take(60).collect()
}

/// The facts among the words of an answer.
pub fn facts(words: &[String]) -> anyhow::Result<Vec<Told>> {
    let mut facts = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let (key, value) = split(at, word)?;
        let Some((side, field)) = side_and_field(key)? else {
            bail!(
                "`{}` is no fact of one side; write it as transmitter.firmware=4.1 or receiver.band=…",
                clipped(key)
            )
        };
        facts.push((side, field, value.to_owned()));
    }
    Ok(facts)
}

/// What a value that can't be read is answered with. What was typed for a link secret is
/// never repeated.
fn wrong(side: Side, field: Field, says: &str) -> anyhow::Error {
    if field == Field::Secret {
        return anyhow::anyhow!(
            "the {0}'s link secret given is neither `blank` nor `same as` a device of this workshop. The secret itself \
             is never typed here: leave it out, and add --{0}-secret to type it when asked",
            side.word()
        );
    }
    anyhow::anyhow!("the {}'s {} {says}", side.word(), field.label())
}

/// The facts of gear on a trail, read.
pub fn read(
    workshop: &Workshop,
    trail: &trails::trail::Trail,
    told: &[Told],
) -> anyhow::Result<Vec<(Side, Field, Value)>> {
    let mut facts = Vec::new();
    for (side, field, words) in told {
        let fact = faults::fact(workshop, trail.id, trail, *side, *field, words);
        facts.push(fact.map_err(|error| match error {
            faults::NoTrail::Value { says, .. } => wrong(*side, *field, &says),
            other => other.into(),
        })?);
    }
    Ok(facts)
}

/// The link secrets that were asked for.
pub fn secrets(workshop: &mut Workshop, args: &args::Secrets) -> anyhow::Result<Vec<(Side, Field, Value)>> {
    let wanted = [(Side::Transmitter, args.transmitter_secret), (Side::Receiver, args.receiver_secret)];
    let wanted = wanted.into_iter().filter(|(_, wanted)| *wanted).map(|(side, _)| side);
    let mut facts = Vec::new();
    for side in wanted {
        let secret = if args.secret_stdin { from_stdin(side)? } else { asked(side)? };
        facts.push((side, Field::Secret, Value::Secret(workshop.fingerprint(&secret)?)));
    }
    if facts.is_empty() && args.secret_stdin {
        bail!("--secret-stdin goes with --transmitter-secret or --receiver-secret, which say whose it is");
    }
    Ok(facts)
}

fn asked(side: Side) -> anyhow::Result<SecretText> {
    if !io::stdin().is_terminal() {
        bail!("nobody is there to type the {}'s link secret; send it in with --secret-stdin", side.word());
    }
    let question = format!("Link secret of the {} (not shown): ", side.word());
    record::taken(&rpassword::prompt_password(question)?)
}

fn from_stdin(side: Side) -> anyhow::Result<SecretText> {
    let mut line = Vec::new();
    io::stdin().lock().take(record::LONGEST_SECRET).read_until(b'\n', &mut line)?;
    let line = String::from_utf8(line).ok().context("the secret is not text (UTF-8)")?;
    record::taken(&line).with_context(|| format!("the {}'s link secret", side.word()))
}

/// The device that is named for one side; none for a guest's.
fn end(scene: &Scene, name: &str, sort: Sort) -> anyhow::Result<Option<EndRef>> {
    if name.trim().eq_ignore_ascii_case(GUEST) {
        return Ok(None);
    }
    let (device, part) = named::with_part(scene, name)?;
    let known = scene.device(device);
    let is = known.and_then(|device| device.sort);
    if is != Some(sort) {
        let what = is.map_or_else(|| "nothing that is known".to_owned(), named::a);
        bail!("{} is {what}, not {}", clipped(name), named::a(sort));
    }
    let ends: Vec<&str> =
        known.map(|device| device.ends.keys().map(String::as_str).collect()).unwrap_or_default();
    let end = match part {
        Some(Part::End(key)) if !ends.is_empty() && !ends.contains(&key.as_str()) => {
            bail!("`{}` is no end of it; its ends are {}", clipped(&key), ends.join(", "))
        }
        Some(Part::End(key)) => key,
        _ => ends.first().copied().unwrap_or(Part::MAIN).to_owned(),
    };
    Ok(Some(EndRef { device, end }))
}

/// How a trail begins, from what was typed.
pub fn begun(workshop: &mut Workshop, model: &Model, args: &args::Start) -> anyhow::Result<Begun> {
    let register = workshop.register().clone();
    let scene = Scene::new(&register);
    // Whichever is named first, as with `link`.
    let is = |name: &str, sort: Sort| {
        named::with_part(&scene, name).ok().and_then(|(id, _)| scene.device(id)?.sort) == Some(sort)
    };
    let turned = is(&args.transmitter, Sort::Receiver) || is(&args.receiver, Sort::Transmitter);
    let (t, r) =
        if turned { (&args.receiver, &args.transmitter) } else { (&args.transmitter, &args.receiver) };
    let transmitter = end(&scene, t, Sort::Transmitter)?;
    let receiver = end(&scene, r, Sort::Receiver)?;
    let mut begun = Begun {
        symptom: model.key.clone(),
        transmitter,
        receiver,
        whose: String::new(),
        facts: Vec::new(),
        open: Vec::new(),
    };
    let mut told: Vec<Told> = Vec::new();
    for (at, word) in args.words.iter().enumerate() {
        let (key, value) = split(at, word)?;
        match (key, side_and_field(key)?) {
            ("open", _) => begun.open.extend(covers(model, value)?),
            ("whose", _) => {
                begun.whose = values::text(value).map_err(|why| anyhow::anyhow!("whose gear it is {why}"))?;
            }
            (_, Some((side, field))) => told.push((side, field, value.to_owned())),
            _ => bail!(
                "`{}` is nothing that can be said here; there are open=, whose=, transmitter.FACT= and receiver.FACT=",
                clipped(key)
            ),
        }
    }
    let own = |side: Side| match side {
        Side::Transmitter => begun.transmitter.is_some(),
        Side::Receiver => begun.receiver.is_some(),
    };
    let secrets = secrets(workshop, &args.secrets)?;
    let sides = told.iter().map(|(side, ..)| *side).chain(secrets.iter().map(|(side, ..)| *side));
    if let Some(side) = sides.into_iter().find(|side| own(*side)) {
        let name = if side == Side::Transmitter { t } else { r };
        bail!(
            "the {} {} is the workshop's own: leave its facts out here, and write them down with `record`",
            side.word(),
            clipped(name)
        );
    }
    begun.facts = faults::told(workshop, &told).map_err(|(at, says)| {
        let (side, field, _) = &told[at];
        wrong(*side, *field, &says)
    })?;
    begun.facts.extend(secrets);
    Ok(begun)
}

/// The covers that are open, one or several between commas.
fn covers(model: &Model, value: &str) -> anyhow::Result<Vec<String>> {
    let keys = value.split(',').map(super::key).filter(|key| !key.is_empty());
    let known = |key: String| {
        if model.cover(&key).is_some() {
            return Ok(key);
        }
        let covers: Vec<&str> = model.covers.iter().map(|cover| cover.key.as_str()).collect();
        bail!("there is no cover `{}` here; there are {}", clipped(&key), covers.join(", "))
    };
    keys.map(known).collect()
}
