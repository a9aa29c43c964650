//! `beamstay new`.

use std::{io, path::Path};

use super::{End, print};
use crate::{args::NewArguments, output::write_new};

/// A plan that runs as it is.
const TEMPLATE: &str = include_str!("../../../../scenarios/breakwater-lookout.json");

/// Writes the template to a file or to standard output.
pub fn run(arguments: &NewArguments) -> End {
    let Some(file) = &arguments.file else { return print(TEMPLATE) };
    match write_new(Path::new(file), TEMPLATE) {
        Ok(()) => {
            eprintln!(
                "wrote {file}; next: beamstay point {file}\nevery key is explained in docs/scenario.md and by `beamstay schema`"
            );
            End::Done
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            eprintln!("error[E0007]: {file} is there already\nhelp: choose another name, or delete it first");
            End::BadInput
        }
        Err(error) => {
            eprintln!(
                "error[E0008]: {file} cannot be written: {error}\nhelp: check the folder and your rights in it"
            );
            End::BadInput
        }
    }
}
