//! The `beamstay` command.

fn main() {}
