//! The trail card: a decision tree for the field, on one page of paper.

use maud::{Markup, html};
use trails::card::{Branch, DEEPEST, Node, Then};
use trails::model::Model;
use trails::planner::Choice;
use trails::trail::Trail;

use super::parts::{each_once, no_stop, percent, sentence};
use super::step::ended;
use crate::form::{Form, Input, Typed, choice, hidden, send};
use crate::site::Site;
use crate::words;

/// What a card is for.
#[derive(Clone, Debug)]
pub struct Card<'a> {
    /// The model it was reckoned from.
    pub model: &'a Model,
    /// The tree.
    pub tree: &'a Node,
    /// How deep it was asked for.
    pub depth: u32,
    /// The gear, in words; empty for any gear.
    pub gear: &'a str,
    /// What fails for certain, and is lifted before the card begins.
    pub certain: &'a [String],
    /// Where the form asks again.
    pub address: &'a str,
}

/// A node with its number, and the numbers to which its branches lead.
struct Numbered<'a> {
    number: usize,
    node: &'a Node,
    to: Vec<Option<usize>>,
}

/// Numbers the nodes as they are met from the top, level by level.
fn numbered(tree: &Node) -> Vec<Numbered<'_>> {
    let mut list = vec![Numbered { number: 1, node: tree, to: Vec::new() }];
    let mut at = 0;
    while at < list.len() {
        let node = list[at].node;
        let mut to = Vec::new();
        for branch in &node.branches {
            if let Then::Node(next) = &branch.then {
                let number = list.len() + 1;
                list.push(Numbered { number, node: next, to: Vec::new() });
                to.push(Some(number));
            } else {
                to.push(None);
            }
        }
        list[at].to = to;
        at += 1;
    }
    list
}

/// How many characters of a card fit a sheet of A4 as it is printed, three columns wide
/// (measured with the shipped library; a sheet that is full of short lines holds less).
const SHEET: usize = 5600;

/// Whether a card fits one sheet of paper.
pub fn fits_a_sheet(model: &Model, tree: &Node) -> bool {
    let nodes = numbered(tree);
    let entries = nodes.iter().map(|one| read(&entry(model, one, first_of(&nodes, one)).into_string()));
    let proofs = model.proofs.iter().map(|proof| proof.text.chars().count() / 2);
    entries.chain(proofs).sum::<usize>() <= SHEET
}

/// How many characters of markup are read, not tags.
fn read(markup: &str) -> usize {
    let mut inside = false;
    let read = |c: &char| {
        inside = *c == '<' || inside && *c != '>';
        !inside && *c != '>'
    };
    markup.chars().filter(read).count()
}

/// The card, and a form to choose another depth.
pub fn page(site: &Site, card: &Card) -> Markup {
    let model = card.model;
    let nodes = numbered(card.tree);
    let steps: Vec<_> = nodes
        .iter()
        .filter_map(|one| if let Choice::Do(step) = one.node.choice { model.steps.get(step) } else { None })
        .collect();
    let cautions = each_once(steps.iter().flat_map(|step| step.cautions()));
    let depths: Vec<_> = (1..=DEEPEST).map(|depth| choice(&depth.to_string(), &depth.to_string())).collect();
    let typed = Typed::none();
    let form = Form::new("card", &typed);
    let body = html! {
        p.answer {
            "Begin at 1. From there a proven link, or giving up, is "
            (words::minutes(card.tree.expected)) " away on the mean."
        }
        @if !card.gear.is_empty() { p { (words::prose(card.gear)) } }
        @for says in card.certain { p { strong { "First, for certain: " } (words::prose(says)) } }
        (words::cautions(&cautions))
        ol.card {
            @for one in &nodes { (entry(model, one, first_of(&nodes, one))) }
        }
        p.small {
            "Each step is the one with the fewest expected minutes where the card leads to it. Weights and minutes are judgement. "
            "When it works: put back what was changed, then prove it: "
            @for (at, proof) in model.proofs.iter().enumerate() { @if at > 0 { " " } (words::prose(&proof.text)) }
            " Local rules and the maker's manual prevail."
        }
        form.no-print method="get" action=(card.address) {
            (hidden("symptom", &model.key))
            (form.select(Input::new("depth", "Steps deep").start(&card.depth.to_string()), &depths))
            p { (send("Reckon the card")) }
        }
    };
    site.page(&format!("Trail card: {}", model.name), &body)
}

/// Instead of a card, where nothing is to be searched for any more.
pub fn over(site: &Site, trail: &Trail) -> Markup {
    let body = html! {
        p.answer {
            @match (&trail.closed, &trail.helped) {
                (Some(closed), _) => { "This trail is closed: " (words::prose(&ended(trail, closed.outcome, &closed.cause))) }
                (None, Some(helped)) => {
                    "Something helped, so there is nothing to search for: " (words::prose(&sentence(&helped.what)))
                }
                (None, None) => "There is nothing to search for."
            }
        }
        @if trail.closed.is_none() {
            p { "What is left is to put back what was changed, and to prove it. Where a proof doesn't hold, the search goes on, and so does the card." }
        }
        ul.ways {
            li { a href={ "/fault/" (trail.id) } { "Where the trail stands" } }
            li { a href={ "/fault/" (trail.id) "/report" } { "Its report" } }
            li { a href={ "/faults/card?symptom=" (words::encode(&trail.model.key)) } { "A card of this symptom for any gear" } }
        }
    };
    site.page(&format!("Trail card: {}", trail.model.name), &body)
}

/// The place on the card where a step stands first: how it is done stands only there, so that
/// the card fits a page.
fn first_of(nodes: &[Numbered], one: &Numbered) -> usize {
    nodes.iter().find(|other| other.node.choice == one.node.choice).map_or(one.number, |other| other.number)
}

fn entry(model: &Model, one: &Numbered, first: usize) -> Markup {
    let node = one.node;
    html! {
        li id={ "n" (one.number) } value=(one.number) {
            @match node.choice {
                Choice::Do(step) => {
                    @let step = &model.steps[step];
                    p { strong { (words::prose(&step.label)) } " " (words::minutes(node.minutes)) }
                    @if first != one.number { p.small { "How: as at " a href={ "#n" (first) } { (first) } "." } }
                    @else if !step.how.is_empty() { p.small { (words::prose(&step.how)) } }
                }
                Choice::GiveUp => p { strong { "Give up: " (words::prose(model.give_up.as_ref().map_or("", |one| &one.label))) } }
                Choice::Stop => p { strong { "Nothing more in this list helps. Ask somebody who knows this gear." } }
            }
            @if !node.branches.is_empty() {
                ul.branches {
                    @for (branch, to) in node.branches.iter().zip(&one.to) { li { (leads(branch, *to)) } }
                }
            }
        }
    }
}

fn leads(branch: &Branch, to: Option<usize>) -> Markup {
    html! {
        (words::prose(no_stop(&branch.label))) " (" (percent(branch.chance)) "): "
        @match (&branch.then, to) {
            (Then::Node(_), Some(number)) => a href={ "#n" (number) } { "go to " (number) },
            (Then::Works, _) => "prove it.",
            (Then::Ends { likeliest }, _) => {
                "likeliest: "
                @for (at, (label, weight)) in likeliest.iter().enumerate() {
                    @if at > 0 { "; " }
                    (words::prose(no_stop(label))) " (" (percent(*weight)) ")"
                }
                "."
            },
            (Then::Node(_), None) => {},
        }
    }
}
