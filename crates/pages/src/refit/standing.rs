//! `GET /refit/{id}`: where a refit stands, each step a check box.

use maud::{Markup, html};
use refits::follow::{Standing, Ticked, code};
use refits::layout::Night;
use register::id::DeviceId;
use register::refit::{Ending, RefitLog, Wish};
use register::scene::Scene;

use super::clash::{self, Why};
use super::evenings::{As, steps};
use super::{flights, parts};
use crate::form::{Choice, Form, Input, Typed, choice, hidden, send, send_main};
use crate::reading::capital;
use crate::site::Site;
use crate::words;

/// What the page of a refit needs.
#[derive(Clone, Copy, Debug)]
pub struct Follow<'a> {
    /// Its entries.
    pub log: &'a RefitLog,
    /// Where it stands.
    pub standing: &'a Standing,
    /// What it is called on the command line.
    pub short: &'a str,
    /// The evenings that are wished for, as a person types them (`4x120`); may be empty.
    pub evenings: &'a str,
    /// What somebody asked to put off.
    pub put_off: Option<DeviceId>,
}

/// How far a refit was when a page of it was made; forms that name wishes by their place send it
/// back as `at`.
pub fn mark(log: &RefitLog) -> String {
    log.events.last().map_or(log.begun.entry, |mark| mark.entry).to_string()
}

/// The form that ticks steps of an evening.
pub fn tick_form(evening: u32) -> String {
    format!("tick-{evening}")
}

/// So many evenings that have steps left stand open.
const OPEN: usize = 3;

/// What the parts of the page need.
struct On<'a> {
    site: &'a Site,
    scene: &'a Scene<'a>,
    follow: &'a Follow<'a>,
    typed: &'a Typed,
}

/// Where a refit stands. Forms post to `/refit/{id}/ACTION`: `tick` (form [`tick_form`]: `step`,
/// several; with `all`, every `of`), `untick` (`step`), `defer` (`what`, `until`), `replan`
/// (`at`, `keep`: places of wishes, `evenings`, `from`, `left`, `more`), `end` (`how`).
pub fn page(site: &Site, scene: &Scene, follow: &Follow, typed: &Typed) -> Markup {
    let on = On { site, scene, follow, typed };
    let standing = follow.standing;
    let open = standing.ended.is_none();
    let body = html! {
        div.refit {
            p.answer { (words::prose(&standing.sentence())) }
            @if open { (on.why_anew()) }
            @if let Some(plan) = standing.plan.as_ref().filter(|_| open) {
                (parts::no_way_back(plan))
                (flights::table(plan))
            }
            (on.evenings())
            @if open && standing.finished() {
                (on.post("done", "end", &html! { (hidden("how", Ending::Done.word())) (send_main("End it: all is done")) }))
            }
            @if open && standing.lines().next().is_some() {
                ul.ways { li { a href={ "/refit/" (standing.id) "/paper" } { "Print it for the bench" } } }
            }
            @if open { (on.put_off()) (on.plan_anew()) }
            (on.wished())
            @if open { (on.give_up()) }
            p.small {
                "Begun " (words::minute(standing.begun)) ". On the command line: " code { "refit show " (follow.short) }
            }
        }
    };
    site.page(&standing.name, &body)
}

/// There is no new plan of the rest: why, and the form once more.
pub fn no_plan(site: &Site, scene: &Scene, follow: &Follow, why: &Why, typed: &Typed) -> Markup {
    let on = On { site, scene, follow, typed };
    let body = html! {
        div.refit {
            (clash::answer(site, why))
            p { "The plan of " a href={ "/refit/" (follow.standing.id) } { (words::name(&follow.standing.name)) } " stays as it is." }
            h2 { "Plan the rest anew" }
            (on.replan_form())
        }
    };
    site.page("No new plan", &body)
}

