//! The form's fields and the family file: there and back.

use std::fmt::Write as _;

use register::family::read::Problem;

/// How a key is written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Text in quotes.
    Text,
    /// As typed, with a decimal comma made a point.
    Number,
    /// `true` or `false`.
    Bool,
    /// Texts parted by semicolons.
    Texts,
    /// Numbers parted by semicolons.
    Numbers,
    /// Texts, a line each.
    Lines,
    /// Ticked boxes; always written when its section is.
    Boxes,
}

struct Section {
    name: &'static str,
    keys: &'static [(&'static str, Kind)],
    /// Whether it stands any number of times.
    list: bool,
}

const SECTIONS: &[Section] = &[
    Section {
        name: "family",
        keys: &[("name", Kind::Text), ("summary", Kind::Text), ("invented", Kind::Bool)],
        list: false,
    },
    Section {
        name: "band",
        keys: &[
            ("name", Kind::Text),
            ("also", Kind::Texts),
            ("low_mhz", Kind::Number),
            ("high_mhz", Kind::Number),
            ("channels", Kind::Number),
            ("spacing_khz", Kind::Number),
            ("noise_figure_db", Kind::Number),
            ("access", Kind::Text),
        ],
        list: true,
    },
    Section { name: "region", keys: &[("variants", Kind::Texts), ("must_match", Kind::Bool)], list: false },
    Section {
        name: "version",
        keys: &[("rule", Kind::Text), ("parts", Kind::Number), ("called", Kind::Text)],
        list: false,
    },
    Section { name: "version.group", keys: &[("name", Kind::Text), ("spans", Kind::Texts)], list: true },
    Section {
        name: "secret",
        keys: &[("rule", Kind::Text), ("blank_allowed", Kind::Bool), ("links_unpaired", Kind::Bool)],
        list: false,
    },
    Section {
        name: "partners",
        keys: &[("remembers", Kind::Number), ("pairing_drops_others", Kind::Bool)],
        list: false,
    },
    Section {
        name: "model_id",
        keys: &[
            ("checked_at", Kind::Text),
            ("low", Kind::Number),
            ("high", Kind::Number),
            ("off", Kind::Number),
            ("refused", Kind::Text),
        ],
        list: false,
    },
    Section {
        name: "mode",
        keys: &[
            ("name", Kind::Text),
            ("bands", Kind::Texts),
            ("modulation", Kind::Text),
            ("spreading_factor", Kind::Number),
            ("bandwidth_khz", Kind::Number),
            ("coding_rate", Kind::Number),
            ("preamble_symbols", Kind::Number),
            ("header", Kind::Text),
            ("crc", Kind::Bool),
            ("interleaving", Kind::Text),
            ("packet_format", Kind::Text),
            ("bit_rate_kbps", Kind::Number),
            ("deviation_khz", Kind::Number),
            ("sensitivity_dbm", Kind::Number),
            ("occupied_khz", Kind::Number),
            ("airtime_us", Kind::Number),
            ("packet_rate_hz", Kind::Number),
            ("payload_bytes", Kind::Number),
            ("hop_every", Kind::Number),
            ("telemetry_one_in", Kind::Numbers),
        ],
        list: true,
    },
    Section {
        name: "power",
        keys: &[("steps_mw", Kind::Numbers), ("telemetry_mw", Kind::Number)],
        list: false,
    },
    Section { name: "failsafe", keys: &[("after_s", Kind::Number)], list: false },
    Section {
        name: "pairing",
        keys: &[
            ("gesture", Kind::Lines),
            ("needs", Kind::Texts),
            ("energises", Kind::Boxes),
            ("minutes", Kind::Number),
        ],
        list: false,
    },
    Section {
        name: "lamp",
        keys: &[("state", Kind::Text), ("shows", Kind::Text), ("means", Kind::Text)],
        list: true,
    },
    Section {
        name: "waiting",
        keys: &[("after_s", Kind::Number), ("does", Kind::Text), ("settings_at", Kind::Text)],
        list: false,
    },
    Section {
        name: "flash",
        keys: &[
            ("name", Kind::Text),
            ("side", Kind::Text),
            ("minutes", Kind::Number),
            ("needs", Kind::Texts),
            ("energises", Kind::Boxes),
            ("wipes", Kind::Boxes),
            ("fails_one_in", Kind::Number),
            ("recovery", Kind::Text),
            ("recovery_minutes", Kind::Number),
        ],
        list: true,
    },
    Section {
        name: "reach",
        keys: &[("name", Kind::Text), ("sort", Kind::Text), ("minutes", Kind::Number)],
        list: true,
    },
    Section {
        name: "release",
        keys: &[
            ("version", Kind::Text),
            ("side", Kind::Text),
            ("hardware", Kind::Lines),
            ("from", Kind::Text),
            ("routes", Kind::Lines),
            ("wipes", Kind::Boxes),
            ("changes", Kind::Lines),
            ("no_way_back", Kind::Text),
        ],
        list: true,
    },
    Section {
        name: "fault",
        keys: &[
            ("symptom", Kind::Text),
            ("key", Kind::Text),
            ("label", Kind::Text),
            ("weight", Kind::Number),
            ("ask", Kind::Text),
            ("ask_how", Kind::Text),
            ("ask_minutes", Kind::Number),
            ("yes_if", Kind::Number),
            ("yes_else", Kind::Number),
            ("mend", Kind::Text),
            ("mend_how", Kind::Text),
            ("mend_minutes", Kind::Number),
            ("cures", Kind::Number),
            ("energises", Kind::Boxes),
        ],
        list: true,
    },
];

