//! Wishes as a person types them: `to=T1:5.1`, `newest=Whimbrel`, `evenings=4x120`.

use refits::ask::MOST_EVENINGS;
use register::field::Sort;
use register::fleet;
use register::id::DeviceId;
use register::refit::{Reach, Wish};
use register::scene::Scene;
use register::value::{EndRef, SecretMark};
use register::view;
use units::Minutes;

use super::{NoRefit, device};

/// The longest list in one word.
const MOST: usize = 500;
/// The most wishes.
const MOST_WISHES: usize = 300;

/// Where a new link secret comes from: typed once, or that of another device.
pub trait Secrets {
    /// The secret that was typed.
    ///
    /// # Errors
    /// None was typed, or it can't be kept.
    fn typed(&mut self) -> Result<SecretMark, String>;
}

/// Reads wishes, one a word.
///
/// # Errors
/// The first word that can't be read, and why.
pub fn wishes(scene: &Scene, words: &[String], secrets: &mut dyn Secrets) -> Result<Vec<Wish>, NoRefit> {
    let mut all = Vec::new();
    for word in words.iter().map(|word| word.trim()).filter(|word| !word.is_empty()) {
        let said = wish(scene, word, secrets)
            .map_err(|says| NoRefit::Word { word: word.chars().take(60).collect(), says })?;
        all.extend(said);
        if all.len() > MOST_WISHES {
            let says = format!("is one too many: at most {MOST_WISHES} wishes");
            return Err(NoRefit::Word { word: word.chars().take(60).collect(), says });
        }
    }
    Ok(all)
}

const WORDS: &str = "to=, newest=, secret=, clear-secret=, pairs=all, need=, let-go=, stay=, replace=, evenings=, fly=, grounded=, cover=";

/// Reads one word.
///
/// # Errors
/// What is wrong with it, after the word.
pub fn wish(scene: &Scene, word: &str, secrets: &mut dyn Secrets) -> Result<Vec<Wish>, String> {
    let (key, value) = word
        .split_once('=')
        .ok_or_else(|| format!("is no wish; a wish is a key, `=` and a value; the keys are {WORDS}"))?;
    let value = value.trim();
    if value.is_empty() {
        return Err("says nothing after `=`".to_owned());
    }
    let one = |wish: Wish| Ok(vec![wish]);
    match key.trim() {
        "to" => {
            let (name, version) = value
                .rsplit_once(':')
                .ok_or("must be a device and a version, such as `to=T1:5.1` or `to=T1/module:5.1`")?;
            let version = version.trim().to_owned();
            if register::family::Version::parse(&version).is_none() {
                return Err(format!("names no version: {version} has no numbers such as 4.1"));
            }
            ends(scene, name)?
                .into_iter()
                .map(|end| Ok(Wish::Version { end, version: version.clone() }))
                .collect()
        }
        "newest" => one(Wish::Newest { family: family(scene, value)? }),
        "secret" => {
            let on = reach(scene, value)?;
            one(Wish::Secret { on, mark: secrets.typed()? })
        }
        "clear-secret" => one(Wish::Secret { on: reach(scene, value)?, mark: SecretMark::Blank }),
        "pairs" if value == "all" => one(Wish::AllPair),
        "pairs" => Err("must be `pairs=all`: every link that is meant to hold does".to_owned()),
        "need" => {
            let (aircraft, transmitters) = value
                .split_once(':')
                .ok_or("must be an aircraft and its transmitters, such as `need=A2:T1,T4`")?;
            let transmitters = list(transmitters)?
                .into_iter()
                .map(|name| of_sort(scene, name, Sort::Transmitter))
                .collect::<Result<_, _>>()?;
            one(Wish::Need { aircraft: of_sort(scene, aircraft, Sort::Aircraft)?, transmitters })
        }
        "let-go" => {
            let (aircraft, transmitter) = match value.split_once(':') {
                Some((aircraft, transmitter)) => {
                    (aircraft, Some(of_sort(scene, transmitter, Sort::Transmitter)?))
                }
                None => (value, None),
            };
            one(Wish::LetGo { aircraft: of_sort(scene, aircraft, Sort::Aircraft)?, transmitter })
        }
        "stay" => {
            list(value)?.into_iter().map(|name| Ok(Wish::Stay { device: device(scene, name)? })).collect()
        }
        "replace" => replace(scene, value).map(|wish| vec![wish]),
        "evenings" => one(Wish::Evenings { minutes: evening_minutes(value)? }),
        "fly" => {
            let (aircraft, after) = value
                .split_once(':')
                .ok_or("must be an aircraft and an evening after which it must fly, such as `fly=A3:2`")?;
            let after = number(after, 0, u32::try_from(MOST_EVENINGS).unwrap_or(u32::MAX))?;
            one(Wish::Fly { aircraft: of_sort(scene, aircraft, Sort::Aircraft)?, after })
        }
        "grounded" => one(Wish::Grounded { most: number(value, 0, 100_000)? }),
        "cover" => {
            let (aircraft, minutes) =
                value.split_once(':').ok_or("must be an aircraft and minutes, such as `cover=A3:15`")?;
            one(Wish::Cover {
                aircraft: of_sort(scene, aircraft, Sort::Aircraft)?,
                minutes: minutes_of(minutes)?,
            })
        }
        _ => Err(format!("is no wish; the keys are {WORDS}")),
    }
}

