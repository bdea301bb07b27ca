//! Wishes and reasons in words.

use register::refit::{Reach, Wish};
use register::scene::Scene;
use register::value::{EndRef, SecretMark};
use register::view;

use crate::world::{Because, World};

fn label(scene: &Scene, device: register::id::DeviceId) -> String {
    scene.device(device).map_or_else(|| "a device that is gone".to_owned(), |one| view::card(one).label())
}

fn spoken(scene: &Scene, device: register::id::DeviceId) -> String {
    scene.device(device).map_or_else(|| "an aircraft that is gone".to_owned(), |one| view::card(one).spoken())
}

fn end(scene: &Scene, end: &EndRef) -> String {
    let several = scene.device(end.device).is_some_and(|device| device.ends.len() > 1);
    let name = label(scene, end.device);
    if several { format!("{name} ({})", end.end) } else { name }
}

/// The words for what links now: it is to link when all is done.
pub const KEEP_LINKS: &str = "what links now links when all is done";

/// A wish in words, never with a secret.
pub fn wish(scene: &Scene, wish: &Wish) -> String {
    match wish {
        Wish::Version { end: which, version } => format!("{} holds {version}", end(scene, which)),
        Wish::Newest { family } => format!("all of {family} holds its newest release"),
        Wish::Secret { on, mark } => {
            let secret = if *mark == SecretMark::Blank { "no link secret" } else { "the new link secret" };
            match on {
                Reach::Family(family) => format!("all of {family} holds {secret}"),
                Reach::Ends(ends) => {
                    let names: Vec<String> = ends.iter().map(|one| end(scene, one)).collect();
                    let holds = if names.len() == 1 { "holds" } else { "hold" };
                    format!("{} {holds} {secret}", names.join(", "))
                }
            }
        }
        Wish::AllPair => "every link that is meant to hold does".to_owned(),
        Wish::Need { aircraft, transmitters } => {
            let names: Vec<String> = transmitters.iter().map(|id| label(scene, *id)).collect();
            format!("{} needs {}", spoken(scene, *aircraft), names.join(" and "))
        }
        Wish::LetGo { aircraft, transmitter } => match transmitter {
            Some(transmitter) => {
                format!("{} may lose {}", spoken(scene, *aircraft), label(scene, *transmitter))
            }
            None => format!("{} may be left without a link", spoken(scene, *aircraft)),
        },
        Wish::Stay { device } => format!("{} is left as it is", label(scene, *device)),
        Wish::Replace { receiver, by, cost } => {
            let by = by.map_or_else(|| "a new one".to_owned(), |by| label(scene, by));
            let cost = if *cost == 0 { String::new() } else { format!(" for {cost}") };
            format!("{} may be replaced by {by}{cost}", label(scene, *receiver))
        }
        Wish::Evenings { minutes } => evenings(minutes),
        Wish::Fly { aircraft, after: 0 } => {
            format!("{} flies before the first evening", spoken(scene, *aircraft))
        }
        Wish::Fly { aircraft, after } => format!("{} flies after evening {after}", spoken(scene, *aircraft)),
        Wish::Grounded { most: 0 } => "no aircraft is grounded between two evenings".to_owned(),
        Wish::Grounded { most } => format!("at most {most} aircraft are grounded between two evenings"),
        Wish::Cover { aircraft, minutes } => {
            format!("the cover of {} takes {minutes}", spoken(scene, *aircraft))
        }
    }
}

fn evenings(minutes: &[units::Minutes]) -> String {
    match minutes {
        [] => "no evening".to_owned(),
        [only] => format!("one evening of {only}"),
        [first, rest @ ..] if rest.iter().all(|one| one == first) => {
            format!("{} evenings of {first}", minutes.len())
        }
        many => {
            let list: Vec<String> = many.iter().map(ToString::to_string).collect();
            format!("{} evenings of {}", many.len(), list.join(", "))
        }
    }
}

/// Why a device changes, in a sentence without its end.
pub fn because(world: &World, device: register::id::DeviceId, because: &Because) -> String {
    match because {
        Because::Wished { wish: at } => world
            .question
            .wishes
            .get(*at)
            .map_or_else(String::new, |one| format!("Wished: {}.", wish(&world.scene, one))),
        Because::Follows { other, aircraft } => crate::world::follows_words(world, device, *other, *aircraft),
        Because::Repairs => "A link that is meant to hold doesn't without it.".to_owned(),
    }
}
