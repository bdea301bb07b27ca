//! What is said of the failsafe: the settings, the time line, the place to search.

use fitting::aircraft::Written;
use fitting::failsafe::{Answer, Failsafe};
use maud::{Markup, html};

use super::{area, block, course};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

pub(super) fn answer(site: &Site, one: &Written<Failsafe, Answer>) -> Markup {
    match &one.read {
        Err(problems) => {
            html! { p.answer { "The failsafe can't be read." } (block::problems(problems)) (block::written(site, one)) }
        }
        Ok((failsafe, answer)) => html! {
            p.answer { (words::prose(&answer.sentence)) }
            (block::written(site, one))
            (channels(failsafe))
            (block::findings(&answer.findings))
            section aria-labelledby="after-loss" {
                h2 id="after-loss" { "From the last good packet to the ground" }
                @match &answer.timeline {
                    Ok(timeline) => { p { (words::prose(&timeline.sentence)) } div.beside { (course::figure(timeline)) div { (course::table(timeline)) } } },
                    Err(why) => p { (words::prose(&why.to_string())) },
                }
            }
            // Why there is no way down is why there is no place.
            @if let Ok(search) = &answer.search {
                section aria-labelledby="where" {
                        h2 id="where" { "Where to look" }
                        ol { @for one in &search.look { li { (words::prose(one)) } } }
                        @if !search.cautions.is_empty() {
                            div.caution role="note" { @for one in &search.cautions { p { strong { "Caution: " } (words::prose(one)) } } }
                        }
                        div.beside {
                            (area::figure(failsafe, search, answer.timeline.as_ref().ok()))
                            div { (area::table(failsafe, search)) }
                        }
                }
            }
            (block::sentences("reckoned-with", "What it was reckoned with", &assumptions(answer)))
        },
    }
}

/// Those of the time line and of the search, each once.
fn assumptions(answer: &Answer) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let first = answer.timeline.iter().flat_map(|one| &one.assumptions);
    for one in first.chain(answer.search.iter().flat_map(|one| &one.assumptions)) {
        if !out.contains(one) {
            out.push(one.clone());
        }
    }
    out
}

fn channels(failsafe: &Failsafe) -> Markup {
    html! {
        @if !failsafe.channels.is_empty() {
            table.figures {
                caption { "Without a link, as written" }
                thead { tr { th scope="col" { "Channel" } th scope="col" { "Moves" } th scope="col" { "Goes" } } }
                tbody {
                    @for channel in &failsafe.channels {
                        tr {
                            th scope="row" { (channel.number) }
                            td { (words::name(&channel.function)) }
                            td.number {
                                (capital(&channel.action.word().replace('-', " ")))
                                @if let Some(value) = channel.value { (format!(" {:.0} µs", value.0)) }
                            }
                        }
                    }
                }
            }
        }
    }
}
