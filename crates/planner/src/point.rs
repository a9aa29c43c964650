//! The operating point as it is handed out: every power, force, temperature and limit on the way.

use beamstay_vehicle::LimitKind;
use serde::Serialize;

use crate::{
    limit::{LimitCode, LimitRow},
    scenario::LaserControl,
};

/// One operating point of a plan. What could not be computed, because a step before it has no solution, is absent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OperatingPoint {
    /// Whether every limit holds.
    pub feasible: bool,
    /// Power available at the bus less the demand, W.
    pub margin_w: Option<f64>,
    /// Power that vehicle and payload draw from the bus in the mean wind, W.
    pub demand_w: Option<f64>,
    /// Power that the delivery can put on the bus, W.
    pub available_w: Option<f64>,
    /// Power that the ground station draws, W.
    pub wall_w: Option<f64>,
    /// Optical power of the laser that just meets the demand, W; absent if none does.
    pub laser_setting_w: Option<f64>,
    /// How long the battery alone meets the demand, min; absent without one.
    pub battery_min: Option<f64>,
    /// The tether in the mean wind.
    pub tether: Option<TetherPoint>,
    /// The tether in the gust.
    pub tether_in_gust: Option<TetherPoint>,
    /// The vehicle in the mean wind.
    pub vehicle: Option<VehiclePoint>,
    /// The vehicle in the gust.
    pub vehicle_in_gust: Option<VehiclePoint>,
    /// The light on its way.
    pub light: Option<LightPoint>,
    /// The copper line.
    pub line: Option<LinePoint>,
    /// Masses in the air, tether not counted.
    pub masses: Masses,
    /// Where the power goes, from the wall to the air.
    pub power: Vec<PowerRow>,
    /// Every limit.
    pub limits: Vec<LimitRow>,
    /// Powers entering less powers leaving, over powers entering.
    pub energy_closure_ratio: Option<f64>,
    /// Largest residual of the balance of forces on the vehicle, and in a report on the tether too, over the forces themselves.
    pub force_closure_ratio: Option<f64>,
}

impl OperatingPoint {
    /// Whether there should be a tether and none hangs.
    pub(crate) fn hangs_not(&self) -> bool {
        let no_shape = |row: &LimitRow| matches!(row.code, LimitCode::DrumTension | LimitCode::TetherReach);
        self.tether.is_none() && self.limits.iter().any(|row| no_shape(row) && !row.ok)
    }
}

/// A tether that hangs between drum and vehicle. Vectors: x downwind, y to its left, z up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TetherPoint {
    /// Length paid out, unstretched, m.
    pub paid_out_m: f64,
    /// Pull of the tether on the vehicle, N.
    pub force_on_vehicle_n: [f64; 3],
    /// Pull of the tether on the drum, N.
    pub force_at_drum_n: [f64; 3],
    /// Tension at the vehicle, N.
    pub top_tension_n: f64,
    /// Tension at the drum, N.
    pub drum_tension_n: f64,
    /// Largest tension anywhere, N.
    pub max_tension_n: f64,
    /// Where that is, m of unstretched length from the drum.
    pub max_tension_at_m: f64,
    /// Elevation at the drum over the horizontal, °.
    pub drum_elevation_deg: f64,
    /// Smallest bend radius in the air, m.
    pub min_bend_radius_m: f64,
    /// Lowest point over ground, m.
    pub lowest_point_m: f64,
    /// Unstretched length on the ground, m; 0 for a line that hangs free.
    pub on_ground_m: f64,
    /// Where it lies on the ground; absent for a line that hangs free.
    pub lies: Option<Lies>,
    /// Which of the two lengths that give this drum tension; `only` where the length was given or no other gives it.
    pub branch: Branch,
}

/// Which length of those that give a drum tension.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Branch {
    /// The shorter of two.
    Short,
    /// The length was given, or only one gives this tension.
    Only,
}

/// Where a line lies on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lies {
    /// Unstretched length from the drum at which it lands, m; 0 for a drum exit on the ground.
    pub from_m: f64,
    /// Unstretched length from the drum at which it lifts off, m.
    pub to_m: f64,
    /// Length of it that carries no tension, m.
    pub loose_m: f64,
    /// Where it touches down, seen from the vehicle: downwind of the drum and left of the wind, m.
    pub touchdown_m: [f64; 2],
    /// Distance of that from the drum, m.
    pub touchdown_distance_m: f64,
    /// Least drum tension with which the line would hang free, N; absent where the length is given.
    pub least_free_drum_tension_n: Option<f64>,
}

