//! What the commands of the link sheet are asked: names of devices, then `KEY=VALUE`.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use anyhow::bail;
use link::calc::{Input, Kind};
use link::law::Limits;
use link::sheet::{FARTHEST, NEAREST};
use link::wish::{GROUPS, WISHES};
use register::field::Sort;
use register::fleet;
use register::radio::NoGear;
use register::register::Register;
use register::scene::Scene;
use store::StoreError;
use units::Metres;
use wire::answers::calc::Takes;
use wire::answers::sheet::{About, Chosen, Flight, Reach, Taken, Warning};

use super::Session;
use super::args::Asked;
use super::named;
use super::out::{Out, wrap};
use crate::radio::{self, NoQuestion, Question, Subject};
use crate::workshop::{Workshop, WorkshopError};

/// The most bytes that are read of a file.
const MOST_BYTES: u64 = 2_000_000;

/// What was typed, sorted into names and inputs.
#[derive(Debug, Default)]
pub struct Typed {
    /// Names, in their order.
    pub names: Vec<String>,
    /// Inputs, their files read.
    pub inputs: Vec<(String, String)>,
    /// Everything that can't be used so far, in words.
    pub wrong: Vec<String>,
}

impl Typed {
    /// Sorts words into names and inputs and reads the files that inputs name.
    pub fn sort(words: &[String], known: &[Input]) -> Typed {
        let mut typed = Typed::default();
        let mut source = Source::default();
        for word in words {
            match word.split_once('=') {
                None if typed.inputs.is_empty() => typed.names.push(word.clone()),
                None => typed.wrong.push(format!(
                    "`{}` stands behind an input; name the devices first, then KEY=VALUE",
                    short(word)
                )),
                Some((key, text)) => match known.iter().find(|input| is_key(input, key)) {
                    None => typed.wrong.push(unknown(key.trim(), known)),
                    Some(input) => match source.fetch(input, text.trim()) {
                        Ok(text) => typed.inputs.push((input.key.to_owned(), text)),
                        Err(why) => typed.wrong.push(format!("`{}`: {why}", input.key)),
                    },
                },
            }
        }
        typed
    }
}

/// Whether that is an input's key; capital letters and blanks about it don't matter.
pub fn is_key(input: &Input, typed: &str) -> bool {
    typed.trim().eq_ignore_ascii_case(input.key)
}

fn short(text: &str) -> String {
    super::out::clip(text, 60)
}

/// That there is no such input, with those that come near.
fn unknown(key: &str, known: &[Input]) -> String {
    let typed = key.to_lowercase();
    let alike = |have: &&str| {
        let parts = typed.split('_').filter(|part| part.len() > 2);
        let same_start = have.bytes().zip(typed.bytes()).take_while(|(a, b)| a == b).count() > 3;
        same_start || parts.into_iter().any(|part| have.split('_').any(|one| one == part))
    };
    let mut near: Vec<&str> = known.iter().map(|input| input.key).filter(alike).take(6).collect();
    let lead = if near.is_empty() && known.len() <= 12 {
        near = known.iter().map(|input| input.key).collect();
        "there are"
    } else {
        "near it are"
    };
    match near.as_slice() {
        [] => format!("there is no input `{}`; --help lists those there are", short(key)),
        near => format!("there is no input `{}`; {lead} {}", short(key), near.join(", ")),
    }
}

/// Where values come from that aren't typed themselves.
#[derive(Default)]
struct Source {
    /// Standard input was read.
    drained: bool,
}

impl Source {
    /// A value as typed, or what stands in the file that it names.
    fn fetch(&mut self, input: &Input, text: &str) -> Result<String, String> {
        let is_profile = matches!(input.kind, Kind::Profile);
        match text.strip_prefix('@') {
            Some("-") => self.standard_input(),
            Some(file) => read_file(file),
            None if is_profile && text == "-" => self.standard_input(),
            None if is_profile && Path::new(text).exists() => read_file(text),
            // Points have a comma; what has none was meant as a file.
            None if is_profile && !text.is_empty() && !text.contains([',', ';']) => read_file(text),
            None => Ok(text.to_owned()),
        }
    }

    fn standard_input(&mut self) -> Result<String, String> {
        if std::mem::replace(&mut self.drained, true) {
            return Err("standard input can be read for one input only; put the other into a file".to_owned());
        }
        read(io::stdin().lock(), "standard input")
    }
}

fn read_file(name: &str) -> Result<String, String> {
    let shown = short(name);
    if Path::new(name).is_dir() {
        return Err(format!("{shown} is a folder; name a file in it"));
    }
    let file = File::open(name).map_err(|why| format!("the file {shown} can't be read ({why})"))?;
    read(file, &format!("the file {shown}"))
}

