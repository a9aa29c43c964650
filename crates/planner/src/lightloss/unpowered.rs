//! The drill of what does not hover: a wing glides, a swimmer floats or is hauled, a load on a mast stands.

use beamstay_environment::flow::Flow;
use beamstay_vehicle::{UnderwaterVehicle, WingLoad};

use nalgebra::Vector3;

use super::{
    CauseRow, Drill, Leg, Outcome, Phase,
    scene::{Flight, Prepared, Scene},
};
use crate::{
    error::{At, PlanError},
    system::{
        craft::{Acting, Craft, Wing},
        surroundings::Stream,
    },
};

/// Speed at which a winch hauls where the scenario gives none, m/s (common practice, no source).
const HAUL_M_S: f64 = 0.5;
/// How long a load that stands is followed, s: a day.
const FOLLOWED_S: f64 = 86_400.0;

/// A glide to the ground.
pub(super) struct Glide {
    pub flight: Flight,
    /// How far over the ground it leads, the wind behind, m.
    pub reach_m: f64,
}

impl Scene<'_> {
    /// A wing: holds its circle while the loss is noticed, glides with the motor off, keeps power for the landing.
    pub(super) fn wing<'a>(
        &'a self,
        cause: &CauseRow,
        wing: &'a Wing,
    ) -> Result<(Drill, Option<Prepared<'a>>), PlanError> {
        let glide = self.glide(wing, self.system.masses.total_kg())?;
        let mut drill = self.drill(cause, glide.flight, self.system.battery.as_ref())?;
        drill.reach.controlled_m += glide.reach_m;
        if drill.outcome == Outcome::Lost {
            drill.reason = "nothing on board moves the control surfaces once the light is gone".into();
        }
        Ok((drill, Some(Prepared::Wing(wing))))
    }

    /// The glide of a wing of `mass_kg`.
    pub(super) fn glide(&self, wing: &Wing, mass_kg: f64) -> Result<Glide, PlanError> {
        let rules = &self.scenario.light_loss;
        let z_m = self.place.position_m.z;
        let mean = &self.system.surroundings.mean;
        let fluid = mean.fluid_at(z_m);
        let model = wing.model();
        let load = WingLoad::free(mass_kg);
        // A hair above the slowest usable speed, where that is the best: the bound itself is lost to rounding.
        let slowest_m_s = model.least_power_speed_m_s(&load, &fluid).at("/vehicle/fixed_wing")?;
        let speed_m_s = slowest_m_s * (1.0 + 1e-9);
        let level = model.level(&load, speed_m_s, &fluid).at("/vehicle/fixed_wing")?;
        let glide_ratio = level.lift_n / level.drag_n;
        let height_m = (z_m + self.system.surroundings.exit_height_m).max(0.0);
        // Slope of a glide is drag over lift; the sink is that share of the airspeed.
        let sink_m_s = speed_m_s / (1.0 + glide_ratio * glide_ratio).sqrt();
        let circling_w = |stream: &Stream| {
            let acting = Acting {
                mass_kg,
                position_m: self.place.position_m,
                stream,
                tether_pull_n: Vector3::zeros(),
            };
            let balanced = self.system.craft.balance(&acting).at("/vehicle/fixed_wing")?;
            Ok::<f64, PlanError>(self.system.craft.demand_w(&balanced) + self.system.payload_w)
        };
        let loiter_w = circling_w(mean)?;
        let leg = |phase, duration_s, power_w, from_height_m, to_height_m| Leg {
            phase,
            duration_s,
            power_w,
            from_height_m,
            to_height_m,
        };
        let glide_w = model.inputs().avionics_w + self.payload_w();
        let wind_m_s = mean.at(z_m).velocity_m_s.xy().norm();
        Ok(Glide {
            reach_m: height_m * glide_ratio + wind_m_s * height_m / sink_m_s,
            flight: Flight {
                legs: vec![
                    leg(Phase::Hold, rules.decision_time_s, loiter_w, height_m, height_m),
                    leg(Phase::Descent, height_m / sink_m_s, glide_w, height_m, 0.0),
                    leg(Phase::Landing, rules.landing_hover_s, loiter_w, 0.0, 0.0),
                ],
                // The circle may not exist in the gust; the mean then has to do.
                peak_w: circling_w(&self.gust).unwrap_or(loiter_w).max(loiter_w),
                rate: None,
                in_vortex_ring: false,
                reel_speed_m_s: None,
            },
        })
    }

    /// What needs no power to come back.
    pub(super) fn unpowered(&self, cause: &CauseRow) -> Result<Drill, PlanError> {
        match &self.system.craft {
            Craft::Underwater(model) => self.swimmer(cause, model),
            _ => self.standing(cause),
        }
    }

    fn swimmer(&self, cause: &CauseRow, model: &UnderwaterVehicle) -> Result<Drill, PlanError> {
        let rules = &self.scenario.light_loss;
        let depth_m = (-self.place.position_m.z).max(0.0);
        let water = self.system.surroundings.mean.fluid_at(self.place.position_m.z);
        let lift_n = model.net_buoyancy_n(self.system.masses.total_kg(), water.density_kg_m3)
            - match cause.line_holds {
                true => 0.0,
                false => self.piece_weight_n(cause.piece_m, water.density_kg_m3),
            };
        let drag_m2 = model.inputs().heave_drag_m2;
        let free_m_s = (2.0 * lift_n.abs() / (water.density_kg_m3 * drag_m2)).sqrt();
        let held = cause.line_holds && self.system.line.is_some();
        let haul_m_s =
            self.scenario.ground.drum.as_ref().and_then(|drum| drum.max_reel_speed_m_s).unwrap_or(HAUL_M_S);
        let (outcome, reason, speed_m_s) = if lift_n > 0.0 {
            (Outcome::Floats, String::new(), free_m_s)
        } else if held {
            self.hauled(-lift_n + 0.5 * water.density_kg_m3 * drag_m2 * haul_m_s * haul_m_s, haul_m_s)
        } else {
            (Outcome::Falls, "it sinks and nothing holds it".to_owned(), free_m_s)
        };
        let rise_s = depth_m / speed_m_s.max(1e-3);
        let hotel_w = model.inputs().hotel_w + self.payload_w();
        let hold_w = self.point().demand_w.unwrap_or(hotel_w);
        let leg = |phase, duration_s, power_w, to_height_m| Leg {
            phase,
            duration_s,
            power_w,
            from_height_m: -depth_m,
            to_height_m,
        };
        let flight = Flight {
            legs: vec![
                leg(Phase::Hold, rules.decision_time_s, hold_w, -depth_m),
                leg(Phase::Descent, rise_s, hotel_w, 0.0),
            ],
            peak_w: hold_w,
            rate: None,
            in_vortex_ring: false,
            reel_speed_m_s: held.then_some(speed_m_s),
        };
        let mut drill = self.drill(cause, flight, self.system.battery.as_ref())?;
        drill.outcome = outcome;
        drill.reason = reason;
        drill.reach.controlled_m = self.place.position_m.xy().norm();
        drill.reach.uncontrolled_m = drill.reach.controlled_m
            + self.system.surroundings.mean.at(-0.5 * depth_m).velocity_m_s.xy().norm() * rise_s;
        Ok(drill)
    }

    fn hauled(&self, needed_n: f64, haul_m_s: f64) -> (Outcome, String, f64) {
        let allowed_n = self
            .system
            .line
            .as_ref()
            .map_or(0.0, |line| line.breaking_load_n / self.scenario.limits.break_load_factor);
        if needed_n <= allowed_n {
            return (Outcome::Hauled, String::new(), haul_m_s);
        }
        let reason = format!("hauling takes {needed_n:.0} N where the line may carry {allowed_n:.0} N");
        (Outcome::Falls, reason, haul_m_s)
    }

    fn piece_weight_n(&self, piece_m: f64, density_kg_m3: f64) -> f64 {
        self.system.line.as_ref().map_or(0.0, |line| {
            let net_kg_per_m = line.line.mass_kg_per_m - density_kg_m3 * line.line.buoyancy_area_m2;
            net_kg_per_m * piece_m * beamstay_numerics::constants::STANDARD_GRAVITY_M_S2
        })
    }

    /// A load on a mast: it runs on until its battery is empty.
    fn standing(&self, cause: &CauseRow) -> Result<Drill, PlanError> {
        let demand_w = self.point().demand_w.unwrap_or(0.0);
        let flight = Flight {
            legs: vec![Leg {
                phase: Phase::Hold,
                duration_s: FOLLOWED_S,
                power_w: demand_w,
                from_height_m: 0.0,
                to_height_m: 0.0,
            }],
            peak_w: demand_w,
            rate: None,
            in_vortex_ring: false,
            reel_speed_m_s: None,
        };
        let mut drill = self.drill(cause, flight, self.system.battery.as_ref())?;
        let lasts_s = match &self.system.battery {
            Some(battery) => battery
                .discharge(
                    self.scenario.light_loss.start_charge_ratio.min(battery.full_ratio()),
                    demand_w.max(1e-6),
                )
                .at("/battery")?
                .duration_s
                .min(FOLLOWED_S),
            None => 0.0,
        };
        drill.outcome = Outcome::Stands;
        drill.reason = format!("it runs on for {:.1} min", lasts_s / 60.0);
        drill.time_s = lasts_s;
        drill.needed_j = demand_w * lasts_s;
        drill.gave_up = None;
        Ok(drill)
    }
}