/// A vehicle in balance. What a kind of vehicle does not have is 0.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct VehiclePoint {
    /// Thrust of all rotors, N.
    pub thrust_n: f64,
    /// Tilt (of a wing: bank), °.
    pub tilt_deg: f64,
    /// Speed of the air past the vehicle, m/s.
    pub airspeed_m_s: f64,
    /// Air through the rotors from above, m/s.
    pub axial_inflow_m_s: f64,
    /// Induced power, W; of a wing that of its lift, averaged over the circle.
    pub induced_w: f64,
    /// Profile power, W; of a wing that of all drag without lift, averaged over the circle.
    pub profile_w: f64,
    /// Loss of the propeller of a wing, W, averaged over the circle.
    pub propeller_loss_w: f64,
    /// Thrust times axial inflow, W; negative where the wind helps.
    pub axial_w: f64,
    /// Shaft power, W: the sum of those above.
    pub shaft_w: f64,
    /// Power of the controllers from the bus, W.
    pub electrical_w: f64,
    /// Control, radio, lights, W.
    pub avionics_w: f64,
    /// Drag of the body, N.
    pub body_drag_n: f64,
    /// Force of the rotors in their own plane, N.
    pub rotor_drag_n: f64,
    /// Largest thrust over thrust. In the mean wind absent for a rotor known by its blades, where it costs a search.
    pub thrust_reserve_ratio: Option<f64>,
    /// What bounds the largest thrust.
    pub thrust_bound: Option<ThrustBound>,
    /// Speed of the rotors, rpm.
    pub rotor_speed_rpm: Option<f64>,
    /// Torque at the shaft of one rotor, N·m.
    pub rotor_torque_n_m: Option<f64>,
    /// Mean induced speed at the disk of one rotor, m/s.
    pub induced_speed_m_s: f64,
    /// Ideal hover power of this thrust over induced and profile power: in hover the figure of merit, above it where the wind helps.
    pub figure_of_merit: Option<f64>,
    /// Mach number of the advancing blade tip.
    pub tip_mach_ratio: Option<f64>,
    /// Current of one motor, A, of a motor known by its constants.
    pub motor_current_a: Option<f64>,
    /// Temperature of the windings in steady state, °C, where their cooling is known.
    pub winding_temp_c: Option<f64>,
    /// Speed of the wake at the disks, m/s.
    pub wake_m_s: f64,
    /// Current of a load that stands, at its voltage, A.
    pub load_current_a: Option<f64>,
}

/// What bounds the largest thrust of the rotors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ThrustBound {
    /// The largest thrust that is declared.
    Declared,
    /// The rotor: its fastest turning, tip Mach number, pitch or last measured row.
    Rotor,
    /// Shaft power of the motors.
    MotorPower,
    /// The bus voltage is too low for more speed.
    BusVoltage,
    /// Motor current.
    MotorCurrent,
    /// Heat of the windings.
    WindingTemperature,
}

impl ThrustBound {
    pub(crate) fn of(kind: LimitKind) -> Option<Self> {
        Some(match kind {
            LimitKind::Thrust => Self::Declared,
            LimitKind::RotorThrust => Self::Rotor,
            LimitKind::Power => Self::MotorPower,
            LimitKind::Voltage => Self::BusVoltage,
            LimitKind::Current => Self::MotorCurrent,
            LimitKind::WindingTemperature => Self::WindingTemperature,
            _ => return None,
        })
    }

    /// In words, to stand after "bound by".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Declared => "the declared largest thrust",
            Self::Rotor => "the rotor itself (speed, tip, pitch, last row)",
            Self::MotorPower => "shaft power of the motors",
            Self::BusVoltage => "bus voltage, too low for more speed",
            Self::MotorCurrent => "motor current",
            Self::WindingTemperature => "heat of the windings",
        }
    }
}

