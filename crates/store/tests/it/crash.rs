//! An acknowledged entry survives, whenever the writer dies.
//!
//! The test binary runs itself as the writer: with `STORE_TEST_WRITER` set, this
//! module's one test appends to that workshop and prints each entry's id once
//! `append` has returned.

use std::env;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use register::id::EntryId;
use register::time::Moment;
use store::Store;

use crate::workshop::{NOW, Workshop, note};

const WRITER: &str = "STORE_TEST_WRITER";
const COUNT: &str = "STORE_TEST_COUNT";
const TEST: &str = "crash::acknowledged_entries_survive_kills_at_any_moment";

/// Appends to the workshop named in the environment; prints what was acknowledged,
/// and the error it ended with.
fn write_until_the_end(path: &Path) {
    let say = |line: String| {
        let mut out = std::io::stdout();
        out.write_all(line.as_bytes()).and_then(|()| out.flush()).unwrap();
    };
    let count = env::var(COUNT).map_or(u32::MAX, |count| count.parse().unwrap());
    let mut store = match Store::open(path) {
        Ok(store) => store,
        Err(error) => return say(format!("\nerror {error}\n")),
    };
    say("\nready\n".to_owned());
    for i in 0..count {
        let draft = note(&format!("{i} {}", "x".repeat(i as usize % 300)));
        match store.append(Moment(NOW.0 + i64::from(i)), "Ada", &[draft], &[]) {
            Ok(written) => say(format!("ack {}\n", written[0].stamp.id)),
            Err(error) => return say(format!("error {error}\n")),
        }
    }
}

/// The command that runs the writer.
pub fn writer(path: &Path) -> Command {
    let mut command = Command::new(env::current_exe().unwrap());
    command.args(["--exact", TEST]).env(WRITER, path).stdout(Stdio::piped());
    command
}

/// The ids in whole lines of a writer's output.
pub fn acknowledged(output: &str) -> Vec<EntryId> {
    let whole = output.rfind('\n').map_or("", |end| &output[..end]);
    whole.lines().filter_map(|line| line.strip_prefix("ack ")).map(|id| id.parse().unwrap()).collect()
}

fn below(limit: u64) -> Duration {
    let mut bytes = [0; 8];
    getrandom::fill(&mut bytes).unwrap();
    Duration::from_micros(u64::from_le_bytes(bytes) % limit)
}

/// Kills it and gives what it had said.
fn kill(mut child: Child, mut output: BufReader<std::process::ChildStdout>, mut said: String) -> String {
    child.kill().unwrap(); // SIGKILL
    output.read_to_string(&mut said).unwrap();
    child.wait().unwrap();
    said
}

#[test]
fn acknowledged_entries_survive_kills_at_any_moment() {
    if let Some(path) = env::var_os(WRITER) {
        return write_until_the_end(Path::new(&path));
    }
    let workshop = Workshop::new();
    let mut acks = Vec::new();
    let mut kills_while_writing = 0;
    while kills_while_writing < 200 {
        let mut child = writer(&workshop.path).spawn().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap());
        let mut said = String::new();
        while !said.ends_with("\nready\n") {
            assert_ne!(output.read_line(&mut said).unwrap(), 0, "the writer ended by itself: {said}");
        }
        std::thread::sleep(below(6_000));
        let fresh = acknowledged(&kill(child, output, said));
        kills_while_writing += u32::from(!fresh.is_empty());
        let store = Store::open_existing(&workshop.path).unwrap();
        for id in &fresh {
            assert!(store.record(*id).unwrap().is_some(), "{id} was acknowledged and is lost");
        }
        acks.extend(fresh);
        if kills_while_writing % 40 == 0 {
            assert_eq!(store.verify().unwrap().problems, []);
        }
    }
    let store = workshop.open();
    for id in &acks {
        assert!(store.record(*id).unwrap().is_some(), "{id} was acknowledged and is lost");
    }
    let found = store.verify().unwrap();
    assert_eq!((found.problems, found.replicas), (vec![], 1));
    assert!(found.entries >= acks.len() as u64);
    println!("{kills_while_writing} kills while writing, {} acknowledged entries, all found", acks.len());
}

#[test]
fn a_kill_while_the_workshop_is_made_leaves_one_that_opens() {
    for _ in 0..40 {
        let workshop = Workshop::new();
        let mut child = writer(&workshop.path).spawn().unwrap();
        let output = BufReader::new(child.stdout.take().unwrap());
        std::thread::sleep(below(12_000));
        let acks = acknowledged(&kill(child, output, String::new()));
        let store = workshop.open();
        assert_eq!(store.verify().unwrap().problems, []);
        assert!(acks.iter().all(|id| store.record(*id).unwrap().is_some()));
    }
}

/// The system calls of a writer, in order: before each acknowledgement is written,
/// the journal was synced after its last write.
#[test]
fn the_sync_returns_before_the_acknowledgement_is_written() {
    let workshop = Workshop::new();
    let trace = workshop.beside("trace");
    let mut traced = Command::new("strace");
    traced.args(["-f", "-y", "-e", "trace=fsync,fdatasync,write,pwrite64", "-o"]).arg(&trace);
    let plain = writer(&workshop.path);
    traced.arg(plain.get_program()).args(plain.get_args());
    let output = traced
        .env(WRITER, &workshop.path)
        .env(COUNT, "20")
        .output()
        .unwrap_or_else(|error| panic!("this test needs strace, which `./test` installs: {error}"));
    let acks = acknowledged(&String::from_utf8(output.stdout).unwrap()).len();
    assert_eq!(acks, 20, "{}", String::from_utf8_lossy(&output.stderr));

    let trace = std::fs::read_to_string(&trace).unwrap();
    let (mut journal_writes, mut synced, mut seen) = (0, false, 0);
    for line in trace.lines() {
        if line.contains("\"ack ") {
            assert!(journal_writes > 0, "acknowledged without a write:\n{trace}");
            assert!(synced, "acknowledged before the sync returned:\n{trace}");
            (journal_writes, synced, seen) = (0, false, seen + 1);
        } else if line.contains("pwrite64(") && line.contains("-wal>") {
            (journal_writes, synced) = (journal_writes + 1, false);
        } else if line.trim_end().ends_with("= 0") {
            let whole = line.contains("sync(") && line.contains("-wal>");
            synced |= whole || line.contains("sync resumed");
        }
    }
    assert_eq!(seen, 20, "{trace}");
}