fn read(from: impl Read, what: &str) -> Result<String, String> {
    let mut bytes = Vec::new();
    let cant = |why: io::Error| format!("{what} can't be read ({why})");
    from.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(cant)?;
    if u64::try_from(bytes.len()).is_ok_and(|read| read > MOST_BYTES) {
        return Err(format!("{what} is larger than 2 MB; leave points out"));
    }
    let text = String::from_utf8(bytes).map_err(|_| format!("{what} is no text in UTF-8"))?;
    if text.trim().is_empty() { Err(format!("{what} is empty")) } else { Ok(text) }
}

/// Fails with everything that can't be used, one a line.
pub fn refuse(wrong: &[String]) -> anyhow::Result<()> {
    if wrong.is_empty() { Ok(()) } else { bail!("{}", wrong.join("\n")) }
}

/// The question that was typed.
pub fn question(session: &Session, asked: &Asked, limits: &Limits) -> anyhow::Result<Question> {
    let Typed { names, inputs, mut wrong } = Typed::sort(&asked.words, WISHES);
    match subject(session, asked, &names, limits) {
        Err(why) => wrong.insert(0, format!("{why:#}")),
        Ok(subject) => match subject.ask(&inputs, limits) {
            Ok(question) if wrong.is_empty() => return Ok(question),
            Ok(_) => {}
            Err(why) => wrong.push(why.to_string()),
        },
    }
    bail!("{}", wrong.join("\n"))
}

fn subject(session: &Session, asked: &Asked, names: &[String], limits: &Limits) -> anyhow::Result<Subject> {
    if let Some(family) = &asked.family {
        if let [name, ..] = names {
            bail!("`{}` names a device and --family a family; ask about one of them", short(name));
        }
        let band = asked.band.as_deref().unwrap_or_default();
        let subject = match family_workshop(session)? {
            Some(workshop) => radio::by_family(workshop.register(), family, band),
            None => radio::by_family(&Register::default(), family, band),
        };
        return subject.map_err(|why| match why {
            NoQuestion::Gear(NoGear::WhichBand { .. }) => anyhow::anyhow!("{why}; add --band"),
            why => why.into(),
        });
    }
    let [transmitter, other] = names else {
        bail!(
            "name a transmitter and a receiver or an aircraft, or a link family with --family; {} named",
            match names {
                [] => "nothing is".to_owned(),
                [one] => format!("only {} is", short(one)),
                more => format!("{} devices are", more.len()),
            }
        )
    };
    let workshop = session.workshop()?;
    // Says what the first is instead, where it is no transmitter.
    let scene = Scene::new(workshop.register());
    named::device(&scene, without_end(&scene, transmitter), Some(Sort::Transmitter))?;
    Ok(radio::by_names(
        workshop.register(),
        workshop.fleet(),
        transmitter,
        other,
        asked.band.as_deref(),
        limits,
    )?)
}

/// The device's name in `T1/END`.
fn without_end<'a>(scene: &Scene, name: &'a str) -> &'a str {
    match (fleet::find(scene, name, None), name.rsplit_once('/')) {
        (Err(_), Some((device, _))) => device.trim(),
        _ => name,
    }
}

/// The workshop, where there is one: the starters are known without.
pub fn family_workshop(session: &Session) -> anyhow::Result<Option<Workshop>> {
    match Workshop::open_existing(&session.places, &session.author) {
        Ok(workshop) => Ok(Some(workshop)),
        Err(WorkshopError::Store(StoreError::Missing { .. })) => Ok(None),
        Err(other) => Err(other.into()),
    }
}

/// Whose link, as an answer.
pub fn about(question: &Question) -> About {
    let mut about = About::family(&question.gear);
    if let radio::About::Link { transmitter, receiver, aircraft } = &question.about {
        about.transmitter = Some(transmitter.label());
        about.receiver = Some(receiver.label());
        about.aircraft = aircraft.as_ref().map(|card| card.label());
    }
    about
}

/// The first lines of every answer: whose link, in which setting.
pub fn head(out: &mut Out, about: &About, setting: &Chosen) -> io::Result<()> {
    who(out, about)?;
    out.line(&setting_words(setting))
}

/// Whose link.
pub fn who(out: &mut Out, about: &About) -> io::Result<()> {
    let gear = format!("{}, {}", about.family, about.band);
    match (&about.transmitter, &about.receiver) {
        (Some(transmitter), Some(receiver)) => {
            let place = about.aircraft.as_ref().map(|name| format!(" in {name}")).unwrap_or_default();
            out.line(&format!("{transmitter} with {receiver}{place}: {gear}"))
        }
        _ => out.line(&gear),
    }
}

