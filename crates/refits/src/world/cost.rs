//! What bringing one end to a version takes, by itself: to choose among versions by.

use std::collections::BTreeSet;

use register::family::{Family, SecretRule, Side};
use register::field::Field;
use register::value::SecretMark;

use super::World;
use super::targets::Graph;
use crate::release;

/// Hundredths of a minute.
type Hundredths = i64;

fn lookup(world: &World, key: &str, family: Option<&Family>) -> Hundredths {
    world.scene.register.minutes().lookup(key, family).hundredths()
}

/// Opening and closing the cover of the aircraft that an end is in; nothing for one in none.
fn cover(world: &World, graph: &Graph, at: usize, usual: Option<units::Minutes>) -> Hundredths {
    let Some(craft) = graph.nodes[at].craft.and_then(|craft| world.crafts.get(craft)) else { return 0 };
    let minutes = craft.cover.or(usual).map(units::Minutes::hundredths);
    minutes.unwrap_or_else(|| lookup(world, "refit.cover", None))
}

/// Pairing a receiver again with all transmitters that it must link with.
fn pairing(world: &World, graph: &Graph, at: usize) -> Hundredths {
    let node = &graph.nodes[at];
    let Some(family) = node.family.as_deref() else { return 0 };
    let unpaired = matches!(family.secret, SecretRule::Equal { links_unpaired: true, .. });
    let blank = world.last_secret(&node.view.end).is_none_or(|mark| mark == SecretMark::Blank);
    if node.side == Side::Transmitter || (unpaired && !blank) {
        return 0;
    }
    let own = world.scene.register.minutes().workshop("mend.pair");
    let each = own
        .or_else(|| family.minutes.get("mend.pair").copied())
        .unwrap_or(family.pairing.minutes)
        .hundredths();
    each * i64::try_from(graph.beside(at).count()).unwrap_or(i64::MAX).min(1 << 20)
}

/// Flashing an end to versions one after the other, by the quickest route, with what the flashes
/// wipe set again and the cover that must be opened.
pub(super) fn flash(world: &World, graph: &Graph, at: usize, versions: &[String]) -> Hundredths {
    let node = &graph.nodes[at];
    let own = world.scene.register.minutes().workshop("mend.flash").map(units::Minutes::hundredths);
    let family = node.family.as_deref();
    let usual = own.unwrap_or_else(|| lookup(world, "mend.flash", family));
    let Some((family, last)) = family.zip(versions.last()) else {
        return usual * i64::try_from(versions.len()).unwrap_or(1);
    };
    let by = |name: &str| -> Hundredths {
        let mut sum = 0;
        let mut wiped: BTreeSet<Field> = BTreeSet::new();
        let mut opened = None;
        for version in versions {
            let open = release::routes(family, node.side, version);
            let route = open.iter().find(|route| route.name == name).or(open.first());
            sum += own.or(route.map(|route| route.minutes.hundredths())).unwrap_or(usual);
            let name = route.map_or("", |route| &route.name);
            wiped.extend(family.wiped_by_flash(node.side, name, version));
            opened = opened.or(route.and_then(|route| release::cover(family, &route.needs)));
        }
        let end = &node.view.end;
        match world.last_secret(end).filter(|_| wiped.contains(&Field::Secret)) {
            Some(SecretMark::Blank) => sum += lookup(world, "mend.clear_secret", Some(family)),
            Some(_) => sum += lookup(world, "mend.set_secret", Some(family)),
            None => {}
        }
        if wiped.contains(&Field::ModelId)
            && node.side == Side::Receiver
            && world.last_known(end, Field::ModelId).is_some()
        {
            sum += lookup(world, "mend.set_model_id", Some(family));
        }
        let pairing = if wiped.contains(&Field::Partners) { pairing(world, graph, at) } else { 0 };
        if pairing > 0 {
            opened = opened.or(release::cover(family, &family.pairing.needs));
        }
        sum + pairing + opened.map_or(0, |usual| cover(world, graph, at, usual))
    };
    let routes = release::routes(family, node.side, last);
    routes.iter().map(|route| by(&route.name)).min().unwrap_or_else(|| by(""))
}

/// Replacing a receiver: cover, the change itself, and pairing the new one.
pub(super) fn swap(world: &World, graph: &Graph, at: usize) -> Hundredths {
    let family = graph.nodes[at].family.as_deref();
    lookup(world, "mend.swap_receiver", family) + cover(world, graph, at, None) + pairing(world, graph, at)
}
