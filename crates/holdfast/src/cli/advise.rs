//! `advise`: the settings that are worth choosing.

use std::io;

use link::adviser;
use link::law::{Limits, Standing};
use wire::answers::advice::{Advice, Choice};

use super::Session;
use super::args;
use super::asked::{self, milliwatts, of_100, percent};
use super::out::Out;
use super::table::Table;

/// So many that fail a need are shown unless all are asked for.
const FAILING: usize = 10;

/// So many are shown at most; all are in the JSON.
const MOST: usize = 50;

/// Lists the settings that nothing beats.
pub fn advise(session: &mut Session, args: &args::Advise) -> anyhow::Result<()> {
    let limits = Limits::shipped();
    let question = asked::question(session, &args.asked, &limits)?;
    let settings = question.asked.all.as_ref().map_err(Clone::clone)?;
    let found = adviser::advise(&question.asked.setup, settings, &limits)?;
    let answer = Advice::new(asked::about(&question), &question.asked, &question.suggested, &found);
    if session.out.json {
        return session.out.answer(&answer);
    }
    let out = &mut session.out;
    asked::who(out, &answer.about)?;
    show(out, &answer, args.all)?;
    out.gap()?;
    asked::suggested(out, &answer.suggested)?;
    Ok(asked::caution(out)?)
}

fn show(out: &mut Out, advice: &Advice, all: bool) -> io::Result<()> {
    out.line(&format!(
        "{} looked at for {} with {} of 100 spells; {} worth choosing, as nothing beats {} in every respect, and {} \
         every need.",
        many(advice.looked_at, "setting was", "settings were"),
        asked::metres(Some(advice.distance_m)),
        percent(advice.probability_wanted),
        many(advice.worth_choosing, "is", "are"),
        if advice.worth_choosing == 1 { "it" } else { "them" },
        many(advice.meeting, "of those meets", "of those meet"),
    ))?;
    asked::warnings(out, &advice.warnings)?;
    out.gap()?;
    let wanted = if all { advice.choices.len() } else { advice.meeting + FAILING };
    let choices: Vec<&Choice> = advice.choices.iter().take(wanted.min(MOST)).collect();
    let sensors = choices.iter().any(|choice| choice.sensors_fit.is_some());
    let law = choices.iter().any(|choice| choice.law.is_some());
    let mut heads = vec!["mode", "one in", "power", "control", "telem.", "reach", "95 %"];
    if sensors {
        heads.push("fits");
    }
    if law {
        heads.push("limits");
    }
    let mut table = Table::new(&heads);
    for (at, choice) in choices.iter().enumerate() {
        let setting = &choice.setting;
        let beyond = if choice.reach.beyond { ">" } else { "" };
        let mut cells = vec![
            format!("{}. {}", at + 1, setting.mode),
            setting.telemetry_one_in.map_or_else(|| "-".to_owned(), |share| share.to_string()),
            milliwatts(setting.power_mw),
            brief(choice.control_probability),
            telemetry(choice),
            format!(
                "{beyond}{}",
                choice.reach.distance_m.map_or_else(|| "none".to_owned(), |reach| asked::metres(Some(reach)))
            ),
            format!("{:.0} ms", choice.latency_p95_ms),
        ];
        if sensors {
            cells.push(choice.sensors_fit.map_or("-", |fits| if fits { "yes" } else { "no" }).to_owned());
        }
        if law {
            cells.push(choice.law.map_or("-", law_word).to_owned());
        }
        table.row(&cells);
    }
    table.write(out)?;
    out.gap()?;
    for (at, choice) in choices.iter().enumerate() {
        out.hanging(0, &format!("{:>3}.", at + 1), &beside(choice))?;
    }
    let hidden = advice.choices.len() - choices.len();
    if hidden > 0 && choices.len() == MOST {
        out.line(&format!("{hidden} more; --json has them all."))?;
    } else if hidden > 0 {
        out.line(&format!("{}; --all shows them.", many(hidden, "more fails a need", "more fail a need")))?;
    }
    out.gap()?;
    out.line(
        "one in: telemetry slots; control, telem.: spells that hold, of 100 (of about a second each); reach: of control; \
         95 %: latency that 95 of 100 stick movements keep; fits: every sensor in time.",
    )?;
    if law {
        out.line(&format!(
            "limits: within, not known (?), over a remembered limit (over?) or over. {}",
            advice.notice
        ))?;
    }
    Ok(())
}

fn beside(choice: &Choice) -> String {
    let mut words = Vec::new();
    if !choice.fails.is_empty() {
        words.push(format!("fails {}", choice.fails.join(", ")));
    }
    if !choice.best_in.is_empty() {
        words.push(format!("best in {}", choice.best_in.join(", ")));
    }
    if !choice.gives_up.is_empty() {
        words.push(format!("gives up {}", choice.gives_up.join("; ")));
    }
    words.join(". ")
}

/// The probability of telemetry, as far as it sends any.
fn telemetry(choice: &Choice) -> String {
    match (choice.telemetry_probability, choice.setting.telemetry_one_in) {
        (Some(probability), _) => brief(probability),
        (None, Some(_)) => "not known".to_owned(),
        (None, None) => "-".to_owned(),
    }
}

fn many(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

fn brief(probability: f64) -> String {
    of_100(probability).replace("over ", ">").replace("under ", "<")
}

fn law_word(standing: &'static str) -> &'static str {
    let all = [
        (Standing::Within, "within"),
        (Standing::NotKnown, "?"),
        (Standing::OverRemembered, "over?"),
        (Standing::Over, "over"),
    ];
    all.into_iter().find(|(one, _)| one.word() == standing).map_or(standing, |(_, word)| word)
}
