//! `beamstay completions` and `beamstay manual`: made from the definition of the command line, so that they cannot drift.

use clap::CommandFactory;

use super::{End, failed, print};
use crate::args::{Arguments, Format, ShellArguments};

/// Prints the completions for a shell.
pub fn completions(arguments: &ShellArguments) -> End {
    let mut bytes = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "beamstay", &mut bytes);
    print(&String::from_utf8_lossy(&bytes))
}

/// Prints the manual page: the command, then each of its subcommands.
pub fn manual() -> End {
    let mut bytes = Vec::new();
    let mut command = Arguments::command();
    command.build();
    let written = clap_mangen::Man::new(command.clone()).render(&mut bytes).and_then(|()| {
        command.get_subcommands().filter(|inner| inner.get_name() != "help").try_for_each(|inner| {
            let man =
                clap_mangen::Man::new(inner.clone().display_name(format!("beamstay {}", inner.get_name())));
            man.render_name_section(&mut bytes)?;
            man.render_synopsis_section(&mut bytes)?;
            man.render_options_section(&mut bytes)
        })
    });
    match written {
        Ok(()) => print(&String::from_utf8_lossy(&bytes)),
        Err(error) => failed(Format::Text, &error.to_string()),
    }
}
