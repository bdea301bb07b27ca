//! `serve` and `demo`.

use std::fs;
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};

use super::Session;
use super::args;
use super::out::complain;
use crate::web::{self, ServeOptions};
use crate::workshop::{Places, Workshop, now};

/// The port that a browser may remember.
const PORT: u16 = 7717;

/// The file by which a folder is known to be the demo's.
const MARKER: &str = "holdfast-demo";
const MARKER_TEXT: &str =
    "The demo workshop of Holdfast was built in this folder. `holdfast demo` builds it anew here.\n";

/// The keys of a demo stay with it, also when its workshop is named later on.
pub fn keys_beside(workshop: &Path) -> Option<PathBuf> {
    let folder = workshop.parent()?;
    folder.join(MARKER).is_file().then(|| folder.join("keys"))
}

/// Serves the workshop.
pub fn serve(session: &mut Session, args: &args::Serve) -> anyhow::Result<()> {
    let places = session.places.clone();
    serve_at(session, places, args.port, args.share_on)
}

fn serve_at(
    session: &mut Session,
    places: Places,
    port: Option<u16>,
    share_on: Option<std::net::SocketAddr>,
) -> anyhow::Result<()> {
    let port = port.unwrap_or_else(|| {
        let is_free = TcpListener::bind((Ipv4Addr::LOCALHOST, PORT)).is_ok();
        if !is_free {
            complain(&format!("holdfast: port {PORT} is taken by another program; a free one is used"));
        }
        if is_free { PORT } else { 0 }
    });
    session.out.flush()?;
    let announce = |hello: &str| {
        use std::io::Write as _;
        // Who started the server may read the address from a pipe.
        let mut out = io::stdout();
        let _ = writeln!(out, "{hello}").and_then(|()| out.flush());
    };
    let author = session.author.clone();
    web::serve(ServeOptions { places, author, port, share_on, announce: Box::new(announce) })
}

/// Builds the demo workshop, and serves it.
pub fn demo(session: &mut Session, args: &args::Demo) -> anyhow::Result<()> {
    let folder = args.dir.clone().unwrap_or_else(|| Places::data_folder().join("demo"));
    prepare(&folder)?;
    let places = Places { workshop: folder.join("workshop.holdfast"), keys: folder.join("keys") };
    let mut workshop = Workshop::open(&places, "demo")?;
    crate::demo::build(&mut workshop, now())?;
    let fleet = workshop.fleet().clone();
    let (transmitters, receivers, aircraft) =
        (fleet.transmitters.len(), fleet.receivers.len(), fleet.aircraft.len());
    drop(workshop);
    if session.out.json {
        session.out.answer(&serde_json::json!({
            "workshop": places.workshop.display().to_string(),
            "keys": places.keys.display().to_string(),
            "transmitters": transmitters,
            "receivers": receivers,
            "aircraft": aircraft,
        }))?;
    } else {
        session.out.line(&format!(
            "Built an invented club's workshop: {transmitters} transmitters, {receivers} receivers, {aircraft} aircraft."
        ))?;
        session
            .out
            .line(&format!("It is {}; your own workshop was not touched.", places.workshop.display()))?;
    }
    if args.no_serve {
        return Ok(());
    }
    serve_at(session, places, args.port, None)
}

/// Makes the folder, or empties it of what an earlier demo made; nothing else is touched.
fn prepare(folder: &Path) -> anyhow::Result<()> {
    let at = || format!("the demo's folder {} can't be made", folder.display());
    fs::create_dir_all(folder).with_context(at)?;
    let marker = folder.join(MARKER);
    if marker.is_file() {
        for name in ["workshop.holdfast", "workshop.holdfast-wal", "workshop.holdfast-shm"] {
            remove(&folder.join(name))?;
        }
        return Ok(());
    }
    if fs::read_dir(folder).with_context(at)?.next().is_some() {
        bail!(
            "{} is not empty and was not made by `demo`, so nothing in it was touched; name an empty or new folder \
             with --dir",
            folder.display()
        );
    }
    fs::write(&marker, MARKER_TEXT).with_context(at)
}

fn remove(file: &Path) -> anyhow::Result<()> {
    match fs::remove_file(file) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            Err(error).with_context(|| format!("{} can't be removed", file.display()))
        }
        _ => Ok(()),
    }
}