/// A setting in words.
pub fn setting_words(setting: &Chosen) -> String {
    let telemetry = match (setting.telemetry_one_in, setting.telemetry_mw) {
        (None, _) => "no telemetry".to_owned(),
        (Some(share), Some(power)) => format!("telemetry one slot in {share} with {}", milliwatts(power)),
        (Some(share), None) => format!("telemetry one slot in {share}, its power not known"),
    };
    let rate = format!("{} Hz", figure(setting.packet_rate_hz));
    let mode = if setting.mode == rate { rate } else { format!("{} ({rate})", setting.mode) };
    format!("Mode {mode}, {}, {telemetry}", milliwatts(setting.power_mw))
}

/// What is asked of the link, in words.
pub fn flight_words(flight: &Flight) -> String {
    format!(
        "{} away, {} up, {} m/s; wanted: {} of 100 packets, in {} of 100 spells (of about a second) or more",
        Metres(flight.distance_m),
        Metres(flight.air_height_m),
        figure(flight.speed_m_per_s),
        figure(flight.quality * 100.0),
        percent(flight.probability),
    )
}

/// Power in milliwatts.
pub fn milliwatts(power: f64) -> String {
    format!("{} mW", figure(power))
}

/// A number to three digits after the point at most, without idle zeros.
pub fn figure(number: f64) -> String {
    let text = format!("{number:.3}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A wanted probability as so many of a hundred, with all its digits.
pub fn percent(probability: f64) -> String {
    let text = format!("{:.7}", probability * 100.0);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// How many of a hundred hold or arrive: never rounded up, over what is wanted, and never
/// said to be certain.
pub fn of_100(probability: f64) -> String {
    if probability > 0.9995 {
        "over 99.9".to_owned()
    } else if probability > 0.0 && probability < 0.001 - TINY {
        "under 0.1".to_owned()
    } else {
        format!("{:.1}", (probability * 1e3 + TINY).floor() / 10.0)
    }
}

/// How likely something unwanted is, of a hundred: never rounded down.
pub fn chance_of_100(chance: f64) -> String {
    if chance > 0.999 + TINY {
        "over 99.9".to_owned()
    } else if chance > 0.0 && chance < 0.0005 {
        "under 0.1".to_owned()
    } else if chance <= 0.0 {
        "0.0".to_owned()
    } else {
        format!("{:.1}", (chance * 1e3 - TINY).ceil() / 10.0)
    }
}

/// Less than any figure that is shown.
const TINY: f64 = 1e-9;

/// A distance, or that there is none.
pub fn metres(distance: Option<f64>) -> String {
    distance.map_or_else(|| "under 10 m".to_owned(), |metres| Metres(metres).to_string())
}

/// A reach with its probability and its interval, in words.
pub fn reach_words(reach: &Reach) -> String {
    if let (None, None) = (reach.distance_m, reach.high_m) {
        return format!("not even {NEAREST} in {} of 100 spells", percent(reach.probability));
    }
    let beyond = if reach.beyond { "beyond " } else { "" };
    format!(
        "{beyond}{} in {} of 100 spells; between {} and {}, as sure as 9 in 10",
        metres(reach.distance_m),
        percent(reach.probability),
        metres(reach.low_m),
        metres(reach.high_m)
    )
}

/// Which way fails first, as a sentence.
pub fn limiting_words(limiting: &str, control: &Reach) -> String {
    match limiting {
        "control" => "Control limits: it fails first as the aircraft flies out.".to_owned(),
        "telemetry" => "Telemetry limits: it fails first as the aircraft flies out.".to_owned(),
        "both" if control.beyond => format!("Both ways reach beyond {FARTHEST}; farther isn't looked at."),
        "both" if control.distance_m.is_none() => format!("Neither way holds even at {NEAREST}."),
        "both" => "Both ways reach equally far.".to_owned(),
        _ => "Only control is reckoned; telemetry's power or slots are not known.".to_owned(),
    }
}

/// Warnings, each with where it stands.
pub fn warnings(out: &mut Out, warnings: &[Warning]) -> io::Result<()> {
    for warning in warnings {
        out.hanging(0, "Warning:", &format!("{} ({})", warning.text, warning.source))?;
    }
    Ok(())
}

/// Inputs that the register suggested.
pub fn suggested(out: &mut Out, suggested: &[Taken]) -> io::Result<()> {
    for one in suggested {
        out.line(&format!("From the workshop: {}={} ({})", one.key, one.value, one.from))?;
    }
    Ok(())
}

/// Inputs that were taken from a default.
pub fn taken(out: &mut Out, taken: &[Taken]) -> io::Result<()> {
    if !taken.is_empty() {
        let words: Vec<String> = taken
            .iter()
            .map(|one| {
                let quote = if one.value.contains([' ', ';']) { "\"" } else { "" };
                format!("{quote}{}={}{quote}", one.key, one.value)
            })
            .collect();
        out.line(&format!("From defaults: {}", words.join(", ")))?;
    }
    Ok(())
}

/// What stands under every answer about a flight.
pub fn caution(out: &mut Out) -> io::Result<()> {
    out.line(
        "Planning aid: keep the aircraft in sight and make the range check. Local rules and the maker's manual prevail.",
    )
}

/// Every input, for help, laid out for 80 columns.
pub fn inputs_help() -> String {
    const KEYS: usize = 22;
    let mut text = String::from(
        "Names of devices come first, then inputs. A value @FILE is read from that file;\n\
         profile= may name a file, or - for standard input. What isn't said is taken from\n\
         the family's file, from the workshop, or from the default in brackets.\n",
    );
    for (group, keys) in GROUPS {
        text.push_str(&["\n", group, ":\n"].concat());
        for key in *keys {
            let Some(input) = WISHES.iter().find(|input| input.key == *key) else { continue };
            let takes = Takes::new(input);
            let words = takes.may_be();
            let may_be = if words.is_empty() { String::new() } else { format!(": {words}") };
            let default = takes.default.map(|text| format!(" [{text}]")).unwrap_or_default();
            let mut lead = format!("  {key}");
            for line in wrap(&format!("{}{may_be}{default}", input.says), 80 - KEYS) {
                text.push_str(format!("{lead:<KEYS$}{line}").trim_end());
                text.push('\n');
                lead.clear();
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_is_never_rounded_up_to_the_wanted_one() {
        let cases = [
            (0.0, "0.0"),
            (0.000_9, "under 0.1"),
            (0.001, "0.1"),
            (0.5, "50.0"),
            (0.95, "95.0"),
            (0.989_70, "98.9"),
            (0.99, "99.0"),
            (0.989_999, "98.9"),
            (0.999, "99.9"),
            (0.999_6, "over 99.9"),
            (1.0, "over 99.9"),
        ];
        for (probability, words) in cases {
            assert_eq!(of_100(probability), words, "{probability}");
        }
        for thousandths in 1..=999_u32 {
            let wanted = f64::from(thousandths) / 1000.0;
            assert_eq!(of_100(wanted), format!("{:.1}", f64::from(thousandths) / 10.0));
            let short = of_100(wanted - 1e-6);
            assert!(
                short.parse::<f64>().is_ok_and(|shown| shown < wanted * 100.0) || thousandths == 1,
                "{short}"
            );
        }
    }

    #[test]
    fn a_chance_is_never_rounded_down() {
        for (chance, words) in [
            (0.0, "0.0"),
            (0.000_1, "under 0.1"),
            (0.019_1, "2.0"),
            (0.02, "2.0"),
            (0.999, "99.9"),
            (0.999_1, "over 99.9"),
        ] {
            assert_eq!(chance_of_100(chance), words, "{chance}");
        }
    }

    #[test]
    fn a_wanted_probability_keeps_its_digits() {
        for (probability, words) in [
            (0.999_999, "99.9999"),
            (0.99, "99"),
            (0.5, "50"),
            (0.000_001, "0.0001"),
            (0.1, "10"),
            (0.995, "99.5"),
        ] {
            assert_eq!(percent(probability), words);
        }
    }

    #[test]
    fn names_come_first_then_inputs() {
        let words: Vec<String> = ["T1", "R1", "distance_m=800", "R2", "dist_m=3", "distance=3", "xyz=1"]
            .map(str::to_owned)
            .to_vec();
        let typed = Typed::sort(&words, WISHES);
        assert_eq!(typed.names, ["T1", "R1"]);
        assert_eq!(typed.inputs, [("distance_m".to_owned(), "800".to_owned())]);
        assert_eq!(typed.wrong.len(), 4, "{:?}", typed.wrong);
        assert!(
            typed.wrong[1].contains("distance_m") && typed.wrong[2].contains("distance_m"),
            "{:?}",
            typed.wrong
        );
    }

    #[test]
    fn nothing_is_said_to_be_certain() {
        let cases = [(1.0, "over 99.9"), (0.999_4, "99.9"), (0.5, "50.0"), (1e-9, "under 0.1"), (0.0, "0.0")];
        for (probability, words) in cases {
            assert_eq!(of_100(probability), words);
        }
        assert_eq!(figure(12.500), "12.5");
        assert_eq!(figure(100.0), "100");
    }
}