fn list(text: &str) -> Result<Vec<&str>, String> {
    let all: Vec<&str> = text.split(',').map(str::trim).filter(|one| !one.is_empty()).collect();
    if all.is_empty() {
        return Err("names nothing".to_owned());
    }
    if all.len() > MOST {
        return Err(format!("names too many: at most {MOST}"));
    }
    Ok(all)
}

fn of_sort(scene: &Scene, name: &str, sort: Sort) -> Result<DeviceId, String> {
    fleet::find(scene, name.trim(), Some(sort)).map_err(|error| {
        if fleet::find(scene, name.trim(), None).is_ok() {
            format!("names {}, which is no {}", name.trim(), sort.word())
        } else {
            format!("can't be read: {error}")
        }
    })
}

fn family(scene: &Scene, name: &str) -> Result<String, String> {
    if let Some(family) = scene.register.family(name) {
        return Ok(family.name.clone());
    }
    let known: Vec<String> = scene
        .register
        .families()
        .filter_map(|(_, used)| used.family.as_ref().map(|family| family.name.clone()))
        .collect();
    Err(format!(
        "names no link family of this workshop; it has {}",
        if known.is_empty() { "none".to_owned() } else { known.join(", ") }
    ))
}

/// The ends that a device's name means: all of them, or one by `/` and its key.
fn ends(scene: &Scene, name: &str) -> Result<Vec<EndRef>, String> {
    let name = name.trim();
    let (id, only) = match device(scene, name) {
        Ok(id) => (id, None),
        Err(error) => match name.rsplit_once('/') {
            Some((name, end)) => (device(scene, name)?, Some(end.trim())),
            None => return Err(error),
        },
    };
    let views = match scene.device(id).and_then(|device| device.sort.map(|sort| (device, sort))) {
        Some((device, Sort::Transmitter)) => view::transmitter(scene, device).ends,
        Some((device, Sort::Receiver)) => view::receiver(scene, device).ends,
        _ => return Err(format!("names {name}, which is neither a transmitter nor a receiver")),
    };
    let all: Vec<EndRef> = views.into_iter().map(|view| view.end).collect();
    match only {
        None => Ok(all),
        Some(end) => {
            let found: Vec<EndRef> = all.iter().filter(|have| have.end == end).cloned().collect();
            if found.is_empty() {
                let known: Vec<&str> = all.iter().map(|have| have.end.as_str()).collect();
                return Err(format!("names no end {end}; its ends are {}", known.join(", ")));
            }
            Ok(found)
        }
    }
}

fn reach(scene: &Scene, text: &str) -> Result<Reach, String> {
    if let Some(family) = scene.register.family(text) {
        return Ok(Reach::Family(family.name.clone()));
    }
    let mut all = Vec::new();
    for name in list(text)? {
        all.extend(ends(scene, name)?);
    }
    Ok(Reach::Ends(all))
}

fn replace(scene: &Scene, value: &str) -> Result<Wish, String> {
    let mut parts = value.split(':').map(str::trim);
    let receiver = of_sort(scene, parts.next().unwrap_or_default(), Sort::Receiver)?;
    let (mut by, mut cost) = (None, 0);
    for part in parts {
        match part.parse::<u32>() {
            Ok(number) => cost = number,
            Err(_) if by.is_none() => by = Some(of_sort(scene, part, Sort::Receiver)?),
            Err(_) => {
                return Err(
                    "must be a receiver, then what it costs or the spare that takes its place, such as \
                     `replace=R12:45` or `replace=R12:R26`"
                        .to_owned(),
                );
            }
        }
    }
    Ok(Wish::Replace { receiver, by, cost })
}

