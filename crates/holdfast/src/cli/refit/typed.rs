//! Wishes as they are typed, with a link secret that is asked for.

use std::io::{self, BufRead as _, IsTerminal as _, Read as _};

use anyhow::{Context as _, bail};
use register::refit::Wish;
use register::scene::Scene;
use register::value::SecretMark;
use store::keys::SecretText;

use crate::cli::record;
use crate::refits::{self, NoRefit, Secrets};
use crate::workshop::Workshop;

/// The new link secret: asked for once, and then the same for every wish.
struct Typed<'a> {
    workshop: &'a mut Workshop,
    from_stdin: bool,
    mark: Option<SecretMark>,
    failed: Option<anyhow::Error>,
}

impl Secrets for Typed<'_> {
    fn typed(&mut self) -> Result<SecretMark, String> {
        if self.mark.is_none() {
            let mark = secret(self.from_stdin).and_then(|secret| Ok(self.workshop.fingerprint(&secret)?));
            match mark {
                Ok(mark) => self.mark = Some(mark),
                Err(why) => {
                    self.failed = Some(why);
                    return Err("the new link secret is missing".to_owned());
                }
            }
        }
        self.mark.clone().ok_or_else(|| "the new link secret is missing".to_owned())
    }
}

fn secret(from_stdin: bool) -> anyhow::Result<SecretText> {
    let line = if from_stdin {
        let mut line = Vec::new();
        io::stdin().lock().take(record::LONGEST_SECRET).read_until(b'\n', &mut line)?;
        String::from_utf8(line).ok().context("the new link secret is not text (UTF-8)")?
    } else {
        if !io::stdin().is_terminal() {
            bail!("nobody is there to type the new link secret; send it in with --new-secret-stdin");
        }
        rpassword::prompt_password("New link secret (not shown): ")?
    };
    if line.trim_end_matches(['\r', '\n']).is_empty() {
        bail!("no secret was given; write `clear-secret=` for ends that are to hold none");
    }
    record::taken(&line)
}

/// Reads wishes. Of one about a secret nothing is repeated where it can't be read.
pub fn wishes(
    workshop: &mut Workshop,
    scene: &Scene,
    words: &[String],
    from_stdin: bool,
) -> anyhow::Result<Vec<Wish>> {
    let mut typed = Typed { workshop, from_stdin, mark: None, failed: None };
    let read = refits::wishes(scene, words, &mut typed);
    if let Some(why) = typed.failed {
        return Err(why);
    }
    match read {
        Err(NoRefit::Word { word, .. }) if word.trim_start().starts_with("secret") => bail!(
            "`secret=` must name a link family, or transmitters and receivers of this workshop, such as `secret=T1,R3`; \
             what was typed is not repeated, since it may hold a link secret. The secret itself is asked for, or \
             comes in by --new-secret-stdin"
        ),
        Err(why) => Err(why.into()),
        Ok(_) if from_stdin && typed.mark.is_none() => {
            bail!("--new-secret-stdin goes with a wish `secret=`")
        }
        Ok(wishes) => Ok(wishes),
    }
}

/// The wishes of a refit that is planned anew.
pub fn merged(old: &[Wish], without: &[usize], new: Vec<Wish>) -> anyhow::Result<Vec<Wish>> {
    if let Some(number) = without.iter().find(|number| !(1..=old.len()).contains(number)) {
        bail!("there is no wish {number}; `refit show` numbers them, from 1 to {}", old.len());
    }
    Ok(refits::rewished(old, &|at| !without.contains(&(at + 1)), new))
}
