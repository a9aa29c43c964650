//! `docs/limits.md`.

use beamstay_planner::limit::LimitCode;

use super::row;

/// The page.
pub fn page() -> String {
    let mut text = String::from(
        "# Limits\n\nGenerated from the code; do not edit. Every operating point lists the limits that apply to it. A margin is what \
         is left over the bound; where the bound is 0 it is absolute. A plan closes when every limit holds.\n\n",
    );
    row(&mut text, &["code", "name", "what it guards against", "what to change first"]);
    row(&mut text, &["---", "---", "---", "---"]);
    for code in LimitCode::ALL {
        let words = code.words();
        row(&mut text, &[&format!("`{}`", code.code()), words.name, words.meaning, words.advice]);
    }
    text
}
