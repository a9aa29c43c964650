//! Where the vehicle and a cut tether can come down.

use beamstay_environment::flow::Flow;
use beamstay_tether::cut::{Cut, broadside_speed_m_s, cut_reach, end_on_speed_m_s};
use beamstay_vehicle::fall::{FallingBody, fall};
use serde::Serialize;

use super::{CauseRow, scene::Scene};
use crate::{
    error::{At, PlanError},
    system::craft::Craft,
};

/// Where things can come down. Distances from the drum, or from the beam's optic, over ground.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Reach {
    /// Where it comes down under control, m.
    pub controlled_m: f64,
    /// Farthest fall without control, m: the gust carries it while it falls with its largest drag, in any direction. A line
    /// that holds bounds it.
    pub uncontrolled_m: f64,
    /// Time of that fall, s.
    pub fall_s: f64,
    /// Drift in it, m.
    pub drift_m: f64,
    /// Largest speed at the ground, m/s: it falls with its least drag.
    pub impact_speed_m_s: f64,
    /// Energy at that speed, J.
    pub impact_j: f64,
    /// The pieces of a cut tether.
    pub tether: Option<TetherReach>,
}

/// Where the pieces of a cut tether can come down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TetherReach {
    /// Radius about the drum for the piece on the drum, m.
    pub attached_m: f64,
    /// Radius about the drum for the piece at the vehicle, if the vehicle lets go of it where it is, m.
    pub loose_m: f64,
    /// Its drift, m.
    pub drift_m: f64,
    /// Speed of a piece that falls broadside, m/s.
    pub broadside_m_s: f64,
    /// Speed of a piece that falls end on, m/s: an upper bound.
    pub end_on_m_s: f64,
}

impl Scene<'_> {
    /// Where things can come down for a cause.
    pub(super) fn reach(&self, cause: &CauseRow) -> Result<Reach, PlanError> {
        let place_m = self.place.position_m;
        let aside_m = place_m.xy().norm();
        let height_m = (place_m.z + self.system.surroundings.exit_height_m).max(0.0);
        let areas_m2 = match &self.system.craft {
            Craft::Multirotor(model) => (model.drag_area_m2(0.0), model.drag_area_m2(1.0)),
            // A wing that has lost control may tumble flat: its whole area, flat plate.
            Craft::FixedWing(wing) => (0.0, 1.2 * wing.model().inputs().wing_area_m2),
            Craft::Underwater(_) | Craft::FixedLoad(_) => return Ok(Reach::default()),
        };
        let air = self.system.surroundings.mean.fluid_at(place_m.z);
        let gust = self.system.surroundings.gust_at(place_m.z)?;
        let exit_m = self.system.surroundings.exit_height_m;
        let wind_m_s = |height_m: f64| gust.at(height_m - exit_m).velocity_m_s.xy().norm();
        let body = |drag_area_m2| FallingBody {
            mass_kg: self.system.masses.total_kg(),
            drag_area_m2,
            density_kg_m3: air.density_kg_m3,
        };
        let (least_m2, most_m2) = (areas_m2.0.min(areas_m2.1), areas_m2.0.max(areas_m2.1));
        let fast = fall(&body(least_m2), height_m, wind_m_s).at("/station")?;
        let far = fall(&body(most_m2), height_m, wind_m_s).at("/station")?;
        let circle_m = self.system.craft.circle_radius_m().unwrap_or(0.0);
        let mut uncontrolled_m = aside_m + circle_m + far.drift_m.max(fast.drift_m);
        let held = self.point().tether.filter(|_| cause.line_holds);
        if let Some(tether) = held {
            uncontrolled_m = uncontrolled_m.min(tether.paid_out_m);
        }
        Ok(Reach {
            controlled_m: if held.is_some() { 0.0 } else { aside_m + circle_m },
            uncontrolled_m,
            fall_s: far.time_s,
            drift_m: far.drift_m,
            impact_speed_m_s: fast.impact_speed_m_s,
            impact_j: fast.impact_energy_j,
            tether: self.tether_reach(cause, height_m, aside_m, wind_m_s)?,
        })
    }

    fn tether_reach(
        &self,
        cause: &CauseRow,
        height_m: f64,
        aside_m: f64,
        wind_m_s: impl Fn(f64) -> f64,
    ) -> Result<Option<TetherReach>, PlanError> {
        let (Some(at_m), Some(line), Some(tether)) =
            (cause.cut_at_m, self.system.line.as_deref(), self.point().tether)
        else {
            return Ok(None);
        };
        let air = self.system.surroundings.mean.fluid_at(0.5 * self.place.position_m.z);
        let strongest_m_s = (0..=20).map(|i| wind_m_s(height_m * f64::from(i) / 20.0)).fold(0.0, f64::max);
        let cut = Cut {
            paid_out_length_m: tether.paid_out_m,
            cut_at_m: at_m.min(tether.paid_out_m),
            vehicle_height_m: height_m,
            vehicle_distance_m: aside_m,
            wind_speed_m_s: strongest_m_s.min(100.0),
        };
        let (density, viscosity) = (air.density_kg_m3, air.dynamic_viscosity_pa_s);
        let reach = cut_reach(&line.line, &cut, density, viscosity).at("/light_loss/cause")?;
        Ok(Some(TetherReach {
            attached_m: reach.attached_radius_m,
            loose_m: reach.loose_radius_m,
            drift_m: reach.loose_drift_m,
            broadside_m_s: broadside_speed_m_s(&line.line, density, viscosity).at("/delivery")?,
            // A line without tangential drag has no bound; free fall from the height stands in for it.
            end_on_m_s: end_on_speed_m_s(&line.line, density)
                .unwrap_or(f64::MAX)
                .min((2.0 * beamstay_numerics::constants::STANDARD_GRAVITY_M_S2 * height_m).sqrt()),
        }))
    }
}
