//! Loss on the way: published and independently computed values, laws, and the joining of
//! mirror and obstacle.

#[path = "propagation/joining.rs"]
mod joining;
#[path = "propagation/laws.rs"]
mod laws;
#[path = "propagation/tables.rs"]
mod tables;
