//! The program, its folder, and what came out.

use std::ffi::OsStr;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// A fresh folder with a workshop that isn't there yet.
pub struct Bench {
    dir: TempDir,
}

/// What came of one run.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
    told: String,
}

impl Bench {
    pub fn new() -> Bench {
        Bench { dir: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.path(name), bytes).unwrap();
    }

    pub fn command<S: AsRef<OsStr>>(&self, args: &[S]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_holdfast"));
        command
            .args(args)
            .current_dir(self.dir.path())
            .env_clear()
            .env("HOME", self.dir.path())
            .env("HOLDFAST_WORKSHOP", self.path("workshop.holdfast"))
            .env("HOLDFAST_KEYS", self.path("keys"))
            .env("HOLDFAST_AUTHOR", "tester")
            .env("COLUMNS", "100");
        command
    }

    pub fn run<S: AsRef<OsStr>>(&self, args: &[S]) -> Ran {
        self.run_with(args, b"")
    }

    pub fn run_with<S: AsRef<OsStr>>(&self, args: &[S], input: &[u8]) -> Ran {
        let words: Vec<String> = args.iter().map(|arg| arg.as_ref().to_string_lossy().into_owned()).collect();
        let mut child = self
            .command(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that doesn't read its input closes it.
        let _ = child.stdin.take().unwrap().write_all(input);
        let done = child.wait_with_output().unwrap();
        let (out, err) = (String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap());
        let code = done.status.code().unwrap_or(-1);
        let listing: Vec<String> = fs::read_dir(self.dir.path())
            .unwrap()
            .map(|entry| entry.unwrap().path().display().to_string())
            .collect();
        let told = format!(
            "holdfast {}\nexit code {code}\nfolder:\n  {}\nstdout:\n{out}\nstderr:\n{err}",
            words.join(" "),
            listing.join("\n  ")
        );
        Ran { code, out, err, told }
    }

    /// Runs what must go well.
    pub fn ok<S: AsRef<OsStr>>(&self, args: &[S]) -> String {
        self.run(args).is(0).out
    }

    /// Runs what must fail, and gives what it says, the folder's name left out.
    pub fn fails<S: AsRef<OsStr>>(&self, args: &[S]) -> String {
        let ran = self.run(args).is(1);
        ran.err.replace(&self.dir.path().display().to_string(), "[DIR]")
    }

    pub fn json<S: AsRef<OsStr>>(&self, args: &[S]) -> Value {
        let mut all: Vec<&OsStr> = args.iter().map(AsRef::as_ref).collect();
        all.push(OsStr::new("--json"));
        let ran = self.run(&all).is(0);
        serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("not JSON: {error}\n{}", ran.told))
    }

    /// The two invented families of the demo, as files and in the workshop.
    pub fn families(&self) {
        for name in ["whimbrel.toml", "plover.toml"] {
            self.write(name, holdfast::workshop::shipped_family(name).unwrap());
            self.ok(&["families", "add", name]);
        }
    }

    /// A transmitter with a memory, and a receiver in an aircraft, that link.
    pub fn pair(&self) {
        self.families();
        self.ok(&["add", "aircraft", "A1", "--name", "Paper Hat"]);
        self.ok(&[
            "add",
            "transmitter",
            "T1",
            "family=Whimbrel",
            "band=2.4 GHz",
            "region=EU",
            "firmware=4.1",
            "secret=blank",
        ]);
        self.ok(&["record", "T1", "model_id", "7", "--memory", "hat"]);
        self.ok(&["record", "T1", "aircraft", "Paper Hat", "--memory", "hat"]);
        self.ok(&[
            "add",
            "receiver",
            "R1",
            "aircraft=A1",
            "family=Whimbrel",
            "band=2.4 GHz",
            "region=EU",
            "firmware=4.6",
            "secret=blank",
            "model_id=7",
        ]);
        self.ok(&["pair", "R1", "T1"]);
    }

    /// Every byte of every file in the folder, with the file's name; but not of `inputs`.
    pub fn bytes(&self, inputs: &[&str]) -> Vec<(PathBuf, Vec<u8>)> {
        fn gather(folder: &Path, into: &mut Vec<(PathBuf, Vec<u8>)>) {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    gather(&path, into);
                } else {
                    into.push((path.clone(), fs::read(&path).unwrap()));
                }
            }
        }
        let mut files = Vec::new();
        gather(self.dir.path(), &mut files);
        files.retain(|(path, _)| !inputs.iter().any(|input| path.ends_with(input)));
        files
    }
}

impl Ran {
    /// Demands an exit code; says everything when it is another.
    #[track_caller]
    pub fn is(self, code: i32) -> Ran {
        assert_eq!(self.code, code, "{}", self.told);
        self
    }
}
