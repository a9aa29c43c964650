//! What is held up there.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Drive, Rotor, defaults};

/// What is held up there: exactly one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Vehicle {
    /// Held by rotors.
    Multirotor(Box<Multirotor>),
    /// Held by a wing, circling over the station.
    FixedWing(Box<FixedWing>),
    /// Swims, held by its buoyancy and thrusters.
    Underwater(Box<Underwater>),
    /// Does not fly: a sensor on a mast or a line, so many watts at so many volts.
    FixedLoad(FixedLoad),
}

/// Held by rotors.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Multirotor {
    /// Mass without payload, battery and what the delivery adds (receiver or converter).
    #[schemars(range(min = 0.01, max = 5000.0))]
    pub empty_mass_kg: f64,
    /// Rotors in all; in coaxial pairs each pair counts as two.
    #[schemars(range(min = 1, max = 64))]
    pub rotor_count: u32,
    /// How the rotors stand.
    #[serde(default)]
    pub arrangement: Arrangement,
    /// One rotor.
    pub rotor: Rotor,
    /// Motor and controller; left out, the efficiencies that with a figure of merit of 0.63 meet the hover powers of four
    /// measured quadrotors (NASA/TM-2018-219758; a calibration).
    #[serde(default)]
    pub drive: Drive,
    /// Drag area with the body level, propellers off. 0.017 to 0.028 m² for craft of 1.2 to 2.9 kg (NASA wind tunnel).
    #[schemars(range(min = 0.0, max = 20.0))]
    pub drag_area_level_m2: f64,
    /// Drag area at 40° of tilt; up to twice the level one in the same tests.
    #[schemars(range(min = 0.0, max = 40.0))]
    pub drag_area_tilted_m2: f64,
    /// Ring around each rotor or pair, against fingers and rope.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guard_ring: Option<GuardRing>,
    /// Force of the rotors in their own plane over thrust and speed of the wind along it: leans the craft further into the wind
    /// and costs its work. Default 0.014 s/m: constants of an open flight simulator (RotorS, 2016); blade-element theory for
    /// rigid blades gives 0.004, fits to flights of small craft 0.03 to 0.05 with the body in it (from memory).
    #[serde(default = "defaults::rotor_drag_s_per_m")]
    #[schemars(range(min = 0.0, max = 0.05))]
    pub rotor_drag_s_per_m: f64,
    /// Largest thrust of one rotor at sea level, standard air, as declared or measured; falls with density. May be left out
    /// where the rotor (its blades or its table) or the motor tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.01, max = 100000.0))]
    pub max_thrust_n: Option<f64>,
    /// Largest tilt.
    #[schemars(range(min = 1.0, max = 75.0))]
    pub max_tilt_deg: f64,
    /// Electrical power of control, radio and lights.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub avionics_w: f64,
}

/// Ring around a rotor. Only its drag counts: what a close duct gives in thrust is left to the rotor's own figures.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GuardRing {
    /// Diameter of the ring.
    #[schemars(range(min = 0.02, max = 20.0))]
    pub diameter_m: f64,
    /// Height along the rotor axis.
    #[schemars(range(min = 0.1, max = 2000.0))]
    pub height_mm: f64,
    /// Width in the rotor plane.
    #[schemars(range(min = 0.1, max = 2000.0))]
    pub width_mm: f64,
    /// Drag coefficient on the projected area. Default 1.2: a round tube below its drag crisis (handbook value of the circular
    /// cylinder); a flat strip has about 2.
    #[serde(default = "defaults::guard_drag_coefficient")]
    #[schemars(range(min = 0.0, max = 3.0))]
    pub drag_coefficient: f64,
}

/// How the rotors stand.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Arrangement {
    /// Side by side.
    #[default]
    Single,
    /// In pairs, one above the other.
    CoaxialPairs {
        /// Distance of the two disks over the rotor diameter.
        #[schemars(range(min = 0.0, max = 2.0))]
        spacing_ratio: f64,
    },
}

/// Held by a wing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FixedWing {
    /// Mass without payload, battery and receiver.
    #[schemars(range(min = 0.01, max = 50000.0))]
    pub empty_mass_kg: f64,
    /// Wing area.
    #[schemars(range(min = 0.01, max = 1000.0))]
    pub wing_area_m2: f64,
    /// Wing span.
    #[schemars(range(min = 0.1, max = 200.0))]
    pub wing_span_m: f64,
    /// Drag coefficient without lift.
    #[schemars(range(min = 0.005, max = 0.5))]
    pub zero_lift_drag_coefficient: f64,
    /// Span efficiency.
    #[schemars(range(min = 0.3, max = 1.2))]
    pub span_efficiency_ratio: f64,
    /// Largest lift coefficient.
    #[schemars(range(min = 0.3, max = 4.0))]
    pub max_lift_coefficient: f64,
    /// Thrust power over shaft power of the propeller.
    #[schemars(range(min = 0.1, max = 0.95))]
    pub propeller_efficiency_ratio: f64,
    /// Motor and controller.
    pub drive: Drive,
    /// Largest shaft power.
    #[schemars(range(min = 0.1, max = 1000000.0))]
    pub max_shaft_w: f64,
    /// Radius of the circle flown around the station.
    #[schemars(range(min = 1.0, max = 20000.0))]
    pub loiter_radius_m: f64,
    /// Airspeed; left out, that of least power, kept clear of the stall.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1.0, max = 250.0))]
    pub airspeed_m_s: Option<f64>,
    /// Airspeed over stall speed in the turn, at least. Default 1.3 (common practice, no source).
    #[serde(default = "defaults::thrust_reserve_ratio")]
    #[schemars(range(min = 1.0, max = 3.0))]
    pub stall_margin_ratio: f64,
    /// Electrical power of control, radio and lights.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub avionics_w: f64,
}

/// Swims.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Underwater {
    /// Mass in air without payload, battery and receiver.
    #[schemars(range(min = 0.01, max = 50000.0))]
    pub empty_mass_kg: f64,
    /// Volume of water displaced, payload, battery and receiver included.
    #[schemars(range(min = 0.01, max = 50000.0))]
    pub displacement_l: f64,
    /// Drag area seen from ahead.
    #[schemars(range(min = 0.0001, max = 100.0))]
    pub drag_area_ahead_m2: f64,
    /// Drag area seen from the side.
    #[schemars(range(min = 0.0001, max = 100.0))]
    pub drag_area_across_m2: f64,
    /// Drag area seen from above.
    #[schemars(range(min = 0.0001, max = 100.0))]
    pub drag_area_above_m2: f64,
    /// Thrusters that push along; the vehicle turns to where it must push.
    #[schemars(range(min = 0, max = 32))]
    pub surge_thruster_count: u32,
    /// Thrusters that push up and down.
    #[schemars(range(min = 0, max = 32))]
    pub heave_thruster_count: u32,
    /// Diameter of a thruster.
    #[schemars(range(min = 0.01, max = 5.0))]
    pub thruster_diameter_m: f64,
    /// Ideal over shaft power of a thruster at rest.
    #[schemars(range(min = 0.1, max = 1.0))]
    pub figure_of_merit: f64,
    /// Largest thrust of one thruster.
    #[schemars(range(min = 0.01, max = 100000.0))]
    pub max_thrust_n: f64,
    /// Motor and controller.
    pub drive: Drive,
    /// Electrical power of control, lights and link.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub avionics_w: f64,
}

/// Does not fly.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FixedLoad {
    /// Electrical power drawn.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub power_w: f64,
    /// Voltage wanted.
    #[schemars(range(min = 0.5, max = 10000.0))]
    pub voltage_v: f64,
}
