//! One rotor and what turns it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// One rotor, by whatever is known of it. All three give the same figures: thrust, power, torque, speed, induced speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Rotor {
    /// Diameter and averages.
    Disk {
        /// Diameter.
        #[schemars(range(min = 0.02, max = 30.0))]
        diameter_m: f64,
        /// Ideal over shaft power in hover; 0.6 to 0.73 was measured on propellers of 0.25 to 0.4 m.
        #[schemars(range(min = 0.1, max = 0.9))]
        figure_of_merit: f64,
        /// Induced over ideal power. Default 1.15 (common practice, no source); times the figure of merit at most 1.
        #[serde(default = "defaults::induced_factor")]
        #[schemars(range(min = 1.0, max = 2.0))]
        induced_factor: f64,
        /// Thrust over density, disk area and square of the tip speed: gives speed, torque and tip Mach number. Default 0.0125, the
        /// middle of 0.0086 to 0.0167 measured on four small propellers (UIUC Propeller Database).
        #[serde(default = "defaults::thrust_coefficient")]
        #[schemars(range(min = 0.0005, max = 0.1))]
        thrust_coefficient: f64,
    },
    /// Blade geometry.
    Blade {
        /// Diameter.
        #[schemars(range(min = 0.02, max = 30.0))]
        diameter_m: f64,
        /// Blades.
        #[schemars(range(min = 1, max = 12))]
        blade_count: u32,
        /// Stations from root to tip.
        #[schemars(length(min = 2, max = 64))]
        stations: Vec<BladeStation>,
        /// Fastest turning; with `collective` the speed that is held.
        #[schemars(range(min = 10.0, max = 100000.0))]
        max_speed_rpm: f64,
        /// Pitch that the control adds to the stations, at constant speed; left out, the pitch is fixed and the speed changes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        collective: Option<Collective>,
        /// Polar of the section; left out, that of small propellers, fitted to four of the UIUC database.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        section: Option<Section>,
        /// Largest Mach number of the advancing tip. Default 0.7 (common practice, no source).
        #[serde(default = "defaults::max_tip_mach_ratio")]
        #[schemars(range(min = 0.05, max = 0.95))]
        max_tip_mach_ratio: f64,
    },
    /// Measured on a test stand in hover.
    Table {
        /// Diameter.
        #[schemars(range(min = 0.02, max = 30.0))]
        diameter_m: f64,
        /// Density of the air of the test.
        #[schemars(range(min = 0.3, max = 1.6))]
        air_density_kg_m3: f64,
        /// Where the power was measured.
        power: MeasuredPower,
        /// Readings; thrust, speed and power rise from row to row. Below the first the coefficients are kept, beyond the last
        /// there is no thrust.
        #[schemars(length(min = 2, max = 200))]
        rows: Vec<Reading>,
    },
}

/// Where a test stand measured the power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum MeasuredPower {
    /// At the shaft.
    Shaft,
    /// At the bus, before the controller. The drive of the scenario says how much of it reaches the shaft, and in hover gives the
    /// measured power back.
    Electrical,
}

/// One reading of a test stand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Thrust.
    #[schemars(range(min = 0.001, max = 100000.0))]
    pub thrust_n: f64,
    /// Speed.
    #[schemars(range(min = 10.0, max = 200000.0))]
    pub speed_rpm: f64,
    /// Power.
    #[schemars(range(min = 0.001, max = 1000000.0))]
    pub power_w: f64,
}

/// Blade section at one radius.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BladeStation {
    /// Radius over tip radius.
    #[schemars(range(min = 0.02, max = 1.0))]
    pub radius_ratio: f64,
    /// Chord over tip radius.
    #[schemars(range(min = 0.001, max = 1.0))]
    pub chord_ratio: f64,
    /// Pitch angle.
    #[schemars(range(min = -30.0, max = 90.0))]
    pub pitch_deg: f64,
}

/// Range of the collective pitch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Collective {
    /// Least pitch added.
    #[schemars(range(min = -45.0, max = 45.0))]
    pub min_deg: f64,
    /// Largest pitch added, above the least.
    #[schemars(range(min = -45.0, max = 45.0))]
    pub max_deg: f64,
}

