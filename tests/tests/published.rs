//! Runs every published check of `cases/*.json` as a test of its own name.

use beamstay_tests::{case::load_all, models::compute};
use libtest_mimic::{Arguments, Failed, Trial};

fn main() {
    let arguments = Arguments::from_args();
    let cases = match load_all() {
        Ok(cases) => cases,
        Err(error) => {
            eprintln!("cannot read the cases: {error}");
            std::process::exit(2);
        }
    };
    let mut trials = vec![something_runs(cases.len())];
    for case in cases {
        trials.push(Trial::test(case.id.clone(), move || {
            let computed = compute(&case.model, &case.inputs)
                .ok_or_else(|| Failed::from(format!("no model {} for inputs {}", case.model, case.inputs)))?;
            if case.accepts(computed) {
                return Ok(());
            }
            Err(Failed::from(format!(
                "computed {computed:.12e}, published {:.12e} {} ({}), allowed {:?}",
                case.value, case.unit, case.source, case.tolerance
            )))
        }));
    }
    libtest_mimic::run(&arguments, trials).exit();
}

/// A run without cases must not pass for a run that proves something.
fn something_runs(cases_count: usize) -> Trial {
    Trial::test("cases_are_found", move || {
        if cases_count >= 200 { Ok(()) } else { Err(Failed::from(format!("only {cases_count} cases found"))) }
    })
}
