//! The answer to "does this plan close": the operating point with everything a reader needs to trust it.

use serde::Serialize;

use crate::{
    Loaded,
    caution::cautions,
    digest::digest,
    document::Document,
    effect::{Effect, effects},
    error::PlanError,
    formula::{Formula, formulas},
    lever::{Lever, changed_points, levers},
    limit::{LimitCode, LimitRow},
    point::OperatingPoint,
    schema::DefaultUsed,
    system::System,
    winds::{Winds, winds},
};

/// The operating point of a scenario with its provenance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointReport {
    /// Title of the scenario.
    pub title: String,
    /// Note of the scenario.
    pub note: String,
    /// The point.
    #[serde(flatten)]
    pub point: OperatingPoint,
    /// Winds around that of the plan in which it closes, its station as it stands; none for a plan that does not, and for what
    /// does not fly.
    pub winds: Option<Winds>,
    /// Whether the plan names uncertain numbers, so that `risk` can tell how sure it is.
    pub has_uncertainty: bool,
    /// For each broken limit and the tightest one, the input that moves it most.
    pub levers: Vec<Lever>,
    /// What one percent more of each input does to the margin, the largest first.
    pub effects: Vec<Effect>,
    /// Every default that was used.
    pub defaults_used: Vec<DefaultUsed>,
    /// Cautions, the gravest first.
    pub cautions: Vec<&'static str>,
    /// Models used and their sources.
    pub formulas: Vec<Formula>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

impl PointReport {
    /// What to change first for a limit: the input that moves it most, or the general advice where none does.
    pub fn change_first(&self, row: &LimitRow) -> String {
        match self.lever(row.code) {
            Some(lever) => lever.to_string(),
            None => row.code.words().advice.to_owned(),
        }
    }

    fn lever(&self, code: LimitCode) -> Option<&Lever> {
        self.levers.iter().find(|lever| lever.limit == code)
    }
}

/// Computes the operating point of a scenario.
///
/// # Errors
/// [`PlanError`]: parts that do not go together, or a solver that did not converge. A plan that does not close is a result.
pub fn point_report(document: &Document, loaded: &Loaded) -> Result<PointReport, PlanError> {
    let scenario = &loaded.scenario;
    let system = System::new(scenario)?;
    let place = system.place(&scenario.station)?;
    let solved = system.solve(&place, None)?;
    let changed = changed_points(document, &solved);
    let levers = levers(&changed, &solved.point);
    let effects = effects(&changed, &solved.point);
    let winds = winds(&system, scenario, &place, &solved);
    let point = solved.checked();
    Ok(PointReport {
        title: scenario.title.clone(),
        note: scenario.note.clone(),
        winds,
        has_uncertainty: scenario.uncertainty.is_some(),
        levers,
        effects,
        cautions: cautions(scenario, &point),
        point,
        defaults_used: loaded.defaults.clone(),
        formulas: formulas(scenario),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    })
}
