//! Where the power goes: one row per step from the wall to the air, each from its own model, so that the sum is a check
//! and not a definition.

use crate::{
    error::PlanError,
    point::PowerRow,
    system::{
        copper::Fed,
        craft::Balanced,
        light::{Light, Lit},
        route::Passes,
    },
};

/// Rows that most plans with light have.
const ROWS: usize = 24;

/// The rows of a budget and its two sides.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    rows: Vec<PowerRow>,
    wall_w: f64,
    /// What leaves: losses, use, and what goes into the air.
    leaving_w: f64,
    /// What comes from elsewhere: the battery where the light falls short.
    battery_w: f64,
    bus_w: f64,
}

impl Ledger {
    fn push(&mut self, code: &'static str, name: &'static str, in_w: f64, out_w: f64, loss_w: f64) {
        self.leaving_w += loss_w;
        self.rows.push(PowerRow { code, name, in_w, out_w, loss_w });
    }

    /// Ground station and light.
    pub fn light(
        &mut self,
        light: &Light,
        lit: &Lit,
        passes: &Passes,
        housekeeping_w: f64,
        wound_m: f64,
    ) -> Result<(), PlanError> {
        let laser = &lit.laser;
        self.rows.reserve(ROWS);
        self.wall_w = laser.electrical_w + lit.chiller_w + housekeeping_w;
        let rest_w = laser.electrical_w + lit.chiller_w;
        self.push(
            "housekeeping",
            "control, winch and link on the ground",
            self.wall_w,
            rest_w,
            housekeeping_w,
        );
        self.push("chiller", "chiller", rest_w, laser.electrical_w, lit.chiller_w);
        self.push("laser", "laser and driver, heat", laser.electrical_w, laser.optical_w, laser.heat_w);
        let way = light
            .route
            .itemise(laser.optical_w, wound_m, passes.sight)
            .map_err(|e| PlanError::model("/delivery", e))?;
        for stage in &way.stages {
            self.push("path", stage.kind.name(), stage.in_w, stage.out_w, stage.loss_w);
        }
        let drawn = &lit.drawn;
        self.push(
            "reflection",
            "reflected by the receiver",
            drawn.arriving_w,
            drawn.absorbed_w,
            drawn.reflected_w,
        );
        self.push("cells", "cells, heat", drawn.absorbed_w, drawn.cells_w, drawn.cell_heat_w);
        self.push("converter", "converter, heat", drawn.cells_w, drawn.bus_w, drawn.converter_loss_w);
        self.bus_w = drawn.bus_w;
        Ok(())
    }

    /// Ground station and copper line.
    pub fn copper(&mut self, fed: &Fed, housekeeping_w: f64) {
        let input_w = fed.operation.map_or(0.0, |o| o.input_w);
        self.wall_w = input_w + housekeeping_w;
        self.push(
            "housekeeping",
            "control, winch and link on the ground",
            self.wall_w,
            input_w,
            housekeeping_w,
        );
        let Some(operation) = fed.operation else { return };
        let line = operation.line;
        self.push(
            "ground_converter",
            "converter on the ground, heat",
            input_w,
            line.source_w,
            operation.ground_loss_w,
        );
        let after_drum_w = line.source_w - line.drum_loss_w;
        self.push("drum", "wire on the drum, heat", line.source_w, after_drum_w, line.drum_loss_w);
        self.push("hanging", "wire in the air, heat", after_drum_w, line.load_w, line.hanging_loss_w);
        self.push("converter", "converter, heat", line.load_w, operation.bus_w, operation.airborne_loss_w);
        self.bus_w = operation.bus_w;
    }

    /// Nothing comes from the ground.
    pub fn battery(&mut self, housekeeping_w: f64) {
        self.wall_w = housekeeping_w;
        self.push("housekeeping", "control and link on the ground", housekeeping_w, 0.0, housekeeping_w);
    }

    /// The vehicle; what the bus lacks comes from the battery.
    pub fn vehicle(&mut self, mean: &Balanced, payload_w: f64, demand_w: f64) {
        self.battery_w = demand_w - self.bus_w;
        let point = &mean.point;
        let rotors_w = point.electrical_w;
        if payload_w > 0.0 {
            self.push("payload", "payload", demand_w, demand_w - payload_w, payload_w);
        }
        let vehicle_w = demand_w - payload_w;
        if rotors_w == 0.0 {
            self.push("load", "load", vehicle_w, 0.0, vehicle_w);
            return;
        }
        self.push("avionics", "control and radio of the vehicle", vehicle_w, rotors_w, point.avionics_w);
        let (shaft_w, turned_w) = (point.shaft_w, point.shaft_w - point.propeller_loss_w);
        self.push("drive", "motors and controllers, heat", rotors_w, shaft_w, rotors_w - shaft_w);
        let after_profile_w = point.induced_w + point.axial_w;
        if point.propeller_loss_w > 0.0 {
            self.push("propeller", "propeller, lost in the air", shaft_w, turned_w, point.propeller_loss_w);
            self.push("profile", "drag of wing and body", turned_w, after_profile_w, point.profile_w);
            self.push("induced", "drag of the lift", after_profile_w, 0.0, point.induced_w);
            return;
        }
        self.push("profile", "drag of the blades", shaft_w, after_profile_w, point.profile_w);
        self.push("induced", "wake of the rotors", after_profile_w, point.axial_w, point.induced_w);
        let name = if point.axial_w < 0.0 { "flow drives the rotors" } else { "thrust against the flow" };
        self.push("axial", name, point.axial_w, 0.0, point.axial_w);
    }

    /// What the wall draws, W.
    pub fn wall_w(&self) -> f64 {
        self.wall_w
    }

    /// Powers entering less powers leaving, over powers entering.
    pub fn closure_ratio(&self) -> f64 {
        let entering_w = self.wall_w + self.battery_w;
        (entering_w - self.leaving_w).abs() / entering_w.abs().max(f64::MIN_POSITIVE)
    }

    /// The rows.
    pub fn into_rows(self) -> Vec<PowerRow> {
        self.rows
    }
}
