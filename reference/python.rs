//! Runs the scripts beside this file; included by the tests that do.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

/// Has a script of `reference/` do these jobs, each some words and bytes; its answers.
pub fn python(script: &str, jobs: &[(String, Vec<u8>)]) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference");
    let mut child = Command::new("python3")
        .args(["-I", "-S"])
        .arg(folder.join(script))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("python3 can't be started; install Python 3.11 or newer, by which this test checks");
    let mut pipe = child.stdin.take().expect("stdin is a pipe");
    let mut input = Vec::new();
    for (words, bytes) in jobs {
        input.extend(format!("{words} {}\n", bytes.len()).into_bytes());
        input.extend(bytes);
    }
    // From another thread, or both would wait once the pipes are full. A script that ends
    // too early says why below.
    let feeder = std::thread::spawn(move || pipe.write_all(&input));
    let out = child.wait_with_output().expect("the script ends");
    let _ = feeder.join();
    assert!(out.status.success(), "{script}: {}", String::from_utf8_lossy(&out.stderr));
    let mut rest = out.stdout.as_slice();
    let mut answers = Vec::new();
    while let Some(at) = rest.iter().position(|byte| *byte == b'\n') {
        let bytes: usize =
            std::str::from_utf8(&rest[..at]).ok().and_then(|text| text.parse().ok()).expect("a number");
        answers.push(rest[at + 1..][..bytes].to_vec());
        rest = &rest[at + 1 + bytes..];
    }
    assert_eq!(answers.len(), jobs.len(), "{script} answers every job");
    answers
}
