//! `links`: the verdicts on all links.

use anyhow::{Context as _, bail};
use register::field::Sort;
use register::fleet::Fleet;
use register::rule::{Rule, Status, Verdict};
use register::scene::Scene;
use register::tally::{Filter, Tally};
use register::verdict;
use register::view::Card;
use wire::answers::link::Link;

use super::Session;
use super::args;
use super::named;
use super::out::complain;
use super::table::Table;
use crate::workshop::now;

/// How many links a table lists, where nobody says.
const TABLE: usize = 100;
/// Up to so many are listed in JSON, where nobody says.
const ALL: u64 = 20_000;

/// Lists links.
pub fn links(session: &mut Session, args: &args::Links) -> anyhow::Result<()> {
    let workshop = session.workshop()?;
    let (register, fleet) = (workshop.register().clone(), workshop.fleet().clone());
    let scene = Scene::new(&register);
    let tally = Tally::of(&fleet);
    let filter = filter(&scene, &fleet, &tally, args)?;
    let total = tally.page(&fleet, &filter, 0, 0).total;
    let usual = if !session.out.json || total > ALL { TABLE } else { usize::MAX };
    let limit = args.limit.unwrap_or(usual);
    let page = tally.page(&fleet, &filter, args.offset, limit);
    let listed = page.links.iter().filter_map(|(transmitter, receiver)| {
        Some((fleet.transmitters.get(*transmitter)?, fleet.receivers.get(*receiver)?))
    });
    if session.out.json {
        let now = now();
        session.out.answers(listed.map(|(t, r)| Link::of(&scene, &fleet, t, r, now)))?;
        if args.limit.is_none() && total > ALL {
            session.out.flush()?;
            complain(&format!(
                "holdfast: {} of {total} links listed; choose with filters, or page with --offset and --limit",
                page.links.len()
            ));
        }
        return Ok(());
    }
    let is_filtered = filter != Filter::default();
    if total == 0 {
        let words = match (is_filtered, fleet.transmitters.is_empty(), fleet.receivers.is_empty()) {
            (true, false, false) => "No link is like that.",
            (_, true, _) => "There is no transmitter yet; `add transmitter CODE` makes one.",
            _ => "There is no receiver yet; `add receiver CODE` makes one.",
        };
        session.out.line(words)?;
        return Ok(());
    }
    session.out.line(&sentence(&tally, &fleet, &filter, total))?;
    session.out.gap()?;
    let mut table = Table::new(&["transmitter", "receiver", "aircraft", "verdict", "why"]);
    for (transmitter, receiver) in listed {
        let link = verdict::link(&scene, transmitter, receiver);
        table.row(&[
            link.transmitter.label(),
            link.receiver.label(),
            link.aircraft.as_ref().map(Card::label).unwrap_or_default(),
            link.verdict().word().to_owned(),
            why(&link),
        ]);
    }
    if table.is_empty() {
        session.out.line("None from there on; a smaller --offset shows more.")?;
        return Ok(());
    }
    table.write(&mut session.out)?;
    let shown = page.links.len() as u64;
    if args.offset + shown < total {
        session.out.gap()?;
        session.out.line(&format!(
            "{} to {} of {total}; --offset {} shows what follows.",
            args.offset + 1,
            args.offset + shown,
            args.offset + shown
        ))?;
    }
    Ok(())
}

/// The worst reason.
fn why(link: &verdict::Link) -> String {
    let worst = link.findings.iter().map(|finding| finding.status).max();
    link.findings
        .iter()
        .find(|finding| Some(finding.status) == worst && finding.status != Status::Pass)
        .map(|finding| finding.text.clone())
        .unwrap_or_default()
}

fn counted(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn sentence(tally: &Tally, fleet: &Fleet, filter: &Filter, total: u64) -> String {
    let of = |verdict: Verdict| {
        let one = Filter { verdict: Some(verdict), ..filter.clone() };
        tally.page(fleet, &one, 0, 0).total
    };
    let links = if total == 1 { "1 link".to_owned() } else { format!("{total} links") };
    if filter.verdict.is_some() {
        return format!("{links}.");
    }
    let mut words = format!(
        "{links}: {}, {}, {}.",
        counted(of(Verdict::Links), "holds", "hold"),
        counted(of(Verdict::Blocked), "is blocked", "are blocked"),
        counted(of(Verdict::Unknown), "is not known", "are not known")
    );
    if *filter == Filter::default() {
        let wanted = tally.wanted();
        let held = wanted.verdict(Verdict::Links);
        let do_words = if held == 1 { "does" } else { "do" };
        let more = format!(" Of the {} that are meant to hold, {held} {do_words}.", wanted.links);
        words.push_str(&more);
    }
    words
}

fn filter(scene: &Scene, fleet: &Fleet, tally: &Tally, args: &args::Links) -> anyhow::Result<Filter> {
    let place = |name: &Option<String>, sort: Sort| -> anyhow::Result<Option<usize>> {
        let Some(name) = name else { return Ok(None) };
        let id = named::device(scene, name, Some(sort))?;
        let (_, at) = fleet
            .place(id)
            .with_context(|| format!("the {} {name} is sold or destroyed and has no links", sort.word()))?;
        Ok(Some(at))
    };
    let family = match &args.family {
        None => None,
        Some(name) => Some(family(tally, name)?),
    };
    Ok(Filter {
        verdict: args.verdict.map(args::Verdict::verdict),
        reason: args.rule.as_deref().map(reason).transpose()?,
        transmitter: place(&args.transmitter, Sort::Transmitter)?,
        receiver: place(&args.receiver, Sort::Receiver)?,
        aircraft: match &args.aircraft {
            None => None,
            Some(name) => Some(named::device(scene, name, Some(Sort::Aircraft))?),
        },
        family,
        wanted_only: args.wanted,
    })
}

fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

fn family(tally: &Tally, name: &str) -> anyhow::Result<String> {
    let families = tally.families();
    match families.iter().find(|family| squeezed(family) == squeezed(name)) {
        Some(family) => Ok((*family).to_owned()),
        None if families.is_empty() => bail!("no link has a family yet"),
        None => bail!(
            "no link is of the family `{}`; there are {}",
            name.chars().take(60).collect::<String>(),
            families.join(", ")
        ),
    }
}

fn reason(text: &str) -> anyhow::Result<(Rule, Status)> {
    let (rule, status) = text.split_once('=').unwrap_or((text, "fail"));
    let rule = Rule::from_word(&rule.replace('-', "_")).with_context(|| {
        let rules: Vec<&str> = Rule::ALL.iter().map(|rule| rule.word()).collect();
        format!("--rule must be one of {}", rules.join(", "))
    })?;
    let status = [Status::Pass, Status::Unknown, Status::Fail]
        .into_iter()
        .find(|one| one.word() == status)
        .context("the status behind the = of --rule must be pass, fail or unknown")?;
    Ok((rule, status))
}
