//! One published check and the files that hold them.

use std::{fs, io, path::PathBuf};

use serde::Deserialize;

/// A value from outside the project and how near our model must come to it.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Name of the test, `val_<source>_<case>`.
    pub id: String,
    /// Which model and which of its outputs, for example `tether.catenary.horizontal_tension_n`.
    pub model: String,
    /// Inputs of the model, keys ending in their unit.
    pub inputs: serde_json::Value,
    /// The published value.
    pub value: f64,
    /// Its unit, empty for a pure number.
    pub unit: String,
    /// How near the model must come.
    pub tolerance: Tolerance,
    /// Why that tolerance is fair.
    pub why: String,
    /// Author, year, table or equation.
    pub source: String,
    /// How the value is known.
    pub status: Status,
}

/// Allowed difference between the model and the published value.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tolerance {
    /// Allowed difference divided by the published value.
    Relative(f64),
    /// Allowed difference in the unit of the value.
    Absolute(f64),
    /// The model must lie between these, in the unit of the value.
    Between(f64, f64),
}

/// How a published value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Read in a copy of the source.
    Seen,
    /// Computed with a general-purpose library, named in the source.
    Computed,
    /// Recalled, the source not seen.
    FromMemory,
    /// A fact of the trade.
    CommonPracticeNoSource,
}

impl Case {
    /// Whether `computed` is near enough.
    pub fn accepts(&self, computed: f64) -> bool {
        match self.tolerance {
            Tolerance::Relative(ratio) => (computed - self.value).abs() <= ratio * self.value.abs(),
            Tolerance::Absolute(difference) => (computed - self.value).abs() <= difference,
            Tolerance::Between(lo, hi) => (lo..=hi).contains(&computed),
        }
    }
}

/// Every case of every file in `tests/cases`, in the order of the file names.
///
/// # Errors
/// If a file cannot be read or does not have the form of [`Case`].
pub fn load_all() -> io::Result<Vec<Case>> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("cases");
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder)?.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    paths.retain(|path| path.extension().is_some_and(|e| e == "json"));
    paths.sort();
    let mut cases = Vec::new();
    for path in paths {
        let text = fs::read_to_string(&path)?;
        let file_cases: Vec<Case> =
            serde_json::from_str(&text).map_err(|e| io::Error::other(format!("{}: {e}", path.display())))?;
        cases.extend(file_cases);
    }
    Ok(cases)
}
