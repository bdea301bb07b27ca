//! What is said of the supply: the staircase of voltage, the loads as a table, what helps.

use fitting::aircraft::Written;
use fitting::supply::{Answer, Case, Change, Load, Outcome, Point, Regulation, Supply};
use maud::{Markup, html};
use units::Volts;

use super::{block, staircase};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

pub(super) fn volts(volts: Volts) -> String {
    format!("{:.2} V", volts.0)
}

pub(super) fn answer(site: &Site, one: &Written<Supply, Answer>, case: Option<usize>) -> Markup {
    match &one.read {
        Err(problems) => {
            html! { p.answer { "The supply can't be read." } (block::problems(problems)) (block::written(site, one)) }
        }
        Ok((supply, answer)) => html! {
            p.answer { (words::prose(&answer.sentence)) }
            (block::written(site, one))
            (chosen(supply, answer, case))
            (loads(answer))
            p { (words::prose(&answer.endurance.sentence)) }
            (block::findings(&answer.findings))
            (helps(answer))
            p.small { (words::prose(&answer.capacitor.text)) }
            (block::sentences("taken", "What was taken because it isn't written down", &answer.taken))
            p.small { "Steady loads only: the first milliseconds of a jerk are not in it. A measurement at the receiver with everything stirred prevails." }
        },
    }
}

/// The case that is drawn: the one asked for, else the worst that holds, else the first.
fn pick(answer: &Answer, case: Option<usize>) -> Option<usize> {
    let first = (!answer.cases.is_empty()).then_some(0);
    case.filter(|at| *at < answer.cases.len()).or_else(|| answer.worst_held()).or(first)
}

fn chosen(supply: &Supply, answer: &Answer, case: Option<usize>) -> Markup {
    let Some(at) = pick(answer, case) else { return html! {} };
    let drawn = &answer.cases[at];
    html! {
        section aria-labelledby="drawn" {
            h2 id="drawn" { "Where the voltage goes: " (words::name(&drawn.name)) }
            form.pick method="get" {
                div.field {
                    label for="case" { "Another load" }
                    select id="case" name="case" {
                        @for (number, one) in answer.cases.iter().enumerate() {
                            option value=(number) selected[number == at] { (words::clip(&capital(&one.name))) ": " (outcome(&one.outcome)) }
                        }
                    }
                }
                p { button.plain type="submit" { "Draw it" } }
            }
            @match &drawn.outcome {
                Outcome::Collapse { why } => p.problems { strong { "Collapse: " } (words::prose(why)) },
                Outcome::Held(point) | Outcome::Reset(point) => {
                    @if let Outcome::Reset(_) = drawn.outcome { p.problems { strong { "The receiver resets at this voltage." } } }
                    div.beside { (staircase::figures(supply, &drawn.name, point)) div { (stages(point)) } }
                }
            }
        }
    }
}

fn stages(point: &Point) -> Markup {
    let several = point.feeds.len() > 1;
    html! {
        table.figures.stack {
            caption { "Step by step" }
            thead { tr { th scope="col" { "What" } th scope="col" { "In" } th scope="col" { "Out" } th scope="col" { "Lost" } th scope="col" { "Current" } th scope="col" { "Heat" } } }
            tbody {
                @for stage in &point.chain {
                    tr {
                        th scope="row" { (words::name(&capital(&stage.name))) @if several { small.source { ", " (words::name(&stage.pack)) } } }
                        td.number data-label="In" { (volts(stage.volts_in)) }
                        td.number data-label="Out" { (volts(stage.volts_out)) }
                        td.number data-label="Lost" { (volts(Volts(stage.volts_in.0 - stage.volts_out.0))) }
                        td.number data-label="Current" { (format!("{:.2} A", stage.amps.0)) }
                        td.number data-label="Heat" { (format!("{:.2} W", stage.lost.0)) }
                    }
                }
                tr {
                    th scope="row" { "At the receiver" }
                    td {} td.number data-label="Out" { strong { (volts(point.receiver_v)) } } td {}
                    td.number data-label="Current" { (format!("{:.2} A", point.amps.0)) } td {}
                }
                @for servo in &point.servos {
                    tr {
                        th scope="row" { "At " (words::name(&servo.name)) @if servo.count > 1 { ", each of " (servo.count) } }
                        td {} td.number data-label="Out" { (volts(servo.volts)) } td {}
                        td.number data-label="Current" { (format!("{:.2} A", servo.amps.0)) }
                        td.number data-label="Heat of the leads" { (format!("{:.2} W", servo.lost.0)) }
                    }
                }
            }
        }
        @for feed in &point.feeds {
            p.small {
                (words::name(&feed.pack)) ": " (format!("{:.2} A drawn, ", feed.amps.0))
                @if feed.motor.0 > 0.0 { (format!("{:.2} A of it by the motor, ", feed.motor.0)) }
                (format!("{:.2} V a cell", feed.cell_v.0))
                @if let Some(regulator) = &feed.regulator {
                    "; its " (regulator.kind.word()) " regulator "
                    @match regulator.holds { Regulation::Holds => "holds its voltage", Regulation::DroppedOut => strong.flag { "follows its input down" }, Regulation::AtLimit => strong.flag { "is at its limit" } }
                    ", " (format!("{:.1} W of heat", regulator.heat.0))
                    @if let Some(junction) = regulator.junction { (format!(", its chip at {:.0} °C if this lasts", junction.0)) }
                }
                "."
            }
        }
        p.small { (format!("Out of the packs {:.2} W: {:.2} W into {}, {:.2} W turned to heat on the way.", point.balance.out.0, point.balance.loads.0, if point.balance.motors.0 > 0.0 { "motor, receiver and servos" } else { "receiver and servos" }, point.balance.lost.0)) }
    }
}

