//! Hostile input in any number: `hostile [CASES_PER_KIND [FIRST_SEED [KIND]]]` runs seeded cases of every kind, or of one, and
//! prints what came of them; `hostile --show KIND SEED` prints one case; `hostile --stdin` takes one case from standard input, for a
//! fuzzer to drive.

use std::{
    env,
    io::{self, Read, Write},
    process::ExitCode,
};

use beamstay_tests::hostile::{Kind, case, run, scenario_text, weather_text};

fn main() -> ExitCode {
    let words: Vec<String> = env::args().skip(1).collect();
    let named = |index: usize| {
        let word = words.get(index);
        Kind::ALL.into_iter().find(|kind| word.is_some_and(|word| *word == format!("{kind:?}")))
    };
    let number = |index: usize, or: u64| words.get(index).and_then(|w| w.parse().ok()).unwrap_or(or);
    match words.first().map(String::as_str) {
        Some("--stdin") => one_from_stdin(),
        Some("--show") => {
            let shown = named(1).map(|kind| case(kind, number(2, 0)));
            match shown.map(|bytes| io::stdout().write_all(&bytes)) {
                Some(Ok(())) => ExitCode::SUCCESS,
                _ => ExitCode::FAILURE,
            }
        }
        _ => many(number(0, 40_000), number(1, 0), named(2)),
    }
}

fn many(cases_count: u64, first: u64, only: Option<Kind>) -> ExitCode {
    let mut findings_count = 0;
    for kind in Kind::ALL.into_iter().filter(|kind| only.is_none_or(|only| only == *kind)) {
        let tally = run(kind, first..first.saturating_add(cases_count));
        println!("{tally}");
        findings_count += tally.findings_count;
    }
    if findings_count == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn one_from_stdin() -> ExitCode {
    let mut bytes = Vec::new();
    if io::stdin().lock().read_to_end(&mut bytes).is_err() {
        return ExitCode::FAILURE;
    }
    for outcome in [scenario_text(&bytes), weather_text(&bytes)] {
        if let Err(finding) = outcome {
            eprintln!("{finding}");
            // A signal is what fuzzers look for.
            std::process::abort();
        }
    }
    ExitCode::SUCCESS
}
