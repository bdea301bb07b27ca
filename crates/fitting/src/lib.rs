//! Commissioning: the bench work that makes a paired receiver an aircraft that can fly, and the
//! record of what was checked and what was not.
//!
//! An aircraft's fit has four parts — outputs, supply, failsafe, antennas — each a short TOML text
//! that the logbook keeps ([`part`]). Each part has a module that reads it and says what is wrong,
//! with its consequence and its mend ([`finding`]). [`commission`] is the list of everything that
//! wants to be known or proven, how it is known, and what lapsed it. [`card`] is what goes to the
//! bench and the field.
//!
//! Nothing here says that an aircraft is safe.

pub mod aircraft;
pub mod antennas;
pub mod card;
pub mod cards;
pub mod commission;
pub mod failsafe;
pub mod finding;
pub mod outputs;
pub mod part;
pub mod qr;
pub mod supply;
