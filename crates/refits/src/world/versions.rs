//! Which version each end comes to: all ends that links hold together go to one class of versions.

use std::collections::BTreeSet;
use std::sync::Arc;

use register::family::{Family, Version, VersionRule};
use register::rule::{self, Status};

use super::targets::{Because, Graph, Node, Pick};
use super::{Look, Trouble, World, cost};
use crate::release;

/// A way for one end to be of a class.
#[derive(Clone, Debug)]
struct Candidate {
    class: Vec<u32>,
    pick: Pick,
    /// Hundredths of a minute, by itself.
    cost: i64,
    look: Option<Look>,
}

/// How many groups of ends, each with how many choices, are looked into.
const MOST_CHOICES: usize = 4;

fn way(world: &World, graph: &Graph, at: usize, version: &str, into: &mut Vec<Candidate>) -> Option<String> {
    let node = &graph.nodes[at];
    let Some(family) = &node.family else {
        let versions = vec![version.to_owned()];
        let cost = cost::flash(world, graph, at, &versions);
        into.push(Candidate { class: Vec::new(), pick: Pick::Flash(versions), cost, look: None });
        return None;
    };
    let Some(class) = release::class(family, version) else {
        return Some(format!(
            "can't be told to go with anything at {version}: the family's rule doesn't say"
        ));
    };
    match release::way(family, &node.holder, version) {
        Ok(way) => {
            let label = world.label(node.device());
            let look = if way.hardware_unknown {
                Some(Look {
                    text: format!("Read the type on the label of {label}."),
                    minutes: world.scene.register.minutes().lookup("check.code", Some(family)),
                    supposes: format!("The plan supposes that its hardware can take {version}."),
                })
            } else if way.held_unknown {
                Some(Look {
                    text: format!("Look which firmware {label} holds."),
                    minutes: world.scene.register.minutes().lookup("check.firmware", Some(family)),
                    supposes: format!("The plan supposes that {version} must be written to it."),
                })
            } else {
                None
            };
            let cost = cost::flash(world, graph, at, &way.versions);
            into.push(Candidate { class, pick: Pick::Flash(way.versions), cost, look });
            None
        }
        Err(why) => Some(why.words(version)),
    }
}

/// The ways that are open to an end, and why others are not.
fn candidates(world: &World, graph: &Graph, at: usize, pool: &[String]) -> (Vec<Candidate>, Option<String>) {
    let node = &graph.nodes[at];
    let mut list = Vec::new();
    let mut refused = node.stays.clone();
    let any = node.family.as_ref().is_none_or(|family| family.versions == VersionRule::Any);
    let held = node.holder.holds.as_deref();
    let kept =
        node.version.as_ref().is_none_or(|(_, wished)| held.is_some_and(|held| release::same(held, wished)));
    if kept {
        let class = match (&node.family, held) {
            (Some(family), Some(held)) => release::class(family, held),
            _ => None,
        };
        let class = if any { Some(Vec::new()) } else { class };
        list.extend(class.map(|class| Candidate { class, pick: Pick::Keep, cost: 0, look: None }));
    }
    if node.stays.is_none() {
        match &node.version {
            Some((_, wished)) if !kept => {
                if let Some(why) = way(world, graph, at, wished, &mut list) {
                    refused = Some(why);
                }
            }
            Some(_) => {}
            None => {
                let known: Vec<String> = node.family.as_ref().map_or_else(Vec::new, |family| {
                    release::of_side(family, node.side)
                        .iter()
                        .map(|release| release.version.clone())
                        .collect()
                });
                let open = if known.is_empty() { pool } else { &known };
                for version in
                    open.iter().filter(|version| held.is_none_or(|held| !release::same(held, version)))
                {
                    if let Some(why) = way(world, graph, at, version, &mut list) {
                        refused.get_or_insert(why);
                    }
                }
            }
        }
    }
    (list, refused)
}