/// The light on its way, with the laser as it is set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LightPoint {
    /// How the laser is set.
    pub control: ControlName,
    /// Optical power of the laser as it is set, W.
    pub laser_w: f64,
    /// Optical power in the fiber or the beam behind the launch, W.
    pub launched_w: f64,
    /// Optical power at the receiver, W.
    pub arriving_w: f64,
    /// Arriving over laser power.
    pub path_ratio: f64,
    /// Wavelength as the coolant sets it, nm.
    pub wavelength_nm: f64,
    /// Temperature of the cells with the demand drawn, °C.
    pub cell_temp_c: f64,
    /// Temperature of the cells at the maximum power point under the same light, °C.
    pub cell_temp_max_power_c: f64,
    /// Temperature of the cells with nothing drawn under the same light, °C.
    pub cell_temp_load_lost_c: f64,
    /// Electrical power of the cells, W.
    pub cells_w: f64,
    /// Power at the bus, W.
    pub bus_w: f64,
    /// Cells' power over arriving light.
    pub cell_efficiency_ratio: f64,
    /// Most power at the bus over the mass of the receiver, W/kg.
    pub receiver_specific_power_w_per_kg: f64,
    /// Mean intensity in the core behind the launch, W/mm²; absent without a fiber.
    pub core_intensity_w_per_mm2: Option<f64>,
    /// Length of a free beam's way, m.
    pub range_m: Option<f64>,
    /// Angle of a free beam to the receiver's normal, °.
    pub incidence_deg: Option<f64>,
    /// Elevation of a free beam over the horizontal, the lowest along a circle, °.
    pub beam_elevation_deg: Option<f64>,
    /// Light of a free beam that passes beside the receiver, W; the most along a circle.
    pub spill_over_w: Option<f64>,
    /// A circle flown in a free beam; what stands above is then where the least light arrives.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub orbit: Option<OrbitLight>,
    /// Temperature of the hottest layer on the drum, °C; absent without a drum.
    pub drum_temp_c: Option<f64>,
}

/// The light along a circle: limits hold at its worst place, energy is that of its mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OrbitLight {
    /// Least arriving over laser power.
    pub path_ratio_least: f64,
    /// Its mean over the circle.
    pub path_ratio_mean: f64,
    /// Its most.
    pub path_ratio_most: f64,
    /// Optical power of the laser, mean over the circle, W.
    pub laser_mean_w: f64,
    /// Most power at the bus with the light that arrives in the mean, W.
    pub available_mean_w: f64,
    /// Wall power, mean over the circle, W.
    pub wall_mean_w: f64,
}

/// Name of [`LaserControl`] in results.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ControlName {
    /// Dimmed to the demand.
    DimmedToDemand,
    /// Steady at the rating.
    Steady,
}

impl From<LaserControl> for ControlName {
    fn from(control: LaserControl) -> Self {
        match control {
            LaserControl::DimmedToDemand => Self::DimmedToDemand,
            LaserControl::Steady => Self::Steady,
        }
    }
}

/// A copper line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LinePoint {
    /// Loop resistance, Ω.
    pub loop_resistance_ohm: f64,
    /// Current, A.
    pub current_a: f64,
    /// Voltage at the vehicle, V.
    pub voltage_at_vehicle_v: f64,
    /// Heat in the whole line, W.
    pub loss_w: f64,
    /// Most power the line can carry to the vehicle, W.
    pub most_power_w: f64,
    /// Wire in the air, °C.
    pub hanging_temp_c: f64,
    /// Hottest wire on the drum, °C.
    pub drum_temp_c: f64,
}

/// Masses in the air, tether not counted, kg.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Masses {
    /// The vehicle without the rest, kg.
    pub empty_kg: f64,
    /// Payload, kg.
    pub payload_kg: f64,
    /// Battery, kg.
    pub battery_kg: f64,
    /// Receiver, or converter of a copper line, kg.
    pub receiver_kg: f64,
}

impl Masses {
    /// Sum, kg.
    pub fn total_kg(&self) -> f64 {
        self.empty_kg + self.payload_kg + self.battery_kg + self.receiver_kg
    }
}

/// One step of the power from the wall to the air.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PowerRow {
    /// Stable name of the step.
    pub code: &'static str,
    /// What happens, in words.
    pub name: &'static str,
    /// Power that enters, W.
    pub in_w: f64,
    /// Power that goes on to the next step, W.
    pub out_w: f64,
    /// Power that leaves here, W: heat, light past the target, or use.
    pub loss_w: f64,
}
