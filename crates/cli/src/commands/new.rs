//! `beamstay new`.

mod template;

use std::{io, path::Path};

use super::{End, print};
use crate::{args::NewArguments, output::write_new};

/// Writes the template to a file or to standard output.
pub fn run(arguments: &NewArguments) -> End {
    let plan = match template::template(arguments.kind, arguments.way()) {
        Ok(plan) => plan,
        Err(reason) => {
            eprintln!("error[E0009]: this vehicle and this delivery do not go together\nhelp: {reason}");
            return End::BadInput;
        }
    };
    let Some(file) = &arguments.file else { return print(&plan) };
    match write_new(Path::new(file), &plan) {
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
