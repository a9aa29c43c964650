//! Writes the generated pages of `docs`.

use std::process::ExitCode;

fn main() -> ExitCode {
    match beamstay_tests::docs::write_all() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("the pages cannot be written: {error}");
            ExitCode::FAILURE
        }
    }
}