/// The replacement of a receiver, for a class in which it has no other way.
fn replacement(world: &World, graph: &Graph, at: usize, class: &[u32], pool: &[String]) -> Option<Candidate> {
    let node = &graph.nodes[at];
    // What is away or is to stay isn't taken out of its aircraft either.
    if node.stays.is_some() {
        return None;
    }
    node.replace?;
    let family = node.family.as_ref()?;
    let fits = |version: &&String| release::class(family, version).as_deref() == Some(class);
    let known: Vec<String> =
        release::of_side(family, node.side).iter().map(|release| release.version.clone()).collect();
    let wished = node.version.as_ref().map(|(_, version)| version.clone());
    let version = match wished {
        Some(version) => Some(version).filter(|version| fits(&version)),
        None => known.iter().chain(pool).find(fits).cloned(),
    }?;
    // What may be replaced and can't be makes no other way impossible.
    super::targets::by(world, node, &version).ok()?;
    let cost = cost::swap(world, graph, at);
    Some(Candidate { class: class.to_vec(), pick: Pick::Replace { version }, cost, look: None })
}

/// Settles versions.
pub(super) fn settle(
    world: &mut World,
    graph: &Graph,
    choices: &mut Vec<usize>,
    picks: &mut dyn Iterator<Item = usize>,
) -> Result<Vec<(Pick, Because)>, Trouble> {
    let mut out = vec![(Pick::Keep, Because::Repairs); graph.nodes.len()];
    let fails = |t: &Node, r: &Node| {
        let rules: Option<&Arc<Family>> = t.family.as_ref().or(r.family.as_ref());
        rules.is_some_and(|rules| rule::version(rules, &t.view.keys, &r.view.keys) != Status::Pass)
    };
    let joins = |a: &Node, b: &Node| {
        a.name == b.name && a.family.as_ref().is_some_and(|family| family.versions != VersionRule::Any)
    };
    for group in graph.components(joins) {
        let wished = |at: &usize| {
            let node = &graph.nodes[*at];
            node.version.as_ref().is_some_and(|(_, version)| {
                node.holder.holds.as_ref().is_none_or(|held| !release::same(held, version))
            })
        };
        let roots: Vec<usize> = group.iter().copied().filter(|at| wished(at)).collect();
        let broken = graph.links(&group).any(|(t, r)| joins(t, r) && fails(t, r));
        if roots.is_empty() && !broken {
            continue;
        }
        settle_group(world, graph, &group, &roots, choices, picks, &mut out)?;
    }
    Ok(out)
}

fn settle_group(
    world: &mut World,
    graph: &Graph,
    group: &[usize],
    roots: &[usize],
    choices: &mut Vec<usize>,
    picks: &mut dyn Iterator<Item = usize>,
    out: &mut [(Pick, Because)],
) -> Result<(), Trouble> {
    // What ends of families without a list of releases may follow to.
    let mut pool: Vec<String> = group
        .iter()
        .flat_map(|at| {
            let node = &graph.nodes[*at];
            node.version.iter().map(|(_, version)| version.clone()).chain(node.holder.holds.clone())
        })
        .collect();
    pool.sort_by_cached_key(|version| (std::cmp::Reverse(Version::parse(version)), version.clone()));
    pool.dedup();
    let open: Vec<(Vec<Candidate>, Option<String>)> =
        group.iter().map(|at| candidates(world, graph, *at, &pool)).collect();
    let mut classes: Vec<Vec<u32>> =
        open.iter().flat_map(|(list, _)| list.iter().map(|one| one.class.clone())).collect();
    // An end that can only be replaced may ask for a class of its own.
    classes.extend(group.iter().filter_map(|at| {
        let node = &graph.nodes[*at];
        let (_, version) = node.version.as_ref()?;
        release::class(node.family.as_ref()?, version)
    }));
    classes.sort();
    classes.dedup();
    let choose = |class: &[u32]| -> Option<(i64, Vec<Candidate>)> {
        let mut all = Vec::new();
        for (at, (list, _)) in group.iter().zip(&open) {
            // Of equally quick ones the first: the newest release.
            let own = list.iter().filter(|one| one.class == class).min_by_key(|one| one.cost).cloned();
            all.push(own.or_else(|| replacement(world, graph, *at, class, &pool))?);
        }
        Some((all.iter().map(|one| one.cost).sum(), all))
    };
    let mut ways: Vec<(i64, Vec<u32>, Vec<Candidate>)> = classes
        .iter()
        .filter_map(|class| choose(class).map(|(cost, all)| (cost, class.clone(), all)))
        .collect();
    ways.sort_by(|a, b| (a.0, std::cmp::Reverse(&a.1)).cmp(&(b.0, std::cmp::Reverse(&b.1))));
    let complete = ways.len() <= MOST_CHOICES;
    ways.truncate(MOST_CHOICES);
    if ways.is_empty() {
        // No pick of another group changes that.
        choices.clear();
        return Err(clash(world, graph, group, roots, &open));
    }
    choices.push(ways.len());
    let pick = picks.next().unwrap_or(0).min(ways.len() - 1);
    let (_, _, chosen) = ways.swap_remove(pick);
    world.complete &= complete;
    let parents = graph.parents(group, roots);
    for (at, candidate) in group.iter().zip(chosen) {
        if candidate.pick != Pick::Keep {
            world.looks.extend(candidate.look);
        }
        let because = match (&graph.nodes[*at].version, parents.get(at)) {
            (Some((wish, _)), _) => Because::Wished { wish: *wish },
            (None, Some((from, aircraft))) => {
                Because::Follows { other: graph.nodes[*from].device(), aircraft: *aircraft }
            }
            (None, None) => Because::Repairs,
        };
        out[*at] = (candidate.pick, because);
    }
    Ok(())
}

