//! Hostile input: scenarios and weather files that are valid, nearly valid, absurd or broken byte by byte go through the
//! library, and nothing may panic, take longer than two seconds, or hand out a number that is none.
//!
//! Everything follows from a seed. The test `hostile` runs a share; the binary `hostile` as many as one likes, and takes one
//! case from standard input, which is all that a fuzzer needs to drive it.

mod exercise;
mod mutant;
mod random;
mod scenario;
mod weather;

use crate::clock::busy_s;
use beamstay_numerics::random::Random;
use std::{
    fmt,
    panic::{AssertUnwindSafe, catch_unwind},
};

pub use exercise::{End, scenario_text, weather_text};

/// Longest that one case may take, s.
pub const LONGEST_S: f64 = 2.0;
/// Findings that a tally keeps in full; the rest are counted.
const MOST_KEPT_COUNT: usize = 20;

/// What a case is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Bytes of a shipped scenario, changed.
    ScenarioBytes,
    /// A shipped scenario with other numbers.
    ScenarioNumbers,
    /// A scenario from the schema, every number in its range.
    FromSchemaValid,
    /// The same with a few faults.
    FromSchemaNearly,
    /// The same with extreme numbers, wrong types and hostile text.
    FromSchemaAbsurd,
    /// Bytes of a weather file, changed.
    WeatherBytes,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::ScenarioBytes,
        Self::ScenarioNumbers,
        Self::FromSchemaValid,
        Self::FromSchemaNearly,
        Self::FromSchemaAbsurd,
        Self::WeatherBytes,
    ];

    /// The case of a seed.
    fn case(self, random: &mut Random) -> Vec<u8> {
        match self {
            Self::ScenarioBytes => {
                mutant::of_bytes(random::pick(random, scenario::SHIPPED).as_bytes(), random)
            }
            Self::ScenarioNumbers => scenario::renumbered(random).into_bytes(),
            Self::FromSchemaValid => scenario::generated(scenario::Spice::VALID, random).into_bytes(),
            Self::FromSchemaNearly => scenario::generated(scenario::Spice::NEARLY, random).into_bytes(),
            Self::FromSchemaAbsurd => scenario::generated(scenario::Spice::ABSURD, random).into_bytes(),
            Self::WeatherBytes => mutant::of_bytes(&weather::text(random), random),
        }
    }

    fn run(self, case: &[u8]) -> Result<End, String> {
        match self {
            Self::WeatherBytes => weather_text(case),
            _ => scenario_text(case),
        }
    }
}

/// What came of many cases of one kind.
#[derive(Debug, Clone)]
pub struct Tally {
    /// Which kind.
    pub kind: Kind,
    /// Cases in all.
    pub cases_count: u64,
    /// Cases that ended in a result.
    pub answered_count: u64,
    /// Cases that were refused with a message.
    pub refused_count: u64,
    /// Cases whose solver did not converge and said so.
    pub not_converged_count: u64,
    /// Slowest case, s, and its seed.
    pub slowest: (f64, u64),
    /// Findings in all.
    pub findings_count: u64,
    /// The first of them: seed and what happened.
    pub findings: Vec<(u64, String)>,
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:16} {:7} cases: {:6} answered, {:6} refused, {:4} not converged, slowest {:.3} s, {} findings",
            format!("{:?}", self.kind),
            self.cases_count,
            self.answered_count,
            self.refused_count,
            self.not_converged_count,
            self.slowest.0,
            self.findings_count
        )?;
        for (seed, finding) in &self.findings {
            write!(f, "\n    seed {seed}: {finding}")?;
        }
        Ok(())
    }
}

/// The case of a kind and seed, for looking at it.
pub fn case(kind: Kind, seed: u64) -> Vec<u8> {
    kind.case(&mut Random::new(seed))
}

/// Runs the cases of `seeds`.
pub fn run(kind: Kind, seeds: std::ops::Range<u64>) -> Tally {
    let mut tally = Tally {
        kind,
        cases_count: 0,
        answered_count: 0,
        refused_count: 0,
        not_converged_count: 0,
        slowest: (0.0, 0),
        findings_count: 0,
        findings: Vec::new(),
    };
    for seed in seeds {
        let case = case(kind, seed);
        let start_s = busy_s();
        let outcome = catch_unwind(AssertUnwindSafe(|| kind.run(&case)));
        let spent_s = busy_s() - start_s;
        tally.cases_count += 1;
        if spent_s > tally.slowest.0 {
            tally.slowest = (spent_s, seed);
        }
        let finding = match outcome {
            Err(_) => Some("panic".to_owned()),
            Ok(Err(finding)) => Some(finding),
            Ok(Ok(_)) if spent_s > LONGEST_S => Some(format!("took {spent_s:.1} s")),
            Ok(Ok(End::Answered)) => {
                tally.answered_count += 1;
                None
            }
            Ok(Ok(End::Refused)) => {
                tally.refused_count += 1;
                None
            }
            Ok(Ok(End::NotConverged)) => {
                tally.not_converged_count += 1;
                None
            }
        };
        if let Some(finding) = finding {
            tally.findings_count += 1;
            if tally.findings.len() < MOST_KEPT_COUNT {
                tally.findings.push((seed, finding));
            }
        }
    }
    tally
}