type Fields = [(String, String)];

fn value<'a>(fields: &'a Fields, name: &str) -> &'a str {
    fields.iter().find(|(have, _)| have == name).map_or("", |(_, value)| value.trim())
}

fn all<'a>(fields: &'a Fields, name: &'a str) -> impl Iterator<Item = &'a str> {
    fields.iter().filter(move |(have, _)| have == name).map(|(_, value)| value.as_str())
}

/// The rows of a list in which something is typed, from 1. A yes or no that is chosen from
/// the start doesn't count.
fn filled(fields: &Fields, section: &Section) -> Vec<usize> {
    let open = format!("{}[", section.name);
    let mut rows: Vec<usize> = fields
        .iter()
        .filter(|(_, value)| !value.trim().is_empty())
        .filter_map(|(name, _)| name.strip_prefix(&open)?.split_once(']')?.0.parse().ok())
        .filter(|row| (1..=1000).contains(row))
        .collect();
    rows.sort_unstable();
    rows.dedup();
    rows
}

/// The highest row of a list in which something is typed.
pub(super) fn rows(fields: &Fields, list: &str) -> usize {
    SECTIONS
        .iter()
        .find(|section| section.name == list)
        .and_then(|section| filled(fields, section).last().copied())
        .unwrap_or(0)
}