/// Why a group has no class that suits all of it.
fn clash(
    world: &World,
    graph: &Graph,
    group: &[usize],
    roots: &[usize],
    open: &[(Vec<Candidate>, Option<String>)],
) -> Trouble {
    let classes: Vec<BTreeSet<Vec<u32>>> =
        open.iter().map(|(list, _)| list.iter().map(|one| one.class.clone()).collect()).collect();
    // The end with the fewest ways against the first that shares none of them.
    for (at, here) in group.iter().enumerate() {
        if classes[at].is_empty() {
            let node = &graph.nodes[*here];
            let why = open[at].1.clone().unwrap_or_else(|| "can't be changed as wished".to_owned());
            let chain = graph.chain(world, roots, group, *here);
            return Trouble::Clash(join(&chain, &format!("{} {why}.", world.label(node.device()))));
        }
    }
    let mut starts: Vec<usize> = (0..group.len()).collect();
    starts.sort_by_key(|at| (!roots.contains(&group[*at]), *at));
    for at in starts {
        let Some(other) =
            (0..group.len()).find(|other| classes[at].iter().all(|class| !classes[*other].contains(class)))
        else {
            continue;
        };
        let (here, there) = (&graph.nodes[group[at]], &graph.nodes[group[other]]);
        let words = |node: &Node, at: usize| {
            node.family.as_ref().map_or_else(String::new, |family| {
                classes[at]
                    .iter()
                    .map(|class| release::class_words(family, class))
                    .collect::<Vec<_>>()
                    .join(" or ")
            })
        };
        let chain = graph.chain(world, &[group[at]], group, group[other]);
        let why = open[other].1.as_ref().map(|why| format!(" ({} {why})", world.label(there.device())));
        return Trouble::Clash(join(
            &chain,
            &format!(
                "{} can only be at {}, {} only at {}{}.",
                world.label(here.device()),
                words(here, at),
                world.label(there.device()),
                words(there, other),
                why.unwrap_or_default()
            ),
        ));
    }
    let names: Vec<String> = group.iter().map(|at| world.label(graph.nodes[*at].device())).collect();
    Trouble::Clash(format!(
        "{} must go together, and there is no version that all of them can hold.",
        names.join(", ")
    ))
}

pub(super) fn join(chain: &str, last: &str) -> String {
    if chain.is_empty() { last.to_owned() } else { format!("{chain} {last}") }
}
