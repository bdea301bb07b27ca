//! Stopping a search by hand: Ctrl-C, or Enter where somebody sits at a terminal.

use std::io::{self, IsTerminal as _};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;

const NOT: u8 = 0;
const ENTER: u8 = 1;
const CTRL_C: u8 = 2;

/// What a program that was ended by Ctrl-C gives as its exit code, by custom.
const INTERRUPTED: i32 = 130;

/// How a search was stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// By Enter: the best plan so far will do.
    Enter,
    /// By Ctrl-C: nothing is to be written down.
    CtrlC,
}

/// Whether somebody asked to stop.
pub struct Stop {
    asked: Arc<AtomicU8>,
    /// Whether Enter is listened to.
    pub enter: bool,
}

impl Stop {
    /// Begins to listen. A second Ctrl-C ends the program at once.
    pub fn listen() -> Stop {
        let asked = Arc::new(AtomicU8::new(NOT));
        let heard = Arc::clone(&asked);
        thread::spawn(move || {
            let Ok(runtime) = tokio::runtime::Builder::new_current_thread().enable_all().build() else {
                return;
            };
            runtime.block_on(async {
                if tokio::signal::ctrl_c().await.is_ok() {
                    heard.store(CTRL_C, Ordering::Relaxed);
                    if tokio::signal::ctrl_c().await.is_ok() {
                        std::process::exit(INTERRUPTED);
                    }
                }
            });
        });
        let enter = io::stdin().is_terminal() && io::stderr().is_terminal();
        if enter {
            let heard = Arc::clone(&asked);
            thread::spawn(move || {
                // The end of input is nobody's wish to stop.
                if io::stdin().read_line(&mut String::new()).is_ok_and(|bytes| bytes > 0) {
                    // Ctrl-C keeps the last word.
                    let _ = heard.compare_exchange(NOT, ENTER, Ordering::Relaxed, Ordering::Relaxed);
                }
            });
        }
        Stop { asked, enter }
    }

    /// How it was asked to stop, if it was.
    pub fn asked(&self) -> Option<By> {
        match self.asked.load(Ordering::Relaxed) {
            ENTER => Some(By::Enter),
            CTRL_C => Some(By::CtrlC),
            _ => None,
        }
    }
}