fn quote(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A number as typed: with a decimal comma made a point, and what is no number in quotes,
/// so that the reader says which key is wrong.
fn number(text: &str) -> String {
    let text = text.trim().replace(',', ".");
    let plain = text.trim_start_matches('-');
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let whole = |part: &str| digits(part) && (part == "0" || !part.starts_with('0'));
    let good = match plain.split_once('.') {
        Some((a, b)) => whole(a) && digits(b),
        None => whole(plain),
    };
    if good && text.len() - plain.len() < 2 { text } else { quote(&text) }
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split(';').map(str::trim).filter(|part| !part.is_empty())
}

fn written(fields: &Fields, name: &str, kind: Kind) -> Option<String> {
    let text = value(fields, name);
    if kind == Kind::Boxes {
        return Some(list(all(fields, name).filter(|value| !value.is_empty()).map(quote)));
    }
    if text.is_empty() {
        return None;
    }
    Some(match kind {
        Kind::Number => number(text),
        Kind::Bool if matches!(text, "true" | "false") => text.to_owned(),
        // A browser puts a carriage return to each line end of a text box.
        Kind::Text | Kind::Bool => quote(&text.replace("\r\n", "\n")),
        Kind::Texts => list(parts(text).map(quote)),
        Kind::Numbers => list(parts(text).map(number)),
        Kind::Lines => list(text.lines().map(str::trim).filter(|line| !line.is_empty()).map(quote)),
        Kind::Boxes => return None,
    })
}

/// Whether a section that stands once has anything worth writing: a yes or no alone, which
/// a form always sends, is nothing.
fn wanted(fields: &Fields, section: &Section) -> bool {
    match section.name {
        // What a missing rule would say must be said by the person.
        "family" | "version" | "secret" | "model_id" | "pairing" | "partners" => true,
        "region" => !value(fields, "region.variants").is_empty(),
        name => section.keys.iter().any(|(key, _)| !value(fields, &format!("{name}.{key}")).is_empty()),
    }
}

/// Keys that mean nothing beside the rule that was chosen are left out: a form always
/// sends them.
fn idle(fields: &Fields, section: &str, key: &str) -> bool {
    match section {
        "version" => key != "rule" && value(fields, "version.rule") != "same-parts",
        "secret" => key != "rule" && value(fields, "secret.rule") != "equal",
        "model_id" => key != "checked_at" && value(fields, "model_id.checked_at") == "none",
        _ => false,
    }
}

/// The fields of the form as the text of a family file, to be read by
/// [`register::family::read::read`]. Rows that are wholly blank are left out, so its
/// problems may count rows otherwise than the form; [`to_errors`] puts that right.
pub fn to_toml(fields: &[(String, String)]) -> String {
    let mut out = String::from("schema = 1\n");
    for section in SECTIONS {
        if section.list {
            if section.name == "version.group" && value(fields, "version.rule") != "groups" {
                continue;
            }
            for row in filled(fields, section) {
                let _ = writeln!(out, "\n[[{}]]", section.name);
                for (key, kind) in section.keys {
                    let name = format!("{}[{row}].{key}", section.name);
                    if let Some(text) = written(fields, &name, *kind) {
                        let _ = writeln!(out, "{key} = {text}");
                    }
                }
            }
        } else if wanted(fields, section) {
            let _ = writeln!(out, "\n[{}]", section.name);
            for (key, kind) in section.keys {
                let name = format!("{}.{key}", section.name);
                if idle(fields, section.name, key) {
                    continue;
                }
                if let Some(text) = written(fields, &name, *kind) {
                    let _ = writeln!(out, "{key} = {text}");
                }
            }
        }
    }
    let minutes = value(fields, "minutes");
    if !minutes.is_empty() {
        out.push_str("\n[minutes]\n");
        for line in minutes.lines().map(str::trim).filter(|line| !line.is_empty()) {
            match line.split_once('=') {
                Some((key, figure)) => {
                    let key = key.trim().trim_matches('"');
                    let _ = writeln!(out, "{} = {}", quote(key), number(figure));
                }
                None => {
                    let _ = writeln!(out, "{} = \"\"", quote(line));
                }
            }
        }
    }
    out
}

/// Problems of the file that [`to_toml`] made, by the names of the form's fields.
pub fn to_errors(fields: &[(String, String)], problems: &[Problem]) -> Vec<(String, String)> {
    let mut errors: Vec<(String, String)> = Vec::new();
    let mut whole: Vec<String> = Vec::new();
    for problem in problems {
        match field_of(fields, &problem.key) {
            Some(name) if !errors.iter().any(|(have, _)| *have == name) => {
                errors.push((name, in_form(&problem.says)));
            }
            Some(_) => {}
            None if problem.key.is_empty() => whole.push(problem.says.clone()),
            None => whole.push(format!("{}: {}", problem.key, problem.says)),
        }
    }
    if !whole.is_empty() {
        errors.push((String::new(), whole.join(" ")));
    }
    errors
}

/// What is wrong with a key of a file, as it stands below a field of the form: nobody adds
/// a line or a section there.
fn in_form(says: &str) -> String {
    if says.starts_with("is missing") {
        return "This is missing: fill it in.".to_owned();
    }
    let end = if says.ends_with('.') { "" } else { "." };
    if says.starts_with(char::is_lowercase) { format!("This {says}{end}") } else { format!("{says}{end}") }
}

/// The field that a key of the file was written from.
fn field_of(fields: &Fields, key: &str) -> Option<String> {
    if key == "minutes" || key.starts_with("minutes.") {
        return Some("minutes".to_owned());
    }
    for section in SECTIONS {
        let Some(rest) = key.strip_prefix(section.name) else { continue };
        let (row, rest) = if section.list {
            let Some((row, rest)) = rest.strip_prefix('[').and_then(|rest| rest.split_once(']')) else {
                continue;
            };
            let row: usize = row.parse().ok()?;
            (Some(*filled(fields, section).get(row.checked_sub(1)?)?), rest)
        } else {
            (None, rest)
        };
        let named = rest.strip_prefix('.').unwrap_or_default();
        // An item of a list (`band[1].also[2]`) is the list's field.
        let name = named.split('[').next().unwrap_or_default();
        let (known, _) = section.keys.iter().find(|(have, _)| *have == name).or_else(|| {
            // The section itself is at fault: its first field stands for it.
            (rest.is_empty()).then(|| section.keys.first()).flatten()
        })?;
        return Some(match row {
            Some(row) => format!("{}[{row}].{known}", section.name),
            None => format!("{}.{known}", section.name),
        });
    }
    // A list with no row at all (`band`).
    let section = SECTIONS.iter().find(|section| section.list && section.name == key)?;
    Some(format!("{}[1].{}", section.name, section.keys.first()?.0))
}