fn outcome(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Held(point) => volts(point.receiver_v),
        Outcome::Reset(point) => format!("{}, reset", volts(point.receiver_v)),
        Outcome::Collapse { .. } => "collapse".to_owned(),
    }
}

fn cell(case: Option<(usize, &Case)>) -> Markup {
    html! {
        @if let Some((at, case)) = case {
            a href={ "?case=" (at) "#drawn" } {
                @match &case.outcome {
                    Outcome::Held(point) => (volts(point.receiver_v)),
                    Outcome::Reset(point) => { (volts(point.receiver_v)) " " strong.flag { "reset" } },
                    Outcome::Collapse { .. } => strong.flag { "collapse" },
                }
                span.quiet { ", draw " (words::clip(&case.name)) }
            }
        }
    }
}

/// The voltage at the receiver: a row a load, a column a charge.
fn loads(answer: &Answer) -> Markup {
    let mut failed: Vec<Option<&String>> = Vec::new();
    for case in &answer.cases {
        if !failed.contains(&case.failed.as_ref()) {
            failed.push(case.failed.as_ref());
        }
    }
    html! {
        @for failed in failed {
            @let of: Vec<(usize, &Case)> = answer.cases.iter().enumerate().filter(|(_, case)| case.failed.as_ref() == failed).collect();
            @let charges = distinct(of.iter().map(|(_, case)| case.charge));
            @let rows = distinct(of.iter().map(|(_, case)| case.load.clone()));
            div.scroll {
                table.figures.loads {
                    caption { "Voltage at the receiver" @match failed { None => {}, Some(pack) => { ", " (words::name(pack)) " failed" } } }
                    thead { tr { th scope="col" { "Load" } @for charge in &charges { th scope="col" { "Packs " (charge.words()) } } } }
                    tbody {
                        @for load in &rows {
                            tr {
                                th scope="row" { (words::name(&capital(&load_words(&of, load)))) }
                                @for charge in &charges {
                                    td.number { (cell(of.iter().copied().find(|(_, case)| case.load == *load && case.charge == *charge))) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A load as its cases call it.
fn load_words(of: &[(usize, &Case)], load: &Load) -> String {
    of.iter().find(|(_, case)| case.load == *load).map_or_else(String::new, |(_, case)| case.load_words())
}

fn distinct<T: PartialEq>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut out = Vec::new();
    for one in all {
        if !out.contains(&one) {
            out.push(one);
        }
    }
    out
}

fn change(change: Change) -> Markup {
    match (change.before, change.after, change.gain()) {
        (_, _, Some(gain)) => html! { (format!("{:+.2} V", gain.0)) },
        (None, Some(after), _) => html! { "holds at " (volts(after)) },
        (Some(_), None, _) => html! { strong.flag { "collapse" } },
        _ => html! { "still collapse" },
    }
}

fn helps(answer: &Answer) -> Markup {
    html! {
        @if !answer.helps.is_empty() {
            section aria-labelledby="helps" {
                h2 id="helps" { "What helps most" }
                table.stack {
                    caption { "Change of the voltage at the receiver, packs low" }
                    thead { tr { th scope="col" { "Change" } th scope="col" { "At rest" } th scope="col" { "Hard manoeuvre" } th scope="col" { "All stalled" } th scope="col" { "Lasts" } } }
                    tbody {
                        @for help in &answer.helps {
                            tr {
                                th scope="row" { (block::told(&help.text)) }
                                td.number data-label="At rest" { (change(help.rest)) }
                                td.number data-label="Hard manoeuvre" { (change(help.hard)) }
                                td.number data-label="All stalled" { (change(help.stall)) }
                                td.number data-label="Lasts" { @if let Some((before, after)) = help.minutes { (format!("{:.0} instead of {:.0} min", after.0, before.0)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
