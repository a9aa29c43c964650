//! Pages that are generated from the code, so that they cannot drift from it: the scenario reference, the limits, the
//! validation table and figures. `cargo run -p beamstay-tests --bin generate` writes them, the test `generated` compares them.

mod limits;
mod measured;
mod propellers;
mod scenario;
mod validation;

use std::{fmt::Write, fs, io, path::PathBuf};

use crate::case::load_all;

/// One generated page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// Where it stands, from the root of the repository.
    pub path: &'static str,
    /// What it says.
    pub text: String,
}

/// Every generated page.
///
/// # Errors
/// If the published checks cannot be read.
pub fn pages() -> io::Result<Vec<Page>> {
    let cases = load_all()?;
    let mut pages = vec![
        Page { path: "docs/figures/propellers-advance-ratio.svg", text: propellers::sweep_figure()? },
        Page { path: "docs/limits.md", text: limits::page() },
        Page { path: "docs/scenario.md", text: scenario::page() },
        Page { path: "docs/scenario.schema.json", text: schema()? },
        Page { path: "docs/validation.md", text: validation::page(&cases) },
    ];
    pages.extend(measured::figures(&cases)?);
    Ok(pages)
}

/// The root of the repository.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Writes every page.
///
/// # Errors
/// If a page cannot be made or written.
pub fn write_all() -> io::Result<()> {
    for page in pages()? {
        fs::write(root().join(page.path), page.text)?;
    }
    Ok(())
}

fn schema() -> io::Result<String> {
    let text = serde_json::to_string_pretty(beamstay_planner::schema::scenario_schema())?;
    Ok(text + "\n")
}

/// A row of a Markdown table.
fn row(text: &mut String, cells: &[&str]) {
    let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|").replace('\n', " ")).collect();
    // Writing to a string does not fail.
    let _ = writeln!(text, "| {} |", cells.join(" | "));
}
