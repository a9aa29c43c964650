//! What a scenario may ask of a multirotor beyond flying: to survive lost rotors, to come down clear of the vortex ring.

use beamstay_vehicle::{
    DescentPlan, Failure, Load, Remaining, RotorsLeft, Verdict, rotor_out::ALLOCATION_MARGIN_RATIO,
};

use super::{Acting, Craft};
use crate::{
    error::{At, PlanError},
    limit::{LimitCode, LimitRow},
    scenario::{Limits, RotorControl, RotorFailure, RotorTask, RotorsLost},
};

impl Craft {
    /// What the failure that the scenario asks about leaves of the rotors, which their arrangement alone decides; `before` again if it
    /// is of the same.
    pub fn rotors_left(&self, limits: &Limits, before: Option<RotorsLeft>) -> Option<RotorsLeft> {
        let (Self::Multirotor(model), Some(lost)) = (self, limits.rotors_lost) else { return None };
        let (rotors, failure) = (&model.inputs().rotors, failure(lost.failure));
        before.filter(|left| left.is_of(rotors, failure)).or_else(|| RotorsLeft::new(rotors, failure).ok())
    }

    /// Rows for what the scenario asks; `gust` is what acts on the vehicle in the gust, `left` what [`Self::rotors_left`] found.
    ///
    /// # Errors
    /// [`PlanError::Refused`] where this cannot be asked of this vehicle.
    pub fn asked_limits(
        &self,
        gust: &Acting<'_>,
        limits: &Limits,
        left: Option<RotorsLeft>,
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
            let load = gust.load();
            let left = match left {
                Some(left) => left,
                // Rotors of which that cannot be told.
                None => RotorsLeft::new(&model.inputs().rotors, failure(lost.failure))
                    .at("/limits/rotors_lost")?,
            };
            let remaining = match lost.task {
                RotorTask::Land => model.landed_with(&left, &load, &fluid),
                RotorTask::Hold => model.held_with(&left, &load, &fluid),
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
