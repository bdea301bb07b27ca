//! Which link secret each end comes to: all ends that links hold together hold the same.

use register::family::SecretRule;
use register::rule::{self, Status};
use register::value::SecretMark;
use register::view::{SecretKey, secret_is_told};

use super::targets::{Because, Graph, Node, Pick};
use super::versions::join;
use super::{Trouble, World};

fn key(mark: &SecretMark) -> Option<SecretKey> {
    match mark {
        SecretMark::Blank => Some(SecretKey::Blank),
        SecretMark::Print { key, print } => Some(SecretKey::Print(*key, *print)),
        SecretMark::SameAs(_) => None,
    }
}

fn equal_rule(node: &Node) -> Option<(bool, bool)> {
    match node.family.as_ref()?.secret {
        SecretRule::Equal { blank_allowed, links_unpaired } => Some((blank_allowed, links_unpaired)),
        SecretRule::Absent => None,
    }
}

/// What an end is known to hold.
fn held(node: &Node) -> Option<SecretKey> {
    match node.view.keys.secret.as_slice() {
        [one] if secret_is_told(&node.view) => Some(one.clone()),
        _ => None,
    }
}

/// How many link secrets of each group of ends are looked into.
const MOST_WAYS: usize = 4;

/// Settles link secrets.
pub(super) fn settle(
    world: &mut World,
    graph: &Graph,
    versions: &[(Pick, Because)],
    choices: &mut Vec<usize>,
    picks: &mut dyn Iterator<Item = usize>,
) -> Result<Vec<(Option<SecretMark>, Because)>, Trouble> {
    let mut out = vec![(None, Because::Repairs); graph.nodes.len()];
    let mut complete = true;
    let joins = |a: &Node, b: &Node| a.name == b.name && equal_rule(a).is_some();
    for group in graph.components(joins) {
        let wants = |at: &usize| {
            let node = &graph.nodes[*at];
            node.secret.as_ref().is_some_and(|(_, mark)| key(mark) != held(node))
        };
        let roots: Vec<usize> = group.iter().copied().filter(|at| wants(at)).collect();
        let broken = graph.links(&group).any(|(t, r)| {
            joins(t, r)
                && t.family
                    .as_ref()
                    .is_some_and(|rules| rule::secret(rules, &t.view, &r.view) == Status::Fail)
        });
        if roots.is_empty() && !broken {
            continue;
        }
        let mut marks: Vec<SecretMark> = group
            .iter()
            .filter_map(|at| graph.nodes[*at].secret.as_ref().map(|(_, mark)| mark.clone()))
            .collect();
        if marks.is_empty() {
            marks = group
                .iter()
                .flat_map(|at| graph.nodes[*at].view.secret.options.iter().map(|(mark, _)| mark.clone()))
                .collect();
        }
        marks.retain(|mark| key(mark).is_some());
        marks.sort();
        marks.dedup();
        let alone = group.len() == 1;
        let cost = |mark: &SecretMark| -> Option<i64> {
            let wanted = key(mark)?;
            let mut sum = 0;
            for at in &group {
                let node = &graph.nodes[*at];
                let blank_allowed = equal_rule(node).is_none_or(|(blank, _)| blank);
                if wanted == SecretKey::Blank && !blank_allowed && !alone {
                    return None;
                }
                if held(node).as_ref() == Some(&wanted) && !matches!(versions[*at].0, Pick::Replace { .. }) {
                    continue;
                }
                let other = node.secret.as_ref().is_some_and(|(_, own)| own != mark);
                if other || node.stays.is_some() {
                    return None;
                }
                let minutes =
                    world.scene.register.minutes().lookup("mend.set_secret", node.family.as_deref());
                sum += minutes.hundredths();
            }
            Some(sum)
        };
        let mut ways: Vec<(i64, SecretMark)> =
            marks.iter().filter_map(|mark| cost(mark).map(|cost| (cost, mark.clone()))).collect();
        ways.sort();
        complete &= ways.len() <= MOST_WAYS;
        ways.truncate(MOST_WAYS);
        if ways.is_empty() {
            return Err(clash(world, graph, &group, &roots, &marks));
        }
        choices.push(ways.len());
        let (_, mark) = ways.swap_remove(picks.next().unwrap_or(0).min(ways.len() - 1));
        let parents = graph.parents(&group, &roots);
        for at in &group {
            let node = &graph.nodes[*at];
            if held(node) == key(&mark) && !matches!(versions[*at].0, Pick::Replace { .. }) {
                continue;
            }
            let because = match (&node.secret, parents.get(at)) {
                (Some((wish, _)), _) => Because::Wished { wish: *wish },
                (None, Some((from, aircraft))) => {
                    Because::Follows { other: graph.nodes[*from].device(), aircraft: *aircraft }
                }
                (None, None) => Because::Repairs,
            };
            out[*at] = (Some(mark.clone()), because);
        }
    }
    world.complete &= complete;
    Ok(out)
}

fn clash(world: &World, graph: &Graph, group: &[usize], roots: &[usize], marks: &[SecretMark]) -> Trouble {
    for at in group {
        let node = &graph.nodes[*at];
        if let Some(why) = &node.stays {
            let wanted = marks.iter().any(|mark| key(mark) == held(node));
            if !wanted || marks.len() == 1 {
                let chain = graph.chain(world, roots, group, *at);
                let last = format!("{} {why}, and holds another link secret.", world.label(node.device()));
                return Trouble::Clash(join(&chain, &last));
            }
        }
    }
    let names: Vec<String> = group.iter().map(|at| world.label(graph.nodes[*at].device())).collect();
    if marks.is_empty() {
        return Trouble::Clash(format!(
            "{} must hold the same link secret, and it is only known whose they share: type the link secret once.",
            names.join(", ")
        ));
    }
    let why = if marks.iter().all(|mark| *mark == SecretMark::Blank) {
        "their family lets no two blank ends pair"
    } else {
        "they are wished to hold different link secrets, or may not be changed"
    };
    Trouble::Clash(format!("{} must hold the same link secret, and {why}.", names.join(", ")))
}