impl On<'_> {
    fn standing(&self) -> &Standing {
        self.follow.standing
    }

    fn post(&self, key: &str, action: &str, body: &Markup) -> Markup {
        let to = format!("/refit/{}/{action}", self.standing().id);
        Form::new(key, self.typed).post(self.site, &to, body)
    }

    /// Why the rest should be planned anew, and the button that does.
    fn why_anew(&self) -> Markup {
        let standing = self.standing();
        html! {
            @if !standing.stale.is_empty() {
                section.problems aria-labelledby="anew" {
                    h2 id="anew" { "The plan doesn't fit any more" }
                    ul { @for why in &standing.stale { li { (words::prose(why)) } } }
                }
                (self.post("anew", "replan", &html! {
                    (hidden("at", &mark(self.follow.log)))
                    (self.keep_all())
                    (send_main("Plan the rest anew"))
                }))
            }
        }
    }

    fn keep_all(&self) -> Markup {
        html! { @for at in 0..self.follow.log.wishes().len() { (hidden("keep", &at.to_string())) } }
    }

    fn evenings(&self) -> Markup {
        let standing = self.standing();
        let open = standing.ended.is_none();
        let all = standing.evenings();
        let fits = standing.stale.is_empty();
        let (left, over): (Vec<_>, Vec<_>) =
            all.iter().partition(|(_, _, left)| open && left.is_some_and(|night| !night.lines.is_empty()));
        html! {
            @for (number, done, _) in &over { (self.evening(*number, done, None, !open && over.len() == 1, false)) }
            div.evenings {
                @for (at, (number, done, night)) in left.iter().enumerate() {
                    (self.evening(*number, done, *night, at < OPEN, at == 0 && fits))
                }
            }
        }
    }

    fn evening(
        &self,
        number: u32,
        done: &[&Ticked],
        left: Option<&Night>,
        open: Shown,
        main: Shown,
    ) -> Markup {
        let key = tick_form(number);
        let open = open || self.typed.sent(&key);
        html! {
            details.evening open[open] {
                summary {
                    h2 id={ "evening-" (number) } {
                        "Evening " (number) ", "
                        @match left {
                            Some(night) => (flights::filled(night)),
                            None if self.standing().ended.is_some() => { (words::counted(done.len() as u64, "step", "steps")) " done" },
                            None => "done",
                        }
                    }
                }
                (self.done(number, done))
                @if let Some(night) = left {
                    @if night.most_grounded > 0 {
                        p.small { "At most " (words::count(night.most_grounded as u64)) " grounded at once while it goes on." }
                    }
                    (self.to_do(&key, night, main))
                }
            }
        }
    }

    fn to_do(&self, key: &str, night: &Night, main: Shown) -> Markup {
        let put_off = format!("/refit/{}?put-off=", self.standing().id);
        self.post(key, "tick", &html! {
            (steps(self.scene, night, As::Boxes { put_off: &put_off, form: key, typed: self.typed }))
            @for line in &night.lines { (hidden("of", &line.step.key)) }
            @let these = html! { "Tick these" span.quiet { " of evening " (night.number) } };
            @if main { p.main-action { button.main type="submit" { (these) } } } @else { p { button.plain type="submit" { (these) } } }
            p {
                button.plain type="submit" name="all" value="1" { "Tick all of evening " (night.number) }
                " " a.edit href={ "/refit/" (self.standing().id) "/paper?evening=" (night.number) } { "print this evening" span.quiet { ", evening " (night.number) } }
            }
        })
    }

    fn done(&self, number: u32, done: &[&Ticked]) -> Markup {
        if done.is_empty() {
            return html! {};
        }
        self.post(&format!("untick-{number}"), "untick", &html! {
            ul.steps-list.is-done {
                @for one in done {
                    li {
                        p.boxed {
                            span.box.ticked aria-hidden="true" {}
                            span { span.quiet { "Done: " } (words::prose(&one.text)) " " code.step-code { (code(&one.key)) } " "
                                small { "ticked " (words::ago(self.site.now.days_since(one.seen))) } " "
                                button.take-back type="submit" name="step" value=(one.key) { "take back" span.quiet { ": " (words::clip(&one.text)) } }
                            }
                        }
                    }
                }
            }
        })
    }

    /// What can be put off: what is left, or, where that can't be laid out, what was planned.
    fn left(&self) -> Vec<DeviceId> {
        let standing = self.standing();
        let mut all: Vec<DeviceId> = Vec::new();
        let lines = standing.lines().map(|(_, line)| line.step.what);
        let placed = self.follow.log.placed().iter().map(|one| one.what).filter(|_| standing.plan.is_none());
        for what in lines.chain(placed).filter(|what| *what != DeviceId::WORKSHOP) {
            if !all.contains(&what) {
                all.push(what);
            }
        }
        all
    }

    fn put_off(&self) -> Markup {
        let left = self.left();
        let put_off = &self.standing().put_off;
        if left.is_empty() && put_off.is_empty() {
            return html! {};
        }
        let form = Form::new("defer", self.typed);
        let chosen = self
            .follow
            .put_off
            .filter(|what| left.contains(what))
            .map(|what| what.to_string())
            .unwrap_or_default();
        let choices: Vec<Choice> = std::iter::once(choice("", "choose"))
            .chain(left.iter().map(|what| (what.to_string(), parts::full(self.scene, *what))))
            .collect();
        html! {
            details id="put-off" open[!chosen.is_empty() || self.typed.sent("defer")] {
                summary { "Put something off" }
                @if !put_off.is_empty() {
                    ul { @for (what, until) in put_off { li { (parts::device(self.scene, *what)) ": not before evening " (until) } } }
                }
                @if !left.is_empty() {
                    p { "It isn't worked on before a later evening; then the rest is planned anew." }
                    (self.post("defer", "defer", &html! {
                        div.fields {
                            (form.select(Input::new("what", "What").start(&chosen).required(), &choices))
                            (form.text(Input::new("until", "Not before evening").hint("Left empty: the one after that in which it stands").longest(4)))
                        }
                        p { (send("Put it off")) }
                    }))
                }
            }
        }
    }

    fn plan_anew(&self) -> Markup {
        html! {
            details id="replan" open[self.typed.sent("replan")] {
                summary { "Plan the rest anew" }
                p { "What is done stays done; what is left gets the best evenings as things stand now. You see the new plan before it takes the place of this one." }
                (self.replan_form())
            }
        }
    }

    fn replan_form(&self) -> Markup {
        let form = Form::new("replan", self.typed);
        let wishes: Vec<Choice> = self
            .follow
            .log
            .wishes()
            .iter()
            .enumerate()
            .filter(|(_, wish)| !matches!(wish, Wish::Evenings { .. }))
            .map(|(at, wish)| (at.to_string(), capital(&refits::words::wish(self.scene, wish))))
            .collect();
        let all: Vec<&str> = wishes.iter().map(|(at, _)| at.as_str()).collect();
        self.post("replan", "replan", &html! {
            (hidden("at", &mark(self.follow.log)))
            (form.boxes(Input::new("keep", "Still wished"), &wishes, &all))
            (form.text(Input::new("evenings", "Evenings").start(self.follow.evenings).hint("4x120, or 120,90,120: the minutes of all from the first, those that are over included; left empty, as many as it takes")))
            div.fields {
                (form.text(Input::new("from", "From evening").hint("Left empty: the next that hasn't begun").longest(4)))
                (form.number(Input::new("left", "Minutes left of it").hint("Where that evening has begun").longest(8)))
            }
            (form.area(Input::new("more", "More wishes, one a line").hint("As on the page that plans a refit: fly=A3:2, stay=R9, let-go=A7:T2"), 3))
            details open[self.typed.error("replan", "secret").is_some()] {
                summary { "A new link secret" }
                (form.secret(Input::new("secret", "The new link secret").hint("For a line secret=… above; only a fingerprint of it is kept")))
            }
            p { (send("Plan the rest with these")) }
        })
    }

    fn wished(&self) -> Markup {
        let log = self.follow.log;
        let list: Vec<String> =
            log.wishes().iter().map(|wish| refits::words::wish(self.scene, wish)).collect();
        html! {
            details {
                summary { "What is wished, and why each thing changes" }
                (parts::wishes(&list))
                @if let Some(plan) = &self.standing().plan {
                    (parts::replaced(self.scene, plan))
                    (parts::reasons(self.scene, plan))
                    (parts::looks_and_left_out(plan))
                }
            }
        }
    }

    /// In two moves: what it would leave behind is read before the button is there.
    fn give_up(&self) -> Markup {
        html! {
            details id="give-up" {
                summary { "Give this refit up" }
                (self.left_grounded())
                p { "What was done stays done, and nothing more is planned. A new refit can take up the rest." }
                (self.post("end", "end", &html! { (hidden("how", Ending::Abandoned.word())) p { (send("Give it up")) } }))
            }
        }
    }

    /// Which aircraft stay grounded when nothing more is done.
    fn left_grounded(&self) -> Markup {
        let Some(plan) = &self.standing().plan else {
            return html! { p { "What is left can't be laid out just now, so it isn't known from here who can fly if it stops here; " a href="/" { "Today" } " says who can." } };
        };
        let grounded: Vec<DeviceId> = plan
            .crafts
            .iter()
            .filter(|line| line.craft.flew && !line.before)
            .map(|line| line.craft.card.id)
            .collect();
        html! {
            @if grounded.is_empty() {
                p { "If it stops here, it leaves nothing grounded: each aircraft of this plan that flew before can fly now, as far as its link goes." }
            } @else {
                p {
                    strong.flag { "If it stops here, " (words::count(grounded.len() as u64)) " aircraft that flew before can't fly:" }
                }
                ul { @for id in &grounded { li { (parts::device(self.scene, *id)) } } }
            }
        }
    }
}

/// Whether something is shown.
type Shown = bool;
