//! Results as text for a terminal: one screen, the verdict first.

pub mod compare;
pub mod csv;
pub mod endurance;
pub mod hazard;
pub mod lightloss;
pub mod parts;
pub mod point;
pub mod receiver;
pub mod region;
pub mod remedy;
pub mod risk;
pub mod rotors;
pub mod search;
pub mod sweep;
pub mod table;
pub mod tether;
