//! The command line records while the server runs: two programs, one workshop.
#![allow(missing_docs, clippy::unwrap_used)]

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn holdfast(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_holdfast"));
    command
        .arg("--workshop")
        .arg(folder.join("w.holdfast"))
        .env("HOLDFAST_KEYS", folder.join("keys"))
        .env("HOME", folder)
        .env_remove("HOLDFAST_WORKSHOP");
    command
}

fn run(folder: &Path, arguments: &[&str]) -> String {
    let output = holdfast(folder).args(arguments).stdin(Stdio::null()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{arguments:?}: {said}{}", String::from_utf8_lossy(&output.stderr));
    said
}

fn page(address: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    assert!(text.starts_with("HTTP/1.1 200"), "{text}");
    text
}

#[test]
fn the_command_line_records_while_the_server_runs() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    run(folder, &["add", "receiver", "R1", "--name", "First"]);
    let mut server =
        Server(holdfast(folder).args(["serve", "--port", "0"]).stdout(Stdio::piped()).spawn().unwrap());
    let mut line = String::new();
    BufReader::new(server.0.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let address = line.split("http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
    assert!(page(&address, "/receivers").contains("First"));

    // Several writers at once, none of which waits for the server to stop.
    let writers: Vec<Child> = (0..6)
        .map(|n| {
            holdfast(folder)
                .args(["add", "receiver", &format!("W{n}"), "--name", &format!("Written beside {n}")])
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut writer in writers {
        assert!(writer.wait().unwrap().success());
    }
    let list = page(&address, "/receivers");
    for n in 0..6 {
        assert!(list.contains(&format!("Written beside {n}")), "{list}");
    }
    run(folder, &["record", "R1", "firmware", "4.1"]);
    assert!(page(&address, "/receivers").contains("4.1"));
    run(folder, &["verify"]);
}