fn number(text: &str, low: u32, high: u32) -> Result<u32, String> {
    text.trim()
        .parse()
        .ok()
        .filter(|number| (low..=high).contains(number))
        .ok_or_else(|| format!("must have a whole number from {low} to {high}"))
}

/// The longest evening, minutes.
const LONGEST: f64 = 1_440.0;

fn minutes_of(text: &str) -> Result<Minutes, String> {
    let text = text.trim();
    let text = text.strip_suffix("min").unwrap_or(text).trim();
    text.replace(',', ".")
        .parse()
        .ok()
        .filter(|minutes: &f64| (0.0..=LONGEST).contains(minutes))
        .map(Minutes)
        .ok_or_else(|| format!("must have minutes from 0 to {LONGEST}"))
}

/// Reads evenings: `4x120` for four of 120 minutes, `120,90,120` for three.
///
/// # Errors
/// What is wrong.
pub fn evening_minutes(text: &str) -> Result<Vec<Minutes>, String> {
    let many = |count: usize| {
        if (1..=MOST_EVENINGS).contains(&count) {
            Ok(count)
        } else {
            Err(format!("must have from 1 to {MOST_EVENINGS} evenings"))
        }
    };
    if let Some((count, minutes)) = text.to_lowercase().split_once(['x', '*']) {
        let count = count.trim().parse().map_err(|_| "must be such as `4x120` or `120,90,120`".to_owned())?;
        return Ok(vec![minutes_of(minutes)?; many(count)?]);
    }
    let all = list(text)?.into_iter().map(minutes_of).collect::<Result<Vec<_>, _>>()?;
    many(all.len())?;
    Ok(all)
}

/// A wish as a person would type it; a link secret that isn't blank can't be typed from what the
/// workshop keeps, and has no word.
pub fn wish_word(scene: &Scene, wish: &Wish) -> Option<String> {
    let label =
        |id: DeviceId| scene.device(id).map_or_else(|| id.to_string(), |device| view::card(device).label());
    let end = |end: &EndRef| {
        let several = scene.device(end.device).is_some_and(|device| device.ends.len() > 1);
        if several { format!("{}/{}", label(end.device), end.end) } else { label(end.device) }
    };
    let reach = |reach: &Reach| match reach {
        Reach::Family(family) => family.clone(),
        Reach::Ends(ends) => ends.iter().map(&end).collect::<Vec<_>>().join(","),
    };
    Some(match wish {
        Wish::Version { end: which, version } => format!("to={}:{version}", end(which)),
        Wish::Newest { family } => format!("newest={family}"),
        Wish::Secret { on, mark: SecretMark::Blank } => format!("clear-secret={}", reach(on)),
        Wish::Secret { .. } => return None,
        Wish::AllPair => "pairs=all".to_owned(),
        Wish::Need { aircraft, transmitters } => {
            let all: Vec<String> = transmitters.iter().map(|id| label(*id)).collect();
            format!("need={}:{}", label(*aircraft), all.join(","))
        }
        Wish::LetGo { aircraft, transmitter: None } => format!("let-go={}", label(*aircraft)),
        Wish::LetGo { aircraft, transmitter: Some(transmitter) } => {
            format!("let-go={}:{}", label(*aircraft), label(*transmitter))
        }
        Wish::Stay { device } => format!("stay={}", label(*device)),
        Wish::Replace { receiver, by: None, cost } => format!("replace={}:{cost}", label(*receiver)),
        Wish::Replace { receiver, by: Some(by), cost } => {
            format!("replace={}:{}:{cost}", label(*receiver), label(*by))
        }
        Wish::Evenings { minutes } => {
            let words: Vec<String> = minutes.iter().map(|minutes| minutes.0.to_string()).collect();
            match words.as_slice() {
                [first, rest @ ..] if !rest.is_empty() && rest.iter().all(|one| one == first) => {
                    format!("evenings={}x{first}", words.len())
                }
                _ => format!("evenings={}", words.join(",")),
            }
        }
        Wish::Fly { aircraft, after } => format!("fly={}:{after}", label(*aircraft)),
        Wish::Grounded { most } => format!("grounded={most}"),
        Wish::Cover { aircraft, minutes } => format!("cover={}:{}", label(*aircraft), minutes.0),
    })
}
