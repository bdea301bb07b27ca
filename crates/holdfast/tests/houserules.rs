//! The rules of the house that no compiler checks.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails, in its helpers too")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The crates that must stay buildable for WASM: nothing but arithmetic on what they are given.
const ENGINE: [&str; 10] =
    ["units", "link", "register", "trails", "refits", "fitting", "paper", "wire", "intake", "pages"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The crates that `name` is built from on this machine, itself among them. (For the WASM
/// target cargo would have to fetch packages that nothing here builds.)
fn reached(name: &str) -> Vec<String> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let out = Command::new(cargo)
        .current_dir(root())
        .args(["tree", "--offline", "--locked", "--edges", "normal,build", "--prefix", "none"])
        .args(["--format", "{p}", "--package", name])
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let names = String::from_utf8(out.stdout).unwrap();
    names.lines().filter_map(|line| line.split(' ').next()).map(str::to_owned).collect()
}

/// What makes a crate touch the machine, or need a C compiler.
fn is_of_the_machine(name: &str) -> bool {
    const DOORS_AND_STORE: [&str; 16] = [
        "axum",
        "cc",
        "clap",
        "cmake",
        "getrandom",
        "hyper",
        "js-sys",
        "libc",
        "libsqlite3-sys",
        "mio",
        "rand",
        "rusqlite",
        "rustix",
        "store",
        "tokio",
        "wasm-bindgen",
    ];
    DOORS_AND_STORE.contains(&name) || name.ends_with("-sys") || name == "holdfast"
}

#[test]
fn engine_crates_reach_nothing_that_touches_the_machine() {
    for name in ENGINE {
        let reached = reached(name);
        assert!(reached.iter().any(|one| one == name), "{reached:?}");
        let bad: Vec<&String> = reached.iter().filter(|one| is_of_the_machine(one)).collect();
        assert!(bad.is_empty(), "{name} reaches {bad:?}; let a door do that, and hand over the result");
    }
    // The measure measures: the store is built from what the engine must not reach.
    let store = reached("store");
    for name in ["rusqlite", "libsqlite3-sys", "getrandom", "cc"] {
        assert!(store.iter().any(|one| one == name), "{name}");
    }
}

/// The arrows of ARCHITECTURE.md, as far as the engine goes.
#[test]
fn arrows_between_engine_crates_go_one_way() {
    let allowed = [
        ("units", &[][..]),
        ("link", &["units"]),
        ("register", &["link", "units"]),
        ("trails", &["register", "link", "units"]),
        ("refits", &["register", "link", "units"]),
        ("fitting", &["register", "link", "units"]),
        ("paper", &["fitting", "register", "link", "units"]),
        ("wire", &["trails", "refits", "fitting", "register", "link", "units"]),
        ("intake", &["register", "link", "units"]),
        ("pages", &["trails", "refits", "fitting", "register", "link", "units"]),
    ];
    for (name, below) in allowed {
        for other in reached(name).iter().filter(|one| ENGINE.contains(&one.as_str()) && *one != name) {
            assert!(below.contains(&other.as_str()), "{name} reaches {other}");
        }
    }
    // Fault trails know nothing of radio (what the register uses below is its own business),
    // paper nothing but cards, and what is stored nothing of fault trails, refits and fits.
    let own = |name: &str| -> Vec<String> {
        let file = fs::read_to_string(root().join(format!("crates/{name}/Cargo.toml"))).unwrap();
        let names = file.lines().filter_map(|line| line.split(['.', ' ', '=']).next());
        names.filter(|one| ENGINE.contains(one)).map(str::to_owned).collect()
    };
    assert_eq!(own("trails"), ["units", "register"]);
    assert_eq!(own("refits"), ["units", "register"]);
    assert!(
        own("paper").iter().all(|one| ["units", "fitting"].contains(&one.as_str())),
        "{:?}",
        own("paper")
    );
    let above = ["trails", "refits", "fitting", "paper"];
    assert!(own("store").iter().all(|one| !above.contains(&one.as_str())), "{:?}", own("store"));
    assert!(own("store").iter().any(|one| one == "wire"), "the measure measures");
}

/// A crate's clippy.toml stands instead of the root's, so it repeats it.
#[test]
fn engine_crates_have_the_same_bans() {
    let read = |path: &str| fs::read_to_string(root().join(path)).unwrap();
    let first = read("crates/units/clippy.toml");
    for line in read("clippy.toml").lines() {
        assert!(first.lines().any(|have| have == line), "crates/units/clippy.toml lacks `{line}`");
    }
    for banned in ["std::fs::read", "std::env::var", "std::thread::spawn", "std::time::Instant::now"] {
        assert!(first.contains(&format!("path = \"{banned}\"")), "{banned}");
    }
    for name in ENGINE {
        assert_eq!(
            read(&format!("crates/{name}/clippy.toml")),
            first,
            "crates/{name}/clippy.toml differs from units'"
        );
    }
}

/// Every file that people read, with its text.
fn texts() -> Vec<(PathBuf, String)> {
    let mut texts = Vec::new();
    let mut left: Vec<PathBuf> = ["crates", "docs", "fuzz", "reference", ".ci", "test", "Cargo.toml"]
        .iter()
        .map(|name| root().join(name))
        .chain(
            fs::read_dir(root())
                .unwrap()
                .map(|item| item.unwrap().path())
                .filter(|path| path.extension().is_some_and(|extension| extension == "md")),
        )
        .collect();
    while let Some(path) = left.pop() {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_dir() {
            if !["target", "corpus", "artifacts", "coverage", "__pycache__"].contains(&name.as_str()) {
                left.extend(fs::read_dir(&path).unwrap().map(|item| item.unwrap().path()));
            }
        } else if name != "Cargo.lock"
            && let Ok(text) = fs::read_to_string(&path)
        {
            texts.push((path, text));
        }
    }
    texts
}

/// The places of `needle` in `text` that don't go on a word or path to the left.
fn stands_alone(text: &str, needle: &str) -> bool {
    text.match_indices(needle).any(|(at, _)| {
        let before = text[..at].chars().next_back().unwrap_or(' ');
        !(before.is_alphanumeric() || matches!(before, '.' | '-' | '_' | '/' | '}' | '`' | ')'))
    })
}

/// What no file says. Spelt in pieces, so that this file doesn't say it either.
fn unwanted(text: &str) -> Option<String> {
    let anywhere = [
        ["..", "/shared"].concat(),
        ["crates", ".io"].concat(),
        ["npmjs", ".org"].concat(),
        ["pypi", ".org"].concat(),
        ["proxy.golang", ".org"].concat(),
        ["/tmp", "/target"].concat(),
        ["/tmp", "/helper"].concat(),
        [" PRIVATE", " KEY-----"].concat(),
    ];
    let alone = [["/wo", "rk/"].concat(), ["/ro", "ot/"].concat(), ["/ho", "me/"].concat()];
    let found = anywhere.into_iter().find(|needle| text.contains(needle));
    found.or_else(|| alone.into_iter().find(|needle| stands_alone(text, needle))).or_else(|| token(text))
}

/// The start of a word that looks like a token of some service: a known prefix and a
/// long tail of letters and digits.
fn token(text: &str) -> Option<String> {
    let prefixes = [
        ["AK", "IA"],
        ["gh", "p_"],
        ["github", "_pat_"],
        ["gl", "pat-"],
        ["xox", "b-"],
        ["sk", "-"],
        ["eyJ", "hbGci"],
    ];
    prefixes.into_iter().map(|parts| parts.concat()).find(|prefix| {
        text.match_indices(prefix.as_str()).any(|(at, _)| {
            let before = text[..at].chars().next_back().unwrap_or(' ');
            let tail = &text[at + prefix.len()..];
            let word: Vec<char> = tail.chars().take_while(char::is_ascii_alphanumeric).collect();
            let mixed = word.iter().any(char::is_ascii_digit) && word.iter().any(char::is_ascii_alphabetic);
            !before.is_alphanumeric() && word.len() >= 16 && mixed
        })
    })
}

#[test]
fn no_file_names_a_machine_a_registry_or_a_real_secret() {
    let texts = texts();
    assert!(texts.len() > 200, "only {} files were found", texts.len());
    let bad: Vec<String> = texts
        .iter()
        .filter_map(|(path, text)| Some(format!("{}: {}", path.display(), unwanted(text)?)))
        .collect();
    assert!(bad.is_empty(), "take these words out:\n{}", bad.join("\n"));
}

#[test]
fn unwanted_words_are_seen() {
    let key = ["AK", "IA", "Q3EGRB7ZL2MPX4TN"].concat();
    let cases = [
        (["see ..", "/shared/x"].concat(), true),
        (["open(\"/wo", "rk/main\")"].concat(), true),
        (["https://static.crates", ".io/"].concat(), true),
        (key, true),
        ("docs/workshop-file.md, at work/bench, framework/".to_owned(), false),
        ("~/.local/share/home/".to_owned(), false),
        ("task-0123456789abcdef0".to_owned(), false),
    ];
    for (text, expected) in cases {
        assert_eq!(unwanted(&text).is_some(), expected, "{text}");
    }
}