/// Polar of a blade section: lift with stall, drag with Reynolds number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Section {
    /// Lift slope at high Reynolds number; 2π is that of a thin section.
    #[schemars(range(min = 1.0, max = 8.0))]
    pub lift_slope_per_rad: f64,
    /// Angle of attack without lift; negative for camber.
    #[schemars(range(min = -15.0, max = 15.0))]
    pub zero_lift_deg: f64,
    /// Largest lift coefficient at high Reynolds number.
    #[schemars(range(min = 0.3, max = 20.0))]
    pub max_lift_coefficient: f64,
    /// Least drag coefficient at a Reynolds number of 100,000.
    #[schemars(range(min = 0.001, max = 0.2))]
    pub least_drag_coefficient: f64,
    /// Share of the lift lost at a Reynolds number of 100,000, growing as one over its root. Default 0.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 0.5))]
    pub lift_loss_ratio: f64,
    /// Power of the growth of the least drag with falling Reynolds number. Default 0.2: a turbulent plate.
    #[serde(default = "defaults::drag_exponent")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub drag_exponent: f64,
    /// Drag coefficient over the square of the lift coefficient. Default 0.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub lift_drag_factor: f64,
}

/// Motor and controller.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Drive {
    /// Two figures.
    Efficiency {
        /// Shaft over electrical power of the motor; 0.7 to 0.9 (from memory).
        #[schemars(range(min = 0.1, max = 0.98))]
        motor_ratio: f64,
        /// Motor over bus power of the controller; 0.85 to 0.98 (from memory).
        #[schemars(range(min = 0.3, max = 0.995))]
        controller_ratio: f64,
        /// Largest continuous shaft power of one motor.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = 0.1, max = 1000000.0))]
        max_shaft_w: Option<f64>,
    },
    /// First-order motor and a controller.
    Motor {
        /// Speed per volt without load.
        #[schemars(range(min = 1.0, max = 20000.0))]
        speed_constant_rpm_per_v: f64,
        /// Winding resistance at 20 °C.
        #[schemars(range(min = 0.0001, max = 100.0))]
        resistance_ohm: f64,
        /// Current without load.
        #[schemars(range(min = 0.0, max = 100.0))]
        no_load_current_a: f64,
        /// Resistance of the controller.
        #[serde(default)]
        #[schemars(range(min = 0.0, max = 10.0))]
        controller_resistance_ohm: f64,
        /// What the switching of the controller leaves of the power. Default 1: only its resistance counts.
        #[serde(default = "defaults::one")]
        #[schemars(range(min = 0.3, max = 1.0))]
        controller_ratio: f64,
        /// Power that the controller draws at rest.
        #[serde(default)]
        #[schemars(range(min = 0.0, max = 1000.0))]
        controller_standby_w: f64,
        /// Voltage of the bus.
        #[schemars(range(min = 1.0, max = 1200.0))]
        bus_v: f64,
        /// Largest motor current.
        #[schemars(range(min = 0.1, max = 5000.0))]
        max_current_a: f64,
        /// Heat of the winding; left out, only current and voltage limit the motor and its resistance stays at 20 °C.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        winding: Option<Winding>,
    },
}

impl Default for Drive {
    fn default() -> Self {
        Self::Efficiency {
            motor_ratio: beamstay_vehicle::defaults::MOTOR_RATIO,
            controller_ratio: beamstay_vehicle::defaults::CONTROLLER_RATIO,
            max_shaft_w: None,
        }
    }
}

/// Heat of a winding in steady state.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Winding {
    /// From the winding to the air, in the wake of the rotor.
    #[schemars(range(min = 0.01, max = 1000.0))]
    pub to_air_k_per_w: f64,
    /// Largest temperature. Default 120 °C (common practice, no source; see the motor's sheet).
    #[serde(default = "defaults::max_winding_c")]
    #[schemars(range(min = 70.0, max = 250.0))]
    pub max_temperature_c: f64,
}
