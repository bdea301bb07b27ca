//! What is carried to the bench: one evening after the other, each step with a box to tick.

use std::io;

use wire::answers::refit::Standing;

use super::say;
use crate::cli::link::minutes;
use crate::cli::out::Out;

/// Prints a refit, or one evening of it.
pub fn print(out: &mut Out, refit: &Standing, only: Option<u32>) -> io::Result<()> {
    let mut first = true;
    for (number, done, left) in say::evenings(refit) {
        if only.is_some_and(|only| only != number) {
            continue;
        }
        if !first {
            out.gap()?;
            out.gap()?;
        }
        first = false;
        out.line(&say::whose(refit))?;
        match left {
            Some(evening) => {
                out.line(&say::title(evening))?;
                say::kept_back(out, evening)?;
            }
            None => out.line(&format!("Evening {number}: all done."))?,
        }
        // Said before the first step.
        for why in left.map(|evening| evening.no_way_back.as_slice()).unwrap_or_default() {
            out.hanging(0, "There is no way back:", why)?;
        }
        out.gap()?;
        for one in done {
            out.hanging(2, &format!("[x] {}", one.code), &one.text)?;
        }
        for step in left.map(|evening| evening.steps.as_slice()).unwrap_or_default() {
            say::step(out, step, "[ ] ")?;
            if let Some(back) = step.back_minutes.filter(|_| step.back.kind == "way") {
                out.hanging(say::UNDER + 4, "All the way back from here:", &format!("{}.", minutes(back)))?;
            }
        }
        out.gap()?;
        out.line(&format!(
            "`holdfast refit tick CODE` writes one down as done, `holdfast refit tick --evening {number}` all of them."
        ))?;
    }
    if first {
        out.line(&say::whose(refit))?;
        out.line(&refit.sentence)?;
    }
    Ok(())
}
