//! Fault trails: the symptoms, how a trail begins, and one step at a time.

pub mod card;
mod end;
pub mod list;
pub mod lost;
mod next;
mod parts;
pub mod report;
pub mod start;
pub mod step;
pub mod weights;

pub use list::Faults;
pub use next::FACTS_FORM;
pub use parts::sentence;
pub use start::Start;
pub use step::mark;
