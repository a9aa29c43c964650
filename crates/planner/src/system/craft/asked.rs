//! What a scenario may ask of a multirotor beyond flying: to survive lost rotors, to come down clear of the vortex ring.

use beamstay_vehicle::{DescentPlan, Failure, Load, Remaining, Verdict, rotor_out::ALLOCATION_MARGIN_RATIO};

use super::{Acting, Craft};
use crate::{
    error::{At, PlanError},
    limit::{LimitCode, LimitRow},
    scenario::{Limits, RotorControl, RotorFailure, RotorTask, RotorsLost},
};

impl Craft {
    /// Rows for what the scenario asks; `gust` is what acts on the vehicle in the gust.
    ///
    /// # Errors
    /// [`PlanError::Refused`] where this cannot be asked of this vehicle.
    pub fn asked_limits(
        &self,
        gust: &Acting<'_>,
        limits: &Limits,
        rows: &mut Vec<LimitRow>,
    ) -> Result<(), PlanError> {
        if limits.rotors_lost.is_none() && limits.descent_rate_m_s.is_none() {
            return Ok(());
        }
        let Self::Multirotor(model) = self else {
            return Err(PlanError::excludes("/limits", "lost rotors or a descent in limits", "this vehicle"));
        };
        let fluid = gust.fluid();
        if let Some(lost) = limits.rotors_lost {
            let (load, failure) = (gust.load(), failure(lost.failure));
            let remaining = match lost.task {
                RotorTask::Land => model.landed_without(&load, failure, &fluid),
                RotorTask::Hold => model.held_without(&load, failure, &fluid),
            };
            rows.push(lost_row(lost, &remaining.at("/limits/rotors_lost")?));
        }
        if let Some(rate_m_s) = limits.descent_rate_m_s {
            let calm = Load::hover(gust.mass_kg);
            let plan = DescentPlan { max_rate_m_s: 50.0, ..DescentPlan::default() };
            // A craft that cannot hover has its own rows.
            let safe_m_s = model.safe_descent_rate_m_s(&calm, &plan, &fluid).unwrap_or(0.0);
            rows.push(LimitRow::at_most(LimitCode::DescentRate, rate_m_s, safe_m_s, "m/s"));
        }
        Ok(())
    }
}

/// The failure in the words of the model.
pub(crate) fn failure(failure: RotorFailure) -> Failure {
    match failure {
        RotorFailure::OneRotor => Failure::OneRotor,
        RotorFailure::OpposingPair => Failure::OpposingPair,
    }
}

/// Thrust that is left, controlled as asked, over the thrust needed; 0 where the rest cannot be controlled so.
fn lost_row(lost: RotorsLost, remaining: &Remaining) -> LimitRow {
    let (wanted, least) = match lost.control {
        RotorControl::Heading => (Verdict::KeepsHeading, 1.0 + ALLOCATION_MARGIN_RATIO),
        RotorControl::Level => (Verdict::TurnsSlowly, 1.0 + ALLOCATION_MARGIN_RATIO),
        RotorControl::Spinning => (Verdict::SpinsOnly, 1.0),
    };
    let uncontrolled = remaining.verdict > wanted && remaining.verdict != Verdict::Falls;
    let left = if uncontrolled { 0.0 } else { 1.0 + remaining.margin_ratio };
    LimitRow::at_least(LimitCode::RotorsLost, left, least, "")
}
