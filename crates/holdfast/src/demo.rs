//! The demo workshop: an invented club whose gear shows every verdict and its reasons.
//!
//! What is there stands in tables (`club`, `receivers`, `history`); `book` turns them
//! into logbook entries. Every name, code and story in them is invented.

mod book;
mod club;
mod fits;
mod gear;
mod history;
mod receivers;

use register::family::read;
use register::family::shipped;
use register::time::Moment;

use crate::workshop::{Workshop, WorkshopError};
use book::Book;

/// The demo workshop's name.
pub const NAME: &str = "Nethermoss Meadow Flyers (invented)";

/// The invented link secrets as the club would type them. The workshop keeps only
/// their fingerprints, as it does of every secret.
pub const SECRETS: [&str; 2] = ["seven-soggy-sandwiches", "uncounted-umbrella-stand"];

/// Fills an empty workshop with the invented club, its history ending at `now`. A
/// workshop that already holds entries is left as it is.
///
/// # Errors
/// The workshop can't be written, or the folder of keys can't be made.
pub fn build(workshop: &mut Workshop, now: Moment) -> Result<(), WorkshopError> {
    if workshop.register().entries() > 0 {
        return Ok(());
    }
    let author = std::mem::replace(&mut workshop.author, "the keeper of the gear (invented)".to_owned());
    let built = fill(workshop, now);
    workshop.author = author;
    built
}

fn fill(workshop: &mut Workshop, now: Moment) -> Result<(), WorkshopError> {
    workshop.set("name", Some(NAME))?;
    for (file, text) in shipped::demo_families() {
        // A test reads every shipped file; one that can't be read leaves its gear unknown.
        if let Ok(family) = read::read(file, text) {
            workshop.add_family(&family, text)?;
        }
    }
    let mut book = Book::new(workshop, now)?;
    book.enter()?;
    book.tell_early()?;
    book.look()?;
    book.tell_late()?;
    book.set_right()?;
    book.commission()?;
    book.merge_a_second_copy()
}
